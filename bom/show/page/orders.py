"""Orders on a page: what is still to come, line by line, with a field for the packs that came."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from bom.files.spelling import fold
from bom.shelf.moves import word_of
from bom.show.orders_placed import orders_out, sold
from bom.show.page.told import NOT_SHOWN, sentences
from bom.trade.placed import OrderLine
from bom.trade.problem import Problem, has_errors


def orders_page(
    lines: Sequence[OrderLine],
    currency: str,
    *,
    told: Mapping[str, Any] | None = None,
    problems: Iterable[Problem] = (),
    open_by: str = "",
) -> dict[str, Any]:
    """What the page shows of all lines of the stock book's orders: those that are open.

    What was typed and not booked (`told`, of `told_of`) stands in its field again.
    """
    by_number: dict[str, list[OrderLine]] = defaultdict(list)
    for line in lines:
        by_number[fold(line.number)].append(line)
    typed, problems = _Typed(told), [*problems]
    return {
        "currency": currency,
        "orders": [
            _order(own, typed) for own in by_number.values() if any(line.to_come for line in own)
        ],
        "nothing": NOT_SHOWN if has_errors(problems) else "nothing is on order",
        "told": told,
        "problems": sentences(problems),
        "open_by": open_by,
    }


def _order(lines: Sequence[OrderLine], typed: "_Typed") -> dict[str, Any]:
    """An order with the lines that are still to come."""
    out = orders_out(lines, ())["lines"]
    first = out[0]
    return {
        "id": f"order-{lines[0].row.number}",
        "number": first["number"],
        "supplier": first["supplier"],
        "date": first["date"] or "",
        "seen": sum(line.came for line in lines),
        "lines": [
            {
                **figures,
                "id": f"line-{line.row.number}",
                "word": word_of(lines, line),
                "form": sold(line),
                "waiting": list(line.waiting),
                **typed.of(lines[0].number, word_of(lines, line)),
            }
            for line, figures in zip(lines, out, strict=True)
            if line.to_come
        ],
    }


class _Typed:
    """What was typed and not booked, line by line; lines that share a word stand in their order."""

    def __init__(self, told: Mapping[str, Any] | None) -> None:
        fields = told["again"]["fields"] if told and told["kind"] != "done" else ()
        own: dict[str, list[str]] = defaultdict(list)
        for name, value in fields:
            own[name].append(value)
        self._number = "".join(own["number"])
        self._left = [*zip(own["line"], own["packs"], own["price"], strict=False)]

    def of(self, number: str, word: str) -> dict[str, str]:
        """Packs and price of the next line of an order with this word."""
        if number == self._number:
            for place, (line, packs, price) in enumerate(self._left):
                if line == word:
                    del self._left[place]
                    return {"typed_packs": packs, "typed_price": price}
        return {"typed_packs": "", "typed_price": ""}
