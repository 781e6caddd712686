"""Save or scrap, and what a planned pour risks: the sums redone by hand."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from diagnose.assessment.decisions import WORTH_SAVING, outlook, pays_from, save_or_scrap
from diagnose.assessment.situation import ModelCache, Situation
from diagnose.casebook import Case
from diagnose.knowledge import load_knowledge
from diagnose.reasoning.answers import Answer
from diagnose.reasoning.network import NOT_LISTED

Consult = Callable[[str], Situation]
PEELING = "build: skin_and_foam\npainted: yes\nsymptoms: [paint_peels_clean]"
BARE = "build: bare_foam\npainted: no\nsymptoms: "
FAULTS = (
    f"{BARE}[tacky_face_only]",
    PEELING,
    f"{BARE}[shrinkage]",
    f"{BARE}[short_fill]",
    "build: skin_and_foam\npainted: no\nsymptoms: [torn_skin]",
)


@pytest.fixture(scope="module")
def models() -> ModelCache:
    """The shipped knowledge, by build and paint."""
    return ModelCache(load_knowledge())


@pytest.fixture
def consult(answered: Callable[[str], Case], models: ModelCache) -> Consult:
    """Think a case through."""
    return lambda lines: Situation(models, answered(lines))


# -- save or scrap -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("lines", FAULTS)
@pytest.mark.parametrize("hours", [0.5, 5.0, 20.0])
def test_the_sum_is_cost_plus_what_fails(consult: Consult, lines: str, hours: float) -> None:
    """Saved exactly where cost + (1 - success) x new pour, of the best set for this part, is at most nine tenths of a new pour."""
    situation = consult(lines)
    money = situation.knowledge.words["costs"]
    found = save_or_scrap(situation, hours)
    assert found.new_pour == pytest.approx(hours * money["hour at work"] + money["a pour"])
    planner = situation.planner("this_part")
    singles = [planner.plan(frozenset((r.id,))) for r in planner.remedies]
    best_single = min((plan.cost + (1.0 - plan.success) * found.new_pour for plan in singles), default=float("inf"))
    if found.save:
        assert found.plan is not None
        assert found.plan.remedies
        total = found.plan.cost + (1.0 - found.plan.success) * found.new_pour
        assert found.plan.expected_cost == pytest.approx(total)
        assert total <= min(best_single + 1e-9, WORTH_SAVING * found.new_pour)
        assert f"= {total:.0f}, against {found.new_pour:.0f} for a new pour ({hours:g} h and the material)" in found.why
    else:
        assert found.plan is None
        assert best_single > WORTH_SAVING * found.new_pour - 1e-9
        assert found.why.endswith(f"a new pour costs {found.new_pour:.0f} ({hours:g} h and the material)")


def test_hours_already_in_it_speak_for_saving(consult: Consult) -> None:
    """The more hours are in a part the sooner it is saved: never the other way round, and both happen."""
    for lines in FAULTS:
        saves = [save_or_scrap(consult(lines), hours).save for hours in (0.0, 0.5, 2.0, 5.0, 20.0, 100.0)]
        assert saves == sorted(saves)
    everywhere = [save_or_scrap(consult(lines), hours).save for lines in FAULTS for hours in (0.0, 100.0)]
    assert any(everywhere)
    assert False in everywhere


def test_hours_by_build(consult: Consult) -> None:
    """Without a number a skinned part has its five hours in it and a bare one 0.7, from the table of costs."""
    money = consult(PEELING).knowledge.words["costs"]
    assert save_or_scrap(consult(PEELING)).new_pour == pytest.approx(
        money["hours in a skinned part"] * money["hour at work"] + money["a pour"]
    )
    assert save_or_scrap(consult(FAULTS[0])).new_pour == pytest.approx(
        money["hours in a bare part"] * money["hour at work"] + money["a pour"]
    )


def test_doing_nothing_is_never_called_saving(consult: Consult) -> None:
    """A symptom only remembered may not be there at all; that is no plan to save the part by doing nothing."""
    told = consult("build: bare_foam\npainted: no\nsymptoms: [short_fill]")
    unsure = Situation(told.models, told.case.with_answer("short_fill", Answer("seen", "remembered"), "seen"))
    nothing = unsure.planner("this_part").plan(frozenset())
    assert nothing.success > 1.0 - WORTH_SAVING
    for hours in (0.0, 0.5, 50.0):
        found = save_or_scrap(unsure, hours)
        assert found.save == (found.plan is not None)
        assert found.plan is None or found.plan.remedies


def test_pays_from_is_where_the_sum_turns(consult: Consult) -> None:
    """Just under those hours the remedy alone costs more than nine tenths of a new pour, just over them less."""
    checked = 0
    for lines in FAULTS:
        situation = consult(lines)
        money, planner = situation.knowledge.words["costs"], situation.planner("this_part")
        for remedy in planner.remedies:
            hours, plan = pays_from(situation, remedy.id), planner.plan(frozenset((remedy.id,)))
            if hours is None:
                assert plan.success <= 1.0 - WORTH_SAVING + 1e-9
                continue
            if hours == 0.0:
                continue
            checked += 1
            pours = [h * money["hour at work"] + money["a pour"] for h in (hours * 0.999, hours * 1.001)]
            left = [plan.cost + (1.0 - plan.success) * pour - WORTH_SAVING * pour for pour in pours]
            assert left[0] > 0.0 > left[1]
    assert checked > 0


# -- before the pour -----------------------------------------------------------------------------------------------

COLD = "build: bare_foam\npainted: no\nmold_temperature: 8 degC\nmaterial_temperature: 12 degC"


def test_a_cold_plan_raises_cold_causes(consult: Consult) -> None:
    """Cold mold and cold material are raised, each to its prior after the facts against its prior without."""
    situation = consult(COLD)
    found = outlook(situation)
    now, usual = dict(zip(situation.network.causes, situation.network.priors, strict=True)), situation.model.priors({})
    raised = {r.cause: r for r in found.causes}
    assert {"mold_cold", "material_cold"} <= set(raised)
    for name, entry in raised.items():
        assert (entry.chance, entry.usual) == (now[name], usual[name])
        assert entry.chance > 1.3 * entry.usual
    assert all(now[name] <= 1.3 * usual[name] for name in situation.model.causes if name not in raised)


def test_risk_of_a_fault_is_the_noisy_or_of_the_priors(consult: Consult) -> None:
    """1 - (1 - leak) x product of (1 - prior x link), without what is not listed; for the pour and for any pour."""
    situation = consult(COLD)
    model = situation.model
    found = outlook(situation).faults
    assert found
    for risk in found:
        for chance, priors in (
            (risk.chance, dict(zip(situation.network.causes, situation.network.priors, strict=True))),
            (risk.usual, model.priors({})),
        ):
            quiet = 1.0 - model.knowledge.symptoms[risk.symptom].background
            for name, cause in model.causes.items():
                if risk.symptom in cause.symptoms:
                    quiet *= 1.0 - priors[name] * cause.symptoms[risk.symptom].p
            assert chance == pytest.approx(1.0 - quiet, abs=1e-12)
        assert risk.chance > 1.3 * risk.usual


def test_looking_ahead_leaves_the_model_as_it_was(consult: Consult) -> None:
    """What is not listed still links to every symptom after a plan has been looked at."""
    situation = consult(COLD)
    outlook(situation)
    for symptom in situation.knowledge.symptoms:
        assert NOT_LISTED in situation.model.symptom_links(symptom)


def test_the_change_is_the_one_that_takes_most_off(consult: Consult) -> None:
    """Of all remedies the one with the greatest (raise x chance x bad part) less its cost; and no cheaper remedy mends a raised cause."""
    situation = consult(COLD)
    found, costs, knowledge = outlook(situation), situation.costs, situation.knowledge
    raised = {r.cause: r.chance - r.usual for r in found.causes}
    worth = {
        r.id: sum(raised.get(c, 0.0) * link.p for c, link in r.fixes.items()) * costs.bad_part - costs.of(r)
        for r in knowledge.remedies.values()
        if r.when != "this_part"
    }
    assert found.lowers == pytest.approx(max(worth.values()))
    assert worth[found.change] == pytest.approx(found.lowers)
    for entry in found.causes:
        offers = {
            r.id: costs.of(r) / r.fixes[entry.cause].p
            for r in knowledge.remedies.values()
            if entry.cause in r.fixes and r.when != "this_part"
        }
        assert offers[entry.remedy] == pytest.approx(min(offers.values()), abs=1e-8)


def test_an_ordinary_plan_raises_nothing(consult: Consult) -> None:
    """Nothing told, nothing raised, nothing to change."""
    found = outlook(consult("build: bare_foam\npainted: no"))
    assert (found.faults, found.causes, found.change, found.lowers) == ((), (), "", 0.0)


def test_a_colder_mold_is_a_greater_risk(consult: Consult) -> None:
    """The colder the planned mold, the higher the chance of the cold-mold cause."""
    chances = [
        dict(zip(c.network.causes, c.network.priors, strict=True))["mold_cold"]
        for c in (consult(f"build: bare_foam\npainted: no\nmold_temperature: {t} degC") for t in (24, 20, 16, 12, 8))
    ]
    assert chances == sorted(chances)
    assert chances[-1] > 3 * chances[0]
