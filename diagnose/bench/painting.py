"""Paint: reading a cross-cut, how long to wait, and whether today is a day for painting.

A cross-cut is read on two published scales that run in opposite directions, and people quote one
for the other. Both are written for paint on hard panels; on foam they only compare. How soon paint may go on and how
soon the next coat may follow is the paint supplier's to say; nothing is published for this trade, so the
sums here only carry a known figure over to today's temperature.
"""

from __future__ import annotations

from dataclasses import dataclass

from diagnose.bench.cure_times import Window, time_factor, window_at
from diagnose.bench.humidity import SAFE_MARGIN_K, dew_margin, dew_point_c
from diagnose.bench.quantities import BenchError, Range, inside, number

PAINT_WAIT_S = 86_400.0
"""A day from demold to first coat at PAINT_WAIT_C: common practice, no source."""

PAINT_WAIT_C = 22.5
"""degC, the middle of the 20 to 25 degC that the day is said for."""

PAINT_LOW_C, PAINT_HIGH_C = 7.0, 32.0
"""degC between which most paints are applied: a published painting handbook (45 to 90 degF)."""


@dataclass(frozen=True, slots=True)
class Conditions:
    """Whether air and surface suit painting: dew point, margin over it in K, and what speaks against."""

    dew_point_c: float
    margin_k: float
    against: tuple[str, ...]

    @property
    def fit(self) -> bool:
        """Nothing speaks against painting."""
        return not self.against


def _lost(lost_percent: float) -> float:
    return inside("paint lost from the squares", lost_percent, 0, 100, "percent")


def cross_cut_astm(lost_percent: float) -> str:
    """Return the class "5B" (nothing lost) to "0B" (over 65 %) of a cross-cut from the share lost.

    Range: 0 to 100 %. Source: ASTM D3359 method B. Where two printed bands share an edge (15 %, 35 %)
    the worse is taken; 5 % is 3B, since 4B is printed as less than 5 %; 65 % is still 1B.
    """
    lost = _lost(lost_percent)
    if lost == 0:
        return "5B"
    if lost > 65:
        return "0B"
    return f"{4 - sum(lost >= edge for edge in (5, 15, 35))}B"


def cross_cut_iso(lost_percent: float) -> int:
    """Return the class 0 (nothing lost) to 5 (over 65 %) of a cross-cut from the share lost.

    Range: 0 to 100 %. Source: ISO 2409, from memory: each band holds its upper edge (5 % is class 1).
    """
    lost = _lost(lost_percent)
    return sum(lost > edge for edge in (0, 5, 15, 35, 65))


def cuts(film_m: float) -> tuple[int, float]:
    """Return how many cuts each way and how far apart in m, for a dry film of *film_m*.

    Range: 1 to 125 um; a thicker one takes an X cut, not a lattice. Source: ASTM D3359 method B.
    """
    inside("dry paint film", film_m, 1, 125, "um")
    return (11, 0.001) if film_m <= 50e-6 else (6, 0.002)


def paint_wait(t_c: float) -> Range:
    """Return seconds from demold to the first coat for a part that rests at *t_c*: go by the long end.

    A day at 20 to 25 degC, carried over by `time_factor`. Range: 10 to 50 degC; never warmer for this.
    Source: common practice; no published figure. A washed part must also be dry through.
    """
    inside("temperature of the resting part", t_c, 10, 50, "degC")
    return time_factor(t_c, PAINT_WAIT_C).times(PAINT_WAIT_S)


def paint_conditions(air_c: float, rh_percent: float, surface_c: float, lowest_c: float | None = None) -> Conditions:
    """Return whether air and surface suit painting, and each thing that speaks against.

    The surface 3 K over the dew point; air and surface between 7 and 32 degC, or *lowest_c* of the
    paint's own sheet instead of 7. Range: air -40 to 50 degC, 1 to 100 %, surface -40 to 90 degC, lowest
    -5 to 30 degC. Source: military painting handbook; film-forming temperature after ASTM D2354.
    """
    margin = dew_margin(surface_c, air_c, rh_percent)
    floor = PAINT_LOW_C if lowest_c is None else inside("lowest paint temperature", lowest_c, -5, 30, "degC")
    against = []
    if margin < SAFE_MARGIN_K:
        against.append(f"surface {number(margin, 2)} K over the dew point, 3 K or more asked")
    for place, t_c in (("air", air_c), ("surface", surface_c)):
        if not floor <= t_c <= PAINT_HIGH_C:
            against.append(f"{place} {number(t_c, 3)} °C, {number(floor)} to {number(PAINT_HIGH_C)} °C asked")
    return Conditions(dew_point_c(air_c, rh_percent), margin, tuple(against))


def recoat(opens_s: float, closes_s: float | None, t_c: float, reference_c: float = 25.0) -> Window:
    """Return the sheet's recoat window as it is at *t_c*; without a closing time it stays open a month.

    Range: 1 s to 30 days, 0 to 60 degC. Source: `time_factor`; the window itself must come from the paint's sheet, nothing is
    published. Only for paint that sets by reaction; a drying paint goes by air movement and humidity.
    """
    if closes_s is not None and closes_s < opens_s:
        raise BenchError(
            f"recoat window closing at {number(closes_s / 60)} min: expected after it opens, {number(opens_s / 60)} min"
        )
    return window_at(opens_s, 2_592_000.0 if closes_s is None else closes_s, t_c, reference_c)
