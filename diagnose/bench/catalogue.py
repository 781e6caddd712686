"""The list of all sums, by name: what the command line, the sheet and the docs read.

One place to look a sum up, so that a new sum is one record in a `sums_*` module and nothing else.
The order is the order of a job: mix, pour, mold, finish.
"""

from __future__ import annotations

from diagnose.bench import sums_finish, sums_mix, sums_mold, sums_pour
from diagnose.bench.calculation import Input, Result, Sum
from diagnose.bench.quantities import BenchError

__all__ = ["SUMS", "Input", "Result", "Sum", "by_name", "names"]

SUMS: tuple[Sum, ...] = sums_mix.SUMS + sums_pour.SUMS + sums_mold.SUMS + sums_finish.SUMS

_BY_NAME = {item.name: item for item in SUMS}


def names() -> tuple[str, ...]:
    """Return the names of all sums in the order of a job."""
    return tuple(_BY_NAME)


def by_name(name: str) -> Sum:
    """Return the sum called *name*, or raise `BenchError` that lists what there is."""
    if name not in _BY_NAME:
        raise BenchError(f"no sum '{name}': expected one of {', '.join(_BY_NAME)}")
    return _BY_NAME[name]
