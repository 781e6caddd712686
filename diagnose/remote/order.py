"""Which questions tell most about each fault, worked out once for a knowledge and kept: the order in which the
client's page asks.

The page is off line and can't reason, so for each symptom and build the best batch of questions is worked out here
(joint gain, each question weighed by the chance that it can be answered), with the rest of the field behind it. Grams
and other numbers that tell only together stand there as a group, each with its share of what their sum would tell.
Where several faults are ticked the page adds up what each question adds; `docs/client-desk.md` says how near that
comes to the exact batch for them all.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterable, Sequence
from typing import Any

from diagnose.assessment.consultation import Consultation, ModelCache
from diagnose.casebook import Case, case_from_bytes
from diagnose.knowledge import Knowledge
from diagnose.knowledge.cache import read_cache, write_cache
from diagnose.reasoning.batch import Batcher
from diagnose.reasoning.prediction import Predictor
from diagnose.reasoning.value_of_information import candidates, chance_of_answer

#: questions weighed together for each symptom and build; those behind them stand in the order of what each tells alone
DEPTH = 6
#: groups of numbers that are offered, each for one sum
GROUPS = 2
#: what the cache calls it
KIND = "page-order"
#: the builds that the page may be told; the empty one is "don't know"
BUILDS = ("", "bare_foam", "skin_and_foam")

Row = tuple[str, float, str]
"""A question, the bits that it adds to those before it (none beyond the batch), and the sum that it is asked for, or
nothing.
"""
Order = dict[str, dict[str, list[Row]]]
"""Symptom -> build -> questions, best first."""
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


def order_of(
    models: ModelCache,
    symptoms: Iterable[str] | None = None,
    told: Told | None = None,
    builds: Sequence[str] = BUILDS,
) -> Order:
    """Return the order for *symptoms* (all of them by default) on *builds*.
    *told* hears how many of how many are done.
    """
    knowledge = models.knowledge
    names = list(knowledge.symptoms if symptoms is None else symptoms)
    pairs = [(name, build) for name in names for build in builds if not build or knowledge.applies(name, build, None)]
    found: Order = {name: {} for name in names}
    for done, (name, build) in enumerate(pairs):
        if told is not None:
            told(done, len(pairs))
        found[name][build] = _rows(Consultation(models, case_of(knowledge, [name], build)))
    return found


def _rows(consultation: Consultation, depth: int = DEPTH) -> list[Row]:
    batcher = Batcher(consultation.situation)
    best = batcher.greedy(depth)
    added = (after - before for before, after in zip((0.0, *best.gains), best.gains, strict=False))
    rows = [(name, round(bits, 4), "") for name, bits in zip(best.questions, added, strict=True)]
    rows += [row for row in _groups(consultation) if row[0] not in best.questions]
    rows.sort(key=lambda row: -row[1])
    named = {name for name, _, _ in rows}
    return rows + [(name, 0.0, "") for name in batcher.field if name not in named]


def _groups(consultation: Consultation) -> list[Row]:
    """Numbers that tell only together, for the sums that would tell most: each with its share of what the sum would
    tell, if all are answered.
    """
    situation = consultation.situation
    needs: dict[str, list[str]] = {}
    for candidate in candidates(situation.model, situation.answers):
        if candidate.question != candidate.behind:
            needs.setdefault(candidate.behind, []).append(candidate.question)
    worth = {}
    for name, bits in Predictor(situation).screen(sorted(needs)).items():
        for question in needs[name]:
            bits *= chance_of_answer(situation.model, question)
        worth[name] = round(bits / len(needs[name]), 4)
    best = sorted(worth, key=lambda name: (-worth[name] * len(needs[name]), name))[:GROUPS]
    found: dict[str, Row] = {}
    for name in best:
        for question in needs[name]:
            found.setdefault(question, (question, worth[name], name))
    return [row for row in found.values() if row[1] > 0.0]


def batch_of(consultation: Consultation, count: int) -> tuple[str, ...]:
    """Return the best *count* questions to send together, and those without which one of them would tell nothing."""
    if not consultation.symptoms_seen:
        return ()
    return whole_groups([row for row in _rows(consultation, count) if row[1] > 0.0], count)


def whole_groups(rows: Sequence[Row], count: int) -> tuple[str, ...]:
    """Return the first *count* questions of *rows*, and the rest of a group that would be cut."""
    groups = {group for _, _, group in rows[:count] if group}
    return tuple(name for i, (name, _, group) in enumerate(rows) if i < count or group in groups)


def kept_order(models: ModelCache, told: Told | None = None) -> Order:
    """Return the order for all symptoms, from the user's cache where it was worked out before for this knowledge."""
    mark = cache_mark(models.knowledge)
    found = read_cache(KIND, mark, Order)
    if found is None:
        found = order_of(models, told=told)
        write_cache(KIND, mark, found)
    return found


def merged(order: Order, symptoms: Iterable[str], build: str = "") -> list[str]:
    """Return the questions for *symptoms* together as the page ranks them:
    by the sum of what each adds, then by place.
    """
    worth: dict[str, float] = {}
    place: dict[str, int] = {}
    for name in symptoms:
        tables = order.get(name, {})
        for i, (question, bits, _) in enumerate(tables.get(build, tables.get("", []))):
            worth[question] = worth.get(question, 0.0) + bits
            place[question] = min(i, place.get(question, i))
    return sorted(worth, key=lambda question: (-round(worth[question], 9), place[question], question))


def cache_mark(knowledge: Knowledge) -> str:
    """Return the name under which the order for *knowledge* is kept."""
    return hashlib.sha256(f"{knowledge.content_key} {DEPTH} {GROUPS}".encode()).hexdigest()
