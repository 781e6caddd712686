"""Keeping, closing and looking up parts, on a file and on a server."""

from __future__ import annotations

import threading
from typing import Any

import pytest
from log_support import GOOSE
from msgspec.structs import replace
from shop import Shop
from sqlalchemy import event

from diagnose.assessment.consultation import ModelCache
from diagnose.casebook import read_case
from diagnose.errors import InputError
from diagnose.knowledge import Knowledge
from diagnose.logbook.book import New, add, close, counted, kept, listed
from diagnose.logbook.entry import Entry, Outcome, case_of, checked, entry_of, ranked, with_about, with_advice
from diagnose.logbook.ids import SIGNS, encode, is_sound
from diagnose.logbook.places import where_of
from diagnose.logbook.store import Store, open_log

FIXED = Outcome(("mold_cold",), "fixed", "good", (), 120.0, "2026-11-22")


@pytest.fixture(scope="module")
def goose(knowledge: Knowledge, models: ModelCache) -> Entry:
    """The example of the docs, ranked."""
    case = read_case(GOOSE, knowledge)
    return replace(entry_of(case, knowledge), said=ranked(case, models))


def test_a_part_comes_back_as_it_was_kept(store: Store, goose: Entry) -> None:
    """Case, ranking and knowledge come back whole."""
    found = kept(store, add(store, New(goose)))
    assert found.case == goose.case
    assert found.said == goose.said
    assert found.said.causes[0][0] == "mold_cold"
    assert found.outcome is None
    assert not found.good


def test_the_whole_assessment_is_kept(store: Store, goose: Entry, knowledge: Knowledge) -> None:
    """What was advised is kept as data, with its version."""
    full = with_advice(goose, read_case(GOOSE, knowledge), knowledge)
    found = kept(store, add(store, New(full)))
    assert found.assessment == full.assessment
    assert found.assessment is not None
    assert found.assessment["version"] == 1
    assert found.assessment["verdict"]["causes"] == ["mold_cold"]


def test_closing_again_corrects_and_keeps_the_earlier_outcome(store: Store, goose: Entry) -> None:
    """The last outcome holds; the earlier ones stay, newest first."""
    name = add(store, New(goose))
    second = Outcome(("a_rich", "mold_cold"), "tested", "bad", ("warm_the_mold",), None, "2026-12-01")
    close(store, name, FIXED)
    close(store, name, second)
    assert kept(store, name).outcomes == (second, FIXED)
    assert counted(store) == {"open": 0, "closed": 1, "good": 0}


def test_a_good_part_has_nothing_to_close(store: Store, knowledge: Knowledge) -> None:
    """A part without fault is kept and can't be closed."""
    name = add(store, New(entry_of(case_of({"case": 1, "answers": {}}, knowledge), knowledge, good=True)))
    with pytest.raises(InputError, match="is a good part"):
        close(store, name, FIXED)
    assert counted(store)["good"] == 1


def test_a_good_part_can_not_show_a_fault(knowledge: Knowledge) -> None:
    """Good and thin-skinned are a contradiction."""
    case = case_of({"case": 1, "answers": {"symptoms": ["thin_skin"]}}, knowledge)
    with pytest.raises(InputError, match="thin_skin is seen on it"):
        entry_of(case, knowledge, good=True)


def test_the_list_shows_the_latest_first(store: Store, goose: Entry, knowledge: Knowledge) -> None:
    """By day, then by when it was logged; open ones and those of one client can be picked."""
    case = read_case(GOOSE, knowledge)
    days = ("2026-03-01", "2026-01-01", "2026-02-01")
    names = [add(store, New(entry_of(with_about(case, date=day, client=day[5:7]), knowledge))) for day in days]
    assert [case.id for case in listed(store)] == [names[0], names[2], names[1]]
    assert [case.id for case in listed(store, most=1)] == [names[0]]
    close(store, names[0], FIXED)
    assert [case.id for case in listed(store, waiting=True)] == [names[2], names[1]]
    assert [case.id for case in listed(store, client="01")] == [names[1]]
    assert listed(store, client="01")[0].to_plain()["first"] is None


def test_a_mistyped_id_is_told_from_an_unknown_one(store: Store, goose: Entry) -> None:
    """The check sign tells a slip of the pen; capitals are no slip."""
    name = add(store, New(goose))
    assert kept(store, name.upper()).id == name
    swapped = name[1] + name[0] + name[2:]
    if swapped != name:
        with pytest.raises(InputError, match="two are swapped"):
            kept(store, swapped)
    other = next(encode(i) for i in range(900_000, 900_099) if encode(i) != name)
    with pytest.raises(InputError, match=rf"^no case '{other}' in the log$"):
        kept(store, other)


def test_ids_find_every_slip() -> None:
    """One wrong sign or two neighbors swapped never make another sound id; the first hundred thousand are all different."""
    for number in range(0, 900_000, 90_001):
        name = encode(number)
        assert is_sound(name)
        for i, sign in enumerate(name):
            assert not any(is_sound(name[:i] + other + name[i + 1 :]) for other in SIGNS if other != sign)
            swapped = name[:i] + name[i + 1 : i + 2] + sign + name[i + 2 :]
            assert swapped == name or not is_sound(swapped)
    assert len({encode(number) for number in range(100_000)}) == 100_000
    assert {len(encode(number)) for number in (0, 923_520, 923_521)} == {5, 6}


def test_two_writers_at_once_lose_nothing(place: str, goose: Entry) -> None:
    """Two threads with logs of their own add and close; every id is there, once."""
    open_log(where_of(place), write=True).close()
    names: list[str] = []

    def work() -> None:
        mine = open_log(where_of(place), write=True)
        for _ in range(15):
            name = add(mine, New(goose))
            close(mine, name, FIXED)
            names.append(name)
        mine.close()

    threads = [threading.Thread(target=work) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    store = open_log(where_of(place))
    assert len(set(names)) == 30
    assert sorted(case.id for case in listed(store, most=None)) == sorted(names)
    assert counted(store) == {"open": 0, "closed": 30, "good": 0}
    store.close()


@pytest.mark.parametrize(
    ("outcome", "message"),
    [
        (replace(FIXED, causes=()), "expected at least one cause, or not_listed"),
        (replace(FIXED, causes=("mold_cld",)), "no cause 'mold_cld', nearest is 'mold_cold', expected the id of one"),
        (replace(FIXED, causes=("mold_cold", "mold_cold")), "cause 'mold_cold' stands twice"),
        (replace(FIXED, causes=("not_listed", "a_rich")), "it was none of them, or it was one of them"),
        (replace(FIXED, how="guessed"), "outcome.how: 'guessed', expected one of looked, tested, fixed, opinion"),
        (replace(FIXED, next="fine"), "outcome.next: 'fine', expected one of good, bad, not_poured"),
        (replace(FIXED, remedies=("pray",)), "no remedy 'pray'"),
    ],
)
def test_an_outcome_that_can_not_be_is_refused(outcome: Outcome, message: str, knowledge: Knowledge) -> None:
    """Each with what was expected."""
    with pytest.raises(InputError) as refused:
        checked(outcome, knowledge)
    assert message in str(refused.value)


@pytest.mark.parametrize("day", ["last Tuesday", "2026-02-30", "20260302", "2026-W10", "2026-3-2"])
def test_a_date_is_a_day(day: str, knowledge: Knowledge) -> None:
    """A chart by week can't trust anything else."""
    case = case_of({"case": 1, "answers": {}, "about": {"date": day}}, knowledge)
    with pytest.raises(InputError, match="is no day, expected one as 2026-03-02"):
        entry_of(case, knowledge)


def test_a_log_that_is_not_there_reads_as_an_empty_one(tmp_path: object, knowledge: Knowledge) -> None:
    """Looking makes no file."""
    where = where_of(f"{tmp_path}/nothing/log.db")
    assert listed(open_log(where)) == []
    assert where.file is not None
    assert not where.file.parent.exists()


def test_no_case_costs_a_look_at_all_others(file_store: Store, knowledge: Knowledge) -> None:
    """Adding, closing, correcting, showing and listing find their rows by an index, so that a log of a million cases answers as one of ten."""
    statements: list[tuple[str, Any]] = []

    def note(connection: Any, cursor: Any, statement: str, parameters: Any, context: Any, many: bool) -> None:
        statements.append((statement, parameters[0] if many else parameters))

    event.listen(file_store.engine, "before_cursor_execute", note)
    new = next(part for part in Shop(knowledge, good=0.0).parts(1))
    name = add(file_store, replace(new, outcomes=()))
    for cause in ("mold_cold", "a_rich"):
        close(file_store, name, Outcome((cause,), "looked", "good", date="2026-03-02"))
    assert kept(file_store, name).outcomes[0].causes == ("a_rich",)
    listed(file_store)
    listed(file_store, waiting=True)
    listed(file_store, client="northlight")
    event.remove(file_store.engine, "before_cursor_execute", note)
    assert len(statements) > 20
    with file_store.reading() as connection:
        for statement, parameters in statements:
            if statement.startswith(("SELECT", "UPDATE", "INSERT")):
                plan = connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {statement}", parameters)
                steps = [str(row[-1]) for row in plan]
                assert not [step for step in steps if step.startswith("SCAN") and "INDEX" not in step], statement
