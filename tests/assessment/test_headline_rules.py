"""The rules of the headline, one by one, on made-up beliefs: at each threshold and just beside it."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from diagnose.assessment.records import OutOfBounds
from diagnose.assessment.verdict import verdict_of
from diagnose.reasoning.answers import ABSENT, SEEN, Answer
from diagnose.reasoning.inference import Beliefs, CauseBelief


def case_of(
    chances: list[float],
    unexplained: float = 0.0,
    bearing: int = 9,
    together: float = 0.0,
    present: float = 0.0,
    unknown: int = 4,
) -> Any:
    """A case whose causes a, b, c ... have these chances; *bearing* facts are told beside its fault, *unknown* were asked in vain."""
    causes = tuple(CauseBelief("abcdef"[i], p, max(p, present), ()) for i, p in enumerate(chances))
    facts = [f"fact {i}" for i in range(bearing)]
    answers = {"build": Answer("bare_foam"), "painted": Answer("no"), "fault": Answer(SEEN)}
    told = [*answers, *facts, *(f"unknown {i}" for i in range(unknown))]
    return SimpleNamespace(
        symptoms_seen=("fault",),
        case=SimpleNamespace(answers=dict.fromkeys(told)),
        answers={**answers, **{name: Answer("x") for name in facts}},
        knowledge=SimpleNamespace(checks={"check": None}, symptoms={"fault": None, "other fault": None}),
        situation=SimpleNamespace(
            model=SimpleNamespace(bearing=dict.fromkeys([*facts, "build", "painted"])),
            beliefs=Beliefs(causes, unexplained, 0.0, 1.0),
            both_responsible=lambda one, other: together,
        ),
    )


def said(case: Any, outside: tuple[OutOfBounds, ...] = ()) -> tuple[str, str, float]:
    """The kind of the headline, its causes, its chance."""
    found = verdict_of(case, outside)
    return found.kind, "".join(found.causes), found.chance


@pytest.mark.parametrize(
    ("bearing", "unknown", "kind"),
    [(0, 3, "too_little"), (0, 4, "none_fits"), (3, 0, "too_little"), (3, 1, "none_fits")],
)
def test_nothing_is_ruled_off_the_list_before_four_were_asked(bearing: int, unknown: int, kind: str) -> None:
    """Of a fault alone, or with three answers, too little is told, however little the list explains; "don't know" counts as asked."""
    assert said(case_of([0.1], 0.9, bearing, unknown=unknown))[0] == kind


def test_no_fault_no_headline() -> None:
    """Whatever is believed, without a fault there is nothing to be the cause of."""
    case = case_of([0.9])
    case.symptoms_seen = ()
    assert said(case) == ("nothing_seen", "", 0.0)


@pytest.mark.parametrize(
    ("chances", "headline"),
    [
        ([0.9, 0.2], ("one", "a", 0.9)),
        ([0.35, 0.2], ("one", "a", 0.35)),
        ([0.349, 0.1], ("open", "a", 0.349)),
        ([0.45, 0.29], ("one", "a", 0.45)),
        ([0.45, 0.31], ("open", "ab", 0.45)),
        ([0.6, 0.5, 0.4], ("open", "abc", 0.6)),
        ([0.3, 0.3, 0.3, 0.3], ("open", "abc", 0.3)),
        ([0.3, 0.25, 0.249], ("open", "ab", 0.3)),
        ([0.2, 0.1], ("open", "a", 0.2)),
    ],
)
def test_one_cause_or_an_open_question(chances: list[float], headline: tuple[str, str, float]) -> None:
    """One is named alone from 35 % on with 15 points of lead; else those from 25 % on, three at most, and the first in any case."""
    assert said(case_of(chances)) == headline


@pytest.mark.parametrize(
    ("chances", "together", "headline"),
    [
        ([0.6, 0.5], 0.4, ("both", "ab", 0.4)),
        ([0.95, 0.55, 0.5], 0.5, ("both", "ab", 0.5)),
        ([0.6, 0.5], 0.399, ("open", "ab", 0.6)),
        ([0.6, 0.499], 0.45, ("open", "ab", 0.6)),
        ([0.9, 0.499], 0.45, ("one", "a", 0.9)),
    ],
)
def test_two_had_a_part_together(chances: list[float], together: float, headline: tuple[str, str, float]) -> None:
    """Where the second is as likely as not and both together have four chances in ten, neither is named alone."""
    assert said(case_of(chances, together=together)) == headline


@pytest.mark.parametrize(
    ("first", "unexplained", "bearing", "kind"),
    [
        (0.3, 0.6, 9, "none_fits"),
        (0.3, 0.6, 8, "none_fits"),
        (0.3, 0.31, 8, "none_fits"),
        (0.3, 0.26, 8, "none_fits"),
        (0.3, 0.24, 8, "open"),
        (0.4, 0.34, 8, "one"),
        (0.4, 0.36, 8, "none_fits"),
        (0.28, 0.25, 8, "none_fits"),
        (0.24, 0.23, 8, "open"),
        (0.24, 0.245, 8, "none_fits"),
        (0.3, 0.31, 7, "open"),
        (0.3, 0.51, 7, "none_fits"),
        (0.3, 0.49, 4, "open"),
        (0.3, 0.51, 4, "none_fits"),
        (0.3, 0.51, 3, "too_little"),
        (0.3, 0.71, 3, "none_fits"),
        (0.3, 0.69, 0, "too_little"),
        (0.5, 0.99, 9, "one"),
        (0.499, 0.99, 9, "none_fits"),
        (0.2, 0.1, 3, "too_little"),
        (0.2, 0.1, 4, "open"),
        (0.3, 0.1, 0, "open"),
    ],
)
def test_the_less_is_told_the_more_it_takes_to_say_that_nothing_fits(
    first: float, unexplained: float, bearing: int, kind: str
) -> None:
    """Unexplained has to be ahead by 40 points with under four answers that bear, by 20 with under eight; then at all, or from 25 in a
    hundred on it may be 5 points behind. A first cause that is as likely as not is never called a misfit.
    """
    found = said(case_of([first], unexplained, bearing))
    assert found[0] == kind
    assert found[2] == (unexplained if kind == "none_fits" else first)


def test_what_is_measured_out_of_bounds_and_held_is_no_misfit() -> None:
    """From a quarter on that it held; what was only told, or hardly held, leaves the alarm as it is."""
    measured = OutOfBounds("mold_temperature", 9.0, "degC", 18.0, None, ("b",), True)
    told = OutOfBounds("mold_temperature", 9.0, "degC", 18.0, None, ("b",), False)
    case = case_of([0.3, 0.1], 0.9, present=0.25)
    assert said(case, (measured,))[0] == "open"
    assert said(case, (told,))[0] == "none_fits"
    assert said(case_of([0.3, 0.1], 0.9, present=0.2), (measured,))[0] == "none_fits"


@pytest.mark.parametrize(
    ("name", "answer", "counts"),
    [
        ("fact 9", Answer("x"), False),
        ("check", Answer("good"), True),
        ("check", Answer(None), False),
        ("other fault", Answer(ABSENT), True),
        ("build", Answer("bare_foam"), False),
    ],
)
def test_which_answers_bear(name: str, answer: Answer, counts: bool) -> None:
    """Facts that a cause reads, checks and faults said to be absent; not "don't know", not the build, not what nothing reads."""
    case = case_of([0.3], 0.51, bearing=3)
    case.answers[name] = answer
    assert said(case)[0] == ("none_fits" if counts else "too_little")
