"""What the commands of the shelf print: the shelf itself, and each change before and after."""

from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from typing import NamedTuple

from bom.files.spelling import plain
from bom.files.table import Heading, Table
from bom.files.units import reckoned_in
from bom.shelf.marks import FEWEST_USED, FEWEST_WEEKS, Learned
from bom.shelf.moves import Difference, Entry, Shelf
from bom.shelf.moves.history import Thread
from bom.show.shared import few
from bom.show.shelf_found import Shown, key_of_hold, share_of_low
from bom.trade.house import HouseRules
from bom.trade.problem import counted
from bom.trade.shelf import DrawerItem, Hold, ShelfPiece
from bom.workshop.due import Due
from bom.workshop.stockroom import Booked

MOST_NOTE = 44
"""Characters across of a note; longer ones are wrapped."""


def stock_tables(shelf: Shelf, shown: Shown) -> tuple[Table, ...]:
    """Reels and offcuts, then the drawer with what runs low, then what is set aside."""
    held = bool(shelf.holds)
    tables = (
        _cable_table(shelf, shown.pieces, held),
        _drawer_table(shelf, shown.drawer, held),
        _held_table(shown.holds),
        by_hand_table(shown.differences),
    )
    whole = () if shown.is_partial else tables[:2]
    return tuple(table for table in tables if table.rows or table in whole)


def _cable_table(shelf: Shelf, pieces: Iterable[ShelfPiece], held: bool) -> Table:
    def aside(piece: ShelfPiece) -> Decimal | None:
        return in_m(shelf.held_of(piece.name, "mm") or None, "mm")

    return Table.of(
        "cable on the shelf",
        pieces,
        Heading("piece", lambda piece: piece.name),
        Heading("gauge", lambda piece: piece.gauge),
        Heading("colour", lambda piece: str(piece.colour)),
        Heading("length", lambda piece: Decimal(piece.length_mm) / 1000, "m", total=True),
        Heading("set aside", aside, "m", total=True, shown=held),
        Heading("cost per m", lambda piece: piece.cost_per_m, "money"),
        Heading("place", lambda piece: piece.place),
    )


def _drawer_table(shelf: Shelf, items: Iterable[DrawerItem], held: bool) -> Table:
    def aside(item: DrawerItem) -> Decimal | None:
        return in_m(shelf.held_of(item.item, item.unit) or None, item.unit)

    return Table.of(
        "drawer",
        items,
        Heading("item", lambda item: item.item, wide=48),
        Heading("on hand", lambda item: in_m(item.on_hand, item.unit), "quantity"),
        Heading("set aside", aside, "quantity", shown=held),
        Heading("unit", lambda item: m_for(item.unit)),
        Heading("low", lambda item: in_m(item.low, item.unit), "quantity"),
        Heading("full", lambda item: in_m(item.full, item.unit), "quantity", gives_way=3),
        Heading("", lambda item: "low" if shelf.runs_low(item) else ""),
        Heading("place", lambda item: item.place),
    )


def in_m(amount: Decimal | None, unit: str) -> Decimal | None:
    """A length in metres, exact, so that columns add up; all else as it is."""
    return amount / 1000 if amount is not None and unit == "mm" else amount


def m_for(unit: str) -> str:
    """The unit that an amount is shown in."""
    return "m" if unit == "mm" else unit


def _held_table(holds: Iterable[Hold]) -> Table:
    return Table.of(
        "set aside",
        holds,
        Heading("for", lambda hold: hold.job),
        Heading("piece or item", lambda hold: hold.item, wide=48),
        Heading("quantity", lambda hold: in_m(hold.quantity, hold.unit), "quantity"),
        Heading("unit", lambda hold: m_for(hold.unit)),
        notes=("bom stock issue JOB takes it out, bom stock release JOB sets it free",),
    )


def held_table(shelf: Shelf, holds: Iterable[Hold]) -> Table:
    """What is set aside, for whom, since when, and where it lies."""

    def item(hold: Hold) -> DrawerItem | ShelfPiece | None:
        account = shelf.accounts.get(key_of_hold(hold))
        return account.item if account else None

    def named(hold: Hold) -> str:
        thing = item(hold)
        return piece_in_words(thing) if isinstance(thing, ShelfPiece) else hold.item

    def place(hold: Hold) -> str:
        thing = item(hold)
        return thing.place if thing else ""

    return Table.of(
        "set aside",
        holds,
        Heading("for", lambda hold: hold.job, wide=24),
        Heading("piece or item", named, wide=48),
        Heading("quantity", lambda hold: in_m(hold.quantity, hold.unit), "quantity"),
        Heading("unit", lambda hold: m_for(hold.unit)),
        Heading("since", lambda hold: hold.since.partition(" ")[0]),
        Heading("place", place, wide=20, gives_way=3),
    )


def low_table(shelf: Shelf, items: Iterable[DrawerItem]) -> Table:
    """What is under its low mark, what is set aside left out: the lowest first."""

    def aside(item: DrawerItem) -> Decimal:
        return in_m(shelf.held_of(item.item, item.unit), item.unit) or Decimal()

    def free(item: DrawerItem) -> Decimal:
        return (in_m(item.on_hand, item.unit) or Decimal()) - aside(item)

    def share(item: DrawerItem) -> Decimal | None:
        return 100 * share_of_low(shelf, item) if item.low else None

    return Table.of(
        "under their low mark",
        items,
        Heading("item", lambda item: item.item, wide=48),
        Heading("free", free, "quantity"),
        Heading("unit", lambda item: m_for(item.unit)),
        Heading("low", lambda item: in_m(item.low, item.unit), "quantity"),
        Heading("of low", share, "percent"),
        Heading("full", lambda item: in_m(item.full, item.unit), "quantity", gives_way=2),
        Heading(
            "set aside",
            lambda item: aside(item) or None,
            "quantity",
            shown=bool(shelf.history.holds),
            gives_way=1,
        ),
        Heading("place", lambda item: item.place, wide=20, gives_way=3),
    )


def piece_in_words(piece: ShelfPiece) -> str:
    """`R01, 1.0 mm2, red`."""
    unit = "" if piece.gauge.endswith("AWG") else " mm2"
    return f"{piece.name}, {piece.gauge}{unit}, {piece.colour}"


def by_hand_table(differences: Iterable[Difference]) -> Table:
    """Where the book has not what the moves say."""
    return Table.of(
        "changed by hand",
        differences,
        Heading("piece or item", lambda d: d.name, wide=48),
        Heading("cell", lambda d: d.where.cell or "gone"),
        Heading("by the moves", lambda d: d.by_the_moves, "quantity"),
        Heading("in the book", lambda d: d.in_the_book, "quantity"),
        Heading("unit", lambda d: d.unit),
    )


class _Rebuilt(NamedTuple):
    """A thing as its moves have it, and how much of it the book has, in `unit`."""

    thread: Thread
    unit: str
    there: Decimal


def rebuilt_table(shelf: Shelf, shown: Shown) -> Table:
    """The shelf as its opening counts and the moves have it, beside the book."""
    there = {key: account.on_hand for key, account in shelf.accounts.items()}
    return Table.of(
        "from opening count and moves",
        (
            _Rebuilt(thread, reckoned_in(thread.unit), there.get(key, Decimal()))
            for key, thread in shown.threads.items()
            if not thread.is_no_thing or key in there
        ),
        Heading("piece or item", lambda thing: thing.thread.name, wide=48),
        Heading("opening", lambda thing: in_m(thing.thread.opening, thing.unit), "quantity"),
        Heading("in", lambda thing: in_m(thing.thread.come, thing.unit), "quantity"),
        Heading("out", lambda thing: in_m(thing.thread.gone, thing.unit), "quantity"),
        Heading("left", lambda thing: in_m(thing.thread.left, thing.unit), "quantity"),
        Heading("in the book", lambda thing: in_m(thing.there, thing.unit), "quantity"),
        Heading("unit", lambda thing: m_for(thing.unit)),
        Heading("changed", lambda thing: "" if thing.there == thing.thread.left else "by hand"),
        notes=("what has not moved yet is not in this list",),
    )


def learned_tables(found: Learned, rules: HouseRules) -> tuple[Table, ...]:
    """The marks that use proposes, with the figures behind each."""
    return (
        Table.of(
            f"low and full marks from the use of {found.weeks} weeks",
            found.marks,
            Heading("item", lambda mark: mark.item, wide=44),
            Heading("unit", lambda mark: mark.unit),
            Heading("a week", lambda mark: Decimal(f"{mark.per_week:.1f}"), "quantity"),
            Heading(
                "give or take",
                lambda mark: Decimal(f"{mark.deviation:.1f}"),
                "quantity",
                gives_way=2,
            ),
            Heading("low was", lambda mark: mark.was_low, "quantity"),
            Heading("low", lambda mark: mark.low, "quantity"),
            Heading("one order", lambda mark: mark.order_size, "quantity", gives_way=3),
            Heading("full was", lambda mark: mark.was_full, "quantity"),
            Heading("full", lambda mark: mark.full, "quantity"),
            Heading(
                "a year's ordering and keeping",
                lambda mark: mark.order_cost_per_year,
                "money",
                wide=18,
                gives_way=1,
            ),
            Heading("remark", lambda mark: mark.remark, wide=30),
            notes=_learned_notes(found, rules),
        ),
    )


def _learned_notes(found: Learned, rules: HouseRules) -> Iterator[str]:
    """How the figures came about, and what has none."""
    days, service = plain(rules.lead_days), plain(rules.service_percent)
    if found.weeks < FEWEST_WEEKS:
        yield f"the moves go back {found.weeks} whole weeks; {FEWEST_WEEKS} are needed"
    else:
        yield (
            f"low: what is used in {days} days, and so much over that it lasts in {service} of 100 "
            "times: mean + z x deviation, and one more, as it is bought when it is under low"
        )
        yield (
            f"one order: sqrt(2 x {plain(rules.order_cost)} an order x a year's use / "
            f"({plain(rules.holding_percent)} % of the cost)); full: low and one order"
        )
        yield (
            "formulas: Snyder and Shen, Fundamentals of Supply Chain Theory, 2nd ed., 3.2 and 4.3; "
            "house rules lead_days, service_percent, order_cost, holding_percent"
        )
    if found.too_little:
        names = few(found.too_little)
        yield f"used in fewer than {FEWEST_USED} of the weeks, too seldom to tell: {names}"
    if found.undated:
        yield f"left out, since their moment is no date: {found.undated} moves"


def due_table(found: Sequence[Due], workshop: str) -> Table:
    """Each job with where it stands, and under them what else is due in the workshop."""

    def stands(due: Due) -> str:
        return f"{due.stands}: {due.then}" if due.then else due.stands

    return Table.of(
        f"due next: {workshop}",
        (due for due in found if due.job),
        Heading("job", lambda due: due.job),
        Heading("where it stands", stands, wide=60),
        notes=(stands(due) for due in found if not due.job),
    )


# -------------------------------------------------------------------- before and after


def booked_tables(booked: Booked, done: str) -> tuple[Table, ...]:
    """Each change with what there was before and is left after it.

    On hand stays as it is where things are only set aside, set free or marked.
    """
    came = {entry.item for entry in booked.entries if entry.what == "receive"}
    aside = [e for e in booked.entries if e.what == "hold" and e.item in came]
    entries = [e for e in booked.entries if e not in aside and (e.note or not e.is_no_thing)]
    moved = any(entry.change for entry in entries)
    noted = any(entry.note for entry in entries)
    things = [entry for entry in entries if not entry.is_no_thing]

    def left(entry: Entry) -> Decimal | None:
        return None if entry.is_no_thing else entry.left

    def unit(entry: Entry) -> str:
        return "" if entry.is_no_thing else entry.unit

    jobs = {entry.job for entry in entries if entry.job}

    def waiting(entry: Entry) -> str:
        own = (e for e in aside if e.item == entry.item)
        return ", ".join(f"{e.note.partition(' set aside')[0]} for {e.job}" for e in own)

    return (
        Table.of(
            _title(booked, entries, done),
            entries,
            Heading("what", lambda entry: entry.what),
            Heading("piece or item", lambda entry: entry.item, wide=44),
            Heading("for", lambda entry: entry.job, wide=24, shown=len(jobs) > 1),
            Heading("before", lambda entry: entry.before, "quantity", shown=moved),
            Heading("change", lambda entry: entry.change, "quantity", shown=moved),
            Heading("after" if moved else "on hand", left, "quantity", shown=bool(things)),
            Heading("unit", unit, shown=bool(things)),
            Heading("set aside", waiting, wide=24, shown=bool(aside)),
            Heading(
                "note",
                lambda entry: entry.note,
                wide=MOST_NOTE,
                shown=noted or not moved,
                gives_way=3 if came or len(jobs) > 1 else 0,
            ),
            notes=_booked_notes(booked) if booked.entries else booked.remarks,
            whole="the sheet Moves",
        ),
    )


def _title(booked: Booked, told: Sequence[Entry], done: str) -> str:
    if not booked.entries:
        return f"{booked.file}: nothing to do, it is as asked already"
    number = len({(entry.item, entry.unit) for entry in told})
    things = counted(number, "thing") if number else "nothing"
    # what a count frees is no booking for that job
    own = booked.entries if booked.entries[0].job else ()
    jobs = ", ".join(dict.fromkeys(entry.job for entry in own if entry.job))
    return f"{booked.file}: {things} {done}" + (f" for {jobs}" if jobs else "")


def _booked_notes(booked: Booked) -> Iterator[str]:
    yield from booked.remarks
    if booked.by_hand:
        names = ", ".join(
            f"{d.name} ({plain(d.by_the_moves)} to {plain(d.in_the_book)} {d.unit})"
            for d in booked.by_hand
        )
        yield f"changed by hand before, and taken over as counts: {names}"
    undone = any(entry.what == "undo" for entry in booked.entries)
    reverses = "" if undone else "; bom stock undo reverses it"
    written = f"written to Moves as {booked.when}{reverses}"
    yield written if booked.written else "a dry run: nothing is written"
