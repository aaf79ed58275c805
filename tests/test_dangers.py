"""What burns a loom or leaves the lights out is not passed in silence; beside it what is in order.

The machines are told as in `tests/test_causes.py`: a line with `=>` is a message, and there is no
other.
"""

from pathlib import Path

import pytest

from tests.books import assert_told, machines
from tests.test_causes import assert_told_alone, without_indent


@machines("""
The earth of a headlamp at the pin of its dip beam: dead short as soon as it is switched on
  with: dip switch | | in > main dip
  head: battery:+ > dip switch:in | | | head | 0.3 m
  head: dip switch:main > head lamp:main | | 60 W | | | beam:main
  head: dip switch:dip > head lamp:dip | | 55 W | | | beam:dip
  earth: head lamp:dip > frame earth:1 | | | | | | black
  strap
  => error Circuits!D4: one pin, head lamp:dip: wires 3 and 4 ... head lamp:dip and head lamp:earth

Through a splice, and another lamp is fed on from the same pin
  with: tail splice | | | | splice; plate lamp | 5 W
  tail: battery:+ > tail lamp:tail | | 5 W | tail | 0.3 m
  tail: tail lamp:tail > plate lamp:+
  earth: plate lamp:+ > tail splice | | | | | | black
  earth: tail splice > frame earth:1 | | | | | | black
  strap
  => error Circuits!D3: one pin, plate lamp:+: wires 2 and 3 ... plate lamp:+ and plate lamp:earth

A lamp that is on no other sheet, its feed at the pin of the earth
  tail: battery:+ > tail lamp:- | | 5 W | tail | 0.3 m
  earth: tail lamp:- > frame earth:1 | | | | | | black
  strap
  => error Circuits!D2: one pin, tail lamp:-: wires 1 and 2 ... tail lamp:feed and tail lamp:earth

Two filaments and an earth, each with its pin
  stop: battery:+ > tail lamp:stop | | 21 W | stop | 0.3 m
  tail: battery:+ 2 > tail lamp:tail | | 5 W | tail | 0.3 m
  earth: tail lamp:earth > frame earth:1 | | | | | | black
  strap

A trailer's socket fed on from the pin of a lamp
  stop: battery:+ > tail lamp:stop | | 21 W | stop | 0.3 m
  stop: tail lamp:stop > trailer socket:54 | | 42 W
  earth: tail lamp:31 > frame earth:1 | | | | | | black
  earth: trailer socket:31 > frame earth:2 | | | | | | black
  strap

Earths chained from lamp to lamp, the loads typed for the earths
  tail: battery:+ > tail lamp:1 | | 5 W | tail | 0.3 m
  plate: battery:+ 2 > plate lamp:1 | | 10 W | plate | 0.3 m
  earth: tail lamp:2 > plate lamp:2 | | 5 W | none | | | black
  earth: plate lamp:2 > frame earth:1 | | 15 W | | | | black
  strap

A lamp behind a plug: its earth leaves at the other pin
  with: plug | | pin to pin
  tail: battery:+ > plug:1 | | | tail | 0.3 m
  tail: plug:1 > tail lamp:+ | | 5 W
  earth: tail lamp:- > plug:2 | | | | | | black
  earth: plug:2 > frame earth:1 | | | | | | black
  strap

A horn that its button earths, the load on the wire to it
  horn: battery:+ > horn:+ | | 4 A | horn | 0.3 m
  horn: horn:- > horn button:1 | | | | | | black
  earth: horn button:1 > frame earth:1 | | | | | | black
  strap
""")
def test_a_feed_and_an_earth_at_one_pin(tmp_path: Path, told: str) -> None:
    """A short as soon as it is switched on, wherever the load stands."""
    assert_told_alone(tmp_path, without_indent(told))


@machines("""
A relay with its coil's load and a blank passes: the first thing that is left out
  with: horn relay | 2 W; horn | 4 A; horn button | | in > out
  horn: battery:+ > horn relay:30 | | | horn | 0.3 m
  horn: horn relay:87 > horn:+
  coil: battery:+ 2 > horn button:in | | | signals | 0.3 m
  coil: horn button:out > horn relay:86
  earth: horn relay:85 > frame earth:1 | | | | | | black
  earth: horn:- > frame earth:2 | | | | | | black
  strap
  => error Components!C2 cause: passes of horn relay is blank ... to 87; 30 > 87

One that changes over from dip to main: two contacts
  with: beam relay | 2 W; dip switch | | in > out
  head: battery:+ > beam relay:30 | | | head | 0.3 m
  head: beam relay:87a > head lamp:dip | | 55 W | | | beam:dip
  head: beam relay:87 > head lamp:main | | 60 W | | | beam:main
  coil: battery:+ 2 > dip switch:in | | | coil | 0.3 m
  coil: dip switch:out > beam relay:86
  earth: beam relay:85 > frame earth:1 | | | | | | black
  earth: head lamp:earth > frame earth:2 | | | | | | black
  strap
  => error Components!C2 cause: passes of beam relay is blank ... to 87a 87; 30 > 87a 87

An old relay with its pins by the maker's letters: the supply tells which is the contact
  with: horn relay | 2 W; horn | 4 A; horn button | | in > out
  coil: battery:+ 2 > horn button:in | | | signals | 0.3 m
  coil: horn button:out > horn relay:W1
  horn: battery:+ > horn relay:C2 | | | horn | 0.3 m
  horn: horn relay:C1 > horn:+
  earth: horn relay:W2 > frame earth:1 | | | | | | black
  earth: horn:- > frame earth:2 | | | | | | black
  strap
  => error Components!C2 cause: passes of horn relay is blank ... to C1; C2 > C1

A starter's solenoid: its lead would be sized for the coil
  with: solenoid | 40 W; starter motor | 110 A; start button | | in > out
  crank: battery:+ > solenoid:battery | 16.0 | | none | 0.3 m | | | lug M6 | lug M6
  crank: solenoid:motor > starter motor:+ | 16.0 | | none | 0.5 m | | | lug M6 | lug M8
  start: battery:+ 2 > start button:in | | | start | 0.3 m
  start: start button:out > solenoid:coil
  earth: solenoid:coil earth > frame earth:1 | | | | | | black
  earth: starter motor:- > battery:- 2 | 16.0 | | | 0.5 m | | black | lug M8 | lug M6
  strap
  => error Components!C2 cause: passes of solenoid is blank ... to motor; battery > motor

The same with its passes back to front
  with: solenoid | 40 W | motor > battery; starter motor | 110 A; start button | | in > out
  crank: battery:+ > solenoid:battery | | | none | 0.3 m | | | lug M6 | lug M6
  crank: solenoid:motor > starter motor:+ | 16.0 | | none | 0.5 m | | | lug M6 | lug M8
  start: battery:+ 2 > start button:in | | | start | 0.3 m
  start: start button:out > solenoid:coil
  earth: solenoid:coil earth > frame earth:1 | | | | | | black
  earth: starter motor:- > battery:- 2 | 16.0 | | | 0.5 m | | black | lug M8 | lug M6
  strap
  => error Components!C2 cause: passes of solenoid is back to front ... battery > motor

A key switch with its passes back to front: not a missing load, nor a missing fuse
  with: key switch | | lights > in, rest > in
  main: battery:+ > key switch:in | | | main | 0.3 m
  tail: key switch:lights > tail lamp:+ | | 5 W
  horn: key switch:rest > horn:+ | | 4 A
  earth: tail lamp:- > frame earth:1 | | | | | | black
  earth: horn:- > frame earth:2 | | | | | | black
  strap
  => error Components!C2 cause: passes of key switch is back to front ... in > lights, in > rest

A button in the earth of a horn, back to front: what it earths has its figures all the same
  with: horn | 4 A; horn button | | in > out
  horn: battery:+ > horn:+ | 1.0 | | horn | 0.3 m
  horn: horn:- > horn button:out | 1.0 | | | | | black
  earth: horn button:in > frame earth:1 | 1.0 | | | | | black
  strap
  => caution Components!C3 cause: passes of horn button is back to front ... out > in

A flasher whose own current was looked up
  with: flasher | 50 mA; turn switch | | in > left right
  turn: battery:+ > flasher:49 | | | turn | 0.3 m
  turn: flasher:49a > turn switch:in
  turn: turn switch:left > left lamp:+ | | 21 W | | | turn:left
  turn: turn switch:right > right lamp:+ | | 21 W | | | turn:right
  earth: flasher:31 > frame earth:3 | | | | | | black
  earth: left lamp:- > frame earth:1 | | | | | | black
  earth: right lamp:- > frame earth:2 | | | | | | black
  strap
  => error Components!C2 cause: passes of flasher is blank ... to 49a; 49 > 49a

The coil's load left out too: coil and contacts are one, in one circuit and behind one fuse
  with: horn relay; key switch | | in > out
  horn: battery:+ > key switch:in | | | horn | 0.3 m
  horn: key switch:out > horn relay:30
  horn: key switch:out > horn relay:86
  horn: horn relay:87 > horn:+ | | 4 A
  earth: horn relay:85 > frame earth:1 | | | | | | black
  earth: horn:- > frame earth:2 | | | | | | black
  strap
  => caution Components!C2 cause: unlike feeds arrive at horn relay ... under passes: 30 > 87

Loads typed row by row are reckoned with, so that it is a caution
  with: horn relay | 2 W
  horn: battery:+ > horn relay:30 | 1.0 | 2 W | horn | 0.3 m
  horn: horn relay:87 > horn:+ | 1.0 | 4 A
  coil: battery:+ 2 > horn relay:86 | 1.0 | 2 W | signals | 0.3 m
  earth: horn relay:85 > frame earth:1 | 1.0 | | | | | black
  earth: horn:- > frame earth:2 | 1.0 | | | | | black
  strap
  => caution Components!C2 cause: passes of horn relay is blank ... 30 > 87
""")
def test_what_a_relay_switches_is_asked_for_first(tmp_path: Path, told: str) -> None:
    """A relay without its contacts, and contacts the wrong way round, with the pins as used."""
    assert_told_alone(tmp_path, without_indent(told))


@machines("""
A flasher of two pins with nothing of its own: what comes in goes out
  turn: battery:+ > flasher:49 | | | turn | 0.3 m
  turn: flasher:49a > indicator:+ | | 21 W
  earth: indicator:- > frame earth:1 | | | | | | black
  strap

A relay of which the book has the coil alone
  with: alarm relay | 2 W
  alarm: battery:+ > alarm relay:86 | | | alarm | 0.3 m
  earth: alarm relay:85 > frame earth:1 | | | | | | black
  strap

A relay of which the book has the contacts alone
  with: fan relay
  fan: battery:+ > fan relay:30 | | | fan | 0.3 m
  fan: fan relay:87 > fan:+ | | 8 A
  earth: fan:- > frame earth:1 | | | | | | black
  strap

A relay fed at 87, as some are wired, its coil earthed by an engine control unit
  with: pump relay | 2 W | 87 > 30; control unit | 1 A | 11 > 31
  pump: battery:+ > pump relay:87 | | | pump | 0.3 m
  pump: pump relay:30 > fuel pump:+ | | 5 A
  unit: battery:+ 2 > control unit:B | | | unit | 0.3 m
  coil: battery:+ 3 > pump relay:86 | | | coil | 0.3 m
  coil: pump relay:85 > control unit:11
  earth: control unit:31 > frame earth:1 | | | | | | black
  earth: fuel pump:- > frame earth:2 | | | | | | black
  strap

A solenoid that moves a valve: a load like any other
  with: fuel solenoid | 8 W
  fuel: battery:+ > fuel solenoid:+ | | | fuel | 0.3 m
  earth: fuel solenoid:- > frame earth:1 | | | | | | black
  strap

An ammeter that charges one way and feeds the other
  with: regulator | | none; ammeter | | 1 > 2, 2 > 1
  charge: regulator:A > ammeter:1 | 1.0 | 10 A | none
  main: battery:+ > ammeter:2 | 1.0 | | main | 0.3 m
  lights: ammeter:1 > head lamp:+ | 1.0 | 30 W
  earth: head lamp:- > frame earth:1 | 1.0 | | | | | black
  strap
""")
def test_relays_in_order_are_passed_in_silence(tmp_path: Path, told: str) -> None:
    """Coils alone, contacts alone, and what only has the name."""
    assert_told_alone(tmp_path, without_indent(told))


@machines("""
The headlamp earthed nowhere
  head: battery:+ > head lamp:+ | | 55 W | head | 0.3 m
  earth: head lamp:- > frame eath | | | | | | black
  tail: battery:+ 2 > tail lamp:+ | | 5 W | tail | 0.3 m
  earth: tail lamp:- > frame earth:1 | | | | | | black
  strap
  => caution Circuits!D3 cause: 'frame eath' is met once, and is nearly 'frame earth'; frame earth

The ignition cut off from its switch
  with: ignition switch | | in > out; ignition coil | 4 A
  main: battery:+ > ignition switch:in | | | main | 0.3 m
  coil: igniton switch:out > ignition coil:+ | | | coil
  earth: ignition coil:- > frame earth:1 | | | | | | black
  strap
  => error Circuits!C3 cause: point 'igniton switch' ... ignition switch:out

A letter that is typed twice, or is not: not three messages of what follows
  with: kill switch | | in > out; ignition coil | 4 A
  main: battery:+ > kill switch:in | | | main | 0.3 m
  coil: kil switch:out > ignition coil:+ | | | none
  earth: ignition coil:- > frame earth:1 | | | | | | black
  strap
  => error Circuits!C3 cause: point 'kil switch' ... kill switch:out

A name in one word, of a point that has no row either
  main: battery:+ > light switch:1 | | | main | 0.3 m
  tail: light switch:2 > tail lamp:+ | | 5 W
  earth: tail lamp:- > frame earth:1 | | | | | | black
  plate: lightswitch:2 > plate lamp:+ | | 5 W | main
  earth: plate lamp:- > frame earth:2 | | | | | | black
  strap
  => caution Circuits!C5 cause: point 'lightswitch' ... light switch:2
""")
def test_a_point_met_once_and_nearly_another_is_the_cause(tmp_path: Path, told: str) -> None:
    """Where no Loom asks for a place, a mistyped point leads to nothing and says nothing."""
    assert_told_alone(tmp_path, without_indent(told))


@machines("""
Lamps left and right, front and rear, earthed by their mounting, told by letters and numbers
  turn: battery:+ > flasher:49 | | | turn | 0.3 m
  turn: flasher:49a > turn switch:in
  turn: turn switch:left > indicator FL:+ | | 21 W
  turn: turn switch:left > indicator RL:+ | | 21 W
  turn: turn switch:right > indicator FR:+ | | 21 W
  turn: turn switch:right > indicator RR:+ | | 21 W
  earth: indicator FL:- > earth 1 | | | | | | black
  earth: indicator RL:- > earth 2 | | | | | | black
  earth: indicator FR:- > earth 1 | | | | | | black
  earth: indicator RR:- > earth 2 | | | | | | black
  earth: earth 1 > battery:- | | | | | | black
  earth: earth 2 > battery:- | | | | | | black

Other words with nearly the same letters: reverse and reserve, pump and lamp
  lamp: battery:+ > reverse lamp:+ | | 21 W | a | 0.3 m
  lamp: reverse lamp:+ > reserve lamp:+ | | 2 W
  lamp: reserve lamp:- > reserve switch | | | | | | black
  lamp: reverse lamp:- > reverse switch | | | | | | black
  pump: battery:+ 2 > fuel pump:+ | | 4 A | b | 0.3 m
  pump: fuel pump:+ > fuel lamp:+ | | 2 W
  earth: fuel pump:- > fuel earth | | | | | | black
  earth: fuel lamp:- > fuel earth | | | | | | black
  earth: fuel earth > battery:- | | | | | | black

The two coils and the two condensers of a twin
  coil: battery:+ > coil 1:+ | 1.0 | 3 A | a | 0.3 m
  coil: coil 1:+ > coil 2:+ | 1.0 | 3 A
  coil: coil 1:- > points 1 | 1.0 | | | | | white
  coil: coil 2:- > points 2 | 1.0 | | | | | white
  coil: points 1 > condenser 1 | 1.0 | | | | | white
  coil: points 2 > condenser 2 | 1.0 | | | | | white
  lamp: battery:+ 2 > lamp:+ | 1.0 | 5 W | b | 0.3 m
  earth: lamp:- > battery:- | 1.0 | | | | | black
""")
def test_names_that_are_others_on_purpose_are_passed_in_silence(tmp_path: Path, told: str) -> None:
    """Left and right, front and rear, figures, and other words of the trade."""
    assert_told_alone(tmp_path, without_indent(told))


@machines("""
The engine's strap on the plus: lamps that their switches earth, and no other wire to the battery
  with: neutral lamp | 2 W; oil lamp | 2 W
  dash: battery:+ > neutral lamp:+ | | | dash | 0.3 m
  dash: neutral lamp:+ > oil lamp:+
  dash: neutral lamp:- > neutral switch | | | | | | green
  dash: oil lamp:- > oil switch | | | | | | white
  earth: engine earth > battery:+ 2 | 6.0 | | | | | black | ring M6 | ring M6
  => error Circuits!D6: wire 5 leads back to battery:+ 2 ... battery:- in place of +

The earth of a regulator on the plus, another earth where it belongs
  with: regulator | | none; alternator | | none
  charge: alternator:1 > regulator:ac | 1.0 | 5 A | none
  charge: regulator:+ > battery:+ | 1.0 | 5 A | charge | 0.2 m
  earth: regulator:- > battery:+ 2 | 1.0 | 5 A | | | | black
  lamp: battery:+ 3 > lamp:+ | 1.0 | 5 W | lamp | 0.2 m
  earth: lamp:- > battery:- | 1.0 | | | | | black
  => error Circuits!D4: wire 3 leads back to battery:+ 2 ... battery:- in place of +

Two earths on the plus, and the only feed there too: the feed is the odd one of a positive earth
  lights: battery:+ > light switch:1 | | | lights | 0.3 m
  lights: light switch:2 > head lamp:1 | | 24 W
  lights: light switch:2 > tail lamp:1 | | 6 W
  earth: head lamp:2 > battery:+ 2 | | | | | | black
  earth: tail lamp:2 > battery:+ 3 | | | | | | black
  => error Circuits!C2: starts at battery:+ ... the earths lead back to ... battery:- in place of +

One feed of three at the pole of the earths
  head: battery:+ > head lamp:1 | | 24 W | head | 0.3 m
  tail: battery:+ 2 > tail lamp:1 | | 5 W | tail | 0.3 m
  horn: battery:- > horn:1 | | 3 A | horn | 0.3 m
  earth: head lamp:2 > frame earth:1 | | | | | | black
  earth: tail lamp:2 > frame earth:1 | | | | | | black
  earth: horn:2 > frame earth:2 | | | | | | black
  earth: frame earth:3 > battery:- 2 | | | | | | black
  => error Circuits!C4: wire 3 starts at battery:- ... battery:+ in place of -

The earth's plus of a positive earth, its regulator charges the minus
  with: regulator | | none
  charge: regulator:- > battery:- | 1.0 | 5 A | charge | 0.2 m
  earth: regulator:+ > frame earth:1 | 1.0 | | | | | black
  head: battery:- 2 > head lamp:- | 1.0 | 24 W | head | 0.2 m
  earth: head lamp:+ > frame earth:2 | 1.0 | | | | | black
  earth: frame earth:3 > battery:+ | 1.0 | | | | | black

Two batteries in a row
  head: battery 2:+ > head lamp:1 | 1.0 | 24 W | head | 0.3 m
  link: battery 2:- > battery 1:+ | 6.0 | | | 0.2 m | | black | ring M6 | ring M6
  earth: head lamp:2 > frame earth:1 | 1.0 | | | | | black
  earth: frame earth:3 > battery 1:- | 1.0 | | | | | black

A dynamo's cut-out, of which nobody says what it gives
  with: regulator | | none
  charge: regulator:B > battery:+ | 1.0 | | none
  head: battery:+ 2 > head lamp:1 | 1.0 | 24 W | head | 0.3 m
  earth: head lamp:2 > frame earth:1 | 1.0 | | | | | black
  earth: regulator:E > frame earth:2 | 1.0 | | | | | black
  earth: frame earth:3 > battery:- | 1.0 | | | | | black
""")
def test_the_odd_wire_at_the_battery_is_named(tmp_path: Path, told: str) -> None:
    """Of feeds and earths at one pole the fewer are wrong: not always the earths."""
    assert_told_alone(tmp_path, without_indent(told))


@machines("""
A main beam in black, as all the earths: its usual colour is the cure (BS AU 7)
  with: dip switch | | in > main dip
  head: battery:+ > dip switch:in | | | head | 0.3 m
  main beam: dip switch:main > head lamp:main | | 60 W | | | beam:main | black
  dip beam: dip switch:dip > head lamp:dip | | 55 W | | | beam:dip
  earth: head lamp:earth > frame earth:1 | | | | | | black
  strap
  => caution Circuits!E3: wire 2 is live in black, the colour of the earths; blue/white

A circuit for which nobody knows a colour
  pump: battery:+ > pump:+ | | 4 A | pump | 0.3 m | | black
  tail: battery:+ 2 > tail lamp:+ | | 5 W | tail | 0.3 m
  earth: pump:- > frame earth:1 | | | | | | black
  earth: tail lamp:- > frame earth:2 | | | | | | black
  strap
  => caution Circuits!E2: wire 1 is live in black, the colour of the earths; a colour that is not

A horn whose button earths it in black, the load on that wire
  horn: battery:+ > horn:+ | | 4 A | horn | 0.3 m
  horn earth: horn:- > horn button:1 | | 4 A | none | | | black
  earth: horn button:2 > frame earth:1 | | | | | | black
  tail: battery:+ 2 > tail lamp:+ | | 5 W | tail | 0.3 m
  earth: tail lamp:- > frame earth:2 | | | | | | black
  strap

Earths in several colours tell nothing
  with: horn | 4 A
  horn: battery:+ > horn:+ | | | horn | 0.3 m | | green
  tail: battery:+ 2 > tail lamp:+ | | 5 W | tail | 0.3 m
  earth: horn:- > battery:- | | | | | | green
  earth: tail lamp:- > battery:- 2 | | | | | | black

A starter's cable, black as battery cable is
  with: starter relay | 2 A | B > M; starter motor | 110 A; start button | | in > out
  crank: battery:+ > starter relay:B | 16.0 | | none | 0.3 m | | black | lug M6 | lug M6
  crank: starter relay:M > starter motor:1 | 16.0 | | none | 0.5 m | | black | lug M6 | lug M8
  start: battery:+ 2 > start button:in | | | start | 0.3 m
  start: start button:out > starter relay:1
  earth: starter relay:2 > frame earth:1 | | | | | | black
  earth: starter motor:2 > battery:- 2 | 16.0 | | | 0.5 m | | black | lug M8 | lug M6
  strap

The black phases of an alternator, and a kill wire that leads to no load
  with: alternator | | none; regulator | | none
  charge: alternator:1 > regulator:1 | 1.0 | 5 A | none | | | black
  charge: alternator:2 > regulator:2 | 1.0 | 5 A | none | | | black
  charge: regulator:B > battery:+ | 1.0 | 5 A | charge | 0.2 m
  head: battery:+ 2 > head lamp:1 | 1.0 | 24 W | head | 0.3 m
  kill: alternator:kill > kill button:1 | 0.5 | | | | | black
  earth: kill button:2 > frame earth:3 | 0.5 | | | | | black
  earth: head lamp:2 > frame earth:1 | 1.0 | | | | | black
  earth: regulator:E > frame earth:2 | 1.0 | 5 A | | | | black
  strap
""")
def test_a_live_wire_in_the_earths_colour(tmp_path: Path, told: str) -> None:
    """Whoever looks for an earth takes hold of it."""
    assert_told_alone(tmp_path, without_indent(told))


TRAILER = """
  stop: battery:+ > stop switch:in | | stop = 5.25 A, fuse 7.5
  stop: stop switch:out > tail lamp:stop | 21 W = 5.25 A, fuse 7.5
  stop: tail lamp:stop > trailer socket:54 | 42 W = 3.5 A, fuse 7.5
  tail: battery:+ 2 > light switch:in | | tail = 1.25 A, fuse 3
  tail: light switch:out > tail lamp:tail | 5 W = 1.25 A, fuse 3
  tail: tail lamp:tail > trailer socket:58R | 10 W = 0.8333 A, fuse 3
  tail: trailer socket:31 > frame earth
  earth: tail lamp:31 > frame earth
  earth: frame earth > battery:-
  silent at: H
"""


@pytest.mark.parametrize("passes", ["", "none"])
def test_a_trailer_is_fed_on_from_each_filament(tmp_path: Path, passes: str) -> None:
    """Stop 21 + 42 W = 5.25 A at 12 V, tail 5 + 10 W = 1.25 A: each in its own wires.

    A fuse for 5.25 A is of 7 A at the least (three quarters), for 1.25 A of 1.67 A.
    """
    with_it = f"A lamp of two filaments\n  with: tail lamp | | {passes}"
    assert_told(tmp_path, with_it + TRAILER)
