"""What a planned pour risks, in lines for the terminal."""

from __future__ import annotations

from diagnose.assessment.decisions import Raised, Risk, outlook
from diagnose.assessment.situation import Situation
from diagnose.report.json import RATES

#: more faults or causes than this are a list that nobody reads
MOST = 5


def outlook_lines(situation: Situation) -> list[str]:
    """Return what the planned facts put at risk, how much more than usual, and the change that lowers most."""
    found = outlook(situation)
    knowledge = situation.knowledge
    lines = [computed.text for computed in situation.derivation.computed]
    if not found.causes:
        return [*lines, "Nothing in the plan makes a fault likelier than usual.", RATES]
    lines += ["What the plan makes likelier:", *(f"  {_cause(situation, raised)}" for raised in found.causes[:MOST])]
    lines += [
        "Faults most at risk:",
        *(f"  {knowledge.symptoms[risk.symptom].title}: {_more(risk)}" for risk in found.faults[:MOST]),
    ]
    if found.change:
        remedy = knowledge.remedies[found.change]
        lines += [
            f"The change that lowers most for its cost: {remedy.title} ({remedy.minutes:g} min)",
            f"  {remedy.do}",
        ]
        lines += [f"  caution: {remedy.caution}"] if remedy.caution else []
    return [*lines, RATES]


def _cause(situation: Situation, raised: Raised) -> str:
    title = situation.knowledge.causes[raised.cause].title
    mend = f"; mended by: {situation.knowledge.remedies[raised.remedy].title}" if raised.remedy else ""
    return f"{title}: {_times(raised.chance / raised.usual)} the usual{mend}"


def _more(risk: Risk) -> str:
    return f"{_times(risk.chance / risk.usual)} the usual"


def _times(factor: float) -> str:
    return f"{factor:.1f} times" if factor < 3 else f"{factor:.0f} times"
