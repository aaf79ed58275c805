"""Every sentence with which the program complains, as it stands in the source.

`collected` walks the syntax tree of `bom/` and follows what is said, and the cure, from the
calls that make a problem or raise an exception back to the texts: through local names, `+=`,
conditional expressions, constants, tables, and the functions of ours that give a text or a
pair of texts back.  A function that hands its own parameter on is such a call itself.  What
cannot be followed is an answer too: then nobody could tell whether a case covers it.
"""

import ast
import builtins
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import cached_property
from itertools import product
from pathlib import Path
from typing import TypeAlias

PACKAGE = Path(__file__).parent.parent / "bom"

HOLE = ".+?"
_FIGURE = r"[-+]?[\d.,]+(?:e[-+]?\d+)?"
_MOST = 40
"""So many texts one expression may stand for; more would be a fault of the walk."""

FunctionNode: TypeAlias = ast.FunctionDef | ast.AsyncFunctionDef


@dataclass(frozen=True, slots=True)
class Text:
    """One text as it reads, holes in braces, and the pattern of what it becomes."""

    shown: str
    pattern: str

    def __add__(self, other: "Text") -> "Text":
        return Text(self.shown + other.shown, self.pattern + other.pattern)


@dataclass(frozen=True, slots=True, kw_only=True)
class Template:
    """One text that a user may see: where it is made, and as what (`error`, `cure` ...)."""

    place: str
    kind: str
    text: Text


@dataclass(frozen=True, slots=True)
class Sink:
    """A call that complains: the positions of what is said and of the cure, None for none."""

    kind: str
    says: int | None
    cure: int | None = None


SINKS: Mapping[str, Sink] = {
    "error": Sink("error", 1, 2),
    "caution": Sink("caution", 1, 2),
    "Problem": Sink("either", 2, 3),
    "Misspelt": Sink("error", 0, 1),
    "NotWritten": Sink("error", 1, 2),
    "HalfWritten": Sink("error", 1, 2),
    "BadParameter": Sink("usage", 0),
    "Fault": Sink("fault", 0),
    "damaged": Sink("why", 1),
}
"""The calls that every complaint begins with; functions that hand one on are found."""

PASSED_ON = frozenset(
    {
        *("fault.says", "fault.cure", "p.says", "p.cure", "str(fault)", "str(fault.message)"),
        "lines[0]",  # the reasons' own, collected there
        *("says.partition('; try: ')[0]", "says.partition('; try: ')[2]"),
    }
)
"""Texts that were collected where they were made."""

OTHERS_WORDS = frozenset(
    {
        "fault.strerror",
        "str(bad)",  # what zipfile, zlib and expat say
        "text.strip()",  # what the spreadsheet program shows for an error
        "''.join(self._value)",
        "message[:1].lower()",  # of the library that reads the command line
        "message[1:].rstrip('.')",
        "raw.strip()",
    }
)
"""Words that are not ours: the operating system's, a library's, the spreadsheet program's."""

NOTHING_SAID = frozenset({"Exit"})
"""What is raised without a text: the exit code alone."""


class Unfollowed(Exception):
    """An expression whose text cannot be told from the source."""


@dataclass(kw_only=True)
class Module:
    """One file of the package; `imported` are module and name of what it has from others."""

    name: str
    tree: ast.Module
    functions: dict[str, list[FunctionNode]] = field(default_factory=dict)
    imported: dict[str, tuple[str, str]] = field(default_factory=dict)

    classes: set[str] = field(default_factory=set)

    @cached_property
    def constants(self) -> Mapping[str, ast.expr]:
        """The module's own names with their values."""
        return {given.name: given.value for given in _values(self.tree.body)}


@dataclass(frozen=True, slots=True)
class Scope:
    """Where an expression stands."""

    module: Module
    function: FunctionNode | None

    @property
    def parameters(self) -> list[str]:
        """The names of the function's parameters, without `self`."""
        if self.function is None:
            return []
        given = self.function.args
        names = [arg.arg for arg in (*given.posonlyargs, *given.args, *given.kwonlyargs)]
        return [name for name in names if name not in ("self", "cls")]

    def given(self, name: str, line: int) -> list[ast.expr] | None:
        """What a local name may be at a line; None for a name that is none."""
        return _reaching(self.function.body, name, line) if self.function else None


@dataclass(frozen=True, slots=True)
class Arm:
    """One block of a compound statement; of an `if` only one block is gone through."""

    line: int
    number: int
    one_of: bool


Arms: TypeAlias = tuple[Arm, ...]


@dataclass(frozen=True, slots=True)
class Given:
    """A value that a name is given: the blocks it stands in, and whether it only adds."""

    name: str
    value: ast.expr
    arms: Arms
    longer: bool = False


def _blocks(statement: ast.stmt) -> list[list[ast.stmt]]:
    """The blocks of a compound statement."""
    found = [getattr(statement, name, []) for name in ("body", "orelse", "finalbody")]
    more = (*getattr(statement, "handlers", ()), *getattr(statement, "cases", ()))
    return [block for block in (*found, *(part.body for part in more)) if block]


def _values(body: Sequence[ast.stmt], arms: Arms = ()) -> Iterator[Given]:
    """Every value that a name is given, in the order of the text."""
    for statement in body:
        if isinstance(statement, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
            continue
        blocks = _blocks(statement)
        for part in ast.iter_child_nodes(statement) if blocks else (statement,):
            if not (blocks and isinstance(part, ast.stmt)):
                yield from _of_part(part, arms)
        one_of = isinstance(statement, ast.If | ast.Match)
        for number, block in enumerate(blocks):
            yield from _values(block, (*arms, Arm(statement.lineno, number, one_of)))


def _of_part(part: ast.AST, arms: Arms) -> Iterator[Given]:
    if isinstance(part, ast.ExceptHandler | ast.match_case):
        return
    for node in ast.walk(part):
        if isinstance(node, ast.Assign):
            for target in node.targets:
                yield from _bound(target, node.value, arms)
        elif isinstance(node, ast.AnnAssign | ast.NamedExpr) and node.value is not None:
            yield from _bound(node.target, node.value, arms)
        elif isinstance(node, ast.AugAssign) and isinstance(node.target, ast.Name):
            yield Given(node.target.id, node.value, arms, longer=True)


def _bound(target: ast.expr, value: ast.expr, arms: Arms) -> Iterator[Given]:
    """A name and its value; of a pair, a subscript of the value for each name."""
    if isinstance(target, ast.Name):
        yield Given(target.id, value, arms)
    elif isinstance(target, ast.Tuple):
        for index, part in enumerate(target.elts):
            if isinstance(part, ast.Name):
                yield Given(part.id, _subscript(value, index), arms)


def _subscript(value: ast.expr, index: int) -> ast.expr:
    made = ast.Subscript(value=value, slice=ast.Constant(index), ctx=ast.Load())
    return ast.copy_location(made, value)


def _arms_at(body: Sequence[ast.stmt], line: int) -> Arms:
    """The blocks that a line stands in, from the outermost."""
    for statement in body:
        for number, block in enumerate(_blocks(statement)):
            if block[0].lineno <= line <= (block[-1].end_lineno or 0):
                one_of = isinstance(statement, ast.If | ast.Match)
                return (Arm(statement.lineno, number, one_of), *_arms_at(block, line))
    return ()


def _other_arm(one: Arms, other: Arms) -> bool:
    """True for two blocks of which only one is gone through."""
    pair = next(((a, b) for a, b in zip(one, other, strict=False) if a != b), None)
    return pair is not None and pair[0].line == pair[1].line and pair[0].one_of


def _reaching(body: Sequence[ast.stmt], name: str, line: int) -> list[ast.expr] | None:
    """What a name may be at a line, of what stands before it; None for a name never given."""
    own = [given for given in _values(body) if given.name == name]
    arms = _arms_at(body, line)
    found: list[ast.expr] = []
    for given in own:
        if given.value.lineno > line or _other_arm(given.arms, arms):
            continue
        if given.longer:
            added = [ast.BinOp(left=old, op=ast.Add(), right=given.value) for old in found]
            found += [ast.copy_location(longer, given.value) for longer in added]
        elif given.arms == arms[: len(given.arms)]:
            found = [given.value]
        else:
            found.append(given.value)
    return found if own else None


def _own_nodes(statement: ast.AST) -> Iterator[ast.AST]:
    """The nodes of a statement in their order, without those of functions defined in it."""
    if isinstance(statement, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
        return
    yield statement
    for child in ast.iter_child_nodes(statement):
        yield from _own_nodes(child)


_BROUGHT = "; try: "
"""What parts a sentence from the cure that it brings along: they are printed apart."""


def _with_its_cure(template: Template) -> Iterator[Template]:
    shown, mark, cure = template.text.shown.partition(_BROUGHT)
    if not mark or template.kind == "cure":
        yield template
        return
    pattern, _, cured = template.text.pattern.partition(re.escape(_BROUGHT))
    for kind, text in ((template.kind, Text(shown, pattern)), ("cure", Text(cure, cured))):
        yield Template(place=template.place, kind=kind, text=text)


class Walk:
    """The whole package, and what was found in it."""

    def __init__(self, package: Path = PACKAGE) -> None:
        self.modules = {name: _module(name, path) for name, path in _files(package)}
        # of the methods called refuse another one hands problems on: this is known by its home
        self.sinks: dict[tuple[str, str], Sink] = {("cli/show", "refuse"): Sink("error", 0, 1)}
        self.templates: list[Template] = []
        self.unfollowed: list[str] = []
        self._following: set[tuple[str, int, str]] = set()

    def collected(self) -> tuple[list[Template], list[str]]:
        """All templates, and the places of what cannot be followed."""
        before = -1
        while before != len(self.sinks):  # a function that hands on makes its callers such ones
            before = len(self.sinks)
            self.templates, self.unfollowed = [], []
            for scope, call in self._calls():
                self._of_call(scope, call)
        for module in self.modules.values():
            self.unfollowed += _carried_away(module)
        return list(dict.fromkeys(self.templates)), self.unfollowed

    def _calls(self) -> Iterator[tuple[Scope, ast.Call]]:
        for module in self.modules.values():
            for function in (None, *(f for found in module.functions.values() for f in found)):
                body = module.tree.body if function is None else function.body
                scope = Scope(module, function)
                for node in (n for s in body for n in _with_classes(s, function is None)):
                    if isinstance(node, ast.Call):
                        yield scope, node

    # ------------------------------------------------------------------- one call

    def _of_call(self, scope: Scope, call: ast.Call) -> None:
        for sink in self._sinks_of(scope, call):
            says, cure = _given(call, sink.says, "says"), _given(call, sink.cure, "cure")
            starred = next((a for a in call.args if isinstance(a, ast.Starred)), None)
            if starred is not None and sink.kind != "raise":
                self._pair(scope, sink.kind, starred)
                continue
            self._add(scope, sink, "says", says)
            self._add(scope, sink, "cure", cure)

    def _sinks_of(self, scope: Scope, call: ast.Call) -> Iterator[Sink]:
        name = _name(call.func)
        if ast.unparse(call.func) in ("super().__init__", "struct.error"):
            if call.args and not _handed_on(scope, call.args):
                yield Sink("raise" if name == "__init__" else "why", 0)
            return
        known = self._known(scope.module, name) or self._derived(scope, call, name)
        given = scope.given(name, call.lineno) or []
        chosen = [call.func] if isinstance(call.func, ast.IfExp) else given
        levels = [n.id for value in chosen for n in _names(value) if n.id in SINKS]
        if known:
            yield known
        elif levels:  # level = caution if ... else error
            yield Sink("either", SINKS[levels[0]].says, SINKS[levels[0]].cure)
        elif name == "replace" and any(k.arg in ("says", "cure") for k in call.keywords):
            yield Sink("either", None, None)
        elif _is_raised(scope, call) and not self._is_ours(scope.module, name):
            yield Sink("raise", 1 if len(call.args) > 1 else 0 if call.args else None)

    @staticmethod
    def _known(module: Module, name: str) -> Sink | None:
        """The sink of that name, also where it was imported under another one."""
        return SINKS.get(module.imported.get(name, ("", name))[1])

    def _is_ours(self, module: Module, name: str) -> bool:
        """True for our own exceptions, and for functions of ours that make one."""
        own = any(name in other.classes for other in self.modules.values())
        made = name in module.functions or name in module.imported
        return own or made or name in NOTHING_SAID

    def _derived(self, scope: Scope, call: ast.Call, name: str) -> Sink | None:
        here = self.sinks.get((scope.module.name, name))
        if here or isinstance(call.func, ast.Attribute):
            return here
        return self.sinks.get(scope.module.imported.get(name, ("", "")))

    def _add(self, scope: Scope, sink: Sink, part: str, given: ast.expr | None) -> None:
        if given is None:
            return
        kind = sink.kind if part == "says" else "cure"
        if isinstance(given, ast.Name) and self._hands_on(scope, sink, part, given.id):
            return
        try:
            for text in self.texts(scope, given):
                place = f"{scope.module.name}.py:{given.lineno}"
                self.templates += _with_its_cure(Template(place=place, kind=kind, text=text))
        except Unfollowed as unknown:
            if kind == "raise":
                text = Text("{" + ast.unparse(given) + "}", "(?!)")
                place = f"{scope.module.name}.py:{given.lineno}"
                self.templates.append(Template(place=place, kind=kind, text=text))
            elif part == "says":
                self.unfollowed.append(f"{scope.module.name}.py:{given.lineno}: {unknown}")

    def _hands_on(self, scope: Scope, sink: Sink, part: str, name: str) -> bool:
        """Whether a function complains with its own parameter: then its callers do."""
        if scope.function is None or name not in scope.parameters or sink.kind == "raise":
            return False
        if _reaching(scope.function.body, name, scope.function.end_lineno or 0) is not None:
            return False  # given another text on the way
        key = (scope.module.name, scope.function.name)
        old = self.sinks.get(key, Sink(sink.kind, None, None))
        at = scope.parameters.index(name)
        says, cure = (at, old.cure) if part == "says" else (old.says, at)
        self.sinks[key] = Sink(sink.kind if part == "says" else old.kind, says, cure)
        return True

    def _pair(self, scope: Scope, kind: str, starred: ast.Starred) -> None:
        says, cure = (_subscript(starred.value, index) for index in (0, 1))
        self._add(scope, Sink(kind, 0), "says", says)
        self._add(scope, Sink(kind, 0), "cure", cure)

    # ------------------------------------------------------------- what it stands for

    def texts(self, scope: Scope, node: ast.expr) -> list[Text]:
        """Every text that an expression may stand for; none for one that was collected before."""
        if ast.unparse(node) in PASSED_ON:
            return []
        if ast.unparse(node) in OTHERS_WORDS:
            return [Text("{" + ast.unparse(node) + "}", HOLE)]
        match node:
            case ast.Constant(value=str() as value):
                return [_text(value)] if value else []
            case ast.Constant(value=None):
                return []
            case ast.JoinedStr(values=parts):
                return _same_joined([(_key(p), self._part(scope, p)) for p in parts])
            case ast.BinOp(left=left, op=ast.Add(), right=right):
                return _joined([self._or_blank(scope, left), self._or_blank(scope, right)])
            case ast.IfExp(body=one, orelse=other):
                return [*self.texts(scope, one), *self.texts(scope, other)]
            case ast.BoolOp(op=ast.Or(), values=values):
                return [text for value in values for text in self.texts(scope, value)]
            case ast.BoolOp(op=ast.And(), values=values):
                return self.texts(scope, values[-1])
            case ast.Name():
                return self._named(scope, node)
            case ast.Subscript(value=value, slice=ast.Constant(value=int() as index)):
                return self._item(scope, value, (index,))
            case ast.Call():
                return self._returned(scope, node, ())
        raise Unfollowed(ast.unparse(node))

    def _or_blank(self, scope: Scope, node: ast.expr) -> list[Text]:
        blank = isinstance(node, ast.IfExp) and "" in (_plain(node.body), _plain(node.orelse))
        return [*self.texts(scope, node), *([Text("", "")] if blank else [])]

    def _part(self, scope: Scope, part: ast.expr) -> list[Text]:
        """The texts of one part of an f-string: what is not known is a hole."""
        if not isinstance(part, ast.FormattedValue):
            return self.texts(scope, part)
        spec = ast.unparse(part.format_spec) if part.format_spec else ""
        figure = spec and "X" not in spec
        hole = Text("{" + ast.unparse(part.value) + "}", _FIGURE if figure else HOLE)
        value = part.value
        known = isinstance(value, ast.Name) and value.id not in scope.parameters
        if not (known or isinstance(value, ast.IfExp)):
            return [hole]
        try:
            return self._filled(scope, value) or [hole]
        except Unfollowed:
            return [hole]

    def _filled(self, scope: Scope, value: ast.expr) -> list[Text]:
        """The texts of a name in an f-string, where they are words."""
        given = scope.given(value.id, value.lineno) if isinstance(value, ast.Name) else [value]
        if given is None:
            return self.texts(scope, value)
        found = [text for one in given for text in self._or_blank(scope, one)]
        words = all(re.search("[a-z]", text.shown) or not text.shown for text in found)
        return found if words else []

    def _named(self, scope: Scope, node: ast.Name) -> list[Text]:
        own = scope.given(node.id, node.lineno)
        if own is not None and node.id in scope.parameters:
            raise Unfollowed(f"the parameter {node.id}, given another text")
        if own is not None:
            with self._once(scope, node.id) as first:
                return [t for value in own if first for t in self.texts(scope, value)]
        if node.id in scope.parameters:
            raise Unfollowed(f"the parameter {node.id}")
        module, value = self._constant(scope.module, node.id)
        return self.texts(Scope(module, None), value)

    @contextmanager
    def _once(self, scope: Scope, name: str) -> Iterator[bool]:
        """False for a name that is being followed already: `wrong = wrong or ...`."""
        key = (scope.module.name, id(scope.function), name)
        first = key not in self._following
        self._following.add(key)
        try:
            yield first
        finally:
            if first:
                self._following.discard(key)

    def _constant(self, module: Module, name: str) -> tuple[Module, ast.expr]:
        source, own = module.imported.get(name, (module.name, name))
        found = self.modules.get(source)
        if found is None or own not in found.constants:
            raise Unfollowed(f"the name {name}")
        return found, found.constants[own]

    def _item(self, scope: Scope, value: ast.expr, path: tuple[int, ...]) -> list[Text]:
        """The text at a path into pairs: what is said is 0 of a pair, the cure 1."""
        match value:
            case ast.Tuple(elts=parts):
                part = parts[path[0]]
                return self._item(scope, part, path[1:]) if path[1:] else self.texts(scope, part)
            case ast.IfExp(body=one, orelse=other):
                return [*self._item(scope, one, path), *self._item(scope, other, path)]
            case ast.BoolOp(values=values):
                return [text for one in values for text in self._item(scope, one, path)]
            case ast.Constant(value=None):
                return []
            case ast.Name(id=name) if (given := scope.given(name, value.lineno)) is not None:
                with self._once(scope, name) as first:
                    return [t for one in given if first for t in self._item(scope, one, path)]
            case ast.Subscript(value=inner, slice=ast.Constant(value=int() as index)):
                return self._item(scope, inner, (index, *path))
            case ast.Subscript(value=ast.Name(id=name)):
                module, table = self._constant(scope.module, name)
                rows = table.values if isinstance(table, ast.Dict) else []
                return [t for row in rows for t in self._item(Scope(module, None), row, path)]
            case ast.Call(func=ast.Name(id="tuple")):  # an answer of many lines
                return []
            case ast.Call():
                return self._returned(scope, value, path)
        raise Unfollowed(ast.unparse(value))

    def _returned(self, scope: Scope, call: ast.Call, path: tuple[int, ...]) -> list[Text]:
        """What a function of ours gives back: a text, or one of a pair."""
        name = _name(call.func)
        source, own = scope.module.imported.get(name, (scope.module.name, name))
        module = self.modules.get(source, scope.module)
        if own not in module.functions:
            raise Unfollowed(ast.unparse(call))
        inner = [Scope(module, function) for function in module.functions[own]]
        return [
            text
            for one in inner
            for value in _returns(one.function)
            for text in (self._item(one, value, path) if path else self.texts(one, value))
        ]


# ---------------------------------------------------------------------------- small parts


def _returns(function: FunctionNode | None) -> Iterator[ast.expr]:
    for node in (n for s in (function.body if function else ()) for n in _own_nodes(s)):
        if isinstance(node, ast.Return) and node.value is not None:
            yield node.value


def _files(package: Path) -> Iterator[tuple[str, Path]]:
    for path in sorted(package.rglob("*.py")):
        yield str(path.relative_to(package).with_suffix("")).replace("\\", "/"), path


def _module(name: str, path: Path) -> Module:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    module = Module(name=name, tree=tree)
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            module.functions.setdefault(node.name, []).append(node)
        elif isinstance(node, ast.ImportFrom) and node.module and node.module.startswith("bom"):
            source = node.module.removeprefix("bom").removeprefix(".").replace(".", "/")
            for alias in node.names:
                module.imported[alias.asname or alias.name] = (_source(source), alias.name)
        elif isinstance(node, ast.ClassDef):
            module.classes.add(node.name)
    return module


def _source(source: str) -> str:
    return f"{source}/__init__" if (PACKAGE / source).is_dir() else source


def _with_classes(statement: ast.AST, top: bool) -> Iterator[ast.AST]:
    """The nodes of a statement; at the top of a module the bodies of classes too."""
    if isinstance(statement, ast.ClassDef) and top:
        for inner in statement.body:
            yield from _with_classes(inner, top)
    yield from _own_nodes(statement)


def _carried_away(module: Module) -> Iterator[str]:
    """Places where `error` or `caution` is neither called nor chosen as the level of a call."""
    called = [node.func for node in ast.walk(module.tree) if isinstance(node, ast.Call)]
    chosen = [node.value for node in ast.walk(module.tree) if isinstance(node, ast.Assign)]
    fine = {id(name) for part in (*called, *chosen) for name in _names(part)}
    for name in _names(module.tree):
        original = module.imported.get(name.id, ("", name.id))
        if original[1] in ("error", "caution") and original[0] and id(name) not in fine:
            yield f"{module.name}.py:{name.lineno}: {name.id}"


def _is_raised(scope: Scope, call: ast.Call) -> bool:
    body = scope.function.body if scope.function else []
    raised = (n for s in body for n in _own_nodes(s) if isinstance(n, ast.Raise))
    kind = getattr(builtins, _name(call.func), None)
    made = isinstance(kind, type) and issubclass(kind, BaseException)
    return made or any(node.exc is call for node in raised)


def _handed_on(scope: Scope, given: Sequence[ast.expr]) -> bool:
    """True for arguments that are all the function's own parameters, or made of them."""
    names = {node.id for one in given for node in _names(one)}
    return not any(isinstance(one, ast.JoinedStr | ast.Constant) for one in given) and bool(
        names & {*scope.parameters, *_all_parameters(scope.function)}
    )


def _all_parameters(function: FunctionNode | None) -> list[str]:
    return [function.args.vararg.arg] if function and function.args.vararg else []


def _given(call: ast.Call, index: int | None, name: str) -> ast.expr | None:
    named = next((k.value for k in call.keywords if k.arg == name), None)
    if named is not None or index is None or index >= len(call.args):
        return named
    return call.args[index]


def _name(node: ast.expr) -> str:
    if isinstance(node, ast.Attribute):
        return node.attr
    return node.id if isinstance(node, ast.Name) else ""


def _names(node: ast.AST) -> Iterable[ast.Name]:
    return (inner for inner in ast.walk(node) if isinstance(inner, ast.Name))


def _plain(node: ast.expr) -> object:
    return node.value if isinstance(node, ast.Constant) else None


def _text(value: str) -> Text:
    return Text(value, re.escape(value))


def _key(part: ast.expr) -> str:
    return ast.unparse(part) if isinstance(part, ast.FormattedValue) else ""


def _same_joined(parts: Sequence[tuple[str, list[Text]]]) -> list[Text]:
    """All ways to put the parts together; the same part is the same wherever it stands."""
    places: dict[str, int] = {}
    firsts = [places.setdefault(key or str(n), n) for n, (key, _) in enumerate(parts)]
    distinct = sorted(set(firsts))
    found = []
    for choice in product(*(parts[n][1] for n in distinct)):
        chosen = dict(zip(distinct, choice, strict=True))
        found += _joined([[chosen[first]] for first in firsts])
    return found


def _joined(parts: Sequence[list[Text]]) -> list[Text]:
    found = []
    for choice in product(*parts):
        whole = Text("", "")
        for part in choice:
            whole += part
        found.append(whole)
    assert len(found) <= _MOST
    return found
