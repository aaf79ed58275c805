"""Whether the pieces of a cable go on the shelf and what is bought, and how much more it takes."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from functools import cached_property

from msgspec import Struct

from bom.buy.cutting import Packing, pack
from bom.buy.solver import Solver
from bom.buy.wants import Want
from bom.trade.needs import CableNeed


class Lack(Struct, frozen=True):
    """What was bought of a cable does not do: one of these groups of rows must reach its number.

    `groups` are (rows, packs); `enough` are packs by row that do, None where no number does.
    `proved` False: it may do after all, in a way that was not found.
    """

    groups: tuple[tuple[tuple[int, ...], int], ...]
    enough: Mapping[int, int] | None
    proved: bool


class Lengths:
    """Answers for one cable, each worked out once."""

    def __init__(self, want: Want, need: CableNeed, trim_mm: int, solver: Solver) -> None:
        self.want = want
        self.trim_mm = trim_mm
        self.need = need
        self.solver = solver
        self.sizes = need.sizes_mm(trim_mm)
        self.spare_mm = need.spare_mm
        self.shelf = [piece.length_mm + trim_mm for piece in need.shelf]
        self._known: dict[tuple[int, ...], Packing] = {}
        self._reels: dict[int, list[int]] = defaultdict(list)
        self._metres = [n for n, row in enumerate(want.rows) if row.sold_as == "metre"]
        for number, row in enumerate(want.rows):
            if row.sold_as != "metre":
                self._reels[self._room(number)].append(number)

    @cached_property
    def alone(self) -> tuple[int | None, ...]:
        """For each row how many packs of it do by themselves, None when no number does."""
        return tuple(self._least(number) for number in range(len(self.want.rows)))

    def packed(self, packs: Mapping[int, int]) -> Packing:
        """The pieces on the shelf and on so many packs of each row.

        The lengths stand in the order of the rows, as the lines of an order do.
        """
        new: list[int] = []
        for number, count in sorted(packs.items()):
            new += self._new(number, count)
        return self._on(new)

    def lack(self, packs: Mapping[int, int]) -> Lack | None:
        """Why so many packs do not do, or None when they do."""
        found = self.packed(packs)
        if found.loads is not None:
            return None
        reels = {n: count for n, count in packs.items() if n not in self._metres}
        groups = [
            (tuple(rows), sum(packs.get(row, 0) for row in rows) + 1)
            for _, rows in sorted(self._reels.items())
        ]
        metres = sum(packs.get(row, 0) for row in self._metres)
        whole = self._with_metres(reels, metres)
        if whole.loads is not None:  # in one length they would do, in several they do not
            groups += [((row,), packs.get(row, 0) + 1) for row in self._metres]
            most = max(self._metres, key=lambda row: packs.get(row, 0))
            return Lack(tuple(groups), {**reels, most: metres}, found.proved)
        more = self._least_metres(reels, metres)
        if more is None:
            return Lack(tuple(groups), self._more_reels(packs), whole.proved)
        groups.append((tuple(self._metres), more))
        most = max(self._metres, key=lambda row: packs.get(row, 0))
        proved = more == metres + 1 or self._with_metres(reels, more - 1).proved
        return Lack(tuple(groups), {**reels, most: more}, whole.proved and proved)

    def _least(self, number: int) -> int | None:
        row = self.want.rows[number]
        count = max(1, self.want.packs(row))
        if row.sold_as == "metre":
            wanted = self.lack({number: count})
            return count if wanted is None else (wanted.enough or {}).get(number)
        if self._too_short(self._room(number)):
            return None
        while not self.packed({number: count}).loads:
            count += 1
        return count

    def _new(self, number: int, count: int) -> list[int]:
        row = self.want.rows[number]
        if row.sold_as == "metre":
            return [count * 1000 + self.trim_mm] if count else []
        return [self._room(number)] * count

    def _room(self, number: int) -> int:
        """What a reel takes, the trim of its last cut included."""
        row = self.want.rows[number]
        return int(row.pack * 1000) - self.want.reel_end_mm + self.trim_mm

    def _with_metres(self, reels: Mapping[int, int], metres: int) -> Packing:
        return self.packed({**reels, self._metres[0]: metres} if self._metres else reels)

    def _least_metres(self, reels: Mapping[int, int], metres: int) -> int | None:
        """The least length to add in one piece beside the reels; None where none will do.

        In strides that double, then by halves: what goes on a length goes on a longer one.  What
        the millimetres rule out is not tried.
        """
        if not self._metres:
            return None
        held = sum(int(self.want.holds(self.want.rows[n])) * m for n, m in reels.items())
        low = max(metres, -(-(int(self.want.quantity) - held) // 1000) - 1)
        enough = -(-(sum(self.sizes.elements()) + self.spare_mm) // 1000)
        stride, high = 1, low + 1
        while self._with_metres(reels, high).loads is None:
            if high >= enough:
                return None
            low, stride = high, 2 * stride
            high = min(low + stride, enough)
        while high - low > 1:
            middle = (low + high) // 2
            if self._with_metres(reels, middle).loads is None:
                low = middle
            else:
                high = middle
        return high

    def _more_reels(self, packs: Mapping[int, int]) -> Mapping[int, int] | None:
        """As many more of the longest reel as it takes."""
        if not self._reels or self._too_short(max(self._reels)):
            return None
        number = self._reels[max(self._reels)][0]
        more = dict(packs)
        while not self.packed(more).loads:
            more[number] = more.get(number, 0) + 1
        return more

    def _too_short(self, room: int) -> bool:
        """True where no number of lengths like this does: longer pieces than the shelf takes."""
        longer = {size: count for size, count in self.sizes.items() if size > room}
        return bool(longer) and pack(longer, self.shelf, self.solver).loads is None

    def _on(self, new: Sequence[int]) -> Packing:
        key = tuple(new)
        if key not in self._known:
            self._known[key] = self._tried(key)
        return self._known[key]

    def _tried(self, new: tuple[int, ...]) -> Packing:
        rooms = [*self.shelf, *new]
        left = sum(rooms) - self.trim_mm * len(rooms) - sum(self.sizes.elements())
        if self.spare_mm and left < self.spare_mm:
            return Packing(None, proved=True)
        return pack(self.sizes, rooms, self.solver)
