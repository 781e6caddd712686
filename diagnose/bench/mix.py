"""The mix: how much A and how much B, how far off it was, and what a scale can do at all.

A is the isocyanate (hard) side, B the polyol (soft) side, and a ratio is always parts of A to 100
parts of B by weight. "Ratio?" is worth little to a caller; "5.3 % short of A, and the scale alone
can make 1 %" is worth the pour. So a ratio error comes with a bar: what rounding on the scale can
do, and what stayed behind in a cup. A volume ratio that is weighed is the commonest slip of all.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from msgspec import Struct

from diagnose.bench.quantities import BenchError, Range, inside, number


class Split(Struct, frozen=True):
    """A batch taken apart: kg of A and kg of B."""

    a_kg: float
    b_kg: float


class RatioError(Struct, frozen=True):
    """How far a mix was off, in percent of the target; above zero is too much A.

    *standard_error* is one standard deviation; *low* and *high* are the ends that can just be reached.
    """

    percent: float
    standard_error: float
    low: float
    high: float


def _mass(quantity: str, kg: float) -> float:
    return inside(quantity, kg, 0.01, 100_000, "g")


def _ratio(quantity: str, parts: float) -> float:
    return inside(quantity, parts, 1, 1000, "parts_a_per_100_b")


def split(batch_kg: float, ratio_per_100: float) -> Split:
    """Return kg of A and of B in a batch of *batch_kg* at *ratio_per_100* parts A to 100 B by weight.

    Range: batch 0.01 g to 100 kg, ratio 1 to 1000. Source: arithmetic.
    """
    _mass("batch", batch_kg)
    parts = _ratio("mix ratio", ratio_per_100)
    return Split(batch_kg * parts / (100 + parts), batch_kg * 100 / (100 + parts))


def a_for_b(b_kg: float, ratio_per_100: float) -> float:
    """Return kg of A for *b_kg* of B: B is weighed first, A is worked from what the scale says.

    Range: B 0.01 g to 100 kg, ratio 1 to 1000. Source: arithmetic.
    """
    return _mass("mass of B", b_kg) * _ratio("mix ratio", ratio_per_100) / 100


def ratio(a_kg: float, b_kg: float) -> float:
    """Return parts of A to 100 parts of B by weight from two masses in kg (or both in one other unit).

    Range: each 0.01 g to 100 kg. Source: arithmetic.
    """
    return 100 * _mass("mass of A", a_kg) / _mass("mass of B", b_kg)


def ratio_error(
    a_kg: float,
    b_kg: float,
    target_per_100: float,
    step_kg: float,
    a_left_kg: float = 0.0,
    b_left_kg: float = 0.0,
) -> RatioError:
    """Return the ratio error in percent with its bar from the scale's step and what stays in the cups.

    A reading and a tare are each off by up to half a step, evenly spread: variance step²/6 a mass.
    *a_left_kg* and *b_left_kg* are the most that may have stayed behind; nothing is known between
    none and that, so half of it is taken off and its spread is left²/12. What was weighed
    back is no guess: take it off the mass instead. Range: step 0.001 g to 1 kg and under half of
    either mass; left under half of its mass. Source: rectangular rounding error, metrology practice.
    """
    _mass("mass of A", a_kg)
    _mass("mass of B", b_kg)
    _ratio("target ratio", target_per_100)
    inside("scale step", step_kg, 0.001, min(1000, 500 * min(a_kg, b_kg)), "g")
    inside("A left in the cup", a_left_kg, 0, 499 * a_kg - 499 * step_kg, "g")
    inside("B left in the cup", b_left_kg, 0, 499 * b_kg - 499 * step_kg, "g")
    middle_a, middle_b = a_kg - a_left_kg / 2, b_kg - b_left_kg / 2

    def off(a: float, b: float) -> float:
        return 100 * (100 * a / b - target_per_100) / target_per_100

    spread = math.hypot(_sd(step_kg, a_left_kg) / middle_a, _sd(step_kg, b_left_kg) / middle_b)
    return RatioError(
        percent=off(middle_a, middle_b),
        standard_error=(100 + off(middle_a, middle_b)) * spread,
        low=off(a_kg - step_kg - a_left_kg, b_kg + step_kg),
        high=off(a_kg + step_kg, b_kg - step_kg - b_left_kg),
    )


def _sd(step_kg: float, left_kg: float) -> float:
    return math.sqrt(step_kg**2 / 6 + left_kg**2 / 12)


def scale_fraction(a_kg: float, b_kg: float, step_kg: float) -> float:
    """Return one step of the scale as a share of the smaller mass: over 0.02 the scale is too coarse.

    Range: masses 0.01 g to 100 kg, step 0.001 g to 1 kg. Source: arithmetic; one in fifty is common practice.
    """
    inside("scale step", step_kg, 0.001, 1000, "g")
    return step_kg / min(_mass("mass of A", a_kg), _mass("mass of B", b_kg))


def _density(quantity: str, density: float) -> float:
    return inside(quantity, density, 500, 3000, "kg/m^3")


def weight_ratio(volume_per_100: float, density_a: float, density_b: float) -> float:
    """Return parts A to 100 B by weight from parts A to 100 B by volume and the densities in kg/m3.

    Range: ratio 1 to 1000, liquids of 500 to 3000 kg/m3. Source: arithmetic.
    """
    _ratio("volume ratio", volume_per_100)
    return volume_per_100 * _density("density of A", density_a) / _density("density of B", density_b)


def volume_ratio(weight_per_100: float, density_a: float, density_b: float) -> float:
    """Return parts A to 100 B by volume from parts A to 100 B by weight: `weight_ratio` turned round."""
    _ratio("weight ratio", weight_per_100)
    return weight_per_100 * _density("density of B", density_b) / _density("density of A", density_a)


def _sorted_points(points: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    if len(points) < 2:
        raise BenchError(f"ratio and density points {len(points)}: expected 2 or more, from the sheet")
    rows = sorted(points)
    for parts, density in rows:
        _ratio("ratio of a point", parts)
        inside("density of a point", density, 10, 1200, "kg/m^3")
    for (r0, d0), (r1, d1) in pairwise(rows):
        if r0 == r1:
            raise BenchError(f"ratio {number(r0)} twice: expected one density for each ratio")
        if (d1 - d0) * (rows[-1][1] - rows[0][1]) <= 0:
            raise BenchError(f"density {number(d0)} then {number(d1)} kg/m³: expected all rising or all falling")
    return rows


def density_at_ratio(ratio_per_100: float, points: Sequence[tuple[float, float]]) -> Range:
    """Return free-rise density in kg/m3 of a system that its supplier sells at several ratios.

    *points* are the supplier's own (parts A to 100 B, kg/m3). Between two of them the ends of the
    range are a straight line in volume per gram and one in density; the middle is straight in the
    logarithm. Outside the points nothing is known: refused. Never use points of another system, and
    never read a density off a ratio without them. Source: common practice (the points), our own
    choice (the line between them).
    """
    rows = _sorted_points(points)
    inside("mix ratio", ratio_per_100, rows[0][0], rows[-1][0], "parts_a_per_100_b")
    (r0, d0), (r1, d1) = next(pair for pair in pairwise(rows) if ratio_per_100 <= pair[1][0] or pair[1] == rows[-1])
    share = min(1.0, max(0.0, (ratio_per_100 - r0) / (r1 - r0)))
    mid = d0 * (d1 / d0) ** share
    return Range.around(mid, [1 / ((1 - share) / d0 + share / d1), (1 - share) * d0 + share * d1])
