"""Problems as data: their place in words, their order, and the nearest spelling."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bom.trade.problem import (
    Problem,
    Where,
    caution,
    error,
    has_errors,
    in_file_order,
    near_names,
    nearest,
)


@pytest.mark.parametrize(
    ("where", "text"),
    [
        # the form is that of design section 5: `book.xlsx › Circuits › C7: colour ...`
        (Where("book.xlsx", "Circuits", "C7"), "book.xlsx › Circuits › C7"),
        (Where("book.xlsx", "Circuits"), "book.xlsx › Circuits"),
        (Where("book.xlsx"), "book.xlsx"),
        (Where("workshop.toml", "", "volts"), "workshop.toml › volts"),
        # a .csv in a folder is its own sheet: it is not named twice
        (Where("twin/Circuits.csv", "Circuits", "C7"), "twin/Circuits.csv › C7"),
        (Where("twin.csv", "Circuits", "C7"), "twin.csv › Circuits › C7"),
        (Where(), ""),
    ],
)
def test_a_place_reads_from_file_to_cell(where: Where, text: str) -> None:
    """File, sheet and cell, as far as they are known."""
    assert str(where) == text


def test_a_problem_is_a_sentence_with_its_cure_under_it() -> None:
    """The example of design section 5, with the level before it; nothing for what is not there."""
    place = Where("book.xlsx", "Circuits", "C7")
    assert str(error(place, "colour 'gren' is not known", "green")) == (
        "error: book.xlsx › Circuits › C7: colour 'gren' is not known\n    try: green"
    )
    assert str(caution(Where(), "no prices")) == "caution: no prices"


def test_only_errors_stop_a_job() -> None:
    """Cautions are printed and the work goes on."""
    doubt, fault = caution(Where(), "doubtful"), error(Where(), "wrong")
    assert not has_errors([])
    assert not has_errors([doubt, doubt])
    assert has_errors([doubt, fault])


IN_ORDER = [
    error(Where(), "of nothing in particular"),
    error(Where("a.xlsx"), "of the file"),
    error(Where("a.xlsx", "Circuits"), "of the sheet"),
    error(Where("a.xlsx", "Circuits", "C7"), "row 7, column C"),
    error(Where("a.xlsx", "Circuits", "Z7"), "row 7, column Z"),
    error(Where("a.xlsx", "Circuits", "AA7"), "row 7, column AA comes after Z"),
    error(Where("a.xlsx", "Circuits", "A10"), "row 10 comes after row 7"),
    error(Where("a.xlsx", "Loom", "A2"), "the next sheet"),
    error(Where("b.xlsx", "Circuits", "A2"), "the next file"),
    error(Where("workshop.toml", "", "volts"), "a key of the house rules"),
]


@given(st.permutations(IN_ORDER))
def test_problems_come_by_file_sheet_and_cell(shuffled: list[Problem]) -> None:
    """Sorted by file, sheet, cell (design section 5), in whatever order they were found."""
    assert list(in_file_order(shuffled)) == IN_ORDER


def test_the_same_problem_is_told_once() -> None:
    """Two wires that meet one fault report one fault; two sentences on one cell are two."""
    cell = Where("a.xlsx", "Circuits", "C7")
    first, other = error(cell, "not known"), error(cell, "not meant")
    assert in_file_order([first, other, error(cell, "not known")]) == (first, other)


@pytest.mark.parametrize(
    ("word", "known", "close"),
    [
        ("gren", ["green", "grey", "red"], "green"),
        ("GREN", ["green", "grey", "red"], "green"),
        ("h4 dpi", ["H4 main", "H4 dip"], "H4 dip"),
        ("lenght", ["length", "label"], "length"),
        ("photo", ["from", "to", "colour"], ""),
        ("", ["green"], ""),
        ("green", [], ""),
    ],
)
def test_the_nearest_spelling_or_none(word: str, known: list[str], close: str) -> None:
    """Case does not count; a word like no other gets no suggestion rather than a wild one."""
    assert nearest(word, known) == close


RINGS = [f"ring terminal, M6, {size} mm2" for size in ("0.5-1.5", "1.5-2.5", "2.5-6.0", "6.0-10.0")]
DRAWER = ["blade fuse, 15 A", "loom tape, PVC, 19 mm", "bullet cover, male", *RINGS[:3]]
BEYOND = ["loom tape, PVC, 25 mm", "blade fuse, 25 A", "bullet cover, female", *RINGS]


@pytest.mark.parametrize(
    ("word", "names"),
    [
        ("loom tape", ["loom tape, PVC, 19 mm"]),  # the only one there is
        ("loom tape 25 mm", ["loom tape, PVC, 25 mm"]),  # but not where the size says another
        ("ring terminal, M6", RINGS[:3]),
        ("ring terminals M6", RINGS[:3]),
        ("ring terminal", RINGS[:3]),
        ("ring terminal, 6.0-10.0", RINGS[3:]),
        ("bulet cover, female", ["bullet cover, female"]),
        ("bulet cover", ["bullet cover, male"]),
        ("blade fuse, 25A", ["blade fuse, 25 A"]),
        ("blade fsue, 15A", ["blade fuse, 15 A"]),
        ("photograph", []),
        ("", []),
    ],
)
def test_names_that_fit_the_workshops_own_first(word: str, names: list[str]) -> None:
    """Wrong before: one name for all, the nearest by its letters, of the catalogue as well."""
    assert near_names(word, DRAWER, BEYOND) == " or ".join(names)
