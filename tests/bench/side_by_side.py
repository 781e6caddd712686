"""The side-by-side page: what was run, the tables, how fast each grows, and the goals. Printed, and with `--write` put into the docs."""

from __future__ import annotations

import math
import os
import platform
import sys
from argparse import Namespace
from collections.abc import Iterator, Sequence
from importlib.metadata import PackageNotFoundError, version

import numpy as np

from tests.bench import nets, page, tables
from tests.bench.peers import PEERS, missing
from tests.bench.runs import (
    CHOSEN_AT,
    NETS,
    PGMPY_ANSWERS,
    PRESENTS,
    STEPS,
    Bench,
    chosen,
    first_of_each,
    libraries,
    medians,
)

#: a tiny size that runs in seconds
QUICK_NETS, QUICK_PRESENTS = ("4 x 8",), (2, 3)
#: the nets of one make by which growth with size is told, and at how many findings present
SIZES, SIZE_AT = ("60 x 200, 15 links", "60 x 200", "600 x 4,000"), 6


def run(options: Namespace) -> int:
    """Measure all, print it, and write the page if asked to; 1 where an error is too great."""
    for line in missing(PEERS.values()):
        print(line, file=sys.stderr)
    if options.quick:
        options.cases, options.limit = min(options.cases, 2), min(options.limit, 10.0)
    bench = Bench(options)
    names, presents = (QUICK_NETS, QUICK_PRESENTS) if options.quick else (NETS, PRESENTS)
    if options.nets:
        names = tuple(name.strip() for name in options.nets.split(";"))
    best = first_of_each() if options.quick else chosen(bench)
    text = "\n".join(_page(bench, best, names, presents, () if options.quick else STEPS))
    print(text)
    if options.write:
        page.put("side by side", text)
    return 0 if tables.worst_error(bench, presents, names) < 1e-12 else 1


def _page(
    bench: Bench,
    best: dict[str, str],
    names: Sequence[str],
    presents: Sequence[int],
    steps: Sequence[tuple[str, int]],
) -> Iterator[str]:
    worked = () if len(names) == 1 else (nets.WORKED,)
    found = {net: list(tables.net_table(bench, net, best, presents)) for net in names}
    found.update({net: list(tables.net_table(bench, net, best, (0,))) for net in worked})
    stepped = list(tables.step_table(bench, best, steps)) if steps else []
    yield from tables.goals(bench, best, presents, names)
    yield ""
    yield from _what_was_run(bench, best)
    for net in (*worked, *names):
        yield f"\n### {net[0].upper()}{net[1:]}\n"
        if net != nets.WORKED:
            book = nets.book(net)
            yield f"{len(book.causes)} causes, {len(book.leaks)} findings, {book.links_a_cause:.0f} links a cause on average. Milliseconds, medians.\n"
        yield from found[net]
    yield from _steps(stepped)
    yield "\n### Memory\n"
    yield "The most that was held on top of what was held before, held and part, MiB.\n"
    yield from tables.memory_table(bench, best, presents, names)
    yield "\n### How fast each grows\n"
    yield from _growth(bench, best, names, presents)


def _steps(stepped: Sequence[str]) -> Iterator[str]:
    if not stepped:
        return
    yield "\n### The step to the next question\n"
    yield (
        "What every answer to the most promising questions (14 at most) would do to all beliefs, in milliseconds: at once by ours, and by running a "
        f"network again for each answer. pgmpy is run on {PGMPY_ANSWERS} or more of the answers, spread evenly, and scaled up.\n"
    )
    yield from stepped


def _what_was_run(bench: Bench, best: dict[str, str]) -> Iterator[str]:
    versions = ", ".join(f"{name} {_version(name)}" for name in ("numpy", "pyagrum", "pgmpy"))
    yield (
        f"Measured on {platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}, {versions}; load while it ran "
        f"{min(bench.load):.1f} to {max(bench.load):.1f}. Time of the processor for one thread, the least of several runs of a case, the median of "
        f"{len(bench.seeds)} cases. Each measurement has a process of its own with {bench.limit:g} s of the processor and {bench.memory} MiB; what went beyond "
        "says so, and then more findings present were not tried.\n"
    )
    yield f"Configurations tried, on our book with {CHOSEN_AT} findings present, held and part, with making ready:\n"
    for library in best:
        for peer in libraries()[library]:
            found = bench.kept("answer", nets.OURS, (CHOSEN_AT,), peer.name)
            took = tables.milliseconds(
                medians(found, CHOSEN_AT, "whole"), found.failures.get(CHOSEN_AT, "not measured")
            )
            mark = ", **taken for the rest**" if peer.name in best.values() else ""
            yield f"- {peer.name}: {peer.how}: {took}{mark}"


def _version(name: str) -> str:
    try:
        return version(name)
    except PackageNotFoundError:
        return "not installed"


def _growth(bench: Bench, best: dict[str, str], names: Sequence[str], presents: Sequence[int]) -> Iterator[str]:
    """Yield how often the time doubles with a finding more, and the exponent by size."""
    peers = {"ours": "ours", **best}
    yield "| net: time of inference (held and part) grows with each finding present by | " + " | ".join(peers) + " |"
    yield "| --- " * (len(peers) + 1) + "|"
    for net in names:
        cells = []
        for peer in peers.values():
            found = bench.cell("answer", net, presents, peer)
            points = [(p, t) for p in presents if (t := medians(found, p, "alone")) is not None]
            cells.append(f"{math.exp(slope(points)):.2f} × (to {points[-1][0]})" if len(points) > 1 else "-")
        yield f"| {net} | " + " | ".join(cells) + " |"
    sized = [net for net in SIZES if net in names]
    if len(sized) < 2:
        return
    yield ""
    for name, peer in peers.items():
        points = []
        for net in sized:
            took = medians(bench.cell("answer", net, presents, peer), SIZE_AT, "whole")
            book = nets.book(net)
            if took is not None:
                points.append((math.log(len(book.causes) * book.links_a_cause), took))
        if len(points) > 1:
            yield f"- {name}, with making ready: time goes as the number of links to the power {slope(points):.2f}, with {SIZE_AT} present ({len(points)} nets)"


def slope(points: Sequence[tuple[float, float]]) -> float:
    """The slope of the logarithm of the second by the first, by least squares."""
    x, y = np.array([p[0] for p in points]), np.log(np.array([p[1] for p in points]))
    x, y = x - x.mean(), y - y.mean()
    return float((x * y).sum() / (x * x).sum())
