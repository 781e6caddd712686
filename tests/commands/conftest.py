"""Commands as other programs run them: real child processes, with a cache of their own that is warm."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.patience import WAIT

ROOT = Path(__file__).parents[2]
Run = Callable[..., "subprocess.CompletedProcess[str]"]


@pytest.fixture(scope="session")
def clean_env(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """The environment without what would change the program, and a cache folder for the whole run."""
    env = {
        key: value
        for key, value in os.environ.items()
        if not key.startswith(("DIAGNOSE_", "PYTHON", "NETWORKX_", "XDG_", "LC_", "LANG"))
    }
    return {**env, "XDG_CACHE_HOME": str(tmp_path_factory.mktemp("cache")), "PYTHONPATH": str(ROOT)}


@pytest.fixture(scope="session")
def run(clean_env: dict[str, str]) -> Run:
    """Run `diagnose` with these words, and perhaps more environment; nothing is on its standard input."""

    def run_command(
        *words: object, env: dict[str, str] | None = None, cwd: Path = ROOT
    ) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [sys.executable, "-m", "diagnose", *map(str, words)],
            env={**clean_env, **(env or {})},
            cwd=cwd,
            stdin=subprocess.DEVNULL,
            capture_output=True,
            text=True,
            encoding="utf-8",
            timeout=WAIT,
            check=False,
        )

    return run_command


@pytest.fixture(scope="session")
def small(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The small made-up trade as a knowledge folder."""
    folder = tmp_path_factory.mktemp("small")
    (folder / "words.yaml").write_bytes((ROOT / "knowledge" / "words.yaml").read_bytes())
    (folder / "trade.yaml").write_bytes((ROOT / "tests" / "knowledge" / "small" / "trade.yaml").read_bytes())
    return folder
