"""The report as one page that stands by itself: no script, no outside file, the card on top,
two printed sheets at most.

The words are those of the terminal with all its sections, and the fishbone. Every value is escaped, and made plain
first, by the template's environment, so no text of a case or a knowledge file can become markup. The page forbids
itself everything but its own style sheet, which it names by hash; that is why the length of a bar is a class. What the
second sheet can't hold (the weights, the sums, the plan, the notes) is on the screen alone.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Sequence
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING

from diagnose.assessment.consultation import Consultation
from diagnose.prose.text import clean, held
from diagnose.report.document import Bars, Words
from diagnose.report.text.sections import Wanted, words_of
from diagnose.report.text.shown import Shown

if TYPE_CHECKING:
    from jinja2 import Environment

#: lengths that a bar can have, and the points of a full one at least
STEPS, _LEAST = 20, 10


def write_page(shown: Shown, consultation: Consultation, path: Path) -> None:
    """Write the page to *path* in UTF-8, in one step. Raises DiagnoseError where it can't be written."""
    from diagnose.report.pictures.drawing import write_picture

    write_picture(path, page_of(shown, consultation))


def page_of(shown: Shown, consultation: Consultation) -> str:
    """Return the report as the text of a page, with the fishbone where something is seen."""
    pictures: tuple[str, ...] = ()
    if shown.assessment.symptoms:
        from diagnose.report.pictures.drawing import fishbone_svg

        pictures = (fishbone_svg(consultation),)
    return page_text(words_of(shown, Wanted(full=True, sums=True)), pictures)


def page_text(words: Words, pictures: Sequence[str] = ()) -> str:
    """Return *words* as the text of an HTML page, with *pictures*, which are markup of our own making."""
    from markupsafe import Markup

    style = shipped("page.css")
    page = environment().from_string(shipped("page.html.j2"))
    return page.render(
        words=words,
        steps_of=steps_of,
        pictures=[Markup(svg) for svg in pictures],
        style=Markup(style),
        policy=Markup(policy_of(style)),
    )


def environment() -> Environment:
    """Return the environment of a page: every value escaped and made plain, a misspelled name an error."""
    from jinja2 import Environment, StrictUndefined

    return Environment(
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
        finalize=_made_plain,
    )


def policy_of(style: str) -> str:
    """Return the content security policy of a page whose only resource is its style sheet *style*."""
    digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
    return f"default-src 'none'; style-src 'sha256-{digest}'; base-uri 'none'; form-action 'none'"


def steps_of(bars: Bars) -> tuple[int, ...]:
    """Return how long each of *bars* is drawn, 0 to `STEPS`; only a bar of no points has no length."""
    longest = max(_LEAST, *(abs(bar.points) for bar in bars.bars))
    return tuple(max(round(STEPS * abs(bar.points) / longest), min(1, abs(bar.points))) for bar in bars.bars)


def shipped(name: str) -> str:
    """Return the text of a template or a style sheet that comes with the program."""
    return resources.files("diagnose.report").joinpath(name).read_text(encoding="utf-8")


def _made_plain(value: object) -> object:
    """Strip what a text should not hold, and hold numbers to their units; markup is our own."""
    return held(clean(value)) if type(value) is str else value
