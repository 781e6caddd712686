"""The questionnaire as a process on a real pseudo-terminal: leaving, signals, streams, colour, narrow and dumb screens."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import termios
import time
from pathlib import Path
from typing import Any

import pytest

from diagnose.casebook import read_case
from diagnose.interview.terminal import NO_KEYBOARD, NO_SCREEN
from diagnose.knowledge import Knowledge
from tests.patience import WAIT

pexpect = pytest.importorskip("pexpect")
ROOT = Path(__file__).parents[2]
ESCAPES = re.compile(r"\x1b(?:\[[0-9;?]*[A-Za-z]|[()][A-Z0-9]|[=>])")


def _env(tmp_path: Path, **more: str) -> dict[str, str]:
    env = {
        name: value
        for name, value in os.environ.items()
        if name not in ("NO_COLOR", "COLUMNS", "LINES", "DIAGNOSE_KNOWLEDGE")
    }
    return {**env, "TERM": "xterm-256color", "XDG_STATE_HOME": str(tmp_path / "state"), "PYTHONPATH": str(ROOT), **more}


def _start(tmp_path: Path, *args: str, columns: int = 80, **more: str) -> Any:
    return pexpect.spawn(
        sys.executable,
        ["-m", "diagnose", *args],
        env=_env(tmp_path, **more),
        encoding="utf-8",
        timeout=WAIT,
        dimensions=(45, columns),
        # a test run that was put in the background ignores Ctrl-C, and a child would inherit that
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
    )


def _answered(child: Any, tmp_path: Path) -> Path:
    """Go through the opening and answer build and paint; return the file."""
    for shown, typed in (
        ("Not sure", "2"),
        ("or skip it", ""),
        ("Bare foam that makes", "1"),
        ("painted or primed", "2"),
    ):
        child.expect(shown)
        child.expect("all is saved")
        child.send(f"{typed}\r")
    child.expect("in a few words")
    time.sleep(0.3)
    child.send("\r")
    child.expect("What is wrong")
    child.expect("all is saved")
    return next((tmp_path / "state" / "diagnose" / "cases").glob("*.yaml"))


def _ended(child: Any) -> tuple[int | None, str]:
    child.expect(pexpect.EOF)
    child.wait()
    return child.exitstatus, ESCAPES.sub("", child.before)


@pytest.mark.parametrize("args", [(), ("--plain",), ("--resume", "no-such-case.yaml")])
def test_without_a_keyboard_it_says_how_to_use_a_case_file(tmp_path: Path, args: tuple[str, ...]) -> None:
    """A pipe in place of a keyboard is neither guessed from nor waited for: one line, status 2, nothing on standard output."""
    command = [sys.executable, "-m", "diagnose", *args]
    done = subprocess.run(
        command, input="\n\n\n\n", env=_env(tmp_path), capture_output=True, text=True, timeout=WAIT, check=False
    )
    assert (done.returncode, done.stdout, done.stderr) == (2, "", f"diagnose: {NO_KEYBOARD}\n")
    assert "diagnose read CASE" in NO_KEYBOARD


def test_without_a_keyboard_questionary_is_not_even_loaded(tmp_path: Path) -> None:
    """The check comes before the heavy imports."""
    code = (
        "import sys\nfrom diagnose.commands.main import run\nstatus = run([])\n"
        "sys.exit(9 if {'questionary', 'prompt_toolkit', 'numpy', 'rich', 'networkx'} & set(sys.modules) else status)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code],
        stdin=subprocess.DEVNULL,
        env=_env(tmp_path),
        capture_output=True,
        text=True,
        timeout=WAIT,
        check=False,
    )
    assert done.returncode == 2, done.stderr


def test_without_a_screen_it_does_not_ask_into_a_file(tmp_path: Path) -> None:
    """With standard error in a file nobody would see the questions."""
    log = tmp_path / "log"
    child = pexpect.spawn(
        "/bin/sh",
        ["-c", f"'{sys.executable}' -m diagnose 2> '{log}'"],
        env=_env(tmp_path),
        encoding="utf-8",
        timeout=WAIT,
    )
    assert _ended(child)[0] == 2
    assert log.read_text(encoding="utf-8") == f"diagnose: {NO_SCREEN}\n"


@pytest.mark.parametrize("args", [(), ("--plain",)])
def test_ctrl_c_keeps_the_answers_and_says_how_to_go_on(
    tmp_path: Path, knowledge: Knowledge, args: tuple[str, ...]
) -> None:
    """Status 130, one line, no traceback, and the file has what was answered."""
    child = _start(tmp_path, *args)
    path = _answered(child, tmp_path)
    child.send("\x03")
    status, said = _ended(child)
    assert status == 130
    assert f"Kept: 2 answers. Go on with: diagnose --resume {path}" in said.replace("\r\n", "")
    assert "Traceback" not in said
    assert list(read_case(path, knowledge).answers) == ["build", "painted"]


def test_ctrl_d_saves_and_leaves(tmp_path: Path) -> None:
    """Ctrl-D is "save and leave": status 0."""
    child = _start(tmp_path)
    _answered(child, tmp_path)
    child.send("\x04")
    status, said = _ended(child)
    assert status == 0
    assert "Kept: 2 answers." in said


@pytest.mark.parametrize(("number", "status"), [(signal.SIGINT, 130), (signal.SIGTERM, 143), (signal.SIGHUP, 129)])
def test_a_signal_leaves_the_terminal_as_it_was(
    tmp_path: Path, knowledge: Knowledge, number: signal.Signals, status: int
) -> None:
    """A kill, a real interrupt and a hang-up leave with their status, the answers on disk, and the terminal in its right mind."""
    child = _start(tmp_path)
    before = termios.tcgetattr(child.child_fd)[3]
    path = _answered(child, tmp_path)
    os.kill(child.pid, number)
    child.expect(pexpect.EOF)
    child.wait()
    said = ESCAPES.sub("", child.before)
    assert child.exitstatus == status
    assert "\x1b[?25h" in child.before  # the cursor is to be seen again
    assert "Traceback" not in said
    assert "Kept: 2 answers." in said
    assert termios.tcgetattr(child.child_fd)[3] == before
    assert list(read_case(path, knowledge).answers) == ["build", "painted"]


def test_a_window_that_is_closed_loses_nothing(tmp_path: Path, knowledge: Knowledge) -> None:
    """With the terminal gone altogether the process ends and the file is whole."""
    child = _start(tmp_path)
    path = _answered(child, tmp_path)
    child.close(force=False)
    until = time.monotonic() + WAIT
    while child.isalive() and time.monotonic() < until:
        time.sleep(0.05)
    assert not child.isalive()
    assert list(read_case(path, knowledge).answers) == ["build", "painted"]


def test_it_goes_on_after_a_kill_that_cannot_be_caught(tmp_path: Path) -> None:
    """After SIGKILL the next start offers the case and asks the next question."""
    child = _start(tmp_path)
    _answered(child, tmp_path)
    child.kill(signal.SIGKILL)
    child.wait()
    again = _start(tmp_path)
    again.expect("There is an unfinished case")
    again.expect("Quit")
    again.send("\r")
    again.expect("What is wrong")
    again.expect("all is saved")
    again.send("q\r")
    assert _ended(again)[0] == 0


def test_keys_typed_too_early_answer_nothing(tmp_path: Path) -> None:
    """Keys hammered while the program starts do not go into the first question."""
    child = _start(tmp_path)
    child.send("1\r")
    child.expect("Quit")
    time.sleep(0.3)
    child.send("q\r")
    status, said = _ended(child)
    assert status == 0
    assert "Stop work" not in said


def test_prompts_stay_out_of_a_redirected_report(tmp_path: Path) -> None:
    """`diagnose > report.txt` asks on the terminal and writes the report, and nothing else, to the file."""
    out = tmp_path / "report.txt"
    child = pexpect.spawn(
        "/bin/sh",
        ["-c", f"'{sys.executable}' -m diagnose > '{out}'"],
        env=_env(tmp_path),
        encoding="utf-8",
        timeout=WAIT,
        dimensions=(45, 80),
    )
    _answered(child, tmp_path)
    assert out.read_bytes() == b""
    child.send("e\r")
    status, said = _ended(child)
    assert status == 0
    report = out.read_text(encoding="utf-8")
    assert report.strip()
    assert "\x1b" not in report
    assert "Not sure" not in report
    assert "Kept: 2 answers." in said


def test_no_color_means_no_color_no_bold_no_dim(tmp_path: Path) -> None:
    """With NO_COLOR the screen gets cursor movement and nothing that changes how letters look."""
    child = _start(tmp_path, NO_COLOR="1")
    seen = []
    child.logfile_read = type("Log", (), {"write": lambda self, text: seen.append(text), "flush": lambda self: None})()
    _answered(child, tmp_path)
    child.send("h\r")
    child.expect("all is saved")
    child.send("q\r")
    assert _ended(child)[0] == 0
    looks = set(re.findall(r"\x1b\[([0-9;]*)m", "".join(seen)))
    assert looks <= {"0", ""}, looks


def test_a_dumb_terminal_gets_numbered_lines_without_escape_codes(tmp_path: Path) -> None:
    """TERM=dumb is asked in plain lines."""
    child = _start(tmp_path, TERM="dumb")
    child.expect(r"Number or letter, then Enter \[0\]:")
    assert "\x1b" not in child.before
    assert " 2  No, all are well\r\n" in child.before
    child.send("q\r")
    assert _ended(child)[0] == 0


def test_forty_columns_hold_every_line(tmp_path: Path) -> None:
    """Nothing is written past the edge of a narrow screen."""
    child = _start(tmp_path, "--plain", columns=40)
    child.expect(r"\[0\]:")
    assert max(map(len, child.before.splitlines())) <= 40
    child.send("q\r")
    assert _ended(child)[0] == 0


def test_save_names_the_file_and_never_takes_another_ones_place(tmp_path: Path, knowledge: Knowledge) -> None:
    """--save FILE keeps the case there; a file that is there is refused with what to do."""
    path = tmp_path / "owl.yaml"
    child = _start(tmp_path, "--save", str(path), "--plain")
    for typed in ("2\r", "\r", "1\r"):
        child.expect(r"\[0\]:")
        child.send(typed)
    child.expect("Is there paint")
    child.send("\x04")
    assert _ended(child)[0] == 0
    assert list(read_case(path, knowledge).answers) == ["build"]
    status, said = _ended(_start(tmp_path, "--save", str(path)))
    assert status == 2
    assert "there is a file already" in said


def test_a_broken_case_is_refused_before_any_question(tmp_path: Path) -> None:
    """--resume with a file that can't be used: one line with file and line, status 2, the file as it was."""
    path = tmp_path / "bad.yaml"
    path.write_text("case: 1\nanswers:\n  mold_temprature: 61F\n", encoding="utf-8")
    status, said = _ended(_start(tmp_path, "--resume", str(path), columns=200))
    assert status == 2
    assert said.startswith(f"{path}:3: mold_temprature: no such question")
    assert path.read_text(encoding="utf-8").endswith("61F\n")


def _seconds(start: Any) -> float:
    began = time.perf_counter()
    child = start()
    if isinstance(child, subprocess.CompletedProcess):
        return time.perf_counter() - began
    child.expect("Not sure")
    spent = time.perf_counter() - began
    child.send("q\r")
    _ended(child)
    return spent


def test_the_first_question_does_not_wait_for_the_heavy_packages(tmp_path: Path) -> None:
    """The first prompt stands in no more than 1.5 times what a bare interpreter takes to import questionary, networkx, yaml and rich."""
    bare = [sys.executable, "-c", "import questionary, networkx, yaml, rich"]
    pairs = [
        (_seconds(lambda: subprocess.run(bare, env=_env(tmp_path), check=True)), _seconds(lambda: _start(tmp_path)))
        for _ in range(6)
    ]
    assert min(first for _, first in pairs) <= 1.5 * min(imports for imports, _ in pairs)
