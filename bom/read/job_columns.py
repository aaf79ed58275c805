"""The columns of a job book: what each is called, in whichever words, and who reads its cells."""

from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction
from typing import Any

from bom.files import spelling
from bom.files.headings import Column, text, words
from bom.files.sheet import Value
from bom.trade.catalogue import Catalogue
from bom.trade.figures import DUTIES
from bom.trade.job_book import Pin

COVERINGS = ("tape", "tube", "braid", "none")
EXPOSURES = ("hidden", "weather", "show")
LENGTH_UNITS = {unit: unit for unit in spelling.MM_PER_UNIT if unit.isalpha()}
LOAD_UNITS = {"w": "w", "watt": "w", "watts": "w", "a": "a", "amp": "a", "amps": "a"}
# The words that lists of circuits use for their columns (common practice).
WIRE_WORDS = words("no", "label", "wire no", "wire number", "wire id", "cable", "cable no", "id")
CIRCUIT_WORDS = words("function", "name", "description", "purpose", "service", "system")
COLOUR_WORDS = words("color", "col", "wire colour", "wire color", "cable colour", "cable color")
GAUGE_WORDS = {
    **words("size", "csa", "mm2", "mm²", "wire size", "cable size", "cross section", "section"),
    **words("wire gauge", "area"),
    "awg": "awg",
}
LENGTH_WORDS = words("run", "len", "distance", "run length", "wire length", "cable length")
NOTE_WORDS = words("notes", "remark", "remarks", "comment", "comments")
SHEETS = ("Job", "Circuits", "Loom", "Components", "Fuses", "Extras", "Labour")


# --------------------------------------------------------------------------------- columns


def job_columns(catalogue: Catalogue) -> tuple[tuple[str, tuple[Column, ...]], ...]:
    """The columns of each sheet of a job book, by its name."""
    return (
        ("Job", _JOB_COLUMNS),
        ("Circuits", _wire_columns(catalogue)),
        ("Loom", _branch_columns()),
        ("Components", _component_columns(catalogue)),
        ("Fuses", _FUSE_COLUMNS),
        ("Extras", _EXTRA_COLUMNS),
        ("Labour", _LABOUR_COLUMNS),
    )


def _wire_columns(catalogue: Catalogue) -> tuple[Column, ...]:
    return (
        Column(name="wire", read=_name, also=WIRE_WORDS),
        Column(name="circuit", read=text, also=CIRCUIT_WORDS),
        Column(
            name="from", read=_pin, also=_ends_words("from"), needed=True, must=True, blank=None
        ),
        Column(name="from pin", read=_name, also=_pin_words("from"), behind="from", bare=_PIN),
        Column(name="to", read=_pin, also=_ends_words("to"), needed=True, must=True, blank=None),
        Column(name="to pin", read=_name, also=_pin_words("to"), behind="to", bare=_PIN),
        Column(
            name="colour",
            read=lambda value, _: spelling.colour(value, catalogue),
            also=COLOUR_WORDS,
            blank=None,
        ),
        Column(
            name="gauge",
            read=lambda value, unit: spelling.gauge(value, unit, catalogue),
            also=GAUGE_WORDS,
            units={"mm2": "", "awg": "awg"},
            blank=None,
        ),
        _load_column(catalogue),
        Column(name="fuse", read=_name, also=words("fuse no", "fuse name", "fused by")),
        _length_column("length", LENGTH_WORDS, must=False),
        _end_column("from end", catalogue),
        _end_column("to end", catalogue),
        _ONE_OF,
        _RUNS,
        Column(name="qty", read=lambda value, _: spelling.count(value), blank=1, also=_QTY),
        _NOTE,
    )


def _component_columns(catalogue: Catalogue) -> tuple[Column, ...]:
    return (
        Column(
            name="component",
            read=_name,
            also=words("name", "part", "device", "unit"),
            needed=True,
            must=True,
        ),
        Column(name="at", read=_name, also=words("where", "location", "position", "place")),
        _load_column(catalogue),
        Column(name="tail", read=_slack, units=LENGTH_UNITS, blank=Fraction(0)),
        _end_column("end", catalogue),
        Column(name="passes", read=text),
        _ONE_OF,
        _RUNS,
        Column(name="ways", read=lambda value, _: spelling.count(value), blank=None),
        _DOUBT,
        _NOTE,
    )


def _branch_columns() -> tuple[Column, ...]:
    return (
        Column(name="from", read=_name, also=_ends_words("from"), needed=True, must=True),
        Column(name="to", read=_name, also=_ends_words("to"), needed=True, must=True),
        _length_column("length", LENGTH_WORDS, must=True),
        Column(name="exposure", read=_word(EXPOSURES, "exposure"), blank="hidden"),
        Column(name="slack", read=_slack, units=LENGTH_UNITS, blank=Fraction(0)),
        Column(name="covering", read=_word(COVERINGS, "covering")),
        _AMBIENT,
        _DOUBT,
        _NOTE,
    )


def _load_column(catalogue: Catalogue) -> Column:
    return Column(
        name="load",
        read=lambda value, unit: spelling.load(value, unit, catalogue),
        also={"watts": "w", "amps": "a", "wattage": "w", "power": "w", "current": "a"},
        units=LOAD_UNITS,
        blank=None,
    )


def _end_column(name: str, catalogue: Catalogue) -> Column:
    ends = tuple(catalogue.ends)
    side = name.removesuffix("end")
    also = words(f"{side}terminal", f"{side}connector", f"{side}termination")
    return Column(name=name, read=_word(ends, "end style"), also=also, blank=None)


def _word(known: tuple[str, ...], what: str) -> Any:
    return lambda value, _unit: spelling.one_word_of(value, known, what)


def _ends_words(side: str) -> dict[str, str]:
    """What else the two ends of a wire or branch go by."""
    others = {"from": ("start", "source", "origin"), "to": ("finish", "destination", "dest")}
    things = (f"{side} {thing}" for thing in ("component", "point", "device", "part", "unit"))
    return words(*others[side], *things)


def _pin_words(side: str) -> dict[str, str]:
    """What else the pin goes by, where it has a column of its own."""
    start = {"from": ("start", "source"), "to": ("finish", "destination", "dest")}
    return words(*(f"{end} pin" for end in start[side]), f"{side} cavity", f"pin {side}")


def _name(value: Value, _unit: str) -> str:
    return spelling.name_of(value)


def _pin(value: Value, _unit: str) -> Pin:
    return spelling.pin(value)


def _slack(value: Value, unit: str) -> Fraction:
    return spelling.slack_mm(value, unit)


def _length_column(name: str, also: Mapping[str, str], *, must: bool) -> Column:
    return Column(
        name=name, read=spelling.run_mm, also=also, units=LENGTH_UNITS, blank=None, must=must
    )


_JOB_COLUMNS = (
    Column(name="item", read=text, needed=True, must=True),
    Column(name="value", read=lambda value, _: value, needed=True, blank=None),
    Column(name="note", read=text, also=NOTE_WORDS),
)
_QTY = words("quantity", "no off", "number off", "pieces")
_NOTE = Column(name="note", read=text, also=NOTE_WORDS)
_PIN = ("pin", "cavity")
_DOUBT = Column(
    name="doubt",
    read=spelling.percent,
    also={"doubt per cent": "%"},
    units={"%": "%", "percent": "%"},
    blank=Decimal(),
)
_RUNS = Column(name="runs", read=_word(tuple(DUTIES), "word for how long it is on"))
_AMBIENT = Column(
    name="ambient",
    read=lambda value, _: spelling.degrees_c(value),
    units=dict.fromkeys(("c", "°c", "deg c"), ""),
    blank=None,
)
_ONE_OF = Column(name="one of", read=lambda value, _: spelling.one_of(value), blank=None)
_FUSE_COLUMNS = (
    Column(name="fuse", read=_name, also={"name": ""}, needed=True, must=True),
    Column(
        name="rating",
        read=lambda value, _: spelling.amps(value),
        also={"amps": ""},
        units={"a": "", "amps": ""},
        blank=None,
    ),
    Column(name="holder", read=text),
    Column(name="spares", read=lambda value, _: spelling.count_or_zero(value), blank=None),
    _NOTE,
)
_EXTRA_COLUMNS = (
    Column(name="item", read=text, needed=True, must=True),
    Column(name="qty", read=lambda value, _: spelling.quantity(value), blank=Decimal(1), also=_QTY),
    Column(name="unit", read=text, blank="each"),
    Column(
        name="price",
        read=lambda value, _: spelling.money(value),
        units=dict.fromkeys(("gbp", "eur", "usd", "£", "€", "$"), ""),
        blank=None,
    ),
    _NOTE,
)
_LABOUR_COLUMNS = (
    Column(name="task", read=text, needed=True, must=True),
    Column(name="qty", read=lambda value, _: spelling.quantity(value), blank=Decimal(1), also=_QTY),
    Column(
        name="hours",
        read=lambda value, _: spelling.hours(value),
        units={"h": "", "each": ""},
        must=True,
        blank=None,
    ),
    _DOUBT,
    _NOTE,
)
