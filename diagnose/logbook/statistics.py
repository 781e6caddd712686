"""The statistics of a defect log: intervals of a share, exact tests, false discoveries, Pareto,
and the control chart of a share.

Pure functions of counts. What a page shows always comes with an interval; a p-value never stands alone.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

Floats = NDArray[np.float64]

#: points in a row on one side of the center that are a signal (Nelson, Journal of Quality Technology 16, 1984, test 2;
#: from memory)
RUN = 9


# -- a share and its interval ----------------------------------------------------------------------------------------


def wilson(count: int, n: int, level: float = 0.95) -> tuple[float, float]:
    """Return the Wilson score interval of a share, *count* of *n*; (0, 1) where n is 0.

    Source: E. B. Wilson, JASA 22 (1927) 209; checked against R. G. Newcombe, Statistics in Medicine 17 (1998) 857.
    """
    if n == 0:
        return 0.0, 1.0
    from scipy.special import ndtri

    z = float(ndtri(0.5 + level / 2.0))
    share = count / n
    middle = share + z * z / (2 * n)
    half = z * math.sqrt(share * (1.0 - share) / n + z * z / (4.0 * n * n))
    scale = 1.0 + z * z / n
    return max(0.0, (middle - half) / scale), min(1.0, (middle + half) / scale)


def clopper_pearson(count: int, n: int, level: float = 0.95) -> tuple[float, float]:
    """Return the exact (Clopper-Pearson) interval of a share, *count* of *n*; (0, 1) where n is 0.

    Source: NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.4.1.
    """
    if n == 0:
        return 0.0, 1.0
    from scipy.special import betaincinv

    tail = (1.0 - level) / 2.0
    low = float(betaincinv(count, n - count + 1, tail)) if count else 0.0
    high = float(betaincinv(count + 1, n - count, 1.0 - tail)) if count < n else 1.0
    return low, high


class Beta(Struct, frozen=True):
    """A belief about a share: Beta(a, b)."""

    a: float
    b: float

    @classmethod
    def worth(cls, share: float, cases: float) -> Beta:
        """The belief that a share is *share*, worth as much as so many *cases* looked at."""
        return cls(share * cases, (1.0 - share) * cases)

    def after(self, held: float, not_held: float) -> Beta:
        """Return the belief after so many more cases in which it held, and in which it did not."""
        return Beta(self.a + held, self.b + not_held)

    @property
    def mean(self) -> float:
        """The share to be expected."""
        return self.a / (self.a + self.b)

    @property
    def sd(self) -> float:
        """Its standard deviation."""
        total = self.a + self.b
        return math.sqrt(self.a * self.b / (total * total * (total + 1.0)))

    def interval(self, level: float = 0.95) -> tuple[float, float]:
        """Return the interval with equal tails."""
        from scipy.special import betaincinv

        tail = (1.0 - level) / 2.0
        return float(betaincinv(self.a, self.b, tail)), float(betaincinv(self.a, self.b, 1.0 - tail))


# -- two by two -----------------------------------------------------------------------------------------------------


def fisher(tables: Sequence[tuple[int, int, int, int]]) -> list[float]:
    """Return the two-sided p of Fisher's exact test for each table (a, b, c, d), rows (a, b) and (c, d).

    It is the chance, all margins given, of a table no likelier than the one seen, as scipy.stats.fisher_exact has it;
    all tables are worked through together, so that thousands take a second. Raises ValueError for a negative count.
    """
    if not tables:
        return []
    from scipy.stats import hypergeom

    a, b, c, d = np.array(tables, dtype=np.int64).T
    if min(a.min(), b.min(), c.min(), d.min()) < 0:
        raise ValueError("a table of counts of 0 or more")
    law = total, row, column = a + b + c + d, a + b, a + c
    low, high = np.maximum(0, row + column - total), np.minimum(row, column)
    seen = _likelihood(a, law) + 1e-7
    mode = ((row + 1) * (column + 1)) // (total + 2)
    lower = _last_unlikely(low - 1, np.minimum(mode, high), seen, law, upward=True)
    upper = _last_unlikely(high + 1, np.maximum(mode, low), seen, law, upward=False)
    p = hypergeom.cdf(lower, total, column, row) + hypergeom.sf(upper - 1, total, column, row)
    return [min(1.0, float(value)) for value in np.where(lower >= upper, 1.0, p)]


def _likelihood(count: Floats, law: tuple[Floats, ...]) -> Floats:
    """The logarithm of the chance of *count* in the first cell, but for what all tables with these margins share."""
    from scipy.special import gammaln

    total, row, column = law
    cells = np.stack((count, row - count, column - count, total - row - column + count))
    found: Floats = -gammaln(cells + 1).sum(axis=0)
    return found


def _last_unlikely(outside: Floats, mode: Floats, seen: Floats, law: tuple[Floats, ...], upward: bool) -> Floats:
    """From *outside* (below or above all counts) toward the *mode*: the last count no likelier than *seen*; by halving.

    The chance rises all the way to the mode.
    """
    unlikely, likely = outside.copy(), mode + (1 if upward else -1)
    while np.any(moving := np.abs(likely - unlikely) > 1):
        middle = (unlikely + likely) // 2
        is_unlikely = _likelihood(middle, law) <= seen
        unlikely = np.where(moving & is_unlikely, middle, unlikely)
        likely = np.where(moving & ~is_unlikely, middle, likely)
    return unlikely


def odds_ratio(table: tuple[int, int, int, int], level: float = 0.95) -> tuple[float, float, float]:
    """Return the odds ratio of (a, b, c, d) with its interval (Woolf's, on the logarithm).

    Where a cell is 0, a half is added to each (Haldane, Anscombe), so that all three numbers exist. Source: from
    memory.
    """
    from scipy.special import ndtri

    half = 0.5 if 0 in table else 0.0
    a, b, c, d = (count + half for count in table)
    ratio = a * d / (b * c)
    spread = float(ndtri(0.5 + level / 2.0)) * math.sqrt(1 / a + 1 / b + 1 / c + 1 / d)
    return ratio, ratio * math.exp(-spread), ratio * math.exp(spread)


def false_discovery(p: Sequence[float]) -> list[float]:
    """Return q for each *p*: the share of false ones to be expected among all findings that are at least as clear.

    Source: Benjamini and Hochberg, J. R. Statist. Soc. B 57 (1995) 289.
    """
    if not p:
        return []
    order = sorted(range(len(p)), key=lambda i: (p[i], i))
    q, least = [0.0] * len(p), 1.0
    for rank in range(len(p), 0, -1):
        i = order[rank - 1]
        least = min(least, p[i] * len(p) / rank)
        q[i] = least
    return q


# -- Pareto -----------------------------------------------------------------------------------------------------------


class Bar(Struct, frozen=True):
    """One bar of a Pareto chart: *share* of the count, and *cumulative* share with all before it."""

    id: str
    count: int
    cost: float
    share: float
    cumulative: float


def pareto(counts: Sequence[tuple[str, int, float]]) -> list[Bar]:
    """Return (id, count, cost) as bars, the most frequent first, then the dearest, then by id."""
    order = sorted((c for c in counts if c[1] > 0), key=lambda c: (-c[1], -c[2], c[0]))
    total = sum(count for _, count, _ in order)
    bars, so_far = [], 0
    for name, count, cost in order:
        so_far += count
        bars.append(Bar(name, count, cost, count / total, so_far / total))
    return bars


# -- the control chart of a share --------------------------------------------------------------------------------------


class Point(Struct, frozen=True):
    """One period on a p-chart: *bad* of *n*, the limits for that n, and what it signals:
    above, below, run_above, run_below.
    """

    period: str
    n: int
    bad: int
    low: float
    high: float
    signals: tuple[str, ...]

    @property
    def p(self) -> float:
        """The share of bad parts."""
        return self.bad / self.n


class Chart(Struct, frozen=True):
    """A p-chart: its *center* is the share over all periods."""

    center: float
    points: tuple[Point, ...]


def p_chart(periods: Sequence[tuple[str, int, int]]) -> Chart:
    """Return (period, n, bad) as a p-chart with three-sigma limits for each n. Periods with n = 0 are left out.

    Source: D. C. Montgomery, Introduction to Statistical Quality Control, section on the fraction nonconforming with
    variable sample size (from memory). Signals: a point beyond its limits, and nine in a row on one side of the center.
    """
    told = [period for period in periods if period[1] > 0]
    total = sum(n for _, n, _ in told)
    if not total:
        return Chart(0.0, ())
    center = sum(bad for _, _, bad in told) / total
    points, run = [], 0
    for period, n, bad in told:
        spread = 3.0 * math.sqrt(center * (1.0 - center) / n)
        low, high = max(0.0, center - spread), min(1.0, center + spread)
        share = bad / n
        side = (share > center) - (share < center)
        run = run + side if side and run * side >= 0 else side
        signals = [name for name, is_so in (("above", share > high), ("below", share < low)) if is_so]
        signals += [name for name, is_so in (("run_above", run >= RUN), ("run_below", run <= -RUN)) if is_so]
        points.append(Point(period, n, bad, low, high, tuple(signals)))
    return Chart(center, tuple(points))
