"""Isocyanate index, equivalents, and what water does: the chemistry behind "too much A".

Only for somebody who has the numbers of the sheet (percent NCO of A, hydroxyl number and water of
B). It explains why a gram of water is a disaster: it makes over a liter of gas and eats
fifteen to thirty times its weight of A. It is for understanding a fault and
never for changing a formulation: that is the supplier's business.
"""

from __future__ import annotations

from diagnose.bench.quantities import GAS_CONSTANT, STANDARD_PRESSURE, ZERO_C, inside

NCO_MOLAR = 0.042017
"""kg/mol of the NCO group, from atomic masses (4200/%NCO is the rounded form)."""

KOH_MOLAR = 0.056105
"""kg/mol of potassium hydroxide (56 100/OH number is the rounded form)."""

WATER_MOLAR = 0.018015
"""kg/mol of water; one mole takes two NCO groups and gives one mole of carbon dioxide."""


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


def iso_eaten_by_water(water_kg: float, nco_percent: float) -> float:
    """Return kg of isocyanate used up by *water_kg*: 17 g a gram at 27 % NCO, 29 at 16 %.

    Range: water 0 to 10 kg, 1 to 50 % NCO. Source: two NCO a water; molar masses.
    """
    inside("water", water_kg, 0, 10_000, "g")
    return 2 * water_kg / WATER_MOLAR * iso_equivalent_weight(nco_percent)
