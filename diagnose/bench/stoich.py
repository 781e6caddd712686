"""Isocyanate index, equivalents, and what water does: the chemistry behind "too much A".

Only for somebody who has the numbers of the sheet (percent NCO of A, hydroxyl number and water of
B). It explains why a gram of water is a disaster: it makes over a liter of gas and eats
fifteen to thirty times its weight of A. It is for understanding a fault and
never for changing a formulation: that is the supplier's business.
"""

from __future__ import annotations

from diagnose.bench.quantities import GAS_CONSTANT, STANDARD_PRESSURE, ZERO_C, fraction, inside

NCO_MOLAR = 0.042017
"""kg/mol of the NCO group, from atomic masses (4200/%NCO is the rounded form)."""

KOH_MOLAR = 0.056105
"""kg/mol of potassium hydroxide (56 100/OH number is the rounded form)."""

WATER_MOLAR = 0.018015
"""kg/mol of water; one mole takes two NCO groups and gives one mole of carbon dioxide."""

CO2_MOLAR = 0.044009
"""kg/mol of carbon dioxide."""


def _nco(percent: float) -> float:
    return inside("NCO of A", percent, 1, 50, "percent")


def _oh(number: float) -> float:
    return inside("hydroxyl number of B", number, 1, 2000, "mgKOH/g")


def iso_equivalent_weight(nco_percent: float) -> float:
    """Return kg of isocyanate that carry one mole of NCO groups, from percent NCO by weight.

    Range: 1 to 50 % NCO. Source: 4200/%NCO g, standard urethane stoichiometry; exact molar masses.
    """
    return 100 * NCO_MOLAR / _nco(nco_percent)


def polyol_equivalent_weight(oh_number: float) -> float:
    """Return kg of polyol that carry one mole of OH groups, from the hydroxyl number (mg KOH/g).

    Range: 1 to 2000 mg KOH/g. Source: 56 100/OH number g, standard; exact molar masses.
    """
    return 1000 * KOH_MOLAR / _oh(oh_number)


def active_hydrogen(polyol_kg: float, oh_number: float, water_kg: float = 0.0, acid_number: float = 0.0) -> float:
    """Return moles of groups in B that take NCO: hydroxyl, acid, and two for each molecule of water.

    Range: polyol 0.01 g to 100 kg, water 0 to 10 kg, acid number 0 to 200. Source: standard.
    """
    inside("polyol", polyol_kg, 0.01, 100_000, "g")
    inside("water", water_kg, 0, 10_000, "g")
    inside("acid number", acid_number, 0, 200, "mgKOH/g")
    hydroxyl = polyol_kg * (_oh(oh_number) + acid_number) / (1000 * KOH_MOLAR)
    return hydroxyl + 2 * water_kg / WATER_MOLAR


def isocyanate_index(
    iso_kg: float,
    nco_percent: float,
    polyol_kg: float,
    oh_number: float,
    water_kg: float = 0.0,
    acid_number: float = 0.0,
) -> float:
    """Return the isocyanate index: 100 x NCO groups used to groups that take them.

    Range: isocyanate 0.01 g to 100 kg, the rest as `active_hydrogen`. Source: standard; also printed
    as 1.00 for 100.
    """
    inside("isocyanate", iso_kg, 0.01, 100_000, "g")
    groups = active_hydrogen(polyol_kg, oh_number, water_kg, acid_number)
    return 100 * iso_kg / iso_equivalent_weight(nco_percent) / groups


def iso_needed(
    polyol_kg: float,
    oh_number: float,
    nco_percent: float,
    water_kg: float = 0.0,
    index: float = 100.0,
    acid_number: float = 0.0,
) -> float:
    """Return kg of isocyanate for a polyol, its water and an *index* (50 to 200).

    Source: index x equivalent weight x sum of equivalents, water included; standard.
    """
    inside("isocyanate index", index, 50, 200)
    groups = active_hydrogen(polyol_kg, oh_number, water_kg, acid_number)
    return index / 100 * iso_equivalent_weight(nco_percent) * groups


def index_after_b_error(index: float, b_over_percent: float) -> float:
    """Return the index when B is over by a percentage: index / (1 + x/100). Below zero is under.

    Range: index 50 to 200, error -50 to 100 %. Source: arithmetic.
    """
    inside("isocyanate index", index, 50, 200)
    return index / (1 + inside("error of B", b_over_percent, -50, 100, "percent") / 100)


def index_after_a_error(index: float, a_over_percent: float) -> float:
    """Return the index when A is over by a percentage: index (1 + x/100). Below zero is under.

    Range: index 50 to 200, error -50 to 100 %. Source: arithmetic.
    """
    inside("isocyanate index", index, 50, 200)
    return index * (1 + inside("error of A", a_over_percent, -50, 100, "percent") / 100)


def water_share(polyol_kg: float, oh_number: float, water_kg: float) -> float:
    """Return water's share (0 to 1) of all the groups in B that take NCO.

    Range: as `active_hydrogen`. Source: standard stoichiometry.
    """
    return 2 * water_kg / WATER_MOLAR / active_hydrogen(polyol_kg, oh_number, water_kg)


def gas_from_water(water_kg: float, t_c: float = 25.0, pressure_pa: float = STANDARD_PRESSURE) -> float:
    """Return m3 of carbon dioxide from *water_kg* that reacts with isocyanate, as an ideal gas at *t_c*.

    About 1.36 L a gram at 25 degC. All of it counted: foam keeps about 70 %. Range: water 0 to 10 kg,
    0 to 150 degC, 50 to 150 kPa. Source: one CO2 a water, ideal gas law.
    """
    inside("water", water_kg, 0, 10_000, "g")
    inside("gas temperature", t_c, 0, 150, "degC")
    inside("pressure", pressure_pa, 50, 150, "kPa")
    return water_kg / WATER_MOLAR * GAS_CONSTANT * (t_c + ZERO_C) / pressure_pa


def gas_mass_from_water(water_kg: float) -> float:
    """Return kg of carbon dioxide from *water_kg*: 2.443 to 1. Range: 0 to 10 kg. Source: molar masses."""
    return inside("water", water_kg, 0, 10_000, "g") * CO2_MOLAR / WATER_MOLAR


def iso_eaten_by_water(water_kg: float, nco_percent: float) -> float:
    """Return kg of isocyanate used up by *water_kg*: 17 g a gram at 27 % NCO, 29 at 16 %.

    Range: water 0 to 10 kg, 1 to 50 % NCO. Source: two NCO a water; molar masses.
    """
    inside("water", water_kg, 0, 10_000, "g")
    return 2 * water_kg / WATER_MOLAR * iso_equivalent_weight(nco_percent)


def lowest_density(water_percent: float, t_c: float = 25.0, kept: float = 1.0, solid_density: float = 1100.0) -> float:
    """Return the lowest foam density in kg/m3 that so much water in the whole mix can blow.

    *kept* is the share of gas the foam holds (about 0.7 in practice). A lower density than with
    *kept* = 1 needs another blowing agent. Range: water 0 to 5 %, solid 900 to 1300 kg/m3. Source: CO2
    as an ideal gas, volumes added; solid 1100 kg/m3 as in published foam models.
    """
    inside("water in the mix", water_percent, 0, 5, "percent")
    inside("density of the solid", solid_density, 900, 1300, "kg/m^3")
    fraction("gas kept", kept, 0, 1)
    return 1 / (1 / solid_density + kept * gas_from_water(water_percent / 100, t_c))
