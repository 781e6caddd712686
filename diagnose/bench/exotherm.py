"""The core of a thick section: how hot it can get, and how long it stays so.

Foam is a fine insulator, so the middle of a thick part keeps nearly all the heat of its own
reaction: it browns, and it stays hot long after the face is cool enough to touch. The adiabatic
figure is the ceiling (no heat lost); the cooled one follows that heat out through the foam to the
wall. Published heats of reaction differ by a third, so both are ranges. A core that may pass about 120 degC (250 degF)
belongs outdoors on bare concrete, away from anything that burns: see the SDS.
"""

from __future__ import annotations

from diagnose.bench.conduction import fourier_for, fourier_held, theta_centre, theta_held
from diagnose.bench.heat import Stuff
from diagnose.bench.quantities import BenchError, Range, inside, number
from diagnose.bench.stoich import KOH_MOLAR, WATER_MOLAR

HEAT_PER_OH = Range(68_500.0, 81_250.0, 94_000.0)
"""J/mol OH: 68.5 kJ in a published foam model, about 94 in older handbooks (from memory)."""

HEAT_PER_WATER = Range(81_500.0, 103_250.0, 125_000.0)
"""J/mol water: 81.5 kJ in the same model, about 125 in older handbooks (from memory)."""

MIX_HEAT = 1800.0
"""J/kgK of the mix, published foam model."""

FOAM_CONDUCTIVITY = Range(0.04, 0.06, 0.10)
"""W/mK of foam of 80 to 600 kg/m3: 0.05 at 70 kg/m3 is published (EN 12524); the spread is from memory."""

MOST_OH = 10.0
"""mol OH in a kg of mix, more than any polyol for foam brings (our own bound)."""

WALL_COEFFICIENT = 5.0
"""W/m2K, a wall that is itself warm and stands in still air: the slow end."""


def adiabatic_rise(oh_mol_kg: float, water_mol_kg: float) -> Range:
    """Return the rise in K of a mix that keeps all its heat, from moles of OH and of water in a kg of mix.

    All of it is taken to react and no water to boil off. Range: OH 0 to 10, water 0 to 3 mol/kg.
    Source: heats of reaction named in this module over 1800 J/kgK.
    """
    inside("hydroxyl in the mix in mol/kg", oh_mol_kg, 0, MOST_OH)
    inside("water in the mix in mol/kg", water_mol_kg, 0, 3)
    rises = [
        (oh_mol_kg * oh + water_mol_kg * water) / MIX_HEAT
        for oh, water in (
            (HEAT_PER_OH.low, HEAT_PER_WATER.low),
            (HEAT_PER_OH.mid, HEAT_PER_WATER.mid),
            (HEAT_PER_OH.high, HEAT_PER_WATER.high),
        )
    ]
    return Range(*rises)


def adiabatic_core_c(start_c: float, ratio_per_100: float, oh_number: float, water_percent_of_b: float) -> Range:
    """Return the ceiling in degC for the core: start plus `adiabatic_rise` of a mix at its ratio.

    Range: start 0 to 60 degC, ratio 1 to 1000 parts A to 100 B, water 0 to 5 % of B, OH number of B from 1 to 2000
    mg KOH/g but to no more than 10 mol OH in a kg of mix, which is 841 at 50 parts A and 2000 from 257 on. Assumes that
    A is enough for both. Source: `adiabatic_rise`.
    """
    inside("temperature of the mix", start_c, 0, 60, "degC")
    inside("mix ratio", ratio_per_100, 1, 1000, "parts_a_per_100_b")
    b_share = 100 / (100 + ratio_per_100)
    most = min(2000.0, MOST_OH * 1000 * KOH_MOLAR / b_share)
    inside("hydroxyl number of B at this ratio", oh_number, 1, most, "mgKOH/g")
    inside("water in B", water_percent_of_b, 0, 5, "percent")
    oh = b_share * oh_number / (1000 * KOH_MOLAR)
    water = b_share * water_percent_of_b / 100 / WATER_MOLAR
    rise = adiabatic_rise(oh, water)
    return Range(start_c + rise.low, start_c + rise.mid, start_c + rise.high)


def foam_stuff(density: float, conductivity: float) -> Stuff:
    """Return foam of a *density* in kg/m3 for heat; specific heat 1500 J/kgK (EN 12524)."""
    return Stuff(conductivity, inside("foam density", density, 40, 800, "kg/m^3"), 1500.0)


def _depth(thickness_m: float) -> float:
    return inside("thickness of the section", thickness_m, 10, 600, "mm") / 2


def cooled_core_c(peak_c: float, wall_c: float, thickness_m: float, time_s: float, density: float) -> Range:
    """Return the temperature in degC of the middle of a section *time_s* after its peak.

    Low: the wall is held cool and the foam conducts well. High: a warm wall in still air and foam that conducts
    badly. Range: peak up to 250 degC, wall 0 to 90 degC, section 10 to 600 mm, time 0 to 48 h,
    density 40 to 800 kg/m3. Source: `theta_held` and `theta_centre`. A flat section; a ball or an arm
    cools two to three times faster. Assumes that the reaction is over at the peak.
    """
    inside("temperature of the wall", wall_c, 0, 90, "degC")
    inside("peak temperature of the core", peak_c, wall_c, 250, "degC")
    inside("time since the peak", time_s, 0, 48, "h")
    depth = _depth(thickness_m)

    def held(conductivity: float) -> float:
        return theta_held(foam_stuff(density, conductivity).diffusivity * time_s / depth**2)

    stuff = foam_stuff(density, FOAM_CONDUCTIVITY.low)
    slow = theta_centre(stuff.diffusivity * time_s / depth**2, WALL_COEFFICIENT * depth / stuff.conductivity)
    thetas = (held(FOAM_CONDUCTIVITY.high), held(FOAM_CONDUCTIVITY.mid), slow)
    return Range(*(wall_c + (peak_c - wall_c) * theta for theta in thetas))


def core_cool_time(peak_c: float, wall_c: float, target_c: float, thickness_m: float, density: float) -> Range:
    """Return seconds from the peak until the middle of a section is down to *target_c*.

    Range and source: as `cooled_core_c`; the target must lie between wall and peak.
    """
    cooled_core_c(peak_c, wall_c, thickness_m, 0, density)
    theta = (target_c - wall_c) / (peak_c - wall_c) if peak_c > wall_c else 1.0
    if not 1e-3 <= theta <= 0.999:
        raise BenchError(
            f"target temperature {number(target_c)} °C: expected between the wall's {number(wall_c)} °C and the "
            f"core's {number(peak_c)} °C, not at either end"
        )
    depth = _depth(thickness_m)

    def seconds(fo: float, conductivity: float) -> float:
        return fo * depth**2 / foam_stuff(density, conductivity).diffusivity

    slow = fourier_for(theta, WALL_COEFFICIENT * depth / FOAM_CONDUCTIVITY.low)
    return Range(
        seconds(fourier_held(theta), FOAM_CONDUCTIVITY.high),
        seconds(fourier_held(theta), FOAM_CONDUCTIVITY.mid),
        seconds(slow, FOAM_CONDUCTIVITY.low),
    )


def core_heat(charge_kg: float, density: float, reference_density: float) -> float:
    """Return the kg of a *reference_density* grade that would heat as *charge_kg* of a *density* one does.

    A light grade is blown by more water, which makes the heat. Range: charge 0.01 g to 1000 kg, free rise 20 to 800
    kg/m3. Source: our own yardstick, from the sums of `adiabatic_core_c` at two grades.
    """
    inside("charge", charge_kg, 0.01, 1_000_000, "g")
    inside("free-rise density", density, 20, 800, "kg/m^3")
    return charge_kg * inside("density that it is counted in", reference_density, 20, 800, "kg/m^3") / density
