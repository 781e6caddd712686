"""What the terminal is: whether anybody can be asked, how wide it is, whether colour is wanted, keys typed too early.

Each stream is judged by itself: answers come from standard input, prompts go to standard error, and standard output
belongs to the report.
"""

from __future__ import annotations

import os
import sys
from typing import TextIO

from diagnose.errors import InputError

NO_KEYBOARD = "no terminal to ask questions in: write the answers in a case file and run `diagnose read CASE`"
NO_SCREEN = (
    "standard error is no terminal, so nobody would see the questions: write the answers in a case file and run "
    "`diagnose read CASE`"
)
_WIDEST, _NARROWEST = 100, 24


def need_terminal() -> None:
    """Raise InputError where there is nobody to ask."""
    if not _is_terminal(sys.stdin):
        raise InputError(NO_KEYBOARD)
    if not _is_terminal(sys.stderr):
        raise InputError(NO_SCREEN)


def _is_terminal(stream: TextIO | None) -> bool:
    return stream is not None and not stream.closed and stream.isatty()


def is_dumb() -> bool:
    """Whether the terminal can't move its cursor."""
    term = os.environ.get("TERM", "")
    return term.lower() in ("dumb", "unknown") or (not term and os.name == "posix")


def wants_color() -> bool:
    """Whether colour, bold and dim are welcome: not with NO_COLOR set to anything."""
    return not os.environ.get("NO_COLOR") and not is_dumb()


def columns(stream: TextIO) -> int:
    """Return the columns to write in: COLUMNS, else the width of *stream*, within what reads well."""
    told = os.environ.get("COLUMNS", "")
    if told.isascii() and told.isdigit() and int(told) > 0:
        return max(_NARROWEST, min(int(told), _WIDEST))
    try:
        width = os.get_terminal_size(stream.fileno()).columns
    except (OSError, ValueError):
        width = 80
    return max(_NARROWEST, min(width or 80, _WIDEST))


def forget_typed(stream: TextIO) -> None:
    """Drop keys that were typed before the question stood there; nothing to drop where *stream* is no terminal."""
    if not _is_terminal(stream):
        return
    try:
        import termios
    except ImportError:
        return
    termios.tcflush(stream.fileno(), termios.TCIFLUSH)
