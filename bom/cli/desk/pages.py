"""The pages of the desk: what is read.  Each is made from the books as they are now."""

import os
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any
from urllib.parse import unquote_to_bytes

from bom.cli.desk.at_hand import AtHand
from bom.cli.desk.door import Door
from bom.cli.desk.guests import Guest, GuestList
from bom.estimate import buy_for
from bom.show.page import asset, rendered
from bom.show.page.drawer import drawer_page
from bom.show.page.due import due_page
from bom.show.page.job import job_page
from bom.show.page.jobs import jobs_page
from bom.show.page.orders import orders_page
from bom.workshop.due import due
from bom.workshop.jobs import jobs_of
from bom.workshop.shelf_requests import shelf_shown

if TYPE_CHECKING:
    from starlette.requests import Request
    from starlette.responses import Response

_LONGEST = 200  # letters that are looked for
ASSETS = {
    "/look.css": "text/css",
    "/desk.js": "text/javascript",
    "/job.js": "text/javascript",
}


class Pages:
    """What can be looked at, one method a page."""

    def __init__(self, at_hand: AtHand, door: Door, guests: GuestList) -> None:
        self._at_hand, self._door, self._guests = at_hand, door, guests

    @property
    def edition(self) -> str:
        """That of the books."""
        return self._at_hand.edition

    def page(
        self, request: "Request", template: str, shown: Mapping[str, Any], status: int = 200
    ) -> "Response":
        """A page in the desk's frame."""
        from starlette.responses import HTMLResponse

        guest: Guest = request.scope["guest"]
        frame = {
            "workshop": self._at_hand.folder.name,
            "path": request.url.path,
            "lan": bool(self._door.lan) and guest.is_here,
            "others": len([*self._guests]),
            "token": self._guests.token(guest),
        }
        # the name of a file may be no UTF-8
        text = rendered(template, {**frame, **shown}).encode("utf-8", "replace")
        return HTMLResponse(text, status)

    def asset(self, request: "Request") -> "Response":
        """The style and the scripts of all pages."""
        from starlette.responses import Response

        kind = ASSETS[request.url.path]
        return Response(asset(request.url.path.lstrip("/")), media_type=kind)

    def nothing(self, _: "Request") -> "Response":
        """What browsers ask for unasked: there is no picture of the desk."""
        from starlette.responses import Response

        return Response(status_code=204)

    async def news(self, _: "Request") -> "Response":
        """The edition of the books: a page that has another is out of date.  Waits for nobody."""
        from starlette.responses import PlainTextResponse

        return PlainTextResponse(self._at_hand.edition)

    def due(self, request: "Request") -> "Response":
        """What is due next."""
        edition, workshop = self._at_hand.edition, self._at_hand.workshop()
        if workshop.folder is None:
            return self._sorry(request, "The workshop is gone", "Its folder is not there.")
        shown = due_page(due(workshop), self._at_hand.folder.name)
        return self.page(request, "due.html", {"edition": edition, **shown})

    def jobs(self, request: "Request") -> "Response":
        """All jobs, and where they stand."""
        edition = self._at_hand.edition
        shown = jobs_page(jobs_of(self._at_hand.workshop()))
        return self.page(request, "jobs.html", {"edition": edition, **shown})

    async def job(self, request: "Request") -> "Response":
        """One job: what is wrong in it, what it costs, how it is made."""
        from anyio.to_thread import run_sync

        return await run_sync(self._job, request, limiter=self._at_hand.working)

    def _job(self, request: "Request") -> "Response":
        edition = self._at_hand.edition
        # the bytes that were asked for: a name on a disk need not be UTF-8
        path = unquote_to_bytes(request.scope["raw_path"])
        found = self._at_hand.job(os.fsdecode(path.removeprefix(b"/job/")))
        if found is None:
            return self.missing(request)
        shown = {"job": job_page(*found)}
        return self.page(request, "desk_job.html", {"edition": edition, **shown})

    def drawer(self, request: "Request") -> "Response":
        """What is on the shelf, what runs low first; by words."""
        edition, workshop = self._at_hand.edition, self._at_hand.workshop()
        bought = buy_for([], start=self._at_hand.folder, on_order=False)
        shelf, by_hand = shelf_shown(bought.stock)
        shown = drawer_page(
            shelf,
            workshop.catalogue,
            find=request.query_params.get("find", "")[:_LONGEST],
            told=self._told(request),
            problems=(*bought.problems, *by_hand),
            open_by=self._at_hand.open_by,
        )
        return self.page(request, "drawer.html", {"edition": edition, **shown})

    def orders(self, request: "Request") -> "Response":
        """What is still to come."""
        edition = self._at_hand.edition
        bought = buy_for([], start=self._at_hand.folder)
        shown = orders_page(
            bought.stock.orders,
            bought.rules.currency,
            told=self._told(request),
            problems=bought.problems,
            open_by=self._at_hand.open_by,
        )
        return self.page(request, "orders.html", {"edition": edition, **shown})

    def _told(self, request: "Request") -> Mapping[str, Any] | None:
        """What came of the change that led here."""
        return self._at_hand.told(request.query_params.get("told", ""))

    def missing(self, request: "Request") -> "Response":
        """No such page, or a job that is gone."""
        says = "A job whose book has another name now is on the page Jobs."
        return self._sorry(request, "There is no such page", says)

    def _sorry(self, request: "Request", heading: str, says: str) -> "Response":
        shown = {"edition": self.edition, "heading": heading, "says": says}
        return self.page(request, "sorry.html", shown, 404)
