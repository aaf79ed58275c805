"""Colours weighed against others: what is free for a part, and what it would cost."""

from collections import defaultdict
from collections.abc import Sequence
from decimal import Decimal

from bom.buy.colours.first import on_shelf
from bom.buy.colours.money import least_cost
from bom.buy.colours.question import Answer, Line, Question
from bom.trade.job_book import Colour


class WeighedColours:
    """An answer, and what others beside it would cost: the price of each line known once."""

    def __init__(self, question: Question, answer: Answer) -> None:
        self.question = question
        self.colours = answer.colours
        self.lines: dict[Line, list[int]] = defaultdict(list)
        for number, colour in enumerate(answer.colours):
            for gauge, mm in question.parts[number].pieces:
                self.lines[gauge, colour].append(mm)
        self._known: dict[tuple[Line, tuple[int, ...]], Decimal] = {}

    def is_free(self, numbers: Sequence[int], colour: Colour) -> bool:
        """True where these parts may have a colour, the others as they are."""
        parts = self.question.parts
        own = [parts[number] for number in numbers]
        if any(
            colour in part.barred or colour.body == part.barred_body or part.astray(colour)
            for part in own
        ):
            return False
        others = [p for p, c in zip(parts, self.colours, strict=True) if c == colour]
        return not any(part.clashes(other) for part in own for other in others)

    def more(self, numbers: Sequence[int], colour: Colour) -> Decimal:
        """So much more these parts would cost in another colour, `line_worth` included."""
        gone: dict[Line, list[int]] = defaultdict(list)
        new: dict[Line, list[int]] = defaultdict(list)
        for number in numbers:
            for gauge, mm in self.question.parts[number].pieces:
                gone[gauge, self.colours[number]].append(mm)
                new[gauge, colour].append(mm)
        more = Decimal()
        for line in {*gone, *new}:
            was = self.lines.get(line, [])
            now = [*was, *new[line]]
            for mm in gone[line]:
                now.remove(mm)
            more += self._cost(line, now) - self._cost(line, was)
        return more

    def _cost(self, line: Line, pieces: Sequence[int]) -> Decimal:
        key = (line, tuple(sorted(pieces)))
        if key not in self._known:
            money, bought = self._bought(line, pieces)
            self._known[key] = money + (self.question.line_worth if bought else 0)
        return self._known[key]

    def _bought(self, line: Line, pieces: Sequence[int]) -> tuple[Decimal, bool]:
        goods = self.question.goods_of(line)
        falling = sorted(pieces, reverse=True)
        names = on_shelf(self.question, line, falling)
        over = [mm for mm, name in zip(falling, names, strict=True) if not name]
        mm = sum((self.question.takes_mm(one) for one in over), Decimal())
        return least_cost(goods.offers, mm) or Decimal(), bool(over)
