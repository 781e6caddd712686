"""The next-pour sheet redone by hand: one bare casting with a material's sheet, one skinned part without, and what a change does to it."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from diagnose.bench.words import rounded
from diagnose.casebook.case import Case
from diagnose.casebook.derive import derive
from diagnose.casebook.sheet import BEARS_ON, TITLES, SheetLine, next_pour_sheet, sheet_of
from diagnose.knowledge import Knowledge

BARE = """build: bare_foam
painted: yes
symptoms: [short_fill]
material: medium_foam
cavity_volume: 1900 mL
pigment_percent: 1 %
room_temperature: 18 degC
mold_temperature: 17 degC"""
SKINNED = """build: skin_and_foam
painted: no
symptoms: [short_fill]
cavity_volume: 1500 mL
free_rise_density: 200 kg/m^3
ratio_target: 40
cream_time: 60 s
sheet_demold_time: 60 min
sheet_skin_gel: 12 min
mold_area: 1450 cm^2
room_temperature: 20 degC"""
COLD = """build: bare_foam
painted: no
symptoms: [too_soft]
material: medium_foam
mold_temperature: 14 degC
demold_time: 50 min"""

Sheet = Callable[..., dict[str, SheetLine]]


def slower(t_c: float, per_10_k: float = 1.8, reference_c: float = 25.0) -> float:
    """How many times longer a time takes at *t_c*, by one factor for each 10 K."""
    return per_10_k ** ((reference_c - t_c) / 10)


@pytest.fixture
def sheet(answered: Callable[[str], Case], knowledge: Knowledge) -> Sheet:
    """The lines of the sheet for answers (and changes advised), by id."""

    def lines(text: str, **changes: float) -> dict[str, SheetLine]:
        return {line.id: line for line in sheet_of(answered(text), knowledge, changes)}

    return lines


def test_bare_casting(sheet: Sheet) -> None:
    """1.9 L of 160 kg/m3 packed 1.45 times with 6 % left in the bucket; 50 to 100; times carried from 25 °C to where the pour is."""
    found = sheet(BARE)
    mix = 1900 * 0.160 * 1.45 / 0.94
    assert found["mix_mass"].value == pytest.approx(mix, rel=1e-9)
    assert (found["mix_mass"].low, found["mix_mass"].high) == (
        pytest.approx(1900 * 0.160 * 1.3 / 0.94),
        pytest.approx(1900 * 0.160 * 1.6 / 0.94),
    )
    assert found["b_mass"].value == pytest.approx(mix * 100 / 150)
    assert found["a_mass"].value == pytest.approx(mix * 50 / 150)
    assert found["pigment"].value == pytest.approx(mix * 100 / 150 * 0.01)
    assert found["mix_mass"].told() == "470 g"
    assert found["mix_mass"].sum == "1900 mL x 0.16 g/mL x 1.45 / (1 - 0.06) = 470 g"
    assert found["a_mass"].told() == "156 g"
    assert found["finish_pouring"].value == pytest.approx(45 * 0.667 * slower(24, 1.44))
    assert found["still_until"].value == pytest.approx(3.5 * slower(24, 2.15))
    assert found["demold"].low == pytest.approx(45 * slower(17, 1.44))
    assert found["demold"].value == found["demold"].high == pytest.approx(45 * slower(17, 2.15))
    assert found["paint"].value == pytest.approx(24 * slower(18, 2.15))
    assert (found["vents"].low, found["vents"].value, found["vents"].high) == (1.0, 1.5, 2.0)
    assert "skin_mix" not in found


def test_skinned_part(sheet: Sheet) -> None:
    """Less packing behind a skin; the coat by area, thickness and density; the window between 2.5 and 8 gel times, carried to 20 °C."""
    found = sheet(SKINNED)
    mix = 1500 * 0.200 * 1.15 / 0.94
    assert found["mix_mass"].value == pytest.approx(mix, rel=1e-9)
    assert found["b_mass"].value == pytest.approx(mix * 100 / 140)
    assert found["a_mass"].value == pytest.approx(mix * 40 / 140)
    assert found["skin_mix"].value == pytest.approx(1450 * 0.12 * 1.05 / 0.85, rel=1e-9)
    assert found["skin_mix"].low == pytest.approx(1450 * 0.08 * 1.05 / 0.85)
    assert found["skin_mix"].high == pytest.approx(1450 * 0.15 * 1.05 / 0.85)
    assert (found["skin_mix"].told(), found["coats"].told()) == ("215 g", "3")
    assert found["window"].low == pytest.approx(12 * 2.5 * slower(20, 2.15))
    assert found["window"].high == pytest.approx(12 * 8 * slower(20, 1.44))
    assert found["window"].sum == "2.5 to 8 times the gel time of 12 min at 20 °C"
    assert "paint" not in found


def test_grams_in_all_without_a_ratio(sheet: Sheet) -> None:
    """Cavity, density and build give what to mix; only its parts want the ratio."""
    found = sheet("build: bare_foam\npainted: no\ncavity_volume: 900 mL\nfree_rise_density: 160")
    assert found["mix_mass"].told() == "220 g"
    assert found["a_mass"].missing == found["b_mass"].missing == ("ratio_target",)


def test_packing_is_not_guessed_for_a_build_nobody_told(sheet: Sheet) -> None:
    """Bare or behind a skin, the grams differ by a quarter: the build is asked for."""
    found = sheet("painted: no\ncavity_volume: 900 mL\nfree_rise_density: 160")
    assert (found["mix_mass"].value, found["mix_mass"].missing) == (None, ("build",))


def test_the_coat_s_own_sheet_comes_first(sheet: Sheet) -> None:
    """A coat whose sheet states a window needs no gel time, and the sum says where the window is from."""
    found = sheet("build: skin_and_foam\npainted: no\nmaterial: slush_elastomer\nroom_temperature: 25 degC")["window"]
    assert (found.low, found.high, found.unit) == (pytest.approx(30.0), pytest.approx(180.0), "min")
    assert found.sum == "the coat's sheet: 30 to 180 min at 25 °C"


def shop(text: str, knowledge: Knowledge, **values: float) -> Knowledge:
    """The knowledge with a material's sheet changed."""
    from msgspec.structs import replace

    material = knowledge.materials[text]
    changed = replace(material, **values)
    return replace(knowledge, materials={**knowledge.materials, text: changed})


def test_the_density_of_the_coat_named_is_used(answered: Callable[[str], Case], knowledge: Knowledge) -> None:
    """A coat of 1.20 g/mL: the mean thickness and the grams to mix both go by its own sheet, 1450 x 0.12 x 1.2 / 0.85 = 246 g."""
    heavy = shop("slush_elastomer", knowledge, density=1200.0)
    case = answered(
        "build: skin_and_foam\npainted: no\nmaterial: slush_elastomer\nmold_area: 1450 cm^2\nskin_mass: 228 g"
    )
    lines = {line.id: line for line in sheet_of(case, heavy)}
    assert lines["skin_mix"].value == pytest.approx(1450 * 0.12 * 1.20 / 0.85)
    (mean,) = [c for c in derive(case, heavy).computed if c.name == "skin_mean"]
    assert mean.value == pytest.approx(228 / (1450 * 1.20) * 10)


def test_the_paint_wait_of_the_foam_s_sheet_is_used(answered: Callable[[str], Case], knowledge: Knowledge) -> None:
    """`paint_after: 72 h` at the sheet's warmth is 72 h, not a day."""
    slow = shop("medium_foam", knowledge, paint_after=72 * 3600.0)
    case = answered("build: bare_foam\npainted: yes\nmaterial: medium_foam\nroom_temperature: 25 degC")
    (line,) = [line for line in sheet_of(case, slow) if line.id == "paint"]
    assert (line.value, line.unit, line.told()) == (pytest.approx(72.0), "h", "72 h")


def test_densities_of_the_sheet_give_the_ratio_in_cups(sheet: Sheet) -> None:
    """Where somebody measured by volume, 50 to 100 by weight at 1.2 and 1.03 g/mL is 42.9 by volume; else nothing is said of cups."""
    lines = "build: bare_foam\npainted: no\nmaterial: medium_foam\ncavity_volume: 1900 mL\nratio_method: {}"
    found = sheet(lines.format("weighed_a_volume_ratio"))["volume_ratio"]
    assert found.value == pytest.approx(50 * 1.03 / 1.2)
    assert "volume_ratio" not in sheet(lines.format("by_weight"))


def test_a_cold_room_is_not_taken_for_no_answer(sheet: Sheet) -> None:
    """0 °C is a temperature: the window opens later than at 25 °C."""
    lines = "build: skin_and_foam\npainted: no\nsheet_skin_gel: 12 min\nroom_temperature: {} degC"
    cold, warm = (sheet(lines.format(t))["window"].low or 0.0 for t in (0, 25))
    assert cold > 2 * warm


def test_what_is_missing_is_named(sheet: Sheet) -> None:
    """Without volume and density there are no grams: the line names the answers that it wants."""
    found = sheet("build: bare_foam\npainted: no")
    assert found["mix_mass"].value is None
    assert found["mix_mass"].missing == ("cavity_volume", "free_rise_density")
    assert found["finish_pouring"].missing == ("cream_time",)
    assert found["demold"].missing == ("sheet_demold_time",)
    assert found["warm"].missing == ("mold_temperature",)


def test_a_ratio_that_the_material_does_not_come_in(answered: Callable[[str], Case], knowledge: Knowledge) -> None:
    """A material of several ratios asked for one outside them: one clear line with the quantity and the range, and no grams from a made-up density."""
    case = answered(
        "build: bare_foam\npainted: no\nmaterial: ratio_family_foam\nratio_target: 80\ncavity_volume: 1900 mL"
    )
    title = knowledge.materials["ratio_family_foam"].title
    assert derive(case, knowledge).warnings == [
        f"{title}: mix ratio 80 parts per 100: expected 32 parts per 100 to 48 parts per 100"
    ]
    found = {line.id: line for line in sheet_of(case, knowledge)}
    assert found["mix_mass"].missing == ("free_rise_density",)


def test_a_warm_mold_needs_no_box(sheet: Sheet) -> None:
    """A face already at 26 °C gets no time in the warm box; at 17 °C it does, and longer at 12 °C."""
    lines = "build: bare_foam\npainted: no\nmold_temperature: {} degC"
    assert "warm" not in sheet(lines.format(26))
    assert (sheet(lines.format(12))["warm"].value or 0.0) > (sheet(lines.format(17))["warm"].value or 0.0) > 0.0


def test_a_big_batch_takes_a_blade_and_a_fast_foam_one_cup(sheet: Sheet, knowledge: Knowledge) -> None:
    """Over 150 g a blade, under it a stick; from 45 s of cream there is time for a second cup; the ids are those of answers."""
    lines = "build: bare_foam\npainted: no\nfree_rise_density: 160\ncavity_volume: {} mL\ncream_time: {} s"
    big, small = sheet(lines.format(1900, 35)), sheet(lines.format(400, 60))
    assert (big["mixer"].text_value, big["cups"].text_value) == ("paddle", "one_cup")
    assert (small["mixer"].text_value, small["cups"].text_value) == ("stick", "two_cups_scraped")
    assert {"stick", "paddle"} <= set(knowledge.facts["mixed_with"].choices)
    assert {"one_cup", "two_cups_scraped"} <= set(knowledge.facts["cups"].choices)
    assert big["mixer"].told() == "a blade, kept under the surface"
    assert big["mixer"].worked_out


# -- numbers go with the change advised --------------------------------------------------------------------------------


def test_demold_goes_by_the_mold_as_it_was(sheet: Sheet) -> None:
    """Opened at 50 min on a 14 °C face, too early: all else as it was, the number is for 14 °C, over an hour and a half, not 45 min."""
    line = sheet(COLD)["demold"]
    assert line.value == pytest.approx(45 * slower(14, 2.15))
    assert line.told() == "105 min"


def test_demold_goes_with_the_mold_that_is_advised(sheet: Sheet) -> None:
    """With a face of 20 °C advised it is carried to 20 °C."""
    assert sheet(COLD, mold_temperature=20.0)["demold"].value == pytest.approx(45 * slower(20, 2.15))


def test_demold_is_never_under_the_time_that_was_too_early(sheet: Sheet) -> None:
    """A 27 °C face would let 45 min pass; 50 were too early, so 50 is the least that is told."""
    line = sheet(COLD, mold_temperature=27.0)["demold"]
    assert line.value == 50.0
    assert line.assumes.startswith("not under the 50 min that were too early")


def test_a_thick_part_wants_longer(sheet: Sheet) -> None:
    """75 mm of section is five minutes more than the sheet's 45."""
    thick = sheet(COLD + "\nsection_thickness: 75 mm")["demold"]
    assert thick.value == pytest.approx(50 * slower(14, 2.15))


def test_liquids_and_face_are_those_advised(sheet: Sheet) -> None:
    """A hot core is cured by cool liquids: the sheet says 20 °C and counts the pour at 20 °C, not at 24."""
    found = sheet(BARE, material_temperature=20.0, mold_temperature=25.0)
    assert (found["liquids"].told(), found["mold_face"].told()) == ("20 °C", "25 °C")
    assert found["finish_pouring"].value == pytest.approx(45 * 0.667 * slower(20, 1.44))


# -- plain data --------------------------------------------------------------------------------------------------------


def test_every_line_lies_within_its_ends(sheet: Sheet) -> None:
    """Low, value and high rise, everything is finite, and what it was made from was told or filled in."""
    for lines in (BARE, SKINNED, COLD):
        for line in sheet(lines).values():
            assert line.title == TITLES[line.id]
            if line.low is None or line.value is None or line.high is None:
                continue
            assert line.low - 1e-9 <= line.value <= line.high + 1e-9, line.id
            assert math.isfinite(line.high)
            assert line.told()


def test_every_group_bears_on_something_known(sheet: Sheet, knowledge: Knowledge) -> None:
    """Causes and families named by a group exist, and every line is in a group."""
    families = {symptom.family for symptom in knowledge.symptoms.values()}
    for group, names in BEARS_ON.items():
        assert names <= families | set(knowledge.causes), group
    for line in [*sheet(BARE).values(), *sheet(SKINNED).values()]:
        assert line.relevant_to == BEARS_ON[line.group]


def test_the_sheet_is_made_from_answers_alone(answered: Callable[[str], Case], knowledge: Knowledge) -> None:
    """The same answers, filled in and derived, give the same lines without the case."""
    case = answered(BARE)
    answers = derive(case, knowledge).all_answers(case)
    assert next_pour_sheet(answers, "bare_foam", knowledge) == sheet_of(case, knowledge)


@pytest.mark.parametrize(
    ("value", "unit", "toward", "weighed", "shown"),
    [
        (468.9, "g", "near", False, 470.0),
        (156.31, "g", "near", True, 156.0),
        (3331.9, "g", "near", False, 3350.0),
        (7.46, "g", "near", False, 7.5),
        (99.6, "min", "up", False, 100.0),
        (67.7, "min", "up", False, 70.0),
        (9.9, "min", "near", False, 10.0),
        (31.1, "s", "down", False, 30.0),
        (16.7, "degC", "near", False, 17.0),
        (45.0, "min", "up", False, 45.0),
        (1.52, "mm", "near", False, 1.5),
        (57.8, "kPa", "up", False, 60.0),
        (-5.33, "percent", "near", False, -5.3),
        (0.0, "g", "up", False, 0.0),
    ],
)
def test_numbers_are_told_as_the_bench_reads_them(
    value: float, unit: str, toward: str, weighed: bool, shown: float
) -> None:
    """Grams by fives, minutes by fives, degrees whole; up where too little hurts, down where too much does."""
    assert rounded(value, unit, toward, weighed) == shown
