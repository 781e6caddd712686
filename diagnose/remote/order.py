"""Which questions tell most about each fault, worked out once for a knowledge and kept: the order in which the client's page asks.

The page is off line and can't reason, so for each symptom and build the best batch of questions is worked out here (joint gain, each question
weighed by the chance that it can be answered), with the rest of the field behind it. Where several faults are ticked the page adds up what each
question adds; `docs/client-desk.md` says how near that comes to the exact batch for them all.
"""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

from diagnose.assessment.consultation import Consultation, ModelCache
from diagnose.casebook.case import Case, case_from_bytes
from diagnose.knowledge import Knowledge
from diagnose.reasoning.batch import Batcher

#: questions weighed together for each symptom and build; those behind them stand in the order of what each tells alone
DEPTH = 5
#: the builds that the page may be told; the empty one is "don't know"
BUILDS = ("", "bare_foam", "skin_and_foam")

Order = dict[str, dict[str, list[tuple[str, float]]]]
"""Symptom -> build -> questions, best first, each with the bits that it adds to those before it (none beyond the batch)."""
Told = Callable[[int, int], None]


def case_of(knowledge: Knowledge, symptoms: Iterable[str], build: str = "") -> Case:
    """Return a case in which only *symptoms* and *build* are told (and the paint, where a symptom is one of paint)."""
    seen = list(symptoms)
    answers: dict[str, Any] = {"symptoms": seen}
    if build:
        answers["build"] = build
    if any(knowledge.symptoms[name].painted for name in seen):
        answers["painted"] = "yes"
    return case_from_bytes(json.dumps({"case": 1, "answers": answers}).encode(), "page", knowledge)


def order_of(models: ModelCache, symptoms: Iterable[str] | None = None, told: Told | None = None) -> Order:
    """Return the order for *symptoms* (all of them by default). *told* hears how many of how many are done."""
    knowledge = models.knowledge
    names = list(knowledge.symptoms if symptoms is None else symptoms)
    pairs = [(name, build) for name in names for build in BUILDS if not build or knowledge.applies(name, build, None)]
    found: Order = {name: {} for name in names}
    for done, (name, build) in enumerate(pairs):
        if told is not None:
            told(done, len(pairs))
        found[name][build] = _rows(Consultation(models, case_of(knowledge, [name], build)))
    return found


def _rows(consultation: Consultation) -> list[tuple[str, float]]:
    batcher = Batcher(consultation.situation)
    best = batcher.greedy(DEPTH)
    added = (after - before for before, after in zip((0.0, *best.gains), best.gains, strict=False))
    rows = [(name, round(bits, 4)) for name, bits in zip(best.questions, added, strict=True)]
    return rows + [(name, 0.0) for name in batcher.field if name not in best.questions]


def kept_order(models: ModelCache, told: Told | None = None) -> Order:
    """Return the order for all symptoms, from the user's cache where it was worked out before for this knowledge."""
    place = _place(models.knowledge)
    found = _read(place, models.knowledge)
    if found is None:
        found = order_of(models, told=told)
        _write(place, found)
    return found


def merged(order: Order, symptoms: Iterable[str], build: str = "") -> list[str]:
    """Return the questions for *symptoms* together as the page ranks them: by the sum of what each adds, then by place."""
    worth: dict[str, float] = {}
    place: dict[str, int] = {}
    for name in symptoms:
        tables = order.get(name, {})
        for i, (question, bits) in enumerate(tables.get(build, tables.get("", []))):
            worth[question] = worth.get(question, 0.0) + bits
            place[question] = min(i, place.get(question, i))
    return sorted(worth, key=lambda question: (-round(worth[question], 9), place[question], question))


def _place(knowledge: Knowledge) -> Path | None:
    from platformdirs import user_cache_path

    try:
        return user_cache_path("diagnose", appauthor=False) / f"page-order-{knowledge.key[:24]}-{DEPTH}.json"
    except (OSError, RuntimeError):  # no home to keep a cache in
        return None


def _read(place: Path | None, knowledge: Knowledge) -> Order | None:
    try:
        found = json.loads(place.read_text(encoding="utf-8")) if place is not None else None
    except (OSError, ValueError):
        return None
    if not isinstance(found, dict) or set(found) != set(knowledge.symptoms):
        return None
    return {
        name: {build: [(question, bits) for question, bits in rows] for build, rows in tables.items()}
        for name, tables in found.items()
    }


def _write(place: Path | None, order: Order) -> None:
    """Keep *order*; a cache that can't be written is done without."""
    if place is None:
        return
    half = place.with_name(f"{place.name}.{os.getpid()}.part")
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
        half.write_text(json.dumps(order), encoding="utf-8")
        half.replace(place)
    except OSError:
        half.unlink(missing_ok=True)
