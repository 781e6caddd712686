"""In what order causes are swept so that few findings stand open at once.

A finding opens when the first cause that links to it is met and closes after its last, so the table of the sweep holds
only the findings in between. The order is grown greedily, finding by finding: next comes the finding that can be closed
with the fewest open, by sweeping all causes that still link to it. That is tried from each finding first, and the
cheapest order is taken (ties by position, so that it never depends on the machine). Twenty symptoms seen then need
tables of some 2^15 numbers instead of 2^20; the exact figures are in `docs/reasoning.md`. Any order gives the same
sums; only their cost differs.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from msgspec import Struct


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


def order_of(linked: Mapping[int, Sequence[int]], count: int) -> EliminationOrder:
    """Return the order for causes that link to several of *count* findings each (*linked*: cause -> its findings)."""
    masks = {cause: sum(1 << j for j in linked[cause]) for cause in sorted(linked)}
    tried = [_grown(masks, start) for start in range(count) if any(mask >> start & 1 for mask in masks.values())]
    causes = min(tried, key=lambda pair: pair[0])[1] if tried else []
    walk = _Walk()
    for j in range(count):
        if not any(mask >> j & 1 for mask in masks.values()):
            walk.open(j)
            walk.close(j)
    left = [sum(mask >> j & 1 for mask in masks.values()) for j in range(count)]
    for cause in causes:
        walk.cause(cause, linked[cause])
        for j in linked[cause]:
            left[j] -= 1
            if not left[j]:
                walk.close(j)
    steps = tuple(walk.steps)
    width = max((step.width for step in steps), default=0)
    return EliminationOrder(steps, width, sum(1 << step.width for step in steps))


def _grown(masks: Mapping[int, int], start: int) -> tuple[int, list[int]]:
    """The cost of an order and the causes in it, grown from the finding *start*;
    *masks*: cause -> its findings as bits.
    """
    todo = dict(masks)
    opened, cost, causes = 0, 0, list[int]()
    finding: int | None = start
    while todo:
        near = 1 << (finding if finding is not None else _next(todo, opened))
        finding = None
        while any(mask & near for mask in todo.values()):
            # what fits into the findings open already costs nothing more
            cause = min((c for c in todo if todo[c] & near), key=lambda c: ((opened | todo[c]).bit_count(), c))
            opened |= todo[cause]
            for c in [c for c, mask in todo.items() if not mask & ~opened]:
                causes.append(c)
                cost += 1 << opened.bit_count()
                del todo[c]
            waiting = 0
            for mask in todo.values():
                waiting |= mask
            opened &= waiting
    return cost, causes


def _next(todo: Mapping[int, int], opened: int) -> int:
    """The finding that can be closed with the fewest open; of equals that with the fewest causes left,
    then the first.
    """
    found = {}
    for mask in todo.values():
        for j in _bits(mask):
            if j not in found:
                touching = [other for other in todo.values() if other >> j & 1]
                needed = opened
                for other in touching:
                    needed |= other
                found[j] = (needed.bit_count(), len(touching), j)
    return min(found.values())[2]


def _bits(mask: int) -> list[int]:
    return [j for j in range(mask.bit_length()) if mask >> j & 1]


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
