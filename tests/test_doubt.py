"""The range beside the total: doubts marked in the job book, summed as variances."""

import math
import random
from collections.abc import Callable, Sequence
from decimal import Decimal
from fractions import Fraction
from itertools import permutations, starmap
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

import bom.estimate
import bom.job
from bom.buy.doubt import Tried, Worked, left_out, root_of_squares, spread, unknowns
from bom.buy.price import quote
from bom.estimate import quote_for
from bom.show.job_json import quote_out
from bom.show.why import why
from bom.trade.catalogue_files import load_catalogue
from bom.trade.house import HouseRules
from bom.trade.job_book import JobBook, LabourRow
from bom.trade.needs import Allotment, CutList, Need, Takeoff, Trace
from bom.trade.orders import Order, PriceBook
from bom.trade.quotes import Quote, Range
from bom.trade.rows import Row
from tests.books import book, job_book
from tests.shops import PLAIN, workshop
from tests.within import bom as run

CATALOGUE, _ = load_catalogue()
LOOM = ("from", "to", "length m", "covering", "doubt")
COMPONENTS = ("component", "load", "tail mm", "doubt")
LABOUR = ("task", "qty", "hours", "doubt")
WIRES = ("wire", "colour", "gauge", "from", "to", "from end", "to end")
FUSES = [
    ("A", "blade fuse, 7.5 A", None, None, "each", None, 0.25),
    ("A", "in-line fuse holder, blade", None, None, "each", None, 1.80),
]
TEN_AMPS = ("A", "blade fuse, 10 A", None, None, "each", None, 0.55)


def bare(folder: Path, *branches: Any, rules: Any = (), **sheets: Any) -> Path:
    """A job with a bare red wire of 1.0 over each branch, off a reel that cost 10 a metre.

    Nothing is added to a length, so that a wire is as long as its branch and its tails.  A branch
    is (from, to, metres, doubt) and, where it is not bare, its covering.
    """
    workshop(folder, cable=[("R1", "1.0", "red", 50, 10)])
    wires = [
        (str(number), "red", "1.0", start, finish, "bare", "bare")
        for number, (start, finish, *_) in enumerate(branches, start=1)
    ]
    loom = [(a, b, m, *(covering or ["none"]), doubt) for a, b, m, doubt, *covering in branches]
    pages: dict[str, Any] = {
        "Job": [("item", "value"), *PLAIN.items(), *dict(rules).items()],
        "Circuits": [WIRES, *wires],
        "Loom": [LOOM, *loom],
    }
    return book(folder / "jobs", **pages | sheets)


def lamp(folder: Path, prices: Sequence[Any], rating: str | None, doubt: Any) -> Path:
    """A lamp of 5 A behind a fuse, its wires of 2.0 bare and off the shelf at no cost."""
    shelf = [("R1", "2.0", "red", 50, 0), ("R2", "2.0", "black", 50, 0)]
    workshop(folder, cable=shelf, prices=prices)
    return book(
        folder / "jobs",
        Job=[("item", "value"), *PLAIN.items(), ("end", "bare"), ("in_line_end", "bare")],
        Circuits=[
            ("wire", "from", "to", "colour", "gauge", "length", "fuse"),
            ("1", "battery:+", "lamp:1", "red", "2.0", 2, "main"),
            ("2", "lamp:2", "battery:-", "black", "2.0", 2, None),
        ],
        Components=[COMPONENTS, ("lamp", "5 A", None, doubt)],
        Fuses=[("fuse", "rating"), ("main", rating)],
    )


def range_of(path: Path) -> dict[str, str]:
    """The range as the JSON of the quote has it."""
    found: dict[str, str] = quote_out(*quote_for(path))["range"]
    return found


def says(path: Path) -> list[str]:
    """What the quote has to say, but for the hourly rate that these jobs do not need."""
    bought, _ = quote_for(path)
    return [p.says for p in bought.problems if "hourly" not in p.says]


# ------------------------------------------------------------------------------- by hand


A2 = ("a", "b", 2, None)
STRIP = [LABOUR, ("strip", 1, 4, "25 %")]


@pytest.mark.parametrize(
    ("branches", "sheets", "low", "likely", "high"),
    [
        # 10 % of 2 m is 0.2 m; at 10 a metre 2.00, and with tax at 20 % 2.40 either way
        ([("a", "b", 2, "10 %")], {}, "21.60", "24.00", "26.40"),
        # markup too: 2 m x 10 x 1.25 = 25.00, with tax 30.00; 0.2 m of it 2.50, with tax 3.00
        ([("a", "b", 2, 10)], {"rules": {"markup_percent": 25}}, "27.00", "30.00", "33.00"),
        # 0.3 m is 3.00 and 0.4 m is 4.00: the root of 9 + 16 is 5.00, with tax 6.00
        ([("a", "b", 3, 10), ("b", "c", 2, 20)], {}, "54.00", "60.00", "66.00"),
        # a branch moves every wire in it at once, by one tape measure: 3 m are 30.00, with tax
        # 36.00; twice that for two wires, 0.3 m on both 6.00, not the root of 9 + 9
        ([("a", "b", 3, 10)], {}, "32.40", "36.00", "39.60"),
        (
            [("a", "b", 3, 10)],
            {"Circuits": [WIRES, *((n, "red", "1.0", "a", "b", "bare", "bare") for n in "12")]},
            *("64.80", "72.00", "79.20"),
        ),
        # 20 % of a tail of 500 mm is 0.1 m: 1.00, with tax 1.20; 2.5 m are 25.00
        ([A2], {"Components": [COMPONENTS, ("b", None, 500, 20)]}, "28.80", "30.00", "31.20"),
    ],
)
def test_range_by_hand(
    tmp_path: Path, branches: Any, sheets: Any, low: str, likely: str, high: str
) -> None:
    """Doubts add as squares; each row is one."""
    path = bare(tmp_path, *branches, **sheets)
    assert range_of(path) == {"low": low, "likely": likely, "high": high}


@pytest.mark.parametrize(
    ("labour", "rules", "more"),
    [
        # 4 h +-25 % at 40 an hour: 40.00 net, with tax at 20 % 48.00
        (STRIP, {"hourly_rate": 40}, 48),
        # 50 % on all hours: 1.5 h are 60.00, with tax 72.00
        (STRIP, {"hourly_rate": 40, "labour_percent": 50}, 72),
        # a task done twice is one unknown: 2 x 3 h +-50 % at 10: 30.00 net, with tax 36.00
        ([LABOUR, ("wheel off", 2, 3, 50)], {"hourly_rate": 10}, 36),
    ],
)
def test_doubtful_hours(tmp_path: Path, labour: Any, rules: Any, more: int) -> None:
    """Either way of the total."""
    _, estimate = quote_for(bare(tmp_path, A2, rules=rules, Labour=labour))
    assert estimate and estimate.range
    total, found = estimate.total, estimate.range
    assert found.high - total == total - found.low == more


def test_a_load_may_ask_for_another_fuse(tmp_path: Path) -> None:
    """5 A need 6.67 A of fuse (75 %), so 7.5 A at 0.25; 6 A need 8 A, so 10 A at 0.55: 0.30."""
    path = lamp(tmp_path, [*FUSES, TEN_AMPS], None, "20 %")
    # 0.25 + 1.80 = 2.05, tax 0.41; 0.30 with tax 0.36
    assert range_of(path) == {"low": "2.10", "likely": "2.46", "high": "2.82"}
    assert says(path) == []


# ---------------------------------------------------------------------- what stops or lacks


def test_a_part_without_a_price_is_left_out_and_said(tmp_path: Path) -> None:
    """The 10 A fuse is on no list: only the 7.5 A fuse that falls away is in the range."""
    path = lamp(tmp_path, FUSES, None, "20 %")
    out = "component lamp: the range leaves out 'blade fuse, 10 A', which has no price"
    assert says(path) == [out]
    bought, _ = quote_for(path)
    # 0.25 with tax 0.30
    line = (
        "Components D2, component lamp: raised by 20 %: -0.30; "
        "without a price and left out: blade fuse, 10 A"
    )
    assert why(bought, "total")[1][-1] == line


def test_a_row_is_lowered_where_raising_has_errors(tmp_path: Path) -> None:
    """A typed fuse of 7.5 A cannot carry 10 A, but it carries 0 A, at the same price."""
    path = lamp(tmp_path, FUSES, "7.5 A", 100)
    assert says(path) == []
    bought, _ = quote_for(path)
    line = (
        "Components D2, component lamp: lowered by 100 %, as the job has errors when it is "
        "raised: +0.00"
    )
    assert why(bought, "TOTAL")[1][-1] == line


def test_what_has_errors_both_ways_is_left_out_with_a_caution(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The other doubt still counts: 0.3 m x 10 and tax are 3.60."""
    path = bare(tmp_path, ("a", "b", 3, 10), ("b", "c", 2, 20))
    real = bom.job.worked_out

    def only_the_first(job: Any, book: JobBook, *found: Any) -> Any:
        worked = real(job, book, *found)
        # b-c other than 2 m cannot be worked out
        return worked if book.branches[1].length_mm == 2000 else replace(worked, takeoff=None)

    monkeypatch.setattr(bom.estimate, "worked_out", only_the_first)
    bought, estimate = quote_for(path)
    assert estimate and estimate.range
    assert (estimate.range.low, estimate.range.high) == (Decimal("56.40"), Decimal("63.60"))
    caution = bought.problems[-1]
    assert (caution.level, caution.where.sheet, caution.where.cell) == ("caution", "Loom", "E3")
    assert caution.says.startswith("branch b-c: the job has errors with 20 % more")
    assert why(bought, "total")[1][-1].startswith("Loom E3, branch b-c: left out")


def test_an_incomplete_quote_has_no_range(tmp_path: Path) -> None:
    """The tape has no price: what 2 m of cable at 10 come to with tax is no likely total."""
    path = bare(tmp_path, ("a", "b", 2, 10, "tape"))
    answer = quote_out(*quote_for(path))
    assert not answer["complete"]
    assert (answer["range"], answer["so_far"]) == (None, "24.00")
    (said,) = says(path)
    assert "nobody sells 'loom tape, PVC, 19 mm'" in said


def test_no_doubt_no_range_and_no_second_working(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Blank or 0: null.  A branch is worked out once more, a task not, and nothing bought again."""
    calls = {"worked_out": 0, "buy": 0}

    def counted(name: str) -> Callable[..., Any]:
        real = getattr(bom.estimate, name)

        def call(*args: Any, **named: Any) -> Any:
            calls[name] += 1
            return real(*args, **named)

        return call

    monkeypatch.setattr(bom.job, "worked_out", counted("worked_out"))  # each page calls by its own
    for name in calls:
        monkeypatch.setattr(bom.estimate, name, counted(name))
    labour: list[Any] = [LABOUR, ("strip", 1, 4, None)]
    path = bare(tmp_path / "none", ("a", "b", 2, 0), Labour=labour)
    assert range_of(path) is None
    assert calls == {"worked_out": 1, "buy": 1}
    labour = [LABOUR, ("strip", 1, 4, 25)]
    assert range_of(bare(tmp_path / "some", ("a", "b", 2, 10), Labour=labour))
    assert calls == {"worked_out": 3, "buy": 2}


# ---------------------------------------------------------------------------------- laws

HOURS = st.decimals(min_value=0, max_value=40, places=2)
PERCENTS = st.integers(min_value=0, max_value=100)
TASKS = st.lists(st.tuples(HOURS, PERCENTS), min_size=1, max_size=6)


def labour_rows(tasks: Sequence[tuple[Any, Any]]) -> tuple[LabourRow, ...]:
    """Tasks of (hours, doubt in per cent), once each."""
    return tuple(
        LabourRow(
            task=f"task {number}",
            qty=Decimal(1),
            hours=Decimal(hours),
            row=Row("job.xlsx", "Labour", number + 2),
            doubt_percent=Decimal(percent),
        )
        for number, (hours, percent) in enumerate(tasks)
    )


def of_labour(tasks: Sequence[tuple[Any, Any]], rate: int = 40) -> tuple[Quote, Range | None]:
    """The estimate for labour alone, tax 20 %, and its range."""
    rows = labour_rows(tasks)
    nothing = Takeoff((), (), {})
    order = Order(lines=(), postage={}, unpriced=(), bound=Decimal(), proved=True)
    goods = (Allotment(taken=(), short=()), order, CutList(cuts=(), offcuts=(), taken=(), short=()))
    rules = HouseRules(hourly_rate=Decimal(rate), tax_percent=Decimal(20))
    setting = (rules, CATALOGUE, PriceBook(prices=(), suppliers={}))
    estimate = quote(nothing, goods, rows, setting)
    tried = [
        Tried(unknown=each, worked=Worked(takeoff=nothing, labour=each.raised.labour))
        for each in unknowns(job_book(labour=rows))
    ]
    return estimate, spread(estimate, Worked(takeoff=nothing, labour=rows), tried, setting)


@given(TASKS, st.data())
def test_more_doubt_never_narrows_the_range(tasks: list[tuple[Any, int]], data: Any) -> None:
    """One row made more doubtful: low is no higher, high no lower."""
    at = data.draw(st.integers(0, len(tasks) - 1))
    hours, percent = tasks[at]
    more = [*tasks[:at], (hours, data.draw(st.integers(percent, 100))), *tasks[at + 1 :]]
    estimate, less = of_labour(tasks)
    _, wider = of_labour(more)
    if wider is None:
        assert less is None
        return
    narrow = less or replace(wider, low=estimate.total, high=estimate.total)
    assert wider.low <= narrow.low <= narrow.likely <= narrow.high <= wider.high


@given(TASKS, st.randoms())
def test_the_order_of_rows_does_not_matter(tasks: list[tuple[Any, int]], shuffle: Any) -> None:
    """The same to the penny."""
    mixed = list(tasks)
    shuffle.shuffle(mixed)
    (_, one), (_, other) = of_labour(tasks), of_labour(mixed)
    ends = [found and (found.low, found.likely, found.high) for found in (one, other)]
    assert ends[0] == ends[1]


@given(st.lists(HOURS, max_size=6))
def test_no_doubt_is_no_range(hours: list[Decimal]) -> None:
    """Rows that are sure give none."""
    _, found = of_labour([(each, 0) for each in hours])
    assert found is None


@given(TASKS)
def test_the_range_lies_about_the_total(tasks: list[tuple[Any, int]]) -> None:
    """Never under 0, and to the penny as far down as up."""
    estimate, found = of_labour(tasks)
    if found:
        assert 0 <= found.low <= found.likely == estimate.total <= found.high
        assert abs((found.high - found.likely) - (found.likely - found.low)) <= Decimal("0.01")


@given(st.lists(st.integers(-(10**6), 10**6).map(lambda pence: Decimal(pence) / 100), max_size=8))
def test_the_root_of_squares_is_that_of_the_mathematics_library(effects: list[Decimal]) -> None:
    """Against `math.hypot`, to the 15 figures of a float."""
    ours, theirs = float(root_of_squares(effects)), math.hypot(*map(float, effects))
    assert math.isclose(ours, theirs, rel_tol=1e-14)


def test_a_wider_branch_never_narrows_a_real_job(tmp_path: Path) -> None:
    """Cable over the loom, from sure to wholly unsure, in steps of 25 %."""
    widths = []
    for percent in (0, 25, 50, 75, 100):
        path = bare(tmp_path / str(percent), ("a", "b", 3, 10), ("b", "c", 2, percent))
        found = range_of(path)
        widths.append(Decimal(found["high"]) - Decimal(found["low"]))
    # 3.00 and 0.2 x percent of 20.00, as root of squares, twice, with tax: 0 % 3, 100 % 20.22
    assert widths == sorted(widths)
    assert widths[0] == Decimal("7.20")
    assert widths[-1] == 2 * round(Decimal(math.sqrt(9 + 400) * 1.2), 2)


def test_rows_of_the_loom_in_any_order(tmp_path: Path) -> None:
    """Three branches in six orders, one range."""
    branches = [("a", "b", 3, 10), ("b", "c", 2, 20), ("c", "d", 1, 50)]
    found = [
        range_of(bare(tmp_path / str(number), *rows))
        for number, rows in enumerate(permutations(branches))
    ]
    assert len(found) == 6
    assert all(each == found[0] for each in found)


def test_low_is_never_under_nothing() -> None:
    """A part for 1000 that may be asked for, in a job of 12.00 with tax."""
    estimate, _ = of_labour([("1", 0)], rate=10)
    rows = labour_rows([("1", 50)])
    dear = Need(
        kind="extra", item="dear", quantity=Decimal(1), unit="each", wires=(), trace=Trace("")
    )
    nothing = Takeoff((), (), {})
    line = replace(
        estimate.lines[0], item="dear", cost=Decimal(1000), price=Decimal(1000), quantity=Decimal(1)
    )
    priced = replace(estimate, lines=(line,))
    (unknown,) = unknowns(job_book(labour=rows))
    tried = Tried(unknown=unknown, worked=Worked(takeoff=Takeoff((dear,), (), {}), labour=rows))
    rules = HouseRules(hourly_rate=Decimal(10), tax_percent=Decimal(20))
    setting = (rules, CATALOGUE, PriceBook(prices=(), suppliers={}))
    found = spread(priced, Worked(takeoff=nothing, labour=rows), [tried], setting)
    assert found
    assert [found.low, found.likely, found.high] == [0, 12, 1212]  # 1000 with tax 1200
    assert left_out(found, priced) == ()


# --------------------------------------------------------------------------- Monte Carlo


def test_two_thirds_of_simulated_totals_lie_within() -> None:
    """Normal errors on three tasks, 20,000 times: 68.27 % within one deviation.

    erf(1 / sqrt 2) = 0.6827.  The share of n = 20,000 has a standard error of
    sqrt(0.6827 x 0.3173 / 20000) = 0.0033; the bounds are four of them.
    """
    tasks = [(4, 25), (2, 50), (6, 10)]
    _, found = of_labour(tasks)
    assert found
    chance = random.Random(20261125)

    def total() -> float:
        hours = starmap(lambda h, percent: chance.gauss(h, h * percent / 100), tasks)
        return sum(hours) * 40 * 1.2

    draws = 20_000
    within = sum(float(found.low) <= total() <= float(found.high) for _ in range(draws))
    share = math.erf(1 / math.sqrt(2))
    assert abs(within / draws - share) <= 4 * math.sqrt(share * (1 - share) / draws)


# ------------------------------------------------------------------------------- printed


def test_it_stands_under_the_total(tmp_path: Path) -> None:
    """On both sheets, and in the JSON; not where nothing is marked."""
    path = bare(tmp_path, ("a", "b", 2, 10))
    for more in ((), ("--customer",)):
        lines = run("quote", path, *more).stdout.splitlines()
        total = next(number for number, line in enumerate(lines) if "TOTAL" in line)
        after = [line for line in lines[total + 1 :] if line]
        assert after[0] == "likely between 21.60 and 26.40"
    sure = bare(tmp_path / "sure", ("a", "b", 2, None))
    assert "likely" not in run("quote", sure).stdout
    assert range_of(sure) is None


def test_why_total_tells_the_method_and_each_part(tmp_path: Path) -> None:
    """3.00 and 4.00 net are 3.60 and 4.80 with tax; their root of squares is 6.00."""
    done = run("why", bare(tmp_path, ("a", "b", 3, 10), ("b", "c", 2, 20)), "total")
    assert done.returncode == 0
    lines = done.stdout.splitlines()
    # 5 m x 10 = 50.00; tax 20 % 10.00
    assert lines[0] == (
        "TOTAL 60.00: materials 50.00 + labour 0.00 = net 50.00, and tax 20 % 10.00"
    )
    assert lines[1] == "likely between 54.00 and 66.00: 60.00 -/+ 6.00"
    assert "one standard deviation" in lines[2]
    assert "(JCGM 100:2008, 5.1.2, equation 10)" in lines[2]
    assert lines[-2:] == [
        "Loom E2, branch a-b: raised by 10 %: +3.60",
        "Loom E3, branch b-c: raised by 20 %: +4.80",
    ]


def test_why_total_without_a_doubt_or_with_errors(tmp_path: Path) -> None:
    """It says that there is none, and leaves with 1 where the job has errors."""
    done = run("why", bare(tmp_path / "sure", ("a", "b", 2, None)), "total")
    assert done.returncode == 0
    assert done.stdout.splitlines()[-1].startswith("range: none")
    wrong = run("why", bare(tmp_path / "wrong", ("a", "b", 2, "much")), "total")
    assert wrong.returncode == 1
    assert wrong.stdout.splitlines() == ["TOTAL: none, there are errors"]
    assert "Loom › E2: 'much' is not a share in per cent" in wrong.stderr


def test_a_wire_called_total_is_the_wire(tmp_path: Path) -> None:
    """A label of the book comes before a word of ours."""
    wire = ("total", "red", "1.0", "a", "b", "bare", "bare")
    path = bare(tmp_path, ("a", "b", 2, 10), Circuits=[WIRES, wire])
    subject, lines = why(quote_for(path)[0], "total")
    assert subject == "total"
    assert lines[0].startswith("total: ")


def test_raising_changes_one_row_and_all_that_it_says(tmp_path: Path) -> None:
    """Tail and load of a component together."""
    parts = [COMPONENTS, ("b", "H4 dip", 500, 20)]
    path = bare(tmp_path, ("a", "b", 2, None), Components=parts)
    job = bom.job.open_job(path).book
    assert job
    (unknown,) = unknowns(job)
    was, now = job.components["b"], unknown.raised.components["b"]
    assert was.load and now.load
    assert now.tail_mm == 600
    assert now.load.amount == was.load.amount * Fraction(6, 5)
    assert unknown.lowered.components["b"].tail_mm == 400
    assert unknown.raised.branches == job.branches
