"""A sheet of paper on which the pictures are laid out in millimetres, and matplotlib's part in drawing it.

A picture puts lines, shapes and labels on a `Sheet`; nothing is drawn before `svg` is asked for, so matplotlib is imported only then, or
when a text is measured. Figure and savefig alone are used, never pyplot, with every setting at its default, the one font that comes with
matplotlib, and no date: the same sheet gives the same bytes in any process. Texts stay texts, so that they can be found and read aloud.
"""

from __future__ import annotations

import io
import logging
import os
import warnings
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cache
from typing import Any

from diagnose.places import cache_folder
from diagnose.report.pictures.svg import Alternative, tidy

#: the width that a sheet of A4 leaves between the margins of the page, mm
WIDTH = 180.0
#: smallest type, points; lines of type stand so many times their size apart
SMALLEST, LEADING = 8.0, 1.22
MM = 25.4 / 72.0  # a point in millimetres

Point = tuple[float, float]
INK, GREY, FAINT, PAPER = "#111111", "#595959", "#c4c4c4", "#ffffff"


@dataclass(frozen=True, slots=True)
class Stroke:
    """An open line through *points* (mm, y down), *width* in points, *dash* in points on and off."""

    points: tuple[Point, ...]
    width: float
    color: str
    dash: tuple[float, ...]
    name: str


@dataclass(frozen=True, slots=True)
class Shape:
    """A closed outline, filled."""

    points: tuple[Point, ...]
    fill: str
    edge: str
    width: float
    name: str


@dataclass(frozen=True, slots=True)
class Label:
    """One line of text on its baseline at (x, y); *anchor* is left, center or right."""

    x: float
    y: float
    text: str
    size: float
    color: str
    bold: bool
    anchor: str
    name: str


@dataclass(slots=True)
class Sheet:
    """A sheet *width* by *height* mm; *name* goes before the ids of its parts, so that two pictures on one page never share one."""

    name: str
    width: float
    height: float
    parts: list[Stroke | Shape | Label] = field(default_factory=list)

    def line(
        self, points: Sequence[Point], width: float, color: str = INK, dash: Sequence[float] = (), name: str = ""
    ) -> None:
        """Draw an open line."""
        self.parts.append(Stroke(_rounded(points), round(width, 3), color, tuple(dash), name))

    def shape(self, points: Sequence[Point], fill: str, edge: str = INK, width: float = 1.0, name: str = "") -> None:
        """Draw a closed, filled outline."""
        self.parts.append(Shape(_rounded(points), fill, edge, round(width, 3), name))

    def box(
        self,
        left: float,
        top: float,
        width: float,
        height: float,
        fill: str = PAPER,
        edge: str = INK,
        line: float = 1.0,
        name: str = "",
    ) -> None:
        """Draw a rectangle."""
        self.shape(
            [(left, top), (left + width, top), (left + width, top + height), (left, top + height)],
            fill,
            edge,
            line,
            name,
        )

    def text(
        self,
        x: float,
        y: float,
        text: str,
        size: float = SMALLEST,
        color: str = INK,
        bold: bool = False,
        anchor: str = "left",
        name: str = "",
    ) -> None:
        """Write one line of text on the baseline *y*."""
        if text:
            self.parts.append(Label(round(x, 3), round(y, 3), text, round(size, 2), color, bold, anchor, name))

    def lines(
        self,
        x: float,
        top: float,
        lines: Sequence[str],
        size: float = SMALLEST,
        color: str = INK,
        bold: bool = False,
        anchor: str = "left",
        name: str = "",
    ) -> float:
        """Write *lines* below one another from *top* on and return where they end."""
        for i, line in enumerate(lines):
            self.text(x, top + (0.86 + i * LEADING) * size * MM, line, size, color, bold, anchor, name)
        return top + height_of(lines, size)

    def svg(self, alternative: Alternative, inline: bool = False) -> str:
        """Return the sheet as SVG with its text alternative; *inline* for the middle of an HTML page."""
        return tidy(_drawn(self), self.name, alternative, (self.width, self.height), inline)


def _rounded(points: Sequence[Point]) -> tuple[Point, ...]:
    """Microns decide, so that the last bits of a machine never show."""
    return tuple((round(x, 3), round(y, 3)) for x, y in points)


def height_of(lines: Sequence[str], size: float) -> float:
    """Return the height of *lines* of type in mm."""
    return len(lines) * LEADING * size * MM


def width_of(text: str, size: float, bold: bool = False) -> float:
    """Return the width of *text* in mm."""
    return _points(text, bold) * size / 10.0 * MM


@cache
def _points(text: str, bold: bool) -> float:
    """The width of *text* in points at size 10."""
    _ready()
    from matplotlib.textpath import text_to_path

    with _unheard():
        width, _, _ = text_to_path.get_text_width_height_descent(text, _font(10.0, bold), False)
    return float(width)


def wrapped(text: str, width: float, size: float, bold: bool = False, most: int = 0) -> list[str]:
    """Return *text* in lines no wider than *width* mm, at most *most* of them (0: as many as it takes); what is cut off ends in dots."""
    lines: list[str] = []
    for word in text.replace("-", "-\u200b").replace(" ", " \u200b").split("\u200b"):
        _take(lines, word, width, size, bold)
    lines = [line.rstrip() for line in lines]
    if most and len(lines) > most:
        lines = [*lines[: most - 1], _cut(" ".join(lines[most - 1 :]), width, size, bold)]
    return lines


def held(text: str) -> str:
    """Return *text* with its number and percent sign held together at the end of a line."""
    return text.replace(" %", "\u00a0%").replace("about ", "about\u00a0")


def _take(lines: list[str], word: str, width: float, size: float, bold: bool) -> None:
    if lines and width_of((lines[-1] + word).rstrip(), size, bold) <= width:
        lines[-1] += word
        return
    while len(word) > 1 and width_of(word.rstrip(), size, bold) > width:  # a word wider than the column is broken
        length = next((n for n in range(len(word) - 1, 1, -1) if width_of(word[:n], size, bold) <= width), 1)
        lines.append(word[:length])
        word = word[length:]
    lines.append(word)


def _cut(text: str, width: float, size: float, bold: bool) -> str:
    while text and width_of(text + "...", size, bold) > width:
        text = text[:-1].rstrip()
    return text + "..."


# -- matplotlib ----------------------------------------------------------------------------------------------------


@cache
def _ready() -> Any:
    """Import matplotlib, once, with a cache folder of ours and no word of its own on standard error."""
    if "MPLCONFIGDIR" not in os.environ:
        os.environ["MPLCONFIGDIR"] = str(cache_folder() / "matplotlib")
    logging.getLogger("matplotlib").setLevel(logging.ERROR)
    import matplotlib

    return matplotlib


class _unheard(warnings.catch_warnings):
    """A letter that the font lacks is no news: the text stays text, and the reader's machine has a font for it."""

    def __enter__(self) -> None:
        super().__enter__()
        warnings.simplefilter("ignore")


def _font(size: float, bold: bool) -> Any:
    """The font by its file, so that no other of its name is found on the machine."""
    from matplotlib.font_manager import FontProperties

    face = "DejaVuSans-Bold.ttf" if bold else "DejaVuSans.ttf"
    return FontProperties(
        fname=os.path.join(_ready().get_data_path(), "fonts", "ttf", face),
        size=size,
        weight="bold" if bold else "normal",
    )


def _drawn(sheet: Sheet) -> bytes:
    """What matplotlib makes of *sheet*."""
    matplotlib = _ready()
    from matplotlib.figure import Figure

    made = io.BytesIO()
    with _unheard(), matplotlib.rc_context():
        matplotlib.rcdefaults()
        matplotlib.rcParams.update({"svg.fonttype": "none", "svg.hashsalt": f"diagnose-{sheet.name}"})
        figure = Figure(figsize=(sheet.width / 25.4, sheet.height / 25.4), dpi=72)
        axes = figure.add_axes((0.0, 0.0, 1.0, 1.0), xlim=(0.0, sheet.width), ylim=(sheet.height, 0.0))
        axes.set_axis_off()
        for order, part in enumerate(sheet.parts):
            artist = _artist(axes, part)
            artist.set(zorder=order, clip_on=False)
            artist.set_gid(f"{sheet.name}-{part.name}" if part.name else None)
        figure.savefig(made, format="svg", metadata={"Date": None, "Creator": None})
    return made.getvalue()


def _artist(axes: Any, part: Stroke | Shape | Label) -> Any:
    if isinstance(part, Label):
        return axes.text(
            part.x,
            part.y,
            part.text,
            color=part.color,
            ha=part.anchor,
            va="baseline",
            fontproperties=_font(part.size, part.bold),
            parse_math=False,
        )
    if isinstance(part, Shape):
        from matplotlib.patches import Polygon

        return axes.add_patch(
            Polygon(part.points, closed=True, facecolor=part.fill, edgecolor=part.edge, linewidth=part.width)
        )
    from matplotlib.lines import Line2D

    xs, ys = zip(*part.points, strict=True)
    line = Line2D(xs, ys, linewidth=part.width, color=part.color, solid_capstyle="butt", dash_capstyle="butt")
    if part.dash:
        line.set_dashes([length / part.width for length in part.dash])  # matplotlib counts dashes in widths of the line
    return axes.add_line(line)
