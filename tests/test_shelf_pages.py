"""Drawer, orders and what is due, on a page: the figures of the commands, and what was typed.

The shop: R01 10 m, R02 2 m of 1.0 red, R03 5 m of 2.0 black; 20 male covers (low under 10), 12 m of
tape (low under 5); 14 covers are set aside for twin, so that 6 are free and covers run low.
"""

import json
from collections import Counter
from collections.abc import Iterator, Mapping
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, ViewportSize

from bom.estimate import buy_for
from bom.job import find_workshop
from bom.show.page import asset, rendered
from bom.show.page.drawer import drawer_page
from bom.show.page.due import due_page
from bom.show.page.orders import orders_page
from bom.show.page.told import sentence, told_of
from bom.trade.problem import Where, error
from bom.workshop.due import Due
from bom.workshop.orders import parcel_typed
from bom.workshop.shelf_requests import count, put_in, shelf_shown, take
from bom.workshop.stockroom import Booked, How, Request, book, undo_of
from tests.books import book as write_book
from tests.browser import PHONE, TABLET, chromium, device
from tests.shops import CABLE, DRAWER
from tests.stockrooms import ITEMS, MOVES, REELS, shop, typed
from tests.within import bom

FRAME = {"workshop": "shop", "path": "/drawer", "lan": False, "others": 0, "edition": "1"}
"""What the desk adds to every page."""
COVERS, TAPE = "bullet cover, male", "loom tape, PVC, 19 mm"
GOODS = ("supplier", "item", "gauge", "colour", "sold as", "pack")
ORDERS = ("number", "date", *GOODS, "packs", "price", "part no", "for", "came", "note")
RED = "cable, 1.0 mm2, red"
ONE, TWO = ("2026-001", "2026-11-02", "Abel"), ("2026-002", None, "Bert")
ON_ORDER = (
    (*ONE, COVERS, None, None, "pack", 50, 3, 4.2, "OT-7", "twin", 1, None),
    (*ONE, RED, "1.0", "red", "metre", None, 4, 0.5, None, None, 0, None),
    (*ONE, RED, "1.0", "red", "reel", 50, 1, 20, None, None, 0, None),
    (*TWO, TAPE, None, None, "reel", 20, 2, None, None, "top-up", 2, None),
)
HOSTILE = "<script>alert('x')</script>\"' onfocus=alert(1) {{ 7*7 }}"


def stocked(folder: Path, item: str = COVERS, place: str = "box 1", job: str = "twin") -> Path:
    """The shop with orders, and 14 of an item set aside for a job."""
    shop(folder)
    aside = ("2026-11-03 10:00:00", job, "hold", item, 0, "each", 20, "14 each set aside")
    covers, tape = ITEMS
    write_book(
        folder,
        "stock.xlsx",
        Cable=[(*CABLE, "place"), *((*reel, place) for reel in REELS)],
        Drawer=[(*DRAWER, "place"), (item, *covers[1:], place), (*tape, None)],
        Moves=[MOVES, aside],
        Orders=[ORDERS, *ON_ORDER],
    )
    return folder


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """The shop."""
    return stocked(tmp_path)


def drawer(folder: Path, **how: Any) -> dict[str, Any]:
    """What the page of the drawer shows."""
    shelf, by_hand = shelf_shown(buy_for([], start=folder, on_order=False).stock)
    return drawer_page(shelf, find_workshop(folder).catalogue, problems=by_hand, **how)


def orders(folder: Path, told: Mapping[str, Any] | None = None) -> dict[str, Any]:
    """What the page of orders shows."""
    return orders_page(buy_for([], start=folder).stock.orders, "GBP", told=told)


def asked(folder: Path, plan: Request, **how: bool) -> Booked:
    """What became of a plan."""
    return book(find_workshop(folder), plan, How(**how))


def things(shown: Mapping[str, Any]) -> dict[str, list[str]]:
    """The names in each part of the drawer's page."""
    return {part["heading"]: [row["name"] for row in part["rows"]] for part in shown["sections"]}


def answer(folder: Path, *words: str) -> Any:
    """What a command answers in JSON."""
    return json.loads(bom(*words, "--json", cwd=folder).stdout)


# --------------------------------------------------------------------------- the figures


def test_the_drawer_has_the_figures_of_the_command(folder: Path) -> None:
    """Each thing once; amounts as `bom stock show --json` has them, metres for its mm."""
    said = answer(folder, "stock", "show")
    rows = [row for part in drawer(folder)["sections"] for row in part["rows"]]
    there = {row["name"]: row for row in rows}
    assert len(there) == len(rows) == 5
    for item in said["drawer"]:
        row, per = there[item["item"]], 1000 if item["unit"] == "mm" else 1
        assert float(row["amount"]) * per == item["on_hand"]
        assert float(row["low"]) * per == item["low"]
        assert (row["place"], row["cable"]) == (item["place"], None)
    for piece in said["cable"]:
        row = there[piece["piece"]]
        assert float(row["amount"]) * 1000 == piece["length_mm"]
        cable = (row["cable"]["gauge"], row["cable"]["colour"], row["unit"])
        assert cable == (piece["gauge"], piece["colour"], "m")
    (held,) = said["held"]
    assert (held["item"], held["quantity"]) == (COVERS, 14)
    assert (there[COVERS]["free"], there[TAPE]["free"]) == ("6", "")
    assert there[COVERS]["aside"] == [{"job": "twin", "amount": "14"}]


def test_what_runs_low_comes_first(folder: Path) -> None:
    """20 - 14 = 6 covers are free, under 10; as `bom stock show --low` has it."""
    assert things(drawer(folder)) == {
        "Runs low": [COVERS],
        "The rest of the drawer": [TAPE],
        "Reels and offcuts": ["R01", "R02", "R03"],
    }
    low = answer(folder, "stock", "show", "--low")["drawer"]
    assert [item["item"] for item in low] == [COVERS]


def test_words_find_things(folder: Path) -> None:
    """By item, by gauge and colour, by place; a slip is told with what was meant."""
    assert things(drawer(folder, find="1.0 red")) == {"Reels and offcuts": ["R01", "R02"]}
    assert things(drawer(folder, find="TAPE"))["The drawer"] == [TAPE]
    shown = drawer(folder, find="tpe")
    assert (shown["sections"], shown["nothing"]) == (
        [],
        "nothing on the shelf has 'tpe'; try: tape",
    )


def test_items_of_the_catalogue_are_found_too(folder: Path) -> None:
    """Of loom tape those of 12, 15 and 25 mm (catalogs/coverings.csv), that of 19 mm is there.

    They have 0 m, are put in and counted, and are not taken.
    """
    shown = drawer(folder, find="tape loom")
    new = shown["sections"][-1]
    assert (new["heading"], shown["more_new"]) == ("Not in the drawer yet", 0)
    assert [row["name"] for row in new["rows"]] == [
        f"loom tape, PVC, {width} mm" for width in (12, 15, 25)
    ]
    assert {(row["amount"], row["unit"]) for row in new["rows"]} == {("0", "m")}
    item = ("item", "loom tape, PVC, 15 mm")
    sent = [form for form in forms(page_of("drawer.html", shown)) if item in form["fields"]]
    assert [form["action"] for form in sent] == ["/drawer/put", "/drawer/count"]
    assert [part["id"] for part in drawer(folder)["sections"]] == ["low", "drawer", "cable"]


def test_where_the_catalogue_has_more_it_is_said(folder: Path) -> None:
    """Twelve are shown; what is found there is no slip of the finger."""
    catalogue = find_workshop(folder).catalogue
    rings = {item for item in catalogue.items if item.startswith("ring terminal")}
    shown = drawer(folder, find="ring terminal")
    assert len(shown["sections"][-1]["rows"]) == 12 and len(rings) > 12
    assert shown["more_new"] >= len(rings) - 12
    assert shown["nothing"] == "nothing on the shelf has 'ring terminal'"
    assert f"and {shown['more_new']} more" in page_of("drawer.html", shown)


def test_errors_hide_the_shelf_and_say_so(folder: Path) -> None:
    """One cell says `lots`: it is not that nothing is there, on either page, with words or not."""
    typed(folder / "stock.xlsx", "Drawer", C2="lots")
    bought = buy_for([], start=folder, on_order=False)
    shelf, _ = shelf_shown(bought.stock)
    hidden = "nothing is shown while there are errors in the books"
    for find in ("", "cover", "nonsense"):
        catalogue = find_workshop(folder).catalogue
        shown = drawer_page(shelf, catalogue, find=find, problems=bought.problems)
        assert (shown["nothing"], shown["sections"]) == (hidden, [])
        text = Seen(page_of("drawer.html", shown)).text
        assert "lots" in text and "nothing is on the shelf" not in text
    bought = buy_for([], start=folder)
    html = page_of("orders.html", orders_page((), "GBP", problems=bought.problems))
    assert hidden in html and "nothing is on order" not in html


def test_an_empty_shelf_is_told(tmp_path: Path) -> None:
    """Nothing is wrong, and nothing is there."""
    assert drawer(shop(tmp_path, cable=(), drawer=()))["nothing"] == "nothing is on the shelf"


def test_what_was_done_lately(folder: Path) -> None:
    """The last five of six commands, the newest first; only that one can be undone."""
    workshop = find_workshop(folder)
    for number in ("1", "2", "3"):
        asked(folder, take(workshop, COVERS, number))
    asked(folder, take(workshop, TAPE, "150 cm"))
    received = asked(folder, parcel_typed(workshop, "2026-001", [(f"{RED}, metre", "3", "")]))
    commands = drawer(folder)["lately"]
    assert [(c["what"], c["changes"]) for c in commands] == [
        ("receive", ["R04 +3 m"]),
        ("take", [f"{TAPE} -1.5 m"]),
        ("take", [f"{COVERS} -3"]),
        ("take", [f"{COVERS} -2"]),
        ("take", [f"{COVERS} -1"]),
    ]
    assert [c["undo"] for c in commands] == [received.when, "", "", "", ""]
    assert commands[0]["when"] == received.when[:16]
    asked(folder, undo_of(received.when))
    commands = drawer(folder)["lately"]
    assert [(c["what"], c["jobs"]) for c in commands][-1] == ("hold", ["twin"])
    assert commands[0]["changes"] == [f"{TAPE} -1.5 m"]


def test_a_parcel_is_told_thing_by_thing(folder: Path) -> None:
    """Two packs of 50 covers; three metres are R04, a reel of 50 m is R05."""
    lines = [(COVERS, "2", ""), (f"{RED}, metre", "3", ""), (f"{RED}, reel of 50", "1", "")]
    asked(folder, parcel_typed(find_workshop(folder), "2026-001", lines))
    command = drawer(folder)["lately"][0]
    assert command["changes"] == [f"{COVERS} +100", "R04 +3 m", "R05 +50 m"]


def test_orders_that_were_placed_are_told_by_their_numbers(folder: Path) -> None:
    """As Moves has them, `order 2026-003`, behind the word for what was done; of four the first."""
    moves = [
        ("2026-11-04 10:00:00", None, "order", f"order 2026-00{n}", 0, "each", 0, "Abel, 1 line")
        for n in (3, 4, 5, 6)
    ]
    write_book(folder, "stock.xlsx", Drawer=[DRAWER, *ITEMS], Moves=[MOVES, *moves])
    (command,) = drawer(folder)["lately"]
    assert (command["what"], command["more"]) == ("order", 1)
    assert command["changes"] == ["2026-003", "2026-004", "2026-005"]


def test_a_hand_edit_taken_over_is_not_to_be_undone(folder: Path) -> None:
    """It is the owner's own: the command before it is the last."""
    asked(folder, take(find_workshop(folder), TAPE, "1 m"))
    typed(folder / "stock.xlsx", "Drawer", C2=30)
    assert bom("stock", "show", "--yes", cwd=folder).returncode == 0
    (first, *_) = drawer(folder)["lately"]
    assert first["changes"] == [f"{TAPE} -1 m"] and first["undo"]


def test_orders_have_the_figures_of_the_command(folder: Path) -> None:
    """The open lines alone; 2026-002 has come whole."""
    said = answer(folder, "stock", "orders")["lines"]
    (order,) = orders(folder)["orders"]
    assert (order["number"], order["supplier"], order["date"]) == ("2026-001", "Abel", "2026-11-02")
    assert [{key: line[key] for key in said[0]} for line in order["lines"]] == said
    assert [line["to_come"] for line in order["lines"]] == [2, 4, 1]
    assert [line["form"] for line in order["lines"]] == ["pack of 50", "metre", "reel of 50"]
    assert [line["word"] for line in order["lines"]] == [
        COVERS,
        f"{RED}, metre",
        f"{RED}, reel of 50",
    ]


def test_due_leads_on() -> None:
    """To a job's page by its name as it is, to drawer and orders; else the command is text."""
    found = (
        Due(job="old twin/2", stands="has 2 errors", then="bom check 'old twin/2'"),
        Due(job="single", stands="on order", then="bom stock orders"),
        Due(stands="3 things run low", then="bom topup"),
        Due(stands="40 prices of Abel are old", then="bom prices add FILE --supplier Abel"),
    )
    page = due_page(found, "yard")
    assert [job["url"] for job in page["jobs"]] == ["/job/old%20twin%2F2", "/job/single"]
    assert [(due["page"], due["then"]) for due in (*page["jobs"], *page["rest"])] == [
        ("", "bom check 'old twin/2'"),
        ("/orders", ""),
        ("/drawer", ""),
        ("", "bom prices add FILE --supplier Abel"),
    ]
    html = rendered("due.html", {**FRAME, **page})
    assert '<a class="touch" href="/job/old%20twin%2F2">old twin/2</a>' in html
    assert "<code>bom prices add FILE --supplier Abel</code>" in html


# ------------------------------------------------------------------- what became of a change


def test_what_was_done_comes_first_and_can_be_undone(folder: Path) -> None:
    """4 of 20 taken; 16 are left, and 14 set aside."""
    sent = [("item", COVERS), ("number", "4")]
    booked = asked(folder, take(find_workshop(folder), COVERS, "4"))
    told = told_of(booked, "taken", "/drawer/take", sent)
    assert told["kind"] == "done"
    assert told["sentences"] == [f"taken: {COVERS}, 20 before, 16 now"]
    shown = drawer(folder, told=told)
    assert things(shown)["Just now"] == [COVERS] and "Runs low" not in things(shown)
    (row,) = shown["sections"][0]["rows"]
    assert (row["amount"], row["open"], row["typed"]["take"]) == ("16", False, "")
    back = asked(folder, undo_of(told["undo"]))
    told = told_of(back, "undone")
    assert (told["undo"], told["sentences"]) == (None, [f"undone: {COVERS}, 16 before, 20 now"])


def test_what_was_counted_and_is_right_is_told_with_its_figure(folder: Path) -> None:
    """10 m of R01 and 20 covers, as the book has them."""
    for item, number, says in (("R01", "10 m", "R01, 10 m"), (COVERS, "20", f"{COVERS}, 20")):
        booked = asked(folder, count(find_workshop(folder), item, number))
        assert told_of(booked, "counted")["sentences"] == [f"counted: {says} as before"]


CURES = [
    ("close it there; --force if nobody has: the mark of a crash stays behind", "close it there"),
    ("--yes takes it over as a count; nothing is written without", ""),
    ("--only ITEM=PACKS where more came than was ordered", ""),
    ("bom stock count 'x' with what is really there", "count what is really there"),
    ("bom stock undo, which reverses that first", "undo that first (under Lately)"),
    ("bom stock close 2026-001, if none will", "bom stock close 2026-001, if none will"),
    ("bom stock show --yes takes it over", "bom stock show --yes takes it over"),
    ("a dash -- or two", "a dash -- or two"),
    ("", ""),
]


@pytest.mark.parametrize(("typed_", "here"), CURES)
def test_cures_of_the_command_line_are_put_in_the_page_s_words(typed_: str, here: str) -> None:
    """A page has buttons, and no options."""
    told = sentence(error(Where("stock.xlsx"), "so it is", typed_))
    assert told == f"stock.xlsx: so it is{f'; try: {here}' if here else ''}"


def test_more_than_there_is_is_told_with_a_cure_of_the_page(folder: Path) -> None:
    """25 of 20."""
    booked = asked(folder, take(find_workshop(folder), COVERS, "25"))
    (says,) = told_of(booked, "taken")["sentences"]
    assert says.endswith("25 each to be taken; try: count what is really there")


def test_lengths_are_typed_with_letters(folder: Path) -> None:
    """A phone shows figures alone for what is counted; `500 mm` wants the others too."""
    html = page_of("drawer.html", drawer(folder))
    modes = {
        own["id"]: own.get("inputmode")
        for tag, own in Seen(html).elements
        if tag == "input" and own["name"] == "number"
    }
    assert {mode for id_, mode in modes.items() if id_.startswith("cable-")} == {None}
    assert (modes["drawer-2-take"], modes["drawer-3-take"]) == ("decimal", None)


def test_a_job_that_is_short_by_it_is_told(folder: Path) -> None:
    """10 of 20 taken; of 14 set aside 10 are left."""
    booked = asked(folder, take(find_workshop(folder), COVERS, "10"))
    assert told_of(booked, "taken")["sentences"] == [
        f"taken: {COVERS}, 20 before, 10 now",
        f"'{COVERS}': 10 left, 14 set aside for twin: bom stock hold twin",
    ]


def test_what_was_mistyped_stands_in_its_field(folder: Path) -> None:
    """And why nothing was booked."""
    sent = [("item", COVERS), ("number", "a few")]
    told = told_of(
        asked(folder, take(find_workshop(folder), COVERS, "a few")), "taken", "/drawer/take", sent
    )
    assert (told["kind"], told["undo"]) == ("refused", None)
    assert told["sentences"] == ["'a few' is not a number"]
    (row,) = drawer(folder, told=told)["sections"][0]["rows"]
    assert (row["open"], row["typed"]) == (True, {"take": "a few", "put": "", "count": ""})


def test_what_waits_for_a_yes_is_sent_again(folder: Path) -> None:
    """Ten full drawers; with a yes they are booked."""
    sent = [("item", COVERS), ("number", "500"), ("find", "cover")]
    plan = put_in(find_workshop(folder), COVERS, "500")
    told = told_of(asked(folder, plan), "put in", "/drawer/put", sent)
    assert told["kind"] == "asked"
    assert told["sentences"] == [
        f"'{COVERS}': 500 put in, 20 in the book",
        f"yes books: {COVERS}, 20 before, 520 now",
    ]
    form = next(form for form in forms(page_of("drawer.html", drawer(folder, told=told))))
    assert form == {
        "action": "/drawer/put",
        "fields": [("token", "t"), *sent, ("yes", "1")],
    }
    assert asked(folder, plan, yes=True).written


def test_hand_edits_are_shown_and_asked(folder: Path) -> None:
    """The book has 30, the moves 20."""
    typed(folder / "stock.xlsx", "Drawer", C2=30)
    changed = f"'{COVERS}' was changed by hand: 30 here, 20 by the moves"
    (noted,) = drawer(folder)["problems"]
    assert changed in noted
    told = told_of(asked(folder, take(find_workshop(folder), COVERS, "4")), "taken")
    assert told["sentences"] == [
        changed,
        f"yes books: {COVERS}, 30 before, 26 now",
        "the book's figures are then taken over as counts",
    ]


def test_a_book_that_is_open_elsewhere_is_told(folder: Path) -> None:
    """A spreadsheet program has it: nothing is lost that was typed."""
    (folder / ".~lock.stock.xlsx#").write_text(",Anna Bench,workshop,25.11.2026 14:03,file:///;")
    sent = [("item", COVERS), ("number", "4")]
    booked = asked(folder, take(find_workshop(folder), COVERS, "4"))
    told = told_of(booked, "taken", "/drawer/take", sent)
    assert told["kind"] == "refused"
    (says,) = told["sentences"]
    assert "it is open, by Anna Bench" in says
    assert drawer(folder, told=told)["sections"][0]["rows"][0]["typed"]["take"] == "4"


def test_a_parcel_that_was_mistyped_stands_in_its_fields(folder: Path) -> None:
    """Line by line, whatever the order of the fields; a parcel booked in is told."""
    lines = [(COVERS, "", ""), (f"{RED}, metre", "some", "0.6"), (f"{RED}, reel of 50", "1", "")]
    workshop = find_workshop(folder)
    booked = asked(folder, parcel_typed(workshop, "2026-001", lines))
    sent = [("number", "2026-001")]
    for word, packs, price in lines:
        sent += [("line", word), ("packs", packs), ("price", price)]
    told = told_of(booked, "received", "/orders/receive", sent)
    wrong = f"packs of {RED}, metre: 'some' is not a number"
    assert (told["kind"], told["sentences"]) == ("refused", [wrong])
    (order,) = orders(folder, told)["orders"]
    assert [(line["typed_packs"], line["typed_price"]) for line in order["lines"]] == [
        ("", ""),
        ("some", "0.6"),
        ("1", ""),
    ]
    lines[1] = (f"{RED}, metre", "3", "")
    booked = asked(folder, parcel_typed(workshop, "2026-001", lines))
    told = told_of(booked, "received", "/orders/receive", sent)
    assert told["sentences"][:2] == [
        "received: R04, 0 m before, 3 m now",
        "received: R05, 0 m before, 50 m now",
    ]
    (order,) = orders(folder, told)["orders"]
    assert [(line["to_come"], line["typed_packs"]) for line in order["lines"]] == [(2, ""), (1, "")]


# ------------------------------------------------------------------------------- the markup


class Seen(HTMLParser):
    """The elements of a page with their attributes, and its text."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.elements: list[tuple[str, dict[str, str]]] = []
        self.text = ""
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """An element."""
        self.elements.append((tag, {name: value or "" for name, value in attrs}))

    def handle_data(self, data: str) -> None:
        """Text."""
        self.text += data


def page_of(template: str, shown: Mapping[str, Any]) -> str:
    """The page, as the desk would send it."""
    return rendered(template, {**FRAME, **shown, "token": "t"})


def forms(html: str) -> Iterator[dict[str, Any]]:
    """Each form with the fields that it would send."""
    form: dict[str, Any] | None = None
    for tag, own in Seen(html).elements:
        if tag == "form":
            if form:
                yield form
            form = {"action": own["action"], "fields": []}
        elif tag == "input" and form:
            form["fields"].append((own["name"], own.get("value", "")))
    if form:
        yield form


def all_pages(folder: Path) -> dict[str, str]:
    """The three pages, with something told on each that may tell it."""
    workshop = find_workshop(folder)
    item = drawer(folder)["sections"][0]["rows"][0]["name"]
    sent = [("item", item), ("number", HOSTILE)]
    told = told_of(asked(folder, take(workshop, item, HOSTILE)), "taken", "/drawer/take", sent)
    due = Due(job=HOSTILE, stands=HOSTILE, then=HOSTILE)
    return {
        "drawer.html": page_of("drawer.html", drawer(folder, told=told)),
        "orders.html": page_of("orders.html", orders(folder, told)),
        "due.html": page_of("due.html", due_page((due, Due(stands=HOSTILE)), HOSTILE)),
    }


def test_what_anybody_typed_is_text(tmp_path: Path) -> None:
    """No element and no attribute comes of it; it stands there as it was typed."""
    folder = stocked(tmp_path, item=f"tag {HOSTILE}", place=HOSTILE, job=HOSTILE)
    typed(folder / "stock.xlsx", "Orders", C2=HOSTILE, D2=HOSTILE, K2=HOSTILE, A2=HOSTILE)
    for template, html in all_pages(folder).items():
        seen = Seen(html)
        assert seen.text.count(HOSTILE) >= 2, template
        scripts = [own for tag, own in seen.elements if tag == "script"]
        assert all(own.keys() == {"src", "defer"} for own in scripts), template
        for tag, own in seen.elements:
            assert not [name for name in own if name.startswith("on") or name == "style"], tag


def test_every_field_has_a_label_and_every_id_is_one(folder: Path) -> None:
    """What a screen reader goes by; and every form that changes something has the token."""
    for template, html in all_pages(folder).items():
        elements = Seen(html).elements
        ids = Counter(own["id"] for _, own in elements if "id" in own)
        assert ids and max(ids.values()) == 1, template
        labels = {own["for"] for tag, own in elements if tag == "label"}
        fields = [own for tag, own in elements if tag == "input" and own.get("type") != "hidden"]
        assert all(own["id"] in labels for own in fields), template
        named = {own.get("aria-labelledby", "main") for _, own in elements}
        assert named <= {*ids}, template
        posted = [own for tag, own in elements if tag == "form" and own["method"] == "post"]
        tokens = [own for tag, own in elements if own.get("name") == "token"]
        assert len(posted) == len(tokens), template


# ------------------------------------------------------------------------------ in Chromium


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """One browser for all."""
    with chromium() as found:
        yield found


def opened(page: Page, html: str) -> None:
    """The page at an address of its own, with our style and script."""

    def send(route: Any) -> None:
        name = route.request.url.rpartition("/")[2]
        ours = name == "look.css"
        kind = {"css": "text/css", "js": "text/javascript"}.get(
            name.rpartition(".")[2], "text/html"
        )
        route.fulfill(body=asset(name) if ours else html, content_type=f"{kind}; charset=utf-8")

    page.route("**/*", send)
    page.goto("http://desk.invalid/page")


@pytest.mark.chromium
@pytest.mark.parametrize("size", [PHONE, TABLET], ids=["phone", "tablet"])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_pages_are_for_everybody(
    size: ViewportSize, scheme: str, browser: Browser, folder: Path
) -> None:
    """By axe-core's rules nothing is amiss; nothing lies beside the screen; touched by a thumb."""
    with device(browser, size, color_scheme=scheme) as context:
        page = context.new_page()
        for template, html in all_pages(folder).items():
            opened(page, html)
            assert page.evaluate("document.documentElement.scrollWidth") <= size["width"], template
            assert Axe().run(page).response["violations"] == [], template
            for touched in page.locator("main :is(button, summary, input, a.touch):visible").all():
                box = touched.bounding_box()
                assert box and box["height"] >= 44, (template, touched.inner_text())


@pytest.mark.chromium
def test_forms_send_what_the_desk_takes(browser: Browser, folder: Path) -> None:
    """A field, a button: item, number and token go to the address of what was done."""
    with device(browser, PHONE) as context:
        page = context.new_page()
        opened(page, page_of("drawer.html", drawer(folder)))
        page.get_by_text(TAPE).click()
        page.get_by_role("form", name=f"Put in: {TAPE}").get_by_label("put in").fill("1.5 m")
        with page.expect_request("**/drawer/put") as sent:
            page.get_by_role("form", name=f"Put in: {TAPE}").get_by_role("button").click()
        assert sent.value.method == "POST"
        assert sent.value.post_data_json == {
            "token": "t",
            "item": TAPE,
            "find": "",
            "number": "1.5 m",
        }
