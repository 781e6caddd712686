"""How firm the ranking is: what would have to change, and how far, to put another cause on top.

The weight in which a cause had a part, and the weight of the evidence, are both linear in every single prior, link and
leak (the posterior is a ratio of two such functions; Castillo, Gutierrez & Hadi 1997, from memory). So the value of a
parameter at which two causes change places follows from two points in closed form. The tests check each against a
search. Whole answers are left out one at a time.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from msgspec import Struct

from diagnose.reasoning.forward_backward import Array, Potentials
from diagnose.reasoning.inference import Inference, ten
from diagnose.reasoning.network import NOT_LISTED
from diagnose.reasoning.situation import Situation, log_odds

#: changes beyond this factor of odds are no longer a matter of a doubtful number
FAR = 100.0


class TippingPoint(Struct, frozen=True):
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


class DecisiveAnswer(Struct, frozen=True):
    """An answer without which another cause is first."""

    answer: str
    rival: str
    probability: float


class Sensitivity(Struct, frozen=True):
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


def tipping_priors(inference: Inference, first: str, rivals: Sequence[str]) -> list[TippingPoint]:
    """Return the priors at which a rival comes level: from the network as it is,
    and the weight of a part with each prior at 1.
    """
    names = [first, *rivals]
    now = inference.base.responsible[[inference.index[name] for name in names], 0].tolist()
    certain = _part_with_each_certain(inference, names)
    found = []
    for r, rival in enumerate(rivals, 1):
        leads = (certain[:, 0] - certain[:, r]).tolist()
        for name, prior, at_one in zip(inference.names, inference.priors.tolist(), leads, strict=True):
            if 0.0 < prior < 1.0:
                at_zero = (now[0] - now[r] - prior * at_one) / (1.0 - prior)
                found += _tipping("base", name, "", prior, at_zero, at_one, rival)
    return found


def _part_with_each_certain(inference: Inference, names: Sequence[str]) -> Array:
    """The weight in which each of *names* had a part, with the prior of each cause at 1, shape (n, names);
    nought where it is at 0.

    The weight in which two causes hold is the same from either side, so two rows do for all causes: the one holds, or
    holds and is silent.
    """
    causes = [inference.index[name] for name in names]
    rows, quiet = inference.rows(2 * len(causes)), []
    for r, c in enumerate(causes):
        rows.present[c, r], rows.absent[c, r] = inference.factors[c], 0.0
        quiet.append(inference.factors[c] * _set_silent(inference, rows, c, len(causes) + r))
    swept, priors = inference.sweep(rows), inference.priors
    holds, silent = slice(0, len(causes)), slice(len(causes), None)
    made = np.maximum(swept.present[:, holds] - np.array(quiet) * swept.present[:, silent], 0.0) * priors[causes]
    made /= np.where(priors > 0.0, priors, math.inf)[:, None]
    own = np.maximum(swept.evidence[holds] - np.array(quiet) * swept.evidence[silent], 0.0)
    made[causes, range(len(causes))] = own
    return made


def _set_silent(inference: Inference, rows: Potentials, c: int, row: int, cut: int = -1) -> float:
    """Have cause *c* hold in *row* and fire on no symptom, its links to checks joined to the leaks,
    its link to *cut* at 0.

    Return the chance of its silence, which the row leaves out, as it does the prior.
    """
    rows.present[c, row], rows.absent[c, row] = 0.0, 1.0
    _join(inference, rows, c, row, [j for j, f in enumerate(inference.positive) if not f.symptom and j != cut])
    links: list[float] = inference.structure.links[:, c].tolist()
    return math.prod(1.0 - links[j] for j, f in enumerate(inference.positive) if f.symptom and j != cut)


def _join(inference: Inference, rows: Potentials, c: int, row: int, findings: Sequence[int]) -> None:
    """Join the links of cause *c*, which holds in *row*, to the leaks of *findings*."""
    links = inference.structure.links[findings, c]
    rows.leak[findings, row] += rows.no_leak[findings, row] * links
    rows.no_leak[findings, row] *= 1.0 - links


def tipping_links(inference: Inference, first: str, rivals: Sequence[str]) -> list[TippingPoint]:
    """Return the links of the first cause and its rivals to what is seen at which they come level:
    from each link at 0 and as it is.
    """
    found = []
    for name in [first, *rivals]:
        linked = [j for j, finding in enumerate(inference.positive) if finding.links.get(name, 0.0) > 0.0]
        cut = _responsible_without_link(inference, inference.index[name], linked)
        for rival in rivals if name == first else [name]:
            places = inference.index[first], inference.index[rival]
            here = float(inference.base.responsible[places[0], 0] - inference.base.responsible[places[1], 0])
            for j, at_zero in zip(linked, (cut[places[0]] - cut[places[1]]).tolist(), strict=True):
                now = inference.positive[j].links[name]
                at_one = at_zero + (here - at_zero) / now
                found += _tipping("link", name, inference.positive[j].id, now, at_zero, at_one, rival)
    return found


def _responsible_without_link(inference: Inference, c: int, linked: Sequence[int]) -> Array:
    """Weight in which each cause had a part with one link of cause *c* at 0,
    a row for each of the findings *linked*, (n, r).

    The cause is taken apart: absent, or present with its other links joined to the leaks; and for its own part, present
    but silent on every symptom. No network is made anew.
    """
    checks = [j for j in linked if not inference.positive[j].symptom]
    rows = inference.rows(len(linked) + 2 + len(checks))
    rows.present[c], rows.absent[c] = 0.0, 1.0
    for r, cut in enumerate(linked):
        _join(inference, rows, c, r, [j for j in linked if j != cut])
    silent_at = {cut: len(linked) + 1 + r for r, cut in enumerate([-1, *checks])}
    for cut, row in silent_at.items():
        _set_silent(inference, rows, c, row, cut)
    swept, prior = inference.sweep(rows), inference.priors[c]
    present, absent = prior * inference.factors[c], 1.0 - prior
    made: Array = present * swept.responsible[:, : len(linked)] + absent * swept.responsible[:, len(linked), None]
    for r, cut in enumerate(linked):
        links: list[float] = inference.structure.links[:, c].tolist()
        quiet = math.prod(1.0 - links[j] for j in linked if inference.positive[j].symptom and j != cut)
        silent = quiet * swept.evidence[silent_at.get(cut, silent_at[-1])]
        made[c, r] = present * max(swept.evidence[r] - silent, 0.0)
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
    swept = situation.swept([{name: situation.answers[name] for name in known[:count]} for count in counts])
    made: Array = swept.present[cause] / swept.evidence
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
