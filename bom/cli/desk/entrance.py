"""How other devices come in: by the code of this start, typed or as a picture; and who is in."""

from typing import TYPE_CHECKING
from urllib.parse import quote as in_url

from bom.cli.desk.changes import Sent
from bom.cli.desk.door import Door
from bom.cli.desk.guests import Guest, GuestList
from bom.cli.desk.pages import Pages

if TYPE_CHECKING:
    from starlette.requests import Request
    from starlette.responses import Response

_SHUT = (
    "So many wrong codes were tried from here that none is taken until bom desk is started anew."
)
_WRONG = "That is not the code. It stands in the window that bom desk was started in."


class Entrance:
    """The page that asks for the code, and the one that shows who is in."""

    def __init__(self, pages: Pages, door: Door, guests: GuestList) -> None:
        self._pages, self._door, self._guests = pages, door, guests

    def ask(self, request: "Request") -> "Response":
        """The page that asks for the code."""
        if request.scope["guest"] is not None:
            return _go("/")
        return self._asked(request, "", 200)

    def by_picture(self, request: "Request") -> "Response":
        """The address that the picture holds."""
        return self._try(request, request.path_params["code"])

    async def typed(self, request: "Request") -> "Response":
        """The code as it was typed."""
        sent = await Sent.by(request)
        return self._try(request, sent.one("code"))

    def _try(self, request: "Request", code: str) -> "Response":
        if request.scope["guest"] is not None:
            return _go("/")
        address = request.client.host if request.client else ""
        agent = request.headers.get("user-agent", "")
        guest = self._guests.let_in(code, address, agent)
        if guest is None:
            return self._asked(request, _SHUT if self._guests.is_shut_to(address) else _WRONG, 403)
        answer = _go("/")
        answer.set_cookie(self._door.cookie, guest.key, httponly=True, samesite="lax", path="/")
        return answer

    def _asked(self, request: "Request", says: str, status: int) -> "Response":
        from starlette.responses import HTMLResponse

        from bom.show.page import rendered

        del request
        return HTMLResponse(rendered("in.html", {"says": says}), status)

    def who(self, request: "Request") -> "Response":
        """Who is in, and the code: for this machine's own eyes."""
        guest: Guest = request.scope["guest"]
        if not guest.is_here or not self._door.lan:
            return self._pages.missing(request)
        shown = {
            "edition": self._pages.edition,
            "guests": [*self._guests],
            "code": self._guests.code,
            "address": f"{self._door.lan}:{self._door.port}",
            "is_shut": self._guests.is_shut,
        }
        return self._pages.page(request, "who.html", shown)

    def picture(self, request: "Request") -> "Response":
        """The code as a picture (ISO/IEC 18004)."""
        from starlette.responses import Response

        guest: Guest = request.scope["guest"]
        if not guest.is_here or not self._door.lan:
            return self._pages.missing(request)
        return Response(picture_of(code_url(self._door, self._guests)), media_type="image/svg+xml")

    async def send_away(self, request: "Request") -> "Response":
        """A device has to ask again."""
        sent = await Sent.by(request)
        guest: Guest = request.scope["guest"]
        if guest.is_here and self._guests.spent(sent.one("token"), guest):
            self._guests.send_away(sent.one("key"))
        return _go("/who")


def code_url(door: Door, guests: GuestList) -> str:
    """What the picture says: the address with the code in it."""
    return f"{door.lan_url}in/{guests.code}"


def picture_of(url: str) -> bytes:
    """An address as a picture to be photographed, black on white."""
    from io import BytesIO

    import segno

    made = BytesIO()
    segno.make(url, micro=False).save(
        made, kind="svg", scale=6, border=4, light="#fff", xmldecl=False
    )
    return made.getvalue()


def picture_in_letters(url: str) -> str:
    """The same for a terminal, of blocks; its light parts are what the terminal writes with."""
    from io import StringIO

    import segno

    made = StringIO()
    segno.make(url, micro=False).terminal(out=made, border=2, compact=True)
    return made.getvalue().rstrip("\n")


def _go(path: str) -> "Response":
    from starlette.responses import RedirectResponse

    return RedirectResponse(in_url(path, safe="/?=&%#"), 303)
