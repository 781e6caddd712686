"""Mix, stoichiometry, charge and clock: behaviour, refusals word for word, and what must hold for any numbers."""

import math

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.bench import cure_times, mix, packing, stoich
from diagnose.bench.quantities import BenchError, Range

UREG = pint.UnitRegistry()
MASS = st.floats(0.001, 50)
PARTS = st.floats(1, 1000)
TEN, ONE = Range(1.44, 1.8, 2.15), Range(1, 1, 1)
POINTS = [(50.0, 128.0), (30.0, 208.0), (40.0, 165.0)]


def refused(call, *args, **kwargs):
    """Return the message with which a call is refused."""
    with pytest.raises(BenchError) as caught:
        call(*args, **kwargs)
    return str(caught.value)


@given(MASS, PARTS)
def test_a_split_adds_up_and_has_its_ratio(batch, parts):
    """A and B make the batch, at the ratio asked; A from B is the same A."""
    got = mix.split(batch, parts)
    assert got.a_kg + got.b_kg == pytest.approx(batch, rel=1e-14)
    assert 100 * got.a_kg / got.b_kg == pytest.approx(parts, rel=1e-12)
    if got.b_kg > 1e-5:
        assert mix.a_for_b(got.b_kg, parts) == pytest.approx(got.a_kg, rel=1e-12)


def test_the_ratio_of_a_real_pour():
    """142 g to 300 g is 47.3 per 100, 5.3 % short of 50."""
    assert mix.ratio(0.142, 0.300) == pytest.approx(47.3333, abs=1e-4)
    assert mix.ratio_error(0.142, 0.300, 50, 0.001).percent == pytest.approx(-5.3333, abs=1e-4)


@given(MASS, MASS, PARTS)
def test_a_mix_at_its_own_ratio_is_not_off(a, b, target):
    """The ratio mixed, taken for the target, is 0 % off, and the bar lies around what is told."""
    own = mix.ratio(a, b)
    if 1 <= own <= 1000:
        assert mix.ratio_error(a, b, own, 1e-4).percent == pytest.approx(0, abs=1e-9)
    got = mix.ratio_error(a, b, target, 1e-4)
    assert got.low < got.percent < got.high


@given(MASS, MASS, PARTS, st.floats(1e-5, 4e-4), st.floats(1.01, 1.2))
def test_a_coarser_scale_makes_a_wider_bar(a, b, target, step, more):
    """Monotone in the step, and smaller masses are known worse."""
    fine, coarse = (mix.ratio_error(a, b, target, s).standard_error for s in (step, step * more))
    assert coarse > fine
    assert mix.ratio_error(2 * a, 2 * b, target, step).standard_error < fine


def test_a_small_batch_on_a_kitchen_scale():
    """17 g of A on a 1 g scale: the scale alone can make over 5 %, and one standard error is 2.7 %."""
    got = mix.ratio_error(0.017, 0.034, 50, 0.001)
    assert got.percent == 0
    assert got.standard_error == pytest.approx(2.685, abs=0.001)
    assert got.low < -5
    assert got.high > 5
    assert mix.scale_fraction(0.017, 0.034, 0.001) == pytest.approx(1 / 17)


def test_what_stays_in_a_cup_shifts_and_widens():
    """3 g that may have clung of 30 g of A: half is taken off, and the low end takes all."""
    got = mix.ratio_error(0.030, 0.060, 50, 1e-4, a_left_kg=0.003)
    assert got.percent == pytest.approx(-5)
    assert got.low < -10
    assert got.standard_error > mix.ratio_error(0.030, 0.060, 50, 1e-4).standard_error


def test_the_standard_error_is_what_rounding_does():
    """A thousand weighings with rounded readings and tares scatter as the formula says."""
    import random

    rng = random.Random(4)
    step, a, b = 1.0, 40.0, 80.0
    errors = []
    for _ in range(4000):
        off_a, off_b = (rng.uniform(-0.5, 0.5) - rng.uniform(-0.5, 0.5) for _ in range(2))
        errors.append(100 * ((a + step * off_a) / (b + step * off_b) * 2 - 1))
    mean = sum(errors) / len(errors)
    spread = math.sqrt(sum((e - mean) ** 2 for e in errors) / len(errors))
    assert mix.ratio_error(0.040, 0.080, 50, 0.001).standard_error == pytest.approx(spread, rel=0.05)


@pytest.mark.parametrize(
    ("call", "line"),
    [
        (lambda: mix.ratio(0, 0.3), "mass of A 0 g: expected 0.01 g to 100000 g"),
        (lambda: mix.ratio(0.1, 0), "mass of B 0 g: expected 0.01 g to 100000 g"),
        (lambda: mix.ratio(-0.1, 0.3), "mass of A -100 g: expected 0.01 g to 100000 g"),
        (lambda: mix.ratio(142, 300), "mass of A 142000 g: expected 0.01 g to 100000 g"),
        (
            lambda: mix.ratio_error(0.1, 0.2, 0, 0.001),
            "target ratio 0 parts per 100: expected 1 parts per 100 to 1000 parts per 100",
        ),
        (lambda: mix.split(0, 50), "batch 0 g: expected 0.01 g to 100000 g"),
        (lambda: mix.ratio_error(0.01, 0.02, 50, 0.01), "scale step 10 g: expected 0.001 g to 5 g"),
        (
            lambda: mix.ratio_error(0.1, 0.2, 50, 0.001, b_left_kg=0.15),
            "B left in the cup 150 g: expected 0 g to 99.301 g",
        ),
        (
            lambda: mix.ratio_error(0.1, 0.2, 50, 0.001, a_left_kg=0.09),
            "A left in the cup 90 g: expected 0 g to 49.401 g",
        ),
        (
            lambda: mix.density_at_ratio(58, POINTS),
            "mix ratio 58 parts per 100: expected 30 parts per 100 to 50 parts per 100",
        ),
        (
            lambda: mix.density_at_ratio(40, POINTS[:1]),
            "ratio and density points 1: expected 2 or more, from the sheet",
        ),
        (
            lambda: mix.density_at_ratio(40, [(30, 200), (40, 100), (50, 150)]),
            "density 100 then 150 kg/m³: expected all rising or all falling",
        ),
        (
            lambda: mix.density_at_ratio(40, [(30, 200), (30, 100)]),
            "ratio 30 twice: expected one density for each ratio",
        ),
        (lambda: mix.weight_ratio(50, 1.2, 1030), "density of A 1.2 kg/m³: expected 500 kg/m³ to 3000 kg/m³"),
    ],
)
def test_bad_mix_input_is_refused_in_one_line(call, line):
    """Word for word."""
    assert refused(call) == line


@given(PARTS, st.floats(800, 1500), st.floats(800, 1500))
def test_volume_and_weight_ratio_go_there_and_back(parts, a, b):
    """Round trip."""
    by_weight = parts * a / b
    if 1 <= by_weight <= 1000:
        assert mix.volume_ratio(mix.weight_ratio(parts, a, b), a, b) == pytest.approx(parts, rel=1e-12)


def test_a_volume_ratio_weighed():
    """1 to 2 by volume at 1.20 and 1.03 g/mL is 58 to 100 by weight."""
    assert mix.weight_ratio(50, 1200, 1030) == pytest.approx(58.25, abs=0.01)


@given(st.floats(30, 50))
def test_a_density_lies_between_its_neighbours(parts):
    """The range holds its middle and stays between the points off the sheet."""
    span = mix.density_at_ratio(parts, POINTS)
    assert 128 - 1e-9 <= span.low <= span.mid <= span.high <= 208 + 1e-9


@given(st.floats(30, 49), st.floats(0.01, 1))
def test_density_falls_with_the_ratio_here(parts, more):
    """Monotone between the points of this sheet."""
    one, two = (mix.density_at_ratio(p, POINTS) for p in (parts, parts + more))
    assert two.mid < one.mid
    assert two.low < one.low
    assert two.high < one.high


@given(st.floats(0.01, 10), st.floats(5, 500), st.floats(5, 45), st.floats(0, 0.02))
def test_as_many_groups_as_take_them_is_index_100(polyol, oh, nco, share):
    """Equivalents of A for the active groups of B, its water among them."""
    iso = stoich.iso_equivalent_weight(nco) * stoich.active_hydrogen(polyol, oh, share * polyol)
    if 1e-5 < iso < 100:
        assert stoich.isocyanate_index(iso, nco, polyol, oh, share * polyol) == pytest.approx(100, rel=1e-12)


@given(st.floats(0.001, 0.05), st.floats(0.0001, 0.01))
def test_water_lowers_the_index(water, more):
    """More water, lower index, larger share of the A."""
    before, after = (stoich.isocyanate_index(0.5, 27, 1, 35, w) for w in (water, water + more))
    assert after < before
    assert stoich.water_share(1, 35, water + more) > stoich.water_share(1, 35, water)


def test_equivalents_have_their_dimension():
    """Mass over amount, by the unit library."""
    nco = (42.017 * UREG.gram / UREG.mol) / 0.27
    assert stoich.iso_equivalent_weight(27) == pytest.approx(nco.to("kg/mol").magnitude, rel=1e-9)


@given(st.floats(1e-5, 1), st.floats(50, 600), st.floats(1, 3), st.floats(0, 0.5))
def test_a_charge_is_packed_as_asked(volume, density, factor, loss):
    """Packing of the pour is the factor; the loss is the share of the mix that was not poured."""
    if volume * density * factor > 99:
        return
    got = packing.charge(volume, density, factor, loss)
    assert got.mix_kg >= got.pour_kg
    assert got.mix_kg * (1 - loss) == pytest.approx(got.pour_kg, rel=1e-12)
    if got.pour_kg > 1e-5:
        assert packing.packing(got.pour_kg, volume, density) == pytest.approx(factor, rel=1e-12)


def test_a_charge_has_its_dimension():
    """Volume times density is a mass, by the unit library in shop units."""
    mass = (1900 * UREG.milliliter) * (9.988 * UREG.pound / UREG.foot**3) * 1.3
    ours = packing.charge(1.9e-3, 9.988 * packing.LB_PER_FT3, 1.3, 0)
    assert ours.pour_kg == pytest.approx(mass.to("kg").magnitude, rel=1e-9)


def test_skin_and_armature_take_room():
    """228 g of skin is 217 mL less foam."""
    assert packing.foam_volume(1.9e-3, 0.228) == pytest.approx(1.9e-3 - 0.228 / 1050)
    assert packing.foam_volume(1.9e-3, 0, 1e-4) == pytest.approx(1.8e-3)


def test_packing_of_a_part():
    """395 g in 1900 mL at 160 kg/m³ is 1.30; the armature is not foam."""
    assert packing.packing_of_part(0.395, 1.9e-3, 160) == pytest.approx(1.30, abs=0.005)
    assert packing.packing_of_part(0.495, 1.9e-3, 160, 0.1) == pytest.approx(packing.packing(0.395, 1.9e-3, 160))


@pytest.mark.parametrize(
    ("call", "line"),
    [
        (lambda: packing.charge(0, 160, 1.3, 0), "cavity volume 0 mL: expected 1 mL to 1000000 mL"),
        (lambda: packing.charge(1e-3, 0, 1.3, 0), "free-rise density 0 kg/m³: expected 20 kg/m³ to 1200 kg/m³"),
        (lambda: packing.charge(1e-3, 160, 0.9, 0), "packing factor 0.9: expected 1 to 3"),
        (lambda: packing.charge(1e-3, 160, 1.3, 5), "loss in bucket and cups 500 %: expected 0 % to 50 %"),
        (
            lambda: packing.foam_volume(1e-3, 1.0),
            "volume left for foam 47.619 mL of 1000 mL: expected a tenth or more once skin coat and armature are taken off",
        ),
        (
            lambda: packing.packing_of_part(0.1, 1e-3, 160, 0.2),
            "armature and skin in the part 200 g: expected 0 g to 99.9 g",
        ),
        (lambda: packing.free_rise_density(0.5, 1e-4), "free-rise density 5000 kg/m³: expected 20 kg/m³ to 1200 kg/m³"),
        (
            lambda: stoich.polyol_equivalent_weight(0),
            "hydroxyl number of B 0 mg KOH/g: expected 1 mg KOH/g to 2000 mg KOH/g",
        ),
        (lambda: stoich.iso_equivalent_weight(80), "NCO of A 80 %: expected 1 % to 50 %"),
        (lambda: cure_times.time_factor(80, 25, TEN), "temperature 80 °C: expected 0 °C to 60 °C"),
        (lambda: cure_times.time_factor(20, 77, TEN), "reference temperature 77 °C: expected 0 °C to 60 °C"),
        (lambda: cure_times.time_factor(20, 25, Range(0.5, 1, 2)), "factor for each 10 K 0.5: expected 1 to 4"),
        (lambda: cure_times.time_at(0, ONE), "time on the sheet 0 s: expected 1 s to 2592000 s"),
        (
            lambda: cure_times.window_at(Range(9, 9, 9), Range(3, 3, 3), ONE),
            "closing of the window 3 s: expected 9 s to 2592000 s",
        ),
    ],
)
def test_bad_charge_or_clock_input_is_refused_in_one_line(call, line):
    """Word for word."""
    assert refused(call) == line


@given(st.floats(0, 59), st.floats(0.05, 1), st.floats(0, 60))
def test_colder_takes_longer(t_c, warmer, reference):
    """All three ends fall as it gets warmer."""
    cold, warm = (cure_times.time_factor(t, reference, TEN) for t in (t_c, t_c + warmer))
    assert warm.low < cold.low
    assert warm.mid < cold.mid
    assert warm.high < cold.high


@given(st.floats(0, 60), st.floats(0, 60))
def test_there_and_back_is_one(t_c, reference):
    """The factor from one temperature to another is one over the factor back."""
    span, back = cure_times.time_factor(t_c, reference, TEN), cure_times.time_factor(reference, t_c, TEN)
    assert span.mid * back.mid == pytest.approx(1, rel=1e-12)
    assert span.low * back.high == pytest.approx(1, rel=1e-12)


def test_ten_degrees_are_the_factor():
    """Exactly, both ways, and none at the reference."""
    assert cure_times.time_factor(15, 25, TEN) == TEN
    assert cure_times.time_factor(35, 25, TEN).mid == pytest.approx(1 / TEN.mid)
    assert cure_times.time_factor(25, 25, TEN) == ONE


def test_a_window_that_is_never_sure_shows_it():
    """Narrow on the sheet and cold today: the safe span is empty and says so by its order."""
    window = cure_times.window_at(Range(60, 60, 60), Range(70, 70, 70), cure_times.time_factor(5, 25, TEN))
    assert window.safe_from > window.safe_to


def test_a_thick_section_wants_more():
    """75 mm is 25 over 50: five minutes more at two for each 10 mm; a thin one wants none."""
    rate = 120 / 0.010
    assert cure_times.thick_demold(2700, 0.075, 0.050, rate) == pytest.approx(2700 + 300)
    assert cure_times.thick_demold(2700, 0.030, 0.050, rate) == 2700
