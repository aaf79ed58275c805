"""Values as people spell them: exact where they can be read, refused where they can mislead."""

from datetime import date, datetime, time
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bom.files import spelling
from bom.files.sheet import NEVER_CALCULATED, Fault, Percent, Value
from bom.files.spelling import Misspelt
from bom.trade.catalogue_files import load_catalogue
from bom.trade.job_book import OneOf, Pin

CATALOGUE, _ = load_catalogue()


def fault_of(read: Any, *typed: Any) -> Misspelt:
    """What the reader says of a cell it refuses."""
    with pytest.raises(Misspelt) as fault:
        read(*typed)
    return fault.value


# ------------------------------------------------------------------------------- lengths


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        # the spellings of design section 3; each is 1.2 m unless worked out beside it
        ("1.2 m", "1200"),
        ("120 cm", "1200"),
        ("1200 mm", "1200"),
        ("1,2 m", "1200"),
        ("1.2m", "1200"),
        ("1.2\u00a0m", "1200"),
        ("1.2 M", "1200"),
        ("1.2 metres", "1200"),
        ("+1.2 m", "1200"),
        (".5 m", "500"),
        ("0,75 m", "750"),
        # 1 in = 25.4 mm exactly (ISO 80000-3, from memory): 47 x 25.4 = 1193.8
        ("47 in", "1193.8"),
        ('47"', "1193.8"),
        ("47”", "1193.8"),
        ("47 inches", "1193.8"),
        # 1 ft = 12 in: 3 x 12 + 11 = 47 in
        ("3 ft 11 in", "1193.8"),
        ("3ft11in", "1193.8"),
        ("3' 11\"", "1193.8"),
        ("3’ 11”", "1193.8"),
        ("3 feet 11 inches", "1193.8"),
        ("3' 11", "1193.8"),
        # the dash joins feet and inches (common practice); 3 ft less 11 in would be 25 in
        ("3'-11\"", "1193.8"),
        # 11.5 in x 25.4 = 292.1; 3 x 304.8 = 914.4; together 1206.5
        ("3 ft 11.5 in", "1206.5"),
        ("3 ft 11,5 in", "1206.5"),
        ("2 ft", "609.6"),
    ],
)
def test_a_length_with_its_own_unit_is_exact(text: str, mm: str) -> None:
    """The cell's own unit wins over the heading's and over the usual one."""
    for heading in ("", "mm", "in"):
        assert spelling.length_mm(text, heading, "m") == Fraction(mm)


@pytest.mark.parametrize(
    ("value", "heading", "bare", "mm"),
    [
        ("1.2", "", "m", "1200"),
        (Decimal("1.2"), "", "m", "1200"),
        ("1,2", "", "m", "1200"),
        (Decimal(1200), "mm", "m", "1200"),
        (Decimal(47), "in", "m", "1193.8"),
        (Decimal(2), "ft", "m", "609.6"),
        (Decimal(150), "", "mm", "150"),
        (Decimal(15), "cm", "mm", "150"),
        # a tenth of a millimetre is kept, and so is a third decimal behind a point
        (Decimal("1.2345"), "", "m", "1234.5"),
        ("1.234", "", "m", "1234"),
        # a comma with one, two or four figures behind it can only be a decimal
        ("1,25", "", "m", "1250"),
        ("1,2345", "", "m", "1234.5"),
    ],
)
def test_a_bare_length_takes_the_headings_unit_then_the_usual_one(
    value: Value, heading: str, bare: str, mm: str
) -> None:
    """A cell without a unit: that of the heading, else metres (tail and slack: mm)."""
    assert spelling.length_mm(value, heading, bare) == Fraction(mm)


def test_runs_are_in_metres_and_slack_in_millimetres() -> None:
    """The usual units of the two: a run of 1.2 is 1200 mm, a tail of 150 is 150 mm."""
    assert spelling.run_mm(Decimal("1.2"), "") == 1200
    assert spelling.slack_mm(Decimal(150), "") == 150


@pytest.mark.parametrize("text", ["1,200", "1,200 m", "1,200 mm", "0,125 m", "3 ft 1,500 in"])
def test_a_comma_with_exactly_three_digits_asks_which_is_meant(text: str) -> None:
    """Thousands or a decimal: the program does not guess."""
    fault = fault_of(spelling.length_mm, text, "", "m")
    assert "can be read in two ways" in fault.says
    assert "for thousands" in fault.cure and "for a decimal" in fault.cure


def test_both_readings_of_a_comma_are_spelled_out() -> None:
    """1,200 is 1200 or 1.200."""
    fault = fault_of(spelling.number, "1,200")
    assert fault.cure == "1200 for thousands, 1.200 for a decimal"


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("-1", "below zero"),
        ("-3 ft 11 in", "below zero"),
        ("3 ft -11 in", "is not a length"),
        ("1.2 furlongs", "'furlongs' is not a unit of length"),
        ("5 %", "'%' is not a unit of length"),
        ("a metre", "is not a length"),
        ("1.2.3", "is not a length"),
        ("1 200 mm", "is not a length"),
        ("1,200.5", "is not a length"),
        ("1.2 m 30 cm", "is not a length"),
        ("99999999999", "too large"),
    ],
)
def test_a_length_that_cannot_be_read_is_refused(text: str, says: str) -> None:
    """Nothing below zero, no unit unheard of, no second number."""
    assert says in fault_of(spelling.length_mm, text, "", "m").says


def test_a_run_is_above_zero_and_slack_may_be_zero() -> None:
    """Lengths > 0, tails and slack >= 0."""
    assert "0" in fault_of(spelling.run_mm, Decimal(0), "").says
    assert spelling.slack_mm(Decimal(0), "") == 0
    assert "below zero" in fault_of(spelling.slack_mm, Decimal(-5), "").says


@given(st.integers(0, 10**6), st.sampled_from(["mm", "cm", "m", "in", "ft"]))
def test_a_length_is_never_rounded(hundredths: int, unit: str) -> None:
    """Whatever the unit, the millimetres are the number times the unit's, to the last part."""
    typed = f"{Decimal(hundredths).scaleb(-2)} {unit}"
    mm = {"mm": "1", "cm": "10", "m": "1000", "in": "25.4", "ft": "304.8"}[unit]
    assert spelling.length_mm(typed, "", "m") == Fraction(hundredths, 100) * Fraction(mm)


# --------------------------------------------------------------------------- odd cells

READERS: dict[str, Any] = {
    "length": lambda value: spelling.length_mm(value, "", "m"),
    "gauge": lambda value: spelling.gauge(value, "", CATALOGUE),
    "colour": lambda value: spelling.colour(value, CATALOGUE),
    "load": lambda value: spelling.load(value, "", CATALOGUE),
    "amps": spelling.amps,
    "count": spelling.count,
    "count or zero": lambda value: spelling.count(value, 0),
    "quantity": spelling.quantity,
    "money": spelling.money,
    "pin": spelling.pin,
    "one of": spelling.one_of,
    "text": spelling.text_of,
    "name": spelling.name_of,
}


@pytest.mark.parametrize("reader", READERS)
@pytest.mark.parametrize("value", [date(2026, 3, 4), datetime(2026, 3, 4, 5, 6), time(5, 6)])
def test_a_cell_turned_into_a_date_says_so(reader: str, value: Value) -> None:
    """3-4 typed into a spreadsheet becomes a date; no reader takes it for anything else."""
    fault = fault_of(READERS[reader], value)
    assert "turned this cell into a date" in fault.says
    assert fault.cure == "format the cell as text and type it again"


@pytest.mark.parametrize("reader", READERS)
@pytest.mark.parametrize("says", ["#N/A", "#REF!", "Err:502", NEVER_CALCULATED])
def test_error_values_and_uncalculated_formulas_are_named(reader: str, says: str) -> None:
    """The cell's own words are in the sentence."""
    assert says in fault_of(READERS[reader], Fault(says)).says


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (None, ""),
        (Decimal("1.0"), "1"),
        (Decimal(1), "1"),
        (Decimal("1E+2"), "100"),
        (Decimal("0.30"), "0.3"),
        (Percent(Decimal(5)), "5 %"),
        (True, "true"),
        ("  tail \u00a0 lamp ", "tail lamp"),
        ("NA", "NA"),
        ("None", "None"),
    ],
)
def test_a_cell_as_text(value: Value, text: str) -> None:
    """No needless decimals, single spaces; `NA` and `None` are words."""
    assert spelling.text_of(value) == text


@pytest.mark.parametrize(
    ("value", "name"),
    [
        (Decimal("1.0"), "1"),
        ("1.0", "1"),  # the same label from a .csv file
        ("12.00", "12"),
        ("1.1", "1.1"),
        ("W1.0", "W1.0"),
        ("1.0 red", "1.0 red"),
    ],
)
def test_a_number_as_a_label_has_no_decimals(value: Value, name: str) -> None:
    """A number 1.0 as a label is `1`, from whatever kind of file."""
    assert spelling.name_of(value) == name


def test_names_are_the_same_without_regard_to_case_and_spaces() -> None:
    """Repeated and non-breaking spaces do not count."""
    assert spelling.fold(" Tail\u00a0 LAMP") == spelling.fold("tail lamp")
    assert spelling.fold("tail lamp") != spelling.fold("taillamp")


# ------------------------------------------------------------------------------- colours


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        # words
        ("red", "red"),
        ("Light  Green", "light green"),
        ("blue/white", "blue/white"),
        (" Blue / White ", "blue/white"),
        # IEC 60757 codes: BK BN RD OG YE GN BU VT GY WH PK, TQ and GD (from memory), SR
        ("BK", "black"),
        ("BN", "brown"),
        ("RD", "red"),
        ("OG", "orange"),
        ("YE", "yellow"),
        ("GN", "green"),
        ("BU", "blue"),
        ("VT", "purple"),
        ("GY", "grey"),
        ("WH", "white"),
        ("PK", "pink"),
        ("TQ", "turquoise"),
        ("GD", "gold"),
        ("SR", "silver"),
        ("BU/WH", "blue/white"),
        # BS AU 7 letters: B U N R P G S W LG Y O K, body first, then trace
        ("B", "black"),
        ("U", "blue"),
        ("N", "brown"),
        ("R", "red"),
        ("P", "purple"),
        ("G", "green"),
        ("S", "grey"),
        ("W", "white"),
        ("LG", "light green"),
        ("Y", "yellow"),
        ("O", "orange"),
        ("K", "pink"),
        ("U/W", "blue/white"),
        ("u/r", "blue/red"),
        ("LG/B", "light green/black"),
        # a word, a code and a letter may be mixed, each part for itself
        ("red/BK", "red/black"),
        ("LG/BK", "light green/black"),
        ("N/blue", "brown/blue"),
        # one spelling out: violet = purple = VT = P, grey = gray = slate = GY = S
        ("violet", "purple"),
        ("purple", "purple"),
        ("gray", "grey"),
        ("slate", "grey"),
        # run together only where a standard writes it so (IEC 60757)
        ("GNYE", "green/yellow"),
        ("gnye", "green/yellow"),
        ("GN-YE", "green/yellow"),
    ],
)
def test_colours_come_out_in_words(typed: str, words: str) -> None:
    """Each part is a word, else an IEC 60757 code, else a BS AU 7 letter."""
    assert str(spelling.colour(typed, CATALOGUE)) == words


def test_bn_is_brown_and_not_black_with_brown() -> None:
    """The trap: BN is brown in IEC 60757 and black/brown in BS AU 7."""
    assert spelling.colour("BN", CATALOGUE).body == "brown"
    assert spelling.colour("BN", CATALOGUE).trace == ""


@pytest.mark.parametrize(
    ("typed", "reading"),
    [
        ("RDBU", "red/blue"),
        ("BUWH", "blue/white"),
        ("YEGN", "yellow/green"),
        ("GR", "green/red"),
        ("UW", "blue/white"),
        ("NU", "brown/blue"),
        ("LGB", "light green/black"),
        ("GNYE/RD", "green/yellow"),
    ],
)
def test_letters_run_together_are_an_error_with_their_readings(typed: str, reading: str) -> None:
    """RDBU is red and blue in table order, so body and trace are not known."""
    fault = fault_of(spelling.colour, typed, CATALOGUE)
    assert "may be a body and a trace run together" in fault.says
    assert reading in fault.cure.split(" or ")


@pytest.mark.parametrize(
    ("typed", "cure"),
    [
        ("gren", "green"),
        ("Gren", "green"),
        ("blue/whit", "blue/white"),
        ("violett", "violet"),
        ("blue/white/red", "blue/white"),
        ("blue/", "blue/white"),
        ("/blue", "blue/white"),
        ("grene/whit", "green/whit"),
    ],
)
def test_an_unknown_colour_is_refused_with_its_nearest_word(typed: str, cure: str) -> None:
    """Suggest, never guess."""
    assert fault_of(spelling.colour, typed, CATALOGUE).cure == cure


def test_a_colour_that_nothing_is_near_gets_the_list_of_all() -> None:
    """No word is like XQ, so that all are named, from catalogs/colours.csv."""
    cure = fault_of(spelling.colour, "XQ", CATALOGUE).cure
    assert cure.startswith("one of black, brown, red,") and cure.endswith("gold, silver")


# -------------------------------------------------------------------------------- gauges


@pytest.mark.parametrize(
    ("value", "heading", "name"),
    [
        ("1.0", "", "1.0"),
        ("1", "", "1.0"),
        (Decimal(1), "", "1.0"),
        (Decimal("0.75"), "", "0.75"),
        ("1.0 mm2", "", "1.0"),
        ("1,0 mm2", "", "1.0"),
        ("1.0 mm²", "", "1.0"),
        ("1.0mm2", "", "1.0"),
        ("2.50", "", "2.5"),
        ("1.5 sq mm", "", "1.5"),
        ("18 AWG", "", "18 AWG"),
        ("18AWG", "", "18 AWG"),
        ("18 awg", "", "18 AWG"),
        ("AWG 18", "", "18 AWG"),
        # the heading's unit, which the cell's own unit overrides
        (Decimal(18), "awg", "18 AWG"),
        ("18", "awg", "18 AWG"),
        ("1.0 mm2", "awg", "1.0"),
        ("35", "", "35.0"),
    ],
)
def test_gauges_have_one_spelling(value: Value, heading: str, name: str) -> None:
    """mm2 as in `1.0`, AWG as in `18 AWG`."""
    assert spelling.gauge(value, heading, CATALOGUE) == name


@pytest.mark.parametrize(
    ("typed", "cure"),
    [
        ("4 mm", "4 mm2 if it is the area of the conductor"),
        ("18", "18 AWG"),
        ("1.1", "one of 0.5, 0.75, 1.0, 1.5"),
        ("19 AWG", "one of 0.5, 0.75, 1.0, 1.5"),
        ("thick", "one of 0.5, 0.75, 1.0, 1.5"),
        ("0", "one of 0.5, 0.75, 1.0, 1.5"),
        ("-1", "one of 0.5, 0.75, 1.0, 1.5"),
    ],
)
def test_a_gauge_that_is_not_made_is_refused(typed: str, cure: str) -> None:
    """`4 mm auto cable` is an outside diameter in some countries (1.84 mm2), not an area."""
    assert fault_of(spelling.gauge, typed, "", CATALOGUE).cure.startswith(cure)


# --------------------------------------------------------------------------------- loads


@pytest.mark.parametrize(
    ("value", "heading", "amount", "unit"),
    [
        ("55 W", "", "55", "W"),
        ("55W", "", "55", "W"),
        ("55 watts", "", "55", "W"),
        ("1.2 kW", "", "1200", "W"),
        ("4.2 A", "", "4.2", "A"),
        ("4,2 A", "", "4.2", "A"),
        ("4.2 amps", "", "4.2", "A"),
        ("150 mA", "", "0.15", "A"),
        ("0 W", "", "0", "W"),
        # the heading's unit, which the cell's own overrides
        (Decimal(55), "w", "55", "W"),
        ("4.2", "a", "4.2", "A"),
        ("55 W", "a", "55", "W"),
        # names of catalogs/loads.csv, a row a filament; UN regulation 37 (from memory):
        # H4 60/55 W, P21/5W 21/5 W
        ("H4 main", "", "60", "W"),
        ("h4  DIP", "", "55", "W"),
        ("P21/5W stop", "", "21", "W"),
        ("P21/5W tail", "", "5", "W"),
        ("H4 dip", "a", "55", "W"),
        # a 55 W bulb is reckoned as 60 W (common practice): a row, not a rule
        ("55 W headlamp as reckoned", "", "60", "W"),
    ],
)
def test_loads_are_watts_amps_or_names(value: Value, heading: str, amount: str, unit: str) -> None:
    """The cell's own unit, then the heading's; a name brings its own."""
    found = spelling.load(value, heading, CATALOGUE)
    assert (found.amount, found.unit) == (Fraction(amount), unit)


@pytest.mark.parametrize("value", ["55", Decimal(55), "4,2"])
def test_a_bare_number_is_no_load(value: Value) -> None:
    """Without a unit in the cell or the heading it may be watts or amps."""
    fault = fault_of(spelling.load, value, "", CATALOGUE)
    typed = spelling.text_of(value)
    assert (fault.says, fault.cure) == (
        f"load '{typed}' has no unit",
        f"{typed} W or {typed} A",
    )


@pytest.mark.parametrize(
    ("typed", "cure"),
    [
        ("21/5 W", "one row for each filament"),
        ("-5 W", ""),
        ("H4 dpi", "H4 dip"),
        ("5 V", "55 W, 4.2 A"),
        ("1,200 W", "1200 for thousands"),
    ],
)
def test_a_load_that_is_not_known_is_refused(typed: str, cure: str) -> None:
    """Two filaments are two rows; a slip of a name has its suggestion."""
    assert fault_of(spelling.load, typed, "", CATALOGUE).cure.startswith(cure)


# -------------------------------------------------------------- pins, words and numbers


@pytest.mark.parametrize(
    ("value", "pin"),
    [
        ("switch", Pin("switch")),
        ("relay:30", Pin("relay", "30")),
        ("relay : 30", Pin("relay", "30")),
        ("battery:- 1", Pin("battery", "- 1")),
        # a pin follows the first colon
        ("relay:30:a", Pin("relay", "30:a")),
        ("relay:", Pin("relay")),
        (Decimal("1.0"), Pin("1")),
        ("1.0", Pin("1")),
    ],
)
def test_a_pin_follows_the_first_colon(value: Value, pin: Pin) -> None:
    """`point` or `point:pin`."""
    assert spelling.pin(value) == pin


def test_a_pin_without_a_point_is_refused() -> None:
    """There is nothing for it to be a pin of."""
    assert "no point" in fault_of(spelling.pin, ":30").says


@pytest.mark.parametrize(
    ("typed", "word"),
    [
        ("beam", OneOf("beam")),
        ("turn:left", OneOf("turn", "left")),
        ("Turn : LEFT", OneOf("turn", "left")),
    ],
)
def test_one_of_is_a_word_or_a_word_with_its_choice(typed: str, word: OneOf) -> None:
    """In small letters, so that two spellings are one word."""
    assert spelling.one_of(typed) == word


@pytest.mark.parametrize("typed", ["turn:", ":left", ":"])
def test_half_a_choice_is_refused(typed: str) -> None:
    """A colon asks for a word and a choice."""
    assert fault_of(spelling.one_of, typed).cure == "turn:left"


@pytest.mark.parametrize("value", [Decimal(0), Decimal(-1), Decimal("1.5"), "0", "1,5", "two"])
def test_a_count_is_a_whole_number_from_one(value: Value) -> None:
    """There is no half a wire."""
    assert fault_of(spelling.count, value)


def test_counts_that_are_good() -> None:
    """2.0 is two; spares may be none."""
    assert spelling.count(Decimal("2.0")) == 2
    assert spelling.count("3") == 3
    assert spelling.count(Decimal(0), 0) == 0
    assert fault_of(spelling.count, "-1", 0)
    assert fault_of(spelling.count, "0.5", 0)


@pytest.mark.parametrize(
    ("value", "amount"),
    [("10", "10"), ("7.5 A", "7.5"), ("7,5A", "7.5"), (Decimal(30), "30"), ("5 amps", "5")],
)
def test_a_rating_is_in_amps(value: Value, amount: str) -> None:
    """With or without its unit."""
    assert spelling.amps(value) == Fraction(amount)


@pytest.mark.parametrize("value", ["0", "-5 A", "5 W", "big"])
def test_a_rating_is_above_zero(value: str) -> None:
    """And it is amps that are asked for."""
    assert fault_of(spelling.amps, value)


@pytest.mark.parametrize(
    ("value", "amount"),
    [
        ("£1.20", "1.20"),
        ("£ 1.20", "1.20"),
        ("1,20 €", "1.20"),
        ("1.20 GBP", "1.20"),
        (Decimal("0.035"), "0.035"),
        ("0", "0"),
    ],
)
def test_money_may_have_its_sign(value: Value, amount: str) -> None:
    """A number, exact, with or without a sign."""
    assert spelling.money(value) == Decimal(amount)


@pytest.mark.parametrize("value", ["-1", "1,250", "1,250.00", "free", "£"])
def test_money_that_cannot_be_read_is_refused(value: str) -> None:
    """Nobody pays to sell, and 1,250 may be either."""
    assert fault_of(spelling.money, value)


def test_a_word_of_a_list_comes_out_as_the_list_spells_it() -> None:
    """Case and spaces do not count; a slip has its suggestion, anything else the list."""
    words = ("bullet", "ring M6")
    assert spelling.one_word_of("RING  m6", words, "end style") == "ring M6"
    assert fault_of(spelling.one_word_of, "ring M7", words, "end style").cure == "ring M6"
    assert fault_of(spelling.one_word_of, "glue", words, "end style").cure == (
        "one of bullet, ring M6"
    )


@given(st.decimals(0, 10**6, places=4))
def test_a_number_is_spelled_and_read_back_exactly(value: Decimal) -> None:
    """Writing out a number loses nothing and adds nothing."""
    assert spelling.number(spelling.plain(value)) == value
