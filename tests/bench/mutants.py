"""Which small mistakes in the figures and the stages the tests would not notice.

    python -m tests.bench.mutants --modules figures --all
    python -m tests.bench.mutants --sample 300 --seed 1

A mutant is the program with one change: another operator, number, comparison or condition, a
loop that never runs.  Cosmic Ray (the extra `mutation`) makes them; here they are drawn, tried
in a copy of the tree, and counted.  The tests run once with the line that each test reaches
noted; a mutant is then tried with the tests that reach its line, those of its own module first,
then the quick ones, so many as its budget of seconds allows, until one fails.  It survives where
none does, and where no test reaches its line: the score is rather too low than too high.
"""

import argparse
import ast
import importlib
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import xml.etree.ElementTree as ElementTree
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import accumulate
from pathlib import Path
from typing import Any

from tabulate import tabulate

ROOT = Path(__file__).parent.parent.parent
STAGES = (
    *("figures", "measure", "current", "supply", "ends", "size", "check", "takeoff", "allot"),
    *("buy", "cutting", "cut", "price"),
)
TESTS = (
    *("figures", "measure", "net", "words", "current", "ends", "size", "check", "takeoff", "allot"),
    *("cutting", "buy", "order", "price", "by_hand", "doubt", "cases"),
)
"""The tests that reach the stages in their own process: `tests/test_NAME.py`."""

NOT_COPIED = (".git", ".venv*", ".hypothesis", ".*_cache", "__pycache__", ".coverage*")
PATIENCE = 4
"""A mutant hangs where its tests take so many times as long as without it, and ten seconds."""
PYTEST = ("-q", "-p", "no:cacheprovider", "--hypothesis-seed=0")
LIBRARIES = ("pytest", "hypothesis", "pydantic", "typer", "openpyxl", "tabulate")
"""What most tests load; it does not change from mutant to mutant."""

_OF_WHOLE_NUMBERS = {"RShift", "LShift", "BitOr", "BitAnd", "BitXor"}
"""In place of arithmetic on other numbers these are a TypeError, which any test would notice."""
_OF_IDENTITY = {"Is", "IsNot"}
"""In place of `==` these depend on what Python happens to keep once."""


@dataclass(frozen=True, slots=True)
class Mutant:
    """One change: the operator's name in Cosmic Ray, and which of its places in the file."""

    path: str
    operator: str
    occurrence: int
    line: int
    column: int

    @property
    def place(self) -> tuple[str, str, int, int]:
        """What is changed; there may be a dozen ways of changing a plus sign."""
        return self.path, self.operator.split("_")[0], self.line, self.column


# ---- Making mutants --------------------------------------------------------------------------


def sources(modules: Iterable[str]) -> Iterator[Path]:
    """The files of modules and of rooms, as paths from the root."""
    for module in modules:
        one = Path("bom", f"{module}.py")
        rooms = sorted((ROOT / "bom" / module).glob("*.py"))
        yield from [one] if (ROOT / one).exists() else [path.relative_to(ROOT) for path in rooms]


def mutants_of(path: Path) -> Iterator[Mutant]:
    """All mutants of a file but those that say nothing of the tests."""
    from cosmic_ray.ast import ast_nodes, get_ast
    from cosmic_ray.plugins import get_operator, operator_names

    code = (ROOT / path).read_text(encoding="utf-8")
    nodes = list(ast_nodes(get_ast(code)))
    notes = _annotations(ast.parse(code))
    for name in operator_names():
        operator = get_operator(name)
        if operator.arguments() or _says_nothing(name):
            continue
        places = (at for node in nodes for at in operator().mutation_positions(node))
        for occurrence, (start, _) in enumerate(places):
            if not any(first <= start < last for first, last in notes):
                yield Mutant(path.as_posix(), name, occurrence, *start)


def _says_nothing(name: str) -> bool:
    """True for an operator whose mutants are noticed by any test, or by none."""
    was, _, becomes = name.partition("_")[2].partition("_")
    if was in _OF_WHOLE_NUMBERS or becomes in _OF_WHOLE_NUMBERS:
        return was not in _OF_WHOLE_NUMBERS or becomes not in _OF_WHOLE_NUMBERS
    return becomes in _OF_IDENTITY and was not in _OF_IDENTITY


def _annotations(tree: ast.AST) -> list[tuple[tuple[int, int], tuple[int, int]]]:
    """Where types stand: a changed type is for mypy, not for the tests."""
    found: list[ast.expr | None] = []
    for node in ast.walk(tree):
        if isinstance(node, ast.arg | ast.AnnAssign):
            found.append(node.annotation)
        elif isinstance(node, ast.FunctionDef):
            found.append(node.returns)
    return [
        ((note.lineno, note.col_offset), (note.end_lineno or 0, note.end_col_offset or 0))
        for note in found
        if note
    ]


def drawn(mutants: Sequence[Mutant], count: int, dice: random.Random) -> list[Mutant]:
    """So many places with one mutant each, in the order of the files; every place is as likely."""
    places: dict[tuple[str, str, int, int], list[Mutant]] = {}
    for mutant in mutants:
        places.setdefault(mutant.place, []).append(mutant)
    chosen = dice.sample(list(places), min(count, len(places)))
    one_each = [dice.choice(places[place]) for place in chosen]
    return sorted(one_each, key=lambda mutant: (mutant.path, mutant.line, mutant.column))


# ---- Trying them -----------------------------------------------------------------------------


@dataclass
class Workbench:
    """A copy of the tree, with what each test reaches."""

    root: Path
    budget_s: float
    seconds: dict[str, float] = field(default_factory=dict)
    """How long each test took, unchanged."""

    def prepare(self, tests: Iterable[str]) -> None:
        """Run the tests once, unchanged, and note which test reaches which line."""
        names = [f"tests/test_{name}.py" for name in tests]
        measured = ("--cov=bom", "--cov-context=test", "--cov-report=", "--junitxml=times.xml")
        command = [sys.executable, "-m", "pytest", *PYTEST, *names, *measured]
        here = {**os.environ, "PYTHONPATH": str(self.root)}
        if subprocess.run(command, cwd=self.root, env=here, check=False).returncode:
            raise SystemExit("the tests fail as they are")
        # pytest has written it above, in our own copy of the tree: nobody else's XML is read
        times = ElementTree.parse(self.root / "times.xml")  # noqa: S314
        for test in times.iter("testcase"):
            file = f"{test.attrib['classname'].replace('.', '/')}.py"
            self.seconds[f"{file}::{test.attrib['name']}"] = float(test.attrib["time"])
        for library in LIBRARIES:
            importlib.import_module(library)

    def reaching(self, mutant: Mutant) -> list[str]:
        """The tests that reach the statement of a mutant, as many as its budget allows.

        A statement that runs when the module is imported is reached by all that use the module,
        and so may be one of a function that remembers its results, of which only the first
        caller was noted.
        """
        from coverage import CoverageData

        data = CoverageData(str(self.root / ".coverage"))
        data.read()
        by_line = data.contexts_by_lineno(str(self.root / mutant.path))
        tree = ast.parse((self.root / mutant.path).read_text(encoding="utf-8"))
        noted = set(by_line.get(_statement(tree, mutant), ()))
        contexts = noted - {""}
        if noted == {""} or (noted and _remembered(tree, mutant)):
            contexts = {context for found in by_line.values() for context in found} - {""}
        own = f"tests/test_{Path(mutant.path).parts[1].removesuffix('.py')}.py"
        tests = {context.partition("|")[0] for context in contexts}
        first = sorted(tests, key=lambda t: (not t.startswith(own), self.seconds.get(t, 0.0), t))
        spent = accumulate(self.seconds.get(test, 0.0) for test in first)
        return [test for test, until in zip(first, spent, strict=True) if until <= self.budget_s]

    def survives(self, mutant: Mutant, tests: Sequence[str]) -> bool:
        """Whether none of the tests fails, nor hangs, on the mutant."""
        path = self.root / mutant.path
        was = path.read_text(encoding="utf-8")
        path.write_text(mutated(was, mutant), encoding="utf-8")
        for stale in path.parent.glob(f"__pycache__/{path.stem}.*.pyc"):
            stale.unlink()  # it is told by its size and second, which a mutant may share
        listed = self.root / "tests.args"
        listed.write_text("\n".join(tests), encoding="utf-8")
        try:
            usual_s = sum(self.seconds.get(test, 0.0) for test in tests)
            return not _fails(self.root, ("-x", f"@{listed}"), 10 + PATIENCE * usual_s)
        finally:
            path.write_text(was, encoding="utf-8")


def _fails(root: Path, words: Sequence[str], limit_s: float) -> bool:
    """Whether a run of tests in a tree fails, or takes too long.

    The run is a fork of this process, which has the libraries loaded already: most mutants are
    noticed in less time than a program takes to start.
    """
    child = os.fork()
    if child == 0:
        os.setsid()  # what the tests start is ended with them
        os._exit(_run_forked(root, words))
    end = time.monotonic() + limit_s
    while time.monotonic() < end:
        done, status = os.waitpid(child, os.WNOHANG)
        if done:
            return status != 0
        time.sleep(0.01)
    os.killpg(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return True


def _run_forked(root: Path, words: Sequence[str]) -> int:
    """Exit code of pytest in this process, with the package and the tests of that tree."""
    import pytest

    silence = os.open(os.devnull, os.O_WRONLY)
    os.dup2(silence, 1)
    os.dup2(silence, 2)
    for name in list(sys.modules):
        if name.partition(".")[0] in ("bom", "tests"):
            del sys.modules[name]
    sys.dont_write_bytecode = True
    sys.path[:] = [str(root), *(path for path in sys.path if path not in ("", str(ROOT)))]
    os.environ["PYTHONPATH"] = str(root)
    os.chdir(root)
    return int(pytest.main([*PYTEST, *words]))


def mutated(code: str, mutant: Mutant) -> str:
    """The file with the change of a mutant."""
    from cosmic_ray.mutating import mutate_code
    from cosmic_ray.plugins import get_operator

    changed: Any = mutate_code(code, get_operator(mutant.operator)(), mutant.occurrence)
    assert isinstance(changed, str), mutant
    return changed


def _statement(tree: ast.AST, mutant: Mutant) -> int:
    """The line on which the innermost statement begins that holds the mutant's place."""
    at = mutant.line
    holding = [
        node.lineno
        for node in ast.walk(tree)
        if isinstance(node, ast.stmt) and node.lineno <= at <= (node.end_lineno or 0)
    ]
    return max(holding, default=at)


def _remembered(tree: ast.AST, mutant: Mutant) -> bool:
    """Whether a mutant is in a function that is called once for the same arguments."""
    return any(
        isinstance(node, ast.FunctionDef)
        and node.lineno <= mutant.line <= (node.end_lineno or 0)
        and any("cache" in ast.unparse(decorator) for decorator in node.decorator_list)
        for node in ast.walk(tree)
    )


@dataclass(frozen=True, slots=True)
class Tried:
    """A mutant with the number of tests that reach it, and whether it survived them."""

    mutant: Mutant
    tests: int
    survived: bool


def tried(bench: Workbench, mutants: Sequence[Mutant]) -> Iterator[Tried]:
    """Each mutant, tried one after the other: those that survive are printed as they are found."""
    begun = time.monotonic()
    for number, mutant in enumerate(mutants, start=1):
        tests = bench.reaching(mutant)
        one = Tried(mutant, len(tests), not tests or bench.survives(mutant, tests))
        if one.survived:
            print(f"{told(mutant)}{'' if tests else '  (no test reaches it)'}\n", flush=True)
        yield one
        spent = time.monotonic() - begun
        print(f"\r{number} of {len(mutants)}, {spent:.0f} s", end="", file=sys.stderr)
    print(file=sys.stderr)


# ---- Telling ---------------------------------------------------------------------------------


def score(results: Sequence[Tried]) -> str:
    """A table of the modules with the share of mutants that were noticed."""
    rows = []
    for path in (*dict.fromkeys(one.mutant.path for one in results), "all"):
        these = [one for one in results if path in (one.mutant.path, "all")]
        alive = [one for one in these if one.survived]
        unreached = sum(not one.tests for one in alive)
        share = 100 * (len(these) - len(alive)) / len(these)
        rows.append((path, len(these), len(these) - len(alive), len(alive), unreached, share))
    heads = ("module", "mutants", "killed", "survived", "without a test", "score %")
    return tabulate(rows, heads, floatfmt=".1f")


def told(mutant: Mutant) -> str:
    """Where a mutant is, and its line before and after."""
    was = (ROOT / mutant.path).read_text(encoding="utf-8")
    lines, becomes = was.splitlines(), mutated(was, mutant).splitlines()
    index = next(i for i, (old, new) in enumerate(zip(lines, becomes, strict=False)) if old != new)
    head = f"{mutant.path}:{index + 1} {mutant.operator.partition('/')[2]}"
    return f"{head}\n  - {lines[index].strip()}\n  + {becomes[index].strip()}"


def _asked() -> argparse.Namespace:
    ask = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawTextHelpFormatter
    )
    ask.add_argument("--modules", nargs="+", default=STAGES, metavar="NAME")
    ask.add_argument("--tests", nargs="+", default=TESTS, metavar="NAME")
    ask.add_argument("--all", action="store_true", help="every mutant, and no sample")
    ask.add_argument("--sample", type=int, default=300, help="places to draw")
    ask.add_argument("--seed", type=int, default=1)
    ask.add_argument("--budget", type=float, default=20, help="seconds of tests for a mutant")
    return ask.parse_args()


def main() -> None:
    """Draw, try, and print the score by module and each survivor."""
    asked = _asked()
    mutants = [mutant for path in sources(asked.modules) for mutant in mutants_of(path)]
    chosen = mutants if asked.all else drawn(mutants, asked.sample, random.Random(asked.seed))
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder, "tree")
        shutil.copytree(ROOT, copy, ignore=shutil.ignore_patterns(*NOT_COPIED))
        bench = Workbench(copy, asked.budget)
        bench.prepare(asked.tests)
        results = list(tried(bench, chosen))
    print(f"seed {asked.seed}, {len(chosen)} of {len(mutants)} mutants\n\n{score(results)}")


if __name__ == "__main__":
    main()
