"""The plain body: numbered lines and a line typed, for a dumb terminal, a screen reader,
or where no console can be had.

It uses no cursor movement and no colour. Lines go to standard error, so that a redirected report holds the report only;
what is typed is read with the terminal's own line editing.
"""

from __future__ import annotations

import sys
from typing import TextIO

from diagnose.interview.dialogue import Field, Menu, Reply, Row, parse_fill, parse_pick, source_hint
from diagnose.interview.terminal import columns, forget_typed
from diagnose.prose.question import clean, paragraph, row_lines, wrapped


class PlainAsker:
    """Asks in numbered lines on *out*, reads lines from *source*."""

    def __init__(self, source: TextIO | None = None, out: TextIO | None = None) -> None:
        self.source = source or sys.stdin
        self.out = out or sys.stderr

    @property
    def width(self) -> int:
        """Columns to write in."""
        return columns(self.out)

    def tell(self, text: str, quiet: bool = False, whole: bool = False) -> None:
        """Write *text*, wrapped unless *whole*."""
        print(clean(text) if whole else "\n".join(paragraph(text, self.width - 1, quiet)), file=self.out, flush=True)

    def choose(self, menu: Menu) -> Reply:
        """Write the lines, read until one of them is picked."""
        self.tell("")
        self.tell(menu.message)
        for row in (*menu.rows, *menu.commands):
            self._row(menu, row)
        while True:
            reply = parse_pick(menu, self._line(_pick_prompt(menu)))
            if isinstance(reply, Reply):
                return reply
            self.tell(f"{reply}. Type a number or letter from the list, then Enter.")

    def fill(self, field: Field) -> Reply:
        """Write the question and what may be typed, read one line."""
        self.tell("")
        self.tell(field.message)
        if field.hint:
            self.tell(field.hint, quiet=True)
        for row in field.commands:
            self._row(None, row)
        if field.text:
            self.tell(f"{'It stands at' if field.keep else 'You typed'}: {field.text}", quiet=True)
        alone = f"as it stands, unknown = {field.empty}" if field.keep else field.empty
        return parse_fill(field, self._line(f"Type it (Enter alone = {alone}):"))

    def stop(self, leaving: BaseException) -> bool:
        """Nothing to put back: a signal may raise where it comes."""
        return False

    def _row(self, menu: Menu | None, row: Row) -> None:
        title = row.title
        if menu is not None and menu.several and row in menu.rows:
            title = menu.done if row is menu.first and menu.picked else title
            title = f"{title} (picked)" if row.value in menu.picked else title
        print("\n".join(row_lines(row.key, title, self.width - 1)), file=self.out)

    def _line(self, prompt: str) -> str:
        forget_typed(self.source)
        lines = wrapped(prompt, self.width - 1)
        print("\n".join(lines), end=" ", file=self.out, flush=True)
        typed = self.source.readline()
        if not typed:
            print(file=self.out, flush=True)
            raise EOFError
        return clean(typed)


def _pick_prompt(menu: Menu) -> str:
    marks = f" ({source_hint(menu.sources)}, behind it)" if menu.sources else ""
    what = "Numbers" if menu.several else "Number"
    default = (
        menu.first.key if not menu.at else next((row.key for row in menu.rows if row.value == menu.at), menu.first.key)
    )
    return f"{what} or letter{marks}, then Enter [{default}]:"
