"""The registry of sums: every one runs, says itself in words, and refuses what it can't do."""

import importlib
import inspect
import math
import pkgutil
import subprocess
import sys
from pathlib import Path

import pint
import pytest

import diagnose.bench
from diagnose.bench import catalogue, quantities
from diagnose.bench.calculation import GROUPS
from diagnose.bench.quantities import BenchError
from diagnose.knowledge import load_knowledge
from diagnose.units import parse_quantity

ROOT = Path(__file__).parents[2]
UREG = pint.UnitRegistry()
SPOKEN = {"", "1", "percent", "parts_a_per_100_b", "mgKOH/g"}
PRACTICE = load_knowledge().practice


def example(item):
    """The example of a sum as values: plain arguments to what is required and then the rest, options by name."""
    required = [each.name for each in item.inputs if each.required]
    order = [*required, *(each.name for each in item.inputs if not each.required)]
    words, values = item.example.split(), {}
    while "--" in " ".join(words):
        at = next(i for i, word in enumerate(words) if word.startswith("--"))
        values[words[at][2:].replace("-", "_")] = words[at + 1]
        del words[at : at + 2]
    values.update(zip((name for name in order if name not in values), words, strict=False))
    return {name: read(next(each for each in item.inputs if each.name == name), text) for name, text in values.items()}


def read(given, text):
    """A value in the unit of its input."""
    if given.choices:
        return text
    try:
        return parse_quantity(text, given.unit).value
    except KeyError:
        return float(text)


def run(name, **values):
    item = catalogue.by_name(name)
    return item.run({**example(item), **values}, PRACTICE)


def test_sums_are_listed_once_in_the_groups_of_a_job():
    """Names are unique, each in a group that there is, group after group."""
    assert len(catalogue.names()) == len(catalogue.CALCULATIONS)
    groups = [item.group for item in catalogue.CALCULATIONS]
    assert list(dict.fromkeys(groups)) == list(GROUPS)
    assert groups == sorted(groups, key=list(GROUPS).index)


@pytest.mark.parametrize("item", catalogue.CALCULATIONS, ids=lambda item: item.name)
def test_every_sum_runs(item):
    """A finite value within its ends, words, what it assumes and its source."""
    result = item.run(example(item), PRACTICE)
    assert result.text
    assert result.lines
    assert result.assumes
    assert result.source
    numbers = [n for n in (result.low, result.value, result.high) if n is not None]
    assert all(math.isfinite(n) for n in numbers)
    assert numbers == sorted(numbers)
    assert "nan" not in result.text.split()
    assert not any(word in result.text for word in ("None", "Range(", "e-0", "e+0"))


@pytest.mark.parametrize("item", catalogue.CALCULATIONS, ids=lambda item: item.name)
def test_units_are_known(item):
    """Every input and result stands in a unit of the table, which the unit library knows too."""
    result = item.run(example(item), PRACTICE)
    figures = [figure.unit for figure in result.figures.values()]
    for unit in [each.unit for each in item.inputs] + [result.unit, *figures]:
        assert unit == "" or unit in quantities.UNITS
        if unit not in SPOKEN:
            UREG.parse_units({"um": "micrometer"}.get(unit, unit))


@pytest.mark.parametrize("item", catalogue.CALCULATIONS, ids=lambda item: item.name)
def test_inputs_are_well_formed(item):
    """A choice has no unit, a default is one of the choices or a number, an input is named once."""
    assert len({each.name for each in item.inputs}) == len(item.inputs)
    for each in item.inputs:
        assert bool(each.choices) != bool(each.unit)
        assert not (each.required and (each.default is not None or each.practice))
        assert each.default is None or not each.practice
        if each.default is not None:
            assert each.default in each.choices if each.choices else isinstance(each.default, float)


@pytest.mark.parametrize("item", catalogue.CALCULATIONS, ids=lambda item: item.name)
def test_practice_numbers_are_there_in_the_unit_of_the_input(item):
    """A number that stands in for one not given is in the knowledge, and in that unit."""
    for each in item.inputs:
        if each.practice:
            assert PRACTICE[each.practice].unit == each.unit, each.name


def test_every_practice_number_is_used():
    """By a sum, as a bound of a fact, on the sheet for the next pour, or as what a remedy brings a fact to."""
    used = {each.practice for item in catalogue.CALCULATIONS for each in item.inputs}
    on_sheet = {"liquids", "mold_face", "vent_bore", "pigment_percent", "stick_batch", "two_cups_cream"}
    changed = {number for remedy in load_knowledge().remedies.values() for number in remedy.sets.values()}
    assert (
        set(PRACTICE) == (used - {""}) | {name for name, entry in PRACTICE.items() if entry.bounds} | on_sheet | changed
    )


@pytest.mark.parametrize("item", catalogue.CALCULATIONS, ids=lambda item: item.name)
@pytest.mark.parametrize("bad", [math.nan, math.inf, -1e12, 1e12])
def test_no_sum_swallows_nonsense(item, bad):
    """Each number in turn made absurd: a refusal in one line that names a quantity, never a number."""
    for each in item.inputs:
        if each.choices:
            continue
        with pytest.raises(BenchError) as caught:
            item.run({**example(item), each.name: bad}, PRACTICE)
        assert "\n" not in str(caught.value)
        assert "expected" in str(caught.value)


@pytest.mark.parametrize("item", catalogue.CALCULATIONS, ids=lambda item: item.name)
def test_zero_is_done_or_refused_by_name(item):
    """Zero never divides: it is either a value (no water) or refused."""
    for each in item.inputs:
        if each.choices:
            continue
        outcome = attempt(item, {**example(item), each.name: 0.0})
        if isinstance(outcome, BenchError):
            assert "expected" in str(outcome)
        else:
            assert outcome.value is None or math.isfinite(outcome.value)


def attempt(item, values):
    """Return the result, or the refusal."""
    try:
        return item.run(values, PRACTICE)
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
            {"part_mass": 400.0},
            "packing needs the grams poured or those of the part: expected one of the two",
        ),
        (
            "window",
            {"sheet_skin_gel": None},
            "window needs the gel time of the skin coat, or when it opens and closes: expected a number off its sheet",
        ),
    ],
)
def test_wrong_inputs_are_named(name, values, line):
    """Word for word."""
    with pytest.raises(BenchError) as caught:
        run(name, **values)
    assert str(caught.value) == line


def test_an_unknown_sum_is_named():
    """With the nearest, or where none is near with the list of what there is."""
    with pytest.raises(BenchError, match=r"^no sum 'splat', nearest is 'split'$"):
        catalogue.by_name("splat")
    with pytest.raises(BenchError, match=r"^no sum 'qq': expected one of split, a-for-b, "):
        catalogue.by_name("qq")


@pytest.mark.parametrize(
    ("name", "values", "text"),
    [
        ("ratio-error", {}, "142 g to 300 g is 47.3 per 100, 5.3 % under 50"),
        ("split", {"batch": 450.0}, "450 g at 50 A to 100 B is 150 g of A and 300 g of B"),
        ("water", {}, "1 g of water makes 1.36 L of gas and eats 17.3 g of A"),
        ("charge", {"packing": 1.3, "loss": 5.0}, "pour 395 g of foam; mix 415 g, for 5 % stays behind"),
        ("packing", {"charge_mass": 395.0}, "395 g / (1900 mL x 0.16 g/mL) = 1.30"),
        ("overpack", {"charge_mass": 300.0, "least_charge": 264.0}, "300 g where 264 g just fills: overpack 113.6 %"),
        ("clock", {}, "at 18 °C (64 °F) all takes 1.29 to 1.71 times as long as at 25 °C (77 °F)"),
        ("pour-time", {"material_temperature": 25.0}, "be finished pouring 30 s after A meets B"),
        (
            "demold",
            {"mold_temperature": 14.0, "section_thickness": None},
            "open the mold not before 105 min from mixing",
        ),
        ("pocket", {"pressure": 10.0}, "at 10 kPa a trapped pocket keeps 91 % of its volume: vent it or turn the mold"),
        (
            "mold-pressure",
            {},
            "from nothing (leaking) to 60 kPa in the closed mold: up to 47 kg on the lid; straps or bolts, no loose weights",
        ),
        (
            "dew-point",
            {"room_temperature": 25.0, "mold_temperature": 15.0},
            "air at 25 °C (77 °F) and 60 % has its dew point at 16.7 °C (62 °F); a face at 15 °C (59 °F) stands 1.7 K below it: it is wet",
        ),
        (
            "highest-humidity",
            {},
            "a face at 15 °C (59 °F) in air at 20 °C (68 °F) is dry up to 60 % humidity; it sweats from 72.9 %",
        ),
        ("skin-thickness", {}, "228 g / (1450 cm² x 1.05 g/mL) = 1.50 mm on average"),
        (
            "cross-cut",
            {},
            "12 % lost is class 2 of 0 to 5 (ISO 2409, 0 is best), 3B on the other scale (ASTM D3359, 5B is best)",
        ),
    ],
)
def test_sums_in_words(name, values, text):
    """The sentence a caster reads."""
    assert run(name, **values).text == text


def test_water_s_share_is_told_of_both():
    """At index 121 water is 62.5 % of the groups that take A and takes 51.8 % of the A: 0.1665 of 0.2663 and of 0.3213 equivalents."""
    line = run("index", a_mass=50.0, b_mass=100.0, oh_number=56.0, nco=27.0, water=1.5).lines[1]
    assert line == "of the groups in B that take A 62.5 % are water's; they take 51.8 % of the A"


@pytest.mark.parametrize(
    ("name", "value", "unit", "why"),
    [
        ("split", 500 / 3, "g", "a third"),
        ("a-for-b", 156.5, "g", "half of B"),
        ("ratio", 142 / 3, "parts_a_per_100_b", "100 A / B"),
        ("batch", 450, "g", "both"),
        ("scale", 0.05, "1", "one in twenty"),
        ("volume-ratio", 50 * 1200 / 1030, "parts_a_per_100_b", "densities"),
        ("ratio-by-volume", 50 * 1030 / 1200, "parts_a_per_100_b", "densities"),
        ("index", 100 * (50 * 27 / 4201.7) / (100 * 56 / 56105 + 1.5 / 9.0075), "1", "groups by hand"),
        ("water", 8.314462618 * 298.15 / 101325 / 18.015 * 1e6 / 1e3, "L", "gas law"),
        ("charge", 1900 * 0.16 * 1.45 / 0.94, "g", "volume x density x packing / kept"),
        ("packing", 420 / 1900 / 0.16, "1", "definition"),
        ("overpack", 100 * 500 / 440, "percent", "definition"),
        ("free-rise", 160, "kg/m^3", "80 g in half a liter"),
        ("pour-time", 45 * 0.667 * 1.8**0.7, "s", "two thirds, 1.8 for 10 K"),
        ("demold", (45 + 5) * 1.8**0.7, "min", "five for 25 mm over 50"),
        ("vent", 39.1, "mL/s", "the table of published checks"),
        ("pocket", 100 * 101.325 / 135.325, "percent", "Boyle"),
        ("mold-pressure", 33.9, "kPa", "gas law, 85 % of it"),
        ("travel", 90, "mm", "15 gaps"),
        ("core-heat", 2.9, "kg", "the very grade"),
        ("water-film", 1, "g", "10 µm on a tenth of a m²"),
        ("skin-grams", 1450 * 0.12 * 1.05 / 0.85, "g", "area x thickness x density / kept"),
        ("skin-thickness", 10 * 228 / 1450 / 1.05, "mm", "grams over area and density"),
        ("paint-wait", 24 * 1.8, "h", "a day, 10 K colder"),
        ("cross-cut", 2, "count", "5 to 15 %"),
        ("purge", 3 * 60 * math.log(100) / 6, "min", "exponential"),
        ("dilution", 60, "m^3/min", "3 x 1 / 0.05"),
    ],
)
def test_values_come_out_in_their_unit(name, value, unit, why):
    """Worked by hand in bench units, with what practice takes for what is not given."""
    result = run(name)
    assert result.unit == unit
    assert result.value == pytest.approx(value, rel=2e-3 if name in ("vent", "mold-pressure") else 1e-6), why


def test_ranges_come_out_in_their_unit():
    """The ends are in the same unit as the value."""
    back = run("back-pressure")
    assert back.low < 10 < back.high
    assert run("warm-mold").unit == "min"
    assert pytest.approx(run("paint-wait").low) == 24 * 1.44
    assert run("window").unit == "min"
    assert run("purge").low == pytest.approx(run("purge").value / 3)
    assert run("purge").high == pytest.approx(10 * run("purge").low)
    assert run("charge").low == pytest.approx(1900 * 0.16 * 1.3 / 0.94)
    assert run("drain").value == pytest.approx(0.12, abs=0.001)


def test_packing_is_taken_by_build():
    """Bare foam is packed tight, foam behind a skin coat little."""
    bare, backed = (run("charge", build=build).value for build in ("bare_foam", "skin_and_foam"))
    assert bare / backed == pytest.approx(1.45 / 1.15)
    assert run("packing", build="bare_foam").figures["packing_against_usual"].value == pytest.approx(420 / 304 / 1.45)


def test_a_lid_bears_what_the_gas_law_says():
    """34 to 58 kPa on a hole of 10 cm is 27 to 46 kg; a mold that leaks lifts nothing."""
    load = run("mold-pressure").figures["load"]
    assert load.value == pytest.approx(33.9e3 * math.pi / 4 * 0.01 / 9.80665, rel=2e-3)
    assert load.high == pytest.approx(57.8e3 * math.pi / 4 * 0.01 / 9.80665, rel=2e-3)
    assert load.low == 0


def test_the_insert_is_not_foam():
    """100 g of armature in a 495 g part leaves 395 g."""
    part = {"charge_mass": None, "part_mass": 395.0}
    with_rod = {**part, "part_mass": 495.0, "insert_mass": 100.0}
    assert run("packing", **with_rod).text == run("packing", **part).text
    assert run("packing", **with_rod).value == pytest.approx(run("packing", **part).value)


def test_what_was_taken_is_said_and_only_that():
    """A number given is not called practice; a practice number that the sum didn't look at is not named."""
    assert any("packing factor" in line for line in run("charge").assumes)
    assert not any("packing factor" in line for line in run("charge", packing=1.3).assumes)
    assert not any("skin" in line for line in run("charge").assumes)
    assert any("cured skin" in line for line in run("charge", skin_mass=228.0).assumes)
    assert run("water-film", nco=27.0).figures == run("water-film").figures


def test_sums_with_other_inputs():
    """What is optional changes what is said."""
    assert run("ratio-error", a_mass=150.0).text == "150 g to 300 g is 50 per 100, just the 50 that are due"
    assert "too much A" in run("ratio-error", a_mass=160.0).lines[1]
    assert "Half of what may have stayed" in run("ratio-error", a_left=3.0).lines[-1]
    assert run("clock", cream_time=None, sheet_demold_time=None).lines == ("factor for any time on the sheet",)
    assert run("dew-point", mold_temperature=None).text.endswith("12 °C (54 °F)")
    assert run("dew-point", mold_temperature=14.0).text.endswith("too near, 3 K or more is asked")
    assert run("dew-point", mold_temperature=25.0).text.endswith("above it: dry")
    assert run("recoat", closes=None).text.endswith("after the last")
    assert run("skin-grams", per_coat=2.0).text.endswith("in one coat")
    assert run("travel", narrowest_gap=12.0).figures == {}
    good = {"paint_humidity": 50.0, "paint_temperature": 22.0, "surface_temperature": 22.0}
    assert run("paint-conditions", **good).text == "fit for painting"


def test_a_number_is_told_as_it_was_typed():
    """Pounds and 1:2 come back beside what the bench stores; grams typed as grams stand alone."""
    values = {"batch": 453.592, "ratio_target": 50.0}
    told = catalogue.by_name("split").run(values, PRACTICE, {"batch": "1 lb", "ratio_target": "1:2"})
    assert told.text == "1 lb (453.6 g) at 1:2 (50 A to 100 B) is 151 g of A and 302 g of B"


def test_an_empty_window_gives_no_number():
    """Where no time is surely right the sum says so instead of naming one."""
    narrow = {"sheet_skin_gel": None, "opens": 30.0, "closes": 33.0, "mold_temperature": 5.0}
    assert run("window", **narrow).value is None
    assert "no time is surely inside the window" in run("window", **narrow).text
    assert "no time is surely inside the window" in run("recoat", paint_temperature=5.0, closes=33.0).text


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
    """Each public function of the bench has a docstring that names source or definition, and a return type."""
    looked_at = 0
    for found in pkgutil.iter_modules(diagnose.bench.__path__, "diagnose.bench."):
        module = importlib.import_module(found.name)
        for name, function in inspect.getmembers(module, inspect.isfunction):
            if name.startswith("_") or function.__module__ != module.__name__:
                continue
            looked_at += 1
            assert function.__doc__, f"{module.__name__}.{name}"
            assert inspect.signature(function).return_annotation is not inspect.Signature.empty
    assert looked_at > 50


def test_no_heavy_library_is_loaded():
    """The first question must not wait for numpy or scipy."""
    code = "import sys, diagnose.bench.catalogue; print(sorted({'numpy', 'scipy', 'pint'} & set(sys.modules)))"
    out = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert out.stdout.strip() == "[]"
