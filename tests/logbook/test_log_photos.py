"""Photos: pictures and nothing else."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from PIL import Image

from diagnose.errors import InputError
from diagnose.knowledge import Knowledge
from diagnose.logbook.book import New, add, kept
from diagnose.logbook.entry import case_of, entry_of
from diagnose.logbook.movers import picture
from diagnose.logbook.photos import EDGE, read_photo, taken_in
from diagnose.logbook.store import Store


def made(size: tuple[int, int] = (60, 40), form: str = "JPEG", **more: object) -> bytes:
    file = io.BytesIO()
    Image.new("RGB", size, (200, 40, 40)).save(file, form, **more)
    return file.getvalue()


def test_a_photo_is_written_anew_and_small() -> None:
    """The longer edge shrinks, what is appended goes, the same picture has the same digest."""
    photo = taken_in(made((4000, 1000)) + b"#!/bin/sh\nrm -rf /", "a.jpg")
    assert (photo.width, photo.height) == (EDGE, EDGE // 4)
    assert b"rm -rf" not in photo.data
    assert taken_in(made((4000, 1000)), "b.jpg").digest == photo.digest
    with Image.open(io.BytesIO(photo.data)) as again:
        assert (again.format, again.size) == ("JPEG", (EDGE, EDGE // 4))


def test_where_and_with_what_it_was_taken_is_left_out() -> None:
    """No place, no camera; but it is turned upright first."""
    notes = Image.Exif()
    notes[0x0112] = 6  # turned by a quarter
    notes[0x010F] = "Camera of Ragnhild"
    photo = taken_in(made((60, 40), exif=notes), "a.jpg")
    assert (photo.width, photo.height) == (40, 60)
    assert b"Ragnhild" not in photo.data
    with Image.open(io.BytesIO(photo.data)) as again:
        assert not again.getexif()


@pytest.mark.parametrize("form", ["PNG", "WEBP", "GIF", "TIFF", "BMP"])
def test_usual_forms_are_taken(form: str) -> None:
    """Whatever a telephone or a scanner makes of it."""
    assert taken_in(made(form=form), "a").width == 60


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "is no picture that can be read"),
        (b"#!/bin/sh\necho owned\n", "is no picture that can be read"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "is no picture that can be read"),
        (b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 9 9\n", "is no picture that can be read"),
        (made()[:300], "is no picture that can be read"),
        (made((20000, 5000), "PNG"), "expected a photo of less"),
    ],
)
def test_what_is_no_photo_is_refused(data: bytes, words: str) -> None:
    """Scripts, drawings that are programs, torn files, and a picture that would fill the memory."""
    with pytest.raises(InputError, match=words):
        taken_in(data, "a.jpg")


def test_the_name_is_not_trusted(tmp_path: Path) -> None:
    """A folder, a device and a missing file are told apart from a picture."""
    with pytest.raises(InputError, match="no regular file"):
        read_photo(tmp_path)
    with pytest.raises(InputError, match="no regular file"):
        read_photo(Path("/dev/zero"))
    with pytest.raises(FileNotFoundError):
        read_photo(tmp_path / "none.jpg")


def test_the_same_photo_of_two_parts_is_kept_once(store: Store, knowledge: Knowledge) -> None:
    """It comes back from both."""
    entry, photo = entry_of(case_of({"case": 1, "answers": {}}, knowledge), knowledge), taken_in(made(), "a")
    names = [add(store, New(entry, photos=(("front.jpg", photo), ("lost.jpg", None)))) for _ in range(2)]
    for name in names:
        assert kept(store, name).photos == (("front.jpg", photo.digest), ("lost.jpg", ""))
    assert picture(store, photo.digest) == photo.data
    with pytest.raises(InputError, match="only the name is kept"):
        picture(store, "")
