"""Decisions about one case beside its causes: save this part or scrap it, and what a planned pour risks.

Both are sums over the same network. Costs are the shop's own (`words.costs`); the hours already in a part depend on its build.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from diagnose.assessment.situation import Situation
from diagnose.reasoning.network import NOT_LISTED, Model
from diagnose.reasoning.plan import Plan, Planner

#: a fault is named as a risk where it is this many times likelier than usual, and a cause where its odds are raised so much
NOTABLE = 1.3
#: saving must come to this share of a new pour or less (ours): a gamble at even odds is not worth an evening
WORTH_SAVING = 0.9


@dataclass(frozen=True, slots=True)
class SaveOrScrap:
    """Saving *plan* (None: nothing saves it) against a new pour that costs *new_pour*; *why* is the sum in words."""

    save: bool
    plan: Plan | None
    new_pour: float
    why: str


def save_or_scrap(situation: Situation, hours_in_it: float | None = None) -> SaveOrScrap:
    """Return whether the part in hand is worth saving: cost of saving over its chance, against a new pour with the hours in it.

    *hours_in_it*: hours already in the part, default by build.
    """
    money = situation.knowledge.words["costs"]
    usual = money["hours in a skinned part" if situation.case.build == "skin_and_foam" else "hours in a bare part"]
    hours = usual if hours_in_it is None else hours_in_it
    new_pour = hours * money["hour at work"] + money["a pour"]
    costs = replace(situation.costs, bad_part=new_pour)
    planner = Planner(situation.reasoned, costs, ("this_part",))
    best = planner.best()
    if not best.remedies or best.expected_cost > WORTH_SAVING * new_pour:
        offered = (
            "no remedy saves a part with these causes"
            if not planner.remedies
            else "no remedy is worth its minutes and its chance"
        )
        return SaveOrScrap(
            False, None, new_pour, f"{offered}; a new pour costs {new_pour:.0f} ({hours:g} h and the material)"
        )
    why = (
        f"saving costs {best.cost:.0f} and works in about {100 * best.success:.0f} of 100, so {best.cost:.0f} + {1 - best.success:.2f} x {new_pour:.0f} = "
        f"{best.expected_cost:.0f}, against {new_pour:.0f} for a new pour ({hours:g} h and the material)"
    )
    return SaveOrScrap(True, best, new_pour, why)


def pays_from(situation: Situation, remedy: str) -> float | None:
    """Return from how many hours in the part on *remedy* is worth doing to save it, or None where no number of hours makes it so.

    Saving for cost c with chance s comes to c + (1 - s) x new pour, and that is to be WORTH_SAVING of a new pour or less.
    """
    money = situation.knowledge.words["costs"]
    plan = situation.planner("this_part").plan(frozenset((remedy,)))
    margin = plan.success - (1.0 - WORTH_SAVING)
    if margin <= 0.0:
        return None
    return max(0.0, (plan.cost / margin - money["a pour"]) / money["hour at work"])


@dataclass(frozen=True, slots=True)
class Risk:
    """A fault with its chance in a bad part of such a pour, and the chance in a bad part of any pour of this build."""

    symptom: str
    chance: float
    usual: float


@dataclass(frozen=True, slots=True)
class Raised:
    """A cause that the planned facts make likelier, and the cheapest remedy that lowers it (empty where none is known)."""

    cause: str
    chance: float
    usual: float
    remedy: str
    cost: float


@dataclass(frozen=True, slots=True)
class Outlook:
    """What a planned pour risks: faults and causes above the usual, most raised first, and the one change that lowers most for its cost."""

    faults: tuple[Risk, ...]
    causes: tuple[Raised, ...]
    change: str
    lowers: float


def outlook(situation: Situation) -> Outlook:
    """Return what the planned facts of a case without symptoms put at risk.

    Rates come from bad parts that somebody looked into, so they say which fault is likelier than usual, not how likely a bad part is.
    """
    model = situation.model
    now = dict(zip(situation.network.causes, situation.network.priors, strict=True))
    usual = model.priors({})
    names = [name for name in model.knowledge.symptoms if model.knowledge.applies(name, model.build, model.painted)]
    faults = [risk for risk in (_risk(model, name, now, usual) for name in names) if risk.chance > NOTABLE * risk.usual]
    faults.sort(key=lambda r: (-round(r.chance - r.usual, 10), r.symptom))
    causes = [
        _raised(situation, name, now[name], usual[name]) for name in model.causes if now[name] > NOTABLE * usual[name]
    ]
    causes.sort(key=lambda r: (-round(r.chance - r.usual, 10), r.cause))
    change, lowers = _best_change(situation, now, usual)
    return Outlook(tuple(faults), tuple(causes), change, lowers)


def _risk(model: Model, name: str, now: Mapping[str, float], usual: Mapping[str, float]) -> Risk:
    links = {cause: chance for cause, chance in model.symptom_links(name).items() if cause != NOT_LISTED}
    leak = model.knowledge.symptoms[name].background
    chances = []
    for priors in (now, usual):
        quiet = 1.0 - leak
        for cause, link in links.items():
            quiet *= 1.0 - priors[cause] * link
        chances.append(1.0 - quiet)
    return Risk(name, chances[0], chances[1])


def _raised(situation: Situation, name: str, now: float, usual: float) -> Raised:
    offers = [
        (round(situation.costs.of(remedy) / remedy.fixes[name].p, 9), remedy.id)
        for remedy in situation.knowledge.remedies.values()
        if name in remedy.fixes and remedy.when != "this_part"
    ]
    cheapest = min(offers) if offers else (0.0, "")
    cost = situation.costs.of(situation.knowledge.remedies[cheapest[1]]) if cheapest[1] else 0.0
    return Raised(name, now, usual, cheapest[1], cost)


def _best_change(situation: Situation, now: Mapping[str, float], usual: Mapping[str, float]) -> tuple[str, float]:
    """The remedy that takes most expected cost off the raised causes, less its own; and the cost it takes off."""
    best = ("", 0.0)
    for remedy in situation.knowledge.remedies.values():
        if remedy.when == "this_part":
            continue
        taken = sum(
            (now[cause] - usual[cause]) * link.p
            for cause, link in remedy.fixes.items()
            if cause in now and now[cause] > NOTABLE * usual[cause]
        )
        worth = taken * situation.costs.bad_part - situation.costs.of(remedy)
        if round(worth, 9) > round(best[1], 9):
            best = (remedy.id, worth)
    return best
