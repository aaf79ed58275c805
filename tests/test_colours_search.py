"""Colours tried out one by one: the search finds the same as trying every colouring there is."""

from collections.abc import Iterator, Sequence
from decimal import Decimal
from functools import cache
from itertools import product
from random import Random

import pytest

from bom.buy.colours import CableOffer, CircuitPart, LineGoods, Question, coloured
from bom.buy.solver import Solver
from bom.trade.job_book import Colour

RED, BLACK_TRACE, BLUE, GREEN = (
    Colour("red"),
    Colour("red", "black"),
    Colour("blue"),
    Colour("green"),
)
PALETTE = (RED, BLACK_TRACE, BLUE, GREEN)
WORTH = Decimal("0.50")


@pytest.fixture(scope="module")
def solver() -> Iterator[Solver]:
    with Solver(3600) as one:
        yield one


def _question(chance: Random) -> Question:
    """Up to five parts of up to four circuits in three branches, in two gauges."""
    circuits = [chance.choice("abcd") for _ in range(chance.randint(2, 5))]
    parts = tuple(_part(chance, circuit) for circuit in circuits)
    goods = {
        (gauge, colour): LineGoods(_shelf(chance), _offers(chance))
        for gauge in ("0.5", "1.0")
        for colour in PALETTE
        if chance.random() < 0.7
    }
    return Question(
        parts=parts,
        goods=goods,
        palette=PALETTE,
        priced=True,
        line_worth=WORTH,
        trim_mm=chance.choice((0, 5)),
        spare_percent=Decimal(chance.choice((0, 10))),
    )


def _part(chance: Random, circuit: str) -> CircuitPart:
    pieces = [
        (chance.choice(("0.5", "1.0")), chance.randrange(200, 2000, 100))
        for _ in range(chance.randint(1, 2))
    ]
    return CircuitPart(
        circuit=circuit,
        pieces=tuple(sorted(pieces)),
        lies_in=frozenset(n for n in range(3) if chance.random() < 0.5),
        usual=chance.choice((None, *PALETTE)),
        typed=chance.choice((None, None, None, *PALETTE)),
        starts=frozenset(chance.choice(("", "", "x", "y"))),
        made_in=chance.choice(((), (), (), (), (RED, BLUE))),
        barred=frozenset({GREEN} if chance.random() < 0.2 else ()),
    )


def _shelf(chance: Random) -> tuple[tuple[str, int], ...]:
    lengths = sorted(chance.randrange(300, 4000, 100) for _ in range(chance.randint(0, 2)))
    return tuple((f"R{n}", length) for n, length in enumerate(reversed(lengths)))


def _offers(chance: Random) -> tuple[CableOffer, ...]:
    metre = CableOffer(1000, Decimal(chance.randint(30, 60)) / 100)
    many = CableOffer(1000, metre.price - Decimal("0.05"), 3)
    reel = CableOffer(5000, metre.price * 3)
    return chance.choice(((), (metre,), (metre, many), (reel,), (metre, reel)))


# ----------------------------------------------------------------------- every colouring


def _least_of_all(question: Question) -> tuple[Decimal, ...] | None:
    """The least of the levels over all colourings without a clash, by trying each."""

    @cache
    def of_line(line: tuple[str, Colour], pieces: tuple[int, ...]) -> tuple[Decimal, ...]:
        goods = question.goods.get(line, LineGoods())
        rooms = [None, *range(len(goods.shelf))]
        found = []
        for places in product(rooms, repeat=len(pieces)):
            if _goes(question, goods, pieces, places):
                bought = [mm for mm, place in zip(pieces, places, strict=True) if place is None]
                found.append(_comes_to(question, goods, bought))
        return min(found)

    found = []
    for colours in product(PALETTE, repeat=len(question.parts)):
        if not _is_allowed(question.parts, colours):
            continue
        lines: dict[tuple[str, Colour], list[int]] = {}
        pairs = [*zip(question.parts, colours, strict=True)]
        for part, colour in pairs:
            for gauge, length in part.pieces:
                lines.setdefault((gauge, colour), []).append(length)
        astray = sum(len(p.pieces) for p, c in pairs if p.typed not in (None, c))
        unusual = sum(len(p.pieces) for p, c in pairs if p.usual not in (None, c))
        each = [of_line(line, tuple(sorted(pieces))) for line, pieces in lines.items()]
        unsold, mm, cost = (Decimal(sum(column)) for column in zip(*each, strict=True))
        found.append((Decimal(astray), unsold, Decimal(unusual), mm, cost))
    return min(found, default=None)


def _is_allowed(parts: Sequence[CircuitPart], colours: Sequence[Colour]) -> bool:
    """No colour of two circuits in a branch, one body a circuit, nothing that is barred.

    Cable that is made in few colours has one of them, and clashes with no other such cable.
    """
    for one, (part, colour) in enumerate(zip(parts, colours, strict=True)):
        if colour in part.barred or (part.made_in and colour not in part.made_in):
            return False
        for other, its in zip(parts[:one], colours, strict=False):
            few = (bool(part.made_in), bool(other.made_in))
            if other.circuit == part.circuit:
                if its.body != colour.body and not any(few):
                    return False
                outputs = part.starts & other.starts and part.lies_in & other.lies_in
                if its == colour and outputs and not any(few):
                    return False
            elif its == colour and other.lies_in & part.lies_in and not all(few):
                return False
    return True


def _goes(
    question: Question, goods: LineGoods, pieces: Sequence[int], places: Sequence[int | None]
) -> bool:
    """Whether pieces go on the lengths that they are put on, each with its trim and spare."""
    share = 1 + question.spare_percent / 100
    for number, (_, length) in enumerate(goods.shelf):
        own = [mm for mm, place in zip(pieces, places, strict=True) if place == number]
        if sum((mm + question.trim_mm) * share for mm in own) > length + question.trim_mm:
            return False
    return True


def _comes_to(question: Question, goods: LineGoods, bought: Sequence[int]) -> tuple[Decimal, ...]:
    """Pieces that nobody sells, mm that are bought, and money with what a line is worth."""
    share = 1 + question.spare_percent / 100
    mm = sum(((one + question.trim_mm) * share for one in bought), Decimal())
    unsold = Decimal(0 if goods.offers else len(bought))
    cost = _cheapest(goods.offers, mm) + (WORTH if bought else 0)
    return unsold, Decimal(sum(bought)), cost


def _cheapest(offers: Sequence[CableOffer], mm: Decimal) -> Decimal:
    """Every number of packs up to what does alone."""
    if not offers or not mm:
        return Decimal()
    numbers = [
        (0, *range(o.from_packs, max(o.from_packs, int(mm // o.holds_mm) + 1) + 1)) for o in offers
    ]
    return min(
        sum((n * o.price for n, o in zip(packs, offers, strict=True)), Decimal())
        for packs in product(*numbers)
        if sum(n * o.holds_mm for n, o in zip(packs, offers, strict=True)) >= mm
    )


@pytest.mark.parametrize("block", range(10))
def test_no_colouring_of_a_small_loom_is_better(solver: Solver, block: int) -> None:
    """Twenty-five looms a block: each level is what trying every colouring gives, and proved."""
    for seed in range(25 * block, 25 * block + 25):
        question = _question(Random(seed))
        least = _least_of_all(question)
        answer = coloured(question, solver)
        assert (answer is None) == (least is None), seed
        if answer is None or least is None:
            continue
        assert answer.proved, seed
        assert _is_allowed(question.parts, answer.colours), seed
        levels = [round(level.value, 2) for level in answer.levels.values()]
        assert levels == [pytest.approx(float(each), abs=0.01) for each in least], seed
