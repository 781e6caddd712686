"""Sixty causes and many findings present against inclusion-exclusion in whole numbers of two hundred digits.

The same sum in floating point loses all its digits here; the sweep must keep them.
"""

import random

import numpy as np
import pytest

from diagnose.reasoning.network import Finding, Network
from diagnose.reasoning.posterior import believe

#: fixed point: one is this
ONE = 10**200


def quick_medical(count, causes=60):
    """A net of *causes* causes and *count* symptoms seen, each cause linked to two to five of them, `not_listed` to all."""
    rng = random.Random(count)
    names = (*(f"c{i}" for i in range(causes - 1)), "not_listed")
    links = [{"not_listed": 0.25} for _ in range(count)]
    for name in names[:-1]:
        for j in rng.sample(range(count), rng.randint(2, 5)):
            links[j][name] = rng.choice((0.08, 0.25, 0.5, 0.75, 0.95))
    findings = tuple(Finding(f"f{j}", f"f{j}", True, True, 1.0, rng.choice((0.0, 0.01, 0.05)), 0.02, links[j]) for j in range(count))
    return Network(names, tuple(round(rng.uniform(0.002, 0.12), 6) for _ in names[:-1]) + (0.08,), findings, {})


def whole(value):
    """A decimal as a whole number of ONE; floats here are decimals of few digits."""
    return int(round(value * 10**6)) * (ONE // 10**6)


def times(one, other):
    """Product in fixed point, for whole numbers or arrays of them."""
    return one * other // ONE


def over_subsets(values):
    """All products over subsets of *values*, (2^k,), bit j of the index takes values[j] in, else 1."""
    table = np.array([ONE], dtype=object)
    for value in values:
        table = np.concatenate([table, times(table, value)])
    return table


def by_inclusion_exclusion(network, wanted):
    """`present` and `probability` of the causes *wanted*, as floats made of exact whole numbers."""
    total = np.array([ONE], dtype=object)
    for f in network.findings:  # on + (off - on) P(off): without and with the finding in the subset
        total = np.concatenate([total, times(total, -times(whole(1.0 - f.off), ONE - whole(f.leak)))])
    quiet = {name: over_subsets([ONE - whole(f.links.get(name, 0.0)) for f in network.findings]) for name in network.causes}
    held = {}
    for name, prior in zip(network.causes, network.priors, strict=True):
        p = whole(prior)
        each = ONE - p + times(quiet[name], p)
        for other in held:
            held[other] = times(held[other], each)
        if name in wanted:
            held[name] = times(total, times(quiet[name], p))
            held[name, "silent"] = times(total, times(p, int(quiet[name][-1])))
        total = times(total, each)

    z = int(total.sum())
    found = {}
    for name in wanted:
        alone, silent = int(held[name].sum()), int(held[name, "silent"].sum())
        found[name] = (alone * 10**30 // z / 1e30, (alone - silent) * 10**30 // z / 1e30)
    return found


@pytest.mark.parametrize("count", [10, 15])
def test_digits_with_many_findings(count):
    """Every digit down to 1e-12 stands with 10 and 15 findings present."""
    check(count)


def test_digits_with_eighteen_findings():
    """And with 18, where 2^18 terms of either sign cancel."""
    check(18, causes=40)


def check(count, causes=60):
    """Compare the first two causes, a middle one and `not_listed`."""
    network = quick_medical(count, causes)
    wanted = (network.causes[0], network.causes[1], network.causes[causes // 2], "not_listed")
    beliefs = believe(None, {}, network)
    got = {c.id: (c.present, c.probability) for c in beliefs.causes}
    for name, (present, part) in by_inclusion_exclusion(network, wanted).items():
        if name == "not_listed":
            assert beliefs.not_listed == pytest.approx(part, abs=1e-12)
            continue
        assert got[name][0] == pytest.approx(present, abs=1e-12)
        assert got[name][1] == pytest.approx(part, abs=1e-12)
