"""Answers as they bear on a cause: the answer, its weight, and where it comes from.

The weight is that of the reasoning: how far the odds of the cause fall back without the answer. An answer can move a cause only
by moving its rivals; the report says so, or a caster would look for a link that isn't there.
"""

from __future__ import annotations

from dataclasses import dataclass

from diagnose.assessment.situation import Situation
from diagnose.casebook.derive import Computed
from diagnose.knowledge import Cause
from diagnose.reasoning.answers import SEEN, Answer

#: the least weight, in nats, of an answer that speaks for or against a cause
SPEAKS = 0.2


@dataclass(frozen=True, slots=True)
class Reading:
    """One answer as it bears on a cause: *weight* in nats, *computed* its sum where it was worked out, *sheet* the material
    that gave it. *indirect*: it bears on a rival, not on the cause itself."""

    question: str
    answer: Answer
    written: str
    weight: float
    computed: Computed | None
    sheet: str
    indirect: bool


def reading_of(situation: Situation, question: str, weight: float, cause: Cause) -> Reading:
    """Return the answer to *question* as it bears on *cause* with *weight*."""
    derivation = situation.derivation
    computed = next((c for c in derivation.computed if c.name == question), None)
    material = situation.answers.get("material")
    sheet = str(material.value) if question in derivation.filled and material is not None else ""
    answer = situation.answers[question]
    told = situation.case.answers.get(question)
    written = told.written if told is not None else ""
    return Reading(
        question, answer, written, weight, computed, sheet, _indirect(situation, question, answer, weight, cause)
    )


def _indirect(situation: Situation, question: str, answer: Answer, weight: float, cause: Cause) -> bool:
    """Whether the answer moves *cause* only by moving its rivals: it explains what is seen better, or takes a rival away."""
    if question in situation.knowledge.facts:
        return question not in situation.network.speaking[cause.id].by_fact
    if question in situation.knowledge.checks:
        return question not in cause.checks
    return question not in cause.symptoms or (weight < 0.0 and answer.value == SEEN)
