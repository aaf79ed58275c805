"""Whoever should not get at the desk: each way in is tried, and the stock book stays as it was."""

import asyncio
import contextlib
import re
import socket
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from urllib.parse import urlsplit

import anyio
import httpx2
import pytest
import uvicorn
from hypothesis import given
from hypothesis import strategies as st
from uvicorn.server import ServerState

from bom.cli.desk import guard, server
from bom.cli.desk.guests import (
    LETTERS,
    MOST_TOKENS,
    MOST_WRONG,
    MOST_WRONG_IN_ALL,
    THIS_MACHINE,
    GuestList,
)
from tests.desks import LAN, PORT, InProcess, Served, form_for, forms_of, in_process, served
from tests.full_disks import tree
from tests.stockrooms import loom, shelf, shop

PHONE = "10.0.0.23"
MB = 1024 * 1024


@pytest.fixture
def room(tmp_path: Path) -> Path:
    """A workshop with a shelf and a job."""
    shop(tmp_path / "shop")
    loom(tmp_path / "shop", "twin", 3.2, 1.8)
    return tmp_path / "shop"


@pytest.fixture
def desk(room: Path) -> InProcess:
    """A desk that lets phones in."""
    return in_process(room, lan=True)


def counting(token: str) -> dict[str, str]:
    """What the form for a count says."""
    return {"item": "R01", "number": "3 m", "token": token}


def a_token(desk: InProcess) -> str:
    """A good one of this machine."""
    return desk.guests.token(THIS_MACHINE)


# ------------------------------------------------------------------ by another name


@pytest.mark.parametrize(
    "host", ["evil.example", f"evil.example:{PORT}", "127.0.0.1", f"127.0.0.1:{PORT + 1}", "", LAN]
)
def test_a_wrong_host_is_refused(host: str, desk: InProcess) -> None:
    """A page from elsewhere whose name was made to point here calls the desk by that name."""
    for path in ("/", "/drawer", "/news", "/look.css", "/in"):
        answer = desk.client().get(path, headers={"host": host})
        assert answer.status_code == 421 and "Workshop" not in answer.text


def test_its_own_names_are_answered(desk: InProcess) -> None:
    """In any letters, as names of hosts are."""
    for host in (f"127.0.0.1:{PORT}", f"localhost:{PORT}", f"LOCALHOST:{PORT}", f"{LAN}:{PORT}"):
        assert desk.client().get("/news", headers={"host": host}).status_code == 200


def test_two_hosts_are_refused(room: Path) -> None:
    """As bytes on the wire, since no client library sends two."""
    with served(room) as own:
        good = f"Host: {urlsplit(own.url).netloc}\r\n"
        assert b" 200 " in raw(own, f"GET /news HTTP/1.1\r\n{good}Connection: close\r\n\r\n")
        both = f"GET /news HTTP/1.1\r\n{good}Host: evil\r\nConnection: close\r\n\r\n"
        assert raw(own, both).split(b"\r\n")[0].split()[1] in (b"400", b"421")


def raw(own: Served, request: str | bytes) -> bytes:
    """What comes back for bytes on the wire."""
    place = urlsplit(own.url)
    data = request if isinstance(request, bytes) else request.encode("latin-1")
    with socket.create_connection((place.hostname, place.port), timeout=30) as line:
        line.sendall(data)
        return b"".join(iter(lambda: line.recv(65536), b""))


# ------------------------------------------------------------------ from another page


@pytest.mark.parametrize(
    "origin",
    [
        "http://evil.example",
        "null",
        f"https://127.0.0.1:{PORT}",
        f"http://127.0.0.1:{PORT + 1}",
        "",
    ],
)
def test_a_wrong_origin_changes_nothing(origin: str, desk: InProcess, room: Path) -> None:
    """Though the token were known."""
    before = tree(room)
    answer = desk.client().post(
        "/drawer/count", data=counting(a_token(desk)), headers={"origin": origin}
    )
    assert answer.status_code == 403 and tree(room) == before


def test_a_form_of_its_own_page_is_taken(desk: InProcess, room: Path) -> None:
    """With the origin that browsers tell, and without: an old one tells none."""
    for number, headers in (("3", {"origin": f"http://127.0.0.1:{PORT}"}), ("4", {})):
        form = {"item": "R01", "number": f"{number} m", "token": a_token(desk)}
        answer = desk.client().post("/drawer/count", data=form, headers=headers)
        assert answer.status_code == 303 and shelf(room)["R01"] == int(number)


@pytest.mark.parametrize("token", ["", "made-up", "x" * 500])
def test_without_a_token_nothing_is_booked(token: str, desk: InProcess, room: Path) -> None:
    """What was typed comes back, to be sent once more by who sees it."""
    before = tree(room)
    client = desk.client()
    answer = client.post("/drawer/count", data=counting(token))
    assert tree(room) == before
    page = client.get(answer.headers["location"]).text
    again = next(form for form in forms_of(page) if form.fields.get("number") == "3 m")
    assert again.fields["token"] != token
    client.post(again.action, data=again.fields)
    assert tree(room) != before


def test_a_token_is_good_for_one_change(desk: InProcess, room: Path) -> None:
    """Two touches of a button count once."""
    token, client = a_token(desk), desk.client()
    client.post("/drawer/take", data={"item": "R01", "number": "1 m", "token": token})
    once = tree(room)
    client.post("/drawer/take", data={"item": "R01", "number": "1 m", "token": token})
    assert tree(room) == once


def test_a_token_sent_many_times_at_once_counts_once(room: Path) -> None:
    """By twenty at a time, from a desk with a socket."""
    with served(room) as own, httpx2.Client(base_url=own.url, timeout=60) as client:
        token = form_for(client.get("/drawer").text, "/drawer/take", item="R01").fields["token"]
        form = {"item": "R01", "number": "1 m", "token": token}
        with ThreadPoolExecutor(20) as pool:
            sent = [pool.submit(client.post, "/drawer/take", data=form) for _ in range(20)]
        assert {one.result().status_code for one in sent} == {303}
        assert shelf(room)["R01"] == 9


def test_a_token_of_another_device_is_none(desk: InProcess, room: Path) -> None:
    """What one phone was given is of no use to another."""
    first, second = (desk.guests.let_in(desk.guests.code, PHONE, "Android") for _ in range(2))
    assert first and second
    token = desk.guests.token(first)
    before = tree(room)
    client = desk.client(PHONE, LAN)
    client.cookies.set(desk.door.cookie, second.key)
    client.post("/drawer/count", data=counting(token))
    assert tree(room) == before
    assert desk.guests.spent(token, first)


def test_tokens_do_not_pile_up(desk: InProcess) -> None:
    """The oldest go."""
    tokens = [a_token(desk) for _ in range(MOST_TOKENS + 1)]
    assert not desk.guests.spent(tokens[0], THIS_MACHINE)
    assert desk.guests.spent(tokens[1], THIS_MACHINE)


@pytest.mark.parametrize(
    "kind", ["multipart/form-data; boundary=x", "text/plain", "application/json"]
)
def test_only_forms_are_read(kind: str, desk: InProcess, room: Path) -> None:
    """A page from elsewhere may send text/plain without asking."""
    before = tree(room)
    body = f"item=R01&number=3+m&token={a_token(desk)}"
    desk.client().post("/drawer/count", content=body, headers={"content-type": kind})
    assert tree(room) == before


@pytest.mark.parametrize("method", ["PUT", "DELETE", "OPTIONS", "PATCH", "TRACE", "BREW"])
def test_other_methods_are_refused(method: str, desk: InProcess, room: Path) -> None:
    """Nothing is asked that a page of the desk does not ask."""
    before = tree(room)
    assert desk.client().request(method, "/drawer/count").status_code == 405
    assert tree(room) == before


def test_nothing_is_spoken_but_http(desk: InProcess) -> None:
    """A page from elsewhere may open a line of another kind without asking."""
    said: list[guard.Message] = []

    async def never() -> guard.Message:
        raise AssertionError

    async def send(message: guard.Message) -> None:
        said.append(message)

    async def asked() -> None:
        await desk.app({"type": "websocket", "path": "/news", "headers": []}, never, send)

    anyio.run(asked)
    assert said[0]["status"] == 403


def test_changes_are_not_made_by_looking(desk: InProcess, room: Path) -> None:
    """A picture on another page may have any address of ours; none of them books."""
    before = tree(room)
    for path in ("/drawer/count", "/drawer/take", "/drawer/put", "/orders/receive", "/undo"):
        assert desk.client().get(path, params=counting(a_token(desk))).status_code in (404, 405)
    assert tree(room) == before


def test_another_page_gets_no_answer_in_passing(desk: InProcess) -> None:
    """A picture or a script of ours in a page from elsewhere; to follow a link is no such thing."""
    for site in ("cross-site", "same-site"):
        told = {"sec-fetch-site": site, "sec-fetch-dest": "image"}
        assert desk.client().get("/", headers=told).status_code == 403
        assert desk.client().get("/", headers={**told, "sec-fetch-dest": "document"}).is_success
    own = {"sec-fetch-site": "same-origin", "sec-fetch-dest": "empty"}
    assert desk.client().get("/news", headers=own).is_success


# ------------------------------------------------------------------ no file from outside

DOTS = [
    *("/../workshop.toml", "/look.css/../../stock.xlsx", "/job/../../etc/passwd", "//etc/passwd"),
    *("/job/..%2f..%2f..%2fetc%2fpasswd", "/job/%2e%2e%2fworkshop", "/job/..", "/job/%00"),
    *("/job/..%5c..%5cworkshop", "/job/%2fetc%2fpasswd", "/job/twin.xlsx", "/job/stock", "/job/"),
    *("/job/jobs%2ftwin", "/look.css%00.js", "/%2e%2e/%2e%2e/etc/passwd", "/job/" + "a" * 4000),
]


@pytest.mark.parametrize("path", DOTS)
def test_a_path_names_no_file(path: str, room: Path, wire: Served) -> None:
    """As bytes on the wire: no client puts it straight before."""
    host = urlsplit(wire.url).netloc
    answer = raw(wire, f"GET {path} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n")
    status = answer.split(b" ", 2)[1]
    assert status in (b"404", b"400"), answer[:200]
    for secret in (b"root:", b"tax_percent", b"PK\x03\x04"):
        assert secret not in answer


@pytest.fixture(scope="module")
def wire(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A desk at a socket, which the tests here only read from."""
    folder = shop(tmp_path_factory.mktemp("wire") / "shop")
    loom(folder, "twin", 3.2, 1.8)
    with served(folder) as own:
        yield own


# ------------------------------------------------------------------ too much


def resident_bytes(process: int) -> int:
    """What a process holds in memory."""
    status = Path(f"/proc/{process}/status")
    if not status.exists():  # no Linux
        return 0
    found = re.search(r"VmHWM:\s+(\d+) kB", status.read_text(encoding="utf-8"))
    return int(found[1]) * 1024 if found else 0


def test_a_body_of_100_mb_is_refused(wire: Served) -> None:
    """By what it says of its size, or as it comes; and none of it is kept."""
    host = urlsplit(wire.url).netloc
    head = f"POST /drawer/count HTTP/1.1\r\nHost: {host}\r\n"
    before = resident_bytes(wire.process.pid)
    told = raw(wire, f"{head}Content-Length: {100 * MB}\r\n\r\n")
    assert told.startswith(b"HTTP/1.1 413")
    place = urlsplit(wire.url)
    with socket.create_connection((place.hostname, place.port), timeout=60) as line:
        line.sendall(f"{head}Transfer-Encoding: chunked\r\n\r\n".encode())
        chunk = b"100000\r\n" + b"x" * MB + b"\r\n"
        gone = 0
        try:
            for _ in range(100):
                line.sendall(chunk)
                gone += 1
        except OSError:  # it has hung up
            pass
        assert gone < 100
    assert resident_bytes(wire.process.pid) - before < 20 * MB
    assert (
        raw(wire, f"GET /news HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n")[9:12]
        == b"200"
    )


def test_many_fields_and_long_ones_are_no_form(desk: InProcess, room: Path) -> None:
    """Within the 64 KB too."""
    before = tree(room)
    form = {"content-type": "application/x-www-form-urlencoded"}
    good = f"item=R01&number=3+m&token={a_token(desk)}"
    body = good + "".join(f"&a{n}=1" for n in range(3000))
    assert desk.client().post("/drawer/count", content=body, headers=form).status_code == 303
    body = f"{good}&note={'x' * 2000}"
    assert desk.client().post("/drawer/count", content=body, headers=form).status_code == 303
    assert tree(room) == before


def test_a_body_that_does_not_come_is_not_waited_for(monkeypatch: pytest.MonkeyPatch) -> None:
    """A connection that is held open for nothing is given up."""
    monkeypatch.setattr(guard, "WAIT_SECONDS", 0.05)

    async def never() -> guard.Message:
        await anyio.sleep_forever()
        raise AssertionError

    async def asked() -> int:
        scope = {"method": "POST", "headers": [(b"content-length", b"10")]}
        try:
            await guard._whole_body(scope, never)
        except guard.TurnedAway as refused:
            return refused.status
        return 0

    assert anyio.run(asked) == 408


# ------------------------------------------------------------------ devices of the network


def test_a_device_that_is_not_in_sees_the_door(desk: InProcess, room: Path) -> None:
    """And changes nothing, whatever it says of itself."""
    before = tree(room)
    lies = {"x-forwarded-for": "127.0.0.1", "forwarded": "for=127.0.0.1", "x-real-ip": "127.0.0.1"}
    client = desk.client(PHONE, LAN)
    for path in ("/", "/jobs", "/job/twin", "/drawer", "/orders", "/who", "/who.svg", "/desk.js"):
        answer = client.get(path, headers=lies)
        assert (answer.status_code, answer.headers["location"]) == (303, "/in")
    assert client.get("/news", headers=lies).status_code == 403
    answer = client.post("/drawer/count", data=counting(a_token(desk)), headers=lies)
    assert answer.status_code == 403 and tree(room) == before
    client.cookies.set(desk.door.cookie, "made-up")
    assert client.get("/drawer").status_code == 303
    assert client.get("/in").status_code == 200 and client.get("/look.css").status_code == 200


def test_what_a_request_says_of_others_is_not_believed(wire: Served) -> None:
    """The server itself takes nobody for another: this machine stays this machine."""
    lies = {"x-forwarded-for": "10.0.0.9", "forwarded": "for=10.0.0.9", "x-real-ip": "10.0.0.9"}
    assert httpx2.get(f"{wire.url}drawer", headers=lies).status_code == 200


def test_this_machine_is_known_by_both_ends(desk: InProcess) -> None:
    """What comes in at the network's address is a device, whatever it calls itself."""
    client = desk.client("127.0.0.1", LAN)
    assert client.get("/drawer").status_code == 303


def test_addresses_beside_the_door_are_shut(desk: InProcess) -> None:
    """Who is not in is sent to the door, whatever begins with its name."""
    client = desk.client(PHONE, LAN)
    for path in ("/inX", "/in/a/b", "/look.cssX", "/in.css"):
        assert client.get(path).headers.get("location") == "/in", path
        assert client.post(path).status_code == 403


def test_who_says_nothing_on_many_lines_keeps_nobody_out() -> None:
    """A device has 24 lines and the network 150 of the 200; this machine's are not counted."""
    phone, other = ("10.0.0.9", 1), [(f"10.0.1.{n}", 1) for n in range(150)]
    assert not server._is_crowded(phone, [phone] * 24)
    assert server._is_crowded(phone, [phone] * 25)
    assert server._is_crowded(phone, [*other, phone])
    assert not server._is_crowded(("127.0.0.1", 1), [*other, *[("127.0.0.1", 1)] * 40])


def test_a_line_that_asks_nothing_is_given_up(monkeypatch: pytest.MonkeyPatch) -> None:
    """Also one that has said half a head; one that has asked goes by the server's own rule."""
    monkeypatch.setattr(server, "_IDLE_SECONDS", 0.05)

    async def asked(said: bytes) -> bytes:
        config = uvicorn.Config(answering, http=server.line_of_http(), lifespan="off")
        state = ServerState()
        loop = asyncio.get_running_loop()
        made = server.line_of_http()
        own = await loop.create_server(lambda: made(config, state, {}), "127.0.0.1", 0)
        reader, writer = await asyncio.open_connection(*own.sockets[0].getsockname())
        writer.write(said)
        answer = await reader.read()
        own.close()
        return answer

    async def answering(scope: guard.Scope, receive: guard.Receive, send: guard.Send) -> None:
        raise AssertionError

    with contextlib.suppress(ConnectionResetError):
        assert asyncio.run(asked(b"")) == b""
    with contextlib.suppress(ConnectionResetError):
        assert asyncio.run(asked(b"GET / HTTP/1.1\r\nHost: ")) == b""


@pytest.mark.parametrize("how", ["typed", "by the picture"])
def test_the_code_lets_it_in(how: str, desk: InProcess) -> None:
    """In small letters and with a blank too; the page of this machine shows who is in."""
    client = desk.client(PHONE, LAN)
    client.headers["user-agent"] = "Mozilla/5.0 (Linux; Android 14; Pixel) Mobile"
    code = desk.guests.code
    if how == "typed":
        typed = {"code": f" {code[:4].lower()} {code[4:]}"}
        answer = client.post("/in", data=typed, headers={"origin": f"http://{LAN}:{PORT}"})
    else:
        answer = client.get(f"/in/{code}")
    assert (answer.status_code, answer.headers["location"]) == (303, "/")
    cookie = answer.headers["set-cookie"].lower()
    assert "httponly" in cookie and "samesite=lax" in cookie
    assert client.get("/drawer").status_code == 200
    assert client.get("/who").status_code == 404  # who is in is for this machine's eyes
    shown = desk.client().get("/who").text
    assert "Android phone" in shown and PHONE in shown and code[:4] in shown
    away = next(form for form in forms_of(shown) if form.action == "/who/away")
    desk.client().post(away.action, data=away.fields)
    assert client.get("/drawer").status_code == 303


def test_a_phone_cannot_send_others_away(desk: InProcess) -> None:
    """Only this machine can."""
    first, second = (desk.guests.let_in(desk.guests.code, PHONE, "") for _ in range(2))
    assert first and second
    client = desk.client(PHONE, LAN)
    client.cookies.set(desk.door.cookie, first.key)
    client.post("/who/away", data={"key": second.key, "token": desk.guests.token(first)})
    assert desk.guests.of(second.key)


def test_who_guesses_is_heard_thirty_times(desk: InProcess) -> None:
    """Then the right code is not taken from there either; another device gets in by it."""
    client = desk.client(PHONE, LAN)
    for number in range(MOST_WRONG):
        wrong = f"{number:08d}".translate(str.maketrans("0123456789", LETTERS[:10]))
        assert client.get(f"/in/{wrong if wrong != desk.guests.code else 'A'}").status_code == 403
    answer = client.get(f"/in/{desk.guests.code}")
    assert answer.status_code == 403 and "started anew" in answer.text
    assert desk.client("10.0.0.24", LAN).get(f"/in/{desk.guests.code}").status_code == 303


def test_in_all_so_many_wrong_codes_shut_the_door(desk: InProcess) -> None:
    """From however many addresses; this machine's page says it."""
    for number in range(MOST_WRONG_IN_ALL):
        assert desk.guests.let_in("A", f"10.0.{number // 250}.{number % 250}", "") is None
    assert desk.guests.let_in(desk.guests.code, "10.1.0.1", "") is None
    assert "nobody is let in any more" in desk.client().get("/who").text


def test_a_device_is_in_once(desk: InProcess) -> None:
    """However often it comes by; sent away it does not come in by the code that it knows."""
    client, old = desk.client(PHONE, LAN), desk.guests.code
    for _ in range(3):
        client.cookies.clear()
        assert client.get(f"/in/{old}").status_code == 303
    (guest,) = desk.guests
    desk.guests.send_away(guest.key)
    assert [*desk.guests] == [] and desk.guests.code != old
    client.cookies.clear()
    assert client.get(f"/in/{old}").status_code == 403


@given(st.text(max_size=30))
def test_no_other_text_is_the_code(text: str) -> None:
    """But the code in small letters, or with what is no letter in it."""
    guests = GuestList(lan=True)
    assert (guests.let_in(text, "", "") is None) or guests.code in re.sub(
        "[^A-Z]", "", text.upper()
    )


def test_without_lan_no_code_lets_anybody_in() -> None:
    """There is none, and the empty one is not it."""
    guests = GuestList(lan=False)
    assert guests.let_in("", "", "") is None and guests.let_in(guests.code, "", "") is None


def test_the_code_is_new_each_start() -> None:
    """Of eight letters that nobody mistakes for figures."""
    codes = {GuestList(lan=True).code for _ in range(50)}
    assert len(codes) == 50
    assert all(re.fullmatch("[A-HJ-NP-Z]{8}", code) for code in codes)


# ------------------------------------------------------------------ what each answer says


def test_every_answer_lets_nothing_in_from_elsewhere(desk: InProcess) -> None:
    """Scripts and styles are the desk's own files; no page frames it, and nothing is kept."""
    for path in ("/", "/jobs", "/job/twin", "/drawer", "/orders", "/who", "/nothing", "/look.css"):
        answer = desk.client().get(path)
        policy = answer.headers["content-security-policy"]
        assert "default-src 'none'" in policy and "unsafe" not in policy
        assert "frame-ancestors 'none'" in policy and "form-action 'self'" in policy
        assert answer.headers["x-content-type-options"] == "nosniff"
        assert answer.headers["cache-control"] == "no-store"
        assert "server" not in answer.headers
        refused = desk.client().get(path, headers={"host": "evil"})
        assert refused.headers["content-security-policy"] == policy
        if "html" in answer.headers["content-type"]:
            assert not re.search(r"(src|href)=\"(https?:)?//", answer.text)
            assert " style=" not in answer.text and not re.search(r"\son\w+=", answer.text)
