"""What comes back, by somebody who means harm: nothing is run, followed or used as a path, nothing hangs, and what is
dropped is told.
"""

from __future__ import annotations

import base64
import io
import json
import struct
import time
import zlib
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from diagnose.assessment.consultation import ModelCache
from diagnose.commands._desk_log import DeskLog
from diagnose.errors import InputError
from diagnose.knowledge import Knowledge
from diagnose.remote.desk import take
from diagnose.remote.photos import MOST_PHOTO, PhotoError, picture_of
from diagnose.remote.returned import MOST_BYTES, MOST_FAULTS, read_returned

from .conftest import DAY, packed, report

BAD = "<script>alert(1)</script><img src=http://example.invalid/x onerror=alert(2)>"
#: right-to-left override, zero-width joiner and space, a bell, an escape, a lone surrogate, a line separator
TRICKS = "a\u202eb\u200dc\u200bd\x07e\x1b[31mf\ud800g\u2028h"


def _jpeg(size: tuple[int, int] = (64, 48), **more: Any) -> bytes:
    made = io.BytesIO()
    Image.new("RGB", size, "tan").save(made, "JPEG", **more)
    return made.getvalue()


def _photo(data: bytes, **more: Any) -> dict[str, Any]:
    return {"name": "photo-1.jpg", "of": "", "jpeg": base64.b64encode(data).decode(), **more}


def _read(plain: Any, knowledge: Knowledge) -> Any:
    return read_returned(plain if isinstance(plain, bytes) else packed(plain), "file", knowledge)


# -- shape -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "is no part report"),
        (b"\x00\x01\x02PK\x03\x04", "is no part report"),
        (b"%PDF-1.4", "is no part report"),
        (b"{", "cut short or damaged"),
        (b'{"part_report": 1, "case": {"answers": {"build": "bare_fo', "cut short or damaged"),
        (b"{}", "part_report is not 1"),
        (b'{"part_report": 2}', "part_report is not 1"),
        (b'{"part_report": true}', "part_report is not 1"),
        (b'{"part_report": 1}', "names no client"),
        (b'{"part_report": 1, "client": "x"}', "holds no answer"),
        (b"{" + b'"a":{' * 100_000 + b"}" * 100_000, "nested or filled"),
        (b'{"part_report": 1, "client": "x", "case": ' + b"[" * 1_000_000, "nested or filled"),
        (b'{"a":"' + b'\\"' * 5_000_000, "cut short or damaged"),
        (b'{"a":' + b'"' * 5_000_001, "nested or filled"),
        (b'{"a":' + b"1," * 2_000_000 + b"1}", "nested or filled"),
        (b'{"a":' + b"9" * 5_000_000 + b"}", "part_report is not 1"),
        (b'{"a":\xff}', "not UTF-8"),
        (b"\xff\xfe{\x00}\x00", "is no part report"),
        (b"[" * 1000, "is no part report"),
        (b" " * (MOST_BYTES + 1), "over 24 MiB"),
    ],
)  # fmt: skip
def test_what_is_no_return_is_refused_in_one_line(shipped: Knowledge, data: bytes, said: str) -> None:
    """Each is refused whole, in well under the time in which somebody would wonder, with what was expected."""
    began = time.process_time()
    with pytest.raises(InputError, match=said) as refused:
        read_returned(data, "file", shipped)
    assert time.process_time() - began < 5
    assert "\n" not in str(refused.value)
    assert str(refused.value).isprintable()


def test_a_million_answers_are_refused(shipped: Knowledge) -> None:
    """A million answers are counted, not read."""
    answers = {f"q{i}": "x" for i in range(1_000_000)}
    with pytest.raises(InputError, match="nested or filled"):
        _read(report(answers=answers), shipped)


def test_too_many_answers_are_cut_and_told(shipped: Knowledge) -> None:
    """A thousand answers lose all but the first few hundred, and the faults are told to a limit."""
    answers = {"symptoms": ["rounded_tips"], **{f"q{i}": "x" for i in range(1_000)}}
    found = _read(report(answers=answers), shipped)
    assert list(found.case.values) == ["rounded_tips"]
    assert any("only the first" in fault for fault in found.faults)
    assert len(found.faults) == MOST_FAULTS + 1
    assert found.faults[-1].startswith("and ")


# -- text ------------------------------------------------------------------------------------------------------------


def _everywhere(text: str) -> dict[str, Any]:
    """A return with *text* in every field that takes text, and as names of fields."""
    answers = {
        "symptoms": ["rounded_tips", text],
        "build": text,
        "mold_temperature": text,
        "repeats": {"value": text, "source": text},
        text: text,
    }
    about = dict.fromkeys(("part", "mold", "lot_a", "lot_b", "person", "remarks", "date", "client", text), text)
    whole = report(
        answers=answers,
        about=about,
        id=text,
        token=text,
        knowledge=text,
        warned=[text],
        round=text,
        **{text or "x": text},
    )
    whole["case"]["title"] = text
    whole["photos"] = [_photo(_jpeg(), name=text, of=text)]
    return whole


@pytest.mark.parametrize(
    "text",
    [
        BAD,
        TRICKS,
        "../../etc/passwd",
        "C:\\x",
        "=cmd|' /C calc'!A0",
        "x" * 100_000,
        "",
        "{{7*7}}",
        "%s%n",
        "' OR 1=1 --",
    ],
)
def test_any_text_is_only_text(shipped: Knowledge, models: ModelCache, log: DeskLog, text: str) -> None:
    """Markup, paths, formulas and tricks of writing are kept as short plain text or dropped; the case still reads, is
    logged and answered.
    """
    found = _read(_everywhere(text), shipped)
    assert [name for name, answer in found.case.values.items() if answer.known] == ["rounded_tips"]
    for kept in (
        found.case.title,
        *found.case.about.told().values(),
        *found.faults,
        found.id,
        found.token,
        found.client,
    ):
        assert str(kept).isprintable()
        assert len(str(kept)) <= 4_100
    assert (found.id, found.token, found.round) == ("", "", 1)
    taken = take(found, log, models, DAY)
    assert log.find(taken.id) is not None


def test_hidden_marks_are_taken_out(shipped: Knowledge) -> None:
    """Direction marks, invisible and control characters are gone from what is kept; letters of any script stay."""
    found = _read(report(about={"part": TRICKS, "mold": "Küche 狐"}, client="har\u202ebor"), shipped)
    assert found.case.about.part == "abcd e [31mfg h"
    assert found.case.about.mold == "Küche 狐"
    assert found.client == "harbor"


def test_the_files_of_a_client_hold_no_path(
    shipped: Knowledge, models: ModelCache, log: DeskLog, tmp_path: Path
) -> None:
    """Names of photos are never used: nothing is written but the log, and the log has names of ours."""
    before = sorted(tmp_path.rglob("*"))
    names = ["../../../../tmp/evil.jpg", "/etc/cron.d/evil", "con", "a\x00b.jpg", "..\\..\\evil.bat"]
    plain = report(photos=[_photo(_jpeg(), name=name) for name in names])
    taken = take(_read(plain, shipped), log, models, DAY)
    assert taken.photos == 5
    assert sorted(tmp_path.rglob("*")) == before
    from diagnose.logbook import book

    assert [name for name, _ in book.kept(log.store, taken.id).photos] == [f"client-photo-{i}.jpg" for i in range(1, 6)]


# -- answers ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("build", "paper"), ("build", ["bare_foam"]), ("build", {"value": "bare_foam"}), ("build", {"value": {}, "source": "seen"}),
        ("build", None), ("build", 3), ("build", {"value": "bare_foam", "source": "seen", "x": "y"}), ("mold_temperature", "61 lb"),
        ("mold_temperature", "1e999 degC"), ("mold_temperature", "NaN"), ("mold_temperature", "2**9**9"), ("mold_temperature", {"value": "20 degC", "source": "god"}),
        ("where_worst", []), ("where_worst", ["top"] * 101), ("where_worst", [["top"]]), ("no_such_question", "yes"), ("ratio_error", "3 percent"),
        ("__class__", "x"), ("symptoms_absent", ["rounded_tips"]), ("symptoms_absent", {"a": "b"}), ("paint_kind", "acrylic"), ("tape_test", "none"),
    ],
)  # fmt: skip
def test_an_answer_that_cannot_be_used_is_dropped_alone(shipped: Knowledge, name: str, told: Any) -> None:
    """It is told as a fault; the other answers are taken."""
    found = _read(
        report(
            answers={"painted": "no", "symptoms": ["thin_skin", "rounded_tips"], "repeats": "same_spot", name: told}
        ),
        shipped,
    )
    assert found.case.values["repeats"].value == "same_spot"
    assert found.case.values["thin_skin"].value == "seen"
    assert not found.case.values[name].known if name in found.case.answers else True
    assert len(found.faults) >= 1
    assert any(name.split("_absent")[0] in fault for fault in found.faults)


def test_a_fault_unknown_to_this_desk_leaves_the_others(shipped: Knowledge) -> None:
    """A page of another version may know a symptom that the desk does not: the rest of its list stays."""
    found = _read(report(answers={"symptoms": ["rounded_tips", "of_tomorrow", "thin_skin"]}), shipped)
    assert list(found.case.values) == ["rounded_tips", "thin_skin"]
    assert any("of_tomorrow" in fault and "dropped" in fault for fault in found.faults)


def test_a_key_given_twice_is_told(shipped: Knowledge) -> None:
    """Of two values under one name the last counts, and it is told."""
    data = packed(report()).replace(b'"client": "harbor"', b'"client": "quarry", "client": "harbor"')
    found = _read(data, shipped)
    assert found.client == "harbor"
    assert "'client': stands twice, the last was taken" in found.faults


# -- photos ----------------------------------------------------------------------------------------------------------


def _bomb(width: int, height: int) -> bytes:
    """A JPEG of a few hundred bytes that says of itself that it is huge."""
    data = bytearray(_jpeg())
    at = data.index(b"\xff\xc0")
    data[at + 5 : at + 9] = struct.pack(">HH", height, width)
    return bytes(data)


def _passes(count: int) -> bytes:
    """A progressive JPEG with its last scan repeated *count* times."""
    data = _jpeg((640, 640), progressive=True)
    last = data.rindex(b"\xff\xda")
    return data[:-2] + data[last:-2] * count + b"\xff\xd9"


@pytest.mark.parametrize(
    "data",
    [
        b"", b"\xff\xd8\xff", b"\xff\xd8\xff" + b"\x00" * 1000, b"GIF89a" + b"\x00" * 100, b"<svg xmlns='http://www.w3.org/2000/svg'/>",
        b"\x89PNG\r\n\x1a\n" + zlib.compress(b"\x00" * 10_000_000), _jpeg()[:200], _bomb(65_000, 65_000), _bomb(6_500, 100), _passes(100),
        b"\xff\xd8\xff" + b"a" * MOST_PHOTO,
    ],
)  # fmt: skip
def test_what_is_no_photo_is_dropped_and_told(shipped: Knowledge, data: bytes) -> None:
    """Bombs, other formats, cut and empty pictures: told as a fault in no time, and the answers stay."""
    began = time.process_time()
    found = _read(report(photos=[_photo(data)]), shipped)
    assert time.process_time() - began < 2
    assert found.photos == ()
    assert any(fault.startswith("photo 1: ") and fault.endswith("dropped") for fault in found.faults)
    assert found.case.values


def test_a_polyglot_leaves_only_its_picture(shipped: Knowledge) -> None:
    """A JPEG with a zip, a script and a place inside is written anew without any of them."""
    exif = Image.Exif()
    exif[0x010E] = "<?php system($_GET[0]); ?>"
    exif.get_ifd(0x8825).update({1: "N", 2: (51.0, 30.0, 0.0)})
    data = (
        _jpeg((2400, 300), exif=exif, comment=b"<script>alert(1)</script>")
        + b"PK\x03\x04<html><script>alert(2)</script>"
    )
    picture = _read(report(photos=[_photo(data)]), shipped).photos[0]
    assert (picture.width, picture.height) == (1600, 200)
    for part in (b"script", b"php", b"PK\x03\x04", b"Exif"):
        assert part not in picture.data
    with Image.open(io.BytesIO(picture.data)) as again:
        assert (again.format, again.size) == ("JPEG", (1600, 200))


def test_photos_are_counted(shipped: Knowledge) -> None:
    """Of twenty photos the first few are taken, and it is told; a photo that is no table is told as well."""
    found = _read(report(photos=[_photo(_jpeg())] * 5 + ["x"] + [_photo(_jpeg())] * 14), shipped)
    assert len(found.photos) == 5
    assert "photos: 20 of them, only the first 6 were taken" in found.faults
    assert any(fault.startswith("photo 6: is no photo") for fault in found.faults)


def test_a_photo_of_many_colors_and_modes_reads() -> None:
    """Gray, CMYK and progressive pictures are pictures."""
    for mode in ("L", "CMYK", "RGB"):
        made = io.BytesIO()
        Image.new(mode, (90, 60)).save(made, "JPEG", progressive=True)
        assert picture_of(made.getvalue()).width == 90
    with pytest.raises(PhotoError):
        picture_of(b"GIF89a")


# -- copied text -----------------------------------------------------------------------------------------------------


def _text(plain: Any) -> str:
    data = json.dumps(plain, separators=(",", ":")).encode()
    body = base64.b64encode(data).decode()
    lines = [body[i : i + 64] for i in range(0, len(body), 64)]
    return "\n".join(
        ["BEGIN PART REPORT 1", *lines, f"CHECK {len(data)} {zlib.crc32(data):08x}", "END PART REPORT", ""]
    )


def test_a_mail_may_do_what_mails_do(shipped: Knowledge) -> None:
    """Quote marks, blank lines, other widths, a BOM, UTF-16, words around it: it still reads the same."""
    text, file = _text(report()), _read(report(), shipped)
    wide = text.replace("\n", "\n\n").replace("BEGIN", "words before\nBEGIN")
    for mail in (text, "\ufeffHello\n" + text + "bye", "\n".join("> | " + line for line in text.splitlines()), wide):
        assert read_returned(mail.encode(), "mail", shipped) == file
        assert read_returned(mail.encode("utf-16"), "mail", shipped) == file


def test_a_cut_or_changed_text_is_told(shipped: Knowledge) -> None:
    """A text without its end is refused; one with a part missing is refused or told, never taken for whole."""
    text = _text(report())
    with pytest.raises(InputError, match="cut short"):
        read_returned(text.split("CHECK")[0].encode(), "mail", shipped)
    lines = text.splitlines()
    with pytest.raises(InputError, match="damaged"):
        read_returned("\n".join(lines[:2] + lines[3:]).encode(), "mail", shipped)
    unchecked = "\n".join(line for line in lines if not line.startswith("CHECK"))
    assert any("does not fit its check" in fault for fault in read_returned(unchecked.encode(), "mail", shipped).faults)
