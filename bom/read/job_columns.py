"""The columns of a job book: what each is called, in whichever words, and who reads its cells."""

from decimal import Decimal
from fractions import Fraction

from msgspec.structs import replace

from bom.files import spelling
from bom.files.headings import Column, NewHead, by, text, words
from bom.read import cells
from bom.read.cells import LENGTH_UNITS, one_of
from bom.trade.catalogue import Catalogue
from bom.trade.figures import DUTIES

EXPOSURES = ("hidden", "weather", "show")
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
SHEETS = ("Job", "Circuits", "Loom", "Components", "Places", "Fuses", "Extras", "Labour")
MOST_IN_A_LOOM = 1000
"""Identical wires, ways of a plug, spares of a fuse: no loom has more."""


# --------------------------------------------------------------------------------- columns


def job_columns(catalogue: Catalogue) -> tuple[tuple[str, tuple[Column, ...]], ...]:
    """The columns of each sheet of a job book, by its name."""
    return (
        ("Job", _JOB_COLUMNS),
        ("Circuits", _wire_columns(catalogue)),
        ("Loom", _branch_columns(catalogue)),
        ("Components", _component_columns(catalogue)),
        ("Places", _PLACE_COLUMNS),
        ("Fuses", _FUSE_COLUMNS),
        ("Extras", _EXTRA_COLUMNS),
        ("Labour", _labour_columns(catalogue)),
    )


def _wire_columns(catalogue: Catalogue) -> tuple[Column, ...]:
    style = NewHead("end style; blank: that of the component, or of the house", 17, "ends")
    return (
        Column(
            name="wire",
            read=_NAME,
            also=WIRE_WORDS,
            new=NewHead("label; blank: W and the number of the row", 8, form="code"),
        ),
        Column(
            name="circuit",
            read=text,
            also=CIRCUIT_WORDS,
            new=NewHead("what it serves, such as dip beam", 18),
        ),
        *_end_points(),
        cells.colour(
            catalogue,
            NewHead("body, or body/trace: blue/white, BU/WH, U/W", 14, "colours"),
            COLOUR_WORDS,
        ),
        cells.gauge(
            catalogue,
            NewHead("1.0 for mm2, or 18 AWG; blank: chosen", 9, "gauges", form="code"),
            GAUGE_WORDS,
            blank=None,
        ),
        _load_column(
            catalogue, NewHead("55 W, 4.2 A, or a name such as H4 dip; blank: worked out", 27)
        ),
        Column(
            name="fuse",
            read=_NAME,
            also=words("fuse no", "fuse name", "fused by"),
            new=NewHead(
                "the fuse it is behind, on the first wire; none: unfused on purpose",
                11,
                form="code",
            ),
        ),
        _length_column(
            NewHead(
                "measured run; blank: worked out from the Loom sheet", 10, unit="m", form="decimals"
            ),
            must=False,
        ),
        _end_column("from end", catalogue, style),
        _end_column("to end", catalogue, style),
        _one_of(NewHead("a word for what is never on together: beam, turn:left", 11)),
        _runs(NewHead("how long it is on; blank: by the load and the component", 10, "runs")),
        Column(
            name="qty",
            read=lambda value, _: spelling.count(value, 1, MOST_IN_A_LOOM),
            blank=1,
            also=_QTY,
            new=NewHead("identical wires; blank: 1", 6, form="number"),
        ),
        cells.note(18),
    )


def _end_points() -> tuple[Column, ...]:
    return (
        _end_point(
            "from", NewHead("point or point:pin, on the side of the supply", 25, form="code")
        ),
        Column(name="from pin", read=_NAME, also=_pin_words("from"), behind="from", bare=_PIN),
        _end_point(
            "to",
            NewHead("point or point:pin, on the side of the load or the earth", 23, form="code"),
        ),
        Column(name="to pin", read=_NAME, also=_pin_words("to"), behind="to", bare=_PIN),
    )


def _component_columns(catalogue: Catalogue) -> tuple[Column, ...]:
    return (
        cells.key(
            "component",
            NewHead("lamp, switch, plug, earth point ...", 22, form="code"),
            read=_NAME,
            also=words("name", "part", "device", "unit"),
        ),
        Column(
            name="at",
            read=_NAME,
            also=words("where", "location", "position", "place"),
            new=NewHead("the loom point it sits at; blank: its own name", 18, form="code"),
        ),
        _load_column(catalogue, NewHead("55 W, 4.2 A, or a name such as H4 dip", 28)),
        _slack(
            "tail",
            NewHead("how far the wire reaches beyond the loom point", 10, unit="mm", form="number"),
        ),
        _end_column("end", catalogue, NewHead("end style of its wires", 18, "ends")),
        Column(
            name="passes",
            read=text,
            new=NewHead("which pins feed which: 30 > 87; pin to pin; none", 26, form="code"),
        ),
        _one_of(NewHead("a word for what is never on together", 12)),
        _runs(NewHead("how long it is on; blank: by its load and its name", 10, "runs")),
        Column(
            name="ways",
            read=lambda value, _: spelling.count(value, 1, MOST_IN_A_LOOM),
            blank=None,
            new=NewHead("of a plug or fuse box, where more are wanted than are wired", 7),
        ),
        Column(
            name="face",
            read=by(cells.face),
            blank=(),
            new=NewHead(
                "of a plug, seen from where its wires go in; in the loom its half towards the "
                "battery: 1 2 3 / 4 5 -; - is no pin",
                16,
                form="code",
            ),
        ),
        Column(
            name="size",
            read=cells.sides_mm,
            also=words("dimensions"),
            units=LENGTH_UNITS,
            blank=None,
            new=NewHead("of a box: 85 x 70 x 35, in mm; see Places", 14, form="code"),
        ),
        _doubt("how unsure tail and load are: 20 is 20 % up or down; blank: sure"),
        replace(cells.note(), new=NewHead(_COMPONENT_NOTE, 26)),
    )


_COMPONENT_NOTE = (
    "anything you like; of a box with a size: air 30 (mm, to cool), upright, any way up"
)


def _branch_columns(catalogue: Catalogue) -> tuple[Column, ...]:
    return (
        _loom_point("from", "a point of the loom"),
        _loom_point("to", "the next point"),
        _length_column(NewHead("measured with the tape", 11, unit="m", form="decimals"), must=True),
        Column(
            name="exposure",
            read=one_of(EXPOSURES, "exposure"),
            blank="hidden",
            new=NewHead("hidden, weather or show; blank: hidden", 12, "exposures"),
        ),
        _slack(
            "slack", NewHead("extra for steering and swinging arm", 11, unit="mm", form="number")
        ),
        Column(
            name="covering",
            read=one_of(tuple(catalogue.layers), "covering"),
            new=NewHead("blank: as the exposure asks", 12, "coverings"),
        ),
        Column(
            name="ambient",
            read=by(spelling.degrees_c),
            units=dict.fromkeys(("c", "°c", "deg c"), ""),
            blank=None,
            new=NewHead("air around it; blank: as everywhere (ambient_c)", 11, unit="C"),
        ),
        _doubt("how unsure the length is: 20 is 20 % up or down; blank: sure"),
        cells.note(),
    )


def _labour_columns(catalogue: Catalogue) -> tuple[Column, ...]:
    counted = ", ".join(catalogue.labour)
    return (
        cells.key(
            "task",
            NewHead(f"work that is not counted; counted is: {counted}", 30),
            also=words("what", "job", "work", "operation", "description"),
        ),
        _how_many(NewHead("how many times; blank: 1", 8, form="number")),
        Column(
            name="hours",
            read=by(spelling.hours),
            units={"h": "", "each": ""},
            must=True,
            blank=None,
            new=NewHead("hours for one", 9, form="number"),
        ),
        _doubt("how unsure the hours are: 25 is 25 % up or down; blank: sure"),
        cells.note(),
    )


def _end_point(name: str, new: NewHead) -> Column:
    """An end of a wire: a point, or a pin on it."""
    return Column(
        name=name,
        read=by(spelling.pin),
        also=_ends_words(name),
        needed=True,
        must=True,
        blank=None,
        new=new,
    )


def _loom_point(name: str, note: str) -> Column:
    """An end of a branch."""
    return Column(
        name=name,
        read=_NAME,
        also=_ends_words(name),
        needed=True,
        must=True,
        new=NewHead(note, 20, form="code"),
    )


def _load_column(catalogue: Catalogue, new: NewHead) -> Column:
    return Column(
        name="load",
        read=lambda value, unit: spelling.load(value, unit, catalogue),
        also={"watts": "w", "amps": "a", "wattage": "w", "power": "w", "current": "a"},
        units=LOAD_UNITS,
        blank=None,
        new=new,
    )


def _end_column(name: str, catalogue: Catalogue, new: NewHead) -> Column:
    side = name.removesuffix("end")
    things = ("terminal", "connector", "termination")
    sides = {"from ": ("a", "1"), "to ": ("b", "2")}.get(side, ())
    lettered = (f"{thing} {letter}" for thing in ("end", *things) for letter in sides)
    return Column(
        name=name,
        read=one_of(tuple(catalogue.ends), "end style"),
        also=words(*(f"{side}{thing}" for thing in things), *lettered),
        blank=None,
        new=new,
    )


def _ends_words(side: str) -> dict[str, str]:
    """What else the two ends of a wire or branch go by."""
    others = {"from": ("start", "source", "origin"), "to": ("finish", "destination", "dest")}
    things = (f"{side} {thing}" for thing in ("component", "point", "device", "part", "unit"))
    return words(*others[side], *things)


def _pin_words(side: str) -> dict[str, str]:
    """What else the pin goes by, where it has a column of its own."""
    start = {"from": ("start", "source"), "to": ("finish", "destination", "dest")}
    return words(*(f"{end} pin" for end in start[side]), f"{side} cavity", f"pin {side}")


def _slack(name: str, new: NewHead) -> Column:
    return Column(name=name, read=spelling.slack_mm, units=LENGTH_UNITS, blank=Fraction(0), new=new)


def _length_column(new: NewHead, *, must: bool) -> Column:
    return Column(
        name="length",
        read=spelling.run_mm,
        also=LENGTH_WORDS,
        units=LENGTH_UNITS,
        blank=None,
        must=must,
        new=new,
    )


def _side(name: str, note: str) -> Column:
    """A side of a place."""
    return Column(
        name=name,
        read=cells.side_mm,
        units=LENGTH_UNITS,
        needed=True,
        must=True,
        missing="what it measures inside, in mm",
        new=NewHead(note, 11, unit="mm", form="number"),
    )


def _one_of(new: NewHead) -> Column:
    return Column(name="one of", read=by(spelling.one_of), blank=None, new=new)


def _runs(new: NewHead) -> Column:
    return Column(name="runs", read=one_of(tuple(DUTIES), "word for how long it is on"), new=new)


def _doubt(note: str) -> Column:
    return Column(
        name="doubt",
        read=spelling.percent,
        also={"doubt per cent": "%"},
        units={"%": "%", "percent": "%"},
        blank=Decimal(),
        new=NewHead(note, 10, unit="%", form="number"),
    )


def _how_many(new: NewHead) -> Column:
    return Column(name="qty", read=by(spelling.quantity), blank=Decimal(1), also=_QTY, new=new)


_NAME = by(spelling.name_of)
_QTY = words("quantity", "no off", "number off", "pieces")
_PIN = ("pin", "cavity")
_JOB_COLUMNS = (
    cells.key(
        "item",
        NewHead("job, customer, machine, or a house rule by its key", 22, "rules"),
    ),
    Column(
        name="value",
        read=lambda value, _: value,
        needed=True,
        blank=None,
        new=NewHead("the name, the figure or the word for it", 54),
    ),
    replace(cells.note(), new=None),
)
_PLACE_COLUMNS = (
    cells.key(
        "place",
        NewHead("the loom point, as under at on Components", 20, form="code"),
        read=_NAME,
        also=words("point", "loom point"),
    ),
    _side("length", "clear room inside, from left to right"),
    _side("width", "clear room inside, from back to front"),
    _side("height", "clear room inside, from the floor up"),
    cells.note(),
)
_FUSE_COLUMNS = (
    cells.key(
        "fuse",
        NewHead("the name used on Circuits", 16, form="code"),
        read=_NAME,
        also={"name": ""},
    ),
    Column(
        name="rating",
        read=by(spelling.amps),
        also={"amps": ""},
        units={"a": "", "amps": ""},
        blank=None,
        new=NewHead("blank: chosen", 10, unit="A", form="number"),
    ),
    Column(
        name="holder",
        read=text,
        new=NewHead("in-line, fuse box ...; blank: in-line", 18, "holders"),
    ),
    Column(
        name="spares",
        read=lambda value, _: spelling.count(value, 0, MOST_IN_A_LOOM),
        blank=None,
        new=NewHead("blank: as the house keeps", 9, form="number"),
    ),
    cells.note(),
)
_EXTRA_COLUMNS = (
    cells.key(
        "item",
        NewHead("anything else the job needs", 30),
        also=words("what", "description", "part", "article", "material", "thing"),
    ),
    _how_many(NewHead("blank: 1", 8, form="number")),
    Column(name="unit", read=text, blank="each", new=NewHead("each, m ...", 8, "units")),
    cells.money(
        "price",
        NewHead("for one, without tax", 10, form="decimals"),
        also=words("price each", "unit price", "price for one"),
    ),
    cells.note(),
)
