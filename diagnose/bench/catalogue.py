"""The list of all sums, by name: what derived facts, the sheet, the command line and the docs read.

One place to look a sum up, so that a new sum is one record in a `sums_*` module and nothing else. Groups come in the
order of a job: mix, mold, skin, paint, room.
"""

from __future__ import annotations

from diagnose.bench import sums_charge, sums_finish, sums_mix, sums_mold, sums_pour, sums_room, sums_skin
from diagnose.bench.calculation import GROUPS, Calculation, Input, Outcome
from diagnose.bench.quantities import BenchError

__all__ = ["CALCULATIONS", "Calculation", "Input", "Outcome", "by_name", "names"]

_ALL = (
    *sums_mix.CALCULATIONS,
    *sums_charge.CALCULATIONS,
    *sums_pour.CALCULATIONS,
    *sums_mold.CALCULATIONS,
    *sums_skin.CALCULATIONS,
    *sums_finish.CALCULATIONS,
    *sums_room.CALCULATIONS,
)

CALCULATIONS: tuple[Calculation, ...] = tuple(item for group in GROUPS for item in _ALL if item.group == group)

_BY_NAME = {item.name: item for item in CALCULATIONS}


def names() -> tuple[str, ...]:
    """Return the names of all sums in the order of a job."""
    return tuple(_BY_NAME)


def by_name(name: str) -> Calculation:
    """Return the sum called *name*, or raise `BenchError` that names the nearest."""
    if name not in _BY_NAME:
        from difflib import get_close_matches

        near = get_close_matches(name, _BY_NAME, 1)
        meant = f", nearest is '{near[0]}'" if near else f": expected one of {', '.join(_BY_NAME)}"
        raise BenchError(f"no sum '{name}'{meant}")
    return _BY_NAME[name]
