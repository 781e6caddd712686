"""One question as a menu or a field with every key, and what came back as an answer with how it is known.

"Don't know" is always the first row, and Enter alone. A number keeps what was typed until it can be read, and ticks
survive every key. How an answer is known is a key in the same prompt; without one it counts as seen, a number with its
unit as measured.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from msgspec import Struct
from msgspec.structs import replace

from diagnose.casebook import parse_answer
from diagnose.interview.dialogue import Field, Frontend, Menu, Reply, Row, numbered
from diagnose.interview.spoken import is_round, read_spoken
from diagnose.knowledge import Check, Fact, Knowledge
from diagnose.prose import question as wording
from diagnose.reasoning.answers import Answer
from diagnose.units import unit_of

UNKNOWN = "unknown"
WHY, HOW, BACK, ENOUGH, QUIT, TAKE_BACK = "why", "how", "back", "enough", "quit", "take_back"
DONT_KNOW = Row("0", UNKNOWN, "Don't know")
LEAVING = (
    Row("b", BACK, "Back to an earlier answer"),
    Row("e", ENOUGH, "Enough, show me"),
    Row("q", QUIT, "Quit, all is saved"),
)
#: asked before anything else; how they are known makes no difference
OPENING = ("build", "painted")

Lines = Callable[[str], Sequence[str]]


class Told(Struct, frozen=True):
    """An answer as it came: what it is, the text as typed, and whether a key said how it is known."""

    answer: Answer
    written: str
    marked: bool = False


def commands(how: str = "", changing: bool = False) -> tuple[Row, ...]:
    """Return the keys of every prompt; *how* tells how long looking takes."""
    found = (Row("w", WHY, "What is this for"), Row("h", HOW, "How to look" + (f" ({how})" if how else "")), *LEAVING)
    return (*found, Row("x", TAKE_BACK, "Take this answer back, leave it open")) if changing else found


def explained(asker: Frontend, prompt: Menu | Field, why: Lines, how: Lines) -> Reply:
    """Ask *prompt* until something else than an explanation is wanted; ticks and typed text stay meanwhile.

    *why* and *how* return the lines to tell; they get the value of the row in hand, empty where none is.
    """
    while True:
        reply = asker.choose(prompt) if isinstance(prompt, Menu) else asker.fill(prompt)
        if reply.command not in (WHY, HOW):
            return reply
        for line in (why if reply.command == WHY else how)(reply.at):
            asker.tell(line, quiet=True)
        if isinstance(prompt, Field):
            prompt = replace(prompt, text=reply.text or prompt.text)
        elif prompt.several:
            prompt = replace(prompt, picked=reply.values)


def ended_menu(
    knowledge: Knowledge, message: str, questions: Sequence[str], going_on: str = "", picked: Sequence[str] = ()
) -> Menu:
    """Return the offer of the answer: Enter alone shows it; *questions* that could still be told are there to tick.

    *going_on*: what the key g stands for, if there is one. *picked*: those ticked before a key led away.
    """
    efforts = [wording.minutes(_effort(knowledge, name)) for name in questions]
    options = [(name, f"{title_of(knowledge, name)} ({took})") for name, took in zip(questions, efforts, strict=True)]
    more = (Row("g", going_on, "Go on asking"),) if going_on else ()
    offer = " Pick what you know of these, and only that is asked; Enter alone shows the answer." if options else ""
    return Menu(
        "ended",
        message + offer,
        numbered(Row("0", ENOUGH, "Show the answer"), options),
        (*more, *commands("h on a line: that one" if options else "")),
        several=bool(options),
        picked=tuple(name for name in picked if name in questions),
        done="Ask me what is picked",
    )


def is_number(knowledge: Knowledge, question: str) -> bool:
    """Whether *question* is answered by a number."""
    entry: Fact | Check | None = knowledge.facts.get(question) or knowledge.checks.get(question)
    return entry is not None and entry.kind == "number"


def title_of(knowledge: Knowledge, question: str) -> str:
    """Return *question* as it is asked."""
    if question in knowledge.symptoms:
        return f"{knowledge.symptoms[question].title}. Is it so?"
    entry: Fact | Check = knowledge.facts.get(question) or knowledge.checks[question]
    return entry.title


def prompt_of(
    knowledge: Knowledge, question: str, current: Answer | None = None, typed: Reply | None = None, keep: bool = False
) -> Menu | Field:
    """Return *question* as a prompt; one that is being changed opens on its *current* answer.

    *typed* is what was typed or ticked before, to be mended, or kept as it stands by Enter alone if *keep*.
    """
    typed = typed or Reply()
    entry: Fact | Check | None = knowledge.facts.get(question) or knowledge.checks.get(question)
    keys = commands(wording.minutes(_effort(knowledge, question)), current is not None)
    if entry is not None and entry.kind == "number":
        hint = wording.number_hint(entry.unit, marks := _marks(entry.unit))
        return Field(question, entry.title, hint, keys, typed.text, keep, sources=marks)
    values = current.value if current is not None else None
    held = values if isinstance(values, tuple) else (str(values),) if values is not None else ()
    several = entry is not None and entry.kind == "many"
    return Menu(
        question,
        title_of(knowledge, question),
        numbered(DONT_KNOW, list(wording.choice_titles(knowledge, question).items())),
        keys,
        several,
        (typed.values or held) if several else (),
        sources="" if question in OPENING else "rt",
        at=held[0] if held and not several else "",
    )


def _effort(knowledge: Knowledge, question: str) -> float:
    """The minutes that it takes to find out."""
    entry: Fact | Check | None = knowledge.facts.get(question) or knowledge.checks.get(question)
    return entry.minutes if entry is not None else knowledge.symptoms[question].minutes


def _marks(unit: str) -> str:
    """The letters that may stand behind a number: m is a unit of its own where lengths are typed."""
    return "rt" if unit_of(unit).dimension == "length" else "rtm"


def read_reply(knowledge: Knowledge, question: str, reply: Reply, default: str | None = None) -> Told:
    """Return *reply* as an answer.

    *default* says how it is known where no key does. Raises ValueError with what was expected.
    """
    source, written = reply.source, ", ".join(reply.values)
    if is_number(knowledge, question):
        spoken = read_spoken(knowledge.facts.get(question) or knowledge.checks[question], reply.text)
        source, written = source or spoken.source, spoken.text
    if not written or written == UNKNOWN:
        return Told(Answer(None), UNKNOWN)
    return Told(parse_answer(knowledge, question, written, source or default), written, source is not None)


def is_doubted(knowledge: Knowledge, question: str, told: Told) -> bool:
    """Whether this answer to *question* is one that is often given in good faith and wrong.

    Not where a key says how it is known.
    """
    entry: Fact | Check | None = knowledge.facts.get(question) or knowledge.checks.get(question)
    if entry is None or entry.doubt is None or not told.answer.known or told.marked:
        return False
    value = told.answer.value
    if isinstance(value, float):
        exact = any(at != "round" and float(at) == value for at in entry.doubt.at)
        return exact or ("round" in entry.doubt.at and is_round(told.written, value))
    return any(one in entry.doubt.at for one in (value if isinstance(value, tuple) else (value,)))


def doubt_menu(knowledge: Knowledge, question: str, told: Told) -> Menu:
    """Return the counter-question to a doubted answer on which the advice hangs; Enter alone claims the least."""
    entry: Fact | Check = knowledge.facts.get(question) or knowledge.checks[question]
    said = wording.answer_words(knowledge, question, replace(told.answer, source="seen"), told.written)
    ask = entry.doubt.ask if entry.doubt is not None else ""
    return Menu(f"{question}.doubt", f"Much hangs on this: {entry.short}: {said}. {ask}", _DOUBT, commands())


CHANGE = "change"
_DOUBT = numbered(
    Row("0", "remembered", "As I said, from memory"),
    [
        ("seen", "I made sure just now: it is so"),
        ("told", "Somebody told me so"),
        (CHANGE, "Change the answer"),
        (UNKNOWN, "I don't know it, after all"),
    ],
)
