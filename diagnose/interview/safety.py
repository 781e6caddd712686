"""Before any question about foam: are all well, an unfinished case, and the evidence that the next pour would wipe out.

The tool finds faults in castings; it does not diagnose people. Whoever is ill stops here, with the usual advice and
nothing more.
"""

from __future__ import annotations

from datetime import datetime

from diagnose.errors import FileFaults
from diagnose.interview import autosave as draft
from diagnose.interview import explain
from diagnose.interview.dialogue import Frontend, Leave, Menu, Reply, Row, numbered
from diagnose.interview.progress import FINISHED, STATE_KEY, Notebook
from diagnose.interview.prompts import BACK, ENOUGH, QUIT, commands, explained
from diagnose.knowledge import Knowledge

#: the danger that is about a person; the questionnaire opens with its question
UNWELL = "unwell"
SAFETY = (
    "First: has anyone near this work, now or since last night, a tight chest, a cough or wheeze, a rash, or "
    "streaming eyes?"
)
ILL = (
    "Stop work on the foam now. Bring them out into fresh air, and keep the others out until the room is aired.",
    "Get medical advice today. Hard breathing, blue lips or a swollen face: call the emergency number at once. It "
    "can grow worse hours later.",
)
ILL_TOO = (
    "Tell the doctor that the hard side (A) of the foam holds a diisocyanate and the soft side (B) amines, and take "
    "both safety data sheets along.",
    "Who has reacted once may react to traces. Back to this work only when a doctor says so.",
    "This tool looks for faults in castings. It does not diagnose people, so it ends here. Get well.",
)
_UNSURE = (
    "Ask them, and look at each other; this waits. It does not diagnose people: if in doubt, get fresh air and ask a "
    "doctor."
)
_FIRST = "This one comes first; there is nothing before it."
_WHY = (
    "A (the isocyanate) and B (polyol and amines) can both make people ill, hours later too. Nothing about a casting "
    "is worth that."
)
_HOW = "Ask everybody who was in the room, also who went home. Look at eyes and skin."
EVIDENCE = (
    "Two minutes that can't be had later. Gloves on while the foam is fresh. Keep, before anything is wiped or "
    "thrown away:",
    "- the part, its flash and the plugs out of the vents",
    "- the cup with its leftover, and the stick",
    "Write UP, POUR and VENT on the part, as it stood in the mold.",
    "Weigh the part, then the trimmings.",
    "Leave the mold as it is: no wiping, no washing, no release, no new pour.",
)
_WHY_EVIDENCE = "The questions that tell most are about these, and the next pour wipes them out."
_HOW_EVIDENCE = "A tray for the part, its flash and plugs; a pen; the scale. What is gone is gone: go on without it."


def all_well(asker: Frontend, knowledge: Knowledge) -> bool:
    """Ask whether anybody is ill; when somebody is, say what to do and return False. Raises Leave."""
    danger = knowledge.dangers.get(UNWELL)
    asked = f"First: {danger.ask[:1].lower()}{danger.ask[1:]}" if danger is not None and danger.ask else SAFETY
    rows = numbered(Row("0", "unsure", "Not sure"), [("ill", "Yes, somebody has"), ("well", "No, all are well")])
    menu = Menu("safety", asked, rows, commands())
    while True:
        reply = explained(asker, menu, lambda row: [_WHY], lambda row: [_HOW])
        if reply.command == QUIT:
            raise Leave
        if reply.command:
            asker.tell(_FIRST)
        elif reply.values == ("well",):
            return True
        elif reply.values == ("ill",):
            for line in ((danger.say, danger.why) if danger is not None else ILL) + ILL_TOO:
                asker.tell(line)
            return False
        else:
            asker.tell(_UNSURE)


def freeze_evidence(asker: Frontend) -> Reply:
    """Show what to keep; return the reply to it."""
    for line in EVIDENCE:
        asker.tell(line)
    menu = Menu("evidence", "Kept?", (Row("0", "on", "Done, or skip it"),), commands())
    return explained(asker, menu, lambda row: [_WHY_EVIDENCE], lambda row: [_HOW_EVIDENCE])


def unfinished(asker: Frontend, knowledge: Knowledge) -> tuple[draft.Draft, Notebook] | None:
    """Offer to go on with the newest unfinished case of the last two days; None to begin a new one. Raises Leave."""
    for path in draft.recent_paths():
        try:
            found, case = draft.Draft.of(path, knowledge)
            notebook = Notebook.from_case(case, knowledge, str(path))
        except FileFaults as faults:
            asker.tell(f"Left alone: {faults}", quiet=True)
            continue
        if FINISHED in notebook.passed or STATE_KEY not in case.extra or not case.answers:
            continue
        return (found, notebook) if _go_on(asker, notebook, datetime.fromtimestamp(path.stat().st_mtime)) else None
    return None


def _go_on(asker: Frontend, notebook: Notebook, changed: datetime) -> bool:
    told = explain.summary(notebook.knowledge, notebook.told.title, notebook.seen, notebook.count)
    day = "today" if changed.date() == datetime.now().date() else changed.strftime("on %d %B")
    rows = numbered(Row("0", "on", "Go on with it"), [("new", "Begin a new case")])
    message = f"There is an unfinished case, last touched {day} at {changed:%H:%M}: {told}."
    why = ["A case that was left in the middle keeps its answers; going on asks what is still open."]
    how = ["Going on shows the next question; a new case leaves the old one in its file."]
    reply = explained(asker, Menu("unfinished", message, rows, commands()), lambda row: why, lambda row: how)
    if reply.command == QUIT:
        raise Leave
    return reply.command in (BACK, ENOUGH) or reply.values == ("on",)
