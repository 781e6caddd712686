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

import numpy as np

from diagnose.errors import InputError
from diagnose.reasoning.elimination_order import EliminationOrder, order_of
from diagnose.reasoning.forward_backward import Array, Net, Pass, Potentials, Weights

#: more findings than this open at once is not a case of one bad part; refused rather than approximated
MAX_OPEN = 18
#: floats that one block of rows may hold in the tables of forward messages
_BLOCK = 2_000_000


class TooManySeen(InputError):
    """More effects are said to be seen than can be reasoned over exactly."""


class NoisyOrNet:
    """Which causes link to which open findings, with what chance; *links* has shape (k, n), *symptom* (k,) bool.

    *take_apart* lets the sweep be done twice for a cause that links to nearly everything. Raises TooManySeen where more than
    MAX_OPEN findings would stand open at once.
    """

    def __init__(self, links: Array, symptom: Sequence[bool], take_apart: bool = True) -> None:
        self.links = links
        self.symptom = tuple(bool(flag) for flag in symptom)
        self.k, self.n = links.shape
        touched = {c: tuple(j for j in range(self.k) if links[j, c] > 0.0) for c in range(self.n)}
        idle = [c for c, findings in touched.items() if not findings]
        multi = {c: findings for c, findings in touched.items() if len(findings) > 1}
        self.wide, self.order = _best_order(multi, self.k) if take_apart else (None, order_of(multi, self.k))
        singles = [[c for c, findings in touched.items() if findings == (j,)] for j in range(self.k)]
        if self.order.peak > MAX_OPEN:
            raise TooManySeen(
                f"{self.k} symptoms and results are said to be seen, more than can be thought through together: keep the worst of them"
            )
        self.net = Net(links, self.symptom, self.order.steps, singles, idle)

    # -- all of it -------------------------------------------------------------------------------------------------

    def sweep(self, rows: Potentials) -> Weights:
        """Return the exact weights for all *rows*."""
        if self.wide is None:
            return self._narrow(rows)
        c, count = self.wide, rows.hold.shape[0]
        all_three = self._narrow(self._for_wide(rows, c))
        z, held, silent = (
            (a[:count], a[count : 2 * count], a[2 * count :]) for a in (all_three.z, all_three.held, all_three.silent)
        )
        hold, free = rows.hold[:, c], rows.free[:, c]
        mixed = Weights(
            free * z[0] + hold * z[1],
            free[:, None] * held[0] + hold[:, None] * held[1],
            free[:, None] * silent[0] + hold[:, None] * silent[1],
        )
        mixed.held[:, c] = hold * z[1]
        mixed.silent[:, c] = hold * z[2]
        return mixed

    def mended(self, rows: Potentials, mend: Array) -> Array:
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

    def _for_wide(self, rows: Potentials, c: int) -> Potentials:
        """Three times the rows: cause *c* does not hold; it holds and its links join the leaks; it holds, silent on every symptom."""
        link = self.links[:, c]
        stays = 1.0 - link
        silent = np.array(self.symptom, dtype=bool)
        fired = rows.leak + rows.quiet * link
        leak = np.concatenate([rows.leak, fired, np.where(silent, rows.leak * stays, fired)])
        quiet = np.concatenate([rows.quiet, rows.quiet * stays, rows.quiet * stays])
        hold, free, on, off = (np.concatenate([table] * 3) for table in (rows.hold, rows.free, rows.on, rows.off))
        return Potentials(hold, free, leak, quiet, on, off)

    def _blocks(self, count: int) -> list[tuple[int, int]]:
        size = max(1, _BLOCK // (self.order.cost + 4))
        return [(start, min(start + size, count)) for start in range(0, count, size)]

    def _narrow(self, rows: Potentials) -> Weights:
        parts = [Pass(self.net, rows.part(start, stop)).both() for start, stop in self._blocks(rows.hold.shape[0])]
        if len(parts) == 1:
            return parts[0]
        return Weights(
            np.concatenate([p.z for p in parts]),
            np.concatenate([p.held for p in parts]),
            np.concatenate([p.silent for p in parts]),
        )

    def _narrow_mended(self, rows: Potentials, mend: Array) -> Array:
        return np.concatenate(
            [
                Pass(self.net, rows.part(start, stop)).mended(mend[start:stop])
                for start, stop in self._blocks(rows.hold.shape[0])
            ]
        )


def _best_order(multi: dict[int, tuple[int, ...]], count: int) -> tuple[int | None, EliminationOrder]:
    """Return the cause to be taken apart (three rows in place of one), if that is cheaper, and the order of the others."""
    plain = order_of(multi, count)
    if not multi:
        return None, plain
    widest = min(multi, key=lambda c: (-len(multi[c]), -c))
    without = order_of({c: findings for c, findings in multi.items() if c != widest}, count)
    return (widest, without) if 3 * without.cost < plain.cost else (None, plain)


__all__ = ["MAX_OPEN", "Array", "Potentials", "NoisyOrNet", "Weights", "TooManySeen"]
