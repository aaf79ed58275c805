"""House rules: their defaults, their limits, and the file a new workshop gets."""

import tomllib
from decimal import Decimal
from typing import Any

import pytest

from bom.trade.house import (
    BLANK,
    PERCENT_KEYS,
    RULES,
    WORD_KEYS,
    HouseRules,
    allowed,
    workshop_toml,
)
from bom.trade.house import DEFAULTS as OURS
from bom.trade.rule import COMMON, HOUSE, NotAllowed

DEFAULTS: dict[str, Any] = {
    # design section 3, "House rules and defaults", typed from there
    "volts": 12,
    "ambient_c": 40,
    "conductor_c": 60,
    "longest_run_m": 12,
    "end": "bullet joint",
    "end_mm": 40,
    "step_mm": 10,
    "run_percent": 5,
    "cable_spare_percent": 5,
    "terminal_spare_percent": 10,
    "terminal_spare_min": 2,
    "covering_waste_percent": 10,
    "fuse_spares": 1,
    "useful_offcut_mm": 300,
    "tape_width_mm": 19,
    "tape_overlap_percent": 50,
    "tape_thickness_mm": Decimal("0.13"),
    "tube_clearance_percent": 15,
    "shrink_end_mm": 40,
    "fuse_load_percent": 75,
    "drop_percent": BLANK,
    "drop_percent_other": BLANK,
    "insulation_c": 100,
    "floor_amps": Decimal("2.5"),
    "floor_gauge": "1.0",
    "line_worth": Decimal("0.50"),
    "fuse_least_a": 3,
    "gauges": (),
    # hidden -> tape, weather -> tube, show -> braid over tube (common practice)
    "cover_hidden": "tape",
    "cover_weather": "tube",
    "cover_show": "braid",
    "heading": "Estimate",  # as it stood on the screen: what is found may change the price
    "currency": "GBP",
    "tax_percent": 20,
    # left to the workshop: nothing is charged that nobody set
    "markup_percent": 0,
    "hourly_rate": 0,
    "leftover_worth": 0,
    # hours as counted, until finished jobs say more
    "labour_percent": 0,
    # of the house: months; the last two ends of a year are there when the accounts are made
    "keep_copies": 24,
    # of the house: a small parcel and a quarter of an hour; a working week
    "order_cost": Decimal("0.6"),
    "lead_days": 5,
    # common practice
    "holding_percent": 20,
    "service_percent": 95,
}


@pytest.mark.parametrize("key", DEFAULTS)
def test_defaults_are_the_designs(key: str) -> None:
    assert getattr(HouseRules(), key) == DEFAULTS[key]


NOT_MEANT: dict[str, tuple[Any, ...]] = {
    "volts": (0, -12, "NaN", "Infinity", 10**9),
    "ambient_c": (400,),
    "longest_run_m": (0,),
    "end_mm": (-1,),
    "step_mm": (0, Decimal("2.5")),
    "run_percent": (-1,),
    "labour_percent": (-91,),
    "terminal_spare_min": (-1,),
    "fuse_spares": (Decimal("0.5"),),
    "tape_overlap_percent": (100,),
    "fuse_load_percent": (0, 101),
    "drop_percent": (0,),
    "currency": ("pounds",),
    "leftover_worth": (Decimal("1.1"), -1),
    "keep_copies": (-1, Decimal("2.5")),
    # an order for nothing, goods kept for nothing: the best order size would be no number
    "order_cost": (0,),
    "holding_percent": (0,),
    "lead_days": (0,),
    "service_percent": (0, 100),
    "tax_percent": ("twenty",),
}
# six volts, frost, no spares, tape edge to edge, goods here by noon
JUST_MEANT: dict[str, tuple[Any, ...]] = {
    "volts": (6, Decimal("13.5")),
    "ambient_c": (-10,),
    "end_mm": (0,),
    "terminal_spare_percent": (0,),
    "tape_overlap_percent": (0, Decimal("99.9")),
    "leftover_worth": (1,),
    "labour_percent": (-90,),
    "keep_copies": (0,),
    "order_cost": (Decimal("0.01"),),
    "lead_days": (Decimal("0.5"),),
    "service_percent": (Decimal("99.9"),),
}


@pytest.mark.parametrize(("key", "value"), [(key, v) for key in NOT_MEANT for v in NOT_MEANT[key]])
def test_what_cannot_be_meant_is_refused(key: str, value: Any) -> None:
    """A figure that no workshop can mean does not become a rule; the fault says what it must be."""
    with pytest.raises(NotAllowed):
        allowed(key, value)


MOST: dict[str, int] = {
    # what no workshop would go over, by hand: a crimp takes no metre, ISO 4217 has currencies of
    # which an hour costs hundreds of thousands, extra-low voltage ends at 120 V DC (IEC 61140)
    "end_mm": 1000,
    "trim_mm": 1000,
    "shrink_end_mm": 1000,
    "hourly_rate": 1_000_000,
    "volts": 120,
    "longest_run_m": 100,
    "price_age_days": 3650,
    "drop_percent": 100,
}
FIGURES = [key for key, rule in RULES.items() if rule.range]


@pytest.mark.parametrize("key", MOST)
def test_the_most_is_allowed_and_no_more(key: str) -> None:
    """At the bound, and just beyond it."""
    assert allowed(key, MOST[key]) == MOST[key]
    with pytest.raises(NotAllowed):
        allowed(key, MOST[key] + 1)


@pytest.mark.parametrize("key", FIGURES)
@pytest.mark.parametrize("typed", ["1e308", "1e-308", "-1e308", "1" + "0" * 400])
def test_a_figure_slipped_on_is_told_whatever_its_size(key: str, typed: str) -> None:
    """Or is within the range, as next to nothing is from 0 up; never another fault."""
    try:
        found = allowed(key, typed)
    except NotAllowed:
        return
    assert abs(found) < 1


@pytest.mark.parametrize("key", FIGURES)
def test_every_figure_has_a_most_with_its_reason(key: str) -> None:
    """The sentence that the user reads says why."""
    rule = RULES[key]
    with pytest.raises(NotAllowed) as told:
        allowed(key, "1e308")
    assert rule.below is not None or (rule.why and rule.why in str(told.value))


@pytest.mark.parametrize(("key", "value"), [(k, v) for k in JUST_MEANT for v in JUST_MEANT[k]])
def test_limits_that_are_allowed(key: str, value: Any) -> None:
    """And they become the rule's own kind of value."""
    assert allowed(key, value) == value
    assert type(allowed(key, value)) is type(OURS[key])


def test_an_unknown_rule_is_refused_and_rules_do_not_change() -> None:
    """Frozen, and closed."""
    with pytest.raises(KeyError):
        allowed("vlots", 12)
    rules: Any = HouseRules()
    with pytest.raises(AttributeError):
        rules.volts = Decimal(6)
    assert rules.volts == 12


def test_the_file_of_a_new_workshop_sets_every_rule_to_its_default() -> None:
    """Read back, it says the same as no file at all, and names the workshop."""
    name = 'Sample "Twins" \\ Sons'
    figures = tomllib.loads(workshop_toml(name), parse_float=Decimal)
    assert list(figures) == list(RULES)
    read = {key: allowed(key, value) for key, value in figures.items()}
    assert HouseRules(**read) == HouseRules(name=name)


@pytest.mark.parametrize("key", RULES)
def test_the_file_of_a_new_workshop_explains_each_rule_above_it(key: str) -> None:
    """The description in words, and whether it is common practice or a house default."""
    assert RULES[key].origin in (COMMON, HOUSE) and len(RULES[key].says) > 15
    lines = workshop_toml("").splitlines()
    above = lines[next(i for i, line in enumerate(lines) if line.startswith(f"{key} =")) - 1]
    assert above.startswith("# ")
    assert above.endswith(f"[{RULES[key].origin}]")
    assert RULES[key].says in above


def test_kinds_of_keys() -> None:
    """Which rules are per cents and which are words, told apart by hand."""
    assert {"run_percent", "drop_percent_other", "tax_percent"} <= PERCENT_KEYS
    assert not PERCENT_KEYS & {"volts", "leftover_worth", "end_mm"}
    assert {
        *("name", "address", "logo", "number", "locale", "included", "not_included", "terms"),
        *("heading", "end", "in_line_end", "floor_gauge", "currency"),
        *("cover_hidden", "cover_weather", "cover_show"),
    } == WORD_KEYS
