"""The papers and help: what is shown runs as written, and every command is shown."""

import os
import re
import shlex
import shutil
from pathlib import Path

import pytest
import typer

from bom.cli.program import app
from bom.files import clock
from bom.job import open_job
from bom.show.drawing import drawn_place
from tests.consoles import (
    BLOCK,
    DEVELOPERS,
    MORNING,
    README,
    REFERENCE,
    assert_console,
    typed_and_printed,
)
from tests.test_layers import PACKAGE, ROOMS, STAGES
from tests.within import ROOT, bom

GROUP = typer.main.get_group(app)
TYPED = [
    words for block in BLOCK.findall(README + REFERENCE) for words, _ in typed_and_printed(block)
]
"""Every command that is shown with what it prints."""
SHOWN = [shlex.split(line) for line in re.findall(r"^    (bom\b.*?)  +\w", README, re.MULTILINE)]
"""The page of commands."""


def _commands() -> list[tuple[tuple[str, ...], str]]:
    """Every command by its words, with its epilog."""
    found: list[tuple[tuple[str, ...], str]] = []
    for name, command in GROUP.commands.items():
        below = getattr(command, "commands", None)
        if below is None:
            found.append(((name,), command.epilog or ""))
        else:
            found += [((name, sub), c.epilog or "") for sub, c in below.items()]
    return found


COMMANDS = _commands()
IN_WORKSHOP = ("stock", "topup", "done", "learn", "prices", "jobs", "record", "desk")
"""Commands that are typed in the workshop's folder."""
FIRST: dict[tuple[str, ...], tuple[str, ...]] = {
    ("new", "job"): ("new", "workshop", "."),
    **dict.fromkeys((("stock", "release"), ("stock", "undo")), ("stock", "hold", "twin")),
    ("stock", "takeback"): ("stock", "issue", "twin", "--part"),
    ("stock", "receive"): ("order", "twin", "--place"),
    ("stock", "sendback"): ("stock", "receive", "2026-003"),
    ("stock", "close"): ("order", "twin", "--place"),
    ("prices", "paid"): ("stock", "receive", "2026-002"),
}
"""What has to be typed before the example of a command runs, and before that in its turn."""


@pytest.fixture
def project(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with the sample projects in it, to be written in, on the morning of the examples."""
    monkeypatch.setattr(clock, "now", lambda: MORNING)
    shutil.copytree(ROOT / "sample_projects", tmp_path / "sample_projects")
    return tmp_path


def test_what_the_reference_shows_is_what_is_printed(project: Path) -> None:
    """Every command with its output, in the order of the page, in a copy of the projects."""
    folder = project / "sample_projects"
    for block in BLOCK.findall(REFERENCE):
        folder = assert_console(block, folder)
    assert folder == project / "sample_projects" / "workshop"
    assert bom("stock", "release", "twin", cwd=folder).returncode == 1  # it is issued


@pytest.mark.parametrize(("words", "epilog"), COMMANDS, ids=lambda value: str(value)[:30])
def test_every_command_is_shown_and_has_an_example_that_runs(
    words: tuple[str, ...], epilog: str, project: Path
) -> None:
    """On README's page of commands, with what it prints, and at the end of its help."""
    start = ["bom", *words]
    assert any(shown[: len(start)] == start for shown in SHOWN)
    args = shlex.split(epilog.removeprefix("Example: "))
    assert args[: len(start)] == start
    folder = project
    if words == ("new", "job"):
        folder = project / "shop"
        folder.mkdir()
    elif words[0] in IN_WORKSHOP:
        folder = project / "sample_projects" / "workshop"
    before = [FIRST[words]] if words in FIRST else []
    while before and before[0][:2] in FIRST:
        before.insert(0, FIRST[before[0][:2]])
    for first in before:
        assert bom(*first, cwd=folder).returncode == 0
    done = bom(*args[1:], cwd=folder)
    assert done.returncode == 0, done.stderr


def test_the_page_of_commands_is_shown_with_what_is_printed() -> None:
    """Each of its lines word for word, in the first hour or in the reference."""
    assert [words for words in SHOWN if words not in TYPED] == []


def test_readme_opens_with_the_job_in_one_paragraph() -> None:
    """The first paragraph under the title says what the program is for."""
    paragraph = README.split("\n\n")[1]
    for word in ("list of circuits", "cable", "terminals", "order", "cut list", "prices"):
        assert word in " ".join(paragraph.split())


def test_the_picture_in_readme_is_the_drawing_of_the_sample() -> None:
    """On white and without the empty half of its sheet; `BOM_WRITE_CASES=1` draws it anew."""
    places = open_job(ROOT / "sample_projects" / "workshop" / "jobs" / "twin.xlsx").places
    (tray,) = (filled for filled in places if filled.place.point == "electrics tray")
    svg = drawn_place("twin: electrics tray", tray).svg
    whole, cut = 'width="297mm" height="210mm" viewBox="0 0 297 210">', (280, 135)
    white = '<rect width="100%" height="100%" fill="white"/>'
    size = f'width="{cut[0]}mm" height="{cut[1]}mm" viewBox="0 0 {cut[0]} {cut[1]}">{white}'
    picture = ROOT / "sample_projects" / "electrics-tray.svg"
    assert whole in svg and f"sample_projects/{picture.name}" in README
    if os.environ.get("BOM_WRITE_CASES"):
        picture.write_text(svg.replace(whole, size), encoding="utf-8")
    assert picture.read_text(encoding="utf-8") == svg.replace(whole, size)


def test_readme_has_the_two_commands_that_ci_runs() -> None:
    """One command shows the job, the other runs the tests; `.ci/run` takes them from here."""
    for mark in ("run", "test"):
        block = re.search(rf"^<!-- {mark} -->\n```sh\n(.+)\n```$", README, re.MULTILINE)
        assert block
        assert block[1].startswith("python3 -m venv .venv && ")


def test_the_papers_are_short() -> None:
    """README is read in a sitting, DEVELOPERS.md before the first change."""
    assert len(README.splitlines()) <= 300
    assert len(DEVELOPERS.split()) <= 2500


def test_developers_names_every_room_and_stage() -> None:
    """And every path that it names is there."""
    for name in {*STAGES, *(room for rooms in ROOMS for room in rooms)}:
        assert f"`{name.replace('.', '/')}" in DEVELOPERS, name
    for word in ("import rule", "How to add", "catalogs/"):
        assert word in DEVELOPERS
    paths = re.findall(r"`((?:\w+/)+(?:\w+(?:\.\w+)?)?)`", DEVELOPERS)
    gone = [
        name
        for name in paths
        if not any((top / end).exists() for top in (ROOT, PACKAGE) for end in (name, f"{name}.py"))
    ]
    assert not gone
