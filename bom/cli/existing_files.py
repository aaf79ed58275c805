"""What stood where a list or a sheet is to be written: what is not ours is kept."""

from itertools import count
from pathlib import Path

from bom.cli.tell import say, writing
from bom.trade.problem import Where, caution

_UNTOUCHED = b'<dcterms:modified xsi:type="dcterms:W3CDTF">2000-01-01T00:00:00Z'
"""Our workbooks bear no day (`table.write_xlsx`); a program that saves one again writes its own."""


def keep_what_is_not_ours(path: Path, head: bytes = b"") -> None:
    """Keep a copy of a file that is about to be replaced and that `bom` did not write as it is.

    `head` is how a .csv of ours would begin: more cannot be told of one.  Leaves with 1 where no
    copy can be made.
    """
    if not path.is_file():
        return
    with writing(path):
        data = path.read_bytes()
    if not data or _is_ours(path, data, head):
        return
    from bom.files import safely

    kept = _free(path)
    with writing(kept):
        safely.put_new(kept, data, like=path)
    says = f"{path} was not written by bom, or was changed since: what it held is in {kept.name}"
    say(caution(Where(), says))


def _is_ours(path: Path, data: bytes, head: bytes) -> bool:
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
    return bool(head) and data.startswith(head)


def _free(path: Path) -> Path:
    """A name beside it that nothing has: `list.kept.csv`, `list.kept 2.csv`."""
    names = (f"{path.stem}.kept{f' {n}' if n > 1 else ''}{path.suffix}" for n in count(1))
    return next(other for name in names if not (other := path.with_name(name)).exists())
