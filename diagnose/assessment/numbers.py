"""The numbers for the next pour: only those that bear on this case,
and all of them as the change advised would have them.
"""

from __future__ import annotations

from diagnose.assessment.advice import change_for
from diagnose.assessment.bounds import out_of_bounds
from diagnose.assessment.consultation import Consultation
from diagnose.assessment.records import Change
from diagnose.assessment.verdict import verdict_of
from diagnose.casebook.sheet import SheetLine, next_pour_sheet

#: a cause this likely makes the numbers that bear on it worth telling
BEARS = 0.1


def whole_sheet(consultation: Consultation) -> tuple[SheetLine, ...]:
    """Return all numbers for the next pour, in the order of the job,
    as the change that the case comes to would have them.
    """
    outside = out_of_bounds(consultation)
    return _lines(consultation, change_for(consultation, verdict_of(consultation, outside), outside))


def sheet_for(consultation: Consultation, change: Change | None) -> tuple[SheetLine, ...]:
    """Return the lines that bear on a fault seen or a likely cause, in the order of the job;
    none where nothing is seen.
    """
    if not consultation.symptoms_seen:
        return ()
    knowledge = consultation.knowledge
    families = {knowledge.symptoms[name].family for name in consultation.symptoms_seen}
    causes = {belief.id for belief in consultation.situation.beliefs.causes if belief.probability >= BEARS}
    return tuple(line for line in _lines(consultation, change) if line.relevant_to & (families | causes))


def _lines(consultation: Consultation, change: Change | None) -> tuple[SheetLine, ...]:
    changes = changes_of(consultation, change)
    return next_pour_sheet(consultation.answers, consultation.case.build, consultation.knowledge, changes)


def changes_of(consultation: Consultation, change: Change | None) -> dict[str, float]:
    """Return what the change makes otherwise, by fact, in stored units:
    the mold's face where it is to be warmed, and the like.

    Where two remedies bring one fact to two numbers, the one that is for the first cause counts.
    """
    remedies = consultation.knowledge.remedies
    used = [remedies[use.remedy] for use in change.remedies] if change is not None else []
    practice, build = consultation.knowledge.practice, consultation.case.build
    return {fact: practice[number].of(build).mid for remedy in reversed(used) for fact, number in remedy.sets.items()}
