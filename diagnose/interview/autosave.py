"""The case file that grows with the answers: written whole after each, so that a crash or a closed window loses none.

Each writing goes to a file beside, is forced to the disk, and takes the old one's place in one step: at any moment the file
is either the old case or the new one. By default cases lie in the user's state folder, named by date and time.
"""

from __future__ import annotations

import os
import shlex
import threading
import time
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

from diagnose.casebook import Case, case_text
from diagnose.errors import InputError
from diagnose.files import write_atomic
from diagnose.knowledge import Knowledge
from diagnose.places import cases_folder

#: an unfinished case older than this is not offered any more, in seconds
_RECENT = 2 * 86400
#: newest files looked through for an unfinished case
_LOOKED_THROUGH = 20


def new_path(given: Path | None) -> Path:
    """Return where a new case goes: *given*, or a name by date and time. Raises InputError where *given* is taken."""
    if given is not None:
        if os.path.exists(given):
            raise InputError(
                f"{given}: there is a file already; go on with it by `diagnose --resume {shlex.quote(str(given))}`, or name another"
            )
        return given
    stem = datetime.now().strftime("%Y-%m-%d-%H%M%S")
    folder = cases_folder()
    names = (f"{stem}.yaml", *(f"{stem}-{i}.yaml" for i in range(2, 100)))
    return next(
        (folder / name for name in names if not os.path.exists(folder / name)), folder / f"{stem}-{os.getpid()}.yaml"
    )


def recent_paths() -> Iterator[Path]:
    """Yield the case files of the last two days, newest first."""
    try:
        found = [(entry.stat().st_mtime, entry) for entry in cases_folder().glob("*.yaml")]
    except OSError:
        return
    newest = sorted(found, key=lambda pair: (-pair[0], pair[1].name))[:_LOOKED_THROUGH]
    yield from (path for changed, path in newest if time.time() - changed < _RECENT)


class Draft:
    """The file of one case. *trouble* says why it could not be written, None while all is well.

    The disk is waited for beside the thinking, not before it: `save` begins to write, `settle` waits until it is done, and no question
    is asked in between.
    """

    def __init__(self, path: Path, knowledge: Knowledge) -> None:
        self.path = path
        self.knowledge = knowledge
        self.written = False
        self.trouble: str | None = None
        self._writing: threading.Thread | None = None

    def save(self, case: Case) -> None:
        """Begin to write *case*."""
        self.settle()
        text = case_text(case, self.knowledge)
        self._writing = threading.Thread(target=self._write, args=(text,), name="saving")
        self._writing.start()

    def settle(self) -> None:
        """Wait until what was begun is on the disk; what went wrong is in *trouble*, so that the answers go on."""
        if self._writing is not None:
            self._writing.join()
            self._writing = None

    def _write(self, text: str) -> None:
        try:
            write_atomic(self.path, text, sync=True)
        except OSError as error:
            self.trouble = f"{self.path}: can't be written: {error.strerror or error}"
        else:
            self.trouble = None
            self.written = True

    @property
    def how_to_go_on(self) -> str:
        """The command that takes up this case."""
        return f"diagnose --resume {shlex.quote(str(self.path))}"
