"""The skin coat: grams for a thickness, the thickness that grams gave, and what runs off.

A slushed skin is judged by its mean thickness, which two numbers give: grams left in the mold and
the area they cover. One coat is never as thick as what was put on, because it drains until it
gels. A mean says nothing about ridges and pools: it is the ridge that peels.
"""

from __future__ import annotations

import math

from msgspec import Struct

from diagnose.bench.quantities import GRAVITY, Range, fraction, inside

COAT_VISCOSITY = Range(0.2, 0.5, 1.2)
"""Pa s of a fresh slush or spray skin, published in a patent (0.2 to 1.2); the middle is our own."""


class Coats(Struct, frozen=True):
    """A skin in coats: how many, and kg to mix for each and for all of them."""

    count: int
    each_kg: float
    all_kg: float


def _area(area_m2: float) -> float:
    return inside("area of the mold", area_m2, 1, 200_000, "cm^2")


def _thickness(thickness_m: float, quantity: str = "skin thickness") -> float:
    return inside(quantity, thickness_m, 0.05, 20, "mm")


def _density(density: float) -> float:
    return inside("skin density", density, 500, 3000, "kg/m^3")


def skin_mass(area_m2: float, thickness_m: float, density: float, loss: float = 0.0) -> float:
    """Return kg of skin for an area and a mean thickness; *loss* (0 to 0.7) is what drains or stays in cups.

    Range: 1 cm2 to 20 m2, 0.05 to 20 mm, 500 to 3000 kg/m3. Source: area x thickness x density.
    """
    fraction("loss of the skin coat", loss, 0, 0.7)
    return _area(area_m2) * _thickness(thickness_m) * _density(density) / (1 - loss)


def skin_mean(skin_kg: float, area_m2: float, density: float) -> float:
    """Return the mean thickness in m of *skin_kg* left on an area: `skin_mass` turned round.

    Range: 0.01 g to 100 kg, 1 cm2 to 20 m2, 500 to 3000 kg/m3. Source: mass over area and density.
    """
    inside("skin coat", skin_kg, 0.01, 100_000, "g")
    return skin_kg / (_area(area_m2) * _density(density))


def coats(
    area_m2: float,
    thickness_m: float,
    per_coat_m: float,
    density: float,
    loss: float = 0.0,
) -> Coats:
    """Return how many coats of *per_coat_m* make at least *thickness_m*, and kg to mix for each.

    Range: as `skin_mass`. Source: division, rounded up; all coats come out equal.
    """
    total = skin_mass(area_m2, thickness_m, density, loss)
    count = math.ceil(thickness_m / _thickness(per_coat_m, "thickness of a coat") - 1e-9)
    return Coats(count, total / count, total)


def drained_film(viscosity: float, height_m: float, time_s: float, density: float) -> float:
    """Return the mean thickness in m that is left on an upright wall after draining for *time_s*.

    (2/3) sqrt(mu H / (rho g t)). Range: 0.01 to 1000 Pa s, wall 10 mm to 2 m, 1 s to 2 h. Source:
    draining film under gravity (Jeffreys), from memory. It is what a wall of any first thickness comes
    to, so it can't be more than what was put on; a coat that thickens as it gels keeps more.
    """
    inside("viscosity of the skin coat", viscosity, 0.01, 1000, "Pa*s")
    inside("height of the wall", height_m, 10, 2000, "mm")
    inside("draining time", time_s, 1, 7200, "s")
    return 2 / 3 * math.sqrt(viscosity * height_m / (_density(density) * GRAVITY * time_s))


def coat_left(height_m: float, time_s: float, density: float) -> Range:
    """Return the mean thickness in m one coat keeps, over the published viscosities of fresh skin mixes.

    Range and source: as `drained_film`.
    """
    return COAT_VISCOSITY.through(lambda mu: drained_film(mu, height_m, time_s, density))
