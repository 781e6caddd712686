"""What the tests of the log at its edges share: a part, as told and as kept, what it was closed with, and counts put before the page."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pytest

from diagnose.casebook import Case
from diagnose.knowledge import Knowledge
from diagnose.logbook import counts
from diagnose.logbook.counts import Together
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


def put_before_the_page(
    monkeypatch: pytest.MonkeyPatch, tables: Mapping[str, tuple[int, int, int, int]]
) -> list[tuple[Any, ...]]:
    """Have the log count *tables* for pinholes by the level of the mold, and nothing else; return the list of what it is asked for, as it comes:
    factor, most levels, fewest parts.
    """
    asked = list[tuple[Any, ...]]()

    def together(connection: Any, span: Any, factor: str, levels: int, least: int, totals: Any) -> list[Together]:
        asked.append((factor, levels, least))
        return [Together(factor, name, "pinholes", each) for name, each in tables.items()] if factor == "mold" else []

    monkeypatch.setattr(counts, "together", together)
    return asked
