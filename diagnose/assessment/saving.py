"""The part in hand: save it, cast again, leave it alone, or no fault at all.

Remedies are chosen by the damage that this part has and by its age, not by the cause alone. Saving pays where its cost
and its chance come to clearly less than a new part, with the hours that are in it already; a few minutes that cost
nothing are always tried first.
"""

from __future__ import annotations

from collections.abc import Collection

from msgspec import Struct
from msgspec.structs import replace

from diagnose.assessment.advice import use_of
from diagnose.assessment.consultation import Consultation
from diagnose.assessment.records import Save, Verdict
from diagnose.assessment.verdict import LEADING, LIKELY, SHOWN
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
    named = _named(consultation)
    offered = [_tried(planner, r, named) for r in planner.remedies if any(cause in r.fixes for cause in named)]
    if not offered:
        return Save("cast_again", (), 0.0, 0.0, (), unsaved, 60.0 * hours)
    ranked = sorted(offered, key=lambda tried: (tried.comes_to(new_part), tried.remedy.id))
    paying = [tried for tried in ranked if tried.comes_to(new_part) <= WORTH_SAVING * new_part]
    trying = paying or [tried for tried in ranked if _quick(tried.remedy) and tried.chance >= QUICK_CHANCE]
    best = trying[0] if trying else min(ranked, key=lambda tried: (-round(tried.chance, 6), tried.price))
    uses, spent = (use_of(consultation, best.remedy),), best.remedy.minutes + best.remedy.wait_minutes
    if trying:
        return Save("save", uses, best.chance, spent, (), unsaved, 60.0 * hours)
    return Save("cast_again", (), best.chance, spent, uses[:MOST_OFFERED], unsaved, 60.0 * hours)


def _named(consultation: Consultation) -> list[str]:
    """The causes that a part is saved from: those of the headline, or where none leads all that are shown."""
    causes = consultation.situation.beliefs.causes
    leading = [belief.id for belief in causes if belief.probability >= LEADING]
    return leading or [belief.id for belief in causes if belief.probability >= SHOWN] or [causes[0].id]


class _Tried(Struct, frozen=True):
    """A remedy for this part, what it costs, and the chance that what it is tried for had a part and is mended."""

    remedy: Remedy
    price: float
    chance: float

    def comes_to(self, new_part: float) -> float:
        """Its own cost, and a new part where it doesn't work."""
        return round(self.price + (1.0 - self.chance) * new_part, 6)


def _quick(remedy: Remedy) -> bool:
    """Whether it takes minutes and no material."""
    return remedy.minutes <= QUICK_MINUTES and remedy.material == "none"


def _tried(planner: Planner, remedy: Remedy, named: Collection[str]) -> _Tried:
    """Weigh *remedy* by the causes *named*: of what is quick it is enough that it mends its own share of what is wrong.

    Only what had a part counts: where none of the causes had one, nothing is saved by mending it.
    """
    counted = [cause for cause in named if cause in remedy.fixes] if _quick(remedy) else named
    mended, none_had = (planner.success_for(done, counted) for done in (frozenset({remedy.id}), frozenset[str]()))
    return _Tried(remedy, planner.price[remedy.id], max(0.0, mended - none_had))


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
