"""README and help: every command shown runs as written, and every command is shown."""

import re
import shlex
import shutil
from pathlib import Path

import pytest
import typer

from bom.cli import app
from tests.test_cli import ROOT, bom

README = (ROOT / "README.md").read_text(encoding="utf-8")
SHOWN = [
    shlex.split(line.strip())[1:] for line in re.findall(r"^    (bom .*)$", README, re.MULTILINE)
]
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


def _in_workshop(args: list[str]) -> bool:
    """Commands of the shelf, and those that name a job without its path."""
    return args[0] in IN_WORKSHOP or (args[0] != "new" and "/" not in args[1])


@pytest.fixture
def project(tmp_path: Path) -> Path:
    """A folder with the sample projects in it, to be written in."""
    shutil.copytree(ROOT / "sample_projects", tmp_path / "sample_projects")
    return tmp_path


@pytest.fixture
def copied(project: Path) -> Path:
    """The sample workshop, to be written in."""
    return project / "sample_projects" / "workshop"


@pytest.mark.parametrize(
    "args", [a for a in SHOWN if a[0] != "new" and not _in_workshop(a)], ids=" ".join
)
def test_every_command_in_readme_runs_as_written(args: list[str], project: Path) -> None:
    """What README shows exits with 0 in the project's folder."""
    done = bom(*args, cwd=project)
    assert done.returncode == 0, done.stderr
    assert done.stdout


def test_a_job_takes_the_way_that_readme_shows(copied: Path) -> None:
    """The commands of the shelf one after the other, in the workshop."""
    for args in filter(_in_workshop, SHOWN):
        done = bom(*args, cwd=copied)
        assert done.returncode == 0, (args, done.stderr)
        assert done.stdout
    assert bom("stock", "release", "twin", cwd=copied).returncode == 1  # issued: nothing is held


def test_the_new_commands_of_readme_run_as_written(tmp_path: Path) -> None:
    """A workshop, and inside it a job."""
    new = [args for args in SHOWN if args[0] == "new"]
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
