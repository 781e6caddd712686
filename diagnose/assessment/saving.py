"""The part in hand: save it, cast again, leave it alone, or no fault at all.

Remedies are chosen by the damage that this part has and by its age, not by the cause alone. Saving pays where its cost and its
chance come to clearly less than a new part, with the hours that are in it already; a few minutes that cost nothing are always
tried first.
"""

from __future__ import annotations

from dataclasses import replace

from diagnose.assessment.advice import use_of
from diagnose.assessment.consultation import Consultation
from diagnose.assessment.records import Save, Verdict
from diagnose.assessment.verdict import LEADING, LIKELY
from diagnose.knowledge import Remedy
from diagnose.reasoning.plan import Planner

#: saving must come to this share of a new part or less (ours): a gamble at even odds is not worth an evening
WORTH_SAVING = 0.9
#: what takes no longer than this, costs no material and has this chance is tried before anything is thrown away (ours)
QUICK_MINUTES, QUICK_CHANCE = 20.0, 0.2
#: the cause that is no fault
NO_FAULT = "normal_behaviour"
#: dangers under which the part is left alone
LEAVE_ALONE = frozenset({"hot_core"})
#: remedies that are worth a try though casting again is cheaper
MOST_OFFERED = 1


def save_for(consultation: Consultation, verdict: Verdict) -> Save | None:
    """Return what to do with the part in hand; None where nothing is seen."""
    if verdict.kind == "nothing_seen":
        return None
    hours, new_part = _new_part(consultation)
    unsaved = _unsaved(consultation)
    if LEAVE_ALONE.intersection(consultation.dangers):
        return Save("leave_alone", (), 0.0, 0.0, (), unsaved, 60.0 * hours)
    first = consultation.situation.beliefs.causes[0]
    if first.id == NO_FAULT and verdict.kind == "one" and first.probability >= LIKELY:
        return Save("no_fault", (), first.probability, 0.0, (), (), 60.0 * hours)
    return _weighed(consultation, hours, new_part, unsaved)


def _weighed(consultation: Consultation, hours: float, new_part: float, unsaved: tuple[str, ...]) -> Save:
    costs = replace(consultation.costs, bad_part=new_part)
    planner = Planner(consultation.situation, costs, ("this_part",), allow=consultation.allows)
    named = [b.id for b in consultation.situation.beliefs.causes if b.probability >= LEADING]
    named = named or [consultation.situation.beliefs.causes[0].id]
    offered = [remedy for remedy in planner.remedies if any(cause in remedy.fixes for cause in named)]
    ranked = sorted(offered, key=lambda remedy: _cost(planner, remedy, named, new_part))
    best = ranked[0] if ranked else None
    if best is None:
        return Save("cast_again", (), 0.0, 0.0, (), unsaved, 60.0 * hours)
    chance = planner.success_for(frozenset({best.id}), named)
    uses = (use_of(consultation, best),)
    if _quick(best, chance) or _cost(planner, best, named, new_part)[0] <= WORTH_SAVING * new_part:
        return Save("save", uses, chance, best.minutes + best.wait_minutes, (), unsaved, 60.0 * hours)
    return Save("cast_again", (), chance, best.minutes + best.wait_minutes, uses[:MOST_OFFERED], unsaved, 60.0 * hours)


def _quick(remedy: Remedy, chance: float) -> bool:
    return remedy.minutes <= QUICK_MINUTES and remedy.material == "none" and chance >= QUICK_CHANCE


def _cost(planner: Planner, remedy: Remedy, named: list[str], new_part: float) -> tuple[float, str]:
    """What saving by *remedy* comes to: its own cost, and a new part where it doesn't work."""
    chance = planner.success_for(frozenset({remedy.id}), named)
    return round(planner.price[remedy.id] + (1.0 - chance) * new_part, 6), remedy.id


def _new_part(consultation: Consultation) -> tuple[float, float]:
    """Hours in a part of this build, painted or not, and what a new one costs."""
    money = consultation.knowledge.words["costs"]
    skinned = consultation.case.build == "skin_and_foam"
    hours = money["hours in a skinned part" if skinned else "hours in a bare part"]
    if consultation.case.painted:
        hours += money["hours in the paint"]
    return hours, hours * money["hour at work"] + money["a pour"]


def _unsaved(consultation: Consultation) -> tuple[str, ...]:
    """Leading causes for which nothing is known that saves a part."""
    remedies = consultation.knowledge.remedies.values()
    saves = {cause for remedy in remedies if remedy.when == "this_part" for cause in remedy.fixes}
    leading = [b.id for b in consultation.situation.beliefs.causes[:3] if b.probability >= LEADING]
    return tuple(cause for cause in leading if cause not in saves)
