"""Do the tests notice? `python -m tests.harsh.mutants ROOM ... --sample 60 --seed 1` changes one spot of a room at a time and runs its tests.

Needs `pip install cosmic-ray coverage` beside the test extras. The tree is copied, the room's tests are run once with coverage, and each mutant meets the
tests that reach its line (of what only an import reaches, those that reach a line that names it), the quick ones first, until one fails (killed), none does (survived), or its time is up (killed: a hang is noticed). Tests
of more than `--longest` CPU seconds are left out unless `--all` is said. Survivors that `survivors.yaml` explains are counted apart.
"""

from __future__ import annotations

import argparse
import difflib
import hashlib
import itertools
import json
import os
import re
import resource
import shutil
import signal
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import asdict, dataclass, field, replace
from pathlib import Path
from typing import Any

import pytest
import yaml

from tests.harsh.mutation import Mutant, defined_at, sampled

ROOT = Path(__file__).resolve().parents[2]
#: a mutant may take this many times the CPU seconds of its tests, and so many more, before it counts as hung
_TIMES, _MORE = 3.0, 20.0
#: unless all tests are asked for, a mutant meets tests of no more CPU seconds in all than this many times the longest
_ENOUGH = 6.0
#: tests against the clock may fail on a busy machine: so small a share of failures in the clean run is left out, more is refused
_FEW_FAIL = 0.02


@dataclass(frozen=True, slots=True)
class Room:
    """What is changed, by which tests it is watched, and words of tests that are left out (pytest's `-k`)."""

    files: tuple[str, ...]
    tests: tuple[str, ...]
    words: str = ""


#: left out throughout: what sees to speed or sameness by whole processes, at minutes a run
_LONG = "not hash_seed and not too_much_seen and not left_aside and not no_worse_than_random and not eighteen"
ROOMS = {
    "reasoning": Room(
        ("diagnose/reasoning/*.py",), ("tests/reasoning", "tests/published/test_published_reasoning.py"), _LONG
    ),
    "bench": Room(
        ("diagnose/bench/*.py",),
        (
            next(name for name in ("tests/sums", "tests/bench") if (ROOT / name).is_dir()),
            *(f"tests/published/test_published_{name}.py" for name in ("mix", "mold", "finish", "deciding")),
            "tests/casebook/test_derived_sums.py",
            "tests/commands/test_sums.py",
        ),
    ),
    "assessment": Room(
        ("diagnose/assessment/*.py",), ("tests/assessment", "tests/interview/test_asking_order.py", "tests/cases")
    ),
    "logbook": Room(
        ("diagnose/logbook/*.py",),
        ("tests/logbook/test_log_*.py", "tests/published/test_published_log.py"),
        "not postgresql",
    ),
    "returned": Room(("diagnose/remote/returned.py",), ("tests/remote/test_returned_*.py",), "not browser"),
}


@dataclass(slots=True)
class Survey:
    """The clean run: CPU seconds by test, which tests (or whole files of tests) reach each line, and what they import.

    *sources*: the room's files as they were, *digests*: those of the test files, by which a kept survey is brought up to date.
    """

    seconds: dict[str, float] = field(default_factory=dict)
    reached: dict[str, dict[str, list[str]]] = field(default_factory=dict)
    modules: list[str] = field(default_factory=list)
    failed: list[str] = field(default_factory=list)
    sources: dict[str, str] = field(default_factory=dict)
    digests: dict[str, str] = field(default_factory=dict)

    def tests(self, mutant: Mutant, longest: float | None) -> list[str]:
        """Tests that meet *mutant*, quick ones first; those of the same files that don't reach its line by themselves come after.

        A line that only an import or a child process reaches meets those first that reach a line with its name, then all.
        """
        reaching = self._reaching(mutant)
        files = {name.split("::")[0] for name in reaching}
        if longest is None or not reaching:
            files = {name.split("::")[0] for name in self.seconds}
        chosen = [name for name in self.seconds if name.split("::")[0] in files]
        chosen.sort(key=lambda name: (name not in reaching, self.seconds[name], name))
        if longest is None:
            return chosen
        allowed = [name for name in chosen if self.seconds[name] <= longest] or chosen[:1]
        spent = itertools.accumulate(self.seconds[name] for name in allowed)
        return [name for name, so_far in zip(allowed, spent, strict=True) if so_far <= _ENOUGH * longest] or allowed[:1]

    def _reaching(self, mutant: Mutant) -> set[str]:
        """Tests that reach the line of *mutant*, or where an import does, a line that names what stands there."""
        here = self.reached.get(mutant.file, {})
        found = set(here.get(str(mutant.line), []))
        if found and "" not in found:
            return found
        names, body = defined_at(self.sources[mutant.file], mutant.line)
        found.update(*(here.get(str(line), []) for line in body))
        if names:
            word = re.compile(rf"\b(?:{'|'.join(map(re.escape, sorted(names)))})\b")
            for file, lines in self.reached.items():
                for number, line in enumerate(self.sources[file].splitlines(), start=1):
                    if word.search(line):
                        found.update(lines.get(str(number), []))
        return found - {""}

    def moved_to(self, sources: dict[str, str]) -> None:
        """Take the lines reached over to *sources*: a line that stayed keeps its tests, one that changed has none."""
        for file, new in sources.items():
            old = self.sources.get(file, "")
            if old != new:
                matcher = difflib.SequenceMatcher(None, old.splitlines(), new.splitlines(), autojunk=False)
                lines, moved = self.reached.get(file, {}), dict[str, list[str]]()
                for block in matcher.get_matching_blocks():
                    for i in range(1, block.size + 1):
                        if str(block.a + i) in lines:
                            moved[str(block.b + i)] = lines[str(block.a + i)]
                self.reached[file] = moved
        self.sources = sources

    def without(self, files: set[str]) -> None:
        """Forget the tests of *files*."""
        self.seconds = {name: spent for name, spent in self.seconds.items() if name.split("::")[0] not in files}
        self.failed = [name for name in self.failed if name.split("::")[0] not in files]
        for lines in self.reached.values():
            for line, tests in lines.items():
                lines[line] = [name for name in tests if name.split("::")[0] not in files]

    def with_more(self, other: Survey) -> None:
        """Add what *other*, of other test files, found."""
        self.seconds.update(other.seconds)
        self.failed += other.failed
        self.modules = sorted({*self.modules, *other.modules})
        for file, lines in other.reached.items():
            mine = self.reached.setdefault(file, {})
            for line, tests in lines.items():
                mine[line] = sorted({*mine.get(line, []), *tests})


@dataclass(frozen=True, slots=True)
class Fate:
    """What became of a mutant: *killed* by the test (or "time"), or nothing; the CPU seconds it took."""

    mutant: Mutant
    killed: str
    seconds: float


# -- in the child ------------------------------------------------------------------------------------------------------


def _cpu() -> float:
    own = os.times()
    return own.user + own.system + own.children_user + own.children_system


class _Surveyor:
    """A plugin that times each test and tells coverage which test is running."""

    def __init__(self, coverage: Any) -> None:
        self.coverage = coverage
        self.survey = Survey()
        self.skipped: set[str] = set()
        self.shared: dict[tuple[str, str], float] = {}
        self.new: set[str] = set()

    def pytest_runtest_setup(self, item: Any) -> None:
        self.survey.seconds[item.nodeid] = -_cpu()
        self.new.clear()
        self.coverage.switch_context(item.nodeid)

    @pytest.hookimpl(wrapper=True)
    def pytest_fixture_setup(self, fixturedef: Any, request: Any) -> Iterator[None]:
        """What a fixture of the whole session does is reached by every test; what one of a module costs, each of its tests costs when it is run alone."""
        if fixturedef.scope == "session":
            self.coverage.switch_context("")
        begun = _cpu()
        try:
            return (yield)
        finally:
            if fixturedef.scope == "module":
                self.shared[request.node.nodeid, fixturedef.argname] = _cpu() - begun
                self.new.add(fixturedef.argname)
            if fixturedef.scope == "session":
                self.coverage.switch_context(os.environ.get("PYTEST_CURRENT_TEST", "").rsplit(" (", 1)[0])

    def pytest_runtest_teardown(self, item: Any) -> None:
        module = item.nodeid.split("::")[0]
        shared = sum(self.shared.get((module, name), 0.0) for name in item.fixturenames if name not in self.new)
        self.survey.seconds[item.nodeid] = round(self.survey.seconds[item.nodeid] + _cpu() + shared, 3)

    def pytest_runtest_logreport(self, report: Any) -> None:
        if report.failed:
            self.survey.failed.append(report.nodeid)
        if report.skipped:
            self.skipped.add(report.nodeid)


class _Picker:
    """A plugin that runs the chosen tests in the order given, and remembers the first that fails."""

    def __init__(self, chosen: Sequence[str]) -> None:
        self.order = {name: place for place, name in enumerate(chosen)}
        self.failed = ""

    def pytest_collection_modifyitems(self, items: list[Any]) -> None:
        items[:] = sorted(
            (item for item in items if item.nodeid in self.order), key=lambda item: self.order[item.nodeid]
        )

    def pytest_runtest_logreport(self, report: Any) -> None:
        if report.failed and not self.failed:
            self.failed = report.nodeid

    def pytest_collectreport(self, report: Any) -> None:
        if report.failed and not self.failed:
            self.failed = f"collecting {report.nodeid}"


def _tests_run(copy: Path, words: list[str], plugins: list[object], quick: bool) -> int:
    """Run pytest on the tree *copy*, in this process, which has imported nothing of it yet."""
    os.chdir(copy)
    sys.dont_write_bytecode = quick
    os.environ.update(XDG_CACHE_HOME=str(copy / ".cache"), PYTHONPATH=str(copy), PYTHONHASHSEED="0")
    if quick:
        os.environ["PYTHONDONTWRITEBYTECODE"] = "1"
    for name in [name for name in sys.modules if name.split(".")[0] in ("tests", "diagnose")]:
        del sys.modules[name]
    sys.path[:] = [str(copy), *(path for path in sys.path if path and Path(path).resolve() != ROOT)]
    from hypothesis import Phase, settings

    phases = (Phase.explicit, Phase.generate)
    settings.register_profile("harsh", phases=phases, database=None, derandomize=True, deadline=None)
    settings.load_profile("harsh")
    common = ["-q", "-p", "no:cacheprovider", "-p", "no:randomly", "--timeout=0", "--tb=no", "-W", "ignore"]
    return int(pytest.main([*common, *words], plugins=plugins))


def _forked(work: Callable[[], dict[str, Any]], cpu: float, log: Path) -> dict[str, Any] | None:
    """What *work* returns in a child of its own group, or None where it died or took more than *cpu* seconds (ten times that by the clock)."""
    reading, writing = os.pipe()
    pid = os.fork()
    if pid == 0:
        try:
            os.setsid()
            out = os.open(log, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
            os.dup2(out, 1)
            os.dup2(out, 2)
            os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
            resource.setrlimit(resource.RLIMIT_CPU, (int(cpu), int(cpu) + 5))
            resource.setrlimit(resource.RLIMIT_AS, (12 << 30, 12 << 30))
            os.write(writing, json.dumps(work()).encode())
            os._exit(0)
        except BaseException as error:
            print(repr(error), file=sys.stderr, flush=True)
            os._exit(1)
    os.close(writing)
    until = time.monotonic() + 10.0 * cpu
    while os.waitpid(pid, os.WNOHANG)[0] == 0:
        if time.monotonic() > until:
            os.killpg(pid, signal.SIGKILL)
            os.waitpid(pid, 0)
            break
        time.sleep(0.05)
    with os.fdopen(reading, "rb") as pipe:
        said = pipe.read()
    return json.loads(said) if said else None


# -- in the parent -----------------------------------------------------------------------------------------------------


def _copied(place: Path) -> Path:
    keep_out = shutil.ignore_patterns(".git", ".venv", ".hypothesis", "__pycache__", ".mypy_cache", ".ruff_cache")
    shutil.copytree(ROOT, place, ignore=keep_out, dirs_exist_ok=True)
    return place


def _sources(room: Room, tree: Path) -> dict[str, str]:
    paths = (path for pattern in room.files for path in tree.glob(pattern))
    return {str(path.relative_to(tree)): path.read_text("utf-8") for path in sorted(paths)}


def _test_files(room: Room, tree: Path) -> dict[str, str]:
    """The room's test files with their digests."""
    named = (path for name in room.tests for path in tree.glob(name))
    paths = {found for path in named for found in (path.rglob("test_*.py") if path.is_dir() else (path,))}
    return {str(path.relative_to(tree)): hashlib.sha256(path.read_bytes()).hexdigest() for path in sorted(paths)}


def _surveyed(room: Room, copy: Path, files: Sequence[str]) -> Survey:
    words = [*files, *(["-k", room.words] if room.words else [])]

    def work() -> dict[str, Any]:
        import coverage

        watched = coverage.Coverage(data_file=None, include=[str(copy / name) for name in room.files])
        plugin = _Surveyor(watched)
        watched.start()
        _tests_run(copy, words, [plugin], quick=False)
        watched.stop()
        data = watched.get_data()
        found = plugin.survey
        found.seconds = {name: spent for name, spent in found.seconds.items() if name not in plugin.skipped}
        for name in data.measured_files():
            lines = {str(line): sorted(tests) for line, tests in data.contexts_by_lineno(name).items()}
            found.reached[str(Path(name).relative_to(copy))] = lines
        found.modules = sorted(sys.modules)
        (copy / ".survey.json").write_text(json.dumps(asdict(found)), encoding="utf-8")
        return {}

    if _forked(work, 3600.0, copy / ".survey.log") is None:
        raise SystemExit(f"the clean run died; see {copy / '.survey.log'}")
    return Survey(**json.loads((copy / ".survey.json").read_text("utf-8")))


def _preload(names: Sequence[str]) -> None:
    """Import what the tests need from elsewhere once, before the children are forked."""
    for name in names:
        if (
            name.split(".")[0] not in ("diagnose", "tests", "conftest", "_pytest", "pytest")
            and "playwright" not in name
        ):
            try:
                __import__(name)
            except BaseException:  # what can't be imported here is imported in the child
                continue


def _met(mutant: Mutant, survey: Survey, copy: Path, longest: float | None) -> Fate:
    chosen = survey.tests(mutant, longest)
    path = copy / mutant.file
    clean = path.read_text("utf-8")
    picker = _Picker(chosen)

    def work() -> dict[str, Any]:
        files = sorted({name.split("::")[0] for name in chosen}, key=lambda name: (len(name), name))
        status = _tests_run(copy, ["-x", *files], [picker], quick=True)
        return {"killed": picker.failed or ("" if status in (0, 5) else f"status {status}"), "seconds": _cpu()}

    for old in (path.parent / "__pycache__").glob(f"{path.stem}.*.pyc"):
        old.unlink()
    path.write_text(mutant.text, encoding="utf-8")
    limit = _TIMES * sum(survey.seconds[name] for name in chosen) + _MORE
    try:
        said = _forked(work, limit, copy / ".last.log")
    finally:
        path.write_text(clean, encoding="utf-8")
    return Fate(mutant, "time", limit) if said is None else Fate(mutant, said["killed"], said["seconds"])


def _explained() -> dict[tuple[str, str, str], str]:
    path = Path(__file__).with_name("survivors.yaml")
    known = yaml.safe_load(path.read_text("utf-8")) if path.exists() else []
    return {(each["file"], each["was"], each["becomes"]): each["why"] for each in known or []}


def _fates(mutants: list[Mutant], survey: Survey, copies: list[Path], longest: float | None) -> Iterator[Fate]:
    free = list(copies)

    def run(mutant: Mutant) -> Fate:
        copy = free.pop()
        try:
            return _met(mutant, survey, copy, longest)
        finally:
            free.append(copy)

    with ThreadPoolExecutor(len(copies)) as pool:
        yield from pool.map(run, mutants)


def _words(arguments: Sequence[str] | None) -> argparse.Namespace:
    reader = argparse.ArgumentParser(prog="python -m tests.harsh.mutants", description=__doc__)
    reader.add_argument("rooms", nargs="+", choices=[*ROOMS, "all"], metavar="ROOM", help=f"{', '.join(ROOMS)} or all")
    reader.add_argument("--sample", type=int, default=60, help="how many mutants, 0 for all (60)")
    reader.add_argument("--seed", type=int, default=1)
    reader.add_argument("--workers", type=int, default=2)
    reader.add_argument("--longest", type=float, default=3.0, help="CPU seconds of the longest test that is run (3)")
    reader.add_argument("--all", action="store_true", help="run every test of the room, however long, on each mutant")
    reader.add_argument("--leave-out", default="", help="tests with one of these words are not even run clean: a or b")
    reader.add_argument("--only", default="", help="only the mutants of the sample with this in their name: file:line")
    reader.add_argument("--list", action="store_true", help="show the sample, run nothing")
    reader.add_argument(
        "--survey", type=Path, help="a folder to keep the clean runs in; test files that changed are run anew"
    )
    return reader.parse_args(arguments)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the sample of each room, print each mutant's fate and a table; 1 where a survivor is unexplained."""
    said = _words(arguments)
    os.environ.update(OPENBLAS_NUM_THREADS="1", OMP_NUM_THREADS="1")
    counts = {name: _run_room(name, said) for name in (ROOMS if "all" in said.rooms else said.rooms)}
    if not said.list:
        print("\n| room | mutants | killed | explained | survived |", "|---|---|---|---|---|", sep="\n")
        for name, (killed, explained, survived) in counts.items():
            print(f"| {name} | {killed + explained + survived} | {killed} | {explained} | {survived} |")
    return 1 if any(survived for _, _, survived in counts.values()) else 0


def _run_room(name: str, said: argparse.Namespace) -> tuple[int, int, int]:
    """How many of the room's sample were killed, explained, and neither."""
    room = ROOMS[name]
    if said.leave_out:
        words = " and ".join(filter(None, [room.words, f"not ({said.leave_out})"]))
        room = replace(room, words=words)
    files = [path for pattern in room.files for path in ROOT.glob(pattern)]
    mutants = [m for m in sampled(ROOT, files, said.sample, said.seed) if said.only in m.name]
    if said.list:
        print(*(mutant.name for mutant in mutants), sep="\n")
        return 0, 0, 0
    with tempfile.TemporaryDirectory(prefix="mutants-", dir="/dev/shm" if Path("/dev/shm").is_dir() else None) as place:
        copies = [_copied(Path(place) / str(i)) for i in range(said.workers)]
        survey = _kept_survey(room, copies[0], said.survey and said.survey / f"{name}.json")
        for copy in copies[1:]:
            shutil.rmtree(copy)
            shutil.copytree(copies[0], copy)
        _preload(survey.modules)
        return _told(_fates(mutants, survey, copies, None if said.all else said.longest))


def _kept_survey(room: Room, copy: Path, kept: Path | None) -> Survey:
    """The clean run, or the one *kept* with the test files run anew that have changed since."""
    survey, files, sources = Survey(), _test_files(room, copy), _sources(room, copy)
    if kept is not None and kept.exists():
        survey = Survey(**json.loads(kept.read_text("utf-8")))
    changed = [name for name, digest in files.items() if survey.digests.get(name) != digest]
    survey.without({*changed, *(survey.digests.keys() - files.keys())})
    survey.moved_to(sources)
    if changed:
        survey.with_more(_surveyed(room, copy, changed))
        survey.digests = files
    if kept is not None:
        kept.write_text(json.dumps(asdict(survey)), encoding="utf-8")
    for name in dict.fromkeys(survey.failed):
        print(f"left out, for it fails on the tree as it is (or by the clock): {name}", flush=True)
        survey.seconds.pop(name, None)
    if len(survey.failed) > _FEW_FAIL * len(survey.seconds):
        raise SystemExit("too many tests fail on the tree as it is for anything to be told")
    return survey


def _told(fates: Iterator[Fate]) -> tuple[int, int, int]:
    known = _explained()
    counts = {"killed": 0, "explained": 0, "SURVIVED": 0}
    for fate in fates:
        mutant = fate.mutant
        why = known.get((mutant.file, mutant.was, mutant.becomes), "")
        kind = "killed" if fate.killed else "explained" if why else "SURVIVED"
        counts[kind] += 1
        print(f"{kind} ({fate.killed or why or '-'}), {fate.seconds:.1f} s: {mutant.name}", flush=True)
    return counts["killed"], counts["explained"], counts["SURVIVED"]


if __name__ == "__main__":
    sys.exit(main())
