"""How firm the answer is: which answers it hangs on, which number would have to be otherwise, and which answer sits badly with the rest.

What was only told or remembered is named first, with the question that would settle it; those that `turning.py` already names as
hinges are not named twice. Of the numbers the nearest is told, and a second one only where it is near as well.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from diagnose.assessment.evidence import Reading, reading_of
from diagnose.assessment.open_questions import Hinge
from diagnose.assessment.situation import Situation
from diagnose.knowledge import Cause
from diagnose.reasoning.answers import SOURCES
from diagnose.reasoning.conflict import doubtful
from diagnose.reasoning.network import NOT_LISTED
from diagnose.reasoning.sensitivity import Sensitivity, TippingPoint, sensitivity

#: a second number is told where the odds need move by no more than this; beside it at most so many answers are named
NEAR, MOST_NAMED = 10.0, 4


@dataclass(frozen=True, slots=True)
class Firm:
    """*readings*: answers without any one of which another cause is first, shakiest first; *tippings* the nearest numbers that decide."""

    readings: tuple[Reading, ...]
    tippings: tuple[TippingPoint, ...]


@dataclass(frozen=True, slots=True)
class Disagreeing:
    """The raw answer least in keeping with the others, *times* less likely beside them than alone; *derived* what it shows in, or empty."""

    reading: Reading
    times: float
    derived: str


def firm_of(situation: Situation, both: bool, hinges: Sequence[Hinge]) -> Firm:
    """Return how firm the first place is. Where *both* of the first two had a part, their order is no matter."""
    found = sensitivity(situation.reasoned)
    partner = situation.beliefs.causes[1].id if both else ""
    first = situation.knowledge.causes[found.first]
    return Firm(
        tuple(_hanging(situation, found, first, partner, {h.reading.question for h in hinges})),
        tuple(_nearest([t for t in found.tipping if partner != t.rival and t.name != NOT_LISTED])),
    )


def _nearest(tippings: Sequence[TippingPoint]) -> list[TippingPoint]:
    """The nearest number, and a near one that puts another rival ahead."""
    chosen = list(tippings[:1])
    for tipping in tippings[1:]:
        if len(chosen) < 2 and tipping.factor <= NEAR and tipping.rival != chosen[0].rival:
            chosen.append(tipping)
    return chosen


def _hanging(situation: Situation, found: Sensitivity, first: Cause, partner: str, named: set[str]) -> list[Reading]:
    """Answers that decide, symptoms apart: what is seen on the part is the question, not an answer to doubt."""
    behind = {computed.name: computed.inputs for computed in situation.derivation.computed}
    chosen = []
    for hinge in found.decisive:
        told = {hinge.answer, *behind.get(hinge.answer, ())}
        if hinge.rival != partner and hinge.answer not in situation.knowledge.symptoms and not told & named:
            chosen.append(reading_of(situation, hinge.answer, 0.0, first))
    return sorted(chosen, key=lambda reading: (-SOURCES.index(reading.answer.source), reading.question))[:MOST_NAMED]


def disagreeing(situation: Situation) -> Disagreeing | None:
    """Return the raw answer to ask again, or None where none stands out; of the inputs of a sum it is the least trusted."""
    found = doubtful(situation.reasoned)
    if found is None:
        return None
    first = situation.knowledge.causes[situation.beliefs.causes[0].id]
    inputs = next((c.inputs for c in situation.derivation.computed if c.name == found.answer), ())
    raw = max(inputs, key=lambda name: _shaky(situation, name), default=found.answer)
    return Disagreeing(
        reading_of(situation, raw, 0.0, first), math.exp(found.conflict), found.answer if raw != found.answer else ""
    )


def _shaky(situation: Situation, name: str) -> tuple[int, bool, str]:
    """How little an input of a sum is to be trusted: its source, then whether people are known to get it wrong."""
    return SOURCES.index(situation.answers[name].source), situation.knowledge.facts[name].doubt is not None, name
