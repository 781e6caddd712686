"""One network made ready for inference, and the records of what is believed.

A cause that holds fires each of its links by itself, with the link's chance. It *had a part* (is responsible) if it
fired on a symptom seen; a check is evidence, not a fault. Everything here is exact; the numbers follow from the priors
and findings of the `Network` alone.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from functools import cached_property

import numpy as np
from msgspec import Struct

from diagnose.errors import InputError
from diagnose.reasoning.elimination import MOST, NoisyOrNet, Weights
from diagnose.reasoning.finding import Finding
from diagnose.reasoning.forward_backward import Array, Potentials
from diagnose.reasoning.network import NOT_LISTED, Network


class NoWayToBe(InputError):
    """The answers contradict each other under this knowledge: their likelihood is zero."""


class CauseBelief(Struct, frozen=True):
    """Belief in one cause: it had a part in a symptom seen, it held at all,
    and the weight of each answer that says something.

    *weights*: natural-log weight of evidence of each answer, by how far the odds that the cause held fall back without
    it.
    """

    id: str
    probability: float
    present: float
    weights: Sequence[tuple[str, float]]

    def speaking(self, sign: int, least: float = 0.2) -> tuple[str, ...]:
        """Answers that speak for (+1) or against (-1) the cause by at least *least*, strongest first."""
        chosen = [(ten(abs(weight)), name) for name, weight in self.weights if ten(weight * sign) >= least]
        return tuple(name for _, name in sorted(chosen, key=lambda pair: (-pair[0], pair[1])))


class Beliefs(Struct, frozen=True):
    """All beliefs: causes by probability, then present, then id; `not_listed` and the leaks are in *unexplained*."""

    causes: tuple[CauseBelief, ...]
    unexplained: float
    not_listed: float
    evidence: float


class Inference:
    """One network made ready for sweeps: positive findings as a structure, negative ones as factors on the causes.

    *priors*, *factors*: shape (n,). Raises TooManySeen where more is said to be seen than can be weighed together: a
    pass would write more than *most* numbers.
    """

    def __init__(self, network: Network, most: float = MOST) -> None:
        self.network = network
        self.names = network.causes
        self.index = {name: i for i, name in enumerate(self.names)}
        self.positive = [f for f in network.findings if f.on > 0.0]
        self.negative = [f for f in network.findings if f.on <= 0.0]
        links = np.array([self.link_row(finding) for finding in self.positive]).reshape(-1, len(self.names))
        self.structure = NoisyOrNet(links, [f.symptom for f in self.positive], most=most)
        self.priors: Array = np.array(network.priors)
        self._absent: dict[str, Array] = {f.id: 1.0 - self.link_row(f) for f in self.negative}
        self.factors: Array = self.factors_of(self._absent)
        readings = [(f.leak, 1.0 - f.leak, f.on, f.off, f.symptom) for f in self.positive]
        held, not_held = (self.priors * self.factors)[:, None], (1.0 - self.priors)[:, None]
        columns = np.array(readings, dtype=float).reshape(-1, 5).T[:, :, None]
        self._row = Potentials(*[held, not_held, *columns, np.zeros(held.shape)])

    def factors_of(self, findings: Collection[str]) -> Array:
        """Return what those of *findings* that are negative leave of each cause, shape (n,)."""
        made = np.ones(len(self.names))
        for name, row in self._absent.items():
            if name in findings:
                made = made * row
        return made

    def link_row(self, finding: Finding) -> Array:
        """Return the links of *finding* over all causes, zero where there is none, shape (n,)."""
        row = np.zeros(len(self.names))
        for name, chance in finding.links.items():
            row[self.index[name]] = chance
        return row

    def rows(self, count: int) -> Potentials:
        """Return *count* equal rows that stand for the network as it is, free to be changed."""
        *tables, hushed = (getattr(self._row, name) for name in Potentials.__struct_fields__)
        return Potentials(*[*(np.repeat(table, count, axis=1) for table in tables), hushed.copy()])

    def sweep(self, rows: Potentials) -> Weights:
        """Return the exact weights of *rows*."""
        return self.structure.sweep(rows)

    @cached_property
    def base(self) -> Weights:
        """The weights of the network as it is, one row."""
        return self.sweep(self._row)

    @property
    def present(self) -> Array:
        """The chance that each cause held, shape (n,)."""
        made: Array = self.base.present[:, 0] / self.evidence
        return made

    @property
    def responsible(self) -> Array:
        """The chance that each cause had a part in a symptom seen, shape (n,)."""
        made: Array = self.base.responsible[:, 0] / self.evidence
        return made

    def responsible_for(self, symptom: str) -> Array:
        """Return the chance that each cause had a part in the one *symptom*, shape (n,).

        Where its link has fired the finding is there, whatever else fired: the weight is that without the finding,
        times link and reading.
        """
        made: Array = np.zeros(len(self.names))
        for j, finding in enumerate(self.positive):
            if finding.symptom and finding.question == symptom:
                made = made + self.structure.links[j] * finding.on * self.without_each.present[:, j] / self.evidence
        return made

    @cached_property
    def without_each(self) -> Weights:
        """The weights with each positive finding left out in turn, a row each."""
        return self.structure.left_out(self.rows(1))

    @property
    def evidence(self) -> float:
        """The weight of the findings. Raises NoWayToBe where it is nothing."""
        weight = float(self.base.evidence[0])
        if not weight > 0.0:
            raise NoWayToBe(
                "the answers can't all be true: with links, leaks and trust as they are written no set of causes "
                "leads to them"
            )
        return weight

    def success(self, mend: Array, leaks: bool = False, by_itself: bool = False) -> Array:
        """Return the chance that all which fired on a symptom is mended, shape (r,), by chances *mend* (n,
        r) cause by cause.

        *leaks*: whether a leak on a symptom seen counts as mended; for what no listed cause explains there is no
        remedy. *by_itself*: as for `NoisyOrNet.success`.
        """
        rows = self.rows(1)
        if not leaks:
            rows.leak[[f.symptom and f.seen for f in self.positive]] = 0.0
        made: Array = np.minimum(1.0, self.structure.success(rows, mend, by_itself) / self.evidence)
        return made

    @cached_property
    def unexplained(self) -> float:
        """The chance that a leak fired on a symptom seen, or that `not_listed` had a part."""
        listed = np.array([[name != NOT_LISTED] for name in self.names], dtype=float)
        return float(max(0.0, 1.0 - self.success(listed, by_itself=True)[0]))


def ten(value: float) -> float:
    """Round to ten digits behind the point: so ranking looks at it,
    and the last bits of a machine never change an order.
    """
    return round(value, 10)


__all__ = ["Beliefs", "CauseBelief", "Inference", "NoWayToBe", "ten"]
