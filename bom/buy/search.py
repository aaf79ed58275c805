"""The search for the least that a shopping can cost.

The solver is asked for the cheapest packs by their millimetres; whether the pieces really go
on them is looked at afterwards, and what does not do is told to the solver before it is
asked again.  An order that does stands ready from the start, so that a search which is cut
short still ends with one.  (Logic-based Benders decomposition: Hooker and Ottosson, 2003,
from memory.)
"""

import math
from collections.abc import Iterator, Mapping
from decimal import ROUND_FLOOR, Decimal
from itertools import combinations

from msgspec import Struct
from msgspec.structs import replace

from bom.buy.lengths import Lack, Lengths
from bom.buy.model import A_LITTLE, Model
from bom.buy.solver import Solver
from bom.buy.wants import Basket, Shopping, Want, by_want
from bom.trade.figures import round_money
from bom.trade.orders import Rival

PENNY = Decimal("0.01")
TRIES = 20
"""So often a first order is made up to its minimum orders."""
MANY_SUPPLIERS = 6
"""Up to so many suppliers every choice of them is tried for a first order."""


class Cheapest(Struct, frozen=True):
    """The best basket found, None where there is none; what any must weigh at the least."""

    basket: Basket | None
    bound: Decimal
    proved: bool


class Search:
    """One shopping after another over the same wants: what is learnt of cutting is kept."""

    def __init__(self, shopping: Shopping, lengths: Mapping[int, Lengths], solver: Solver) -> None:
        self.shopping = shopping
        self.solver = solver
        self.lengths = lengths
        self.alone = {
            (number, place): lengths[number].alone[place] if number in lengths else want.packs(row)
            for number, want in enumerate(shopping.wants)
            for place, row in enumerate(want.rows)
        }
        self.learnt: dict[int, list[Lack]] = {number: [] for number in lengths}
        self._learn({})

    def best(self, shopping: Shopping, names: frozenset[str] | None = None) -> Cheapest:
        """The least that the shopping can cost, at these suppliers only where they are named."""
        best = self._first(shopping, names)
        bound, proved = self._floor(shopping), False
        if best is not None and (weight := shopping.bill(best).weight) <= bound:
            return Cheapest(best, weight, proved=True)  # nothing is left to choose
        while self.solver.seconds_left > 0:
            model = self._model(shopping, names)
            found = self.solver.solve(model.programme)
            sure = all(lack.proved for lacks in self.learnt.values() for lack in lacks)
            if found.proved and not found.values:
                return Cheapest(best, bound, proved=sure and best is None)
            if sure and math.isfinite(found.bound):
                bound = max(bound, Decimal(repr(found.bound - A_LITTLE)))
            if not found.values:
                break
            basket = model.basket(found)
            enough = shopping.by_number(self._learn(basket))
            best = self._lighter(shopping, best, enough)
            if not found.proved or enough == basket:
                proved = found.proved and sure
                break
        return self._answer(shopping, best, bound, proved)

    def _answer(
        self, shopping: Shopping, best: Basket | None, bound: Decimal, proved: bool
    ) -> Cheapest:
        """With the bound in whole pennies: no order weighs a part of one."""
        if best is None:
            return Cheapest(None, bound, proved=False)
        weight = shopping.bill(best).weight
        floor = bound.quantize(PENNY, ROUND_FLOOR)
        if proved or weight - bound < PENNY:
            return Cheapest(best, weight, proved=True)
        return Cheapest(best, max(Decimal(0), min(floor, weight)), proved=False)

    def _model(self, shopping: Shopping, names: frozenset[str] | None) -> Model:
        model = Model(shopping, self.alone)
        for number, lacks in self.learnt.items():
            for lack in lacks:
                model.lacks(number, lack)
        for name, column in model.ordered.items():
            if names is not None and name not in names:
                model.programme.upper[column] = 0.0
        return model

    def _learn(self, basket: Basket) -> Basket:
        """Look at the cutting of every cable; the basket with as much more as it takes."""
        enough = dict(basket)
        packs = by_want(basket)
        for number, lengths in self.lengths.items():
            lack = lengths.lack(packs[number])
            if lack is None:
                continue
            self.learnt[number].append(lack)
            for row, count in (lack.enough or {}).items():
                enough[number, row] = count
        return {place: packs for place, packs in enough.items() if packs}

    # ----------------------------------------------------------------- without a solver

    def _floor(self, shopping: Shopping) -> Decimal:
        """What no order can cost less than: every want in parts of packs at its lowest price.

        Where one row alone serves a want it is in whole packs, and the postage of its supplier is
        paid if nothing makes it free.
        """
        if shopping.leftover_worth:
            return sum(map(_in_parts, shopping.wants), Decimal(0)) * (1 - shopping.leftover_worth)
        least, sure = Decimal(0), set()
        for want in shopping.wants:
            if len(want.rows) == 1 and want.quantity > 0:
                (row,) = want.rows
                least += row.price * want.packs(row)
                sure.add(row.supplier)
            else:
                least += _in_parts(want)
        terms = [shopping.terms[name] for name in sorted(sure) if name in shopping.terms]
        return least + sum((at.postage for at in terms if at.free_over is None), Decimal(0))

    def _first(self, shopping: Shopping, names: frozenset[str] | None) -> Basket | None:
        """The lightest order of those that buy each want in one row, over choices of suppliers."""
        best: Basket | None = None
        for choice in [names] if names is not None else _choices(shopping):
            basket = self._row_by_row(shopping, choice)
            if basket is not None:
                basket = self._with_demanded(shopping, basket)
                best = self._lighter(shopping, best, self._made_up(shopping, basket))
        return best

    def _row_by_row(self, shopping: Shopping, names: frozenset[str]) -> Basket | None:
        """Each want in the one row that is cheapest for it at these suppliers."""
        basket: dict[tuple[int, int], int] = {}
        for number in range(len(shopping.wants)):
            offers = list(self._offers(shopping, number, names))
            if not offers:
                return None
            _, place, packs = min(offers)
            basket[number, place] = packs
        return {place: packs for place, packs in basket.items() if packs}

    def _offers(
        self, shopping: Shopping, number: int, names: frozenset[str]
    ) -> Iterator[tuple[Decimal, int, int]]:
        """Price, row and packs of every row that serves a want alone."""
        for place, row in enumerate(shopping.wants[number].rows):
            alone = self.alone[number, place]
            if row.supplier in names and alone is not None:
                packs = max(alone, row.from_qty)
                below = shopping.wants[number].next_break(place)
                if below is None or packs < below:
                    yield row.price * packs, place, packs

    def _with_demanded(self, shopping: Shopping, basket: Basket) -> Basket:
        """With the want that it costs least to move at each supplier demanded and not used."""
        changed = dict(basket)
        for name in sorted(shopping.demanded - shopping.used(basket)):
            moves = [
                (cost, number, place, packs)
                for number in range(len(shopping.wants))
                for cost, place, packs in self._offers(shopping, number, frozenset({name}))
            ]
            if moves:
                _, number, place, packs = min(moves)
                changed = {at: n for at, n in changed.items() if at[0] != number}
                changed[number, place] = packs
        return changed

    def _made_up(self, shopping: Shopping, basket: Basket) -> Basket:
        """With so much more of the cheapest row that each supplier's minimum is reached."""
        for _ in range(TRIES):  # a larger number may have a lower price
            bill = shopping.bill(basket)
            if not bill.under:
                break
            name = bill.under[0]
            rows = {p: shopping.wants[p[0]].rows[p[1]] for p in basket}
            priced = [p for p, row in rows.items() if row.supplier == name and row.price]
            if not priced:
                break
            place = min(priced, key=lambda p: rows[p].price)
            lacking = (shopping.terms[name].minimum_order or Decimal(0)) - bill.goods[name]
            more = math.ceil(lacking / rows[place].price)
            basket = shopping.by_number({**basket, place: basket[place] + more})
        return basket

    def _lighter(self, shopping: Shopping, best: Basket | None, other: Basket) -> Basket | None:
        if not shopping.allowed(other) or not self._does(shopping, other):
            return best
        if best is None:
            return other
        one, two = shopping.bill(best).weight, shopping.bill(other).weight
        return other if two < one else best

    def _does(self, shopping: Shopping, basket: Basket) -> bool:
        """True when a basket serves every want."""
        packs = by_want(basket)
        return all(self._serves(n, want, packs[n]) for n, want in enumerate(shopping.wants))

    def _serves(self, number: int, want: Want, packs: Mapping[int, int]) -> bool:
        if number in self.lengths:
            return self.lengths[number].packed(packs).loads is not None
        return sum(want.holds(want.rows[r]) * n for r, n in packs.items()) >= want.quantity

    # ------------------------------------------------------------------- what is asked of it

    def too_many(self, number: int, packs: Mapping[int, int], place: int) -> int:
        """How many packs of a line of a want could be left out, of all that is bought for it."""
        want = self.shopping.wants[number]
        more = 0
        while more < packs[place]:
            fewer = {**packs, place: packs[place] - more - 1}
            if not self._serves(number, want, fewer):
                break
            more += 1
        return more

    def alone_at(self, name: str, own: Decimal) -> Rival:
        """What one supplier alone would cost; `own` is the cost of what is not searched for."""
        names = frozenset({name})
        wants = range(len(self.shopping.wants))
        sells = sum(any(self._offers(self.shopping, number, names)) for number in wants)
        if sells < len(wants):
            return Rival(suppliers=(name,), total=None, sells=sells)
        return self._rival(replace(self.shopping, demanded=frozenset()), own, names)

    def next_best(self, used: frozenset[str], own: Decimal) -> Rival | None:
        """The cheapest order from any choice of suppliers but this one."""
        found = self._rival(replace(self.shopping, other_than=used), own)
        return found if found.total is not None else None

    def _rival(
        self, shopping: Shopping, own: Decimal, names: frozenset[str] | None = None
    ) -> Rival:
        basket = self.best(shopping, names).basket
        total = None if basket is None else round_money(shopping.bill(basket).total + own)
        used = shopping.used(basket or {})
        return Rival(suppliers=tuple(sorted(used)), total=total, sells=len(shopping.wants))


def _in_parts(want: Want) -> Decimal:
    """What a want costs at its lowest price by the unit or mm, packs taken in parts."""
    each = min((row.price / want.holds(row) for row in want.rows), default=Decimal(0))
    return max(Decimal(0), want.quantity) * each


def _choices(shopping: Shopping) -> Iterator[frozenset[str]]:
    """Sets of suppliers to try: all there are while they are few, else one, two or all."""
    names = shopping.suppliers
    sizes = range(1, len(names) + 1) if len(names) <= MANY_SUPPLIERS else (1, 2, len(names))
    for size in sizes:
        yield from map(frozenset, combinations(names, size))
    if not names:
        yield frozenset()
