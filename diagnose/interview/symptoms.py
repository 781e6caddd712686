"""What is wrong with the part: picked from families, or said in the caller's own words and confirmed.

Nothing is taken as seen that was not picked from a list: words that were heard only bring up the list. What was not picked says
nothing; it isn't "absent".
"""

from __future__ import annotations

from diagnose.interview import explain
from diagnose.interview.dialogue import Field, Frontend, Menu, Reply, Row, numbered
from diagnose.interview.progress import Notebook
from diagnose.interview.prompts import COMMANDS, HOW, WHY
from diagnose.prose.question import family_rank, family_title
from diagnose.reasoning.answers import SEEN, Answer

NAME, WORDS, DONE = "symptoms", "own_words", "done"
_WHY = (
    "What is wrong with the part is what gets explained. Pick all that you see: two faults together say more than one."
)
_HOW = "Take the part to a window, turn it, press it, look at the back and at any cut. About two minutes. In a list, h tells what each one looks like."
_COMMANDS = (Row("w", WHY, "Why this question"), Row("h", HOW, "How to find out (2 min)"), *COMMANDS)
_LIST_COMMANDS = (Row("w", WHY, "Why this question"), Row("h", HOW, "What these look like"), *COMMANDS)


def families(notebook: Notebook) -> dict[str, list[str]]:
    """Return the symptoms that this build and paint can show, by family; the mixed family comes last."""
    found: dict[str, list[str]] = {}
    knowledge, case = notebook.knowledge, notebook.case
    for name, symptom in knowledge.symptoms.items():
        if knowledge.applies(name, case.build, case.painted):
            found.setdefault(symptom.family, []).append(name)
    return dict(sorted(found.items(), key=lambda pair: family_rank(pair[0])))


def ask_family(asker: Frontend, notebook: Notebook) -> Reply:
    """Ask which part of the list to open; `done` when all is told."""
    seen = notebook.seen
    first = Row("0", DONE, f"That is all ({len(seen)} picked)" if seen else "Don't know: ask me one by one")
    options = []
    for family, names in families(notebook).items():
        count = len([name for name in names if name in seen])
        options.append((family, family_title(family) + (f" ({count} picked)" if count else "")))
    rows = numbered(first, [(WORDS, "Say it in my own words"), *options])
    return asker.choose(
        Menu(NAME, "What else is wrong with the part?" if seen else "What is wrong with the part?", rows, _COMMANDS)
    )


def ask_list(asker: Frontend, notebook: Notebook, name: str, names: list[str], picked: tuple[str, ...]) -> Reply:
    """Ask which of *names* are seen; *picked* are ticked."""
    options = [(symptom, notebook.knowledge.symptoms[symptom].title) for symptom in names]
    rows = numbered(Row("0", "none", "None of these, or don't know"), options)
    return asker.choose(
        Menu(
            name,
            "Which of these do you see? Pick all that you are sure of.",
            rows,
            _LIST_COMMANDS,
            several=True,
            picked=picked,
        )
    )


def ask_words(asker: Frontend, text: str) -> Reply:
    """Ask for the fault in the caller's own words."""
    message, hint = "Say what is wrong, as you would on the phone.", "For example: ears came out like thumbs"
    return asker.fill(Field(WORDS, message, hint, COMMANDS, text, empty="back to the list"))


def heard(notebook: Notebook, text: str) -> list[str]:
    """Return the symptoms that *text* may mean on this part, best first."""
    from diagnose.hearing.matching import hear, index_of

    case = notebook.case
    return [
        name
        for name in hear(index_of(notebook.knowledge), text)
        if notebook.knowledge.applies(name, case.build, case.painted)
    ]


def take(notebook: Notebook, names: list[str], picked: tuple[str, ...]) -> bool:
    """Write down which of *names* are seen; a tick taken off opens the symptom again. Returns whether anything changed."""
    changed = False
    before = set(notebook.seen)
    for name in names:
        if name in picked and name not in before:
            notebook.put(name, Answer(SEEN), SEEN)
            changed = True
        elif name in before and name not in picked:
            notebook.drop(name)
            changed = True
    return changed


def explain_list(asker: Frontend, notebook: Notebook, names: list[str], at: str) -> None:
    """Tell what the symptom *at* looks like, or all of *names*."""
    for name in [at] if at in names else names:
        for line in explain.describe(notebook.knowledge, name):
            asker.tell(line, quiet=True)


def explain_step(asker: Frontend, command: str) -> None:
    """Tell why faults are asked for, or how to look for them."""
    asker.tell(_WHY if command == WHY else _HOW, quiet=True)
