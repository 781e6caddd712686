"""One way forward and back through the causes, for a block of rows at once: the arithmetic of `elimination.py`.

Tables hold a weight for each subset of the findings open at that step, shape (2^open, r) for r rows; bit b of the first
index says whether the finding at bit b has been fired. Only + - x / in a fixed order.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from diagnose.reasoning.elimination_order import Step

Array = NDArray[np.float64]
#: the two numbers of a finding: weight of not fired, weight of fired, shape (r,) each
Pair = tuple[Array, Array]
#: stands for a table that is not needed on the way back
_NONE: Array = np.empty(0)


@dataclass(frozen=True, slots=True)
class Potentials:
    """Weights of *r* rows over *n* causes and *k* positive findings.

    *present*, *absent*: shape (r, n), weight of each cause holding or not (a prior times the factors of negative
    findings, and its complement; they need not sum to 1). *leak*, *no_leak*: (r, k), weight of the leak firing or not.
    *on*, *off*: (r, k), likelihood weights of the finding fired and not fired; 1 and 1 leave it out. *explain*: (r, k),
    1 where the finding is a symptom that a cause may have had a part in, else 0; a symptom left out is 0.
    """

    present: Array
    absent: Array
    leak: Array
    no_leak: Array
    on: Array
    off: Array
    explain: Array

    def part(self, start: int, stop: int) -> Potentials:
        """Return rows *start* to *stop*."""
        return Potentials(*(getattr(self, field.name)[start:stop] for field in fields(self)))

    def times(self, present: Array, absent: Array | float = 1.0) -> Potentials:
        """Return the rows with the weights of the causes multiplied, shapes (r, n)."""
        return Potentials(
            self.present * present, self.absent * absent, self.leak, self.no_leak, self.on, self.off, self.explain
        )


@dataclass(frozen=True, slots=True)
class Weights:
    """*evidence*: (r,), weight of the findings. *present*, *silent*:
    (r, n), weight in which a cause holds, and in which it holds without having fired any of its links to a symptom."""

    evidence: Array
    present: Array
    silent: Array

    @property
    def responsible(self) -> Array:
        """Weight in which each cause had a part in a symptom, shape (r, n)."""
        made: Array = np.maximum(self.present - self.silent, 0.0)
        return made


@dataclass(frozen=True, slots=True)
class Net:
    """What the passes share: *links* (k, n), which findings are symptoms, the steps, and the causes outside the steps.

    *singles*: for each finding the causes that link to it alone. *idle*: causes without a link.
    """

    links: Array
    symptom: tuple[bool, ...]
    steps: tuple[Step, ...]
    singles: list[list[int]]
    idle: list[int]


class Pass:
    """One block of rows on its way through the causes; tables have shape (2^open, r),
    weights of a cause or finding (r,).
    """

    def __init__(self, net: Net, rows: Potentials) -> None:
        self.net = net
        self.links = net.links
        self.hold, self.free = _rows_last(rows.present), _rows_last(rows.absent)
        self.leak, self.no_leak = _rows_last(rows.leak), _rows_last(rows.no_leak)
        self.on, self.off = _rows_last(rows.on), _rows_last(rows.off)
        self.explain = _rows_last(rows.explain)
        self.count: int = self.hold.shape[1]
        self.present, self.silent = np.zeros_like(self.hold), np.zeros_like(self.hold)

    def weights(self) -> Weights:
        """Return the weights of all causes: forward, then backward."""
        folded = [self._folded(j) for j in range(len(self.net.symptom))]
        state = np.ones((1, self.count))
        states: list[Array] = []
        for step in self.net.steps:
            states.append(state if step.kind != "close" else _NONE)
            state = self._advance(state, step, [pairs[-1] for pairs in folded])
        z = state[0]
        message = np.ones((1, self.count))
        for step in reversed(self.net.steps):
            message = self._retreat(message, states.pop(), step, folded)
        whole = self._idle(z)
        return Weights(z * whole, (self.present * whole).T, (self.silent * whole).T)

    def evidence(self) -> Array:
        """Return the weight of the findings, shape (r,): forward only."""
        folded = [self._folded(j)[-1] for j in range(len(self.net.symptom))]
        state = np.ones((1, self.count))
        for step in self.net.steps:
            state = self._advance(state, step, folded)
        made: Array = state[0] * self._idle(state[0])
        return made

    def _idle(self, z: Array) -> Array:
        """The factor (r,) of the causes without links to what is positive;
        fills their weights (0 where both weights are 0).
        """
        whole = np.ones(self.count)
        for c in self.net.idle:
            both = self.hold[c] + self.free[c]
            whole = whole * both
            self.present[c] = self.silent[c] = z * (self.hold[c] / np.where(both > 0.0, both, 1.0))
        return whole

    # -- causes with one link --------------------------------------------------------------------------------------

    def _folded(self, j: int) -> list[Pair]:
        """The two numbers of finding *j*: with the leak alone, then with each cause that has this one link,
        one after another.
        """
        pairs = [(self.no_leak[j], self.leak[j])]
        for c in self.net.singles[j]:
            zero, one = pairs[-1]
            link = self.links[j, c]
            fires = self.hold[c] * link
            pairs.append(
                (
                    zero * (self.free[c] + self.hold[c] * (1.0 - link)),
                    one * (self.free[c] + self.hold[c]) + zero * fires,
                )
            )
        return pairs

    def _unfold(self, j: int, pairs: list[Pair], if_zero: Array, if_one: Array) -> None:
        """Fill the weights of the causes with one link, from what the rest of the net makes of finding *j*,
        (r,) each.
        """
        mine = self.net.singles[j]
        for c, (zero, one) in zip(reversed(mine), reversed(pairs[:-1]), strict=True):
            link = self.links[j, c]
            fires, stays = self.hold[c] * link, self.hold[c] * (1.0 - link)
            unfired = stays * (zero * if_zero + one * if_one)
            self.present[c] = unfired + fires * (zero + one) * if_one
            self.silent[c] = np.where(self.explain[j] > 0.0, unfired, self.present[c])
            if_zero, if_one = if_zero * (self.free[c] + stays) + if_one * fires, if_one * (self.free[c] + self.hold[c])

    # -- steps: each returns a table ---------------------------------------------------------------------------------

    def _advance(self, state: Array, step: Step, folded: Sequence[Pair]) -> Array:
        if step.kind == "open":
            return np.concatenate([state * weight for weight in folded[step.index]])
        if step.kind == "close":
            halves = state.reshape(-1, 2, 1 << step.bits[0], self.count)
            made: Array = halves[:, 0] * self.off[step.index] + halves[:, 1] * self.on[step.index]
            return made.reshape(-1, self.count)
        c = step.index
        moved = self._fire(state * self.hold[c], c, step.findings, step.bits)
        moved += state * self.free[c]
        return moved

    def _retreat(self, message: Array, before: Array, step: Step, folded: Sequence[list[Pair]]) -> Array:
        """Return the message before *step*, filling the weights of the causes that it concerns."""
        j = c = step.index
        if step.kind == "open":
            half = message.shape[0] // 2
            zero, one = folded[j][-1]
            if self.net.singles[j]:
                self._unfold(j, folded[j], _summed(before * message[:half]), _summed(before * message[half:]))
            return message[:half] * zero + message[half:] * one
        if step.kind == "close":
            halves = message.reshape(-1, 1, 1 << step.bits[0], self.count)
            weights = np.stack([self.off[j], self.on[j]]).reshape(1, 2, 1, self.count)
            closed: Array = (halves * weights).reshape(-1, self.count)
            return closed
        checks = [(j, bit) for j, bit in zip(step.findings, step.bits, strict=True) if not self.net.symptom[j]]
        unheard = self._pull(message, c, *zip(*checks, strict=True)) if checks else message
        self.silent[c] = self.hold[c] * self._quiet(step) * _summed(before * unheard)
        pulled = self._pull(message, c, step.findings, step.bits)
        self.present[c] = self.hold[c] * _summed(before * pulled)
        made: Array = pulled * self.hold[c]
        made += message * self.free[c]
        return made

    def _fire(self, state: Array, c: int, findings: Sequence[int], bits: Sequence[int]) -> Array:
        """Weight moved by a cause that holds: each link fires by itself. *state* is changed and returned."""
        for j, bit in zip(findings, bits, strict=True):
            link = self.links[j, c]
            view = state.reshape(-1, 2, (1 << bit) * self.count)
            view[:, 1] += link * view[:, 0]
            view[:, 0] *= 1.0 - link
        return state

    def _pull(self, message: Array, c: int, findings: Sequence[int], bits: Sequence[int]) -> Array:
        """The same read backward: the weight to come, seen from before the cause fires."""
        message = message.copy()
        for j, bit in zip(findings, bits, strict=True):
            link = self.links[j, c]
            view = message.reshape(-1, 2, (1 << bit) * self.count)
            view[:, 0] *= 1.0 - link
            view[:, 0] += link * view[:, 1]
        return message

    def _quiet(self, step: Step) -> Array:
        """The chance (r,) that a cause that holds stays silent on every symptom."""
        made = np.ones(self.count)
        for j in step.findings:
            made = made * (1.0 - self.links[j, step.index] * self.explain[j])
        return made

    # -- success ---------------------------------------------------------------------------------------------------

    def success(self, mend: Array) -> Array:
        """Return the weight (r,) in which every cause that fired on a symptom is mended, by chances *mend* (r,
        n): forward only.
        """
        works = _rows_last(mend)
        folded = [self._folded_if_mended(j, works) for j in range(len(self.net.symptom))]
        state = np.ones((1, self.count))
        for step in self.net.steps:
            state = (
                self._advance_if_mended(state, step, works)
                if step.kind == "cause"
                else self._advance(state, step, folded)
            )
        made: Array = state[0] * self._idle(state[0])
        return made

    def _folded_if_mended(self, j: int, works: Array) -> Pair:
        zero, one = self.no_leak[j], self.leak[j]
        for c in self.net.singles[j]:
            fired = self.hold[c] * self.links[j, c] * np.where(self.explain[j] > 0.0, works[c], 1.0)
            stays = self.free[c] + self.hold[c] * (1.0 - self.links[j, c])
            zero, one = zero * stays, one * (stays + fired) + zero * fired
        return zero, one

    def _advance_if_mended(self, state: Array, step: Step, works: Array) -> Array:
        """A cause that holds: silent on every symptom, or fired on some and mended;
        its links to checks fire either way.
        """
        c = step.index
        pairs = list(zip(step.findings, step.bits, strict=True))
        checks = [pair for pair in pairs if not self.net.symptom[pair[0]]]
        symptoms = [pair for pair in pairs if self.net.symptom[pair[0]]]
        moved: Array = state * self.hold[c]
        if checks:
            self._fire(moved, c, *zip(*checks, strict=True))
        if symptoms:
            fired = self._fire(moved * works[c], c, *zip(*symptoms, strict=True))
            moved = moved * (self._quiet(step) * (1.0 - works[c]))
            moved += fired
        moved += state * self.free[c]
        return moved


def _rows_last(table: Array) -> Array:
    """(r, n) as (n, r), so that each cause's weights lie side by side."""
    return np.ascontiguousarray(table.T)


def _summed(table: Array) -> Array:
    """The sum (r,) over all subsets of a table (2^open, r)."""
    made: Array = np.add.reduce(table, axis=0)
    return made
