"""Why the first cause is first: the weight of evidence of each answer, in the order given, in whole points that add up.

A point is a tenth of the step that makes odds ten times longer (a deciban): 3 points double the odds, 10 make them tenfold, 0 is
even. Points are rounded on the running sum, so that they add up to the total exactly; answers that say next to nothing are
one entry at the end.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from diagnose.assessment.evidence import Reading, reading_of
from diagnose.assessment.situation import Situation
from diagnose.knowledge import Cause
from diagnose.reasoning.sensitivity import weights_in_order

#: natural logarithm -> points
POINTS = 10.0 / math.log(10.0)
#: answers of less than half a point are put together
LITTLE = 0.5


@dataclass(frozen=True, slots=True)
class Step:
    """One answer (None: what stands before any answer) with its points."""

    reading: Reading | None
    points: int


@dataclass(frozen=True, slots=True)
class Why:
    """Points for *cause*: where it starts, each answer that counts, *few* others with *few_points* together, and the *total*, which is chance *held*."""

    cause: Cause
    steps: tuple[Step, ...]
    few: int
    few_points: int
    total: int
    held: float


def why_of(situation: Situation) -> Why:
    """Return the points for the first cause having held."""
    first = situation.beliefs.causes[0]
    cause = situation.knowledge.causes[first.id]
    entries = [(name, POINTS * weight) for name, weight in weights_in_order(situation.reasoned, cause.id)]
    counted = [(name, points) for name, points in entries if not name or abs(points) >= LITTLE]
    running, shown, steps = 0.0, 0, []
    for name, points in counted:
        running += points
        step = round(round(running, 9)) - shown
        shown += step
        steps.append(Step(reading_of(situation, name, points / POINTS, cause) if name else None, step))
    total = round(round(sum(points for _, points in entries), 9))
    return Why(cause, tuple(steps), len(entries) - len(counted), total - shown, total, first.present)
