"""Numbers in words: three figures, the units of the bench, the caster's own units first and the other in brackets.

Which units a case thinks in is read off its answers as they were written; a case that never names one gets the stored
(metric) ones. Times are rounded to what a shop clock shows.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from msgspec import Struct

from diagnose.units import QuantityError, parse_quantity

SHOWN_UNITS = {
    "degC": "°C",
    "degF": "°F",
    "K": "K",
    "percent": "%",
    "kg/m^3": "kg/m³",
    "cm^2": "cm²",
    "parts_a_per_100_b": "parts of A to 100 of B",
    "1": "",
    "count": "",
    "day": "days",
    "week": "weeks",
}
#: stored unit -> the unit of the other habit, its name, factor and offset (value in it = factor x stored + offset)
_OTHER = {
    "degC": ("°F", 1.8, 32.0),
    "K": ("°F", 1.8, 0.0),
    "g": ("oz", 1 / 28.349523125, 0.0),
    "mm": ("in", 1 / 25.4, 0.0),
    "mL": ("fl oz", 1 / 29.5735295625, 0.0),
    "cm^2": ("sq in", 1 / 6.4516, 0.0),
    "kg/m^3": ("lb/cu ft", 1 / 16.018463374, 0.0),
}
_CUSTOMARY = re.compile(
    r"(?i)\d\s*(°\s*f|deg\s*f|f|fahrenheit|oz|lbs?|pounds?|in|inch(es)?|\"|ft|feet|pcf|cu in|sq in|fl oz)\b|\d\s*\""
)


def number(value: float) -> str:
    """Return *value* with three figures and no exponent: 11, 47.3, 2400, 0.04."""
    if abs(value) >= 100:
        return f"{value:.0f}"
    text = f"{value:.3g}"
    return text if "e" not in text else f"{value:.6f}".rstrip("0").rstrip(".")


def quantity(value: float, unit: str) -> str:
    """Return *value* in the stored *unit* as one writes it: `11 °C`, `300 g`, `1.35`."""
    return f"{number(value)}\u00a0{SHOWN_UNITS.get(unit, unit)}".rstrip("\u00a0")


class Units(Struct, frozen=True):
    """The units that a case thinks in: *customary* where its answers name degrees Fahrenheit, ounces,
    pounds or inches.
    """

    customary: bool = False

    @classmethod
    def of(cls, written: Iterable[str]) -> Units:
        """Return the units of answers as they were *written*."""
        return cls(any(_CUSTOMARY.search(text) for text in written))

    def quantity(self, value: float, unit: str) -> str:
        """Return *value* in the case's own unit, the other in brackets where the case is not in the stored ones:
        `52 °F (11 °C)`.
        """
        stored = quantity(value, unit)
        other = _OTHER.get(unit)
        if other is None or not self.customary:
            return stored
        name, factor, offset = other
        own = factor * value + offset
        shown = f"{own:.0f}" if unit in ("degC", "K") else number(own)
        return f"{shown}\u00a0{name} ({stored})"

    def span(self, low: float, high: float, unit: str) -> str:
        """Return a range in the case's own unit, the other in brackets: `77 to 86 °F (25 to 30 °C)`."""
        stored = f"{number(low)} to {quantity(high, unit)}"
        other = _OTHER.get(unit)
        if other is None or not self.customary:
            return stored
        name, factor, offset = other
        ends = [factor * end + offset for end in (low, high)]
        shown = [f"{end:.0f}" if unit in ("degC", "K") else number(end) for end in ends]
        return f"{shown[0]} to {shown[1]}\u00a0{name} ({stored})"


def same_unit(written: str, unit: str) -> bool:
    """Whether a number as *written* stands in the stored *unit* already, or without a unit."""
    named = written.lstrip(" ~<>+-0123456789.,/")
    if not named:
        return True
    try:
        return parse_quantity(f"1 {named}", unit).value == 1.0
    except QuantityError:
        return False


def minutes(value: float) -> str:
    """Return *value* minutes as one says it: `30 s`, `10 min`, `1.5 h`, `a day`, `2 days`."""
    if value < 1:
        return f"{60 * value:.0f} s"
    if value < 90:
        return f"{value:.0f} min"
    if value < 18 * 60:
        return f"{number(round(value / 30) / 2)} h"
    days = round(value / 720) / 2
    return "a day" if days == 1 else f"{number(days)} days"


def times(factor: float) -> str:
    """Return how many times more: `1.3 times`, `4 times`; of a factor near 1 `a shade`."""
    if factor < 1.05:
        return "a shade"
    return f"{number(round(factor, 1) if factor < 2.95 else round(factor))} times"
