"""A PostgreSQL server for the tests: made in a folder of its own, run by a user without rights, gone afterward."""

from __future__ import annotations

import os
import pwd
import shutil
import socket
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from importlib.util import find_spec
from pathlib import Path


def programs() -> Path | None:
    """Return the folder of the server's programs: Debian's, or those that the package pgserver brings; None without either."""
    places = sorted(Path("/usr/lib/postgresql").glob("*/bin"), reverse=True)
    spec = find_spec("pgserver")
    if spec is not None and spec.origin:
        places.append(Path(spec.origin).parent / "pginstall" / "bin")
    return next((place for place in places if (place / "initdb").exists()), None)


def _user() -> dict[str, object]:
    """Who runs the server: it refuses root, so nobody does where we are root."""
    if os.geteuid() != 0:
        return {}
    nobody = pwd.getpwnam("nobody")
    return {"user": nobody.pw_uid, "group": nobody.pw_gid, "extra_groups": []}


@contextmanager
def server() -> Iterator[str]:
    """Run a server and yield the address of its database `postgres`, without a password, on this machine only."""
    place = programs()
    assert place is not None
    folder = Path(tempfile.mkdtemp(prefix="pg-", dir="/tmp"))
    who = _user()
    if who:
        shutil.chown(folder, "nobody")
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    env = {"PATH": os.environ["PATH"], "LC_ALL": "C.UTF-8", "HOME": str(folder)}

    def run(*words: str) -> None:
        done = subprocess.run(words, cwd=folder, env=env, capture_output=True, text=True, check=False, **who)  # type: ignore[call-overload]
        assert done.returncode == 0, done.stdout + done.stderr

    data = str(folder / "data")
    run(str(place / "initdb"), "-D", data, "-U", "shop", "-A", "trust", "-E", "UTF8", "--no-sync")
    options = f"-p {port} -c listen_addresses=127.0.0.1 -c unix_socket_directories={folder} -c fsync=off"
    run(str(place / "pg_ctl"), "-D", data, "-w", "-l", str(folder / "server.txt"), "-o", options, "start")
    try:
        yield f"postgresql://shop@127.0.0.1:{port}/postgres"
    finally:
        with suppress(AssertionError):
            run(str(place / "pg_ctl"), "-D", data, "-m", "immediate", "stop")
        shutil.rmtree(folder, ignore_errors=True)
