"""Which learning is in use: read from the log's own database, so that all benches of a shop think alike.

A diagnosis looks here each time, so it is one statement through the plain driver, without the toolkit that the log
works with. Where the log can't be read or what it holds is damaged, one line says so and the book stands: nobody waits
at a bad part for a database.
"""

from __future__ import annotations

import json
import sqlite3
import sys
from contextlib import closing
from hashlib import sha256
from pathlib import Path
from typing import Any
from urllib.parse import quote

from msgspec import Struct

from diagnose.errors import InputError, one_line
from diagnose.logbook.learned import Learned
from diagnose.logbook.places import Where

#: seconds to wait for a writer, and for a server to answer
WAIT = 2
#: all columns, for a log of schema 2 that nobody has brought up yet has fewer
_STATEMENT = "SELECT * FROM learned WHERE in_use = 1 ORDER BY number DESC LIMIT 1"


class InUse(Struct, frozen=True):
    """A learning that is in use: its running *number* in this log, when it was put in use (UTC, ISO 8601), and what
    it says.
    """

    number: int
    recorded: str
    learned: Learned

    def to_plain(self) -> dict[str, Any]:
        """Return which it is, as commands print it."""
        return {"number": self.number, "recorded": self.recorded, "cases": self.learned.cases}


def in_use(where: Where) -> InUse | None:
    """Return what is in use for the log at *where*, None where the book alone is. Raises InputError where it can't be
    used.
    """
    row = _of_file(where.file) if where.file is not None else _of_server(where)
    if row is None:
        return None
    try:
        content = str(row["content"])
        if row.get("digest", digest_of(content)) != digest_of(content):
            raise ValueError("not as it was written")
        return InUse(int(row["number"]), str(row["recorded"]), Learned.from_plain(json.loads(content)))
    except (ArithmeticError, AttributeError, KeyError, RecursionError, TypeError, ValueError):
        which = f"{where.label}: what was learned (number {row.get('number')})"
        raise InputError(f"{which} is damaged; go back to the book by: diagnose log learn --forget") from None


def digest_of(content: str) -> str:
    """Return what tells whether *content* is as it was written: a changed figure within its bounds would not show
    otherwise.
    """
    return sha256(content.encode("utf-8", "surrogatepass")).hexdigest()


def in_use_or_book(where: Where) -> InUse | None:
    """Return what is in use; where it can't be used, say so in one line on standard error and return None: the book
    stands.
    """
    try:
        return in_use(where)
    except InputError as error:
        print(one_line(f"{error}; going by the book"), file=sys.stderr)
        return None


def _of_file(path: Path) -> dict[str, Any] | None:
    if not path.exists():
        return None
    try:
        try:
            return _asked(path, "rw")  # "ro" would leave behind the files that belong to reading beside others
        except (sqlite3.Error, UnicodeDecodeError):
            beside = Path(f"{path}-wal")
            if beside.exists() and beside.stat().st_size:
                raise  # there is more than the file alone tells
            return _asked(path, "ro&immutable=1")  # a read-only folder has no room for those files
    except (sqlite3.Error, UnicodeDecodeError, OSError) as error:
        why = "is damaged or no log" if isinstance(error, UnicodeDecodeError) else str(error)
        raise InputError(f"{path}: what was learned can't be read: {why}") from None


def _asked(path: Path, mode: str) -> dict[str, Any] | None:
    with closing(sqlite3.connect(f"file:{quote(str(path))}?mode={mode}", uri=True, timeout=WAIT)) as raw:
        if raw.execute("SELECT 1 FROM sqlite_master WHERE name = 'learned'").fetchone() is None:
            return None
        return _first(raw.execute(_STATEMENT))


def _first(cursor: Any) -> dict[str, Any] | None:
    row = cursor.fetchone()
    return None if row is None else dict(zip((column[0] for column in cursor.description), row, strict=True))


def _of_server(where: Where) -> dict[str, Any] | None:
    try:
        import psycopg
    except ImportError:
        raise InputError(
            f"{where.label}: a log on PostgreSQL needs the extra: pip install 'benchside-diagnose[postgres]'"
        ) from None
    address = where.url.replace("+psycopg", "", 1)
    try:
        with psycopg.connect(address, connect_timeout=WAIT, options=f"-c lock_timeout={WAIT}s") as raw:
            if raw.execute("SELECT to_regclass('learned')").fetchone() == (None,):
                return None
            return _first(raw.execute(_STATEMENT))
    except psycopg.Error as error:
        why = next(iter(str(error).strip().splitlines()), "no reason given")
        raise InputError(f"{where.label}: what was learned can't be read: {why}") from None


__all__ = ["InUse", "digest_of", "in_use", "in_use_or_book"]
