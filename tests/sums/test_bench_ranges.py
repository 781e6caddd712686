"""The ranges that the docstrings state: the ends are taken, a thousandth beyond them is refused."""

import math

import pytest

from diagnose.bench import (
    catalogue,
    conduction,
    cure_times,
    exotherm,
    heat,
    humidity,
    mix,
    packing,
    painting,
    skin,
    stoich,
    ventilation,
    venting,
)
from diagnose.bench.quantities import BenchError, Range
from diagnose.knowledge import load_knowledge

ONE = Range(1.0, 1.0, 1.0)
DAY = 86_400
RUBBER = heat.Stuff(0.20, 1100, 1300)
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
    "dilution_flow: source": (lambda x: ventilation.dilution_flow(x, 5e-8), 1e-9 / 60, 1e-2 / 60),
    "dilution_flow: limit": (lambda x: ventilation.dilution_flow(1e-7, x), 1e-10, 1e-3),
    "ratio_error: step": (lambda x: mix.ratio_error(10, 10, 100, x), 1e-6, 1),
    "ratio_error: step of a small batch": (lambda x: mix.ratio_error(0.2, 0.1, 200, x), 1e-6, 0.05),
    "ratio_error: A left": (lambda x: mix.ratio_error(0.1, 0.2, 50, 0.001, x), 0, 0.049401),
    "ratio_error: B left": (lambda x: mix.ratio_error(0.1, 0.2, 50, 0.001, 0, x), 0, 0.099301),
    "scale_fraction: step": (lambda x: mix.scale_fraction(10, 10, x), 1e-6, 1),
    "density_at_ratio: ratio of a point": (lambda x: mix.density_at_ratio(500, [(x, 100), (500, 200)]), 1, 1000),
    "density_at_ratio: density of a point": (lambda x: mix.density_at_ratio(40, [(30, x), (50, 600)]), 10, 1200),
    "packing_of_part: part": (lambda x: packing.packing_of_part(x, 1e-3, 160), 1e-5, 100),
    "packing_of_part: insert": (lambda x: packing.packing_of_part(0.1, 1e-3, 160, x), 0, 0.0999),
    "free_rise_density: grams": (lambda x: packing.free_rise_density(x, 1e-5 if x < 0.01 else 0.02), 1e-3, 10),
    "free_rise_density: cup": (lambda x: packing.free_rise_density(160 * x, x), 1e-5, 0.02),
    "coats: one coat": (lambda x: skin.coats(0.1, 1e-3, x, 1050), 5e-5, 0.02),
    "isocyanate_index: A": (lambda x: stoich.isocyanate_index(x, 27, 1, 56), 1e-5, 100),
    "gas_from_water: water": (stoich.gas_from_water, 0, 10),
    "gas_from_water: warmth": (lambda x: stoich.gas_from_water(1e-3, x), 0, 150),
    "gas_from_water: pressure": (lambda x: stoich.gas_from_water(1e-3, 25, x), 5e4, 1.5e5),
    "iso_eaten_by_water: water": (lambda x: stoich.iso_eaten_by_water(x, 27), 0, 10),
    "adiabatic_rise: OH": (lambda x: exotherm.adiabatic_rise(x, 0), 0, 10),
    "adiabatic_rise: water": (lambda x: exotherm.adiabatic_rise(0, x), 0, 3),
    "core_heat: charge": (lambda x: exotherm.core_heat(x, 160, 160), 1e-5, 1000),
    "core_heat: density": (lambda x: exotherm.core_heat(1, x, 160), 20, 800),
    "core_heat: counted in": (lambda x: exotherm.core_heat(1, 160, x), 20, 800),
    "warm_time: wall": (lambda x: heat.warm_time(x, RUBBER, 10), 0.001, 0.2),
    "warm_time: coefficient": (lambda x: heat.warm_time(0.01, RUBBER, x), 1, 2000),
    "warm_time: share": (lambda x: heat.warm_time(0.01, RUBBER, 10, x), 0.01, 0.999),
    "warm_mold: mold": (lambda x: heat.warm_mold(0.01, x, 35, (x + 35) / 2), -20, 90),
    "warm_mold: around": (lambda x: heat.warm_mold(0.01, 35, x, (x + 35) / 2), -20, 90),
    "warm_mold: share": (lambda x: heat.warm_mold(0.01, 0, 1, x), 0.01, 0.999),
    "bench_face: time": (lambda x: heat.bench_face(x, 40, 20, 0.01), 0, DAY / 2),
    "bench_face: mold": (lambda x: heat.bench_face(600, x, 20, 0.01), -20, 90),
    "bench_face: room": (lambda x: heat.bench_face(600, 40, x, 0.01), -20, 90),
    "bench_face: wall": (lambda x: heat.bench_face(600, 40, 20, x), 0.001, 0.2),
    "contact_temperature: mix": (lambda x: heat.contact_temperature(x, 20, 600, 500), -20, 90),
    "contact_temperature: wall": (lambda x: heat.contact_temperature(20, x, 600, 500), -20, 90),
    "contact_temperature: pull of the mix": (lambda x: heat.contact_temperature(25, 20, x, 500), 10, 50_000),
    "contact_temperature: pull of the wall": (lambda x: heat.contact_temperature(25, 20, 600, x), 10, 50_000),
    "highest_humidity: face": (lambda x: humidity.highest_humidity(x, 50), -30, 50),
    "thick_demold: time": (lambda x: cure_times.thick_demold(x, 0.1, 0.05, 12_000), 1, 30 * DAY),
    "window_at: closing": (lambda x: cure_times.window_at(Range(60, 60, 60), Range(60, x, x), ONE), 60, 30 * DAY),
    "vent_flow: density": (lambda x: venting.vent_flow(500, 0.002, 0.01, density=x), 0.1, 100),
    "vent_flow: viscosity": (lambda x: venting.vent_flow(500, 0.002, 0.01, viscosity=x), 1e-6, 1e-3),
    "vent_bore: air": (
        lambda x: venting.vent_bore(x, 500, 0.01),
        venting.vent_flow(500, 1e-4, 0.01).flow_m3_s,
        venting.vent_flow(500, 0.02, 0.01).flow_m3_s,
    ),
    "back_pressure: density": (lambda x: venting.back_pressure(1e-6, 0.01, 0.01, x), 20, 1200),
    "back_pressure: Reynolds number": (
        lambda x: venting.back_pressure(x, 0.01, 0.01, 1200),
        0,
        2300 * math.pi * 0.01 * 0.2 / (4 * 1200),
    ),
    "cross_cut_iso: lost": (painting.cross_cut_iso, 0, 100),
    "cross_cut_astm: lost": (painting.cross_cut_astm, 0, 100),
    "paint-wait: the resting part": (
        lambda x: catalogue.by_name("paint-wait").run({"part_temperature": x}, load_knowledge().practice),
        10,
        50,
    ),
    "paint_conditions: lowest": (lambda x: painting.paint_conditions(20, 50, 20, x), -5, 30),
    "theta_held: Fo": (conduction.theta_held, 0, 1e6),
    "theta_centre: Fo": (lambda x: conduction.theta_centre(x, 1), 0, 1e6),
    "theta_centre: Bi": (lambda x: conduction.theta_centre(1, x), 1e-5, 1e5),
    "theta_surface: Fo": (lambda x: conduction.theta_surface(x, 1), 0, 1e6),
    "theta_surface: Bi": (lambda x: conduction.theta_surface(1, x), 1e-5, 1e5),
    "fourier_held: share": (conduction.fourier_held, 1e-4, 0.9999),
    "fourier_for: share": (lambda x: conduction.fourier_for(x, 1), 1e-4, 0.9999),
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


@pytest.mark.parametrize(
    ("left_out", "said"),
    [
        (stoich.gas_from_water(1e-3), stoich.gas_from_water(1e-3, 25, 101_325)),
        (ventilation.purge_time(6), ventilation.purge_time(6, 0.99, 1)),
        (ventilation.dilution_flow(1e-7, 5e-8), ventilation.dilution_flow(1e-7, 5e-8, 3)),
        (heat.warm_time(0.01, RUBBER, 10), heat.warm_time(0.01, RUBBER, 10, 0.9, "one")),
        (heat.warm_mold(0.01, 15, 45, 30), heat.warm_mold(0.01, 15, 45, 30, "one", "still_air", "silicone")),
        (heat.bench_face(600, 40, 20, 0.01), heat.bench_face(600, 40, 20, 0.01, "one", "still_air", "silicone")),
        (heat.contact(24, 12), heat.contact(24, 12, "silicone")),
        (venting.back_pressure(1e-5, 0.01, 0.01), venting.back_pressure(1e-5, 0.01, 0.01, 300)),
        (venting.vent_flow(500, 0.002, 0.01), venting.vent_flow(500, 0.002, 0.01, 18.2e-6, 1.205)),
        (venting.mold_pressure(1.3, 160), venting.mold_pressure(1.3, 160, 0)),
        (humidity.highest_humidity(15, 20), humidity.highest_humidity(15, 20, 3)),
        (humidity.water_damage(1e-3), humidity.water_damage(1e-3, 27, 25)),
        (packing.foam_volume(1e-3, 0.1), packing.foam_volume(1e-3, 0.1, 0, 1050)),
        (packing.charge(1e-3, 160, 1.3, 0, 0.1), packing.charge(1e-3, 160, 1.3, 0, 0.1, 0, 1050)),
        (packing.packing_of_part(0.3, 1e-3, 160), packing.packing_of_part(0.3, 1e-3, 160, 0)),
        (skin.skin_mass(0.1, 1e-3, 1050), skin.skin_mass(0.1, 1e-3, 1050, 0)),
        (skin.coats(0.1, 1e-3, 5e-4, 1050), skin.coats(0.1, 1e-3, 5e-4, 1050, 0)),
        (stoich.isocyanate_index(0.5, 27, 1, 56), stoich.isocyanate_index(0.5, 27, 1, 56, 0, 0)),
        (mix.ratio_error(0.1, 0.2, 50, 1e-3), mix.ratio_error(0.1, 0.2, 50, 1e-3, 0, 0)),
        (painting.paint_conditions(6, 90, 34), painting.paint_conditions(6, 90, 34, None, 3, Range(7, 20, 32))),
    ],
)
def test_what_is_left_out_is_what_the_docstring_has(left_out, said):
    """A stand-in for what nobody gave is the figure that is written down for it."""
    assert left_out == said
