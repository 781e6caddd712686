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
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor
from functools import cache
from itertools import combinations
from typing import Any

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from sqlalchemy import Connection, select, true

from diagnose.assessment.consultation import ModelCache
from diagnose.casebook import Case
from diagnose.casebook.derive import derive
from diagnose.errors import InputError
from diagnose.knowledge import Knowledge, load_knowledge
from diagnose.logbook import schema
from diagnose.logbook.changes import Moved, changed
from diagnose.logbook.counts import CONFIRMED
from diagnose.logbook.entry import case_of
from diagnose.logbook.learn import base_counts, before, learn
from diagnose.logbook.learned import (
    PARTS,
    Learned,
    LearnedModels,
    LinkedModels,
)
from diagnose.logbook.side_by_side import MOST, Chances, positive
from diagnose.logbook.side_by_side import chances as chances_of
from diagnose.logbook.store import Store
from diagnose.reasoning.answers import SEEN, Answers
from diagnose.reasoning.finding import Finding
from diagnose.reasoning.forward_backward import Array
from diagnose.reasoning.inference import Inference, NoWayToBe
from diagnose.reasoning.network import NOT_LISTED, Model, Network
from diagnose.reasoning.situation import Situation

#: confirmed cases below which nothing is judged, pieces in which learning goes on, cases that one worker gets at a time
FEWEST, PIECES, CHUNK = 20, 10, 100
#: confirmed cases that are judged at most, the last ones: more tell nothing new
MOST_JUDGED = 5_000
#: the least gain, in natural logarithm, and what the first place may lose
LEAST_GAIN, LEAST_FIRST = 0.005, 0.01
_FLOOR = 1e-6


#: which of `PARTS` are used in one way of thinking; none is the book
Way = tuple[str, ...]
#: the ways that are judged first: the book, and each part by itself
WAYS: tuple[Way, ...] = ((), *((part,) for part in PARTS))
#: all there are; reading a case costs more than weighing it in all of them, so that is done once
EVERY: tuple[Way, ...] = tuple(way for size in range(len(PARTS) + 1) for way in combinations(PARTS, size))
#: the parts that bear on how common a cause is before anything is told; the others bear on what it shows
COMMON = frozenset(("rates", "memory"))
#: log score and first place of one case, a pair for one who goes by how common causes are and listens to nothing, and a
#: pair for each way; None where its answers can't all be true
Scores = tuple[tuple[float, bool], ...] | None


class Score(Struct, frozen=True):
    """How well a way of thinking did: mean log score (natural
    logarithm) and the share of cases with a right first cause.
    """

    log_score: float
    first: float


class Verdict(Struct, frozen=True):
    """What learning came to: from so many confirmed cases, judged on so many, both scores, whether it helps, why not.

    *way*: the parts that did best together, in words; *learned* holds those alone.
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
    way: str | None = None


class Judged(Struct, frozen=True):
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
        contexts = base_counts(connection, knowledge, true())
        tasks = list(_tasks(connection, knowledge, folder))
    if executor is not None:
        every = [row for found in executor.map(score, tasks) for row in found]
    else:
        book = ModelCache(knowledge)
        every = [row for _, plain, cases in tasks for row in _scores(book, plain, cases, EVERY)]

    def played(ways: Sequence[Way]) -> list[Scores]:
        places = [0, *(1 + EVERY.index(way) for way in ways)]
        return [row and tuple(row[i] for i in places) for row in every]

    ways, rows = _with_the_best_together(played)
    verdict = _verdict(learned, ways, [row for row in rows if row is not None])
    return replace(verdict, changes=tuple(changed(contexts, verdict.learned, knowledge)))


def _with_the_best_together(played: Callable[[Sequence[Way]], list[Scores]]) -> tuple[list[Way], list[Scores]]:
    """The ways that were *played* and their scores: each part by itself, then all those that help by themselves."""
    ways, rows = list(WAYS), played(WAYS)
    if not any(rows):
        return ways, rows
    _, book, *singles = (score.log_score for score in _means([row for row in rows if row is not None]))
    helping = tuple(part for part, alone in zip(PARTS, singles, strict=True) if alone > book)
    if len(helping) > 1:
        ways.append(helping)
        rows = [
            (*row, *more[1:]) if row is not None and more is not None else None
            for row, more in zip(rows, played([helping]), strict=True)
        ]
    return ways, rows


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
def _book(folder: str | None) -> ModelCache:
    return ModelCache(load_knowledge(folder))


def score(task: tuple[str | None, str, Sequence[tuple[str, Sequence[str]]]]) -> list[Scores]:
    """Return for each case of *task* how every way did, each with what was learned before the case."""
    folder, plain, cases = task
    return _scores(_book(folder), plain, cases, EVERY)


def _scores(
    book: ModelCache, plain: str, cases: Sequence[tuple[str, Sequence[str]]], ways: Sequence[Way]
) -> list[Scores]:
    thinking = _Ways(book, Learned.from_plain(json.loads(plain)), ways)
    found: list[list[Network]] = []
    for text, _ in cases:
        try:
            found.append(thinking.networks(case_of(json.loads(text), book.knowledge)))
        except InputError:
            found.append([])  # written by another knowledge: says nothing of either
    every: dict[int, Network] = {id(network): network for networks in found for network in networks}
    told = dict(zip(every, believed(list(every.values())), strict=True))
    return [
        _scored_all([thinking.common, *(told[id(network)] for network in networks)], causes) if networks else None
        for networks, (_, causes) in zip(found, cases, strict=True)
    ]


def _scored_all(chances: Sequence[Chances], causes: Sequence[str]) -> Scores:
    pairs = [pair for each in chances if (pair := scored(each, causes)) is not None]
    return tuple(pairs) if len(pairs) == len(chances) else None


class _Ways:
    """The networks of a case in each of *ways* of using what was *learned*; equal ones are one."""

    def __init__(self, book: ModelCache, learned: Learned, ways: Sequence[Way]) -> None:
        self.knowledge = book.knowledge
        self.book = book
        self.learned = learned
        self._linked: dict[Way, ModelCache] = {(): book}
        #: how common each cause is in the book, whatever is told
        self.common = Model(self.knowledge, None, None).base
        self.ways = [(way, LearnedModels(self.knowledge, learned.only(*way), book)) for way in ways]

    def networks(self, case: Case) -> list[Network]:
        """Return the network of *case* for each way; none where no symptom is seen. Raises InputError."""
        answers: Answers = derive(case, self.knowledge).all_answers(case)
        symptoms = self.knowledge.symptoms
        if not any(name in symptoms and answer.value == SEEN for name, answer in answers.items()):
            return []
        network, answers = _weighed(self.book.of(case), answers)
        findings: dict[Way, tuple[Finding, ...]] = {(): network.findings}
        products = np.array([said.product for said in network.speaking.values()])
        priors: dict[Way, tuple[float, ...]] = {}
        made: dict[tuple[Way, tuple[float, ...]], Network] = {}
        rows = []
        for way, models in self.ways:
            laid = self._laid(way, answers)
            if not laid and not models.learned.base and not models.learned.memory:
                rows.append(network)
                continue
            if laid not in findings:
                model = self._of(laid).of(case)
                findings[laid] = tuple(model.counted_once(model.counted_apart(answers), answers)[0])
            common = tuple(part for part in way if part in COMMON)
            if common not in priors:
                priors[common] = _priors(models.of(case), products)
            key = (laid, priors[common])
            if key not in made:
                made[key] = Network(network.causes, key[1], findings[laid], network.speaking)
            rows.append(made[key])
        return rows

    def _laid(self, way: Way, answers: Answers) -> Way:
        """What of *way* bears on the findings of *answers*."""
        results = "results" in way and not self.learned.results.keys().isdisjoint(answers)
        return ("links",) * ("links" in way and bool(self.learned.links)) + ("results",) * results

    def _of(self, laid: Way) -> ModelCache:
        if laid not in self._linked:
            some = self.learned.only(*laid)
            self._linked[laid] = LinkedModels(self.knowledge, some.links, some.results)
        return self._linked[laid]


def _priors(model: Model, products: Array) -> tuple[float, ...]:
    """The priors of *model*, all causes at once, from the *products* of their ratios (n,); as `Model.priors` has them
    one by one.
    """
    names = list(model.causes)
    place = {name: i for i, name in enumerate(names)}
    other = np.array([place.get(model.causes[name].opposite, len(names)) for name in names])
    base = np.array([model.base[name] for name in names] + [0.0])
    times = np.append(products, 0.0)
    neither = 1.0 - base[:-1] - base[other]
    mine, theirs = base[:-1] / neither * times[:-1], base[other] / neither * times[other]
    return (*(mine / (1.0 + mine + theirs)).tolist(), model.base[NOT_LISTED])


def _weighed(model: Model, answers: Answers) -> tuple[Network, Answers]:
    """The network of *answers*, and those of them that can be weighed together."""
    network = model.network(answers)
    if len(positive(network)) <= MOST:
        return network, answers
    situation = Situation(model, answers)
    return situation.network, {name: a for name, a in answers.items() if name not in situation.left_aside}


def believed(networks: Sequence[Network]) -> list[Chances]:
    """Return for each network the chance that each cause had a part in what is seen; for `not_listed` that anything
    off the list had.
    """
    small = [network for network in networks if len(positive(network)) <= MOST]
    made = dict(zip(map(id, small), chances_of(small), strict=True))
    return [made[id(network)] if id(network) in made else _swept(Inference(network)) for network in networks]


def _swept(inference: Inference) -> Chances:
    try:
        chances = dict(zip(inference.names, inference.responsible.tolist(), strict=True))
        return {**chances, NOT_LISTED: inference.unexplained}
    except NoWayToBe:
        return {}


def scored(chances: Chances, causes: Sequence[str]) -> tuple[float, bool] | None:
    """Return the mean logarithm of the shares of *causes*, and whether one of them was first; None where the answers
    can't all be true.
    """
    total = math.fsum(chances.values())
    if not total > 0.0:
        return None
    shares = [max(chances.get(cause, 0.0) / total, _FLOOR) for cause in causes]
    near = max(chances.values()) - 1e-9
    first = min((c for c, chance in chances.items() if chance >= near), key=lambda c: (-round(chances[c], 10), c))
    return math.fsum(math.log(share) for share in shares) / len(shares), first in causes


def _verdict(learned: Learned, ways: Sequence[Way], scores: Sequence[Sequence[tuple[float, bool]]]) -> Verdict:
    if not scores:
        nothing = Score(0.0, 0.0)
        reason = f"too few confirmed cases to judge by, {FEWEST} are needed"
        return Verdict(learned, 0, nothing, nothing, 0.0, 0.0, False, reason, ())
    common, *means = _means(scores)
    best = max(range(1, len(ways)), key=lambda i: (means[i].log_score, -i))
    book, with_log = means[0], means[best]
    gains = [row[best + 1][0] - row[1][0] for row in scores]
    gain = math.fsum(gains) / len(gains)
    error = math.sqrt(math.fsum((g - gain) ** 2 for g in gains) / max(len(gains) - 1, 1) / len(gains))
    reason = ""
    if book.log_score <= common.log_score:
        reason = "what the parts were closed with has nothing to do with what was told of them"
    elif gain <= max(LEAST_GAIN, error):
        reason = "it does not foretell the causes better than the book"
    elif with_log.first < book.first - LEAST_FIRST:
        reason = "it loses first places that the book had"
    used = learned.only(*ways[best])
    return Verdict(used, len(scores), book, with_log, gain, error, not reason, reason, (), _in_words(ways[best]))


def _in_words(way: Way) -> str:
    return " and ".join([", ".join(way[:-1]), way[-1]]) if len(way) > 1 else way[0]


def _means(scores: Sequence[Sequence[tuple[float, bool]]]) -> list[Score]:
    return [
        Score(math.fsum(p[0] for p in column) / len(column), sum(p[1] for p in column) / len(column))
        for column in zip(*scores, strict=True)
    ]
