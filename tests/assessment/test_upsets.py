"""Which open answers are told because they would turn the order over: at each threshold and just beside it, on made-up questions."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from diagnose.assessment import open_questions
from diagnose.assessment.open_questions import upsets_of
from diagnose.reasoning.prediction import Outcome, Prediction

NAMES = ("a", "b", "c", "not_listed")
BEFORE = np.array((0.5, 0.3, 0.2, 0.1))


def told(name: str, *outcomes: tuple[float, float, float]) -> Prediction:
    """A question with the chance of each answer, and what it makes of a and b; c is never first, what is not listed always likeliest."""
    made = [
        Outcome(f"{name}{i}", p, np.array((a, b, 0.01, 0.99)), np.array(BEFORE)) for i, (p, a, b) in enumerate(outcomes)
    ]
    return Prediction(name, tuple(made), BEFORE, 0.1)


def found(*predictions: Prediction | None, settled: bool = False) -> list[tuple[str, str, float]]:
    """Answer, who would be first (empty: nobody else) and by how much, where a leads with a half."""
    proposals = [SimpleNamespace(prediction=each) for each in predictions]
    case: Any = SimpleNamespace(
        ranking=SimpleNamespace(settled=settled, proposals=proposals),
        situation=SimpleNamespace(
            inference=SimpleNamespace(names=NAMES),
            beliefs=SimpleNamespace(causes=[SimpleNamespace(id="a", probability=0.5)]),
            model=None,
            answers={},
        ),
    )
    return [(str(upset.value), upset.ahead, round(upset.lead, 9)) for upset in upsets_of(case)]


@pytest.mark.parametrize(
    ("chance", "lead", "named"), [(0.02, 0.05, True), (0.0199, 0.3, False), (0.5, 0.0499, False), (0.5, 0.3, True)]
)
def test_an_answer_turns_the_order_over_from_two_chances_in_a_hundred_and_five_points_on(
    chance: float, lead: float, named: bool
) -> None:
    """Less likely it is not worth a warning, less far ahead it is none; what is not listed is never first."""
    assert found(told("q", (chance, 0.0, lead))) == ([("q0", "b", lead)] if named else [])


def test_the_likeliest_and_clearest_two_are_told_each_question_once() -> None:
    """By chance times lead, equal ones by name; of one question only its clearest answer."""
    one, two = told("p", (0.4, 0.3, 0.5), (0.5, 0.3, 0.5)), told("q", (0.3, 0.1, 0.5))
    assert found(one, two) == [("q0", "b", 0.4), ("p1", "b", 0.2)]
    assert found(told("z", (0.4, 0.3, 0.5)), told("y", (0.4, 0.3, 0.5)), told("x", (0.4, 0.3, 0.5))) == [
        ("x0", "b", 0.2),
        ("y0", "b", 0.2),
    ]


@pytest.mark.parametrize(("left", "named"), [(0.349, True), (0.35, False)])
def test_where_none_would_the_deepest_fall_of_more_than_fifteen_points_is_told(left: float, named: bool) -> None:
    """The one answer that leaves least of the first cause, though it stays first; not one that would put another barely ahead."""
    assert found(told("q", (0.5, left, 0.1)), told("p", (0.5, 0.45, 0.2))) == ([("q0", "", 0.0)] if named else [])
    assert found(told("q", (0.5, 0.3, 0.1)), told("p", (0.5, 0.2, 0.1)), told("r", (0.5, 0.1, 0.14))) == [
        ("p0", "", 0.0)
    ]
    assert found(told("r", (0.5, 0.1, 0.14))) == []
    assert found(told("z", (0.5, 0.2, 0.1)), told("y", (0.5, 0.2, 0.1))) == [("y0", "", 0.0)]


def test_questions_without_a_prediction_and_sums_named_twice_count_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """A fault before any is told predicts nothing; grams of A and of B feed one sum; of a settled case all that is open is looked at."""
    flip = told("sum", (0.4, 0.3, 0.5))
    assert found(flip, None, flip) == [("sum0", "b", 0.2)]
    predictor = SimpleNamespace(predict=lambda names: [told(name, (0.4, 0.3, 0.5)) for name in names])
    monkeypatch.setattr(open_questions, "Predictor", lambda situation: predictor)
    monkeypatch.setattr(open_questions, "open_questions", lambda model, answers: ["still open"])
    assert found(flip, settled=True) == [("still open0", "b", 0.2)]
    assert found(flip) == [("sum0", "b", 0.2)]
