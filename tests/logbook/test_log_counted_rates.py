"""Learning of rates on counts made by hand: how often a cause would have been named, and what the book is worth by that."""

from __future__ import annotations

import math

import numpy as np
import pytest
from msgspec.structs import replace

from diagnose.knowledge import Knowledge
from diagnose.logbook.changes import changed, changed_links, changed_results
from diagnose.logbook.entry import case_of
from diagnose.logbook.fit import Row
from diagnose.logbook.learn import Counts, _tried, base_factors, rate, spreads
from diagnose.logbook.learned import (
    Learned,
    LearnedModels,
    Seen,
    book_link,
    book_result,
    memory_ratio,
    moved,
    with_results,
)
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


def test_no_context_begins_beyond_even_odds(knowledge: Knowledge) -> None:
    """A knowledge of a dozen causes, each common: where all other parts were cold, the next context begins at one in two and not at certainty."""
    few = replace(
        knowledge,
        causes={name: knowledge.causes[name] for name in sorted(knowledge.causes)[:12]}
        | {"mold_cold": knowledge.causes["mold_cold"]},
    )
    book = Model(few, "skin_and_foam", False).base["mold_cold"]
    assert 1 / 8 < book / (1.0 - book) < 1.0
    cold = Counts(1000, {"mold_cold": 1000}, {})
    found = base_factors({"bare_foam/no": cold, "skin_and_foam/no": Counts()}, few)
    assert found["skin_and_foam/no"]["mold_cold"] == pytest.approx((1.0 - book) / book, abs=1e-9)
    assert found[""]["mold_cold"] > 1.0


def test_what_is_learned_is_kept_to_ten_digits(knowledge: Knowledge) -> None:
    """Factors and spreads, so that the same log teaches the same on every machine; a rate laid over the book is exact to a trillionth."""
    counts = {"bare_foam/no": Counts(37, {"mold_cold": 11, "a_rich": 3}, {"mold_cold": 5, "b_wet": 20})}
    factors = base_factors(counts, knowledge)["bare_foam/no"]
    assert len(factors) > 10
    assert all(factor == round(factor, 10) for factor in factors.values())
    assert any(factor != round(factor, 9) for factor in factors.values())
    table = _Table(Model(knowledge, None, None), {}, {})
    moves = dict(table.factors(0.9 * np.array(table.book)))
    assert all(factor == round(factor, 10) for factor in moves.values())
    assert any(factor != round(factor, 9) for factor in moves.values())
    molds = {str(i): Seen(30, 20, {"trapped_air": 10 if i < 2 else 2}) for i in range(9)}
    total = Seen(270, 180, {"trapped_air": 34})
    spread = spreads(total, {"mold": molds}, knowledge)["mold"]["trapped_air"]
    assert (spread == round(spread, 10), spread != round(spread, 9)) == (True, True)
    bare = case_of({"case": 1, "answers": {"build": "bare_foam", "painted": "no"}}, knowledge)
    book = Model(knowledge, "bare_foam", False).base
    base = LearnedModels(knowledge, Learned(base={"bare_foam/no": factors})).of(bare).base
    for name, factor in factors.items():
        assert base[name] == pytest.approx(moved(book[name], factor), rel=0.0, abs=5.1e-13)


def test_a_cause_that_showed_in_no_known_mold_differs_between_none(knowledge: Knowledge) -> None:
    """Confirmed in parts of which nobody wrote down the mold: nothing is remembered of it; nor of what every pour had."""
    molds = {name: Seen(20, 20, {"a_rich": 20}) for name in ("owl", "fox", "elk")}
    assert spreads(Seen(80, 80, {"trapped_air": 9, "a_rich": 60}), {"mold": molds}, knowledge) == {
        "mold": {"trapped_air": 0.0, "a_rich": 0.0}
    }


def test_what_moved_most_is_told_first(knowledge: Knowledge) -> None:
    """Rates by their odds, up or down; of those that moved alike the name decides."""
    counts = {"bare_foam/no": Counts(10, {})}
    factors = {"a_rich": 1.5, "b_rich": 4.0, "b_wet": 2.5, "mold_cold": 0.2}
    found = changed(counts, Learned(base={"bare_foam/no": factors}), knowledge)
    moves = [abs(math.log(each.now / each.book)) for each in found]
    assert moves == sorted(moves, reverse=True)
    assert [each.id for each in found] == ["mold_cold", "b_rich", "b_wet", "a_rich"]
    assert {each.cases for each in found} == {0}, "nobody named them"


def test_a_lot_is_remembered_whatever_the_mold(knowledge: Knowledge) -> None:
    """A mold that nobody told, or that was never seen, is passed over; the lot speaks all the same."""
    learned = Learned(
        all=Seen(400, 100, {"b_wet": 8}),
        memory={"mold": {"harbor\tm": Seen(9, 9, {})}, "lot_a": {}, "lot_b": {"L": Seen(9, 9, {"b_wet": 9})}},
        spread={"mold": {}, "lot_b": {"b_wet": 0.3}},
    )
    models = LearnedModels(knowledge, learned)
    bare = case_of({"case": 1, "answers": {"build": "bare_foam", "painted": "no"}}, knowledge)
    book = models.of(bare).base["b_wet"]
    found = [
        models.of(bare.with_about(lot_b="L", **about)).base["b_wet"]
        for about in ({}, {"mold": "m"}, {"mold": "m", "client": "harbor"}, {"lot_a": "x"})
    ]
    assert found == [found[0]] * 4
    assert found[0] > 1.5 * book


def test_results_of_another_book_are_not_told(knowledge: Knowledge) -> None:
    """Nor the base, which isn't learned, nor those of a check that is no more; nor what moved by less than half a hundredth."""
    check = knowledge.checks["swab_test"]
    first, *others = check.telling
    factors = {first: 3.0, "of_another_book": 3.0, check.base: 3.0, **dict.fromkeys(others, 1.01)}
    found = changed_results(Learned(results={check.id: factors, "of_another_book": {"x": 3.0}}), knowledge)
    assert [(each.check, each.result) for each in found] == [(check.id, first)]
    assert found[0].book == book_result(knowledge, check.id, first)
    assert found[0].now == pytest.approx(moved(found[0].book, 3.0))


def test_links_that_moved_most_are_told_first(knowledge: Knowledge) -> None:
    """By how far the chance moved, up or down; of those that moved alike, the name of the cause decides, then that of the finding."""
    causes = sorted(name for name, cause in knowledge.causes.items() if len(cause.symptoms) > 1)[:6]
    moves = dict(zip(causes, (1.5, 0.3, 3.9, 0.9, 2.2, 0.5), strict=True))
    factors = {
        cause: dict.fromkeys(list(knowledge.causes[cause].symptoms)[:2], factor) for cause, factor in moves.items()
    }
    found = changed_links(Learned(links=factors), knowledge)
    assert len(found) > 8
    order = [
        (-round(abs(moved(book, moves[c]) - book), 9), c, s)
        for c, s, book in ((e.cause, e.finding, e.book) for e in found)
    ]
    assert order == sorted(order)
    pairs = [(e.cause, e.finding) for e in found]
    assert all(book_link(knowledge, *pair) == each.book for pair, each in zip(pairs, found, strict=True))
    left_out = {(c, s) for c, table in factors.items() for s in table} - set(pairs)
    assert all(
        abs(moved(book_link(knowledge, c, s) or 0.0, moves[c]) - (book_link(knowledge, c, s) or 0.0)) < 0.005
        for c, s in left_out
    )


@pytest.mark.parametrize(
    ("context", "build", "painted"),
    [("bare_foam/no", "bare_foam", False), ("skin_and_foam/yes", "skin_and_foam", True), ("", None, None)],
)
def test_what_moved_is_told_against_the_book_of_its_context(
    context: str, build: str | None, painted: bool | None, knowledge: Knowledge
) -> None:
    """Bare or painted, or of no known kind: a rate that moved threefold in its odds, in so many cases, named so often."""
    name = next(c for c in sorted(knowledge.causes) if knowledge.applies(c, build, painted))
    book = Model(knowledge, build, painted).base[name]
    (found,) = changed({context: Counts(40, {name: 7})}, Learned(base={context: {name: 3.0}}), knowledge)
    assert (found.id, found.cases, found.book, found.now) == (
        name,
        7,
        pytest.approx(book),
        pytest.approx(moved(book, 3.0)),
    )


def test_results_are_moved_in_their_odds_and_none_is_made(knowledge: Knowledge) -> None:
    """Of another book neither check nor result is looked at, and the base stays what shows without a cause."""
    check = knowledge.checks["swab_test"]
    result = check.telling[-1]
    factors = {check.id: {result: 3.0, "of_another_book": 3.0, check.base: 3.0}, "of_another_book": {"x": 2.0}}
    found = with_results(knowledge, factors).checks
    book = book_result(knowledge, check.id, result)
    assert found[check.id].results[result].background == pytest.approx(moved(book, 3.0))
    rest = {name: each for name, each in found[check.id].results.items() if name != result}
    assert rest == {name: each for name, each in check.results.items() if name != result}
    assert {name: each for name, each in found.items() if name != check.id} == {
        name: each for name, each in knowledge.checks.items() if name != check.id
    }
    assert with_results(knowledge, {}) is knowledge
    several = {name: {check.telling[0]: 2.0} for name, check in knowledge.checks.items()}
    every = with_results(knowledge, several)
    assert all(
        book_result(every, name, r) == pytest.approx(moved(book_result(knowledge, name, r), 2.0))
        for name, table in several.items()
        for r in table
    )


def test_two_reasons_for_one_cause_multiply(knowledge: Knowledge) -> None:
    """A mold and a lot that both speak for a cause: their ratios as `memory_ratio` has each, times each other, on the odds of its rate."""
    seen = {"mold": Seen(9, 5, {"b_wet": 1}), "lot_b": Seen(9, 4, {"b_wet": 1})}
    learned = Learned(
        all=Seen(400, 100, {"b_wet": 8}),
        memory={"mold": {"\towl": seen["mold"]}, "lot_b": {"L": seen["lot_b"]}},
        spread={"mold": {"b_wet": 0.1}, "lot_b": {"b_wet": 0.05}},
    )
    models, bare = (
        LearnedModels(knowledge, learned),
        case_of({"case": 1, "answers": {"build": "bare_foam", "painted": "no"}}, knowledge),
    )
    base, stage = models.of(bare).base["b_wet"], knowledge.causes["b_wet"].stage
    ratios = [memory_ratio(learned, factor, seen[factor], "b_wet", stage, base) for factor in seen]
    assert 1.0 / 8.0 < math.prod(ratios) < 8.0
    assert all(abs(math.log(ratio)) > 0.05 for ratio in ratios)
    both = models.of(bare.with_about(mold="owl", lot_b="L")).base["b_wet"]
    assert both == pytest.approx(moved(base, math.prod(ratios)), abs=1e-11)
    assert models.of(bare.with_about(mold="owl")).base["b_wet"] == pytest.approx(moved(base, ratios[0]), abs=1e-11)
