"""The search for the least that a shopping can cost.

The solver is asked for the cheapest packs, at first by their millimetres alone; whether the pieces
really go on them is looked at afterwards, and what is learnt of cutting is told to the solver
before it is asked again: what the pieces weigh against what lengths are worth, what a cable costs
at a choice of suppliers, packs that do not do, and at last every pattern.  An order that does
stands ready from the start, so that a search which is cut short still ends with one.  (Logic-based
Benders decomposition: Hooker and Ottosson, 2003, from memory.)
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from decimal import ROUND_FLOOR, Decimal
from itertools import combinations

from msgspec import Struct
from msgspec.structs import replace

from bom.buy.lengths import Lengths
from bom.buy.model import A_LITTLE, Model
from bom.buy.solver import GAP, Solution, Solver
from bom.buy.wants import Basket, Shopping, Want, by_want
from bom.trade.figures import round_money
from bom.trade.orders import Rival

PENNY = Decimal("0.01")
SAME = Decimal("0.0095")
"""What is so near the bound is the least: under a penny, and over what the solver leaves open."""

NEARER = 10
"""By so much the programme narrows what the best is over the bound, while cutting is learnt."""

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

    def __init__(self, shopping: Shopping, cables: Mapping[int, Lengths], solver: Solver) -> None:
        self.shopping = shopping
        self.solver = solver
        self.cables = cables
        self.alone = {
            (number, place): cables[number].alone[place] if number in cables else want.packs(row)
            for number, want in enumerate(shopping.wants)
            for place, row in enumerate(want.rows)
        }
        self.exact: set[int] = set()
        """Cables whose patterns must be in the programme."""

    def best(self, shopping: Shopping) -> Cheapest:
        """The least that the shopping can cost."""
        best = self._first(shopping)
        bound = self._floor(shopping)
        uncut: list[int] = []
        while self.solver.seconds_left > 0 and not _meet(shopping, best, bound):
            model = Model(shopping, self.alone, self.cables, self.exact)
            if best is not None:
                learning = uncut and not self.exact
                far = float(shopping.bill(best).weight - bound) if learning else 0.0
                model.programme.gap = max(GAP, far / NEARER)
            found = self.solver.solve(model.programme)
            sure = all(lack.proved for known in self.cables.values() for lack in known.lacks)
            if found.proved and not found.values:
                return Cheapest(best, bound, proved=sure and best is None)
            if sure and found.bound is not None:
                bound = max(bound, Decimal(repr(found.bound - A_LITTLE)))
            if not found.values:
                break
            basket = model.basket(found)
            uncut = self._uncut(model, found, basket)
            if not uncut:
                best = self._lighter(shopping, best, basket)
            if not found.proved or (not uncut and model.programme.gap == GAP):
                break
            if uncut:
                best = self._learn(shopping, best, basket, uncut)
        return _answer(shopping, self._slimmed(shopping, best), bound)

    def _slimmed(self, shopping: Shopping, best: Basket | None) -> Basket | None:
        """Without the packs that are too many, as far as that makes it no heavier."""
        if best is None:
            return None
        for number, place in sorted(best, reverse=True):
            packs = by_want(best)[number]
            more = self.too_many(number, packs, place) if place in packs else 0
            fewer = {**best, (number, place): packs.get(place, 0) - more}
            slim = shopping.by_number({at: count for at, count in fewer.items() if count})
            no_heavier = shopping.bill(slim).weight <= shopping.bill(best).weight
            if more and no_heavier and shopping.allowed(slim) and self._does(shopping, slim):
                best = slim
        return best

    # ---------------------------------------------------------------- what cutting tells

    def _uncut(self, model: Model, found: Solution, basket: Basket) -> list[int]:
        """The cables whose pieces are not known to go on what is bought."""
        packs = by_want(basket)
        for number in model.cuts:
            self.cables[number].note(packs[number], model.loads(number, found))
        return [n for n, known in self.cables.items() if known.packed(packs[n]).loads is None]

    def _learn(
        self, shopping: Shopping, best: Basket | None, basket: Basket, uncut: Sequence[int]
    ) -> Basket | None:
        """Ask the solver how these cables are cut; the best basket as far as is known then.

        First what they cost at the suppliers of the basket; where that is known and does not
        settle it, whether they go on the packs of the basket, or with all their patterns.
        """
        names, packs = shopping.used(basket), by_want(basket)
        mixed = [number for number in uncut if self.cables[number].mixed]
        new = [number for number in mixed if not self.cables[number].is_known_at(names)]
        share = float(1 - shopping.leftover_worth)
        for at, number in enumerate(new):
            self.cables[number].learn(names, share, self.solver.seconds_left / 2 / (len(new) - at))
        for number in mixed:
            seconds = self.solver.seconds_left / 4 / len(mixed)
            self.cables[number].complete(packs[number], names, share, seconds)
        best = self._lighter(shopping, best, self._at(shopping, names))
        self._settle(basket, [n for n in uncut if not new or n not in mixed])
        return self._lighter(shopping, best, self._mended(shopping, basket))

    def _settle(self, basket: Basket, uncut: Sequence[int]) -> None:
        packs = by_want(basket)
        for at, number in enumerate(uncut):
            known = self.cables[number]
            if known.listed:
                self.exact.add(number)
                continue
            known.settle(packs[number], self.solver.seconds_left * 0.8 / (len(uncut) - at))
            if known.packed(packs[number]).loads is None:
                known.lack(packs[number])

    def _mended(self, shopping: Shopping, basket: Basket) -> Basket | None:
        """The basket with other packs for the cables that these do not do for."""
        names = shopping.used(basket)
        mended = dict(basket)
        packs = by_want(basket)
        for number, known in self.cables.items():
            if known.packed(packs[number]).loads is not None:
                continue
            ways = list(self._offers(shopping, number, names, more=packs[number]))
            if not ways:
                return None
            mended = {at: count for at, count in mended.items() if at[0] != number}
            _, _, way = min(ways)
            mended |= {(number, place): count for place, count in way}
        return mended

    # ----------------------------------------------------------------- without a solver

    def _floor(self, shopping: Shopping) -> Decimal:
        """What no order can cost less than: every want in parts of packs at its lowest price.

        Where one row alone serves a want, and nothing is credited for what is left over, it is in
        whole packs; the postage of its supplier is paid if nothing makes it free.
        """
        least, sure = Decimal(0), set()
        for want in shopping.wants:
            credited = want.cable and shopping.leftover_worth
            if len(want.rows) == 1 and want.quantity > 0 and not credited:
                (row,) = want.rows
                least += row.price * want.packs(row)
                sure.add(row.supplier)
            else:
                least += _in_parts(want)
        terms = [shopping.terms[name] for name in sorted(sure) if name in shopping.terms]
        return least + sum((at.postage for at in terms if at.free_over is None), Decimal(0))

    def _first(self, shopping: Shopping) -> Basket | None:
        """The lightest order of those that buy each want by itself, over choices of suppliers.

        Of many suppliers as many choices as a quarter of the time allows for.
        """
        best: Basket | None = None
        enough = self.solver.seconds_left * 3 / 4
        for choice in _choices(shopping):
            best = self._lighter(shopping, best, self._at(shopping, choice))
            many = len(shopping.suppliers) > MANY_SUPPLIERS
            if best is not None and many and self.solver.seconds_left <= enough:
                break
        return best

    def _at(self, shopping: Shopping, names: frozenset[str]) -> Basket | None:
        """Each want bought by itself at these suppliers, made up to what they and we demand."""
        basket = self._one_by_one(shopping, names)
        if basket is None:
            return None
        return self._made_up(shopping, self._with_demanded(shopping, basket))

    def _one_by_one(self, shopping: Shopping, names: frozenset[str]) -> Basket | None:
        """Each want in the way that is cheapest for it at these suppliers."""
        basket: dict[tuple[int, int], int] = {}
        for number in range(len(shopping.wants)):
            offers = list(self._offers(shopping, number, names))
            if not offers:
                return None
            _, _, way = min(offers)
            basket |= {(number, place): count for place, count in way}
        return {place: packs for place, packs in basket.items() if packs}

    def _offers(
        self,
        shopping: Shopping,
        number: int,
        names: frozenset[str],
        more: Mapping[int, int] | None = None,
    ) -> Iterator[tuple[Decimal, int, tuple[tuple[int, int], ...]]]:
        """Price and packs by row of every way to serve a want that is known.

        With `more` also one pack more of a row than these.
        """
        want = shopping.wants[number]
        ways: list[Mapping[int, int]] = [
            {place: max(alone, row.from_qty)}
            for place, row in enumerate(want.rows)
            if (alone := self.alone[number, place]) is not None
        ]
        if number in self.cables:
            known = self.cables[number]
            ways += known.do
            if more is not None:
                further = [{**more, row: more.get(row, 0) + 1} for row in range(len(want.rows))]
                ways += [way for way in further if known.packed(way).loads is not None]
        for way in ways:
            packs = want.by_number(way)
            if all(want.rows[place].supplier in names for place in packs):
                price = sum((want.rows[p].price * n for p, n in packs.items()), Decimal())
                yield price, len(packs), tuple(sorted(packs.items()))

    def _with_demanded(self, shopping: Shopping, basket: Basket) -> Basket:
        """With the want that it costs least to move at each supplier demanded and not used."""
        changed = dict(basket)
        for name in sorted(shopping.demanded - shopping.used(basket)):
            moves = [
                (cost, number, way)
                for number in range(len(shopping.wants))
                for cost, _, way in self._offers(shopping, number, frozenset({name}))
            ]
            if moves:
                _, number, way = min(moves)
                changed = {at: n for at, n in changed.items() if at[0] != number}
                changed |= {(number, place): packs for place, packs in way}
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

    def _lighter(
        self, shopping: Shopping, best: Basket | None, other: Basket | None
    ) -> Basket | None:
        if other is None or not shopping.allowed(other) or not self._does(shopping, other):
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
        if number in self.cables:
            return self.cables[number].packed(packs).loads is not None
        return sum(want.holds(want.rows[r]) * n for r, n in packs.items()) >= want.quantity

    # ------------------------------------------------------------------- what is asked of it

    def too_many(self, number: int, packs: Mapping[int, int], place: int) -> int:
        """How many packs of a line of a want could be left out, of all that is bought for it."""
        want = self.shopping.wants[number]
        least, most = -1, packs[place]  # fewer never serve where more do not
        while most - least > 1:
            middle = (least + most) // 2
            if self._serves(number, want, {**packs, place: middle}):
                most = middle
            else:
                least = middle
        return packs[place] - most

    def alone_at(self, name: str, own: Decimal) -> Rival:
        """What one supplier alone would cost; `own` is the cost of what is not searched for."""
        names = frozenset({name})
        wants = range(len(self.shopping.wants))
        sells = sum(any(self._offers(self.shopping, number, names)) for number in wants)
        if sells < len(wants):
            return Rival(suppliers=(name,), total=None, net=None, sells=sells, proved=True)
        shopping = replace(self.shopping, demanded=frozenset(), only=names)
        return self._rival(shopping, own, self.best(shopping))

    def next_best(self, used: frozenset[str], own: Decimal) -> Rival | None:
        """The cheapest order from any choice of suppliers but this one; each of them must serve."""
        shopping = replace(self.shopping, other_than=used)
        found = self.best(shopping)
        slim = self._slimmed(replace(shopping, other_than=frozenset()), found.basket)
        return None if slim != found.basket or slim is None else self._rival(shopping, own, found)

    def _rival(self, shopping: Shopping, own: Decimal, found: Cheapest) -> Rival:
        bill = shopping.bill(found.basket or {})
        none = found.basket is None
        return Rival(
            suppliers=tuple(sorted(shopping.used(found.basket or {}))),
            total=None if none else round_money(bill.total + own),
            net=None if none else round_money(bill.weight + own),
            sells=len(shopping.wants),
            proved=found.proved,
        )


def _meet(shopping: Shopping, best: Basket | None, bound: Decimal) -> bool:
    """The best costs what any must cost: no order weighs a part of a penny."""
    return best is not None and shopping.bill(best).weight - bound < SAME


def _answer(shopping: Shopping, best: Basket | None, bound: Decimal) -> Cheapest:
    """With the bound in whole pennies."""
    if best is None:
        return Cheapest(None, bound, proved=False)
    weight = shopping.bill(best).weight
    if _meet(shopping, best, bound):
        return Cheapest(best, weight, proved=True)
    floor = bound.quantize(PENNY, ROUND_FLOOR)
    return Cheapest(best, max(Decimal(0), min(floor, weight)), proved=False)


def _in_parts(want: Want) -> Decimal:
    """What a want costs at its lowest price by the unit or mm, packs taken in parts."""
    each = min((row.price / want.holds(row) for row in want.rows), default=Decimal(0))
    return max(Decimal(0), want.quantity) * each


def _choices(shopping: Shopping) -> Iterator[frozenset[str]]:
    """Sets of suppliers to try: all there are while they are few, else one, two or all."""
    only = shopping.only
    names = [name for name in shopping.suppliers if only is None or name in only]
    sizes = range(1, len(names) + 1) if len(names) <= MANY_SUPPLIERS else (len(names), 1, 2)
    for size in sizes:
        yield from map(frozenset, combinations(names, size))
    if not names:
        yield frozenset()
