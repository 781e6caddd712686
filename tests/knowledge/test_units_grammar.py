"""How a caster writes a quantity: one number, one known unit, nothing guessed, and a line that says what was expected."""

from __future__ import annotations

import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.units import DIMENSIONS, Quantity, QuantityError, parse_quantity, unit_of

STORED = (
    "degC",
    "K",
    "g",
    "mL",
    "kg/m^3",
    "mm",
    "cm^2",
    "s",
    "min",
    "h",
    "day",
    "week",
    "percent",
    "parts_a_per_100_b",
    "count",
    "1",
)


@pytest.mark.parametrize(
    ("text", "stored", "value"),
    [
        ("61F", "degC", 16.1111111111),
        ("61 degF", "degC", 16.1111111111),
        ("61 °F", "degC", 16.1111111111),
        ("16 °C", "degC", 16.0),
        ("289.15 K", "degC", 16.0),
        ("-4F", "degC", -20.0),
        ("\u22125 °C", "degC", -5.0),
        ("20 degrees C", "degC", 20.0),
        ("20 C.", "degC", 20.0),
        ("8 oz", "g", 226.796185),
        ("0.5kg", "g", 500.0),
        (".5 kg", "g", 500.0),
        ("1/2 lb", "g", 226.796185),
        ("1,5 kg", "g", 1500.0),
        ("5 KG", "g", 5000.0),
        ("1/2 in", "mm", 12.7),
        ("1 1/2 in", "mm", 38.1),
        ('1 1/2"', "mm", 38.1),
        ("3/8″", "mm", 9.525),
        ("-1 1/2 in", "mm", -38.1),
        ("20 mil", "mm", 0.508),
        ("90 s", "min", 1.5),
        ("2h", "min", 120.0),
        ("3 days", "h", 72.0),
        ("2 weeks", "day", 14.0),
        ("50 %", "percent", 50.0),
        ("50 % RH", "percent", 50.0),
        ("0.16 g/mL", "kg/m^3", 160.0),
        ("10 pcf", "kg/m^3", 160.18463374),
        ("2 sq ft", "cm^2", 1858.0608),
        ("2 L", "mL", 2000.0),
        ("1 us gal", "mL", 3785.411784),
        ("50:100", "parts_a_per_100_b", 50.0),
        ("1:2", "parts_a_per_100_b", 50.0),
        ("58 per 100", "parts_a_per_100_b", 58.0),
        ("3 K", "K", 3.0),
        ("3 degC", "K", 3.0),
        ("9 degF", "K", 5.0),
    ],
)
def test_units_as_casters_write_them(text: str, stored: str, value: float) -> None:
    """A number with any usual unit is taken into the unit stored, and is known to have had one."""
    assert parse_quantity(text, stored) == Quantity(value, True)


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("16", 16.0),
        ("+16.5", 16.5),
        (".5", 0.5),
        ("1,5", 1.5),
        ("1e3", 1000.0),
        ("1.5E-3", 0.0015),
        (" 3 ", 3.0),
        ("1/4", 0.25),
        ("012", 12.0),
    ],
)
def test_a_bare_number_is_in_the_unit_stored(text: str, value: float) -> None:
    """Without a unit the number stands as it is, and is known to have had none."""
    assert parse_quantity(text, "g") == Quantity(value, False)


@pytest.mark.parametrize(
    ("text", "stored", "message"),
    [
        ("61 lb", "degC", "'61 lb' is a mass, expected a temperature"),
        ("61 F", "g", "'61 F' is a temperature, expected a mass"),
        ("5 m", "min", "'5 m' is a length, expected a time"),
        ("5 K", "g", "'5 K' is a temperature difference, expected a mass"),
        ("160 g", "kg/m^3", "'160 g' is a mass, expected a density"),
        ("50 %", "parts_a_per_100_b", "'50 %' is a percentage, expected parts of A to 100 of B"),
        ("yes", "degC", "'yes' is not a number, expected a temperature in degC"),
        ("", "g", "'' is not a number, expected a mass in g"),
        ("nan", "degC", "'nan' is not a number, expected a temperature in degC"),
        ("inf", "g", "'inf' is not a number, expected a mass in g"),
        ("1e999", "g", "'1e999' is out of all range, expected a mass"),
        ("-1e999 g", "g", "'-1e999 g' is out of all range, expected a mass"),
        ("1e308 kg", "g", "'1e308 kg' is out of all range, expected a mass"),
        ("2**9**9", "g", "'2**9**9' is not one number with one unit, expected a mass in g"),
        ("1:30", "min", "'1:30' is not one number with one unit, expected a time in min"),
        ("5 5 g", "g", "'5 5 g' is not one number with one unit, expected a mass in g"),
        ("20-25", "degC", "'20-25' is not one number with one unit, expected a temperature in degC"),
        ("1 lb 4 oz", "g", "'1 lb 4 oz' is not one number with one unit, expected a mass in g"),
        ("3 g g", "g", "'3 g g': unknown unit 'g g', expected a mass in g"),
        ("3 stone", "g", "'3 stone': unknown unit 'stone', expected a mass in g"),
        ("1_000", "g", "'1_000': unknown unit '_000', expected a mass in g"),
        ("0x10", "g", "'0x10': unknown unit 'x10', expected a mass in g"),
        ("12 RH x", "percent", "'12 RH x': unknown unit 'RH x', expected a percentage"),
        ("1,500 g", "g", "'1,500 g' may be 1.500 or 1500: write it without a comma"),
        ("1/0 g", "g", "'1/0 g' divides by nought, expected a mass"),
        ("8 fl oz", "mL", "'8 fl oz': 'fl oz' is not one measure everywhere, write us fl oz or imp fl oz"),
        ("20 degrees", "degC", "'20 degrees': 'degrees' is not one measure everywhere, write degC or degF"),
        ("1:0", "parts_a_per_100_b", "'1:0' is not a ratio, expected parts of A to 100 of B, as 50 or 50:100"),
        ("2.5", "count", "'2.5' is not a whole number"),
        ("5 castings", "count", "'5 castings': unknown unit 'castings', expected a whole number"),
        ("5 g", "1", "'5 g' is a mass, expected a number without a unit"),
        ("9" * 500, "g", "'" + "9" * 37 + "...' is not a number, expected a mass in g"),
    ],
)
def test_what_is_not_understood_says_what_was_expected(text: str, stored: str, message: str) -> None:
    """Wrong dimensions, two units, clock times, powers, nan and the like are refused with one exact line."""
    with pytest.raises(QuantityError) as caught:
        parse_quantity(text, stored)
    assert str(caught.value) == message


def tried(text: str, stored: str) -> tuple[float, str]:
    """Return the value of *text*, or nought and why it was refused; anything else that is raised fails the test."""
    try:
        return parse_quantity(text, stored).value, ""
    except QuantityError as error:
        return 0.0, str(error)


@given(st.text(max_size=120), st.sampled_from(STORED))
@settings(max_examples=400, deadline=None)
def test_any_text_is_a_quantity_or_is_refused(text: str, stored: str) -> None:
    """Whatever is typed, there is a finite number or a line that says what was expected; nothing else is raised."""
    value, message = tried(text, stored)
    assert abs(value) < float("inf")
    assert "\n" not in message


@given(st.text(alphabet="0123456789.,/:+-*eE \u00b0CFgkmolbin%\u0663\u00bd", max_size=60), st.sampled_from(STORED))
@settings(max_examples=600, deadline=None)
def test_texts_near_a_quantity_never_crash(text: str, stored: str) -> None:
    """The same for texts made of the signs that quantities are made of."""
    value, message = tried(text, stored)
    assert abs(value) < float("inf")
    assert not message or "expected" in message or "write" in message or "whole number" in message


@given(
    st.floats(min_value=-1e9, max_value=1e9, allow_nan=False),
    st.sampled_from([unit for unit in STORED if unit not in ("count", "1")]),
)
@settings(max_examples=300, deadline=None)
def test_what_is_written_in_the_unit_stored_reads_back_exactly(value: float, stored: str) -> None:
    """A number written with the unit stored is the same number when read."""
    assert parse_quantity(f"{value!r} {stored}", stored).value == value


@given(
    st.floats(min_value=0.001, max_value=1e6),
    st.sampled_from(
        [("degF", "degC"), ("oz", "g"), ("in", "mm"), ("lb/ft3", "kg/m^3"), ("us gal", "mL"), ("h", "min")]
    ),
)
@settings(max_examples=200, deadline=None)
def test_there_and_back_is_the_same_to_ten_digits(value: float, units: tuple[str, str]) -> None:
    """A value taken into another unit and back again has not moved in its first ten digits."""
    written, stored = units
    inside = parse_quantity(f"{value!r} {written}", stored).value
    back = parse_quantity(f"{inside!r} {stored}", written).value
    assert back == pytest.approx(value, rel=1e-10, abs=1e-9)


def test_a_long_text_is_refused_at_once() -> None:
    """A megabyte of blanks and letters can't keep anybody waiting."""
    start = time.perf_counter()
    with pytest.raises(QuantityError):
        parse_quantity("1 x" + " " * 500_000 + "y" + " " * 500_000 + "z", "g")
    assert time.perf_counter() - start < 0.2


@pytest.mark.parametrize("stored", STORED)
def test_every_unit_of_the_vocabulary_is_known(stored: str) -> None:
    """Each unit that a fact or check is stored in has a dimension with a name for messages."""
    assert unit_of(stored).dimension in DIMENSIONS
