"""SIGKILL at random points of the interview and of the log: `python -m tests.harsh.kills --times 500` (so many of each).

Children are forked from a process that has read everything already, so that most of a life is work and not loading; one in twenty begins from
nothing by the command itself. Each is killed at a random moment of its life: after so many answers or commands, and then after a part of the time that
one takes on this machine now. Then everything that had been acknowledged (asked the next question; printed an id) must be there, the file or the log
must open clean, and nothing may be left lying that grows.
"""

from __future__ import annotations

import argparse
import json
import os
import pty
import random
import re
import select
import signal
import sqlite3
import struct
import sys
import tempfile
import termios
import time
import traceback
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager, redirect_stderr, redirect_stdout
from dataclasses import dataclass, field
from fcntl import ioctl
from functools import cache
from io import StringIO
from pathlib import Path

from diagnose.casebook import read_case
from diagnose.commands.main import run
from diagnose.interview.progress import Notebook
from diagnose.knowledge import Knowledge, load_knowledge
from diagnose.logbook.book import kept, listed
from diagnose.logbook.places import where_of
from diagnose.logbook.store import open_log
from tests.harsh.readers import MEMORY

ROOT = Path(__file__).parents[2]
GOOSE = ROOT / "docs" / "examples" / "goose-mask.yaml"
#: seconds after which a child that says nothing is taken for hung
HUNG = 60.0
#: answers or commands in a life at most
MOST_ANSWERED, MOST_DONE = 9, 6
#: files that may lie in the folder beside those that are meant to be there
MOST_LEFT = 3
_PROMPT = re.compile(r"(Enter \[[^\]]*\]:|\(Enter alone = [^)]*\):)\s*\Z")
#: what is typed until there is something to keep, and after that
_FIRST = ("", "2", "")
_TYPED = ("", "", "1", "2", "3", "1 2", "0", "4", "16 C", "45 s", "50", "70 g", "2 mm", "unknown", "b")


@dataclass
class Tally:
    """What came of the kills of one kind: *acknowledged* answers or parts that were looked for again, *faults* a line each."""

    name: str
    kills: int = 0
    ended: int = 0
    acknowledged: int = 0
    faults: list[str] = field(default_factory=list)

    def __str__(self) -> str:
        told = (
            f"{self.name}: {self.kills} killed, {self.ended} came to their end before, {self.acknowledged} acknowledged"
        )
        return "\n  ".join([f"{told}, {len(self.faults)} faults", *self.faults[:20]])


@contextmanager
def _settings(folder: Path) -> Iterator[None]:
    """Folders of the user's own below *folder*, for this process and its children."""
    wanted = {f"XDG_{name}_HOME": str(folder / name.lower()) for name in ("DATA", "STATE", "CACHE", "CONFIG")}
    wanted |= {"DIAGNOSE_LOG": "off", "TERM": "dumb", "OMP_NUM_THREADS": "1", "NO_COLOR": "1", "PYTHONPATH": str(ROOT)}
    before = dict(os.environ)
    os.environ.pop("DIAGNOSE_SHOP", None)
    os.environ.update(wanted)
    try:
        yield
    finally:
        os.environ.clear()
        os.environ.update(before)


def _child(words: list[str], cold: bool) -> None:
    """Run the command in this forked child and end; *cold*: by a new interpreter."""
    if cold:
        os.execv(sys.executable, [sys.executable, "-m", "diagnose", *words])
    status = 1
    try:
        for number in (signal.SIGINT, signal.SIGTERM):
            signal.signal(number, signal.SIG_DFL)
        sys.stdin, sys.stdout, sys.stderr = (
            os.fdopen(n, mode, closefd=False) for n, mode in ((0, "r"), (1, "w"), (2, "w"))
        )
        status = run(words)
        sys.stdout.flush()
    except BaseException:
        os.write(2, traceback.format_exc().encode())
    finally:
        os._exit(status)


def _warm(folder: Path) -> None:
    """Load all that a command would, so that a forked child begins to work at once."""
    import diagnose.interview.frontends.plain
    import diagnose.interview.safety
    import diagnose.knowledge

    diagnose.knowledge.load_knowledge = cache(load_knowledge)  # read once; children have it from here

    with open(os.devnull, "w") as nothing, redirect_stdout(nothing), redirect_stderr(nothing):
        place = str(folder / "warm.db")
        for words in (
            ["log", "add", str(GOOSE), "--log", place],
            ["log", "list", "--log", place],
            ["read", str(GOOSE)],
        ):
            run(words)


# -- the interview -------------------------------------------------------------------------------------------------


class _Caller:
    """A child that asks on a terminal, and who answers it; *held* is what the file held at the last prompt."""

    def __init__(self, words: list[str], path: Path, cold: bool) -> None:
        self.path, self.seen, self.held = path, "", b""
        self.pid, self.terminal = pty.fork()
        if self.pid == 0:
            _child(words, cold)
        ioctl(self.terminal, termios.TIOCSWINSZ, struct.pack("HHHH", 50, 400, 0, 0))

    def answer(self, times: int, chance: random.Random) -> bool:
        """Answer *times* questions; False where the child ended before."""
        since = time.monotonic()
        while times:
            if not select.select([self.terminal], [], [], 0.5)[0]:
                if time.monotonic() - since > HUNG:
                    raise TimeoutError(f"nothing asked for {HUNG:g} s after: {self.seen[-200:]!r}")
                continue
            if not self._heard():
                return False
            since = time.monotonic()
            if _PROMPT.search(self.seen):
                self.held = self.path.read_bytes() if self.path.exists() else b""
                self.seen = ""
                os.write(self.terminal, chance.choice(_TYPED if self.held else _FIRST).encode() + b"\n")
                times -= 1
        return True

    def _heard(self) -> bool:
        """Read what it says; False where it has ended."""
        try:
            piece = os.read(self.terminal, 65536)
        except OSError:
            piece = b""
        self.seen = (self.seen + piece.decode(errors="replace"))[-20_000:]
        return bool(piece)

    def look(self, seconds: float) -> None:
        """Wait so long; where it asks meanwhile, note what the file holds."""
        until = time.monotonic() + seconds
        while (left := until - time.monotonic()) > 0:
            if select.select([self.terminal], [], [], left)[0]:
                if not self._heard():
                    return
                if _PROMPT.search(self.seen):
                    self.held = self.path.read_bytes() if self.path.exists() else b""

    def kill(self) -> int:
        """Kill it and return its status."""
        os.kill(self.pid, signal.SIGKILL)
        status = os.waitpid(self.pid, 0)[1]
        os.close(self.terminal)
        return status


def kill_interviews(times: int, folder: Path, seed: int = 1) -> Tally:
    """Kill the questionnaire *times* times; each time it is taken up again from its file."""
    tally, chance = Tally("interview"), random.Random(seed)
    knowledge, number, each = load_knowledge(), 0, 0.2
    with _settings(folder):
        _warm(folder)
        while tally.kills < times:
            path = folder / f"case-{number}.yaml"
            if number % 2 and not path.exists():
                path.write_bytes(_begun(chance))
            cold = chance.random() < 0.05
            words = ["--plain", *(["--resume", str(path)] if path.exists() else ["--save", str(path)])]
            caller, began, questions = _Caller(words, path, cold), time.monotonic(), chance.randrange(MOST_ANSWERED)
            going_on = caller.answer(questions, chance)
            each = 0.7 * each + 0.3 * (time.monotonic() - began) / (questions + 1)
            if going_on:
                caller.look(chance.uniform(0.0, 1.5 * each))
            status = caller.kill()
            if going_on:
                tally.kills += 1
            else:
                tally.ended += 1
                if status not in (0, signal.SIGKILL) or "Traceback" in caller.seen:
                    tally.faults.append(f"{path.name}: ended with status {status}: {caller.seen[-300:]!r}")
            _look_at_case(path, caller.held, knowledge, tally)
            if not going_on or tally.kills % 10 == 0:
                number += 1
    return tally


def _begun(chance: random.Random) -> bytes:
    """A case in which the faults are told, so that the questions behind them are reached."""
    seen = chance.sample(("thin_skin", "pinholes", "short_fill", "tacky_through", "rounded_tips", "split_foam"), 2)
    return f"case: 1\nanswers: {{build: bare_foam, painted: no, symptoms: [{', '.join(seen)}]}}\n".encode()


def _look_at_case(path: Path, held: bytes, knowledge: Knowledge, tally: Tally) -> None:
    """What the file held when the last question was asked must be in it still, and it must be fit to go on with."""
    left = [each.name for each in path.parent.glob(f".{path.name}*")]
    if len(left) > 1:
        tally.faults.append(f"{path.name}: left lying: {left}")
    if not path.exists():
        if held:
            tally.faults.append(f"{path.name}: is gone")
        return
    try:
        case = read_case(path, knowledge)
        Notebook.from_case(case, knowledge, path.name)
    except Exception as error:
        tally.faults.append(f"{path.name}: does not read back: {error}")
        return
    if not held:
        return
    earlier = path.with_name("held.yaml")
    earlier.write_bytes(held)
    for question, told in read_case(earlier, knowledge).answers.items():
        tally.acknowledged += 1
        if question not in case.answers and question not in str(case.extra):
            tally.faults.append(f"{path.name}: {question} was answered ({told.written}) and is lost")


# -- the log -------------------------------------------------------------------------------------------------------


def _bench(place: Path, words: Path, seed: int) -> None:
    """Add, close, import and back up, one after another for as long as it lives; each is said only when it is done."""
    chance = random.Random(seed)
    for turn in range(10_000):
        what = chance.choice(("add", "add", "add good", "import", "close", "close", "backup"))
        listed_now = _waiting(place) if what == "close" else []
        command = {
            "add": ["log", "add", str(GOOSE), "--json"],
            "add good": ["log", "add", "--good", "--json"],
            "import": ["log", "import", str(_batch(words, f"{seed}-{turn}", chance)), "--json"],
            "backup": ["log", "backup", str(place.with_name("backup.db")), "--json"],
            "close": [
                "log",
                "close",
                *listed_now[:1],
                "--cause",
                "mold_cold",
                "--how",
                "fixed",
                "--next",
                "good",
                "--json",
            ],
        }[what]
        if (what == "close" and not listed_now) or (what == "backup" and not place.exists()):
            continue
        sys.stdout = sys.stderr = out = StringIO()
        status = run([*command, "--log", str(place)])
        told = {"what": what, "status": status, "out": out.getvalue(), "id": listed_now[:1], "batch": f"{seed}-{turn}"}
        os.write(1, json.dumps(told).encode() + b"\n")


def _waiting(place: Path) -> list[str]:
    store = open_log(where_of(str(place)))
    try:
        return [one.id for one in listed(store, waiting=True)]
    finally:
        store.close()


def _batch(folder: Path, name: str, chance: random.Random) -> Path:
    """A file of five parts under one title."""
    path = folder / "batch.jsonl"
    cases = [
        {"case": 1, "title": f"batch {name}", "answers": {"build": "bare_foam"}, "about": {"part": str(n)}}
        for n in range(5)
    ]
    path.write_text("".join(json.dumps({"log": 1, "case": case, "good": True}) + "\n" for case in cases))
    return path


@dataclass
class _Said:
    """What was acknowledged about one log: ids, those closed, titles of batches."""

    ids: set[str] = field(default_factory=set)
    closed: set[str] = field(default_factory=set)
    batches: set[str] = field(default_factory=set)

    def hear(self, line: str, tally: Tally) -> None:
        """Note what a child said it did."""
        told = json.loads(line)
        if told["status"]:
            tally.faults.append(f"log {told['what']} ended with status {told['status']}: {told['out'][-200:]}")
        elif told["what"].startswith("add"):
            self.ids.add(json.loads(told["out"][told["out"].index("{") :])["id"])
        elif told["what"] == "close":
            self.closed.update(told["id"])
        elif told["what"] == "import":
            self.batches.add(f"batch {told['batch']}")


def kill_logs(times: int, folder: Path, seed: int = 1) -> Tally:
    """Kill writers of a log *times* times; a new log after every twentieth."""
    tally, chance = Tally("log"), random.Random(seed)
    with _settings(folder):
        _warm(folder)
        while tally.kills < times:
            home = folder / f"log-{tally.kills}"
            home.mkdir()
            said = _Said()
            for _ in range(min(20, times - tally.kills)):
                _kill_one(home / "log.db", said, chance, tally)
    return tally


def _kill_one(place: Path, said: _Said, chance: random.Random, tally: Tally) -> None:
    reading, writing = os.pipe()
    seed = chance.randrange(1 << 30)
    pid = os.fork()
    if pid == 0:
        os.dup2(writing, 1)
        os.close(reading)
        _in_child(lambda: _bench(place, place.parent, seed))
    os.close(writing)
    began, wanted = time.monotonic(), chance.randrange(MOST_DONE)
    with os.fdopen(reading) as pipe:
        lines = [line for _ in range(wanted) if (line := pipe.readline())]
        each = (time.monotonic() - began) / wanted if wanted else 0.3
        time.sleep(chance.uniform(0.0, 1.5 * each))
        os.kill(pid, signal.SIGKILL)
        os.waitpid(pid, 0)
        lines += pipe.read().splitlines(keepends=True)
    tally.kills += 1
    for line in lines:
        if line.endswith("\n"):  # one that was cut is no word given
            said.hear(line, tally)
    _look_at_log(place, said, tally)


def _in_child(work: Callable[[], None]) -> None:
    try:
        work()
    except BaseException:
        os.write(1, json.dumps({"what": "bench", "status": 1, "out": traceback.format_exc()}).encode() + b"\n")
    finally:
        os._exit(0)


def _look_at_log(place: Path, said: _Said, tally: Tally) -> None:
    """All that was said is there, batches are whole, the database is sound, and nothing lies about."""
    tally.acknowledged += len(said.ids) + len(said.closed) + len(said.batches)
    if not place.exists():
        if said.ids or said.batches:
            tally.faults.append(f"{place}: is gone")
        return
    store = open_log(where_of(str(place)), write=True)
    cases = {one.id: one for one in listed(store, most=None)}
    lost = [f"{name} is lost" for name in sorted(said.ids - cases.keys())]
    lost += [f"{name} is open again" for name in sorted(said.closed) if name in cases and cases[name].state != "closed"]
    titles = [one.title for one in cases.values()]
    there = {title: titles.count(title) for title in set(titles) if title.startswith("batch ")}
    lost += [f"{title} is lost" for title in sorted(said.batches - there.keys())]
    lost += [f"{title}: {count} of 5 parts" for title, count in there.items() if count != 5]
    for name in list(cases)[:3]:
        kept(store, name)
    store.close()
    with closing(sqlite3.connect(place)) as raw:
        if (
            raw.execute("PRAGMA integrity_check").fetchone() != ("ok",)
            or raw.execute("PRAGMA foreign_key_check").fetchone()
        ):
            lost.append("the database is damaged")
    meant = {"log.db", "log.db-wal", "log.db-shm", "backup.db", "batch.jsonl"}
    left = [each.name for each in place.parent.iterdir() if each.name not in meant]
    if len(left) > MOST_LEFT:
        lost.append(f"left lying: {left}")
    tally.faults += [f"{place}: {each}" for each in lost]


def main() -> int:
    """Kill both so many times and tell what came of it; the status is 1 where anything was lost."""
    words = argparse.ArgumentParser(prog="python -m tests.harsh.kills", description=__doc__)
    words.add_argument("--times", type=int, default=500)
    words.add_argument("--seed", type=int, default=1)
    words.add_argument("--only", choices=("interview", "log"))
    given = words.parse_args()
    found = []
    for name, kill in (("interview", kill_interviews), ("log", kill_logs)):
        if given.only in (None, name):
            with tempfile.TemporaryDirectory(prefix="kills-", dir=MEMORY) as folder:
                found.append(kill(given.times, Path(folder), given.seed))
            print(found[-1], flush=True)
    return 1 if any(tally.faults for tally in found) else 0


if __name__ == "__main__":
    sys.exit(main())
