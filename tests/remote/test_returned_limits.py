"""What comes back at the very edge of what a page may hand back: the last that is taken whole, and the first that is cut, dropped or refused."""

from __future__ import annotations

import base64
import io
import json
import random
import zlib
from typing import Any

import pytest
from PIL import Image

from diagnose.errors import InputError
from diagnose.knowledge import Knowledge
from diagnose.remote.photos import MOST_PHOTO
from diagnose.remote.returned import MOST_BYTES, MOST_FAULTS, Returned, read_returned

from .conftest import packed, report


def _read(plain: Any, knowledge: Knowledge, client: str = "") -> Returned:
    return read_returned(plain if isinstance(plain, bytes) else packed(plain), "file", knowledge, client)


def _photo(of: str = "") -> dict[str, str]:
    made = io.BytesIO()
    Image.new("RGB", (64, 48), "tan").save(made, "JPEG")
    return {"name": "x", "of": of, "jpeg": base64.b64encode(made.getvalue()).decode()}


def _filled(extra: str) -> bytes:
    """A sound return with *extra* as the value of a field that no page has."""
    return packed(report())[:-1] + b', "more": ' + extra.encode() + b"}"


# -- sizes -----------------------------------------------------------------------------------------------------------


def test_a_file_of_just_the_most_bytes_is_looked_at(shipped: Knowledge) -> None:
    """24 MiB are read and a byte more is not."""
    sound = packed(report())
    assert _read(sound + b" " * (MOST_BYTES - len(sound)), shipped).client == "harbor"
    with pytest.raises(InputError, match="over 24 MiB"):
        _read(sound + b" " * (MOST_BYTES + 1 - len(sound)), shipped)


@pytest.mark.parametrize(("brackets", "read"), [(7, True), (8, False)])
def test_eight_deep_is_the_deepest(shipped: Knowledge, brackets: int, read: bool) -> None:
    """The whole is one level: seven more are read (and dropped), eight more are refused."""
    data = _filled("[" * brackets + "]" * brackets)
    if read:
        assert "more: unknown, dropped" in _read(data, shipped).faults
    else:
        with pytest.raises(InputError, match="nested or filled"):
            _read(data, shipped)


def test_levels_side_by_side_are_not_deep(shipped: Knowledge) -> None:
    """A bracket closed counts no more: a hundred lists one beside the other are two levels."""
    assert _read(_filled("[" + ",".join(["[[]]"] * 100) + "]"), shipped).client == "harbor"


def test_five_thousand_values_are_the_most(shipped: Knowledge) -> None:
    """As many commas as the limit are read, one more is refused; commas within texts don't count."""
    commas = packed(report()).replace(b'", "', b'",  "').count(b", ") + 1  # that before "more" too
    assert _read(_filled("[" + ",".join("0" * (5_001 - commas)) + "]"), shipped).client == "harbor"
    with pytest.raises(InputError, match="nested or filled"):
        _read(_filled("[" + ",".join("0" * (5_002 - commas)) + "]"), shipped)
    assert _read(_filled('"' + "," * 9_000 + '"'), shipped).client == "harbor"


def test_texts_without_a_comma_are_counted_too(shipped: Knowledge) -> None:
    """Tens of thousands of texts and brackets side by side are no page's, whatever stands between them."""
    with pytest.raises(InputError, match="nested or filled"):
        _read(_filled('""' * 41_000), shipped)


# -- texts -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("name", "most"), [("part", 200), ("mold", 200), ("remarks", 2_000)])
def test_a_text_of_just_the_most_characters_stays_whole(shipped: Knowledge, name: str, most: int) -> None:
    """One more is cut and told, by name."""
    whole = _read(report(about={name: "x" * most}), shipped)
    assert (whole.case.about.told()[name], whole.faults) == ("x" * most, ())
    cut = _read(report(about={name: "x" * (most + 1)}), shipped)
    assert (cut.case.about.told()[name], cut.faults) == ("x" * most, (f"{name}: longer than {most} characters, cut",))


def test_what_is_not_seen_does_not_count(shipped: Knowledge) -> None:
    """Invisible marks are taken out before a text is measured; only where they fill four times its room is it called too long."""
    hidden = _read(report(about={"part": "x" * 150 + "\u200b" * 600}), shipped)
    assert (hidden.case.about.part, hidden.faults) == ("x" * 150, ())
    full = _read(report(about={"part": "x" * 150 + "\u200b" * 651}), shipped)
    assert (full.case.about.part, full.faults) == ("x" * 150, ("part: longer than 200 characters, cut",))


def test_a_name_of_sixty_letters_and_who_the_desk_says_it_is(shipped: Knowledge) -> None:
    """The file names the client in up to 60 characters; what the desk says outranks it."""
    assert _read(report(client="h" * 60), shipped).faults == ()
    assert _read(report(client="h" * 61), shipped).client == "h" * 60
    assert _read(report(client="harbor"), shipped, "quarry").client == "quarry"
    nameless = report()
    del nameless["client"]
    assert _read(nameless, shipped, "quarry").client == "quarry"


def test_a_field_that_is_no_text_is_dropped_alone(shipped: Knowledge) -> None:
    """A list or a table where a text belongs is told and leaves an empty field."""
    found = _read(report(id=["x"], about={"part": {"a": "b"}, "mold": "Owl"}), shipped)
    assert (found.id, found.case.about.mold) == ("", "Owl")
    assert {"id: is no text, dropped", "part: is no text, dropped"} <= set(found.faults)


# -- what tells one return from another --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "value", "kept"),
    [
        ("id", "A" * 32, True), ("id", "A" * 33, False), ("id", "2026-0007", True), ("id", "a_b", False), ("id", "a b", False),
        ("token", "0" * 8, True), ("token", "0" * 7, False), ("token", "f" * 64, True), ("token", "0" * 8 + "g", False),
        ("token", "A" * 8, False),
    ],
)  # fmt: skip
def test_an_id_and_a_token_have_the_shape_of_ours(shipped: Knowledge, name: str, value: str, kept: bool) -> None:
    """What could not be ours is dropped and told."""
    found = _read(report(**{name: value}), shipped)
    assert getattr(found, name) == (value if kept else "")
    assert found.faults == (() if kept else (f"{name}: '{value}' is none of ours, dropped",))


@pytest.mark.parametrize(
    ("told", "read"),
    [(1, 1), (2, 2), (20, 20), ("7", 7), ("007", 7), (0, 0), (21, 0), (-1, 0), (1.5, 0), ("0001", 0), ("", 0), ("²", 0), ("x", 0),
     (True, 0), (None, 0), ([2], 0)],
)  # fmt: skip
def test_rounds_go_from_one_to_twenty(shipped: Knowledge, told: Any, read: int) -> None:
    """Anything else is told and taken as the first."""
    found = _read(report(round=told), shipped)
    assert found.round == (read or 1)
    assert bool(found.faults) == (read == 0)
    assert all(fault.endswith("expected 1 to 20; taken as 1") for fault in found.faults)


def test_the_first_round_needs_no_number(shipped: Knowledge) -> None:
    """A page that says no round is a first one, and that is no fault."""
    plain = report()
    del plain["round"]
    found = _read(plain, shipped)
    assert (found.round, found.faults) == (1, ())


def test_dangers_shown_are_kept_in_the_order_of_the_book(shipped: Knowledge) -> None:
    """Only dangers that there are, each once; what is no list shows none."""
    first, second = list(shipped.dangers)[:2]
    assert _read(report(warned=[second, "of_tomorrow", first, second, 3]), shipped).warned == (first, second)
    assert _read(report(warned=first), shipped).warned == ()


# -- answers and what goes with them -----------------------------------------------------------------------------------


def test_what_a_page_wrote_comes_through_without_a_fault(shipped: Knowledge) -> None:
    """Each kind of answer a page writes: a word, a list, a yes or no, a value with how it is known."""
    answers = {
        "build": "bare_foam",
        "painted": False,
        "symptoms": ["rounded_tips", "rounded_tips"],
        "where_worst": ["top"],
        "repeats": {"value": "same_spot", "source": "remembered"},
    }
    found = _read(report(answers=answers), shipped)
    values = found.case.values
    assert found.faults == ()
    assert (values["painted"].value, values["rounded_tips"].value) == ("no", "seen")
    assert (values["repeats"].value, values["repeats"].source) == ("same_spot", "remembered")
    assert _read(report(answers={**answers, "painted": True}), shipped).case.values["painted"].value == "yes"


def test_four_hundred_answers_are_the_most(shipped: Knowledge) -> None:
    """The last of four hundred is read; of one more the first four hundred are, and it is told."""
    dull = {f"q{i}": "x" for i in range(399)}
    assert "rounded_tips" in _read(report(answers={**dull, "symptoms": ["rounded_tips"]}), shipped).case.values
    found = _read(report(answers={"build": "bare_foam", "symptoms": ["thin_skin"], **dull}), shipped)
    assert "answers: 401 of them, only the first 400 were read" in found.faults
    assert "thin_skin" in found.case.values


def test_a_return_without_a_case_or_with_odd_answers_says_so(shipped: Knowledge) -> None:
    """A photo alone still comes through where the case is missing, or its answers or what it is about are no tables."""
    found = _read(report(case=None, photos=[_photo()]) | {"case": None}, shipped)
    assert (len(found.photos), found.case.values) == (1, {})
    assert "case: is missing or no case, so no answer was read" in found.faults
    plain = report(photos=[_photo()])
    plain["case"]["answers"] = ["x"]
    plain["case"]["about"] = "x"
    assert {"answers: is no table, so no answer was read", "about: is no table, dropped"} <= set(
        _read(plain, shipped).faults
    )


def test_a_photo_of_two_mebibytes_is_not_too_large(shipped: Knowledge) -> None:
    """A picture of noise fills its size and is taken; what is over the limit is not decoded."""
    made = io.BytesIO()
    noise = random.Random(1).randbytes(1200 * 1200 * 3)
    Image.frombytes("RGB", (1200, 1200), noise).save(made, "JPEG", quality=90)
    assert MOST_PHOTO // 4 < len(made.getvalue()) < MOST_PHOTO
    photo = {"of": "", "jpeg": base64.b64encode(made.getvalue()).decode()}
    assert len(_read(report(photos=[photo]), shipped).photos) == 1


def test_six_photos_and_what_they_show(shipped: Knowledge) -> None:
    """Six photos are no fault; what each shows stands under the remarks, numbered as the photos are."""
    found = _read(
        report(photos=[_photo("the tip"), *[_photo()] * 4, _photo("the vent")], about={"remarks": "soft"}), shipped
    )
    assert (len(found.photos), found.faults) == (6, ())
    assert found.case.about.remarks == "soft / photo 1: the tip / photo 6: the vent"
    assert _read(report(photos={"0": _photo()}), shipped).faults == ("photos: is no list, dropped",)


def test_a_photo_that_is_dropped_leaves_the_others_their_numbers(shipped: Knowledge) -> None:
    """Faults and remarks call a photo by the one number that the client's page gave it."""
    damaged = {"of": "the seam", "jpeg": "AAAA"}
    found = _read(report(photos=[_photo("the tip"), damaged, _photo("the vent")]), shipped)
    assert [fault.partition(":")[0] for fault in found.faults] == ["photo 2"]
    assert found.case.about.remarks == "photo 1: the tip / photo 3: the vent"
    assert [photo.place for photo in found.photos] == [1, 3]


def test_a_photo_or_a_remark_alone_is_worth_reading(shipped: Knowledge) -> None:
    """Refused is only what holds neither answer nor photo nor remark."""
    assert len(_read(report(answers={}, photos=[_photo()]), shipped).photos) == 1
    assert _read(report(answers={}, about={"remarks": "it stinks"}), shipped).case.about.remarks == "it stinks"
    with pytest.raises(InputError, match="holds no answer, no photo and no remark"):
        _read(report(answers={}, about={"part": "Owl mask"}), shipped)


@pytest.mark.parametrize(
    ("told", "kept"), [("2026-03-01", "2026-03-01"), ("20260301", ""), ("2026-02-30", ""), ("1 March", "")]
)
def test_a_day_is_a_day(shipped: Knowledge, told: str, kept: str) -> None:
    """Year, month and day as a page writes them; anything else is dropped and told."""
    found = _read(report(about={"date": told, "part": "Owl"}), shipped)
    assert found.case.about.told().get("date", "") == kept
    assert found.faults == (() if kept else (f"date: '{told}' is no day, dropped",))


def test_a_case_without_a_title_is_called_by_its_part(shipped: Knowledge) -> None:
    """And by its own title where it has one."""
    plain = report(about={"part": "Fox ear"})
    assert _read(plain, shipped).case.title == "Owl mask"
    plain["case"]["title"] = ""
    assert _read(plain, shipped).case.title == "Fox ear"


def test_what_a_newer_page_may_add_is_told_by_name(shipped: Knowledge) -> None:
    """Unknown fields of the whole, of the case and of what it is about; those that a page has are none."""
    plain = report(about={"part": "Owl", "client": "harbor", "id": "7", "photos": [], "of_tomorrow": "x"})
    plain["case"]["of_tomorrow"] = 1
    assert _read(plain, shipped).faults == (
        "of_tomorrow: unknown in a case, dropped",
        "about.of_tomorrow: unknown, dropped",
    )


def test_forty_faults_are_told_and_the_rest_counted(shipped: Knowledge) -> None:
    """Each fault once; the fortieth is the last told by itself, one more is "and 1 more fault"."""
    long = "x" * 80
    assert _read(report(**{long: 0}), shipped).faults[0].startswith("x" * 37)
    for more, last in ((MOST_FAULTS, "dropped"), (MOST_FAULTS + 1, "and 1 more fault")):
        found = _read(report(**{f"x{i}": 0 for i in range(more)}), shipped)
        assert len(found.faults) == more
        assert found.faults[-1].endswith(last)


def test_a_photo_is_decoded_up_to_its_limit(shipped: Knowledge) -> None:
    """Four letters for three bytes and four for the rest are looked at (and are no picture); one letter more is too long."""
    most = MOST_PHOTO // 3 * 4 + 4
    for letters, said in ((most, "is no"), (most + 1, f"is no photo of up to {MOST_PHOTO >> 20} MiB, dropped")):
        (fault,) = _read(report(photos=[{"of": "", "jpeg": "A" * letters}]), shipped).faults
        assert fault.startswith("photo 1: ")
        assert fault.endswith(said) == (letters > most)


@pytest.mark.parametrize(
    ("jpeg", "said"),
    [("%%%%", "is damaged, dropped"), ("AAAA", "is no JPEG of a size that the page makes, dropped"), ("/9j/", "can't be read as a picture (UnidentifiedImageError), dropped")],
)  # fmt: skip
def test_why_a_photo_was_dropped_is_told(shipped: Knowledge, jpeg: str, said: str) -> None:
    """No text of a picture, no picture, or one that breaks off."""
    assert _read(report(photos=[{"of": "", "jpeg": jpeg}]), shipped).faults == (f"photo 1: {said}",)


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("repeats", {"value": "same_spot"}),
        ("repeats", {"source": "told"}),
        ("repeats", {"value": "same_spot", "source": "told", "more": 1}),
        ("repeats", {"value": "same_spot", "source": ["told"]}),
        ("repeats", {"value": {"value": "same_spot", "source": "told"}, "source": "told"}),
        ("repeats", {"value": [], "source": "told"}),
        ("where_worst", []),
        ("where_worst", ["top", ["tips"]]),
        ("where_worst", ["top"] * 101),
        ("repeats", None),
        ("rep\u200beats", "same_spot"),
        ("r" * 201, "same_spot"),
    ],
)
def test_what_has_not_the_shape_of_an_answer_is_dropped(shipped: Knowledge, name: str, told: Any) -> None:
    """By itself, and told; the other answers stay."""
    found = _read(report(answers={"build": "bare_foam", "symptoms": ["thin_skin"], name: told}), shipped)
    assert set(found.case.values) == {"build", "thin_skin"}
    (fault,) = found.faults
    assert fault.endswith(": is no answer, dropped")


def test_an_answer_is_cleaned_before_it_is_measured(shipped: Knowledge) -> None:
    """Two hundred hidden marks within a word are taken out, and the word is whole; of a list a hundred are read."""
    hidden = "bare" + "\u200b" * 200 + "_foam"
    found = _read(report(answers={"build": hidden, "where_worst": ["top"] * 100, "symptoms": ["thin_skin"]}), shipped)
    assert (found.case.values["build"].value, found.case.values["where_worst"].value, found.faults) == (
        "bare_foam",
        ("top",),
        (),
    )


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b'{"part_report": "\xff"}', "is not UTF-8 text, expected the file that the page saved"),
        (b'{"part_report": 1', "is cut short or damaged, expected the file that the page saved; ask for it again"),
        (b"[1]", "is no part report, expected the file that the page saved, or the text that it offered to copy"),
        (b'{"part_report": 2}', "part_report is not 1, expected a file of a page that this program wrote"),
        (b'{"part_report": 1}', "names no client, expected one; say whose it is with --client"),
        (b'{"part_report": 1, "client": "x"}', "holds no answer, no photo and no remark that can be used (case: is missing or no case, so no answer was read)"),
        (b'{"part_report": 1, "client": "x", "more": 1}', "holds no answer, no photo and no remark that can be used (more: unknown, dropped)"),
        (b"BEGIN PART REPORT 1\nabc", "the copied text is cut short, its last line 'END PART REPORT' is missing; ask for all of it"),
        (b"BEGIN PART REPORT 1\nabc\nEND PART REPORT", "the copied text is damaged; ask for it again, or for the file"),
        (b"BEGIN PART REPORT 1\nWzFd\nEND PART REPORT", "is no part report, expected the file that the page saved"),
    ],
)  # fmt: skip
def test_what_it_is_not_is_said(shipped: Knowledge, data: bytes, said: str) -> None:
    """Word for word, after the file's name."""
    with pytest.raises(InputError) as refused:
        _read(data, shipped)
    assert str(refused.value) == f"file: {said}"


def test_the_knowledge_of_a_page_is_told_in_eighty_letters(shipped: Knowledge) -> None:
    """As long as any key of ours; one more is cut."""
    assert _read(report(knowledge="k" * 80), shipped).knowledge == "k" * 80
    cut = _read(report(knowledge="k" * 81), shipped)
    assert (cut.knowledge, cut.faults) == ("k" * 80, ("knowledge: longer than 80 characters, cut",))


# -- the copied text ---------------------------------------------------------------------------------------------------


def _mail(data: bytes, length: int, check: int) -> bytes:
    body = base64.b64encode(data).decode()
    return f"BEGIN PART REPORT 1\n{body}\nCHECK {length} {check:08x}\nEND PART REPORT\n".encode()


def test_a_changed_letter_or_a_wrong_length_is_told(shipped: Knowledge) -> None:
    """Length and checksum both have to fit; where they do nothing is told."""
    data = json.dumps(report()).encode()
    changed = data.replace(b"Owl", b"Owk")
    right = zlib.crc32(data)
    assert _read(_mail(data, len(data), right), shipped).faults == ()
    for mail in (
        _mail(changed, len(data), right),
        _mail(data, len(data) + 1, right),
        _mail(data, len(data), right ^ 1),
    ):
        assert any("does not fit its check" in fault for fault in _read(mail, shipped).faults)


@pytest.mark.parametrize("code", ["utf-8", "utf-16", "utf-16-be", "latin-1"])
def test_a_mail_may_come_in_any_of_the_usual_codes(shipped: Knowledge, code: str) -> None:
    """Two bytes a letter with their mark in front, or one; what stands around it may be anything."""
    data = json.dumps(report()).encode()
    mail = "Gr\u00fc\u00dfe,\n" + _mail(data, len(data), zlib.crc32(data)).decode()
    mark = b"\xfe\xff" if code == "utf-16-be" else b""
    found = _read(mark + mail.encode(code), shipped)
    assert (found.case.about.part, found.faults) == ("Owl mask", ())


def test_of_a_mail_with_two_reports_the_first_is_read(shipped: Knowledge) -> None:
    """What stands after the end of the first is no part of it."""
    first, second = (json.dumps(report(about={"part": part})).encode() for part in ("Owl mask", "Fox ear"))
    mail = _mail(first, len(first), zlib.crc32(first)) + _mail(second, len(second), zlib.crc32(second))
    found = _read(mail, shipped)
    assert (found.case.about.part, found.faults) == ("Owl mask", ())


def test_a_saved_file_may_begin_with_a_mark_and_blanks(shipped: Knowledge) -> None:
    """Editors put a byte order mark and blank lines before the first brace."""
    assert _read(b"\xef\xbb\xbf\r\n  " + packed(report()), shipped) == _read(packed(report()), shipped)
