"""Cells and rows put into an owner's .csv: they are there, and every other byte is what it was."""

import doctest
from collections.abc import Mapping, Sequence
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from bom.files.sheet import Cells
from bom.files.sheet.text import csv_rows
from bom.files.sheet.values import Refused
from bom.files.spelling import number
from bom.shelf.stockbook import lines
from bom.shelf.stockbook.edits import Edit, NewRow, Unwritable
from bom.shelf.stockbook.lines import relined
from bom.trade.problem import Where
from bom.trade.rows import Written
from tests.office import converted
from tests.test_splice import loaded

PLACE = Where("stock/Cable.csv", "Cable")


def changed(
    data: bytes, cells: Mapping[str, Written] | None = None, *rows: NewRow, where: Where = PLACE
) -> bytes:
    """The file with cells changed and rows put under its list; sheet names play no part."""
    edits = [Edit(sheet="any", cell=cell, value=value) for cell, value in (cells or {}).items()]
    return relined(data, where, edits, rows)


def row(header_row: int = 1, last_row: int | None = None, **values: Written) -> NewRow:
    """A row under a list."""
    return NewRow(sheet="other", header_row=header_row, values=values, last_row=last_row)


def refusals(
    data: bytes, cells: Mapping[str, Written] | None = None, *rows: NewRow
) -> list[tuple[str, str, str]]:
    """Place, sentence and cure of everything in the way."""
    with pytest.raises(Unwritable) as caught:
        changed(data, cells, *rows)
    return [(str(p.where), p.says, p.cure) for p in caught.value.problems]


def test_examples_in_docstrings() -> None:
    result = doctest.testmod(lines)
    assert result.failed == 0 and result.attempted


# Cells, written by hand


@pytest.mark.parametrize(
    ("old", "cells", "new"),
    [
        # the record is there, and the rest is not looked at
        (b"a,b\n1,2\n3,4\n", {"B2": "x"}, b"a,b\n1,x\n3,4\n"),
        (b"a,b\r\n1,2\r\n3,4\r\n", {"A3": "x"}, b"a,b\r\n1,2\r\nx,4\r\n"),
        (b"a,b\n1,2\r\n3,4\n", {"A2": "x", "A3": "y"}, b"a,b\nx,2\r\ny,4\n"),
        (b"a;b\n1;2\n", {"B2": "x"}, b"a;b\n1;x\n"),
        (b"a\tb\n1\t2\n", {"B2": "x"}, b"a\tb\n1\tx\n"),
        (b"a,b\r1,2\r", {"B2": "x"}, b"a,b\r1,x\r"),  # line ends of old machines
        # the last line has no end
        (b"a,b\n1,2", {"B2": "x"}, b"a,b\n1,x"),
        # encodings
        (b"\xef\xbb\xbfa,b\n", {"A1": "gr\u00fcn"}, b"\xef\xbb\xbfgr\xc3\xbcn,b\n"),
        (b"a,b\n1,2\n", {"A2": "gr\u00fcn"}, b"a,b\ngr\xc3\xbcn,2\n"),
        (b"a,\xfc\n1,2\n", {"A2": "1 mm\u00b2"}, b"a,\xfc\n1 mm\xb2,2\n"),
        # titles, blank lines, surplus separators, line breaks inside quotes
        (
            b'My stock, 1976\n\n\na,b,c,,,\n1,"x\ny",3,,,\n4,5,6,,,\n',
            {"B6": "z"},
            b'My stock, 1976\n\n\na,b,c,,,\n1,"x\ny",3,,,\n4,z,6,,,\n',
        ),
        (b'a,b\n1,"x\r\n""y"""\n3,4\n', {"A2": 7}, b'a,b\n7,"x\r\n""y"""\n3,4\n'),
        # quotes: where they were, and where they are needed
        (b'a,b\n"1","2"\n', {"A2": "x"}, b'a,b\n"x","2"\n'),
        (b'a,b\n"1","2"\n', {"A2": 5, "B2": None}, b'a,b\n"5",""\n'),
        (b'a,b\n47",2\n', {"B2": '5"'}, b'a,b\n47","5"""\n'),
        (b"a,b\n1,2\n", {"A2": "x, y"}, b'a,b\n"x, y",2\n'),
        (b"a,b\n1,2\n", {"A2": "x\ny"}, b'a,b\n"x\ny",2\n'),
        (b"a,b\n1,2\n", {"A2": "x\ry"}, b'a,b\n"x\ry",2\n'),
        (b"a,b\n1,2\n", {"A2": " x "}, b"a,b\n x ,2\n"),
        # marks that are separators elsewhere: a reader counts those outside quotes
        (b"a,b\n1,2\n", {"A2": "x; y;z"}, b'a,b\n"x; y;z",2\n'),
        (b"a;b\n1;2\n", {"A2": "x\ty, z"}, b'a;b\n"x\ty, z";2\n'),
        # emptied: the separators stay
        (b"a,b,c\n1,2,3\n", {"A2": None, "C2": ""}, b"a,b,c\n,2,\n"),
        (b"a\n1\n2\n", {"A2": None}, b'a\n""\n2\n'),
        (b"a\r1\n2\n", {"A2": None}, b'a\r""\n2\n'),
        # beyond the end of a record and of the file
        (b"a,b,c\n1\n", {"C2": "x"}, b"a,b,c\n1,,x\n"),
        (b"a,b\n\n1,2\n", {"B2": "x"}, b"a,b\n,x\n1,2\n"),
        (b"a,b\n1,2\n", {"B5": "x"}, b"a,b\n1,2\n\n\n,x\n"),
        (b"a,b\r\n1,2", {"A3": "x"}, b"a,b\r\n1,2\r\nx"),
        (b"a,b", {"A2": "x"}, b"a,b\nx"),
        # numbers
        (b"a,b\n1,2\n", {"A2": 7, "B2": -5}, b"a,b\n7,-5\n"),
        (b"a,b\n1,2\n", {"A2": Decimal("1E+3"), "B2": Decimal("1E-7")}, b"a,b\n1000,0.0000001\n"),
        (b"a,b\n1,2\n", {"A2": Decimal("8.746"), "B2": Decimal("-0.50")}, b"a,b\n8.746,-0.5\n"),
        # guards
        (b"a,b\n1,2\n", {"A2": "=1+1", "B2": "-x"}, b"a,b\n'=1+1,'-x\n"),
        (b"a,b\n1,2\n", {"A2": "+x", "B2": "@x"}, b"a,b\n'+x,'@x\n"),
        (b"a,b\n1,2\n", {"A2": "\tx", "B2": "x=1"}, b'a,b\n"\'\tx",x=1\n'),
        (b"a,b\n1,2\n", {"A2": "'x"}, b"a,b\n'x,2\n"),
        (b"a,b\n'=x,2\n", {"B2": 3}, b"a,b\n'=x,3\n"),
    ],
)
def test_a_cell_is_changed(old: bytes, cells: dict[str, Written], new: bytes) -> None:
    """All bytes of the file are what they were, but for the cell."""
    assert changed(old, cells) == new


@pytest.mark.parametrize(
    ("old", "value", "new"),
    [
        (b"a;b\n1,5;2\n", "12.75", b"a;b\n1,5;12,75\n"),
        (b"a;b\n1,5;2\n", "-0.25", b"a;b\n1,5;-0,25\n"),
        (b"a;b\n1,5;2\n", "8.746", b"a;b\n1,5;8,7460\n"),
        (b"a;b\n1,5;2\n", "-8.746", b"a;b\n1,5;-8,7460\n"),
        (b"a;b\n1,5;2\n", "8.7461", b"a;b\n1,5;8,7461\n"),
        (b"a;b\n1,5;2\n", "12", b"a;b\n1,5;12\n"),
        (b'a;b\n"1,5";"2"\n', "1.5", b'a;b\n"1,5";"1,5"\n'),
        (b"a\tb\n1,5\t2\n", "1.5", b"a\tb\n1,5\t1,5\n"),
        (b"a;b\n1.0;2,5\n", "1.5", b"a;b\n1.0;1,5\n"),  # a gauge, kept as text
        (b"a;b\n1,500;2\n", "1.5", b"a;b\n1,500;1,5\n"),
        (b"a;b\n1,500;2.5\n", "8.746", b"a;b\n1,500;8.746\n"),  # thousands
        (b"a;b\n1;2\n", "1.5", b"a;b\n1;1.5\n"),
        (b"a;b\n1.5;2\n", "1.5", b"a;b\n1.5;1.5\n"),
        (b'a,b\n"1,5",2\n', "1.5", b'a,b\n"1,5",1.5\n'),  # commas part cells
    ],
)
def test_numbers_have_the_files_own_decimal_mark(old: bytes, value: str, new: bytes) -> None:
    """A comma where the numbers of a `;` or tab file have it, and never three figures after it."""
    assert changed(old, {"B2": Decimal(value)}) == new


@pytest.mark.parametrize(
    "data", [b"a,b\n1,\n\n \n", b'\xef\xbb\xbfa;b;;\r\n1;"";\' \r\n', b"a,\xfc\n1,,"]
)
def test_nothing_asked_changes_nothing(data: bytes) -> None:
    """No edits, or edits that empty what is blank, give the same bytes."""
    assert changed(data) == data
    assert changed(data, {"B2": None, "A3": "", "A4": " ", "Z99": None}) == data


def test_no_bytes_become_a_file() -> None:
    """Headings as edits, and a row under them."""
    new = changed(b"", {"A1": "piece", "B1": "length", "C1": "notes"}, row(A="K1", C="a, b"))
    assert new == b'piece,length,notes\nK1,,"a, b"\n'
    assert changed(b"\xef\xbb\xbf", {"A1": "piece"}, row(A=7)) == b"\xef\xbb\xbfpiece\n7\n"


# Rows under a list


@pytest.mark.parametrize(
    ("old", "rows", "new"),
    [
        (b"a,b,c\n1,2,3\n", [row(A="x", C=5)], b"a,b,c\n1,2,3\nx,,5\n"),
        (b"a,b,c\r\n1,2,3\r\n", [row(A="x"), row(B=6)], b"a,b,c\r\n1,2,3\r\nx,,\r\n,6,\r\n"),
        (b"a,b,c", [row(A="x")], b"a,b,c\nx,,"),
        (b"a,b\r\n1,2", [row(A="x"), row(A="y")], b"a,b\r\n1,2\r\nx,\r\ny,"),
        # as many separators as the headings have
        (b"a,b,c,,\n1,2\n", [row(A="x")], b"a,b,c,,\n1,2\nx,,,,\n"),
        (b"a;b\n1,5;2\n", [row(A=Decimal("0.125"))], b"a;b\n1,5;2\n0,1250;\n"),
        # blank lines under the list come first, whatever they are made of
        (b"a,b\n1,2\n\n\n", [row(A="x")], b"a,b\n1,2\nx,\n\n"),
        (b"a,b\n1,2\n , \n,,,\n", [row(A="x"), row(B=9)], b"a,b\n1,2\nx, \n,9,,\n"),
        (b"a,b\n1,2\n\n", [row(A="x"), row(A="y")], b"a,b\n1,2\nx,\ny,\n"),
        # blank lines inside the list stay
        (b"a,b\n\n1,2\n", [row(A="x")], b"a,b\n\n1,2\nx,\n"),
        # a title, and headings that are not in the first row
        (b"Stock, 1976\n\na,b\n1,2\n", [row(3, A="x", B=3)], b"Stock, 1976\n\na,b\n1,2\nx,3\n"),
        # an owner's column beside those written, and a column without a heading
        (b"a,b\n1,\n,mine\n", [row(A="x")], b"a,b\n1,\n,mine\nx,\n"),
        (b"a,b\n1,2\n", [row(A="x", C="y")], b"a,b\n1,2\nx,,y\n"),
        # two lists beside each other
        (b"a,b,,x\n1,2,,3\n4,5,,\n", [row(A=6), row(D=7)], b"a,b,,x\n1,2,,3\n4,5,,7\n6,,,\n"),
        # line breaks in quotes are no rows
        (b'a,b\n1,"x\n\ny"\n', [row(A="x")], b'a,b\n1,"x\n\ny"\nx,\n'),
        # where the list ends is given
        (b"a,b\n1,2\n\nCounted,\n", [row(last_row=2, A=4)], b"a,b\n1,2\n4,\nCounted,\n"),
        (b"a,b\n1,2\n", [row(last_row=4, A=4)], b"a,b\n1,2\n\n\n4,\n"),
        # a row of nothing holds its place
        (b"a,b\n1,2\n", [row(A=None), row(A="x")], b"a,b\n1,2\n,\nx,\n"),
    ],
)
def test_rows_go_under_the_list(old: bytes, rows: list[NewRow], new: bytes) -> None:
    """All lines that were there stand where they stood."""
    assert changed(old, None, *rows) == new


def test_edits_and_rows_of_one_call_know_of_each_other() -> None:
    """The last piece is used up and two come in: its line is taken; a heading comes with a row."""
    old = b'a,b\n1,2\n3,"4"\n'
    new = changed(old, {"A3": None, "B3": None}, row(A="x", B="y"), row(A="z"))
    assert new == b'a,b\n1,2\nx,"y"\nz,\n'
    assert changed(old, {"A2": None, "B2": ""}, row(A="x")) == b'a,b\n,\n3,"4"\nx,\n'
    assert changed(b"a,b\n1,2\n", {"C1": "c"}, row(A="x", C="y")) == b"a,b,c\n1,2\nx,,y\n"


# What is in the way


@pytest.mark.parametrize(
    ("data", "rows", "cell", "says"),
    [
        # what stands below the list is not run over
        (b"a,b\n1,2\nCounted,\n", [row(last_row=2, A=4)], "A3", "is in the way of a new row"),
        (b"a,b\n1,2\n\nCounted,\n", [row(last_row=2, A=4)] * 2, "A4", "is in the way of a new row"),
        (b"a,b\n1,2\n", [row(9, A=4)], "A9", "there are no headings in this row"),
        # there is no row 1,048,577 in a spreadsheet that opens the file
        (b"a\n", [row(last_row=1_048_576, A=4)], "A1048576", "there is no row left under the list"),
        # what the reader says of a file that is not read is what is told
        (b'a,b\nc,"d\n', [row(A="x")], "A2", "a quote mark is opened and never closed"),
        (b'a,"b"c\n', [row(A="x")], "A1", "text goes on after a closing quote mark"),
        (b"a\0b\n", [row(A="x")], "", "UTF-16"),
        (b"a,\x81\n", [row(A="x")], "", "byte 0x81"),
    ],
)
def test_what_is_in_the_way(data: bytes, rows: list[NewRow], cell: str, says: str) -> None:
    """Told with its cell, and nothing is written."""
    ((place, said, _),) = refusals(data, None, *rows)
    assert place.removeprefix("stock/Cable.csv").removeprefix(" › ") == cell
    assert says in said


@pytest.mark.parametrize(
    ("data", "value", "says", "cure"),
    [
        (b"a,b\n", "x\0", "the control character U+0000", "take the character out"),
        (b"a,b\n", "x\x1b", "the control character U+001B", "take the character out"),
        (b"a,b\n", "\ud800", "U+D800", "take the character out"),
        (b"a,b\n", "x" * 32_768, "over 32,767 characters", "shorten it"),
        (b"a,b\n", Decimal("NaN"), "not a number", ""),
        (b"a,b\n", Decimal("1E+400"), "not a number", ""),
        (b"a,b\n", 10**15 + 1, "more than the 15 figures", "round it"),
        (b"a,\xfc\n", "5 \u03a9", "Windows-1252, which has no '\u03a9' (U+03A9)", "CSV UTF-8"),
        (b"a,b\n", "#N/A", "is an error value", "another word"),
        (b"a,b\n", " '=x", "is read without its quote mark", "take the quote mark"),
    ],
)
def test_values_that_a_cell_cannot_hold(data: bytes, value: Written, says: str, cure: str) -> None:
    """Nothing is written, whether they are edits or stand in a new row."""
    (edited,) = refusals(data, {"B3": value})
    (added,) = refusals(data, None, row(A="x", B=value))
    assert (edited[0], added[0]) == ("stock/Cable.csv › B3", "stock/Cable.csv › B2")
    assert edited[1:] == added[1:]
    assert says in edited[1] and cure in edited[2]


def test_everything_in_the_way_is_told_at_once() -> None:
    """In file order, each with its cell."""
    found = refusals(b"a,\xfc\n", {"B2": "\u03a9", "A2": "x\0"}, row(9, A=1))
    assert [place for place, _, _ in found] == [
        f"stock/Cable.csv › {c}" for c in ("A2", "B2", "A9")
    ]


def test_a_change_that_would_hide_the_separator() -> None:
    """The reader counts marks outside quotes: where quotes do not settle it, nothing is written.

    `;` wins a tie.  Two lines with two and one of them, 1,5 in both: two commas are more alike.
    """
    assert changed(b"a;b\n", {"A1": None, "B1": None}) == b'"";""\n'
    new = changed(b"a;b;c\n1,5;2\n", {"A1": Decimal("1.5")})
    assert new == b'"1,5";"b";"c"\n1,5;2\n'
    ((place, says, _),) = refusals(b"t, u\nv, w\na;b\nc;d\n", {"D3": "x"})
    assert place == "stock/Cable.csv" and "a comma would be taken for the separator" in says


def test_a_change_that_would_hide_the_encoding() -> None:
    """The bytes C3 BC are two letters in Windows-1252, and one, ü, in UTF-8 (RFC 3629, 3)."""
    ((place, says, _),) = refusals(b"\xc3,b\n", {"A1": "\xc3\xbc"})
    assert place == "stock/Cable.csv" and "would be read as others" in says


def test_mistakes_of_the_program() -> None:
    """A cell edited twice, a cell that no sheet has and a row without values are not the book's."""
    twice = [Edit(sheet="a", cell="A1", value=1), Edit(sheet="a", cell="a1", value=2)]
    with pytest.raises(ValueError, match="edited twice"):
        relined(b"a\n", PLACE, twice, ())
    for cell in ("7B", "XFE1", "A0", "A1048577", ""):
        with pytest.raises(ValueError, match=r"cell|outside"):
            changed(b"a\n", {cell: 1})
    with pytest.raises(ValueError, match="without values"):
        changed(b"a\n", None, row())


# Laws

LETTERS = "ab1,.;\t\"'=-+ \n\r\xfc\xa0"
TEXTS = st.text(LETTERS, max_size=6) | st.text(
    st.characters(codec="cp1252", exclude_categories=["Cc"]), max_size=12
)
NUMBERS = st.decimals(
    min_value=-(10**6), max_value=10**6, places=4, allow_nan=False, allow_infinity=False
)
VALUES: st.SearchStrategy[Written] = st.none() | st.integers(-(10**9), 10**9) | NUMBERS | TEXTS
LIST_COLUMNS = "ABCD"


def said(text: str) -> str:
    """A text as the reader gives it: no-break spaces as spaces, and none around it."""
    return text.replace("\xa0", " ").strip()


def storable(value: Written) -> bool:
    """False for a text that a reader would take the quote mark of, or for an error value."""
    if not isinstance(value, str):
        return True
    text = said(value)
    return not text.startswith(("'=", "'+", "'-", "'@", "'\t", "#", "Err:"))


EDITS = st.dictionaries(
    st.builds("{}{}".format, st.sampled_from("ABCDG"), st.integers(1, 12)),
    VALUES.filter(storable),
    max_size=6,
)


def split(data: bytes, mark: str) -> list[bytes]:
    """The records of a file with their line ends, letter by letter; quotes open at a cell's start.

    Bytes do for letters: every mark is one byte in UTF-8 and in Windows-1252.
    """
    text = data.removeprefix(b"\xef\xbb\xbf").decode("latin-1")
    records, record, state = [], "", "start"
    for letter, following in zip(text, text[1:] + " ", strict=True):
        record += letter
        if state == "quoted":
            state = "closed" if letter == '"' else "quoted"
        elif letter == '"' and state in ("start", "closed"):
            state = "quoted"
        elif letter == "\n" or (letter == "\r" and following != "\n"):
            records.append(record)
            record, state = "", "start"
        else:
            state = "start" if letter == mark else "bare"
    return [part.encode("latin-1") for part in [*records, record] if part]


def grid(rows: Sequence[Cells]) -> dict[tuple[int, int], object]:
    """What stands in each cell that is not blank."""
    return {
        (r, c): value
        for r, cells in enumerate(rows)
        for c, value in enumerate(cells)
        if value is not None
    }


def put(cells: dict[tuple[int, int], object], place: tuple[int, int], value: Written) -> None:
    """A value in a cell, as it is to be read: numbers as `Decimal`."""
    cells.pop(place, None)
    if isinstance(value, str):
        if said(value):
            cells[place] = said(value)
    elif value is not None:
        cells[place] = Decimal(value)


def agree(
    new: Mapping[tuple[int, int], object], expected: Mapping[tuple[int, int], object]
) -> bool:
    """Whether each cell reads as expected, numbers through the program's own reader of them."""
    read = {
        place: number(str(value)) if isinstance(expected.get(place), Decimal) else value
        for place, value in new.items()
    }
    return read == expected


def place_of(cell: str) -> tuple[int, int]:
    """Row and column, from zero, of a cell in the columns A to Z."""
    return int(cell[1:]) - 1, ord(cell[0]) - ord("A")


@given(st.text(LETTERS, max_size=60), st.sampled_from(["utf-8", "utf-8-sig", "cp1252"]), EDITS)
def test_random_edits_of_any_text(text: str, encoding: str, edits: dict[str, Written]) -> None:
    """Whatever the reader makes of a file, it makes the same of it but for the edited cells."""
    data = text.encode(encoding)
    try:
        old = csv_rows(data, PLACE)
        new = changed(data, edits)
    except Refused:
        assume(False)
    except Unwritable as refusal:
        assume("with this change" not in refusal.problems[0].says)
        raise
    expected = grid(old)
    for cell, value in edits.items():
        put(expected, place_of(cell), value)
    assert agree(grid(csv_rows(new, PLACE)), expected)


@st.composite
def listed(draw: st.DrawFn) -> tuple[bytes, str, int, list[bytes]]:
    """A .csv with a list: its bytes, its separator, the headings' row, the bytes of each record."""
    mark = draw(st.sampled_from(",;\t"))
    end = draw(st.sampled_from(["\n", "\r\n"]))
    encoding = draw(st.sampled_from(["utf-8", "utf-8-sig", "cp1252"]))
    surplus = mark * draw(st.integers(0, 2))

    def cell(text: str, *, quoted: bool) -> str:
        if quoted or any(letter in text for letter in '",;\t\r\n'):
            return '"' + text.replace('"', '""') + '"'
        return text

    def record(texts: Sequence[str]) -> str:
        return mark.join(cell(text, quoted=draw(st.booleans())) for text in texts) + surplus

    titles = draw(st.lists(st.sampled_from(["", "My stock 1976", '"two\nlines"']), max_size=3))
    heads = record(["piece", "l\xe4nge", "colour", "notes"])
    few = st.text("ab 1.\xfc", max_size=3) | st.text(LETTERS, max_size=6)
    rows = draw(
        st.lists(st.lists(few, min_size=1, max_size=4).map(record) | st.just(""), max_size=6)
    )
    texts = [line + end for line in [*titles, heads, *rows]]
    if draw(st.booleans()) and texts[-1] != end:
        texts[-1] = texts[-1].removesuffix(end)
    parts = [text.encode(encoding.removesuffix("-sig")) for text in texts]
    return "".join(texts).encode(encoding), mark, len(titles) + 1, parts


ROWS = st.lists(
    st.dictionaries(st.sampled_from(LIST_COLUMNS), VALUES.filter(storable), min_size=1).filter(
        lambda values: any(v is not None and said(str(v)) for v in values.values())
    ),
    max_size=4,
)


@given(listed(), EDITS, ROWS)
def test_random_edits_and_rows_of_a_list(
    made: tuple[bytes, str, int, list[bytes]],
    edits: dict[str, Written],
    rows: list[dict[str, Written]],
) -> None:
    """Exactly those cells and rows change, and the bytes of every other record stay in place."""
    data, mark, header, parts = made
    edits = {cell: value for cell, value in edits.items() if place_of(cell)[0] != header - 1}
    expected = grid(csv_rows(data, PLACE))
    for cell, value in edits.items():
        put(expected, place_of(cell), value)
    last = max((r for r, c in expected if r >= header - 1 and c < len(LIST_COLUMNS)))
    for at, values in enumerate(rows, last + 1):
        for letter, value in values.items():
            put(expected, (at, ord(letter) - ord("A")), value)
    added = [NewRow(sheet="", header_row=header, values=values) for values in rows]
    new = changed(data, edits, *added)
    assert agree(grid(csv_rows(new, PLACE)), expected)
    touched = {place_of(cell)[0] for cell in edits} | {last + 1 + at for at in range(len(rows))}
    assert new.startswith(b"\xef\xbb\xbf") == data.startswith(b"\xef\xbb\xbf")
    now = split(new, mark)
    for at, part in enumerate(parts):
        if at not in touched:
            grown = at == len(parts) - 1 and len(now) > len(parts)  # then it got a line end
            assert now[at].rstrip(b"\r\n") == part.rstrip(b"\r\n") if grown else now[at] == part


@given(EDITS, EDITS)
def test_edits_apart_are_edits_together(
    first: dict[str, Written], second: dict[str, Written]
) -> None:
    """The number of calls does not matter to what is read."""
    data = b"a;b;c;d;e;f;g\n" * 11 + b"1;2;3;4;1,5;6;7\n"
    apart = changed(changed(data, first), second)
    assert csv_rows(apart, PLACE) == csv_rows(changed(data, first | second), PLACE)


# What other programs read


@pytest.mark.libreoffice
@pytest.mark.slow
@pytest.mark.parametrize(
    ("data", "options"),
    [
        # separator, quote, encoding, first row, columns, language (Microsoft's number of it)
        (b"piece,length,notes\nK1,12.5,\n", "44,34,76,1,,1033"),  # English
        (b"piece;length;notes\r\nK1;12,5;\r\n", "59,34,76,1,,1031"),  # German
    ],
)
def test_libreoffice_reads_the_new_values(data: bytes, options: str, tmp_path: Path) -> None:
    """Numbers arrive as numbers, texts as texts, in the place of each; no text is run.

    3.25 - 1.5 = 1.75 would stand where =B3-B2 was run.
    """
    cells: dict[str, Written] = {"B2": Decimal("8.746"), "C2": 'half "used", \xfc; kept'}
    new = changed(data, cells, row(A="K2", B=Decimal("3.25"), C="=B3-1.5"), row(A="K3", B=-2))
    made = converted(new, "Cable.csv", tmp_path, "xlsx", f"--infilter=CSV:{options}")
    seen = loaded(made.read_bytes())
    assert [list(values) for values in seen.worksheets[0].values] == [
        ["piece", "length", "notes"],
        ["K1", 8.746, 'half "used", \xfc; kept'],
        ["K2", 3.25, "'=B3-1.5"],
        ["K3", -2, None],
    ]
