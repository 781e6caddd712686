"""The figures beside the one a sum is asked for: their ends, their units and the lines under them, worked by hand."""

import re

import pytest

from diagnose.bench import catalogue, venting
from diagnose.bench.calculation import Calculation, Input, Outcome, optional
from diagnose.bench.quantities import BenchError
from diagnose.knowledge import load_knowledge

PRACTICE = load_knowledge().practice


def run(name, **values):
    """A sum with the practice of the shop."""
    return catalogue.by_name(name).run(values, PRACTICE)


def test_water_in_the_air():
    """Air at 20 °C and 50 % holds half of 17.3 g/m³ (saturation, psychrometric tables, from memory), to half a percent."""
    (line,) = run("dew-point", room_temperature=20.0, relative_humidity=50.0).lines
    said = re.fullmatch(r"water in the air: ([0-9.]+) g/m³", line)
    assert said
    assert float(said[1]) == pytest.approx(17.3 / 2, rel=5e-3)


def test_a_mixing_factor_of_one_and_of_ten():
    """1 mg/min held at 0.05 mg/m³ takes 20 m³/min if mixed at once and 200 with dead corners (K G / C)."""
    air = run("dilution", rate=1.0, concentration=0.05).figures["air"]
    assert (air.low, air.high) == pytest.approx((20, 200))


def test_skin_to_mix_over_the_usual_thickness():
    """What stays in the mold is area x thickness x density; what is mixed is that over what is kept, at both ends of the usual thickness."""
    found = run("skin-grams", mold_area=1000.0, skin_density=1000.0, loss=20.0)
    usual = PRACTICE["skin_thickness"].of(None)
    assert found.figures["skin_mass"].value == pytest.approx(100 * usual.mid)
    mix = found.figures["skin_mix"]
    assert (mix.low, mix.value, mix.high) == pytest.approx([100 * t / 0.8 for t in (usual.low, usual.mid, usual.high)])


def test_foam_held_back_by_an_opening():
    """10 mL/s through 10 mm of a 10 mm hole: 128 mu L Q / (pi d^4) is 8, 61 and 489 Pa at 0.2, 1.5 and 12 Pa s, and 3.6 Pa more at the ends."""
    found = venting.back_pressure(1e-5, 0.01, 0.01)
    ends = 1.5 * 300 * (1e-5 / 7.853981633974483e-5) ** 2 / 2
    pipe = 128 * 0.01 * 1e-5 / (3.141592653589793 * 1e-8)
    assert (found.low, found.mid, found.high) == pytest.approx([ends + pipe * mu for mu in (0.2, 1.5, 12.0)])


def test_how_far_foam_climbs_a_gap():
    """A gap of 6.3 mm, ten to twenty gaps: 63 to 126 mm, told to two figures; plan on 94.5, read to five."""
    assert run("travel", narrowest_gap=6.3, narrow_gap=8.0).text == (
        "in a gap of 6.3 mm plan on 95 mm of travel (63 to 130 mm); beyond it fill the tip by hand"
    )


@pytest.mark.parametrize(("air", "vents"), [(1.0, 1), (2.0, 2), (2.3, 3), (3.05, 4)])
def test_so_many_vents_would_pass_the_air(air, vents):
    """Air to let out over what one vent passes, rounded up to whole vents: what 2.3 vents would pass takes three."""
    one = run("vent", cavity_volume=1000.0, fill_time=20.0, pressure=300.0, bore=3.0, length=10.0).figures["flow"].value
    found = run("vent", cavity_volume=air * one * 20.0, fill_time=20.0, pressure=300.0, bore=3.0, length=10.0)
    assert found.figures["air"].value == pytest.approx(air * one)
    assert f"as {vents} such vent{'s' * (vents > 1)} would pass it" in found.lines[0]


def test_the_step_of_a_scale_against_what_is_allowed():
    """A step of 1 g in 20 g is 5 %, too coarse beside the practice's share, which is told in percent."""
    found = run("scale", a_mass=20.0, b_mass=40.0, scale_step=1.0)
    assert found.text.endswith("in 20 g is 5 %")
    said = re.fullmatch(r"([0-9.]+) % is the most to allow: too coarse", found.lines[0])
    assert said
    assert float(said[1]) == pytest.approx(100 * PRACTICE["scale_fraction"].of(None).high)


def test_packing_of_a_part_leaves_its_insert_out():
    """A part of 300 g with 44 g of wire in 1 L at 0.16 g/mL is 256 g of foam: 1.6; the same 300 g poured are 1.88."""
    part = run("packing", cavity_volume=1000.0, free_rise_density=160.0, part_mass=300.0, insert_mass=44.0)
    assert part.figures["packing_of_part"].value == pytest.approx(1.6)
    assert part.text.startswith("256 g / (")
    poured = run("packing", cavity_volume=1000.0, free_rise_density=160.0, charge_mass=300.0, insert_mass=44.0)
    assert poured.figures["packing"].value == pytest.approx(1.875)


@pytest.mark.parametrize("item", catalogue.CALCULATIONS, ids=lambda item: item.name)
def test_nothing_but_a_temperature_is_below_zero(item):
    """No negative grams, times, shares or parts: half a unit under zero is refused by name in every input of every sum."""
    given = {each.name: 1.0 for each in item.inputs if each.required and not each.choices}
    given |= {each.name: each.choices[0] for each in item.inputs if each.required and each.choices}
    for each in item.inputs:
        if each.choices or each.unit == "degC":
            continue
        with pytest.raises(BenchError, match="expected"):
            item.run({**given, each.name: -0.5}, PRACTICE)


def test_what_is_asked_for_but_not_given_is_named():
    """A sum that looks at an input left out says which, in one line."""
    asking = Calculation(
        name="made-up",
        title="",
        group="mix",
        inputs=(optional("gel_time", "gel time", "s"),),
        formula=lambda g: Outcome(text=str(g.raw("gel_time"))),
        source="",
        assumes=(),
        example="",
    )
    with pytest.raises(BenchError, match=r"^gel_time not given: expected a number$"):
        asking.run({})
    assert asking.run({"gel_time": 30.0}).text == "30.0"


def test_given_is_neither_practice_nor_left_out():
    """An input counts as given only where somebody gave it: not where practice stands in for it, not where nothing does."""
    seen = {}

    def formula(g):
        seen.update({name: g.given(name) for name in ("packing", "gel_time", "loss")})
        return Outcome(text="")

    item = Calculation(
        name="made-up",
        title="",
        group="mix",
        inputs=(
            optional("packing", "packing factor", "1", practice="packing"),
            optional("gel_time", "gel time", "s"),
            Input(name="loss", title="", unit="percent"),
        ),
        formula=formula,
        source="",
        assumes=(),
        example="",
    )
    item.run({"loss": 5.0}, PRACTICE)
    assert seen == {"packing": False, "gel_time": False, "loss": True}
    item.run({"loss": 5.0, "packing": 1.2, "gel_time": 40.0}, PRACTICE)
    assert seen == {"packing": True, "gel_time": True, "loss": True}
