"""The report as one page that stands by itself: no script, no outside file, prints on one or two sheets.

The words are those of the terminal. Every value is escaped, and made plain first, by the template's environment, so no text of a case
or a knowledge file can become markup. The page forbids itself everything but its own style sheet, which it names by hash.
"""

from __future__ import annotations

import base64
import hashlib
from importlib import resources
from pathlib import Path

from diagnose.casebook.consult import Consultation
from diagnose.report.content import report_of
from diagnose.report.layout import Words
from diagnose.report.sections import words_of
from diagnose.report.wording import plain

#: characters in a printed line, and the type size for reports of up to so many lines: each fits on two sheets
_LINE = 95
_SIZES = ((72, "roomy"), (98, "usual"), (10**6, "tight"))


def write_page(consultation: Consultation, path: Path) -> None:
    """Write the report of *consultation* to *path* as HTML in UTF-8. Raises OSError, and TooManySeen as the beliefs do."""
    path.write_text(page_text(words_of(report_of(consultation), consultation.knowledge)), encoding="utf-8", newline="\n")


def page_text(words: Words) -> str:
    """Return *words* as the text of an HTML page."""
    from jinja2 import Environment, StrictUndefined
    from markupsafe import Markup

    room = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True, keep_trailing_newline=True, finalize=_made_plain)
    style = _shipped("page.css")
    digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
    page = room.from_string(_shipped("page.html.j2"))
    size = next(size for most, size in _SIZES if _lines(words) <= most)
    return page.render(words=words, size=size, style=Markup(style), style_hash=Markup(f"sha256-{digest}"))


def _lines(words: Words) -> int:
    """Return about how many printed lines *words* take, headings counted by their height."""
    total = 10 + 2 * len(words.sections)
    for section in words.sections:
        for block in section.blocks:
            texts = [block] if isinstance(block, str) else [block.head + block.aside, *(line for row in block.rows for line in row.lines)]
            total += sum(1 + len(text) // _LINE for text in texts)
    return total


def _made_plain(value: object) -> object:
    """Strip what a text should not hold; what is markup already is our own style sheet."""
    return plain(value) if type(value) is str else value


def _shipped(name: str) -> str:
    return resources.files("diagnose.report").joinpath(name).read_text(encoding="utf-8")
