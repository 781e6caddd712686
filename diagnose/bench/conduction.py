"""Warmth going through a wall: the exact series for a slab that is put into warmer or colder surroundings.

A mold wall is far thinner than wide, so it warms as a slab. Two numbers rule it: Fo = (diffusivity
x time / depth²) counts time, Bi = (surface coefficient x depth / conductivity) says whether the wall
or the air holds the heat back. In air Bi is small and the held-surface formula (Bi without end) is
wrong by five to twenty times, so it is only used where a surface really is held.
Depth is the whole wall if one face is warmed and half of it if both are.
"""

from __future__ import annotations

import math
from functools import lru_cache

from diagnose.bench.quantities import bisect, inside

_SHORT = 0.01
"""Below this Fo the far face has felt nothing (to 1e-12) and the half-space solution is exact."""

_NEGLIGIBLE = 40.0
"""A term of exp(-40) is below rounding."""


def _fourier(fo: float) -> float:
    return inside("Fourier number", fo, 0, 1e6)


def _biot(bi: float) -> float:
    return inside("Biot number", bi, 1e-5, 1e5)


def theta_held(fo: float) -> float:
    """Return (T - Ts)/(Ti - Ts) at the mid-plane, or insulated face, of a slab whose surface is held at Ts.

    1 is not changed yet, 0 is all the way. Range: Fo 0 to 1 000 000. Source: Fourier series,
    Carslaw and Jaeger; below Fo 0.1 by the complementary-error-function form, which is the same sum.
    """
    _fourier(fo)
    if fo == 0:
        return 1.0
    if fo < 0.1:
        depth = 2 * math.sqrt(fo)
        return 1 - 2 * _alternating([math.erfc((2 * n + 1) / depth) for n in range(4)])
    rates = [(2 * n + 1) * math.pi / 2 for n in range(12)]
    return _alternating([2 / rate * math.exp(-rate * rate * fo) for rate in rates])


def _alternating(terms: list[float]) -> float:
    return math.fsum(-term if n % 2 else term for n, term in enumerate(terms))


def fourier_held(theta: float) -> float:
    """Return Fo at which `theta_held` has come down to *theta* (0.0001 to 0.9999). Source: as there."""
    inside("share of the step still missing", theta, 1e-4, 0.9999)
    return bisect(lambda fo: theta_held(fo) - theta, 1e-3, 10)


@lru_cache(maxsize=1024)  # a search over times asks for the same few roots again and again
def biot_root(bi: float, n: int = 0) -> float:
    """Return root *n* (from 0) of zeta tan zeta = Bi, between n pi and n pi + pi/2.

    Range: Bi 0.00001 to 100 000. Source: transient conduction in a plane wall, standard texts.
    """
    _biot(bi)
    low = n * math.pi
    return bisect(lambda z: bi * math.cos(z - low) - z * math.sin(z - low), low, low + math.pi / 2)


def biot_constant(zeta: float) -> float:
    """Return the series constant 4 sin zeta / (2 zeta + sin 2 zeta) of a root. Source: as `biot_root`."""
    return 4 * math.sin(zeta) / (2 * zeta + math.sin(2 * zeta))


def _scaled_erfc(x: float) -> float:
    """Return exp(x²) erfc(x) without overflow."""
    if x < 20:
        return math.exp(x * x) * math.erfc(x)
    square = x * x
    return (1 - 1 / (2 * square) + 3 / (4 * square * square)) / (x * math.sqrt(math.pi))


def _series(fo: float, bi: float, *, surface: bool) -> float:
    total, n = 0.0, 0
    while True:
        zeta = biot_root(bi, n)
        if n and zeta * zeta * fo > _NEGLIGIBLE:
            return total
        place = math.cos(zeta) if surface else 1.0
        total += biot_constant(zeta) * place * math.exp(-zeta * zeta * fo)
        n += 1


def theta_centre(fo: float, bi: float) -> float:
    """Return (T - Tair)/(Ti - Tair) at the mid-plane, or insulated face, of a slab in air or water.

    Range: Fo 0 to 1 000 000, Bi 0.00001 to 100 000. Source: series of the plane wall with a surface coefficient.
    """
    _fourier(fo)
    _biot(bi)
    return 1.0 if fo < _SHORT else _series(fo, bi, surface=False)


def theta_surface(fo: float, bi: float) -> float:
    """Return (T - Tair)/(Ti - Tair) at the face that the air or water touches.

    Range: Fo 0 to 1 000 000, Bi 0.00001 to 100 000. Source: as `theta_centre`; below Fo 0.01 the half-space.
    """
    _fourier(fo)
    _biot(bi)
    if fo < _SHORT:
        return _scaled_erfc(bi * math.sqrt(fo))
    return _series(fo, bi, surface=True)


def fourier_for(theta: float, bi: float) -> float:
    """Return Fo at which `theta_centre` has come down to *theta* (0.0001 to 0.9999), the slowest place.

    Range: Bi 0.00001 to 100 000. Source: as `theta_centre`.
    """
    inside("share of the step still missing", theta, 1e-4, 0.9999)
    zeta = biot_root(bi)
    late = max(_SHORT, math.log(1.2733 / theta) / zeta**2)
    return bisect(lambda fo: theta_centre(fo, bi) - theta, _SHORT, late)
