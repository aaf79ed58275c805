"""Checks of gauges: what stands in the way of a thicker cable, and volts lost on a way."""

import math
from collections import defaultdict
from collections.abc import Iterator
from fractions import Fraction
from typing import NamedTuple

from bom.reckon.check.cures import ends_for, gauge_with_ends, rated_for
from bom.reckon.check.findings import DUST, Findings, in_amps
from bom.reckon.strands import JOINS
from bom.trade.catalogue_rows import Cable, takes
from bom.trade.point_names import is_fuse
from bom.trade.problem import Problem, caution
from bom.trade.roads import Along, backwards
from bom.trade.wires import STARTER, SizedWire, Supply, WayPart

_SIZES_UP = 2
"""A gauge further up than this is no cure: a relay or a feed of its own is (common practice)."""
_RELAY_LEAST_AMPS = Fraction(3)
"""A load below this gains nothing by a relay (common practice)."""
_RELAY_LEAST_VOLTS = 12
"""On a machine of 6 V nobody fits relays (common practice)."""
_ON_THEIR_OWN_FEED = ("charging", "ignition")
"""Kinds of load that nobody lays a second feed for (common practice)."""
_LAMPS = ("headlamp", "lamp", "lamp over 15 W", "starter control")
"""Kinds of load that are fed through a relay where the way is long, beside a horn."""
_TOO_LARGE = 4
"""Battery cable good for so many times the current is no cure."""
_THIN_ONE = 2
"""So many times what any other wire loses by the metre make a wire the thin one on its way."""
_AS_MUCH = 0.75
"""A wire that loses this share of what the worst does loses as much."""


def none_meets_all(findings: Findings) -> Iterator[Problem]:
    """A gauge chosen as the largest that fits, since none of the house meets all."""
    for entry in findings.sized.wires:
        label = entry.wire.label
        told = label in findings.overloaded or findings.is_thin_starter_lead(label)
        if not entry.lacks or told or findings.is_under_its_fuse(entry):
            continue  # told as over its rating, or as too thin to crank
        if label in findings.hot_contacts or _leads_back_from_one_told(findings, entry):
            continue  # told there, with ends that take the thicker cable
        limit, cure = _in_the_way(findings, entry)
        wanted = f"and should be {entry.enough}" if entry.enough else "and no gauge is enough"
        says = f"wire {label} is {entry.cable.gauge} {wanted}: {entry.lacks[0]}; {limit}"
        where = entry.wire.row.where("gauge")
        yield caution(where, says, cure, alike="wires thinner than they should be")


def _leads_back_from_one_told(findings: Findings, entry: SizedWire) -> bool:
    """True for a return of a load whose feed is told to be behind too large a fuse."""
    return entry.loaded.is_return and bool(entry.loaded.loads & findings.under_their_fuse)


def _in_the_way(findings: Findings, entry: SizedWire) -> tuple[str, str]:
    """What keeps a wire from the gauge that would do, and its cure."""
    enough = findings.catalogue.cables.get(entry.enough)
    smaller = _smaller_fuse_ahead(findings, entry)
    if enough is None:
        return "no cable is made for that", smaller or "two wires side by side (qty 2)"
    if enough not in findings.kept:
        limit, cure = "the shop keeps none so thick", f"{enough.gauge} under the house rule gauges"
    else:
        limit, cure = _small_end(findings, entry, enough), ends_for(findings, entry, enough)
    if not limit:
        limit = f"{enough.gauge} is not made in {entry.wire.colour}"
        return limit, f"the wire in {' or '.join(enough.colours)}"
    return limit, f"{cure}, or {smaller}" if smaller else cure


def _small_end(findings: Findings, entry: SizedWire, enough: Cable) -> str:
    """The first end of a wire that takes no cable so thick; empty where both do."""
    styles = (findings.catalogue.ends[style] for style in (entry.start_end, entry.finish_end))
    small = next((style for style in styles if not takes(style, enough.area_mm2)), None)
    return f"'{small.end}' takes {float(small.max_mm2):g} mm2 at most" if small else ""


def _smaller_fuse_ahead(findings: Findings, entry: SizedWire) -> str:
    """A typed fuse that a feed runs into, in a rating for its load that the wire bears."""
    net, rated = findings.net, entry.cable.rated_amps
    onward = net.beyond(net.finish[entry.wire.label]) if not entry.loaded.is_return else ()
    names = {wire.fuse for wires in onward for wire in wires}
    loads = {load.name: load for load in findings.fuse_loads}
    large = [f for f in findings.sized.fuses if f.name in names and f.rating > rated]
    if len(large) != 1 or not large[0].typed:
        return ""
    floor = findings.least_rating(loads[large[0].name])
    ratings = (fuse.amps for fuse in findings.catalogue.ratings(large[0].kind))
    rating = next((amps for amps in ratings if amps >= floor), rated + 1)
    return f"fuse '{large[0].name}' of {in_amps(rating)}" if rating <= rated else ""


# ------------------------------------------------------------------------------- volts lost


class _Over(NamedTuple):
    """A stretch that loses too many volts: what it loses, what it may, its wires, its load."""

    lost: float
    stretch: WayPart
    supply: Supply

    @property
    def allowed(self) -> float:
        """The volts that it may lose."""
        return self.stretch.volts

    @property
    def share(self) -> float:
        """What it loses of what it may."""
        return self.lost / self.allowed


def too_much_drop(findings: Findings) -> Iterator[Problem]:
    """Ways from the supply to a load and back that lose more than their kind allows.

    Named at the wire that loses most of them, once for all its loads.
    """
    blamed: dict[str, list[_Over]] = defaultdict(list)
    losses = _Losses(findings)
    for supply in findings.supplies if not findings.unread else ():
        worst = max(losses.over(supply), key=lambda over: over.share, default=None)
        if worst is None:
            continue
        thin = findings.is_thin_starter_lead
        if supply.kind == STARTER and any(map(thin, worst.stretch.wires)):
            continue  # told as too thin for its cranking
        most = losses.most(worst.stretch)
        if most not in findings.overloaded:  # which is told, and makes it lose so much
            blamed[most].append(worst)
    for label, found in blamed.items():
        entry = findings.by_label[label]
        if not _cured_with_its_fuse(findings, entry, max(found, key=lambda each: each.share)):
            yield _drop_problem(findings, entry, found)


def _cured_with_its_fuse(findings: Findings, entry: SizedWire, over: _Over) -> bool:
    """True where the gauge that is told for the fuse is thick enough for the way too."""
    if not findings.is_under_its_fuse(entry):
        return False
    told = rated_for(findings, entry.fuse_amps or Fraction(0))
    enough = _thick_enough(findings, entry, over)
    return bool(told and enough and told.area_mm2 >= enough.area_mm2)


class _Losses:
    """What ways lose: added up once where thousands of them share their wires."""

    def __init__(self, findings: Findings) -> None:
        def lost(kind: str) -> Along[float]:
            return Along(0.0, lambda volts, label: volts + findings.lost_volts(label, kind))

        def drop(label: str) -> float:
            return findings.by_label[label].drop_volts if label else -1.0

        self.starting, self.running = lost(STARTER), lost("")
        self.drop = drop
        self.most_of_feed = Along("", lambda most, label: max(most, label, key=drop))
        self.most_of_back = Along("", lambda most, label: max(label, most, key=drop))

    def over(self, supply: Supply) -> Iterator[_Over]:
        """The stretches of a way that lose too much."""
        lost_on = self.starting if supply.kind == STARTER else self.running
        for stretch in supply.limits:
            lost = lost_on(stretch.feed) + lost_on(stretch.back)
            if lost > stretch.volts + DUST and supply.length_mm:
                yield _Over(lost, stretch, supply)

    def most(self, stretch: WayPart) -> str:
        """The wire that loses most, of several the first."""
        ends = self.most_of_feed(stretch.feed), self.most_of_back(stretch.back)
        return max(ends, key=self.drop)


def _drop_problem(findings: Findings, entry: SizedWire, found: list[_Over]) -> Problem:
    over = max(found, key=lambda each: each.share)
    others = f" and {len(found) - 1} more" if len(found) > 1 else ""
    whole = " and back" if over.allowed == over.supply.allowed_volts else ""
    says = (
        f"{over.lost:.2f} V are lost on the way to {over.supply.load}{others}{whole}, "
        f"{over.allowed:.2f} V are allowed; wire {entry.wire.label} "
        f"({entry.cable.gauge}) loses {entry.drop_volts:.2f} V"
    )
    cure = _drop_cure(findings, entry, over)
    alike = "wires that lose too many volts"
    return caution(entry.wire.row.where("gauge"), says, cure, alike=alike)


def _drop_cure(findings: Findings, entry: SizedWire, over: _Over) -> str:
    """A gauge where a sane one of this wire alone will do; else what a tradesman would do."""
    enough, kind = _thick_enough(findings, entry, over), over.supply.kind
    thin = _is_the_thin_one(findings, entry, over.supply)
    if enough is not None and (thin or kind == STARTER or _is_sane(findings, entry, enough)):
        return gauge_with_ends(findings, entry, enough)
    if thin and kind != STARTER:
        return "a thicker gauge, or a blank cell: it is then chosen with the whole way"
    if kind == STARTER:
        return "shorter leads, or thicker cable for all of them"
    if entry.loaded.is_return:
        return "a nearer earth point, or thicker cable all the way back"
    load = _load_point(findings, over.supply)
    if _wants_a_relay(findings, over.supply, load):
        return f"a relay near {load}, fed straight from the battery through a fuse of its own"
    whole = kind in _ON_THEIR_OWN_FEED or findings.rules.volts < _RELAY_LEAST_VOLTS
    if whole or _others_lose_as_much(findings, entry, over):
        return "thicker cable on the whole way"
    if entry.loaded.amps > over.supply.amps:
        return f"a feed of its own for {load}"
    battery = enough is not None and enough.kind == "battery"
    if enough is None or (battery and enough.rated_amps > _TOO_LARGE * entry.loaded.amps):
        return "a shorter way, or two wires side by side (qty 2)"
    return gauge_with_ends(findings, entry, enough)


def _thick_enough(findings: Findings, entry: SizedWire, over: _Over) -> Cable | None:
    """The thinnest cable that makes up for the whole way in this wire alone."""
    may_lose = entry.drop_volts - (over.lost - over.allowed)
    ohm = entry.cable.ohm_per_km_20c * max(may_lose, 0) / entry.drop_volts
    return next((cable for cable in findings.kept if cable.ohm_per_km_20c <= ohm), None)


def _is_sane(findings: Findings, entry: SizedWire, cable: Cable) -> bool:
    """True for a gauge that the wire's ends take, and that is not far up."""
    between = [c for c in findings.kept if entry.cable.area_mm2 < c.area_mm2 <= cable.area_mm2]
    return len(between) <= _SIZES_UP and not ends_for(findings, entry, cable)


def _is_the_thin_one(findings: Findings, entry: SizedWire, of: Supply) -> bool:
    """True for a typed gauge that loses far more by the metre than any other on its side."""
    back = [*backwards(of.back)]
    side = back if entry.wire.label in back else backwards(of.feed)
    others = [findings.by_label[label] for label in side if label != entry.wire.label]
    most = max((each.drop_volts / each.piece_mm for each in others), default=math.inf)
    return entry.wire.gauge is not None and entry.drop_volts / entry.piece_mm > _THIN_ONE * most


def _load_point(findings: Findings, supply: Supply) -> str:
    """Where a load sits: a load typed on a row goes under another name."""
    typed = {load: label for label, load in findings.currents.typed.items()}
    label = typed.get(supply.load)
    return findings.by_label[label].wire.finish.point if label else supply.load


def _wants_a_relay(findings: Findings, supply: Supply, load: str) -> bool:
    """True for a lamp, a horn or a solenoid through a switch, and no relay on its way."""
    starts = [findings.by_label[label].wire.start.point for label in backwards(supply.feed)]
    words = {word for point in (*starts, load) for word in point.casefold().split()}
    switched = any(
        point not in findings.net.sources and not is_fuse(point) and not _joins(point)
        for point in starts
    )
    fits = supply.kind in _LAMPS or "horn" in load.casefold().split()
    large = supply.amps >= _RELAY_LEAST_AMPS and findings.rules.volts >= _RELAY_LEAST_VOLTS
    return fits and large and switched and "relay" not in words


def _joins(point: str) -> bool:
    return not JOINS.isdisjoint(point.casefold().split())


def _others_lose_as_much(findings: Findings, entry: SizedWire, over: _Over) -> bool:
    others = [label for label in over.stretch.wires if label != entry.wire.label]
    most = max((findings.by_label[label].drop_volts for label in others), default=0.0)
    return most >= entry.drop_volts * _AS_MUCH
