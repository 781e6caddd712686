"""Where a log is: a file for SQLite or a database URL, from `--log`, the environment, or the user's data folder."""

from __future__ import annotations

import os
from pathlib import Path
from urllib.parse import urlsplit, urlunsplit

from msgspec import Struct

from diagnose.errors import InputError
from diagnose.places import data_folder

VARIABLE, OFF = "DIAGNOSE_LOG", "off"
_SERVERS = ("postgresql", "postgres", "postgresql+psycopg")


class Where(Struct, frozen=True):
    """A log: the *file* of SQLite, or the *url* of a server (then *file* is None).
    *label* names it without its password.
    """

    file: Path | None
    url: str
    label: str

    @property
    def off(self) -> bool:
        """Whether the shop wants no log (`DIAGNOSE_LOG=off`)."""
        return self.label == OFF


def where_of(given: str | None = None) -> Where:
    """Return the log that *given* names, else `DIAGNOSE_LOG`, else the one in the user's data folder.
    Raises InputError.
    """
    named = given or os.environ.get(VARIABLE)
    if not named:
        return _file(default_file())
    if named == OFF and not given:
        return Where(None, "", OFF)
    scheme, separator, rest = named.partition("://")
    if not separator:
        return _file(Path(named).expanduser())
    if scheme == "sqlite":
        return _file(Path(rest[1:] if rest.startswith("/") else rest).expanduser())
    if scheme in _SERVERS:
        return Where(None, f"postgresql+psycopg://{rest}", _without_password(f"postgresql://{rest}"))
    raise InputError(f"--log: '{scheme}' is no database that the log knows, expected a file or postgresql://...")


def default_file() -> Path:
    """Return the log of a user who names none."""
    return data_folder() / "log.db"


def _file(path: Path) -> Where:
    if path.is_dir():
        raise InputError(f"{path}: is a folder, expected the file of a log")
    return Where(path, "", str(path))


def _without_password(url: str) -> str:
    parts = urlsplit(url)
    host = parts.netloc.rpartition("@")
    user = host[0].partition(":")[0]
    return urlunsplit((parts.scheme, f"{user}@{host[2]}" if user else host[2], parts.path, "", ""))
