"""Several files changed as one: what is to be done is written down before the first is touched.

The journal holds the old and the new text of every file.  Once it stands, the change happens: a
run that is killed between two files is finished by the next one.  A change that fails (a full
disk) is turned round: the journal with old and new exchanged takes the place of the first.
"""

from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path
from typing import Annotated, TypeAlias

import msgspec

from bom.files import safely
from bom.files.safely import NotWritten

Change: TypeAlias = tuple[bytes | None, bytes | None]
"""The old and the new text of a file; None where there is none."""


def place(folder: Path, room: Path) -> Path:
    """Where the journal of a folder lies while it is being changed."""
    return room / f"{folder.name}.journal"


class HalfWritten(NotWritten):
    """Some files are new and some old; the journal stands, and `finish` does the rest."""


def carry_out(folder: Path, room: Path, changes: Mapping[str, Change]) -> None:
    """Change all the files (by name in `folder`), or none.

    Raises OSError with every file as it was, and `HalfWritten` where one could neither be written
    nor put back.  FileExistsError: another change is not finished yet.
    """
    paper = place(folder, room)
    known = [folder / name for name, (old, _) in changes.items() if old is not None]
    # It holds what the files hold: nobody may read it who may not read them.
    safely.put_new(paper, _dumped(changes), like=known[0] if known else None)
    try:
        _apply(folder, changes)
    except OSError as fault:
        _turn_round(folder, paper, changes, fault)
        raise
    _done(paper)


def finish(folder: Path, room: Path) -> None:
    """Do the rest of a change that was cut off, if there is one.

    Raises `HalfWritten` where somebody has changed one of the files since: it is left alone.
    """
    paper = place(folder, room)
    if not paper.exists():
        return
    changes = _loaded(paper)
    for name, texts in changes.items():
        if _text(folder / name) not in texts:
            raise HalfWritten(
                folder,
                f"half written by a run that was cut off, and {name} was changed since",
                f"compare it with the last copy in .bom, then delete .bom/{paper.name}",
            )
    _apply(folder, changes)
    _done(paper)


def _apply(folder: Path, changes: Mapping[str, Change]) -> None:
    """Give every file that has still its old text the new one."""
    for name, (old, new) in changes.items():
        file = folder / name
        if _text(file) == new:
            continue
        if new is None:
            file.unlink()
        else:
            safely.put(file, new, seen=safely.holding(old))


def _turn_round(folder: Path, paper: Path, changes: Mapping[str, Change], fault: OSError) -> None:
    """Put back what was placed already; where that fails too, the journal stays."""
    placed = {
        name: (new, old) for name, (old, new) in changes.items() if _text(folder / name) == new
    }
    try:
        if placed:
            safely.put(paper, _dumped(placed))
            _apply(folder, placed)
        paper.unlink()
    except OSError:
        says = f"half written: {_said(folder, fault)}"
        cure = "see to that; the next bom stock finishes it"
        raise HalfWritten(folder, says, cure, fault.errno) from fault


def _said(folder: Path, fault: OSError) -> str:
    if isinstance(fault, NotWritten):
        return fault.says
    return safely.in_words(Path(fault.filename or folder), fault)[0]


def _done(paper: Path) -> None:
    """Away with it; one that stays does no harm, since every file is as it says."""
    with suppress(OSError):
        paper.unlink()
    safely.sync_folder(paper.parent)


def _text(file: Path) -> bytes | None:
    try:
        return file.read_bytes()
    except FileNotFoundError:
        return None


def _dumped(changes: Mapping[str, Change]) -> bytes:
    """JSON by the names of the files, their texts in base64."""
    return msgspec.json.encode(dict(changes))


def _loaded(paper: Path) -> dict[str, Change]:
    """The changes of a journal; `NotWritten` for one that is not as this program writes them."""
    from pydantic import AfterValidator, ConfigDict, TypeAdapter

    strict = ConfigDict(strict=True, val_json_bytes="base64")
    journal = TypeAdapter(dict[Annotated[str, AfterValidator(_bare)], Change], config=strict)
    try:
        return journal.validate_json(paper.read_bytes())
    except ValueError as fault:
        says = "the note of a change that was cut off cannot be read"
        cure = "compare the book with its last copy beside this note, then delete the note"
        raise NotWritten(paper, says, cure) from fault


def _bare(name: str) -> str:
    """The name of a .csv: a journal that was tampered with writes nothing else, nor elsewhere."""
    if Path(name).name != name or Path(name).suffix.casefold() != ".csv":
        raise ValueError("a path, where a name belongs")
    return name
