"""Humidity: will the mold sweat, and what does a film of water do to the foam?

The air in a cavity carries a few milligrams of water and does nothing. A cold mold in a warm room
is another matter: it takes on dew, and a film that can hardly be seen is a gram of water on the
face, which makes over a liter of gas just where the skin should form. So what counts is the dew
point and how far the coldest face stands above it, not the percentage on the wall.
"""

from __future__ import annotations

import math

from msgspec import Struct

from diagnose.bench.quantities import ZERO_C, BenchError, inside, number
from diagnose.bench.stoich import gas_from_water, iso_eaten_by_water

MAGNUS_A = 610.94
"""Pa, Magnus form over water: Alduchov and Eskridge 1996."""

MAGNUS_B = 17.625
"""Pure number, same set; constants of two sets must not be mixed."""

MAGNUS_C = 243.04
"""degC, same set."""

WATER_GAS_CONSTANT = 461.5
"""J/(kg K) of water vapour."""

SAFE_MARGIN_K = 3.0
"""K above the dew point that painting specifications ask of a surface (5 degF in print)."""


class WaterDamage(Struct, frozen=True):
    """What a mass of water does: m3 of gas at the wall, kg of A eaten there."""

    gas_m3: float
    iso_eaten_kg: float


def _air(t_c: float) -> float:
    return inside("air temperature", t_c, -40, 50, "degC")


def _rh(rh_percent: float) -> float:
    if 0 < rh_percent < 1:
        raise BenchError(f"relative humidity {number(rh_percent)} %: looks like a fraction, expected 1 % to 100 %")
    return inside("relative humidity", rh_percent, 1, 100, "percent")


def saturation_pressure(t_c: float) -> float:
    """Return the saturation pressure of water in Pa over water at *t_c*.

    Range: -40 to 50 degC, error under 0.4 %. Source: Magnus form, Alduchov and Eskridge 1996.
    """
    return MAGNUS_A * math.exp(MAGNUS_B * _air(t_c) / (MAGNUS_C + t_c))


def vapour_pressure(t_c: float, rh_percent: float) -> float:
    """Return the pressure of water vapour in Pa in air. Range: -40 to 50 degC, 1 to 100 %.

    Source: `saturation_pressure`.
    """
    return saturation_pressure(t_c) * _rh(rh_percent) / 100


def dew_point_c(t_c: float, rh_percent: float) -> float:
    """Return the dew point in degC of air at *t_c* and *rh_percent*.

    Range: -40 to 50 degC, 1 to 100 %; within 0.05 K of the full tables from 0 to 40 degC and above 20 %.
    Source: Magnus form turned round, Alduchov and Eskridge 1996.
    """
    _air(t_c)
    if _rh(rh_percent) >= 100:
        return float(t_c)
    gamma = math.log(rh_percent / 100) + MAGNUS_B * t_c / (MAGNUS_C + t_c)
    return MAGNUS_C * gamma / (MAGNUS_B - gamma)


def dew_margin(surface_c: float, t_c: float, rh_percent: float) -> float:
    """Return K that a surface at *surface_c* stands above the dew point; below zero it is wet.

    Range: surface -40 to 90 degC, air as `dew_point_c`. Source: difference.
    """
    return inside("temperature of the face", surface_c, -40, 90, "degC") - dew_point_c(t_c, rh_percent)


def highest_humidity(surface_c: float, t_c: float, margin_k: float = SAFE_MARGIN_K) -> float:
    """Return the highest relative humidity in percent that leaves a surface *margin_k* above the dew point.

    Range: surface -30 to 50 degC, air -40 to 50 degC, margin 0 to 10 K; more than 100 % is refused as
    "no limit": the surface is warmer than the air by more than the margin. Source: Magnus.
    """
    inside("temperature of the face", surface_c, -30, 50, "degC")
    inside("margin", margin_k, 0, 10, "K")
    share = 100 * saturation_pressure(surface_c - margin_k) / saturation_pressure(t_c)
    if share > 100 * (1 + 1e-12):
        raise BenchError(
            f"face {number(surface_c)} °C in air of {number(t_c)} °C: expected a face less than "
            f"{number(margin_k)} K above the air, else no humidity is too high"
        )
    return share


def absolute_humidity(t_c: float, rh_percent: float) -> float:
    """Return kg of water vapour in a m3 of air. Range: as `vapour_pressure`. Source: ideal gas."""
    return vapour_pressure(t_c, rh_percent) / (WATER_GAS_CONSTANT * (t_c + ZERO_C))


def film_water(thickness_m: float, area_m2: float) -> float:
    """Return kg of water in a film. Range: 0.1 to 1000 um, 1 cm2 to 20 m2. Source: 1000 kg/m3.

    A fog on the face that a finger marks is about 10 um; drops that run are 50 um and more (our guess).
    """
    inside("water film", thickness_m, 0.1, 1000, "um")
    return 1000 * thickness_m * inside("area of the face", area_m2, 1, 200_000, "cm^2")


def water_damage(water_kg: float, nco_percent: float = 27.0, t_c: float = 25.0) -> WaterDamage:
    """Return the gas that *water_kg* makes and the A it eats.

    Range: water 0 to 10 kg, A of 1 to 50 % NCO, 0 to 150 degC. Source: stoichiometry. 27 % NCO is a
    stand-in where the sheet doesn't say (from 10 % to 31 % it is 47 g to 15 g of A for each gram of water).
    """
    return WaterDamage(gas_from_water(water_kg, t_c), iso_eaten_by_water(water_kg, nco_percent))
