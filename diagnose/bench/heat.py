"""Heat: how long to warm a mold, how fast it cools on the bench, what the mix feels at the wall.

A warm cupboard warms a thick silicone mold in hours, not minutes, and a mold left on the bench loses
its face first. Both are the slab of `conduction.py` with the published properties of the wall.
Those of silicone differ by a factor of three between sources, and still air by a factor of two, so
every time here is a range; go by the long end.
"""

from __future__ import annotations

import math

from msgspec import Struct

from diagnose.bench.conduction import fourier_for, theta_surface
from diagnose.bench.quantities import BenchError, Range, fraction, inside, number, one_of


class Stuff(Struct, frozen=True):
    """A material for heat: conductivity W/mK, density kg/m3, specific heat J/kgK."""

    conductivity: float
    density: float
    heat: float

    @property
    def diffusivity(self) -> float:
        """k / (rho c) in m2/s."""
        return self.conductivity / (self.density * self.heat)

    @property
    def effusivity(self) -> float:
        """sqrt(k rho c) in W s^0.5/(m2 K)."""
        return math.sqrt(self.conductivity * self.density * self.heat)


WALLS: dict[str, tuple[Stuff, ...]] = {
    # The first is the middle; the rest are what other sources say.
    "silicone": (
        Stuff(0.20, 1100, 1300),  # unfilled room-temperature rubber, working value, from memory
        Stuff(0.18, 1100, 1500),  # the slow end of the same, from memory
        Stuff(0.35, 1200, 1000),  # pure, EN 12524
        Stuff(0.50, 1450, 1000),  # filled, EN 12524
    ),
    "plaster": (
        Stuff(0.57, 1300, 1000),  # gypsum plastering, EN 12524
        Stuff(0.40, 1000, 1000),  # lighter, EN 12524
        Stuff(0.22, 1680, 1085),  # with sand, mechanical engineers' handbook
        Stuff(0.56, 1500, 1000),  # gypsum, EN 12524
    ),
    "urethane_rubber": (
        Stuff(0.25, 1200, 1800),  # solid polyurethane, EN 12524
        Stuff(0.17, 1500, 1470),  # rubber, CIBSE Guide A
    ),
    "fiberglass": (Stuff(0.30, 1800, 1000), Stuff(0.20, 1600, 900)),  # from memory
    "aluminium": (Stuff(237.0, 2700, 897),),  # pure metal, from memory
}

MEDIA: dict[str, Range] = {
    "still_air": Range(5, 7, 10),  # W/m2K; natural convection and radiation, usual figures
    "fan": Range(15, 20, 25),
    "water": Range(200, 500, 1000),
}

MIX = Stuff(0.18, 1080, 1800)
"""Fresh liquid mix: heat of a published foam model, conductivity from memory."""


def wall_stuff(wall: str) -> tuple[Stuff, ...]:
    """Return the published property sets of a *wall*, the middle one first."""
    return WALLS[one_of("mold wall", wall, WALLS)]


def _depth(thickness_m: float, sides: str) -> float:
    inside("mold wall thickness", thickness_m, 1, 200, "mm")
    return thickness_m / (2 if one_of("sides", sides, ("one", "both")) == "both" else 1)


def _temperature(quantity: str, t_c: float) -> float:
    return inside(quantity, t_c, -20, 90, "degC")


def warm_time(thickness_m: float, stuff: Stuff, coefficient: float, share: float = 0.9, sides: str = "one") -> float:
    """Return seconds for *share* of a step to reach the slowest place through a surface coefficient.

    The slowest place is the middle of a wall warmed on both sides, or the far face of one warmed on
    one side. Range: wall 1 to 200 mm, 1 to 2000 W/m2K, share 0.01 to 0.999. Source: `theta_centre`.
    """
    depth = _depth(thickness_m, sides)
    inside("surface coefficient", coefficient, 1, 2000, "W/m^2/K")
    fraction("share of the step", share, 0.01, 0.999)
    fo = fourier_for(1 - share, coefficient * depth / stuff.conductivity)
    return fo * depth**2 / stuff.diffusivity


def warm_mold(
    thickness_m: float,
    start_c: float,
    around_c: float,
    target_c: float,
    sides: str = "one",
    medium: str = "still_air",
    wall: str = "silicone",
) -> Range:
    """Return seconds to bring the slowest place of a wall from *start_c* to *target_c* in *around_c*.

    Range: -20 to 90 degC, wall 1 to 200 mm; the target must lie between start and surroundings, at
    most 99.9 % of the way. Source: `warm_time` over the published properties of the wall and the
    spread of the surface coefficient. A shell behind the mold is not counted: it makes it slower.
    """
    share = _share(start_c, around_c, target_c)
    coefficients = MEDIA[one_of("medium", medium, MEDIA)]
    sets = wall_stuff(wall)

    def time(stuff: Stuff, coefficient: float) -> float:
        return warm_time(thickness_m, stuff, coefficient, share, sides)

    ends = [time(s, h) for s in sets for h in (coefficients.low, coefficients.high)]
    return Range.around(time(sets[0], coefficients.mid), ends)


def _share(start_c: float, around_c: float, target_c: float) -> float:
    _temperature("temperature of the mold", start_c)
    _temperature("temperature around the mold", around_c)
    step = around_c - start_c
    share = (target_c - start_c) / step if step else 0.0
    if not 0.01 <= share <= 0.999:
        raise BenchError(
            f"target temperature {number(target_c)} °C: expected between the mold's "
            f"{number(start_c)} °C and the {number(around_c)} °C around it, not at either end"
        )
    return share


def bench_face(
    time_s: float,
    mold_c: float,
    room_c: float,
    thickness_m: float,
    sides: str = "one",
    medium: str = "still_air",
    wall: str = "silicone",
) -> Range:
    """Return the temperature in degC of the bare face of a mold after *time_s* seconds on the bench.

    The mold was warm (or cold) all through at *mold_c*. Range: 0 to 12 h, -20 to 90 degC, wall 1 to
    200 mm. Source: `theta_surface` over the published properties. A shell behind the wall slows it;
    a draught hastens it: then take the medium "fan".
    """
    inside("time on the bench", time_s, 0, 720, "min")
    _temperature("temperature of the mold", mold_c)
    _temperature("temperature of the room", room_c)
    depth = _depth(thickness_m, sides)
    coefficients = MEDIA[one_of("medium", medium, MEDIA)]
    sets = wall_stuff(wall)

    def face(stuff: Stuff, h: float) -> float:
        fo = stuff.diffusivity * time_s / depth**2
        return room_c + (mold_c - room_c) * theta_surface(fo, h * depth / stuff.conductivity)

    ends = [face(s, h) for s in sets for h in (coefficients.low, coefficients.high)]
    return Range.around(face(sets[0], coefficients.mid), ends)


def contact_temperature(mix_c: float, wall_c: float, mix_effusivity: float, wall_effusivity: float) -> float:
    """Return the temperature in degC where two bodies meet: each pulls with its effusivity.

    Range: -20 to 90 degC, effusivity 10 to 50 000 W s^0.5/m2K. Source: two half-spaces in
    contact, Carslaw and Jaeger; from memory. It holds for the first seconds, before reaction heat.
    """
    _temperature("temperature of the mix", mix_c)
    _temperature("temperature of the wall", wall_c)
    for effusivity in (mix_effusivity, wall_effusivity):
        inside("effusivity", effusivity, 10, 50_000)
    total = mix_effusivity + wall_effusivity
    return (mix_effusivity * mix_c + wall_effusivity * wall_c) / total


def contact(mix_c: float, wall_c: float, wall: str = "silicone") -> Range:
    """Return the contact temperature in degC of a fresh mix on a *wall*, over its published properties.

    Range: -20 to 90 degC. Source: `contact_temperature`.
    """
    sets = wall_stuff(wall)
    values = [contact_temperature(mix_c, wall_c, MIX.effusivity, s.effusivity) for s in sets]
    return Range.around(values[0], values[1:])
