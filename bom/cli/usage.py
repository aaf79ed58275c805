"""Help and wrong usage in our own words: what is wrong, what comes nearest, where help is."""

import os
import re
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any, NoReturn, TypeVar, cast

import typer
from typer.core import TyperCommand, TyperGroup

from bom.cli.screen import echo_table
from bom.cli.tell import refuse
from bom.trade.problem import as_typed, nearest

Function = TypeVar("Function", bound=Callable[..., Any])
_WHOLE = 1000  # characters of a command's sentence in the list of commands: all of them

USAGE = cast("type[Exception]", typer.BadParameter.__mro__[1])
"""What typer raises for wrong usage of every kind; it has no name of its own in typer."""


class NoCommand(typer.BadParameter):
    """A word that is no command of the group it is given to."""

    def __init__(self, word: str, ctx: Any) -> None:
        super().__init__(f"no command '{word}'", ctx=ctx)
        self.word = word


class Missing(typer.BadParameter):
    """An argument or option that a command cannot do without."""


class Several(typer.BadParameter):
    """More than one job where a command takes one, in one word with commas."""


NAMED = ("fuse", "supplier")
"""Words for `why` that take a name behind them."""


def one_too_many(ctx: Any, argument: str) -> NoReturn:
    """Raise what a word too many raises, for one that was taken as this argument."""
    word, ctx.params[argument] = ctx.params[argument], ""
    raise typer.BadParameter(f"Got unexpected extra argument ({word})", ctx=ctx)


class PlainCommand(TyperCommand):
    """A command whose help names its arguments as one would say them, without types."""

    def parse_args(self, ctx: Any, args: list[str]) -> Any:
        """Read the words behind the command; raises `Missing`.

        Older typers beside newer clicks let a command run without what it needs.
        """
        _taken_as_typed(self.get_params(ctx))
        rest = super().parse_args(ctx, args)
        _jobs_apart(ctx)
        for param in cast("list[Any]", self.get_params(ctx)):
            lacks = ctx.params.get(param.name or "") in (None, (), [])
            if param.required and lacks and not ctx.resilient_parsing:
                raise Missing("", ctx=ctx, param=param)
        return rest

    def collect_usage_pieces(self, ctx: Any) -> list[str]:
        """What stands behind the command in its usage line."""
        needed = [p for p in _params(self, ctx, "option") if p.required]
        return ["[OPTIONS]", *map(_shown, (*_params(self, ctx, "argument"), *needed))]

    def format_options(self, ctx: Any, formatter: Any) -> None:
        """Arguments, then options, each with its sentence."""
        arguments = [(_shown(p), _help_of(p)) for p in _params(self, ctx, "argument")]
        options = [(_shown(p), _help_of(p)) for p in _params(self, ctx, "option")]
        for title, rows in (("Arguments", arguments), ("Options", options)):
            if rows:
                with formatter.section(title):
                    formatter.write_dl(rows)


class _Word:
    """A word of the command line, or several, as the command takes them: text or a path."""

    def __init__(self, kind: Callable[[Any], Any]) -> None:
        self.kind = kind

    def coerce(self, value: Any, param: Any, ctx: Any) -> Any:
        """The word in its kind; an option that is not given stays so."""
        many = param.multiple or param.nargs == -1
        if many:
            return [self.kind(word) for word in value or ()]
        return None if value is None else self.kind(value)


_KINDS: dict[Any, Callable[[Any], Any]] = {
    **{bool: bool, str: str, Path: Path},
    **{list[str]: str, list[Path]: Path},
}


def _taken_as_typed(params: Iterable[Any]) -> None:
    """Spare a command the loading of pydantic, with which newer typers turn a word into text.

    It takes longer than most jobs take to work out.  Older typers have no such place, and other
    kinds of words are left to typer.
    """
    for param in params:
        kind = _KINDS.get(getattr(getattr(param, "type_descriptor", None), "annotation", None))
        if kind and hasattr(param, "_runtime_param"):
            param._runtime_param = _Word(kind)


class Group(TyperGroup):
    """Commands that keep the word nobody knows, so that the nearest can be told."""

    def parse_args(self, ctx: Any, args: list[str]) -> Any:
        """Read the words before the command."""
        _taken_as_typed(self.get_params(ctx))
        return super().parse_args(ctx, args)

    def resolve_command(self, ctx: Any, args: list[str]) -> Any:
        """The command meant; raises `NoCommand`."""
        if not ctx.resilient_parsing and self.get_command(ctx, args[0]) is None:
            raise NoCommand(args[0], ctx)
        return super().resolve_command(ctx, args)

    def invoke(self, ctx: Any) -> Any:
        """Run the command meant; wrong usage of it is told as its own, where typer leaves that out.

        An option that lacks its word is such a fault.
        """
        try:
            return super().invoke(ctx)
        except USAGE as fault:
            command = self.commands.get(ctx.invoked_subcommand or "")
            if command is not None and getattr(fault, "ctx", None) is None:
                own = typer.Context(cast("Any", command), parent=ctx, info_name=command.name)
                vars(fault)["ctx"] = own
            raise

    def format_commands(self, ctx: Any, formatter: Any) -> None:
        """Each command with its whole sentence: a line that breaks off teaches little."""
        rows = [(name, c.get_short_help_str(_WHOLE)) for name, c in self.commands.items()]
        with formatter.section("Commands"):
            formatter.write_dl(rows)


class Commands(typer.Typer):
    """A typer of our own: its groups and commands are those above."""

    def __init__(self, **how: Any) -> None:
        super().__init__(**{"cls": Group, "subcommand_metavar": "COMMAND [ARGS]...", **how})

    def command(self, name: str | None = None, **how: Any) -> Callable[[Function], Function]:
        """As typer's own."""
        return super().command(name, **{"cls": PlainCommand, **how})


def refuse_usage(fault: Exception) -> None:
    """Leave with 2 and what is wrong; a group without a command prints its help, and that is all.

    The classes of faults are known by their names: typer takes them from click or from a copy of
    its own, by its version.
    """
    kind, ctx = type(fault).__name__, getattr(fault, "ctx", None)
    if kind == "NoArgsIsHelpError":
        echo_table(str(getattr(fault, "message", "")))
        return
    command = ctx.command_path if ctx else "bom"
    help_line = f"{command} --help"
    if isinstance(fault, NoCommand):
        refuse(str(fault.message), _command_meant(fault.word, ctx) or help_line, code=2)
    if kind == "NoSuchOption":
        word = str(getattr(fault, "option_name", ""))
        known = [*(getattr(fault, "possibilities", None) or ()), *_options(ctx)]
        refuse(f"{command} has no option '{word}'", nearest(word, known) or help_line, code=2)
    says, cure = _too_many(fault, kind, command) or (_says(fault, kind, command), "")
    refuse(says, cure or _example(ctx) or help_line, more=f"help: {help_line}", code=2)


def _says(fault: Exception, kind: str, command: str) -> str:
    message = str(getattr(fault, "message", fault))
    option = str(getattr(fault, "option_name", ""))
    param: Any = getattr(fault, "param", None)
    if kind in ("MissingParameter", "Missing") and param is not None:
        return f"{command} needs {_named(param)}"
    if kind == "BadOptionUsage" and "requires an argument" in message:
        return f"{option} needs a word after it"
    if kind == "BadOptionUsage" and "does not take a value" in message:
        return f"{option} takes no word after it"
    given = f"{_named(param).partition(' (')[0]}: " if param is not None else ""
    return given + message[:1].lower() + message[1:].rstrip(".")


_OVER = re.compile(r"Got unexpected extra argument(?:s|\(s\))? \((.*)\)", re.DOTALL)


def _too_many(fault: Exception, kind: str, command: str) -> tuple[str, str] | None:
    """What to say of words too many, and the command as it was meant: one job, or a name quoted."""
    over = _OVER.fullmatch(str(getattr(fault, "message", fault)))
    if not over and kind != "Several":
        return None
    ctx: Any = getattr(fault, "ctx", None)
    extra = over[1].split() if over else []
    given = (str(ctx.params[p.name]) for p in _params(ctx.command, ctx, "argument"))
    words = [*filter(None, given), *extra]
    names = [name for word in words for name in _apart(word)]
    others = [name for name in names[1:] if _is_a_job(name)] if "job" in ctx.params else []
    quoted = _quoted(ctx, words)
    if others and (_is_a_job(names[0]) or not quoted):
        one = [name for name in names if name not in others]
        return f"{command} takes one job at a time", _typed_again(ctx, one)
    says = f"{command} can do nothing with '{' '.join(extra)}': a name with blanks stands in quotes"
    return says, _typed_again(ctx, quoted) if quoted else ""


def _quoted(ctx: Any, words: list[str]) -> list[str]:
    """The words with those made one that are a name with blanks; none where that is no help."""
    if ctx.command.name == "job":
        return [" ".join(words)]
    for end in range(len(words), 1, -1):
        if "job" in ctx.params and _is_a_job(" ".join(words[:end])):
            return [" ".join(words[:end]), *words[end:]]
    if "what" in ctx.params and _is_a_job(words[0]):
        named = words[1] in NAMED
        return [*words[: 1 + named], " ".join(words[1 + named :])]
    return []


def _typed_again(ctx: Any, arguments: list[str]) -> str:
    """The command with other words behind it, and its options as they were."""
    words = list(map(as_typed, arguments))
    for param in _params(ctx.command, ctx, "option"):
        given = ctx.params.get(param.name)
        if given and _is_flag(param):
            words.append(param.opts[0])
        elif given:
            for word in given if param.multiple else [given]:
                words += [param.opts[0], as_typed(word)]
    return " ".join((ctx.command_path, *words))


def _jobs_apart(ctx: Any) -> None:
    """Jobs with commas between them are several; raises `Several` where a command takes one."""
    if ctx.resilient_parsing:
        return
    jobs = ctx.params.get("jobs")
    if jobs:
        ctx.params["jobs"] = [Path(name) for job in jobs for name in _apart(str(job))]
    names = _apart(str(ctx.params.get("job", "")))
    if len(names) > 1 and all(map(_is_a_job, names)):
        raise Several("", ctx=ctx)


def _apart(word: str) -> list[str]:
    """The names in a word, unless it is one that has commas in it."""
    if "," not in word or _is_a_job(word):
        return [word]
    return [name.strip() for name in word.split(",") if name.strip()]


def _params(command: Any, ctx: Any, kind: str) -> list[Any]:
    params = [p for p in command.get_params(ctx) if p.param_type_name == kind]
    return [p for p in params if not getattr(p, "hidden", False)]


def _shown(param: Any) -> str:
    """An argument's name; an option with the word that belongs behind it."""
    if param.param_type_name == "argument":
        return str(param.metavar or param.name)
    return " ".join((", ".join(param.opts), *([] if _is_flag(param) else [_word_of(param)])))


def _is_flag(param: Any) -> bool:
    return bool(param.is_flag or param.count)


def _word_of(param: Any) -> str:
    return str(param.metavar or param.name.upper())


def _help_of(param: Any) -> str:
    return str(getattr(param, "help", "") or "")


def _named(param: Any) -> str:
    """An argument or option with what it is for."""
    name = param.opts[0] if param.param_type_name == "option" else _word_of(param)
    about = _help_of(param).rstrip(".")
    return f"{name.rstrip('.')} ({about[:1].lower()}{about[1:]})" if about else str(name)


def _example(ctx: Any) -> str:
    return (getattr(ctx.command, "epilog", "") or "").removeprefix("Example: ") if ctx else ""


def _options(ctx: Any) -> list[str]:
    """The long options of a command, `--help` with them."""
    if ctx is None:
        return []
    return [name for p in ctx.command.get_params(ctx) for name in p.opts if name.startswith("--")]


def _command_meant(word: str, ctx: Any) -> str:
    """The nearest command of this group, one of a group below it, or a look at the job named."""
    group = ctx.command
    close = nearest(word, group.commands)
    below = {
        sub: f"{ctx.command_path} {name} {sub}"
        for name, inner in group.commands.items()
        for sub in getattr(inner, "commands", ())
    }
    if close:
        return f"{ctx.command_path} {close}"
    if ctx.parent is None and _is_a_job(word):
        return f"bom check {as_typed(word)}"
    return below.get(nearest(word, below), "")


def _is_a_job(word: str) -> bool:
    """True for a book's path, or the name of one in the workshop."""
    from bom.job import find_job

    try:
        return os.path.exists(find_job(Path(word), Path.cwd()))
    except (OSError, ValueError):  # a name that no disk takes
        return False
