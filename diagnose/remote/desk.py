"""The support desk: what came back is taken in, thought through, kept in the log under one id, and answered.

A case may come by phone, by page and by a second page; each round adds its answers to those of before, and what it
changed in the ranking is kept with the case (`x_rounds` in its file). The log is behind a small protocol, so that
this room knows no database, and no clock: the day is handed in.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any, Protocol

from msgspec import Struct
from msgspec.structs import replace

from diagnose.assessment.assess import assess
from diagnose.assessment.consultation import Consultation, ModelCache
from diagnose.assessment.records import Assessment
from diagnose.casebook import Case
from diagnose.errors import InputError
from diagnose.knowledge import Knowledge
from diagnose.prose.answer import Teller
from diagnose.prose.quantity import Units
from diagnose.prose.text import capital
from diagnose.reasoning.answers import SEEN
from diagnose.remote.cases import joined, plain_case, usable_case
from diagnose.remote.order import batch_of
from diagnose.remote.page import Errand, numbers_wanted
from diagnose.remote.photos import Picture
from diagnose.remote.returned import Returned

#: where the rounds of a case stand in its file
ROUNDS = "x_rounds"
#: questions of a second page, causes remembered of each round, and a change in chance that is told
BATCH, REMEMBERED, NOTABLE = 5, 5, 0.05


class Round(Struct, frozen=True):
    """One round of a case: how it came (`phone` or `page`), on which *day*, the *token* of its page, and the ranking
    after it.
    """

    how: str
    day: str
    token: str
    ranking: tuple[tuple[str, float], ...]

    def to_plain(self) -> dict[str, Any]:
        """Return it as it stands in the case."""
        return {"how": self.how, "day": self.day, "token": self.token, "ranking": [list(pair) for pair in self.ranking]}


class Move(Struct, frozen=True):
    """A cause whose chance a round changed notably."""

    cause: str
    before: float
    now: float


class Logged(Struct, frozen=True):
    """A case in the log: its *id*, what is told, its *client*, and whether it is still open."""

    id: str
    case: Case
    client: str
    open: bool


class Log(Protocol):
    """What the desk needs of the house log."""

    def keep(self, case: Case, assessment: Assessment, photos: Sequence[Picture]) -> str:
        """Keep a new case and return its id."""

    def amend(self, name: str, case: Case, assessment: Assessment, photos: Sequence[Picture]) -> None:
        """Put *case* in the place of what was told under the id *name*; *photos* are added."""

    def find(self, name: str) -> Logged | None:
        """Return the case of that id, or None."""

    def open_cases(self, client: str | None = None) -> Sequence[Logged]:
        """Return the open cases (of one client), latest first."""


class Taken(Struct, frozen=True):
    """A round taken in: under which *id*, its number, what was dropped, what came of it, what it moved, and what to
    ask next.
    """

    id: str
    round: int
    faults: tuple[str, ...]
    case: Case
    assessment: Assessment
    moves: tuple[Move, ...]
    ask: tuple[str, ...]
    photos: int


def take(returned: Returned, log: Log, models: ModelCache, day: str) -> Taken:
    """Take in what came back on *day*: add it to its case, or make a new one. Raises what the log raises."""
    faults = list(returned.faults)
    known, again = _belongs(returned, log, faults)
    before = rounds_of(known.case) if known is not None else ()
    if again:
        before = before[:-1]
    case = _joined(known.case, returned.case, models.knowledge, faults) if known is not None else returned.case
    return _keep(log, models, case, before, ("page", day, returned.token), returned.photos, known, faults)


def take_call(case: Case, client: str, log: Log, models: ModelCache, day: str, name: str = "") -> Taken:
    """Keep a case told over the phone, or go on with *name*; a page may follow under the same id."""
    known = log.find(name) if name else None
    before = rounds_of(known.case) if known is not None else ()
    told = case.with_about(client=client)
    return _keep(log, models, told, before, ("phone", day, ""), (), known, [])


def _keep(
    log: Log,
    models: ModelCache,
    case: Case,
    before: tuple[Round, ...],
    came: tuple[str, str, str],
    photos: Sequence[Picture],
    known: Logged | None,
    faults: list[str],
) -> Taken:
    if not case.about.date:
        case = case.with_about(date=came[1])
    consultation = Consultation(models, case)
    found = assess(consultation)
    now = Round(*came, tuple((c.id, float(f"{c.probability:.4g}")) for c in found.causes[:REMEMBERED]))
    rounds = (*before, now)
    case = replace(case, extra={**case.extra, ROUNDS: [one.to_plain() for one in rounds]})
    if known is None:
        name = log.keep(case, found, photos)
    else:
        name = known.id
        log.amend(name, case, found, photos)
    return Taken(
        name,
        len(rounds),
        tuple(faults),
        case,
        found,
        moves_of(before, found),
        ask_next(consultation, found),
        len(photos),
    )


def _belongs(returned: Returned, log: Log, faults: list[str]) -> tuple[Logged | None, bool]:
    """The case that a return goes on with, and whether this very return was taken before."""
    known = log.find(returned.id) if returned.id else None
    if returned.id and known is None:
        faults.append(f"id: no case {returned.id} in this log, kept as a new one")
    if known is not None and known.client != returned.client:
        faults.append(f"id: {returned.id} is not a case of this client, kept as a new one")
        known = None
    if known is None and returned.token:
        mine = log.open_cases(returned.client)
        known = next((one for one in mine if any(r.token == returned.token for r in rounds_of(one.case))), None)
    again = (
        known is not None
        and bool(returned.token)
        and any(r.token == returned.token for r in rounds_of(known.case)[-1:])
    )
    if again and known is not None:
        faults.append(f"this return was taken before as {known.id}; it took the place of what came then")
    return known, again


def _joined(before: Case, now: Case, knowledge: Knowledge, faults: list[str]) -> Case:
    """*before* with the answers of *now*, read anew: what can't be true beside the others is dropped and told."""
    return usable_case(
        joined(plain_case(before, knowledge), plain_case(now, knowledge)), "both rounds", knowledge, faults
    )


def rounds_of(case: Case) -> tuple[Round, ...]:
    """Return the rounds that a case has had, as far as they can be read."""
    found = []
    kept = case.extra.get(ROUNDS)
    for plain in kept if isinstance(kept, list) else []:
        try:
            ranking = tuple((str(cause), float(chance)) for cause, chance in plain["ranking"])
            found.append(Round(str(plain["how"]), str(plain["day"]), str(plain["token"]), ranking))
        except (KeyError, TypeError, ValueError):
            continue
    return tuple(found)


def moves_of(before: Sequence[Round], found: Assessment) -> tuple[Move, ...]:
    """Return the causes that the last round moved, most first; none in a first round."""
    if not before:
        return ()
    was = dict(before[-1].ranking)
    now = {cause.id: cause.probability for cause in found.causes}
    names = dict.fromkeys([*was, *[cause.id for cause in found.causes[:REMEMBERED]]])
    moved = [Move(name, was.get(name, 0.0), now.get(name, 0.0)) for name in names]
    told = [move for move in moved if abs(move.now - move.before) >= NOTABLE]
    return tuple(sorted(told, key=lambda move: (-round(abs(move.now - move.before), 6), move.cause)))


def ask_next(consultation: Consultation, found: Assessment) -> tuple[str, ...]:
    """Return the best batch for a next round; none where asking more does not pay or nothing is seen."""
    return () if found.settled else batch_of(consultation, BATCH)


def errand_of(consultation: Consultation, client: str, name: str, round_number: int) -> Errand:
    """Return what the next page of a case is for: a first page where no fault is told yet, else what is left to find
    out.

    Raises InputError where there is nothing left to ask.
    """
    case, knowledge = consultation.case, consultation.knowledge
    before = plain_case(case, knowledge)["answers"]
    numbers = numbers_wanted(knowledge, consultation.answers, case.build)
    if not consultation.symptoms_seen:
        return Errand(client=client, id=name, before=before, standing=tuple(consultation.dangers), numbers=numbers)
    ask = batch_of(consultation, BATCH)
    if not ask:
        raise InputError("nothing is left to ask in this case, no answer would tell more; use: diagnose client reply")
    return Errand(
        client=client,
        id=name,
        round=round_number,
        ask=ask,
        before=before,
        first=told_before(case, knowledge),
        standing=tuple(consultation.dangers),
        numbers=numbers,
        system="us" if Units.of(case.written.values()).customary else "metric",
        title="Part report, what is left to find out",
    )


def told_before(case: Case, knowledge: Knowledge) -> tuple[tuple[str, str], ...]:
    """Return what is known of a case, each as a label and its words: the faults seen first, then the answers."""
    teller = Teller(knowledge, Units.of(case.written.values()))
    known = {name: answer.value for name, answer in case.values.items() if answer.value is not None}
    seen = [knowledge.symptoms[name].title for name in known if name in knowledge.symptoms and known[name] == SEEN]
    lines = [("What is wrong", "; ".join(seen))] if seen else []
    for name, value in known.items():
        if name not in knowledge.symptoms:
            values = value if isinstance(value, tuple) else (value,)
            lines.append((capital(knowledge.label(name)), "; ".join(teller.value(name, one) for one in values)))
    return tuple(lines)


# -- the list of what waits ------------------------------------------------------------------------------------------


class Waiting(Struct, frozen=True):
    """An open case of a client: the days since its last round (None where no day is known), and how many rounds it
    has had.
    """

    client: str
    id: str
    title: str
    rounds: int
    day: str
    days: int | None
    first: str


def waiting(log: Log, day: str) -> list[Waiting]:
    """Return the open cases of clients on *day*, by client, the longest waiting first."""
    found = [_waiting(one, day) for one in log.open_cases() if one.client]
    return sorted(found, key=lambda one: (one.client, -(one.days if one.days is not None else -1), one.id))


def _waiting(one: Logged, day: str) -> Waiting:
    rounds = rounds_of(one.case)
    last = rounds[-1].day if rounds else one.case.about.date
    first = rounds[-1].ranking[0][0] if rounds and rounds[-1].ranking else ""
    return Waiting(one.client, one.id, one.case.title, len(rounds), last, _days(last, day), first)


def _days(then: str, now: str) -> int | None:
    try:
        return (date.fromisoformat(now) - date.fromisoformat(then)).days
    except ValueError:
        return None
