"""Many at the drawer at once, and a desk that is killed between: nothing lost, sums agree.

Each client counts, takes and puts in by the forms of the page, as a browser sends them.  What was
acknowledged stands in Moves, and opening + changes is what the book has.
"""

import random
from collections import Counter
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from threading import Lock

import httpx2
import pytest

from tests.desks import Served, begun, forms_of
from tests.stockrooms import listed, shop

OPENING = 100_000
SHARED = "bullet cover, male"
"""What all of them take from and put into."""


def drawer_of(clients: int) -> Sequence[tuple[object, ...]]:
    """An item for all, and one for each that is counted by its client alone."""
    own = [(f"box {number}", "each", OPENING, None, None, None) for number in range(clients)]
    return [(SHARED, "each", OPENING, None, None, None), *own]


class AtWork:
    """A desk that clients work at, begun anew where it was killed."""

    def __init__(self, folder: Path) -> None:
        self._folder, self._lock = folder, Lock()
        self.desk: Served = begun(folder)

    @property
    def url(self) -> str:
        """Where it is now."""
        return self.desk.url

    def killed(self) -> None:
        """Killed in the middle of whatever it does, and begun anew."""
        with self._lock:
            self.desk.kill()
            self.desk = begun(self._folder)


class Client:
    """One of those at the drawer: what it was told is done, and what it cannot know."""

    def __init__(self, number: int, work: AtWork, rounds: int) -> None:
        self._dice, self._work, self._rounds = random.Random(number), work, rounds
        self._own = f"box {number}"
        self.done: Counter[str] = Counter()
        self.unknown: Counter[str] = Counter()
        self.told_done = 0
        self.last = OPENING
        self.may_be: set[int] = {OPENING}

    def run(self) -> None:
        """So many changes, each from a page that was looked at."""
        for _ in range(self._rounds):
            action = self._dice.choice(("count", "take", "put"))
            number = self._dice.randint(1, 9)
            if action == "count":
                self._counts(OPENING + self._dice.randint(-5000, 5000))
            else:
                said = self._send(action, SHARED, number)
                if said is None:
                    self.unknown[action] += number
                else:
                    assert said, "a change was refused"
                    self.done[action] += number

    def _counts(self, number: int) -> None:
        said = self._send("count", self._own, number)
        if said is None:
            self.may_be.add(number)
        else:
            assert said, "a count was refused"
            self.may_be = {number}

    def _send(self, action: str, item: str, number: int) -> bool | None:
        """True where it was told as done; None where nobody can know, as the desk was killed."""
        try:
            with httpx2.Client(base_url=self._work.url, timeout=60) as client:
                page = client.get("/drawer", params={"find": item})
        except httpx2.TransportError:  # it is being killed: nothing was sent yet
            return self._send(action, item, number)
        token = next(
            form.fields["token"] for form in forms_of(page.text) if form.fields.get("token")
        )
        typed = {"item": item, "number": f"{number}", "token": token}
        try:
            with httpx2.Client(base_url=self._work.url, timeout=60) as client:
                answer = client.post(f"/drawer/{action}", data=typed)
                page = client.get(answer.headers["location"])
        except httpx2.TransportError:
            return None
        if 'data-told="done"' in page.text:
            self.told_done += 1
            return True
        # begun anew between page and form, or before what came of it was shown
        return None


def worked(folder: Path, clients: int, rounds: int, kills: int) -> tuple[int, int]:
    """Let them all work, kill the desk so often, and look whether the book is right.

    How many changes the clients were told are done, and how many rows Moves has.
    """
    shop(folder, drawer=drawer_of(clients))
    work = AtWork(folder)
    at_drawer = [Client(number, work, rounds) for number in range(clients)]
    with ThreadPoolExecutor(clients) as pool:
        running = [pool.submit(client.run) for client in at_drawer]
        for kill in range(kills):
            moved = (kill + 1) * clients * rounds // (kills + 2)
            while len(listed(folder, "Moves")) < moved and not all(r.done() for r in running):
                pass
            work.killed()
        for one in running:
            one.result()
    work.desk.kill()
    _agrees(folder, at_drawer, exact=not kills)
    return sum(client.told_done for client in at_drawer), len(listed(folder, "Moves"))


def _agrees(folder: Path, clients: Sequence[Client], *, exact: bool) -> None:
    moves = listed(folder, "Moves")
    there = {row["item"]: row["on hand"] for row in listed(folder, "Drawer")}
    changes: Counter[str] = Counter()
    for move in moves:
        changes[move["item"]] += move["change"]
        assert move["left"] == OPENING + changes[move["item"]], move
    for name, amount in there.items():
        assert amount == OPENING + changes[name], name
    took = -sum(move["change"] for move in moves if move["item"] == SHARED and move["change"] < 0)
    came = sum(move["change"] for move in moves if move["item"] == SHARED and move["change"] > 0)
    for amount, action in ((took, "take"), (came, "put")):
        least = sum(client.done[action] for client in clients)
        assert least <= amount <= least + sum(client.unknown[action] for client in clients)
        assert not exact or amount == least
    for number, client in enumerate(clients):
        assert there[f"box {number}"] in client.may_be
    stamps = [move["when"] for move in moves]
    assert stamps == sorted(stamps) and len({*stamps}) == len(stamps)  # one after the other


def test_a_few_at_once(tmp_path: Path) -> None:
    """Five, each with four changes."""
    assert worked(tmp_path / "shop", clients=5, rounds=4, kills=0) == (20, 20)


@pytest.mark.slow
def test_twenty_at_once(tmp_path: Path) -> None:
    """So many changes that they are at it for about a minute."""
    assert worked(tmp_path / "shop", clients=20, rounds=30, kills=0) == (600, 600)


@pytest.mark.slow
def test_twenty_at_once_with_kills(tmp_path: Path) -> None:
    """The desk is killed eight times in the middle of it (-9)."""
    told_done, rows = worked(tmp_path / "shop", clients=20, rounds=15, kills=8)
    assert 0 < told_done <= rows <= 300
