"""Currents, returns and fuses: each rule of the contract as a small machine, by hand."""

from collections import defaultdict
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bom.job import open_job
from bom.show.job_json import takeoff_out
from tests.books import (
    COMPONENTS,
    FUSES,
    HEAD,
    amps,
    book,
    checked,
    fuses_of,
    machine,
    says,
    wire,
)
from tests.test_cli import JOBS

LAMP = (("lamp", "60 W"),)


def test_a_blank_load_is_the_components_and_the_return_carries_it(tmp_path: Path) -> None:
    """60 W / 12 V = 5 A from the battery through the switch to the lamp and back."""
    answer = machine(
        tmp_path,
        "1: battery:+ > switch | | main",
        "2: switch > lamp:1",
        "3: lamp:2 > earth",
        "4: earth > battery:-",
        components=LAMP,
    )
    assert amps(answer) == {"1": 5, "2": 5, "3": 5, "4": 5}
    # 5 A / 0.75 = 6.67 -> 7.5 A, inherited; returns have none
    assert fuses_of(answer) == {"1": 7.5, "2": 7.5, "3": None, "4": None}


def test_what_is_looped_on_from_the_same_pin_is_carried_too(tmp_path: Path) -> None:
    """Lamp and lamp: the first feed carries both, the second wire only the second lamp."""
    answer = machine(
        tmp_path,
        "1: battery:+ > lamp:1 | | main",
        "2: lamp:1 > plate:1",
        "3: plate:2 > lamp:2",
        "4: lamp:2 > battery:-",
        components=(("lamp", "5 A"), ("plate", "1 A")),
    )
    # 3 is an earth chained from lamp to lamp: from its pin only returns start
    assert amps(answer) == {"1": 6, "2": 1, "3": 1, "4": 6}
    assert fuses_of(answer)["3"] is None


def test_a_ring_counts_each_load_once(tmp_path: Path) -> None:
    """Fuse box, switch, and back to the fuse box: the lamp behind it is reckoned once."""
    answer = machine(
        tmp_path,
        "1: battery:+ > fuse box:in | | main",
        "2: fuse box:a > switch:in",
        "3: switch:out > fuse box:b",
        "4: fuse box:c > lamp:1",
        "5: lamp:2 > battery:-",
        components=LAMP,
    )
    assert amps(answer) == {"1": 5, "2": 5, "3": 5, "4": 5, "5": 5}
    assert fuses_of(answer)["4"] == 7.5


def test_two_ways_to_one_lamp_count_once(tmp_path: Path) -> None:
    """Two switches in parallel: each may carry it all, the feed carries it once."""
    answer = machine(
        tmp_path,
        "1: battery:+ > splice | | main",
        "2: splice > front switch",
        "3: splice > rear switch",
        "4: front switch > lamp:1",
        "5: rear switch > lamp:1",
        "6: lamp:2 > battery:-",
        components=LAMP,
    )
    assert set(amps(answer).values()) == {5}


def test_parallel_earths_share_the_current(tmp_path: Path) -> None:
    """Two earths of one lamp side by side, gauges blank: half of 5 A each."""
    answer = machine(
        tmp_path,
        "1: battery:+ > lamp:1 | | main",
        "2: lamp:2 > earth",
        "3: lamp:3 > earth",
        "4: earth > battery:-",
        components=LAMP,
    )
    assert amps(answer) == {"1": 5, "2": 2.5, "3": 2.5, "4": 5}


def test_a_typed_load_replaces_the_components_for_feed_and_return(tmp_path: Path) -> None:
    """55 W on the Components sheet, 10 A typed on the row: 10 A there and back."""
    answer = machine(
        tmp_path,
        "1: battery:+ > switch | | main",
        "2: switch > lamp:1 | 10 A",
        "3: lamp:2 > battery:-",
        components=(("lamp", "55 W"),),
    )
    assert amps(answer) == {"1": 10, "2": 10, "3": 10}


def test_loads_typed_on_rows_need_no_components(tmp_path: Path) -> None:
    """Two filaments of a lamp without a row: the earth carries both."""
    answer = machine(
        tmp_path,
        "1: battery:+ > switch | | main",
        "2: switch > tail lamp:58 | 5 W",
        "3: switch > tail lamp:54 | 21 W",
        "4: tail lamp:31 > earth",
        "5: earth > battery:-",
    )
    assert amps(answer) == {
        "1": round(26 / 12, 4),
        "2": round(5 / 12, 4),
        "3": 1.75,
        "4": round(26 / 12, 4),
        "5": round(26 / 12, 4),
    }


def test_a_load_typed_on_an_earth_is_a_return(tmp_path: Path) -> None:
    """Someone who types the load in every row, the earths too, gets the same currents."""
    answer = machine(
        tmp_path,
        "1: battery:+ > lamp | 60 W | main",
        "2: lamp > frame earth | 60 W",
        "3: frame earth > battery:- | 60 W",
    )
    assert amps(answer) == {"1": 5, "2": 5, "3": 5}
    assert fuses_of(answer) == {"1": 7.5, "2": None, "3": None}


def test_what_is_looped_on_from_a_lamp_is_added_to_its_typed_load(tmp_path: Path) -> None:
    """The lamp has a return of its own, so that the 5 A are its own: with the plate's 1 A, 6."""
    answer = machine(
        tmp_path,
        "1: battery:+ > lamp:1 | 5 A | main",
        "2: lamp:1 > plate:1",
        "3: lamp:2 > battery:- 1",
        "4: plate:2 > battery:- 2",
        components=(("lamp", "5 A"), ("plate", "1 A")),
    )
    assert amps(answer) == {"1": 6, "2": 1, "3": 5, "4": 1}
    assert not [text for _, _, text in says(answer) if "stands for all" in text]


def test_a_typed_load_that_is_not_what_lies_beyond_is_cautioned(tmp_path: Path) -> None:
    """Typed at a switch, 5 A stand for all beyond it, where 3 A and 1 A are: 4 A."""
    answer = machine(
        tmp_path,
        "1: battery:+ > switch:in | 5 A | main",
        "2: switch:a > lamp:1",
        "3: switch:b > plate:1",
        "4: lamp:2 > battery:- 1",
        "5: plate:2 > battery:- 2",
        components=(("switch", None, "in > a b"), ("lamp", "3 A"), ("plate", "1 A")),
    )
    assert amps(answer)["1"] == 5
    told = [text for _, cell, text in says(answer) if cell == "G2"]
    assert told == [
        "the load typed for wire 1, 5 A, stands for all beyond switch, where the loads come to 4 A"
    ]


def test_bare_ends_at_a_lamp_share_nothing(tmp_path: Path) -> None:
    """At a bare point every wire has its own terminal: what starts there is not looped on."""
    answer = machine(
        tmp_path,
        "1: battery:+ 1 > lamp | | main",
        "2: lamp > plate | | plate",
        components=(("lamp", "5 A"), ("plate", "1 A")),
    )
    assert amps(answer) == {"1": 5, "2": 1}


def test_three_lamps_looped_on_and_their_earths_chained(tmp_path: Path) -> None:
    """1, 2 and 3 A: feeds carry 6, 5, 3 A on the way out, earths 1, 3, 6 A on the way back."""
    answer = machine(
        tmp_path,
        "1: battery:+ > a:1 | | main",
        "2: a:1 > b:1",
        "3: b:1 > c:1",
        "4: a:2 > b:2",
        "5: b:2 > c:2",
        "6: c:2 > battery:-",
        components=(("a", "1 A"), ("b", "2 A"), ("c", "3 A")),
    )
    assert amps(answer) == {"1": 6, "2": 5, "3": 3, "4": 1, "5": 3, "6": 6}
    # 6 A / 0.75 = 8 -> 10 A; wires that lead to no load have none
    assert fuses_of(answer) == dict(zip("123456", (10, 10, 10, None, None, None), strict=True))


def test_relay_coils_chained_to_earth(tmp_path: Path) -> None:
    """The same at pins that `passes` does not name: 85 to 85 to earth carries both coils."""
    answer = machine(
        tmp_path,
        "1: battery:+ > a:86 | | main",
        "2: a:86 > b:86",
        "3: a:85 > b:85",
        "4: b:85 > battery:-",
        components=(("a", "0.5 A", "30 > 87"), ("b", "0.25 A", "30 > 87")),
    )
    assert amps(answer) == {"1": 0.75, "2": 0.25, "3": 0.5, "4": 0.75}
    assert fuses_of(answer)["3"] is None


def test_two_pins_of_one_lamp_fed_count_its_load_once(tmp_path: Path) -> None:
    """Ways to one lamp at two of its pins: each carries 5 A, and so does what feeds both."""
    answer = machine(
        tmp_path,
        "1: battery:+ > splice | | main",
        "2: splice > lamp:1",
        "3: splice > lamp:2",
        "4: lamp:3 > battery:-",
        components=LAMP,
    )
    assert amps(answer) == {"1": 5, "2": 5, "3": 5, "4": 5}


def test_a_ring_of_splices_carries_each_load_once(tmp_path: Path) -> None:
    """A true ring, a to b to c to a, with a lamp at each: 1 + 2 + 3 A everywhere in it."""
    answer = machine(
        tmp_path,
        "1: battery:+ > a | | main",
        "2: a > b",
        "3: b > c",
        "4: c > a",
        "5: a > one:1",
        "6: b > two:1",
        "7: c > three:1",
        components=(("one", "1 A"), ("two", "2 A"), ("three", "3 A")),
    )
    found = amps(answer)
    assert [found[label] for label in "1234567"] == [6, 6, 6, 6, 1, 2, 3]
    # 6 A / 0.75 = 8 -> 10 A all round the ring
    assert set(fuses_of(answer).values()) == {10}


def test_a_load_typed_upstream_stands_for_everything_beyond(tmp_path: Path) -> None:
    """10 A typed on the feed of a fuse box: before it 10 A, behind it what the lamp takes."""
    answer = machine(
        tmp_path,
        "1: battery:+ > switch | | main",
        "2: switch > box | 10 A",
        "3: box > lamp:1",
        "4: lamp:2 > battery:-",
        components=LAMP,
    )
    assert amps(answer) == {"1": 10, "2": 10, "3": 5, "4": 5}
    # 10 A / 0.75 = 13.3 -> 15 A
    assert fuses_of(answer)["1"] == 15


def test_loads_by_name_with_a_row_a_filament(tmp_path: Path) -> None:
    """H4 (UN R37, from memory 60/55 W): 60 / 12 = 5 A and 55 / 12 = 4.5833 A."""
    answer = machine(
        tmp_path,
        "1: battery:+ 1 > headlamp:main | H4 main | main",
        "2: battery:+ 2 > headlamp:dip | H4 dip | dip",
    )
    assert amps(answer) == {"1": 5, "2": round(55 / 12, 4)}


@pytest.mark.parametrize("battery", ["battery", "Battery", "battery +", "battery 2", "battery:- 1"])
def test_what_comes_to_a_battery_feeds_nothing(tmp_path: Path, battery: str) -> None:
    """A wire to the battery is a return, whatever else starts there."""
    answer = machine(
        tmp_path,
        "1: battery:out > lamp:1 | | main",
        f"2: lamp:2 > {battery}",
        components=LAMP,
    )
    assert amps(answer) == {"1": 5, "2": 5}
    assert fuses_of(answer)["2"] is None


def test_a_battery_box_is_no_battery(tmp_path: Path) -> None:
    """After the first word only a pole or a number may follow: a box passes current on."""
    answer = machine(
        tmp_path,
        "1: battery:+ > battery box:in | | main",
        "2: battery box:out > lamp:1",
        "3: lamp:2 > battery:-",
        components=LAMP,
    )
    assert amps(answer) == {"1": 5, "2": 5, "3": 5}
    assert fuses_of(answer)["2"] == 7.5


def test_a_machine_without_a_battery_starts_at_its_magneto(tmp_path: Path) -> None:
    """Magneto to lamp and back: what comes to the magneto feeds nothing further."""
    answer = machine(
        tmp_path,
        "1: magneto:lights > lamp:1 | | none",
        "2: lamp:2 > magneto:earth",
        components=LAMP,
    )
    assert amps(answer) == {"1": 5, "2": 5}


def test_coil_to_points_is_a_return(tmp_path: Path) -> None:
    """The coil's load comes back through the points, and through a switch that earths."""
    answer = machine(
        tmp_path,
        "1: battery:+ > coil:+ | | ignition",
        "2: coil:- > points",
        "3: points > kill switch",
        "4: kill switch > battery:-",
        components=(("coil", "4 A"),),
    )
    assert amps(answer) == {"1": 4, "2": 4, "3": 4, "4": 4}
    assert [fuses_of(answer)[label] for label in "234"] == [None, None, None]


def test_a_charge_lamp_earths_through_the_regulator(tmp_path: Path) -> None:
    """Lamp to regulator leads to no load, since a regulator passes nothing: a return of 2 W."""
    answer = machine(
        tmp_path,
        "1: battery:+ > lamp:1 | | ignition",
        "2: lamp:2 > regulator:61",
        components=(("lamp", "2.4 W"), ("regulator", None, "none")),
    )
    # 2.4 / 12 = 0.2 A
    assert amps(answer) == {"1": 0.2, "2": 0.2}
    assert fuses_of(answer)["2"] is None


def test_a_neutral_lamp_and_a_horn_with_switches_that_earth(tmp_path: Path) -> None:
    """Each switch carries what comes to it, and the earth they share carries both."""
    answer = machine(
        tmp_path,
        "1: battery:+ 1 > neutral lamp:1 | | ignition",
        "2: neutral lamp:2 > neutral switch",
        "3: battery:+ 2 > horn:1 | | horn",
        "4: horn:2 > cluster:horn",
        "5: cluster:earth > frame:1",
        "6: neutral switch > frame:2",
        "7: frame:3 > battery:-",
        components=(
            ("neutral lamp", "0.2 A"),
            ("horn", "4 A"),
            ("cluster", None, "lights > dip, horn > earth"),
        ),
    )
    assert amps(answer) == {"1": 0.2, "2": 0.2, "3": 4, "4": 4, "5": 4, "6": 0.2, "7": 4.2}
    assert [fuses_of(answer)[label] for label in "24567"] == [None] * 5


def test_a_return_through_a_plug(tmp_path: Path) -> None:
    """`pin to pin` passes back as it passes on: each earth keeps to its own pin."""
    answer = machine(
        tmp_path,
        "1: battery:+ 1 > lamp:1 | | a",
        "2: battery:+ 2 > horn:1 | | b",
        "3: lamp:2 > plug:3",
        "4: horn:2 > plug:4",
        "5: plug:3 > battery:- 1",
        "6: plug:4 > battery:- 2",
        components=(("plug", None, "pin to pin"), ("lamp", "5 A"), ("horn", "4 A")),
    )
    assert amps(answer) == {"1": 5, "2": 4, "3": 5, "4": 4, "5": 5, "6": 4}


def test_a_spare_wire_off_a_live_splice_carries_nothing(tmp_path: Path) -> None:
    """It leads to no load and is followed back only along wires that lead to none: 0 A."""
    answer = machine(
        tmp_path,
        "1: battery:+ > splice | | main",
        "2: splice > lamp:1",
        "3: splice > spare",
        components=LAMP,
    )
    assert amps(answer)["3"] == 0
    assert fuses_of(answer)["3"] is None


def test_a_fuse_typed_on_a_return_is_null_all_the_same(tmp_path: Path) -> None:
    """Rule 3: the `fuse` of a return is null, and the cell is pointed at."""
    answer = machine(
        tmp_path,
        "1: battery:+ > lamp:1 | 5 A | main",
        "2: lamp:2 > battery:- | | main",
    )
    assert fuses_of(answer) == {"1": 7.5, "2": None}
    assert ("Circuits", "H3") in [(sheet, cell) for sheet, cell, _ in says(answer, "caution")]


def test_a_positive_earth_machine(tmp_path: Path) -> None:
    """Feeds start at the minus; the regulator's minus charges, and its plus is the earth."""
    answer = machine(
        tmp_path,
        "1: battery:- 1 > switch | | main",
        "2: switch > lamp:1",
        "3: lamp:2 > frame",
        "4: frame > battery:+ 1",
        "5: regulator:- > battery:- 2 | 8 A | none",
        "6: regulator:+ > battery:+ 2 | 8 A",
        components=(*LAMP, ("regulator", None, "none")),
    )
    assert amps(answer) == {"1": 5, "2": 5, "3": 5, "4": 5, "5": 8, "6": 8}
    assert fuses_of(answer) == dict(zip("123456", (7.5, 7.5, *[None] * 4), strict=True))
    # neither the earth nor the charging wire, unfused on purpose, is told of
    assert not [cell for _, cell, _ in says(answer) if cell.startswith("H")]


RELAY = (("relay", "0.5 A", "30 > 87"), ("lamp", "60 W"))


def test_a_relay_passes_at_its_contacts_and_keeps_its_coil(tmp_path: Path) -> None:
    """`30 > 87`: the contacts carry the lamp, 86 and 85 the coil alone."""
    answer = machine(
        tmp_path,
        "1: battery:+ 1 > relay:30 | | lamp",
        "2: relay:87 > lamp:1",
        "3: battery:+ 2 > relay:86 | | coil",
        "4: relay:85 > earth:1",
        "5: lamp:2 > earth:2",
        "6: earth:3 > battery:-",
        components=RELAY,
    )
    assert amps(answer) == {"1": 5, "2": 5, "3": 0.5, "4": 0.5, "5": 5, "6": 5.5}
    assert fuses_of(answer)["2"] == 7.5


def test_passes_with_names_that_hold_spaces_and_chains(tmp_path: Path) -> None:
    """`lights > dip main, turn in > left right`; `a > b, b > c` passes a to c."""
    answer = machine(
        tmp_path,
        "1: battery:+ 1 > cluster:lights | | lights",
        "2: battery:+ 2 > cluster:turn in | | turn",
        "3: cluster:dip main > chain:a",
        "4: chain:c > head:1",
        "5: cluster:left > front left:1",
        "6: cluster:right > front right:1",
        "7: battery:+ 3 > cluster:spare | | spare",
        components=(
            ("cluster", None, "lights > dip main, turn in > left right"),
            ("chain", None, "a > b, b > c"),
            ("head", "5 A"),
            ("front left", "2 A"),
            ("front right", "2 A"),
        ),
    )
    found = amps(answer)
    # an unnamed pin of a component that passes something and has no load passes nothing
    assert (found["1"], found["2"], found["7"]) == (5, 4, 0)


def test_a_load_that_no_wire_comes_to_is_told(tmp_path: Path) -> None:
    """A flasher of two pins, both named: its own 0.05 A would be forgotten in silence."""
    answer = machine(
        tmp_path,
        "1: battery:+ > flasher:49 | | turn",
        "2: flasher:49a > lamp:1",
        components=(("flasher", "0.05 A", "49 > 49a"), ("lamp", "2 A")),
    )
    assert amps(answer) == {"1": 2, "2": 2}
    assert any("the load of flasher is in no current" in text for _, _, text in says(answer))


def test_a_plug_passes_pin_to_pin(tmp_path: Path) -> None:
    """Each pin of a plug goes on by itself."""
    answer = machine(
        tmp_path,
        "1: battery:+ 1 > plug:1 | | a",
        "2: battery:+ 2 > plug:2 | | b",
        "3: plug:1 > lamp:1",
        "4: plug:2 > horn:1",
        components=(("plug", None, "pin to pin"), ("lamp", "5 A"), ("horn", "3 A")),
    )
    assert amps(answer) == {"1": 5, "2": 3, "3": 5, "4": 3}


def test_a_component_that_passes_nothing_still_has_its_load(tmp_path: Path) -> None:
    """An ignition box with `none`: 3 A in, 3 A to earth, and its trigger wire carries nothing."""
    answer = machine(
        tmp_path,
        "1: battery:+ > box:in | | ignition",
        "2: box:earth > battery:-",
        components=(("box", "3 A", "none"),),
    )
    assert amps(answer) == {"1": 3, "2": 3}


def test_blank_passes_with_a_load_pass_nothing(tmp_path: Path) -> None:
    """What starts at another pin of a lamp is not fed by the lamp."""
    answer = machine(
        tmp_path,
        "1: battery:+ > lamp:1 | | main",
        "2: lamp:3 > horn:1",
        components=(("lamp", "5 A"), ("horn", "4 A")),
    )
    assert amps(answer) == {"1": 5, "2": 4}
    assert fuses_of(answer)["2"] is None


# ------------------------------------------------------------------------------- one of


def test_never_on_together_counts_the_larger(tmp_path: Path) -> None:
    """Main 5 A and dip 4 A, each row a choice of its own: the feed and the earth carry 5 A."""
    answer = machine(
        tmp_path,
        "1: battery:+ > dip switch | | main",
        "2: dip switch > headlamp:56a | 5 A | | beam",
        "3: dip switch > headlamp:56b | 4 A | | beam",
        "4: headlamp:31 > battery:-",
    )
    assert amps(answer) == {"1": 5, "2": 5, "3": 4, "4": 5}


def test_choices_with_a_name_are_on_together(tmp_path: Path) -> None:
    """turn:left 2 + 2 A, turn:right 2 + 1 A: the feed carries the larger side, 4 A."""
    answer = machine(
        tmp_path,
        "1: battery:+ > flasher | | turn",
        "2: flasher > front left:1 | 2 A | | turn:left",
        "3: flasher > rear left:1 | 2 A | | turn:left",
        "4: flasher > front right:1 | 2 A | | turn:right",
        "5: flasher > rear right:1 | 1 A | | turn:right",
    )
    assert amps(answer)["1"] == 4


def test_the_same_word_further_on_does_not_count_again(tmp_path: Path) -> None:
    """A feed with the word covers all it feeds: both lamps are on together."""
    answer = machine(
        tmp_path,
        "1: battery:+ > switch | | main",
        "2: switch > splice | | | beam:main",
        "3: splice > lamp:1 | | | beam:other",
        "4: splice > tell-tale:1",
        components=(("lamp", "5 A"), ("tell-tale", "1 A")),
    )
    assert amps(answer)["1"] == 6


def test_one_way_without_a_word_can_always_be_on(tmp_path: Path) -> None:
    """The lamp is fed by dip and by a pass button without the word: 4 + 5 A."""
    answer = machine(
        tmp_path,
        "1: battery:+ > splice | | main",
        "2: splice > lamp:1 | | | beam",
        "3: splice > button",
        "4: button > lamp:1",
        "5: splice > other:1 | | | beam",
        components=(("lamp", "5 A"), ("other", "4 A")),
    )
    assert amps(answer)["1"] == 9


def test_a_components_word_does_not_cover_what_is_looped_on(tmp_path: Path) -> None:
    """`stop` is a choice of its own lamp; the plate lamp looped on from its pin is not."""
    answer = machine(
        tmp_path,
        "1: battery:+ > splice | | main",
        "2: splice > stop:1",
        "3: stop:1 > plate:1",
        "4: splice > reverse:1",
        components=(
            ("stop", "2 A", None, "gear"),
            ("plate", "1 A"),
            ("reverse", "5 A", None, "gear"),
        ),
    )
    # gear: the larger of 2 and 5 A; plate always
    assert amps(answer)["1"] == 6


def test_a_word_on_three_loads_belongs_on_the_feeds(tmp_path: Path) -> None:
    """Four indicators with `turn` and no choice: only one is reckoned on, so say so."""
    answer = machine(
        tmp_path,
        "1: battery:+ > flasher | | turn",
        *(f"{n}: flasher > lamp {n}:1 | 2 A | | turn" for n in "2345"),
    )
    assert any("only one is reckoned on" in text for _, _, text in says(answer, "caution"))


def test_two_words_are_set_apart(tmp_path: Path) -> None:
    """Beam: the larger of 5 and 4 A; turn: the larger of 2 and 1 A; tail always 0.5 A: 7.5 A."""
    answer = machine(
        tmp_path,
        "1: battery:+ > box | | main",
        "2: box > head:1 | 5 A | | beam:main",
        "3: box > head:2 | 4 A | | beam:dip",
        "4: box > left:1 | 2 A | | turn:left",
        "5: box > right:1 | 1 A | | turn:right",
        "6: box > tail:1 | 0.5 A",
        "7: head:3 > earth:1",
        "8: left:2 > earth:2",
        "9: right:2 > earth:3",
        "10: tail:2 > earth:4",
        "11: earth:5 > battery:-",
    )
    found = amps(answer)
    assert (found["1"], found["11"]) == (7.5, 7.5)
    assert found["7"] == 5
    # 7.5 A / 0.75 = 10 A
    assert fuses_of(answer)["1"] == 10


def test_two_words_one_inside_the_other(tmp_path: Path) -> None:
    """Road or park: park 1 A; road has beam main 5 A or dip 4 A, and tail 0.5 A: 5.5 A."""
    answer = machine(
        tmp_path,
        "1: battery:+ > key | | main",
        "2: key > road | | | key:road",
        "3: key > park:1 | 1 A | | key:park",
        "4: road > head:1 | 5 A | | beam",
        "5: road > head:2 | 4 A | | beam",
        "6: road > tail:1 | 0.5 A",
    )
    found = amps(answer)
    assert (found["1"], found["2"]) == (5.5, 5.5)


def test_the_largest_choice_comes_back_on_the_earth(tmp_path: Path) -> None:
    """The word stands on the feeds of two switches; the lamps' common earth knows it too."""
    answer = machine(
        tmp_path,
        "1: battery:+ > box | | main",
        "2: box > left switch | | | turn:left",
        "3: box > right switch | | | turn:right",
        "4: left switch > front left:1",
        "5: left switch > rear left:1",
        "6: right switch > front right:1",
        "7: front left:2 > earth",
        "8: rear left:2 > earth",
        "9: front right:2 > earth",
        "10: earth > battery:-",
        components=(("front left", "2 A"), ("rear left", "2 A"), ("front right", "2 A")),
    )
    found = amps(answer)
    # left: 2 + 2 A, right: 2 A
    assert (found["1"], found["2"], found["3"], found["10"]) == (4, 4, 2, 4)


def test_a_components_word_covers_what_passes_through_it(tmp_path: Path) -> None:
    """Two relays, main and dip: each covers its own coil and the lamp behind its contacts."""
    answer = machine(
        tmp_path,
        "1: battery:+ > box | | main",
        "2: box > main relay:30",
        "3: box > dip relay:30",
        "4: main relay:87 > head:1 | 5 A",
        "5: dip relay:87 > head:2 | 4 A",
        "6: box > main relay:86",
        "7: box > dip relay:86",
        components=(
            ("main relay", "0.5 A", "30 > 87", "beam:main"),
            ("dip relay", "0.25 A", "30 > 87", "beam:dip"),
        ),
    )
    # main: 5 + 0.5 A, dip: 4 + 0.25 A
    assert amps(answer)["1"] == 5.5


def test_choices_on_components_are_on_together(tmp_path: Path) -> None:
    """turn:left on two lamps of 2 A, turn:right on one of 3 A: 4 A in the feed."""
    answer = machine(
        tmp_path,
        "1: battery:+ > flasher | | turn",
        "2: flasher > a:1",
        "3: flasher > b:1",
        "4: flasher > c:1",
        components=(
            ("a", "2 A", None, "turn:left"),
            ("b", "2 A", None, "Turn:Left"),
            ("c", "3 A", None, "turn:right"),
        ),
    )
    assert amps(answer)["1"] == 4


def test_a_word_without_choices_on_three_components(tmp_path: Path) -> None:
    """The third one's cell on the Components sheet."""
    answer = machine(
        tmp_path,
        "1: battery:+ > flasher | | turn",
        *(f"{n}: flasher > lamp {n}:1" for n in "234"),
        components=tuple((f"lamp {n}", "2 A", None, "turn") for n in "234"),
    )
    assert amps(answer)["1"] == 2
    found = [(sheet, cell) for sheet, cell, text in says(answer) if "only one is reckoned" in text]
    assert found == [("Components", "D4")]


@pytest.mark.parametrize(
    "words",
    [("turn", "turn", ""), ("turn:left", "turn:left", "turn:right"), ("turn", "turn", "turn:a")],
)
def test_two_loads_or_choices_are_no_doubt(tmp_path: Path, words: tuple[str, ...]) -> None:
    """Only three loads or more without choices are."""
    answer = machine(
        tmp_path,
        "1: battery:+ > flasher | | turn",
        *(f"{n}: flasher > lamp {n}:1 | 2 A | | {word}" for n, word in enumerate(words, 2)),
    )
    assert not any("only one is reckoned on" in text for _, _, text in says(answer))


def test_a_word_on_three_feeds_is_where_it_belongs(tmp_path: Path) -> None:
    """Three feeds of switches, two lamps behind the first: the largest, 4 A, and no doubt."""
    answer = machine(
        tmp_path,
        "1: battery:+ > box | | main",
        *(f"{n}: box > switch {n} | | | mode" for n in "234"),
        "5: switch 2 > a:1 | 2 A",
        "6: switch 2 > b:1 | 2 A",
        "7: switch 3 > c:1 | 3 A",
        "8: switch 4 > d:1 | 1 A",
    )
    assert amps(answer)["1"] == 4
    assert not any("only one is reckoned on" in text for _, _, text in says(answer))


# -------------------------------------------------------------------------------- fuses


@pytest.mark.parametrize(
    ("load", "rating"),
    [
        # ISO 8820-3 ratings (from memory) at 75 % (Lundy, EDN, 26 September 1996)
        (0.75, 3),  # never below 3 A (house rule fuse_least_a)
        (1.5, 3),
        (2.25, 3),
        (3, 4),
        (3.75, 5),
        (3.76, 7.5),
        (5.625, 7.5),
        (7.5, 10),
        (10, 15),  # the checklist's own example: 10 / 0.75 = 13.3 -> 15 A
        (11.25, 15),
        (15, 20),
        (18.75, 25),
        (22.5, 30),
        (26.25, 35),
        (30, 40),
    ],
)
def test_the_smallest_standard_rating(tmp_path: Path, load: float, rating: float) -> None:
    """Exactly 75 % of a rating is enough for it; a hundredth more takes the next."""
    answer = machine(tmp_path, f"1: battery:+ > lamp:1 | {load} A | main")
    assert fuses_of(answer)["1"] == rating
    assert not [text for _, _, text in says(answer) if "fuse 'main'" in text]


def test_over_three_quarters_of_the_largest(tmp_path: Path) -> None:
    """31 A / 0.75 = 41.3 A is not made: 40 A, with a caution (31 / 40 = 78 %)."""
    answer = machine(tmp_path, "1: battery:+ > lamp:1 | 31 A | main")
    assert fuses_of(answer)["1"] == 40
    assert ("Circuits", "H2", "fuse 'main' of 40 A carries 31 A: 78 % of its rating") in says(
        answer, "caution"
    )


def test_ratings_follow_the_holder(tmp_path: Path) -> None:
    """Torpedo fuses are 5, 8, 16, 25 A (DIN 72581-1): 5 A / 0.75 = 6.67 -> 8 A."""
    answer = machine(
        tmp_path,
        "1: battery:+ > lamp:1 | 5 A | main",
        fuses=[("main", None, "torpedo fuse box")],
    )
    assert fuses_of(answer)["1"] == 8


def test_the_house_may_load_its_fuses_otherwise(tmp_path: Path) -> None:
    """`fuse_load_percent` 50: 5 A / 0.5 = 10 A."""
    answer = machine(tmp_path, "1: battery:+ > lamp:1 | 5 A | main", fuse_load_percent=50)
    assert fuses_of(answer)["1"] == 10


def test_feeds_that_agree(tmp_path: Path) -> None:
    """Two wires from behind one fuse meet at a splice: what it feeds is behind that fuse."""
    answer = machine(
        tmp_path,
        "1: battery:+ > switch | | main",
        "2: switch > splice",
        "3: switch > splice",
        "4: splice > lamp:1",
        components=LAMP,
    )
    assert set(fuses_of(answer).values()) == {7.5}


def test_none_is_unfused_on_purpose(tmp_path: Path) -> None:
    """`none`: null, no caution at that wire, and nothing to inherit for the next one."""
    answer = machine(
        tmp_path,
        "1: battery:+ > relay:30 | | none",
        "2: relay:87 > lamp:1",
        components=(*LAMP, ("relay", None, "30 > 87")),
    )
    assert fuses_of(answer) == {"1": None, "2": None}
    assert "H2" not in [cell for _, cell, _ in says(answer)]


def test_a_fuse_typed_on_every_wire_counts_its_first_ones(tmp_path: Path) -> None:
    """Typed again further on, and in capitals: still one fuse with 5 A behind it."""
    answer = machine(
        tmp_path,
        "1: battery:+ > switch | | Main",
        "2: switch > lamp:1 | | MAIN",
        components=LAMP,
    )
    assert fuses_of(answer) == {"1": 7.5, "2": 7.5}


def test_first_wires_to_the_same_load_count_it_once(tmp_path: Path) -> None:
    """Two wires from the fuse box to two switches of one lamp: 5 A, not 10 A."""
    answer = machine(
        tmp_path,
        "1: battery:+ 1 > front switch | | stop",
        "2: battery:+ 2 > rear switch | | stop",
        "3: front switch > lamp:1",
        "4: rear switch > lamp:1",
        components=LAMP,
    )
    assert set(fuses_of(answer).values()) == {7.5}


def test_a_fuse_counts_the_largest_choice(tmp_path: Path) -> None:
    """Main 6 A and dip 5 A behind one fuse: 6 / 0.75 = 8 -> 10 A, not 11 / 0.75 -> 15 A."""
    answer = machine(
        tmp_path,
        "1: battery:+ > dip switch | | main",
        "2: dip switch > head:1 | 6 A | | beam",
        "3: dip switch > head:2 | 5 A | | beam",
    )
    assert fuses_of(answer)["1"] == 10


def test_a_main_fuse_with_a_load_of_its_own(tmp_path: Path) -> None:
    """It feeds a fuse of 5 A and a horn of 3 A: 8 / 0.75 = 10.7, so 15 A, the horn's too."""
    answer = machine(
        tmp_path,
        "1: battery:+ > box | | main",
        "2: box > lamp:1 | 5 A | left",
        "3: box > horn:1 | 3 A",
    )
    assert fuses_of(answer) == {"1": 15, "2": 7.5, "3": 15}


def test_a_fuse_row_that_no_wire_names(tmp_path: Path) -> None:
    """A caution at its name; counted only if it has a rating: 3 A (with its spare) and no 5 A."""
    path = book(
        tmp_path,
        Circuits=[HEAD, ("1", "x", "battery:+", "lamp:1", "red", "2.0", "5 A", "main", None, 1)],
        Fuses=[FUSES, ("main",), ("radio", 3), ("clock",)],
    )
    assert [cell for sheet, cell, _ in says(checked(path)) if sheet == "Fuses"] == ["A3", "A4"]
    assert fuse_needs(path) == {"blade fuse, 7.5 A": 1 + 1, "blade fuse, 3 A": 1 + 1}


def test_spares_are_the_largest_cell_of_a_rating(tmp_path: Path) -> None:
    """Two of 7.5 A with 1 and 3 spares: 2 + 3; one of 15 A without a cell: 1 + 1 of the house."""
    path = book(
        tmp_path,
        Circuits=[
            HEAD,
            ("1", "x", "battery:+ 1", "a:1", "red", "2.0", "5 A", "a", None, 1),
            ("2", "y", "battery:+ 2", "b:1", "blue", "2.0", "5 A", "b", None, 1),
            ("3", "z", "battery:+ 3", "c:1", "green", "2.0", "10 A", "c", None, 1),
        ],
        Fuses=[FUSES, ("a", None, None, 1), ("b", None, None, 3)],
    )
    assert fuse_needs(path) == {"blade fuse, 7.5 A": 2 + 3, "blade fuse, 15 A": 1 + 1}


def fuse_needs(path: Path) -> dict[str, float]:
    """How many of each fuse a job takes, spares included."""
    needs = takeoff_out(open_job(path))["needs"]
    return {need["item"]: need["quantity"] for need in needs if need["kind"] == "fuse"}


def test_feeds_behind_two_fuses_have_none(tmp_path: Path) -> None:
    """Two feeds that disagree, or one without a fuse: null, and a caution."""
    answer = machine(
        tmp_path,
        "1: battery:+ 1 > splice | | a",
        "2: battery:+ 2 > splice | | b",
        "3: splice > lamp:1",
        components=LAMP,
    )
    assert fuses_of(answer)["3"] is None
    assert any(
        cell == "H4" and "more than one fuse: a, b" in text for _, cell, text in says(answer)
    )


def test_a_charging_wire_feeds_no_fuses_wires(tmp_path: Path) -> None:
    """It comes to the same junction: the lamp is behind main all the same, 15 / 0.75 = 20 A."""
    answer = machine(
        tmp_path,
        "1: battery:+ > junction | | main",
        "2: regulator:out > junction | 15 A",
        "3: junction > lamp:1",
        components=(("regulator", None, "none"), ("lamp", "5 A")),
    )
    assert fuses_of(answer)["3"] == 20
    told = [text for _, _, text in says(answer)]
    assert not [text for text in told if "no fuse" in text or "without a fuse" in text]


def test_a_regulators_earth_is_a_return(tmp_path: Path) -> None:
    """A load typed on it says what it carries; it is no charging feed and wants no fuse."""
    answer = machine(
        tmp_path,
        "1: battery:+ > lamp:1 | 5 A | main",
        "2: lamp:2 > battery:- 1",
        "3: regulator:earth > battery:- 2 | 8 A",
        components=(("regulator", None, "none"),),
    )
    assert amps(answer)["3"] == 8
    assert fuses_of(answer)["3"] is None
    assert not [cell for _, cell, _ in says(answer) if cell == "H4"]


def test_a_fuse_that_feeds_fuses_is_loaded_to_three_quarters_too(tmp_path: Path) -> None:
    """Main feeds two fuses of 5 A each: 10 / 0.75 = 13.3 -> 15 A."""
    answer = machine(
        tmp_path,
        "1: battery:+ > fuse box | | main",
        "2: fuse box > lamp:1 | 5 A | left",
        "3: fuse box > lamp:2 | 5 A | right",
    )
    assert fuses_of(answer) == {"1": 15, "2": 7.5, "3": 7.5}


def test_ratings_compare_exactly(tmp_path: Path) -> None:
    """1.0 + 2.0 + 0.3 + 0.45 A are 3.75 A: a 5 A fuse at 75 %, not 7.5 A."""
    answer = machine(
        tmp_path,
        "1: battery:+ > box | | small",
        "2: box > a:1 | 1.0 A",
        "3: box > b:1 | 2.0 A",
        "4: box > c:1 | 0.3 A",
        "5: box > d:1 | 0.45 A",
    )
    assert fuses_of(answer)["1"] == 5


@pytest.mark.parametrize(("rating", "level"), [(4, "error"), (5, "caution"), (7.5, None)])
def test_typed_ratings(tmp_path: Path, rating: float, level: str | None) -> None:
    """5 A: on 4 A an error, on 5 A over 75 %, on 7.5 A nothing."""
    answer = machine(
        tmp_path,
        "1: battery:+ > lamp | 5 A | main",
        "2: lamp > battery:-",
        fuses=[("main", rating)],
    )
    found = [p["level"] for p in answer["problems"] if p["sheet"] == "Fuses"]
    assert found == ([level] if level else [])


def test_a_load_over_the_largest_fuse_is_an_error(tmp_path: Path) -> None:
    """No blade fuse carries 45 A."""
    answer = machine(tmp_path, "1: battery:+ > lamp | 45 A | main")
    assert any("no rating is large enough" in text for _, _, text in says(answer, "error"))


def test_of_charging_and_load_the_larger_counts_for_a_fuse(tmp_path: Path) -> None:
    """The regulator's 15 A run back through main to the battery: 15 / 0.75 = 20 A, not 7.5."""
    answer = machine(
        tmp_path,
        "1: battery:+ > junction | | main",
        "2: regulator:out > junction | 15 A | main",
        "3: junction > lamp:1",
        components=(("regulator", None, "none"), ("lamp", "5 A")),
    )
    assert fuses_of(answer) == {"1": 20, "2": 20, "3": 20}


def test_wires_in_quantity(tmp_path: Path) -> None:
    """Two wires of 3 A each: amps for one, the feed carries both."""
    answer = machine(
        tmp_path,
        "1: battery:+ > box | | main",
        "2: box > lamp | 3 A | | | 2",
    )
    assert amps(answer) == {"1": 6, "2": 3}


def test_wires_in_quantity_with_a_blank_load_share_it(tmp_path: Path) -> None:
    """Like parallel returns: two earths in one row, 2.5 A in each."""
    answer = machine(
        tmp_path,
        "1: battery:+ > lamp:1 | | main",
        "2: lamp:2 > battery:- | | | | 2",
        components=LAMP,
    )
    assert amps(answer) == {"1": 5, "2": 2.5}


def test_a_load_in_quantity_comes_back_in_full(tmp_path: Path) -> None:
    """3 A is for one of the two wires: 6 A in the fuse (6 / 0.75 = 8 -> 10 A) and the earth."""
    answer = machine(
        tmp_path,
        "1: battery:+ > heater:1 | 3 A | main | | 2",
        "2: heater:2 > battery:-",
    )
    assert amps(answer) == {"1": 3, "2": 6}
    assert fuses_of(answer)["1"] == 10
    assert len(answer["wires"]) == 2


def test_no_load_either_way_is_cautioned_unless_the_gauge_is_typed(tmp_path: Path) -> None:
    """0 A keeps the smallest gauge and says so."""
    head = ("from", "to", "colour", "gauge", "length")
    rows = [("a:1", "b:1", "red", None, 1), ("a:2", "b:2", "blue", "1.0", 1)]
    answer = checked(book(tmp_path, Circuits=[head, *rows]))
    assert wire(answer, "W1")["gauge"] == "0.5"
    assert [cell for _, cell, text in says(answer) if "0 A" in text] == ["A2"]


# --------------------------------------------------------------------------------- laws


def test_kirchhoff_on_the_twin() -> None:
    """At each joint with one feed in, no word and no second way: amps in are amps out."""
    job = open_job(JOBS / "twin.xlsx")
    assert job.net
    assert job.sized
    assert job.currents
    always = {load for load, ways in job.currents.ways.items() if ways == {frozenset()}}
    entries = [entry.loaded for entry in job.sized.wires]
    seen = 0
    for point in job.net.pins:
        if job.net.passing(point) != "all" or point in job.net.sources:
            continue
        into = [e for e in entries if e.wire.finish.point == point and not e.is_return]
        out = [e for e in entries if e.wire.start.point == point and not e.is_return]
        loads = [load for e in out for load in e.loads]
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


@settings(max_examples=60, deadline=None)
@given(random_machines())
def test_currents_are_the_largest_sum_over_every_way_and_setting(
    tmp_path_factory: pytest.TempPathFactory,
    random: tuple[list[Edge], dict[str, tuple[int, str]]],
) -> None:
    """Rules 1, 3 and 5 walked by brute force, rings and cross wires and words among them."""
    edges, lamps = random
    rows = [f"{n}: {a} > {b} | | main | {word}" for n, (a, b, word) in enumerate(edges)]
    returns = [f"back {lamp}: {lamp}:2 > earth" for lamp in lamps]
    components = tuple((lamp, f"{load} A", None, word) for lamp, (load, word) in lamps.items())
    answer = machine(
        tmp_path_factory.mktemp("random"),
        *rows,
        *returns,
        "all: earth > battery:-",
        components=components,
    )
    expected = {str(n): walked(edges, lamps, [n]) for n in range(len(edges))}
    roots = [n for n, (start, _, _) in enumerate(edges) if start == "battery:+"]
    expected["all"] = walked(edges, lamps, roots)
    expected |= {f"back {lamp}": load for lamp, (load, _) in lamps.items()}
    assert amps(answer) == expected


@settings(max_examples=40, deadline=None)
@given(parents=st.lists(st.integers(0, 50), min_size=2, max_size=14), data=st.data())
def test_kirchhoff_on_random_feed_trees(
    tmp_path_factory: pytest.TempPathFactory, parents: list[int], data: st.DataObject
) -> None:
    """Battery, splices, lamps, earth: amps in are amps out, and row order is free."""
    folder = tmp_path_factory.mktemp("tree")
    rows: list[str] = []
    expected: dict[str, int] = defaultdict(int)
    nodes = [-1, *(min(p, n) for n, p in enumerate(parents))]
    children = set(nodes[1:])
    rows.append("w0: battery:+ > n0 | | main")
    for n, parent in enumerate(nodes[1:], start=1):
        rows.append(f"w{n}: n{parent} > n{n}" if n in children else f"w{n}: n{parent} > n{n}:1")
    loads = {n: data.draw(st.integers(1, 9)) for n in range(len(nodes)) if n not in children}
    for n, load in loads.items():
        rows.append(f"e{n}: n{n}:2 > earth")
        at = n
        while at >= 0:
            expected[f"w{at}"] += load
            at = nodes[at]
        expected[f"e{n}"] += load
    rows.append("back: earth > battery:-")
    expected["back"] = sum(loads.values())
    order = data.draw(st.permutations(rows))
    components = tuple((f"n{n}", f"{load} A") for n, load in loads.items())
    path = [row.split(": ", 1) for row in order]
    circuits = [
        (
            label,
            label,
            ends.split(" > ")[0],
            ends.split("|")[0].split(" > ")[1].strip(),
            "red",
            "35.0",
            None,
            "main" if label == "w0" else None,
            None,
            1,
            None,
        )
        for label, ends in path
    ]
    job = open_job(
        book(
            folder,
            Circuits=[HEAD, *circuits],
            Components=[COMPONENTS, *((*c, None, None) for c in components)],
        )
    )
    assert job.sized is not None
    found = {entry.wire.label: int(entry.loaded.amps) for entry in job.sized.wires}
    assert found == dict(expected)
