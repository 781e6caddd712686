"""The commands of the docs, run as a reader would: `python -m tests.proof.documents` writes what they print into the pages.

A block fenced as ```` ```sh run ```` in README.md or `docs/*.md` is run by bash in a folder of its own, all blocks of a page one after another in
the same folder; a ```` ```text ```` block right behind it is what it printed, results and messages together, in 80 columns without color. The folder
holds what is shipped under `docs/examples` and `knowledge`. A file `docs/PAGE-NAME` is the file `NAME` that a block of the page wrote. A log gives each case an
id of its own, so the id that stands in the page stands for the one given.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
_BLOCK = re.compile(
    r"^```sh run\n(?P<script>.*?)^```\n(?P<between>\n*)(?:```text\n(?P<printed>.*?)^```\n)?", re.MULTILINE | re.DOTALL
)
_KEPT = re.compile(r"kept as (\w+);")


@dataclass(frozen=True)
class Ran:
    """A block that was run: what was typed, what the page says it prints (None: nothing is said), what it printed, its exit status."""

    script: str
    said: str | None
    printed: str
    status: int


def pages() -> list[Path]:
    """Return README.md, DEVELOPERS.md and every page of `docs`, sorted."""
    return [ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted((ROOT / "docs").rglob("*.md"))]


def pages_that_run() -> list[Path]:
    """Return the pages with a block that is run."""
    return [page for page in pages() if _BLOCK.search(page.read_text(encoding="utf-8"))]


def run_page(page: Path, folder: Path) -> Iterator[Ran]:
    """Run the blocks of *page* in *folder*, one after another."""
    given: dict[str, str] = {}
    for shipped in ("docs/examples", "knowledge"):
        shutil.copytree(ROOT / shipped, folder / shipped)
    for block in _BLOCK.finditer(page.read_text(encoding="utf-8")):
        script = block["script"]
        typed = script
        for stands, real in given.items():
            typed = typed.replace(stands, real)
        done = subprocess.run(
            ["bash", "-euo", "pipefail", "-c", typed],
            cwd=folder,
            env=_surroundings(folder),
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            check=False,
        )
        printed = done.stdout
        said = block["printed"]
        for stands, real in zip(_KEPT.findall(said or ""), _KEPT.findall(printed), strict=False):
            given[stands] = real
        for stands, real in given.items():
            printed = printed.replace(real, stands)
        yield Ran(script, said, printed, done.returncode)


def _surroundings(folder: Path) -> dict[str, str]:
    """The environment of a reader with nothing set, whose log and data lie in *folder*."""
    home = folder / ".home"
    kept = {name: value for name, value in os.environ.items() if not name.startswith(("DIAGNOSE_", "XDG_"))}
    return {
        **kept,
        "PATH": f"{Path(sys.executable).parent}{os.pathsep}{os.environ.get('PATH', '')}",
        "HOME": str(home),
        "XDG_CACHE_HOME": os.environ.get("XDG_CACHE_HOME") or str(Path.home() / ".cache"),
        "COLUMNS": "80",
        "NO_COLOR": "1",
        "TERM": "dumb",
        "PYTHONUTF8": "1",
    }


def pictures_of(page: Path, folder: Path) -> Iterator[tuple[Path, Path]]:
    """Return (file in docs, file written) for every `PAGE-NAME` in docs whose `NAME` a block may have written."""
    for path in sorted(page.parent.glob(f"{page.stem}-*")):
        if path.suffix != ".md":
            yield path, folder / path.name.removeprefix(f"{page.stem}-")


def rewrite(page: Path) -> bool:
    """Run *page* and write what its blocks print into it, and its pictures beside it; return whether anything changed. Raises
    ValueError where a block fails.
    """
    text = page.read_text(encoding="utf-8")
    with tempfile.TemporaryDirectory() as name:
        ran = list(run_page(page, Path(name)))
        for one in ran:
            if one.status != 0:
                raise ValueError(f"{page.name}: exit status {one.status} of:\n{one.script}{one.printed}")
        left = iter(ran)
        new = _BLOCK.sub(lambda block: _filled(block, next(left)), text)
        changed = new != text
        page.write_text(new, encoding="utf-8")
        for path, written in pictures_of(page, Path(name)):
            changed |= path.read_bytes() != written.read_bytes()
            path.write_bytes(written.read_bytes())
    return changed


def _filled(block: re.Match[str], ran: Ran) -> str:
    if block["printed"] is None:
        return block[0]
    return f"```sh run\n{block['script']}```\n{block['between']}```text\n{ran.printed}```\n"


if __name__ == "__main__":
    for each in pages_that_run():
        print(f"{each.relative_to(ROOT)}: {'written anew' if rewrite(each) else 'as it was'}")
