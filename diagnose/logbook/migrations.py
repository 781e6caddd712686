"""Every schema that the log ever had, as steps from one version to the next.
A step is never changed once it is released.

Each step and its record are one transaction: a log is at one version or at the next, whatever happens. The statements
are the common ground of SQLite and PostgreSQL, with the few words that differ put in by `_worded`.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

from sqlalchemy import Connection, text

VERSION = 2

_FIRST = """
CREATE TABLE log (key TEXT PRIMARY KEY, value INTEGER NOT NULL);
CREATE TABLE cases (
  number INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, origin TEXT NOT NULL, digest TEXT NOT NULL, added TEXT NOT NULL,
  date TEXT NOT NULL, title TEXT NOT NULL, part TEXT NOT NULL, client TEXT NOT NULL, mold TEXT NOT NULL,
  lot_a TEXT NOT NULL, lot_b TEXT NOT NULL, person TEXT NOT NULL, build TEXT NOT NULL, painted TEXT NOT NULL,
  state TEXT NOT NULL, knowledge TEXT NOT NULL, first TEXT NOT NULL, first_chance DOUBLE PRECISION,
  ratio_error DOUBLE PRECISION);
CREATE INDEX cases_digest ON cases (digest);
CREATE INDEX cases_latest ON cases (date, number);
CREATE INDEX cases_waiting ON cases (state, date, number);
CREATE INDEX cases_client ON cases (client, date, number);
CREATE TABLE documents (
  case_number INTEGER PRIMARY KEY REFERENCES cases, case_json TEXT NOT NULL, said TEXT NOT NULL, assessment BLOB);
CREATE TABLE answers (
  case_number INTEGER NOT NULL REFERENCES cases, question TEXT NOT NULL, value TEXT NOT NULL, source TEXT NOT NULL,
  PRIMARY KEY (case_number, question)) WITHOUT ROWID;
CREATE TABLE faults (
  case_number INTEGER NOT NULL REFERENCES cases, symptom TEXT NOT NULL, cost DOUBLE PRECISION NOT NULL,
  PRIMARY KEY (case_number, symptom)) WITHOUT ROWID;
CREATE TABLE outcomes (
  number INTEGER PRIMARY KEY, case_number INTEGER NOT NULL REFERENCES cases, current INTEGER NOT NULL, how TEXT NOT NULL,
  next TEXT NOT NULL, causes TEXT NOT NULL, remedies TEXT NOT NULL, date TEXT NOT NULL, recorded TEXT NOT NULL,
  cost DOUBLE PRECISION, first_chance DOUBLE PRECISION, "right" INTEGER NOT NULL);
CREATE INDEX outcomes_case ON outcomes (case_number);
CREATE TABLE outcome_causes (
  outcome INTEGER NOT NULL REFERENCES outcomes, cause TEXT NOT NULL, case_number INTEGER NOT NULL,
  current INTEGER NOT NULL, cost DOUBLE PRECISION NOT NULL, PRIMARY KEY (outcome, cause)) WITHOUT ROWID;
CREATE TABLE photos (
  digest TEXT PRIMARY KEY, width INTEGER NOT NULL, height INTEGER NOT NULL, data BLOB NOT NULL);
CREATE TABLE case_photos (
  case_number INTEGER NOT NULL REFERENCES cases, place INTEGER NOT NULL, name TEXT NOT NULL, digest TEXT NOT NULL,
  PRIMARY KEY (case_number, place)) WITHOUT ROWID;
"""  # noqa: E501  (a step is never changed, not by a line break)

#: what Monday's page groups by, in the row that is counted, and what was learned
_SECOND = """
ALTER TABLE cases ADD COLUMN week TEXT NOT NULL DEFAULT '';
ALTER TABLE cases ADD COLUMN season TEXT NOT NULL DEFAULT '';
ALTER TABLE cases ADD COLUMN ratio TEXT NOT NULL DEFAULT '';
ALTER TABLE faults ADD COLUMN date TEXT NOT NULL DEFAULT '';
ALTER TABLE faults ADD COLUMN mold TEXT NOT NULL DEFAULT '';
ALTER TABLE faults ADD COLUMN lot_a TEXT NOT NULL DEFAULT '';
ALTER TABLE faults ADD COLUMN lot_b TEXT NOT NULL DEFAULT '';
ALTER TABLE faults ADD COLUMN person TEXT NOT NULL DEFAULT '';
ALTER TABLE faults ADD COLUMN season TEXT NOT NULL DEFAULT '';
ALTER TABLE faults ADD COLUMN ratio TEXT NOT NULL DEFAULT '';
ALTER TABLE outcomes ADD COLUMN case_date TEXT NOT NULL DEFAULT '';
ALTER TABLE outcome_causes ADD COLUMN case_date TEXT NOT NULL DEFAULT '';
CREATE TABLE learned (
  number INTEGER PRIMARY KEY, recorded TEXT NOT NULL, content TEXT NOT NULL, in_use INTEGER NOT NULL);
"""

_COPIED = """
UPDATE cases SET ratio = CASE WHEN ratio_error IS NULL THEN '' WHEN ratio_error > 2 THEN 'much A'
  WHEN ratio_error < -2 THEN 'little A' ELSE 'on target' END;
UPDATE faults SET date = c.date, mold = c.mold, lot_a = c.lot_a, lot_b = c.lot_b, person = c.person, season = c.season,
  ratio = c.ratio FROM cases AS c WHERE c.number = faults.case_number;
UPDATE outcomes SET case_date = c.date FROM cases AS c WHERE c.number = outcomes.case_number;
UPDATE outcome_causes SET case_date = c.date FROM cases AS c WHERE c.number = outcome_causes.case_number;
CREATE INDEX cases_week ON cases (week, state, date);
CREATE INDEX cases_span ON cases (date, state, week, mold, lot_a, lot_b, person, season, ratio);
CREATE INDEX cases_mold ON cases (mold, date);
CREATE INDEX cases_lot_a ON cases (lot_a, date);
CREATE INDEX cases_lot_b ON cases (lot_b, date);
CREATE INDEX cases_person ON cases (person, date);
CREATE INDEX cases_season ON cases (season, date);
CREATE INDEX cases_ratio ON cases (ratio, date);
CREATE INDEX faults_symptom ON faults (symptom, date, cost);
CREATE INDEX faults_mold ON faults (mold, symptom, date);
CREATE INDEX faults_lot_a ON faults (lot_a, symptom, date);
CREATE INDEX faults_lot_b ON faults (lot_b, symptom, date);
CREATE INDEX faults_person ON faults (person, symptom, date);
CREATE INDEX faults_season ON faults (season, symptom, date);
CREATE INDEX faults_ratio ON faults (ratio, symptom, date);
CREATE INDEX outcomes_said ON outcomes (current, case_date, how, next, first_chance, "right");
CREATE INDEX outcome_causes_cause ON outcome_causes (current, cause, case_date, cost);
"""


def week_of(day: str) -> str:
    """Return the ISO 8601 week of *day* (as 2026-03-02), such as 2026-W10; empty for an empty day."""
    if not day:
        return ""
    year, week, _ = date.fromisoformat(day).isocalendar()
    return f"{year:04d}-W{week:02d}"


def season_of(day: str) -> str:
    """Return the three months in which *day* lies, as Dec-Feb; empty for an empty day."""
    return ("Dec-Feb", "Mar-May", "Jun-Aug", "Sep-Nov")[int(day[5:7]) % 12 // 3] if day else ""


def _worded(connection: Connection, statement: str) -> str:
    if connection.dialect.name == "sqlite":
        return statement
    return statement.replace("BLOB", "BYTEA").replace(" WITHOUT ROWID", "")


def _run(connection: Connection, script: str) -> None:
    for statement in filter(str.strip, script.split(";\n")):
        connection.exec_driver_sql(_worded(connection, statement.strip().rstrip(";")))


def _first(connection: Connection) -> None:
    _run(connection, _FIRST)


def _second(connection: Connection) -> None:
    _run(connection, _SECOND)
    days = connection.execute(text("SELECT DISTINCT date FROM cases WHERE date <> ''")).scalars().all()
    for day in days:
        connection.execute(
            text("UPDATE cases SET week = :week, season = :season WHERE date = :day"),
            {"week": week_of(day), "season": season_of(day), "day": day},
        )
    _run(connection, _COPIED)


#: the step that leads to each version
STEPS: dict[int, Callable[[Connection], None]] = {1: _first, 2: _second}


def migrate(connection: Connection, have: int, to: int = VERSION) -> None:
    """Take the log from version *have* (0: nothing there) to version *to*, within the transaction of *connection*."""
    for version in range(have + 1, to + 1):
        STEPS[version](connection)
        if version == 1:
            connection.execute(text("INSERT INTO log (key, value) VALUES ('schema', 1)"))
        else:
            connection.execute(text("UPDATE log SET value = :v WHERE key = 'schema'"), {"v": version})
