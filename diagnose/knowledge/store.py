"""Where the knowledge is, and how it comes to hand quickly.

Reading and checking half a megabyte of YAML takes longer than a caster should wait for the first question, so the compiled
data are kept as JSON in the user's cache folder, under a name made from the content of every file and the program's
own version. A cache that does not fit, can't be read or can't be written is done without.
"""

from __future__ import annotations

import hashlib
import json
import os
import tempfile
from pathlib import Path
from typing import Any

import diagnose
from diagnose.errors import Fault, FileFaults, InputError
from diagnose.knowledge.model import Knowledge

MAX_FILE = 4 << 20
_FORMAT = 1


def knowledge_root(given: str | None = None) -> Path:
    """Return the knowledge folder: *given*, `DIAGNOSE_KNOWLEDGE`, the installed data, or the checkout's `knowledge/`."""
    named = given or os.environ.get("DIAGNOSE_KNOWLEDGE")
    if named:
        return Path(named)
    package = Path(diagnose.__file__).parent
    places = [package / "knowledge" / "data", package.parent / "knowledge"]
    for place in places:
        if (place / "words.yaml").is_file():
            return place
    tried = ", ".join(["--knowledge or DIAGNOSE_KNOWLEDGE (not given)", *map(str, places)])
    raise InputError(f"no knowledge folder found, tried {tried}")


def knowledge_files(root: Path) -> list[tuple[str, bytes]]:
    """Return (name relative to *root*, content) of every YAML file below it, sorted by name. Raises FileFaults."""
    if not root.is_dir():
        raise FileFaults([Fault(str(root), 0, "no such folder, expected a folder of knowledge files")])
    paths = sorted(p for p in root.rglob("*") if p.suffix in (".yaml", ".yml") and p.is_file())
    if not paths:
        raise FileFaults([Fault(str(root), 0, "holds no .yaml file, expected knowledge files")])
    try:
        return [(path.relative_to(root).as_posix(), path.read_bytes()) for path in paths]
    except OSError as error:
        raise FileFaults([Fault(str(error.filename), 0, f"can't be read: {error.strerror}")]) from None


def load_knowledge(given: str | None = None) -> Knowledge:
    """Return the knowledge of the folder *given* (or the default one), from the cache where it fits.

    Raises FileFaults with every fault of the files.
    """
    root = knowledge_root(given)
    files = knowledge_files(root)
    key = content_key(files)
    place = _cache_file(key)
    plain = _read_cache(place, key)
    if plain is None:
        plain = compile_folder(files, given or "knowledge")
        _write_cache(place, key, plain)
    return Knowledge.from_plain(plain, key)


def compile_folder(files: list[tuple[str, bytes]], label: str) -> dict[str, Any]:
    """Read and check *files*, and add the index of callers' words. Raises FileFaults."""
    from diagnose.knowledge.reader import compile_files

    return compile_files(files, label)


def content_key(files: list[tuple[str, bytes]]) -> str:
    """Return a name for exactly this content read by exactly this program."""
    digest = hashlib.sha256(f"{_FORMAT} {diagnose.__version__} {_program_mark()}".encode())
    for name, data in files:
        digest.update(f"\0{name}\0{len(data)}\0".encode())
        digest.update(data)
    return digest.hexdigest()


def _program_mark() -> str:
    """In a checkout the code changes without the version; sizes and times of the reading modules mark that."""
    folder = Path(__file__).parent
    stats = [(name, os.stat(folder / name)) for name in ("compile.py", "model.py", "reader.py", "sections.py", "hearing.py") if (folder / name).exists()]
    return " ".join(f"{name}:{stat.st_size}:{stat.st_mtime_ns}" for name, stat in stats)


def _cache_file(key: str) -> Path | None:
    from platformdirs import user_cache_path

    try:
        return user_cache_path("diagnose", appauthor=False) / f"knowledge-{key[:24]}.json"
    except (OSError, RuntimeError):
        return None


def _read_cache(place: Path | None, key: str) -> dict[str, Any] | None:
    if place is None:
        return None
    try:
        held = json.loads(place.read_bytes())
        return held["plain"] if held["key"] == key else None
    except (OSError, ValueError, KeyError, TypeError):
        return None


def _write_cache(place: Path | None, key: str, plain: dict[str, Any]) -> None:
    """Write beside and move into place, so that nobody reads half a file; old ones of this program are cleared."""
    if place is None:
        return
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
        for old in sorted(place.parent.glob("knowledge-*.json"), key=lambda path: path.stat().st_mtime)[:-4]:
            old.unlink(missing_ok=True)
        handle, name = tempfile.mkstemp(dir=place.parent, prefix="writing-", suffix=".json")
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            json.dump({"key": key, "plain": plain}, file, ensure_ascii=False, separators=(",", ":"))
        os.replace(name, place)
    except OSError:
        return
