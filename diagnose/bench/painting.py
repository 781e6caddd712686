"""Paint: reading a cross-cut, how long to wait, and whether today is a day for painting.

A cross-cut is read on two published scales that run in opposite directions, and people quote one
for the other. Both are written for paint on hard panels; on foam they only compare. How soon paint may go on and how
soon the next coat may follow is the paint supplier's to say; nothing is published for this trade, so the
sums here only carry a known figure over to today's temperature.
"""

from __future__ import annotations

from msgspec import Struct

from diagnose.bench.humidity import SAFE_MARGIN_K, dew_margin, dew_point_c
from diagnose.bench.quantities import Range, inside, number

PAINT_C = Range(7.0, 20.0, 32.0)
"""degC between which most paints are applied: a published painting handbook (45 to 90 degF)."""


class Conditions(Struct, frozen=True):
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


def paint_conditions(
    air_c: float,
    rh_percent: float,
    surface_c: float,
    lowest_c: float | None = None,
    margin_k: float = SAFE_MARGIN_K,
    usual: Range = PAINT_C,
) -> Conditions:
    """Return whether air and surface suit painting, and each thing that speaks against.

    The surface *margin_k* over the dew point; air and surface in the *usual* degC, from *lowest_c* where the paint's
    sheet says it. Range: air -40 to 50 degC, 1 to 100 %, surface -40 to 90 degC, lowest -5 to 30 degC. Source:
    military painting handbook; film-forming temperature after ASTM D2354.
    """
    margin = dew_margin(surface_c, air_c, rh_percent)
    floor = usual.low if lowest_c is None else inside("lowest paint temperature", lowest_c, -5, 30, "degC")
    against = []
    if margin < margin_k:
        against.append(f"surface {number(margin, 2)} K over the dew point, {number(margin_k)} K or more asked")
    for place, t_c in (("air", air_c), ("surface", surface_c)):
        if not floor <= t_c <= usual.high:
            against.append(f"{place} {number(t_c, 3)} °C, {number(floor)} to {number(usual.high)} °C asked")
    return Conditions(dew_point_c(air_c, rh_percent), margin, tuple(against))
