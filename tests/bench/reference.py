"""Posterior and responsibility to more than fifty digits: inclusion-exclusion over the subsets of the findings present.

`P(present findings) = sum over subsets S of (-1)^|S| P(all of S absent)`, where each cause gives a factor by itself (Heckerman 1989, the
"quickscore"). In floating point the sum loses all its digits; here it is done in whole numbers of 2^-BITS, with nothing of the sweep in it.
Takes as long as there are subsets. Floats are taken as the exact fractions that they are.
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Any

import numpy as np

from diagnose.reasoning.network import Finding, Network

#: binary digits behind the point: 84 decimal ones, of which twenty findings (whose chance is some 1e-25) leave more than fifty
BITS = 280
ONE = 1 << BITS
#: findings over which the factors of causes are multiplied before they are spread over all subsets
_SMALL = 13
Table = Any  #: numpy array of whole numbers (dtype object)


def reference(network: Network) -> tuple[dict[str, float], dict[str, float]]:
    """Return P(held) and P(had a part) by cause, right to the last digit of a float. No prior and link may both be 1."""
    present = [finding for finding in network.findings if finding.on > 0.0]
    absent = [finding for finding in network.findings if finding.on <= 0.0]
    causes = zip(network.causes, network.priors, strict=True)
    factors = {name: _Factor(name, _whole(Fraction(prior)), present, absent) for name, prior in causes}
    total = _evidence(present) * _product(factors, len(present)) >> BITS
    z = int(total.sum())
    held, part = {}, {}
    for name, factor in factors.items():
        rest = (factor.summed(total) << BITS) // factor.each
        held[name] = float(Fraction(int((rest * factor.holding >> BITS).sum()), z))
        part[name] = float(Fraction(int((rest * (factor.holding - factor.silent) >> BITS).sum()), z))
    return held, part


def _whole(value: Fraction) -> int:
    return int(value * ONE)


def _stays(finding: Finding, cause: str) -> int:
    """1 less the link of *cause*, in whole numbers of ONE."""
    return ONE - _whole(Fraction(finding.links.get(cause, 0.0)))


def _evidence(present: list[Finding]) -> Table:
    """The weight of each subset without the causes: `on + (off - on) P(off)`, without and with the finding in the subset."""
    table = np.array([ONE], dtype=object)
    for finding in present:
        on, off, leak = (_whole(Fraction(value)) for value in (finding.on, finding.off, finding.leak))
        within = (off - on) * (ONE - leak) >> BITS
        table = np.concatenate([table * on >> BITS, table * within >> BITS])
    return table


class _Factor:
    """What one cause gives to each subset of those findings that it links to, in whole numbers of ONE, lowest finding fastest.

    *holding*: it holds. *silent*: it holds and has fired on no symptom seen. *each*: it holds or not.
    """

    def __init__(self, name: str, prior: int, present: list[Finding], absent: list[Finding]) -> None:
        self.bits = tuple(j for j, finding in enumerate(present) if finding.links.get(name, 0.0) > 0.0)
        self.count = len(present)
        weight = prior
        for finding in absent:
            weight = weight * _stays(finding, name) >> BITS
        self.holding = self.silent = np.array([weight], dtype=object)
        for j in self.bits:
            stays, symptom = _stays(present[j], name), present[j].symptom and present[j].seen
            quiet = self.silent * stays >> BITS
            self.silent = np.concatenate([quiet if symptom else self.silent, quiet])
            self.holding = np.concatenate([self.holding, self.holding * stays >> BITS])
        self.each = self.holding + (ONE - prior)

    def summed(self, total: Table) -> Table:
        """*total* summed over all subsets that look alike to this cause, in the order of its own subsets."""
        axes = tuple(self.count - 1 - j for j in range(self.count) if j not in self.bits)
        return np.asarray(total.reshape((2,) * self.count).sum(axis=axes), dtype=object).reshape(-1)


def _product(factors: Mapping[str, _Factor], count: int) -> Table:
    """The product of all causes for each subset; those that link to much the same findings are multiplied first, while that is small."""
    groups: list[tuple[set[int], Table]] = []
    for factor in sorted(factors.values(), key=lambda factor: (len(factor.bits), factor.bits)):
        mine = factor.each.reshape(tuple(2 if count - 1 - axis in factor.bits else 1 for axis in range(count)))
        for i, (bits, table) in enumerate(groups):
            if len(bits | set(factor.bits)) <= max(_SMALL, len(bits)):
                groups[i] = bits | set(factor.bits), table * mine >> BITS
                break
        else:
            groups.append((set(factor.bits), mine))
    made = np.full((1,) * count, ONE, dtype=object)
    for _, table in groups:
        made = made * table >> BITS
    return np.broadcast_to(made, (2,) * count).reshape(-1)
