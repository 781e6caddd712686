"""SVG as a strict page takes it: plain marks with presentation attributes, a title and a description, no style,
no script, no reference.

One unit of a picture is a point; widths and type are in points, places in millimetres.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from html import escape

from msgspec import Struct

from diagnose.report.pictures.letters import MM

#: DejaVu Sans first, then faces of its width that other machines have
FONTS = "DejaVu Sans, Verdana, Bitstream Vera Sans, Segoe UI, Arial, sans-serif"
_ANCHORS = {"left": "", "center": "middle", "right": "end"}

Point = tuple[float, float]


class Alternative(Struct, frozen=True):
    """A picture in words: a title, and what the picture shows."""

    title: str
    text: str


class Stroke(Struct, frozen=True):
    """An open line through *points* (mm, y down), *width* in points, *dash* in points on and off."""

    points: tuple[Point, ...]
    width: float
    color: str
    dash: tuple[float, ...]
    name: str


class Shape(Struct, frozen=True):
    """A closed outline, filled."""

    points: tuple[Point, ...]
    fill: str
    edge: str
    width: float
    name: str


class Label(Struct, frozen=True):
    """One line of text on its baseline at (x, y); *anchor* is left, center or right."""

    x: float
    y: float
    text: str
    size: float
    color: str
    bold: bool
    anchor: str
    name: str


Part = Stroke | Shape | Label


def svg_of(
    name: str, width: float, height: float, parts: Sequence[Part], alternative: Alternative, inline: bool
) -> str:
    """Return *parts* on a sheet of *width* by *height* mm as SVG;
    *inline* leaves out what only a file of its own needs.

    *name* is the id of the picture and goes before the ids of its parts; several lines of one label share one name, and
    the first of them has the id.
    """
    space = "" if inline else ' xmlns="http://www.w3.org/2000/svg"'
    view = f"0 0 {_points(width)} {_points(height)}"
    seen: set[str] = set()
    lines = [
        f'<svg{space} id="{name}" role="img" aria-labelledby="{name}-title {name}-desc" width="{width:g}mm" '
        f'height="{height:g}mm" viewBox="{view}">',
        f' <title id="{name}-title">{escape(alternative.title)}</title>',
        f' <desc id="{name}-desc">{escape(alternative.text)}</desc>',
        f' <g font-family="{FONTS}" fill="none" stroke-linejoin="round">',
        *(f"  {_mark(part, _id(name, part.name, seen))}" for part in parts),
        " </g>",
        "</svg>\n",
    ]
    text = "\n".join(lines)
    return text if inline else f'<?xml version="1.0" encoding="UTF-8"?>\n{text}'


def _id(picture: str, name: str, seen: set[str]) -> str:
    """The attribute that names a part, once."""
    if not name or name in seen:
        return ""
    seen.add(name)
    return f' id="{picture}-{escape(name)}"'


def _mark(part: Part, name: str) -> str:
    if isinstance(part, Label):
        return _text(part, name)
    if isinstance(part, Shape):
        points = " ".join(_places(part.points))
        return (
            f'<polygon{name} points="{points}" fill="{part.fill}" stroke="{part.edge}" '
            f'stroke-width="{_short(part.width)}"/>'
        )
    dash = f' stroke-dasharray="{" ".join(map(_short, part.dash))}"' if part.dash else ""
    path = "M" + "L".join(_places(part.points))
    return f'<path{name} d="{path}" stroke="{part.color}" stroke-width="{_short(part.width)}"{dash}/>'


def _text(label: Label, name: str) -> str:
    anchor = f' text-anchor="{_ANCHORS[label.anchor]}"' if _ANCHORS[label.anchor] else ""
    bold = ' font-weight="bold"' if label.bold else ""
    place = f'x="{_points(label.x)}" y="{_points(label.y)}" font-size="{_short(label.size)}"'
    return f'<text{name} {place} fill="{label.color}"{bold}{anchor}>{escape(label.text)}</text>'


def _places(points: Sequence[Point]) -> Iterator[str]:
    return (f"{_points(x)},{_points(y)}" for x, y in points)


def _points(length: float) -> str:
    """A length in mm as points, to the hundredth, so that the last bits of a machine never show."""
    return _short(round(length, 3) / MM)


def _short(number: float) -> str:
    text = f"{number:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
