"""The report on standard output: bold and indentation, one quiet colour, no boxes.

On a terminal it folds to the width there is; redirected, each paragraph is one whole line without escape codes. Colour
and bold go where the stream is no terminal, is a dumb one, or NO_COLOR is set. Everything is put out as literal text:
no markup, no emoji names, no control characters.
"""

from __future__ import annotations

import io
import os
import shutil
import sys
import unicodedata
from typing import TYPE_CHECKING, TextIO

from diagnose.prose.text import clean, held
from diagnose.report.document import Bar, Bars, Block, Entry, Row, Table, Words
from diagnose.report.text.sections import Wanted, words_of
from diagnose.report.text.shown import Shown

if TYPE_CHECKING:
    from rich.console import Console

#: lines longer than this are hard to follow at arm's length; a mail is folded at the second
_WIDEST, _MAIL = 100, 80
#: below this many columns a label stands on a line of its own
_NARROW = 56
_LABEL = 12
#: longest bar, in columns, and on a narrow screen
_BAR, _SHORT_BAR = 16, 10
_HEAD, _STRONG, _CAUTION = "bold magenta", "bold", "bold magenta"
#: holds a number to its unit while lines are folded; no text of a report has it, for `clean` takes it away
_GLUE = "\ue000"
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


def print_report(shown: Shown, stream: TextIO | None = None, wanted: Wanted | None = None) -> None:
    """Print the report of *shown* to *stream* (standard output), by default the card and the causes."""
    wanted = wanted or Wanted()
    _Printer(stream or sys.stdout).report(words_of(shown, wanted))


def print_card(shown: Shown, stream: TextIO | None = None) -> None:
    """Print the card alone, folded to a mail's width."""
    printer = _Printer(stream or sys.stdout)
    printer.width = min(printer.width or _MAIL, _MAIL)
    words = words_of(shown, Wanted())
    printer.card(words)


class _Printer:
    def __init__(self, stream: TextIO) -> None:
        from rich.console import Console

        terminal = stream.isatty()
        dumb = os.environ.get("TERM") in ("dumb", "unknown")
        styled = terminal and not dumb and not os.environ.get("NO_COLOR")
        size = shutil.get_terminal_size()
        self.width = min(size.columns, _WIDEST) if terminal else 0
        self.height = size.lines if terminal else 0
        self.encoding = getattr(stream, "encoding", None) or "utf-8"
        self.printed = 0
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
        """Print all of it: the card first; last where the whole is taller than the screen,
        for there the eye is when it ends.
        """
        if self.height and self._lines(words) >= self.height:
            self._part(words)
            self._sections(words)
            self.console.print()
            self.card(words)
        else:
            self.card(words)
            self._part(words)
            self._sections(words)
        self.put(words.foot)

    def _lines(self, words: Words) -> int:
        """How many lines the whole takes on this screen, by printing it to nowhere."""
        sink = io.StringIO()
        trial = _Printer(sink)
        trial.width = self.width
        trial.card(words)
        trial._part(words)
        trial._sections(words)
        return len(sink.getvalue().splitlines()) + 2

    def _part(self, words: Words) -> None:
        self.console.print()
        for line in words.part:
            self.put(line)

    def _sections(self, words: Words) -> None:
        for section in words.sections:
            self.console.print()
            self.put(section.title.upper(), style=_HEAD)
            for i, block in enumerate(section.blocks):
                if (
                    i
                    and len(words.sections) > 1
                    and not (isinstance(block, str) and isinstance(section.blocks[i - 1], str))
                ):
                    self.console.print()
                self.block(block, "")

    def card(self, words: Words) -> None:
        """Print the card: dangers, the title, the labelled rows, the note."""
        card = words.card
        for danger in card.dangers:
            self.put(danger, label="!! ", label_style=_CAUTION, style=_STRONG, indent=3)
        self.put(words.title, style=_STRONG)
        for row in card.rows:
            self._labelled(row, 0, strong=row is card.rows[0])
        if card.note:
            self.put(card.note)

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
        if not row.label:
            for line in row.lines:
                self.put(line, indent=4)
            return
        self._labelled(row, 4)

    def _labelled(self, row: Row, indent: int, strong: bool = False) -> None:
        style = _CAUTION if row.tone == "caution" else _STRONG if strong or not indent else ""
        beside = not self.width or self.width >= _NARROW
        if not beside:
            self.put(row.label, indent=indent, style=style)
        for i, line in enumerate(row.lines):
            self.put(
                line,
                indent=indent + _LABEL if beside else indent + 2,
                style=_STRONG if strong and i == 0 else "",
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
        """Print one paragraph at *indent* columns, folded to the width:
        *label* in the margin of its first line, *after* behind it unstyled.

        Lines after the first stand *hang* columns further in.
        """
        from rich.text import Text

        body = Text.assemble((self.fitting(clean(text)), style), self.fitting(after))
        body.plain = held(body.plain).replace("\u00a0", _GLUE)
        lines = body.wrap(self.console, max(self.width - indent - hang, 12)) if self.width else [body]
        for i, line in enumerate(lines):
            line.plain = line.plain.replace(_GLUE, " ")
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
