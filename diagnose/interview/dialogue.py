"""What a questionnaire may ask of a screen: a menu, a line of text, a remark. Nothing else.

Every body (arrow keys, numbered lines, a script in a test) serves the same `Frontend`, so that the flow of the
questionnaire is written once and can be played without a terminal. A menu stands on a row that asserts nothing when it
opens, so that Enter alone never makes a finding. The same words are typed in every body: a number, a letter, and `r`,
`t` or `m` for how an answer is known.
"""

from __future__ import annotations

import re
from typing import Protocol

from msgspec import Struct

#: letters that say how an answer is known
SOURCE_KEYS = {"r": "remembered", "t": "told", "m": "measured"}
SOURCE_WORDS = {"r": "from memory", "t": "somebody told me", "m": "measured"}


class Leave(Exception):
    """The caller wants to stop for now; what was answered is kept."""


class Enough(Exception):
    """The caller wants to see the answer with what is known so far."""


#: `?` in a menu stands for this key: how to look
_HELP_KEY = "h"


def source_hint(marks: str) -> str:
    """Return what the letters *marks* say: `r = from memory, t = somebody told me`."""
    return ", ".join(f"{mark} = {SOURCE_WORDS[mark]}" for mark in marks)


class Row(Struct, frozen=True):
    """One line of a menu: the key that picks it, the value that it stands for, and its words."""

    key: str
    value: str
    title: str


class Menu(Struct, frozen=True):
    """A question with lines to pick from; the first row is the one that asserts nothing.

    *several*: more than one row may be picked, *picked* are ticked already, and *done* names the first row once
    something is. *sources*: the letters that mark how the answer is known. *at*: the value on which the menu opens, the
    first row if empty.
    """

    name: str
    message: str
    rows: tuple[Row, ...]
    commands: tuple[Row, ...] = ()
    several: bool = False
    picked: tuple[str, ...] = ()
    done: str = "That is all"
    sources: str = ""
    at: str = ""

    @property
    def first(self) -> Row:
        """The row that asserts nothing."""
        return self.rows[0]


class Field(Struct, frozen=True):
    """A question answered by a line of text; *empty* is what Enter alone means.

    *text* stands in it already: to be mended, or (*keep*) an answer that Enter alone leaves as it is.
    """

    name: str
    message: str
    hint: str = ""
    commands: tuple[Row, ...] = ()
    text: str = ""
    keep: bool = False
    sources: str = ""
    empty: str = "don't know"


class Reply(Struct, frozen=True):
    """What came back: values picked or a text, or a *command* with the row it was given *at*; *source* where marked."""

    values: tuple[str, ...] = ()
    text: str = ""
    command: str = ""
    source: str | None = None
    at: str = ""


class Frontend(Protocol):
    """A body. Ctrl-C raises KeyboardInterrupt, Ctrl-D raises EOFError, both at once."""

    @property
    def width(self) -> int:
        """Columns to write in."""
        ...

    def tell(self, text: str, quiet: bool = False, whole: bool = False) -> None:
        """Say *text*, a paragraph.

        *quiet* where it is only by the way, *whole* where it is to be copied and must not be broken.
        """
        ...

    def choose(self, menu: Menu) -> Reply:
        """Ask *menu* and return what was picked."""
        ...

    def fill(self, field: Field) -> Reply:
        """Ask *field* and return what was typed."""
        ...

    def stop(self, leaving: BaseException) -> bool:
        """Make the question that is open end by raising *leaving*, from a signal.

        False where the signal itself may raise it.
        """
        ...


def numbered(first: Row, options: list[tuple[str, str]]) -> tuple[Row, ...]:
    """Return *first*, then (value, title) *options* with the keys 1, 2, 3 and on."""
    return (first, *(Row(str(i), value, title) for i, (value, title) in enumerate(options, 1)))


def parse_pick(menu: Menu, line: str) -> Reply | str:
    """Read a typed line as a reply to *menu*; a text says what is wrong with it.

    Raises nothing. `3`, `3 r`, `2 5 7` where several may be picked, `w`, `h 3`; nothing at all is the row the menu
    stands on.
    """
    words = line.replace(",", " ").lower().split()
    if not words:
        return Reply(menu.picked or (menu.at or menu.first.value,))
    rows = {row.key: row.value for row in menu.rows}
    commands = {row.key: row.value for row in menu.commands}
    words[0] = _HELP_KEY if words[0] == "?" else words[0]
    if words[0] in commands:
        at = rows.get(words[1], "") if len(words) == 2 else ""
        return (
            Reply(menu.picked, command=commands[words[0]], at=at)
            if len(words) == 1 or at
            else f"'{line.strip()}' is not on the list"
        )
    source = SOURCE_KEYS[words[-1]] if words[-1] in tuple(menu.sources) else None
    if source is not None:
        words = words[:-1]
    unknown = next((word for word in words if word not in rows), "" if words else line.strip())
    if unknown or not words:
        return f"'{unknown}' is not on the list"
    return _picked(menu, [rows[word] for word in words], source)


def _picked(menu: Menu, values: list[str], source: str | None) -> Reply | str:
    chosen = tuple(dict.fromkeys(values))
    if not menu.several:
        return Reply(chosen, source=source) if len(chosen) == 1 else "one line, please"
    if menu.first.value in chosen and len(chosen) > 1:
        return f"'{menu.first.key}' does not go with another line"
    return Reply(chosen, source=source)


def parse_fill(field: Field, line: str) -> Reply:
    """Read a typed line as a reply to *field*: a command letter alone, or a text with its mark of how it is known."""
    text = line.strip() or (field.text if field.keep else "")
    commands = {row.key: row.value for row in field.commands}
    if text.lower() in commands:
        return Reply(command=commands[text.lower()], text=field.text)
    if field.sources:
        match = re.fullmatch(rf"(.*\S)\s+([{field.sources}])", text, re.IGNORECASE | re.DOTALL)
        if match is not None:
            return Reply(text=match[1], source=SOURCE_KEYS[match[2].lower()])
    return Reply(text=text)
