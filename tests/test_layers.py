"""The shape of the code: data flows one way, and each file format has one home."""

import ast
import re
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parent.parent / "bom"

LAYERS = (
    {"__init__", "problem", "safely", "figures", "house", "parts", "example", "words", "phrases",
     "solver", "shelf_figures"},
    {"trade", "sheet", "catalogue", "table", "cutting", "likely"},
    {"goods", "spelling", "net", "bundle"},
    {"headings", "units", "finished"},
    {"matching"},
    # the stages: plain functions that do not know each other
    {
        "read", "shop", "measure", "current", "supply", "ends", "size", "check",
        "takeoff", "allot", "buy", "cut", "price", "new", "stockbook", "moves", "learn",
        "doubt", "paper", "drawing", "pricelist", "allowances", "used", "answers",
    },
    {"job"},
    {"estimate"},
    {"stockroom", "again", "due"},
    {"pricing", "after"},
    {"outcome"},
    {"report", "shelf_outcome", "price_outcome"},
    {"reasons", "shelf_report", "price_report", "costing", "papers", "after_outcome"},
    {"pack", "after_report"},
    {"cli"},
)  # fmt: skip
LEVEL = {name: level for level, names in enumerate(LAYERS) for name in names}
ONE_HOME = {
    "typer": {"cli"},
    "python_calamine": {"sheet"},
    "zipfile": {"sheet"},
    # the stock book may be a folder of .csv, of which single records are changed in place
    "csv": {"sheet", "table", "catalogue", "stockbook"},
    "xlsxwriter": {"table"},
    "openpyxl": {"new", "stockbook"},  # there its reader of formulas alone
    "tabulate": {"table"},
    "filelock": {"stockbook"},
    "typst": {"paper"},
    "babel": {"papers"},
    "pandas": {"report", "learn"},  # learn: the history of moves, summed by item and week
    "highspy": {"solver"},
    "pydantic": {"outcome"},
}
HEAVY = {
    "pandas",
    "openpyxl",
    "numpy",
    "xlsxwriter",
    "python_calamine",
    "highspy",
    "filelock",
    "typst",
    "babel",
}
MODULES = sorted(PACKAGE.rglob("*.py"))


def room(path: Path) -> str:
    """The module, or the folder that a stage has to itself."""
    inside = path.relative_to(PACKAGE)
    return inside.parts[0] if len(inside.parts) > 1 else path.stem


def _imports(tree: ast.AST) -> set[str]:
    names: set[str] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            names.update(alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module == "bom":
            names.update(f"bom.{alias.name}" for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            names.add(node.module)
    return names


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_a_module_imports_only_from_lower_layers(path: Path) -> None:
    """No cycles, no stage that knows another stage, nothing that reaches up."""
    own = room(path)
    names = _imports(ast.parse(path.read_text()))
    inside = {name.split(".")[1] for name in names if name.startswith("bom.")} - {own}
    upward = {name for name in inside if LEVEL[name] >= LEVEL[own]}
    assert not upward, f"{path.name} imports {sorted(upward)}"


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_each_outside_library_has_its_home(path: Path) -> None:
    """File formats, the command line and the frames of pandas stay in their rooms."""
    outside = {name.split(".")[0] for name in _imports(ast.parse(path.read_text()))}
    astray = {
        name for name, homes in ONE_HOME.items() if name in outside and room(path) not in homes
    }
    assert not astray, f"{path.name} imports {sorted(astray)}"


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_heavy_libraries_are_imported_inside_functions(path: Path) -> None:
    """Help must come at once, so nothing heavy is imported with a module."""
    top = [node for node in ast.parse(path.read_text()).body if not _is_typing(node)]
    names = {
        name.split(".")[0]
        for node in top
        if isinstance(node, ast.Import | ast.ImportFrom)
        for name in _imports(node)
    }
    assert not names & HEAVY


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_text_is_read_and_written_in_a_named_encoding(path: Path) -> None:
    """Windows would take its own code page for a file whose encoding nobody names."""
    bare = [
        ast.unparse(node)
        for node in ast.walk(ast.parse(path.read_text()))
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Attribute | ast.Name)
        and (node.func.attr if isinstance(node.func, ast.Attribute) else node.func.id)
        in ("read_text", "write_text", "open")
        and not ast.unparse(node.func).startswith("os.")  # bytes, not text
        and "encoding" not in {keyword.arg for keyword in node.keywords}
        and not any(re.search("b['\"]|member|os.O_", ast.unparse(arg)) for arg in node.args)
    ]
    assert bare == []


POSIX_ONLY = {"fcntl", "pwd", "grp", "resource", "termios", "posix"}


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_nothing_is_imported_that_only_one_system_has(path: Path) -> None:
    """Windows and macOS run it too; what `os` lacks there has its fallback in `safely`."""
    tree = ast.parse(path.read_text())
    assert not _imports(tree) & POSIX_ONLY
    calls = {ast.unparse(n) for n in ast.walk(tree) if isinstance(n, ast.Attribute)}
    lacking = {"os.chown", "os.link", "os.kill", "os.fchmod", "os.geteuid"} & calls
    assert not lacking or path.stem == "safely"


def _is_typing(node: ast.stmt) -> bool:
    return isinstance(node, ast.If) and "TYPE_CHECKING" in ast.dump(node.test)


def _functions() -> list[tuple[str, ast.FunctionDef]]:
    return [
        (str(path.relative_to(PACKAGE)), node)
        for path in MODULES
        for node in ast.walk(ast.parse(path.read_text()))
        if isinstance(node, ast.FunctionDef)
    ]


def test_functions_fit_in_a_glance() -> None:
    """The median is ten lines at most, and none is over sixty (docstrings not counted)."""
    lengths = {}
    for module, node in _functions():
        body = node.body[1:] if ast.get_docstring(node) else node.body
        if body:
            lengths[f"{module}.{node.name}"] = (node.end_lineno or 0) - body[0].lineno + 1
    assert sorted(lengths.values())[len(lengths) // 2] <= 10
    assert not {name: length for name, length in lengths.items() if length > 60}


def test_functions_take_six_arguments_at_most() -> None:
    """More than six, self not counted, is a type that has not been named yet.

    Commands are left out: their parameters are the options that a user may type.
    """
    wide = {}
    for module, node in _functions():
        names = [arg.arg for arg in (*node.args.args, *node.args.kwonlyargs) if arg.arg != "self"]
        if not module.startswith("cli") and len(names) > 6:
            wide[f"{module}.{node.name}"] = len(names)
    assert not wide
