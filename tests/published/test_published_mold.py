"""Humidity, heat and flow against published values and reference libraries that only the tests use."""

import json
import math
from pathlib import Path

import pytest

from diagnose.bench import conduction, heat, humidity, venting

VALUES = json.loads(Path(__file__).with_name("values.json").read_text(encoding="utf-8"))
SILICONE = heat.Stuff(0.20, 1100, 1300)


def values(name):
    return VALUES[name]["values"]


@pytest.mark.parametrize(("air", "rh", "dew"), values("dew_point_C"))
def test_dew_points(air, rh, dew):
    """Within 0.05 K of the psychrometric tables."""
    assert humidity.dew_point_c(air, rh) == pytest.approx(dew, abs=values("dew_point_tol_C"))


def test_dew_point_in_print():
    """25 °C and 60 % is 16.70 °C with the very constants used (source: alduchov_eskridge_1996)."""
    for air, rh, dew in values("dew_point_print"):
        assert humidity.dew_point_c(air, rh) == pytest.approx(dew, abs=0.005)


def test_dew_point_against_psychrolib():
    """Over 0 to 40 °C and 20 to 100 %, where the dew point is over zero, never 0.05 K from the library."""
    psychrolib = pytest.importorskip("psychrolib")
    psychrolib.SetUnitSystem(psychrolib.SI)
    worst = 0.0
    for air in range(41):
        for rh in range(20, 101, 5):
            dew = psychrolib.GetTDewPointFromRelHum(air, rh / 100)
            if dew >= 0:
                worst = max(worst, abs(humidity.dew_point_c(air, rh) - dew))
    assert worst < 0.05


def test_saturation_pressure_in_print():
    """Printed table to the 0.4 % that the set's authors state."""
    for air, pascals in values("saturation_pressure_Pa").items():
        assert humidity.saturation_pressure(float(air)) == pytest.approx(pascals, rel=4e-3)


@pytest.mark.parametrize(("air", "rh", "grams"), values("abs_humidity_g_m3"))
def test_water_in_the_air(air, rh, grams):
    """Grams in a m³, to 0.4 %."""
    assert humidity.absolute_humidity(air, rh) * 1e3 == pytest.approx(grams, rel=4e-3)


@pytest.mark.parametrize(("air", "face", "margin", "dew"), values("highest_humidity_3K"))
def test_humidity_that_keeps_three_kelvin(air, face, margin, dew):
    """Highest humidity that leaves 3 K, and the one at which dew forms."""
    assert humidity.highest_humidity(face, air) == pytest.approx(margin, abs=0.1)
    if dew is not None:
        assert humidity.highest_humidity(face, air, 0) == pytest.approx(dew, abs=0.1)


@pytest.mark.parametrize(("fo", "theta"), values("slab_theta_centre").items())
def test_held_slab(fo, theta):
    """Series of a slab with its surface held (source: slab_series)."""
    assert conduction.theta_held(float(fo)) == pytest.approx(theta, abs=6e-5)


def test_held_slab_nine_tenths():
    """Fo 1.0311 for 90 % of the step."""
    assert conduction.fourier_held(0.1) == pytest.approx(values("slab_Fo_90pct"), abs=6e-5)


@pytest.mark.parametrize(("bi", "root", "constant"), values("biot_roots"))
def test_biot_roots(bi, root, constant):
    """First roots and constants (source: incropera)."""
    zeta = conduction.biot_root(bi)
    assert zeta == pytest.approx(root, abs=6e-5)
    assert conduction.biot_constant(zeta) == pytest.approx(constant, abs=6e-5)


@pytest.mark.parametrize("bi", [0.001, 0.03, 0.7, 4.0, 60.0, 5e3])
def test_biot_roots_against_a_root_finder(bi):
    """The first five roots by scipy, to 1e-10."""
    optimize = pytest.importorskip("scipy.optimize")
    for n in range(5):
        low = n * math.pi
        found = optimize.brentq(lambda z: z * math.sin(z) - bi * math.cos(z), low, low + math.pi / 2, xtol=1e-14)
        assert conduction.biot_root(bi, n) == pytest.approx(found, abs=1e-10)


def test_lecture_case():
    """Bi 0.5, Fo 1.2: centre 0.6412 and surface 0.5092 (source: slab_series)."""
    case = values("biot_case")
    assert conduction.theta_centre(case["fo"], case["bi"]) == pytest.approx(case["centre"], abs=6e-5)
    assert conduction.theta_surface(case["fo"], case["bi"]) == pytest.approx(case["surface"], abs=6e-5)


@pytest.mark.parametrize("bi", [0.05, 0.4, 3.0])
def test_slab_against_finite_differences(bi):
    """An implicit finite-difference slab of 200 cells comes to the same centre and surface within 0.003."""
    numpy = pytest.importorskip("numpy")
    linalg = pytest.importorskip("scipy.linalg")
    cells, steps, fo = 200, 2000, 0.8
    dx, dt = 1 / cells, fo / steps
    r = dt / dx**2
    banded = numpy.zeros((3, cells + 1))
    banded[1, :] = 1 + 2 * r
    banded[0, 1:] = -r
    banded[2, :-1] = -r
    banded[0, 1] = -2 * r
    banded[1, -1] = 1 + 2 * r + 2 * r * dx * bi
    banded[2, -2] = -2 * r
    theta = numpy.ones(cells + 1)
    for _ in range(steps):
        theta = linalg.solve_banded((1, 1), banded, theta)
    assert conduction.theta_centre(fo, bi) == pytest.approx(theta[0], abs=3e-3)
    assert conduction.theta_surface(fo, bi) == pytest.approx(theta[-1], abs=3e-3)


@pytest.mark.parametrize(("mm", "minutes"), values("t90_min_alpha0.1399_one_side_mm").items())
def test_warm_through_with_the_surface_held(mm, minutes):
    """Nine tenths of the way, one side held: Fo times thickness squared over diffusivity."""
    seconds = conduction.fourier_held(0.1) * (float(mm) / 1e3) ** 2 / SILICONE.diffusivity
    assert seconds / 60 == pytest.approx(minutes, abs=0.06)


@pytest.mark.parametrize("sides", ["one", "both"])
def test_warm_through_in_air(sides):
    """Nine tenths of the way through 10 W/m²K."""
    for mm, minutes in values(f"t90_min_air_h10_{sides}_side{'s' if sides == 'both' else ''}_mm").items():
        assert heat.warm_time(float(mm) / 1e3, SILICONE, 10, 0.9, sides) / 60 == pytest.approx(minutes, abs=0.06)


@pytest.mark.parametrize(("h", "one", "both"), values("t90_min_air_k0.20"))
def test_warm_through_by_surface_coefficient(h, one, both):
    """The table of still air, room, fan and water: to the minute as printed (water to 2 %)."""
    for sides, row in (("one", one), ("both", both)):
        for mm, minutes in zip((10, 15, 20), row, strict=True):
            assert heat.warm_time(mm / 1e3, SILICONE, h, 0.9, sides) / 60 == pytest.approx(minutes, abs=0.55, rel=0.02)


@pytest.mark.parametrize("sides", ["one", "both"])
@pytest.mark.parametrize("mm", [10, 15, 20])
def test_still_air_is_five_to_twenty_times_slower(mm, sides):
    """The held-surface formula in a warm cupboard is a bug: still air takes 5 to 20 times as long."""
    depth = mm / 1e3 / (2 if sides == "both" else 1)
    held = conduction.fourier_held(0.1) * depth**2 / SILICONE.diffusivity
    still = heat.warm_time(mm / 1e3, SILICONE, heat.MEDIA["still_air"].low, 0.9, sides)
    assert 5 < still / held < 20


def test_published_silicone_is_spanned():
    """The table of walls spans a factor of three in diffusivity, 0.11 to 0.35 mm²/s (source: en_12524)."""
    diffusivity = [stuff.diffusivity * 1e6 for stuff in heat.WALLS["silicone"]]
    assert min(diffusivity) == pytest.approx(0.11, abs=0.005)
    assert max(diffusivity) == pytest.approx(0.345, abs=0.005)


@pytest.mark.parametrize(
    ("wall", "material"),
    [
        ("silicone", "Sealant, silicone, pure"),
        ("silicone", "Sealant, silicone, filled"),
        ("plaster", "Plasters and renders, gypsum plastering, 1000 kg/m^3"),
        ("plaster", "Plasters and renders, gypsum plastering, 1300 kg/m^3"),
        ("plaster", "Gypsum, 1500 kg/m^3"),
        ("urethane_rubber", "Plastics, polyurethane (PU)"),
    ],
)
def test_wall_properties_against_a_library(wall, material):
    """Values of EN 12524 as the heat-transfer library carries them."""
    ht = pytest.importorskip("ht")
    row = (ht.k_material(material), ht.rho_material(material), ht.Cp_material(material))
    assert row in {(s.conductivity, s.density, s.heat) for s in heat.WALLS[wall]}


@pytest.mark.parametrize(("wall", "row"), values("contact_temperature_C").items())
def test_contact_temperatures(wall, row):
    """Contact of the mix at 25 °C with three walls at four temperatures, to 0.1 K."""
    for wall_c, contact in zip((10, 15, 20, 35), row, strict=True):
        assert heat.contact(25, wall_c, wall).mid == pytest.approx(contact, abs=0.1)


def test_contact_temperatures_in_order():
    """Silicone cools the first layer least, plaster more, metal most."""
    silicone, plaster, metal = (heat.contact(25, 10, wall).mid for wall in ("silicone", "plaster", "aluminium"))
    assert silicone > plaster > metal > 10


@pytest.mark.parametrize(("viscosity", "length", "radius", "flow", "drop"), values("poiseuille_Pa"))
def test_pipe_formula(viscosity, length, radius, flow, drop):
    """Pressure drop of a laminar flow (source: hagen_poiseuille)."""
    assert venting.pipe_drop(flow, 2 * radius, length, viscosity) == pytest.approx(drop, abs=0.06)


def test_pipe_formula_against_fluids():
    """The fluids library: laminar friction factor 64/Re and its pressure drop."""
    fluids = pytest.importorskip("fluids")
    flow, bore, length = 2e-7, 1e-3, 0.5
    re = venting.reynolds(flow, bore, 1000, 1e-3)
    speed = flow / (math.pi / 4 * bore**2)
    assert re == pytest.approx(fluids.Reynolds(V=speed, D=bore, rho=1000, mu=1e-3), rel=1e-12)
    drop = fluids.friction_factor(Re=re) * length / bore * 1000 * speed**2 / 2
    assert venting.pipe_drop(flow, bore, length, 1e-3) == pytest.approx(drop, rel=1e-9)


@pytest.mark.parametrize(("bore", "row"), values("vent_mL_s"))
def test_vents(bore, row):
    """A 10 mm vent: as computed with laminar friction, to rounding; above Reynolds 2300 at most 5 % less."""
    for pascals, ml in zip((100, 500, 1000), row, strict=True):
        vent = venting.vent_flow(pascals, bore / 1e3, 0.01)
        rounding = 0.051 if ml < 10 else 0.51
        if vent.reynolds <= venting.LAMINAR:
            assert vent.flow_m3_s * 1e6 == pytest.approx(ml, abs=rounding)
        else:
            assert 0.95 * ml - rounding < vent.flow_m3_s * 1e6 < ml + rounding


def test_turbulent_friction_against_fluids():
    """Above 2300 the friction factor is the smooth-pipe one that the fluids library gives, to 4 %."""
    fluids = pytest.importorskip("fluids")
    for re in (4000, 6000, 20_000):
        assert venting.friction(re) == pytest.approx(fluids.friction_factor(Re=re, eD=0), rel=0.04)


@pytest.mark.parametrize(("kpa", "percent"), values("pocket_percent_by_kPa").items())
def test_trapped_pocket(kpa, percent):
    """Boyle: at 10 kPa nine tenths of a pocket are still there."""
    assert 100 * venting.pocket_left(1e3 * float(kpa)) == pytest.approx(percent, abs=0.51)


def test_air_to_let_out():
    """1.5 L in 60 s is 25 mL/s."""
    assert venting.air_to_vent(1.5e-3, 60) * 1e6 == pytest.approx(values("air_to_vent_mL_s"), rel=1e-12)


@pytest.mark.parametrize(
    ("packing", "kept", "leaky"), [(1.2, 24.6, 5.7), (1.3, 37.5, 16.7), (1.45, 57.8, 33.9), (1.6, 79.2, 52.1)]
)
def test_pressure_in_a_closed_mold_by_hand(packing, kept, leaky):
    """Boyle by hand at 160 kg/m³: gas of 1/160 - 1/1100 m³ a kg pressed into 1/(160 x packing) - 1/1100; all of it, and 85 %."""
    assert venting.mold_pressure(packing, 160) / 1e3 == pytest.approx(kept, abs=0.06)
    assert venting.mold_pressure(packing, 160, 0.15) / 1e3 == pytest.approx(leaky, abs=0.06)


def test_pressure_in_a_closed_mold_by_units():
    """The same with the unit library's gas constant: moles that fill the free-risen foam at 25 °C, in the volume left."""
    pint = pytest.importorskip("pint")
    ureg = pint.UnitRegistry()
    free, solid = 1 / (160 * ureg("kg/m^3")), 1 / (1100 * ureg("kg/m^3"))
    heat_of = ureg.molar_gas_constant * (298.15 * ureg.kelvin)
    moles = (101_325 * ureg.pascal) * (free - solid) / heat_of
    pressure = moles * heat_of / (free / 1.45 - solid)
    assert venting.mold_pressure(1.45, 160) + 101_325 == pytest.approx(pressure.to("Pa").magnitude, rel=1e-9)
