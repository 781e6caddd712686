"""The questionnaire from the first fault to the last question: what comes next, the ways back, and saving.

The next step follows from what is in the notebook, never from where the caller came from, so changing an early answer
needs no undoing: the loop looks again. A changed notebook is thought through before it is taken; then it is written to
disk, and only then is anything told of it.
"""

from __future__ import annotations

import threading
from importlib import import_module
from typing import TYPE_CHECKING

from msgspec.structs import replace

from diagnose.errors import InputError
from diagnose.interview import explain, safety, symptoms
from diagnose.interview import prompts as asking
from diagnose.interview.autosave import Changed, Draft
from diagnose.interview.dialogue import Enough, Field, Frontend, Leave, Menu, Reply, Row, numbered
from diagnose.interview.progress import (
    FINISHED,
    FROZEN,
    GOING_ON,
    LOOKED_AGAIN,
    OFFERED,
    SYMPTOMS_TOLD,
    TITLED,
    WELL,
    Notebook,
)
from diagnose.interview.prompts import BACK, ENOUGH, OPENING, QUIT, TAKE_BACK, Told, commands, explained
from diagnose.prose import question as wording
from diagnose.reasoning.answers import Answer

if TYPE_CHECKING:
    from diagnose.assessment.asking_order import Agenda
    from diagnose.assessment.consultation import Consultation, ModelCache
    from diagnose.reasoning.inference import Beliefs

GO_ON = "go_on"
#: a title and what is about a case are cut here
_LONGEST = 200
_ENDED = {
    "nothing_seen": "No fault is told, so there is nothing to explain.",
    "settled": "Asking more would change little.",
    "practically": "Settled for practical purposes: no likely answer would change the advice.",
    "long": "Enough was asked. What is still open stands with the answer.",
    "reopened": "That opens it again: more of it could change the advice, what stands first most of all.",
}
_WHY_ENDED = [
    "The answer is what the case comes to so far, how sure that is, and what to do.",
    "It is settled for practical purposes when no likely answer to any question would put another cause first or "
    "change the plan.",
]
_HOW_ENDED = [
    "Tick only what you know for sure or can look up now; it is asked next. What is left says nothing.",
    "Enter shows the answer. b lists all that was answered, to change or to add. It is all kept in the file.",
]
_SIDES = (
    "A is the isocyanate (the hard side), B the polyol with its amines (the soft side). Go by that where your cans "
    "are lettered otherwise."
)


class Session:
    """One caller at one case. `run` returns the consultation to report on, or None where there is nothing to report.

    *phone*: a support desk asks for somebody on the line; it starts with the caller's own words, and what he says
    counts as told.
    """

    def __init__(self, asker: Frontend, notebook: Notebook, draft: Draft, phone: bool = False) -> None:
        self.asker = asker
        self.notebook = notebook
        self.knowledge = notebook.knowledge
        self.draft = draft
        self.source = "told" if phone else None
        self._own_words_first = phone
        self._likely: tuple[str, ...] | None = None
        self._picked: tuple[str, ...] = ()
        self._doubted: set[str] = set()
        self._said: set[str] = set()
        #: which log's lessons are laid over the book: `--log`, and None for the usual one; the book alone where *book*
        self.log: str | None = None
        self.book = False
        self._models: ModelCache | None = None
        self._now: Consultation | None = None

    # -- the way through -------------------------------------------------------------------------------------------

    def run(self) -> Consultation | None:
        """Ask until settled, enough or left.

        Raises KeyboardInterrupt on Ctrl-C; what was answered is on disk by then.
        """
        try:
            if not self._opened():
                return None
            while self._step():
                pass
        except Enough:
            pass
        except (Leave, EOFError):
            return None
        self._take(self.notebook.after(FINISHED))
        return self.consultation

    def _opened(self) -> bool:
        """The safety question, once a case; dangers that stand in a case that is taken up again are told again."""
        if WELL not in self.notebook.passed:
            if not safety.all_well(self.asker, self.knowledge):
                return False
            self.notebook = self.notebook.after(WELL)
            threading.Thread(
                target=import_module, args=("diagnose.assessment.asking_order",), name="warming up"
            ).start()  # numpy loads while the caller reads
        if self._thinks(self.notebook):
            self._tell_dangers()
        return True

    def _step(self) -> bool:
        """Ask what comes next; False when there is no more to ask."""
        passed = self.notebook.passed
        unasked = [name for name in OPENING if name in self.knowledge.facts and name not in self.notebook.answers]
        if FROZEN not in passed:
            self._freeze()
        elif unasked:
            self.ask(unasked[0])
        elif TITLED not in passed:
            self._ask_title()
        elif SYMPTOMS_TOLD not in passed:
            self.ask_symptoms()
        else:
            return self._ask_next()
        return True

    def _ask_next(self) -> bool:
        agenda = self.agenda()
        if agenda.stop:
            return self._ended(agenda)
        self._tell_once(_SIDES)
        if len(agenda.questions) == 1 and agenda.questions[0] not in self.knowledge.symptoms:
            self.ask(agenda.questions[0])
        else:
            self._look_again(agenda.questions)
        return True

    def agenda(self) -> Agenda:
        """What to ask next, or why to stop."""
        from diagnose.assessment.asking_order import agenda

        asked, passed = self.notebook.asked(OPENING), self.notebook.passed
        return agenda(self.consultation, asked, GOING_ON in passed, LOOKED_AGAIN in passed, OFFERED in passed)

    def _freeze(self) -> None:
        reply = safety.freeze_evidence(self.asker)
        if reply.command != BACK:
            self.notebook = self.notebook.after(FROZEN)
        self._command(reply.command)

    def _ask_title(self) -> None:
        """What the case is called; only who says so is asked which part and which mold."""
        message = "What is it, in a few words to find it again?"
        title = self._typed(
            Field("title", message, "For example: fox mask, second casting", commands(), empty="skip it")
        )
        if title is None:
            return
        about = {}
        for key, asked in (("part", "Which part, by name or number?"), ("mold", "Which mold?")) if title else ():
            about[key] = self._typed(Field(key, asked, "", commands(), empty="skip it")) or ""
        self._take(self.notebook.named(title, **{key: text for key, text in about.items() if text}).after(TITLED))

    def _typed(self, field: Field) -> str | None:
        """Return the text typed, cut to what a title may be; None where a command was carried out instead."""
        why = ["A case with a name is found again, and so is its mold the next time. Nothing else hangs on it."]
        reply = explained(
            self.asker, field, lambda row: why, lambda row: ["As it is called in the shop. Enter skips it."]
        )
        if reply.command:
            self._command(reply.command)
            return None
        return " ".join(reply.text.split())[:_LONGEST]

    def _ended(self, agenda: Agenda) -> bool:
        """Offer the answer, beside what could still be told; False where it is to be shown."""
        from diagnose.assessment.asking_order import could_be_told

        asked = self.notebook.asked(OPENING)
        listed = could_be_told(self.consultation, asked, agenda.questions) if self.notebook.seen else []
        going_on = GO_ON if agenda.stop in ("practically", "long", "reopened") else ""
        reply = explained(
            self.asker,
            asking.ended_menu(self.knowledge, _ENDED[agenda.stop], listed, going_on, self._picked),
            lambda row: self._why(row) if row in listed else _WHY_ENDED,
            lambda row: self._how(row) if row in listed else _HOW_ENDED,
        )
        if reply.command == GO_ON:
            return self._take(self.notebook.after(GOING_ON))
        if reply.command:
            self._picked = reply.values
            self._command(reply.command)
            return True
        told = [name for name in reply.values if name in listed]
        if told:
            self.notebook, self._picked = self.notebook.after(OFFERED), ()
        for name in told:
            self.ask(name)
        return bool(told)

    # -- one question ----------------------------------------------------------------------------------------------

    def ask(self, question: str, changing: bool = False) -> None:
        """Ask *question* until it is answered, taken back, or left for an earlier one."""
        current = self.notebook.answers.get(question) if changing else None
        typed = Reply(text=self.notebook.written(question) if current is not None and current.known else "")
        keep = bool(typed.text)
        while True:
            prompt = asking.prompt_of(self.knowledge, question, current, typed, keep)
            reply = explained(self.asker, prompt, lambda row: self._why(question), lambda row: self._how(question))
            typed, keep = reply, False
            if reply.command == TAKE_BACK:
                self._take(self.notebook.opened(question))
            elif not reply.command or reply.values:
                told = self._told(question, reply)
                if told is None or not self.record(question, told):
                    continue
            self._command(reply.command)
            return

    def _why(self, question: str) -> list[str]:
        return explain.why(self.consultation, question)

    def _how(self, question: str) -> list[str]:
        return explain.how_to(self.knowledge, question)

    def _told(self, question: str, reply: Reply) -> Told | None:
        """Return the answer in *reply*, or None (and say why) where it must be asked again."""
        try:
            told = asking.read_reply(self.knowledge, question, reply, self.source)
        except ValueError as error:
            self.asker.tell(f"Not taken: {wording.unit_words(str(error))}.")
            return None
        if reply.command or question in self._doubted or not asking.is_doubted(self.knowledge, question, told):
            return told
        if question in OPENING:
            self._doubted.add(question)
            doubt = self.knowledge.facts[question].doubt
            self.asker.tell(f"Make sure: {doubt.ask} If that changes it, go back with b." if doubt else "", quiet=True)
        elif self._hangs_on(question, told):
            self._doubted.add(question)
            return self._make_sure(question, told)
        return told

    def _hangs_on(self, question: str, told: Told) -> bool:
        """Whether another cause is first, or the change another, without this answer."""
        if not self.notebook.seen:
            return False
        from diagnose.assessment.asking_order import same_advice

        without = self.notebook.opened(question)
        with_it = self.notebook.answered(question, told.answer, told.written)
        try:
            return not same_advice(self._consultation_of(without), self._consultation_of(with_it))
        except InputError:
            return False  # it will be refused, with the reason

    def _make_sure(self, question: str, told: Told) -> Told | None:
        """Put the counter-question; None to answer anew. Whoever leaves here has said it from memory."""
        remembered = replace(told, answer=replace(told.answer, source="remembered"))
        menu = asking.doubt_menu(self.knowledge, question, told)
        try:
            reply = explained(self.asker, menu, lambda row: self._why(question), lambda row: self._how(question))
        except (EOFError, KeyboardInterrupt, SystemExit):
            self.record(question, remembered)
            raise
        if reply.command:
            self.record(question, remembered)
            self._command(reply.command)
            return remembered
        value = reply.values[0]
        if value == asking.CHANGE:
            return None
        return (
            Told(Answer(None), asking.UNKNOWN)
            if value == asking.UNKNOWN
            else replace(told, answer=replace(told.answer, source=value))
        )

    def _command(self, command: str) -> None:
        """Carry out one of the keys that lead away; nothing for none."""
        if command == ENOUGH:
            raise Enough
        if command == QUIT:
            raise Leave
        if command == BACK:
            self.back()

    # -- what is wrong with the part -------------------------------------------------------------------------------

    def ask_symptoms(self) -> None:
        """Go through the list of faults until the caller says that it is all."""
        if self._own_words_first:
            self._own_words_first = False
            self._own_words()
            return
        menu = symptoms.family_menu(self.notebook, self._likely)
        reply = explained(self.asker, menu, lambda row: symptoms.WHY_FAULTS, lambda row: symptoms.HOW_FAULTS)
        value = reply.values[0] if reply.values else ""
        if reply.command:
            self._command(reply.command)
        elif value == symptoms.DONE:
            self._take(self.notebook.after(SYMPTOMS_TOLD))
        elif value == symptoms.TRIAGE:
            self._triage()
        elif value == symptoms.WORDS:
            self._own_words()
        else:
            self._pick(value, symptoms.families(self.notebook)[value])

    def _triage(self) -> None:
        """Five quick questions that lead to the right lists."""
        likely: list[str] = []
        for quick, menu in symptoms.quick_menus(self.notebook):
            reply = explained(self.asker, menu, lambda row: symptoms.WHY_FAULTS, lambda row: symptoms.HOW_FAULTS)
            if reply.command:
                self._command(reply.command)
                return
            likely += next((found for value, _, found in quick.options if value == reply.values[0]), ())
        self._likely = tuple(dict.fromkeys(likely))

    def _own_words(self) -> None:
        reply = explained(
            self.asker, symptoms.words_field(), lambda row: symptoms.WHY_FAULTS, lambda row: symptoms.HOW_FAULTS
        )
        if reply.command:
            self._command(reply.command)
        elif reply.text:
            names = symptoms.heard(self.notebook, reply.text)
            if names:
                self._pick("heard", names)
            else:
                self.asker.tell("Nothing on the list sounds like that. Say it otherwise, or pick from the lists.")

    def _pick(self, name: str, names: list[str]) -> None:
        menu = symptoms.list_menu(self.notebook, name, names, [n for n in names if n in self.notebook.seen])
        reply = explained(
            self.asker,
            menu,
            lambda row: symptoms.WHY_FAULTS,
            lambda row: symptoms.how_list(self.notebook, names, row),
        )
        self._take(symptoms.take(self.notebook, names, reply.values, self.source or "seen"))
        self._command(reply.command)

    def _look_again(self, names: tuple[str, ...]) -> None:
        """Ask once for the faults that would change the advice, together."""
        reply = explained(
            self.asker,
            symptoms.again_menu(self.notebook, names),
            lambda row: symptoms.WHY_AGAIN,
            lambda row: symptoms.how_list(self.notebook, names, row),
        )
        if reply.command and not reply.values:
            self._command(reply.command)
            return
        looked = symptoms.take_again(self.notebook, names, reply.values, self.source or "seen")
        self._take(looked.after(LOOKED_AGAIN))
        self._command(reply.command)

    # -- the way back ----------------------------------------------------------------------------------------------

    def back(self) -> None:
        """List what was answered; the one picked is asked again, the later ones stay."""
        answers = [
            name
            for name, answer in self.notebook.answers.items()
            if name not in self.knowledge.symptoms or answer.value != "seen" or name in self.notebook.aside
        ]
        told = f"What is wrong with the part: {wording.counted(len(self.notebook.seen), 'fault')} told"
        options = [("symptoms", told), *((name, self._answer_line(name)) for name in reversed(answers))]
        menu = Menu("back", "Which answer?", numbered(Row("0", "stay", "None, go on"), options), commands())
        why = ["An answer that is changed keeps its place, and all that came after it stays."]
        how = ["Pick it: it is asked again with what was answered, and x takes it back altogether."]
        reply = explained(self.asker, menu, lambda row: why, lambda row: how)
        if reply.command in (ENOUGH, QUIT):
            self._command(reply.command)
        elif reply.values == ("symptoms",):
            self._take(self.notebook.before(SYMPTOMS_TOLD, OFFERED))
        elif reply.values and reply.values != ("stay",):
            self.ask(reply.values[0], changing=True)

    def _answer_line(self, name: str) -> str:
        words = wording.answer_words(self.knowledge, name, self.notebook.answers[name], self.notebook.written(name))
        aside = " (says nothing now)" if name in self.notebook.aside else ""
        return f"{self.knowledge.label(name)}: {words}{aside}"

    # -- after an answer -------------------------------------------------------------------------------------------

    def record(self, question: str, told: Told) -> bool:
        """Take an answer, save, and tell what it moved; False where it can't be true with the rest."""
        return self._take(self.notebook.answered(question, told.answer, told.written))

    def _take(self, candidate: Notebook) -> bool:
        """Think *candidate* through and take it, or say why not; then save, and tell what is new."""
        before, was_aside = self._now, set(self.notebook.aside)
        found = None
        if self._thinks(candidate):
            try:
                found = before if before is not None and candidate.case == before.case else self._thought(candidate)
            except InputError as error:
                self.asker.tell(f"Not taken: {error}.")
                return False
        self.notebook, self._now = candidate, found
        self.save()
        self._tell_aside(was_aside)
        if found is not None and found is not before:
            self._tell_dangers()
            self._tell_standing(found, before)
        return True

    def _thinks(self, notebook: Notebook) -> bool:
        """Whether there is anything to think about beside the build and the paint."""
        return any(name not in OPENING for name in notebook.answers)

    def _thought(self, notebook: Notebook) -> Consultation:
        found = self._consultation_of(notebook)
        if notebook.seen:
            _ = found.situation.beliefs  # raises where the answers can't all be true
        return found

    def _tell_once(self, text: str, quiet: bool = True) -> None:
        if text not in self._said:
            self._said.add(text)
            self.asker.tell(text, quiet=quiet)

    def _tell_dangers(self) -> None:
        for name in self.consultation.dangers:
            danger = self.knowledge.dangers[name]
            self._tell_once(f"CAUTION: {danger.title}. {danger.say}", quiet=False)

    def _tell_aside(self, before: set[str]) -> None:
        now = self.notebook.aside
        for name in now:
            if name not in before:
                self.asker.tell(f"Kept, but says nothing on such a part: {self._answer_line(name)}", quiet=True)
        for name in sorted(before.difference(now)):
            self.asker.tell(f"Counts again: {self._answer_line(name)}", quiet=True)

    def _tell_standing(self, found: Consultation, before: Consultation | None) -> None:
        now = self._beliefs_of(found)
        was = self._beliefs_of(before) if before is not None else None
        if now is None or (was is not None and _figures(now) == _figures(was)):
            return
        self.asker.tell(explain.standing(self.knowledge, now, was, self.asker.width - 1), quiet=True)
        derived = found.derivation
        for text in (*(computed.text for computed in derived.computed), *derived.warnings):
            self._tell_once(f"Worked out: {text}")

    def _beliefs_of(self, consultation: Consultation) -> Beliefs | None:
        return consultation.situation.beliefs if consultation.symptoms_seen else None

    def save(self) -> None:
        """Write the case; trouble with that is told once and stops nothing."""
        try:
            self.draft.save(self.notebook.for_file())
        except Changed as error:
            self.draft.save_aside(self.notebook.for_file())
            if self.draft.trouble is None:
                where = f"your answers are kept in {self.draft.path} from here on"
                self.asker.tell(f"{error}. It is left as it is; {where}.")
        if self.draft.trouble is not None:
            self._tell_once(f"Not saved: {self.draft.trouble}. Your answers hold until you leave.", quiet=False)

    # -- the case as it stands -------------------------------------------------------------------------------------

    @property
    def consultation(self) -> Consultation:
        """The case as it stands, thought through."""
        if self._now is None:
            self._now = self._consultation_of(self.notebook)
        return self._now

    def _consultation_of(self, notebook: Notebook) -> Consultation:
        from diagnose.assessment.consultation import Consultation
        from diagnose.logbook.learned import models_for
        from diagnose.logbook.places import where_of

        if self._models is None:
            self._models = models_for(self.knowledge, None if self.book else where_of(self.log), self.book)
        return Consultation(self._models, notebook.case)


def _figures(beliefs: Beliefs) -> dict[str, float]:
    """The chances, as far as an answer can be said to have moved them."""
    return {cause.id: round(cause.probability, 6) for cause in beliefs.causes}
