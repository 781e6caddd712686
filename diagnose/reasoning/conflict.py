"""Answers that disagree: how surprising each is, given all the others.

For each answer the logarithm of its chance taken alone over its chance given the rest (the conflict measure of Jensen, Chamberlain,
Nordahl & Jensen 1991, applied to each answer against the others; from memory). Above zero it is less likely in the company of the others
than by itself. An effect's chance is that of its findings; a fact's that of its share times ratios, which is all that a fact
says. The answer least in keeping is the one to ask again, the other way round.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from diagnose.reasoning.answers import Answer, Answers
from diagnose.reasoning.finding import sureness
from diagnose.reasoning.forward_backward import Potentials
from diagnose.reasoning.inference import Inference
from diagnose.reasoning.network import Model
from diagnose.reasoning.prediction import Predictor
from diagnose.reasoning.situation import Situation

#: an answer at least this many times less likely than by itself is named (ours; three is where evidence begins to count)
NOTABLE = math.log(3.0)


@dataclass(frozen=True, slots=True)
class Conflict:
    """One answer and how much less likely it is with the others than alone (natural logarithm)."""

    answer: str
    conflict: float


def conflicts(situation: Situation) -> list[Conflict]:
    """Return every answer with its conflict against the rest, most surprising first; one that bears on nothing is in conflict with nothing."""
    model, answers = situation.model, situation.answers
    nothing = _Told(Situation(model, {}))
    found = []
    for name, answer in answers.items():
        if not answer.known or name in model.context:
            continue
        if name in model.knowledge.facts and name not in model.bearing:
            found.append(Conflict(name, 0.0))
            continue
        kept = {k: a for k, a in answers.items() if k != name and not _outranked(model, answers, k, name)}
        rest = _Told(Situation(model, kept))
        found.append(Conflict(name, nothing.log_chance(name, answer) - rest.log_chance(name, answer)))
    found.sort(key=lambda d: (-round(d.conflict, 9), d.answer))
    return found


def _outranked(model: Model, answers: Answers, key: str, name: str) -> bool:
    """Whether the answer *key* falls silent where *name* is answered, so that it can't be weighed against it.

    A raw fact behind a more direct one, or the same thing seen twice: of such two the network keeps the better reading.
    """
    if name in model.knowledge.facts:
        return key in model.better(name)
    twins = {
        check
        for effect in (key, name)
        if effect in model.knowledge.symptoms
        for check, _ in model.knowledge.symptoms[effect].same_as
    }
    return (key in twins or name in twins) and sureness(model.knowledge, answers, name) > sureness(
        model.knowledge, answers, key
    )


def doubtful(situation: Situation) -> Conflict | None:
    """Return the answer least in keeping with the rest, or None where none stands out."""
    found = conflicts(situation)
    return found[0] if found and found[0].conflict >= NOTABLE else None


class _Told:
    """What has been told, and how likely a further answer is after it."""

    def __init__(self, situation: Situation) -> None:
        self.situation = situation
        self.model = situation.model
        self.engine = situation.inference
        self.evidence = _evidence(self.engine)

    def log_chance(self, name: str, answer: Answer) -> float:
        """Log chance of *answer* to the question *name*, up to a constant that is the same whatever has been told."""
        after = self.situation.with_answer(name, answer).inference
        if name not in self.model.knowledge.facts:
            return _evidence(after) - self.evidence
        # the share of the answer is the constant; what its answers come to together is none, where several causes bear on it
        return (
            _evidence(after) + _totals(self.model, after) - _totals(self.model, self.engine) - self._all_answers(name)
        )

    def _all_answers(self, name: str) -> float:
        """Log weight of what has been told, summed over the answers that the fact *name* may be given, each with its share."""
        asked = Predictor(self.situation).asked(name)
        if asked is None:
            return self.evidence
        rows = self.engine.rows(len(asked.scale))
        swept = self.engine.sweep(
            Potentials(rows.hold * asked.rows, rows.free * asked.free, rows.leak, rows.quiet, rows.on, rows.off)
        )
        return math.log(max(float(np.add.reduce(swept.z * asked.scale)), 1e-300)) + _log_shut(self.engine)


def _evidence(engine: Inference) -> float:
    """Log weight of all findings, those that are certainly absent with their leaks."""
    return math.log(max(engine.evidence(), 1e-300)) + _log_shut(engine)


def _log_shut(engine: Inference) -> float:
    return sum(math.log(max(1.0 - finding.leak, 1e-300)) for finding in engine.shut)


def _totals(model: Model, engine: Inference) -> float:
    """Log of what the odds were divided by to become priors, opposites together as one three-way choice."""
    products = {name: said.product for name, said in engine.network.speaking.items()}
    pairs = [
        model.odds(name, products) for name in model.causes if not model.opposite(name) or name < model.opposite(name)
    ]
    return sum(math.log(1.0 + mine + theirs) for mine, theirs in pairs)


__all__ = ["NOTABLE", "Conflict", "conflicts", "doubtful"]
