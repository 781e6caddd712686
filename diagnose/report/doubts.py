"""How firm the answer is: which answers it hangs on, which number would have to be otherwise, and which answer sits badly with the rest.

What was only told or remembered is named first, with the question that would settle it; those that `turning.py` already names as
hinges are not named twice. Of the numbers the nearest is told, and a second one only where it is near as well.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from diagnose.casebook.consult import Consultation
from diagnose.knowledge import Cause
from diagnose.reasoning.answers import SOURCES
from diagnose.reasoning.conflict import doubtful
from diagnose.reasoning.firm import Firmness, Tipping, firmness
from diagnose.reasoning.network import NOT_LISTED
from diagnose.report.readings import Reading, reading_of
from diagnose.report.turning import Hinge

#: a second number is told where the odds need move by no more than this; beside it at most so many answers are named
NEAR, MOST_NAMED = 10.0, 4


@dataclass(frozen=True, slots=True)
class Firm:
    """*readings*: answers without any one of which another cause is first, shakiest first; *tippings* the nearest numbers that decide."""

    readings: tuple[Reading, ...]
    tippings: tuple[Tipping, ...]


@dataclass(frozen=True, slots=True)
class Disagreeing:
    """The raw answer least in keeping with the others, *times* less likely beside them than alone; *derived* what it shows in, or empty."""

    reading: Reading
    times: float
    derived: str


def firm_of(consultation: Consultation, both: bool, hinges: Sequence[Hinge]) -> Firm:
    """Return how firm the first place is. Where *both* of the first two had a part, their order is no matter."""
    found = firmness(consultation.model, consultation.answers, consultation.engine, consultation.beliefs)
    partner = consultation.beliefs.causes[1].id if both else ""
    first = consultation.knowledge.causes[found.first]
    return Firm(
        tuple(_hanging(consultation, found, first, partner, {h.reading.question for h in hinges})),
        tuple(_nearest([t for t in found.tippings if partner != t.rival and t.name != NOT_LISTED])),
    )


def _nearest(tippings: Sequence[Tipping]) -> list[Tipping]:
    """The nearest number, and a near one that puts another rival ahead."""
    chosen = list(tippings[:1])
    for tipping in tippings[1:]:
        if len(chosen) < 2 and tipping.factor <= NEAR and tipping.rival != chosen[0].rival:
            chosen.append(tipping)
    return chosen


def _hanging(consultation: Consultation, found: Firmness, first: Cause, partner: str, named: set[str]) -> list[Reading]:
    """Answers that decide, symptoms apart: what is seen on the part is the question, not an answer to doubt."""
    behind = {computed.name: computed.inputs for computed in consultation.derivation.computed}
    chosen = []
    for hinge in found.hinges:
        told = {hinge.answer, *behind.get(hinge.answer, ())}
        if hinge.rival != partner and hinge.answer not in consultation.knowledge.symptoms and not told & named:
            chosen.append(reading_of(consultation, hinge.answer, 0.0, first))
    return sorted(chosen, key=lambda reading: (-SOURCES.index(reading.answer.source), reading.question))[:MOST_NAMED]


def disagreeing(consultation: Consultation) -> Disagreeing | None:
    """Return the raw answer to ask again, or None where none stands out; of the inputs of a sum it is the least trusted."""
    found = doubtful(consultation.model, consultation.answers)
    if found is None:
        return None
    first = consultation.knowledge.causes[consultation.beliefs.causes[0].id]
    inputs = next((c.inputs for c in consultation.derivation.computed if c.name == found.answer), ())
    raw = max(inputs, key=lambda name: _shaky(consultation, name), default=found.answer)
    return Disagreeing(reading_of(consultation, raw, 0.0, first), math.exp(found.conflict), found.answer if raw != found.answer else "")


def _shaky(consultation: Consultation, name: str) -> tuple[int, bool, str]:
    """How little an input of a sum is to be trusted: its source, then whether people are known to get it wrong."""
    return SOURCES.index(consultation.answers[name].source), consultation.knowledge.facts[name].doubt is not None, name
