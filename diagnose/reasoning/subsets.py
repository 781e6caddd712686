"""The best of all sets of remedies without trying them all: a tree of sets, cut where no set below can be better.

Each set is met once, grown by remedies in one order. What a further remedy can add to the success of a set is at most the sum over its causes of
P(had a part) x P(not mended yet) x P(it mends), for in nothing else does it change the outcome (the union bound). So a branch whose remedies
can't earn their cost, or can't reach the goal more cheaply than a set at hand, is left. Exact while fewer than `MOST_SETS` sets
need to be weighed; beyond that the best set met so far is kept, and that is seldom (`docs/reasoning.md`).
"""

from __future__ import annotations

import heapq
from collections.abc import Callable, Sequence

import numpy as np

from diagnose.reasoning.elimination import Array

#: so many sets are weighed at most for one answer, and so many branches are opened at a time, to be weighed in one sweep
MOST_SETS, AT_A_TIME = 1500, 32
#: differences smaller than this are none
_SAME = 1e-9

Indices = tuple[int, ...]
#: a set, its success, and what each remedy can at most add to it, shape (m,)
_Node = tuple[Indices, float, Array]
#: what a set comes to, how many remedies it has, which: compared in this order
_Key = tuple[float, int, Indices]


class Subsets:
    """Sets of *m* remedies: *prices* (m,), *mends* (m, n) chance that a remedy mends a cause, *part* (n,) chance that the cause had a part.

    *successes* weighs sets exactly; *weighed* counts how many it was asked for.
    """

    def __init__(
        self, prices: Array, mends: Array, part: Array, successes: Callable[[Sequence[Indices]], Sequence[float]]
    ) -> None:
        self.prices = prices
        self.mends = mends
        self.part = part
        self.successes = successes
        self.weighed = 0

    def least(self, bad_part: float, best: Indices) -> Indices:
        """Return the set with the least cost + *bad_part* x (1 - success); *best* is a good set to start from."""
        root, start = self._nodes([(), best])
        order = self._order(bad_part * root[2] - self.prices)
        return self._walk(
            [root, start],
            order,
            lambda node, i: self._least_below(node, order[i:], bad_part),
            lambda node: self._loss(node, bad_part),
        )

    def cheapest(self, goal: float, best: Indices) -> Indices:
        """Return the set of least cost with a success of at least *goal*; *best* is one that reaches it."""
        root, start = self._nodes([(), best])
        order = self._order(root[2] / np.maximum(self.prices, _SAME))
        return self._walk(
            [root, start],
            order,
            lambda node, i: self._cheapest_below(node, order[i:], goal),
            lambda node: self._price(node, goal),
        )

    # -- the walk --------------------------------------------------------------------------------------------------

    def _walk(
        self, known: Sequence[_Node], order: Indices, below: Callable[[_Node, int], Array], key: Callable[[_Node], _Key]
    ) -> Indices:
        """Return the set with the least *key*: weighed batch by batch, the most promising first, until no branch can go below the best.

        *known* is the empty set and one to start from; *below* gives, for each remedy of *order* from place i on, the least that any set grown
        through it first can come to.
        """
        best = min(map(key, known))
        heap: list[tuple[float, Indices]] = [
            (bound, (place,)) for place, bound in enumerate(below(known[0], 0).tolist())
        ]
        heapq.heapify(heap)
        while heap and heap[0][0] <= best[0] + _SAME and self.weighed < MOST_SETS:
            places = [heapq.heappop(heap)[1] for _ in range(min(AT_A_TIME, len(heap)))]
            nodes = self._nodes([tuple(order[i] for i in where) for where in places])
            best = min(best, *map(key, nodes))
            for node, where in zip(nodes, places, strict=True):
                for place, bound in enumerate(below(node, where[-1] + 1).tolist(), start=where[-1] + 1):
                    if bound <= best[0] + _SAME:
                        heapq.heappush(heap, (bound, (*where, place)))
        return best[2]

    def _nodes(self, sets: Sequence[Indices]) -> list[_Node]:
        self.weighed += len(sets)
        found = []
        for chosen, success in zip(sets, self.successes(sets), strict=True):
            left = self.part * np.multiply.reduce(1.0 - self.mends[list(chosen)], axis=0)
            found.append((chosen, success, np.add.reduce(self.mends * left, axis=1)))
        return found

    def _order(self, promise: Array) -> Indices:
        return tuple(sorted(range(len(self.prices)), key=lambda i: (-round(float(promise[i]), 10), i)))

    def _cost(self, chosen: Indices) -> float:
        return float(sum(self.prices[i] for i in sorted(chosen)))

    # -- least expected cost ---------------------------------------------------------------------------------------

    def _loss(self, node: _Node, bad_part: float) -> _Key:
        chosen, success, _ = node
        return round(self._cost(chosen) + bad_part * (1.0 - success), 9), len(chosen), tuple(sorted(chosen))

    def _least_below(self, node: _Node, rest: Indices, bad_part: float) -> Array:
        chosen, success, adds = node
        earns = bad_part * adds[list(rest)] - self.prices[list(rest)]
        later = _sums_after(np.maximum(earns, 0.0))
        bound: Array = self._cost(chosen) + bad_part * (1.0 - success) - earns - later
        return bound

    # -- cheapest that reaches a goal ------------------------------------------------------------------------------

    def _price(self, node: _Node, goal: float) -> _Key:
        return round(self._cost(node[0]), 9) if node[1] >= goal else float("inf"), len(node[0]), tuple(sorted(node[0]))

    def _cheapest_below(self, node: _Node, rest: Indices, goal: float) -> Array:
        chosen, success, adds = node
        found = np.full(len(rest), np.inf)
        if success >= goal:
            return found  # more would only cost more
        by_yield = sorted(rest, key=lambda i: (-round(float(adds[i]) / max(float(self.prices[i]), _SAME), 10), i))
        for place, i in enumerate(rest):
            later = set(rest[place + 1 :])
            found[place] = (
                self._cost(chosen)
                + float(self.prices[i])
                + self._filled(goal - success - float(adds[i]), adds, [r for r in by_yield if r in later])
            )
        return found

    def _filled(self, need: float, adds: Array, by_yield: Sequence[int]) -> float:
        """The least that adding *need* can cost, were remedies to be had in parts (the knapsack bound); infinite where all do not suffice."""
        cost = 0.0
        for i in by_yield:
            if need <= _SAME:
                break
            share = min(1.0, need / float(adds[i])) if adds[i] > 0.0 else 0.0
            cost += share * float(self.prices[i])
            need -= share * float(adds[i])
        return cost if need <= _SAME else float("inf")


def _sums_after(values: Array) -> Array:
    """For each place the sum of the *values* behind it."""
    total = np.zeros(len(values))
    for i in range(len(values) - 2, -1, -1):
        total[i] = total[i + 1] + values[i + 1]
    return total
