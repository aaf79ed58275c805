"""Currents, returns and fuses: each rule of the contract as a small machine, by hand.

The wires are 2.0 mm2 and 1 m long; `books.assert_told` says how a machine is told.
"""

from collections import defaultdict
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bom.job import open_job
from tests.books import amps, assert_told, book, checked, machines, sketch
from tests.within import JOBS


@machines("""
A blank load is the component's, 60 W / 12 V = 5 A, and the return carries it
  with: lamp | 60 W
  battery:+ > switch | | main = 5 A, fuse 7.5  # 5 A / 0.75 = 6.67 -> 7.5 A, inherited
  switch > lamp:1 = 5 A, fuse 7.5
  lamp:2 > earth = 5 A, no fuse  # returns have none
  earth > battery:- = 5 A, no fuse

What is looped on from the same pin is carried too, and the second wire has the second lamp only
  with: lamp | 5 A; plate | 1 A
  battery:+ > lamp:1 | | main = 6 A
  lamp:1 > plate:1 = 1 A
  plate:2 > lamp:2 = 1 A, no fuse  # an earth chained on: from its pin only returns start
  lamp:2 > battery:- = 6 A

A ring, fuse box to switch and back to the fuse box, counts the lamp behind it once
  with: lamp | 60 W
  battery:+ > fuse box:in | | main = 5 A
  fuse box:a > switch:in = 5 A
  switch:out > fuse box:b = 5 A
  fuse box:c > lamp:1 = 5 A, fuse 7.5
  lamp:2 > battery:- = 5 A

Two switches in parallel to one lamp: each may carry it all, the feed carries it once
  with: lamp | 60 W
  battery:+ > splice | | main = 5 A
  splice > front switch = 5 A
  splice > rear switch = 5 A
  front switch > lamp:1 = 5 A
  rear switch > lamp:1 = 5 A
  lamp:2 > battery:- = 5 A

Two earths of one lamp side by side, gauges alike: half of 5 A each
  with: lamp | 60 W
  battery:+ > lamp:1 | | main = 5 A
  lamp:2 > earth = 2.5 A
  lamp:3 > earth = 2.5 A
  earth > battery:- = 5 A

A typed load replaces the component's 55 W, for feed and return
  with: lamp | 55 W
  battery:+ > switch | | main = 10 A
  switch > lamp:1 | 10 A = 10 A
  lamp:2 > battery:- = 10 A

Loads typed on rows need no component: the earth carries both filaments
  battery:+ > switch | | main = 26/12 A
  switch > tail lamp:58 | 5 W = 5/12 A
  switch > tail lamp:54 | 21 W = 1.75 A
  tail lamp:31 > earth = 26/12 A
  earth > battery:- = 26/12 A

Someone who types the load in every row, the earths too, gets the same currents
  battery:+ > lamp | 60 W | main = 5 A, fuse 7.5
  lamp > frame earth | 60 W = 5 A, no fuse
  frame earth > battery:- | 60 W = 5 A, no fuse

What is looped on is added to a typed load: the lamp has a return of its own, so 5 A are its own
  with: lamp | 5 A; plate | 1 A
  battery:+ > lamp:1 | 5 A | main = 6 A
  lamp:1 > plate:1 = 1 A
  lamp:2 > battery:- 1 = 5 A
  plate:2 > battery:- 2 = 1 A
  silent on: stands for all

A load typed at a switch stands for all beyond it, 3 A and 1 A: the 4 A are told
  with: switch | | in > a b; lamp | 3 A; plate | 1 A
  battery:+ > switch:in | 5 A | main = 5 A
  switch:a > lamp:1
  switch:b > plate:1
  lamp:2 > battery:- 1
  plate:2 > battery:- 2
  says: G2: 5 A, stands for all beyond switch, where the loads come to 4 A

At a bare point every wire has its own terminal: what starts there is not looped on
  with: lamp | 5 A; plate | 1 A
  battery:+ 1 > lamp | | main = 5 A
  lamp > plate | | plate = 1 A

Three lamps of 1, 2 and 3 A looped on, and their earths chained
  with: a | 1 A; b | 2 A; c | 3 A
  battery:+ > a:1 | | main = 6 A, fuse 10  # 6 A / 0.75 = 8 -> 10 A
  a:1 > b:1 = 5 A, fuse 10
  b:1 > c:1 = 3 A, fuse 10
  a:2 > b:2 = 1 A, no fuse  # wires that lead to no load
  b:2 > c:2 = 3 A, no fuse
  c:2 > battery:- = 6 A, no fuse

The same at pins that `passes` does not name: 85 to 85 to earth carries both coils
  with: a | 0.5 A | 30 > 87; b | 0.25 A | 30 > 87
  battery:+ > a:86 | | main = 0.75 A
  a:86 > b:86 = 0.25 A
  a:85 > b:85 = 0.5 A, no fuse
  b:85 > battery:- = 0.75 A

Two pins of one lamp fed: each way carries 5 A, and so does what feeds both
  with: lamp | 60 W
  battery:+ > splice | | main = 5 A
  splice > lamp:1 = 5 A
  splice > lamp:2 = 5 A
  lamp:3 > battery:- = 5 A

A true ring of splices, a to b to c to a, with a lamp at each: 1 + 2 + 3 A everywhere in it
  with: one | 1 A; two | 2 A; three | 3 A
  battery:+ > a | | main = 6 A, fuse 10  # 6 A / 0.75 = 8 -> 10 A all round the ring
  a > b = 6 A, fuse 10
  b > c = 6 A, fuse 10
  c > a = 6 A, fuse 10
  a > one:1 = 1 A, fuse 10
  b > two:1 = 2 A, fuse 10
  c > three:1 = 3 A, fuse 10

A load typed upstream stands for everything beyond; behind the box it is what the lamp takes
  with: lamp | 60 W
  battery:+ > switch | | main = 10 A, fuse 15  # 10 A / 0.75 = 13.3 -> 15 A
  switch > box | 10 A = 10 A
  box > lamp:1 = 5 A
  lamp:2 > battery:- = 5 A

A row a filament: H4 (UN R37, from memory 60/55 W) by its name
  battery:+ 1 > headlamp:main | H4 main | main = 60/12 A
  battery:+ 2 > headlamp:dip | H4 dip | dip = 55/12 A

After `battery` only a pole or a number may follow: a battery box passes current on
  with: lamp | 60 W
  battery:+ > battery box:in | | main = 5 A
  battery box:out > lamp:1 = 5 A, fuse 7.5
  lamp:2 > battery:- = 5 A

A machine without a battery starts at its magneto, and what comes to it feeds nothing further
  with: lamp | 60 W
  magneto:lights > lamp:1 | | none = 5 A
  lamp:2 > magneto:earth = 5 A

The coil's load comes back through the points, and through a switch that earths
  with: coil | 4 A
  battery:+ > coil:+ | | ignition = 4 A
  coil:- > points = 4 A, no fuse
  points > kill switch = 4 A, no fuse
  kill switch > battery:- = 4 A, no fuse

A charge lamp earths through the regulator, which passes nothing: a return of 2.4 / 12 = 0.2 A
  with: lamp | 2.4 W; regulator | | none
  battery:+ > lamp:1 | | ignition = 0.2 A
  lamp:2 > regulator:61 = 0.2 A, no fuse

A neutral lamp and a horn with switches that earth: each carries what comes to it
  with: neutral lamp | 0.2 A; horn | 4 A; cluster | | lights > dip, horn > earth
  battery:+ 1 > neutral lamp:1 | | ignition = 0.2 A
  neutral lamp:2 > neutral switch = 0.2 A, no fuse
  battery:+ 2 > horn:1 | | horn = 4 A
  horn:2 > cluster:horn = 4 A, no fuse
  cluster:earth > frame:1 = 4 A, no fuse
  neutral switch > frame:2 = 0.2 A, no fuse
  frame:3 > battery:- = 4.2 A, no fuse

`pin to pin` passes back as it passes on: each earth keeps to its own pin of a plug
  with: plug | | pin to pin; lamp | 5 A; horn | 4 A
  battery:+ 1 > lamp:1 | | a = 5 A
  battery:+ 2 > horn:1 | | b = 4 A
  lamp:2 > plug:3 = 5 A
  horn:2 > plug:4 = 4 A
  plug:3 > battery:- 1 = 5 A
  plug:4 > battery:- 2 = 4 A

A spare wire off a live splice leads to no load, nor is it a way back: 0 A
  with: lamp | 60 W
  battery:+ > splice | | main
  splice > lamp:1
  splice > spare = 0 A, no fuse

The `fuse` of a return is null though one is typed (rule 3), and the cell is pointed at
  battery:+ > lamp:1 | 5 A | main = 5 A, fuse 7.5
  lamp:2 > battery:- | | main = 5 A, no fuse
  says: caution H3

Positive earth: feeds start at the minus; the regulator's minus charges, its plus is the earth
  with: lamp | 60 W; regulator | | none
  battery:- 1 > switch | | main = 5 A, fuse 7.5
  switch > lamp:1 = 5 A, fuse 7.5
  lamp:2 > frame = 5 A, no fuse
  frame > battery:+ 1 = 5 A, no fuse
  regulator:- > battery:- 2 | 8 A | none = 8 A, no fuse
  regulator:+ > battery:+ 2 | 8 A = 8 A, no fuse
  silent at: H  # neither the earth nor the charging wire, unfused on purpose

A relay passes at its contacts, `30 > 87`, and keeps its coil between 86 and 85
  with: relay | 0.5 A | 30 > 87; lamp | 60 W
  battery:+ 1 > relay:30 | | lamp = 5 A
  relay:87 > lamp:1 = 5 A, fuse 7.5
  battery:+ 2 > relay:86 | | coil = 0.5 A
  relay:85 > earth:1 = 0.5 A
  lamp:2 > earth:2 = 5 A
  earth:3 > battery:- = 5.5 A

Names of pins may hold spaces, and `a > b, b > c` passes a to c; what is not named passes nothing
  with: cluster | | lights > dip main, turn in > left right; chain | | a > b, b > c
  with: head | 5 A; front left | 2 A; front right | 2 A
  battery:+ 1 > cluster:lights | | lights = 5 A
  battery:+ 2 > cluster:turn in | | turn = 4 A
  cluster:dip main > chain:a
  chain:c > head:1
  cluster:left > front left:1
  cluster:right > front right:1
  battery:+ 3 > cluster:spare | | spare = 0 A

A flasher of two pins, both named: its own 0.05 A would be forgotten in silence
  with: flasher | 0.05 A | 49 > 49a; lamp | 2 A
  battery:+ > flasher:49 | | turn = 2 A
  flasher:49a > lamp:1 = 2 A
  says: Components!B2: the load of flasher is in no current

Each pin of a plug goes on by itself
  with: plug | | pin to pin; lamp | 5 A; horn | 3 A
  battery:+ 1 > plug:1 | | a = 5 A
  battery:+ 2 > plug:2 | | b = 3 A
  plug:1 > lamp:1 = 5 A
  plug:2 > horn:1 = 3 A

An ignition box that passes `none` has its load still: 3 A in, 3 A to earth
  with: box | 3 A | none
  battery:+ > box:in | | ignition = 3 A
  box:earth > battery:- = 3 A

Blank passes with a load pass nothing: what starts at another pin is not fed by the lamp
  with: lamp | 5 A; horn | 4 A
  battery:+ > lamp:1 | | main = 5 A
  lamp:3 > horn:1 = 4 A, no fuse
""")
def test_currents(tmp_path: Path, told: str) -> None:
    """Feeds by what they lead to, returns by what comes back, each load once."""
    assert_told(tmp_path, told, gauge="2.0")


@pytest.mark.parametrize("battery", ["battery", "Battery", "battery +", "battery 2", "battery:- 1"])
def test_what_comes_to_a_battery_feeds_nothing(tmp_path: Path, battery: str) -> None:
    """A wire to the battery is a return, whatever else starts there."""
    wires = f"battery:out > lamp:1 | 5 A | main = 5 A\nlamp:2 > {battery} = 5 A, no fuse"
    assert_told(tmp_path, f"a return\n{wires}", gauge="2.0")


@machines("""
Main 5 A and dip 4 A are never on together: the feed and the earth carry the larger
  battery:+ > dip switch | | main = 5 A
  dip switch > headlamp:56a | 5 A | | beam = 5 A
  dip switch > headlamp:56b | 4 A | | beam = 4 A
  headlamp:31 > battery:- = 5 A

Choices of one name are on together: turn:left 2 + 2 A, turn:right 2 + 1 A
  battery:+ > flasher | | turn = 4 A
  flasher > front left:1 | 2 A | | turn:left
  flasher > rear left:1 | 2 A | | turn:left
  flasher > front right:1 | 2 A | | turn:right
  flasher > rear right:1 | 1 A | | turn:right

The same word further on does not count again: a feed with it covers all it feeds
  with: lamp | 5 A; tell-tale | 1 A
  battery:+ > switch | | main = 6 A
  switch > splice | | | beam:main
  splice > lamp:1 | | | beam:other
  splice > tell-tale:1

One way without the word can always be on: the lamp fed by dip and by a pass button, 4 + 5 A
  with: lamp | 5 A; other | 4 A
  battery:+ > splice | | main = 9 A
  splice > lamp:1 | | | beam
  splice > button
  button > lamp:1
  splice > other:1 | | | beam

A component's word does not cover what is looped on: gear the larger of 2 and 5 A, plate always
  with: stop | 2 A | | gear; plate | 1 A; reverse | 5 A | | gear
  battery:+ > splice | | main = 6 A
  splice > stop:1
  stop:1 > plate:1
  splice > reverse:1

Four indicators with `turn` and no choice: only one is reckoned on, so the third is asked about
  battery:+ > flasher | | turn
  flasher > lamp 2:1 | 2 A | | turn
  flasher > lamp 3:1 | 2 A | | turn
  flasher > lamp 4:1 | 2 A | | turn
  flasher > lamp 5:1 | 2 A | | turn
  says: caution I5: only one is reckoned on

Two words: beam the larger of 5 and 4 A, turn of 2 and 1 A, tail always 0.5 A: 7.5 A
  battery:+ > box | | main = 7.5 A, fuse 10  # 7.5 A / 0.75 = 10 A
  box > head:1 | 5 A | | beam:main
  box > head:2 | 4 A | | beam:dip
  box > left:1 | 2 A | | turn:left
  box > right:1 | 1 A | | turn:right
  box > tail:1 | 0.5 A
  head:3 > earth:1 = 5 A
  left:2 > earth:2
  right:2 > earth:3
  tail:2 > earth:4
  earth:5 > battery:- = 7.5 A

One word inside the other: park 1 A; road has beam main 5 A or dip 4 A, and tail 0.5 A: 5.5 A
  battery:+ > key | | main = 5.5 A
  key > road | | | key:road = 5.5 A
  key > park:1 | 1 A | | key:park
  road > head:1 | 5 A | | beam
  road > head:2 | 4 A | | beam
  road > tail:1 | 0.5 A

The common earth knows the word on the feeds of two switches: left 2 + 2 A, right 2 A
  with: front left | 2 A; rear left | 2 A; front right | 2 A
  battery:+ > box | | main = 4 A
  box > left switch | | | turn:left = 4 A
  box > right switch | | | turn:right = 2 A
  left switch > front left:1
  left switch > rear left:1
  right switch > front right:1
  front left:2 > earth
  rear left:2 > earth
  front right:2 > earth
  earth > battery:- = 4 A

A relay's word covers its coil and what is behind its contacts: main 5 + 0.5, dip 4 + 0.25 A
  with: main relay | 0.5 A | 30 > 87 | beam:main; dip relay | 0.25 A | 30 > 87 | beam:dip
  battery:+ > box | | main = 5.5 A
  box > main relay:30
  box > dip relay:30
  main relay:87 > head:1 | 5 A
  dip relay:87 > head:2 | 4 A
  box > main relay:86
  box > dip relay:86

Choices on components are on together: turn:left on two lamps of 2 A, turn:right on one of 3 A
  with: a | 2 A | | turn:left; b | 2 A | | Turn:Left; c | 3 A | | turn:right
  battery:+ > flasher | | turn = 4 A
  flasher > a:1
  flasher > b:1
  flasher > c:1

A word without choices on three components: the third one's cell
  with: lamp 2 | 2 A | | turn; lamp 3 | 2 A | | turn; lamp 4 | 2 A | | turn
  battery:+ > flasher | | turn = 2 A
  flasher > lamp 2:1
  flasher > lamp 3:1
  flasher > lamp 4:1
  says: Components!D4: only one is reckoned

A word on three feeds is where it belongs: the largest, two lamps behind the first, and no doubt
  battery:+ > box | | main = 4 A
  box > switch 2 | | | mode
  box > switch 3 | | | mode
  box > switch 4 | | | mode
  switch 2 > a:1 | 2 A
  switch 2 > b:1 | 2 A
  switch 3 > c:1 | 3 A
  switch 4 > d:1 | 1 A
  silent on: only one is reckoned on
""")
def test_one_of(tmp_path: Path, told: str) -> None:
    """Loads with one word are never on together, but for those with one choice of it."""
    assert_told(tmp_path, told, gauge="2.0")


@pytest.mark.parametrize(
    "words",
    [("turn", "turn", ""), ("turn:left", "turn:left", "turn:right"), ("turn", "turn", "turn:a")],
)
def test_two_loads_or_choices_are_no_doubt(tmp_path: Path, words: tuple[str, ...]) -> None:
    """Only three loads or more without choices are."""
    lamps = "\n".join(f"flasher > lamp {n}:1 | 2 A | | {word}" for n, word in enumerate(words))
    wires = f"battery:+ > flasher | | turn\n{lamps}\nsilent on: only one is reckoned on"
    assert_told(tmp_path, f"no doubt\n{wires}", gauge="2.0")


@pytest.mark.parametrize(
    ("load", "rating"),
    [
        # ISO 8820-3 ratings (from memory) at 75 % (Lundy, EDN, 26 September 1996); never below
        # 3 A (house rule fuse_least_a); 10 A is the checklist's own: 10 / 0.75 = 13.3 -> 15 A
        *((0.75, 3), (1.5, 3), (2.25, 3), (3, 4), (3.75, 5), (3.76, 7.5), (5.625, 7.5), (7.5, 10)),
        *((10, 15), (11.25, 15), (15, 20), (18.75, 25), (22.5, 30), (26.25, 35), (30, 40)),
    ],
)
def test_the_smallest_standard_rating(tmp_path: Path, load: float, rating: float) -> None:
    """Exactly 75 % of a rating is enough for it; a hundredth more takes the next."""
    wire = f"battery:+ > lamp:1 | {load} A | main = fuse {rating}\nsilent on: fuse 'main'"
    assert_told(tmp_path, f"a rating\n{wire}", gauge="2.0")


@machines("""
31 A / 0.75 = 41.3 A is not made: 40 A, with a caution
  battery:+ > lamp:1 | 31 A | main = fuse 40
  says: caution H2: fuse 'main' of 40 A carries 31 A: 78 % of its rating  # 31 / 40 = 77.5 %

No blade fuse carries 45 A
  battery:+ > lamp | 45 A | main
  says: error H2: no rating is large enough

Ratings follow the holder: torpedo fuses are 5, 8, 16, 25 A (DIN 72581-1), 5 / 0.75 = 6.67
  fuses: main | | torpedo fuse box
  battery:+ > lamp:1 | 5 A | main = fuse 8

The house may load its fuses otherwise: 5 A / 0.5 = 10 A
  job: fuse_load_percent | 50
  battery:+ > lamp:1 | 5 A | main = fuse 10

5 A on 4 A is an error
  fuses: main | 4
  battery:+ > lamp | 5 A | main
  lamp > battery:-
  says: error Fuses!B2

5 A on 5 A is over 75 %
  fuses: main | 5
  battery:+ > lamp | 5 A | main
  lamp > battery:-
  says: caution Fuses!B2: 100 %

5 A on 7.5 A is well
  fuses: main | 7.5
  battery:+ > lamp | 5 A | main
  lamp > battery:-
  silent at: Fuses!B

Two wires from behind one fuse meet at a splice: what it feeds is behind that fuse
  with: lamp | 60 W
  battery:+ > switch | | main = fuse 7.5
  switch > splice = fuse 7.5
  switch > splice = fuse 7.5
  splice > lamp:1 = fuse 7.5

`none` is unfused on purpose: no caution there, and nothing to inherit for the next wire
  with: lamp | 60 W; relay | | 30 > 87
  battery:+ > relay:30 | | none = no fuse
  relay:87 > lamp:1 = no fuse
  silent at: H2

Typed again further on, and in capitals, it is still one fuse with 5 A behind it
  with: lamp | 60 W
  battery:+ > switch | | Main = fuse 7.5
  switch > lamp:1 | | MAIN = fuse 7.5

First wires to two switches of one lamp count it once: 5 A, not 10 A
  with: lamp | 60 W
  battery:+ 1 > front switch | | stop = fuse 7.5
  battery:+ 2 > rear switch | | stop = fuse 7.5
  front switch > lamp:1 = fuse 7.5
  rear switch > lamp:1 = fuse 7.5

A fuse counts the largest choice: 6 / 0.75 = 8 -> 10 A, not 11 / 0.75 -> 15 A
  battery:+ > dip switch | | main = fuse 10
  dip switch > head:1 | 6 A | | beam
  dip switch > head:2 | 5 A | | beam

A main fuse with a load of its own feeds a fuse of 5 A and a horn of 3 A: 8 / 0.75 = 10.7
  battery:+ > box | | main = fuse 15
  box > lamp:1 | 5 A | left = fuse 7.5
  box > horn:1 | 3 A = fuse 15

A fuse row that no wire names is told, and counted only if it has a rating: 3 A and no 5 A
  fuses: main; radio | 3; clock
  battery:+ > lamp:1 | 5 A | main
  says: Fuses!A3: 'radio'
  says: Fuses!A4: 'clock'
  some parts: 2 blade fuse, 7.5 A; 2 blade fuse, 3 A; 0 blade fuse, 5 A  # each with its spare

Spares are the largest cell of a rating: two of 7.5 A with 1 and 3; without a cell the house's 1
  fuses: a | spares=1; b | spares=3
  battery:+ 1 > a:1 | 5 A | a
  battery:+ 2 > b:1 | 5 A | b | colour=blue
  battery:+ 3 > c:1 | 10 A | c | colour=green
  some parts: 5 blade fuse, 7.5 A; 2 blade fuse, 15 A

Feeds behind two fuses have none: null, and a caution
  with: lamp | 60 W
  battery:+ 1 > splice | | a
  battery:+ 2 > splice | | b
  splice > lamp:1 = no fuse
  says: H4: more than one fuse: a, b

A charging wire feeds no fuse's wires: the lamp is behind main all the same, 15 / 0.75 = 20 A
  with: regulator | | none; lamp | 5 A
  battery:+ > junction | | main
  regulator:out > junction | 15 A
  junction > lamp:1 = fuse 20
  silent on: no fuse; without a fuse

A load typed on a regulator's earth says what it carries: no charging feed, and no fuse wanted
  with: regulator | | none
  battery:+ > lamp:1 | 5 A | main
  lamp:2 > battery:- 1
  regulator:earth > battery:- 2 | 8 A = 8 A, no fuse
  silent at: H4

A fuse that feeds two fuses of 5 A is loaded to three quarters too: 10 / 0.75 = 13.3 -> 15 A
  battery:+ > fuse box | | main = fuse 15
  fuse box > lamp:1 | 5 A | left = fuse 7.5
  fuse box > lamp:2 | 5 A | right = fuse 7.5

Ratings compare exactly: 1.0 + 2.0 + 0.3 + 0.45 A are 3.75 A, a 5 A fuse at 75 %
  battery:+ > box | | small = fuse 5
  box > a:1 | 1.0 A
  box > b:1 | 2.0 A
  box > c:1 | 0.3 A
  box > d:1 | 0.45 A

Of charging and load the larger counts: 15 A run back through main, 15 / 0.75 = 20 A, not 7.5
  with: regulator | | none; lamp | 5 A
  battery:+ > junction | | main = fuse 20
  regulator:out > junction | 15 A | main = fuse 20
  junction > lamp:1 = fuse 20

Two wires of 3 A each in one row: amps for one, the feed carries both
  battery:+ > box | | main = 6 A
  box > lamp | 3 A | | | 2 = 3 A

Wires in quantity with a blank load share it, like parallel returns: 2.5 A in each
  with: lamp | 60 W
  battery:+ > lamp:1 | | main = 5 A
  lamp:2 > battery:- | | | | 2 = 2.5 A

3 A is for one of two wires: 6 A in the fuse (6 / 0.75 = 8 -> 10 A) and in the earth
  battery:+ > heater:1 | 3 A | main | | 2 = 3 A, fuse 10
  heater:2 > battery:- = 6 A
""")
def test_fuses(tmp_path: Path, told: str) -> None:
    """The smallest rating that its load fills to 75 %; feeds inherit it, returns have none."""
    assert_told(tmp_path, told, gauge="2.0")


def test_no_load_either_way_is_cautioned_unless_the_gauge_is_typed(tmp_path: Path) -> None:
    """0 A keeps the smallest gauge and says so."""
    told = (
        "0 A\na:1 > b:1 = 0.5 mm2\na:2 > b:2 | gauge=1.0 | colour=blue\nsays: G2: wire 1 is sized"
    )
    assert_told(tmp_path, told)


# --------------------------------------------------------------------------------- laws


def test_kirchhoff_on_the_twin() -> None:
    """At each joint with one feed in, no word and no second way: amps in are amps out."""
    job = open_job(JOBS / "twin.xlsx")
    assert job.net
    assert job.sized
    assert job.currents
    always = set(job.currents.names) - job.currents.worded.keys()
    entries = [entry.loaded for entry in job.sized.wires]
    seen = 0
    for point in job.net.pins:
        if job.net.passing(point) != "all" or point in job.net.sources:
            continue
        into = [e for e in entries if e.wire.finish.point == point and not e.is_return]
        out = [e for e in entries if e.wire.start.point == point and not e.is_return]
        loads = [load for e in out for load in job.currents.of(e.loads)]
        once = len(loads) == len(set(loads))
        if len(into) == 1 and out and once and always.issuperset(loads):
            assert into[0].amps == sum((e.amps for e in out), Fraction(0)), point
            seen += 1
    assert seen >= 2


Edge = tuple[str, str, str]
"""A feed of a random machine: from, to, and its word."""


@st.composite
def random_machines(draw: st.DrawFn) -> tuple[list[Edge], dict[str, tuple[int, str]]]:
    """Splices fed from the battery, with cross wires and rings, and lamps; words anywhere."""
    words = st.sampled_from(["", "", "", "x", "x:1", "x:2", "y", "y:1"])
    splices = [f"s{n}" for n in range(draw(st.integers(1, 4)))]
    edges = [("battery:+", "s0", draw(words))]
    for n, splice in enumerate(splices[1:], 1):
        edges.append((draw(st.sampled_from(["battery:+", *splices[:n]])), splice, draw(words)))
    for _ in range(draw(st.integers(0, 3))):
        start, finish = draw(st.sampled_from(splices)), draw(st.sampled_from(splices))
        between = {edge[:2] for edge in edges}  # side by side they would share the current
        new = start != finish and (start, finish) not in between
        edges += [(start, finish, draw(words))] if new else []
    lamps = {f"lamp {n}": (draw(st.integers(1, 9)), draw(words)) for n in range(3)}
    for lamp in lamps:
        for start in draw(st.lists(st.sampled_from(splices), min_size=1, max_size=2, unique=True)):
            edges.append((start, f"{lamp}:1", draw(words)))
    return draw(st.permutations(edges)), lamps


def walked(edges: list[Edge], lamps: dict[str, tuple[int, str]], first: list[int]) -> int:
    """The largest sum of loads over all settings, from the wires `first` on, by brute force."""
    choice = {n: _choice(word, f"wire {n}") for n, (_, _, word) in enumerate(edges)}
    waiting = [(edges[n][1], frozenset(filter(None, [choice[n]]))) for n in first]
    states = set()
    while waiting:
        point, way = waiting.pop()
        if (point, way) not in states:
            states.add((point, way))
            onward = [n for n, (start, _, _) in enumerate(edges) if start == point]
            waiting += [(edges[n][1], _more(way, choice[n])) for n in onward]
    ways = [
        (point[:-2], _more(way, _choice(lamps[point[:-2]][1], point)))
        for point, way in states
        if point.endswith(":1")
    ]
    chosen = {word: {c for _, way in ways for w, c in way if w == word} or {""} for word in "xy"}
    best = 0
    for setting in ({("x", x), ("y", y)} for x in chosen["x"] for y in chosen["y"]):
        best = max(best, sum(lamps[lamp][0] for lamp in {p for p, way in ways if way <= setting}))
    return best


def _choice(word: str, owner: str) -> tuple[str, str] | None:
    name, _, choice = word.partition(":")
    return (name, choice or owner) if name else None


def _more(way: frozenset[tuple[str, str]], choice: tuple[str, str] | None) -> frozenset[Any]:
    """A way with one more word; the same word further on does not count again."""
    if choice is None or choice[0] in {word for word, _ in way}:
        return way
    return way | {choice}


@settings(max_examples=60)
@given(random_machines())
def test_currents_are_the_largest_sum_over_every_way_and_setting(
    tmp_path_factory: pytest.TempPathFactory, random: tuple[list[Edge], dict[str, tuple[int, str]]]
) -> None:
    """Rules 1, 3 and 5 walked by brute force, rings and cross wires and words among them."""
    edges, lamps = random
    rows = [f"{a} > {b} | | main | {word}" for a, b, word in edges]
    rows += [*(f"{lamp}:2 > earth" for lamp in lamps), "earth > battery:-"]
    loads = (f"{lamp} | {load} A | | {word}" for lamp, (load, word) in lamps.items())
    sheets, _ = sketch("\n".join(["a machine", f"with: {'; '.join(loads)}", *rows]), gauge="2.0")
    expected = [walked(edges, lamps, [n]) for n in range(len(edges))]
    roots = [n for n, (start, _, _) in enumerate(edges) if start == "battery:+"]
    expected += [*(load for load, _ in lamps.values()), walked(edges, lamps, roots)]
    answer = checked(book(tmp_path_factory.mktemp("random"), **sheets))
    assert list(amps(answer).values()) == expected


@settings(max_examples=40)
@given(parents=st.lists(st.integers(0, 50), min_size=2, max_size=14), data=st.data())
def test_kirchhoff_on_random_feed_trees(
    tmp_path_factory: pytest.TempPathFactory, parents: list[int], data: st.DataObject
) -> None:
    """Battery, splices, lamps, earth: amps in are amps out, and row order is free."""
    nodes = [-1, *(min(p, n) for n, p in enumerate(parents))]
    inner = set(nodes[1:])
    loads = {n: data.draw(st.integers(1, 9)) for n in range(len(nodes)) if n not in inner}
    rows = {0: "battery:+ > n0 | | main"}
    rows |= {n: f"n{p} > n{n}" + ":1" * (n in loads) for n, p in enumerate(nodes) if n}
    rows |= {-n: f"n{n}:2 > earth" for n in loads} | {-99: "earth > battery:-"}
    expected = defaultdict(int, {-99: sum(loads.values())})
    for n, load in loads.items():
        expected[-n] = load
        while n >= 0:
            expected[n] += load
            n = nodes[n]
    order = data.draw(st.permutations(list(rows)))
    parts = "; ".join(f"n{n} | {load} A" for n, load in loads.items())
    told = "\n".join(["a tree", f"with: {parts}", *(rows[row] for row in order)])
    sheets, _ = sketch(told, gauge="35.0")
    job = open_job(book(tmp_path_factory.mktemp("tree"), **sheets))
    assert job.sized is not None
    found = [int(entry.loaded.amps) for entry in job.sized.wires]
    assert found == [expected[row] for row in order]
