"""The judge of what was learned, on scores that are given: whom each way is compared with, and how a case is weighed in all of them at once."""

from __future__ import annotations

import random
from typing import Any

import numpy as np
import pytest
from log_edges import FIXED, entry

from diagnose.knowledge import Knowledge
from diagnose.logbook import replay
from diagnose.logbook.book import New, put_in
from diagnose.logbook.store import Store
from diagnose.reasoning.network import NOT_LISTED, Model


def scores(**ways: float) -> tuple[tuple[float, bool], ...]:
    """A score for one who listens to nothing, and for each way there is; those not named are worse than all."""
    named = {"common": -3.0, "book": -2.0, **ways}
    every = [named.get("_".join(way) or "book", -9.0) for way in replay.EVERY]
    return ((named["common"], False), *((each, True) for each in every))


@pytest.mark.parametrize(
    ("told", "way", "gain"),
    [
        ({"rates": -1.0}, "rates", 1.0),
        ({"memory": -1.5}, "memory", 0.5),
        ({"rates": -1.5, "results": -1.0, "rates_results": -0.25}, "rates and results", 1.75),
        ({"rates": -1.5, "links": -1.5, "results": -1.5, "memory": -1.5, "rates_links_results_memory": -1.0}, "rates, links, results and memory", 1.0),
    ],
)  # fmt: skip
def test_each_way_is_judged_by_its_own_score(
    told: dict[str, float],
    way: str,
    gain: float,
    file_store: Store,
    knowledge: Knowledge,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Against the book, not against one who listens to nothing; what helps by itself is played together, and the best is told."""
    with file_store.writing() as connection:
        put_in(connection, [New(entry(knowledge, "thin_skin"), (FIXED,))] * 20)
    monkeypatch.setattr(replay, "learn", lambda *told: replay.Learned())
    monkeypatch.setattr(replay, "_scores", lambda book, plain, cases, ways: [scores(**told)] * len(cases))
    found = replay.judge(file_store, knowledge, None, None)
    assert (found.accepted, found.way, found.judged) == (True, way, 18)
    assert found.gain == pytest.approx(gain)
    assert (found.book.log_score, found.with_log.log_score) == (pytest.approx(-2.0), pytest.approx(gain - 2.0))


def test_priors_of_all_causes_at_once_are_those_one_by_one(knowledge: Knowledge) -> None:
    """Opposites share one three-way choice, whatever the facts make of each; to the last digits, on every build."""
    draw = random.Random(3)
    for build, painted in (("bare_foam", False), ("skin_and_foam", True), (None, None)):
        model = Model(knowledge, build, painted)
        assert any(model.opposite(name) for name in model.causes)
        products = {name: draw.choice((0.05, 0.5, 1.0, 3.0, 20.0)) for name in model.causes}
        wanted = model.priors(products)
        found = replay._priors(model, np.array([products[name] for name in model.causes]))
        assert found == pytest.approx([wanted[name] for name in (*model.causes, NOT_LISTED)], rel=1e-14)


def test_pieces_are_a_tenth_and_the_first_only_teaches(
    file_store: Store, knowledge: Knowledge, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of 25 confirmed cases, pieces of three: the first three are judged by nobody; each piece is judged by what came before its first case."""
    parts = [New(entry(knowledge, "thin_skin", date=f"2026-01-{day:02d}"), (FIXED,)) for day in range(1, 26)]
    with file_store.writing() as connection:
        put_in(connection, parts[::-1])
    asked: list[Any] = []
    monkeypatch.setattr(
        replay, "learn", lambda connection, knowledge, when=None: asked.append(when) or replay.Learned()
    )
    with file_store.reading() as connection:
        tasks = list(replay._tasks(connection, knowledge, "a folder"))
    assert [len(cases) for _, _, cases in tasks] == [3] * 7 + [1]
    assert {folder for folder, _, _ in tasks} == {"a folder"}
    days = [when.compile(compile_kwargs={"literal_binds": True}).string.split("'")[1] for when in asked]
    assert days == [f"2026-01-{day:02d}" for day in range(4, 26, 3)]
    assert tasks[0][2][0] == (parts[3].entry.case_json, ("mold_cold",))


def test_the_last_cases_are_judged(file_store: Store, knowledge: Knowledge, monkeypatch: pytest.MonkeyPatch) -> None:
    """Confirmed ones, by day and then as they were logged, at most so many, oldest first."""
    monkeypatch.setattr(replay, "MOST_JUDGED", 3)
    days = ["2026-01-03", "2026-01-01", "2026-01-02", "2026-01-02", "2026-01-04"]
    parts = [New(entry(knowledge, "thin_skin", date=day), (FIXED,)) for day in days]
    parts[4] = New(parts[4].entry, (replay.replace(FIXED, how="opinion"),))
    with file_store.writing() as connection:
        put_in(connection, parts)
        numbers = connection.exec_driver_sql("SELECT number FROM cases ORDER BY number").scalars().all()
        found = replay._confirmed(connection)
    assert [(case.day, case.number) for case in found] == [
        ("2026-01-02", numbers[2]), ("2026-01-02", numbers[3]), ("2026-01-03", numbers[0]),
    ]  # fmt: skip
    assert {case.causes for case in found} == {("mold_cold",)}
