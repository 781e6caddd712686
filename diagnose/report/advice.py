"""What to do about the causes found: save this part, one change for the next pour, and work between pours.

The one change is the remedy that most likely mends a cause that had a part, the first cause's among them: chance of the cause
times how surely the remedy mends it, summed. Minutes only break ties. Costs, and sets of changes, are weighed elsewhere.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from diagnose.knowledge import Cause, Knowledge, Link, Remedy

#: a remedy that mends a cause less surely than this does not count as its remedy
MENDS = 0.2
#: the least chance at which a cause is worth a change of its own beside the first one's
SECOND = 0.4
#: work between pours that is less likely than this to mend anything is left out
WORTH_A_SHELF_JOB = 0.1
MOST_SAVES, MOST_SHELF = 2, 1
#: a second way to save the part for the same cause is told where it is worth this share of the best
NEARLY = 0.75

Weighed = Sequence[tuple[Cause, float]]


@dataclass(frozen=True, slots=True)
class Action:
    """A remedy, the causes shown that it mends (likeliest first, with the link), and its chance of mending one."""

    remedy: Remedy
    mends: tuple[tuple[Cause, Link], ...]
    worth: float


@dataclass(frozen=True, slots=True)
class Advice:
    """*saves* for this part, best first; *unsaved* the leading causes that nothing known saves; *change* the one for the next
    pour (None where no cause leads), *other* the change for a second cause that it leaves alone, *shelf* the work between pours."""

    saves: tuple[Action, ...]
    unsaved: tuple[Cause, ...]
    change: Action | None
    other: Action | None
    shelf: tuple[Action, ...]


def advice_for(knowledge: Knowledge, causes: Weighed, leading: int) -> Advice:
    """Return the advice for *causes* (with their chances, likeliest first); the first *leading* of them are acted on."""
    lead = list(causes[:leading])
    saves = _ranked(knowledge, lead, "this_part")
    saved = {cause.id for action in saves for cause, _ in action.mends}
    change = next(iter(_ranked(knowledge, causes, "next_pour", must=lead[0][0].id)), None) if lead else None
    shelf = [action for action in _ranked(knowledge, lead, "shelf") if action.worth >= WORTH_A_SHELF_JOB]
    return Advice(tuple(_worthwhile(saves)), tuple(cause for cause, _ in lead if cause.id not in saved), change,
                  _other(knowledge, lead, change), tuple(shelf[:MOST_SHELF]))


def _worthwhile(saves: Sequence[Action]) -> list[Action]:
    """The best way to save the part, and a second one if it serves another cause or is nearly as good."""
    chosen = list(saves[:1])
    served = {cause.id for cause, _ in saves[0].mends} if saves else set()
    for action in saves[1:]:
        if len(chosen) < MOST_SAVES and (action.worth >= NEARLY * saves[0].worth or any(cause.id not in served for cause, _ in action.mends)):
            chosen.append(action)
    return chosen


def _other(knowledge: Knowledge, lead: Weighed, change: Action | None) -> Action | None:
    """The change for the likeliest leading cause that the one change leaves alone."""
    if change is None:
        return None
    for cause, chance in lead[1:]:
        link = change.remedy.fixes.get(cause.id)
        if chance >= SECOND and (link is None or link.p < MENDS):
            return next(iter(_ranked(knowledge, [(cause, chance)], "next_pour")), None)
    return None


def _ranked(knowledge: Knowledge, causes: Weighed, when: str, must: str = "") -> list[Action]:
    """Remedies of one kind for *causes*, most likely to mend first; *must* names a cause that each has to mend."""
    found = [_action(remedy, causes) for remedy in knowledge.remedies.values() if remedy.when == when and (not must or must in remedy.fixes)]
    kept = [action for action in found if action.mends]
    return sorted(kept, key=lambda a: (-round(a.worth, 6), a.remedy.minutes + a.remedy.wait_minutes, a.remedy.id))


def _action(remedy: Remedy, causes: Weighed) -> Action:
    mends = tuple((cause, remedy.fixes[cause.id]) for cause, _ in causes if cause.id in remedy.fixes)
    return Action(remedy, mends, sum(chance * remedy.fixes[cause.id].p for cause, chance in causes if cause.id in remedy.fixes))
