"""Rows under headings: where the header row is, which column is which, and every odd cell."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

import pytest

from bom.files import spelling
from bom.files.headings import Column, Record, folded, has_headings, read_rows, text
from bom.files.sheet import Fault, Sheet, Value
from bom.trade.problem import Problem

COLUMNS = (
    Column(name="from", read=text, needed=True, must=True, also={"start": ""}),
    Column(name="to", read=text, needed=True, must=True),
    Column(
        name="length",
        read=lambda value, unit: spelling.length_mm(value, unit, "m"),
        also={"run": ""},
        units={"mm": "mm", "cm": "cm", "m": "m"},
        blank=None,
    ),
    Column(name="load", read=lambda value, unit: (value, unit), also={"watts": "w"}, blank=None),
    Column(name="from end", read=text),
)
"""A small sheet: two needed headings, one with units, one whose other name gives the unit."""


def read(
    *rows: Sequence[Value], columns: Sequence[Column] = COLUMNS, **how: bool
) -> tuple[tuple[Record, ...], list[tuple[str, str, str]]]:
    """Records, and problems as (level, cell, sentence)."""
    sheet = Sheet(file="book.xlsx", name="Loom", rows=tuple(tuple(row) for row in rows))
    records, problems = read_rows(sheet, columns, **how)
    return records, [told(problem) for problem in problems]


def told(problem: Problem) -> tuple[str, str, str]:
    """A problem of this sheet as (level, cell, sentence)."""
    assert (problem.where.file, problem.where.sheet) == ("book.xlsx", "Loom")
    return problem.level, problem.where.cell, problem.says


def only(records: tuple[Record, ...]) -> Record:
    """The one record there is."""
    (record,) = records
    return record


# ------------------------------------------------------------------------- header row


def test_titles_and_blank_rows_are_harmless() -> None:
    """The header row is the first with the needed headings; cells keep their own addresses."""
    records, problems = read(
        ("Loom of the old twin",),
        (),
        ("measured by", "two of us", None, "on a Sunday"),
        ("from", "to", "length"),
        (),
        ("battery", "spine", Decimal("0.5")),
        (),
    )
    assert problems == []
    assert only(records).values["length"] == 500
    assert only(records).row.number == 6
    assert only(records).row.where("length").cell == "C6"


def test_a_sheet_has_the_headings_or_not() -> None:
    """Needed headings only; the others may be missing."""
    columns = COLUMNS
    assert has_headings(Sheet(file="", name="", rows=(("To", "From"),)), columns)
    assert not has_headings(Sheet(file="", name="", rows=(("from", "length"),)), columns)
    assert not has_headings(Sheet(file="", name="", rows=()), columns)


# ----------------------------------------------------------------------------- columns


@pytest.mark.parametrize(
    ("heading", "value", "found"),
    [
        ("length", "1.2", 1200),
        ("LENGTH", "1.2", 1200),
        (" Len gth ", "1.2", 1200),
        ("length mm", Decimal(1200), 1200),
        ("length (mm)", Decimal(1200), 1200),
        ("Length [cm]", Decimal(120), 1200),
        ("length, mm", Decimal(1200), 1200),
        ("length in mm", Decimal(1200), 1200),
        ("run", "1.2", 1200),
        ("Run mm", Decimal(1200), 1200),
        ("length\u00a0mm", Decimal(1200), 1200),
        # the cell's own unit wins over the heading's
        ("length mm", "1.2 m", 1200),
        # the name alone may give the unit: `watts` is the load in watts
        ("Watts", Decimal(55), (Decimal(55), "w")),
    ],
)
def test_headings_match_whatever_their_case_or_unit(heading: str, value: Value, found: Any) -> None:
    """Other names and units in the heading are understood; points do not count either."""
    assert folded("From  End") == folded("fromend") and folded("No.") == folded("no")
    records, problems = read(("from", "to", heading), ("a", "b", value))
    assert problems == []
    assert only(records)["load" if heading == "Watts" else "length"] == found


def test_columns_come_in_any_order() -> None:
    """The cell of a value is where it stands, not where it usually stands."""
    records, problems = read(("length", "to", "from end", "from"), ("1 m", "b", "ring", "a"))
    assert problems == []
    assert (only(records)["from"], only(records)["to"]) == ("a", "b")
    assert only(records)["from end"] == "ring"
    assert only(records).row.where("from").cell == "D2"


def test_a_misspelt_column_is_an_error_with_its_suggestion() -> None:
    """And its cells are taken for unread, so that they are not missed as well."""
    records, problems = read(("from", "to", "lenght"), ("a", "b", "1"), ("b", "c", "1"))
    assert problems == [("error", "C1", "column 'lenght' is not known")]
    assert [record.broken for record in records] == [{"length"}, {"length"}]


SURPLUS = "a surplus cell: '{}' stands under no heading"
OWN = "column '{}' is not known and is not read"
HEAD = ("from", "to")
AB, CD = ("a", "b"), ("c", "d")


@pytest.mark.parametrize(
    ("rows", "how", "found", "problems"),
    [
        # `from` alone does not make a header row; the headings looked for are told once
        ([("from", "me"), HEAD, AB], "", [AB], []),
        ([AB, CD], "", [], [("error", "A1", "no row has the headings 'from' and 'to'")]),
        # two columns need no headings over them; where these are, they are used in any order
        ([AB, (*CD, "stray")], "headless", [AB, CD], [("error", "C2", SURPLUS.format("stray"))]),
        ([], "headless", [], []),
        ([("to", "from"), ("b", "a")], "headless", [AB], []),
        # a column of the user's own is no fault, but it is not dropped in silence
        ([(*HEAD, "photo"), (*AB, "17.jpg")], "", [AB], [("caution", "C1", OWN.format("photo"))]),
        ([(*HEAD, Decimal(5)), AB], "", [AB], [("caution", "C1", OWN.format("5"))]),
        ([(*HEAD, Fault("#N/A")), AB], "", [AB], [("caution", "C1", OWN.format("#N/A"))]),
        # in a stock book it is not spoken of, and neither is a cell under no heading
        ([(*HEAD, "my photo", "lenght"), (*AB, "1", "2", "beside")], "own_columns", [AB], []),
        # a surplus cell is named with what is in it, and alone it is no row
        ([HEAD, (*AB, None, "stray")], "", [AB], [("error", "D2", SURPLUS.format("stray"))]),
        ([HEAD, (*AB, None, Decimal("1.50"))], "", [AB], [("error", "D2", SURPLUS.format("1.5"))]),
        ([HEAD, (*AB, None, Fault("#N/A"))], "", [AB], [("error", "D2", SURPLUS.format("#N/A"))]),
        ([HEAD, (*AB, None, True)], "", [AB], [("error", "D2", SURPLUS.format("true"))]),
        ([HEAD, (None, None, "x"), AB], "", [AB], [("error", "C2", SURPLUS.format("x"))]),
    ],
)  # fmt: skip
def test_what_is_read_of_rows(
    rows: list[tuple[Value, ...]], how: str, found: list[Any], problems: list[tuple[str, str, str]]
) -> None:
    """The two needed columns, and everything that is said."""
    records, said = read(*rows, headless=how == "headless", own_columns=how == "own_columns")
    assert [(record["from"], record["to"]) for record in records] == found
    assert said == problems
    assert not any(record.broken for record in records)


@pytest.mark.parametrize("second", ["length", "Length mm", "run"])
def test_a_second_column_of_a_kind_is_an_error(second: str) -> None:
    """Under whatever name: the first is read."""
    records, problems = read(("from", "to", "length", second), ("a", "b", "1 m", "2 m"))
    assert problems == [("error", "D1", "a second column for 'length', which stands in C1 too")]
    assert only(records)["length"] == 1000


def test_every_row_is_read_whatever_stands_in_the_others() -> None:
    """One bad row never hides another, and one bad cell never hides its neighbour."""
    records, problems = read(
        ("from", "to", "length"), ("a", Fault("#REF!"), "x"), ("b", "c", "1 m"), (None, "d", "-1")
    )
    assert [cell for level, cell, _ in problems if level == "error"] == ["B2", "C2", "A4", "C4"]
    assert [record.broken for record in records] == [{"length", "to"}, set(), {"from", "length"}]
    assert records[1]["length"] == 1000


def test_a_blank_cell_is_an_error_only_where_a_value_must_be() -> None:
    """`from` must be there, `length` may be blank."""
    records, problems = read(("from", "to", "length"), (None, "b", None))
    assert problems == [("error", "A2", "'from' is empty")]
    assert only(records)["length"] is None


def test_a_column_that_must_be_and_is_not_there_is_told_once() -> None:
    """Not once for every row, not where there are no rows, and of a slip the slip alone."""
    must = (*COLUMNS[:2], Column(name="price", read=text, must=True))
    records, problems = read(("title",), HEAD, AB, CD, columns=must)
    assert problems == [("error", "A2", "no column 'price'")]
    assert [record.broken for record in records] == [{"price"}, {"price"}]
    assert read(HEAD, columns=must) == ((), [])
    _, problems = read((*HEAD, "prise"), (*AB, "1"), columns=must)
    assert problems == [("error", "C1", "column 'prise' is not known")]


def test_the_cell_of_a_missing_column_is_the_first_of_its_row() -> None:
    """`from end` falls to `from`; anything else to the row's first column."""
    records, _ = read((None, "to", "from"), (None, "b", "a"))
    where: Any = only(records).row.where
    assert where("from end").cell == "C2"
    assert where("load").cell == "B2"
