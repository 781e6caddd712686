"""A case that goes on: more was told of the same part, under the same id.

The client desk adds a round of answers to an open case. What was told and said before gives way; photos are added to those that are there.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import delete, func, select, update

from diagnose.errors import InputError
from diagnose.logbook import schema
from diagnose.logbook.book import New, case_rows, find, photo_rows
from diagnose.logbook.entry import Entry
from diagnose.logbook.photos import Photo
from diagnose.logbook.store import Store

_KEPT = ("number", "id", "origin", "added")


def amend(store: Store, name: str, entry: Entry, photos: Sequence[tuple[str, Photo | None]] = ()) -> None:
    """Put *entry* in the place of what the open case *name* told, and add *photos*. Raises InputError where it is not open, LogError."""
    with store.writing() as connection:
        case = find(connection, name)
        if case["state"] != "open":
            raise InputError(f"{case['id']}: is {case['state']}, expected an open case; log what is new as another one")
        number = case["number"]
        place = select(func.coalesce(func.max(schema.case_photos.c.place) + 1, 0)).where(
            schema.case_photos.c.case_number == number
        )
        first = connection.execute(place).scalar_one()
        rows: dict[str, list[dict[str, Any]]] = {table.name: [] for table in schema.metadata.sorted_tables}
        stamp = datetime.now(UTC).isoformat(timespec="seconds")
        case_rows(rows, number, case["id"], New(entry, photos=tuple(photos)), stamp)
        for row in rows["case_photos"]:
            row["place"] += first
        photo_rows(connection, rows)
        changed = {key: value for key, value in rows["cases"][0].items() if key not in _KEPT}
        connection.execute(update(schema.cases).where(schema.cases.c.number == number).values(**changed))
        for table in (schema.documents, schema.answers, schema.faults):
            connection.execute(delete(table).where(table.c.case_number == number))
        for table in (schema.documents, schema.answers, schema.faults, schema.photos, schema.case_photos):
            if rows[table.name]:
                connection.execute(table.insert(), rows[table.name])
