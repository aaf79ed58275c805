"""What a text of the trade says: words with a meaning, figures, colours."""

import re
from collections.abc import Iterable
from decimal import Decimal

from msgspec import Struct

from bom.files.spelling import fold
from bom.trade.catalogue import Catalogue

Figure = tuple[str, Decimal, Decimal]
"""What it counts or measures, and the range it names: twice the same where it is one figure."""

SizeRange = tuple[Decimal, Decimal]
"""From the least to the most, twice the same where it is one figure."""


class Said(Struct, frozen=True):
    """What a text says: words with a meaning, strange ones, figures, colours.

    A `span` is a range without a unit, `2.5-6`.
    """

    words: frozenset[str]
    strange: tuple[str, ...]
    numbers: frozenset[Figure]
    colours: tuple[str, ...]
    spans: frozenset[SizeRange] = frozenset()


NUMBER = r"(\d+(?:\.\d+)?)"
_RANGE = rf"{NUMBER}(?:\s*(?:-|–|to)\s*{NUMBER})?"

_SPAN = re.compile(rf"(?<![\w./-]){NUMBER}\s*(?:-|–|to)\s*{NUMBER}(?![\w./-])")
_TWO_FIGURES = rf"{NUMBER}\s*x\s*{NUMBER}\s*mm\b"
_FIGURES: tuple[tuple[str, re.Pattern[str]], ...] = tuple(
    (role, re.compile(pattern))
    for role, pattern in (
        ("", r"\b\d+\s*/\s*0?\.\d+(?:\s*mm)?\b"),  # strands: 32/0.20
        ("mm2", rf"{_RANGE}\s*(?:mm2|mm²|mm\^2|mm\s*sq\b|sq\.?\s*mm|sqmm)"),
        ("awg", rf"\bawg\s*{_RANGE}|{_RANGE}\s*(?:awg|ga)\b"),
        (":1", rf"{NUMBER}\s*:\s*1\b"),
        ("m", r"\bm(\d+)\b"),  # a thread or stud: M6
        ("way", r"\b(\d+)\s*-?\s*(?:ways?|pins?|poles?|circuits?)\b"),
        ("core", r"\b(\d+)\s*-?\s*cores?\b"),
        ("A", rf"{NUMBER}\s*(?:amps?|a)\b"),
        ("mm", _TWO_FIGURES),
        ("mm", rf"{_RANGE}\s*mm\b"),
        ("", rf"{NUMBER}\s*(?:v|volts?|°\s*c|deg\s*c|w|kg|g)\b"),
        ("metres", rf"{NUMBER}\s*(?:m|mtrs?|metres?|meters?)\b"),
        ("count", r"\b(?:pack|pk|pkt|packet|bag|box|qty)\s*(?:of|x|:)?\s*(\d+)\b"),
        ("count", r"\b(\d+)\s*(?:pcs|pieces|pack|pk|pkt|off)\b|/\s*(\d+)\b|\bx\s*(\d+)\b"),
    )
)

_SPLIT = re.compile(r"[a-z0-9][a-z0-9./\-]*")


class TextReader:
    """Reads a text of the trade into words with a meaning, figures and colours."""

    def __init__(self, catalogue: Catalogue) -> None:
        coverings = {word: [word.replace(" ", "-")] for word in catalogue.layers}
        taught = {row["word"]: row["means"].split() for row in catalogue.tables["words"]}
        self.meanings = coverings | taught
        self.longest = max((word.count(" ") + 1 for word in self.meanings), default=1)
        names = [name for row in catalogue.colours for name in (row.word, *row.also)]
        one = "|".join(sorted(map(re.escape, names), key=len, reverse=True))
        self.colour = re.compile(
            rf"\b({one})(?:\s*(?:/|-|with an?|with)\s*({one}))?(?:\s*(?:tracer?|stripe))?\b"
        )

    def read(self, text: str) -> Said:
        """What it says; numbers may have decimal commas."""
        rest = re.sub(r"(\d),(\d)", r"\1.\2", fold(text))
        colours = [f"{a}/{b}" if b else a for a, b in self.colour.findall(rest)]
        rest = self.colour.sub(" ", rest)
        numbers: set[Figure] = set()
        for role, pattern in _FIGURES:
            found = [*pattern.finditer(rest)]
            for match in found:
                numbers.update(_figures(role, pattern, match))
            rest = pattern.sub(" ", rest) if found else rest
        spans = frozenset((Decimal(a), Decimal(b)) for a, b in _SPAN.findall(rest))
        words, strange = self._words(_SPLIT.findall(_SPAN.sub(" ", rest)))
        return Said(frozenset(words), tuple(strange), frozenset(numbers), tuple(colours), spans)

    def _words(self, tokens: list[str]) -> tuple[list[str], list[str]]:
        words: list[str] = []
        strange: list[str] = []
        while tokens:
            for size in range(min(self.longest, len(tokens)), 0, -1):
                known = self.meanings.get(" ".join(tokens[:size]))
                if known is not None:
                    words += known
                    del tokens[:size]
                    break
            else:
                token = tokens.pop(0)
                is_figure = re.fullmatch(NUMBER, token)  # kept whole, for what is near
                parts = [] if is_figure else [part for part in re.split(r"[-/.]", token) if part]
                if len(parts) > 1:
                    tokens[:0] = parts
                else:
                    strange.append(token)
        return words, strange


def _figures(role: str, pattern: re.Pattern[str], match: re.Match[str]) -> Iterable[Figure]:
    found = [Decimal(text) for text in match.groups() if text]
    if role and pattern.pattern == _TWO_FIGURES:
        return [(role, figure, figure) for figure in found]
    return [(role, found[0], found[-1])] if role and found else []
