"""Why a supplier is in the order: what is bought there, and what it would cost without."""

from collections.abc import Iterator, Sequence
from decimal import Decimal
from math import ceil

from bom.buy.order import Conditions
from bom.estimate import Bought, buy_for
from bom.files.spelling import Misspelt, plain
from bom.read.supplier_names import one_called
from bom.show.shared import FEW
from bom.trade.figures import round_money
from bom.trade.money import round_price
from bom.trade.orders import Price, Purchase
from bom.trade.problem import counted


def why_supplier(bought: Bought, typed: str) -> tuple[str, tuple[str, ...]]:
    """The supplier of this name, and a sentence a line; without a subject what comes nearest."""
    known = {price.supplier for price in bought.prices.prices}
    try:
        name = one_called(typed, known, "on the price lists")
    except Misspelt as fault:
        return "", (f"{fault.says}; try: {fault.cure}",)
    own = [line for line in bought.order.lines if line.supplier == name]
    return f"supplier {name}", tuple(_used(bought, name, own) if own else _idle(bought, name))


def _used(bought: Bought, name: str, own: Sequence[Purchase]) -> Iterator[str]:
    goods = sum((line.cost for line in own), Decimal())
    postage = bought.order.postage.get(name, Decimal())
    yield (
        f"{name}: {counted(len(own), 'line')}, {goods:.2f} + postage {postage:.2f} = "
        f"{goods + postage:.2f}{_terms(bought, name)}"
    )
    for line in own:
        packs = f"{line.packs} x {line.sold_as}{_of(line.pack)}"
        paid = f"{packs} at {round_price(line.price)}, {line.cost:.2f}"
        yield f"{line.item}: {paid}{_elsewhere(bought, line)}"
    yield from _without(bought, name)


def _terms(bought: Bought, name: str) -> str:
    """What the supplier's own list says of postage and minimum order."""
    terms = bought.prices.suppliers.get(name)
    free = f"; postage free over {terms.free_over:.2f}" if terms and terms.free_over else ""
    least = f"; minimum order {terms.minimum_order:.2f}" if terms and terms.minimum_order else ""
    return free + least


def _elsewhere(bought: Bought, line: Purchase) -> str:
    """What as much as is needed costs where it is cheapest but for here; '' where nowhere."""
    offers = bought.prices.offers(line.item, line.gauge, line.colour, line.unit)
    others = [price for price in offers if price.supplier != line.supplier]
    if not others:
        return ""
    needed = min([line.packs * line.pack, *_short(bought, line)])
    packs, best = min(((_packs(needed, price), price) for price in others), key=_cost)
    pack = _of(best.pack)
    return f"; at {best.supplier} {packs} x {best.sold_as}{pack}, {_cost((packs, best)):.2f}"


def _short(bought: Bought, line: Purchase) -> Iterator[Decimal]:
    """How much the shelf lacks of it, in pieces or metres."""
    for short in (*bought.allotment.short, *bought.cut_list.short):
        if short.key == line.key:
            yield short.quantity / 1000 if short.unit == "mm" else short.quantity


def _packs(needed: Decimal, price: Price) -> int:
    return ceil(needed / price.pack)


def _cost(packs_of: tuple[int, Price]) -> Decimal:
    packs, price = packs_of
    return round_money(packs * price.price)


def _of(pack: Decimal) -> str:
    return f" of {plain(pack)}" if pack != 1 else ""


def _without(bought: Bought, name: str) -> Iterator[str]:
    """The cheapest order without it: what it would cost, and what nobody else sells."""
    paths = [job.path for job in bought.jobs]
    order = buy_for(paths, asked=Conditions(without=(name,))).order
    lacking = {short.key for short in order.unpriced} - {s.key for s in bought.order.unpriced}
    if lacking:
        items = "; ".join(sorted(item for item, _, _ in lacking))
        few = items if len(lacking) <= FEW else f"{len(lacking)} of these items"
        yield f"it is in the order as nobody else sells {few}"
        theirs = [line for line in bought.order.lines if line.key in lacking]
        rest = bought.order.total - sum((line.cost for line in theirs), Decimal())
        if any(line.supplier == name and line not in theirs for line in bought.order.lines):
            told = f"not {rest:.2f}: {order.total - rest:.2f} more"
            yield f"the rest of the order would come to {order.total:.2f} without it, {told}"
        return
    more = order.total - bought.order.total
    yield (
        f"it is in the order as without it the whole would come to {order.total:.2f}, not "
        f"{bought.order.total:.2f}: {more:.2f} more"
    )


def _idle(bought: Bought, name: str) -> Iterator[str]:
    """Why nothing is bought there."""
    lines = {line.key: line for line in bought.order.lines}
    sold = [line for line in lines.values() if _sells(bought, name, line)]
    yield f"{name}: nothing is bought there"
    yield f"it sells {len(sold)} of the order's {counted(len(lines), 'line')}"
    if sold:
        paths = [job.path for job in bought.jobs]
        order = buy_for(paths, asked=Conditions(demanded=(name,))).order
        more = order.total - bought.order.total
        yield f"with it the order comes to {order.total:.2f}, {more:.2f} more"


def _sells(bought: Bought, name: str, line: Purchase) -> bool:
    offers = bought.prices.offers(line.item, line.gauge, line.colour, line.unit)
    return any(price.supplier == name for price in offers)
