"""Answers as they bear on a cause: weight, mechanism, and where the answer comes from.

The weight is that of the reasoning: how far the odds that the cause held fall back without the answer. Answers that
read one thing (cold floor, 14 °C in the can) are each silent while the other is there, so they are left out together
and told together. An answer can move a cause only by moving its rivals; the record says so, or a caster would look for
a link that isn't there.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from diagnose.assessment.consultation import Consultation
from diagnose.assessment.records import Evidence
from diagnose.knowledge import Cause
from diagnose.knowledge import Evidence as Bearing
from diagnose.reasoning.answers import SEEN, Answer
from diagnose.reasoning.inference import CauseBelief

#: the least weight, in nats, of an answer that speaks for or against a cause
SPEAKS = 0.2


def evidence_of(
    consultation: Consultation, question: str, weight: float, cause: Cause, beside: tuple[str, ...] = ()
) -> Evidence:
    """Return the answer to *question* as it bears on *cause* with *weight*;
    *beside* are answers that stand in for it.
    """
    answer = consultation.answers[question]
    derivation = consultation.derivation
    material = consultation.answers.get("material")
    mechanism = mechanism_of(cause, question, answer)
    return Evidence(
        question=question,
        value=answer.value,
        source=answer.source,
        written=consultation.case.written.get(question, ""),
        weight=weight,
        mechanism=mechanism,
        indirect=_indirect(consultation, question, answer, weight, cause),
        computed=any(c.name == question for c in derivation.computed),
        sheet=str(material.value) if question in derivation.filled and material is not None else "",
        with_answers=beside,
    )


def mechanism_of(cause: Cause, question: str, answer: Answer) -> str:
    """Return why an answer bears on *cause*, as the knowledge says it, or an empty string where it doesn't itself."""
    values = answer.value if isinstance(answer.value, tuple) else (str(answer.value),)
    if question in cause.symptoms:
        return cause.symptoms[question].why if answer.value == SEEN else ""
    if question in cause.checks:
        links = cause.checks[question]
        return "; ".join(links[value].why for value in values if value in links)
    fact = cause.facts.get(question)
    if fact is None:
        return ""
    if isinstance(answer.value, float):
        return _nearest(fact, answer.value)
    return "; ".join(fact.why[value] for value in values if fact.why.get(value))


def _nearest(fact: Bearing, value: float) -> str:
    """The reason written at the point of the curve nearest to *value*, of those that have one; empty where none has."""
    points = zip(fact.curve, fact.said.values(), strict=True)
    reasons = [(abs(at - value), at, link.why) for (at, _), link in points if link.why]
    return min(reasons)[2] if reasons else ""


def _indirect(consultation: Consultation, question: str, answer: Answer, weight: float, cause: Cause) -> bool:
    """Whether the answer moves *cause* only by moving its rivals:
    it explains what is seen better, or takes a rival away.
    """
    if question in consultation.knowledge.facts:
        return question not in cause.facts
    if question in consultation.knowledge.checks:
        return question not in cause.checks
    return question not in cause.symptoms or (weight < 0.0 and answer.value == SEEN)


def speaking(consultation: Consultation, belief: CauseBelief) -> tuple[tuple[Evidence, ...], tuple[Evidence, ...]]:
    """Return what speaks for the cause of *belief*, and what against, strongest first."""
    cause = consultation.knowledge.causes[belief.id]
    weights = dict(belief.weights)
    groups = _standing_in(consultation, cause)
    found: list[Evidence] = []
    grouped = {name for group in groups for name in group}
    for group, weight in zip(groups, _without(consultation, belief, groups), strict=True):
        found.append(evidence_of(consultation, group[0], weight, cause, group[1:]))
    found += [evidence_of(consultation, name, weight, cause) for name, weight in weights.items() if name not in grouped]
    speaks_for = sorted((e for e in found if round(e.weight, 10) >= SPEAKS), key=_strongest)
    against = sorted((e for e in found if round(e.weight, 10) <= -SPEAKS), key=_strongest)
    return tuple(speaks_for), tuple(against)


def _strongest(evidence: Evidence) -> tuple[float, str]:
    return -round(abs(evidence.weight), 10), evidence.question


def _standing_in(consultation: Consultation, cause: Cause) -> list[tuple[str, ...]]:
    """Answers that read one thing of *cause*, the most direct first:
    of such a group only the first speaks while it is there.
    """
    model, answers = consultation.situation.model, consultation.answers
    known = [name for name in answers if name in cause.facts and answers[name].known]
    inputs = {computed.name: computed.inputs for computed in consultation.derivation.computed}
    groups = []
    for name in known:
        hidden = inputs.get(name, ())  # shown with the sum that they feed
        below = tuple(other for other in known if other in model.better(name) and other not in hidden)
        if below and not any(name in model.better(other) for other in known):
            groups.append((name, *below))
    return groups


def _without(consultation: Consultation, belief: CauseBelief, groups: Sequence[tuple[str, ...]]) -> list[float]:
    """How far the odds that the cause held fall back without all answers of each group: one row of one sweep for each.

    The groups hold facts alone, which move priors and leave the findings as they are, so no other network is needed.
    """
    if not groups:
        return []
    rest = [{name: a for name, a in consultation.answers.items() if name not in group} for group in groups]
    swept, place = consultation.situation.swept(rest), consultation.situation.inference.index[belief.id]
    here = _log_odds(belief.present)
    return [here - _log_odds(float(swept.present[place, r] / swept.evidence[r])) for r in range(len(groups))]


def _log_odds(chance: float) -> float:
    p = min(max(chance, 1e-15), 1.0 - 1e-15)
    return math.log(p / (1.0 - p))
