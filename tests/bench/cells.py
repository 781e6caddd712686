"""One measurement in a process of its own, with limits on processor time and memory: what it tells is a line of JSON for each network.

The child holds itself to the limits; what it had measured before it was stopped counts. Time is that of the one thread (a limit on a process
makes the clock of the process coarse), and so everybody is held to one thread.
"""

from __future__ import annotations

import json
import os
import resource
import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

from diagnose.errors import InputError
from diagnose.reasoning.network import Network
from tests.bench import nets, questions
from tests.bench.peers import PEERS, Peer
from tests.bench.reference import reference

ROOT = Path(__file__).parents[2]
#: a measurement is repeated until so many seconds are spent or so often; the least counts
SPENT, OFTEN = 0.25, 60
#: waiting on a busy machine: processor seconds of the limit, times this
PATIENCE = 12
#: words by which a library says that memory ran out
_FULL = ("bad_alloc", "Unable to allocate", "out of memory", "Out of memory")


@dataclass(frozen=True)
class Cell:
    """*kind*: `answer` (of one network), `again` (after each answer to the next questions), `predict` (all these answers at once, ours alone),
    `reference`. *presents*: findings present, fewest first; where one can't be done those after it are not tried. *seeds*: the cases drawn.
    *most*: of the networks of `again` so many are run, spread evenly (0: all). *limit*: processor seconds for each of *presents*;
    *memory*: MiB."""

    kind: str
    net: str
    presents: tuple[int, ...]
    peer: str
    parts: bool
    seeds: tuple[int, ...]
    limit: float
    memory: int
    most: int = 0

    @property
    def key(self) -> str:
        """What tells one cell from another."""
        return json.dumps(asdict(self))


@dataclass
class Found:
    """What a cell came to, by findings present: a record for each network measured, or why there is none."""

    records: dict[int, list[dict[str, Any]]] = field(default_factory=dict)
    failures: dict[int, str] = field(default_factory=dict)


def run(cell: Cell) -> Found:
    """Measure *cell* in a child process."""
    words = [sys.executable, "-m", "tests.bench", "cell", cell.key]
    env = {**os.environ, **dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"), "1")}
    child = subprocess.Popen(words, cwd=ROOT, env=env, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    late = False
    try:
        out, err = child.communicate(timeout=120 + cell.limit * PATIENCE)
    except subprocess.TimeoutExpired:
        child.kill()
        out, err = child.communicate()
        late = True
    found = Found()
    for record in (json.loads(line) for line in out.splitlines() if line.endswith("}")):
        if "failure" in record:
            found.failures[record["present"]] = record["failure"]
        else:
            found.records.setdefault(record["present"], []).append(record)
    left = [present for present in cell.presents if present not in found.records and present not in found.failures]
    stopped = bool(found.failures) and child.returncode == 0  # memory ran out at fewer
    for present in left[:0] if stopped else left[:1]:
        found.failures[present] = _failure(child.returncode, late, err, cell)
    for present in left:
        found.failures.setdefault(present, "not tried")
    return found


def _failure(status: int, late: bool, err: str, cell: Cell) -> str:
    if late or status in (-9, -24):  # SIGKILL, SIGXCPU
        return f"over {cell.limit:g} s"
    last = err.strip().splitlines()[-1] if err.strip() else f"ended with status {status}"
    return last[:160]


def main(text: str) -> None:
    """Be the child: measure the cell that *text* says, a line of JSON for each network."""
    plain = json.loads(text)
    cell = Cell(**{**plain, "seeds": tuple(plain["seeds"]), "presents": tuple(plain["presents"])})
    resource.setrlimit(resource.RLIMIT_AS, (cell.memory << 20, cell.memory << 20))
    _warm(cell)
    for present in cell.presents:
        try:
            for record in _measured(cell, present):
                print(json.dumps({"present": present, **record}), flush=True)
        except InputError as refused:
            print(json.dumps({"present": present, "failure": f"refused: {refused}"}), flush=True)
        except Exception as error:  # a library tells in ways of its own that memory ran out
            if not isinstance(error, MemoryError) and not any(word in str(error) for word in _FULL):
                raise
            print(json.dumps({"present": present, "failure": f"over {cell.memory} MiB"}), flush=True)
            break


def _warm(cell: Cell) -> None:
    """What a library loads late it loads now."""
    if cell.kind in ("answer", "again"):
        PEERS[cell.peer].prepare(nets.drawn("4 x 8", 2, 0), cell.parts)()


def _measured(cell: Cell, present: int) -> Iterator[dict[str, Any]]:
    if cell.kind in ("reference", "answer"):
        networks = [_network(cell, present, seed) for seed in cell.seeds]
        _limit_time(cell.limit)
        for network in networks:
            if cell.kind == "answer":
                yield _timed(PEERS[cell.peer], network, cell.parts, OFTEN)
            else:
                took, (held, part) = _clocked(lambda network=network: reference(network))
                yield {"alone": took, "held": list(held.values()), "part": list(part.values())}
        return
    steps = [questions.step(cell.net, present, seed) for seed in cell.seeds]
    _limit_time(cell.limit)
    for step in steps:
        yield _predicted(step) if cell.kind == "predict" else _again(step, cell)


def _predicted(step: questions.Step) -> dict[str, Any]:
    took, count = min(_clocked(step.predict) for _ in range(OFTEN))
    return {"alone": took, "whole": took, "answers": count}


def _again(step: questions.Step, cell: Cell) -> dict[str, Any]:
    """Each answer's network by itself, or some of them, spread evenly and scaled up."""
    some = step.answers[:: max(1, len(step.answers) // cell.most)] if cell.most else step.answers
    told = [_timed(PEERS[cell.peer], network, cell.parts, 1) for network in some]
    scale = len(step.answers) / len(some)
    alone, whole = (scale * sum(one[kind] for one in told) for kind in ("alone", "whole"))
    return {"alone": alone, "whole": whole, "answers": len(step.answers), "run": len(some)}


def _network(cell: Cell, present: int, seed: int) -> Network:
    if cell.net == nets.WORKED:
        return list(nets.worked().values())[seed].network
    return nets.drawn(cell.net, present, seed)


def _timed(peer: Peer, network: Network, parts: bool, often: int) -> dict[str, Any]:
    """Seconds of the processor for making ready and answering, and for answering alone; the least of several, MiB on top, and the answers."""
    before = _memory(reset=True)
    alone = whole = float("inf")
    spent, runs = 0.0, 0
    while runs < often and (runs == 0 or spent < SPENT):
        ready, infer = _clocked(lambda: peer.prepare(network, parts))
        took, (held, part) = _clocked(infer)
        alone, whole = min(alone, took), min(whole, ready + took)
        spent, runs = spent + ready + took, runs + 1
    return {
        "alone": alone,
        "whole": whole,
        "memory": max(0.0, _memory() - before),
        "held": [held[name] for name in network.causes],
        "part": [part.get(name, 0.0) for name in network.causes],
    }


def _clocked(work: Any) -> tuple[float, Any]:
    began = time.thread_time()
    made = work()
    return time.thread_time() - began, made


def _memory(reset: bool = False) -> float:
    """The most memory that this process has held, MiB; *reset*: what it holds now, and the count begins anew (Linux)."""
    if reset:
        Path("/proc/self/clear_refs").write_text("5")
    status = Path("/proc/self/status").read_text()
    line = next(line for line in status.splitlines() if line.startswith("VmHWM"))
    return int(line.split()[1]) / 1024


def _limit_time(seconds: float) -> None:
    used = resource.getrusage(resource.RUSAGE_SELF)
    whole = int(used.ru_utime + used.ru_stime + seconds) + 1
    resource.setrlimit(resource.RLIMIT_CPU, (whole, resource.RLIM_INFINITY))
