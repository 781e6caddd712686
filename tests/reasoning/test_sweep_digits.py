"""Sixty causes and many findings present against inclusion-exclusion in whole numbers of 224 binary digits.

The same sum in floating point loses all its digits here; the sweep must keep them.
"""

import random
from fractions import Fraction

import numpy as np
import pytest

from diagnose.reasoning.network import Finding, Network

#: binary digits behind the point
BITS = 224
ONE = 1 << BITS


def quick_medical(count, causes=60):
    """A net of *causes* causes and *count* symptoms seen, each cause linked to two to five of them, `not_listed` to all."""
    rng = random.Random(count)
    names = (*(f"c{i}" for i in range(causes - 1)), "not_listed")
    links = [{"not_listed": 0.25} for _ in range(count)]
    for name in names[:-1]:
        for j in rng.sample(range(count), rng.randint(2, 5)):
            links[j][name] = rng.choice((0.08, 0.25, 0.5, 0.75, 0.95))
    findings = tuple(
        Finding(f"f{j}", f"f{j}", True, True, 1.0, rng.choice((0.0, 0.01, 0.05)), 0.02, links[j]) for j in range(count)
    )
    return Network(names, (*(round(rng.uniform(0.002, 0.12), 6) for _ in names[:-1]), 0.08), findings, {})


def whole(value):
    """A float, exactly, as a whole number of ONE."""
    return int(Fraction(value) * ONE)


def times(one, other):
    """Product in fixed point, for whole numbers or arrays of them."""
    return one * other >> BITS


def factor(network, name, prior):
    """`1 - p + p * product of (1 - link)` and `p * product` over each subset of the findings, (2^k,) each."""
    touched = [j for j, f in enumerate(network.findings) if f.links.get(name, 0.0) > 0.0]
    small = np.array([whole(prior)], dtype=object)
    for j in touched:
        small = np.concatenate([small, times(small, ONE - whole(network.findings[j].links[name]))])
    subsets = np.arange(1 << len(network.findings))
    place = sum(((subsets >> j) & 1) << bit for bit, j in enumerate(touched))
    return (ONE - whole(prior) + small)[place], small[place]


def by_inclusion_exclusion(network, wanted):
    """`present` and `probability` of the causes *wanted*: sums over all subsets of the findings in whole numbers."""
    total = np.array([ONE], dtype=object)
    for f in network.findings:  # on + (off - on) P(off): without and with the finding in the subset
        total = np.concatenate([total, times(total, -times(whole(1.0 - f.off), ONE - whole(f.leak)))])
    held = {}
    for name, prior in zip(network.causes, network.priors, strict=True):
        each, holding = factor(network, name, prior)
        held = {other: (times(alone, each), times(silent, each)) for other, (alone, silent) in held.items()}
        if name in wanted:
            held[name] = (
                times(total, holding),
                times(total, int(holding[-1])),
            )  # silent: every link of it counts as (1 - link)
        total = times(total, each)
    z = int(total.sum())
    sums = {name: (int(alone.sum()), int(silent.sum())) for name, (alone, silent) in held.items()}
    return {
        name: (float(Fraction(alone, z)), float(Fraction(alone - silent, z))) for name, (alone, silent) in sums.items()
    }


@pytest.mark.parametrize("count", [10, 15])
def test_digits_with_many_findings(count, of_network):
    """Every digit down to 1e-12 stands with 10 and 15 findings present."""
    check(of_network, count)


def test_digits_with_eighteen_findings(of_network):
    """And with 18, where 2^18 terms of either sign cancel."""
    check(of_network, 18, causes=24, few=1)


def check(of_network, count, causes=60, few=4):
    """Compare the first cause, the last but one, a middle one and `not_listed`, or the first *few* of them."""
    network = quick_medical(count, causes)
    wanted = (network.causes[0], network.causes[-2], network.causes[causes // 2], "not_listed")[:few]
    beliefs = of_network(network).beliefs
    got = {c.id: (c.present, c.probability) for c in beliefs.causes}
    for name, (present, part) in by_inclusion_exclusion(network, wanted).items():
        if name == "not_listed":
            assert beliefs.not_listed == pytest.approx(part, abs=1e-12)
            continue
        assert got[name][0] == pytest.approx(present, abs=1e-12)
        assert got[name][1] == pytest.approx(part, abs=1e-12)
