"""What a case file may say, and how each answer is taken."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from diagnose.casebook import About, Case, case_from_bytes, read_case
from diagnose.knowledge import Knowledge
from diagnose.reasoning.answers import Answer

Read = Callable[[str], Case]
CASES = Path(__file__).parents[1] / "cases"

OWL = """\
case: 1                      # format version
title: Owl mask, third pour
answers:
  build: bare_foam
  painted: no
  symptoms: [thin_skin, pinholes]
  symptoms_absent: [tacky_through]
  symptoms_unknown: [short_fill]
  mold_temperature: 61 degF
  mold_dampness: {value: dry, source: remembered}
  where_worst: [top]
  cup_leftover: unknown
about:
  id: "17"
  date: 2026-03-01
  photos: [front.jpg, cut.jpg]
  remarks: poured by the door
x_other: {kept: [as, it, is]}
"""


def test_the_owl(read: Read) -> None:
    """A whole case: symptoms seen, absent and unknown, units, sources, what it is about, and another program's key."""
    case = read(OWL)
    assert case.title == "Owl mask, third pour"
    assert case.values == {
        "build": Answer("bare_foam", "seen"),
        "painted": Answer("no", "seen"),
        "thin_skin": Answer("seen", "seen"),
        "pinholes": Answer("seen", "seen"),
        "tacky_through": Answer("absent", "seen"),
        "short_fill": Answer(None, "seen"),
        "mold_temperature": Answer(16.1111111111, "measured"),
        "mold_dampness": Answer("dry", "remembered"),
        "where_worst": Answer(("top",), "seen"),
        "cup_leftover": Answer(None, "seen"),
    }
    assert (case.build, case.painted) == ("bare_foam", False)
    assert case.about == About(
        id="17", date="2026-03-01", photos=("front.jpg", "cut.jpg"), remarks="poured by the door"
    )
    assert case.extra == {"x_other": {"kept": ["as", "it", "is"]}}
    assert case.answers["mold_temperature"].written == "61 degF"


def test_the_same_owl_as_json(knowledge: Knowledge) -> None:
    """JSON says the same as YAML, with true and false for yes and no and plain numbers."""
    owl = {
        "case": 1,
        "title": "Owl \N{OWL}",
        "answers": {
            "painted": True,
            "symptoms": ["thin_skin"],
            "tape_test": 3,
            "mold_temperature": 16.5,
            "sides_scraped": False,
        },
    }
    for indent in (None, "\t"):
        case = case_from_bytes(json.dumps(owl, indent=indent).encode(), "owl.json", knowledge)
        assert case.title == "Owl \N{OWL}"
        assert case.values == {
            "painted": Answer("yes"),
            "thin_skin": Answer("seen"),
            "tape_test": Answer("3"),
            "mold_temperature": Answer(16.5),
            "sides_scraped": Answer("no"),
        }


@pytest.mark.parametrize(
    ("written", "value"),
    [
        ("yes", "yes"),
        ("no", "no"),
        ("true", "yes"),
        ("false", "no"),
        ("True", "yes"),
        ("NO", "no"),
        ("'no'", "no"),
        ('"true"', "yes"),
    ],
)
def test_yes_and_true_are_the_same(answered: Read, written: str, value: str) -> None:
    """yes, no, true and false are the same for a yes/no fact, in quotes or without."""
    assert answered(f"painted: {written}").values["painted"] == Answer(value, "seen")


@pytest.mark.parametrize(
    ("line", "value", "source"),
    [
        ("mold_temperature: 61 degF", 16.1111111111, "measured"),
        ("mold_temperature: 16", 16.0, "seen"),
        ("mold_temperature: {value: 16, source: measured}", 16.0, "measured"),
        ("mold_temperature: {value: 16 degC, source: told}", 16.0, "told"),
        ("mold_temperature: {value: 16 degC}", 16.0, "measured"),
        ("skin_thickness: 0 mm", 0.0, "measured"),
        ("pigment_percent: 0 %", 0.0, "measured"),
        ("pigment_percent: 0", 0.0, "seen"),
        ("hours_since_demold: 0 h", 0.0, "measured"),
        ("ratio_target: 50:100", 50.0, "measured"),
        ("ratio_target: '1:2'", 50.0, "measured"),
        ("mix_time: 1,5 min", 90.0, "measured"),
        ("b_open_time: 2 months", 8.69642857143, "measured"),
        ("mold_castings: 12", 12.0, "seen"),
        ("mold_dampness: dry", "dry", "seen"),
        ("mold_dampness: {value: dry, source: told}", "dry", "told"),
        ("where_worst: [top, tips]", ("top", "tips"), "seen"),
        ("where_worst: {value: [top], source: told}", ("top",), "told"),
        ("tape_test: 0", "0", "seen"),
        ("material: medium_foam", "medium_foam", "seen"),
        ("cut_face: [fine_even, swirls]", ("fine_even", "swirls"), "seen"),
        ("changed_since_good: [nothing]", ("nothing",), "seen"),
        ("thin_skin: seen", "seen", "seen"),
        ("thin_skin: {value: absent, source: remembered}", "absent", "remembered"),
        ("thin_skin: unknown", None, "seen"),
        ("cup_leftover: unknown", None, "seen"),
        ("where_worst: unknown", None, "seen"),
        ("build: unknown", None, "seen"),
        ("painted: {value: unknown, source: told}", None, "told"),
    ],
)
def test_each_kind_of_answer(answered: Read, line: str, value: object, source: str) -> None:
    """Units, bare numbers, choices, lists, symptoms and "unknown", and the source that each counts as."""
    (answer,) = answered(line).values.values()
    assert (answer.value, answer.source) == (value, source)


def test_an_unknown_build_leaves_every_cause_in_play(answered: Read, knowledge: Knowledge) -> None:
    """With build and paint unknown, paint and skin-coat answers are taken, and all causes are in the result."""
    from diagnose.assessment.consultation import Consultation, ModelCache

    case = answered(
        "build: unknown\nsymptoms: [paint_cracks, skin_peels_clean, blisters]\nskin_mass: 200 g\npaint_kind: enamel"
    )
    assert (case.build, case.painted) == (None, None)
    assert {cause.id for cause in Consultation(ModelCache(knowledge), case).situation.beliefs.causes} == set(
        knowledge.causes
    )


def test_absent_where_it_cannot_be_is_no_contradiction_but_said(answered: Read) -> None:
    """Paint that doesn't crack on an unpainted part is true; that it says nothing is told."""
    case = answered("painted: no\nsymptoms_absent: [paint_cracks]")
    assert case.warnings == ("paint_cracks: looked for, but can't occur on this part; it says nothing",)


def test_order_of_keys_does_not_matter(read: Read) -> None:
    """The answers may stand before the version, the build after what depends on it."""
    case = read("answers:\n  skin_mass: 200 g\n  build: skin_and_foam\ncase: 1\n")
    assert list(case.values) == ["skin_mass", "build"]


@pytest.mark.parametrize("path", sorted(CASES.glob("*.yaml")), ids=lambda path: path.stem)
def test_the_worked_cases_are_read_without_a_warning(knowledge: Knowledge, path: Path) -> None:
    """Each worked case is read, with its keys for other programs kept."""
    case = read_case(path, knowledge)
    assert case.warnings == ()
    assert set(case.extra) == {"x_opening", "x_expect", "x_note"}


def test_the_shipped_example_is_read(knowledge: Knowledge) -> None:
    """So is the example of the documentation."""
    case = read_case(Path(__file__).parents[2] / "docs" / "examples" / "goose-mask.yaml", knowledge)
    assert case.title
    assert case.warnings == ()


def test_the_examples_of_the_documentation_are_read(read: Read) -> None:
    """Each case printed in the documentation is a whole case that is read without a warning."""
    text = (Path(__file__).parents[2] / "docs" / "case-file.md").read_text(encoding="utf-8")
    blocks = [
        block for block in (part.split("```", 1)[0] for part in text.split("```yaml\n")[1:]) if "case: 1" in block
    ]
    assert len(blocks) == 2
    assert all(read(block).warnings == () for block in blocks)


def test_the_refusals_of_the_documentation_are_the_programs(refusal: Callable[[str], list[str]]) -> None:
    """The two messages printed in the documentation are what the program says."""
    text = (Path(__file__).parents[2] / "docs" / "case-file.md").read_text(encoding="utf-8")
    (mass,) = refusal("case: 1\nanswers:\n" + "\n" * 6 + "  mold_temperature: 61 lb\n")
    assert mass.replace("owl.yaml", "goose.yaml") in text.splitlines()
    assert "symptoms: no symptom 'thin_skn', nearest is 'thin_skin'" in text
    assert refusal("case: 1\nanswers: {symptoms: [thin_skn]}\n") == [
        "owl.yaml:2: symptoms: no symptom 'thin_skn', nearest is 'thin_skin'"
    ]
