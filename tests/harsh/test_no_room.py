"""No room left, with real processes and real refusals of the system: one clear line, and every file as it was.

A limit on the size of files (RLIMIT_FSIZE) fails a write anywhere, as any user, and `/dev/full` is always full; a small file system of its own is mounted
where that is allowed. SQLite's own bound on pages gives its "full" without any of them.
"""

from __future__ import annotations

import os
import resource
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace
from sqlalchemy import event

from diagnose.logbook.book import add, listed
from diagnose.logbook.exchange import LineReader
from diagnose.logbook.places import where_of
from diagnose.logbook.store import LogError, open_log
from tests.harsh.flips import filled
from tests.harsh.kills import GOOSE
from tests.harsh.readers import READERS, ROOT, models
from tests.logbook.log_support import fill

pytestmark = pytest.mark.timeout(300)
Run = Callable[..., "subprocess.CompletedProcess[str]"]


@pytest.fixture
def run(tmp_path: Path) -> Run:
    """Run `diagnose` with these words, files of at most *most* bytes, standard output to the file *out*."""
    env = {name: value for name, value in os.environ.items() if not name.startswith(("DIAGNOSE_", "XDG_"))}
    env |= {f"XDG_{kind}_HOME": str(tmp_path / kind.lower()) for kind in ("DATA", "STATE", "CONFIG")}
    env |= {"DIAGNOSE_LOG": "off", "PYTHONPATH": str(ROOT)}

    def start(*words: object, most: int | None = None, out: str = "") -> subprocess.CompletedProcess[str]:
        limit = None if most is None else lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (most, most))
        with open(out or os.devnull, "w") as file:
            return subprocess.run(
                [sys.executable, "-m", "diagnose", *map(str, words)],
                stdout=file if out else subprocess.PIPE,
                stderr=subprocess.PIPE,
                text=True,
                check=False,
                env=env,
                cwd=ROOT,
                preexec_fn=limit,
            )

    return start


@pytest.fixture
def log(tmp_path: Path) -> Path:
    """A log with a few parts in it."""
    path = tmp_path / "shop" / "log.db"
    filled(path)
    return path


def _line(done: subprocess.CompletedProcess[str], *words: str) -> None:
    lines = [line for line in done.stderr.splitlines() if "no such photo" not in line]
    assert (done.returncode, len(lines)) == (1, 1), done.stderr
    assert any(word in lines[0] for word in words), lines


def _names(path: Path) -> list[str]:
    store = open_log(where_of(str(path)))
    try:
        return [case.id for case in listed(store, most=None)]
    finally:
        store.close()


def test_an_answer_that_finds_no_room_leaves_the_case(run: Run, tmp_path: Path) -> None:
    """The file is as it was to the byte, and nothing lies beside it."""
    path = tmp_path / "shop" / "owl.yaml"
    path.parent.mkdir()
    path.write_text(
        "case: 1\nanswers: {build: bare_foam, painted: no, symptoms: [thin_skin]}\nx_interview: {well: yes}\n"
    )
    before = path.read_bytes()
    _line(run("answer", path, "mold_temperature=16 C", most=64), "can't be written: File too large")
    assert path.read_bytes() == before
    assert os.listdir(path.parent) == ["owl.yaml"]


def test_a_new_case_that_finds_no_room_is_not_begun(run: Run, tmp_path: Path) -> None:
    """No empty file, no half one."""
    _line(run("new", tmp_path / "shop" / "owl.yaml", "build=bare_foam", most=8), "can't be written: File too large")
    assert os.listdir(tmp_path / "shop") == []


def test_a_part_that_finds_no_room_is_not_in_the_log(run: Run, log: Path) -> None:
    """Nor is an import, nor what a close would say; what was there is all there."""
    before = _names(log)
    lines = log.with_name("more.jsonl")
    lines.write_bytes(b"".join(line + b"\n" for line in READERS["log"].seeds() if b"\n" not in line and b'"x1' in line))
    for words in (
        ("add", GOOSE),
        ("import", lines),
        ("close", before[0], "--cause", "a_rich", "--how", "fixed", "--next", "good"),
    ):
        _line(run("log", *words, "--log", log, most=40_000), "the disk failed or is full", "the disk is full")
        assert _names(log) == before
    assert run("log", "add", GOOSE, "--log", log).returncode == 0
    assert len(_names(log)) == len(before) + 1


@pytest.mark.parametrize("command", ["export", "backup"])
def test_what_is_written_beside_the_log_is_whole_or_the_old_one(command: str, run: Run, log: Path) -> None:
    """The last export or backup stays, and no part of the new one."""
    target = log.with_name("kept")
    target.write_bytes(b"the last one\n")
    words = ("export", "-o", target) if command == "export" else ("backup", target)
    _line(run("log", *words, "--log", log, most=1024 if command == "export" else 40_000), "File too large", "the disk")
    assert target.read_bytes() == b"the last one\n"
    assert not list(log.parent.glob(".kept*"))


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="this system has no /dev/full")
@pytest.mark.parametrize(
    "words", [("log", "list"), ("log", "export"), ("read", str(GOOSE)), ("read", str(GOOSE), "--json")]
)
def test_an_output_without_room_is_told(words: tuple[str, ...], run: Run, log: Path) -> None:
    """One line on standard error, and status 1."""
    more = ("--log", log) if words[0] == "log" else ()
    _line(run(*words, *more, out="/dev/full"), "No space left on device")


def test_knowledge_that_can_not_be_kept_in_the_cache_is_read_without(
    run: Run, tmp_path: Path, monkeypatch: Any
) -> None:
    """No room for the cache is nobody's trouble."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    done = run("read", GOOSE, "--json", most=0)
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith("{")


def test_a_database_that_may_not_grow_says_that_the_disk_is_full(log: Path) -> None:
    """SQLite's own bound on pages: its word for full, without any disk."""
    before = _names(log)
    store = open_log(where_of(str(log)), write=True)

    @event.listens_for(store.engine, "connect")
    def bound(connection: Any, _: object) -> None:
        connection.execute("PRAGMA max_page_count = 1")  # as many as there are, and no more

    part = next(LineReader("x", models()).read([next(READERS["log"].seeds())])).new

    def add_for_ever() -> None:
        while True:
            before.append(add(store, replace(part, id="")))

    with pytest.raises(LogError, match="the disk is full; nothing was written, the log is as it was"):
        add_for_ever()
    store.close()
    assert sorted(_names(log)) == sorted(before)


# -- a small disk, where one can be made ---------------------------------------------------------------------------

_MOUNT = ("mount", "-t", "tmpfs", "-o", "size=512k", "tmpfs")


@pytest.fixture
def disk(tmp_path: Path) -> Iterator[Path]:
    """A file system of half a megabyte, mounted by root."""
    folder = tmp_path / "disk"
    folder.mkdir()
    if subprocess.run([*_MOUNT, str(folder)], capture_output=True, check=False).returncode:
        pytest.skip("nothing may be mounted here; the tests above meet the same refusals without a mount")
    yield folder
    subprocess.run(["umount", str(folder)], check=True)


def test_a_case_on_a_full_disk_is_as_it_was(run: Run, disk: Path) -> None:
    """Not a byte is free; the answer is refused, and goes in as soon as there is room."""
    path = disk / "owl.yaml"
    path.write_text(
        "case: 1\nanswers: {build: bare_foam, painted: no, symptoms: [thin_skin]}\nx_interview: {well: yes}\n"
    )
    before = path.read_bytes()
    fill(disk)
    _line(run("answer", path, "mold_temperature=16 C"), "can't be written: No space left on device")
    assert path.read_bytes() == before
    assert sorted(os.listdir(disk)) == ["ballast", "owl.yaml"]
    os.unlink(disk / "ballast")
    assert run("answer", path, "mold_temperature=16 C").returncode == 0
    assert b"16 C" in path.read_bytes()


def test_a_log_on_a_full_disk_is_as_it_was(run: Run, disk: Path, log: Path) -> None:
    """Copied where there is no room for another part."""
    path = disk / "log.db"
    shutil.copy(log, path)
    before = _names(path)
    fill(disk)
    _line(run("log", "add", GOOSE, "--log", path), "full")
    os.unlink(disk / "ballast")
    assert _names(path) == before
