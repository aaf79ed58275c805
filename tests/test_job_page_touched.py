"""The page of a job in Chromium, without a network: touched, ticked, searched, by hand and keys."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, BrowserContext, Page, expect

from bom.estimate import quote_for
from bom.show.page.job import job_file
from tests.books import book
from tests.browser import PHONE, TABLET, chromium, device, heard
from tests.shops import job, workshop
from tests.slow import one_in
from tests.test_job_page import HOSTILE, seen, typed_everywhere
from tests.within import JOBS, SAMPLES

pytestmark = pytest.mark.chromium

SIZES = {"phone": PHONE, "tablet": TABLET}


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """One browser for all of them."""
    with chromium() as found:
        yield found


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the pages of the sample jobs, as `bom pack` writes them."""
    folder = tmp_path_factory.mktemp("pages")
    for name in SAMPLES:
        page = job_file(quote_for(JOBS / f"{name}.xlsx")[0])
        (folder / f"{name}.html").write_text(page, encoding="utf-8")
    return folder


@pytest.fixture(params=SIZES)
def bench(request: pytest.FixtureRequest, browser: Browser) -> Iterator[BrowserContext]:
    """A phone or a tablet that is on no network."""
    with device(browser, SIZES[request.param], offline=True) as found:
        yield found


def opened(bench: BrowserContext, file: Path) -> tuple[Page, list[str], list[str]]:
    """The page, what it writes to the console, and what it asks the network for."""
    page = bench.new_page()
    said, asked = heard(page), list[str]()
    page.on("request", lambda request: asked.append(request.url))
    page.set_default_timeout(5000)
    page.goto(file.as_uri())
    return page, said, asked


def shown(page: Page) -> Any:
    """What is shown of what was touched."""
    return page.locator("article.shown:visible")


def marked(page: Page) -> set[str]:
    """The names of what is marked in the drawing."""
    parts = page.locator("svg [data-part].marked").all()
    return {str(part.get_attribute("aria-label")).partition(",")[0] for part in parts}


def touch(page: Page, label: str) -> None:
    """A thumb on a branch or a point, some pixels beside its middle: the line itself is thin."""
    felt = page.locator(f'svg [aria-label^="{label}"] .feel')
    felt.evaluate("each => each.scrollIntoView({block: 'center'})")
    x, y = felt.evaluate(
        "e => (r => [(r.left + r.right) / 2, (r.top + r.bottom) / 2])(e.getBoundingClientRect())"
    )
    page.touchscreen.tap(x + 7, y + 7)


def boxes(page: Page) -> Any:
    """The boxes of the cut list."""
    return page.locator("#cut-list input[type=checkbox]")


# ------------------------------------------------------------------------------ touched


def test_a_branch_a_wire_and_its_way(bench: BrowserContext, files: Path) -> None:
    """L8 of the twin runs from the headstock plug to the headlamp: by one branch."""
    page, said, asked = opened(bench, files / "twin.html")
    touch(page, "branch: headstock to lamp bracket")
    expect(shown(page)).to_have_count(1)
    expect(shown(page).locator("h3")).to_have_text("headstock to lamp bracket")
    expect(shown(page).locator("li")).to_have_count(13)  # as its line on the loom's paper says
    assert marked(page) == {"branch: headstock to lamp bracket"}
    expect(page.locator("[data-told]")).to_have_text("branch headstock to lamp bracket is shown")
    shown(page).get_by_role("link", name="H6", exact=True).click()
    expect(shown(page).locator("h3")).to_contain_text("H6")
    assert marked(page) == {
        "branch: headstock to lamp bracket",
        "point: headstock",
        "point: lamp bracket",
    }
    expect(shown(page).locator("h3")).to_be_in_viewport()
    expect(page.locator("[data-drawing] .branch.marked .feel")).to_be_in_viewport()
    page.get_by_role("button", name="back").click()
    expect(shown(page).locator("h3")).to_have_text("headstock to lamp bracket")
    page.get_by_role("button", name="back").click()
    expect(shown(page)).to_have_count(0)
    assert marked(page) == set()
    assert said == []
    assert [url for url in asked if not url.startswith("file:")] == []
    assert len(asked) == 1


def test_a_point_and_its_pins(bench: BrowserContext, files: Path) -> None:
    """At the headstock of the twin sits its plug; H3 and H4 are at its pin 1."""
    page, _, _ = opened(bench, files / "twin.html")
    touch(page, "point: headstock")
    expect(shown(page).locator("h3")).to_have_text("headstock")
    expect(shown(page)).to_contain_text("headstock plug")
    expect(shown(page)).to_contain_text("1 H3 H4")
    assert marked(page) == {"point: headstock"}


def test_from_the_cut_list_and_back(bench: BrowserContext, files: Path) -> None:
    """`more` shows the wire beside the drawing; back is where the hand was."""
    page, _, _ = opened(bench, files / "single.html")
    more = page.locator("#cut-list a.touch").nth(20)
    label = str(more.get_attribute("aria-label")).removeprefix("more on ")
    more.click()
    expect(shown(page).locator("h3")).to_contain_text(label)
    expect(shown(page).locator("h3")).to_be_in_viewport()
    page.get_by_role("button", name="back").click()
    expect(more).to_be_focused()
    expect(more).to_be_in_viewport()
    assert marked(page) == set()


def test_all_of_it_by_keys(bench: BrowserContext, files: Path) -> None:
    """From the drawing to a branch, to a wire in it and back by Escape; a box by the space bar."""
    page, _, _ = opened(bench, files / "single.html")
    page.locator("svg .branch").first.focus()
    page.keyboard.press("Enter")
    heading = shown(page).locator("h3")
    expect(heading).to_be_focused()
    page.keyboard.press("Tab")
    expect(shown(page).locator("a").first).to_be_focused()
    page.keyboard.press("Enter")
    expect(heading).to_be_focused()
    page.keyboard.press("Escape")
    expect(shown(page).locator("a").first).to_be_focused()
    page.keyboard.press("Escape")
    expect(page.locator("svg .branch").first).to_be_focused()
    boxes(page).first.focus()
    page.keyboard.press("Space")
    expect(page.locator("[data-count]")).to_have_text("1 of 32 cut")
    assert [box.is_checked() for box in boxes(page).all()] == [True, *[False] * 31]


def test_it_is_enlarged_and_whole_again(bench: BrowserContext, files: Path) -> None:
    """One step is enough to read by; the page itself never goes sideways."""
    page, _, _ = opened(bench, files / "carrier.html")
    drawing, frame = page.locator("[data-drawing]"), page.locator("[data-frame]")
    before = drawing.bounding_box()
    page.get_by_role("button", name="larger").click()
    after = drawing.bounding_box()
    assert before and after and after["width"] >= 2 * before["width"] - 1
    heights = [text.bounding_box() for text in page.locator("[data-drawing] text").all()]
    assert min(box["height"] for box in heights if box) >= 12
    assert frame.evaluate("f => f.scrollWidth > f.clientWidth")
    assert no_sideways(page)
    page.get_by_role("button", name="whole").click()
    whole = drawing.bounding_box()
    assert whole and (whole["width"], whole["height"]) == (before["width"], before["height"])
    expect(page.get_by_role("button", name="smaller")).to_be_disabled()


def test_two_fingers_enlarge_it(bench: BrowserContext, files: Path) -> None:
    """From 40 px apart to 120: three times as large, and the page itself is not."""
    page, said, _ = opened(bench, files / "twin.html")
    drawing = page.locator("[data-drawing]")
    box = drawing.bounding_box()
    assert box
    x, y = box["x"] + box["width"] / 2, box["y"] + 100
    fingers = bench.new_cdp_session(page)
    for event, apart in (("touchStart", 20), ("touchMove", 30), ("touchMove", 60)):
        points = [{"x": x - apart, "y": y, "id": 0}, {"x": x + apart, "y": y, "id": 1}]
        fingers.send("Input.dispatchTouchEvent", {"type": event, "touchPoints": points})
    fingers.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    page.wait_for_function(
        "wide => document.querySelector('[data-drawing]').getBoundingClientRect().width > wide",
        arg=2.9 * box["width"],
    )
    assert page.evaluate("visualViewport.scale") == 1
    assert no_sideways(page)
    assert said == []


def no_sideways(page: Page) -> bool:
    """Whether the page is no wider than the screen."""
    return bool(
        page.evaluate(
            "document.documentElement.scrollWidth <= document.documentElement.clientWidth"
        )
    )


# ------------------------------------------------------------------------------- ticked


def test_ticks_stay_and_a_cut_that_changed_has_none(bench: BrowserContext, tmp_path: Path) -> None:
    """Three of four are cut; then B is measured anew, and only its tick is gone."""
    shop, file = workshop(tmp_path), tmp_path / "job.html"

    def write(metres: float) -> None:
        wires = [("A", "red", "1.0", 1), ("B", "red", "1.0", metres), ("C", "blue", "1.0", 1)]
        path = job(shop, [*wires, ("D", "blue", "1.0", 2)])
        file.write_text(job_file(quote_for(path)[0]), encoding="utf-8")

    def ticked() -> set[str]:
        rows = page.locator("#cut-list li", has=page.locator("input:checked")).all()
        return {str(row.locator(".mark").text_content()) for row in rows}

    write(0.8)
    page, said, _ = opened(bench, file)
    assert ticked() == set()
    for name in ("A", "B", "D"):
        page.locator("#cut-list li", has=page.locator(f".mark:text-is('{name}')")).locator(
            "label"
        ).click()
    expect(page.locator("[data-count]")).to_have_text("3 of 4 cut")
    page.reload()
    expect(page.locator("[data-count]")).to_have_text("3 of 4 cut")
    assert ticked() == {"A", "B", "D"}
    write(0.9)
    page.reload()
    expect(page.locator("[data-count]")).to_have_text("2 of 4 cut")
    assert ticked() == {"A", "D"}
    row = page.locator("#cut-list li", has=page.locator(".mark:text-is('B')"))
    expect(row).to_contain_text("changed since it was ticked: 800 mm")
    assert said == []


def test_figures_are_kept_and_cleared_when_it_is_meant(bench: BrowserContext, files: Path) -> None:
    """The test sheet keeps what is written; to clear it is asked first, and the cut list stays."""
    page, _, _ = opened(bench, files / "single.html")
    boxes(page).first.check()
    sheet = page.locator("#test-sheet")
    sheet.locator("input[size]").first.fill("4.2")
    sheet.get_by_role("checkbox").first.check()
    page.reload()
    expect(sheet.locator("input[size]").first).to_have_value("4.2")
    expect(sheet.get_by_role("checkbox").first).to_be_checked()
    sheet.get_by_role("button", name="clear all").click()
    expect(sheet.get_by_role("button", name="no, keep")).to_be_focused()
    page.keyboard.press("Enter")
    expect(sheet.locator("input[size]").first).to_have_value("4.2")
    sheet.get_by_role("button", name="clear all").click()
    sheet.get_by_role("button", name="yes, clear").click()
    page.reload()
    expect(sheet.locator("input[size]").first).to_have_value("")
    assert not any(box.is_checked() for box in sheet.get_by_role("checkbox").all())
    expect(boxes(page).first).to_be_checked()


def test_where_nothing_can_be_kept_it_says_so(bench: BrowserContext, files: Path) -> None:
    """As in a private window that refuses it; ticks still count."""
    bench.add_init_script(
        "Object.defineProperty(window, 'localStorage', {get() { throw new Error('refused'); }});"
    )
    page, said, _ = opened(bench, files / "single.html")
    expect(page.locator("[data-unkept]")).to_be_visible()
    boxes(page).first.check()
    expect(page.locator("[data-count]")).to_have_text("1 of 32 cut")
    assert said == []


# -------------------------------------------------------------------------------- found


def test_finding_by_all_its_names(bench: BrowserContext, tmp_path: Path) -> None:
    """Two of three wires are grey, which is slate too; all words count, and their beginnings."""
    path = book(
        workshop(tmp_path) / "jobs",
        "job.xlsx",
        Circuits=[
            ("wire", "circuit", "from", "to", "colour", "gauge"),
            ("A1", "horn", "bars:horn", "tail", "grey", "1.0"),
            ("A2", "tail lamp", "bars", "tail:lamp", "grey/red", "1.5"),
            ("B1", "horn", "tail", "bars", "blue", "1.0"),
        ],
        Loom=[("from", "to", "length"), ("bars", "tank", 1), ("tank", "tail", 1)],
    )
    file = tmp_path / "job.html"
    file.write_text(job_file(quote_for(path)[0]), encoding="utf-8")
    page, _, _ = opened(bench, file)
    field = page.get_by_label("find by")
    for typed, names in {
        "slate": {"A1", "A2"},
        "HORN": {"A1", "B1"},
        "hor gr": {"A1"},
        "s/r": {"A2"},
        "1.5": {"A2"},
        "lamp tai": {"A2"},
        "nothing": set(),
        " ": {"A1", "A2", "B1"},
    }.items():
        field.fill(typed)
        visible = page.locator("#wires li:visible a").all_text_contents()
        assert {*visible} == names, typed
        assert page.locator("#cut-list .cuts li:visible").count() == len(names)
        if typed.strip():
            expect(page.get_by_role("status")).to_have_text(f"{len(names)} of 3 wires")
            assert page.locator("svg .branch.dim").count() == (0 if names else 2)
    field.fill("slate")
    field.press("Escape")
    expect(field).to_have_value("")
    expect(page.locator("#wires li:visible")).to_have_count(3)
    field.fill("slate")
    page.get_by_role("button", name="clear", exact=True).click()
    expect(page.locator("#wires li:visible")).to_have_count(3)
    expect(field).to_be_focused()


# ------------------------------------------------------------------------- renewed, seen


def test_what_a_hand_did_is_done_again_when_the_page_is_renewed(
    bench: BrowserContext, files: Path
) -> None:
    """The desk swaps what is in main: what is shown, ticked, found and enlarged stays so."""
    page, said, _ = opened(bench, files / "single.html")
    as_it_came = page.evaluate("document.querySelector('main').innerHTML")
    boxes(page).first.check()
    page.get_by_label("find by").fill("red")
    found = page.locator("#wires li:visible").count()
    page.get_by_role("button", name="larger").click()
    touch(page, "branch: seat node to tail")
    wide = page.locator("[data-drawing]").bounding_box()
    page.evaluate(
        """as_it_came => {
            document.querySelector("main").innerHTML = as_it_came;
            document.dispatchEvent(new Event("renewed"));
        }""",
        as_it_came,
    )
    expect(boxes(page).first).to_be_checked()
    expect(page.get_by_label("find by")).to_have_value("red")
    assert page.locator("#wires li:visible").count() == found
    expect(shown(page).locator("h3")).to_have_text("seat node to tail")
    assert marked(page) == {"branch: seat node to tail"}
    after = page.locator("[data-drawing]").bounding_box()
    assert wide and after and abs(after["width"] - wide["width"]) < 1
    assert said == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("name", one_in(3, SAMPLES))
def test_it_can_be_used_by_everybody(
    name: str, size: str, scheme: Any, browser: Browser, files: Path
) -> None:
    """axe-core finds nothing serious, with something shown; and nothing goes sideways."""
    with device(browser, SIZES[size], offline=True, color_scheme=scheme) as bench:
        page, said, _ = opened(bench, files / f"{name}.html")
        page.locator("svg .branch").nth(1).focus()
        page.keyboard.press("Enter")
        expect(shown(page)).to_have_count(1)
        found = Axe().run(page).response["violations"]
        serious = [each for each in found if each["impact"] in ("serious", "critical")]
        assert [(each["id"], each["nodes"][0]["html"][:200]) for each in serious] == []
        assert no_sideways(page)
        assert said == []


@pytest.mark.parametrize("typed", HOSTILE)
def test_what_was_typed_does_nothing(bench: BrowserContext, typed: str, tmp_path: Path) -> None:
    """In every text: it is seen as typed, makes nothing wider, and no script of it runs."""
    file = tmp_path / "job.html"
    file.write_text(typed_everywhere(typed, tmp_path), encoding="utf-8")
    page, said, _ = opened(bench, file)
    opened_boxes: list[str] = []
    page.on("dialog", lambda dialog: opened_boxes.append(dialog.message))
    touch(page, "branch:")
    shown(page).locator("a.wire").click()
    expect(shown(page).locator("h3")).to_contain_text(seen(typed))
    assert no_sideways(page)
    assert (said, opened_boxes) == ([], [])


@pytest.mark.parametrize("size", SIZES)
def test_letters_twice_as_large_fit(size: str, browser: Browser, files: Path) -> None:
    """Text of 200 per cent: nothing goes sideways (WCAG 2.2, 1.4.4)."""
    with device(browser, SIZES[size], offline=True) as bench:
        page, _, _ = opened(bench, files / "twin.html")
        page.evaluate("document.documentElement.style.fontSize = '200%'")
        touch(page, "point: headstock")
        assert no_sideways(page)


def test_without_scripts_all_of_it_can_be_read(browser: Browser, files: Path) -> None:
    """Every wire, branch and point stands there, and links lead to them."""
    with device(browser, PHONE, offline=True, java_script_enabled=False) as bench:
        page, _, _ = opened(bench, files / "single.html")
        assert (
            page.locator("article.shown:visible").count() == page.locator("article.shown").count()
        )
        assert not page.get_by_role("button", name="larger").is_visible()
        page.locator("#wires a.touch").first.click()
        expect(page.locator("article.shown h3").filter(has_text="1 ").first).to_be_visible()


@pytest.mark.parametrize("size", SIZES)
def test_thumbs_find_what_is_to_be_touched(size: str, browser: Browser, files: Path) -> None:
    """Buttons, links and boxes' labels are 44 px high at the least (WCAG 2.2, 2.5.5)."""
    with device(browser, SIZES[size], offline=True) as bench:
        page, _, _ = opened(bench, files / "single.html")
        for each in page.locator("button:visible, a.touch:visible, label.tick:visible").all():
            box = each.bounding_box()
            assert box and box["height"] >= 43.9, each.text_content()
