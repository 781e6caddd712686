"""What every sum stands on: one kind of error, one kind of range, one way to check an input.

A caster who types a wall of 0 mm must read which number was meant, what it was and what would do:
``mold wall thickness 0 mm: expected 1 mm to 200 mm``. So each check knows the name of the quantity
and the unit it is spoken of at the bench, though the value it looks at is SI. Published figures
for this trade differ by up to a factor of three; `Range` carries the spread along with the middle.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable

from msgspec import Struct

from diagnose.errors import InputError

GAS_CONSTANT = 8.314462618
"""J/(mol K), exact in the SI to the digits given."""

STANDARD_PRESSURE = 101_325.0
"""Pa, the standard atmosphere."""

ZERO_C = 273.15
"""K, 0 degC."""

GRAVITY = 9.80665
"""m/s2, standard."""

UNITS: dict[str, float] = {
    "1": 1.0,
    "count": 1.0,
    "percent": 1.0,
    "parts_a_per_100_b": 1.0,
    "degC": 1.0,
    "K": 1.0,
    "g": 1e-3,
    "kg": 1.0,
    "mg": 1e-6,
    "mL": 1e-6,
    "L": 1e-3,
    "m^3": 1.0,
    "mm": 1e-3,
    "um": 1e-6,
    "m": 1.0,
    "cm^2": 1e-4,
    "m^2": 1.0,
    "s": 1.0,
    "min": 60.0,
    "h": 3600.0,
    "day": 86_400.0,
    "week": 604_800.0,
    "kg/m^3": 1.0,
    "mg/m^3": 1e-6,
    "mL/s": 1e-6,
    "m^3/min": 1 / 60.0,
    "mg/min": 1e-6 / 60.0,
    "Pa": 1.0,
    "kPa": 1e3,
    "Pa*s": 1.0,
    "W/m^2/K": 1.0,
    "kJ/mol": 1e3,
    "1/h": 1 / 3600.0,
    "mgKOH/g": 1.0,
    "g/mol": 1e-3,
}
"""Bench unit to SI. degC, percent, ratios and hydroxyl numbers stay as they are spoken."""

_LABELS = {
    "1": "",
    "count": "",
    "percent": " %",
    "parts_a_per_100_b": " parts per 100",
    "degC": " °C",
    "kg/m^3": " kg/m³",
    "mg/m^3": " mg/m³",
    "cm^2": " cm²",
    "m^2": " m²",
    "m^3": " m³",
    "m^3/min": " m³/min",
    "um": " µm",
    "Pa*s": " Pa·s",
    "W/m^2/K": " W/m²K",
    "1/h": " an hour",
    "mgKOH/g": " mg KOH/g",
}


class BenchError(InputError, ValueError):
    """Raised where a sum can't be done: one line with the quantity, the value met and the range.

    It is wrong input, so the command line tells it in one line and exits 2.
    """


class Range(Struct, frozen=True):
    """A value that is only known to lie between two ends, with the one to say if one must be said."""

    low: float
    mid: float
    high: float

    def __post_init__(self) -> None:
        if not (math.isfinite(self.low) and math.isfinite(self.high)):
            raise BenchError(f"range {self.low} to {self.high}: expected finite ends")
        if not self.low <= self.mid <= self.high:
            raise BenchError(f"range {self.low}, {self.mid}, {self.high}: expected in rising order")

    @classmethod
    def around(cls, mid: float, others: Iterable[float]) -> Range:
        """Return the range that spans *mid* and all *others*."""
        values = [mid, *others]
        return cls(min(values), mid, max(values))

    def times(self, factor: float) -> Range:
        """Return the range with each end multiplied by *factor* (0 or more)."""
        return Range(self.low * factor, self.mid * factor, self.high * factor)

    def through(self, step: Callable[[float], float]) -> Range:
        """Return the range after *step*, which may rise or fall but must be monotone."""
        ends = (step(self.low), step(self.high))
        return Range(min(ends), step(self.mid), max(ends))

    def holds(self, value: float) -> bool:
        """Tell whether *value* lies in the range, ends included."""
        return self.low <= value <= self.high


def to_si(value: float, unit: str) -> float:
    """Return *value*, given in the bench *unit*, in SI."""
    return value * UNITS[unit]


def from_si(value: float, unit: str) -> float:
    """Return the SI *value* in the bench *unit*."""
    return value / UNITS[unit]


def label(unit: str) -> str:
    """Return *unit* as it is written behind a number, with its leading space."""
    return _LABELS.get(unit, f" {unit}")


def number(value: float, digits: int = 6) -> str:
    """Write *value* to so many significant *digits*, without an exponent where it can be helped."""
    if value == 0 or not math.isfinite(value):
        return format(value + 0.0, "g")
    places = digits - 1 - math.floor(math.log10(abs(value)))
    if not -6 <= places <= 12:
        return format(value, f".{digits}g")
    text = f"{round(value, places):.{max(places, 0)}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def inside(quantity: str, value: float, low: float, high: float, unit: str = "1") -> float:
    """Return *value* (SI) if it lies from *low* to *high*, which are in *unit*; else raise `BenchError`.

    The comparison forgives a relative rounding of 1e-12, so that 0.2 m passes as 200 mm.
    """
    shown = from_si(float(value), unit)
    slack = 1e-12 * max(abs(low), abs(high))
    if not low - slack <= shown <= high + slack:
        span = f"{number(low)}{label(unit)} to {number(high)}{label(unit)}"
        raise BenchError(f"{quantity} {number(shown)}{label(unit)}: expected {span}")
    return float(value)


def fraction(quantity: str, value: float, low: float = 0.0, high: float = 0.9) -> float:
    """Return *value* if it is a share from *low* to *high* of 1, else raise `BenchError` in percent."""
    inside(quantity, 100 * float(value), 100 * low, 100 * high, "percent")
    return float(value)


def one_of(quantity: str, value: str, choices: Iterable[str]) -> str:
    """Return *value* if it is one of *choices*, else raise `BenchError` that lists them."""
    known = tuple(choices)
    if value not in known:
        raise BenchError(f"{quantity} '{value}': expected one of {', '.join(known)}")
    return value


def bisect(falling: Callable[[float], float], low: float, high: float) -> float:
    """Return where a *falling* function crosses zero between *low* and *high*, to the last bit."""
    for _ in range(200):
        middle = 0.5 * (low + high)
        if middle in (low, high):
            break
        low, high = (middle, high) if falling(middle) > 0 else (low, middle)
    return 0.5 * (low + high)
