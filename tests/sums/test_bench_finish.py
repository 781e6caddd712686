"""Skin, paint and air: behaviour, refusals word for word, and what must hold for any numbers."""

import math

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.bench import humidity, painting, skin, ventilation
from diagnose.bench.quantities import BenchError

UREG = pint.UnitRegistry()


@given(st.floats(1e-4, 2), st.floats(5e-5, 0.02), st.floats(600, 2000), st.floats(0, 0.7))
def test_skin_grams_and_thickness_go_there_and_back(area, thickness, density, loss):
    """Round trip; the loss is the share of the mix that isn't in the mold."""
    kg = skin.skin_mass(area, thickness, density)
    if kg >= 1e-5:
        assert skin.skin_mean(kg, area, density) == pytest.approx(thickness, rel=1e-12)
    assert skin.skin_mass(area, thickness, density, loss) * (1 - loss) == pytest.approx(kg, rel=1e-12)


def test_skin_mean_has_its_dimension():
    """228 g on 1450 cm² at 1.05 g/mL is 1.5 mm, by the unit library too."""
    ours = 1e3 * skin.skin_mean(0.228, 0.145, 1050)
    theirs = (228 * UREG.gram / (1450 * UREG("cm^2") * 1.05 * UREG("g/mL"))).to("mm").magnitude
    assert ours == pytest.approx(theirs, rel=1e-12)
    assert ours == pytest.approx(1.4975, abs=1e-4)


@given(st.floats(1e-4, 0.02), st.floats(1e-4, 0.02))
def test_coats_make_the_thickness(thickness, per_coat):
    """Enough coats, not one too many, and they add up."""
    plan = skin.coats(0.1, thickness, per_coat, 1050)
    assert plan.count >= 1
    assert plan.count * per_coat >= thickness * (1 - 1e-8)
    assert (plan.count - 1) * per_coat < thickness
    assert plan.count * plan.each_kg == pytest.approx(plan.all_kg, rel=1e-12)


def test_three_coats_are_three():
    """1.5 mm in coats of 0.5 mm is three, not four by rounding."""
    assert skin.coats(0.145, 0.0015, 0.0005, 1050).count == 3


@given(st.floats(0.05, 500), st.floats(0.02, 1.5), st.floats(2, 3000))
def test_a_thicker_mix_keeps_more_and_time_drains_it(viscosity, height, seconds):
    """Monotone in viscosity and height, falling with the root of time."""
    film = skin.drained_film(viscosity, height, seconds, 1050)
    assert skin.drained_film(2 * viscosity, height, seconds, 1050) > film
    assert skin.drained_film(viscosity, height * 1.1, seconds, 1050) > film
    assert skin.drained_film(viscosity, height, 2 * seconds, 1050) == pytest.approx(film / math.sqrt(2), rel=1e-12)


def test_a_drained_film_has_its_dimension():
    """sqrt(mu H / (rho g t)) is a length, by the unit library."""
    film = (
        2
        / 3
        * ((0.5 * UREG("Pa*s")) * (0.2 * UREG.m) / ((1050 * UREG("kg/m^3")) * UREG.standard_gravity * (300 * UREG.s)))
        ** 0.5
    )
    assert skin.drained_film(0.5, 0.2, 300, 1050) == pytest.approx(film.to("m").magnitude, rel=1e-9)


@given(st.floats(0, 100), st.floats(0, 100))
def test_more_paint_lost_is_never_a_better_class(one, two):
    """Monotone on both scales, in opposite directions."""
    less, more = sorted((one, two))
    assert painting.cross_cut_iso(less) <= painting.cross_cut_iso(more)
    assert painting.cross_cut_astm(less) >= painting.cross_cut_astm(more)


@pytest.mark.parametrize(
    ("lost", "iso", "astm"),
    [(0, 0, "5B"), (0.1, 1, "4B"), (4.9, 1, "4B"), (5, 1, "3B"), (5.1, 2, "3B"), (14.9, 2, "3B"), (15, 2, "2B"), (15.1, 3, "2B"),
     (34.9, 3, "2B"), (35, 3, "1B"), (35.1, 4, "1B"), (65, 4, "1B"), (65.1, 5, "0B"), (100, 5, "0B")],
)  # fmt: skip
def test_each_band_of_a_cross_cut_has_its_edge(lost, iso, astm):
    """The one scale keeps the upper edge in the band, the other gives it to the worse (as the docstrings say, after the standards they name)."""
    assert (painting.cross_cut_iso(lost), painting.cross_cut_astm(lost)) == (iso, astm)


def test_just_what_is_asked_is_enough():
    """A surface just so far over the dew point, air and surface just at the ends of what is usual: fit; a hundredth beyond each: not."""
    margin = humidity.dew_margin(20, 20, 50)
    assert painting.paint_conditions(20, 50, 20, margin_k=margin).fit
    assert not painting.paint_conditions(20, 50, 20, margin_k=margin + 0.01).fit
    for air, surface, fit in (
        (7, 7, True),
        (32, 32, True),
        (6.99, 7, False),
        (7, 6.99, False),
        (32.01, 32, False),
        (32, 32.01, False),
    ):
        assert painting.paint_conditions(air, 30, surface).fit is fit


def test_paint_conditions_say_all_that_is_wrong():
    """Cold, damp and near the dew point at once: each is named."""
    got = painting.paint_conditions(5, 95, 5)
    assert not got.fit
    assert got.against == (
        "surface 0.73 K over the dew point, 3 K or more asked",
        "air 5 °C, 7 to 32 °C asked",
        "surface 5 °C, 7 to 32 °C asked",
    )
    assert painting.paint_conditions(22, 50, 22).fit
    assert painting.paint_conditions(10, 50, 10, lowest_c=12).against == (
        "air 10 °C, 12 to 32 °C asked",
        "surface 10 °C, 12 to 32 °C asked",
    )


@given(st.floats(0.1, 99), st.floats(0.1, 0.99), st.floats(1, 9))
def test_purging(changes, removed, mixing):
    """More air is quicker, more to remove and worse mixing slower; what is left follows the exponential."""
    time = ventilation.purge_time(changes, removed, mixing)
    assert ventilation.purge_time(changes * 1.01, removed, mixing) < time
    assert ventilation.purge_time(changes, removed + 0.005, mixing) > time
    assert ventilation.purge_time(changes, removed, mixing + 1) > time
    assert math.exp(-time / mixing / 3600 * changes) == pytest.approx(1 - removed, rel=1e-9)


def test_half_life_of_a_room():
    """20 m³ with 9.9 m³/h halves in 1.4 h."""
    assert ventilation.purge_time(9.9 / 20, 0.5) / 3600 == pytest.approx(1.4, abs=0.005)


def test_strict_respirator_advice_comes_first():
    """Supplied air is named before the air-purifying kind, and the SDS decides at the end."""
    words = ventilation.RESPIRATORS
    assert words.index("differ") < words.index("supplied air") < words.index("air-purifying")
    assert "SDS" in words
    assert "not a design target" in ventilation.NOT_A_TARGET
    assert next(limit.body for limit in ventilation.limits_for("TDI")) == "NIOSH"


@pytest.mark.parametrize(
    ("call", "line"),
    [
        (lambda: skin.skin_mean(0, 0.145, 1050), "skin coat 0 g: expected 0.01 g to 100000 g"),
        (lambda: skin.skin_mean(0.228, 0, 1050), "area of the mold 0 cm²: expected 1 cm² to 200000 cm²"),
        (
            lambda: skin.skin_mean(0.228, 0.145, 1_050_000),
            "skin density 1050000 kg/m³: expected 500 kg/m³ to 3000 kg/m³",
        ),
        (lambda: skin.skin_mass(0.1, 1, 1050), "skin thickness 1000 mm: expected 0.05 mm to 20 mm"),
        (lambda: painting.cross_cut_iso(101), "paint lost from the squares 101 %: expected 0 % to 100 %"),
        (lambda: painting.cross_cut_astm(-1), "paint lost from the squares -1 %: expected 0 % to 100 %"),
        (lambda: ventilation.purge_time(0), "air changes 0: expected 0.1 to 100"),
        (lambda: ventilation.purge_time(6, 1), "share removed 100 %: expected 10 % to 99.99 %"),
        (lambda: ventilation.dilution_flow(0, 5e-8), "source 0 mg/min: expected 0.001 mg/min to 10000 mg/min"),
        (lambda: ventilation.limits_for("HDI"), "substance 'HDI': expected one of MDI, TDI"),
    ],
)
def test_bad_finish_input_is_refused_in_one_line(call, line):
    """Word for word."""
    with pytest.raises(BenchError) as caught:
        call()
    assert str(caught.value) == line
