"""The log at its edges: opening it where its files are in the way, and damage that shows only when one looks."""

from __future__ import annotations

import sqlite3
import threading
import time
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from log_edges import entry

from diagnose.errors import InputError
from diagnose.knowledge import Knowledge
from diagnose.logbook import movers
from diagnose.logbook import store as log_store
from diagnose.logbook.apply import put_in_use
from diagnose.logbook.book import New, add, listed
from diagnose.logbook.in_use import in_use, in_use_or_book
from diagnose.logbook.learned import Learned
from diagnose.logbook.migrations import VERSION
from diagnose.logbook.movers import back_up, restore
from diagnose.logbook.places import where_of
from diagnose.logbook.store import WAIT, LogError, Store, open_log, version_of


def copied(store: Store, knowledge: Knowledge, path: Path) -> Path:
    """A log of one part at *path*, with no other files of its own."""
    add(store, New(entry(knowledge, "thin_skin")))
    path.parent.mkdir(exist_ok=True)
    back_up(store, path)
    with closing(sqlite3.connect(path)) as raw:
        raw.execute("PRAGMA journal_mode = WAL")
    assert [each.name for each in path.parent.iterdir() if each.name.startswith(path.name)] == [path.name]
    return path


def test_a_log_without_room_for_its_own_files_is_read_alone(
    file_store: Store, knowledge: Knowledge, tmp_path: Path
) -> None:
    """SQLite reads beside a writer by way of a file `-shm`; where that can't be, the file alone is read, but only where nothing waits beside it."""
    put_in_use(file_store, Learned(cases=7))
    path = copied(file_store, knowledge, tmp_path / "copy" / "log.db")
    Path(f"{path}-shm").symlink_to(tmp_path / "nowhere")
    opened = open_log(where_of(str(path)))
    assert len(listed(opened)) == 1
    opened.close()
    with pytest.raises(LogError, match="can't be opened: the file or its folder is read-only or can't be reached"):
        open_log(where_of(str(path)), write=True)
    used = in_use(where_of(str(path)))
    assert used is not None
    assert used.learned.cases == 7
    Path(f"{path}-wal").write_bytes(b"what somebody is writing")
    with pytest.raises(LogError, match="can't be opened: the file or its folder is read-only or can't be reached"):
        open_log(where_of(str(path)))
    with pytest.raises(InputError, match="what was learned can't be read: unable to open database file"):
        in_use(where_of(str(path)))


def spoiled(path: Path, table: str) -> None:
    """Let the head of the first page of *table* tell of room that isn't there (bytes 1 and 2: where the first free block begins, by SQLite's
    file format, section 1.6). The file opens and lists as before; a look through it finds it out.
    """
    with closing(sqlite3.connect(path)) as raw:
        (size,) = raw.execute("PRAGMA page_size").fetchone()
        (page,) = raw.execute("SELECT rootpage FROM sqlite_master WHERE name = ?", (table,)).fetchone()
    whole = bytearray(path.read_bytes())
    whole[(page - 1) * size + 1 : (page - 1) * size + 3] = (size - 2).to_bytes(2, "big")
    path.write_bytes(whole)
    with closing(sqlite3.connect(path)) as raw:
        assert raw.execute("PRAGMA quick_check").fetchone() != ("ok",)


def test_a_backup_with_a_spoiled_page_is_not_restored(file_store: Store, knowledge: Knowledge, tmp_path: Path) -> None:
    """It opens, and what stands in one table can't be read: the log stays as it was, and nothing is set aside."""
    backup = copied(file_store, knowledge, tmp_path / "backup.db")
    spoiled(backup, "photos")
    assert len(listed(open_log(where_of(str(backup))))) == 1, "it opens and lists"
    with pytest.raises(LogError, match=r"backup\.db: is damaged; nothing was restored$"):
        restore(backup, file_store.where)
    assert len(listed(file_store)) == 1
    assert file_store.where.file is not None
    assert not file_store.where.file.with_name("log.db.before-restore").exists()


def test_a_log_with_a_spoiled_page_is_set_aside_as_the_file_it_is(
    file_store: Store, knowledge: Knowledge, tmp_path: Path
) -> None:
    """It opens, but a copy would be none: the file itself is kept, byte for byte, and the files beside it go."""
    backup = copied(file_store, knowledge, tmp_path / "backup.db")
    log = tmp_path / "here" / "log.db"
    log.parent.mkdir()
    back_up(file_store, log)
    spoiled(log, "photos")
    before = log.read_bytes()
    beside = [Path(f"{log}-wal"), Path(f"{log}-shm")]
    for each in beside:
        each.write_bytes(b"of the damaged log")
    aside = restore(backup, where_of(str(log)))
    assert not any(each.exists() and each.read_bytes() == b"of the damaged log" for each in beside)
    assert aside == log.with_name("log.db.before-restore")
    assert aside.read_bytes() == before
    assert len(listed(open_log(where_of(str(log))))) == 1


def test_a_log_is_on_the_disk_and_may_be_read_while_it_is_written(file_store: Store) -> None:
    """A new one: written ahead (WAL), each case synchronized in full, links between tables held (SQLite's `synchronous`: 2 is FULL)."""
    with file_store.reading() as connection:
        words = ("journal_mode", "synchronous", "foreign_keys")
        found = [connection.exec_driver_sql(f"PRAGMA {word}").scalar() for word in words]
    assert found == ["wal", 2, 1]


def test_looking_waits_for_no_writer(file_store: Store, knowledge: Knowledge) -> None:
    """Somebody holds the lock: the log opens and lists at once, as it was."""
    add(file_store, New(entry(knowledge, "thin_skin")))
    path = file_store.where.file
    assert path is not None
    with closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        begun = time.monotonic()
        opened = open_log(where_of(str(path)))
        assert [each.state for each in listed(opened)] == ["open"]
        assert version_of(opened) == VERSION
        assert time.monotonic() - begun < WAIT
        opened.close()
        other.execute("ROLLBACK")


def test_who_has_the_log_open_sees_what_was_restored(file_store: Store, knowledge: Knowledge, tmp_path: Path) -> None:
    """A sound log is written over where it lies, not put away under another program's hands; and it is written ahead again."""
    backup = copied(file_store, knowledge, tmp_path / "backup.db")
    add(file_store, New(entry(knowledge, "thin_skin")))
    path = file_store.where.file
    assert path is not None
    with closing(sqlite3.connect(path)) as other:
        assert other.execute("SELECT count(*) FROM cases").fetchone() == (2,)
        aside = restore(backup, file_store.where)
        assert other.execute("SELECT count(*) FROM cases").fetchone() == (1,)
        assert other.execute("PRAGMA journal_mode").fetchone() == ("wal",)
    assert aside is not None
    with closing(sqlite3.connect(aside)) as kept:
        assert kept.execute("SELECT count(*) FROM cases").fetchone() == (2,)


def test_a_restored_log_is_written_ahead_again(file_store: Store, knowledge: Knowledge, tmp_path: Path) -> None:
    """A backup is one plain file; the log that it becomes may be read while it is written."""
    add(file_store, New(entry(knowledge, "thin_skin")))
    back_up(file_store, tmp_path / "backup.db")
    restore(tmp_path / "backup.db", where_of(str(tmp_path / "new.db")))
    with closing(sqlite3.connect(tmp_path / "new.db")) as raw:
        assert raw.execute("PRAGMA journal_mode").fetchone() == ("wal",)


def test_a_log_whose_own_words_are_no_text_is_damaged(
    file_store: Store, knowledge: Knowledge, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """SQLite quotes what stands in the file, and that is no text: told in one line all the same; it gives way to a backup as the file it is."""
    backup = copied(file_store, knowledge, tmp_path / "backup.db")
    torn = tmp_path / "torn.db"
    damage = backup.read_bytes().replace(b"CREATE TABLE photos", b"CREATE \xff\xffBLE photos")
    torn.write_bytes(damage)
    with pytest.raises(LogError, match=r"torn\.db: is damaged or no log; it was left as it was"):
        open_log(where_of(str(torn)))
    assert in_use_or_book(where_of(str(torn))) is None
    assert (
        capsys.readouterr().err == f"{torn}: what was learned can't be read: is damaged or no log; going by the book\n"
    )
    assert torn.read_bytes() == damage
    aside = restore(backup, where_of(str(torn)))
    assert aside is not None
    assert aside.read_bytes() == damage
    assert len(listed(open_log(where_of(str(torn))))) == 1
    torn.write_bytes(damage)
    with pytest.raises(LogError, match=r"torn\.db: is damaged or no log"):
        restore(torn, where_of(str(backup)))


def test_nothing_is_restored_over_a_log_that_somebody_writes(
    file_store: Store, knowledge: Knowledge, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is waited for as long as for any writer, then told; the log is as it was. (Python's own copying of a database tries for ever.)"""
    monkeypatch.setattr(movers, "WAIT", 0.2)
    backup = copied(file_store, knowledge, tmp_path / "backup.db")
    add(file_store, New(entry(knowledge, "thin_skin")))
    path = file_store.where.file
    assert path is not None
    told: list[str] = []

    def tried() -> None:
        try:
            restore(backup, where_of(str(path)))
        except LogError as error:
            told.append(str(error))

    with closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        trying = threading.Thread(target=tried, daemon=True)
        trying.start()
        trying.join(WAIT)
        waits_for_ever = trying.is_alive()
        other.execute("ROLLBACK")
    trying.join()
    assert not waits_for_ever
    assert told == [f"{path}: is locked: another program has been writing for over 5 s; nothing was written, try again"]
    assert len(listed(file_store)) == 2


def test_a_folder_where_the_log_would_be_set_aside_is_told(
    file_store: Store, knowledge: Knowledge, tmp_path: Path
) -> None:
    """In one line, and nothing is restored."""
    backup = copied(file_store, knowledge, tmp_path / "backup.db")
    add(file_store, New(entry(knowledge, "thin_skin")))
    (tmp_path / "log.db.before-restore").mkdir()
    with pytest.raises(LogError, match=r"log\.db: Is a directory; the log was left as it was$"):
        restore(backup, file_store.where)
    assert len(listed(file_store)) == 2


class NoRoom:
    """A connection on a disk that has room for no copy."""

    def __init__(self, real: sqlite3.Connection) -> None:
        self.real = real

    def execute(self, statement: str, *told: object) -> sqlite3.Cursor:
        """As SQLite says it."""
        if statement.startswith("VACUUM INTO"):
            full = sqlite3.OperationalError("database or disk is full")
            full.sqlite_errorname = "SQLITE_FULL"
            raise full
        return self.real.execute(statement)

    def close(self) -> None:
        """Let go."""
        self.real.close()


def test_a_log_that_can_not_be_set_aside_is_not_written_over(
    file_store: Store, knowledge: Knowledge, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """No room for a copy of what is there: it stays what it is, and the trouble is told."""
    backup = copied(file_store, knowledge, tmp_path / "backup.db")
    add(file_store, New(entry(knowledge, "thin_skin")))
    real = sqlite3.connect

    def connect(path: object, **more: Any) -> Any:
        return NoRoom(real(str(path), **more)) if "log.db?mode=ro" in str(path) else real(str(path), **more)

    monkeypatch.setattr(movers.sqlite3, "connect", connect)
    with pytest.raises(LogError, match=r"log\.db: the disk is full; nothing was written, the log is as it was$"):
        restore(backup, file_store.where)
    monkeypatch.undo()
    assert len(listed(file_store)) == 2


def test_folders_that_are_not_there_are_made_by_writing_alone(tmp_path: Path) -> None:
    """All the way down; who only looks makes nothing, and reads an empty log."""
    path = tmp_path / "shop" / "bench two" / "log.db"
    looked = open_log(where_of(str(path)))
    assert listed(looked) == []
    looked.close()
    assert not (tmp_path / "shop").exists()
    open_log(where_of(str(path)), write=True).close()
    assert path.is_file()


def test_a_folder_that_can_be_written_is_read_beside_others(
    file_store: Store, knowledge: Knowledge, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The usual way, in which a writer may come meanwhile, and what is still beside the log is read as well."""
    path = copied(file_store, knowledge, tmp_path / "copy" / "log.db")
    asked: list[tuple[bool, bool]] = []
    opened = log_store._sqlite
    monkeypatch.setattr(log_store, "_sqlite", lambda *told, **named: asked.append(told[1:]) or opened(*told, **named))
    for write in (False, True):
        open_log(where_of(str(path)), write=write).close()
    assert asked == [(False, False), (True, False)]


def test_a_log_that_is_closed_is_let_go(tmp_path: Path) -> None:
    """Also the empty one that stands for a log which isn't there."""
    store = open_log(where_of(str(tmp_path / "none.db")))
    raw = store.engine.raw_connection()
    driver = raw.driver_connection
    raw.close()
    assert driver.execute("SELECT count(*) FROM cases").fetchone() == (0,)
    store.close()
    with pytest.raises(sqlite3.ProgrammingError, match="closed database"):
        driver.execute("SELECT 1")


def test_a_backup_that_can_not_take_its_place_leaves_nothing_behind(file_store: Store, tmp_path: Path) -> None:
    """A folder came in its way meanwhile: told, and what was written beside it goes."""
    target = tmp_path / "folder"
    target.mkdir()
    with pytest.raises(LogError, match="Is a directory; the log was left as it was"):
        log_store.backup(file_store, target)
    assert sorted(each.name for each in tmp_path.iterdir() if not each.name.startswith("log.db")) == ["folder"]
    assert list(target.iterdir()) == []
