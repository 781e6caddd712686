"""What the caller has told, kept whole: answers that stand, answers set aside, and how far the questionnaire has come.

A notebook does not change: each answer makes a new one, which is thought through before it takes the old one's place.
Nothing is dropped when an early answer is changed. An answer that makes no sense any more (a paint question once
`painted` is no) is set aside: it says nothing, is written under a key of its own in the case file, and speaks again if
the early answer changes back.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from msgspec import Struct, field
from msgspec.structs import replace

from diagnose.casebook import Case, parse_answer
from diagnose.casebook.case import UNKNOWN
from diagnose.errors import Fault, FileFaults
from diagnose.knowledge import Knowledge
from diagnose.reasoning.answers import SEEN, SOURCES, Answer

STATE_KEY, ASIDE_KEY = "x_interview", "x_set_aside"
#: what may be behind the caller: nobody is ill; the evidence is kept; the case has its title; the faults are told;
#: they were looked for once more; the answer was offered, and more was told instead; the caller goes on past what is
#: settled for practical purposes; the answer was shown
WELL, FROZEN, TITLED, SYMPTOMS_TOLD = "well", "frozen", "titled", "symptoms_told"
LOOKED_AGAIN, OFFERED, GOING_ON, FINISHED = "looked_again", "offered", "going_on", "finished"
STEPS = (WELL, FROZEN, TITLED, SYMPTOMS_TOLD, LOOKED_AGAIN, OFFERED, GOING_ON, FINISHED)


class Notebook(Struct, frozen=True):
    """Answers by question in the order given (*told*), and the steps that are behind the caller (*passed*).

    *passed_here*: the case was in a questionnaire before, and is not somebody's own file.
    """

    knowledge: Knowledge
    told: Case = field(default_factory=Case)
    passed: frozenset[str] = frozenset()
    passed_here: bool = False

    @classmethod
    def from_case(cls, case: Case, knowledge: Knowledge, file: str) -> Notebook:
        """Take up a case read from *file*.

        Raises FileFaults where what the questionnaire itself wrote can't be read.
        """
        extra = {key: value for key, value in case.extra.items() if key not in (STATE_KEY, ASIDE_KEY)}
        state = case.extra.get(STATE_KEY, {})
        if not isinstance(state, dict):
            raise FileFaults([Fault(file, 0, f"{STATE_KEY}: expected {', '.join(STEPS)}, each yes or no")])
        passed = {name for name in STEPS if state.get(name) == "yes"}
        passed |= {SYMPTOMS_TOLD} if any(name in knowledge.symptoms for name in case.answers) else set()
        passed |= {TITLED} if case.title else set()
        made = cls(knowledge, replace(case, extra=extra, warnings=()), frozenset(passed), STATE_KEY in case.extra)
        return made._with_aside(case.extra.get(ASIDE_KEY, {}), file)

    def _with_aside(self, written: Any, file: str) -> Notebook:
        faults: list[Fault] = []
        made = self
        for name, entry in written.items() if isinstance(written, dict) else [("", None)]:
            value, source = (entry.get("value"), entry.get("source")) if isinstance(entry, dict) else (None, None)
            if not isinstance(value, str) or source not in SOURCES or self.knowledge.question_kind(name) is None:
                faults.append(Fault(file, 0, f"{ASIDE_KEY}.{name}: expected a question with value and source"))
                continue
            try:
                made = made.answered(name, parse_answer(self.knowledge, name, value, source), value)
            except ValueError as error:
                faults.append(Fault(file, 0, f"{ASIDE_KEY}.{name}: {error}"))
        if faults:
            raise FileFaults(faults)
        return made

    # -- one more answer -------------------------------------------------------------------------------------------

    def answered(self, question: str, answer: Answer, written: str = "") -> Notebook:
        """Return the notebook with *question* answered, in its old place if it was answered before."""
        return replace(self, told=self.told.with_answer(question, answer, written))

    def opened(self, question: str) -> Notebook:
        """Return the notebook with *question* open again."""
        return replace(self, told=self.told.without(question))

    def after(self, *steps: str) -> Notebook:
        """Return the notebook with *steps* behind the caller."""
        return replace(self, passed=self.passed | set(steps))

    def before(self, *steps: str) -> Notebook:
        """Return the notebook with *steps* still to come."""
        return replace(self, passed=self.passed - set(steps))

    def named(self, title: str = "", **about: str) -> Notebook:
        """Return the notebook with what the case is called and what is *about* it."""
        told = replace(self.told, title=title or self.told.title).with_about(**about)
        return replace(self, told=told)

    # -- what it holds ---------------------------------------------------------------------------------------------

    @property
    def answers(self) -> Mapping[str, Answer]:
        """All answers told, those set aside among them, in the order given."""
        return self.told.values

    def written(self, question: str) -> str:
        """The text of an answer as it was given."""
        return self.told.written.get(question, "")

    @property
    def aside(self) -> list[str]:
        """Answers that say nothing for this build and paint, in the order given."""
        build, painted = self.told.build, self.told.painted
        return [name for name in self.answers if not self.knowledge.applies(name, build, painted)]

    @property
    def case(self) -> Case:
        """The answers that stand."""
        case = self.told
        for name in self.aside:
            case = case.without(name)
        return replace(case, warnings=())

    @property
    def seen(self) -> list[str]:
        """Symptoms that stand as seen."""
        standing = self.case.values
        return [name for name, answer in standing.items() if name in self.knowledge.symptoms and answer.value == SEEN]

    @property
    def count(self) -> int:
        """How many answers are known."""
        return sum(answer.known for answer in self.answers.values())

    def asked(self, opening: Iterable[str]) -> int:
        """How many questions were put after the faults.

        Facts and checks beside *opening*, and the faults looked for again as one.
        """
        return len([name for name in self.answers if name not in opening and name not in self.knowledge.symptoms]) + (
            LOOKED_AGAIN in self.passed
        )

    # -- the file --------------------------------------------------------------------------------------------------

    def for_file(self) -> Case:
        """Return the case as it is written: what stands as answers, the rest and the steps under keys of our own."""
        state = {name: "yes" if name in self.passed else "no" for name in STEPS}
        extra: dict[str, Any] = {**self.told.extra, STATE_KEY: state}
        kept = {name: self._plain(name) for name in self.aside}
        if kept:
            extra[ASIDE_KEY] = kept
        return replace(self.case, extra=extra)

    def _plain(self, name: str) -> dict[str, str]:
        answer = self.answers[name]
        value = (
            ", ".join(answer.value)
            if isinstance(answer.value, tuple)
            else str(UNKNOWN if answer.value is None else answer.value)
        )
        if isinstance(answer.value, float):
            value = self.written(name) or f"{answer.value:.12g}"
        return {"value": value, "source": answer.source}
