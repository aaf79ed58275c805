"""The sheets of the bench: how each wire is made up, what runs in each branch, what is tested."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction

from bom.estimate import Bought
from bom.job import Job
from bom.reckon.strands import earths
from bom.show.paper import Shown, about, in_colour
from bom.show.paper.ends import Fitted
from bom.show.paper.loom import DrawnLoom
from bom.show.shared import BENCH_CAUTIONS
from bom.show.told import accepted
from bom.trade.handover import ROAD_TEST
from bom.trade.job_book import Colour
from bom.trade.needs import SHRINK
from bom.trade.problem import counted
from bom.trade.wires import Bundle, SizedWire

_MOST_ROWS = 50
"""Of more wires in a branch nobody ticks each by its row."""
_MOST_NAMES = 200
"""Of more wires in a branch nobody reads each name: the first of a gauge and colour will do."""
_FEW = 3
_UNSEEN_AMPS = Fraction(1, 20)
"""So little is not expected of a meter: its 10 A range hardly tells it from nothing."""


def bench_sheet(bought: Bought, loom: DrawnLoom) -> Shown:
    """How each wire is made up, what runs in each branch, and the test sheet."""
    job = bought.jobs[0]
    bundles = job.takeoff.bundles if job.takeoff else ()
    thickest_first = sorted(bundles, key=lambda bundle: -len(bundle.wires))
    fitted = Fitted.of(job)
    holders, over = fitted.holders(job), laid_over(job)
    return {
        "title": f"{job.name}: bench sheets",
        "about": [fact for fact in about(job) if fact[0] != "job"],
        "cautions": BENCH_CAUTIONS,
        "wires": [
            {**_made_up(job, wire, fitted), "holder": holders.get(wire.wire.label)}
            for wire in job.wires
        ],
        "ends": fitted.key(),
        "leads": fitted.on_leads(),
        "branches": [runs_in(job, bundle, over) for bundle in thickest_first if bundle.wires],
        "tests": tests_of(job),
        "road-test": ROAD_TEST,
        "accepted": accepted(job.problems),
        "pictures": loom.to_scale,
    }


# ---------------------------------------------------------------------------- the making up


def _made_up(job: Job, wire: SizedWire, fitted: Fitted) -> Shown:
    label, ends = wire.wire.label, wire.wire
    return {
        "wire": f"{label}, {ends.qty} x" if ends.qty > 1 else label,
        "gauge": wire.cable.gauge,
        **in_colour(job, ends.colour),
        "from": fitted.shown(label, "from end", ends.start, wire.start_end),
        "to": fitted.shown(label, "to end", ends.finish, wire.finish_end),
    }


# --------------------------------------------------------------------------- what runs where


def laid_over(job: Job) -> Mapping[str, Sequence[str]]:
    """What goes over each branch, by its name, from the inside out."""
    layers = (*job.workshop.catalogue.layers, SHRINK)
    branches = {str(bundle.branch) for bundle in (job.takeoff.bundles if job.takeoff else ())}
    found: dict[str, list[str]] = defaultdict(list)
    for need in job.takeoff.needs if job.takeoff else ():
        for figure in need.trace.figures if need.kind in layers else ():
            name, _, says = figure.partition(": ")
            if name in branches:
                found[name].append(f"{need.item}, {says}" if need.kind == SHRINK else need.item)
    return found


def runs_in(job: Job, bundle: Bundle, over: Mapping[str, Sequence[str]]) -> Shown:
    """A row for each wire; of very many by gauge and colour, since the cut list has their ends.

    `over` is what goes over each branch, by its name.
    """
    branch = bundle.branch
    slack = f" + {float(branch.slack_mm):.0f} mm slack" if branch.slack_mm else ""
    count = counted(sum(wire.wire.qty for wire in bundle.wires), "wire")
    is_small = len(bundle.wires) <= _MOST_ROWS
    return {
        "name": f"{branch.start} to {branch.finish}",
        "says": f"{float(branch.length_mm):.0f} mm{slack}, {bundle.diameter_mm:.1f} mm across, "
        f"{branch.covering}, {count}",
        "over": over.get(str(branch), ()),
        "wires": [_row(job, wire) for wire in bundle.wires] if is_small else [],
        "cables": [] if is_small else list(_cables(job, bundle)),
    }


def _row(job: Job, wire: SizedWire) -> Shown:
    return {
        "wire": wire.wire.label,
        "gauge": wire.cable.gauge,
        **in_colour(job, wire.wire.colour),
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
            **in_colour(job, colour),
            "count": counted(sum(wire.wire.qty for wire in wires), "wire"),
            "wires": _named([wire.wire.label for wire in wires], few=is_large),
        }


def _named(labels: Sequence[str], *, few: bool) -> str:
    """The names of wires; with `few` the first of many."""
    more = len(labels) - _FEW if few else 0
    return ", ".join(labels[:_FEW] if more > 0 else labels) + (f" and {more} more" * (more > 0))


# ------------------------------------------------------------------------------ the tests


def tests_of(job: Job) -> list[Shown]:
    """What is tested of each wire, and what a meter should show."""
    at_earth = earths(job.net, job.wires) if job.net else frozenset()
    fuses = _first_wires(job)
    return [
        {**_test(wire, wire.wire.label in at_earth), "fuse": fuses.get(wire.wire.label)}
        for wire in job.wires
    ]


def _first_wires(job: Job) -> dict[str, str]:
    """By the first wire behind each fuse what is fitted there: its name and rating."""
    ratings = {fuse.name: fuse.rating for fuse in (job.sized.fuses if job.sized else ())}
    return {
        fuse.wires[0]: f"{fuse.name}, {float(ratings[fuse.name]):g} A"
        for fuse in (job.currents.fuses if job.currents else ())
        if fuse.name in ratings
    }


def _test(wire: SizedWire, at_earth: bool) -> Shown:
    amps = wire.loaded.amps
    return {
        "wire": wire.wire.label,
        "from": str(wire.wire.start),
        "to": str(wire.wire.finish),
        "is-earth": at_earth,
        "amps": f"{float(amps):.2f} A" if amps > _UNSEEN_AMPS else "",
    }
