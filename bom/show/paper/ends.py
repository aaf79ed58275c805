"""What is put on the ends of the wires, by letters, how many of each, and the fuse holders."""

from collections import Counter
from collections.abc import Iterable, Mapping
from string import ascii_uppercase
from typing import Self

from msgspec import Struct

from bom.job import Job
from bom.reckon.takeoff.coverings import under_shrink_mm
from bom.show.paper import Shown
from bom.trade.catalogue import Catalogue
from bom.trade.catalogue_rows import BY_SLEEVE, Part, Shrink
from bom.trade.job_book import Pin
from bom.trade.point_names import is_battery
from bom.trade.wires import ChosenFuse, Joint, SizedWire

_AT_HOLDER = "fuse"
"""The heading of the two ends where a fuse holder is cut into a wire."""
_HEADINGS = ("from end", "to end", _AT_HOLDER)


class _End(Struct, frozen=True):
    """What is put on an end of a wire: one row of the key."""

    style: str
    terminal: str
    strip: str
    first_on: str
    """The cover, seal or shrink that is on the wire before the terminal is."""
    closure: str
    """Which of the three that is; empty for none."""


_NOTHING = _End("", "", "", "", "")


class Fitted(Struct, frozen=True):
    """The terminals of a job by wire and heading, and how many there are of each kind."""

    at: Mapping[tuple[str, str], tuple[Joint, _End]]
    letters: Mapping[_End, str]
    own: Mapping[_End, int]
    leads: Mapping[_End, int]
    """The halves opposite, that go on no wire of the loom."""

    @classmethod
    def of(cls, job: Job) -> Self:
        """Letters in the order in which the wires need them."""
        sized = {wire.wire.label: wire for wire in job.wires}
        made = [
            (joint, _end(joint, sized, job.workshop.catalogue))
            for joint in (job.takeoff.joints if job.takeoff else ())
            if joint.style.family
        ]
        own = [(joint, end) for joint, end in made if not joint.mate]
        at = {(e.wire.label, e.heading): (joint, end) for joint, end in own for e in joint.ends}
        needed = [(label, heading) for label in sized for heading in _HEADINGS]
        kinds = dict.fromkeys(at[place][1] for place in needed if place in at)
        leads = _counted((joint, end) for joint, end in made if joint.mate and end.terminal)
        letters = {end: _letter(number) for number, end in enumerate(kinds)}
        return cls(at, letters, _counted(own), leads)

    def shown(self, label: str, heading: str, pin: Pin, style: str) -> Shown:
        """One end: where it sits, its letter, how far it is stripped, what is in it as well."""
        joint, end = self.at.get((label, heading), (None, _End(style, "", "", "", "")))
        others = [one.wire.label for one in (joint.ends if joint else ())]
        return {
            "at": str(pin),
            "letter": self.letters.get(end, ""),
            "style": end.style,
            "strip": end.strip,
            "first-on": bool(end.first_on),
            "closure": end.closure,
            "with": " ".join(other for other in others if other != label),
        }

    def put_on(self, label: str, heading: str) -> tuple[str, str]:
        """The items for one end: what is on the wire before the terminal, and the terminal."""
        _, end = self.at.get((label, heading), (None, _NOTHING))
        return end.first_on, end.terminal

    def key(self) -> list[Shown]:
        """What each letter stands for, and how many are fitted."""
        return [
            {"letter": letter, **_row(end, self.own[end])} for end, letter in self.letters.items()
        ]

    def on_leads(self) -> list[Shown]:
        """What is bought for the leads of what is fitted, and how many."""
        return [{"letter": "", **_row(end, count)} for end, count in self.leads.items()]

    def holders(self, job: Job) -> dict[str, str]:
        """The holder of each fuse that lies in a wire, by that wire, and how it is cut in."""
        first: dict[str | None, str] = {}
        for wire in job.wires:
            first.setdefault(wire.wire.fuse, wire.wire.label)
        is_in_line = job.workshop.catalogue.is_in_line
        return {
            first[fuse.name]: self._holder(fuse, first[fuse.name], job)
            for fuse in (job.sized.fuses if job.sized else ())
            if fuse.name in first and is_in_line(fuse.holder)
        }

    def _holder(self, fuse: ChosenFuse, label: str, job: Job) -> str:
        holder = job.workshop.catalogue.holder(fuse.holder)
        item = holder.item if holder else fuse.holder
        says = f"fuse {fuse.name}, {float(fuse.rating):g} A: {item}"
        if (label, _AT_HOLDER) not in self.at:
            return says
        joint, end = self.at[label, _AT_HOLDER]
        wire = joint.ends[0].wire
        near = f" within {job.rules.main_fuse_mm} mm of the battery"
        near *= is_battery(wire.start.point) or is_battery(wire.finish.point)
        done = f"{f'{end.closure} first, ' * bool(end.closure)}strip {end.strip} mm"
        return f"{says}, cut into this wire{near}: 2 x {self.letters[end]} {end.style}, {done}"


def _row(end: _End, count: int) -> Shown:
    return {"terminal": end.terminal, "first-on": end.first_on, "count": str(count)}


def _counted(made: Iterable[tuple[Joint, _End]]) -> Counter[_End]:
    counts = Counter[_End]()
    for joint, end in made:
        counts[end] += joint.count
    return counts


def _end(joint: Joint, sized: Mapping[str, SizedWire], catalogue: Catalogue) -> _End:
    style = joint.style
    half = "plug" if style.family == BY_SLEEVE else joint.half
    cables = {end.wire.label: sized[end.wire.label].cable for end in joint.ends}
    areas_mm2 = {label: cable.area_mm2 for label, cable in cables.items()}
    terminal = catalogue.terminal(style.family, half, joint.area_mm2(areas_mm2))
    outsides_mm = {label: cable.outside_mm for label, cable in cables.items()}
    first_on: Part | Shrink | None = None
    if style.closure == "cover":
        first_on = catalogue.cover(style.family, half)
    elif style.closure == "seal":
        first_on = catalogue.seal(style.family, max(outsides_mm.values()))
    elif style.closure == "shrink":
        under_mm = under_shrink_mm(joint, areas_mm2, outsides_mm, catalogue)
        first_on = catalogue.shrink("adhesive", under_mm)
    items = (part.item if part else "" for part in (terminal, first_on))
    closure = style.closure if first_on else ""
    return _End(style.end, next(items), style.strip_mm, next(items), closure)


def _letter(number: int) -> str:
    """A to Z, then A2 to Z2 and so on."""
    again, at = divmod(number, len(ascii_uppercase))
    return ascii_uppercase[at] + (str(again + 1) if again else "")
