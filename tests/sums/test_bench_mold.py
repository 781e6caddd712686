"""Heat, humidity, venting: behaviour, refusals word for word, and what must hold for any numbers."""

import math

import pint
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from diagnose.bench import conduction, exotherm, heat, humidity, venting
from diagnose.bench.quantities import BenchError, Range

UREG = pint.UnitRegistry()
SILICONE = heat.Stuff(0.20, 1100, 1300)
GAPS = Range(10, 15, 20)
FO, BI = st.floats(0, 20), st.floats(0.01, 500)


@given(FO, st.floats(0.001, 0.5))
def test_a_held_slab_only_ever_nears_the_surface(fo, more):
    """Between 1 and 0, falling."""
    assert 0 <= conduction.theta_held(fo + more) <= conduction.theta_held(fo) <= 1 + 1e-12


@settings(deadline=None)
@given(FO, st.floats(0.001, 0.5), BI)
def test_a_slab_in_air_only_ever_nears_the_air(fo, more, bi):
    """Between 1 and 0, falling; the face leads the middle."""
    for theta in (conduction.theta_centre, conduction.theta_surface):
        assert -1e-9 <= theta(fo + more, bi) <= theta(fo, bi) + 1e-9 <= 1 + 2e-9
    assert conduction.theta_surface(fo, bi) <= conduction.theta_centre(fo, bi) + 1e-9


@settings(deadline=None)
@given(st.floats(0.01, 10), BI)
def test_air_is_never_faster_than_a_held_surface(fo, bi):
    """The coefficient only slows, and without end it is the held surface."""
    assert conduction.theta_centre(fo, bi) >= conduction.theta_held(fo) - 1e-9
    assert conduction.theta_centre(fo, 1e5) == pytest.approx(conduction.theta_held(fo), abs=1e-4)


@pytest.mark.parametrize("bi", [0.01, 0.5, 5, 100, 1e4])
def test_short_and_long_forms_meet(bi):
    """Where the half-space gives way to the series nothing jumps."""
    low, high = 0.01 * (1 - 1e-9), 0.01
    assert conduction.theta_surface(low, bi) == pytest.approx(conduction.theta_surface(high, bi), abs=1e-8)
    assert conduction.theta_centre(low, bi) == pytest.approx(conduction.theta_centre(high, bi), abs=1e-8)
    assert conduction.theta_held(0.1 * (1 - 1e-12)) == pytest.approx(conduction.theta_held(0.1), abs=1e-11)


@pytest.mark.parametrize("x", [0.5, 5.0, 19.9, 20.0, 25.0, 90.0, 900.0])
def test_a_face_in_its_first_moment_is_the_half_space(x):
    """exp(x²) erfc(x) with x = Bi sqrt(Fo), as scipy.special.erfcx has it; for large x by the first terms of its series."""
    from scipy.special import erfcx

    assert conduction.theta_surface(0.0081, x / 0.09) == pytest.approx(float(erfcx(x)), rel=1e-7)


@settings(deadline=None)
@given(st.floats(0.001, 0.98), BI)
def test_time_and_share_go_there_and_back(theta, bi):
    """Round trip, in air and held."""
    assert conduction.theta_centre(conduction.fourier_for(theta, bi), bi) == pytest.approx(theta, abs=1e-9)
    assert conduction.theta_held(conduction.fourier_held(theta)) == pytest.approx(theta, abs=1e-9)


def test_a_thin_wall_in_air_is_the_lumped_one():
    """Small Bi: exp(-h t / (rho c L)), by the unit library, to 1 %."""
    seconds = heat.warm_time(0.001, SILICONE, 1.0, 0.9)
    lumped = (
        math.log(10) * (1100 * UREG("kg/m^3")) * (1300 * UREG("J/kg/K")) * (1 * UREG.mm) / (1 * UREG("W/m^2/K"))
    ).to("s")
    assert seconds == pytest.approx(lumped.magnitude, rel=0.01)


@settings(deadline=None)
@given(st.floats(0.002, 0.1), st.floats(1.01, 1.5), st.floats(5, 500))
def test_thicker_takes_longer_and_wind_helps(wall, more, h):
    """Monotone in thickness, coefficient and share; both sides are quicker than one."""
    base = heat.warm_time(wall, SILICONE, h)
    assert heat.warm_time(wall * more, SILICONE, h) > base
    assert heat.warm_time(wall, SILICONE, h * more) < base
    assert heat.warm_time(wall, SILICONE, h, 0.8) < base
    assert heat.warm_time(wall, SILICONE, h, sides="both") < base


@pytest.mark.parametrize("wall", sorted(heat.WALLS))
@pytest.mark.parametrize("medium", sorted(heat.MEDIA))
def test_warming_is_a_range_for_every_wall(wall, medium):
    """Water beats a fan beats still air; the ends stand in order."""
    span = heat.warm_mold(0.015, 15, 45, 30, "one", medium, wall)
    assert 0 < span.low <= span.mid <= span.high
    assert heat.warm_mold(0.015, 15, 45, 30, "one", "water", wall).mid <= span.mid


def test_walls_are_as_their_sources_print_them():
    """Conductivity, density and specific heat after EN 12524, CIBSE Guide A and a mechanical engineers' handbook; the rest from memory, as the table says."""
    printed = {
        "silicone": [(0.20, 1100, 1300), (0.18, 1100, 1500), (0.35, 1200, 1000), (0.50, 1450, 1000)],
        "plaster": [(0.57, 1300, 1000), (0.40, 1000, 1000), (0.22, 1680, 1085), (0.56, 1500, 1000)],
        "urethane_rubber": [(0.25, 1200, 1800), (0.17, 1500, 1470)],
        "fiberglass": [(0.30, 1800, 1000), (0.20, 1600, 900)],
        "aluminium": [(237.0, 2700, 897)],
    }
    assert {name: [(s.conductivity, s.density, s.heat) for s in sets] for name, sets in heat.WALLS.items()} == printed
    assert (heat.MIX.conductivity, heat.MIX.density, heat.MIX.heat) == (0.18, 1080, 1800)
    assert {name: (m.low, m.mid, m.high) for name, m in heat.MEDIA.items()} == {
        "still_air": (5, 7, 10), "fan": (15, 20, 25), "water": (200, 500, 1000),
    }  # fmt: skip


def test_cooling_a_mold_is_the_same_as_warming_it():
    """Only the share of the step counts."""
    warm, cool = heat.warm_mold(0.015, 15, 45, 36), heat.warm_mold(0.015, 45, 15, 24)
    assert warm.mid == pytest.approx(cool.mid, rel=1e-9)


@settings(deadline=None)
@given(st.floats(1, 600), st.floats(0.5, 100), st.floats(20, 60))
def test_a_warm_face_cools_towards_the_room(minutes, more, start):
    """Falling in time, never under the room, never over the start."""
    one, two = (heat.bench_face(60 * t, start, 18, 0.015) for t in (minutes, min(720, minutes + more)))
    assert 18 - 1e-9 <= two.low <= one.low + 1e-9
    assert one.high <= start + 1e-9
    assert two.mid <= one.mid + 1e-9


@given(st.floats(-20, 90), st.floats(-20, 90))
def test_contact_lies_between_the_two(mix_c, wall_c):
    """And at one temperature it is that."""
    for wall in heat.WALLS:
        span = heat.contact(mix_c, wall_c, wall)
        assert min(mix_c, wall_c) - 1e-9 <= span.low <= span.high <= max(mix_c, wall_c) + 1e-9


def test_effusivity_has_its_dimension():
    """sqrt(k rho c), by the unit library."""
    quantity = ((0.2 * UREG("W/m/K")) * (1100 * UREG("kg/m^3")) * (1300 * UREG("J/kg/K"))) ** 0.5
    assert quantity.check("[mass] / [time] ** 2.5 / [temperature]")
    assert SILICONE.effusivity == pytest.approx(quantity.to("W*s**0.5/m**2/K").magnitude, rel=1e-12)


@given(st.floats(0, 5), st.floats(0, 1))
def test_more_to_react_is_hotter(oh, water):
    """Linear in both, nothing for nothing."""
    assert exotherm.adiabatic_rise(0, 0).high == 0
    assert exotherm.adiabatic_rise(oh + 0.1, water).low > exotherm.adiabatic_rise(oh, water).low
    assert exotherm.adiabatic_rise(oh, water + 0.1).high > exotherm.adiabatic_rise(oh, water).high


@settings(deadline=None)
@given(st.floats(30, 200), st.floats(0, 30), st.floats(0.02, 0.5), st.floats(0, 86_000), st.floats(60, 700))
def test_a_core_cools_between_peak_and_wall(peak, wall, size, seconds, density):
    """In order, between the two, and falling in time; thicker stays hotter."""
    span = exotherm.cooled_core_c(peak, wall, size, seconds, density)
    assert wall - 1e-6 <= span.low <= span.mid <= span.high <= peak + 1e-6
    later = exotherm.cooled_core_c(peak, wall, size, seconds + 600, density)
    assert later.high <= span.high + 1e-6
    assert exotherm.cooled_core_c(peak, wall, size * 1.1, seconds, density).mid >= span.mid - 1e-6


def test_core_time_and_temperature_go_there_and_back():
    """At the middle time the middle temperature is the target."""
    span = exotherm.core_cool_time(120, 25, 50, 0.12, 200)
    assert exotherm.cooled_core_c(120, 25, 0.12, span.mid, 200).mid == pytest.approx(50, abs=1e-6)
    assert span.low < span.mid < span.high


@given(st.floats(-30, 50), st.floats(1, 100))
def test_dew_point_is_never_over_the_air(air, rh):
    """At 100 % it is the air; and the vapour pressure there is the saturated one."""
    dew = humidity.dew_point_c(air, rh)
    assert dew <= air + 1e-9
    assert humidity.dew_point_c(air, 100) == air
    if dew > -39:
        assert humidity.saturation_pressure(dew) == pytest.approx(humidity.vapour_pressure(air, rh), rel=1e-9)


@given(st.floats(-30, 50), st.floats(1, 99), st.floats(0.01, 1))
def test_damper_air_has_a_higher_dew_point(air, rh, more):
    """Monotone in humidity."""
    assert humidity.dew_point_c(air, rh + more) > humidity.dew_point_c(air, rh)


@given(st.floats(-10, 40), st.floats(0.5, 9))
def test_margin_and_humidity_go_there_and_back(face, margin):
    """The humidity that leaves a margin leaves it."""
    rh = humidity.highest_humidity(face, 40, margin)
    assume(rh >= 1)
    assert humidity.dew_margin(face, 40, rh) == pytest.approx(margin, abs=1e-9)


def test_a_film_of_dew():
    """10 µm on a tenth of a m² is a gram: 1.36 L of gas and 17 g of A."""
    water = humidity.film_water(10e-6, 0.1)
    done = humidity.water_damage(water)
    assert water == pytest.approx(1e-3, rel=1e-12)
    assert done.gas_m3 * 1e3 == pytest.approx(1.358, abs=1e-3)
    assert done.iso_eaten_kg * 1e3 == pytest.approx(17.3, abs=0.05)


@given(st.floats(1, 4900), st.floats(1.001, 1.02), st.floats(2e-4, 0.019), st.floats(0, 0.45))
def test_a_vent_passes_more_with_pressure_and_bore(drop, more, bore, length):
    """Monotone in pressure and bore, and shorter is better."""
    flow = venting.vent_flow(drop, bore, length).flow_m3_s
    assert venting.vent_flow(drop * more, bore, length).flow_m3_s >= flow
    assert venting.vent_flow(drop, bore * more, length).flow_m3_s >= flow
    assert venting.vent_flow(drop, bore, length + 0.01).flow_m3_s <= flow


@given(st.floats(10, 4000), st.floats(5e-4, 0.015))
def test_bore_and_flow_go_there_and_back(drop, bore):
    """Round trip, away from the jump between laminar and turbulent friction."""
    vent = venting.vent_flow(drop, bore, 0.01)
    assume(not 2200 < vent.reynolds < 2400)
    assert venting.vent_bore(vent.flow_m3_s, drop, 0.01) == pytest.approx(bore, rel=1e-6)


def test_a_long_thin_vent_is_a_pipe_and_a_short_wide_one_an_orifice():
    """Each comes near its plain formula: Hagen-Poiseuille, and area times the root of two drops over density (Cd 0.61 to 0.82)."""
    thin = venting.vent_flow(100, 2e-4, 0.05)
    assert thin.regime == "laminar"
    assert venting.pipe_drop(thin.flow_m3_s, 2e-4, 0.05, venting.AIR_VISCOSITY) == pytest.approx(100, rel=0.05)
    wide = venting.vent_flow(500, 0.01, 0.001)
    assert wide.regime == "orifice"
    ideal = math.pi / 4 * 0.01**2 * math.sqrt(2 * 500 / venting.AIR_DENSITY)
    assert 0.61 < wide.flow_m3_s / ideal < 0.83


def test_pipe_drop_has_its_dimension():
    """128 mu L Q / (pi d^4) is a pressure, by the unit library."""
    drop = 128 * (1 * UREG("Pa*s")) * (50 * UREG.mm) * (1 * UREG("mL/s")) / (math.pi * (4 * UREG.mm) ** 4)
    assert venting.pipe_drop(1e-6, 0.004, 0.05, 1) == pytest.approx(drop.to("Pa").magnitude, rel=1e-12)


@given(st.floats(1, 2.4), st.floats(30, 400), st.floats(0, 0.99))
def test_a_tighter_mold_presses_harder_and_a_leak_lets_go(packing, density, lost):
    """Rising with packing, falling with the gas lost, never under none; unpacked foam that keeps its gas presses nothing."""
    least = venting.mold_pressure(packing, density, lost)
    assert 0 <= least <= venting.mold_pressure(packing, density)
    assert venting.mold_pressure(packing + 0.1, density) > venting.mold_pressure(packing, density)
    assert venting.mold_pressure(1, density) == pytest.approx(0, abs=1e-6)
    assert venting.mold_pressure(packing, density, 1.0) == 0


@given(st.floats(0, 9e5), st.floats(1, 9e4))
def test_a_pocket_shrinks_and_never_vanishes(gauge, more):
    """Falling with pressure, one at none, over zero always."""
    assert 0 < venting.pocket_left(gauge + more) < venting.pocket_left(gauge) <= 1
    assert venting.pocket_left(0) == 1


def test_pressure_volume_product_is_kept():
    """Boyle."""
    assert venting.pocket_left(20_000) * (101_325 + 20_000) == pytest.approx(101_325)


@given(st.floats(1e-7, 5e-6), st.floats(0.012, 0.05))
def test_a_narrower_opening_holds_back_more(flow, bore):
    """And more flow is held back more."""
    span = venting.back_pressure(flow, bore, 0.03)
    assert venting.back_pressure(flow, bore * 0.9, 0.03).mid > span.mid
    assert venting.back_pressure(flow * 1.1, bore, 0.03).low > span.low


def test_back_pressure_by_hand():
    """Pipe friction and 1.5 velocity heads in units, for each published viscosity."""
    flow, bore, length, density = 5 * UREG("mL/s"), 20 * UREG.mm, 30 * UREG.mm, 300 * UREG("kg/m^3")
    speed = flow / (math.pi / 4 * bore**2)
    span = venting.back_pressure(5e-6, 0.02, 0.03)
    for viscosity, ours in ((0.2, span.low), (1.5, span.mid), (12.0, span.high)):
        drop = 32 * viscosity * UREG("Pa*s") * length * speed / bore**2 + 1.5 * density * speed**2 / 2
        assert ours == pytest.approx(drop.to("Pa").magnitude, rel=1e-9)


def test_ceiling_of_a_core_by_hand():
    """50 to 100 with B of OH number 35 and 1 % water: two thirds of each kg is B."""
    oh, water = 35 / 56.105 / 1.5, 0.01 / 0.018015 / 1.5
    span = exotherm.adiabatic_core_c(25, 50, 35, 1.0)
    assert span.low == pytest.approx(25 + (oh * 68_500 + water * 81_500) / 1800, rel=1e-9)
    assert span.high == pytest.approx(25 + (oh * 94_000 + water * 125_000) / 1800, rel=1e-9)


def test_cooled_core_by_hand():
    """Bi 5 x 0.06 / 0.04 and Fo of badly conducting foam at the hot end; a held wall at the cool end."""
    span = exotherm.cooled_core_c(120, 20, 0.12, 7200, 200)
    slow, fast = 0.04 / (200 * 1500) * 7200 / 0.06**2, 0.10 / (200 * 1500) * 7200 / 0.06**2
    assert span.high == pytest.approx(20 + 100 * conduction.theta_centre(slow, 7.5), rel=1e-9)
    assert span.low == pytest.approx(20 + 100 * conduction.theta_held(fast), rel=1e-9)


def test_travel_in_a_gap():
    """6 mm makes about 90 mm, from 60 to 120."""
    span = venting.travel(0.006, GAPS)
    assert (span.low, span.mid, span.high) == (pytest.approx(0.06), pytest.approx(0.09), pytest.approx(0.12))


def test_heat_of_a_lump():
    """A kilogram of an 80 kg/m³ grade heats as two of 160; the ceilings of two usual grades stand in that order."""
    assert exotherm.core_heat(1.0, 80, 160) == pytest.approx(2.0)
    dense, light = exotherm.adiabatic_core_c(23, 40, 56, 1.5), exotherm.adiabatic_core_c(23, 58, 45, 3.5)
    assert light.low > dense.mid
    assert light.mid > dense.high


@pytest.mark.parametrize(
    ("call", "line"),
    [
        (lambda: heat.warm_mold(0, 15, 45, 30), "mold wall thickness 0 mm: expected 1 mm to 200 mm"),
        (
            lambda: heat.warm_mold(0.01, 15, 45, 45),
            "target temperature 45 °C: expected between the mold's 15 °C and the 45 °C around it, not at either end",
        ),
        (
            lambda: heat.warm_mold(0.01, 20, 20, 20),
            "target temperature 20 °C: expected between the mold's 20 °C and the 20 °C around it, not at either end",
        ),
        (lambda: heat.warm_mold(0.01, 15, 200, 45), "temperature around the mold 200 °C: expected -20 °C to 90 °C"),
        (lambda: heat.warm_mold(0.01, 15, 45, 30, "three"), "sides 'three': expected one of one, both"),
        (
            lambda: heat.warm_mold(0.01, 15, 45, 30, "one", "oven"),
            "medium 'oven': expected one of still_air, fan, water",
        ),
        (
            lambda: heat.contact(25, 20, "butter"),
            "mold wall 'butter': expected one of silicone, plaster, urethane_rubber, fiberglass, aluminium",
        ),
        (
            lambda: exotherm.cooled_core_c(300, 25, 0.1, 60, 200),
            "peak temperature of the core 300 °C: expected 25 °C to 250 °C",
        ),
        (
            lambda: exotherm.core_cool_time(100, 25, 20, 0.1, 200),
            "target temperature 20 °C: expected between the wall's 25 °C and the core's 100 °C, not at either end",
        ),
        (lambda: humidity.dew_point_c(60, 50), "air temperature 60 °C: expected -40 °C to 50 °C"),
        (lambda: humidity.dew_point_c(20, 0), "relative humidity 0 %: expected 1 % to 100 %"),
        (
            lambda: humidity.dew_point_c(20, 0.45),
            "relative humidity 0.45 %: looks like a fraction, expected 1 % to 100 %",
        ),
        (lambda: humidity.dew_point_c(20, 120), "relative humidity 120 %: expected 1 % to 100 %"),
        (
            lambda: humidity.highest_humidity(30, 20),
            "face 30 °C in air of 20 °C: expected a face less than 3 K above the air, else no humidity is too high",
        ),
        (lambda: humidity.film_water(1, 0.1), "water film 1000000 µm: expected 0.1 µm to 1000 µm"),
        (lambda: venting.vent_flow(500, 0, 0.01), "bore 0 mm: expected 0.1 mm to 20 mm"),
        (lambda: venting.vent_flow(1e5, 1e-3, 0.01), "pressure 100000 Pa: expected 1 Pa to 5000 Pa"),
        (lambda: venting.travel(0.025, GAPS), "narrowest gap 25 mm: expected 1 mm to 20 mm"),
        (lambda: venting.mold_pressure(3, 400), "molded density 1200 kg/m³: expected under the solid's 1100 kg/m³"),
        (lambda: venting.pocket_left(-1), "pressure of the foam -0.001 kPa: expected 0 kPa to 1000 kPa"),
    ],
)
def test_bad_mold_input_is_refused_in_one_line(call, line):
    """Word for word."""
    with pytest.raises(BenchError) as caught:
        call()
    assert str(caught.value) == line
