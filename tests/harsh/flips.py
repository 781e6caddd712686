"""Files corrupted a byte at a time: `python -m tests.harsh.flips log --every 1` (case, cache, returned, log, backup, order, learned).

`--structure` takes those bytes of a database by which it finds its way. Every byte of a small file is turned into another one (`--values 256`: into each of them); then its reader must read it, or refuse it in one line, within
`SLOWEST` seconds. Where the file has a checksum, what is read must be what was written. Files lie in memory and readers run in this process.
"""

from __future__ import annotations

import argparse
import io
import random
import sqlite3
import sys
import tempfile
import time
import traceback
import zlib
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

from diagnose.errors import DiagnoseError
from diagnose.knowledge.cache import read_cache, write_cache
from diagnose.logbook.apply import put_in_use
from diagnose.logbook.book import counted, listed, put_in
from diagnose.logbook.exchange import every, export_lines
from diagnose.logbook.in_use import in_use
from diagnose.logbook.learned import Learned
from diagnose.logbook.movers import restore
from diagnose.logbook.page import Span, page_of
from diagnose.logbook.places import where_of
from diagnose.logbook.store import open_log
from diagnose.remote.order import KIND, Order
from tests.harsh.readers import MEMORY, READERS, models, one_line, shipped

#: seconds that one reading may take
SLOWEST = 2.0


@dataclass
class Tally:
    """What came of the flips of one file."""

    name: str
    size: int = 0
    flips: int = 0
    read: int = 0
    refused: int = 0
    slowest: float = 0.0
    faults: dict[str, str] = field(default_factory=dict)

    def __str__(self) -> str:
        told = f"{self.name}: {self.size} bytes, {self.flips} flips, {self.read} read, {self.refused} refused"
        faults = [f"{where}: {what}" for where, what in self.faults.items()]
        return "\n  ".join([f"{told}, slowest {self.slowest:.2f} s, {len(faults)} faults", *faults])


@dataclass(frozen=True)
class Subject:
    """A file of *data*; *read* takes bytes in its place, and returns whether they were read. It raises DiagnoseError where they are refused."""

    data: bytes
    read: Callable[[bytes], bool]


def flipped(
    name: str, every_byte: int = 1, values: int = 1, seed: int = 1, folder: Path | None = None, structure: bool = False
) -> Tally:
    """Turn each *every_byte*-th byte of the file *name* (of its structure alone) into *values* others and read it each time."""
    chance, tally = random.Random(seed), Tally(name)
    with _place(folder) as place:
        subject = SUBJECTS[name](place)
        assert subject.read(subject.data), "the file as it was written is refused"
        tally.size = len(subject.data)
        places = structural(subject.data) if structure else range(len(subject.data))
        for at in places[chance.randrange(every_byte) :: every_byte]:
            others = [value for value in range(256) if value != subject.data[at]]
            for value in others if values >= 255 else chance.sample(others, values):
                _one(subject, at, value, tally)
            if tally.flips % 200 == 0:
                print(tally, file=sys.stderr, flush=True)
    return tally


def _one(subject: Subject, at: int, value: int, tally: Tally) -> None:
    data = subject.data[:at] + bytes((value,)) + subject.data[at + 1 :]
    began = time.process_time()
    tally.flips += 1
    try:
        read = _read_or_refused(subject, data)
    except Exception as error:
        last = traceback.extract_tb(error.__traceback__)[-1]
        where = f"{Path(last.filename).name}:{last.lineno} {last.name}"
        tally.faults.setdefault(where, f"byte {at} as 0x{value:02x}: {type(error).__name__}: {str(error)[:150]}")
        return
    spent = time.process_time() - began
    tally.slowest = max(tally.slowest, spent)
    tally.read, tally.refused = tally.read + read, tally.refused + (not read)
    if spent > SLOWEST:
        tally.faults.setdefault("slow", f"byte {at} as 0x{value:02x}: {spent:.1f} s")


# -- the structure of a database -----------------------------------------------------------------------------------

#: kinds of pages: whether they stand above others, and whether they hold rows of a table (else an index)
_KINDS = {2: (True, False), 5: (True, True), 10: (False, False), 13: (False, True)}


def structural(data: bytes) -> list[int]:
    """The places in *data*, a database of SQLite, of what is not content: its head, the head of each page, where its cells lie, their sizes, row
    numbers and types, and the numbers of other pages. Source: the published file format of SQLite, 1.3 to 1.6 and 2.1."""
    size = int.from_bytes(data[16:18], "big")
    found = set(range(100))
    for start in range(0, len(data), size):
        found.update(_of_page(data, start, size))
    return sorted(found)


def _of_page(data: bytes, start: int, size: int) -> Iterator[int]:
    head = start + (100 if start == 0 else 0)
    if data[head] not in _KINDS:
        yield from range(start, start + 8)  # the rest of a long row, or a free page: the number of the next
        return
    above, _ = _KINDS[data[head]]
    cells = head + (12 if above else 8)
    count = int.from_bytes(data[head + 3 : head + 5], "big")
    yield from range(head, cells + 2 * count)
    for at in range(cells, cells + 2 * count, 2):
        yield from _of_cell(data, start + int.from_bytes(data[at : at + 2], "big"), data[head], size)


def _of_cell(data: bytes, at: int, kind: int, size: int) -> Iterator[int]:
    (above, table), end = _KINDS[kind], at
    if above:
        end += 4
    length = 0
    if not (above and table):
        length, end = _number(data, end)
    if table:
        _, end = _number(data, end)
    if not length:
        yield from range(at, end)
        return
    types, _ = _number(data, end)
    yield from range(at, end + types)
    most, least = (size - 35 if table else (size - 12) * 64 // 255 - 23), (size - 12) * 32 // 255 - 23
    if length > most:
        here = least + (length - least) % (size - 4)
        end += here if here <= most else least
        yield from range(end, end + 4)


def _number(data: bytes, at: int) -> tuple[int, int]:
    """Return the number of variable length at *at* (up to nine bytes), and where it ends."""
    value = 0
    for place in range(at, at + 8):
        value = value << 7 | data[place] & 0x7F
        if data[place] < 0x80:
            return value, place + 1
    return value << 8 | data[at + 8], at + 9


def _read_or_refused(subject: Subject, data: bytes) -> bool:
    try:
        return subject.read(data)
    except DiagnoseError as error:
        return one_line(error)


@contextmanager
def _place(folder: Path | None) -> Iterator[Path]:
    """A folder in memory, in which the user's own folders lie too."""
    with (
        tempfile.TemporaryDirectory(prefix="flips-", dir=folder or MEMORY) as name,
        pytest.MonkeyPatch.context() as patched,
    ):
        for kind in ("DATA", "STATE", "CACHE", "CONFIG"):
            patched.setenv(f"XDG_{kind}_HOME", str(Path(name) / kind.lower()))
        patched.delenv("DIAGNOSE_SHOP", raising=False)
        yield Path(name)


# -- what is turned ------------------------------------------------------------------------------------------------


def _case(place: Path) -> Subject:
    return Subject(next(READERS["case"].seeds()), READERS["case"].read)


def _returned(place: Path) -> Subject:
    seeds = list(READERS["returned"].seeds())
    return Subject(next(each for each in seeds if each.startswith(b"BEGIN")), READERS["returned"].read)


def _knowledge(place: Path) -> Subject:
    return Subject(next(READERS["knowledge"].seeds()), READERS["knowledge"].read)


def _cache(place: Path) -> Subject:
    """A cache that does not fit is done without; one that is read is what was written."""
    plain = {"causes": list(shipped().causes), "numbers": [0.1, 1e-9, 7], "words": "Wärme"}
    write_cache("knowledge", "k" * 64, plain)
    path = next(place.rglob("knowledge-*.json"))

    def read(data: bytes) -> bool:
        path.write_bytes(data)
        found = read_cache("knowledge", "k" * 64, dict)
        assert found is None or found == plain, "damaged data came out of the cache"
        return found is not None

    return Subject(path.read_bytes(), read)


def _order(place: Path) -> Subject:
    """The same, of the order of questions for a client's page."""
    order = {name: {"": [("where_worst", 0.25, "")]} for name in list(shipped().symptoms)[:6]}
    write_cache(KIND, "k" * 64, order)
    path = next(place.rglob(f"{KIND}-*.json"))

    def read(data: bytes) -> bool:
        path.write_bytes(data)
        found = read_cache(KIND, "k" * 64, Order)
        assert found is None or found == order, "damaged data came out of the cache"
        return found is not None

    return Subject(path.read_bytes(), read)


def _learned(place: Path) -> Subject:
    """What was learned from a log: read, or the way back to the book is told."""
    where = where_of(str(place / "log.db"))
    causes = {"mold_cold": 1.5, "a_rich": 0.75}
    memory = {"mold": {"owl": [3, 2, {"mold_cold": 2}]}}
    plain: dict[str, Any] = {
        "learned": 1,
        "cases": 30,
        "knowledge": "k",
        "base": {"": causes},
        "links": {},
        "all": [9, 4, {"a_rich": 1}],
        "memory": memory,
    }
    learned = Learned.from_plain({**plain, "spread": {"mold": {"mold_cold": 0.5}}})
    store = open_log(where, write=True)
    put_in_use(store, learned)
    store.close()

    def read(data: bytes) -> bool:
        with closing(sqlite3.connect(place / "log.db")) as raw, raw:
            raw.execute("UPDATE learned SET content = CAST(? AS TEXT)", (data,))
        found = in_use(where)
        assert found is not None, "what is in use is gone"
        assert found.learned == learned, "damaged numbers were taken for what was learned"
        return True

    with closing(sqlite3.connect(place / "log.db")) as raw:
        return Subject(str(raw.execute("SELECT content FROM learned").fetchone()[0]).encode(), read)


def filled(path: Path) -> dict[str, Any]:
    """Write a log of a few parts, one of them closed, to *path* as one file; return its cases by id."""
    from diagnose.logbook.exchange import LineReader

    lines = [*[line for line in READERS["log"].seeds() if b'"outcome"' in line][:3], next(READERS["log"].seeds())]
    store = open_log(where_of(str(path)), write=True)
    with store.writing() as connection:
        put_in(connection, [line.new for line in LineReader("x", models()).read(list(dict.fromkeys(lines)))])
    with store.reading() as connection:
        cases = {kept.id: kept.case for kept in every(connection)}
    store.close()
    return cases


def looked_through(path: Path, cases: dict[str, Any], whole: bool = True) -> bool:
    """List, count and read the log at *path*, and export it and make its page where *whole*; what was told of a case is as it was written, or refused."""
    store = open_log(where_of(str(path)))
    try:
        listed(store)
        counted(store)
        if whole:
            export_lines(store, io.StringIO())
            page_of(store, Span())
        with store.reading() as connection:
            for kept in every(connection):
                assert kept.id not in cases or kept.case == cases[kept.id], f"{kept.id} is another case now"
    finally:
        store.close()
    return True


def _log(place: Path) -> Subject:
    path = place / "log.db"
    cases = filled(path)
    small = place / "small.db"
    with closing(sqlite3.connect(path)) as raw:
        raw.execute("PRAGMA journal_mode = DELETE")
        raw.execute("PRAGMA page_size = 512")  # the smallest there is, so that few bytes are empty
        raw.execute("VACUUM INTO ?", (str(small),))

    def read(data: bytes) -> bool:
        for name in (path, Path(f"{path}-wal"), Path(f"{path}-shm")):
            name.unlink(missing_ok=True)
        path.write_bytes(data)
        return looked_through(path, cases, zlib.crc32(data) % 8 == 0)

    return Subject(small.read_bytes(), read)


def _backup(place: Path) -> Subject:
    """A damaged backup is not restored: the log stays as it was, or holds what the backup held."""
    subject, target, source = _log(place), place / "target.db", place / "backup.db"
    where = where_of(str(target))

    def read(data: bytes) -> bool:
        for name in place.glob("target.db*"):
            name.unlink()
        source.write_bytes(data)
        restore(source, where)
        return looked_through(target, {})

    return Subject(subject.data, read)


SUBJECTS: dict[str, Callable[[Path], Subject]] = {
    "case": _case,
    "knowledge": _knowledge,
    "cache": _cache,
    "order": _order,
    "returned": _returned,
    "learned": _learned,
    "log": _log,
    "backup": _backup,
}


def main() -> int:
    """Turn the bytes of one file, or of all, and tell what came of it; the status is 1 where there are faults."""
    words = argparse.ArgumentParser(prog="python -m tests.harsh.flips", description=__doc__)
    words.add_argument("files", nargs="*", default=list(SUBJECTS), metavar="FILE")
    words.add_argument("--every", type=int, default=1, help="take each so many-th byte only")
    words.add_argument("--values", type=int, default=1, help="values tried for each byte; 256 for all")
    words.add_argument("--seed", type=int, default=1)
    words.add_argument("--structure", action="store_true", help="of a database the bytes of its structure only")
    given = words.parse_args()
    found = []
    for name in given.files:
        found.append(flipped(name, given.every, given.values, given.seed, structure=given.structure))
        print(found[-1], flush=True)
    return 1 if any(tally.faults for tally in found) else 0


if __name__ == "__main__":
    sys.exit(main())
