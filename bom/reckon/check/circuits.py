"""Checks of the circuit: feeds, returns, fuses on them, loads on them, and what passes what."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping

from bom.reckon.check.findings import Findings, in_amps
from bom.reckon.check.loom import colour_changes
from bom.reckon.check.slips import slipped_points
from bom.reckon.strands import JOINS
from bom.trade.job_book import NO_FUSE, Colour, Pin, Wire
from bom.trade.one_of import ALWAYS, largest_sum, union
from bom.trade.point_names import is_battery, is_earth
from bom.trade.problem import Problem, caution, error
from bom.trade.wires import SizedWire


def unfused_feeds(findings: Findings) -> Iterator[Problem]:
    """The first wire of a feed that is behind no fuse and not unfused on purpose."""
    if not findings.whole:
        return
    explained = slipped_points(findings)
    for entry in findings.sized.wires:
        wire = entry.wire
        if entry.loaded.fuse is not None or not _wants_a_fuse(findings, entry):
            continue
        if wire.start.point in explained:
            continue
        names = {findings.by_label[f.label].loaded.fuse for f in findings.feeders(wire)}
        if names == {NO_FUSE} and not findings.net.batteries:
            continue  # a magneto's feeds go unfused all the way
        if None in names:
            continue  # said already at the wire that feeds it
        where = wire.row.where("fuse")
        behind = sorted(name for name in names if name and name != NO_FUSE)
        if len(behind) > 1:
            says = f"wire {wire.label} is fed from behind more than one fuse: {', '.join(behind)}"
            cure, alike = "the name of the fuse it is behind", "wires behind more than one fuse"
            yield caution(where, says, cure, alike=alike)
        elif behind:
            says = f"wire {wire.label} is fed from behind {behind[0]}, and by a wire without a fuse"
            cure, alike = (
                "a fuse on that wire, or the name of one here",
                "wires fed both through a fuse and past it",
            )
            yield caution(where, says, cure, alike=alike)
        else:
            says = f"wire {wire.label} is a feed with no fuse on it"
            cure = "the name of a fuse, or 'none' if that is on purpose"
            yield caution(where, says, cure, alike="feeds without a fuse")


def _wants_a_fuse(findings: Findings, entry: SizedWire) -> bool:
    """A feed, but no alternator's phase, no starter's lead, and nothing that runs into a fuse."""
    loaded, net = entry.loaded, findings.net
    if loaded.is_link:
        return net.is_plus(entry.wire.start) and net.is_plus(entry.wire.finish)
    road = findings.currents.roads.get(entry.wire.label)
    is_phase = road is not None and not road and entry.wire.finish.point not in net.sources
    if loaded.is_return or is_phase or loaded.starter_amps:
        return False
    onward = [w for wires in net.beyond(net.finish[entry.wire.label]) for w in wires]
    feeds = [w for w in onward if not findings.is_return(w)]
    fuses = [findings.by_label[w.label].loaded.fuse for w in feeds]
    return not fuses or any(fuse in (None, NO_FUSE) for fuse in fuses)


def fuse_on_a_return(findings: Findings) -> Iterator[Problem]:
    """A fuse typed on a wire that leads to no load."""
    if findings.unread:
        return
    slipped = slipped_points(findings)
    for wire in findings.book.wires:
        dead = findings.by_label[wire.label].loaded.amps == 0
        told = dead or wire.start.point in slipped
        if wire.fuse not in (None, NO_FUSE) and findings.is_return(wire) and not told:
            says = f"fuse '{wire.fuse}' is on wire {wire.label}, which leads to no load"
            alike = "fuses on wires that lead to no load"
            yield caution(wire.row.where("fuse"), says, "the fuse on the feed", alike=alike)


def no_return(findings: Findings) -> Iterator[Problem]:
    """A component that is fed but has no wire back."""
    book, net = findings.book, findings.net
    if not findings.whole:
        return
    starts = findings.leads_back
    said = set()
    for wire in book.wires:
        point = wire.finish.point
        if point in starts or point in said or findings.is_return(wire):
            continue
        if wire.load is None and not net.is_own(net.finish[wire.label]):
            continue
        if point in net.sources or _goes_on(findings, point):
            continue
        said.add(point)
        says = f"{point} is fed by wire {wire.label} but has no return"
        cure = f"a wire from {point} to earth, unless it earths through its mounting"
        yield caution(wire.row.where("to"), says, cure, alike="components without a return")


def _goes_on(findings: Findings, point: str) -> bool:
    """True for a point without a load that a typed load only passes on its way."""
    net = findings.net
    if net.component(point).load is not None:
        return False
    onward = (net.wires_from(net.port(pin)) for pin in net.pins.get(point, {}).values())
    return any(not findings.is_return(wire) for wires in onward for wire in wires)


def passes_understood(findings: Findings) -> Iterator[Problem]:
    """`passes` cells that cannot be read."""
    net = findings.net
    for name, component in findings.book.components.items():
        if component.row is None or net.passing(name) != "named" or is_battery(name):
            continue
        if not net.passes(name).understood:
            says = f"passes '{component.passes}' is not understood"
            cure = "30 > 87, or 'none', or 'pin to pin'"
            alike = "passes that are not understood"
            yield error(component.row.where("passes"), says, cure, alike=alike)


def loads_beyond_a_typed_load(findings: Findings) -> Iterator[Problem]:
    """A typed load that stands for all beyond it, where the loads there add up to another."""
    if findings.unread:
        return
    net, currents = findings.net, findings.currents
    for label, load in currents.typed.items():
        wire = findings.by_label[label].wire
        if findings.is_return(wire) or currents.kinds[load] == "charging":
            continue
        if not findings.stands_for_all(wire):
            continue
        looped, through = net.beyond(net.finish[label])
        feeds = [w for w in (*looped, *through) if not findings.is_return(w)]
        names = currents.of(union(findings.by_label[w.label].loaded.loads for w in feeds))
        beyond = {name: currents.amps[name] for name in names}
        total = largest_sum(beyond, {name: currents.worded.get(name, ALWAYS) for name in names})
        if names and total and total != currents.amps[load]:
            says = (
                f"the load typed for wire {label}, {in_amps(currents.amps[load])}, stands for all "
                f"beyond {wire.finish.point}, where the loads come to {in_amps(total)}"
            )
            cure, alike = (
                f"{in_amps(total)}, or a blank cell",
                "typed loads unlike those beyond them",
            )
            yield caution(wire.row.where("load"), says, cure, alike=alike)


def load_against_its_component(findings: Findings) -> Iterator[Problem]:
    """A load typed on a row that is another than that of the component the row ends at."""
    net, currents = findings.net, findings.currents
    for name, component in findings.book.components.items():
        if component.load is None or findings.unread:
            continue
        own = [pin for pin in net.pins.get(name, {}).values() if net.is_own(pin)]
        arriving = [w for pin in own for w in net.wires_to(pin)]
        charging = currents.roads
        typed = [
            w
            for w in arriving
            if w.load is not None and not findings.is_return(w) and w.label not in charging
        ]
        amps = [currents.amps[currents.typed[w.label]] for w in typed]
        known = currents.amps[name]
        blank = [w for w in arriving if w.load is None and not findings.is_return(w)]
        if typed and known and not blank and known not in (*amps, sum(amps)):
            wire = typed[0]
            says = (
                f"wire {wire.label} says that {name} takes {in_amps(amps[0])}, Components says "
                f"{in_amps(known)}: the wire's is reckoned with"
            )
            cure, alike = "one of the two, the other cell blank", "loads typed twice, and not alike"
            yield caution(wire.row.where("load"), says, cure, alike=alike)


def feed_and_earth_at_one_pin(findings: Findings) -> Iterator[Problem]:
    """A feed and an earth at one pin of a lamp: the current would run past it."""
    for wire, earth in findings.past_their_load.items():
        pin = wire.finish
        says = f"a feed and an earth at one pin, {pin}: wires {wire.label} and {earth}"
        feed = f"{pin.point}:feed" if findings.net.is_earth_pin(pin) else str(pin)
        cure = f"pins of their own, such as {feed} and {pin.point}:earth"
        yield error(wire.row.where("to"), says, cure, alike="pins with both a feed and an earth")


def nothing_to_the_battery(findings: Findings) -> Iterator[Problem]:
    """Earths that all end on the frame, and no wire from the frame to the battery."""
    net = findings.net
    if not findings.whole or not net.batteries:
        return
    returns = [wire for wire in findings.book.wires if findings.is_return(wire)]
    earthed = [w for w in returns if not net.wires_from(net.finish[w.label])]
    earthed = [w for w in earthed if w.finish.point not in net.batteries and _carries(findings, w)]
    if earthed and not any(wire.finish.point in net.batteries for wire in returns):
        wire = next((w for w in earthed if is_earth(w.finish)), earthed[0])
        frame = wire.finish.point if is_earth(wire.finish) else "the frame"
        says = (
            f"no wire leads from {frame} to the battery "
            f"(earths that end on the frame: {len(earthed)})"
        )
        cure = f"the earth strap: a wire from {frame} to {min(net.batteries)}"
        yield caution(wire.row.where("to"), says, cure)


def _carries(findings: Findings, wire: Wire) -> bool:
    return findings.by_label[wire.label].loaded.amps > 0


def wires_on_the_wrong_pole(findings: Findings) -> Iterator[Problem]:
    """Feeds and earths at one pole of the battery: the fewer of the two are on the wrong one."""
    positive = findings.net.positive_earth
    wrong = {
        earth: _on_the_wrong_pole(findings, positive=earth) for earth in (positive, not positive)
    }
    positive = min(wrong, key=lambda earth: len(wrong[earth]))
    for wire in wrong[positive]:
        right = "+" if positive == findings.is_return(wire) else "-"
        pin, heading = wire.start, "from"
        says = f"wire {wire.label} starts at {pin}, the pole that the earths lead back to"
        alike = "feeds that start at the pole of the earths"
        if findings.is_return(wire):
            pin, heading = wire.finish, "to"
            says = f"wire {wire.label} leads back to {pin}, the pole that the feeds start at"
            alike = "returns that end on the pole of the feeds"
        cure = f"{pin.point}:{right} in place of {'-' if right == '+' else '+'}"
        yield error(wire.row.where(heading), says, cure, alike=alike)


def _on_the_wrong_pole(findings: Findings, *, positive: bool) -> list[Wire]:
    """The feeds from the battery's pole that would be the earth, and the earths at the other."""
    net, found = findings.net, []
    for wire in findings.book.wires if findings.whole else ():
        earth = _is_an_earth(findings, wire)
        feed = not (findings.is_return(wire) or net.is_link(wire) or net.is_earth_pin(wire.finish))
        pin = wire.finish if earth else wire.start
        one_pole = pin.point in net.batteries and net.is_plus(pin) != net.is_minus(pin)
        if (earth or feed) and one_pole and net.is_plus(pin) == (positive != earth):
            found.append(wire)
    return found


def _is_an_earth(findings: Findings, wire: Wire) -> bool:
    """True for a return from an earth, or one that carries something back."""
    if not findings.is_return(wire):
        return False
    if is_earth(wire.start) or findings.net.is_earth_pin(wire.start):
        return True
    # a regulator without more words is taken for a switch
    charges = findings.catalogue.kind_of(wire.start.point) == "charging"
    return _carries(findings, wire) and not charges


def batteries_by_other_names(findings: Findings) -> Iterator[Problem]:
    """A point with poles that has battery in its name, or must be one, and is not taken for one."""
    net = findings.net
    if name := findings.battery_by_another_name:
        plus = next(pin for pin in net.pins[name].values() if pin in net.starting)
        says = f"nothing is called a battery, and '{name}' has the poles of one"
        yield error(net.starting[plus][0].row.where("from"), says, "battery", cause=True)
        return
    for point, pins in net.pins.items():
        named = "battery" in point.casefold().split() and point not in net.batteries
        pole = next((p for p in pins.values() if net.is_plus(p) or net.is_minus(p)), None)
        if named and pole:
            wire = (*net.starting.get(pole, ()), *net.arriving.get(pole, ()))[0]
            says = f"'{point}' is not taken for a battery: a pole or a number may follow that word"
            where = wire.row.where("from" if wire.start == pole else "to")
            cure = "battery, battery 1 or battery 2"
            alike = "batteries by names that are not taken for one"
            yield (caution if net.batteries else error)(where, says, cure, alike=alike, cause=True)


def shorts(findings: Findings) -> Iterator[Problem]:
    """A feed that is joined to the battery's other pole with no load between."""
    net = findings.net
    for battery in sorted(net.batteries) if findings.whole else ():
        road = _joined_poles(findings, battery)
        if road:
            labels = ", ".join(wire.label for wire in road)
            says = (
                f"a short: the poles of {battery} are joined with no load between "
                f"(wire{'s' * (len(road) > 1)} {labels})"
            )
            where = road[-1].row.where("from" if net.is_earth_pin(road[-1].start) else "to")
            cure = "the feed on the other pole, or a load where it ends"
            yield error(where, says, cure, alike="shorts", cause=True)


def _joined_poles(findings: Findings, battery: str) -> list[Wire]:
    """The wires on the shortest way from plus to minus over what surely conducts."""
    net = findings.net
    poles = net.pins.get(battery, {}).values()
    plus = [pin for pin in poles if net.is_plus(pin)]
    reached: dict[Pin, tuple[Pin | None, list[Wire]]] = dict.fromkeys(plus, (None, []))
    waiting = list(reached)
    for pin in waiting:
        if pin.point == battery and net.is_minus(pin):
            return _traced(reached, pin)
        for wire, further in _conducts(findings, pin):
            if further not in reached and not net.is_own(further):
                reached[further] = (pin, wire)
                waiting.append(further)
    return []


def _traced(reached: Mapping[Pin, tuple[Pin | None, list[Wire]]], pin: Pin) -> list[Wire]:
    """The wires on the way to a pin, in their order."""
    found: list[Wire] = []
    at: Pin | None = pin
    while at is not None:
        at, wire = reached[at]
        found += wire
    return found[::-1]


def _conducts(findings: Findings, pin: Pin) -> Iterator[tuple[list[Wire], Pin]]:
    """The pins that one is joined with: by a wire without a load, or inside what only joins."""
    net = findings.net
    for wire in net.starting.get(pin, ()):
        if wire.load is None:
            yield [wire], wire.finish
    for wire in net.arriving.get(pin, ()):
        if wire.load is None:
            yield [wire], wire.start
    for other in _joined_inside(findings, pin):
        yield [], other


def _joined_inside(findings: Findings, pin: Pin) -> Iterable[Pin]:
    net = findings.net
    how, pins = net.passing(pin.point), net.pins[pin.point].values()
    if how == "named":
        port = net.port(pin)
        return (*net.onward(port), *net.back(port))
    if how == "all" and (is_earth(pin) or JOINS & set(pin.point.casefold().split())):
        return pins
    return ()


def live_in_the_earths_colour(findings: Findings) -> Iterator[Problem]:
    """A wire from the supply in the colour that all earths have, or nearly all.

    Not where it changes its colour on its way, which is told, nor a battery cable.
    """
    earths = _usual_earth_colour(findings) if findings.whole else None
    told = {problem.where for problem in colour_changes(findings)}
    for entry in findings.sized.wires if earths else ():
        wire, loaded = entry.wire, entry.loaded
        where = wire.row.where("colour")
        aside = loaded.is_link or loaded.starter_amps or wire.label in findings.currents.roads
        if wire.colour != earths or findings.is_return(wire) or aside or where in told:
            continue
        if not entry.cable.colours and findings.hangs_on_the_supply(wire):
            says = f"wire {wire.label} is live in {wire.colour}, the colour of the earths"
            usual = findings.catalogue.usual_colour(wire.circuit)
            cure = usual if usual not in ("", str(earths)) else f"a colour that is not {earths}"
            yield caution(where, says, cure, alike="live wires in the colour of the earths")


def _usual_earth_colour(findings: Findings) -> Colour | None:
    """The colour of all earths, or all but a fifth; None where every wire has it."""
    wires = findings.book.wires
    earths = [wire for wire in wires if findings.is_return(wire) and is_earth(wire.finish)]
    (usual, number), *_ = [*Counter(wire.colour for wire in earths).most_common(1), (None, 0)]
    one_colour = all(wire.colour == usual for wire in wires)
    return usual if number > 1 and 5 * number >= 4 * len(earths) and not one_colour else None
