"""README and help: every command shown runs as written, and every command is shown."""

import re
import shlex
import shutil
from pathlib import Path

import pytest
import typer

from bom.cli import app
from tests.consoles import BLOCK, assert_console, typed_and_printed
from tests.test_cli import ROOT, bom

README = (ROOT / "README.md").read_text(encoding="utf-8")
TUTORIAL = README.partition("\n## From tape measure to quotation\n")[2].partition("\n## ")[0]
CONSOLES = [block for block in BLOCK.findall(README) if block not in TUTORIAL]
SHOWN = [
    shlex.split(line.strip())[1:] for line in re.findall(r"^    (bom .*)$", README, re.MULTILINE)
]
"""Commands that are shown without what they print."""
GROUP = typer.main.get_group(app)


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


IN_WORKSHOP = ("stock", "topup", "done", "learn", "prices")
"""Commands that are typed in the workshop's folder."""


@pytest.fixture
def project(tmp_path: Path) -> Path:
    """A folder with the sample projects in it, to be written in."""
    shutil.copytree(ROOT / "sample_projects", tmp_path / "sample_projects")
    return tmp_path


@pytest.fixture
def copied(project: Path) -> Path:
    """The sample workshop, to be written in."""
    return project / "sample_projects" / "workshop"


def test_what_readme_shows_is_what_is_printed(project: Path) -> None:
    """Every command with its output, in the order of the page, in a copy of the projects."""
    folder = project
    for block in CONSOLES:
        folder = assert_console(block, folder)
    assert folder == project / "sample_projects" / "workshop"
    assert bom("stock", "release", "twin", cwd=folder).returncode == 1  # issued: nothing is held


def test_every_command_is_shown_with_what_it_prints() -> None:
    """All but those that make a workshop and a job: the tutorial shows them."""
    typed = {
        tuple(words[1:])
        for block in BLOCK.findall(README)
        for words, _ in typed_and_printed(block)
        if words[0] == "bom"
    }
    bare = [words for words, _ in COMMANDS if not any(t[: len(words)] == words for t in typed)]
    # releasing is told in words: what is set aside there is issued
    assert bare == [("stock", "release")]


def test_the_new_commands_of_readme_run_as_written(tmp_path: Path) -> None:
    """A workshop, and inside it a job."""
    new = [args for args in SHOWN if args[0] == "new"]
    assert new
    for args in new:
        assert bom(*args, cwd=tmp_path).returncode == 0
    assert "`bom new job old-twin`" in README
    assert bom("new", "job", "old-twin", cwd=tmp_path / "my-workshop").returncode == 0


@pytest.mark.parametrize(("words", "epilog"), COMMANDS, ids=lambda value: str(value)[:30])
def test_every_command_is_in_readme_and_has_an_example(words: tuple[str, ...], epilog: str) -> None:
    """README shows each command; its help ends with an example that starts with it."""
    assert f"bom {' '.join(words)}" in README
    assert epilog.startswith(f"Example: bom {' '.join(words)}")


@pytest.mark.parametrize(("words", "epilog"), COMMANDS, ids=lambda value: str(value)[:30])
def test_the_example_of_each_command_runs(
    words: tuple[str, ...], epilog: str, project: Path, copied: Path
) -> None:
    """The example of the help runs as it stands."""
    args = shlex.split(epilog.removeprefix("Example: "))[1:]
    if words[0] == "new":
        if words[1] == "job":
            assert bom("new", "workshop", project / "shop").returncode == 0
        where = project / "shop" if words[1] == "job" else project
    else:
        where = copied if words[0] in IN_WORKSHOP else project
    if words[0] == "stock":
        assert bom("order", "twin", "--xlsx", "order.xlsx", cwd=copied).returncode == 0
        assert bom("stock", "hold", "twin", cwd=copied).returncode == 0
    done = bom(*args, cwd=where)
    assert done.returncode == 0, done.stderr


def test_readme_opens_with_the_job_in_one_paragraph() -> None:
    """The first paragraph under the title says what the program is for."""
    paragraph = README.split("\n\n")[1]
    for word in ("list of circuits", "cable", "terminals", "order", "cut list", "prices"):
        assert word in " ".join(paragraph.split())


def test_readme_has_the_two_commands_that_ci_runs() -> None:
    """One command shows the job, the other runs the tests; `.ci/run` takes them from here."""
    for mark in ("run", "test"):
        block = re.search(rf"^<!-- {mark} -->\n```sh\n(.+)\n```$", README, re.MULTILINE)
        assert block
        assert block[1].startswith("python3 -m venv .venv && ")


def test_developers_names_every_module() -> None:
    """DEVELOPERS.md speaks of every stage, and of each folder."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    for name in (
        "job.py",
        "measure",
        "current",
        "ends",
        "size",
        "check",
        "takeoff",
        "allot",
        "buy",
        "moves",
        "stockroom",
        "learn",
        "after.py",
        "allowances",
        "due",
    ):
        assert name in text
    for word in ("import rule", "How to add", "Change log", "catalogs/"):
        assert word in text
