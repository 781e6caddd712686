"""Every earlier schema opens, with all that was in it; a newer one is left alone."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from sqlalchemy import inspect

from diagnose.logbook import migrations, schema
from diagnose.logbook.book import kept, listed
from diagnose.logbook.counts import Span
from diagnose.logbook.in_use import in_use
from diagnose.logbook.page import page_of
from diagnose.logbook.places import where_of
from diagnose.logbook.store import LogError, Store, open_log

#: a log as each schema version before the newest wrote it: a closed part, a good one, one that waits
STORED = sorted((Path(__file__).parent / "schemas").glob("*.db"))


def test_every_earlier_schema_is_stored() -> None:
    """A step without a file that begins with it is a step never tried."""
    assert [path.stem for path in STORED] == [str(version) for version in range(1, migrations.VERSION)]


@pytest.fixture(params=STORED, ids=lambda path: f"schema {path.stem}")
def old(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    """A copy of a stored log."""
    return Path(shutil.copy(request.param, tmp_path / "log.db"))


def test_an_old_log_is_brought_up_with_all_that_is_in_it(old: Path) -> None:
    """Cases, outcomes and counts come over; what the new page needs is filled in from what was there."""
    store = open_log(where_of(str(old)))
    cases = listed(store)
    assert [(case.state, case.date) for case in cases] == [
        ("closed", "2026-11-20"),
        ("good", "2026-01-01"),
        ("open", ""),
    ]
    closed = kept(store, cases[0].id)
    assert [outcome.causes for outcome in closed.outcomes] == [("mold_cold",), ("material_cold",)]
    page = page_of(store, Span("2026-11-01", "2026-11-30")).to_plain()
    assert (page["n"], page["bad"]) == (1, 1)
    assert page["pareto_causes"][0]["cost"] == 120.0
    assert {bar["id"] for bar in page["pareto_faults"]} == {"thin_skin", "tacky_face_only"}
    weeks = [point["period"] for point in page_of(store, Span()).to_plain()["p_chart"]["points"]]
    assert weeks == ["2026-W01", "2026-W47"]
    with store.reading() as connection:
        row = connection.execute(schema.faults.select().where(schema.faults.c.symptom == "thin_skin")).mappings().one()
    assert (row["mold"], row["season"], row["ratio"]) == ("goose, silicone in a plaster jacket", "Sep-Nov", "on target")
    store.close()


def test_a_backup_is_made_before_a_migration(old: Path, request: pytest.FixtureRequest) -> None:
    """The log as it was lies beside."""
    version = request.node.callspec.params["old"].stem
    open_log(where_of(str(old))).close()
    with closing(sqlite3.connect(f"{old}.schema-{version}")) as raw:
        assert raw.execute("SELECT value FROM log WHERE key = 'schema'").fetchone() == (int(version),)
        assert raw.execute("SELECT count(*) FROM cases").fetchone() == (3,)


def test_what_was_learned_stays_in_use(tmp_path: Path) -> None:
    """The stored log of schema 2 has a learning in use: read as it lies, and after it was brought up, with its count of cases."""
    path = Path(shutil.copy(Path(__file__).parent / "schemas" / "2.db", tmp_path / "log.db"))
    before = in_use(where_of(str(path)))
    assert before is not None
    assert (before.number, before.learned.cases, before.learned.base[""]) == (1, 40, {"mold_cold": 2.5})
    store = open_log(where_of(str(path)), write=True)
    assert in_use(store.where) == before
    with store.reading() as connection:
        row = connection.execute(schema.learned.select()).mappings().one()
    assert (row["cases"], row["in_use"], row["ended"]) == (40, 1, "")
    store.close()


def test_the_steps_lead_to_the_tables_that_the_queries_use(store: Store) -> None:
    """Tables and columns as the steps make them are those that `schema` declares, on both engines."""
    with store.reading() as connection:
        looked = inspect(connection)
        made = {name: {c["name"] for c in looked.get_columns(name)} for name in looked.get_table_names()}
    assert made == {table.name: {c.name for c in table.columns} for table in schema.metadata.sorted_tables}


def test_a_migrated_log_is_built_as_a_new_one(old: Path, tmp_path: Path) -> None:
    """Tables and indexes are the same whichever way they came to be."""

    def built(path: Path) -> list[tuple[str, ...]]:
        open_log(where_of(str(path)), write=True).close()
        with closing(sqlite3.connect(path)) as raw:
            return sorted(raw.execute("SELECT type, name, sql FROM sqlite_master WHERE sql IS NOT NULL"))

    assert built(old) == built(tmp_path / "new.db")


def test_a_newer_schema_is_left_as_it_was(file_store: Store) -> None:
    """One line that says what to do, and not a byte changed."""
    path = file_store.where.file
    assert path is not None
    with file_store.writing() as connection:
        connection.execute(schema.log.update().where(schema.log.c.key == "schema").values(value=99))
    file_store.close()
    before = path.read_bytes()
    for write in (False, True):
        with pytest.raises(LogError, match=r"newer diagnose \(schema 99, this one knows 3\)"):
            open_log(where_of(str(path)), write)
    assert path.read_bytes() == before


def test_two_that_migrate_at_once_agree(old: Path) -> None:
    """The second finds it done."""
    first, second = open_log(where_of(str(old)), True), open_log(where_of(str(old)), True)
    assert [case.id for case in listed(first)] == [case.id for case in listed(second)]
    first.close()
    second.close()
