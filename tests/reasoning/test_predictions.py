"""What a question is predicted to do against what its answer really does, over the worked cases."""

import numpy as np
import pytest

from diagnose.reasoning.answers import ABSENT, SEEN, Answer
from diagnose.reasoning.inference import Inference
from diagnose.reasoning.network import Network
from diagnose.reasoning.prediction import Predictor, open_questions
from diagnose.reasoning.situation import Situation
from diagnose.reasoning.value_of_information import SHORTLIST

CASES = (
    "bat-ears-after-a-clean",
    "brains-on-the-ridges",
    "one-to-two-of-what",
    "short-fingers-in-a-cold-shop",
    "wiped-and-painted",
)


@pytest.fixture(scope="module", params=CASES)
def asking(request, consulted):
    """One worked case, its asker, and the predictions for all that is open."""
    situation = consulted[request.param].situation
    asker = Predictor(situation)
    return situation, asker, asker.predict(open_questions(situation.model, situation.answers))


def present(model, answers):
    """P(held) by cause after *answers*."""
    return {c.id: c.present for c in Situation(model, answers).beliefs.causes}


def given(model, question, value):
    """The answer *value* as it would really be given: seen, and for a band of a number its middle, without error."""
    check = model.knowledge.checks.get(question)
    if check is not None and check.kind == "number":
        low, high = check.results[value].low, check.results[value].high
        middle = low + 1.0 if high is None else high - 1e-3 if low is None else (low + high) / 2
        return Answer(middle, "seen", 0.0)
    if check is not None and check.kind == "many":
        return Answer((value,))
    return Answer(value)


def test_asking_alone_moves_no_belief(asking):
    """Chance times belief after, summed over the answers, is the belief before, and the chances sum to 1."""
    situation, _, predictions = asking
    assert len(predictions) > 40
    for prediction in predictions:
        chances = np.array([outcome.chance for outcome in prediction.outcomes])
        after = np.stack([outcome.probability for outcome in prediction.outcomes])
        assert chances.sum() == pytest.approx(1.0, abs=1e-12)
        assert np.all(chances >= 0.0)
        assert (chances[:, None] * after).sum(axis=0) == pytest.approx(prediction.before, abs=1e-12), (
            prediction.question
        )
        if prediction.question not in situation.model.knowledge.facts:
            assert prediction.before == pytest.approx(situation.inference.responsible, abs=1e-12), prediction.question


def test_facts_move_belief_by_asking_only_a_little(asking):
    """With several causes the joint of a fact is normalised, so its own "before" may differ from the belief by some hundredths, not more."""
    situation, _, predictions = asking
    moved = [
        float(np.max(np.abs(p.before - situation.inference.responsible)))
        for p in predictions
        if p.question in situation.model.knowledge.facts
    ]
    assert max(moved) < 0.12


def test_gain_is_never_negative_nor_more_than_what_is_open(asking):
    """Mutual information lies between nothing and the entropy of what is asked about."""
    for prediction in asking[2]:
        p = np.clip(prediction.before[:-1], 1e-15, 1 - 1e-15)
        assert 0.0 <= prediction.gain_bits <= float(np.sum(-p * np.log2(p) - (1 - p) * np.log2(1 - p))) + 1e-9


def test_effects_after_an_answer(asking):
    """Belief that a cause held after an answer to a symptom or check is what is believed when it is really given.

    Of a `many` only the base is exact: its other values are predicted as the most telling of what is chosen.
    """
    situation, _, predictions = asking
    model, compared = situation.model, 0
    for prediction in predictions:
        check = situation.model.knowledge.checks.get(prediction.question)
        if prediction.question in situation.model.knowledge.facts:
            continue
        for outcome in prediction.outcomes:
            if check is not None and check.kind == "many" and outcome.value != check.base:
                continue
            answers = {**situation.answers, prediction.question: given(model, prediction.question, outcome.value)}
            real = present(model, answers)
            for name, value in zip(situation.inference.names[:-1], outcome.present[:-1], strict=True):
                assert value == pytest.approx(real[name], abs=1e-9), (prediction.question, outcome.value, name)
            compared += 1
    assert compared > 40


def test_facts_after_an_answer(asking):
    """The same for facts: opposites' three-way choice, silenced facts, the cap and the usual error of a number are all in the prediction."""
    situation, _, predictions = asking
    model, compared = situation.model, 0
    for prediction in predictions[::2]:
        if prediction.question not in situation.model.knowledge.facts:
            continue
        for outcome in prediction.outcomes:
            real = present(model, {**situation.answers, prediction.question: Answer(outcome.value)})
            for name, value in zip(situation.inference.names[:-1], outcome.present[:-1], strict=True):
                assert value == pytest.approx(real[name], abs=1e-9), (prediction.question, outcome.value, name)
            compared += 1
    assert compared > 20


def test_a_part_after_a_check(asking):
    """Checks add no symptom, so the predicted chance of a part is the real one too."""
    situation, _, predictions = asking
    for prediction in predictions:
        check = situation.model.knowledge.checks.get(prediction.question)
        if check is None or check.kind != "choice":
            continue
        for outcome in prediction.outcomes:
            beliefs = situation.with_answer(prediction.question, Answer(outcome.value)).beliefs
            part = {c.id: c.probability for c in beliefs.causes}
            for name, value in zip(situation.inference.names[:-1], outcome.probability[:-1], strict=True):
                assert value == pytest.approx(part[name], abs=1e-9)


def test_a_part_after_a_symptom_is_in_those_seen_so_far(asking):
    """A symptom predicted as seen is evidence on who had a part in the symptoms told before; the new one counts once it is told."""
    situation, _, predictions = asking
    prediction = next(p for p in predictions if p.question in situation.model.knowledge.symptoms)
    outcome = next(o for o in prediction.outcomes if o.value == SEEN)
    told = {**situation.answers, prediction.question: Answer(SEEN)}
    network = situation.model.network(told)
    as_evidence = tuple(
        type(f)(f.id, f.question, f.symptom and f.id != prediction.question, f.seen, f.on, f.off, f.leak, f.links)
        for f in network.findings
    )
    engine = Inference(Network(network.causes, network.priors, as_evidence, network.speaking))
    assert outcome.probability == pytest.approx(engine.responsible, abs=1e-9)


def test_a_check_told_already_by_a_symptom(consulted):
    """After "brown heart" is told, the cut shows it or something more telling; after "no brown heart" it can't."""
    situation = consulted["bat-ears-after-a-clean"].situation
    for value, expected in ((SEEN, True), (ABSENT, False)):
        answers = {**situation.answers, "scorched_core": Answer(value)}
        model = situation.model
        predictions = Predictor(Situation(model, answers)).predict(["cut_face"])
        shown = [outcome.value for outcome in predictions[0].outcomes]
        assert ("brown_heart" in shown) is expected
        assert ("fine_even" in shown) is not expected


def test_the_cheap_screen_misses_nothing_that_matters(consulted):
    """Over the worked cases the question of the greatest exact gain is on the shortlist, or next to nothing is lost."""
    lost = []
    for situation in (consultation.situation for consultation in consulted.values()):
        asker = Predictor(situation)
        questions = open_questions(situation.model, situation.answers)
        exact = {p.question: p.gain_bits for p in asker.predict(questions)}
        rough = asker.screen(questions)
        listed = sorted(rough, key=lambda name: (-round(rough[name], 10), name))[:SHORTLIST]
        lost.append(max(exact.values()) - max(exact[name] for name in listed))
    assert max(lost) < 0.02
    assert sum(gap > 1e-9 for gap in lost) <= 1
