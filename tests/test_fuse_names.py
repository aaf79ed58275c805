"""Names of fuses that are nearly another's, and ordinary sets of names on which nothing is said."""

from pathlib import Path
from typing import Any

import pytest

from tests.books import book
from tests.within import bom

HEAD = ("wire", "circuit", "from", "to", "colour", "gauge", "load", "length", "fuse")


def said(folder: Path, fuses: str, circuits: str = "", rows: str = "") -> list[tuple[str, str]]:
    """Cell and cure of what is said of these names, a wire each, with their rows on Fuses."""
    names, words = fuses.split(", "), circuits.split(", ")
    words += [""] * len(names)
    wires = [
        (n, word, f"battery:{n}", f"thing {n}:+", "red", "1.0", "5 W", 1, name)
        for n, (name, word) in enumerate(zip(names, words, strict=False), 1)
    ]
    sheets: dict[str, Any] = {"Circuits": [HEAD, *wires]}
    sheets |= {"Fuses": [("fuse", "rating"), *((r, 10) for r in rows.split(", "))]} if rows else {}
    lines = bom("check", book(folder, "job.xlsx", **sheets)).stderr.splitlines()
    return [
        (line.split(" › ")[2].split(":")[0], lines[n + 1].removeprefix("    try: "))
        for n, line in enumerate(lines)
        if "on this wire alone, beside" in line
    ]


@pytest.mark.parametrize(
    "fuses",
    [
        "main, lights, ignition, horn, aux",
        "F1, F2, F3, F11, F12",
        "1, 2, 3, 10, 11",
        "main fuse, lights fuse, ignition fuse",
        "lights, lights 2, lights left, lights right",
        "dip, dim, main, tail",
        "15A main, 10A main, 10A lights, 15A lights",
        "coil 1, coil 2, coil left, coil right",
        "front left, front right, rear left, rear right",
        "lights A, lights B, lights L, lights R",
        "fan, fans, pump, lamp, main, main, main",
        "box:lights, box:horn, box:brakes, box:ignition",
    ],
)
def test_ordinary_names_are_silent(fuses: str, tmp_path: Path) -> None:
    """They differ by a figure, by a letter that is a word, or by a whole word."""
    assert said(tmp_path, fuses) == []


@pytest.mark.parametrize(
    ("fuses", "cell", "cure"),
    [
        ("main fuse, main fuse, main fuze", "I4", "main fuse"),
        ("main fuze, main fuse, main fuse", "I2", "main fuse"),
        ("main fuse, main fuze", "I3", "one name for both, if so"),
        ("lights, lihgts, lights", "I3", "lights"),
        ("brake, break, brake", "I3", "brake"),
        ("lights 2, lihgts 2, lights 2, lights", "I3", "lights 2"),
        ("main fuse, main-fuse, main fuse", "I3", "main fuse"),
        ("F 1, F1, F2", "I3", "one name for both, if so"),
        ("ignition, ignitin, ignition", "I3", "ignition"),
        ("horn, hron, horn", "I3", "horn"),
        ("inj, inj, injj", "I4", "inj"),
    ],
)
def test_a_slip_in_a_name_is_told(fuses: str, cell: str, cure: str, tmp_path: Path) -> None:
    """At the name that stands once."""
    assert said(tmp_path, fuses) == [(cell, cure)]


def test_words_of_the_book_are_no_slips(tmp_path: Path) -> None:
    """`heat` and `head` where the book has heated grips; two rows on Fuses are two fuses."""
    assert said(tmp_path, "head, heat") == [("I3", "one name for both, if so")]
    assert said(tmp_path, "head, heat", "head lamp, grip heat") == []
    assert said(tmp_path, "main fuse, main fuze", rows="main fuse, main fuze") == []
    assert said(tmp_path, "main fuse, main fuze", rows="main fuse") == [("I3", "main fuse")]
