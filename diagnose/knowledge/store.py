"""How the knowledge comes to hand quickly: from the cache where it fits, else read from the files and kept.

Reading and checking half a megabyte of YAML takes longer than a caster should wait for the first question.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from msgspec.structs import replace

from diagnose.knowledge import cache
from diagnose.knowledge.files import SourceFile, files_in_use
from diagnose.knowledge.model import (
    Cause,
    Check,
    Danger,
    Fact,
    Knowledge,
    Material,
    Practice,
    Remedy,
    Source,
    Span,
    Symptom,
)

if TYPE_CHECKING:
    from diagnose.knowledge.callers import Callers

#: sections of entries, and what they are made of
_ENTRIES: dict[str, type] = {
    "symptoms": Symptom,
    "facts": Fact,
    "checks": Check,
    "causes": Cause,
    "remedies": Remedy,
    "dangers": Danger,
    "sources": Source,
    "materials": Material,
    "practice": Practice,
}


def load_knowledge(given: str | None = None) -> Knowledge:
    """Return the knowledge of the folder *given* (or the default one) and the shop's own file.

    Raises FileFaults with every fault of the files.
    """
    files = files_in_use(given)
    key = cache.cache_key(files)
    plain = cache.read_cache("knowledge", key)
    made = compile_and_keep(files, key)[0] if plain is None else _revived(plain)
    return replace(made, content_key=cache.content_key(files), cache_key=key, folder=given)


def load_callers(given: str | None = None) -> Callers:
    """Return what callers say, of the folder *given*. Raises FileFaults."""
    from diagnose.knowledge.callers import Callers
    from diagnose.knowledge.records import Record

    files = files_in_use(given)
    key = cache.cache_key(files)
    plain = cache.read_cache("callers", key)
    if plain is None:
        return compile_and_keep(files, key)[1]
    made: Callers = Record(Callers).revived(plain)
    return made


def compile_and_keep(files: list[SourceFile], key: str) -> tuple[Knowledge, Callers]:
    """Read and check *files* and keep what they say under *key*. Raises FileFaults."""
    from diagnose.knowledge.reader import compile_files
    from diagnose.knowledge.records import plain_of

    knowledge, callers = compile_files(files)
    cache.write_cache("knowledge", key, plain_of(knowledge))
    cache.write_cache("callers", key, plain_of(callers))
    return knowledge, callers


def _revived(plain: dict[str, Any]) -> Knowledge:
    from diagnose.knowledge.records import Record

    tables: dict[str, Any] = {}
    for section, cls in _ENTRIES.items():
        revived = Record(cls).revived
        tables[section] = {name: revived(entry) for name, entry in plain.get(section, {}).items()}
    for name, practice in tables["practice"].items():  # made by the reader, so no kind of its own revives its spans
        spans = {build: Span(*span) for build, span in practice.by_build.items()}
        tables["practice"][name] = replace(practice, by_build=spans)
    return Knowledge(**tables, words=plain["words"], warnings=tuple(plain.get("warnings", ())))
