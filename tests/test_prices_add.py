"""A supplier's own list into the price book: columns, answers, dates, and nothing else touched."""

import csv
import json
from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, Literal

import pytest
from msgspec.structs import replace
from openpyxl import load_workbook

from bom.cli.prices import understood
from bom.files.headings import OwnWords
from bom.job import find_workshop
from bom.read.matching import Matched
from bom.read.prices import old_prices
from bom.read.supplier_list import read_price_list
from bom.workshop.price_lists import ListAsked, add_prices
from bom.workshop.stockroom import How
from tests.books import book
from tests.fixture_books import members
from tests.shopping import price
from tests.shops import job, workshop
from tests.test_matching import one as matched
from tests.within import bom

HEAD = ("Code", "Description", "Colour", "Sold by", "Pack qty", "Net price")
RED = ("K1", "Thinwall cable 1.0mm2", "RD", "metre", None, "0.50")
FUSE = ("K2", "Blade fuse 10A", None, "each", None, "0.30")
UNCLEAR = ("K3", "Spade terminal 6.3mm, 1.0-2.5mm2", None, "pack", 100, "9.10")
OTHER = ("K9", "Brake lever, left", None, "each", None, "12.00")


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """A workshop that buys red cable of Abel for 0.40 a metre."""
    return workshop(
        tmp_path / "shop",
        prices=[("Abel", "cable", "1.0", "red", "metre", None, 0.4, None)],
        suppliers=[("Abel", 0, None, None, "no")],
    )


def add(shop: Path, *rows: tuple[object, ...], head: Sequence[str] = HEAD, per: str = "") -> Any:
    """What `bom prices add --json` answers for a list of Abel's with these rows."""
    listed = book(shop, "list.xlsx", Prices=[("Abel & Sons, spring",), (), head, *rows])
    options = ["--price-for", per] if per else []
    done = bom("prices", "add", listed, "--supplier", "abel", "--json", *options, cwd=shop)
    return json.loads(done.stdout)


def kept(shop: Path) -> list[dict[str, str]]:
    """The rows of answers.csv."""
    return list(csv.DictReader((shop / "answers.csv").open(encoding="utf-8-sig", newline="")))


def change(path: Path, **cells: Any) -> None:
    """Type into cells of the first sheet of a workbook."""
    made = load_workbook(path)
    for cell, value in cells.items():
        made.worksheets[0][cell] = value
    made.save(path)


def prices(shop: Path) -> list[Any]:
    """The rows of the price book under its headings."""
    rows = load_workbook(shop / "prices.xlsx")["Prices"].iter_rows(values_only=True)
    return list(rows)[1:]


def test_a_known_price_is_changed_and_dated_and_a_new_one_added(shop: Path) -> None:
    """0.40 becomes 0.50; the fuse is new; both are of today; the lever is nothing of ours."""
    answer = add(shop, RED, FUSE, OTHER)
    today = date.today().isoformat()
    assert [(one["item"], one["was"], one["price"]) for one in answer["booked"]] == [
        ("cable", "0.40", "0.50"),
        ("blade fuse, 10 A", None, "0.30"),
    ]
    assert (answer["not_ours"], answer["doubtful"], answer["written"]) == (1, [], True)
    found = prices(shop)
    assert found[0] == ("Abel", "cable", "1.0", "red", "metre", None, 0.5, None, today)
    assert found[1][:2] == ("Abel", "blade fuse, 10 A") and found[1][4:] == (
        *("each", 1, 0.3, None, today),
    )
    assert add(shop, RED, FUSE)["booked"][1]["was"] == "0.30"
    assert len(prices(shop)) == 2


def test_the_rest_of_the_price_book_stays_byte_for_byte(shop: Path) -> None:
    """Other sheets of the owner's, styles and all: only the list's own sheet changes."""
    made = load_workbook(shop / "prices.xlsx")
    made.create_sheet("Mine")["A1"] = "=1+1"
    made.save(shop / "prices.xlsx")
    before = members((shop / "prices.xlsx").read_bytes())
    assert add(shop, RED)["written"]
    after = members((shop / "prices.xlsx").read_bytes())
    assert {name for name in before if before[name] != after[name]} == {"xl/worksheets/sheet1.xml"}


def test_doubtful_rows_wait_for_an_answer_that_is_kept(shop: Path) -> None:
    """Listed, not booked; a yes or a no in answers.csv holds from then on."""
    first = add(shop, UNCLEAR, RED)
    assert [one["part_no"] for one in first["doubtful"]] == ["K3"]
    assert "blade terminal, 6.3 mm, male, 1.0-2.5 mm2" in first["doubtful"][0]["nearest"]
    answers = shop / "answers.csv"
    rows = kept(shop)
    assert [(row["part no"], row["answer"]) for row in rows] == [("K3", "")]
    rows[0] |= {"answer": "Yes", "ours": "blade terminal, 6.3 mm, female, 1.0-2.5 mm2"}
    with answers.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.DictWriter(stream, rows[0], delimiter=";")
        writer.writeheader()
        writer.writerows(rows)
    second = add(shop, UNCLEAR, RED)
    assert second["doubtful"] == []
    (booked,) = (one for one in second["booked"] if one["part_no"] == "K3")
    assert (booked["item"], booked["sold_as"], booked["pack"], booked["price"]) == (
        *("blade terminal, 6.3 mm, female, 1.0-2.5 mm2", "pack", 100, "9.10"),
    )
    answers.write_text(answers.read_text(encoding="utf-8-sig").replace("Yes", "no"))
    assert add(shop, UNCLEAR)["not_ours"] == 1


def test_what_the_owner_has_added_to_the_answers_stays(shop: Path) -> None:
    """Columns and notes of the owner's own, also when a row is answered and another comes."""
    add(shop, UNCLEAR)
    answers = shop / "answers.csv"
    head, row = answers.read_text(encoding="utf-8-sig").splitlines()
    answers.write_text(f"{head},asked of\n{row},the counter\n", encoding="utf-8")
    add(shop, UNCLEAR, ("K4", *UNCLEAR[1:]))
    asked = {one["part no"]: one["asked of"] for one in kept(shop)}
    assert asked == {"K3": "the counter", "K4": ""}
    assert answers.read_text(encoding="utf-8").splitlines()[1] == f"{row},the counter"


def test_faults_in_the_answers_are_told_with_their_cells(shop: Path) -> None:
    """A third word, and a yes to what is no item; nothing is written."""
    head = "supplier,part no,their words,ours,sold as,pack,answer\n"
    rows = "Abel,K3,x,no such thing,pack,100,yes\nAbel,K4,y,,,,perhaps\n"
    (shop / "answers.csv").write_text(head + rows)
    before = (shop / "prices.xlsx").read_bytes()
    answer = add(shop, RED)
    found = {p["cell"]: p["says"] for p in answer["problems"] if p["level"] == "error"}
    assert set(found) == {"D2", "G3"}
    assert "'no such thing'" in found["D2"] and "'perhaps'" in found["G3"]
    assert (shop / "prices.xlsx").read_bytes() == before


def test_prices_that_are_none_are_faults_and_those_on_request_are_counted(shop: Path) -> None:
    """All faults at once with their cells; POA is left out."""
    answer = add(shop, (*RED[:5], "cheap"), (*FUSE[:5], "-1"), (*FUSE[:5], "POA"))
    found = [(p["cell"], p["says"]) for p in answer["problems"]]
    assert found == [("F4", "'cheap' is not a number"), ("F5", "-1 is below zero")]
    assert add(shop, RED, (*FUSE[:5], "POA"))["without_price"] == 1


def test_a_dry_run_writes_nothing(shop: Path) -> None:
    """Neither prices nor answers."""
    before = sorted((path, path.read_bytes()) for path in shop.iterdir() if path.is_file())
    listed = book(shop.parent, "list.xlsx", Prices=[HEAD, RED, UNCLEAR])
    done = bom("prices", "add", listed, "--supplier", "Abel", "--dry-run", cwd=shop)
    assert done.returncode == 0 and "2 prices" not in done.stdout
    assert "Abel: 1 price to be booked, 0 new" in done.stdout
    assert sorted((p, p.read_bytes()) for p in shop.iterdir() if p.is_file()) == before


def test_what_the_price_is_for_may_be_said(shop: Path) -> None:
    """50 fuses and a plain `price`: doubtful; with --price-for each they cost 50 x 0.30 = 15."""
    row = ("K2", "Blade fuse 10A", None, None, 50, "0.30")
    assert len(add(shop, row)["doubtful"]) == 1
    (booked,) = add(shop, row, per="each")["booked"]
    assert (booked["sold_as"], booked["pack"], booked["price"]) == ("pack", 50, "15.00")


def test_prices_with_tax_are_not_taken_for_prices_without(shop: Path) -> None:
    """A heading that says with tax, for a supplier whose prices are kept without, is refused."""
    answer = add(shop, RED, head=(*HEAD[:5], "Price inc VAT"))
    (problem,) = answer["problems"]
    assert (problem["cell"], "kept without it" in problem["says"]) == ("F3", True)
    change(shop / "suppliers.xlsx", E2="yes")
    (problem,) = add(shop, RED, head=(*HEAD[:5], "Price ex VAT"))["problems"]
    assert (problem["cell"], "kept with it" in problem["says"]) == ("F3", True)
    assert add(shop, RED, head=(*HEAD[:5], "Price"))["written"]
    assert add(shop, RED, head=(*HEAD[:5], "Price inc VAT"))["written"]


def test_prices_from_more_packs_on_are_left_and_told(shop: Path) -> None:
    """A row from 25 m on keeps its 0.35, and its cell is named."""
    row = ("Abel", "cable", "1.0", "red", "metre", None, 0.35, 25)
    change(
        shop / "prices.xlsx", **{f"{column}3": v for column, v in zip("ABCDEFGH", row, strict=True)}
    )
    (problem,) = add(shop, RED)["problems"]
    assert (problem["level"], problem["cell"]) == ("caution", "H3")
    assert [row[6] for row in prices(shop)] == [0.5, 0.35]


def test_a_list_without_a_price_or_a_description_is_refused(shop: Path) -> None:
    """Each told in one line."""
    assert "no column has a price" in add(shop, RED, head=(*HEAD[:5], "Bin"))["problems"][0]["says"]
    answer = add(shop, RED, head=("Code", "A", "B", "C", "D", "Net price"))
    assert "no sheet has a heading such as 'description'" in answer["problems"][0]["says"]


def test_csv_in_other_clothes(tmp_path: Path) -> None:
    """Windows-1252, semicolons, decimal commas and signs of money read the same."""
    plain = tmp_path / "a.csv"
    plain.write_text("Description,Price\nBlade fuse 10A,1.20\n", encoding="utf-8")
    dressed = tmp_path / "b.csv"
    dressed.write_bytes(
        "Title\n\nDescription;Price \u20ac\nBlade fuse 10A;1,20 \u20ac\n".encode("cp1252")
    )
    (first, no_faults), (second, none_either) = (
        read_price_list(path, OwnWords(), with_tax=False) for path in (plain, dressed)
    )
    assert (no_faults, none_either) == ((), ())
    assert [(row.words, row.price) for row in first.rows] == [("Blade fuse 10A", Decimal("1.20"))]
    assert [(row.words, row.price) for row in second.rows] == [("Blade fuse 10A", Decimal("1.20"))]


def test_a_single_csv_and_a_workshop_without_prices(tmp_path: Path) -> None:
    """prices.csv gets the rows and a date column; where there is no book one is made."""
    shop = workshop(tmp_path / "a")
    (shop / "prices.xlsx").unlink()
    (shop / "prices.csv").write_text(
        "supplier;item;gauge;colour;sold as;pack;price\nAbel;cable;1.0;red;metre;;0,4\n"
    )
    assert add(shop, RED, FUSE)["written"]
    lines = (shop / "prices.csv").read_text(encoding="utf-8").splitlines()
    today = date.today().isoformat()
    assert lines[0].endswith(";date") and lines[1] == f"Abel;cable;1.0;red;metre;;0,5;{today}"
    assert lines[2].startswith("Abel;blade fuse, 10 A;") or lines[2].startswith('Abel;"blade fuse')
    (tmp_path / "b").mkdir()
    (tmp_path / "b" / "workshop.toml").write_text("")
    assert add(tmp_path / "b", RED)["written"]
    assert prices(tmp_path / "b")[0][:4] == ("abel", "cable", "1.0", "red")


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("Example", "Example Cables Ltd or Example Tools"),
        ("example cables", "Example Cables Ltd"),
        ("Example Cables Limited", "Example Cables Ltd"),
        ("Exampel Cables Ltd", "Example Cables Ltd"),
        ("ExampleCables", "Example Cables Ltd"),
        ("Cables", "Example Cables Ltd"),
        ("ET", "Example Tools"),
        ("Abell", "Abel"),
        ("Abel & Sons", "Abel"),
        ("North Loom Parts", ""),
        ("Example Lamps", ""),
    ],
)
def test_a_name_that_is_nearly_a_suppliers_is_asked_about(
    tmp_path: Path, typed: str, meant: str
) -> None:
    """It would be a second supplier without postage; `--new-supplier` says that it is another.

    A name that is like none is a new supplier's, which is told, as no postage is reckoned.
    """
    cables = ("Example Cables Ltd", "cable", "1.0", "red", "metre", None, 0.4)
    shop = workshop(tmp_path, prices=[cables], suppliers=[("Abel", 3), ("Example Tools", 0)])
    listed = book(tmp_path, "list.xlsx", Prices=[HEAD, FUSE])
    add = ("prices", "add", listed, "--supplier", typed)
    done = bom(*add, cwd=shop)
    if not meant:
        assert done.returncode == 0 and "try: a row for it in suppliers" in done.stderr
        return
    assert done.returncode == 1 and len(prices(shop)) == 1
    assert f"no supplier is called '{typed}': is it {meant}?" in done.stderr
    assert "or --new-supplier if it is another" in done.stderr
    assert bom(*add, "--new-supplier", cwd=shop).returncode == 0
    assert prices(shop)[1][0] == typed


def test_a_suppliers_rows_are_one_suppliers_in_any_letters(tmp_path: Path) -> None:
    """Without a list of suppliers the first row spells the name."""
    rows = [(name, "cable", "1.0", "red", "metre", None, 0.4) for name in ("Abel", "ABEL", "abel")]
    shop = workshop(tmp_path, prices=rows)
    shown = json.loads(bom("prices", "show", "--json", cwd=shop).stdout)
    assert [row["supplier"] for row in shown["prices"]] == ["Abel"] * 3


def test_a_short_name_on_the_price_list_is_told_with_the_supplier_it_means(tmp_path: Path) -> None:
    """Its rows have no postage until the name is the one on the suppliers list."""
    rows = [(name, "cable", "1.0", "red", "metre", None, 0.4) for name in ("Example", "Zeta")]
    shop = workshop(tmp_path, prices=rows, suppliers=[("Example Cables Ltd", 3)])
    told = json.loads(bom("prices", "show", "--json", cwd=shop).stdout)["problems"]
    assert [(p["cell"], p["try"]) for p in told if p["sheet"]] == [
        ("A2", "Example Cables Ltd"),
        ("A3", "a row for it in suppliers"),
    ]


def test_a_price_book_of_a_sheet_for_each_supplier(shop: Path) -> None:
    """The row is changed where it stands: Abel's on the second sheet, which has no dates."""
    berta = ("Berta", "cable", "1.0", "red", "metre", 0.6)
    abel = ("Abel", "cable", "1.0", "red", "metre", 0.4)
    head = ("supplier", "item", "gauge", "colour", "sold as", "price")
    book(shop, "prices.xlsx", Berta=[head, berta], Abel=[head, abel])
    assert add(shop, RED)["written"]
    made = load_workbook(shop / "prices.xlsx")
    assert [*made["Abel"].values][1:] == [(*abel[:5], 0.5)]
    assert [row[:6] for row in [*made["Berta"].values][1:]] == [berta]


def test_the_very_name_of_a_supplier_is_taken_in_any_letters(shop: Path) -> None:
    """Though it is a part of another's."""
    change(shop / "suppliers.xlsx", A3="Abel Lamps", B3=2)
    assert add(shop, FUSE)["supplier"] == "Abel"


# ------------------------------------------------------------------------ which is the price


def read(
    head: str, row: str, own: Mapping[str, str] | None = None, *, with_tax: bool = False
) -> Any:
    """The price, and what is amiss, of a list of one row; cells parted by bars."""
    parts = [tuple(cell.strip() or None for cell in line.split("|")) for line in (head, row)]
    with TemporaryDirectory() as folder:
        listed = book(Path(folder), "list.xlsx", Prices=parts)
        words = OwnWords({"lists": own or {}})
        found, problems = read_price_list(listed, words, with_tax=with_tax)
    return [f"{one.price}" for one in found.rows], [f"{p.where.cell} {p.says}" for p in problems]


@pytest.mark.parametrize(
    ("head", "row", "price"),
    [
        ("Item | | Price | Stock | Bin", "Fuse | | 0.30 | 12 | B4", "0.30"),
        ("Item | Code | | List price | Your price", "Fuse | K1 | | 0.30 | 0.24", "0.24"),
        ("Item | Price | | | Note", "Fuse | 0.30 | | | few left", "0.30"),
        ("Item | List price | Your price (\u00a3)", "Fuse | 0.30 | 0.24", "0.24"),
        ("Item | Price | Your price ex VAT", "Fuse | 0.30 | 0.24", "0.24"),
        ("Item | RRP | Trade", "Fuse | 0.30 | 0.24", "0.24"),
        ("Item | List | Disc % | Net", "Fuse | 0.30 | 20 | 0.24", "0.24"),
        ("Item | Trade price | Your net price", "Fuse | 0.30 | 0.24", "0.24"),
        ("Item | Price inc. VAT | Price ex. VAT", "Fuse | 0.36 | 0.30", "0.30"),
        ("Item | 1+ | 10+ | 100+", "Fuse | 0.30 | 0.28 | 0.20", "0.30"),
        ("Item | Price 100+ | Price 1-99", "Fuse | 0.20 | 0.30", "0.30"),
        ("Item | Pk | Each | Pack price", "Fuse | 50 | 0.30 | 15.00", "15.00"),
        ("Account | Item | Trade pack | Price", "881.20 | Fuse | 1 | 0.30", "0.30"),
        ("Item | Price incl. 20% VAT | Price ex VAT 2026", "Fuse | 0.36 | 0.30", "0.30"),
        ("Item | Price per metre | Price per 100", "Cable | 0.30 | 28.00", "0.30"),
        ("Item | Net weight | Price group | Price", "Fuse | 0.02 | B | 0.30", "0.30"),
    ],
)
def test_of_several_prices_the_one_that_is_ours_is_read(head: str, row: str, price: str) -> None:
    """Net, trade and yours before the list's; without tax; of one; blank columns part nothing."""
    assert read(head, row) == ([price], [])


def test_a_price_per_metre_is_no_reels(shop: Path) -> None:
    """What the heading says that the price buys is said of every row without a unit of its own."""
    (booked,) = add(
        shop, ("Thinwall cable 1.0mm2 red", "0.50"), head=("Description", "Price per metre")
    )["booked"]
    assert (booked["sold_as"], booked["price"], booked["was"]) == ("metre", "0.50", "0.40")


def test_with_tax_where_the_supplier_has_it() -> None:
    """The same two columns, for a supplier whose prices are kept with tax."""
    head, row = "Item | Price inc. VAT | Price ex. VAT", "Fuse | 0.36 | 0.30"
    assert read(head, row, with_tax=True) == (["0.36"], [])


def test_prices_that_cannot_be_told_apart_are_named_and_the_cure_cures() -> None:
    """Either may be the price: the owner says which is not; of two alike one is called another."""
    head, row = "Item | Trade price | Cost price", "Fuse | 0.30 | 0.24"
    says = "C1 each of 'Trade price' (B1) and 'Cost price' (C1) may be the price"
    assert read(head, row) == ([], [says])
    assert read(head, row, {"Cost price": ""}) == (["0.30"], [])
    assert read(head, row, {"Cost price": "price"}) == (["0.24"], [])
    both = read("Item | Price | Price", row)
    assert both == ([], ["C1 each of 'Price' (B1) and 'Price' (C1) may be the price"])
    assert read("Item | Price | Old price", row) == (["0.30"], [])


def test_a_list_without_a_known_price_says_what_was_read_as_what() -> None:
    """The heading over numbers with decimals is named in the cure, which cures."""
    head, row = "Item | Ref | Bin | Netto 2026", "Fuse | K1 | B4 | 0.24"
    says = (
        " no column has a price; read: description from Item, part no from Ref; "
        "columns that are not read: Bin, Netto 2026"
    )
    assert read(head, row) == ([], [says])
    assert read(head, row, {"Netto 2026": "price"}) == (["0.24"], [])
    assert read("Item | Price per 100", "Fuse | 24.00")[0] == []  # no price of one
    assert read("Item | 10+ | 100+", "Fuse | 0.30 | 0.24")[0] == []


def test_a_list_beside_the_list_is_told() -> None:
    """Two lists side by side on one sheet: the first is read."""
    found, problems = read("Item | Price | | Item | Price", "Fuse | 0.30 | | Bulb | 1.20")
    assert (found, problems) == (["0.30"], ["D1 the list beside this one is not read"])


def test_old_prices_by_supplier() -> None:
    """181 days are older than 180, 180 are not; without a date nothing is said."""
    today = date(2026, 11, 25)
    ages = (("A", 181), ("A", 400), ("A", 180), ("B", 10), ("C", None))
    rows = [
        replace(price(name, "x", "each", 1, 100), priced_on=age and today - timedelta(days=age))
        for name, age in ages
    ]
    assert old_prices(rows, today, 180) == {"A": (2, date(2025, 10, 21))}


def test_an_order_at_old_prices_says_so(shop: Path) -> None:
    """One caution for the supplier, whose one price here is from long ago."""
    change(shop / "prices.xlsx", I1="date", I2="2020-01-31")
    done = bom("order", job(shop, [("1", "red", "1.0", 2)]), cwd=shop)
    assert "1 of 1 prices of 'Abel' used here are older than 180 days" in done.stderr
    assert "2020-01-31" in done.stderr and "bom prices add FILE --supplier 'Abel'" in done.stderr
    change(shop / "prices.xlsx", I2="31st of June")
    done = bom("order", "job", cwd=shop)
    assert "Prices › I2: '31st of June'" in done.stderr and done.returncode == 1


def test_what_is_asked_on_a_terminal(shop: Path) -> None:
    """A candidate, none of them, later, and no more questions: each kept as it was said."""
    rows = [(f"K{n}", UNCLEAR[1], *UNCLEAR[2:]) for n in range(5)]
    listed = book(shop, "list.xlsx", Prices=[HEAD, *rows])
    asked: list[str] = []

    def ask(one: Matched) -> Matched | Literal["no", "later", "stop"]:
        asked.append(one.listed.part_no)
        answer = understood(one, ["2", "n", "", "q"][len(asked) - 1])
        assert answer is not None
        return answer

    question = ListAsked(path=listed, supplier="Abel", day=date(2026, 11, 25))
    added = add_prices(find_workshop(shop), question, How(), ask)
    assert asked == ["K0", "K1", "K2", "K3"]
    assert [str(one.matched.goods) for one in added.booked] == [
        "blade terminal, 6.3 mm, female, 1.0-2.5 mm2"
    ]
    assert [one.listed.part_no for one in added.doubtful] == ["K2", "K3", "K4"]
    assert [row["answer"] for row in kept(shop)] == ["yes", "no", "", "", ""]


@pytest.mark.parametrize(
    ("said", "sold"), [("1", ("each", 1)), ("2 x 50", ("pack", 50)), ("1x1", ("each", 1))]
)
def test_how_many_the_price_buys_may_be_said(said: str, sold: tuple[str, int]) -> None:
    """A bag of so many: the price is the bag's, and is not booked as the price of one."""
    one = matched("Spade terminal 6.3mm, 1.0-2.5mm2, bag")
    assert "how many are in a pack?" in one.doubts
    found = understood(one, said)
    assert isinstance(found, Matched) and found.sure and found.price == one.listed.price
    assert (found.sold_as, int(found.pack)) == sold
    assert found.goods == one.nearest[int(said[0]) - 1]


@pytest.mark.parametrize("said", ["0", "9", "1 x 0", "1 50", "yes", "x"])
def test_what_is_no_answer_is_asked_again(said: str) -> None:
    """Neither a candidate of those shown nor a word."""
    one = matched("M6 eyelet", form="each")
    assert understood(one, said) is None


def test_a_reel_by_its_metres() -> None:
    """What is measured is bought by the metre or as a reel."""
    one = matched("Thinwall cable 1.0mm2", colour="Red")
    assert "how many metres does the price buy?" in one.doubts
    reel, metre = understood(one, "1 x 50"), understood(one, "1 x 1")
    assert isinstance(reel, Matched) and (reel.sold_as, int(reel.pack)) == ("reel", 50)
    assert isinstance(metre, Matched) and (metre.sold_as, int(metre.pack)) == ("metre", 1)


def test_a_pack_that_is_not_read_is_asked_for(shop: Path) -> None:
    """Whole numbers under a heading that nobody knows: ten fuses would be booked as one.

    A column of the stock is none; the owner's word for it, or for nothing, is kept.
    """
    head, row = ("Article", "Lot", "Stock", "Net price"), ("Blade fuse 10A", 10, 37, "1.90")
    (problem,) = add(shop, row, head=head)["problems"]
    assert (problem["level"], problem["cell"]) == ("error", "B3")
    assert "'Lot' is not read" in problem["says"]
    for word, pack in (("pack", 10), ("", 1)):
        (shop / "workshop.toml").write_text(f'[columns.Lists]\n"Lot" = "{word}"\n')
        (booked,) = add(shop, row, head=head, per="pack")["booked"]
        assert (booked["pack"], booked["price"]) == (pack, "1.90")
    known = add(shop, ("Blade fuse 10A", 10, "1.90"), head=("Article", "Pk", "Price per pack"))
    assert [one["pack"] for one in known["booked"]] == [10]


def test_each_sheet_says_what_its_prices_are_for(shop: Path) -> None:
    """Prices of one, and prices of a pack: ten at 0.20 are 2.00, and so is a pack at 2.00."""
    listed = book(
        shop,
        "two.xlsx",
        Singly=[("Description", "Pack", "Price each"), ("Blade fuse 10A", 10, "0.20")],
        Packed=[("Description", "Pack", "Pack price"), ("Blade fuse 15A", 10, "2.00")],
    )
    done = bom("prices", "add", listed, "--supplier", "Abel", "--json", cwd=shop)
    assert [(one["pack"], one["price"]) for one in json.loads(done.stdout)["booked"]] == [
        (10, "2.00"),
        (10, "2.00"),
    ]
