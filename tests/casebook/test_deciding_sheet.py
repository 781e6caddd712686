"""The next-pour sheet redone by hand: one bare casting with a material's sheet, one skinned part without."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from diagnose.casebook import Case
from diagnose.casebook.derive import derive
from diagnose.casebook.sheet import Line, Sheet
from diagnose.knowledge import Knowledge

R = 8.314462618
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


def slower(t_c: float, reference_c: float = 25.0, energy: float = 45e3) -> float:
    """How many times longer a reaction takes at *t_c*, after Arrhenius."""
    return math.exp(energy / R * (1 / (t_c + 273.15) - 1 / (reference_c + 273.15)))


@pytest.fixture
def sheet(answered: Callable[[str], Case], knowledge: Knowledge) -> Callable[[str], dict[str, Line]]:
    """The lines of the sheet for answers, by name."""
    return lambda lines: {line.name: line for line in Sheet(answered(lines), knowledge).lines()}


def test_bare_casting(sheet: Callable[[str], dict[str, Line]]) -> None:
    """1.9 L of 160 kg/m3 packed 1.45 times with 6 % left in the bucket; 50 to 100; times carried from 25 °C to where the pour is."""
    found = sheet(BARE)
    mix = 1900 * 0.160 * 1.45 / 0.94
    assert found["mix"].value == pytest.approx(mix, rel=1e-9)
    assert (found["mix"].low, found["mix"].high) == (
        pytest.approx(1900 * 0.160 * 1.3 / 0.94),
        pytest.approx(1900 * 0.160 * 1.6 / 0.94),
    )
    assert found["b_grams"].value == pytest.approx(mix * 100 / 150)
    assert found["a_grams"].value == pytest.approx(mix * 50 / 150)
    assert found["pigment"].value == pytest.approx(mix * 100 / 150 * 0.01)
    assert found["mix"].text == "469 g"
    assert found["mix"].sum == "1900 mL x 0.16 g/mL x 1.45 / (1 - 0.06) = 469 g"
    assert found["a_grams"].text == "156 g (0.5 x grams of B)"
    assert 45 * 2 / 3 < found["finish_pouring"].value < 45 * 2 / 3 * slower(24.0)
    assert found["finish_pouring"].high >= 45 * 2 / 3 * slower(24.0) - 1e-9
    assert found["demold"].low < 45 * slower(18.0) < found["demold"].high == found["demold"].value
    assert found["paint"].low < 24 * slower(18.0, 22.0) <= found["paint"].high
    assert found["vents"].value == max(
        1, math.ceil((1900 / 60) / (math.pi * (1.5e-3) ** 4 * 500 / (128 * 1.81e-5 * 0.01) * 1e6))
    )
    assert "skin" not in found


def test_skinned_part(sheet: Callable[[str], dict[str, Line]]) -> None:
    """Less packing behind a skin; the coat by area, thickness and density; the window between 2.5 and 8 gel times, carried to 20 °C."""
    found = sheet(SKINNED)
    mix = 1500 * 0.200 * 1.15 / 0.94
    assert found["mix"].value == pytest.approx(mix, rel=1e-9)
    assert found["b_grams"].value == pytest.approx(mix * 100 / 140)
    assert found["a_grams"].value == pytest.approx(mix * 40 / 140)
    assert found["skin"].value == pytest.approx(1450 * 0.12 * 1.05 / 0.87, rel=1e-9)
    assert (found["skin"].low, found["skin"].high) == (
        pytest.approx(1450 * 0.08 * 1.05 / 0.87),
        pytest.approx(1450 * 0.15 * 1.05 / 0.87),
    )
    assert found["skin"].text == "210 g in 2 coats"
    assert found["window"].low == pytest.approx(12 * 2.5 * slower(20.0), rel=0.02)
    assert 12 * 8 < found["window"].high < 12 * 8 * slower(20.0)
    assert found["window"].sum == "2.5 to 8 times the gel time of 12 min at 25 °C, carried to 20 °C"
    assert "paint" not in found


def test_the_coat_s_own_window_comes_before_its_gel_time(sheet: Callable[[str], dict[str, Line]]) -> None:
    """A coat whose sheet states a window needs no gel time, and the sum says where the window is from."""
    found = sheet("build: skin_and_foam\npainted: no\nmaterial: slush_elastomer\nroom_temperature: 25 degC")["window"]
    assert (found.low, found.high) == (pytest.approx(30.0), pytest.approx(180.0))
    assert found.sum == "the coat's sheet: 30 to 180 min at 25 °C, carried to 25 °C"


def test_a_cold_room_is_not_taken_for_no_answer(sheet: Callable[[str], dict[str, Line]]) -> None:
    """0 °C is a temperature: the window opens later than at 25 °C."""
    lines = "build: skin_and_foam\npainted: no\nsheet_skin_gel: 12 min\nroom_temperature: {} degC"
    cold, warm = (sheet(lines.format(t))["window"].low for t in (0, 25))
    assert cold > 2 * warm


def test_what_is_missing_is_named_with_an_example(sheet: Callable[[str], dict[str, Line]]) -> None:
    """Without volume, density and ratio there are no grams: the line says what it needs and shows the sum on an example."""
    found = sheet("build: bare_foam\npainted: no")["grams"]
    assert found.value is None
    assert found.text.startswith("needs: ")
    assert found.text.count(",") == 2
    assert round(1900 * 0.16 * 1.45 / 0.94) == 469
    assert found.sum == "example: 1900 mL x 0.16 g/mL x 1.45 / (1 - 0.06) = 469 g, at 50 to 100 is 156 g A and 313 g B"


def test_a_ratio_that_the_material_does_not_come_in(answered: Callable[[str], Case], knowledge: Knowledge) -> None:
    """A material of several ratios asked for one outside them: one clear line with the quantity and the range, and no grams from a made-up density."""
    case = answered(
        "build: bare_foam\npainted: no\nmaterial: ratio_family_foam\nratio_target: 80\ncavity_volume: 1900 mL"
    )
    title = knowledge.materials["ratio_family_foam"].title
    assert derive(case, knowledge).warnings == [
        f"{title}: mix ratio 80 parts per 100: expected 32 parts per 100 to 48 parts per 100"
    ]
    found = {line.name: line for line in Sheet(case, knowledge).lines()}
    assert found["grams"].value is None


def test_a_warm_mold_needs_no_box(sheet: Callable[[str], dict[str, Line]]) -> None:
    """A face already at 26 °C gets no time in the warm box; at 17 °C it does, and longer at 12 °C."""
    lines = "build: bare_foam\npainted: no\nmold_temperature: {} degC"
    assert "warm" not in sheet(lines.format(26))
    assert sheet(lines.format(12))["warm"].value > sheet(lines.format(17))["warm"].value > 0.0


def test_every_line_lies_within_its_ends(sheet: Callable[[str], dict[str, Line]]) -> None:
    """Low, value and high rise, and everything is finite."""
    for lines in (BARE, SKINNED):
        for line in sheet(lines).values():
            if line.low is None or line.value is None:
                continue
            assert line.low - 1e-9 <= line.value <= line.high + 1e-9, line.name
            assert math.isfinite(line.high)
