"""The other way to the same weights: a sum over the sets of causes that may hold, for nets of few causes.

The sweep keeps a table over findings. Where few causes link to several findings it is shorter to go through all ways in
which these causes can be (absent, holding, hushed) and to multiply what each finding weighs then. The ways are built
cause by cause, and gone back over in the same order for the slopes. Every term is positive. Only + - x / in a fixed
order.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from diagnose.reasoning.forward_backward import Array, Folded, Net, Potentials, Slopes

#: numbers in one table, at most, so that it stays near the processor
_TABLE = 1 << 16


def ways_of(net: Net) -> int:
    """Return in how many ways the causes with several links can be."""
    made = 1
    for c in net.several:
        made *= 3 if net.mixed[c] else 2
    return made


class CauseSets(Folded):
    """One block of rows summed over the sets of causes.

    Tables run over the m ways in which the *inner* causes can be, once for each way of the *outer* ones.
    """

    def __init__(self, net: Net, rows: Potentials) -> None:
        super().__init__(net, rows)
        size, cut = max(1, len(self.pairs)), 0
        while cut < len(net.several) and size < _TABLE:
            size *= 3 if net.mixed[net.several[cut]] else 2
            cut += 1
        self.inner, self.outer = net.several[:cut], net.several[cut:]
        self.weights = {c: self._weights(c) for c in net.several}
        self.within, self.without = self._fired(self.inner), self._fired(self.outer)

    def _weights(self, c: int) -> Array:
        """The weight of each of the s ways in which cause *c* can be, (s, r)."""
        each = [self.free[c], self.hold[c], self.hushed[c]][: 3 if self.net.mixed[c] else 2]
        return np.stack([np.broadcast_to(weight, self.count) for weight in each])

    def _fired(self, causes: Iterable[int]) -> tuple[Array, Array]:
        """The chance in each way in which *causes* can be that none fires a finding, and that one does, (k, m) each."""
        k, checks = len(self.pairs), ~self.net.symptom
        quiet, fired = np.ones((k, 1)), np.zeros((k, 1))
        for c in causes:
            link = self.net.links[:, c]
            each = np.stack([0.0 * link, link, link * checks][: len(self.weights[c])], axis=1)[:, :, None]
            fired = (fired[:, None] + quiet[:, None] * each).reshape(k, -1)
            quiet = (quiet[:, None] * (1.0 - each)).reshape(k, -1)
        return quiet, fired

    def evidence(self) -> Array:
        """Return the weight of the findings, (r,)."""
        each = [self._back(np.multiply.reduce(self._shown(way), axis=0), self.inner)[0] for way in self._outer()]
        return self._back(np.stack(each) * self.scale, self.outer)[0]

    def slopes(self) -> Slopes:
        """Return the evidence and its slopes in the weights of all causes."""
        tables, met = np.zeros((3, len(self.hold), self.count)), np.zeros((len(self.pairs), 2, self.count))
        each, reached = list[Array](), self._reached(self.outer)[-1] * self.scale
        for way in self._outer():
            shown = self._shown(way)
            z, slopes = self._back(np.multiply.reduce(shown, axis=0), self.inner)
            for c, slope in slopes.items():
                tables[: len(slope), c] += reached[way] * slope
            if any(self.net.heard):
                met += reached[way] * self._met(way, shown)
            each.append(z)
        z, slopes = self._back(np.stack(each) * self.scale, self.outer)
        for c, slope in slopes.items():
            tables[: len(slope), c] = slope
        return self._whole(z, tables, met)

    def _outer(self) -> range:
        return range(self.without[0].shape[1])

    def _shown(self, way: int) -> Array:
        """What each finding weighs in each way of the inner causes, (k, m, r), in one *way* of the outer ones."""
        (off, on), (zero, one) = self.reading.swapaxes(0, 1), self.pairs.swapaxes(0, 1)
        quiet, fired = (table[:, way, None] for table in self.without)
        none, some = (table[:, :, None] for table in self.within)
        made: Array = (off * zero * quiet)[:, None] * none
        made += (on * zero * quiet)[:, None] * some
        made += (on * (one + zero * fired))[:, None]
        return made

    def _met(self, way: int, shown: Array) -> Array:
        """What the rest of the net makes of each finding, not fired and fired by what is folded into it, (k, 2, r)."""
        off, on = self.reading[:, 0, None], self.reading[:, 1, None]
        quiet, fired = (table[:, way, None, None] for table in self.without)
        none, some = (table[:, :, None] for table in self.within)
        others = _without_each(shown) * self._reached(self.inner)[-1]
        unfired = others * (off * quiet * none + on * (fired + quiet * some))
        return np.stack([np.add.reduce(unfired, axis=1), np.add.reduce(others * on, axis=1)], axis=1)

    def _reached(self, causes: Sequence[int]) -> list[Array]:
        """The weight (m, r) of each way in which the first of *causes*, the first two ... can be; before them, 1."""
        found = [np.ones((1, self.count))]
        for c in causes:
            found.append((self.weights[c][:, None] * found[-1]).reshape(-1, self.count))
        return found

    def _back(self, table: Array, causes: Sequence[int]) -> tuple[Array, dict[int, Array]]:
        """The sum (r,) of *table* (m, r) by the weights of *causes*, and its slope in each of these, (s, r)."""
        slopes, reached = dict[int, Array](), self._reached(causes)
        for i in range(len(causes) - 1, -1, -1):
            weights = self.weights[causes[i]]
            halves = table.reshape(len(weights), -1, self.count)
            slopes[causes[i]] = np.add.reduce(halves * reached[i], axis=1)
            table = np.add.reduce(halves * weights[:, None], axis=0)
        return table[0], slopes


def _without_each(factors: Array) -> Array:
    """The product of all *factors* (k, ...) but each in turn."""
    before, behind = np.ones_like(factors), np.ones_like(factors)
    np.multiply.accumulate(factors[:-1], axis=0, out=before[1:])
    np.multiply.accumulate(factors[:0:-1], axis=0, out=behind[-2::-1])
    return before * behind


__all__ = ["CauseSets", "ways_of"]
