"""Putting what was learned in use for every bench of the shop, and going back to the book: rows of the log itself.

Each learning that was put in use stays as a row with a number of its own; at most one is in use.
"""

from __future__ import annotations

import json
from datetime import UTC, datetime
from hashlib import sha256
from pathlib import Path

from sqlalchemy import Connection, func, select, update

from diagnose.logbook import schema
from diagnose.logbook.in_use import InUse, digest_of
from diagnose.logbook.learned import Learned
from diagnose.logbook.places import Where, default_file
from diagnose.logbook.store import Store, told


def put_in_use(store: Store, learned: Learned) -> InUse:
    """Put *learned* in use for all that read this log, and return it with its number. Raises LogError."""
    content = json.dumps(learned.to_plain(), sort_keys=True, separators=(",", ":"))
    stamp, number = _now(), schema.learned.c.number
    with store.writing() as connection:
        _out_of_use(connection, stamp)
        new = int(connection.execute(select(func.coalesce(func.max(number), 0))).scalar_one()) + 1
        row = {"number": new, "recorded": stamp, "content": content, "digest": digest_of(content), "in_use": 1}
        row |= {"ended": "", "cases": learned.cases}
        connection.execute(schema.learned.insert(), row)
    _drop_earlier_file(store.where)
    return InUse(new, stamp, learned)


def forget(store: Store) -> bool:
    """Go back to the book, for all that read this log. Returns whether anything was in use. Raises LogError."""
    with store.writing() as connection:
        was = _out_of_use(connection, _now())
    _drop_earlier_file(store.where)
    return was


def _out_of_use(connection: Connection, stamp: str) -> bool:
    done = connection.execute(update(schema.learned).where(schema.learned.c.in_use == 1).values(in_use=0, ended=stamp))
    return done.rowcount > 0


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="seconds")


def _drop_earlier_file(where: Where) -> None:
    """Take away the file that programs up to schema 2 looked at: it would tell them another story."""
    with told(where):
        earlier_file(where).unlink(missing_ok=True)


def earlier_file(where: Where) -> Path:
    """Return where programs up to schema 2 kept what was learned: beside the log, for a server in the user's data
    folder.
    """
    if where.file is not None:
        return where.file.with_name(f"{where.file.name}.learned.json")
    return default_file().with_name(f"learned-{sha256(where.url.encode()).hexdigest()[:12]}.json")
