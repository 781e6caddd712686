"""Numbers of the bench in words, and how finely a bench can read them.

A caster reads grams off a scale that shows whole ones and minutes off a wall clock, so "99.6 min" is noise.
`rounded` is the one rule for that; what is worked out stays exact until it is told.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from diagnose.bench.quantities import Range, from_si, label, number

#: unit -> (up to this size, step) in rising order; the last step holds for all above
_STEPS: dict[str, tuple[tuple[float, float], ...]] = {
    "g": ((10, 0.1), (100, 1), (2000, 5), (math.inf, 50)),
    "weighed g": ((20, 0.1), (1000, 1), (math.inf, 5)),
    "kg": ((3, 0.1), (20, 0.5), (math.inf, 1)),
    "mL": ((20, 1), (200, 5), (math.inf, 10)),
    "degC": ((math.inf, 1),),
    "K": ((math.inf, 0.5),),
    "s": ((20, 1), (120, 5), (math.inf, 30)),
    "min": ((5, 0.5), (15, 1), (180, 5), (math.inf, 15)),
    "h": ((12, 0.5), (48, 1), (math.inf, 6)),
    "mm": ((3, 0.1), (50, 1), (math.inf, 5)),
    "kPa": ((10, 1), (math.inf, 5)),
    "percent": ((10, 0.1), (math.inf, 1)),
    "1": ((10, 0.01), (math.inf, 1)),
}


def rounded(value: float, unit: str, toward: str = "near", weighed: bool = False) -> float:
    """Return *value* in *unit* as finely as the bench reads it; *toward* is "near", "up" or "down".

    Go up where too little hurts (demold, paint) and down where too much does (the last drop). *weighed* grams keep the
    ratio: a finer step. A unit without a rule keeps three figures.
    """
    step = _step(abs(value), "weighed g" if weighed and unit == "g" else unit)
    turns: dict[str, Callable[[float], int]] = {"near": round, "up": _up, "down": _down}
    return float(f"{turns[toward](value / step) * step:.10g}")


def _step(size: float, unit: str) -> float:
    for most, step in _STEPS.get(unit, ()):
        if size < most:
            return step
    return 10.0 ** (math.floor(math.log10(size)) - 2) if size else 1.0


def _up(steps: float) -> int:
    return math.ceil(steps - 1e-9)


def _down(steps: float) -> int:
    return math.floor(steps + 1e-9)


def at_bench(value_si: float, unit: str, toward: str = "near", weighed: bool = False) -> str:
    """Write an SI value in *unit* as finely as the bench reads it: "470 g"."""
    return number(rounded(from_si(value_si, unit), unit, toward, weighed)) + label(unit)


def say(value_si: float, unit: str, digits: int = 3) -> str:
    """Write an SI value in *unit* to so many figures: "142 g"."""
    return number(from_si(value_si, unit), digits) + label(unit)


def say_range(span: Range, unit: str, digits: int = 3) -> str:
    """Write an SI range in *unit*: "58 to 77 s"."""
    low, high = number(from_si(span.low, unit), digits), number(from_si(span.high, unit), digits)
    return (low if low == high else f"{low} to {high}") + label(unit)


def time_unit(seconds: float) -> str:
    """Return the unit in which people say a time of so many *seconds*."""
    for unit, most in (("s", 180), ("min", 10_800), ("h", 259_200)):
        if seconds < most:
            return unit
    return "day"


def say_time(seconds: float, toward: str = "near") -> str:
    """Write a time in the unit people say it in, as finely as they read it: "45 s", "40 min", "5.5 h"."""
    return at_bench(seconds, time_unit(seconds), toward)


def say_times(span: Range) -> str:
    """Write a range of times in one unit, outward to the bench: "55 to 80 s"."""
    unit = time_unit(span.mid)
    low = rounded(from_si(span.low, unit), unit, "down")
    high = rounded(from_si(span.high, unit), unit, "up")
    return (number(high) if low == high else f"{number(low)} to {number(high)}") + label(unit)


def celsius(t_c: float) -> str:
    """Write a temperature with °F beside it: "25 °C (77 °F)"."""
    return f"{number(t_c, 3)} °C ({t_c * 1.8 + 32:.0f} °F)"
