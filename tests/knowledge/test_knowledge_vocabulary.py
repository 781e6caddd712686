"""Every id that other programs rely on is in the shipped knowledge, with the same choices and units."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from diagnose.knowledge import Knowledge, load_knowledge

IDS: dict[str, Any] = yaml.load(
    (Path(__file__).parent / "vocabulary_ids.yaml").read_text(encoding="utf-8"), Loader=yaml.BaseLoader
)


@pytest.fixture(scope="module")
def shipped() -> Knowledge:
    """The shipped knowledge."""
    return load_knowledge()


def test_the_list_is_whole() -> None:
    """The list of ids has not lost any of its own."""
    counts = {kind: sum(map(len, IDS[kind].values())) for kind in ("symptoms", "causes")} | {
        kind: len(IDS[kind]) for kind in ("facts", "checks")
    }
    assert counts == {"symptoms": 72, "causes": 80, "facts": 91, "checks": 20}


def test_what_was_split_is_gone(shipped: Knowledge) -> None:
    """An id that was split into others names nothing any more."""
    taken = {*shipped.causes, *shipped.symptoms, *shipped.facts, *shipped.checks, *shipped.remedies}
    assert not taken & set(IDS["retired"])


@pytest.mark.parametrize("family", IDS["symptoms"])
def test_symptoms_stand_in_their_family(shipped: Knowledge, family: str) -> None:
    """Each symptom is there, in the family that the vocabulary gives it."""
    assert {name: shipped.symptoms[name].family for name in IDS["symptoms"][family]} == dict.fromkeys(
        IDS["symptoms"][family], family
    )


@pytest.mark.parametrize("stage", IDS["causes"])
def test_causes_stand_in_their_stage(shipped: Knowledge, stage: str) -> None:
    """Each cause is there, at the stage of the work that the vocabulary gives it."""
    assert {name: shipped.causes[name].stage for name in IDS["causes"][stage]} == dict.fromkeys(
        IDS["causes"][stage], stage
    )


@pytest.mark.parametrize("name", [*IDS["facts"], *IDS["checks"]])
def test_questions_have_their_kind_choices_and_unit(shipped: Knowledge, name: str) -> None:
    """Each question has the kind, the unit and all the choices of the vocabulary; choices may be added, none renamed."""
    wanted = IDS["facts"].get(name) or IDS["checks"][name]
    assert shipped.question_kind(name) == ("fact" if name in IDS["facts"] else "check")
    entry = shipped.question(name)
    if "unit" in wanted:
        assert (entry.kind, entry.unit) == ("number", wanted["unit"])
    elif "yes_no" in wanted:
        assert entry.kind == "yes_no"
    elif "id" in wanted:
        assert entry.kind == "id"
    else:
        kind = "many" if "many" in wanted else "choice"
        assert entry.kind == kind
        assert set(wanted["many" if kind == "many" else "choices"]) <= set(entry.options)


def test_every_number_says_what_is_believable(shipped: Knowledge) -> None:
    """No number is taken without bounds: each fact and check with a unit states its plausible range."""
    entries = [*shipped.facts.values(), *shipped.checks.values()]
    assert not [
        entry.id
        for entry in entries
        if entry.kind == "number" and not getattr(entry, "derived", False) and entry.plausible is None
    ]
