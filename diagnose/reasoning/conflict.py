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

from diagnose.reasoning.answers import Answers
from diagnose.reasoning.network import Model
from diagnose.reasoning.posterior import Engine

#: an answer at least this many times less likely than by itself is named (ours; three is where evidence begins to count)
NOTABLE = math.log(3.0)


@dataclass(frozen=True, slots=True)
class Disagreement:
    """One answer and how much less likely it is with the others than alone (natural logarithm)."""

    answer: str
    conflict: float


def disagreements(model: Model, answers: Answers) -> list[Disagreement]:
    """Return every answer with its conflict against the rest, most surprising first; one that bears on nothing is in conflict with nothing."""
    nothing, whole = Engine(model.network({})), Engine(model.network(answers))
    found = []
    for name, answer in answers.items():
        if not answer.known or name in ("build", "painted"):
            continue
        if name in model.knowledge.facts and name not in model.bearing:
            found.append(Disagreement(name, 0.0))
            continue
        rest = Engine(model.network({key: value for key, value in answers.items() if key != name}))
        alone = _log_chance(model, nothing, Engine(model.network({name: answer})), name)
        found.append(Disagreement(name, alone - _log_chance(model, rest, whole, name)))
    found.sort(key=lambda d: (-round(d.conflict, 9), d.answer))
    return found


def doubtful(model: Model, answers: Answers) -> Disagreement | None:
    """Return the answer least in keeping with the rest, or None where none stands out."""
    found = disagreements(model, answers)
    return found[0] if found and found[0].conflict >= NOTABLE else None


def _log_chance(model: Model, before: Engine, after: Engine, name: str) -> float:
    """Log chance of the answer *name*, which *after* has and *before* has not, up to a constant that is the same for every *before*."""
    z_before = float(before.sweep(before.rows(1)).z[0])
    if name in model.knowledge.facts:
        rows = before.rows(1)
        odds = after.priors / (1.0 - after.priors) / (before.priors / (1.0 - before.priors))
        rows.hold[0] = rows.hold[0] * odds
        z_after = float(before.sweep(rows).z[0])
    else:
        shut = float(np.prod([1.0 - f.leak for f in after.shut]))
        shut_before = float(np.prod([1.0 - f.leak for f in before.shut]))
        z_after = float(after.sweep(after.rows(1)).z[0]) * shut / shut_before
    return math.log(max(z_after, 1e-300) / z_before)


__all__ = ["NOTABLE", "Disagreement", "disagreements", "doubtful"]
