"""One question as a menu or a field, and what came back as an answer with how it is known.

"Don't know" is always the first row, and Enter alone. A number keeps what was typed until it can be read. Where an answer to a question
is often given in good faith and wrong, the counter-question is shown once, with how the answer is known; there too Enter
alone claims the least: from memory.
"""

from __future__ import annotations

from dataclasses import replace

from diagnose.casebook import Told, parse_answer
from diagnose.interview import explain
from diagnose.interview.dialogue import Enough, Field, Frontend, Leave, Menu, Reply, Row, numbered
from diagnose.knowledge import Knowledge
from diagnose.prose import question as wording
from diagnose.reasoning.answers import Answer

UNKNOWN = "unknown"
WHY, HOW, BACK, ENOUGH, QUIT, TAKE_BACK = "why", "how", "back", "enough", "quit", "take_back"
DONT_KNOW = Row("0", UNKNOWN, "Don't know")
COMMANDS = (
    Row("b", BACK, "Back to an earlier answer"),
    Row("e", ENOUGH, "Enough, show me"),
    Row("q", QUIT, "Quit, all is saved"),
)
#: asked before anything else; how they are known makes no difference
OPENING = ("build", "painted")


def commands(knowledge: Knowledge, question: str, changing: bool) -> tuple[Row, ...]:
    """Return the rows below the answers of *question*."""
    effort = knowledge.question(question).minutes
    found = (
        Row("w", WHY, "Why this question"),
        Row("h", HOW, f"How to find out ({wording.minutes(effort)})"),
        *COMMANDS,
    )
    return (*found, Row("x", TAKE_BACK, "Take this answer back, leave it open")) if changing else found


def is_number(knowledge: Knowledge, question: str) -> bool:
    """Whether *question* is answered by a number."""
    return knowledge.question(question).kind == "number"


def title_of(knowledge: Knowledge, question: str) -> str:
    """Return *question* as it is asked."""
    if question in knowledge.symptoms:
        return f"Is this so: {wording.lowered(knowledge.symptoms[question].title)}?"
    entry = knowledge.question(question)
    return entry.title


def menu_of(knowledge: Knowledge, question: str, current: Answer | None, picked: tuple[str, ...] = ()) -> Menu:
    """Return *question* as a menu; one that is being changed opens on its present answer."""
    several = knowledge.question(question).kind == "many"
    rows = numbered(DONT_KNOW, list(wording.choice_titles(knowledge, question).items()))
    values = current.value if current is not None else None
    held = values if isinstance(values, tuple) else (str(values),) if values is not None else ()
    return Menu(
        question,
        title_of(knowledge, question),
        rows,
        commands(knowledge, question, current is not None),
        several,
        (picked or held) if several else (),
        sources=question not in OPENING,
        at=held[0] if held and not several else "",
    )


def field_of(knowledge: Knowledge, question: str, current: Answer | None, text: str, keep: bool) -> Field:
    """Return *question* as a field for a number; *text* stands in it, and stays where nothing else is typed if *keep*."""
    entry = knowledge.question(question)
    hint = f"{wording.example(entry.unit)} Behind it r = from memory, t = somebody told me."
    return Field(
        question, entry.title, hint, commands(knowledge, question, current is not None), text, keep, sources=True
    )


def ask_once(
    asker: Frontend, knowledge: Knowledge, question: str, current: Answer | None, kept: Reply, keep: bool
) -> Reply:
    """Ask *question* once; *kept* is what was typed or ticked before, to be mended (or kept as it stands, if *keep*)."""
    if is_number(knowledge, question):
        return asker.fill(field_of(knowledge, question, current, kept.text, keep))
    return asker.choose(menu_of(knowledge, question, current, kept.values))


def read_reply(knowledge: Knowledge, question: str, reply: Reply) -> Told:
    """Return *reply* as an answer. Raises ValueError with what was expected."""
    written = reply.text if is_number(knowledge, question) else ", ".join(reply.values)
    if not written or written == UNKNOWN:
        return Told(Answer(None), UNKNOWN)
    return Told(parse_answer(knowledge, question, written, reply.source), written)


def how_known(asker: Frontend, knowledge: Knowledge, question: str, told: Told, marked: str | None) -> Told | None:
    """Return *told* with how it is known, after the counter-question where there is one; None to answer anew.

    Raises Enough or Leave where the caller has had enough of it.
    """
    entry = knowledge.question(question)
    if entry.doubt is None or not told.answer.known or told.answer.source == "measured":
        return told
    if marked is not None:
        asker.tell(explain.counter_question(entry.doubt), quiet=True)
        return told
    if question in OPENING:
        asker.tell(f"Make sure: {entry.doubt.ask} If that changes it, go back with b.", quiet=True)
        return told
    asker.tell(explain.counter_question(entry.doubt), quiet=True)
    said = wording.answer_words(knowledge, question, replace(told.answer, source="seen"), told.written)
    reply = asker.choose(Menu(f"{question}.known", f"{entry.short}: {said}. How do you know?", _KNOWN, COMMANDS[1:]))
    if reply.command:
        raise Enough if reply.command == ENOUGH else Leave
    value = reply.values[0]
    if value == "change":
        return None
    if value == UNKNOWN:
        return Told(Answer(None), UNKNOWN)
    return Told(replace(told.answer, source=value), told.written)


_KNOWN = numbered(
    Row("0", "remembered", "From memory"),
    [
        ("seen", "I saw it, or did it myself"),
        ("measured", "Measured it"),
        ("told", "Somebody told me"),
        ("change", "Change the answer"),
        (UNKNOWN, "I don't know it, after all"),
    ],
)
