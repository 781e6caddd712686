"""What is believed after the answers: did each cause hold, had it a part in what is seen, and what is left unexplained.

A cause that holds fires each of its links by itself, with the link's chance. It *had a part* if it fired on a symptom seen;
a check seen is evidence, not a fault. Everything here is exact; the numbers follow from the priors and findings of the
`Network` alone.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from diagnose.reasoning.answers import Answers
from diagnose.reasoning.network import NOT_LISTED, Finding, Model, Network
from diagnose.reasoning.sweep import Array, Rows, Structure, Swept


@dataclass(frozen=True, slots=True)
class CauseBelief:
    """Belief in one cause: it had a part in a symptom seen, it held at all, and the weight of each answer on it.

    *weights*: natural-log weight of evidence of each answer, by how far the odds that the cause held fall back without it.
    """

    id: str
    probability: float
    present: float
    weights: tuple[tuple[str, float], ...]

    def speaking(self, sign: int, least: float = 0.2) -> tuple[str, ...]:
        """Answers that speak for (+1) or against (-1) the cause by at least *least*, strongest first."""
        chosen = [(abs(weight), name) for name, weight in self.weights if weight * sign >= least]
        return tuple(name for _, name in sorted(chosen, key=lambda pair: (-pair[0], pair[1])))


@dataclass(frozen=True, slots=True)
class Beliefs:
    """All beliefs: causes by probability, then present, then id; `not_listed` and the leaks are in *unexplained*."""

    causes: tuple[CauseBelief, ...]
    unexplained: float
    not_listed: float
    evidence: float


class Engine:
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
        self.structure = Structure(links, [f.symptom for f in self.open])
        self.priors: Array = np.array(network.priors)
        self.factors: Array = np.ones(len(self.names))
        self.shut_rows = [(f, 1.0 - self.link_row(f)) for f in self.shut]
        for _, row in self.shut_rows:
            self.factors = self.factors * row

    def link_row(self, finding: Finding) -> Array:
        """Return the links of *finding* over all causes, zero where there is none."""
        row = np.zeros(len(self.names))
        for name, chance in finding.links.items():
            row[self.index[name]] = chance
        return row

    def rows(self, count: int) -> Rows:
        """Return *count* equal rows that stand for the network as it is, free to be changed."""
        k = len(self.open)
        leak = np.array([f.leak for f in self.open]).reshape(1, k)
        return Rows(
            hold=np.tile(self.priors * self.factors, (count, 1)), free=np.tile(1.0 - self.priors, (count, 1)),
            leak=np.tile(leak, (count, 1)), quiet=np.tile(1.0 - leak, (count, 1)),
            on=np.tile(np.array([f.on for f in self.open]).reshape(1, k), (count, 1)),
            off=np.tile(np.array([f.off for f in self.open]).reshape(1, k), (count, 1)))

    def sweep(self, rows: Rows) -> Swept:
        """Return the exact weights of *rows*."""
        return self.structure.sweep(rows)


def believe(model: Model, answers: Answers, network: Network | None = None) -> Beliefs:
    """Return what is believed after *answers*. Raises TooManySeen beyond `sweep.MAX_OPEN` effects seen at once."""
    engine = Engine(network or model.network(answers))
    said = [name for name, answer in answers.items() if answer.known]
    rows = _leave_one_out(model, engine, answers, said)
    swept = engine.sweep(rows)
    z, held, silent = swept.z, swept.held, swept.silent
    present = held[0] / z[0]
    part = np.maximum(held[0] - silent[0], 0.0) / z[0]
    lone = engine.index[NOT_LISTED]
    quiet = z[1] - (held[1, lone] - silent[1, lone])
    causes = []
    for i, name in enumerate(engine.names):
        if name == NOT_LISTED:
            continue
        weights = tuple((answer, _log_odds(present[i]) - _log_odds(held[r + 2, i] / z[r + 2])) for r, answer in enumerate(said))
        causes.append(CauseBelief(name, float(part[i]), float(present[i]), weights))
    causes.sort(key=lambda c: (-_ten(c.probability), -_ten(c.present), c.id))
    return Beliefs(tuple(causes), float(max(0.0, 1.0 - quiet / z[0])), float(part[lone]), float(z[0]))


def held_and_had_a_part(engine: Engine, held: str, other: str) -> float:
    """Return the chance that cause *held* held while cause *other* had a part in a symptom seen, exactly."""
    rows = engine.rows(2)
    rows.hold[1, engine.index[held]] = 0.0
    swept, i = engine.sweep(rows), engine.index[other]
    part = np.maximum(swept.held[:, i] - swept.silent[:, i], 0.0)
    return float(max(0.0, part[0] - part[1]) / swept.z[0])


def _leave_one_out(model: Model, engine: Engine, answers: Answers, said: Sequence[str]) -> Rows:
    """Row 0 is the network; row 1 has the leaks of the symptoms seen silenced; the others leave one answer out each."""
    rows = engine.rows(len(said) + 2)
    for j, finding in enumerate(engine.open):
        if finding.symptom and finding.seen:
            rows.leak[1, j] = 0.0
        for r, name in enumerate(said):
            if finding.question == name:
                rows.on[r + 2, j] = rows.off[r + 2, j] = 1.0
    for r, name in enumerate(said):
        for finding, factor in engine.shut_rows:
            if finding.question == name:
                rows.hold[r + 2] = rows.hold[r + 2] / factor
        if name in model.bearing:
            _without_fact(model, engine, answers, name, rows, r + 2)
    return rows


def _without_fact(model: Model, engine: Engine, answers: Answers, name: str, rows: Rows, row: int) -> None:
    rest = {key: answer for key, answer in answers.items() if key != name}
    products = {cause: said.product for cause, said in engine.network.speaking.items()}
    for cause in model.bearing[name]:
        products[cause] = model.speaking(model.causes[cause], rest).product
    priors = model.priors(products)
    for cause, prior in priors.items():
        i = engine.index[cause]
        rows.hold[row, i] = prior * engine.factors[i]
        rows.free[row, i] = 1.0 - prior


def _log_odds(p: float) -> float:
    p = min(max(float(p), 1e-15), 1.0 - 1e-15)
    return math.log(p / (1.0 - p))


def _ten(value: float) -> float:
    """Ranking looks at ten digits, so that the last bits of a machine never change an order."""
    return round(value, 10)
