"""What the checks look at: all that the stages before them found out."""

from collections.abc import Mapping
from fractions import Fraction
from functools import cached_property

from msgspec import Struct

from bom.reckon.net import NOTHING_PASSES, PIN_TO_PIN, Net
from bom.reckon.room import filled_places
from bom.reckon.strands import JOINS, Strand, strands
from bom.trade.catalogue import Catalogue
from bom.trade.catalogue_rows import Cable
from bom.trade.figures import starter_area_mm2
from bom.trade.house import HouseRules
from bom.trade.job_book import NO_FUSE, UNREAD, JobBook, Wire
from bom.trade.one_of import union
from bom.trade.point_names import is_earth
from bom.trade.stowing import Filled
from bom.trade.wires import ChosenFuse, Currents, Ends, FuseLoad, Joint, Sized, SizedWire, Supply

DUST = 1e-9
"""Degrees and volts that floats may be off by, no more."""


class Findings(Struct, frozen=True, dict=True, eq=False):
    """All that the stages before found out, for the checks to look at."""

    net: Net
    ends: Ends
    sized: Sized
    currents: Currents
    supplies: tuple[Supply, ...]
    house: tuple[HouseRules, Catalogue]

    @cached_property
    def by_label(self) -> Mapping[str, SizedWire]:
        """The sized wires by their labels."""
        return {wire.wire.label: wire for wire in self.sized.wires}

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
    def places(self) -> tuple[Filled, ...]:
        """What stands at each place of the sheet Places."""
        return filled_places(self.book, self.rules, self.catalogue)

    @cached_property
    def kept(self) -> tuple[Cable, ...]:
        """The cables the shop keeps, the thinnest first; every size in mm2 by default."""
        gauges = self.rules.gauges
        cables = self.catalogue.cables.values()
        return tuple(c for c in cables if (c.gauge in gauges if gauges else not c.is_awg))

    @cached_property
    def overloaded(self) -> frozenset[str]:
        """The labels of wires whose load is over their cable's rating."""
        return frozenset(
            label
            for label, entry in self.by_label.items()
            if entry.loaded.steady_amps > entry.cable.rated_amps
        )

    def is_under_its_fuse(self, entry: SizedWire) -> bool:
        """True for a wire behind a fuse over its rating, by no load over it.

        A load over the rating is told, and its cure is for the fuse too.
        """
        over = entry.fuse_amps is not None and entry.fuse_amps > entry.cable.rated_amps
        return over and entry.wire.label not in self.overloaded

    @cached_property
    def under_their_fuse(self) -> int:
        """The loads, as bits, of the feeds behind a fuse over their rating."""
        feeds = (entry for entry in self.sized.wires if not entry.loaded.is_return)
        return union(e.loaded.loads for e in feeds if self.is_under_its_fuse(e))

    def is_behind_a_starters_fuse(self, entry: SizedWire) -> bool:
        """True for a wire whose fuse is under the starter's current, which is told at the fuse."""
        return entry.loaded.fuse in self.starters_fuses

    @cached_property
    def starters_fuses(self) -> Mapping[str, SizedWire]:
        """The fuses under the starter's current that they carry, each with its first wire."""
        found = {}
        for load in self.fuse_loads:
            fuse, first = self.fuses.get(load.name), self.by_label[load.wires[0]]
            if fuse and first.loaded.starter_amps and fuse.rating < load.amps:
                found[load.name] = first
        return found

    @cached_property
    def hot_contacts(self) -> Mapping[str, list[Joint]]:
        """Terminals made for less current than a wire brings them, by the wire's label.

        Not of wires that are told to be thicker, nor of those too thick for the terminal: other
        ends belong to that.
        """
        found: dict[str, list[Joint]] = {}
        for joint in self.ends.joints:
            if joint.style.amps is None or joint.mate or self.is_too_small(joint):
                continue
            labels = [end.wire.label for end in joint.ends]
            label = max(labels, key=lambda label: self.by_label[label].loaded.amps)
            told = label in self.overloaded or self.is_thin_starter_lead(label)
            if self.by_label[label].loaded.amps > joint.style.amps and not told:
                found.setdefault(label, []).append(joint)
        return found

    @cached_property
    def joints_of(self) -> Mapping[str, list[Joint]]:
        """The terminals of each wire, by its label."""
        found: dict[str, list[Joint]] = {}
        for joint in self.ends.joints:
            for label in {end.wire.label for end in joint.ends}:
                found.setdefault(label, []).append(joint)
        return found

    def area_mm2(self, joint: Joint) -> Fraction:
        """The area that a terminal must take."""
        labels = {end.wire.label for end in joint.ends}
        return joint.area_mm2({n: self.by_label[n].cable.area_mm2 for n in labels})

    def is_too_small(self, joint: Joint) -> bool:
        """True for a terminal that its wires are too thick for, which the take-off tells."""
        most = joint.style.max_mm2
        return bool(most) and self.area_mm2(joint) > most

    @cached_property
    def fuses(self) -> Mapping[str, ChosenFuse]:
        """The fuses as they were chosen, by name."""
        return {fuse.name: fuse for fuse in self.sized.fuses}

    @property
    def fuse_loads(self) -> tuple[FuseLoad, ...]:
        """Every fuse named, with its load."""
        return self.currents.fuses

    @cached_property
    def unread(self) -> bool:
        """True when some load could not be read: then nothing is said of currents."""
        components = self.book.components.values()
        loads = [c.load for c in components] + [w.load for w in self.book.wires]
        return not self.whole or any(load is UNREAD for load in loads)

    @cached_property
    def whole(self) -> bool:
        """False when a row, a `passes` cell or a battery's name left open what leads where."""
        net = self.net
        named = (name for name in self.book.components if net.passing(name) == "named")
        understood = all(net.passes(name).understood for name in named)
        return self.book.whole and understood and not self.battery_by_another_name

    @cached_property
    def battery_by_another_name(self) -> str:
        """The point with a battery's poles where nothing else gives current; empty for none.

        Every wire starts at one of them and every wire ends at the other.
        """
        net = self.net
        for point, pins in net.pins.items() if not net.sources else ():
            poles = [[*filter(is_pole, pins.values())] for is_pole in (net.is_plus, net.is_minus)]
            gives = [all(pin in net.starting for pin in pole) for pole in poles]
            takes = [all(pin in net.arriving for pin in pole) for pole in poles]
            apart = gives == [not taken for taken in takes] and gives in (
                [True, False],
                [False, True],
            )
            if all(poles) and apart and self.catalogue.kind_of(point) != "charging":
                return point
        return ""

    @cached_property
    def returns(self) -> frozenset[str]:
        """The labels of the wires that lead to no load."""
        return frozenset(e.wire.label for e in self.currents.wires if e.is_return)

    def is_return(self, wire: Wire) -> bool:
        """True for a wire that leads to no load."""
        return wire.label in self.returns

    def feeders(self, wire: Wire) -> list[Wire]:
        """The feeds that come to a wire, at its pin or through the component; none that charges."""
        net, charging = self.net, self.currents.roads
        if wire.start.point in net.sources:
            return []
        arriving = net.behind(net.start[wire.label])
        feeds = [w for w in arriving if w is not wire and not self.is_return(w)]
        return [w for w in feeds if w.label not in charging]

    def is_open(self, wire: Wire) -> bool:
        """True for a feed from the supply on that no fuse is in front of."""
        loaded = self.by_label[wire.label].loaded
        feeds = not (loaded.is_return or loaded.is_link or wire.label in self.currents.roads)
        return feeds and loaded.fuse in (None, NO_FUSE)

    @cached_property
    def past_their_load(self) -> Mapping[Wire, str]:
        """Feeds that end at the pin of a lamp where its earth starts, with the earth's label."""
        net, found = self.net, {}
        for pin, starting in net.starting.items() if self.whole else ():
            feeds = [w for w in net.arriving.get(pin, ()) if pin.pin and self._feeds_a_load(w)]
            if feeds and all(map(self._leads_to_earth, starting)):
                feeds = [wire for wire in feeds if self.hangs_on_the_supply(wire)]
                found.update(dict.fromkeys(feeds, starting[0].label))
        feeds_on = {wire.label for wire in found}  # a lamp fed from lamp to lamp: the last tells
        return {wire: earth for wire, earth in found.items() if earth not in feeds_on}

    def _feeds_a_load(self, wire: Wire) -> bool:
        """True for a wire that ends at a component's load, typed there or on the wire."""
        joins = _joins(wire.finish.point)
        return self.net.is_own(wire.finish) or (self._brings_its_load(wire) and not joins)

    def _brings_its_load(self, wire: Wire) -> bool:
        """True for a load typed on a wire that is no charging current and sits at its end."""
        typed = wire.load is not None and wire.label not in self.currents.roads
        return typed and not self.is_return(wire) and not self.stands_for_all(wire)

    def stands_for_all(self, wire: Wire) -> bool:
        """True where a typed load is not that of the component which the wire ends at."""
        net, pin = self.net, wire.finish
        how = net.passing(pin.point)
        if how == PIN_TO_PIN or (how == "named" and pin.pin in net.passes(pin.point).named):
            return True
        return pin.point not in self.leads_back and not net.is_own(net.finish[wire.label])

    def _leads_to_earth(self, wire: Wire) -> bool:
        """True for a return, unless a component without a known load stands behind it."""
        finish, net = wire.finish, self.net
        joins = is_earth(finish) or _joins(finish.point)
        known = joins or net.component(finish.point).load is not None
        return self.is_return(wire) and (known or net.passing(finish.point) == PIN_TO_PIN)

    def hangs_on_the_supply(self, wire: Wire) -> bool:
        """True for a wire that comes from a source through nothing but wires and switches."""
        net, waiting = self.net, [wire]
        seen: set[str] = set()
        while waiting:
            each = waiting.pop()
            if each.label in seen or net.is_earth_pin(each.start):
                continue
            if each.start.point in net.sources:
                return True
            seen.add(each.label)
            port = net.start[each.label]
            behind = [] if net.is_own(port) else net.behind(port)
            waiting += [w for w in behind if w.finish == each.start or self._goes_through(w)]
        return False

    def _goes_through(self, wire: Wire) -> bool:
        """True for a wire with no load typed, or with one for all beyond a joint or a switch."""
        point = wire.finish.point
        return wire.load is None or _joins(point) or self.net.passing(point) == "named"

    def should_charge(self, wire: Wire) -> bool:
        """True for a wire from an alternator or a regulator, other than its earth."""
        net, start = self.net, wire.start
        source = start.point in net.sources or net.passing(start.point) != NOTHING_PASSES
        return not (source or net.is_earth_pin(start) or net.component(start.point).load)

    def is_thin_starter_lead(self, label: str) -> bool:
        """True for a starter's lead that gets too hot while it is cranked."""
        entry = self.by_label[label]
        amps = float(entry.loaded.starter_amps)
        return amps > 0 and float(entry.cable.area_mm2) < starter_area_mm2(amps)

    def lost_volts(self, label: str, kind: str) -> float:
        """What a wire loses on the way of a load of that kind."""
        entry = self.by_label[label]
        loaded = entry.loaded
        return entry.drop_volts * (loaded.share_of_drop(kind) if loaded.starter_amps else 1.0)

    @cached_property
    def strands(self) -> Mapping[str, Strand]:
        """Every wire with its circuit, by its label."""
        return strands(self.net, self.sized.wires)

    @cached_property
    def leads_back(self) -> frozenset[str]:
        """The points that a return starts at."""
        return frozenset(e.wire.start.point for e in self.currents.wires if e.is_return)

    def least_rating(self, load: FuseLoad) -> Fraction:
        """The least rating that would be chosen for a fuse: its load, and the fuses it feeds."""
        rules = self.rules
        fed = [self.fuses[name].rating for name in load.feeds if name in self.fuses]
        least = Fraction(rules.fuse_least_a)
        return max(load.least_rating(rules.fuse_load_percent), least, *fed)


def _joins(point: str) -> bool:
    return not JOINS.isdisjoint(point.casefold().split())


def in_amps(amps: Fraction) -> str:
    """A current for a sentence: two decimals at the most."""
    return f"{round(float(amps), 2):g} A"
