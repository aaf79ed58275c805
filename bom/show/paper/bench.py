"""The sheets of the bench: the cut list, what runs in each branch, and what is tested."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from fractions import Fraction

from msgspec import Struct

from bom.estimate import Bought
from bom.files.spelling import plain
from bom.job import Job
from bom.show.paper import Shown, about
from bom.show.paper.loom import DrawnLoom
from bom.show.shared import BENCH_CAUTIONS, left_over
from bom.show.told import accepted
from bom.trade.catalogue import Catalogue
from bom.trade.catalogue_rows import BY_SLEEVE
from bom.trade.handover import ROAD_TEST
from bom.trade.job_book import Colour, Pin
from bom.trade.point_names import is_battery, is_earth
from bom.trade.problem import counted
from bom.trade.wires import Bundle, Joint, SizedWire

_TEST_HEADINGS = (
    *("wire", "from", "to", "goes through", "no short to earth", "insulation"),
    *("fuse fitted", "expected", "measured"),
)

_MOST_ROWS = 50
"""Of more wires in a branch nobody ticks each by its row."""
_MOST_NAMES = 200
"""Of more wires in a branch nobody reads each name: the first of a gauge and colour will do."""
_FEW = 3


def bench_sheet(bought: Bought, loom: DrawnLoom) -> Shown:
    """Cut list, what runs in each branch, and the test sheet."""
    job = bought.jobs[0]
    bundles = job.takeoff.bundles if job.takeoff else ()
    earths = _earths(job)
    return {
        "title": f"{job.name}: bench sheets",
        "heading": f"{job.name}: bench sheets",
        "about": about(job),
        "cautions": BENCH_CAUTIONS,
        "cuts": list(_cuts(bought)),
        "left": [
            (offcut.piece, f"{offcut.gauge} {offcut.colour}", f"{offcut.length_mm} mm", then)
            for offcut, then in left_over(bought)
        ],
        "branches": [_branch(job, bundle) for bundle in bundles if bundle.wires],
        "test-headings": _TEST_HEADINGS,
        "tests": [_test(wire, wire.wire.label in earths) for wire in job.wires],
        "road-test": ROAD_TEST,
        "accepted": accepted(job.problems),
        "pictures": loom.to_scale,
    }


def _colours(job: Job, colour: Colour | None) -> Shown:
    """A colour in words, and for its stripe in RGB."""
    hexes = {row.word: row.hex for row in job.workshop.catalogue.colours}
    return {
        "colour": str(colour or "any colour"),
        "body": hexes.get(colour.body if colour else "", "#ffffff"),
        "trace": hexes.get(colour.trace) if colour and colour.trace else None,
    }


# ------------------------------------------------------------------------------- the cuts


def _cuts(bought: Bought) -> Iterator[Shown]:
    job, wires = bought.jobs[0], bought.wires
    places = {piece.name: piece.place for piece in bought.stock.pieces}
    ends = _fitted(job)
    for cut in bought.cuts:
        wire = wires[cut.job, cut.wire]
        place = places.get(cut.piece, "")
        yield {
            "gauge": cut.gauge,
            **_colours(job, cut.colour),
            "length": f"{cut.length_mm} mm",
            "wire": cut.wire,
            "circuit": wire.wire.circuit,
            "from": ends.shown(cut.wire, "from end", wire.wire.start, wire.start_end),
            "to": ends.shown(cut.wire, "to end", wire.wire.finish, wire.finish_end),
            "piece": f"{cut.piece}, {place}" if place else cut.piece,
        }


class _Fitted(Struct, frozen=True):
    """The terminals of a job by wire and heading, and what is known of them."""

    joints: Mapping[tuple[str, str], Joint]
    areas_mm2: Mapping[str, Fraction]
    catalogue: Catalogue

    def shown(self, label: str, heading: str, pin: Pin, style: str) -> Shown:
        """One end: where it sits, its terminal and cover, and how far it is stripped."""
        shown = {"at": str(pin), "style": style, "terminal": "", "cover": "", "strip": ""}
        joint = self.joints.get((label, heading))
        if joint is None or not joint.style.family:
            return shown
        half = "plug" if joint.style.family == BY_SLEEVE else joint.half
        area_mm2 = joint.area_mm2(self.areas_mm2)
        terminal = self.catalogue.terminal(joint.style.family, half, area_mm2)
        covered = joint.style.closure == "cover"
        cover = self.catalogue.cover(joint.style.family, half) if covered else None
        others = [end.wire.label for end in joint.ends if end.wire.label != label]
        with_them = f", together with {' '.join(others)}" if others else ""
        return {
            **shown,
            "terminal": (terminal.item if terminal else "") + with_them,
            "cover": cover.item if cover else "",
            "strip": f"{joint.style.strip_mm} mm" if joint.style.strip_mm else "",
        }


def _fitted(job: Job) -> _Fitted:
    joints = [joint for joint in (job.ends.joints if job.ends else ()) if not joint.mate]
    return _Fitted(
        {(end.wire.label, end.heading): joint for joint in joints for end in joint.ends},
        {wire.wire.label: wire.cable.area_mm2 for wire in job.wires},
        job.workshop.catalogue,
    )


def _branch(job: Job, bundle: Bundle) -> Shown:
    """A row for each wire; of very many by gauge and colour, since the cut list has their ends."""
    branch = bundle.branch
    slack = f" and {float(branch.slack_mm):.0f} mm slack" if branch.slack_mm else ""
    count = counted(sum(wire.wire.qty for wire in bundle.wires), "wire")
    is_small = len(bundle.wires) <= _MOST_ROWS
    return {
        "name": f"{branch.start} to {branch.finish}",
        "says": f"{float(branch.length_mm):.0f} mm{slack}, {bundle.diameter_mm:.1f} mm across, "
        f"{branch.covering}, {count}",
        "wires": [_row(job, wire) for wire in bundle.wires] if is_small else [],
        "cables": [] if is_small else list(_cables(job, bundle)),
    }


def _row(job: Job, wire: SizedWire) -> Shown:
    return {
        "wire": wire.wire.label,
        "gauge": wire.cable.gauge,
        **_colours(job, wire.wire.colour),
        "from": str(wire.wire.start),
        "to": str(wire.wire.finish),
    }


def _cables(job: Job, bundle: Bundle) -> Iterator[Shown]:
    """The wires of each gauge and colour by name, of very many the first."""
    is_large = len(bundle.wires) > _MOST_NAMES
    alike: dict[tuple[str, Colour | None], list[SizedWire]] = defaultdict(list)
    for wire in bundle.wires:
        alike[wire.cable.gauge, wire.wire.colour].append(wire)
    for (gauge, colour), wires in alike.items():
        yield {
            "gauge": gauge,
            **_colours(job, colour),
            "count": counted(sum(wire.wire.qty for wire in wires), "wire"),
            "wires": _named([wire.wire.label for wire in wires], few=is_large),
        }


def _named(labels: Sequence[str], *, few: bool) -> str:
    """The names of wires; with `few` the first of many."""
    more = len(labels) - _FEW if few else 0
    return ", ".join(labels[:_FEW] if more > 0 else labels) + (f" and {more} more" * (more > 0))


# ------------------------------------------------------------------------------ the tests


def _test(wire: SizedWire, at_earth: bool) -> Shown:
    fuse = wire.fuse_amps
    return {
        "wire": wire.wire.label,
        "from": str(wire.wire.start),
        "to": str(wire.wire.finish),
        "is-earth": at_earth,
        "fuse": "" if fuse is None else f"{plain(Decimal(str(float(fuse))))} A",
        "amps": f"{float(wire.loaded.amps):.2f} A" if wire.loaded.amps else "",
    }


def _earths(job: Job) -> set[str]:
    """The wires that lie at earth from end to end, with no switch or load behind them.

    A return is not one yet: the wire from a coil to its switch, or a charging wire, is live.
    """
    arriving: dict[Pin, list[SizedWire]] = defaultdict(list)
    waiting: list[SizedWire] = []
    for wire in job.wires:
        if not wire.loaded.is_return:
            continue
        start, finish = wire.wire.start, wire.wire.finish
        if _at_earth(job, finish) or (is_earth(Pin(start.point)) and not is_battery(start.point)):
            waiting.append(wire)
        elif finish.pin or _is_joint(finish.point, wire.finish_end):
            arriving[finish].append(wire)
    found: set[str] = set()
    while waiting:
        wire = waiting.pop()
        found.add(wire.wire.label)
        waiting += arriving.pop(wire.wire.start, ())
    return found


def _at_earth(job: Job, pin: Pin) -> bool:
    """Whether a pin is named as an earth; of a battery, its pole on the earth side alone."""
    if not is_battery(pin.point):
        return is_earth(pin)
    words = f"{pin.point} {pin.pin}"
    return job.net is not None and job.net.is_earth_pin(Pin(pin.point, words))


def _is_joint(point: str, style: str) -> bool:
    """Whether bare ends at a point are surely joined there, as they are not at a switch."""
    return style == "splice" or "earth" in point.casefold().split()
