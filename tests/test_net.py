"""How pins are joined: sources, `passes`, and what one pin shares (contract, rules 1-4)."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bom.job import open_job
from bom.reckon.net import Net, read_passes
from bom.trade.job_book import Pin
from bom.trade.point_names import is_battery, is_earth
from tests.books import assert_told, book, machines, sketch


def net_of(folder: Path, *wires: str, parts: str = "") -> Net:
    """The joints of a job whose wires are written `from > to`, of these components."""
    sheets, _ = sketch("\n".join(["a net", f"with: {parts}" if parts else "", *wires]))
    job = open_job(book(folder, **sheets))
    assert job.net is not None
    return job.net


# ------------------------------------------------------------------- sources and earths


@pytest.mark.parametrize(
    ("name", "battery"),
    [
        *((f"battery{rest}", True) for rest in ("", " +", " -", " 2", " 2 +")),
        *(("Battery", True), ("BATTERY  minus", True)),
        *((f"battery {rest}", False) for rest in ("box", "tray 2", "earth")),
        *((name, False) for name in ("spare battery", "batteries", "")),
    ],
)
def test_a_battery_and_its_poles(name: str, battery: bool) -> None:
    """Rule 2: the first word is `battery`; after it only a pole or a number."""
    assert is_battery(name) == battery


def test_a_battery_is_the_source_beside_a_magneto(tmp_path: Path) -> None:
    """Rule 2: with a battery the magneto is no source, on the Components sheet or not."""
    wires = ("battery:+ > lamp", "magneto:kill > kill switch")
    assert net_of(tmp_path, *wires).sources == {"battery"}
    assert net_of(tmp_path, *wires, parts="magneto").sources == {"battery"}


def test_a_battery_on_the_components_sheet_counts(tmp_path: Path) -> None:
    """Rule 2: a battery is one by its name, on the Components sheet or not."""
    found = net_of(tmp_path, "battery:+ > lamp", parts="battery | | 30 > 87")
    assert found.sources == {"battery"}
    assert found.passing("battery") == "none"


@pytest.mark.parametrize("name", ["magneto", "generator", "flywheel magneto"])
def test_a_machine_without_a_battery_starts_at_what_makes_current(
    tmp_path: Path, name: str
) -> None:
    """Rule 2: the magneto or generator a batteryless machine starts at."""
    assert net_of(tmp_path, f"{name}:lights > lamp", "lamp > frame").sources == {name}


def test_earths_are_known_by_their_names() -> None:
    """Earth, frame, ground, DIN 72552 terminal 31, and either pole of the battery."""
    earths = [Pin("frame earth", "1"), Pin("frame"), Pin("tail lamp", "31"), Pin("battery", "+")]
    assert all(is_earth(pin) for pin in earths)
    assert not any(is_earth(pin) for pin in (Pin("lamp", "1"), Pin("earthenware"), Pin("box")))


def test_the_earthed_pole_is_told_by_where_feeds_start(tmp_path: Path) -> None:
    """A regulator's minus is its earth, but on a positive-earth machine its plus is."""
    usual = net_of(tmp_path, "battery:+ > lamp:1", "lamp:2 > battery:- 1")
    old = net_of(tmp_path, "battery:- > lamp:1", "lamp:2 > battery:+ 1")
    minus, plus, earth = (Pin("regulator", pin) for pin in ("-", "+ 2", "earth"))
    assert not usual.positive_earth
    assert old.positive_earth
    assert usual.is_earth_pin(minus) and not usual.is_earth_pin(plus)
    assert old.is_earth_pin(plus) and not old.is_earth_pin(minus)
    assert usual.is_earth_pin(earth) and old.is_earth_pin(earth)


def test_an_earth_strap_from_the_battery_makes_no_positive_earth(tmp_path: Path) -> None:
    """Someone writes the strap the wrong way round: feeds from the plus settle it."""
    assert not net_of(tmp_path, "battery:+ > lamp:1", "battery:- > frame").positive_earth


# ------------------------------------------------------------------------------- passes


def test_the_longest_name_comes_first() -> None:
    """Rule 4: `dip main` is one pin, although `dip` and `main` are pins too."""
    found = read_passes("lights > dip main", ["lights", "dip", "main", "dip main"])
    assert found.to == {"lights": {"dip main"}}
    assert found.named == {"lights", "dip main"}


def test_names_that_hold_spaces_on_both_sides() -> None:
    """Rule 4: `turn in > left right, horn > earth`: three words, two pins, two rules."""
    found = read_passes(
        "turn in > left right, horn > earth", ["turn in", "left", "right", "horn", "earth"]
    )
    assert found.to == {"turn in": {"left", "right"}, "horn": {"earth"}}


@pytest.mark.parametrize("text", ["a > b, b > c", "b > c, a > b", "a > b > c", "A>b ,  B > C"])
def test_chains_pass_on(text: str) -> None:
    """Rule 4: `a > b, b > c` passes a to c, in any order and in any case."""
    found = read_passes(text, ["a", "b", "c"])
    assert found.to == {"a": {"b", "c"}, "b": {"c"}}


def test_a_chain_over_a_pin_that_no_wire_uses() -> None:
    """A pin without a wire still links a to c; it is told, in case it is a slip."""
    found = read_passes("a > b, b > c", ["a", "c"])
    assert "c" in found.to["a"]
    assert set(found.unused) == {"b"}


@pytest.mark.parametrize("text", ["a", "a >", "> b", "a > > b", "a b c"])
def test_passes_that_cannot_be_read(text: str) -> None:
    """A rule needs pins on both sides of its arrow."""
    assert not read_passes(text, ["a", "b", "c"]).understood


@given(st.lists(st.tuples(st.sampled_from("abcde"), st.sampled_from("abcde")), max_size=6))
def test_passes_are_closed(rules: list[tuple[str, str]]) -> None:
    """What a pin passes to, and what that passes to, it passes to as well; never to itself."""
    found = read_passes(", ".join(f"{a} > {b}" for a, b in rules), list("abcde")).to
    for pin, targets in found.items():
        assert pin not in targets
        assert targets >= {b for a, b in rules if a == pin} - {pin}
        for target in targets:
            assert targets | {pin} >= found.get(target, frozenset())


# --------------------------------------------------------------------- how a component passes


@pytest.mark.parametrize(
    ("row", "how"),
    [
        ("", "all"),  # a point without a row: blank load, blank passes
        ("thing", "all"),
        ("thing | 5 W", "load"),  # with a load nothing passes
        ("thing | 5 W | 1 > 2", "named"),
        ("thing | | 1 > 2", "named"),
        ("thing | | None", "none"),
        ("thing | |  Pin  to pin ", "pin to pin"),
    ],
)
def test_how_a_component_passes(tmp_path: Path, row: str, how: str) -> None:
    """Blank: with a load nothing passes, without one all its pins are one."""
    found = net_of(tmp_path, "battery:+ > thing:1", "thing:2 > lamp", parts=row)
    assert found.passing("thing") == how


def test_onward_and_back_are_the_same_road(tmp_path: Path) -> None:
    """`30 > 87 87a`: onward from 30 to both, back from each to 30 alone; 86 leads nowhere."""
    wires = ("battery:+ 1 > relay:30", "battery:+ 2 > relay:86", "relay:87 > lamp")
    found = net_of(tmp_path, *wires, "relay:87a > horn", parts="relay | 0.15 A | 30 > 87 87a")
    on = {pin: found.onward(Pin("relay", pin)) for pin in ("30", "86", "87")}
    assert set(on["30"]) == {Pin("relay", "87"), Pin("relay", "87a")}
    assert on["86"] == on["87"] == ()
    assert found.back(Pin("relay", "87a")) == (Pin("relay", "30"),)
    assert found.back(Pin("relay", "30")) == ()
    # 86 is not named, so it belongs to the relay's own load
    assert [found.is_own(Pin("relay", pin)) for pin in ("30", "86", "87")] == [False, True, False]


def test_bare_ends_share_nothing_and_a_pin_is_shared(tmp_path: Path) -> None:
    """At a bare point of a lamp every wire has its own terminal; at `lamp:1` they share it."""
    wires = ("battery:+ > lamp:1", "lamp:1 > plate", "lamp > tail")
    found = net_of(tmp_path, *wires, parts="lamp | 5 W")
    assert [w.label for w in found.beyond(Pin("lamp", "1"))[0]] == ["2"]
    assert found.beyond(Pin("lamp")) == ([], [])


def test_all_pins_of_a_switch_are_one_port(tmp_path: Path) -> None:
    """Without load and passes `in`, `out` and a bare end are one; a plug's pins are not."""
    wires = ("battery:+ 1 > switch:in", "switch:out > lamp", "switch > horn")
    plug = ("battery:+ 2 > plug:1", "plug:2 > tail")
    found = net_of(tmp_path, *wires, *plug, parts="plug | | pin to pin")
    assert found.port(Pin("switch", "in")) == found.port(Pin("switch")) == Pin("switch")
    assert [wire.label for wire in found.wires_from(Pin("switch"))] == ["2", "3"]
    assert found.port(Pin("plug", "1")) != found.port(Pin("plug", "2"))


@machines("""
Wires that meet at one pin are joined always, even where nothing passes or at an unnamed pin
  with: regulator | | none; cluster | | in > out; lamp | 60 W
  battery:+ > regulator:out = 5 A  # 60 W / 12 V
  regulator:out > cluster:spare = 5 A
  cluster:spare > lamp:1 = 5 A
  lamp:2 > battery:- = 5 A

Regulator and alternator pass `none`: what goes in does not come out at another pin
  with: regulator | | none; lamp | 60 W
  battery:+ > regulator:in = 0 A
  regulator:out > lamp:1 = 5 A
""")
def test_at_one_pin(tmp_path: Path, told: str) -> None:
    """Rule 4: a pin is one joint, whatever its component passes."""
    assert_told(tmp_path, told, gauge="2.0")
