"""The cure that the trade would name, and the same machine with it: then nothing is said any more.

Told as in `tests/test_causes.py`; the machine behind a fault is the one that its cure makes.
"""

from pathlib import Path

import pytest
from openpyxl import load_workbook

from bom.files.spelling import load
from bom.trade.catalogue_files import load_catalogue
from tests.books import checked, machines
from tests.test_causes import assert_told_alone, without_indent

TWIN = Path(__file__).parent.parent / "sample_projects" / "workshop" / "jobs" / "twin.xlsx"
STARTER = """
  starter: battery:+ > solenoid:in | 25.0 | | none | 0.3 m | | | lug M6 | lug M6
  starter: solenoid:out > starter motor:1 | 25.0 | 110 A | | 0.3 m | | | lug M6 | lug M8
  starter: starter motor:2 > battery:- | 25.0 | | | 0.3 m | | black | lug M8 | lug M6"""


@machines("""
Electric start: the starter's lug and the loom's ring on one battery post
  with: solenoid | | in > out
  starter
  lamp: battery:+ > lamp:+ | 1.0 | 5 W | main | 0.3 m | | | ring M6
  earth: lamp:- > battery:- | 1.0 | | | 0.3 m | | black | | ring M6
  => error Circuits!L5: two end styles at battery:+ ... battery:+ 2 in C5
  => error Circuits!M6: two end styles at battery:- ... battery:- 2 in D6

Each eye has its pin
  with: solenoid | | in > out
  starter
  lamp: battery:+ 2 > lamp:+ | 1.0 | 5 W | main | 0.3 m | | | ring M6
  earth: lamp:- > battery:- 2 | 1.0 | | | 0.3 m | | black | | ring M6

A blank end at the post: not in one crimp with the starter's cable
  with: solenoid | | in > out
  starter
  lamp: battery:+ > lamp:+ | 1.0 | 5 W | main | 0.3 m
  earth: lamp:- > battery:- 2 | 1.0 | | | 0.3 m | | black
  => caution Circuits!C5: in one lug M6 at battery:+: no crimp ... battery:+ 2 in C5, with ring M6

Two wires of one size in a lug are common
  with: solenoid | | in > out
  starter
  winch: battery:+ > winch:+ | 6.0 | 20 A | winch | 0.3 m | | | | ring M5
  earth: winch:- > battery:- | 6.0 | | | 0.3 m | | black | ring M5

The loom fed from the solenoid's stud, which its passes name
  with: solenoid | | in > out
  starter
  lamp: solenoid:in > lamp:+ | 1.0 | 5 W | main | 0.3 m | | | ring M6
  earth: lamp:- > battery:- 2 | 1.0 | | | 0.3 m | | black | | ring M6
  => error Circuits!L5: solenoid:in 2 in C5 ... with in > in 2 added under passes

A pin of its own there, and under passes
  with: solenoid | | in > out, in > in 2
  starter
  lamp: solenoid:in 2 > lamp:+ | 1.0 | 5 W | main | 0.3 m | | | ring M6
  earth: lamp:- > battery:- 2 | 1.0 | | | 0.3 m | | black | | ring M6

Two sizes of ring on one stud of the frame, whose next pin is taken
  lamp: battery:+ > lamp:+ | 1.0 | 5 W | main | 0.3 m
  horn: battery:+ 2 > horn:+ | 1.0 | 4 A | horn | 0.3 m
  earth: lamp:- > frame earth:1 | 1.0 | | | | | black | | ring M6
  earth: horn:- > frame earth:1 | 1.0 | | | | | black | | ring M8
  earth: frame earth:2 > battery:- | 1.0 | | | 0.3 m | | black
  => error Circuits!M5: the size of the stud on both, or frame earth:3 in D5

A bullet and a blade: one style, or a splice that takes both
  with: key switch | | in > out
  main: battery:+ > key switch:in | 2.0 | | main | 0.2 m
  a: key switch:out > lamp a:+ | 1.0 | 5 W | | | | | bullet joint
  b: key switch:out > lamp b:+ | 1.0 | 5 W | | | | | blade joint 6.3
  earth: lamp a:- > battery:- | 1.0 | | | | | black
  earth: lamp b:- > battery:- 2 | 1.0 | | | | | black
  => error Circuits!L4: one style, or a splice point in front of it

6 + 6 mm2 go in no splice of 10
  with: key switch | | in > out
  main: battery:+ > key switch:in | 6.0 | | main | 0.2 m | | | ring M6 | ring M5
  a: key switch:out > lamp a:+ | 6.0 | 5 W | | | | | blade joint 6.3 | ring M5
  b: key switch:out > lamp b:+ | 6.0 | 5 W | | | | | blade joint 9.5 | ring M5
  earth: lamp a:- > battery:- | 2.0 | | | | | black
  earth: lamp b:- > battery:- 2 | 2.0 | | | | | black
  => error Circuits!L4: one style, or a pin for each
  => error Circuits!L4: wires 2 and 3 come to 12 mm2 at key switch:out ... a pin for each wire
""")
def test_two_end_styles(tmp_path: Path, told: str) -> None:
    """A stud holds several eyes, a pin each; other ends are one style or meet in a splice."""
    assert_told_alone(tmp_path, without_indent(told).replace("\n  starter\n", f"{STARTER}\n"))


@machines("""
Two wires of 3.0 in one bullet joint: they sum up
  with: key switch | | in > out
  main: battery:+ > key switch:in | 3.0 | | main | 0.2 m
  a: key switch:out > lamp a:+ | 3.0 | 5 W
  b: key switch:out > lamp b:+ | 3.0 | 5 W
  earth: lamp a:- > battery:- | 2.0 | | | | | black
  earth: lamp b:- > battery:- 2 | 2.0 | | | | | black
  => error Circuits!L4: wires 2 and 3 come to 6 mm2 at key switch:out ... a splice point in front

A splice of 25 mm2 cannot be made of two: a stud
  crank: battery:+ > post splice | 25.0 | | none | 0.3 m | | | lug M6 | splice
  crank: post splice > starter motor:1 | 25.0 | 110 A | none | 0.3 m | | | splice | lug M8
  lamp: post splice > lamp:+ | 2.0 | 5 W | main | 0.3 m | | | splice
  earth: starter motor:2 > battery:- | 25.0 | | | 0.3 m | | black | lug M8 | lug M6
  earth: lamp:- > battery:- 2 | 1.0 | | | 0.3 m | | black
  => error Circuits!L4: wires 1, 2 and 3 come to 52 mm2 at post splice ... a stud in place of the

The stud, with an eye on each
  crank: battery:+ > post splice | 25.0 | | none | 0.3 m | | | lug M6 | lug M6
  crank: post splice > starter motor:1 | 25.0 | 110 A | none | 0.3 m | | | lug M6 | lug M8
  lamp: post splice > lamp:+ | 2.0 | 5 W | main | 0.3 m | | | ring M6
  earth: starter motor:2 > battery:- | 25.0 | | | 0.3 m | | black | lug M8 | lug M6
  earth: lamp:- > battery:- 2 | 1.0 | | | 0.3 m | | black
""")
def test_wires_in_one_terminal_sum_up(tmp_path: Path, told: str) -> None:
    """The sentence says so, and the cure takes them."""
    assert_told_alone(tmp_path, without_indent(told))


@machines("""
In a splice it stays
  tank: battery:+ > splice | 1.0 | | a | 0.3 m | | green
  tank: splice > lamp:+ | 1.0 | 21 W | | | | pink
  earth: lamp:- > battery:- | 1.0 | | | | | black
  => caution Circuits!E3: 'tank' turns from green to pink at splice; green

In a plug too
  with: plug | | pin to pin
  tank: battery:+ > plug:1 | 1.0 | | a | 0.3 m | | green
  tank: plug:1 > lamp:+ | 1.0 | 21 W | | | | pink
  earth: lamp:- > battery:- | 1.0 | | | | | black
  => caution Circuits!E3: 'tank' turns from green to pink at plug:1; green

And at a fuse
  tank: battery:+ > main fuse:in | 1.0 | | none | 0.2 m | | green
  tank: main fuse:out > lamp:+ | 1.0 | 21 W | a | | | pink
  earth: lamp:- > battery:- | 1.0 | | | | | black
  => caution Circuits!E3: 'tank' turns from green to pink at main fuse:out; green
""")
def test_where_a_colour_may_change(tmp_path: Path, told: str) -> None:
    """Behind what switches, not in what only joins."""
    assert_told_alone(tmp_path, without_indent(told))


@machines("""
Dip is blue/red (BS AU 7): the later wire, main beam, is right
  loom: battery > lamp | 1 m
  dip beam: battery:+ > lamp:dip | 1.0 | 55 W | a | | beam:dip | blue/white | | | length=
  main beam: battery:+ 2 > lamp:main | 1.0 | 60 W | b | | beam:main | blue/white | | | length=
  earth: lamp:- > battery:- | 2.0 | | | | | black | | | length=
  => caution Circuits!E2: both blue/white in the branch battery-lamp; blue/red

Dip in its own
  loom: battery > lamp | 1 m
  dip beam: battery:+ > lamp:dip | 1.0 | 55 W | a | | beam:dip | blue/red | | | length=
  main beam: battery:+ 2 > lamp:main | 1.0 | 60 W | b | | beam:main | blue/white | | | length=
  earth: lamp:- > battery:- | 2.0 | | | | | black | | | length=

Two circuits that no table knows: a trace
  loom: battery > lamp | 1 m
  pump: battery:+ > lamp:a | 1.0 | 55 W | a | | | pink | | | length=
  fan: battery:+ 2 > lamp:b | 1.0 | 60 W | b | | | pink | | | length=
  earth: lamp:- > battery:- | 2.0 | | | | | black | | | length=
  => caution Circuits!E3: both pink ... pink with a trace

The same with a trace: another
  loom: battery > lamp | 1 m
  pump: battery:+ > lamp:a | 1.0 | 55 W | a | | | pink/black | | | length=
  fan: battery:+ 2 > lamp:b | 1.0 | 60 W | b | | | pink/black | | | length=
  earth: lamp:- > battery:- | 2.0 | | | | | black | | | length=
  => caution Circuits!E3: both pink/black ... pink with another trace
""")
def test_one_colour_twice(tmp_path: Path, told: str) -> None:
    """The circuit whose usual colour it is not, with its usual one."""
    assert_told_alone(tmp_path, without_indent(told))


@machines("""
One thin wire among thick ones: its gauge, though three sizes up
  # in 0.5 (39.0 ohm/km) 5 A x 8.48 m x 39.0 x 1.157 = 1.91 V, in 1.0 (19.5) 0.96 V, in 1.5 0.65 V
  aux: battery:+ > splice | 2.0 | | aux | 0.4 m
  aux: splice > splice b | 0.5 | | | 8 m
  aux: splice b > aux lamp:+ | 2.0 | 60 W | | 0.4 m
  earth: aux lamp:- > battery:- | 2.0 | | | 0.4 m | | black
  => caution Circuits!F3: on the way to aux lamp ... gauge 1.5

In that gauge
  aux: battery:+ > splice | 2.0 | | aux | 0.4 m
  aux: splice > splice b | 1.5 | | | 8 m
  aux: splice b > aux lamp:+ | 2.0 | 60 W | | 0.4 m
  earth: aux lamp:- > battery:- | 2.0 | | | 0.4 m | | black

A headlamp of 6 V behind a switch: nobody fits a relay there
  job: volts | 6
  with: dip switch | | in > main
  head: battery:+ > dip switch:in | 2.0 | | main | 3 m
  head: dip switch:main > headlamp:+ | 2.0 | 24 W | | 3 m
  earth: headlamp:- > battery:- | 2.0 | | | 0.3 m | | black
  => caution Circuits!F2: on the way to headlamp ... thicker cable on the whole way

Nor a feed of its own for an ignition coil
  with: key switch | | in > out
  main: battery:+ > key switch:in | 1.0 | | main | 12 m
  coil: key switch:out > ignition coil:+ | 1.0 | 4 A | | 1 m
  lamp: key switch:out > lamp:+ | 1.0 | 21 W | | 1 m
  earth: ignition coil:- > battery:- | 1.0 | | | 0.3 m | | black
  earth: lamp:- > battery:- 2 | 1.0 | | | 0.3 m | | black
  => caution Circuits!F2: on the way to ignition coil ... thicker cable on the whole way
""")
def test_volts_lost_in_one_wire(tmp_path: Path, told: str) -> None:
    """The thin one first; what nobody does is not proposed."""
    assert_told_alone(tmp_path, without_indent(told))


@pytest.mark.parametrize(("gauge", "cures"), [(1.0, ["gauge 6.0"]), (6.0, []), (None, [])])
def test_a_thin_strap(tmp_path: Path, gauge: float | None, cures: list[str]) -> None:
    """The strap of the sample twin in 1.0; as proposed, or blank as it is there, all is well."""
    book = load_workbook(TWIN)
    row = next(row for row in book["Circuits"].iter_rows() if row[0].value == "E8")
    row[5].value = gauge
    book.save(tmp_path / "twin.xlsx")
    answer = checked(tmp_path / "twin.xlsx")
    assert [p["try"].partition(":")[0] for p in answer["problems"] if p["file"]] == cures


@machines("""
A slip in a fuse's name is told before what follows from it
  brake: battery:+ > front switch:1 | 1.0 | | brake | 0.3 m
  brake: battery:+ > rear switch:1 | 1.0 | | brak | 0.3 m
  brake: front switch:2 > stop lamp:+ | 1.0
  brake: rear switch:2 > stop lamp:+ | 1.0
  with: stop lamp | 21 W
  earth: stop lamp:- > battery:- | 1.0 | | | | | black
  => caution Circuits!H3 cause: fuse 'brak' stands on this wire alone, beside 'brake'

A fuse far too big for its wire, and for its load: at the wire, with the fuse as its cure
  # 24 / 12 = 2 A; 2 / 0.75 = 2.7 -> 3 A; 0.5 is rated 11 A
  fuses: USB | 15
  usb: battery:+ > USB socket:+ | 0.5 | 24 W | USB | 0.3 m
  earth: USB socket:- > battery:- | 0.5 | | | | | black
  => error Circuits!F2: wire 1 is 0.5, rated 11 A, behind a fuse of 15 A (USB); a fuse of 3 A

With that rating
  fuses: USB | 3
  usb: battery:+ > USB socket:+ | 0.5 | 24 W | USB | 0.3 m
  earth: USB socket:- > battery:- | 0.5 | | | | | black

The owner knows better
  job: accept | Circuits F2: the maker asks for 15 A
  fuses: USB | 15
  usb: battery:+ > USB socket:+ | 0.5 | 24 W | USB | 0.3 m
  earth: USB socket:- > battery:- | 0.5 | | | | | black
  => caution Circuits!F2: behind a fuse of 15 A

A fuse that its load needs: the wire is at fault
  # 10 / 0.75 = 13.3 -> 15 A; 1.0 is rated 16.5 A
  fuses: pump | 15
  pump: battery:+ > pump:+ | 0.5 | 10 A | pump | 0.3 m
  earth: pump:- > battery:- | 1.0 | | | 0.3 m | | black
  => error Circuits!F2: wire 1 is 0.5, rated 11 A, behind a fuse of 15 A (pump); gauge 1.0

One fuse over two wires: each is told at its own cell
  fuses: lamps | 15
  lamps: battery:+ > splice | 0.5 | | lamps | 0.3 m
  lamps: splice > lamp:+ | 0.5 | 5 W | | 0.3 m
  earth: lamp:- > battery:- | 0.5 | | | | | black
  => error Circuits!F2: wire 1 is 0.5, rated 11 A, behind a fuse of 15 A (lamps)
  => error Circuits!F3: wire 2 is 0.5, rated 11 A, behind a fuse of 15 A (lamps)

A starter's lead behind the main fuse: nobody fuses that, and its other wires are well
  with: solenoid | | in > out
  starter: battery:+ > solenoid:in | 25.0 | | main | 0.3 m | | | lug M6 | lug M6
  starter: solenoid:out > starter motor:1 | 25.0 | 110 A | | 0.3 m | | | lug M6 | lug M8
  starter: starter motor:2 > battery:- | 25.0 | | | 0.3 m | | black | lug M8 | lug M6
  lamp: battery:+ 2 > lamp:+ | 1.0 | 5 W | main | 0.3 m
  earth: lamp:- > battery:- 2 | 1.0 | | | 0.3 m | | black
  => error Circuits!H2: carries the starter's 110 A: starter leads are not fused; none

Unfused
  with: solenoid | | in > out
  starter
  lamp: battery:+ 2 > lamp:+ | 1.0 | 5 W | main | 0.3 m
  earth: lamp:- > battery:- 2 | 1.0 | | | 0.3 m | | black

A main fuse that everything is behind: the starter gets its own lead
  with: solenoid | | in > out
  main: battery:+ > main splice | 25.0 | | main | 0.2 m | | | lug M6 | lug M6
  starter: main splice > solenoid:in | 25.0 | | | 0.3 m | | | lug M6 | lug M6
  starter: solenoid:out > starter motor:1 | 25.0 | 110 A | | 0.3 m | | | lug M6 | lug M8
  starter: starter motor:2 > battery:- | 25.0 | | | 0.3 m | | black | lug M8 | lug M6
  lamp: main splice > lamp:+ | 1.0 | 5 W | | 0.3 m | | | ring M6
  earth: lamp:- > battery:- 2 | 1.0 | | | 0.3 m | | black
  => error Circuits!H2: starter leads are not fused; a lead of its own for the starter

The first fuse left out: the second message would be of the same fuse
  with: relay | 2 W | 30 > 87; fuse block | | in > a b
  main: battery:+ > relay:30 | 2.0 | | | 0.3 m
  main: relay:87 > fuse block:in | 2.0 | | | 0.3 m
  a: fuse block:a > lamp:+ | 1.0 | 21 W | a
  b: fuse block:b > horn:+ | 1.0 | 4 A | b
  coil: battery:+ 2 > button:1 | 1.0 | | coil | 0.2 m
  coil: button:2 > relay:86 | 1.0
  earth: relay:85 > battery:- | 1.0 | | | | | black
  earth: lamp:- > battery:- 2 | 1.0 | | | | | black
  earth: horn:- > battery:- 3 | 1.0 | | | | | black
  => caution Circuits!H2: wire 1 is a feed with no fuse on it

A load is missing: that a fuse feeds one other alone is not sure
  main: battery:+ > fuse box:in | 1.0 | | main | 0.2 m
  with: fuse box | | in > a b
  a: fuse box:a > lamp:+ | 1.0 | 21 W | a
  b: fuse box:b > horn:+ | 1.0 | | b
  earth: lamp:- > battery:- | 1.0 | | | | | black
  earth: horn:- > battery:- 2 | 1.0 | | | | | black
  => error Circuits!G4: no load is known for horn

A pin with a letter too many beside one that is used: not the two names behind it
  with: fuse box | | in > head ign; lamp | 21 W; coil | 2 A; horn | 4 A
  main: battery:+ > fuse box:in | | | main | 0.2 m
  head: fuse box:head > lamp:+ | | | head
  head: fuse box:heads > horn:+ | | | head
  coil: fuse box:ign > coil:+ | | | ign
  earth: lamp:- > frame earth:1 | | | | | | black
  earth: horn:- > frame earth:2 | | | | | | black
  earth: coil:- > frame earth:3 | | | | | | black
  strap
  => caution Circuits!C4 cause: pin 'heads' of fuse box ... fuse box:head
""")
def test_fuses(tmp_path: Path, told: str) -> None:
    """The fuse or the cell that is at fault, and nothing of what follows from it."""
    assert_told_alone(tmp_path, without_indent(told).replace("\n  starter\n", f"{STARTER}\n"))


@pytest.mark.parametrize("text", ["12 V 5 W", "5W 12V", "12V5W", "12V, 5W", "5 watts, 12 volts"])
def test_a_load_as_the_bulb_is_stamped(text: str) -> None:
    """5 W on a machine of 12 V, and on no other."""
    stamped = load(text, "", load_catalogue()[0])
    here = stamped.at(stamped.by_volts[0][0])
    assert here is not None and here.amount == 5 and here.unit == "W" and not here.name
    assert [volts for volts, _ in stamped.by_volts] == [12] and stamped.at(here.amount + 1) is None


@machines("""
A bulb of 24 V on a machine of 12 V
  lamp: battery:+ > lamp:+ | 1.0 | 24 V 5 W | f | 0.3 m
  earth: lamp:- > battery:- | 1.0 | | | | | black
  => error Circuits!G2: '24 V 5 W' is known for 24 V, this machine has 12 V

One of 6 V on a machine of 6 V
  job: volts | 6
  lamp: battery:+ > lamp:+ | 1.0 | 2 x 6V 3W | f | 0.3 m
  earth: lamp:- > battery:- | 1.0 | | | | | black
""")
def test_a_bulb_for_other_volts(tmp_path: Path, told: str) -> None:
    """Its watts would be others here: asked."""
    assert_told_alone(tmp_path, without_indent(told))
