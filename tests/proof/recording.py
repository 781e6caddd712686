"""The picture of the README: `python -m tests.proof.recording` plays a session and writes `docs/recording.svg`.

A caller with the shipped example in his hands sits at a real pseudo-terminal. He says what is wrong in his own words, gives what the example
holds by the words on the screen, and "don't know" to all else, until the tool shows its answer. Each question from the list of faults on is a
frame, the answer the last.
The file is text alone: no script, no font or address from elsewhere, no clock, no path. It runs once and stays at the answer; on paper, and
for whoever wants no motion, there is the answer alone.
"""

from __future__ import annotations

import re
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from html import escape
from itertools import groupby
from pathlib import Path

from diagnose.casebook import Case, read_case
from diagnose.interview.prompts import title_of
from diagnose.knowledge import Knowledge, load_knowledge
from diagnose.prose.question import choice_titles
from diagnose.reasoning.answers import SEEN
from tests.patience import WAIT

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT / "tests" / "interview"))

from terminal_screen import Screen, Terminal  # noqa: E402

PICTURE = ROOT / "docs" / "recording.svg"
COLUMNS, ROWS = 64, 24
WORDS = "skin is thin and spongy, the face grabs my glove"
SECONDS = 1.8
_CHAR, _LINE, _EDGE = 8.4, 18, 14
_ROW = re.compile(r"^[ >]{2,3} *(\w+)  (?:\[[ x]\] )?(.+)$")


class Watched(Terminal):
    """A terminal of which is known whether a question is open: while one is, pasted text comes in brackets."""

    @property
    def open(self) -> bool:
        """Whether a question waits for an answer."""
        return self.raw.rfind("\x1b[?2004h") > self.raw.rfind("\x1b[?2004l")


class InkScreen(Screen):
    """A screen that also keeps how each character looks: the numbers of its select graphic rendition (ECMA-48 8.3.117)."""

    def __init__(self, rows: int, columns: int) -> None:
        super().__init__(rows, columns)
        self.ink: list[dict[int, str]] = [{} for _ in range(rows)]
        self.pen = ""

    def _put(self, char: str) -> None:
        super()._put(char)
        if char.isprintable():
            self.ink[self.row][self.column - 1] = self.pen

    def _down(self) -> None:
        if self.row == self.rows - 1:
            self.ink.append({})
            self.ink.pop(0)
        super()._down()

    def _obey(self, numbers: str, letter: str) -> None:
        if letter == "m":
            wanted = [each for each in numbers.split(";") if each not in ("", "0")]
            self.pen = " ".join([*([] if numbers.startswith("0") or not numbers else self.pen.split()), *wanted])
            return
        super()._obey(numbers, letter)

    def runs(self) -> list[list[tuple[str, str]]]:
        """Return each row as (look, text) in runs of one look; nothing behind the last character that is no blank."""
        found = []
        for line, ink in zip(self.lines, self.ink, strict=True):
            marked = [(ink.get(at, ""), char) for at, char in enumerate(line.rstrip())]
            found.append([(look, "".join(c for _, c in part)) for look, part in groupby(marked, lambda one: one[0])])
        return found


@dataclass
class Caller:
    """Somebody who holds *case* and answers by what he reads on the screen; *told* are the questions that he could answer."""

    case: Case
    knowledge: Knowledge
    told: list[str] = field(default_factory=list)

    heard: bool = False

    def reply(self, rows: list[str]) -> str:
        """Return what he types to the prompt that stands at the end of *rows*, without Enter."""
        start = max(at for at, row in enumerate(rows) if row.startswith("? "))
        message = " ".join(" ".join(rows[start:]).removeprefix("? ").split())
        menu = [match for match in map(_ROW.match, rows[start + 1 :]) if match is not None]
        for opening, answer in _OPENING.items():
            if message.startswith(opening) and opening not in self.told:
                self.told.append(opening)
                return self._picked(menu, [answer]) if menu and answer else answer
        if message.startswith("Which of these"):
            self.heard = True
            seen = [s.title for name, s in self.knowledge.symptoms.items() if self.case.value(name) == SEEN]
            return self._picked(menu, [title for title in seen if _key(menu, title)])
        question = next((q for q in self.case.values if message.startswith(_plain(title_of(self.knowledge, q)))), "")
        return self._answer(question, menu) if question else ""

    def _answer(self, question: str, menu: list[re.Match[str]]) -> str:
        self.told.append(question)
        if not menu:
            return self.case.answers[question].written
        value = self.case.values[question].value
        titles = choice_titles(self.knowledge, question)
        return self._picked(menu, [titles[str(one)] for one in (value if isinstance(value, tuple) else (value,))])

    def _picked(self, menu: list[re.Match[str]], titles: list[str]) -> str:
        keys = [key for title in titles if (key := _key(menu, title))]
        assert len(keys) == len(titles), f"expected a row for each of {titles} on the screen"
        return " ".join(keys)


_OPENING = {
    "First: has anyone": "No, all are well",
    "Kept?": "",
    "What is it, in a few words": "Goose mask",
    "What is wrong with the part": "Say it in my own words",
    "Say what is wrong": WORDS,
}


def _key(menu: list[re.Match[str]], title: str) -> str:
    """The key of the row that says *title*, or the first line of it; empty where none does."""
    return next((row[1] for row in menu if _plain(title).startswith(_plain(row[2]))), "")


def _plain(text: str) -> str:
    return " ".join(text.split())


Frame = list[list[tuple[str, str]]]


def play(case: Path, knowledge: Knowledge) -> list[Frame]:
    """Return the screen at each question from the list of faults on, and at the answer. Raises AssertionError where no question comes within
    two minutes, or the tool ends with another status than 0.
    """
    caller = Caller(read_case(case, knowledge), knowledge)
    found: list[Frame] = []
    with tempfile.TemporaryDirectory() as name:
        save = ["--save", f"{name}/case.yaml"]
        terminal = Watched(
            Path(name), *save, columns=COLUMNS, rows=ROWS, HOME=name, LC_ALL="C.UTF-8", DIAGNOSE_LOG="off"
        )
        terminal.screen = InkScreen(ROWS, COLUMNS)
        while _asked(terminal):
            found += _answer(terminal, caller)
        status = terminal.end()
        assert status == 0, status
        return [*found, terminal.screen.runs()]


def _answer(terminal: Watched, caller: Caller) -> Iterator[Frame]:
    """Answer the open question as *caller*, and yield what was on the screen."""
    answer = caller.reply(terminal.screen.shown)
    several = any("[ ]" in row for row in terminal.screen.shown)
    if caller.heard or several:
        yield terminal.screen.runs()
    terminal.child.send(f"{answer}\r")
    if several and answer:
        terminal.until("[x]", 120)
        yield terminal.screen.runs()
        terminal.child.send("\r")
    assert _waited(terminal, lambda: not terminal.open), "the answer was not taken:\n" + "\n".join(
        terminal.screen.shown
    )


def _asked(terminal: Watched) -> bool:
    """Read until a question is open and nothing more comes: True; or until the tool has ended: False."""
    if not _waited(terminal, lambda: not terminal._read() and (terminal.open or not terminal.child.isalive())):
        raise AssertionError("no question came:\n" + "\n".join(terminal.screen.shown))
    return terminal.open


def _waited(terminal: Watched, seen: Callable[[], bool]) -> bool:
    """Read until *seen*: True; or for as long as a test waits: False."""
    end = time.monotonic() + WAIT
    while time.monotonic() < end:
        if seen():
            return True
        terminal._read()
    return False


def drawn(frames: list[Frame]) -> str:
    """Return *frames* as an SVG that runs through them once."""
    width, height = round(COLUMNS * _CHAR + 2 * _EDGE), ROWS * _LINE + 2 * _EDGE
    ends = SECONDS * (len(frames) - 1)
    looks = sorted({look for frame in frames for row in frame for look, _ in row if look})
    inks = "".join(f".{_name(look)}{{{_style(look)}}}" for look in looks if _style(look))
    groups = [
        f'<g class="{"last" if at == len(frames) - 1 else "frame"}" style="animation-delay:{at * SECONDS:.1f}s">{_rows(one)}</g>'
        for at, one in enumerate(frames)
    ]
    groups[-1] = groups[-1].replace(f' style="animation-delay:{ends:.1f}s"', f' style="animation-duration:{ends:.1f}s"')
    style = _STYLE.replace("SECONDS", f"{SECONDS}s") + inks
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" width="{width}" height="{height}" role="img">\n'
        f"<title>{_TITLE}</title>\n<style>{style}</style>\n"
        f'<rect class="paper" width="{width}" height="{height}" rx="8"/>\n' + "\n".join(groups) + "\n</svg>\n"
    )


def _rows(frame: Frame) -> str:
    return "".join(_row(row, _EDGE + _LINE * at + 13) for at, row in enumerate(frame) if row)


def _row(row: list[tuple[str, str]], y: int) -> str:
    """One row of text; each run is as wide as its characters, whatever the font."""
    parts, column = [], 0
    for look, text in row:
        kind = f' class="{_name(look)}"' if _style(look) else ""
        if text.strip():
            lead = len(text) - len(text.lstrip())
            place = f'x="{_EDGE + _CHAR * (column + lead):.1f}" textLength="{_CHAR * len(text.strip()):.1f}"'
            parts.append(f'<tspan{kind} {place} lengthAdjust="spacingAndGlyphs">{escape(text.strip())}</tspan>')
        column += len(text)
    return f'<text y="{y}">' + "".join(parts) + "</text>"


def _name(look: str) -> str:
    return "i" + "-".join(look.split())


def _style(look: str) -> str:
    return ";".join(_INKS[number] for number in look.split() if number in _INKS)


_INKS = {
    "1": "font-weight:700",
    "2": "fill:var(--faint)",
    "31": "fill:var(--red)",
    "32": "fill:var(--green)",
    "33": "fill:var(--amber)",
    "36": "fill:var(--blue)",
}
_TITLE = "A goose mask with a thin, sticky skin: diagnose asks, and shows its answer"
_STYLE = (
    ":root{--paper:#fbfaf7;--ink:#1f1f1d;--faint:#5f5e5a;--red:#a3201d;--green:#1d6b33;--amber:#7a5200;--blue:#0b5c7a}"
    "@media(prefers-color-scheme:dark){:root{--paper:#17191c;--ink:#e8e6e1;--faint:#a3a199;--red:#ff8f86;--green:#7fd694;--amber:#e8b860;--blue:#6cc5e4}}"
    ".paper{fill:var(--paper);stroke:var(--faint);stroke-opacity:.4}"
    "text{fill:var(--ink);font:14px ui-monospace,'DejaVu Sans Mono',Menlo,Consolas,'Liberation Mono',monospace;white-space:pre}"
    ".frame{visibility:hidden;animation:frame SECONDS step-end}.last{animation:last 1s step-end}"
    "@keyframes frame{0%,100%{visibility:visible}}@keyframes last{0%{visibility:hidden}100%{visibility:visible}}"
    "@media(prefers-reduced-motion:reduce){.frame,.last{animation:none}}@media print{.frame,.last{animation:none}}"
)


def recording() -> str:
    """Return the picture as it is today."""
    return drawn(play(ROOT / "docs" / "examples" / "goose-mask.yaml", load_knowledge()))


if __name__ == "__main__":
    PICTURE.write_text(recording(), encoding="utf-8")
