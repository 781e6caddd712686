"""The client's way in a real browser, off line, from the first page to the reply: fill, reload, photo, file out,
take, second round.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from diagnose.assessment.assess import assess
from diagnose.assessment.consultation import Consultation, ModelCache
from diagnose.commands._desk_log import DeskLog
from diagnose.knowledge import Knowledge
from diagnose.remote.desk import Taken, errand_of, rounds_of, take
from diagnose.remote.page import Errand, page_text
from diagnose.remote.reply import reply_of, reply_page
from diagnose.remote.returned import read_returned

from .conftest import DAY, Open

pytestmark = pytest.mark.browser
Opened = Callable[..., Open]


def _photo(path: Path) -> Path:
    """A camera's photo: large, with a place and a maker in it."""
    picture = Image.linear_gradient("L").resize((3000, 2000)).convert("RGB")
    exif = Image.Exif()
    exif[0x010F] = "SomeCamera"
    exif.get_ifd(0x8825).update({1: "N", 2: (51.0, 30.0, 0.0), 3: "E", 4: (0.0, 7.0, 0.0)})
    picture.save(path, "JPEG", exif=exif)
    assert b"SomeCamera" in path.read_bytes()
    return path


def _fill(page: Open, photo: Path | None = None) -> None:
    """The first round as a caster fills it: rounded ears, bare foam, in Fahrenheit."""
    sheet = page.sheet
    page.well()
    sheet.get_by_label("What is it?").fill("Owl mask, third pour")
    sheet.get_by_label("°F, ounces, inches").check()
    sheet.locator("#q-build").get_by_label("Bare foam", exact=False).check()
    sheet.locator("#q-painted").get_by_label("No", exact=True).check()
    page.next()
    sheet.get_by_label("Say it in your own words").fill("ears came out like thumbs")
    sheet.locator("#heard").get_by_label("Tips end in a smooth rounded hollow").check()
    page.next()
    sheet.locator("#q-repeats").get_by_label("Same spot each time").check()
    sheet.locator("#q-where_worst").get_by_label("In tips and ends", exact=False).check()
    page.next()
    if photo is not None:
        sheet.locator("#pick").set_input_files(photo)
        sheet.get_by_label("What does photo 1 show?").fill("left ear")
    sheet.get_by_label("Anything else?").fill("Same <b>mold</b> as in March")
    page.next()


def _taken(path: Path, log: DeskLog, models: ModelCache) -> Taken:
    return take(read_returned(path.read_bytes(), path.name, models.knowledge), log, models, DAY)


def test_first_round_second_round_and_reply(
    opened: Opened, first_page: str, tmp_path: Path, log: DeskLog, models: ModelCache, shipped: Knowledge
) -> None:
    """One id from the page over the second round to the reply; what was told first is remembered, and nothing ever
    asks a network.
    """
    page = opened(first_page)
    _fill(page, _photo(tmp_path / "camera.jpg"))
    first = _taken(page.saved(tmp_path / "first.json"), log, models)
    assert (first.round, first.faults, first.photos) == (1, (), 1)
    assert first.assessment.symptoms == ("rounded_tips",)
    assert first.case.values["repeats"].value == "same_spot"
    assert first.case.about.remarks == "ears came out like thumbs / Same <b>mold</b> as in March / photo 1: left ear"
    assert first.ask
    assert (page.asked, page.complaints) == ([], [])

    known = log.find(first.id)
    assert known is not None
    second_page = opened(page_text(shipped, errand_of(Consultation(models, known.case), "harbor", first.id, 2), {}))
    sheet = second_page.sheet
    second_page.well()
    assert "Tips end in a smooth rounded hollow" in sheet.locator(".told").inner_text()
    second_page.next()
    asked = sheet.locator("#questions [data-question]").evaluate_all("all => all.map(one => one.dataset.question)")
    assert asked == list(first.ask)
    sheet.locator("#q-vents_at_tips").get_by_label("None", exact=True).check()
    second_page.next()
    second_page.next()
    second = _taken(second_page.saved(tmp_path / "second.json"), log, models)
    assert (second.id, second.round, second.faults) == (first.id, 2, ())
    assert second.case.values["repeats"].value == "same_spot"
    assert second.moves
    assert [one.how for one in rounds_of(second.case)] == ["page", "page"]
    assert (second_page.asked, second_page.complaints) == ([], [])

    kept = log.find(first.id)
    assert kept is not None
    found = assess(Consultation(models, kept.case), full=True)
    reply = opened(reply_page(reply_of(found, kept.case, shipped, kept.id)), ready=False)
    told = reply.sheet.locator("main").inner_text()
    assert shipped.causes[found.verdict.causes[0]].title in told
    for heading in ("What we think", "Do this next", "This part", "Take care"):
        assert reply.sheet.get_by_role("heading", name=heading).is_visible()
    assert "harbor" not in reply.sheet.content()
    assert (reply.asked, reply.complaints) == ([], [])


def test_a_reload_loses_nothing(opened: Opened, first_page: str, tmp_path: Path) -> None:
    """What was ticked, typed and photographed stands again after a reload, on the step where it was."""
    page = opened(first_page)
    _fill(page, _photo(tmp_path / "camera.jpg"))
    before = json.loads(page.saved(tmp_path / "before.json").read_bytes())
    page.sheet.reload()
    page.sheet.wait_for_selector("body[data-ready]")
    assert page.sheet.get_by_role("heading", name="Send it to us").is_visible()
    assert json.loads(page.saved(tmp_path / "after.json").read_bytes()) == before
    assert len(before["photos"]) == 1


def test_a_photo_leaves_small_and_without_its_place(opened: Opened, first_page: str, tmp_path: Path) -> None:
    """The canvas keeps the picture, at most 1600 points long, and nothing that the camera wrote beside it."""
    page = opened(first_page)
    _fill(page, _photo(tmp_path / "camera.jpg"))
    photo = json.loads(page.saved(tmp_path / "out.json").read_bytes())["photos"][0]
    import base64
    import io

    data = base64.b64decode(photo["jpeg"])
    assert b"SomeCamera" not in data
    with Image.open(io.BytesIO(data)) as picture:
        assert (picture.size, dict(picture.getexif())) == ((1600, 1067), {})


def test_the_copied_text_says_the_same(opened: Opened, first_page: str, tmp_path: Path, shipped: Knowledge) -> None:
    """The text for a mail, quoted and wrapped by mail programs, reads back as the file without its photos."""
    page = opened(first_page)
    _fill(page)
    text = page.sheet.get_by_label("Text to copy").input_value()
    assert max(map(len, text.splitlines())) <= 64
    file = read_returned(page.saved(tmp_path / "out.json").read_bytes(), "file", shipped)
    quoted = (
        "Hello,\r\nhere it is:\r\n"
        + "\r\n".join("> " + line for line in text.splitlines())
        + "\r\n-- \r\nsent from my phone\r\n"
    )
    assert read_returned(quoted.encode(), "mail", shipped) == file


def test_units_are_those_of_the_client(opened: Opened, shipped: Knowledge, tmp_path: Path) -> None:
    """Who measures in Fahrenheit gets Fahrenheit, "about" is taken as remembered, a range as its middle, and what is
    no number goes as a remark.
    """
    names = ("mold_temperature", "room_temperature", "part_mass", "ratio_target", "demold_time")
    page = opened(page_text(shipped, Errand("harbor", round=2, ask=names), {}))
    sheet = page.sheet
    page.well()
    sheet.get_by_label("°F, ounces, inches").check()
    page.sheet.reload()
    page.sheet.wait_for_selector("body[data-ready]")
    units = [
        sheet.locator(f"#q-{name}-unit").input_value() for name in ("mold_temperature", "part_mass", "demold_time")
    ]
    assert units == ["degF", "oz", "min"]
    typed = dict(zip(names, ("about 61", "60-64", "1 1/2", "1:2", "a good while"), strict=True))
    for name, text in typed.items():
        sheet.locator(f"#q-{name}-number").fill(text)
    assert "Write a number" in sheet.locator("#q-demold_time-message").inner_text()
    page.next()
    page.next()
    case = json.loads(page.saved(tmp_path / "out.json").read_bytes())["case"]
    assert case["answers"] == {
        "mold_temperature": {"value": "61 degF", "source": "remembered"},
        "room_temperature": {"value": "62 degF", "source": "remembered"},
        "part_mass": "1.5 oz",
        "ratio_target": "1:2",
    }
    assert case["about"]["remarks"].endswith("a good while")
    data = json.dumps({**json.loads((tmp_path / "out.json").read_bytes()), "token": ""}).encode()
    told = read_returned(data, "out.json", shipped)
    assert told.faults == ()
    assert told.case.values["part_mass"].value == pytest.approx(1.5 * 28.349523125)


def test_numbers_for_the_sheet_are_offered_not_asked(
    opened: Opened, first_page: str, tmp_path: Path, shipped: Knowledge
) -> None:
    """What the sheet for the next pour wants stands folded away behind the questions, for this build only, and comes
    back as answers.
    """
    page = opened(first_page)
    sheet = page.sheet
    page.well()
    sheet.locator("#q-build").get_by_label("Bare foam", exact=False).check()
    page.next()
    sheet.get_by_label("Say it in your own words").fill("ears came out like thumbs")
    sheet.locator("#heard").get_by_label("Tips end in a smooth rounded hollow").check()
    page.next()
    assert not sheet.locator("#q-cream_time").is_visible()
    sheet.locator("#sheet > summary").click()
    names = sheet.locator("#numbers [data-question]").evaluate_all("all => all.map(o => o.dataset.question)")
    assert {"cavity_volume", "cream_time"} <= set(names)
    assert "sheet_skin_gel" not in names
    sheet.locator("#q-cream_time-number").fill("45")
    page.next()
    page.next()
    told = read_returned(page.saved(tmp_path / "out.json").read_bytes(), "out.json", shipped)
    assert told.case.values["cream_time"].value == 45.0


def test_the_page_ends_for_somebody_ill(opened: Opened, first_page: str) -> None:
    """Who says that somebody is unwell is told what to do and gets no further, until that changes."""
    page = opened(first_page)
    page.sheet.get_by_label("Yes, somebody has").check()
    assert page.sheet.get_by_role("heading", name="Somebody near this work is unwell").is_visible()
    page.next()
    assert page.sheet.get_by_role("heading", name="First: is everybody well?").is_visible()
    page.well()
    assert page.sheet.get_by_role("heading", name="The part", exact=True).is_visible()


def test_a_hot_core_is_told_at_once(opened: Opened, first_page: str, tmp_path: Path) -> None:
    """Ticking a brown middle brings the warning before anything else, off line, and the file says that it was shown."""
    page = opened(first_page)
    sheet = page.sheet
    page.well()
    page.next()
    sheet.get_by_label("Say it in your own words").fill("it is brown and burnt in the middle")
    sheet.locator("#heard").get_by_label("Brown or scorched in the middle").check()
    warning = sheet.locator("[data-danger=hot_core]")
    assert "Carry it outdoors" in warning.inner_text()
    assert sheet.evaluate("document.activeElement.id") == "dangers"
    for _ in range(3):
        page.next()
    assert warning.is_visible()
    assert "hot_core" in json.loads(page.saved(tmp_path / "out.json").read_bytes())["warned"]


def test_keys_alone_get_through(opened: Opened, first_page: str) -> None:
    """Tab, blanks and Enter reach every step; the heading of the new step has the focus."""
    sheet = opened(first_page).sheet
    sheet.locator("input[name=well][value=yes]").focus()
    sheet.keyboard.press("Space")
    for _ in range(20):
        sheet.keyboard.press("Tab")
        if sheet.evaluate("document.activeElement.id") == "next":
            break
    sheet.keyboard.press("Enter")
    assert sheet.evaluate("document.activeElement.textContent") == "The part"


def test_an_injected_script_and_picture_are_refused(opened: Opened, first_page: str) -> None:
    """Even if markup got in, the policy would run no script, fetch nothing and send nothing."""
    page = opened(first_page)
    page.sheet.evaluate("""() => { const s = document.createElement('script'); s.textContent = 'window.ran = 1'; document.body.append(s);
        const i = document.createElement('img'); i.src = 'http://example.invalid/x.png'; document.body.append(i);
        fetch('http://example.invalid/y').catch(() => 0); }""")
    page.sheet.wait_for_timeout(200)
    assert page.sheet.evaluate("window.ran") is None
    assert sum("Content Security Policy" in line for line in page.complaints) >= 3


def test_hostile_words_stay_words(opened: Opened, models: ModelCache, shipped: Knowledge) -> None:
    """Script in what a client wrote shows as text on the second page and in the reply."""
    from diagnose.remote.order import case_of

    bad = '</script><script>window.ran=1</script><img src=x onerror="window.ran=2">\u202eevil'
    from msgspec.structs import replace

    case = replace(case_of(shipped, ["rounded_tips"], "bare_foam"), title=bad).with_about(part=bad, client=bad)
    errand = errand_of(Consultation(models, case), "x<script>window.ran=3</script>", "", 2)
    page = opened(page_text(shipped, errand, {}))
    assert page.sheet.evaluate("window.ran") is None
    found = assess(Consultation(models, case), full=True)
    reply = opened(reply_page(reply_of(found, case, shipped, "abcd5")), ready=False)
    assert reply.sheet.evaluate("window.ran") is None
    assert reply.sheet.get_by_role("heading", level=1).inner_text().startswith("</script><script>window.ran=1")
    assert "\u202e" not in reply.sheet.content()
    assert (page.complaints, reply.complaints) == ([], [])


def test_nothing_needs_sideways_scrolling(opened: Opened, first_page: str) -> None:
    """At 320 points every step fits the width, and what is touched is at least 44 points high."""
    page = opened(first_page, width=320)
    sheet = page.sheet
    page.well()
    for step in range(5):
        assert sheet.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth"), step
        low: list[Any] = (
            sheet.evaluate("""[...document.querySelectorAll('.panel:not([hidden]) .option, button, summary, select, input[type=text]')]
            .filter(one => one.offsetParent).map(one => [one.textContent.slice(0, 30), one.getBoundingClientRect().height]).filter(one => one[1] < 44)""")
        )
        assert low == []
        if step == 1:
            sheet.locator("#families summary").first.click()
            sheet.locator("#families input[type=checkbox]").first.check()
        if step < 4:
            page.next()
