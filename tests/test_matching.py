"""Suppliers' rows against the catalogues: right where it is sure, asked where it is not.

The labelled rows are built from the ways in which trade lists word such goods (common practice),
not by the matcher.
"""

import itertools
import random
from collections.abc import Iterator
from decimal import Decimal

import pytest

from bom.read.matching import Listed, Matched, as_goods, match
from bom.trade.catalogue_files import load_catalogue
from bom.trade.rows import Row

CATALOGUE, _ = load_catalogue()


def listed(words: str, *, price: str | None = "1.20", **cells: str) -> Listed:
    """A row with that description."""
    blank = {"part_no": "", "gauge": "", "colour": "", "form": "", "pack": ""}
    amount = None if price is None else Decimal(price)
    said = {**blank, **cells}
    return Listed(words=words, price=amount, row=Row("list.csv", "", 2), price_for="", **said)


def one(words: str, **cells: str) -> Matched:
    """What becomes of one row."""
    (found,) = match([listed(words, **cells)], CATALOGUE)
    return found


# --------------------------------------------------------------- a list of 5,000 rows

Labelled = tuple[str, dict[str, str], str]
"""Description, other cells, and the goods meant: '' for what must never be booked."""


def _cables(dice: random.Random) -> Iterator[Labelled]:
    words = (
        "Thinwall cable {g}mm²",
        "Automotive cable {g} mm2, single core",
        "Vehicle wire {g}sqmm thin wall",
        "{g} sq mm cable PVC",
    )
    tints = {
        "red": ("Red", "RD", "red", "R"),
        "blue/white": ("Blue/White", "BU/WH", "U/W", "blue with white tracer"),
        "green/yellow": ("Green/Yellow", "GNYE", "G/Y"),
        "grey": ("Grey", "GY", "gray", "slate"),
        "brown": ("Brown", "BN", "N"),
        "purple/black": ("Purple/Black", "violet/black", "P/B"),
    }
    for form, gauge, (tint, spellings) in itertools.product(
        words, ("0.5", "0.75", "1.0", "1.5", "2.0", "3.0", "4.5"), tints.items()
    ):
        typed = dice.choice(spellings)
        sold = dice.choice(({"form": "metre"}, {"form": "Reel", "pack": "50m"}, {"form": "m"}))
        text = form.format(g=gauge)
        if "with" in typed:
            yield f"{text} {typed}", sold, f"cable, {gauge} mm2, {tint}"
        else:
            yield text, {**sold, "colour": typed}, f"cable, {gauge} mm2, {tint}"


def _terminals(dice: random.Random) -> Iterator[Labelled]:
    genders = {"male": ("male", "tab"), "female": ("female", "receptacle", "socket")}
    ranges = {"0.5-1.0": "0.5-1mm2", "1.0-2.5": "1.0 to 2.5 mm²", "2.5-6.0": "2.5-6.0sqmm"}
    for (gender, says), (size, typed), width in itertools.product(
        genders.items(), ranges.items(), ("4.8", "6.3")
    ):
        if (width, size) == ("4.8", "2.5-6.0"):
            continue
        goods = f"blade terminal, {width} mm, {gender}, {size} mm2"
        for text in (
            f"Spade terminal {dice.choice(says)} {width}mm {typed} uninsulated",
            f"{width} x 0.8mm blade {dice.choice(says)}, {typed}, brass",
            f"Blade crimp {dice.choice(says)} {width} mm for {typed} cable".replace(" cable", ""),
        ):
            yield text, {"form": "pack", "pack": "100"}, goods
    for stud, (size, typed) in itertools.product(
        ("4", "5", "6", "8"), {"0.5-1.5": "0.5-1.5mm2", "2.5-6.0": "2.5 - 6.0 mm2"}.items()
    ):
        for text in (f"M{stud} eyelet {typed}", f"Ring crimp M{stud}, {typed}, tinned brass"):
            yield text, {"pack": "25", "form": "bag"}, f"ring terminal, M{stud}, {size} mm2"
    for gender, says in genders.items():
        for text in (f"Bullet cover {says[0]}", f"{says[0]} bullet insulator"):
            yield text, {"form": "each"}, f"bullet cover, {gender}"
        goods = f"bullet terminal, {gender}, 1.0-2.0 mm2"
        yield f"Bullet terminal {says[0]} 3.9mm 1.0-2.0mm2 pack of 50", {}, goods


def _coverings() -> Iterator[Labelled]:
    for bore in ("4", "6", "8", "10", "12"):
        yield f"PVC sleeving {bore}mm bore black", {"form": "m"}, f"PVC tube, {bore} mm bore"
        yield f"Braided sleeving {bore} mm", {"form": "metre"}, f"braided sleeving, {bore} mm bore"
    for size in ("3.2", "6.4", "12.7"):
        goods = f"heat-shrink, plain 2:1, {size} mm"
        yield f"Heatshrink tubing 2:1 {size}mm black", {"form": "metre"}, goods
    for size in ("6", "9", "12"):
        goods = f"heat-shrink, adhesive 3:1, {size} mm"
        yield f"Glue lined heat shrink 3:1 {size}mm", {"form": "m"}, goods
    yield "PVC harness tape 19mm x 33m black", {"form": "roll"}, "loom tape, PVC, 19 mm"
    for amps in ("5", "7.5", "10", "15", "20", "30"):
        yield f"Standard blade fuse {amps}A", {"form": "each"}, f"blade fuse, {amps} A"
        goods = f"mini blade fuse, {amps} A"
        yield f"{amps} amp mini blade fuse", {"pack": "10", "form": "pack"}, goods
    for ways in ("4", "6", "8"):
        yield f"Fuse box {ways} way blade", {"form": "each"}, f"fuse box, blade, {ways} way"
        goods = f"multi-way housing, 6.3 mm, female, {ways} way"
        yield f"Multiway housing 6.3mm {ways} way female", {"form": "each"}, goods


DOUBTFUL: tuple[tuple[str, dict[str, str]], ...] = (
    ("Spade terminal 6.3mm 1.0-2.5mm2", {"form": "each"}),  # which gender?
    ("Spade receptacle 1.0-2.5mm2", {"form": "each"}),  # how wide?
    ("M6 eyelet", {"form": "each"}),  # for which cable?
    ("Ring terminal M6 0.5-1.5mm2 insulated, red", {"form": "each"}),  # sleeves of its own
    ("Thinwall cable 1.0mm2", {"colour": "RDBU", "form": "m"}),  # two readings
    ("Thinwall cable 1.0mm2", {"colour": "GR", "form": "m"}),  # green, or grey/red ...
    ("Thinwall cable 1.0mm2", {"colour": "Red"}),  # a metre, or a reel?
    ("Thinwall cable 1.0mm2", {"form": "m"}),  # in which colour?
    ("Twin core cable 1.0mm2 red/black", {"form": "m"}),  # two cores
    ("Blade fuse 10A", {"pack": "50"}),  # the price of one, or of fifty?
    ("Blade fuse 10A, pack", {}),  # of how many?
    ("Blade fuse 10A", {"form": "bag"}),  # as above
    ("Heat shrink 6.4mm", {"form": "m"}),  # which ratio?
    ("Cloth loom tape 19mm x 25m", {"form": "roll"}),  # not PVC
    ("Bullet terminal male 4.0mm 1.0-2.0mm2", {"form": "each"}),  # neither 3.9 nor 4.7
    ("Silicone tube 6mm bore", {"form": "m"}),  # not PVC
)
OTHERS = (
    *("Halogen lamp H4 60/55W", "Handlebar grips, pair", "Cable ties 200 mm x 100", "Grease 500g"),
    *("Thread lock 10ml", "Brake lever, left", "Mirror 100mm round", "Battery 12V 9Ah", "Horn 12V"),
    *("Indicator stem M10", "Spark plug cap 5k", "Solder 60/40 0.7mm 100g", "Cable gland M20"),
    *("Wire brush 3 row", "Wire stripper 0.5-6.0mm2", "Crimp tool ratchet", "Fuse puller"),
)


def labelled_list(rows: int, seed: int) -> tuple[list[Listed], list[str], list[bool]]:
    """Rows, the goods meant ('' for none), and whether the row is clear enough to be sure of."""
    dice = random.Random(seed)
    clear = [*_cables(dice), *_terminals(dice), *_coverings()]
    found: list[Listed] = []
    labels: list[str] = []
    sure: list[bool] = []
    while len(found) < rows:
        share = dice.random()
        if share < 0.5:
            words, cells, goods = dice.choice(clear)
        elif share < 0.65:
            (words, cells), goods = dice.choice(DOUBTFUL), "?"
        else:
            words, cells, goods = dice.choice(OTHERS), {}, ""
        maker = dice.choice(("Acmex ", "", "Acmex Trade "))
        part = f"AX{len(found):05d}"
        text = f"{maker}{words}".swapcase() if dice.random() < 0.1 else f"{maker}{words} {part}"
        found.append(listed(text, part_no=part, **cells))
        labels.append(goods)
        sure.append(share < 0.5)
    return found, labels, sure


def test_five_thousand_rows_are_matched_right_or_asked() -> None:
    """No row is booked as what it is not; nine clear ones in ten are booked."""
    rows, labels, clear = labelled_list(5000, seed=7)
    found = match(rows, CATALOGUE)
    wrong = [
        (one.listed.words, str(one.goods), label)
        for one, label in zip(found, labels, strict=True)
        if one.sure and str(one.goods) != label
    ]
    assert wrong == []
    known = [one.sure for one, is_clear in zip(found, clear, strict=True) if is_clear]
    assert sum(known) > 0.9 * len(known)
    asked = [one for one, label in zip(found, labels, strict=True) if label == "?"]
    assert asked and all(one.doubts and not one.sure for one in asked)


@pytest.mark.parametrize(("words", "cells"), DOUBTFUL, ids=lambda value: str(value)[:40])
def test_what_can_be_read_in_two_ways_is_asked(words: str, cells: dict[str, str]) -> None:
    """Never booked, and it says why."""
    found = one(words, **cells)
    assert not found.sure
    assert found.doubts and found.nearest


@pytest.mark.parametrize("words", OTHERS)
def test_other_goods_are_not_ours(words: str) -> None:
    """Lamps, tools and glue are never sure."""
    assert not one(words, form="each").sure


def test_every_item_of_the_catalogues_is_known_by_its_own_name() -> None:
    """A list in our own words is sure from end to end."""
    cells = {item: "m" if CATALOGUE.unit_of(item) == "m" else "each" for item in CATALOGUE.items}
    found = match([listed(item, form=form) for item, form in cells.items()], CATALOGUE)
    assert [str(one.goods) for one in found if one.sure] == list(CATALOGUE.items)


@pytest.mark.parametrize(
    ("words", "cells", "sold"),
    [
        ("Blade fuse 10A", {"form": "each"}, "each 1 1.20"),
        ("Blade fuse 10A", {"pack": "50", "form": "pack"}, "pack 50 1.20"),
        ("Blade fuse 10A", {"pack": "50", "form": "each"}, "pack 50 60.00"),  # 50 at 1.20 each
        ("Blade fuse 10A pack of 25", {}, "pack 25 1.20"),
        ("Blade fuse 10A /100", {}, "pack 100 1.20"),
        ("Thinwall cable 1.0mm2 red", {"form": "metre"}, "metre 1 1.20"),
        ("Thinwall cable 1.0mm2 red per m", {}, "metre 1 1.20"),
        ("Thinwall cable 1.0mm2 red 50m reel", {}, "reel 50 1.20"),
        ("Thinwall cable 1.0mm2 red", {"form": "reel 30m"}, "reel 30 1.20"),
        ("Thinwall cable 1.0mm2 red", {"form": "reel", "pack": "100"}, "reel 100 1.20"),
    ],
)
def test_what_the_price_buys(words: str, cells: dict[str, str], sold: str) -> None:
    """Packs of what is counted, metres and reels of what is measured."""
    found = one(words, **cells)
    assert (f"{found.sold_as} {found.pack} {found.price}", found.sure) == (sold, True)


RING = "ring terminal, M6, 2.5-6.0 mm2"


@pytest.mark.parametrize(
    "words",
    [
        *("Ring M6 2.5-6", "ring m6 2.5-6.0", "M6 ring 2,5-6", "RING 2.5-6 M6", "Ring M6 2.5 - 6"),
        *("Ring terminal M6 2.5-6mm", "ring terminal, M6, 2.5 to 6", "Eyelet M6 2.5-6.0 mm2"),
        *("Rings M6, 2.5\u20136 mm\u00b2",),
    ],
)
def test_a_range_is_told_with_its_unit_or_without(words: str) -> None:
    """2.5-6 are the cables that a terminal takes, in whichever of these ways it is written."""
    found = one(words, form="each")
    assert str(found.goods) == RING and found.sure


@pytest.mark.parametrize(
    ("words", "nearest"),
    [
        ("Ring M6 4mm2", RING),  # takes it
        ("Ring M6 4", RING),
        ("Ring M6 4-6", RING),
        ("Ring M6 insulated 2.5-6", RING),
        ("M6 ring for 10 mm2 cable", "ring terminal, M6, 6.0-10.0 mm2"),
        ("Ring M8 2.0", "ring terminal, M8, 1.5-2.5 mm2"),
        ("Blade 6.3 female 1-2.5", "blade terminal, 6.3 mm, female, 1.0-2.5 mm2"),
        ("Spade 6.3 0.5-1", "blade terminal, 6.3 mm, male, 0.5-1.0 mm2"),
        ("Lug M8 10", "cable lug, M8, 6.0-10.0 mm2"),
        ("Blade fuse 10", "blade fuse, 10 A"),
    ],
)
def test_the_figures_tell_which_is_nearest(words: str, nearest: str) -> None:
    """Asked about, with the goods first that are for the range told, or that take the cable."""
    found = one(words, form="each")
    assert not found.sure and str(found.nearest[0]) == nearest


def test_goods_by_their_name() -> None:
    """Items and cables as answers.csv names them."""
    for text in ("blade fuse, 10 A", "cable, 1.0 mm2, blue/white", "cable, 18 AWG, red"):
        assert str(as_goods(text, CATALOGUE)) == text
    assert as_goods("cable, 1.0 mm2, every plain colour", CATALOGUE) is not None
    for text in ("blade fuse, 11 A", "cable, 9.9 mm2, red", "cable, 1.0 mm2, gren", ""):
        assert as_goods(text, CATALOGUE) is None
