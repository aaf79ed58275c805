"""What the words of a name mean, by phrases of the trade: every case is worked out by hand."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bom.trade.phrases import Phrases

MEANINGS = [
    ("tail light", "lamp"),
    ("light", "lamp"),
    ("lamp", "lamp"),
    ("head lamp", "headlamp"),
    ("horn", "horn"),
    ("relay coil", "coil"),
    ("horn relay coil", "horn's coil"),
    ("coil", "ignition"),
    ("brush", "motor"),
    ("pick-up", "pick-up"),
    ("start", "starter"),
    ("cold start", "engine"),
]
PHRASES = Phrases(MEANINGS, "")


@pytest.mark.parametrize(("phrase", "meaning"), MEANINGS)
def test_a_phrase_means_itself(phrase: str, meaning: str) -> None:
    """Alone, and between other words."""
    assert PHRASES.meaning(phrase) == meaning
    assert PHRASES.meaning(f"left {phrase} wire") == meaning


@pytest.mark.parametrize(
    ("names", "meaning"),
    [
        # the longest phrase wins, wherever it stands
        ("coil of a head lamp; head lamp with a coil", "headlamp"),
        ("horn relay", "horn"),
        ("horn relay coil", "horn's coil"),
        ("the relay coil", "coil"),
        ("cold start valve", "engine"),
        # case, spaces and signs do not count
        ("HEAD-LAMP; head  lamp,left", "headlamp"),
        ("Tail/Light", "lamp"),
        ("pick up", "pick-up"),
        # a word stands for its plural
        ("horns", "horn"),
        ("head lamps", "headlamp"),
        ("brushes", "motor"),
        # and for a compound of words that the phrases use
        ("taillight; taillights", "lamp"),
        ("headlamp; Headlamps", "headlamp"),
        ("coldstart", "engine"),
        ("hornrelaycoil", "horn's coil"),
        # a part of a word is no word
        ("clamp; tailor; recoil; lamppost; shorn; relay; ;  - ", ""),
        # the words of a phrase apart, or the other way about, are not the phrase
        ("tail of a light", "lamp"),
        ("start cold", "starter"),
    ],
)
def test_the_longest_phrase_in_a_name(names: str, meaning: str) -> None:
    """Whole words, plurals and compounds; and again, when it is known."""
    for name in [*names.split("; ")] * 2:
        assert PHRASES.meaning(name) == meaning, name


def test_no_phrases_mean_nothing() -> None:
    """An empty table is no fault."""
    assert Phrases([], "").meaning("head lamp") == ""


def test_of_two_meanings_of_one_phrase_the_first_counts() -> None:
    """A table has each phrase once; if it had not, its order would tell."""
    meanings = [("lamp", "one"), ("lamps", "two"), ("lamp", "three")]
    assert Phrases(meanings, "").meaning("lamp") == "one"


@given(st.text(max_size=40))
def test_any_name_is_read(name: str) -> None:
    """Whatever is typed, the answer is a meaning or nothing, and case changes nothing."""
    found = PHRASES.meaning(name)
    assert found in {"", *(meaning for _, meaning in MEANINGS)}
    assert PHRASES.meaning(f"  {name} ") == found


@given(st.lists(st.sampled_from(["left", "clamp", "wire", "x", "12"]), max_size=4))
def test_other_words_change_nothing(others: list[str]) -> None:
    """A phrase among words that no phrase has means what it means alone."""
    assert PHRASES.meaning(" ".join([*others, "tail light", *others])) == "lamp"
    assert PHRASES.meaning(" ".join(others)) == ""
