"""Scores of stated probabilities: the Brier score and its parts, and the table of how often each printed figure came true.

With forecasts f, outcomes o (0 or 1) in bins k of n_k forecasts with mean forecast f_k and frequency o_k, o the whole frequency:

    Brier = reliability - resolution + uncertainty + within
    reliability = sum n_k (f_k - o_k)^2 / n      (0 is best: what is stated comes true as often)
    resolution  = sum n_k (o_k - o)^2 / n        (more is better: the bins differ in what comes true)
    uncertainty = o (1 - o)                      (the cases', not the program's)
    within      = sum over forecasts of (f - f_k)^2 - 2 (f - f_k)(o - o_k), / n

A. H. Murphy, A new vector partition of the probability score, J. Appl. Meteor. 12, 595-600 (1973), for the three; the part within bins, zero
where all forecasts of a bin are equal, after D. B. Stephenson and others, Two extra components in the Brier score decomposition, Weather and
Forecasting 23, 752-757 (2008), from its abstract.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from diagnose.prose.chance import tens


@dataclass(frozen=True)
class Bin:
    """Forecasts of one printed figure (*percent*): how many, their mean, how often they came true."""

    percent: int
    count: int
    stated: float
    came_true: float

    @property
    def error(self) -> float:
        """The standard error of *came_true*, were each forecast of the bin right in its mean."""
        return (self.stated * (1.0 - self.stated) / self.count) ** 0.5


@dataclass(frozen=True)
class Brier:
    """The Brier score in its parts; `score` is their sum."""

    reliability: float
    resolution: float
    uncertainty: float
    within: float

    @property
    def score(self) -> float:
        """The mean square of forecast less outcome."""
        return self.reliability - self.resolution + self.uncertainty + self.within


def brier_score(forecasts: Sequence[float], outcomes: Sequence[bool]) -> float:
    """Return the mean square of forecast less outcome, straight from its definition."""
    return sum((f - o) ** 2 for f, o in zip(forecasts, outcomes, strict=True)) / len(forecasts)


def bins_of(forecasts: Sequence[float], outcomes: Sequence[bool]) -> list[Bin]:
    """Return a bin for each figure that the program would print (tens of percent), lowest first, empty ones left out."""
    return [
        Bin(percent, len(pairs), sum(f for f, _ in pairs) / len(pairs), sum(o for _, o in pairs) / len(pairs))
        for percent, pairs in _parted(forecasts, outcomes).items()
    ]


def brier_parts(forecasts: Sequence[float], outcomes: Sequence[bool]) -> Brier:
    """Return the Brier score in its parts, with a bin for each figure that the program would print."""
    n = len(forecasts)
    whole = sum(outcomes) / n
    reliability = resolution = within = 0.0
    for pairs in _parted(forecasts, outcomes).values():
        stated = sum(f for f, _ in pairs) / len(pairs)
        true = sum(o for _, o in pairs) / len(pairs)
        reliability += len(pairs) * (stated - true) ** 2
        resolution += len(pairs) * (true - whole) ** 2
        within += sum((f - stated) ** 2 - 2.0 * (f - stated) * (o - true) for f, o in pairs)
    return Brier(reliability / n, resolution / n, whole * (1.0 - whole), within / n)


def _parted(forecasts: Sequence[float], outcomes: Sequence[bool]) -> dict[int, list[tuple[float, bool]]]:
    found: dict[int, list[tuple[float, bool]]] = {}
    for forecast, outcome in zip(forecasts, outcomes, strict=True):
        found.setdefault(tens(forecast), []).append((forecast, outcome))
    return dict(sorted(found.items()))
