"""Answers that disagree: how surprising each is, given all the others.

For each answer the logarithm of its chance taken alone over its chance given the rest (the conflict measure of Jensen,
Chamberlain, Nordahl & Jensen 1991, applied to each answer against the others; from memory). Above zero it is less
likely in the company of the others than by itself. An effect's chance is that of its findings; a fact's that of its
share times ratios, which is all that a fact says. The answer least in keeping is the one to ask again, the other way
round.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from msgspec import Struct

from diagnose.reasoning.answers import Answer, Answers
from diagnose.reasoning.finding import sureness
from diagnose.reasoning.network import Model
from diagnose.reasoning.situation import Situation

#: an answer at least this many times less likely than by itself is named (ours;
#: three is where evidence begins to count)
NOTABLE = math.log(3.0)

#: what might have been answered, each with its share
Alternatives = list[tuple[float, Mapping[str, Answer]]]


class Conflict(Struct, frozen=True):
    """One answer and how much less likely it is with the others than alone (natural logarithm)."""

    answer: str
    conflict: float


def conflicts(situation: Situation) -> list[Conflict]:
    """Return every answer with its conflict against the rest, most surprising first;
    one that bears on nothing is in conflict with nothing.
    """
    model, answers = situation.model, situation.answers
    asked = [
        name
        for name, answer in answers.items()
        if answer.known and name not in model.context and name not in situation.left_aside
    ]
    bearing = [name for name in asked if name not in model.knowledge.facts or name in model.bearing]
    alone = [_alternatives(situation, name, {}) for name in bearing]
    beside = [_alternatives(situation, name, _company(situation, name)) for name in bearing]
    chances = _log_chances(situation, [*alone, *beside])
    conflict = dict.fromkeys(asked, 0.0)
    conflict.update(zip(bearing, (a - b for a, b in zip(chances, chances[len(bearing) :], strict=False)), strict=True))
    found = [Conflict(name, value) for name, value in conflict.items()]
    return sorted(found, key=lambda d: (-round(d.conflict, 9), d.answer))


def _company(situation: Situation, name: str) -> dict[str, Answer]:
    """The answers beside which *name* is weighed."""
    answers = situation.answers
    return {k: a for k, a in answers.items() if k != name and not _outranked(situation.model, answers, k, name)}


def _alternatives(situation: Situation, name: str, company: Mapping[str, Answer]) -> Alternatives:
    """The answer to *name* in *company*, then what its chance is a share of: all answers to a fact;
    for an effect, none given.
    """
    fact = situation.model.knowledge.facts.get(name)
    given = (1.0, {**company, name: situation.answers[name]})
    if fact is None:
        return [given, (1.0, company)]
    return [given, *((share, {**company, name: Answer(value)}) for value, share in situation.model.options(fact))]


def _log_chances(situation: Situation, asked: Sequence[Alternatives]) -> list[float]:
    """For each question the log weight of its first alternative, less that of all others together, all in one sweep."""
    weights = iter(_log_weights(situation, [answers for some in asked for _, answers in some]))
    found = []
    for some in asked:
        given, *others = [next(weights) for _ in some]
        top = max(others)
        found.append(
            given - top - math.log(sum(s * math.exp(w - top) for (s, _), w in zip(some[1:], others, strict=True)))
        )
    return found


def _log_weights(situation: Situation, given: Sequence[Mapping[str, Answer]]) -> list[float]:
    """For each set of answers the log weight of all that it says:
    its findings, negative ones with their leaks, and its facts.

    The answers are those of *situation*, some left out, some facts otherwise.
    """
    evidence = situation.evidence_of(given) if given else []
    return [_log(weight) + _log_constant(situation, answers) for weight, answers in zip(evidence, given, strict=True)]


def _log_constant(situation: Situation, answers: Answers) -> float:
    """Log of what the odds were divided by to become priors (opposites as one three-way choice)."""
    model, products = situation.model, situation.products(answers)
    pairs = [
        model.odds(name, products) for name in model.causes if not model.opposite(name) or name < model.opposite(name)
    ]
    return sum(math.log(1.0 + a + b) for a, b in pairs)


def _log(weight: float) -> float:
    return math.log(max(weight, 1e-300))


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


__all__ = ["NOTABLE", "Conflict", "conflicts", "doubtful"]
