"""The ends of the wires: which style each one gets, and which ends share a terminal.

A named pin is one terminal for all wires at it (of sleeved bullets one for each wire); at a
bare point every wire has its own, but all `splice` ends at one bare point are one splice.  A
plug in the loom (`pin to pin`) and a `... joint` style have two halves, each with its own
terminal.
"""

from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction

from bom.reckon.net import PIN_TO_PIN, Net
from bom.reckon.own_pins import pin_of_its_own
from bom.trade.catalogue import Catalogue
from bom.trade.catalogue_rows import BY_SLEEVE, EndStyle
from bom.trade.house import HouseRules
from bom.trade.job_book import Pin
from bom.trade.larger_ends import is_eye
from bom.trade.problem import Problem, caution, error
from bom.trade.wires import Ends, Joint, MeasuredWire, WireEnd, terminals


def join_ends(
    net: Net, measured: Sequence[MeasuredWire], rules: HouseRules, catalogue: Catalogue
) -> tuple[Ends, tuple[Problem, ...]]:
    """Give every end its style and group the ends into terminals.

    Two different styles at one pin are an error at the later cell; three sleeved bullets at a
    bare point a caution.
    """
    joiner = _Joiner(net, rules, catalogue)
    ends: dict[Pin, list[WireEnd]] = {}
    for wire in net.book.wires:
        ends.setdefault(wire.start, []).append(WireEnd(wire, "from end"))
        ends.setdefault(wire.finish, []).append(WireEnd(wire, "to end"))
    sides = _plug_sides(net, measured, catalogue)
    for pin, at_pin in ends.items():
        joiner.join(pin, at_pin, sides)
    return Ends(joiner.styles, tuple(joiner.joints)), tuple(joiner.problems)


class _Joiner:
    def __init__(self, net: Net, rules: HouseRules, catalogue: Catalogue) -> None:
        self.net = net
        self.house_end = rules.end
        self.catalogue = catalogue
        self.styles: dict[tuple[str, str], str] = {}
        self.joints: list[Joint] = []
        self.problems: list[Problem] = []

    def join(self, pin: Pin, ends: list[WireEnd], sides: Mapping[WireEnd, str]) -> None:
        """Make the terminals of one pin, or of all ends at one bare point."""
        if self.net.passing(pin.point) == PIN_TO_PIN and pin.pin:
            self._plug(pin, ends, sides)
        elif pin.pin:
            self.joints += terminals(pin, self._agreed(pin, ends), tuple(ends))
        else:
            self._bare(pin, ends)

    def _default(self, pin: Pin) -> str:
        component = self.net.book.components.get(pin.point)
        return (component.end if component else None) or self.house_end

    def _agreed(self, pin: Pin, ends: list[WireEnd]) -> EndStyle:
        """The style of a pin: the one typed, else the component's, else the house's."""
        typed = [end for end in ends if end.typed]
        first = typed[0].typed if typed else self._default(pin)
        odd = [end for end in typed if end.typed != first]
        styles = list(dict.fromkeys(str(end.typed) for end in odd))
        for end in odd:
            nth = styles.index(str(end.typed))
            self._disagree(pin, end, str(first), self._parted(pin, end, str(first), nth))
        style = self.catalogue.ends[str(first)]
        for end in ends:
            self.styles[end.wire.label, end.heading] = style.end
        return style

    def _disagree(self, pin: Pin, end: WireEnd, first: str, cure: str) -> None:
        where = end.wire.row.where(end.heading)
        says = f"two end styles at {pin}: '{first}' and '{end.typed}'"
        alike = "pins with two end styles"
        self.problems.append(error(where, says, cure, alike=alike))

    def _parted(self, pin: Pin, end: WireEnd, first: str, nth: int) -> str:
        """The cure for two styles: several eyes go on one stud, other ends meet in a splice."""
        style = str(end.typed)
        if not (is_eye(first) and is_eye(style)):
            spliced = self.catalogue.ends["splice"].max_mm2
            joined = "a splice point in front of it" if self._typed_mm2(pin) <= spliced else ""
            return f"one style, or {joined or 'a pin for each'}"
        own, passed = pin_of_its_own(self.net, end, nth)
        if style.split()[0] == first.split()[0]:  # ring M6 and ring M8
            return f"the size of the stud on both, or {own} for a stud of its own"
        return f"{own}, a pin for each eye on the stud{passed}"

    def _typed_mm2(self, pin: Pin) -> Fraction:
        """The area of the wires at a pin, of those whose gauge is typed."""
        wires = (*self.net.starting.get(pin, ()), *self.net.arriving.get(pin, ()))
        gauges = (self.catalogue.cables[wire.gauge] for wire in wires if wire.gauge)
        return sum((cable.area_mm2 for cable in gauges), Fraction(0))

    def _bare(self, pin: Pin, ends: list[WireEnd]) -> None:
        spliced, sleeved = [], []
        for end in ends:
            name = end.typed or self._default(pin)
            style = self.catalogue.ends[name]
            self.styles[end.wire.label, end.heading] = name
            if name == "splice":
                spliced.append(end)
                continue
            if style.family == BY_SLEEVE:
                sleeved.append(end)
            self.joints += terminals(pin, style, (end,), end.wire.qty)
        if spliced:
            self.joints += terminals(pin, self.catalogue.ends["splice"], tuple(spliced))
        if len(sleeved) > 2:
            self._join_nothing(pin, sleeved)

    def _join_nothing(self, pin: Pin, ends: list[WireEnd]) -> None:
        where = ends[2].wire.row.where(ends[2].heading.removesuffix(" end"))
        says = f"{len(ends)} bullets at {pin} join nothing: without a pin each is a single end"
        cure, alike = f"one pin for what is joined: {pin}:1", "points where bullets join nothing"
        self.problems.append(caution(where, says, cure, alike=alike))

    # ------------------------------------------------------------ plugs in the loom

    def _plug(self, pin: Pin, ends: list[WireEnd], sides: Mapping[WireEnd, str]) -> None:
        self._alike(pin, [end for end in ends if end.typed], sides)
        for half, others in (("socket", "plug"), ("plug", "socket")):
            here = [end for end in ends if sides[end] == half]
            opposite = [end for end in ends if sides[end] == others]
            style = self._half_style(pin, here, opposite)
            for end in here:
                self.styles[end.wire.label, end.heading] = style.end
            every = here or opposite
            for some in [[end] for end in every] if style.family == BY_SLEEVE else [every]:
                joint = Joint(pin=pin, style=style, half=half, ends=tuple(some), mate=not here)
                self.joints.append(joint)

    def _alike(self, pin: Pin, typed: list[WireEnd], sides: Mapping[WireEnd, str]) -> None:
        """One family at a pin of a plug, and one style on each of its halves."""
        for number, end in enumerate(typed):
            for earlier in typed[:number]:
                if not self._go_together(earlier, end, sides):
                    self._disagree(pin, end, str(earlier.typed), "one style, or a pin for each")
                    break

    def _go_together(self, one: WireEnd, other: WireEnd, sides: Mapping[WireEnd, str]) -> bool:
        if sides[one] == sides[other]:
            return one.typed == other.typed
        families = (self.catalogue.ends[str(end.typed)].family for end in (one, other))
        return len(set(families)) == 1

    def _half_style(self, pin: Pin, here: list[WireEnd], opposite: list[WireEnd]) -> EndStyle:
        """The style of one half of a plug: the one typed on it, else the other half's."""
        typed = (end.typed for end in (*here, *opposite) if end.typed)
        return self.catalogue.ends[next(typed, self._default(pin))]


def _plug_sides(
    net: Net, measured: Iterable[MeasuredWire], catalogue: Catalogue
) -> dict[WireEnd, str]:
    """Which half of its plug each wire end is on: `socket` is the side of the supply.

    By branch where the plug's wires arrive by exactly two branches, else by whether the
    wire ends there or starts there.  A plug whose ends are typed the other way about is
    turned round.
    """
    plugs = {point for point in net.pins if net.passing(point) == PIN_TO_PIN}
    arrivals: dict[str, list[tuple[WireEnd, int | None]]] = {}
    for entry in measured if plugs else ():
        ways, wire = entry.branches, entry.wire
        for pin, heading, branch in (
            (wire.start, "from end", ways[:1]),
            (wire.finish, "to end", ways[-1:]),
        ):
            if pin.point in plugs:
                end = WireEnd(wire, heading)
                arrivals.setdefault(pin.point, []).append((end, branch[0] if branch else None))
    sides: dict[WireEnd, str] = {}
    for found in arrivals.values():
        sides.update(_as_typed(_sides_of(found), catalogue))
    return sides


def _sides_of(found: list[tuple[WireEnd, int | None]]) -> dict[WireEnd, str]:
    branches = list(dict.fromkeys(branch for _, branch in found))
    if len(branches) != 2 or None in branches:
        return {end: "socket" if end.heading == "to end" else "plug" for end, _ in found}
    ending = [sum(e.heading == "to end" for e, b in found if b == branch) for branch in branches]
    supply = branches[0] if ending[0] >= ending[1] else branches[1]
    return {end: "socket" if branch == supply else "plug" for end, branch in found}


def _as_typed(sides: dict[WireEnd, str], catalogue: Catalogue) -> dict[WireEnd, str]:
    """The sides, turned round where every style typed is that of the opposite half."""
    turned = {"socket": "plug", "plug": "socket"}
    typed = {
        (side, half)
        for end, side in sides.items()
        if end.typed and (half := catalogue.ends[end.typed].half) in turned
    }
    if typed and all(half == turned[side] for side, half in typed):
        return {end: turned[side] for end, side in sides.items()}
    return sides
