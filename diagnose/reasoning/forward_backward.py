"""One way forward and back through the causes, for a block of rows at once: the arithmetic of `elimination.py`.

Tables hold a weight for each subset of the findings open at that step, shape (2^open, r) for r rows; bit b of the first
index says whether the finding at bit b has been fired. Only + - x / in a fixed order.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from diagnose.reasoning.elimination_order import Step

Array = NDArray[np.float64]
#: the two numbers of a finding: weight of not fired, weight of fired, shape (r,) each
Pair = tuple[Array, Array]
#: stands for a table that is not needed on the way back
_NONE: Array = np.empty(0)


class Potentials(Struct, frozen=True):
    """Weights of *r* rows over *n* causes and *k* positive findings.

    *present*, *absent*: shape (n, r), weight of each cause holding or not (a prior times the factors of negative
    findings, and its complement; they need not sum to 1). *leak*, *no_leak*: (k, r), weight of the leak firing or not.
    *on*, *off*: (k, r), likelihood weights of the finding fired and not fired; 1 and 1 leave it out. *explain*: (k, r),
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
        return Potentials(*(getattr(self, name)[:, start:stop] for name in self.__struct_fields__))

    def times(self, present: Array, absent: Array | float = 1.0) -> Potentials:
        """Return the rows with the weights of the causes multiplied, shapes (n, r)."""
        return Potentials(
            self.present * present, self.absent * absent, self.leak, self.no_leak, self.on, self.off, self.explain
        )


class Weights(Struct, frozen=True):
    """*evidence*: (r,), weight of the findings. *present*, *silent*:
    (n, r), weight in which a cause holds, and in which it holds without having fired any of its links to a symptom."""

    evidence: Array
    present: Array
    silent: Array

    def part(self, start: int, stop: int) -> Weights:
        """Return rows *start* to *stop*."""
        return Weights(self.evidence[start:stop], self.present[:, start:stop], self.silent[:, start:stop])

    @property
    def responsible(self) -> Array:
        """Weight in which each cause had a part in a symptom, shape (n, r)."""
        made: Array = np.maximum(self.present - self.silent, 0.0)
        return made


class Net(Struct, frozen=True):
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

    *apart*: findings each of which is left out in a further row, beside one row *rows* in which none is. Forward such a
    row is the first until its finding closes, and backward until it opens again, so it takes half a pass. The rows come
    in the order of closing.
    """

    def __init__(self, net: Net, rows: Potentials, apart: Collection[int] = ()) -> None:
        self.net = net
        self.links = net.links
        self.hold, self.free = rows.present, rows.absent
        self.leak, self.no_leak = rows.leak, rows.no_leak
        self.on, self.off, self.explain = rows.on, rows.off, rows.explain
        self.count: int = self.hold.shape[1]
        self.apart = [step.index for step in net.steps if step.kind == "close" and step.index in apart]
        if self.apart:
            self.explain = np.repeat(self.explain, 1 + len(self.apart), axis=1)
            self.explain[self.apart, range(1, 1 + len(self.apart))] = 0.0
        shape = (len(self.hold), self.count + len(self.apart))
        self.present, self.silent = np.zeros(shape), np.zeros(shape)

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
        return Weights(z * whole, self.present * whole, self.silent * whole)

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
        hold = self.hold[self.net.idle]
        both = hold + self.free[self.net.idle]
        self.present[self.net.idle] = self.silent[self.net.idle] = z * (hold / np.where(both > 0.0, both, 1.0))
        whole: Array = np.multiply.reduce(both, axis=0)
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
            halves = state.reshape(-1, 2, 1 << step.bits[0], state.shape[1])
            made: Array = halves[:, 0] * self.off[step.index] + halves[:, 1] * self.on[step.index]
            if step.index in self.apart:
                made = np.concatenate([made, halves[:, 0, :, :1] + halves[:, 1, :, :1]], axis=2)
            return made.reshape(-1, made.shape[2])
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
                self._unfold(j, folded[j], self._met(before, message[:half]), self._met(before, message[half:]))
            return message[:half] * zero + message[half:] * one
        if step.kind == "close":
            halves = message.reshape(-1, 1, 1 << step.bits[0], message.shape[1])
            closed: Array = halves * np.stack([self.off[j], self.on[j]])[None, :, None]
            if j in self.apart:
                closed = np.concatenate([closed, np.repeat(halves[..., :1], 2, axis=1)], axis=3)
            return closed.reshape(-1, closed.shape[3])
        checks = [(j, bit) for j, bit in zip(step.findings, step.bits, strict=True) if not self.net.symptom[j]]
        unheard = self._pull(message.copy(), c, *zip(*checks, strict=True)) if checks else message
        self.silent[c] = self.hold[c] * self._quiet(step) * self._met(before, unheard)
        pulled = self._pull(message * self.hold[c], c, step.findings, step.bits)
        self.present[c] = self._met(before, pulled)
        pulled += message * self.free[c]
        return pulled

    def _met(self, before: Array, message: Array) -> Array:
        """The weight of each row where what came forward meets what came backward;
        of the rows apart one of the two is the first's.
        """
        r = self.count
        if not self.apart:
            return _summed(before * message)
        closed, still_open = before[:, r:] * message[:, :r], before[:, :r] * message[:, r:]
        return np.concatenate([_summed(before[:, :r] * message[:, :r]), _summed(closed), _summed(still_open)[::-1]])

    def _fire(self, state: Array, c: int, findings: Sequence[int], bits: Sequence[int]) -> Array:
        """Weight moved by a cause that holds: each link fires by itself. *state* is changed and returned."""
        for j, bit in zip(findings, bits, strict=True):
            link = self.links[j, c]
            view = state.reshape(-1, 2, (1 << bit) * state.shape[1])
            view[:, 1] += link * view[:, 0]
            view[:, 0] *= 1.0 - link
        return state

    def _pull(self, message: Array, c: int, findings: Sequence[int], bits: Sequence[int]) -> Array:
        """The same read backward: the weight to come, seen from before the cause fires.
        *message* is changed and returned.
        """
        for j, bit in zip(findings, bits, strict=True):
            link = self.links[j, c]
            view = message.reshape(-1, 2, (1 << bit) * message.shape[1])
            view[:, 0] *= 1.0 - link
            view[:, 0] += link * view[:, 1]
        return message

    def _quiet(self, step: Step) -> Array:
        """The chance (r,) that a cause that holds stays silent on every symptom."""
        made = np.ones(self.explain.shape[1])
        for j in step.findings:
            made = made * (1.0 - self.links[j, step.index] * self.explain[j])
        return made

    # -- success ---------------------------------------------------------------------------------------------------

    def success(self, mend: Array) -> Array:
        """Return the weight (r,) in which every cause that fired on a symptom is mended, by chances *mend* (n,
        r): forward only.
        """
        folded = [self._folded_if_mended(j, mend) for j in range(len(self.net.symptom))]
        state = np.ones((1, self.count))
        for step in self.net.steps:
            state = (
                self._advance_if_mended(state, step, mend)
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


def _summed(table: Array) -> Array:
    """The sum (r,) over all subsets of a table (2^open, r)."""
    made: Array = np.add.reduce(table, axis=0)
    return made
