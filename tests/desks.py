"""Desks for the tests: in the tests' own process, or a process of its own that may be killed."""

import os
import re
import signal
import subprocess
import sys
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from html.parser import HTMLParser
from pathlib import Path

import httpx2
from msgspec import Struct
from starlette.testclient import TestClient

from bom.cli.desk.app import desk_app
from bom.cli.desk.at_hand import AtHand
from bom.cli.desk.door import Door
from bom.cli.desk.guard import Guard
from bom.cli.desk.guests import GuestList

LAN = "10.0.0.5"
PORT = 5000
REPOSITORY = Path(__file__).parent.parent


class InProcess(Struct, frozen=True):
    """A desk without a socket, and what it knows."""

    at_hand: AtHand
    door: Door
    guests: GuestList
    app: Guard

    def client(self, address: str = "127.0.0.1", host: str = "127.0.0.1") -> TestClient:
        """A device at that address, which calls the desk by that name; it follows no redirects."""
        return TestClient(
            self.app,
            base_url=f"http://{host}:{PORT}",
            client=(address, 40_000),
            follow_redirects=False,
        )


def in_process(folder: Path, *, lan: bool = False) -> InProcess:
    """A desk for a workshop."""
    door = Door(sockets=(), port=PORT, lan=LAN if lan else "")
    at_hand, guests = AtHand(folder), GuestList(lan=lan)
    return InProcess(at_hand, door, guests, desk_app(at_hand, door, guests))


class Served(Struct):
    """A desk in a process of its own."""

    url: str
    process: subprocess.Popen[str]

    def kill(self) -> None:
        """As when the battery is empty."""
        self.process.send_signal(signal.SIGKILL)
        self.process.wait()


@contextmanager
def served(folder: Path, *options: str) -> Iterator[Served]:
    """`bom desk` in that folder; ended if it still runs."""
    process = begun(folder, *options)
    try:
        yield process
    finally:
        if process.process.poll() is None:
            process.kill()
        for stream in (process.process.stdout, process.process.stderr):
            if stream:
                stream.close()


def begun(folder: Path, *options: str) -> Served:
    """The same, for whoever kills it."""
    process = subprocess.Popen(
        [sys.executable, "-m", "bom.cli", "desk", "--no-browser", *options],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(REPOSITORY)},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        encoding="utf-8",
    )
    assert process.stdout
    said = process.stdout.readline()
    found = re.search(r"http://127\.0\.0\.1:\d+/", said)
    assert found, f"{said}{process.stderr.read() if process.stderr else ''}"
    return Served(found[0], process)


class Form(Struct):
    """A form of a page: where it is sent, and what it says when nobody has typed."""

    action: str
    method: str
    fields: dict[str, str]


class _Forms(HTMLParser):
    """The forms of a page, as a browser would send them."""

    def __init__(self) -> None:
        super().__init__()
        self.forms: list[Form] = []
        self._open = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """A form begins, or has a field."""
        said = {name: value or "" for name, value in attrs}
        if tag == "form":
            self.forms.append(Form(said.get("action", ""), said.get("method", "get"), {}))
            self._open = True
        elif tag == "input" and self._open and "name" in said:
            self.forms[-1].fields[said["name"]] = said.get("value", "")

    def handle_endtag(self, tag: str) -> None:
        """A form ends."""
        self._open = self._open and tag != "form"


def forms_of(html: str) -> list[Form]:
    """The forms of a page in their order."""
    parser = _Forms()
    parser.feed(html)
    return parser.forms


def form_for(html: str, action: str, **fields: str) -> Form:
    """The one form that is sent there and says so much already."""
    found = [
        form
        for form in forms_of(html)
        if form.action == action and {*fields.items()} <= {*form.fields.items()}
    ]
    assert len(found) == 1, (action, fields, [form.action for form in forms_of(html)])
    return found[0]


def sent(
    client: httpx2.Client, page: str, action: str, typed: Mapping[str, str], **form: str
) -> str:
    """Fill in a form of a page and send it; the page that comes of it."""
    found = form_for(client.get(page).text, action, **form)
    return client.post(action, data={**found.fields, **typed}, follow_redirects=True).text
