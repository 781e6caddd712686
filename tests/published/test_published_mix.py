"""The mix, the charge and the clock against published values, unit definitions and the trade's check values."""

import json
import math
from pathlib import Path

import pint
import pytest

from diagnose.bench import cure_times, mix, packing, skin, stoich
from diagnose.bench.quantities import Range
from diagnose.knowledge import load_knowledge

VALUES = json.loads(Path(__file__).with_name("values.json").read_text(encoding="utf-8"))
UREG = pint.UnitRegistry()


def values(name):
    return VALUES[name]["values"]


@pytest.fixture(scope="module")
def per_10_k():
    """The factor for each 10 K that the trade's practice holds."""
    span = load_knowledge().practice["slower_per_10_k"].of(None)
    return Range(span.low, span.mid, span.high)


def test_every_value_names_its_source():
    """A value without a source beside it is no check."""
    for name, entry in VALUES.items():
        assert entry["source"], name
        assert entry["status"], name


@pytest.mark.parametrize(("nco", "grams"), values("eq_weight_iso"))
def test_equivalent_weight_of_a(nco, grams):
    """4200 over percent NCO (source: nco_equivalents), to 0.2 %."""
    assert stoich.iso_equivalent_weight(nco) * 1e3 == pytest.approx(grams, rel=2e-3)


@pytest.mark.parametrize(("oh", "grams"), values("eq_weight_polyol"))
def test_equivalent_weight_of_b(oh, grams):
    """56 100 over the hydroxyl number (source: nco_equivalents), to 0.2 %."""
    assert stoich.polyol_equivalent_weight(oh) * 1e3 == pytest.approx(grams, rel=2e-3)


def test_equivalent_weights_of_pure_compounds():
    """MDI, TDI and glycol have equivalent weights that follow from molar masses alone."""
    for nco, grams in values("pure_compounds")["iso"]:
        assert stoich.iso_equivalent_weight(nco) * 1e3 == pytest.approx(grams, rel=2e-3)
    for oh, grams in values("pure_compounds")["polyol"]:
        assert stoich.polyol_equivalent_weight(oh) * 1e3 == pytest.approx(grams, rel=2e-3)


@pytest.mark.parametrize("row", values("iso_grams_per_100g_polyol"))
def test_isocyanate_for_an_index(row):
    """The grams that equivalents ask for, water included, have that index (source: nco_equivalents), to 0.2 %."""
    index = stoich.isocyanate_index(row["g"] / 1e3, row["nco"], 0.1, row["oh"], row["water"] / 1e3)
    assert index == pytest.approx(row["index"], rel=2e-3)


def test_published_worked_example():
    """A machine maker's example: the grams that it prints, and the exact ones, have its index within 0.2 % and 0.02 %."""
    row = values("tdi_published")
    for grams, within in ((row["printed"], 2e-3), (row["exact"], 2e-4)):
        index = stoich.isocyanate_index(
            grams / 1e3, 100 * 42.017 / 87.08, 0.1, row["oh"], row["water"] / 1e3, row["acid"]
        )
        assert index == pytest.approx(100 * row["index"], rel=within)


@pytest.mark.parametrize(("over", "index"), values("index_after_polyol_over_pct"))
def test_index_after_too_much_b(over, index):
    """100/(1 + x/100): B over by a share of itself, dry."""
    right = 26.2 / 99.94  # the ratio of an index near 100 at 16 % NCO and OH number 56
    base = stoich.isocyanate_index(right, 16, 1.0, 56)
    assert 100 * stoich.isocyanate_index(right, 16, 1 + over / 100, 56) / base == pytest.approx(index, abs=5e-3)


@pytest.mark.parametrize(("grams", "index"), values("index_after_water_g_in_100g_oh56"))
def test_index_after_water(grams, index):
    """Water in 100 g of polyol of OH number 56 with the isocyanate not changed, to 0.2 %."""
    iso = stoich.iso_equivalent_weight(27) * stoich.active_hydrogen(0.1, 56)
    assert stoich.isocyanate_index(iso, 27, 0.1, 56, grams / 1e3) == pytest.approx(index, rel=2e-3)


@pytest.mark.parametrize(("t_c", "liters"), values("co2_L_per_g_water").items())
def test_gas_from_water(t_c, liters):
    """Ideal gas, one CO2 a water, to 0.2 %."""
    assert stoich.gas_from_water(1e-3, float(t_c)) * 1e3 == pytest.approx(liters, rel=2e-3)


def test_gas_from_water_by_units():
    """The same with the unit library's own gas constant and units."""
    moles = (1 * UREG.gram) / (18.015 * UREG.gram / UREG.mol)
    volume = (moles * UREG.molar_gas_constant * (298.15 * UREG.kelvin) / (101325 * UREG.pascal)).to("m^3")
    assert stoich.gas_from_water(1e-3, 25) == pytest.approx(volume.magnitude, rel=1e-6)


@pytest.mark.parametrize(("nco", "grams"), values("iso_eaten_g_per_g_water"))
def test_isocyanate_eaten_by_water(nco, grams):
    """Two NCO a water (source: nco_equivalents)."""
    assert stoich.iso_eaten_by_water(1e-3, nco) * 1e3 == pytest.approx(grams, abs=0.06)


def test_density_unit_is_exact():
    """One lb/ft³ by definition and by the unit library."""
    assert values("lb_ft3_to_kg_m3") == pytest.approx(packing.LB_PER_FT3, rel=1e-15)
    assert (1 * UREG.pound / UREG.foot**3).to("kg/m^3").magnitude == pytest.approx(packing.LB_PER_FT3, rel=1e-12)
    for pounds, kilos in values("lb_ft3_table"):
        assert pounds * packing.LB_PER_FT3 == pytest.approx(kilos, abs=5e-3)


def test_overpack_is_not_the_packing_factor():
    """Free rise 160, least fill 176, molded 200: 113.6 % and 1.25 (source: packing_definitions_patent)."""
    row = values("overpack_and_packing")
    volume = 1e-3
    assert packing.overpack_percent(row["molded"] * volume, row["least"] * volume) == pytest.approx(
        row["overpack_percent"], abs=0.05
    )
    assert packing.packing(row["molded"] * volume, volume, row["free_rise"]) == pytest.approx(
        row["packing_factor"], rel=1e-12
    )
    assert packing.charge(1.5e-3, 240, 1, 0).pour_kg * 1e3 == pytest.approx(row["charge_1500mL_240_g"], rel=1e-12)


@pytest.mark.parametrize("t_c", ["15", "20", "30"])
@pytest.mark.parametrize("by", ["E35.14", "E50", "doubling"])
def test_the_clock_spans_published_gel_times(t_c, by, per_10_k):
    """Arrhenius with the published gelling energy and with 50 kJ/mol, and the doubling rule: all lie in the range of one factor."""
    span = cure_times.time_factor(float(t_c), 25, per_10_k)
    assert span.low - 1e-3 <= values("gel_ratio_vs_25C")[by][t_c] <= span.high + 1e-3


def test_the_clock_spans_published_energies(per_10_k):
    """From 20 to 30 °C each published energy gives a ratio inside the range, and the two ends are those of the outermost."""
    ratios = values("ten_degree_ratio_20_to_30")
    assert per_10_k.low == pytest.approx(ratios["27.04"], abs=0.01)
    assert per_10_k.high == pytest.approx(ratios["55"], abs=0.05)
    assert ratios["35.14"] < per_10_k.mid < ratios["50"]
    assert cure_times.time_factor(20, 30, per_10_k) == per_10_k


def test_one_factor_is_arrhenius_to_a_few_percent():
    """Over 10 to 40 °C a factor per 10 K taken at 25 °C is within 5 % of Arrhenius with 45 kJ/mol."""
    energy = 45_000 / 8.314462618

    def arrhenius(t_c):
        return math.exp(energy * (1 / (t_c + 273.15) - 1 / 298.15))

    step = arrhenius(20) / arrhenius(30)
    for t_c in range(10, 41, 5):
        span = cure_times.time_factor(t_c, 25, Range(step, step, step))
        assert span.mid == pytest.approx(arrhenius(t_c), rel=0.05)


def test_trade_density_points_are_met_at_their_ends():
    """50 to 100 makes 8 lb/ft³ and 30 to 100 makes 13: between them anything between, outside refused."""
    points = [(parts, pounds * packing.LB_PER_FT3) for parts, pounds in values("trade_checks")["ratio_density_lb_ft3"]]
    for parts, density in points:
        span = mix.density_at_ratio(parts, points)
        assert span.low == pytest.approx(density)
        assert span.high == pytest.approx(density)
    between = mix.density_at_ratio(40, points)
    assert points[0][1] < between.low < between.mid < between.high < points[1][1]
    with pytest.raises(ValueError, match="expected 30 parts per 100 to 50 parts per 100"):
        mix.density_at_ratio(58, points)


def test_trade_mass_of_a():
    """500 g of B at 50 to 100 takes 250 g of A."""
    assert mix.a_for_b(0.5, 50) * 1e3 == values("trade_checks")["b_500g_at_50_takes_a_g"]


def test_trade_skin_of_a_head():
    """200 to 300 g covers a head: on 1300 to 1500 cm² that is a skin of 1 to 2.2 mm, not 0.1 and not 10."""
    for grams in values("trade_checks")["head_skin_g"]:
        for area in (1300, 1500):
            assert 1.0 < 1e3 * skin.skin_mean(grams / 1e3, area / 1e4, 1050) < 2.3


def test_trade_times_stretch_in_a_cold_shop(per_10_k):
    """A 30 min demold at 25 °C is past 40 min at 15 °C by the most hopeful figure and under 70 by the worst."""
    cold = cure_times.time_factor(15, 25, per_10_k)
    span = cure_times.time_at(60 * values("trade_checks")["fast_foam_demold_min"], cold)
    assert 40 < span.low / 60 < span.high / 60 < 70
    low, high = ((f - 32) / 1.8 for f in values("trade_checks")["foam_suits_F"])
    assert cure_times.time_factor(low, high, per_10_k).high < 1.25


def test_trade_skin_works_longer_than_nothing_in_a_hot_shop(per_10_k):
    """A fast skin works 5 min and demolds in 1 h: the ratio of the two stays at any temperature."""
    fast = values("trade_checks")["fast_skin"]
    opens, closes = (Range(t, t, t) for t in (60 * fast["work_min"], 60 * fast["demold_min"]))
    window = cure_times.window_at(opens, closes, cure_times.time_factor(33, 25, per_10_k))
    assert window.closes.mid / window.opens.mid == pytest.approx(fast["demold_min"] / fast["work_min"])
    assert window.safe_to < 3600
