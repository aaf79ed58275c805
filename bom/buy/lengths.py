"""What is known of cutting a cable: packs that do, packs that do not, and the ways to cut.

Packs of a cable become lengths: a reel gives what is on it, the metres of one row come in one
length.  What the fast ways leave open is put to the solver, which also tells what no choice of
packs can do without (`Weighed`, `Lack`), and the patterns that the pieces can be cut in.
"""

import math
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from functools import cached_property

from msgspec import Struct
from msgspec.structs import replace

from bom.buy.cutting import Packing, Patterns, dealt, open_more, pack, pack_most
from bom.buy.solver import LOOSE, UNKNOWN, CutAnswer, CutFrom, CutQuestion, Solver
from bom.buy.wants import Want
from bom.trade.needs import CableNeed

LISTED = 3_000
"""So many patterns of a cable are put into the order's programme."""

A_HANDFUL = 100
"""So many pieces are set on lengths in every fast way, be there time or not."""

OFTEN = 2
"""So often the least at a choice of suppliers is asked for, each time with more seconds."""

NEXT_TO_NOTHING = 0.0001
"""What a pack without a price counts: the solver wants some price of everything."""

DEAR = 100
"""So many times the dearest pack costs one that is not on offer."""

Packs = Mapping[int, int]
"""Packs by row of one want."""


class Weighed(Struct, frozen=True):
    """The pieces weigh `weight`: all lengths together must be worth as much.

    `shelf` is what the shelf is worth, `reels` what one pack of a row is, `metre` what a metre is.
    """

    weight: int
    shelf: int
    reels: Packs
    metre: float


class CostAt(Struct, frozen=True):
    """Where nothing is ordered but from these suppliers, the packs cost so much at the least."""

    names: frozenset[str]
    least: float


class Lack(Struct, frozen=True):
    """What was bought does not do: one of these groups of rows must reach its number of packs."""

    groups: tuple[tuple[tuple[int, ...], int], ...]
    proved: bool


class _Offer(Struct, frozen=True):
    """What a cable can be cut from, and what more of it costs by row."""

    prices: dict[int, float]
    paid: Packs
    there: tuple[CutFrom, ...]
    """The shelf, and what is paid for."""
    reels: dict[int, CutFrom]
    metre: int | None

    @property
    def metre_price(self) -> float:
        """What a mm that is had by the metre costs; 0 where none is."""
        return 0.0 if self.metre is None else self.prices[self.metre] / 1000

    def bought(self, answer: CutAnswer) -> Packs:
        """The packs of an answer by row, those that are paid for included, without new metres."""
        sold = dict(enumerate(self.reels, len(self.there)))
        packs = Counter(self.paid)
        for (number, _), times in answer.loads or ():
            if number in sold:
                packs[sold[number]] += times
        return packs


class Lengths:
    """What is known of one cable, and asked of the solver when it must be known."""

    def __init__(self, want: Want, need: CableNeed, trim_mm: int, solver: Solver) -> None:
        self.want = want
        self.need = need
        self.trim_mm = trim_mm
        self.solver = solver
        self.sizes = need.sizes_mm(trim_mm)
        self.shelf = [piece.length_mm + trim_mm for piece in need.shelf]
        self.metres = [n for n, row in enumerate(want.rows) if row.sold_as == "metre"]
        self.reels: dict[int, list[int]] = defaultdict(list)
        """Rows by the room on their reels, the trim of the last cut included."""
        for number, row in enumerate(want.rows):
            if row.sold_as != "metre":
                self.reels[self._room(number)].append(number)
        self.asked: Counter[frozenset[str]] = Counter()
        """How often the least at these suppliers was asked for; `OFTEN` where it is known."""
        self.costs: list[CostAt] = []
        self.patterns: dict[int, dict[tuple[int, ...], None]] = defaultdict(dict)
        """By room: ways to cut it, how many of each size in the order of `falling`."""
        self.listed = False
        """These are all the ways there are."""
        self.worths: list[Weighed] = []
        self.lacks: list[Lack] = []
        self.do: list[Packs] = []
        """Packs that do, beside those of one row alone."""
        self._known: dict[tuple[int, ...], Packing] = {}

    @cached_property
    def falling(self) -> tuple[int, ...]:
        """The sizes, the longest first."""
        return tuple(sorted(self.sizes, reverse=True))

    @cached_property
    def metres_alike(self) -> list[tuple[int, ...]]:
        """The rows of metres, those together that come in one length."""
        tiers: dict[int, list[int]] = defaultdict(list)
        for row in self.metres:
            tiers[self.want.tier_of(row, 1)].append(row)
        return [tuple(rows) for rows in tiers.values()]

    @cached_property
    def sellers(self) -> frozenset[str]:
        """Everyone who sells it."""
        return frozenset(row.supplier for row in self.want.rows)

    def is_known_at(self, names: frozenset[str]) -> bool:
        """What it costs at these suppliers is known, or was asked often enough."""
        return self.asked[names & self.sellers] >= OFTEN

    @property
    def mixed(self) -> bool:
        """It is sold in lengths of several kinds, so that there is more to choose than a number."""
        return len(self.reels) + len(self.metres_alike) > 1

    @cached_property
    def alone(self) -> tuple[int | None, ...]:
        """For each row so many packs of it that do by themselves, None where none were found."""
        return tuple(map(self._alone, range(len(self.want.rows))))

    def packed(self, packs: Packs) -> Packing:
        """The pieces on the shelf and on so many packs of each row, as far as that is known.

        The lengths stand in the order of the rows, as the lines of an order do.
        """
        new = self._new(packs)
        if new not in self._known:
            rooms = [*self.shelf, *new]
            left = (
                sum(rooms) - self.trim_mm * len(rooms) - sum(s * n for s, n in self.sizes.items())
            )
            short = bool(self.need.spare_mm) and left < self.need.spare_mm
            hurry = len(self.need.pieces) > A_HANDFUL and not self.solver.seconds_left
            found = pack(self.sizes, rooms, at_once=hurry)
            self._known[new] = Packing(None, proved=True) if short else found
        return self._known[new]

    # ------------------------------------------------------------------- by the solver

    def settle(self, packs: Packs, seconds: float) -> Packing:
        """As `packed`, or else by the solver; what it tells beside is kept."""
        found = self.packed(packs)
        if found.proved or found.loads is not None:
            return found
        there = Counter([*self.shelf, *self._new(packs)])
        rooms = [CutFrom(mm, float(mm), there[mm]) for mm in sorted({*there, *self.reels})]
        whole = float(sum(length * many for length, many in there.items()))
        answer = self._cut(
            CutQuestion(self.falling, self._counts, tuple(rooms), None, whole), seconds
        )
        if answer.loads is not None:
            self.note(packs, self._loads(rooms, answer))
        elif answer.impossible:
            self._known[self._new(packs)] = Packing(None, proved=True)
        return self.packed(packs)

    def learn(self, names: frozenset[str], share: float, seconds: float) -> None:
        """Ask for the packs that do for the least at these suppliers.

        `share` of the prices is what counts, the rest being what is left over is worth.
        """
        names &= self.sellers
        list_all = 0 if self.asked else LISTED
        self.asked[names] += 1
        offer = self._offer(names, share)
        answer = self._ask(offer, seconds, list_all) if offer.prices else UNKNOWN
        if answer.proved or not offer.prices:
            self.asked[names] = OFTEN
        if answer.proved and share == 1 and not self.want.any_tiers:
            # the last piece of each length may spare its trim, which loose pieces are charged with
            spared = sum(offer.prices[row] for row in self.metres if row in offer.prices)
            self.costs.append(CostAt(names, answer.cost - spared * self.trim_mm / 1000))

    def complete(self, packs: Packs, names: frozenset[str], share: float, seconds: float) -> None:
        """Ask for the least that must be bought at these suppliers beside so many packs."""
        offer = self._offer(names, share, packs)
        if offer.prices:
            self._ask(offer, seconds)

    def _offer(self, names: frozenset[str], share: float, paid: Packs | None = None) -> "_Offer":
        """What there is to cut from: the shelf, what is paid for, and what is sold there."""
        prices = {
            row: max(float(price.price) * share, NEXT_TO_NOTHING)
            for row, price in enumerate(self.want.rows)
            if price.supplier in names and self.want.tier_of(row, 1) == row
        }
        there = Counter([*self.shelf, *self._new(paid or {})])
        dear = DEAR * max(prices.values(), default=0)
        rows = [min(own, key=lambda row: prices.get(row, dear)) for own in self.reels.values()]
        metres = [row for row in self.metres if row in prices]
        return _Offer(
            prices=prices,
            paid=paid or {},
            there=tuple(CutFrom(length, 0.0, there[length]) for length in sorted(there)),
            reels={row: CutFrom(self._room(row), prices.get(row, dear)) for row in rows},
            metre=min(metres, key=lambda row: (row not in (paid or {}), prices[row]), default=None),
        )

    def _ask(self, offer: "_Offer", seconds: float, list_all: int = 0) -> CutAnswer:
        """Ask for the least that an offer takes, and keep the packs of the answer: they do."""
        rooms, counts = (*offer.there, *offer.reels.values()), self._counts
        loose = offer.metre_price if offer.metre is not None else None
        question = CutQuestion(self.falling, counts, rooms, loose, list_all=list_all)
        answer = self._cut(question, seconds)
        packs = Counter(offer.bought(answer))
        if answer.loads is None or not packs.keys() <= offer.prices.keys() | offer.paid.keys():
            return answer
        loads = self._loads(rooms, answer)
        loose_mm = [
            size
            for (number, load), times in answer.loads
            if number == LOOSE
            for size in self.pieces(load) * times
        ]
        if offer.metre is not None and loose_mm:
            self._by_metre(offer.metre, packs, loads, loose_mm)
        self._with_spare(packs, offer.prices)
        self.note(packs, loads)
        if self.packed(packs).loads is not None and packs not in self.do:
            self.do.append(packs)
        return answer

    def _by_metre(
        self, row: int, packs: dict[int, int], loads: list[tuple[int, list[int]]], mm: list[int]
    ) -> None:
        """Cut these pieces from metres of the row, in one length with those that are there."""
        old = packs.get(row, 0) * 1000 + self.trim_mm
        whole = next((load for load in loads if packs.get(row) and load[0] == old), (old, []))
        if whole in loads:
            loads.remove(whole)
        pieces = [*whole[1], *mm]
        packs[row] = max(packs.get(row, 0), -(-(sum(pieces) - self.trim_mm) // 1000))
        loads.append((packs[row] * 1000 + self.trim_mm, pieces))

    def note(self, packs: Packs, loads: Iterable[tuple[int, Sequence[int]]]) -> None:
        """Keep a way to cut the pieces from so many packs: loads as (length, sizes)."""
        if self.packed(packs).proved:
            return
        new = self._new(packs)
        found = dealt(loads, self.sizes, [*self.shelf, *new])
        if found is not None and sum(map(len, found)) == sum(self._counts):
            self._known[new] = Packing(found, proved=True)

    def lack(self, packs: Packs) -> None:
        """Keep that these packs do not do: of something there must be more."""
        alike = [tuple(rows) for _, rows in sorted(self.reels.items())]
        alike += self.metres_alike
        groups = [(rows, sum(packs.get(row, 0) for row in rows) + 1) for rows in alike]
        self.lacks.append(Lack(tuple(groups), proved=self.packed(packs).proved))

    # ------------------------------------------------------------------------- within

    @cached_property
    def _counts(self) -> tuple[int, ...]:
        return tuple(self.sizes[size] for size in self.falling)

    def _cut(self, question: CutQuestion, seconds: float) -> CutAnswer:
        """Ask the solver, and keep the patterns and the worth of lengths that it tells."""
        longest = max((room.length for room in question.rooms), default=0)
        none_fit = longest < self.falling[0] and question.loose is None
        if none_fit or not self.falling[-1]:  # pieces of 0 mm go anywhere
            return UNKNOWN
        columns = [
            (number, load)
            for number, room in enumerate(question.rooms)
            for load in self.patterns.get(room.length, ())
        ]
        answer = self.solver.cut(replace(question, columns=tuple(columns)), seconds=seconds)
        if not self.listed:
            for number, load in answer.columns:
                if number != LOOSE:
                    self.patterns[question.rooms[number].length][load] = None
        self.listed |= answer.complete
        if answer.worth:
            self._keep_worth(question, answer)
        return answer

    def _keep_worth(self, question: CutQuestion, answer: CutAnswer) -> None:
        worth = dict(zip((room.length for room in question.rooms), answer.worth, strict=True))
        pieces = zip(self.falling, answer.weights, strict=True)
        found = Weighed(
            weight=sum(n * own for n, own in zip(self._counts, answer.weights, strict=True)),
            shelf=sum(worth[length] for length in self.shelf),
            reels={row: worth[length] for length, rows in self.reels.items() for row in rows},
            metre=(1000 + self.trim_mm) * max(own / size for size, own in pieces),
        )
        if found.weight > found.shelf and found not in self.worths:
            self.worths.append(found)

    def _loads(self, rooms: Sequence[CutFrom], answer: CutAnswer) -> list[tuple[int, list[int]]]:
        """The loads of lengths in an answer, as (length, sizes)."""
        return [
            (rooms[number].length, self.pieces(load))
            for (number, load), times in answer.loads or ()
            if number != LOOSE
            for _ in range(times)
        ]

    def pieces(self, load: Sequence[int]) -> list[int]:
        """The sizes of a load that counts them."""
        return [size for size, n in zip(self.falling, load, strict=True) for _ in range(n)]

    def _with_spare(self, packs: dict[int, int], prices: Mapping[int, float]) -> None:
        """Add as many of the cheapest pack as the spare takes beside the pieces."""

        def lacking() -> float:
            rows = self.want.rows
            return float(
                self.want.quantity - sum(self.want.holds(rows[r]) * n for r, n in packs.items())
            )

        row = min(prices, key=prices.__getitem__)
        more = math.ceil(lacking() / float(self.want.holds(self.want.rows[row])))
        if more > 0:
            packs[row] = packs.get(row, 0) + more

    @cached_property
    def _shelf_most(self) -> tuple[Patterns, tuple[int, ...]]:
        """As much as goes on the shelf, and the sizes that are left."""
        return pack_most(self.sizes, self.shelf)

    def _alone(self, number: int) -> int | None:
        row = self.want.rows[number]
        loads, over = self._shelf_most
        metres = -(-(sum(over) - self.trim_mm) // 1000)
        by_metre = row.sold_as == "metre"
        more = (over,) if by_metre else open_more(Counter(over), self._room(number))
        if more is None:
            return None
        count = max(1, self.want.packs(row), metres if by_metre else len(more))
        rest = () if by_metre else ((),) * (count - len(more))
        self._known[self._new({number: count})] = Packing((*loads, *more, *rest), proved=True)
        return count

    def _new(self, packs: Packs) -> tuple[int, ...]:
        """The lengths that so many packs are, each with the trim of its last cut."""
        new: list[int] = []
        for number, count in sorted(packs.items()):
            if self.want.rows[number].sold_as != "metre":
                new += [self._room(number)] * count
            elif count:
                new.append(count * 1000 + self.trim_mm)
        return tuple(new)

    def _room(self, number: int) -> int:
        """What a reel takes, the trim of its last cut included."""
        row = self.want.rows[number]
        return int(row.pack * 1000) - self.want.reel_end_mm + self.trim_mm
