"""What leaves the house of matplotlib's SVG: plain marks with a title and a description inside, and nothing a page would refuse.

matplotlib writes styles as `style` attributes and a style sheet, which a page that forbids itself all foreign styles would not obey,
counts its parts from 1 in every file, and adds a block of metadata. Here styles become attributes, only ids of our own stay, and the text
alternative goes in where programs that read pictures aloud look for it.
"""

from __future__ import annotations

from dataclasses import dataclass
from xml.etree import ElementTree as ET

#: DejaVu Sans first, then faces of its width that other machines have
FONTS = "DejaVu Sans, Verdana, Bitstream Vera Sans, Segoe UI, Arial, sans-serif"
_SVG = "http://www.w3.org/2000/svg"
_DROPPED = ("metadata", "defs")


@dataclass(frozen=True, slots=True)
class Alternative:
    """A picture in words: a title, and what the picture shows."""

    title: str
    text: str


def tidy(drawn: bytes, name: str, alternative: Alternative, size: tuple[float, float], inline: bool) -> str:
    """Return matplotlib's *drawn* SVG as ours, *size* in mm. *inline* leaves out what only a file of its own needs."""
    old = ET.fromstring(drawn)
    root = ET.Element("svg", _head(name, size, old.get("viewBox", ""), inline))
    for tag, text in (("title", alternative.title), ("desc", alternative.text)):
        ET.SubElement(root, tag, {"id": f"{name}-{tag}"}).text = text
    marks = ET.SubElement(root, "g", {"font-family": FONTS, "stroke-linejoin": "round", "stroke-linecap": "butt"})
    for child in old:
        _move(child, marks, name)
    text = _indented(root)
    return text if inline else f'<?xml version="1.0" encoding="UTF-8"?>\n{text}'


def _head(name: str, size: tuple[float, float], view: str, inline: bool) -> dict[str, str]:
    width, height = (f"{length:g}mm" for length in size)
    head = {
        "id": name,
        "role": "img",
        "aria-labelledby": f"{name}-title {name}-desc",
        "width": width,
        "height": height,
        "viewBox": view,
    }
    return head if inline else {"xmlns": _SVG, **head}


def _move(old: ET.Element, parent: ET.Element, name: str) -> None:
    """Put *old* below *parent* as a mark of ours; groups around a single mark give it their name and vanish."""
    tag = old.tag.rpartition("}")[2]
    if tag in _DROPPED:
        return
    if tag == "g":
        before = len(parent)
        for child in old:
            _move(child, parent, name)
        mine = old.get("id", "")
        if mine.startswith(f"{name}-"):
            for mark in parent[before:]:
                mark.set("id", mine)
        return
    made = ET.SubElement(parent, tag, _attributes(old))
    made.text = old.text


def _attributes(old: ET.Element) -> dict[str, str]:
    found = {key: " ".join(value.split()) for key, value in old.attrib.items() if key not in ("style", "id")}
    for rule in filter(None, old.get("style", "").split(";")):
        key, _, value = rule.partition(":")
        if key.strip() not in ("font-family", "stroke-dashoffset"):
            found[key.strip()] = value.strip()
    if found.get("transform", "").startswith("rotate(-0 "):
        del found["transform"]
    return found


def _indented(root: ET.Element) -> str:
    """Return *root* as text, one mark a line. Characters that no XML may hold are left out by whoever wrote the texts."""
    ET.indent(root, space=" ")
    return ET.tostring(root, encoding="unicode") + "\n"
