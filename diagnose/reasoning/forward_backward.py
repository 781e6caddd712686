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

    *idle*: causes without a link; *several*: with more than one, and *linked*, their findings. *alone*: (k, d), causes
    whose only link is to the finding, filled up with n; *chance*: (k, d, 1), that link; *heard*: which findings have
    any. *folded*: idle and alone. *mixed*, *symptomatic*: (n,), whether a cause links to both symptoms and checks, and
    whether to symptoms only.
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
        self.alone: NDArray[np.intp] = np.full((k, max(map(len, single), default=0)), n)
        self.chance = np.zeros((*self.alone.shape, 1))
        for j, causes in enumerate(single):
            self.alone[j, : len(causes)] = causes
            self.chance[j, : len(causes), 0] = links[j, causes]
        self.idle: list[int] = np.flatnonzero(~(shown | tested)).tolist()
        self.folded = [*self.idle, *(c for causes in single for c in causes)]
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

    *pairs*: (k, 2, 1, r), what they and the leak make of each finding, not fired and fired; *reading*: (k, 2, r or 1),
    what that weighs; *scale*: (r,), by which all is too little. Shapes of what is folded: (k, d, r). Only a cause that
    is *mixed* may be hushed here.
    """

    def __init__(self, net: Net, rows: Potentials) -> None:
        self.net, self.count = net, rows.count
        self.hold, self.free, self.hushed = rows.present, rows.absent, rows.hushed
        self.reading = np.stack([rows.off, rows.on], axis=1)
        self.scale: Array = np.multiply.reduce(self.hold[net.folded] + self.free[net.folded], axis=0)
        self._fold(rows)

    def _fold(self, rows: Potentials) -> None:
        """What the leak and the causes with one link make of each finding: *zero*, *one*, (k, d + 1, r), the weight of
        not fired and of fired before the first of these causes, before the second, and so on.

        The two weights of a cause, not firing and firing, are scaled to a sum of 1, so that fired is a running sum.
        """
        some, chance = np.minimum(self.net.alone, len(self.hold) - 1), self.net.chance  # a filler fires with chance 0
        hold, free = self.hold[some], self.free[some]
        self.whole = not_nought(hold + free)
        self.stays, self.fires = (free + hold * (1.0 - chance)) / self.whole, hold * chance / self.whole
        quiet, fired = _running(self.stays, self.fires)
        no_leak = rows.no_leak[:, None]
        self.zero, self.one = no_leak * quiet, rows.leak[:, None] + no_leak * fired
        self.pairs = np.stack([self.zero[:, -1:], self.one[:, -1:]], axis=1)

    def _unfold(self, met: Array) -> tuple[Array, Array]:
        """The slopes of these causes being absent and holding, from what the rest of the net makes of each finding not
        fired and fired, *met* (k, 2, r).
        """
        quiet, fired = (table[:, -2::-1] for table in _running(self.stays[:, ::-1], self.fires[:, ::-1]))
        zero, one, if_one = self.zero[:, :-1], self.one[:, :-1], met[:, 1:]
        stays = zero * (quiet * met[:, :1] + fired * if_one) + one * if_one
        fires = (zero + one) * if_one
        return stays / self.whole, ((1.0 - self.net.chance) * stays + self.net.chance * fires) / self.whole

    def _whole(self, z: Array, slopes: Array, met: Array) -> Slopes:
        """All slopes that are looked at, from the *slopes* of causes with several links in being absent, holding and
        hushed, (3, n + 1, r), and what the rest of the net makes of each finding, *met* (k, 2, r); *z*: the evidence.
        """
        net, (absent, holding, hushed) = self.net, slopes
        absent[net.alone], holding[net.alone] = self._unfold(met)
        holding[net.idle] = z / not_nought(self.hold[net.idle] + self.free[net.idle])
        return Slopes(z, absent[:-1], holding[:-1], hushed[:-1])


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
        self.hushes = bool(np.any(rows.hushed))
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
                state = (state * self.pairs[step.index]).reshape(-1, state.shape[1])
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
        slopes = np.zeros((3, len(self.hold) + 1, len(z)))
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


def _running(stays: Array, fires: Array) -> tuple[Array, Array]:
    """The chance that none before the first, the second ... has fired, and that one has, (k, d + 1, r)."""
    k, d, r = stays.shape
    quiet, fired = np.ones((k, d + 1, r)), np.zeros((k, d + 1, r))
    np.multiply.accumulate(stays, axis=1, out=quiet[:, 1:])
    np.add.accumulate(quiet[:, :-1] * fires, axis=1, out=fired[:, 1:])
    return quiet, fired


def not_nought(weights: Array) -> Array:
    """*weights* to be divided by; where there is none the evidence is nought, and so is all that is divided."""
    made: Array = np.maximum(weights, 1e-300)
    return made


def _summed(table: Array) -> Array:
    """The sum (r,) over all subsets of a table (2^open, r)."""
    if 1 < table.shape[1] < _FEW and len(table) > _GO:
        table = np.add.reduce(table.reshape(-1, _GO * table.shape[1]), axis=0).reshape(_GO, -1)
    made: Array = np.add.reduce(table, axis=0)
    return made
