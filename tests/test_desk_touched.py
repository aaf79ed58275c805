"""The desk in Chromium, driven as a hand would: beside the spreadsheet, and at the drawer."""

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from decimal import Decimal
from pathlib import Path
from typing import Any
from urllib.parse import quote

import pytest
from axe_playwright_python.sync_playwright import Axe
from openpyxl import load_workbook
from playwright.sync_api import Browser, Page, ViewportSize, expect

from tests.bench.yardstick import too_long
from tests.browser import PHONE, TABLET, chromium, device, heard
from tests.desks import Served, begun, served
from tests.pages import read, text
from tests.stockrooms import listed, loom, moves, shelf, shop
from tests.test_injection import MARK
from tests.test_injection import workshop as workshop_of_texts
from tests.within import ROOT, bom

pytestmark = pytest.mark.chromium

COVERS = "bullet cover, male"
expect.set_options(timeout=60_000)  # a busy machine; what never comes fails all the same


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """One browser for all."""
    with chromium() as found:
        yield found


@pytest.fixture
def sample(tmp_path: Path) -> Path:
    """The sample workshop, to be written in."""
    return Path(shutil.copytree(ROOT / "sample_projects" / "workshop", tmp_path / "workshop"))


@pytest.fixture
def room(tmp_path: Path) -> Path:
    """A workshop with 20 covers, and a job for which nothing is set aside."""
    folder = shop(tmp_path / "shop")
    loom(folder, "twin", 3.2, 1.8)
    return folder


# ---------------------------------------------------------------- beside the spreadsheet


def lengthened(book: Path, by_m: float) -> None:
    """The owner types another length into the first row of the Loom, and saves."""
    opened = load_workbook(book)
    cell = opened["Loom"]["C2"]
    cell.value = float(cell.value) + by_m
    opened.save(book)


def cpu_s(desk: Served) -> float:
    """What the desk and its solvers have taken so far; 0 where the system does not tell."""
    stat = Path(f"/proc/{desk.process.pid}/stat")
    if not stat.exists():
        return 0.0
    fields = stat.read_text(encoding="utf-8").rpartition(")")[2].split()
    return sum(map(int, fields[11:15])) / os.sysconf("SC_CLK_TCK")


def test_price_and_drawing_follow_the_book(browser: Browser, sample: Path) -> None:
    """A length is changed and saved: both are new, as the commands have them; CPU is bounded."""
    book = sample / "jobs" / "twin.xlsx"
    with served(sample) as desk, device(browser, TABLET) as tablet:
        page = tablet.new_page()
        faults = heard(page)
        page.goto(f"{desk.url}job/twin")
        total, drawing = page.locator(".total dd"), page.locator("svg[data-drawing]")
        first, old = total.inner_text(), drawing.inner_html()
        before = cpu_s(desk)
        lengthened(book, 0.4)
        expect(total).not_to_have_text(first)
        assert too_long(cpu_s(desk) - before, 2.0) == ""
        price = bom("quote", "twin", "--json", cwd=sample).stdout
        assert f'"total": "{total.inner_text().split()[-1]}"' in price
        assert drawing.inner_html() != old
        assert faults == []


def test_what_is_wrong_stands_beside_the_spreadsheet(browser: Browser, sample: Path) -> None:
    """An error that is typed is told with its cell, and goes when it is put right."""
    book = sample / "jobs" / "single.xlsx"
    with served(sample) as desk, device(browser, PHONE) as phone:
        page = phone.new_page()
        page.goto(f"{desk.url}job/single")
        whole = page.locator(".total dd").inner_text()
        opened = load_workbook(book)
        heading = next(c for c in opened["Circuits"][1] if c.value == "colour")
        cell = opened["Circuits"].cell(3, heading.column)
        right, cell.value = cell.value, "purpel"
        opened.save(book)
        expect(page.locator("main")).to_contain_text("colour 'purpel' is not known")
        expect(page.locator("main")).to_contain_text(f"Circuits › {cell.coordinate}")
        expect(page.locator(".total dd")).to_have_count(0)
        cell.value = right
        opened.save(book)
        expect(page.locator(".total dd")).to_be_visible()
        assert page.locator(".total dd").inner_text() == whole


def test_what_was_ticked_and_chosen_stays_when_the_page_follows(
    browser: Browser, sample: Path
) -> None:
    """The wire that is looked at is looked at still, and a tick is a tick."""
    with served(sample) as desk, device(browser, TABLET) as tablet:
        page = tablet.new_page()
        page.goto(f"{desk.url}job/twin")
        box = page.locator("#cut-list input[type=checkbox]").first
        box.check()
        page.locator("svg [data-part]").first.click()
        chosen = page.locator("article.shown:visible h3").inner_text()
        total = page.locator(".total dd")
        first = total.inner_text()
        lengthened(sample / "jobs" / "single.xlsx", 0.1)  # another book: nothing of this changes
        rules = sample / "workshop.toml"
        rules.write_text(rules.read_text().replace("hourly_rate = ", "hourly_rate = 1"))
        expect(total).not_to_have_text(first)
        expect(page.locator("article.shown:visible h3")).to_have_text(chosen)
        expect(page.locator("#cut-list input[type=checkbox]").first).to_be_checked()
        assert page.locator("[data-count]").inner_text() == "1 of 84 cut"


def test_what_is_written_in_the_test_sheet_is_left_alone(browser: Browser, sample: Path) -> None:
    """A slip is saved meanwhile: the field stays until it is left; then the page says what is."""
    book = sample / "jobs" / "single.xlsx"
    with served(sample) as desk, device(browser, TABLET) as tablet:
        page = tablet.new_page()
        page.goto(f"{desk.url}job/single")
        field = page.locator("#test-sheet input:not([type=checkbox])[data-keep]").first
        field.press_sequentially("4.")
        opened = load_workbook(book)
        heading = next(c for c in opened["Circuits"][1] if c.value == "colour")
        cell = opened["Circuits"].cell(3, heading.column)
        right, cell.value = cell.value, "gren"
        edition = page.request.get(f"{desk.url}news").text()
        opened.save(book)
        while page.request.get(f"{desk.url}news").text() == edition:
            pass
        with page.expect_response("**/news"), page.expect_response(f"{desk.url}job/single"):
            pass  # it has seen the new edition, and what is in it
        page.keyboard.type("6")
        expect(field).to_have_value("4.6")
        page.get_by_role("searchbox").focus()
        expect(page.locator("main")).to_contain_text("while the book has errors")
        cell.value = right
        opened.save(book)
        expect(field).to_be_visible()
        assert field.input_value() == "4.6"


# ------------------------------------------------------------------------ at the drawer


@contextmanager
def at_drawer(browser: Browser, room: Path) -> Iterator[Page]:
    """The drawer of a workshop on a phone."""
    with served(room) as desk, device(browser, PHONE) as phone:
        page = phone.new_page()
        page.goto(f"{desk.url}drawer")
        yield page


def thing(page: Page, name: str, action: str, number: str) -> None:
    """Touch a thing, type a number and touch the button."""
    row = page.locator("details", has=page.get_by_text(name, exact=True))
    if row.get_attribute("open") is None:
        row.locator("summary").tap()
    form = row.locator(f"form[action='/drawer/{action}']")
    form.locator("input[name=number]").fill(number)
    form.get_by_role("button").tap()


def undone(page: Page) -> None:
    """Touch what is offered beside what was just booked."""
    page.locator("[data-told]").get_by_role("button", name="Undo").tap()


def test_counted_on_the_phone_and_undone(browser: Browser, room: Path) -> None:
    """The book has it, Moves has it, undo takes it back."""
    with at_drawer(browser, room) as page:
        thing(page, COVERS, "count", "17")
        expect(page.get_by_role("status").filter(has_text="Booked")).to_contain_text("17")
        assert shelf(room)[COVERS] == 17
        assert moves(room) == [(None, "count", COVERS, -3, "each", 17, None)]
        undone(page)
        expect(page.get_by_role("status").filter(has_text="Booked")).to_contain_text("20 now")
        assert shelf(room)[COVERS] == 20
        assert [move[1] for move in moves(room)] == ["count", "undo"]


def test_taken_and_put_in_on_the_phone(browser: Browser, room: Path) -> None:
    """By what one has in the hand: 20 - 6 + 2; and a length off a reel."""
    with at_drawer(browser, room) as page:
        thing(page, COVERS, "take", "6")
        expect(page.locator("[data-told=done]")).to_contain_text("14 now")
        thing(page, COVERS, "put", "2")
        expect(page.locator("[data-told=done]")).to_contain_text("16 now")
        page.get_by_role("searchbox").fill("R01")
        page.keyboard.press("Enter")
        expect(page.locator("details")).to_have_count(1)
        page.locator("summary").tap()
        form = page.locator("form[action='/drawer/take']")
        form.locator("input[name=number]").fill("1.2 m")
        form.get_by_role("button").tap()
        expect(page.locator("[data-told=done]")).to_contain_text("8.8 m now")
        assert (shelf(room)[COVERS], shelf(room)["R01"]) == (16, 8.8)


def test_by_keyboard_alone(browser: Browser, room: Path) -> None:
    """From the first page to a count, without a pointer."""
    with served(room) as desk, device(browser, TABLET) as tablet:
        page = tablet.new_page()
        page.goto(desk.url)
        page.keyboard.press("Tab")
        assert at(page, "innerText") == "to the content"
        while at(page, "innerText") != "Drawer":
            page.keyboard.press("Tab")
        page.keyboard.press("Enter")
        page.wait_for_url("**/drawer")
        while COVERS not in at(page, "innerText") or at(page, "localName") != "summary":
            page.keyboard.press("Tab")
        page.keyboard.press("Enter")
        while at(page, "id") != count_field(page):
            page.keyboard.press("Tab")
        page.keyboard.type("18")
        page.keyboard.press("Enter")
        expect(page.locator("[data-told=done]")).to_contain_text("18 now")
        assert shelf(room)[COVERS] == 18


def at(page: Page, what: str) -> str:
    """What the element says of itself that has the focus."""
    return str(page.evaluate(f"document.activeElement.{what}"))


def count_field(page: Page) -> str | None:
    """The field in which covers are counted."""
    row = page.locator("details", has=page.get_by_text(COVERS, exact=True))
    return row.locator("form[action='/drawer/count'] input[name=number]").get_attribute("id")


def test_what_is_typed_is_left_alone(browser: Browser, room: Path) -> None:
    """Somebody else books meanwhile: the field stays, and once it is sent the page is new."""
    with served(room) as desk, device(browser, PHONE) as phone:
        page = phone.new_page()
        page.goto(f"{desk.url}drawer")
        row = page.locator("details", has=page.get_by_text(COVERS, exact=True))
        row.locator("summary").tap()
        field = row.locator("form[action='/drawer/take'] input[name=number]")
        field.fill("5")
        edition = page.request.get(f"{desk.url}news").text()
        assert bom("stock", "take", COVERS, "4", cwd=room).returncode == 0
        while page.request.get(f"{desk.url}news").text() == edition:
            pass
        with page.expect_response("**/news"), page.expect_response("**/news"):
            pass  # it has asked twice since, and is told of the new edition
        expect(field).to_have_value("5")
        row.locator("form[action='/drawer/take']").get_by_role("button").tap()
        expect(page.locator("[data-told=done]")).to_contain_text("16 before, 11 now")


def test_two_phones_at_once(browser: Browser, room: Path) -> None:
    """Each sees what the other took, and undoes only what is its own and the last."""
    with served(room) as desk, device(browser, PHONE) as one, device(browser, PHONE) as other:
        first, second = one.new_page(), other.new_page()
        for page in (first, second):
            page.goto(f"{desk.url}drawer")
        thing(first, COVERS, "take", "3")
        expect(first.locator("[data-told=done]")).to_contain_text("17 now")
        row = second.locator("details", has=second.get_by_text(COVERS, exact=True))
        expect(row.locator("summary")).to_contain_text("17")
        thing(second, COVERS, "take", "2")
        expect(second.locator("[data-told=done]")).to_contain_text("15 now")
        undone(first)
        expect(first.locator("[data-told=refused]")).to_contain_text(
            "something else was booked since"
        )
        first.locator("[data-told]").get_by_role("link", name="Lately").tap()
        expect(first.locator("section[aria-labelledby=lately] li").first).to_contain_text(
            f"take {COVERS} -2"
        )
        assert shelf(room)[COVERS] == 15
        undone(second)
        expect(second.locator("[data-told=done]")).to_contain_text("17 now")


def test_a_book_that_is_open_is_told_and_nothing_is_lost(browser: Browser, room: Path) -> None:
    """Who has it; and what was typed is in its field, to be sent again."""
    mark = room / ".~lock.stock.xlsx#"
    mark.write_text("Anna,anna,bench,29.11.2026 14:03,file:///home;", encoding="utf-8")
    before = (room / "stock.xlsx").read_bytes()
    with at_drawer(browser, room) as page:
        thing(page, COVERS, "count", "17")
        expect(page.locator("[data-told=refused]")).to_contain_text("it is open, by Anna on bench")
        assert (room / "stock.xlsx").read_bytes() == before
        row = page.locator("details", has=page.get_by_text(COVERS, exact=True))
        form = row.locator("form[action='/drawer/count']")
        expect(form.locator("input[name=number]")).to_have_value("17")
        mark.unlink()
        form.get_by_role("button").tap()
        expect(page.locator("[data-told=done]")).to_contain_text("17 now")
        assert shelf(room)[COVERS] == 17


def test_a_book_that_is_opened_is_told_before_anybody_types(browser: Browser, room: Path) -> None:
    """The page says so while it is open, and no longer when it is closed."""
    mark, before = room / ".~lock.stock.xlsx#", (room / "stock.xlsx").read_bytes()
    with served(room) as desk, device(browser, PHONE) as phone:
        page = phone.new_page()
        for path in ("drawer", "orders"):
            page.goto(f"{desk.url}{path}")
            expect(page.locator("details, h1").first).to_be_visible()
            expect(page.locator(".shut")).to_have_count(0)
            mark.write_text("Anna,anna,bench,29.11.2026 14:03,file:///home;", encoding="utf-8")
            expect(page.locator(".shut")).to_contain_text(
                "open, by Anna on bench, since 29.11.2026 14:03: nothing can be booked"
            )
            mark.unlink()
            expect(page.locator(".shut")).to_have_count(0)
    assert (room / "stock.xlsx").read_bytes() == before


def test_no_is_an_answer(browser: Browser, room: Path) -> None:
    """Nothing is booked, and the page is the one that was looked at."""
    with served(room) as desk, device(browser, PHONE) as phone:
        page = phone.new_page()
        page.goto(f"{desk.url}drawer?find=cover")
        thing(page, COVERS, "count", "200")
        page.locator("[data-told=asked]").get_by_role("link", name="No, leave it").tap()
        expect(page.locator("[data-told]")).to_have_count(0)
        assert page.url == f"{desk.url}drawer?find=cover"
        assert shelf(room)[COVERS] == 20


def test_what_is_not_in_the_drawer_is_put_in(browser: Browser, room: Path) -> None:
    """Found by its words in the catalogue; twelve of it, and it has a row."""
    item = "bullet cover, female"
    with served(room) as desk, device(browser, PHONE) as phone:
        page = phone.new_page()
        page.goto(f"{desk.url}drawer")
        page.get_by_role("searchbox").fill("female cover bullet")
        page.keyboard.press("Enter")
        expect(page.get_by_role("heading", name="Not in the drawer yet")).to_be_visible()
        thing(page, item, "put", "12")
        expect(page.locator("[data-told=done]")).to_contain_text("0 before, 12 now")
        assert shelf(room)[item] == 12
        page.goto(f"{desk.url}orders")
        page.goto(f"{desk.url}drawer")  # and what was left can still be undone
        page.locator("section[aria-labelledby=lately]").get_by_role("button", name="Undo").tap()
        expect(page.locator("[data-told=done]")).to_contain_text("12 before, 0 now")
        assert item not in shelf(room)


def test_a_slip_of_the_finger_is_asked(browser: Browser, room: Path) -> None:
    """Ten times what the book says is booked on a yes alone."""
    with at_drawer(browser, room) as page:
        thing(page, COVERS, "count", "200")
        expect(page.locator("[data-told=asked]")).to_contain_text("200 counted, 20 in the book")
        assert shelf(room)[COVERS] == 20
        page.get_by_role("button", name="Yes, book it").tap()
        expect(page.locator("[data-told=done]")).to_contain_text("200 now")


def test_a_hand_edit_is_asked(browser: Browser, room: Path) -> None:
    """What was typed into the book is taken over on a yes, and not before."""
    assert bom("stock", "count", COVERS, "19", cwd=room).returncode == 0
    opened = load_workbook(room / "stock.xlsx")
    opened["Drawer"]["C2"] = 12
    opened.save(room / "stock.xlsx")
    with at_drawer(browser, room) as page:
        thing(page, COVERS, "take", "2")
        expect(page.locator("[data-told=asked]")).to_contain_text("12 here, 19 by the moves")
        assert shelf(room)[COVERS] == 12
        page.get_by_role("button", name="Yes, book it").tap()
        expect(page.locator("[data-told=done]")).to_contain_text("10 now")


def test_an_order_is_received_line_by_line(browser: Browser, sample: Path) -> None:
    """Packs of one line; the rest is still to come, and Orders and Moves agree."""
    assert bom("order", "twin", "--place", cwd=sample).returncode == 0
    line = next(one for one in listed(sample, "Orders") if one["packs"] > 0 and not one["gauge"])
    with served(sample) as desk, device(browser, PHONE) as phone:
        page = phone.new_page()
        page.goto(f"{desk.url}orders")
        form = page.get_by_role("form", name=f"receive {line['number']}", exact=True)
        own = form.locator("li", has=page.get_by_role("heading", name=line["item"], exact=True))
        own.get_by_label("came now").fill("1")
        form.get_by_role("button", name="Book in what is typed").tap()
        expect(page.locator("[data-told=done]")).to_contain_text(line["item"])
        came = [one["came"] for one in listed(sample, "Orders") if one["item"] == line["item"]]
        assert sum(came) == 1 and sum(one["came"] for one in listed(sample, "Orders")) == 1
        undone(page)
        expect(page.locator("[data-told=done]")).to_contain_text("undone")
        assert page.url.startswith(f"{desk.url}orders?")
        assert sum(one["came"] for one in listed(sample, "Orders")) == 0


def test_all_came_but_for_what_is_typed(browser: Browser, sample: Path) -> None:
    """None of the first line, one pack of the second at another price, the rest whole."""
    assert bom("order", "twin", "--place", cwd=sample).returncode == 0
    number = listed(sample, "Orders")[0]["number"]
    own = [one for one in listed(sample, "Orders") if one["number"] == number]
    assert len(own) > 2
    price = f"{own[1]['price'] * 2:.2f}"
    with served(sample) as desk, device(browser, PHONE) as phone:
        page = phone.new_page()
        page.goto(f"{desk.url}orders")
        form = page.get_by_role("form", name=f"receive {number}", exact=True)
        form.locator("[name=packs]").nth(0).fill("0")
        form.locator("[name=packs]").nth(1).fill("1")
        form.locator("[name=price]").nth(1).fill(price)
        form.get_by_role("button", name="All came, but for what is typed").tap()
        expect(page.locator("[data-told=done]")).to_be_visible()
    now = [one for one in listed(sample, "Orders") if one["number"] == number]
    assert [one["came"] for one in now] == [0, 1, *(one["packs"] for one in own[2:])]
    assert now[1]["price"] == float(price)


# ------------------------------------------------------------------- for everybody


def test_a_closed_desk_is_told(browser: Browser, room: Path) -> None:
    """And when it is open again the page goes on; a form of before is asked once more."""
    desk = begun(room)
    with device(browser, PHONE) as phone:
        page = phone.new_page()
        page.goto(f"{desk.url}drawer")
        row = page.locator("details", has=page.get_by_text(COVERS, exact=True))
        row.locator("summary").tap()
        field = row.locator("form[action='/drawer/take'] input[name=number]")
        field.fill("5")
        desk.kill()
        expect(page.locator("#closed")).to_be_visible()
        field.scroll_into_view_if_needed()
        page.mouse.wheel(0, 3000)
        expect(page.locator("#closed")).to_be_in_viewport()
        row.locator("form[action='/drawer/take']").get_by_role("button").tap()
        page.keyboard.press("Enter")
        expect(field).to_have_value("5")  # it was not sent into the void
        with served(room) as again:
            assert again.url == desk.url
            expect(page.locator("#closed")).to_be_hidden()
            row.locator("form[action='/drawer/take']").get_by_role("button").tap()
            expect(page.locator("[data-told=asked]")).to_contain_text("started anew")
            assert shelf(room)[COVERS] == 20
            page.get_by_role("button", name="Send it again").tap()
            expect(page.locator("[data-told=done]")).to_contain_text("15 now")


@pytest.mark.parametrize(
    ("size", "scheme"),
    [
        (PHONE, "light"),
        (TABLET, "dark"),
        pytest.param(PHONE, "dark", marks=pytest.mark.slow),
        pytest.param(TABLET, "light", marks=pytest.mark.slow),
    ],
)
def test_pages_are_for_everybody(
    size: ViewportSize, scheme: Any, browser: Browser, sample: Path
) -> None:
    """By axe-core's rules nothing is amiss, nothing lies beside the screen, nothing is faulty."""
    assert bom("order", "twin", "single", "--place", cwd=sample).returncode == 0
    with served(sample) as desk, device(browser, size, color_scheme=scheme) as context:
        page = context.new_page()
        faults = heard(page)
        for path in ("", "jobs", "job/single", "drawer", "orders", "in", "nothing"):
            page.goto(desk.url + path)
            assert page.evaluate("document.documentElement.scrollWidth") <= size["width"], path
            assert [(v["id"], v["nodes"][0]["html"]) for v in found(page)] == [], path
        assert [fault for fault in faults if "404" not in fault] == []


def found(page: Page) -> list[dict[str, Any]]:
    """What axe-core finds amiss."""
    return list(Axe().run(page).response["violations"])


def test_the_figures_are_those_of_the_command(browser: Browser, sample: Path) -> None:
    """A price as it is printed, to the penny."""
    with served(sample) as desk, device(browser, TABLET) as tablet:
        page = tablet.new_page()
        for job in ("single", "twin", "carrier"):
            page.goto(f"{desk.url}job/{job}")
            shown = Decimal(page.locator(".total dd").inner_text().split()[-1])
            assert f'"total": "{shown}"' in bom("quote", job, "--json", cwd=sample).stdout


SCRIPT = "<script>alert(1)</script><img src=x onerror=alert(2)>{{7*7}}\"'</style>"


def test_a_script_in_every_text_is_shown_as_typed(browser: Browser, tmp_path: Path) -> None:
    """In every field of every book, in the name of a book, and in what is searched and sent."""
    folder = workshop_of_texts(tmp_path, SCRIPT)
    book = folder / "jobs" / "<img src=x onerror=alert(3)>.xlsx"
    shutil.move(folder / "jobs" / "job.xlsx", book)
    shutil.copy(ROOT / "sample_projects" / "workshop" / "jobs" / "single.xlsx", folder / "jobs")
    with served(folder) as desk, device(browser, TABLET) as context:
        page = context.new_page()
        faults = heard(page)
        page.on("dialog", lambda dialog: faults.append(dialog.message))
        page.goto(f"{desk.url}jobs")
        jobs = [a.get_attribute("href") for a in page.get_by_role("link").all()]
        own = [path.lstrip("/") for path in jobs if path and path.startswith("/job/")]
        assert len(own) == 2
        for path in ("", "jobs", "drawer", "orders", *own, f"drawer?find={quote(SCRIPT)}"):
            page.goto(desk.url + path)
            page.wait_for_load_state("load")
            html = page.request.get(desk.url + path).text()
            tree = read(html)
            assert {each.get("src") for each in tree.iter("script")} <= {"/desk.js", "/job.js"}
            assert not [*tree.iter("img")] and not [*tree.iter("style")]
            assert path not in ("drawer", "orders") or f"{SCRIPT}{MARK}" in text(tree)
        page.goto(f"{desk.url}drawer")
        page.locator("summary").first.click()
        form = page.locator("form[action='/drawer/count']").first
        form.locator("input[name=number]").fill(SCRIPT)
        form.get_by_role("button").click()
        expect(page.locator("[data-told=refused]")).to_contain_text(SCRIPT)
        assert faults == []
