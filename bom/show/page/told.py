"""What a page says of a change that was asked for: done, refused, or waiting for a yes."""

import re
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from msgspec.structs import replace

from bom.files.spelling import plain
from bom.shelf.moves import Entry
from bom.trade.problem import Problem
from bom.workshop.stockroom import Booked

MOST_TOLD, MOST_SHOWN = 12, 3
"""So many changes are told one by one, and so many things shown first; of more the number."""

_ON_A_PAGE = (
    (r"(^|; )--.*", ""),
    (r"bom stock count '.*' with (what is really there)", r"count \1"),
    (r"bom stock undo, which reverses that first", "undo that first (under Lately)"),
)
"""What is told to whoever types commands, and what is told to whoever has a page."""

NOT_SHOWN = "nothing is shown while there are errors in the books"
"""What was typed wrongly hides the rest: that is not gone."""

HEADINGS = {"done": "Booked", "asked": "Is it so?", "refused": "Not booked"}


def told_of(
    booked: Booked, done: str, action: str = "", fields: Sequence[tuple[str, str]] = ()
) -> dict[str, Any]:
    """What became of a change, `done` in a word, such as `taken`.

    `action` and `fields` are what was sent: where a yes is wanted, or something was mistyped, the
    page has them ready to be sent `again`.  `things` are what it was about, where they are few.
    """
    changed = [entry.item for entry in booked.entries if not entry.is_no_thing]
    things = {*changed, *(value for name, value in fields if name == "item")}
    undone = any(entry.what == "undo" for entry in booked.entries)
    kind = "done" if booked.written else "asked" if booked.waits else "refused"
    return {
        "kind": kind,
        "heading": HEADINGS[kind],
        "sentences": [*(_booked(booked, done) if booked.written else _not_booked(booked))],
        "undo": booked.when if booked.written and not undone else None,
        "things": sorted(things) if len(things) <= MOST_SHOWN else [],
        "again": {"action": action, "fields": [*fields], "yes": kind == "asked"},
    }


def sent_before(action: str, fields: Sequence[tuple[str, str]]) -> dict[str, Any]:
    """What is said of a form that was sent twice, or is of an earlier start of the desk.

    Once more it is sent as it was: a yes to what it may ask is not given with it.
    """
    return {
        "kind": "asked",
        "heading": "Not booked now",
        "sentences": [
            "this form was sent before, or the desk was started anew since it was shown: look at "
            "what there is, and send it again if it is still to be booked"
        ],
        "undo": None,
        "things": [value for name, value in fields if name == "item"],
        "again": {"action": action, "fields": [*fields], "yes": False},
    }


def sentence(problem: Problem) -> str:
    """What is wrong, where, and what to try on a page; it needs no `error:` in front."""
    here = replace(problem, cure=on_a_page(problem.cure))
    return here.told("; ").removeprefix(f"{problem.level}: ")


def on_a_page(cure: str) -> str:
    """A cure without options, which a page has not, and by the page's own fields and buttons."""
    for typed, here in _ON_A_PAGE:
        cure = re.sub(typed, here, cure)
    return cure


def sentences(problems: Iterable[Problem]) -> list[str]:
    """All of them, as a page tells them."""
    return [sentence(problem) for problem in problems]


def _booked(booked: Booked, done: str) -> Iterator[str]:
    """Each change with what there is now, then what the owner should know of it."""
    changes = [entry for entry in booked.entries if entry.change or entry.what == "count"]
    shown = changes if len(changes) <= MOST_TOLD else changes[:MOST_TOLD]
    yield from (f"{done}: {_change(entry)}" for entry in shown)
    if len(shown) < len(changes):
        yield f"and {len(changes) - len(shown)} more"
    if not changes:
        yield f"{done}: {', '.join(dict.fromkeys(entry.item for entry in booked.entries))}"
    yield from booked.remarks
    yield from sentences(booked.problems)


def _change(entry: Entry) -> str:
    unit = "" if entry.unit == "each" else f" {entry.unit}"
    if not entry.change:  # counted, and found right
        return f"{entry.item}, {plain(entry.left)}{unit} as before"
    return f"{entry.item}, {plain(entry.before)}{unit} before, {plain(entry.left)}{unit} now"


def _not_booked(booked: Booked) -> Iterator[str]:
    """Why nothing is written; of what waits for a yes, what is asked."""
    errors = [problem for problem in booked.problems if problem.level == "error"]
    if not booked.waits:
        yield from sentences(errors)
        return
    yield from (problem.says for problem in errors)
    changes = [entry for entry in booked.entries if entry.change]
    yield from (f"yes books: {_change(entry)}" for entry in changes[:MOST_TOLD])
    if len(changes) > MOST_TOLD:
        yield f"and {len(changes) - MOST_TOLD} more"
    if booked.by_hand:
        yield "the book's figures are then taken over as counts"
