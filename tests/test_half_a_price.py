"""While something has no price there is no total, whichever way the price goes out.

The job: 2 m of black cable at 0.50 are 1.00, and 2 m of pink that nobody sells.  Each wire is 1.5
minutes of cutting, 0.5 of testing and 10 of fitting at each end, 22 in all, so that both are 44: at
30 an hour 22.00.  So far 23.00, with 20 % tax of 4.60 27.60.  With pink at 0.90 it is 1.80 more:
24.80 and 4.96 are 29.76.  Both wires black are 2.00 and 22.00, with 4.80 28.80.
"""

import csv
import json
import re
from datetime import datetime
from pathlib import Path
from typing import Any

import pdfplumber
import pytest
from openpyxl import load_workbook

from bom.files import clock
from tests.shops import job, workshop
from tests.test_papers import pages, text_of
from tests.within import bom

PINK = "cable, 1.0 mm2, pink"
SO_FAR = f"so far 27.60; 1 item has no price: {PINK}"


@pytest.fixture(name="shop")
def _shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A workshop whose only supplier sells black cable alone."""
    monkeypatch.setattr(clock, "now", lambda: datetime(2026, 11, 25, 9))
    shop = workshop(
        tmp_path,
        prices=[("Abel", "cable", "1.0", "black", "metre", None, 0.5, None)],
        suppliers=[("Abel", 0, None, None, "no")],
    )
    wires(shop, "pink")
    return shop


def wires(shop: Path, colour: str, **more: Any) -> Path:
    """The job with its second wire in that colour."""
    rows = [("W1", "black", "1.0", 2), ("W2", colour, "1.0", 2)]
    return job(shop, rows, name="trike", rules={"hourly_rate": 30}, **more)


def said(shop: Path, *words: object) -> str:
    """What a command prints that has no errors."""
    done = bom(*words, cwd=shop)
    assert done.returncode == 0, done.stderr
    return str(done.stdout)


def has_no_total(text: str, sums: tuple[str, ...] = ("27.60", "27.6")) -> bool:
    """No word for it; and the sum stands nowhere but behind `so far`."""
    bare = re.sub(
        r"so far(?: without tax; 1 item has no price)?\s*£?\d+\.\d+", "", text, flags=re.I
    )
    return not re.search("total", text, re.I) and not any(one in bare for one in sums)


def cells(path: Path) -> list[str]:
    """The rows of all sheets of a workbook with money on them, each as a line."""
    sheets = load_workbook(path, data_only=True).worksheets
    rows = [
        [str(cell) for cell in row if cell is not None]
        for sheet in sheets
        if any("GBP" in str(head.value) for head in sheet[1])
        for row in sheet.iter_rows(values_only=True)
    ]
    return [" ".join(row) for row in rows]


def test_on_the_screen(shop: Path) -> None:
    """The estimate, the customer's sheet, and why."""
    customers = said(shop, "quote", "trike", "--customer", "--incomplete")
    for text in (said(shop, "quote", "trike"), customers, said(shop, "why", "trike", "total")):
        assert SO_FAR in " ".join(text.split())
        assert has_no_total(text)
    assert "Estimate: trike (incomplete)" in customers
    assert re.search(r"^cable, so far +1\.00$", customers, re.MULTILINE)
    assert "next: bom prices wanted trike --csv FILE\n" in said(shop, "quote", "trike")


def test_on_paper(shop: Path) -> None:
    """Under its title it says that it is incomplete; a deposit is no share of half a price."""
    wires(shop, "pink")
    (shop / "workshop.toml").write_text("tax_percent = 20\ndeposit_percent = 30\n")
    said(shop, "quote", "trike", "--pdf", "q.pdf", "--incomplete")
    text = text_of((shop / "q.pdf").read_bytes())
    assert has_no_total(text)
    assert re.search(r"Estimate.*Incomplete: 1 item has no price yet.*Price.*So far £27\.60", text)
    assert f"No price yet: {PINK}." in text
    assert "A deposit of 30 % is asked for before work begins." in text


@pytest.mark.parametrize("words", [(), ("--customer", "--incomplete")])
def test_in_a_workbook_and_a_csv(shop: Path, words: tuple[str, ...]) -> None:
    """Neither as a label nor as the result of a formula."""
    said(shop, "quote", "trike", *words, "--xlsx", "q.xlsx", "--csv", "q.csv")
    assert has_no_total("\n".join(cells(shop / "q.xlsx")))
    assert has_no_total((shop / "q.csv").read_text(encoding="utf-8-sig"))


def test_the_line_without_a_price_has_none(shop: Path) -> None:
    """Blank, not 0.00: in the list of the estimate, and in JSON null."""
    said(shop, "quote", "trike", "--csv", "q.csv")
    rows = csv.DictReader((shop / "q.csv").open(encoding="utf-8-sig"))
    (pink,) = (row for row in rows if row["item"] == PINK)
    assert (pink["cost GBP"], pink["price GBP"]) == ("", "")
    answer = json.loads(said(shop, "quote", "trike", "--json"))
    (line,) = (line for line in answer["lines"] if line["item"] == PINK)
    assert (line["cost"], line["price"]) == (None, None)


def test_in_json(shop: Path) -> None:
    """`total` is null, and so is all that would be half; labour is whole."""
    answer = json.loads(said(shop, "quote", "trike", "--json"))
    half = ("materials", "net", "tax", "total", "range")
    assert [answer[key] for key in half] == [None] * 5
    assert (answer["complete"], answer["labour"]) == (False, "22.00")
    assert (answer["so_far"], answer["unpriced"]) == ("27.60", [PINK])


def test_with_everything_priced_there_is_a_total(shop: Path) -> None:
    """On every way out, as ever."""
    wires(shop, "black")
    answer = json.loads(said(shop, "quote", "trike", "--json"))
    sums = ("materials", "labour", "net", "tax", "total")
    assert [answer[key] for key in sums] == ["2.00", "22.00", "24.00", "4.80", "28.80"]
    assert answer["complete"] is True and not {"so_far", "unpriced"} & {*answer}
    for words in ((), ("--customer",)):
        text = said(shop, "quote", "trike", *words)
        assert "TOTAL      28.80" in text and "so far" not in text
    said(shop, "quote", "trike", "--pdf", "q.pdf")
    assert "Total £28.80" in text_of((shop / "q.pdf").read_bytes())


def test_a_colour_that_nobody_sells_makes_no_job_cheaper(shop: Path) -> None:
    """28.80 in black; in pink no 27.60 that could be taken for the price."""
    wires(shop, "black")
    given = said(shop, "quote", "trike", "--give")
    assert "given as Q2026-001" in given and ": 28.80" in given
    wires(shop, "pink")
    text = said(shop, "quote", "trike")
    assert SO_FAR in text and has_no_total(text)
    assert "given as Q2026-001 on 2026-11-25: 28.80; now something has no price\n" in text


@pytest.mark.parametrize("words", [("--customer",), ("--pdf", "q.pdf"), ("--give",)])
def test_nothing_half_goes_to_the_customer(shop: Path, words: tuple[str, ...]) -> None:
    """It is said which, and the way on; JSON still says what there is."""
    done = bom("quote", "trike", *words, cwd=shop)
    assert (done.returncode, done.stdout) == (1, "")
    assert f"error: not for the customer: 1 item has no price: {PINK}\n" in done.stderr
    cure = "bom prices wanted trike --csv FILE, or the same with --incomplete"
    assert f"    try: {cure}\n" in done.stderr
    assert not {*shop.glob("*.pdf"), *shop.glob("register*"), *shop.glob("given")}
    answer = json.loads(bom("quote", "trike", *words, "--json", cwd=shop).stdout)
    assert (answer["total"], answer["so_far"]) == (None, "27.60")
    assert cure in [problem["try"] for problem in answer["problems"]]


def clips(count: int) -> list[str]:
    """Extras that nobody sells, by their names."""
    return [f"clip {number:02}" for number in range(1, count + 1)]


@pytest.mark.parametrize(
    ("count", "named"),
    [
        (3, "clip 01; clip 02; clip 03"),
        (4, "clip 01; clip 02; clip 03 and 1 more"),
        (50, "clip 01; clip 02; clip 03 and 47 more"),
    ],
)
def test_of_many_without_a_price_the_first_are_named(shop: Path, count: int, named: str) -> None:
    """To the customer, and where he gets nothing; the workshop's own estimate has them all."""
    wires(shop, "black", Extras=[(name, 1, None, None) for name in clips(count)])
    refused = bom("quote", "trike", "--give", cwd=shop).stderr
    says = f"error: not for the customer: {count} items have no price: {named}\n"
    assert says in refused and "price list" not in refused
    paper = shop / "q.pdf"
    shown = said(shop, "quote", "trike", "--customer", "--incomplete", "--pdf", "q.pdf")
    assert f"{count} items have no price: {named} 12 V" in " ".join(shown.split())
    assert f"No price yet: {named}. " in text_of(paper.read_bytes())
    assert len(pages(paper.read_bytes())) == 1
    assert f"no price: {'; '.join(clips(count))} " in " ".join(said(shop, "quote", "trike").split())


def test_what_is_so_far_does_not_look_like_a_total(shop: Path) -> None:
    """A total is set larger than its net, between heavy lines; `so far` like any other line."""
    sizes = {}
    for colour, word, words in (("black", "Total", ()), ("pink", "So", ("--incomplete",))):
        wires(shop, colour)
        said(shop, "quote", "trike", "--pdf", "q.pdf", *words)
        with pdfplumber.open(shop / "q.pdf") as document:
            (page,) = document.pages
            height = {
                found["text"]: found["size"] for found in page.extract_words(extra_attrs=["size"])
            }
            heavy = sum(line["linewidth"] > 0.5 for line in page.lines)
        sizes[word] = (round(height[word] / height["net"], 2), heavy)
    # 15 of 10.5 points; a heavy line under the letterhead, and two around the total
    assert sizes == {"Total": (1.43, 3), "So": (1.0, 1)}


def test_one_that_is_given_incomplete(shop: Path) -> None:
    """No sum of it stands in the register or among the jobs; the whole one replaces it."""
    text = said(shop, "quote", "trike", "--give", "--incomplete")
    assert "given as Q2026-001 on 2026-11-25, incomplete, valid until" in text
    assert has_no_total(text_of((shop / "given" / "Q2026-001" / "quotation.pdf").read_bytes()))
    rows = load_workbook(shop / "register.xlsx")["Register"].iter_rows(values_only=True)
    row = [*rows][1]
    assert row[6:8] == ("incomplete", "incomplete") and row[12] is None
    (known,) = json.loads(said(shop, "jobs", "--json"))["jobs"]
    assert (known["net"], known["at_cost"], known["hours_planned"]) == (None, None, 0.73)
    again = said(shop, "quote", "trike")
    assert "given as Q2026-001 on 2026-11-25, incomplete, and is so still\n" in again
    wires(shop, "white")
    assert "incomplete; it has changed since\n" in said(shop, "quote", "trike")
    wires(shop, "black")
    assert "incomplete; now 28.80\n" in said(shop, "quote", "trike")
    assert "28.80, valid until 2026-12-25; it replaces Q2026-001\n" in said(
        *(shop, "quote", "trike", "--give")
    )
    (known,) = json.loads(said(shop, "jobs", "--json"))["jobs"]
    assert (known["net"], known["at_cost"]) == ("24.00", "2.00")


def test_what_is_owed_of_an_incomplete_one_is_not_known(shop: Path) -> None:
    """Until an amount is billed: of 30.00 with 10.00 paid before 20.00 are left."""
    said(shop, "quote", "trike", "--give", "--incomplete")
    book = load_workbook(shop / "register.xlsx")
    book["Register"]["I2"], book["Register"]["J2"] = "yes", 10
    book.save(shop / "register.xlsx")
    assert json.loads(said(shop, "jobs", "--json"))["jobs"][0]["unpaid"] is None
    book["Register"]["K2"] = 30
    book.save(shop / "register.xlsx")
    assert json.loads(said(shop, "jobs", "--json"))["jobs"][0]["unpaid"] == "20.00"


def test_the_pack_has_no_quotation(shop: Path) -> None:
    """The bench gets its sheets; the workbook for the office goes on reckoning what there is."""
    done = bom("pack", "trike", "--out", "papers", cwd=shop)
    assert done.returncode == 0, done.stderr
    says = "no quotation.pdf of trike: 1 item has no price; try: bom prices wanted trike --csv FILE"
    assert says in done.stderr and "next: print bench.pdf for the bench\n" in done.stdout
    names = {path.name for path in (shop / "papers").iterdir()}
    assert "quotation.pdf" not in names and {"bench.pdf", "prices wanted.pdf"} < names
    rows = cells(shop / "papers" / "trike.xlsx")
    assert has_no_total("\n".join(rows)) and "so far 27.6" in rows
    assert f"1 item has no price: {PINK}" in rows


def test_an_order_holds_every_line(shop: Path) -> None:
    """2 m of black are 1.00; the pink ones stand there by the metre, their price blank."""
    text = said(shop, "order", "trike", "--xlsx", "o.xlsx", "--csv", "o.csv", "--pdf", "papers")
    assert "so far without tax; 1 item has no price      1.00" in text
    assert has_no_total(text.partition("cable by colour")[0], ("1.00 GBP",))
    assert re.search(r"^pink +2$", text.partition("cable by colour")[2], re.MULTILINE)
    lines = cells(shop / "o.xlsx")
    assert f"{PINK} metre 1 2" in lines and has_no_total("\n".join(lines), ())
    rows = list(csv.DictReader((shop / "o.csv").open(encoding="utf-8-sig")))
    (pink,) = (row for row in rows if row["item"] == PINK)
    assert (pink["packs"], pink["price GBP"], pink["cost GBP"]) == ("2", "", "")
    answer = json.loads(said(shop, "order", "trike", "--json"))
    assert (answer["total"], answer["so_far"]) == (None, "1.00")
    assert [one["item"] for one in answer["unpriced"]] == [PINK]
    paper = text_of((shop / "papers" / "prices wanted.pdf").read_bytes())
    assert f"{PINK} metre 1 2" in paper and has_no_total(paper)


# ---------------------------------------------------------------------- prices wanted


def wanted(shop: Path, *jobs: str) -> list[dict[str, str]]:
    """The rows of the list to fill in."""
    said(shop, "prices", "wanted", *jobs, "--csv", "wanted.csv")
    return list(csv.DictReader((shop / "wanted.csv").open(encoding="utf-8-sig", newline="")))


def filled_in(shop: Path, rows: list[dict[str, str]], **columns: list[str]) -> None:
    """Type into the columns of the list, from the top, as a spreadsheet program saves it."""
    for name, typed in columns.items():
        for row, text in zip(rows, typed, strict=False):
            row["price GBP" if name == "price" else name.replace("_", " ")] = text
    with (shop / "wanted.csv").open("w", encoding="utf-8", newline="") as stream:
        writer = csv.DictWriter(stream, rows[0], delimiter=";")
        writer.writeheader()
        writer.writerows(rows)


def test_the_list_comes_back_and_the_price_is_whole(shop: Path) -> None:
    """0.90 typed beside the pink: 29.76, and nothing is wanted any more."""
    rows = wanted(shop, "trike")
    assert [(row["item"], row["gauge"], row["colour"], row["wanted"]) for row in rows] == [
        ("cable", "1.0", "pink", "2 m")
    ]
    assert (rows[0]["sold as"], rows[0]["pack"], rows[0]["price GBP"]) == ("metre", "", "")
    filled_in(shop, rows, supplier=["Abel"], price=["0.90"], part_no=["PK-1"])
    added = said(shop, "prices", "add", "wanted.csv")
    assert "Abel: 1 price booked, 1 new" in added and "PK-1" in added
    assert "TOTAL      29.76" in said(shop, "quote", "trike")
    assert "everything has a price" in said(shop, "prices", "wanted", "trike")
    assert wanted(shop, "trike") == []


def test_a_pack_may_have_the_metre_beside_it(shop: Path) -> None:
    """A reel of `10 m` at 5.00: the 2 m are one reel, 1.00 + 5.00 + 22.00, and 20 % tax."""
    rows = wanted(shop, "trike")
    rows[0]["sold as"] = "reel"
    filled_in(shop, rows, supplier=["Abel"], price=["5.00"], pack=["10 m"])
    said(shop, "prices", "add", "wanted.csv")
    assert json.loads(said(shop, "quote", "trike", "--json"))["total"] == "33.60"


def test_blank_prices_are_left_for_the_next_time(shop: Path) -> None:
    """Of three one has no price yet: told, and wanted again; extras are ours by their name."""
    extras = [("-saddle clip", 4, None, None), ("rubber band, wide", 2, None, None)]
    wires(shop, "pink", Extras=extras)
    rows = wanted(shop, "trike")
    assert [row["item"] for row in rows] == ["cable", "'-saddle clip", "rubber band, wide"]
    filled_in(shop, rows, price=["0.90", "", "3.00"], pack=["", "", "10"])
    rows[2]["sold as"] = "pack"
    filled_in(shop, rows)
    added = json.loads(said(shop, "prices", "add", "wanted.csv", "--supplier", "Abel", "--json"))
    assert (added["supplier"], added["without_price"], added["written"]) == ("Abel", 1, True)
    assert [(one["item"], one["sold_as"], one["pack"]) for one in added["booked"]] == [
        ("cable", "metre", 1),
        ("rubber band, wide", "pack", 10),
    ]
    (left,) = wanted(shop, "trike")
    assert left["item"] == "'-saddle clip"
    filled_in(shop, [left], price=["0.20"], supplier=["Abel"])
    said(shop, "prices", "add", "wanted.csv")
    assert json.loads(said(shop, "quote", "trike", "--json"))["complete"] is True


def test_several_suppliers_in_one_list(shop: Path) -> None:
    """Each row goes to whom it names; where a supplier's prices have tax, the list keeps it."""
    book = load_workbook(shop / "suppliers.xlsx")
    book["Suppliers"].append(("Berta", 0, None, None, "yes"))
    book.save(shop / "suppliers.xlsx")
    wires(shop, "pink", Extras=[("saddle clip", 1, None, None)])
    filled_in(shop, wanted(shop, "trike"), supplier=["abel", "Berta"], price=["0.90", "1.20"])
    assert "Abel and Berta: 2 prices booked, 2 new" in said(shop, "prices", "add", "wanted.csv")
    answer = json.loads(said(shop, "quote", "trike", "--json"))
    (clip,) = (line for line in answer["lines"] if line["item"] == "saddle clip")
    assert (clip["cost"], answer["complete"]) == ("1.00", True)
    again = json.loads(said(shop, "prices", "add", "wanted.csv", "--json"))["booked"]
    assert [(one["supplier"], one["was"]) for one in again] == [("Abel", "0.90"), ("Berta", "1.20")]


def test_the_list_as_a_workbook(shop: Path) -> None:
    """`--xlsx` writes the same list, and it is taken back."""
    said(shop, "prices", "wanted", "trike", "--xlsx", "wanted.xlsx")
    book = load_workbook(shop / "wanted.xlsx")
    sheet = book.worksheets[0]
    heads = [cell.value for cell in sheet[1]]
    for heading, value in (("supplier", "Abel"), ("price GBP", 0.9)):
        sheet.cell(row=2, column=heads.index(heading) + 1, value=value)
    book.save(shop / "wanted.xlsx")
    said(shop, "prices", "add", "wanted.xlsx")
    assert "TOTAL      29.76" in said(shop, "quote", "trike")


def test_what_lies_on_the_shelf_at_no_known_cost_is_wanted_too(shop: Path) -> None:
    """A reel without a cost has no price to go by; of two jobs the need is added up."""
    shelf = load_workbook(shop / "stock.xlsx")
    shelf["Cable"].append(("R1", "1.0", "pink", "20 m", None))
    shelf.save(shop / "stock.xlsx")
    job(shop, [("W1", "pink", "1.0", 3)], name="cart")
    (row,) = wanted(shop, "trike", "cart")
    assert (row["colour"], row["wanted"], row["for"]) == ("pink", "5 m", "trike, cart")


def test_outside_a_workshop_there_is_nothing_to_add_it_to(tmp_path: Path) -> None:
    """The list is written; the prices need a workshop."""
    book = job(tmp_path / "loose", [("W1", "pink", "1.0", 2)])
    said(tmp_path, "prices", "wanted", book, "--csv", "wanted.csv")
    done = bom("prices", "add", "wanted.csv", cwd=tmp_path)
    assert done.returncode == 1 and "there is no workshop here" in done.stderr


def test_a_job_with_errors_wants_no_prices(shop: Path) -> None:
    """Its errors come first, and no file is written."""
    wires(shop, "gren")
    done = bom("prices", "wanted", "trike", "--csv", "wanted.csv", cwd=shop)
    assert (done.returncode, done.stdout) == (1, "")
    assert "gren" in done.stderr and not (shop / "wanted.csv").exists()
