"""Columns that several sheets share, and the words and units that go with them."""

import re
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from datetime import date, datetime
from decimal import Decimal
from fractions import Fraction
from itertools import chain
from math import ceil, floor
from typing import Any

from bom.files import spelling
from bom.files.headings import Column, NewHead, by, text, words
from bom.files.headings.columns import CellReader
from bom.files.sheet import NO_RESULT, Value
from bom.files.spelling import Misspelt
from bom.trade.catalogue import Catalogue
from bom.trade.job_book import Sides
from bom.trade.placed import SOLD_AS

PRICED = dict.fromkeys(("gbp", "eur", "usd", "£", "€", "$"), "")
"""What may stand behind a heading over money."""
MOST_SIDE_MM = 3_000
"""No box on a machine, and no place for one, is longer."""
LEAST_SIDE_MM = 5
"""None is shorter: it was typed in metres or centimetres."""
MOST_BOX_IN_CM = 30
"""Sides of a box up to this, one of them under `LEAST_SIDE_MM`, were measured in centimetres."""
LENGTH_UNITS = {unit: unit for unit in spelling.MM_PER_UNIT if unit.isalpha()}


def remark(value: Value, unit: str) -> str:
    """Reader of a text that is only shown: blank where a formula's result is not stored."""
    return "" if value == NO_RESULT else text(value, unit)


PLACE = Column(
    name="place",
    read=remark,
    also=words("location", "where", "bin", "shelf"),
    new=NewHead("where it lies", 14),
)


def note(width: int = 26) -> Column:
    """The owner's remarks."""
    return Column(
        name="note",
        read=remark,
        also=words("notes", "remark", "remarks", "comment", "comments"),
        new=NewHead("anything you like; it is not reckoned with", width),
        filled_by="owner",
    )


def key(name: str, new: NewHead, read: CellReader = text, **more: Any) -> Column:
    """What a row is known by: the header row has it, and no cell of it is empty."""
    return Column(name=name, read=read, needed=True, must=True, new=new, **more)


def gauge(
    catalogue: Catalogue,
    new: NewHead | None = None,
    also: Mapping[str, str] | None = None,
    **more: Any,
) -> Column:
    """A cable's gauge, in mm2 or AWG."""
    return Column(
        name="gauge",
        read=lambda value, unit: spelling.gauge(value, unit, catalogue),
        also=also or {},
        units={"mm2": "", "awg": "awg"},
        new=new,
        **more,
    )


def colour(
    catalogue: Catalogue,
    new: NewHead | None = None,
    also: Mapping[str, str] | None = None,
    **more: Any,
) -> Column:
    """A cable's colour."""
    return Column(
        name="colour",
        read=lambda value, _: spelling.colour(value, catalogue),
        also=also or {},
        blank=None,
        new=new,
        **more,
    )


def money(name: str, new: NewHead | None = None, blank: Any = None, **more: Any) -> Column:
    """Money in the currency of the house."""
    return Column(name=name, read=by(spelling.money), units=PRICED, blank=blank, new=new, **more)


def sold_as(new: NewHead | None = None, **more: Any) -> Column:
    """Metre, reel, pack or each."""
    return Column(name="sold as", read=one_of(SOLD_AS, "sold as"), must=True, new=new, **more)


def pack(new: NewHead | None = None, **more: Any) -> Column:
    """How many are in a pack, or metres on a reel."""
    return Column(name="pack", read=by(_pack), blank=Decimal(1), new=new, **more)


def one_of(known: tuple[str, ...], what: str) -> Callable[[Value, str], str]:
    """Reader of one of these words; `what` it is called where it is none."""
    return lambda value, _unit: spelling.one_word_of(value, known, what)


def signed(value: Value, _unit: str = "") -> Decimal:
    """Reader of a number that may be below zero."""
    return spelling.number(spelling.text_of(value))


def _pack(value: Value) -> Decimal:
    """`50`, and `50 m` as well, since it is metres on a reel."""
    found = spelling.quantity(spelling.text_of(value).casefold().removesuffix("m"))
    if found == 0:
        raise Misspelt("a pack of 0", "how many there are in a pack, or metres on a reel")
    return found


def face(value: Value) -> tuple[tuple[str, ...], ...]:
    """The pins of a plug as they stand, row by row; names with spaces are parted by commas.

    >>> face("1 2 3 / 4 5 -"), face("kill in, kill out / start out, -")
    ((('1', '2', '3'), ('4', '5', '')), (('kill in', 'kill out'), ('start out', '')))
    """
    typed = spelling.text_of(value)
    parts = [row.split("," if "," in typed else None) for row in re.split(r"[/;\n]", typed)]
    rows = [[spelling.name_of(pin) for pin in row if pin.strip()] for row in parts]
    twice = [pin for pin, times in Counter(chain(*rows)).items() if times > 1 and pin != "-"]
    if twice:
        raise Misspelt(f"pin {twice[0]} stands twice", "each pin once, and - where there is none")
    return tuple(tuple(pin.strip("-") and pin for pin in row) for row in rows if row)


def side_mm(value: Value, unit: str) -> int:
    """A side of a place in whole mm, rounded down: millimetres where no unit is given.

    >>> side_mm("8.5 cm", ""), side_mm("4 in", "")
    (85, 101)
    """
    length = spelling.length_mm(value, unit, "mm")
    _meant([length], spelling.text_of(value), unit, most_m=MOST_SIDE_MM // 1000)
    return floor(length)


def sides_mm(value: Value, unit: str) -> Sides:
    """The three sides of a box in whole mm, rounded up; a unit behind the last is that of all.

    >>> sides_mm("85 x 70 x 35", ""), sides_mm("8.5 x 7 x 3.5 cm", "")
    ((85, 70, 35), (85, 70, 35))
    """
    text = spelling.text_of(value)
    typed = re.split(r"\s*[x×*]\s*", text, flags=re.IGNORECASE)
    if len(typed) != 3:
        says = f"'{text}' is not the three sides of a box"
        raise Misspelt(says, "85 x 70 x 35, in mm, and 40 x 40 x 60 for a round one 40 across")
    last = re.search(r"[^\W\d]+$|[\"'″′”’]+$", typed[2])
    unit = last[0].casefold() if last and last[0].casefold() in spelling.MM_PER_UNIT else unit
    try:
        lengths = [spelling.length_mm(side, unit, "mm") for side in typed]
    except Misspelt as fault:
        raise Misspelt(fault.says, "85 x 70 x 35, in mm") from fault
    _meant(lengths, text, unit, most_m=1)
    one, two, three = map(ceil, lengths)
    return one, two, three


def _meant(sides: Sequence[Fraction], typed: str, unit: str, most_m: int) -> None:
    """Sides as far as a box on a machine has such ones; `most_m` it may be in metres."""
    least, most = min(sides), max(sides)
    if most > MOST_SIDE_MM:
        says = f"no box on a machine has a side of {float(most / 1000):g} m"
        raise Misspelt(says, f"{MOST_SIDE_MM} mm at the most; a bare figure is in mm")
    if least == 0:
        raise Misspelt("a side of 0", "what it measures, in mm")
    if least < LEAST_SIDE_MM:
        says = f"no box on a machine has a side of {float(least):g} mm"
        raise Misspelt(says, _in_its_unit(sides, typed, unit, most_m))


def _in_its_unit(sides: Sequence[Fraction], typed: str, unit: str, most_m: int) -> str:
    """Bare figures that were meant in metres or centimetres, with their unit and in mm."""
    bare = typed[-1].isdigit() and spelling.MM_PER_UNIT[unit or "mm"] == 1
    for meant, limit in (("m", most_m), ("cm", MOST_BOX_IN_CM)) if bare else ():
        lengths = [side * spelling.MM_PER_UNIT[meant] for side in sides]
        if max(sides) <= limit and min(lengths) >= LEAST_SIDE_MM:
            return f"{typed} {meant} or {' x '.join(f'{float(mm):g}' for mm in lengths)} mm"
    return f"{LEAST_SIDE_MM} mm at the least"


def day(value: Value) -> date:
    """A date, as a spreadsheet keeps it, as 2026-11-25, or as 25.11.2026 and 25/11/2026.

    The day comes before the month, as the workshop writes it: 3/4/2026 is 3 April.
    """
    if isinstance(value, date):
        return value.date() if isinstance(value, datetime) else value
    typed = spelling.text_of(value)
    parts = _DAY_FIRST.fullmatch(typed)
    try:
        if parts:
            return date(int(parts["year"]), int(parts["month"]), int(parts["day"]))
        return date.fromisoformat(typed)
    except ValueError:
        raise Misspelt(f"'{typed}' is not a date", "2026-11-25") from None


_DAY_FIRST = re.compile(
    r"(?P<day>[0-9]{1,2})(?P<mark>[./])(?P<month>[0-9]{1,2})(?P=mark)(?P<year>[0-9]{4})"
)
