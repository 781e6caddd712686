"""The log at its edges: what is kept of a part, and the book that keeps it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from log_edges import FIXED, case, entry
from msgspec.structs import replace

from diagnose.errors import InputError
from diagnose.knowledge import Knowledge
from diagnose.logbook import remember, resolve_case
from diagnose.logbook.amend import amend
from diagnose.logbook.apply import forget, put_in_use
from diagnose.logbook.book import New, add, close, counted, kept, listed, put_in
from diagnose.logbook.entry import (
    SAID,
    Said,
    case_of,
    cost_of,
    day_of,
    digest_of,
    entry_of,
    said_in,
)
from diagnose.logbook.in_use import in_use
from diagnose.logbook.learned import Learned
from diagnose.logbook.places import where_of
from diagnose.logbook.store import LogError, Store, open_log

# -- what is kept of a part --------------------------------------------------------------------------------------------


def test_a_name_of_two_hundred_characters_is_a_name(knowledge: Knowledge) -> None:
    """One more is a story, and is refused by its key."""
    for key in ("part", "mold", "lot_a", "lot_b", "person", "client"):
        assert getattr(entry(knowledge, **{key: "x" * 200}).about, key) == "x" * 200
        with pytest.raises(InputError, match=rf"^about.{key}: over 200 characters, expected a short name$"):
            entry(knowledge, **{key: "x" * 201})


@pytest.mark.parametrize(("cost", "taken"), [(0, True), (1e12, True), (12, True), (None, True), (-0.01, False), (1.1e12, False), (True, False), ("5", False)])  # fmt: skip
def test_a_cost_is_an_amount(cost: Any, taken: bool) -> None:
    """Nothing up to a million millions, or not told; no word, no yes."""
    if taken:
        assert cost_of(cost) == cost
    else:
        with pytest.raises(InputError, match="expected an amount of 0 or more, at most 1e"):
            cost_of(cost)


@pytest.mark.parametrize(
    ("error", "ratio"),
    [(None, ""), (0.0, "on target"), (2.0, "on target"), (2.01, "much A"), (-2.0, "on target"), (-2.01, "little A")],
)
def test_a_ratio_within_two_percent_is_on_target(error: float | None, ratio: str, knowledge: Knowledge) -> None:
    """Beyond it is much A or little A; where nobody weighed it is neither."""
    assert replace(entry(knowledge), ratio_error=error).ratio == ratio


@pytest.mark.parametrize(
    ("written", "day"),
    [("", ""), ("2026-03-02", "2026-03-02"), ("2026-03-02 14:30", "2026-03-02"), ("2026-03-02T09:00", "2026-03-02"), ("2026-03-021", None), ("x2026-03-02", None)],
)  # fmt: skip
def test_a_time_behind_a_day_is_left_out(written: str, day: str | None) -> None:
    """A digit behind it makes it none; the key is named."""
    if day is None:
        with pytest.raises(InputError, match=rf"^when: '{written}' is no day, expected one as 2026-03-02$"):
            day_of(written, "when")
    else:
        assert day_of(written, "when") == day


def test_five_causes_of_what_was_said_are_kept() -> None:
    """In their order, to ten digits, none without a chance; without any there is no first."""
    causes = [
        {"id": name, "probability": p}
        for name, p in zip("abcdefg", (0.123456789012, 0.5, 0.4, 0.0, 0.3, 0.2, 0.1), strict=True)
    ]
    said = said_in({"knowledge": "k", "causes": causes})
    assert said.causes == (("a", 0.123456789), ("b", 0.5), ("c", 0.4), ("e", 0.3))
    assert (said.first, SAID, said.knowledge) == (("a", 0.123456789), 5, "k")
    assert Said("k").first == ("", None)


def test_answers_are_kept_as_they_would_be_written(knowledge: Knowledge) -> None:
    """Known ones by name; a number to ten digits, several values with commas; how each is known."""
    answers = {
        "build": "bare_foam", "painted": "yes", "mold_temperature": {"value": "12.5 degC", "source": "measured"}, "repeats": "unknown",
        "changed_since_good": ["season", "person"], "a_mass": "100 g", "b_mass": "200 g", "ratio_target": "50",
    }  # fmt: skip
    found = entry_of(case_of({"case": 1, "answers": answers}, knowledge), knowledge)
    told = {question: (value, source) for question, value, source in found.answers}
    assert told["mold_temperature"] == ("12.5", "measured")
    assert told["changed_since_good"][0] == "season, person"
    assert "repeats" not in told
    assert list(told) == sorted(told)
    assert (found.build, found.painted, found.ratio_error) == ("bare_foam", "yes", pytest.approx(0.0, abs=1e-9))
    bare = entry_of(case_of({"case": 1, "answers": {}}, knowledge), knowledge)
    assert (bare.build, bare.painted, bare.ratio_error, bare.ratio) == ("", "", None, "")


# -- the book ----------------------------------------------------------------------------------------------------------


def test_the_cost_of_a_part_is_shared_by_its_faults_and_causes(file_store: Store, knowledge: Knowledge) -> None:
    """Evenly, anew with each outcome; an outcome without a cost costs nothing."""
    name = add(file_store, New(entry(knowledge, "thin_skin", "pinholes"), (replace(FIXED, cost=None),)))
    shares = "SELECT cost FROM faults UNION ALL SELECT cost FROM outcome_causes WHERE current = 1"

    def costs() -> list[float]:
        with file_store.reading() as connection:
            return [float(cost) for (cost,) in connection.exec_driver_sql(shares)]

    assert costs() == [0.0, 0.0, 0.0]
    close(file_store, name, replace(FIXED, causes=("mold_cold", "a_rich", "b_wet"), cost=120.0))
    assert costs() == [60.0, 60.0, 40.0, 40.0, 40.0]
    close(file_store, name, replace(FIXED, cost=None))
    assert costs() == [0.0, 0.0, 0.0]
    add(file_store, New(entry(knowledge, "thin_skin", "pinholes"), (replace(FIXED, cost=90.0),)))
    assert sorted(costs()) == [0.0, 0.0, 0.0, 45.0, 45.0, 90.0]
    bare = add(file_store, New(entry(knowledge)))
    close(file_store, bare, FIXED)
    assert counted(file_store) == {"open": 0, "closed": 3, "good": 0}


def test_an_outcome_is_right_where_the_first_was_one_of_its_causes(file_store: Store, knowledge: Knowledge) -> None:
    """With the chance that was said; of a part of which nothing was said neither."""
    told = replace(entry(knowledge, "thin_skin"), said=Said("k", (("a_rich", 0.4), ("mold_cold", 0.3))))
    for each in (told, entry(knowledge, "thin_skin")):
        for causes in (("mold_cold", "a_rich"), ("mold_cold",)):
            close(file_store, add(file_store, New(each)), replace(FIXED, causes=causes))
    with file_store.reading() as connection:
        rows = connection.exec_driver_sql('SELECT "right", first_chance FROM outcomes ORDER BY number').all()
    assert [tuple(row) for row in rows] == [(1, 0.4), (0, 0.4), (0, None), (0, None)]


def test_twenty_are_listed_unless_more_are_asked_for(file_store: Store, knowledge: Knowledge) -> None:
    """All with none named; what is empty is null for other programs."""
    with file_store.writing() as connection:
        put_in(connection, [New(entry(knowledge, good=True, date=f"2026-01-{day:02d}")) for day in range(1, 23)])
    assert [each.date for each in listed(file_store)] == [f"2026-01-{day:02d}" for day in range(22, 2, -1)]
    assert len(listed(file_store, most=None)) == 22
    plain = listed(file_store, most=1)[0].to_plain()
    assert (plain["state"], plain["date"], plain["mold"], plain["first"]) == ("good", "2026-01-22", None, None)


def test_ids_given_by_others_are_passed_over(file_store: Store, knowledge: Knowledge) -> None:
    """Where the next id is taken the one after it is given, within one block too; each number is used once."""
    with file_store.writing() as connection:
        (first,) = put_in(connection, [New(entry(knowledge))])
        number = connection.exec_driver_sql("SELECT value FROM log WHERE key = 'next'").scalar()
    from diagnose.logbook.ids import encode

    assert isinstance(number, int)
    taken = [encode(number), encode(number + 2)]
    with file_store.writing() as connection:
        put_in(connection, [New(entry(knowledge), id=name) for name in taken])
        number = connection.exec_driver_sql("SELECT value FROM log WHERE key = 'next'").scalar()
        assert isinstance(number, int)
        mine = put_in(
            connection, [New(entry(knowledge)), New(entry(knowledge), id=encode(number + 1)), New(entry(knowledge))]
        )
    assert len({first, *taken, *mine}) == 6
    assert mine[1] == encode(number + 1)
    with file_store.reading() as connection:
        numbers = connection.exec_driver_sql("SELECT number FROM cases").scalars().all()
    assert len(set(numbers)) == 6


def test_more_told_of_an_open_part_takes_the_place_of_what_was(file_store: Store, knowledge: Knowledge) -> None:
    """Answers and faults give way, photos are added behind those that are there; id and number stay; a closed part is not touched."""
    name = add(file_store, New(entry(knowledge, "thin_skin", part="owl"), photos=(("a.jpg", None),)))
    amend(file_store, name, entry(knowledge, "pinholes", part="fox"), (("b.jpg", None), ("c.jpg", None)))
    amend(file_store, name, entry(knowledge, "pinholes", part="fox"))
    found = kept(file_store, name)
    assert (found.case["about"], found.case["answers"]["symptoms"]) == ({"part": "fox"}, ["pinholes"])
    assert found.photos == (("a.jpg", ""), ("b.jpg", ""), ("c.jpg", ""))
    with file_store.reading() as connection:
        assert connection.exec_driver_sql("SELECT symptom FROM faults").scalars().all() == ["pinholes"]
        assert connection.exec_driver_sql("SELECT count(*) FROM answers").scalar() == 3
    close(file_store, name, FIXED)
    with pytest.raises(
        InputError, match=rf"^{name}: is closed, expected an open case; log what is new as another one$"
    ):
        amend(file_store, name, entry(knowledge, "thin_skin"))


def test_a_case_is_remembered_under_its_own_id_while_it_is_open(tmp_path: Path, knowledge: Knowledge) -> None:
    """It gets today's day where it has none; once closed it is another one; a case is found by file or by id."""
    place = str(tmp_path / "log.db")
    first = remember(case(knowledge, "thin_skin"), knowledge, None, place)
    again = remember(case(knowledge, "pinholes", date="2026-03-02").with_about(id=first), knowledge, None, place)
    assert again == first
    store = open_log(where_of(place), write=True)
    assert kept(store, first).case["answers"]["symptoms"] == ["pinholes"]
    close(store, first, FIXED)
    said = {"knowledge": "k", "causes": [{"id": "mold_cold", "probability": 0.5}]}
    other = remember(case(knowledge, "pinholes").with_about(id=first), knowledge, said, place)
    assert other != first
    dates = {each.id: each.date for each in listed(store)}
    assert dates[first] == "2026-03-02"
    assert day_of(dates[other]) == dates[other] != ""
    assert (kept(store, other).said.first, kept(store, other).assessment) == (("mold_cold", 0.5), said)
    assert remember(case(knowledge, "pinholes").with_about(id="zzzzz"), knowledge, None, place) not in (first, other)
    store.close()
    assert resolve_case(first, place, knowledge).values["pinholes"].value == "seen"
    with pytest.raises(InputError, match=r"^nosuch: is no file, and no case 'nosuch' in the log"):
        resolve_case("nosuch", place, knowledge)
    with pytest.raises(InputError, match="can't be read"):
        resolve_case("no/such.yaml", place, knowledge)


def test_one_learning_is_in_use_and_is_forgotten_once(file_store: Store) -> None:
    """Each has a number of its own; a second takes the place of the first; where none is in use there is none to forget."""
    assert (forget(file_store), in_use(file_store.where)) == (False, None)
    assert [put_in_use(file_store, Learned(cases=cases)).number for cases in (30, 40)] == [1, 2]
    used = in_use(file_store.where)
    assert used is not None
    assert used.to_plain() == {"number": 2, "recorded": used.recorded, "cases": 40}
    assert (forget(file_store), forget(file_store), in_use(file_store.where)) == (True, False, None)
    assert put_in_use(file_store, Learned(cases=50)).number == 3
    with file_store.reading() as connection:
        rows = connection.exec_driver_sql(
            "SELECT number, in_use, cases, ended <> '' FROM learned ORDER BY number"
        ).all()
    assert [tuple(row) for row in rows] == [(1, 0, 30, 1), (2, 0, 40, 1), (3, 1, 50, 0)]


@pytest.mark.parametrize("digest", ["", "0" * 64, "z" * 64])
def test_what_does_not_fit_its_digest_is_told(digest: str, file_store: Store, knowledge: Knowledge) -> None:
    """A word of a case or a figure of a learning changed on the disk, or its digest: what is damaged, and what to do."""
    name = add(file_store, New(entry(knowledge, "thin_skin")))
    change = (
        f"UPDATE cases SET digest = '{digest}'"
        if digest
        else "UPDATE documents SET case_json = replace(case_json, 'thin_', 'thick_')"
    )
    with file_store.writing() as connection:
        connection.exec_driver_sql(change)
    with pytest.raises(
        LogError, match=rf"case {name} is not as it was kept; a backup comes back by: diagnose log restore"
    ):
        kept(file_store, name)
    put_in_use(file_store, Learned(cases=30))
    with file_store.writing() as connection:
        connection.exec_driver_sql(f"UPDATE learned SET digest = '{digest}'")
    with pytest.raises(
        InputError, match=r"\(number 1\) is damaged; go back to the book by: diagnose log learn --forget$"
    ):
        in_use(file_store.where)


def test_a_case_is_one_text_in_plain_letters(knowledge: Knowledge) -> None:
    """So that its digest is the same wherever it is read; good and bad parts of one case have two."""
    told = case_of({"case": 1, "title": "Gr\u00f6\u00dfe 2", "answers": {}}, knowledge)
    one, good = entry_of(told, knowledge), entry_of(told, knowledge, good=True)
    assert one.case_json == '{"case":1,"title":"Gr\\u00f6\\u00dfe 2","answers":{}}'
    assert one.digest != good.digest
    assert one.digest == digest_of(False, one.case_json)
