"""What a cell, a file name or a command line says, as it may be shown on a screen.

A supplier's list is somebody else's text: nothing in it may move the cursor, clear the screen, turn
the direction of a line or hide in it.
"""

import json
import unicodedata


class _Signs(dict[int, str]):
    """The sign that stands for a character; found once for each."""

    def __missing__(self, code: int) -> str:
        sign = self[code] = _sign(chr(code))
        return sign


def _sign(letter: str) -> str:
    code = ord(letter)
    if letter in _BREAKS:
        return " "
    if letter.isprintable() or unicodedata.category(letter) == "Zs":  # blanks of other widths
        return letter
    if code < 0x20:
        return chr(0x2400 + code)
    return "\u2421" if code == 0x7F else f"<U+{code:04X}>"


_SIGNS = _Signs()
_BREAKS = "\t\n\v\f\r\x85\u2028\u2029"


def visible(text: str) -> str:
    r"""One line of text with a visible sign for whatever has none of its own.

    Line breaks and tabs are blanks; the old control characters stand as their pictures (Unicode,
    block 2400), the newer ones, marks of direction and what has no width by their numbers.

    >>> print(visible("red\x1b[2J"), visible("a\u202eb\u200b"), visible("two\nlines"))
    red␛[2J a<U+202E>b<U+200B> two lines
    """
    return text if text.isprintable() else text.translate(_SIGNS)


class _Escapes(dict[int, str]):
    """The escape in JSON of a character that would be shown as a sign; else itself."""

    def __missing__(self, code: int) -> str:
        letter = chr(code)
        shown = letter == "\n" or visible(letter) == letter
        escape = self[code] = letter if shown else json.dumps(letter)[1:-1]
        return escape


_ESCAPES = _Escapes()


def escaped(text: str) -> str:
    r"""The text of JSON with escapes for what is shown as a sign elsewhere; it means the same.

    >>> print(escaped('"red\x9b2J, \u00fc"'))
    "red\u009b2J, ü"
    """
    return text if text.isascii() and "\x7f" not in text else text.translate(_ESCAPES)
