"""The search for colours: level by level, each held for the next, and how good it is."""

from collections import defaultdict
from collections.abc import Mapping
from decimal import Decimal
from typing import TypeAlias

from msgspec import Struct

from bom.buy.colours.first import FirstLook, cuts_for
from bom.buy.colours.model import Candidates, Model
from bom.buy.colours.money import least_cost
from bom.buy.colours.question import LEVELS, Answer, Level, Line, Part, Piece, Question
from bom.buy.solver import GAP, Solution, Solver
from bom.trade.job_book import Colour

SHARE = 0.5
"""The share of the time left that a level but the last may take."""

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


def coloured(question: Question, solver: Solver) -> Answer | None:
    """The best colours that were found; None where there are not enough for a branch.

    Without time for the solver they are those that the first look gives, and nothing is proved.
    """
    wide = bool(question.further)
    for further in (False, True)[: 1 + wide]:
        candidates = tuple(_candidates(question, part, further) for part in question.parts)
        if all(candidates):
            answer = _best(question, candidates, solver)
            if answer:
                return answer
    return None


def _candidates(question: Question, part: Part, further: bool) -> tuple[Colour, ...]:
    if part.fixed:
        return (part.fixed,)
    if part.made_in:
        return tuple(c for c in part.made_in if c not in part.barred) or part.made_in
    own = {colour for gauge, colour in question.goods if gauge in part.gauges}
    own |= {*question.palette, *(question.further if further else ())}
    own |= {colour for colour in (part.usual, part.typed) if colour}
    return tuple(sorted(own - part.barred))


def _best(question: Question, candidates: Candidates, solver: Solver) -> Answer | None:
    best = _first(question, candidates)
    model = Model(question, candidates)
    levels = {}
    for number, level in enumerate(LEVELS):
        least = _least(model, level)
        if best is None or best.values[number] > least + _SLACK:
            found = _solved(model, level, solver)
            if found.proved and not found.values:
                return None
            best = _better(question, model, found, best, number)
        else:
            found = Solution(bound=least, proved=True)
        if best is None:
            return None
        value = best.values[number]
        bound = value if found.proved else min(value, max(least, found.bound or least))
        levels[level] = Level(value, bound, found.proved)
        model.programme.row(model.levels[level], at_most=value + _near(level) / 2)
    return None if best is None else _answer(question, best, levels)


def _near(level: str) -> float:
    return NEAR.get(level, _OF_WIRES)


def _least(model: Model, level: str) -> float:
    """What a level comes to at the least: the least of each part by itself, for whole wires."""
    terms = model.levels[level]
    if level not in ("astray", "unusual"):
        return 0.0
    own = (
        min(terms.get(model.has[number, colour], 0.0) for colour in colours)
        for number, colours in enumerate(model.candidates)
    )
    return sum(own)


def _solved(model: Model, level: str, solver: Solver) -> Solution:
    programme, terms = model.programme, model.levels[level]
    programme.costs = [terms.get(column, 0.0) for column in range(len(programme.costs))]
    programme.gap = _near(level)
    last = level == LEVELS[-1]
    seconds = solver.seconds_left * (1 if last else SHARE)
    return solver.solve(programme, seconds=seconds)


def _better(
    question: Question, model: Model, found: Solution, best: _Found | None, number: int
) -> _Found | None:
    """What the solver found, unless what is known is as good as far as this level."""
    if not found.values:
        return best
    new = _reckoned(question, model.colours(found), model.cuts(found))
    worse = best and best.values[: number + 1] <= new.values[: number + 1]
    return best if worse else new


# ------------------------------------------------------------------------------ reckoning


def _first(question: Question, candidates: Candidates) -> _Found | None:
    colours = FirstLook(question).colours(candidates)
    return _reckoned(question, colours, cuts_for(question, colours)) if colours else None


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
            lines[line] += question.bought_mm(mm, count)
        counts = question.priced and question.parts[number].fixed is None
        unsold += count * (counts and not question.goods_of(line).offers)
    pairs = [*zip(question.parts, colours, strict=True)]
    values = (
        sum(len(part.pieces) * part.is_astray(colour) for part, colour in pairs),
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
