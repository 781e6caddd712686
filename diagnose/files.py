"""Putting a file down in one step: whoever reads it sees the old one or the new one, never half of it."""

from __future__ import annotations

import os
import tempfile
import time
from contextlib import suppress
from pathlib import Path

#: how a file ends that is to take the place of another when it is whole
PART = ".diagnose-part"
#: seconds after which nobody can be writing a part any more: whoever began it was killed
_LEFT = 3600.0


def write_atomic(path: Path, data: str | bytes, *, sync: bool = False) -> None:
    """Put *data* (text as UTF-8, its line ends as they are) in the place of *path*; a link stays a link, modes stay.

    With *sync* it is on the disk on return. Missing folders are made; what is no file (a device, a pipe) is written to
    as it is. Raises OSError; then the old file is as it was.
    """
    data = data.encode() if isinstance(data, str) else data
    if path.exists() and not path.is_file():
        path.write_bytes(data)
        return
    path = Path(os.path.realpath(path))
    path.parent.mkdir(parents=True, exist_ok=True)
    clear_parts(path.parent)
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=PART)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            if sync:
                os.fsync(file.fileno())
        os.chmod(name, path.stat().st_mode & 0o777 if path.exists() else 0o666 & ~_umask())
        os.replace(name, path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
    if sync:
        _sync_folder(path.parent)


def part_beside(path: Path) -> Path:
    """Return the name of the file of this process that is to take the place of *path*; what others left there goes."""
    clear_parts(path.parent)
    return path.with_name(f".{path.name}.{os.getpid()}{PART}")


def clear_parts(folder: Path, of: str = "") -> None:
    """Remove from *folder* the parts that killed programs left long ago,
    and all parts *of* a file that nobody else can be writing.
    """
    with suppress(OSError), os.scandir(folder) as entries:
        for entry in entries:
            if entry.name.startswith(".") and entry.name.endswith(PART):
                whole = entry.name[1 : -len(PART)].rpartition(".")[0]
                with suppress(OSError):
                    if whole == of or time.time() - entry.stat().st_mtime > _LEFT:
                        os.unlink(entry.path)


def _umask() -> int:
    """Return the mask that new files are made with: it can only be read by setting it."""
    mask = os.umask(0o077)
    os.umask(mask)
    return mask


def _sync_folder(folder: Path) -> None:
    """Force the new name to the disk, where the system lets a folder be opened."""
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
