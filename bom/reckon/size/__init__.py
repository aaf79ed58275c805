"""Sizing: a rating for each fuse and a cable for each wire.

Where a rating or a gauge is blank it is chosen here; where it is typed it is kept, and `check`
says what is wrong with it.

    fuses -> what each wire needs by itself -> heat -> drop -> no more than that -> lines joined

Cables go for the least of their cost and `line_worth` for each line of gauge and colour.  Heat
belongs to one branch and falls with the wire that gives off most; drop is bought where volts cost
least over all ways; a thicker wire may hold a neighbour's heat back, so heat is asked again.  What
all that made needless is undone, the dearest first; lines join upwards, and what they relieved is
lowered where that is cheaper.  With blank gauges it is over the least-cost programme
(`tests/least_cost.py`) by 0.0 % (single), 1.7 % (twin), 0.4 % (carrier).
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from fractions import Fraction
from itertools import islice

from bom.reckon.net import Net
from bom.reckon.size.choice import Choice
from bom.reckon.size.drop import WAY
from bom.reckon.size.fuses import choose_fuses
from bom.reckon.size.raising import HEAT, LINE, raise_cables
from bom.reckon.size.task import TaskMaker, WireTask
from bom.reckon.size.ways import UNITS_PER_VOLT
from bom.trade.catalogue import Catalogue
from bom.trade.house import HouseRules
from bom.trade.wires import ChosenFuse, Currents, Ends, Sized, SizedWire, Supply

__all__ = ["choose_fuses", "size"]


def size(
    net: Net,
    currents: Currents,
    supplies: Sequence[Supply],
    ends: Ends,
    house: tuple[HouseRules, Catalogue],
) -> Sized:
    """Choose ratings and gauges; amps exact, drop in volts, heat in degrees C.

    A typed gauge is kept.  A chosen one is the thinnest of the house that fits both ends and
    whose table rating covers load and fuses; then the wires that gain most are raised until no
    branch is too warm and no way loses too much, and lines of one colour are joined where that
    costs less than `line_worth`.
    """
    rules, catalogue = house
    fuses = choose_fuses(net.book, currents.fuses, rules, catalogue)
    tasks = _tasks(net, currents, ends, fuses, house)
    choice = Choice(tasks, net.book.branches, supplies, ends, house)
    raised = raise_cables(choice, float(rules.line_worth))
    _thicken_links(choice)
    wires = {task.wire.label: _sized(choice, n, raised.get(n, "")) for n, task in enumerate(tasks)}
    return Sized(
        wires=tuple(wires[entry.wire.label] for entry in currents.wires),
        fuses=fuses,
        heats={branch: choice.heat(branch) for branch in sorted(choice.inside)},
    )


def _tasks(
    net: Net,
    currents: Currents,
    ends: Ends,
    fuses: Sequence[ChosenFuse],
    house: tuple[HouseRules, Catalogue],
) -> tuple[WireTask, ...]:
    """The task of each wire, whatever the order of the rows; links as thick as what they join."""
    maker = TaskMaker(net, ends, (currents.fuses, fuses), house)
    tasks = [maker.task(loaded) for loaded in currents.wires if not loaded.is_link]
    at_battery: dict[str, Fraction] = defaultdict(Fraction)
    for task in tasks if len(tasks) < len(currents.wires) else ():
        for pin in (task.wire.start, task.wire.finish):
            at_battery[pin.point] = max(at_battery[pin.point], task.cables[0].area_mm2)
    links = [
        maker.task(loaded, max(at_battery[pin.point] for pin, _, _ in loaded.wire.ends))
        for loaded in currents.wires
        if loaded.is_link
    ]
    return tuple(sorted((*tasks, *links), key=lambda task: task.key))


def _thicken_links(choice: Choice) -> None:
    """Links as thick as what they join has become."""
    links = [n for n, task in enumerate(choice.tasks) if task.loaded.is_link]
    for n in links:
        joined = {pin.point for pin, _, _ in choice.tasks[n].wire.ends}
        areas = [
            choice.cable(other).area_mm2
            for other, task in enumerate(choice.tasks)
            if other not in links and joined & {task.wire.start.point, task.wire.finish.point}
        ]
        cables = choice.tasks[n].cables
        enough = (i for i, cable in enumerate(cables) if cable.area_mm2 >= max(areas, default=0))
        choice.put(n, next(enough, len(cables) - 1))


def _sized(choice: Choice, number: int, raised: str) -> SizedWire:
    task, index = choice.tasks[number], choice.at[number]
    chosen, suited = task.wire.gauge is None, task.suited
    return SizedWire(
        wire=task.wire,
        loaded=task.loaded,
        cable=task.cables[index],
        start_end=task.start_end,
        finish_end=task.finish_end,
        fuse_amps=task.fuse_amps,
        drop_volts=choice.drop(number),
        decided=(_WHY.get(raised) or suited.decided) if chosen else "",
        lacks=suited.lacks,
        enough=suited.enough,
        rejected=(*suited.rejected, *_thinner(choice, number))
        if chosen and index
        else suited.rejected,
    )


_WHY: Mapping[str, str] = {
    HEAT: "heat of a branch",
    WAY: "the voltage lost on a way",
    LINE: "one line less to order",
}


_MOST_WAYS = 100
"""Of so many ways through a wire the worst is looked for; of more, among the farthest."""


def _thinner(choice: Choice, number: int) -> list[str]:
    """What the cable below the chosen one would lack where this wire lies."""
    index = choice.at[number] - 1
    says = []
    for branch in choice.tasks[number].loaded.measured.branches:
        if choice.is_too_warm_if(branch, number, index):
            hottest_c, most_c = choice.heat_if(branch, number, index)
            would = f"{choice.branches[branch]} would get to {hottest_c:.1f} C"
            says.append(f"{would}, {most_c:.0f} C is the most")
    ways = islice(choice.ways.through(choice.tasks[number].wire.label), _MOST_WAYS)
    over = [(excess, way) for way in ways if (excess := choice.excess_if(way, number, index)) > 0]
    if over:
        excess, way = max(over, key=lambda each: each[0] / choice.ways.limits[each[1]].volts)
        volts, most = choice.ways.limits[way].volts, choice.ways.allowed(way) / UNITS_PER_VOLT
        lost = most + excess / UNITS_PER_VOLT
        says.append(f"a way through it would lose {lost:.3f} V, {volts:.3f} V are allowed")
        if most > volts:
            says.append(f"no cable here keeps that: {most:.3f} V, {most / volts:.3g} x as much")
    gauge = choice.tasks[number].cables[index].gauge
    return [f"{gauge}: {'; '.join(says)}"] if says else []
