"""Learning of rates on counts made by hand: how often a cause would have been named, and what the book is worth by that."""

from __future__ import annotations

import math

import pytest

from diagnose.knowledge import Knowledge
from diagnose.logbook.changes import changed_results
from diagnose.logbook.fit import Row
from diagnose.logbook.learn import Counts, _tried, rate
from diagnose.logbook.learned import Learned, book_result
from diagnose.logbook.links import _Table
from diagnose.reasoning.network import Model


def test_how_often_a_cause_would_have_been_named(knowledge: Knowledge) -> None:
    """Of ten cases two named it, three cleared it and five left it open: where somebody looked, 95 of 100 would have named it, elsewhere 60
    (our own, no source), and only where it shows. Never less often than it was named.
    """
    shows = 1.0 - math.prod(
        1.0 - link.p
        for symptom, link in knowledge.causes["a_rich"].symptoms.items()
        if knowledge.applies(symptom, "bare_foam", False)
    )
    book = {"bare_foam/no": {"a_rich": 0.05}}
    counts = Counts(10, {"a_rich": 2}, {"a_rich": 3})
    assert list(_tried({"bare_foam/no": counts}, book, knowledge, 1.0)) == [
        (2, pytest.approx(10 * (3 * 0.95 + 5 * 0.60) / 8 * shows), 0.05)
    ]
    always = Counts(10, {"a_rich": 10}, {})
    assert list(_tried({"bare_foam/no": always}, book, knowledge, 1.0)) == [(10, 10.0, 0.05)]
    sure = Counts(10, {"a_rich": 2}, {"a_rich": 8})
    assert list(_tried({"bare_foam/no": sure}, book, knowledge, 1.0)) == [(2, pytest.approx(9.5 * shows), 0.05)]
    never = Counts(10, {}, {})
    assert list(_tried({"bare_foam/no": never}, book, knowledge, 1.0)) == [(0, pytest.approx(6.0 * shows), 0.05)]


def test_a_rate_that_is_named_each_time_is_the_plain_beta() -> None:
    """The book at 0.2 is worth a hundred cases: with thirty more, all named, 50 of 130; with none it stays."""
    assert rate(0.2, Counts(30, {"x": 30}, {}), "x", shows=1.0) == (pytest.approx(50 / 130), 30.0)
    assert rate(0.2, Counts(0, {}, {}), "x", shows=1.0) == (pytest.approx(0.2), 0.0)
    odd = rate(0.2, Counts(10, {"x": 6}, {"x": 7}), "x", shows=1.0)
    assert odd[1] == pytest.approx(6 + 7 * odd[0] * 0.05 / (1 - 0.95 * odd[0])), (
        "what nobody told of is never less than none"
    )


def test_of_what_moved_alike_the_name_decides(knowledge: Knowledge) -> None:
    """Alike to a billionth: an order that hung on less would be another on another machine."""
    by_book: dict[float, list[tuple[str, str]]] = {}
    for name, check in sorted(knowledge.checks.items()):
        for result in check.telling:
            by_book.setdefault(book_result(knowledge, name, result), []).append((name, result))
    p, alike = max(by_book.items(), key=lambda pair: (len(pair[1]), pair[0]))
    assert len(alike) > 2
    factors: dict[str, dict[str, float]] = {}
    for name, result in alike:
        factors.setdefault(name, {})[result] = 1.5
    last, worst = sorted(alike)[-1]
    factors[last][worst] += 2e-10 / (p * (1.0 - p) / (1.0 - p + 1.5 * p) ** 2)  # moves it 0.2 billionths farther
    found = changed_results(Learned(results=factors), knowledge)
    assert [(each.check, each.result) for each in found] == sorted(alike)
    assert found[-1].now - found[-2].now == pytest.approx(2e-10, rel=1e-3)


def test_tries_that_would_have_been_told(knowledge: Knowledge) -> None:
    """Of ten cases: a reading of a check with one result tells all ten, of one with several values its share, of a symptom the symptoms'.

    What fired what was seen is the link's share of the chance that it shows: 0.3 / (1 - 0.9 x 0.7) of four.
    """
    table = _Table(Model(knowledge, None, None), {}, {})
    kinds = {None: 0.5, "many": 0.25, "choice": 1.0, "number": 1.0}
    for kind, share in kinds.items():
        place, book = next(
            (i, table.book[i])
            for i, (cause, finding) in enumerate(table.keys)
            if cause and getattr(knowledge.checks.get(finding.partition(":")[0]), "kind", None) == kind
        )
        row = Row(4, 3, 3, 0.1, (place,), check=kind is not None)
        fired = 4 * book / (1.0 - 0.9 * (1.0 - book))
        found = table._tried([row], (0.5, 0.25))
        assert found == {place: (pytest.approx(fired), pytest.approx(max(10 * share, fired)), book)}
        again = table._tried([row, row], (0.5, 0.25))
        assert again == {place: (pytest.approx(2 * fired), pytest.approx(max(20 * share, 2 * fired)), book)}
