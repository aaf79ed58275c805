"""On a real terminal: sentences part between words, and long work shows that it goes on."""

import os
import re
import struct
import subprocess
import sys
from pathlib import Path

import pytest

from bom.cli.screen import wrapped
from tests.within import JOBS, ROOT, bom_alone

pty = pytest.importorskip("pty", reason="a terminal of this kind is there on POSIX alone")
fcntl = pytest.importorskip("fcntl")
termios = pytest.importorskip("termios")

AT_ONCE = """
import signal, sys, threading
signal.signal(signal.SIGINT, signal.default_int_handler)  # tests in the background ignore it
from bom import estimate
from bom.cli import main, progress

shown = threading.Event()
appear, buy_for = progress._Status._appear, estimate.buy_for

def and_tell(status):
    appear(status)
    shown.set()

def slow(*args, **how):
    assert shown.wait(60)
    if progress._status:
        progress._status._live.refresh()  # it is drawn four times a second: that may be too late
    {then}
    return buy_for(*args, **how)

progress._Status._appear, estimate.buy_for = and_tell, slow
progress.AFTER_SECONDS = 0
main()
"""
"""The program with an order that takes until its status is shown, which is at once."""

QUICK = """
import atexit, sys
from bom.cli import main, progress
progress.AFTER_SECONDS = 3600
atexit.register(lambda: print("rich is loaded:", "rich" in sys.modules))
main()
"""


def on_a_terminal(
    program: str, *words: str, columns: int = 80, cwd: Path = JOBS.parent, term: str = "xterm"
) -> tuple[int, str]:
    """The code of the program, and what it sent to a terminal of so many columns."""
    ours, its = pty.openpty()
    fcntl.ioctl(its, termios.TIOCSWINSZ, struct.pack("HHHH", 40, columns, 0, 0))
    child = subprocess.Popen(
        [sys.executable, "-c", program, *words],
        cwd=cwd,
        stdin=its,
        stdout=its,
        stderr=its,
        env={"PATH": "", "PYTHONPATH": str(ROOT), "TERM": term, "NO_COLOR": "1"},
    )
    os.close(its)
    sent = b""
    while True:
        try:
            read = os.read(ours, 65536)
        except OSError:  # how Linux says that nobody is there any more
            break
        if not read:
            break
        sent += read
    os.close(ours)
    return child.wait(), sent.decode()


def left_on_the_screen(sent: str) -> str:
    """What stands there at last: of what moves the cursor, all that a line taken back needs."""
    lines, row, column = [""], 0, 0
    for command, to, text in re.findall("\x1b\\[([?0-9;]*)([A-Za-z])|([\r\n]|[^\x1b\r\n]+)", sent):
        if text == "\r":
            column = 0
        elif text == "\n":
            row += 1
            lines += [""] * (row == len(lines))
        elif to == "A":
            row -= int(command or 1)
        elif to == "K":
            assert command == "2"
            lines[row] = ""
        elif to in "hlm" and to:
            pass  # the cursor seen or not, and colours
        else:
            line = lines[row].ljust(column)
            lines[row] = line[:column] + text + line[column + len(text) :]
            column += len(text)
    return "\n".join(line.rstrip() for line in lines).rstrip("\n")


def test_a_sentence_is_wrapped_below_its_own_indent() -> None:
    """And what goes to a file is left as it is."""
    text = "error: colour is not known\n    try: dark green"
    assert wrapped(text, 17) == "error: colour is\n  not known\n    try: dark\n      green"
    assert wrapped(text, None) == text


@pytest.mark.parametrize("what", ["total", "P6"])
@pytest.mark.parametrize("columns", [60, 80])
def test_reasons_part_between_words_on_a_terminal(what: str, columns: int) -> None:
    """The same words as in a pipe, and no line longer than the terminal."""
    _, sent = on_a_terminal(QUICK, "why", "twin", what, columns=columns)
    shown, _, loaded = left_on_the_screen(sent).partition("rich is loaded: ")
    assert max(map(len, shown.splitlines())) <= columns
    assert shown.split() == bom_alone("why", "twin", what, cwd=JOBS.parent).stdout.split()
    assert loaded == "False"


def test_long_work_is_told_and_the_line_is_gone_before_the_answer() -> None:
    """In the end the screen is as if the order had been there at once, the cursor with it."""
    code, sent = on_a_terminal(AT_ONCE.format(then=""), "cut", "twin")
    assert code == 0
    assert "looking for the cheapest order, " in sent
    assert sent.rindex("looking for") < sent.index("cut list")
    assert sent.rindex("\x1b[?25h") > sent.rindex("\x1b[?25l")
    _, quick = on_a_terminal(QUICK, "cut", "twin")
    assert f"{left_on_the_screen(sent)}\nrich is loaded: False" == left_on_the_screen(quick)
    assert "looking for" not in quick


@pytest.mark.parametrize(
    ("then", "code", "said"),
    [
        ("signal.raise_signal(signal.SIGINT)", 130, "stopped"),
        ("sys.exit('the shelf is on fire')", 1, "the shelf is on fire"),
    ],
)
def test_whatever_ends_the_work_the_line_is_gone(then: str, code: int, said: str) -> None:
    """The owner's Ctrl-C, or an exit."""
    left, sent = on_a_terminal(AT_ONCE.format(then=then), "cut", "twin")
    screen = left_on_the_screen(sent)
    assert left == code
    assert "looking for" in sent and "looking for" not in screen
    assert screen.strip() == said
    assert sent.rindex("\x1b[?25h") > sent.rindex("\x1b[?25l")


@pytest.mark.parametrize("piped", [True, False])
def test_nothing_is_told_of_long_work_where_it_cannot_be_taken_back(piped: bool) -> None:
    """In a pipe, and on a terminal that knows no cursor."""
    program = AT_ONCE.format(then="").replace("assert shown.wait(60)", "")
    if piped:
        done = subprocess.run(
            [sys.executable, "-c", program, "cut", "twin"],
            cwd=JOBS.parent,
            capture_output=True,
            text=True,
            check=True,
            env={"PATH": "", "PYTHONPATH": str(ROOT), "TERM": "xterm"},
        )
        assert done.stderr == ""
    else:
        code, sent = on_a_terminal(program, "cut", "twin", term="dumb")
        assert code == 0 and "looking for" not in sent and "\x1b" not in sent


WHATEVER_TAKES_LONG = """
import sys, threading
from bom.cli import main, program, progress

shown = threading.Event()
appear, app = progress._Status._appear, program.app

def and_tell(status):
    appear(status)
    shown.set()

def slow(*args, **how):
    assert shown.wait(60)
    return app(*args, **how)

progress._Status._appear, program.app = and_tell, slow
progress.AFTER_SECONDS = 0
main()
"""
"""The program with commands that take until their status is shown."""


@pytest.mark.parametrize(
    "words",
    [
        ("check", "single"),
        ("takeoff", "single", "--json"),
        ("stock", "show", "cover"),
        ("stock", "count", "bullet cover, male", "4", "--dry-run"),
        ("prices", "show"),
        ("stock", "hold", "nothing"),
    ],
    ids=" ".join,
)
def test_every_command_that_takes_long_shows_it(words: tuple[str, ...]) -> None:
    """And leaves the screen as if it had not."""
    _, sent = on_a_terminal(WHATEVER_TAKES_LONG, *words, columns=200)
    assert "working, 0 s" in sent
    _, quick = on_a_terminal(QUICK, *words, columns=200)
    assert f"{left_on_the_screen(sent)}\nrich is loaded: False" == left_on_the_screen(quick)


STOPPED_WHILE_IT_LOADS = """
import os, signal, sys
from importlib.abc import MetaPathFinder

signal.signal(signal.SIGINT, signal.default_int_handler)  # tests in the background ignore it

class AtOnce(MetaPathFinder):
    def find_spec(self, name, path=None, target=None):
        if name == {module!r}:
            os.kill(os.getpid(), signal.SIGINT)

sys.meta_path.insert(0, AtOnce())
from bom.cli import main
main()
"""


@pytest.mark.parametrize("module", ["typer", "bom.cli.stock", "bom.job", "bom.read.job_rows"])
def test_it_may_be_stopped_while_it_loads(module: str) -> None:
    """One word, and the code that a shell expects of it."""
    code, sent = on_a_terminal(STOPPED_WHILE_IT_LOADS.format(module=module), "check", "twin")
    assert (code, left_on_the_screen(sent)) == (130, "stopped")
