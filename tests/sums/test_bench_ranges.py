"""The ranges that the docstrings state: the ends are taken, a thousandth beyond them is refused."""

import pytest

from diagnose.bench import cure_times, exotherm, humidity, mix, packing, skin, stoich, ventilation, venting
from diagnose.bench.quantities import BenchError, Range

ONE = Range(1.0, 1.0, 1.0)
DAY = 86_400
#: what is varied, its least and greatest value in SI as the docstring has them (None: the end is another matter)
RANGES = {
    "split: mass": (lambda x: mix.split(x, 100.0), 2e-5, 100),
    "ratio: parts": (lambda x: mix.split(0.1, x), 1, 1000),
    "weight_ratio: density of A": (lambda x: mix.weight_ratio(50, x, 1000), 500, 3000),
    "volume_ratio: density of B": (lambda x: mix.volume_ratio(50, 1000, x), 500, 3000),
    "foam_volume: skin": (lambda x: packing.foam_volume(1, x, 0, 1050), 0, 100),
    "foam_volume: skin density": (lambda x: packing.foam_volume(1, 0.001, 0, x), 500, 3000),
    "charge: volume": (lambda x: packing.charge(x, 160, 1.3, 0.05), 1e-6, 1),
    "charge: free rise": (lambda x: packing.charge(1e-3, x, 1.3, 0.05), 20, 1200),
    "charge: packing": (lambda x: packing.charge(1e-3, 160, x, 0.05), 1, 3),
    "charge: loss": (lambda x: packing.charge(1e-3, 160, 1.3, x), 0, 0.5),
    "packing: charge": (lambda x: packing.packing(x, 1e-3, 160), 1e-5, 100),
    "molded_density: charge": (lambda x: packing.molded_density(x, 1e-3), 1e-5, 100),
    "overpack: charge": (lambda x: packing.overpack_percent(x, 1), 1e-5, 100),
    "overpack: least charge": (lambda x: packing.overpack_percent(1, x), 1e-5, 100),
    "free_rise_density: foam": (lambda x: packing.free_rise_density(x, x / 160), 1.6e-3, 3.2),
    "skin_mass: area": (lambda x: skin.skin_mass(x, 1e-3, 1050), 1e-4, 20),
    "skin_mass: thickness": (lambda x: skin.skin_mass(0.1, x, 1050), 5e-5, 0.02),
    "skin_mass: density": (lambda x: skin.skin_mass(0.1, 1e-3, x), 500, 3000),
    "skin_mass: loss": (lambda x: skin.skin_mass(0.1, 1e-3, 1050, x), 0, 0.7),
    "skin_mean: skin": (lambda x: skin.skin_mean(x, 0.1, 1050), 1e-5, 100),
    "drained_film: viscosity": (lambda x: skin.drained_film(x, 0.3, 60, 1050), 0.01, 1000),
    "drained_film: height": (lambda x: skin.drained_film(1, x, 60, 1050), 0.01, 2),
    "drained_film: time": (lambda x: skin.drained_film(1, 0.3, x, 1050), 1, 7200),
    "iso_equivalent_weight: NCO": (stoich.iso_equivalent_weight, 1, 50),
    "polyol_equivalent_weight: OH": (stoich.polyol_equivalent_weight, 1, 2000),
    "active_hydrogen: polyol": (lambda x: stoich.active_hydrogen(x, 56), 1e-5, 100),
    "active_hydrogen: water": (lambda x: stoich.active_hydrogen(1, 56, x), 0, 10),
    "active_hydrogen: acid": (lambda x: stoich.active_hydrogen(1, 56, 0, x), 0, 200),
    "film_water: film": (lambda x: humidity.film_water(x, 0.1), 1e-7, 1e-3),
    "film_water: area": (lambda x: humidity.film_water(1e-5, x), 1e-4, 20),
    "water_damage: water": (humidity.water_damage, 0, 10),
    "water_damage: warmth": (lambda x: humidity.water_damage(1e-3, 27, x), 0, 150),
    "dew_point: humidity": (lambda x: humidity.dew_point_c(20, x), 1, 100),
    "dew_point: air": (lambda x: humidity.dew_point_c(x, 50), -40, 50),
    "dew_margin: face": (lambda x: humidity.dew_margin(x, 20, 50), -40, 90),
    "highest_humidity: margin": (lambda x: humidity.highest_humidity(15, 30, x), 0, 10),
    "time_factor: warmth": (lambda x: cure_times.time_factor(x, 25, Range(1.4, 1.8, 2.2)), 0, 60),
    "time_factor: reference": (lambda x: cure_times.time_factor(25, x, Range(1.4, 1.8, 2.2)), 0, 60),
    "time_factor: for 10 K": (lambda x: cure_times.time_factor(20, 25, Range(x, x, x)), 1, 4),
    "time_at: time": (lambda x: cure_times.time_at(x, ONE), 1, 30 * DAY),
    "thick_demold: section": (lambda x: cure_times.thick_demold(3600, x, 0.05, 12_000), 0.001, 1),
    "window_at: opening": (lambda x: cure_times.window_at(Range(x, x, x), Range(30 * DAY, 30 * DAY, 30 * DAY), ONE), 1, 30 * DAY),
    "adiabatic_core: start": (lambda x: exotherm.adiabatic_core_c(x, 50, 56, 1), 0, 60),
    "adiabatic_core: ratio": (lambda x: exotherm.adiabatic_core_c(20, x, 56, 1), 1, 1000),
    "adiabatic_core: OH": (lambda x: exotherm.adiabatic_core_c(20, 1000, x, 1), 1, 2000),
    "adiabatic_core: OH at 50 parts": (lambda x: exotherm.adiabatic_core_c(20, 50, x, 1), 1, 15 * stoich.KOH_MOLAR * 1000),
    "adiabatic_core: OH at 257 parts": (lambda x: exotherm.adiabatic_core_c(20, 257, x, 1), 1, 2000),
    "adiabatic_core: water": (lambda x: exotherm.adiabatic_core_c(20, 50, 56, x), 0, 5),
    "cooled_core: peak": (lambda x: exotherm.cooled_core_c(x, 20, 0.1, 60, 200), 20, 250),
    "cooled_core: wall": (lambda x: exotherm.cooled_core_c(200, x, 0.1, 60, 200), 0, 90),
    "cooled_core: section": (lambda x: exotherm.cooled_core_c(100, 20, x, 60, 200), 0.01, 0.6),
    "cooled_core: time": (lambda x: exotherm.cooled_core_c(100, 20, 0.1, x, 200), 0, 2 * DAY),
    "cooled_core: density": (lambda x: exotherm.cooled_core_c(100, 20, 0.1, 60, x), 40, 800),
    "vent_flow: bore": (lambda x: venting.vent_flow(500, x, 0.01), 1e-4, 0.02),
    "vent_flow: length": (lambda x: venting.vent_flow(500, 0.002, x), 0, 0.5),
    "vent_flow: pressure": (lambda x: venting.vent_flow(x, 0.002, 0.01), 1, 5000),
    "air_to_vent: volume": (lambda x: venting.air_to_vent(x, 30), 1e-6, 1),
    "air_to_vent: time": (lambda x: venting.air_to_vent(1e-3, x), 1, 3600),
    "back_pressure: bore": (lambda x: venting.back_pressure(1e-6, x, 0.01), 0.001, 0.2),
    "back_pressure: length": (lambda x: venting.back_pressure(1e-6, 0.01, x), 0.001, 1),
    "back_pressure: flow": (lambda x: venting.back_pressure(x, 0.2, 0.01), 0, 0.01),
    "pocket_left: pressure": (venting.pocket_left, 0, 1e6),
    "travel: gap": (lambda x: venting.travel(x, Range(10, 15, 20)), 0.001, 0.02),
    "mold_pressure: packing": (lambda x: venting.mold_pressure(x, 160), 1, 3),
    "mold_pressure: free rise": (lambda x: venting.mold_pressure(1.1, x), 20, 800),
    "mold_pressure: gas lost": (lambda x: venting.mold_pressure(1.3, 160, x), 0, 1),
    "purge_time: changes": (ventilation.purge_time, 0.1, 100),
    "purge_time: removed": (lambda x: ventilation.purge_time(6, x), 0.1, 0.9999),
    "purge_time: mixing": (lambda x: ventilation.purge_time(6, 0.99, x), 1, 10),
    "dilution_flow: mixing": (lambda x: ventilation.dilution_flow(1e-7, 5e-8, x), 1, 10),
}  # fmt: skip


@pytest.mark.parametrize("name", RANGES)
def test_both_ends_of_a_stated_range_are_taken_and_nothing_beyond(name):
    """At its least and its greatest value a sum comes to something; a thousandth of the range outside it is refused in one line."""
    call, least, most = RANGES[name]
    call(least)
    call(most)
    for beyond in (least - 1e-3 * max(abs(least), 1e-3 * most), most + 1e-3 * most):
        with pytest.raises(BenchError, match="expected") as refused:
            call(beyond)
        assert "\n" not in str(refused.value)


def test_the_hydroxyl_number_is_refused_by_its_own_name():
    """What one mix may hold bounds it as well, and what is told is the number that was typed, not moles that nobody typed."""
    with pytest.raises(
        BenchError, match=r"hydroxyl number of B at this ratio 1000 mg KOH/g: expected 1 mg KOH/g to 841\.575 "
    ):
        exotherm.adiabatic_core_c(20, 50, 1000, 1)


def test_three_points_off_a_sheet_are_read_between_their_own_neighbors():
    """Between the first two of three points the third says nothing; each point gives back its own density (definition)."""
    points = [(40.0, 200.0), (50.0, 150.0), (60.0, 60.0)]
    for parts, density in points:
        found = mix.density_at_ratio(parts, points)
        assert (found.low, found.high) == pytest.approx((density, density))
    assert mix.density_at_ratio(45, points) == mix.density_at_ratio(45, points[:2])
    assert mix.density_at_ratio(55, points) == mix.density_at_ratio(55, points[1:])


@pytest.mark.parametrize(
    "points", [[(30, 200), (40, 200)], [(30, 100), (40, 150), (50, 100)], [(30, 100), (40, 100), (50, 120)]]
)
def test_points_that_stand_still_are_refused(points):
    """Two ratios of one density are no points off a sheet: refused by what was expected, not by a division."""
    with pytest.raises(BenchError, match="expected all rising or all falling"):
        mix.density_at_ratio(points[0][0], points)
