"""The ends of the wires: their styles, the terminals they share, plugs; each count by hand.

Sizes of terminals, housings and seals are those of `catalogs/` (trade ranges, from memory);
outside diameters are the thin-wall data sheet's: 0.5 mm2 1.7 mm, 1.0 2.1, 2.0 2.8, 2.5 3.0.
The cells of a wire, after its ends, are from end, to end, gauge (blank: 1.0) and qty.
"""

from pathlib import Path

import pytest

from bom.estimate import buy_for
from bom.job import open_job
from bom.show.job_json import cut_out
from tests.books import assert_told, book, machines, sketch

CELLS = "from end, to end, gauge, qty"


def assert_made(folder: Path, told: str) -> None:
    """A machine of which no terminals are spare."""
    assert_told(folder, f"{told}\n  job: terminal_spare_percent | 0", CELLS, gauge="1.0")


def styles(folder: Path, told: str) -> dict[tuple[str, str], str]:
    """End styles by (label, heading)."""
    ends = open_job(book(folder, **sketch(told, CELLS, gauge="1.0")[0])).ends
    assert ends
    return dict(ends.styles)


# ------------------------------------------------------------------------------- styles


def test_a_typed_style_goes_before_the_components_and_that_before_the_houses(
    tmp_path: Path,
) -> None:
    """Two wires to a lamp with rings, one typed as a blade; one end at no component."""
    told = """styles
    job: end | bullet
    with: lamp | end=ring M6
    switch:1 > lamp:1
    switch:2 > lamp:2 | | blade 6.3"""
    found = styles(tmp_path, told)
    assert (found["1", "to end"], found["2", "to end"]) == ("ring M6", "blade 6.3")
    assert found["1", "from end"] == "bullet"


def test_the_house_default_is_a_bullet_joint(tmp_path: Path) -> None:
    """Nothing typed anywhere."""
    assert set(styles(tmp_path, "styles\na:1 > b:1").values()) == {"bullet joint"}


@pytest.mark.parametrize("typed", [("ring M6", ""), ("", "ring M6")])
def test_a_blank_style_takes_the_others_at_its_pin(tmp_path: Path, typed: tuple[str, str]) -> None:
    """Whichever of the two rows is typed, one ring for both wires."""
    told = f"""one ring
    with: stud | end=ring M8
    stud:1 > a | {typed[0]} | bare
    stud:1 > b | {typed[1]} | bare
    parts: 1 ring terminal, M6, 1.5-2.5 mm2"""
    found = styles(tmp_path, told)
    assert found["1", "from end"] == found["2", "from end"] == "ring M6"
    assert_made(tmp_path, told)


@machines("""
Two styles at a pin are told at the later cell; the blank between them is innocent
  a > stud:1 | bare | ring M6
  stud:1 > b | | bare
  stud:1 > c | ring M8 | bare
  says: error L4: error:
  says: L4: two end styles at stud:1: 'ring M6' and 'ring M8'

A typed style beside its component's own is no fault: the typed one for both
  with: stud | end=ring M8
  stud:1 > a | | bare
  stud:1 > b | ring M6 | bare
  silent on: error:

At a bare point each wire keeps its own style: a ring and a fork on one stud, no fault
  stud > a | ring M4 | bare
  stud > b | fork M4 | bare
  parts: 1 ring terminal, M4, 0.5-1.5 mm2; 1 fork terminal, M4, 0.5-1.5 mm2

Two wires of 1.0 mm2 in one row: at a pin one ring for 2.0, at a bare point two
  stud:1 > a | ring M6 | bare | 1.0 | 2
  post > b | ring M5 | bare | 1.0 | 2
  parts: 1 ring terminal, M6, 1.5-2.5 mm2; 2 ring terminal, M5, 0.5-1.5 mm2

Two rings on one stud, `battery:- 1` and `battery:- 2`, are two pins: a ring each
  a > battery:- 1 | bare | ring M6
  b > battery:- 2 | bare | ring M6
  parts: 2 ring terminal, M6, 0.5-1.5 mm2

An area over the largest terminal, 3.5 over a bullet's 3.0 mm2: once, at the last of the wires
  lamp:1 > x0 | bullet joint | bare | 2.0
  lamp:1 > x1 | bullet joint | bare | 1.5
  says: error L3: error:
  says: L3: 3.5 mm2 at lamp:1: 'bullet joint' takes 3 mm2 at most; a splice point in front of it

Three wires of 3.5 mm2 together
  lamp:1 > x0 | bullet joint | bare | 1.0
  lamp:1 > x1 | bullet joint | bare | 1.0
  lamp:1 > x2 | bullet joint | bare | 1.5
  says: error L4: error:
  says: L4: 3.5 mm2 at lamp:1: 'bullet joint' takes 3 mm2 at most; a splice point in front of it

One wire that is too thick: no splice helps
  lamp:1 > x | bullet joint | bare | 4.0
  says: error L2: error:
  says: L2: 4 mm2 at lamp:1: 'bullet joint' takes 3 mm2 at most; bullet joint 4.7 at lamp:1

An area of just the largest terminal is none: 2.0 + 1.0 mm2
  lamp:1 > a | bullet | bare | 2.0
  lamp:1 > b | bullet | bare | 1.0
  some parts: 1 bullet terminal, male, 2.0-3.0 mm2

Splices are one at each point and pin; a ring at such a point is no splice
  a > s | bare | splice
  s > b | splice | bare
  s > c | ring M4 | bare
  d > t | bare | splice
  t > e | splice | bare
  f > u:1 | bare | splice
  u:1 > g | splice | bare
  some parts: 3 crimp splice, 1.5-2.5 mm2; 1 ring terminal, M4, 0.5-1.5 mm2

A splice counts every wire of a row: three of 2.0 mm2, and 9 mm shrink, as 6 mm is too narrow
  # 2.154701 x 2.8 = 6.033 mm across (Birgin and Gentil 2009, table 1)
  a > s | bare | splice | 2.0 | 2
  s > b | splice | bare | 2.0
  parts: 1 crimp splice, 2.5-6.0 mm2; 40 heat-shrink, adhesive 3:1, 9 mm

Each wire at a bare point has a joint of its own: two bullets and two covers of each half
  a > lamp | bare | bullet joint
  lamp > b | bullet joint | bare
  parts: 2 bullet terminal, female, 0.5-1.0 mm2; 2 bullet terminal, male, 0.5-1.0 mm2; \
2 bullet cover, female; 2 bullet cover, male

The component's half of a blade joint takes the thicker wire, 2.0; the loom's 2.0 + 2.0
  lamp:1 > a | blade joint 6.3 | bare | 2.0
  lamp:1 > b | blade joint 6.3 | bare | 2.0
  some parts: 1 blade terminal, 6.3 mm, female, 2.5-6.0 mm2
  some parts: 1 blade terminal, 6.3 mm, male, 1.0-2.5 mm2
""")
def test_styles_and_areas(tmp_path: Path, told: str) -> None:
    """One style and one terminal at a pin, for the summed area; at a bare point each its own."""
    assert_made(tmp_path, told)


@pytest.mark.parametrize(
    ("gauges", "size"),
    [
        (["1.5"], "0.5-1.5"),  # at its upper limit
        (["0.75", "0.75"], "0.5-1.5"),  # 1.5
        (["1.0", "0.75"], "1.5-2.5"),  # 1.75
        (["1.0", "1.0", "1.0"], "2.5-6.0"),  # 3.0
        (["6.0", "4.0"], "6.0-10.0"),  # 10.0, the most there is
        (["18 AWG", "18 AWG"], "1.5-2.5"),  # ASTM B258: 18 AWG is 0.823 mm2, two are 1.646
        (["16 AWG", "1.0"], "1.5-2.5"),  # 16 AWG is 1.31 mm2: with 1.0 mm2 beside it 2.31
    ],
)
def test_the_terminal_goes_by_the_summed_area(tmp_path: Path, gauges: list[str], size: str) -> None:
    """The smallest upper limit that is not under the sum; one terminal for all of them."""
    rows = [f"stud:1 > x{n} | ring M6 | bare | {gauge}" for n, gauge in enumerate(gauges)]
    assert_made(tmp_path, "\n".join(["a ring", *rows, f"parts: 1 ring terminal, M6, {size} mm2"]))


@pytest.mark.parametrize("half", ["", " socket", " joint"])
@pytest.mark.parametrize(
    ("style", "items"),
    [
        ("bullet{}", "{} bullet terminal, {}, 0.5-1.0 mm2; {} bullet cover, {}"),
        ("blade{} 4.8", "{} blade terminal, 4.8 mm, {}, 0.5-1.0 mm2; {} blade cover, 4.8 mm, {}"),
        (
            "multiway 6.3{}",
            "{} contact for multi-way housing, 6.3 mm, {}, 0.5-1.0 mm2; "
            "{} multi-way housing, 6.3 mm, {}, 1 way",
        ),
        (
            "sealed 2.8{}",
            "{} contact for sealed housing, 2.8 mm, {}, 0.5-1.0 mm2; "
            "{} sealed housing, 2.8 mm, {}, 1 way",
        ),
    ],
)
def test_what_one_end_of_a_style_takes(tmp_path: Path, style: str, items: str, half: str) -> None:
    """One half with its cover, housing or seal; both with `joint`."""
    halves = {"": ("male",), " socket": ("female",), " joint": ("male", "female")}[half]
    counts = "; ".join(items.format(1, each, 1, each) for each in halves)
    if style.startswith("sealed"):
        counts += f"; {len(halves)} wire seal, 2.8 mm contact, 1.2-2.1 mm"
    assert_made(tmp_path, f"an end\n  lamp:1 > a | {style.format(half)} | bare\n  parts: {counts}")


@pytest.mark.parametrize("style", ["solder", "bare"])
def test_what_takes_no_part(tmp_path: Path, style: str) -> None:
    """Solder and bare ends."""
    assert_made(tmp_path, f"an end\n  lamp:1 > a | {style} | bare\n  parts: nothing")


# --------------------------------------------------------------------- British bullets

BULLET = "bullet terminal, 4.7 mm, male, 0.5-1.0 mm2"
SLEEVE = "sleeved bullet connector, 4.7 mm, 2 way"
DOUBLE = "sleeved bullet connector, 4.7 mm, 4 way"


@machines(f"""
The bought part brings the connector
  lamp:1 > a | bullet 4.7 | bare
  parts: 1 {BULLET}

Of a socket a bullet is all that is crimped
  lamp:1 > a | bullet socket 4.7 | bare
  parts: 1 {BULLET}; 1 {SLEEVE}

Both bullets of a joint, in a connector
  lamp:1 > a | bullet joint 4.7 | bare
  parts: 2 {BULLET}; 1 {SLEEVE}

At a bare point they are not joined to each other: feed and earth in one connector are a short
  a > lamp | bare | bullet joint 4.7
  lamp > b | bullet joint 4.7 | bare
  parts: 4 {BULLET}; 2 {SLEEVE}

Identical wires at a bare point have a connector each
  lamp > a | bullet joint 4.7 | bare | 1.0 | 3
  parts: 6 {BULLET}; 3 {SLEEVE}

Two wires of 2.0 mm2 at a pin: a bullet for each and one for the component's, in a 4 way
  lamp:1 > a | bullet joint 4.7 | bare | 2.0
  lamp:1 > b | bullet joint 4.7 | bare | 2.0
  parts: 3 bullet terminal, 4.7 mm, male, 1.0-2.0 mm2; 1 {DOUBLE}

Bullets of one plug pin meet in one connector: one wire to it and two from it, in a 4 way
  with: plug | | pin to pin
  box:1 > plug:1 | bare | bullet socket 4.7
  plug:1 > a | bullet socket 4.7 | bare
  plug:1 > b | bullet socket 4.7 | bare
  parts: 3 {BULLET}; 1 {DOUBLE}
""")
def test_british_bullets(tmp_path: Path, told: str) -> None:
    """Sockets are sleeved connectors that take two bullets or four."""
    assert_made(tmp_path, told)


@pytest.mark.parametrize(
    ("wires", "connectors"),
    [
        *((1, f"1 {SLEEVE}"), (2, f"1 {SLEEVE}"), (3, f"1 {DOUBLE}"), (4, f"1 {DOUBLE}")),
        (5, f"1 {DOUBLE}; 1 {SLEEVE}"),  # 4 + 1
    ],
)
@pytest.mark.parametrize("in_one_row", [True, False])
def test_each_wire_at_a_pin_has_a_bullet_in_the_connector(
    tmp_path: Path, wires: int, connectors: str, in_one_row: bool
) -> None:
    """Two in a 2 way, three or four in a 4 way, identical wires of one row too."""
    rows = [f"lamp:1 > a{n} | bullet socket 4.7 | bare | 1.0" for n in range(wires)]
    rows = [f"{rows[0]} | {wires}"] if in_one_row else rows
    assert_made(tmp_path, "\n".join(["bullets", *rows, f"parts: {wires} {BULLET}; {connectors}"]))


@pytest.mark.parametrize("wires", [2, 3, 4])
def test_three_british_bullets_at_a_bare_point_join_nothing(tmp_path: Path, wires: int) -> None:
    """Each is a single end with its connector; from three on that is told, at the third's cell."""
    rows = [f"lamp > a{n} | bullet socket 4.7 | bare" for n in range(wires)]
    told = f"says: caution C4: {wires} bullets at lamp join nothing"
    last = told if wires > 2 else "silent on: bullets"
    parts = f"parts: {wires} {BULLET}; {wires} {SLEEVE}"
    assert_made(tmp_path, "\n".join(["bullets", *rows, parts, last]))


# --------------------------------------------------------------------- seals, housings


@pytest.mark.parametrize(
    ("style", "gauge", "seal"),
    [
        ("sealed 1.5", "0.5", "1.5 mm contact, 1.2-1.7 mm"),  # 1.7 mm: just in it
        ("sealed 1.5", "0.75", "1.5 mm contact, 1.7-2.4 mm"),  # 1.9 mm
        ("sealed 1.5 socket", "1.0", "1.5 mm contact, 1.7-2.4 mm"),  # 2.1 mm
        ("sealed 1.5 socket", "2.0", "1.5 mm contact, 2.4-3.4 mm"),  # 2.8 mm
        ("sealed 2.8", "1.0", "2.8 mm contact, 1.2-2.1 mm"),  # 2.1 mm
        ("sealed 2.8 socket", "2.5", "2.8 mm contact, 2.1-3.0 mm"),  # 3.0 mm
    ],
)
def test_seals_go_by_the_insulation_not_by_the_conductor(
    tmp_path: Path, style: str, gauge: str, seal: str
) -> None:
    """The smallest whose upper limit the insulation does not pass."""
    wire = f"lamp:1 > a | {style} | bare | {gauge}"
    assert_made(tmp_path, f"a seal\n  {wire}\n  some parts: 1 wire seal, {seal}")


@pytest.mark.parametrize(
    ("pins", "ways"),
    [
        (1, [2]),  # the smallest there is
        *((5, [6]), (7, [8]), (9, [9])),
        (17, [8, 9]),  # two at the least, and only these hold 17 and no more
        (18, [9, 9]),
    ],
)
def test_housings_are_the_smallest_set_with_enough_ways(
    tmp_path: Path, pins: int, ways: list[int]
) -> None:
    """Of 2, 3, 4, 6, 8 and 9 ways; two wires at one pin take one way."""
    rows = [f"box:{n} > x{n} | multiway 2.8 | bare | 0.5" for n in (*range(pins), 0)]
    counts = [
        f"{ways.count(n)} multi-way housing, 2.8 mm, male, {n} way" for n in (2, 3, 4, 6, 8, 9)
    ]
    assert_made(tmp_path, "\n".join(["housings", *rows, f"some parts: {'; '.join(counts)}"]))


@pytest.mark.parametrize(
    ("percent", "least", "spare"), [(0, 2, 0), (10, 2, 2), (30, 2, 4), (10, 0, 2), (10, 5, 5)]
)
def test_spares_of_what_is_crimped(tmp_path: Path, percent: int, least: int, spare: int) -> None:
    """Of 11: 10 % are 1.1, so 2; 30 % are 3.3, so 4; at least the minimum; 0 % are none."""
    told = f"""spares
    job: terminal_spare_percent | {percent}; terminal_spare_min | {least}
    a > b | ring M6 | bare | 1.0 | 11
    parts: {11 + spare} ring terminal, M6, 0.5-1.5 mm2"""
    assert_told(tmp_path, told, CELLS)


@machines("""
Housings have no spares; contact and seal have two at least
  lamp:1 > a | sealed 1.5 | bare
  parts: 3 contact for sealed housing, 1.5 mm, male, 0.5-1.0 mm2; \
3 wire seal, 1.5 mm contact, 1.7-2.4 mm; 1 sealed housing, 1.5 mm, male, 1 way

Five ways wanted, three wired: two cavity plugs and two spare ones
  with: lamp | ways=5
  lamp:0 > a0 | sealed 1.5 | bare
  lamp:1 > a1 | sealed 1.5 | bare
  lamp:2 > a2 | sealed 1.5 | bare
  some parts: 4 cavity plug, 1.5 mm contact
""")
def test_with_spares(tmp_path: Path, told: str) -> None:
    """10 %, and at least two, of all but housings."""
    assert_told(tmp_path, told, CELLS, gauge="1.0")


@pytest.mark.parametrize(
    ("style", "wired", "ways", "housings", "plugs"),
    [
        ("sealed 1.5", 3, 5, ["sealed housing, 1.5 mm, male, 5 way"], 2),
        ("sealed 2.8", 3, 2, ["sealed housing, 2.8 mm, male, 3 way"], 0),  # fewer than are wired
        ("sealed 2.8", 3, 4, ["sealed housing, 2.8 mm, male, 4 way"], 1),
        ("multiway 2.8", 3, 5, ["multi-way housing, 2.8 mm, male, 6 way"], 0),  # it is not sealed
        # seven wanted of housings with six at the most: 6 + 1
        ("sealed 1.5", 6, 7, [f"sealed housing, 1.5 mm, male, {n} way" for n in (6, 1)], 1),
    ],
)
def test_ways_are_those_wanted_where_they_are_more(
    tmp_path: Path, style: str, wired: int, ways: int, housings: list[str], plugs: int
) -> None:
    """Each that is empty in a sealed housing gets a cavity plug."""
    rows = [f"lamp:{n} > a{n} | {style} | bare" for n in range(wired)]
    seals = wired if style == "sealed 1.5" else 0
    told = f"""ways
    with: lamp | ways={ways}
    some parts: {"; ".join(f"1 {item}" for item in housings)}
    some parts: {plugs} cavity plug, {style[-3:]} mm contact
    some parts: {seals} wire seal, 1.5 mm contact, 1.7-2.4 mm"""
    assert_made(tmp_path, "\n".join([told, *rows]))


@machines("""
Two wires through one seal are doubtful, as two rows
  lamp:1 > a0 | sealed 1.5 | bare
  lamp:1 > a1 | sealed 1.5 | bare
  says: caution L3: 2 wires through one seal at lamp:1 will not be tight

And as one row of two
  lamp:1 > a | sealed 1.5 | bare | 1.0 | 2
  says: caution L2: 2 wires through one seal at lamp:1 will not be tight

Both halves of a plug of two ways have their empty way closed
  with: plug | | pin to pin | ways=2
  box:1 > plug:1 | bare | sealed 1.5
  plug:1 > a | sealed 1.5 | bare
  some parts: 1 sealed housing, 1.5 mm, male, 2 way; 1 sealed housing, 1.5 mm, female, 2 way
  some parts: 2 cavity plug, 1.5 mm contact

A bare end at a plug is an error: which pin meets which cannot be told
  with: plug | | pin to pin
  box:1 > plug | bare | multiway 2.8
  says: error D2

Styles at a pin of a plug must go together: halves that do not mate are told at the later cell
  with: plug | | pin to pin
  box:1 > plug:1 | bare | multiway 2.8
  box:2 > plug:1 | bare | multiway 2.8
  plug:1 > lamp:1 | sealed 1.5 | bare
  says: L4: two end styles

Two contacts on one half
  with: plug | | pin to pin
  box:1 > plug:1 | bare | multiway 2.8 socket
  box:2 > plug:1 | bare | multiway 2.8
  plug:1 > lamp:1 | | bare
  says: M3: two end styles

One family at the pin
  with: plug | | pin to pin
  box:1 > plug:1 | bare | multiway 2.8
  box:2 > plug:1 | bare
  plug:1 > lamp:1 | multiway 6.3 socket | bare
  says: L4: two end styles

One style on each half
  with: plug | | pin to pin
  box:1 > plug:1 | bare | multiway 2.8 socket
  box:2 > plug:1 | bare | multiway 2.8 socket
  plug:1 > lamp:1 | multiway 2.8 | bare
  silent on: two end styles
""")
def test_seals_and_plugs(tmp_path: Path, told: str) -> None:
    """A seal is for one wire; a plug has two halves that mate."""
    assert_made(tmp_path, told)


# --------------------------------------------------------------------------------- plugs


@machines("""
By from and to without a loom: what ends there is the supply's half, female
  box:1 > plug:1 | bare | | 2.0
  plug:1 > lamp:1 | | bare
  = 1 female 1.0-2.5; 1 male 0.5-1.0; 2 way

The supply's half is where wires end, though the lamp's row and its branch are met first
  loom: box > plug | 1 | none; lamp > plug | 1 | none
  plug:1 > lamp:1 | | bare
  box:1 > plug:1 | bare | | 2.0
  = 1 female 1.0-2.5; 1 male 0.5-1.0; 2 way

Wires at one half of a pin share its terminal: 1.0 + 1.0 mm2 beyond the plug
  box:1 > plug:1 | bare
  plug:1 > lamp:1 | | bare
  plug:1 > lamp:2 | | bare
  = 1 female 0.5-1.0; 1 male 1.0-2.5; 2 way

A pin wired on one side gets the same terminal on the other: pin 1 arrives, pin 2 leaves
  box:1 > plug:1 | bare | | 2.0
  plug:2 > lamp:1 | | bare
  = 1 female 1.0-2.5; 1 male 1.0-2.5; 1 female 0.5-1.0; 1 male 0.5-1.0; 2 way

Two branches tell the halves: an earth that goes back to the box is on the box's half
  # box's half, female: 2.0, and 1.0 at pins 2 to 5; lamp's, male: 1.0 at pin 1, 2.0 at
  # 2 and 3, and the same as opposite, 1.0, at 4 and 5
  loom: box > plug | 1 | none; lamp > plug | 1 | none
  box:1 > plug:1 | bare | | 2.0
  plug:1 > lamp:1 | | bare
  plug:2 > box:2 | | bare
  lamp:2 > plug:2 | bare | | 2.0
  plug:3 > box:3 | | bare
  lamp:3 > plug:3 | bare | | 2.0
  box:4 > plug:4 | bare
  box:5 > plug:5 | bare
  = 1 female 1.0-2.5; 4 female 0.5-1.0; 2 male 1.0-2.5; 3 male 0.5-1.0; 6 way

Three branches do not tell, so from and to do: box and horn arrive by two, and leave by a third
  loom: box > plug | 1 | none; horn > plug | 1 | none; lamp > plug | 1 | none
  box:1 > plug:1 | bare | | 2.0
  horn:1 > plug:2 | bare | | 2.0
  plug:1 > lamp:1 | | bare
  plug:2 > lamp:2 | | bare
  = 2 female 1.0-2.5; 2 male 0.5-1.0; 2 way

Halves typed on a plug turn it round: the plain style is the male contact, here the supply's
  box:1 > plug:1 | bare | multiway 2.8 | 2.0
  plug:1 > lamp:1 | multiway 2.8 socket | bare
  = 1 male 1.0-2.5; 1 female 0.5-1.0; 2 way
""")
def test_plugs(tmp_path: Path, told: str) -> None:
    """All parts: the contacts of each half for their areas, and a housing for each half."""
    wires, _, expected = told.rpartition("\n  = ")
    *contacts, ways = expected.split("; ")
    items = []
    for number, half, size in map(str.split, contacts):
        items.append(f"{number} contact for multi-way housing, 2.8 mm, {half}, {size} mm2")
    items += [f"1 multi-way housing, 2.8 mm, {half}, {ways}" for half in ("male", "female")]
    plug = "with: plug | | pin to pin | end=multiway 2.8"
    assert_made(tmp_path, f"{wires}\n  {plug}\n  parts: {'; '.join(items)}")


def test_the_cut_list_names_the_style_of_each_end(tmp_path: Path) -> None:
    """A component's style and a typed one; halves typed on a plug are kept as they were typed."""
    told = """a wire
    with: lamp | end=ring M6
    a:1 > lamp:1 | blade 6.3"""
    path = book(tmp_path, **sketch(told, CELLS, gauge="1.0")[0])
    (cut,) = cut_out(buy_for([path]))["cuts"]
    assert (cut["from_end"], cut["to_end"]) == ("blade 6.3", "ring M6")
    turned = """a plug turned round
    with: plug | | pin to pin
    box:1 > plug:1 | bare | multiway 2.8
    plug:1 > lamp:1 | multiway 2.8 socket | bare"""
    names = styles(tmp_path, turned)
    assert (names["1", "to end"], names["2", "from end"]) == ("multiway 2.8", "multiway 2.8 socket")
