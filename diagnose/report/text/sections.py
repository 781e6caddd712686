"""The report in words: headed sections of paragraphs and entries, the same for the terminal and the page.

Each section is made by one function from the records of `content.py`; an empty section is left out. What to do stands in `doing.py`,
bars and numbers in `numbers.py`. Nothing here knows how bold or a line break is made.
"""

from __future__ import annotations

from collections.abc import Callable

from diagnose.assessment.content import MOST_AGAINST, MOST_FOR, Report, Suspect
from diagnose.assessment.evidence import Reading
from diagnose.assessment.open_questions import NextCheck
from diagnose.knowledge import Knowledge
from diagnose.prose import answer as wording
from diagnose.prose.answer import Teller, counted, how_sure, in_sentence, listed, quoted
from diagnose.report.document import Block, Entry, Row, Section, Words
from diagnose.report.text.actions import Doing
from diagnose.report.text.numbers import Numbers
from diagnose.report.text.robustness import Doubting

#: with this much between them the first of two leading causes is named as the answer
CLEAR_LEAD = 0.25
_SAFETY = (
    "A is an isocyanate. It harms lungs, eyes and skin, and can make you allergic for good. Gloves, goggles and moving air whenever it is open.",
    "The safety data sheets (SDS) of your materials, local rules and licensed practice come before anything said here.",
    "Tight chest, cough or rash: stop, go into fresh air and get medical advice. This tool judges parts, not people.",
)


def words_of(report: Report, knowledge: Knowledge, sums: bool = False) -> Words:
    """Return *report* in words, with the titles of *knowledge*; *sums* adds to the sheet for the next pour how each number was got."""
    writer = _Writer(report, Teller(knowledge))
    writer.sums = sums
    made = ((key, title, make(writer)) for key, title, make in _SECTIONS)
    title = wording.shortened(report.title) or "A case without a title"
    return Words(
        title,
        writer.part(),
        tuple(Section(key, head, tuple(blocks)) for key, head, blocks in made if blocks),
        "Figures are rounded: they rest on words such as usually and seldom, not on counts.",
    )


class _Writer(Doubting, Doing, Numbers):
    # -- the head --------------------------------------------------------------------------------------------------

    def part(self) -> tuple[str, ...]:
        """What part it is, what was seen on it, and how much was told."""
        report = self.report
        kind = [self.knowledge.facts["build"].choices[report.build].title] if report.build is not None else []
        if report.painted is not None:
            kind.append("painted" if report.painted else "no paint")
        seen = [in_sentence(self.knowledge.symptoms[name].title) for name in report.symptoms]
        about = [f"{key.replace('_', ' ')} {wording.shortened(value, 60)}" for key, value in report.about]
        told = (
            f"{counted(report.told, 'answer')}, {report.unknown} more not known"
            if report.unknown
            else counted(report.told, "answer")
        )
        lines = [f"{', '.join([*kind, *about, told])}.", f"Seen: {'; '.join(seen)}." if seen else ""]
        return tuple(line[0].upper() + line[1:] for line in lines if line)

    # -- the answer ------------------------------------------------------------------------------------------------

    def answer(self) -> list[Block]:
        """The answer in a sentence or two, and what it hangs on."""
        report = self.report
        if not report.symptoms:
            return [
                "Nothing is told as seen on the part, so there is nothing to explain yet. Say first what is wrong with it."
            ]
        if report.thin:
            said: list[Block] = [self._too_little()]
        else:
            said = [self._none_fits(), self._lost()] if report.none_fits else [self._verdict()]
        for hinge in report.hinges:
            how = "remembered" if hinge.reading.answer.source == "remembered" else "told by somebody"
            said.append(
                f"This hangs on one answer that was only {how}: {self.reading(hinge.reading)}. Without it, {quoted(hinge.ahead.title)} comes first. "
                f"Make sure first: {self.again(hinge.reading.question)}"
            )
        return [*said, *filter(None, [self.disagreement()])]

    def _verdict(self) -> str:
        report = self.report
        names = [quoted(s.cause.title) for s in report.suspects[: max(1, report.leading)]]
        if not names or report.leading == 0:
            return "Nothing stands out yet. The answers so far leave too many causes open; the checks below are the quickest way on."
        if report.both:
            more = f" {names[2]} may have had a part too." if len(names) > 2 else ""
            return f"Both had a part, most likely: {names[0]} and {names[1]}. Several causes can hold at once, and these two do not rule each other out.{more}"
        first = report.suspects[0].probability
        lead = f"Most likely: {names[0]}, {wording.figure(first)}."
        if report.leading == 1:
            return lead if wording.tens(first) > 50 else f"First, but not settled: {names[0]}, {wording.figure(first)}."
        second = report.suspects[1].probability
        may_join = report.together >= 0.5 * second
        if len(names) == 2 and wording.tens(first) > 50 and first >= second + CLEAR_LEAD:
            return f"{lead} {f'{names[1]} may have had a part too' if may_join else f'Or else {names[1]}'}, {wording.figure(second)}."
        joint = (
            ("Both may have had a part." if may_join else "Hardly both at once.")
            if len(names) == 2
            else "More than one of them can hold."
        )
        return f"Not settled: {listed(names, 'or')}. {joint}"

    def _too_little(self) -> str:
        """So few answers that nothing stands out is no misfit, and must not read like one."""
        return (
            "Too little is told yet to point at one cause. The causes below are leads, and something that is not on the list can't be left out "
            f"({wording.figure(self.report.unexplained)}). The checks below are the quickest way on."
        )

    def _none_fits(self) -> str:
        report = self.report
        chance = f"Something that is not on the list had a part: {how_sure(report.unexplained)}."
        if report.suspects and report.suspects[0].probability > report.unexplained:
            return f"None of these fits well enough to explain all that is seen. {chance} The first cause below is still the best lead."
        return f"None of these fits well. {chance} Take the causes below as leads, not as answers."

    def _lost(self) -> str:
        return (
            "Write down now what was done that nobody thinks matters: what was washed, moved, swapped, stored or new that week, who helped, "
            "and the weather. Keep the part, the cup, the plugs and the flash, and keep this case for the log as an unknown. "
            "Check before you change anything."
        )

    # -- the causes ------------------------------------------------------------------------------------------------

    def causes(self) -> list[Block]:
        """The causes in order, the first few with their answers, and how many are left out."""
        report = self.report
        if not report.suspects:
            return []
        blocks: list[Block] = [self._suspect(i, suspect) for i, suspect in enumerate(report.suspects[: report.full])]
        rest = [f"{s.cause.title} ({how_sure(s.probability)})" for s in report.suspects[report.full :]]
        if rest:
            blocks.append(f"Also: {'; '.join(rest)}.")
        if report.left_out:
            blocks.append(self._left_out())
        return blocks

    def _left_out(self) -> str:
        count, most = self.report.left_out, self.report.most_left_out
        each = "" if count == 1 else " each"
        return f"{counted(count, 'other cause')} left out, " + (
            f"none likelier than {wording.figure(most)}." if wording.tens(most) else f"under 5 %{each}."
        )

    def _suspect(self, place: int, suspect: Suspect) -> Entry:
        rows = [
            Row("", (suspect.cause.mechanism,)),
            self._speaking("For", suspect.speaks_for, MOST_FOR[place]),
            self._speaking("Against", suspect.against, MOST_AGAINST[place]),
        ]
        if place == 0:
            rows += [Row("Could turn", tuple(self._upsets())), Row("How firm", tuple(self.sensitivity()))]
        head, chance = f"{place + 1}. {suspect.cause.title}", suspect.probability
        return Entry(head, how_sure(chance), tuple(row for row in rows if row.lines), wording.tens(chance))

    def _speaking(self, label: str, readings: tuple[Reading, ...], most: int) -> Row:
        lines = [self.reading(r) + self._by_way(label, r) for r in readings[:most]]
        if len(readings) > most:
            lines.append(f"and {counted(len(readings) - most, 'weaker answer')}")
        return Row(label, tuple(lines) or ("nothing told",))

    def _by_way(self, label: str, reading: Reading) -> str:
        if not reading.indirect:
            return ""
        return ", which speaks against a rival" if label == "For" else ", which another cause explains better"

    def _upsets(self) -> list[str]:
        upsets = self.report.upsets
        if not upsets:
            return ["Nothing that can still be asked would change the order or move this much."]
        lines = []
        for upset in upsets:
            said = f"{self.teller.outcome(upset.question, upset.value)}, which is {wording.sure(upset.chance)}"
            if upset.ahead is None:
                lines.append(
                    f"Nothing still open puts another cause first. {said}, this falls to {wording.figure(upset.left)}."
                )
            else:
                lines.append(f"{said}, {quoted(upset.ahead.title)} goes ahead.")
        return lines

    # -- what to do ------------------------------------------------------------------------------------------------

    def checks(self) -> list[Block]:
        """The checks worth doing next, with their minutes."""
        if not self.report.checks:
            return (
                ["No further check is worth its minutes: what could still be asked would hardly change what to do."]
                if self.report.symptoms
                else []
            )
        return [self._check(check) for check in self.report.checks]

    def _check(self, check: NextCheck) -> Entry:
        aside = wording.minutes(max(1.0, check.minutes)) + (
            "" if check.in_hand else ", needs a fresh pour or a test piece"
        )
        asked = [self._question(name) for name in check.questions]
        moves = f"Bears most on {listed([quoted(c.title) for c in check.parts])}." if check.parts else ""
        if not check.serves and len(asked) == 1:
            head, how = asked[0]
            return Entry(head, aside, (Row("", (" ".join(filter(None, (how, moves))),)),))
        lines = (*(" ".join(filter(None, pair)) for pair in asked), moves)
        labels = listed([self.knowledge.label(name) for name in check.questions])
        return Entry(
            f"To work out {quoted(self.knowledge.label(check.serves))}: {labels}",
            aside,
            (Row("", tuple(filter(None, lines))),),
        )

    def _question(self, name: str) -> tuple[str, str]:
        if name in self.knowledge.symptoms:
            symptom = self.knowledge.symptoms[name]
            return f"Is it there? {symptom.title}", symptom.look
        entry = self.knowledge.question(name)
        return entry.title, entry.find_out

    # -- the end ---------------------------------------------------------------------------------------------------

    def cautions(self) -> list[Block]:
        """What holds at every bench, whatever the case."""
        return list(_SAFETY)

    def notes(self) -> list[Block]:
        """The warnings of this case: answers that say nothing, assumptions of the sums."""
        return [
            self._note(warning)
            for warning in self.report.warnings
            if self.report.symptoms or not warning.startswith("no symptom told")
        ]

    def _note(self, warning: str) -> str:
        """A warning with the name of what it is about in place of its id."""
        name, colon, rest = warning.partition(": ")
        label = wording.plain(self.knowledge.label(name)) if colon else name
        return (
            f"{label[0].upper()}{label[1:]}{colon}{wording.shortened(rest, 300)}"
            if label
            else wording.shortened(warning, 300)
        )


_SECTIONS: tuple[tuple[str, str, Callable[[_Writer], list[Block]]], ...] = (
    ("answer", "The answer", _Writer.answer),
    ("causes", "Causes, likeliest first", _Writer.causes),
    ("why", "Why the first cause", _Writer.why),
    ("checks", "Worth checking next", _Writer.checks),
    ("save", "This part: save or cast again", _Writer.save),
    ("change", "Next pour: one change", _Writer.change),
    ("plan", "If you can't afford another bad part", _Writer.plan),
    ("sheet", "Numbers for the next pour", _Writer.sheet),
    ("cautions", "Safety", _Writer.cautions),
    ("notes", "About this case", _Writer.notes),
)
