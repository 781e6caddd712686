"""Questions as a message ready to send: a greeting, numbered questions with their answers as boxes, minutes,
and how to reply.

`diagnose answer` takes the filled-in text back: each box stands behind the id of its answer.
"""

from __future__ import annotations

import textwrap

from diagnose.assessment.consultation import Consultation
from diagnose.prose.quantity import minutes
from diagnose.prose.question import choice_titles, example
from diagnose.prose.text import lowered

WIDTH = 78


def message_lines(consultation: Consultation, questions: list[str]) -> list[str]:
    """Return the message with *questions*, in their order."""
    title = consultation.case.title
    about = f' about "{title}"' if title else ""
    spent = sum(_entry(consultation, name)[2] for name in questions)
    lines = _wrapped(
        f"Hello, {len(questions)} question{'s' if len(questions) > 1 else ''}{about}; about "
        f"{minutes(max(1.0, spent))} in all. "
        'Put an x in a box, or a number behind the line. "Don\'t know" is a good answer.'
    )
    for place, name in enumerate(questions, start=1):
        lines += ["", *_question(consultation, place, name)]
    return [*lines, "", "Thank you. Send it back as it is."]


def _question(consultation: Consultation, place: int, name: str) -> list[str]:
    knowledge = consultation.knowledge
    title, how, spent = _entry(consultation, name)
    lines = _wrapped(f"{place}. {title} ({minutes(max(1.0, spent))})  [{name}]", "   ")
    lines += _wrapped(how, "   ", "   ")
    entry = knowledge.facts.get(name) or knowledge.checks.get(name)
    if entry is not None and entry.kind == "number":
        return [*lines, f"   Answer: ____   {example(entry.unit)}", "   [ ] don't know"]
    if entry is not None and entry.kind == "many":
        lines.append("   Several may be true.")
    for value, words in choice_titles(knowledge, name).items():
        lines += _wrapped(f"   [ ] {words}  ({value})", "       ", "")
    return [*lines, "   [ ] don't know"]


def _entry(consultation: Consultation, name: str) -> tuple[str, str, float]:
    knowledge = consultation.knowledge
    if name in knowledge.symptoms:
        symptom = knowledge.symptoms[name]
        return f"Look: {lowered(symptom.title)}?", symptom.look, symptom.minutes
    entry = knowledge.facts.get(name) or knowledge.checks[name]
    return entry.title, entry.find_out, entry.minutes


def _wrapped(text: str, hanging: str = "", first: str = "") -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=first, subsequent_indent=hanging, break_on_hyphens=False) or [""]
