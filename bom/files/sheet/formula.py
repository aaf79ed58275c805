"""One formula worked out, where that is plain: the operations, a few functions, cells at hand.

What is not plain comes out as `NO_RESULT`: any other function, a volatile one, an array worked
with as a whole, another book, and whatever spreadsheet programs answer in more ways than one
(a text taken for a number, a fraction put into a text).  What it may ask for is kept small, so
that no formula takes long, and nothing in it can run.

Numbers are exact to `_FIGURES`, and come out with the 15 figures that a spreadsheet keeps.

Libraries that do this bring numpy and scipy with them, or end the process over a formula that is
nested deep enough (both measured), so that of them only openpyxl's reader of words is used.
"""

import math
import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from decimal import (
    ROUND_DOWN,
    ROUND_FLOOR,
    ROUND_HALF_UP,
    ROUND_UP,
    Context,
    Decimal,
    DecimalException,
    localcontext,
)
from typing import TYPE_CHECKING, TypeAlias

from bom.files.sheet.values import NO_RESULT, Fault, Percent, Value

if TYPE_CHECKING:
    from openpyxl.formula.tokenizer import Token

CellRows: TypeAlias = list[list[Value]]
"""The cells of a reference, row by row; a single cell is one of one."""

_FIGURES = Context(prec=30, Emax=308, Emin=-308)  # no spreadsheet goes beyond 1E308
_KEPT = Context(prec=15, Emax=308, Emin=-308)
_LONGEST = 1000
"""Letters of a formula, and of a text that it puts together; to tell words takes their square."""
_DEEPEST = 64  # levels of what is nested: Excel's own limit
_WHOLE_IN_TEXT = Decimal(10) ** 15
_POWERS = 64
_PLACES = 20

_BINDS = {
    **dict.fromkeys(("=", "<>", "<", ">", "<=", ">="), 0),
    **{"&": 1, "+": 2, "-": 2, "*": 3, "/": 3, "^": 4},
}
"""How closely an operation holds what stands beside it."""


class _Stopped(Exception):
    """The formula has no value but this fault."""

    def __init__(self, fault: Fault = NO_RESULT) -> None:
        super().__init__(fault.says)
        self.fault = fault


def tokens_of(text: str, written_for: str = "", cell: str = "") -> Sequence["Token"]:
    """The words of a formula without its `=`, in a cell that shares it from the one it is of.

    None where it is not plain.
    """
    from openpyxl.formula import Tokenizer
    from openpyxl.formula.tokenizer import Token, TokenizerError
    from openpyxl.formula.translate import Translator, TranslatorError

    if len(text) > _LONGEST:
        return ()
    try:
        if cell != written_for:
            text = Translator(f"={text}", written_for).translate_formula(cell)[1:]
        found = [t for t in Tokenizer(f"={text}").items if t.type != Token.WSPACE]
    except (TokenizerError, TranslatorError, IndexError, ValueError):
        return ()
    depth = deepest = 0
    for token in found:
        depth += (token.subtype == Token.OPEN) - (token.subtype == Token.CLOSE)
        deepest = max(deepest, depth)
    return found if deepest <= _DEEPEST else ()


def worked_out(tokens: Sequence["Token"], look: Callable[[str], CellRows | None]) -> Value:
    """What a formula gives; `look` finds the cells of a reference, None where there are none."""
    with localcontext(_FIGURES):
        try:
            value = _single(_Reading(tokens, look).whole())
            if value is None or isinstance(value, Decimal):
                value = _plain(_KEPT.plus(value or Decimal()))
        except _Stopped as stop:
            return stop.fault
        except DecimalException:  # a number too large
            return NO_RESULT
    return value


def _plain(number: Decimal) -> Decimal:
    """Without exponent, and without zeros behind the point."""
    return Decimal(format(number.normalize(_KEPT), "f"))


class _Reading:
    """The words of a formula, from left to right, worked out as they are read."""

    def __init__(self, tokens: Sequence["Token"], look: Callable[[str], CellRows | None]) -> None:
        self._tokens = tokens
        self._look = look
        self._at = 0

    def whole(self) -> Value | CellRows:
        """All of it."""
        value = self._expression(0)
        if self._at < len(self._tokens):
            raise _Stopped
        return value

    def _next_is(self, kind: str) -> bool:
        return self._at < len(self._tokens) and self._tokens[self._at].type == kind

    def _take(self) -> "Token":
        if self._at >= len(self._tokens):
            raise _Stopped
        self._at += 1
        return self._tokens[self._at - 1]

    def _expression(self, least: int) -> Value | CellRows:
        left = self._operand()
        while self._next_is("OPERATOR-INFIX"):
            sign = self._tokens[self._at].value
            binds = _BINDS.get(sign, -1)
            if binds < least:
                break
            self._at += 1
            left = _tried(_operated, sign, left, self._expression(binds + 1))
        return left

    def _operand(self) -> Value | CellRows:
        signs = ""
        while self._next_is("OPERATOR-PREFIX"):
            signs += self._take().value
        value = self._term()
        if "-" in signs:
            value = _tried(_operated, "*", value, Decimal(-1) ** signs.count("-"))
        while self._next_is("OPERATOR-POSTFIX"):
            self._take()
            value = _tried(_operated, "/", value, Decimal(100))
        return value

    def _term(self) -> Value | CellRows:
        token = self._take()
        if token.type == "OPERAND":
            return self._said(token.value, token.subtype)
        if token.type == "FUNC" and token.subtype == "OPEN":
            return self._called(token.value[:-1].upper())
        if token.type == "PAREN" and token.subtype == "OPEN":
            value = self._expression(0)
            if self._take().subtype == "CLOSE":
                return value
        raise _Stopped

    def _said(self, said: str, kind: str) -> Value | CellRows:
        match kind:
            case "NUMBER":
                return _figure(said)
            case "TEXT":
                return said[1:-1].replace('""', '"')
            case "LOGICAL":
                return said.upper() == "TRUE"
            case "ERROR":
                return Fault(said)
        grid = self._look(said)
        return NO_RESULT if grid is None else grid

    def _called(self, name: str) -> Value | CellRows:
        """A function with all that is given to it, of which it takes what it needs."""
        given: list[Value | CellRows] = []
        if not self._closes():
            given.append(self._argument())
            while self._next_is("SEP"):
                self._take()
                given.append(self._argument())
        if self._take().subtype != "CLOSE":
            raise _Stopped
        function = _FUNCTIONS.get(name)
        return _tried(function, *given) if function else NO_RESULT

    def _closes(self) -> bool:
        return self._next_is("FUNC") and self._tokens[self._at].subtype == "CLOSE"

    def _argument(self) -> Value | CellRows:
        return None if self._next_is("SEP") or self._closes() else self._expression(0)


def _tried(work: Callable[..., Value | CellRows], *given: object) -> Value | CellRows:
    """What comes of it; a fault is a value too, since IF may not take it."""
    try:
        return work(*given)
    except _Stopped as stop:
        return stop.fault
    except (TypeError, DecimalException):  # too few or too many were given; too large a number
        return NO_RESULT


# Cells as what is reckoned with


def _single(value: Value | CellRows) -> Value:
    if isinstance(value, list):
        if len(value) != 1 or len(value[0]) != 1:
            raise _Stopped
        return _single(value[0][0])
    return value.value / 100 if isinstance(value, Percent) else value


def _number(value: Value | CellRows) -> Decimal:
    value = _single(value)
    if isinstance(value, Decimal | bool | None):
        return Decimal(value or 0)
    raise _Stopped(value if isinstance(value, Fault) else NO_RESULT)


def _text(value: Value | CellRows) -> str:
    """A number with a point in it is a text of its own in every country."""
    value = _single(value)
    if value is None or isinstance(value, str):
        return value or ""
    number = _number(value)
    if isinstance(value, bool) or number % 1 or abs(number) >= _WHOLE_IN_TEXT:
        raise _Stopped
    return f"{number:.0f}"


def _figure(said: str) -> Decimal:
    """A number as it is typed; the tokenizer takes `inf` for one too."""
    number = _KEPT.create_decimal(said)
    if not number.is_finite():
        raise _Stopped
    return number


def _is_so(value: Value | CellRows) -> bool:
    return bool(_number(value))


def _numbers(given: Sequence[Value | CellRows]) -> Iterator[Decimal]:
    """The numbers of cells, texts and blanks left out, and of what stands in the formula."""
    for value in given:
        if not isinstance(value, list):
            yield _number(value)
            continue
        for cell in (cell for row in value for cell in row):
            if isinstance(cell, bool):  # counted by some programs
                raise _Stopped
            if cell is not None and not isinstance(cell, str):
                yield _number(cell)


# Operations


def _operated(sign: str, left: Value | CellRows, right: Value | CellRows) -> Value:
    match sign:
        case "&":
            return _joined(_text(left) + _text(right))
        case "+":
            return _number(left) + _number(right)
        case "-":
            return _number(left) - _number(right)
        case "*":
            return _number(left) * _number(right)
        case "/":
            return _divided(_number(left), _number(right))
        case "^":
            return _power(_number(left), _number(right))
    return _compared(sign, _single(left), _single(right))


def _joined(text: str) -> str:
    if len(text) > _LONGEST:
        raise _Stopped
    return text


def _divided(left: Decimal, right: Decimal) -> Decimal:
    if not right:
        raise _Stopped(Fault("#DIV/0!"))
    return left / right


def _power(base: Decimal, exponent: Decimal) -> Decimal:
    if not base or exponent % 1 or abs(exponent) > _POWERS:
        raise _Stopped
    return base ** int(exponent)


def _compared(sign: str, left: Value, right: Value) -> bool:
    for value in (left, right):
        if isinstance(value, Fault):
            raise _Stopped(value)
    one, other = (_as_beside(left, right), _as_beside(right, left))
    alike = type(one) is type(other)
    if sign in ("=", "<>"):
        return (alike and one == other) == (sign == "=")
    if not alike or not isinstance(one, Decimal) or not isinstance(other, Decimal):
        raise _Stopped
    return {"<": one < other, ">": one > other, "<=": one <= other, ">=": one >= other}[sign]


def _as_beside(value: Value, other: Value) -> str | bool | Decimal:
    """What is compared: capitals and the 16th figure do not count, a blank is 0 or no text."""
    if value is None:
        return "" if isinstance(other, str) else False if isinstance(other, bool) else Decimal()
    if isinstance(value, str):
        return value.casefold()
    return value if isinstance(value, bool) else _KEPT.plus(_number(value))


# Functions


def _if(asked: Value | CellRows, then: Value | CellRows, other: Value | CellRows = False) -> Value:
    return _single(then if _is_so(asked) else other)


def _truths(given: Sequence[Value | CellRows]) -> list[bool]:
    """Each is so or not; a blank is neither, and with none given there is no answer."""
    if not given or None in map(_single, given):
        raise _Stopped
    return [*map(_is_so, given)]


def _if_error(value: Value | CellRows, other: Value | CellRows) -> Value:
    value = _single(value)
    wrong = isinstance(value, Fault) and value != NO_RESULT
    return _single(other) if wrong else value


def _filled(*given: Value | CellRows) -> Value:
    grids = (value if isinstance(value, list) else [[value]] for value in given)
    return Decimal(sum(cell is not None for grid in grids for row in grid for cell in row))


def _average(*given: Value | CellRows) -> Value:
    numbers = list(_numbers(given))
    return _divided(sum(numbers, Decimal()), Decimal(len(numbers)))


def _product(*given: Value | CellRows) -> Value:
    numbers = list(_numbers(given))
    if not numbers:
        raise _Stopped
    return math.prod(numbers, start=Decimal(1))


def _rounded(way: str) -> Callable[..., Value]:
    def rounded(number: Value | CellRows, places: Value | CellRows = None) -> Value:
        count = int(_number(places))
        if abs(count) > _PLACES:
            raise _Stopped
        last = Decimal(1).scaleb(-count)
        return (_KEPT.plus(_number(number)) / last).quantize(Decimal(1), way) * last

    return rounded


def _found(key: Value | CellRows, cells: Iterable[Value]) -> int:
    """Where a key stands first, counted from zero; only the key itself will do."""
    wanted = _single(key)
    if isinstance(wanted, str) and re.search(r"[*?~]", wanted):
        raise _Stopped
    for at, cell in enumerate(map(_single, cells)):
        if cell == NO_RESULT:
            raise _Stopped
        if type(cell) is type(wanted) and _compared("=", wanted, cell):
            return at
    raise _Stopped(Fault("#N/A"))


def _rows(value: Value | CellRows) -> CellRows:
    if not isinstance(value, list):
        raise _Stopped
    return value


def _look_up(
    key: Value | CellRows,
    table: Value | CellRows,
    column: Value | CellRows,
    near: Value | CellRows = True,
) -> Value:
    if _is_so(near):
        raise _Stopped
    row = _found(key, [row[0] for row in _rows(table)]) + 1
    return _cell_of(table, Decimal(row), column)


def _match(key: Value | CellRows, cells: Value | CellRows, near: Value | CellRows = True) -> Value:
    rows = _rows(cells)
    if _is_so(near) or 1 not in (len(rows), len(rows[0])):
        raise _Stopped
    return Decimal(_found(key, [cell for row in rows for cell in row]) + 1)


def _cell_of(
    cells: Value | CellRows, row: Value | CellRows, column: Value | CellRows = Decimal(1)
) -> Value:
    rows, down, right = _rows(cells), int(_number(row)), int(_number(column))
    if not (0 < down <= len(rows) and 0 < right <= len(rows[0])):
        raise _Stopped
    return _single(rows[down - 1][right - 1])


_FUNCTIONS: dict[str, Callable[..., Value]] = {
    "SUM": lambda *given: sum(_numbers(given), Decimal()),
    "PRODUCT": _product,
    "COUNTA": _filled,
    "MIN": lambda *given: min(_numbers(given), default=Decimal()),
    "MAX": lambda *given: max(_numbers(given), default=Decimal()),
    "AVERAGE": _average,
    "ROUND": _rounded(ROUND_HALF_UP),
    "ROUNDUP": _rounded(ROUND_UP),
    "ROUNDDOWN": _rounded(ROUND_DOWN),
    "INT": lambda number: _KEPT.plus(_number(number)).to_integral_value(ROUND_FLOOR),
    "ABS": lambda number: abs(_number(number)),
    "IF": _if,
    "IFERROR": _if_error,
    "AND": lambda *given: all(_truths(given)),
    "OR": lambda *given: any(_truths(given)),
    "NOT": lambda value: not _is_so(value),
    "VLOOKUP": _look_up,
    "MATCH": _match,
    "INDEX": _cell_of,
}
