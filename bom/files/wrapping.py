"""Text in lines as wide as a screen or a column has room for, parted between words alone."""

import re
import unicodedata

_WORDS = re.compile(r" *(?:[\d.,]+ (?:mm2|mm|cm|m|A|V|W|C|K|s|%)(?![^ ,;:.)])[^ ]*|[^ ]+)")
"""A figure and its unit are one word."""
_PARTS = re.compile(" *[^ :/]+[:/]*| *[:/]+")


def across(text: str) -> int:
    """Columns a text takes on a screen of fixed pitch: ideographs take two."""
    if text.isascii():
        return len(text)
    return sum(2 if unicodedata.east_asian_width(letter) in "WF" else 1 for letter in text)


def longest_word(text: str, *, finely: bool = False) -> int:
    """Columns that a text takes at the least."""
    return max(across(word.lstrip(" ")) for word in _words(text, finely))


def wrapped(text: str, wide: int, indent: str = "", *, finely: bool = False) -> list[str]:
    """The lines of a text, all but the first with an indent; too long a word stands alone.

    `finely` parts names after a colon or a stroke too.

    >>> wrapped("front brake switch:in", 11), wrapped("next: bom order", 10, "  ")
    (['front brake', 'switch:in'], ['next: bom', '  order'])
    >>> wrapped("brake switch:in", 7, finely=True)
    ['brake', 'switch:', 'in']
    """
    if across(text) <= wide:
        return [text]
    first, *words = _words(text, finely)
    lines = [first]
    for word in words:
        if across(lines[-1] + word) <= wide:
            lines[-1] += word
        else:
            lines.append(indent + word.lstrip(" "))
    return lines


def _words(text: str, finely: bool) -> list[str]:
    """Each word with the blanks before it."""
    return (_PARTS if finely else _WORDS).findall(text) or [""]
