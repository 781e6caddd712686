"""The sweep of one row over few findings: all of them stand open from first to last.

Where tables are small it is the number of steps that takes the time, not the numbers. So what depends on the links
alone is made once; the way forward from the leaks and the way back from the readings go side by side, for neither needs
the other; and causes with one link, and the slopes of all, take the same few steps however many there are. Same weights
as `forward_backward.py`, every term positive. Only + - x / in a fixed order.

A cause that holds moves a table in two goes: for each link what is fired grows by the link times what is not, and then
each subset is multiplied by the chance that the links outside it stay quiet. Backward it is the other way round: first
that chance, then what is *not* fired grows by the link times what is. With its subsets turned round, from all findings
to none, a table of the way back therefore grows just like one of the way forward.
"""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from diagnose.reasoning.forward_backward import Array, Folded, Net, Potentials

Places = NDArray[np.intp]
#: what is to grow, by what, where that is worked out, and the link of each of the two ways, (2, 1, 1)
Growth = tuple[Array, Array, Array, Array]


class _Layout(NamedTuple):
    """Where things stand for k findings, whose numbers, not fired and fired, are two tables (k, 2). *cells*:
    (2, k, 2^k), the number of each finding in each subset, of the second with its subsets turned round. *halves*:
    (k, 2, 2^(k-1)), the subsets without each finding and with it, turned round; *others*: (k, k - 1, 2^(k-1)), the
    numbers of the other findings in these.
    """

    cells: Places
    halves: Places
    others: Places


@cache
def _layout(k: int) -> _Layout:
    subsets, findings = np.arange(1 << k), np.arange(k)
    cells = 2 * findings[:, None] + (subsets >> findings[:, None] & 1)
    half = len(subsets) // 2
    halves = np.empty((k, 2, half), dtype=np.intp)
    others = np.empty((k, max(0, k - 1), half), dtype=np.intp)
    for j in range(k):
        without = subsets[subsets >> j & 1 == 0]
        halves[j, 0], halves[j, 1] = subsets[-1] - without, subsets[-1] - without - (1 << j)
        others[j] = np.delete(cells, j, axis=0)[:, without]
    return _Layout(np.stack([cells, 2 * k + cells[:, ::-1]]), halves, others)


class FewFindings:
    """A net made ready for one row at a time; of two tables side by side the first is of the way forward.

    *several*: causes with several links, in the order in which they are swept; *both*: (c, 2), those met at each step
    of the two ways; *ahead*, *behind*: (c, 2, 2^k), by what they are multiplied before and after they grow.
    """

    def __init__(self, net: Net) -> None:
        k = len(net.links)
        self.net, self.layout = net, _layout(k)
        self.several = _paired(net)
        self.both = np.stack([self.several, self.several[::-1]], axis=1)
        links = net.links[:, self.several]
        self.mixed = np.flatnonzero(net.mixed[self.several])
        self.to_checks = np.where(net.symptom[:, None], 0.0, links[:, self.mixed])
        self.quiet_checks = _quiet(self.to_checks)
        self.ahead, self.behind = np.ones((2, len(self.several), 2, 1 << k))
        self.behind[:, 0] = _quiet(links)
        self.ahead[:, 1] = self.behind[::-1, 0, ::-1]
        self.grown, self.spare = np.empty((2, 2, 1 << k))
        self.growth = self._growth(net.links[:, self.both])
        self.silenced = (net.symptomatic | net.mixed)[:, None]

    def _growth(self, links: Array) -> list[list[Growth]]:
        """How the table grows in each step of the two ways, by *links* (k, c, 2)."""
        views = list[tuple[Array, Array, Array]]()
        for j in range(len(links)):
            table, spare = (t.reshape(2, -1, 2, 1 << j) for t in (self.grown, self.spare))
            views.append((table[:, :, 1], table[:, :, 0], spare[:, :, 0]))
        found: list[list[Growth]] = [[] for _ in self.both]
        each = np.ascontiguousarray(links.transpose(1, 0, 2))[..., None, None]
        for i, j in np.argwhere(np.logical_or.reduce(links > 0.0, axis=2).T).tolist():
            found[i].append((*views[j], each[i, j]))
        return found

    def weights(self, rows: Potentials, quiet: Array) -> tuple[Array, Array, Array]:
        """Return the evidence (1,) and the weights in which each cause holds and is silent, (n, 1) each, of one row.

        *quiet*: (n, 1), the chance that a cause that holds fires on no symptom.
        """
        return _Row(self, rows).weights(quiet)


class _Row(Folded):
    """One row on its way; *few*: its net."""

    def __init__(self, few: FewFindings, rows: Potentials) -> None:
        super().__init__(few.net, rows)
        self.few = few

    def weights(self, quiet: Array) -> tuple[Array, Array, Array]:
        """See `FewFindings.weights`."""
        few, n = self.few, len(quiet)
        start = np.multiply.reduce(self.both.take(few.layout.cells), axis=1)
        states, moved = self._swept(start)
        z = np.add.reduce(states[-1, 0] * start[1, ::-1], keepdims=True)
        present, slope = self.hold * z, np.zeros((n + 1, 1))
        alone = self.net.alone[0, :, 1:]
        slope[alone], holding = self._unfold(self._met(states[-1, 1]))
        present[alone] = self.hold.take(alone, axis=0) * holding
        if len(moved):
            present[few.several, 0], slope[few.several, 0] = self._several(states, moved)
        present = present[:n]
        silent = np.where(few.silenced, self.hold[:n] * quiet * slope[:n], present)
        return z * self.scale, present * self.scale, silent * self.scale

    def _swept(self, start: Array) -> tuple[Array, Array]:
        """The tables of the two ways before each step and after the last, (c + 1, 2, 2^k), and what each step has
        moved, (c, 2, 2^k).
        """
        few, multiply, add, grown = self.few, np.multiply, np.add, self.few.grown
        states, moved = np.empty((len(few.both) + 1, *start.shape)), np.empty(few.ahead.shape)
        states[0] = start
        if not few.growth:
            return states, moved
        hold, free = self.hold.take(few.both)[:, :, None], self.free.take(few.both)[:, :, None]
        steps = zip(states, states[1:], moved, few.ahead * hold, free, few.behind, few.growth, strict=False)
        for state, after, move, holds, stays, behind, growth in steps:
            multiply(state, holds, grown)
            for fired, unfired, spare, link in growth:
                multiply(unfired, link, spare)
                add(fired, spare, fired)
            multiply(grown, behind, move)
            multiply(state, stays, after)
            add(after, move, after)
        return states, moved

    def _several(self, states: Array, moved: Array) -> tuple[Array, Array]:
        """The weights in which the causes with several links hold, and the slopes where they fire on no symptom, (c,)
        each: where they are absent, or *mixed* and hushed.
        """
        few, before, behind = self.few, states[:-1, 0], states[-2::-1, 1, ::-1]
        slope = np.add.reduce(before * behind, axis=1)
        if len(few.mixed):
            hushed = before[few.mixed]
            for j in np.flatnonzero(~few.net.symptom).tolist():
                table = hushed.reshape(len(hushed), -1, 2, 1 << j)
                table[:, :, 1] += few.to_checks[j, :, None, None] * table[:, :, 0]
            hushed *= few.quiet_checks
            slope[few.mixed] = np.add.reduce(hushed * behind[few.mixed], axis=1)
        return np.add.reduce(moved[:, 0] * behind, axis=1), slope

    def _met(self, message: Array) -> Array:
        """What the rest of the net makes of each finding, not fired and fired, (k, 2, 1), from the table of the way
        back, *message*.
        """
        layout = self.few.layout
        others = np.multiply.reduce(self.both.take(layout.others), axis=1)
        made: Array = np.add.reduce(message.take(layout.halves) * others[:, None], axis=2, keepdims=True)
        return made


def _paired(net: Net) -> Places:
    """The causes with several links in an order in which the i-th and the i-th from behind link to much the same."""
    mask = (net.links[:, net.several] > 0.0) * (1 << np.arange(len(net.links)))[:, None]
    alike = np.array(net.several, dtype=np.intp)[np.argsort(np.add.reduce(mask, axis=0), kind="stable")]
    return np.concatenate([alike[::2], alike[1::2][::-1]])


def _quiet(links: Array) -> Array:
    """The chance that none of *links* (k, c) to findings outside a subset fires, (c, 2^k)."""
    made = np.ones((links.shape[1], 1))
    for link in links:
        made = np.concatenate([made * (1.0 - link)[:, None], made], axis=1)
    return made


__all__ = ["FewFindings"]
