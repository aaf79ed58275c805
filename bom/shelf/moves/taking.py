"""What jobs take off the shelf that they share, thing by thing and job by job."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal

from msgspec import Struct

from bom.files.units import PIECE_UNIT, ThingKey, key_of
from bom.shelf.moves.wires_cut import CutWire
from bom.trade.needs import Allotment, Cut, CutList, Need, Short


class Taking(Struct, frozen=True, kw_only=True):
    """Amounts in millimetres or the thing's own unit.

    `cut` is what the cuts take of each piece, trims with them, and `spare` what of the rest is
    set against the job's spare; `drawn` comes out of the drawer.  What is not there is `short`,
    or where the loom can be made without it, as it is spare alone, `spare_short`.
    """

    job: str
    cut: Mapping[ThingKey, Decimal]
    wires: Mapping[ThingKey, tuple[CutWire, ...]]
    spare: Mapping[ThingKey, Decimal]
    drawn: Mapping[ThingKey, Decimal]
    short: tuple[Short, ...]
    spare_short: tuple[Short, ...]

    @property
    def aside(self) -> dict[ThingKey, Decimal]:
        """What has to be set aside so that the job will find it all."""
        total: dict[ThingKey, Decimal] = defaultdict(Decimal)
        for part in (self.cut, self.spare, self.drawn):
            for key, amount in part.items():
                total[key] += amount
        return {key: amount for key, amount in total.items() if amount > 0}

    @property
    def is_nothing(self) -> bool:
        """True where the job takes nothing and lacks nothing."""
        return not (self.cut or self.drawn or self.short or self.spare_short)


def takings(
    needs: Mapping[str, Sequence[Need]], allotment: Allotment, cut_list: CutList
) -> tuple[Taking, ...]:
    """What each job takes of what all see of the shelf together; cable to be bought is short.

    Cuts are their own job's; the drawer and the spare of a cable go to the jobs in this order.
    Allotment and cut list are those of just these needs.
    """
    shared = _Shared(allotment, cut_list)
    return tuple(shared.taking(job, own) for job, own in needs.items())


class _Shared:
    """What the jobs are given together, going down as each takes its part."""

    def __init__(self, allotment: Allotment, cut_list: CutList) -> None:
        self._cuts = cut_list.cuts
        own: dict[str, list[Cut]] = defaultdict(list)
        for cut in self._cuts:
            if not cut.new:
                own[cut.piece].append(cut)
        seen = {piece.name: piece.length_mm for need in allotment.cables for piece in need.shelf}
        left = {offcut.piece: offcut.length_mm for offcut in cut_list.offcuts if not offcut.new}
        self._uncut = {name: len(cuts) for name, cuts in own.items()}
        self._trims = {name: seen[name] - left[name] - _summed(cuts) for name, cuts in own.items()}
        self._spare: dict[tuple[str, str], dict[str, int]] = defaultdict(dict)
        for part in cut_list.taken:
            spare = int(part.quantity) - _summed(own[part.piece])
            self._spare[part.gauge, str(part.colour)][part.piece] = spare
        self._drawer: dict[ThingKey, Decimal] = defaultdict(Decimal)
        for part in allotment.taken:
            self._drawer[key_of(part.item, part.unit)] += part.quantity

    def taking(self, job: str, needs: Sequence[Need]) -> Taking:
        """The part of one job."""
        cuts: dict[str, list[Cut]] = defaultdict(list)
        for cut in self._cuts:
            if cut.job == job and not cut.new:
                cuts[cut.piece].append(cut)
        spare: dict[ThingKey, Decimal] = defaultdict(Decimal)
        drawn: dict[ThingKey, Decimal] = defaultdict(Decimal)
        short: list[tuple[Short, bool]] = []
        for need in needs:
            if need.kind == "cable":
                short += self._lacking_of_cable(job, need, cuts, spare)
            else:
                short += self._drawn(job, need, drawn)
        keys = {name: key_of(name, PIECE_UNIT) for name in cuts}
        return Taking(
            job=job,
            cut={key: Decimal(self._off(name, cuts[name])) for name, key in keys.items()},
            wires={k: tuple((c.wire, c.length_mm) for c in cuts[name]) for name, k in keys.items()},
            spare=dict(spare),
            drawn=dict(drawn),
            short=tuple(lacking for lacking, needed in short if needed),
            spare_short=tuple(lacking for lacking, needed in short if not needed),
        )

    def _off(self, piece: str, cuts: Sequence[Cut]) -> int:
        """What a job's cuts take off a piece, with their share of its trims."""
        trims = -(-self._trims[piece] * len(cuts) // self._uncut[piece])
        self._trims[piece] -= trims
        self._uncut[piece] -= len(cuts)
        return _summed(cuts) + trims

    def _lacking_of_cable(
        self,
        job: str,
        need: Need,
        cuts: Mapping[str, Sequence[Cut]],
        spare: dict[ThingKey, Decimal],
    ) -> Iterator[tuple[Short, bool]]:
        """The wires that the shelf does not give, and the spare, of its own pieces first."""
        cable = (need.gauge, str(need.colour))
        there, wanted = self._spare[cable], need.spare_mm
        for piece in sorted(there, key=lambda piece: piece not in cuts):
            part = min(wanted, there[piece])
            if part:
                there[piece] -= part
                wanted -= part
                spare[key_of(piece, PIECE_UNIT)] += part
        new = [c for c in self._cuts if c.new and (c.job, c.gauge, str(c.colour)) == (job, *cable)]
        pieces = sorted(((c.length_mm, job, c.wire) for c in new), key=lambda p: (-p[0], p[2]))
        if pieces or wanted:
            missing = Decimal(_summed(new) + wanted)
            lacking = _short(need, job, missing, pieces=tuple(pieces), spare_mm=wanted)
            yield lacking, bool(pieces)

    def _drawn(
        self, job: str, need: Need, drawn: dict[ThingKey, Decimal]
    ) -> Iterator[tuple[Short, bool]]:
        """What the drawer gives to one need."""
        key = key_of(need.item, need.unit)
        given = min(need.quantity, self._drawer[key])
        if given:
            self._drawer[key] -= given
            drawn[key] += given
        if given < need.quantity:
            counted = need.quantity if need.counted is None else need.counted
            yield _short(need, job, need.quantity - given), given < counted


def _summed(cuts: Sequence[Cut]) -> int:
    return sum(cut.length_mm for cut in cuts)


def _short(
    need: Need,
    job: str,
    quantity: Decimal,
    *,
    pieces: tuple[tuple[int, str, str], ...] = (),
    spare_mm: int = 0,
) -> Short:
    return Short(
        kind=need.kind,
        item=need.item,
        gauge=need.gauge,
        colour=need.colour,
        quantity=quantity,
        unit=need.unit,
        jobs=(job,),
        pieces=pieces,
        spare_mm=spare_mm,
        price=need.price,
    )
