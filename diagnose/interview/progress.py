"""What the caller has told, kept whole: answers that stand, answers set aside, and how far the questionnaire has come.

Nothing is dropped when an early answer is changed. An answer that makes no sense any more (a paint question once `painted` is no) is
set aside: it says nothing, is written under a key of its own in the case file, and speaks again if the early answer changes back. What is
believed is always worked out afresh from the answers that stand; no state is ever undone.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any

from diagnose.casebook import Case, parse_answer
from diagnose.casebook.case import UNKNOWN
from diagnose.errors import Fault, FileFaults
from diagnose.knowledge import Knowledge
from diagnose.reasoning.answers import SEEN, SOURCES, Answer

STATE_KEY, ASIDE_KEY = "x_interview", "x_set_aside"
_FLAGS = ("well", "frozen", "symptoms_told", "finished")


@dataclass(slots=True)
class Notebook:
    """Answers by question in the order given, and the steps that are behind the caller.

    *well*: nobody is ill; *frozen*: the list of evidence was shown; *symptoms_told*: the list of symptoms was gone through;
    *finished*: the answer was shown.
    """

    knowledge: Knowledge
    told: Case = field(default_factory=Case)
    well: bool = False
    frozen: bool = False
    symptoms_told: bool = False
    finished: bool = False

    @classmethod
    def from_case(cls, case: Case, knowledge: Knowledge, file: str) -> Notebook:
        """Take up a case read from *file*. Raises FileFaults where what the questionnaire itself wrote can't be read."""
        extra = {key: value for key, value in case.extra.items() if key not in (STATE_KEY, ASIDE_KEY)}
        made = cls(knowledge, replace(case, extra=extra, warnings=()))
        state = case.extra.get(STATE_KEY, {})
        if not isinstance(state, dict):
            raise FileFaults([Fault(file, 0, f"{STATE_KEY}: expected {', '.join(_FLAGS)}, each yes or no")])
        for name in _FLAGS:
            setattr(made, name, state.get(name) == "yes")
        made.symptoms_told = made.symptoms_told or any(name in knowledge.symptoms for name in case.answers)
        made._take_aside(case.extra.get(ASIDE_KEY, {}), file)
        return made

    def _take_aside(self, written: Any, file: str) -> None:
        faults: list[Fault] = []
        for name, entry in written.items() if isinstance(written, dict) else [("", None)]:
            value, source = (entry.get("value"), entry.get("source")) if isinstance(entry, dict) else (None, None)
            if not isinstance(value, str) or source not in SOURCES or self.knowledge.question_kind(name) is None:
                faults.append(Fault(file, 0, f"{ASIDE_KEY}.{name}: expected a question with value and source"))
                continue
            try:
                self.put(name, parse_answer(self.knowledge, name, value, source), value)
            except ValueError as error:
                faults.append(Fault(file, 0, f"{ASIDE_KEY}.{name}: {error}"))
        if faults:
            raise FileFaults(faults)

    # -- answers ---------------------------------------------------------------------------------------------------

    def put(self, question: str, answer: Answer, written: str = "") -> None:
        """Answer *question*, in its old place if it was answered before."""
        self.told = self.told.with_answer(question, answer, written)

    def drop(self, question: str) -> None:
        """Open *question* again."""
        self.told = self.told.without(question)

    @property
    def aside(self) -> list[str]:
        """Answers that say nothing for this build and paint, in the order given."""
        build, painted = self.told.build, self.told.painted
        return [name for name in self.told.answers if not self.knowledge.applies(name, build, painted)]

    @property
    def case(self) -> Case:
        """The answers that stand."""
        return self.told.without(*self.aside)

    @property
    def seen(self) -> list[str]:
        """Symptoms that stand as seen."""
        return [
            name
            for name, answer in self.case.values.items()
            if name in self.knowledge.symptoms and answer.value == SEEN
        ]

    @property
    def count(self) -> int:
        """How many answers are known."""
        return sum(answer.known for answer in self.told.values.values())

    # -- the file --------------------------------------------------------------------------------------------------

    def for_file(self) -> Case:
        """Return the case as it is written: what stands as answers, the rest and the steps under keys of our own."""
        state = {name: "yes" if getattr(self, name) else "no" for name in _FLAGS}
        extra: dict[str, Any] = {**self.told.extra, STATE_KEY: state}
        kept = {name: self._plain(name) for name in self.aside}
        if kept:
            extra[ASIDE_KEY] = kept
        return replace(self.case, extra=extra)

    def _plain(self, name: str) -> dict[str, str]:
        answer, written = self.told.answers[name]
        value = (
            ", ".join(answer.value)
            if isinstance(answer.value, tuple)
            else str(UNKNOWN if answer.value is None else answer.value)
        )
        if isinstance(answer.value, float):
            value = written or f"{answer.value:.12g}"
        return {"value": value, "source": answer.source}
