"""Many small cases inferred at once, for the replay: a column for each network, side by side in one table.

The sweep of the reasoning is made for one case and many hypothetical answers; here every column has priors, links and
leaks of its own, and the table holds all subsets of the findings, which pays up to `MOST` of them. The sums are the
same: for each subset of findings the weight with which exactly that subset was fired, forward and back through the
causes, every term positive. Only + - x / in a fixed order.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from diagnose.reasoning.finding import Finding
from diagnose.reasoning.forward_backward import Array
from diagnose.reasoning.network import NOT_LISTED, Network

#: positive findings up to which a case is inferred here, and floats of one table, so that it stays near the processor
MOST, _TABLE = 10, 1 << 14

#: the chance that each cause had a part in a symptom seen, and for `not_listed` that anything off the list had
Chances = Mapping[str, float]


def positive(network: Network) -> list[Finding]:
    """Return the findings that speak for something."""
    return [finding for finding in network.findings if finding.on > 0.0]


def chances(networks: Sequence[Network]) -> list[Chances]:
    """Return the chances of each of *networks*, each with `MOST` positive findings at most; none where its answers
    can't all be true.
    """
    found: list[Chances] = [{}] * len(networks)
    for width, places in _blocks(networks):
        block = [networks[i] for i in places]
        for i, made in zip(places, _Columns(block, width).chances(), strict=True):
            found[i] = made
    return found


def _blocks(networks: Sequence[Network]) -> Iterator[tuple[int, list[int]]]:
    """Which networks go together: those of about as many findings, so many that a table stays small."""
    by_width: dict[int, list[int]] = {}
    for i, network in enumerate(networks):
        by_width.setdefault(max(2, len(positive(network)) + len(positive(network)) % 2), []).append(i)
    for width, places in sorted(by_width.items()):
        size = max(1, _TABLE >> width)
        for start in range(0, len(places), size):
            yield width, places[start : start + size]


class _Columns:
    """Networks side by side: tables of shape (2^k, r), weights of a cause or a finding (r,), links (k, n, r).

    A network of fewer findings is filled up with such that say nothing.
    """

    def __init__(self, networks: Sequence[Network], k: int) -> None:
        self.networks, self.k, self.r = networks, k, len(networks)
        self.names = sorted({name for network in networks for name in network.causes})
        place = {name: i for i, name in enumerate(self.names)}
        n = len(self.names)
        self.hold, self.free = np.zeros((n, self.r)), np.ones((n, self.r))
        self.links = np.zeros((k, n, self.r))
        self.leak, self.explain = np.zeros((k, self.r)), np.zeros((k, self.r))
        self.on, self.off = np.ones((k, self.r)), np.ones((k, self.r))
        for column, network in enumerate(networks):
            self._fill(column, network, place)

    def _fill(self, column: int, network: Network, place: Mapping[str, int]) -> None:
        where = [place[name] for name in network.causes]
        priors = np.array(network.priors)
        self.free[where, column] = 1.0 - priors
        factors = np.ones(len(self.names))
        for finding in network.findings:
            if finding.on <= 0.0:
                for name, chance in finding.links.items():
                    factors[place[name]] *= 1.0 - chance
        self.hold[where, column] = priors * factors[where]
        for j, finding in enumerate(positive(network)):
            self.leak[j, column], self.explain[j, column] = finding.leak, float(finding.symptom)
            self.on[j, column], self.off[j, column] = finding.on, finding.off
            for name, chance in finding.links.items():
                self.links[j, place[name], column] = chance

    # -- tables: the first index counts subsets of fired findings, bit j is finding j
    # -------------------------------------

    def _start(self, leak: Array) -> Array:
        table = np.ones((1, self.r))
        for j in range(self.k):
            table = np.concatenate([table * (1.0 - self.leak[j]), table * leak[j]])
        return table

    def _end(self) -> Array:
        table = np.ones((1, self.r))
        for j in range(self.k):
            table = np.concatenate([table * self.off[j], table * self.on[j]])
        return table

    def _views(self, table: Array, c: int, links: Array) -> Iterator[tuple[Array, Array]]:
        """The table split by each finding that cause *c* links to anywhere, with the links (r,)."""
        for j in range(self.k):
            if self._linked[j, c]:
                yield table.reshape(-1, 2, 1 << j, self.r), links[j, c]

    def _fire(self, table: Array, c: int) -> Array:
        for view, link in self._views(table, c, self.links):
            view[:, 1] += link * view[:, 0]
            view[:, 0] *= 1.0 - link
        return table

    def _pull(self, message: Array, c: int, links: Array) -> Array:
        message = message.copy()
        for view, link in self._views(message, c, links):
            view[:, 0] *= 1.0 - link
            view[:, 0] += link * view[:, 1]
        return message

    def chances(self) -> list[Chances]:
        """Return the chances of every column."""
        self._linked = np.any(self.links > 0.0, axis=2)
        checks = self.links * (1.0 - self.explain)[:, None]
        evidence, present, silent = self._swept(checks, bool(np.any(checks > 0.0)))
        quiet = self._nothing_off_the_list()
        fine = evidence > 0.0
        weight = np.where(fine, evidence, 1.0)
        part = np.maximum(present - silent, 0.0) / weight
        off_list = np.maximum(0.0, 1.0 - quiet / weight)
        rows = [
            {**dict(zip(self.names, row, strict=True)), NOT_LISTED: off} if good else {}
            for row, off, good in zip(part.T.tolist(), off_list.tolist(), fine.tolist(), strict=True)
        ]
        return [
            {name: row[name] for name in network.causes} if row else {}
            for row, network in zip(rows, self.networks, strict=True)
        ]

    def _swept(self, checks: Array, some: bool) -> tuple[Array, Array, Array]:
        """The weight of the findings (r,), and with each cause holding, and holding silent on every symptom, (n, r)."""
        state, states = self._start(self.leak), []
        for c in range(len(self.names)):
            states.append(state)
            state = self._fire(state * self.hold[c], c) + state * self.free[c]
        message = self._end()
        evidence: Array = np.add.reduce(state * message, axis=0)
        present, silent = np.zeros_like(self.hold), np.zeros_like(self.hold)
        mute = 1.0 - self.links * self.explain[:, None]
        for c in range(len(self.names) - 1, -1, -1):
            before = states[c]
            pulled = self._pull(message, c, self.links)
            unheard = self._pull(message, c, checks) if some else message
            present[c] = self.hold[c] * np.add.reduce(before * pulled, axis=0)
            silent[c] = self.hold[c] * np.multiply.reduce(mute[:, c], axis=0) * np.add.reduce(before * unheard, axis=0)
            message = pulled * self.hold[c] + message * self.free[c]
        return evidence, present, silent

    def _nothing_off_the_list(self) -> Array:
        """The weight (r,) in which no leak fired on a symptom, and what is off the list fired on none."""
        state = self._start(np.where(self.explain > 0.0, 0.0, self.leak))
        stays = 1.0 - self.links * self.explain[:, None]
        for c, name in enumerate(self.names):
            if name == NOT_LISTED:
                heard = self.links
                self.links = self.links * (1.0 - self.explain)[:, None]
                moved = self._fire(state * self.hold[c] * np.multiply.reduce(stays[:, c], axis=0), c)
                self.links = heard
            else:
                moved = self._fire(state * self.hold[c], c)
            state = moved + state * self.free[c]
        made: Array = np.add.reduce(state * self._end(), axis=0)
        return made


__all__ = ["MOST", "Chances", "chances", "positive"]
