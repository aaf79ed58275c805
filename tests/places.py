"""Where `bom/` complains, by its source, and which of those places are heard while tests run.

Whatever a user is told becomes a `Problem`, a `Misspelt`, a `NotWritten` or a `Fault`.  While
`listening`, each of them that is made notes the lines that led to it: those of all its callers,
and those that raised what is being handled, since a ValueError is told where it is caught.
"""

import ast
import importlib
import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import ExitStack, contextmanager
from functools import cache
from pathlib import Path
from pkgutil import resolve_name, walk_packages
from traceback import walk_stack, walk_tb
from typing import Any
from unittest import mock

import bom

PACKAGE = Path(bom.__file__).parent
COMPLAINTS = frozenset({"error", "caution", "Problem", "Fault", "refuse", "refused", "damaged"})
"""What is called to complain; so is every exception that is raised, but for these."""
WORDLESS = frozenset({"Exit", "Exists", "Refusal", "Refused", "Unwritable"})
"""What is raised with problems that were made before, or has its words in its own class."""

MADE = (
    *("bom.trade.problem.Problem", "bom.files.sheet.Problem"),
    *(f"bom.files.sheet.{reader}.Fault" for reader in ("ods", "text", "values", "xlsx")),
    *("bom.files.spelling.Misspelt.__init__", "bom.files.safely.NotWritten.__init__"),
)
"""Where complaints are made, by the names that those who make them use."""

HEARD: set[tuple[str, int]] = set()
"""The lines that led to a complaint in this process, each by the path of its file."""


@cache
def sources() -> Mapping[str, list[ast.AST]]:
    """What each file of `bom/` is made of, by its path there."""
    return {
        path.relative_to(PACKAGE).as_posix(): [*ast.walk(ast.parse(path.read_text("utf-8")))]
        for path in sorted(PACKAGE.rglob("*.py"))
    }


def unheard() -> Iterator[tuple[str, int, str]]:
    """Every call that complains and was not heard: its file in `bom/`, its line, how it reads."""
    for file, nodes in sources().items():
        raised = {node.exc for node in nodes if isinstance(node, ast.Raise)}
        for call in (node for node in nodes if isinstance(node, ast.Call)):
            lines = range(call.lineno, (call.end_lineno or 0) + 1)
            here = ((str(PACKAGE / file), line) for line in lines)
            if _complains(call.func, call in raised) and HEARD.isdisjoint(here):
                yield file, call.lineno, ast.unparse(call)


def _complains(func: ast.expr, raised: bool) -> bool:
    """By its name, or one of the two of `(error if bad else caution)(...)`."""
    called = (func.body, func.orelse) if isinstance(func, ast.IfExp) else (func,)
    names = {getattr(node, "id", "") or getattr(node, "attr", "") for node in called}
    kinds = {name for name in names - WORDLESS if name[:1].isupper()}
    return bool(names & COMPLAINTS or (raised and kinds))


@contextmanager
def listening() -> Iterator[None]:
    """Note in `HEARD` what complains meanwhile."""
    with ExitStack() as patches:
        for name in MADE:
            patches.enter_context(mock.patch(name, _noting(resolve_name(name))))
        yield


def _noting(make: Callable[..., Any]) -> Callable[..., Any]:
    def made(*args: Any, **named: Any) -> Any:
        lines = [*walk_stack(sys._getframe(1))]
        handled = sys.exc_info()[1]
        while handled:
            lines += walk_tb(handled.__traceback__)
            handled = handled.__context__
        HEARD.update((frame.f_code.co_filename, line) for frame, line in lines)
        return make(*args, **named)

    return made


for _module in walk_packages(bom.__path__, "bom."):  # none may come in while names are patched
    if not _module.name.endswith("__main__"):
        importlib.import_module(_module.name)
