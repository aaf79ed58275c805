"""What a job still needs when some of it was issued: nothing is taken twice."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from decimal import Decimal

from msgspec.structs import replace

from bom.files.spelling import fold
from bom.files.units import ThingKey, key_of, per_unit
from bom.shelf.moves.history import History
from bom.shelf.moves.wires_cut import cable_of, wires_cut
from bom.trade.needs import Need
from bom.trade.shelf import Move


def left_to_issue(needs: Iterable[Need], job: str, history: History) -> tuple[Need, ...]:
    """The needs of a job without the wires that are cut for it and the parts that it has.

    A wire that is longer now than it was cut is cut anew, and so is one of another cable.
    """
    issued = [move for move in history.out(job) if move.what == "issue"]
    if not issued:
        return tuple(needs)
    has = _Has(issued)
    return tuple(left for need in needs for left in has.lacks(need))


class _Has:
    """What a job was issued, going down as it is set against its needs."""

    def __init__(self, issued: Iterable[Move]) -> None:
        self._wires: dict[tuple[str, str], list[int]] = defaultdict(list)
        self._drawn: dict[ThingKey, Decimal] = defaultdict(Decimal)
        for move in issued:
            taken = -move.change * per_unit(move.unit)
            wires = wires_cut(move.note, int(taken))
            for label, mm in wires:
                self._wires[cable_of(move.note), fold(label)].append(mm)
            if not wires:
                self._drawn[key_of(move.item, move.unit)] += taken

    def lacks(self, need: Need) -> Iterator[Need]:
        """What is left of a need, if anything is."""
        return self._uncut(need) if need.kind == "cable" else self._undrawn(need)

    def _uncut(self, need: Need) -> Iterator[Need]:
        """The wires that are not cut yet, and their share of the spare."""
        pieces = []
        for mm, label in need.pieces:
            cut = self._wires[f"{need.gauge} {need.colour}", fold(label)]
            long_enough = next((was for was in cut if not was or was >= mm), None)
            if long_enough is None:
                pieces.append((mm, label))
            else:
                cut.remove(long_enough)
        if not pieces:
            return
        left, whole = (sum(mm for mm, _ in some) for some in (pieces, need.pieces))
        spare = need.spare_mm * left // whole
        quantity = Decimal(left + spare)
        yield replace(need, pieces=tuple(pieces), spare_mm=spare, quantity=quantity)

    def _undrawn(self, need: Need) -> Iterator[Need]:
        key = key_of(need.item, need.unit)
        had = min(need.quantity, self._drawn[key])
        self._drawn[key] -= had
        if had < need.quantity:
            counted = None if need.counted is None else max(Decimal(), need.counted - had)
            yield replace(need, quantity=need.quantity - had, counted=counted)
