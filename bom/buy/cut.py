"""The cut list: every piece with the reel or offcut it comes from, and what is left."""

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from decimal import Decimal

from msgspec import Struct
from msgspec.structs import replace

from bom.buy.cutting import Patterns, Tidiness, pack_most, tidy
from bom.trade.house import HouseRules
from bom.trade.job_book import Colour
from bom.trade.needs import CableNeed, Cut, CutList, Offcut, Short, Taken, Wanted
from bom.trade.orders import Order, Purchase
from bom.trade.shelf import ShelfPiece, Stock


def cut(cables: Iterable[CableNeed], order: Order, rules: HouseRules) -> CutList:
    """Cut every piece from the shelf or from what is ordered.

    Every piece is cut exactly once.  Needed = taken + short for every cable, in mm; cable
    that nobody sells is cut from one new length that is still to be found.
    """
    bought: dict[tuple[str, str, str], list[Purchase]] = defaultdict(list)
    for line in order.lines:
        bought[line.key].append(line)
    benches = [_Bench.of(need, bought[need.key], order, rules) for need in cables]
    return CutList(
        cuts=tuple(cut for bench in benches for cut in bench.cuts()),
        offcuts=tuple(offcut for bench in benches for offcut in bench.offcuts()),
        taken=tuple(part for bench in benches for part in bench.taken()),
        short=tuple(missing for bench in benches for missing in bench.short()),
    )


class _Length(Struct, frozen=True):
    """A length to cut from; `piece` is None for a new one."""

    name: str
    mm: int
    piece: ShelfPiece | None = None


class _Bench(Struct, frozen=True, dict=True):
    """One cable laid out for cutting: lengths, the pieces on each, and the spare's share."""

    need: CableNeed
    lengths: tuple[_Length, ...]
    pieces: tuple[tuple[Wanted, ...], ...]
    rests_mm: tuple[int, ...]
    spare_mm: tuple[int, ...]
    """How much of the spare is set against each length; it is not cut from it."""

    @classmethod
    def of(
        cls, need: CableNeed, bought: Iterable[Purchase], order: Order, rules: HouseRules
    ) -> "_Bench":
        trim = rules.trim_mm
        unsold = [missing for missing in order.unpriced if missing.key == need.key]
        shelf = [_Length(piece.name, piece.length_mm, piece) for piece in need.shelf]
        new = [mm for line in bought for mm in line.lengths_mm(rules.reel_end_mm)]
        new += [_still_to_find(missing, trim) for missing in unsold]
        lengths = (*shelf, *_new_lengths(need, new))
        rooms = [length.mm + trim for length in lengths]
        rule = Tidiness(useful_mm=rules.useful_offcut_mm, trim_mm=trim)
        loads = tidy(need.sizes_mm(trim), rooms, rule, order.ways.get(need.key))
        rests = tuple(
            length.mm if not load else rule.rest_mm(room, load)
            for length, room, load in zip(lengths, rooms, loads, strict=True)
        )
        return cls(
            need=need,
            lengths=lengths,
            pieces=_dealt(need.pieces, loads, trim),
            rests_mm=rests,
            spare_mm=_spare(need.spare_mm, lengths, loads, rests),
        )

    def cuts(self) -> Iterator[Cut]:
        """The pieces, length by length."""
        for length, pieces in zip(self.lengths, self.pieces, strict=True):
            for mm, job, wire in pieces:
                yield Cut(
                    job=job,
                    wire=wire,
                    gauge=self.need.gauge,
                    colour=self.need.colour or Colour(""),
                    length_mm=mm,
                    piece=length.name,
                    new=length.piece is None,
                )

    def offcuts(self) -> Iterator[Offcut]:
        """What is left of the lengths that are opened, and of new ones in any case."""
        for length, pieces, rest in zip(self.lengths, self.pieces, self.rests_mm, strict=True):
            if pieces or length.piece is None:
                yield Offcut(
                    piece=length.name,
                    gauge=self.need.gauge,
                    colour=self.need.colour or Colour(""),
                    length_mm=rest,
                    new=length.piece is None,
                )

    def taken(self) -> Iterator[Taken]:
        """What comes off the shelf, the spare that is set against it included."""
        for length, pieces, spare in zip(self.lengths, self.pieces, self.spare_mm, strict=True):
            used = sum(mm for mm, _, _ in pieces) + spare
            if length.piece is None or not used:
                continue
            cost = length.piece.cost_per_m
            yield Taken(
                kind="cable",
                item=self.need.item,
                gauge=self.need.gauge,
                colour=self.need.colour,
                quantity=Decimal(used),
                unit="mm",
                piece=length.name,
                cost=None if cost is None else cost * used / 1000,
                order=length.piece.order,
            )

    def short(self) -> Iterator[Short]:
        """What the shelf does not give: the pieces on new lengths, and the spare it lacks."""
        given = zip(self.lengths, self.pieces, self.spare_mm, strict=True)
        unplaced: list[Wanted] = []
        spare = self.need.spare_mm
        for length, pieces, share in given:
            if length.piece is None:
                unplaced += pieces
            else:
                spare -= share
        if unplaced or spare:
            longest_first = sorted(unplaced, key=lambda p: (-p[0], p[1], p[2]))
            yield self.need.lacking(longest_first, spare)


def _still_to_find(missing: Short, trim: int) -> int:
    """One length in mm for what the shelf cannot give of a cable that nobody sells."""
    pieces = sum(length + trim for length, _, _ in missing.pieces)
    return max(0, pieces - trim) + missing.spare_mm


def _new_lengths(need: CableNeed, new_mm: Sequence[int]) -> Iterator[_Length]:
    names = new_names(need.gauge, need.colour, len(new_mm))
    return map(_Length, names, new_mm)


def new_names(gauge: str, colour: Colour | None, number: int) -> list[str]:
    """What so many new lengths of a cable are called, in the order of the lines they come with."""
    name = f"new {gauge} {colour}"
    return [name] if number == 1 else [f"{name} {one + 1}" for one in range(number)]


def _dealt(wanted: Iterable[Wanted], loads: Patterns, trim: int) -> tuple[tuple[Wanted, ...], ...]:
    """The named pieces in place of their sizes, in the order of job and wire."""
    by_size: dict[int, list[Wanted]] = defaultdict(list)
    for piece in sorted(wanted, reverse=True):
        by_size[piece[0] + trim].append(piece)
    return tuple(tuple(by_size[size].pop() for size in load) for load in loads)


def _spare(
    spare_mm: int, lengths: Sequence[_Length], loads: Patterns, rests_mm: Sequence[int]
) -> tuple[int, ...]:
    """The spare set against rests: of opened pieces first, then new, then of the whole shelf."""
    shares = [0] * len(lengths)

    def rank(at: int) -> tuple[bool, bool, int, str]:
        new = lengths[at].piece is None
        return (not loads[at] and not new, new, rests_mm[at], lengths[at].name)

    for at in sorted(range(len(lengths)), key=rank):
        shares[at] = min(rests_mm[at], spare_mm)
        spare_mm -= shares[at]
    return tuple(shares)


# --------------------------------------------------------------------------- substitutes


def substitutes(
    cut_list: CutList,
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
    left = {offcut.piece: offcut.length_mm for offcut in cut_list.offcuts}
    rests: dict[tuple[str, Colour], list[tuple[int, str]]] = defaultdict(list)
    for piece in stock.pieces:
        length = left.get(piece.name, piece.length_mm)
        rests[piece.gauge, piece.colour].append((length, piece.name))
    found = []
    for missing in cut_list.short:
        for gauge, colour in _others(missing, next_up):
            shelf = rests.get((gauge, colour))
            if not shelf or not _would_do(missing, shelf):
                continue
            if all(takes(job, wire, gauge) for _, job, wire in missing.pieces):
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
    sizes = Counter(length for length, _, _ in missing.pieces)
    lengths = [length for length, _ in shelf]
    _, over = pack_most(sizes, lengths)
    return not over and sum(lengths) - sum(sizes.elements()) >= missing.spare_mm
