"""What a planned pour risks, in lines for the terminal: what to change before it, in order,
and what it puts at risk.
"""

from __future__ import annotations

from diagnose.assessment.consultation import Consultation
from diagnose.assessment.pour_risk import PourRisk, pour_risk
from diagnose.prose.quantity import minutes, times
from diagnose.prose.text import capital, counted, listed, lowered, quoted
from diagnose.report.json import RATES

#: more faults or causes than this are a list that nobody reads
MOST = 5


def pour_risk_lines(consultation: Consultation) -> list[str]:
    """Return what to change before the pour, how much each lowers, and what the planned facts put at risk."""
    found = pour_risk(consultation)
    title = [consultation.case.title] if consultation.case.title else []
    computed = [capital(c.text) for c in consultation.derivation.computed]
    return [
        *title,
        *_changes(consultation, found),
        *_risks(consultation, found),
        *_sums(computed),
        *_wanted(consultation, found),
        RATES,
    ]


def _changes(consultation: Consultation, found: PourRisk) -> list[str]:
    if not found.changes:
        return []
    lines = ["BEFORE THIS POUR, IN THIS ORDER"]
    for i, change in enumerate(found.changes[:MOST], start=1):
        remedy = consultation.knowledge.remedies[change.remedy]
        causes = listed([quoted(consultation.knowledge.causes[c].title) for c in change.causes[:2]])
        lines.append(f"  {i}. {remedy.title} ({minutes(remedy.minutes + remedy.wait_minutes)}); lowers {causes}")
        lines.append(f"     {remedy.do}")
        lines += [f"     Caution: {remedy.caution}"] if remedy.caution else []
    left = len(found.changes) - MOST
    return [*lines, f"  and {counted(left, 'smaller change')}"] if left > 0 else lines


def _risks(consultation: Consultation, found: PourRisk) -> list[str]:
    knowledge, lines = consultation.knowledge, []
    if found.causes:
        lines.append("WHAT THE PLAN MAKES LIKELIER")
        lines += [
            f"  {knowledge.causes[r.cause].title}: {times(r.chance / r.usual)} the usual" for r in found.causes[:MOST]
        ]
        lines += _more(len(found.causes))
    if found.faults:
        lines.append("FAULTS MOST AT RISK")
        lines += [
            f"  {knowledge.symptoms[r.symptom].title}: {times(r.chance / r.usual)} the usual"
            for r in found.faults[:MOST]
        ]
        lines += _more(len(found.faults))
    return lines


def _more(count: int) -> list[str]:
    return [f"  and {count - MOST} more"] if count > MOST else []


def _sums(computed: list[str]) -> list[str]:
    return ["WORKED OUT", *(f"  {text}" for text in computed)] if computed else []


def _wanted(consultation: Consultation, found: PourRisk) -> list[str]:
    """What the plan would have to tell before silence could mean anything."""
    if not found.wanted:
        return []
    labels = [lowered(consultation.knowledge.label(name)) for name in found.wanted]
    return [f"Little is told of this pour, so no risk named is no promise. Tell as well: {', '.join(labels)}."]
