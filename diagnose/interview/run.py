"""The door of the questionnaire: is there somebody to ask, which case, which body, and how it is left.

Whatever ends it (a question settled, q, Ctrl-D, Ctrl-C, a closed window, a kill), the last line says what was kept and
how to go on. Heavy packages wait until they are needed: the first question stands before numpy is loaded.
"""

from __future__ import annotations

import signal
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from types import FrameType
from typing import TYPE_CHECKING

from msgspec import Struct

from diagnose.interview.terminal import is_dumb, need_terminal

if TYPE_CHECKING:
    from diagnose.assessment.consultation import Consultation
    from diagnose.interview.autosave import Draft
    from diagnose.interview.dialogue import Frontend
    from diagnose.interview.flow import Session
    from diagnose.interview.progress import Notebook
    from diagnose.knowledge import Knowledge


class LogUse(Struct, frozen=True):
    """The log at *where* (None: the usual one): whether a finished case is kept in it,
    and whether only the *book* counts.
    """

    where: str | None = None
    keep: bool = True
    book: bool = False


def run_interview(
    knowledge_dir: str | None,
    resume: Path | None,
    plain: bool = False,
    save: Path | None = None,
    phone: bool = False,
    log: LogUse | None = None,
) -> Consultation | None:
    """Ask a caller at the terminal; return the case thought through, or None where there is nothing to report.

    *resume*: go on with this case file. *save*: keep a new case in this file. *plain*: numbered lines. *phone*: for a
    caller on the line, from his own words on. *log*: a finished case is kept in that log, and what it has taught is
    laid over the book. Raises InputError without a terminal and for a case or knowledge that can't be used,
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
        session.log, session.book = (log.where, log.book) if log is not None else (None, True)
        return _run(session, log)


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


def _run(session: Session, log: LogUse | None) -> Consultation | None:
    try:
        found = session.run()
    except (KeyboardInterrupt, SystemExit):
        _farewell(session)
        raise
    if found is not None and found.symptoms_seen and log is not None and log.keep:
        _keep(session, found, log)
    _farewell(session)
    return found


def _keep(session: Session, found: Consultation, log: LogUse) -> None:
    """Put the finished case into the log, and its id into the case file;
    trouble with the log is told and costs nothing else.
    """
    from diagnose.assessment.assess import assess
    from diagnose.errors import DiagnoseError
    from diagnose.logbook import remember

    try:
        name = remember(found.case, found.knowledge, assess(found).to_plain(), log.where)
    except (DiagnoseError, OSError) as error:
        session.asker.tell(f"Not kept in the log: {error}.")
        return
    session.notebook = session.notebook.named(id=name)
    session.save()
    session.asker.tell(f"In the log as {name}. When you know what it was: diagnose log close {name}", whole=True)


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
