"""One way forward and back through the causes, for a block of rows at once: the arithmetic of `sweep.py`.

Tables hold a weight for each subset of the findings open at that step, shape (2^open, rows); bit b of the first index says
whether the finding at bit b has been fired. Only + - x / in a fixed order.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from diagnose.reasoning.elimination_order import Step

Array = NDArray[np.float64]
#: the two numbers of a finding: weight of not fired, weight of fired, shape (r,) each
Pair = tuple[Array, Array]


@dataclass(frozen=True, slots=True)
class Potentials:
    """Weights of *r* rows over *n* causes and *k* open findings.

    *hold*, *free*: shape (r, n), weight of each cause holding or not (a prior times the factors of absent findings, and its
    complement; they need not sum to 1). *leak*: (r, k), weight of the leak firing; *quiet*: (r, k), of it not firing.
    *on*, *off*: (r, k), likelihood weights of the finding fired and not fired.
    """

    hold: Array
    free: Array
    leak: Array
    quiet: Array
    on: Array
    off: Array

    def part(self, start: int, stop: int) -> Potentials:
        """Return rows *start* to *stop*."""
        return Potentials(
            self.hold[start:stop],
            self.free[start:stop],
            self.leak[start:stop],
            self.quiet[start:stop],
            self.on[start:stop],
            self.off[start:stop],
        )


@dataclass(frozen=True, slots=True)
class Weights:
    """*z*: (r,), weight of the evidence. *held*, *silent*: (r, n), weight in which a cause holds, and in which it holds
    without having fired any of its links to an open *symptom*."""

    z: Array
    held: Array
    silent: Array


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
    """One block of rows on its way through the causes; tables have shape (2^open, r), weights of a cause (r,)."""

    def __init__(self, net: Net, rows: Potentials) -> None:
        self.net = net
        self.links = net.links
        self.hold, self.free = _turned(rows.hold), _turned(rows.free)
        self.leak, self.quiet = _turned(rows.leak), _turned(rows.quiet)
        self.on, self.off = _turned(rows.on), _turned(rows.off)
        self.count: int = self.hold.shape[1]
        self.held, self.silent = np.zeros_like(self.hold), np.zeros_like(self.hold)

    def both(self) -> Weights:
        """Forward, then backward."""
        pairs = [self._folded(j) for j in range(len(self.net.symptom))]
        state = np.ones((1, self.count))
        states: list[Array] = []
        for step in self.net.steps:
            states.append(state)
            state = self._advance(state, step, pairs)
        z = state[0]
        message = np.ones((1, self.count))
        for step, before in zip(reversed(self.net.steps), reversed(states), strict=True):
            message = self._retreat(message, before, step, pairs)
        whole = self._idle(z)
        return Weights(z * whole, (self.held * whole).T, (self.silent * whole).T)

    def _idle(self, z: Array) -> Array:
        """The factor of the causes without links to what is open; fills their marginals (weight 0 where both weights are 0)."""
        whole = np.ones(self.count)
        for c in self.net.idle:
            both = self.hold[c] + self.free[c]
            whole = whole * both
            self.held[c] = self.silent[c] = z * (self.hold[c] / np.where(both > 0.0, both, 1.0))
        return whole

    # -- causes with one link --------------------------------------------------------------------------------------

    def _folded(self, j: int) -> list[Pair]:
        """The two numbers of finding *j*: with the leak alone, then with each cause that has this one link, one after another."""
        pairs = [(self.quiet[j], self.leak[j])]
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
        """Fill the marginals of the causes with one link, from what the rest of the net makes of finding *j*."""
        mine = self.net.singles[j]
        for c, (zero, one) in zip(reversed(mine), reversed(pairs[:-1]), strict=True):
            link = self.links[j, c]
            fires, stays = self.hold[c] * link, self.hold[c] * (1.0 - link)
            unfired = stays * (zero * if_zero + one * if_one)
            self.held[c] = unfired + fires * (zero + one) * if_one
            self.silent[c] = unfired if self.net.symptom[j] else self.held[c]
            if_zero, if_one = if_zero * (self.free[c] + stays) + if_one * fires, if_one * (self.free[c] + self.hold[c])

    # -- steps -----------------------------------------------------------------------------------------------------

    def _advance(self, state: Array, step: Step, pairs: Sequence[list[Pair]]) -> Array:
        if step.kind == "open":
            zero, one = pairs[step.index][-1]
            wider = np.empty((2 * state.shape[0], self.count))
            np.multiply(state, zero, out=wider[: state.shape[0]])
            np.multiply(state, one, out=wider[state.shape[0] :])
            return wider
        if step.kind == "close":
            return self._closed(state, step)
        c = step.index
        moved = self._fire(state * self.hold[c], c, step.findings, step.bits)
        moved += state * self.free[c]
        return moved

    def _retreat(self, message: Array, before: Array, step: Step, pairs: Sequence[list[Pair]]) -> Array:
        """Return the message before *step*, filling the marginals of the causes that it concerns."""
        j = c = step.index
        made: Array
        if step.kind == "open":
            half = message.shape[0] // 2
            zero, one = pairs[j][-1]
            self._unfold(
                j,
                pairs[j],
                np.add.reduce(before * message[:half], axis=0),
                np.add.reduce(before * message[half:], axis=0),
            )
            made = message[:half] * zero + message[half:] * one
        elif step.kind == "close":
            halves = message.reshape(-1, 1, 1 << step.bits[0], self.count)
            weights = np.stack([self.off[j], self.on[j]]).reshape(1, 2, 1, self.count)
            made = (halves * weights).reshape(-1, self.count)
        else:
            pulled = self._pull(message, c, step.findings, step.bits)
            self.held[c] = self.hold[c] * np.add.reduce(before * pulled, axis=0)
            self.silent[c] = self.hold[c] * self._unheard(before, message, step)
            pulled *= self.hold[c]
            pulled += message * self.free[c]
            made = pulled
        return made

    def _closed(self, state: Array, step: Step) -> Array:
        halves = state.reshape(-1, 2, 1 << step.bits[0], self.count)
        made: Array = (halves[:, 0] * self.off[step.index] + halves[:, 1] * self.on[step.index]).reshape(-1, self.count)
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

    def _parted(self, step: Step) -> tuple[list[tuple[int, int]], float]:
        """The (finding, bit) of the links to checks, and the chance of silence on all the symptoms."""
        checks, quiet = [], 1.0
        for j, bit in zip(step.findings, step.bits, strict=True):
            if self.net.symptom[j]:
                quiet = quiet * (1.0 - float(self.links[j, step.index]))
            else:
                checks.append((j, bit))
        return checks, quiet

    def _unheard(self, before: Array, message: Array, step: Step) -> Array:
        """Weight in which a cause that holds stays silent on every symptom."""
        checks, quiet = self._parted(step)
        pulled = (
            self._pull(message, step.index, [j for j, _ in checks], [bit for _, bit in checks]) if checks else message
        )
        silent: Array = np.add.reduce(before * pulled, axis=0) * quiet
        return silent

    # -- mending ---------------------------------------------------------------------------------------------------

    def mended(self, mend: Array) -> Array:
        """Forward only, with what a cause does to a symptom weighed by its chance of being mended."""
        works = _turned(mend)
        pairs = [[self._folded_mended(j, works)] for j in range(len(self.net.symptom))]
        state = np.ones((1, self.count))
        for step in self.net.steps:
            state = (
                self._advance_mended(state, step, works) if step.kind == "cause" else self._advance(state, step, pairs)
            )
        made: Array = state[0] * self._idle(state[0])
        return made

    def _folded_mended(self, j: int, works: Array) -> Pair:
        zero, one = self.quiet[j], self.leak[j]
        for c in self.net.singles[j]:
            link = self.links[j, c]
            fired = self.hold[c] * link * (works[c] if self.net.symptom[j] else 1.0)
            stays = self.free[c] + self.hold[c] * (1.0 - link)
            zero, one = zero * stays, one * (stays + fired) + zero * fired
        return zero, one

    def _advance_mended(self, state: Array, step: Step, works: Array) -> Array:
        """A cause that holds: silent on every symptom, or fired on some and mended; its links to checks fire either way."""
        c = step.index
        checks, quiet = self._parted(step)
        symptoms = [(j, bit) for j, bit in zip(step.findings, step.bits, strict=True) if self.net.symptom[j]]
        moved = self._fire(state * self.hold[c], c, [j for j, _ in checks], [bit for _, bit in checks])
        if symptoms:
            heard = self._fire(moved.copy(), c, [j for j, _ in symptoms], [bit for _, bit in symptoms])
            moved = heard * works[c] + moved * (quiet * (1.0 - works[c]))
        made: Array = state * self.free[c] + moved
        return made


def _turned(table: Array) -> Array:
    """Potentials last, so that each cause's weights lie side by side."""
    return np.ascontiguousarray(table.T)
