"""The phone: the support person types what the caller says, ticks what it means, and goes on with the usual questions.

Nothing is taken as seen that was not picked. The caller's words are kept as they were said, in the remarks of the case.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from diagnose.casebook import Case
from diagnose.hearing.matching import hear, index_of
from diagnose.interview.autosave import new_path, replace_file
from diagnose.interview.dialogue import Field, Frontend, Menu, Row, numbered
from diagnose.knowledge import Knowledge
from diagnose.reasoning.answers import SEEN, Answer

if TYPE_CHECKING:
    from pathlib import Path

    from diagnose.assessment.consultation import Consultation

#: what a sentence may mean, as many as can be read out on the phone
MOST_HEARD = 5
_ASK = "What does the caller say? One thing at a time, in their words."
_HINT = "For example: ears came out like thumbs"


def first_words(asker: Frontend, knowledge: Knowledge, case: Case | None = None) -> Case:
    """Ask for the caller's words until there are no more, and return *case* (a new one) with what was picked as seen."""
    told = case or Case()
    said = [told.about.remarks] if told.about.remarks else []
    while True:
        words = asker.fill(Field("own_words", _ASK, _HINT, empty="that is all")).text
        if not words:
            break
        said.append(f'"{words}"')
        for name in _meant(asker, knowledge, told, words):
            told = told.with_answer(name, Answer(SEEN, "told"), SEEN)
    return told.with_about(remarks=" ".join(said))


def _meant(asker: Frontend, knowledge: Knowledge, case: Case, words: str) -> tuple[str, ...]:
    found = [name for name in hear(index_of(knowledge), words) if knowledge.applies(name, case.build, case.painted)]
    if not found:
        asker.tell("Nothing on the list sounds like that; it is kept as a remark. Ask what they see, and where.")
        return ()
    options = [
        (name, f"{knowledge.symptoms[name].title}. {knowledge.symptoms[name].help}") for name in found[:MOST_HEARD]
    ]
    rows = numbered(Row("0", "none", "None of these, or not sure"), options)
    reply = asker.choose(Menu("heard", "Read it out: is one of these so?", rows, several=True))
    return tuple(name for name in reply.values if name != "none")


def questions(
    case: Case, knowledge: Knowledge, knowledge_dir: str | None, plain: bool
) -> tuple[Consultation | None, Path]:
    """Go through the usual questions on a copy of *case* that grows with the answers; return what came of it, and the copy."""
    from diagnose.casebook import case_text
    from diagnose.interview.run import run_interview

    path = new_path(None)
    replace_file(path, case_text(case, knowledge).encode())
    return run_interview(knowledge_dir, path, plain), path
