"""The step to the next question: what each answer to the most promising questions would do to all beliefs.

Ours does it in one pass for all answers; a library is run again for each answer, on the smallest network with that answer.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from diagnose.reasoning.answers import Answer
from diagnose.reasoning.inference import Inference
from diagnose.reasoning.network import Network
from diagnose.reasoning.prediction import Predictor, open_questions
from diagnose.reasoning.situation import Situation
from diagnose.reasoning.value_of_information import SHORTLIST
from tests.bench import nets


@dataclass(frozen=True)
class Step:
    """*predict*: all answers to all questions at once, by ours (returns how many). *answers*: the network after each answer."""

    predict: Callable[[], int]
    answers: list[Network]


def step(name: str, present: int, seed: int) -> Step:
    """Return the step on the net *name*; of the worked cases the one of number *seed*."""
    if name == nets.WORKED:
        return _of_situation(list(nets.worked().values())[seed])
    if name == nets.OURS:
        return _of_situation(nets.our_situation(*nets.told(nets.book(name), present, seed)))
    return _of_net(name, present, seed)


def _of_situation(situation: Situation) -> Step:
    """The most promising questions of a case; a number measured is left out, for its answers are predicted as bands."""
    predictor = Predictor(situation)
    checks = situation.model.knowledge.checks
    open_ones = open_questions(situation.model, situation.answers)
    rough = predictor.screen([n for n in open_ones if n not in checks or checks[n].kind != "number"])
    names = sorted(rough, key=lambda name: (-rough[name], name))[:SHORTLIST]
    found = predictor.predict(names)
    situation.inference.base  # noqa: B018  what is believed now is known before the next question is looked for
    answers = [
        situation.with_answer(p.question, Answer((o.value,) if _is_many(situation, p.question) else o.value)).network
        for p in found
        for o in p.outcomes
    ]
    return Step(lambda: sum(len(p.outcomes) for p in Predictor(situation).predict(names)), answers)


def _is_many(situation: Situation, question: str) -> bool:
    knowledge = situation.model.knowledge
    return question not in knowledge.symptoms and knowledge.question(question).kind == "many"


def _of_net(name: str, present: int, seed: int) -> Step:
    """Findings not yet told, each present or absent: of what shows where it is absent, the rest is where it is present."""
    net, network = nets.book(name), nets.drawn(name, present, seed)
    told = {finding.id for finding in network.findings}
    rest = [finding for finding in net.leaks if finding not in told]
    asked = random.Random(f"asked {name} {seed}").sample(rest, min(SHORTLIST, len(rest)))
    inference = Inference(network)
    stays = 1.0 - np.array([[net.links[finding].get(cause, 0.0) for finding in asked] for cause in net.causes])
    quiet = 1.0 - np.array([net.leaks[finding] for finding in asked])
    inference.base  # noqa: B018

    def predict() -> int:
        absent = inference.sweep(inference.rows(len(asked)).times(stays))
        base, weight = inference.base, absent.evidence * quiet
        for now, without in ((base.present, absent.present * quiet), (base.responsible, absent.responsible * quiet)):
            _ = without / weight, (now - without) / (base.evidence - weight)
        return 2 * len(asked)

    return Step(predict, [nets.with_answer(network, net, finding, seen) for finding in asked for seen in (False, True)])
