"""One situation: what is worked out, how often, and what becomes of a case in which more is seen than can be weighed."""

from __future__ import annotations

import math
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from diagnose.assessment import consultation as assessment
from diagnose.reasoning import situation as situation_module
from diagnose.reasoning.answers import SEEN, Answer
from diagnose.reasoning.batch import Batcher
from diagnose.reasoning.conflict import conflicts
from diagnose.reasoning.elimination import TooManySeen
from diagnose.reasoning.finding import Finding
from diagnose.reasoning.inference import Inference
from diagnose.reasoning.network import Model, Network
from diagnose.reasoning.plan import Costs, Planner
from diagnose.reasoning.prediction import Predictor, entropies, open_questions
from diagnose.reasoning.sensitivity import sensitivity, weights_in_order
from diagnose.reasoning.situation import Situation
from diagnose.reasoning.value_of_information import rank_questions

Consulted = dict[str, assessment.Consultation]
WHEN = ("next_pour", "between_pours")


def anew(consulted: Consulted, name: str) -> Situation:
    """The worked case *name* with nothing worked out yet."""
    done = consulted[name]
    return Situation(done.situation.model, done.answers)


def symptoms_seen(models: assessment.ModelCache, build: str, painted: bool, count: int) -> Situation:
    """A part with the first *count* symptoms of the alphabet seen, and nothing else told."""
    model = Model(models.knowledge, build, painted)
    names = [n for n in sorted(models.knowledge.symptoms) if models.knowledge.applies(n, build, painted)]
    return Situation(model, {name: Answer(SEEN) for name in names[:count]})


def test_one_network_for_all_that_is_believed_and_done(consulted: Consulted, counted: dict[str, int]) -> None:
    """Beliefs, the next question, the plan and the goal: one network, one inference, and one sweep of it as it is."""
    situation = anew(consulted, "short-fingers-in-a-cold-shop")
    assert not situation.network.merged
    counted.update(dict.fromkeys(counted, 0))
    situation = anew(consulted, "short-fingers-in-a-cold-shop")
    planner = Planner(situation, Costs.from_words(situation.model.knowledge.words["costs"]), WHEN)
    rank_questions(situation, planner)
    planner.best()
    planner.reaching(0.9)
    Predictor(situation).predict(open_questions(situation.model, situation.answers)[:3])
    assert (counted["networks"], counted["inferences"]) == (1, 1)
    assert counted["passes"] < 20


def test_doubts_make_no_network(consulted: Consulted, counted: dict[str, int]) -> None:
    """Weights of evidence, what would tip the order, which answers decide, what disagrees and in what order it grew: rows, not networks."""
    situation = anew(consulted, "short-fingers-in-a-cold-shop")
    assert len(situation.beliefs.causes[0].weights) > 10
    sensitivity(situation)
    conflicts(situation)
    weights_in_order(situation, situation.beliefs.causes[0].id)
    assert (counted["networks"], counted["inferences"]) == (1, 1)
    assert counted["passes"] <= 12


@pytest.mark.parametrize("name", ["club-with-a-brown-heart", "open-skin-under-a-wide-ankle"])
def test_a_twin_left_out_is_a_row_too(name: str, consulted: Consulted, counted: dict[str, int]) -> None:
    """Two views of one thing: what is believed without either, and after any of the answers, is that of a network made for it; two inferences do."""
    situation = anew(consulted, name)
    assert situation.network.merged
    counted.update(dict.fromkeys(counted, 0))
    situation = anew(consulted, name)
    left_out, first = situation.each_left_out, situation.beliefs.causes[0].id
    grown = weights_in_order(situation, first)
    conflicts(situation)
    assert (counted["networks"], counted["inferences"]) == (1, 2)
    for answer, (present, responsible) in left_out.items():
        other = situation.without(answer).inference
        assert present == pytest.approx(other.present, rel=1e-11, abs=1e-300), answer
        assert responsible == pytest.approx(other.responsible, rel=1e-11, abs=1e-14), answer
    known = [answer for answer, _ in grown[1:]]
    for count in range(len(known) + 1):
        so_far = sum(weight for _, weight in grown[: count + 1])
        held = situation.only(known[:count]).inference.present[situation.inference.index[first]]
        assert so_far == pytest.approx(float(np.log(held / (1.0 - held))), abs=1e-9)


def test_weights_are_worked_out_when_looked_at(consulted: Consulted, counted: dict[str, int]) -> None:
    """Who only asks what is believed pays for two passes; the weights of evidence come with the first that is read, for all causes."""
    situation = anew(consulted, "tusks-in-march")
    causes = situation.beliefs.causes
    assert counted["passes"] == 2
    assert causes[0].speaking(1)
    passes = counted["passes"]
    assert [len(cause.weights) for cause in causes] == [len(situation.weighed)] * len(causes)
    assert counted["passes"] == passes


@pytest.mark.parametrize("count", [10, 15, 20])
def test_twenty_symptoms_seen_are_all_weighed(count: int, models: assessment.ModelCache) -> None:
    """Up to twenty symptoms seen none is left aside, on bare and on skinned parts."""
    for build, painted in (("bare_foam", False), ("skin_and_foam", True)):
        situation = symptoms_seen(models, build, painted, count)
        assert len(situation.seen) == count
        assert situation.left_aside == ()
        assert len(situation.inference.positive) == count


def test_more_than_can_be_weighed_is_left_aside_and_named(models: assessment.ModelCache) -> None:
    """All symptoms there are, seen: an answer all the same, the rest named, and the beliefs are those of the case without it."""
    model = Model(models.knowledge, "bare_foam", False)
    names = [n for n in sorted(models.knowledge.symptoms) if models.knowledge.applies(n, "bare_foam", False)]
    sources = ("seen", "remembered")
    told = {name: Answer(SEEN, sources[i % 2]) for i, name in enumerate(names)}
    situation = Situation(model, told)
    aside = situation.left_aside
    assert 0 < len(aside) < len(names) - 12
    assert sum(told[name].source == "remembered" for name in aside) > len(aside) / 2
    assert situation.seen == tuple(names)
    kept = Situation(model, {name: answer for name, answer in told.items() if name not in aside})
    assert kept.left_aside == ()
    assert [(c.id, c.probability) for c in situation.beliefs.causes] == [
        (c.id, c.probability) for c in kept.beliefs.causes
    ]
    assert not set(aside) & {name for name, _ in situation.beliefs.causes[0].weights}
    assert {conflict.answer for conflict in conflicts(situation)} == set(names) - set(aside)


def test_order_of_answers_does_not_choose_what_is_left_aside(models: assessment.ModelCache) -> None:
    """The same answers backward leave the same ones aside."""
    situation = symptoms_seen(models, "skin_and_foam", True, 40)
    turned = Situation(situation.model, dict(reversed(situation.answers.items())))
    assert situation.left_aside == turned.left_aside != ()


def test_a_case_is_changed_by_making_another(consulted: Consulted) -> None:
    """One answer less, one more: new situations, the old one as it was."""
    situation = anew(consulted, "sticky-necks")
    name = next(iter(situation.answers))
    before = dict(situation.answers)
    assert name not in situation.without(name).answers
    assert situation.with_answer(name, Answer(None)).answers[name] == Answer(None)
    assert situation.only([name]).answers == {name: before[name]}
    assert situation.answers == before


def test_no_batch_makes_a_network(consulted: Consulted, counted: dict[str, int]) -> None:
    """Eight questions to send together need the network that there is."""
    situation = anew(consulted, "wiped-and-painted")
    Batcher(situation).greedy(8)
    assert counted["networks"] == 1


def reading(name: str, on: float, off: float, leak: float) -> Finding:
    """A fault that two causes make alike."""
    return Finding(name, name, True, True, on, off, leak, {"a": 0.9, "b": 0.9, "not_listed": 0.1})


@pytest.mark.parametrize(("room", "aside"), [(3, ()), (2, ("vague",)), (1, ("vague", "common"))])
def test_what_tells_least_is_left_aside_first(
    room: int, aside: tuple[str, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Odds are moved 9.1 times by a rare fault seen for sure, 3.1 times by one that often shows by itself, 1.7 times by one half believed."""
    findings = {
        f.id: f
        for f in (reading("common", 1.0, 0.0, 0.3), reading("rare", 1.0, 0.0, 0.1), reading("vague", 1.0, 0.5, 0.1))
    }

    def network(answers: Any) -> Network:
        return Network(("a", "b", "not_listed"), (0.2, 0.1, 0.05), tuple(findings[name] for name in answers), {})

    model: Any = SimpleNamespace(network=network)
    told = {name: Answer("seen") for name in findings}

    def inference(made: Network) -> Inference:
        if len(made.findings) > room:
            raise TooManySeen
        return Inference(made)

    monkeypatch.setattr(situation_module, "Inference", inference)
    found = Situation(model, told)
    assert found.left_aside == aside
    assert {f.id for f in found.network.findings} == findings.keys() - set(aside)


def test_the_uncertainty_of_what_is_certain_is_nothing() -> None:
    """And of even chances a bit; in between it is the same for a chance and for the rest."""
    none, quarter, even, rest, all_of = entropies(np.array([0.0, 0.25, 0.5, 0.75, 1.0]))
    assert (float(none), float(all_of)) == pytest.approx((0.0, 0.0), abs=1e-12)
    assert float(even) == pytest.approx(1.0, abs=1e-12)
    assert (float(quarter), float(rest)) == pytest.approx([2.0 - 0.75 * math.log2(3.0)] * 2, abs=1e-12)


def test_more_rows_than_one_pass_holds_are_those_of_several() -> None:
    """Forty thousand rows of one small network, each with a prior of its own, swept at once: each as it is by itself."""
    network = Network(
        ("a", "b", "not_listed"),
        (0.2, 0.1, 0.05),
        (reading("rare", 1.0, 0.0, 0.1), reading("vague", 1.0, 0.5, 0.1)),
        {},
    )
    inference, count = Inference(network), 40_000
    rows = inference.rows(count)
    rows.present[0] = np.linspace(0.01, 0.9, count)
    rows.absent[0] = 1.0 - rows.present[0]
    found = inference.sweep(rows)
    for r in (0, 1, 16_384, 32_767, 32_768, count - 1):
        one = inference.rows(1)
        one.present[0], one.absent[0] = rows.present[0, r], rows.absent[0, r]
        alone = inference.sweep(one)
        assert float(found.evidence[r]) == pytest.approx(float(alone.evidence[0]), rel=1e-12)
        assert found.present[:, r] == pytest.approx(alone.present[:, 0], rel=1e-12)
