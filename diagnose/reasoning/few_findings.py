"""The sweep of one row over few findings: each cause is a small square table over all subsets of the findings.

Where tables are small it is the number of steps that takes the time, not the numbers. Here all findings stand open from
first to last, what a cause moves where is worked out for all causes at once beforehand, and a cause is one product and
one sum. Same weights as `forward_backward.py`, every term positive. Only + - x / in a fixed order.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from diagnose.reasoning.forward_backward import Array, Folded, Net, Potentials, Slopes

#: numbers in the square tables of all causes up to which this pays
MOST_SQUARES = 80_000


class Moves:
    """What causes with several links do to a subset of the findings that are fired, (c, 2^k, 2^k), from the last axis
    to the one before: where they hold, and where they are hushed.
    """

    def __init__(self, net: Net) -> None:
        links = net.links[:, net.several]
        self.holding = _moved(links)
        self.hushed = _moved(np.where(net.symptom[:, None], 0.0, links))
        self.mixed: NDArray[np.intp] = np.flatnonzero(net.mixed[net.several])
        self.several = np.array(net.several, dtype=np.intp)


def _moved(links: Array) -> Array:
    """The chance to come from one subset to another by *links* (k, c), each of which fires by itself."""
    made = np.ones((links.shape[1], 1, 1))
    for link in links:
        one = np.zeros((len(link), 2, 1, 2, 1))
        one[:, 0, 0, 0, 0], one[:, 1, 0, 0, 0], one[:, 1, 0, 1, 0] = 1.0 - link, link, 1.0
        size = 2 * made.shape[1]
        made = (one * made[:, None, :, None, :]).reshape(-1, size, size)
    return made


class FewFindings(Folded):
    """One row, by the *moves* of its net; tables run over all 2^k subsets of the findings, (2^k,)."""

    def __init__(self, net: Net, rows: Potentials, moves: Moves) -> None:
        super().__init__(net, rows)
        self.moves = moves
        hold, free = self.hold[moves.several], self.free[moves.several]
        self.steps = moves.holding * hold[:, :, None]
        subsets = np.arange(self.steps.shape[1])
        self.steps[:, subsets, subsets] += free

    def slopes(self) -> Slopes:
        """Return the evidence and its slopes in the weights of all causes."""
        opened, before, after = self._opened(), list[Array](), list[Array]()
        state, message = opened[-1], self._read() * self.scale
        for step in self.steps:
            before.append(state)
            state = np.add.reduce(step * state, axis=1)
        z = np.add.reduce(state * message, keepdims=True)
        for step in self.steps[::-1]:
            after.append(message)
            message = np.add.reduce(step * message[:, None], axis=0)
        slopes = np.zeros((3, len(self.hold) + 1, 1))
        if before:
            self._fill(slopes, np.stack(before), np.stack(after[::-1]))
        return self._whole(z, slopes, self._met(opened, message))

    def _fill(self, slopes: Array, before: Array, after: Array) -> None:
        """Fill the *slopes* of the causes with several links, from what came forward and backward, (c, 2^k) each."""
        moves, several = self.moves, self.moves.several
        slopes[0, several, 0] = np.add.reduce(before * after, axis=1)
        for table, places, moved in ((1, slice(None), moves.holding), (2, moves.mixed, moves.hushed[moves.mixed])):
            came = np.add.reduce(moved * before[places, None], axis=2)
            slopes[table, several[places], 0] = np.add.reduce(came * after[places], axis=1)

    def _opened(self) -> list[Array]:
        """The table of no finding, of the first, of the first two ... with what the leaks and folded causes fire."""
        found = [np.ones(1)]
        for pair in self.pairs[:, :, 0]:
            found.append((pair * found[-1]).reshape(-1))
        return found

    def _read(self) -> Array:
        """What the findings weigh in each subset."""
        made = np.ones(1)
        for reading in self.reading:
            made = (reading * made).reshape(-1)
        return made

    def _met(self, opened: list[Array], message: Array) -> Array:
        """What the rest of the net makes of each finding, not fired and fired, (k, 2, 1)."""
        met = np.zeros((len(self.pairs), 2, 1))
        for j in range(len(self.pairs) - 1, -1, -1):
            halves = message.reshape(2, -1)
            met[j, :, 0] = np.add.reduce(halves * opened[j], axis=1)
            message = np.add.reduce(halves * self.pairs[j, :, 0], axis=0)
        return met


__all__ = ["MOST_SQUARES", "FewFindings", "Moves"]
