"""The reasoning against published values: noisy-OR, explaining away, odds form of likelihood ratios, information gain, quadrature.

The chest-clinic network is no noisy-OR of two layers, so it is no check of this engine and is left out here.
"""

import json
import math
from pathlib import Path

import numpy as np
import pytest

from diagnose.assessment.consultation import ModelCache
from diagnose.knowledge import load_knowledge
from diagnose.reasoning import network as reading
from diagnose.reasoning.inference import Inference
from diagnose.reasoning.network import Finding, Model, Network
from diagnose.reasoning.prediction import gain_bits

VALUES = json.loads(Path(__file__).with_name("values.json").read_text(encoding="utf-8"))

#: outlook, temperature, humidity, wind, play (source: information_gain_1986, the table of fourteen mornings)
DAYS = """sunny hot high weak no
sunny hot high strong no
overcast hot high weak yes
rain mild high weak yes
rain cool normal weak yes
rain cool normal strong no
overcast cool normal strong yes
sunny mild high weak no
sunny cool normal weak yes
rain mild normal weak yes
sunny mild normal strong yes
overcast mild high strong yes
overcast hot normal weak yes
rain mild high strong no"""


def values(name):
    return VALUES[name]["values"]


def evidence(holding, links, leak=0.0):
    """P(the effect shows) with exactly the causes *holding*: the evidence of a net whose priors are 0 and 1."""
    names = (*links, "not_listed")
    priors = tuple(1.0 if name in holding else 0.0 for name in names)
    return Inference(
        Network(names, priors, (Finding("effect", "effect", False, True, 1.0, 0.0, leak, links),), {})
    ).evidence


@pytest.mark.parametrize(("holding", "expected"), values("noisy_or_fever").items())
def test_noisy_or_fever(holding, expected):
    """The fever table, inhibitors cold 0.6, flu 0.2, malaria 0.1 (source: noisy_or_fever)."""
    assert evidence(holding, {"C": 0.4, "F": 0.8, "M": 0.9}) == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize(("holding", "expected"), [("", 0.1), ("a", 0.28), ("ab", 0.568)])
def test_noisy_or_with_a_leak(holding, expected):
    """Leak 0.1, links 0.2 and 0.4 (source: noisy_or_1988, the form; the numbers computed from it)."""
    assert evidence(holding, {"a": 0.2, "b": 0.4}, 0.1) == pytest.approx(expected, abs=1e-12)


def test_explaining_away():
    """One cause found makes the other less likely (source: noisy_or_1988, the form; the numbers computed from it)."""
    expected = values("explaining_away")
    effect = Finding("effect", "effect", True, True, 1.0, 0.0, 0.01, {"c1": 0.8, "c2": 0.7})
    before = Inference(Network(("c1", "c2", "not_listed"), (0.1, 0.1, 0.0), (effect,), {}))
    known = Inference(Network(("c1", "c2", "not_listed"), (0.1, 1.0, 0.0), (effect,), {}))
    present = [dict(zip(net.names, net.present, strict=True)) for net in (before, known)]
    assert before.evidence == pytest.approx(expected["p_e"], abs=5e-7)
    assert present[0]["c1"] == pytest.approx(expected["p_c1"], abs=5e-7)
    assert present[1]["c1"] == pytest.approx(expected["p_c1_given_c2"], abs=5e-7)


@pytest.mark.parametrize(("prior", "ratio", "posterior"), values("odds_update"))
def test_odds_form_of_a_likelihood_ratio(prior, ratio, posterior):
    """Odds times ratio (source: likelihood_ratio_bands; the numbers computed from Bayes' rule)."""
    model = Model(load_knowledge(None), None, None)
    name = next(name for name in model.causes if not model.opposite(name))
    model.base[name] = prior
    assert model.priors({name: ratio})[name] == pytest.approx(posterior, abs=5e-5)


@pytest.mark.parametrize(("column", "name"), [(0, "outlook"), (1, "temperature"), (2, "humidity"), (3, "wind")])
def test_informationgain_bits(column, name):
    """The gain of each attribute over fourteen mornings, in bits (source: information_gain_1986)."""
    days = [line.split() for line in DAYS.splitlines()]
    answers = sorted({day[column] for day in days})
    weights = np.array([float(sum(day[column] == answer for day in days)) for answer in answers])
    played = [float(sum(day[column] == answer and day[4] == "yes" for day in days)) for answer in answers]
    parts = np.array([[count, 0.0] for count in played])  # the last column stands for `not_listed` and is not counted
    assert gain_bits(weights, parts) == pytest.approx(values("info_gain")[name], abs=5e-7)


def test_entropy_of_the_fourteen_mornings():
    """H(9, 5) in bits: a question that settles everything gains all of it (source: information_gain_1986)."""
    assert gain_bits(np.array([9.0, 5.0]), np.array([[9.0, 0.0], [0.0, 0.0]])) == pytest.approx(
        values("info_gain")["H"], abs=5e-7
    )


def test_quadrature_nodes():
    """Nodes and weights of the five-point rule, normalised to a normal error (source: numpy's Gauss-Hermite rule, tested there to degree 100)."""
    nodes, weights = np.polynomial.hermite.hermgauss(5)
    mine = sorted(zip(reading._NODES, reading._WEIGHTS, strict=True))
    assert [node for node, _ in mine] == pytest.approx(list(nodes), abs=1e-14)
    assert [weight for _, weight in mine] == pytest.approx(list(weights / math.sqrt(math.pi)), abs=1e-14)


def test_a_number_is_averaged_over_its_error():
    """The five-point average of a ratio over a normal error against adaptive quadrature, on the shipped curves, to 4 % (source: scipy's quad)."""
    integrate, stats = pytest.importorskip("scipy.integrate"), pytest.importorskip("scipy.stats")
    models = ModelCache(load_knowledge(None))
    fact = models.knowledge.facts["mold_temperature"]
    curve = models.knowledge.causes["mold_cold"].facts["mold_temperature"].curve
    for value in (8.0, 14.0, 17.0, 19.0, 22.0, 26.0):
        average, _ = integrate.quad(
            lambda x, v=value: stats.norm.pdf(x, v, fact.error) * reading.curve_ratio(curve, x),
            value - 8 * fact.error,
            value + 8 * fact.error,
            points=[x for x, _ in curve if abs(x - value) < 8 * fact.error],
            limit=200,
        )
        assert reading._averaged(curve, fact, reading.Answer(value)) == pytest.approx(average, rel=0.04)
