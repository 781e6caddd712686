"""How firm the ranking is: what would have to change, and how far, to put another cause on top.

The weight in which a cause had a part, and the weight of the evidence, are both linear in every single prior, link and
leak (the posterior is a ratio of two such functions; Castillo, Gutierrez & Hadi 1997, from memory). So the value of a
parameter at which two causes change places follows from two points in closed form. The tests check each against a
search. Whole answers are left out one at a time.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from diagnose.reasoning.elimination import Array
from diagnose.reasoning.inference import Inference, ten
from diagnose.reasoning.network import NOT_LISTED
from diagnose.reasoning.situation import Situation, log_odds

#: changes beyond this factor of odds are no longer a matter of a doubtful number
FAR = 100.0


@dataclass(frozen=True, slots=True)
class TippingPoint:
    """A number that decides: at *value* instead of *now*, *rival* is as probable as the first cause.

    *kind* is `base` (the prior of *name* after the facts) or `link` (from *name* to the finding *effect*); *factor* is
    how far the odds move.
    """

    kind: str
    name: str
    effect: str
    now: float
    value: float
    factor: float
    rival: str


@dataclass(frozen=True, slots=True)
class DecisiveAnswer:
    """An answer without which another cause is first."""

    answer: str
    rival: str
    probability: float


@dataclass(frozen=True, slots=True)
class Sensitivity:
    """What would overturn the first cause: numbers, nearest first, and single answers, in the order given."""

    first: str
    tipping: tuple[TippingPoint, ...]
    decisive: tuple[DecisiveAnswer, ...]


def sensitivity(situation: Situation) -> Sensitivity:
    """Return how firm the first place is."""
    causes = situation.beliefs.causes
    first, rivals = causes[0].id, [cause.id for cause in causes[1:4] if cause.probability > 0.0]
    tipping = [*tipping_priors(situation.inference, first, rivals), *tipping_links(situation.inference, first, rivals)]
    near = sorted(
        (t for t in tipping if t.factor <= FAR), key=lambda t: (round(t.factor, 9), t.kind, t.name, t.effect, t.rival)
    )
    return Sensitivity(first, tuple(near), tuple(_decisive(situation, first)))


def _decisive(situation: Situation, first: str) -> list[DecisiveAnswer]:
    """Answers that hold the first cause in its place, in the order given."""
    names = situation.inference.names
    found = []
    for answer, (_, responsible) in situation.each_left_out.items():
        if tuple(name for name in situation.seen if name != answer) == ():
            continue  # without it there is nothing to explain
        order = sorted((-ten(float(p)), name) for p, name in zip(responsible, names, strict=True) if name != NOT_LISTED)
        if order[0][1] != first:
            found.append(DecisiveAnswer(answer, order[0][1], -order[0][0]))
    return found


def _lead(responsible: Array, inference: Inference, first: str, rival: str) -> Array:
    """Weight in which the first had a part less that of the rival, of rows (r, n):
    linear in each number. Shape (r,).
    """
    made: Array = responsible[:, inference.index[first]] - responsible[:, inference.index[rival]]
    return made


def tipping_priors(inference: Inference, first: str, rivals: Sequence[str]) -> list[TippingPoint]:
    """Return the priors at which a rival comes level: from the network as it is, and a row for each prior at 1."""
    n = len(inference.names)
    rows = inference.rows(n)
    np.fill_diagonal(rows.present, inference.factors)
    np.fill_diagonal(rows.absent, 0.0)
    certain = inference.sweep(rows).responsible
    found = []
    for rival in rivals:
        now = float(_lead(inference.base.responsible, inference, first, rival)[0])
        for name, prior, at_one in zip(
            inference.names, inference.priors.tolist(), _lead(certain, inference, first, rival).tolist(), strict=True
        ):
            if prior < 1.0:
                at_zero = (now - prior * at_one) / (1.0 - prior)
                found += _tipping("base", name, "", prior, at_zero, at_one, rival)
    return found


def tipping_links(inference: Inference, first: str, rivals: Sequence[str]) -> list[TippingPoint]:
    """Return the links of the first cause and its rivals to what is seen at which they come level:
    from each link at 0 and as it is.
    """
    found = []
    for name in [first, *rivals]:
        linked = [j for j, finding in enumerate(inference.positive) if finding.links.get(name, 0.0) > 0.0]
        cut = _responsible_without_link(inference, inference.index[name], linked)
        for rival in rivals if name == first else [name]:
            here = float(_lead(inference.base.responsible, inference, first, rival)[0])
            for j, at_zero in zip(linked, _lead(cut, inference, first, rival).tolist(), strict=True):
                now = inference.positive[j].links[name]
                at_one = at_zero + (here - at_zero) / now
                found += _tipping("link", name, inference.positive[j].id, now, at_zero, at_one, rival)
    return found


def _responsible_without_link(inference: Inference, c: int, linked: Sequence[int]) -> Array:
    """Weight in which each cause had a part with one link of cause *c* at 0,
    a row for each of the findings *linked*, (r, n).

    The cause is taken apart: absent, or present with its other links joined to the leaks; and for its own part, present
    but silent on every symptom. No network is made anew.
    """
    links = inference.structure.links[:, c]
    rows = inference.rows(2 * len(linked) + 1)
    rows.present[:, c], rows.absent[:, c] = 0.0, 1.0
    quiet = np.ones(len(linked))
    for r, cut in enumerate(linked):
        for j in linked:
            if j == cut:
                continue
            for row, fires in ((r, True), (len(linked) + r, not inference.positive[j].symptom)):
                if fires:
                    rows.leak[row, j] += rows.no_leak[row, j] * links[j]
                    rows.no_leak[row, j] *= 1.0 - links[j]
            if inference.positive[j].symptom:
                quiet[r] *= 1.0 - links[j]
    swept = inference.sweep(rows)
    prior = inference.priors[c]
    present, absent = prior * inference.factors[c], 1.0 - prior
    cut_at, silent_at = slice(0, len(linked)), slice(len(linked), 2 * len(linked))
    made: Array = present * swept.responsible[cut_at] + absent * swept.responsible[-1]
    made[:, c] = present * np.maximum(swept.evidence[cut_at] - quiet * swept.evidence[silent_at], 0.0)
    return made


def _tipping(
    kind: str, name: str, effect: str, now: float, at_zero: float, at_one: float, rival: str
) -> list[TippingPoint]:
    """The tipping point where a straight line through (0, *at_zero*) and (1, *at_one*) is nought,
    if that is inside (0, 1).
    """
    value = at_zero / (at_zero - at_one) if at_zero != at_one else 0.0
    if not 0.0 < value < 1.0:
        return []
    return [TippingPoint(kind, name, effect, now, value, _factor(now, value), rival)]


def _factor(now: float, value: float) -> float:
    """How far the odds move, as a factor of 1 or more."""
    if now <= 0.0 or now >= 1.0:
        return float("inf")
    ratio = (value / (1.0 - value)) / (now / (1.0 - now))
    return max(ratio, 1.0 / ratio)


def weights_in_order(situation: Situation, cause: str) -> list[tuple[str, float]]:
    """Return the weight of evidence (natural log) of each answer on *cause* having held, in the order given;
    they add up to the total.

    The first entry is the prior log odds of the cause in a part of this build, before anything is told.
    """
    known = [name for name, answer in situation.answers.items() if answer.known]
    odds = log_odds(_held_after_each(situation, known, situation.inference.index[cause])).tolist()
    names = ["", *known]
    return list(zip(names, [odds[0], *(after - before for before, after in pairwise(odds))], strict=True))


def _held_after_each(situation: Situation, known: Sequence[str], cause: int) -> Array:
    """The chance that *cause* held after none, one, two ... of the answers *known*, shape (answers + 1,)."""
    counts = range(len(known) + 1)
    if situation.network.merged:  # a twin that comes later changes the findings
        return np.array([situation.only(known[:count]).inference.present[cause] for count in counts])
    given = [{name: situation.answers[name] for name in known[:count]} for count in counts]
    swept = situation.inference.sweep(situation.rows_for(given))
    made: Array = swept.present[:, cause] / swept.evidence
    return made


__all__ = [
    "DecisiveAnswer",
    "Sensitivity",
    "TippingPoint",
    "sensitivity",
    "tipping_links",
    "tipping_priors",
    "weights_in_order",
]
