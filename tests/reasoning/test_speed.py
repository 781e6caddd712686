"""How long an answer takes with the full knowledge and ten findings; bounds are generous, for machines that are busy.

Measured here: posterior with all weights of evidence, and the next question, on one core; `docs/reasoning.md` has the figures.
"""

import os
import time

import pytest

from diagnose.assessment.situation import Situation
from diagnose.reasoning import situation as reasoning
from diagnose.reasoning.answers import SEEN, Answer
from diagnose.reasoning.inference import Inference

#: how many times the stated limit is still taken as a busy machine
SLACK = float(os.environ.get("DIAGNOSE_SPEED_SLACK", "4"))


@pytest.fixture(scope="module")
def ten_findings(consulted):
    """A worked case with symptoms added until ten findings stand open."""
    situation = consulted["short-fingers-in-a-cold-shop"]
    case = situation.case
    for name in sorted(situation.knowledge.symptoms):
        if len(situation.engine.positive) >= 10:
            return situation
        if name not in case.answers and situation.knowledge.applies(name, case.build, case.painted):
            case = case.with_answer(name, Answer(SEEN), "seen")
            situation = Situation(situation.models, case)
    raise AssertionError("not enough symptoms")


def quickest(work, times=7):
    """The shortest of several runs, in milliseconds."""
    took = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        took.append(1e3 * (time.perf_counter() - start))
    return min(took)


def test_posterior(ten_findings):
    """Everything that is believed, with the weight of every answer: 25 ms."""
    assert quickest(lambda: reasoning.Situation(ten_findings.model, ten_findings.answers).beliefs) < 25 * SLACK


def test_one_sweep(ten_findings):
    """One sweep, forward and back: 5 ms."""
    engine = Inference(ten_findings.network)
    assert quickest(lambda: engine.sweep(engine.rows(1))) < 5 * SLACK


def test_next_question(ten_findings):
    """From an answer to the next prompt: 50 ms."""

    def answer_and_ask():
        situation = Situation(ten_findings.models, ten_findings.case)
        assert situation.proposals or situation.settled

    assert quickest(answer_and_ask) < 50 * SLACK
