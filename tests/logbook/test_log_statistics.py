"""Edges of the statistics: nothing logged, everything bad, runs, ties."""

from __future__ import annotations

import itertools
import math
import random

import pytest

from diagnose.logbook.statistics import clopper_pearson, false_discovery, fisher, p_chart, pareto, wilson


def test_nothing_is_known_of_nothing() -> None:
    """No parts: the interval is all there is, the chart empty."""
    assert wilson(0, 0) == clopper_pearson(0, 0) == (0.0, 1.0)
    assert p_chart([]).points == p_chart([("2026-W01", 0, 0)]).points == ()
    assert pareto([]) == pareto([("thin_skin", 0, 0.0)]) == []
    assert fisher([]) == false_discovery([]) == []


def test_limits_widen_where_parts_are_few() -> None:
    """Each week has limits of its own, within 0 and 1."""
    chart = p_chart([("2026-W01", 400, 80), ("2026-W02", 4, 1)])
    many, few = chart.points
    assert many.high - many.low < few.high - few.low
    assert few.low == 0.0
    assert 0.0 <= many.low < many.high <= 1.0


def test_nine_in_a_row_are_a_signal() -> None:
    """The ninth week on one side of the center signals and the eighth doesn't; a week on the center breaks the run."""
    weeks = [(f"2026-W{i:02d}", 100, 22 if i <= 12 else 18) for i in range(1, 25)]
    chart = p_chart(weeks)
    assert [p.period for p in chart.points if "run_above" in p.signals] == [
        "2026-W09",
        "2026-W10",
        "2026-W11",
        "2026-W12",
    ]
    assert [p.period for p in chart.points if "run_below" in p.signals] == [
        "2026-W21",
        "2026-W22",
        "2026-W23",
        "2026-W24",
    ]
    broken = [*weeks[:6], ("2026-W06b", 100, 20), *weeks[6:]]
    assert not any("run_above" in p.signals for p in p_chart(broken).points[:15])


def test_alarms_by_chance_are_rare() -> None:
    """A shop in which nothing changes: about 1 in 100 weeks signals, no more (simulated, 4,000 weeks of 60 parts)."""
    draw = random.Random(5)
    weeks = [(str(i), 60, sum(draw.random() < 0.2 for _ in range(60))) for i in range(4000)]
    assert sum(bool(p.signals) for p in p_chart(weeks).points) < 0.015 * len(weeks)


def test_pareto_breaks_ties_by_cost_and_name() -> None:
    """Equal counts: the dearer first, then by id, whatever order they come in."""
    rows = [("b", 2, 5.0), ("a", 2, 5.0), ("c", 2, 9.0), ("d", 4, 0.0)]
    assert [bar.id for bar in pareto(rows)] == [bar.id for bar in pareto(rows[::-1])] == ["d", "c", "a", "b"]


def test_every_small_table_is_counted_out() -> None:
    """All 495 tables of up to eight parts: the share of all ways to fill the cells, margins given, in no more ways than the one seen (whole
    numbers; R. A. Fisher, The Design of Experiments, 1935, chapter II, from memory).
    """
    tables = [table for table in itertools.product(range(9), repeat=4) if sum(table) <= 8]
    assert len(tables) == 495
    wanted = []
    for a, b, c, d in tables:
        ways = [math.comb(a + b, n) * math.comb(c + d, a + c - n) for n in range(a + c + 1)]
        wanted.append(sum(way for way in ways if way <= ways[a]) / sum(ways))
    assert fisher(tables) == pytest.approx(wanted, abs=1e-12)


def test_a_share_is_no_less_than_nothing_and_no_more_than_all() -> None:
    """To the last bit, of however many parts none or all were bad."""
    for level in (0.5, 0.9, 0.95, 0.99):
        ends = [(wilson(0, n, level)[0], wilson(n, n, level)[1]) for n in range(1, 400)]
        assert min(low for low, _ in ends) >= 0.0
        assert max(high for _, high in ends) <= 1.0
        assert ends == [(pytest.approx(0.0, abs=1e-15), pytest.approx(1.0, abs=1e-15))] * len(ends)


def test_a_run_begins_with_the_first_week() -> None:
    """On either side: eight weeks at the start are none, the ninth is a signal."""
    for first, then, word in ((12, 28, "run_below"), (28, 12, "run_above")):
        weeks = [(f"W{i:02d}", 100, first if i <= 9 else then) for i in range(1, 19)]
        found = [point.period for point in p_chart(weeks).points if word in point.signals]
        assert found == ["W09"]
