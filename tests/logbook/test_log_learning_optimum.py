"""What is learned by repeating two steps is the top of the likelihood: against a general optimizer that knows no EM (scipy)."""

from __future__ import annotations

import math
import random

import numpy as np
import pytest
from scipy.optimize import minimize, minimize_scalar

from diagnose.knowledge import load_knowledge
from diagnose.logbook.learn import (
    NAMED_LOOKED,
    NAMED_UNLOOKED,
    TOLD,
    WORTH_BASE,
    WORTH_LINK,
    Counts,
    Pattern,
    _links,
    rate,
)


@pytest.mark.parametrize("seed", range(20))
def test_a_rate_is_the_likeliest(seed: int) -> None:
    """The book as a beta, cases that named the cause, that looked and did not, and that did not look: the same rate to 1e-6."""
    rng = random.Random(seed)
    book, shows = rng.uniform(0.01, 0.4), rng.uniform(0.1, 1.0)
    named, cleared, unlooked = (rng.randrange(60) for _ in range(3))

    def loss(b: float) -> float:
        told = (WORTH_BASE * book + named) * math.log(b) + WORTH_BASE * (1.0 - book) * math.log(1.0 - b)
        told += cleared * math.log(1.0 - b * NAMED_LOOKED * shows)
        return -(told + unlooked * math.log(1.0 - b * NAMED_UNLOOKED * shows))

    best = minimize_scalar(loss, bounds=(1e-9, 1.0 - 1e-9), method="bounded", options={"xatol": 1e-12})
    found, _ = rate(book, Counts(named + cleared + unlooked, {"x": named}, {"x": cleared}), "x", shows)
    assert found == pytest.approx(best.x, abs=1e-6)


@pytest.mark.parametrize("seed", range(4))
def test_links_are_the_likeliest(seed: int) -> None:
    """Links of two causes to one symptom, learned together from cases with either and both: the same to 1e-4."""
    knowledge, rng = load_knowledge(), random.Random(seed)
    symptom = "thin_skin"
    pair = tuple(name for name, cause in knowledge.causes.items() if symptom in cause.symptoms)[seed : seed + 2]
    rows = []
    for causes in ((pair[0],), (pair[1],), pair):
        cases = rng.randrange(20, 80)
        seen = rng.randrange(cases // 2)
        rows.append(Pattern(causes, cases, seen, rng.randrange(cases - seen)))
    book = [knowledge.causes[name].symptoms[symptom].p for name in pair]
    leak = knowledge.symptoms[symptom].background

    def loss(links: np.ndarray) -> float:
        told = sum(
            WORTH_LINK * (b * math.log(p) + (1.0 - b) * math.log(1.0 - p)) for b, p in zip(book, links, strict=True)
        )
        for row in rows:
            quiet = 1.0 - leak
            for name, p in zip(pair, links, strict=True):
                quiet *= 1.0 - p if name in row.causes else 1.0
            told += row.seen * math.log(1.0 - quiet) + row.absent * math.log(quiet)
            told += (row.cases - row.seen - row.absent) * math.log(1.0 - TOLD * (1.0 - quiet))
        return -told

    best = minimize(loss, book, bounds=[(1e-6, 1.0 - 1e-6)] * 2, method="L-BFGS-B", options={"ftol": 1e-15}).x
    factors = _links(symptom, rows, knowledge)
    for name, b, p in zip(pair, book, best, strict=True):
        odds = factors[name] * b / (1.0 - b)
        assert odds / (1.0 + odds) == pytest.approx(p, abs=1e-4)
