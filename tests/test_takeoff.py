"""The take-off: terminals by pin, plugs, coverings, fuses; each count by hand.

Wires are 1.0 mm2, which is 2.1 mm outside, with bare ends.  The cells of a wire, after its ends,
are from end, to end, gauge, qty and fuse; `books.assert_told` says how a machine is told.
"""

import math
from pathlib import Path
from typing import Any

import pytest

from bom.job import open_job
from bom.reckon.bundle import laid
from bom.show.job_json import takeoff_out
from bom.trade.catalogue import Catalogue
from bom.trade.catalogue_files import load_catalogue
from bom.trade.figures import circle_ratio
from bom.trade.house import HouseRules
from tests.books import assert_told, book, machines, parts, sketch

CELLS = "from end, to end, gauge, qty, fuse"
BARE = {"gauge": "1.0", "from end": "bare", "to end": "bare"}
SPARELESS = "job: terminal_spare_percent | 0; fuse_spares | 0"


def assert_made(folder: Path, told: str, **cells: Any) -> None:
    """A machine of which no terminals and fuses are spare."""
    assert_told(folder, f"{told}\n{SPARELESS}", CELLS, **BARE | cells)


@machines("""
A pin is one terminal for the summed area, 1.0 + 1.0 mm2; at bare points one each
  earth:1 > a | ring M6
  earth:1 > b | ring M6
  stud > c | ring M5
  stud > d | ring M5
  parts: 1 ring terminal, M6, 1.5-2.5 mm2; 2 ring terminal, M5, 0.5-1.5 mm2

Splices at one bare point are one of 3.0 mm2, with 40 mm of adhesive 3:1 shrink
  # three of 2.1 mm are 2.154701 x 2.1 = 4.52 mm (Birgin and Gentil 2009, table 1): 6 mm
  s > a | splice
  s > b | splice
  c > s | | splice
  parts: 1 crimp splice, 2.5-6.0 mm2; 40 heat-shrink, adhesive 3:1, 6 mm

A joint makes both halves with covers: the loom's takes 2.0 + 1.0, the component's the thicker
  lamp:1 > a | bullet joint | | 2.0
  lamp:1 > b | bullet joint | | 1.0
  parts: 1 bullet terminal, female, 2.0-3.0 mm2; 1 bullet terminal, male, 1.0-2.0 mm2; \
1 bullet cover, female; 1 bullet cover, male

A plug has two halves and two housings: pin 3 gets its terminal beyond the plug too
  with: plug | | pin to pin
  box:1 > plug:1 | | multiway 2.8
  box:2 > plug:2 | | multiway 2.8
  box:3 > plug:3 | | multiway 2.8
  plug:1 > lamp:1 | multiway 2.8
  plug:2 > lamp:2 | multiway 2.8
  parts: 3 contact for multi-way housing, 2.8 mm, female, 0.5-1.0 mm2; \
3 contact for multi-way housing, 2.8 mm, male, 0.5-1.0 mm2; \
1 multi-way housing, 2.8 mm, female, 3 way; 1 multi-way housing, 2.8 mm, male, 3 way

Sides of a plug go by its two branches: an earth that starts there lies on the supply's
  with: plug | | pin to pin
  loom: box > plug | 1 | none; plug > lamp | 1 | none
  box:1 > plug:1 | | multiway 6.3 | 2.0 | length=
  plug:2 > box:2 | multiway 6.3 | length=
  plug:1 > lamp:1 | multiway 6.3 | length=
  lamp:2 > plug:2 | | multiway 6.3 | length=
  # supply's half, female: 2.0 and 1.0; beyond it, male: 1.0 and 1.0
  some parts: 2 contact for multi-way housing, 6.3 mm, male, 0.5-1.0 mm2
  some parts: 1 contact for multi-way housing, 6.3 mm, female, 0.5-1.0 mm2
  some parts: 1 contact for multi-way housing, 6.3 mm, female, 1.0-2.5 mm2

Seals go by the insulation: 1.0 mm2 thin wall is 2.1 mm outside
  sensor:1 > a | sealed 1.5 socket
  parts: 1 contact for sealed housing, 1.5 mm, female, 0.5-1.0 mm2; \
1 wire seal, 1.5 mm contact, 1.7-2.4 mm; 1 sealed housing, 1.5 mm, female, 1 way

Two styles at one pin are told at the later cell
  a:1 > b | bullet
  a:1 > c | ring M6
  says: error L3: two end styles at a:1: 'bullet' and 'ring M6'

An area over the style's largest wants a splice point
  d:1 > e | bullet | | 2.0
  d:1 > f | bullet | | 2.0
  says: L3: 4 mm2 at d:1: 'bullet' takes 3 mm2 at most; a splice point in front of it

A fuse whose holder is a box brings no joints, whatever the wire's ends are called
  fuses: main | 5 | fuse box
  battery:+ > lamp | fuse=main
  parts: 1 blade fuse, 5 A; 1 fuse box, blade, 4 way

A fuse in line is joined at both sides: two splices for 1.0 mm2 and their shrink
  with: lamp | 5 W
  battery:+ > lamp | fuse=main
  parts: 1 blade fuse, 3 A; 1 in-line fuse holder, blade; 2 crimp splice, 0.5-1.5 mm2; \
80 heat-shrink, adhesive 3:1, 3 mm  # 2.1 mm outside: 3 > 2.1 > 1

With a blank holder too
  fuses: main | 5
  battery:+ > lamp | fuse=main
  parts: 1 blade fuse, 5 A; 1 in-line fuse holder, blade; 2 crimp splice, 0.5-1.5 mm2; \
80 heat-shrink, adhesive 3:1, 3 mm

The first wire of a fuse gives the size of its joints: 2.5 mm2 (3.0 mm outside: 6 > 3 > 2)
  with: lamp | 5 W
  battery:+ > switch | gauge=2.5 | fuse=main
  switch > lamp | fuse=main
  some parts: 2 crimp splice, 1.5-2.5 mm2; 80 heat-shrink, adhesive 3:1, 6 mm

Identical wires lie in the joints together: 2.0 mm2; side by side 2 x 2.1 = 4.2 mm: 6 > 4.2 > 2
  with: lamp | 5 W
  battery:+ > lamp | qty=2 | fuse=main
  parts: 1 blade fuse, 3 A; 1 in-line fuse holder, blade; 2 crimp splice, 1.5-2.5 mm2; \
80 heat-shrink, adhesive 3:1, 6 mm

A wire behind a box does not count where its fuse is not typed: `main` lies in another wire
  with: lamp | 5 W
  battery:+ > fuse box:in
  battery:2 > lamp | fuse=main
  fuse box:1 > horn
  some parts: 2 crimp splice, 0.5-1.5 mm2

The house may join its holders by bullets: both halves at each side, each with its cover
  job: in_line_end | bullet joint
  with: lamp | 5 W
  battery:+ > lamp | fuse=main
  parts: 1 blade fuse, 3 A; 1 in-line fuse holder, blade; 2 bullet terminal, male, 0.5-1.0 mm2; \
2 bullet terminal, female, 0.5-1.0 mm2; 2 bullet cover, male; 2 bullet cover, female

By sleeved ones
  job: in_line_end | bullet joint 4.7
  with: lamp | 5 W
  battery:+ > lamp | fuse=main
  parts: 1 blade fuse, 3 A; 1 in-line fuse holder, blade; \
4 bullet terminal, 4.7 mm, male, 0.5-1.0 mm2; 2 sleeved bullet connector, 4.7 mm, 2 way

Or solder them
  job: in_line_end | solder
  with: lamp | 5 W
  battery:+ > lamp | fuse=main
  parts: 1 blade fuse, 3 A; 1 in-line fuse holder, blade

A wire too thick for its holder's joints, 16 mm2 where a splice takes 10: told, and left out
  with: lamp | 5 W
  battery:+ > lamp | gauge=16.0 | fuse=main
  says: caution H2: holder of fuse main
  parts: 1 blade fuse, 3 A; 1 in-line fuse holder, blade

Ways of a fuse box are not those of its plug: eight fuses find room, the plug has two wired
  with: fuse box | ways=8
  fuses: f0 | 5 | fuse box; f1 | 5 | fuse box
  fuse box:0 > lamp 0 | multiway 6.3 | fuse=f0
  fuse box:1 > lamp 1 | multiway 6.3 | fuse=f1
  some parts: 1 fuse box, blade, 8 way; 1 multi-way housing, 6.3 mm, male, 2 way

Lugs are closed with adhesive shrink: the barrel for 16 mm2 is 8.5 mm outside (from memory)
  battery:+ > starter:1 | lug M8 | lug M6 | 16.0 | fuse=none
  parts: 1 cable lug, M8, 10.0-16.0 mm2; 1 cable lug, M6, 10.0-16.0 mm2; \
80 heat-shrink, adhesive 3:1, 9 mm
""")
def test_terminals_and_holders(tmp_path: Path, told: str) -> None:
    """What is crimped, and what closes it."""
    assert_made(tmp_path, told)


def test_three_wires_lie_in_their_splice() -> None:
    """What the shrink over a splice of three is taken for."""
    assert circle_ratio(3) * 2.1 == pytest.approx(4.52, abs=0.01)


@pytest.mark.parametrize(("count", "total"), [(1, 3), (20, 22), (21, 24)])
def test_spares(tmp_path: Path, count: int, total: int) -> None:
    """10 % rounded up, and two at the least: 1 + 2, 20 + 2, 21 + 3."""
    told = f"a > b | bullet | qty={count}\nsome parts: {total} bullet terminal, male, 0.5-1.0 mm2"
    assert_told(tmp_path, f"spares\n{told}", CELLS, **BARE)


@pytest.mark.parametrize(
    ("point", "in_line"),
    [
        *((name, False) for name in ("fuse box:1", "Fuses", "fuse panel:main", "main fuse:in")),
        ("fusebox:1", False),
        ("refused bin", True),  # no word of its own
        ("switch:fuse", True),  # the point counts, not its pin
    ],
)
@pytest.mark.parametrize("turned", [False, True])
def test_a_fuse_at_a_fuse_box_is_not_in_line(
    tmp_path: Path, point: str, in_line: bool, turned: bool
) -> None:
    """Wherever a wire with its typed name starts or ends; it need not be the first."""
    joints = "; 2 crimp splice, 0.5-1.5 mm2; 80 heat-shrink, adhesive 3:1, 3 mm" * in_line
    told = f"""a box
    with: lamp | 5 W
    battery:+ > switch | fuse=main
    {" > ".join(("lamp", point) if turned else (point, "lamp"))} | fuse=main
    parts: 1 blade fuse, 3 A; 1 in-line fuse holder, blade{joints}"""
    assert_made(tmp_path, told)


# --------------------------------------------------------------------------------- fuses


def in_box(count: int, holder: str = "fuse box", boxes: dict[str, int] | None = None) -> str:
    """So many fuses of 5 A in a box, and components with ways."""
    names = [f"f{n} | 5 | {holder}" for n in range(count)]
    wires = [f"battery:{n} > load {n} | fuse=f{n}" for n in range(count)]
    rows = [f"with: {name} | ways={ways}" for name, ways in (boxes or {}).items()]
    return "\n".join(["a box", f"fuses: {'; '.join(names)}", *wires, *rows])


@pytest.mark.parametrize(
    ("components", "ways"),
    [
        ({"fuse box": 8}, 8),
        ({"Fuse  Box": 8}, 8),
        ({"rear fuse box": 10}, 10),  # it has the word in its name
        ({"rear fuse box": 10, "fuse box": 6}, 6),  # its very name
        ({"fuse box": 2}, 4),  # fewer than there are fuses
        ({"battery box": 8}, 4),
    ],
)
def test_ways_of_a_fuse_box(tmp_path: Path, components: dict[str, int], ways: int) -> None:
    """Three fuses; the smallest box is of 4 ways."""
    counts = (f"{int(n == ways)} fuse box, blade, {n} way" for n in (4, 6, 8, 10, 12))
    assert_made(tmp_path, f"{in_box(3, 'fuse box', components)}\nsome parts: {'; '.join(counts)}")


def test_boxes(tmp_path: Path) -> None:
    """Two boxes by their names, fourteen ways as 12 + 4; 24 under one word, and none to spare."""
    told = in_box(14, "front fuse box").replace("fuses: ", "fuses: x | 5 | rear fuse box; ")
    counts = "some parts: 1 fuse box, blade, 12 way; 2 fuse box, blade, 4 way"
    assert_made(tmp_path / "two", f"{told}\nbattery:x > load x | fuse=x\n{counts}")
    counts = "some parts: 2 fuse box, blade, 12 way; 24 blade fuse, 5 A"
    assert_made(tmp_path / "24", f"{in_box(24)}\n{counts}")


@machines("""
Three fuses of 5 A in one box of four ways, one of 10 A in line, spares as asked
  fuses: a | 5 | fuse box | 1; b | 5 | fuse box | 3; c | 5 | fuse box; d | 10 | in-line; \
idle | 10 | in-line
  battery:0 > load 0 | fuse=a
  battery:1 > load 1 | fuse=b
  battery:2 > load 2 | fuse=c
  battery:3 > load 3 | fuse=d
  # `idle` is named by no wire but has a rating: it is counted, yet it lies in no wire, so that
  # there are the two sides of d, and two spare splices
  parts: 6 blade fuse, 5 A; 3 blade fuse, 10 A; 1 fuse box, blade, 4 way; \
2 in-line fuse holder, blade; 4 crimp splice, 0.5-1.5 mm2; 80 heat-shrink, adhesive 3:1, 3 mm
""")
def test_fuses_with_spares(tmp_path: Path, told: str) -> None:
    """As many as asked of a rating, and of splices as many as the house wants."""
    assert_told(tmp_path, told, CELLS, **BARE)


@pytest.mark.parametrize(
    ("cells", "house", "spares"),
    [(("", ""), 1, 1), (("", ""), 0, 0), ((0, ""), 3, 0), ((1, 4), 2, 4)],
)
def test_spares_of_a_rating(
    tmp_path: Path, cells: tuple[object, ...], house: int, spares: int
) -> None:
    """The largest `spares` cell among its fuses, else the house's `fuse_spares`."""
    told = f"""spares
    job: fuse_spares | {house}
    fuses: f0 | 5 | spares={cells[0]}; f1 | 5 | spares={cells[1]}
    battery:0 > load 0 | fuse=f0
    battery:1 > load 1 | fuse=f1
    some parts: {2 + spares} blade fuse, 5 A"""
    assert_told(tmp_path, told, CELLS, **BARE)


@pytest.mark.parametrize(
    ("holder", "item"),
    [
        # DIN 72581-1: 5, 8, 16, 25 A; 5 A / 0.75 = 6.67 -> 8 A
        ("torpedo fuse box", "torpedo fuse, 8 A"),
        ("in-line mini", "mini blade fuse, 7.5 A"),
        # maxi fuses start at 20 A (from memory)
        ("maxi holder", "maxi blade fuse, 20 A"),
        ("glass holder", "glass fuse, 30 x 6.3 mm, 8 A"),
        ("in-line", "blade fuse, 7.5 A"),
    ],
)
def test_the_holder_tells_the_kind_of_fuse(tmp_path: Path, holder: str, item: str) -> None:
    """The smallest of its kind that 5 A fill to 75 %."""
    told = f"""a fuse
    fuses: main | | {holder}
    battery > lamp | gauge=2.0 | load=5 A | fuse=main
    some parts: 1 {item}"""
    assert_made(tmp_path, told)


@pytest.mark.parametrize(
    ("gauge", "shrink"),
    [
        # barrels by DIN 46235 (from memory): 10 mm2 6.0 mm, 16 8.5, 25 10.0, 35 12.5 outside
        ("6.0", 9),  # the lug for up to 10 mm2: 9 > 6.0 > 3, where the cable of 4.3 had 6 mm
        ("10.0", 9),
        ("16.0", 9),  # 9 > 8.5 > 3
        ("25.0", 12),  # 12 > 10.0 > 4
        ("35.0", 18),  # 18 > 12.5 > 6, where the cable of 11.2 had 12 mm
    ],
)
def test_lug_shrink_closes_on_the_barrel(tmp_path: Path, gauge: str, shrink: int) -> None:
    """Not on the cable; 40 mm of it."""
    wire = f"battery:+ > starter:1 | lug M8 | gauge={gauge} | fuse=none"
    assert_made(tmp_path, f"a lug\n{wire}\nsome parts: 40 heat-shrink, adhesive 3:1, {shrink} mm")


# --------------------------------------------------------------------------------- cable


@machines("""
The worked example of the design: 1300 x 1.05 = 1365, + tail 150 + 2 x 40 = 1595; 5 % spare
  loom: battery > spine | 0.5; spine > tail | 0.8
  with: tail lamp | at=tail | tail=150
  battery > tail lamp | length=
  = 1.0 red: 1600 + 80

Slack and tails come after the allowance: 1050 + 100 + 30 + 20 + 80; 120.5 of spare are 130
  loom: a > b | 1.0 | slack=100
  with: a | tail=30; b | tail=20
  a > b | length=
  a > b | length=1.0  # a length of its own has neither: 1050 + 80
  = 1.0 red: 1130 1280 + 130

Each piece is rounded up, the spare once on their sum: 5 % of 570 = 28.5: 30, not three times 10
  a > b | length=100 mm | qty=3  # 100 x 1.05 + 80 = 185
  c > d | colour=red/blue | length=1143 mm  # 1143 x 1.05 + 80 = 1280.15, spare 64.5
  e > f | gauge=1.5 | length=1143 mm
  = 1.0 red: 190 190 190 + 30; 1.0 red/blue: 1290 + 70; 1.5 red: 1290 + 70

The arithmetic is exact: 400 x 1.05 + 80 = 500, and not 510 by the dust of a binary 1.05
  a > b | length=0.4
  = 1.0 red: 500 + 30  # 25 up to 30

House rules of the job count: 1000 x 1.10 + 2 x 25 = 1150, in steps of 100; no spare
  job: run_percent | 10; end_mm | 25; step_mm | 100; cable_spare_percent | 0
  a > b
  = 1.0 red: 1200 + 0
""")
def test_cable(tmp_path: Path, told: str) -> None:
    """Pieces, spare and their sum by gauge and colour."""
    wires, _, expected = told.rpartition("\n  = ")
    job = open_job(book(tmp_path, **sketch(wires, CELLS, **BARE)[0]))
    assert job.takeoff, [str(problem) for problem in job.problems]
    needs = [need for need in takeoff_out(job)["needs"] if need["kind"] == "cable"]
    found = []
    for need in needs:
        pieces = sorted(need["pieces_mm"])
        assert need["quantity"] == sum(pieces) + need["spare_mm"]
        typed = " ".join(map(str, pieces))
        found.append(f"{need['gauge']} {need['colour']}: {typed} + {need['spare_mm']}")
    assert sorted(found) == sorted(expected.partition("  #")[0].split("; "))


# ------------------------------------------------------------------------------ coverings


def tape_mm(length_mm: float, outside_mm: float, pitch_mm: float) -> float:
    """A helix unrolled, and two turns at each end."""
    turn_mm = math.pi * outside_mm
    return length_mm * math.hypot(turn_mm, pitch_mm) / pitch_mm + 4 * turn_mm


@machines(f"""
Tape is a helix: turns of pi x 2.23 round and 9.5 mm on, 50 mm slack, 10 % waste, rounded up once
  loom: a > b | 1.0 | slack=50
  a:0 > b:0
  parts: {math.ceil(tape_mm(1050, 2.23, 9.5) * 1.10)} loom tape, PVC, 19 mm

A helix by the house: 25 mm tape, a third over, 0.2 mm thick, no waste: 16.67 mm on, pi x 2.3
  job: tape_width_mm | 25; tape_overlap_percent | 33.3333333333; tape_thickness_mm | 0.2; \
covering_waste_percent | 0
  loom: a > b | 0.5 | tape
  a:0 > b:0
  parts: {math.ceil(round(tape_mm(500, 2.3, 50 / 3), 3))} loom tape, PVC, 25 mm

Tape is rounded up once on the total: ten branches of 167.502 mm are 1676 mm, not 10 x 168
  # 100 / 9.5 x 11.804 = 124.25, four turns 28.02; 152.275 x 1.10
  loom: {"; ".join(f"p{n} > p{n + 1} | 100 mm" for n in range(10))}
  p0 > p10
  parts: 1676 loom tape, PVC, 19 mm

Tube in the weather, for a row of seven wires: D = 3 x 2.1 = 6.3, x 1.15 = 7.25; 1000 x 1.1 mm
  loom: a > b | 1 | exposure=weather
  a > b | qty=7
  parts: 1100 PVC tube, 8 mm bore

Braid on show over tube with shrink ends: 9.0 outside x 1.15 = 10.35; 13.0 outside: 19.1
  loom: a > b | 1 | exposure=show
  a > b | qty=7
  parts: 1100 PVC tube, 8 mm bore; 1100 braided sleeving, 12 mm bore; \
80 heat-shrink, plain 2:1, 19.1 mm

A covering typed wins over the exposure
  loom: a > b | 1 | none | weather
  a > b
  parts: nothing

Slack is covered too, in tube and braid: 1200 x 1.10; the shrink is two ends and no waste
  # x 1.15 = 2.415: 3 mm bore, 4.0 outside; x 1.15 = 4.6: braid of 6 mm, 7.0 outside: 9.5 mm,
  # as 6.4 does not go over it
  loom: a > b | 1 | exposure=show | slack=200
  a > b
  parts: 1320 PVC tube, 3 mm bore; 1320 braided sleeving, 6 mm bore; \
80 heat-shrink, plain 2:1, 9.5 mm

Sleeves of one size are summed before they are rounded: 2 x 135.74 = 271.48
  loom: a > b | 0.1234 | tube; b > c | 0.1234 | tube
  a > c
  parts: 272 PVC tube, 3 mm bore

An empty branch takes nothing and is doubtful
  loom: a > b | 1 | none; b > c | 1 | braid
  a > b
  parts: nothing
  says: caution Loom!A3

A wire with a length of its own still fills its branches
  loom: a > b | 1 | tube
  a > b | length=5
  parts: 1100 PVC tube, 3 mm bore

The house says what covers a hidden branch, as one with a blank exposure is
  job: cover_hidden | tube
  loom: a > b | 1
  a > b
  parts: 1100 PVC tube, 3 mm bore

It may be nothing
  job: cover_hidden | none
  loom: a > b | 1
  a > b
  parts: nothing
""")
def test_coverings(tmp_path: Path, told: str) -> None:
    """By the exposure of each branch and the bundle in it."""
    assert_made(tmp_path, told, length=None)


def test_a_branch_of_tape_by_hand() -> None:
    """Turns of pi x 2.23 = 7.006 round and 9.5 on are 11.804 long."""
    assert tape_mm(100, 2.23, 9.5) * 1.10 == pytest.approx(167.502, abs=0.001)


@pytest.mark.parametrize(("clearance", "bore"), [(0, 5), (19, 5), (20, 6), (42, 6), (43, 8)])
def test_the_bore_is_the_smallest_with_clearance(tmp_path: Path, clearance: int, bore: int) -> None:
    """Two wires of 2.1 mm: D = 4.2; x 1.19 = 4.998, x 1.20 = 5.04, x 1.42 = 5.964, 1.43: 6.006."""
    told = f"""a tube
    job: tube_clearance_percent | {clearance}
    loom: a > b | 1 | tube
    a:1 > b:1
    a:2 > b:2
    parts: 1100 PVC tube, {bore} mm bore"""
    assert_made(tmp_path, told, length=None)


EXPANDABLE = (
    "item,covering,width_mm,bore_mm,outside_mm,least_mm,most_mm,shortening_percent,source,place\n"
    "expandable braid,braid,,10,11,6,9,20,invented,\n"
    "wide expandable braid,braid,,10,11,6,14,25,invented,\n"
)
"""Walls of 0.5 mm: 10 mm inside are 11 outside."""


def own_catalogue(folder: Path) -> Catalogue:
    """Our catalogues with two expandable braids of a workshop's own."""
    (folder / "catalogs").mkdir()
    (folder / "catalogs" / "coverings.csv").write_text(EXPANDABLE)
    (folder / "workshop.toml").write_text("")
    catalogue, problems = load_catalogue(folder / "catalogs")
    assert not problems
    return catalogue


@pytest.mark.parametrize(
    ("diameter_mm", "tube", "braid"),
    [
        (2.1, 3, ("braided sleeving, 6 mm bore", 7.0)),  # the tube is 4.0 outside: under 6
        (4.2, 5, ("expandable braid", 7.0)),  # x 1.15 = 4.83; 6.0 outside, + 2 x 0.5
        (6.9, 8, ("expandable braid", 10.0)),  # x 1.15 = 7.94; 9.0 outside: the most it takes
        (8.0, 10, ("wide expandable braid", 12.2)),  # x 1.15 = 9.2; 11.2 outside
        (12.0, 14, ("braided sleeving, 20 mm bore", 21.4)),  # 15.2 outside, x 1.15 = 17.48
    ],
)
def test_an_expandable_braid_is_taken_by_its_range(
    tmp_path: Path, diameter_mm: float, tube: int, braid: tuple[str, float]
) -> None:
    """The narrowest whose range holds the tube, else a fixed one; the wall stays."""
    over = laid(diameter_mm, "braid", HouseRules(), own_catalogue(tmp_path))
    found = [(one.goods and one.goods.item, round(one.outside_mm, 6)) for one in over]
    assert (found[0][0], found[1]) == (f"PVC tube, {tube} mm bore", braid)


def test_an_expandable_braid_shortens(tmp_path: Path) -> None:
    """1000 mm + 20 % for its shortening, x 1.10 waste; its ends are 7.0 mm: 9.5 > 7.0 > 4.8.

    Two wires of 2.1 mm are 4.2: x 1.15 = 4.83: tube of 5 mm, 6.0 outside.
    """
    own_catalogue(tmp_path)
    told = """a braid
    loom: a > b | 1 | braid
    a > b | qty=2
    parts: 1100 PVC tube, 5 mm bore; 1320 expandable braid; 80 heat-shrink, plain 2:1, 9.5 mm"""
    assert_made(tmp_path, told, length=None)


def test_extras_stand_as_typed_with_lengths_in_mm(tmp_path: Path) -> None:
    """Three clips, and 2.5 m of edging."""
    sheets, _ = sketch("extras\na > b", CELLS, **BARE)
    extras = [("item", "qty", "unit"), ("clip", 3, None), ("edging", 2.5, "m")]
    job = open_job(book(tmp_path, **sheets, Extras=extras))
    assert parts(job) == {"clip": 3, "edging": 2500}
    units = {need["item"]: need["unit"] for need in takeoff_out(job)["needs"]}
    assert (units["clip"], units["edging"]) == ("each", "mm")
