"""Records kept as JSON in the user's cache folder, under a name made from what they were made of.

A cache that does not fit, can't be read or can't be written is done without.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path
from typing import TypeVar

from msgspec import ValidationError, json

import diagnose
from diagnose import places
from diagnose.files import write_atomic
from diagnose.knowledge.files import SourceFile

T = TypeVar("T")
#: how many caches of other contents are kept beside the newest
_KEPT = 4


def content_key(files: Iterable[SourceFile]) -> str:
    """Return the SHA-256 of exactly this content: names in their folder, and bytes."""
    digest = hashlib.sha256()
    for file in files:
        name = "shop file" if file.shop else file.name
        digest.update(f"\0{name}\0{len(file.data)}\0".encode())
        digest.update(file.data)
    return digest.hexdigest()


def cache_key(files: Iterable[SourceFile]) -> str:
    """Return a name for exactly these files, named as they are, read by exactly this program."""
    digest = hashlib.sha256(f"{diagnose.__version__} {_program_mark()}".encode())
    for file in files:
        digest.update(f"\0{file.shop}\0{file.label}\0{len(file.data)}\0".encode())
        digest.update(file.data)
    return digest.hexdigest()


def _program_mark() -> str:
    """In a checkout the code changes without the version; sizes
    and times of the modules that read the files mark that.
    """
    with os.scandir(Path(__file__).parent) as entries:
        stats = [(entry.name, entry.stat()) for entry in entries if entry.name.endswith(".py")]
    units = Path(diagnose.__file__).parent / "units.py"
    stats.append((units.name, units.stat()))
    return " ".join(f"{name}:{stat.st_size}:{stat.st_mtime_ns}" for name, stat in sorted(stats))


def read_cache(kind: str, key: str, cls: type[T]) -> T | None:
    """Return what is kept of *kind* for *key* as a *cls*,
    or None unless all of it is there, byte for byte as it was written.
    """
    with suppress(OSError, RuntimeError, ValidationError):
        head, _, body = _place(kind, key).read_bytes().partition(b"\n")
        if head == _head(key, body):
            return json.decode(body, type=cls)
    return None


def write_cache(kind: str, key: str, value: object) -> None:
    """Keep *value*, of records and plain data, for *key*, beside the newest few others of its *kind*."""
    body = json.encode(value)
    with suppress(OSError, RuntimeError):
        place = _place(kind, key)
        write_atomic(place, _head(key, body) + b"\n" + body)
        others = sorted(
            ((p.stat().st_mtime, p) for p in place.parent.glob(f"{kind}-*.json") if p != place), reverse=True
        )
        for _, old in others[_KEPT:]:
            old.unlink(missing_ok=True)


def _place(kind: str, key: str) -> Path:
    return places.cache_folder() / f"{kind}-{key[:24]}.json"


def _head(key: str, body: bytes) -> bytes:
    return f"{key} {hashlib.sha256(body).hexdigest()}".encode()
