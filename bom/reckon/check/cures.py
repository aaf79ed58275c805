"""What would cure a wire: the gauge, the ends that go with it, a fuse of its own."""

from collections.abc import Iterable
from fractions import Fraction

from bom.reckon.check.findings import Findings, in_amps
from bom.trade.catalogue_rows import Cable, takes
from bom.trade.figures import fuse_floor_amps
from bom.trade.larger_ends import at_ends, larger_end
from bom.trade.wires import Joint, SizedWire


def gauge_with_ends(findings: Findings, entry: SizedWire, cable: Cable) -> str:
    """A gauge as a cure, with the ends that take it where the wire's own do not."""
    ends = ends_for(findings, entry, cable)
    return f"gauge {cable.gauge}{ends and f', with {ends}'}"


def ends_for(findings: Findings, entry: SizedWire, cable: Cable) -> str:
    """The ends in place of those that do not take a cable; empty where all do."""
    found = []
    for joint in _joints_of(findings, entry):
        area = _area_with(findings, joint, entry, cable)
        if not takes(joint.style, area):
            found.append((joint.pin, _larger(findings, joint, area)))
    return at_ends(found)


def ends_for_more(findings: Findings, entry: SizedWire) -> str:
    """What follows a thicker cable as a cure: the ends that take it, where its own do not."""
    more = (c for c in findings.kept if c.area_mm2 > entry.cable.area_mm2)
    ends = next((ends_for(findings, entry, cable) for cable in more), "")
    return f", with {ends}," if ends else ","


def larger_contacts(findings: Findings, entry: SizedWire, joints: Iterable[Joint]) -> str:
    """The ends in place of those that do not carry the current of a wire."""
    cable = findings.catalogue.cables.get(entry.enough, entry.cable)
    if findings.is_under_its_fuse(entry):
        cable = rated_for(findings, entry.fuse_amps or Fraction(0)) or cable
    areas = ((joint, _area_with(findings, joint, entry, cable)) for joint in joints)
    found = {joint.pin: _larger(findings, joint, area) for joint, area in areas}
    return at_ends(found.items())


def _joints_of(findings: Findings, entry: SizedWire) -> list[Joint]:
    return [j for j in findings.joints_of.get(entry.wire.label, ()) if not j.mate]


def _area_with(findings: Findings, joint: Joint, entry: SizedWire, cable: Cable) -> Fraction:
    """What a terminal would have to take with another cable for one of its wires."""
    areas = {end.wire.label: findings.by_label[end.wire.label].cable.area_mm2 for end in joint.ends}
    return joint.area_mm2(areas | {entry.wire.label: cable.area_mm2})


def _larger(findings: Findings, joint: Joint, area_mm2: Fraction) -> str:
    amps = max(findings.by_label[end.wire.label].loaded.steady_amps for end in joint.ends)
    ends = findings.catalogue.ends.values()
    return larger_end(ends, joint.style, joint.pin, area_mm2, amps)


def rated_for(findings: Findings, amps: Fraction) -> Cable | None:
    """The thinnest cable of the shop, or else of the catalogue, that is rated for a current."""
    made = (c for c in findings.catalogue.cables.values() if c.is_awg is findings.kept[0].is_awg)
    return next((c for c in (*findings.kept, *made) if c.rated_amps >= amps), None)


def thicker(findings: Findings, entry: SizedWire, amps: Fraction) -> str:
    """The cable that is rated for a current, as a cure, with the ends that take it."""
    enough = rated_for(findings, amps)
    if enough is None:
        return "two wires side by side, or less load on it"
    gauge, ends = (
        f"gauge {enough.gauge} ({in_amps(enough.rated_amps)})",
        ends_for(findings, entry, enough),
    )
    if enough not in findings.kept:
        return f"{gauge}, which the house rule gauges leaves out"
    if ends and entry.wire.gauge is None:
        return f"{ends}, for {gauge}"
    return f"{gauge}{ends and f', with {ends}'}"


def own_fuse(findings: Findings, entry: SizedWire) -> str:
    """A fuse for this wire alone that protects it; empty where none covers its load."""
    floor = fuse_floor_amps(entry.loaded.steady_amps, findings.rules.fuse_load_percent)
    floor = max(floor, Fraction(findings.rules.fuse_least_a))
    ratings = (fuse.amps for fuse in findings.catalogue.ratings("blade"))
    rating = next((amps for amps in ratings if amps >= floor), None)
    if rating is None or rating > entry.cable.rated_amps or entry.loaded.is_return:
        return ""
    return f"a fuse of its own for this wire, of {in_amps(rating)}"
