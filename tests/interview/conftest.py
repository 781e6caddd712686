"""What the tests of the questionnaire share: the full knowledge, a session that a script plays, a folder of its own for cases."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from pathlib import Path

import pytest

from diagnose.interview.autosave import Draft
from diagnose.interview.flow import Session
from diagnose.interview.frontends.scripted import ScriptedAsker
from diagnose.interview.progress import FROZEN, SYMPTOMS_TOLD, TITLED, WELL, Notebook
from diagnose.knowledge import Knowledge, load_knowledge
from diagnose.reasoning.answers import Answer

Play = Callable[..., Session]


@pytest.fixture(scope="session")
def knowledge() -> Knowledge:
    """The knowledge that is shipped."""
    return load_knowledge()


@pytest.fixture
def play(knowledge: Knowledge, tmp_path: Path) -> Play:
    """Return a function that makes a session past its opening: (*lines*, *answers*, symptoms seen, build, painted)."""

    def made(
        lines: Iterable[str] = (),
        answers: Mapping[str, str | tuple[str, ...]] | None = None,
        seen: Iterable[str] = ("thin_skin", "pinholes"),
        build: str = "bare_foam",
        painted: str = "no",
        strict: bool = False,
        phone: bool = False,
    ) -> Session:
        notebook = Notebook(knowledge).after(WELL, FROZEN, TITLED, SYMPTOMS_TOLD)
        notebook = notebook.answered("build", Answer(build), build).answered("painted", Answer(painted), painted)
        for symptom in seen:
            notebook = notebook.answered(symptom, Answer("seen"), "seen")
        asker = ScriptedAsker(lines, answers, strict)
        return Session(asker, notebook, Draft(tmp_path / "case.yaml", knowledge), phone)

    return made


@pytest.fixture(autouse=True)
def own_folders(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Keep the cases of a test out of the user's own folder."""
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    monkeypatch.delenv("COLUMNS", raising=False)
    monkeypatch.delenv("NO_COLOR", raising=False)
