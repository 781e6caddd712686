"""The database behind the log: opening it, its transactions, its version, and what can go wrong told in one line.

SQLite by default, in WAL mode with full synchronization: a case that was acknowledged is on the disk. Writing begins
with BEGIN IMMEDIATE, so that two writers wait for each other and neither works on a stale view. PostgreSQL by URL; same
tables, same statements. A log that isn't there reads as an empty one and is made by the first writing.
"""

from __future__ import annotations

import os
import secrets
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import quote

from sqlalchemy import Connection, Engine, create_engine, event, inspect, select, text
from sqlalchemy.exc import DBAPIError, SQLAlchemyError
from sqlalchemy.pool import NullPool, StaticPool

from diagnose.errors import DiagnoseError, InputError, one_line
from diagnose.files import part_beside
from diagnose.logbook import migrations, schema
from diagnose.logbook.places import Where

#: seconds to wait for another writer, and for a server to answer
WAIT = 5
#: running numbers begin anywhere below this, so that the logs of two benches hardly share an id
_SPREAD = 800_000
#: what writers on a server wait for, any number that no other program is likely to use
_LOCK = 733_114


class LogError(DiagnoseError):
    """The log can't be read or written (exit status 1); it was left as it was."""


class Store:
    """An open log. `reading()` and `writing()` give a connection within one transaction."""

    def __init__(self, where: Where, engine: Engine) -> None:
        self.where = where
        self.engine = engine

    @property
    def on_server(self) -> bool:
        """Whether the log lies on a server and not in a file."""
        return self.where.file is None

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """A transaction that sees one state of the log. Raises LogError."""
        with told(self.where), self.engine.connect() as raw, raw.execution_options(reading=True).begin():
            yield raw

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """A transaction that is kept whole or not at all; one writer at a time, others wait. Raises LogError."""
        with told(self.where), self.engine.begin() as connection:
            if self.on_server:
                connection.execute(text(f"SELECT pg_advisory_xact_lock({_LOCK})"))
            yield connection

    def close(self) -> None:
        """Let go of the database."""
        self.engine.dispose()


def open_log(where: Where, write: bool = False) -> Store:
    """Open the log at *where*, at the newest schema version; *write* makes it where there is none. Raises LogError."""
    if where.off:
        raise LogError("the log is switched off (DIAGNOSE_LOG=off); name one with --log")
    if where.file is not None and not where.file.exists():
        if not write:
            return _empty(where)
        with told(where):
            where.file.parent.mkdir(parents=True, exist_ok=True)
    if where.file is None:
        return _brought_up(Store(where, _server(where)))
    still = not write and not os.access(where.file.parent, os.W_OK) and _at_rest(where.file)
    try:
        return _brought_up(Store(where, _sqlite(where.file, write, still)))
    except LogError:
        if write or still or not _at_rest(where.file):
            raise
        # no room for the files that belong to reading beside others: with no writer about, it is read without them
        return _brought_up(Store(where, _sqlite(where.file, write, still=True)))


def _at_rest(path: Path) -> bool:
    """Whether nothing is left to be written into the log: then the file alone is the whole of it."""
    beside = Path(f"{path}-wal")
    return not beside.exists() or beside.stat().st_size == 0


def _empty(where: Where) -> Store:
    engine = create_engine("sqlite://", poolclass=StaticPool)
    store = Store(where, engine)
    with store.writing() as connection:
        migrations.migrate(connection, 0)
    return store


def _sqlite(path: Path, write: bool, still: bool) -> Engine:
    mode = "ro&immutable=1" if still else "rwc" if write else "rw"
    address = f"file:{quote(str(path))}?mode={mode}"

    def connect() -> sqlite3.Connection:
        made = sqlite3.connect(address, uri=True, timeout=WAIT, isolation_level=None)
        try:
            made.execute("PRAGMA foreign_keys = ON")
            made.execute("PRAGMA synchronous = FULL")
        except sqlite3.Error:
            made.close()
            raise
        return made

    engine = create_engine("sqlite://", creator=connect, poolclass=NullPool)

    @event.listens_for(engine, "begin")
    def begin(connection: Connection) -> None:
        reading = connection.get_execution_options().get("reading")
        connection.exec_driver_sql("BEGIN" if reading else "BEGIN IMMEDIATE")

    return engine


def _server(where: Where) -> Engine:
    try:
        import psycopg  # noqa: F401
    except ImportError:
        raise InputError(
            f"{where.label}: a log on PostgreSQL needs the extra: pip install 'benchside-diagnose[postgres]'"
        ) from None
    options = f"-c lock_timeout={WAIT}s -c client_encoding=UTF8"
    with told(where):
        return create_engine(where.url, poolclass=NullPool, connect_args={"connect_timeout": WAIT, "options": options})


def version_of(store: Store) -> int:
    """Return the schema version of the log, 0 where there is nothing yet. Raises InputError where it is no log at
    all.
    """
    found = _version_told(store)
    if found is not None:
        return found
    with store.reading() as connection:
        tables = inspect(connection).get_table_names()
        if "log" not in tables:
            if tables and not store.on_server:
                raise InputError(f"{store.where.label}: is a database of another program, expected a log")
            return 0
        found = connection.execute(select(schema.log.c.value).where(schema.log.c.key == "schema")).scalar()
        if found is None:
            raise InputError(f"{store.where.label}: is a database of another program, expected a log")
        return int(found)


def _version_told(store: Store) -> int | None:
    """The version as the log tells it, None where there is no such table: the usual case, without a look through the
    catalog.
    """
    query = select(schema.log.c.value).where(schema.log.c.key == "schema")
    with told(store.where):
        try:
            with store.engine.connect() as raw, raw.execution_options(reading=True).begin():
                found = raw.execute(query).scalar()
        except DBAPIError as error:
            name = getattr(error.orig, "sqlite_errorname", None) or getattr(error.orig, "sqlstate", None)
            if name in ("SQLITE_ERROR", "42P01", "42703"):
                return None
            raise
    return None if found is None else int(found)


def _brought_up(store: Store) -> Store:
    """Bring the log to the newest schema. Raises LogError where a newer program wrote it."""
    have = version_of(store)
    if have > migrations.VERSION:
        raise LogError(
            f"{store.where.label}: was written by a newer diagnose (schema {have}, this one knows "
            f"{migrations.VERSION}); "
            "it was left as it was, bring this program up to date"
        )
    if have == migrations.VERSION:
        return store
    if have and store.where.file is not None:
        backup(store, store.where.file.with_name(f"{store.where.file.name}.schema-{have}"))
    if not have and store.where.file is not None:
        _wal(store)
    with store.writing() as connection:
        have = _version_inside(connection)
        if have < migrations.VERSION:
            migrations.migrate(connection, have)
        if not have:
            start = secrets.randbelow(_SPREAD)
            connection.execute(schema.log.insert(), [{"key": "start", "value": start}, {"key": "next", "value": start}])
    return store


def _version_inside(connection: Connection) -> int:
    """The version as it is now that nobody else can write: another program may have been quicker."""
    if "log" not in inspect(connection).get_table_names():
        return 0
    return int(connection.execute(select(schema.log.c.value).where(schema.log.c.key == "schema")).scalar() or 0)


def _wal(store: Store) -> None:
    with told(store.where):
        raw = store.engine.raw_connection()
        try:
            raw.cursor().execute("PRAGMA journal_mode = WAL")
        finally:
            raw.close()


def backup(store: Store, target: Path) -> None:
    """Write the whole log to *target* as a file of SQLite that opens as a log. Raises LogError;
    an old *target* is replaced whole.
    """
    beside = part_beside(target)
    with told(store.where):
        try:
            beside.unlink(missing_ok=True)
            raw = store.engine.raw_connection()
            try:
                raw.cursor().execute("VACUUM INTO ?", (str(beside),))
            finally:
                raw.close()
            os.replace(beside, target)
        finally:
            beside.unlink(missing_ok=True)


@contextmanager
def told(where: Where) -> Iterator[None]:
    """Turn what the database or the disk says into one line. Raises LogError."""
    try:
        yield
    except DBAPIError as error:
        raise LogError(f"{where.label}: {_reason(error.orig)}") from None
    except sqlite3.Error as error:
        raise LogError(f"{where.label}: {_reason(error)}") from None
    except UnicodeDecodeError:  # SQLite's own words hold what stands in the file
        raise LogError(f"{where.label}: {_DAMAGED}") from None
    except SQLAlchemyError as error:
        raise LogError(f"{where.label}: {_first_line(error)}") from None
    except OSError as error:
        raise LogError(f"{where.label}: {error.strerror or error}; the log was left as it was") from None


_DAMAGED = "is damaged or no log; it was left as it was, a backup comes back by: diagnose log restore BACKUP"
#: what SQLite and PostgreSQL name a trouble, and what a caster reads
_REASONS = (
    (
        ("SQLITE_BUSY", "SQLITE_LOCKED", "55P03"),
        f"is locked: another program has been writing for over {WAIT} s; nothing was written, try again",
    ),
    (("SQLITE_FULL", "53100"), "the disk is full; nothing was written, the log is as it was"),
    (("SQLITE_READONLY", "25006"), "can't be written to: the file or its folder is read-only; the log is as it was"),
    (("SQLITE_CANTOPEN",), "can't be opened: the file or its folder is read-only or can't be reached"),
    (
        ("SQLITE_CORRUPT", "SQLITE_NOTADB"),
        _DAMAGED,
    ),
    (("SQLITE_IOERR",), "the disk failed or is full; nothing was written"),
)


def _reason(error: BaseException | None) -> str:
    name = str(getattr(error, "sqlite_errorname", None) or getattr(error, "sqlstate", None) or "")
    for starts, words in _REASONS:
        if name and name.startswith(starts):
            return words
    if str(error).startswith("Could not decode"):  # the driver's own, without a name: it holds what stands in the file
        return _DAMAGED
    return f"the database refused: {_first_line(error)}"


def _first_line(error: BaseException | None) -> str:
    return one_line(next(iter(str(error).strip().splitlines()), "no reason given"))
