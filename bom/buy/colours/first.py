"""Colours at a first look, before any search: part by part, each the best that is left."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from decimal import Decimal

from bom.buy.colours.question import CircuitPart, Line, Piece, Question
from bom.trade.job_book import Colour


class FirstLook:
    """What is taken in each branch, and by whom."""

    def __init__(self, question: Question) -> None:
        self.question = question
        self.taken: dict[tuple[int, Colour], list[CircuitPart]] = defaultdict(list)
        self.bodies: dict[str, str] = {}
        self.lines = {(g, p.fixed) for p in question.parts if p.fixed for g in p.gauges}

    def colours(self, candidates: Sequence[Sequence[Colour]]) -> tuple[Colour, ...] | None:
        """A colour for each part, circuit by circuit; None where one finds none that is free."""
        parts = self.question.parts
        circuits: dict[object, list[int]] = defaultdict(list)
        for number, part in enumerate(parts):
            alone = part.fixed or part.made_in or part.bodies
            circuits[number if alone else part.circuit].append(number)
        found: dict[int, Colour] = {}
        for numbers in sorted(circuits.values(), key=lambda own: self._turn(own)):
            best = self._best(numbers, candidates)
            if best is None:
                return None
            for number, colour in zip(numbers, best, strict=True):
                found[number] = colour
                self._take(parts[number], colour)
        return tuple(found[number] for number in range(len(parts)))

    def _best(
        self, numbers: Sequence[int], candidates: Sequence[Sequence[Colour]]
    ) -> list[Colour] | None:
        """The colours of one circuit, in the body that does best for all of it."""
        bodies = dict.fromkeys(c.body for c in candidates[numbers[0]]) if numbers[1:] else [""]
        found: list[tuple[list[float], list[Colour]]] = []
        for body in bodies:
            chosen = self._in_body(numbers, candidates, body)
            if chosen:
                sums = zip(*(costs for costs, _ in chosen), strict=True)
                found.append(([sum(each) for each in sums], [colour for _, colour in chosen]))
        return min(found, default=(None, None))[1]

    def _in_body(
        self, numbers: Sequence[int], candidates: Sequence[Sequence[Colour]], body: str
    ) -> list[tuple[tuple[float, ...], Colour]]:
        """The cheapest colours of one body for all parts of a circuit; none where one has none."""
        parts, chosen = self.question.parts, list[tuple[tuple[float, ...], Colour]]()
        for number in numbers:
            beside = {
                colour
                for other, (_, colour) in zip(numbers, chosen, strict=False)
                if parts[number].clashes(parts[other])
            }
            own = [colour for colour in candidates[number] if colour not in beside]
            best = self._cheapest(number, own, body)
            if best is None:
                return []
            chosen.append(best)
        return chosen

    def _cheapest(
        self, number: int, colours: Sequence[Colour], body: str
    ) -> tuple[tuple[float, ...], Colour] | None:
        part = self.question.parts[number]
        own = (colour for colour in colours if body in ("", colour.body))
        free = ((self._costs(part, c), c) for c in own if self._is_free(part, c))
        return min(free, default=None)

    def allowed(
        self, candidates: Sequence[Sequence[Colour]], known: Sequence[Colour | None]
    ) -> tuple[Colour, ...] | None:
        """The known colours if they are one for each part, and none is twice in a branch."""
        found = []
        for part, own, before in zip(self.question.parts, candidates, known, strict=False):
            colour = part.fixed or before
            if colour is None or colour not in own or not self._is_free(part, colour):
                return None
            self._take(part, colour)
            found.append(colour)
        return tuple(found) if len(found) == len(self.question.parts) else None

    def _turn(self, numbers: Sequence[int]) -> tuple[bool, bool, bool, int]:
        """Those first that have least to choose from, then those with a usual colour."""
        own = [self.question.parts[number] for number in numbers]
        pieces = sum(len(part.pieces) for part in own)
        return own[0].fixed is None, not own[0].made_in, own[0].usual is None, -pieces

    def _is_free(self, part: CircuitPart, colour: Colour) -> bool:
        if part.fixed:
            return True
        own = self.bodies.get(part.circuit)
        if own and not part.made_in and not part.bodies and colour.body != own:
            return False
        return not any(part.clashes(o) for b in part.lies_in for o in self.taken[b, colour])

    def _costs(self, part: CircuitPart, colour: Colour) -> tuple[float, ...]:
        """As the levels have it, each by itself: wires, mm that are bought, new lines."""
        wires, bought_mm, new = len(part.pieces), 0, set()
        unsold = 0
        for gauge, mm in part.pieces:
            goods = self.question.goods_of((gauge, colour))
            takes = self.question.takes_mm(mm)
            if any(room >= takes for room in self.question.rooms(goods)):
                continue
            bought_mm += mm
            unsold += not goods.offers
            new |= {(gauge, colour)} - self.lines
        unusual, astray = wires * part.is_unusual(colour), wires * part.astray(colour)
        return float(astray), float(unsold), float(unusual), float(bought_mm), float(len(new))

    def _take(self, part: CircuitPart, colour: Colour) -> None:
        self.lines |= {(gauge, colour) for gauge in part.gauges}
        if part.fixed is None:
            if not part.made_in:
                self.bodies.setdefault(part.circuit, colour.body)
            for branch in part.lies_in:
                self.taken[branch, colour].append(part)


def cuts_for(
    question: Question, colours: Sequence[Colour]
) -> Mapping[tuple[int, Piece], list[str]]:
    """What of these colours comes from the shelf: the longest first, from the shortest that do."""
    cut: dict[tuple[int, Piece], list[str]] = defaultdict(list)
    wanted: dict[Line, list[tuple[int, int]]] = defaultdict(list)
    for number, (part, colour) in enumerate(zip(question.parts, colours, strict=True)):
        for gauge, mm in part.pieces:
            wanted[gauge, colour].append((mm, number))
    for line, pieces in wanted.items():
        falling = sorted(pieces, key=lambda piece: (-piece[0], piece[1]))
        names = on_shelf(question, line, [mm for mm, _ in falling])
        for (mm, number), name in zip(falling, names, strict=True):
            if name:
                cut[number, (line[0], mm)].append(name)
    return cut


def on_shelf(question: Question, line: Line, falling: Sequence[int]) -> list[str]:
    """For each piece the shortest length that has room for it; '' where none has."""
    goods = question.goods_of(line)
    pairs = zip(goods.shelf, question.rooms(goods), strict=True)
    rooms = {name: Decimal(room) for (name, _), room in pairs}
    names = []
    for mm in falling:
        takes = question.takes_mm(mm)
        fits = [name for name, room in rooms.items() if room >= takes]
        names.append(min(fits, key=lambda name: (rooms[name], name), default=""))
        if fits:
            rooms[names[-1]] -= takes
    return names
