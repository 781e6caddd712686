"""What a question is worth: never less than nothing, nothing where no answer changes the plan, and more than chance in play."""

import importlib.util
import random
import sys
from pathlib import Path
from statistics import mean

import numpy as np
import pytest

from diagnose.assessment.consultation import Consultation
from diagnose.casebook.case import Case
from diagnose.reasoning.answers import SEEN, Answer
from diagnose.reasoning.network import CONTEXT
from diagnose.reasoning.prediction import Outcome, Prediction, Predictor, open_questions
from diagnose.reasoning.situation import Situation
from diagnose.reasoning.value_of_information import (
    LATER,
    LISTED,
    PlanValue,
    candidates,
    chance_of_answer,
    questions_about,
)

CASES = (
    "bat-ears-after-a-clean",
    "brains-on-the-ridges",
    "short-fingers-in-a-cold-shop",
    "soft-and-sticky-hands",
    "tusks-in-march",
)


@pytest.fixture(scope="module")
def compare():
    """The command that compares ways of asking."""
    spec = importlib.util.spec_from_file_location("compare_questions", Path(__file__).with_name("compare_questions.py"))
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


def half_told(consultation, seed=0):
    """The case with its symptoms and half of its other answers."""
    answers = consultation.case.values
    rng = random.Random(f"{seed}")
    kept = {
        n: a
        for n, a in answers.items()
        if n in ("build", "painted") or (n in consultation.knowledge.symptoms and a.value == SEEN) or rng.random() < 0.5
    }
    return Consultation(consultation.models, Case.of(kept))


@pytest.fixture(scope="module", params=CASES)
def choosing(request, consulted):
    """A worked case half told, the sets of remedies that answers decide between, and the predictions of all that is open."""
    consultation = half_told(consulted[request.param])
    predictions = Predictor(consultation.situation).predict(
        open_questions(consultation.situation.model, consultation.answers)
    )
    return consultation, PlanValue(consultation.next_pour), predictions


def test_an_answer_never_costs(choosing):
    """The saving on the plan is nothing or more for every open question, and no more than another bad part."""
    _, plans, predictions = choosing
    savings = [plans.saving(prediction)[0] for prediction in predictions]
    assert min(savings) >= 0.0
    assert 0.0 < max(savings) < plans.bad_part


def test_no_saving_where_no_answer_changes_the_plan(choosing):
    """A question whose answers leave every belief where it was saves exactly nothing and changes no plan."""
    _, plans, predictions = choosing
    before = predictions[0].before
    idle = Prediction(
        "idle",
        tuple(Outcome(value, chance, before, before) for value, chance in (("yes", 0.3), ("no", 0.7))),
        before,
        0.0,
    )
    assert plans.saving(idle) == (0.0, False)


def test_saving_only_where_answers_want_different_sets(choosing):
    """A saving is the mean of what the one best set for all answers loses to the best for each: nothing exactly if one set is best for each."""
    _, plans, predictions = choosing
    some_saves, some_not = False, False
    for prediction in predictions:
        chance = np.array([o.chance for o in prediction.outcomes])
        cost = np.array(
            [
                [price + plans.bad_part * (1.0 - np.prod(1.0 - o.probability * left)) for o in prediction.outcomes]
                for price, left in zip(plans.price, plans.left, strict=True)
            ]
        )
        one = np.min(cost @ chance)
        each = float(np.sum(chance * cost.min(axis=0)))
        assert plans.saving(prediction)[0] == pytest.approx(one - each, abs=1e-9)
        shared = bool(np.any(np.all(cost <= cost.min(axis=0) + 1e-12, axis=1)))
        assert not shared or plans.saving(prediction)[0] < 1e-9
        some_saves |= plans.saving(prediction)[0] > 0.01
        some_not |= shared
    assert some_saves
    assert some_not


def test_each_question_stands_once(consulted):
    """A question that tells something itself and feeds a sum too is proposed once, where it is worth most."""
    for name, consultation in consulted.items():
        for seed in range(2):
            proposed = [p.question for p in half_told(consultation, seed).ranking.proposals]
            assert len(proposed) == len(set(proposed)), name
    brains = consulted["brains-on-the-ridges"]
    opening = {
        n: a
        for n, a in brains.case.values.items()
        if n in ("build", "painted") or (n in brains.knowledge.symptoms and a.value == SEEN)
    }
    consultation = Consultation(brains.models, Case.of(opening))
    behind = [c.question for c in candidates(consultation.situation.model, consultation.answers)]
    assert behind.count("skin_to_foam_time") == 2


def test_each_question_proposed_pays(choosing):
    """What is proposed saves or teaches more than its minutes and the caller's patience cost, counted from its prediction."""
    consultation, plans, _ = choosing
    costs = consultation.costs
    for p in consultation.ranking.proposals:
        share = p.gain_bits / p.prediction.gain_bits
        value = share * (plans.saving(p.prediction)[0] + costs.bit * p.prediction.gain_bits)
        answered = chance_of_answer(consultation.situation.model, p.question)
        assert answered * (value - costs.hour / 60 * p.minutes) > costs.question


def test_a_question_less_often_answered_is_worth_less(choosing):
    """What needs a new pour, and what the caller has already passed over in the list of symptoms, is put behind what is in hand."""
    model, knowledge = choosing[0].situation.model, choosing[0].knowledge
    later = next(c for c in knowledge.checks.values() if not c.in_hand)
    symptom = next(iter(knowledge.symptoms.values()))
    hand = next(c for c in knowledge.checks.values() if c.in_hand)
    assert chance_of_answer(model, later.id) == LATER * later.answerable < later.answerable
    assert chance_of_answer(model, symptom.id) == LISTED * symptom.answerable < symptom.answerable
    assert chance_of_answer(model, hand.id) == hand.answerable


def test_drawn_cases_follow_the_model(compare, models):
    """Drawn causes keep opposites apart, told symptoms truly show, and who had a part truly held."""
    drawer = compare.Drawer(compare.Model(models.knowledge, "bare_foam", False), "seed")
    assert not any(drawer.model.opposite(c) in drawer.holding for c in drawer.holding if c in drawer.model.causes)
    for case in compare.draw(models, 8, "check"):
        told = [n for n, a in case.opening.items() if a.value == SEEN]
        assert 1 <= len(told) <= 2
        assert case.guilty
        assert 0.2 < mean(answer.known for answer in case.replies.values()) < 0.8


def test_causes_are_drawn_as_often_as_their_base_rate(compare, models):
    """Over 400 draws each cause holds as often as its base rate says, to four standard errors."""
    model = compare.Model(models.knowledge, "skin_and_foam", False)
    held = [compare.Drawer(model, f"{i}").holding for i in range(400)]
    for name, base in model.base.items():
        assert abs(mean(name in h for h in held) - base) <= 4.0 * (base * (1.0 - base) / 400) ** 0.5 + 1e-9, name


def test_ours_is_no_worse_than_random(compare, models):
    """Twenty drawn cases: after as many questions in a random order the plan costs no less, and the true cause is first no oftener."""
    cases = compare.draw(models, 20)
    ours = [compare.ask(case, compare.OURS, "") for case in cases]
    random_order = [
        compare.ask(case, "random order", f"{i}", mine.asked, stop=True)
        for i, (case, mine) in enumerate(zip(cases, ours, strict=True))
    ]
    assert [r.asked for r in random_order] == [r.asked for r in ours]
    assert mean(r.cost for r in ours) <= mean(r.cost for r in random_order)
    assert mean(r.right for r in ours) >= mean(r.right for r in random_order)


def test_before_a_fault_is_told_what_chooses_the_model_comes_first(consulted):
    """Build and paint, unless they are answered; then faults alone, since there is nothing to explain yet."""
    models = consulted[CASES[0]].models
    first = [p.question for p in Consultation(models, Case.of({})).ranking.proposals]
    assert first[:2] == ["build", "painted"]
    told = [p.question for p in Consultation(models, Case.of({"build": Answer("bare_foam")})).ranking.proposals]
    assert told[0] == "painted"
    assert "build" not in told
    assert set(told[1:]) <= set(models.knowledge.symptoms)


def test_questions_about_some_causes_tell_of_them_and_stand_once(consulted):
    """With a fault alone told: no other fault, each once, best first, none under the bits asked for, and fewer where more is asked."""
    full = consulted["bat-ears-after-a-clean"]
    seen = {name: answer for name, answer in full.answers.items() if name in full.situation.seen or name in CONTEXT}
    situation = Situation(full.situation.model, seen)
    causes = {cause.id for cause in situation.beliefs.causes[:5]}
    found = questions_about(situation, full.costs, causes, 0.01)
    names = [p.question for p in found]
    assert len(names) == len(set(names)) > 1
    assert not set(names) & set(full.knowledge.symptoms)
    assert [p.worth for p in found] == sorted((p.worth for p in found), reverse=True)
    assert min(p.gain_bits for p in found) >= 0.01
    assert {(p.saving, p.changes_plan) for p in found} == {(0.0, False)}, "no plan is weighed"
    fewer = questions_about(situation, full.costs, causes, sorted(p.gain_bits for p in found)[1])
    assert len(fewer) == len(found) - 1
