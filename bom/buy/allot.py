"""The shelf set against the needs: what the drawer gives, and the lengths for each cable."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from decimal import Decimal

from msgspec.structs import replace

from bom.files.spelling import fold
from bom.files.units import PIECE_UNIT, ThingKey, key_of
from bom.trade.needs import Allotment, CableNeed, Need, Short, Taken
from bom.trade.placed import TOP_UP
from bom.trade.shelf import DrawerItem, ShelfPiece, Stock


def allot(needs: Sequence[tuple[str, Need]], stock: Stock) -> Allotment:
    """Take what the drawer has; `needs` are (job, need), several jobs share one shelf.

    Needed = taken + short for every line that is counted or measured; each cable comes out
    with the lengths on the shelf that are its own.
    """
    groups: dict[object, list[tuple[str, Need]]] = defaultdict(list)
    for job, need in needs:
        # an extra with a price of its own is bought at it, whatever else has its name
        groups[need.key, need.unit == "mm", need.price].append((job, need))
    pieces: dict[tuple[str, str], list[ShelfPiece]] = defaultdict(list)
    for piece in sorted(stock.pieces, key=lambda piece: piece.name):
        pieces[piece.gauge, str(piece.colour)].append(piece)
    drawer = _Drawer(stock.drawer)
    cables: list[CableNeed] = []
    taken: list[Taken] = []
    short: list[Short] = []
    for group in groups.values():
        need = group[0][1]
        if need.kind == "cable":
            cables.append(_cable(group, pieces[need.gauge, str(need.colour)]))
        else:
            _allot_item(group, drawer, taken, short)
    return Allotment(taken=tuple(taken), short=tuple(short), cables=tuple(cables))


def unheld(stock: Stock, jobs: Collection[str]) -> Stock:
    """The stock without what is held for jobs that are not among these."""
    held: dict[ThingKey, Decimal] = defaultdict(Decimal)
    own = {fold(job) for job in jobs}
    for hold in stock.holds:
        if fold(hold.job) not in own:
            held[key_of(hold.item, hold.unit)] += hold.quantity
    pieces = tuple(
        replace(piece, length_mm=left)
        for piece in stock.pieces
        if (left := piece.length_mm - int(held[key_of(piece.name, PIECE_UNIT)])) > 0
    )
    drawer = []
    for item in stock.drawer:
        name = key_of(item.item, item.unit)
        part = min(item.on_hand, held[name])
        held[name] -= part
        drawer.append(replace(item, on_hand=item.on_hand - part))
    return replace(stock, pieces=pieces, drawer=tuple(drawer))


def _cable(group: Sequence[tuple[str, Need]], shelf: Sequence[ShelfPiece]) -> CableNeed:
    need = group[0][1]
    return CableNeed(
        item=need.item,
        gauge=need.gauge,
        colour=need.colour,
        pieces=tuple(sorted((mm, job, wire) for job, n in group for mm, wire in n.pieces)),
        spare_mm=sum(n.spare_mm for _, n in group),
        jobs=tuple(dict.fromkeys(job for job, _ in group)),
        shelf=tuple(shelf),
    )


# -------------------------------------------------------------------------------- drawer


class _Drawer:
    """What is on hand, going down as it is taken; a length is never matched by a count."""

    def __init__(self, items: Iterable[DrawerItem]) -> None:
        self._items: dict[ThingKey, list[DrawerItem]] = defaultdict(list)
        self._left: dict[int, Decimal] = {}
        for item in items:
            self._items[key_of(item.item, item.unit)].append(item)
            self._left[id(item)] = item.on_hand

    def take(self, need: Need, wanted: Decimal) -> Iterable[Taken]:
        """Take as much of the item as there is, up to what is wanted."""
        for item in self._items.get(key_of(need.item, need.unit), ()):
            part = min(wanted, self._left[id(item)])
            if part <= 0:
                continue
            self._left[id(item)] -= part
            wanted -= part
            yield Taken(
                kind=need.kind,
                item=need.item,
                gauge="",
                colour=None,
                quantity=part,
                unit=need.unit,
                piece=item.place,
                cost=None if item.cost is None else item.cost * part,
                order=item.order,
            )


def _allot_item(
    group: Sequence[tuple[str, Need]],
    drawer: _Drawer,
    taken: list[Taken],
    short: list[Short],
) -> None:
    need = group[0][1]
    wanted = sum((n.quantity for _, n in group), Decimal())
    found = list(drawer.take(need, wanted))
    taken += found
    given = sum((part.quantity for part in found), Decimal())
    missing = wanted - given
    if missing > 0:
        lacking = _lacking_by_job(group, given)
        short.append(
            Short(
                kind=need.kind,
                item=need.item,
                gauge="",
                colour=None,
                quantity=missing,
                unit=need.unit,
                jobs=tuple(lacking),
                price=need.price,
                shares=tuple(lacking.values()),
            )
        )


def _lacking_by_job(group: Sequence[tuple[str, Need]], given: Decimal) -> dict[str, Decimal]:
    """How much each job lacks where those named first are given first."""
    lacking: dict[str, Decimal] = defaultdict(Decimal)
    for job, need in group:
        part = min(need.quantity, given)
        given -= part
        lacking[job] += need.quantity - part
    return dict(lacking)


# -------------------------------------------------------------------------------- top up


def top_up(allotment: Allotment, stock: Stock) -> Allotment:
    """Add to what is short the drawer items that are under their low mark, up to full.

    What the jobs take counts as gone already, what is on order and free as there.
    """
    gone: dict[ThingKey, Decimal] = defaultdict(Decimal)
    for part in allotment.taken:
        gone[key_of(part.item, part.unit)] += part.quantity
    short = list(allotment.short)
    # an extra with a price of its own is bought elsewhere
    line = {key_of(m.item, m.unit): n for n, m in enumerate(short) if not (m.price or m.gauge)}
    coming = _still_coming(stock.drawer, gone)
    for item in stock.drawer:
        name = key_of(item.item, item.unit)
        used = min(item.on_hand, gone[name])
        gone[name] -= used
        left = item.on_hand - used + coming[name]
        if item.low is None or left >= item.low:
            continue
        extra = (item.full if item.full is not None else item.low) - left
        if name in line:
            short[line[name]] = _more(short[line[name]], extra)
        else:
            line[name] = len(short)
            short.append(_low(item, extra))
    return replace(allotment, short=tuple(short))


def _still_coming(
    drawer: Iterable[DrawerItem], gone: Mapping[ThingKey, Decimal]
) -> dict[ThingKey, Decimal]:
    """What is on order beyond what the jobs take of it once the shelf has given all it has."""
    coming: dict[ThingKey, Decimal] = defaultdict(Decimal)
    there: dict[ThingKey, Decimal] = defaultdict(Decimal)
    for item in drawer:
        (coming if item.order else there)[key_of(item.item, item.unit)] += item.on_hand
    for name, amount in gone.items():
        coming[name] -= max(Decimal(), amount - there[name])
    return coming


def _more(missing: Short, extra: Decimal) -> Short:
    shares = dict(zip(missing.jobs, missing.shares, strict=True))
    shares[TOP_UP] = shares.get(TOP_UP, Decimal()) + extra
    return replace(
        missing,
        quantity=missing.quantity + extra,
        jobs=tuple(shares),
        shares=tuple(shares.values()),
    )


def _low(item: DrawerItem, extra: Decimal) -> Short:
    return Short(
        kind="extra",
        item=item.item,
        gauge="",
        colour=None,
        quantity=extra,
        unit=item.unit,
        jobs=(TOP_UP,),
        shares=(extra,),
    )
