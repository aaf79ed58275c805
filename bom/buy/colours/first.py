"""Colours at a first look, before any search: part by part, each the best that is left."""

from collections import defaultdict
from collections.abc import Mapping, Sequence

from bom.buy.colours.question import Line, Part, Piece, Question
from bom.trade.job_book import Colour


class FirstLook:
    """What is taken in each branch, and by whom."""

    def __init__(self, question: Question) -> None:
        self.question = question
        self.taken: dict[tuple[int, Colour], list[Part]] = defaultdict(list)
        self.bodies: dict[str, str] = {}
        self.lines = {(g, p.fixed) for p in question.parts if p.fixed for g in p.gauges}

    def colours(self, candidates: Sequence[Sequence[Colour]]) -> tuple[Colour, ...] | None:
        """A colour for each part; None where one finds none that is free."""
        parts = self.question.parts
        found: dict[int, Colour] = {}
        for number in sorted(range(len(parts)), key=lambda n: self._turn(parts[n])):
            part = parts[number]
            free = [colour for colour in candidates[number] if self._is_free(part, colour)]
            if not free:
                return None
            found[number] = min(free, key=lambda colour: self._costs(part, colour))
            self._take(part, found[number])
        return tuple(found[number] for number in range(len(parts)))

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

    def _turn(self, part: Part) -> tuple[bool, bool, bool, int]:
        """Those first that have least to choose from, then those with a usual colour."""
        return part.fixed is None, not part.made_in, part.usual is None, -len(part.pieces)

    def _is_free(self, part: Part, colour: Colour) -> bool:
        if part.fixed:
            return True
        own = self.bodies.get(part.circuit)
        if own and not part.made_in and not part.bodies and colour.body != own:
            return False
        return not any(part.clashes(o) for b in part.lies_in for o in self.taken[b, colour])

    def _costs(self, part: Part, colour: Colour) -> tuple[int | bool, ...]:
        goods = [self.question.goods_of((gauge, colour)) for gauge in part.gauges]
        shelf = sum(bool(own.shelf) for own in goods)
        sold = sum(bool(own.offers) or bool(own.shelf) for own in goods)
        new = sum((gauge, colour) not in self.lines for gauge in part.gauges)
        return part.is_astray(colour), -sold, part.is_unusual(colour), -shelf, new

    def _take(self, part: Part, colour: Colour) -> None:
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
        shelf = question.goods_of(line).shelf
        falling = sorted(pieces, key=lambda piece: (-piece[0], piece[1]))
        names = on_shelf([mm for mm, _ in falling], shelf, question.trim_mm)
        for (mm, number), name in zip(falling, names, strict=True):
            if name:
                cut[number, (line[0], mm)].append(name)
    return cut


def on_shelf(falling: Sequence[int], shelf: Sequence[tuple[str, int]], trim_mm: int) -> list[str]:
    """For each piece the shortest length that has room for it; '' where none has."""
    rooms = {name: length + trim_mm for name, length in shelf}
    names = []
    for mm in falling:
        fits = [name for name, room in rooms.items() if room >= mm + trim_mm]
        name = min(fits, key=lambda name: (rooms[name], name), default="")
        names.append(name)
        if name:
            rooms[name] -= mm + trim_mm
    return names
