"""One way forward and back through the causes, for a block of rows at once: the arithmetic of `elimination.py`.

Tables hold a weight for each subset of the findings open at that step, shape (2^open, r) for r rows; bit b of the first
index says whether the finding at bit b has been fired. A cause is absent, holds, or is hushed: it holds, but fires on
no symptom. What comes back is the slope of the evidence in each of these weights, so that one pass serves beliefs,
parts and plans alike. Causes with a single link are taken all at once, by running products and sums. Only + - x / in a
fixed order.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from typing import NamedTuple

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from diagnose.reasoning.elimination_order import Step

Array = NDArray[np.float64]
#: links of one cause: chance, and how far apart in the table a subset stands with the finding and without it
Links = list[tuple[float, int]]
#: a table of few columns is summed in two goes, for numpy is slow on short rows
_FEW, _GO = 16, 32


class Potentials(Struct, frozen=True):
    """Weights of *r* rows over *n* causes and *k* positive findings.

    *present*, *absent*: shape (n, r), weight of each cause holding or not (a prior times the factors of negative
    findings, and its complement; they need not sum to 1). *leak*, *no_leak*: weight of the leak firing or not. *on*,
    *off*: likelihood weights of the finding fired and not fired; 1 and 1 leave it out. *explain*: 1 where the finding
    is a symptom that a cause may have had a part in, else 0; a symptom left out is 0. These five are (k, r), or (k, 1)
    where all rows are alike. *hushed*: (n, r) or (n, 1), weight of each cause holding but firing on no symptom, beside
    *present*.
    """

    present: Array
    absent: Array
    leak: Array
    no_leak: Array
    on: Array
    off: Array
    explain: Array
    hushed: Array

    @property
    def count(self) -> int:
        """How many rows there are."""
        return len(self.present[0])

    def part(self, start: int, stop: int) -> Potentials:
        """Return rows *start* to *stop*."""
        tables = [getattr(self, name) for name in self.__struct_fields__]
        return Potentials(*(t[:, start:stop] if t.shape[1] > 1 else t for t in tables))

    def times(self, present: Array, absent: Array | float = 1.0) -> Potentials:
        """Return the rows with the weights of the causes multiplied, shapes (n, r); one row stands for any number."""
        rest = [getattr(self, name) for name in self.__struct_fields__][2:]
        return Potentials(self.present * present, self.absent * absent, *rest)


class Slopes(NamedTuple):
    """*evidence*: (r,), weight of the findings. *absent*, *holding*, *hushed*: (n, r), how much that weight grows with
    the weight of each cause being so; *hushed* of mixed causes alone, *absent* not of those without a link.
    """

    evidence: Array
    absent: Array
    holding: Array
    hushed: Array


class Net:
    """What the passes share: *links* (k, n), and which findings are symptoms, (k,).

    *idle*: causes without a link; *several*: with more than one, and *linked*, their findings. *alone*: (2, k, d + 1),
    none, which is n, and then the causes whose only link is to the finding, filled up with n, from the first and from
    the last; *fires*, *stays*: (2, k, d + 1, 1), the chance that this link does; *heard*: which findings have any.
    *mixed*, *symptomatic*: (n,), whether a cause links to both symptoms and checks, and whether to symptoms only.
    """

    def __init__(self, links: Array, symptom: NDArray[np.bool_]) -> None:
        k, n = links.shape
        self.links, self.symptom = links, symptom
        linked = links > 0.0
        shown = np.logical_or.reduce(linked[symptom], axis=0)
        tested = np.logical_or.reduce(linked[~symptom], axis=0)
        self.mixed, self.symptomatic = shown & tested, shown & ~tested
        found: dict[int, list[int]] = {}
        for c, j in np.argwhere(linked.T).tolist():
            found.setdefault(c, []).append(j)
        self.linked: Mapping[int, Sequence[int]] = {c: findings for c, findings in found.items() if len(findings) > 1}
        self.several = list(self.linked)
        single: list[list[int]] = [[] for _ in range(k)]
        for c, findings in found.items():
            if len(findings) == 1:
                single[findings[0]].append(c)
        self.alone: NDArray[np.intp] = np.full((2, k, 1 + max(map(len, single), default=0)), n)
        self.fires = np.zeros((*self.alone.shape, 1))
        for j, causes in enumerate(single):
            self.alone[0, j, 1 : len(causes) + 1] = causes
            self.fires[0, j, 1 : len(causes) + 1, 0] = links[j, causes]
        self.alone[1, :, 1:], self.fires[1, :, 1:] = self.alone[0, :, :0:-1], self.fires[0, :, :0:-1]
        self.stays = 1.0 - self.fires
        self.idle: list[int] = np.flatnonzero(~(shown | tested)).tolist()
        self.heard = [len(causes) > 0 for causes in single]


class Route:
    """The steps of the sweep of a *net*. *firing*: the links of each cause swept, those to checks and to symptoms."""

    def __init__(self, net: Net, steps: Sequence[Step]) -> None:
        self.net, self.steps = net, steps
        self.firing = {step.index: self._firing(step) for step in steps if step.kind == "cause"}

    def _firing(self, step: Step) -> tuple[Links, Links]:
        found: tuple[Links, Links] = [], []
        for j, bit in zip(step.findings, step.bits, strict=True):
            found[int(self.net.symptom[j])].append((float(self.net.links[j, step.index]), 1 << bit))
        return found


class Folded:
    """A block of rows in which the causes with one link are folded into the leaks, and those without stand aside.

    *hold*, *free*: (n + 1, r), the weights of holding and not, of none last, and *hushed*, (n, r), or (n, 1) where none
    *hushes*, all divided by the *whole* of the first two; *scale*: (r,), by which all is too little then. *unfired*,
    *fired*: (2, k, d + 1, r), the weights of the leak and the causes with one link before the first of these, before
    the second ..., and without the leak from behind. *pairs*: (k, 2, r), what all of them make of each finding, not
    fired and fired; *reading*: (k, 2, r), what that weighs. Only a cause that is *mixed* may be hushed here.
    """

    def __init__(self, net: Net, rows: Potentials) -> None:
        self.net, self.count, n = net, rows.count, len(rows.present)
        whole = rows.present + rows.absent
        self.scale: Array = np.multiply.reduce(whole, axis=0)
        self.whole = _not_nought(whole)
        self.hold, self.free = np.empty((2, n + 1, self.count))
        self.hold[n], self.free[n] = 0.0, 1.0
        np.divide(rows.present, self.whole, out=self.hold[:n])
        np.divide(rows.absent, self.whole, out=self.free[:n])
        self.hushes = bool(np.any(rows.hushed))
        self.hushed: Array = rows.hushed / self.whole if self.hushes else rows.hushed
        self.both = np.empty((2, len(rows.leak), 2, self.count))
        self.pairs, self.reading = self.both
        self.reading[:, 0], self.reading[:, 1] = rows.off, rows.on
        self._fold(rows)

    def _fold(self, rows: Potentials) -> None:
        """What the leak and the causes with one link make of each finding. The two weights of a cause, not firing and
        firing, have a sum of 1, so that fired is a running sum.
        """
        held, stays = self.hold.take(self.net.alone, axis=0), self.free.take(self.net.alone, axis=0)
        stays += held * self.net.stays
        stays[0, :, 0] = rows.no_leak
        self.unfired: Array = np.multiply.accumulate(stays, axis=2)
        self.fired = np.multiply(held, self.net.fires, out=held)
        self.fired[:, :, 1:] *= self.unfired[:, :, :-1]
        self.fired[0, :, 0] = rows.leak
        np.add.accumulate(self.fired, axis=2, out=self.fired)
        self.pairs[:, 0], self.pairs[:, 1] = self.unfired[0, :, -1], self.fired[0, :, -1]

    def _unfold(self, met: Array) -> tuple[Array, Array]:
        """The slopes of these causes being absent and holding, (k, d, r), from what the rest of the net makes of each
        finding not fired and fired, *met* (k, 2, r).
        """
        (zero, quiet), (one, fired) = self.unfired, self.fired
        zero, one, if_one = zero[:, :-1], one[:, :-1], met[:, 1:]
        stays = zero * (quiet[:, -2::-1] * met[:, :1] + fired[:, -2::-1] * if_one) + one * if_one
        return stays, self.net.stays[0, :, 1:] * stays + self.net.fires[0, :, 1:] * ((zero + one) * if_one)

    def _whole(self, z: Array, slopes: Array, met: Array) -> Slopes:
        """All slopes that are looked at, from the *slopes* of causes with several links in being absent, holding and
        hushed, (3, n + 1, r), and what the rest of the net makes of each finding, *met* (k, 2, r); *z*: the evidence.
        """
        alone = self.net.alone[0, :, 1:]
        slopes[0, alone], slopes[1, alone] = self._unfold(met)
        slopes[1, self.net.idle] = z
        looked_at = slopes[:, :-1]
        looked_at /= self.whole
        return Slopes(z, *looked_at)


class Pass(Folded):
    """One block of rows on its way through the causes; tables have shape (2^open, r),
    weights of a cause or finding (r,).

    *apart*: findings each of which is left out in a further row, beside one row *rows* in which none is. Forward such a
    row is the first until its finding closes, and backward until it opens again, so it takes half a pass. The rows come
    in the order of closing. Causes may be hushed forward only.
    """

    def __init__(self, route: Route, rows: Potentials, apart: Collection[int] = ()) -> None:
        super().__init__(route.net, rows)
        self.route = route
        self.apart = [step.index for step in route.steps if step.kind == "close" and step.index in apart]

    # -- forward -----------------------------------------------------------------------------------------------------

    def evidence(self) -> Array:
        """Return the weight of the findings, (r,), then that of the rows apart: forward only."""
        made: Array = self._forward(None)[0] * self.scale
        return made

    def _forward(self, kept: list[Array] | None) -> Array:
        """The table after the last step; the tables before each are *kept*."""
        state = np.ones((1, self.count))
        for step in self.route.steps:
            if kept is not None:
                kept.append(state)
            if step.kind == "open":
                state = (state * self.pairs[step.index, :, None]).reshape(-1, state.shape[1])
            elif step.kind == "close":
                state = self._close(state, step)
            else:
                state = self._advance(state, step.index)
        return state

    def _close(self, state: Array, step: Step) -> Array:
        halves, (off, on) = state.reshape(-1, 2, 1 << step.bits[0], state.shape[1]), self.reading[step.index]
        made: Array = halves[:, 0] * off + halves[:, 1] * on
        if step.index in self.apart:
            made = np.concatenate([made, halves[:, 0, :, :1] + halves[:, 1, :, :1]], axis=2)
        return made.reshape(-1, made.shape[2])

    def _advance(self, state: Array, c: int) -> Array:
        checks, symptoms = self.route.firing[c]
        moved = _fire(state * self.hold[c], symptoms)
        if self.hushes and self.net.mixed[c]:
            moved += state * self.hushed[c]
        moved = _fire(moved, checks)
        moved += state * self.free[c]
        return moved

    # -- backward ----------------------------------------------------------------------------------------------------

    def slopes(self) -> Slopes:
        """Return the evidence and its slopes in the weights of all causes: forward, then backward."""
        net, kept = self.net, list[Array]()
        z = self._forward(kept)[0] * self.scale
        slopes = np.zeros((3, len(self.hold), len(z)))
        absent, holding, hushed = slopes
        met = np.zeros((len(self.pairs), 2, len(z)))
        message = self.scale[None]
        for step in reversed(self.route.steps):
            before, j = kept.pop(), step.index
            if step.kind == "close":
                message = self._reopen(message, step)
            elif step.kind == "cause":
                absent[j] = self._met(before, message)
                message, hushed[j], holding[j] = self._retreat(before, message, j)
            else:
                halves = message.reshape(2, -1, message.shape[1])
                if net.heard[j]:
                    met[j] = self._met(before, halves[0]), self._met(before, halves[1])
                message = halves[0] * self.pairs[j, 0] + halves[1] * self.pairs[j, 1]
        return self._whole(z, slopes, met)

    def _reopen(self, message: Array, step: Step) -> Array:
        j, lows = step.index, message.reshape(-1, 1, 1 << step.bits[0], message.shape[1])
        made: Array = lows * self.reading[j, :, None]
        if j in self.apart:
            made = np.concatenate([made, np.repeat(lows[..., :1], 2, axis=1)], axis=3)
        return made.reshape(-1, made.shape[3])

    def _retreat(self, before: Array, message: Array, c: int) -> tuple[Array, Array | float, Array]:
        """The message before cause *c*, and what it meets where the cause is hushed (if *mixed*) and where it holds."""
        checks, symptoms = self.route.firing[c]
        pulled = _pull(message.copy(), checks)
        hushed = self._met(before, pulled) if self.net.mixed[c] else 0.0
        pulled = _pull(pulled, symptoms)
        holding = self._met(before, pulled)
        pulled *= self.hold[c]
        pulled += message * self.free[c]
        return pulled, hushed, holding

    def _met(self, before: Array, message: Array) -> Array:
        """The weight of each row where what came forward meets what came backward;
        of the rows apart one of the two is the first's.
        """
        r = self.count
        if not self.apart:
            return _summed(before * message)
        closed, still_open = before[:, r:] * message[:, :r], before[:, :r] * message[:, r:]
        return np.concatenate([_summed(before[:, :r] * message[:, :r]), _summed(closed), _summed(still_open)[::-1]])


def _fire(state: Array, links: Links) -> Array:
    """Weight moved by a cause that holds: each link fires by itself. *state* is changed and returned."""
    for link, apart in links:
        view = state.reshape(-1, 2, apart * state.shape[1])
        unfired, fired = view[:, 0], view[:, 1]
        fired += link * unfired
        unfired *= 1.0 - link
    return state


def _pull(message: Array, links: Links) -> Array:
    """The same read backward: the weight to come, seen from before the cause fires. *message* is changed and
    returned.
    """
    for link, apart in links:
        view = message.reshape(-1, 2, apart * message.shape[1])
        unfired = view[:, 0]
        unfired *= 1.0 - link
        unfired += link * view[:, 1]
    return message


def _not_nought(weights: Array) -> Array:
    """*weights* to be divided by; where there is none the evidence is nought, and so is all that is divided."""
    made: Array = np.maximum(weights, 1e-300)
    return made


def _summed(table: Array) -> Array:
    """The sum (r,) over all subsets of a table (2^open, r)."""
    if 1 < table.shape[1] < _FEW and len(table) > _GO:
        table = np.add.reduce(table.reshape(-1, _GO * table.shape[1]), axis=0).reshape(_GO, -1)
    made: Array = np.add.reduce(table, axis=0)
    return made
