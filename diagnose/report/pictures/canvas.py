"""A sheet of paper on which the pictures are laid out in millimetres.

A picture puts lines, shapes and labels on a `Sheet`, which gives them as SVG: the same sheet gives the same bytes on
any machine. Texts stay texts, so that they can be found and read aloud.
"""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct, field

from diagnose.report.pictures.letters import LEADING, MM, height_of, width_of, wrapped
from diagnose.report.pictures.svg import Alternative, Label, Part, Point, Shape, Stroke, svg_of

#: the width that a sheet of A4 leaves between the margins of the page, mm
WIDTH = 180.0
#: smallest type, points
SMALLEST = 8.0
INK, GREY, FAINT, PAPER = "#111111", "#595959", "#c4c4c4", "#ffffff"


class Sheet(Struct):
    """A sheet *width* by *height* mm; *name* goes before the ids of its parts,
    so that two pictures on one page never share one.
    """

    name: str
    width: float
    height: float
    parts: list[Part] = field(default_factory=list)

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
        return svg_of(self.name, self.width, self.height, self.parts, alternative, inline)


def _rounded(points: Sequence[Point]) -> tuple[Point, ...]:
    """Microns decide, so that the last bits of a machine never show."""
    return tuple((round(x, 3), round(y, 3)) for x, y in points)


__all__ = [
    "FAINT",
    "GREY",
    "INK",
    "MM",
    "PAPER",
    "SMALLEST",
    "WIDTH",
    "Label",
    "Point",
    "Shape",
    "Sheet",
    "Stroke",
    "height_of",
    "width_of",
    "wrapped",
]
