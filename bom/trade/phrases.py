"""What the words of a name mean, by phrases of the trade: the longest phrase wins.

Of two that are as long the one wins that stands first in the name.
A word stands for its plural (`headlamps`) and for a compound of words that the phrases use
(`taillight` is `tail light`, `head-lamp` is `head lamp`).
"""

from collections.abc import Iterable
from typing import Generic, TypeVar

Meaning = TypeVar("Meaning")
_NO_DIGITS = str.maketrans("", "", "0123456789")


class Phrases(Generic[Meaning]):
    """Phrases with their meanings, such as `horn relay coil` and the kind of load it is."""

    def __init__(self, meanings: Iterable[tuple[str, Meaning]], unknown: Meaning) -> None:
        pairs = [(self._plain(phrase), meaning) for phrase, meaning in meanings]
        self._words = {word for words, _ in pairs for word in words}
        self._meanings = [(" ".join(words), meaning) for words, meaning in pairs]
        self._known: dict[str, Meaning] = {}
        self._unknown = unknown

    def meaning(self, name: str) -> Meaning:
        """What the longest phrase that stands in `name` means; `unknown` where none does.

        >>> kinds = Phrases([("tail light", "lamp"), ("relay coil", "-"), ("coil", "ignition")], "")
        >>> [kinds.meaning(name) for name in ("Taillights", "horn relay coil", "coils", "clamp")]
        ['lamp', '-', 'ignition', '']
        """
        bare = name.translate(_NO_DIGITS)  # `lamp 1` to `lamp 5000` are one name here
        known = self._known.get(bare)
        if known is None:
            known = self._known[bare] = self._looked_up(bare)
        return known

    def _looked_up(self, name: str) -> Meaning:
        words = [part for word in self._plain(name) for part in self._taken_apart(word)]
        padded = f" {' '.join(words)} "
        found = [
            (-len(text), padded.index(f" {text} "), meaning)
            for text, meaning in self._meanings
            if f" {text} " in padded
        ]
        return min(found, key=lambda each: each[:2])[2] if found else self._unknown

    def _plain(self, text: str) -> list[str]:
        letters = "".join(c if c.isalnum() else " " for c in text.casefold())
        return letters.split()

    def _taken_apart(self, word: str) -> list[str]:
        """A word as the phrases have it: itself, without its plural, or in halves."""
        for form in (word, word.removesuffix("s"), word.removesuffix("es")):
            if form in self._words:
                return [form]
        for cut in range(2, len(word) - 1):
            first, rest = word[:cut], word[cut:]
            second = self._taken_apart(rest) if first in self._words else [rest]
            if first in self._words and set(second) <= self._words:
                return [first, *second]
        return [word]
