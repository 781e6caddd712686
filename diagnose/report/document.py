"""What a report in words is made of: sections of paragraphs, entries of labelled rows, tables of numbers, and bars.

The terminal and the page each know how to show these few shapes, and nothing else; so both say the same, and a new part
of the report needs no new way of showing it.
"""

from __future__ import annotations

from msgspec import Struct


class Row(Struct, frozen=True):
    """Lines under one label of an entry; an empty label is plain text. *tone*: `caution` where somebody may be hurt."""

    label: str
    lines: tuple[str, ...]
    tone: str = ""


class Entry(Struct, frozen=True):
    """One thing with a heading, a remark beside it, its chance in tens of percent (None where it has none),
    and rows.
    """

    head: str
    aside: str
    rows: tuple[Row, ...]
    percent: int | None = None


class Table(Struct, frozen=True):
    """Numbers in rows under *head*; each row has a name, the number, and what else the head names.
    An empty cell is left out.
    """

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


class Bar(Struct, frozen=True):
    """One bar of so many whole *points*, for (above 0) or against; *total* where it is the sum of those above."""

    label: str
    points: int
    total: bool = False


class Bars(Struct, frozen=True):
    """Bars that add up, with a *title*; beside the page's picture the bars are its text alternative."""

    title: str
    bars: tuple[Bar, ...]


Block = str | Entry | Table | Bars


class Card(Struct, frozen=True):
    """The answer in a few labelled lines, *dangers* above it, a *note* below."""

    dangers: tuple[str, ...]
    rows: tuple[Row, ...]
    note: str = ""


class Section(Struct, frozen=True):
    """A part of the report under one heading; *key* names it for looks and tests."""

    key: str
    title: str
    blocks: tuple[Block, ...]


class Words(Struct, frozen=True):
    """A whole report in words: its title, what part it is, the card, sections and a last line."""

    title: str
    part: tuple[str, ...]
    card: Card
    sections: tuple[Section, ...]
    foot: str
