"""Venting: what a hole lets out, what it holds back, and why a trapped pocket stays.

A trapped pocket of air can't be squeezed away: at the pressure of a closed mold it keeps two thirds and more of
its volume, so a vent or another orientation cures it and more foam doesn't. A vent of a millimetre
passes plenty of air. The plain pipe formula holds only in long narrow holes and the plain orifice
only in short wide ones; `vent_flow` covers both. What a closed mold must hold is the gas law's to say.
"""

from __future__ import annotations

import math

from msgspec import Struct

from diagnose.bench.quantities import STANDARD_PRESSURE, BenchError, Range, bisect, fraction, inside, number

AIR_VISCOSITY = 18.2e-6
"""Pa s at 20 degC, reference equation of state."""

AIR_DENSITY = 1.205
"""kg/m3 at 20 degC and one atmosphere, same source."""

ENTRANCE_LOSS = 1.5
"""Velocity heads lost going in and coming out of a plain hole; usual figure."""

LAMINAR = 2300.0
"""Reynolds number above which pipe flow is no longer surely laminar."""

FRESH_VISCOSITY = Range(0.2, 1.5, 12.0)
"""Pa s of a fresh mix at 25 degC: spread of four published urethane systems. Near gel it is far thicker."""

SOLID_DENSITY = 1100.0
"""kg/m3 of the solid in the foam, as in published foam models."""


class Vent(Struct, frozen=True):
    """What a vent passes: m3/s, its Reynolds number, the share of the pressure lost at its ends."""

    flow_m3_s: float
    reynolds: float
    end_share: float

    @property
    def regime(self) -> str:
        """Which plain formula comes near: "laminar" (pipe), "orifice" or "between"."""
        if self.end_share > 0.9:
            return "orifice"
        return "laminar" if self.end_share < 0.1 and self.reynolds <= LAMINAR else "between"


def _bore(diameter_m: float, low: float = 0.1, high: float = 200) -> float:
    return inside("bore", diameter_m, low, high, "mm")


def reynolds(flow_m3_s: float, diameter_m: float, density: float, viscosity: float) -> float:
    """Return the Reynolds number of a flow in a round hole, 4 rho Q / (pi d mu). Source: definition."""
    return 4 * density * flow_m3_s / (math.pi * diameter_m * viscosity)


def friction(re: float) -> float:
    """Darcy friction factor of a smooth hole: 64/Re, above 2300 Blasius."""
    return 64 / re if re <= LAMINAR else 0.3164 / re**0.25


def vent_flow(
    drop_pa: float,
    diameter_m: float,
    length_m: float,
    viscosity: float = AIR_VISCOSITY,
    density: float = AIR_DENSITY,
) -> Vent:
    """Return what a round vent passes under *drop_pa*: end losses and friction together.

    dp = (1.5 + f L/d) rho v²/2. Range: bore 0.1 to 20 mm, length 0 to 500 mm, pressure 1 Pa to 5 kPa.
    Source: 1.5 velocity heads and the smooth-pipe friction factor (64/Re, Blasius above 2300).
    """
    _bore(diameter_m, high=20)
    inside("length of the vent", length_m, 0, 500, "mm")
    inside("pressure", drop_pa, 1, 5000, "Pa")
    inside("density", density, 0.1, 100, "kg/m^3")
    inside("viscosity", viscosity, 1e-6, 1e-3, "Pa*s")
    slenderness = length_m / diameter_m

    def drop(v: float) -> float:
        re = density * v * diameter_m / viscosity
        return (ENTRANCE_LOSS + friction(re) * slenderness) * density * v * v / 2

    fastest = math.sqrt(2 * drop_pa / (density * ENTRANCE_LOSS))
    v = bisect(lambda speed: drop_pa - drop(speed), 0.0, 1.001 * fastest)
    re = density * v * diameter_m / viscosity
    ends = ENTRANCE_LOSS / (ENTRANCE_LOSS + friction(re) * slenderness)
    return Vent(v * math.pi / 4 * diameter_m**2, re, ends)


def air_to_vent(volume_m3: float, time_s: float) -> float:
    """Return m3/s of air that must leave while a cavity fills. Range: 1 mL to 1000 L, 1 s to 1 h."""
    return inside("cavity volume", volume_m3, 1, 1_000_000, "mL") / inside("time to fill", time_s, 1, 3600, "s")


def vent_bore(flow_m3_s: float, drop_pa: float, length_m: float) -> float:
    """Return the bore in m of one round vent that passes *flow_m3_s* of air under *drop_pa*.

    Range: what bores of 0.1 to 20 mm pass. Source: `vent_flow` turned round.
    """
    least, most = (vent_flow(drop_pa, bore, length_m).flow_m3_s for bore in (1e-4, 0.02))
    inside("air to vent", flow_m3_s, least * 1e6, most * 1e6, "mL/s")
    return bisect(lambda d: flow_m3_s - vent_flow(drop_pa, d, length_m).flow_m3_s, 1e-4, 0.02)


def pipe_drop(flow_m3_s: float, diameter_m: float, length_m: float, viscosity: float) -> float:
    """Return the pressure in Pa that drives a laminar flow through a long round hole: 128 mu L Q / (pi d^4).

    Laminar only: the caller sees to it. Source: Hagen-Poiseuille.
    """
    return 128 * viscosity * length_m * flow_m3_s / (math.pi * diameter_m**4)


def back_pressure(flow_m3_s: float, diameter_m: float, length_m: float, density: float = 300.0) -> Range:
    """Return the pressure in Pa with which an opening holds foam back while *flow_m3_s* leaves by it.

    Over the viscosities of fresh mixes at 25 degC; foam near gel is far thicker, so this is the least.
    Range: bore 1 to 200 mm, length 1 mm to 1 m, laminar. Source: pipe friction and 1.5 velocity heads.
    """
    _bore(diameter_m, low=1)
    inside("length of the opening", length_m, 1, 1000, "mm")
    inside("flow", flow_m3_s, 0, 10_000, "mL/s")
    inside("foam density", density, 20, 1200, "kg/m^3")
    inside("Reynolds number", reynolds(flow_m3_s, diameter_m, density, FRESH_VISCOSITY.low), 0, LAMINAR)
    speed = flow_m3_s / (math.pi / 4 * diameter_m**2)
    ends = ENTRANCE_LOSS * density * speed * speed / 2
    return FRESH_VISCOSITY.through(lambda mu: ends + pipe_drop(flow_m3_s, diameter_m, length_m, mu))


def pocket_left(gauge_pa: float) -> float:
    """Return the share (0 to 1) of its volume that a trapped pocket keeps at *gauge_pa* over the atmosphere.

    Range: 0 to 1000 kPa. Source: Boyle, temperature unchanged (warm foam makes it bigger still).
    """
    return STANDARD_PRESSURE / (STANDARD_PRESSURE + inside("pressure of the foam", gauge_pa, 0, 1000, "kPa"))


def travel(gap_m: float, gaps: Range) -> Range:
    """Return how far, in m, foam can be trusted to climb a narrow gap of *gap_m*, in *gaps* (10 to 20 is usual).

    Range: gap 1 to 20 mm. Source: common practice, no physics in it.
    """
    return gaps.times(inside("narrowest gap", gap_m, 1, 20, "mm"))


def mold_pressure(packing: float, free_rise_density: float, lost: float = 0.0) -> float:
    """Return the pressure in Pa over the atmosphere of foam in a closed mold, packed by *packing* (1 to 3).

    The gas that fills a free-risen foam is pressed into what the solid leaves of the molded volume; a share *lost* (0
    to 1) has leaked away. Never below zero. Range: free rise 20 to 800 kg/m3. Source: ideal gas at one temperature;
    solid 1100 kg/m3 as in published foam models. Hot gas of a core presses harder, gas still to come is not counted.
    """
    inside("packing factor", packing, 1, 3)
    inside("free-rise density", free_rise_density, 20, 800, "kg/m^3")
    fraction("gas lost", lost, 0, 1)
    solid = 1 / SOLID_DENSITY
    squeezed = 1 / (free_rise_density * packing) - solid
    if squeezed <= 0:
        raise BenchError(
            f"molded density {number(free_rise_density * packing)} kg/m³: expected under the solid's "
            f"{number(SOLID_DENSITY)} kg/m³"
        )
    return max(0.0, STANDARD_PRESSURE * ((1 - lost) * (1 / free_rise_density - solid) / squeezed - 1))
