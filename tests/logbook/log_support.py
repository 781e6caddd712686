"""What the tests of the log share beside their fixtures."""

from __future__ import annotations

import subprocess
import uuid
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).parents[2]
GOOSE = ROOT / "docs" / "examples" / "goose-mask.yaml"
Run = Callable[..., "subprocess.CompletedProcess[str]"]


def fill(disk: Path) -> None:
    """Leave not a byte on the file system of *disk*."""
    with open(disk / "ballast", "wb", buffering=0) as ballast:
        while True:
            try:
                ballast.write(bytes(4096))
            except OSError:
                return


def new_database(address: str) -> str:
    """Make an empty database on the server at *address* and return its own address."""
    import psycopg

    name = f"log_{uuid.uuid4().hex}"
    with psycopg.connect(address, autocommit=True) as connection:
        connection.execute(f"CREATE DATABASE {name}")  # type: ignore[call-overload]
    return address.rpartition("/")[0] + f"/{name}"
