"""The report's numbers: the weight of each answer as bars that add up."""

from __future__ import annotations

from diagnose.assessment.records import Evidence, Weights
from diagnose.prose.text import counted, quoted, shortened
from diagnose.report.document import Bar, Bars, Block
from diagnose.report.text.shown import Shown

#: longest label of a bar, and of one with its reason
_LABEL, _REASON = 68, 150


def weights(shown: Shown) -> list[Block]:
    """Return the weight of evidence of each answer on the first cause, in the order given,
    with the mechanism of each.
    """
    found = shown.assessment.weights
    if found is None:
        return []
    bars = [Bar(_label(shown, evidence), points) for evidence, points in found.steps]
    if found.few:
        says = "says" if found.few == 1 else "say"
        bars.append(Bar(f"{counted(found.few, 'answer')} that {says} next to nothing", found.few_points))
    bars.append(Bar("all together", found.total, True))
    title = shown.knowledge.causes[found.cause].title
    return [
        "Points in the order the answers were given: 3 double the odds, 10 make them tenfold, 0 in all is even.",
        Bars(f"What speaks for and against {quoted(title)}", tuple(bars)),
        *_reasons(shown, found),
    ]


def _label(shown: Shown, evidence: Evidence) -> str:
    if not evidence.question:
        return "before any answer: how often it is behind a bad part"
    return shortened(shown.evidence(evidence), _LABEL)


def _reasons(shown: Shown, found: Weights) -> list[Block]:
    """The mechanism behind each bar, as the knowledge gives it."""
    return [
        shortened(f"{shown.knowledge.label(evidence.question)}: {evidence.mechanism}", _REASON)
        for evidence, _ in found.steps
        if evidence.question and evidence.mechanism
    ]
