"""Values as people spell them: exact where they can be read, refused where they can mislead."""

import re
from collections.abc import Callable, Iterator
from datetime import date, datetime, time
from decimal import Decimal
from fractions import Fraction
from functools import partial
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bom.files import spelling
from bom.files.sheet import NO_RESULT, Fault, Percent, Value
from bom.files.spelling import Misspelt
from bom.trade.catalogue_files import load_catalogue
from bom.trade.job_book import OneOf, Pin

CATALOGUE, _ = load_catalogue()
_of_stock = partial(partial, catalogue=CATALOGUE)


def _shown_colour(value: Value) -> str:
    return str(spelling.colour(value, CATALOGUE))


def _watts_or_amps(value: Value, unit: str) -> tuple[Fraction, str]:
    found = spelling.load(value, unit, CATALOGUE)
    return found.amount, found.unit


READERS: dict[str, Callable[[Any], Any]] = {
    "length": partial(spelling.length_mm, unit="", bare="m"),
    "length mm": partial(spelling.length_mm, unit="mm", bare="m"),
    "length in": partial(spelling.length_mm, unit="in", bare="m"),
    "length ft": partial(spelling.length_mm, unit="ft", bare="m"),
    "tail": partial(spelling.length_mm, unit="", bare="mm"),
    "tail cm": partial(spelling.length_mm, unit="cm", bare="mm"),
    "run": partial(spelling.run_mm, unit=""),
    "slack": partial(spelling.slack_mm, unit=""),
    "gauge": _of_stock(spelling.gauge, unit=""),
    "gauge AWG": _of_stock(spelling.gauge, unit="awg"),
    "colour": _shown_colour,
    "load": partial(_watts_or_amps, unit=""),
    "load W": partial(_watts_or_amps, unit="w"),
    "load A": partial(_watts_or_amps, unit="a"),
    "amps": spelling.amps,
    "count": spelling.count,
    "count or zero": partial(spelling.count, least=0),
    "quantity": spelling.quantity,
    "money": spelling.money,
    "pin": spelling.pin,
    "one of": spelling.one_of,
    "end style": lambda value: spelling.one_word_of(value, ("bullet", "ring M6"), "end style"),
    "text": spelling.text_of,
    "name": spelling.name_of,
}
"""Readers of one cell, some of them under a heading with a unit."""

WITH_UNIT = {
    # the spellings of design section 3
    "1200": "1.2 m|120 cm|1200 mm|1,2 m|1.2m|1.2\u00a0m|1.2 M|1.2 metres|+1.2 m",
    "500": ".5 m",
    "750": "0,75 m",
    # 1 in = 25.4 mm exactly (ISO 80000-3, from memory), 1 ft = 12 in: 47 in = 3 ft 11 in = 1193.8.
    # The dash joins feet and inches (common practice); 3 ft less 11 in would be 25 in.
    "1193.8": "47 in|47”|47 inches|3 ft 11 in|3ft11in|3’ 11”|3 feet 11 inches|3' 11|"
    '47"|3\' 11"|3\'-11"',
    # 11.5 in x 25.4 = 292.1; 3 x 304.8 = 914.4; together 1206.5
    "1206.5": "3 ft 11.5 in|3 ft 11,5 in",
    "609.6": "2 ft",
}

SPELLINGS: tuple[tuple[str, Any, str, *tuple[Value, ...]], ...] = (
    # a cell without a unit: that of the heading, else metres (tail and slack: mm)
    ("length", 1200, "1.2|1,2"),
    ("run", 1200, "1.2"),
    ("length mm", 1200, "1200"),
    ("length in", Fraction("1193.8"), "47"),
    ("length ft", Fraction("609.6"), "2"),
    ("tail", 150, "150"),
    ("slack", 150, "150"),
    ("tail cm", 150, "15"),
    ("slack", 0, "0"),
    # a tenth of a millimetre is kept, and so is a third decimal behind a point;
    # a comma with one, two or four figures behind it can only be a decimal
    ("length", Fraction("1234.5"), "1.2345|1,2345"),
    ("length", 1234, "1.234"),
    ("length", 1250, "1,25"),
    # no thousands begin with a nought: 0,775 is 775 thousandths, whatever it counts
    ("length", 775, "0,775|0,775 m|+0,775 m|00,775|0,775m|77,5 cm"),
    ("length mm", Fraction("0.775"), "0,775"),
    ("length", Fraction("152.4"), "0 ft 6 in|0,500 ft"),
    ("quantity", Decimal("0.125"), "0,125"),
    ("money", Decimal("0.125"), "0,125|£0,125|0,125 GBP"),
    ("gauge", "0.75", "0,750|0,750 mm2"),
    ("load", (Fraction(1, 8), "A"), "0,125 A"),
    ("amps", Fraction(1, 2), "0,500 A"),
    # colours in words, in IEC 60757 codes (TQ and GD from memory), in BS AU 7 letters; body
    # first, then trace.  BN is brown in IEC 60757, and not black with brown as in BS AU 7.
    ("colour", "black", "BK|B"),
    ("colour", "brown", "BN|N"),
    ("colour", "red", "red|RD|R"),
    ("colour", "orange", "OG|O"),
    ("colour", "yellow", "YE|Y"),
    ("colour", "green", "GN|G"),
    ("colour", "light green", "Light  Green|LG"),
    ("colour", "blue", "BU|U"),
    ("colour", "purple", "purple|violet|VT|P"),
    ("colour", "grey", "gray|slate|GY|S"),
    ("colour", "white", "WH|W"),
    ("colour", "pink", "PK|K"),
    ("colour", "turquoise", "TQ"),
    ("colour", "gold", "GD"),
    ("colour", "silver", "SR"),
    ("colour", "blue/white", "blue/white| Blue / White |BU/WH|U/W"),
    ("colour", "blue/red", "u/r"),
    ("colour", "light green/black", "LG/B|LG/BK"),
    ("colour", "red/black", "red/BK"),
    ("colour", "brown/blue", "N/blue"),
    # run together only where a standard writes it so (IEC 60757)
    ("colour", "green/yellow", "GNYE|gnye|GN-YE"),
    # gauges: mm2 as in `1.0`, AWG as in `18 AWG`; the cell's own unit overrides the heading's
    ("gauge", "1.0", "1.0|1|1.0 mm2|1,0 mm2|1.0 mm²|1.0mm2"),
    ("gauge", "0.75", "0.75"),
    ("gauge", "2.5", "2.50"),
    ("gauge", "1.5", "1.5 sq mm"),
    ("gauge", "35.0", "35"),
    ("gauge", "18 AWG", "18 AWG|18AWG|18 awg|AWG 18"),
    ("gauge AWG", "18 AWG", "18"),
    ("gauge AWG", "1.0", "1.0 mm2"),
    # loads: the cell's own unit, then the heading's; a name brings its own
    ("load", (55, "W"), "55 W|55W|55 watts|h4  DIP"),
    ("load", (1200, "W"), "1.2 kW"),
    ("load", (Fraction("4.2"), "A"), "4.2 A|4,2 A|4.2 amps"),
    ("load", (Fraction("0.15"), "A"), "150 mA"),
    ("load", (0, "W"), "0 W"),
    ("load W", (55, "W"), "55"),
    ("load A", (Fraction("4.2"), "A"), "4.2"),
    ("load A", (55, "W"), "55 W|H4 dip"),
    # catalogs/loads.csv has a row a filament; UN regulation 37 (from memory): H4 60/55 W,
    # P21/5W 21/5 W; a 55 W bulb is reckoned as 60 W (common practice): a row, not a rule
    ("load", (60, "W"), "H4 main|55 W headlamp as reckoned"),
    ("load", (21, "W"), "P21/5W stop"),
    ("load", (5, "W"), "P21/5W tail"),
    ("amps", 10, "10"),
    ("amps", Fraction("7.5"), "7.5 A|7,5A"),
    ("amps", 30, "30"),
    ("amps", 5, "5 amps"),
    ("count", 2, "2|2.0"),
    ("count", 3, "3"),
    ("count or zero", 0, "0"),
    ("money", Decimal("1.20"), "£1.20|£ 1.20|1,20 €|1.20 GBP"),
    ("money", Decimal("0.035"), "0.035"),
    ("money", Decimal(0), "0"),
    # a pin follows the first colon
    ("pin", Pin("switch"), "switch"),
    ("pin", Pin("relay", "30"), "relay:30|relay : 30"),
    ("pin", Pin("battery", "- 1"), "battery:- 1"),
    ("pin", Pin("relay", "30:a"), "relay:30:a"),
    ("pin", Pin("relay"), "relay:"),
    ("pin", Pin("1"), "1.0"),
    ("one of", OneOf("beam"), "beam"),
    ("one of", OneOf("turn", "left"), "turn:left|Turn : LEFT"),
    ("end style", "ring M6", "RING  m6"),
    # text: no needless decimals, single spaces; `NA` and `None` are words
    ("text", "", "", None),
    ("text", "1", "1", Decimal("1.0")),
    ("text", "100", "100", Decimal("1E+2")),
    ("text", "0.3", "0.3", Decimal("0.30")),
    ("text", "5 %", "5 %", Percent(Decimal(5))),
    ("text", "true", "true", True),
    ("text", "tail lamp", "  tail \u00a0 lamp "),
    ("text", "NA", "NA"),
    ("text", "None", "None"),
    # a number 1.0 as a label is `1`, from a .csv file too
    ("name", "1", "1.0"),
    ("name", "12", "12.00"),
    ("name", "1.1", "1.1"),
    ("name", "W1.0", "W1.0"),
    ("name", "1.0 red", "1.0 red"),
)
"""By reader: a value, its spellings as text with `|` between them, and cells that are no text."""


def cells(texts: str) -> Iterator[Value]:
    """Each text, and once more as a number where it is one."""
    for text in texts.split("|"):
        yield text
        if re.fullmatch(r"-?\d+(\.\d+)?", text):
            yield Decimal(text)


@pytest.mark.parametrize("row", SPELLINGS, ids=lambda row: f"{row[0]} {row[1]}")
def test_a_value_has_many_spellings(row: tuple[Any, ...]) -> None:
    """And all of them are read as the one value."""
    reader, value, texts, *others = row
    for typed in (*cells(texts), *others):
        assert READERS[reader](typed) == value, typed


@pytest.mark.parametrize("mm", WITH_UNIT)
def test_a_length_with_its_own_unit_is_exact(mm: str) -> None:
    """The cell's own unit wins over the heading's and over the usual one."""
    for typed in WITH_UNIT[mm].split("|"):
        for reader in ("length", "length mm", "length in", "tail"):
            assert READERS[reader](typed) == Fraction(mm), typed


REFUSED = (
    # nothing below zero, no unit unheard of, no second number
    ("length", "-1|-3 ft 11 in", "below zero", ""),
    ("length", "3 ft -11 in|a metre|1.2.3|1 200 mm|1,200.5|1.2 m 30 cm", "is not a length", ""),
    ("length", "1.2 furlongs", "'furlongs' is not a unit of length", ""),
    ("length", "5 %", "'%' is not a unit of length", ""),
    ("length", "99999999999", "too large", ""),
    ("run", "0", "0", ""),
    ("slack", "-5", "below zero", ""),
    # a comma with three figures behind it: the program does not guess
    ("length", "1,200|1,200 m|1,200 mm", "can be read in two ways", "1200 .*thou.*, 1.200 .*dec"),
    ("length", "12,125 m|3 ft 1,500 in", "can be read in two ways", ".*thousands, .*a decimal"),
    ("length", "-0,775", "below zero", ""),
    ("quantity", "1,200", "two ways", "1200 for thousands, 1.200 for a decimal$"),
    # a word that is near is suggested, else all of them are named, from catalogs/colours.csv
    ("colour", "gren|Gren", "", "green$"),
    ("colour", "blue/whit|blue/white/red|blue/|/blue", "", "blue/white$"),
    ("colour", "violett", "", "violet$"),
    ("colour", "grene/whit", "", "green/white$"),
    ("colour", "brown/weiss", "", "one of black, brown"),
    ("colour", "XQ", "", "one of black, brown, red,.*gold, silver$"),
    # body and trace run together: their order is not known, each reading is named
    ("colour", "RDBU", "may be a body and a trace run together", "(.* or )?red/blue($| or )"),
    ("colour", "BUWH|UW", "run together", "(.* or )?blue/white($| or )"),
    ("colour", "YEGN", "run together", "(.* or )?yellow/green($| or )"),
    ("colour", "GR", "run together", "(.* or )?green/red($| or )"),
    ("colour", "NU", "run together", "(.* or )?brown/blue($| or )"),
    ("colour", "LGB", "run together", "(.* or )?light green/black($| or )"),
    ("colour", "GNYE/RD", "run together", "(.* or )?green/yellow($| or )"),
    # `4 mm auto cable` is an outside diameter in some countries (1.84 mm2), not an area
    ("gauge", "4 mm", "", "4 mm2 if it is the area of the conductor"),
    ("gauge", "18", "", "18 AWG"),
    ("gauge", "1.1|19 AWG|thick|0|-1", "", "one of 0.5, 0.75, 1.0, 1.5"),
    # two filaments are two rows, and a bare number may be watts or amps
    ("load", "55", "load '55' has no unit", "55 W or 55 A$"),
    ("load", "4,2", "load '4,2' has no unit", "4,2 W or 4,2 A$"),
    ("load", "21/5 W", "", "on Circuits 21 W for .*, 5 W for that to the other$"),
    ("load", "60/55 W|H4 60/55W", "", "on Circuits 60 W for .*, 55 W .*; beam:main and beam:dip"),
    ("load", "H4", "", "on Circuits H4 main for .*, H4 dip .*; beam:main and beam:dip"),
    ("load", "-5 W", "", ""),
    ("load", "H4 dpi", "", "H4 dip"),
    ("load", "5 V", "", "55 W, 4.2 A"),
    ("load", "1,200 W", "", "1200 for thousands"),
    ("amps", "0|-5 A|5 W|big", "", ""),
    ("count", "0|1,5|two|-1|1.5", "", ""),
    ("count or zero", "-1|0.5", "", ""),
    ("money", "-1|1,250|1,250.00|free|£", "", ""),
    ("pin", ":30", "no point", ""),
    ("one of", "turn:|:left|:", "", "turn:left$"),
    ("end style", "ring M7", "", "ring M6$"),
    ("end style", "glue", "", "one of bullet, ring M6$"),
)
"""By reader: texts with `|` between them, words of what is said, a pattern of the cure."""


@pytest.mark.parametrize(("reader", "texts", "says", "cure"), REFUSED)
def test_what_can_mislead_is_refused(reader: str, texts: str, says: str, cure: str) -> None:
    """Suggest, never guess."""
    for typed in cells(texts):
        with pytest.raises(Misspelt) as fault:
            READERS[reader](typed)
        assert says in fault.value.says
        assert re.match(cure, fault.value.cure), typed


@pytest.mark.parametrize("reader", READERS)
def test_a_cell_that_holds_no_value_says_so(reader: str) -> None:
    """A date (3-4 typed into a spreadsheet), an error value, a formula never calculated."""
    for value in (date(2026, 3, 4), datetime(2026, 3, 4, 5, 6), time(5, 6)):
        with pytest.raises(Misspelt, match="turned this cell into a date") as fault:
            READERS[reader](value)
        assert fault.value.cure == "format the cell as text and type it again"
    for says in ("#N/A", "#REF!", "Err:502", NO_RESULT.says):
        with pytest.raises(Misspelt, match=re.escape(says)):
            READERS[reader](Fault(says))


def test_names_are_the_same_without_regard_to_case_and_spaces() -> None:
    """Repeated and non-breaking spaces do not count."""
    assert spelling.fold(" Tail\u00a0 LAMP") == spelling.fold("tail lamp")
    assert spelling.fold("tail lamp") != spelling.fold("taillamp")


@given(st.integers(0, 10**6), st.sampled_from(["mm", "cm", "m", "in", "ft"]))
def test_a_length_is_never_rounded(hundredths: int, unit: str) -> None:
    """Whatever the unit, the millimetres are the number times the unit's, to the last part."""
    typed = f"{Decimal(hundredths).scaleb(-2)} {unit}"
    mm = {"mm": "1", "cm": "10", "m": "1000", "in": "25.4", "ft": "304.8"}[unit]
    assert spelling.length_mm(typed, "", "m") == Fraction(hundredths, 100) * Fraction(mm)


@given(st.decimals(0, 10**6, places=4))
def test_a_number_is_spelled_and_read_back_exactly(value: Decimal) -> None:
    """Writing out a number loses nothing and adds nothing."""
    assert spelling.number(spelling.plain(value)) == value
