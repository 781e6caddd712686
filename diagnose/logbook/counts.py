"""Counting in the engine: every number of Monday's page comes from a few statements over indexes, for any span of days.

The statements are the common ground of SQLite and PostgreSQL. Days are texts as 2026-03-02, which sort as days do.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from msgspec import Struct
from sqlalchemy import ColumnElement, Connection, Float, and_, case, cast, func, select, true

from diagnose.logbook import schema

#: how a cause is known counts as confirmed; an opinion is kept and counted by cause, but proves nothing
CONFIRMED = ("looked", "tested", "fixed")
#: edges of the chances by which a ranking is judged
EDGES = (0.0, 0.2, 0.4, 0.6, 0.8, 1.0)


class Span(Struct, frozen=True):
    """Days from *first* to *last*, both included; an empty text leaves that side open.
    Parts without a day are in no bounded span.
    """

    first: str = ""
    last: str = ""

    def holds(self, column: Any) -> ColumnElement[bool]:
        """Return the condition that *column* lies in the span."""
        parts: list[ColumnElement[bool]] = []
        if self.first or self.last:
            parts.append(column >= (self.first or "0"))
        if self.last:
            parts.append(column <= self.last)
        return and_(true(), *parts)


def closed_cases(when: ColumnElement[bool]) -> ColumnElement[bool]:
    """Return the condition that joins the confirmed outcomes that hold to their cases, those that fulfill *when*."""
    o, c = schema.outcomes.c, schema.cases.c
    return and_(o.current == 1, o.how.in_(CONFIRMED), c.number == o.case_number, when)


def parts(connection: Connection, span: Span) -> tuple[int, int]:
    """Return how many parts there are and how many of them were bad."""
    t = schema.cases.c
    query = select(func.count(), func.coalesce(func.sum(_bad(t.state)), 0)).where(span.holds(t.date))
    n, bad = connection.execute(query).one()
    return int(n), int(bad)


def _bad(state: Any) -> Any:
    return case((state != "good", 1), else_=0)


def faults(connection: Connection, span: Span) -> list[tuple[str, int, float]]:
    """Return (symptom, bad parts that showed it, its share of their cost)."""
    t = schema.faults.c
    query = select(t.symptom, func.count(), func.sum(t.cost)).where(span.holds(t.date)).group_by(t.symptom)
    return [(name, int(count), _money(cost)) for name, count, cost in connection.execute(query.order_by(t.symptom))]


def causes(connection: Connection, span: Span) -> list[tuple[str, int, float]]:
    """Return (cause, closed parts in which it had a part, its share of their cost)."""
    t = schema.outcome_causes.c
    query = select(t.cause, func.count(), func.sum(t.cost)).where(t.current == 1, span.holds(t.case_date))
    rows = connection.execute(query.group_by(t.cause).order_by(t.cause))
    return [(name, int(count), _money(cost)) for name, count, cost in rows]


def _money(amount: Any) -> float:
    """Cents decide, so that the order in which an engine adds up never shows."""
    return round(float(amount or 0.0), 2)


def weeks(connection: Connection, span: Span) -> list[tuple[str, int, int]]:
    """Return (ISO week, parts, bad parts) for each week that has any."""
    t = schema.cases.c
    query = select(t.week, func.count(), func.sum(_bad(t.state))).where(t.week != "", span.holds(t.date))
    return [(week, int(n), int(bad)) for week, n, bad in connection.execute(query.group_by(t.week).order_by(t.week))]


class Together(Struct, frozen=True):
    """How often *fault* came with *factor* at *level*: a, b with the level (fault, no fault), c,
    d with all other known levels.
    """

    factor: str
    level: str
    fault: str
    table: tuple[int, int, int, int]


def together(
    connection: Connection, span: Span, factor: str, levels: int, least: int, totals: Mapping[str, int]
) -> list[Together]:
    """Return the tables of *factor* against every fault, for its commonest *levels* with at least *least* parts.

    *totals*: bad parts with each fault, as `faults` counts them. Parts whose level isn't known are left out on both
    sides.
    """
    cases, shown = schema.cases.c, schema.faults.c
    known = and_(cases[factor] != "", span.holds(cases.date))
    sizes = select(cases[factor], func.count().label("n")).where(known).group_by(cases[factor])
    per_level = {str(level): int(n) for level, n in connection.execute(sizes)}
    # what isn't known is few and found at once in its index; what is known would be all of the table
    unknown = select(shown.symptom, func.count()).where(shown[factor] == "", span.holds(shown.date))
    left_out = {str(fault): int(n) for fault, n in connection.execute(unknown.group_by(shown.symptom))}
    per_fault = {fault: n - left_out.get(fault, 0) for fault, n in totals.items()}
    common = sorted((name for name, n in per_level.items() if n >= least), key=lambda name: (-per_level[name], name))
    chosen = common[:levels]
    both = (
        select(shown[factor], shown.symptom, func.count())
        .where(shown[factor].in_(chosen), span.holds(shown.date))
        .group_by(shown[factor], shown.symptom)
    )
    counted = {(level, fault): int(n) for level, fault, n in connection.execute(both)}
    total = sum(per_level.values())
    found = []
    for level in chosen:
        for fault in sorted(fault for fault, n in per_fault.items() if n):
            a, with_level, with_fault = counted.get((level, fault), 0), per_level[level], per_fault[fault]
            table = (a, with_level - a, with_fault - a, total - with_level - with_fault + a)
            found.append(Together(factor, level, fault, table))
    return found


def plans(connection: Connection, span: Span) -> tuple[int, int]:
    """Return how many closed parts were poured again, and how many of those came good at once."""
    t = schema.outcomes.c
    good = func.coalesce(func.sum(case((t.next == "good", 1), else_=0)), 0)
    query = select(func.count(), good).where(t.current == 1, t.next != "not_poured", span.holds(t.case_date))
    tried, came_good = connection.execute(query).one()
    return int(tried), int(came_good)


def calibration(connection: Connection, span: Span) -> list[tuple[int, int, int, float]]:
    """Return (place of the band of `EDGES`, closed parts, those whose first cause was right, mean chance said)."""
    t = schema.outcomes.c
    band = case(*((t.first_chance < high, i) for i, high in enumerate(EDGES[1:-1])), else_=len(EDGES) - 2)
    query = (
        select(band, func.count(), func.sum(t.right), cast(func.avg(t.first_chance), Float))
        .where(t.current == 1, t.first_chance.is_not(None), t.how.in_(CONFIRMED), span.holds(t.case_date))
        .group_by(band)
        .order_by(band)
    )
    return [(int(i), int(n), int(right), float(mean)) for i, n, right, mean in connection.execute(query)]


def waiting(connection: Connection, span: Span) -> int:
    """Return how many parts wait for an outcome."""
    t = schema.cases.c
    return int(connection.execute(select(func.count()).where(t.state == "open", span.holds(t.date))).scalar_one())
