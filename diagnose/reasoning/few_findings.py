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

import numpy as np
from numpy.typing import NDArray

from diagnose.reasoning.forward_backward import Array, Folded, Net, Potentials

Places = NDArray[np.intp]
#: findings up to which a cause is one square table: two calls then, where links one by one are eight or ten
SQUARES = 4
#: what is to grow, by what, where that is worked out, and the link of each of the two ways, (2, 1, 1)
Growth = tuple[Array, Array, Array, Array]


@cache
def _layout(k: int) -> tuple[Places, Places, Places]:
    """Where things stand for k findings, whose numbers, not fired and fired, are two tables (k, 2). First the number of
    each finding in each subset, (2, k, 2^k), of the second table with its subsets turned round; then the subsets
    without each finding and with it, turned round, (k, 2, 2^(k-1)), and the numbers of the other findings in these,
    (k, k - 1, 2^(k-1)).
    """
    subsets, findings = np.arange(1 << k), np.arange(k)
    cells, half = 2 * findings[:, None] + (subsets >> findings[:, None] & 1), len(subsets) // 2
    halves = np.empty((k, 2, half), dtype=np.intp)
    others = np.empty((k, max(0, k - 1), half), dtype=np.intp)
    for j in range(k):
        without = subsets[subsets >> j & 1 == 0]
        halves[j] = subsets[-1] - without, subsets[-1] - without - (1 << j)
        others[j] = np.delete(cells, j, axis=0)[:, without]
    return np.stack([cells, 2 * k + cells[:, ::-1]]), halves, others


class FewFindings:
    """A net made ready for one row at a time; of two tables side by side the first is of the way forward. Causes move
    tables by *squares*, or where these are None link by link in the scratch table *grown*.

    *several*: causes with several links, in the order in which they are swept; *both*: (c, 2), those met at each step
    of the two ways; *ahead*, *behind*: (c, 2, 2^k), by what they are multiplied before and after they grow.
    """

    def __init__(self, net: Net) -> None:
        k = len(net.links)
        self.net = net
        self.cells, self.halves, self.others = _layout(k)
        self.several = _paired(net)
        self.both = np.stack([self.several, self.several[::-1]], axis=1)
        links = net.links[:, self.several]
        self.mixed = np.flatnonzero(net.mixed[self.several])
        self.to_checks = np.where(net.symptom[:, None], 0.0, links[:, self.mixed])
        self.squares = _squares(links) if k <= SQUARES else None
        if self.squares is None:
            self._grow(links, net.links[:, self.both])
            self.quiet_checks = _quiet(self.to_checks)
        else:
            self.hushing = _squares(self.to_checks)[:, 0]
        self.silenced = (net.symptomatic | net.mixed)[:, None]

    def _grow(self, links: Array, both: Array) -> None:
        """Make ready how tables grow in each step, by *links* (k, c) and those of the two ways, *both* (k, c, 2)."""
        k, c = links.shape
        self.ahead, self.behind = np.ones((2, c, 2, 1 << k))
        self.behind[:, 0] = _quiet(links)
        self.ahead[:, 1] = self.behind[::-1, 0, ::-1]
        self.grown, spare = np.empty((2, 2, 1 << k))
        views = list[tuple[Array, Array, Array]]()
        for j in range(k):
            table, aside = (t.reshape(2, -1, 2, 1 << j) for t in (self.grown, spare))
            views.append((table[:, :, 1], table[:, :, 0], aside[:, :, 0]))
        self.growth: list[list[Growth]] = [[] for _ in range(c)]
        each = np.ascontiguousarray(both.transpose(1, 0, 2))[..., None, None]
        for i, j in np.argwhere(np.logical_or.reduce(both > 0.0, axis=2).T).tolist():
            self.growth[i].append((*views[j], each[i, j]))


class OneRow(Folded):
    """One row on its way; *few*: its net."""

    def __init__(self, few: FewFindings, rows: Potentials) -> None:
        super().__init__(few.net, rows)
        self.few = few

    def weights(self, quiet: Array) -> tuple[Array, Array, Array]:
        """Return the evidence (1,) and the weights in which each cause holds and is silent, (n, 1) each.

        *quiet*: (n, 1), the chance that a cause that holds fires on no symptom.
        """
        few, n = self.few, len(quiet)
        z, states, moved = self._both_ways()
        present, slope = self.hold * z, np.zeros((n + 1, 1))
        alone = self.net.alone[0, :, 1:]
        slope[alone], holding = self._unfold(self._met(states[-1, 1]))
        present[alone] = self.hold.take(alone, axis=0) * holding
        if len(moved):
            present[few.several, 0], slope[few.several, 0] = self._several(states, moved)
        present = present[:n]
        silent = np.where(few.silenced, self.hold[:n] * quiet * slope[:n], present)
        return z * self.scale, present * self.scale, silent * self.scale

    def evidence(self) -> Array:
        """Return the weight of the findings, (1,)."""
        return self._both_ways()[0] * self.scale

    def _both_ways(self) -> tuple[Array, Array, Array]:
        """The evidence, (1,), and what `_swept` returns."""
        start = np.multiply.reduce(self.both.take(self.few.cells), axis=1)
        states, moved = self._swept(start) if len(self.few.several) else (start[None], start[:0])
        return np.add.reduce(states[-1, 0] * start[1, ::-1], keepdims=True), states, moved

    def _swept(self, start: Array) -> tuple[Array, Array]:
        """The tables of the two ways before each step and after the last, (c + 1, 2, 2^k), and what each step forward
        has moved, (c, 2^k).
        """
        few = self.few
        hold, free = self.hold.take(few.both)[:, :, None], self.free.take(few.both)[:, :, None]
        states = np.empty((len(hold) + 1, *start.shape))
        states[0] = start
        if few.squares is not None:
            steps = few.squares * hold[..., None]
            moves = steps[:, 0].copy()
            steps.reshape(*hold.shape[:2], -1)[:, :, :: start.shape[1] + 1] += free
            one, multiply, total = np.empty(steps.shape[1:]), np.multiply, np.add.reduce
            for step, state, after in zip(steps, states[:, :, None], states[1:], strict=False):
                total(multiply(step, state, one), 2, None, after)
            return states, np.add.reduce(moves * states[:-1, :1], axis=2)
        moved, grown, multiply, add = np.empty(few.ahead.shape), few.grown, np.multiply, np.add
        each = zip(states, states[1:], moved, few.ahead * hold, free, few.behind, few.growth, strict=False)
        for state, after, move, holds, stays, behind, growth in each:
            multiply(state, holds, grown)
            for fired, unfired, spare, link in growth:
                multiply(unfired, link, spare)
                add(fired, spare, fired)
            multiply(grown, behind, move)
            multiply(state, stays, after)
            add(after, move, after)
        return states, moved[:, 0]

    def _several(self, states: Array, moved: Array) -> tuple[Array, Array]:
        """The weights in which the causes with several links hold, and the slopes where they fire on no symptom, (c,)
        each: where they are absent, or *mixed* and hushed.
        """
        few, before, behind = self.few, states[:-1, 0], states[-2::-1, 1, ::-1]
        slope = np.add.reduce(before * behind, axis=1)
        if len(few.mixed):
            slope[few.mixed] = np.add.reduce(self._hushed(before[few.mixed]) * behind[few.mixed], axis=1)
        return np.add.reduce(moved * behind, axis=1), slope

    def _hushed(self, states: Array) -> Array:
        """What becomes of *states* (m, 2^k) where the *mixed* causes fire on checks only."""
        few = self.few
        if few.squares is not None:
            made: Array = np.add.reduce(few.hushing * states[:, None], axis=2)
            return made
        for j in np.flatnonzero(~few.net.symptom).tolist():
            table = states.reshape(len(states), -1, 2, 1 << j)
            table[:, :, 1] += few.to_checks[j, :, None, None] * table[:, :, 0]
        return states * few.quiet_checks

    def _met(self, message: Array) -> Array:
        """What the rest of the net makes of each finding, not fired and fired, (k, 2, 1), from the table of the way
        back, *message*.
        """
        others = np.multiply.reduce(self.both.take(self.few.others), axis=1)
        made: Array = np.add.reduce(message.take(self.few.halves) * others[:, None], axis=2, keepdims=True)
        return made


def _paired(net: Net) -> Places:
    """The causes with several links in an order in which the i-th and the i-th from behind link to much the same."""
    mask = (net.links[:, net.several] > 0.0) * (1 << np.arange(len(net.links)))[:, None]
    alike = np.array(net.several, dtype=np.intp)[np.argsort(np.add.reduce(mask, axis=0), kind="stable")]
    return np.concatenate([alike[::2], alike[1::2][::-1]])


def _squares(links: Array) -> Array:
    """The chance to come from one subset to another by *links* (k, c), from the last axis to the one before, and that
    of the way back, (c, 2, 2^k, 2^k).
    """
    made = np.ones((links.shape[1], 1, 1))
    for link in links:
        one = np.zeros((len(link), 2, 1, 2, 1))
        one[:, 0, 0, 0, 0], one[:, 1, 0, 0, 0], one[:, 1, 0, 1, 0] = 1.0 - link, link, 1.0
        made = (one * made[:, None, :, None, :]).reshape(-1, 2 * made.shape[1], 2 * made.shape[1])
    return np.stack([made, made[::-1, ::-1, ::-1].swapaxes(1, 2)], axis=1)


def _quiet(links: Array) -> Array:
    """The chance that none of *links* (k, c) to findings outside a subset fires, (c, 2^k)."""
    made = np.ones((links.shape[1], 1))
    for link in links:
        made = np.concatenate([made * (1.0 - link)[:, None], made], axis=1)
    return made


__all__ = ["SQUARES", "FewFindings", "OneRow"]
