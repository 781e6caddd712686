"""Answers that come in writing: `key=value` on a command line, or the text of `diagnose ask` with its boxes ticked.

A filled-in text is read line by line: a question is known by the id in brackets behind its title, an answer by the
value in brackets behind a ticked box, a number by what stands in place of the line. What was left empty says nothing;
whatever can't be read is told with its line, all of it at once, and nothing is taken then.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from msgspec import Struct, field

from diagnose.errors import Fault, FileFaults, InputError, shown
from diagnose.interview.dialogue import Reply
from diagnose.interview.progress import Notebook
from diagnose.interview.prompts import UNKNOWN, is_number, read_reply
from diagnose.knowledge import Knowledge
from diagnose.knowledge.kinds import nearest
from diagnose.prose.question import example
from diagnose.reasoning.answers import ABSENT, SEEN, SOURCES, Answer

#: keys that are about the case and no answer
_ABOUT = ("id", "date", "part", "mold", "lot_a", "lot_b", "person", "client", "remarks")
_LISTS = {"symptoms": SEEN, "symptoms_absent": ABSENT, "symptoms_unknown": UNKNOWN}
_YES = {"yes": SEEN, "no": ABSENT, "y": SEEN, "n": ABSENT}
_QUESTION = re.compile(r"^\d+\.\s")
_ID = re.compile(r"\[([a-z][a-z0-9_]*)\]\s*$")
_BOX = re.compile(r"^\[\s*([xX✓✔☑*+]?)\s*\]\s*(.*)$")
_VALUE = re.compile(r"\(([^()\s]+)\)\s*$")
_NUMBER = re.compile(r"^Answer:\s*(.*)$", re.IGNORECASE)


def with_pairs(notebook: Notebook, pairs: Iterable[str], source: str | None = None) -> Notebook:
    """Return *notebook* with each `key=value`: a question, a list of symptoms, the title,
    or what is about the case; `key=` takes an answer back.

    Raises InputError with what was expected; nothing is taken then.
    """
    for pair in pairs:
        key, equals, value = pair.partition("=")
        key, value = key.strip(), value.strip()
        if not equals:
            raise InputError(f"'{shown(pair)}': expected key=value, as in mold_temperature=61F")
        notebook = _with(notebook, key, value, source)
    return notebook


def _with(notebook: Notebook, key: str, value: str, source: str | None) -> Notebook:
    if key == "title":
        return notebook.named(value)
    if key in _ABOUT and notebook.knowledge.question_kind(key) is None:
        return notebook.named(**{key: value})
    if key in _LISTS:
        for name in filter(None, (part.strip() for part in value.split(","))):
            if name not in notebook.knowledge.symptoms:
                raise InputError(f"{key}: no such symptom '{shown(name)}'{nearest(name, notebook.knowledge.symptoms)}")
            notebook = _with(notebook, name, _LISTS[key], source)
        return notebook
    if notebook.knowledge.question_kind(key) is None:
        known = [*notebook.knowledge.facts, *notebook.knowledge.checks, *notebook.knowledge.symptoms, "title", *_ABOUT]
        raise InputError(f"{shown(key)}: no such question{nearest(key, known)}")
    if not value:
        return notebook.opened(key)
    try:
        told = _read(notebook.knowledge, key, value, source)
    except ValueError as error:
        raise InputError(f"{key}: {error}") from None
    return notebook.answered(key, *told)


def _read(knowledge: Knowledge, question: str, value: str, source: str | None) -> tuple[Answer, str]:
    """Read one answer as it is typed; `16 C:told` says how it is known. Raises ValueError."""
    head, colon, mark = value.rpartition(":")
    if colon and mark.strip().lower() in SOURCES:
        value, source = head.strip(), mark.strip().lower()
    if question in knowledge.symptoms:
        value = _YES.get(value.lower(), value)
    if is_number(knowledge, question):
        told = read_reply(knowledge, question, Reply(text=value, source=source))
    else:
        told = read_reply(knowledge, question, Reply((UNKNOWN if value == "?" else value,), source=source))
    return told.answer, told.written


class _Asked(Struct):
    """One question of a filled-in text: its line, what is ticked in it, and what stands for its number."""

    question: str
    line: int
    ticked: list[tuple[int, str]] = field(default_factory=list)
    number: str = ""


def with_text(notebook: Notebook, text: str, file: str, source: str = "told") -> Notebook:
    """Return *notebook* with the answers of a filled-in text of `diagnose ask`. Raises FileFaults with every fault."""
    faults: list[Fault] = []
    found = False
    for asked in _asked(text):
        found = True
        if notebook.knowledge.question_kind(asked.question) is None:
            known = [*notebook.knowledge.facts, *notebook.knowledge.checks, *notebook.knowledge.symptoms]
            message = f"{asked.question}: no such question{nearest(asked.question, known)}"
            faults.append(Fault(file, asked.line, message))
            continue
        try:
            answer = _answer(notebook.knowledge, asked)
            if answer:
                notebook = notebook.answered(asked.question, *_read(notebook.knowledge, asked.question, answer, source))
        except ValueError as error:
            faults.append(Fault(file, asked.line, f"{asked.question}: {error}"))
    if not found:
        faults.append(Fault(file, 0, "no question in it, expected the text of `diagnose ask` with its boxes ticked"))
    if faults:
        raise FileFaults(faults)
    return notebook


def _asked(text: str) -> Iterator[_Asked]:
    """Yield the questions of a text; `>` of a quoted mail and lines broken on the way are no matter."""
    now: _Asked | None = None
    for number, line in _joined(text):
        marked = _ID.search(line) if _QUESTION.match(line) else None
        box, figure = _BOX.match(line), _NUMBER.match(line)
        if marked is not None:
            if now is not None:
                yield now
            now = _Asked(marked[1], number)
        elif now is not None and box is not None and box[1]:
            now.ticked.append((number, box[2]))
        elif now is not None and figure is not None:
            now.number = figure[1]
    if now is not None:
        yield now


def _joined(text: str) -> Iterator[tuple[int, str]]:
    """Yield (number, line) with what a line was broken into put together again."""
    held, began = "", 0
    for number, raw in enumerate(text.splitlines(), 1):
        line = re.sub(r"^[>|\s]+", "", raw).rstrip()
        starts = not line or _BOX.match(line) or _NUMBER.match(line) or _QUESTION.match(line)
        if starts or _ID.search(held) or _VALUE.search(held):
            if held:
                yield began, held
            held, began = line, number
        else:
            held = f"{held} {line}" if held else line
            began = began if held != line else number
    if held:
        yield began, held


def _answer(knowledge: Knowledge, asked: _Asked) -> str:
    """Return what was answered, as it is typed; empty where nothing was. Raises ValueError where the ticks can't be."""
    values = [match[1] for _, words in asked.ticked if (match := _VALUE.search(words))]
    entry = knowledge.facts.get(asked.question) or knowledge.checks.get(asked.question)
    unknown = len(values) < len(asked.ticked)
    if entry is not None and entry.kind == "number":
        typed = asked.number.replace(" ".join(example(entry.unit).split()), " ")
        typed = " ".join(re.sub(r"_+", " ", re.sub(r"A number alone is in .*$|For example .*$", "", typed)).split())
        return typed or (UNKNOWN if unknown else "")
    if unknown and values:
        raise ValueError("ticked, and don't know ticked too")
    if len(values) > 1 and (entry is None or entry.kind != "many"):
        raise ValueError(f"{len(values)} boxes ticked ({', '.join(values)}), expected one")
    return ", ".join(values) or (UNKNOWN if unknown else "")
