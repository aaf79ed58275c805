"""The search for colours: level by level, each held for the next, and how good it is."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import TypeAlias

from msgspec import Struct

from bom.buy.colours.first import FirstLook, cuts_for
from bom.buy.colours.model import UNITS, Candidates, ColourModel
from bom.buy.colours.money import least_cost
from bom.buy.colours.question import LEVELS, Answer, CircuitPart, Level, Line, Piece, Question
from bom.buy.solver import GAP, Solution, Solver
from bom.trade.job_book import Colour

STEPS = (LEVELS[:3], LEVELS[3:4], LEVELS[4:])
"""Levels that are asked for together, the most important first."""

SHARE = 0.7
"""The share of the time left that a step but the last may take."""

NEAR = {"bought_mm": 0.5, "cost": GAP}
"""So near to the least counts as the least: half a mm, half a penny; of wires less than one."""

_OF_WIRES = 0.5
_SLACK = 1e-6


_Cuts: TypeAlias = Mapping[tuple[int, Piece], list[str]]


class _Found(Struct, frozen=True):
    """Colours with what is cut from the shelf for them, and what each level comes to."""

    colours: tuple[Colour, ...]
    cuts: _Cuts
    values: tuple[float, ...]


def coloured(
    question: Question, solver: Solver, known: Sequence[Colour | None] = ()
) -> Answer | None:
    """The best colours that were found; None where there are not enough for a branch.

    Without time for the solver they are the `known` ones or those that the first look gives, and
    nothing is proved.
    """
    wide = bool(question.further)
    for further in (False, True)[: 1 + wide]:
        candidates = tuple(_candidates(question, part, further) for part in question.parts)
        if all(candidates):
            answer = _best(question, candidates, solver, known)
            if answer:
                return answer
    return None


def _candidates(question: Question, part: CircuitPart, further: bool) -> tuple[Colour, ...]:
    if part.fixed:
        return (part.fixed,)
    if part.made_in:
        return tuple(c for c in part.made_in if c not in part.barred) or part.made_in
    own = {colour for gauge, colour in question.goods if gauge in part.gauges}
    own |= {*question.palette, *(question.further if further else ())}
    own |= {colour for colour in (part.usual, part.typed) if colour}
    beside = any(map(part.is_output_beside, question.parts))  # in one body, by their traces
    own |= {colour for colour in question.further if beside or colour.body in part.bodies}
    return tuple(sorted(c for c in own - part.barred if c.body != part.barred_body))


def _best(
    question: Question, candidates: Candidates, solver: Solver, known: Sequence[Colour | None]
) -> Answer | None:
    best = _first(question, candidates, known)
    model = ColourModel(question, candidates) if solver.seconds_left else None
    levels: dict[str, Level] = {}
    for together in STEPS:
        at = len(levels)
        now = slice(at, at + len(together))
        least = [_least(question, candidates, level) for level in together]
        found = Solution(proved=best is not None and sum(best.values[now]) <= sum(least) + _SLACK)
        if model and not found.proved:
            found = _solved(model, together, solver)
            if not found.values and found.proved:
                if best is None:
                    return None
                found = _surely(model, together, solver)
            best = _better(question, model, found, best, now.stop)
        if best is None:
            return None
        if not found.proved and len(together) == 1:
            least = [max(*least, (found.bound or 0.0) * _unit(together[0]))]
        for level, value, bound in zip(together, best.values[now], least, strict=True):
            proved = found.proved or value <= bound + _SLACK
            levels[level] = Level(value, value if proved else bound, proved)
            if model:
                most = (value + _near(level) / 2) / _unit(level)
                model.programme.row(model.levels[level], at_most=most)
    return None if best is None else _answer(question, best, levels)


def _near(level: str) -> float:
    return NEAR.get(level, _OF_WIRES)


def _unit(level: str) -> int:
    return UNITS.get(level, 1)


def _least(question: Question, candidates: Candidates, level: str) -> float:
    """What a level comes to at the least: the least of each part by itself, for whole wires."""
    pairs = [*zip(question.parts, candidates, strict=True)]
    if level == "astray":
        return sum(len(p.pieces) * min(map(p.astray, colours)) for p, colours in pairs)
    if level == "unusual":
        return sum(len(p.pieces) * all(map(p.is_unusual, colours)) for p, colours in pairs)
    return 0.0


def _solved(model: ColourModel, together: Sequence[str], solver: Solver) -> Solution:
    """Levels of whole wires are one question: one wire of the first outweighs all of the next."""
    programme = model.programme
    weight, total = 1.0, dict[int, float]()
    for level in reversed(together):
        for column, value in model.levels[level].items():
            total[column] = total.get(column, 0.0) + weight * value
        weight *= 1 + sum(len(part.pieces) for part in model.question.parts)
    programme.costs = [total.get(column, 0.0) for column in range(len(programme.costs))]
    programme.gap = _near(together[-1]) / _unit(together[-1])
    last = together == STEPS[-1]
    return solver.solve(programme, seconds=solver.seconds_left * (1 if last else SHARE))


def _surely(model: ColourModel, together: Sequence[str], solver: Solver) -> Solution:
    """Asked once more where HiGHS finds no answer though one is known.

    HiGHS 1.15.1 was seen to do so in what its presolve left (one small loom in 250).
    """
    model.programme.presolve = False
    found = _solved(model, together, solver)
    model.programme.presolve = True
    return found if found.values else Solution()


def _better(
    question: Question, model: ColourModel, found: Solution, best: _Found | None, number: int
) -> _Found | None:
    """What the solver found, unless what is known is as good in the first levels."""
    if not found.values:
        return best
    new = _reckoned(question, model.colours(found), model.cuts(found))
    worse = best and best.values[:number] <= new.values[:number]
    return best if worse else new


# ------------------------------------------------------------------------------ reckoning


def _first(
    question: Question, candidates: Candidates, known: Sequence[Colour | None]
) -> _Found | None:
    """The better of the first look and of what is known."""
    looks = FirstLook(question).colours(candidates), FirstLook(question).allowed(candidates, known)
    found = [_reckoned(question, own, cuts_for(question, own)) for own in looks if own]
    return min(found, key=lambda each: each.values, default=None)


def _reckoned(question: Question, colours: tuple[Colour, ...], cuts: _Cuts) -> _Found:
    """What each level comes to."""
    bought: dict[tuple[int, Piece], int] = {}
    for number, part in enumerate(question.parts):
        for size, count in part.sizes.items():
            bought[number, size] = count - len(cuts.get((number, size), ()))
    lines: dict[Line, Decimal] = defaultdict(Decimal)
    unsold = 0
    for (number, (gauge, mm)), count in bought.items():
        line = (gauge, colours[number])
        if count:
            lines[line] += question.takes_mm(mm, count)
        counts = question.priced and question.parts[number].fixed is None
        unsold += count * (counts and not question.goods_of(line).offers)
    pairs = [*zip(question.parts, colours, strict=True)]
    values = (
        sum(len(part.pieces) * part.astray(colour) for part, colour in pairs),
        unsold,
        sum(len(part.pieces) * part.is_unusual(colour) for part, colour in pairs),
        sum(count * size[1] for (_, size), count in bought.items()),
        sum((cost_of(question, line, mm) for line, mm in lines.items()), Decimal()),
    )
    return _Found(colours, cuts, tuple(float(value) for value in values))


def cost_of(question: Question, line: Line, mm: Decimal) -> Decimal:
    """What a line costs of which so much is bought, with what a line is worth to the house."""
    return (least_cost(question.goods_of(line).offers, mm) or Decimal()) + question.line_worth


def _answer(question: Question, best: _Found, levels: Mapping[str, Level]) -> Answer:
    left = {key: [*names] for key, names in best.cuts.items()}
    cuts = []
    for number, part in enumerate(question.parts):
        own = (left.get((number, size), []) for size in part.pieces)
        cuts.append(tuple(names.pop(0) if names else "" for names in own))
    return Answer(colours=best.colours, cuts=tuple(cuts), levels=levels)
