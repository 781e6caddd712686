"""The answer for the client: what we think and how sure, what would prove us wrong, what to do next, the numbers for
the next pour, cautions.

One `Reply` of plain texts is made from an assessment; the page and the mail show the same. Only what the client told
and what the knowledge says goes in: no ids of ours, no weights, no person, nothing of the desk and nothing of other
clients.
"""

from __future__ import annotations

import textwrap
from importlib import resources

from msgspec import Struct

from diagnose.assessment.records import Assessment, Evidence, RemedyUse
from diagnose.casebook.case import Case
from diagnose.casebook.sheet_line import SheetLine
from diagnose.knowledge import Knowledge
from diagnose.prose.answer import Teller, mends
from diagnose.prose.chance import figure, how_sure, sure
from diagnose.prose.quantity import Units, minutes, number, quantity
from diagnose.prose.text import capital, clean, listed, lowered, quoted, shortened

WIDTH = 76
#: causes told with their reasons, answers named for each, checks named
MOST_CAUSES, MOST_REASONS, MOST_CHECKS = 2, 4, 3
#: a cause less likely than this is not told to a client
TOLD = 0.15
CAUTIONS = (
    "A is the isocyanate (hard) side, B the polyol (soft) side. A harms lungs, eyes and skin and can make you "
    "allergic for good; attacks may "
    "come hours later, at night. B gives off amines that haze the sight. Gloves, goggles, moving air; no dust of "
    "half-cured foam or coats.",
    "The safety data sheets of your materials, local rules and licensed practice go before anything said here. Tight "
    "chest, cough, rash or hazy "
    "sight: stop, go into fresh air and get medical advice.",
    "This was worked out from what you told us, without the part in our hands. Figures are rounded: they rest on "
    "words such as usually and seldom.",
)


class Step(Struct, frozen=True):
    """Something to do or to check: *head*, how long it takes, and its labelled lines."""

    head: str
    aside: str
    lines: tuple[tuple[str, str], ...]


class Reply(Struct, frozen=True):
    """A reply in words, section by section, in the order in which they are read."""

    id: str
    title: str
    part: str
    dangers: tuple[tuple[str, str, str], ...]
    think: tuple[str, ...]
    wrong_title: str
    wrong: tuple[str, ...]
    do: tuple[Step, ...]
    do_note: str
    this_part: tuple[Step, ...]
    this_part_note: str
    check: tuple[Step, ...]
    numbers: tuple[tuple[str, str], ...]
    wanting: tuple[str, ...]
    cautions: tuple[str, ...] = CAUTIONS


def reply_of(assessment: Assessment, case: Case, knowledge: Knowledge, name: str) -> Reply:
    """Return the reply to the case *name*; *assessment* is best made in full, so that it tells what could turn it."""
    words = _Words(assessment, case, knowledge)
    numbers, wanting = words.sheet()
    return Reply(
        id=name,
        title=shortened(case.title) or "Your part",
        part=words.part(),
        dangers=words.dangers(),
        think=words.think(),
        wrong_title="What would prove us wrong"
        if assessment.verdict.kind in ("one", "both")
        else "What would settle it",
        wrong=words.wrong(),
        do=words.do(),
        do_note=words.do_note(),
        this_part=words.this_part(),
        this_part_note=words.this_part_note(),
        check=words.check(),
        numbers=numbers,
        wanting=wanting,
    )


class _Words:
    def __init__(self, assessment: Assessment, case: Case, knowledge: Knowledge) -> None:
        self.found = assessment
        self.case = case
        self.knowledge = knowledge
        self.units = Units.of(case.written.values())
        self.teller = Teller(knowledge, self.units)

    def part(self) -> str:
        """What the client told of the part itself."""
        about = self.case.about.told()
        told = [f"{key} {shortened(str(about[key]), 80)}" for key in ("part", "mold", "date") if about.get(key)]
        seen = [lowered(self.knowledge.symptoms[name].title) for name in self.found.symptoms]
        lines = [", ".join(told), f"seen: {'; '.join(seen)}" if seen else "no fault told yet"]
        return capital(". ".join(capital(line) for line in lines if line)) + "."

    def dangers(self) -> tuple[tuple[str, str, str], ...]:
        """The dangers that stand: title, what to do, why."""
        entries = [self.knowledge.dangers[danger.id] for danger in self.found.dangers]
        return tuple((entry.title, entry.say, entry.why) for entry in entries)

    # -- what we think -----------------------------------------------------------------------------------------------

    def think(self) -> tuple[str, ...]:
        """The verdict, then the first causes with how they work and the answers that say so."""
        lines = [self._verdict()]
        if self.found.verdict.kind in ("nothing_seen", "none_fits", "too_little"):
            return tuple(lines)
        named = self.found.verdict.causes[:MOST_CAUSES]
        for suspect in self.found.causes:
            if suspect.id in named:
                cause = self.knowledge.causes[suspect.id]
                lines.append(f"{cause.title}: {lowered(cause.mechanism)}")
                told = [self._evidence(evidence) for evidence in suspect.speaks_for[:MOST_REASONS]]
                lines += [f"You told us: {'; '.join(told)}."] if told else []
        return tuple(lines)

    def _title(self, cause: str) -> str:
        return quoted(self.knowledge.causes[cause].title)

    def _verdict(self) -> str:
        verdict = self.found.verdict
        names = [self._title(cause) for cause in verdict.causes]
        if verdict.kind == "nothing_seen":
            return (
                "You told us of no fault that we know by name, so there is nothing to explain yet. Tell us what is "
                "wrong with the part."
            )
        if verdict.kind == "none_fits":
            none = "None" if self.found.settled else "So far none"
            return (
                f"{none} of the causes that we know fits well; something else had a part in it "
                f"({how_sure(verdict.chance)})."
            )
        if verdict.kind == "too_little":
            lead = f" The best lead is {names[0]} ({how_sure(verdict.chance)})." if names else ""
            return f"Too little is told yet to point at one cause.{lead}"
        if verdict.kind == "both":
            return f"We think that {names[0]} and {names[1]} both had a part in it ({how_sure(verdict.chance)})."
        if verdict.kind == "one":
            return f"We think it was {names[0]} ({how_sure(verdict.chance)})."
        chances = {suspect.id: suspect.probability for suspect in self.found.causes}
        told = [f"{self._title(cause)} ({figure(chances[cause])})" for cause in verdict.causes]
        return (
            f"It is not settled: {listed(told, 'or')}."
            if len(told) > 1
            else f"It is not settled; first comes {told[0]}."
        )

    def _evidence(self, evidence: Evidence) -> str:
        if evidence.computed:
            text = next((c.sum for c in self.found.computed if c.name == evidence.question), "")
            return f"{self.knowledge.label(evidence.question)}: {text}"
        if evidence.value is None:
            return self.knowledge.label(evidence.question)
        sheet = self.knowledge.materials[evidence.sheet].title if evidence.sheet else ""
        return self.teller.said(evidence.question, evidence.value, evidence.source, evidence.written, sheet)

    def wrong(self) -> tuple[str, ...]:
        """What would prove it wrong: answers still open, the outcome of the change, the rival."""
        lines = [
            self._upset(upset.question, upset.value, upset.chance, upset.ahead, upset.left)
            for upset in self.found.upsets
        ]
        change = self.found.change
        if change is not None and change.parting is not None:
            parting = change.parting
            lines.append(
                f"If the change below brings no good part, it was {self._title(parting.bad)} instead "
                f"({figure(parting.bad_chance)})."
            )
        elif change is not None:
            rival = next((s for s in self.found.causes if s.id not in change.causes and s.probability >= TOLD), None)
            then = (
                f" Suspect {self._title(rival.id)} next ({figure(rival.probability)})."
                if rival is not None
                else " Then tell us."
            )
            lines.append(
                f"If the same fault comes again after the change below, we were wrong or only half right.{then}"
            )
        doubt = self.found.doubt
        if doubt is not None:
            again = self._again(doubt.evidence.question)
            lines.append(
                f"One answer sits badly with the others: {self._evidence(doubt.evidence)}. Please make sure of it. "
                f"{again}".rstrip()
            )
        return tuple(lines)

    def _upset(self, question: str, value: str | float, chance: float, ahead: str, left: float) -> str:
        said = f"{self.teller.outcome(question, value)} ({sure(chance)})"
        return f"{said}, {self._title(ahead)} comes first." if ahead else f"{said}, ours falls to {figure(left)}."

    def _again(self, question: str) -> str:
        if question in self.knowledge.symptoms:
            return self.knowledge.symptoms[question].look
        entry = self.knowledge.facts.get(question) or self.knowledge.checks[question]
        return entry.doubt[1] if entry.doubt else entry.find_out

    # -- what to do --------------------------------------------------------------------------------------------------

    def do(self) -> tuple[Step, ...]:
        """The change for the next pour."""
        change = self.found.change
        return tuple(self._remedy(use) for use in change.remedies) if change is not None else ()

    def do_note(self) -> str:
        """Why one change, or what to do where none is sure enough."""
        change = self.found.change
        if change is None:
            return (
                "Change nothing yet. If you must pour, pour it the same way, weigh and time everything, and write it "
                "down."
            )
        if len(change.remedies) > 1:
            return "Both are plain to see, so put both right at once; all else as it was. Write down what you changed."
        return "One change, all else as it was, or nobody will know which change did it. Write down what you changed."

    def this_part(self) -> tuple[Step, ...]:
        """What may save the part in hand."""
        save = self.found.save
        return tuple(self._remedy(use) for use in (*save.remedies, *save.offered)) if save is not None else ()

    def this_part_note(self) -> str:
        """The verdict on the part in hand."""
        save = self.found.save
        if save is None:
            return "Keep it, the cup, the stick and the flash until we know more."
        return {
            "save": "Worth trying before you throw anything away:",
            "cast_again": "Cast it again." + (" With many hours in it, this is worth trying:" if save.offered else ""),
            "leave_alone": "Leave it alone, as told above: do nothing to it before it is cold through.",
            "no_fault": "This is no fault. Give it its time.",
        }[save.verdict]

    def _remedy(self, use: RemedyUse) -> Step:
        remedy = self.knowledge.remedies[use.remedy]
        works = listed([f"{mends(word)} for {self._title(cause)}" for cause, word in use.mends[:MOST_CAUSES]])
        wait = f", then {minutes(remedy.wait_minutes)} of waiting" if remedy.wait_minutes else ""
        rows = (("", remedy.do), ("How surely", works), ("Worked if", remedy.verify), ("Caution", remedy.caution))
        return Step(
            remedy.title,
            f"{minutes(remedy.minutes)} of work{wait}",
            tuple((label, text) for label, text in rows if text),
        )

    def check(self) -> tuple[Step, ...]:
        """What is worth finding out first."""
        names = [name for check in self.found.checks[:MOST_CHECKS] for name in check.questions]
        return tuple(self._question(name) for name in dict.fromkeys(names))

    def _question(self, name: str) -> Step:
        if name in self.knowledge.symptoms:
            symptom = self.knowledge.symptoms[name]
            return Step(f"Look: {lowered(symptom.title)}?", minutes(max(1.0, symptom.minutes)), (("", symptom.look),))
        entry = self.knowledge.facts.get(name) or self.knowledge.checks[name]
        return Step(entry.title, minutes(max(1.0, entry.minutes)), (("", entry.find_out),))

    # -- numbers -----------------------------------------------------------------------------------------------------

    def sheet(self) -> tuple[tuple[tuple[str, str], ...], tuple[str, ...]]:
        """The numbers for the next pour, and for which others something is wanting."""
        lines = self.found.sheet
        got = tuple((line.title, self._number(line)) for line in lines if line.worked_out)
        wanting = tuple(
            f"{lowered(line.title)} ({', '.join(self.knowledge.label(fact) for fact in line.missing)})"
            for line in lines
            if line.missing and not line.worked_out
        )
        return got, wanting

    def _number(self, line: SheetLine) -> str:
        """A number in the client's own habit of units, with its range where it has one."""
        value, low, high = line.shown()
        if value is None or self.units.quantity(value, line.unit) == quantity(value, line.unit):
            told = line.told()
            if low is None or high is None or low == high or " to " in told:
                return told
            return f"{told} ({number(low)} to {quantity(high, line.unit)})"
        if low is None or high is None or low == high:
            return self.units.quantity(value, line.unit)
        return self.units.span(low, high, line.unit)


# -- shown -----------------------------------------------------------------------------------------------------------


def reply_page(reply: Reply) -> str:
    """Return the reply as one HTML page that prints, with its style inside and no script at all."""
    from markupsafe import Markup

    from diagnose.remote.page import environment, policy

    room = resources.files("diagnose.remote")
    style = room.joinpath("reply.css").read_text(encoding="utf-8")
    page = environment().from_string(room.joinpath("reply.html.j2").read_text(encoding="utf-8"))
    return str(page.render(reply=reply, style=Markup(style), policy=Markup(policy(style))))


def reply_text(reply: Reply) -> str:
    """Return the reply as plain text for a mail, lines of at most 76 columns."""
    lines = [*_wrap(f"{reply.title} ({reply.id})"), *_wrap(reply.part)]
    for title, say, why in reply.dangers:
        lines += ["", *_wrap(f"!! {title.upper()}"), *_wrap(f"{say} {why}")]
    lines += _told("WHAT WE THINK", reply.think)
    lines += _told(reply.wrong_title.upper(), reply.wrong)
    lines += ["", "DO THIS NEXT", *_steps(reply.do), *_wrap(reply.do_note)]
    lines += ["", "THIS PART", *_wrap(reply.this_part_note), *_steps(reply.this_part)]
    if reply.check:
        lines += ["", "WORTH FINDING OUT FIRST", *_steps(reply.check)]
    if reply.numbers or reply.wanting:
        lines += ["", "YOUR NUMBERS FOR THE NEXT POUR"]
        lines += [row for title, text in reply.numbers for row in _wrap(f"{title}: {text}", "  ")]
        lines += _wrap(f"For want of an answer not worked out: {'; '.join(reply.wanting)}.") if reply.wanting else []
    lines += _told("TAKE CARE", reply.cautions)
    return "\n".join(lines) + "\n"


def _told(title: str, texts: tuple[str, ...]) -> list[str]:
    return ["", title, *(row for text in texts for row in _wrap(text))] if texts else []


def _steps(steps: tuple[Step, ...]) -> list[str]:
    rows: list[str] = []
    for step in steps:
        rows += _wrap(f"- {step.head} ({step.aside})", "  ")
        rows += [
            row for label, text in step.lines for row in _wrap(f"  {label}: {text}" if label else f"  {text}", "  ")
        ]
    return rows


def _wrap(text: str, hanging: str = "") -> list[str]:
    lead = text[: len(text) - len(text.lstrip())]
    body = clean(text.replace("\u00a0", " "))
    return textwrap.wrap(body, WIDTH, initial_indent=lead, subsequent_indent=hanging, break_on_hyphens=False) or [""]
