"""Two terminals on one case file, with real processes: neither writes over the other, and no answer that was acknowledged is lost."""

from __future__ import annotations

import os
import random
import re
import signal
from pathlib import Path

import pytest

from diagnose.casebook import read_case
from diagnose.interview.progress import Notebook
from diagnose.knowledge import load_knowledge
from tests.harsh.kills import Caller, run_as_child, settings, warm

pytestmark = pytest.mark.timeout(600)
BEGUN = "case: 1\nanswers: {build: bare_foam, painted: no, symptoms: [thin_skin, pinholes]}\n"


def _left(caller: Caller) -> str:
    """Leave by q and return all that it said from then on."""
    os.write(caller.terminal, b"q\n")
    caller.look(60.0)
    assert os.waitpid(caller.pid, 0)[1] == 0, caller.seen
    os.close(caller.terminal)
    return " ".join(caller.seen.split())


def test_the_second_to_write_goes_on_in_a_file_of_its_own(tmp_path: Path) -> None:
    """It is told so in one line; both files hold all the answers that were given there."""
    path = tmp_path / "case.yaml"
    path.write_text(BEGUN)
    knowledge = load_knowledge()
    with settings(tmp_path):
        warm(tmp_path)
        callers = [Caller(["--plain", "--resume", str(path)], path, cold=False) for _ in range(2)]
        assert callers[1].until_asked()  # both have read the file before either writes it
        for turn in range(12):
            assert callers[turn % 2].answer(1, random.Random(turn), ("1", "2"))
        for caller in callers:
            caller.until_asked()
        told = [_left(caller) for caller in callers]
    heard = [" ".join(caller.heard.split()) for caller in callers]
    assert sum("was written by another program or terminal since it was read here" in each for each in heard) == 1
    kept = [re.search(r"Kept: (\d+) answers?\. Go on with: diagnose --resume (\S+)", each) for each in told]
    assert {Path(found[2]).name for found in kept if found} == {"case.yaml", "case-mine.yaml"}
    for found in kept:
        assert found is not None
        case = read_case(found[2], knowledge)
        assert Notebook.from_case(case, knowledge, found[2]).count == int(found[1])
    assert not list(tmp_path.glob(".case*"))


def test_answers_given_at_once_are_kept_or_refused(tmp_path: Path) -> None:
    """Eight processes, an answer each: what was acknowledged is in the file, and who came late is told in one line to read it again."""
    path = tmp_path / "case.yaml"
    path.write_text(BEGUN)
    answers = ("mold_temperature=16 C", "material_temperature=18 C", "room_temperature=19 C", "cream_time=45 s")
    answers += ("a_mass=35 g", "b_mass=70 g", "cup_leftover=good", "part_mass=94 g")
    with settings(tmp_path):
        warm(tmp_path)
        gate, opened = os.pipe()
        children = []
        for number, answer in enumerate(answers):
            pid = os.fork()
            if pid == 0:
                os.close(opened)
                os.read(gate, 1)  # all begin when the gate is shut
                said = os.open(tmp_path / f"said-{number}", os.O_WRONLY | os.O_CREAT)
                os.dup2(said, 1)
                os.dup2(said, 2)
                run_as_child(["answer", str(path), answer])
            children.append(pid)
        os.close(opened)
        os.close(gate)
        statuses = [os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1]) for pid in children]
    case = read_case(path, load_knowledge())
    assert 0 in statuses
    for number, (answer, status) in enumerate(zip(answers, statuses, strict=True)):
        said = (tmp_path / f"said-{number}").read_text()
        assert "Traceback" not in said
        if status == 0:
            assert case.answers[answer.partition("=")[0]].written == answer.partition("=")[2]
        else:
            assert status == 2, said
            assert "was written by another program or terminal since it was read here; read it again" in said
            assert len(said.strip().splitlines()) == 1
    assert not list(tmp_path.glob(".case*"))


def test_a_stopped_terminal_keeps_nobody_waiting(tmp_path: Path) -> None:
    """One is stopped at its question (Ctrl-Z); the other goes on, and the first keeps its answers beside when it wakes."""
    path = tmp_path / "case.yaml"
    path.write_text(BEGUN)
    with settings(tmp_path):
        warm(tmp_path)
        one, other = (Caller(["--plain", "--resume", str(path)], path, cold=False) for _ in range(2))
        assert other.until_asked()  # both have read the file before either writes it
        assert one.answer(5, random.Random(1), ("1", "2"))
        one.until_asked()
        os.kill(one.pid, signal.SIGSTOP)
        assert other.answer(6, random.Random(2), ("1", "2"))
        other.until_asked()
        os.kill(one.pid, signal.SIGCONT)
        told = [_left(caller) for caller in (one, other)]
    assert all("Kept: " in each for each in told)
    assert len({re.sub(r".*--resume (\S+).*", r"\1", each) for each in told}) == 2
