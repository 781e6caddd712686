"""Learning links: how often a confirmed cause showed as each symptom and each result of a check, and how often a check
showed each result without a cause, against the book.

The book's numbers are a prior worth stated numbers of cases (`fit.py`). A symptom that was not told is not thereby
absent. A check that nobody did says
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
from diagnose.logbook.fit import Row, fitted
from diagnose.logbook.learned import MOST_LINK, MOST_RESULT, bounded
from diagnose.logbook.worth import likeliest_worth
from diagnose.reasoning.network import NOT_LISTED, Model

#: cases that a link of the book to a symptom, to a result of a check, and its chance of a result without a cause, are
#: usually worth (our own, no source)
WORTH_LINK, WORTH_CHECK, WORTH_RESULT = 32.0, 100.0, 50.0
#: sources whose readings of a check count: what was only remembered or told teaches nothing of the check
_FIRM = ("measured", "seen")
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


class Links(Struct, frozen=True):
    """What is learned: factors on the odds of the book's *links* by cause and finding (a symptom, or `check:result`),
    and of the chance that a check shows a result without a cause, *results* by check and result. *told*: the share of
    the symptoms that show which are told.
    """

    links: dict[str, dict[str, float]]
    results: dict[str, dict[str, float]]
    told: float


def learned_links(
    connection: Connection,
    knowledge: Knowledge,
    when: ColumnElement[bool],
    left: Mapping[str, float],
    missed: Mapping[str, float],
) -> Links:
    """Return what the confirmed cases that fulfill *when* teach of links and of results.

    *left*: the chance that each cause held in a case that doesn't name it; *missed*: the same where it had a part in
    what was told.
    """
    counted = told_by_kind(connection, knowledge, when)
    table = _Table(Model(knowledge, None, None), left, missed)
    rows = list(table.rows(counted))
    fit = fitted(np.array(table.book), table.worth(rows), rows)
    links: dict[str, dict[str, float]] = {}
    results: dict[str, dict[str, float]] = {}
    for (cause, finding), factor in table.factors(fit.links):
        if cause:
            links.setdefault(cause, {})[finding] = factor
        else:
            check, _, result = finding.partition(":")
            results.setdefault(check, {})[result] = factor
    return Links(_in_order(links), _in_order(results), fit.told[0])


def _in_order(tables: Mapping[str, Mapping[str, float]]) -> dict[str, dict[str, float]]:
    return {name: dict(sorted(table.items())) for name, table in sorted(tables.items())}


class _Table:
    """The book's links, in one order, and how the counts bear on them. Links to a result hold given that nothing more
    telling shows. A result that shows without a cause is a link of nobody, an empty text, which always holds.
    """

    def __init__(self, model: Model, left: Mapping[str, float], missed: Mapping[str, float]) -> None:
        self.knowledge = model.knowledge
        not_listed = {NOT_LISTED: self.knowledge.words["limits"]["not listed base"]}
        self.unnamed = {True: {**missed, **not_listed}, False: {**left, **not_listed}}
        #: finding -> its links by cause, what is off the list among them; and its leak
        self.findings: dict[str, Mapping[str, float]] = {}
        self.leaks: dict[str, float] = {}
        self.of_check: dict[str, list[str]] = {}
        for symptom in sorted(self.knowledge.symptoms):
            self.findings[symptom] = model.symptom_links(symptom)
            self.leaks[symptom] = self.knowledge.symptoms[symptom].background
        for name, check in sorted(self.knowledge.checks.items()):
            for result, links in model.result_links(check).items():
                self.findings[f"{name}:{result}"] = links
                self.leaks[f"{name}:{result}"] = model.leak(check, result)
                self.of_check.setdefault(name, []).append(f"{name}:{result}")
        self.keys = [(cause, f) for f, links in self.findings.items() for cause in links if cause != NOT_LISTED]
        self.keys += [("", f"{name}:{r}") for name, c in sorted(self.knowledge.checks.items()) for r in c.telling]
        self.book = [self.findings[f][cause] if cause else self.leaks[f] for cause, f in self.keys]
        self.place = {key: i for i, key in enumerate(self.keys)}
        self.found_by: dict[str, list[str]] = {}
        for cause, finding in self.keys:
            self.found_by.setdefault(cause, []).append(finding)
        self._quiet: dict[tuple[str, Part, bool], float] = {}

    def worth(self, rows: Sequence[Row]) -> Any:
        """Return how many cases each link of the book is worth, shape (m,), by how far the *rows* scatter about it.

        The results of a check with one result without a cause are together a Dirichlet, whose pieces from the most
        telling down are betas, each worth the cases in which nothing more telling showed; those of one with several
        values are a beta each.
        """
        usual = [self._usual(*key) for key in self.keys]
        tried = self._tried(rows, fitted(np.array(self.book), np.array(usual), rows).told)
        likely = {
            worth: likeliest_worth((t for i, t in tried.items() if usual[i] == worth), worth)
            for worth in dict.fromkeys(usual)
        }
        found = np.array([likely[worth] for worth in usual])
        results = likely[WORTH_RESULT]
        for name, check in self.knowledge.checks.items():
            left = results
            for result in reversed(check.telling):
                place = self.place["", f"{name}:{result}"]
                found[place] = left
                left *= 1.0 if check.kind == "many" else 1.0 - self.book[place]
        return found

    def _usual(self, cause: str, finding: str) -> float:
        return WORTH_RESULT if not cause else WORTH_CHECK if ":" in finding else WORTH_LINK

    def _tried(self, rows: Sequence[Row], told: Sequence[float]) -> dict[int, tuple[float, float, float]]:
        """By the place of each link: how often it is reckoned to have fired what was seen, of how many tries that would
        have been told, and the book's chance.
        """
        found: dict[int, tuple[float, float, float]] = {}
        for row in rows:
            check = self.knowledge.checks.get(self.keys[row.links[0]][1].partition(":")[0])
            shows = 1.0 - (1.0 - row.leak) * math.prod(1.0 - self.book[i] for i in row.links)
            tries = (row.seen + row.absent + row.open) * (
                1.0 if check is not None and check.kind != "many" else told[row.check]
            )
            for i in row.links:
                fired, of, book = found.get(i, (0.0, 0.0, self.book[i]))
                found[i] = (fired + row.seen * book / shows, of + tries, book)
        return {i: (fired, max(fired, of), book) for i, (fired, of, book) in found.items()}

    def rows(self, counted: Mapping[Kind, Told]) -> Iterator[Row]:
        """Yield the rows: for each kind of case one for each symptom that a cause confirmed there is linked to, and one
        for each result of a check that was done.
        """
        for (build, painted, causes), told in counted.items():
            part = (build or None, {"yes": True, "no": False}.get(painted))
            done = [finding for name in told.answers for finding in self.of_check.get(name, ())]
            shown = [finding for cause in causes for finding in self.found_by.get(cause, ()) if ":" not in finding]
            for finding in dict.fromkeys((*shown, *done)):
                if self.knowledge.applies(finding.partition(":")[0], *part):
                    yield from self._row(finding, causes, part, told)

    def _row(self, finding: str, causes: Sequence[str], part: Part, told: Told) -> Iterator[Row]:
        seen, absent, left_open = self._decided(finding, told)
        places = tuple(self.place[key] for cause in (*causes, "") if (key := (cause, finding)) in self.place)
        if seen + absent + left_open and places:
            check = ":" in finding
            leak, hidden = (self._leak(finding, causes, part, named and not check) for named in (True, False))
            yield Row(seen, absent, left_open, leak, places, hidden, check)

    def _leak(self, finding: str, named: Sequence[str], part: Part, had_a_part: bool) -> float:
        """The chance that *finding* shows by itself, where that isn't learned, or by a cause that held without being
        *named*; *had_a_part*: and that had a part in what was told, for which it would hardly have been missed.
        """
        quiet, links = self._quiet_in(finding, part, had_a_part), self.findings[finding]
        for cause in named:
            if cause in links and self._in_play(cause, part):
                quiet /= 1.0 - self.unnamed[had_a_part].get(cause, 0.0) * links[cause]
        if NOT_LISTED in named:
            quiet *= 1.0 - links.get(NOT_LISTED, 0.0)
        return max(0.0, 1.0 - quiet)

    def _quiet_in(self, finding: str, part: Part, had_a_part: bool) -> float:
        """The chance that *finding* doesn't show in a case of *part* that names nothing, but for what is learned."""
        key = (finding, part, had_a_part)
        if key not in self._quiet:
            links, unnamed = self.findings[finding], self.unnamed[had_a_part]
            held = [cause for cause in links if self._in_play(cause, part)]
            start = 1.0 if ("", finding) in self.place else 1.0 - self.leaks[finding]
            self._quiet[key] = math.prod((1.0 - unnamed.get(c, 0.0) * links[c] for c in held), start=start)
        return self._quiet[key]

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
            if cause and check is not None and check.kind != "many":
                spent = above.setdefault((cause, check.id), [0.0, 0.0])
                book, new = book * (1.0 - spent[0]), new * (1.0 - spent[1])
                spent[0], spent[1] = spent[0] + book, spent[1] + new
            most = MOST_LINK if cause else MOST_RESULT
            factor = round(bounded(new / (1.0 - new) / (book / (1.0 - book)), most), 10)
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
    been passed over. The base alone is what shows without a cause, and says nothing of a link to the base.
    """
    named = value.split(", ")
    if any(name not in check.results for name in named) or named == [result] == [check.base]:
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


__all__ = ["WORTH_CHECK", "WORTH_LINK", "WORTH_RESULT", "Links", "learned_links", "told_by_kind"]
