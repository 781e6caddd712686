"""What is believed after the answers: did each cause hold, had it a part in what is seen, and what is left unexplained.

A cause that holds fires each of its links by itself, with the link's chance. It *had a part* if it fired on a symptom seen;
a check seen is evidence, not a fault. Everything here is exact; the numbers follow from the priors and findings of the
`Network` alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from diagnose.errors import InputError
from diagnose.reasoning.answers import Answers
from diagnose.reasoning.elimination import NoisyOrNet
from diagnose.reasoning.finding import Finding
from diagnose.reasoning.forward_backward import Array, Potentials, Weights
from diagnose.reasoning.network import NOT_LISTED, Model, Network


class NoWayToBe(InputError):
    """The answers contradict each other under this knowledge: their likelihood is zero."""


@dataclass(frozen=True, slots=True)
class CauseBelief:
    """Belief in one cause: it had a part in a symptom seen, it held at all, and the weight of each answer that says something.

    *weights*: natural-log weight of evidence of each answer, by how far the odds that the cause held fall back without it.
    """

    id: str
    probability: float
    present: float
    weights: tuple[tuple[str, float], ...]

    def speaking(self, sign: int, least: float = 0.2) -> tuple[str, ...]:
        """Answers that speak for (+1) or against (-1) the cause by at least *least*, strongest first."""
        chosen = [(_ten(abs(weight)), name) for name, weight in self.weights if _ten(weight * sign) >= least]
        return tuple(name for _, name in sorted(chosen, key=lambda pair: (-pair[0], pair[1])))


@dataclass(frozen=True, slots=True)
class Beliefs:
    """All beliefs: causes by probability, then present, then id; `not_listed` and the leaks are in *unexplained*."""

    causes: tuple[CauseBelief, ...]
    unexplained: float
    not_listed: float
    evidence: float


class Inference:
    """One network made ready for sweeps: open findings as a structure, absent ones as factors on the causes."""

    def __init__(self, network: Network) -> None:
        self.network = network
        self.names = network.causes
        self.index = {name: i for i, name in enumerate(self.names)}
        self.open = [f for f in network.findings if f.on > 0.0]
        self.shut = [f for f in network.findings if f.on <= 0.0]
        links = np.zeros((len(self.open), len(self.names)))
        for j, finding in enumerate(self.open):
            links[j] = self.link_row(finding)
        self.structure = NoisyOrNet(links, [f.symptom for f in self.open])
        self.priors: Array = np.array(network.priors)
        self.factors: Array = np.ones(len(self.names))
        self._shut: dict[str, Array] = {}
        for finding in self.shut:
            row = 1.0 - self.link_row(finding)
            self._shut[finding.question] = self._shut.get(finding.question, np.ones(len(self.names))) * row
        for row in self._shut.values():
            self.factors = self.factors * row

    def factors_without(self) -> dict[str, Array]:
        """For each answer with absent findings the factors of all the others, shape (n,); nothing is divided, for a link may be 1."""
        names = list(self._shut)
        before = [np.ones(len(self.names))]
        for name in names:
            before.append(before[-1] * self._shut[name])
        after, found = np.ones(len(self.names)), {}
        for i in range(len(names) - 1, -1, -1):
            found[names[i]] = before[i] * after
            after = after * self._shut[names[i]]
        return found

    def link_row(self, finding: Finding) -> Array:
        """Return the links of *finding* over all causes, zero where there is none."""
        row = np.zeros(len(self.names))
        for name, chance in finding.links.items():
            row[self.index[name]] = chance
        return row

    def rows(self, count: int) -> Potentials:
        """Return *count* equal rows that stand for the network as it is, free to be changed."""
        k = len(self.open)
        leak = np.array([f.leak for f in self.open]).reshape(1, k)
        return Potentials(
            hold=np.tile(self.priors * self.factors, (count, 1)),
            free=np.tile(1.0 - self.priors, (count, 1)),
            leak=np.tile(leak, (count, 1)),
            quiet=np.tile(1.0 - leak, (count, 1)),
            on=np.tile(np.array([f.on for f in self.open]).reshape(1, k), (count, 1)),
            off=np.tile(np.array([f.off for f in self.open]).reshape(1, k), (count, 1)),
        )

    def sweep(self, rows: Potentials) -> Weights:
        """Return the exact weights of *rows*."""
        return self.structure.sweep(rows)

    def evidence(self) -> float:
        """Return the weight of the open findings, by a forward pass alone: of all that fired, all may be mended."""
        return float(self.structure.mended(self.rows(1), np.ones((1, len(self.names))))[0])


def believe(model: Model, answers: Answers, engine: Inference) -> Beliefs:
    """Return what is believed after *answers*, whose network *engine* has made ready.

    Raises TooManySeen where more is said to be seen than can be thought through, NoWayToBe where the answers can't all be true.
    """
    speaking = {finding.question for finding in engine.network.findings} | engine.network.merged
    said = [name for name, answer in answers.items() if answer.known and (name in speaking or name in model.bearing)]
    swept = engine.sweep(leave_one_out(model, engine, answers, said))
    z, held, silent = swept.z, swept.held, swept.silent
    if not z[0] > 0.0:
        raise NoWayToBe(
            "the answers can't all be true: with links, leaks and trust as they are written no set of causes leads to them"
        )
    part = np.maximum(held[0] - silent[0], 0.0) / z[0]
    lone = engine.index[NOT_LISTED]
    quiet = z[1] - (held[1, lone] - silent[1, lone])
    weights = _weights(model, engine, answers, said, swept)
    causes = [
        CauseBelief(name, float(part[i]), float(held[0, i] / z[0]), weights[i])
        for i, name in enumerate(engine.names)
        if name != NOT_LISTED
    ]
    causes.sort(key=lambda c: (-_ten(c.probability), -_ten(c.present), c.id))
    return Beliefs(tuple(causes), float(max(0.0, 1.0 - quiet / z[0])), float(part[lone]), float(z[0]))


def _weights(
    model: Model, engine: Inference, answers: Answers, said: Sequence[str], swept: Weights
) -> list[tuple[tuple[str, float], ...]]:
    """The weight of each answer on each cause: log odds that it held, less what they would be without the answer."""
    without = swept.held[2:] / swept.z[2:, None]
    for r, name in enumerate(said):
        if name in engine.network.merged:  # its twin may speak in its place, so the findings are others
            rest = Inference(model.network({key: answer for key, answer in answers.items() if key != name}))
            alone = rest.sweep(rest.rows(1))
            without[r] = alone.held[0] / alone.z[0]
    table = _log_odds(swept.held[0] / swept.z[0]) - _log_odds(without)
    return [tuple(zip(said, column, strict=True)) for column in table.T.tolist()]


def leave_one_out(model: Model, engine: Inference, answers: Answers, said: Sequence[str]) -> Potentials:
    """Row 0 is the network; row 1 has the leaks of the symptoms seen silenced; the others leave one answer out each."""
    rows = engine.rows(len(said) + 2)
    factors = engine.factors_without()
    for j, finding in enumerate(engine.open):
        if finding.symptom and finding.seen:
            rows.leak[1, j] = 0.0
    for r, name in enumerate(said, start=2):
        for j, finding in enumerate(engine.open):
            if finding.question == name:
                rows.on[r, j] = rows.off[r, j] = 1.0
        if name in factors:
            rows.hold[r] = engine.priors * factors[name]
        if name in model.bearing:
            _without_fact(model, engine, answers, name, rows, r)
    return rows


def _without_fact(model: Model, engine: Inference, answers: Answers, name: str, rows: Potentials, row: int) -> None:
    rest = {key: answer for key, answer in answers.items() if key != name}
    products = {cause: said.product for cause, said in engine.network.speaking.items()}
    for cause in model.bearing[name]:
        products[cause] = model.speaking(model.causes[cause], rest).product
    priors = model.priors(products)
    for cause, prior in priors.items():
        i = engine.index[cause]
        rows.hold[row, i] = prior * engine.factors[i]
        rows.free[row, i] = 1.0 - prior


def _log_odds(p: Array) -> Array:
    p = np.minimum(np.maximum(p, 1e-15), 1.0 - 1e-15)
    return np.log(p / (1.0 - p))


def _ten(value: float) -> float:
    """Ranking looks at ten digits, so that the last bits of a machine never change an order."""
    return round(value, 10)
