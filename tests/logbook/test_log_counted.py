"""Learning on logs so small that every count is made by hand: what is counted, what a rate, a link, a mold and a lot come to."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from sqlalchemy import true

from diagnose.assessment.consultation import ModelCache
from diagnose.knowledge import Knowledge
from diagnose.logbook import learn as learning
from diagnose.logbook import links
from diagnose.logbook.book import New, add, close, put_in
from diagnose.logbook.changes import changed, changed_links
from diagnose.logbook.entry import Outcome, case_of, entry_of
from diagnose.logbook.fit import TOLD, WORTH_TOLD, Row, fitted
from diagnose.logbook.learn import Counts, base_counts, base_factors, before, learn, memories, rate, unnamed
from diagnose.logbook.learned import (
    Learned,
    LearnedModels,
    LinkedModels,
    Seen,
    book_link,
    context_of,
    moved,
    overlaid_links,
)
from diagnose.logbook.links import Told, _Table, learned_links, told_by_kind
from diagnose.logbook.replay import scored
from diagnose.logbook.store import Store
from diagnose.reasoning.network import NOT_LISTED, Model


def part(
    knowledge: Knowledge,
    *causes: str,
    how: str = "looked",
    good: bool = False,
    poured: str = "bad",
    told: dict[str, Any] | None = None,
    **about: str,
) -> New:
    """A bare, unpainted part with a thin skin, closed with *causes* where there are any; *told* are more answers, or others."""
    answers = {"build": "bare_foam", "painted": "no", **({} if good else {"symptoms": ["thin_skin"]}), **(told or {})}
    case = case_of({"case": 1, "answers": answers, "about": {"date": "2026-03-02", **about}}, knowledge)
    return New(entry_of(case, knowledge, good=good), (Outcome(causes, how, poured),) if causes else ())


def measured(value: str, source: str = "measured") -> dict[str, Any]:
    """The mold's temperature, known so."""
    return {"mold_temperature": {"value": value, "source": source}}


@pytest.fixture
def small(file_store: Store, knowledge: Knowledge) -> Store:
    """Nine parts: five bare ones confirmed, one of unknown build, an opinion, one that waits and a good one."""
    unknown = {"build": "unknown", "painted": "unknown"}
    with file_store.writing() as connection:
        put_in(
            connection,
            [
                part(
                    knowledge,
                    "mold_cold",
                    how="fixed",
                    poured="good",
                    told=measured("9 degC"),
                    mold="owl",
                    lot_b="B1",
                    client="harbor",
                ),
                part(knowledge, "a_rich", told=measured("24 degC", "told"), mold="owl", lot_b="B1", client="harbor"),
                part(knowledge, "a_rich", told=measured("24 degC", "seen"), mold="owl", lot_b="B2", client="quarry"),
                part(knowledge, "mold_cold", how="tested", poured="not_poured", told={**unknown, **measured("9 degC")}),
                part(knowledge, "mold_cold", how="opinion", mold="owl", client="harbor"),
                part(knowledge, "a_rich", "mold_cold", poured="good", date="2026-03-05", lot_b="B1"),
                part(knowledge, mold="fox", client="harbor"),
                part(knowledge, good=True, mold="owl", lot_b="B1", client="harbor"),
            ],
        )
    name = add(file_store, part(knowledge, "mold_cold"))
    close(file_store, name, Outcome(("a_rich",), "looked", "bad"))
    return file_store


def test_what_is_counted(small: Store, knowledge: Knowledge) -> None:
    """Confirmed outcomes that hold, by build and paint: named, and looked for without being named (next part good, or measured and seen)."""
    with small.reading() as connection:
        found = base_counts(connection, knowledge, true())
    assert list(found) == ["", "bare_foam/no"]
    bare, unknown = found["bare_foam/no"], found[""]
    assert (bare.cases, unknown.cases) == (5, 1)
    assert bare.named == {"mold_cold": 2, "a_rich": 4}
    assert unknown.named == {"mold_cold": 1}
    # cold: of the two that came good both named it; one seen at 24 degC did not. Rich: of the two that came good one did not
    assert (bare.cleared["mold_cold"], bare.cleared["a_rich"]) == (1, 1)
    # the mold's temperature bears on a hot mold: two came good, one was seen; who was only told it counts as not looked
    assert bare.cleared["mold_hot"] == 3
    assert bare.cleared["trapped_air"] == 2
    assert unknown.cleared["mold_hot"] == 1
    assert "trapped_air" not in unknown.cleared


def test_what_came_before_a_case_is_told_by_day_and_number(small: Store, knowledge: Knowledge) -> None:
    """An earlier day, or the same day and an earlier number; neither the case itself nor a later one."""
    with small.reading() as connection:
        rows = connection.exec_driver_sql("SELECT number, date FROM cases ORDER BY number").all()
        for day, number, count in (
            ("2026-03-05", rows[5][0], 5),
            ("2026-03-02", rows[2][0], 2),
            ("2026-03-01", rows[5][0], 0),
        ):
            counts = base_counts(connection, knowledge, before(day, number))
            assert sum(each.cases for each in counts.values()) == count


def test_molds_and_lots_are_counted_each_for_itself(small: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    """All pours and the bad ones, causes of confirmed ones; a mold by its client, a lot whoever pours it; those most poured are kept."""
    with small.reading() as connection:
        total, memory = memories(connection, true())
        assert total == Seen(9, 8, {"a_rich": 4, "mold_cold": 3})
        assert memory["mold"] == {
            "harbor\towl": Seen(4, 3, {"a_rich": 1, "mold_cold": 1}),
            "harbor\tfox": Seen(1, 1, {}),
            "quarry\towl": Seen(1, 1, {"a_rich": 1}),
        }
        assert memory["lot_b"] == {"B1": Seen(4, 3, {"a_rich": 2, "mold_cold": 2}), "B2": Seen(1, 1, {"a_rich": 1})}
        assert (list(memory), memory["lot_a"]) == (["mold", "lot_a", "lot_b"], {})
        monkeypatch.setattr(learning, "_REMEMBERED", 1)
        _, memory = memories(connection, true())
    assert (list(memory["mold"]), list(memory["lot_b"])) == (["harbor\towl"], ["B1"])


def test_what_is_learned_is_all_of_it(small: Store, knowledge: Knowledge) -> None:
    """The parts put together, from six confirmed cases; of the cases up to a day only those."""
    with small.reading() as connection:
        learned = learn(connection, knowledge)
        assert learned.cases == 6
        found = learned_links(connection, knowledge, true(), *unnamed(knowledge))
        assert (learned.links, learned.results) == (found.links, found.results)
        assert learned.base == base_factors(base_counts(connection, knowledge, true()), knowledge, found.told)
        assert (learned.all, learned.memory) == memories(connection, true())
        assert set(learned.spread["mold"]) == {"a_rich", "mold_cold"}
        early = learn(connection, knowledge, before("2026-03-05", 0))
    assert (early.cases, early.all.pours) == (5, 8)


# -- rates -------------------------------------------------------------------------------------------------------------


def odds(p: float) -> float:
    """Chance against the rest."""
    return p / (1.0 - p)


@pytest.fixture
def fifty(monkeypatch: pytest.MonkeyPatch) -> None:
    """The book is worth fifty cases, and all that shows is told, whatever the log says."""
    monkeypatch.setattr(learning, "likeliest_worth", lambda counts, usual: 50.0)
    monkeypatch.setattr(learning, "TOLD", 1.0)


@pytest.mark.usefixtures("fifty")
def test_a_context_begins_where_the_others_lead(knowledge: Knowledge) -> None:
    """Forty of a hundred bare parts were cold: they move their own rate; a context without cases, and one of its own, begin from what they show."""
    bare, skinned = Counts(100, {"mold_cold": 40}, {"mold_cold": 60}), Counts(4, {}, {"mold_cold": 4})
    books = {
        name: Model(knowledge, build, False).base["mold_cold"]
        for name, build in (("bare", "bare_foam"), ("skinned", "skin_and_foam"))
    }
    both = Model(knowledge, None, None).base["mold_cold"]
    shows = {
        build: 1.0
        - np.prod(
            [1.0 - link.p for s, link in knowledge.causes["mold_cold"].symptoms.items() if knowledge.applies(s, *build)]
        )
        for build in (("bare_foam", False), ("skin_and_foam", False), (None, None))
    }
    alone = base_factors({"bare_foam/no": bare}, knowledge, 1.0)
    now, held = rate(books["bare"], bare, "mold_cold", shows["bare_foam", False], 50.0)
    assert alone["bare_foam/no"]["mold_cold"] == pytest.approx(odds(now) / odds(books["bare"]), abs=1e-9)
    lead = (50 * books["bare"] + rate(books["bare"], bare, "mold_cold", shows[None, None], 50.0)[1]) / (
        150 * books["bare"]
    )
    assert alone[""]["mold_cold"] == pytest.approx(odds(both * lead) / odds(both), abs=1e-9)
    found = base_factors({"bare_foam/no": bare, "skin_and_foam/no": skinned}, knowledge, 1.0)
    held = rate(books["bare"], bare, "mold_cold", shows["skin_and_foam", False], 50.0)[1]
    start = books["skinned"] * (50 * books["bare"] + held) / (150 * books["bare"])
    now, _ = rate(start, skinned, "mold_cold", shows["skin_and_foam", False], 50.0)
    assert found["skin_and_foam/no"]["mold_cold"] == pytest.approx(odds(now) / odds(books["skinned"]), abs=1e-9)
    assert base_factors({}, knowledge) == {"": {}}
    assert alone["bare_foam/no"]["a_rich"] < 1.0, "a hundred cases that name it nowhere"


@pytest.mark.usefixtures("fifty")
def test_cases_of_no_known_context_count_once(knowledge: Knowledge) -> None:
    """They lead where every context begins, and are not counted into their own rate a second time."""
    counts, book = Counts(40, {"mold_cold": 20}, {"mold_cold": 20}), Model(knowledge, None, None).base["mold_cold"]
    shows = 1.0 - np.prod([1.0 - link.p for link in knowledge.causes["mold_cold"].symptoms.values()])
    held = rate(book, counts, "mold_cold", float(shows), 50.0)[1]
    start = book * (50 * book + held) / (50 * book + 40 * book)
    assert base_factors({"": counts}, knowledge, 1.0)[""]["mold_cold"] == pytest.approx(
        odds(start) / odds(book), abs=1e-9
    )


def test_no_rate_begins_beyond_a_half(knowledge: Knowledge) -> None:
    """Whatever the other contexts show; and what didn't move has no factor."""
    crazy = Counts(1000, {"mold_cold": 1000}, dict.fromkeys(knowledge.causes, 0))
    found = base_factors({"bare_foam/no": crazy, "skin_and_foam/yes": Counts()}, knowledge)
    book = Model(knowledge, "skin_and_foam", True).base["mold_cold"]
    assert found["skin_and_foam/yes"]["mold_cold"] == pytest.approx(min(odds(0.5) / odds(book), 8.0))
    assert base_factors({"bare_foam/no": Counts()}, knowledge) == {"": {}, "bare_foam/no": {}}


def test_a_cause_that_nobody_named_may_have_held(knowledge: Knowledge) -> None:
    """By the book: p (1 - n) / (1 - p n), where n is six in ten of the chance that it shows as anything told; where it had a part, four in ten of p."""
    (found, missed), base = unnamed(knowledge), Model(knowledge, None, None).base
    assert set(found) == set(knowledge.causes)
    for name, cause in knowledge.causes.items():
        shows = 1.0 - np.prod([1.0 - TOLD * link.p for link in cause.symptoms.values()])
        named = 0.6 * shows
        assert missed[name] == pytest.approx(0.4 * base[name])
        assert found[name] == pytest.approx(base[name] * (1.0 - named) / (1.0 - base[name] * named))


# -- links -------------------------------------------------------------------------------------------------------------


def test_what_was_told_is_counted_by_kind(file_store: Store, knowledge: Knowledge) -> None:
    """Symptoms seen and absent, checks that were measured or seen; by build, paint and the causes confirmed, in their order by name."""
    told = {"swab_test": {"value": "rag_brown", "source": "seen"}, "symptoms_absent": ["pinholes"]}
    with file_store.writing() as connection:
        put_in(
            connection,
            [
                part(knowledge, "mold_cold", "a_rich", told=told),
                part(
                    knowledge, "a_rich", "mold_cold", told={"swab_test": {"value": "rag_brown", "source": "remembered"}}
                ),
                part(knowledge, "mold_cold", how="opinion", told=told),
            ],
        )
    with file_store.reading() as connection:
        found = told_by_kind(connection, knowledge, true())
    assert list(found) == [("bare_foam", "no", ("a_rich", "mold_cold"))]
    (only,) = found.values()
    assert only.cases == 2
    assert only.answers == {"thin_skin": {"seen": 2}, "pinholes": {"absent": 1}, "swab_test": {"rag_brown": 1}}


def rows_of(
    knowledge: Knowledge, cases: int, answers: dict[str, dict[str, int]], *causes: str, left: float = 0.0
) -> dict[str, Row]:
    """By finding how so many cases of bare, unpainted parts with these causes see it; what nobody named held with chance *left*."""
    table = _Table(Model(knowledge, None, None), {}, {})
    table.unnamed = dict.fromkeys((True, False), dict.fromkeys((*knowledge.causes, NOT_LISTED), left))
    rows = list(table.rows({("bare_foam", "no", causes): Told(cases, answers)}))
    by_links = {row.links: row for row in rows}
    assert len(by_links) == len(rows)
    return {table.keys[places[0]][1]: row for places, row in by_links.items()}


def test_how_cases_see_a_symptom(knowledge: Knowledge) -> None:
    """Seen, absent, and open in all others; its leak is its own background where nothing else held; of what the part can't show nothing is counted."""
    rows = rows_of(knowledge, 10, {"thin_skin": {"seen": 6, "absent": 1}}, "mold_cold")
    row = rows["thin_skin"]
    assert (row.seen, row.absent, row.open) == (6, 1, 3)
    assert row.leak == pytest.approx(knowledge.symptoms["thin_skin"].background)
    assert {f for f in rows if ":" not in f} == {
        s for s in knowledge.causes["mold_cold"].symptoms if knowledge.applies(s, "bare_foam", False)
    }
    assert not any(":" in finding for finding in rows)


def test_a_finding_open_as_often_as_decided_is_counted(knowledge: Knowledge) -> None:
    """Three seen, two absent and five open are ten cases; where nobody told anything all are open; no case, no row."""
    row = rows_of(knowledge, 10, {"thin_skin": {"seen": 3, "absent": 2}}, "mold_cold")["thin_skin"]
    assert (row.seen, row.absent, row.open) == (3, 2, 5)
    row = rows_of(knowledge, 10, {}, "mold_cold")["thin_skin"]
    assert (row.seen, row.absent, row.open) == (0, 0, 10)
    assert rows_of(knowledge, 0, {}, "mold_cold") == {}


@pytest.mark.parametrize(
    ("value", "place"),
    [("4.9", 1), ("5", 0), ("9.9", 0), ("10", None), ("-3", 1), ("99", None), ("much", None), ("", None)],
)
def test_a_number_is_read_as_its_band(value: str, place: int | None) -> None:
    """From its lower edge to just under its upper; the base rules the middle out, the high band says nothing of it."""
    bands = {"low": (None, 5.0), "middle": (5.0, 10.0), "high": (10.0, None)}
    results = {name: SimpleNamespace(low=low, high=high) for name, (low, high) in bands.items()}
    check: Any = SimpleNamespace(kind="number", base="low", telling=("middle", "high"), results=results)
    assert links._level(check, "middle", value) == place


def test_the_leak_counts_what_may_have_held_unnamed(knowledge: Knowledge) -> None:
    """All causes in play linked to it but those confirmed, each with the chance that is left, and what is off the list."""
    model = Model(knowledge, None, None)
    links = model.symptom_links("thin_skin")
    quiet = 1.0 - knowledge.symptoms["thin_skin"].background
    for name, link in links.items():
        if name != "mold_cold" and (name == NOT_LISTED or knowledge.applies(name, "bare_foam", False)):
            quiet *= 1.0 - 0.1 * link
    row = rows_of(knowledge, 10, {}, "mold_cold", left=0.1)["thin_skin"]
    assert row.leak == row.hidden == pytest.approx(1.0 - quiet)
    there = rows_of(knowledge, 10, {}, "mold_cold", NOT_LISTED, left=0.0)["thin_skin"]
    background = knowledge.symptoms["thin_skin"].background
    assert there.leak == pytest.approx(1.0 - (1.0 - background) * (1.0 - links[NOT_LISTED])), "off the list it was"


def test_what_was_told_had_hardly_a_cause_that_nobody_named(knowledge: Knowledge) -> None:
    """Seen and told, the unnamed count by the chance that they were passed over; untold, by the chance that they held."""
    table = _Table(Model(knowledge, None, None), {"a_rich": 0.3}, {"a_rich": 0.1})
    told = {("bare_foam", "no", ("mold_cold",)): Told(10, {})}
    symptom = next(s for s in knowledge.causes["mold_cold"].symptoms if s in knowledge.causes["a_rich"].symptoms)
    row = next(row for row in table.rows(told) if table.keys[row.links[0]][1] == symptom)
    link, off = knowledge.causes["a_rich"].symptoms[symptom].p, table.findings[symptom][NOT_LISTED]
    rest = (1.0 - knowledge.symptoms[symptom].background) * (1.0 - 0.2 * off)
    assert row.leak == pytest.approx(1.0 - rest * (1.0 - 0.1 * link))
    assert row.hidden == pytest.approx(1.0 - rest * (1.0 - 0.3 * link))


def test_a_check_that_was_done_tells_of_its_results_without_a_cause(knowledge: Knowledge) -> None:
    """Whoever was confirmed; the pieces of one with one result are worth less and less, those of one with several alike."""
    table = _Table(Model(knowledge, None, None), {}, {})
    check = knowledge.checks["cup_test"]
    told = {("bare_foam", "no", ("mold_worn",)): Told(10, {"cup_test": {check.base: 7, "sticky": 2, "streaky": 1}})}
    rows = {table.keys[row.links[-1]]: row for row in table.rows(told)}
    assert (rows["", "cup_test:streaky"].seen, rows["", "cup_test:streaky"].absent) == (1, 9)
    assert (rows["", "cup_test:sticky"].seen, rows["", "cup_test:sticky"].absent) == (2, 7)
    worth = table.worth([])
    quiet = 1.0
    for result in reversed(check.telling):
        assert worth[table.place["", f"cup_test:{result}"]] == pytest.approx(links.WORTH_RESULT * quiet)
        quiet *= 1.0 - (check.results[result].background or 0.02)
    several = {float(worth[table.place["", f"where_worst:{r}"]]) for r in knowledge.checks["where_worst"].telling}
    assert several == {links.WORTH_RESULT}
    assert worth[table.place["mold_cold", "thin_skin"]] == links.WORTH_LINK
    assert {float(w) for w, (cause, f) in zip(worth, table.keys, strict=True) if cause and ":" in f} == {
        links.WORTH_CHECK
    }


def test_the_base_among_other_values_tells_of_a_link_to_it(knowledge: Knowledge) -> None:
    """Alone it is what shows without a cause, and says nothing of it."""
    name, cause, base = next(
        (name, cause.id, check.base)
        for name, check in sorted(knowledge.checks.items())
        for cause in knowledge.causes.values()
        if check.kind == "many" and check.base in cause.checks.get(name, {})
    )
    other = knowledge.checks[name].telling[0]
    row = rows_of(knowledge, 9, {name: {base: 4, f"{base}, {other}": 2, other: 3}}, cause)[f"{name}:{base}"]
    assert (row.seen, row.absent, row.open) == (2, 0, 3)


def readings(knowledge: Knowledge, kind: str) -> tuple[str, str, tuple[str, ...]]:
    """A check of this kind with three results or more that a cause links to, that cause, and its telling results."""
    for name, check in sorted(knowledge.checks.items()):
        if check.kind == kind and len(check.telling) > 1 and knowledge.applies(name, "bare_foam", False):
            for cause in knowledge.causes.values():
                if set(check.telling) <= set(cause.checks.get(name, {})) and knowledge.applies(
                    cause.id, "bare_foam", False
                ):
                    return name, cause.id, check.telling
    raise AssertionError(kind)


def test_of_a_reading_counts_itself_and_what_is_more_telling(knowledge: Knowledge) -> None:
    """The base and what is milder rule a result out; what is more telling says nothing of it; a reading of another book neither."""
    name, cause, telling = readings(knowledge, "choice")
    check = knowledge.checks[name]
    counts = {check.base: 1, "of_another_book": 100, **{result: 10 ** (i + 1) for i, result in enumerate(telling)}}
    rows, before_it = rows_of(knowledge, 5000, {name: counts}, cause), 1
    for result in telling:
        row = rows[f"{name}:{result}"]
        assert (row.seen, row.absent, row.open) == (counts[result], before_it, 0)
        before_it += counts[result]


def test_of_several_values_each_is_named_or_passed_over(knowledge: Knowledge) -> None:
    """Named is seen; the base alone is absent; others named leave it open; a word of another book says nothing."""
    name, check = next((n, c) for n, c in sorted(knowledge.checks.items()) if c.kind == "many" and len(c.telling) > 1)
    cause, result = next(
        (cause.id, r) for cause in knowledge.causes.values() for r in check.telling if r in cause.checks.get(name, {})
    )
    other = next(r for r in check.telling if r != result)
    answers = {result: 1, f"{other}, {result}": 2, check.base: 4, other: 8, f"{other}, of_another_book": 16}
    row = rows_of(knowledge, 99, {name: answers}, cause)[f"{name}:{result}"]
    assert (row.seen, row.absent, row.open) == (3, 4, 8)


def test_links_of_a_reading_move_as_its_whole_chance(knowledge: Knowledge) -> None:
    """The chance of a milder result is what the more telling leave of it: both are moved, and the factor is of the odds of the whole."""
    name, cause, telling = readings(knowledge, "choice")
    table = _Table(Model(knowledge, None, None), {}, {})
    assert dict(table.factors(np.array(table.book))) == {}
    most, next_one = telling[-1], telling[-2]
    now = np.array(table.book)
    here = {result: table.place[cause, f"{name}:{result}"] for result in (most, next_one)}
    now[here[most]], now[here[next_one]] = 0.5, 0.4
    factors = dict(table.factors(now))
    book = {result: table.book[here[result]] for result in here}
    whole_book, whole = book[next_one] * (1.0 - book[most]), 0.4 * 0.5
    for result, wanted in ((most, odds(0.5) / odds(book[most])), (next_one, odds(whole) / odds(whole_book))):
        assert factors.get((cause, f"{name}:{result}"), 1.0) == pytest.approx(min(max(wanted, 0.25), 4.0), abs=1e-9)


def test_links_of_two_causes_share_what_was_seen() -> None:
    """Of what both may have fired each gets its share; where nothing was told the book stands; what a row says it says of its own links."""
    book, worth = np.array([0.25, 0.5, 0.3]), np.array([100.0, 100.0, 40.0])
    assert fitted(book, worth, []).links is book
    found = fitted(book, worth, [Row(30, 10, 0, 0.1, (0, 1)), Row(5, 5, 10, 0.0, (2,), check=True)])
    now, said = found.links, found.told[1]
    shows = 1.0 - 0.9 * (1.0 - now[0]) * (1.0 - now[1])
    for i in (0, 1):
        assert now[i] == pytest.approx((100 * book[i] + 30 / shows * now[i]) / 140, abs=1e-9)
    hidden = 10 * (now[2] * (1.0 - said) / (1.0 - now[2] * said))
    assert now[2] == pytest.approx((40 * 0.3 + 5 + hidden) / 60, abs=1e-9)
    assert said == pytest.approx((WORTH_TOLD * TOLD + 5) / (WORTH_TOLD + 5 + hidden), abs=1e-9)
    assert found.told[0] == pytest.approx((WORTH_TOLD * TOLD + 30) / (WORTH_TOLD + 30), abs=1e-9)


# -- laid over the book ------------------------------------------------------------------------------------------------


def test_factors_lie_over_the_links_of_the_book_and_make_none(knowledge: Knowledge) -> None:
    """A symptom's link and a result's are moved in their odds; a link that the book hasn't, a cause that it hasn't, stay away."""
    name, cause, telling = readings(knowledge, "choice")
    symptom = next(iter(knowledge.causes[cause].symptoms))
    result = f"{name}:{telling[-1]}"
    foreign = next(s for s in knowledge.symptoms if s not in knowledge.causes[cause].symptoms)
    factors = {cause: {symptom: 2.0, result: 0.5, foreign: 3.0, f"{name}:none": 3.0}, "of_another_book": {symptom: 2.0}}
    found = overlaid_links(knowledge, factors)
    p, q = knowledge.causes[cause].symptoms[symptom].p, knowledge.causes[cause].checks[name][telling[-1]].p
    assert found == {cause: {symptom: pytest.approx(moved(p, 2.0)), result: pytest.approx(moved(q, 0.5))}}
    assert (book_link(knowledge, cause, symptom), book_link(knowledge, cause, result)) == (p, q)
    assert book_link(knowledge, cause, foreign) is book_link(knowledge, "of_another_book", symptom) is None
    case = case_of({"case": 1, "answers": {"build": "bare_foam", "painted": "no"}}, knowledge)
    models = LinkedModels(knowledge, factors)
    assert models.of(case).symptom_links(symptom)[cause] == pytest.approx(moved(p, 2.0))
    assert models.of(case) is models.of(case)
    assert models.of(case).base == ModelCache(knowledge).of(case).base


@pytest.mark.parametrize(
    ("build", "painted", "context"),
    [("bare_foam", False, "bare_foam/no"), ("bare_foam", True, "bare_foam/yes"), ("bare_foam", "yes", "bare_foam/yes"), ("bare_foam", "", ""),
     ("bare_foam", None, ""), (None, True, ""), ("", "no", "")],
)  # fmt: skip
def test_a_context_is_build_and_paint(build: str | None, painted: bool | str | None, context: str) -> None:
    """Both known, however paint is told; else none."""
    assert context_of(build, painted) == context


def test_rates_are_those_of_the_context_or_of_all(knowledge: Knowledge) -> None:
    """A context that was learned has its own factors, another those of all."""
    learned = Learned(base={"": {"mold_cold": 2.0}, "bare_foam/no": {"mold_cold": 3.0}})
    models = LearnedModels(knowledge, learned)
    for build, painted, factor in (("bare_foam", False, 3.0), ("skin_and_foam", False, 2.0), (None, None, 2.0)):
        book = Model(knowledge, build, painted)
        rates = models.base_rates(book)
        assert rates["mold_cold"] == pytest.approx(moved(book.base["mold_cold"], factor))
        assert rates["a_rich"] == book.base["a_rich"]
        assert NOT_LISTED not in rates


def test_mold_and_lot_move_a_rate_together_within_their_bound(knowledge: Knowledge) -> None:
    """Two ratios multiply, eightfold at most either way; a name that is not remembered, or none, moves nothing."""
    seen = {"x": Seen(50, 50, {"trapped_air": 50}), "y": Seen(3, 0, {})}
    learned = Learned(
        all=Seen(400, 100, {"trapped_air": 8, "b_wet": 8}),
        memory={"mold": {"harbor\tm": seen["x"], "harbor\tgood": seen["y"]}, "lot_b": {"L": Seen(9, 9, {"b_wet": 2})}},
        spread={"mold": {"trapped_air": 0.3, "of_another_book": 0.3}, "lot_b": {"b_wet": 0.3}},
    )
    models = LearnedModels(knowledge, learned)
    bare = case_of({"case": 1, "answers": {"build": "bare_foam", "painted": "no"}}, knowledge)
    book = models.of(bare).base

    def base(**about: str) -> Any:
        return models.of(bare.with_about(client="harbor", **about)).base

    assert base(mold="m")["trapped_air"] == pytest.approx(moved(book["trapped_air"], 8.0), abs=1e-9)
    assert odds(base(mold="good")["trapped_air"]) / odds(book["trapped_air"]) == pytest.approx(7 / 16)
    assert base(mold="m", lot_b="L")["b_wet"] > book["b_wet"] == base(mold="m")["b_wet"]
    assert base(mold="other", lot_b="other") == book == models.of(bare.with_about(mold="m")).base


# -- what is told of it ------------------------------------------------------------------------------------------------


def test_rates_that_moved_are_told_over_all_contexts(knowledge: Knowledge) -> None:
    """Means weighed by the cases of each context, most moved first in their odds, from half a thousandth on."""
    contexts = {"bare_foam/no": Counts(30, {"mold_cold": 9}), "skin_and_foam/no": Counts(10, {"mold_cold": 1})}
    learned = Learned(base={"": {}, "bare_foam/no": {"mold_cold": 2.0, "a_rich": 0.25, "b_wet": 1.001}})
    found = {each.id: each for each in changed(contexts, learned, knowledge)}
    assert list(found) == ["a_rich", "mold_cold"]
    bare, skinned = (Model(knowledge, build, False).base for build in ("bare_foam", "skin_and_foam"))
    cold = found["mold_cold"]
    assert cold.cases == 10
    assert cold.book == pytest.approx((30 * bare["mold_cold"] + 10 * skinned["mold_cold"]) / 40)
    assert cold.now == pytest.approx((30 * moved(bare["mold_cold"], 2.0) + 10 * skinned["mold_cold"]) / 40)
    assert changed({}, learned, knowledge) == changed({"bare_foam/no": Counts()}, learned, knowledge) == []


def test_links_that_moved_are_told(knowledge: Knowledge) -> None:
    """Most moved first, from half a hundredth on."""
    symptoms = list(knowledge.causes["mold_cold"].symptoms)[:3]
    factors = dict(zip(symptoms, (1.5, 4.0, 1.0001), strict=True))
    found = changed_links(Learned(links={"mold_cold": factors}), knowledge)
    assert {each.finding for each in found} == set(symptoms[:2])
    moves = [abs(each.now - each.book) for each in found]
    assert moves == sorted(moves, reverse=True)
    for each in found:
        assert each.book == knowledge.causes["mold_cold"].symptoms[each.finding].p
        assert each.now == pytest.approx(moved(each.book, factors[each.finding]))


@pytest.mark.parametrize(
    ("chances", "causes", "shares", "first"),
    [
        ({"a": 0.6, "b": 0.2, "c": 0.2}, ("a",), (0.6,), True),
        ({"a": 0.6, "b": 0.3, "c": 0.3}, ("b", "a"), (0.25, 0.5), True),
        ({"a": 0.5, "b": 0.5}, ("b",), (0.5,), False),
        ({"b": 0.5, "a": 0.5 + 5e-10}, ("a",), (0.5,), True),
        ({"b": 0.5 + 5e-12, "a": 0.5}, ("a",), (0.5,), True),
        ({"a": 1.0, "b": 0.0}, ("b",), (1e-6,), False),
        ({"a": 1.0}, ("x",), (1e-6,), False),
    ],
)
def test_a_case_is_scored_by_the_share_of_its_causes(
    chances: dict[str, float], causes: tuple[str, ...], shares: tuple[float, ...], first: bool
) -> None:
    """The mean logarithm of their shares of all belief, a millionth at least; the first is right where it is one of them, by name among equals."""
    found = scored(chances, causes)
    assert found == (pytest.approx(float(np.mean(np.log(shares))), abs=1e-6), first)


def test_what_can_not_be_is_not_scored() -> None:
    """No belief at all, no score."""
    assert scored({}, ("a",)) is scored({"a": 0.0}, ("a",)) is None
