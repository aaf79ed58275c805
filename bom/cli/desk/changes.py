"""The forms of the desk: what is booked.  Each is a plan of the commands, carried out by the room.

A form is good for one change, by its token; what it says is checked where the command checks it.
Whatever comes of it is told on the page that it was sent from, with what was typed.
"""

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, TypeAlias
from urllib.parse import parse_qsl, urlencode

from msgspec import Struct

from bom.cli.desk.at_hand import AtHand
from bom.cli.desk.guests import GuestList
from bom.job import Workshop
from bom.show.page.told import sent_before, told_of
from bom.workshop.orders import parcel_typed
from bom.workshop.shelf_requests import count, put_in, take
from bom.workshop.stockroom import How, Request, book, undo_of

if TYPE_CHECKING:
    from starlette.requests import Request as Asked
    from starlette.responses import Response

_FORM = "application/x-www-form-urlencoded"
_MOST_FIELDS = 2_500
"""An order of five hundred lines has word, packs, price and what is to come for each."""
_LONGEST = 1_000  # letters: nobody types more into a field
_PAGES = ("/drawer", "/orders")
"""Where forms stand: a form names the page that it was on, and no other is gone back to."""
_OF_THE_PAGE = ("token", "yes")
"""What nobody typed."""


class Sent(Struct, frozen=True):
    """What a form says, field by field as it was sent; a name may stand several times."""

    fields: tuple[tuple[str, str], ...] = ()

    @classmethod
    async def by(cls, request: "Asked") -> "Sent":
        """The form of a request; an empty one where that has none, or far more than is typed."""
        if request.headers.get("content-type", "").partition(";")[0].strip() != _FORM:
            return cls()
        text = (await request.body()).decode("utf-8", "replace")
        try:
            found = parse_qsl(text, keep_blank_values=True, max_num_fields=_MOST_FIELDS)
        except ValueError:
            return cls()
        if any(len(name) + len(value) > _LONGEST for name, value in found):
            return cls()
        return cls(tuple(found))

    def all(self, name: str) -> Iterator[str]:
        """Each field of that name."""
        return (value for own, value in self.fields if own == name)

    def one(self, name: str) -> str:
        """The first of them, or nothing."""
        return next(self.all(name), "")

    @property
    def typed(self) -> tuple[tuple[str, str], ...]:
        """The same without what the page put in, to be sent once more."""
        return tuple(field for field in self.fields if field[0] not in _OF_THE_PAGE)


Planned: TypeAlias = Callable[[Workshop, Sent], Request]


class Forms:
    """What can be booked, one method a form."""

    def __init__(self, at_hand: AtHand, guests: GuestList) -> None:
        self._at_hand, self._guests = at_hand, guests

    async def count(self, request: "Asked") -> "Response":
        """Set what is on hand to what was counted."""
        return await self._booked(request, "/drawer", "counted", _by_number(count))

    async def take(self, request: "Asked") -> "Response":
        """Take so much out."""
        return await self._booked(request, "/drawer", "taken", _by_number(take))

    async def put_in(self, request: "Asked") -> "Response":
        """Put so much in."""
        return await self._booked(request, "/drawer", "put in", _by_number(put_in))

    async def receive(self, request: "Asked") -> "Response":
        """Book in what came of an order, line by line or all of it."""
        return await self._booked(request, "/orders", "received", _parcel)

    async def undo(self, request: "Asked") -> "Response":
        """Reverse a change, unless there has been another since."""
        return await self._booked(request, "", "undone", _reversal)

    async def _booked(self, request: "Asked", page: str, done: str, planned: Planned) -> "Response":
        """Book what a form says, and go back to the page that tells what came of it.

        Without one that is the page that the form says it was on.
        """
        from anyio.to_thread import run_sync
        from starlette.responses import RedirectResponse

        sent, action = await Sent.by(request), request.url.path
        good = self._guests.spent(sent.one("token"), request.scope["guest"])

        def carried_out() -> str:
            if not good:
                return self._at_hand.tell(sent_before(action, sent.typed))
            workshop, how = self._at_hand.workshop(), How(yes=bool(sent.one("yes")))
            booked = book(workshop, planned(workshop, sent), how)
            return self._at_hand.tell(told_of(booked, done, action, sent.typed))

        # who waits for their turn holds no thread, and is not served any more once the desk closes
        turn = self._at_hand.writing
        told = await run_sync(carried_out, limiter=turn, abandon_on_cancel=True)
        own = sent.one("page")
        page = page or (own if own in _PAGES else _PAGES[0])
        back = {"find": sent.one("find"), "told": told}
        query = urlencode({name: value for name, value in back.items() if value})
        return RedirectResponse(f"{page}?{query}", 303)


def _by_number(plan: Callable[[Workshop, str, str], Request]) -> Planned:
    """A plan that takes an item and a number, as the form has them."""
    return lambda workshop, sent: plan(workshop, sent.one("item"), sent.one("number"))


def _reversal(_: Workshop, sent: Sent) -> Request:
    return undo_of(sent.one("when") or "no time")


def _parcel(workshop: Workshop, sent: Sent) -> Request:
    """What came line by line; with `all` a line that is left blank came whole, as it was shown."""
    packs = sent.all("packs")
    if sent.one("all"):
        both = zip(packs, sent.all("to_come"), strict=False)
        packs = (typed if typed.strip() else to_come for typed, to_come in both)
    lines = zip(sent.all("line"), packs, sent.all("price"), strict=False)
    return parcel_typed(workshop, sent.one("number"), lines, sent.one("seen"))
