"""How firm the answer is: which answers it hangs on, which number would have to be otherwise,
which answer sits badly with the rest.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from diagnose.assessment.consultation import Consultation
from diagnose.assessment.evidence import evidence_of
from diagnose.assessment.records import Doubt, Evidence, Robustness, Tipping, Verdict
from diagnose.reasoning.answers import SOURCES
from diagnose.reasoning.conflict import doubtful
from diagnose.reasoning.network import NOT_LISTED
from diagnose.reasoning.sensitivity import Sensitivity, TippingPoint, sensitivity

#: a second number is told where the odds need move by no more than this; beside it at most so many answers are named
NEAR, MOST_NAMED = 10.0, 4


def robustness_of(consultation: Consultation, verdict: Verdict) -> Robustness:
    """Return how firm the first place is. Where both of the first two had a part, their order is no matter."""
    found = sensitivity(consultation.situation)
    partner = verdict.causes[1] if verdict.kind == "both" else ""
    near = _nearest([t for t in found.tipping if partner != t.rival and t.name != NOT_LISTED])
    tipping = tuple(Tipping(t.name, t.effect, t.rival, t.now, t.value, t.factor) for t in near)
    return Robustness(tuple(_decisive(consultation, found, partner)), tipping)


def _nearest(tipping: Sequence[TippingPoint]) -> list[TippingPoint]:
    """The nearest number, and a near one that puts another rival ahead."""
    chosen = list(tipping[:1])
    other = next((t for t in tipping if t.factor <= NEAR and t.rival != chosen[0].rival), None)
    return chosen if other is None else [*chosen, other]


def _decisive(consultation: Consultation, found: Sensitivity, partner: str) -> list[tuple[Evidence, str]]:
    """Raw answers that decide, the shakiest first; symptoms apart:
    what is seen on the part is the question, not an answer to doubt.
    """
    first = consultation.knowledge.causes[found.first]
    chosen = []
    for answer in found.decisive:
        if answer.rival != partner and answer.answer not in consultation.knowledge.symptoms:
            chosen.append((evidence_of(consultation, answer.answer, 0.0, first), answer.rival))
    return sorted(chosen, key=lambda pair: (-SOURCES.index(pair[0].source), pair[0].question))[:MOST_NAMED]


def doubt_of(consultation: Consultation) -> Doubt | None:
    """Return the raw answer to ask again, or None where none stands out;
    of the inputs of a sum it is the least trusted.
    """
    found = doubtful(consultation.situation)
    if found is None:
        return None
    first = consultation.knowledge.causes[consultation.situation.beliefs.causes[0].id]
    inputs = next((c.inputs for c in consultation.derivation.computed if c.name == found.answer), ())
    given = [name for name in inputs if name in consultation.answers]
    raw = max(given, key=lambda name: _shaky(consultation, name), default=found.answer)
    return Doubt(
        evidence_of(consultation, raw, 0.0, first),
        math.exp(found.conflict),
        found.answer if raw != found.answer else "",
    )


def _shaky(consultation: Consultation, name: str) -> tuple[int, bool, str]:
    """How little an input of a sum is to be trusted: its source, then whether people are known to get it wrong."""
    doubted = consultation.knowledge.facts[name].doubt is not None
    return SOURCES.index(consultation.answers[name].source), doubted, name
