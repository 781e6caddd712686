"""What comes back from a client's page, read as hostile input: its size, nesting and counts first, then each field by
its type.

The file may have been made by a page of an older version, by a broken mail program or by somebody who means harm. It
is only ever data: nothing in it is run, followed or used as a path. What can't be used is dropped and told as a
fault; only where nothing is left to use is the whole refused.
"""

from __future__ import annotations

import base64
import binascii
import json
import re
import zlib
from collections.abc import Mapping
from datetime import date
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from diagnose.casebook import Case
from diagnose.errors import InputError, shown
from diagnose.knowledge import Knowledge
from diagnose.prose.text import clean, counted
from diagnose.remote.cases import usable_case
from diagnose.remote.photos import MOST_PHOTO, PhotoError, Picture, picture_of

VERSION = 1
#: bytes of a file, nesting, values outside of texts, answers, photos, rounds: far more than a page makes
MOST_BYTES, MOST_DEPTH, MOST_VALUES, MOST_ANSWERS, MOST_PHOTOS, MOST_ROUNDS = 24 << 20, 8, 5_000, 400, 6, 20
#: characters of an answer or a name, and of the remarks
MOST_TEXT, MOST_REMARKS, MOST_ALIAS = 200, 2_000, 60
#: faults that are told one by one
MOST_FAULTS = 40
_ABOUT = ("date", "part", "mold", "lot_a", "lot_b", "person", "remarks")
_ID = re.compile(r"[A-Za-z0-9-]{1,32}")
_TOKEN = re.compile(r"[0-9a-f]{8,64}")
_KNOWN = {"part_report", "id", "client", "round", "token", "knowledge", "warned", "case", "photos"}
#: texts and brackets of JSON, to measure nesting without building anything
_MARKS = re.compile(rb'"[^"\\]*+(?:\\.[^"\\]*+)*+(?:"|\\?\Z)|[\[\]{},]', re.DOTALL)
_BEGIN, _END = "BEGIN PART REPORT", "END PART REPORT"
_CHECK = re.compile(r"CHECK ([0-9]{1,9}) ([0-9a-fA-F]{8})")


class Returned(Struct, frozen=True):
    """What a page handed back, cleaned. *id* is empty in a first round; *token* tells two copies of one file;
    *faults* are the lines of what was dropped, *warned* the dangers that the page showed.
    """

    client: str
    id: str
    round: int
    token: str
    knowledge: str
    case: Case
    photos: tuple[Picture, ...]
    warned: tuple[str, ...]
    faults: tuple[str, ...]


def read_returned(data: bytes, file: str, knowledge: Knowledge, client: str = "") -> Returned:
    """Read the bytes of a saved file or of a mail with the copied text; *file* names it in messages.

    *client* is the alias where the file does not tell it. Raises InputError where nothing in it can be used.
    """
    if len(data) > MOST_BYTES:
        raise InputError(f"{file}: over {MOST_BYTES >> 20} MiB, expected what the page saved")
    faults: list[str] = []
    plain = _plain(_json_of(data, file, faults), file, faults)
    return _Reader(file, knowledge, faults).read(plain, client)


# -- from bytes to plain data ----------------------------------------------------------------------------------------


def _json_of(data: bytes, file: str, faults: list[str]) -> bytes:
    """The JSON in *data*: the whole file, or what stands in the copied text of a mail."""
    bare = data.removeprefix(b"\xef\xbb\xbf").lstrip()
    if bare.startswith(b"{"):
        return bare
    text = data.decode("utf-16" if data[:2] in (b"\xff\xfe", b"\xfe\xff") else "utf-8", errors="replace")
    if _BEGIN not in text:
        raise InputError(
            f"{file}: is no part report, expected the file that the page saved, or the text that it offered to copy"
        )
    return _copied(text.split(_BEGIN, 1)[1], file, faults)


def _copied(text: str, file: str, faults: list[str]) -> bytes:
    """Undo what mails do to lines: quote marks, blanks, other widths."""
    if _END not in text:
        raise InputError(
            f"{file}: the copied text is cut short, its last line 'END PART REPORT' is missing; ask for all of it"
        )
    lines = [line.lstrip("> \t|").strip() for line in text.split(_END, 1)[0].splitlines()[1:]]
    check = next((found for line in lines if (found := _CHECK.fullmatch(line))), None)
    body = re.sub(r"[^A-Za-z0-9+/=]", "", "".join(line for line in lines if not line.startswith("CHECK")))
    try:
        data = base64.b64decode(body, validate=True)
    except (binascii.Error, ValueError):
        raise InputError(f"{file}: the copied text is damaged; ask for it again, or for the file") from None
    if check is None or len(data) != int(check[1]) or zlib.crc32(data) != int(check[2], 16):
        faults.append(
            "copied text: does not fit its check, so a part of it is missing or changed; compare it with the client"
        )
    return data


def _plain(data: bytes, file: str, faults: list[str]) -> dict[str, Any]:
    """Parse JSON that is neither deep nor full of values; a key given twice is told."""
    depth = deepest = values = 0
    for marks, mark in enumerate(_MARKS.finditer(data)):
        sign = data[mark.start()]
        if sign in b"[{":
            depth += 1
            deepest = max(deepest, depth)
        elif sign in b"]}":
            depth -= 1
        elif sign == 0x2C:
            values += 1
        if deepest > MOST_DEPTH or values > MOST_VALUES or marks > 8 * MOST_VALUES:
            raise InputError(f"{file}: nested or filled beyond all that a page makes, so it was not read")

    def unique(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        names = [name for name, _ in pairs]
        if len(set(names)) < len(names):
            faults.append(f"'{_line(next(n for n in names if names.count(n) > 1))}': stands twice, the last was taken")
        return dict(pairs)

    try:
        found = json.loads(
            data.decode("utf-8"), object_pairs_hook=unique, parse_int=str, parse_float=str, parse_constant=str
        )
    except UnicodeDecodeError:
        raise InputError(f"{file}: is not UTF-8 text, expected the file that the page saved") from None
    except (ValueError, RecursionError):
        raise InputError(
            f"{file}: is cut short or damaged, expected the file that the page saved; ask for it again"
        ) from None
    if not isinstance(found, dict):
        raise InputError(f"{file}: is no part report, expected the file that the page saved")
    return found


def _line(value: object, most: int = 60) -> str:
    """Hostile text as a message quotes it."""
    return shown(clean(str(value)[: 20 * most]), most)


# -- from plain data to a case ---------------------------------------------------------------------------------------


class _Reader:
    def __init__(self, file: str, knowledge: Knowledge, faults: list[str]) -> None:
        self.file = file
        self.knowledge = knowledge
        self.faults = faults

    def read(self, plain: Mapping[str, Any], client: str) -> Returned:
        if plain.get("part_report") != str(VERSION):
            raise InputError(
                f"{self.file}: part_report is not {VERSION}, expected a file of a page that this program wrote"
            )
        for name in plain:
            if name not in _KNOWN:
                self.fault(name, "unknown, dropped")
        alias = client or self.text(plain, "client", MOST_ALIAS)
        if not alias:
            raise InputError(f"{self.file}: names no client, expected one; say whose it is with --client")
        photos = self._photos(plain.get("photos", []))
        case = self._case(plain.get("case"), alias, photos)
        if not case.answers and not case.about.remarks and not photos:
            raise InputError(f"{self.file}: holds no answer, no photo and no remark that can be used" + self._why())
        return Returned(
            client=alias,
            id=self._like(plain, "id", _ID),
            round=self._round(plain.get("round", "1")),
            token=self._like(plain, "token", _TOKEN),
            knowledge=self.text(plain, "knowledge", 80),
            case=case,
            photos=photos,
            warned=self._warned(plain.get("warned", [])),
            faults=self._told(),
        )

    def fault(self, name: object, message: str) -> None:
        self.faults.append(f"{_line(name, 40)}: {message}")

    def _why(self) -> str:
        return f" ({self.faults[0]})" if self.faults else ""

    def _told(self) -> tuple[str, ...]:
        unique = list(dict.fromkeys(self.faults))
        left = len(unique) - MOST_FAULTS
        return tuple(unique[:MOST_FAULTS]) + ((f"and {counted(left, 'more fault')}",) if left > 0 else ())

    def text(self, table: Mapping[str, Any], name: str, most: int) -> str:
        """The text under *name*, cleaned and cut; empty where it is none."""
        value = table.get(name, "")
        if not isinstance(value, str):
            self.fault(name, "is no text, dropped")
            return ""
        flat = clean(value[: 4 * most])
        if len(flat) > most or len(value) > 4 * most:
            self.fault(name, f"longer than {most} characters, cut")
        return flat[:most].rstrip()

    def _like(self, plain: Mapping[str, Any], name: str, shape: re.Pattern[str]) -> str:
        value = self.text(plain, name, 64)
        if value and not shape.fullmatch(value):
            self.fault(name, f"'{_line(value)}' is none of ours, dropped")
            return ""
        return value

    def _round(self, value: Any) -> int:
        if (
            isinstance(value, str)
            and value.isascii()
            and value.isdigit()
            and len(value) < 4
            and 1 <= int(value) <= MOST_ROUNDS
        ):
            return int(value)
        self.fault("round", f"'{_line(value)}', expected 1 to {MOST_ROUNDS}; taken as 1")
        return 1

    def _warned(self, value: Any) -> tuple[str, ...]:
        found = [name for name in value if isinstance(name, str)] if isinstance(value, list) else []
        return tuple(name for name in self.knowledge.dangers if name in found)

    def _photos(self, value: Any) -> tuple[Picture, ...]:
        if not isinstance(value, list):
            self.fault("photos", "is no list, dropped")
            return ()
        if len(value) > MOST_PHOTOS:
            self.fault("photos", f"{len(value)} of them, only the first {MOST_PHOTOS} were taken")
        found = []
        for i, item in enumerate(value[:MOST_PHOTOS], start=1):
            picture = self._photo(item, i)
            if picture is not None:
                found.append(picture)
        return tuple(found)

    def _photo(self, item: Any, place: int) -> Picture | None:
        name = f"photo {place}"
        coded = item.get("jpeg") if isinstance(item, dict) else None
        if not isinstance(coded, str) or len(coded) > MOST_PHOTO * 4 // 3 + 4:
            self.fault(name, f"is no photo of up to {MOST_PHOTO >> 20} MiB, dropped")
            return None
        try:
            picture = picture_of(base64.b64decode(coded, validate=True))
            return replace(picture, shows=self.text(item, "of", MOST_TEXT), place=place)
        except (PhotoError, ValueError) as error:
            self.fault(name, f"{error if isinstance(error, PhotoError) else 'is damaged'}, dropped")
            return None

    def _case(self, value: Any, client: str, photos: tuple[Picture, ...]) -> Case:
        if not isinstance(value, dict):
            self.fault("case", "is missing or no case, so no answer was read")
            value = {}
        for name in value:
            if name not in ("case", "title", "answers", "about"):
                self.fault(name, "unknown in a case, dropped")
        about = self._about(value.get("about", {}))
        shows = [f"photo {photo.place}: {photo.shows}" for photo in photos if photo.shows]
        remarks = " / ".join(filter(None, [about.get("remarks", ""), *shows]))
        about |= {"client": client, **({"remarks": remarks} if remarks else {})}
        title = self.text(value, "title", MOST_TEXT) or about.get("part", "")
        plain = {"title": title, "answers": self._answers(value.get("answers", {})), "about": about}
        return usable_case(plain, self.file, self.knowledge, self.faults)

    def _about(self, value: Any) -> dict[str, str]:
        if not isinstance(value, dict):
            self.fault("about", "is no table, dropped")
            return {}
        for name in value:
            if name not in (*_ABOUT, "client", "id", "photos"):
                self.fault(f"about.{_line(name, 30)}", "unknown, dropped")
        found = {
            name: self.text(value, name, MOST_REMARKS if name == "remarks" else MOST_TEXT)
            for name in _ABOUT
            if name in value
        }
        if found.get("date") and not _is_day(found["date"]):
            self.fault("date", f"'{_line(found.pop('date'))}' is no day, dropped")
        return {name: text for name, text in found.items() if text}

    def _answers(self, value: Any) -> dict[str, Any]:
        """Answers that have the shape of answers; whether they can be true is the case reader's to say."""
        if not isinstance(value, dict):
            self.fault("answers", "is no table, so no answer was read")
            return {}
        if len(value) > MOST_ANSWERS:
            self.fault("answers", f"{len(value)} of them, only the first {MOST_ANSWERS} were read")
        found = {}
        for name, told in list(value.items())[:MOST_ANSWERS]:
            shaped = self._shaped(told)
            if shaped is None or clean(name) != name or len(name) > MOST_TEXT:
                self.fault(name, "is no answer, dropped")
            else:
                found[name] = shaped
        return found

    def _shaped(self, told: Any) -> Any:
        if isinstance(told, str):
            return self._short(told)
        if isinstance(told, bool):
            return "yes" if told else "no"
        if isinstance(told, list) and len(told) <= 100 and all(isinstance(one, str) for one in told):
            return list(dict.fromkeys(map(self._short, told))) or None
        if isinstance(told, dict) and set(told) == {"value", "source"} and not isinstance(told["value"], dict):
            value, source = self._shaped(told["value"]), told["source"]
            return (
                {"value": value, "source": self._short(source)}
                if value is not None and isinstance(source, str)
                else None
            )
        return None

    def _short(self, text: str) -> str:
        return clean(text[: 2 * MOST_TEXT])[:MOST_TEXT]


def _is_day(text: str) -> bool:
    try:
        return date.fromisoformat(text).isoformat() == text
    except ValueError:
        return False
