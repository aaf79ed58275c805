"""One fault is one message, the cause first: what is told of ten ordinary wirings with a fault.

The cells of a wire, after its ends, are as in `tests/test_judgement.py`.  `=>` begins what is told:
level, cell, `cause` where it is one, and words of the sentence and of its cure; a machine without
such a line is passed in silence.  A line is one message, and there is no other.
"""

import ast
import re
from pathlib import Path

from bom.job import open_job
from tests.books import book, machines, sketch

RECKON = Path(__file__).parent.parent / "bom" / "reckon"
CELLS = "gauge, load, fuse, length, one of, colour, from end, to end"
ONE_A_JOB = {
    *("charging_balance", "nothing_to_the_battery", "all_one_colour", "batteries_by_other_names"),
    *("_no_loom", "_off_the_loom", "_misplaced", "_unlisted", "_in_parts", "_lacks_a_branch"),
    "no_room",
}
"""What has one thing to say of a whole job, or of many wires at once; boxes go by their names."""
EARTH = "\n  earth: frame earth:9 > battery:- | | | | 0.3 m | | black"


def assert_told_alone(folder: Path, told: str) -> None:
    """Make the machine, and find exactly the messages that its lines begin with `=>`."""
    lines = told.splitlines()
    wanted = [line.partition("=>")[2].strip() for line in lines if "=>" in line]
    text = "\n".join(line for line in lines if "=>" not in line)
    job = open_job(book(folder, **sketch(text, CELLS)[0]))
    found = [
        f"{p.level} {p.where.sheet}!{p.where.cell}{' cause' * p.cause}: {p.says}; {p.cure}"
        for p in job.problems
        if p.where.file
    ]
    assert len(found) == len(wanted), found
    for want in wanted:
        place, _, words = want.partition(": ")
        alike = [text for text in found if text.partition(": ")[0] == place]
        assert any(all(w in text for w in words.split(" ... ")) for text in alike), found


def without_indent(text: str) -> str:
    """A machine's lines with the earth strap put in where `strap` stands."""
    return re.sub(r"\n *strap", EARTH, text)


@machines("""
A lamp at the end of a fuse, a switch and a splice, and its earth: five wires, one message
  with: lamp; light switch | | in > out
  lights: battery:+ > light switch:in | | | f | 0.3 m
  lights: light switch:out > splice
  lights: splice > lamp:+
  earth: lamp:- > frame earth:1 | | | | | | black
  strap
  => error Components!B2: no load is known for lamp: wires 1, 2, 3, 4 and 5 and fuse f

Of two lamps on one fuse one has a load: the fuse has its rating, a caution
  lights: battery:+ > splice | | | f | 0.3 m
  lights: splice > lamp a:+ | | 21 W
  lights: splice > lamp b:+
  earth: lamp a:- > frame earth:1 | | | | | | black
  earth: lamp b:- > frame earth:2 | | | | | | black
  strap
  => caution Circuits!G4: no load is known for lamp b: wires 3 and 5 ... a gauge for each

A relay's coil: the horn behind its contacts is known
  with: horn relay | | 30 > 87; horn | 4 A; horn button | | in > out
  horn: battery:+ > horn relay:30 | | | horn | 0.3 m
  horn: horn relay:87 > horn:+
  horn: battery:+ 2 > horn button:in | | | signals | 0.3 m
  horn: horn button:out > horn relay:86
  earth: horn relay:85 > frame earth:1 | | | | | | black
  earth: horn:- > frame earth:2 | | | | | | black
  strap
  => error Components!B2: no load is known for horn relay: wires 3, 4 and 5 and fuse signals

A fuse box without a load behind it: a message for each component, the main fuse with the first
  with: fuse box | | in > a b c
  main: battery:+ > fuse box:in | | | main | 0.2 m
  tail: fuse box:a > tail lamp:+ | | | a
  horn: fuse box:b > horn button:in | | | b
  horn: horn button:out > horn:+
  coil: fuse box:c > kill switch:1 | | | c
  coil: kill switch:2 > ignition coil:15
  coil: ignition coil:1 > points
  earth: tail lamp:- > frame earth:1 | | | | | | black
  earth: horn:- > frame earth:2 | | | | | | black
  strap
  => error Circuits!G3: tail lamp: wires 1, 2, 8 and 10 and fuses main and a are sized
  => error Circuits!G5: horn: wires 3, 4 and 9 and fuse b are sized
  => error Circuits!G7: ignition coil: wires 5, 6 and 7 and fuse c are sized

A horn that is earthed by its button is the load, not the button
  horn: battery:+ > horn:+ | | | f | 0.3 m
  horn: horn:- > horn button:1
  earth: horn button:2 > frame earth:1 | | | | | | black
  lamp: battery:+ 2 > lamp:+ | | 5 W | g | 0.3 m
  earth: lamp:- > frame earth:2 | | | | | | black
  strap
  => error Circuits!G2: no load is known for horn: wires 1, 2 and 3 and fuse f

Lamps fed from lamp to lamp, each with its own earth
  with: key switch | | in > a b; tail lamp; plate lamp; horn | 4 A
  main: battery:+ > key switch:in | | | main | 0.2 m
  horn: key switch:a > horn:+
  tail: key switch:b > tail lamp:+
  tail: tail lamp:+ > plate lamp:+
  earth: horn:- > frame earth:2 | | | | | | black
  earth: tail lamp:- > frame earth:1 | | | | | | black
  earth: plate lamp:- > frame earth:1 | | | | | | black
  strap
  => caution Components!B3: no load is known for tail lamp: wires 3 and 6
  => caution Components!B4: no load is known for plate lamp: wires 4 and 7

Two brake switches and one lamp
  brake: battery:+ > front switch:1 | | | brake | 0.3 m
  brake: battery:+ > rear switch:1 | | | brake | 0.3 m
  brake: front switch:2 > stop lamp:+
  brake: rear switch:2 > stop lamp:+
  earth: stop lamp:- > frame earth:1 | | | | | | black
  strap
  => error Circuits!G4: no load is known for stop lamp: wires 1, 2, 3, 4, 5 and 6 and fuse brake

A regulator of which nobody says what it gives: phases, fuse and earth too
  with: regulator | | none; alternator | | none
  charge: alternator:1 > regulator:y1 | | | none
  charge: alternator:2 > regulator:y2 | | | none
  charge: regulator:+ > charge fuse:in
  charge: charge fuse:out > battery:+ | | | charge | 0.2 m
  earth: regulator:- > frame earth:1 | | | | | | black
  lamp: battery:+ 2 > lamp:+ | | 5 W | g | 0.3 m
  earth: lamp:- > frame earth:2 | | | | | | black
  strap
  => error Circuits!G4: nobody says what regulator gives: wires 1, 2, 3, 4 and 5 and fuse charge

A charge lamp that the regulator earths: the lamp has no load, not the regulator
  with: regulator | | none; charge lamp
  charge: regulator:+ > battery:+ | | 10 A | charge | 0.3 m
  earth: regulator:- > battery:- | | | | | | black
  lamp: battery:+ 2 > key switch:1 | | | ign | 0.3 m
  lamp: key switch:2 > charge lamp:1
  lamp: charge lamp:2 > diode:1
  lamp: diode:2 > regulator:L
  => error Components!B3: no load is known for charge lamp: wires 3, 4, 5 and 6 and fuse ign

A lamp called after its switch, and an earth pin of what passes nothing
  with: unit | | none
  unit: battery:+ > unit:15 | | | f | 0.3 m
  unit: battery:+ 2 > brake switch lamp:1 | | | g | 0.3 m
  earth: unit:31 > frame earth:1 | | | | | | black
  earth: brake switch lamp:2 > frame earth:2 | | | | | | black
  strap
  => error Components!B2: no load is known for unit: wires 1, 3 and 5 and fuse f
  => error Circuits!G3: no load is known for brake switch lamp: wires 2 and 4 and fuse g

A load of nothing, with its fuse
  with: lamp | 0 W
  lights: battery:+ > lamp:+ | 1.0 | | f | 0.3 m
  earth: lamp:- > battery:- | 1.0 | | | | | black
  => error Components!B2: the load of lamp is 0 W: no rating can be chosen for fuse f

A switch with nothing behind it
  with: key switch | | in > a b; horn | 4 A
  main: battery:+ > key switch:in | | | main | 0.2 m
  horn: key switch:a > horn:+
  lamp: key switch:b > light switch
  earth: horn:- > battery:- | | | | | | black
  => caution Circuits!G4: no load is known behind light switch: wire 3 is sized for nothing ... load
""")
def test_a_missing_load_is_told_once(tmp_path: Path, told: str) -> None:
    """At the component that has none, with all that hangs on it."""
    assert_told_alone(tmp_path, without_indent(told))


@machines("""
A fuse box's pin is signals under passes, and signal on Circuits: the lamps have theirs
  with: fuse box | | in > signals lights; horn | 4 A; lamp | 21 W
  main: battery:+ > fuse box:in | | | main | 0.2 m
  horn: fuse box:signal > horn:+ | | | signals
  lamp: fuse box:lights > lamp:+ | | | lights
  earth: horn:- > frame earth:2 | | | | | | black
  earth: lamp:- > frame earth:1 | | | | | | black
  strap
  => caution Circuits!C3 cause: pin 'signal' of fuse box ... fuse box:signals

Letters that changed places at a key switch: the feed without a fuse follows from it
  with: key switch | | in > lights rest; horn | 4 A; lamp | 21 W
  main: battery:+ > key switch:in | | | main | 0.2 m
  horn: key switch:rest > horn:+
  lamp: key switch:ligths > lamp:+
  earth: horn:- > frame earth:2 | | | | | | black
  earth: lamp:- > frame earth:1 | | | | | | black
  strap
  => caution Circuits!C4 cause: pin 'ligths' of key switch ... key switch:lights

The pin in front is mistyped: its fuse has no rating, an error
  with: key switch | | inlet > lights rest; horn | 4 A; lamp | 21 W
  main: battery:+ > key switch:inlt | | | main | 0.2 m
  horn: key switch:rest > horn:+
  lamp: key switch:lights > lamp:+
  earth: horn:- > frame earth:2 | | | | | | black
  earth: lamp:- > frame earth:1 | | | | | | black
  strap
  => error Circuits!D2 cause: pin 'inlt' of key switch ... key switch:inlet

Several wires at the pin: it is the passes cell that is mistyped
  with: key switch | | in > ligths; tail lamp | 5 W; lamp | 21 W
  main: battery:+ > key switch:in | | | main | 0.2 m
  tail: key switch:lights > tail lamp:+
  tail: key switch:lights > lamp:+
  earth: tail lamp:- > frame earth:2 | | | | | | black
  earth: lamp:- > frame earth:1 | | | | | | black
  strap
  => error Components!C2 cause: passes names 'ligths', and the wires say key switch:lights

A pin of two words
  with: key switch | | in > turn left, in > rest; horn | 4 A; lamp | 21 W
  main: battery:+ > key switch:in | | | main | 0.2 m
  horn: key switch:rest > horn:+
  lamp: key switch:turn lft > lamp:+
  earth: horn:- > frame earth:2 | | | | | | black
  earth: lamp:- > frame earth:1 | | | | | | black
  strap
  => caution Circuits!C4 cause: pin 'turn lft' of key switch ... key switch:turn left

A pin that passes does not know, and that nothing is near
  with: key switch | | in > lights; horn | 4 A; lamp | 21 W
  main: battery:+ > key switch:in | | | main | 0.2 m
  horn: key switch:acc > horn:+
  lamp: key switch:lights > lamp:+
  earth: horn:- > frame earth:2 | | | | | | black
  earth: lamp:- > frame earth:1 | | | | | | black
  strap
  => caution Circuits!C3 cause: pin 'acc' of key switch ... 'acc' in its passes

A relay's coil beside contacts that no wire uses yet: 86 is not a slip for 87
  with: relay | 2 W | 30 > 87
  main: battery:+ > relay:30 | 1.0 | | none | 0.2 m
  coil: battery:+ 2 > relay:86 | | | coil | 0.2 m
  earth: relay:85 > battery:- | | | | | | black
  => caution Components!C2: passes names '87'

The two halves of a plug, each met once
  with: plug | | pin to pin; lamp | 21 W
  main: battery:+ > plug:side | | | main | 0.2 m
  lamp: plug:sied > lamp:+
  earth: lamp:- > battery:- | | | | | | black
  => error Circuits!C3 cause: pins 'side' and 'sied' of plug ... one of the two for both wires

Left and right, in and out, and numbered pins are no slips
  with: bar switch | | in > left right 1 2; lamp a | 21 W; lamp b | 21 W; lamp c | 5 W; \
lamp d | 5 W
  main: battery:+ > bar switch:in | | | main | 0.2 m
  turn: bar switch:left > lamp a:+
  turn: bar switch:right > lamp b:+
  tail: bar switch:1 > lamp c:+
  tail: bar switch:2 > lamp d:+
  earth: lamp a:- > frame earth:1 | | | | | | black
  earth: lamp b:- > frame earth:2 | | | | | | black
  earth: lamp c:- > frame earth:3 | | | | | | black
  earth: lamp d:- > frame earth:4 | | | | | | black
  strap

A relay without a row: its pins are one, so that what its coil takes is not asked
  horn: battery:+ > horn relay:30 | | | horn | 0.3 m
  horn: horn relay:87 > horn:+ | | 4 A
  horn: battery:+ 2 > horn button:1 | | | signals | 0.3 m
  horn: horn button:2 > horn relay:86
  earth: horn relay:85 > frame earth:1 | | | | | | black
  earth: horn:- > frame earth:2 | | | | | | black
  strap
  => caution Circuits!D5 cause: unlike feeds arrive at horn relay ... a row for ... 30 > 87

A component of nearly the name that wires end at: its load is not missing twice
  with: stop lmp | 21 W
  stop: battery:+ > stop lamp:+ | | | stop | 0.2 m
  earth: stop lamp:- > battery:- | | | | | | black
  => error Components!A2 cause: component 'stop lmp' has no wires; stop lamp

The contact breaker points earth through the engine: no return is asked for (common practice)
  with: ignition coil | 4 A | none
  main: battery:+ > kill switch:1 | | | main | 0.2 m
  coil: kill switch:2 > ignition coil:15
  coil: ignition coil:- > points:1
  lamp: battery:+ 2 > lamp:+ | | 5 W | lights | 0.2 m
  earth: lamp:- > battery:- | | | | | | black
""")
def test_a_slip_of_the_pen_is_the_cause(tmp_path: Path, told: str) -> None:
    """The nearest pin or name; not what follows from it."""
    assert_told_alone(tmp_path, without_indent(told))


@machines("""
1 A headlamp without its earth
  lights: battery:+ > dip switch:in | | | lights | 0.3 m
  with: dip switch | | in > dip main
  dip: dip switch:dip > head lamp:dip | | 55 W | | | beam:dip
  main: dip switch:main > head lamp:main | | 60 W | | | beam:main
  tail: battery:+ 2 > tail lamp:+ | | 5 W | tail | 0.3 m
  earth: tail lamp:- > frame earth:1 | | | | | | black
  strap
  => caution Circuits!D3: head lamp is fed by wire 2 but has no return

2 A horn relay whose coil is not earthed
  with: horn relay | 2 W | 30 > 87; horn | 4 A
  horn: battery:+ > horn relay:30 | | | horn | 0.3 m
  horn: horn relay:87 > horn:+
  horn: battery:+ 2 > horn button:1 | | | signals | 0.3 m
  horn: horn button:2 > horn relay:86
  earth: horn:- > frame earth:1 | | | | | | black
  strap
  => caution Circuits!D5: horn relay is fed by wire 4 but has no return

3 An ignition coil without a load, with its points
  with: ignition coil
  coil: battery:+ > kill switch:1 | | | coil | 0.3 m
  coil: kill switch:2 > ignition coil:15
  coil: ignition coil:1 > points
  lamp: battery:+ 2 > lamp:+ | | 5 W | lamp | 0.3 m
  earth: lamp:- > battery:- | | | | | | black
  => error Components!B2: no load is known for ignition coil: wires 1, 2 and 3 and fuse coil

4 A regulator without `none` under passes: its wire is a return to the program
  charge: regulator:+ > battery:+ | | 10 A | charge | 0.3 m
  earth: regulator:- > frame earth:1 | | | | | | black
  lamp: battery:+ 2 > lamp:+ | | 5 W | lamp | 0.3 m
  earth: lamp:- > frame earth:2 | | | | | | black
  strap
  => caution Circuits!G2 cause: regulator, which is taken for a switch ... 'none' under passes

4 The same without its current: the fuse has no rating, an error
  charge: regulator:+ > battery:+ | | | charge | 0.3 m
  earth: regulator:- > frame earth:1 | | | | | | black
  lamp: battery:+ 2 > lamp:+ | | 5 W | lamp | 0.3 m
  earth: lamp:- > frame earth:2 | | | | | | black
  strap
  => error Circuits!G2 cause: regulator, which is taken for a switch ... what it gives, in A

5 Starter leads in the house's bullets: battery cable, one message a lead, with lugs
  with: solenoid | | in > out
  starter: battery:+ > solenoid:in | | | none | 0.3 m
  starter: solenoid:out > starter motor:1 | | 110 A | | 0.3 m
  starter: starter motor:2 > battery:- | | | | 0.3 m | | black
  => error Circuits!L2: 16 mm2 at battery:+ and solenoid:in ... lug M6 at both ends
  => error Circuits!L3: 16 mm2 at solenoid:out and starter motor:1 ... lug M6 at both ends
  => error Circuits!L4: 16 mm2 at starter motor:2 and battery:- ... lug M6 at both ends

5 Starter leads that are typed too thin, in bullets: 110 x sqrt(30) / 100 = 6.0 mm2
  starter: battery:+ > starter motor:1 | 3.0 | 110 A | none | 0.3 m
  starter: starter motor:2 > battery:- | 3.0 | | | 0.3 m | | black
  => error Circuits!F2: 110 A of a starter ask for 6.0 mm2 ... gauge 16.0, with lug M6 at both ends
  => error Circuits!F3: 110 A of a starter ask for 6.0 mm2 ... gauge 16.0, with lug M6 at both ends

6 Indicators fed from lamp to lamp: the load of one is missing
  with: flasher | | 49 > 49a; bar switch | | in > left right | turn; left front | 21 W; left rear
  turn: battery:+ > flasher:49 | | | turn | 0.3 m
  turn: flasher:49a > bar switch:in
  turn: bar switch:left > left front:+
  turn: left front:+ > left rear:+
  turn: bar switch:right > right front:+ | | 21 W
  earth: left front:- > frame earth:1 | | | | | | black
  earth: left rear:- > frame earth:2 | | | | | | black
  earth: right front:- > frame earth:3 | | | | | | black
  strap
  => caution Components!B5: no load is known for left rear: wire 3

7 A fuse box: a typed rating that its wire does not bear, and that nothing asks for
  with: fuse box | | in > a b; lamp | 55 W; horn | 4 A
  fuses: a | 30
  main: battery:+ > fuse box:in | 3.0 | | main | 0.2 m | | | ring M6 | splice
  lamp: fuse box:a > lamp:+ | 1.0 | | a
  horn: fuse box:b > horn:+ | 1.0 | | b
  earth: lamp:- > frame earth:1 | | | | | | black
  earth: horn:- > frame earth:2 | | | | | | black
  strap
  => error Circuits!F3: behind a fuse of 30 A (a) ... a fuse of 7.5 A

8 A brake lamp of two switches behind two fuses, its load typed for one of them
  brake: battery:+ > front switch:1 | | | a | 0.3 m
  brake: battery:+ > rear switch:1 | | | b | 0.3 m
  brake: front switch:2 > stop lamp:+ | | 21 W
  brake: rear switch:2 > stop lamp:+
  earth: stop lamp:- > frame earth:1 | | | | | | black
  strap
  => error Circuits!G4: typed for wire 3 alone: wires 2 and 4 and fuse b ... on Components

9 A socket far from the battery, its fuse farther: a fuse on its wire cures both
  usb: battery:+ > splice | | | | 0.8 m
  usb: splice > usb socket:+ | | 3 A | usb | 0.3 m
  usb: splice > meter:+ | | 1 A
  earth: usb socket:- > frame earth:1 | | | | | | black
  earth: meter:- > frame earth:2 | | | | | | black
  strap
  => caution Circuits!H2: wire 1 is a feed with no fuse on it

10 A trailer socket without the strap from the frame
  with: trailer socket | | none
  turn: battery:+ > trailer socket:1 | | 21 W | a | 0.5 m
  tail: battery:+ 2 > trailer socket:5 | | 10 W | b | 0.5 m
  earth: trailer socket:3 > frame earth:1 | | | | | | black
  => caution Circuits!D4: no wire leads from frame earth to the battery

Too much for its gauge (rated 16.5 A, its bullets 17.5): not told as its fuse, its ends and its heat
  loom: battery > front | 1 m
  fan: battery:+ > front:1 | 1.0 | 30 A | fan | length=
  earth: front:2 > battery:- | 6.0 | | | | | black | ring M6 | ring M6 | length=
  => error Circuits!F2: wire 1 carries 30 A, 1.0 is rated 16.5 A ... gauge 4.5 (42 A), with

Feeds of two fuses at one switch: the wires behind it follow
  left: battery:+ > cluster:a | 1.0 | | a | 0.3 m
  right: battery:+ 2 > cluster:b | 1.0 | | b | 0.3 m
  left: cluster:c > left lamp:+ | 1.0 | 21 W
  right: cluster:d > right lamp:+ | 1.0 | 21 W
  earth: left lamp:- > frame earth:1 | 1.0 | | | | | black
  earth: right lamp:- > frame earth:2 | 1.0 | | | | | black
  strap
  => caution Circuits!D3 cause: unlike feeds arrive at cluster

A fuse name that is mistyped: its row is not told of too
  fuses: horn | 7.5
  horn: battery:+ > horn:+ | 1.0 | 4 A | hron | 0.3 m
  earth: horn:- > battery:- | 1.0 | | | | | black
  => caution Circuits!H2 cause: fuse 'hron' has no row on the Fuses sheet; horn

Three wires too thick for one bullet: not told as a crowd too
  with: key switch | | in > out
  main: battery:+ > key switch:in | 2.0 | | main | 0.2 m
  a: key switch:out > lamp a:+ | 2.0 | 5 W
  b: key switch:out > lamp b:+ | 2.0 | 5 W
  c: key switch:out > lamp c:+ | 2.0 | 5 W
  earth: lamp a:- > frame earth:1 | 2.0 | | | | | black
  earth: lamp b:- > frame earth:2 | 2.0 | | | | | black
  earth: lamp c:- > frame earth:3 | 2.0 | | | | | black
  strap
  => error Circuits!L5: 6 mm2 at key switch:out ... a splice point in front of it, or a pin for each
""")
def test_a_fault_of_an_ordinary_wiring_is_one_message(tmp_path: Path, told: str) -> None:
    """Ten wirings that every machine has, by their numbers, and pairs that came together."""
    assert_told_alone(tmp_path, without_indent(told))


@machines("""
A feed into a fuse of 30 A, in blades of 1.5 mm2 at the most: 3.0 (33 A) would do
  fuses: horn | 30
  main: battery:+ > fuse box:in | | | none | 0.2 m | | | blade socket 2.8 | solder
  horn: fuse box:a > horn:+ | 4.0 | 4 A | horn | | | | blade socket 6.3 | blade socket 6.3
  earth: horn:- > battery:- | 4.0 | | | | | black | blade socket 6.3 | ring M6
  => caution Circuits!F2: is 1.5 and should be 3.0: the fuse on its way is 30 A ... 1.5 mm2 at \
most ... ring M6 at battery:+, or fuse 'horn' of 7.5 A

The shop keeps no gauge for it
  job: gauges | 0.5, 1.0
  fuses: horn | 30
  main: battery:+ > fuse box:in | | | none | 0.2 m | | | ring M6 | solder
  horn: fuse box:a > horn:+ | 4.0 | 4 A | horn | | | | blade socket 6.3 | blade socket 6.3
  earth: horn:- > battery:- | 4.0 | | | | | black | blade socket 6.3 | ring M6
  => caution Circuits!F2: is 1.0 and should be 3.0 ... the shop keeps none so thick ... 3.0 under

Behind a fuse for more than its blades' gauge (1.5, 21 A) a branch has a fuse of its own:
  # 4 / 0.75 = 5.3 -> 7.5 A
  fuses: main | 30
  main: battery:+ > splice | 4.0 | | main | 0.2 m | | | ring M6 | splice
  horn: splice > horn:+ | | 4 A | | | | | blade socket 2.8 | solder
  heater: splice > heater:+ | 4.0 | 15 A | | | | | blade socket 6.3 | ring M6
  earth: horn:- > battery:- | 4.0 | | | | | black | ring M6 | ring M6
  earth: heater:- > battery:- 2 | 4.0 | | | | | black | ring M6 | ring M6
  => error Circuits!F3: behind a fuse of 30 A (main) ... a fuse of its own for this wire, of 7.5 A
""")
def test_the_limit_in_the_way_is_named_with_its_cure(tmp_path: Path, told: str) -> None:
    """The ends, the house's gauges or the fuse, and what would change them."""
    assert_told_alone(tmp_path, without_indent(told))


@machines("""
A headlamp far behind its switch: three and more of 1.0's next sizes would be no cure
  with: key switch | | in > out
  main: battery:+ > key switch:in | 1.0 | | main | 2.5 m
  head: key switch:out > head lamp:+ | 1.0 | 60 W | | 1.5 m
  earth: head lamp:- > battery:- | 1.0 | | | 0.6 m | | black
  => caution Circuits!F2: a relay near head lamp, fed straight from the battery

A horn through its button
  horn: battery:+ > horn button:1 | 1.0 | | horn | 5 m
  horn: horn button:2 > horn:+ | 1.0 | 8 A | | 5 m
  earth: horn:- > battery:- | 1.0 | | | 0.5 m | | black
  => caution Circuits!F2: on the way to horn ... a relay near horn

The horn has a relay: no second one
  with: horn relay | 2 W | 30 > 87
  horn: battery:+ > horn relay:30 | 1.0 | | horn | 5 m
  horn: horn relay:87 > horn:+ | 1.0 | 8 A | | 5 m
  earth: horn:- > battery:- | 1.0 | | | 0.5 m | | black
  coil: battery:+ 2 > horn button:1 | 0.5 | | coil | 0.5 m
  coil: horn button:2 > horn relay:86 | 0.5 | | | 0.5 m
  earth: horn relay:85 > battery:- 2 | 0.5 | | | 0.5 m | | black
  => caution Circuits!F2: on the way to horn ... thicker cable on the whole way

The earth loses it: no relay, and no gauge of 4.0 in bullets of 3.0
  head: battery:+ > head lamp:+ | 2.0 | 60 W | f | 0.6 m
  earth: head lamp:- > battery:- | 0.5 | | | 9 m | | black
  => caution Circuits!F3: on the way to head lamp ... a nearer earth point, or thicker cable all

A lamp of 10 W: a relay would gain nothing
  tail: battery:+ > light switch:1 | 0.5 | | tail | 11 m
  tail: light switch:2 > tail lamp:+ | 0.5 | 10 W | | 11 m
  earth: tail lamp:- > battery:- | 0.5 | | | 11 m | | black
  => caution Circuits!F2: on the way to tail lamp ... thicker cable on the whole way

One or two sizes up, in ends that take it: the gauge
  pump: battery:+ > pump:+ | 2.0 | 14 A | pump | 11 m
  earth: pump:- > battery:- | 6.0 | | | 0.6 m | | black | ring M6 | ring M6
  => caution Circuits!F2: on the way to pump ... gauge 3.0

What charges is not helped by a relay
  with: regulator | | none
  charge: regulator:+ > battery:+ | 4.0 | 25 A | none | 4 m | | | ring M6 | ring M6
  earth: regulator:- > battery:- | 4.0 | | | 4 m | | black | ring M6 | ring M6
  => caution Circuits!F2: on the way to battery ... thicker cable on the whole way

A starter's own lead: 150 A x 3.23 m x 1.21 x 1.157 mohm = 0.68 V, of 150/100 x 0.2 x 1.157 = 0.35
  crank: battery:+ > starter motor:+ | 16.0 | 150 A | none | 3 m | | | lug M8 | lug M8
  crank: starter motor:- > battery:- | 35.0 | | | 1 m | | black | lug M8 | lug M8
  => caution Circuits!F2: on the way to starter motor ... gauge 35.0

A feed that two lamps share: one of them gets its own
  work: battery:+ > splice | 1.0 | | work | 12 m
  work: splice > work lamp:+ | 1.0 | 60 W | | 0.3 m
  work: splice > other lamp:+ | 1.0 | 36 W | | 0.3 m
  earth: work lamp:- > battery:- | 1.0 | | | 0.5 m | | black
  earth: other lamp:- > battery:- 2 | 1.0 | | | 0.5 m | | black
  => caution Circuits!F2: on the way to work lamp ... a feed of its own for work lamp

Straight from the battery, with nothing else on it: the gauge, and the lugs that take it
  winch: battery:+ > winch:+ | 10.0 | 60 A | none | 12 m | | | ring M6 | ring M6
  earth: winch:- > battery:- | 10.0 | | | 0.5 m | | black | ring M6 | ring M6
  => caution Circuits!F2: on the way to winch ... gauge 16.0, with lug M6 at both ends
""")
def test_volts_lost_are_cured_as_a_tradesman_would(tmp_path: Path, told: str) -> None:
    """A relay near the load, a nearer earth, thicker cable: never an absurd gauge."""
    assert_told_alone(tmp_path, without_indent(told))


def test_what_may_be_said_often_says_what_several_are() -> None:
    """Every complaint of the checks, the ends and the take-off has its `alike`."""
    bare = set()
    for path in RECKON.rglob("*.py"):
        tree = ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        for function in (node for node in tree if isinstance(node, ast.FunctionDef)):
            calls = (node for node in ast.walk(function) if isinstance(node, ast.Call))
            told = [call for call in calls if {"error", "caution"} & _names_in(call.func)]
            if any("alike" not in {word.arg for word in call.keywords} for call in told):
                bare.add((path.stem, function.name))
    assert {name for stem, name in bare if stem != "measure"} <= ONE_A_JOB


def _names_in(node: ast.AST) -> set[str]:
    return {part.id for part in ast.walk(node) if isinstance(part, ast.Name)}
