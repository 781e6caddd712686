"""What a planned pour risks: the sums redone by hand."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from diagnose.assessment.consultation import NEXT_POUR, Consultation
from diagnose.assessment.pour_risk import pour_risk

Consult = Callable[[str], Consultation]
COLD = "build: bare_foam\npainted: no\nmold_temperature: 8 degC\nmaterial_temperature: 12 degC"


def test_a_cold_plan_raises_cold_causes(consult: Consult) -> None:
    """Cold mold and cold material are raised, each to its prior after the facts against its prior without."""
    consultation = consult(COLD)
    found, network = pour_risk(consultation), consultation.situation.network
    model = consultation.situation.model
    now, usual = dict(zip(network.causes, network.priors, strict=True)), model.priors({})
    raised = {r.cause: r for r in found.causes}
    assert {"mold_cold", "material_cold"} <= set(raised)
    for name, entry in raised.items():
        assert (entry.chance, entry.usual) == (now[name], usual[name])
        assert entry.chance > 1.3 * entry.usual
    assert all(now[name] <= 1.3 * usual[name] for name in model.causes if name not in raised)


def test_risk_of_a_fault_is_the_noisy_or_of_the_priors(consult: Consult) -> None:
    """1 - (1 - leak) x product of (1 - prior x link), without what is not listed; for the pour and for any pour."""
    consultation = consult(COLD)
    network, model = consultation.situation.network, consultation.situation.model
    now = dict(zip(network.causes, network.priors, strict=True))
    found = pour_risk(consultation).faults
    assert found
    for risk in found:
        for chance, priors in ((risk.chance, now), (risk.usual, model.priors({}))):
            quiet = 1.0 - model.knowledge.symptoms[risk.symptom].background
            for name, cause in model.causes.items():
                if risk.symptom in cause.symptoms:
                    quiet *= 1.0 - priors[name] * cause.symptoms[risk.symptom].p
            assert chance == pytest.approx(1.0 - quiet, abs=1e-12)
        assert risk.chance > 1.3 * risk.usual


def test_changes_stand_in_the_order_in_which_they_pay(consult: Consult) -> None:
    """The first is the one with the greatest (raise x chance x bad part) less its cost; each later one pays on what those before it leave."""
    consultation = consult(COLD)
    found, costs = pour_risk(consultation), consultation.costs
    left = {r.cause: r.chance - r.usual for r in found.causes}
    assert found.changes
    for change in found.changes:
        worth = {
            r.id: sum(left.get(c, 0.0) * link.p for c, link in r.fixes.items()) * costs.bad_part - costs.of(r)
            for r in consultation.knowledge.remedies.values()
            if r.when in NEXT_POUR
            and consultation.allows(r)
            and r.id not in [c.remedy for c in found.changes[: found.changes.index(change)]]
        }
        assert change.saves == pytest.approx(max(worth.values()))
        fixes = consultation.knowledge.remedies[change.remedy].fixes
        assert change.lowers == pytest.approx(sum(left.get(c, 0.0) * link.p for c, link in fixes.items()))
        left = {c: over * (1.0 - (fixes[c].p if c in fixes else 0.0)) for c, over in left.items()}


def test_an_empty_plan_promises_nothing(consult: Consult) -> None:
    """Nothing told raises nothing, and what would have to be told is named."""
    found = pour_risk(consult("build: bare_foam\npainted: no"))
    assert (found.faults, found.causes, found.changes) == ((), (), ())
    assert "mold_temperature" in found.wanted


def test_a_colder_mold_is_a_greater_risk(consult: Consult) -> None:
    """The colder the planned mold, the higher the chance of the cold-mold cause."""
    chances = []
    for degrees in (24, 20, 16, 12, 8):
        network = consult(f"build: bare_foam\npainted: no\nmold_temperature: {degrees} degC").situation.network
        chances.append(dict(zip(network.causes, network.priors, strict=True))["mold_cold"])
    assert chances == sorted(chances)
    assert chances[-1] > 3 * chances[0]
