"""What is learned by repeating two steps is the top of the likelihood: against a general optimizer that knows no EM (scipy)."""

from __future__ import annotations

import math
import random

import numpy as np
import pytest
from scipy.optimize import minimize, minimize_scalar

from diagnose.knowledge import load_knowledge
from diagnose.logbook.fit import TOLD, WORTH_TOLD, Row, fitted
from diagnose.logbook.learn import NAMED_LOOKED, NAMED_UNLOOKED, WORTH_BASE, Counts, rate


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
    """Links of two causes to one symptom, and how much of what shows is told, learned together: the same to 1e-4."""
    knowledge, rng = load_knowledge(), random.Random(seed)
    symptom = "thin_skin"
    pair = tuple(name for name, cause in knowledge.causes.items() if symptom in cause.symptoms)[seed : seed + 2]
    book = [knowledge.causes[name].symptoms[symptom].p for name in pair]
    leak, worth = knowledge.symptoms[symptom].background, (30.0, 100.0)[seed % 2]
    rows = []
    for places in ((0,), (1,), (0, 1)):
        cases = rng.randrange(20, 80)
        seen = rng.randrange(cases // 2)
        absent = rng.randrange(cases - seen)
        rows.append(Row(seen, absent, cases - seen - absent, leak, places, 0.5 * leak))

    def loss(at: np.ndarray) -> float:
        *links, said = at
        told = sum(worth * (b * math.log(p) + (1.0 - b) * math.log(1.0 - p)) for b, p in zip(book, links, strict=True))
        told += WORTH_TOLD * (TOLD * math.log(said) + (1.0 - TOLD) * math.log(1.0 - said))
        for row in rows:
            shows = 1.0 - (1.0 - leak) * math.prod(1.0 - links[place] for place in row.links)
            hidden = 1.0 - (1.0 - 0.5 * leak) * math.prod(1.0 - links[place] for place in row.links)
            told += row.seen * math.log(said * shows) + row.absent * math.log(1.0 - shows)
            told += row.open * math.log(1.0 - said * hidden)
        return -told

    start = [*book, TOLD]
    best = minimize(loss, start, bounds=[(1e-6, 1.0 - 1e-6)] * 3, method="L-BFGS-B", options={"ftol": 1e-15}).x
    found = fitted(np.array(book), np.full(2, worth), rows)
    assert [*found.links.tolist(), found.told[0]] == pytest.approx(best.tolist(), abs=1e-4)
