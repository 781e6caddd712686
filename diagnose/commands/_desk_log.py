"""The house log as the client desk sees it: cases kept under one id, amended round by round, listed by client."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Sequence

from msgspec.structs import replace

from diagnose.assessment.records import Assessment
from diagnose.casebook import Case
from diagnose.errors import InputError
from diagnose.knowledge import Knowledge
from diagnose.logbook import book
from diagnose.logbook.amend import amend
from diagnose.logbook.entry import Entry, case_of, entry_of, said_in
from diagnose.logbook.ids import is_sound
from diagnose.logbook.photos import Photo
from diagnose.logbook.places import where_of
from diagnose.logbook.store import Store, open_log
from diagnose.remote.desk import Logged
from diagnose.remote.photos import Picture

#: the names of clients' photos in the log
_OURS = re.compile(r"client-photo-(\d+)\.jpg")


class DeskLog:
    """`remote.desk.Log` over the log at *where* (a file, a database URL, or None for the usual place)."""

    def __init__(self, where: str | None, knowledge: Knowledge, write: bool = False) -> None:
        self.knowledge = knowledge
        self.store: Store = open_log(where_of(where), write=write)

    def keep(self, case: Case, assessment: Assessment, photos: Sequence[Picture]) -> str:
        """Keep a new case and return its id."""
        return book.add(self.store, book.New(self._entry(case, assessment), photos=_named(photos, ())))

    def amend(self, name: str, case: Case, assessment: Assessment, photos: Sequence[Picture]) -> None:
        """Put *case* in the place of what was told under *name*, and add *photos*."""
        had = [photo for photo, _ in book.kept(self.store, name).photos]
        amend(self.store, name, self._entry(case, assessment), _named(photos, had))

    def find(self, name: str) -> Logged | None:
        """Return the case of that id, or None."""
        if not is_sound(name.lower()):
            return None
        try:
            kept = book.kept(self.store, name)
        except InputError:
            return None
        case = case_of(kept.case, self.knowledge, kept.id)
        return Logged(kept.id, case, case.about.client, not kept.good and kept.outcome is None)

    def open_cases(self, client: str | None = None) -> list[Logged]:
        """Return the open cases (of one client), latest first."""
        names = [one.id for one in book.listed(self.store, waiting=True, client=client, most=None)]
        return [found for name in names if (found := self.find(name)) is not None]

    def _entry(self, case: Case, assessment: Assessment) -> Entry:
        plain = assessment.to_plain()
        return replace(entry_of(case, self.knowledge), said=said_in(plain), assessment=plain)


def _named(photos: Sequence[Picture], had: Sequence[str]) -> tuple[tuple[str, Photo | None], ...]:
    """Photos under names of ours, numbered as the remarks and the faults number them, after those that the case *had*
    from earlier rounds: what the client called them is never used.
    """
    last = max((int(found[1]) for name in had if (found := _OURS.fullmatch(name))), default=0)
    made = [Photo(hashlib.sha256(one.data).hexdigest(), one.width, one.height, one.data) for one in photos]
    return tuple((f"client-photo-{last + one.place}.jpg", kept) for one, kept in zip(photos, made, strict=True))
