"""Exact inference on a two-layer noisy-OR network by variable elimination, many rows of weights at once.

The causes are swept one after another, keeping for each subset of the open findings the weight with which exactly that
subset has been fired. Every term is positive, so no digits are lost (the textbook inclusion-exclusion sum loses all of
them). A finding that is certainly absent is a factor on each cause; a cause with a single link folds into that
finding's own two numbers; causes with two links or more are swept, forward once and backward once, which gives every
cause's weight and its "present but silent" weight together. Findings open and close on the way
(`elimination_order.py`), and where one cause links to everything (`not_listed` does) the sweep is done for it present
and absent, so that it keeps nothing open. A row is one set of weights over the same structure (one hypothetical answer,
one answer left out), so that choosing a question costs few passes.

Only + - x / on arrays in a fixed order: no BLAS, no logarithm, no set order.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from diagnose.errors import InputError
from diagnose.reasoning.elimination_order import EliminationOrder, order_of
from diagnose.reasoning.forward_backward import Array, Net, Pass, Potentials, Weights

#: numbers written in one pass for one row, at most: some hundredths of a second
MOST = 3_000_000
#: floats that one block of rows may hold: in the tables of all steps, and in one table,
#: so that it stays near the #: processor
_BLOCK, _TABLE = 1 << 24, 1 << 17


class TooManySeen(InputError):
    """More effects are said to be seen than can be reasoned over exactly."""


class NoisyOrNet:
    """Which causes link to which positive findings, with what chance; *links* has shape (k, n), *symptom* (k,) bool.

    *take_apart* lets the sweep be done twice for a cause that links to nearly everything. Raises TooManySeen where a
    pass would write more than *most* numbers for each row.
    """

    def __init__(self, links: Array, symptom: Sequence[bool], take_apart: bool = True, most: float = MOST) -> None:
        self.links = links
        self.symptom = tuple(bool(flag) for flag in symptom)
        self.k, self.n = links.shape
        linked = {c: tuple(np.flatnonzero(links[:, c] > 0.0).tolist()) for c in range(self.n)}
        several = {c: findings for c, findings in linked.items() if len(findings) > 1}
        self.wide, self.order = _best_order(several, self.k) if take_apart else (None, order_of(several, self.k))
        if self.order.cost > most:
            raise TooManySeen(f"{self.k} symptoms and results are said to be seen, more than can be weighed together")
        singles = [[c for c, findings in linked.items() if findings == (j,)] for j in range(self.k)]
        idle = [c for c, findings in linked.items() if not findings]
        self.net = Net(links, self.symptom, self.order.steps, singles, idle)

    def sweep(self, rows: Potentials) -> Weights:
        """Return the exact weights for all *rows*."""
        if self.wide is None:
            return self._weights(rows)
        absent, fires, _ = self._without_wide(rows, self.wide)
        both, count = self._weights(_stacked(absent, fires)), rows.present.shape[1]
        return self._joined(rows, self.wide, both.part(0, count), both.part(count, 2 * count))

    def left_out(self, row: Potentials) -> Weights:
        """Return the exact weights of one *row* with each finding left out in turn, k rows;
        half the work of as many rows.
        """
        rows = Potentials(*(np.repeat(getattr(row, name), self.k, axis=1) for name in row.__struct_fields__))
        for table, out in ((rows.on, 1.0), (rows.off, 1.0), (rows.explain, 0.0)):
            np.fill_diagonal(table, out)
        if self.wide is None:
            return self._apart(row)
        absent, fires, _ = self._without_wide(row, self.wide)
        return self._joined(rows, self.wide, self._apart(absent), self._apart(fires))

    def _apart(self, row: Potentials) -> Weights:
        block = Pass(self.net, row, range(self.k))
        made, order = block.weights(), [1 + block.apart.index(j) for j in range(self.k)]
        return Weights(made.evidence[order], made.present[:, order], made.silent[:, order])

    def _joined(self, rows: Potentials, c: int, absent: Weights, fires: Weights) -> Weights:
        """The weights of *rows* from those with cause *c* absent
        and those in which it is present and joined to the leaks.
        """
        present, free = rows.present[c], rows.absent[c]
        made = Weights(
            free * absent.evidence + present * fires.evidence,
            free * absent.present + present * fires.present,
            free * absent.silent + present * fires.silent,
        )
        made.present[c] = present * fires.evidence
        if all(self.symptom):  # where it stays silent on all it is as if it were absent
            alone = absent.evidence * np.multiply.reduce(1.0 - self.links[:, c, None] * rows.explain, axis=0)
        else:
            alone = self._each(self._without_wide(rows, c)[2], lambda block, _: block.evidence())
        made.silent[c] = present * alone
        return made

    def success(self, rows: Potentials, mend: Array) -> Array:
        """Return the weight, shape (r,), in which every cause that fired on a symptom is mended.

        *mend*: (n, r), chance that the cause is mended if it had a part. A leak on a symptom is nobody's to mend: the
        caller sets its weight to 0. Forward pass only.
        """
        if self.wide is None:
            return self._success(rows, mend)
        c, works = self.wide, mend[self.wide]
        absent, fires, silent = self._without_wide(rows, c)
        parts = [
            (rows.absent[c], absent),
            (rows.present[c] * works, fires),
            (rows.present[c] * (1.0 - works), silent),
        ]
        needed = [(weight, part) for weight, part in parts if np.any(weight > 0.0)]
        found = self._success(_stacked(*(part for _, part in needed)), np.concatenate([mend] * len(needed), axis=1))
        return _mixed([weight for weight, _ in needed], found)

    def evidence(self, rows: Potentials) -> Array:
        """Return the weight of the findings, shape (r,). Forward pass only."""
        if self.wide is None:
            return self._each(rows, lambda block, _: block.evidence())
        absent, fires, _ = self._without_wide(rows, self.wide)
        found = self._each(_stacked(absent, fires), lambda block, _: block.evidence())
        return _mixed([rows.absent[self.wide], rows.present[self.wide]], found)

    def _without_wide(self, rows: Potentials, c: int) -> tuple[Potentials, Potentials, Potentials]:
        """The rows with cause *c* absent; present, its links joined to the leaks;
        and present but silent on every symptom.
        """
        link = self.links[:, c, None]
        fired, stays = rows.leak + rows.no_leak * link, 1.0 - link
        quiet = np.where(rows.explain > 0.0, rows.leak * stays, fired)
        return (
            rows,
            Potentials(rows.present, rows.absent, fired, rows.no_leak * stays, rows.on, rows.off, rows.explain),
            Potentials(rows.present, rows.absent, quiet, rows.no_leak * stays, rows.on, rows.off, rows.explain),
        )

    def _weights(self, rows: Potentials) -> Weights:
        parts = [Pass(self.net, rows.part(*block)).weights() for block in self._blocks(rows)]
        return Weights(
            np.concatenate([p.evidence for p in parts]),
            np.concatenate([p.present for p in parts], axis=1),
            np.concatenate([p.silent for p in parts], axis=1),
        )

    def _success(self, rows: Potentials, mend: Array) -> Array:
        return self._each(rows, lambda block, part: block.success(mend[:, part]))

    def _each(self, rows: Potentials, work: Callable[[Pass, slice], Array]) -> Array:
        return np.concatenate([work(Pass(self.net, rows.part(*block)), slice(*block)) for block in self._blocks(rows)])

    def _blocks(self, rows: Potentials) -> list[tuple[int, int]]:
        count = rows.present.shape[1]
        size = max(1, min(_BLOCK // (self.order.cost + 4), max(16, _TABLE >> self.order.width)))
        return [(start, min(start + size, count)) for start in range(0, count, size)]


def _stacked(*parts: Potentials) -> Potentials:
    return Potentials(
        *(np.concatenate([getattr(part, name) for part in parts], axis=1) for name in Potentials.__struct_fields__)
    )


def _mixed(weights: Sequence[Array], stacked: Array) -> Array:
    """The rows (r,) of which the parts stand *stacked* one behind another, each part times its weight (r,)."""
    made = np.zeros_like(weights[0])
    for weight, part in zip(weights, stacked.reshape(len(weights), -1), strict=True):
        made = made + weight * part
    return made


def _best_order(several: dict[int, tuple[int, ...]], count: int) -> tuple[int | None, EliminationOrder]:
    """Return the cause to be taken apart (two rows in place of one, and a third forward), if that is cheaper,
    and the order of the others.
    """
    plain = order_of(several, count)
    if not several:
        return None, plain
    widest = min(several, key=lambda c: (-len(several[c]), -c))
    without = order_of({c: findings for c, findings in several.items() if c != widest}, count)
    return (widest, without) if 2.4 * without.cost < plain.cost else (None, plain)


__all__ = ["MOST", "Array", "NoisyOrNet", "Potentials", "TooManySeen", "Weights"]
