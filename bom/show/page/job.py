"""A job as a page to look at: at the bench as a file of its own, on the desk beside its book.

Every figure is one that a command or a paper shows as well; nothing is reckoned here.
"""

import json
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from hashlib import sha256

from bom.estimate import Bought
from bom.files import clock
from bom.files.spelling import fold, plain
from bom.job import Job
from bom.show.job_json import money, quote_out
from bom.show.page import one_file
from bom.show.page.ids import PageIds
from bom.show.page.loom import drawn_loom
from bom.show.page.told import on_a_page
from bom.show.page.ways import shown_ways
from bom.show.page.wires import shown_branches, shown_points, shown_wires
from bom.show.paper import Shown, about
from bom.show.paper.bench import tests_of
from bom.show.paper.cutting import cut_sheet
from bom.show.paper.ends import Fitted
from bom.show.quote_tables import on_order_lines, ordered_lines
from bom.show.shared import BENCH_CAUTIONS, in_metres, likely, so_far
from bom.show.told import accepted, grouped, headline
from bom.trade.handover import CHARGING, FIRST_POWER, ROAD_TEST
from bom.trade.problem import Problem
from bom.trade.quotes import Quote

TEMPLATE, SCRIPTS = "job_file.html", ("job.js",)


def job_file(bought: Bought) -> str:
    """The page of the first of the jobs as one file for the bench; it bears no price."""
    made = f"{clock.now():%Y-%m-%d %H:%M}"
    # what is accepted stands on the test sheet; what is doubtful about prices is for the office
    doubts = _problems([p for p in bought.jobs[0].problems if not p.accepted])
    shown = {**job_page(bought), "problems": doubts}
    return one_file(TEMPLATE, SCRIPTS, {"job": shown, "made": made})


def job_page(bought: Bought, estimate: Quote | None = None) -> Shown:
    """What the page of the first of the jobs shows.

    `bench` is None where errors are in the way of it, and `price` where there is no estimate.
    """
    job = bought.jobs[0]
    return {
        "name": job.name,
        "about": [fact for fact in about(job) if fact[0] != "job"],
        "problems": _problems(bought.problems),
        "price": price_of(bought, estimate) if estimate else None,
        "bench": _bench(bought) if job.takeoff else None,
    }


def _problems(problems: Sequence[Problem]) -> Shown:
    """What is wrong or doubtful, as it is told at the screen."""
    told = grouped(problems)
    return {
        "headline": headline(problems) if problems else "",
        "told": [
            {"level": p.level, "where": str(p.where), "says": p.says, "cure": on_a_page(p.cure)}
            for p in told
        ],
        "accepted": accepted(problems),
    }


def price_of(bought: Bought, estimate: Quote) -> Shown:
    """The estimate by groups, for the workshop's own eyes; no total while a price is wanting."""
    answer, groups = quote_out(bought, estimate), defaultdict[str, list[Shown]](list)
    for line, own in zip(answer["lines"], estimate.lines, strict=True):
        amount, unit = in_metres(own)
        groups[line["group"]].append({**line, "quantity": plain(amount), "unit": unit})
    rest = "" if estimate.complete else " so far"
    sums = (
        ("net", estimate.net),
        (f"tax {plain(bought.jobs[0].rules.tax_percent)} %", estimate.tax),
    )
    return {
        "currency": bought.jobs[0].rules.currency,
        "groups": [
            {"name": name, "price": money(price), "lines": lines}
            for (name, price), lines in zip(
                estimate.shown_groups.items(), groups.values(), strict=True
            )
        ],
        "sums": [(f"{name}{rest}", money(amount)) for name, amount in sums],
        "total": answer["total"],
        "likely": likely(estimate),
        "so_far": so_far(estimate),
        "notes": [
            *ordered_lines(bought.jobs[0].name, bought.stock),
            *on_order_lines(bought.on_order),
        ],
    }


def _bench(bought: Bought) -> Shown:
    job = bought.jobs[0]
    ids, fitted = PageIds.of(job), Fitted.of(job)
    wires, ways = shown_wires(ids, fitted), shown_ways(ids)
    by_label = {wire["wire"]: wire for wire in wires}
    reels = list(_reels(bought, by_label))
    return {
        "loom": drawn_loom(ids),
        "branches": shown_branches(ids),
        "points": shown_points(ids, ways),
        "ways": [_way(way, by_label) for way in ways],
        "wires": wires,
        "issued": _issued(bought),
        "stripes": {
            stripe: f"c{n}"
            for n, stripe in enumerate(
                dict.fromkeys((each["body"], each["trace"]) for each in (*wires, *reels)), 1
            )
        },
        "ids": ids.wires,
        "reels": reels,
        "cuts": sum(len(reel["cuts"]) for reel in reels),
        "ends": fitted.key(),
        "leads": fitted.on_leads(),
        "tests": [_test(job, test, by_label) for test in tests_of(job)],
        "whole": _whole(job),
        "cautions": BENCH_CAUTIONS,
        "accepted": accepted(job.problems),
    }


def _way(way: Shown, wires: Mapping[str, Shown]) -> Shown:
    """The wires of a load's way as they are told elsewhere, and the fuses on it."""
    own = [wires[label] for label in way["wires"]]
    fuses = dict.fromkeys(wire["fuse"] for wire in own if wire["fuse"])
    return {**way, "wires": own, "fuses": [*fuses]}


def _reels(bought: Bought, wires: dict[str, Shown]) -> Iterator[Shown]:
    """The cut list as it is printed; each cut with what its tick is kept by."""
    job, numbers = bought.jobs[0], Counter[str]()
    for reel in cut_sheet(bought)["reels"]:
        cuts = []
        for cut in reel["cuts"]:
            label, own = cut["wire"], wires[cut["wire"]]
            numbers[label] += 1
            shown = {key: own[key] for key in ("id", "ends", "holder", "note")}
            keep = _keep("cut", job, label, numbers[label])
            facts = f"{cut['length']} {reel['gauge']} {reel['colour']}"  # from whichever reel
            cuts.append({**cut, **shown, "keep": keep, "facts": facts})
        yield {**reel, "cuts": cuts}


def _test(job: Job, test: Shown, wires: dict[str, Shown]) -> Shown:
    """A row of the test sheet; what is found counts for the wire as it is now."""
    own = wires[test["wire"]]
    keep = {
        what: _keep("test", job, test["wire"], what)
        for what in ("goes through", "no short to earth", "insulation", "fuse fitted", "measured")
    }
    made = f"{own['length']} {own['gauge']} {own['colour']}, {test['from']} to {test['to']}"
    ends = " and ".join(f"{end['style']} {end['terminal']}".strip() for end in own["ends"])
    facts = f"{made}, {ends}, fuse {own['fuse'] or 'none'}"
    return {**test, "id": own["id"], "keep": keep, "facts": facts}


def _whole(job: Job) -> Shown:
    """What is tested of the whole machine: boxes to tick, and what is written in."""
    ticked = (FIRST_POWER, *ROAD_TEST)
    written = (("fuse or lamp at first power", "A or W"), *((what, "V") for what in CHARGING))
    return {
        "ticked": [{"says": what, "keep": _keep("test", job, what)} for what in ticked],
        "written": [
            {"says": what, "unit": unit, "keep": _keep("test", job, what)}
            for what, unit in (*written, ("tested by", ""), ("date", ""))
        ],
    }


def _issued(bought: Bought) -> list[str]:
    """What is to be known of a cut list that was planned anew, from what an issue left."""
    name = bought.jobs[0].name
    when = bought.stock.issued.get(fold(name))
    if not when:
        return []
    return [
        f"'{name}' was issued on {when}: what it took is off the shelf by now, and this list is "
        "planned anew from what is left. Cut by the list that was printed before."
    ]


def _keep(kind: str, job: Job, *named: object) -> str:
    """What a tick is kept by on the device: the machine, and what is ticked of it.

    Whether it still holds is told by the facts that stand beside it.
    """
    named = (kind, *(value for _, value in about(job)), *named)
    return sha256(json.dumps(named).encode()).hexdigest()[:16]
