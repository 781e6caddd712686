"""Which remedies may be offered in a case: none that a danger forbids, that comes too late, that its own text rules out here,
or that mends a damage which this part doesn't have.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from diagnose.knowledge import Remedy
from diagnose.reasoning.answers import Answer

#: the answer that tells how old the part was when it was looked at, in hours
AGE = "hours_since_demold"
THIS_PART = "this_part"


@dataclass(frozen=True, slots=True)
class Suitable:
    """The case as far as a remedy's own conditions look at it."""

    answers: Mapping[str, Answer]
    dangers: frozenset[str]
    seen: tuple[str, ...]

    def allows(self, remedy: Remedy) -> bool:
        """Whether *remedy* may be offered here."""
        return not (
            self.dangers.intersection(remedy.never_with)
            or self._too_late(remedy)
            or self._ruled_out(remedy)
            or self._nothing_to_mend(remedy)
        )

    def _too_late(self, remedy: Remedy) -> bool:
        """A part of unknown age gets the benefit of the doubt: the text says how soon it must be done."""
        age = self.answers.get(AGE)
        return (
            remedy.until is not None
            and age is not None
            and isinstance(age.value, float)
            and (60.0 * age.value > remedy.until)
        )

    def _ruled_out(self, remedy: Remedy) -> bool:
        for question, values in remedy.not_when.items():
            answer = self.answers.get(question)
            if answer is not None and answer.known:
                given = answer.value if isinstance(answer.value, tuple) else (answer.value,)
                if any(value in values for value in given):
                    return True
        return False

    def _nothing_to_mend(self, remedy: Remedy) -> bool:
        wants = remedy.mends_damage
        return remedy.when == THIS_PART and bool(wants) and not any(symptom in wants for symptom in self.seen)
