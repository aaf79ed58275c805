"""Ordinary names of tasks, written down with what a tradesman would say before the rule was made.

What is counted: cutting, ends and what belongs to them, the loom with its coverings, fuses put
in, each wire rung through, and each component connected.  What is not: taking things out, drawing,
fetching, mechanics, finding faults, and whether the machine works.
"""

from collections.abc import Mapping
from fractions import Fraction
from pathlib import Path
from time import process_time

import pytest

from bom.job import open_job
from bom.reckon.takeoff.typed_work import typed_twice
from tests.bench.yardstick import too_long
from tests.books import book

COUNTED = """
cut and strip: cut wires to length; cutting and stripping; cut all the wires; strip ends; cutting
crimp: fit terminals; fitting terminals; terminals; terminate wires; terminations; crimping; \
crimp terminals; crimp bullets; make off ends; put terminals on the wires; \
fit bullet connectors; crimp lugs on battery leads; fit pins
cover: boots on bullets; fit boots; fit insulators; slide covers on terminals
seal: fit seals; seal connectors
splice: splice wires; splicing; solder splices; make joints; join wires; \
fit splices; fit earth splice
wrap: wrap loom in cloth tape; wrap harness with tape; loom wrapping with cloth tape; taping; \
tape up the loom; wrap the body loom
tube: fit tube; fit sleeving; sleeve the loom; cover loom with tube; put tube on branches
braid: fit braid; braid loom; braiding; fit braid to loom
shrink: heat shrink ends; heat shrink; fit heatshrink; shrink sleeves on terminals
breakout: make branch breakouts; breakouts; wrap breakouts
housing: fit plugs; fit connectors; load connectors; pin plugs; populate housings; \
push terminals into housings; fit tail plug
fuse: fit fuses; insert fuses; fit main fuse
continuity test: testing; test loom; test wiring; continuity; continuity check; \
check every wire with the meter; ring out the loom; bell out the loom; test continuity of all wires
fit: fit loom to bike; fit loom; fit body loom; install harness; loom installation; \
connect components; fit headlamp; mount switches; connect battery; connect starter motor; \
wire up the headlamp; fit head lamp and fuse box; fit 2 indicators; \
connect up; connect the lights; fit headlight
every: make loom; wiring; wire up the bike; rewire; full rewire; rewire the whole machine; \
build new harness; loom assembly; wiring the bike
cut and strip, crimp: cut and crimp
crimp, wrap: crimp and wrap; crimp terminals, tape loom
cut and strip, crimp: cut wires and fit terminals
"""
OWN = """
strip out the old loom; fit new headlamp bracket; crimp tool hire; fit battery tray; set the
lights, road test; test every circuit on the bench supply; fit battery box; fit starter motor;
fit alternator; fit fork seals; press bearings; clean connectors; fit throttle cables; fit cables;
check old wiring; test bike; test charging; find short circuit; fit piston rings; fit ring; fit
fuse holder bracket; make relay and fuse box plate; walk round with the tape; fit inner tubes; wrap
exhaust; make battery leads; fit HT leads; fit engine; wrap engine; wire brush frame; heat shrink
gun hire; mount relays on plate; fit lamps to mudguard; measure up; collect parts; draw the loom;
fit coil and plug caps; disconnect battery; fit rear brake; order terminals; test ride; insulation
test; clean frame earth and lamp bodies; fit front wheel; fit headlamp rim; solder old rectifier
"""


def operations(tmp_path: Path, task: str) -> list[str]:
    """What a task is told to be counted under, where every operation takes hours."""
    path = book(
        tmp_path,
        Circuits=[
            ("wire", "circuit", "from", "to", "colour", "gauge", "load", "fuse", "length"),
            ("1", "lamp", "battery:+", "fuse box:in", "red", "1.0", None, "none", 1),
            ("2", "lamp", "fuse box:out", "rear brake switch:in", "red", "1.0", None, "main", 1),
            ("3", "lamp", "rear brake switch:out", "head lamp:1", "blue", "1.0", "5 W", None, 1),
            ("4", "lamp", "fuse box:out", "indicator FL:1", "blue", "1.0", "5 W", "turn", 1),
            ("5", "lamp", "starter motor:in", "alternator:1", "blue", "1.0", "5 W", "start", 1),
            ("6", "lamp", "relay 1:in", "coil:1", "blue", "1.0", "5 W", "coil", 1),
            ("7", "lamp", "tail plug:1", "earth splice", "blue", "1.0", None, "tail", 1),
            ("8", "lamp", "main fuse:1", "earth splice", "blue", "1.0", None, "tail", 1),
        ],
        Labour=[("task", "hours"), (task, 1)],
    )
    job = open_job(path)
    assert job.book
    catalogue = job.workshop.catalogue
    counts: Mapping[str, Fraction] = dict.fromkeys(catalogue.labour, Fraction(1))
    said = [problem.says for problem in typed_twice(job.book, counts, catalogue)]
    return [one.partition(" already: ")[2].rpartition(", ")[0] for one in said]


def lines() -> list[tuple[str, str]]:
    """Each name with what it is counted under."""
    rows = (line.split(": ", 1) for line in COUNTED.strip().splitlines())
    return [(task.strip(), what) for what, tasks in rows for task in tasks.split(";")]


@pytest.mark.parametrize(("task", "what"), lines())
def test_it_is_counted(tmp_path: Path, task: str, what: str) -> None:
    """Every operation: 14 of catalogs/labour.csv."""
    told = "14 operations" if what == "every" else what
    assert operations(tmp_path, task) == [told]


@pytest.mark.parametrize("task", [" ".join(task.split()) for task in OWN.split(";")])
def test_it_is_the_owners_own(tmp_path: Path, task: str) -> None:
    """Some word of it is of no operation that is counted."""
    assert operations(tmp_path, task) == []


def test_many_tasks_beside_many_wires(tmp_path: Path) -> None:
    """Two thousand tasks and wires each are looked through in less than a second or so."""
    wires = [
        (f"{n}", "lamp", f"battery:{n}", f"lamp {n}:1", "red", "1.0", "5 W", "none", 1)
        for n in range(2000)
    ]
    path = book(
        tmp_path,
        Circuits=[
            ("wire", "circuit", "from", "to", "colour", "gauge", "load", "fuse", "length"),
            *wires,
        ],
        Labour=[("task", "hours"), *((f"fit lamp {n} bracket", 1) for n in range(2000))],
    )
    job = open_job(path)
    assert job.book
    catalogue = job.workshop.catalogue
    counts = dict.fromkeys(catalogue.labour, Fraction(1))
    began = process_time()
    assert not [*typed_twice(job.book, counts, catalogue)]
    assert not too_long(process_time() - began, 1)
