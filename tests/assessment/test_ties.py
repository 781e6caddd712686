"""What differs by less than the digits that are kept decides nothing, by more it does: so that no order hangs on a machine's last bits."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from diagnose.assessment.accounts import accounts_of, unaccounted
from diagnose.assessment.advice import best_remedy
from diagnose.assessment.bounds import measured_causes
from diagnose.assessment.evidence import speaking
from diagnose.assessment.open_questions import next_checks, upsets_of
from diagnose.assessment.pour_risk import pour_risk
from diagnose.assessment.records import OutOfBounds
from diagnose.assessment.saving import _Tried
from diagnose.knowledge.model import Link
from diagnose.reasoning.answers import SEEN, Answer
from diagnose.reasoning.inference import Beliefs, CauseBelief
from diagnose.reasoning.plan import Costs
from diagnose.reasoning.prediction import Outcome, Prediction
from diagnose.reasoning.value_of_information import Proposal

COSTS = Costs(40.0, 1.0, {"none": 0.0}, 150.0, 1.0, 1.0)
#: by so much more than x has z: under the tenth digit, and over it
TEN = pytest.mark.parametrize(("more", "first"), [(3e-11, "x"), (3e-10, "z")])


def remedy(name: str, **fixes: float) -> Any:
    """A remedy for the pour that costs nothing."""
    links = {cause: Link("", chance, "") for cause, chance in fixes.items()}
    return SimpleNamespace(id=name, when="next_pour", minutes=0.0, wait_minutes=0.0, material="none", fixes=links)


def beliefs(**causes: tuple[float, float]) -> Any:
    """A case with these causes: had a part, held."""
    made = tuple(CauseBelief(name, part, held, ()) for name, (part, held) in causes.items())
    return SimpleNamespace(
        situation=SimpleNamespace(beliefs=Beliefs(made, 0.0, 0.0, 1.0)), costs=COSTS, allows=lambda r: True
    )


@pytest.mark.parametrize(("more", "first"), [(3e-7, "x"), (3e-6, "z")])
def test_of_two_remedies(more: float, first: str) -> None:
    """To a millionth of what they mend, and of what they come to: then the name."""
    case = beliefs(a=(1.0, 1.0))
    case.knowledge = SimpleNamespace(remedies={r.id: r for r in (remedy("z", a=0.5 + more), remedy("x", a=0.5))})
    found = best_remedy(case, "a")
    assert found is not None
    assert found.id == first
    x, z = _Tried(remedy("x"), 10.0 + more, 0.5), _Tried(remedy("z"), 10.0, 0.5)
    assert min((x, z), key=lambda tried: (tried.comes_to(100.0), tried.remedy.id)).remedy.id == first


@TEN
def test_of_two_causes_of_one_value(more: float, first: str) -> None:
    """By chance of a part, then of having held; and in the order of several values."""
    for case in (beliefs(x=(0.3, 0.5), z=(0.3 + more, 0.5)), beliefs(x=(0.3, 0.5), z=(0.3, 0.5 + more))):
        (found,) = measured_causes(case, [OutOfBounds("t", 1.0, "", 2.0, None, ("z", "x"), True)])
        assert found.id == first
    case = beliefs(x=(0.3, 0.5), z=(0.3 + more, 0.5))
    found_both = measured_causes(case, [OutOfBounds("t", 1.0, "", 2.0, None, (name,), True) for name in "zx"])
    assert found_both[0].id == first


@TEN
def test_of_two_causes_of_a_fault(more: float, first: str) -> None:
    """The one that accounts for it; 45 % to the tenth digit is enough to."""
    inference = SimpleNamespace(
        positive=[SimpleNamespace(question="f"), SimpleNamespace(question="g")],
        names=("z", "x", "not_listed"),
        responsible_for=lambda symptom: (
            np.array((0.5 + more, 0.5, 0.9)) if symptom == "f" else np.array((0.0, 0.45 - more, 0.9))
        ),
    )
    case: Any = SimpleNamespace(situation=SimpleNamespace(inference=inference), symptoms_seen=("f", "g"))
    assert [account.cause for account in accounts_of(case)] == [first, "x"]
    assert unaccounted(case) == (() if first == "x" else ("g",))


@TEN
def test_of_two_answers_for_a_cause(more: float, first: str) -> None:
    """The stronger first; a fifth to the tenth digit speaks."""
    names = ("z", "x", "barely")
    belief = CauseBelief("a", 0.5, 0.5, [("z", 1.0 + more), ("x", 1.0), ("barely", 0.2 - more)])
    cause = SimpleNamespace(symptoms={}, checks={}, facts={})
    case: Any = SimpleNamespace(
        knowledge=SimpleNamespace(causes={"a": cause}, facts={}, checks={}, symptoms=dict.fromkeys(names)),
        answers={name: Answer(SEEN) for name in names},
        situation=SimpleNamespace(model=None),
        derivation=SimpleNamespace(computed=[], filled=set()),
        case=SimpleNamespace(written={}),
    )
    told, against = speaking(case, belief)
    assert [each.question for each in told][:1] == [first]
    assert (len(told), against) == (3 if first == "x" else 2, ())


def predicted(name: str, chance: float, *after: float) -> Prediction:
    """A question with one answer."""
    return Prediction(name, (Outcome("said", chance, np.array(after), np.array(after)),), np.array((0.5, 0.3)), 0.1)


def open_case(*predictions: Prediction) -> Any:
    """A case in which a leads with a half, b is its rival, and these are open."""
    return SimpleNamespace(
        ranking=SimpleNamespace(settled=False, proposals=[SimpleNamespace(prediction=each) for each in predictions]),
        situation=SimpleNamespace(
            inference=SimpleNamespace(names=("a", "b")),
            beliefs=SimpleNamespace(causes=[SimpleNamespace(id="a", probability=0.5)]),
        ),
        knowledge=SimpleNamespace(checks={}),
    )


@TEN
def test_of_two_answers_that_would_turn_the_order_over(more: float, first: str) -> None:
    """By chance times lead, by what is left, and which cause is first at all."""
    flips = upsets_of(open_case(predicted("z", 0.5 + more, 0.0, 1.0), predicted("x", 0.5, 0.0, 1.0)))
    assert flips[0].question == first
    deep = upsets_of(open_case(predicted("z", 0.5, 0.2 - more, 0.1), predicted("x", 0.5, 0.2, 0.1)))
    assert [upset.question for upset in deep] == [first]
    ahead = upsets_of(open_case(predicted("q", 0.5, 0.2, 0.2 + more)))
    assert len(ahead) == (1 if first == "x" else 0)


@TEN
def test_of_two_causes_that_a_check_parts(more: float, first: str) -> None:
    """Most moved first."""
    case = open_case()
    case.situation.inference.names = ("z", "x")
    proposal = Proposal("q", 0.1, 1.0, 0.0, 1.0, 1.0, False, predicted("q", 1.0, 0.6 + more, 0.4))
    assert next_checks(case, [proposal])[0].parts[0] == first


def planned(now: dict[str, float], *remedies: Any) -> Any:
    """The risk of a pour with these chances of causes that have one in ten."""
    symptoms = {name: SimpleNamespace(background=0.0) for name in (f"of {cause}" for cause in now)}
    model = SimpleNamespace(
        priors=lambda facts: dict.fromkeys(now, 0.1),
        causes=dict.fromkeys(now),
        bearing={},
        build=None,
        painted=None,
        knowledge=SimpleNamespace(symptoms=symptoms, applies=lambda *part: True),
        symptom_links=lambda symptom: {symptom[-1]: 1.0},
    )
    network = SimpleNamespace(causes=tuple(now), priors=tuple(now.values()))
    case: Any = SimpleNamespace(
        situation=SimpleNamespace(model=model, network=network),
        knowledge=SimpleNamespace(remedies={r.id: r for r in remedies}, practice={}),
        costs=COSTS,
        allows=lambda r: True,
        answers={},
    )
    return pour_risk(case)


@TEN
def test_of_two_risks(more: float, first: str) -> None:
    """Faults, causes, and what a change lowers: most raised first."""
    found = planned({"z": 0.5 + more, "x": 0.5}, remedy("r", z=1.0, x=1.0))
    assert (found.faults[0].symptom, found.causes[0].cause, found.changes[0].causes[0]) == (f"of {first}", first, first)


@pytest.mark.parametrize(("more", "first"), [(3e-10, "x"), (3e-9, "z")])
def test_of_two_changes_before_the_pour(more: float, first: str) -> None:
    """To nine digits of money, and of what mending a cause costs."""
    found = planned({"x": 0.5}, remedy("z", x=0.5 + more / 60), remedy("x", x=0.5))
    assert found.changes[0].remedy == first
    dear, dearer = remedy("z", x=0.5), remedy("x", x=0.5)
    dear.minutes, dearer.minutes = 1.5, 1.5 + more * 60 / 40 / 2
    assert planned({"x": 0.5}, dear, dearer).causes[0].remedy == first
