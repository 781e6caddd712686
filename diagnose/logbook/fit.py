"""The likeliest links of a noisy-OR from counted cases, by EM, with the book as a prior worth stated numbers of cases.

Of each finding seen it is reckoned what each cause confirmed there, or coincidence, is expected to have fired; of each
that nobody told, how likely it showed all the same. How much of what shows is told depends on the shop as well, so it
is learned along: one chance for all symptoms and one for all values of checks that take several. Else a shop of few
words would read as a shop of few faults, and every link would sink.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from msgspec import Struct

#: chance that a symptom which shows is told, and that one of several values of a check which shows is named, and the
#: tellings that this is worth (our own, no source)
TOLD, WORTH_TOLD = 0.8, 20.0
#: the two steps are repeated so often, or until nothing moves by more than this
_STEPS, _STILL = 200, 1e-12


class Row(Struct, frozen=True):
    """Cases of one kind as one finding sees them: in so many it was seen, absent, or open (it may have shown untold).

    *links*: the places, among all links, of those that may have fired it. *leak*: the chance that it showed, and was
    seen, by anything else; *hidden*: the same where it isn't told. *check*: whether it is a value of a check.
    """

    seen: int
    absent: int
    open: int
    leak: float
    links: tuple[int, ...]
    hidden: float | None = None
    check: bool = False


class Fit(Struct, frozen=True):
    """The *links*, shape (m,), and the chances that what shows is *told*: of a symptom, of a value of a check."""

    links: Any
    told: tuple[float, float]


def fitted(book: Any, worth: Any, rows: Sequence[Row]) -> Fit:
    """Return what the *rows* speak for, from the links of the *book*, shape (m,), *worth* so many cases each, (m,)."""
    if not rows:
        return Fit(book, (TOLD, TOLD))
    sizes = [len(row.links) for row in rows]
    starts, of_row = np.cumsum([0, *sizes[:-1]]), np.repeat(np.arange(len(rows)), sizes)
    entries = np.array([place for row in rows for place in row.links])
    quiet = np.array([1.0 - row.leak for row in rows])
    still = np.array([1.0 - (row.leak if row.hidden is None else row.hidden) for row in rows])
    seen, absent, left_open = np.array([(row.seen, row.absent, row.open) for row in rows], dtype=float).T
    tried = worth + np.bincount(entries, (seen + absent + left_open)[of_row], len(book))
    by_check = np.array([row.check for row in rows])
    now, told = book, np.array([TOLD, TOLD])
    for _ in range(_STEPS):
        silent = np.multiply.reduceat(1.0 - now[entries], starts)
        showed, shows, said = 1.0 - quiet * silent, 1.0 - still * silent, np.where(by_check, told[1], told[0])
        untold = left_open * (shows * (1.0 - said) / (1.0 - shows * said))
        fired = np.bincount(entries, (seen / showed + untold / shows)[of_row] * now[entries], len(book))
        last, now = np.append(now, told), (worth * book + fired) / tried
        told = np.array([_share(seen[some], untold[some]) for some in (~by_check, by_check)])
        if float(np.max(np.abs(np.append(now, told) - last))) < _STILL:
            break
    return Fit(now, (float(told[0]), float(told[1])))


def _share(told: Any, untold: Any) -> float:
    """The share that is told, after so many *told* and so many *untold*."""
    count = float(np.add.reduce(told))
    return (WORTH_TOLD * TOLD + count) / (WORTH_TOLD + count + float(np.add.reduce(untold)))
