"""Puts the book together: every page in words, then as HTML, with one style sheet and the search.

All text passes through autoescape and `clean`, so nothing in a knowledge file can become markup. The drawings handed in
are markup of our own making. A page may load the book's style sheet and, where it searches, run the one script that it
names by hash; nothing else.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Mapping
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING, Any

from diagnose.errors import DiagnoseError, InputError
from diagnose.files import write_atomic
from diagnose.knowledge import Knowledge
from diagnose.prose.text import clean, counted
from diagnose.report.handbook.entries import cause_page, fault_page, remedy_page
from diagnose.report.handbook.links import Links, phrases_of
from diagnose.report.handbook.lists import finder, list_pages
from diagnose.report.handbook.pages import Page
from diagnose.report.handbook.questions import check_page, fact_page
from diagnose.report.handbook.search import search_index
from diagnose.report.handbook.sums import sum_page

if TYPE_CHECKING:
    from jinja2 import Template

_SHELVES = (
    ("causes.html", "Causes"),
    ("checks.html", "Checks"),
    ("facts.html", "What was done"),
    ("remedies.html", "Remedies"),
    ("sums.html", "Sums"),
    ("dangers.html", "Dangers"),
    ("numbers.html", "Numbers"),
    ("sources.html", "Sources"),
)
_STYLE = "book.css"
#: first line of the style sheet, by which a folder that holds a book is known
_MARK = "/* diagnose handbook */"


def pages_of(knowledge: Knowledge, drawings: Mapping[str, str] | None = None) -> list[Page]:
    """Return every page but the first, in a fixed order; *drawings* are SVG markup of our own by symptom or check."""
    from diagnose.bench.catalogue import CALCULATIONS

    drawn = drawings or {}
    links = Links.of(knowledge)
    phrases = phrases_of(knowledge)
    return [
        *(fault_page(links, s, phrases.get(n, ()), drawn.get(n, "")) for n, s in sorted(knowledge.symptoms.items())),
        *(cause_page(links, cause) for _, cause in sorted(knowledge.causes.items())),
        *(check_page(links, check, drawn.get(name, "")) for name, check in sorted(knowledge.checks.items())),
        *(fact_page(links, fact) for _, fact in sorted(knowledge.facts.items())),
        *(remedy_page(links, remedy) for _, remedy in sorted(knowledge.remedies.items())),
        *(sum_page(knowledge, item) for item in CALCULATIONS),
        *list_pages(links),
    ]


def book_of(knowledge: Knowledge, foot: str = "", drawings: Mapping[str, str] | None = None) -> dict[str, str]:
    """Return the book as text by path from its top. *foot* says which program and knowledge made it."""
    pages = pages_of(knowledge, drawings)
    template = _template()
    book = {page.path: _html(template, page, foot) for page in pages}
    index = search_index(pages, phrases_of(knowledge))
    counts = [
        counted(len(table), one)
        for table, one in (
            (knowledge.symptoms, "fault"),
            (knowledge.causes, "cause"),
            (knowledge.checks, "check"),
        )
    ]
    lead = (
        f"{', '.join(counts)} and {counted(len(knowledge.remedies), 'remedy', 'remedies')}, each with why, how to "
        f"tell and what to do."
    )
    first = Page("index.html", "index", "Fault-finder", "Handbook", lead, finder(Links.of(knowledge), drawings or {}))
    return {"index.html": _html(template, first, foot, index), _STYLE: _shipped(_STYLE), **book}


def write_book(folder: Path, book: Mapping[str, str]) -> None:
    """Write *book* into *folder*, over an older book, whose pages that are no more go.

    Raises InputError where the folder holds something else, DiagnoseError where it can't be written.
    """
    old = _old_pages(folder)
    try:
        for path, text in book.items():
            write_atomic(folder / path, text)
        for path in old - set(book):
            (folder / path).unlink()
    except OSError as error:
        raise DiagnoseError(f"{error.filename or folder}: can't be written: {error.strerror or error}") from None


def _old_pages(folder: Path) -> set[str]:
    """Return the pages of a book that stands in *folder* already; none where it is new or empty."""
    if not folder.exists():
        return set()
    if not folder.is_dir():
        raise InputError(f"{folder}: is no folder, expected a new one, an empty one or a handbook to write over")
    if not any(folder.iterdir()):
        return set()
    style = folder / _STYLE
    if not (style.is_file() and style.read_text(encoding="utf-8", errors="replace").startswith(_MARK)):
        raise InputError(
            f"{folder}: holds other files, expected a new folder, an empty one or a handbook to write over"
        )
    return {path.relative_to(folder).as_posix() for path in folder.glob("*/*.html")}


def _html(template: Template, page: Page, foot: str, index: dict[str, Any] | None = None) -> str:
    from markupsafe import Markup

    script = _shipped("search.js")
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    return template.render(
        page=page,
        own=Markup,
        up="../" * page.path.count("/"),
        shelves=_SHELVES,
        foot=foot,
        index=index,
        script=Markup(script),
        script_hash=Markup(f"sha256-{digest}"),
    )


def _template() -> Template:
    from jinja2 import Environment, StrictUndefined

    room = Environment(
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
        finalize=_made_plain,
    )
    return room.from_string(_shipped("page.html.j2"))


def _made_plain(value: object) -> object:
    """Strip what a text should not hold; what is markup already is our own."""
    return clean(value) if type(value) is str else value


def _shipped(name: str) -> str:
    return resources.files("diagnose.report.handbook").joinpath(name).read_text(encoding="utf-8")
