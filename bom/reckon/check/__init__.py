"""Checks: everything wrong or doubtful about a job that was read, measured and sized.

The checks are a plain list of functions, each from the findings to problems with cells.
An error stops the job; a caution is what a tradesman would point out and go on.
"""

from collections.abc import Callable, Iterator

from bom.reckon.check import circuits, electrical, fuses, limits, loadless, loom, room, slips
from bom.reckon.check.electrical import lights_on_watts
from bom.reckon.check.findings import Findings
from bom.trade.problem import Problem

__all__ = ["CHECKS", "Findings", "check", "lights_on_watts"]


def check(findings: Findings, *, ways_known: bool = True) -> tuple[Problem, ...]:
    """Every problem of the job, in no order.

    Where the way of a wire or the battery is not known, nothing is said of what is sized by it.
    """
    checks = CHECKS if ways_known else [one for one in CHECKS if one not in OF_WHAT_IS_SIZED]
    return tuple(problem for one in checks for problem in one(findings))


CHECKS: tuple[Callable[[Findings], Iterator[Problem]], ...] = (
    loadless.slips_of_the_pen,
    loadless.missing_loads,
    loadless.loads_of_nothing,
    slips.unused_words,
    slips.unused_components,
    electrical.over_rating,
    electrical.thin_starter_leads,
    limits.none_meets_all,
    electrical.too_warm,
    limits.too_much_drop,
    electrical.under_its_fuse,
    electrical.main_fuse_far_away,
    electrical.charging_balance,
    electrical.contact_amps,
    electrical.words_on_many_loads,
    circuits.unfused_feeds,
    circuits.fuse_on_a_return,
    circuits.no_return,
    circuits.passes_understood,
    circuits.loads_beyond_a_typed_load,
    circuits.load_against_its_component,
    circuits.feed_and_earth_at_one_pin,
    circuits.nothing_to_the_battery,
    circuits.wires_on_the_wrong_pole,
    circuits.batteries_by_other_names,
    circuits.shorts,
    circuits.live_in_the_earths_colour,
    fuses.fuse_ratings,
    fuses.fuse_rows,
    fuses.fuse_names,
    fuses.ratings_for_names,
    fuses.fuses_in_series,
    loom.cable_colours,
    loom.same_colour_in_a_branch,
    loom.colour_changes,
    loom.earth_colours,
    loom.all_one_colour,
    loom.crowded_contacts,
    loom.thin_for_its_terminal,
    loom.thin_beside_thick,
    loom.plug_pins,
    loom.pins_off_the_face,
    loom.unused_branches,
    loom.places_off_the_loom,
    room.places_of_nothing,
    room.no_room,
)

OF_WHAT_IS_SIZED = frozenset(
    (
        *(electrical.over_rating, electrical.thin_starter_leads, electrical.too_warm),
        *(electrical.under_its_fuse, electrical.contact_amps, limits.none_meets_all),
        *(limits.too_much_drop, loom.cable_colours, loom.crowded_contacts),
        *(loom.thin_for_its_terminal, loom.thin_beside_thick),
    )
)
"""Checks that hang on currents, and on gauges chosen by them."""
