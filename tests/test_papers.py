"""The job on paper, read back from the PDF: nothing cut, overlapping or given away.

Sums are those of `bom quote --json`; amounts by hand stand beside the small job.
"""

import io
import json
import random
import re
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

import openpyxl
import pdfplumber
import pytest

from bom.estimate import Bought, quote_for
from bom.files.names import file_name
from bom.files.table import xlsx_bytes
from bom.show.cost_sheet import job_workbook
from bom.show.paper import pdf
from bom.show.papers import job_papers, order_papers, quotation
from bom.show.shared import BENCH_CAUTIONS
from bom.trade.needs import ELSEWHERE
from bom.trade.quotes import Quote
from tests.books import book as write_book
from tests.fixture_books import operated
from tests.office import converted
from tests.shops import job, workshop
from tests.slow import one_in
from tests.within import JOBS, ROOT, SAMPLES, bom

TODAY = date(2026, 11, 25)
HOSTILE = "Иван #[]*_$@<>\\ `x` \"q\" // /* ~ 'a'"
MOST_PAGES = 30
"""A loom at full size has more, of the same kind; reading them takes long."""

SLACK_PT = 0.5
"""Glyph boxes of neighbouring words may touch by so many points."""


@pytest.fixture(scope="module", params=one_in(3, SAMPLES))
def sample(request: pytest.FixtureRequest) -> tuple[Bought, Quote, dict[str, bytes]]:
    """A sample job with its estimate and its sheets."""
    bought, estimate = quote_for(JOBS / f"{request.param}.xlsx")
    assert estimate is not None
    papers = job_papers(bought, estimate, TODAY) | order_papers(bought, TODAY)
    return bought, estimate, papers


@dataclass(frozen=True)
class Page:
    """What pdfplumber finds on a page."""

    width: float
    height: float
    words: list[dict[str, Any]]
    text: str
    shapes: list[dict[str, Any]]


@cache
def pages(data: bytes) -> tuple[Page, ...]:
    """The first pages, read once."""
    with pdfplumber.open(io.BytesIO(data), pages=list(range(1, MOST_PAGES + 1))) as book:
        return tuple(
            Page(
                width=page.width,
                height=page.height,
                words=page.extract_words(),
                text=page.extract_text() or "",
                shapes=[*page.rects, *page.curves, *page.lines],
            )
            for page in book.pages
        )


def text_of(data: bytes) -> str:
    """All text, with single spaces."""
    return " ".join(" ".join(page.text for page in pages(data)).split())


def test_no_word_is_outside_its_page_or_on_another(
    sample: tuple[Bought, Quote, dict[str, bytes]],
) -> None:
    """Every sheet of every sample, by the boxes of its words."""
    assert_whole(sample[2])


def assert_whole(papers: Mapping[str, bytes]) -> None:
    """All words on their pages, none on another."""
    for name, data in papers.items():
        for page in pages(data):
            assert page.words, name
            for word in page.words:
                assert word["x0"] >= 0 and word["x1"] <= page.width, (name, word["text"])
                assert word["top"] >= 0 and word["bottom"] <= page.height, (name, word["text"])
            assert not list(overlapping(page.words)), name


def overlapping(words: list[dict[str, Any]]) -> Iterator[tuple[str, str]]:
    """Pairs of words whose boxes lie on each other by more than the slack, line by line."""
    ordered = sorted(words, key=lambda word: word["top"])
    for at, word in enumerate(ordered):
        for other in ordered[at + 1 :]:
            if other["top"] >= word["bottom"] - SLACK_PT * 4:
                break
            across = min(word["x1"], other["x1"]) - max(word["x0"], other["x0"])
            if across > SLACK_PT:
                yield word["text"], other["text"]


def test_the_same_job_gives_the_same_bytes(sample: tuple[Bought, Quote, dict[str, bytes]]) -> None:
    """Date of the sheet and all."""
    bought, estimate, papers = sample
    assert job_papers(bought, estimate, TODAY) | order_papers(bought, TODAY) == papers


def test_the_quotation_says_what_the_quote_says(
    sample: tuple[Bought, Quote, dict[str, bytes]],
) -> None:
    """Net, tax and total, to the penny, with the pound in front and thousands parted."""
    bought, _, papers = sample
    answer = json.loads(bom("quote", bought.jobs[0].path, "--json").stdout)
    text = text_of(papers["quotation.pdf"])
    for key in ("net", "tax", "total"):
        assert f"£{float(answer[key]):,.2f}" in text
    assert "25 November 2026" in text and "25 December 2026" in text


def test_the_customer_sees_no_cost_no_markup_and_no_supplier(
    sample: tuple[Bought, Quote, dict[str, bytes]],
) -> None:
    """Nor an item of the shelf, a piece, a part number or hours."""
    bought, estimate, papers = sample
    text = text_of(papers["quotation.pdf"]).casefold()
    for supplier in {line.supplier for line in bought.order.lines}:
        assert supplier.casefold() not in text
    for word in ("markup", "mark-up", "cost", "hours", "supplier", "proved"):
        assert word not in text
    of_ours = [line for line in estimate.lines if line.group not in ("labour", "extras")]
    assert not any(line.item.casefold() in text for line in of_ours)  # extras are the owner's own
    groups = {line.group for line in estimate.lines}
    allowed = {f"{total:,.2f}" for total in (estimate.net, estimate.tax, estimate.total)}
    allowed |= {
        f"{sum(line.price for line in estimate.lines if line.group == group):,.2f}"
        for group in groups
    }
    assert set(re.findall(r"£([\d,]+\.\d\d)", text)) == allowed


def test_the_cut_list_and_the_bench_have_every_wire_with_its_colour_in_words(
    sample: tuple[Bought, Quote, dict[str, bytes]],
) -> None:
    """Length and colour of each cut; a box to tick for each, and three for each wire."""
    bought, _, papers = sample
    text = text_of(papers["cut.pdf"])
    for cut in bought.cut_list.cuts:
        assert f"{cut.length_mm} mm {cut.wire} " in text
        assert str(cut.colour) in text
    assert len(all_boxes(papers["cut.pdf"])) == len(bought.cut_list.cuts)
    wires = bought.jobs[0].sized.wires if bought.jobs[0].sized else ()
    assert len(all_boxes(papers["bench.pdf"])) >= 3 * len(wires)


def all_boxes(data: bytes) -> list[dict[str, Any]]:
    """The boxes to tick of all pages."""
    return [box for page in pages(data) for box in boxes(page)]


def boxes(page: Page) -> list[dict[str, Any]]:
    """The boxes to tick: 3.2 mm are 9.07 pt."""
    return [
        shape
        for shape in page.shapes
        if abs(shape["width"] - 9.07) < 0.3 and abs(shape["height"] - 9.07) < 0.3
    ]


SHORTER = (
    *("Disconnect the battery first", "No heat gun, flame or soldering iron near petrol"),
    *("A battery on charge gives off hydrogen", "Pull on every crimp"),
    *("No solder where it shakes", "fuse at the battery", "Test every wire before first power"),
    "First power goes through a small fuse or a lamp in series",
    "Measure the charging voltage after the first start",
    "Check lights, horn, brake lamp and kill switch; road test before handing over",
    "where the law asks for a licensed practitioner, use one",
)
"""Each caution as README has it."""


def test_every_caution_is_on_the_bench_and_in_readme(
    sample: tuple[Bought, Quote, dict[str, bytes]],
) -> None:
    """Once on the first page of the bench, above the wires; once in README, perhaps shorter."""
    first = pages(sample[2]["bench.pdf"])[0]
    care = " ".join(word["text"] for word in by_column(first))
    for caution in BENCH_CAUTIONS:
        assert care.count(caution) == 1
    assert len(boxes(first)) >= 6
    block = (ROOT / "README.md").read_text(encoding="utf-8").split("**Take care.**")[1]
    readme = " ".join(block.partition("\n\n")[0].replace("\n>", " ").split())
    assert [readme.count(words) for words in SHORTER] == [1] * len(BENCH_CAUTIONS)


def by_column(page: Page) -> list[dict[str, Any]]:
    """The words of the left half line by line, then those of the right half."""
    return sorted(
        page.words,
        key=lambda word: (word["x0"] > page.width / 2, round(word["bottom"]), word["x0"]),
    )


TESTED = ("goes", "short", "insulation", "fuse")
"""A word of each heading on the test sheet that has boxes below it."""


def ticks(data: bytes) -> dict[str, list[bool]]:
    """Wire -> whether there is a box to tick under each of those headings."""
    found = {}
    for page in pages(data):
        line = next((word["top"] for word in page.words if word["text"] == "measured"), None)
        if line is None:
            continue
        across = {word["text"]: word for word in page.words if abs(word["top"] - line) < 1}
        columns = [across[word] for word in TESTED]
        end = first_power(page, line)
        for word in page.words:
            beside = [box for box in boxes(page) if abs(box["top"] - word["top"]) < 4]
            first = abs(word["x0"] - across["wire"]["x0"]) < 1
            if first and line < word["top"] < end and beside:
                found[word["text"]] = [
                    any(
                        box["x0"] < column["x1"] + 20 and box["x1"] > column["x0"] - 4
                        for box in beside
                    )
                    for column in columns
                ]
    return found


def first_power(page: Page, below: float) -> float:
    """Where the heading `First power` stands, or the page ends."""
    tops = [word["top"] for word in page.words if word["text"] == "First" and word["top"] > below]
    return min(tops, default=page.height)


def test_an_earth_has_no_box_for_a_short_to_earth(tmp_path: Path) -> None:
    """Nor a wire without a fuse one for its fuse; a return that is live keeps its box.

    A charging wire ends at the live pole; from horn to button there is earth behind the button
    alone.  An earth through a plug or from earth to earth is one.
    """
    head = ("wire", "circuit", "from", "to", "colour", "gauge", "fuse", "length")
    rows = [
        ("F1", "lamp", "battery:+", "lamp:feed", "red", "1.0", "main", 1),
        ("E1", "earth", "lamp:back", "plug:5", "black", "1.0", None, 1),
        ("E2", "earth", "plug:5", "frame earth", "black", "1.0", None, 1),
        ("E3", "earth", "frame earth", "battery:-", "black", "1.0", None, 1),
        ("F2", "horn", "battery:+", "horn:feed", "purple", "1.0", None, 1),
        ("H1", "horn", "horn:out", "button", "purple", "1.0", None, 1),
        ("H2", "horn", "button", "frame earth", "black", "1.0", None, 1),
        ("C1", "charging", "regulator:plus", "battery:+", "brown", "1.0", None, 1),
    ]
    book = write_book(
        workshop(tmp_path) / "jobs",
        "earths.xlsx",
        Job=[("item", "value"), ("end", "bare")],
        Circuits=[head, *rows],
        Components=[
            ("component", "load", "passes"),
            *(("lamp", "5 W"), ("horn", "2 A"), ("plug", None, "pin to pin")),
        ],
        Fuses=[("fuse", "rating"), ("main", 5)],
    )
    bought, estimate = quote_for(book)
    assert estimate is not None, [str(problem) for problem in bought.problems]
    papers = job_papers(bought, estimate, TODAY) | order_papers(bought, TODAY)
    assert_whole(papers)
    live, earth = [True, True, True, False], [True, False, True, False]
    assert ticks(papers["bench.pdf"]) == {
        **{"F1": [True] * 4, "F2": live, "H1": live, "C1": live},
        **{"E1": earth, "E2": earth, "E3": earth, "H2": earth},
    }


def test_the_test_sheets_of_the_samples_tell_earths_from_live_returns(
    sample: tuple[Bought, Quote, dict[str, bytes]],
) -> None:
    """Coil to points, lamp to oil switch, charging and a relay's coil to its switch are live."""
    bought, _, papers = sample
    of_sample = {
        "single": (("4", "8", "9", "29"), ("5", "23", "30", "31", "32")),
        "twin": (("G5", "I5", "N1", "N4"), ("G6", "L5", "E4", "E7", "P3", "P8")),
        "carrier": (("16", "22", "25", "60"), ("26", "31", "B24", "B25", "99")),
    }
    live, earths = of_sample[bought.jobs[0].name]
    found = ticks(papers["bench.pdf"])
    assert len(found) == len(bought.jobs[0].sized.wires if bought.jobs[0].sized else ())
    assert {wire: found[wire][1] for wire in (*live, *earths)} == {
        **dict.fromkeys(live, True),
        **dict.fromkeys(earths, False),
    }
    fuses = {  # the first wire behind each, by the column `fuse` of its Circuits
        "single": {"2"},
        "twin": {"P5", "G4", "I1", "H1", "L1", "T1", "B1", "U1"},
        "carrier": {"5", "8", "15", "18", "27", "33", "55", "69", "83", "92", "94"},
    }
    assert {wire for wire, boxed in found.items() if boxed[3]} == fuses[bought.jobs[0].name]


def test_first_power_charging_and_the_road_test_are_filled_in_below_the_wires(
    sample: tuple[Bought, Quote, dict[str, bytes]],
) -> None:
    """On one page with the last wires of the test sheet, a box for each thing tried."""
    (page,) = [p for p in pages(sample[2]["bench.pdf"]) if "tested by" in p.text]
    for words in (
        *("a small fuse of", "a lamp in series of", "at idle", "at road revs", "lights"),
        *("indicators", "horn", "brake lamp, front brake", "brake lamp, rear brake"),
        "kill switch",
    ):
        assert words in page.text
    line = next(word["top"] for word in page.words if word["text"] == "measured")
    heading = first_power(page, line)
    above = [box for box in boxes(page) if line < box["top"] < heading]
    assert len([box for box in boxes(page) if box["top"] > heading]) == 2 + 6
    assert len(above) >= 2 * 3  # of three wires at the least


def test_each_supplier_gets_its_own_lines_and_sum(
    sample: tuple[Bought, Quote, dict[str, bytes]],
) -> None:
    """All items at that supplier, none of another's, goods and postage together."""
    bought, _, papers = sample
    assert not any("elsewhere" in name for name in papers)
    for supplier in {line.supplier for line in bought.order.lines} - {ELSEWHERE}:
        text = text_of(papers[file_name(f"order {supplier}", ".pdf", set())])
        own = [line for line in bought.order.lines if line.supplier == supplier]
        goods = sum(line.cost for line in own)
        assert f"£{goods + bought.order.postage.get(supplier, 0):,.2f}" in text
        parts = {line.part_no for line in bought.order.lines if line.part_no}
        assert {part for part in parts if f"{part} " in f"{text} "} >= {
            line.part_no for line in own if line.part_no
        }


def small(folder: Path, **rules: Any) -> tuple[Bought, Quote]:
    """One wire of 2 m at 0.50 a metre, and labour that costs nothing: by hand 1.00."""
    shop = workshop(
        folder,
        prices=[("Abel", "cable", "1.0", None, "metre", None, 0.5, None)],
        suppliers=[("Abel", 0, None, None, "no")],
    )
    book = job(
        shop,
        [("W1", "red", "1.0", 2)],
        rules={"hourly_rate": 0, "customer": HOSTILE, "machine": "a" * 60, **rules},
    )
    bought, estimate = quote_for(book)
    assert estimate is not None, [str(problem) for problem in bought.problems]
    return bought, estimate


def test_text_is_printed_as_typed(tmp_path: Path) -> None:
    """Cyrillic, and all that the template language takes for markup."""
    bought, estimate = small(tmp_path, terms=HOSTILE, address="#let x = 1; [street]; *bold*")
    text = text_of(quotation(bought, estimate, TODAY))
    assert text.count(HOSTILE) == 2
    assert "#let x = 1" in text and "[street]" in text and "*bold*" in text


def test_rules_of_the_house_on_the_quotation(tmp_path: Path) -> None:
    """2 m at 0.50 and 20 % are 1.20; a quarter of it is 0.30; in German as Germans write it."""
    rules = {"deposit_percent": 25, "number": "Q 17", "valid_days": 10}
    bought, estimate = small(tmp_path / "a", **rules)
    text = text_of(quotation(bought, estimate, TODAY))
    assert "A deposit of 25 %, £0.30, is asked for before work begins." in text
    assert "5 December 2026" in text and "£1.20" in text
    assert "Q 17" not in text  # it is printed of what is given under it: test_register.py
    bought, estimate = small(tmp_path / "b", locale="de_DE", currency="EUR")
    text = text_of(quotation(bought, estimate, TODAY))
    assert "1,20 €" in text.replace("\xa0", " ") and "25. November 2026" in text


def test_a_logo_stands_on_the_letterhead(tmp_path: Path) -> None:
    """A picture from the workshop's folder; one that is none is told, and nothing printed."""
    drawn = '<svg xmlns="http://www.w3.org/2000/svg" width="40" height="20">'
    drawn += '<rect width="40" height="20" fill="#123456"/></svg>'
    (tmp_path / "logo.svg").write_text(drawn)
    bought, estimate = small(tmp_path, logo="logo.svg")
    with_logo = quotation(bought, estimate, TODAY)
    assert quotation(*small(tmp_path / "b"), TODAY) != with_logo
    path = bought.jobs[0].path
    for name, says in (
        ("logo.svg", "cannot be printed: "),
        ("none.png", "logo 'none.png': there is no such file"),
        ("workshop.toml", "logo 'workshop.toml': neither a .png nor an .svg"),
    ):
        (tmp_path / "logo.svg").write_text("<svg")
        small(tmp_path, logo=name)
        done = bom("quote", path, "--pdf", tmp_path / "q.pdf")
        assert done.returncode == 1 and f"error: {says}" in done.stderr
        assert not (tmp_path / "q.pdf").exists()


def test_a_locale_that_is_none_is_told(tmp_path: Path) -> None:
    """Nothing is printed then."""
    bought, _ = small(tmp_path, locale="xx")
    done = bom("pack", bought.jobs[0].path, "--out", tmp_path / "papers")
    assert done.returncode == 1
    assert "error: locale 'xx' is not known\n    try: en_GB, de_DE, fr_FR ..." in done.stderr
    assert not (tmp_path / "papers").exists()


@pytest.mark.slow
def test_two_hundred_wires_in_a_branch_and_long_names(tmp_path: Path) -> None:
    """Every sheet is whole: no word off its page, none on another; all wires are there."""
    name = "a lamp with a name without end"
    rows = [
        (
            f"wire {n}",
            f"circuit {n} {name}",
            f"{name} {n}:pin",
            f"tail {name}:{n}",
            "blue/white",
            "1.0",
        )
        for n in range(200)
    ]
    head = ("wire", "circuit", "from", "to", "colour", "gauge", "load")
    shop = workshop(tmp_path)
    book = write_book(
        shop / "jobs",
        "long.xlsx",
        Job=[("item", "value"), ("job", "long"), ("end", "bare"), ("customer", name * 2)],
        Circuits=[head, *((*row, "1 W") for row in rows)],
        Loom=[("from", "to", "length"), ("front", f"tail {name}", 1.2)],
        Components=[("component", "at"), *((f"{name} {n}", "front") for n in range(200))],
    )
    bought, estimate = quote_for(book)
    assert estimate is not None, [str(problem) for problem in bought.problems][:3]
    papers = job_papers(bought, estimate, TODAY) | order_papers(bought, TODAY)
    assert_whole(papers)
    text = text_of(papers["bench.pdf"])
    assert all(f"wire {n} " in text for n in range(200))
    assert "200 wires" in text


def test_a_word_wider_than_the_page_is_broken(tmp_path: Path) -> None:
    """A customer of 150 letters, a wire of 60 and a point of 90 stay on their sheets, whole."""
    shop = workshop(tmp_path)
    wire, point = "w" * 60, "lamp" * 22 + "po"
    book = write_book(
        shop / "jobs",
        "wide.xlsx",
        Job=[("item", "value"), ("customer", "x" * 150), ("machine", "y" * 120), ("end", "bare")],
        Circuits=[
            ("wire", "circuit", "from", "to", "colour", "gauge", "load", "length"),
            (wire, "c" * 80, "battery", f"{point}:{'p' * 40}", "red", "1.0", "1 W", 1),
        ],
    )
    bought, estimate = quote_for(book)
    assert estimate is not None, [str(problem) for problem in bought.problems]
    papers = job_papers(bought, estimate, TODAY) | order_papers(bought, TODAY)
    papers["quotation.pdf"] = quotation(bought, estimate, TODAY)
    assert_whole({name: data for name, data in papers.items() if name.endswith(".pdf")})
    printed = text_of(papers["quotation.pdf"])
    assert printed.count("x") >= 150 and printed.count("y") >= 120
    assert text_of(papers["bench.pdf"]).count("w") >= 60


LABELS = {
    "title": "labels",
    "cautions": [],
    "columns": 3,
    "rows": 10,
    "margin": 10,
    "gap": 2,
}


def test_labels_stand_on_their_grid() -> None:
    """3 x 10 on A4, edges of 10 and gaps of 2 mm: (190 - 4) / 3 = 62, (277 - 18) / 10 = 25.9.

    Long text gets smaller and is then cut, never outside its box.
    """
    long = "a very long name of a wire that nobody would ever print on a flag " * 2
    colour = {"colour": "light green/brown", "body": "#90ee90", "trace": "#8b4513"}
    labels = [{"wire": f"W{n}", "circuit": long, "ends": "a → b", **colour} for n in range(31)]
    data = pdf("labels", {**LABELS, "labels": labels})
    first, second = pages(data)
    mm = 72 / 25.4
    words = [word for word in first.words if re.fullmatch(r"W\d+", word["text"])]
    assert len(words) == 30
    for number, word in enumerate(words):
        row, column = divmod(number, 3)
        left, top = (10 + 64 * column) * mm, (10 + 27.9 * row) * mm
        assert left < word["x0"] < word["x1"] < left + 62 * mm
        assert top < word["top"] < word["bottom"] < top + 25.9 * mm
    for word in (*first.words, *second.words):
        assert any(
            (10 + 64 * c) * mm - 0.1 <= word["x0"] and word["x1"] <= (72 + 64 * c) * mm + 0.1
            for c in range(3)
        ), word["text"]
    assert "…" in first.text


def test_a_picture_at_full_size_is_printed_one_to_one() -> None:
    """A line of 100 mm on a page of 200 x 150 mm is 100 mm long: 283.46 pt."""
    drawn = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="150mm" '
        'viewBox="0 0 200 150"><path d="M20 50 H120" stroke="black" stroke-width="1"/></svg>'
    )
    shown = {
        **{"title": "t", "heading": "t", "about": [], "cautions": [], "wires": [], "ends": []},
        **{"leads": [], "branches": [], "tests": [], "accepted": [], "road-test": []},
        "pictures": [{"svg": drawn, "width": 200, "height": 150}],
    }
    *_, page = pages(pdf("bench", shown))
    assert (round(page.width, 1), round(page.height, 1)) == (566.9, 425.2)
    (line,) = [shape for shape in page.shapes if shape["width"] > 200]
    assert line["width"] == pytest.approx(100 * 72 / 25.4, abs=0.3)


# How much paper, and how it is filled

MOST_OF = {
    # bench and cut list together were 9, 19 and 25 pages
    "single": {"bench.pdf": 3, "cut.pdf": 1, "labels.pdf": 3, "quotation.pdf": 1},
    "twin": {"bench.pdf": 7, "cut.pdf": 2, "labels.pdf": 6, "quotation.pdf": 1},
    "carrier": {"bench.pdf": 10, "cut.pdf": 2, "labels.pdf": 9, "quotation.pdf": 1},
}
SECTIONS = ("Making", "What", "Test")


def test_the_papers_take_no_more_pages_than_they_need(
    sample: tuple[Bought, Quote, dict[str, bytes]],
) -> None:
    """The bench with its cut list half of what it took, the cut list two pages to pin up."""
    bought, _, papers = sample
    for name, most in MOST_OF[bought.jobs[0].name].items():
        assert len(pages(papers[name])) <= most, name


def test_no_page_has_fewer_than_three_rows_of_a_table(
    sample: tuple[Bought, Quote, dict[str, bytes]],
) -> None:
    """Of the wires to make up and those to be tested; and of the cut list on any page."""
    _, _, papers = sample
    for rows in rows_by_section(papers["bench.pdf"]).values():
        assert all(count >= 3 for count in rows), rows
    assert all(len(boxes(page)) >= 3 for page in pages(papers["cut.pdf"]))


def rows_by_section(data: bytes) -> dict[str, list[int]]:
    """How many rows with boxes each page has, by the first word of the heading above them."""
    found: dict[str, list[int]] = {"Making": [], "Test": []}
    here = ""
    for page in pages(data):
        starts = {
            name: word["top"]
            for word in page.words
            if (name := word["text"].replace("\u200b", "")) in SECTIONS  # where words may break
            and word["x0"] < 40
            and word["bottom"] - word["top"] > 11
        }
        marks = [(0.0, here), *sorted((top, name) for name, top in starts.items())]
        ends = [top for top, _ in marks[1:]] + [page.height]
        for (top, name), end in zip(marks, ends, strict=True):
            low = min(end, first_power(page, top)) if name == "Test" else end
            rows = {round(box["top"]) for box in boxes(page) if top < box["top"] < low}
            if rows and name in found:
                found[name].append(len(rows))
        here = marks[-1][1]
    return found


@pytest.mark.parametrize("count", one_in(4, range(24, 64)))
def test_of_any_number_of_wires_no_page_has_fewer_than_three(count: int) -> None:
    """However many there are, the last three are on one page, and the first three."""
    end = {"at": "a lamp:feed", "letter": "A", "style": "ring M6", "strip": "7", "first-on": True}
    cable = {"gauge": "1.0", "colour": "red", "body": "#cc2222", "trace": None}
    wire = {**cable, "wire": "W1", "from": {**end, "with": ""}, "to": {**end, "with": "W2 W3"}}
    wire["holder"] = "fuse main, 15 A: in-line fuse holder, blade" if count % 2 else None
    test = {"wire": "W1", "from": "a", "to": "b", "is-earth": False, "fuse": "15 A", "amps": "2 A"}
    shown = {
        **{"title": "t", "about": [], "cautions": [], "accepted": [], "pictures": []},
        **{
            "road-test": ["horn"],
            "ends": [],
            "leads": [],
            "branches": [],
            "wires": [wire] * count,
            "tests": [test] * count,
        },
    }
    found = rows_by_section(pdf("bench", shown))
    assert {name: sum(rows) for name, rows in found.items()} == {"Making": count, "Test": count}
    assert all(rows >= 3 for own in found.values() for rows in own)


def test_no_word_of_the_job_is_broken(sample: tuple[Bought, Quote, dict[str, bytes]]) -> None:
    """Names of wires, points, circuits and colours stand whole where they are needed."""
    bought, _, papers = sample
    on = {
        name: {word["text"] for page in pages(papers[name]) for word in page.words}
        for name in ("cut.pdf", "bench.pdf", "labels.pdf")
    }
    for wire in bought.jobs[0].sized.wires if bought.jobs[0].sized else ():
        own = wire.wire
        ends = f"{own.start} {own.finish}".split()
        assert on["bench.pdf"] >= {own.label, *ends, *str(own.colour).split()}
        assert on["cut.pdf"] >= {own.label, *own.circuit.split(), *str(own.colour).split()}
        assert on["labels.pdf"] >= {own.label, *ends, *str(own.colour).split()}


def test_a_wire_is_a_line_where_it_fits(
    sample: tuple[Bought, Quote, dict[str, bytes]],
) -> None:
    """Name, colour, both ends and where they sit: of nine wires in ten in one line of the bench."""
    bought, _, papers = sample
    lines = [line.split() for page in pages(papers["bench.pdf"]) for line in page.text.split("\n")]
    wires = bought.jobs[0].sized.wires if bought.jobs[0].sized else ()
    whole = 0
    for wire in wires:
        own = wire.wire
        words = f"{own.label} {own.colour} {own.start} {wire.start_end} {own.finish}".split()
        whole += any(line[0] == own.label and {*words} <= {*line} for line in lines if line)
    assert whole >= 0.9 * len(wires)


def test_the_cut_list_is_read_at_arms_length(
    sample: tuple[Bought, Quote, dict[str, bytes]],
) -> None:
    """9 pt at the least, what is cut and for which wire larger; and what each reel leaves."""
    bought, _, papers = sample
    with pdfplumber.open(io.BytesIO(papers["cut.pdf"])) as book:
        sizes = [
            (round(float(char["size"]), 1), char["text"])
            for page in book.pages
            for char in page.chars
        ]
    assert min(size for size, text in sizes if text.strip()) >= 9
    words = [word for page in pages(papers["cut.pdf"]) for word in page.words]
    lengths = {f"{cut.length_mm}" for cut in bought.cuts}
    assert any(word["text"] in lengths and word["bottom"] - word["top"] > 11 for word in words)
    text = text_of(papers["cut.pdf"])
    for offcut in bought.cut_list.offcuts:
        if offcut.length_mm:
            assert f" {offcut.length_mm} mm left" in text or f" {offcut.length_mm} mm scrap" in text


def test_labels_say_the_colour(sample: tuple[Bought, Quote, dict[str, bytes]]) -> None:
    """In words and as a stripe, on both labels of each wire."""
    bought, _, papers = sample
    wires = [wire.wire for wire in bought.wires.values()]
    words = Counter(word["text"] for page in pages(papers["labels.pdf"]) for word in page.words)
    last = Counter(str(wire.colour).split()[-1] for wire in wires for _ in range(2 * wire.qty))
    assert all(words[word] >= count for word, count in last.items())
    stripes = [
        shape
        for page in pages(papers["labels.pdf"])
        for shape in page.shapes
        if abs(shape["width"] - 9 * 72 / 25.4) < 1 and abs(shape["height"] - 3 * 72 / 25.4) < 1
    ]
    assert len(stripes) >= sum(2 * wire.qty for wire in wires)


CAPITAL = 0.645
"""Of the size of Libertinus Serif, by its font file: the height of a capital."""


def test_the_drawing_is_read_and_fills_its_sheet(
    sample: tuple[Bought, Quote, dict[str, bytes]],
) -> None:
    """Capitals of 2.5 mm on every page; on the first, four fifths of the width or of the height."""
    bought, _, papers = sample
    mm = 72 / 25.4
    with pdfplumber.open(io.BytesIO(papers["loom.pdf"])) as book:
        for page in book.pages[:MOST_PAGES]:
            sizes = {float(char["size"]) for char in page.chars if char["text"].strip()}
            assert min(sizes) * CAPITAL / mm >= 2.5
        first = book.pages[0]
        things = [*first.chars, *first.curves, *first.lines]
        across = max(t["x1"] for t in things) - min(t["x0"] for t in things)
        down = max(t["bottom"] for t in things) - min(t["top"] for t in things)
        texts = [page.extract_text() for page in book.pages[:MOST_PAGES]]
        drawn = " ".join(" ".join(text for text in texts if "full size" not in text).split())
    assert max(across / first.width, down / first.height) >= 0.8
    takeoff = bought.jobs[0].takeoff
    assert takeoff
    for wire in (wire for bundle in takeoff.bundles for wire in bundle.wires):
        assert re.search(rf"(?<!\S){re.escape(wire.wire.label)}(?!\S)", drawn)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(5))
def test_long_names_and_many_wires_keep_to_their_pages(seed: int, tmp_path: Path) -> None:
    """130 wires, names of 40 letters, some without a space: no word off its page or on another."""
    dice = random.Random(seed)
    letters = "abcdefghiklmnoprstuvwWM" + " " * 3 * seed

    def name(number: int) -> str:
        words = "".join(dice.choices(letters, k=40)).split()
        return " ".join((f"n{number}", *words))[:40].strip().ljust(40, "x")

    places = [name(n) for n in range(12)]
    lamps, boxes = ([name(n) for n in range(first, first + 130)] for first in (100, 300))
    colours = dice.choices(("red", "blue/white", "light green/brown", "green/yellow"), k=130)
    loom = [(dice.choice(places[:n]), places[n], dice.randint(2, 9) / 10) for n in range(1, 12)]
    book = write_book(
        workshop(tmp_path) / "jobs",
        "names.xlsx",
        Job=[("item", "value"), ("end", "ring M6")],
        Circuits=[
            ("wire", "circuit", "from", "to", "colour", "gauge", "load"),
            *(
                (name(500 + n), name(700 + n), f"{box}:out", f"{lamp}:in", colour, "1.0", "1 W")
                for n, (box, lamp, colour) in enumerate(zip(boxes, lamps, colours, strict=True))
            ),
        ],
        Loom=[("from", "to", "length"), *loom],
        Components=[
            ("component", "at"),
            *((each, dice.choice(places)) for each in (*lamps, *boxes)),
        ],
    )
    bought, estimate = quote_for(book)
    assert estimate is not None, [str(problem) for problem in bought.problems][:3]
    papers = job_papers(bought, estimate, TODAY) | order_papers(bought, TODAY)
    assert_whole(papers)
    for rows in rows_by_section(papers["bench.pdf"]).values():
        assert sum(rows) == 130 and min(rows) >= 3


# The workbook


@pytest.mark.libreoffice
@pytest.mark.slow
@pytest.mark.parametrize("name", SAMPLES)
def test_the_workbook_reckons_the_same_and_follows_a_rate(name: str, tmp_path: Path) -> None:
    """Without its stored results LibreOffice comes to the total; at another rate to another.

    The dearer hour: labour grows by the hours on the sheet x 10.00, each line rounded.
    """
    bought, estimate = quote_for(JOBS / f"{name}.xlsx")
    assert estimate is not None
    path = tmp_path / "job.xlsx"
    path.write_bytes(xlsx_bytes(job_workbook(bought, estimate)))
    seen = reckoned(path.read_bytes(), tmp_path, "same.xlsx")
    assert seen["TOTAL"] == pytest.approx(float(estimate.total))
    rate = float(bought.jobs[0].rules.hourly_rate)
    book = openpyxl.load_workbook(path)
    book["rates"]["B2"] = rate + 10
    hours = [row[3].value for row in book["labour"].iter_rows(min_row=2) if row[4].value]
    book.save(path)
    seen = reckoned(path.read_bytes(), tmp_path, "other.xlsx")
    more = [
        round(h * (rate + 10) + 1e-9, 2) - round(h * rate + 1e-9, 2)
        for h in hours
        if isinstance(h, int | float)
    ]
    net = float(estimate.net) + sum(more)
    assert seen["net"] == pytest.approx(net, abs=0.02)
    assert seen["TOTAL"] == pytest.approx(
        net * (1 + float(bought.jobs[0].rules.tax_percent) / 100), abs=0.03
    )


def reckoned(data: bytes, folder: Path, name: str) -> dict[str, float]:
    """The sheet `price` after LibreOffice has worked out every formula anew."""
    bare = operated(
        data,
        {
            f"xl/worksheets/sheet{n}.xml": lambda xml: re.sub(rb"(</f>)<v>[^<]*</v>", rb"\1", xml)
            for n in range(1, 5)
        },
    )
    book = openpyxl.load_workbook(converted(bare, name, folder), data_only=True)
    return {str(row[0].value): float(str(row[1].value)) for row in book["price"]["A3:B7"]}


# The command


def test_pack_puts_everything_into_a_folder(tmp_path: Path) -> None:
    """PDFs, the workbook, and their list; a book of the workshop is never written over."""
    out = tmp_path / "papers"
    done = bom("pack", JOBS / "single.xlsx", "--out", out, "--json")
    assert done.returncode == 0, done.stderr
    answer = json.loads(done.stdout)
    assert set(answer) == {"job", "files", "problems"}
    assert {Path(name).name for name in answer["files"]} == {path.name for path in out.iterdir()}
    assert {"quotation.pdf", "bench.pdf", "labels.pdf", "single.xlsx"} <= {
        path.name for path in out.iterdir()
    }
    wrong = bom("pack", JOBS / "single.xlsx", "--out", JOBS)
    assert wrong.returncode == 1 and "is left as it is" in wrong.stderr
    assert not list(JOBS.glob("*.pdf"))


def test_a_job_with_errors_has_no_papers(tmp_path: Path) -> None:
    """Nothing is printed of it."""
    book = job(workshop(tmp_path), [("W1", "gren", "1.0", 2)])
    done = bom("pack", book, "--out", tmp_path / "papers")
    assert done.returncode == 1 and "gren" in done.stderr
    assert not (tmp_path / "papers").exists()


def test_the_likely_range_stands_under_the_total(tmp_path: Path) -> None:
    """4 h at 40.00, give or take a quarter, are 40.00 net and 48.00 with tax at 20 %."""
    shop = workshop(tmp_path, prices=[("A", "cable", "1.0", "red", "metre", None, 0.4, None)])
    labour = [("task", "qty", "hours", "doubt"), ("fitting", 1, 4, "25 %")]
    book = job(shop, [("W1", "red", "1.0", 2)], rules={"hourly_rate": 40}, Labour=labour)
    bought, estimate = quote_for(book)
    assert estimate is not None
    low, high = (float(estimate.total) + step for step in (-48, 48))
    text = text_of(quotation(bought, estimate, TODAY))
    assert f"likely between £{low:,.2f} and £{high:,.2f}" in text
