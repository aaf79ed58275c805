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


def test_a_row_with_one_needed_heading_is_a_title() -> None:
    """`from` alone does not make a header row."""
    records, problems = read(("from", "me"), ("from", "to"), ("a", "b"))
    assert problems == []
    assert only(records)["from"] == "a"


def test_no_header_row_is_told_once() -> None:
    """The headings looked for are in the sentence, and no row is read."""
    records, problems = read(("a", "b"), ("c", "d"))
    assert records == ()
    assert problems == [("error", "A1", "no row has the headings 'from' and 'to'")]


def test_a_sheet_has_the_headings_or_not() -> None:
    """Needed headings only; the others may be missing."""
    columns = COLUMNS
    assert has_headings(Sheet(file="", name="", rows=(("To", "From"),)), columns)
    assert not has_headings(Sheet(file="", name="", rows=(("from", "length"),)), columns)
    assert not has_headings(Sheet(file="", name="", rows=()), columns)


def test_a_headless_sheet_has_its_needed_columns_in_their_order() -> None:
    """Two columns of item and value need no headings over them."""
    records, problems = read(("a", "b"), ("c", "d", "stray"), headless=True)
    assert [(record["from"], record["to"]) for record in records] == [("a", "b"), ("c", "d")]
    assert [record.row.number for record in records] == [1, 2]
    assert problems == [("error", "C2", "a surplus cell: 'stray' stands under no heading")]


def test_a_headless_sheet_may_be_empty_or_have_headings_after_all() -> None:
    """Headings, where they are, are used: in any order."""
    assert read(headless=True) == ((), [])
    records, problems = read(("to", "from"), ("b", "a"), headless=True)
    assert problems == []
    assert (only(records)["from"], only(records)["to"]) == ("a", "b")


# ----------------------------------------------------------------------------- columns


@pytest.mark.parametrize(
    ("heading", "value", "mm"),
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
    ],
)
def test_headings_match_without_regard_to_case_spaces_and_unit(
    heading: str, value: Value, mm: int
) -> None:
    """Other names and units in the heading are understood."""
    records, problems = read(("from", "to", heading), ("a", "b", value))
    assert problems == []
    assert only(records)["length"] == mm


def test_a_heading_may_give_the_unit_by_its_name() -> None:
    """`watts` is the load in watts."""
    records, _ = read(("from", "to", "Watts"), ("a", "b", Decimal(55)))
    assert only(records)["load"] == (Decimal(55), "w")


def test_columns_come_in_any_order() -> None:
    """The cell of a value is where it stands, not where it usually stands."""
    records, problems = read(("length", "to", "from end", "from"), ("1 m", "b", "ring", "a"))
    assert problems == []
    assert (only(records)["from"], only(records)["to"]) == ("a", "b")
    assert only(records)["from end"] == "ring"
    assert only(records).row.where("from").cell == "D2"


def test_a_heading_is_folded() -> None:
    """Case, spaces and points do not count."""
    assert folded("From  End") == folded("fromend")
    assert folded("No.") == folded("no")


def test_a_misspelt_column_is_an_error_with_its_suggestion() -> None:
    """And its cells are taken for unread, so that they are not missed as well."""
    records, problems = read(("from", "to", "lenght"), ("a", "b", "1"), ("b", "c", "1"))
    assert problems == [("error", "C1", "column 'lenght' is not known")]
    assert [record.broken for record in records] == [{"length"}, {"length"}]


def test_an_unknown_column_is_pointed_out() -> None:
    """A column of the user's own is no fault, but it is not dropped in silence."""
    records, problems = read(("from", "to", "my photo"), ("a", "b", "17.jpg"))
    assert problems == [("caution", "C1", "column 'my photo' is not known and is not read")]
    assert only(records).broken == frozenset()


def test_an_unknown_column_of_an_odd_kind_is_named_as_it_shows() -> None:
    """A number or an error value over a column."""
    _, problems = read(("from", "to", Decimal(5), Fault("#N/A")), ("a", "b"))
    assert [says for _, _, says in problems] == [
        "column '5' is not known and is not read",
        "column '#N/A' is not known and is not read",
    ]


@pytest.mark.parametrize("second", ["length", "Length mm", "run"])
def test_a_second_column_of_a_kind_is_an_error(second: str) -> None:
    """Under whatever name: the first is read."""
    records, problems = read(("from", "to", "length", second), ("a", "b", "1 m", "2 m"))
    assert problems == [("error", "D1", "a second column for 'length', which stands in C1 too")]
    assert only(records)["length"] == 1000


def test_own_columns_are_left_alone_where_the_book_is_the_owners() -> None:
    """In a stock book other columns, and cells under no heading, are not spoken of."""
    records, problems = read(
        ("from", "to", "my photo", "lenght"), ("a", "b", "1", "2", "beside"), own_columns=True
    )
    assert problems == []
    assert only(records)["from"] == "a"


# ------------------------------------------------------------------------------- cells


@pytest.mark.parametrize(
    ("stray", "shown"),
    [("stray", "stray"), (Decimal("1.50"), "1.5"), (Fault("#N/A"), "#N/A"), (True, "true")],
)
def test_a_surplus_cell_is_named(stray: Value, shown: str) -> None:
    """A cell under no heading, with its address and what is in it."""
    _, problems = read(("from", "to"), ("a", "b", None, stray))
    assert problems == [("error", "D2", f"a surplus cell: '{shown}' stands under no heading")]


def test_a_row_of_surplus_cells_alone_is_no_row() -> None:
    """It is told, and counted as nothing."""
    records, problems = read(("from", "to"), (None, None, "stray"), ("a", "b"))
    assert only(records)["from"] == "a"
    assert [cell for _, cell, _ in problems] == ["C2"]


def test_every_row_is_read_whatever_stands_in_the_others() -> None:
    """One bad row never hides another, and one bad cell never hides its neighbour."""
    records, problems = read(
        ("from", "to", "length"),
        ("a", Fault("#REF!"), "x"),
        ("b", "c", "1 m"),
        (None, "d", "-1"),
    )
    assert [(cell, level) for level, cell, _ in problems] == [
        ("B2", "error"),
        ("C2", "error"),
        ("A4", "error"),
        ("C4", "error"),
    ]
    assert [sorted(record.broken) for record in records] == [
        ["length", "to"],
        [],
        ["from", "length"],
    ]
    assert records[1]["length"] == 1000


def test_a_blank_cell_is_an_error_only_where_a_value_must_be() -> None:
    """`from` must be there, `length` may be blank."""
    records, problems = read(("from", "to", "length"), (None, "b", None))
    assert problems == [("error", "A2", "'from' is empty")]
    assert only(records)["length"] is None


def test_a_column_that_must_be_and_is_not_there_is_told_once() -> None:
    """Not once for every row, and not where there are no rows."""
    must = (*COLUMNS[:2], Column(name="price", read=text, must=True))
    records, problems = read(("title",), ("from", "to"), ("a", "b"), ("b", "c"), columns=must)
    assert problems == [("error", "A2", "no column 'price'")]
    assert [record.broken for record in records] == [{"price"}, {"price"}]
    assert read(("from", "to"), columns=must) == ((), [])


def test_a_misspelt_column_that_must_be_there_is_told_once() -> None:
    """The slip and not the lack."""
    must = (*COLUMNS[:2], Column(name="price", read=text, must=True))
    _, problems = read(("from", "to", "prise"), ("a", "b", "1"), columns=must)
    assert problems == [("error", "C1", "column 'prise' is not known")]


def test_the_cell_of_a_missing_column_is_the_first_of_its_row() -> None:
    """`from end` falls to `from`; anything else to the row's first column."""
    records, _ = read((None, "to", "from"), (None, "b", "a"))
    where: Any = only(records).row.where
    assert where("from end").cell == "C2"
    assert where("load").cell == "B2"
