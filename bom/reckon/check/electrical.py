"""Checks of current: ratings, heat, drop, fuses against wires, contacts, charging."""

from collections import defaultdict
from collections.abc import Iterator
from fractions import Fraction

from bom.reckon.check.circuits import unfused_feeds
from bom.reckon.check.cures import (
    ends_for,
    ends_for_more,
    gauge_with_ends,
    larger_contacts,
    own_fuse,
    rated_for,
    thicker,
)
from bom.reckon.check.findings import DUST, Findings, in_amps
from bom.trade.figures import starter_area_mm2
from bom.trade.job_book import NO_FUSE, OneOf, Pin, Wire
from bom.trade.one_of import ALWAYS, largest_sum
from bom.trade.point_names import is_fuse
from bom.trade.problem import Problem, Where, caution, error
from bom.trade.rows import Row
from bom.trade.wires import SizedWire

HOT_FUSE = Fraction(5, 4)
"""A fuse over so many times a wire's rating lets a long overload pass the insulation's limit."""
NO_LOADS = frozenset(("starter", "starter control", "charging"))
"""Kinds that are left out when the loads are set against the alternator."""


def too_warm(findings: Findings) -> Iterator[Problem]:
    """A branch whose hottest conductor gets over what its insulation stands, once a branch."""
    if findings.unread:
        return
    for index, heat in findings.sized.heats.items():
        if heat.hottest_c <= heat.most_c + DUST or heat.wire in findings.overloaded:
            continue  # a load over the rating is told, and warms the branch
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
            ends = ends_for_more(findings, entry)
            cure = f"thicker cable for wire {heat.wire}{ends} or two branches instead of one"
        yield caution(branch.row.where("from"), says, cure, alike="branches that get too warm")


def main_fuse_far_away(findings: Findings) -> Iterator[Problem]:
    """More wire between the battery and its first fuse than the house allows.

    Measured along the machine, over splices and the studs of a relay; a starter's own leads are
    not fused and do not count.
    """
    most = Fraction(findings.rules.main_fuse_mm)
    net = findings.net
    unfused = {problem.where for problem in unfused_feeds(findings)}  # a fuse there cures both
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
            way = _open_way(findings, wire, set())
            if unfused.isdisjoint(each.row.where("fuse") for each in way):
                alike = "feeds with their first fuse too far away"
                yield caution(wire.row.where("fuse"), says, cure, alike=alike)


def _open_way(findings: Findings, wire: Wire, seen: set[str]) -> list[Wire]:
    """A wire, and those from the battery on that come to it without a fuse."""
    seen.add(wire.label)
    open_ones = [f for f in findings.feeders(wire) if findings.is_open(f) and f.label not in seen]
    return [wire, *(each for one in open_ones for each in _open_way(findings, one, seen))]


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
    short = [f"{gives:g} W {when}" for when, gives in known.items() if 0 < gives < takes]
    if short:
        says = (
            f"the alternator gives {' and '.join(short)}, the loads take {takes:.0f} W "
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
        ways = {load: currents.worded.get(load, ALWAYS) for load in amps}
        sums[now_and_then] = largest_sum(amps, ways) * Fraction(rules.volts)
    return float(sums[False]), float(sums[True] * Fraction(rules.likely_percent) / 100)


def over_rating(findings: Findings) -> Iterator[Problem]:
    """A load over the cable's table rating; a starter's current is on for seconds."""
    for entry in findings.sized.wires:
        wire, cable = entry.wire, entry.cable
        if wire.label in findings.overloaded:
            steady = entry.loaded.steady_amps
            says = (
                f"wire {wire.label} carries {in_amps(steady)}, "
                f"{cable.gauge} is rated {in_amps(cable.rated_amps)}"
            )
            cure = thicker(findings, entry, max(steady, entry.fuse_amps or Fraction(0)))
            alike = "wires that carry more than they are rated for"
            yield error(wire.row.where("gauge"), says, cure, alike=alike)


def thin_starter_leads(findings: Findings) -> Iterator[Problem]:
    """A starter's lead that gets too hot while it is cranked."""
    for entry in findings.sized.wires:
        if findings.is_thin_starter_lead(entry.wire.label):
            amps = float(entry.loaded.starter_amps)
            least = starter_area_mm2(amps)
            says = (
                f"wire {entry.wire.label} is {entry.cable.gauge}: {amps:g} A of a starter ask for "
                f"{least:.1f} mm2 at the least"
            )
            kept = [c for c in findings.kept if c.kind == "battery"] or findings.kept
            enough = next((c for c in kept if float(c.area_mm2) >= least), None)
            cure = (
                gauge_with_ends(findings, entry, enough) if enough else "battery cable, with lugs"
            )
            alike = "starter leads that are too thin"
            yield error(entry.wire.row.where("gauge"), says, cure, alike=alike)


def under_its_fuse(findings: Findings) -> Iterator[Problem]:
    """A fuse over the table rating of a wire: the wire would burn before the fuse blows."""
    for entry in findings.sized.wires:
        if findings.is_under_its_fuse(entry) and not findings.is_behind_a_starters_fuse(entry):
            yield _under_its_fuse(findings, entry)


def _under_its_fuse(findings: Findings, entry: SizedWire) -> Problem:
    cable, fuse = entry.cable, entry.fuse_amps or Fraction(0)
    says = (
        f"wire {entry.wire.label} is {cable.gauge}, rated {in_amps(cable.rated_amps)}, "
        f"behind a fuse of {in_amps(fuse)} ({entry.loaded.fuse})"
    )
    where, cure = entry.wire.row.where("gauge"), _under_a_smaller_fuse(findings, entry, fuse)
    if fuse > cable.rated_amps * HOT_FUSE:
        alike = "wires behind a fuse over 1.25 times what they are rated for"
        return error(where, says, cure, alike=alike, acceptable=True)
    return caution(where, says, cure, alike="wires behind a fuse over what they are rated for")


def _under_a_smaller_fuse(findings: Findings, entry: SizedWire, fuse: Fraction) -> str:
    """A smaller fuse, else a thicker wire; where its ends take none, a fuse of its own first."""
    smaller, gauge = _smaller_fuse(findings, entry), thicker(findings, entry, fuse)
    alone = own_fuse(findings, entry) if _wants_ends(findings, entry) else ""
    return smaller or (f"{alone}, or {gauge}" if alone else gauge)


def _wants_ends(findings: Findings, entry: SizedWire) -> bool:
    """True for a wire that is to be thicker for its fuse than its ends take."""
    if not findings.is_under_its_fuse(entry) or _smaller_fuse(findings, entry):
        return False
    enough = rated_for(findings, entry.fuse_amps or Fraction(0))
    return enough is None or bool(ends_for(findings, entry, enough))


def _smaller_fuse(findings: Findings, entry: SizedWire) -> str:
    """The fuse that still covers its load and protects this wire, if there is one."""
    name = entry.loaded.fuse
    load = next((load for load in findings.fuse_loads if load.name == name), None)
    fuse = findings.fuses.get(str(name))
    if load is None or fuse is None or not load.amps:
        return ""
    floor = findings.least_rating(load)
    ratings = (rating.amps for rating in findings.catalogue.ratings(fuse.kind))
    rating = next((amps for amps in ratings if amps >= floor), None)
    if rating is None or rating > entry.cable.rated_amps:
        return ""
    return f"a fuse of {in_amps(rating)}"


def contact_amps(findings: Findings) -> Iterator[Problem]:
    """More current than a contact is made for, once a wire."""
    for label, joints in findings.hot_contacts.items() if findings.whole else ():
        entry, first = findings.by_label[label], joints[0]
        if entry.lacks and _wants_ends(findings, entry):
            continue  # told there, with larger ends
        pins = " and ".join(str(joint.pin) for joint in joints)
        least = min(joint.style.amps for joint in joints if joint.style.amps is not None)
        amps, limit = in_amps(entry.loaded.amps), in_amps(least)
        says = f"{amps} through a {first.style.end} at {pins}, made for {limit}"
        end = next(end for end in first.ends if end.wire.label == label)
        cure = larger_contacts(findings, entry, joints)
        alike = "wires with more current than their contacts are made for"
        yield caution(end.wire.row.where(end.heading), says, cure, alike=alike)


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
            alike = "words without choices on many loads"
            yield caution(rows[2].where("one of"), says, cure, alike=alike)
