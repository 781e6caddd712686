"""Replay on a cluster of dask.distributed, through its standard executor (extra `cluster`)."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import Executor
from contextlib import contextmanager

from diagnose.errors import DiagnoseError, InputError


@contextmanager
def executor_at(address: str) -> Iterator[Executor]:
    """The executor of the scheduler at *address*. Raises InputError without the extra,
    DiagnoseError where nobody answers.
    """
    try:
        from distributed import Client
    except ImportError:
        raise InputError("--cluster needs the extra: pip install 'benchside-diagnose[cluster]'") from None
    try:
        client = Client(address, timeout="10s", set_as_default=False)
    except (OSError, ValueError, TimeoutError) as error:
        raise DiagnoseError(f"{address}: the cluster doesn't answer: {str(error).splitlines()[0]}") from None
    try:
        yield client.get_executor(pure=False)
    finally:
        client.close()
