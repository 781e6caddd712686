"""What can go wrong, as the command line sees it.

Faults of data (a case file, a knowledge file) are values with a position, collected while reading so that one run
shows them all; they become one exception at the edge. Every exception carries the exit status that it stands for.
"""

from __future__ import annotations

from collections.abc import Iterable

from msgspec import Struct

#: so many faults of one file are told at once
MOST_FAULTS = 20


class DiagnoseError(Exception):
    """Base of all errors that are told to the user in one line; *exit_code* is the status of the process."""

    exit_code = 1


class InputError(DiagnoseError):
    """The input or the command line is wrong (exit status 2)."""

    exit_code = 2


def one_line(text: str) -> str:
    """Return *text* as one line that can't steer a terminal: whatever doesn't print stands as its escape."""
    if text.isprintable():
        return text
    return "".join(char if char.isprintable() else char.encode("unicode_escape").decode("ascii") for char in text)


def shown(text: str, longest: int = 60) -> str:
    """Return *text* as a message quotes it: blanks run together, cut with dots after *longest* characters."""
    flat = " ".join(text[: 20 * longest].split())
    return flat if len(flat) <= longest else flat[: longest - 3] + "..."


class Fault(Struct, frozen=True, order=True):
    """One thing wrong in a file: where (line and column from 1, 0 for the whole file or line) and what was expected."""

    file: str
    line: int
    message: str
    column: int = 0

    def __str__(self) -> str:
        where = f"{self.file}:{self.line}" if self.line else self.file
        return one_line(f"{where}: {self.message}")


def in_order(faults: Iterable[Fault]) -> tuple[Fault, ...]:
    """Return *faults* by file, line, column and message; what is said twice of a line stands once."""
    found: dict[tuple[str, int, str], Fault] = {}
    for fault in sorted(faults, key=lambda fault: (fault.file, fault.line, fault.column, fault.message)):
        found.setdefault((fault.file, fault.line, fault.message), fault)
    return tuple(found.values())


class FileFaults(InputError):
    """A file, or a folder of files, that can't be used; *faults* holds every one, sorted by file and line."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = in_order(faults)
        super().__init__(self.headline())

    def headline(self) -> str:
        """Return the first fault in one line, with a count of the others."""
        rest = len(self.faults) - 1
        return str(self.faults[0]) + (f" (and {rest} more)" if rest else "")

    def lines(self, most: int = MOST_FAULTS) -> list[str]:
        """Return the faults, a line each, at most *most*, then how many more there are."""
        rest = len(self.faults) - most
        return [*map(str, self.faults[:most]), *([f"(and {rest} more)"] if rest > 0 else [])]
