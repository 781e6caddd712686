"""The questionnaire from the first fault to the last question: what comes next, the ways back, and saving.

The next step follows from what is in the notebook, never from where the caller came from, so changing an early answer needs no
undoing: the loop looks again. Every answer is written to disk before anything else is shown.
"""

from __future__ import annotations

import threading
from dataclasses import replace
from importlib import import_module
from typing import TYPE_CHECKING

from diagnose.errors import InputError
from diagnose.interview import explain, symptoms
from diagnose.interview import prompts as asking
from diagnose.interview import safety as opening
from diagnose.interview.autosave import Draft
from diagnose.interview.dialogue import Enough, Frontend, Leave, Menu, Reply, Row, numbered
from diagnose.interview.progress import Notebook
from diagnose.interview.prompts import BACK, ENOUGH, HOW, OPENING, QUIT, TAKE_BACK, WHY
from diagnose.prose import question as wording

if TYPE_CHECKING:
    from diagnose.assessment.situation import ModelCache, Situation
    from diagnose.casebook import Case, Told
    from diagnose.reasoning.inference import Beliefs


class Session:
    """One caller at one case. `run` returns the situation to report on, or None where there is nothing to report."""

    def __init__(self, asker: Frontend, notebook: Notebook, draft: Draft) -> None:
        self.asker = asker
        self.notebook = notebook
        self.knowledge = notebook.knowledge
        self.draft = draft
        self.doubted: set[str] = set()
        self.said: set[str] = set()
        self._models: ModelCache | None = None
        self._now: Situation | None = None

    # -- the way through -------------------------------------------------------------------------------------------

    def run(self) -> Situation | None:
        """Ask until settled, enough or left. Raises KeyboardInterrupt on Ctrl-C; what was answered is on disk by then."""
        try:
            if not self._opened():
                return None
            while self._step():
                pass
        except Enough:
            pass
        except (Leave, EOFError):
            return None
        finally:
            self.draft.settle()
        self.notebook.finished = True
        self._save()
        self._settle()
        return self.situation

    def _opened(self) -> bool:
        """The safety question and the evidence, once a case."""
        if not self.notebook.well:
            if not opening.all_well(self.asker):
                return False
            self.notebook.well = True
            threading.Thread(
                target=import_module, args=("diagnose.assessment.situation",), name="warming up"
            ).start()  # numpy loads while the caller reads
        if not self.notebook.frozen:
            opening.freeze_evidence(self.asker)
            self.notebook.frozen = True
        return True

    def _step(self) -> bool:
        """Ask what comes next; False when there is no more to ask."""
        for name in OPENING:
            if name in self.knowledge.facts and name not in self.notebook.told.answers:
                self.ask(name)
                return True
        if not self.notebook.symptoms_told:
            self.ask_symptoms()
            return True
        proposals = self.situation.proposals
        if proposals:
            self.ask(proposals[0].question)
            return True
        return self._ended()

    def _ended(self) -> bool:
        self._settle()
        seen = bool(self.notebook.seen)
        message = "Asking more would change little." if seen else "No fault is told, so there is nothing to explain."
        rows = numbered(
            Row("0", ENOUGH, "Show me"), [(BACK, "Change or add an earlier answer"), (QUIT, "Quit, all is saved")]
        )
        value = self.asker.choose(Menu("ended", message, rows)).values[0]
        if value == ENOUGH:
            return False
        self._command(value)
        return True

    # -- one question ----------------------------------------------------------------------------------------------

    def ask(self, question: str, changing: bool = False) -> None:
        """Ask *question* until it is answered, taken back, or left for an earlier one."""
        self._settle()
        held = self.notebook.told.answers.get(question) if changing else None
        current = held.answer if held is not None else None
        written = held.written if held is not None and held.answer.known else ""
        kept, keep = Reply(text=written), bool(written)
        if question in self.knowledge.symptoms and not changing:
            self.asker.tell(self.knowledge.symptoms[question].help, quiet=True)
        while True:
            reply = asking.ask_once(self.asker, self.knowledge, question, current, kept, keep)
            if reply.command in (WHY, HOW):
                self._explain(question, reply.command)
                kept = reply
            elif reply.command == TAKE_BACK:
                self.take_back(question)
                return
            elif reply.command:
                self._command(reply.command)
                return
            else:
                kept, keep = reply, False
                told = self._told(question, reply)
                if told is not None:
                    self.record(question, told)
                    return

    def _told(self, question: str, reply: Reply) -> Told | None:
        """Return the answer in *reply*, or None (and say why) where it must be asked again."""
        try:
            told = asking.read_reply(self.knowledge, question, reply)
        except ValueError as error:
            self.asker.tell(f"Not taken: {wording.unit_words(str(error))}.")
            return None
        if question in self.doubted:
            return told
        try:
            known = asking.how_known(self.asker, self.knowledge, question, told, reply.source)
        except (Enough, Leave, EOFError, KeyboardInterrupt, SystemExit):
            self.notebook.put(question, replace(told.answer, source="remembered"), told.written)
            self._now = None
            self._save()
            raise
        if known is not None:
            self.doubted.add(question)
        return known

    def _explain(self, question: str, command: str) -> None:
        lines = explain.why(self.situation, question) if command == WHY else explain.how_to(self.knowledge, question)
        for line in lines:
            self.asker.tell(line, quiet=True)

    def _command(self, command: str) -> None:
        if command == ENOUGH:
            raise Enough
        if command == QUIT:
            raise Leave
        self.back()

    # -- what is wrong with the part -------------------------------------------------------------------------------

    def ask_symptoms(self) -> None:
        """Go through the list of faults until the caller says that it is all."""
        self._settle()
        reply = symptoms.ask_family(self.asker, self.notebook)
        if reply.command in (WHY, HOW):
            symptoms.explain_step(self.asker, reply.command)
        elif reply.command:
            self._command(reply.command)
        elif reply.values[0] == symptoms.DONE:
            self.notebook.symptoms_told = True
            self._save()
        elif reply.values[0] == symptoms.WORDS:
            self._own_words()
        else:
            family = reply.values[0]
            self._pick(family, symptoms.families(self.notebook)[family])

    def _own_words(self) -> None:
        reply = symptoms.ask_words(self.asker, "")
        if reply.command:
            self._command(reply.command)
        elif reply.text:
            names = symptoms.heard(self.notebook, reply.text)
            if names:
                self._pick("heard", names)
            else:
                self.asker.tell("Nothing on the list sounds like that. Say it otherwise, or pick from the lists.")

    def _pick(self, name: str, names: list[str]) -> None:
        picked = tuple(symptom for symptom in names if symptom in self.notebook.seen)
        while True:
            reply = symptoms.ask_list(self.asker, self.notebook, name, names, picked)
            picked = reply.values
            if reply.command == WHY:
                symptoms.explain_step(self.asker, WHY)
            elif reply.command == HOW:
                symptoms.explain_list(self.asker, self.notebook, names, reply.at)
            else:
                self._take_symptoms(names, reply.values)
                if reply.command:
                    self._command(reply.command)
                return

    def _take_symptoms(self, names: list[str], picked: tuple[str, ...]) -> None:
        before, held = self._beliefs(), self.notebook.told
        if symptoms.take(self.notebook, names, picked):
            self._changed(before, held)

    # -- the way back ----------------------------------------------------------------------------------------------

    def back(self) -> None:
        """List what was answered; the one picked is asked again, the later ones stay."""
        answers = [
            name
            for name in self.notebook.told.answers
            if name not in self.knowledge.symptoms or not self._seen_on_list(name)
        ]
        options = [
            ("symptoms", f"What is wrong with the part: {wording.counted(len(self.notebook.seen), 'fault')} told")
        ]
        options += [(name, self._answer_line(name)) for name in reversed(answers)]
        reply = self.asker.choose(Menu("back", "Which answer?", numbered(Row("0", "stay", "None, go on"), options)))
        value = reply.values[0]
        if value == "symptoms":
            self.notebook.symptoms_told = False
        elif value != "stay":
            self.ask(value, changing=True)

    def _seen_on_list(self, name: str) -> bool:
        return self.notebook.told.value(name) == "seen" and name not in self.notebook.aside

    def _answer_line(self, name: str) -> str:
        told = self.notebook.told
        words = wording.answer_words(self.knowledge, name, *told.answers[name])
        aside = " (says nothing now)" if name in self.notebook.aside else ""
        return f"{self.knowledge.label(name)}: {words}{aside}"

    def take_back(self, question: str) -> None:
        """Leave *question* open, as if it had not been asked."""
        before, held = self._beliefs(), self.notebook.told
        self.notebook.drop(question)
        self._changed(before, held)

    # -- after an answer -------------------------------------------------------------------------------------------

    def record(self, question: str, told: Told) -> None:
        """Write an answer down, save, and tell what it moved."""
        before, held = self._beliefs(), self.notebook.told
        aside = set(self.notebook.aside)
        self.notebook.put(question, told.answer, told.written)
        self._tell_aside(aside)
        self._changed(before, held)

    def _tell_aside(self, before: set[str]) -> None:
        now = self.notebook.aside
        for name in now:
            if name not in before:
                self.asker.tell(f"Kept, but says nothing on such a part: {self._answer_line(name)}", quiet=True)
        for name in sorted(before.difference(now)):
            self.asker.tell(f"Counts again: {self._answer_line(name)}", quiet=True)

    def _changed(self, before: Beliefs | None, held: Case) -> None:
        """Save, think again, and tell what moved; an answer that can't be true with the rest is given back (*held* is the case before it)."""
        self._now = None
        self._save()
        try:
            now = self._beliefs()
        except InputError as error:
            self.asker.tell(f"Not taken: {error}.")
            self.notebook.told = held
            self._now = None
            self._save()
            return
        if now is not None and now != before:
            self._tell_standing(now, before)

    def _tell_standing(self, now: Beliefs, before: Beliefs | None) -> None:
        self.asker.tell(explain.standing(self.knowledge, now, before, self.asker.width - 1), quiet=True)
        derived = self.situation.derivation
        for text in (*(computed.text for computed in derived.computed), *derived.warnings):
            if text not in self.said:
                self.said.add(text)
                self.asker.tell(f"Worked out: {text}", quiet=True)

    def _save(self) -> None:
        self.draft.save(self.notebook.for_file())

    def _settle(self) -> None:
        """No question before the last answer is on the disk; trouble with that is told once."""
        self.draft.settle()
        if self.draft.trouble is not None and self.draft.trouble not in self.said:
            self.said.add(self.draft.trouble)
            self.asker.tell(f"Not saved: {self.draft.trouble}. Your answers hold until you leave.")

    @property
    def situation(self) -> Situation:
        """The case as it stands, thought through."""
        if self._now is None:
            from diagnose.assessment.situation import ModelCache, Situation

            self._models = self._models or ModelCache(self.knowledge)
            self._now = Situation(self._models, self.notebook.case)
        return self._now

    def _beliefs(self) -> Beliefs | None:
        return self.situation.beliefs if self.notebook.seen else None
