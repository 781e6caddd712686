"""How firm the ranking is: what would have to change, and how far, to put another cause on top.

The weight in which a cause had a part, and the weight of the evidence, are both linear in every single prior, link and leak (the
posterior is a ratio of two such functions; Castillo, Gutierrez & Hadi 1997, from memory). So the value of a parameter at which two causes
change places follows from two sweeps in closed form. The tests check each against a search. Whole answers are left out one at a time.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from diagnose.reasoning.answers import Answer, Answers
from diagnose.reasoning.elimination import Array, Weights
from diagnose.reasoning.inference import Inference, leave_one_out
from diagnose.reasoning.network import NOT_LISTED, Model
from diagnose.reasoning.situation import Situation

#: changes beyond this factor of odds are no longer a matter of a doubtful number
FAR = 100.0


@dataclass(frozen=True, slots=True)
class TippingPoint:
    """A number that decides: at *value* instead of *now*, *rival* is as probable as the first cause.

    *kind* is `base` (the prior of *name* after the facts) or `link` (from *name* to the finding *effect*); *factor* is how far the odds move.
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
    model, answers, engine, beliefs = situation.model, situation.answers, situation.inference, situation.beliefs
    first = beliefs.causes[0].id
    rivals = [cause.id for cause in beliefs.causes[1:4] if cause.probability > 0.0]
    tippings = [*_bases(engine, first, rivals), *_links(engine, first, rivals)]
    near = sorted(
        (t for t in tippings if t.factor <= FAR), key=lambda t: (round(t.factor, 9), t.kind, t.name, t.effect, t.rival)
    )
    return Sensitivity(first, tuple(near), tuple(_decisive(model, answers, engine, first)))


def _decisive(model: Model, answers: Answers, engine: Inference, first: str) -> list[DecisiveAnswer]:
    """Answers that hold the first cause in its place, in the order given."""
    bearing = [
        name
        for name, answer in answers.items()
        if answer.known and name not in model.context and (name not in model.knowledge.facts or name in model.bearing)
    ]
    tops = _tops_without(model, answers, engine, [name for name in bearing if not _tangled(engine, name)])
    found = []
    for name in bearing:
        top = (
            tops[name]
            if name in tops
            else believe_top(model, {key: value for key, value in answers.items() if key != name})
        )
        if top is not None and top[0] != first:
            found.append(DecisiveAnswer(name, *top))
    return found


def _tangled(engine: Inference, name: str) -> bool:
    """Whether the network without the answer has other findings, or other symptoms to be explained, so that it has to be made anew."""
    return name in engine.network.merged or any(finding.question == name and finding.symptom for finding in engine.open)


def _tops_without(
    model: Model, answers: Answers, engine: Inference, names: Sequence[str]
) -> dict[str, tuple[str, float] | None]:
    """The first cause without each of *names*, all in one sweep."""
    if not any(finding.symptom and finding.seen for finding in engine.open):
        return dict.fromkeys(names)
    parts = _parts(engine.sweep(leave_one_out(model, engine, answers, names)))[2:]
    return {name: _top(engine, part) for name, part in zip(names, parts, strict=True)}


def believe_top(model: Model, answers: Answers) -> tuple[str, float] | None:
    """Return the first cause and its probability after *answers*, or None where no symptom is told."""
    engine = Inference(model.network(answers))
    if not any(finding.symptom and finding.seen for finding in engine.open):
        return None
    return _top(engine, _parts(engine.sweep(engine.rows(1)))[0])


def _top(engine: Inference, part: Array) -> tuple[str, float]:
    order = sorted((-round(float(part[i]), 10), name) for i, name in enumerate(engine.names) if name != NOT_LISTED)
    return order[0][1], -order[0][0]


def _parts(swept: Weights) -> Array:
    return np.maximum(swept.held - swept.silent, 0.0) / swept.z[:, None]


def _lead(swept: Weights, first: int, rival: int) -> Array:
    """Weight in which the first had a part less that of the rival: linear in each number. Shape (r,)."""
    part = np.maximum(swept.held - swept.silent, 0.0)
    return part[:, first] - part[:, rival]


def _bases(engine: Inference, first: str, rivals: Sequence[str]) -> list[TippingPoint]:
    """Priors: rows with the prior of one cause at 0 and at 1."""
    n = len(engine.names)
    rows = engine.rows(2 * n)
    for i in range(n):
        rows.hold[2 * i, i], rows.free[2 * i, i] = 0.0, 1.0
        rows.hold[2 * i + 1, i], rows.free[2 * i + 1, i] = engine.factors[i], 0.0
    swept = engine.sweep(rows)
    found = []
    for rival in rivals:
        lead = _lead(swept, engine.index[first], engine.index[rival])
        for i, name in enumerate(engine.names):
            value = _root(float(lead[2 * i]), float(lead[2 * i + 1]))
            if value is not None:
                now = float(engine.priors[i])
                found.append(TippingPoint("base", name, "", now, value, _factor(now, value), rival))
    return found


def _links(engine: Inference, first: str, rivals: Sequence[str]) -> list[TippingPoint]:
    """Links of the first cause and its rivals to what is seen: the structure with that link at 0, and as it is.

    Two points of a straight line give its value at 1 as well.
    """
    found = []
    here = engine.sweep(engine.rows(1))
    for name in [first, *rivals]:
        for j, finding in enumerate(engine.open):
            now = finding.links.get(name, 0.0)
            if now <= 0.0:
                continue
            without = _with_link(engine, j, name, 0.0)
            for rival in rivals:
                if name not in (first, rival):
                    continue
                at_zero, at_now = (
                    float(_lead(swept, engine.index[first], engine.index[rival])[0]) for swept in (without, here)
                )
                value = _root(at_zero, at_zero + (at_now - at_zero) / now)
                if value is not None:
                    found.append(TippingPoint("link", name, finding.id, now, value, _factor(now, value), rival))
    return found


def _with_link(engine: Inference, j: int, name: str, value: float) -> Weights:
    finding = engine.open[j]
    changed = replace(finding, links={**finding.links, name: value})
    findings = tuple(changed if f is finding else f for f in engine.network.findings)
    other = Inference(replace(engine.network, findings=findings))
    return other.sweep(other.rows(1))


def _root(at_zero: float, at_one: float) -> float | None:
    """Where a straight line through (0, at_zero) and (1, at_one) is nought, if that is inside (0, 1)."""
    if at_zero == at_one:
        return None
    value = at_zero / (at_zero - at_one)
    return value if 0.0 < value < 1.0 else None


def _factor(now: float, value: float) -> float:
    """How far the odds move, as a factor of 1 or more."""
    if now <= 0.0 or now >= 1.0:
        return float("inf")
    ratio = (value / (1.0 - value)) / (now / (1.0 - now))
    return max(ratio, 1.0 / ratio)


def weights_in_order(model: Model, answers: Answers, cause: str) -> list[tuple[str, float]]:
    """Return the weight of evidence (natural log) of each answer on *cause* having held, in the order given; they add up to the total.

    The first entry is the prior log odds of the cause in a part of this build, before anything is told.
    """
    told: dict[str, Answer] = {}
    entries = [("", _log_odds(model, {}, cause))]
    before = entries[0][1]
    for name, answer in answers.items():
        told[name] = answer
        if not answer.known:
            continue
        silent = name in model.knowledge.facts and name not in model.bearing
        after = before if silent else _log_odds(model, told, cause)
        entries.append((name, after - before))
        before = after
    return entries


def _log_odds(model: Model, answers: Answers, cause: str) -> float:
    engine = Inference(model.network(answers))
    swept = engine.sweep(engine.rows(1))
    p = min(max(float(swept.held[0, engine.index[cause]] / swept.z[0]), 1e-15), 1 - 1e-15)
    return float(np.log(p / (1.0 - p)))


__all__ = ["Sensitivity", "DecisiveAnswer", "TippingPoint", "believe_top", "sensitivity", "weights_in_order"]
