"""Learning of links and of how molds differ on counts made by hand, and what a context is."""

from __future__ import annotations

import math

import numpy as np
import pytest
from log_edges import FIXED, entry
from sqlalchemy import true

from diagnose.knowledge import Knowledge
from diagnose.logbook.book import New, put_in
from diagnose.logbook.fit import Row, fitted
from diagnose.logbook.learn import Counts, _book, _shows, _tried, _within, rate
from diagnose.logbook.learned import Learned, Seen, memory_ratio
from diagnose.logbook.links import Told, _many, _Table, learned_links
from diagnose.logbook.store import Store
from diagnose.reasoning.network import NOT_LISTED, Model


@pytest.fixture(scope="module")
def table(knowledge: Knowledge) -> _Table:
    """The links of the book; of mold_cold and a_rich it is known how often they hold unnamed, of all others never."""
    return _Table(Model(knowledge, None, None), {"mold_cold": 0.4, "a_rich": 0.3}, {"mold_cold": 0.2, "a_rich": 0.1})


# -- links -------------------------------------------------------------------------------------------------------------


def test_how_much_is_told_in_plain_numbers() -> None:
    """Usually 80 of 100 of what shows is told, which is worth twenty tellings: after sixty told and none untold 76 of 80."""
    found = fitted(
        np.array([0.25, 0.5]),
        np.array([100.0, 100.0]),
        [Row(60, 20, 0, 0.0, (0,)), Row(30, 10, 0, 0.0, (1,), None, True)],
    )
    assert found.told == (pytest.approx((16 + 60) / 80), pytest.approx((16 + 30) / 50))
    assert found.links.tolist() == pytest.approx([85 / 180, 80 / 140])
    assert (Row(1, 1, 1, 0.5, (0,)).check, Row(1, 1, 1, 0.5, (0,)).hidden) == (False, None)


def test_a_result_three_down_is_what_two_more_telling_leave(knowledge: Knowledge, table: _Table) -> None:
    """Whole chances of one casting, from the most telling down: p, q (1 - p), r (1 - p - q (1 - p)); each factor is of their odds."""
    check, cause = "cup_test", "b_not_restirred"
    results = [r for r in reversed(knowledge.checks[check].telling) if r in knowledge.causes[cause].checks[check]]
    assert len(results) == 3
    now = np.array(table.book)
    places = [table.place[cause, f"{check}:{result}"] for result in results]
    now[places] = [table.book[place] * share for place, share in zip(places, (1.3, 0.8, 1.1), strict=True)]
    found = dict(table.factors(now))
    whole = {}
    for name, links in (("book", table.book), ("now", now.tolist())):
        p, q, r = (links[place] for place in places)
        whole[name] = [p, q * (1.0 - p), r * (1.0 - p - q * (1.0 - p))]
    for result, book, new in zip(results, whole["book"], whole["now"], strict=True):
        wanted = new / (1.0 - new) / (book / (1.0 - book))
        assert 0.25 < wanted < 4.0
        assert found[cause, f"{check}:{result}"] == pytest.approx(wanted, abs=1e-10)
    assert {key for key in found if key[0] != cause} == set(), "no other moved"


def test_a_result_without_a_cause_moves_eightfold_and_a_link_fourfold(table: _Table) -> None:
    """At most; a result that nobody caused by its own odds, not by what more telling ones leave."""
    result = next(i for i, (cause, finding) in enumerate(table.keys) if not cause and finding.startswith("cup_test:"))
    link = table.place["mold_cold", "thin_skin"]
    now = np.array(table.book)
    now[[result, link]] = 0.9999
    assert set(dict(table.factors(now)).values()) == {8.0, 4.0}
    now[[result, link]] = 0.0001
    assert set(dict(table.factors(now)).values()) == {0.125, 0.25}
    now = np.array(table.book)
    now[result] = table.book[result] * 2.0
    odds = [p / (1.0 - p) for p in (table.book[result], 2.0 * table.book[result])]
    assert dict(table.factors(now)) == {table.keys[result]: pytest.approx(odds[1] / odds[0], abs=1e-10)}


def test_a_check_shows_by_what_held_unnamed(knowledge: Knowledge, table: _Table) -> None:
    """Whether it had a part in what was told or not: a check is no fault that somebody told. Of a cause that was named nothing is hidden."""
    finding = next(f for (c, f) in table.keys if c == "mold_cold" and f.startswith("swab_test:"))
    check, _, result = finding.partition(":")
    told = Told(10, {check: {result: 4, knowledge.checks[check].base: 6}})
    links = table.findings[finding]
    for named, unnamed in ((("mold_worn",), ("mold_cold", "a_rich")), (("mold_cold",), ("a_rich",))):
        row = next(
            row for row in table.rows({("bare_foam", "no", named): told}) if table.keys[row.links[0]][1] == finding
        )
        left = {"mold_cold": 0.4, "a_rich": 0.3}
        quiet = math.prod(1.0 - left[c] * links.get(c, 0.0) for c in unnamed) * (1.0 - 0.2 * links[NOT_LISTED])
        assert (row.leak, row.hidden) == (pytest.approx(1.0 - quiet), pytest.approx(1.0 - quiet))
        assert (row.seen, row.absent, row.check) == (4, 6, True)


def test_what_paint_alone_can_show_is_counted_of_painted_parts(knowledge: Knowledge, table: _Table) -> None:
    """Of a part of which nobody said whether it is painted everything that it may show is."""
    symptom = "paint_fisheyes"
    cause = next(name for name, each in sorted(knowledge.causes.items()) if symptom in each.symptoms)
    shown = {}
    for painted in ("yes", "no", ""):
        rows = table.rows({("bare_foam", painted, (cause,)): Told(5, {})})
        shown[painted] = {table.keys[row.links[0]][1] for row in rows}
    assert symptom in shown["yes"] & shown[""]
    assert symptom not in shown["no"]
    builds = {
        build: {table.keys[r.links[0]][1] for r in table.rows({(build, "no", ("mold_cold",)): Told(5, {})})}
        for build in ("bare_foam", "skin_and_foam", "")
    }
    assert builds["bare_foam"] != builds["skin_and_foam"]
    assert builds[""] >= builds["bare_foam"] | builds["skin_and_foam"]


def test_what_is_off_the_list_learns_no_link(table: _Table) -> None:
    """It is no cause that anybody can mend; each link of the book stands once, with what every check shows by itself."""
    assert len(set(table.keys)) == len(table.keys) == len(table.book)
    assert not any(cause == NOT_LISTED for cause, _ in table.keys)
    assert all(table.keys[place] == key for key, place in table.place.items())


def test_another_value_beside_none_of_ours_is_passed_over(knowledge: Knowledge) -> None:
    """Of several values: the base alone rules a result out; others named, whatever their names, leave it open; a link to the base counts it among them."""
    check = knowledge.checks["where_worst"]
    others = [name for name in check.telling if name != "tips"]
    assert {_many(check, "tips", value) for value in others} == {2}
    assert {_many(check, check.base, value) for value in check.telling} == {2}
    assert [
        _many(check, "tips", value) for value in ("tips", f"tips, {check.base}", check.base, "of_another_book")
    ] == [0, 0, 1, None]
    assert [_many(check, check.base, value) for value in (check.base, f"tips, {check.base}")] == [None, 0]


def test_what_the_book_is_worth_is_told_by_each_kind_of_link_for_itself(table: _Table) -> None:
    """Symptoms that scatter wildly make the book's links to symptoms worth little, and leave what its links to checks and its results are worth."""
    symptoms = [i for i, (cause, finding) in enumerate(table.keys) if cause and ":" not in finding]
    wild = [Row(0 if i % 2 else 400, 400 if i % 2 else 0, 0, 0.0, (i,)) for i in symptoms]
    found = table.worth(wild)
    assert {float(found[i]) for i in symptoms} <= {4.0, 8.0}
    assert {float(w) for w, (cause, f) in zip(found, table.keys, strict=True) if cause and ":" in f} == {100.0}
    assert float(max(w for w, (cause, _) in zip(found, table.keys, strict=True) if not cause)) == 50.0


def test_how_much_is_told_is_that_of_symptoms(file_store: Store, knowledge: Knowledge) -> None:
    """Forty parts on which the fault is told each time: more than 80 of 100; what is told of checks, which nobody did, is another matter."""
    with file_store.writing() as connection:
        put_in(connection, [New(entry(knowledge, "thin_skin"), (FIXED,))] * 40)
        found = learned_links(connection, knowledge, true(), {}, {})
    assert found.told != pytest.approx(0.8, abs=1e-3)
    assert found.links["mold_cold"]["thin_skin"] > 1.0
    assert list(found.links) == sorted(found.links)
    assert list(found.links["mold_cold"]) == sorted(found.links["mold_cold"])
    assert found.results == {}


# -- molds and contexts ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("counts", "differ"), [((533, 467), True), ((530, 470), False), ((500, 500), False), ((1, 0), False)]
)
def test_molds_differ_from_five_standard_errors_on(counts: tuple[int, int], differ: bool) -> None:
    """Two molds of a thousand pours: scatter 8.7 against 1 by chance is 5.5 standard errors of sqrt(2); 7.2 is 4.4."""
    assert (_within([(k, 1000) for k in counts]) > 0.0) is differ


def test_one_case_may_make_the_difference() -> None:
    """A mold poured once, bad, among a thousand good pours of another: it differs as far as anything is let to, by a half."""
    assert _within([(1, 1), (0, 1000)]) == 0.5
    assert _within([(0, 1), (0, 1000)]) == _within([(1, 1), (1000, 1000)]) == _within([(1, 1)]) == _within([]) == 0.0


@pytest.mark.parametrize(
    ("context", "build", "painted"),
    [
        ("bare_foam/no", "bare_foam", False),
        ("bare_foam/yes", "bare_foam", True),
        ("skin_and_foam/yes", "skin_and_foam", True),
        ("", None, None),
    ],
)
def test_a_context_is_its_build_and_paint(
    context: str, build: str | None, painted: bool | None, knowledge: Knowledge
) -> None:
    """Its base rates are the book's for such a part, but for what is off the list; a cause shows by the symptoms that such a part can have."""
    model = Model(knowledge, build, painted)
    assert _book(context, knowledge) == {name: p for name, p in model.base.items() if name != NOT_LISTED}
    shows = _shows(context, knowledge, 0.5)
    assert set(shows) == set(knowledge.causes)
    for name, cause in knowledge.causes.items():
        silent = [
            1.0 - 0.5 * link.p for symptom, link in cause.symptoms.items() if knowledge.applies(symptom, build, painted)
        ]
        assert shows[name] == pytest.approx(1.0 - math.prod(silent))


def test_no_cases_teach_nothing_of_a_rate(knowledge: Knowledge) -> None:
    """And where more looked or named than there are cases nobody is left who didn't."""
    assert rate(0.2, Counts(), "x", shows=1.0) == (pytest.approx(0.2), 0.0)
    over = {"bare_foam/no": Counts(10, {"a_rich": 6}, {"a_rich": 7})}
    shows = _shows("bare_foam/no", knowledge, 1.0)["a_rich"]
    assert list(_tried(over, {"bare_foam/no": {"a_rich": 0.05}}, knowledge, 1.0)) == [
        (6, pytest.approx(max(9.5 * shows, 6.0)), 0.05)
    ]
    nobody = list(_tried({"": Counts(10)}, {"": {"a_rich": 0.05}}, knowledge, 1.0))
    assert nobody == [(0, pytest.approx(6.0 * _shows("", knowledge, 1.0)["a_rich"]), 0.05)]


def test_a_cause_confirmed_nowhere_else_is_as_usual_as_the_book_has_it() -> None:
    """A carried one, seen in no pour of the shop: (0 + 20 x 0.1 x 20 bad / 100 pours) of (100 + 20); twice in ten pours of a mold worth four."""
    learned = Learned(all=Seen(100, 20, {}), spread={"mold": {"x": 0.2}})
    usual = 20 * 0.1 * 20 / 100 / 120
    assert memory_ratio(learned, "mold", Seen(10, 6, {"x": 2}), "x", "mold_design", 0.1) == pytest.approx(
        (2 + 4 * usual) / 14 / usual
    )
    assert memory_ratio(learned, "mold", Seen(10, 6, {}), "x", "mold_design", 0.1) == pytest.approx(4 / 14)
    assert memory_ratio(learned, "mold", Seen(10, 6, {}), "x", "mixing", 0.1) == pytest.approx(4 / 10)
    nothing = Learned(all=Seen(), spread={"mold": {"x": 0.2}})
    assert memory_ratio(nothing, "mold", Seen(10, 6, {"x": 2}), "x", "mold_design", 0.1) == pytest.approx(
        (2 + 4 * 0.1) / 14 / 0.1
    )
