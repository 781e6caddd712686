"""Which program and which knowledge are in use, in a line: behind `diagnose --version`, and at the foot of the handbook."""

from __future__ import annotations

import hashlib

import diagnose


def versions(knowledge_dir: str | None = None) -> str:
    """Return program and knowledge in a line: `diagnose, version 0.2.0, knowledge 1f0c2a9b7d3e`.

    The knowledge is named by the first 12 digits of the SHA-256 of its files, the shop's own among them, so two that print the same say
    the same. Raises InputError where there is no knowledge folder.
    """
    return f"diagnose, version {diagnose.__version__}, knowledge {content_of(knowledge_dir)[:12]}"


def content_of(knowledge_dir: str | None = None) -> str:
    """Return the SHA-256 of the knowledge files in use: names in their folder, and bytes."""
    from diagnose.knowledge.store import knowledge_files, knowledge_root, shop_file

    digest = hashlib.sha256()
    shop = [("shop file", data) for _, data in shop_file()]
    for name, data in [*knowledge_files(knowledge_root(knowledge_dir)), *shop]:
        digest.update(f"\0{name}\0{len(data)}\0".encode())
        digest.update(data)
    return digest.hexdigest()
