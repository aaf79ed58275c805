"""Checks of current: ratings, heat, drop, fuses against wires, contacts, charging."""

from collections import defaultdict
from collections.abc import Iterator
from fractions import Fraction

from bom.reckon.check.findings import Findings, in_amps
from bom.trade.catalogue_rows import Cable, takes
from bom.trade.figures import starter_area_mm2
from bom.trade.job_book import NO_FUSE, UNREAD, Component, OneOf, Pin, Wire
from bom.trade.one_of import ALWAYS, largest_sum
from bom.trade.point_names import is_fuse
from bom.trade.problem import Problem, Where, caution, error
from bom.trade.rows import Row
from bom.trade.wires import SizedWire, Supply

HOT_FUSE = Fraction(5, 4)
"""A fuse over so many times a wire's rating lets a long overload pass the insulation's limit."""
NO_LOADS = frozenset(("starter", "starter control", "charging"))
"""Kinds that are left out when the loads are set against the alternator."""


def no_current(findings: Findings) -> Iterator[Problem]:
    """0 A either way, unless the gauge is typed."""
    if findings.unread:
        return
    for entry in findings.sized.wires:
        wire = entry.wire
        if entry.loaded.amps == 0 and wire.gauge is None and not findings.has_no_load(wire):
            says = f"wire {wire.label} leads to no load and comes from none: 0 A"
            cure = f"a load for {wire.finish.point} or in this cell, or a gauge"
            if findings.should_charge(wire):
                says = f"wire {wire.label} comes from {wire.start.point}, and nobody says how much"
                cure = f"what {wire.start.point} gives, in A"
            yield caution(wire.row.where("load"), says, cure)


def loads_of_nothing(findings: Findings) -> Iterator[Problem]:
    """A load of 0 W or 0 A: a blank cell asks for it, a nought does not."""
    owners: list[Component | Wire] = [*findings.book.components.values(), *findings.book.wires]
    for owner in owners:
        load, row = owner.load, owner.row
        if load is not None and not load.amount and load is not UNREAD and row is not None:
            name = f"wire {owner.label}" if isinstance(owner, Wire) else owner.name
            says = f"the load of {name} is 0 {load.unit}: its wires are sized for nothing"
            yield caution(row.where("load"), says, "its watts or amps, or a blank cell")


def none_meets_all(findings: Findings) -> Iterator[Problem]:
    """A gauge chosen as the largest that fits, since none of the house meets all."""
    for entry in findings.sized.wires:
        if not entry.lacks:
            continue
        most = max(entry.loaded.steady_amps, entry.fuse_amps or Fraction(0))
        if most <= entry.cable.rated_amps:  # else it is told as an error
            says = (
                f"no gauge the shop keeps and the ends take will do for wire {entry.wire.label}; "
                f"{entry.cable.gauge} is taken: {'; '.join(entry.lacks)}"
            )
            cure = "larger ends, a splice point, or a gauge typed here"
            yield caution(entry.wire.row.where("gauge"), says, cure)


def too_warm(findings: Findings) -> Iterator[Problem]:
    """A branch whose hottest conductor gets over what its insulation stands, once a branch."""
    if findings.unread:
        return
    for index, heat in findings.sized.heats.items():
        if heat.hottest_c <= heat.most_c + _DUST:
            continue
        branch = findings.book.branches[index]
        entry = findings.by_label[heat.wire]
        around = findings.rules.ambient_c if branch.ambient_c is None else branch.ambient_c
        says = (
            f"the wires in {branch} get to {heat.hottest_c:.0f} C with {around:g} C around them, "
            f"{heat.most_c:g} C is the most for their insulation; wire {heat.wire} "
            f"({entry.cable.gauge}, {in_amps(entry.loaded.amps)}) gives off most"
        )
        cure = "a cooler place for it, or wires of their own way"
        if float(around) < heat.most_c and entry.loaded.heat_amps:
            cure = f"thicker cable for wire {heat.wire}, or two branches instead of one"
        yield caution(branch.row.where("from"), says, cure)


_DUST = 1e-9


def too_much_drop(findings: Findings) -> Iterator[Problem]:
    """Ways from the supply to a load and back that lose more than their kind allows.

    Named at the wire that loses most of them, once for all its loads.
    """
    if findings.unread:
        return
    blamed: dict[str, list[tuple[float, float, Supply]]] = defaultdict(list)
    for supply in findings.supplies:
        over = _over(findings, supply)
        if not over:
            continue
        drop, allowed, labels = max(over, key=lambda each: each[0] / each[1])
        if supply.kind == "starter" and any(map(findings.is_thin_starter_lead, labels)):
            continue  # told as too thin for its cranking
        most = max(labels, key=lambda label: findings.by_label[label].drop_volts)
        blamed[most].append((drop, allowed, supply))
    for label, found in blamed.items():
        yield _drop_problem(findings, findings.by_label[label], found)


def _over(findings: Findings, supply: Supply) -> list[tuple[float, float, tuple[str, ...]]]:
    """The stretches of a way that lose too much: what they lose, what they may, their wires."""
    found = []
    for labels, volts in supply.limits:
        lost = sum([findings.lost_volts(label, supply.kind) for label in labels])
        if lost > volts + _DUST and supply.length_mm:
            found.append((lost, volts, labels))
    return found


def _drop_problem(
    findings: Findings, entry: SizedWire, found: list[tuple[float, float, Supply]]
) -> Problem:
    drop, allowed, supply = max(found, key=lambda each: each[0] / each[1])
    others = f" and {len(found) - 1} more" if len(found) > 1 else ""
    whole = " and back" if allowed == supply.allowed_volts else ""
    says = (
        f"{drop:.2f} V are lost on the way to {supply.load}{others}{whole}, "
        f"{allowed:.2f} V are allowed; wire {entry.wire.label} "
        f"({entry.cable.gauge}) loses {entry.drop_volts:.2f} V"
    )
    target = entry.drop_volts - (drop - allowed)
    ohm = entry.cable.ohm_per_km_20c * max(target, 0) / entry.drop_volts
    enough = next((c for c in findings.kept if c.ohm_per_km_20c <= ohm), None)
    thicker = "thicker cable on the whole way"
    if enough:
        thicker = f"gauge {enough.gauge}{_with_ends(findings, entry, enough)}"
    return caution(entry.wire.row.where("gauge"), says, thicker)


def main_fuse_far_away(findings: Findings) -> Iterator[Problem]:
    """More wire between the battery and its first fuse than the house allows.

    Measured along the machine, over splices and the studs of a relay; a starter's own leads are
    not fused and do not count.
    """
    most = Fraction(findings.rules.main_fuse_mm)
    net = findings.net
    ahead: dict[Pin, bool] = {}  # looked for once at each port: thousands of wires may meet there
    for wire in findings.book.wires:
        entry = findings.by_label[wire.label]
        if entry.loaded.is_return:
            continue
        port = net.finish[wire.label]
        if port not in ahead:
            ahead[port] = _fuses_ahead(findings, port)
        at_far_end = wire.start.point in net.sources and is_fuse(wire.finish.point)
        open_end = ahead[port] and findings.is_open(wire)
        if not (at_far_end or open_end):
            continue
        path_mm = _unfused_mm(findings, entry, frozenset())
        if path_mm is not None and path_mm > most and net.batteries:
            says = (
                f"{float(path_mm):.0f} mm of wire lie between the battery and the fuse at "
                f"{wire.finish.point} with no fuse before them"
            )
            cure = f"a fuse within {float(most):g} mm of the battery"
            yield caution(wire.row.where("fuse"), says, cure)


def _fuses_ahead(findings: Findings, port: Pin) -> bool:
    """True where a wire that ends at a port runs into a fuse."""
    looped, through = findings.net.beyond(port)
    fused = any(wire.fuse not in (None, NO_FUSE) for wire in (*looped, *through))
    return fused or is_fuse(port.point)


def _unfused_mm(findings: Findings, entry: SizedWire, seen: frozenset[str]) -> Fraction | None:
    """The longest run from the battery to the end of a wire without a fuse; None for no battery."""
    wire, net = entry.wire, findings.net
    measured = entry.loaded.measured
    own = Fraction(0) if entry.loaded.starter_amps else measured.path_mm + measured.slack_mm
    if wire.start.point in net.sources:
        return own
    before = [
        found
        for feeder in findings.feeders(wire)
        if feeder.label not in seen and findings.is_open(feeder)
        for found in [_unfused_mm(findings, findings.by_label[feeder.label], seen | {wire.label})]
        if found is not None
    ]
    return own + max(before) if before else None


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

    Of loads that are never on together the largest choice counts; what flashes or is on for
    moments counts for `likely_percent` of itself.
    """
    currents, rules = findings.currents, findings.rules
    fed = [supply for supply in findings.supplies if supply.kind not in NO_LOADS]
    sums = {}
    for now_and_then in (False, True):
        amps = {
            supply.load: supply.amps
            for supply in fed
            if (currents.runs[supply.load] in ("flashing", "brief")) is now_and_then
        }
        ways = {load: currents.ways.get(load, ALWAYS) for load in amps}
        sums[now_and_then] = largest_sum(amps, ways) * Fraction(rules.volts)
    return float(sums[False]), float(sums[True] * Fraction(rules.likely_percent) / 100)


def over_rating(findings: Findings) -> Iterator[Problem]:
    """A load over the cable's table rating; a starter's current is on for seconds."""
    for entry in findings.sized.wires:
        wire, cable = entry.wire, entry.cable
        steady = entry.loaded.steady_amps
        if steady > cable.rated_amps:
            says = (
                f"wire {wire.label} carries {in_amps(steady)}, "
                f"{cable.gauge} is rated {in_amps(cable.rated_amps)}"
            )
            cure = _thicker(findings, entry, max(steady, entry.fuse_amps or Fraction(0)))
            yield error(wire.row.where("gauge"), says, cure)


def thin_starter_leads(findings: Findings) -> Iterator[Problem]:
    """A starter's lead that gets too hot while it is cranked."""
    for entry in findings.sized.wires:
        if entry.loaded.starter_amps and findings.is_thin_starter_lead(entry.wire.label):
            amps = float(entry.loaded.starter_amps)
            least = starter_area_mm2(amps)
            says = (
                f"wire {entry.wire.label} is {entry.cable.gauge}: {amps:g} A of a starter ask for "
                f"{least:.1f} mm2 at the least"
            )
            kept = [c for c in findings.kept if c.kind == "battery"] or findings.kept
            enough = next((c for c in kept if float(c.area_mm2) >= least), None)
            cure = f"gauge {enough.gauge}" if enough else "battery cable"
            yield error(entry.wire.row.where("gauge"), says, cure)


def under_its_fuse(findings: Findings) -> Iterator[Problem]:
    """A fuse over the table rating of a wire: the wire would burn before the fuse blows."""
    for entry in findings.sized.wires:
        fuse, cable, wire = entry.fuse_amps, entry.cable, entry.wire
        if fuse is None or fuse <= cable.rated_amps:
            continue
        hot = fuse > cable.rated_amps * HOT_FUSE
        says = (
            f"wire {wire.label} is {cable.gauge}, rated {in_amps(cable.rated_amps)}, "
            f"behind a fuse of {in_amps(fuse)} ({entry.loaded.fuse})"
        )
        cure = _smaller_fuse(findings, entry) or _thicker(findings, entry, fuse)
        yield (error if hot else caution)(wire.row.where("gauge"), says, cure)


def _smaller_fuse(findings: Findings, entry: SizedWire) -> str:
    """The fuse that still covers its load and protects this wire, if there is one."""
    name = entry.loaded.fuse
    load = next((load for load in findings.fuse_loads if load.name == name), None)
    fuse = next((fuse for fuse in findings.sized.fuses if fuse.name == name), None)
    if load is None or fuse is None or not load.amps:
        return ""
    floor = findings.least_rating(load)
    ratings = (rating.amps for rating in findings.catalogue.ratings(fuse.kind))
    rating = next((amps for amps in ratings if amps >= floor), None)
    if rating is None or rating > entry.cable.rated_amps:
        return ""
    return f"a fuse of {in_amps(rating)}"


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
