"""Files that the log writes beside its database: whole or not at all."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TextIO

from diagnose.errors import DiagnoseError, InputError
from diagnose.files import part_beside


@contextmanager
def written_whole(path: Path) -> Iterator[TextIO]:
    """A text file that takes the place of *path* in one step when all is written. Raises InputError, DiagnoseError."""
    if os.path.lexists(path) and not path.is_file():
        raise InputError(f"{path}: is no regular file, expected a new name or a file to write over")
    place = Path(os.path.realpath(path))  # a link stays a link
    beside = part_beside(place)
    try:
        try:
            with open(beside, "w", encoding="utf-8", newline="") as file:
                yield file
                file.flush()
                os.fsync(file.fileno())
            os.replace(beside, place)
        except OSError as error:
            raise DiagnoseError(f"{path}: can't be written: {error.strerror or error}") from None
    finally:
        with suppress(OSError):
            beside.unlink(missing_ok=True)
