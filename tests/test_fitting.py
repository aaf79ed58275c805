"""Tables on a screen: they fit it, no word is cut, and what is left out is named."""

import re
import shlex
import shutil
from decimal import Decimal
from operator import itemgetter
from unittest import mock

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from bom.files import table as tables
from bom.files.table import Form, Heading, Table, as_text
from bom.files.table.cells import shown
from bom.files.wrapping import wrapped
from bom.shelf.marks import learn
from bom.show.shelf_tables import learned_tables
from tests.test_cases import CASES
from tests.test_learn import SIX, TODAY, item, weekly
from tests.within import JOBS, SAMPLES, bom

WIDTHS = (60, 80, 100, 120)

COMMANDS = (
    *(f"{command} {job}" for job in SAMPLES for command in ("check", "takeoff", "cut", "order")),
    *(f"quote {job}" for job in SAMPLES),
    *("quote twin --customer", "check twin --columns", "order twin single --topup"),
    *("cut twin single", "topup", "prices show", "learn", "pack single --out papers", ""),
    "prices add lists/factors.csv --supplier 'Example Motor Factors' --dry-run",
    *("stock hold single", "stock show --rebuild", "stock release single", "stock issue twin"),
    *("stock count R01 '58.4 m'", "stock undo", "done single", "done single", "order carrier"),
)
"""What is printed of the sample workshop, one after another: some of it changes the shelf."""

SMALL = ("small-cut", "small-order", "small-quote", "small-takeoff", "jobs-that-are-done")


@pytest.fixture(scope="module")
def printed(tmp_path_factory: pytest.TempPathFactory) -> list[Table]:
    """Every table that the sample workshop and some small cases print."""
    heard: list[Table] = []

    def hear(table: Table, *_: object, **__: object) -> str:
        heard.append(table)
        return ""

    with mock.patch.object(tables, "as_text", hear):
        folder = tmp_path_factory.mktemp("shop") / "workshop"
        shutil.copytree(JOBS.parent, folder)
        for command in COMMANDS:
            bom(*shlex.split(command), cwd=folder)
        for case in SMALL:
            folder = tmp_path_factory.mktemp(case) / case
            shutil.copytree(CASES / case, folder)
            for line in (folder / "command").read_text(encoding="utf-8").splitlines():
                *cd, command = line.split(" && ")
                bom(*shlex.split(command)[1:], cwd=folder / "".join(cd).removeprefix("cd "))
    long = "bullet terminal, 4.7 mm, female, 1.0-2.0 mm2"
    moves = weekly(2, 4, 2, 4, 2, 4, 2, 4, item=long)
    learned = learn(moves, (item(long, cost=Decimal("0.10")),), SIX, TODAY)
    return [*heard, *learned_tables(learned, SIX)]


def words_of(text: str, *, finely: bool = False) -> set[str]:
    """The words between blanks; or the parts of names as well, each up to its colon or stroke."""
    return set(re.findall("[^ :/\n]+[:/]*|[:/]+" if finely else "[^ \n]+", text))


def left_out(text: str) -> list[str]:
    """The titles that a table says it has left out."""
    flat = re.sub("\n *", " ", text)
    found = re.search("left out for want of width: (.*?); (?:--xlsx|the sheet Moves)", flat)
    return found[1].split(", ") if found else []


def under(text: str) -> set[str]:
    """What stands under the last rule of a table, its labels too."""
    return words_of(text.split("\n\n")[1].rpartition("--\n")[2])


def assert_fits(table: Table, width: int, *, finely: bool) -> None:
    """Nothing is over the edge, no word cut, no total gone, nothing gone without a word."""
    text, whole = as_text(table, width), as_text(table)
    assert max(map(len, text.splitlines())) <= width, text
    gone, words = left_out(text), words_of(text, finely=finely)
    for index, heading in enumerate(table.headings):
        title = heading.titled("GBP")
        if title in gone:
            assert heading.gives_way
            continue
        for cell in (title, *(shown(row[index], heading.form) for row in table.rows)):
            assert words_of(cell, finely=finely) <= words, (cell, text)
    for said in (table.title, *table.notes):
        assert words_of(said) <= words_of(text)
    if table.footer or any(heading.total for heading in table.headings):
        assert under(whole) <= words_of(text), text


@pytest.mark.parametrize("width", WIDTHS)
def test_every_table_of_the_sample_workshop_fits(width: int, printed: list[Table]) -> None:
    """From 80 characters on names are whole too; at 60 they may part after a colon or a stroke."""
    assert len(printed) > 50
    for table in printed:
        assert_fits(table, width, finely=width < 80)


def test_rather_than_that_every_row_is_wrapped_a_column_gives_way() -> None:
    """Ten rows and their titles: `gives_way` 5 is worth half of 11 lines; 3 are less, 10 more."""
    few = [("front brake switch" if row < 3 else "horn", "low") for row in range(10)]
    every = [("front brake switch", "low")] * 10

    def text(rows: list[tuple[str, str]]) -> str:
        headings = Heading("to", itemgetter(0)), Heading("beam", itemgetter(1), gives_way=5)
        return as_text(Table.of("t", rows, *headings), 19)  # 18 + 2 + 4 is 24

    assert left_out(text(few)) == [] and text(few).count("\n") == 3 + 10 + 3
    assert left_out(text(every)) == ["beam"]


def test_the_titles_of_numbers_are_wrapped_before_words_are() -> None:
    """4 + 2 + 6: `length` over `mm` takes three characters less than both in a line."""
    table = Table.of(
        "t", [("horn", 1360)], Heading("to", itemgetter(0)), Heading("length", itemgetter(1), "mm")
    )
    assert as_text(table, 12) == (
        "t\n\n"
        "to    length\n"
        "          mm\n"
        "----  ------\n"
        "horn    1360"
    )  # fmt: skip


def test_names_part_after_a_colon_only_where_nothing_else_helps() -> None:
    """`switch:in` and `W1` take 9 + 2 + 2 characters, `switch:` 7 + 2 + 2."""
    table = Table.of(
        "t", [("switch:in", "W1")], *map(Heading, ("to", "w"), map(itemgetter, (0, 1)))
    )
    assert as_text(table, 13).splitlines()[-1] == "switch:in  W1"
    assert as_text(table, 11).splitlines()[-2:] == ["switch:  W1", "in"]


def test_a_sum_with_a_long_label_is_wrapped_over_the_columns_left_of_it() -> None:
    """28 characters, and 12 are left of the cost: the table has no room to grow by 16."""
    table = Table.of(
        "order",
        [("bullet cover", Decimal(3))],
        Heading("item", itemgetter(0)),
        Heading("cost", itemgetter(1), "money", total=True),
        footer=(("postage, Far Away Terminals", Decimal("4.95"), ""),),
    )
    assert as_text(table, 24).splitlines()[-4:] == [
        "    subtotal      3.00",
        "postage, Far      4.95",
        "        Away",
        "   Terminals",
    ]


def test_a_column_with_a_total_or_a_sum_under_it_never_gives_way() -> None:
    """Whatever its heading says."""
    table = Table.of(
        "t",
        [("one", 1, 2, 3)],
        Heading("item", itemgetter(0)),
        Heading("first", itemgetter(1), "count", total=True, gives_way=1),
        Heading("other", itemgetter(2), "count", gives_way=1),
        Heading("last", itemgetter(3), "count", gives_way=1),
    )
    assert left_out(as_text(table, 12)) == ["other", "last"]


WORD = st.text("abcdefghijklmnop:/-é", min_size=1, max_size=12)
WORDS = st.lists(WORD, min_size=1, max_size=5).map(" ".join)


@st.composite
def any_tables(draw: st.DrawFn) -> Table:
    """A table of any columns; the first stays, for the label of a total."""
    forms: list[Form] = draw(st.lists(st.sampled_from(("text", "count", "money")), max_size=6))
    headings = [Heading("first", itemgetter(0))]
    for index, form in enumerate(forms, start=1):
        way = draw(st.integers(0, 9))
        total = form != "text" and draw(st.booleans())
        name = f"{draw(WORDS)} {index}"
        headings.append(Heading(name, itemgetter(index), form, total=total, gives_way=way))
    cells = [WORDS if h.form == "text" else st.integers(0, 10**9) for h in headings]
    rows = draw(st.lists(st.tuples(*cells), min_size=1, max_size=8))
    footer = draw(st.lists(st.tuples(WORDS, st.integers(0, 10**6), st.just("")), max_size=2))
    return Table.of(draw(WORDS), rows, *headings, footer=footer, notes=draw(st.lists(WORDS)))


def least(table: Table) -> int:
    """Characters that it takes with all left out that may be, each word in a line of its own."""
    stay = [
        index
        for index, heading in enumerate(table.headings)
        if not heading.gives_way or heading.total or table.footer
    ]
    across = 0
    for index in stay:
        heading = table.headings[index]
        cells = [str(shown(row[index], heading.form)) for row in table.rows]
        finely = heading.form == "text"
        parts = [part for cell in cells for part in words_of(cell, finely=finely)]
        parts += [*words_of(heading.titled("GBP")), f"{10**9 * len(cells)}.00"]
        across += 2 + max(map(len, parts))
    labels = [label for label, _, _ in table.footer]
    said = [*words_of(" ".join((table.title, *table.notes, *labels))), "subtotal"]
    return across + max(map(len, said)) + 2


@given(any_tables(), st.integers(10, 150))
def test_any_table_fits_where_its_words_do(table: Table, width: int) -> None:
    """And what is printed of it is whole, a name but for its colons and strokes."""
    assert_fits(table, max(width, least(table)), finely=True)


@given(any_tables())
def test_a_table_with_room_is_printed_as_without_a_screen(table: Table) -> None:
    """Nothing is wrapped that is not wrapped in a pipe, notes apart."""
    whole = as_text(replace(table, notes=()))
    assert as_text(replace(table, notes=()), max(map(len, whole.split("\n")))) == whole


@given(WORDS, st.integers(1, 60), st.sampled_from(("", "  ")))
def test_wrapped_text_has_its_words_in_order(text: str, wide: int, indent: str) -> None:
    """Each line has a word more than fits only where that word alone is too long."""
    lines = wrapped(text, wide, indent)
    assert " ".join(line.strip() for line in lines) == text
    for line in lines:
        assert len(line) <= wide or " " not in line.strip()
