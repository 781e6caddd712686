"""Error bars of what is derived, against the spread of the sum over readings drawn with the errors stated."""

from __future__ import annotations

import random
from statistics import pstdev

import pytest

from diagnose.casebook import Case
from diagnose.casebook.derive import Computed, derive
from diagnose.knowledge import Knowledge
from diagnose.reasoning.answers import Answer

DRAWS = 3000
CASES = [
    ("packing", {"charge_mass": 400, "cavity_volume": 1900, "free_rise_density": 160}),
    ("packing_of_part", {"part_mass": 400, "cavity_volume": 1900, "free_rise_density": 160}),
    ("skin_mean", {"skin_mass": 228, "mold_area": 1450}),
    ("batch_mass", {"a_mass": 150, "b_mass": 300}),
    ("dew_point", {"room_temperature": 15, "relative_humidity": 50}),
    ("dew_point", {"room_temperature": 28, "relative_humidity": 70}),
    ("dew_margin", {"room_temperature": 20, "relative_humidity": 60, "mold_temperature": 17}),
    ("dew_margin", {"room_temperature": 27, "relative_humidity": 75, "mold_temperature": 22}),
]
TIMES = [
    ("mix_fraction", {"mix_time": 30, "cream_time": 45, "material_temperature": 18}),
    ("pour_fraction", {"pour_done": 40, "cream_time": 45, "material_temperature": 25}),
    ("demold_fraction", {"demold_time": 40, "sheet_demold_time": 45, "mold_temperature": 18}),
    ("demold_fraction", {"demold_time": 40, "sheet_demold_time": 45, "room_temperature": 25}),
    ("skin_delay", {"skin_to_foam_time": 30, "sheet_skin_gel": 12, "mold_temperature": 20}),
]


def computed(
    knowledge: Knowledge, name: str, values: dict[str, float], errors: dict[str, float] | None = None
) -> Computed:
    """The derived value *name* from measured *values*."""
    answers = {key: Answer(float(value), "measured", (errors or {}).get(key)) for key, value in values.items()}
    (found,) = [c for c in derive(Case.of(answers), knowledge).computed if c.name == name]
    return found


def spread(knowledge: Knowledge, name: str, values: dict[str, float], errors: dict[str, float]) -> float:
    """Standard deviation of the derived value over readings that scatter by *errors*."""
    rng = random.Random(name)
    return pstdev(
        computed(knowledge, name, {key: rng.gauss(value, errors[key]) for key, value in values.items()}).value
        for _ in range(DRAWS)
    )


def usual(knowledge: Knowledge, values: dict[str, float]) -> dict[str, float]:
    """The usual standard error of each reading, in its unit."""
    return {
        key: knowledge.facts[key].error * (value if knowledge.facts[key].error_relative else 1.0)
        for key, value in values.items()
    }


@pytest.mark.parametrize(("name", "values"), CASES)
def test_error_bar_is_the_spread(knowledge: Knowledge, name: str, values: dict[str, float]) -> None:
    """With the usual errors of the readings the stated error is the simulated spread to 10 %."""
    assert computed(knowledge, name, values).error == pytest.approx(
        spread(knowledge, name, values, usual(knowledge, values)), rel=0.10
    )


@pytest.mark.parametrize(("name", "values"), CASES)
def test_a_stated_error_is_used(knowledge: Knowledge, name: str, values: dict[str, float]) -> None:
    """Where the shop says how good its readings are (a third of the usual), the error bar follows, to 7 %."""
    errors = {key: error / 3 for key, error in usual(knowledge, values).items()}
    assert computed(knowledge, name, values, errors).error == pytest.approx(
        spread(knowledge, name, values, errors), rel=0.07
    )


@pytest.mark.parametrize(("name", "values"), TIMES)
def test_error_bar_of_a_fraction_of_time(knowledge: Knowledge, name: str, values: dict[str, float]) -> None:
    """With readings a third as uncertain as usual, the stated error is that spread and the range of activation energies, never less than the spread."""
    errors = {key: error / 3 for key, error in usual(knowledge, values).items()}
    simulated, stated = spread(knowledge, name, values, errors), computed(knowledge, name, values, errors).error
    assert 0.95 * simulated <= stated
    at_reference = {key: 25.0 if key.endswith("temperature") else value for key, value in values.items()}
    assert computed(knowledge, name, at_reference, errors).error == pytest.approx(
        spread(knowledge, name, at_reference, errors), rel=0.08
    )


@pytest.mark.parametrize(
    ("a", "b", "step"), [(142.0, 300.0, 1.0), (30.0, 60.0, 1.0), (142.0, 300.0, 5.0), (15.0, 30.0, 0.1)]
)
def test_error_bar_of_the_ratio(knowledge: Knowledge, a: float, b: float, step: float) -> None:
    """Reading and tare each off by up to half a step, cups and stick that keep 1 % of the ratio: stated and simulated agree to 6 %."""
    rng = random.Random(7)

    def off() -> float:
        return step * (rng.uniform(-0.5, 0.5) + rng.uniform(-0.5, 0.5))

    errors = [100.0 * (((a + off()) / (b + off())) / (a / b) * (1.0 + rng.gauss(0.0, 0.01)) - 1.0) for _ in range(8000)]
    stated = computed(
        knowledge, "ratio_error", {"a_mass": a, "b_mass": b, "ratio_target": 100 * a / b, "scale_step": step}
    ).error
    assert stated == pytest.approx(pstdev(errors), rel=0.06)


def test_a_remembered_sheet_time_weakens_what_follows(knowledge: Knowledge) -> None:
    """The trust of a fraction of time is that of its least trusted input, the sheet's time among them."""
    answers = {"mix_time": Answer(30.0, "measured"), "cream_time": Answer(45.0, "remembered")}
    assert derive(Case.of(answers), knowledge).facts["mix_fraction"].source == "remembered"


def test_error_bars_are_finite_at_the_ends_of_the_scale(knowledge: Knowledge) -> None:
    """Saturated air and a room at the ends of what can be summed give an error bar all the same."""
    for room, humidity in ((0.0, 100.0), (45.0, 100.0), (45.0, 10.0), (0.0, 10.0)):
        assert (
            0.0
            < computed(knowledge, "dew_point", {"room_temperature": room, "relative_humidity": humidity}).error
            < 20.0
        )
