"""The next pour as an experiment: the single change that tells two suspects apart, and what each outcome will mean.

Five changes at once may give a good part and teach nothing. A single remedy that mends the one suspect and not the
other splits them by its outcome; the best is the one whose outcome carries most information about which it was, for its
cost. The two suspects are taken as alternatives in the proportion of their probabilities.
"""

from __future__ import annotations

import math
from collections.abc import Collection

from msgspec import Struct

from diagnose.knowledge import Remedy
from diagnose.reasoning.plan import Costs
from diagnose.reasoning.situation import Situation

#: a second suspect weaker than this share of the first is no rival
RIVAL = 0.25
#: outcomes that tell less than this many bits are not worth calling an experiment
LEAST_BITS = 0.08


class SingleChange(Struct, frozen=True):
    """One change: if the part comes good it was *mends* (with chance *if_good*),
    if not *rival* (with chance *if_bad*).
    """

    remedy: str
    mends: str
    rival: str
    if_good: float
    if_bad: float
    chance_good: float
    bits: float


def single_change(situation: Situation, costs: Costs, among: Collection[str] | None = None) -> SingleChange | None:
    """Return the change that best tells the two leading suspects apart,
    or None where there is no rival or no such change.

    *among*: only these remedies are looked at.
    """
    beliefs = situation.beliefs
    if (
        len(beliefs.causes) < 2
        or beliefs.causes[1].probability < RIVAL * beliefs.causes[0].probability
        or beliefs.causes[1].probability <= 0.0
    ):
        return None
    one, two = beliefs.causes[0], beliefs.causes[1]
    weight = one.probability / (one.probability + two.probability)
    found = []
    for remedy in situation.model.knowledge.remedies.values():
        if remedy.when == "this_part" or (among is not None and remedy.id not in among):
            continue
        change = _outcome(remedy, (one.id, weight), (two.id, 1.0 - weight))
        if change.bits >= LEAST_BITS:
            found.append((round(change.bits / (1.0 + costs.of(remedy) / costs.hour), 9), change))
    return min(found, key=lambda pair: (-pair[0], pair[1].remedy))[1] if found else None


def _outcome(remedy: Remedy, one: tuple[str, float], two: tuple[str, float]) -> SingleChange:
    works = {name: remedy.fixes[name].p if name in remedy.fixes else 0.0 for name in (one[0], two[0])}
    good = one[1] * works[one[0]] + two[1] * works[two[0]]
    mends, share = max((one, two), key=lambda pair: works[pair[0]])
    rival, rest = (two, one)[mends == two[0]]
    if_good = share * works[mends] / good if good > 0.0 else 0.0
    if_bad = rest * (1.0 - works[rival]) / (1.0 - good)
    before = _entropy(one[1])
    after = good * _entropy(if_good) + (1.0 - good) * _entropy(if_bad)
    return SingleChange(remedy.id, mends, rival, if_good, if_bad, good, before - after)


def _entropy(p: float) -> float:
    if p <= 0.0 or p >= 1.0:
        return 0.0
    return -(p * math.log2(p) + (1.0 - p) * math.log2(1.0 - p))
