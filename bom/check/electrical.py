"""Checks of current: ratings, heat, drop, fuses against wires, contacts, charging."""

from collections import defaultdict
from collections.abc import Iterator
from fractions import Fraction

from bom.check.findings import Findings, in_amps
from bom.parts import Cable, takes
from bom.problem import Problem, Where, caution, error
from bom.trade import NO_FUSE, OneOf, Row, SizedWire, Supply
from bom.words import ALWAYS, largest_sum


def no_current(findings: Findings) -> Iterator[Problem]:
    """0 A either way, unless the gauge is typed."""
    if findings.unread:
        return
    for entry in findings.sized.wires:
        wire = entry.wire
        if entry.loaded.amps == 0 and wire.gauge is None:
            says = f"wire {wire.label} leads to no load and comes from none: 0 A"
            cure = f"a load for {wire.finish.point} or in this cell, or a gauge"
            yield caution(wire.row.where("load"), says, cure)


def none_meets_all(findings: Findings) -> Iterator[Problem]:
    """A gauge chosen as the largest that fits, since none of the house meets all."""
    for entry in findings.sized.wires:
        if entry.wire.gauge is None and entry.lacks:
            says = (
                f"no gauge the shop keeps and the ends take will do for wire {entry.wire.label}; "
                f"{entry.cable.gauge} is taken: {'; '.join(entry.lacks)}"
            )
            cure = "larger ends, a splice point, or a gauge typed here"
            yield caution(entry.wire.row.where("gauge"), says, cure)


def too_thin_where_it_lies(findings: Findings) -> Iterator[Problem]:
    """More current than the cable is good for at the ambient temperature, in its bundle."""
    for entry in findings.sized.wires:
        wire = entry.wire
        if wire.gauge is None or (amps := float(entry.steady_amps)) <= entry.derated_amps:
            continue
        if entry.steady_amps > entry.cable.rated_amps:
            continue  # over its table rating: told already
        says = (
            f"wire {wire.label} carries {amps:.3g} A, {entry.cable.gauge} is good for "
            f"{entry.derated_amps:.1f} A where it lies (ambient {entry.ambient_factor:.2f}, "
            f"grouping {entry.grouping_factor:.2f})"
        )
        needed = entry.steady_amps / Fraction(entry.ambient_factor * entry.grouping_factor or 1)
        yield caution(wire.row.where("gauge"), says, _thicker(findings, entry, needed))


def too_much_drop(findings: Findings) -> Iterator[Problem]:
    """Ways from the supply to a load and back that drop more than their kind allows.

    Named at the wire that drops most of those beyond their share, once for all its loads.
    """
    if findings.unread:
        return
    blamed: dict[str, list[tuple[float, Supply]]] = defaultdict(list)
    for supply in findings.supplies:
        drop = sum(findings.by_label[label].drop_volts for label in supply.wires)
        if drop > supply.allowed_volts and supply.length_mm:
            each = supply.allowed_volts / supply.length_mm
            worst = max(supply.wires, key=lambda label: _beyond_share(findings, label, each))
            blamed[worst].append((drop, supply))
    for label, found in blamed.items():
        yield _drop_problem(findings, findings.by_label[label], found)


def _beyond_share(findings: Findings, label: str, volts_per_mm: float) -> float:
    """The drop of a wire that drops more than its share of the way, else 0."""
    entry = findings.by_label[label]
    return entry.drop_volts if entry.drop_volts > volts_per_mm * entry.piece_mm else 0.0


def _drop_problem(
    findings: Findings, entry: SizedWire, found: list[tuple[float, Supply]]
) -> Problem:
    drop, supply = max(found, key=lambda pair: pair[0] / pair[1].allowed_volts)
    others = f" and {len(found) - 1} more" if len(found) > 1 else ""
    says = (
        f"{drop:.2f} V are lost on the way to {supply.load}{others} and back, "
        f"{supply.allowed_volts:.2f} V are allowed; wire {entry.wire.label} "
        f"({entry.cable.gauge}) loses {entry.drop_volts:.2f} V"
    )
    target = entry.drop_volts - (drop - supply.allowed_volts)
    ohm = entry.cable.ohm_per_km_20c * max(target, 0) / entry.drop_volts
    enough = next((c for c in findings.kept if c.ohm_per_km_20c <= ohm), None)
    thicker = "thicker cable on the whole way"
    if enough:
        thicker = f"gauge {enough.gauge}{_with_ends(findings, entry, enough)}"
    return caution(entry.wire.row.where("gauge"), says, thicker)


def main_fuse_far_away(findings: Findings) -> Iterator[Problem]:
    """More unfused wire between the battery and a fuse than the house allows."""
    most = findings.rules.main_fuse_mm
    for entry in findings.sized.wires:
        wire = entry.wire
        if wire.start.point not in findings.net.sources or entry.loaded.is_return:
            continue
        at_far_end = "fuse" in wire.finish.point.casefold().split()
        if wire.fuse != NO_FUSE and at_far_end and entry.piece_mm > most:
            says = (
                f"{entry.piece_mm} mm of wire {wire.label} lie between the battery and "
                f"{wire.finish.point} with no fuse before them"
            )
            yield caution(wire.row.where("length"), says, f"a fuse within {most} mm of the battery")


def charging_balance(findings: Findings) -> Iterator[Problem]:
    """Lights on, the alternator gives less than the loads take."""
    rules = findings.rules
    known = {
        "at idle": float(rules.alternator_idle_w),
        "at road speed": float(rules.alternator_road_w),
    }
    if not any(known.values()):
        return
    continuous, likely = lights_on_watts(findings)
    takes = continuous + likely
    for when, gives in known.items():
        if 0 < gives < takes:
            says = (
                f"the alternator gives {gives:g} W {when}, the loads take {takes:.0f} W "
                f"({continuous:.0f} W continuous, {likely:.0f} W likely)"
            )
            yield caution(Where(findings.book.file, "Job", ""), says, "LED lamps, or less load")


def lights_on_watts(findings: Findings) -> tuple[float, float]:
    """Continuous and likely load in watts: each fed load once, starters left out.

    Of loads that are never on together the largest choice counts; intermittent loads
    count for `likely_percent` of themselves.
    """
    currents, rules = findings.currents, findings.rules
    fed = [supply for supply in findings.supplies if supply.kind not in ("starting", "charging")]
    sums = {}
    for intermittent in (False, True):
        amps = {
            supply.load: supply.amps
            for supply in fed
            if (currents.duty[supply.load] == "intermittent") is intermittent
        }
        ways = {load: currents.ways.get(load, ALWAYS) for load in amps}
        sums[intermittent] = largest_sum(amps, ways) * Fraction(rules.volts)
    return float(sums[False]), float(sums[True] * Fraction(rules.likely_percent) / 100)


def over_rating(findings: Findings) -> Iterator[Problem]:
    """A load over the cable's table rating; starting circuits are only cautioned."""
    for entry in findings.sized.wires:
        wire, cable = entry.wire, entry.cable
        if entry.loaded.amps <= cable.rated_amps:
            continue
        starting = (
            findings.catalogue.circuit_kind(wire.circuit) == "starting"
            or entry.steady_amps <= cable.rated_amps
        )
        level = caution if starting else error
        says = (
            f"wire {wire.label} carries {in_amps(entry.loaded.amps)}, "
            f"{cable.gauge} is rated {in_amps(cable.rated_amps)}"
        )
        cure = _thicker(findings, entry, max(entry.loaded.amps, entry.fuse_amps or Fraction(0)))
        yield level(wire.row.where("gauge"), says, cure)


def under_its_fuse(findings: Findings) -> Iterator[Problem]:
    """A fuse over the table rating of a wire: the wire would burn before the fuse blows."""
    for entry in findings.sized.wires:
        fuse, cable, wire = entry.fuse_amps, entry.cable, entry.wire
        if wire.gauge is None or fuse is None or fuse <= cable.rated_amps:
            continue
        says = (
            f"wire {wire.label} is {cable.gauge}, rated {in_amps(cable.rated_amps)}, "
            f"behind a fuse of {in_amps(fuse)} ({entry.loaded.fuse})"
        )
        yield caution(wire.row.where("gauge"), says, _thicker(findings, entry, fuse))


def _thicker(findings: Findings, entry: SizedWire, amps: Fraction) -> str:
    enough = next((c for c in findings.kept if c.rated_amps >= amps), None)
    if enough is None:
        return ""
    return (
        f"gauge {enough.gauge} ({in_amps(enough.rated_amps)}){_with_ends(findings, entry, enough)}"
    )


def _with_ends(findings: Findings, entry: SizedWire, cable: Cable) -> str:
    """What else it takes where the wire's own ends do not take that cable."""
    ends = (findings.catalogue.ends[style] for style in (entry.start_end, entry.finish_end))
    return "" if all(takes(end, cable.area_mm2) for end in ends) else ", with larger ends"


def contact_amps(findings: Findings) -> Iterator[Problem]:
    """More current than a contact is made for."""
    for joint in findings.ends.joints:
        limit = joint.style.amps
        if limit is None or joint.mate:
            continue
        end = joint.ends[0]
        if len(joint.ends) > 1:
            end = max(joint.ends, key=lambda e: findings.by_label[e.wire.label].loaded.amps)
        amps = findings.by_label[end.wire.label].loaded.amps
        if amps > limit:
            where, made_for = f"a {joint.style.end} at {joint.pin}", in_amps(limit)
            says = f"{in_amps(amps)} through {where}, made for {made_for}"
            yield caution(end.wire.row.where(end.heading), says, "a larger terminal")


def words_on_many_loads(findings: Findings) -> Iterator[Problem]:
    """A word without choices on three loads or more belongs on their feeds."""
    book, net = findings.book, findings.net
    bearers: dict[str, list[tuple[OneOf, Row]]] = defaultdict(list)
    for component in book.components.values():
        if component.one_of and component.load and component.row:
            bearers[component.one_of.word].append((component.one_of, component.row))
    for wire in book.wires:
        if wire.one_of and (wire.load is not None or net.is_own(net.finish[wire.label])):
            bearers[wire.one_of.word].append((wire.one_of, wire.row))
    for word, found in bearers.items():
        rows = [row for one_of, row in found if not one_of.choice]
        if len(rows) >= 3:
            says = f"'{word}' stands on {len(rows)} loads without choices: only one is reckoned on"
            cure = f"the word on the feeds, or choices such as {word}:left and {word}:right"
            yield caution(rows[2].where("one of"), says, cure)
