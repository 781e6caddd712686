"""The table of units against an independent library of units."""

from __future__ import annotations

import pint
import pytest

from diagnose.units import _TABLE, parse_quantity

#: our name -> the library's, where they differ
THEIRS = {
    "°C": "degC",
    "ºC": "degC",
    "C": "degC",
    "deg C": "degC",
    "° C": "degC",
    "degrees C": "degC",
    "centigrade": "degC",
    "celsius": "degC",
    "°F": "degF",
    "ºF": "degF",
    "F": "degF",
    "deg F": "degF",
    "° F": "degF",
    "degrees F": "degF",
    "fahrenheit": "degF",
    "gr": "g",
    "gramme": "g",
    "grammes": "g",
    "gm": "g",
    "kgs": "kg",
    "kilo": "kg",
    "kilos": "kg",
    "lbs": "lb",
    "cc": "cm^3",
    "cm3": "cm^3",
    "cm³": "cm^3",
    "ccm": "cm^3",
    "ltr": "L",
    "m3": "m^3",
    "m³": "m^3",
    "in3": "in^3",
    "in³": "in^3",
    "cu in": "in^3",
    "ft3": "ft^3",
    "ft³": "ft^3",
    "cu ft": "ft^3",
    "us fl oz": "US_fluid_ounce",
    "us pt": "US_pint",
    "us qt": "quart",
    "us gal": "gallon",
    "imp fl oz": "imperial_fluid_ounce",
    "imp pt": "imperial_pint",
    "imp gal": "imperial_gallon",
    "kg/m3": "kg/m^3",
    "kg/m³": "kg/m^3",
    "g/cm3": "g/cm^3",
    "g/cm³": "g/cm^3",
    "g/cc": "g/cm^3",
    "lb/ft3": "lb/ft^3",
    "lb/ft³": "lb/ft^3",
    "lbs/ft3": "lb/ft^3",
    "pcf": "lb/ft^3",
    "lb/cu ft": "lb/ft^3",
    '"': "inch",
    "″": "inch",
    "mil": "thou",
    "um": "micrometer",
    "µm": "micrometer",
    "μm": "micrometer",
    "micron": "micrometer",
    "microns": "micrometer",
    "cm2": "cm^2",
    "cm²": "cm^2",
    "sq cm": "cm^2",
    "mm2": "mm^2",
    "mm²": "mm^2",
    "m2": "m^2",
    "m²": "m^2",
    "sq m": "m^2",
    "in2": "in^2",
    "in²": "in^2",
    "sq in": "in^2",
    "ft2": "ft^2",
    "ft²": "ft^2",
    "sq ft": "ft^2",
    "sec": "second",
    "secs": "second",
    "mins": "minute",
    "hr": "hour",
    "hrs": "hour",
    "h": "hour",
    "d": "day",
    "wk": "week",
    "wks": "week",
    "yr": "year",
    "yrs": "year",
    "%": "percent",
    "per cent": "percent",
    "pct": "percent",
    "% rh": "percent",
    "rh": "percent",
}
BASE = {
    "temperature": "degC",
    "mass": "g",
    "volume": "mL",
    "density": "kg/m^3",
    "length": "mm",
    "area": "cm^2",
    "time": "s",
    "percent": "percent",
}
NAMES = [(unit.dimension, name) for unit, name in _TABLE.values() if unit.dimension in BASE]


@pytest.fixture(scope="module")
def registry() -> pint.UnitRegistry:
    """The outside library's own table."""
    return pint.UnitRegistry()


@pytest.mark.parametrize(("dimension", "name"), NAMES)
def test_the_table_agrees_with_the_library(registry: pint.UnitRegistry, dimension: str, name: str) -> None:
    """Each of our names means what the library means by it, at two values (a factor and an offset)."""
    for value in (1.0, 41.0):
        ours = parse_quantity(f"{value:g} {name}", BASE[dimension]).value
        theirs = registry.Quantity(value, THEIRS.get(name, name)).to(BASE[dimension]).magnitude
        assert ours == pytest.approx(theirs, rel=1e-11)


@pytest.mark.parametrize("kelvin", ["K", "kelvin"])
def test_kelvin_is_a_temperature_where_one_is_wanted(registry: pint.UnitRegistry, kelvin: str) -> None:
    """Kelvin, left out of the table because it is a difference too, agrees as well."""
    assert parse_quantity(f"300 {kelvin}", "degC").value == pytest.approx(
        registry.Quantity(300, "K").to("degC").magnitude, abs=1e-9
    )


def test_the_table_is_not_small() -> None:
    """The comparison covers the table: it has not shrunk by mistake."""
    assert len(NAMES) > 120
