"""Names made of the user's words: allowed on every system, short enough, and none twice."""

import re
from collections.abc import Callable
from itertools import count

MOST_BYTES = 255
"""So long is a file's name on the disks in use (NAME_MAX of POSIX; NTFS counts 255 letters)."""

_FORBIDDEN = re.compile('[<>:"/\\\\|?*\x00-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069\ud800-\udfff]')
"""To Windows, to a terminal, and to UTF-8."""
_DEVICES = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)(\..*)?", re.IGNORECASE | re.DOTALL)


def is_device(name: str) -> bool:
    """True for what Windows keeps for itself (Naming Files, Win32 documents), with any ending."""
    return bool(_DEVICES.fullmatch(name))


def file_name(text: str, ending: str, taken: set[str]) -> str:
    """A text as the name of a file beside those `taken`, which learn of it.

    >>> taken: set[str] = set()
    >>> file_name("North/South", ".pdf", taken), file_name("north:south", ".pdf", taken)
    ('North South.pdf', 'north south (2).pdf')
    >>> file_name("CON", ".xlsx", taken)
    'CON_.xlsx'
    """
    base = _FORBIDDEN.sub(" ", text).strip(" .") or "job"
    base += "_" if is_device(base) else ""
    return untaken(lambda end: shortened(base, f"{end}{ending}"), taken)


def shortened(text: str, ending: str) -> str:
    """A name with its ending, the text before it cut to what a disk takes."""
    while len(f"{text}{ending}".encode(errors="replace")) > MOST_BYTES:
        text = text[:-1]
    return text.rstrip(" .") + ending


def untaken(named: Callable[[str], str], taken: set[str]) -> str:
    """The first name that is not taken, of those with nothing, ` (2)`, ` (3)` ... at their end."""
    names = (named(f" ({n})" if n > 1 else "") for n in count(1))
    name = next(name for name in names if name.casefold() not in taken)
    taken.add(name.casefold())
    return name
