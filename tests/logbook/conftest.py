"""Logs to test on: a file of SQLite and a database of PostgreSQL, the same tests on both."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from diagnose.assessment.consultation import ModelCache
from diagnose.knowledge import Knowledge, load_knowledge
from diagnose.logbook.places import where_of
from diagnose.logbook.store import Store, open_log
from tests.patience import WAIT

sys.path.insert(0, str(Path(__file__).parent))

from log_support import ROOT, Run, new_database


@pytest.fixture(scope="session")
def knowledge() -> Knowledge:
    """The knowledge of the checkout."""
    return load_knowledge()


@pytest.fixture(scope="session")
def models(knowledge: Knowledge) -> ModelCache:
    """Its models."""
    return ModelCache(knowledge)


@pytest.fixture(scope="session")
def address() -> Iterator[str]:
    """A PostgreSQL server of our own; where there is no program for one the tests on it are skipped, but never in CI."""
    import postgres

    if postgres.programs() is None:
        assert not os.environ.get("CI"), "CI has to bring PostgreSQL: apt-get install postgresql"
        pytest.skip("no PostgreSQL here: install pgserver or Debian's postgresql")
    with postgres.server() as found:
        yield found


@pytest.fixture(params=["sqlite", "postgresql"])
def place(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """Where an empty log may be made: a file, then a database."""
    return str(tmp_path / "log.db") if request.param == "sqlite" else new_database(request.getfixturevalue("address"))


@pytest.fixture
def store(place: str) -> Iterator[Store]:
    """An empty log, open for writing."""
    opened = open_log(where_of(place), write=True)
    yield opened
    opened.close()


@pytest.fixture
def file_store(tmp_path: Path) -> Iterator[Store]:
    """An empty log in a file."""
    opened = open_log(where_of(str(tmp_path / "log.db")), write=True)
    yield opened
    opened.close()


@pytest.fixture(scope="session")
def clean_env(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """The environment without what would change the program, with a home of its own."""
    env = {k: v for k, v in os.environ.items() if not k.startswith(("DIAGNOSE_", "PYTHON", "XDG_", "LC_", "LANG"))}
    home = tmp_path_factory.mktemp("home")
    return {**env, "XDG_CACHE_HOME": str(home / "cache"), "XDG_DATA_HOME": str(home / "data"), "PYTHONPATH": str(ROOT)}


@pytest.fixture(scope="session")
def run(clean_env: dict[str, str]) -> Run:
    """Run `diagnose log` with these words as a process of its own; nothing is on its standard input."""

    def run_command(*words: object, **more: Any) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [sys.executable, "-m", "diagnose", "log", *map(str, words)],
            env={**clean_env, **more.pop("env", {})},
            cwd=more.pop("cwd", ROOT),
            stdin=subprocess.DEVNULL,
            capture_output=True,
            text=True,
            encoding="utf-8",
            timeout=WAIT,
            check=False,
            **more,
        )

    return run_command
