"""What to do otherwise on the next pour: one change, or two where both causes are measured or seen; and the whole plan.

What is measured out of bounds is changed first where the headline names no other cause, and beside it where it does.
Else the change is the remedy that most likely mends a cause that had a part, the first cause's among them (chance of
the cause times how surely the remedy mends it, summed; cost breaks ties). Where two rivals remain that the change does
not tell apart, the change that does takes its place.
"""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.assessment.bounds import FIRM_SOURCES, measured_causes
from diagnose.assessment.consultation import NEXT_POUR, Consultation
from diagnose.assessment.records import Change, OutOfBounds, Parting, Plan, RemedyUse, Verdict
from diagnose.assessment.verdict import LEADING
from diagnose.knowledge import Remedy
from diagnose.reasoning.discriminating_change import single_change
from diagnose.reasoning.inference import CauseBelief

#: a remedy that mends the first cause less surely than this is its change only where there is none better
MENDS = 0.2
#: a first cause this likely is changed before a measurement out of bounds that hardly bears on what is seen
CLEAR = 0.6
#: causes this likely are weighed when a remedy is chosen; what is
#: measured wrong is put right beside the first cause from here on
WEIGHED, HELD = 0.15, 0.5


def change_for(consultation: Consultation, verdict: Verdict, outside: Sequence[OutOfBounds]) -> Change | None:
    """Return the change for the next pour, or None where nothing stands out enough to change anything for."""
    if verdict.kind == "nothing_seen":
        return None
    measured = any(item.measured and item.causes for item in outside)
    if verdict.kind == "none_fits" and not measured:
        return None
    targets = _targets(consultation, verdict, outside)
    rivals = verdict.kind == "open" and targets == [consultation.situation.beliefs.causes[0].id]
    parting = _parting(consultation, verdict) if rivals else None
    if parting is not None:
        remedy, told = parting
        return _change(consultation, [remedy], targets, told)
    chosen: list[Remedy] = []
    for cause in targets:
        if not any(cause in remedy.fixes and remedy.fixes[cause].p >= MENDS for remedy in chosen):
            best = best_remedy(consultation, cause)
            chosen += [best] if best is not None else []
    return _change(consultation, chosen, targets, None) if chosen else None


def _targets(consultation: Consultation, verdict: Verdict, outside: Sequence[OutOfBounds]) -> list[str]:
    """The causes to change something for: what is measured out of bounds, or the first;
    both of two that are plain to see.
    """
    first = consultation.situation.beliefs.causes[0]
    measured = measured_causes(consultation, outside)
    leads = next((b for b in measured if b.present >= LEADING), None)
    named = verdict.kind in ("one", "both")  # then the headline and the change must not part ways
    if leads is not None and not named and first.probability < CLEAR and first.id not in [b.id for b in measured]:
        return [leads.id]
    if first.probability < LEADING and verdict.kind == "too_little":
        return []
    second = next((b for b in _partners(consultation, verdict, measured) if b.id != first.id), None)
    return [first.id, second.id] if second is not None else [first.id]


def _partners(consultation: Consultation, verdict: Verdict, measured: Sequence[CauseBelief]) -> list[CauseBelief]:
    """Causes that are changed together with the first: its partner where both are plain,
    and what is measured wrong as well.
    """
    beliefs = {belief.id: belief for belief in consultation.situation.beliefs.causes}
    first = consultation.situation.beliefs.causes[0]
    partners = [beliefs[verdict.causes[1]]] if verdict.kind == "both" else []
    partners += [b for b in measured if b.present >= HELD]
    return [b for b in partners if _plain(consultation, first) and _plain(consultation, b)]


def _plain(consultation: Consultation, belief: CauseBelief) -> bool:
    """Whether a fact or a check that was measured or seen speaks for the cause itself."""
    cause = consultation.knowledge.causes[belief.id]
    return any(
        consultation.answers[name].source in FIRM_SOURCES and (name in cause.facts or name in cause.checks)
        for name in belief.speaking(1)
    )


def best_remedy(consultation: Consultation, cause: str) -> Remedy | None:
    """Return the remedy for the next pour that mends *cause* and, with it, most of what had a part."""
    offered = [
        remedy
        for remedy in consultation.knowledge.remedies.values()
        if remedy.when in NEXT_POUR and cause in remedy.fixes and consultation.allows(remedy)
    ]
    surely = [remedy for remedy in offered if remedy.fixes[cause].p >= MENDS] or offered
    return min(surely, key=lambda remedy: _order(consultation, remedy, cause), default=None)


def _order(consultation: Consultation, remedy: Remedy, cause: str) -> tuple[float, float, str]:
    """Most mended first (the cause in question counts in full), less what it costs against another bad part."""
    chances = {belief.id: belief.probability for belief in consultation.situation.beliefs.causes}
    chances[cause] = max(chances[cause], 0.5)
    worth = sum(chances[name] * link.p for name, link in remedy.fixes.items() if chances.get(name, 0.0) >= WEIGHED)
    worth -= consultation.costs.of(remedy) / consultation.costs.bad_part
    return -round(worth, 6), remedy.minutes + remedy.wait_minutes, remedy.id


def _parting(consultation: Consultation, verdict: Verdict) -> tuple[Remedy, Parting] | None:
    """The change whose outcome tells the first two rivals apart, where there is one that is worth making."""
    if len(verdict.causes) < 2:
        return None
    best = best_remedy(consultation, verdict.causes[0])
    among = [best.id] if best is not None else []
    allowed = [r.id for r in consultation.knowledge.remedies.values() if consultation.allows(r)]
    found = single_change(consultation.situation, consultation.costs, among) or single_change(
        consultation.situation, consultation.costs, allowed
    )
    if found is None:
        return None
    told = Parting(found.mends, found.if_good, found.rival, found.if_bad)
    return consultation.knowledge.remedies[found.remedy], told


def _change(
    consultation: Consultation, chosen: Sequence[Remedy], targets: Sequence[str], parting: Parting | None
) -> Change:
    weighed = [b.id for b in consultation.situation.beliefs.causes if b.probability >= WEIGHED]
    names = list(dict.fromkeys([*targets, *(parting.good, parting.bad)] if parting else targets))
    chance = consultation.next_pour.success_for(
        frozenset(remedy.id for remedy in chosen), names[:1] if parting else names
    )
    mended = {cause for remedy in chosen for cause in remedy.fixes}
    leaves = next((name for name in weighed[:2] if name not in mended), "")
    return Change(tuple(use_of(consultation, r) for r in chosen), tuple(names), chance, parting, leaves)


def use_of(consultation: Consultation, remedy: Remedy) -> RemedyUse:
    """Return *remedy* with the causes of this case that it mends, likeliest first."""
    beliefs = [b.id for b in consultation.situation.beliefs.causes if b.probability >= 0.05]
    return RemedyUse(remedy.id, tuple((cause, remedy.fixes[cause].word) for cause in beliefs if cause in remedy.fixes))


def plan_for(consultation: Consultation, change: Change | None) -> Plan | None:
    """Return the set of remedies with the least expected cost, or None where no symptom was told.

    Where every set costs more than it can be expected to save, it is the single most promising remedy: to pour the same
    again is no plan. The one change is always a part of it, or the two would give different orders.
    """
    if not consultation.symptoms_seen:
        return None
    planner = consultation.next_pour
    best = planner.best()
    if not best.remedies:
        best = planner.most_promising() or best
    gathered = {remedy.id for remedy in planner.remedies}
    changed = {use.remedy for use in change.remedies} & gathered if change is not None else set()
    if changed - set(best.remedies):
        best = planner.plan(frozenset({*best.remedies, *changed}))
    remedies = [consultation.knowledge.remedies[name] for name in best.remedies]
    return Plan(
        tuple(use_of(consultation, remedy) for remedy in remedies),
        tuple(remedy.when for remedy in remedies),
        tuple(remedy.minutes + remedy.wait_minutes for remedy in remedies),
        best.success,
        best.cost,
    )
