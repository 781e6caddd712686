"""Learning from closed cases: base rates and links from counts made in the engine,
the book as a prior worth a stated number of cases.

A cause that was not named is not thereby absent. Where the next part came good, or somebody measured or saw what bears
on the cause, it would hardly have been missed; where nobody looked it is nearly as open as before. Each such case
counts by the chance that is left, so nothing is learned from what nobody looked for. Rates and chances are found by
repeating the two steps until nothing moves (EM). Links are learned in `links.py`, in the same way.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from msgspec import Struct, field
from sqlalchemy import (
    Column,
    ColumnElement,
    Connection,
    MetaData,
    Table,
    Text,
    and_,
    func,
    inspect,
    not_,
    or_,
    select,
    true,
)

from diagnose.knowledge import Knowledge
from diagnose.logbook import schema
from diagnose.logbook.counts import closed_cases
from diagnose.logbook.fit import TOLD
from diagnose.logbook.learned import CARRIED, MOST_BASE, Learned, Seen, bounded, context_of, memory_key
from diagnose.logbook.links import learned_links
from diagnose.logbook.statistics import Beta
from diagnose.logbook.worth import likeliest_worth
from diagnose.reasoning.network import NOT_LISTED, Model

#: cases that a base rate of the book is usually worth (our own, no source)
WORTH_BASE = 100.0
#: chance that a cause which held is named when a case is closed: where somebody looked for it, and where nobody did
#: (our own, no source)
NAMED_LOOKED, NAMED_UNLOOKED = 0.95, 0.6
#: molds or lots count as different in a cause where their rates scatter by so many standard errors more than chance has
#: it
DIFFERENT = 5.0
#: the two steps are repeated so often, or until the rate moves by no more than this
_STEPS, _STILL = 200, 1e-15
#: molds and lots that are remembered, those most poured
_REMEMBERED = 2000


class Counts(Struct):
    """Confirmed cases of one context: how many, in how many each cause was named, and was looked for but not named."""

    cases: int = 0
    named: dict[str, int] = field(default_factory=dict)
    cleared: dict[str, int] = field(default_factory=dict)


def before(day: str, number: int) -> ColumnElement[bool]:
    """Return the condition that a case comes before the one of *day* and *number*."""
    t = schema.cases.c
    return or_(t.date < day, and_(t.date == day, t.number < number))


def learn(connection: Connection, knowledge: Knowledge, when: ColumnElement[bool] | None = None) -> Learned:
    """Return what the cases that fulfill *when* (all of them) teach. Raises LogError."""
    when = true() if when is None else when
    contexts = base_counts(connection, knowledge, when)
    total, memory = memories(connection, when)
    found = learned_links(connection, knowledge, when, *unnamed(knowledge))
    return Learned(
        cases=sum(counts.cases for counts in contexts.values()),
        base=base_factors(contexts, knowledge, found.told),
        links=found.links,
        results=found.results,
        all=total,
        memory=memory,
        spread=spreads(total, memory, knowledge),
    )


# -- base rates -----------------------------------------------------------------------------------------------------


def base_counts(connection: Connection, knowledge: Knowledge, when: ColumnElement[bool]) -> dict[str, Counts]:
    """Return the counts by context (`` where build or paint isn't known)."""
    o, c, k = schema.outcomes.c, schema.cases.c, schema.outcome_causes.c
    found: dict[str, Counts] = {}
    query = select(c.build, c.painted, func.count()).where(closed_cases(when)).group_by(c.build, c.painted)
    for build, painted, n in connection.execute(query):
        found.setdefault(context_of(build, painted), Counts()).cases += int(n)
    named = select(c.build, c.painted, k.cause, func.count()).where(closed_cases(when), k.outcome == o.number)
    for build, painted, cause, n in connection.execute(named.group_by(c.build, c.painted, k.cause)):
        _add(found[context_of(build, painted)].named, cause, int(n))
    for build, painted, cause, n in _cleared(connection, knowledge, when):
        _add(found[context_of(build, painted)].cleared, cause, int(n))
    return dict(sorted(found.items()))


def _add(table: dict[str, int], cause: str, n: int) -> None:
    table[cause] = table.get(cause, 0) + n


def _cleared(connection: Connection, knowledge: Knowledge, when: ColumnElement[bool]) -> Iterable[Any]:
    """(build, painted, cause, cases) in which a cause was looked for and not named."""
    o, c, k, a = schema.outcomes.c, schema.cases.c, schema.outcome_causes.c, schema.answers.c
    good = (
        select(c.build, c.painted, func.count())
        .where(closed_cases(when), o.next == "good")
        .group_by(c.build, c.painted)
    )
    came_good = {(build, painted): int(n) for build, painted, n in connection.execute(good)}
    also = select(c.build, c.painted, k.cause, func.count()).where(
        closed_cases(when), o.next == "good", k.outcome == o.number
    )
    named = {
        (build, painted, cause): int(n)
        for build, painted, cause, n in connection.execute(also.group_by(c.build, c.painted, k.cause))
    }
    for (build, painted), n in sorted(came_good.items()):
        for cause in sorted(knowledge.causes):
            yield build, painted, cause, n - named.get((build, painted, cause), 0)
    bearing = _bearing(connection, knowledge)
    looked = (
        select(c.build, c.painted, bearing.c.cause, func.count(c.number.distinct()))
        .where(closed_cases(when), o.next != "good", a.case_number == c.number, a.source.in_(("measured", "seen")))
        .where(bearing.c.question == a.question)
        .where(not_(select(k.outcome).where(k.outcome == o.number, k.cause == bearing.c.cause).exists()))
        .group_by(c.build, c.painted, bearing.c.cause)
    )
    yield from connection.execute(looked)


def _bearing(connection: Connection, knowledge: Knowledge) -> Table:
    """A table, gone with the connection, of the facts and checks that bear on each cause."""
    table = Table("bearing", MetaData(), Column("question", Text), Column("cause", Text), prefixes=["TEMPORARY"])
    if not inspect(connection).has_table("bearing"):
        table.create(connection)
        pairs = {(q, cause.id) for cause in knowledge.causes.values() for q in (*cause.facts, *cause.checks)}
        connection.execute(table.insert(), [{"question": q, "cause": cause} for q, cause in sorted(pairs)])
    return table


def rate(book: float, counts: Counts, cause: str, shows: float, worth: float = WORTH_BASE) -> tuple[float, float]:
    """Return the rate of *cause* after *counts*, and how often it is expected to have held among them.

    *book* is the rate before, a beta *worth* so many cases; the open cases count by what is left of their chance.
    *shows* is the chance that the cause, when it holds, has a part in any symptom: what showed nothing is named by
    nobody.
    """
    named, cleared = counts.named.get(cause, 0), counts.cleared.get(cause, 0)
    unlooked = max(counts.cases - named - cleared, 0)
    now, held = book, float(named)
    for _ in range(_STEPS):
        left = _left(now, NAMED_LOOKED * shows) * cleared + _left(now, NAMED_UNLOOKED * shows) * unlooked
        held = named + left
        last, now = now, Beta.worth(book, worth).after(held, counts.cases - held).mean
        if abs(now - last) <= _STILL:
            break
    return now, held


def _left(chance: float, named: float) -> float:
    """The chance that a cause held although it wasn't named."""
    return chance * (1.0 - named) / (1.0 - chance * named)


def base_factors(
    contexts: Mapping[str, Counts], knowledge: Knowledge, told: float = TOLD
) -> dict[str, dict[str, float]]:
    """Return for each context the factor on the odds of each cause;
    `` holds for a part whose context isn't known or has no cases. *told*: the share of the symptoms that show which
    are told.

    A context begins where the other contexts lead: what they show together is its prior.
    """
    books = {context: _book(context, knowledge) for context in contexts}
    worth = likeliest_worth(_tried(contexts, books, knowledge, told), WORTH_BASE)
    found = {}
    for context in ("", *(name for name in contexts if name)):
        others = [name for name in contexts if name != context or not context]
        mine = contexts.get(context, Counts()) if context else Counts()
        book, shows = books.get(context) or _book(context, knowledge), _shows(context, knowledge, told)
        factors = {}
        for cause, usual in book.items():
            rows = [(books[name][cause], contexts[name]) for name in others if cause in books[name]]
            start = min(usual * _lead(cause, rows, shows[cause], worth), 0.5)
            now, _ = rate(start, mine, cause, shows[cause], worth)
            factor = round(bounded(now / (1.0 - now) / (usual / (1.0 - usual)), MOST_BASE), 10)
            if factor != 1.0:
                factors[cause] = factor
        found[context] = factors
    return found


def _tried(
    contexts: Mapping[str, Counts], books: Mapping[str, Mapping[str, float]], knowledge: Knowledge, told: float
) -> Iterator[tuple[float, float, float]]:
    """Yield for each context and cause how often it was named, in how many cases it would have been, and its rate by
    the book.
    """
    for context, counts in contexts.items():
        shows = _shows(context, knowledge, told)
        for cause, usual in books[context].items():
            named, cleared = counts.named.get(cause, 0), counts.cleared.get(cause, 0)
            unlooked = max(counts.cases - named - cleared, 0)
            noticed = (NAMED_LOOKED * cleared + NAMED_UNLOOKED * unlooked) / max(cleared + unlooked, 1)
            yield named, max(counts.cases * noticed * shows[cause], float(named)), usual


def _book(context: str, knowledge: Knowledge) -> dict[str, float]:
    model = Model(knowledge, *_part(context))
    return {cause: p for cause, p in model.base.items() if cause != NOT_LISTED}


def _shows(context: str, knowledge: Knowledge, told: float = TOLD) -> dict[str, float]:
    """The chance that each cause, when it holds in a part of *context*, has a part in any symptom that is *told*."""
    build, painted = _part(context)
    return {
        cause.id: 1.0
        - math.prod(1.0 - told * link.p for s, link in cause.symptoms.items() if knowledge.applies(s, build, painted))
        for cause in knowledge.causes.values()
    }


def _part(context: str) -> tuple[str | None, bool | None]:
    build, _, painted = context.partition("/")
    return build or None, {"yes": True, "no": False}.get(painted)


def unnamed(knowledge: Knowledge) -> tuple[dict[str, float], dict[str, float]]:
    """Return the chance that each cause held in a case that does not name it and where nobody looked, by the book: all
    in all, and where it had a part in what was told.
    """
    shows, book = _shows("", knowledge), _book("", knowledge)
    left = {cause: _left(p, NAMED_UNLOOKED * shows[cause]) for cause, p in book.items()}
    return left, {cause: p * (1.0 - NAMED_UNLOOKED) for cause, p in book.items()}


def _lead(cause: str, rows: Sequence[tuple[float, Counts]], shows: float, worth: float) -> float:
    """How many times more often *cause* held in other contexts than the book has it;
    1 is worth as many cases as the book.

    *rows*: its rate in the book and the counts, for each context.
    """
    if not rows:
        return 1.0
    expected = math.fsum(usual * counts.cases for usual, counts in rows)
    held = math.fsum(rate(usual, counts, cause, shows, worth)[1] for usual, counts in rows)
    prior = worth * math.fsum(usual for usual, _ in rows) / len(rows)
    return (prior + held) / (prior + expected)


# -- molds and lots ---------------------------------------------------------------------------------------------------


def memories(connection: Connection, when: ColumnElement[bool]) -> tuple[Seen, dict[str, dict[str, Seen]]]:
    """Return all pours of the shop, and those of each mold and lot, with the causes confirmed among them."""
    c = schema.cases.c
    state = func.count().filter(c.state != "good")
    pours, bad = connection.execute(select(func.count(), state).where(when)).one()
    o, k = schema.outcomes.c, schema.outcome_causes.c
    causes = select(k.cause, func.count()).where(closed_cases(when), k.outcome == o.number).group_by(k.cause)
    total = Seen(int(pours), int(bad), {cause: int(n) for cause, n in connection.execute(causes.order_by(k.cause))})
    return total, {factor: _memory(connection, factor, when) for factor in ("mold", "lot_a", "lot_b")}


def _memory(connection: Connection, factor: str, when: ColumnElement[bool]) -> dict[str, Seen]:
    o, k, c = schema.outcomes.c, schema.outcome_causes.c, schema.cases.c
    named, count = [c.client, c[factor]] if factor == "mold" else [c[factor]], func.count()
    bad = func.count().filter(c.state != "good")
    query = select(*named, count, bad).where(c[factor] != "", when).group_by(*named)
    rows = connection.execute(query.order_by(count.desc(), *named).limit(_REMEMBERED)).all()
    kept = {_key(factor, row[:-2]): (int(row[-2]), int(row[-1])) for row in rows}
    causes: dict[str, dict[str, int]] = {}
    held = select(*named, k.cause, count).where(closed_cases(when), c[factor] != "", k.outcome == o.number)
    for *name, cause, n in connection.execute(held.group_by(*named, k.cause).order_by(*named, k.cause)):
        causes.setdefault(_key(factor, name), {})[cause] = int(n)
    return {key: Seen(pours, bad_ones, causes.get(key, {})) for key, (pours, bad_ones) in sorted(kept.items())}


def _key(factor: str, name: Any) -> str:
    return memory_key(factor, name[0] if len(name) > 1 else "", name[-1])


def spreads(total: Seen, memory: Mapping[str, Mapping[str, Seen]], knowledge: Knowledge) -> dict[str, dict[str, float]]:
    """Return for each factor and cause how much its rate differs between molds or lots:
    the correlation within one (0 to 0.5).

    A beta-binomial by moments, over all pours where the cause is carried and over bad parts where it isn't. Where the
    rates scatter no more than chance has it, it is 0, and then nothing is remembered.
    """
    found: dict[str, dict[str, float]] = {}
    for factor, table in memory.items():
        for cause in sorted(total.causes):
            if cause not in knowledge.causes:
                continue
            carried = knowledge.causes[cause].stage in CARRIED[factor]
            if carried or factor == "mold":
                rows = [(s.causes.get(cause, 0), s.pours if carried else s.bad) for s in table.values()]
                found.setdefault(factor, {})[cause] = round(_within([row for row in rows if row[1] > 0]), 10)
    return found


def _within(rows: Sequence[tuple[int, int]]) -> float:
    """The correlation within a group, of (count, n) a group; 0 where the groups don't clearly differ."""
    total, count = sum(n for _, n in rows), sum(k for k, _ in rows)
    if len(rows) < 2 or not 0 < count < total:
        return 0.0
    mean, free = count / total, len(rows) - 1
    scatter = math.fsum(n * (k / n - mean) ** 2 for k, n in rows) / (mean * (1.0 - mean))
    surplus, room = scatter - free, total - math.fsum(n * n for _, n in rows) / total - free
    if surplus < DIFFERENT * math.sqrt(2.0 * free):
        return 0.0
    return min(
        surplus / room, 0.5
    )  # there is room where any group holds two or more: without, the surplus is 1 at most
