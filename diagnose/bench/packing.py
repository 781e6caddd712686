"""The charge: grams of foam to fill a cavity, and how tight the part was really packed.

A self-skinning part is made by putting in more foam than would just fill the cavity: the pressure
makes the skin. Two different numbers are used for "how much more" and people mix them
up. The packing factor is molded density over free-rise density. Overpack is charge over the least charge that
just fills, in percent. They are named apart here and neither is called by the other's name.
"""

from __future__ import annotations

from msgspec import Struct

from diagnose.bench.quantities import BenchError, fraction, inside, number

LB_PER_FT3 = 0.45359237 / 0.3048**3
"""kg/m3 in one lb/ft3, exact."""


class Charge(Struct, frozen=True):
    """What to pour and what to mix, in kg, and the volume in m3 that is left for foam."""

    pour_kg: float
    mix_kg: float
    foam_volume_m3: float


def _volume(volume_m3: float, quantity: str = "cavity volume") -> float:
    return inside(quantity, volume_m3, 1, 1_000_000, "mL")


def _foam_density(density: float, quantity: str = "free-rise density") -> float:
    return inside(quantity, density, 20, 1200, "kg/m^3")


def foam_volume(
    volume_m3: float,
    skin_kg: float = 0.0,
    armature_m3: float = 0.0,
    skin_density: float = 1050.0,
) -> float:
    """Return m3 left for foam in a cavity once the skin coat and the armature are in.

    Range: cavity 1 mL to 1000 L, skin 0 to 100 kg of 500 to 3000 kg/m3; both must leave at least a
    tenth. Source: volumes added.
    """
    _volume(volume_m3)
    inside("skin coat", skin_kg, 0, 100_000, "g")
    inside("armature volume", armature_m3, 0, 1_000_000, "mL")
    inside("skin density", skin_density, 500, 3000, "kg/m^3")
    left = volume_m3 - skin_kg / skin_density - armature_m3
    if left < 0.1 * volume_m3:
        raise BenchError(
            f"volume left for foam {number(left * 1e6)} mL of {number(volume_m3 * 1e6)} mL: expected a tenth or more "
            f"once skin coat and armature are taken off"
        )
    return left


def charge(
    volume_m3: float,
    free_rise_density: float,
    packing_factor: float,
    loss: float,
    skin_kg: float = 0.0,
    armature_m3: float = 0.0,
    skin_density: float = 1050.0,
) -> Charge:
    """Return kg to pour and kg to mix so that a cavity is packed by *packing_factor*.

    *volume_m3* is the empty cavity; skin and armature are taken off. *loss* is the share (0 to 0.5)
    of the mix that stays in bucket and cups. Range: free rise 20 to 1200 kg/m3, packing 1 to 3. Source:
    packing factor as defined in patents on molded foam; losses are common practice.
    """
    room = foam_volume(volume_m3, skin_kg, armature_m3, skin_density)
    inside("packing factor", packing_factor, 1, 3)
    fraction("loss in bucket and cups", loss, 0, 0.5)
    pour = room * _foam_density(free_rise_density) * packing_factor
    return Charge(pour, pour / (1 - loss), room)


def packing(charge_kg: float, volume_m3: float, free_rise_density: float) -> float:
    """Return the packing factor: charge / (volume x free-rise density), a pure number.

    *volume_m3* is the space left for the foam. Range: charge 0.01 g to 100 kg, volume 1 mL to 1000 L,
    free rise 20 to 1200 kg/m3. Source: molded density over free-rise density, as patents define it.
    """
    inside("charge", charge_kg, 0.01, 100_000, "g")
    return charge_kg / (_volume(volume_m3) * _foam_density(free_rise_density))


def packing_of_part(part_kg: float, volume_m3: float, free_rise_density: float, insert_kg: float = 0.0) -> float:
    """Return the packing factor reached, from the trimmed part less what is not foam in it.

    *insert_kg* is armature and skin coat. Range: as `packing`; the part must outweigh what is in it.
    Source: as `packing`. Gas that left the foam (a percent or two) is not counted.
    """
    inside("trimmed part", part_kg, 0.01, 100_000, "g")
    inside("armature and skin in the part", insert_kg, 0, 999 * part_kg, "g")
    return packing(part_kg - insert_kg, volume_m3, free_rise_density)


def molded_density(charge_kg: float, volume_m3: float) -> float:
    """Return kg/m3 of the molded foam: charge over cavity volume. Range: as `packing`. Source: definition."""
    return inside("charge", charge_kg, 0.01, 100_000, "g") / _volume(volume_m3)


def overpack_percent(charge_kg: float, least_charge_kg: float) -> float:
    """Return overpack in percent: 100 x charge / the least charge that just fills the cavity.

    Not the packing factor. Range: charges 0.01 g to 100 kg. Source: definition in patents on molded foam.
    """
    inside("charge", charge_kg, 0.01, 100_000, "g")
    return 100 * charge_kg / inside("least charge that fills", least_charge_kg, 0.01, 100_000, "g")


def free_rise_density(foam_kg: float, cup_m3: float) -> float:
    """Return free-rise density in kg/m3 from a cup of known brim volume, sliced flush and weighed.

    A small cup loses its heat and reads heavy: 100 g or more. Range: foam 1 g to 10 kg, cup 10 mL to
    20 L, result 20 to 1200 kg/m3. Source: mass over volume, as cup tests and density standards do.
    """
    inside("foam in the cup", foam_kg, 1, 10_000, "g")
    return _foam_density(foam_kg / inside("cup volume", cup_m3, 10, 20_000, "mL"))
