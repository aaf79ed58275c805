"""What of a job can be touched on its page: branches, points and wires, each with its id.

Ids are numbers behind a letter: no name that a user typed is part of one.
"""

from collections.abc import Iterator, Mapping
from typing import Self

from msgspec import Struct

from bom.job import Job
from bom.trade.job_book import Branch, Pin
from bom.trade.wires import Bundle, SizedWire


class PageIds(Struct, frozen=True, kw_only=True):
    """The ids of a job's branches, points and wires, and where its components sit."""

    job: Job
    branches: Mapping[tuple[str, str], str]
    points: Mapping[str, str]
    wires: Mapping[str, str]
    sits: Mapping[str, str]
    """The point of the loom by the component's name."""

    @classmethod
    def of(cls, job: Job) -> Self:
        """In the order of the sheets; components apart from the loom come last."""
        parts = job.book.components.values() if job.book else ()
        sits = {part.name: part.at or part.name for part in parts}
        bundles = job.takeoff.bundles if job.takeoff else ()
        ends = [point for b in bundles for point in (b.branch.start, b.branch.finish)]
        ends += [sits.get(pin.point, pin.point) for wire in job.wires for pin in _pins(wire)]
        names = dict.fromkeys((*ends, *sits.values()))
        return cls(
            job=job,
            branches={_key(each.branch): f"b{n}" for n, each in enumerate(bundles, 1)},
            points={name: f"p{n}" for n, name in enumerate(names, 1)},
            wires={wire.wire.label: f"w{n}" for n, wire in enumerate(job.wires, 1)},
            sits=sits,
        )

    @property
    def bundles(self) -> tuple[Bundle, ...]:
        """The branches with what runs in them."""
        return self.job.takeoff.bundles if self.job.takeoff else ()

    def branch(self, branch: Branch) -> str:
        """The id of a branch."""
        return self.branches[_key(branch)]

    def sits_at(self, pin: Pin) -> str:
        """The point of the loom that a pin is at; of a component apart from it the component."""
        return self.sits.get(pin.point, pin.point)

    def tail_mm(self, name: str) -> str:
        """How far wires reach out of the loom to a component; '' where that is not told."""
        part = self.job.book.components.get(name) if self.job.book else None
        return f"{float(part.tail_mm):g}" if part and part.tail_mm else ""

    def way(self, wire: SizedWire) -> Iterator[Branch]:
        """The branches that a wire runs through, from its start on."""
        rows = self.job.book.branches if self.job.book else ()
        yield from (rows[number] for number in wire.loaded.measured.branches)


def _key(branch: Branch) -> tuple[str, str]:
    return branch.start, branch.finish


def _pins(wire: SizedWire) -> tuple[Pin, Pin]:
    return wire.wire.start, wire.wire.finish
