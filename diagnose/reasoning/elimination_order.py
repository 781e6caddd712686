"""In what order causes are swept so that few findings stand open at once.

A finding opens when the first cause that links to it is met and closes after its last, so the table of the sweep holds
only the findings in between. The order is grown greedily, finding by finding: next comes the finding that can be closed
with the fewest open, by sweeping all causes that still link to it. That is tried from each finding first, and the
cheapest order is taken (ties by position, so that it never depends on the machine). Any order gives the same sums; only
their cost differs: the exact figures are in `docs/reasoning.md`.
"""

from __future__ import annotations

import math
import sys
from collections import Counter
from collections.abc import Mapping, Sequence
from functools import reduce
from itertools import accumulate, cycle, permutations
from operator import or_
from typing import NamedTuple

from msgspec import Struct

#: a try to better an order takes as long as sweeping one row over so many numbers; beyond so many nothing helps, nor
#: after so many tries in vain; a try has gained where less than this share of the cost is left
_PAYS, _HOPELESS, _VAIN, _WORTH = 4_000, 6_000_000, 60, 0.99


class Step(Struct, frozen=True):
    """One step of the sweep. *kind* is `open`, `cause` or `close`.

    `open`: finding *index* becomes the highest bit of the table. `close`: finding *index*, at bit *bits[0]*, is summed
    out. `cause`: cause *index* fires on *findings*, which stand at *bits*. *width* is how many findings are open before
    the step.
    """

    kind: str
    index: int
    findings: tuple[int, ...]
    bits: tuple[int, ...]
    width: int


class EliminationOrder(Struct, frozen=True):
    """The steps, *width* (the most findings open at once), and *cost* (numbers written in one pass for one row)."""

    steps: tuple[Step, ...]
    width: int
    cost: int


def order_of(linked: Mapping[int, Sequence[int]], count: int, most: float = math.inf) -> EliminationOrder:
    """Return the order for causes that link to several of *count* findings each (*linked*: cause -> its findings).

    Where it would cost *most* or more the search is given up: no steps, and the greatest cost there is.
    """
    alike: dict[int, list[int]] = {}
    for cause in sorted(linked):
        alike.setdefault(sum(1 << j for j in linked[cause]), []).append(cause)
    sizes = {mask: len(alike[mask]) for mask in sorted(alike)}
    best = _Plan(most if sizes else 0, (), ())
    for start in range(count):
        best = min(best, _grown(sizes, (1 << start,), best.cost))
    if sizes and not best.masks:
        return EliminationOrder((), 0, sys.maxsize)
    best = _bettered(sizes, best, int(best.cost) // _PAYS if best.cost < _HOPELESS else 0)
    return _walked([(cause, linked[cause]) for mask in best.masks for cause in alike[mask]], count)


class _Plan(NamedTuple):
    """What an order costs, the findings in the order in which they are closed, as bits, and the masks of the causes."""

    cost: float
    closed: tuple[int, ...]
    masks: tuple[int, ...]


def _grown(sizes: Mapping[int, int], closed: Sequence[int], most: float) -> _Plan:
    """The plan that begins with the findings *closed*, as bits; given up, at a cost without end, where it costs *most*.

    *sizes*: findings as bits -> how many causes have just these. A cause waits until one of its findings is closed, for
    by then the table may have become narrower.
    """
    waiting, opened, cost, path, order = list(sizes), 0, 0, list[int](), list[int]()
    given = iter(closed)
    while waiting and cost < most:
        near = next(given, 0) or _next(waiting, opened)
        met = sorted((m for m in waiting if m & near), key=lambda m: ((opened | m).bit_count(), m))
        waiting = [m for m in waiting if not m & near]
        later = list(accumulate(reversed(met), or_, initial=reduce(or_, waiting, 0)))
        for mask, needed in zip(met, later[-2::-1], strict=True):
            opened |= mask
            cost += sizes[mask] << opened.bit_count()
            opened &= needed
        path.append(near)
        order += met
    return _Plan(math.inf if waiting else cost, tuple(path), tuple(order))


def _bettered(sizes: Mapping[int, int], plan: _Plan, tries: int) -> _Plan:
    """*plan* with findings moved forward or back as long as it gets cheaper, in so many *tries*; given up after so many
    in vain that more would hardly help.
    """
    vain = 0
    for i, j in cycle(permutations(range(len(plan.closed)), 2)):
        if tries <= 0 or vain >= _VAIN:
            break
        path = list(plan.closed)
        if max(i, j) < len(path):  # a plan bettered may have fewer to close
            path.insert(j, path.pop(i))
        found = _grown(sizes, path, _WORTH * plan.cost)
        plan, vain = (found, 0) if found.cost < plan.cost else (plan, vain + 1)
        tries -= 1
    return plan


def _next(waiting: Sequence[int], opened: int) -> int:
    """The finding, as a bit, that can be closed with the fewest open; of equals the first."""
    needed = _needed(waiting, opened)
    return min(needed, key=lambda bit: (needed[bit].bit_count(), bit))


def _needed(waiting: Sequence[int], opened: int) -> dict[int, int]:
    """For each finding, as a bit, those that stand open while it is closed."""
    found: dict[int, int] = {}
    for mask in waiting:
        rest = mask
        while rest:
            bit = rest & -rest
            found[bit] = found.get(bit, opened) | mask
            rest ^= bit
    return found


def _walked(causes: Sequence[tuple[int, Sequence[int]]], count: int) -> EliminationOrder:
    """The steps of sweeping *causes* in this order, each with its findings; a finding without any is opened and closed
    first.
    """
    left = Counter(j for _, findings in causes for j in findings)
    walk = _Walk()
    for j in range(count):
        if not left[j]:
            walk.open(j)
            walk.close(j)
    for cause, findings in causes:
        walk.cause(cause, findings)
        left.subtract(findings)
        for j in findings:
            if not left[j]:
                walk.close(j)
    width = max((step.width for step in walk.steps), default=0)
    return EliminationOrder(tuple(walk.steps), width, sum(1 << step.width for step in walk.steps))


class _Walk:
    """The steps so far and the findings that stand open, the lowest bit first."""

    def __init__(self) -> None:
        self.steps: list[Step] = []
        self.opened: list[int] = []

    def open(self, j: int) -> None:
        self.steps.append(Step("open", j, (), (), len(self.opened)))
        self.opened.append(j)

    def close(self, j: int) -> None:
        self.steps.append(Step("close", j, (), (self.opened.index(j),), len(self.opened)))
        self.opened.remove(j)

    def cause(self, c: int, findings: Sequence[int]) -> None:
        for j in findings:
            if j not in self.opened:
                self.open(j)
        bits = tuple(self.opened.index(j) for j in findings)
        self.steps.append(Step("cause", c, tuple(findings), bits, len(self.opened)))
