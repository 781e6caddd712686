"""The door of the questionnaire: is there somebody to ask, which case, which body, and how it is left.

Whatever ends it (a question settled, q, Ctrl-D, Ctrl-C, a closed window, a kill), the last line says what was kept and how to
go on. Heavy packages wait until they are needed: the first question stands before numpy is loaded.
"""

from __future__ import annotations

import signal
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from types import FrameType
from typing import TYPE_CHECKING

from diagnose.interview.terminal import is_dumb, need_terminal

if TYPE_CHECKING:
    from diagnose.assessment.consultation import Consultation
    from diagnose.interview.autosave import Draft
    from diagnose.interview.dialogue import Frontend
    from diagnose.interview.flow import Session
    from diagnose.interview.progress import Notebook
    from diagnose.knowledge import Knowledge


def run_interview(
    knowledge_dir: str | None,
    resume: Path | None,
    plain: bool = False,
    save: Path | None = None,
    phone: bool = False,
) -> Consultation | None:
    """Ask a caller at the terminal; return the case thought through, or None where there is nothing to report.

    *resume*: go on with this case file. *save*: keep a new case in this file. *plain*: numbered lines. *phone*: for a caller on the
    line, from his own words on. Raises InputError without a terminal and for a case or knowledge that can't be used,
    KeyboardInterrupt on Ctrl-C, SystemExit on a kill or a closed window.
    """
    need_terminal()
    from diagnose.interview.dialogue import Leave
    from diagnose.knowledge import load_knowledge

    knowledge = load_knowledge(knowledge_dir)
    asker = make_asker(plain)
    with _stopped_by_signals(asker):
        try:
            session = _session(asker, knowledge, resume, save, phone)
        except (Leave, EOFError):
            return None
        return _run(session)


def make_asker(plain: bool = False) -> Frontend:
    """Return the body that this terminal can carry."""
    from diagnose.interview.frontends.plain import PlainAsker

    if plain or is_dumb():
        return PlainAsker()
    from diagnose.interview.frontends.screen import NoConsole, ScreenAsker

    try:
        return ScreenAsker()
    except NoConsole:
        return PlainAsker()


def _session(
    asker: Frontend, knowledge: Knowledge, resume: Path | None, save: Path | None, phone: bool = False
) -> Session:
    from diagnose.interview.autosave import Draft, new_path
    from diagnose.interview.flow import Session
    from diagnose.interview.progress import Notebook
    from diagnose.interview.safety import unfinished

    if resume is not None:
        draft, case = Draft.of(resume, knowledge)
        return _resumed(asker, draft, Notebook.from_case(case, knowledge, str(resume)), phone)
    path = new_path(save)
    found = unfinished(asker, knowledge) if save is None else None
    if found is not None:
        return _resumed(asker, *found, phone)
    return Session(asker, Notebook(knowledge), Draft(path, knowledge), phone)


def _resumed(asker: Frontend, draft: Draft, notebook: Notebook, phone: bool) -> Session:
    from diagnose.interview.explain import summary
    from diagnose.interview.flow import Session
    from diagnose.interview.progress import FINISHED

    if not notebook.passed_here:
        draft.keep_copy()
        asker.tell(f"Answers are added to {draft.path}; as it was, it is kept in {draft.path}.before.", quiet=True)
    told = summary(draft.knowledge, notebook.told.title, notebook.seen, notebook.count)
    asker.tell(f"Going on with: {told}.", quiet=True)
    return Session(asker, notebook.before(FINISHED), draft, phone)


def _run(session: Session) -> Consultation | None:
    try:
        found = session.run()
    except (KeyboardInterrupt, SystemExit):
        _farewell(session)
        raise
    _farewell(session)
    return found


def _farewell(session: Session) -> None:
    """Say in one line what was kept and how to go on; a window that is gone hears nothing."""
    try:
        session.asker.tell(kept_line(session), whole=True)
    except OSError:
        return


def kept_line(session: Session) -> str:
    """Return what was kept and how to go on."""
    from diagnose.prose.question import counted

    draft = session.draft
    if draft.trouble is not None:
        return f"Not saved: {draft.trouble}."
    if not draft.written:
        return "Nothing was answered, nothing is saved."
    return f"Kept: {counted(session.notebook.count, 'answer')}. Go on with: {draft.how_to_go_on}"


@contextmanager
def _stopped_by_signals(asker: Frontend) -> Iterator[None]:
    """A kill and a closed window unwind like Ctrl-C, so that the terminal is put back."""

    def stop(number: int, frame: FrameType | None) -> None:
        leaving = SystemExit(128 + number)
        if not asker.stop(leaving):
            raise leaving

    names = [name for name in ("SIGTERM", "SIGHUP") if hasattr(signal, name)]
    before = {name: signal.signal(getattr(signal, name), stop) for name in names}
    try:
        yield
    finally:
        for name, handler in before.items():
            signal.signal(getattr(signal, name), handler)
