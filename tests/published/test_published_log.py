"""The statistics of the log against published values and general libraries. Each check names its source."""

from __future__ import annotations

import random

import pytest
from scipy import stats

from diagnose.logbook.statistics import (
    Beta,
    clopper_pearson,
    false_discovery,
    fisher,
    odds_ratio,
    p_chart,
    pareto,
    wilson,
)

#: 30 samples of 50 cans: data set orangejuice of the R package qcc (search.r-project.org/CRAN/refmans/qcc), from Montgomery,
#: Introduction to Statistical Quality Control; new stock came at sample 15, a new operator at 23
CANS = (12, 15, 8, 10, 4, 7, 16, 9, 14, 10, 5, 6, 17, 12, 22, 8, 10, 5, 13, 11, 20, 18, 24, 15, 9, 12, 7, 13, 9, 6)


def _out(numbers: list[tuple[int, int]]) -> list[int]:
    chart = p_chart([(str(sample), 50, bad) for sample, bad in numbers])
    return [int(point.period) for point in chart.points if {"above", "below"} & set(point.signals)]


def test_p_chart_of_the_cans() -> None:
    """Center 0.2313, limits 0.0524 and 0.4102, samples 15 and 23 out (Montgomery, limits recomputed); no other signal."""
    chart = p_chart([(str(i), 50, bad) for i, bad in enumerate(CANS, start=1)])
    assert chart.center == pytest.approx(347 / 1500)
    assert {(round(p.low, 5), round(p.high, 5)) for p in chart.points} == {(0.05243, 0.41024)}
    assert [p.period for p in chart.points if p.signals] == ["15", "23"]
    assert [p.p for p in chart.points if p.signals] == [0.44, 0.48]


def test_p_chart_of_the_cans_revised() -> None:
    """Without 15 and 23: center 0.2150, limits 0.0407 and 0.3893, and sample 21 is out (Montgomery, from memory, recomputed)."""
    left = [(i, bad) for i, bad in enumerate(CANS, start=1) if i not in (15, 23)]
    chart = p_chart([(str(i), 50, bad) for i, bad in left])
    assert chart.center == pytest.approx(0.2150, abs=5e-5)
    assert chart.points[0].low == pytest.approx(0.0407, abs=5e-5)
    assert chart.points[0].high == pytest.approx(0.3893, abs=5e-5)
    assert _out(left) == [21]


def test_pareto_of_the_defects() -> None:
    """Counts 80, 27, 66, 94, 33: data of pareto.chart in the R package qcc 1.3 (rdocumentation.org), percentages recomputed."""
    bars = pareto([(str(count), count, 0.0) for count in (80, 27, 66, 94, 33)])
    assert [bar.count for bar in bars] == [94, 80, 66, 33, 27]
    assert [round(100 * bar.cumulative, 2) for bar in bars] == [31.33, 58.0, 80.0, 91.0, 100.0]


@pytest.mark.parametrize(
    ("count", "n", "score", "exact"),
    [
        (81, 263, (0.2553, 0.3662), (0.2527, 0.3676)),
        (15, 148, (0.0624, 0.1605), (0.0578, 0.1617)),
        (0, 20, (0.0, 0.1611), (0.0, 0.1684)),
        (1, 29, (0.0061, 0.1718), (0.0009, 0.1776)),
    ],
)
def test_intervals_of_newcombe(count: int, n: int, score: tuple[float, float], exact: tuple[float, float]) -> None:
    """R. G. Newcombe, Statistics in Medicine 17 (1998) 857, tables of examples (from memory, recomputed)."""
    assert wilson(count, n) == pytest.approx(score, abs=5e-5)
    assert clopper_pearson(count, n) == pytest.approx(exact, abs=5e-5)


def test_interval_of_the_handbook() -> None:
    """4 of 20 at 90 %: NIST/SEMATECH e-Handbook 7.2.4.2 (its set-up; limits recomputed)."""
    assert clopper_pearson(4, 20, 0.90) == pytest.approx((0.07135, 0.40103), abs=5e-6)


def test_interval_of_twelve_in_a_hundred_and_fifty() -> None:
    """12 of 150: statulator.com, confidence interval of one proportion (Wilson 0.046 to 0.135, exact 0.042 to 0.136)."""
    assert wilson(12, 150) == pytest.approx((0.046, 0.135), abs=5e-4)
    assert clopper_pearson(12, 150) == pytest.approx((0.042, 0.136), abs=5e-4)


@pytest.mark.parametrize("level", [0.8, 0.95, 0.99])
def test_intervals_agree_with_scipy(level: float) -> None:
    """scipy.stats.binomtest over every count of small samples."""
    for n in (1, 2, 7, 30, 150):
        for count in range(n + 1):
            test = stats.binomtest(count, n)
            for ours, method in ((wilson, "wilson"), (clopper_pearson, "exact")):
                theirs = test.proportion_ci(level, method)
                assert ours(count, n, level) == pytest.approx((theirs.low, theirs.high), abs=1e-9)


def test_the_lady_tasting_tea() -> None:
    """R. A. Fisher, The Design of Experiments, 1935: three of four right, two-sided 34/70; all right 2/70."""
    assert fisher([(3, 1, 1, 3), (4, 0, 0, 4)]) == pytest.approx([34 / 70, 2 / 70])


def test_exact_tests_of_the_scipy_pages() -> None:
    """Worked examples in the documentation of scipy.stats.fisher_exact: 0.10256 and 0.034965."""
    assert fisher([(6, 2, 1, 4), (8, 2, 1, 5)]) == pytest.approx([0.10256, 0.034965], abs=5e-6)


def test_exact_tests_agree_with_scipy() -> None:
    """scipy.stats.fisher_exact over a thousand random tables, some with empty margins, some of a whole year's pours."""
    draw = random.Random(7)
    tables = [tuple(draw.randint(0, most) for _ in range(4)) for most in (1, 3, 8, 40, 3000) for _ in range(200)]
    theirs = [stats.fisher_exact([t[:2], t[2:]])[1] for t in tables]
    assert fisher(tables) == pytest.approx(theirs, rel=1e-9, abs=1e-12)  # type: ignore[arg-type]


def test_odds_ratio_agrees_with_scipy() -> None:
    """scipy.stats.contingency.odds_ratio, kind `sample`, with its interval at 95 %."""
    for table in ((12, 5, 29, 63), (8, 2, 1, 5), (300, 1200, 90, 4000)):
        theirs = stats.contingency.odds_ratio([table[:2], table[2:]], kind="sample")
        interval = theirs.confidence_interval(0.95)
        assert odds_ratio(table) == pytest.approx((theirs.statistic, interval.low, interval.high))


def test_odds_ratio_with_an_empty_cell_has_an_interval() -> None:
    """A half is added to each cell (Haldane 1955, Anscombe 1956, from memory): (10.5 x 20.5) / (0.5 x 5.5)."""
    ratio, low, high = odds_ratio((10, 0, 5, 20))
    assert ratio == pytest.approx(10.5 * 20.5 / (0.5 * 5.5))
    assert 1.0 < low < ratio < high


def test_false_discoveries_of_benjamini_and_hochberg() -> None:
    """The fifteen p-values of their example (J. R. Statist. Soc. B 57 (1995) 289, section 3.2, from memory): four at q = 0.05."""
    p = [
        0.0001,
        0.0004,
        0.0019,
        0.0095,
        0.0201,
        0.0278,
        0.0298,
        0.0344,
        0.0459,
        0.3240,
        0.4262,
        0.5719,
        0.6528,
        0.7590,
        1.0,
    ]
    assert sum(q <= 0.05 for q in false_discovery(p)) == 4


def test_false_discoveries_agree_with_scipy() -> None:
    """scipy.stats.false_discovery_control, method `bh`, with ties and in any order."""
    draw = random.Random(3)
    for n in (1, 2, 30, 400):
        p = [round(draw.random() ** 3, 2) for _ in range(n)]
        assert false_discovery(p) == pytest.approx(list(stats.false_discovery_control(p)))


def test_beta_of_the_girls() -> None:
    """437 girls of 980 births, uniform prior: mean 0.446, sd 0.016, 95 % 0.415 to 0.477 (Gelman et al., Bayesian Data Analysis, 2.4)."""
    after = Beta(1.0, 1.0).after(437, 543)
    assert after.mean == pytest.approx(0.446029, abs=5e-7)
    assert after.sd == pytest.approx(0.015854, abs=5e-7)
    assert after.interval() == pytest.approx((0.415065, 0.477200), abs=5e-7)


def test_beta_worth_so_many_cases() -> None:
    """A prior of 0.2 worth ten cases, then 3 of 10: Beta(5, 15), mean 0.25, 95 % 0.0915 to 0.4557 (scipy.stats.beta)."""
    after = Beta.worth(0.2, 10).after(3, 7)
    assert after.mean == pytest.approx(0.25)
    assert after.interval() == pytest.approx((0.0915, 0.4557), abs=5e-5)
    assert after.interval(0.5) == pytest.approx(stats.beta(5, 15).interval(0.5))
