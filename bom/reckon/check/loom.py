"""Checks of colour, terminals and loom: what a person sees when it is laid out."""

from collections import Counter
from collections.abc import Iterator
from fractions import Fraction

from bom.reckon.check.findings import Findings
from bom.reckon.net import PIN_TO_PIN
from bom.trade.point_names import is_earth
from bom.trade.problem import Problem, caution, error, nearest
from bom.trade.wires import SizedWire


def cable_colours(findings: Findings) -> Iterator[Problem]:
    """Battery cable is made in few colours."""
    for entry in findings.sized.wires:
        colours = entry.cable.colours
        if colours and entry.wire.colour and str(entry.wire.colour) not in colours:
            says = f"{entry.cable.gauge} is not made in {entry.wire.colour}"
            yield caution(entry.wire.row.where("colour"), says, " or ".join(colours))


def same_colour_in_a_branch(findings: Findings) -> Iterator[Problem]:
    """Two circuits in one branch in the same colour; a return is known by its earth."""
    book = findings.book
    first: dict[tuple[int, object], SizedWire] = {}
    said: set[tuple[str, str]] = set()
    for entry in findings.sized.wires:
        wire = entry.wire
        if entry.loaded.is_return or wire.colour is None or not wire.circuit:
            continue
        for branch in entry.loaded.measured.branches:
            other = first.setdefault((branch, wire.colour), entry)
            pair = (other.wire.circuit.casefold(), wire.circuit.casefold())
            if pair[0] == pair[1] or pair in said:
                continue
            said.add(pair)
            says = (
                f"'{wire.circuit}' and '{other.wire.circuit}' are both {wire.colour} "
                f"in the branch {book.branches[branch]}"
            )
            yield caution(wire.row.where("colour"), says, f"{wire.colour.body} with a trace")


def colour_changes(findings: Findings) -> Iterator[Problem]:
    """A circuit keeps the body of its colour from end to end; a trace may come in."""
    for entry in findings.sized.wires:
        wire = entry.wire
        if entry.loaded.is_return or wire.colour is None or not wire.circuit:
            continue
        own = findings.net.component(wire.start.point)
        if own.load is not None or {"flasher", "relay"} & set(own.name.casefold().split()):
            continue  # behind a flasher or a relay the colour may change (BS AU 7)
        for feeder in findings.feeders(wire):
            same = feeder.circuit.casefold() == wire.circuit.casefold()
            if same and feeder.colour and feeder.colour.body != wire.colour.body:
                says = (
                    f"'{wire.circuit}' turns from {feeder.colour} to {wire.colour} at {wire.start}"
                )
                yield caution(wire.row.where("colour"), says, str(feeder.colour))
                break


def earth_colours(findings: Findings) -> Iterator[Problem]:
    """Earths in one colour: one that differs from most of them."""
    earths = [
        entry.wire
        for entry in findings.sized.wires
        if entry.loaded.is_return and entry.wire.colour and is_earth(entry.wire.finish)
    ]
    if not earths:
        return
    usual, number = Counter(wire.colour for wire in earths).most_common(1)[0]
    for wire in earths:
        charging = findings.catalogue.kind_of(wire.start.point) == "charging"
        if wire.colour == usual or number == 1 or charging:
            continue
        if not _only_charges(findings, findings.by_label[wire.label]):
            says = f"wire {wire.label} is an earth in {wire.colour}, the others are {usual}"
            yield caution(wire.row.where("colour"), says, str(usual))


def _only_charges(findings: Findings, entry: SizedWire) -> bool:
    """True for the way back of a regulator or an alternator."""
    kinds = {findings.currents.kinds[load] for load in entry.loaded.loads}
    return kinds == {"charging"}


def all_one_colour(findings: Findings) -> Iterator[Problem]:
    """A loom all in one colour is a fault in itself (common practice)."""
    colours = {wire.colour for wire in findings.book.wires}
    if len(findings.book.wires) > 2 and len(colours) == 1 and None not in colours:
        wire = findings.book.wires[0]
        says = f"every wire of this loom is {wire.colour}: nobody can trace a fault in it"
        yield caution(wire.row.where("colour"), says, "a colour for each circuit, black for earths")


def crowded_contacts(findings: Findings) -> Iterator[Problem]:
    """More than two wires in one bullet, blade or housing contact."""
    for joint in findings.ends.joints:
        if joint.mate or not (joint.half or joint.style.housing):
            continue
        wires = sum(end.wire.qty for end in joint.ends) if joint.count == 1 else 1
        if wires > 2:
            end = joint.ends[2] if len(joint.ends) > 2 else joint.ends[-1]
            says = f"{wires} wires in one {joint.style.end} at {joint.pin}"
            where = end.wire.row.where(end.heading.removesuffix(" end"))
            yield caution(where, says, "a splice point in front of it")


def thin_for_its_terminal(findings: Findings) -> Iterator[Problem]:
    """A wire thinner than the terminal is made for."""
    areas = {label: entry.cable.area_mm2 for label, entry in findings.by_label.items()}
    cables = {entry.cable.gauge: entry.cable for entry in findings.sized.wires}
    thinnest = min((cable.area_mm2 for cable in cables.values()), default=Fraction(0))
    for joint in findings.ends.joints:
        if joint.mate or joint.style.min_mm2 <= thinnest:
            continue
        area = joint.area_mm2(areas)
        if area < joint.style.min_mm2:
            end = joint.ends[-1]
            says = (
                f"{float(area):g} mm2 in a {joint.style.end} at {joint.pin}, "
                f"made for {float(joint.style.min_mm2):g} mm2 and up"
            )
            yield caution(end.wire.row.where(end.heading), says, "fold the conductor back double")


def plug_pins(findings: Findings) -> Iterator[Problem]:
    """Bare ends at a plug in the loom: which pin meets which cannot be told."""
    for wire in findings.book.wires:
        for pin, _, heading in wire.ends:
            if not pin.pin and findings.net.passing(pin.point) == PIN_TO_PIN:
                where = wire.row.where(heading.removesuffix(" end"))
                says = f"wire {wire.label} ends at the plug {pin.point} without a pin"
                yield error(where, says, f"{pin.point}:1")


def unused_components(findings: Findings) -> Iterator[Problem]:
    """Components that no wire ends at."""
    net = findings.net
    if not findings.whole:
        return
    for name, component in findings.book.components.items():
        if name not in net.pins and component.row is not None:
            says = f"component '{name}' has no wires"
            close = nearest(
                name, [point for point in net.pins if point not in findings.book.components]
            )
            yield caution(component.row.where("component"), says, close)


def unused_branches(findings: Findings) -> Iterator[Problem]:
    """Branches that no wire runs through: nothing is reckoned for them."""
    used = {b for entry in findings.sized.wires for b in entry.loaded.measured.branches}
    if not findings.whole or not used:
        return
    for index, branch in enumerate(findings.book.branches):
        if index not in used:
            says = f"no wire runs through the branch {branch}: no covering is reckoned for it"
            yield caution(branch.row.where("from"), says)


def places_off_the_loom(findings: Findings) -> Iterator[Problem]:
    """A component that sits at no point of the loom, though all its wires have typed lengths."""
    book = findings.book
    points = {point for branch in book.branches for point in (branch.start, branch.finish)}
    measured = {pin.point for w in book.wires if w.length_mm is None for pin in (w.start, w.finish)}
    for name, component in book.components.items():
        elsewhere = component.at != name and component.at not in points
        if book.whole and points and component.row and elsewhere and name not in measured:
            says = f"{name} sits at '{component.at}', which is no point of the loom"
            yield caution(component.row.where("at"), says, nearest(component.at, points))


def doubtful_points(findings: Findings) -> Iterator[Problem]:
    """A point met once that is nearly the name of a component, by a slip of the pen."""
    book = findings.book
    met = Counter(pin.point for wire in book.wires for pin in (wire.start, wire.finish))
    loom = {point for branch in book.branches for point in (branch.start, branch.finish)}
    known = {name.casefold(): name for name in book.components}
    for wire in book.wires:
        if wire.length_mm is None:
            continue
        for pin, _, heading in wire.ends:
            if pin.point in book.components or pin.point in loom or met[pin.point] > 1:
                continue
            close = nearest(pin.point, known)
            if close and known[close] not in met:
                where = wire.row.where(heading.removesuffix(" end"))
                yield caution(where, f"point '{pin.point}' is on no other sheet", known[close])
