"""One row over few findings, its own way, equals the sweep and the enumeration of everything."""

import random

import numpy as np
import pytest

from diagnose.reasoning import few_findings
from diagnose.reasoning.elimination import MOST_FEW, NoisyOrNet
from diagnose.reasoning.forward_backward import Potentials


def drawn(seed, findings):
    """The structure of a random net, the same swept, and one row of any weights: some causes without a link, some with
    one, links of 1, causes that can't hold or must, leaks of 0, and a symptom that is left out.
    """
    rng = random.Random(f"few findings {seed} {findings}")
    n = rng.randint(1, 12)
    spread = rng.choice((0.15, 0.5, 0.9))
    links = np.zeros((findings, n))
    for j in range(findings):
        for c in range(n):
            links[j, c] = rng.choice((rng.random(), rng.random(), 1.0)) if rng.random() < spread else 0.0
    symptom = [rng.random() < 0.6 for _ in range(findings)]

    def column(count, *choices):
        return np.array([rng.choice((*choices, rng.random(), rng.random())) for _ in range(count)]).reshape(-1, 1)

    leak = column(findings, 0.0)
    row = Potentials(
        present=column(n, 0.0),
        absent=column(n, 0.0) + 1e-9 * (seed % 2),
        leak=leak,
        no_leak=1.0 - leak,
        on=column(findings, 1.0),
        off=column(findings, 0.0),
        explain=np.array(symptom, dtype=float).reshape(-1, 1),
        hushed=np.zeros((n, 1)),
    )
    if findings and seed % 3 == 0:
        row.on[0], row.off[0], row.explain[0] = 1.0, 1.0, 0.0
    return NoisyOrNet(links, symptom), NoisyOrNet(links, symptom, take_apart=False), row


@pytest.mark.parametrize("squares", [few_findings.SQUARES, -1])
@pytest.mark.parametrize("findings", range(MOST_FEW + 1))
@pytest.mark.parametrize("seed", range(15))
def test_one_row_is_that_of_the_sweep(seed, findings, squares, monkeypatch):
    """Every digit of the evidence and of all weights, nought for nought, by squares and link by link."""
    monkeypatch.setattr(few_findings, "SQUARES", squares)
    few, swept, row = drawn(seed, findings)
    assert few.few is not None
    assert swept.few is None
    one, other = few.sweep(row), swept.sweep(row)
    for mine, theirs in (
        (one.evidence, other.evidence),
        (one.present, other.present),
        (one.silent, other.silent),
    ):
        assert mine.shape == theirs.shape
        assert mine == pytest.approx(theirs, rel=1e-12, abs=1e-300)
    mend = np.linspace(0.0, 1.0, few.n)[:, None]
    assert few.success(row, mend, by_itself=True) == pytest.approx(swept.success(row, mend), rel=1e-12, abs=1e-300)


@pytest.mark.parametrize("seed", range(6))
def test_more_findings_than_a_square_holds(seed, random_network, brute, of_network):
    """Three causes over six findings, link by link, against every set of causes and every firing written out."""
    network = random_network(seed, causes=3, findings=6)
    beliefs, expected = of_network(network).beliefs, brute(network)
    for cause in beliefs.causes:
        assert cause.present == pytest.approx(expected["present"][cause.id], abs=1e-12)
        assert cause.probability == pytest.approx(expected["probability"][cause.id], abs=1e-12)


def test_the_same_row_twice_is_the_same():
    """What is worked on is used again: a second row between leaves no trace in the first."""
    few, _, row = drawn(4, 6)
    once = few.sweep(row)
    few.sweep(row.times(np.linspace(0.1, 2.0, few.n)[:, None]))
    again = few.sweep(row)
    assert np.array_equal(once.present, again.present)
    assert np.array_equal(once.silent, again.silent)
