"""Quick to hand: what a command doesn't use it doesn't import, and reading a case costs no more than importing four packages."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.patience import WAIT

Run = Callable[..., "subprocess.CompletedProcess[str]"]
ROOT = Path(__file__).parents[2]
TUSKS = ROOT / "tests" / "cases" / "tusks-in-march.yaml"
#: what the installed command does
AS_INSTALLED = "from diagnose.commands.main import main; main()"
HEAVY = (
    "questionary",
    "prompt_toolkit",
    "networkx",
    "rich",
    "scipy",
    "jinja2",
    "matplotlib",
    "asyncio",
    "diagnose.knowledge.reader",
    "diagnose.knowledge.compile",
    "diagnose.knowledge.callers",
    "diagnose.hearing",
    "sqlalchemy",
    "PIL",
    "diagnose.remote",
    "diagnose.knowledge.graph",
)


def imported(words: list[str], env: dict[str, str]) -> list[str]:
    """Return which of the heavy modules a command has imported when it is done."""
    code = f"import sys; from diagnose.commands.main import run; status = run({words!r}); print(status, [m for m in {HEAVY!r} if m in sys.modules], file=sys.stderr)"
    done = subprocess.run(
        [sys.executable, "-c", code],
        cwd=ROOT,
        env=env,
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        timeout=WAIT,
        check=True,
    )
    status, _, found = done.stderr.splitlines()[-1].partition(" ")
    assert status == "0"
    return [name.strip("' ") for name in found.strip("[]").split(",") if name.strip("' ")]


@pytest.mark.parametrize(
    "words",
    [
        ["read", "--json", str(TUSKS)],
        ["read", "--json", "--arithmetic", str(TUSKS)],
        ["read", "--batch", str(TUSKS.parent)],
        ["knowledge", "--json"],
    ],
    ids=lambda words: " ".join(words[:3]),
)
def test_what_a_command_does_not_use_it_does_not_import(run: Run, clean_env: dict[str, str], words: list[str]) -> None:
    """With a warm cache, no screen, no graph, no statistics, and none of the modules that read knowledge files."""
    assert run(*words).returncode == 0
    assert imported(words, clean_env) == []


def test_help_imports_next_to_nothing(clean_env: dict[str, str]) -> None:
    """The help is there without numpy, YAML or any screen."""
    code = (
        "import sys; from diagnose.commands.main import run; run(['--help']); "
        "print([m for m in ('numpy', 'yaml', 'rich', 'networkx', 'questionary') if m in sys.modules], file=sys.stderr)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, env=clean_env, capture_output=True, text=True, timeout=WAIT, check=True
    )
    assert done.stderr.splitlines()[-1] == "[]"
