"""The headline of a case, decided once: nothing seen, too little told, none fits, one cause, two together, or open.

All thresholds are ours, no source; `docs/reasoning.md` shows how the alarm "none fits" was set on cases that were not
tuned on.
"""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.assessment.bounds import measured_causes
from diagnose.assessment.consultation import Consultation
from diagnose.assessment.records import OutOfBounds, Verdict
from diagnose.reasoning.inference import CauseBelief

#: a cause under this chance no longer matters
SHOWN = 0.05
#: a cause is named in the headline from here on, at most so many where they can't be parted
LEADING, MOST_NAMED = 0.25, 3
#: one cause is named alone from here on, with this lead over the next
LIKELY, CLEAR_LEAD = 0.35, 0.15
#: two are said to have had a part together where each is at least as likely as not, and their joint chance is at least
#: this
EVEN, BOTH = 0.5, 0.4
#: where unexplained is as high as the first cause, and the first is no likelier than this, the origin is not on the
#: list
NOT_ON_LIST = 0.5
#: how far unexplained has to be ahead of the first cause, by how many answers bear on a cause at all:
#: the less is told, the more it takes to say that nothing on the list fits; it is never said before FEW were asked
#: for, known or not
FEW, ENOUGH = 4, 8
AHEAD_WITH_FEW, AHEAD_WITH_SOME = 0.4, 0.2
#: with ENOUGH it may be so little behind, where it could stand in the headline itself
BEHIND = 0.05


def verdict_of(consultation: Consultation, outside: Sequence[OutOfBounds] = ()) -> Verdict:
    """Return the headline of a case; what is measured *outside* its bounds and held is no misfit,
    whatever else had a part.
    """
    if not consultation.symptoms_seen:
        return Verdict("nothing_seen", (), 0.0)
    beliefs = consultation.situation.beliefs
    leading = [belief for belief in beliefs.causes[:MOST_NAMED] if belief.probability >= LEADING]
    first = beliefs.causes[0]
    bearing = _bearing(consultation)
    lead = beliefs.unexplained - first.probability
    can_be = first.probability < NOT_ON_LIST and not any(
        belief.present >= LEADING for belief in measured_causes(consultation, outside)
    )
    if can_be and lead > _ahead(bearing, beliefs.unexplained) and _heard(consultation) >= FEW:
        return Verdict("none_fits", (), beliefs.unexplained)
    if ((can_be and lead > 0.0) or not leading) and bearing < FEW:
        return Verdict("too_little", _ids(leading), first.probability)
    return _between(consultation, leading or [first])


def _between(consultation: Consultation, leading: list[CauseBelief]) -> Verdict:
    first, second = leading[0], leading[1] if len(leading) > 1 else None
    if second is not None:
        together = consultation.situation.both_responsible(first.id, second.id)
        if second.probability >= EVEN and together >= BOTH:
            return Verdict("both", (first.id, second.id), together)
    ahead = second is None or first.probability - second.probability >= CLEAR_LEAD
    if first.probability >= LIKELY and ahead:
        return Verdict("one", (first.id,), first.probability)
    return Verdict("open", _ids(leading), first.probability)


def _ahead(bearing: int, unexplained: float) -> float:
    if bearing < FEW:
        return AHEAD_WITH_FEW
    if bearing < ENOUGH:
        return AHEAD_WITH_SOME
    return -BEHIND if unexplained >= LEADING else 0.0


def _ids(beliefs: list[CauseBelief]) -> tuple[str, ...]:
    return tuple(belief.id for belief in beliefs)


def _heard(consultation: Consultation) -> int:
    """How many answers there are beside the faults told, the build and the paint, "don't know" among them."""
    return len(consultation.case.answers.keys() - {"build", "painted", *consultation.symptoms_seen})


def _bearing(consultation: Consultation) -> int:
    """How many answers beside the faults told, the build and the paint say anything of a cause."""
    knowledge, model = consultation.knowledge, consultation.situation.model
    keep = {"build", "painted", *consultation.symptoms_seen}
    return sum(
        answer.known
        and name not in keep
        and (name in model.bearing or name in knowledge.checks or name in knowledge.symptoms)
        for name, answer in consultation.answers.items()
    )
