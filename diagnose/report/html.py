"""The report as one page that stands by itself: no script, no outside file, prints on one or two sheets.

The words are those of the terminal, with the sums of the sheet, and bars that the template draws. Every value is escaped, and made
plain first, by the template's environment, so no text of a case or a knowledge file can become markup. The page forbids itself
everything but its own style sheet, which it names by hash.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from importlib import resources
from pathlib import Path

from diagnose.assessment.content import report_of
from diagnose.assessment.situation import Situation
from diagnose.files import write_atomic
from diagnose.prose.answer import plain
from diagnose.report.document import Bar, Bars, Block, Entry, Table, Words
from diagnose.report.text.sections import words_of

#: characters in a printed line, and the type size for reports of up to so many lines: each fits on two sheets
_LINE = 95
_SIZES = ((100, "roomy"), (116, "usual"), (136, "tight"), (10**6, "small"))
#: characters in the cells of the table of numbers: name, number, sum and what it takes for granted
_CELLS = (30, 32, 58)
#: the picture of the bars, in its own units: height of a row, where a bar may begin and end, longest bar in points at least
_ROW, _LEFT, _RIGHT, _LEAST = 14, 34, 234, 10


@dataclass(frozen=True, slots=True)
class Drawn:
    """A bar as it is drawn: where it begins and how wide it is, and the line of its text."""

    bar: Bar
    x: float
    width: float
    y: int


@dataclass(frozen=True, slots=True)
class Picture:
    """Bars drawn from *zero* to either side, *height* in all."""

    rows: tuple[Drawn, ...]
    zero: float
    height: int


def write_page(situation: Situation, path: Path, pictures: bool = False) -> None:
    """Write the report of *situation* to *path* as HTML in UTF-8, with its *pictures* on sheets of their own after the text.

    Raises OSError, and TooManySeen as the beliefs do.
    """
    drawn: tuple[str, ...] = ()
    if pictures:
        from diagnose.report.pictures.drawing import page_pictures

        drawn = page_pictures(situation)
    text = page_text(words_of(report_of(situation, why=True), situation.knowledge, sums=True), drawn)
    write_atomic(path, text)


def page_text(words: Words, pictures: Sequence[str] = ()) -> str:
    """Return *words* as the text of an HTML page, followed by *pictures*, which are markup of our own making."""
    from jinja2 import Environment, StrictUndefined
    from markupsafe import Markup

    room = Environment(
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
        finalize=_made_plain,
    )
    style = _shipped("page.css")
    digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
    page = room.from_string(_shipped("page.html.j2"))
    size = next(size for most, size in _SIZES if _lines(words) <= most)
    drawn = [Markup(svg) for svg in pictures]
    return page.render(
        words=words,
        size=size,
        picture_of=picture_of,
        pictures=drawn,
        style=Markup(style),
        style_hash=Markup(f"sha256-{digest}"),
    )


def picture_of(bars: Bars) -> Picture:
    """Return where each of *bars* is drawn: to the right of zero what speaks for, to the left what speaks against."""
    low, high = min(0, *(bar.points for bar in bars.bars)), max(0, *(bar.points for bar in bars.bars))
    scale = (_RIGHT - _LEFT) / max(high - low, _LEAST)
    zero = round(_LEFT - low * scale, 1)
    rows = (
        Drawn(bar, round(zero + min(bar.points, 0) * scale, 1), round(abs(bar.points) * scale, 1), i * _ROW)
        for i, bar in enumerate(bars.bars)
    )
    return Picture(tuple(rows), zero, _ROW * len(bars.bars))


def _lines(words: Words) -> int:
    """Return about how many printed lines *words* take, headings counted by their height."""
    return 10 + sum(2 + sum(_lines_of(block) for block in section.blocks) for section in words.sections)


def _lines_of(block: Block) -> int:
    if isinstance(block, Table):
        rows = ((row[0], row[1], "; ".join(row[2:])) for row in block.rows)
        return 1 + sum(max(1 + len(cell) // most for cell, most in zip(row, _CELLS, strict=True)) for row in rows)
    if isinstance(block, Bars):
        return len(block.bars)
    texts = (
        [block.head + block.aside, *(line for row in block.rows for line in row.lines)]
        if isinstance(block, Entry)
        else [block]
    )
    return sum(1 + len(text) // _LINE for text in texts)


def _made_plain(value: object) -> object:
    """Strip what a text should not hold; what is markup already is our own style sheet."""
    return plain(value) if type(value) is str else value


def _shipped(name: str) -> str:
    return resources.files("diagnose.report").joinpath(name).read_text(encoding="utf-8")
