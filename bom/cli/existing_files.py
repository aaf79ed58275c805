"""What a command writes, put in its places all or none; what is not ours there is kept."""

import os
from collections.abc import Mapping
from itertools import count
from pathlib import Path

from bom.cli.tell import say, writing
from bom.files.names import shortened
from bom.files.safely import ABSENT, NewFile, real
from bom.files.together import put_all
from bom.trade.problem import Where, caution

_UNTOUCHED = b'<dcterms:modified xsi:type="dcterms:W3CDTF">2000-01-01T00:00:00Z'
"""Our workbooks bear no day (`table.xlsx_bytes`); a program that saves one again writes its own."""


def put_together(files: Mapping[Path, bytes], *, folders: bool = False) -> None:
    """Put files in their places, all or none; leaves with 1 where they cannot be written.

    What stood there and `bom` did not write as it is gets a copy beside it.  With `folders` those
    that are missing are made.
    """
    if not files:
        return
    with writing(next(iter(files))):
        kept = {path: copy for path, data in files.items() if (copy := _kept(path, data))}
        new = [NewFile(path=real(path), data=data) for path, data in files.items()]
        put_all([*kept.values(), *new], folders=folders)
    for path, copy in kept.items():
        held = f"what it held is in {copy.path.name}"
        say(caution(Where(), f"{path} was not written by bom, or was changed since: {held}"))


def _kept(path: Path, new: bytes) -> NewFile | None:
    """A copy of a file that is about to be replaced, unless it is empty or of our own making."""
    old = path.read_bytes() if os.path.isfile(path) else b""
    if not old or _is_ours(path, old, new):
        return None
    return NewFile(path=_free(path), data=old, seen=ABSENT, like=path)


def _is_ours(path: Path, data: bytes, new: bytes) -> bool:
    """By our mark; of a .csv no more can be told than that it begins with the same headings."""
    kind = path.suffix.casefold()
    if kind == ".xlsx":
        from bom.files.sheet.package import open_package
        from bom.files.sheet.values import Refused

        try:
            return _UNTOUCHED in open_package(data, path.name, kind).part("docProps/core.xml")
        except Refused:
            return False
    if kind == ".pdf":
        return data.startswith(b"%PDF") and b"/Creator(Typst" in data
    return kind == ".csv" and data.startswith(new.partition(b"\n")[0])


def _free(path: Path) -> Path:
    """A name beside it that nothing has: `list.kept.csv`, `list.kept 2.csv`."""
    ends = (f".kept{f' {n}' if n > 1 else ''}{path.suffix}" for n in count(1))
    places = (path.with_name(shortened(path.stem, end)) for end in ends)
    return next(place for place in places if not os.path.lexists(place))
