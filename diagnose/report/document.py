"""What a report in words is made of: sections of paragraphs, entries of labelled rows, tables of numbers, and bars.

The terminal and the page each know how to show these few shapes, and nothing else; so both say the same, and a new part
of the report needs no new way of showing it.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Row:
    """Lines under one label of an entry; an empty label is plain text. *tone*: `caution` where somebody may be hurt."""

    label: str
    lines: tuple[str, ...]
    tone: str = ""


@dataclass(frozen=True, slots=True)
class Entry:
    """One thing with a heading, a remark beside it, its chance in tens of percent (None where it has none),
    and rows.
    """

    head: str
    aside: str
    rows: tuple[Row, ...]
    percent: int | None = None


@dataclass(frozen=True, slots=True)
class Table:
    """Numbers in rows under *head*; each row has a name, the number, and what else the head names.
    An empty cell is left out.
    """

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar of so many whole *points*, for (above 0) or against; *total* where it is the sum of those above."""

    label: str
    points: int
    total: bool = False


@dataclass(frozen=True, slots=True)
class Bars:
    """Bars that add up, with a *title*; beside the page's picture the bars are its text alternative."""

    title: str
    bars: tuple[Bar, ...]


Block = str | Entry | Table | Bars


@dataclass(frozen=True, slots=True)
class Card:
    """The answer in a few labelled lines, *dangers* above it, a *note* below."""

    dangers: tuple[str, ...]
    rows: tuple[Row, ...]
    note: str = ""


@dataclass(frozen=True, slots=True)
class Section:
    """A part of the report under one heading; *key* names it for looks and tests."""

    key: str
    title: str
    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True)
class Words:
    """A whole report in words: its title, what part it is, the card, sections and a last line."""

    title: str
    part: tuple[str, ...]
    card: Card
    sections: tuple[Section, ...]
    foot: str
