"""What a job takes off the shelf, thing by thing."""

from collections import defaultdict
from collections.abc import Mapping
from decimal import Decimal

from msgspec import Struct

from bom.files.units import PIECE_UNIT, ThingKey, key_of
from bom.trade.needs import Allotment, Cut, CutList, Short


class Taking(Struct, frozen=True, kw_only=True):
    """Amounts in millimetres or the thing's own unit.

    `cut` is what the cuts take of each piece, trims with them, and `spare` what of the rest is
    set against the job's spare; `drawn` comes out of the drawer, and `short` is not there.
    """

    job: str
    cut: Mapping[ThingKey, Decimal]
    wires: Mapping[ThingKey, tuple[str, ...]]
    spare: Mapping[ThingKey, Decimal]
    drawn: Mapping[ThingKey, Decimal]
    short: tuple[Short, ...]

    @property
    def aside(self) -> dict[ThingKey, Decimal]:
        """What has to be set aside so that the job will find it all."""
        total: dict[ThingKey, Decimal] = defaultdict(Decimal)
        for part in (self.cut, self.spare, self.drawn):
            for key, amount in part.items():
                total[key] += amount
        return {key: amount for key, amount in total.items() if amount > 0}


def taking(job: str, allotment: Allotment, cut_list: CutList) -> Taking:
    """What the job takes of what it sees of the shelf; cable to be bought is short."""
    seen = {piece.name: piece.length_mm for need in allotment.cables for piece in need.shelf}
    left = {offcut.piece: offcut.length_mm for offcut in cut_list.offcuts if not offcut.new}
    cuts: dict[str, list[Cut]] = defaultdict(list)
    for cut in cut_list.cuts:
        if not cut.new:
            cuts[cut.piece].append(cut)
    spare = {
        key_of(part.piece, PIECE_UNIT): part.quantity
        - sum(cut.length_mm for cut in cuts[part.piece])
        for part in cut_list.taken
    }
    drawn: dict[ThingKey, Decimal] = defaultdict(Decimal)
    for part in allotment.taken:
        drawn[key_of(part.item, part.unit)] += part.quantity
    opened = {name: key_of(name, PIECE_UNIT) for name, own in cuts.items() if own}
    return Taking(
        job=job,
        cut={key: Decimal(seen[name] - left[name]) for name, key in opened.items()},
        wires={key: tuple(cut.wire for cut in cuts[name]) for name, key in opened.items()},
        spare={key: amount for key, amount in spare.items() if amount > 0},
        drawn=dict(drawn),
        short=(*cut_list.short, *allotment.short),
    )
