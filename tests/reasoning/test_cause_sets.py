"""The sum over sets of causes equals the sweep over findings, and is taken where it is the shorter of the two."""

import numpy as np
import pytest

from diagnose.reasoning import cause_sets, elimination
from diagnose.reasoning.elimination import NoisyOrNet
from diagnose.reasoning.inference import Inference
from diagnose.reasoning.network import Finding, Network
from tests.reasoning.test_sweep_digits import by_inclusion_exclusion, quick_medical


def both_ways(network):
    """The structure that sums over sets, the one that sweeps, and three rows that differ in what the causes weigh."""
    inference = Inference(network)
    swept = NoisyOrNet(inference.structure.links, inference.structure.symptom, take_apart=False)
    rows = inference.rows(3)
    weights = np.linspace(0.2, 1.7, rows.present.size).reshape(rows.present.shape)
    return inference.structure, swept, rows.times(weights, weights[::-1])


@pytest.mark.parametrize("table", [1 << 16, 64])
@pytest.mark.parametrize("seed", range(12))
def test_sums_over_sets_are_the_sweep(seed, table, random_network, monkeypatch):
    """Weights, evidence, success of plans, and each finding left out; with all causes in one table and in many."""
    monkeypatch.setattr(cause_sets, "_TABLE", table)
    monkeypatch.setattr(elimination, "_SETS", 1e9)
    summed, swept, rows = both_ways(random_network(seed, causes=6, findings=12))
    assert summed.way.by_sets
    assert not swept.way.by_sets
    mend = np.linspace(0.0, 1.0, rows.present.size).reshape(rows.present.shape)
    for one, other in (
        (summed.sweep(rows), swept.sweep(rows)),
        (summed.left_out(rows.part(0, 1)), swept.left_out(rows.part(0, 1))),
    ):
        assert one.evidence == pytest.approx(other.evidence, rel=1e-12)
        assert one.present == pytest.approx(other.present, rel=1e-12)
        assert one.silent == pytest.approx(other.silent, rel=1e-12)
    assert summed.evidence(rows) == pytest.approx(swept.evidence(rows), rel=1e-12)
    assert summed.success(rows, mend) == pytest.approx(swept.success(rows, mend), rel=1e-12)


def test_few_causes_against_inclusion_exclusion():
    """Nine causes with fourteen symptoms seen: every digit down to 1e-12 by the sum in whole numbers too."""
    network = quick_medical(14, causes=9)
    inference = Inference(network)
    assert inference.structure.way.by_sets
    for name, (present, part) in by_inclusion_exclusion(network, network.causes).items():
        i = inference.index[name]
        assert inference.present[i] == pytest.approx(present, abs=1e-12)
        assert inference.responsible[i] == pytest.approx(part, abs=1e-12)


def test_more_seen_than_causes_is_answered():
    """Every cause linked to each of 26 findings seen: no table over findings would hold it, one over causes does."""
    names = (*(f"c{i}" for i in range(11)), "not_listed")
    links = dict.fromkeys(names, 0.3)
    findings = tuple(Finding(f"f{j}", f"f{j}", True, True, 1.0, 0.0, 0.01, links) for j in range(26))
    inference = Inference(Network(names, (0.05,) * len(names), findings, {}))
    assert inference.structure.way.order.cost > 1 << 26
    assert inference.present == pytest.approx(np.full(len(names), inference.present[0]), rel=1e-12)  # all alike
    assert 1 / 12 < inference.present[0] < 1.0


def test_very_many_causes_are_swept():
    """Two thousand causes with two links each: there are more sets of them than any float could say."""
    names = (*(f"c{i}" for i in range(2000)), "not_listed")
    findings = tuple(Finding(f"f{j}", f"f{j}", True, True, 1.0, 0.0, 0.01, dict.fromkeys(names, 0.3)) for j in (0, 1))
    inference = Inference(Network(names, (0.0005,) * len(names), findings, {}))
    assert not inference.structure.way.by_sets
    assert 0.0005 < inference.present[0] < 0.01
