"""What was measured or worked out and lies outside the practice numbers, whatever the ranking says.

A foreman mends first what is measured wrong. Which fact a practice number bounds stands with the number in the knowledge
(`bounds:`); the causes it speaks for are those whose odds the value raises, by the knowledge's own curves.
"""

from __future__ import annotations

from diagnose.assessment.consultation import Consultation
from diagnose.assessment.records import OutOfBounds
from diagnose.knowledge import Practice
from diagnose.reasoning.answers import Answer

#: a cause is named with a value that makes it this many times likelier
SPEAKS_FOR = 1.5
#: how an answer must be known to be acted on as a measurement
FIRM_SOURCES = ("measured", "seen")


def out_of_bounds(consultation: Consultation) -> tuple[OutOfBounds, ...]:
    """Return every answered number outside the practice that bounds it, in the order of the practice numbers."""
    found = []
    for practice in consultation.knowledge.practice.values():
        for fact, sides in practice.bounds.items():
            answer = consultation.answers.get(fact)
            if answer is not None and isinstance(answer.value, float):
                found += _outside(consultation, practice, fact, sides, answer)
    return tuple(found)


def _outside(
    consultation: Consultation, practice: Practice, fact: str, sides: str, answer: Answer
) -> list[OutOfBounds]:
    span, value = practice.of(consultation.case.build), answer.value
    assert isinstance(value, float)
    low = span.low if sides in ("low", "both") else None
    high = span.high if sides in ("high", "both") else None
    if (low is None or value >= low) and (high is None or value <= high):
        return []
    unit, causes = consultation.knowledge.facts[fact].unit, _raised(consultation, fact, answer)
    return [OutOfBounds(fact, value, unit, low, high, causes, answer.source in FIRM_SOURCES)]


def _raised(consultation: Consultation, fact: str, answer: Answer) -> tuple[str, ...]:
    """The causes whose odds the value raises, most first."""
    model = consultation.situation.model
    ratios = {
        name: model.ratio(cause.facts[fact], model.knowledge.facts[fact], answer)
        for name, cause in model.causes.items()
        if fact in cause.facts
    }
    raised = [name for name, ratio in ratios.items() if ratio >= SPEAKS_FOR]
    return tuple(sorted(raised, key=lambda name: (-round(ratios[name], 10), name)))
