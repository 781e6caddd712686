"""The questionnaire on real terminals of four sizes: every row can be reached, no line is cut, every key works, ticks survive."""

from __future__ import annotations

import sys
import time
from pathlib import Path

import pytest

from diagnose.casebook import read_case
from diagnose.knowledge import Knowledge
from tests.patience import WAIT

pytest.importorskip("pexpect")
sys.path.insert(0, str(Path(__file__).parent))

from terminal_screen import DOWN, Terminal

SIZES = [(60, 20), (80, 24), (100, 40), (40, 12)]


def _opened(folder: Path, size: tuple[int, int], *more: str) -> Terminal:
    """Go through the opening: all well, kept, bare foam, no paint, no title."""
    terminal = Terminal(folder, "--save", str(folder / "case.yaml"), *more, columns=size[0], rows=size[1])
    terminal.until("Not sure")
    terminal.press("2\r", "skip it")
    terminal.press("\r", "Bare foam that makes")
    terminal.press("1\r", "painted or primed")
    terminal.press("2\r", "in a few words")
    terminal.press("\r", "What is wrong")
    return terminal


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
def test_every_row_can_be_reached_and_no_line_is_cut(
    tmp_path: Path, knowledge: Knowledge, size: tuple[int, int]
) -> None:
    """The longest list of faults is walked with the arrow: each title comes on the screen, with a word that there is more below."""
    terminal = _opened(tmp_path, size)
    terminal.press("6\r", "Which of these")
    titles = [
        s.title
        for s in knowledge.symptoms.values()
        if s.family == "other" and knowledge.applies(s.id, "bare_foam", False)
    ]
    too_long = len(titles) + 8 > size[1]
    assert any("more below" in line for line in terminal.screen.shown) == too_long
    seen = " ".join(" ".join(terminal.screen.shown).split())
    for _ in range(len(titles) + 6):
        terminal.child.send(DOWN)
        while terminal._read():
            pass
        seen += " " + " ".join(" ".join(terminal.screen.shown).split())
    wanted = [
        *titles,
        "What is this for",
        "How to look",
        "Back to an earlier answer",
        "Enough, show me",
        "Quit, all is saved",
    ]
    # a long title is folded: its first words on one row will do
    assert [title for title in wanted if title[: min(24, size[0] - 14)] not in seen] == []
    assert max(map(len, [*terminal.screen.gone, *terminal.screen.shown])) <= size[0]
    terminal.press("q\r", "Kept: 2 answers")
    assert terminal.end() == 0


@pytest.mark.parametrize("size", [(60, 20), (80, 24)], ids=["60x20", "80x24"])
@pytest.mark.parametrize(("key", "status"), [("e", 0), ("q", 0), ("b", 0)])
def test_ticks_survive_every_key(
    tmp_path: Path, knowledge: Knowledge, size: tuple[int, int], key: str, status: int
) -> None:
    """What is ticked is told, whatever key leads away; help keeps the ticks on the screen."""
    terminal = _opened(tmp_path, size)
    terminal.press("2\r", "Which of these")
    terminal.press("3\r", "[x]")
    terminal.press("3?\r", "Not to be mixed")
    assert any("[x] Pinholes" in line for line in terminal.until("[x]"))
    terminal.child.send(f"{key}\r")
    if key == "b":
        terminal.until("Which answer?")
        terminal.child.send("q\r")
    assert terminal.end() == status
    assert read_case(tmp_path / "case.yaml", knowledge).values["pinholes"].value == "seen"


def test_help_explains_the_row_in_hand(tmp_path: Path, knowledge: Knowledge) -> None:
    """h on a row tells of that fault and of no other, in fewer lines than a screen."""
    terminal = _opened(tmp_path, (80, 24))
    terminal.press("2\r", "Which of these")
    before = len(terminal.screen.gone) + len(terminal.screen.shown)
    terminal.press("3h\r", "Not to be mixed")
    told = terminal.everything
    assert " ".join(knowledge.symptoms["pinholes"].help.split())[:30] in " ".join(told.split())
    assert " ".join(knowledge.symptoms["torn_skin"].look.split())[:40] not in " ".join(told.split())
    assert len(terminal.screen.gone) + len(terminal.screen.shown) - before < 40
    terminal.press("q\r", "Kept")
    assert terminal.end() == 0


def test_a_whole_round_on_a_small_terminal(tmp_path: Path) -> None:
    """At 60x20 a case goes from the first prompt to the answer, with don't know to everything but the fault."""
    terminal = _opened(tmp_path, (60, 20))
    terminal.press("2\r", "Which of these")
    terminal.press("1\r", "[x]")
    terminal.press("\r", "What else")
    terminal.child.send("\r")
    until = time.monotonic() + WAIT
    while terminal.child.isalive() and time.monotonic() < until:
        if not terminal._read():
            terminal.child.send("\r")
    assert terminal.end() == 0
    assert "Show the answer" in terminal.everything
    assert "Kept: " in terminal.everything
    assert max(map(len, terminal.everything.splitlines())) <= 60
