"""The log at its edges: what is counted, and the statistics of it."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from log_edges import FIXED, entry, put_before_the_page
from msgspec.structs import replace

from diagnose.knowledge import Knowledge
from diagnose.logbook import page as pages
from diagnose.logbook import store as log_store
from diagnose.logbook.book import New, add, close, listed, put_in
from diagnose.logbook.counts import Span
from diagnose.logbook.entry import (
    Said,
)
from diagnose.logbook.learn import learn
from diagnose.logbook.movers import back_up
from diagnose.logbook.page import page_of
from diagnose.logbook.places import where_of
from diagnose.logbook.statistics import clopper_pearson, fisher, odds_ratio, p_chart, pareto, wilson
from diagnose.logbook.store import Store, open_log

# -- counting ----------------------------------------------------------------------------------------------------------


def test_each_band_of_what_was_said_has_its_lower_edge(file_store: Store, knowledge: Knowledge) -> None:
    """20 % is in the second, certainty in the last; those that were right, and the mean said."""
    told = (0.0, 0.19, 0.2, 0.4, 0.5, 0.6, 0.8, 1.0)
    with file_store.writing() as connection:
        for i, chance in enumerate(told):
            said = Said("k", (("mold_cold" if i % 2 else "a_rich", chance),))
            put_in(connection, [New(replace(entry(knowledge, "thin_skin"), said=said), (FIXED,))])
    bands = page_of(file_store, Span()).to_plain()["calibration"]
    assert [(b["from"], b["to"], b["n"], b["right"], b["said"]) for b in bands] == [
        (0.0, 0.2, 2, 1, 0.095), (0.2, 0.4, 1, 0, 0.2), (0.4, 0.6, 2, 1, 0.45), (0.6, 0.8, 1, 1, 0.6), (0.8, 1.0, 2, 1, 0.9),
    ]  # fmt: skip
    assert (bands[0]["low"], bands[0]["high"]) == pytest.approx(wilson(1, 2))


@pytest.mark.parametrize(
    ("first", "last", "n"),
    [("", "", 4), ("2026-01-02", "", 2), ("", "2026-01-02", 2), ("2026-01-02", "2026-01-02", 1), ("2026-01-04", "", 0)],
)
def test_a_side_left_open_is_open(first: str, last: str, n: int, file_store: Store, knowledge: Knowledge) -> None:
    """Both ends count; a part without a day only where no side is bounded."""
    days = ("2026-01-01", "2026-01-02", "2026-01-03", "")
    with file_store.writing() as connection:
        put_in(connection, [New(entry(knowledge, "thin_skin", date=day)) for day in days])
    plain = page_of(file_store, Span(first, last)).to_plain()
    assert (plain["n"], plain["bad"], plain["waiting"], sum(f["count"] for f in plain["pareto_faults"])) == (n, n, n, n)
    assert (plain["from"], plain["to"], plain["version"]) == (first or None, last or None, 1)


def molds(knowledge: Knowledge, counts: dict[str, tuple[int, int]]) -> list[New]:
    """For each mold so many parts with pinholes and so many good ones."""
    made = []
    for mold, (bad, good) in counts.items():
        made += [New(entry(knowledge, "pinholes", mold=mold))] * bad + [
            New(entry(knowledge, good=True, mold=mold))
        ] * good
    return made


def test_what_goes_with_a_mold_by_its_four_counts(
    file_store: Store, knowledge: Knowledge, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nine bad of ten against two of thirty; parts of no known mold count on neither side; five parts make a level, four don't."""
    with file_store.writing() as connection:
        put_in(connection, molds(knowledge, {"x": (9, 1), "y": (2, 28), "z": (4, 0), "": (7, 3)}))
    page = page_of(file_store, Span()).to_plain()
    (found,) = (a for a in page["associations"] if a["factor"] == "mold")
    assert {key: found[key] for key in ("level", "fault", "seen", "of", "seen_elsewhere", "of_elsewhere")} == {
        "level": "x", "fault": "pinholes", "seen": 9, "of": 10, "seen_elsewhere": 6, "of_elsewhere": 34,
    }  # fmt: skip
    table = (9, 1, 6, 28)
    assert (found["odds_ratio"], found["low"], found["high"]) == pytest.approx(odds_ratio(table))
    assert found["odds_ratio"] == pytest.approx(9 * 28 / 6)
    assert found["p"] == pytest.approx(fisher([table])[0])
    assert page["pairs_tested"] == 2
    monkeypatch.setattr(pages, "LEVELS", 1)
    assert page_of(file_store, Span()).to_plain()["pairs_tested"] == 1
    monkeypatch.setattr(pages, "SHOWN", 0)
    assert page_of(file_store, Span()).to_plain()["associations"] == []


def test_a_level_needs_five_parts_and_a_fault_five_of_them(file_store: Store, knowledge: Knowledge) -> None:
    """Of known molds; a pair that comes less often together is tested and not shown."""
    with file_store.writing() as connection:
        put_in(connection, molds(knowledge, {"a": (4, 1), "b": (0, 40), "c": (0, 4)}))
    assert page_of(file_store, Span()).to_plain()["pairs_tested"] == 0
    with file_store.writing() as connection:
        put_in(connection, molds(knowledge, {"a": (1, 0)}))
    page = page_of(file_store, Span()).to_plain()
    assert page["pairs_tested"] == 2
    assert [a["level"] for a in page["associations"] if a["factor"] == "mold"] == ["a"]


def test_weeks_and_plans_are_counted(file_store: Store, knowledge: Knowledge) -> None:
    """By their Monday; a plan counts where the part was poured again, good or bad."""
    rows = [("2026-01-04", "good"), ("2026-01-05", "bad"), ("2026-01-11", "not_poured"), ("2026-01-12", "good")]
    with file_store.writing() as connection:
        put_in(
            connection, [New(entry(knowledge, "thin_skin", date=day), (replace(FIXED, next=how),)) for day, how in rows]
        )
        put_in(connection, [New(entry(knowledge, good=True, date="2026-01-05")), New(entry(knowledge, good=True))])
    plain = page_of(file_store, Span()).to_plain()
    assert [(p["period"], p["n"], p["bad"]) for p in plain["p_chart"]["points"]] == [
        ("2026-W01", 1, 1), ("2026-W02", 3, 2), ("2026-W03", 1, 1),
    ]  # fmt: skip
    assert (plain["plans"]["tried"], plain["plans"]["good"]) == (3, 2)
    assert [bar["share"] for bar in plain["pareto_causes"]] == [1.0]
    assert (plain["pareto_causes"][0]["cost"], plain["pareto_faults"][0]["cost"]) == (480.0, 480.0)


def test_an_outcome_that_was_corrected_counts_once(file_store: Store, knowledge: Knowledge) -> None:
    """As it was corrected: by cause, in the plans, in what was said and in what is learned; the earlier one stays in the book alone."""
    said = replace(entry(knowledge, "thin_skin"), said=Said("k", (("mold_cold", 0.5),)))
    name = add(file_store, New(said, (FIXED,)))
    close(file_store, name, replace(FIXED, causes=("a_rich",), next="bad"))
    plain = page_of(file_store, Span()).to_plain()
    assert [(bar["id"], bar["count"]) for bar in plain["pareto_causes"]] == [("a_rich", 1)]
    assert (plain["plans"]["tried"], plain["plans"]["good"]) == (1, 0)
    assert [(band["n"], band["right"]) for band in plain["calibration"]] == [(1, 0)]
    with file_store.reading() as connection:
        learned = learn(connection, knowledge)
        current = (
            connection.exec_driver_sql("SELECT current FROM outcomes UNION ALL SELECT current FROM outcome_causes")
            .scalars()
            .all()
        )
    assert (learned.cases, learned.all.causes) == (1, {"a_rich": 1})
    assert sorted(current) == [0, 0, 1, 1]


def test_twenty_five_findings_are_shown_of_forty_levels(file_store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    """The clearest first; levels of fewer than five parts are not looked at."""
    asked = put_before_the_page(monkeypatch, {f"level {i:02d}": (20 + i, 1, 1, 900) for i in range(30)})
    page = page_of(file_store, Span())
    assert [found.level for found in page.associations] == [f"level {i:02d}" for i in range(29, 4, -1)]
    assert page.pairs == 30
    assert asked == [(factor, 40, 5) for factor in ("mold", "lot_a", "lot_b", "person", "season", "ratio")]


def test_what_comes_oftener_together_is_shown_and_what_comes_seldomer_is_not(
    file_store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    """However little, where it is sure; a pair of fewer than five parts with the fault is not tested."""
    pairs = {
        "a little": (6000, 4000, 5000, 5000),
        "seldomer": (4000, 6000, 5000, 5000),
        "few": (4, 0, 0, 900),
        "five": (5, 0, 0, 900),
    }
    put_before_the_page(monkeypatch, pairs)
    page = page_of(file_store, Span())
    assert ({found.level for found in page.associations}, page.pairs) == ({"a little", "five"}, 3)


@pytest.mark.parametrize(("beside", "still"), [(None, True), (b"", True), (b"x", False)])
def test_a_folder_that_can_not_be_written_is_read_without_a_trace(
    beside: bytes | None,
    still: bool,
    file_store: Store,
    knowledge: Knowledge,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Where nothing is left to be written into the log; else its own files are needed."""
    add(file_store, New(entry(knowledge, "thin_skin")))
    path = tmp_path / "copy" / "log.db"
    path.parent.mkdir()
    back_up(file_store, path)
    if beside is not None:
        Path(f"{path}-wal").write_bytes(beside)
    asked = []
    opened = log_store._sqlite
    monkeypatch.setattr(log_store.os, "access", lambda folder, mode: False)
    monkeypatch.setattr(log_store, "_sqlite", lambda *told: asked.append(told[1:]) or opened(*told))
    assert len(listed(open_log(where_of(str(path))))) == 1
    assert asked == [(False, still)]


def test_writing_begins_with_the_lock_and_reading_without(file_store: Store) -> None:
    """So that no two writers work on a stale view, and nobody who looks keeps a writer waiting."""
    path = file_store.where.file
    assert path is not None
    with closing(sqlite3.connect(path, timeout=0, isolation_level=None)) as other:
        with file_store.writing(), pytest.raises(sqlite3.OperationalError, match="locked"):
            other.execute("BEGIN IMMEDIATE")
        with file_store.reading() as connection:
            connection.exec_driver_sql("SELECT count(*) FROM cases").scalar()
            other.execute("BEGIN IMMEDIATE")
            other.execute("ROLLBACK")


# -- statistics --------------------------------------------------------------------------------------------------------


def test_levels_are_ninety_five_in_a_hundred_unless_said() -> None:
    """For the intervals of a share and of an odds ratio alike; other levels are wider or narrower."""
    table = (12, 5, 29, 63)
    assert wilson(3, 9) == wilson(3, 9, 0.95)
    assert clopper_pearson(3, 9) == clopper_pearson(3, 9, 0.95)
    assert odds_ratio(table) == odds_ratio(table, 0.95)
    assert odds_ratio(table, 0.99)[1] < odds_ratio(table)[1] < odds_ratio(table, 0.5)[1]
    assert wilson(9, 9)[1] == clopper_pearson(9, 9)[1] == 1.0
    with pytest.raises(ValueError, match="0 or more"):
        fisher([(1, 2, 3, 4), (1, -1, 2, 3)])


def test_a_week_of_one_part_is_a_week() -> None:
    """With limits of its own; one without a part is none."""
    chart = p_chart([("a", 1, 1), ("b", 0, 0), ("c", 3, 0)])
    assert [(p.period, p.n, p.p) for p in chart.points] == [("a", 1, 1.0), ("c", 3, 0.0)]
    assert chart.center == 0.25
    assert [(p.low, p.high, p.signals) for p in chart.points] == [(0.0, 1.0, ()), (0.0, 1.0, ())], (
        "on a limit is within it"
    )


def test_bars_hold_their_counts_and_costs() -> None:
    """Each with its share and the sum so far; what never came is left out."""
    bars = pareto([("a", 1, 9.0), ("b", 3, 1.0), ("none", 0, 5.0)])
    assert [(b.id, b.count, b.cost, b.share, b.cumulative) for b in bars] == [
        ("b", 3, 1.0, 0.75, 0.75),
        ("a", 1, 9.0, 0.25, 1.0),
    ]
