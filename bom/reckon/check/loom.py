"""Checks of colour, terminals and loom: what a person sees when it is laid out."""

from collections import Counter, defaultdict
from collections.abc import Iterator
from fractions import Fraction

from bom.files.spelling import fold
from bom.reckon.check.findings import Findings
from bom.reckon.net import PIN_TO_PIN
from bom.reckon.own_pins import pin_of_its_own
from bom.trade.job_book import Wire
from bom.trade.larger_ends import is_eye
from bom.trade.point_names import is_earth
from bom.trade.problem import Problem, caution, error, nearest
from bom.trade.wires import Joint, SizedWire


def cable_colours(findings: Findings) -> Iterator[Problem]:
    """Battery cable is made in few colours."""
    for entry in findings.sized.wires:
        colours = entry.cable.colours
        if colours and entry.wire.colour and str(entry.wire.colour) not in colours:
            says = f"{entry.cable.gauge} is not made in {entry.wire.colour}"
            where, cure = entry.wire.row.where("colour"), " or ".join(colours)
            yield caution(where, says, cure, alike="cables that are not made in their colour")


def same_colour_in_a_branch(findings: Findings) -> Iterator[Problem]:
    """Two circuits in one branch in the same colour; a return is known by its earth.

    Wires that are joined anyhow may be taken for each other.
    """
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
            one, two = findings.strands[wire.label], findings.strands[other.wire.label]
            if one.node == two.node or not one.clashes(two) or pair in said:
                continue
            said.add(pair)
            says = (
                f"'{wire.circuit}' and '{other.wire.circuit}' are both {wire.colour} "
                f"in the branch {book.branches[branch]}"
            )
            odd = _odd_one(findings, wire, other.wire)
            where, cure = odd.row.where("colour"), _other_colour(findings, odd, branch)
            yield caution(where, says, cure, alike="colours met twice in one branch")


def _odd_one(findings: Findings, wire: Wire, other: Wire) -> Wire:
    """Of two wires in one colour the one that it is not usual for, else the later."""
    its, others = (findings.catalogue.usual_colour(each.circuit) for each in (wire, other))
    return other if others and its == str(wire.colour) != others else wire


def _other_colour(findings: Findings, wire: Wire, branch: int) -> str:
    """The usual colour of a circuit, unless another has it by right in the branch; else a trace."""
    usual, colour = findings.catalogue.usual_colour(wire.circuit), wire.colour
    there = [e.wire for e in findings.sized.wires if branch in e.loaded.measured.branches]
    in_it = {w.circuit for w in there if str(w.colour) == usual and w.circuit != wire.circuit}
    by_right = [c for c in in_it if findings.catalogue.usual_colour(c) == usual]
    if usual not in ("", str(colour)) and not by_right:
        return usual
    return f"{colour.body} with {'another' if colour.trace else 'a'} trace" if colour else ""


def colour_changes(findings: Findings) -> Iterator[Problem]:
    """A circuit keeps the body of its colour from end to end; a trace may come in."""
    for entry in findings.sized.wires:
        wire = entry.wire
        if entry.loaded.is_return or wire.colour is None or not wire.circuit:
            continue
        own = findings.net.component(wire.start.point)
        if own.load is not None or {"flasher", "relay"} & set(own.name.casefold().split()):
            continue  # behind a flasher or a relay the colour may change (BS AU 7)
        circuit = findings.strands[wire.label].circuit
        for feeder in findings.feeders(wire):
            same = findings.strands[feeder.label].circuit == circuit
            if same and feeder.colour and feeder.colour.body != wire.colour.body:
                says = (
                    f"'{wire.circuit}' turns from {feeder.colour} to {wire.colour} at {wire.start}"
                )
                cure, alike = str(feeder.colour), "circuits that change their colour"
                yield caution(wire.row.where("colour"), says, cure, alike=alike)
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
            alike = "earths in another colour than most"
            yield caution(wire.row.where("colour"), says, str(usual), alike=alike)


def _only_charges(findings: Findings, entry: SizedWire) -> bool:
    """True for the way back of a regulator or an alternator."""
    kinds = {findings.currents.kinds[load] for load in findings.currents.of(entry.loaded.loads)}
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
        if wires > 2 and not findings.is_too_small(joint):
            end = joint.ends[2] if len(joint.ends) > 2 else joint.ends[-1]
            says = f"{wires} wires in one {joint.style.end} at {joint.pin}"
            where = end.wire.row.where(end.heading.removesuffix(" end"))
            alike = "contacts with more than two wires"
            yield caution(where, says, "a splice point in front of it", alike=alike)


def thin_for_its_terminal(findings: Findings) -> Iterator[Problem]:
    """A wire thinner than the terminal is made for, once a wire."""
    cables = {entry.cable.gauge: entry.cable for entry in findings.sized.wires}
    thinnest = min((cable.area_mm2 for cable in cables.values()), default=Fraction(0))
    thin: dict[str, list[Joint]] = defaultdict(list)
    for joint in findings.ends.joints:
        end = joint.ends[-1]
        if joint.mate or joint.style.min_mm2 <= thinnest:
            continue
        if findings.area_mm2(joint) < joint.style.min_mm2:
            thin[end.wire.label].append(joint)
    for label, joints in thin.items():
        if findings.is_thin_starter_lead(label):
            continue  # told as too thin for its cranking
        end, area = joints[0].ends[-1], float(findings.area_mm2(joints[0]))
        made = " and ".join(
            f"a {j.style.end} at {j.pin}, made for {float(j.style.min_mm2):g} mm2 and up"
            for j in joints
        )
        alike = "wires thin for their terminals"
        cure = "fold the conductor back double"
        yield caution(end.wire.row.where(end.heading), f"{area:g} mm2 in {made}", cure, alike=alike)


def thin_beside_thick(findings: Findings) -> Iterator[Problem]:
    """A thin wire in one lug with battery cable: no crimp holds both (common practice)."""
    for joint in findings.ends.joints:
        if len(joint.ends) < 2 or not is_eye(joint.style.end) or findings.is_too_small(joint):
            continue
        areas = [findings.by_label[end.wire.label].cable.area_mm2 for end in joint.ends]
        thin = [n for n, area in enumerate(areas) if area < joint.style.min_mm2]
        unlike = any(end.typed not in (None, joint.style.end) for end in joint.ends)  # told
        if thin and max(areas) >= joint.style.min_mm2 and not unlike:
            end, size = joint.ends[thin[0]], joint.style.end.split()[1]
            says = (
                f"{float(areas[thin[0]]):g} and {float(max(areas)):g} mm2 in one "
                f"{joint.style.end} at {joint.pin}: no crimp holds both"
            )
            own, passed = pin_of_its_own(findings.net, end)
            where = end.wire.row.where(end.heading.removesuffix(" end"))
            cure, alike = f"{own}, with ring {size}{passed}", "thin wires in one lug with a thick"
            yield caution(where, says, cure, alike=alike)


def plug_pins(findings: Findings) -> Iterator[Problem]:
    """Bare ends at a plug in the loom: which pin meets which cannot be told."""
    for wire in findings.book.wires:
        for pin, _, heading in wire.ends:
            if not pin.pin and findings.net.passing(pin.point) == PIN_TO_PIN:
                where = wire.row.where(heading.removesuffix(" end"))
                says = f"wire {wire.label} ends at the plug {pin.point} without a pin"
                alike = "wires that end at a plug without a pin"
                yield error(where, says, f"{pin.point}:1", alike=alike)


def pins_off_the_face(findings: Findings) -> Iterator[Problem]:
    """A wired pin that the face of its plug does not have: it would be drawn without it."""
    for name, component in findings.book.components.items():
        drawn = {fold(pin) for row in component.face for pin in row}
        pins = [pin for pin in findings.net.pins.get(name, ()) if drawn and fold(pin) not in drawn]
        if pins and component.row:
            says = f"the face of {name} has no pin {' nor '.join(map(repr, pins))}"
            cure = "the pins as on Circuits, row by row: 1 2 3 / 4 5 -"
            alike = "plugs with a face that lacks a pin"
            yield caution(component.row.where("face"), says, cure, alike=alike)


def unused_branches(findings: Findings) -> Iterator[Problem]:
    """Branches that no wire runs through: nothing is reckoned for them."""
    used = {b for entry in findings.sized.wires for b in entry.loaded.measured.branches}
    if not findings.whole or not used:
        return
    for index, branch in enumerate(findings.book.branches):
        if index not in used:
            says = f"no wire runs through the branch {branch}: no covering is reckoned for it"
            yield caution(branch.row.where("from"), says, alike="branches without a wire")


def places_off_the_loom(findings: Findings) -> Iterator[Problem]:
    """A component that sits at no point of the loom, though all its wires have typed lengths."""
    book = findings.book
    points = {point for branch in book.branches for point in (branch.start, branch.finish)}
    measured = {pin.point for w in book.wires if w.length_mm is None for pin in (w.start, w.finish)}
    for name, component in book.components.items():
        elsewhere = component.at != name and component.at not in points
        if book.whole and points and component.row and elsewhere and name not in measured:
            says = f"{name} sits at '{component.at}', which is no point of the loom"
            where, cure = component.row.where("at"), nearest(component.at, points)
            yield caution(where, says, cure, alike="components that sit at no point of the loom")
