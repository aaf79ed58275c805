"""The desk as one application: every address that it has stands here."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from typing import TYPE_CHECKING

from bom.cli.desk.at_hand import AtHand
from bom.cli.desk.changes import Forms
from bom.cli.desk.door import Door
from bom.cli.desk.entrance import Entrance
from bom.cli.desk.guard import Guard
from bom.cli.desk.guests import GuestList
from bom.cli.desk.pages import ASSETS, Pages

if TYPE_CHECKING:
    from starlette.requests import Request
    from starlette.responses import Response


def desk_app(at_hand: AtHand, door: Door, guests: GuestList) -> Guard:
    """The pages behind their guard."""
    from starlette.applications import Starlette
    from starlette.routing import Route

    pages = Pages(at_hand, door, guests)
    changes = Forms(at_hand, guests)
    entrance = Entrance(pages, door, guests)
    read = {
        "/": pages.due,
        "/jobs": pages.jobs,
        "/job/{name}": pages.job,
        "/drawer": pages.drawer,
        "/orders": pages.orders,
        "/news": pages.news,
        "/favicon.ico": pages.nothing,
        "/in": entrance.ask,
        "/in/{code}": entrance.by_picture,
        "/who": entrance.who,
        "/who.svg": entrance.picture,
        **dict.fromkeys(ASSETS, pages.asset),
    }
    written = {
        "/drawer/count": changes.count,
        "/drawer/take": changes.take,
        "/drawer/put": changes.put_in,
        "/orders/receive": changes.receive,
        "/undo": changes.undo,
        "/in": entrance.typed,
        "/who/away": entrance.send_away,
    }
    routes = [Route(path, answer) for path, answer in read.items()]
    routes += [Route(path, answer, methods=["POST"]) for path, answer in written.items()]

    @asynccontextmanager
    async def open_for_work(_: Starlette) -> AsyncIterator[None]:
        import anyio

        async with anyio.create_task_group() as beside:
            beside.start_soon(at_hand.watch)
            yield
            beside.cancel_scope.cancel()

    async def missing(request: "Request", _: Exception) -> "Response":
        return pages.missing(request)

    app = Starlette(routes=routes, lifespan=open_for_work, exception_handlers={404: missing})
    return Guard(app, door=door, guests=guests)
