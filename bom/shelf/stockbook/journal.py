"""Several files changed as one: what is to be done is written down before the first is touched.

The journal holds the old and the new text of every file.  Once it stands, the change happens: a
run that is killed between two files is finished by the next one.  A change that fails (a full
disk) is turned round, the journal last.
"""

from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path
from typing import Annotated, TypeAlias

import msgspec

from bom.files.safely import ABSENT, HalfWritten, NewFile, NotWritten, holding, sweep, sync_folder
from bom.files.together import journal_of, put_all

Change: TypeAlias = tuple[bytes | None, bytes]
"""The old text of a file, None where there is none, and the new one."""


def carry_out(folder: Path, changes: Mapping[str, Change]) -> None:
    """Change all the files (by name in `folder`), or none.

    Raises OSError with every file as it was, and `HalfWritten` where one could neither be written
    nor put back.  FileExistsError: another change is not finished yet.
    """
    known = [folder / name for name, (old, _) in changes.items() if old is not None]
    # It holds what the files hold: nobody may read it who may not read them.
    paper = NewFile(
        path=journal_of(folder),
        data=msgspec.json.encode(dict(changes)),
        seen=ABSENT,
        like=known[0] if known else None,
    )
    sweep(folder)  # where no text of it changes nothing else would
    try:
        put_all([paper, *_new(folder, changes)])
    except HalfWritten as fault:
        says, _, _ = fault.says.partition(";")
        cure = "see to that; the next bom stock finishes it"
        raise HalfWritten(folder, says, cure, fault.errno) from fault
    _done(paper.path)


def _new(folder: Path, changes: Mapping[str, Change]) -> list[NewFile]:
    """The files that have still their old text."""
    return [
        NewFile(path=folder / name, data=new, seen=holding(old))
        for name, (old, new) in changes.items()
        if _text(folder / name) != new
    ]


def finish(folder: Path) -> None:
    """Do the rest of a change that was cut off, if there is one.

    Raises `HalfWritten` where somebody has changed one of the files since: it is left alone.
    """
    paper = journal_of(folder)
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
    put_all(_new(folder, changes))
    _done(paper)


def _done(paper: Path) -> None:
    """Away with it; one that stays does no harm, since every file is as it says."""
    with suppress(OSError):
        paper.unlink()
    sync_folder(paper.parent)


def _text(file: Path) -> bytes | None:
    try:
        return file.read_bytes()
    except FileNotFoundError:
        return None


def _loaded(paper: Path) -> dict[str, Change]:
    """The changes of a journal, texts in base64; `NotWritten` for one that is none of ours."""
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
