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
class Order:
    """The steps, the most findings open at once, and the cost: numbers written in one pass for one row."""

    steps: tuple[Step, ...]
    peak: int
    cost: int


def order_of(touched: Mapping[int, Sequence[int]], count: int) -> Order:
    """Return the order for causes that link to several of *count* findings each (*touched*: cause -> its findings)."""
    left = [sum(j in findings for findings in touched.values()) for j in range(count)]
    todo = {c: tuple(findings) for c, findings in touched.items()}
    steps: list[Step] = []
    opened: list[int] = []
    for j in range(count):
        if not left[j]:
            _open(steps, opened, j)
            _close(steps, opened, j)
    while todo:
        cause = min(todo, key=lambda c: (*_after(opened, todo[c], left), c))
        findings = todo.pop(cause)
        for j in findings:
            if j not in opened:
                _open(steps, opened, j)
        steps.append(Step("cause", cause, findings, tuple(opened.index(j) for j in findings), len(opened)))
        for j in findings:
            left[j] -= 1
            if not left[j]:
                _close(steps, opened, j)
    return Order(tuple(steps), max((step.width for step in steps), default=0), sum(1 << step.width for step in steps))


def _after(opened: Sequence[int], findings: Sequence[int], left: Sequence[int]) -> tuple[int, int]:
    """How many findings stand open after a cause with *findings*, and while it is swept."""
    needed = len(opened) + sum(j not in opened for j in findings)
    return needed - sum(left[j] == 1 for j in findings), needed


def _open(steps: list[Step], opened: list[int], j: int) -> None:
    steps.append(Step("open", j, (), (), len(opened)))
    opened.append(j)


def _close(steps: list[Step], opened: list[int], j: int) -> None:
    steps.append(Step("close", j, (), (opened.index(j),), len(opened)))
    opened.remove(j)
