"""Where the knowledge files are: the folder of the trade and the shop's own file."""

from __future__ import annotations

import os
from pathlib import Path
from typing import NamedTuple

import diagnose
from diagnose import places
from diagnose.errors import Fault, FileFaults, InputError

MAX_FILE = 4 << 20


class SourceFile(NamedTuple):
    """One file as it was read: its name in its folder, its bytes, the folder as named,
    and whether it is the shop's own.
    """

    name: str
    data: bytes
    folder: str = ""
    shop: bool = False

    @property
    def label(self) -> str:
        """The name in messages."""
        return f"{self.folder}/{self.name}" if self.folder else self.name


def _named(given: str | None) -> str | None:
    return given or os.environ.get("DIAGNOSE_KNOWLEDGE")


def knowledge_root(given: str | None = None) -> Path:
    """Return the knowledge folder: *given*, `DIAGNOSE_KNOWLEDGE`, the installed data,
    or the checkout's `knowledge/`.
    """
    named = _named(given)
    if named:
        return Path(named)
    package = Path(diagnose.__file__).parent
    tried = [package / "knowledge" / "data", package.parent / "knowledge"]
    for place in tried:
        if (place / "words.yaml").is_file():
            return place
    looked = ", ".join(["--knowledge or DIAGNOSE_KNOWLEDGE (not given)", *map(str, tried)])
    raise InputError(f"no knowledge folder found, tried {looked}")


def shop_path() -> Path:
    """Return where the shop's own file is looked for: `DIAGNOSE_SHOP`, else `shop.yaml` in the user's data folder."""
    named = os.environ.get("DIAGNOSE_SHOP")
    return Path(named) if named else places.data_folder() / "shop.yaml"


def files_in_use(given: str | None = None) -> list[SourceFile]:
    """Return every YAML file below the folder *given* (or the default one), sorted by name, and the shop's own.

    A file is named by its folder as given, else by `knowledge/`. Raises FileFaults.
    """
    root = knowledge_root(given)
    label = (_named(given) or "knowledge").rstrip("/")
    if not root.is_dir():
        raise FileFaults([Fault(str(root), 0, "no such folder, expected a folder of knowledge files")])
    paths = sorted(p for p in root.rglob("*") if p.suffix in (".yaml", ".yml") and p.is_file())
    if not paths:
        raise FileFaults([Fault(str(root), 0, "holds no .yaml file, expected knowledge files")])
    try:
        found = [SourceFile(path.relative_to(root).as_posix(), _read(path), label) for path in paths]
    except OSError as error:
        raise FileFaults([Fault(str(error.filename), 0, f"can't be read: {error.strerror}")]) from None
    return [*found, *_shop_file()]


def _shop_file() -> list[SourceFile]:
    """Return the shop's own file, or nothing where there is none and none was named."""
    path = shop_path()
    try:
        return [SourceFile(str(path), _read(path), shop=True)]
    except OSError as error:
        if os.environ.get("DIAGNOSE_SHOP"):
            raise FileFaults([Fault(str(path), 0, f"can't be read: {error.strerror}")]) from None
        return []


def _read(path: Path) -> bytes:
    """Return the content, or its first bytes where it is longer
    than any knowledge file may be (the reader refuses it).
    """
    with open(path, "rb") as file:
        return file.read(MAX_FILE + 1)
