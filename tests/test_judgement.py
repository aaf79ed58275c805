"""The electrical judgement: nineteen points found wrong on small job books, each by hand.

The cells of a wire, after its ends, are gauge, load, fuse, length (blank: 1 m), one of, colour
(blank: red), from end and to end; `books.assert_told` says how a machine is told.
"""

import re
from pathlib import Path

import pytest

from bom.job import open_job
from bom.show.check_tables import check_tables
from tests.books import assert_told, book, checked, machines, sketch, wire

CELLS = "gauge, load, fuse, length, one of, colour, from end, to end"
SPARELESS = "job: terminal_spare_percent | 0; fuse_spares | 0"


def told_of(folder: Path, told: str) -> str:
    """All that is said of a machine, in one string."""
    answer = checked(book(folder, **sketch(told, CELLS)[0]))
    return "\n".join(f"{problem['says']}; {problem['try']}" for problem in answer["problems"])


@pytest.mark.parametrize("end", ["", "lug M8"])
def test_1_starter_leads_are_battery_cable(tmp_path: Path, end: str) -> None:
    """100 A x sqrt(30) / 100 = 5.5 mm2 at the least, and the smallest battery cable is 16.

    Plus side 2 x 0.4 m (0.3 x 1.05 + 0.08 = 0.395): 0.8 x 1.21 mohm x 100 A = 0.10 of 0.20 V.
    """
    told = f"""starter
    with: solenoid | | in > out; starter motor | starter motor
    starter: battery:+ > solenoid:in | | | none | 0.3 m | | | {end} | {end} = 100 A, 16.0 mm2
    starter: solenoid:out > starter motor:1 | | | | 0.3 m | | | {end} | {end} = 100 A, 16.0 mm2
    starter: starter motor:2 > earth | | | | 0.3 m | | black | {end} | {end} = 100 A, 16.0 mm2
    starter: earth > battery:- | | | | 0.3 m | | black | {end} | {end} = 100 A, 16.0 mm2
    silent on: 0.5 would do"""
    assert_told(tmp_path, told, CELLS)


@pytest.mark.parametrize(
    "circuit", ["cold start valve", "start button lamp", "fuel solenoid", "kick starter lamp"]
)
def test_2_no_circuit_is_spared_for_the_words_in_its_name(tmp_path: Path, circuit: str) -> None:
    """0.5 mm2 is rated 11 A; 30 A is over 1.25 x 11 = 13.75 A: an error, as is a load of 12 A."""
    told = f"""a name with a starter in it
    fuses: big | 30; two | 15
    {circuit}: battery:+ > unit:1 | 0.5 | 2 A | big
    {circuit}: battery:+ > other unit:1 | 0.5 | 12 A | two
    earth: unit:2 > battery:-
    earth: other unit:2 > battery:- 2
    says: error F2
    says: error F3"""
    assert_told(tmp_path, told, CELLS)


@machines("""
3 A charging wire's fuse: 16 / 0.75 = 21.3 -> 25 A
  with: regulator | | none
  charging: regulator:+ > battery:+ | | 16 A | charge = fuse 25
  charging: regulator:- > battery:- | | | | | | black

3 A maxi fuse of a charging wire: 35 / 0.75 = 46.7 -> 50 A
  with: regulator | | none
  fuses: charge | | maxi holder
  charging: regulator:+ > battery:+ | | 35 A | charge = fuse 50
  charging: regulator:- > battery:- | | | | | | black

3 A strip fuse of a charging wire: 35 / 0.75 = 46.7 -> 50 A
  with: regulator | | none
  fuses: charge | | bolted strip holder
  charging: regulator:+ > battery:+ | | 35 A | charge = fuse 50
  charging: regulator:- > battery:- | | | | | | black

3 No blade fuse is large enough for 46.7 A: the largest, 40 A, never 1 A, and it is an error
  with: regulator | | none
  charging: regulator:+ > battery:+ | | 35 A | charge = fuse 40
  charging: regulator:- > battery:- | | | | | | black
  says: error H2

4 A charging wire into the main fuse block: feeds of 19 A are more than its 14 A, 19 / 0.75 = 25.3
  with: regulator | | none
  main: battery:+ > fuse block:in | | | main | 0.2 m = 19 A, fuse 30
  charging: regulator:+ > fuse block:in | | 14 A | main
  lights: fuse block:a > light unit:1 | | 8 A | a = fuse 15  # 8 / 0.75 = 10.7
  ignition: fuse block:b > coil:1 | | 6 A | b = fuse 10  # 6 / 0.75 = 8
  rest: fuse block:c > other unit:1 | | 5 A | c = fuse 7.5  # 5 / 0.75 = 6.7
  earth: light unit:2 > battery:- 1
  earth: coil:2 > battery:- 2
  earth: other unit:2 > battery:- 3
  earth: regulator:- > battery:- 4
  silent on: carries 0 A

5 Words of returns behind a starter relay's stud: dip 55 W or main 60 W, 60 / 12 = 5 A, never both
  with: starter relay | | B > M
  starter cable: battery:+ > starter relay:B | | 110 A | none | 0.3 m
  main feed: starter relay:B > light switch:in | | | main | 0.2 m = 5 A
  dip: light switch:d > headlamp:56b | | 55 W | | | beam:dip
  main beam: light switch:m > headlamp:56a | | 60 W | | | beam:main
  earth: headlamp:31 > battery:- 1 | | | | | | black = 5 A
  starter cable: starter relay:M > starter motor:1 | | 110 A | none | 0.3 m
  starter cable: starter motor:2 > battery:- 2 | | | | 0.3 m | | black = 110 A

6 A main fuse of 6 / 0.75 = 8 -> 10 A by its load, but the 15 A that it feeds would blow after it
  fuses: main; a | 15
  main: battery:+ > fuse box:in | | | main | 0.2 m = fuse 15
  one: fuse box:a > unit:1 | | 5 A | a
  two: fuse box:b > lamp:1 | | 1 A | b
  earth: unit:2 > battery:- 1
  earth: lamp:2 > battery:- 2

6 A main fuse is loaded to 75 % too: 15 / 0.75 = 20, over 13.3 -> 15 and 6.7 -> 7.5
  main: battery:+ > fuse box:in | | | main | 0.2 m = fuse 20
  one: fuse box:a > unit:1 | | 10 A | a = fuse 15
  two: fuse box:b > lamp:1 | | 5 A | b = fuse 7.5
  earth: unit:2 > battery:- 1
  earth: lamp:2 > battery:- 2

6 A small main fuse too: 6.3 / 0.75 = 8.4 -> 10, over 4.4 -> 5 and 4
  main: battery:+ > fuse box:in | | | main | 0.2 m = fuse 10
  one: fuse box:a > unit:1 | | 3.3 A | a = fuse 5
  two: fuse box:b > lamp:1 | | 3 A | b = fuse 4
  earth: unit:2 > battery:- 1
  earth: lamp:2 > battery:- 2

7 Batteries in series: 120 W at 24 V are 5 A, in the link too
  job: volts | 24
  lights: battery 2:+ > lamp:1 | | 120 W | lights = 5 A
  earth: lamp:2 > battery 1:- | | | | | | black = 5 A
  link: battery 1:+ > battery 2:- | | | none | 0.2 m = 5 A
  silent at: E4

8 A main fuse far from the battery: 2.7 m of wire before it, 300 mm are the most
  main: battery:+ > main fuse:in | 3.0 | | | 2.7 m
  main: main fuse:out > unit:1 | 3.0 | 10 A | main
  earth: unit:2 > battery:- | 3.0 | | | | | black
  says: caution H2: 2700 mm

8 So it is where `none` is typed
  main: battery:+ > main fuse:in | 3.0 | | none | 2.7 m
  main: main fuse:out > unit:1 | 3.0 | 10 A | main
  earth: unit:2 > battery:- | 3.0 | | | | | black
  says: caution H2: 2700 mm

9 Thin wire behind a large fuse: 40 A over 13.75 A; 4.6 / 0.75 = 6.1 -> 7.5 A covers it
  fuses: lights | 40
  lights: battery:+ > lamp:1 | 0.5 | 4.6 A | lights
  earth: lamp:2 > battery:-
  says: error F2: behind a fuse of 40 A (lights); a fuse of 7.5 A

9 No smaller fuse would do: 9 / 0.75 = 12 -> 15 A, over the 11 A of 0.5 mm2: 1.0 (16.5 A) is told
  fuses: rest | 15
  rest: battery:+ > unit:1 | 0.5 | 9 A | rest
  earth: unit:2 > battery:-
  says: error F2: behind a fuse of 15 A (rest); gauge 1.0

11 Two typed lamps fed on: 2.5 A each, 5 A in the first feed and in the strap; 5 / 0.75 = 6.7
  lamps: battery:+ > lamp a:1 | | 30 W | lamps = 5 A, fuse 7.5
  lamps: lamp a:1 > lamp b:1 | | 30 W = 2.5 A
  earth: lamp a:2 > frame earth:1 = 2.5 A
  earth: lamp b:2 > frame earth:1 = 2.5 A
  earth: frame earth:1 > battery:- = 5 A

12 A load typed twice, on Components and on its wire, counts once: 60 W of the 50 that there are
  job: alternator_road_w | 50
  with: headlamp | 60 W
  headlamp: battery:+ > headlamp:1 | 1.0 | 60 W | f
  earth: headlamp:2 > battery:- | 1.0
  says: Job!: the loads take 60 W

12 A dynamo's earth and the loads in one strap: 524 W or 10 A of charging, never both together
  with: dynamo | | none
  lights: battery:+ > lamp:1 | | 524 W | f
  earth: lamp:2 > frame earth:1
  charging: dynamo:D > battery:+ 2 | | 10 A | charge
  earth: dynamo:E > frame earth:2 = 10 A
  earth: frame earth:3 > battery:- = 524/12 A

13 Earths side by side, gauges blank, by halves
  unit: battery:+ > unit:1 | | 10 A | f
  earth: unit:2 > frame earth:1 = 5 A
  earth: unit:3 > frame earth:2 = 5 A
  earth: frame earth:3 > battery:- = 10 A

13 By 1 / (resistance x length): 1.0 and 2.0 (19.5 and 9.4 ohm/km), 10 x 9.4 / 28.9 = 3.2526 A
  unit: battery:+ > unit:1 | | 10 A | f
  earth: unit:2 > frame earth:1 | 1.0 = 3.2526 A
  earth: unit:3 > frame earth:2 | 2.0 = 6.7474 A
  earth: frame earth:3 > battery:- = 10 A

13 Both 2.0 mm2, so by halves
  unit: battery:+ > unit:1 | | 10 A | f
  earth: unit:2 > frame earth:1 | 2.0 = 5 A
  earth: unit:3 > frame earth:2 | 2.0 = 5 A
  earth: frame earth:3 > battery:- = 10 A

14 A lamp called left 31 is no earth: 21 / 12 = 1.75 A in a feed, 1.75 / 0.75 = 2.3 -> 3 A
  indicators: battery:+ > left 31 | | 21 W | f = 1.75 A, fuse 3
  indicators: left 31 > battery:- = 1.75 A, no fuse

15 An H4 of 24 V has 70 W in its dip filament: 70 / 24 = 2.9167 A
  job: volts | 24
  dip: battery:+ > headlamp:1 | | H4 dip | f = 70/24 A
  earth: headlamp:2 > battery:- = 70/24 A

16 No. 18 is good for 15 A (33 CFR 183.425 table 5, 80 C), 0.75 mm2 for 14: 11 / 0.75 = 14.7 -> 15
  unit: battery:+ > unit:1 | 18 AWG | 11 A | f | 0.3 m = rated 15, fuse 15
  earth: unit:2 > battery:- | 0.75 | | | 0.3 m = rated 14
  silent at: F2
  silent on: error:

16 A hot place, 85 C: 2 A in one 1.0 mm2 warm it by about 2 K, far below 100 C
  job: ambient_c | 85
  loom: battery > engine | 1 m
  sensor: battery:+ > engine:1 | 1.0 | 2 A | f | length= = rated 16.5
  earth: engine:2 > battery:- | 1.0 | | | | | black
  silent on: 0.0 A;  C

17 Three bullets of 1.0 at a pin, in one connector of four ways
  job: terminal_spare_percent | 0; end | bare; in_line_end | bare
  a: battery:+ > lamp a:1 | 1.0 | 1 A | a | to end=bullet socket 4.7
  a: lamp a:1 > lamp b:1 | 1.0 | 1 A | from end=bullet socket 4.7
  a: lamp a:1 > lamp c:1 | 1.0 | 1 A | from end=bullet socket 4.7
  parts: 3 bullet terminal, 4.7 mm, male, 0.5-1.0 mm2; 1 sleeved bullet connector, 4.7 mm, 4 way; \
2 blade fuse, 3 A; 1 in-line fuse holder, blade

17 A bolted strip fuse: 60 A is a rating that is made, and its holder is one
  job: fuse_spares | 0; end | bare; in_line_end | bare
  fuses: main | 60 | bolted strip holder
  main: battery:+ > unit:1 | 10.0 | 40 A | main | 0.3 m
  earth: unit:2 > battery:- | 10.0 | | | 0.3 m
  some parts: 1 strip fuse, 60 A; 1 fuse holder, bolt-in strip

17 Spare ways are plugged: four wanted, two of them wired
  job: terminal_spare_percent | 0; end | bare
  with: horn | 4 A | end=sealed 1.5 | ways=4
  a: battery:+ > horn:1 | 1.0 | | none
  b: horn:2 > battery:- | 1.0 | colour=black
  some parts: 2 cavity plug, 1.5 mm contact

17 An in-line holder has two joints, a splice at each side
  job: terminal_spare_percent | 0; fuse_spares | 0; end | bare
  main: battery:+ > unit:1 | 1.0 | 4 A | main
  earth: unit:2 > battery:- | 1.0
  some parts: 1 in-line fuse holder, blade; 2 crimp splice, 0.5-1.5 mm2

17 Shrink over a lug's barrel: 12.5 mm for 35 mm2, so 18; 12 goes over the cable's 11.2 only
  job: terminal_spare_percent | 0
  starter: battery:+ > starter motor:1 | 35.0 | 150 A | none | | | | lug M8 | lug M8
  starter: starter motor:2 > battery:- | 35.0 | | | | | black | bare | bare
  parts: 2 cable lug, M8, 25.0-35.0 mm2; 80 heat-shrink, adhesive 3:1, 18 mm

18 A stator, and the 200 mm from the battery to its main fuse, want no fuse: as on every machine
  with: alternator | | none; regulator | | none
  main: battery:+ > main fuse:in | 3.0 | | | 0.2 m
  lights: main fuse:out > lamp:1 | 2.0 | 55 W | main
  stator: alternator:1 > regulator:1 | 2.0 | 10 A
  stator: alternator:2 > regulator:2 | 2.0 | 10 A
  charging: regulator:+ > main fuse:out | 2.0 | 10 A | main
  earth: regulator:- > battery:- 1 | 2.0
  earth: lamp:2 > battery:- 2 | 2.0
  silent at: H

18 A short feed in a way that keeps its limit: 17 A in 0.4 m of 3.0 mm2 lose 0.048 V
  # At 60 C the headlamp's own 3.23 m of 1.5 lose 5 x 3.23 x 15.4 mohm = 0.249, and 0.3 V are
  # allowed in the plus lead; the way back of 3.44 m loses 0.265, 0.6 are allowed in all.
  main: battery:+ > fuse box:in | | | main | 0.3 m
  headlamp: fuse box:a > headlamp:1 | | 60 W | a | 3 m
  rest: fuse box:b > heated unit:1 | | 12 A | b | 0.5 m
  earth: headlamp:2 > battery:- 1 | | | | 3.2 m
  earth: heated unit:2 > battery:- 2 | | | | 0.5 m
  silent at: F
  silent on: share

18 Two fuses where a charging wire comes in: the lamp is behind the battery's
  # 5 / 0.75 = 6.7 A, yet 10 A of charging run through it too: 10 / 0.75 = 13.3 -> 15 A
  with: regulator | | none
  main: battery:+ > joint splice | 2.0 | | main | 0.2 m = fuse 15
  charging: regulator:+ > joint splice | 2.0 | 10 A | charge = fuse 15
  lights: joint splice > lamp:1 | 2.0 | 60 W = fuse 15
  earth: regulator:- > battery:- 1 | 2.0
  earth: lamp:2 > battery:- 2 | 2.0
  silent at: H

18 Tail 5 W and stop 21 W in one lamp behind two fuses, and a plate lamp fed on from it
  tail: battery:+ 1 > rear lamp:58 | 1.0 | 5 W | tail
  stop: battery:+ 2 > rear lamp:54 | 1.0 | 21 W | stop
  tail: rear lamp:58 > plate lamp:1 | 1.0 | 5 W
  earth: rear lamp:31 > battery:- 1 | 1.0
  earth: plate lamp:2 > battery:- 2 | 1.0
  silent on: unlike feeds

18 The way to the main fuse is along the machine: 280 mm, though the piece is 380 mm
  main: battery:+ > main fuse:in | 2.0 | | | 280 mm  # x 1.05 + 80
  lights: main fuse:out > lamp:1 | 2.0 | 55 W | main
  earth: lamp:2 > battery:- | 2.0
  silent at: H2 J2

19 The earth strap left out: two lamps are earthed on the frame, and the frame on nothing
  dip: battery:+ > headlamp:1 | 1.0 | 55 W | f
  tail: battery:+ 2 > tail lamp:1 | 1.0 | 5 W | g
  earth: headlamp:2 > frame earth:1 | 1.0 | | | | | black
  earth: tail lamp:2 > frame earth:2 | 1.0 | | | | | black
  says: D4: strap

19 A typed load of 5 W (0.42 A) against its component's 55 W (4.58 A)
  with: headlamp | 55 W
  dip: battery:+ > headlamp:1 | 1.0 | 5 W | f
  earth: headlamp:2 > battery:- | 1.0
  says: G2: 0.42 A
  says: G2: 4.58 A

19 Two fuses in series: one feed behind both, and nothing else behind the first
  main: battery:+ > main fuse:in | 1.0 | | | 0.2 m
  main: main fuse:out > light fuse:in | 1.0 | | main
  dip: light fuse:out > headlamp:1 | 1.0 | 55 W | lights
  earth: headlamp:2 > battery:- | 1.0
  says: caution H4: series

19 A load of nothing is told at its wire
  fuses: f | 5
  dip: battery:+ > headlamp:1 | 1.0 | 0 W | f
  earth: headlamp:2 > battery:- | 1.0
  says: G2: 0 W

19 A load of nothing is told at its component
  with: headlamp | 0 W
  fuses: f | 5
  dip: battery:+ > headlamp:1 | 1.0 | | f
  earth: headlamp:2 > battery:- | 1.0
  says: Components!B2: 0 W

19 A short over a plug: a feed and an earth on one of its pins
  with: plug | | pin to pin
  lights: battery:+ > plug:1 | 1.0 | | f
  earth: plug:1 > battery:- | 1.0
  dip: plug:1 > headlamp:1 | 1.0 | 55 W
  earth: headlamp:2 > plug:1 | 1.0
  says: error D3: short
""")
def test_machine(tmp_path: Path, told: str) -> None:
    """Each by the number of its point."""
    assert_told(tmp_path, told, CELLS)


def test_7_batteries_in_parallel(tmp_path: Path) -> None:
    """The links are as thick as the starter's leads (110 A: 16 mm2), and red is no earth."""
    told = """two batteries
    starter: battery 1:+ > starter motor:1 | | 110 A | none | 0.4 m = 16.0 mm2
    starter: starter motor:2 > battery 1:- | | | | 0.4 m | | black = 16.0 mm2
    link: battery 2:+ > battery 1:+ | | | none | 0.2 m = 16.0 mm2
    link: battery 2:- > battery 1:- | | | none | 0.2 m | | black = 16.0 mm2
    lights: battery 1:+ 2 > lamp:1 | | 21 W | lights
    earth: lamp:2 > battery 1:- 2 | | | | | | black
    silent at: E4"""
    assert_told(tmp_path, told, CELLS)
    answer = checked(book(tmp_path, **sketch(told, CELLS)[0]))
    assert wire(answer, "3")["amps"] == pytest.approx(110 + 1.75, abs=2)


@pytest.mark.parametrize("at", ["component", "circuit"])
@pytest.mark.parametrize(
    ("name", "load", "volts"),
    # headlamps 0.3 in the plus lead; lamps to 15 W 0.6, over 15 W 0.9; all else 1.5
    [
        *(("headlamps", "60 W", "0.30"), ("taillight", "15 W", "0.60")),
        *(("stoplight", "21 W", "0.90"), ("winkers", "42 W", "0.90")),
        *(("phone charging socket", "48 W", "1.50"), ("horn relay coil", "48 W", "1.50")),
    ],
)
def test_10_plurals_and_compounds(
    tmp_path: Path, name: str, load: str, volts: str, at: str
) -> None:
    """12 m of 0.5 mm2 lose more than any of the limits, which the caution names."""
    point, circuit = (name, "") if at == "component" else ("unit", name)
    told = f"""a long way
    job: end | bare
    {circuit}: battery:+ > {point}:1 | 0.5 | {load} | f | 12 m
    : {point}:2 > battery:- | 10.0 | | | 0.1 m"""
    assert re.findall(r"([\d.]+) V are allowed", told_of(tmp_path, told)) == [volts]


def test_15_a_blank_alternator_is_not_one_of_nothing(tmp_path: Path) -> None:
    """180 W on the road, at idle not known: nothing says 0 W."""
    told = """a lamp
    job: alternator_road_w | 180
    dip: battery:+ > headlamp:1 | | 55 W | f
    earth: headlamp:2 > battery:-"""
    job = open_job(book(tmp_path, **sketch(told, CELLS)[0]))
    said = " ".join(note for table in check_tables(job) for note in table.notes)
    said += told_of(tmp_path, told)
    assert "180 W at road speed" in said and "at idle" not in said


@pytest.mark.parametrize(
    ("gauge", "ohm_per_km"),
    # 3.0: ISO 6722.  4.5: copper 17.241 / 4.5 = 3.831 x 1.148, as 4.0 (4.95 x 4 / 17.241) and 6.0
    # are.  8.5: 2.028 x 1.128, between 1.148 of 6.0 and 1.108 of 10.0 (1.91 x 10 / 17.241)
    [("3.0", 6.15), ("4.5", 4.40), ("8.5", 2.288)],
)
def test_16_stranded_cable_is_not_solid(tmp_path: Path, gauge: str, ohm_per_km: float) -> None:
    """10 A through 1.0 x 1.05 + 0.08 = 1.13 m at 60 C (x 1.1572)."""
    told = f"""a unit
    job: end | bare
    unit: battery:+ > unit:1 | {gauge} | 10 A | f
    earth: unit:2 > battery:- | {gauge}"""
    answer = checked(book(tmp_path, **sketch(told, CELLS)[0]))
    expected = 10 * ohm_per_km / 1000 * 1.1572 * 1.13
    assert wire(answer, "1")["drop_volts"] == pytest.approx(expected, rel=0.01)


@pytest.mark.parametrize("flasher", ["flasher", "flasher unit", "flasher relay"])
def test_18_a_colour_turns_at_a_flasher(tmp_path: Path, flasher: str) -> None:
    """BS AU 7: green before the flasher, light green/brown behind it."""
    told = f"""indicators
    indicators: battery:+ > {flasher}:49 | 1.0 | | f | | | green
    indicators: {flasher}:49a > lamp:1 | 1.0 | 42 W | | | | light green/brown
    earth: lamp:2 > battery:- | 1.0 | | | | | black
    silent at: E"""
    assert_told(tmp_path, told, CELLS)


@pytest.mark.parametrize("gauge", ["", "1.0"])
@pytest.mark.parametrize("finish", ["battery:-", "battery:- 2"])
def test_19_a_short(tmp_path: Path, finish: str, gauge: str) -> None:
    """A feed whose far end was put on the battery's other pole: an error of its own."""
    told = f"""a short
    lights: battery:+ > light switch:1 | {gauge} | | f
    lights: light switch:1 > {finish} | {gauge}
    dip: light switch:1 > headlamp:1 | {gauge} | 55 W
    earth: headlamp:2 > battery:- | {gauge}
    says: error D3: short"""
    assert_told(tmp_path, told, CELLS)
