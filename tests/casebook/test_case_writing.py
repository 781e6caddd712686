"""What is written reads back as the same case, whatever was answered and however it was typed."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import fields

from diagnose.casebook import About, Case, case_from_bytes, case_text, parse_answer, read_case
from diagnose.knowledge import Knowledge, load_knowledge
from diagnose.reasoning.answers import SOURCES, Answer

CASES = sorted((Path(__file__).parents[1] / "cases").glob("*.yaml"))
KNOWLEDGE: Knowledge = load_knowledge()
UNITS = {
    "degC": ("degC", "F", "°C", ""),
    "g": ("g", "kg", "oz", "lb", ""),
    "mL": ("mL", "L", "us gal", ""),
    "mm": ("mm", "in", "cm", ""),
    "min": ("min", "h", "s", ""),
    "percent": ("%", "percent", ""),
    "s": ("s", "min", ""),
    "h": ("h", "days", ""),
    "kg/m^3": ("kg/m^3", "g/mL", "pcf", ""),
}


def back(case: Case) -> Case:
    """Write *case* and read it again."""
    return case_from_bytes(case_text(case, KNOWLEDGE).encode(), "again.yaml", KNOWLEDGE)


def numbers(name: str) -> st.SearchStrategy[str]:
    """Quantities as typed for the number question *name*, within what is believable in the unit stored."""
    entry: Any = KNOWLEDGE.question(name)
    low, high = entry.plausible
    whole = entry.unit == "count"
    value = st.integers(int(low), int(high)) if whole else st.floats(low, high)
    return st.builds(
        lambda number, unit: f"{number!r} {unit}".strip(),
        value,
        st.sampled_from(UNITS.get(entry.unit, ("",) if whole else (entry.unit, ""))),
    )


@st.composite
def answers(draw: st.DrawFn) -> dict[str, tuple[str, str | None]]:
    """Questions with typed answers and sources; the build and the paint are left open, so that nothing contradicts."""
    names = sorted({*KNOWLEDGE.facts, *KNOWLEDGE.checks, *KNOWLEDGE.symptoms} - {"build", "painted"})
    asked = [name for name in names if KNOWLEDGE.question_kind(name)]
    told: dict[str, tuple[str, str | None]] = {}
    for name in draw(st.lists(st.sampled_from(asked), unique=True, max_size=25)):
        entry: Any = KNOWLEDGE.facts.get(name) or KNOWLEDGE.checks.get(name)
        options = (
            []
            if entry is None or entry.kind in ("number", "id")
            else list(getattr(entry, "choices", None) or entry.results)
        )
        if draw(st.integers(0, 6)) == 0:
            text = "unknown"
        elif entry is None:
            text = draw(st.sampled_from(["seen", "absent"]))
        elif entry.kind == "number":
            text = draw(numbers(name))
        elif entry.kind == "many":
            text = ", ".join(
                draw(
                    st.lists(
                        st.sampled_from([o for o in options if o != "nothing"]), min_size=1, max_size=3, unique=True
                    )
                )
            )
        else:
            text = draw(st.sampled_from(options or sorted(KNOWLEDGE.materials)))
        told[name] = (text, draw(st.sampled_from([None, *SOURCES])))
    return told


TEXT = st.text(
    alphabet=st.characters(exclude_categories=["Cs", "Cc", "Co", "Cn", "Zl", "Zp"], exclude_characters="\ufeff"),
    max_size=40,
)
PLAIN = st.recursive(
    TEXT, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(TEXT, inner, max_size=3), max_leaves=8
)


@given(
    answers(),
    TEXT,
    st.dictionaries(st.sampled_from([each.name for each in fields(About) if each.name != "photos"]), TEXT),
    st.dictionaries(st.builds("x_{}".format, TEXT), PLAIN, max_size=2),
)
@settings(max_examples=150, deadline=None)
def test_a_case_reads_back_as_it_was(
    told: dict[str, tuple[str, str | None]], title: str, about: dict[str, str], extra: dict[str, Any]
) -> None:
    """Answers with their values and sources, the title, what it is about and other programs' keys all come back."""
    case = Case(title=title, about=About(**about), extra=extra)
    for name, (text, source) in told.items():
        try:
            case = case.with_answer(name, parse_answer(KNOWLEDGE, name, text, source), text)
        except ValueError:
            continue  # a quantity that its unit takes out of what is believable
    again = back(case)
    known = {name: answer for name, answer in case.values.items() if answer.known}
    assert {name: answer for name, answer in again.values.items() if answer.known} == known
    assert set(again.values) == set(case.values)
    assert (again.title, again.about, again.extra) == (case.title, case.about, case.extra)
    assert case_text(again, KNOWLEDGE) == case_text(back(again), KNOWLEDGE)


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_the_worked_cases_read_back(path: Path) -> None:
    """Each worked case survives being written."""
    case = read_case(path, KNOWLEDGE)
    again = back(case)
    assert again.values == case.values
    assert again.extra == case.extra


def test_keys_of_other_programs_are_written_as_they_came(tmp_path: Path) -> None:
    """A number stays a number and a quoted text a text, for the program whose key it is."""
    path = tmp_path / "owl.yaml"
    path.write_text(
        "case: 1\nanswers: {}\nx_log: {count: 3, code: '3', paid: true, rate: 1.5, none: null, text: 'no', when: 2026-01-02, empty: , list: [1, 'a: b']}\n"
    )
    written = yaml.safe_load(case_text(read_case(path, KNOWLEDGE), KNOWLEDGE))
    assert written["x_log"] == yaml.safe_load(path.read_text())["x_log"]


def test_a_number_is_written_as_it_was_typed() -> None:
    """61 degF is written as 61 degF, not as 16.1111111111; a number without its text is written with all its digits."""
    case = Case().with_answer("mold_temperature", parse_answer(KNOWLEDGE, "mold_temperature", "61 degF"), "61 degF")
    assert "mold_temperature: 61 degF\n" in case_text(case, KNOWLEDGE)
    case = Case().with_answer("mold_temperature", Answer(100 / 7, "measured"))
    assert back(case).values["mold_temperature"] == Answer(100 / 7, "measured")


def test_changing_an_answer_keeps_its_place_and_the_others() -> None:
    """Going back to an answer replaces it where it stood; taking one out leaves the rest."""
    case = (
        Case()
        .with_answer("build", Answer("bare_foam"))
        .with_answer("painted", Answer("no"))
        .with_answer("build", Answer("skin_and_foam"))
    )
    assert case.values == {"build": Answer("skin_and_foam"), "painted": Answer("no")}
    assert list(case.values) == ["build", "painted"]
    assert case.without("build").values == {"painted": Answer("no")}
    assert case.without("cups") == case


def test_nothing_is_written_as_an_alias() -> None:
    """The same list in two places is written twice: an alias would be refused when the file is read."""
    shared = ["a", "b"]
    case = Case(extra={"x_one": shared, "x_two": shared})
    assert back(case).extra == {"x_one": ["a", "b"], "x_two": ["a", "b"]}


def test_it_is_written_as_a_caster_would() -> None:
    """A line for each answer, no quotes round yes, no and plain numbers."""
    case = Case(title="Owl")
    for name, text in (
        ("painted", "no"),
        ("ratio_target", "50"),
        ("thin_skin", "seen"),
        ("where_worst", "top, tips"),
        ("cups", "unknown"),
    ):
        case = case.with_answer(name, parse_answer(KNOWLEDGE, name, text), text)
    case = case.with_answer("mold_dampness", parse_answer(KNOWLEDGE, "mold_dampness", "dry", "told"), "dry")
    assert case_text(case, KNOWLEDGE) == (
        "case: 1\ntitle: Owl\nanswers:\n  painted: no\n  ratio_target: 50\n  symptoms: [thin_skin]\n  where_worst: [top, tips]\n  cups: unknown\n"
        "  mold_dampness: {value: dry, source: told}\n"
    )
