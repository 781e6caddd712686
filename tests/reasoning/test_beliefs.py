"""Properties of what is believed, over answers drawn at random from the shipped knowledge."""

import math

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from diagnose.assessment.consultation import ModelCache
from diagnose.knowledge import load_knowledge
from diagnose.reasoning.answers import ABSENT, SEEN, SOURCES, Answer
from diagnose.reasoning.inference import Inference
from diagnose.reasoning.network import Model
from diagnose.reasoning.prediction import open_questions
from diagnose.reasoning.situation import Situation

MODELS = ModelCache(load_knowledge(None))
KNOWLEDGE = MODELS.knowledge
MODEL = Model(KNOWLEDGE, "bare_foam", True)
TOLERANT = settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def values_of(question):
    """All that can be answered to *question*, a number by its typical values or band middles."""
    if question in KNOWLEDGE.symptoms:
        return [SEEN, ABSENT]
    fact = KNOWLEDGE.facts.get(question)
    if fact is not None:
        return (
            [value for value, _ in fact.typical]
            if fact.kind == "number"
            else [(c,) if fact.kind == "many" else c for c in fact.choices]
        )
    check = KNOWLEDGE.checks[question]
    if check.kind == "number":
        return [0.0, 0.12, 0.3, 0.49, 0.7, 1.5]
    return [(r,) if check.kind == "many" else r for r in check.results]


QUESTIONS = [
    name
    for table in (KNOWLEDGE.facts, KNOWLEDGE.checks, KNOWLEDGE.symptoms)
    for name in table
    if KNOWLEDGE.applies(name, "bare_foam", True) and values_of(name)
]
SYMPTOMS = [name for name in QUESTIONS if name in KNOWLEDGE.symptoms]


@st.composite
def answered(draw):
    """One to three symptoms seen and up to nine other answers, from any source."""
    found = {
        name: Answer(SEEN, draw(st.sampled_from(SOURCES)))
        for name in draw(st.lists(st.sampled_from(SYMPTOMS), min_size=1, max_size=3, unique=True))
    }
    for name in draw(st.lists(st.sampled_from(QUESTIONS), max_size=9, unique=True)):
        if name not in found:
            found[name] = Answer(draw(st.sampled_from(values_of(name))), draw(st.sampled_from(SOURCES)))
    return found


def numbers(beliefs):
    """All probabilities by cause."""
    return {c.id: (c.present, c.probability) for c in beliefs.causes} | {"": (beliefs.unexplained, beliefs.not_listed)}


def odds(p):
    """Odds of a probability."""
    return p / (1 - p)


@TOLERANT
@given(answered())
def test_probabilities_are_probabilities(answers):
    """All between 0 and 1, and a part is never likelier than having held."""
    for cause in Situation(MODEL, answers).beliefs.causes:
        assert -1e-15 <= cause.probability <= cause.present + 1e-12 <= 1 + 2e-12


@TOLERANT
@given(answered(), st.sampled_from(QUESTIONS))
def test_unknown_changes_nothing(answers, question):
    """The answer "unknown" says nothing, to the last bit."""
    answers.pop(question, None)
    assert numbers(Situation(MODEL, answers).beliefs) == numbers(
        Situation(MODEL, {**answers, question: Answer(None)}).beliefs
    )


@TOLERANT
@given(answered(), st.randoms(use_true_random=False))
def test_order_of_answers_changes_nothing(answers, rnd):
    """Answers in another order give the same numbers to the last bit, and the same words for and against."""
    shuffled = list(answers.items())
    rnd.shuffle(shuffled)
    one, other = Situation(MODEL, answers).beliefs, Situation(MODEL, dict(shuffled)).beliefs
    assert numbers(one) == numbers(other)
    assert [(c.id, c.speaking(1), c.speaking(-1)) for c in one.causes] == [
        (c.id, c.speaking(1), c.speaking(-1)) for c in other.causes
    ]


@TOLERANT
@given(answered())
def test_weights_are_what_is_lost_without_the_answer(answers):
    """The weight of each answer equals recomputing everything without it, twins and silenced facts among them."""
    beliefs = {c.id: c for c in Situation(MODEL, answers).beliefs.causes}
    for name in answers:
        without = {c.id: c.present for c in Situation(MODEL, answers).without(name).beliefs.causes}
        for cause in beliefs.values():
            expected = math.log(odds(cause.present)) - math.log(odds(without[cause.id]))
            assert dict(cause.weights).get(name, 0.0) == pytest.approx(expected, abs=1e-8), (name, cause.id)


@TOLERANT
@given(answered(), st.data())
def test_a_telling_result_of_its_own_raises_a_cause(answers, data):
    """A result of a check that only one listed cause produces makes that cause likelier, whatever else was said."""
    alone = [
        (check, result, causes[0])
        for check, result, causes in producers()
        if len(causes) == 1 and not twins(check, result)
    ]
    check, result, cause = data.draw(st.sampled_from(alone))
    answers.pop(check, None)
    value = (result,) if KNOWLEDGE.checks[check].kind == "many" else result
    before, after = (
        numbers(Situation(MODEL, a).beliefs)[cause][0] for a in (answers, {**answers, check: Answer(value)})
    )
    others = [r for r in KNOWLEDGE.checks[check].telling if r in MODEL.causes[cause].checks[check]]
    if KNOWLEDGE.checks[check].kind == "many" or others[-1] == result:
        assert after > before


def producers():
    """(check, result, causes in play that produce it)."""
    for check in KNOWLEDGE.checks.values():
        if check.kind == "number" or not KNOWLEDGE.applies(check.id, "bare_foam", True):
            continue
        for result in check.telling:
            yield check.id, result, [c for c, cause in MODEL.causes.items() if result in cause.checks.get(check.id, {})]


def twins(check, result):
    """Symptoms that are the same thing as a result."""
    return [s for s, symptom in KNOWLEDGE.symptoms.items() if (check, result) in symptom.same_as]


@pytest.mark.parametrize("seed", range(12))
def test_the_part_in_one_symptom_is_that_of_a_net_where_it_is_the_only_one(seed, random_network, brute):
    """Brute force over all firings of the same net with every other symptom taken for a check."""
    network = random_network(seed, causes=4, findings=4)
    inference = Inference(network)
    for chosen in (f for f in network.findings if f.symptom and f.seen):
        alone = replace(
            network, findings=tuple(replace(f, symptom=f.question == chosen.question) for f in network.findings)
        )
        part = inference.responsible_for(chosen.question)
        assert dict(zip(network.causes, part.tolist(), strict=True)) == pytest.approx(
            brute(alone)["probability"], abs=1e-12
        )
    assert any(f.symptom and f.seen for f in network.findings) or not inference.responsible.any()


def test_normal_answers_do_not_bury_a_cause():
    """The commonest answer to every fact there is moves no cause's odds down by more than the cap of 20."""
    answers = {}
    for fact in KNOWLEDGE.facts.values():
        shares = (
            dict(fact.typical) if fact.kind == "number" else {key: choice.share for key, choice in fact.choices.items()}
        )
        if shares and fact.kind != "many":
            answers[fact.id] = Answer(max(shares, key=lambda value: shares[value]))
    buried = 0
    for name, cause in MODEL.causes.items():
        speaking = MODEL.speaking(cause, answers)
        plain = math.prod(speaking.by_fact.values())
        buried += plain < 1 / 20
        assert speaking.product >= 1 / 20 - 1e-12, name
    assert buried > 5  # so the cap is what keeps them


@TOLERANT
@given(st.sampled_from(sorted(MODEL.bearing)), st.data())
def test_remembered_moves_less_than_measured(fact, data):
    """The less an answer can be trusted, the closer it leaves the odds to where they were."""
    value = data.draw(st.sampled_from(values_of(fact) or [None]))
    cause = data.draw(st.sampled_from(MODEL.bearing[fact]))
    entry = KNOWLEDGE.facts[fact]
    moves = [
        abs(math.log(MODEL.ratio(MODEL.causes[cause].facts[fact], entry, Answer(value, source)))) for source in SOURCES
    ]
    assert moves == sorted(moves, reverse=True)


@pytest.mark.parametrize("value", [SEEN, ABSENT])
@pytest.mark.parametrize("symptom", SYMPTOMS[::7])
def test_remembered_symptoms_move_less_than_seen(symptom, value):
    """A symptom told from memory pulls a cause that shows it less than one seen, either way."""
    cause = max(
        (c for c in MODEL.causes.values() if symptom in c.symptoms), key=lambda c: (c.symptoms[symptom].p, c.id)
    ).id
    base = numbers(Situation(MODEL, {}).beliefs)[cause][0]
    seen, told, remembered = (
        numbers(Situation(MODEL, {symptom: Answer(value, s)}).beliefs)[cause][0] for s in ("seen", "told", "remembered")
    )
    assert (base < remembered < told < seen) if value == SEEN else (base > remembered > told > seen)


@TOLERANT
@given(st.data())
def test_opposites_never_sum_over_one(data):
    """Whatever the facts say, two opposites share one three-way choice before the part is looked at."""
    facts = data.draw(st.lists(st.sampled_from(sorted(MODEL.bearing)), min_size=1, max_size=8, unique=True))
    answers = {fact: Answer(data.draw(st.sampled_from(values_of(fact)))) for fact in facts if values_of(fact)}
    network = MODEL.network(answers)
    prior = dict(zip(network.causes, network.priors, strict=True))
    for name in MODEL.causes:
        if MODEL.opposite(name):
            assert prior[name] + prior[MODEL.opposite(name)] < 1.0


def test_opposites_in_a_tiny_knowledge():
    """Two opposites alone in a knowledge, each with half the base total, still leave room for neither."""
    pair = {name: KNOWLEDGE.causes[name] for name in ("mold_cold", "mold_hot")}
    model = Model(replace(KNOWLEDGE, causes=pair), None, None)
    priors = model.priors({"mold_cold": 20.0, "mold_hot": 20.0})
    assert 0.9 < priors["mold_cold"] + priors["mold_hot"] < 1.0


def test_a_telling_answer_outranks_what_it_reads_better():
    """With the mold face measured, the room says nothing more on a cause that both bear on."""
    face = {"mold_temperature": Answer(23.0, "measured")}
    both = {**face, "room_temperature": Answer(5.0, "measured")}
    assert (
        MODEL.speaking(MODEL.causes["mold_cold"], face).by_fact
        == MODEL.speaking(MODEL.causes["mold_cold"], both).by_fact
    )


def test_answered_questions_are_not_asked_again():
    """What is answered, or nobody can answer, is not open; nor is a symptom that a check has settled."""
    answers = {"mold_temperature": Answer(20.0), "vents_ok": Answer(None), "cut_face": Answer(("fine_even",))}
    left = open_questions(MODEL, answers)
    assert not {"mold_temperature", "vents_ok", "cut_face", "scorched_core"} & set(left)
    assert "scorched_core" in open_questions(MODEL, {})
