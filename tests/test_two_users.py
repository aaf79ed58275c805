"""Two users of one workshop: what one of them makes in `.bom` never shuts the other out."""

import json
import os
import shutil
import stat
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.full_disks import tree
from tests.shops import CABLE, DRAWER, job
from tests.stockrooms import ITEMS, MOVES, REELS, loom, shop
from tests.test_full_disk import as_csv
from tests.within import bom

ANNA, BERT, GROUP = 64101, 64102, 64100  # numbers that no system gives to anybody

pytestmark = pytest.mark.skipif(
    os.name != "posix" or os.getuid() != 0, reason="only root can be two users"
)


def as_user(user: int, folder: Path, *words: str) -> tuple[int, str]:
    """Exit code and stderr of a command of a member of the group, whose new files are 0644."""
    reader, writer = os.pipe()
    child = os.fork()  # with everything loaded: the libraries may lie where only root may read
    if child == 0:
        try:
            os.setgroups([GROUP])
            os.setresgid(GROUP, GROUP, GROUP)
            os.setresuid(user, user, user)
            os.umask(0o022)
            done = bom(*words, cwd=folder)
            told = (done.returncode, done.stderr)
        except BaseException as fault:
            told = (99, repr(fault))
        os.write(writer, json.dumps(told).encode())
        os._exit(0)
    os.close(writer)
    with open(reader, "rb") as answer:
        said = answer.read()
    os.waitpid(child, 0)
    code, told_text = json.loads(said)
    return code, told_text


@pytest.fixture(params=["xlsx", "folder"])
def shared(request: pytest.FixtureRequest) -> Iterator[Path]:
    """A workshop in a folder of the group (2770), every file of it Anna's and open to the group."""
    folder = Path(tempfile.mkdtemp())
    shop(folder)
    loom(folder, "twin", 1.5)
    if request.param == "folder":
        (folder / "stock.xlsx").unlink()
        sheets = {"Cable": (CABLE, *REELS), "Drawer": (DRAWER, *ITEMS), "Moves": (MOVES,)}
        for name, rows in sheets.items():
            as_csv(folder / "stock" / f"{name}.csv", rows)
    loaded(folder)
    for path in (folder, *folder.rglob("*")):
        os.chown(path, ANNA, GROUP)
        path.chmod(0o2770 if path.is_dir() else 0o660)
    yield folder
    shutil.rmtree(folder)


def loaded(folder: Path) -> None:
    """Every module that the commands below need is loaded, and the workshop is as before."""
    with tempfile.TemporaryDirectory() as name:
        other = Path(name) / "shop"
        shutil.copytree(folder, other)
        for words in (("stock", "count", "R01", "9"), ("check", "twin"), ("stock", "undo")):
            assert bom(*words, cwd=other).returncode == 0


def rights(path: Path) -> tuple[str, int]:
    """Mode and group."""
    found = path.stat()
    return f"{stat.S_IMODE(found.st_mode):o}", found.st_gid


def test_both_count_hold_undo_and_check(shared: Path) -> None:
    """By turns, and each finds what the other did; `.bom` has the rights of its folder."""
    turns = (
        (ANNA, ("stock", "count", "R01", "9")),
        (BERT, ("stock", "count", "R01", "8")),
        (ANNA, ("check", "twin")),
        (BERT, ("check", "twin")),
        (BERT, ("stock", "hold", "twin")),
        (ANNA, ("stock", "undo")),
        (BERT, ("stock", "undo")),
        (ANNA, ("stock", "show")),
    )
    for user, words in turns:
        code, said = as_user(user, shared, *words)
        assert code == 0, (user, words, said)
    assert rights(shared / ".bom") == ("2770", GROUP)
    assert len([*(shared / ".bom").glob("stock 20*")]) == 5  # a copy for each that wrote


def test_what_one_was_told_the_other_is_told_no_more(shared: Path) -> None:
    """Anna looks at one caution, Bert at another in its place: his is kept, with rights of 660."""
    note = shared / ".bom" / "twin.xlsx.told"
    for user, key in ((ANNA, "colour_of_the_seat"), (BERT, "size_of_the_tank")):
        job(shared, [("W1", "red", "1.0", 1.5)], "twin", {key: 1})
        code, said = as_user(user, shared, "check", "twin")
        assert code == 0 and f"'{key}' is not an item" in said
        assert key in note.read_text()
        assert rights(note) == ("660", GROUP)


@pytest.mark.parametrize("mode", [0o755, 0o700])
def test_a_room_of_an_earlier_version(mode: int, shared: Path) -> None:
    """Made by Anna for herself: Bert hears what to do, nothing is written, and it is a cure."""
    room = shared / ".bom"
    room.mkdir()
    os.chown(room, ANNA, GROUP)
    room.chmod(mode)
    before = tree(shared)
    code, said = as_user(BERT, shared, "stock", "count", "R01", "8")
    assert code == 1 and tree(shared) == before
    asked = f"ask user {ANNA} to book something with bom stock, which opens it, or for chmod 2770"
    assert f"not written: the folder {room} is user {ANNA}'s, and closed to others" in said
    assert f"try: {asked} {room}\n" in said
    assert as_user(BERT, shared, "stock", "show")[0] == 0  # to read needs nothing of it
    assert as_user(ANNA, shared, "stock", "count", "R01", "9")[0] == 0
    code, said = as_user(BERT, shared, "stock", "count", "R01", "8")
    assert code == 0, said


def test_a_private_workshop_stays_private(tmp_path: Path) -> None:
    """A folder of 700 makes a `.bom` of 700."""
    shop(tmp_path / "shop")
    (tmp_path / "shop").chmod(0o700)
    assert bom("stock", "count", "R01", "9", cwd=tmp_path / "shop").returncode == 0
    assert rights(tmp_path / "shop" / ".bom")[0] == "700"
