"""The shape of the code: data flows one way, and each file format has one home."""

import ast
import re
from graphlib import TopologicalSorter
from pathlib import Path

PACKAGE = Path(__file__).parent.parent / "bom"

ROOMS = (
    {"trade"},
    {"files"},
    # the stages: plain functions that do not know each other
    {"read", "reckon", "buy", "shelf"},
    # the pages that know their order
    {"job"},
    {"estimate"},
    {"workshop"},
    {"show"},
    {"cli"},
)
"""From the ground up: a room imports from those below it alone."""
LEVEL = {name: level for level, names in enumerate(ROOMS) for name in names}
STAGES = {
    *("reckon.measure", "reckon.current", "reckon.supply", "reckon.ends", "reckon.size"),
    *("reckon.check", "reckon.takeoff", "buy.allot", "buy.order", "buy.cut", "buy.price"),
    *("buy.doubt", "buy.colours", "shelf.moves", "shelf.stockbook", "shelf.marks"),
}
"""The stages of one room: they do not know each other either."""
ONE_HOME = {
    "typer": {"cli"},
    "rich": {"cli.progress"},
    "python_calamine": {"files.sheet"},
    "zipfile": {"files.sheet"},
    # the stock book may be a folder of .csv, of which single records are changed in place
    "csv": {"files.sheet", "trade.catalogue_files", "shelf.stockbook"},
    "xlsxwriter": {"files.table"},
    "openpyxl": {"workshop.new_books", "files.sheet", "shelf.stockbook"},  # there: formulas alone
    "tabulate": {"files.table"},
    "filelock": {"shelf.stockbook"},
    "typst": {"show.paper"},
    "babel": {"show.paper"},
    "jinja2": {"show.page"},
    # the desk: its server, what it watches, the picture of its code
    "starlette": {"cli.desk"},
    "uvicorn": {"cli.desk"},
    "watchfiles": {"cli.desk"},
    "segno": {"cli.desk"},
    # marks: the history of moves, summed by item and week
    "pandas": {"shelf.marks"},
    "highspy": {"buy.solver"},
    "pydantic": {"shelf.stockbook"},
}
HEAVY = {
    "rich",
    "pandas",
    "openpyxl",
    "numpy",
    "xlsxwriter",
    "python_calamine",
    "highspy",
    "filelock",
    "typst",
    "babel",
    "pydantic",
    "jinja2",
    "starlette",
    "uvicorn",
    "watchfiles",
    "segno",
}

OF_THE_SOLVER = {f"buy.solver.{name}" for name in ("columns", "knapsack", "listing", "programme")}
"""The inside of the solver's own process, which loads all at once; nobody else imports it."""


def name_of(path: Path) -> str:
    """The module by its name below `bom`: `reckon.size.choice`."""
    parts = path.relative_to(PACKAGE).with_suffix("").parts
    return ".".join(part for part in parts if part != "__init__")


TREES = {
    name_of(path): ast.parse(path.read_text(encoding="utf-8")) for path in PACKAGE.rglob("*.py")
}
"""What each module is made of, by its name."""


def corner(name: str) -> str:
    """The module or the folder of a room that a name belongs to: `reckon.size`."""
    return ".".join(name.split(".")[:2])


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


def _inside(own: str) -> set[str]:
    """The modules of our own that one imports, `from folder import module` told as the module."""
    found = set()
    for node in ast.walk(TREES[own]):
        if isinstance(node, ast.ImportFrom) and (node.module or "").split(".")[0] == "bom":
            base = (node.module or "").removeprefix("bom").removeprefix(".")
            for alias in node.names:
                whole = f"{base}.{alias.name}" if base else alias.name
                found.add(whole if whole in TREES else base)
    return found - {own}


def _strange(own: str, other: str) -> bool:
    """Whether a module may not import the other."""
    room, its = own.split(".")[0], other.split(".")[0]
    if its != room and LEVEL[its] >= LEVEL[room]:
        return True
    return {corner(own), corner(other)} <= STAGES and corner(own) != corner(other)


def test_a_room_imports_only_from_rooms_below() -> None:
    """No page reaches up, and no stage knows another stage."""
    astray = [f"{own}: {other}" for own in TREES for other in _inside(own) if _strange(own, other)]
    assert astray == []


def test_no_modules_import_one_another_in_a_circle() -> None:
    """Inside the rooms too."""
    order = TopologicalSorter({name: _inside(name) for name in TREES}).static_order()
    assert len(list(order)) == len(TREES)  # CycleError for a circle


def test_a_dozen_names_at_the_top() -> None:
    """The pages that know the order of work, and the rooms."""
    top = [path for path in PACKAGE.iterdir() if path.suffix == ".py" or any(path.glob("*.py"))]
    assert len(top) <= 12


def test_each_outside_library_has_its_home() -> None:
    """File formats, the command line and the frames of pandas stay in their rooms."""
    astray = [
        f"{own}: {name}"
        for own, tree in TREES.items()
        for name in {name.split(".")[0] for name in _imports(tree)} & {*ONE_HOME}
        if not ONE_HOME[name] & {corner(own), own.split(".")[0]}
    ]
    assert astray == []


def test_heavy_libraries_are_imported_inside_functions() -> None:
    """Help must come at once, so nothing heavy is imported with a module."""
    heavy = [
        f"{own}: {name}"
        for own, tree in TREES.items()
        for node in tree.body
        if isinstance(node, ast.Import | ast.ImportFrom) and own not in OF_THE_SOLVER
        for name in {name.split(".")[0] for name in _imports(node)} & HEAVY
    ]
    assert heavy == []
    users = {own for own in TREES if OF_THE_SOLVER & _inside(own)}
    assert users <= {*OF_THE_SOLVER, "buy.solver.__main__"}


def test_text_is_read_and_written_in_a_named_encoding() -> None:
    """Windows would take its own code page for a file whose encoding nobody names."""
    bare = [
        f"{own}: {ast.unparse(node)}"
        for own, tree in TREES.items()
        for node in ast.walk(tree)
        if isinstance(node, ast.Call)
        and (getattr(node.func, "attr", "") or getattr(node.func, "id", ""))
        in ("read_text", "write_text", "open")
        and not ast.unparse(node.func).startswith("os.")  # bytes, not text
        and "encoding" not in {keyword.arg for keyword in node.keywords}
        and not any(re.search("b['\"]|member|os.O_", ast.unparse(arg)) for arg in node.args)
    ]
    assert bare == []


def test_one_page_asks_what_day_it_is() -> None:
    """A test that plays a quarter sets one clock, and nothing of the program knows another."""
    asks = ("date.today", "datetime.now", "datetime.today", "datetime.utcnow")
    astray = [
        own
        for own, tree in TREES.items()
        for node in ast.walk(tree)
        if isinstance(node, ast.Attribute) and ast.unparse(node) in asks
    ]
    assert astray == ["files.clock"]


POSIX_ONLY = {"fcntl", "pwd", "grp", "resource", "termios", "posix"}
LACKING = {"os.chown", "os.link", "os.kill", "os.fchmod", "os.geteuid"}


def test_nothing_is_imported_that_only_one_system_has() -> None:
    """Windows and macOS run it too; what `os` lacks there has its fallback in `safely`."""
    for own, tree in TREES.items():
        assert not _imports(tree) & POSIX_ONLY, own
        used = {ast.unparse(n) for n in ast.walk(tree) if isinstance(n, ast.Attribute)} & LACKING
        assert not used or own == "files.safely", own


def _functions() -> list[tuple[str, ast.FunctionDef]]:
    return [
        (name, node)
        for name, tree in TREES.items()
        for node in ast.walk(tree)
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
