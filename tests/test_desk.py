"""The desk as it is opened and closed, and as it keeps up with the books."""

import os
import re
import shutil
import signal
import socket
import subprocess
import sys
import webbrowser
from pathlib import Path
from urllib.parse import urlsplit

import httpx2
import pytest

from bom.cli.desk import at_hand, door, server
from tests.desks import REPOSITORY, begun, in_process, served
from tests.stockrooms import loom, shop
from tests.within import bom


def test_it_is_on_this_machine_alone(tmp_path: Path) -> None:
    """No other address of the machine answers at its port."""
    with served(shop(tmp_path / "shop")) as own:
        port = urlsplit(own.url).port
        assert httpx2.get(own.url).status_code == 200
        listening = Path("/proc/net/tcp")
        if listening.exists():
            lines = map(str.split, listening.read_text().splitlines()[1:])
            here = {place for _, place, _, state, *_ in lines if state == "0A"}  # it listens
            mine = {place for place in here if place.endswith(f":{port:04X}")}
            assert mine == {f"0100007F:{port:04X}"}


def test_a_workshop_keeps_its_port_where_that_is_free(tmp_path: Path) -> None:
    """What a tablet keeps of ticks, it keeps by address and port."""
    folder = shop(tmp_path / "shop")
    with served(folder) as first, served(folder) as beside:
        assert beside.url != first.url
        old = first.url
    with served(folder) as again:
        assert again.url == old


def test_two_desks_of_one_workshop_work_side_by_side(tmp_path: Path) -> None:
    """Both change the one book, by its lock."""
    folder = shop(tmp_path / "shop")
    with served(folder) as first, served(folder) as second:
        for own in (first, second):
            assert httpx2.get(own.url).status_code == 200


def test_ctrl_c_closes_it(tmp_path: Path) -> None:
    """With a word and no trace, at once."""
    own = begun(shop(tmp_path / "shop"))
    httpx2.get(own.url)
    own.process.send_signal(signal.SIGINT)
    out, err = own.process.communicate(timeout=60)
    assert own.process.returncode == 0 and err == ""
    assert out.endswith("the desk is closed\n")


def test_the_owner_s_browser_is_opened(tmp_path: Path) -> None:
    """The one of BROWSER, with the address that is printed."""
    folder, told = shop(tmp_path / "shop"), tmp_path / "told"
    os.mkfifo(told)
    browser = tmp_path / "browser"
    browser.write_text(f'#!/bin/sh\nprintf %s "$1" > "{told}"\n', encoding="utf-8")
    browser.chmod(0o755)
    command = [sys.executable, "-m", "bom.cli", "desk"]
    own = {**os.environ, "PYTHONPATH": str(REPOSITORY), "BROWSER": str(browser)}
    with subprocess.Popen(command, cwd=folder, env=own, stdout=subprocess.PIPE, text=True) as desk:
        assert desk.stdout
        printed = re.search(r"http\S+", desk.stdout.readline())
        assert printed and told.read_text(encoding="utf-8") == printed[0]  # waits for the browser
        desk.send_signal(signal.SIGINT)


def test_a_browser_that_would_take_the_terminal_is_not_opened(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """One of letters alone, which nobody chose."""
    monkeypatch.delenv("BROWSER", raising=False)
    opened: list[str] = []
    letters = webbrowser.GenericBrowser("w3m")
    monkeypatch.setattr(letters, "open_new_tab", opened.append)
    monkeypatch.setattr(webbrowser, "get", lambda: letters)
    server._show("http://127.0.0.1:1/")
    assert opened == []
    monkeypatch.setenv("BROWSER", "w3m")
    server._show("http://127.0.0.1:1/")
    assert opened == ["http://127.0.0.1:1/"]


def test_the_code_is_shown_where_others_are_let_in(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As a picture, and in two halves of four letters; the door is at the network's address too."""
    monkeypatch.setattr(door, "_address_in_network", lambda: "127.0.0.2")
    monkeypatch.setattr(server.Desk, "run", lambda *_, **__: None)
    done = bom("desk", "--lan", "--no-browser", cwd=shop(tmp_path / "shop"))
    assert re.search(
        r"for phones: http://127\.0\.0\.2:\d+/ with the code [A-Z]{4} [A-Z]{4},", done.stdout
    )
    picture = [line for line in done.stdout.splitlines() if set(line) <= set("█▀▄ ") and line]
    assert len(picture) > 10 and max(map(len, picture)) <= 80


def test_help_and_the_other_commands_load_none_of_it(tmp_path: Path) -> None:
    """No server, no templates, no watcher, no maker of pictures."""
    loom(shop(tmp_path / "shop"), "twin", 1.5)
    heavy = ("starlette", "uvicorn", "jinja2", "watchfiles", "segno", "anyio", "bom.cli.desk.app")
    script = (
        "import sys; from bom.cli.program import run\n"
        "try: run()\nexcept SystemExit: pass\n"
        f"print([name for name in {heavy} if name in sys.modules], file=sys.stderr)"
    )
    for words in (("--help",), ("desk", "--help"), (), ("check", "twin"), ("stock", "show")):
        done = subprocess.run(
            [sys.executable, "-c", script, *words],
            cwd=tmp_path / "shop",
            env={**os.environ, "PYTHONPATH": str(REPOSITORY)},
            capture_output=True,
            text=True,
        )
        assert done.stderr.splitlines()[-1] == "[]", words


# ------------------------------------------------------------------ it keeps up


def saves_after(url: str, edition: str) -> int:
    """How many saves the desk has noticed, once it is more than at this edition."""
    while (now := httpx2.get(f"{url}news").text) == edition:
        pass
    return int(now.split("-")[1])


@pytest.mark.parametrize("what", ["job", "new job", "stock", "prices", "rules"])
def test_a_book_that_is_saved_is_noticed(what: str, tmp_path: Path) -> None:
    """Whichever: each may change what a job needs, and what it costs."""
    folder = shop(tmp_path / "shop")
    path = loom(folder, "twin", 1.5)
    books = {"job": path, "stock": folder / "stock.xlsx", "prices": folder / "prices.xlsx"}
    books |= {"rules": folder / "workshop.toml", "new job": folder / "jobs" / "other.xlsx"}
    with served(folder) as own:
        before = httpx2.get(f"{own.url}news").text
        if what == "new job":
            shutil.copy(path, books[what])
        elif what == "rules":
            books[what].write_text("tax_percent = 19\n", encoding="utf-8")
        else:  # as office programs do it: a file beside it, then in its place
            data = books[what].read_bytes()
            (folder / "fresh").write_bytes(data)
            os.replace(folder / "fresh", books[what])
        assert before.endswith("-0") and saves_after(own.url, before) >= 1


@pytest.mark.parametrize(
    ("name", "news"),
    [
        *(("stock.xlsx", True), ("jobs/twin.ods", True), ("jobs/twin/Loom.csv", True)),
        *(("workshop.toml", True), ("done.csv", True), ("jobs/twin.XLSM", True)),
        *((".~lock.twin.xlsx#", False), ("jobs/~$twin.xlsx", False), (".bom/stock 1.xlsx", False)),
        *(("notes.txt", False), ("lu123.tmp", False), ("papers/twin.pdf", False), ("jobs", True)),
    ],
)
def test_marks_and_copies_are_no_books(name: str, news: bool) -> None:
    """What programs leave beside a book, and what lies in `.bom`, is not news."""
    for folder in (Path("/shop"), Path("/home/.own/shop")):
        assert at_hand._is_book([folder])(None, str(folder / name)) is news


def test_a_book_behind_a_link_is_noticed(tmp_path: Path) -> None:
    """Two workshops may share a shelf."""
    folder = shop(tmp_path / "shop")
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    shutil.move(folder / "stock.xlsx", elsewhere / "stock.xlsx")
    (folder / "stock.xlsx").symlink_to(elsewhere / "stock.xlsx")
    with served(folder) as own:
        before = httpx2.get(f"{own.url}news").text
        data = (elsewhere / "stock.xlsx").read_bytes()
        (elsewhere / "stock.xlsx").write_bytes(data)
        assert before.endswith("-0") and saves_after(own.url, before) >= 1


def test_a_job_is_worked_once_for_all_who_look(tmp_path: Path) -> None:
    """And once more when a book was saved."""
    folder = shop(tmp_path / "shop")
    loom(folder, "twin", 1.5)
    books = in_process(folder).at_hand
    first = books.job("twin")
    assert first and books.job("twin") is first
    books._saved += 1
    again = books.job("twin")
    assert again and again is not first
    for name in ("nothing", "twin.xlsx", "../jobs/twin", "", "stock"):
        assert books.job(name) is None


def test_another_book_in_its_place_is_seen(tmp_path: Path) -> None:
    """Though nobody told that it was saved: a folder was renamed, or it lies behind a link."""
    folder = shop(tmp_path / "shop")
    path = loom(folder, "twin", 1.5)
    books = in_process(folder).at_hand
    first = books.job("twin")
    os.rename(folder / "jobs", folder / "old")
    (folder / "jobs").mkdir()
    shutil.copy(folder / "old" / path.name, path)
    assert first and books.job("twin") is not first


def test_a_name_that_is_no_utf_8(tmp_path: Path) -> None:
    """As other systems wrote it: the job is shown under what can be shown of it."""
    folder = shop(tmp_path / "shop")
    path = loom(folder, "twin", 1.5)
    os.rename(os.fsencode(path), os.fsencode(path.parent) + b"/caf\xe9.xlsx")
    client = in_process(folder).client()
    assert client.get("/").status_code == 200
    assert client.get("/jobs").status_code == 200
    assert client.get("/job/caf%E9").status_code == 200


def test_a_workshop_that_is_gone_is_told(tmp_path: Path) -> None:
    """Rather than that nothing is due."""
    folder = shop(tmp_path / "shop")
    desk = in_process(folder)
    shutil.rmtree(folder)
    answer = desk.client().get("/")
    assert answer.status_code == 404 and "The workshop is gone" in answer.text


def test_its_port_is_taken(tmp_path: Path) -> None:
    """Then it has another one."""
    folder = shop(tmp_path / "shop")
    own = door.opened(folder, lan=False)
    beside = door.opened(folder, lan=False)
    assert own.port != beside.port
    for one in (*own.sockets, *beside.sockets):
        assert one.family == socket.AF_INET
        one.close()
