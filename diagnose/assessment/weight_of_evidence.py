"""The weight of each answer on the first cause, in the order given, in whole points that add up.

A point is a tenth of the step that makes odds ten times longer (a deciban): 3 points double the odds, 10 make them
tenfold, 0 is even. Points are rounded on the running sum, so that they add up to the total exactly; answers that say
next to nothing are one entry at the end.
"""

from __future__ import annotations

import math

from diagnose.assessment.consultation import Consultation
from diagnose.assessment.evidence import evidence_of
from diagnose.assessment.records import Evidence, Weights
from diagnose.reasoning.sensitivity import weights_in_order

#: natural logarithm -> points
POINTS = 10.0 / math.log(10.0)
#: answers of less than half a point are put together
LITTLE = 0.5
_BEFORE = Evidence("", None, "", "", 0.0, "", False, False, "")


def weights_of(consultation: Consultation) -> Weights:
    """Return the points for the first cause having held."""
    cause = consultation.knowledge.causes[consultation.situation.beliefs.causes[0].id]
    weighed = weights_in_order(consultation.situation, cause.id)
    entries = [(name, POINTS * weight) for name, weight in weighed]
    counted = [(name, points) for name, points in entries if not name or abs(points) >= LITTLE]
    running, shown = 0.0, 0
    steps: list[tuple[Evidence, int]] = []
    for name, points in counted:
        running += points
        step = round(round(running, 9)) - shown
        shown += step
        steps.append((evidence_of(consultation, name, points / POINTS, cause) if name else _BEFORE, step))
    total = round(round(sum(points for _, points in entries), 9))
    return Weights(cause.id, tuple(steps), len(entries) - len(counted), total - shown, total)
