"""The forms of the desk: what they carry beside what is typed, and where they lead back to.

The orders are those of `tests/test_shelf_pages.py`: of 2026-001 two packs of 50 covers, four metres
and a reel of 1.0 red are to come; one pack of covers has come.
"""

from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from bom.cli.desk.guests import THIS_MACHINE
from tests.desks import InProcess, form_for, forms_of, in_process
from tests.stockrooms import listed, shelf, typed
from tests.test_shelf_pages import COVERS, RED, stocked

METRES, REEL = f"{RED}, metre", f"{RED}, reel of 50"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """The shop with its orders."""
    return stocked(tmp_path / "shop")


@pytest.fixture
def desk(folder: Path) -> InProcess:
    """Its desk."""
    return in_process(folder)


class Parcel:
    """The form of an order as a page showed it, to be filled in and sent."""

    def __init__(self, desk: InProcess) -> None:
        self._desk, self._client = desk, desk.client()
        self._seen = form_for(self._client.get("/orders").text, "/orders/receive").fields["seen"]

    def sent(self, *came_now: tuple[str, str], **more: str) -> str:
        """Packs and price of the three lines, in their order; the page that comes of it."""
        lines = zip((COVERS, METRES, REEL), ("2", "4", "1"), came_now, strict=True)
        fields: dict[str, Any] = {"line": [], "to_come": [], "packs": [], "price": []}
        for word, to_come, (packs, price) in lines:
            for name, value in zip(fields, (word, to_come, packs, price), strict=True):
                fields[name].append(value)
        own = {"token": self._desk.guests.token(THIS_MACHINE), "number": "2026-001"}
        data = {**own, "seen": self._seen, **fields, **more}
        return page(self._client, "/orders/receive", data)


def page(client: TestClient, action: str, data: dict[str, Any]) -> str:
    """The page that a form leads to."""
    return client.post(action, data=data, follow_redirects=True).text


def came(folder: Path) -> list[int]:
    """Packs that came, line by line of the first order."""
    return [one["came"] for one in listed(folder, "Orders")][:3]


def test_all_came_but_for_what_is_typed(folder: Path, desk: InProcess) -> None:
    """No covers, all four metres, the reel at another price: 1, 4 and 1 have come."""
    told = Parcel(desk).sent(("0", ""), (" ", ""), ("", "21.5"), all="1")
    assert 'data-told="done"' in told
    assert came(folder) == [1, 4, 1]
    assert [one["price"] for one in listed(folder, "Orders")][:3] == [4.2, 0.5, 21.5]


def test_the_other_button_books_only_what_is_typed(folder: Path, desk: InProcess) -> None:
    """Three of four metres, and nothing of the lines that are blank."""
    assert 'data-told="done"' in Parcel(desk).sent(("", ""), ("3", "0.6"), ("", ""))
    assert came(folder) == [1, 3, 0]


def test_a_price_of_a_line_of_which_nothing_comes_is_refused(folder: Path, desk: InProcess) -> None:
    """What was typed stands in its fields again, and nothing is booked."""
    told = Parcel(desk).sent(("0", "4.5"), ("", ""), ("", ""), all="1")
    assert "is in this parcel, but a price is named for it" in told
    assert came(folder) == [1, 0, 0]
    assert 'name="packs" inputmode="numeric" autocomplete="off" value="0"' in told
    assert 'name="price" inputmode="decimal" autocomplete="off" value="4.5"' in told


def test_a_word_where_a_number_belongs_is_refused(folder: Path, desk: InProcess) -> None:
    """With either button; the blank lines wait too."""
    parcel = Parcel(desk)
    for more in ({}, {"all": "1"}):
        told = parcel.sent(("", ""), ("few", ""), ("1", ""), **more)
        assert 'data-told="refused"' in told and came(folder) == [1, 0, 0]


def test_two_with_the_same_parcel_book_it_once(folder: Path, desk: InProcess) -> None:
    """The second is asked, whatever button was touched; a yes books.

    Two metres and a reel came by the first, 3 packs; by the second, with the yes, a metre more.
    """
    first, second = Parcel(desk), Parcel(desk)
    assert 'data-told="done"' in first.sent(("", ""), ("2", ""), ("1", ""))
    says = "3 packs of order 2026-001 were received since this page was shown: another parcel?"
    told = second.sent(("", ""), ("", ""), ("", ""), all="1")
    assert says in told and form_for(told, "/orders/receive", yes="1", all="1")
    told = second.sent(("", ""), ("1", ""), ("", ""))
    assert says in told and came(folder) == [1, 2, 1]
    again = form_for(told, "/orders/receive", yes="1")
    data = {**again.fields, "line": METRES, "to_come": "4", "packs": "1", "price": ""}
    assert 'data-told="done"' in page(desk.client(), "/orders/receive", data)
    assert came(folder) == [1, 3, 1]


def test_an_order_written_in_other_letters_is_one(folder: Path, desk: InProcess) -> None:
    """`A-7` in one row and `a-7` in the next: nobody else has booked anything."""
    typed(folder / "stock.xlsx", "Orders", A2="A-7", A3="a-7", A4="A-7")
    shown = desk.client().get("/orders").text
    form = form_for(shown, "/orders/receive", number="A-7")
    data = {**form.fields, "line": METRES, "packs": "2", "price": "", "to_come": "4"}
    assert 'data-told="done"' in page(desk.client(), "/orders/receive", data)
    assert came(folder) == [1, 2, 0]


def test_a_page_that_was_shown_since_asks_nothing(folder: Path, desk: InProcess) -> None:
    """Two parcels one after the other."""
    for _ in range(2):
        assert 'data-told="done"' in Parcel(desk).sent(("", ""), ("1", ""), ("", ""))
    assert came(folder) == [1, 2, 0]


@pytest.mark.parametrize(
    ("page_", "back"),
    [
        *(("/orders", "/orders"), ("/drawer", "/drawer"), ("", "/drawer"), ("/who", "/drawer")),
        *(("https://evil.example/", "/drawer"), ("//evil.example", "/drawer")),
        *(("/orders/../who", "/drawer"), ("/orders\r\nset-cookie: a=b", "/drawer")),
    ],
)
def test_undo_goes_back_to_a_page_of_the_desk(page_: str, back: str, desk: InProcess) -> None:
    """Where it stood, and nowhere else."""
    Parcel(desk).sent(("", ""), ("1", ""), ("", ""))
    client = desk.client()
    undo = form_for(client.get("/drawer").text, "/undo")
    assert undo.fields["page"] == "/drawer"
    answer = client.post("/undo", data={**undo.fields, "page": page_})
    assert answer.headers["location"].partition("?")[0] == back
    assert "undone: R04, 1 m before, 0 m now" in client.get(answer.headers["location"]).text


def test_the_undo_of_a_receipt_stands_on_orders(folder: Path, desk: InProcess) -> None:
    """And leads there again; a second one says why, and where what was done is listed."""
    told = Parcel(desk).sent(("", ""), ("1", ""), ("", ""))
    undo = form_for(told, "/undo")
    assert undo.fields["page"] == "/orders"
    client = desk.client()
    data = {**undo.fields, "token": desk.guests.token(THIS_MACHINE)}
    assert "<h1>Orders</h1>" in page(client, "/undo", data) and came(folder) == [1, 0, 0]
    told = page(client, "/undo", {**data, "token": desk.guests.token(THIS_MACHINE)})
    assert "stands no longer" in told and 'href="/drawer#lately"' in told


def test_an_open_book_is_told_on_both_pages(folder: Path, desk: InProcess) -> None:
    """And the edition is another one while it is, so that pages that are shown say it too."""
    client, says = desk.client(), "The stock book is open</b>, by Anna on bench"
    before = client.get("/news").text
    mark = folder / ".~lock.stock.xlsx#"
    mark.write_text("Anna,anna,bench,29.11.2026 14:03,file:///home;", encoding="utf-8")
    assert client.get("/news").text != before
    for path in ("/drawer", "/orders"):
        shown = client.get(path).text
        assert says in shown and f'data-edition="{client.get("/news").text}"' in shown
    assert 'class="boxed shut"' not in client.get("/jobs").text
    mark.unlink()
    assert client.get("/news").text == before
    assert says not in client.get("/drawer").text


def test_what_the_drawer_has_not_is_counted(folder: Path, desk: InProcess) -> None:
    """Found by its words; what was mistyped stands in its field."""
    client, item = desk.client(), "bullet cover, female"
    shown = client.get("/drawer", params={"find": "female bullet cover"}).text
    assert not [form for form in forms_of(shown) if form.action == "/drawer/take"]
    form = form_for(shown, "/drawer/count", item=item)
    told = page(client, form.action, {**form.fields, "number": "7.5"})
    assert "7.5&#39; is no whole number" in told
    form = form_for(told, "/drawer/count", item=item)
    assert form.fields["number"] == "7.5"
    page(client, form.action, {**form.fields, "number": "7"})
    assert shelf(folder)[item] == 7
