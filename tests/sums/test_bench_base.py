"""Errors, ranges and units: what every sum stands on."""

import math

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.bench import quantities
from diagnose.bench.quantities import BenchError, Range, inside, number
from diagnose.errors import InputError

UREG = pint.UnitRegistry()
SPOKEN = {"1", "count", "percent", "parts_a_per_100_b", "degC", "K", "mgKOH/g"}
AS_PINT = {"um": "micrometer", "mL/s": "milliliter/second", "1/h": "1/hour", "Pa*s": "pascal*second"}


def test_the_example_message():
    """The line names the quantity, the value met and the range, in the unit of the bench."""
    with pytest.raises(BenchError) as caught:
        inside("mold wall thickness", 0.0, 1, 200, "mm")
    assert str(caught.value) == "mold wall thickness 0 mm: expected 1 mm to 200 mm"


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
def test_no_nan_gets_in(bad):
    """What is no number is refused by name."""
    with pytest.raises(BenchError, match=r"^charge (nan|inf|-inf) g: expected 1 g to 10 g$"):
        inside("charge", bad, 1, 10, "g")


def test_a_bench_error_is_wrong_input():
    """The command line tells it in one line and exits 2; it is a ValueError to everybody else."""
    assert issubclass(BenchError, ValueError)
    assert issubclass(BenchError, InputError)
    assert BenchError("x").exit_code == 2


def test_ends_are_inside():
    """Rounding in the unit conversion doesn't push an end out."""
    assert inside("wall", 0.2, 1, 200, "mm") == 0.2
    assert inside("wall", 0.001, 1, 200, "mm") == 0.001


@pytest.mark.parametrize("unit", sorted(set(quantities.UNITS) - SPOKEN))
def test_units_agree_with_the_unit_library(unit):
    """Each factor is what pint says."""
    quantity = UREG.Quantity(1, AS_PINT.get(unit, unit))
    assert quantity.to_base_units().magnitude == pytest.approx(quantities.UNITS[unit], rel=1e-12)


def test_what_is_said_as_it_is_stored_is_not_turned():
    """Ratios, shares, degrees and hydroxyl numbers have no SI form of their own: their factor is one."""
    assert {quantities.UNITS[unit] for unit in SPOKEN} == {1.0}


@given(st.floats(1e-6, 1e6), st.sampled_from(sorted(quantities.UNITS)))
def test_units_go_there_and_back(value, unit):
    """SI and back is the same to the last bits."""
    assert quantities.from_si(quantities.to_si(value, unit), unit) == pytest.approx(value, rel=1e-15)


@pytest.mark.parametrize(("low", "mid", "high"), [(2, 1, 3), (1, 3, 2), (math.nan, 1, 2), (1, 2, math.inf)])
def test_a_range_stands_in_order(low, mid, high):
    """A range out of order, or without ends, is refused."""
    with pytest.raises(BenchError, match="range"):
        Range(low, mid, high)


def test_a_range_through_a_falling_step():
    """The ends change places, the order stays."""
    assert Range(1, 2, 4).through(lambda x: 1 / x) == Range(0.25, 0.5, 1.0)


@pytest.mark.parametrize(
    ("value", "digits", "text"),
    [
        (0.0, 3, "0"),
        (-0.0, 3, "0"),
        (47.3333, 3, "47.3"),
        (1234.5, 3, "1230"),
        (100000, 6, "100000"),
        (0.05, 3, "0.05"),
        (142, 6, "142"),
        (2.0, 3, "2"),
        (-5.333, 2, "-5.3"),
        (9.996, 3, "10"),
        (1.234e-10, 3, "0.000000000123"),
        (1.234e-11, 3, "1.23e-11"),
        (1.234e8, 3, "123000000"),
        (1.234e9, 3, "1.23e+09"),
        (math.inf, 3, "inf"),
    ],
)
def test_numbers_are_written_plainly(value, digits, text):
    """Significant digits, no trailing zeros, no exponent."""
    assert number(value, digits) == text


@given(st.floats(-50, 50))
def test_bisection_finds_the_crossing(root):
    """A falling line crosses zero where it says."""
    assert quantities.bisect(lambda x: root - x, -100, 100) == pytest.approx(root, abs=1e-12)
