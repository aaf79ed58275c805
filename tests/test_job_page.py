"""The page of a job as it is written: its figures are those that the commands print as JSON."""

import json
import re
from datetime import datetime
from decimal import Decimal
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any
from unittest import mock
from xml.etree.ElementTree import Element

import pytest

from bom.estimate import buy_for, quote_for
from bom.files import clock
from bom.show.page import rendered
from bom.show.page.job import job_file, job_page
from bom.show.shared import BENCH_CAUTIONS
from tests.books import book
from tests.pages import having, read, text
from tests.shops import job, workshop
from tests.within import JOBS, SAMPLES, bom

BRANCHES = {"single": 8, "twin": 14, "carrier": 23}
"""Rows of each job's sheet Loom."""
HOSTILE = (
    "<script>alert(1)</script>",
    "\"' onload=alert(1) x='",
    "{{7*7}} {% raw %}",
    "</style></script></svg><b>",
    "w" * 300,
    "a\u202eb\u200f c",
)
SIGNS = {"\u202e": "<U+202E>", "\u200f": "<U+200F>"}
"""What would turn the direction of a line, as it is shown everywhere (trade/visible)."""


def seen(typed: str) -> str:
    """A text as it is seen on a page, with single blanks."""
    return " ".join("".join(SIGNS.get(letter, letter) for letter in typed).split())


def made(path: Path) -> str:
    """The page of a job."""
    return job_file(quote_for(path)[0])


@cache
def sample(name: str) -> tuple[str, Element]:
    """The page of a sample job, and the same read."""
    page = made(JOBS / f"{name}.xlsx")
    return page, read(page)


def answer(command: str, name: str) -> dict[str, Any]:
    """What a command says of a sample job as JSON."""
    found: dict[str, Any] = json.loads(bom(command, JOBS / f"{name}.xlsx", "--json").stdout)
    return found


def articles(root: Element, kind: str) -> dict[str, Element]:
    """What is shown of branches, points or wires when they are touched, by their names."""
    found = having(root, name="article")
    named = ((each.get("data-name", ""), each) for each in found)
    return {name.removeprefix(f"{kind} "): each for name, each in named if name.startswith(kind)}


# --------------------------------------------------------------------- one set of figures


@pytest.mark.parametrize("name", SAMPLES)
def test_every_cut_stands_under_its_reel_with_both_ends(name: str) -> None:
    """Wire, length, piece, ends as `bom cut --json` has them, each once, with a box."""
    _, root = sample(name)
    wanted = answer("cut", name)["cuts"]
    found = []
    for reel in having(root, cls="reel"):
        heading = text(next(reel.iter("h3")))
        for row in having(reel, name="li", data_of=""):
            assert len([*row.iter("input")]) == 1
            found.append((heading, text(row)))
    assert len(found) == len(wanted)
    for cut in wanted:
        begins = f"{cut['length_mm']} mm {cut['wire']} "
        piece = cut["piece"].replace(f"{cut['gauge']} {cut['colour']}", "")
        words = {cut["gauge"], *cut["colour"].split(), *piece.split()}
        (kept,) = [
            (heading, says)
            for heading, says in found
            if says.startswith(begins) and words <= {*re.split("[ ,]+", heading)}
        ]
        assert f"from {cut['from']}: " in kept[1] and f" to {cut['to']}: " in kept[1]
        start, finish = kept[1].partition(f" to {cut['to']}: ")[::2]
        assert cut["from_end"] in start and cut["to_end"] in finish
        found.remove(kept)
    keys = [box.get("data-keep") for box in having(root, data_keep="")]
    assert len(keys) == len({*keys})


@pytest.mark.parametrize("name", SAMPLES)
def test_every_wire_has_its_gauge_amps_and_fuse(name: str) -> None:
    """As `bom check --json` has them."""
    _, root = sample(name)
    wires = articles(root, "wire")
    wanted = answer("check", name)["wires"]
    assert [*wires] == [wire["wire"] for wire in wanted]
    for wire in wanted:
        says = text(wires[wire["wire"]])
        assert f" {wire['gauge']} " in says
        assert f"carries {wire['amps']:.2f} A, cable rated {wire['rated_amps']:g} A, " in says
        fuse = says.rpartition(", fuse ")[2]
        if wire["fuse"] is None:
            assert fuse.startswith("none")
        else:
            assert f"{wire['fuse']:g} A" in fuse


@pytest.mark.parametrize("name", SAMPLES)
def test_the_whole_loom_is_one_drawing(name: str) -> None:
    """Each branch once, with a name for a screen reader; what closes a ring is told as well."""
    _, root = sample(name)
    (drawing,) = having(root, data_drawing="")
    drawn = [*having(drawing, cls="branch")]
    told = [*having(root, name="a", data_part="")]
    assert len(drawn) == BRANCHES[name] == len(articles(root, "branch"))
    assert {a.get("data-part") for a in told} <= {one.get("data-part") for one in drawn}
    for part in (*drawn, *having(drawing, cls="point")):
        assert (part.get("role"), part.get("tabindex")) == ("button", "0")
        assert re.match(
            r"branch: .+ to .+, \d+ mm, .+ across, \d+ wire|point: .", part.get("aria-label", "")
        )


def test_a_branch_says_what_it_is() -> None:
    """The twin's sheet Loom: headstock to lamp bracket, 380 mm, on show, so in braid."""
    _, root = sample("twin")
    labels = [part.get("aria-label", "") for part in having(root, cls="branch")]
    (label,) = [each for each in labels if "headstock to lamp bracket" in each]
    assert label.startswith("branch: headstock to lamp bracket, 380 mm, braid, ")


@pytest.mark.parametrize("name", SAMPLES)
def test_the_way_of_a_wire_is_named_and_marked(name: str) -> None:
    """Its branches lead from point to point, and the marks are theirs and its ends'."""
    _, root = sample(name)
    ids = {each.get("id"): known for known, each in articles(root, "branch").items()}
    for wire in articles(root, "wire").values():
        marks = wire.get("data-marks", "").split()
        branches = [ids[mark] for mark in marks if mark in ids]
        links = [text(link) for link in having(wire, name="a")]
        assert all(branch in links for branch in branches)
        steps = [{*branch.split(" to ")} for branch in branches]
        assert all(one & other for one, other in pairwise(steps))
        assert sum(mark.startswith("p") for mark in marks) == 2


def test_both_ends_tell_what_is_put_on(tmp_path: Path) -> None:
    """By catalogs/ends.csv a bullet is stripped 5 mm and has a cover, a ring M6 7 mm and none.

    C and D share the pin at earth; nothing else is in one terminal.
    """
    path = book(
        workshop(tmp_path) / "jobs",
        "job.xlsx",
        Circuits=[
            ("wire", "colour", "gauge", "length", "from", "to", "from end", "to end"),
            ("C", "red", "1.0", 1, "a:1", "earth:1", "bullet", "ring M6"),
            ("D", "black", "1.0", 1, "b:1", "earth:1", "bullet", "ring M6"),
        ],
    )
    root = read(made(path))
    says = text(articles(root, "wire")["C"])
    start, finish = says.partition(" to earth:1")[::2]
    assert re.search("COVER FIRST, then [A-Z] bullet, strip 5 mm", start) and "with" not in start
    assert (
        re.search("[A-Z] ring M6, strip 7 mm, one for both, with D", finish)
        and "FIRST" not in finish
    )
    (cut,) = [text(row) for row in having(root, data_of="w1") if "more" in text(row)]
    assert "strip 5 mm" in cut and "strip 7 mm, one for both, with D" in cut


def test_a_fuse_that_is_cut_into_a_wire_stands_in_its_row_of_the_cut_list(tmp_path: Path) -> None:
    """Who works down the rows makes no feed without its fuse; its note is there too."""
    path = book(
        workshop(tmp_path) / "jobs",
        "job.xlsx",
        Circuits=[
            ("wire", "colour", "gauge", "length", "from", "to", "fuse", "load", "note"),
            ("F", "red", "1.0", 1, "battery:+", "lamp:+", "main", "3 A", "on a post of its own"),
            ("E", "black", "1.0", 1, "lamp:-", "battery:-", None, None, None),
        ],
        Fuses=[("fuse", "rating"), ("main", 10)],
    )
    (cut,) = [text(row) for row in having(read(made(path)), data_of="w1") if "more" in text(row)]
    assert "fuse main, 10 A: in-line fuse holder, blade, cut into this wire" in cut
    assert "on a post of its own" in cut


def test_shrink_goes_on_before_a_splice_or_a_lug(tmp_path: Path) -> None:
    """By catalogs/ends.csv both are closed with it: it is slipped on before the crimp."""
    path = book(
        workshop(tmp_path) / "jobs",
        "job.xlsx",
        Circuits=[
            ("wire", "colour", "gauge", "length", "from", "to", "from end", "to end"),
            ("A", "red", "6.0", 1, "a:1", "b:1", "lug M6", "splice"),
            ("B", "red", "1.0", 1, "b:1", "c:1", "splice", "ring M6"),
        ],
    )
    root = read(made(path))
    says = text(articles(root, "wire")["A"])
    assert says.count("SHRINK FIRST") == 2 and "heat-shrink, adhesive" in says
    says = text(articles(root, "wire")["B"])
    assert says.count("SHRINK FIRST") == 1 and "one for both, with A" in says


def test_the_way_of_a_lamp_is_told_wire_by_wire() -> None:
    """The twin's stop lamp, traced on its sheet Circuits: battery, fuses, switch, lamp, earth.

    B6 and B7 are the two brake switches: the shorter way is by the rear one (B6).
    """
    _, root = sample("twin")
    (way,) = [each for each in having(root, name="article") if "tail lamp (B10)" in text(each)[:20]]
    links = [text(link) for link in having(way, name="a", cls="wire")]
    there = ["P4", "P5", "P6", "P7", "B1", "B6", "B8", "B9", "B10"]
    assert links == [*there, "E1", "E2", "E3", "P8"]


def test_a_list_that_was_planned_anew_says_so(tmp_path: Path) -> None:
    """After an issue the shelf is another: cut by the list that was printed."""
    shop = workshop(tmp_path, cable=[("R01", "1.0", "red", 10, 0.3)])
    path = job(shop, [("A", "red", "1.0", 1)])
    assert bom("stock", "issue", "job", cwd=shop).returncode == 0
    says = text(read(made(path)))
    assert "'job' was issued on " in says and "Cut by the list that was printed before." in says


def test_the_file_says_when_it_was_made_and_what_is_doubtful(tmp_path: Path) -> None:
    """A page of last month is told from today's; a caution goes with the loom to the bench."""
    wire = ("wire", "colour", "gauge", "length", "from", "to", "load")
    path = book(
        workshop(tmp_path) / "jobs",
        "job.xlsx",
        Circuits=[wire, ("F", "red", "1.0", 1, "battery:+", "lamp:+", "3 A")],
    )
    with mock.patch.object(clock, "now", return_value=datetime(2026, 11, 29, 14, 3)):
        says = text(read(made(path)))
    assert "made 2026-11-29 14:03" in says
    doubts = [problem.says for problem in quote_for(path)[0].jobs[0].problems]
    assert any("fuse" in doubt for doubt in doubts) and all(doubt in says for doubt in doubts)
    assert "nobody sells" not in says  # that is for the office


# ------------------------------------------------------------------------------- the tests


def test_the_test_sheet_has_what_the_paper_asks_for() -> None:
    """A wire that is an earth goes to earth as it should; the cautions stand before the boxes."""
    _, root = sample("single")
    (sheet,) = having(root, id="test-sheet")
    rows = [*having(sheet, name="li", data_of="")]
    assert len(rows) == len(answer("check", "single")["wires"])
    for row in rows:
        says, boxes = text(row), [*having(row, type="checkbox")]
        assert "goes through" in says and "insulation" in says
        assert ("is an earth" in says) != ("no short to earth" in says)
        assert len(boxes) == 2 + ("no short" in says) + ("fuse " in says)
        assert len([*having(row, name="input", size="")]) == 1
    every = text(sheet)
    assert all(caution in every for caution in BENCH_CAUTIONS)
    assert every.index(BENCH_CAUTIONS[0]) < every.index("goes through")
    assert "brake lamp, rear brake" in every and "charging voltage at idle" in every


# -------------------------------------------------------------------------------- no price


def test_the_file_bears_no_price() -> None:
    """Neither the total nor the rate; customers see the tablet on the bench."""
    page, _ = sample("twin")
    found = answer("quote", "twin")
    for amount in (found["total"], found["net"], found["labour"], found["materials"]):
        assert amount not in page
    assert "GBP" not in page and "TOTAL" not in page


@pytest.mark.parametrize("name", SAMPLES)
def test_the_desks_price_is_that_of_the_command(name: str) -> None:
    """Lines by groups, sums and total of `bom quote --json`."""
    bought, estimate = quote_for(JOBS / f"{name}.xlsx")
    assert estimate is not None
    shown = job_page(bought, estimate)
    root = read(rendered("job_price.html", {"job": shown}))
    found = answer("quote", name)
    assert f"GBP {found['total']}" in text(root)
    groups = dict.fromkeys(line["group"] for line in found["lines"])
    parts = [*having(root, name="table")]
    for group, part in zip(groups, parts, strict=True):
        lines = [line for line in found["lines"] if line["group"] == group]
        rows = [text(row) for row in part.iter("tr")][1:]
        for line, row in zip(lines, rows, strict=True):
            assert row.startswith(f"{line['item']} ") and row.endswith(line["price"])
        whole = sum(Decimal(line["price"]) for line in lines)
        assert text(next(part.iter("caption"))) == f"{group} {whole}"


def test_while_a_price_is_wanting_there_is_no_total(tmp_path: Path) -> None:
    """Nobody sells a part: so far, and what has no price."""
    path = job(
        workshop(tmp_path), [("A", "red", "1.0", 1)], Extras=[("magic box", 1, "each", None)]
    )
    bought, estimate = quote_for(path)
    says = text(read(rendered("job_price.html", {"job": job_page(bought, estimate)})))
    assert "TOTAL" not in says and "so far" in says and "magic box" in says


def test_a_job_with_errors_has_problems_and_no_drawing(tmp_path: Path) -> None:
    """The colour of A is none: told with its cell and a cure, and nothing else is shown."""
    bought = buy_for([job(workshop(tmp_path), [("A", "gren", "1.0", 1)])])
    shown = job_page(bought)
    assert shown["bench"] is None and shown["price"] is None
    says = text(read(rendered("job_problems.html", {"job": shown})))
    assert "C2" not in says and "B2" in says and "'gren'" in says and "try: green" in says
    says = text(read(rendered("job_body.html", {"job": shown})))
    assert says.startswith("There is no loom, cut list or test sheet while the book has errors")
    assert not text(read(rendered("job_price.html", {"job": shown})))


# ------------------------------------------------------------------------------- the file


def test_pack_writes_it_beside_the_workbook(tmp_path: Path) -> None:
    """For the bench; the JSON names it as well."""
    path = job(workshop(tmp_path), [("A", "red", "1.0", 1)])
    done = bom("pack", path, "--out", "papers", cwd=tmp_path)
    assert re.search(r"^papers/job\.html +the bench$", done.stdout, re.M)
    read((tmp_path / "papers" / "job.html").read_text(encoding="utf-8"))
    files = json.loads(bom("pack", path, "--out", "again", "--json", cwd=tmp_path).stdout)["files"]
    assert "again/job.html" in files


@pytest.mark.parametrize("name", SAMPLES)
def test_nothing_is_loaded_from_anywhere(name: str) -> None:
    """No address but those on the page itself, no handler and no style in a tag."""
    page, root = sample(name)
    for each in root.iter():
        assert not {"src", "srcset", "style", "action"} & {*each.attrib}
        assert not any(attribute.startswith("on") for attribute in each.attrib)
        assert each.tag not in {"link", "iframe", "img", "object", "embed", "base"}
        assert each.get("href", "#").startswith("#")
    assert not re.search(r"url\(|@import|https?:|\bfetch\b|XMLHttpRequest|import\(", page)
    (policy,) = [e.get("content") for e in root.iter("meta") if e.get("http-equiv")]
    assert str(policy).startswith("default-src 'none'; ")


def test_a_hundred_and_thirty_wires_are_less_than_a_megabyte(tmp_path: Path) -> None:
    """The largest machine that a small workshop rewires, with names of usual length."""
    points = [f"branch point number {n}" for n in range(30)]
    wires = [
        (f"W{n}", f"circuit of some kind {n}", f"left hand switch {n % 9}:{n}", f"lamp no {n}:feed")
        for n in range(130)
    ]
    path = book(
        workshop(tmp_path) / "jobs",
        "large.xlsx",
        Circuits=[
            ("wire", "circuit", "from", "to", "colour", "gauge", "from end", "to end"),
            *((*wire, "blue/white", "1.0", "bullet", "blade") for wire in wires),
        ],
        Loom=[
            ("from", "to", "length"),
            *((points[(n - 1) // 2], points[n], 0.3) for n in range(1, 30)),
        ],
        Components=[
            ("component", "at", "load"),
            *((f"left hand switch {n}", points[n], "") for n in range(9)),
            *((f"lamp no {n}", points[-1 - n % 15], "1 W") for n in range(130)),
        ],
    )
    assert len(made(path).encode()) < 1_000_000


@pytest.mark.parametrize("text_typed", HOSTILE)
def test_what_was_typed_is_shown_as_typed(text_typed: str, tmp_path: Path) -> None:
    """In every text of the book: it is text, in the page as on its drawing, and never a tag."""
    root = read(typed_everywhere(text_typed, tmp_path))
    scripts = [*root.iter("script")]
    assert len(scripts) == 1 and "alert" not in (scripts[0].text or "")
    assert len([*root.iter("style")]) == 1
    told = seen(text_typed)
    says = text(root)
    assert says.count(told) >= 8
    labels = " ".join(each.get("aria-label", "") for each in root.iter())
    assert told in " ".join(labels.split())


def typed_everywhere(typed: str, folder: Path) -> str:
    """The page of a job in whose every text that is."""
    path = book(
        workshop(folder) / "jobs",
        "job.xlsx",
        Job=[("item", "value"), ("customer", typed), ("machine", typed), ("end", "bare")],
        Circuits=[
            ("wire", "circuit", "from", "to", "colour", "gauge", "fuse", "note"),
            (typed, typed, "box", f"lamp {typed}", "red", "1.0", typed, typed),
        ],
        Loom=[("from", "to", "length"), (f"front {typed}", f"rear {typed}", 1)],
        Components=[
            ("component", "at", "load"),
            ("box", f"front {typed}", ""),
            (f"lamp {typed}", f"rear {typed}", "55 W"),
        ],
    )
    return made(path)


def test_what_closes_a_ring_is_told(tmp_path: Path) -> None:
    """A triangle: two sides are drawn to scale, the third dotted, and told with its length."""
    path = book(
        workshop(tmp_path) / "jobs",
        "ring.xlsx",
        Circuits=[("wire", "from", "to", "colour", "gauge"), ("A", "a", "c", "red", "1.0")],
        Loom=[("from", "to", "length mm"), ("a", "b", 500), ("b", "c", 500), ("c", "a", 700)],
    )
    root = read(made(path))
    (ring,) = having(root, name="a", data_part="")
    drawn = [part.get("data-part") for part in having(root, cls="branch")]
    (dotted,) = having(root, cls="ring")
    assert len(drawn) == 3 and ring.get("data-part") == dotted.get("data-part")
    assert text(ring).startswith("b to c, 500 mm, ")  # the last of them by name


def test_without_a_loom_there_is_a_list_and_no_drawing(tmp_path: Path) -> None:
    """Lengths were measured wire by wire."""
    root = read(made(job(workshop(tmp_path), [("A", "red", "1.0", 1)])))
    assert "No loom was measured" in text(root) and not [*having(root, data_drawing="")]
    assert "1000 mm" in text(articles(root, "wire")["A"])


def test_identical_wires_are_cut_one_by_one(tmp_path: Path) -> None:
    """Three of a row: three boxes, each kept by itself."""
    path = book(
        workshop(tmp_path) / "jobs",
        "three.xlsx",
        Circuits=[
            ("wire", "from", "to", "colour", "gauge", "length", "qty"),
            ("A", "a", "b", "red", "1.0", 1, 3),
        ],
    )
    root = read(made(path))
    rows = [row for row in having(root, name="li", data_of="w1") if "more" in text(row)]
    keys = {next(having(row, data_keep="")).get("data-keep") for row in rows}
    assert len(rows) == len(keys) == 3


def test_a_wire_is_found_by_all_names_of_its_colour(tmp_path: Path) -> None:
    """Grey is GY by IEC 60757, S by BS AU 7, and gray and slate too (catalogs/colours.csv)."""
    root = read(made(job(workshop(tmp_path), [("A", "grey/white", "1.0", 1)])))
    (row,) = having(root, data_find="")
    words = row.get("data-find", "").split()
    assert {"grey", "gy", "s", "gray", "slate", "white", "wh", "w", "gy/wh", "s/w"} <= {*words}
    assert {"a", "1.0", "from", "to"} <= {*words}
