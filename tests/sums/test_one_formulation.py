"""One number for one thing: what a case derives, what its sheet tells and what `diagnose sum` prints are the same figures."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from pathlib import Path

import pytest

from diagnose.casebook import Case, case_from_bytes, read_case
from diagnose.casebook.derive import DERIVED, derive
from diagnose.casebook.sheet import sheet_of
from diagnose.commands.main import run as run_here
from diagnose.knowledge import Knowledge, load_knowledge
from diagnose.reasoning.answers import Answer

CASES = Path(__file__).parents[1] / "cases"
#: one casting of each build with all that can be told, so that every sum is met
WHOLE = {
    "bare": """case: 1
answers:
  build: bare_foam
  painted: yes
  symptoms: [short_fill]
  ratio_target: 50
  a_mass: 142 g
  b_mass: 300 g
  scale_step: 1 g
  cavity_volume: 1900 mL
  free_rise_density: 160 kg/m^3
  charge_mass: 415 g
  part_mass: 395 g
  opening_diameter: 60 mm
  section_thickness: 75 mm
  narrowest_gap: 6 mm
  travel_length: 120 mm
  room_temperature: 20 degC
  relative_humidity: 65 %
  mold_temperature: 15 degC
  material_temperature: 17 degC
  cream_time: 45 s
  sheet_demold_time: 45 min
  mix_time: 20 s
  pour_done: 35 s
  demold_time: 40 min
""",
    "skinned": """case: 1
answers:
  build: skin_and_foam
  painted: no
  symptoms: [short_fill]
  cavity_volume: 1500 mL
  free_rise_density: 200 kg/m^3
  part_mass: 340 g
  mold_area: 1450 cm^2
  skin_mass: 228 g
  sheet_skin_gel: 12 min
  skin_to_foam_time: 50 min
  mold_temperature: 21 degC
  sheet_demold_time: 60 min
  demold_time: 90 min
""",
}


@pytest.fixture(scope="module")
def knowledge() -> Knowledge:
    """The shipped knowledge."""
    return load_knowledge()


def cases(knowledge: Knowledge) -> Iterator[Case]:
    """The two whole castings and every worked case."""
    for name, text in WHOLE.items():
        yield case_from_bytes(text.encode(), f"{name}.yaml", knowledge)
    for path in sorted(CASES.glob("*.yaml")):
        yield read_case(path, knowledge)


def typed(capsys: pytest.CaptureFixture[str], name: str, inputs: Mapping[str, object]) -> dict[str, dict[str, object]]:
    """The figures that `diagnose sum NAME --json` prints for inputs typed as bare numbers."""
    words = [f"--{key.replace('_', '-')}={value!r}".replace("'", "") for key, value in inputs.items()]
    assert run_here(["sum", name, *words, "--json"]) == 0, (name, inputs)
    figures: dict[str, dict[str, object]] = json.loads(capsys.readouterr().out)["figures"]
    return figures


def test_every_derived_fact_is_what_its_sum_prints(knowledge: Knowledge, capsys: pytest.CaptureFixture[str]) -> None:
    """Each value that a case computes comes out of `diagnose sum` when its inputs are typed there."""
    met = set()
    for case in cases(knowledge):
        found = derive(case, knowledge)
        answers = found.all_answers(case)
        for computed in found.computed:
            fact = next(f for f in DERIVED if f.name == computed.name and set(f.needs) <= set(computed.inputs))
            inputs = {name: answers[name].value for name in computed.inputs}
            figure = typed(capsys, fact.sum, inputs)[computed.name]
            assert figure["value"] == pytest.approx(computed.value, rel=1e-9), computed.name
            assert figure["unit"] == computed.unit
            met.add(computed.name)
    assert met == {fact.name for fact in DERIVED}


def test_every_line_of_the_sheet_is_what_its_sum_prints(
    knowledge: Knowledge, capsys: pytest.CaptureFixture[str]
) -> None:
    """Value and both ends of each line that is a sum; a line that is none is a practice number or a share of another line."""
    renamed = {"still_until": "rise_time"}
    met = set()
    for case in cases(knowledge):
        for line in sheet_of(case, knowledge):
            if line.value is None or not line.calculation:
                continue
            figure = typed(capsys, line.calculation, dict(line.inputs))[renamed.get(line.id, line.id)]
            ends = figure["range"] or [figure["value"], figure["value"]]
            assert isinstance(ends, list)
            by = {"near": figure["value"], "down": ends[0], "up": ends[1]}[line.goes_by]
            if line.id not in (
                "demold",
                "a_mass",
                "b_mass",
            ):  # may be raised to a time that was too early; ends of the whole
                assert [line.low, line.high] == [pytest.approx(end, rel=1e-9) for end in ends] or figure[
                    "range"
                ] is None
            assert line.value == pytest.approx(by, rel=1e-9) or "too early" in line.assumes, line.id
            met.add(line.id)
    assert met >= {
        "mix_mass",
        "a_mass",
        "b_mass",
        "warm",
        "finish_pouring",
        "demold",
        "paint",
        "skin_mix",
        "window",
        "load",
    }


def test_derived_facts_and_the_sheet_go_by_the_same_numbers(knowledge: Knowledge) -> None:
    """What two rooms say of one thing fits: the time asked for and the share of it that had run, the coat, the packing."""
    bare, skinned = (case_from_bytes(WHOLE[name].encode(), name, knowledge) for name in ("bare", "skinned"))
    for case in (bare, skinned):
        facts = {c.name: c.value for c in derive(case, knowledge).computed}
        lines = {line.id: line for line in sheet_of(case, knowledge)}
        told = {name: answer.value for name, answer in case.values.items() if isinstance(answer.value, float)}
        middle = told["demold_time"] / facts["demold_fraction"]
        assert (lines["demold"].low or 0) < middle < (lines["demold"].high or 0)
        pour = (lines["mix_mass"].value or 0) * (1 - knowledge.practice["bucket_loss"].mid / 100)
        again = derive(case.with_answer("charge_mass", Answer(pour, "measured")), knowledge)
        against = {c.name: c.value for c in again.computed}["packing_against_usual"]
        assert against == pytest.approx(1.0, rel=1e-9)
    opens = (lines["window"].low or 0) / (told["skin_to_foam_time"] / facts["skin_delay"])
    assert opens == pytest.approx(2.5, rel=0.15)
    coat = (lines["skin_mix"].value or 0) * (1 - knowledge.practice["skin_loss"].mid / 100)
    mean = derive(skinned.with_answer("skin_mass", Answer(coat, "measured")), knowledge)
    assert {c.name: c.value for c in mean.computed}["skin_mean"] == pytest.approx(
        knowledge.practice["skin_thickness"].mid, rel=1e-9
    )


def test_what_a_derived_fact_needs_is_what_the_knowledge_says(knowledge: Knowledge) -> None:
    """`needs:` of each derived entry is what its row of the table needs, and each name goes into the sum."""
    for fact in DERIVED:
        inputs = {item.name for item in fact.calculation.inputs}
        assert {*fact.needs, *fact.also, *fact.exact} <= inputs, fact.name
    first = {fact.name: fact for fact in reversed(DERIVED)}
    derived = {name: entry for name, entry in knowledge.facts.items() if entry.derived}
    assert set(first) == set(derived)
    for name, entry in derived.items():
        assert set(entry.needs) == set(first[name].needs), name
