"""Lamps chained one from the next: the work grows as they do, and comes to what walking finds."""

import os
import sys
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bom.job import open_job
from tests.bench.alone import Alone, alone
from tests.bench.growth import MOST, grown
from tests.bench.yardstick import too_long
from tests.books import book
from tests.chains import KINDS, chain

ENVIRON = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[1]), "COLUMNS": "200"}


def check(job: Path) -> Alone:
    """`bom check` of a job as a process of its own."""
    command = (sys.executable, "-m", "bom.cli", "check", job)
    return alone(*command, cwd=job.parent, env=ENVIRON)


def lengthened(kind: str, few: int, many: int, most: float) -> tuple[Alone, float]:
    """The check of the longer of two chains, and the exponent between them."""

    def made(shop: Path, lamps: int) -> tuple[object, ...]:
        return "check", chain(kind, lamps, shop)

    (_, longer), slope = grown(made, (few, many), most)
    assert "Traceback" not in longer.err
    return longer, slope


@pytest.mark.parametrize("kind", KINDS)
def test_a_check_of_a_chain_grows_with_its_lamps(kind: str) -> None:
    """Three hundred to three thousand lamps.

    Between these the volts lost begin to ask for thicker wires, twice the work for each of them:
    a tenfold chain may take forty times as long, not the hundred of a square.
    """
    _, slope = lengthened(kind, 300, 3000, 1.6)
    assert slope <= 1.6


def test_a_thousand_loaded_wires_in_one_branch(tmp_path: Path) -> None:
    """Every gauge is chosen, each wire warms all others: in five seconds."""
    answer = check(chain("one branch", 500, tmp_path))
    assert "Traceback" not in answer.err
    assert not too_long(answer.cpu_s, 5)


@pytest.mark.slow
@pytest.mark.parametrize("kind", KINDS[:-1])
def test_ten_thousand_lamps(kind: str) -> None:
    """From a hundred on, by the power that issue 18 asks for; in thirty seconds and 400 MB."""
    longer, slope = lengthened(kind, 100, 10_000, MOST)
    assert slope <= MOST
    assert not too_long(longer.cpu_s, 30)
    assert longer.peak_mb < 400


# ------------------------------------------------------------------------- what is found


@st.composite
def chained(draw: st.DrawFn) -> tuple[list[int], list[set[int]], list[int]]:
    """For each lamp that it is fed from, those its earths go to (-1: the battery), its amps."""
    count = draw(st.integers(2, 9))
    fed = [draw(st.integers(-1, n - 1)) for n in range(count)]
    earths = [draw(st.sets(st.integers(-1, n - 1), min_size=1, max_size=2)) for n in range(count)]
    return fed, earths, [draw(st.integers(1, 4)) for _ in range(count)]


def beyond(fed: list[int], lamp: int) -> set[int]:
    """A lamp and all that are fed on from it, by plain recursion."""
    return {lamp}.union(*(beyond(fed, n) for n, before in enumerate(fed) if before == lamp))


def behind(earths: list[set[int]], lamp: int) -> set[int]:
    """A lamp and all whose earths come to it, each once however often."""
    return {lamp}.union(*(behind(earths, n) for n, to in enumerate(earths) if lamp in to))


@pytest.mark.parametrize("typed", [False, True])
@settings(max_examples=40)
@given(machine=chained(), data=st.data())
def test_chains_carry_what_walking_them_finds(
    tmp_path_factory: pytest.TempPathFactory,
    typed: bool,
    machine: tuple[list[int], list[set[int]], list[int]],
    data: st.DataObject,
) -> None:
    """Feeds and earths from lamp to lamp, two earths of one lamp, loads in the rows or not.

    Design, Currents 1 and 3: a feed carries each load that it leads to once, an earth each that
    it comes from.
    """
    fed, earths, loads = machine
    if typed:  # without a load of its own a lamp is one pin: its earth would be fed on
        earths = [{-1} for _ in earths]
    rows, expected = [], []
    for n, before in enumerate(fed):
        start = "battery:+" if before < 0 else f"lamp {before}:+"
        rows.append((start, f"lamp {n}:+", f"{loads[n]} A" if typed else "", "main"))
        expected.append(sum(loads[lamp] for lamp in beyond(fed, n)))
        for to in sorted(earths[n]):
            finish = "battery:-" if to < 0 else f"lamp {to}:earth"
            rows.append((f"lamp {n}:earth", finish, "", ""))
            expected.append(sum(loads[lamp] for lamp in behind(earths, n)))
    order = data.draw(st.permutations(range(len(rows))))
    heads = ("from", "to", "load", "fuse", "length", "colour", "gauge")
    circuits = [heads, *((*rows[n], "1 m", "red", "35") for n in order)]
    parts = [(f"lamp {n}", "" if typed else f"{load} A") for n, load in enumerate(loads)]
    job = open_job(
        book(
            tmp_path_factory.mktemp("chain"),
            Circuits=circuits,
            Components=[("component", "load"), *parts],
        )
    )
    assert job.sized is not None, job.problems
    found = [entry.loaded.amps for entry in job.sized.wires]
    assert found == [Fraction(expected[n]) for n in order]
