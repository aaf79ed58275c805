"""Figures of the trade: one formula a function, with its unit, its range and its source.

Nothing here reads a file or knows what a job is.  Lengths are in mm, areas in mm2,
temperatures in degrees Celsius, unless the name says otherwise.  Where a result is rounded
to a whole number or compared with a limit the arithmetic is exact: those functions take
`Exact` numbers and refuse a binary float, in which 0.1 + 0.2 is more than 0.3.

Every function raises ValueError for a value outside its range, and the exact ones TypeError
for a float.  "From memory" marks a source whose text was not at hand.
"""

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from functools import cache
from typing import NamedTuple

from bom.trade.ranges import Exact, exact, not_negative, positive, within

_COPPER_PER_KELVIN = 0.00393  # of the resistance at 20 C, the same source
_COLDEST_C, _HOTTEST_C = -60.0, 260.0  # ours: wider than any wire of the trade is rated for


# ---- Conductors ----------------------------------------------------------------------------


def resistance_at_c(ohm_per_km_20c: float, conductor_c: float) -> float:
    """A copper resistance given at 20 C, at another conductor temperature, -60 to 260 C.

    The unit, per km or per m, is that of the input.  Never mix it with the IEC 60228 factors.
    Source: IEC 60028, from memory; within 0.02 % of FAA AC 43.13-1B, par. 11-66.

    >>> round(resistance_at_c(19.5, 60.0), 2)
    22.57
    """
    positive(ohm_per_km_20c=ohm_per_km_20c)
    within(_COLDEST_C, _HOTTEST_C, conductor_c=conductor_c)
    return ohm_per_km_20c * (1 + _COPPER_PER_KELVIN * (conductor_c - 20))


# ---- Currents, drop, fuses -----------------------------------------------------------------


def drop_volts(amps: float, length_mm: float, ohm_per_km_20c: float, conductor_c: float) -> float:
    """Voltage lost in one conductor, its resistance given at 20 C, -60 to 260 C.

    Amps and length from 0; the way back counts as a conductor of its own.  Source: Ohm's law;
    the example is 5 m of 28/0.30 standard-wall cable at 17.5 A (cable data sheet).

    >>> round(drop_volts(17.5, 5000, 9.4, 20.0), 4)
    0.8225
    """
    not_negative(amps=amps, length_mm=length_mm)
    return amps * resistance_at_c(ohm_per_km_20c, conductor_c) * length_mm / 1e6


def fuse_floor_amps(load_amps: Exact, load_percent: Exact) -> Fraction:
    """Least rating in A of a fuse that is to be loaded at most so many per cent, exact.

    Load from 0; per cent above 0, to 100.  Source: L. Lundy, "The fuse-selection
    checklist", EDN, 26 September 1996 (75 %: 10 A needs 13.3 A).

    >>> fuse_floor_amps(10, 75)
    Fraction(40, 3)
    """
    load, percent = exact(load_amps=load_amps), exact(load_percent=load_percent)
    not_negative(load_amps=load)
    positive(load_percent=percent)
    within(0, 100, load_percent=percent)
    return load * 100 / percent


# ---- Heat ----------------------------------------------------------------------------------

DUTIES: Mapping[str, float] = {"starting": 0.0, "brief": 0.2, "flashing": 0.5, "always": 1.0}
"""Share of the time that a load is on, over minutes, by how it runs (house figures)."""
STARTER_LEAST_AMPS = 30
"""A starter circuit's load from this on is the motor's, in A (house figure)."""
HEAT_MARGIN = 1.4
"""What a reckoned rise is multiplied by before it is compared with a limit (house figure)."""
_CRANKING_S = 30  # house figure: the longest that a starter is kept turning
_PVC_W_PER_M_K = 0.1
_STRAND_MM = 1.243  # diameter of a stranded conductor over the root of its area in mm2


def mean_square_amps2(amps: Mapping[str, float]) -> float:
    """Mean square in A2, over minutes, of loads that run at different times.

    `amps` is the largest sum of the loads of each duty d, by its word in `DUTIES`:
    (sum d S)^2 + sum d (1 - d) S^2.  Source: the mean and the variance of what is on or off
    by chance; the duties are house figures.

    >>> round(mean_square_amps2({"flashing": 7.33}) ** 0.5, 2)
    5.18
    """
    not_negative(**amps)
    mean = math.fsum(DUTIES[runs] * each for runs, each in amps.items())
    spread = (DUTIES[runs] * (1 - DUTIES[runs]) * each**2 for runs, each in amps.items())
    return mean**2 + math.fsum(spread)


class WarmWire(NamedTuple):
    """A wire in a bundle: what it gives off in W/m, its outside, and its conductor in mm2."""

    w_per_m: float
    outside_mm: float
    area_mm2: float


def heat_w_per_m(amps: float, ohm_per_km_20c: float, conductor_c: float) -> float:
    """What a wire gives off in W/m: I^2 r, r at the conductor's temperature.

    Amps from 0, -60 to 260 C.  Source: Joule's law.

    >>> round(heat_w_per_m(10.0, 19.5, 100.0), 3)
    2.563
    """
    not_negative(amps=amps)
    return amps**2 * resistance_at_c(ohm_per_km_20c, conductor_c) / 1000


def taped_mm(bundle_mm: float, thickness_mm: float, overlap_percent: float) -> float:
    """Outside in mm of a taped bundle: D + 2 x thickness / (1 - overlap/100).

    All from 0, the overlap below 100.  Source: geometry.

    >>> round(taped_mm(10.0, 0.13, 50), 2)
    10.52
    """
    not_negative(bundle_mm=bundle_mm, thickness_mm=thickness_mm, overlap_percent=overlap_percent)
    positive(uncovered_percent=100 - overlap_percent)
    return bundle_mm + 2 * thickness_mm / (1 - overlap_percent / 100)


def air_gap_k_m_per_w(bundle_mm: float) -> float:
    """Resistance of the air between a bundle and the tube it lies in: 1.87/(1 + 0.0534 D).

    Bundle above 0.  Source: IEC 60287-2-1, T4' of cables in ducts, from memory; below a bundle of
    25 mm it is extrapolated.

    >>> round(air_gap_k_m_per_w(6.03), 3)
    1.415
    """
    positive(bundle_mm=bundle_mm)
    return 1.87 / (1 + 0.0534 * bundle_mm)


def bundle_rise_k(
    wires: Sequence[WarmWire] | Counter[WarmWire],
    outside_mm: float,
    covering_k_m_per_w: float = 0.0,
) -> float:
    """How much warmer than still air the hottest conductor of a bundle gets, in K.

    `wires` may be counted; `outside_mm` is that of the covered bundle.  With Q the sum of all q,
    and the wires in falling order of q/d^2, each a ring round those before it:
    13 Q^0.88 / D^0.66 + Q R + q1 ln(d1/dc) / (2 pi k) + what the rings hold back.
    Range: bundles of 1.4 to 25 mm in air of 20 to 80 C, a rise to 75 K.
    Source: ours, against the curves of FAA AC 43.13-1B figure 11-5 (MIL-W-5088L) for 5 to 35
    wires of which 20 to 100 % are loaded: -13 to +20 % in amps where three wires or more are
    warm.  With `HEAT_MARGIN` it is never less careful than they are, but for a bundle in which one
    or two wires alone are warm (up to 14 % more amps, never more than the wire has by itself).

    >>> one = WarmWire(heat_w_per_m(10.0, 19.5, 100.0), 2.1, 1.0)
    >>> round(bundle_rise_k([one], 2.1), 2)
    20.38
    """
    counts = Counter(wires)
    positive(outside_mm=outside_mm, thinnest_mm=min((w.outside_mm for w in counts), default=1.0))
    not_negative(covering_k_m_per_w=covering_k_m_per_w)
    total = math.fsum(count * wire.w_per_m for wire, count in counts.items())
    if not total:
        return 0.0
    ordered = sorted(counts, key=lambda wire: (-wire.w_per_m / wire.outside_mm**2, wire))
    first = ordered[0]
    counts[first] -= 1
    rings = [(wire, counts[wire]) for wire in ordered if counts[wire]]
    bare_mm = _STRAND_MM * math.sqrt(first.area_mm2)
    hold = 2 * math.pi * _PVC_W_PER_M_K
    skin = first.w_per_m * math.log(first.outside_mm / bare_mm) / hold
    outside = 13 * math.pow(total, 0.88) / math.pow(outside_mm, 0.66)
    return outside + total * covering_k_m_per_w + skin + _held_back(first, rings) / hold


def _held_back(first: WarmWire, rings: Sequence[tuple[WarmWire, int]]) -> float:
    """What the rings of a bundle hold back, before it is divided by 2 pi k.

    Equal wires are one ring together: their sum comes to that. So are the cold ones, the last.
    """
    inside, within = first.w_per_m, first.outside_mm**2
    parts = []
    cold = math.fsum(count * wire.outside_mm**2 for wire, count in rings if not wire.w_per_m)
    for wire, count in rings:
        if wire.w_per_m:
            ring, gives = count * wire.outside_mm**2, count * wire.w_per_m
            log = math.log1p(ring / within) / 2
            parts.append(inside * log + gives * (0.5 - within * log / ring))
            inside, within = inside + gives, within + ring
    return math.fsum(parts) + inside * math.log1p(cold / within) / 2


def starter_area_mm2(amps: float) -> float:
    """Least area in mm2 of a starter's lead: I sqrt(30 s) / 100.

    Amps from 0.  Source: short-time heating of copper from 40 to 100 C, k = 226 x
    sqrt(ln(334.5/274.5)) = 100 A sqrt(s)/mm2 (IEC 60364-5-54, annex A, from memory).

    >>> round(starter_area_mm2(100.0), 1)
    5.5
    """
    not_negative(amps=amps)
    return amps * math.sqrt(_CRANKING_S) / 100


# ---- Bundles, tape, tube -------------------------------------------------------------------

_CIRCLE_RATIOS = (
    *(1.0, 2.0, 2.154701, 2.414214, 2.701302, 3.0, 3.0, 3.304765, 3.613126, 3.813026),
    *(3.923804, 4.029602, 4.236068, 4.328429, 4.521357, 4.615426, 4.792034, 4.863703),
    *(4.863703, 5.122321),
)


def circle_ratio(n: int) -> float:
    """Diameter of the smallest circle round `n` equal circles of diameter 1, `n` from 1.

    To 20 the published packings; beyond, sqrt(1.15 n) + 0.45, a rule of ours, at most 3.2 %
    over the best known at 37.  Source: E. G. Birgin and J. M. Gentil, 2009, table 1.

    >>> circle_ratio(7), circle_ratio(19)
    (3.0, 4.863703)
    """
    within(1, math.inf, n=n)
    if n <= len(_CIRCLE_RATIOS):
        return _CIRCLE_RATIOS[n - 1]
    return math.sqrt(1.15 * n) + 0.45


@cache
def _bundle_share(k: int) -> float:
    """What the root of the `k` thickest squares is multiplied by for wires of mixed sizes."""
    if k == 3:
        return 1.257
    if k > 20:
        return circle_ratio(k) / math.sqrt(k)
    # Seven equal wires pack better than six or eight, but unequal ones find no such luck:
    # so the worst packing of the numbers ahead counts, and half a per cent on top.
    return 1.005 * max(circle_ratio(j) / math.sqrt(j) for j in range(k, 23))


def bundle_diameter_mm(diameters_mm: Sequence[float] | Counter[float]) -> float:
    """Outside diameter in mm of a round bundle of wires, given theirs in any order or counted.

    Each diameter above 0; no wires give 0, two their sum, equal wires the published packing.
    For mixed ones a rule of ours, measured against 528 numerical packings (0 to +6.9 %); with
    n wires, d1 the thickest and P = `circle_ratio`: the lesser of P(n) x d1 and the
    greatest of 1.02 x (d1 + d2) and share(k) x sqrt(d1^2 + ... + dk^2), k = 3 to n.
    It errs further, on the safe side, where one wire is over 4 times as thick as the rest.
    Source for equal wires: E. G. Birgin and J. M. Gentil, 2009, table 1.

    >>> round(bundle_diameter_mm([2.0] * 7), 6)
    6.0
    """
    falling = sorted(Counter(diameters_mm).items(), reverse=True)
    for diameter_mm, _ in falling:
        positive(diameter_mm=diameter_mm)
    if sum(count for _, count in falling) <= 2:
        return sum((diameter_mm * count for diameter_mm, count in falling), 0.0)
    thickest = [diameter_mm for diameter_mm, count in falling for _ in range(min(count, 2))]
    number, squares, mixed = 0, 0.0, 0.0
    for diameter_mm, count in falling:
        first, last = number + 1, number + count
        # of equal wires beyond 21 the first or the last gives the most
        for k in {*range(first, min(last, 21) + 1), first, last} - {1, 2}:
            square = squares + (k - number) * diameter_mm**2
            mixed = max(mixed, _bundle_share(k) * math.sqrt(square))
        number, squares = last, squares + count * diameter_mm**2
    all_as_thickest = circle_ratio(number) * thickest[0]
    return min(all_as_thickest, max(1.02 * (thickest[0] + thickest[1]), mixed))


def helix_length_mm(covered_mm: float, diameter_mm: float, pitch_mm: float) -> float:
    """Length in mm of a helix that covers a length of a round thing, unrolled.

    covered x sqrt((pi d)^2 + p^2) / p; covered from 0, diameter and pitch above 0.
    Source: geometry; the example is a craft table's turn round a 1 in tube, 5.28 in.

    >>> round(helix_length_mm(4.25 * 25.4, 25.4, 4.25 * 25.4) / 25.4, 3)
    5.285
    """
    not_negative(covered_mm=covered_mm)
    positive(diameter_mm=diameter_mm, pitch_mm=pitch_mm)
    return covered_mm * math.hypot(math.pi * diameter_mm, pitch_mm) / pitch_mm


def tape_length_mm(
    covered_mm: float,
    bundle_mm: float,
    width_mm: float,
    overlap_percent: float,
    thickness_mm: float,
) -> float:
    """Length in mm of tape wound round a bundle, with two turns at each end, without waste.

    The pitch is width x (1 - overlap/100), the diameter that of the bundle and one thickness
    of tape.  Covered and thickness from 0, bundle and width above 0, overlap 0 to below 100.
    Source: geometry; the four turns are common practice.

    >>> round(tape_length_mm(500, 9.87, 19, 50, 0.13), 1)
    1853.1
    """
    not_negative(thickness_mm=thickness_mm, overlap_percent=overlap_percent)
    positive(bundle_mm=bundle_mm, width_mm=width_mm, uncovered_percent=100 - overlap_percent)
    wound_mm = bundle_mm + thickness_mm
    pitch_mm = width_mm * (1 - overlap_percent / 100)
    return helix_length_mm(covered_mm, wound_mm, pitch_mm) + 4 * math.pi * wound_mm


def tube_bore_mm(bundle_mm: float, clearance_percent: float) -> float:
    """Least bore in mm of a tube over a bundle: D x (1 + clearance/100).

    Bundle above 0, clearance from 0.  Source: house rule.

    >>> tube_bore_mm(8.0, 25.0)
    10.0
    """
    positive(bundle_mm=bundle_mm)
    not_negative(clearance_percent=clearance_percent)
    return bundle_mm * (1 + clearance_percent / 100)


# ---- Pieces, spares, money -----------------------------------------------------------------


def round_up(value: Exact, step: int) -> int:
    """The least multiple of `step` that is not below `value`, exact; `step` from 1.

    >>> round_up(1595, 10), round_up(1600, 10), round_up(Decimal("1600.01"), 10)
    (1600, 1600, 1610)
    """
    within(1, math.inf, step=step)
    return math.ceil(exact(value=value) / step) * step


def piece_length_mm(
    path_mm: Exact,
    run_percent: Exact,
    slack_mm: Exact,
    tails_mm: Exact,
    end_mm: Exact,
    step_mm: int,
) -> int:
    """Length in whole mm to cut a wire to, exact until it is rounded up to `step_mm`.

    path x (1 + run/100) + slack + tails + 2 x end; `tails_mm` is both tails together, `end_mm`
    what one end takes.  All from 0, the step from 1.  Source: house rule.

    >>> piece_length_mm(1300, 5, 0, 150, 40, 10)
    1600
    """
    path, run = _ratio("path_mm", path_mm), _ratio("run_percent", run_percent)
    slack, tails = _ratio("slack_mm", slack_mm), _ratio("tails_mm", tails_mm)
    end = _ratio("end_mm", end_mm)
    within(1, math.inf, step=step_mm)
    # the same sum in whole numbers: a fraction's own arithmetic takes ten times as long
    whole = path[1] * 100 * run[1] * slack[1] * tails[1] * end[1]
    total = (
        path[0] * (100 * run[1] + run[0]) * slack[1] * tails[1] * end[1]
        + slack[0] * (whole // slack[1])
        + tails[0] * (whole // tails[1])
        + 2 * end[0] * (whole // end[1])
    )
    return -(-total // (whole * step_mm)) * step_mm


def spare_length_mm(sum_mm: int, percent: Exact, step_mm: int) -> int:
    """Spare cable in whole mm for pieces that sum to `sum_mm`, rounded up to `step_mm`, exact.

    Sum and per cent from 0, the step from 1.  Source: house rule.

    >>> spare_length_mm(1600, 5, 10)
    80
    """
    total, share = exact(sum_mm=sum_mm), exact(percent=percent)
    not_negative(sum_mm=total, percent=share)
    return round_up(total * share / 100, step_mm)


def spare_count(count: int, percent: Exact, minimum: int) -> int:
    """Spares for `count` parts: so many per cent, rounded up, and at least `minimum`; exact.

    0 % means no spares, and parts not used need none.  All from 0.  Source: house rule.

    >>> spare_count(31, 10, 2), spare_count(3, 10, 2), spare_count(3, 0, 2)
    (4, 2, 0)
    """
    share = exact(percent=percent)
    not_negative(count=count, percent=share, minimum=minimum)
    if count == 0 or share == 0:
        return 0
    return max(round_up(count * share / 100, 1), minimum)


def round_money(value: Decimal) -> Decimal:
    """An amount to two places, half a penny and above away from zero, never minus nothing.

    Source: HMRC internal manual VATREC12030; EN 16931 (lines to two decimals).

    >>> round_money(Decimal("2.675"))
    Decimal('2.68')
    """
    exact(value=value)
    return value.quantize(Decimal("0.01"), rounding=ROUND_HALF_UP) + Decimal("0.00")


def tax_on(net: Decimal, percent: Decimal | int) -> Decimal:
    """Tax on the total of all lines of one rate, to two places; per cent from 0.

    Source: EN 16931: not the sum of the tax line by line.

    >>> tax_on(3 * Decimal("33.34"), 19)
    Decimal('19.00')
    """
    not_negative(percent=exact(percent=percent))
    return round_money(net * percent / 100)


def allowed_hours(hours: Fraction, percent: Decimal | int) -> Fraction:
    """Hours with an allowance in per cent, which is -90 or more: hours x (1 + percent / 100).

    Source: arithmetic.

    >>> allowed_hours(Fraction(8), 25)
    Fraction(10, 1)
    """
    share = exact(percent=percent)
    within(-90, math.inf, percent=share)
    return hours * (1 + share / 100)


def _ratio(name: str, value: Exact) -> tuple[int, int]:
    """Numerator and denominator of a number by that name, exact and from 0."""
    ratio = value if type(value) is Fraction else exact(**{name: value})
    top, bottom = ratio.as_integer_ratio()
    if top < 0:
        raise ValueError(f"{name} must be from 0, not {value}")
    return top, bottom
