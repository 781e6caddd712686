"""How many cases the book's numbers are worth in this shop, told by how far the shop's own scatter about them.

Empirical Bayes: if each true chance of the shop is drawn about the book's from a beta worth w cases, then so many of so
many cases follow a beta-binomial, and the w under which all counts together are likeliest is taken. A shop that is like
the book makes the book worth a thousand cases, and nothing is learned from chance; one in which all is three times as
common or as rare makes it worth a few dozen. What is usual counts as well, so that a handful of cases decides nothing.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

#: what is tried: powers of two, from 4 to 4096 cases
_TRIED = tuple(2.0**k for k in range(2, 13))
#: how far from what is usual it may well be: a factor of four is one standard deviation (our own, no source)
_SPREAD = math.log(4.0)


def likeliest_worth(counts: Iterable[tuple[float, float, float]], usual: float) -> float:
    """Return the worth, in cases, under which *counts* are likeliest; *usual* is what one says without any.

    *counts*: how often, of how many (at least as many, whole or not), and the book's chance (above 0, below 1).
    """
    rows = list(counts)

    def likely(worth: float) -> float:
        off = math.log(worth / usual) / _SPREAD
        return math.fsum(_beta_binomial(k, n, worth * p, worth * (1.0 - p)) for k, n, p in rows) - off * off / 2.0

    return max(_TRIED, key=lambda worth: (round(likely(worth), 9), worth)) if rows else usual


def _beta_binomial(k: float, n: float, a: float, b: float) -> float:
    """The logarithm of the chance of *k* of *n* under a beta of *a* and *b*, but for the number of ways."""
    return _log_beta(k + a, n - k + b) - _log_beta(a, b)


def _log_beta(a: float, b: float) -> float:
    return math.lgamma(a) + math.lgamma(b) - math.lgamma(a + b)
