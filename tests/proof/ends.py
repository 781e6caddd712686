"""Both ends of what is allowed: `python -m tests.proof.ends [--whole] [PYTHON ...]`.

Builds the sdist, and the wheel from the sdist, and looks at what lies in them. Then, for each interpreter (those named, else every
`python3.11`, `python3.12` and `python3.13` to be found), once with the lowest allowed version of every dependency of ours that has a wheel for it and
once with the newest: a fresh environment, the wheel put in, and the tests run where no checkout is near, so that it is the wheel that runs. What needs the
checkout itself (formatting, types, the tree) is for the checkout. Prints a row for each; ends with 1 if anything failed. Wants `uv` (`pip install uv`), the network
and some patience: a minute to install and a quarter of an hour to run with `--whole`, else three.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tarfile
import tempfile
import tomllib
import zipfile
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parents[2]
ENDS = ("lowest-direct", "highest")
VERSIONS = ("3.11", "3.12", "3.13")
SOME = ("reasoning", "sums", "cases", "casebook", "commands", "published")
#: these look at the checkout itself
_OF_THE_CHECKOUT = ("tests/house",)


def run(*words: str | Path, cwd: Path = ROOT, env: dict[str, str] | None = None) -> str:
    """Run *words* and return what they print. Raises RuntimeError with the end of it where they fail."""
    done = subprocess.run([str(word) for word in words], cwd=cwd, env=env, capture_output=True, text=True, check=False)
    if done.returncode != 0:
        raise RuntimeError(f"{Path(words[0]).name} {words[1]}: {(done.stdout + done.stderr)[-3000:]}")
    return done.stdout


def uv() -> str:
    """Return where `uv` is. Raises RuntimeError where it is nowhere."""
    found = shutil.which("uv", path=f"{Path(sys.executable).parent}{os.pathsep}{os.environ.get('PATH', '')}")
    if found is None:
        raise RuntimeError("no uv here: expected it on the PATH (pip install uv)")
    return found


def built(folder: Path) -> tuple[Path, Path]:
    """Return the sdist, and the wheel that is built from it, in *folder*."""
    run(uv(), "build", "-q", "-o", folder, ROOT)
    return next(folder.glob("*.tar.gz")), next(folder.glob("*.whl"))


def odd_in_sdist(sdist: Path) -> list[str]:
    """Return what is in the sdist and not in the checkout, or the other way round; dotfiles and what a build adds aside."""
    with tarfile.open(sdist) as found:
        inside = {member.name.partition("/")[2] for member in found.getmembers() if member.isfile()}
    tracked = {name for name in run("git", "ls-files").splitlines() if not name.startswith(".")}
    return sorted(inside - {"PKG-INFO", ".gitignore"} ^ tracked)


def odd_in_wheel(wheel: Path) -> list[str]:
    """Return what is in the wheel and shouldn't be, or is missing: the package, the knowledge, the manual page and the labels."""
    with zipfile.ZipFile(wheel) as found:
        inside = {re.sub(r"^[^/]*\.(?:dist-info|data)/", "", name) for name in found.namelist()}
    tracked = run("git", "ls-files", "diagnose", "knowledge").splitlines()
    wanted = {re.sub(r"^knowledge/", "diagnose/knowledge/data/", name) for name in tracked}
    labels = {"METADATA", "WHEEL", "RECORD", "entry_points.txt", "data/share/man/man1/diagnose.1"}
    return sorted(inside ^ (wanted | labels))


def interpreters(named: list[str]) -> Iterator[tuple[str, str]]:
    """Yield (version, program): those *named*, else one for each version to be found, on the PATH or as pyenv keeps them."""
    for version in VERSIONS:
        kept = sorted(Path.home().glob(f".pyenv/versions/{version}.*/bin/python"))
        found = str(kept[-1]) if kept else shutil.which(f"python{version}")
        if found and not named:
            yield version, found
    for program in named:
        yield run(program, "-c", "import sys; print('%d.%d' % sys.version_info[:2])").strip(), program


def tried(program: str, end: str, wheel: Path, stage: Path, folder: Path, tests: list[str]) -> str:
    """Return the last line of the tests with the versions of *end* under *program*, in a fresh environment in *folder*."""
    python = folder / "bin" / "python"
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    ours = [word for need in project["dependencies"] for word in ("--only-binary", re.split(r"[<>=~!;\[ ]", need)[0])]
    pins = folder.with_suffix(".txt")
    run(uv(), "venv", "-q", "--seed", "--python", program, folder)
    run(
        uv(),
        "pip",
        "compile",
        "-q",
        "--python",
        python,
        "--resolution",
        end,
        "--extra",
        "test",
        *ours,
        "-o",
        pins,
        "pyproject.toml",
    )
    run(uv(), "pip", "install", "-q", "--python", python, "-r", pins)
    run(uv(), "pip", "install", "-q", "--python", python, "--no-deps", wheel)
    env = {**os.environ, "XDG_CACHE_HOME": str(folder / "cache")}
    words = [python, "-m", "pytest", "-p", "no:cacheprovider", "-m", "not browser", "-o", "timeout=1800", *tests]
    done = subprocess.run(
        [str(word) for word in words], cwd=stage, env=env, capture_output=True, text=True, check=False
    )
    failed = re.findall(r"^(?:FAILED|ERROR) (\S+)", done.stdout, flags=re.MULTILINE)
    last = next((line for line in reversed(done.stdout.splitlines()) if line.strip()), done.stderr[-300:])
    return "\n    ".join([last if done.returncode else f"passed: {last}", *failed])


def main(words: list[str]) -> int:
    """Build, look, install and run; return the exit status."""
    whole = "--whole" in words
    tests = [f"tests/{name}" for name in SOME]
    if whole:
        tests = ["tests", *(f"--ignore={path}" for path in _OF_THE_CHECKOUT)]
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        sdist, wheel = built(folder / "dist")
        odd = [*odd_in_sdist(sdist), *odd_in_wheel(wheel)]
        print(
            f"{sdist.name} {sdist.stat().st_size} bytes, {wheel.name} {wheel.stat().st_size} bytes; odd: {odd or 'nothing'}"
        )
        with tarfile.open(sdist) as found:
            found.extractall(folder, filter="data")
        stage = folder / sdist.name.removesuffix(".tar.gz")
        shutil.rmtree(stage / "diagnose")
        bad = bool(odd)
        for version, program in interpreters([word for word in words if word != "--whole"]):
            for end in ENDS:
                said = tried(program, end, wheel, stage, folder / f"{version}-{end}", tests)
                print(f"{version} {end}: {said}", flush=True)
                bad |= not said.startswith("passed")
    return int(bad)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
