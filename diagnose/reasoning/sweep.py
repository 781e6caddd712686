"""Exact inference on a two-layer noisy-OR network, many rows of weights at once.

The causes are swept one after another, keeping for each subset of the open findings the weight with which exactly that subset
has been fired. Every term is positive, so no digits are lost (the textbook inclusion-exclusion sum loses all of them). A
finding that is certainly absent is a factor on each cause; a cause with a single link folds into that finding's own two
numbers; causes with two links or more are swept, forward once and backward once, which gives every cause's marginal and its
"held but silent" weight together. Findings open and close on the way (`frontier.py`), and where one cause links to everything
(`not_listed` does) the sweep is done for it holding and not holding, so that it keeps nothing open. A row is one set of weights
over the same structure (one hypothetical answer, one answer left out), so that choosing a question costs few passes.

Only + - x / on arrays in a fixed order: no BLAS, no logarithm, no set order.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from diagnose.errors import InputError
from diagnose.reasoning.frontier import Order, Step, order_of

Array = NDArray[np.float64]
#: the two numbers of a finding: weight of not fired, weight of fired, shape (r,) each
Pair = tuple[Array, Array]

#: more findings than this open at once is not a case of one bad part; refused rather than approximated
MAX_OPEN = 16
#: floats that one block of rows may hold in the tables of forward messages
_BLOCK = 4_000_000


class TooManySeen(InputError):
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

    def part(self, start: int, stop: int) -> Rows:
        """Return rows *start* to *stop*."""
        return Rows(self.hold[start:stop], self.free[start:stop], self.leak[start:stop], self.quiet[start:stop], self.on[start:stop], self.off[start:stop])


@dataclass(frozen=True, slots=True)
class Swept:
    """*z*: (r,), weight of the evidence. *held*, *silent*: (r, n), weight in which a cause holds, and in which it holds
    without having fired any of its links to an open *symptom*."""

    z: Array
    held: Array
    silent: Array


class Structure:
    """Which causes link to which open findings, with what chance; *links* has shape (k, n), *symptom* (k,) bool.

    Raises TooManySeen where more than MAX_OPEN findings would stand open at once.
    """

    def __init__(self, links: Array, symptom: Sequence[bool]) -> None:
        self.links = links
        self.symptom = tuple(bool(flag) for flag in symptom)
        self.k, self.n = links.shape
        touched = {c: tuple(j for j in range(self.k) if links[j, c] > 0.0) for c in range(self.n)}
        self.idle = [c for c, findings in touched.items() if not findings]
        multi = {c: findings for c, findings in touched.items() if len(findings) > 1}
        self.wide, self.order = _best_order(multi, self.k)
        self.singles: list[list[int]] = [[c for c, findings in touched.items() if findings == (j,)] for j in range(self.k)]
        if self.order.peak > MAX_OPEN:
            raise TooManySeen(f"{self.k} symptoms and results are said to be seen, more than can be thought through together: keep the worst of them")

    # -- all of it -------------------------------------------------------------------------------------------------

    def sweep(self, rows: Rows) -> Swept:
        """Return the exact weights for all *rows*."""
        if self.wide is None:
            return self._narrow(rows)
        c, count = self.wide, rows.hold.shape[0]
        all_three = self._narrow(self._for_wide(rows, c))
        z, held, silent = ((a[:count], a[count : 2 * count], a[2 * count :]) for a in (all_three.z, all_three.held, all_three.silent))
        hold, free = rows.hold[:, c], rows.free[:, c]
        mixed = Swept(free * z[0] + hold * z[1], free[:, None] * held[0] + hold[:, None] * held[1], free[:, None] * silent[0] + hold[:, None] * silent[1])
        mixed.held[:, c] = hold * z[1]
        mixed.silent[:, c] = hold * z[2]
        return mixed

    def mended(self, rows: Rows, mend: Array) -> Array:
        """Return the weight, shape (r,), in which every cause that fired on an open symptom is mended.

        *mend*: (r, n), chance that the cause is mended if it had a part. A leak on a symptom is nobody's to mend: the caller sets its
        weight to 0. Forward pass only.
        """
        if self.wide is None:
            return self._narrow_mended(rows, mend)
        c, count = self.wide, rows.hold.shape[0]
        weight = self._narrow_mended(self._for_wide(rows, c), np.concatenate([mend, mend, mend]))
        absent, fired, silent = weight[:count], weight[count : 2 * count], weight[2 * count :]
        works = mend[:, c]
        return rows.free[:, c] * absent + rows.hold[:, c] * (works * fired + (1.0 - works) * silent)

    def _for_wide(self, rows: Rows, c: int) -> Rows:
        """Three times the rows: cause *c* does not hold; it holds and its links join the leaks; it holds, silent on every symptom."""
        link = self.links[:, c]
        stays = 1.0 - link
        silent = np.array(self.symptom, dtype=bool)
        fired = rows.leak + rows.quiet * link
        leak = np.concatenate([rows.leak, fired, np.where(silent, rows.leak * stays, fired)])
        quiet = np.concatenate([rows.quiet, rows.quiet * stays, rows.quiet * stays])
        hold, free, on, off = (np.concatenate([table] * 3) for table in (rows.hold, rows.free, rows.on, rows.off))
        return Rows(hold, free, leak, quiet, on, off)

    def _blocks(self, count: int) -> list[tuple[int, int]]:
        size = max(1, _BLOCK // (self.order.cost + 4))
        return [(start, min(start + size, count)) for start in range(0, count, size)]

    def _narrow(self, rows: Rows) -> Swept:
        parts = [_Pass(self, rows.part(start, stop)).both() for start, stop in self._blocks(rows.hold.shape[0])]
        if len(parts) == 1:
            return parts[0]
        return Swept(np.concatenate([p.z for p in parts]), np.concatenate([p.held for p in parts]), np.concatenate([p.silent for p in parts]))

    def _narrow_mended(self, rows: Rows, mend: Array) -> Array:
        return np.concatenate([_Pass(self, rows.part(start, stop)).mended(mend[start:stop]) for start, stop in self._blocks(rows.hold.shape[0])])


def _best_order(multi: dict[int, tuple[int, ...]], count: int) -> tuple[int | None, Order]:
    """Return the cause to be taken apart (three rows in place of one), if that is cheaper, and the order of the others."""
    plain = order_of(multi, count)
    if not multi:
        return None, plain
    widest = min(multi, key=lambda c: (-len(multi[c]), -c))
    without = order_of({c: findings for c, findings in multi.items() if c != widest}, count)
    return (widest, without) if 3 * without.cost < plain.cost else (None, plain)


class _Pass:
    """One block of rows on its way through the causes; tables have shape (2^open, r), weights of a cause (r,)."""

    def __init__(self, structure: Structure, rows: Rows) -> None:
        self.structure = structure
        self.links = structure.links
        self.hold, self.free, self.on, self.off, self.leak, self.quiet = (
            np.ascontiguousarray(table.T) for table in (rows.hold, rows.free, rows.on, rows.off, rows.leak, rows.quiet))
        self.count = self.hold.shape[1]
        self.held, self.silent = np.zeros_like(self.hold), np.zeros_like(self.hold)

    def both(self) -> Swept:
        """Forward, then backward."""
        pairs = [self._folded(j) for j in range(self.structure.k)]
        state = np.ones((1, self.count))
        states: list[Array] = []
        for step in self.structure.order.steps:
            states.append(state)
            state = self._advance(state, step, pairs)
        z = state[0]
        message = np.ones((1, self.count))
        for step, before in zip(reversed(self.structure.order.steps), reversed(states), strict=True):
            message = self._retreat(message, before, step, pairs)
        whole = self._idle(z)
        return Swept(z * whole, (self.held * whole).T, (self.silent * whole).T)

    def _idle(self, z: Array) -> Array:
        """The factor of the causes without links to what is open; fills their marginals (weight 0 where both weights are 0)."""
        whole = np.ones(self.count)
        for c in self.structure.idle:
            both = self.hold[c] + self.free[c]
            whole = whole * both
            self.held[c] = self.silent[c] = z * (self.hold[c] / np.where(both > 0.0, both, 1.0))
        return whole

    # -- causes with one link --------------------------------------------------------------------------------------

    def _folded(self, j: int) -> list[Pair]:
        """The two numbers of finding *j*: with the leak alone, then with each cause that has this one link, one after another."""
        pairs = [(self.quiet[j], self.leak[j])]
        for c in self.structure.singles[j]:
            zero, one = pairs[-1]
            link = self.links[j, c]
            fires = self.hold[c] * link
            pairs.append((zero * (self.free[c] + self.hold[c] * (1.0 - link)), one * (self.free[c] + self.hold[c]) + zero * fires))
        return pairs

    def _unfold(self, j: int, pairs: list[Pair], if_zero: Array, if_one: Array) -> None:
        """Fill the marginals of the causes with one link, from what the rest of the net makes of finding *j*."""
        mine = self.structure.singles[j]
        for c, (zero, one) in zip(reversed(mine), reversed(pairs[:-1]), strict=True):
            link = self.links[j, c]
            fires, stays = self.hold[c] * link, self.hold[c] * (1.0 - link)
            unfired = stays * (zero * if_zero + one * if_one)
            self.held[c] = unfired + fires * (zero + one) * if_one
            self.silent[c] = unfired if self.structure.symptom[j] else self.held[c]
            if_zero, if_one = if_zero * (self.free[c] + stays) + if_one * fires, if_one * (self.free[c] + self.hold[c])

    # -- steps -----------------------------------------------------------------------------------------------------

    def _advance(self, state: Array, step: Step, pairs: Sequence[list[Pair]]) -> Array:
        if step.kind == "open":
            zero, one = pairs[step.index][-1]
            return np.concatenate([state * zero, state * one])
        if step.kind == "close":
            return self._closed(state, step)
        c = step.index
        return state * self.free[c] + self._fire(state * self.hold[c], c, step.findings, step.bits)

    def _retreat(self, message: Array, before: Array, step: Step, pairs: Sequence[list[Pair]]) -> Array:
        """Return the message before *step*, filling the marginals of the causes that it concerns."""
        j = c = step.index
        if step.kind == "open":
            half = message.shape[0] // 2
            zero, one = pairs[j][-1]
            self._unfold(j, pairs[j], np.add.reduce(before * message[:half], axis=0), np.add.reduce(before * message[half:], axis=0))
            return message[:half] * zero + message[half:] * one
        if step.kind == "close":
            halves = message.reshape(-1, 1, 1 << step.bits[0], self.count)
            weights = np.stack([self.off[j], self.on[j]]).reshape(1, 2, 1, self.count)
            return (halves * weights).reshape(-1, self.count)
        pulled = self._pull(message, c, step.findings, step.bits)
        self.held[c] = self.hold[c] * np.add.reduce(before * pulled, axis=0)
        self.silent[c] = self.hold[c] * self._unheard(before, message, step)
        return message * self.free[c] + pulled * self.hold[c]

    def _closed(self, state: Array, step: Step) -> Array:
        halves = state.reshape(-1, 2, 1 << step.bits[0], self.count)
        return (halves[:, 0] * self.off[step.index] + halves[:, 1] * self.on[step.index]).reshape(-1, self.count)

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
            if self.structure.symptom[j]:
                quiet = quiet * (1.0 - float(self.links[j, step.index]))
            else:
                checks.append((j, bit))
        return checks, quiet

    def _unheard(self, before: Array, message: Array, step: Step) -> Array:
        """Weight in which a cause that holds stays silent on every symptom."""
        checks, quiet = self._parted(step)
        pulled = self._pull(message, step.index, [j for j, _ in checks], [bit for _, bit in checks]) if checks else message
        silent: Array = np.add.reduce(before * pulled, axis=0) * quiet
        return silent

    # -- mending ---------------------------------------------------------------------------------------------------

    def mended(self, mend: Array) -> Array:
        """Forward only, with what a cause does to a symptom weighed by its chance of being mended."""
        works = np.ascontiguousarray(mend.T)
        pairs = [[self._folded_mended(j, works)] for j in range(self.structure.k)]
        state = np.ones((1, self.count))
        for step in self.structure.order.steps:
            state = self._advance_mended(state, step, works) if step.kind == "cause" else self._advance(state, step, pairs)
        return state[0] * self._idle(state[0])

    def _folded_mended(self, j: int, works: Array) -> Pair:
        zero, one = self.quiet[j], self.leak[j]
        for c in self.structure.singles[j]:
            link = self.links[j, c]
            fired = self.hold[c] * link * (works[c] if self.structure.symptom[j] else 1.0)
            stays = self.free[c] + self.hold[c] * (1.0 - link)
            zero, one = zero * stays, one * (stays + fired) + zero * fired
        return zero, one

    def _advance_mended(self, state: Array, step: Step, works: Array) -> Array:
        """A cause that holds: silent on every symptom, or fired on some and mended; its links to checks fire either way."""
        c = step.index
        checks, quiet = self._parted(step)
        symptoms = [(j, bit) for j, bit in zip(step.findings, step.bits, strict=True) if self.structure.symptom[j]]
        moved = self._fire(state * self.hold[c], c, [j for j, _ in checks], [bit for _, bit in checks])
        if symptoms:
            heard = self._fire(moved.copy(), c, [j for j, _ in symptoms], [bit for _, bit in symptoms])
            moved = heard * works[c] + moved * (quiet * (1.0 - works[c]))
        return state * self.free[c] + moved
