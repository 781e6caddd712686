"""The house defect log: parts kept with what was said of them, closed with what they were, counted, and learned from.

Only this room knows SQL. What is imported here is light; the database is loaded by the functions that need it.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING, Any

from diagnose.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Mapping

    from diagnose.casebook import Case
    from diagnose.knowledge import Knowledge
    from diagnose.logbook.store import Store


def resolve_case(given: str, where: str | None, knowledge: Knowledge) -> Case:
    """Return the case that *given* names: a case file, else the short id of a case in the log at *where*.

    Raises InputError, FileFaults, LogError.
    """
    from diagnose.casebook import read_case

    if os.path.exists(given) or not given.isalnum():
        return read_case(given, knowledge)
    from diagnose.logbook.book import kept
    from diagnose.logbook.entry import case_of
    from diagnose.logbook.places import where_of
    from diagnose.logbook.store import open_log

    store = open_log(where_of(where))
    try:
        found = kept(store, given)
    except InputError as error:
        raise InputError(f"{given}: is no file, and {error}") from None
    finally:
        store.close()
    return case_of(found.case, knowledge, given)


def remember(case: Case, knowledge: Knowledge, assessment: Mapping[str, Any] | None, where: str | None = None) -> str:
    """Keep *case* with its *assessment* (plain data) in the log at *where* and return its id.

    A case that names the id of an open case of this log goes on under it. A case without a day gets today's.
    Raises LogError where the log can't be written, InputError where what is told can't be kept.
    """
    from diagnose.logbook.amend import amend
    from diagnose.logbook.book import New, add, today
    from diagnose.logbook.entry import entry_of, said_in, with_about
    from diagnose.logbook.photos import read_photo
    from diagnose.logbook.places import where_of
    from diagnose.logbook.store import open_log

    dated = case if case.about.date else with_about(case, date=today())
    entry = entry_of(dated, knowledge)
    if assessment is not None:
        from msgspec.structs import replace

        entry = replace(entry, said=said_in(assessment), assessment=assessment)
    photos = [(name, read_photo(Path(name)) if Path(name).is_file() else None) for name in entry.about.photos]
    store = open_log(where_of(where), write=True)
    try:
        if dated.about.id and _open(store, dated.about.id):
            amend(store, dated.about.id, entry, photos)
            return dated.about.id
        return add(store, New(entry, photos=tuple(photos)))
    finally:
        store.close()


def _open(store: Store, name: str) -> bool:
    """Whether *name* is the id of an open case of the log."""
    from diagnose.logbook.book import kept

    try:
        found = kept(store, name)
    except InputError:
        return False
    return not found.good and found.outcome is None


__all__ = ["remember", "resolve_case"]
