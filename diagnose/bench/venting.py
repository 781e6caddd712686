"""Venting: what a hole lets out, what it holds back, and why a trapped pocket stays.

A trapped pocket of air can't be squeezed away: at the pressure a hand-held mold bears it keeps nine tenths of
its volume, so a vent or another orientation cures it and more foam doesn't. A vent of a millimetre
passes plenty of air. The plain pipe formula holds only in long narrow holes and the plain orifice
only in short wide ones; each refuses outside its regime and `vent_flow` covers both.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from diagnose.bench.quantities import STANDARD_PRESSURE, BenchError, Range, bisect, inside, number

AIR_VISCOSITY = 18.2e-6
"""Pa s at 20 degC, reference equation of state."""

AIR_DENSITY = 1.205
"""kg/m3 at 20 degC and one atmosphere, same source."""

ENTRANCE_LOSS = 1.5
"""Velocity heads lost going in and coming out of a plain hole; usual figure."""

LAMINAR = 2300.0
"""Reynolds number above which pipe flow is no longer surely laminar."""

DISCHARGE = 0.61
"""Discharge coefficient of a sharp-edged orifice at high Reynolds number (orifice standards, from memory)."""

FRESH_VISCOSITY = Range(0.2, 1.5, 12.0)
"""Pa s of a fresh mix at 25 degC: spread of four published urethane systems. Near gel it is far thicker."""

GAP_LENGTHS = Range(10.0, 15.0, 20.0)
"""Gaps that foam climbs in a gap under 8 mm: common practice, no source; the ends are our own."""


@dataclass(frozen=True, slots=True)
class Vent:
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


def _check_pipe(diameter_m: float, length_m: float, viscosity: float, density: float) -> None:
    _bore(diameter_m)
    inside("length of the hole", length_m, 0.1, 10_000, "mm")
    inside("viscosity", viscosity, 1e-6, 1e5, "Pa*s")
    inside("density", density, 0.1, 3000, "kg/m^3")


def _hold_poiseuille(re: float, length_m: float, diameter_m: float) -> None:
    limit = min(LAMINAR, length_m / (0.06 * diameter_m))
    if re > limit:
        raise BenchError(
            f"Reynolds number {number(re, 3)} in the pipe formula: expected 0 to {number(limit, 3)} (a hole {number(length_m / diameter_m, 3)} bores long)"
        )


def poiseuille_drop(flow_m3_s: float, diameter_m: float, length_m: float, viscosity: float, density: float) -> float:
    """Return the pressure in Pa that drives a laminar flow through a long round hole.

    128 mu L Q / (pi d^4). Range: bore 0.1 to 200 mm, length 0.1 mm to 10 m; refused over Reynolds 2300 and
    where the run-in 0.06 Re d is longer than the hole. Source: Hagen-Poiseuille.
    """
    _check_pipe(diameter_m, length_m, viscosity, density)
    inside("flow", flow_m3_s, 0, 1e6, "mL/s")
    _hold_poiseuille(reynolds(flow_m3_s, diameter_m, density, viscosity), length_m, diameter_m)
    return 128 * viscosity * length_m * flow_m3_s / (math.pi * diameter_m**4)


def poiseuille_flow(
    drop_pa: float,
    diameter_m: float,
    length_m: float,
    viscosity: float = AIR_VISCOSITY,
    density: float = AIR_DENSITY,
) -> float:
    """Return m3/s through a long round hole under *drop_pa*: `poiseuille_drop` turned round, same refusals.

    Range: pressure 0.1 Pa to 1 MPa.
    """
    inside("pressure", drop_pa, 1e-4, 1000, "kPa")
    _check_pipe(diameter_m, length_m, viscosity, density)
    flow = drop_pa * math.pi * diameter_m**4 / (128 * viscosity * length_m)
    _hold_poiseuille(reynolds(flow, diameter_m, density, viscosity), length_m, diameter_m)
    return flow


def orifice_flow(
    drop_pa: float,
    diameter_m: float,
    length_m: float = 0.0,
    viscosity: float = AIR_VISCOSITY,
    density: float = AIR_DENSITY,
) -> float:
    """Return m3/s through a short sharp-edged hole, Cd A sqrt(2 dp / rho) with Cd 0.61.

    Range: bore 0.1 to 200 mm, pressure 1 Pa to 5 kPa (above it air is squeezed); refused under
    Reynolds 2300, and in a hole longer than its bore. Source: orifice equation, from memory.
    """
    _bore(diameter_m)
    inside("pressure", drop_pa, 1, 5000, "Pa")
    inside("length of the hole", length_m, 0, 1000 * diameter_m, "mm")
    inside("density", density, 0.1, 3000, "kg/m^3")
    inside("viscosity", viscosity, 1e-6, 1e5, "Pa*s")
    flow = DISCHARGE * math.pi / 4 * diameter_m**2 * math.sqrt(2 * drop_pa / density)
    re = reynolds(flow, diameter_m, density, viscosity)
    if re < LAMINAR:
        raise BenchError(f"Reynolds number {number(re, 3)} in the orifice formula: expected 2300 or more")
    return flow


def _friction(re: float) -> float:
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
        return (ENTRANCE_LOSS + _friction(re) * slenderness) * density * v * v / 2

    fastest = math.sqrt(2 * drop_pa / (density * ENTRANCE_LOSS))
    v = bisect(lambda speed: drop_pa - drop(speed), 0.0, 1.001 * fastest)
    re = density * v * diameter_m / viscosity
    ends = ENTRANCE_LOSS / (ENTRANCE_LOSS + _friction(re) * slenderness)
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
    return FRESH_VISCOSITY.through(lambda mu: ends + 32 * mu * length_m * speed / diameter_m**2)


def pocket_left(gauge_pa: float) -> float:
    """Return the share (0 to 1) of its volume that a trapped pocket keeps at *gauge_pa* over the atmosphere.

    Range: 0 to 1000 kPa. Source: Boyle, temperature unchanged (warm foam makes it bigger still).
    """
    return STANDARD_PRESSURE / (STANDARD_PRESSURE + inside("pressure of the foam", gauge_pa, 0, 1000, "kPa"))


def travel(gap_m: float) -> Range:
    """Return how far, in m, foam can be trusted to climb a narrow gap: 10 to 20 gaps, 15 to plan with.

    Range: gap 1 to 8 mm; a wider one is not what stops it. Source: common practice, no physics in it.
    """
    return GAP_LENGTHS.times(inside("gap", gap_m, 1, 8, "mm"))


def slot_travel(gap_m: float, drop_pa: float, time_s: float, viscosity: float) -> float:
    """Return m that a liquid of one viscosity runs into a flat gap: gap sqrt(dp t / (6 mu)).

    Range: gap 0.5 to 50 mm, 1 Pa to 100 kPa, 1 s to 1 h, 0.01 to 100 000 Pa s. Source: laminar flow
    between plates, front advancing from rest. A rising foam thickens as it goes: use its end viscosity.
    """
    inside("gap", gap_m, 0.5, 50, "mm")
    inside("pressure", drop_pa, 1, 100_000, "Pa")
    inside("time", time_s, 1, 3600, "s")
    inside("viscosity", viscosity, 0.01, 1e5, "Pa*s")
    return gap_m * math.sqrt(drop_pa * time_s / (6 * viscosity))
