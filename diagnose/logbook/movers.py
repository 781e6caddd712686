"""Backup, restore and merge: the whole log from one database to another, of either kind.

A backup is a file of SQLite that opens as a log, whatever the log lies on. Restoring takes the place of what is there
in one transaction and keeps what was there in a file beside; merging adds what isn't there yet and closes what waits
here and is closed there.
"""

from __future__ import annotations

import hashlib
import os
import sqlite3
from collections.abc import Iterator, Mapping
from contextlib import closing
from pathlib import Path
from urllib.parse import quote

from sqlalchemy import Connection, delete, select

from diagnose.errors import InputError
from diagnose.files import part_beside
from diagnose.logbook import schema
from diagnose.logbook.book import BLOCK, New, whole
from diagnose.logbook.entry import About, Entry
from diagnose.logbook.exchange import Line, Taken, take
from diagnose.logbook.photos import Photo
from diagnose.logbook.places import Where
from diagnose.logbook.store import WAIT, LogError, Store, backup, open_log, told


def back_up(store: Store, target: Path) -> None:
    """Write the log to *target*, a file of SQLite. Raises InputError where something else lies there, LogError."""
    if os.path.lexists(target) and not target.is_file():
        raise InputError(f"{target}: is no regular file, expected a new name or a backup to write over")
    if store.where.file is not None:
        if not store.where.file.exists():
            raise InputError(f"{store.where.label}: there is no log yet, so nothing to back up; {target} is as it was")
        if target.exists() and os.path.samefile(target, store.where.file):
            raise InputError(f"{target}: is the log itself, expected another file")
        backup(store, target)
        return
    beside = part_beside(target.with_name(f"{target.name}.copy"))
    try:
        copy = open_log(Where(beside, "", str(target)), write=True)
        _copy(store, copy)
        backup(copy, target)
        copy.close()
    finally:
        for name in (beside, Path(f"{beside}-wal"), Path(f"{beside}-shm")):
            name.unlink(missing_ok=True)


def restore(source: Path, where: Where) -> Path | None:
    """Put the backup *source* in the place of the log at *where*.
    Returns where the log that was there is kept, if there was one.

    Raises InputError where *source* is no log, LogError; then nothing was changed.
    """
    if not source.is_file():
        raise InputError(f"{source}: no such file, expected a backup of a log")
    _whole_or_refused(source)
    from_backup = open_log(Where(source, "", str(source)))
    try:
        if where.file is not None:
            return _restore_file(source, where.file)
        target = open_log(where, write=True)
        _copy(from_backup, target)
        target.close()
        return None
    finally:
        from_backup.close()


def _whole_or_refused(path: Path) -> None:
    with (
        told(Where(path, "", str(path))),
        closing(sqlite3.connect(f"file:{quote(str(path))}?mode=ro", uri=True)) as raw,
    ):
        if raw.execute("PRAGMA quick_check").fetchone() != ("ok",):
            raise LogError(f"{path}: is damaged; nothing was restored")


def _restore_file(source: Path, target: Path) -> Path | None:
    if target.exists() and os.path.samefile(source, target):
        raise InputError(f"{source}: is the log itself, expected a backup of it")
    where = Where(target, "", str(target))
    kept = target.with_name(f"{target.name}.before-restore") if target.exists() else None
    with told(where):
        target.parent.mkdir(parents=True, exist_ok=True)
        if kept is not None and not _set_aside(where, kept):
            os.replace(target, kept)  # too damaged to be read: the file itself is kept
            for name in (Path(f"{target}-wal"), Path(f"{target}-shm")):
                name.unlink(missing_ok=True)
        with closing(sqlite3.connect(source)) as old, closing(sqlite3.connect(target, timeout=WAIT)) as new:
            old.backup(new, progress=_no_further_where_locked)
            new.execute("PRAGMA journal_mode = WAL")
    open_log(where, write=True).close()
    return kept


def _no_further_where_locked(status: int, _left: int, _all: int) -> None:
    """SQLite has waited for the other writer by now; copying would begin anew for ever."""
    if status in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
        locked = sqlite3.OperationalError("database is locked")
        locked.sqlite_errorname = "SQLITE_BUSY"
        raise locked


def _set_aside(where: Where, kept: Path) -> bool:
    """Copy the log as it is to *kept*; False where it can't be read."""
    try:
        with closing(sqlite3.connect(f"file:{quote(str(where.file))}?mode=ro", uri=True, timeout=WAIT)) as raw:
            if raw.execute("PRAGMA quick_check").fetchone() != ("ok",):
                return False
            kept.unlink(missing_ok=True)
            raw.execute("VACUUM INTO ?", (str(kept),))
    except UnicodeDecodeError:  # SQLite's own words hold what stands in the file
        return False
    except sqlite3.DatabaseError as error:
        if getattr(error, "sqlite_errorname", "").startswith(("SQLITE_CORRUPT", "SQLITE_NOTADB")):
            return False
        raise
    return True


def _copy(source: Store, target: Store) -> None:
    """Put every row of *source* in the place of those of *target*, in one transaction."""
    tables = [*_ORDER, schema.log]
    with source.reading() as old, target.writing() as new:
        for table in reversed(tables):
            new.execute(delete(table))
        for table in tables:
            for block in _rows(old, table):
                new.execute(table.insert(), block)


_ORDER = (
    schema.cases,
    schema.documents,
    schema.answers,
    schema.faults,
    schema.outcomes,
    schema.outcome_causes,
    schema.photos,
    schema.case_photos,
    schema.learned,
)


def _rows(connection: Connection, table: object) -> Iterator[list[dict[str, object]]]:
    result = connection.execution_options(yield_per=BLOCK).execute(select(table))  # type: ignore[call-overload]
    for block in result.mappings().partitions(BLOCK):
        yield [dict(row) for row in block]


def merge(store: Store, other: Store) -> Taken:
    """Put the cases of *other* that aren't there yet into the log, with their photos. Raises LogError;
    then nothing went in.
    """
    with other.reading() as there, store.writing() as here:
        return take(here, _parts(there))


def _parts(connection: Connection) -> Iterator[Line]:
    number = -1
    while True:
        query = select(schema.cases).where(schema.cases.c.number > number).order_by(schema.cases.c.number).limit(BLOCK)
        rows = connection.execute(query).mappings().all()
        if not rows:
            return
        number = rows[-1]["number"]
        numbers = [row["number"] for row in rows]
        answers = _grouped(connection, schema.answers, numbers, ("question", "value", "source"))
        symptoms = _grouped(connection, schema.faults, numbers, ("symptom",))
        for row, kept in zip(rows, whole(connection, rows), strict=True):
            about = About(
                **{key: row[key] for key in ("date", "part", "mold", "lot_a", "lot_b", "person", "client")},
                photos=tuple(name for name, _ in kept.photos),
            )
            entry = Entry(
                case=kept.case,
                title=row["title"],
                about=about,
                build=row["build"],
                painted=row["painted"],
                symptoms=tuple(symptom for (symptom,) in symptoms.get(row["number"], [])),
                answers=tuple((q, v, s) for q, v, s in answers.get(row["number"], [])),
                good=kept.good,
                ratio_error=row["ratio_error"],
                said=kept.said,
                assessment=kept.assessment,
            )
            photos = tuple((name, _photo(connection, digest)) for name, digest in kept.photos)
            yield Line(row["number"], New(entry, tuple(reversed(kept.outcomes)), photos, kept.id))


def _grouped(
    connection: Connection, table: object, numbers: list[int], names: tuple[str, ...]
) -> Mapping[int, list[tuple[str, ...]]]:
    columns = table.c  # type: ignore[attr-defined]
    query = select(columns.case_number, *(columns[name] for name in names)).where(columns.case_number.in_(numbers))
    found: dict[int, list[tuple[str, ...]]] = {}
    for number, *values in connection.execute(query.order_by(columns.case_number, columns[names[0]])):
        found.setdefault(number, []).append(tuple(values))
    return found


def _photo(connection: Connection, digest: str) -> Photo | None:
    if not digest:
        return None
    row = connection.execute(select(schema.photos).where(schema.photos.c.digest == digest)).mappings().one()
    if hashlib.sha256(row["data"]).hexdigest() != digest:
        raise LogError("the log is damaged: a photo is not as it was kept; look into a backup")
    return Photo(row["digest"], row["width"], row["height"], row["data"])


def picture(store: Store, digest: str) -> bytes:
    """Return the JPEG of a photo. Raises InputError where it was never taken in."""
    with store.reading() as connection:
        found = _photo(connection, digest)
    if found is None:
        raise InputError("a photo of which only the name is kept")
    return found.data
