"""Learning links: how often a confirmed cause showed as each symptom and each result of a check, against the book.

Noisy-OR links by EM (of each finding seen, what each confirmed cause is expected to have fired), the book's link as a
prior worth a stated number of cases. A symptom that was not told is not thereby absent. A check that nobody did says
nothing at all, and of a reading only what it decides counts: itself, and everything more telling, which it rules out.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import numpy as np
from msgspec import Struct, field
from sqlalchemy import ColumnElement, Connection, and_, func, or_, select

from diagnose.knowledge import Check, Knowledge
from diagnose.logbook import schema
from diagnose.logbook.counts import closed_cases
from diagnose.logbook.learned import MOST_LINK, bounded
from diagnose.reasoning.network import NOT_LISTED, Model

#: cases that a link of the book is worth: links are learned slowly (our own, no source)
WORTH_LINK = 100.0
#: chance that a symptom which shows is told, and that one of several values of a check which shows is named (our own,
#: no source)
TOLD = 0.8
#: sources whose readings of a check count: what was only remembered or told teaches nothing of the check
_FIRM = ("measured", "seen")
#: the two steps are repeated so often, or until no link moves by more than this
_STEPS, _STILL = 200, 1e-12
#: build, paint ("yes", "no" or "" where not known) and the causes confirmed
Kind = tuple[str, str, tuple[str, ...]]
#: build and paint, None where not known
Part = tuple[str | None, bool | None]


class Told(Struct):
    """Cases of one kind: how many, and by question and answer how many told it (symptoms as seen or absent, checks by
    their reading).
    """

    cases: int = 0
    answers: dict[str, dict[str, int]] = field(default_factory=dict)


class Row(Struct, frozen=True):
    """Cases of one kind as one finding sees them: in so many it was seen, absent, or open (it may have shown untold).

    *leak*: the chance that it shows without any of the confirmed causes. *links*: places of their links among all
    links.
    """

    seen: int
    absent: int
    open: int
    leak: float
    links: tuple[int, ...]


def told_by_kind(connection: Connection, knowledge: Knowledge, when: ColumnElement[bool]) -> dict[Kind, Told]:
    """Return what was told in the confirmed cases that fulfill *when*, by kind of case; counted by the database."""
    o, c, a = schema.outcomes.c, schema.cases.c, schema.answers.c
    kind = (c.build, c.painted, o.causes)
    found: dict[Kind, Told] = {}
    for build, painted, causes, n in connection.execute(
        select(*kind, func.count()).where(closed_cases(when)).group_by(*kind)
    ):
        found.setdefault(_kind(build, painted, causes), Told()).cases += int(n)
    symptom = and_(a.question.in_(sorted(knowledge.symptoms)), a.value.in_(("seen", "absent")))
    check = and_(a.question.in_(sorted(knowledge.checks)), a.source.in_(_FIRM))
    told = (
        select(*kind, a.question, a.value, func.count())
        .where(closed_cases(when), a.case_number == c.number, or_(symptom, check))
        .group_by(*kind, a.question, a.value)
    )
    for build, painted, causes, question, value, n in connection.execute(told):
        values = found[_kind(build, painted, causes)].answers.setdefault(question, {})
        values[value] = values.get(value, 0) + int(n)
    return {key: found[key] for key in sorted(found)}


def _kind(build: str, painted: str, causes: str) -> Kind:
    return build, painted, tuple(sorted(causes.split()))


def link_factors(
    connection: Connection, knowledge: Knowledge, when: ColumnElement[bool], left: Mapping[str, float]
) -> dict[str, dict[str, float]]:
    """Return for each cause, and each finding that the book links it to, the factor on the odds of the link.

    *left*: the chance that each cause held in a case that doesn't name it. A finding is a symptom, or a result as
    `check:result`.
    """
    counted = told_by_kind(connection, knowledge, when)
    table = _Table(Model(knowledge, None, None), {**left, NOT_LISTED: knowledge.words["limits"]["not listed base"]})
    now = fitted(np.array(table.book), list(table.rows(counted)))
    found: dict[str, dict[str, float]] = {}
    for (cause, finding), factor in table.factors(now):
        found.setdefault(cause, {})[finding] = factor
    return {cause: dict(sorted(table.items())) for cause, table in sorted(found.items())}


class _Table:
    """The book's links, in one order, and how the counts bear on them. Links to a result hold given that nothing more
    telling shows.
    """

    def __init__(self, model: Model, left: Mapping[str, float]) -> None:
        self.knowledge = model.knowledge
        self.left = left
        #: finding -> its links by cause, what is off the list among them; and its leak
        self.findings: dict[str, Mapping[str, float]] = {}
        self.leaks: dict[str, float] = {}
        for symptom in sorted(self.knowledge.symptoms):
            self.findings[symptom] = model.symptom_links(symptom)
            self.leaks[symptom] = self.knowledge.symptoms[symptom].background
        for name, check in sorted(self.knowledge.checks.items()):
            for result in check.telling:
                self.findings[f"{name}:{result}"] = model.result_links(check)[result]
                self.leaks[f"{name}:{result}"] = model.leak(check, result)
        self.keys = [(cause, f) for f, links in self.findings.items() for cause in links if cause != NOT_LISTED]
        self.place = {key: i for i, key in enumerate(self.keys)}
        self.found_by: dict[str, list[str]] = {}
        for cause, finding in self.keys:
            self.found_by.setdefault(cause, []).append(finding)
        self._quiet: dict[tuple[str, Part], float | None] = {}
        self.book = [self.findings[finding][cause] for cause, finding in self.keys]

    def rows(self, counted: Mapping[Kind, Told]) -> Iterator[Row]:
        """Yield the rows: for each kind of case one for each finding that a cause confirmed there is linked to."""
        for (build, painted, causes), told in counted.items():
            part = (build or None, {"yes": True, "no": False}.get(painted))
            for finding in dict.fromkeys(f for cause in causes for f in self.found_by.get(cause, ())):
                seen, absent, left_open = self._decided(finding, told)
                if seen + absent + left_open and self._quiet_in(finding, part) is not None:
                    mine = [cause for cause in causes if cause in self.findings[finding] and cause != NOT_LISTED]
                    places = tuple(self.place[cause, finding] for cause in mine)
                    yield Row(seen, absent, left_open, self._leak(finding, causes, part), places)

    def _leak(self, finding: str, named: Sequence[str], part: Part) -> float:
        """The chance that *finding* shows by itself, or by a cause that held without being *named*."""
        quiet, links = self._quiet_in(finding, part) or 1.0, self.findings[finding]
        for cause in named:
            if cause in links and self._in_play(cause, part):
                quiet /= 1.0 - self.left.get(cause, 0.0) * links[cause]
        return max(0.0, 1.0 - quiet)

    def _quiet_in(self, finding: str, part: Part) -> float | None:
        """The chance that *finding* doesn't show in a case that names nothing, None where it is never asked in such a
        *part*.
        """
        if (finding, part) not in self._quiet:
            quiet = None
            if self.knowledge.applies(finding.partition(":")[0], *part):
                held = [cause for cause in self.findings[finding] if self._in_play(cause, part)]
                links = self.findings[finding]
                quiet = math.prod(
                    (1.0 - self.left.get(c, 0.0) * links[c] for c in held), start=1.0 - self.leaks[finding]
                )
            self._quiet[finding, part] = quiet
        return self._quiet[finding, part]

    def _in_play(self, cause: str, part: Part) -> bool:
        return cause == NOT_LISTED or self.knowledge.applies(cause, *part)

    def _decided(self, finding: str, told: Told) -> tuple[int, int, int]:
        """In how many cases *finding* was seen, was absent, and is open."""
        question, _, result = finding.partition(":")
        answers = told.answers.get(question, {})
        if not result:
            seen, absent = answers.get("seen", 0), answers.get("absent", 0)
            return seen, absent, told.cases - seen - absent
        check = self.knowledge.checks[question]
        decided = [0, 0, 0]
        for value, n in answers.items():
            place = _many(check, result, value) if check.kind == "many" else _level(check, result, value)
            if place is not None:
                decided[place] += n
        return decided[0], decided[1], decided[2]

    def factors(self, now: Any) -> Iterator[tuple[tuple[str, str], float]]:
        """Yield ((cause, finding), factor on the odds of the link) where it moved: of a result, of its whole chance."""
        above: dict[tuple[str, str], list[float]] = {}
        telling = {f"{name}:{r}": i for name, c in self.knowledge.checks.items() for i, r in enumerate(c.telling)}
        order = sorted(range(len(self.keys)), key=lambda i: (-telling.get(self.keys[i][1], 0), i))
        for i in order:
            (cause, finding), book, new = self.keys[i], self.book[i], float(now[i])
            check = self.knowledge.checks.get(finding.partition(":")[0])
            if check is not None and check.kind != "many":
                spent = above.setdefault((cause, check.id), [0.0, 0.0])
                book, new = book * (1.0 - spent[0]), new * (1.0 - spent[1])
                spent[0], spent[1] = spent[0] + book, spent[1] + new
            factor = round(bounded(new / (1.0 - new) / (book / (1.0 - book)), MOST_LINK), 10)
            if factor != 1.0:
                yield (cause, finding), factor


def _level(check: Check, result: str, value: str) -> int | None:
    """0 where the reading *value* of a check with one result is *result*, 1 where it rules it out, None where it says
    nothing of it.
    """
    if check.kind == "number":
        value = _band(check, value)
    if value == result:
        return 0
    order = [check.base, *check.telling]
    return 1 if value in order and order.index(value) < order.index(result) else None


def _many(check: Check, result: str, value: str) -> int | None:
    """0 where *value* names *result*, 1 where it names the base alone, 2 where it names others: *result* may have
    been passed over.
    """
    named = value.split(", ")
    if any(name not in check.results for name in named):
        return None
    return 0 if result in named else 1 if named == [check.base] else 2


def _band(check: Check, value: str) -> str:
    """The band in which a number lies, or an empty text."""
    try:
        number = float(value)
    except ValueError:
        return ""
    for name, band in check.results.items():
        if (band.low is None or number >= band.low) and (band.high is None or number < band.high):
            return name
    return ""


def fitted(book: Any, rows: Sequence[Row]) -> Any:
    """Return the links, shape (m,), that the *rows* speak for, from those of the *book*, shape (m,), worth
    `WORTH_LINK` cases each.
    """
    if not rows:
        return book
    sizes = [len(row.links) for row in rows]
    starts, of_row = np.cumsum([0, *sizes[:-1]]), np.repeat(np.arange(len(rows)), sizes)
    entries = np.array([place for row in rows for place in row.links])
    no_leak = np.array([1.0 - row.leak for row in rows])
    seen, left_open = (np.array([float(n) for n in ns]) for ns in ([r.seen for r in rows], [r.open for r in rows]))
    cases = seen + left_open + np.array([float(row.absent) for row in rows])
    tried = WORTH_LINK + np.bincount(entries, cases[of_row], len(book))
    now = book
    for _ in range(_STEPS):
        shows = 1.0 - no_leak * np.multiply.reduceat(1.0 - now[entries], starts)
        expected = seen + left_open * (shows * (1.0 - TOLD) / (1.0 - shows * TOLD))
        fired = np.bincount(entries, (expected / shows)[of_row] * now[entries], len(book))
        last, now = now, (WORTH_LINK * book + fired) / tried
        if float(np.max(np.abs(now - last))) < _STILL:
            break
    return now


__all__ = ["TOLD", "WORTH_LINK", "Row", "fitted", "link_factors", "told_by_kind"]
