"""How every number grows: start-up, the step of the interview, pages, and the log from a hundred cases to a million.

Commands are run as a caster runs them, each a process of its own, by the processor time that it took; the least of several runs counts.
"""

from __future__ import annotations

import itertools
import json
import os
import subprocess
import sys
import tempfile
import time
from argparse import Namespace
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass
from math import log
from pathlib import Path
from statistics import median
from typing import Any

from diagnose.logbook import replay
from diagnose.logbook.places import where_of
from diagnose.logbook.store import open_log
from diagnose.reasoning.plan import Costs, Planner
from diagnose.reasoning.situation import Situation
from diagnose.reasoning.value_of_information import rank_questions
from tests.bench import nets, page
from tests.bench.side_by_side import slope

ROOT = Path(__file__).parents[2]
PICTURE = ROOT / "docs" / "speed.svg"
SIZES = (100, 1_000, 10_000, 100_000, 1_000_000)
PRESENTS = tuple(range(2, 21, 2))
PAGES = (2, 4, 6, 8, 10)
REPLAYED = (200, 1_000, 10_000)
#: seconds after which nothing is repeated
LONG = 1.0
EXAMPLE = ROOT / "docs" / "examples" / "goose-mask.yaml"


@dataclass(frozen=True)
class Took:
    """What a command took: processor seconds (user and system) and the most memory, MiB."""

    seconds: float
    memory: float


def command(words: Sequence[str], folder: Path, log_file: str, often: int = 3) -> Took:
    """Run the program *often* times with the log at *log_file*; the least of each. Raises RuntimeError where it fails."""
    env = {key: value for key, value in os.environ.items() if not key.startswith(("DIAGNOSE_", "XDG_"))}
    env.update({"DIAGNOSE_LOG": log_file, "HOME": str(folder), "COLUMNS": "80", "PYTHONPATH": str(ROOT)})
    found: list[Took] = []
    while len(found) < often and sum(t.seconds for t in found) < LONG * often:
        found.append(_once([sys.executable, "-c", _PROGRAM, *words], folder, env))
    return Took(min(t.seconds for t in found), min(t.memory for t in found))


#: runs the program and leaves the most memory that it held (KiB) in a file: what is told of a child counts what its parent held
_PROGRAM = """
import atexit, pathlib, sys
def told():
    status = pathlib.Path("/proc/self/status").read_text()
    pathlib.Path("memory").write_text(next(l for l in status.splitlines() if l.startswith("VmHWM")).split()[1])
atexit.register(told)
from diagnose.commands.main import main
sys.argv[0] = "diagnose"
sys.exit(main())
"""


def _once(words: list[str], folder: Path, env: dict[str, str]) -> Took:
    with (folder / "printed").open("w") as out:
        child = subprocess.Popen(words, cwd=folder, env=env, stdin=subprocess.DEVNULL, stdout=out, stderr=out)
        _, status, used = os.wait4(child.pid, 0)
        child.returncode = os.waitstatus_to_exitcode(status)
    if child.returncode:
        raise RuntimeError(f"{' '.join(words[2:])}: {(folder / 'printed').read_text()[-300:]}")
    return Took(used.ru_utime + used.ru_stime, int((folder / "memory").read_text()) / 1024)


# -- start-up ------------------------------------------------------------------------------------------------------


def start_up(folder: Path, often: int) -> Iterator[str]:
    """Yield the table of commands, with an empty log and with one of a hundred cases."""
    full = filled(folder, SIZES[0])
    yield "| command | ms | MiB | with a log of 100 cases, ms |"
    yield "| --- | --- | --- | --- |"
    for words in (
        ["--version"],
        ["--help"],
        ["sum", "split", "500", "1:2"],
        ["read", str(EXAMPLE), "--short"],
        ["read", str(EXAMPLE), "--json"],
        ["ask", str(EXAMPLE)],
        ["log"],
        ["client", "list"],
    ):
        bare = command(words, folder, str(folder / "empty.db"), often)
        with_log = command(words, folder, full, often)
        said = " ".join(word if word != str(EXAMPLE) else "CASE" for word in words)
        yield f"| `{said}` | {bare.seconds * 1e3:.0f} | {bare.memory:.0f} | {with_log.seconds * 1e3:.0f} |"


# -- the step of the interview -------------------------------------------------------------------------------------


def step(present: int, seed: int, often: int) -> tuple[float, float]:
    """Processor seconds from answers to beliefs, and from answers to the next question; the least of *often*."""
    drawn = nets.our_situation(*nets.told(nets.book(nets.OURS), present, seed))
    costs = Costs.from_words(drawn.model.knowledge.words["costs"])

    def think() -> Situation:
        situation = Situation(drawn.model, drawn.answers)
        _ = situation.beliefs
        return situation

    def ask() -> None:
        situation = think()
        rank_questions(situation, Planner(situation, costs, ("next_pour", "between_pours")))

    return _least(think, often), _least(ask, often)


def _least(work: Callable[[], object], often: int) -> float:
    """The least processor time of *often* runs, or of fewer where they are long."""
    found: list[float] = []
    while len(found) < often and (not found or sum(found) < LONG):
        began = time.thread_time()
        work()
        found.append(time.thread_time() - began)
    return min(found)


def steps(presents: Sequence[int], seeds: int, often: int) -> dict[int, tuple[float, float]]:
    """Return the medians by findings present."""
    found = {}
    for present in presents:
        pairs = [step(present, seed, often) for seed in range(seeds)]
        found[present] = median(p[0] for p in pairs), median(p[1] for p in pairs)
    return found


# -- pages ---------------------------------------------------------------------------------------------------------


def case_text(present: int, seed: int = 0) -> str:
    """A case file with *present* symptoms seen, and ten more absent."""
    seen, absent = nets.told(nets.book(nets.OURS), present, seed)
    answers = {"build": "bare_foam", "painted": "no", "symptoms": seen, "symptoms_absent": absent}
    return json.dumps({"case": 1, "title": f"{present} seen", "answers": answers}) + "\n"


def pages(folder: Path, presents: Sequence[int], often: int) -> Iterator[str]:
    """Yield the table of the report and of the client's page by symptoms seen."""
    yield "| symptoms seen | report, KiB | written in ms | client's page of the case, KiB | written in ms |"
    yield "| --- | --- | --- | --- | --- |"
    empty = str(folder / "empty.db")
    for present in presents:
        case = folder / f"case-{present}.yaml"
        case.write_text(case_text(present), encoding="utf-8")
        report = command(["read", case.name, "--html", "report.html"], folder, empty, often)
        size = (folder / "report.html").stat().st_size
        words = ["client", "page", "--client", "harbor", "--case", case.name, "-o", "client.html"]
        sent = command(words, folder, empty, often)
        client = (folder / "client.html").stat().st_size
        yield (
            f"| {present} | {size / 1024:.0f} | {report.seconds * 1e3:.0f} | {client / 1024:.0f} | {sent.seconds * 1e3:.0f} |"
        )


# -- the log -------------------------------------------------------------------------------------------------------


def filled(folder: Path, count: int) -> str:
    """Return a log of *count* made-up cases in *folder*, filled now if it is not there."""
    from tests.logbook.generate import fill

    path = folder / f"{count}.db"
    if not path.exists():
        fill(str(path), count)
    return str(path)


@dataclass(frozen=True)
class LogTook:
    """A log of *count* cases: MiB on disk, and what listing it, Monday's page and adding a part took."""

    count: int
    size: float
    ways: dict[str, Took]


def log_sizes(logs: Path, folder: Path, sizes: Sequence[int], often: int) -> list[LogTook]:
    """Measure the log at each of *sizes*; one part is added for each run of `add`."""
    case = folder / "one.yaml"
    case.write_text(case_text(2), encoding="utf-8")
    found = []
    for count in sizes:
        where = filled(logs, count)
        size = Path(where).stat().st_size / 2**20
        ways = {"list": ["log", "list"], "page": ["log", "page"], "add": ["log", "add", case.name]}
        ways["read by it"] = ["read", case.name, "--short"]
        found.append(LogTook(count, size, {n: command(w, folder, where, often) for n, w in ways.items()}))
        print(f"  log of {count:,}", *(f"{n} {t.seconds:.2f} s" for n, t in found[-1].ways.items()), flush=True)
    return found


def log_table(found: Sequence[LogTook]) -> Iterator[str]:
    """Yield the table of the log, and how each way grows from one size to the next."""
    names = list(found[0].ways)
    yield "| cases | on disk, MiB | " + " | ".join(f"{name}, ms | MiB" for name in names) + " |"
    yield "| --- " * (2 + 2 * len(names)) + "|"
    for one in found:
        cells = [f"{took.seconds * 1e3:,.0f} | {took.memory:.0f}" for took in one.ways.values()]
        yield f"| {one.count:,} | {one.size:,.1f} | " + " | ".join(cells) + " |"
    yield "\nThe exponent from one size to the next (0: no growth, 1: in proportion):\n"
    yield "| from, to | " + " | ".join(names) + " |"
    yield "| --- " * (1 + len(names)) + "|"
    for small, large in itertools.pairwise(found):
        cells = [
            f"{log(large.ways[n].seconds / small.ways[n].seconds) / log(large.count / small.count):.2f}" for n in names
        ]
        yield f"| {small.count:,} to {large.count:,} | " + " | ".join(cells) + " |"


class _Clocked(Executor):
    """An executor that works at once, here, and keeps how long the work took and how many cases it was."""

    def __init__(self) -> None:
        self.seconds, self.cases = 0.0, 0

    def map(self, fn: Callable[..., Any], *iterables: Iterable[Any], **options: Any) -> Iterator[Any]:
        for task in iterables[0]:
            began = time.thread_time()
            made = fn(task)
            self.seconds += time.thread_time() - began
            self.cases += len(task[2])
            yield made


def replayed(logs: Path, sizes: Sequence[int]) -> Iterator[str]:
    """Yield the table of the replay: cases judged, and how many a second on one core."""
    yield "| cases in the log | judged | judging, cases a second a core | all of `log learn`, s |"
    yield "| --- | --- | --- | --- |"
    for count in sizes:
        store, clock = open_log(where_of(filled(logs, count)), write=False), _Clocked()
        began = time.thread_time()
        replay.judge(store, nets.models().knowledge, None, clock)
        whole = time.thread_time() - began
        store.close()
        rate = clock.cases / clock.seconds if clock.seconds else 0.0
        yield f"| {count:,} | {clock.cases:,} | {rate:,.0f} | {whole:.1f} |"


# -- all of it -----------------------------------------------------------------------------------------------------


def run(options: Namespace) -> int:
    """Measure all, print it, and write page and picture if asked to."""
    quick = options.quick
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made)
        logs = options.logs or folder
        logs.mkdir(exist_ok=True)
        often = 1 if quick else 4
        asked = steps(PRESENTS[:1] if quick else PRESENTS, 1 if quick else 3, often)
        kept = log_sizes(logs, folder, SIZES[:1] if quick else SIZES, often)
        text = "\n".join(_page(folder, logs, asked, kept, often, quick))
    print(text)
    if options.write:
        page.put("growth", text)
        picture(asked, kept, PICTURE)
    return 0


def _page(
    folder: Path, logs: Path, asked: dict[int, tuple[float, float]], kept: list[LogTook], often: int, quick: bool
) -> Iterator[str]:
    yield f"Processor time, the least of {often} runs each; load {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores at the end.\n"
    yield "### Start-up\n"
    yield from start_up(folder, often)
    yield "\n### The step of the interview\n"
    yield "From answers to beliefs, and on to the next question, our book, medians of three cases, by symptoms seen.\n"
    yield "| symptoms seen | " + " | ".join(map(str, asked)) + " |"
    yield "| --- " * (len(asked) + 1) + "|"
    for i, name in enumerate(("beliefs", "next question")):
        yield f"| {name}, ms | " + " | ".join(f"{took[i] * 1e3:.3g}" for took in asked.values()) + " |"
    yield ""
    for i, name in enumerate(("beliefs", "next question")) if len(asked) > 1 else ():
        for low, high in ((2, 8), (8, 14), (14, 20)):
            points = [(p, took[i]) for p, took in asked.items() if low <= p <= high]
            yield f"- {name}, {low} to {high} seen: {2.718281828 ** slope(points):.2f} times with each"
    yield "\n### Pages\n"
    yield from pages(folder, PAGES[:1] if quick else PAGES, 1 if quick else 3)
    yield "\n### The log\n"
    yield from log_table(kept)
    yield "\n### The replay of a log\n"
    yield from replayed(logs, (SIZES[0],) if quick else REPLAYED)


def picture(asked: dict[int, tuple[float, float]], kept: Sequence[LogTook], path: Path) -> None:
    """Draw the log by its cases and the step by symptoms seen, as SVG at *path*."""
    import matplotlib
    from matplotlib.figure import Figure

    looks = (("#111", "o", "-"), ("#0b57a4", "s", "--"), ("#8a1c14", "^", "-."), ("#1a6b3c", "D", ":"))
    with matplotlib.rc_context({"svg.hashsalt": "speed", "svg.fonttype": "path", "font.size": 9}):
        figure = Figure(figsize=(7.2, 3.2), layout="constrained")
        left, right = figure.subplots(1, 2)
        for name, (color, mark, dash) in zip(kept[0].ways, looks, strict=False):
            seconds = [one.ways[name].seconds * 1e3 for one in kept]
            left.loglog([k.count for k in kept], seconds, color=color, marker=mark, linestyle=dash, label=name)
        left.set(xlabel="cases in the log", ylabel="processor time, ms")
        for i, (name, (color, mark, dash)) in enumerate(zip(("beliefs", "next question"), looks, strict=False)):
            seconds = [took[i] * 1e3 for took in asked.values()]
            right.semilogy(list(asked), seconds, color=color, marker=mark, linestyle=dash, label=name)
        right.set(xlabel="symptoms seen", ylabel="processor time, ms")
        for axes in (left, right):
            axes.grid(color="#ddd", linewidth=0.5)
            axes.legend(frameon=False)
        figure.savefig(path, format="svg", metadata={"Date": None, "Creator": None})
