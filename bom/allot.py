"""The shelf set against the needs: which piece is cut from which reel or offcut.

Pieces are continuous: two short lengths are not one long one.  The longest piece is
placed first, each on the shelf piece that it leaves the least of (best fit decreasing);
where that leaves pieces over, each shelf piece is filled as full as it goes.
"""

import math
from bisect import bisect_left, insort
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from itertools import accumulate

from bom.goods import (
    Allotment,
    Cut,
    DrawerItem,
    Need,
    Offcut,
    ShelfPiece,
    Short,
    Stock,
    Taken,
)
from bom.spelling import fold
from bom.trade import Colour

Wanted = tuple[int, str, str]
"""A piece to cut: length in mm, job, wire."""

Placed = tuple[list[tuple[Wanted, str]], list[Wanted], dict[str, int]]
"""Pieces with the length each is cut from, pieces that fit nowhere, and rests in mm by name."""


def allot(needs: Sequence[tuple[str, Need]], stock: Stock) -> Allotment:
    """Take what the shelf has; `needs` are (job, need), several jobs share one shelf.

    Needed = taken + short for every line, in pieces for cable and in counts or mm else.
    """
    groups: dict[object, list[tuple[str, Need]]] = defaultdict(list)
    for job, need in needs:
        # an extra with a price of its own is bought at it, whatever else has its name
        groups[need.key, need.unit, need.price].append((job, need))
    cuts: list[Cut] = []
    offcuts: list[Offcut] = []
    taken: list[Taken] = []
    short: list[Short] = []
    pieces: dict[tuple[str, str], list[ShelfPiece]] = defaultdict(list)
    for piece in stock.pieces:
        pieces[piece.gauge, str(piece.colour)].append(piece)
    drawer = _Drawer(stock.drawer)
    for group in groups.values():
        need = group[0][1]
        if need.kind == "cable":
            shelf = pieces.get((need.gauge, str(need.colour)), [])
            _allot_cable(group, shelf, cuts, offcuts, taken, short)
        else:
            _allot_item(group, drawer, taken, short)
    return Allotment(
        cuts=tuple(cuts), offcuts=tuple(offcuts), taken=tuple(taken), short=tuple(short)
    )


# --------------------------------------------------------------------------------- cable


def best_fit(wanted: Iterable[Wanted], lengths: Sequence[tuple[int, str]]) -> Placed:
    """Place pieces on lengths (mm, name).

    The longest first, each on the shortest rest that takes it; ties go by name, so the
    order of the input does not matter.
    """
    rests = sorted(lengths)
    placed: list[tuple[Wanted, str]] = []
    unplaced: list[Wanted] = []
    for piece in sorted(wanted, key=lambda p: (-p[0], p[1], p[2])):
        at = bisect_left(rests, (piece[0], ""))
        if at == len(rests):
            unplaced.append(piece)
            continue
        rest, name = rests.pop(at)
        insort(rests, (rest - piece[0], name))
        placed.append((piece, name))
    return placed, unplaced, {name: rest for rest, name in rests}


def _off_the_shelf(wanted: Sequence[Wanted], lengths: Sequence[tuple[int, str]]) -> Placed:
    """By best fit; where that leaves pieces over, by full lengths if that leaves fewer mm."""
    fitted = best_fit(wanted, lengths)
    if not fitted[1] or not lengths:
        return fitted
    filled = fullest(wanted, lengths)
    return min(fitted, filled, key=lambda found: sum(length for length, _, _ in found[1]))


def fullest(wanted: Iterable[Wanted], lengths: Sequence[tuple[int, str]]) -> Placed:
    """Fill each length (mm, name) as full as it goes, the shortest first.

    Where best fit puts 5 m on a length of 8 m, this finds the 4 + 4 m that fill it.
    """
    over = sorted(wanted, key=lambda p: (-p[0], p[1], p[2]))
    placed: list[tuple[Wanted, str]] = []
    rests: dict[str, int] = {}
    for length, name in sorted(lengths):
        chosen = _fill(over, length)
        placed += [(piece, name) for number, piece in enumerate(over) if number in chosen]
        rests[name] = length - sum(over[number][0] for number in chosen)
        over = [piece for number, piece in enumerate(over) if number not in chosen]
    return placed, over, rests


def _fill(pieces: Sequence[Wanted], length_mm: int) -> set[int]:
    """Which pieces fill a length best: bit n of `sums[i]` says that the first i can sum to n."""
    step = math.gcd(*(piece[0] for piece in pieces)) or 1
    sizes = [piece[0] // step for piece in pieces]
    within = (1 << (length_mm // step + 1)) - 1
    sums = list(accumulate(sizes, lambda reach, size: (reach | reach << size) & within, initial=1))
    left = sums[-1].bit_length() - 1
    chosen = set()
    for number in range(len(pieces) - 1, -1, -1):
        if not sums[number] >> left & 1:
            chosen.add(number)
            left -= sizes[number]
    return chosen


def _allot_cable(
    group: Sequence[tuple[str, Need]],
    shelf: Sequence[ShelfPiece],
    cuts: list[Cut],
    offcuts: list[Offcut],
    taken: list[Taken],
    short: list[Short],
) -> None:
    need = group[0][1]
    colour = need.colour or Colour("")
    wanted = [(length, job, wire) for job, n in group for length, wire in n.pieces]
    placed, unplaced, rests = _off_the_shelf(wanted, [(p.length_mm, p.name) for p in shelf])
    by_name = {piece.name: piece for piece in shelf}
    opened = {name for _, name in placed}
    cuts += [
        Cut(
            job=job,
            wire=wire,
            gauge=need.gauge,
            colour=colour,
            length_mm=length,
            piece=name,
            new=False,
        )
        for (length, job, wire), name in placed
    ]
    spare = sum(n.spare_mm for _, n in group)
    missing = _take_spare(need, spare, opened, rests, by_name, taken)
    for name in sorted(opened):
        used = sum(length for (length, _, _), at in placed if at == name)
        taken.append(_taken_cable(need, by_name[name], used))
        offcuts.append(
            Offcut(
                piece=name,
                gauge=need.gauge,
                colour=colour,
                length_mm=by_name[name].length_mm - used,
                new=False,
            )
        )
    if unplaced or missing:
        short.append(_short_cable(group, unplaced, missing))


def _take_spare(
    need: Need,
    spare: int,
    opened: set[str],
    rests: dict[str, int],
    by_name: dict[str, ShelfPiece],
    taken: list[Taken],
) -> int:
    """What of the spare is missing: rests of opened pieces count first, then other pieces.

    The spare is set against them, not cut from them.
    """
    missing = spare
    for name, rest in sorted(rests.items(), key=lambda r: (r[0] not in opened, r[1], r[0])):
        part = min(rest, missing)
        if part > 0:
            taken.append(_taken_cable(need, by_name[name], part))
            missing -= part
    return missing


def _taken_cable(need: Need, piece: ShelfPiece, used_mm: int) -> Taken:
    cost = None if piece.cost_per_m is None else piece.cost_per_m * used_mm / 1000
    return Taken(
        kind="cable",
        item=need.item,
        gauge=need.gauge,
        colour=need.colour,
        quantity=Decimal(used_mm),
        unit="mm",
        piece=piece.name,
        cost=cost,
    )


def _short_cable(
    group: Sequence[tuple[str, Need]], unplaced: Sequence[Wanted], missing_mm: int
) -> Short:
    need = group[0][1]
    return Short(
        kind="cable",
        item=need.item,
        gauge=need.gauge,
        colour=need.colour,
        quantity=Decimal(sum(length for length, _, _ in unplaced) + missing_mm),
        unit="mm",
        jobs=tuple(dict.fromkeys(job for job, _ in group)),
        pieces=tuple(unplaced),
        spare_mm=missing_mm,
    )


# -------------------------------------------------------------------------------- drawer


class _Drawer:
    """What is on hand, going down as it is taken; items are matched by name and unit."""

    def __init__(self, items: Iterable[DrawerItem]) -> None:
        self._items: dict[tuple[str, str], list[DrawerItem]] = defaultdict(list)
        self._left: dict[int, Decimal] = {}
        for item in items:
            self._items[fold(item.item), item.unit].append(item)
            self._left[id(item)] = item.on_hand

    def take(self, need: Need, wanted: Decimal) -> Iterable[Taken]:
        """Take as much of the item as there is, up to what is wanted."""
        for item in self._items.get((fold(need.item), need.unit), ()):
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
    missing = wanted - sum((part.quantity for part in found), Decimal())
    if missing > 0:
        short.append(
            Short(
                kind=need.kind,
                item=need.item,
                gauge="",
                colour=None,
                quantity=missing,
                unit=need.unit,
                jobs=tuple(dict.fromkeys(job for job, _ in group)),
                price=need.price,
            )
        )


# --------------------------------------------------------------------------- substitutes


def substitutes(
    allotment: Allotment,
    stock: Stock,
    next_up: Mapping[str, str],
    takes: Callable[[str, str, str], bool],
) -> tuple[Short, ...]:
    """What is short and could be cut from other cable on the shelf.

    Each answer is the missing line with the gauge and colour of the shelf in place of its
    own: the next gauge up (`next_up`) in the same colour, where `takes` says that the ends
    of job and wire take that gauge, or the same gauge without the trace.  All pieces and
    the spare must fit on what the cuts have left.
    """
    left = {offcut.piece: offcut.length_mm for offcut in allotment.offcuts}
    rests: dict[tuple[str, Colour], list[tuple[int, str]]] = defaultdict(list)
    for piece in stock.pieces:
        length = left.get(piece.name, piece.length_mm)
        rests[piece.gauge, piece.colour].append((length, piece.name))
    found = []
    for missing in allotment.short:
        for gauge, colour in _others(missing, next_up):
            fits = all(takes(job, wire, gauge) for _, job, wire in missing.pieces)
            shelf = rests.get((gauge, colour), [])
            if fits and shelf and _would_do(missing, shelf):
                found.append(replace(missing, gauge=gauge, colour=colour))
                break
    return tuple(found)


def _others(missing: Short, next_up: Mapping[str, str]) -> Iterable[tuple[str, Colour]]:
    if missing.colour is None or not missing.pieces:
        return
    if missing.gauge in next_up:
        yield next_up[missing.gauge], missing.colour
    if missing.colour.trace:
        yield missing.gauge, Colour(missing.colour.body)


def _would_do(missing: Short, shelf: Sequence[tuple[int, str]]) -> bool:
    _, unplaced, rests = best_fit(missing.pieces, shelf)
    return not unplaced and sum(rests.values()) >= missing.spare_mm


# -------------------------------------------------------------------------------- top up

TOP_UP = "top-up"
"""Stands where the job's name would, for what is bought for the drawer itself."""


def top_up(allotment: Allotment, stock: Stock) -> Allotment:
    """Add to what is short the drawer items that are under their low mark, up to full.

    What the jobs take counts as gone already.
    """
    gone: dict[tuple[str, str], Decimal] = defaultdict(Decimal)
    for part in allotment.taken:
        gone[fold(part.item), part.unit] += part.quantity
    short = list(allotment.short)
    # an extra with a price of its own is bought elsewhere
    line = {(fold(m.item), m.unit): n for n, m in enumerate(short) if not (m.price or m.gauge)}
    for item in stock.drawer:
        name = (fold(item.item), item.unit)
        used = min(item.on_hand, gone[name])
        gone[name] -= used
        left = item.on_hand - used
        if item.low is None or left >= item.low:
            continue
        extra = (item.full if item.full is not None else item.low) - left
        if name in line:
            short[line[name]] = _more(short[line[name]], extra)
        else:
            line[name] = len(short)
            short.append(_low(item, extra))
    return replace(allotment, short=tuple(short))


def _more(missing: Short, extra: Decimal) -> Short:
    jobs = tuple(dict.fromkeys((*missing.jobs, TOP_UP)))
    return replace(missing, quantity=missing.quantity + extra, jobs=jobs)


def _low(item: DrawerItem, extra: Decimal) -> Short:
    return Short(
        kind="extra",
        item=item.item,
        gauge="",
        colour=None,
        quantity=extra,
        unit=item.unit,
        jobs=(TOP_UP,),
    )
