"""The report on standard output: bold and indentation, one quiet colour, no boxes.

On a terminal it folds to the width there is; redirected, each paragraph is one whole line without escape codes. Colour and
bold go where the stream is no terminal, is a dumb one, or NO_COLOR is set. Everything is put out as literal text: no markup, no
emoji names, no control characters.
"""

from __future__ import annotations

import os
import shutil
import sys
import unicodedata
from typing import TYPE_CHECKING, TextIO

from diagnose.casebook.consult import Consultation
from diagnose.report.content import report_of
from diagnose.report.layout import Entry, Row, Words
from diagnose.report.sections import words_of
from diagnose.report.wording import plain

if TYPE_CHECKING:
    from rich.console import Console

#: lines longer than this are hard to follow at arm's length
_WIDEST = 92
#: below this many columns a label stands on a line of its own
_NARROW = 56
_LABEL = 12
_HEAD, _STRONG, _CAUTION = "bold magenta", "bold", "bold magenta"
#: what a stream that knows no more than ASCII gets in place of these
_ASCII = str.maketrans({"°": "deg ", "²": "2", "³": "3", "×": "x", "µ": "u", "–": "-", "—": "-", "’": "'", "‘": "'", "“": '"', "”": '"', "…": "..."})


def print_report(consultation: Consultation, stream: TextIO | None = None) -> None:
    """Print the report of *consultation* to *stream* (standard output). Raises TooManySeen as the beliefs do."""
    words = words_of(report_of(consultation), consultation.knowledge)
    _Printer(stream or sys.stdout).report(words)


class _Printer:
    def __init__(self, stream: TextIO) -> None:
        from rich.console import Console

        terminal = stream.isatty()
        dumb = os.environ.get("TERM") in ("dumb", "unknown")
        styled = terminal and not dumb and not os.environ.get("NO_COLOR")
        self.width = min(shutil.get_terminal_size().columns, _WIDEST) if terminal else 0
        self.encoding = getattr(stream, "encoding", None) or "utf-8"
        self.console: Console = Console(file=stream, force_terminal=terminal, color_system="standard" if styled else None, no_color=not styled,
                                        markup=False, emoji=False, highlight=False, soft_wrap=True, width=self.width or _WIDEST, legacy_windows=False)

    def report(self, words: Words) -> None:
        """Print all of it."""
        self.put(words.title, style=_STRONG)
        for line in words.part:
            self.put(line)
        for section in words.sections:
            self.console.print()
            self.put(section.title.upper(), style=_HEAD)
            for i, block in enumerate(section.blocks):
                if i and (isinstance(block, Entry) or isinstance(section.blocks[i - 1], Entry)):
                    self.console.print()
                if isinstance(block, Entry):
                    self.entry(block)
                else:
                    self.put(block, indent=2, style=_STRONG if section.key == "answer" and i == 0 else "")
        self.console.print()
        self.put(words.foot)

    def entry(self, entry: Entry) -> None:
        """Print an entry: its heading with the remark, then its rows."""
        self.put(entry.head, indent=2, style=_STRONG, after=f" ({entry.aside})" if entry.aside else "")
        for row in entry.rows:
            self.row(row)

    def row(self, row: Row) -> None:
        """Print a row: the label in its column, or on a line of its own where the screen is narrow."""
        style = _CAUTION if row.tone == "caution" else ""
        if not row.label:
            for line in row.lines:
                self.put(line, indent=4)
            return
        beside = not self.width or self.width >= _NARROW
        if not beside:
            self.put(row.label, indent=4, style=style)
        for i, line in enumerate(row.lines):
            self.put(line, indent=4 + _LABEL if beside else 6, label=row.label if beside and i == 0 else "", label_style=style)

    def put(self, text: str, indent: int = 0, style: str = "", label: str = "", label_style: str = "", after: str = "") -> None:
        """Print one paragraph at *indent* columns, folded to the width: *label* in the margin of its first line, *after* behind it unstyled."""
        from rich.text import Text

        body = Text.assemble((self.fitting(plain(text)), style), self.fitting(after))
        lines = body.wrap(self.console, max(self.width - indent, 12)) if self.width else [body]
        for i, line in enumerate(lines):
            line.rstrip()
            margin = label.ljust(_LABEL) if i == 0 and label else ""
            lead = Text(" " * (indent - len(margin))) + Text(margin, style=label_style)
            self.console.print(lead + line)

    def fitting(self, text: str) -> str:
        """Return *text* in characters that the stream can take."""
        try:
            text.encode(self.encoding)
        except (UnicodeEncodeError, LookupError):
            flat = unicodedata.normalize("NFKD", text.translate(_ASCII))
            return flat.encode("ascii", "ignore").decode("ascii")
        return text
