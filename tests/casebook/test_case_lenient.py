"""A page that comes back from a client: what is usable of it is kept beside every fault; and the schema of case files."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest
import yaml

from diagnose.casebook import About, Limits, case_from_bytes, read_case, usable_case
from diagnose.casebook.case_reading import case_schema
from diagnose.errors import FileFaults
from diagnose.knowledge import Knowledge
from diagnose.reasoning.answers import Answer

ROOT = Path(__file__).parents[2]
RETURNED = """\
case: 1
title: Owl mask
answers:
  build: bare_foam
  painted: no
  symptoms: [thin_skin, thin_skn, paint_cracks]
  mold_temperature: 61 lb
  material_temperature: 70 degF
  answer_of_an_older_page: yes
  where_worst: [top, middle]
about: {client: north, photos: cut.jpg, remarks: by the door}
x_page: {round: 1}
note: hello
"""


def test_what_is_usable_is_kept_beside_the_faults(knowledge: Knowledge, tmp_path: Path) -> None:
    """Unknown ids, wrong units, contradictions and unknown keys are faults; all else is a case."""
    path = tmp_path / "back.yaml"
    path.write_text(RETURNED, encoding="utf-8")
    case, faults = read_case(path, knowledge, lenient=True)
    assert case.values == {
        "build": Answer("bare_foam"),
        "painted": Answer("no"),
        "thin_skin": Answer("seen"),
        "material_temperature": Answer(21.1111111111, "measured"),
    }
    assert case.about == About(client="north", remarks="by the door")
    assert (case.title, case.extra) == ("Owl mask", {"x_page": {"round": "1"}})
    assert [(fault.line, fault.column) for fault in faults] == [
        (6, 25),
        (6, 35),
        (7, 21),
        (9, 3),
        (10, 3),
        (11, 32),
        (13, 1),
    ]
    with pytest.raises(FileFaults) as caught:
        read_case(path, knowledge)
    assert caught.value.faults == faults


@pytest.mark.parametrize(
    "data", [b"", b"[", b"\xff", b"- a", b"case: 2", b"a\0b", b"answers: 3\ncase: 1", b"case: 1\nanswers: {}\nabout: 4"]
)
def test_whatever_comes_back_is_a_case_and_faults(knowledge: Knowledge, data: bytes) -> None:
    """Nothing usable is an empty case; it is never without a fault, and never raised."""
    case, faults = usable_case(data, "back.yaml", knowledge)
    assert case.values == {}
    assert faults


def test_limits_are_the_callers(knowledge: Knowledge) -> None:
    """Size, number of values and other programs' keys can be bounded; by default they are those of a case file."""
    data = b"case: 1\nanswers: {build: bare_foam}\nx_other: {a: 1}\n"
    assert case_from_bytes(data, "a.yaml", knowledge).extra == {"x_other": {"a": "1"}}
    _, faults = usable_case(data, "a.yaml", knowledge, Limits(size=20))
    assert [str(fault) for fault in faults] == ["a.yaml: over 20 bytes, expected a case of at most 20 bytes"]
    _, faults = usable_case(data, "a.yaml", knowledge, Limits(values=5))
    assert [fault.message for fault in faults] == ["more than 5 keys and values"]
    case, faults = usable_case(data, "a.yaml", knowledge, Limits(extra=False))
    assert (case.extra, case.values) == ({}, {"build": Answer("bare_foam")})
    assert [str(fault) for fault in faults] == ["a.yaml:3: x_other: unknown key"]


@pytest.mark.parametrize("path", [*sorted((ROOT / "tests" / "cases").glob("*.yaml"))], ids=lambda path: path.stem)
def test_the_schema_accepts_the_worked_cases(knowledge: Knowledge, path: Path) -> None:
    """The schema made from the same kinds takes what the reader takes."""
    schema = case_schema(knowledge)
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.Draft202012Validator(schema).validate(
        json.loads(json.dumps(yaml.safe_load(path.read_text()), default=str))
    )


@pytest.mark.parametrize(
    "text",
    [
        "case: 2\nanswers: {}\n",
        "case: 1\n",
        "case: 1\nanswers: {symptoms: [thin_skn]}\n",
        "case: 1\nanswers: {build: bare}\n",
        "case: 1\nanswers: {where_worst: [top, top]}\n",
        "case: 1\nanswers: {build: {value: bare_foam, source: guessed}}\n",
        "case: 1\nanswers: {ratio_error: 5}\n",
        "case: 1\nanswers: {}\nabout: {photo: a}\n",
        "case: 1\nanswers: {}\nnote: a\n",
    ],
)
def test_the_schema_refuses_what_the_reader_refuses(knowledge: Knowledge, text: str) -> None:
    """An editor tells the same slips."""
    with pytest.raises(FileFaults):
        case_from_bytes(text.encode(), "a.yaml", knowledge)
    assert list(jsonschema.Draft202012Validator(case_schema(knowledge)).iter_errors(yaml.safe_load(text)))
