"""The sweep against enumeration of everything, to 1e-12, on nets small enough for it."""

import numpy as np
import pytest
from msgspec.structs import replace

from diagnose.errors import InputError
from diagnose.reasoning import elimination, few_findings
from diagnose.reasoning.elimination import NoisyOrNet, TooManySeen
from diagnose.reasoning.inference import Inference, NoWayToBe
from diagnose.reasoning.network import Finding, Network


@pytest.fixture(params=["by squares", "link by link", "by sets", "swept"])
def way(request, monkeypatch):
    """Nets as small as these are taken by a square table for each cause; the other three ways are tried too."""
    if request.param == "link by link":
        monkeypatch.setattr(few_findings, "SQUARES", -1)
    elif request.param != "by squares":
        monkeypatch.setattr(elimination, "MOST_FEW", -1)
        monkeypatch.setattr(elimination, "_SETS", 1e9 if request.param == "by sets" else 1e-300)


@pytest.fixture
def compare(brute, of_network, way):
    """Asserts that all that is believed of a network equals the enumeration."""

    def compared(network, tolerance=1e-12):
        beliefs = of_network(network).beliefs
        expected = brute(network)
        for cause in beliefs.causes:
            assert cause.present == pytest.approx(expected["present"][cause.id], abs=tolerance), cause.id
            assert cause.probability == pytest.approx(expected["probability"][cause.id], abs=tolerance), cause.id
        assert beliefs.not_listed == pytest.approx(expected["probability"]["not_listed"], abs=tolerance)
        assert beliefs.unexplained == pytest.approx(expected["unexplained"], abs=tolerance)

    return compared


@pytest.mark.parametrize("seed", range(24))
def test_random_nets(seed, random_network, compare):
    """Present, part and unexplained on nets of any make-up equal the enumeration."""
    compare(random_network(seed))


@pytest.mark.parametrize("seed", range(8))
def test_more_causes_fewer_findings(seed, random_network, compare):
    """Six causes over two findings: many fold into the findings."""
    compare(random_network(seed, causes=6, findings=2))


@pytest.mark.parametrize("seed", range(6))
def test_every_cause_with_a_single_link(seed, random_network, compare):
    """Only folded causes and idle ones: nothing is left to sweep."""
    compare(random_network(seed, causes=5, findings=4, single=True))


@pytest.mark.parametrize("seed", range(30))
def test_chances_of_exactly_zero_and_one(seed, random_network, compare, brute):
    """Links of 0 and 1, priors of 0 and nearly 1, leaks of 0: either the same as the enumeration or no way to be at all."""
    network = random_network(seed, extremes=True, leakless=seed % 2 == 0)
    try:
        compare(network)
    except NoWayToBe:
        with pytest.raises(ZeroDivisionError):
            brute(network)


def test_no_findings_leave_the_priors(of_network):
    """Without findings the causes are as likely as the facts make them, and none had a part."""
    beliefs = of_network(Network(("a", "b", "not_listed"), (0.2, 1.0, 0.08), (), {})).beliefs
    assert {c.id: (c.present, c.probability) for c in beliefs.causes} == {"a": (0.2, 0.0), "b": (1.0, 0.0)}
    assert beliefs.unexplained == 0.0


def test_findings_that_no_cause_links_to(of_network):
    """A symptom that nothing causes is left to the leak alone."""
    finding = Finding("f", "f", True, True, 1.0, 0.0, 0.02, {})
    beliefs = of_network(Network(("a", "not_listed"), (0.2, 0.08), (finding,), {})).beliefs
    assert beliefs.unexplained == 1.0
    assert beliefs.causes[0].present == pytest.approx(0.2, abs=1e-15)


def test_answers_that_cannot_all_be_true(of_network):
    """An impossible finding is refused in one line, not turned into nan."""
    finding = Finding("f", "f", True, True, 1.0, 0.0, 0.0, {"a": 0.0})
    with pytest.raises(NoWayToBe) as refused:
        _ = of_network(Network(("a", "not_listed"), (0.2, 0.08), (finding,), {})).beliefs
    assert (
        str(refused.value)
        == "the answers can't all be true: with links, leaks and trust as they are written no set of causes leads to them"
    )
    assert isinstance(refused.value, InputError)


def dense(count):
    """A net in which every cause links to every finding: nothing can be closed early."""
    names = (*(f"c{i}" for i in range(30)), "not_listed")
    findings = tuple(
        Finding(f"f{j}", f"f{j}", True, True, 1.0, 0.0, 0.01, dict.fromkeys(names, 0.3)) for j in range(count)
    )
    return Network(names, (0.05,) * len(names), findings, {})


def test_too_many_seen_is_one_clear_line():
    """A net wider than can be weighed is refused at once by the structure; a `Situation` never hands it one."""
    with pytest.raises(TooManySeen) as refused:
        Inference(dense(25))
    assert str(refused.value) == "25 symptoms and results are said to be seen, more than can be weighed together"
    assert refused.value.exit_code == 2


@pytest.mark.parametrize("seed", range(6))
def test_order_of_causes_and_findings_is_immaterial(seed, random_network, of_network):
    """Causes and findings handed over backward give the same beliefs to 1e-13."""
    network = random_network(seed, causes=12, findings=8)
    turned = replace(network, causes=network.causes[::-1], priors=network.priors[::-1], findings=network.findings[::-1])
    one, other = (of_network(n).beliefs for n in (network, turned))
    assert one.unexplained == pytest.approx(other.unexplained, abs=1e-13)
    by_id = {c.id: c for c in other.causes}
    for cause in one.causes:
        assert cause.present == pytest.approx(by_id[cause.id].present, abs=1e-13)
        assert cause.probability == pytest.approx(by_id[cause.id].probability, abs=1e-13)


@pytest.mark.parametrize("seed", range(4))
def test_a_wide_cause_taken_apart_changes_nothing(seed, random_network):
    """`not_listed` handled as two nets equals `not_listed` swept like any other."""
    network = random_network(seed, causes=14, findings=9)
    chained = [
        replace(f, on=1.0, links={f"c{(j + i) % 13}": 0.1 + 0.2 * i for i in range(4)} | {"not_listed": 0.25})
        for j, f in enumerate(network.findings)
    ]
    engine = Inference(replace(network, findings=tuple(chained)))
    rows = engine.rows(2)
    taken = engine.sweep(rows)
    whole = NoisyOrNet(engine.structure.links, engine.structure.symptom, take_apart=False).sweep(rows)
    assert engine.structure.way.wide == engine.index["not_listed"]
    for mine, theirs in (
        (taken.evidence, whole.evidence),
        (taken.present, whole.present),
        (taken.silent, whole.silent),
    ):
        assert mine == pytest.approx(theirs, rel=1e-12)
    mend = np.linspace(0.1, 0.9, 2 * len(engine.names)).reshape(2, -1).T
    everything = NoisyOrNet(engine.structure.links, engine.structure.symptom, take_apart=False)
    assert engine.structure.success(rows, mend) == pytest.approx(everything.success(rows, mend), rel=1e-12)
    assert engine.structure.evidence(rows) == pytest.approx(whole.evidence, rel=1e-12)
