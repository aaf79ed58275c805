"""The take-off: from sized wires to everything the job needs, allowances included.

Each rule is one function that yields lines; a line carries its trace, so that `why` can
print how it came about.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from fractions import Fraction

from msgspec.structs import replace

from bom.files.spelling import MM_PER_UNIT, plain
from bom.reckon.net import PIN_TO_PIN, Net
from bom.reckon.takeoff.coverings import Coverings
from bom.reckon.takeoff.fuses import fuses, holders, in_line
from bom.reckon.takeoff.housings import housed, housings
from bom.reckon.takeoff.terminals import Terminals
from bom.reckon.takeoff.typed_work import typed_twice
from bom.reckon.takeoff.work import Work
from bom.trade.catalogue import Catalogue
from bom.trade.figures import spare_length_mm
from bom.trade.house import HouseRules
from bom.trade.needs import Need, Takeoff, Trace
from bom.trade.problem import Problem
from bom.trade.wires import Bundle, Ends, Joint, Sized, SizedWire

__all__ = ["take_off"]


def take_off(
    net: Net, sized: Sized, ends: Ends, rules: HouseRules, catalogue: Catalogue
) -> tuple[Takeoff, tuple[Problem, ...]]:
    """Everything the job needs: lengths in mm, counts in pieces.

    Errors: a terminal, sleeve or tape that the catalogues do not hold.  Cautions: a task of the
    Labour sheet that is counted.
    """
    work = Work(
        net=net, sized=sized, joints=ends.joints, rules=rules, catalogue=catalogue, problems=[]
    )
    work = replace(work, joints=(*ends.joints, *in_line(work)))
    places = tuple(housed(work))
    coverings = Coverings(work)
    bundles = coverings.bundles()
    needs = (
        *_cables(work),
        *Terminals(work, places).needs(),
        *housings(work, places),
        *coverings.needs(bundles),
        *fuses(work),
        *holders(work),
        *_extras(work),
    )
    fitted = _fitted(net, ends.joints)
    counts = _operations(work, needs, bundles, coverings.shrink_ends, fitted)
    problems = (*work.problems, *typed_twice(work.book, counts, catalogue))
    return Takeoff(needs, tuple(bundles), counts, work.joints), problems


def _cables(work: Work) -> Iterator[Need]:
    """One line a gauge and colour: pieces, and the spare rounded up to whole steps."""
    groups: dict[tuple[str, object], list[SizedWire]] = defaultdict(list)
    for wire in work.sized.wires:
        groups[wire.cable.gauge, wire.wire.colour].append(wire)
    order = list(work.catalogue.cables)
    for _, wires in sorted(groups.items(), key=lambda g: (order.index(g[0][0]), str(g[0][1]))):
        yield _cable(work.rules, wires)


def _cable(rules: HouseRules, wires: Sequence[SizedWire]) -> Need:
    first = wires[0]
    gauge, colour = first.cable.gauge, first.wire.colour
    pieces = tuple((wire.piece_mm, wire.wire.label) for wire in wires for _ in range(wire.wire.qty))
    total = sum(length for length, _ in pieces)
    spare = spare_length_mm(total, rules.cable_spare_percent, rules.step_mm)
    percent = plain(rules.cable_spare_percent)
    return Need(
        kind="cable",
        item=f"cable, {gauge if first.cable.is_awg else f'{gauge} mm2'}, {colour}",
        gauge=gauge,
        colour=colour,
        quantity=Decimal(total + spare),
        unit="mm",
        wires=tuple(wire.wire.label for wire in wires),
        counted=Decimal(total),
        pieces=pieces,
        spare_mm=spare,
        trace=Trace(
            f"pieces of this gauge and colour, and {percent} % spare (cable_spare_percent) "
            f"rounded up to {rules.step_mm} mm",
            (
                f"pieces {' + '.join(str(length) for length, _ in pieces)} = {total} mm",
                f"spare {percent} % of {total} mm: {spare} mm",
                f"needed {total} + {spare} = {total + spare} mm",
            ),
        ),
    )


def _extras(work: Work) -> Iterator[Need]:
    """The rows of the Extras sheet as they stand, lengths in mm."""
    for extra in work.book.extras:
        mm = MM_PER_UNIT.get(extra.unit.casefold())
        scale = Decimal(mm.numerator) / mm.denominator if mm else Decimal(1)
        yield Need(
            kind="extra",
            item=extra.item,
            quantity=extra.qty * scale,
            unit="mm" if mm else extra.unit,
            wires=(),
            price=None if extra.price is None else extra.price / scale,
            trace=Trace("as listed", (f"{extra.row.where('item')}",)),
        )


def _operations(
    work: Work, needs: Sequence[Need], bundles: Sequence[Bundle], shrink_ends: int, fitted: int
) -> Mapping[str, Fraction]:
    """How often each operation of catalogs/labour.csv is done; metres for coverings."""
    wires = Fraction(sum(wire.wire.qty for wire in work.sized.wires))
    made: dict[str, Fraction] = defaultdict(Fraction)
    for need in needs:
        made[need.kind] += Fraction(need.quantity if need.counted is None else need.counted)
    return {
        "cut and strip": wires,
        "crimp": made["terminal"],
        "cover": made["cover"],
        "seal": made["seal"],
        "splice": made["splice"],
        **_covered_m(work.catalogue, bundles),
        "shrink": Fraction(shrink_ends),
        "breakout": Fraction(_breakouts(bundles)),
        "housing": made["housing"],
        "fuse": Fraction(len(work.sized.fuses)),
        "continuity test": wires,
        "fit": Fraction(fitted),
    }


def _covered_m(catalogue: Catalogue, bundles: Iterable[Bundle]) -> Mapping[str, Fraction]:
    """Metres by the operation of each layer: what lies on a tube counts the tube too."""
    layers = (layer for layer in catalogue.layers.values() if layer.length)
    metres = {layer.labour: Fraction(0) for layer in layers}
    for bundle in bundles:
        for layer in catalogue.layers_of(bundle.branch.covering) if bundle.wires else ():
            metres[layer.labour] += (bundle.branch.length_mm + bundle.branch.slack_mm) / 1000
    return metres


def _fitted(net: Net, joints: Iterable[Joint]) -> int:
    """Components that wires end at, each once; a splice or a plug in the loom is no fitting."""
    spliced = {j.pin.point for j in joints if j.style.family == "splice"}
    points = {pin.point for wire in net.book.wires for pin in (wire.start, wire.finish)}
    return len([p for p in points - spliced if net.passing(p) != PIN_TO_PIN])


def _breakouts(bundles: Iterable[Bundle]) -> int:
    """Loom points where three branches or more that hold wires meet."""
    meeting: Counter[str] = Counter()
    for bundle in bundles:
        if bundle.wires:
            meeting.update((bundle.branch.start, bundle.branch.finish))
    return sum(1 for branches in meeting.values() if branches > 2)
