"""What the commands of the shelf print: the shelf itself, and each change before and after."""

from collections.abc import Iterable
from decimal import Decimal

from bom.files.spelling import plain
from bom.files.table import Heading, Table
from bom.shelf.marks import FEWEST_USED, FEWEST_WEEKS, Learned, LearnedMark
from bom.shelf.moves import Difference, Entry, Shelf
from bom.trade.house import HouseRules
from bom.trade.shelf import DrawerItem, Hold, ShelfPiece
from bom.workshop.due import Due
from bom.workshop.stockroom import Booked

FEW = 5
"""So many names stand in a sentence; of more only the number."""

MOST_NOTE = 44
"""Characters across of a note; longer ones are wrapped."""


def stock_tables(shelf: Shelf) -> tuple[Table, ...]:
    """Reels and offcuts, then the drawer with what runs low, then what is set aside."""
    held = bool(shelf.history.holds)
    tables = [_cable_table(shelf, held), _drawer_table(shelf, held)]
    if held:
        tables.append(_held_table(shelf.history.holds))
    if shelf.differences():
        tables.append(by_hand_table(shelf.differences()))
    return tuple(tables)


def _cable_table(shelf: Shelf, held: bool) -> Table:
    pieces = [piece for piece in shelf.stock.pieces if piece.length_mm]
    return Table(
        title="cable on the shelf",
        headings=(
            Heading(name="piece"),
            Heading(name="gauge"),
            Heading(name="colour"),
            Heading(name="length", form="m", total=True),
            *([Heading(name="set aside", form="m", total=True)] if held else []),
            Heading(name="cost per m", form="money"),
            Heading(name="place"),
        ),
        rows=tuple(
            (
                piece.name,
                piece.gauge,
                str(piece.colour),
                Decimal(piece.length_mm) / 1000,
                *([_held_m(shelf, piece)] if held else []),
                piece.cost_per_m,
                piece.place,
            )
            for piece in pieces
        ),
    )


def _held_m(shelf: Shelf, piece: ShelfPiece) -> Decimal | None:
    amount = shelf.held_of(piece.name, "mm")
    return amount / 1000 if amount else None


def _drawer_table(shelf: Shelf, held: bool) -> Table:
    return Table(
        title="drawer",
        headings=(
            Heading(name="item", wide=48),
            Heading(name="on hand", form="quantity"),
            *([Heading(name="set aside", form="quantity")] if held else []),
            Heading(name="unit"),
            Heading(name="low", form="quantity"),
            Heading(name="full", form="quantity"),
            Heading(name=""),
            Heading(name="place"),
        ),
        rows=tuple(_drawer_row(shelf, item, held) for item in shelf.stock.drawer),
    )


def _drawer_row(shelf: Shelf, item: DrawerItem, held: bool) -> tuple[str | Decimal | None, ...]:
    on_hand, unit = _shown(item.on_hand, item.unit)
    low, full = (None if m is None else _shown(m, item.unit)[0] for m in (item.low, item.full))
    aside = shelf.held_of(item.item, item.unit)
    return (
        item.item,
        on_hand,
        *([_shown(aside, item.unit)[0] if aside else None] if held else []),
        unit,
        low,
        full,
        "low" if item.low is not None and item.on_hand - aside < item.low else "",
        item.place,
    )


def _shown(amount: Decimal, unit: str) -> tuple[Decimal, str]:
    """A length in metres, exact, so that columns add up; all else as it is."""
    return (amount / 1000, "m") if unit == "mm" else (amount, unit)


def _held_table(holds: Iterable[Hold]) -> Table:
    return Table(
        title="set aside",
        headings=(
            Heading(name="for"),
            Heading(name="piece or item", wide=48),
            Heading(name="quantity", form="quantity"),
            Heading(name="unit"),
        ),
        rows=tuple((hold.job, hold.item, *_shown(hold.quantity, hold.unit)) for hold in holds),
        notes=("bom stock issue JOB takes it out, bom stock release JOB sets it free",),
    )


def by_hand_table(differences: Iterable[Difference]) -> Table:
    """Where the book has not what the moves say."""
    return Table(
        title="changed by hand",
        headings=(
            Heading(name="piece or item", wide=48),
            Heading(name="cell"),
            Heading(name="by the moves", form="quantity"),
            Heading(name="in the book", form="quantity"),
            Heading(name="unit"),
        ),
        rows=tuple(
            (d.name, d.where.cell or "gone", d.by_the_moves, d.in_the_book, d.unit)
            for d in differences
        ),
    )


def rebuilt_table(shelf: Shelf) -> Table:
    """The shelf as its opening counts and the moves have it, beside the book."""
    rows = []
    for key, thread in shelf.history.threads.items():
        account = shelf.accounts.get(key)
        there = account.on_hand if account else Decimal()
        unit = key[1]
        amounts = (thread.opening, thread.come, thread.gone, thread.left, there)
        rows.append(
            (
                thread.name,
                *(_shown(amount, unit)[0] for amount in amounts),
                _shown(there, unit)[1],
                "" if there == thread.left else "by hand",
            )
        )
    return Table(
        title="from opening count and moves",
        headings=(
            Heading(name="piece or item", wide=48),
            Heading(name="opening", form="quantity"),
            Heading(name="in", form="quantity"),
            Heading(name="out", form="quantity"),
            Heading(name="left", form="quantity"),
            Heading(name="in the book", form="quantity"),
            Heading(name="unit"),
            Heading(name="changed"),
        ),
        rows=tuple(rows),
        notes=("what has not moved yet is not in this list",),
    )


def learned_tables(found: Learned, rules: HouseRules) -> tuple[Table, ...]:
    """The marks that use proposes, with the figures behind each."""
    return (
        Table(
            title=f"low and full marks from the use of {found.weeks} weeks",
            headings=(
                Heading(name="item", wide=44),
                Heading(name="unit"),
                Heading(name="a week", form="quantity"),
                Heading(name="give or take", form="quantity"),
                Heading(name="low was", form="quantity"),
                Heading(name="low", form="quantity"),
                Heading(name="one order", form="quantity"),
                Heading(name="full was", form="quantity"),
                Heading(name="full", form="quantity"),
                Heading(name="a year's ordering and keeping", form="money", wide=18),
                Heading(name="remark", wide=30),
            ),
            rows=tuple(_mark_row(mark) for mark in found.marks),
            notes=_learned_notes(found, rules),
        ),
    )


def _mark_row(mark: LearnedMark) -> tuple[str | Decimal | None, ...]:
    use, deviation = (Decimal(f"{n:.1f}") for n in (mark.per_week, mark.deviation))
    return (
        mark.item,
        mark.unit,
        use,
        deviation,
        mark.was_low,
        mark.low,
        mark.order_size,
        mark.was_full,
        mark.full,
        mark.order_cost_per_year,
        mark.remark,
    )


def _learned_notes(found: Learned, rules: HouseRules) -> tuple[str, ...]:
    """How the figures came about, and what has none."""
    days, service = plain(rules.lead_days), plain(rules.service_percent)
    told = [
        f"low: what is used in {days} days, and so much over that it lasts in {service} of 100 "
        "times: mean + z x deviation, and one more, as it is bought when it is under low",
        f"one order: sqrt(2 x {plain(rules.order_cost)} an order x a year's use / "
        f"({plain(rules.holding_percent)} % of the cost)); full: low and one order",
        "formulas: Snyder and Shen, Fundamentals of Supply Chain Theory, 2nd ed., 3.2 and 4.3; "
        "house rules lead_days, service_percent, order_cost, holding_percent",
    ]
    if found.weeks < FEWEST_WEEKS:
        told = [f"the moves go back {found.weeks} whole weeks; {FEWEST_WEEKS} are needed"]
    if found.too_little:
        number = len(found.too_little)
        few = ", ".join(found.too_little) if number <= FEW else f"{number} items"
        told.append(f"used in fewer than {FEWEST_USED} of the weeks, too seldom to tell: {few}")
    if found.undated:
        told.append(f"left out, since their moment is no date: {found.undated} moves")
    return tuple(told)


def due_table(found: Iterable[Due], workshop: str) -> Table:
    """Each job with where it stands, and under them what else is due in the workshop."""
    lines = [(due.job, f"{due.stands}: {due.then}" if due.then else due.stands) for due in found]
    return Table(
        title=f"due next: {workshop}",
        headings=(Heading(name="job"), Heading(name="where it stands", wide=60)),
        rows=tuple(line for line in lines if line[0]),
        notes=tuple(stands for job, stands in lines if not job),
    )


# -------------------------------------------------------------------- before and after


def booked_tables(booked: Booked, done: str) -> tuple[Table, ...]:
    """Each change with what there was before and is left after it."""
    if not booked.entries:
        return (Table(title=_title(booked, done), headings=(Heading(name="item"),), rows=()),)
    notes = any(entry.note for entry in booked.entries)
    if not any(entry.change for entry in booked.entries):
        return (_unmoved_table(booked, done),)
    return (
        Table(
            title=_title(booked, done),
            headings=(
                Heading(name="what"),
                Heading(name="piece or item", wide=44),
                Heading(name="before", form="quantity"),
                Heading(name="change", form="quantity"),
                Heading(name="after", form="quantity"),
                Heading(name="unit"),
                *([Heading(name="note", wide=MOST_NOTE)] if notes else []),
            ),
            rows=tuple(_entry_row(entry, notes) for entry in booked.entries),
            notes=_booked_notes(booked),
        ),
    )


def _unmoved_table(booked: Booked, done: str) -> Table:
    """What is set aside, set free or marked: on hand stays as it is."""
    return Table(
        title=_title(booked, done),
        headings=(
            Heading(name="what"),
            Heading(name="piece or item", wide=44),
            Heading(name="on hand", form="quantity"),
            Heading(name="unit"),
            Heading(name="note", wide=MOST_NOTE),
        ),
        rows=tuple((e.what, e.item, e.left, e.unit, e.note) for e in booked.entries),
        notes=_booked_notes(booked),
    )


def _title(booked: Booked, done: str) -> str:
    things = len({(entry.item, entry.unit) for entry in booked.entries})
    if not things:
        return f"{booked.file}: nothing to do, it is as asked already"
    what = f"{things} {'thing' if things == 1 else 'things'}"
    jobs = ", ".join(dict.fromkeys(entry.job for entry in booked.entries if entry.job))
    return f"{booked.file}: {what} {done}" + (f" for {jobs}" if jobs else "")


def _entry_row(entry: Entry, notes: bool) -> tuple[str | Decimal, ...]:
    amounts = (entry.before, entry.change, entry.left)
    return (entry.what, entry.item, *amounts, entry.unit, *([entry.note] if notes else []))


def _booked_notes(booked: Booked) -> tuple[str, ...]:
    told = list(booked.remarks)
    if booked.by_hand:
        names = ", ".join(
            f"{d.name} ({plain(d.by_the_moves)} to {plain(d.in_the_book)} {d.unit})"
            for d in booked.by_hand
        )
        told.append(f"changed by hand before, and taken over as counts: {names}")
    undone = any(entry.what == "undo" for entry in booked.entries)
    reverses = "" if undone else "; bom stock undo reverses it"
    written = f"written to Moves as {booked.when}{reverses}"
    told.append(written if booked.written else "a dry run: nothing is written")
    return tuple(told)
