"""What the tests of the log at its edges share: a part, as told and as kept, and what it was closed with."""

from __future__ import annotations

from diagnose.casebook import Case
from diagnose.knowledge import Knowledge
from diagnose.logbook.entry import (
    Entry,
    Outcome,
    case_of,
    entry_of,
)

FIXED = Outcome(("mold_cold",), "fixed", "good", (), 120.0, "2026-03-02")


def case(knowledge: Knowledge, *symptoms: str, **about: str) -> Case:
    """A bare, unpainted part with these faults."""
    answers = {"build": "bare_foam", "painted": "no", **({"symptoms": list(symptoms)} if symptoms else {})}
    return case_of({"case": 1, "answers": answers, "about": about}, knowledge)


def entry(knowledge: Knowledge, *symptoms: str, good: bool = False, **about: str) -> Entry:
    """The same as the log keeps it."""
    return entry_of(case(knowledge, *symptoms, **about), knowledge, good=good)
