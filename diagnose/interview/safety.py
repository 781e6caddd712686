"""Before any question about foam: are all well, an unfinished case, and the evidence that the next pour would wipe out.

The tool finds faults in castings; it does not diagnose people. Whoever is ill stops here, with the usual advice and nothing more.
"""

from __future__ import annotations

from datetime import datetime

from diagnose.casebook import read_case
from diagnose.errors import FileFaults
from diagnose.interview import autosave as draft
from diagnose.interview import explain
from diagnose.interview.dialogue import Frontend, Leave, Menu, Row, numbered
from diagnose.interview.progress import STATE_KEY, Notebook
from diagnose.interview.prompts import QUIT
from diagnose.knowledge import Knowledge

_QUIT = (Row("q", QUIT, "Quit"),)
SAFETY = "First: has anyone near this work a tight chest, a cough or wheeze, a rash, or streaming eyes?"
ILL = (
    "Stop work on the foam now. Bring them out into fresh air, and keep the others out until the room is aired.",
    "Get medical advice today. Hard breathing, blue lips or a swollen face: call the emergency number at once. It can grow worse hours later.",
    "Tell the doctor that the hard side (A) of the foam holds a diisocyanate, and take its safety data sheet along.",
    "Who has reacted once may react to traces. Back to this work only when a doctor says so.",
    "This tool looks for faults in castings. It does not diagnose people, so it ends here. Get well.",
)
_UNSURE = "Ask them, and look at each other, before you go on. This tool does not diagnose people; if in doubt, get fresh air and ask a doctor."
EVIDENCE = (
    "Two minutes that can't be had later. Gloves on while the foam is fresh. Keep, before anything is wiped or thrown away:",
    "- the part, its flash and the plugs out of the vents",
    "- the cup with its leftover, and the stick",
    "Write UP, POUR and VENT on the part, as it stood in the mold.",
    "Weigh the part, then the trimmings.",
    "Leave the mold as it is: no wiping, no washing, no release, no new pour.",
)


def all_well(asker: Frontend) -> bool:
    """Ask whether anybody is ill; when somebody is, say what to do and return False. Raises Leave."""
    rows = numbered(Row("0", "unsure", "Not sure"), [("ill", "Yes, somebody has"), ("well", "No, all are well")])
    while True:
        reply = asker.choose(Menu("safety", SAFETY, rows, _QUIT))
        if reply.command:
            raise Leave
        if reply.values == ("well",):
            return True
        if reply.values == ("ill",):
            for line in ILL:
                asker.tell(line)
            return False
        asker.tell(_UNSURE)


def freeze_evidence(asker: Frontend) -> None:
    """Show what to keep. Raises Leave."""
    for line in EVIDENCE:
        asker.tell(line)
    if asker.choose(Menu("evidence", "Kept?", (Row("0", "on", "Done, or skip it"),), _QUIT)).command:
        raise Leave


def unfinished(asker: Frontend, knowledge: Knowledge) -> draft.Draft | None:
    """Offer to go on with the newest unfinished case of the last two days; None to begin a new one. Raises Leave."""
    for path in draft.recent_paths():
        try:
            case = read_case(path, knowledge)
            notebook = Notebook.from_case(case, knowledge, str(path))
        except FileFaults as faults:
            asker.tell(f"Left alone: {faults}", quiet=True)
            continue
        if notebook.finished or STATE_KEY not in case.extra or not case.answers:
            continue
        return (
            draft.Draft(path, knowledge)
            if _go_on(asker, notebook, datetime.fromtimestamp(path.stat().st_mtime))
            else None
        )
    return None


def _go_on(asker: Frontend, notebook: Notebook, changed: datetime) -> bool:
    told = explain.summary(notebook.knowledge, notebook.seen, notebook.count)
    day = "today" if changed.date() == datetime.now().date() else changed.strftime("on %d %B")
    rows = numbered(Row("0", "on", "Go on with it"), [("new", "Begin a new case")])
    reply = asker.choose(
        Menu("unfinished", f"There is an unfinished case, last touched {day} at {changed:%H:%M}: {told}.", rows, _QUIT)
    )
    if reply.command:
        raise Leave
    return reply.values == ("on",)
