"""The units in which answers are given: a small closed table with a strict grammar.

A quantity is a number followed by one known unit (`61F`, `16 °C`, `8 oz`, `1/2 in`, `1 1/2 in`), or a bare number in
the unit stored. Nothing is evaluated and nothing is guessed: a unit of the wrong dimension, two units, a clock time
(`1:30`) or a comma that may be a decimal or a thousands mark is refused with a line that says what was expected.
Factors: the international yard and pound agreement of 1959 (inch, foot, pound, exact) and the SI brochure;
`tests/published` compares the whole table with an independent units library.
"""

from __future__ import annotations

import math
import re

from msgspec import Struct

from diagnose.errors import shown

_LB = 453.59237
_IN = 25.4
_FT3_ML = 28316.846592


class Unit(Struct, frozen=True):
    """A unit: its dimension, and value_in_base = factor * value + offset (base unit of the dimension)."""

    dimension: str
    factor: float
    offset: float = 0.0


#: dimension -> what to call it in a message
DIMENSIONS = {
    "temperature": "a temperature",
    "difference": "a temperature difference",
    "mass": "a mass",
    "volume": "a volume",
    "density": "a density",
    "length": "a length",
    "area": "an area",
    "time": "a time",
    "percent": "a percentage",
    "ratio": "parts of A to 100 of B",
    "count": "a whole number",
    "pure": "a number without a unit",
}

_TABLE: dict[str, tuple[Unit, str]] = {}


def _add(dimension: str, entries: dict[str, float], offsets: dict[str, float] | None = None) -> None:
    for names, factor in entries.items():
        for name in names.split(" | "):
            _TABLE[name.casefold()] = (Unit(dimension, factor, (offsets or {}).get(names, 0.0)), name)


_add(
    "temperature",
    {
        "degC | °C | ºC | C | deg C | ° C | degrees C | celsius | centigrade": 1.0,
        "degF | °F | ºF | F | deg F | ° F | degrees F | fahrenheit": 5 / 9,
        "K | kelvin": 1.0,
    },
    {"degF | °F | ºF | F | deg F | ° F | degrees F | fahrenheit": -160 / 9, "K | kelvin": -273.15},
)
_add(
    "mass",
    {
        "g | gr | gram | grams | gramme | grammes | gm": 1.0,
        "kg | kgs | kilo | kilos": 1000.0,
        "mg": 0.001,
        "oz | ounce | ounces": _LB / 16,
        "lb | lbs | pound | pounds": _LB,
    },
)
_add(
    "volume",
    {
        "mL | milliliter | millilitre | milliliters | millilitres | cc | cm3 | cm³ | cm^3 | ccm": 1.0,
        "cL": 10.0,
        "dL": 100.0,
        "L | liter | litre | liters | litres | ltr": 1000.0,
        "m3 | m³ | m^3": 1e6,
        "in3 | in³ | in^3 | cu in": 16.387064,
        "ft3 | ft³ | ft^3 | cu ft": _FT3_ML,
        "us fl oz": 29.5735295625,
        "us pt": 473.176473,
        "us qt": 946.352946,
        "us gal": 3785.411784,
        "imp fl oz": 28.4130625,
        "imp pt": 568.26125,
        "imp gal": 4546.09,
    },
)
_add(
    "density",
    {
        "kg/m^3 | kg/m3 | kg/m³ | g/L": 1.0,
        "g/mL | g/cm3 | g/cm³ | g/cm^3 | g/cc | kg/L": 1000.0,
        "lb/ft^3 | lb/ft3 | lb/ft³ | lbs/ft3 | pcf | lb/cu ft": _LB / _FT3_ML * 1000.0,
    },
)
_add(
    "length",
    {
        "mm": 1.0,
        "cm": 10.0,
        "m": 1000.0,
        'in | inch | inches | " | ″': _IN,
        "ft | foot | feet": 304.8,
        "thou | mil": 0.0254,
        "um | µm | μm | micron | microns": 0.001,
    },
)
_add(
    "area",
    {
        "cm^2 | cm2 | cm² | sq cm": 1.0,
        "mm^2 | mm2 | mm²": 0.01,
        "m^2 | m2 | m² | sq m": 10000.0,
        "in^2 | in2 | in² | sq in": 6.4516,
        "ft^2 | ft2 | ft² | sq ft": 929.0304,
    },
)
_add(
    "time",
    {
        "s | sec | secs | second | seconds": 1.0,
        "min | mins | minute | minutes": 60.0,
        "h | hr | hrs | hour | hours": 3600.0,
        "day | days | d": 86400.0,
        "week | weeks | wk | wks": 604800.0,
        "month | months": 2629800.0,
        "year | years | yr | yrs": 31557600.0,
    },
)
_add("percent", {"percent | % | per cent | pct | % rh | rh": 1.0})
_add("ratio", {"parts_a_per_100_b | per 100 | parts per 100 | pph | to 100": 1.0})
_add("difference", {"K": 1.0})
del _TABLE["k"]
_KELVIN = (Unit("temperature", 1.0, -273.15), "K")

#: units that a shop may write and that mean two things: refused with what to write instead
_AMBIGUOUS = {
    "fl oz": "us fl oz or imp fl oz",
    "floz": "us fl oz or imp fl oz",
    "gal": "us gal or imp gal",
    "gallon": "us gal or imp gal",
    "gallons": "us gal or imp gal",
    "pt": "us pt or imp pt",
    "pint": "us pt or imp pt",
    "pints": "us pt or imp pt",
    "cup": "mL",
    "cups": "mL",
    "qt": "us qt",
    "ton": "kg",
    "deg": "degC or degF",
    "degrees": "degC or degF",
    "°": "degC or degF",
}

_NUMBER = r"[+-]?(?:[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+)(?:[eE][+-]?[0-9]+)?"
_QUANTITY = re.compile(
    rf"(?P<whole>[+-]?[0-9]+\s+(?=[0-9]+\s*/))?(?P<number>[+-]?[0-9]+\s*/\s*[0-9]+|{_NUMBER})\s*(?P<unit>.*)", re.DOTALL
)
#: no quantity that anybody writes is longer
_LONGEST = 80


class QuantityError(ValueError):
    """A text that is not a quantity of the dimension expected; the message says what was expected."""


class Quantity(Struct, frozen=True):
    """A value in the unit stored, and whether a unit was written."""

    value: float
    has_unit: bool


def unit_of(name: str) -> Unit:
    """Return the unit called *name* as knowledge files and the vocabulary write it. Raises KeyError if unknown."""
    if name in ("K", "kelvin"):
        return Unit("difference", 1.0)
    if name in ("1", "", "count"):
        return Unit("count" if name == "count" else "pure", 1.0)
    return _TABLE[name.casefold()][0]


def parse_quantity(text: str, stored: str) -> Quantity:
    """Read *text* as a quantity and return it in the unit *stored* (a name of the vocabulary).

    A bare number is in the stored unit. Raises QuantityError with what was expected.
    """
    base = unit_of(stored)
    wanted = DIMENSIONS[base.dimension]
    if base.dimension == "ratio" and ":" in text:
        return Quantity(_parts(text, wanted), True)
    match = _QUANTITY.fullmatch(text.strip().replace("\u2212", "-")) if len(text) <= _LONGEST else None
    if match is None:
        raise QuantityError(f"'{_short(text)}' is not a number, expected {wanted}{_in(stored)}")
    number = _number(match, text, wanted)
    written = match["unit"]
    if not written:
        if base.dimension == "count" and number != int(number):
            raise QuantityError(f"'{_short(text)}' is not {wanted}")
        return Quantity(number, False)
    unit = _unit(written, base.dimension, text, wanted, stored)
    if unit == base:
        return Quantity(number, True)
    value = ((number * unit.factor + unit.offset) - base.offset) / base.factor
    if not math.isfinite(value):
        raise QuantityError(f"'{_short(text)}' is out of all range, expected {wanted}")
    return Quantity(_clean(value), True)


def _clean(value: float) -> float:
    """Take off the last digits that a change of unit leaves (8 oz is 226.796185 g, not 226.79618499999997)."""
    return float(f"{value:.12g}")


def _in(stored: str) -> str:
    return "" if stored in ("1", "", "count", "percent", "parts_a_per_100_b") else f" in {stored}"


def _short(text: str) -> str:
    return shown(text, 40)


def _number(match: re.Match[str], text: str, wanted: str) -> float:
    written = match["number"]
    whole = match["whole"] or ""
    if "/" in written:
        top, bottom = (int(part) for part in written.split("/"))
        if bottom == 0:
            raise QuantityError(f"'{_short(text)}' divides by nought, expected {wanted}")
        part = top / bottom
        return int(whole) - part if whole.startswith("-") else int(whole or 0) + part
    if "," in written:
        if re.fullmatch(r"[+-]?\d{1,3},\d{3}", written):
            other = written.replace(",", "")
            raise QuantityError(
                f"'{_short(text)}' may be {written.replace(',', '.')} or {other}: write it without a comma"
            )
        written = written.replace(",", ".")
    value = float(written)
    if not math.isfinite(value):
        raise QuantityError(f"'{_short(text)}' is out of all range, expected {wanted}")
    return value


def _unit(written: str, dimension: str, text: str, wanted: str, stored: str) -> Unit:
    name = re.sub(r"\s+", " ", written).casefold().rstrip(".")
    if name in ("k", "kelvin"):
        unit = _KELVIN[0] if dimension == "temperature" else Unit("difference", 1.0)
    elif dimension == "difference" and name in ("degc", "°c", "c"):
        unit = Unit("difference", 1.0)
    elif dimension == "difference" and name in ("degf", "°f", "f"):
        unit = Unit("difference", 5 / 9)
    elif name in _AMBIGUOUS:
        raise QuantityError(f"'{_short(text)}': '{written}' is not one measure everywhere, write {_AMBIGUOUS[name]}")
    elif name in _TABLE:
        unit = _TABLE[name][0]
    elif re.match(r"[+*/:^-]", name) or re.search(r"(^|\s)\d", name):
        raise QuantityError(f"'{_short(text)}' is not one number with one unit, expected {wanted}{_in(stored)}")
    else:
        raise QuantityError(f"'{_short(text)}': unknown unit '{_short(written)}', expected {wanted}{_in(stored)}")
    if unit.dimension != dimension:
        raise QuantityError(f"'{_short(text)}' is {DIMENSIONS[unit.dimension]}, expected {wanted}")
    return unit


def _parts(text: str, wanted: str) -> float:
    """`50:100` or `1:2`: A to B, as parts of A to 100 of B."""
    match = (
        re.fullmatch(r"([0-9]+(?:\.[0-9]+)?)\s*:\s*([0-9]+(?:\.[0-9]+)?)", text.strip())
        if len(text) <= _LONGEST
        else None
    )
    if match is None or float(match[2]) == 0:
        raise QuantityError(f"'{_short(text)}' is not a ratio, expected {wanted}, as 50 or 50:100")
    return _clean(100.0 * float(match[1]) / float(match[2]))
