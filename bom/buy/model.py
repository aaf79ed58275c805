"""The shopping as a programme in whole numbers, for the solver.

Unknown are the packs of every row, who is ordered from, whose postage is free.  What is
bought beyond all wants, to reach a minimum or free postage, has unknowns of its own, one for
each price of a supplier: packs of one price fill an order alike, and the ties between packs
and suppliers stay tight.
"""

import math
from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from decimal import Decimal

from msgspec import Struct, field

from bom.buy.lengths import CostAt, Lack, Lengths, Weighed
from bom.buy.solver import COIN, INFINITE, Programme, Solution
from bom.buy.wants import Basket, Shopping, Want
from bom.trade.orders import Supplier

A_LITTLE = 0.004
"""In money, over all suppliers: of orders that cost the same the one from fewer is taken."""


class Model(Struct):
    """The programme of a shopping, and which of its unknowns means what."""

    shopping: Shopping
    alone: Mapping[tuple[int, int], int | None]
    """How many packs of a row do alone for its want: more are never needed."""
    cables: Mapping[int, Lengths]
    """What is known of cutting, by the number of the want."""
    exact: Collection[int] = ()
    """Cables whose patterns are unknowns of the programme."""
    programme: Programme = field(default_factory=Programme)
    packs: dict[tuple[int, int], list[int]] = field(default_factory=dict)
    """The unknowns that sum to the packs of a want's row."""
    tiers: dict[tuple[int, int], dict[int, float]] = field(default_factory=dict)
    """The ties of rows that are prices of the same goods: only one of them holds."""
    fillers: dict[tuple[str, Decimal, bool], int] = field(default_factory=dict)
    """Packs beyond all wants, by supplier and price, those that leave cable over apart."""
    cuts: dict[int, "_Cuts"] = field(default_factory=dict)
    """The unknowns of cutting, where every pattern is one."""
    ordered: dict[str, int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        little = A_LITTLE / max(1, len(self.shopping.suppliers))
        for name in self.shopping.suppliers:
            least = 1 if name in self.shopping.demanded else 0
            most = 1 if self.shopping.only is None or name in self.shopping.only else 0
            self.ordered[name] = self.programme.column(little, at_least=least, at_most=most)
        for number, want in enumerate(self.shopping.wants):
            self._want(number, want)
        for ties in self.tiers.values():
            self.programme.row(ties, at_most=1)
        for name in self.shopping.suppliers:
            self._supplier(name, self.shopping.terms.get(name))
        if self.shopping.other_than:
            self._other_suppliers()
        for number, lengths in self.cables.items():
            self._cutting(number, lengths)

    # -------------------------------------------------------------------- cutting

    def _cutting(self, number: int, lengths: Lengths) -> None:
        """All ways to cut a cable, or else what is known of those that do not do."""
        if number in self.exact:
            self.cuts[number] = self._patterns(number, lengths)
        for at in lengths.costs:
            self._cost_at(number, at)
        for worth in lengths.worths:
            self._worth(number, worth)
        for lack in lengths.lacks:
            self._lack(number, lack)

    def _patterns(self, number: int, lengths: Lengths) -> "_Cuts":
        """Lengths are cut in patterns, no more than there are; metres as far as they reach."""
        cuts = _Cuts()
        cut: dict[int, dict[int, float]] = {size: {} for size in lengths.falling}
        shelf = Counter(lengths.shelf)
        for room in sorted({*lengths.reels, *lengths.shelf}):
            patterns = lengths.patterns[room]
            most = shelf[room] if room not in lengths.reels else INFINITE
            cuts.patterns[room] = {self.programme.column(at_most=most): p for p in patterns}
            for column, pattern in cuts.patterns[room].items():
                counts = zip(lengths.falling, pattern, strict=True)
                for size, count in counts:
                    if count:
                        cut[size][column] = float(count)
            packs = [c for row in lengths.reels.get(room, ()) for c in self.packs[number, row]]
            used = dict.fromkeys(cuts.patterns[room], 1.0) | dict.fromkeys(packs, -1.0)
            self.programme.row(used, at_most=shelf[room])
        for rows in lengths.metres_alike:
            cuts.metres[rows] = self._metres(number, rows, lengths)
            for size, column in cuts.metres[rows].items():
                cut[size][column] = 1.0
        for size, terms in cut.items():
            self.programme.row(terms, at_least=lengths.sizes[size])
        return cuts

    def _metres(self, number: int, rows: tuple[int, ...], lengths: Lengths) -> dict[int, int]:
        """What is cut from the metres of these rows, which come in one length: unknowns by size."""
        cut = {size: self.programme.column(at_most=count) for size, count in lengths.sizes.items()}
        packs = [column for row in rows for column in self.packs[number, row]]
        terms = {column: float(size) for size, column in cut.items()}
        terms |= dict.fromkeys(packs, -1000.0)
        if lengths.trim_mm:
            some = self.programme.column(at_most=1)
            self.programme.row({some: -1.0, **dict.fromkeys(packs, 1.0)}, at_least=0)
            terms[some] = -float(lengths.trim_mm)
        self.programme.row(terms, at_most=0)
        return cut

    def _cost_at(self, number: int, at: CostAt) -> None:
        rows = self.shopping.wants[number].rows
        terms = {
            column: float(row.price)
            for place, row in enumerate(rows)
            if row.supplier in at.names
            for column in self.packs[number, place]
        }
        others = {row.supplier for row in rows} - at.names
        terms |= {self.ordered[name]: at.least for name in others}
        self.programme.row(terms, at_least=at.least - COIN)

    def _worth(self, number: int, worth: Weighed) -> None:
        terms: dict[int, float] = {}
        for row, own in worth.reels.items():
            terms |= dict.fromkeys(self.packs[number, row], own)
        for row in self.cables[number].metres:
            terms |= dict.fromkeys(self.packs[number, row], worth.metre)
        lacking = worth.weight - worth.shelf
        self.programme.row({c: v / lacking * (1 + 1e-9) for c, v in terms.items()}, at_least=1)

    def _lack(self, number: int, lack: Lack) -> None:
        """What was bought of a cable does not do: more of something, in one of its ways."""
        ways = {}
        for rows, enough in lack.groups:
            terms = {c: 1.0 for row in rows for c in self.packs[number, row]}
            way = self.programme.column(at_most=1)
            self.programme.row({**terms, way: -float(enough)}, at_least=0)
            ways[way] = 1.0
        self.programme.row(ways, at_least=1)

    def basket(self, found: Solution) -> Basket:
        """The packs of an answer."""
        sums = {
            place: sum(round(found.values[column]) for column in columns)
            for place, columns in self.packs.items()
        }
        for kind, column in self.fillers.items():
            more = round(found.values[column])
            alike = [place for place in sums if self._fills(*place) == kind]
            sums[max(alike, key=lambda place: bool(sums[place]))] += more
        return {place: packs for place, packs in sums.items() if packs}

    def loads(self, number: int, found: Solution) -> list[tuple[int, list[int]]]:
        """How a cable of `cuts` is cut in an answer, as (length, sizes)."""
        cuts, lengths = self.cuts[number], self.cables[number]
        loads = [
            (room, lengths.pieces(pattern))
            for room, patterns in cuts.patterns.items()
            for column, pattern in patterns.items()
            for _ in range(round(found.values[column]))
        ]
        for rows, cut in cuts.metres.items():
            metres = sum(round(found.values[c]) for row in rows for c in self.packs[number, row])
            load = [
                size for size, column in cut.items() for _ in range(round(found.values[column]))
            ]
            if load:
                loads.append((metres * 1000 + lengths.trim_mm, load))
        return loads

    def _fills(self, number: int, place: int) -> tuple[str, Decimal, bool] | None:
        """As what a row's packs can fill an order; None for goods in tiers."""
        want = self.shopping.wants[number]
        row = want.rows[place]
        left_over = want.cable is not None and self.shopping.leftover_worth > 0
        return None if want.in_tiers(place) else (row.supplier, row.price, left_over)

    # ---------------------------------------------------------------------- wants

    def _want(self, number: int, want: Want) -> None:
        quantity = float(want.quantity) / (1000 if want.measured else 1)
        terms: dict[int, float] = {}
        for place, row in enumerate(want.rows):
            columns = self._packs(number, place)
            self.packs[number, place] = columns
            gives = float(want.holds(row)) / (1000 if want.measured else 1)
            terms.update(dict.fromkeys(columns, min(gives, quantity)))
        if quantity > 0:
            self.programme.row(terms, at_least=quantity)
        if want.cable and self.shopping.leftover_worth:
            self._left_over(number, want)

    def _packs(self, number: int, place: int) -> list[int]:
        """Unknowns for the packs of one row, tied to its supplier and to the number it is for."""
        want, programme = self.shopping.wants[number], self.programme
        row = want.rows[place]
        terms = self.shopping.terms.get(row.supplier)
        alone = self.alone[number, place]
        most = max(row.from_qty, _one_a_piece(want) if alone is None else alone)
        if want.cable and self.shopping.leftover_worth:
            most += want.packs(row)  # so that dearer cable may be what is left over
        tie, over = self.ordered[row.supplier], 0
        if want.in_tiers(place):
            tie, over = programme.column(at_most=1), _over(row.price, terms)
            programme.row({tie: 1.0, self.ordered[row.supplier]: -1.0}, at_most=0)
            self.tiers.setdefault((number, want.tier_of(place, 1)), {})[tie] = 1.0
        columns = []
        for bound in filter(None, (most, over)):
            column = programme.column(float(row.price), at_most=bound)
            programme.row({column: 1.0, tie: -float(bound)}, at_most=0)
            columns.append(column)
        packs = dict.fromkeys(columns, 1.0)
        if row.from_qty > 1:
            programme.row({**packs, tie: -float(row.from_qty)}, at_least=0)
        below = want.next_break(place)
        if below is not None:
            programme.row(packs, at_most=below - 1)
        return columns

    def _left_over(self, number: int, want: Want) -> None:
        """Credit what is left over: a pack costs less by it, and each metre used costs it back."""
        worth = float(self.shopping.leftover_worth)
        used: dict[int, float] = {}
        for place, row in enumerate(want.rows):
            metres = float(want.holds(row)) / 1000
            column = self.programme.column(worth * float(row.price) / metres, whole=False)
            packs = self.packs[number, place]
            for pack in packs:
                self.programme.costs[pack] -= worth * float(row.price)
            self.programme.row({column: 1.0, **dict.fromkeys(packs, -metres)}, at_most=0)
            used[column] = 1.0
        self.programme.row(used, at_least=max(0.0, float(want.quantity) / 1000))

    # ------------------------------------------------------------------ suppliers

    def _supplier(self, name: str, terms: Supplier | None) -> None:
        """Postage, where it is free, the minimum; ordered from is who something is bought from."""
        goods: dict[int, float] = {}
        for (number, place), columns in self.packs.items():
            row = self.shopping.wants[number].rows[place]
            if row.supplier == name:
                goods.update(dict.fromkeys(columns, float(row.price)))
        ordered = self.ordered[name]
        goods |= self._fillers(name, terms)
        self.programme.row({**dict.fromkeys(goods, 1.0), ordered: -1.0}, at_least=0)
        if terms is None:
            return
        self.programme.costs[ordered] += float(terms.postage)
        if terms.minimum_order:
            self.programme.row({**goods, ordered: -float(terms.minimum_order)}, at_least=0)
        if terms.free_over is not None and terms.postage:
            free = self.programme.column(-float(terms.postage), at_most=1)
            self.programme.row({free: 1.0, ordered: -1.0}, at_most=0)
            self.programme.row({**goods, free: -float(terms.free_over)}, at_least=0)

    def _fillers(self, name: str, terms: Supplier | None) -> dict[int, float]:
        """Unknowns for what is bought only to reach a limit of the supplier's, with their price.

        Cable that is left over of it is worth something to the house.
        """
        kinds = {self._fills(*place) for place in self.packs}
        prices = {}
        for kind in sorted(kind for kind in kinds if kind and kind[0] == name):
            _, price, left_over = kind
            most = _over(price, terms)
            if most:
                worth = self.shopping.leftover_worth if left_over else Decimal(0)
                column = self.programme.column(float(price * (1 - worth)), at_most=most)
                self.programme.row({column: 1.0, self.ordered[name]: -float(most)}, at_most=0)
                self.fillers[kind] = column
                prices[column] = float(price)
        return prices

    def _other_suppliers(self) -> None:
        """At least one supplier more, or one less, than the set that is not wanted."""
        barred: Sequence[str] = sorted(self.shopping.other_than)
        terms = {column: -1.0 if name in barred else 1.0 for name, column in self.ordered.items()}
        self.programme.row(terms, at_least=1.0 - len(barred))


class _Cuts(Struct, frozen=True):
    """The unknowns of cutting a cable: patterns by room, by metre rows what is cut of a size."""

    patterns: dict[int, dict[int, tuple[int, ...]]] = field(default_factory=dict)
    metres: dict[tuple[int, ...], dict[int, int]] = field(default_factory=dict)


def _one_a_piece(want: Want) -> int:
    """A length for every piece: no cable ever needs more."""
    return len(want.cable.pieces) + math.ceil(want.cable.spare_mm / 1000) if want.cable else 0


def _over(price: Decimal, terms: Supplier | None) -> int:
    """So many packs more reach any limit of the supplier's by themselves."""
    if terms is None or not price:
        return 0
    limits = [terms.minimum_order or Decimal(0)]
    limits += [terms.free_over] if terms.free_over is not None and terms.postage else []
    return math.ceil(max(limits) / price)
