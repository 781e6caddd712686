"""What the search of the book looks through: every entry with its words, a fault with what callers say of it,
as plain data.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from diagnose.prose.text import clean, first_sentence
from diagnose.report.handbook.pages import KINDS, Page


def search_index(pages: Iterable[Page], phrases: Mapping[str, tuple[str, ...]]) -> dict[str, Any]:
    """Return the index: for each page `[path, kind, title, first sentence, [phrases]]`, kinds by their name."""
    entries = [_entry(page, phrases) for page in pages if page.kind in KINDS]
    return {"kinds": {kind: names[1] for kind, names in KINDS.items()}, "entries": entries}


def _entry(page: Page, phrases: Mapping[str, tuple[str, ...]]) -> list[Any]:
    name = page.path.rsplit("/", 1)[-1].removesuffix(".html")
    said = phrases.get(name, ()) if page.kind == "fault" else ()
    return [page.path, page.kind, clean(page.title), first_sentence(page.lead), [clean(phrase) for phrase in said]]
