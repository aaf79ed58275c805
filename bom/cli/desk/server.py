"""The server: one process, which answers until it is stopped."""

import asyncio
import gc
import os
import webbrowser
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path
from threading import Thread
from typing import TYPE_CHECKING, TypeAlias, cast

from bom.cli.desk.app import desk_app
from bom.cli.desk.at_hand import AtHand
from bom.cli.desk.door import HERE, Door
from bom.cli.desk.entrance import code_url, picture_in_letters
from bom.cli.desk.guests import GuestList

if TYPE_CHECKING:
    from uvicorn.protocols.http.h11_impl import H11Protocol

_MOST_AT_ONCE, _MOST_FROM_OUTSIDE, _MOST_OF_ONE = 200, 150, 24
"""Connections in all, of other devices together, and of one of them."""
_IDLE_SECONDS = 15
"""So long a connection is kept for the next request."""
_LAST_SECONDS = 5
"""What is being written when the desk is closed has so long to end; a kill harms no book."""


class Desk:
    """A desk that is ready to be opened."""

    def __init__(self, folder: Path, door: Door) -> None:
        self._door, self._guests = door, GuestList(lan=bool(door.lan))
        self._app = desk_app(AtHand(folder), door, self._guests)

    @property
    def code(self) -> str:
        """The code of this start, in two halves; '' where nobody else is let in."""
        code = self._guests.code
        return f"{code[:4]} {code[4:]}".strip()

    def code_picture(self) -> str:
        """Address and code as a picture of letters."""
        return picture_in_letters(code_url(self._door, self._guests))

    def run(self, *, browser: bool) -> None:
        """Answer until Ctrl-C."""
        import uvicorn

        gc.enable()  # it runs for days
        if browser:
            Thread(target=_show, args=(self._door.url,), daemon=True).start()
        config = uvicorn.Config(
            self._app,
            http=line_of_http(),
            ws="none",
            log_level="warning",
            access_log=False,
            server_header=False,
            proxy_headers=False,  # nobody stands between: what one says of others is not believed
            limit_concurrency=_MOST_AT_ONCE,
            timeout_keep_alive=_IDLE_SECONDS,
            timeout_graceful_shutdown=_LAST_SECONDS,
        )
        with suppress(KeyboardInterrupt):
            uvicorn.Server(config).run(sockets=[*self._door.sockets])


def line_of_http() -> "type[H11Protocol]":
    """A connection: the network has its share of them, each device has its, and both must ask.

    Without that who says nothing, on many lines, would keep this machine out.
    """
    from uvicorn.protocols.http.h11_impl import H11Protocol

    class Line(H11Protocol):
        def connection_made(self, transport: asyncio.BaseTransport) -> None:
            super().connection_made(cast("asyncio.Transport", transport))
            others = [getattr(line, "client", None) for line in self.connections]
            if _is_crowded(self.client, others):
                self.transport.abort()
            else:
                self.loop.call_later(_IDLE_SECONDS, self.gone_quiet)

        def gone_quiet(self) -> None:
            if self.cycle is None and not self.transport.is_closing():
                self.transport.abort()

    return Line


_Address: TypeAlias = tuple[str, int] | None


def _is_crowded(own: _Address, known: Sequence[_Address]) -> bool:
    """Whether a device, or the network as a whole, has as many lines as it may."""
    outside = [client[0] for client in known if client and client[0] != HERE]
    address = own[0] if own else ""
    of_one = outside.count(address)
    return bool(of_one) and (of_one > _MOST_OF_ONE or len(outside) > _MOST_FROM_OUTSIDE)


def _show(url: str) -> None:
    """Open the owner's browser; of those that nobody chose none that would take the terminal."""
    with suppress(webbrowser.Error):
        found = webbrowser.get()
        if "BROWSER" in os.environ or type(found) is not webbrowser.GenericBrowser:
            found.open_new_tab(url)
