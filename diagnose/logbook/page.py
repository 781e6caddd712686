"""Monday's page as data: what went wrong, what it cost, whether it is getting better, what goes with what.

Everything is a record of ids and numbers; the report room words and draws it. Numbers carry ten significant digits.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from msgspec import Struct
from sqlalchemy import Connection

from diagnose.logbook import counts, statistics
from diagnose.logbook.counts import EDGES, Span
from diagnose.logbook.schema import FACTORS
from diagnose.logbook.store import Store

VERSION = 1
#: levels of a factor that are looked at, the commonest first, and parts that a level needs
LEVELS, LEAST = 40, 5
#: findings are shown up to this share of false ones among them, at most so many
DISCOVERY, SHOWN = 0.10, 25


class Association(Struct, frozen=True):
    """A fault that comes more often with one level of a factor:
    the odds ratio with its interval, p and q, and the four counts.
    """

    factor: str
    level: str
    fault: str
    odds_ratio: float
    low: float
    high: float
    p: float
    q: float
    table: tuple[int, int, int, int]


class Page(Struct, frozen=True):
    """Monday's page. *pairs* is how many pairs of level and fault were tested for `associations`."""

    span: Span
    n: int
    bad: int
    waiting: int
    causes: tuple[statistics.Bar, ...]
    faults: tuple[statistics.Bar, ...]
    chart: statistics.Chart
    associations: tuple[Association, ...]
    pairs: int
    plans: tuple[int, int]
    calibration: tuple[tuple[int, int, int, float], ...]

    def to_plain(self) -> dict[str, Any]:
        """Return it as JSON data, as the interface describes it."""
        tried, good = self.plans
        low, high = statistics.wilson(good, tried)
        return {
            "version": VERSION,
            "from": self.span.first or None,
            "to": self.span.last or None,
            "n": self.n,
            "bad": self.bad,
            "waiting": self.waiting,
            "pareto_causes": [_bar(bar) for bar in self.causes],
            "pareto_faults": [_bar(bar) for bar in self.faults],
            "p_chart": {"center": _ten(self.chart.center), "points": [_point(point) for point in self.chart.points]},
            "associations": [_association(found) for found in self.associations],
            "pairs_tested": self.pairs,
            "plans": {"tried": tried, "good": good, "low": _ten(low), "high": _ten(high)},
            "calibration": [_band(*band) for band in self.calibration],
        }


def page_of(store: Store, span: Span) -> Page:
    """Return the page of *span*. Raises LogError."""
    with store.reading() as connection:
        n, bad = counts.parts(connection, span)
        faults = counts.faults(connection, span)
        found, pairs = associations(connection, span, {name: count for name, count, _ in faults})
        return Page(
            span=span,
            n=n,
            bad=bad,
            waiting=counts.waiting(connection, span),
            causes=tuple(statistics.pareto(counts.causes(connection, span))),
            faults=tuple(statistics.pareto(faults)),
            chart=statistics.p_chart(counts.weeks(connection, span)),
            associations=found,
            pairs=pairs,
            plans=counts.plans(connection, span),
            calibration=tuple(counts.calibration(connection, span)),
        )


def associations(connection: Connection, span: Span, totals: Mapping[str, int]) -> tuple[tuple[Association, ...], int]:
    """Return what comes more often together than chance would have it, clearest first, and how many pairs were tested.

    *totals*: bad parts with each fault. Every pair counts in the control of false discoveries, also those that come
    less often together; only the first kind is shown.
    """
    pairs = [
        pair
        for factor in FACTORS
        for pair in counts.together(connection, span, factor, LEVELS, LEAST, totals)
        if pair.table[0] + pair.table[2] >= LEAST
    ]
    p = statistics.fisher([pair.table for pair in pairs])
    q = statistics.false_discovery(p)
    found = []
    for pair, chance, discovery in zip(pairs, p, q, strict=True):
        if discovery > DISCOVERY:
            continue
        ratio, low, high = statistics.odds_ratio(pair.table)
        if ratio > 1.0:
            found.append(
                Association(pair.factor, pair.level, pair.fault, ratio, low, high, chance, discovery, pair.table)
            )
    # clearest first; of equally clear ones the stronger, then by name
    found.sort(
        key=lambda a: (float(f"{a.q:.10g}"), float(f"{a.p:.10g}"), -round(a.odds_ratio, 9), a.factor, a.level, a.fault)
    )
    return tuple(found[:SHOWN]), len(pairs)


def _ten(value: float) -> float:
    return float(f"{value:.10g}") + 0.0


def _bar(bar: statistics.Bar) -> dict[str, Any]:
    return {
        "id": bar.id,
        "count": bar.count,
        "cost": _ten(bar.cost),
        "share": _ten(bar.share),
        "cumulative": _ten(bar.cumulative),
    }


def _point(point: statistics.Point) -> dict[str, Any]:
    return {
        "period": point.period,
        "n": point.n,
        "bad": point.bad,
        "p": _ten(point.p),
        "low": _ten(point.low),
        "high": _ten(point.high),
        "signals": list(point.signals),
    }


def _association(found: Association) -> dict[str, Any]:
    with_level, without, others, others_without = found.table
    return {
        "factor": found.factor,
        "level": found.level,
        "fault": found.fault,
        "odds_ratio": _ten(found.odds_ratio),
        "low": _ten(found.low),
        "high": _ten(found.high),
        "p": _ten(found.p),
        "q": _ten(found.q),
        "seen": with_level,
        "of": with_level + without,
        "seen_elsewhere": others,
        "of_elsewhere": others + others_without,
    }


def _band(place: int, n: int, right: int, said: float) -> dict[str, Any]:
    low, high = statistics.wilson(right, n)
    edges = {"from": EDGES[place], "to": EDGES[place + 1]}
    return {**edges, "n": n, "right": right, "said": _ten(said), "low": _ten(low), "high": _ten(high)}
