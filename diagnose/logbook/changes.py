"""What learning changes, in the order in which it is shown: base rates, links, results without a cause."""

from __future__ import annotations

import math
from collections.abc import Mapping

from msgspec import Struct

from diagnose.knowledge import Knowledge
from diagnose.logbook.learn import Counts
from diagnose.logbook.learned import (
    Learned,
    LearnedModels,
    book_link,
    book_result,
    context_of,
    moved,
    overlaid_links,
)
from diagnose.reasoning.network import Model


class Moved(Struct, frozen=True):
    """A base rate that was learned: the *book*'s and the one *now*, over the contexts of the log,
    and in how many cases it was named.
    """

    id: str
    book: float
    now: float
    cases: int


class MovedLink(Struct, frozen=True):
    """A link that was learned: of a *cause* to a *finding* (a symptom, or `check:result`), by the *book* and *now*."""

    cause: str
    finding: str
    book: float
    now: float


class MovedResult(Struct, frozen=True):
    """A result that a *check* shows without a cause: its chance by the *book* and *now*, given that nothing more
    telling shows.
    """

    check: str
    result: str
    book: float
    now: float


def changed(contexts: Mapping[str, Counts], learned: Learned, knowledge: Knowledge) -> list[Moved]:
    """Return the base rates that moved, those most that moved most, averaged over the contexts by their cases."""
    laid = LearnedModels(knowledge, learned)
    sums: dict[str, list[float]] = {}
    for context, counts in contexts.items():
        build, _, painted = context.partition("/")
        book = Model(knowledge, build or None, {"yes": True, "no": False}.get(painted))
        assert context_of(book.build, book.painted) == context
        rates = laid.base_rates(book)
        for cause, now in rates.items():
            row = sums.setdefault(cause, [0.0, 0.0, 0.0, 0.0])
            for i, amount in enumerate((counts.cases, counts.cases * book.base[cause], counts.cases * now)):
                row[i] += amount
            row[3] += counts.named.get(cause, 0)
    found = [Moved(cause, b / n, now / n, int(named)) for cause, (n, b, now, named) in sums.items() if n]
    found.sort(key=lambda m: (-round(abs(math.log(m.now / m.book)), 9), m.id))
    return [m for m in found if abs(m.now - m.book) >= 0.0005]


def changed_links(learned: Learned, knowledge: Knowledge) -> list[MovedLink]:
    """Return the links that moved, those most that moved most."""
    found = [
        MovedLink(cause, finding, book_link(knowledge, cause, finding) or 0.0, now)
        for cause, table in overlaid_links(knowledge, learned.links).items()
        for finding, now in table.items()
    ]
    found.sort(key=lambda m: (-round(abs(m.now - m.book), 9), m.cause, m.finding))
    return [m for m in found if abs(m.now - m.book) >= 0.005]


def changed_results(learned: Learned, knowledge: Knowledge) -> list[MovedResult]:
    """Return the results without a cause that moved, those most that moved most."""
    found = [
        MovedResult(check, result, book, moved(book, factor))
        for check, table in learned.results.items()
        if check in knowledge.checks
        for result, factor in table.items()
        if result in knowledge.checks[check].telling
        for book in (book_result(knowledge, check, result),)
    ]
    found.sort(key=lambda m: (-round(abs(m.now - m.book), 9), m.check, m.result))
    return [m for m in found if abs(m.now - m.book) >= 0.005]
