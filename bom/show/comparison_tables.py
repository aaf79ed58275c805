"""What `bom compare` prints: wires, needs, hours and the price, as they were and as they are."""

from collections import Counter
from collections.abc import Callable, Iterator
from decimal import Decimal

from bom.files.spelling import plain
from bom.files.table import Heading, Table
from bom.show.shared import FEW, in_metres
from bom.trade.quotes import GivenQuote, QuoteLine
from bom.trade.wires import ChosenFuse
from bom.workshop.comparison import (
    Comparison,
    CostChange,
    FuseChange,
    LineChange,
    Side,
    WireChange,
    facts,
)


def comparison_tables(found: Comparison, given: GivenQuote | None = None) -> tuple[Table, ...]:
    """What differs, the price last; nothing where nothing does."""
    if found.is_nothing:
        return ()
    tables = (
        _wires_table(found) if found.wires else None,
        _fuses_table(found) if found.fuses else None,
        _needs_table(found) if found.needs else None,
        _hours_table(found) if found.hours else None,
        _price_table(found, given) if found.was.estimate else None,
    )
    return tuple(table for table in tables if table)


def sides_line(found: Comparison) -> str:
    """Which is which, and that there is no more where one of them has errors."""
    alone = "" if found.was.estimate else "; while there are errors, wires and fuses alone"
    return f"was: {found.was.called}; now: {found.now.called}{alone}"


# ---------------------------------------------------------------------------------- wires


def _wires_table(found: Comparison) -> Table:
    counts = Counter(map(_kind, found.wires))
    kinds = ", ".join(
        f"{counts[kind]} {kind}" for kind in ("changed", "new", "gone") if counts[kind]
    )
    return Table.of(
        f"wires: {kinds}",
        found.wires,
        Heading("wire", _labels),
        Heading("circuit", _circuit, wide=24, gives_way=3),
        Heading("change", _kind, shown=len(counts) > 1),
        *_fact_columns(found),
        notes=(_lengths(found),),
    )


def _kind(change: WireChange | FuseChange) -> str:
    if change.was is None:
        return "new"
    return "gone" if change.now is None else "changed"


def _labels(change: WireChange) -> str:
    labels = [one.wire.label for one in (change.now, change.was) if one]
    return labels[0] if labels[0] == labels[-1] else f"{labels[0]} (was {labels[-1]})"


def _circuit(change: WireChange) -> str:
    return next(one.wire.circuit for one in (change.now, change.was) if one)


_FACTS = {
    "from": "from",
    "to": "to",
    "length_mm": "length mm",
    "gauge": "gauge",
    "colour": "colour",
    "amps": "load A",
    "fuse": "fuse",
    "from_end": "from end",
    "to_end": "to end",
    "qty": "qty",
}
"""The headings of what is compared of a wire."""


def _fact_columns(found: Comparison) -> Iterator[Heading[WireChange]]:
    for name, heading in _FACTS.items():
        value = _fact(name)
        yield Heading(heading, value, wide=24, shown=any(map(value, found.wires)))


def _fact(name: str) -> Callable[[WireChange], str]:
    """What a fact was and is, where that differs; of a wire that is new or gone, what it is.

    Of such a wire it is not told what ends it has and how many there are.
    """
    of_others = name not in ("from_end", "to_end", "qty")

    def told(change: WireChange) -> str:
        values = [_said(facts(one)[name]) for one in (change.was, change.now) if one]
        is_told = name in change.differs_in and (of_others or len(values) > 1)
        return " → ".join(values) if is_told else ""

    return told


def _said(value: str | float) -> str:
    return value if isinstance(value, str) else plain(Decimal(str(value)))


def _lengths(found: Comparison) -> str:
    was, now = found.was.length_mm / 1000, found.now.length_mm / 1000
    return f"all wires: {was:.2f} m → {now:.2f} m ({now - was:+.2f} m)"


# ---------------------------------------------------------------------------------- fuses


def _fuses_table(found: Comparison) -> Table:
    def told(fact: Callable[[ChosenFuse], str]) -> Callable[[FuseChange], str]:
        return lambda change: _was_and_is(
            *(fact(one) if one else None for one in (change.was, change.now))
        )

    return Table.of(
        "fuses",
        found.fuses,
        Heading("fuse", lambda change: next(f.name for f in (change.now, change.was) if f)),
        Heading("change", _kind, shown=any(None in (c.was, c.now) for c in found.fuses)),
        Heading("rating A", told(lambda fuse: plain(Decimal(str(float(fuse.rating)))))),
        Heading("kind", told(lambda fuse: fuse.kind)),
        Heading("holder", told(lambda fuse: fuse.holder)),
    )


def _was_and_is(was: str | None, now: str | None) -> str:
    """Both where they differ; of a fuse that is new or gone what it is."""
    if was is None or now is None or was == now:
        return str(now if was is None else was)
    return f"{was} → {now}"


# ------------------------------------------------------------------------- needs and hours


def _needs_table(found: Comparison) -> Table:
    return Table.of(
        "what is needed, at cost",
        found.needs,
        Heading("item", lambda change: change.item, wide=36),
        Heading("was", lambda change: _amount(change.was), "quantity"),
        Heading("now", lambda change: _amount(change.now), "quantity"),
        Heading("change", _amount_by, "quantity"),
        Heading("unit", _unit),
        Heading("cost change", _cost_by, "money", total=found.complete),
        notes=(_ELSEWHERE if any(map(_is_cost_alone, found.needs)) else None,),
    )


_ELSEWHERE = (
    "as much as it was, at another cost: bought elsewhere, in other packs, from the shelf, or more "
    "than is needed, as bom order tells"
)


def _is_cost_alone(change: LineChange) -> bool:
    return _cost_by(change) is not None and _amount_by(change) is None


def _amount(line: QuoteLine | None) -> Decimal | None:
    return in_metres(line)[0] if line else None


def _amount_by(change: LineChange) -> Decimal | None:
    """The difference of what is printed."""
    return (_amount(change.now) or Decimal()) - (_amount(change.was) or Decimal()) or None


def _unit(change: LineChange) -> str:
    return next(in_metres(line)[1] for line in (change.now, change.was) if line)


def _cost_by(change: LineChange) -> Decimal | None:
    """Nothing is said of what has no price."""
    unpriced = any(line and line.cost is None for line in (change.was, change.now))
    return None if unpriced else change.by(lambda line: line.cost) or None


def _hours_table(found: Comparison) -> Table:
    was, now = (round(each, 2) for each in found.all_hours)
    return Table.of(
        "hours",
        found.hours,
        Heading("task", lambda change: change.item, wide=36),
        Heading("was", lambda change: _hours(change.was), "hours"),
        Heading("now", lambda change: _hours(change.now), "hours"),
        Heading("change", _hours_by, "hours"),
        notes=(f"all hours: {was:.2f} → {now:.2f} ({now - was:+.2f})",),
    )


def _hours(line: QuoteLine | None) -> Decimal | None:
    return None if line is None or line.hours is None else round(line.hours, 2)


def _hours_by(change: LineChange) -> Decimal:
    """The difference of what is printed."""
    return (_hours(change.now) or Decimal()) - (_hours(change.was) or Decimal())


# ---------------------------------------------------------------------------------- price


def _price_table(found: Comparison, given: GivenQuote | None) -> Table:
    """All groups, so that they add up; a sum only where everything has a price."""
    was, now = found.was, found.now
    tax = [CostChange(what="tax", was=was.tax, now=now.tax)] if found.complete else []
    return Table.of(
        "price",
        [*found.costs, *tax],
        Heading("what", lambda change: change.what),
        Heading("was", lambda change: change.was, "money", total=found.complete),
        Heading("now", lambda change: change.now, "money", total=found.complete),
        Heading("change", lambda change: change.by or None, "money", total=found.complete),
        notes=(as_given(found, given), *_in_all(found)),
    )


def as_given(found: Comparison, given: GivenQuote | None) -> str | None:
    """What the quotation came to, where its book comes to another sum today."""
    total = found.was.total
    if given is None or total in (None, given.total):
        return None
    return (
        f"given as {given.number} on {given.given} for {given.total:.2f}; the same comes to "
        f"{total:.2f} at the prices, house rules and shelf of today"
    )


def _in_all(found: Comparison) -> Iterator[str]:
    """The total, or of each side what is known of it."""
    was, now, by = found.total.was, found.total.now, found.total.by
    if by is None:
        yield from map(_known, (found.was, found.now))
        yield from _new_cautions(found)
        return
    more = f"{abs(by):.2f} {'more' if by > 0 else 'less'}" if by else "the same"
    yield f"TOTAL {was:.2f} → {now:.2f}: {more}"
    yield from _new_cautions(found)


def _known(side: Side) -> str:
    if side.whole:
        return f"{side.called}: {side.whole.total:.2f} with tax"
    unpriced = side.estimate.unpriced if side.estimate else ()
    names = "; ".join(unpriced) if len(unpriced) <= FEW else f"{len(unpriced)} items"
    return f"{side.called}: so far {side.so_far:.2f} with tax; no price for {names}"


def _new_cautions(found: Comparison) -> Iterator[str]:
    """What is doubtful about the second that is not about the first, a clause for what is alike."""
    known = {(p.where.cell, p.alike or p.says) for p in found.was.job.problems}
    new = [p for p in found.now.job.problems if (p.where.cell, p.alike or p.says) not in known]
    alike = Counter(p.alike or p.says for p in new)
    one = {p.alike or p.says: p.says for p in new}
    if new:
        said = (f"{n} {what}" if n > 1 else one[what] for what, n in alike.items())
        yield f"but: {'; '.join(said)}"
