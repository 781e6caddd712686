"""The rows that the log writes, column by column: what is put in, closed, amended, imported, copied and put in use."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
from log_edges import FIXED, case, entry
from msgspec.structs import replace
from sqlalchemy import create_engine
from sqlalchemy.pool import StaticPool

from diagnose.assessment.consultation import ModelCache
from diagnose.knowledge import Knowledge
from diagnose.logbook import book, movers, schema
from diagnose.logbook.amend import amend
from diagnose.logbook.apply import earlier_file, forget, put_in_use
from diagnose.logbook.book import New, add, close, kept, listed, put_in
from diagnose.logbook.entry import Outcome, Said, case_of, entry_of
from diagnose.logbook.exchange import import_file
from diagnose.logbook.in_use import digest_of, in_use
from diagnose.logbook.learned import Learned
from diagnose.logbook.migrations import migrate
from diagnose.logbook.photos import Photo
from diagnose.logbook.places import Where, where_of
from diagnose.logbook.store import Store, open_log

STAMP = re.compile(r"20\d\d-\d\d-\d\dT\d\d:\d\d:\d\d\+00:00")
WRONG = Outcome(("a_rich", "b_wet"), "opinion", "not_poured", ("warm_the_mold", "stir_b"), 30.0, "2026-03-04")


def rows(store: Store, table: str, order: str = "1, 2") -> list[dict[str, Any]]:
    """All rows of *table*."""
    with store.reading() as connection:
        return [dict(row) for row in connection.exec_driver_sql(f"SELECT * FROM {table} ORDER BY {order}").mappings()]


def whole(store: Store) -> dict[str, list[dict[str, Any]]]:
    """All rows of all tables."""
    return {table: rows(store, table, "1") for table in sorted(schema.metadata.tables)}


@pytest.fixture
def owl(knowledge: Knowledge) -> New:
    """A part with two faults, three outcomes of which two were corrected, and two photos of which one is there."""
    answers = {
        "build": "bare_foam", "painted": "no", "symptoms": ["thin_skin", "pinholes"], "mold_temperature": {"value": "12 degC", "source": "measured"},
        "a_mass": "103 g", "b_mass": "200 g", "ratio_target": "50",
    }  # fmt: skip
    about = {
        "date": "2026-03-02",
        "part": "head",
        "mold": "owl 2",
        "lot_a": "A7",
        "lot_b": "B9",
        "person": "R",
        "client": "harbor",
    }
    told = entry_of(case_of({"case": 1, "title": "Owl", "answers": answers, "about": about}, knowledge), knowledge)
    said = Said("key", (("a_rich", 0.25), ("mold_cold", 0.125)))
    photo = Photo("f0" * 32, 8, 6, b"JPEG")
    return New(
        replace(told, said=said, assessment={"version": 1}),
        (FIXED, WRONG, replace(FIXED, cost=50.0)),
        (("a.jpg", photo), ("b.jpg", None)),
    )


def test_every_column_of_a_part(file_store: Store, owl: New) -> None:
    """The case with what Monday's page groups by; its answers, faults, outcomes and photos; costs shared by the last outcome."""
    name = add(file_store, owl)
    (row,) = rows(file_store, "cases")
    number = row["number"]
    assert STAMP.fullmatch(row.pop("added"))
    assert row.pop("ratio_error") == pytest.approx(3.0)
    factors = {"mold": "owl 2", "lot_a": "A7", "lot_b": "B9", "person": "R", "season": "Mar-May", "ratio": "much A"}
    assert row == {
        "number": number, "id": name, "origin": name, "digest": owl.entry.digest, "date": "2026-03-02", "week": "2026-W10", "title": "Owl", "part": "head",
        "client": "harbor", **factors, "build": "bare_foam", "painted": "no", "state": "closed", "knowledge": "key", "first": "a_rich", "first_chance": 0.25,
    }  # fmt: skip
    (document,) = rows(file_store, "documents")
    assert document["case_json"] == owl.entry.case_json
    assert json.loads(document["said"]) == [["a_rich", 0.25], ["mold_cold", 0.125]]
    assert book.unpacked(document["assessment"]) == {"version": 1}
    assert [(r["question"], r["value"], r["source"]) for r in rows(file_store, "answers")] == list(owl.entry.answers)
    assert rows(file_store, "faults") == [
        {"case_number": number, "symptom": symptom, "date": "2026-03-02", **factors, "cost": 25.0} for symptom in ("pinholes", "thin_skin")
    ]  # fmt: skip
    outcomes = rows(file_store, "outcomes")
    assert {STAMP.fullmatch(r.pop("recorded")) is not None for r in outcomes} == {True}
    shared = {"case_number": number, "case_date": "2026-03-02", "first_chance": 0.25}
    fixed = {"how": "fixed", "next": "good", "causes": "mold_cold", "remedies": "", "date": "2026-03-02", "right": 0}
    wrong = {
        "how": "opinion",
        "next": "not_poured",
        "causes": "a_rich b_wet",
        "remedies": "warm_the_mold stir_b",
        "date": "2026-03-04",
        "right": 1,
    }
    assert outcomes == [
        {"number": 1, "current": 0, **shared, **fixed, "cost": 120.0},
        {"number": 2, "current": 0, **shared, **wrong, "cost": 30.0},
        {"number": 3, "current": 1, **shared, **fixed, "cost": 50.0},
    ]
    assert rows(file_store, "outcome_causes") == [
        {"outcome": outcome, "cause": cause, "case_number": number, "current": current, "case_date": "2026-03-02", "cost": cost}
        for outcome, cause, current, cost in ((1, "mold_cold", 0, 120.0), (2, "a_rich", 0, 15.0), (2, "b_wet", 0, 15.0), (3, "mold_cold", 1, 50.0))
    ]  # fmt: skip
    assert rows(file_store, "photos") == [{"digest": "f0" * 32, "width": 8, "height": 6, "data": b"JPEG"}]
    assert rows(file_store, "case_photos") == [
        {"case_number": number, "place": 0, "name": "a.jpg", "digest": "f0" * 32},
        {"case_number": number, "place": 1, "name": "b.jpg", "digest": ""},
    ]


def test_every_column_of_a_closing(file_store: Store, owl: New) -> None:
    """A new outcome holds from now on, its number goes on over all parts; of another part nothing is touched."""
    first = add(file_store, replace(owl, outcomes=()))
    other = add(file_store, replace(owl, outcomes=(FIXED,)))
    assert [each.state for each in listed(file_store)] == ["closed", "open"]
    close(file_store, first, WRONG)
    close(file_store, first, replace(FIXED, cost=None))
    outcomes = rows(file_store, "outcomes")
    assert [(r["number"], r["current"], r["causes"], r["right"], r["cost"]) for r in outcomes] == [
        (1, 1, "mold_cold", 0, 120.0), (2, 0, "a_rich b_wet", 1, 30.0), (3, 1, "mold_cold", 0, None),
    ]  # fmt: skip
    assert all(STAMP.fullmatch(r["recorded"]) for r in outcomes)
    assert {r["first_chance"] for r in outcomes} == {0.25}
    assert {r["case_date"] for r in [*outcomes, *rows(file_store, "outcome_causes")]} == {"2026-03-02"}
    assert [(r["outcome"], r["cause"], r["current"], r["cost"]) for r in rows(file_store, "outcome_causes")] == [
        (1, "mold_cold", 1, 120.0), (2, "a_rich", 0, 15.0), (2, "b_wet", 0, 15.0), (3, "mold_cold", 1, 0.0),
    ]  # fmt: skip
    numbers = {row["id"]: row["number"] for row in rows(file_store, "cases")}
    costs = {(r["case_number"], r["cost"]) for r in rows(file_store, "faults")}
    assert costs == {(numbers[first], 0.0), (numbers[other], 60.0)}
    assert [each.to_plain() for each in listed(file_store, most=1)] == [
        {"id": other, "date": "2026-03-02", "title": "Owl", "part": "head", "mold": "owl 2", "client": "harbor", "state": "closed", "first": "a_rich"}
    ]  # fmt: skip


def test_what_is_amended_stays_whose_it_was(
    file_store: Store, knowledge: Knowledge, models: ModelCache, tmp_path: Path
) -> None:
    """Number, id, where it came from and when it was logged stay; all else is as told now, in one row."""
    line = {"log": 1, "id": "mine", "case": {"case": 1, "answers": {"symptoms": ["thin_skin"]}}}
    path = tmp_path / "a.jsonl"
    for title in ("one", "two"):
        path.write_text(json.dumps({**line, "case": {**line["case"], "title": title}}), encoding="utf-8")  # type: ignore[dict-item]
        renamed = import_file(file_store, path, models).renamed
    (name,) = renamed.values()
    with file_store.writing() as connection:
        connection.exec_driver_sql(f"UPDATE cases SET added = 'long ago' WHERE id = '{name}'")
    before = next(row for row in rows(file_store, "cases") if row["id"] == name)
    assert (before["origin"], before["title"]) == ("mine", "two")
    told = replace(
        entry(knowledge, "pinholes", mold="fox", date="2026-07-01"), title="three", said=Said("new", (("b_wet", 0.5),))
    )
    amend(file_store, name, told)
    after = next(row for row in rows(file_store, "cases") if row["id"] == name)
    kept_as_they_were = ("number", "id", "origin", "added", "state")
    assert {key: after[key] for key in kept_as_they_were} == {key: before[key] for key in kept_as_they_were}
    assert (after["title"], after["mold"], after["date"], after["season"], after["first"], after["digest"]) == (
        "three", "fox", "2026-07-01", "Jun-Aug", "b_wet", told.digest,
    )  # fmt: skip
    assert len(rows(file_store, "cases")) == len(rows(file_store, "documents")) == 2
    assert kept(file_store, name).said == told.said


def test_one_learning_is_in_use_at_a_time(file_store: Store, tmp_path: Path) -> None:
    """Each is a row with its content and digest; the file in which programs of schema 2 kept one goes, whichever way it is left."""
    path = file_store.where.file
    assert path is not None
    earlier = path.with_name("log.db.learned.json")
    assert earlier_file(file_store.where) == earlier
    earlier.write_text("{}", encoding="utf-8")
    first, second = Learned(cases=30), Learned(cases=40, base={"": {"a": 2.0}})
    assert put_in_use(file_store, first).to_plain()["number"] == 1
    assert not earlier.exists()
    used = put_in_use(file_store, second)
    found = rows(file_store, "learned")
    assert [(r["number"], r["in_use"], r["cases"], r["ended"] != "") for r in found] == [
        (1, 0, 30, True),
        (2, 1, 40, False),
    ]
    assert all(STAMP.fullmatch(r["recorded"]) for r in found)
    assert STAMP.fullmatch(found[0]["ended"])
    assert [json.loads(r["content"]) for r in found] == [first.to_plain(), second.to_plain()]
    assert [r["digest"] for r in found] == [digest_of(r["content"]) for r in found]
    assert in_use(file_store.where) == used
    assert used.learned == second
    earlier.write_text("{}", encoding="utf-8")
    assert forget(file_store)
    assert not earlier.exists()


def test_where_programs_of_schema_two_kept_what_a_server_s_log_taught() -> None:
    """In the user's data folder, by the first twelve digits of the digest of its address (sha256sum)."""
    found = earlier_file(Where(None, "postgresql+psycopg://me@host/shop", "the shop's"))
    assert found.name == "learned-549d98ec68d3.json"


def test_a_copy_takes_the_place_of_all_that_was_there(
    file_store: Store, knowledge: Knowledge, owl: New, tmp_path: Path
) -> None:
    """Every row of every table, a block at a time, and none of what the target held."""
    add(file_store, owl)
    add(file_store, New(entry(knowledge, good=True)))
    put_in_use(file_store, Learned(cases=7))
    target = open_log(where_of(str(tmp_path / "target.db")), write=True)
    for i in range(3):
        add(target, replace(owl, photos=((f"{i}.jpg", Photo(f"{i}" * 64, 1, 1, b"x")),)))
    put_in_use(target, Learned(cases=9))
    movers._copy(file_store, target)
    assert whole(target) == whole(file_store)
    assert len(rows(target, "cases")) == 2
    target.close()


def test_a_photo_of_several_parts_is_one_picture(file_store: Store, knowledge: Knowledge, owl: New) -> None:
    """Within one block and over several; each part names it as it was given."""
    with file_store.writing() as connection:
        put_in(connection, [owl, replace(owl, photos=(("again.jpg", owl.photos[0][1]),))])
    other = Photo("0e" * 32, 2, 2, b"other")
    name = add(
        file_store,
        New(entry_of(case(knowledge, "thin_skin"), knowledge), (), (("x.jpg", other), ("y.jpg", owl.photos[0][1]))),
    )
    assert [row["data"] for row in rows(file_store, "photos")] == [b"other", b"JPEG"]
    assert kept(file_store, name).photos == (("x.jpg", other.digest), ("y.jpg", "f0" * 32))
    assert len(rows(file_store, "case_photos")) == 5


def test_a_backup_of_a_server_is_one_file(file_store: Store, owl: New, tmp_path: Path) -> None:
    """With all that is in it, and nothing beside it. (A database in memory, taken for a server.)"""
    add(file_store, owl)
    engine = create_engine("sqlite://", poolclass=StaticPool)
    with engine.begin() as connection:
        migrate(connection, 0)
    movers._copy(file_store, Store(Where(tmp_path / "memory", "", ""), engine))
    server = Store(Where(None, "", "server"), engine)
    assert server.on_server
    folder = tmp_path / "backups"
    folder.mkdir()
    movers.back_up(server, folder / "shop.db")
    assert [each.name for each in folder.iterdir()] == ["shop.db"]
    copy = open_log(where_of(str(folder / "shop.db")))
    assert whole(copy) == whole(file_store)
    copy.close()
    engine.dispose()
