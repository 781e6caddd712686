"""A few kills of each kind, and what a killed process may leave; `python -m tests.harsh.kills` does a thousand."""

from __future__ import annotations

import fcntl
import os
import time
from pathlib import Path

import pytest

from diagnose.files import PART, clear_parts, write_atomic
from diagnose.interview import autosave
from diagnose.interview.autosave import replace_file
from tests.harsh.kills import kill_interviews, kill_logs

pytestmark = pytest.mark.timeout(600)


def test_an_interview_killed_at_random_points_loses_no_answer(tmp_path: Path) -> None:
    """Taken up again each time from the file that it saved as it went."""
    tally = kill_interviews(8, tmp_path)
    assert tally.faults == []
    assert tally.kills == 8
    assert tally.acknowledged > 0


def test_a_log_killed_at_random_points_loses_no_part(tmp_path: Path) -> None:
    """Adding, closing, importing and backing up."""
    tally = kill_logs(8, tmp_path)
    assert tally.faults == []
    assert tally.kills == 8
    assert tally.acknowledged > 0


def test_parts_that_killed_processes_left_do_not_add_up(tmp_path: Path) -> None:
    """Those of the file that is written go at once, those of others after an hour; what is no part stays."""
    mine, other, old = (tmp_path / f".{name}.abcdefgh{PART}" for name in ("case.yaml", "owl.yaml", "old.yaml"))
    swap = tmp_path / ".case.yaml.swp"
    for path in (mine, other, old, swap):
        path.write_bytes(b"half")
    os.utime(old, (time.time() - 7200, time.time() - 7200))
    replace_file(tmp_path / "case.yaml", b"whole\n")
    assert sorted(path.name for path in tmp_path.iterdir()) == [swap.name, other.name, "case.yaml"]
    os.utime(other, (time.time() - 7200, time.time() - 7200))
    write_atomic(tmp_path / "report.html", b"whole\n")
    assert not other.exists()
    clear_parts(tmp_path / "no such folder")


def test_a_folder_that_another_program_holds_is_not_waited_for_without_end(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """After some seconds it is told; the answers hold meanwhile, and the file is as it was."""
    monkeypatch.setattr(autosave, "_WAIT", 0.2)
    path = tmp_path / "case.yaml"
    path.write_bytes(b"old\n")
    held = os.open(tmp_path, os.O_RDONLY)
    try:
        fcntl.flock(held, fcntl.LOCK_EX)
        with pytest.raises(OSError, match="another program has held its folder for over"):
            replace_file(path, b"new\n", b"old\n")
    finally:
        os.close(held)
    assert path.read_bytes() == b"old\n"
    replace_file(path, b"new\n", b"old\n")
