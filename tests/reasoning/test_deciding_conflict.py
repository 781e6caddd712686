"""Answers that disagree: a planted one is named first, the order doesn't matter, and the sum is the one it says it is."""

import math
import random

import pytest

from diagnose.reasoning.answers import ABSENT, SEEN, Answer
from diagnose.reasoning.conflict import NOTABLE, conflicts, doubtful
from diagnose.reasoning.inference import Inference
from diagnose.reasoning.network import Model
from diagnose.reasoning.prediction import Predictor
from diagnose.reasoning.situation import Situation

COLD = {
    "build": Answer("bare_foam"),
    "painted": Answer("no"),
    "short_fill": Answer(SEEN),
    "low_rise": Answer(SEEN),
    "slow_reaction": Answer(SEEN),
    "material_temperature": Answer(12.0, "measured"),
    "room_temperature": Answer(12.0, "measured"),
    "cans_stored": Answer("cold"),
}


@pytest.fixture(scope="module")
def model(models):
    """Bare, unpainted foam."""
    return Model(models.knowledge, "bare_foam", False)


def planted(**more):
    return {**COLD, **more}


def log_evidence(model, answers):
    """Log weight of the findings, absent ones with their leaks."""
    engine = Inference(model.network(answers))
    return math.log(engine.evidence) + sum(math.log(1.0 - f.leak) for f in engine.negative)


def test_the_answer_against_all_others_is_named_first(model):
    """Everything speaks of cold but the can, said to be warm: that is the doubtful one."""
    answers = {**COLD, "material_temperature": Answer(30.0, "measured")}
    found = conflicts(Situation(model, answers))
    assert found[0].answer == "material_temperature"
    assert found[0].conflict > 0.3


def test_a_symptom_against_all_others_is_named_first(model):
    """Far too much A weighed, and a hard part: said to be soft beside that, the softness or the weighing is the doubtful answer."""
    answers = {
        "build": Answer("bare_foam"),
        "painted": Answer("no"),
        "ratio_error": Answer(30.0, "measured", 1.0),
        "too_hard": Answer(SEEN),
    }
    found = conflicts(Situation(model, {**answers, "too_soft": Answer(SEEN)}))
    assert found[0].answer == "too_soft"
    assert found[0].conflict > conflicts(Situation(model, answers))[0].conflict


def test_answers_that_agree_conflict_little(model):
    """Nothing stands out where everything speaks of cold."""
    assert doubtful(Situation(model, COLD)) is None
    assert all(d.conflict < NOTABLE / 2 for d in conflicts(Situation(model, COLD)))


def test_a_plant_conflicts_more_than_the_honest_answer(model):
    """The can at 12 °C and at 24 °C beside a slow, low, short part: the warm can is in greater conflict, the more so the warmer it is said to be.

    Past that too warm a mix begins to explain a part of it, so 30 °C is still in conflict, but not in more.
    """
    conflict = {}
    for value in (12.0, 18.0, 24.0, 30.0):
        found = conflicts(Situation(model, planted(material_temperature=Answer(value, "measured"))))
        conflict[value] = {d.answer: d.conflict for d in found}["material_temperature"]
    assert conflict[12.0] < 0.0 < conflict[30.0]
    assert conflict[12.0] < conflict[18.0] < conflict[24.0]


@pytest.mark.parametrize("seed", range(4))
def test_order_is_immaterial(seed, model, consulted):
    """The same answers in another order have the same conflicts, to 1e-9, and the same order of doubt."""
    told = consulted["soft-and-sticky-hands"].situation
    answers = list(told.answers.items())
    random.Random(seed).shuffle(answers)
    one, other = conflicts(told), conflicts(Situation(told.model, dict(answers)))
    assert [d.answer for d in one] == [d.answer for d in other]
    assert [d.conflict for d in one] == pytest.approx([d.conflict for d in other], abs=1e-9)


def test_conflict_of_an_effect_is_the_published_measure(model):
    """log P(a) + log P(rest) - log P(a, rest), from three networks made for it (for effects nothing has to be normalised)."""
    answers = {
        "short_fill": Answer(SEEN),
        "low_rise": Answer(ABSENT),
        "cup_leftover": Answer("good"),
        "split_foam": Answer(ABSENT),
    }
    found = {d.answer: d.conflict for d in conflicts(Situation(model, answers))}
    for name, answer in answers.items():
        rest = {key: value for key, value in answers.items() if key != name}
        expected = log_evidence(model, {name: answer}) + log_evidence(model, rest) - log_evidence(model, answers)
        assert found[name] == pytest.approx(expected, abs=1e-9)


def test_two_answers_conflict_alike(model):
    """Of two effects each conflicts with the other as much as the other with it."""
    one, other = conflicts(Situation(model, {"short_fill": Answer(SEEN), "low_rise": Answer(ABSENT)}))
    assert one.conflict == pytest.approx(other.conflict, abs=1e-9)


def test_conflict_of_a_fact_is_its_predicted_chance(model):
    """A fact's conflict is the log of its predicted chance alone over its predicted chance with the rest."""
    rest = {k: a for k, a in COLD.items() if k != "cans_stored"}
    given = {**rest, "cans_stored": Answer("cold")}
    chance = []
    for told in ({}, rest):
        (prediction,) = Predictor(Situation(model, told)).predict(["cans_stored"])
        chance.append({o.value: o.chance for o in prediction.outcomes}["cold"])
    found = {d.answer: d.conflict for d in conflicts(Situation(model, given))}
    assert found["cans_stored"] == pytest.approx(math.log(chance[0]) - math.log(chance[1]), abs=1e-9)


def test_a_raw_answer_and_a_surer_one_that_agree_do_not_conflict(model):
    """Room and mold face both cold: the face silences the room, and that is no conflict with it."""
    cold = Answer(8.0, "measured")
    answers = {
        "build": Answer("bare_foam"),
        "thin_skin": Answer(SEEN),
        "room_temperature": cold,
        "mold_temperature": cold,
    }
    alone = {key: value for key, value in answers.items() if key != "room_temperature"}
    with_room = {d.answer: d.conflict for d in conflicts(Situation(model, answers))}
    without = {d.answer: d.conflict for d in conflicts(Situation(model, alone))}
    assert with_room["mold_temperature"] == pytest.approx(without["mold_temperature"], abs=1e-9)


def test_what_bears_on_nothing_conflicts_with_nothing(consulted):
    """A fact that no cause reads, and an answer of "don't know", never stand out."""
    for consultation in consulted.values():
        situation = consultation.situation
        for found in conflicts(situation):
            assert situation.answers[found.answer].known
            if found.answer in consultation.knowledge.facts and found.answer not in situation.model.bearing:
                assert found.conflict == 0.0


def test_worked_cases_hold_few_doubtful_answers(consulted):
    """Honest cases: at most a fifth of them has an answer that stands out."""
    stand_out = [name for name, c in consulted.items() if doubtful(c.situation) is not None]
    assert len(stand_out) <= 4, stand_out
