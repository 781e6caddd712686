"""What is wrong with the part: picked from families, said in the caller's own words and confirmed,
or found by five quick questions.

Nothing is taken as seen that was not picked from a list: words that were heard, and the quick questions, only bring up
lists. What was not picked says nothing; it isn't "absent", unless the caller says that he looked and there is none of
it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from msgspec import Struct

from diagnose.interview import explain
from diagnose.interview.dialogue import Field, Menu, Row, numbered
from diagnose.interview.progress import Notebook
from diagnose.interview.prompts import commands
from diagnose.prose.question import counted, family_rank, family_title
from diagnose.reasoning.answers import ABSENT, SEEN, Answer

NAME, WORDS, DONE, TRIAGE, AGAIN, NONE_OF_THEM = "symptoms", "own_words", "done", "triage", "look_again", "none_of_them"
WHY_FAULTS = [
    "What is wrong with the part is what gets explained. Pick all that you see: two faults together say more than one."
]
HOW_FAULTS = [
    "Take the part to a window, turn it, press it, look at the back and at any cut. About two minutes.",
    "In a list, stand on a line and press h: it tells what that one looks like.",
]
WHY_AGAIN = ["Each of these would change the advice, and is easily overlooked or not thought worth telling."]


class Quick(Struct, frozen=True):
    """A quick question that leads to families of faults: (value, words, families) for each answer."""

    name: str
    message: str
    options: tuple[tuple[str, str, tuple[str, ...]], ...]


QUICK = (
    Quick(
        "triage_where",
        "Is it on the outside of the part, or inside?",
        (
            ("outside", "On the outside: the skin, the face, the paint", ("poor_skin",)),
            ("inside", "Inside: felt when pressed, or seen in a cut", ("voids",)),
            ("both", "Both", ("poor_skin", "voids")),
        ),
    ),
    Quick(
        "triage_tips",
        "Is it at the tips: ears, fingers, horns, tails?",
        (("yes", "Yes, a tip is short, hollow or torn", ("unfilled_ears",)), ("no", "No, the tips are all there", ())),
    ),
    Quick(
        "triage_sticky",
        "Is anything sticky, wet or oily?",
        (("yes", "Yes", ("tacky_surface",)), ("no", "No, all of it is dry", ())),
    ),
    Quick(
        "triage_coat",
        "Does paint or a rubber skin come off, blister, crack or stay soft?",
        (
            ("paint", "The paint does", ("paint_peeling",)),
            ("skin", "The rubber skin does", ("delaminated_skin",)),
            ("no", "Neither, or there is none", ()),
        ),
    ),
    Quick(
        "triage_size",
        "Is it the size, the weight, the feel, the color or the smell?",
        (("yes", "Yes, one of these", ("other",)), ("no", "No, these are right", ())),
    ),
)


def families(notebook: Notebook) -> dict[str, list[str]]:
    """Return the symptoms that this build and paint can show, by family; the mixed family comes last."""
    found: dict[str, list[str]] = {}
    knowledge, case = notebook.knowledge, notebook.case
    for name, symptom in knowledge.symptoms.items():
        if knowledge.applies(name, case.build, case.painted):
            found.setdefault(symptom.family, []).append(name)
    return dict(sorted(found.items(), key=lambda pair: family_rank(pair[0])))


def family_menu(notebook: Notebook, likely: Sequence[str] | None) -> Menu:
    """Return which part of the list to open.

    *likely* families stand first, None before the quick questions were asked.
    """
    seen = notebook.seen
    if seen:
        first = Row("0", DONE, f"That is all ({counted(len(seen), 'fault')} picked)")
    elif likely is None:
        first = Row("0", TRIAGE, "Don't know: five quick questions")
    else:
        first = Row("0", DONE, "I see none of these")
    options = []
    for family, names in sorted(families(notebook).items(), key=lambda pair: pair[0] not in (likely or ())):
        count = len([name for name in names if name in seen])
        mark = f" ({count} picked)" if count else " (look here first)" if family in (likely or ()) else ""
        options.append((family, family_title(family) + mark))
    message = "What else is wrong with the part?" if seen else "What is wrong with the part?"
    return Menu(NAME, message, numbered(first, [(WORDS, "Say it in my own words"), *options]), commands("2 min"))


def quick_menus(notebook: Notebook) -> Iterable[tuple[Quick, Menu]]:
    """Yield the quick questions, each with the answers that this build and paint leave open.

    One without any is not asked.
    """
    known = families(notebook)
    for quick in QUICK:
        options = [(value, words) for value, words, found in quick.options if not found or set(found) & set(known)]
        if any(found and set(found) & set(known) for _, _, found in quick.options):
            yield (
                quick,
                Menu(quick.name, quick.message, numbered(Row("0", "unknown", "Don't know"), options), commands()),
            )


def list_menu(notebook: Notebook, name: str, names: Sequence[str], picked: Sequence[str]) -> Menu:
    """Return which of *names* are seen; *picked* are ticked."""
    options = [(symptom, notebook.knowledge.symptoms[symptom].title) for symptom in names]
    rows = numbered(Row("0", "none", "None of these, or don't know"), options)
    message = "Which of these do you see? Pick all that you are sure of."
    return Menu(name, message, rows, commands("h on a line: that one"), several=True, picked=tuple(picked))


def again_menu(notebook: Notebook, names: Sequence[str]) -> Menu:
    """Return the faults that would change the advice as one list to tick, with a row that says that one looked."""
    options = [(symptom, notebook.knowledge.symptoms[symptom].title) for symptom in names]
    none = "None of the others: I looked" if len(names) > 1 else "No: I looked, and it is not there"
    rows = numbered(Row("0", "unknown", "Don't know"), [*options, (NONE_OF_THEM, none)])
    message = "Once more at the part: is any of these there too? Each would change the advice."
    return Menu(AGAIN, message, rows, commands("h on a line: that one"), several=True)


def words_field(text: str = "") -> Field:
    """Return the field for the fault in the caller's own words."""
    message, hint = "Say what is wrong, as you would on the phone.", "For example: ears came out like thumbs"
    return Field(WORDS, message, hint, commands(), text, empty="the lists")


def heard(notebook: Notebook, text: str) -> list[str]:
    """Return the symptoms that *text* may mean on this part, best first."""
    from diagnose.hearing.matching import hear, index_of

    case = notebook.case
    return [
        name
        for name in hear(index_of(notebook.knowledge), text)
        if notebook.knowledge.applies(name, case.build, case.painted)
    ]


def take(notebook: Notebook, names: Sequence[str], picked: Sequence[str], source: str = "seen") -> Notebook:
    """Return *notebook* with those of *names* seen that are *picked*; a tick taken off opens the symptom again."""
    before = set(notebook.seen)
    for name in names:
        if name in picked and name not in before:
            notebook = notebook.answered(name, Answer(SEEN, source), SEEN)
        elif name in before and name not in picked:
            notebook = notebook.opened(name)
    return notebook


def take_again(notebook: Notebook, names: Sequence[str], picked: Sequence[str], source: str = "seen") -> Notebook:
    """Return *notebook* after the second look.

    Ticked is seen, the rest is absent only where the caller says that he looked.
    """
    notebook = take(notebook, names, picked, source)
    if NONE_OF_THEM in picked:
        for name in names:
            if name not in picked:
                notebook = notebook.answered(name, Answer(ABSENT, source), ABSENT)
    return notebook


def how_list(notebook: Notebook, names: Sequence[str], at: str) -> list[str]:
    """Return what the symptom *at* looks like; how to ask for that where none is in hand."""
    return explain.describe(notebook.knowledge, at) if at in names else HOW_FAULTS
