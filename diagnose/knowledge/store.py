"""Where the knowledge is, and how it comes to hand quickly.

Reading and checking half a megabyte of YAML takes longer than a caster should wait for the first question, so the compiled
data are kept as JSON in the user's cache folder, under a name made from the content of every file and the program's
own version. A cache that does not fit, can't be read or can't be written is done without.
"""

from __future__ import annotations

import hashlib
import json
import os
import time
from contextlib import suppress
from pathlib import Path
from typing import Any

import diagnose
from diagnose.errors import Fault, FileFaults, InputError
from diagnose.knowledge.model import Knowledge

MAX_FILE = 4 << 20
_FORMAT = 6
#: how many caches of other contents are kept beside the newest
_KEPT = 4
#: what marks the shop's own file among the files read
SHOP_FILE = "shop file "


def _named(given: str | None) -> str | None:
    return given or os.environ.get("DIAGNOSE_KNOWLEDGE")


def knowledge_root(given: str | None = None) -> Path:
    """Return the knowledge folder: *given*, `DIAGNOSE_KNOWLEDGE`, the installed data, or the checkout's `knowledge/`."""
    named = _named(given)
    if named:
        return Path(named)
    package = Path(diagnose.__file__).parent
    places = [package / "knowledge" / "data", package.parent / "knowledge"]
    for place in places:
        if (place / "words.yaml").is_file():
            return place
    tried = ", ".join(["--knowledge or DIAGNOSE_KNOWLEDGE (not given)", *map(str, places)])
    raise InputError(f"no knowledge folder found, tried {tried}")


def folder_label(given: str | None = None) -> str:
    """Return what goes before the names of knowledge files in messages: the folder as named, else `knowledge`."""
    return (_named(given) or "knowledge").rstrip("/")


def knowledge_files(root: Path) -> list[tuple[str, bytes]]:
    """Return (name relative to *root*, content) of every YAML file below it, sorted by name. Raises FileFaults."""
    if not root.is_dir():
        raise FileFaults([Fault(str(root), 0, "no such folder, expected a folder of knowledge files")])
    paths = sorted(p for p in root.rglob("*") if p.suffix in (".yaml", ".yml") and p.is_file())
    if not paths:
        raise FileFaults([Fault(str(root), 0, "holds no .yaml file, expected knowledge files")])
    try:
        return [(path.relative_to(root).as_posix(), _read(path)) for path in paths]
    except OSError as error:
        raise FileFaults([Fault(str(error.filename), 0, f"can't be read: {error.strerror}")]) from None


def _read(path: Path) -> bytes:
    """Return the content, or its first bytes where it is longer than any knowledge file may be (the reader refuses it)."""
    with open(path, "rb") as file:
        return file.read(MAX_FILE + 1)


def load_knowledge(given: str | None = None) -> Knowledge:
    """Return the knowledge of the folder *given* (or the default one), from the cache where it fits.

    Raises FileFaults with every fault of the files.
    """
    root = knowledge_root(given)
    files = [*knowledge_files(root), *shop_file()]
    key = content_key(files)
    place = _cache_file(f"knowledge-{key[:24]}")
    plain = _read_cache(place, key)
    if plain is None:
        plain = compile_folder(files, folder_label(given))
        _write_cache(place, key, plain)
    return Knowledge.from_plain(plain, key)


def shop_path() -> Path:
    """Return where the shop's own file is looked for: `DIAGNOSE_SHOP`, else `shop.yaml` in the user's data folder."""
    named = os.environ.get("DIAGNOSE_SHOP")
    if named:
        return Path(named)
    from platformdirs import user_data_path

    return user_data_path("diagnose", appauthor=False) / "shop.yaml"


def shop_file() -> list[tuple[str, bytes]]:
    """Return the shop's own file (its materials and costs), marked as such, or nothing where there is none.

    Raises FileFaults where `DIAGNOSE_SHOP` names a file that can't be read.
    """
    path = shop_path()
    try:
        return [(f"{SHOP_FILE}{path}", _read(path))]
    except OSError as error:
        if "DIAGNOSE_SHOP" in os.environ:
            raise FileFaults([Fault(str(path), 0, f"can't be read: {error.strerror}")]) from None
        return []


def compile_folder(files: list[tuple[str, bytes]], label: str) -> dict[str, Any]:
    """Read and check *files*. Raises FileFaults."""
    from diagnose.knowledge.reader import compile_files

    return compile_files(files, label)


#: indexes of callers' words already at hand, by the key of their knowledge
_HEARING: dict[str, dict[str, Any]] = {}


def hearing_index(knowledge: Knowledge) -> dict[str, Any]:
    """Return the index behind `diagnose hear`, from a cache of its own: a case that is read from a file needs none."""
    if knowledge.key not in _HEARING:
        _HEARING[knowledge.key] = _kept_hearing(knowledge)
    return _HEARING[knowledge.key]


def _kept_hearing(knowledge: Knowledge) -> dict[str, Any]:
    place = _cache_file(f"hearing-{knowledge.key[:24]}")
    index = _read_cache(place, knowledge.key)
    if index is None:
        from diagnose.hearing.matching import build_index

        index = build_index((s.id, s.title, s.help, s.words, s.family) for s in knowledge.symptoms.values())
        _write_cache(place, knowledge.key, index)
    return index


def content_key(files: list[tuple[str, bytes]]) -> str:
    """Return a name for exactly this content read by exactly this program."""
    digest = hashlib.sha256(f"{_FORMAT} {diagnose.__version__} {_program_mark()}".encode())
    for name, data in files:
        digest.update(f"\0{name}\0{len(data)}\0".encode())
        digest.update(data)
    return digest.hexdigest()


def _program_mark() -> str:
    """In a checkout the code changes without the version; sizes and times of the modules of this folder mark that."""
    with os.scandir(Path(__file__).parent) as entries:
        stats = sorted((entry.name, entry.stat()) for entry in entries if entry.name.endswith(".py"))
    return " ".join(f"{name}:{stat.st_size}:{stat.st_mtime_ns}" for name, stat in stats)


def _cache_file(name: str) -> Path | None:
    from platformdirs import user_cache_path

    try:
        return user_cache_path("diagnose", appauthor=False) / f"{name}.json"
    except (OSError, RuntimeError):
        return None


def _read_cache(place: Path | None, key: str) -> dict[str, Any] | None:
    """Return what is kept for *key*, or None unless all of it is there, byte for byte as it was written."""
    if place is None:
        return None
    try:
        head, _, body = place.read_bytes().partition(b"\n")
    except OSError:
        return None
    if head != _head(key, body):
        return None
    plain: dict[str, Any] = json.loads(body)
    return plain


def _head(key: str, body: bytes) -> bytes:
    return f"{key} {hashlib.sha256(body).hexdigest()}".encode()


def _write_cache(place: Path | None, key: str, plain: dict[str, Any]) -> None:
    """Write beside and move into place, so that nobody reads half a file. A folder that can't be written is done without."""
    if place is None:
        return
    body = json.dumps(plain, separators=(",", ":")).encode()
    beside = place.with_name(f"writing-{os.getpid()}-{place.name}")
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
        beside.write_bytes(_head(key, body) + b"\n" + body)
        os.replace(beside, place)
        _clear_old(place)
    except OSError:
        with suppress(OSError):
            beside.unlink(missing_ok=True)


def _clear_old(place: Path) -> None:
    """Keep the newest few caches of this program, and no half-written one that is over an hour old."""
    kept = sorted(
        (
            (path.stat().st_mtime, path)
            for path in place.parent.glob(f"{place.name.split('-')[0]}-*.json")
            if path != place
        ),
        reverse=True,
    )
    for _, old in kept[_KEPT:]:
        old.unlink(missing_ok=True)
    for half in place.parent.glob("writing-*.json"):
        if half.stat().st_mtime < time.time() - 3600:
            half.unlink(missing_ok=True)
