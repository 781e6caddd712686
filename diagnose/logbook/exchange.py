"""The log in and out: JSON Lines both ways, a table as CSV, an anonymous copy.

One case a line. What comes in goes through the same reader as a case file, so a line that can't be used is refused with
its number. A case that is there already (the same id with the same content) is not put in twice; another case under a
taken id gets a new one.
"""

from __future__ import annotations

import csv
import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, TextIO

from msgspec import Struct, field
from msgspec.structs import replace
from sqlalchemy import Connection, RowMapping, select

from diagnose.errors import Fault, FileFaults, InputError, shown
from diagnose.knowledge import Knowledge
from diagnose.logbook import schema
from diagnose.logbook.book import BLOCK, Kept, New, close_in, put_in, whole
from diagnose.logbook.entry import Entry, Outcome, Said, case_of, entry_of, outcome_of, ranked
from diagnose.logbook.ids import is_sound
from diagnose.logbook.store import Store

FORMAT = 1
_KEYS = ("log", "id", "case", "good", "outcome", "earlier", "said")
_LONGEST_LINE = 1 << 20
_LONGEST_ID = 40
#: characters of an id in what was said, and causes that were said
_LONGEST_SAID, _MOST_SAID = 200, 200
#: faults of one import that are kept to be shown
_MOST_FAULTS = 20


class Taken(Struct):
    """What became of an import: cases *added*, there *already*, *closed* by an outcome that came, *renamed* ids,
    lines *refused*.
    """

    added: int = 0
    already: int = 0
    closed: int = 0
    renamed: dict[str, str] = field(default_factory=dict)
    refused: list[Fault] = field(default_factory=list)
    refused_count: int = 0


class LinesRefused(FileFaults):
    """Lines of an import that can't be used; *refused* counts those too that aren't shown."""

    def __init__(self, faults: Iterable[Fault], refused: int) -> None:
        super().__init__(faults)
        self.refused = refused


# -- out -----------------------------------------------------------------------------------------------------------


def every(connection: Connection, client: str | None = None) -> Iterator[Kept]:
    """Yield every case in the order in which it was logged, of one *client* where one is named."""
    number = -1
    while True:
        query = select(schema.cases).where(schema.cases.c.number > number).order_by(schema.cases.c.number).limit(BLOCK)
        if client is not None:
            query = query.where(schema.cases.c.client == client)
        rows = connection.execute(query).mappings().all()
        if not rows:
            return
        number = rows[-1]["number"]
        yield from whole(connection, rows)


def line_of(kept: Kept) -> dict[str, Any]:
    """Return a case as the line of an export."""
    line: dict[str, Any] = {"log": FORMAT, "id": kept.id, "case": kept.case, "good": kept.good}
    if kept.outcome is not None:
        line["outcome"] = kept.outcome.to_plain()
    if len(kept.outcomes) > 1:
        line["earlier"] = [outcome.to_plain() for outcome in kept.outcomes[1:]]
    if kept.said.causes:
        causes = [{"id": cause, "probability": chance} for cause, chance in kept.said.causes]
        line["said"] = {"knowledge": kept.said.knowledge, "causes": causes}
    return line


def export_lines(store: Store, out: TextIO, anonymous: bool = False, client: str | None = None) -> int:
    """Write every case to *out*, a line each, and return how many. Raises LogError."""
    hide = Anonymous() if anonymous else None
    count = 0
    with store.reading() as connection:
        for kept in every(connection, client):
            shown_case = hide.hidden(kept) if hide else kept
            out.write(json.dumps(line_of(shown_case), ensure_ascii=True, allow_nan=False) + "\n")
            count += 1
    return count


class Anonymous:
    """Takes out of cases who and for whom, titles, photos and free text; parts, molds, lots and ids of others get
    numbers in place of names.
    """

    def __init__(self) -> None:
        self._names: dict[tuple[str, str, str], str] = {}

    def hidden(self, kept: Kept) -> Kept:
        """Return *kept* without what could name anybody. A client's molds never share a number with another's."""
        about = kept.case.get("about") or {}
        client = str(about.get("client", ""))
        left: dict[str, Any] = {"date": about["date"][:10]} if about.get("date") else {}
        for key in ("part", "mold", "lot_a", "lot_b"):
            if about.get(key):
                left[key] = self._number(key, "" if key.startswith("lot") else client, str(about[key]))
        case: dict[str, Any] = {"case": 1, "answers": kept.case["answers"]}
        if left:
            case["about"] = left
        # an id that this program did not give may be a name
        name = kept.id if is_sound(kept.id) else self._number("case", "", kept.id).replace(" ", "-")
        return replace(kept, id=name, case=case, photos=(), assessment=None)

    def _number(self, key: str, client: str, name: str) -> str:
        kind = key[:3] if key.startswith("lot") else key
        count = sum(1 for known in self._names if known[0] == key) + 1
        return self._names.setdefault((key, client, name), f"{kind} {count}")


def export_table(
    store: Store, out: TextIO, knowledge: Knowledge, anonymous: bool = False, client: str | None = None
) -> int:
    """Write every case to *out* as CSV: a row each, a column for each question. Returns how many. Raises LogError."""
    questions = sorted(
        [*knowledge.symptoms, *knowledge.checks, *(name for name, fact in knowledge.facts.items() if not fact.derived)]
    )
    hide = Anonymous() if anonymous else None
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow([*_HEAD, *questions])
    count = 0
    with store.reading() as connection:
        for kept in every(connection, client):
            writer.writerow(_cells(hide.hidden(kept) if hide else kept, questions))
            count += 1
    return count


_ABOUT = ("date", "part", "mold", "lot_a", "lot_b", "person", "client", "remarks")
_HEAD = (
    "id",
    "state",
    "title",
    *_ABOUT,
    "first",
    "first_chance",
    "causes",
    "how",
    "next",
    "remedies",
    "cost",
    "closed",
)


def _cells(kept: Kept, questions: Sequence[str]) -> list[str]:
    about, outcome = kept.case.get("about") or {}, kept.outcome
    first, chance = kept.said.first
    told = _answered(kept.case["answers"])
    state = "good" if kept.good else "closed" if outcome else "open"
    ended = ["", "", "", "", "", ""]
    if outcome is not None:
        cost = "" if outcome.cost is None else f"{outcome.cost:.10g}"
        ended = [" ".join(outcome.causes), outcome.how, outcome.next, " ".join(outcome.remedies), cost, outcome.date]
    texts = [str(kept.case.get("title", "")), *(str(about.get(key, "")) for key in _ABOUT)]
    said = [first, "" if chance is None else f"{chance:.10g}"]
    return [kept.id, state, *map(_harmless, texts), *said, *ended, *(_harmless(told.get(q, "")) for q in questions)]


def _answered(answers: Mapping[str, Any]) -> dict[str, str]:
    told: dict[str, str] = {}
    for key, value in answers.items():
        if key in ("symptoms", "symptoms_absent", "symptoms_unknown"):
            word = {"symptoms": "seen", "symptoms_absent": "absent", "symptoms_unknown": "unknown"}[key]
            told.update(dict.fromkeys(value if isinstance(value, list) else [], word))
        else:
            plain = value["value"] if isinstance(value, Mapping) else value
            told[key] = ", ".join(plain) if isinstance(plain, list) else str(plain)
    return told


def _harmless(text: str) -> str:
    """A cell that a spreadsheet would work out begins with a quote mark instead."""
    return f"'{text}" if text[:1] in ("=", "+", "@", "\t", "\r") or (text[:1] == "-" and not _number(text)) else text


def _number(text: str) -> bool:
    return text[1:2].isdigit() and all(sign.isalnum() or sign in " .%/°" for sign in text[1:])


# -- in ------------------------------------------------------------------------------------------------------------


class Line(Struct, frozen=True):
    """A line that was read: its number in the file and the part."""

    number: int
    new: New


class LineReader:
    """Reads the lines of an export. *models* rank a case that comes without what was said of it."""

    def __init__(self, file: str, models: Any) -> None:
        self.file = file
        self.models = models
        self.knowledge: Knowledge = models.knowledge
        self.faults: list[Fault] = []
        self.refused = 0
        self._ids: dict[str, int] = {}

    def read(self, lines: Iterable[bytes]) -> Iterator[Line]:
        """Yield the parts; a line that can't be used goes to *faults*."""
        for number, raw in enumerate(lines, start=1):
            if not raw.strip():
                continue
            try:
                yield Line(number, self._part(raw, number))
            except InputError as error:
                self.refused += 1
                if len(self.faults) < _MOST_FAULTS:
                    self.faults.append(Fault(self.file, number, str(error)))

    def _part(self, raw: bytes, number: int) -> New:
        line = _object(raw)
        for key in line:
            if key not in _KEYS:
                raise InputError(f"{shown(key)}: unknown key, expected one of {', '.join(_KEYS)}")
        if line.get("log") != FORMAT or isinstance(line.get("log"), bool):
            raise InputError(f"log: expected {FORMAT}, the version of the format that this program reads")
        if not isinstance(line.get("case"), dict):
            raise InputError("case: expected a case as in a case file")
        good = line.get("good", False)
        if not isinstance(good, bool):
            raise InputError("good: expected true or false")
        case = case_of(line["case"], self.knowledge, self.file)
        entry = entry_of(case, self.knowledge, good)
        entry = replace(entry, said=self._said(line.get("said"), case, entry))
        outcomes = self._outcomes(line, good)
        name = self._id(line.get("id"), number)  # last: a line that is refused takes no id from a good one
        return New(entry, outcomes, tuple((photo, None) for photo in entry.about.photos), name)

    def _id(self, given: Any, number: int) -> str:
        if given is None:
            return ""
        if not isinstance(given, str) or not given or len(given) > _LONGEST_ID or not _plain_id(given):
            raise InputError(f"id: expected letters and digits, at most {_LONGEST_ID}")
        if given in self._ids:
            raise InputError(f"id: '{given}' stands already on line {self._ids[given]}")
        self._ids[given] = number
        return given

    def _outcomes(self, line: Mapping[str, Any], good: bool) -> tuple[Outcome, ...]:
        """The outcomes, oldest first."""
        if line.get("outcome") is None:
            if line.get("earlier"):
                raise InputError("earlier: outcomes without one that holds")
            return ()
        if good:
            raise InputError("outcome: a good part has none")
        earlier = line.get("earlier") or []
        if not isinstance(earlier, list):
            raise InputError("earlier: expected a list of outcomes")
        return tuple(outcome_of(plain, self.knowledge) for plain in [*reversed(earlier), line["outcome"]])

    def _said(self, plain: Any, case: Any, entry: Entry) -> Said:
        if plain is None:
            return ranked(case, self.models) if entry.symptoms else Said(self.knowledge.content_key)
        try:
            causes = tuple((_short(c["id"]), float(c["probability"])) for c in plain["causes"])
            if len(causes) > _MOST_SAID or not all(0.0 <= chance <= 1.0 for _, chance in causes):
                raise ValueError
            return Said(_short(plain["knowledge"]), causes)
        except (KeyError, TypeError, ValueError, OverflowError):
            raise InputError("said: expected the knowledge and causes, each with id and probability") from None


def _short(text: Any) -> str:
    if not isinstance(text, str) or len(text) > _LONGEST_SAID or not text.isprintable():
        raise ValueError
    return text


def _plain_id(text: str) -> bool:
    return text.isascii() and all(sign.isalnum() or sign in "-_" for sign in text) and text[0].isalnum()


def _object(raw: bytes) -> dict[str, Any]:
    if len(raw) > _LONGEST_LINE:
        raise InputError(f"over {_LONGEST_LINE} bytes, expected a case of at most 1 MiB")
    try:
        plain = json.loads(raw.decode("utf-8"), object_pairs_hook=_once, parse_constant=_no_constant)
    except UnicodeDecodeError:
        raise InputError("is not UTF-8") from None
    except (ValueError, RecursionError) as error:
        raise InputError(f"is no JSON: {shown(str(error))}") from None
    if not isinstance(plain, dict):
        raise InputError("expected a JSON object, a case a line")
    return plain


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    plain = dict(pairs)
    if len(plain) < len(pairs):
        raise ValueError("a key stands twice")
    return plain


def _no_constant(name: str) -> Any:
    raise ValueError(f"{name} is no number")


def import_file(store: Store, path: Path, models: Any, partial: bool = False) -> Taken:
    """Put the cases of the export at *path* into the log, all or, where *partial*, those that can be used.

    Raises FileFaults with the lines refused (then nothing went in), LogError.
    """
    reader = LineReader(str(path), models)
    try:
        with open(path, "rb") as file, store.writing() as connection:
            taken = take(connection, reader.read(file))
            if reader.faults and not partial:
                raise LinesRefused(reader.faults, reader.refused)
    except OSError as error:
        raise InputError(f"{path}: can't be read: {error.strerror or error}") from None
    taken.refused, taken.refused_count = reader.faults, reader.refused
    return taken


def take(connection: Connection, lines: Iterable[Line]) -> Taken:
    """Put the parts of *lines* in, a block at a time, within the transaction of *connection*."""
    taken = Taken()
    for block in _blocks(lines):
        _take_block(connection, block, taken)
    return taken


def _blocks(lines: Iterable[Line]) -> Iterator[list[Line]]:
    block: list[Line] = []
    for line in lines:
        block.append(line)
        if len(block) == BLOCK:
            yield block
            block = []
    if block:
        yield block


def _take_block(connection: Connection, block: Sequence[Line], taken: Taken) -> None:
    names = [line.new.id for line in block if line.new.id]
    digests = [line.new.entry.digest for line in block if line.new.id]
    t = schema.cases.c
    same = connection.execute(select(schema.cases).where(t.digest.in_(digests))).mappings().all()
    there = {(spelt, row["digest"]): row for row in same for spelt in (row["origin"], row["id"])}
    used = set(connection.execute(select(t.id).where(t.id.in_(names))).scalars())
    fresh: list[New] = []
    for line in block:
        new = line.new
        row = there.get((new.id, new.entry.digest)) if new.id else None
        if row is not None:
            taken.already += 1
            taken.closed += _closed(connection, row, new)
        else:
            fresh.append(replace(new, id="", origin=new.id) if new.id in used else new)
    for new, name in zip(fresh, put_in(connection, fresh), strict=True):
        if new.origin:
            taken.renamed[new.origin] = name
    taken.added += len(fresh)


def _closed(connection: Connection, row: RowMapping, new: New) -> bool:
    """Close a case that waits here and has its outcome there;
    an outcome of our own stays unless the other one is later.
    """
    if not new.outcomes:
        return False
    outcome = new.outcomes[-1]
    if row["state"] == "closed":
        t = schema.outcomes.c
        query = select(t.date).where(t.case_number == row["number"], t.current == 1)
        if outcome.date <= connection.execute(query).scalar_one():
            return False
    close_in(connection, row, outcome)
    return True
