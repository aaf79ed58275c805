"""Figures of the trade: one formula a function, with its unit, its range and its source.

Nothing here reads a file or knows another part of the program.  Lengths are in mm, areas in
mm2, temperatures in degrees Celsius, unless the name says otherwise.  Where a result is
rounded to a whole number or compared with a limit the arithmetic is exact: those functions
take `Exact` numbers and refuse a binary float, in which 0.1 + 0.2 is more than 0.3.

Every function raises ValueError for a value outside its range, and the exact ones TypeError
for a float.  "From memory" marks a source whose text was not at hand.
"""

import math
from collections.abc import Mapping, Sequence
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from functools import cache
from itertools import accumulate
from typing import TypeAlias

Exact: TypeAlias = Fraction | Decimal | int
"""A number without binary rounding."""

_COPPER_OHM_MM2_PER_M_20C = 1 / 58  # annealed copper, IEC 60028, from memory
_COPPER_PER_KELVIN = 0.00393  # of the resistance at 20 C, the same source
_ABYC_OHM_CIRCULAR_MILS_PER_FT = 10.75
_WARMING_SHARE = 0.3
_COLDEST_C, _HOTTEST_C = -60.0, 260.0  # ours: wider than any wire of the trade is rated for
_THICKEST_AWG, _THINNEST_AWG = -3, 40  # 4/0 to 40


# ---- Conductors ----------------------------------------------------------------------------


def awg_diameter_mm(number: int) -> float:
    """Diameter in mm of a solid wire of an AWG number: 0.127 x 92^((36 - n)/39).

    `number` is -3 to 40; 1/0 is 0, 2/0 is -1, 3/0 is -2 and 4/0 is -3.
    Source: ASTM B258.

    >>> round(awg_diameter_mm(18), 2)
    1.02
    """
    _within(_THICKEST_AWG, _THINNEST_AWG, number=number)
    return float(0.127 * 92 ** ((36 - number) / 39))


def awg_area_mm2(number: int) -> float:
    """Area in mm2 of a solid wire of an AWG number, -3 (4/0) to 40.

    Source: ASTM B258.

    >>> round(awg_area_mm2(18), 3)
    0.823
    """
    return math.pi / 4 * awg_diameter_mm(number) ** 2


def circular_mils_mm2(circular_mils: float) -> float:
    """Area in mm2 of an area in circular mils (a circle of 0.001 in across), above 0.

    Source: NIST SP 811, appendix B.8, from memory.

    >>> round(circular_mils_mm2(1.0), 10)
    0.0005067075
    """
    _positive(circular_mils=circular_mils)
    return circular_mils * math.pi / 4 * 0.0254**2


def copper_ohm_per_m(area_mm2: float, conductor_c: float = 20.0) -> float:
    """Resistance in ohm/m of solid annealed copper of an area in mm2, -60 to 260 C.

    A stranded cable has more, up to 15 %: take its published resistance where there is one.
    Source: IEC 60028, from memory (1/58 ohm mm2/m at 20 C, 0.00393 per K).

    >>> round(copper_ohm_per_m(1.0), 5)
    0.01724
    """
    _positive(area_mm2=area_mm2)
    return resistance_at_c(_COPPER_OHM_MM2_PER_M_20C / area_mm2, conductor_c)


def resistance_at_c(ohm_per_km_20c: float, conductor_c: float) -> float:
    """A copper resistance given at 20 C, at another conductor temperature, -60 to 260 C.

    The unit, per km or per m, is that of the input.  Never mix it with the IEC 60228 factors.
    Source: IEC 60028, from memory; within 0.02 % of FAA AC 43.13-1B, par. 11-66.

    >>> round(resistance_at_c(19.5, 60.0), 2)
    22.57
    """
    _positive(ohm_per_km_20c=ohm_per_km_20c)
    _within(_COLDEST_C, _HOTTEST_C, conductor_c=conductor_c)
    return ohm_per_km_20c * (1 + _COPPER_PER_KELVIN * (conductor_c - 20))


def iec60228_temperature_factor(conductor_c: float) -> float:
    """Factor that brings a resistance measured at 0 to 100 C to 20 C: 250/(230 + t).

    For readings on a reel only; never mix it with `resistance_at_c` (0.893 against 0.895 at
    50 C).  Source: IEC 60228, annex with the temperature correction factors.

    >>> round(iec60228_temperature_factor(50.0), 3)
    0.893
    """
    _within(0, 100, conductor_c=conductor_c)
    return 250 / (230 + conductor_c)


def length_at_c_ft(length_20c_ft: float, conductor_c: float) -> float:
    """Longest run in feet at a conductor temperature, from the longest at 20 C.

    L2 = 254.5 x L1 / (234.5 + T2), -60 to 260 C.  Source: FAA AC 43.13-1B, par. 11-66; the
    example is its No. 2, page 11-27, the result from memory.

    >>> round(length_at_c_ft(15.5, 182.0), 1)
    9.5
    """
    _positive(length_20c_ft=length_20c_ft)
    _within(_COLDEST_C, _HOTTEST_C, conductor_c=conductor_c)
    return 254.5 * length_20c_ft / (234.5 + conductor_c)


def conductor_c_from_load(ambient_c: float, rated_c: float, amps: float, max_amps: float) -> float:
    """Estimated conductor temperature under load: T2 = T1 + (TR - T1) x sqrt(I2/Imax).

    `max_amps` is the current that brings the wire from `ambient_c` to `rated_c`, its rating;
    `amps` is 0 to `max_amps`, `ambient_c` below `rated_c`.  The estimate is on the high side.
    Source: FAA AC 43.13-1B, par. 11-66; the example is its No. 2, page 11-27, the result
    from memory.

    >>> round(conductor_c_from_load(50.0, 200.0, 20.0, 26.0))
    182
    """
    _within(_COLDEST_C, _HOTTEST_C, ambient_c=ambient_c, rated_c=rated_c)
    _positive(max_amps=max_amps, room_to_rated_c=rated_c - ambient_c)
    _within(0, max_amps, amps=amps)
    return ambient_c + (rated_c - ambient_c) * math.sqrt(amps / max_amps)


# ---- Currents, drop, fuses -----------------------------------------------------------------


def amps_from_watts(watts: Exact, volts: Exact) -> Fraction:
    """Current in A of a load in W at a voltage, exact.  Watts from 0, volts above 0.

    Common practice: a 55 W headlamp bulb, reckoned as 60 W, draws 5 A at 12 V.

    >>> amps_from_watts(60, 12)
    Fraction(5, 1)
    """
    power, voltage = _exact(watts=watts), _exact(volts=volts)
    _not_negative(watts=power)
    _positive(volts=voltage)
    return power / voltage


def drop_volts(amps: float, length_mm: float, ohm_per_km_20c: float, conductor_c: float) -> float:
    """Voltage lost in one conductor, its resistance given at 20 C, -60 to 260 C.

    Amps and length from 0; the way back counts as a conductor of its own.  Source: Ohm's law;
    the example is 5 m of 28/0.30 standard-wall cable at 17.5 A (cable data sheet).

    >>> round(drop_volts(17.5, 5000, 9.4, 20.0), 4)
    0.8225
    """
    _not_negative(amps=amps, length_mm=length_mm)
    return amps * resistance_at_c(ohm_per_km_20c, conductor_c) * length_mm / 1e6


def abyc_circular_mils(amps: float, length_ft: float, volts_allowed: float) -> float:
    """Least area in circular mils for a drop: 10.75 x I x L / E.

    `length_ft` is there and back, `volts_allowed` the drop in V, all above 0.
    Source: ABYC E-11, with its worked example of 10 A, 21 ft, 3 % of 12 V.

    >>> round(abyc_circular_mils(10.0, 21.0, 0.36))
    6271
    """
    _positive(amps=amps, length_ft=length_ft, volts_allowed=volts_allowed)
    return _ABYC_OHM_CIRCULAR_MILS_PER_FT * amps * length_ft / volts_allowed


def ambient_factor(max_c: float, ambient_c: float, reference_c: float) -> float:
    """Share of a cable's rating left at another ambient: sqrt((Tmax - Ta)/(Tmax - Tref)).

    `max_c` is what the insulation stands, `reference_c` the ambient of the rating, below it;
    0 where the ambient is `max_c` or more.  Above 1 in the cold.
    Source: the rule behind IEC 60364-5-52, table B.52.14, from memory.

    >>> round(ambient_factor(70.0, 50.0, 30.0), 2)
    0.71
    """
    _within(_COLDEST_C, _HOTTEST_C, max_c=max_c, ambient_c=ambient_c, reference_c=reference_c)
    _positive(room_over_reference_c=max_c - reference_c)
    return math.sqrt(max(0.0, max_c - ambient_c) / (max_c - reference_c))


def grouping_factor(factors: Mapping[int, float], wires: int) -> float:
    """Factor on the rating of wires bunched together, from a table by number of loaded wires.

    Between two rows the next larger number counts, beyond the table its last row; an empty
    table means 1.  Wires from 0.  Source: catalogs/grouping.csv names it.

    >>> grouping_factor({1: 1.0, 2: 0.8, 3: 0.7}, 2), grouping_factor({1: 1.0, 3: 0.7}, 9)
    (0.8, 0.7)
    """
    _not_negative(wires=wires)
    if not factors or wires < 2:
        return 1.0
    return factors[min((n for n in factors if n >= wires), default=max(factors))]


def counts_in_a_group(amps: float, rated_amps: float, factor_of_all: float) -> bool:
    """True for a wire that warms its bunch: over 30 % of its rating grouped with all the others.

    Amps from 0, rating and factor above 0.  Source: IEC 60364-5-52, note to table B.52.17
    (from memory).

    >>> counts_in_a_group(5, 16.5, 0.5), counts_in_a_group(0.4, 16.5, 0.5)
    (True, False)
    """
    _not_negative(amps=amps)
    _positive(rated_amps=rated_amps, factor_of_all=factor_of_all)
    return amps > _WARMING_SHARE * rated_amps * factor_of_all


def fuse_floor_amps(load_amps: Exact, load_percent: Exact) -> Fraction:
    """Least rating in A of a fuse that is to be loaded at most so many per cent, exact.

    Load from 0; per cent above 0, to 100.  Source: L. Lundy, "The fuse-selection
    checklist", EDN, 26 September 1996 (75 %: 10 A needs 13.3 A).

    >>> fuse_floor_amps(10, 75)
    Fraction(40, 3)
    """
    load, percent = _exact(load_amps=load_amps), _exact(load_percent=load_percent)
    _not_negative(load_amps=load)
    _positive(load_percent=percent)
    _within(0, 100, load_percent=percent)
    return load * 100 / percent


# ---- Bundles, tape, tube, shrink -----------------------------------------------------------

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
    _within(1, math.inf, n=n)
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


def bundle_diameter_mm(diameters_mm: Sequence[float]) -> float:
    """Outside diameter in mm of a round bundle of wires of given diameters, in any order.

    Each diameter above 0; no wires give 0, two their sum, equal wires the published packing.
    For mixed ones a rule of ours, measured against 528 numerical packings (0 to +6.9 %); with
    n wires, d1 the thickest and P = `circle_ratio`: the lesser of P(n) x d1 and the
    greatest of 1.02 x (d1 + d2) and share(k) x sqrt(d1^2 + ... + dk^2), k = 3 to n.
    It errs further, on the safe side, where one wire is over 4 times as thick as the rest.
    Source for equal wires: E. G. Birgin and J. M. Gentil, 2009, table 1.

    >>> round(bundle_diameter_mm([2.0] * 7), 6)
    6.0
    """
    for diameter_mm in diameters_mm:
        _positive(diameter_mm=diameter_mm)
    falling = sorted(diameters_mm, reverse=True)
    if len(falling) <= 2:
        return sum(falling, 0.0)
    squares = list(accumulate(d * d for d in falling))
    mixed = max(_bundle_share(k) * math.sqrt(squares[k - 1]) for k in range(3, len(falling) + 1))
    all_as_thickest = circle_ratio(len(falling)) * falling[0]
    return min(all_as_thickest, max(1.02 * (falling[0] + falling[1]), mixed))


def helix_length_mm(covered_mm: float, diameter_mm: float, pitch_mm: float) -> float:
    """Length in mm of a helix that covers a length of a round thing, unrolled.

    covered x sqrt((pi d)^2 + p^2) / p; covered from 0, diameter and pitch above 0.
    Source: geometry; the example is a craft table's turn round a 1 in tube, 5.28 in.

    >>> round(helix_length_mm(4.25 * 25.4, 25.4, 4.25 * 25.4) / 25.4, 3)
    5.285
    """
    _not_negative(covered_mm=covered_mm)
    _positive(diameter_mm=diameter_mm, pitch_mm=pitch_mm)
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
    _not_negative(thickness_mm=thickness_mm, overlap_percent=overlap_percent)
    _positive(bundle_mm=bundle_mm, width_mm=width_mm, uncovered_percent=100 - overlap_percent)
    wound_mm = bundle_mm + thickness_mm
    pitch_mm = width_mm * (1 - overlap_percent / 100)
    return helix_length_mm(covered_mm, wound_mm, pitch_mm) + 4 * math.pi * wound_mm


def tube_bore_mm(bundle_mm: float, clearance_percent: float) -> float:
    """Least bore in mm of a tube over a bundle: D x (1 + clearance/100).

    Bundle above 0, clearance from 0.  Source: house rule.

    >>> tube_bore_mm(8.0, 25.0)
    10.0
    """
    _positive(bundle_mm=bundle_mm)
    _not_negative(clearance_percent=clearance_percent)
    return bundle_mm * (1 + clearance_percent / 100)


def shrink_fits(supplied_mm: float, recovered_mm: float, object_mm: float) -> bool:
    """Whether heat-shrink slips over a thing and grips it: supplied > thing > recovered.

    Bores and thing in mm, above 0; the recovered bore is the smaller.  Common practice;
    the example is the rule of three quarters, a 1 in tube of 2:1 on 5/8 in.

    >>> shrink_fits(25.4, 12.7, 15.875)
    True
    """
    _positive(supplied_mm=supplied_mm, recovered_mm=recovered_mm, object_mm=object_mm)
    _positive(shrinkage_mm=supplied_mm - recovered_mm)
    return supplied_mm > object_mm > recovered_mm


# ---- Pieces, spares, money -----------------------------------------------------------------


def round_up(value: Exact, step: int) -> int:
    """The least multiple of `step` that is not below `value`, exact; `step` from 1.

    >>> round_up(1595, 10), round_up(1600, 10), round_up(Decimal("1600.01"), 10)
    (1600, 1600, 1610)
    """
    _within(1, math.inf, step=step)
    return math.ceil(_exact(value=value) / step) * step


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
    _within(1, math.inf, step=step_mm)
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
    total, share = _exact(sum_mm=sum_mm), _exact(percent=percent)
    _not_negative(sum_mm=total, percent=share)
    return round_up(total * share / 100, step_mm)


def spare_count(count: int, percent: Exact, minimum: int) -> int:
    """Spares for `count` parts: so many per cent, rounded up, and at least `minimum`; exact.

    0 % means no spares, and parts not used need none.  All from 0.  Source: house rule.

    >>> spare_count(31, 10, 2), spare_count(3, 10, 2), spare_count(3, 0, 2)
    (4, 2, 0)
    """
    share = _exact(percent=percent)
    _not_negative(count=count, percent=share, minimum=minimum)
    if count == 0 or share == 0:
        return 0
    return max(round_up(count * share / 100, 1), minimum)


def round_money(value: Decimal) -> Decimal:
    """An amount to two places, half a penny and above away from zero, never minus nothing.

    Source: HMRC internal manual VATREC12030; EN 16931 (lines to two decimals).

    >>> round_money(Decimal("2.675"))
    Decimal('2.68')
    """
    _exact(value=value)
    return value.quantize(Decimal("0.01"), rounding=ROUND_HALF_UP) + Decimal("0.00")


def tax_on(net: Decimal, percent: Decimal | int) -> Decimal:
    """Tax on the total of all lines of one rate, to two places; per cent from 0.

    Source: EN 16931: not the sum of the tax line by line.

    >>> tax_on(3 * Decimal("33.34"), 19)
    Decimal('19.00')
    """
    _not_negative(percent=_exact(percent=percent))
    return round_money(net * percent / 100)


# ---- What jobs have taught -------------------------------------------------------------------


def allowed_hours(hours: Fraction, percent: Decimal | int) -> Fraction:
    """Hours with an allowance in per cent, which is -90 or more: hours x (1 + percent / 100).

    Source: arithmetic.

    >>> allowed_hours(Fraction(8), 25)
    Fraction(10, 1)
    """
    share = _exact(percent=percent)
    _within(-90, math.inf, percent=share)
    return hours * (1 + share / 100)


def weighted_mean(values: Sequence[float], weights: Sequence[float]) -> float:
    """The mean of values, each with its weight above 0; of ratios by their bases, sum by sum.

    Source: arithmetic: the sum of value x weight over the sum of the weights.

    >>> weighted_mean([0.10, 0.20], [3, 1])
    0.125
    """
    _weighted(values, weights)
    products = (v * w for v, w in zip(values, weights, strict=True))
    return math.fsum(products) / math.fsum(weights)


def sample_deviation(values: Sequence[float]) -> float:
    """The experimental standard deviation of two values or more: root of sum (q - mean)^2/(n - 1).

    Each value counts alike.  Source: JCGM 100:2008, 4.2.2, equation 4.

    >>> sample_deviation([2, 4, 6])
    2.0
    """
    if len(values) < 2:
        raise ValueError(f"a deviation needs two values or more, not {len(values)}")
    mean = math.fsum(values) / len(values)
    return math.sqrt(math.fsum((value - mean) ** 2 for value in values) / (len(values) - 1))


def mean_uncertainty(deviation: float, weights: Sequence[float]) -> float:
    """The standard uncertainty of a weighted mean: s x root of sum w^2 / sum w.

    With equal weights that is s / root of n.  Source: JCGM 100:2008, 4.2.3, equation 5; with
    other weights 5.1.2, equation 10, for values that all scatter by `deviation`.

    >>> mean_uncertainty(6.0, [1, 1, 1, 1])
    3.0
    """
    _not_negative(deviation=deviation)
    _weighted(weights, weights)
    return deviation * math.sqrt(math.fsum(w * w for w in weights)) / math.fsum(weights)


def _weighted(values: Sequence[float], weights: Sequence[float]) -> None:
    if not weights or len(values) != len(weights):
        raise ValueError(f"{len(values)} values with {len(weights)} weights")
    for weight in weights:
        _positive(weight=weight)


def _ratio(name: str, value: Exact) -> tuple[int, int]:
    """Numerator and denominator of a number by that name, exact and from 0."""
    exact = value if type(value) is Fraction else _exact(**{name: value})
    top, bottom = exact.as_integer_ratio()
    if top < 0:
        raise ValueError(f"{name} must be from 0, not {value}")
    return top, bottom


def _exact(**named: Exact) -> Fraction:
    """The one named number as a fraction; a float is refused, for its dust would be rounded up."""
    ((name, value),) = named.items()
    if isinstance(value, float):
        raise TypeError(f"{name} must be exact (int, Decimal or Fraction), not the float {value}")
    if isinstance(value, Decimal) and not value.is_finite():
        raise ValueError(f"{name} must be a number, not {value}")
    return Fraction(value)


def _positive(**named: float | Fraction) -> None:
    for name, value in named.items():
        if not 0 < value < math.inf:  # written so that a float's NaN fails too
            raise ValueError(f"{name} must be above 0, not {value}")


def _not_negative(**named: float | Fraction) -> None:
    _within(0, math.inf, **named)


def _within(low: float, high: float, **named: float | Fraction) -> None:
    for name, value in named.items():
        if not (low <= value <= high and value < math.inf):
            upper = "" if high == math.inf else f" to {high:g}"
            raise ValueError(f"{name} must be from {low:g}{upper}, not {value}")
