"""Curves of likelihood ratios over a measured number.

A module of its own, because the reasoning needs it at every start and the compiler of the files does not.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise


def curve_ratio(curve: Sequence[Sequence[float]], value: float) -> float:
    """Return the ratio at *value* on *curve*, (value, ratio) points rising in value:
    straight in log ratio between them, flat outside.
    """
    if value <= curve[0][0]:
        return curve[0][1]
    for (x0, r0), (x1, r1) in pairwise(curve):
        if value <= x1:
            if r0 == r1:
                return r0
            part = (value - x0) / (x1 - x0)
            return math.exp(math.log(r0) + part * (math.log(r1) - math.log(r0)))
    return curve[-1][1]
