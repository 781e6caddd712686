"""Both ends of what is allowed: `python -m tests.proof.ends [--whole] [--keep DIR] [PYTHON ...]`.

Builds the sdist, and the wheel from the sdist, and looks at what lies in them. Then, for each interpreter (those named, else every
`python3.11`, `python3.12` and `python3.13` to be found), once with the lowest allowed version of every dependency of ours that has a wheel for it and
once with the newest: a fresh environment, the wheel put in, and the tests run where no checkout is near, so that it is the wheel that runs. What needs the
checkout itself (formatting, types, the tree) is for the checkout. Prints a row for each room of the tests; ends with 1 if anything failed. `--keep` names a
folder where environments, and what the tests of each room said, stay for the next run. Wants `uv` (`pip install uv`), the network
and some patience: a minute to install and half an hour to run with `--whole`, else three.
"""

from __future__ import annotations

import argparse
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
#: the room that looks at the checkout itself
_OF_THE_CHECKOUT = "house"


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


def environment(program: str, end: str, wheel: Path, folder: Path) -> Path:
    """Return the interpreter of an environment in *folder* for *program*: the versions of *end*, and *wheel* put in anew."""
    python, pins = folder / "bin" / "python", folder.with_name(f"{folder.name}.txt")
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    ours = [word for need in project["dependencies"] for word in ("--only-binary", re.split(r"[<>=~!;\[ ]", need)[0])]
    if not python.exists():
        run(uv(), "venv", "-q", "--seed", "--python", program, folder)
    wanted = ("--resolution", end, "--extra", "test", *ours, "-o", pins, "pyproject.toml")
    run(uv(), "pip", "compile", "-q", "--upgrade", "--python", python, *wanted)
    run(uv(), "pip", "install", "-q", "--python", python, "-r", pins)
    run(uv(), "pip", "install", "-q", "--python", python, "--no-deps", "--reinstall", wheel)
    return python


def rooms(stage: Path, whole: bool) -> list[str]:
    """Return the rooms of the tests in *stage* that are run: all but the checkout's own, or some."""
    found = sorted({path.parent.name for path in (stage / "tests").glob("*/test_*.py")} - {_OF_THE_CHECKOUT})
    return [room for room in found if whole or room in SOME]


def tried(python: Path, room: str, stage: Path, out: Path) -> str:
    """Return the last line of the tests of *room*, with those that failed below it; all that they said goes to *out*."""
    env = {**os.environ, "XDG_CACHE_HOME": str(python.parents[1] / "cache"), "DIAGNOSE_WAIT": "900"}
    words = [python, "-m", "pytest", "-p", "no:cacheprovider", "-rfEs", "-o", "timeout=1800", f"tests/{room}"]
    with out.open("w", encoding="utf-8") as said:
        done = subprocess.run([str(word) for word in words], cwd=stage, env=env, stdout=said, stderr=said, check=False)
    text = out.read_text(encoding="utf-8", errors="replace")
    failed = re.findall(r"^(?:FAILED|ERROR) (\S+)", text, flags=re.MULTILINE)
    last = next((line for line in reversed(text.splitlines()) if line.strip()), "nothing said")
    return "\n    ".join([last if done.returncode else f"passed: {last}", *failed])


def staged(folder: Path) -> tuple[Path, Path, list[str]]:
    """Build in *folder*; return the wheel, the unpacked sdist without the package, and what is odd in the two."""
    sdist, wheel = built(folder / "dist")
    odd = [*odd_in_sdist(sdist), *odd_in_wheel(wheel)]
    told = ", ".join(f"{each.name} {each.stat().st_size} bytes" for each in (sdist, wheel))
    print(f"{told}; odd: {odd or 'nothing'}", flush=True)
    with tarfile.open(sdist) as found:
        found.extractall(folder, filter="data")
    stage = folder / sdist.name.removesuffix(".tar.gz")
    shutil.rmtree(stage / "diagnose")
    return wheel, stage, odd


def main() -> int:
    """Build, look, install and run; return the exit status."""
    words = argparse.ArgumentParser(prog="python -m tests.proof.ends", description=__doc__)
    words.add_argument("pythons", nargs="*", metavar="PYTHON")
    words.add_argument("--whole", action="store_true", help="all rooms of the tests")
    words.add_argument("--end", choices=ENDS, help="one end only")
    words.add_argument("--room", action="append", help="this room only (may stand several times)")
    words.add_argument("--keep", type=Path, help="folder of the environments and of what the tests said")
    given = words.parse_args()
    with tempfile.TemporaryDirectory() as name:
        wheel, stage, odd = staged(Path(name))
        keep = (given.keep or Path(name) / "kept").absolute()
        keep.mkdir(parents=True, exist_ok=True)
        bad = bool(odd)
        for version, program in interpreters(given.pythons):
            for end in (given.end,) if given.end else ENDS:
                python = environment(program, end, wheel, keep / f"{version}-{end}")
                for room in given.room or rooms(stage, given.whole):
                    said = tried(python, room, stage, keep / f"{version}-{end}-{room}.out")
                    print(f"{version} {end} {room}: {said}", flush=True)
                    bad |= not said.startswith("passed")
    return int(bad)


if __name__ == "__main__":
    sys.exit(main())
