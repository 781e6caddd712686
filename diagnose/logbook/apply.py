"""Putting what was learned in use, and going back to the book:
a record in the log, and the small file that `read` looks at.
"""

from __future__ import annotations

import json
from datetime import UTC, datetime

from sqlalchemy import func, select, update

from diagnose.logbook import schema
from diagnose.logbook.files import written_whole
from diagnose.logbook.learned import Learned, file_text, learned_file
from diagnose.logbook.store import Store, told


def put_in_use(store: Store, learned: Learned) -> None:
    """Put *learned* in use for all that read this log from this machine. Raises LogError, DiagnoseError."""
    content = json.dumps(learned.to_plain(), sort_keys=True, separators=(",", ":"))
    with store.writing() as connection:
        connection.execute(update(schema.learned).values(in_use=0))
        number = connection.execute(select(func.coalesce(func.max(schema.learned.c.number), 0))).scalar_one() + 1
        stamp = datetime.now(UTC).isoformat(timespec="seconds")
        row = {"number": number, "recorded": stamp, "content": content, "in_use": 1}
        connection.execute(schema.learned.insert(), row)
        path = learned_file(store.where)
        with told(store.where):
            path.parent.mkdir(parents=True, exist_ok=True)
        with written_whole(path) as file:  # within the transaction: both or neither
            file.write(file_text(content))


def forget(store: Store) -> bool:
    """Go back to the book. Returns whether anything was in use. Raises LogError."""
    path = learned_file(store.where)
    with store.writing() as connection:
        used = connection.execute(select(func.count()).where(schema.learned.c.in_use == 1)).scalar_one()
        connection.execute(update(schema.learned).values(in_use=0))
        there = path.exists()
        with told(store.where):
            path.unlink(missing_ok=True)
    return bool(used) or there
