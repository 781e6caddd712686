"""Which learning is in use: read from the log's own database, so that all benches of a shop think alike.

A diagnosis looks here each time, so it is one statement through the plain driver, without the toolkit that the log works with. Where the log
can't be read or what it holds is damaged, one line says so and the book stands: nobody waits at a bad part for a database.
"""

from __future__ import annotations

import json
import sqlite3
import sys
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import quote

from diagnose.errors import InputError, one_line
from diagnose.logbook.learned import Learned
from diagnose.logbook.places import Where

#: seconds to wait for a writer, and for a server to answer
WAIT = 2
_STATEMENT = "SELECT number, recorded, content FROM learned WHERE in_use = 1 ORDER BY number DESC LIMIT 1"
_FORGET = "go back to the book by: diagnose log learn --forget"


@dataclass(frozen=True, slots=True)
class InUse:
    """A learning that is in use: its running *number* in this log, when it was put in use (UTC, ISO 8601), and what it says."""

    number: int
    recorded: str
    learned: Learned

    def to_plain(self) -> dict[str, Any]:
        """Return which it is, as commands print it."""
        return {"number": self.number, "recorded": self.recorded, "cases": self.learned.cases}


def in_use(where: Where) -> InUse | None:
    """Return what is in use for the log at *where*, None where the book alone is. Raises InputError where it can't be used."""
    row = _of_file(where.file) if where.file is not None else _of_server(where)
    if row is None:
        return None
    number, recorded, content = row
    try:
        return InUse(int(number), str(recorded), Learned.from_plain(json.loads(content)))
    except (AttributeError, KeyError, TypeError, ValueError, RecursionError):
        raise InputError(f"{where.label}: what was learned (number {number}) is damaged; {_FORGET}") from None


def in_use_or_book(where: Where) -> InUse | None:
    """Return what is in use; where it can't be used, say so in one line on standard error and return None: the book stands."""
    try:
        return in_use(where)
    except InputError as error:
        print(one_line(f"{error}; going by the book"), file=sys.stderr)
        return None


def _of_file(path: Path) -> Any:
    if not path.exists():
        return None
    try:
        return _asked(path, "ro")
    except sqlite3.Error as error:
        try:  # a read-only folder has no room for what belongs to reading beside others
            return _asked(path, "ro&immutable=1")
        except sqlite3.Error:
            raise InputError(f"{path}: what was learned can't be read: {error}") from None


def _asked(path: Path, mode: str) -> Any:
    with closing(sqlite3.connect(f"file:{quote(str(path))}?mode={mode}", uri=True, timeout=WAIT)) as raw:
        if raw.execute("SELECT 1 FROM sqlite_master WHERE name = 'learned'").fetchone() is None:
            return None
        return raw.execute(_STATEMENT).fetchone()


def _of_server(where: Where) -> Any:
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
            return raw.execute(_STATEMENT).fetchone()
    except psycopg.Error as error:
        why = next(iter(str(error).strip().splitlines()), "no reason given")
        raise InputError(f"{where.label}: what was learned can't be read: {why}") from None


__all__ = ["InUse", "in_use", "in_use_or_book"]
