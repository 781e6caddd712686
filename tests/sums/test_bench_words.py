"""How finely the bench reads a number: a scale shows whole grams, a wall clock five minutes, and an hour is said as an hour."""

import math

import pytest

from diagnose.bench.quantities import Range
from diagnose.bench.words import at_bench, celsius, rounded, say_range, say_time, say_times, time_unit


@pytest.mark.parametrize(
    ("value", "unit", "read"),
    [
        (3.14, "g", 3.1),
        (9.97, "g", 10),
        (10.04, "g", 10),
        (99.4, "g", 99),
        (101, "g", 100),
        (1998, "g", 2000),
        (2020, "g", 2000),
        (2030, "g", 2050),
        (2.96, "kg", 3),
        (3.2, "kg", 3),
        (19.8, "kg", 20),
        (20.6, "kg", 21),
        (19.4, "mL", 19),
        (197, "mL", 195),
        (206, "mL", 210),
        (21.5001, "degC", 22),
        (1.3, "K", 1.5),
        (17.6, "s", 18),
        (117, "s", 115),
        (130, "s", 120),
        (4.8, "min", 5),
        (5.4, "min", 5),
        (16, "min", 15),
        (178, "min", 180),
        (190, "min", 195),
        (11.7, "h", 11.5),
        (12.4, "h", 12),
        (50, "h", 48),
        (2.96, "mm", 3),
        (48.6, "mm", 49),
        (52, "mm", 50),
        (9.6, "kPa", 10),
        (12, "kPa", 10),
        (9.96, "percent", 10),
        (12.4, "percent", 12),
        (1.304, "1", 1.3),
        (10.4, "1", 10),
        (0.0012345, "m^3/min", 0.00123),
        (12345, "Pa", 12300),
        (0, "Pa", 0),
        (-3.14, "g", -3.1),
    ],
)
def test_a_number_is_read_as_the_bench_reads_it(value, unit, read):
    """A step for each size of each unit, three figures where a unit has no rule (common practice, no source)."""
    assert rounded(value, unit) == pytest.approx(read, rel=1e-12)


@pytest.mark.parametrize(
    ("value", "unit", "read"),
    [
        (9.6, "g", 9.6), (10.4, "g", 10), (99.4, "g", 99), (100.6, "g", 100),
        (2.6, "kg", 2.6), (3.2, "kg", 3), (19.3, "kg", 19.5), (20.4, "kg", 20),
        (19.4, "mL", 19), (20.6, "mL", 20),
        (19.4, "s", 19), (20.6, "s", 20),
        (4.4, "min", 4.5), (5.4, "min", 5), (14.4, "min", 14), (15.6, "min", 15),
        (11.6, "h", 11.5), (12.4, "h", 12), (47.4, "h", 47), (48.6, "h", 48),
        (2.6, "mm", 2.6), (3.4, "mm", 3), (49.4, "mm", 49), (50.6, "mm", 50),
        (9.4, "kPa", 9), (10.6, "kPa", 10),
        (9.6, "percent", 9.6), (10.4, "percent", 10),
        (9.6, "1", 9.6), (10.4, "1", 10),
    ],
)  # fmt: skip
def test_the_step_changes_just_where_the_table_has_it(value, unit, read):
    """Under a bound by less than one of its unit the finer step still holds, over it by as little the coarser (common practice, no source)."""
    assert rounded(value, unit) == pytest.approx(read, rel=1e-12)


@pytest.mark.parametrize(("value", "read"), [(19.4, 19.4), (20.4, 20), (999.4, 999), (1000.6, 1000)])
def test_the_finer_step_of_weighed_grams_changes_there_too(value, read):
    """At 20 g and at a kilogram."""
    assert rounded(value, "g", weighed=True) == pytest.approx(read, rel=1e-12)


def test_up_where_too_little_hurts_and_down_where_too_much_does():
    """100.2 min is 105 at the earliest and 100 at the latest; what lies on a step stays there both ways."""
    assert (rounded(100.2, "min", "up"), rounded(100.2, "min", "down")) == (105, 100)
    assert (rounded(100, "min", "up"), rounded(100, "min", "down")) == (100, 100)
    assert (rounded(0.3 / 0.1 * 0.1, "g", "up"), rounded(0.7, "g", "down")) == (0.3, 0.7)


@pytest.mark.parametrize(("value", "read"), [(12.34, 12.3), (19.96, 20), (142.4, 142), (998.6, 999), (1003, 1005)])
def test_weighed_grams_keep_the_ratio(value, read):
    """What decides the ratio is read finer: tenths to 20 g, whole grams to a kilogram, fives above; other units as ever."""
    assert rounded(value, "g", weighed=True) == pytest.approx(read, rel=1e-12)
    assert rounded(12.4, "percent", weighed=True) == 12


@pytest.mark.parametrize(
    ("seconds", "unit", "said"),
    [(45, "s", "45 s"), (179, "s", "180 s"), (180, "min", "3 min"), (10_799, "min", "180 min"), (10_800, "h", "3 h"),
     (259_199, "h", "72 h"), (259_200, "day", "3 days")],
)  # fmt: skip
def test_a_time_is_said_in_the_unit_of_its_size(seconds, unit, said):
    """Seconds to three minutes, minutes to three hours, hours to three days."""
    assert time_unit(seconds) == unit
    assert say_time(seconds) == said or (unit == "day" and say_time(seconds).startswith("3 day"))


def test_a_range_of_times_goes_outward():
    """A window is said no narrower than it is, in one unit; one value stands alone."""
    assert say_times(Range(57, 70, 76)) == "55 to 80 s"
    assert say_times(Range(60, 60, 60)) == "60 s"
    assert say_times(Range(170, 200, 310)) == "2.5 to 6 min"


def test_a_range_in_figures():
    """Both ends to so many figures, one figure where both read the same."""
    assert say_range(Range(0.0512, 0.06, 0.0768), "mm", 2) == "51 to 77 mm"
    assert say_range(Range(0.0512, 0.0512, 0.0513), "mm", 2) == "51 mm"


@pytest.mark.parametrize(
    ("t_c", "said"),
    [(25, "25 °C (77 °F)"), (12.5, "12.5 °C (54 °F)"), (-40, "-40 °C (-40 °F)"), (100, "100 °C (212 °F)"), (0, "0 °C (32 °F)")],
)  # fmt: skip
def test_a_temperature_has_fahrenheit_beside_it(t_c, said):
    """-40 is -40, water freezes at 32 and boils at 212 (definition of the scale)."""
    assert celsius(t_c) == said


def test_grams_at_the_bench():
    """SI in, the bench's grain out."""
    assert at_bench(0.4683, "g") == "470 g"
    assert at_bench(0.4683, "g", weighed=True) == "468 g"
    assert at_bench(25.3, "kg") == "25 kg"
    assert math.isfinite(rounded(1e6, "kg"))
