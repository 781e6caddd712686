"""The house itself: formatting, lint, types, the import contract, what lies at the top level, and the wheel outside the checkout."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
BIN = Path(sys.executable).parent


def _run(*command: str, cwd: Path = ROOT, env: dict[str, str] | None = None) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        command, cwd=cwd, env=env, capture_output=True, text=True, stdin=subprocess.DEVNULL, check=False
    )


def test_code_is_formatted_and_free_of_lint() -> None:
    """ruff finds nothing to format and nothing to mend."""
    for words in (("format", "--check", "."), ("check", ".")):
        done = _run(sys.executable, "-m", "ruff", *words)
        assert done.returncode == 0, done.stdout + done.stderr


@pytest.mark.timeout(600)
def test_the_package_is_strictly_typed() -> None:
    """mypy --strict finds no fault in the package."""
    done = _run(sys.executable, "-m", "mypy")
    assert done.returncode == 0, done.stdout + done.stderr


def test_arrows_run_one_way() -> None:
    """The import contract of pyproject.toml holds."""
    done = _run(str(BIN / "lint-imports"))
    assert done.returncode == 0, done.stdout + done.stderr


def test_top_level_holds_nothing_else() -> None:
    """Beside dotfiles there are seven names at the top, and no eighth."""
    tracked = _run("git", "ls-files").stdout.split()
    if not tracked:
        pytest.fail("git lists no files: expected a checkout")
    tops = {name.split("/")[0] for name in tracked}
    assert {name for name in tops if not name.startswith(".")} <= {
        "README.md",
        "DEVELOPERS.md",
        "pyproject.toml",
        "diagnose",
        "knowledge",
        "tests",
        "docs",
    }


def test_no_module_has_outgrown_its_room() -> None:
    """No module of the package is over 600 lines."""
    long = {
        str(path.relative_to(ROOT)): count
        for path in sorted((ROOT / "diagnose").rglob("*.py"))
        if (count := len(path.read_text(encoding="utf-8").splitlines())) > 600
    }
    assert long == {}


@pytest.fixture(scope="module")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel, built from the checkout and unpacked where no checkout is near."""
    folder = tmp_path_factory.mktemp("wheel")
    built = _run(
        sys.executable, "-m", "pip", "wheel", "-q", "--no-deps", "--no-build-isolation", "-w", str(folder), str(ROOT)
    )
    assert built.returncode == 0, built.stderr
    wheel = next(folder.glob("*.whl"))
    target = folder / "site"
    put = _run(sys.executable, "-m", "pip", "install", "-q", "--no-deps", "--target", str(target), str(wheel))
    assert put.returncode == 0, put.stderr
    return target


@pytest.mark.timeout(300)
def test_the_wheel_finds_its_knowledge(installed: Path, tmp_path: Path) -> None:
    """Installed outside the checkout, the command reads a case with the knowledge that came in the wheel."""
    case = tmp_path / "case.yaml"
    case.write_text((ROOT / "docs" / "examples" / "goose-mask.yaml").read_text(encoding="utf-8"), encoding="utf-8")
    env = {**os.environ, "PYTHONPATH": str(installed), "XDG_CACHE_HOME": str(tmp_path / "cache")}
    env.pop("DIAGNOSE_KNOWLEDGE", None)
    where = _run(sys.executable, "-c", "import diagnose; print(diagnose.__file__)", cwd=tmp_path, env=env).stdout
    assert str(installed) in where
    done = _run(sys.executable, "-m", "diagnose", "read", "case.yaml", "--json", cwd=tmp_path, env=env)
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout)["causes"]
    page = _run(sys.executable, "-m", "diagnose", "read", "case.yaml", "--html", "page.html", cwd=tmp_path, env=env)
    assert page.returncode == 0, page.stderr
    assert "<html" in (tmp_path / "page.html").read_text(encoding="utf-8")


def _sections(shown: str) -> dict[str, list[str]]:
    """The titles of a help text with the first words of the lines under each."""
    parts = re.split(r"^(\S[^\n]*):\n", shown, flags=re.MULTILINE)
    return {
        title: re.findall(r"^  (\S+)", lines, flags=re.MULTILINE)
        for title, lines in zip(parts[1::2], parts[2::2], strict=True)
    }


@pytest.mark.timeout(300)
def test_readme_names_every_command() -> None:
    """Each command of the command line stands in the README, by its full name or in the table of what to type, and each has help."""
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    typed = re.findall(r"^\| (`diagnose [^|]*?) \|", readme, flags=re.MULTILINE)
    named = {word for cell in typed for word in re.findall(r"`([a-z-]+)`", cell)}
    named |= set(re.findall(r"\bdiagnose ([a-z-]+)", readme))
    sections = _sections(_run(sys.executable, "-m", "diagnose", "--help").stdout)
    commands = [name for title, names in sections.items() if title not in ("Examples", "Options") for name in names]
    assert len(commands) >= 10
    for name in commands:
        assert name in named, f"README.md doesn't name: diagnose {name}"
        helped = _run(sys.executable, "-m", "diagnose", name, "--help")
        assert helped.returncode == 0, helped.stderr
        assert helped.stdout.startswith(f"Usage: diagnose {name} ")


def test_readme_opens_with_two_sh_blocks() -> None:
    """The first two fenced sh blocks set up and run an example, and set up and pass the tests."""
    blocks = re.findall(
        r"^```sh\n(.*?)^```$", (ROOT / "README.md").read_text(encoding="utf-8"), flags=re.MULTILINE | re.DOTALL
    )
    assert "diagnose read" in blocks[0]
    assert "pytest" in blocks[1]
