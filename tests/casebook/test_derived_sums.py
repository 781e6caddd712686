"""What follows from raw answers, against values worked by hand."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from diagnose.casebook import Case, parse_answer
from diagnose.casebook.derive import Computed, Derivation, derive
from diagnose.knowledge import Knowledge
from diagnose.knowledge.ratio_curve import curve_ratio

Derive = Callable[..., Derivation]


@pytest.fixture
def worked(knowledge: Knowledge) -> Derive:
    """Derive from answers as typed; a pair is (text, source)."""

    def run(**typed: str | tuple[str, str]) -> Derivation:
        case = Case()
        for name, value in typed.items():
            text, source = value if isinstance(value, tuple) else (value, None)
            case = case.with_answer(name, parse_answer(knowledge, name, text, source), text)
        return derive(case, knowledge)

    return run


def named(derivation: Derivation, name: str) -> Computed:
    """Return the one computed value of that name."""
    (found,) = [computed for computed in derivation.computed if computed.name == name]
    return found


def test_ratio_and_its_error(worked: Derive) -> None:
    """142 g of A to 300 g of B at a target of 50: 47.33 parts, (47.33 - 50) / 50 = -5.33 %, too little A."""
    found = worked(a_mass="142 g", b_mass="300 g", ratio_target="50")
    ratio, error = named(found, "ratio"), named(found, "ratio_error")
    assert (ratio.value, ratio.unit) == (pytest.approx(142 / 3), "parts_a_per_100_b")
    assert (error.value, error.unit) == (pytest.approx(-16 / 3), "percent")
    assert error.text == "142 g to 300 g is 47.3 per 100, 5.3 % under 50"
    assert error.inputs == ("a_mass", "b_mass", "ratio_target")
    assert 0.9 < error.error < 1.5


def test_too_much_a_is_positive(worked: Derive) -> None:
    """160 g to 300 g at 50 is 6.67 % over; just right is told as that."""
    assert named(worked(a_mass="160 g", b_mass="300 g", ratio_target="50"), "ratio_error").value == pytest.approx(
        20 / 3
    )
    assert (
        named(worked(a_mass="150 g", b_mass="300 g", ratio_target="50"), "ratio_error").text
        == "150 g to 300 g is 50 per 100, just the 50 that are due"
    )


def test_a_coarse_scale_widens_the_error_of_the_ratio(worked: Derive) -> None:
    """5 g steps in 142 g are worth more than a percent; a tenth of a gram is not."""
    coarse = named(worked(a_mass="142 g", b_mass="300 g", ratio_target="50", scale_step="5 g"), "ratio_error").error
    fine = named(worked(a_mass="142 g", b_mass="300 g", ratio_target="50", scale_step="0.1 g"), "ratio_error").error
    assert coarse > 1.2 * fine
    assert fine == pytest.approx(1.0, abs=0.1)


def test_packing(worked: Derive) -> None:
    """395 g / (1900 mL x 0.16 g/mL) = 1.299; the same with the part's own mass."""
    found = worked(charge_mass="395 g", part_mass="350 g", cavity_volume="1900 mL", free_rise_density="0.16 g/mL")
    packing, part = named(found, "packing"), named(found, "packing_of_part")
    assert (packing.value, packing.unit) == (pytest.approx(395 / 304), "1")
    assert packing.text == "395 g / (1900 mL x 0.16 g/mL) = 1.30"
    assert part.value == pytest.approx(350 / 304)
    assert 0.03 < packing.error / packing.value < 0.2


def test_dew_point_and_margin(worked: Derive) -> None:
    """23 °C at 50 %: by hand with Magnus, g = 17.625 x 23 / 266.04 + ln 0.5 = 0.83059; 243.04 g / (17.625 - g) = 12.02 °C."""
    gamma = 17.625 * 23 / (243.04 + 23) + math.log(0.5)
    found = worked(room_temperature="23 degC", relative_humidity="50 %", mold_temperature="10 degC")
    point, margin = named(found, "dew_point"), named(found, "dew_margin")
    assert (point.value, point.unit) == (pytest.approx(243.04 * gamma / (17.625 - gamma)), "degC")
    assert point.value == pytest.approx(12.0, abs=0.05)
    assert (margin.value, margin.unit) == (pytest.approx(10 - point.value), "K")
    assert margin.text == "mold face 10 °C, 2.0 K below the dew point of 12.0 °C"


def test_mean_skin(worked: Derive) -> None:
    """228 g over 1450 cm2 at 1.05 g/mL: 228 / 1522.5 cm = 1.50 mm, and the density assumed is told."""
    found = worked(skin_mass="228 g", mold_area="1450 cm^2")
    skin = named(found, "skin_mean")
    assert (skin.value, skin.unit) == (pytest.approx(228 / (1450 * 1.05) * 10), "mm")
    assert skin.text == "228 g / (1450 cm² x 1.05 g/mL) = 1.50 mm on average"
    assert found.warnings == ["skin_mean: no sheet says how dense the skin is, so 1.05 g/mL is assumed"]


def test_a_named_skin_needs_no_assumption(worked: Derive, knowledge: Knowledge) -> None:
    """Where the material says how dense its skin is, that is used, and nothing is assumed."""
    name = next(material.id for material in knowledge.materials.values() if material.kind == "skin")
    found = worked(skin_mass="228 g", mold_area="1450 cm^2", material=name)
    assert named(found, "skin_mean").value == pytest.approx(
        228 / (1450 * knowledge.materials[name].values["density"] / 1000) * 10
    )
    assert found.warnings == []


def test_the_sheet_of_a_skin_says_nothing_of_the_foam(worked: Derive, knowledge: Knowledge) -> None:
    """A skin's own ratio, density and demold time are not taken for the foam's."""
    name = next(material.id for material in knowledge.materials.values() if material.kind == "skin")
    assert set(worked(material=name).filled) <= {"sheet_temperature", "sheet_skin_gel"}


def test_the_sheet_of_a_foam_answers_what_nobody_told(worked: Derive) -> None:
    """Ratio, density and times come from the sheet; what was told stands before it."""
    found = worked(material="medium_foam", cream_time="60 s")
    assert {name: answer.value for name, answer in found.filled.items()} == {
        "sheet_temperature": 25.0,
        "sheet_demold_time": 45.0,
        "ratio_target": 50.0,
        "free_rise_density": 160.0,
    }
    assert named(
        worked(material="medium_foam", charge_mass="395 g", cavity_volume="1900 mL"), "packing"
    ).value == pytest.approx(395 / 304)


def test_the_density_of_another_ratio_is_not_guessed(worked: Derive) -> None:
    """A sheet with one ratio says nothing of another's density; the same ratio told is fine."""
    assert worked(material="medium_foam", ratio_target="50").filled["free_rise_density"].value == 160.0
    off = worked(material="medium_foam", ratio_target="60")
    assert "free_rise_density" not in off.filled
    assert off.warnings == [
        "A middling self-skinning foam: its sheet gives 50 per 100, not 60, so its free-rise density is not used"
    ]


def test_clocks_run_slower_in_the_cold(worked: Derive) -> None:
    """Cold material creams later, so the same seconds are a smaller part of the time to cream."""
    sheet = named(worked(mix_time="30 s", cream_time="45 s"), "mix_fraction")
    cold = named(worked(mix_time="30 s", cream_time="45 s", material_temperature="15 degC"), "mix_fraction")
    warm = named(worked(mix_time="30 s", cream_time="45 s", material_temperature="35 degC"), "mix_fraction")
    assert sheet.value == pytest.approx(30 / 45)
    assert cold.value < 0.8 * sheet.value < sheet.value < 0.8 * warm.value
    assert set(cold.inputs) >= {"mix_time", "material_temperature"}


def test_demold_time_without_a_sheet_is_a_guess_with_a_wide_error(worked: Derive) -> None:
    """With a sheet's 45 minutes, 30 are two thirds; without one the usual time is taken, and the error is wider."""
    sheet = named(worked(demold_time="30 min", sheet_demold_time="45 min"), "demold_fraction")
    usual = named(worked(demold_time="30 min"), "demold_fraction")
    assert sheet.value == pytest.approx(2 / 3)
    assert usual.error / usual.value > 1.2 * sheet.error / sheet.value


def test_a_derived_value_is_trusted_as_its_least_trusted_input(worked: Derive) -> None:
    """Grams remembered make a remembered ratio."""
    found = worked(a_mass="142 g", b_mass=("300 g", "remembered"), ratio_target="50 parts_a_per_100_b")
    assert found.facts["ratio_error"].source == "remembered"
    assert worked(a_mass="142 g", b_mass="300 g", ratio_target="50:100").facts["ratio_error"].source == "measured"


def test_a_sum_out_of_range_is_a_warning(worked: Derive) -> None:
    """What no sum can take is told, and the other sums are made."""
    found = worked(a_mass="1 g", b_mass="150 kg", ratio_target="50")
    assert [computed.name for computed in found.computed] == ["batch_mass", "core_heat"]
    assert found.warnings == ["no sum: mass of B 150000 g: expected 0.01 g to 100000 g"]


@pytest.mark.parametrize(
    ("missing", "name"),
    [
        ("a_mass", "ratio"),
        ("ratio_target", "ratio_error"),
        ("cavity_volume", "packing"),
        ("part_mass", "packing_of_part"),
        ("relative_humidity", "dew_point"),
        ("mold_temperature", "dew_margin"),
        ("mold_area", "skin_mean"),
    ],
)
def test_nothing_is_computed_from_what_is_not_known(worked: Derive, missing: str, name: str) -> None:
    """With one input missing or unknown the value is absent, not guessed."""
    whole = {
        "a_mass": "142 g",
        "b_mass": "300 g",
        "ratio_target": "50",
        "charge_mass": "395 g",
        "part_mass": "350 g",
        "cavity_volume": "1900 mL",
        "free_rise_density": "160",
        "room_temperature": "23",
        "relative_humidity": "50",
        "mold_temperature": "10",
        "skin_mass": "228 g",
        "mold_area": "1450",
    }
    names = {computed.name for computed in worked(**whole).computed}
    assert {"ratio", "ratio_error", "packing", "packing_of_part", "dew_point", "dew_margin", "skin_mean"} <= names
    assert name not in {computed.name for computed in worked(**{**whole, missing: "unknown"}).computed}
    assert name not in {
        computed.name for computed in worked(**{key: value for key, value in whole.items() if key != missing}).computed
    }


@pytest.mark.parametrize(("build", "usual"), [("bare_foam", 1.45), ("skin_and_foam", 1.15)])
def test_packing_is_read_by_the_build(worked: Derive, build: str, usual: float) -> None:
    """359 g / (1900 mL x 0.16 g/mL) = 1.181: four fifths of what bare foam usually takes, and a little over what goes behind a skin."""
    answers = {
        "charge_mass": "359 g",
        "part_mass": "350 g",
        "cavity_volume": "1900 mL",
        "free_rise_density": "0.16 g/mL",
    }
    found = worked(build=build, **answers)
    against = named(found, "packing_against_usual")
    assert (against.value, against.unit) == (pytest.approx(359 / 304 / usual), "1")
    assert named(found, "packing_of_part_against_usual").value == pytest.approx(350 / 304 / usual)
    assert against.error / against.value == pytest.approx(named(found, "packing").error / named(found, "packing").value)
    assert against.text == f"packing 1.18 of {usual} usual for this build = {359 / 304 / usual:.2f}"
    assert "build" in against.inputs
    assert not [c for c in worked(**answers).computed if c.name.endswith("_against_usual")]


def test_the_same_grams_are_few_in_one_build_and_plenty_in_the_other(worked: Derive, knowledge: Knowledge) -> None:
    """1.18 speaks for too few grams in bare foam and against it behind a skin; 1.45 for too many behind a skin only."""

    def ratio(cause: str, build: str, grams: str) -> float:
        found = worked(build=build, charge_mass=grams, cavity_volume="1900 mL", free_rise_density="0.16 g/mL")
        return curve_ratio(
            knowledge.causes[cause].facts["packing_against_usual"].curve, named(found, "packing_against_usual").value
        )

    assert ratio("charge_small", "bare_foam", "359 g") > 2
    assert ratio("charge_small", "skin_and_foam", "359 g") < 0.5
    assert ratio("charge_large", "skin_and_foam", "441 g") > 2
    assert ratio("charge_large", "bare_foam", "441 g") < 0.5


def test_heat_of_a_lump(worked: Derive) -> None:
    """2 kg at 80 kg/m3 heats as 2 x 160 / 80 = 4 kg; 4 kg at 240 as 2.67; what was mixed stands in for what was poured."""
    light = named(worked(charge_mass="2 kg", free_rise_density="80 kg/m^3"), "core_heat")
    assert (light.value, light.unit, light.inputs) == (pytest.approx(4.0), "kg", ("charge_mass", "free_rise_density"))
    assert light.text == "2000 g of a 80 kg/m³ grade: heat as of 4 kg at 160 kg/m³"
    assert named(worked(charge_mass="4 kg", free_rise_density="240 kg/m^3"), "core_heat").value == pytest.approx(
        4 * 160 / 240
    )
    mixed = named(worked(a_mass="700 g", b_mass="1.4 kg", free_rise_density="80 kg/m^3"), "core_heat")
    assert (mixed.value, mixed.inputs) == (pytest.approx(4.2), ("a_mass", "b_mass", "free_rise_density"))
    told = named(
        worked(a_mass="700 g", b_mass="1.4 kg", charge_mass="2 kg", free_rise_density="80 kg/m^3"), "core_heat"
    )
    assert told.value == pytest.approx(4.0)


def test_heat_of_a_lump_of_unknown_grade_is_a_guess(worked: Derive) -> None:
    """Without a density a middling one is taken, with an error of four tenths."""
    found = named(worked(charge_mass="2 kg"), "core_heat")
    assert found.value == pytest.approx(2.0)
    assert found.error / found.value == pytest.approx(math.hypot(0.4, 0.04))
    assert found.text == "2000 g of a grade of unknown density: heat as of 2 kg at 160 kg/m³"


def test_way_through_a_narrow_gap(worked: Derive) -> None:
    """Foam climbs some fifteen gaps: 180 mm through 6 mm is 180 / 90 = 2; over 8 mm the gap is not what stops it, and nothing is said."""
    found = named(worked(travel_length="180 mm", narrowest_gap="6 mm"), "travel_share")
    assert (found.value, found.unit) == (pytest.approx(2.0), "1")
    assert found.text == "180 mm of way, and a 6 mm gap lets foam go 90 mm: 2.00"
    assert found.error / found.value > 0.16  # ten to twenty gaps alone is a sixth
    wide = worked(travel_length="180 mm", narrowest_gap="9 mm")
    assert not wide.computed
    assert not wide.warnings
    assert worked(travel_length="180 mm", narrowest_gap="0.5 mm").warnings  # outside the sum


def test_a_thick_section_wants_longer(worked: Derive) -> None:
    """At 25 °C 45 minutes are due for 45 of the sheet; 125 mm want 3 x 5 minutes more, so 45 of 60 is 0.75; 50 mm want nothing."""
    answers = {
        "demold_time": "45 min",
        "sheet_demold_time": "45 min",
        "sheet_temperature": "25 degC",
        "mold_temperature": "25 degC",
    }
    thick = named(worked(section_thickness="125 mm", **answers), "demold_fraction")
    assert thick.value == pytest.approx(45 / 60)
    assert thick.text == "45 min of 60 min on the sheet, 15 min of it for the thick section, at 25 °C is 0.75"
    assert "section_thickness" in thick.inputs
    assert named(worked(section_thickness="50 mm", **answers), "demold_fraction").value == pytest.approx(1.0)
