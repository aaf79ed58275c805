"""Who may use the desk: this machine, and devices that were let in by the code of this start."""

import re
import secrets
from collections import Counter, OrderedDict
from collections.abc import Iterator
from threading import Lock

from msgspec import Struct

from bom.files import clock

LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"
"""Of a code: none that looks like a figure, or is one."""
_CODE_LETTERS = 8
"""24 ** 8 codes: ten thousand tries hit one of ten million such desks."""
MOST_WRONG, MOST_WRONG_IN_ALL = 30, 10_000
"""So many wrong codes are heard from one address, and from all of them until the next start."""
MOST_TOKENS = 5_000
"""Of so many pages the forms can be sent; older ones have to be looked at anew."""
_DEVICES = (
    ("iPad", "iPad"),
    ("iPhone", "iPhone"),
    ("Android.*Mobile", "Android phone"),
    ("Android", "Android tablet"),
    ("Windows", "Windows computer"),
    ("Macintosh", "Mac"),
    ("Linux", "Linux computer"),
)


class Guest(Struct, frozen=True, kw_only=True):
    """A device at the desk; `key` is what it shows, '' for this machine, which needs none."""

    key: str = ""
    name: str = "this machine"
    address: str = ""
    since: str = ""

    @property
    def is_here(self) -> bool:
        """True for the machine that the desk runs on."""
        return not self.key


THIS_MACHINE = Guest()


class GuestList:
    """The devices that are in, and the tokens of the pages that they were given."""

    def __init__(self, *, lan: bool) -> None:
        self.code = _new_code() if lan else ""
        self._wrong: Counter[str] = Counter()
        self._in: dict[str, Guest] = {}
        self._tokens: OrderedDict[str, str] = OrderedDict()
        self._lock = Lock()

    def __iter__(self) -> Iterator[Guest]:
        return iter([*self._in.values()])

    @property
    def is_shut(self) -> bool:
        """Whether so many wrong codes were tried that none is taken any more."""
        return self._wrong.total() >= MOST_WRONG_IN_ALL

    def is_shut_to(self, address: str) -> bool:
        """The same for one address, which guesses: nobody else is kept out for it."""
        return self.is_shut or self._wrong[address] >= MOST_WRONG

    def of(self, key: str) -> Guest | None:
        """The device that shows this key."""
        return self._in.get(key) if key else None

    def let_in(self, code: str, address: str, agent: str) -> Guest | None:
        """A device that knows the code, in any letters and with blanks; None for one that does not.

        One that comes once more is in once.
        """
        typed = re.sub(r"[^A-Z]", "", code.upper())
        with self._lock:
            if not self.code or self.is_shut_to(address):
                return None
            if not secrets.compare_digest(typed, self.code):
                self._wrong[address] += 1
                return None
            key, name = secrets.token_urlsafe(24), _device(agent)
            guest = Guest(key=key, name=name, address=address, since=f"{clock.now():%H:%M}")
            others = (g for g in self._in.values() if (g.name, g.address) != (name, address))
            self._in = {one.key: one for one in (*others, guest)}
            return guest

    def send_away(self, key: str) -> None:
        """The device is out, and the code is another one: it knows the old."""
        with self._lock:
            if self._in.pop(key, None):
                self.code = _new_code()

    def token(self, guest: Guest) -> str:
        """A new token for the forms of one page: it is good for one change."""
        token = secrets.token_urlsafe(18)
        with self._lock:
            self._tokens[token] = guest.key
            while len(self._tokens) > MOST_TOKENS:
                self._tokens.popitem(last=False)
        return token

    def spent(self, token: str, guest: Guest) -> bool:
        """Take a token; false where it was taken before, is another's, or of an earlier start."""
        with self._lock:
            own = self._tokens.get(token) == guest.key
            if own:
                del self._tokens[token]
            return own


def _new_code() -> str:
    return "".join(secrets.choice(LETTERS) for _ in range(_CODE_LETTERS))


def _device(agent: str) -> str:
    """What kind of device a browser says that it is on."""
    return next((name for kind, name in _DEVICES if re.search(kind, agent)), "device")
