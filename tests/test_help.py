"""Help that teaches: wrong usage with its cure, help within 80 columns, shell completion."""

import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
import typer

from bom.cli.program import app
from bom.cli.usage import Group, PlainCommand, _taken_as_typed, _Word
from tests.stockrooms import loom, shop
from tests.test_docs import COMMANDS, GROUP
from tests.within import JOBS, ROOT, bom

TWIN = "sample_projects/workshop/jobs/twin.xlsx"
A_JOB = "a job book: .xlsx, .xlsm, .ods, .csv, a folder of .csv, or its name"
WRONG = (
    ("takof x", "error: no command 'takof'\n    try: bom takeoff\n"),
    ("stock isue", "error: no command 'isue'\n    try: bom stock issue\n"),
    ("new jb x", "error: no command 'jb'\n    try: bom new job\n"),
    ("isue twin", "error: no command 'isue'\n    try: bom stock issue\n"),
    ("frobnicate", "error: no command 'frobnicate'\n    try: bom --help\n"),
    ("stock zzz", "error: no command 'zzz'\n    try: bom stock --help\n"),
    (TWIN, f"error: no command '{TWIN}'\n    try: bom check {TWIN}\n"),
    ("check x --jsn", "error: bom check has no option '--jsn'\n    try: --json\n"),
    ("check x --topup", "error: bom check has no option '--topup'\n    try: bom check --help\n"),
    ("check x -j", "error: bom check has no option '-j'\n    try: bom check --help\n"),
    ("--hlp", "error: bom has no option '--hlp'\n    try: --help\n"),
    (
        "check",
        f"error: bom check needs JOB ({A_JOB})\n    try: bom check {TWIN}\n"
        "    help: bom check --help\n",
    ),
    (
        f"why {TWIN}",
        "error: bom why needs WHAT (a wire's label, an item of the take-off, or: total, labour, "
        "fuse, supplier)\n"
        f"    try: bom why {TWIN} P6\n    help: bom why --help\n",
    ),
    (
        "cut",
        "error: bom cut needs JOB (one job book or more, by path or name)\n"
        f"    try: bom cut {TWIN}\n    help: bom cut --help\n",
    ),
    (
        f"pack {TWIN}",
        "error: bom pack needs --out (the folder that the sheets are put into)\n"
        f"    try: bom pack {TWIN} --out twin-papers\n    help: bom pack --help\n",
    ),
    (
        f"order {TWIN} --with",
        f"error: --with needs a word after it\n    try: bom order {TWIN} --topup\n"
        "    help: bom order --help\n",
    ),
    (
        "check x --json=3",
        f"error: --json takes no word after it\n    try: bom check {TWIN}\n"
        "    help: bom check --help\n",
    ),
    (
        "check old twin.xlsx",
        "error: bom check can do nothing with 'twin.xlsx': a name with blanks stands in quotes\n"
        f"    try: bom check {TWIN}\n    help: bom check --help\n",
    ),
    (f"why {TWIN} P66", "error: 'P66' is neither a wire nor an item of this job\n    try: P6\n"),
    (
        f"why {TWIN} nonsense",
        "error: 'nonsense' is neither a wire nor an item of this job\n"
        f"    try: a wire or an item of: bom takeoff {TWIN}\n",
    ),
)


@pytest.mark.parametrize(("words", "says"), WRONG, ids=[words for words, _ in WRONG])
def test_wrong_usage_names_the_fault_and_the_cure(words: str, says: str) -> None:
    """On stderr alone, and the exit code is 2."""
    done = bom(*words.split())
    assert (done.returncode, done.stdout, done.stderr) == (2, "", says)


def test_a_job_in_the_place_of_a_command(tmp_path: Path) -> None:
    """In the workshop its bare name will do, with quotes where it has blanks."""
    folder = shop(tmp_path)
    loom(folder, "old twin", 1.0)
    done = bom("old twin", cwd=folder)
    assert done.stderr == "error: no command 'old twin'\n    try: bom check \"old twin\"\n"
    assert bom("x" * 300, cwd=folder).stderr.endswith("    try: bom --help\n")


HERE = "sample_projects/workshop/jobs/"


@pytest.mark.parametrize(
    ("words", "says", "cure"),
    [
        (f"quote {TWIN} {HERE}single.xlsx", "takes one job at a time", TWIN),
        ("quote twin single --customer", "takes one job at a time", "twin --customer"),
        ("quote twin single --set a=1 --set b=2", "takes one job", "twin --set a=1 --set b=2"),
        ("check twin, single", "takes one job at a time", "twin"),
        ("check twin,single --json", "takes one job at a time", "twin --json"),
        ("takeoff twin single carrier", "takes one job at a time", "twin"),
        ("why twin single P6", "takes one job at a time", "twin P6"),
        ("stock release twin single --dry-run", "takes one job at a time", "twin --dry-run"),
        ("done twin single", "takes one job at a time", "twin"),
        ("check old twin", "can do nothing with 'twin'", '"old twin"'),
        ("why old twin P6", "can do nothing with 'P6'", '"old twin" P6'),
        ("why twin main feed", "can do nothing with 'feed'", 'twin "main feed"'),
        (
            "why twin fuse horn and stop",
            "can do nothing with 'and stop'",
            'twin fuse "horn and stop"',
        ),
        ("new job big red twin", "can do nothing with 'red twin'", '"big red twin"'),
        ("new job big twin --like twin", "can do nothing with 'twin'", '"big twin" --like twin'),
    ],
)
def test_words_too_many(words: str, says: str, cure: str, tmp_path: Path) -> None:
    """Several jobs for one, or a name without its quotes: the command as it was meant."""
    shutil.copytree(ROOT / "sample_projects", tmp_path / "sample_projects")
    jobs = tmp_path / HERE
    shutil.copy(jobs / "twin.xlsx", jobs / "old twin.xlsx")
    done = bom(*words.split(), cwd=tmp_path if HERE in words else jobs.parent)
    command = re.match(r"(stock |new )?\w+", words)
    assert command and done.returncode == 2
    head, cured = f"error: bom {command[0]} {says}", f"    try: bom {command[0]} {cure}\n"
    assert done.stderr.startswith(head) and cured in done.stderr
    assert len(done.stderr.splitlines()) == 3


@pytest.mark.parametrize("words", ["twin, single", "twin,single", "twin , single", "twin single,"])
def test_commas_between_jobs(words: str, tmp_path: Path) -> None:
    """They are as good as blanks; a book with a comma in its name is one book."""
    shutil.copytree(JOBS.parent, tmp_path / "shop")
    here = tmp_path / "shop"
    wanted = bom("order", "twin", "single", cwd=here).stdout
    assert wanted and bom("order", *words.split(), cwd=here).stdout == wanted
    (here / "jobs" / "twin.xlsx").rename(here / "jobs" / "twin,single.xlsx")
    done = bom("order", "twin,single", cwd=here)
    assert done.returncode == 0 and done.stdout != wanted
    assert bom("order", ",", cwd=here).stderr.startswith("error: bom order needs JOB (")


def outside(*lines: str) -> str:
    """What is said outside a workshop, between the count and the caution."""
    caution = (
        "caution: not in a workshop folder: built-in house rules, nothing on the shelf, no prices\n"
        "    try: bom new workshop PATH\n"
    )
    begin = lines[0].partition(": ")[2].partition(": ")[2]
    return "\n".join((f"1 error, 1 caution; begin with: {begin}", *lines, caution))


def test_a_book_that_is_none_is_told_with_what_there_is(tmp_path: Path) -> None:
    """A name that nobody knows, a folder, a file of another kind: fault and cure."""
    shutil.copytree(JOBS.parent, tmp_path / "shop")
    here = tmp_path / "shop"
    books = "one of jobs/carrier.xlsx, jobs/single.xlsx, jobs/twin.xlsx"
    for words, says in (
        ("order twn", "error: no job 'twn'\n    try: twin"),
        ("order single TWNI.XLSX", "error: no job 'TWNI'\n    try: twin"),
        ("stock hold twim", "error: no job 'twim'\n    try: twin"),
        ("done jobs/twim.xlsx", "error: no job 'twim'\n    try: twin"),
        ("new job x --like ./twi", "error: no job 'twi'\n    try: twin"),
        ("cut zzz", "error: no job 'zzz'\n    try: one of carrier, single, twin"),
        ("check jbs/twim.xlsx", "error: twim.xlsx: there is no folder 'jbs'\n"
         "    try: jobs/twin.xlsx"),
        ("check jbs/twin.xlsx", "error: twin.xlsx: there is no folder 'jbs'\n"
         "    try: jobs/twin.xlsx"),
        ("check jobs", f"error: jobs: is a folder without any .csv in it\n    try: {books}"),
        ("check .", f"error: shop: is the folder of a workshop, and no book\n    try: {books}"),
        (
            "check workshop.toml",
            "error: workshop.toml: files ending in '.toml' are not read\n"
            "    try: open it in the spreadsheet program and save it as .xlsx",
        ),
        (
            "order twin --with Foo",
            "error: no supplier 'Foo' on the price lists\n"
            "    try: Example Cable Co. or Example Motor Factors or Example Terminal House",
        ),
    ):  # fmt: skip
        done = bom(*words.split(), cwd=here)
        assert (done.returncode, done.stdout) == (1, "")
        head = "1 error\n" if words.startswith("check") else ""
        assert done.stderr == f"{head}{says}\n"
    (tmp_path / "empty").mkdir()
    done = bom("check", "twn", cwd=tmp_path / "empty")
    assert done.stderr == outside(
        "error: twn: there is no such file", "    try: the path of a book"
    )


def test_a_job_that_is_none_by_its_path(tmp_path: Path) -> None:
    """From outside the workshop the nearest is a path; where no job is, it may be made."""
    loom(shop(tmp_path / "shop"), "old twin", 1.0)
    for typed, says, cure in (
        ("shop/jobs/old twim.xlsx", "no job 'old twim'", '"shop/jobs/old twin.xlsx"'),
        ("shop/jobs/zzz", "no job 'zzz'", '"shop/jobs/old twin.xlsx"'),
        ("shop/old twin", "old twin: there is no such file", '"shop/jobs/old twin.xlsx"'),
    ):
        done = bom("check", typed, cwd=tmp_path)
        assert f"error: {says}\n    try: {cure}\n" in done.stderr
    for folder in ("new", "apart"):
        (tmp_path / folder / "jobs").mkdir(parents=True)
    (tmp_path / "new" / "workshop.toml").touch()
    done = bom("check", "big twin", cwd=tmp_path / "new" / "jobs")
    assert "error: no job 'big twin'\n    try: bom new job \"big twin\"\n" in done.stderr
    done = bom("check", "apart/jobs/zzz", cwd=tmp_path)
    assert "error: no job 'zzz'\n    try: the path of a book\n" in done.stderr


@pytest.mark.parametrize(
    ("words", "code", "says", "cure"),
    [
        (
            f"takeoff {TWIN} --json --xlsx {TWIN}",
            1,
            f"{TWIN} is a book of the workshop and is left as it is",
            "another name",
        ),
        ("takof --json", 2, "no command 'takof'", "bom takeoff"),
        ("check x --json --jsn", 2, "bom check has no option '--jsn'", "--json"),
        ("check --json", 2, f"bom check needs JOB ({A_JOB})", f"bom check {TWIN}"),
        (
            f"why {TWIN} P66 --json",
            2,
            "'P66' is neither a wire nor an item of this job",
            "P6",
        ),
    ],
)
def test_a_refusal_under_json_is_json(words: str, code: int, says: str, cure: str) -> None:
    """Stdout has the problem and nothing else; stderr tells it as ever."""
    done = bom(*words.split())
    assert done.returncode == code
    assert done.stderr.startswith(f"error: {says}\n    try: {cure}\n")
    problem: dict[str, Any] = dict.fromkeys(("file", "sheet", "cell"), "")
    problem |= {"level": "error", "says": says, "try": cure, "accepted": False}
    assert json.loads(done.stdout) == {"problems": [problem]}


def test_marks_that_cannot_be_learned_are_json_too(tmp_path: Path) -> None:
    """Outside a workshop there is no stock book to learn from."""
    done = bom("topup", "--learn", "--json", cwd=tmp_path)
    assert done.returncode == 1
    said = [problem["says"] for problem in json.loads(done.stdout)["problems"]]
    assert "there is no workshop here" in said


def test_a_file_that_cannot_be_written_names_the_cure(tmp_path: Path) -> None:
    """No number of the system's, but what to name instead."""
    (tmp_path / "file").write_text("mine")
    path = tmp_path / "file" / "shop"
    done = bom("new", "workshop", path)
    assert done.returncode == 1
    assert done.stderr == (
        "error: shop: nothing was written: a file stands where a folder belongs\n"
        "    try: move that file away\n"
    )


def test_json_after_two_dashes_is_a_name() -> None:
    """What stands behind `--` is no option."""
    done = bom("check", "x", "--", "--json")
    assert (done.returncode, done.stdout) == (2, "")


# Help


def groups() -> dict[str, Any]:
    """Every group and command by the words that call it."""
    found: dict[str, Any] = {"bom": GROUP}
    for name, command in GROUP.commands.items():
        found[f"bom {name}"] = command
        for sub, below in getattr(command, "commands", {}).items():
            found[f"bom {name} {sub}"] = below
    return found


HELPED = groups()


@pytest.mark.parametrize("words", HELPED)
def test_help_is_for_people(words: str) -> None:
    """Within 80 columns, a sentence for each thing, names of arguments and no types."""
    done = bom(*words.split()[1:], "--help")
    assert (done.returncode, done.stderr) == (0, "")
    assert max(map(len, done.stdout.splitlines())) <= 80
    assert done.stdout.startswith(f"Usage: {words} ")
    assert not re.search(r"<|\{|None|Path\b|Traceback|[a-z,]\.\.\.", done.stdout)
    command = HELPED[words]
    assert command.help[0].isupper() and command.help.rstrip().endswith(".")
    for param in command.params:
        assert param.help[0].isupper() and param.help.endswith("."), param.name
        assert param.help in " ".join(done.stdout.split())
    if command.epilog:
        assert f"\n  {command.epilog}\n" in done.stdout


def test_every_group_and_command_tells_wrong_usage_our_way() -> None:
    """A group made with `typer.Typer` would fall back to the library's words."""
    for words, command in HELPED.items():
        kind = Group if hasattr(command, "commands") else PlainCommand
        assert isinstance(command, kind), words
    assert len(HELPED) == len(COMMANDS) + 4  # bom, bom new, bom stock, bom prices


@pytest.mark.parametrize("group", ["stock", "new"])
def test_a_group_alone_prints_its_help(group: str) -> None:
    """The same as with `--help`."""
    alone, helped = bom(group), bom(group, "--help")
    assert (alone.returncode, alone.stderr) == (0, "")
    assert alone.stdout == helped.stdout


WATCHED = """
import json, sys
from pathlib import Path
opened = set()
def note(event, args):
    path = Path(args[0]) if event == "open" and isinstance(args[0], str) else Path()
    if Path.cwd() in path.absolute().parents:
        opened.add(path.name)
sys.addaudithook(note)
from bom.cli import main
try:
    main()
except SystemExit:
    pass
print(json.dumps([sorted(opened), [name for name in sys.modules if "." not in name]]))
"""
HEAVY = {"rich", "pandas", "openpyxl", "numpy", "highspy", "typst", "xlsxwriter", "babel"}


def watched(*words: str, cwd: Path = ROOT, **environment: str) -> tuple[list[str], set[str]]:
    """The files of its folder that the program opens, and the libraries that it loads."""
    done = subprocess.run(
        [sys.executable, "-c", WATCHED, *words],
        cwd=cwd,
        capture_output=True,
        text=True,
        check=True,
        env={"PYTHONPATH": str(ROOT), **environment},
    )
    opened, loaded = json.loads(done.stdout.splitlines()[-1])
    return opened, set(loaded)


@pytest.mark.parametrize("words", ["--help", "takof", "check x --jsn"])
def test_neither_help_nor_wrong_usage_loads_anything_heavy(words: str) -> None:
    """Both come at once: no tables, workbooks, solver or paper."""
    _, loaded = watched(*words.split())
    assert not loaded & {*HEAVY, "python_calamine"}


@pytest.mark.parametrize("more", ["", "--json"])
def test_a_take_off_does_not_load_pydantic(more: str) -> None:
    """It takes longer to load than the job to work out, and guards what no take-off reads."""
    _, loaded = watched("takeoff", TWIN, *more.split())
    (param, *_) = HELPED["bom takeoff"].params
    assert "pydantic" not in loaded or not hasattr(param, "_runtime_param"), (
        "an older typer reads words itself"
    )


@pytest.mark.parametrize("name", sorted(HELPED))
def test_words_are_taken_as_typer_takes_them(name: str) -> None:
    """Text, a path, several of them, or nothing: the same with its own reading and with ours."""
    for param in HELPED[name].params:
        if not hasattr(param, "_runtime_param") or param.type_descriptor.annotation is bool:
            continue
        context = typer.Context(HELPED[name])
        many = param.multiple or param.nargs == -1
        for given in (None, ("a b", "c")) if many else (None, "a b"):
            param._runtime_param = None
            theirs = param.process_value(context, given) if given else None
            _taken_as_typed([param])
            assert type(param._runtime_param) is _Word
            ours = param.process_value(context, given) if given else None
            assert (ours, type(ours)) == (theirs, type(theirs))


# Completion


def asked(*words: str, shell: str = "bash") -> dict[str, str]:
    """How a shell asks for the last of the words."""
    return {
        "_BOM_COMPLETE": f"complete_{shell}",
        **{
            "bash": {"COMP_WORDS": "\n".join(("bom", *words)), "COMP_CWORD": str(len(words))},
            "zsh": {"_TYPER_COMPLETE_ARGS": " ".join(("bom", *words))},
            "fish": {
                "_TYPER_COMPLETE_ARGS": " ".join(("bom", *words)),
                "_TYPER_COMPLETE_FISH_ACTION": "get-args",
            },
        }[shell],
    }


def completed(*words: str, cwd: Path = JOBS.parent, shell: str = "bash") -> list[str]:
    """What the shell is offered for the last of the words; nothing else may be said."""
    done = bom(cwd=cwd, **asked(*words, shell=shell))
    assert done.stderr == ""
    return done.stdout.split("\n")[:-1]


@pytest.mark.parametrize(
    ("words", "offered"),
    [
        (("tak",), ["takeoff"]),
        (("stock", "re"), ["release", "receive"]),
        (("check", "x", "--js"), ["--json"]),
        (("check", "tw"), ["twin"]),
        (("cut", "twin", "s"), ["single"]),
        (("stock", "hold", "c"), ["carrier"]),
        (("check", "../"), [""]),
        (("stock", "receive", "ord"), [""]),
        (("why", "twin", "tot"), ["total"]),
        (("why", "twin", "P6"), ["P6"]),
        (("why", "nonsense", ""), [""]),
        (("topup", "--without", "Example\\ M"), [""]),
        (("topup", "--with", "'Example M"), ["Example Motor Factors"]),
        (("topup", "--with", '"Example M'), ["Example Motor Factors"]),
    ],
    ids=str,
)
def test_bash_is_offered_what_begins_so(words: tuple[str, ...], offered: list[str]) -> None:
    """Where nothing is offered bash goes on to its own: the files."""
    assert completed(*words) == offered


def test_suppliers_and_jobs_are_those_of_the_workshop() -> None:
    """With a backslash before each blank, as bash wants them where no quote is open."""
    names = {"Example\\ Cable\\ Co.", "Example\\ Motor\\ Factors", "Example\\ Terminal\\ House"}
    for words in (("order", "twin", "--with", ""), ("stock", "receive", "--from", "Ex")):
        assert set(completed(*words)) == names
    assert set(completed("quote", "", cwd=JOBS)) == {"carrier", "single", "twin"}


@pytest.mark.parametrize(
    ("shell", "offered"),
    [
        ("zsh", ["_arguments '*: :((\"Example Motor Factors\"))'"]),
        ("fish", ["Example Motor Factors"]),
    ],
)
def test_other_shells_put_their_own_marks(shell: str, offered: list[str]) -> None:
    """No backslash is put before what they take as it is."""
    found = completed("topup", "--with", '"Example M', shell=shell)
    assert found == offered


def test_completion_reads_little_is_quiet_and_writes_nothing(tmp_path: Path) -> None:
    """Broken books, odd names, a large book: no word on stderr, and only the book asked for."""
    folder = shop(tmp_path)
    loom(folder, "o'twin & co", 1.0)
    (folder / "jobs" / "rubbish.xlsx").write_bytes(b"PK rubbish")
    (folder / "jobs" / "large.csv").write_text("from,to,colour\n" + "a,b,red\n" * 50_000)
    (folder / "suppliers.xlsx").write_bytes(b"")
    (folder / "workshop.toml").write_text("not = [toml")
    before = {path: path.stat().st_mtime_ns for path in folder.rglob("*")}
    for words, offered, reads in (
        (("check", "o"), "o\\'twin\\ \\&\\ co", []),
        (("why", "rubbish", ""), "", ["rubbish.xlsx", "workshop.toml"]),
        (("why", "large", ""), "", ["workshop.toml"]),
        (("order", "--with", ""), "", ["suppliers.xlsx"]),
    ):
        assert completed(*words, cwd=folder) == [offered]
        opened, loaded = watched(cwd=folder, **asked(*words))
        assert (opened, loaded & HEAVY) == (reads, set())
    assert {path: path.stat().st_mtime_ns for path in folder.rglob("*")} == before


@pytest.mark.parametrize("asks", ["complete_bash", "complete_nosuch", "nonsense", "complete_zsh"])
def test_a_shell_that_asks_amiss_gets_no_traceback(asks: str) -> None:
    """Without the words that belong to the question, or in a tongue that nobody knows."""
    done = bom(_BOM_COMPLETE=asks)
    assert "Traceback" not in done.stderr


def test_completion_is_installed_and_works_in_bash(tmp_path: Path) -> None:
    """What `--install-completion` leaves in the home folder offers the twin."""
    program = tmp_path / "bin" / "bom"
    program.parent.mkdir()
    program.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m bom.cli "$@"\n')
    program.chmod(0o755)
    env = {
        "PATH": f"{program.parent}:{os.environ['PATH']}",
        "HOME": str(tmp_path),
        "PYTHONPATH": str(ROOT),
    }
    script = (
        "bom --install-completion >/dev/null; bom --show-completion | grep -c _bom_completion\n"
        '. "$HOME/.bash_completions/bom.sh"\n'
        "COMP_WORDS=(bom check tw); COMP_CWORD=2; _bom_completion bom; echo ${COMPREPLY[@]}\n"
    )
    done = subprocess.run(
        ["bash", "-c", script],
        cwd=JOBS.parent,
        capture_output=True,
        text=True,
        check=False,
        env=env,
    )
    assert (done.returncode, done.stdout.split()) == (0, ["2", "twin"]), done.stderr


def test_the_program_is_a_typer_of_our_own() -> None:
    """So that new commands speak as the others do without being told to."""
    assert isinstance(app, typer.Typer)
    assert type(app).__name__ == "Commands"
