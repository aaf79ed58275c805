"""What every request has to pass before a page of the desk sees it, and what every answer says.

- `Host` is one that the desk is known by: a page from elsewhere whose name was made to point here
  (rebinding) calls it otherwise.
- A change comes from a page of ours: `Origin` is the desk's own where a browser tells it, and a
  token of that page is in the form (`changes`).
- Its body is small, and whole within seconds.
- It comes from this machine, by its own address, or from a device that was let in; what another
  page asks for in passing (a picture, a script) is not answered.
"""

import re
from collections.abc import Awaitable, Callable, Mapping, MutableMapping
from typing import Any, TypeAlias

from bom.cli.desk.door import HERE, Door
from bom.cli.desk.guests import THIS_MACHINE, Guest, GuestList

MOST_BYTES = 64 * 1024
"""Of a body: the largest form is that of an order, a few hundred bytes a line."""
WAIT_SECONDS = 10.0
"""For a whole body."""
OPEN_TO_ALL = re.compile(r"/in(/[^/]+)?|/look\.css")
"""What a device sees before it is let in."""

Scope: TypeAlias = MutableMapping[str, Any]
Message: TypeAlias = MutableMapping[str, Any]
Receive: TypeAlias = Callable[[], Awaitable[Message]]
Send: TypeAlias = Callable[[Message], Awaitable[None]]
App: TypeAlias = Callable[[Scope, Receive, Send], Awaitable[None]]

_POLICY = (
    "default-src 'none'; style-src 'self'; script-src 'self'; connect-src 'self'; img-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
_SAYS = (
    ("content-security-policy", _POLICY),
    ("x-content-type-options", "nosniff"),
    ("x-frame-options", "DENY"),
    ("referrer-policy", "same-origin"),
    ("cross-origin-opener-policy", "same-origin"),
    ("cross-origin-resource-policy", "same-origin"),
    ("cache-control", "no-store"),
)


class TurnedAway(Exception):
    """A request that no page sees: its status, and a sentence."""

    def __init__(self, status: int, says: str) -> None:
        super().__init__(says)
        self.status, self.says = status, says


class Guard:
    """Stands before the pages (an ASGI application around theirs)."""

    def __init__(self, app: App, *, door: Door, guests: GuestList) -> None:
        self._app, self._door, self._guests = app, door, guests

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through with its guest and its whole body, or refuse it."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        answer = _headed(send)
        try:
            scope["guest"] = self._looked_at(scope)
            body = await _whole_body(scope, receive)
        except TurnedAway as refused:
            await _refuse(refused, answer)
            return
        if scope["guest"] is None and not OPEN_TO_ALL.fullmatch(scope["path"]):
            await _send_to_the_door(scope, answer)
            return
        await self._app(scope, _given(body, receive), answer)

    def _looked_at(self, scope: Scope) -> Guest | None:
        """Who asks, None for a device that is not in; raises `TurnedAway`."""
        if scope["type"] != "http":
            raise TurnedAway(403, "nothing is spoken here but HTTP")
        headers: dict[str, list[str]] = {}
        for name, value in scope["headers"]:
            headers.setdefault(name.decode("latin-1"), []).append(value.decode("latin-1"))
        host = headers.get("host", [])
        if len(host) != 1 or host[0].lower() not in self._door.hosts:
            raise TurnedAway(421, "the desk answers to its own address alone")
        if scope["method"] not in ("GET", "POST"):
            raise TurnedAway(405, "pages are read, and forms sent")
        origin = headers.get("origin", [])
        if scope["method"] == "POST" and origin not in ([], [f"http://{host[0].lower()}"]):
            raise TurnedAway(403, "this form was sent from a page that is not the desk's")
        elsewhere = headers.get("sec-fetch-site", [""])[0] in ("cross-site", "same-site")
        if elsewhere and headers.get("sec-fetch-dest") != ["document"]:
            raise TurnedAway(403, "another page has no use for this")
        ends = (scope["client"] or ("",), scope["server"] or ("",))
        if {address for address, *_ in ends} == {HERE}:
            return THIS_MACHINE
        return self._guests.of(_cookies(headers).get(self._door.cookie, ""))


def _cookies(headers: Mapping[str, list[str]]) -> dict[str, str]:
    pairs = (pair.partition("=") for line in headers.get("cookie", ()) for pair in line.split(";"))
    return {name.strip(): value.strip() for name, _, value in pairs}


async def _whole_body(scope: Scope, receive: Receive) -> bytes:
    """What a form says; raises `TurnedAway` where it is too much, or does not come."""
    import anyio

    if scope["method"] != "POST":
        return b""
    length = dict(scope["headers"]).get(b"content-length", b"0")
    if not length.isdigit() or int(length) > MOST_BYTES:
        raise TurnedAway(413, "more than a form of the desk can say")
    body = bytearray()
    with anyio.move_on_after(WAIT_SECONDS):
        while True:
            message = await receive()
            body += message.get("body") or b""
            if len(body) > MOST_BYTES:
                raise TurnedAway(413, "more than a form of the desk can say")
            if message["type"] == "http.disconnect" or not message.get("more_body"):
                return bytes(body)
    raise TurnedAway(408, "the form did not come whole")


def _given(body: bytes, receive: Receive) -> Receive:
    """The body as one message; then what else the server has to say."""
    waiting = [{"type": "http.request", "body": body, "more_body": False}]

    async def given() -> Message:
        return waiting.pop() if waiting else await receive()

    return given


def _headed(send: Send) -> Send:
    """Every answer with what it says of itself; one that has a policy of its own keeps it."""
    own = [(name.encode(), value.encode()) for name, value in _SAYS]

    async def headed(message: Message) -> None:
        if message["type"] == "http.response.start":
            said = {name for name, _ in message.get("headers", ())}
            message["headers"] = [
                *message.get("headers", ()),
                *(pair for pair in own if pair[0] not in said),
            ]
        await send(message)

    return headed


async def _refuse(refused: TurnedAway, send: Send) -> None:
    """A plain sentence; the connection ends, so that nobody reads what is still to come of it."""
    await _answer(send, refused.status, refused.says, [(b"connection", b"close")])


async def _send_to_the_door(scope: Scope, send: Send) -> None:
    """A device that is not in is asked for the code; what it wanted to change is not done."""
    if scope["method"] == "GET" and scope["path"] != "/news":
        await _answer(send, 303, "the code first", [(b"location", b"/in")])
    else:
        await _answer(send, 403, "this device is not in: open the desk's address anew")


async def _answer(
    send: Send, status: int, says: str, headers: list[tuple[bytes, bytes]] | None = None
) -> None:
    body = f"{says}\n".encode()
    said = [
        (b"content-type", b"text/plain; charset=utf-8"),
        (b"content-length", str(len(body)).encode()),
        *(headers or ()),
    ]
    await send({"type": "http.response.start", "status": status, "headers": said})
    await send({"type": "http.response.body", "body": body})
