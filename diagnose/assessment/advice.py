"""What to do about the causes found: save this part, one change for the next pour, and the whole plan.

The report gives one order. The one change is that of the plan which most likely mends a cause that had a part, the first cause's among
them (chance of the cause times how surely the remedy mends it, summed; minutes only break ties). Where two suspects remain that this
change does not tell apart, the change that does takes its place. The whole plan is the set of least expected cost with the
one change in it, for somebody who can't afford another bad part.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from diagnose.assessment.decisions import SaveOrScrap, pays_from, save_or_scrap
from diagnose.assessment.situation import Situation
from diagnose.knowledge import Cause, Knowledge, Link, Remedy
from diagnose.reasoning.discriminating_change import SingleChange, single_change
from diagnose.reasoning.plan import Plan

#: a remedy that mends the first cause less surely than this is its change only where there is none better
MENDS = 0.2
#: the chance of a good part that a plan for a client should reach
GOAL = 0.9

Weighed = Sequence[tuple[Cause, float]]


@dataclass(frozen=True, slots=True)
class Action:
    """A remedy, the causes shown that it mends (likeliest first, with the link), and its chance of mending one."""

    remedy: Remedy
    mends: tuple[tuple[Cause, Link], ...]
    worth: float


@dataclass(frozen=True, slots=True)
class Parting:
    """The one change as an experiment: *good* is the suspect if the part comes good, *bad* the one if the same fault comes again."""

    change: SingleChange
    good: Cause
    bad: Cause


@dataclass(frozen=True, slots=True)
class Whole:
    """The whole plan and its sums, *rest* what it has beside the one change, whose sums are *alone*.

    *reaching* is the cheapest plan at GOAL, with *extra* what it has beyond this one; None where even all that is known gives *most*.
    """

    plan: Plan
    alone: Plan
    rest: tuple[Action, ...]
    reaching: Plan | None
    extra: tuple[Remedy, ...]
    most: float
    bad_part: float
    hour: float


@dataclass(frozen=True, slots=True)
class Saving:
    """Save or scrap, with the remedies that save it; where it is scrap the likeliest one, worth doing only from *pays_from* hours on."""

    decision: SaveOrScrap
    actions: tuple[Action, ...]
    pays_from: float | None


@dataclass(frozen=True, slots=True)
class Advice:
    """*saving* for this part, *unsaved* the leading causes that nothing known saves; *change* the one for the next pour, *parting* what
    its outcome will tell, *whole* the whole plan. None where no cause leads; no plan where none of the causes fits."""

    saving: Saving | None
    unsaved: tuple[Cause, ...]
    change: Action | None
    parting: Parting | None
    whole: Whole | None


def advice_for(situation: Situation, causes: Weighed, leading: int, alternatives: bool, none_fits: bool) -> Advice:
    """Return the advice for *causes* (with their chances, likeliest first); the first *leading* of them are acted on.

    *alternatives*: the first two are rivals, not partners.
    """
    if not leading:
        return Advice(None, (), None, None, None)
    change, parting = _one_change(situation, causes, alternatives and not none_fits)
    saves = {
        cause
        for remedy in situation.knowledge.remedies.values()
        if remedy.when == "this_part"
        for cause in remedy.fixes
    }
    return Advice(
        _saving(situation, causes),
        tuple(cause for cause, _ in causes[:leading] if cause.id not in saves),
        change,
        parting,
        _whole(situation, causes, change) if change is not None and not none_fits else None,
    )


def _one_change(situation: Situation, causes: Weighed, alternatives: bool) -> tuple[Action | None, Parting | None]:
    first, knowledge = causes[0][0], situation.knowledge
    ranked = [
        action for when in ("next_pour", "between_pours") for action in _ranked(knowledge, causes, when, must=first.id)
    ]
    planned = set(situation.plan.remedies) if situation.plan is not None else set()
    surely = [action for action in ranked if action.remedy.fixes[first.id].p >= MENDS] or ranked
    change = next((action for action in surely if action.remedy.id in planned), next(iter(surely), None))
    if not alternatives:
        return change, None
    among = [change.remedy.id] if change is not None else []
    parting = single_change(situation.model, situation.beliefs, situation.costs, among)
    if parting is None:
        parting = single_change(situation.model, situation.beliefs, situation.costs)
    if parting is None:
        return change, None
    return (
        _action(knowledge.remedies[parting.remedy], causes),
        Parting(parting, knowledge.causes[parting.mends], knowledge.causes[parting.rival]),
    )


def _whole(situation: Situation, causes: Weighed, change: Action) -> Whole:
    planner, knowledge = situation.next_pour, situation.knowledge
    best = situation.plan.remedies if situation.plan is not None else ()
    gathered = {remedy.id for remedy in planner.remedies}
    chosen = frozenset({change.remedy.id} & gathered | set(best))
    plan, reaching = planner.plan(chosen), planner.reaching(GOAL)
    rest = tuple(_action(knowledge.remedies[name], causes) for name in plan.remedies if name != change.remedy.id)
    extra = (
        tuple(knowledge.remedies[name] for name in reaching.remedies if name not in chosen)
        if reaching is not None
        else ()
    )
    return Whole(
        plan,
        planner.plan(frozenset({change.remedy.id} & gathered)),
        rest,
        reaching,
        extra,
        planner.plan(frozenset(gathered)).success,
        situation.costs.bad_part,
        situation.costs.hour,
    )


def _saving(situation: Situation, causes: Weighed) -> Saving:
    decision, knowledge = save_or_scrap(situation), situation.knowledge
    if decision.plan is not None:
        return Saving(
            decision, tuple(_action(knowledge.remedies[name], causes) for name in decision.plan.remedies), None
        )
    offered = {remedy.id for remedy in situation.planner("this_part").remedies}
    best = [action for action in _ranked(knowledge, causes, "this_part") if action.remedy.id in offered][:1]
    return Saving(decision, tuple(best), pays_from(situation, best[0].remedy.id) if best else None)


def _ranked(knowledge: Knowledge, causes: Weighed, when: str, must: str = "") -> list[Action]:
    """Remedies of one kind for *causes*, most likely to mend first; *must* names a cause that each has to mend."""
    found = [
        _action(remedy, causes)
        for remedy in knowledge.remedies.values()
        if remedy.when == when and (not must or must in remedy.fixes)
    ]
    kept = [action for action in found if action.mends]
    return sorted(kept, key=lambda a: (-round(a.worth, 6), a.remedy.minutes + a.remedy.wait_minutes, a.remedy.id))


def _action(remedy: Remedy, causes: Weighed) -> Action:
    mends = tuple((cause, remedy.fixes[cause.id]) for cause, _ in causes if cause.id in remedy.fixes)
    return Action(
        remedy, mends, sum(chance * remedy.fixes[cause.id].p for cause, chance in causes if cause.id in remedy.fixes)
    )
