"""The case file that grows with the answers: written whole after each, so that a crash or a closed window loses none.

Each writing goes to a file beside, is forced to the disk, and takes the old one's place in one step: at any moment the
file is either the old case or the new one. A file that somebody else wrote meanwhile is left alone. By default cases
lie in the user's state folder, named by date and time.
"""

from __future__ import annotations

import errno
import os
import shlex
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from datetime import datetime
from pathlib import Path

from diagnose.casebook import Case, case_from_bytes, case_text
from diagnose.casebook.case_reading import LIMITS
from diagnose.errors import Fault, FileFaults, InputError
from diagnose.files import PART, clear_parts, write_atomic
from diagnose.knowledge import Knowledge

#: an unfinished case older than this is not offered any more, in seconds
_RECENT = 2 * 86400
#: seconds to wait for another terminal that is writing in the same folder, and between two looks
_WAIT, _LOOK = 5.0, 0.02
#: names tried for a file of one's own
_TRIES = 100
#: newest files looked through for an unfinished case
_LOOKED_THROUGH = 20


def cases_folder() -> Path:
    """Return the folder in which cases are kept."""
    from platformdirs import user_state_path

    return user_state_path("diagnose", appauthor=False) / "cases"


def new_path(given: Path | None) -> Path:
    """Return where a new case goes: *given*, or a name by date and time. Raises InputError where *given* is taken."""
    if given is not None:
        if os.path.exists(given):
            raise InputError(
                f"{given}: there is a file already; go on with it by `diagnose --resume {shlex.quote(str(given))}`, "
                f"or name another"
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


class Changed(InputError):
    """The file of a case isn't as it was when it was read: another program or terminal wrote it meanwhile."""


class Draft:
    """The file of one case. *trouble* says why it could not be written, None while all is well.

    It remembers what the file held when it was last read or written, and never writes over anything else.
    """

    def __init__(self, path: Path, knowledge: Knowledge, held: bytes | None = None) -> None:
        self.path = path
        self.knowledge = knowledge
        self.held = held
        self.trouble: str | None = None

    @classmethod
    def of(cls, path: Path, knowledge: Knowledge) -> tuple[Draft, Case]:
        """Return the draft of a file that is there, and the case in it. Raises FileFaults where it can't be used."""
        held = read_bytes(path)
        return cls(path, knowledge, held), case_from_bytes(held, str(path), knowledge)

    @property
    def written(self) -> bool:
        """Whether anything is on the disk."""
        return self.held is not None

    def save(self, case: Case) -> None:
        """Write *case*. Raises Changed where somebody else wrote the file meanwhile.

        What else went wrong is in *trouble*.
        """
        data = case_text(case, self.knowledge).encode("utf-8")
        try:
            replace_file(self.path, data, self.held)
        except OSError as error:
            self.trouble = f"{self.path}: can't be written: {error.strerror or error}"
            with suppress(OSError):  # it may stand there all the same: then it is ours and no other program's
                self.held = data if self.path.read_bytes() == data else self.held
        else:
            self.trouble = None
            self.held = data

    def save_aside(self, case: Case) -> None:
        """Go on with *case* in a file of its own beside the one that somebody else wrote; trouble as in `save`."""
        stem, folder = self.path.stem, self.path.parent
        for number in ("", *(f"-{i}" for i in range(2, _TRIES)), f"-{os.getpid()}"):
            self.path, self.held = folder / f"{stem}-mine{number}.yaml", None
            with suppress(Changed):  # the name is taken, perhaps just now by a third terminal
                return self.save(case)
        self.trouble = f"{self.path}: can't be written: there is a file already"
        return None

    def keep_copy(self) -> Path | None:
        """Keep the file as somebody else wrote it beside, once.

        Return where, None where a copy is there already or none is needed. Raises OSError, then there is no copy.
        """
        kept = self.path.with_name(self.path.name + ".before")
        if self.held is None or kept.exists():
            return None
        write_atomic(kept, self.held, sync=True)
        return kept

    @property
    def how_to_go_on(self) -> str:
        """The command that takes up this case."""
        return f"diagnose --resume {shlex.quote(str(self.path))}"


def read_bytes(path: Path) -> bytes:
    """Return what a case file holds. Raises FileFaults."""
    try:
        with path.open("rb") as file:
            return file.read(LIMITS.size + 1)
    except OSError as error:
        raise FileFaults([Fault(str(path), 0, f"can't be read: {error.strerror or error}")]) from None


def replace_file(path: Path, data: bytes, held: bytes | None = None) -> None:
    """Put *data* in the place of *path* in one step. Raises OSError, then the old file is as it was.

    Raises Changed where the file does not hold *held* (None: there is no file yet). The folder is locked from the look
    to the writing.
    """
    path = Path(os.path.realpath(path))  # a link stays a link
    path.parent.mkdir(parents=True, exist_ok=True)
    with _locked(path.parent) as alone:
        now = path.read_bytes() if path.exists() else None
        if now != held:
            raise Changed(f"{path}: was written by another program or terminal since it was read here; read it again")
        _replace(path, data, alone)


def _replace(path: Path, data: bytes, alone: bool) -> None:
    """Put *data* down; where no other program can be writing (*alone*),
    whatever part of a file lies there is a killed one's.
    """
    clear_parts(path.parent, path.name if alone else "")
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=PART)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        if path.exists():
            os.chmod(name, path.stat().st_mode & 0o777)
        os.replace(name, path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise


@contextmanager
def _locked(folder: Path) -> Iterator[bool]:
    """Keep other terminals out of *folder* for a moment, and force what was renamed there to the disk.

    Yields whether they are kept out: not every system lets a folder be opened, and not every net knows locks. Raises
    OSError where another program holds it for too long.
    """
    if os.name != "posix":
        yield False
        return
    import fcntl

    handle = os.open(folder, os.O_RDONLY)
    try:
        yield _alone(lambda: fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB))
        os.fsync(handle)
    finally:
        os.close(handle)


def _alone(lock: Callable[[], None]) -> bool:
    until = time.monotonic() + _WAIT
    while True:
        try:
            lock()
        except BlockingIOError:
            if time.monotonic() > until:
                raise OSError(errno.EBUSY, f"another program has held its folder for over {_WAIT:g} s") from None
            time.sleep(_LOOK)
        except OSError:
            return False
        else:
            return True
