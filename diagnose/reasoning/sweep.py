"""Exact inference on a two-layer noisy-OR network, many rows of weights at once.

The causes are swept one after another, keeping for each subset of the open findings the weight with which exactly that subset
has been fired. Every term is positive, so no digits are lost (the textbook inclusion-exclusion sum loses all of them). A
finding that is certainly absent is a factor on each cause; a cause with a single link folds into that finding's own two
numbers; only the causes with two links or more are swept over the subsets, forward once and backward once, which gives every
cause's marginal and its "held but silent" weight together. A row is one set of weights over the same structure (one
hypothetical answer, one answer left out), so that choosing a question costs no more passes than answering one.

Only + - x / on arrays in a fixed order: no BLAS, no logarithm, no set order. Cost: O(rows x multi-link causes x 2^open).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

#: more findings than this open at once is not a case of one bad part; refused rather than approximated
MAX_OPEN = 20
#: floats that one block of rows may hold in the table of forward messages
_BLOCK = 6_000_000


class TooManySeen(ValueError):
    """More effects are said to be seen than can be reasoned over exactly."""


@dataclass(frozen=True, slots=True)
class Rows:
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


@dataclass(frozen=True, slots=True)
class Swept:
    """*z*: (r,), weight of the evidence. *held*, *silent*: (r, n), weight in which a cause holds, and in which it holds
    without having fired any of its links to an open *symptom*."""

    z: Array
    held: Array
    silent: Array


class Structure:
    """Which causes link to which open findings, with what chance; *links* has shape (k, n), *symptom* (k,) bool."""

    def __init__(self, links: Array, symptom: Sequence[bool]) -> None:
        self.links = links
        self.symptom = tuple(bool(flag) for flag in symptom)
        self.k, self.n = links.shape
        if self.k > MAX_OPEN:
            raise TooManySeen(f"{self.k} effects said to be seen, expected at most {MAX_OPEN} in one case")
        touched = [[j for j in range(self.k) if links[j, c] > 0.0] for c in range(self.n)]
        self.idle = [c for c in range(self.n) if not touched[c]]
        self.single = [(c, touched[c][0]) for c in range(self.n) if len(touched[c]) == 1]
        self.multi = [(c, touched[c]) for c in range(self.n) if len(touched[c]) > 1]

    def sweep(self, rows: Rows) -> Swept:
        """Return the exact weights for all *rows*, in blocks that fit in memory."""
        count = rows.hold.shape[0]
        block = max(1, _BLOCK // ((len(self.multi) + 4) << self.k))
        parts = [self._block(_slice(rows, start, start + block)) for start in range(0, count, block)]
        if len(parts) == 1:
            return parts[0]
        return Swept(np.concatenate([p.z for p in parts]), np.concatenate([p.held for p in parts]), np.concatenate([p.silent for p in parts]))

    def mended(self, rows: Rows, mend: Array) -> Array:
        """Return the weight, shape (r,), in which every cause that fired on an open symptom is mended.

        *mend*: (r, n), chance that the cause is mended if it had a part. A leak on a symptom is nobody's to mend: the caller sets its
        weight to 0. Forward pass only.
        """
        count = rows.hold.shape[0]
        block = max(1, _BLOCK // (8 << self.k))
        parts = [self._mended(_slice(rows, start, start + block), mend[start : start + block]) for start in range(0, count, block)]
        return np.concatenate(parts)

    def _mended(self, rows: Rows, mend: Array) -> Array:
        hold, free, works = (np.ascontiguousarray(table.T) for table in (rows.hold, rows.free, mend))
        pairs = [(rows.quiet[:, j].copy(), rows.leak[:, j].copy()) for j in range(self.k)]
        for c, j in self.single:
            link, before = self.links[j, c], pairs[j]
            fired = hold[c] * link * (works[c] if self.symptom[j] else 1.0)
            stays = free[c] + hold[c] * (1.0 - link)
            pairs[j] = (before[0] * stays, before[1] * (stays + fired) + before[0] * fired)
        state = _outer([pair[0] for pair in pairs], [pair[1] for pair in pairs], hold.shape[1])
        for c, findings in self.multi:
            state = state * free[c] + self._fire_mended(state * hold[c], works[c], c, findings)
        end = _outer(list(np.ascontiguousarray(rows.off.T)), list(np.ascontiguousarray(rows.on.T)), hold.shape[1])
        weight = np.add.reduce(state * end, axis=0)
        for c in self.idle:
            weight = weight * (hold[c] + free[c])
        return weight

    def _fire_mended(self, state: Array, works: Array, c: int, findings: Sequence[int]) -> Array:
        """A cause that holds: silent on every symptom, or fired on some and mended; its links to checks fire either way."""
        checks = [j for j in findings if not self.symptom[j]]
        symptoms = [j for j in findings if self.symptom[j]]
        state = self._fire(state, c, checks) if checks else state
        if not symptoms:
            return state
        quiet = 1.0
        for j in symptoms:
            quiet = quiet * (1.0 - self.links[j, c])
        return self._fire(state, c, symptoms) * works + state * (quiet * (1.0 - works))

    def _block(self, rows: Rows) -> Swept:
        hold, free = np.ascontiguousarray(rows.hold.T), np.ascontiguousarray(rows.free.T)
        on, off = np.ascontiguousarray(rows.on.T), np.ascontiguousarray(rows.off.T)
        pairs = self._pairs(rows, hold, free)
        start = _outer([pair[0] for pair in pairs], [pair[1] for pair in pairs], hold.shape[1])
        end = _outer(list(off), list(on), hold.shape[1])
        forward = self._forward(start, hold, free)
        held, silent = np.zeros_like(hold), np.zeros_like(hold)
        back = self._backward(forward, end, hold, free, held, silent)
        z = np.add.reduce(start * back, axis=0)
        self._singles(pairs, back, rows, hold, free, held, silent)
        idle = np.ones_like(z)
        for c in self.idle:
            idle = idle * (hold[c] + free[c])
        for c in self.idle:
            share = hold[c] / (hold[c] + free[c])
            held[c] = z * share
            silent[c] = held[c]
        return Swept(z * idle, (held * idle).T, (silent * idle).T)

    def _pairs(self, rows: Rows, hold: Array, free: Array) -> list[tuple[Array, Array]]:
        """For each finding its own two numbers (not fired, fired): the leak and the causes with that one link."""
        pairs = [(rows.quiet[:, j].copy(), rows.leak[:, j].copy()) for j in range(self.k)]
        for c, j in self.single:
            pairs[j] = self._fold(pairs[j], c, j, hold, free)
        return pairs

    def _fold(self, pair: tuple[Array, Array], c: int, j: int, hold: Array, free: Array) -> tuple[Array, Array]:
        link = self.links[j, c]
        stays = free[c] + hold[c] * (1.0 - link)
        return pair[0] * stays, pair[1] * (free[c] + hold[c]) + pair[0] * (hold[c] * link)

    def _fire(self, state: Array, c: int, findings: Sequence[int]) -> Array:
        """Weight moved by a cause that holds: each link fires by itself."""
        state = state.copy()
        for j in findings:
            link = self.links[j, c]
            view = state.reshape(-1, 2, (1 << j) * state.shape[1])
            view[:, 1] += link * view[:, 0]
            view[:, 0] *= 1.0 - link
        return state

    def _pull(self, message: Array, c: int, findings: Sequence[int]) -> Array:
        """The same read backward: the weight to come, seen from before the cause fires."""
        message = message.copy()
        for j in findings:
            link = self.links[j, c]
            view = message.reshape(-1, 2, (1 << j) * message.shape[1])
            view[:, 0] *= 1.0 - link
            view[:, 0] += link * view[:, 1]
        return message

    def _forward(self, start: Array, hold: Array, free: Array) -> list[Array]:
        forward = [start]
        for c, findings in self.multi[:-1]:
            state = forward[-1]
            forward.append(state * free[c] + self._fire(state * hold[c], c, findings))
        return forward

    def _backward(self, forward: list[Array], end: Array, hold: Array, free: Array, held: Array, silent: Array) -> Array:
        """Run back over the multi-link causes, filling their marginals; return the message at the start."""
        message = end
        for index in range(len(self.multi) - 1, -1, -1):
            c, findings = self.multi[index]
            pulled = self._pull(message, c, findings)
            held[c] = hold[c] * np.add.reduce(forward[index] * pulled, axis=0)
            silent[c] = hold[c] * self._silent(forward[index], message, c, findings)
            message = message * free[c] + pulled * hold[c]
        return message

    def _silent(self, state: Array, message: Array, c: int, findings: Sequence[int]) -> Array:
        checks = [j for j in findings if not self.symptom[j]]
        quiet = 1.0
        for j in findings:
            if self.symptom[j]:
                quiet = quiet * (1.0 - self.links[j, c])
        return np.add.reduce(state * (self._pull(message, c, checks) if checks else message), axis=0) * quiet

    def _singles(self, pairs: list[tuple[Array, Array]], back: Array, rows: Rows, hold: Array, free: Array, held: Array, silent: Array) -> None:
        """Marginals of the folded causes: the finding's two numbers without one of them, against the rest of the net."""
        for j in range(self.k):
            mine = [c for c, finding in self.single if finding == j]
            if not mine:
                continue
            rest = _outer([np.ones_like(p[0]) if i == j else p[0] for i, p in enumerate(pairs)],
                          [np.ones_like(p[1]) if i == j else p[1] for i, p in enumerate(pairs)], hold.shape[1])
            halves = (rest * back).reshape(-1, 2, 1 << j, hold.shape[1])
            if_off, if_on = (np.add.reduce(np.add.reduce(halves[:, side], axis=0), axis=0) for side in (0, 1))
            for c in mine:
                pair = (rows.quiet[:, j].copy(), rows.leak[:, j].copy())
                for other in mine:
                    if other != c:
                        pair = self._fold(pair, other, j, hold, free)
                link = self.links[j, c]
                unfired = hold[c] * (1.0 - link) * (pair[0] * if_off + pair[1] * if_on)
                fired = hold[c] * link * (pair[0] + pair[1]) * if_on
                held[c] = unfired + fired
                silent[c] = unfired if self.symptom[j] else held[c]


def _slice(rows: Rows, start: int, stop: int) -> Rows:
    return Rows(*(getattr(rows, name)[start:stop] for name in ("hold", "free", "leak", "quiet", "on", "off")))


def _outer(zeros: Sequence[Array], ones: Sequence[Array], count: int) -> Array:
    """Return the product over findings, shape (2^k, rows): bit j of the first index chooses ones[j] or zeros[j]."""
    table = np.ones((1, count))
    for zero, one in zip(zeros, ones, strict=True):
        table = np.concatenate([table * zero, table * one])
    return table
