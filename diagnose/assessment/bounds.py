"""What was measured or worked out and lies outside the practice numbers, whatever the ranking says.

A foreman mends first what is measured wrong. Which fact a practice number bounds stands with the number in the
knowledge (`bounds:`); the causes it speaks for are those whose odds the value raises, by the knowledge's own curves.
"""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.assessment.consultation import Consultation
from diagnose.assessment.records import OutOfBounds
from diagnose.knowledge import Practice
from diagnose.reasoning.answers import Answer
from diagnose.reasoning.inference import CauseBelief

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
    entry = consultation.knowledge.facts[fact]
    error = (
        abs(value) * entry.error if entry.error_relative else entry.error
    )  # what a reading is off by is not out of bounds
    low = span.low if sides in ("low", "both") else None
    high = span.high if sides in ("high", "both") else None
    if (low is None or value >= low - error) and (high is None or value <= high + error):
        return []
    causes = _raised(consultation, fact)
    return [OutOfBounds(fact, value, entry.unit, low, high, causes, answer.source in FIRM_SOURCES)]


def measured_causes(consultation: Consultation, outside: Sequence[OutOfBounds]) -> list[CauseBelief]:
    """Return the likeliest cause behind each value that was measured or seen out of bounds, by probability."""
    chance = {belief.id: belief for belief in consultation.situation.beliefs.causes}
    found: dict[str, CauseBelief] = {}
    for item in outside:
        known = [chance[cause] for cause in item.causes if cause in chance]
        if item.measured and known:
            best = min(known, key=lambda b: (-round(b.probability, 10), -round(b.present, 10), b.id))
            found[best.id] = best
    return sorted(found.values(), key=lambda b: (-round(b.probability, 10), b.id))


def _raised(consultation: Consultation, fact: str) -> tuple[str, ...]:
    """The causes whose odds the value raises, most first, by
    itself or by what is worked out from the same and more answers.
    """
    model, ratios = consultation.situation.model, dict[str, float]()
    for name in (fact, *_built_on(consultation, fact)):
        answer = consultation.answers[name]
        for cause in model.bearing.get(name, ()):
            ratio = model.ratio(model.causes[cause].facts[name], model.knowledge.facts[name], answer)
            ratios[cause] = max(ratio, ratios.get(cause, 0.0))
    raised = [cause for cause, ratio in ratios.items() if ratio >= SPEAKS_FOR]
    return tuple(sorted(raised, key=lambda cause: (-round(ratios[cause], 10), cause)))


def _built_on(consultation: Consultation, fact: str) -> list[str]:
    """Facts worked out from all that *fact* was worked out from,
    such as packing against what is usual for the build.
    """
    inputs = {c.name: set(c.inputs) for c in consultation.derivation.computed}
    own = inputs.get(fact)
    return [
        name for name, needs in inputs.items() if own and name != fact and own < needs and name in consultation.answers
    ]
