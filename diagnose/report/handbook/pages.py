"""What a page of the book is made of: headed sections of paragraphs, items and tables, and links between pages.
No HTML.
"""

from __future__ import annotations

from collections.abc import Iterable

from msgspec import Struct

#: kind of entry -> the folder its pages stand in, its name for one and for many
KINDS: dict[str, tuple[str, str, str]] = {
    "fault": ("faults", "fault", "Faults"),
    "cause": ("causes", "cause", "Causes"),
    "check": ("checks", "check", "Checks"),
    "fact": ("facts", "question about the pour", "What was done"),
    "remedy": ("remedies", "remedy", "Remedies"),
    "sum": ("sums", "sum", "Sums"),
}
#: kind of entry that stands as an anchor on a page for all of its kind -> that page and its name
LISTED: dict[str, tuple[str, str]] = {
    "danger": ("dangers.html", "Dangers"),
    "number": ("numbers.html", "Numbers"),
    "material": ("numbers.html", "Numbers"),
    "source": ("sources.html", "Sources"),
}


class Ref(Struct, frozen=True):
    """A link to an entry."""

    kind: str
    id: str
    title: str

    @property
    def path(self) -> str:
        """Where it stands, from the top of the book."""
        if self.kind in LISTED:
            return f"{LISTED[self.kind][0]}#{self.kind}-{self.id}"
        return f"{KINDS[self.kind][0]}/{self.id}.html"


class Item(Struct, frozen=True):
    """A line of a list: a link or plain words, *how* (how often, how surely) before it, *why* behind it,
    remarks below, and a *drawing* of it, as SVG markup of our own, at its side.
    """

    ref: Ref | None = None
    text: str = ""
    how: str = ""
    why: str = ""
    notes: tuple[str, ...] = ()
    anchor: str = ""
    drawing: str = ""


class Group(Struct, frozen=True):
    """Items under a head of their own (none: an empty string), which may be a link."""

    items: tuple[Item, ...]
    head: str = ""
    ref: Ref | None = None
    note: str = ""


class Table(Struct, frozen=True):
    """A table: heads of the columns, and rows as wide as they; each row has an anchor, or none (an empty string)."""

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    anchors: tuple[str, ...] = ()


class Section(Struct, frozen=True):
    """A part of a page. *key* names its look: `caution` is framed, `typed` is what one types."""

    title: str
    paragraphs: tuple[str, ...] = ()
    groups: tuple[Group, ...] = ()
    table: Table | None = None
    key: str = ""

    @property
    def empty(self) -> bool:
        """Whether it says nothing."""
        return not (self.paragraphs or any(group.items or group.note for group in self.groups) or self.table)


class Page(Struct, frozen=True):
    """A page: *path* from the top of the book, *kicker* what it is, *lead* its first words."""

    path: str
    kind: str
    title: str
    kicker: str
    lead: str
    sections: tuple[Section, ...]
    drawing: str = ""


def section(
    title: str,
    paragraphs: Iterable[str] = (),
    groups: Iterable[Group] = (),
    table: Table | None = None,
    key: str = "",
) -> Section:
    """Return a section without its empty paragraphs and groups."""
    return Section(
        title,
        tuple(text for text in paragraphs if text.strip()),
        tuple(group for group in groups if group.items or group.note),
        table,
        key,
    )


def page(ref: Ref, kicker: str, lead: str, sections: Iterable[Section], drawing: str = "") -> Page:
    """Return the page of an entry, without the sections that say nothing."""
    return Page(ref.path, ref.kind, ref.title, kicker, lead, tuple(one for one in sections if not one.empty), drawing)
