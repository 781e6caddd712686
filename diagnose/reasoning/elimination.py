"""Exact inference on a two-layer noisy-OR network by variable elimination, many rows of weights at once.

The causes are swept one after another, keeping for each subset of the open findings the weight with which exactly that
subset has been fired. Every term is positive, so no digits are lost (the textbook inclusion-exclusion sum loses all of
them). A finding that is certainly absent is a factor on each cause; a cause with a single link folds into that
finding's own two numbers; causes with two links or more are swept, forward once and backward once
(`forward_backward.py`), which gives every cause's weight and its "present but silent" weight together. Findings open
and close on the way (`elimination_order.py`), and where one cause links to everything (`not_listed` does) the sweep is
done for it present and absent, so that it keeps nothing open. Where that is shorter the sum goes over sets of causes
instead (`cause_sets.py`), and one row over few findings has a way of its own (`few_findings.py`). A row is one set of
weights over the same structure (one hypothetical answer, one answer left out), so that choosing a question costs few
passes.

Only + - x / on arrays in a fixed order: no BLAS, no logarithm, no set order.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import cached_property
from typing import NamedTuple

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from diagnose.errors import InputError
from diagnose.reasoning.cause_sets import CauseSets, ways_of
from diagnose.reasoning.elimination_order import EliminationOrder, order_of
from diagnose.reasoning.few_findings import FewFindings, OneRow
from diagnose.reasoning.forward_backward import Array, Net, Pass, Potentials, Route, Slopes

#: numbers that one row may take, at most: a tenth of a second or two
MOST = 7_200_000
#: floats that one block of rows may hold: in the tables of all steps, and in one table,
#: so that it stays near the processor
_BLOCK, _TABLE = 1 << 24, 1 << 17
#: what it costs to take a cause apart: two rows in place of one, in some passes a third; findings up to which it is not
_APART, _SMALL = 2.4, 6
#: findings up to which one row goes the way of few findings
MOST_FEW = 8
#: of the sum over sets of causes so many numbers take as long as one of the sweep
_SETS = 6


class TooManySeen(InputError):
    """More effects are said to be seen than can be reasoned over exactly."""


class Weights(Struct, frozen=True):
    """*evidence*: (r,), weight of the findings. *present*, *silent*:
    (n, r), weight in which a cause holds, and in which it holds without having fired any of its links to a symptom."""

    evidence: Array
    present: Array
    silent: Array

    @property
    def responsible(self) -> Array:
        """Weight in which each cause had a part in a symptom, shape (n, r)."""
        made: Array = np.maximum(self.present - self.silent, 0.0)
        return made


class Way(NamedTuple):
    """How blocks of rows are swept: summed over sets of causes, or in an *order*, the cause *wide* taken apart; and the
    numbers that one row takes, roughly."""

    by_sets: bool
    wide: int | None
    order: EliminationOrder
    cost: float


class NoisyOrNet:
    """Which causes link to which positive findings, with what chance; *links* has shape (k, n), *symptom* (k,) bool.

    *take_apart* lets the sweep be done twice for a cause that links to nearly everything. Raises TooManySeen where a
    row would take more than *most* numbers.
    """

    def __init__(self, links: Array, symptom: Sequence[bool], take_apart: bool = True, most: float = MOST) -> None:
        self.links = links
        self.k, self.n = links.shape
        self.symptom = np.array(symptom, dtype=bool)
        self.net = Net(links, self.symptom)
        self.take_apart = take_apart
        small = take_apart and self.k <= MOST_FEW
        if not (small and self.n << self.k <= most) and self.cost > most:
            raise TooManySeen(f"{self.k} symptoms and results are said to be seen, more than can be weighed together")
        self.few = FewFindings(self.net) if small else None

    @cached_property
    def way(self) -> Way:
        """How blocks of rows are swept."""
        several = self.net.linked
        wide, order = _best_order(several, self.k) if self.take_apart else (None, order_of(several, self.k))
        cost = order.cost * (1.0 if wide is None else _APART)
        by_sets = self.k * ways_of(self.net) // _SETS
        if self.take_apart and by_sets < cost:
            return Way(True, None, order, by_sets)
        return Way(False, wide, order, cost)

    @cached_property
    def _route(self) -> Route:
        return Route(self.net, self.way.order.steps)

    @property
    def cost(self) -> float:
        """Numbers that one row takes, roughly."""
        return self.way.cost

    # -- what is asked -----------------------------------------------------------------------------------------------

    def sweep(self, rows: Potentials) -> Weights:
        """Return the exact weights for all *rows*."""
        if self.few is not None and rows.count == 1:
            return Weights(*OneRow(self.few, rows).weights(self._quiet(rows)))
        return self._weights(rows, self._slopes(rows, self._each))

    def left_out(self, row: Potentials) -> Weights:
        """Return the exact weights of one *row* with each finding left out in turn, k rows;
        half the work of as many rows.
        """
        rows = replace(
            row, **{name: np.repeat(getattr(row, name), self.k, axis=1) for name in ("on", "off", "explain")}
        )
        for table, out in ((rows.on, 1.0), (rows.off, 1.0), (rows.explain, 0.0)):
            np.fill_diagonal(table, out)
        if self.way.by_sets:
            return self.sweep(rows.times(np.ones((1, self.k))))
        return self._weights(rows, self._slopes(row, self._apart))

    def evidence(self, rows: Potentials) -> Array:
        """Return the weight of the findings, shape (r,). Forward pass only."""
        return self._forward(rows)

    def success(self, rows: Potentials, mend: Array, by_itself: bool = False) -> Array:
        """Return the weight, shape (r,), in which every cause that fired on a symptom is mended.

        *mend*: (n, r), chance that the cause is mended if it had a part; it holds mended, or is hushed. A leak on a
        symptom is nobody's to mend: the caller sets its weight to 0. Forward pass only. *by_itself*: it is one row, and
        never one of several, beside which its last digit would be another.
        """
        hushed = rows.present * self._quiet(rows) * (1.0 - mend)
        settled = self._settled(replace(rows.times(mend), hushed=hushed))
        if by_itself and self.few is not None and not np.any(settled.hushed):
            return OneRow(self.few, settled).evidence()
        return self._forward(settled)

    # -- rows and slopes ---------------------------------------------------------------------------------------------

    def _weights(self, rows: Potentials, slopes: Slopes) -> Weights:
        present, quiet = rows.present * slopes.holding, self._quiet(rows)
        silent = present.copy()
        for causes, slope in ((self.net.symptomatic, slopes.absent), (self.net.mixed, slopes.hushed)):
            places = np.flatnonzero(causes)
            silent[places] = rows.present[places] * quiet[places] * slope[places]
        return Weights(slopes.evidence, present, silent)

    def _quiet(self, rows: Potentials) -> Array:
        """The chance that a cause that holds fires on no symptom, (n, r), or (n, 1) where all rows are alike."""
        made: Array = np.multiply.reduce(1.0 - self.links[:, :, None] * rows.explain[:, None], axis=0)
        return made

    def _settled(self, rows: Potentials) -> Potentials:
        """*rows* in which only causes that link to symptoms and to checks are hushed: of the others those that link to
        symptoms are then as if absent, the rest as if nothing hushed them.
        """
        mixed, symptomatic = self.net.mixed[:, None], self.net.symptomatic[:, None]
        hushed = np.where(mixed, 0.0, rows.hushed)
        return replace(
            rows,
            present=rows.present + np.where(symptomatic, 0.0, hushed),
            absent=rows.absent + np.where(symptomatic, hushed, 0.0),
            hushed=rows.hushed - hushed,
        )

    def _forward(self, rows: Potentials) -> Array:
        """The weight of the findings, (r,), in a forward pass; a wide cause is taken apart."""
        if self.way.wide is None:
            return np.concatenate([block.evidence() for block in self._blocks(rows)])
        made, parts = np.zeros(rows.count), self._taken_apart(rows, self.way.wide)
        needed = [(weight, part) for weight, part in parts if np.any(weight > 0.0)] or parts[:1]
        found = self._blocks(_stacked([part for _, part in needed]))
        each = np.concatenate([block.evidence() for block in found]).reshape(len(needed), -1)
        for (weight, _), part in zip(needed, each, strict=True):
            made += weight * part
        return made

    def _slopes(self, rows: Potentials, sweep: Callable[[Sequence[Potentials]], list[Slopes]]) -> Slopes:
        """The slopes of *rows* by *sweep*; a wide cause is taken apart, into absent and holding, and where it links to
        symptoms and checks into being hushed.
        """
        if self.way.wide is None:
            return sweep([rows])[0]
        c = self.way.wide
        (free, absent), (hold, fires), (_, hushed) = self._taken_apart(rows, c)
        without, joined, *quiet = sweep([absent, fires, hushed] if self.net.mixed[c] else [absent, fires])
        made = Slopes(*(free * one + hold * other for one, other in zip(without, joined, strict=True)))
        made.absent[c], made.holding[c] = without.evidence, joined.evidence
        for part in quiet:
            made.hushed[c] = part.evidence
        return made

    def _taken_apart(self, rows: Potentials, c: int) -> list[tuple[Array, Potentials]]:
        """The weights of cause *c* being absent, holding and being hushed, and the rows with it so: it stands aside,
        and its links that may fire are joined to the leaks.
        """
        link = self.links[:, c, None]
        to_checks = np.where(self.net.symptom[:, None], 0.0, link)
        hushed = np.broadcast_to(rows.hushed[c], rows.count)
        without = replace(rows, present=rows.present.copy(), absent=rows.absent.copy())
        without.present[c], without.absent[c] = 0.0, 1.0
        parts = (without, _joined(without, link), _joined(without, to_checks))
        return list(zip((rows.absent[c], rows.present[c], hushed), parts, strict=True))

    # -- passes ------------------------------------------------------------------------------------------------------

    def _each(self, parts: Sequence[Potentials]) -> list[Slopes]:
        """The slopes of each of *parts*, all their rows side by side."""
        rows = _stacked(parts)
        blocks = [block.slopes() for block in self._blocks(rows)]
        if len(blocks) == len(parts) == 1:
            return blocks
        tables = [np.concatenate(tables, axis=-1) for tables in zip(*blocks, strict=True)]
        return [Slopes(*made) for made in zip(*(np.split(t, len(parts), axis=-1) for t in tables), strict=True)]

    def _apart(self, parts: Sequence[Potentials]) -> list[Slopes]:
        """The slopes of each of *parts*, one row each, with each finding left out in turn."""
        blocks = [Pass(self._route, part, range(self.k)) for part in parts]
        order = [1 + blocks[0].apart.index(j) for j in range(self.k)]
        return [Slopes(*(table[..., order] for table in block.slopes())) for block in blocks]

    def _blocks(self, rows: Potentials) -> Iterator[Pass | CauseSets]:
        if self.way.by_sets:
            size = max(1, _TABLE // min(_TABLE, self.k * ways_of(self.net)))
        else:
            size = max(1, min(_BLOCK // (self.way.order.cost + 4), max(16, _TABLE >> self.way.order.width)))
        for start in range(0, rows.count, size):
            part = rows.part(start, start + size)
            yield CauseSets(self.net, part) if self.way.by_sets else Pass(self._route, part)


def _joined(rows: Potentials, link: Array) -> Potentials:
    """*rows* with a *link* to each finding, (k, 1), joined to its leak."""
    return replace(rows, leak=rows.leak + rows.no_leak * link, no_leak=rows.no_leak * (1.0 - link))


def _stacked(parts: Sequence[Potentials]) -> Potentials:
    """The rows of *parts*, all of as many rows, one behind another."""
    if len(parts) == 1:
        return parts[0]

    def table(name: str) -> Array:
        each = [getattr(part, name) for part in parts]
        return np.concatenate([np.broadcast_to(t, (len(t), parts[0].count)) for t in each], axis=1)

    return Potentials(*(table(name) for name in Potentials.__struct_fields__))


def _best_order(several: Mapping[int, Sequence[int]], count: int) -> tuple[int | None, EliminationOrder]:
    """Return the cause to be taken apart, if that is cheaper, and the order of the others."""
    if not several or count <= _SMALL:
        return None, order_of(several, count)
    widest = min(several, key=lambda c: (-len(several[c]), -c))
    without = order_of({c: findings for c, findings in several.items() if c != widest}, count)
    plain = order_of(several, count, _APART * without.cost)
    return (None, plain) if plain.cost <= _APART * without.cost else (widest, without)


__all__ = ["MOST", "Array", "NoisyOrNet", "Potentials", "TooManySeen", "Weights"]
