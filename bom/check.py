"""Checks: everything wrong or doubtful about a job that was read, measured and sized.

The checks are a plain list of functions, each from the findings to problems with cells.
An error stops the job; a caution is what a tradesman would point out and go on.
"""

from collections import Counter, defaultdict
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property

from bom.catalogue import Catalogue
from bom.house import HouseRules
from bom.net import PIN_TO_PIN, Net, is_battery, is_earth
from bom.parts import Cable
from bom.problem import Problem, Where, caution, error, nearest
from bom.trade import (
    NO_FUSE,
    UNREAD,
    ChosenFuse,
    Currents,
    Ends,
    FuseLoad,
    JobBook,
    OneOf,
    Pin,
    Row,
    Sized,
    SizedWire,
    Supply,
    Wire,
)
from bom.words import ALWAYS, largest_sum


@dataclass(frozen=True)
class Findings:
    """All that the stages before found out, for the checks to look at."""

    net: Net
    ends: Ends
    sized: Sized
    currents: Currents
    supplies: tuple[Supply, ...]
    house: tuple[HouseRules, Catalogue]
    by_label: Mapping[str, SizedWire] = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "by_label", {w.wire.label: w for w in self.sized.wires})

    @property
    def book(self) -> JobBook:
        """The job book."""
        return self.net.book

    @property
    def rules(self) -> HouseRules:
        """The house rules of this job."""
        return self.house[0]

    @property
    def catalogue(self) -> Catalogue:
        """The catalogues of the workshop."""
        return self.house[1]

    @cached_property
    def kept(self) -> tuple[Cable, ...]:
        """The cables the shop keeps, the thinnest first; every size in mm2 by default."""
        gauges = self.rules.gauges
        cables = self.catalogue.cables.values()
        return tuple(c for c in cables if (c.gauge in gauges if gauges else not c.is_awg))

    @property
    def fuse_loads(self) -> tuple[FuseLoad, ...]:
        """Every fuse named, with its load."""
        return self.currents.fuses

    @cached_property
    def unread(self) -> bool:
        """True when some load could not be read: then nothing is said of currents."""
        components = self.book.components.values()
        loads = [c.load for c in components] + [w.load for w in self.book.wires]
        return not self.book.whole or any(load is UNREAD for load in loads)

    def is_return(self, wire: Wire) -> bool:
        """True for a wire that leads to no load."""
        return self.by_label[wire.label].loaded.is_return

    def feeders(self, wire: Wire) -> list[Wire]:
        """The feeds that come to a wire, at its pin or through the component."""
        net = self.net
        if wire.start.point in net.sources:
            return []
        node = net.node(wire.start)
        found = net.joined_at(net.arriving, node) + [
            w for pin in net.back(node) for w in net.at_node(net.arriving, pin)
        ]
        return [w for w in found if w is not wire and not self.is_return(w)]


def check(findings: Findings) -> tuple[Problem, ...]:
    """Every problem of the job, in no order."""
    return tuple(problem for one in CHECKS for problem in one(findings))


# --------------------------------------------------------------------------- current


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
        amps, wire = float(entry.steady_amps), entry.wire
        over_table = entry.steady_amps > entry.cable.rated_amps
        if wire.gauge is None or amps <= entry.derated_amps or over_table:
            continue
        says = (
            f"wire {wire.label} carries {amps:.3g} A, {entry.cable.gauge} is good for "
            f"{entry.derated_amps:.1f} A where it lies (ambient {entry.ambient_factor:.2f}, "
            f"grouping {entry.grouping_factor:.2f})"
        )
        needed = entry.steady_amps / Fraction(entry.ambient_factor * entry.grouping_factor or 1)
        yield caution(wire.row.where("gauge"), says, _thicker(findings, needed))


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
    thicker = f"gauge {enough.gauge}" if enough else "thicker cable on the whole way"
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
    continuous, likely = lights_on_watts(findings)
    takes = continuous + likely
    for key, when in (("alternator_idle_w", "at idle"), ("alternator_road_w", "at road speed")):
        gives = float(getattr(rules, key))
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
        starting = _kind(findings, wire) == "starting" or entry.steady_amps <= cable.rated_amps
        level = caution if starting else error
        says = (
            f"wire {wire.label} carries {_amps(entry.loaded.amps)}, "
            f"{cable.gauge} is rated {_amps(cable.rated_amps)}"
        )
        cure = _thicker(findings, max(entry.loaded.amps, entry.fuse_amps or Fraction(0)))
        yield level(wire.row.where("gauge"), says, cure)


def under_its_fuse(findings: Findings) -> Iterator[Problem]:
    """A fuse over the table rating of a wire: the wire would burn before the fuse blows."""
    for entry in findings.sized.wires:
        fuse, cable, wire = entry.fuse_amps, entry.cable, entry.wire
        if wire.gauge is None or fuse is None or fuse <= cable.rated_amps:
            continue
        says = (
            f"wire {wire.label} is {cable.gauge}, rated {_amps(cable.rated_amps)}, "
            f"behind a fuse of {_amps(fuse)} ({entry.loaded.fuse})"
        )
        yield caution(wire.row.where("gauge"), says, _thicker(findings, fuse))


def _thicker(findings: Findings, amps: Fraction) -> str:
    enough = next((c for c in findings.kept if c.rated_amps >= amps), None)
    return f"gauge {enough.gauge} ({_amps(enough.rated_amps)})" if enough else ""


def contact_amps(findings: Findings) -> Iterator[Problem]:
    """More current than a contact is made for."""
    for joint in findings.ends.joints:
        limit = joint.style.amps
        if limit is None or joint.mate:
            continue
        end = max(joint.ends, key=lambda e: findings.by_label[e.wire.label].loaded.amps)
        amps = findings.by_label[end.wire.label].loaded.amps
        if amps > limit:
            says = (
                f"{_amps(amps)} through a {joint.style.end} at {joint.pin}, made for {_amps(limit)}"
            )
            yield caution(end.wire.row.where(end.heading), says, "a larger terminal")


def words_on_many_loads(findings: Findings) -> Iterator[Problem]:
    """A word without choices on three loads or more belongs on their feeds."""
    book, net = findings.book, findings.net
    bearers: dict[str, list[tuple[OneOf, Row]]] = defaultdict(list)
    for component in book.components.values():
        if component.one_of and component.load and component.row:
            bearers[component.one_of.word].append((component.one_of, component.row))
    for wire in book.wires:
        if wire.one_of and (wire.load is not None or net.is_own(net.node(wire.finish))):
            bearers[wire.one_of.word].append((wire.one_of, wire.row))
    for word, found in bearers.items():
        rows = [row for one_of, row in found if not one_of.choice]
        if len(rows) >= 3:
            says = f"'{word}' stands on {len(rows)} loads without choices: only one is reckoned on"
            cure = f"the word on the feeds, or choices such as {word}:left and {word}:right"
            yield caution(rows[2].where("one of"), says, cure)


# ------------------------------------------------------------------------- the circuit


def unfused_feeds(findings: Findings) -> Iterator[Problem]:
    """The first wire of a feed that is behind no fuse and not unfused on purpose."""
    if not findings.book.whole:
        return
    for entry in findings.sized.wires:
        wire = entry.wire
        if entry.loaded.is_return or entry.loaded.fuse is not None:
            continue
        names = {findings.by_label[f.label].loaded.fuse for f in findings.feeders(wire)}
        if names == {None}:
            continue  # said already at the wire that feeds it
        where = wire.row.where("fuse")
        behind = sorted(name for name in names if name and name != NO_FUSE)
        if len(behind) > 1:
            says = f"wire {wire.label} is fed from behind more than one fuse: {', '.join(behind)}"
            yield caution(where, says, "the name of the fuse it is behind")
        else:
            says = f"wire {wire.label} is a feed with no fuse on it"
            yield caution(where, says, "the name of a fuse, or 'none' if that is on purpose")


def fuse_on_a_return(findings: Findings) -> Iterator[Problem]:
    """A fuse typed on a wire that leads to no load."""
    if findings.unread:
        return
    for wire in findings.book.wires:
        dead = findings.by_label[wire.label].loaded.amps == 0
        if wire.fuse not in (None, NO_FUSE) and findings.is_return(wire) and not dead:
            says = f"fuse '{wire.fuse}' is on wire {wire.label}, which leads to no load"
            yield caution(wire.row.where("fuse"), says, "the fuse on the feed")


def no_return(findings: Findings) -> Iterator[Problem]:
    """A component that is fed but has no wire back."""
    book, net = findings.book, findings.net
    if not book.whole:
        return
    starts = {wire.start.point for wire in book.wires if findings.is_return(wire)}
    said = set()
    for wire in book.wires:
        point = wire.finish.point
        ends_here = wire.load is not None or net.is_own(net.node(wire.finish))
        if not ends_here or findings.is_return(wire) or point in starts or point in said:
            continue
        if point in net.sources or _goes_on(findings, point):
            continue
        said.add(point)
        says = f"{point} is fed by wire {wire.label} but has no return"
        cure = f"a wire from {point} to earth, unless it earths through its mounting"
        yield caution(wire.row.where("to"), says, cure)


def _goes_on(findings: Findings, point: str) -> bool:
    """True for a point without a load that a typed load only passes on its way."""
    net = findings.net
    if net.component(point).load is not None:
        return False
    onward = (net.at_node(net.starting, Pin(point, pin)) for pin in net.pins.get(point, ()))
    return any(not findings.is_return(wire) for wires in onward for wire in wires)


def unlike_feeds(findings: Findings) -> Iterator[Problem]:
    """Unlike feeds into a component without load and with blank `passes`."""
    net = findings.net
    if not findings.book.whole:
        return
    for point, pins in net.pins.items():
        component = net.component(point)
        if component.load is not None or component.passes or point in net.sources:
            continue
        feeds = [
            wire
            for pin in pins
            for wire in net.arriving.get(Pin(point, pin), ())
            if not findings.is_return(wire)
        ]
        kinds = {(w.circuit.casefold(), findings.by_label[w.label].loaded.fuse) for w in feeds}
        ends = [wire for wire in feeds if wire.finish.pin]
        places = len({w.finish.pin for w in ends}) + len(feeds) - len(ends)
        if len(kinds) > 1 and places > 1 and _feeds_on(findings, point):
            first = component.row
            where = first.where("passes") if first else feeds[1].row.where("to")
            says = f"unlike feeds arrive at {point}, and all its pins are taken for one"
            yield caution(
                where, says, "say which feeds which under passes: in 1 > out 1, in 2 > out 2"
            )


def _feeds_on(findings: Findings, point: str) -> bool:
    net = findings.net
    starting = (net.starting.get(Pin(point, pin), ()) for pin in net.pins[point])
    return any(not findings.is_return(wire) for wires in starting for wire in wires)


def passes_understood(findings: Findings) -> Iterator[Problem]:
    """`passes` cells that cannot be read, or that name a pin that no wire uses."""
    net = findings.net
    for name, component in findings.book.components.items():
        if component.row is None or net.passing(name) != "named":
            continue
        where = component.row.where("passes")
        if is_battery(name):
            continue
        passes = net.passes(name)
        if not passes.understood:
            cure = "30 > 87, or 'none', or 'pin to pin'"
            yield error(where, f"passes '{component.passes}' is not understood", cure)
            continue
        for word in passes.unused if findings.book.whole and name in net.pins else ():
            says = f"passes names '{word}', a pin of {name} that no wire uses"
            yield caution(
                where, says, nearest(word, [pin for pin in net.pins.get(name, ()) if pin])
            )


def load_behind_a_typed_load(findings: Findings) -> Iterator[Problem]:
    """A lamp fed through another lamp's row: the typed load stands for both."""
    net = findings.net
    for wire in findings.book.wires:
        if wire.load is None or findings.is_return(wire):
            continue
        node = net.node(wire.finish)
        onward = [w for w in net.joined_at(net.starting, node) if not findings.is_return(w)]
        ends_here = net.is_own(node) or any(
            findings.is_return(w) for w in net.at_node(net.starting, node)
        )
        if onward and ends_here:
            says = (
                f"the load typed for wire {wire.label} stands for all beyond it, "
                f"{onward[0].finish.point} too"
            )
            yield caution(wire.row.where("load"), says, "the sum of the loads, or a blank cell")


# ------------------------------------------------------------------------------- fuses


def fuse_ratings(findings: Findings) -> Iterator[Problem]:
    """Typed ratings under the load or nearly so, and loads over the largest rating."""
    if findings.unread:
        return
    loads = {load.name: load for load in findings.fuse_loads}
    rows = {row.name: row for row in findings.book.fuses}
    for fuse in findings.sized.fuses:
        load = loads.get(fuse.name)
        if load is None:
            continue
        row = rows.get(fuse.name)
        wire = findings.by_label[load.wires[0]].wire
        where = row.row.where("rating") if row else wire.row.where("fuse")
        floor = load.least_rating(findings.rules.fuse_load_percent)
        carries = f"fuse '{fuse.name}' of {_amps(fuse.rating)} carries {_amps(load.amps)}"
        if fuse.rating < load.amps:
            says = carries if fuse.typed else f"{carries}: no rating is large enough"
            yield error(where, says, _next_rating(findings, fuse, floor) or "two fuses")
        elif fuse.rating < floor:
            percent = round(float(load.amps / fuse.rating) * 100)
            cure = _next_rating(findings, fuse, floor) or "two fuses"
            yield caution(where, f"{carries}: {percent} % of its rating", cure)


def _next_rating(findings: Findings, fuse: ChosenFuse, floor: Fraction) -> str:
    ratings = findings.catalogue.ratings(fuse.kind)
    return next((_amps(r.amps) for r in ratings if r.amps >= floor), "")


def fuse_rows(findings: Findings) -> Iterator[Problem]:
    """Rows that no wire names, holders that are not known, ratings that are not made."""
    named = {load.name for load in findings.fuse_loads}
    for row in findings.book.fuses:
        if row.name not in named:
            says = f"fuse '{row.name}' is named by no wire"
            cure = f"'{row.name}' in the fuse cell of the first wire behind it"
            yield caution(row.row.where("fuse"), says, cure)
        holder = findings.catalogue.holder(row.holder)
        if holder is None:
            words = {known.holder for known in findings.catalogue.fuse_holders}
            cure = nearest(row.holder, words) or ", ".join(sorted(words))
            yield error(row.row.where("holder"), f"fuse holder '{row.holder}' is not known", cure)
            continue
        ratings = [fuse.amps for fuse in findings.catalogue.ratings(holder.kind)]
        if row.rating is not None and row.rating not in ratings:
            over = next((amps for amps in ratings if amps > row.rating), ratings[-1])
            says = f"a {holder.kind} fuse of {_amps(row.rating)} is not made"
            yield error(row.row.where("rating"), says, _amps(over))


def fuse_names(findings: Findings) -> Iterator[Problem]:
    """A fuse on a wire whose name is nearly that of a row of the Fuses sheet."""
    rows = {row.name.casefold(): row.name for row in findings.book.fuses}
    used = Counter(wire.fuse for wire in findings.book.wires)
    for wire in findings.book.wires:
        name = wire.fuse
        if name in (None, NO_FUSE) or str(name).casefold() in rows or not rows:
            continue
        close = nearest(str(name), rows)
        if close and used[name] == 1 and rows[close] not in used:
            says = f"fuse '{name}' has no row on the Fuses sheet"
            yield caution(wire.row.where("fuse"), says, rows[close])


# -------------------------------------------------------------------- colour, loom, parts


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
        if wire.colour != usual and number > 1:
            says = f"wire {wire.label} is an earth in {wire.colour}, the others are {usual}"
            yield caution(wire.row.where("colour"), says, str(usual))


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
            yield caution(end.wire.row.where(end.heading), says, "a splice point in front of it")


def thin_for_its_terminal(findings: Findings) -> Iterator[Problem]:
    """A wire thinner than the terminal is made for."""
    areas = {label: entry.cable.area_mm2 for label, entry in findings.by_label.items()}
    for joint in findings.ends.joints:
        area = joint.area_mm2(areas)
        if not joint.mate and area < joint.style.min_mm2:
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
    if not findings.book.whole:
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
    if not findings.book.whole or not used:
        return
    for index, branch in enumerate(findings.book.branches):
        if index not in used:
            says = f"no wire runs through the branch {branch}: no covering is reckoned for it"
            yield caution(branch.row.where("from"), says)


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


def _kind(findings: Findings, wire: Wire) -> str:
    return findings.catalogue.circuit_kind(wire.circuit)


def _amps(amps: Fraction) -> str:
    return f"{round(float(amps), 2):g} A"


CHECKS: tuple[Callable[[Findings], Iterator[Problem]], ...] = (
    no_current,
    over_rating,
    none_meets_all,
    too_thin_where_it_lies,
    too_much_drop,
    under_its_fuse,
    main_fuse_far_away,
    charging_balance,
    contact_amps,
    words_on_many_loads,
    unfused_feeds,
    fuse_on_a_return,
    no_return,
    unlike_feeds,
    passes_understood,
    load_behind_a_typed_load,
    fuse_ratings,
    fuse_rows,
    fuse_names,
    cable_colours,
    same_colour_in_a_branch,
    colour_changes,
    earth_colours,
    all_one_colour,
    crowded_contacts,
    thin_for_its_terminal,
    plug_pins,
    unused_components,
    unused_branches,
    doubtful_points,
)
