"""A small terminal for the tests: what the questionnaire writes on a real pseudo-terminal, as the rows that a caster sees.

It knows the few control sequences of ECMA-48 that the questionnaire and its libraries send (cursor moves, erase, save nothing) and
raises on any other, so that a new one is noticed.
"""

from __future__ import annotations

import os
import re
import sys
import time
from pathlib import Path
from typing import Any

import pexpect

from tests.patience import WAIT

ROOT = Path(__file__).parents[2]
_SEQUENCE = re.compile(r"\x1b(?:\[([0-9;?]*)([A-Za-z])|[()][A-Z0-9]|[=>78])")
DOWN, UP = "\x1b[B", "\x1b[A"


class Screen:
    """Rows of text with a cursor; rows that scroll off the top are kept in *gone*."""

    def __init__(self, rows: int, columns: int) -> None:
        self.rows, self.columns = rows, columns
        self.lines = [""] * rows
        self.gone: list[str] = []
        self.row = self.column = 0
        self.held = ""

    def feed(self, text: str) -> None:
        """Take what was written."""
        text, at = self.held + text, 0
        self.held = ""
        while at < len(text):
            if text[at] == "\x1b":
                match = _SEQUENCE.match(text, at)
                if match is None:
                    self.held = text[at:]
                    assert len(self.held) < 40, repr(self.held)
                    return
                self._obey(match[1] or "", match[2] or "")
                at = match.end()
            else:
                self._put(text[at])
                at += 1

    def _put(self, char: str) -> None:
        if char == "\n":
            self._down()
        elif char == "\r":
            self.column = 0
        elif char == "\b":
            self.column = max(0, self.column - 1)
        elif char.isprintable():
            if self.column >= self.columns:
                self.column = 0
                self._down()
            line = self.lines[self.row].ljust(self.column)
            self.lines[self.row] = line[: self.column] + char + line[self.column + 1 :]
            self.column += 1

    def _down(self) -> None:
        if self.row < self.rows - 1:
            self.row += 1
            return
        self.gone.append(self.lines.pop(0))
        self.lines.append("")

    def _obey(self, numbers: str, letter: str) -> None:
        count = int(numbers or 1) if numbers.isdigit() or not numbers else 1
        if letter == "A":
            self.row = max(0, self.row - count)
        elif letter == "B":
            self.row = min(self.rows - 1, self.row + count)
        elif letter == "C":
            self.column = min(self.columns - 1, self.column + count)
        elif letter == "D":
            self.column = max(0, self.column - count)
        elif letter == "K":
            self.lines[self.row] = self.lines[self.row][: self.column]
        elif letter == "J":
            self.lines[self.row] = self.lines[self.row][: self.column]
            self.lines[self.row + 1 :] = [""] * (self.rows - self.row - 1)
        else:
            assert letter in "mhl" or not letter, f"{numbers}{letter}"

    @property
    def shown(self) -> list[str]:
        """The rows on the screen that hold anything."""
        return [line.rstrip() for line in self.lines if line.strip()]


class Terminal:
    """`diagnose` on a real pseudo-terminal of a given size."""

    def __init__(self, folder: Path, *args: str, columns: int = 80, rows: int = 24, **more: str) -> None:
        unset = ("NO_COLOR", "COLUMNS", "LINES", "DIAGNOSE_KNOWLEDGE")
        env = {name: value for name, value in os.environ.items() if name not in unset}
        env |= {"TERM": "xterm-256color", "XDG_STATE_HOME": str(folder / "state"), "PYTHONPATH": str(ROOT), **more}
        self.screen = Screen(rows, columns)
        self.raw = ""
        self.before = 0
        self.child: Any = pexpect.spawn(
            sys.executable,
            ["-m", "diagnose", *args],
            env=env,
            encoding="utf-8",
            timeout=WAIT,
            dimensions=(rows, columns),
        )

    def until(self, text: str, timeout: float = WAIT) -> list[str]:
        """Read until *text* stands on the screen, or scrolled off it since a key was pressed, and nothing more comes; return the rows."""
        end = time.monotonic() + timeout
        while time.monotonic() < end:
            quiet = not self._read()
            if quiet and any(text in line for line in [*self.screen.gone[self.before :], *self.screen.shown]):
                return self.screen.shown
        raise AssertionError(f"{text!r} never came:\n" + "\n".join(self.screen.shown))

    def _read(self) -> bool:
        try:
            text = self.child.read_nonblocking(65536, timeout=0.25)
        except pexpect.TIMEOUT:
            return False
        except pexpect.EOF:
            time.sleep(0.05)
            return False
        self.raw += text
        self.screen.feed(text)
        return True

    def press(self, keys: str, wait: str) -> list[str]:
        """Type *keys* and read until *wait* stands on the screen."""
        self.before = len(self.screen.gone)
        self.child.send(keys)
        return self.until(wait)

    def end(self) -> int | None:
        """Read to the end and return the exit status."""
        while self.child.isalive():
            self._read()
        self._read()
        self.child.close()
        return self.child.exitstatus

    @property
    def everything(self) -> str:
        """All rows that were ever on the screen, those that scrolled off first."""
        return "\n".join([*self.screen.gone, *self.screen.shown])
