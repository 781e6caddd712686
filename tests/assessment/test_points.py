"""The points of the first cause, worked by hand, and which numbers are told to hang it on."""

from __future__ import annotations

import math
from types import SimpleNamespace
from typing import Any

import pytest

from diagnose.assessment import robustness, weight_of_evidence
from diagnose.reasoning.sensitivity import Sensitivity, TippingPoint


def points_of(monkeypatch: pytest.MonkeyPatch, *entries: tuple[str, float]) -> Any:
    """The table of points for weights given in decibans, the prior first."""
    weights = [(name, points * math.log(10.0) / 10.0) for name, points in entries]
    monkeypatch.setattr(weight_of_evidence, "weights_in_order", lambda situation, cause: weights)
    monkeypatch.setattr(
        weight_of_evidence, "evidence_of", lambda c, name, weight, cause: SimpleNamespace(question=name, weight=weight)
    )
    first = SimpleNamespace(id="a")
    case: Any = SimpleNamespace(
        knowledge=SimpleNamespace(causes={"a": first}),
        situation=SimpleNamespace(beliefs=SimpleNamespace(causes=[first])),
    )
    return weight_of_evidence.weights_of(case)


def test_ten_points_are_ten_to_one_and_three_are_two_to_one(monkeypatch: pytest.MonkeyPatch) -> None:
    """Odds of 1:10 before, an answer that makes them tenfold and one that doubles them (Good's decibans)."""
    found = points_of(monkeypatch, ("", -10.0), ("tenfold", 10.0), ("double", 10.0 * math.log10(2.0)))
    assert [(e.question, step) for e, step in found.steps] == [("", -10), ("tenfold", 10), ("double", 3)]
    assert (found.cause, found.few, found.few_points, found.total) == ("a", 0, 0, 3)
    assert found.steps[1][0].weight == pytest.approx(math.log(10.0))


def test_points_are_rounded_on_the_way_so_that_they_add_up(monkeypatch: pytest.MonkeyPatch) -> None:
    """Four times 1.3 are 5.2: one, two, one, one; each rounded by itself would make four."""
    found = points_of(monkeypatch, ("", 0.0), *((name, 1.3) for name in "pqrs"))
    assert [step for _, step in found.steps] == [0, 1, 2, 1, 1]
    assert found.total == 5 == sum(step for _, step in found.steps) + found.few_points


def test_answers_that_say_next_to_nothing_are_one_entry(monkeypatch: pytest.MonkeyPatch) -> None:
    """Those under half a point either way, counted and with what they come to; the start is never among them."""
    found = points_of(
        monkeypatch,
        ("", 0.1),
        ("much", 4.0),
        ("half", 0.5001),
        ("little", 0.4999),
        ("less", -0.4),
        ("more", 0.45),
        ("against", -2.0),
    )
    assert [e.question for e, _ in found.steps] == ["", "much", "half", "against"]
    assert found.few == 3
    assert sum(step for _, step in found.steps) + found.few_points == found.total == 3


def test_what_stands_before_any_answer_is_no_answer(monkeypatch: pytest.MonkeyPatch) -> None:
    """The first entry has no value, no source and no sum behind it."""
    start = points_of(monkeypatch, ("", -7.0)).steps[0][0]
    assert (start.question, start.value, start.source, start.computed, start.indirect) == ("", None, "", False, False)
    assert (start.written, start.weight, start.mechanism, start.sheet, start.with_answers) == ("", 0.0, "", "", ())


def tips(*points: tuple[str, float, str]) -> list[tuple[str, str]]:
    """Name and rival of the numbers told, of these with their factor and rival, nearest first."""
    tipping = tuple(TippingPoint("base", name, "", 0.1, 0.2, factor, rival) for name, factor, rival in points)
    case: Any = SimpleNamespace(situation=None, knowledge=SimpleNamespace(causes={"a": None}, symptoms={}))
    verdict: Any = SimpleNamespace(kind="both", causes=("a", "partner"))
    patched = pytest.MonkeyPatch()
    with patched.context() as patch:
        patch.setattr(robustness, "sensitivity", lambda situation: Sensitivity("a", tipping, ()))
        return [(tip.name, tip.rival) for tip in robustness.robustness_of(case, verdict).tipping]


@pytest.mark.parametrize(
    ("points", "told"),
    [
        ((), []),
        ((("p", 90.0, "b"),), [("p", "b")]),
        ((("p", 2.0, "b"), ("q", 3.0, "b"), ("r", 4.0, "c"), ("s", 5.0, "d")), [("p", "b"), ("r", "c")]),
        ((("p", 2.0, "b"), ("q", 10.0, "c")), [("p", "b"), ("q", "c")]),
        ((("p", 2.0, "c"), ("q", 3.0, "b")), [("p", "c"), ("q", "b")]),
        ((("p", 2.0, "b"), ("q", 3.0, "c"), ("r", 3.0, "d")), [("p", "b"), ("q", "c")]),
        ((("p", 2.0, "b"), ("q", 10.1, "c")), [("p", "b")]),
        ((("p", 2.0, "partner"), ("q", 3.0, "b"), ("not_listed", 1.5, "b")), [("q", "b")]),
    ],
)
def test_the_nearest_number_and_one_more_for_another_rival(
    points: tuple[tuple[str, float, str], ...], told: list[tuple[str, str]]
) -> None:
    """The nearest whatever it is; a second only within ten times the odds and for another rival; never for a partner, never the unlisted."""
    assert tips(*points) == told
