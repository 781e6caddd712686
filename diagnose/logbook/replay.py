"""Is what was learned worth using? The log is played again in the order in which it happened,
with the book and with what was learned until then.

Each confirmed case is judged by both: the logarithm of the share of belief that its confirmed causes had, and whether
the first cause was one of them. Learning is accepted only where the logarithm gains more than its standard error and
the first place isn't lost. The work goes through the standard executor interface, in pieces whose results come back in
order: the same bytes however many work.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

from sqlalchemy import Connection, select

from diagnose.assessment.consultation import ModelCache
from diagnose.casebook.derive import derive
from diagnose.errors import InputError
from diagnose.knowledge import Knowledge, load_knowledge
from diagnose.logbook import schema
from diagnose.logbook.counts import CONFIRMED
from diagnose.logbook.entry import case_of
from diagnose.logbook.learn import Counts, base_counts, before, learn
from diagnose.logbook.learned import Learned, LearnedModels, context_of
from diagnose.logbook.store import Store
from diagnose.reasoning.inference import Inference
from diagnose.reasoning.network import NOT_LISTED, Model
from diagnose.reasoning.situation import Situation

#: confirmed cases below which nothing is judged, pieces in which learning goes on, cases that one worker gets at a time
FEWEST, PIECES, CHUNK = 20, 10, 40
#: confirmed cases that are judged at most, the last ones: more tell nothing new
MOST_JUDGED = 5_000
#: the least gain, in natural logarithm, and what the first place may lose
LEAST_GAIN, LEAST_FIRST = 0.005, 0.01
_FLOOR = 1e-6


#: log score and first place of one case: by the book, with rates and links learned,
#: with molds and lots remembered as #: well
Scores = tuple[tuple[float, bool], ...]


@dataclass(frozen=True, slots=True)
class Score:
    """How well a way of thinking did: mean log score (natural
    logarithm) and the share of cases with a right first cause.
    """

    log_score: float
    first: float


@dataclass(frozen=True, slots=True)
class Moved:
    """A base rate that was learned: the *book*'s and the one *now*, over the contexts of the log,
    and in how many cases it was named.
    """

    id: str
    book: float
    now: float
    cases: int


@dataclass(frozen=True, slots=True)
class Verdict:
    """What learning came to: from so many confirmed cases, judged on so many, both scores,
    whether it helps and why not.
    """

    learned: Learned
    judged: int
    book: Score
    with_log: Score
    gain: float
    error: float
    accepted: bool
    reason: str
    changes: tuple[Moved, ...]


@dataclass(frozen=True, slots=True)
class Judged:
    """A confirmed case as it is judged: its case file as JSON text and the causes that it was."""

    day: str
    number: int
    case_json: str
    causes: tuple[str, ...]


def judge(store: Store, knowledge: Knowledge, folder: str | None, executor: Executor | None) -> Verdict:
    """Learn from the whole log and judge it by replay, in this process or on *executor*. Raises LogError.

    *folder* is the knowledge folder that the workers read, None for the usual one.
    """
    with store.reading() as connection:
        learned = replace(learn(connection, knowledge), knowledge=knowledge.content_key)
        changes = changed(base_counts(connection, knowledge, schema.cases.c.number >= 0), learned, knowledge)
        tasks = list(_tasks(connection, knowledge, folder))
    mapped = executor.map(score, tasks) if executor is not None else map(score, tasks)
    scores = [pair for found in mapped for pair in found]
    return _verdict(learned, scores, changes)


def _tasks(connection: Connection, knowledge: Knowledge, folder: str | None) -> Iterator[tuple[Any, ...]]:
    """The log in time order, a piece at a time, each with what was learned before it; the first teaches only."""
    cases = _confirmed(connection)
    if len(cases) < FEWEST:
        return
    size = math.ceil(len(cases) / PIECES)
    for start in range(size, len(cases), size):
        piece = cases[start : start + size]
        plain = learn(connection, knowledge, before(piece[0].day, piece[0].number)).to_plain()
        for i in range(0, len(piece), CHUNK):
            yield folder, json.dumps(plain), [(c.case_json, c.causes) for c in piece[i : i + CHUNK]]


def _confirmed(connection: Connection) -> list[Judged]:
    o, c, d = schema.outcomes.c, schema.cases.c, schema.documents.c
    query = (
        select(c.date, c.number, d.case_json, o.causes)
        .where(o.current == 1, o.how.in_(CONFIRMED), c.number == o.case_number, d.case_number == c.number)
        .order_by(c.date.desc(), c.number.desc())
        .limit(MOST_JUDGED)
    )
    rows = [Judged(day, number, text, tuple(causes.split())) for day, number, text, causes in connection.execute(query)]
    return rows[::-1]


@cache
def _knowledge(folder: str | None) -> Knowledge:
    return load_knowledge(folder)


def score(task: tuple[str | None, str, Sequence[tuple[str, Sequence[str]]]]) -> list[Scores]:
    """Return for each case of *task* how the book did, and how what was learned before it did,
    without memory and with it.
    """
    folder, plain, cases = task
    knowledge, learned = _knowledge(folder), Learned.from_plain(json.loads(plain))
    ways = (
        ModelCache(knowledge),
        LearnedModels(knowledge, learned.without_memory()),
        LearnedModels(knowledge, learned),
    )
    found: list[Scores] = []
    for text, causes in cases:
        try:
            case = case_of(json.loads(text), knowledge)
            answers = derive(case, knowledge).all_answers(case)
            told = [_scored(Situation(models.of(case), answers), causes) for models in ways]
        except InputError:
            continue  # written by another knowledge, or can't all be true: says nothing of either
        if None not in told:
            found.append(tuple(pair for pair in told if pair is not None))
    return found


def _scored(situation: Situation, causes: Sequence[str]) -> tuple[float, bool] | None:
    """The mean logarithm of the shares of *causes*, and whether one of them was first; None where nothing is seen."""
    if not situation.seen:
        return None
    chances = _chances(situation.inference)
    total = math.fsum(chances.values())
    if not total > 0.0:
        return None
    shares = [max(chances.get(cause, 0.0) / total, _FLOOR) for cause in causes]
    first = min(chances, key=lambda cause: (-round(chances[cause], 10), cause))
    return math.fsum(math.log(share) for share in shares) / len(shares), first in causes


def _chances(inference: Inference) -> dict[str, float]:
    """The chance that each cause had a part in what is seen; for `not_listed` that anything off the list had."""
    if not inference.evidence > 0.0:
        return {}
    chances = {name: float(inference.responsible[i]) for name, i in inference.index.items()}
    chances[NOT_LISTED] = inference.unexplained
    return chances


def _verdict(learned: Learned, scores: Sequence[Scores], changes: Iterable[Moved]) -> Verdict:
    if not scores:
        nothing = Score(0.0, 0.0)
        reason = f"too few confirmed cases to judge by, {FEWEST} are needed"
        return Verdict(learned, 0, nothing, nothing, 0.0, 0.0, False, reason, tuple(changes))
    book, rates, memory = (_mean([row[way] for row in scores]) for way in range(3))
    with_memory = memory.log_score > rates.log_score
    with_log, way = (memory, 2) if with_memory else (rates, 1)
    gains = [row[way][0] - row[0][0] for row in scores]
    gain = math.fsum(gains) / len(gains)
    error = math.sqrt(math.fsum((g - gain) ** 2 for g in gains) / max(len(gains) - 1, 1) / len(gains))
    reason = ""
    if gain <= max(LEAST_GAIN, error):
        reason = "it does not foretell the causes better than the book"
    elif with_log.first < book.first - LEAST_FIRST:
        reason = "it loses first places that the book had"
    used = learned if with_memory else learned.without_memory()
    return Verdict(used, len(scores), book, with_log, gain, error, not reason, reason, tuple(changes))


def _mean(pairs: Sequence[tuple[float, bool]]) -> Score:
    return Score(math.fsum(p[0] for p in pairs) / len(pairs), sum(p[1] for p in pairs) / len(pairs))


def changed(contexts: Mapping[str, Counts], learned: Learned, knowledge: Knowledge) -> list[Moved]:
    """Return the base rates that moved, those most that moved most, averaged over the contexts by their cases."""
    laid = LearnedModels(knowledge, learned)
    sums: dict[str, list[float]] = {}
    for context, counts in contexts.items():
        build, _, painted = context.partition("/")
        book = Model(knowledge, build or None, {"yes": True, "no": False}.get(painted))
        assert context_of(book.build, book.painted) == context
        rates = laid.base_rates(book)
        for cause, now in rates.items():
            row = sums.setdefault(cause, [0.0, 0.0, 0.0, 0.0])
            for i, amount in enumerate((counts.cases, counts.cases * book.base[cause], counts.cases * now)):
                row[i] += amount
            row[3] += counts.named.get(cause, 0)
    found = [Moved(cause, b / n, now / n, int(named)) for cause, (n, b, now, named) in sums.items() if n]
    found.sort(key=lambda m: (-round(abs(math.log(m.now / m.book)), 9), m.id))
    return [m for m in found if abs(m.now - m.book) >= 0.0005]
