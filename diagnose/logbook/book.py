"""The log as a caster uses it: keep a part, close it with what it was, look it up, list what is there.

Everything that belongs to one part goes in within one transaction. An id is given once and never again; an outcome that
is corrected stays as an earlier one.
"""

from __future__ import annotations

import json
import zlib
from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, date, datetime
from typing import Any

from msgspec import Struct
from sqlalchemy import Connection, RowMapping, desc, func, select, update

from diagnose.errors import InputError, shown
from diagnose.logbook import schema
from diagnose.logbook.entry import Entry, Outcome, Said, digest_of
from diagnose.logbook.ids import encode, is_sound
from diagnose.logbook.migrations import season_of, week_of
from diagnose.logbook.photos import Photo
from diagnose.logbook.store import LogError, Store

#: rows that go in together
BLOCK = 500


class Listed(Struct, frozen=True):
    """A case as the list shows it; *state* is open, closed or good, *first* the cause that was first."""

    id: str
    date: str
    title: str
    part: str
    mold: str
    client: str
    state: str
    first: str

    def to_plain(self) -> dict[str, Any]:
        """Return it as the list prints it for other programs; what isn't known is null."""
        return {name: getattr(self, name) or None for name in Listed.__struct_fields__}


class Kept(Struct, frozen=True):
    """A whole case out of the log. *outcomes*: the one that holds first, then the earlier ones, newest first."""

    id: str
    good: bool
    case: Mapping[str, Any]
    said: Said
    assessment: Mapping[str, Any] | None
    outcomes: tuple[Outcome, ...]
    photos: tuple[tuple[str, str], ...]

    @property
    def outcome(self) -> Outcome | None:
        """The outcome that holds, or None while the case waits for one."""
        return self.outcomes[0] if self.outcomes else None


class New(Struct, frozen=True):
    """A part to put in: an entry, its outcomes (oldest first), its photos, and the id it comes with (empty:
    give it one).
    """

    entry: Entry
    outcomes: tuple[Outcome, ...] = ()
    photos: tuple[tuple[str, Photo | None], ...] = ()
    id: str = ""
    origin: str = ""


def today() -> str:
    """Return the day of this machine, as 2026-03-02."""
    return date.today().isoformat()


def add(store: Store, new: New) -> str:
    """Keep one part and return its id. When this returns it is on the disk. Raises LogError."""
    with store.writing() as connection:
        return put_in(connection, [new])[0]


def put_in(connection: Connection, parts: Sequence[New]) -> list[str]:
    """Keep *parts* within the transaction of *connection* and return their ids in order."""
    numbers, ids = _numbered(connection, parts)
    stamp = datetime.now(UTC).isoformat(timespec="seconds")
    rows: dict[str, list[dict[str, Any]]] = {table.name: [] for table in schema.metadata.sorted_tables}
    outcome_number = connection.execute(select(func.coalesce(func.max(schema.outcomes.c.number), 0))).scalar_one()
    for number, name, new in zip(numbers, ids, parts, strict=True):
        case_rows(rows, number, name, new, stamp)
        for i, outcome in enumerate(new.outcomes, start=1):
            outcome_number += 1
            _outcome_rows(rows, outcome_number, number, outcome, new.entry, i == len(new.outcomes), stamp)
    photo_rows(connection, rows)
    for table in (
        schema.cases,
        schema.documents,
        schema.answers,
        schema.faults,
        schema.outcomes,
        schema.outcome_causes,
    ):
        if rows[table.name]:
            connection.execute(table.insert(), rows[table.name])
    for table in (schema.photos, schema.case_photos):
        if rows[table.name]:
            connection.execute(table.insert(), rows[table.name])
    return ids


def _numbered(connection: Connection, parts: Sequence[New]) -> tuple[list[int], list[str]]:
    """A running number and an id for each part. There is one writer at a time, so that no other gets the same."""
    counter = schema.log.c.key == "next"
    connection.execute(update(schema.log).where(counter).values(value=schema.log.c.value + len(parts)))
    number = connection.execute(select(schema.log.c.value).where(counter)).scalar_one() - len(parts)
    candidates = [encode(number + i) for i in range(len(parts))]
    used = {new.id for new in parts if new.id} | _taken(connection, candidates)
    ids, numbers = [], []
    for new in parts:
        while not new.id and encode(number) in used:
            number += 1
            used |= _taken(connection, [encode(number)])
        ids.append(new.id or encode(number))
        numbers.append(number)
        number += 1
    connection.execute(update(schema.log).where(counter).values(value=number))
    return numbers, ids


def _taken(connection: Connection, names: Sequence[str]) -> set[str]:
    found: set[str] = set()
    for start in range(0, len(names), BLOCK):
        block = schema.cases.c.id.in_(names[start : start + BLOCK])
        found.update(connection.execute(select(schema.cases.c.id).where(block)).scalars())
    return found


def case_rows(rows: dict[str, list[dict[str, Any]]], number: int, name: str, new: New, stamp: str) -> None:
    """Put the rows of a part, but for its outcomes, to *rows* by table."""
    entry, about = new.entry, new.entry.about
    first, chance = entry.said.first
    factors = {key: getattr(about, key) for key in ("mold", "lot_a", "lot_b", "person")}
    factors |= {"season": season_of(about.date), "ratio": entry.ratio}
    rows["cases"].append(
        {
            "number": number,
            "id": name,
            "origin": new.origin or name,
            "digest": entry.digest,
            "added": stamp,
            "date": about.date,
            "week": week_of(about.date),
            "title": entry.title,
            "part": about.part,
            "client": about.client,
            **factors,
            "build": entry.build,
            "painted": entry.painted,
            "state": "good" if entry.good else "closed" if new.outcomes else "open",
            "knowledge": entry.said.knowledge,
            "first": first,
            "first_chance": chance,
            "ratio_error": entry.ratio_error,
        }
    )
    rows["documents"].append(
        {
            "case_number": number,
            "case_json": entry.case_json,
            "said": json.dumps(entry.said.causes),
            "assessment": packed(entry.assessment),
        }
    )
    rows["answers"] += [
        {"case_number": number, "question": q, "value": value, "source": source} for q, value, source in entry.answers
    ]
    cost = (new.outcomes[-1].cost or 0.0) if new.outcomes else 0.0
    rows["faults"] += [
        {"case_number": number, "symptom": s, "date": about.date, **factors, "cost": cost / len(entry.symptoms)}
        for s in entry.symptoms
    ]
    rows["case_photos"] += [
        {"case_number": number, "place": i, "name": given, "digest": photo.digest if photo else "", "photo": photo}
        for i, (given, photo) in enumerate(new.photos)
    ]


def photo_rows(connection: Connection, rows: dict[str, list[dict[str, Any]]]) -> None:
    """Each picture is kept once, however many cases show it."""
    found = {row["digest"]: row.pop("photo") for row in rows["case_photos"]}
    for digest in sorted(filter(None, found)):
        known = connection.execute(select(schema.photos.c.digest).where(schema.photos.c.digest == digest)).first()
        if known is None:
            photo = found[digest]
            size = {"width": photo.width, "height": photo.height}
            rows["photos"].append({"digest": digest, **size, "data": photo.data})


def _outcome_rows(
    rows: dict[str, list[dict[str, Any]]],
    outcome_number: int,
    case_number: int,
    outcome: Outcome,
    entry: Entry,
    current: bool,
    stamp: str,
) -> None:
    first, chance = entry.said.first
    known = {"case_date": entry.about.date, "first": first, "first_chance": chance}
    _outcome_row(rows, outcome_number, case_number, outcome, known, current, stamp)


def _outcome_row(
    rows: dict[str, list[dict[str, Any]]],
    number: int,
    case_number: int,
    outcome: Outcome,
    known: Mapping[str, Any],
    current: bool,
    stamp: str,
) -> None:
    shared = {"case_number": case_number, "current": int(current), "case_date": known["case_date"]}
    rows["outcomes"].append(
        {
            "number": number,
            **shared,
            "how": outcome.how,
            "next": outcome.next,
            "causes": " ".join(outcome.causes),
            "remedies": " ".join(outcome.remedies),
            "date": outcome.date,
            "recorded": stamp,
            "cost": outcome.cost,
            "first_chance": known["first_chance"],
            "right": int(known["first"] in outcome.causes),
        }
    )
    share = (outcome.cost or 0.0) / len(outcome.causes)
    rows["outcome_causes"] += [{"outcome": number, "cause": cause, **shared, "cost": share} for cause in outcome.causes]


def close(store: Store, name: str, outcome: Outcome) -> None:
    """Close the case *name* with *outcome*; an outcome that it has stays as an earlier one.
    Raises InputError, LogError.
    """
    with store.writing() as connection:
        close_in(connection, find(connection, name), outcome)


def close_in(connection: Connection, case: RowMapping, outcome: Outcome) -> None:
    """Close *case* within the transaction of *connection*. Raises InputError where it is a good part."""
    if case["state"] == "good":
        raise InputError(f"{case['id']}: is a good part, there is nothing to close")
    number = case["number"]
    o, causes = schema.outcomes, schema.outcome_causes
    earlier = select(o.c.number).where(o.c.case_number == number)
    # by the outcome, which is their key: by the case it would be a look at every row
    connection.execute(update(causes).where(causes.c.outcome.in_(earlier)).values(current=0))
    connection.execute(update(o).where(o.c.case_number == number).values(current=0))
    rows: dict[str, list[dict[str, Any]]] = {"outcomes": [], "outcome_causes": []}
    new = connection.execute(select(func.coalesce(func.max(schema.outcomes.c.number), 0))).scalar_one() + 1
    known = {"case_date": case["date"], "first": case["first"], "first_chance": case["first_chance"]}
    _outcome_row(rows, new, number, outcome, known, True, datetime.now(UTC).isoformat(timespec="seconds"))
    connection.execute(schema.outcomes.insert(), rows["outcomes"])
    connection.execute(schema.outcome_causes.insert(), rows["outcome_causes"])
    mine = schema.faults.c.case_number == number
    count = connection.execute(select(func.count()).select_from(schema.faults).where(mine)).scalar_one()
    connection.execute(update(schema.faults).where(mine).values(cost=(outcome.cost or 0.0) / max(count, 1)))
    connection.execute(update(schema.cases).where(schema.cases.c.number == number).values(state="closed"))


def find(connection: Connection, name: str) -> RowMapping:
    """Return the row of the case *name*. Raises InputError where there is none."""
    for spelt in dict.fromkeys((name, name.lower())):
        row = connection.execute(select(schema.cases).where(schema.cases.c.id == spelt)).mappings().first()
        if row is not None:
            return row
    slip = "" if is_sound(name.lower()) else "; a sign of it is wrong, or two are swapped"
    raise InputError(f"no case '{shown(name)}' in the log{slip}")


def listed(store: Store, waiting: bool = False, client: str | None = None, most: int | None = 20) -> list[Listed]:
    """Return the cases, latest first: those *waiting* for an outcome, those of one *client*, at most *most*."""
    t = schema.cases.c
    query = select(t.id, t.date, t.title, t.part, t.mold, t.client, t.state, t.first)
    if waiting:
        query = query.where(t.state == "open")
    if client is not None:
        query = query.where(t.client == client)
    query = query.order_by(desc(t.date), desc(t.number))
    with store.reading() as connection:
        rows = connection.execute(query if most is None else query.limit(most)).all()
    return [Listed(*row) for row in rows]


def counted(store: Store) -> dict[str, int]:
    """Return how many cases are in each state."""
    t = schema.cases.c
    with store.reading() as connection:
        found = {str(state): int(n) for state, n in connection.execute(select(t.state, func.count()).group_by(t.state))}
    return {state: found.get(state, 0) for state in ("open", "closed", "good")}


def kept(store: Store, name: str) -> Kept:
    """Return the whole case *name*. Raises InputError where there is none."""
    with store.reading() as connection:
        return next(iter(whole(connection, [find(connection, name)])))


def whole(connection: Connection, cases: Sequence[RowMapping]) -> Iterable[Kept]:
    """Return all that the log holds of *cases*, in their order; a few statements for all of them."""
    numbers = [case["number"] for case in cases]
    documents = _by_case(connection, schema.documents, numbers)
    outcomes = _by_case(connection, schema.outcomes, numbers)
    photos = _by_case(connection, schema.case_photos, numbers)
    for case in cases:
        number = case["number"]
        try:
            found = _kept(case, documents[number][0], outcomes.get(number, []), photos.get(number, []))
        except (ValueError, TypeError, LookupError, AttributeError, ArithmeticError, RecursionError, zlib.error):
            raise LogError(
                f"the log is damaged: case {shown(str(case['id']))} is not as it was kept; a backup comes back by: "
                "diagnose log restore BACKUP"
            ) from None
        yield found


def _kept(case: RowMapping, document: RowMapping, outcomes: Sequence[RowMapping], photos: Sequence[RowMapping]) -> Kept:
    """Return the case of these rows. Raises ValueError and other errors of reading where it is not as it was kept."""
    good = case["state"] == "good"
    if digest_of(good, document["case_json"]) != case["digest"]:
        raise ValueError("what was told does not fit its digest")
    told = sorted(outcomes, key=lambda row: (-row["current"], -row["number"]))
    return Kept(
        id=str(case["id"]),
        good=good,
        case=json.loads(document["case_json"]),
        said=Said(case["knowledge"], tuple((str(cause), float(p)) for cause, p in json.loads(document["said"]))),
        assessment=unpacked(document["assessment"]),
        outcomes=tuple(map(_outcome, told)),
        photos=tuple((row["name"], row["digest"]) for row in sorted(photos, key=_place)),
    )


def _place(row: RowMapping) -> int:
    return int(row["place"])


def _by_case(connection: Connection, table: Any, numbers: Sequence[int]) -> dict[int, list[RowMapping]]:
    found: dict[int, list[RowMapping]] = {}
    for start in range(0, len(numbers), BLOCK):
        block = table.c.case_number.in_(numbers[start : start + BLOCK])
        for row in connection.execute(select(table).where(block)).mappings():
            found.setdefault(row["case_number"], []).append(row)
    return found


def _outcome(row: RowMapping) -> Outcome:
    return Outcome(
        causes=tuple(row["causes"].split()),
        how=row["how"],
        next=row["next"],
        remedies=tuple(row["remedies"].split()),
        cost=row["cost"],
        date=row["date"],
    )


def packed(plain: Mapping[str, Any] | None) -> bytes | None:
    """Return an assessment as it is kept: JSON, deflated."""
    return None if plain is None else zlib.compress(json.dumps(plain, separators=(",", ":")).encode())


def unpacked(data: bytes | None) -> Mapping[str, Any] | None:
    """Return an assessment as it was before `packed`."""
    if data is None:
        return None
    plain: Mapping[str, Any] = json.loads(zlib.decompress(data))
    return plain
