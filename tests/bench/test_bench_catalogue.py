"""The registry of sums: every one runs, says itself in words, and refuses what it can't do."""

import inspect
import math
import subprocess
import sys
from pathlib import Path

import pint
import pytest

from diagnose.bench import catalogue, quantities
from diagnose.bench.quantities import BenchError

ROOT = Path(__file__).parents[2]
UREG = pint.UnitRegistry()
SPOKEN = {"", "1", "percent", "parts_a_per_100_b", "mgKOH/g"}
EXAMPLES = {
    "split": {"batch": 450, "ratio_target": 50},
    "ratio-error": {"a_mass": 142, "b_mass": 300, "ratio_target": 50},
    "volume-ratio": {"volume_ratio": 50, "density_a": 1200, "density_b": 1030},
    "density-of-ratio": {"ratio": 40, "ratio_1": 50, "density_1": 128.15, "ratio_2": 30, "density_2": 208.24},
    "index": {"a_mass": 50, "nco": 27, "b_mass": 100, "oh_number": 35, "water": 0.6},
    "water": {"water": 1},
    "charge": {"cavity_volume": 1900, "free_rise_density": 160, "packing": 1.3},
    "packing": {"cavity_volume": 1900, "free_rise_density": 160, "part_mass": 395},
    "overpack": {"charge_mass": 300, "least_charge": 264},
    "free-rise": {"foam_mass": 80, "cup_volume": 500},
    "clock": {"material_temperature": 18, "cream_time": 45, "sheet_demold_time": 45},
    "window": {"room_temperature": 20, "opens": 30, "closes": 180},
    "vent": {"cavity_volume": 1500, "fill_time": 60, "bore": 1.5},
    "back-pressure": {"flow": 5, "bore": 20, "length": 30},
    "pocket": {"pressure": 10},
    "travel": {"gap": 6},
    "warm-mold": {"wall_thickness": 15, "mold_temperature": 15, "around": 45, "target": 28},
    "bench-cooling": {"minutes": 10, "mold_temperature": 35, "room_temperature": 18, "wall_thickness": 15},
    "contact": {"material_temperature": 25, "mold_temperature": 10},
    "core": {
        "material_temperature": 25,
        "ratio_target": 50,
        "oh_number": 35,
        "water": 1.0,
        "thickness": 120,
        "time": 60,
        "foam_density": 200,
    },
    "dew-point": {"room_temperature": 25, "relative_humidity": 60, "mold_temperature": 15},
    "water-film": {"film": 10, "mold_area": 1000},
    "skin-grams": {"mold_area": 1450, "skin_thickness": 1.5},
    "skin-thickness": {"skin_mass": 228, "mold_area": 1450},
    "drain": {"height": 200, "time": 5},
    "cross-cut": {"lost": 12},
    "paint-wait": {"part_temperature": 15},
    "paint-conditions": {"paint_temperature": 18, "paint_humidity": 85, "surface_temperature": 17},
    "recoat": {"paint_temperature": 18, "opens": 30, "closes": 240},
    "purge": {"air_changes": 6},
    "dilution": {"rate": 1, "concentration": 0.05},
    "limits": {"substance": "MDI"},
}


def run(name, **values):
    return catalogue.by_name(name).run({**EXAMPLES[name], **values})


def test_every_sum_has_an_example_here():
    """Names are unique and none is left out."""
    assert sorted(EXAMPLES) == sorted(catalogue.names())
    assert len(catalogue.names()) == len(catalogue.SUMS)


@pytest.mark.parametrize("item", catalogue.SUMS, ids=lambda item: item.name)
def test_every_sum_runs(item):
    """A finite value within its ends, words, what it assumes and its source."""
    result = item.run(EXAMPLES[item.name])
    assert result.text
    assert result.lines
    assert result.assumes
    assert result.source
    numbers = [n for n in (result.low, result.value, result.high) if n is not None]
    assert all(math.isfinite(n) for n in numbers)
    assert numbers == sorted(numbers)
    assert "nan" not in result.text.split()
    assert not any(word in result.text for word in ("None", "Range(", "e-0", "e+0"))


@pytest.mark.parametrize("item", catalogue.SUMS, ids=lambda item: item.name)
def test_units_are_known(item):
    """Every input and result stands in a unit of the table, which the unit library knows too."""
    result = item.run(EXAMPLES[item.name])
    for unit in [each.unit for each in item.inputs] + [result.unit]:
        assert unit == "" or unit in quantities.UNITS
        if unit not in SPOKEN:
            UREG.parse_units({"um": "micrometer"}.get(unit, unit))


@pytest.mark.parametrize("item", catalogue.SUMS, ids=lambda item: item.name)
def test_inputs_are_well_formed(item):
    """A choice has no unit, a default is one of the choices or a number, an input is named once."""
    assert len({each.name for each in item.inputs}) == len(item.inputs)
    for each in item.inputs:
        assert bool(each.choices) != bool(each.unit)
        if each.default is not None:
            assert not each.required
            assert each.default in each.choices if each.choices else isinstance(each.default, float)


@pytest.mark.parametrize("item", catalogue.SUMS, ids=lambda item: item.name)
@pytest.mark.parametrize("bad", [math.nan, math.inf, -1e12, 1e12])
def test_no_sum_swallows_nonsense(item, bad):
    """Each number in turn made absurd: a refusal in one line that names a quantity, never a number."""
    for each in item.inputs:
        if each.choices:
            continue
        with pytest.raises(BenchError) as caught:
            item.run({**EXAMPLES[item.name], each.name: bad})
        assert "\n" not in str(caught.value)
        assert "expected" in str(caught.value)


@pytest.mark.parametrize("item", catalogue.SUMS, ids=lambda item: item.name)
def test_zero_is_done_or_refused_by_name(item):
    """Zero never divides: it is either a value (no water) or refused."""
    for each in item.inputs:
        if each.choices:
            continue
        outcome = attempt(item, {**EXAMPLES[item.name], each.name: 0.0})
        if isinstance(outcome, BenchError):
            assert "expected" in str(outcome)
        else:
            assert outcome.value is None or math.isfinite(outcome.value)


def attempt(item, values):
    """Return the result, or the refusal."""
    try:
        return item.run(values)
    except BenchError as error:
        return error


@pytest.mark.parametrize(
    ("name", "values", "line"),
    [
        ("split", {"batch": None}, "split needs batch: the whole batch in g"),
        ("split", {"batch": "a lot"}, "batch 'a lot': expected a number in g"),
        ("split", {"batch": True}, "batch 'True': expected a number in g"),
        ("split", {"ratoi": 50}, "split has no input 'ratoi': expected batch, ratio_target"),
        ("limits", {"substance": "HDI"}, "substance 'HDI': expected one of MDI, TDI"),
        ("limits", {"substance": None}, "limits needs substance: isocyanate (MDI, TDI)"),
        ("warm-mold", {"medium": "oven"}, "medium 'oven': expected one of still_air, fan, water"),
        (
            "packing",
            {"charge_mass": 400.0},
            "packing needs one of charge_mass and part_mass: expected grams poured or of the part",
        ),
    ],
)
def test_wrong_inputs_are_named(name, values, line):
    """Word for word."""
    with pytest.raises(BenchError) as caught:
        run(name, **values)
    assert str(caught.value) == line


def test_an_unknown_sum_is_named():
    """With the list of what there is."""
    with pytest.raises(BenchError, match=r"^no sum 'splat': expected one of split, ratio-error, "):
        catalogue.by_name("splat")


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("ratio-error", "142 g to 300 g is 47.3 per 100, 5.3 % under 50"),
        ("split", "450 g at 50 A to 100 B is 150 g of A and 300 g of B"),
        ("water", "1 g of water makes 1.36 L of gas and eats 17.3 g of A"),
        ("charge", "pour 395 g of foam; mix 416 g, for 5 % stays behind"),
        ("packing", "395 g in 1900 mL is packed 1.3 times free rise"),
        ("overpack", "300 g where 264 g just fills: overpack 113.6 %"),
        (
            "clock",
            "at 18 °C (64 °F) all takes 1.3 to 1.7 times as long as at 25 °C (77 °F); "
            "be finished pouring 39 s after A meets B; open the mold not before 77 min",
        ),
        ("pocket", "at 10 kPa a trapped pocket keeps 91 % of its volume: vent it or turn the mold"),
        (
            "dew-point",
            "air at 25 °C (77 °F) and 60 % has its dew point at 16.7 °C (62 °F); a face at 15 °C (59 °F) stands 1.7 K below it: it is wet",
        ),
        ("skin-thickness", "228 g on 1450 cm² is 1.5 mm in the mean"),
        (
            "cross-cut",
            "12 % lost is class 2 of 0 to 5 (ISO 2409, 0 is best), 3B on the other scale (ASTM D3359, 5B is best)",
        ),
    ],
)
def test_sums_in_words(name, text):
    """The sentence a caster reads."""
    assert run(name).text == text


@pytest.mark.parametrize(
    ("name", "value", "unit", "why"),
    [
        ("split", 150, "g", "450 / 3"),
        ("volume-ratio", 50 * 1200 / 1030, "parts_a_per_100_b", "densities"),
        ("index", 100 * (50 * 27 / 4201.7) / (100 * 35 / 56105 + 0.6 / 9.0075), "1", "groups by hand"),
        ("water", 8.314462618 * 298.15 / 101325 / 18.015 * 1e6 / 1e3, "L", "gas law"),
        ("charge", 1900 * 0.16 * 1.3 / 0.95, "g", "volume x density x packing / kept"),
        ("packing", 395 / 1900 / 0.16, "1", "definition"),
        ("overpack", 100 * 300 / 264, "percent", "definition"),
        ("free-rise", 160, "kg/m^3", "80 g in half a liter"),
        ("vent", 39.1, "mL/s", "the table of published checks"),
        ("pocket", 100 * 101.325 / 111.325, "percent", "Boyle"),
        ("travel", 90, "mm", "15 gaps"),
        ("water-film", 1, "g", "10 µm on a tenth of a m²"),
        ("skin-grams", 1450 * 0.15 * 1.05 / 0.9, "g", "area x thickness x density / kept"),
        ("skin-thickness", 10 * 228 / 1450 / 1.05, "mm", "grams over area and density"),
        ("cross-cut", 2, "1", "5 to 15 %"),
        ("purge", 3 * 60 * math.log(100) / 6, "min", "exponential"),
        ("dilution", 60, "m^3/min", "3 x 1 / 0.05"),
    ],
)
def test_values_come_out_in_their_unit(name, value, unit, why):
    """Worked by hand in bench units."""
    result = run(name)
    assert result.unit == unit
    assert result.value == pytest.approx(value, rel=2e-3 if name == "vent" else 1e-6), why


def test_ranges_come_out_in_their_unit():
    """The ends are in the same unit as the value."""
    back = run("back-pressure")
    assert back.low < 10 < back.high
    assert run("warm-mold").unit == "min"
    assert run("paint-wait").unit == "h"
    assert 31 < run("paint-wait").low < run("paint-wait").high < 44
    assert run("window").unit == "h"
    assert run("purge").low == pytest.approx(run("purge").value / 3)
    assert run("purge").high == pytest.approx(10 * run("purge").low)
    assert run("drain").value == pytest.approx(0.12, abs=0.001)


def test_vents_are_counted_up():
    """A fill three times as fast as one vent passes takes three or more."""
    assert "must leave: 1 at the least" in run("vent").text
    assert "must leave: 3 at the least" in run("vent", fill_time=15).text


def test_the_insert_is_not_foam():
    """100 g of armature in a 495 g part leaves 395 g."""
    assert run("packing", part_mass=495, insert_mass=100).text == run("packing").text
    assert run("packing", part_mass=495, insert_mass=100).value == pytest.approx(run("packing").value)
    assert run("packing", part_mass=495, insert_mass=100).lines == run("packing").lines


def test_defaults_are_what_the_sum_says_it_takes():
    """Stand-ins: 27 % NCO, no loss of armature or skin unless given."""
    assert run("water-film", nco=27.0) == run("water-film")
    assert run("water", nco=27.0, gas_temperature=25.0) == run("water")
    assert run("packing", insert_mass=0.0) == run("packing")
    assert run("charge", skin_mass=0.0, armature_volume=0.0, loss=5.0) == run("charge")
    assert run("ratio-error", scale_step=1.0, a_left=0.0, b_left=0.0) == run("ratio-error")
    assert run("purge", mixing=3.0, removed=99.0) == run("purge")


def test_sums_with_other_inputs():
    """What is optional changes what is said."""
    assert run("ratio-error", a_mass=150).text == "150 g to 300 g is 50 per 100, on 50"
    assert "too much A" in run("ratio-error", a_mass=160).lines[1]
    assert "Half of what may have stayed" in run("ratio-error", a_left=3).lines[-1]
    assert run("packing", part_mass=None, charge_mass=395).value == pytest.approx(1.30, abs=0.005)
    assert run("clock", cream_time=None, sheet_demold_time=None).lines == ("factor for any time on the sheet",)
    assert run("dew-point", mold_temperature=None).text.endswith("16.7 °C (62 °F)")
    assert run("dew-point", mold_temperature=18).text.endswith("too near, 3 K or more is asked")
    assert run("dew-point", mold_temperature=25).text.endswith("above it: dry")
    assert run("recoat", closes=None).text.endswith("after the last")
    assert run("skin-grams", per_coat=2).text.endswith("in one coat")
    assert (
        run("paint-conditions", paint_humidity=50, paint_temperature=22, surface_temperature=22).text
        == "fit for painting"
    )


def test_an_empty_window_gives_no_number():
    """Where no time is surely right the sum says so instead of naming one."""
    window = run("window", room_temperature=5, opens=30, closes=33)
    assert window.value is None
    assert "no time is surely inside the window" in window.text
    assert "no time is surely inside the window" in run("recoat", paint_temperature=5, closes=33).text


def test_health_sums_defer():
    """Limits, purge and dilution say the SDS and local rules decide; limits lead with the strict advice."""
    for name in ("limits", "purge", "dilution"):
        assert any("SDS and local rules" in line for line in run(name).assumes)
    text = run("limits").text
    assert text.index("supplied air") < text.index("air-purifying")
    assert "not a design target" in text


def test_no_shipped_sum_carries_a_material():
    """Density is never inferred from a ratio without points off a sheet: all four are required."""
    needed = [each for each in catalogue.by_name("density-of-ratio").inputs if each.required]
    assert len(needed) == 5


def test_every_sum_is_on_the_page():
    """The page of the sums has a heading for each, and no other."""
    page = (ROOT / "docs" / "bench.md").read_text(encoding="utf-8")
    headings = [line[5:-1] for line in page.splitlines() if line.startswith("### `")]
    assert headings == list(catalogue.names())


def test_every_formula_is_documented():
    """Each public function of a formula module has a docstring that names source or definition, and a return type."""
    from diagnose.bench import (
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

    for module in (
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
    ):
        for name, function in inspect.getmembers(module, inspect.isfunction):
            if name.startswith("_") or function.__module__ != module.__name__:
                continue
            assert function.__doc__, f"{module.__name__}.{name}"
            assert inspect.signature(function).return_annotation is not inspect.Signature.empty


def test_no_heavy_library_is_loaded():
    """The first question must not wait for numpy or scipy."""
    code = "import sys, diagnose.bench.catalogue; print(sorted({'numpy', 'scipy', 'pint'} & set(sys.modules)))"
    out = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert out.stdout.strip() == "[]"
