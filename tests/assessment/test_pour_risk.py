"""What a planned pour risks: the sums redone by hand."""

from __future__ import annotations

from collections.abc import Callable
from types import SimpleNamespace
from typing import Any

import pytest

from diagnose.assessment.consultation import NEXT_POUR, Consultation
from diagnose.assessment.pour_risk import PourRisk, pour_risk
from diagnose.knowledge.model import Link
from diagnose.reasoning.answers import Answer
from diagnose.reasoning.plan import Costs

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


# -- on made-up causes ---------------------------------------------------------------------------------------------------


def remedy(name: str, minutes: float, when: str = "next_pour", **fixes: float) -> Any:
    """A made-up remedy that mends causes with these chances."""
    links = {cause: Link("", chance, "") for cause, chance in fixes.items()}
    return SimpleNamespace(id=name, when=when, minutes=minutes, wait_minutes=0.0, material="none", fixes=links)


def planned(now: dict[str, float], *remedies: Any, **answers: Answer) -> PourRisk:
    """The risk of a pour whose facts leave these chances of causes that usually have one in ten; a makes the fault, as the leak does."""
    everything = {**now, "not_listed": 0.5}
    usual = dict.fromkeys(now, 0.1) | {"not_listed": 0.1}
    faults = {"fault": SimpleNamespace(background=0.05), "of paint": SimpleNamespace(background=0.05)}
    model = SimpleNamespace(
        priors=lambda facts: usual,
        causes=dict.fromkeys(now),
        bearing=dict.fromkeys(("mold_temperature", "material_temperature", "cavity_volume")),
        build="bare_foam",
        painted=False,
        knowledge=SimpleNamespace(symptoms=faults, applies=lambda name, build, painted: name == "fault" or painted),
        symptom_links=lambda name: {"a": 0.8, "not_listed": 0.9},
    )
    case: Any = SimpleNamespace(
        situation=SimpleNamespace(
            model=model, network=SimpleNamespace(causes=tuple(everything), priors=tuple(everything.values()))
        ),
        knowledge=SimpleNamespace(remedies={r.id: r for r in remedies}, practice={}),
        costs=Costs(40.0, 1.0, {"none": 0.0}, 150.0, 1.0, 1.0),
        allows=lambda r: r.id != "forbidden",
        answers=answers,
    )
    return pour_risk(case)


def test_each_change_pays_on_what_those_before_it_leave() -> None:
    """Raised by 0.4 and 0.2: half of both for 6.67 saves 38.33; then nine tenths of the 0.1 left of b for 4 saves 9.50, of the 0.2 of a for 20 saves 7."""
    found = planned(
        {"a": 0.5, "b": 0.3, "c": 0.1},
        remedy("both", 10.0, a=0.5, b=0.5, c=0.9),
        remedy("for a", 30.0, "between_pours", a=0.9),
        remedy("for b", 6.0, b=0.9),
        remedy("of the part", 0.0, "this_part", a=1.0),
        remedy("forbidden", 0.0, a=1.0),
        remedy("too dear", 240.0, a=1.0),
    )
    assert [(c.remedy, c.causes) for c in found.changes] == [("both", ("a", "b")), ("for b", ("b",)), ("for a", ("a",))]
    assert [c.saves for c in found.changes] == pytest.approx([45 - 20 / 3, 9.5, 7.0])
    assert [c.lowers for c in found.changes] == pytest.approx([0.3, 0.09, 0.18])


def test_a_change_that_saves_nothing_is_none() -> None:
    """What costs as much as it is expected to save stays undone; a hair less is done."""
    assert [c.remedy for c in planned({"a": 0.5}, remedy("r", 90.0, a=1.0)).changes] == []
    assert [c.remedy for c in planned({"a": 0.5}, remedy("r", 89.9, a=1.0)).changes] == ["r"]


def test_a_raised_cause_has_its_cheapest_remedy_for_the_pour() -> None:
    """Least money for what it mends: 10 minutes at one in two before 15 at six in ten; none of the part, none that is barred."""
    found = planned(
        {"a": 0.5, "b": 0.1301, "c": 0.13, "d": 0.05, "e": 0.5},
        remedy("sure", 15.0, a=0.6),
        remedy("quick", 10.0, "between_pours", a=0.5),
        remedy("now", 1.0, "this_part", a=1.0),
        remedy("forbidden", 1.0, a=1.0),
    )
    assert [(r.cause, r.remedy) for r in found.causes] == [("a", "quick"), ("e", ""), ("b", "")]
    assert [r.cost for r in found.causes] == pytest.approx([20 / 3, 0.0, 0.0])
    assert [(r.chance, r.usual) for r in found.causes] == [(0.5, 0.1), (0.5, 0.1), (0.1301, 0.1)]


def test_a_fault_is_a_risk_from_thirty_percent_more_on() -> None:
    """Usual 1 - 0.95 x 0.92 = 0.126, what is not listed left out; a raised to 0.155 makes 0.168, to 0.148 only 0.162; no fault of paint on bare foam."""
    (risk,) = planned({"a": 0.155}).faults
    assert (risk.symptom, risk.usual) == ("fault", pytest.approx(1 - 0.95 * 0.92))
    assert risk.chance == pytest.approx(1 - 0.95 * (1 - 0.8 * 0.155))
    assert planned({"a": 0.148}).faults == ()


def test_what_a_thin_plan_would_have_to_tell() -> None:
    """Of fewer than three facts that bear, or where nothing is raised, what is not told is named, the most telling first."""
    told = {name: Answer(1.0) for name in ("mold_temperature", "material_temperature", "cavity_volume")}
    assert planned({"a": 0.5}, **told).wanted == ()
    assert planned({"a": 0.1}, **told).wanted[:2] == ("free_rise_density", "charge_mass")
    unknown = {**told, "cavity_volume": Answer(None)}
    assert planned({"a": 0.5}, **unknown).wanted[0] == "free_rise_density"
    dull = {"mold_temperature": Answer(1.0), "room_color": Answer("red"), "release_used": Answer("wax")}
    assert planned({"a": 0.5}, **dull).wanted[:2] == ("material_temperature", "cavity_volume")
