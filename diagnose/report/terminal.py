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

from diagnose.assessment.content import report_of
from diagnose.assessment.situation import Situation
from diagnose.prose.answer import plain
from diagnose.report.document import Bar, Bars, Block, Entry, Row, Table, Words
from diagnose.report.text.sections import words_of

if TYPE_CHECKING:
    from rich.console import Console

#: lines longer than this are hard to follow at arm's length
_WIDEST = 92
#: below this many columns a label stands on a line of its own
_NARROW = 56
_LABEL = 12
#: longest bar, in columns, and on a narrow screen
_BAR, _SHORT_BAR = 16, 10
_HEAD, _STRONG, _CAUTION = "bold magenta", "bold", "bold magenta"
#: what a stream that knows no more than ASCII gets in place of these
_ASCII = str.maketrans(
    {
        "°": "deg ",
        "²": "2",
        "³": "3",
        "×": "x",
        "µ": "u",
        "–": "-",
        "—": "-",
        "’": "'",
        "‘": "'",
        "“": '"',
        "”": '"',
        "…": "...",
    }
)


def print_report(situation: Situation, stream: TextIO | None = None, why: bool = False, sums: bool = False) -> None:
    """Print the report of *situation* to *stream* (standard output). Raises TooManySeen as the beliefs do.

    *why* adds the weight of each answer on the first cause, *sums* how each number for the next pour was got.
    """
    words = words_of(report_of(situation, why), situation.knowledge, sums)
    _Printer(stream or sys.stdout).report(words)


class _Printer:
    def __init__(self, stream: TextIO) -> None:
        from rich.console import Console

        terminal = stream.isatty()
        dumb = os.environ.get("TERM") in ("dumb", "unknown")
        styled = terminal and not dumb and not os.environ.get("NO_COLOR")
        self.width = min(shutil.get_terminal_size().columns, _WIDEST) if terminal else 0
        self.encoding = getattr(stream, "encoding", None) or "utf-8"
        self.console: Console = Console(
            file=stream,
            force_terminal=terminal,
            color_system="standard" if styled else None,
            no_color=not styled,
            markup=False,
            emoji=False,
            highlight=False,
            soft_wrap=True,
            width=self.width or _WIDEST,
            legacy_windows=False,
        )

    def report(self, words: Words) -> None:
        """Print all of it."""
        self.put(words.title, style=_STRONG)
        for line in words.part:
            self.put(line)
        for section in words.sections:
            self.console.print()
            self.put(section.title.upper(), style=_HEAD)
            for i, block in enumerate(section.blocks):
                if i and not (isinstance(block, str) and isinstance(section.blocks[i - 1], str)):
                    self.console.print()
                self.block(block, _STRONG if section.key == "answer" and i == 0 else "")
        self.console.print()
        self.put(words.foot)

    def block(self, block: Block, style: str) -> None:
        """Print one block of a section; *style* is for a paragraph."""
        if isinstance(block, str):
            self.put(block, indent=2, style=style)
        elif isinstance(block, Entry):
            self.entry(block)
        elif isinstance(block, Table):
            self.table(block)
        else:
            self.bars(block)

    def table(self, table: Table) -> None:
        """Print a table as a list: name and number, and below them what else there is, each under its heading."""
        for name, number, *rest in table.rows:
            self.put(name, indent=2, style=_STRONG if rest else "", after=f": {number}", hang=2)
            for head, cell in zip(table.head[2:], rest, strict=True):
                if cell:
                    self.put(cell if cell.startswith("example: ") else f"{head.lower()}: {cell}", indent=4, hang=2)

    def bars(self, bars: Bars) -> None:
        """Print bars as rows of plus or minus signs, one for each point where they fit."""
        most = _BAR if not self.width or self.width >= _NARROW else _SHORT_BAR
        longest = max(abs(bar.points) for bar in bars.bars)
        for bar in bars.bars:
            sign = "+" if bar.points > 0 else "-"
            margin = f"{bar.points:+d}".rjust(4) + " " + (sign * self._long(bar, longest, most)).ljust(most + 1)
            if most == _BAR:
                self.put(bar.label, indent=2 + len(margin), label=margin, style=_STRONG if bar.total else "")
            else:
                self.put(bar.label, indent=2, style=_STRONG if bar.total else "")
                self.put("", indent=2 + len(margin), label=margin)

    def _long(self, bar: Bar, longest: int, most: int) -> int:
        """Columns of a bar: its points, or in proportion where the longest would not fit; none but 0 is nothing."""
        length = abs(bar.points) if longest <= most else round(abs(bar.points) * most / longest)
        return max(length, min(1, abs(bar.points)))

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
            self.put(
                line,
                indent=4 + _LABEL if beside else 6,
                label=row.label.ljust(_LABEL) if beside and i == 0 else "",
                label_style=style,
            )

    def put(
        self,
        text: str,
        indent: int = 0,
        style: str = "",
        label: str = "",
        label_style: str = "",
        after: str = "",
        hang: int = 0,
    ) -> None:
        """Print one paragraph at *indent* columns, folded to the width: *label* in the margin of its first line, *after* behind it unstyled.

        Lines after the first stand *hang* columns further in.
        """
        from rich.text import Text

        body = Text.assemble((self.fitting(plain(text)), style), self.fitting(after))
        lines = body.wrap(self.console, max(self.width - indent - hang, 12)) if self.width else [body]
        for i, line in enumerate(lines):
            margin = label if i == 0 else ""
            lead = Text(" " * (indent + (hang if i else 0) - len(margin))) + Text(margin, style=label_style)
            whole = lead + line
            whole.rstrip()
            self.console.print(whole)

    def fitting(self, text: str) -> str:
        """Return *text* in characters that the stream can take."""
        try:
            text.encode(self.encoding)
        except (UnicodeEncodeError, LookupError):
            flat = unicodedata.normalize("NFKD", text.translate(_ASCII))
            return flat.encode("ascii", "ignore").decode("ascii")
        return text
