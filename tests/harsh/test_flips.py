"""Files corrupted a byte at a time, a sample of the bytes; `python -m tests.harsh.flips` takes every one."""

from __future__ import annotations

import re
from contextlib import suppress
from pathlib import Path

import pytest

from diagnose.errors import DiagnoseError
from diagnose.logbook.book import listed
from diagnose.logbook.movers import restore
from diagnose.logbook.places import where_of
from diagnose.logbook.store import open_log
from tests.harsh.flips import SUBJECTS, flipped, structural

#: every so many-th byte, so that all together take a few seconds
EVERY = {"case": 8, "knowledge": 211, "cache": 3, "order": 1, "returned": 11, "learned": 1, "log": 511, "backup": 1009}


@pytest.mark.parametrize("name", list(SUBJECTS))
def test_a_turned_byte_is_read_or_refused_in_one_line(name: str) -> None:
    """No other error, no hang, and nothing that has a checksum comes back otherwise than it was written."""
    tally = flipped(name, EVERY[name])
    assert tally.faults == {}
    assert tally.flips > 20
    assert tally.refused > 0


@pytest.mark.parametrize(("name", "every"), [("log", 61), ("backup", 97)])
def test_a_turned_byte_of_the_structure_is_read_or_refused_in_one_line(name: str, every: int) -> None:
    """Where pages and cells lie, and how long they are."""
    tally = flipped(name, every, structure=True)
    assert tally.faults == {}
    assert tally.flips > 20
    assert tally.refused > tally.flips // 4


def test_the_structure_is_all_but_what_is_written(tmp_path: Path) -> None:
    """The heads of all pages are in it, no letter of a case is, and every row number is found where it stands."""
    data = SUBJECTS["log"](tmp_path).data
    places = set(structural(data))
    assert all(start + at in places for start in range(512, len(data), 512) for at in range(8))
    for word in (b"answers", b"bare_foam", b"symptoms"):
        inside = [found.start() for found in re.finditer(word, data)]
        assert inside
        assert not [at for at in inside if places & set(range(at, at + len(word)))]
    assert 2000 < len(places) < len(data) // 8


def test_every_value_of_the_first_bytes_of_a_log(tmp_path: Path) -> None:
    """The head of the database, where a byte decides how all others are read."""
    subject = SUBJECTS["backup"](tmp_path)
    for at in (0, 15, 16, 18, 19, 20, 21, 28, 31, 44, 47, 56, 59, 68, 92, 100):
        for value in (0, 1, 2, 0x7F, 0x80, 0xFF):
            data = subject.data[:at] + bytes((value,)) + subject.data[at + 1 :]
            with suppress(DiagnoseError):
                subject.read(data)


def test_a_backup_that_is_refused_leaves_the_log(tmp_path: Path) -> None:
    """Torn in the middle: one line, and the parts of the log are all there."""
    subject = SUBJECTS["log"](tmp_path)
    assert subject.read(subject.data)
    where = where_of(str(tmp_path / "log.db"))
    store = open_log(where)
    before = [case.id for case in listed(store)]
    store.close()
    torn = tmp_path / "torn.db"
    torn.write_bytes(subject.data[: len(subject.data) // 2])
    with pytest.raises(DiagnoseError):
        restore(torn, where)
    store = open_log(where)
    assert [case.id for case in listed(store)] == before
    store.close()
