"""In what order causes are swept so that few findings stand open at once.

A finding opens when the first cause that links to it is met and closes after its last, so the table of the sweep holds only the
findings in between. The order is grown greedily: next comes the cause that leaves the fewest open (ties by how many
it needs, then by position, so that it never depends on the machine). Twenty symptoms seen then need tables of some 2^16 numbers
instead of 2^20; the exact figures are in `docs/reasoning.md`. Any order gives the same sums; only their cost differs.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the sweep. *kind* is `open`, `cause` or `close`.

    `open`: finding *index* becomes the highest bit of the table. `close`: finding *index*, at bit *bits[0]*, is summed out.
    `cause`: cause *index* fires on *findings*, which stand at *bits*. *width* is how many findings are open before the step.
    """

    kind: str
    index: int
    findings: tuple[int, ...]
    bits: tuple[int, ...]
    width: int


@dataclass(frozen=True, slots=True)
class EliminationOrder:
    """The steps, *width* (the most findings open at once), and *cost* (numbers written in one pass for one row)."""

    steps: tuple[Step, ...]
    width: int
    cost: int


def order_of(touched: Mapping[int, Sequence[int]], count: int) -> EliminationOrder:
    """Return the order for causes that link to several of *count* findings each (*touched*: cause -> its findings)."""
    left = [sum(j in findings for findings in touched.values()) for j in range(count)]
    todo = {c: sum(1 << j for j in findings) for c, findings in touched.items()}
    walk = _Walk()
    for j in range(count):
        if not left[j]:
            walk.open(j)
            walk.close(j)
    last = sum(1 << j for j in range(count) if left[j] == 1)
    while todo:
        cause = walk.cheapest(todo, last)
        del todo[cause]
        walk.cause(cause, touched[cause])
        for j in touched[cause]:
            left[j] -= 1
            if left[j] == 1:
                last |= 1 << j
            elif not left[j]:
                walk.close(j)
    steps = tuple(walk.steps)
    return EliminationOrder(
        steps, max((step.width for step in steps), default=0), sum(1 << step.width for step in steps)
    )


class _Walk:
    """The steps so far and the findings that stand open, the lowest bit first."""

    def __init__(self) -> None:
        self.steps: list[Step] = []
        self.opened: list[int] = []
        self.mask = 0

    def cheapest(self, todo: Mapping[int, int], last: int) -> int:
        """The cause (of masks of findings) that leaves the fewest open; *last* are the findings that wait for one cause more."""
        best, found = (1 << 30, 0, 0), -1
        for cause, mask in todo.items():
            needed = (self.mask | mask).bit_count()
            key = (needed - (mask & last).bit_count(), needed, cause)
            if key < best:
                best, found = key, cause
        return found

    def open(self, j: int) -> None:
        self.steps.append(Step("open", j, (), (), len(self.opened)))
        self.opened.append(j)
        self.mask |= 1 << j

    def close(self, j: int) -> None:
        self.steps.append(Step("close", j, (), (self.opened.index(j),), len(self.opened)))
        self.opened.remove(j)
        self.mask &= ~(1 << j)

    def cause(self, c: int, findings: Sequence[int]) -> None:
        for j in findings:
            if not self.mask >> j & 1:
                self.open(j)
        self.steps.append(
            Step("cause", c, tuple(findings), tuple(self.opened.index(j) for j in findings), len(self.opened))
        )
