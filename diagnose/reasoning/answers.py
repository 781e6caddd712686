"""Answers as the reasoning takes them: a value, how it is known, and how far off it may be."""

from __future__ import annotations

from collections.abc import Mapping

from msgspec import Struct

SOURCES = ("measured", "seen", "told", "remembered")
SEEN, ABSENT = "seen", "absent"


class Answer(Struct, frozen=True):
    """One answer. *value* is None for "don't know", a float in the unit stored, an id, or several ids for a `many`.

    A symptom's value is `seen` or `absent`; a yes/no fact's is `yes` or `no`. *error* is the standard error of a number
    in its unit, None for the usual error of such a reading.
    """

    value: float | str | tuple[str, ...] | None
    source: str = "seen"
    error: float | None = None

    @property
    def known(self) -> bool:
        """Whether the answer says anything."""
        return self.value is not None


#: question (or derived fact) -> answer, in the order given
Answers = Mapping[str, Answer]
