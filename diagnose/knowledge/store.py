"""How the knowledge comes to hand quickly: from the cache where it fits, else read from the files and kept.

Reading and checking half a megabyte of YAML takes longer than a caster should wait for the first question.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec.structs import replace

from diagnose.knowledge import cache
from diagnose.knowledge.files import SourceFile, files_in_use
from diagnose.knowledge.model import Knowledge

if TYPE_CHECKING:
    from diagnose.knowledge.callers import Callers


def load_knowledge(given: str | None = None) -> Knowledge:
    """Return the knowledge of the folder *given* (or the default one) and the shop's own file.

    Raises FileFaults with every fault of the files.
    """
    files = files_in_use(given)
    key = cache.cache_key(files)
    made = cache.read_cache("knowledge", key, Knowledge) or compile_and_keep(files, key)[0]
    return replace(made, content_key=cache.content_key(files), cache_key=key, folder=given)


def load_callers(given: str | None = None) -> Callers:
    """Return what callers say, of the folder *given*. Raises FileFaults."""
    from diagnose.knowledge.callers import Callers

    files = files_in_use(given)
    key = cache.cache_key(files)
    return cache.read_cache("callers", key, Callers) or compile_and_keep(files, key)[1]


def compile_and_keep(files: list[SourceFile], key: str) -> tuple[Knowledge, Callers]:
    """Read and check *files* and keep what they say under *key*. Raises FileFaults."""
    from diagnose.knowledge.reader import compile_files

    knowledge, callers = compile_files(files)
    cache.write_cache("knowledge", key, knowledge)
    cache.write_cache("callers", key, callers)
    return knowledge, callers
