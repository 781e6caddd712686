"""A measured number read as ordered bands, near an edge shared between them by its error.

Exactly, a reading whose true band is b with share q_b has the likelihood `sum of q_b P(band b)`. That is no product of
noisy-OR findings, which is the form that the network has, so the nearest product is taken: it is exact where one band
is certain, exact between the mildest telling band and the base, exact wherever a single cause (or coincidence alone) is
at work, and smooth in between. With two causes at once near the upper edge it is off by some hundredths;
`docs/reasoning.md` has the figures.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from msgspec import Struct

#: a share below this is none
_LEAST = 1e-6


class BandReading(Struct, frozen=True):
    """What a reading says of one telling level (0 is the most telling):
    weights, and links by cause ("" is the leak).
    """

    level: int
    on: float
    off: float
    links: dict[str, float]


def band_shares(bands: Sequence[tuple[float | None, float | None]], value: float, error: float) -> list[float]:
    """Return the share of each band [low, high) for a normal error; bands must cover the line. Shares sum to 1."""
    shares = []
    for low, high in bands:
        under, over = -math.inf if low is None else low, math.inf if high is None else high
        if error <= 0.0:
            shares.append(1.0 if under <= value < over else 0.0)
        else:
            shares.append(_normal((over - value) / error) - _normal((under - value) / error))
    shares = [share if share >= _LEAST else 0.0 for share in shares]
    total = sum(shares)
    return [share / total for share in shares]


def read_bands(shares: Sequence[float], links: Sequence[Mapping[str, float]]) -> list[BandReading]:
    """Return the findings of a reading. *shares*: of the telling levels, most telling first, then of the base.

    *links*: for each telling level cause -> link given that nothing more telling is produced, the leak under "". The
    likeliest telling level carries the weights of the reading; a more telling one is absent to the degree that it is
    less likely (share q against q of the carrier: its links times `1 - q / q_carrier`); the links to the carrier are
    then those with which each cause alone gives the reading exactly the chance that it should have.
    """
    base = shares[-1]
    carrier = max(range(len(links)), key=lambda level: (shares[level], level))
    top = shares[carrier]
    absent = [1.0 - shares[level] / top if top > 0.0 else 1.0 for level in range(carrier)]
    found = [
        BandReading(level, 0.0, 1.0, {name: share * p for name, p in links[level].items()})
        for level, share in enumerate(absent)
        if share > 0.0
    ]
    names = list(dict.fromkeys(name for level in links for name in level))
    carried = {name: _carried([level.get(name, 0.0) for level in links], shares, absent, carrier) for name in names}
    return [*found, BandReading(carrier, top, base, carried)]


def _carried(chain: Sequence[float], shares: Sequence[float], absent: Sequence[float], carrier: int) -> float:
    """The link with which one cause alone, of conditional links *chain*, gives the reading its chance."""
    top, base = shares[carrier], shares[-1]
    if abs(top - base) < _LEAST:
        return chain[carrier]
    reading, left = 0.0, 1.0
    for link, share in zip(chain, shares, strict=False):
        reading += left * link * share
        left *= 1.0 - link
    reading += left * base
    for link, share in zip(chain, absent, strict=False):
        reading /= max(1.0 - share * link, 1e-12)
    return min(1.0, max(0.0, (base - reading) / (base - top)))


def _normal(z: float) -> float:
    return 0.5 * (1.0 + math.erf(z / math.sqrt(2.0)))
