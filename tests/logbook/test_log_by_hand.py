"""What the log works out without a database, by hand: seasons, what a mold or lot teaches, what replay judges, what an export hides."""

from __future__ import annotations

import json
import math
from types import SimpleNamespace
from typing import Any

import pytest

from diagnose.logbook import replay
from diagnose.logbook.book import Kept
from diagnose.logbook.entry import Outcome, Said
from diagnose.logbook.exchange import Anonymous, line_of
from diagnose.logbook.learn import spreads
from diagnose.logbook.learned import Learned, Seen, bounded, memory_key, memory_ratio, moved
from diagnose.logbook.migrations import season_of, week_of
from diagnose.logbook.statistics import Beta, p_chart, wilson


@pytest.mark.parametrize(
    ("months", "season"),
    [((12, 1, 2), "Dec-Feb"), ((3, 4, 5), "Mar-May"), ((6, 7, 8), "Jun-Aug"), ((9, 10, 11), "Sep-Nov")],
)
def test_a_season_is_three_months(months: tuple[int, ...], season: str) -> None:
    """Each month, by its first and its 28th day; no day, no season."""
    for month in months:
        assert {season_of(f"2026-{month:02d}-{day}") for day in ("01", "28")} == {season}
    assert season_of("") == ""


@pytest.mark.parametrize(
    ("day", "week"),
    [
        ("2026-03-02", "2026-W10"),
        ("2026-03-08", "2026-W10"),
        ("2027-01-01", "2026-W53"),
        ("2024-12-30", "2025-W01"),
        ("", ""),
    ],
)
def test_a_week_is_that_of_the_standard(day: str, week: str) -> None:
    """Weeks begin on Monday and belong to the year of their Thursday (ISO 8601)."""
    assert week_of(day) == week


# -- what is learned ---------------------------------------------------------------------------------------------------


def test_odds_are_moved_within_bounds() -> None:
    """A chance of a half moved threefold is three quarters; no factor beyond its bound, up or down."""
    assert moved(0.5, 3.0) == pytest.approx(0.75)
    assert [bounded(factor, 4.0) for factor in (10.0, 4.0, 1.0, 0.25, 0.1)] == [4.0, 4.0, 1.0, 0.25, 0.25]


def test_a_mold_is_its_client_s_and_a_drum_is_a_drum() -> None:
    """Two clients may have a mold of one name; a lot number is the same wherever it is poured."""
    assert memory_key("mold", "harbor", "owl") != memory_key("mold", "quarry", "owl")
    for lot in ("lot_a", "lot_b"):
        assert memory_key(lot, "harbor", "7") == memory_key(lot, "quarry", "7") == "7"


def test_what_a_mold_says_of_a_cause_by_hand() -> None:
    """A correlation of 0.2 is worth 4 pours. Not carried: (2 + 4 x 0.1) of (6 bad + 4) against 0.1. Carried: (2 + 4 u) of (10 pours + 4) against u,
    the shop's (5 + 20 x 0.1 x 20 bad / 100 pours) of (100 + 20).
    """
    learned = Learned(all=Seen(100, 20, {"x": 5}), spread={"mold": {"x": 0.2}})
    seen = Seen(10, 6, {"x": 2})
    assert memory_ratio(learned, "mold", seen, "x", "mixing", 0.1) == pytest.approx(2.4 / 10 / 0.1)
    usual = (5 + 20 * 0.1 * 20 / 100) / 120
    assert memory_ratio(learned, "mold", seen, "x", "mold_design", 0.1) == pytest.approx((2 + 4 * usual) / 14 / usual)
    assert memory_ratio(learned, "mold", seen, "y", "mold_design", 0.1) == 1.0


def test_molds_that_differ_more_than_chance_has_it() -> None:
    """Nine molds with 2 of 20 and one with 14: scatter 48.2 on 9 degrees, 39.2 too much for a room of 171 (beta-binomial by moments)."""
    knowledge: Any = SimpleNamespace(causes={"x": SimpleNamespace(stage="mold_design")})
    total = Seen(200, 50, {"x": 32, "of_yesterday": 9})
    molds = {f"m{i}": Seen(20, 5, {"x": 2}) for i in range(9)}
    found = spreads(total, {"mold": {**molds, "m9": Seen(20, 5, {"x": 14})}, "lot_a": {}}, knowledge)
    scatter = (9 * 20 * 0.06**2 + 20 * 0.54**2) / (0.16 * 0.84)
    assert found == {"mold": {"x": pytest.approx((scatter - 9) / (200 - 20 - 9), abs=1e-9)}}
    alike = spreads(total, {"mold": {**molds, "m9": Seen(20, 5, {"x": 6})}}, knowledge)
    assert alike == {"mold": {"x": 0.0}}
    assert spreads(total, {"mold": {"m9": Seen(20, 5, {"x": 14})}}, knowledge) == {"mold": {"x": 0.0}}, (
        "one mold differs from none"
    )
    assert spreads(total, {"mold": {"m0": Seen(20, 5, {"x": 20}), "m1": Seen(20, 5, {"x": 20})}}, knowledge) == {
        "mold": {"x": 0.0}
    }


def test_a_cause_that_no_mold_carries_is_judged_among_bad_parts() -> None:
    """Of what is mixed anew each time the good pours say nothing, and a mold without a bad part is left out; a lot is not judged at all."""
    knowledge: Any = SimpleNamespace(causes={"x": SimpleNamespace(stage="mixing")})
    total = Seen(400, 80, {"x": 40})
    table = {"all": Seen(100, 40, {"x": 40}), "none": Seen(100, 40, {}), "good": Seen(200, 0, {})}
    assert spreads(total, {"mold": table, "lot_a": table}, knowledge) == {"mold": {"x": 0.5}}


def test_a_beta_in_print() -> None:
    """Beta(2, 3): mean 0.4, standard deviation 0.2 (ab / ((a + b)^2 (a + b + 1)) = 6 / 150)."""
    belief = Beta(2.0, 3.0)
    assert (belief.mean, belief.sd) == (0.4, pytest.approx(0.2))
    low, high = belief.interval(0.9)
    assert 0.0 < low < 0.4 < high < 1.0
    assert Beta(1.0, 1.0).interval(0.9) == pytest.approx((0.05, 0.95))


def test_limits_of_a_p_chart_by_hand() -> None:
    """A share of 0.2 over all: 0.2 +- 3 sqrt(0.2 x 0.8 / 100) is 0.08 to 0.32, and 33 of 100 lie above it."""
    chart = p_chart([("a", 100, 20), ("b", 100, 33), ("c", 100, 7)])
    assert chart.center == pytest.approx(0.2)
    assert [(p.low, p.high) for p in chart.points] == [(pytest.approx(0.08), pytest.approx(0.32))] * 3
    assert [p.signals for p in chart.points] == [(), ("above",), ("below",)]
    assert [p.p for p in chart.points] == [0.2, 0.33, 0.07]
    assert wilson(0, 0) == (0.0, 1.0)


# -- what replay judges ------------------------------------------------------------------------------------------------


def verdict(rows: list[tuple[tuple[float, bool], ...]]) -> Any:
    """The verdict on scores of book, rates, memory, and of both together where they are given; links and results no good."""
    learned = Learned(
        9, "", {"": {"a": 2.0}}, {"mold_cold": {"thin_skin": 1.5}}, memory={"mold": {}}, spread={"mold": {}}
    )
    ways = [*replay.WAYS, ("rates", "memory")]
    bad = (-9.0, True)
    return replay._verdict(
        learned, ways, [((-5.0, False), row[0], row[1], bad, bad, row[2], *(row[3:] or (bad,))) for row in rows]
    )


def test_learning_is_accepted_where_it_foretells_better() -> None:
    """A mean gain of 0.3 with an error of a few hundredths, no first place lost: accepted, and kept is only what did best."""
    rows = [((-2.0, True), (-1.7 - 0.01 * (i % 2), True), (-1.9, True)) for i in range(40)]
    found = verdict(rows)
    assert (found.accepted, found.reason, found.judged) == (True, "", 40)
    assert found.gain == pytest.approx(0.295)
    assert found.error == pytest.approx(0.005 * math.sqrt(40 / 39) / math.sqrt(40))
    assert (bool(found.learned.base), found.learned.spread) == (True, {})
    assert (found.book.first, found.with_log.log_score) == (1.0, pytest.approx(-1.705))
    remembered = verdict([((-2.0, True), (-1.7, True), (-1.5, True))] * 40)
    assert (remembered.gain, remembered.learned.base, remembered.learned.spread) == (
        pytest.approx(0.5),
        {},
        {"mold": {}},
    )
    assert found.learned.links == remembered.learned.links == {}
    both = verdict([((-2.0, True), (-1.9, True), (-1.8, True), (-1.5, True))] * 40)
    assert (both.gain, both.way, both.learned.spread) == (pytest.approx(0.5), "rates and memory", {"mold": {}})
    assert (bool(both.learned.base), both.learned.links) == (True, {})


def test_learning_is_refused_where_it_gains_nothing_or_loses_first_places() -> None:
    """No gain; a gain within its error; a gain that costs a fifth of the right first causes."""
    nothing = verdict([((-2.0, True), (-2.0, True), (-2.0, True))] * 40)
    assert (nothing.accepted, nothing.reason) == (False, "it does not foretell the causes better than the book")
    wild = verdict([((-2.0, True), (-1.7 + 9.0 * (-1) ** i, True), (-9.0, True)) for i in range(40)])
    assert not wild.accepted
    losing = verdict([((-2.0, True), (-1.5, i % 5 != 0), (-9.0, True)) for i in range(40)])
    assert (losing.accepted, losing.reason) == (False, "it loses first places that the book had")
    few = verdict([])
    assert (few.accepted, few.judged, "too few" in few.reason) == (False, 0, True)


# -- what an export hides ----------------------------------------------------------------------------------------------


def kept(**about: str) -> Kept:
    """A case as it lies in the log, with what it is about."""
    case = {"case": 1, "title": "Owl for the film", "answers": {"build": "bare_foam"}, "about": about}
    return Kept("x7k2m", False, case, Said(), {"a": 1}, (), (("p.jpg", "0"),))


def test_names_become_numbers_that_tell_apart_what_was_apart() -> None:
    """The same name the same number; molds of two clients two numbers; lots of A and of B each their own count; nothing else is left."""
    hide = Anonymous()
    told = [
        dict(
            hide.hidden(kept(client=client, mold=mold, lot_a=lot, lot_b=lot, person="R", remarks="cold")).case["about"]
        )
        for client, mold, lot in (
            ("harbor", "owl", "A7"),
            ("quarry", "owl", "A7"),
            ("harbor", "fox", "A8"),
            ("harbor", "owl", "A7"),
        )
    ]
    assert [about["mold"] for about in told] == ["mold 1", "mold 2", "mold 3", "mold 1"]
    assert (
        [about["lot_a"] for about in told] == [about["lot_b"] for about in told] == ["lot 1", "lot 1", "lot 2", "lot 1"]
    )
    assert all(set(about) == {"mold", "lot_a", "lot_b"} for about in told)
    bare = hide.hidden(kept(client="harbor"))
    assert (bare.case, bare.photos, bare.assessment) == ({"case": 1, "answers": {"build": "bare_foam"}}, (), None)


def test_a_line_holds_the_outcome_that_holds_and_the_earlier_ones() -> None:
    """One outcome has no earlier ones; of three the first holds and two are earlier; a case that waits has neither."""
    outcomes = tuple(Outcome((cause,), "fixed", "good") for cause in ("c", "b", "a"))
    waiting = kept()
    for count in range(4):
        line = line_of(Kept(waiting.id, False, waiting.case, Said("k", (("c", 0.5),)), None, outcomes[:count], ()))
        assert line.get("outcome", {}).get("causes") == (["c"] if count else None)
        assert [each["causes"] for each in line.get("earlier", [])] == [["b"], ["a"]][: max(count - 1, 0)]
        assert ("earlier" in line) == (count > 1)
        assert json.loads(json.dumps(line))["said"] == {"knowledge": "k", "causes": [{"id": "c", "probability": 0.5}]}
