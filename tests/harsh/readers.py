"""The readers of files that come from outside, each as one call that either reads the bytes or refuses them in one line.

`READERS` names them for the fuzzer, the flips and the tests of what was found. A reader raises only where something is wrong with the program:
an error that is no refusal, a refusal of more than one line, data that does not come back as it was read.
"""

from __future__ import annotations

import atexit
import base64
import contextlib
import io
import json
import os
import shutil
import tempfile
import zlib
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

import msgspec
import pytest

from diagnose.assessment.assess import assess
from diagnose.assessment.consultation import Consultation, ModelCache
from diagnose.casebook import Case, case_from_bytes, case_text
from diagnose.commands._desk_log import DeskLog
from diagnose.errors import FileFaults, InputError
from diagnose.knowledge import Knowledge, load_knowledge, reader
from diagnose.knowledge.entry import described, tables_of
from diagnose.knowledge.files import SourceFile, files_in_use
from diagnose.knowledge.reader import compile_files
from diagnose.knowledge.yaml_reader import decode, read_node
from diagnose.logbook.exchange import LineReader, _cells, every, line_of, take
from diagnose.logbook.places import where_of
from diagnose.logbook.store import Store, open_log
from diagnose.reasoning.inference import NoWayToBe
from diagnose.remote import desk
from diagnose.remote.returned import read_returned

ROOT = Path(__file__).parents[2]
DAY = "2026-03-02"
#: where files lie that need not outlive the machine
MEMORY = "/dev/shm" if os.access("/dev/shm", os.W_OK) else None


class Reader(NamedTuple):
    """*read* takes the bytes; *seeds* are files that it reads, to begin from."""

    read: Callable[[bytes], bool]
    seeds: Callable[[], Iterator[bytes]]


@cache
def shipped() -> Knowledge:
    """The knowledge in the checkout."""
    return load_knowledge(str(ROOT / "knowledge"))


@cache
def models() -> ModelCache:
    """Its models, made once each."""
    return ModelCache(shipped())


def one_line(error: Exception) -> bool:
    """Return False, where *error* is told in lines that can be printed."""
    lines = error.lines() if isinstance(error, FileFaults) else [str(error)]
    for line in lines:
        assert line, "an empty refusal"
        assert line.isprintable(), f"a refusal that steers the terminal: {line!r}"
        assert len(line) < 2000, f"a refusal of {len(line)} characters"
    return False


def _one_in(data: bytes, share: int) -> bool:
    """Whether *data* is among those that are followed to the end: the same ones each time."""
    return zlib.crc32(data) % share == 0


# -- a case file ---------------------------------------------------------------------------------------------------


def read_case_bytes(data: bytes) -> bool:
    """Read a case file; what was read is the same when written and read again, and can be thought through."""
    name = "case.json" if data[:1] in (b"{", b"[") else "case.yaml"
    try:
        case = case_from_bytes(data, name, shipped())
    except InputError as error:
        return one_line(error)
    text = case_text(case, shipped())
    again = case_from_bytes(text.encode(), "case.yaml", shipped())
    assert case_text(again, shipped()) == text, "written and read again it is another case"
    assert again.values == case.values, "an answer changed by writing and reading again"
    assert again.about == case.about, "what it is about changed by writing and reading again"
    if _one_in(data, 16):
        thought_through(case)
    return True


def thought_through(case: Case, made: ModelCache | None = None) -> None:
    """Assess *case*, unless its answers contradict one another by the model."""
    with contextlib.suppress(NoWayToBe):
        json.dumps(assess(Consultation(made or models(), case)).to_plain(), allow_nan=False)


def _case_seeds() -> Iterator[bytes]:
    import yaml

    for path in sorted([*(ROOT / "tests" / "cases").glob("*.yaml"), *(ROOT / "docs" / "examples").glob("*.yaml")]):
        data = path.read_bytes()
        yield data
        yield json.dumps(yaml.load(data, Loader=yaml.BaseLoader), ensure_ascii=True).encode()


# -- any YAML ------------------------------------------------------------------------------------------------------


def read_yaml_bytes(data: bytes) -> bool:
    """Read a document of YAML or JSON into nodes."""
    read = False
    for name in ("a.yaml", "a.json"):
        text, fault = decode(data, name, 1 << 20)
        if text is None:
            assert fault is not None
            return one_line(FileFaults([fault]))
        node, faults = read_node(text, name, 20_000)
        if faults:
            one_line(FileFaults(faults))
        assert node is not None or faults, "nothing read and nothing told"
        read = node is not None
    return read


# -- the knowledge -------------------------------------------------------------------------------------------------

_SMALL = ROOT / "tests" / "knowledge" / "small" / "trade.yaml"
_WORDS = ROOT / "knowledge" / "words.yaml"
_SHOP = b"""materials:
  our_foam: {title: Ours, help: One ratio., kind: foam, ratios: {52: 0.15 g/mL}, sheet_temperature: 23 degC, sources: [common practice]}
words:
  costs:
    values: {another bad part: 220}
"""


def read_knowledge_bytes(data: bytes) -> bool:
    """Read a small folder of which one file is *data* behind a line that says which: trade, words or shop."""
    name, _, body = data.partition(b"\n")
    small, words, shop = _SMALL.read_bytes(), _WORDS.read_bytes(), b""
    if name == b"words":
        words = body
    elif name == b"shop":
        shop = body
    else:
        small = body
    files = [SourceFile("trade.yaml", small, "k"), SourceFile("words.yaml", words, "k")]
    return _compiled([*files, *([SourceFile("shop.yaml", shop, shop=True)] if shop else [])])


def read_folder_bytes(data: bytes) -> bool:
    """Read the shipped folder with one file in the place of its own: *data* behind a line with its name."""
    name, _, body = data.partition(b"\n")
    files = [each for each in _folder() if each.name.encode() != name]
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(reader, "read_node", lambda text, label: _nodes().get((text, label)) or read_node(text, label))
        return _compiled([*files, SourceFile(name.decode("ascii", "replace")[:80], body, "knowledge")])


@cache
def _nodes() -> dict[tuple[str, str], Any]:
    """What stands in the files as shipped, so that each time only the one that was changed is parsed."""
    texts = [(file.data.decode("utf-8-sig"), file.label) for file in _folder()]
    return {each: read_node(*each) for each in texts}


@cache
def _folder() -> list[SourceFile]:
    return files_in_use(str(ROOT / "knowledge"))


def _compiled(files: list[SourceFile]) -> bool:
    try:
        made, callers = compile_files(files)
    except FileFaults as faults:
        return one_line(faults)
    assert msgspec.json.decode(msgspec.json.encode(callers), type=type(callers)) == callers, (
        "callers' words come back otherwise from the cache"
    )
    assert msgspec.json.decode(msgspec.json.encode(made), type=type(made)) == made, (
        "it comes back otherwise from the cache"
    )
    put_to_use(made)
    return True


def put_to_use(made: Knowledge) -> None:
    """What was taken serves: every entry can be shown, and a part with the first fault of all can be thought through."""
    for kind, table in tables_of(made).items():
        for entry in table.values():
            described(made, kind, entry)
    plain = {"case": 1, "answers": {"build": "bare_foam", "symptoms": list(made.symptoms)[:1]}}
    with contextlib.suppress(InputError):
        case = case_from_bytes(json.dumps(plain).encode(), "case.json", made)
        thought_through(case, ModelCache(made))


def _knowledge_seeds() -> Iterator[bytes]:
    yield b"trade\n" + _SMALL.read_bytes()
    yield b"words\n" + _WORDS.read_bytes()
    yield b"shop\n" + _SHOP


def _folder_seeds() -> Iterator[bytes]:
    for file in _folder():
        yield file.name.encode() + b"\n" + file.data


# -- what a client's page hands back -------------------------------------------------------------------------------


def read_returned_bytes(data: bytes) -> bool:
    """Read a returned page; what was read is cleaned, and some of it is taken into a log to the end."""
    try:
        found = read_returned(data, "back.json", shipped())
    except InputError as error:
        return one_line(error)
    about = found.case.about.told()
    for text in (
        *found.faults,
        found.client,
        found.id,
        found.token,
        found.knowledge,
        found.case.title,
        *map(str, about.values()),
    ):
        assert text.isprintable(), f"text that steers the terminal: {text!r}"
    if _one_in(data, 64):
        with tempfile.TemporaryDirectory(dir=MEMORY) as folder:
            log = DeskLog(str(Path(folder) / "log.db"), shipped(), write=True)
            with contextlib.suppress(InputError, NoWayToBe):
                desk.take(found, log, models(), DAY)
            log.store.close()
    return True


def copied(data: bytes) -> bytes:
    """The file as the text that a page offers to copy, with its check."""
    lines = base64.encodebytes(data).decode()
    return f"BEGIN PART REPORT 1\n{lines}CHECK {len(data)} {zlib.crc32(data):08x}\nEND PART REPORT\n".encode()


def _returned_seeds() -> Iterator[bytes]:
    from PIL import Image

    made = io.BytesIO()
    Image.new("RGB", (24, 16)).save(made, "JPEG")
    photo = {"name": "x.jpg", "of": "left ear", "jpeg": base64.b64encode(made.getvalue()).decode()}
    for number, data in enumerate(_case_seeds()):
        if number % 2 == 0:
            continue
        case = {**json.loads(data), "about": {"part": "Owl mask", "mold": "owl 2", "date": DAY, "remarks": "it sank"}}
        case = {key: told for key, told in case.items() if not key.startswith("x_")}
        plain: dict[str, Any] = {
            "part_report": 1,
            "id": "",
            "client": "harbor",
            "round": 1,
            "token": "00aa11bb22cc33dd",
        }
        plain |= {"knowledge": "", "warned": ["isocyanate"], "case": case, "photos": [photo] if number % 4 == 1 else []}
        whole = json.dumps(plain).encode()
        yield whole
        if number % 8 == 1:
            yield copied(whole)


# -- lines of an export --------------------------------------------------------------------------------------------


class _Undone(Exception):
    """Ends a transaction without keeping it."""


@cache
def _store() -> Store:
    """A log of its own for this process, in which nothing is ever kept."""
    folder = tempfile.mkdtemp(prefix="fuzz-log-", dir=MEMORY)
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    return open_log(where_of(str(Path(folder) / "log.db")), write=True)


def read_lines_bytes(data: bytes) -> bool:
    """Import lines into a log; what went in comes out as lines that go in again, and as a row of a table."""
    reader = LineReader("export.jsonl", models())
    some = False
    with contextlib.suppress(_Undone), _store().writing() as connection:
        some = bool(take(connection, reader.read(io.BytesIO(data))).added)
        for kept in every(connection):
            line = json.dumps(line_of(kept), ensure_ascii=True, allow_nan=False)
            again = LineReader("again.jsonl", models())
            assert len(list(again.read([line.encode()]))) == 1, f"its own export is refused: {again.faults}"
            assert all("\0" not in cell for cell in _cells(kept, sorted(shipped().symptoms))), (
                "a cell that ends a table"
            )
        raise _Undone
    if reader.faults:
        one_line(FileFaults(reader.faults))
    return some


def _line_seeds() -> Iterator[bytes]:
    outcome = {
        "causes": ["mold_cold"],
        "how": "fixed",
        "next": "good",
        "remedies": ["warm_the_mold"],
        "cost": 40,
        "date": DAY,
    }
    said = {"knowledge": "k", "causes": [{"id": "mold_cold", "probability": 0.5}]}
    lines = []
    for number, data in enumerate(_case_seeds()):
        if number % 2:
            case = {**json.loads(data), "about": {"part": "owl", "mold": "owl 2", "date": DAY, "photos": ["a.jpg"]}}
            line: dict[str, Any] = {"log": 1, "id": f"x{number}", "case": case}
            line |= [{}, {"outcome": outcome}, {"outcome": outcome, "earlier": [outcome]}, {"said": said}][
                number // 2 % 4
            ]
            lines.append(json.dumps(line).encode())
    yield from lines
    yield b"\n".join(lines[:3])
    yield json.dumps({"log": 1, "case": {"case": 1, "answers": {"build": "bare_foam"}}, "good": True}).encode()


READERS = {
    "case": Reader(read_case_bytes, _case_seeds),
    "yaml": Reader(read_yaml_bytes, _case_seeds),
    "knowledge": Reader(read_knowledge_bytes, _knowledge_seeds),
    "folder": Reader(read_folder_bytes, _folder_seeds),
    "returned": Reader(read_returned_bytes, _returned_seeds),
    "log": Reader(read_lines_bytes, _line_seeds),
}
