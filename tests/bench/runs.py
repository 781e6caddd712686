"""Every measurement of ours beside the libraries, made once and kept."""

from __future__ import annotations

import json
import os
from argparse import Namespace
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from statistics import median

from tests.bench import nets
from tests.bench.cells import Cell, Found
from tests.bench.cells import run as measure
from tests.bench.peers import PEERS, Peer

PRESENTS = (3, 6, 10, 15, 20)
NETS = (nets.OURS, "20 x 40", "60 x 200, 15 links", "60 x 200", "600 x 4,000")
LIBRARIES = ("pyAgrum", "pgmpy")
#: the configuration of each library that was the fastest at three findings on our book goes on to all the rest
CHOSEN_AT = 3
#: nets and findings present at which the step to the next question is measured
STEPS = ((nets.WORKED, 0), (nets.OURS, 6), ("600 x 4,000", 6))
#: of the worked cases each third is measured
WORKED_EACH = 3
#: of the answers to the next questions pgmpy is run on so many, and the time scaled up
PGMPY_ANSWERS = 3


class Bench:
    """All cells measured, by what they are; *keep* is a file in which they are kept for the next time."""

    def __init__(self, options: Namespace) -> None:
        self.limit, self.memory = options.limit, options.memory
        self.seeds = tuple(range(options.cases))
        self.keep: Path | None = options.keep
        self.only_kept = options.only_kept
        self.done: dict[str, Found] = {}
        self.load: list[float] = []
        if self.keep is not None and self.keep.exists():
            for line in self.keep.read_text(encoding="utf-8").splitlines():
                self._take(json.loads(line))

    def _take(self, plain: dict) -> None:
        records, failures = plain["found"]["records"], plain["found"]["failures"]
        found = Found({int(k): v for k, v in records.items()}, {int(k): v for k, v in failures.items()})
        self.done[plain["key"]] = found
        self.load.append(plain["load"])

    def kept(self, kind: str, net: str, presents: Sequence[int], peer: str) -> Found:
        """Return what a cell came to, nothing where it was not measured."""
        return self.done.get(self._named(kind, net, presents, peer, True, 0).key, Found())

    def _named(self, kind: str, net: str, presents: Sequence[int], peer: str, parts: bool, most: int) -> Cell:
        seeds, limit = self.seeds, self.limit
        if net == nets.WORKED:
            seeds = tuple(range(0, len(nets.worked()), WORKED_EACH))
        if kind in ("again", "predict"):
            seeds = seeds[:: len(self.seeds)]
        if kind == "reference":  # takes as long as there are subsets: one drawn case, and six times as long
            seeds, limit = seeds if net == nets.WORKED else seeds[:1], 6 * limit
        return Cell(kind, net, tuple(presents), peer, parts, seeds, limit, self.memory, most)

    def cell(self, kind: str, net: str, presents: Sequence[int], peer: str, parts: bool = True, most: int = 0) -> Found:
        """Return what a cell came to, measured now if it was not before."""
        cell = self._named(kind, net, presents, peer, parts, most)
        if cell.key not in self.done and self.only_kept:
            return Found({}, dict.fromkeys(presents, "not measured"))
        if cell.key not in self.done:
            found = measure(cell)
            print(f"  {kind} {net} {peer}{' with parts' if parts else ''}", *found.failures.values(), flush=True)
            plain = {"key": cell.key, "found": asdict(found), "load": os.getloadavg()[0]}
            self._take(json.loads(json.dumps(plain)))
            if self.keep is not None:
                with self.keep.open("a", encoding="utf-8") as file:
                    file.write(json.dumps(plain) + "\n")
        return self.done[cell.key]


def medians(found: Found, present: int, kind: str) -> float | None:
    """The median over the cases of a cell, None where there is none."""
    records = found.records.get(present, [])
    return median(record[kind] for record in records) if records else None


def libraries() -> dict[str, list[Peer]]:
    """The configurations of each library that is installed."""
    return {name: [peer for peer in PEERS.values() if peer.name.startswith(name) and peer.there] for name in LIBRARIES}


def chosen(bench: Bench, net: str = nets.OURS, present: int = CHOSEN_AT) -> dict[str, str]:
    """The fastest configuration of each library, with parts, by making ready and inference together."""
    best = {}
    for library, peers in libraries().items():
        took = [(medians(bench.cell("answer", net, (present,), p.name), present, "whole"), p.name) for p in peers]
        told = [(seconds, name) for seconds, name in took if seconds is not None]
        if told:
            best[library] = min(told)[1]
    return best


def first_of_each() -> dict[str, str]:
    """The first configuration of each library, where nothing is to be chosen."""
    return {library: peers[0].name for library, peers in libraries().items() if peers}
