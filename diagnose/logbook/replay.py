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
from functools import cache
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
from diagnose.logbook.counts import CONFIRMED
from diagnose.logbook.entry import case_of
from diagnose.logbook.learn import Counts, base_counts, before, learn
from diagnose.logbook.learned import Learned, LearnedModels, LinkedModels, book_link, context_of, overlaid_links
from diagnose.logbook.side_by_side import MOST, Chances, positive
from diagnose.logbook.side_by_side import chances as chances_of
from diagnose.logbook.store import Store
from diagnose.reasoning.answers import SEEN, Answers
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


#: the ways that are judged: by the book; with base rates learned, without links and with them, each without and with
#: molds and lots
WAYS = ("book", "rates", "rates and memory", "rates and links", "rates, links and memory")
#: log score and first place of one case, a pair for each of `WAYS`
Scores = tuple[tuple[float, bool], ...]


class Score(Struct, frozen=True):
    """How well a way of thinking did: mean log score (natural
    logarithm) and the share of cases with a right first cause.
    """

    log_score: float
    first: float


class Moved(Struct, frozen=True):
    """A base rate that was learned: the *book*'s and the one *now*, over the contexts of the log,
    and in how many cases it was named.
    """

    id: str
    book: float
    now: float
    cases: int


class MovedLink(Struct, frozen=True):
    """A link that was learned: of a *cause* to a *finding* (a symptom, or `check:result`), by the *book* and *now*."""

    cause: str
    finding: str
    book: float
    now: float


class Verdict(Struct, frozen=True):
    """What learning came to: from so many confirmed cases, judged on so many, both scores, whether it helps, why not.

    *way*: which of `WAYS` did best with what was learned; *learned* holds what that way needs.
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
        changes = changed(base_counts(connection, knowledge, true()), learned, knowledge)
        tasks = list(_tasks(connection, knowledge, folder))
    if executor is not None:
        mapped = executor.map(score, tasks)
    else:
        book = ModelCache(knowledge)
        mapped = (_scores(book, plain, cases) for _, plain, cases in tasks)
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
def _book(folder: str | None) -> ModelCache:
    return ModelCache(load_knowledge(folder))


def score(task: tuple[str | None, str, Sequence[tuple[str, Sequence[str]]]]) -> list[Scores]:
    """Return for each case of *task* how each of `WAYS` did, each with what was learned before the case."""
    folder, plain, cases = task
    return _scores(_book(folder), plain, cases)


def _scores(book: ModelCache, plain: str, cases: Sequence[tuple[str, Sequence[str]]]) -> list[Scores]:
    ways = _Ways(book, Learned.from_plain(json.loads(plain)))
    found = []
    for text, causes in cases:
        try:
            networks = ways.networks(case_of(json.loads(text), ways.knowledge))
        except InputError:
            continue  # written by another knowledge: says nothing of either
        if networks:
            found.append((networks, causes))
    every: dict[int, Network] = {id(network): network for networks, _ in found for network in networks}
    told = dict(zip(every, believed(list(every.values())), strict=True))
    rows = [[scored(told[id(network)], causes) for network in networks] for networks, causes in found]
    return [tuple(pair for pair in row if pair is not None) for row in rows if None not in row]


class _Ways:
    """The networks of a case by the book and by each way of using what was learned; equal ones are one."""

    def __init__(self, book: ModelCache, learned: Learned) -> None:
        self.knowledge = book.knowledge
        self.book = book
        self.linked: ModelCache = LinkedModels(self.knowledge, learned.links) if learned.links else book
        self.ways = [
            (links, LearnedModels(self.knowledge, each if memory else each.without_memory(), links))
            for links, each in ((book, learned.without_links()), (self.linked, learned))
            for memory in (False, True)
        ]

    def networks(self, case: Case) -> list[Network]:
        """Return the network of *case* for each of `WAYS`; none where no symptom is seen. Raises InputError."""
        answers: Answers = derive(case, self.knowledge).all_answers(case)
        symptoms = self.knowledge.symptoms
        if not any(name in symptoms and answer.value == SEEN for name, answer in answers.items()):
            return []
        network, answers = _weighed(self.book.of(case), answers)
        findings = {id(self.book): network.findings}
        if self.linked is not self.book:
            model = self.linked.of(case)
            findings[id(self.linked)] = tuple(model.counted_once(model.counted_apart(answers), answers)[0])
        products = np.array([said.product for said in network.speaking.values()])
        made: dict[tuple[int, tuple[float, ...]], Network] = {}
        rows = [network]
        for links, models in self.ways:
            key = (id(links), _priors(models.of(case), products))
            if key not in made:
                made[key] = Network(network.causes, key[1], findings[key[0]], network.speaking)
            rows.append(made[key])
        return rows


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


def _verdict(learned: Learned, scores: Sequence[Scores], changes: Iterable[Moved]) -> Verdict:
    if not scores:
        nothing = Score(0.0, 0.0)
        reason = f"too few confirmed cases to judge by, {FEWEST} are needed"
        return Verdict(learned, 0, nothing, nothing, 0.0, 0.0, False, reason, tuple(changes))
    ways = [_mean([row[way] for row in scores]) for way in range(len(WAYS))]
    way = _best(ways)
    book, with_log = ways[0], ways[way]
    gains = [row[way][0] - row[0][0] for row in scores]
    gain = math.fsum(gains) / len(gains)
    error = math.sqrt(math.fsum((g - gain) ** 2 for g in gains) / max(len(gains) - 1, 1) / len(gains))
    reason = ""
    if gain <= max(LEAST_GAIN, error):
        reason = "it does not foretell the causes better than the book"
    elif with_log.first < book.first - LEAST_FIRST:
        reason = "it loses first places that the book had"
    used = learned if WAYS[way].endswith("memory") else learned.without_memory()
    used = used if "links" in WAYS[way] else used.without_links()
    return Verdict(used, len(scores), book, with_log, gain, error, not reason, reason, tuple(changes), WAYS[way])


def _best(ways: Sequence[Score]) -> int:
    """The place of the way that is used: links and memory are, each where it helps by itself."""
    rates, memory, links, both = (score.log_score for score in ways[1:])
    if links > rates:
        return 4 if both > links else 3
    return 2 if memory > rates else 1


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


def changed_links(learned: Learned, knowledge: Knowledge) -> list[MovedLink]:
    """Return the links that moved, those most that moved most."""
    found = [
        MovedLink(cause, finding, book_link(knowledge, cause, finding) or 0.0, now)
        for cause, table in overlaid_links(knowledge, learned.links).items()
        for finding, now in table.items()
    ]
    found.sort(key=lambda m: (-round(abs(m.now - m.book), 9), m.cause, m.finding))
    return [m for m in found if abs(m.now - m.book) >= 0.005]
