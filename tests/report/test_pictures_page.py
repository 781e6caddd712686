"""Pictures on the page: after the text, on sheets of their own, allowed by the page's own policy."""

from __future__ import annotations

import os
import re
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from diagnose.assessment.situation import ModelCache, Situation
from diagnose.casebook import read_case
from diagnose.knowledge import Knowledge
from diagnose.report.html import write_page

Consult = Callable[..., Situation]
CASE = "symptoms: [soft_face, streaks]\nface_temperature: 10\nstirred: {value: no, source: told}"


def _page(situation: Situation, path: Path, pictures: bool) -> str:
    write_page(situation, path, pictures)
    return path.read_text(encoding="utf-8")


def test_pictures_stand_after_the_text(consult: Consult, tmp_path: Path) -> None:
    """With pictures the page is the same page, with two sections more at the end of its text."""
    without, with_them = (_page(consult(CASE), tmp_path / "p.html", wanted) for wanted in (False, True))
    head, _, tail = without.partition("</main>")
    assert with_them.startswith(head)
    assert with_them.endswith(tail)
    added = with_them.removeprefix(head).removesuffix("</main>" + tail)
    assert re.findall(r'<section class="picture">\n<svg id="([a-z]+)"', added) == ["fishbone", "beliefs"]
    assert "style=" not in added


def test_no_pictures_where_nothing_is_seen(consult: Consult, tmp_path: Path) -> None:
    """A case without a symptom has nothing to draw, and its page is made all the same."""
    assert 'class="picture"' not in _page(consult("face_temperature: 10"), tmp_path / "p.html", True)


@pytest.mark.browser
def test_a_browser_shows_them_and_complains_of_nothing(shipped: Knowledge, cases: list[Path], tmp_path: Path) -> None:
    """Off-line, at full size, the two pictures are seen, nothing is asked for or refused, and each takes one sheet of print."""
    program = os.environ.get("DIAGNOSE_CHROMIUM") or shutil.which("chromium")
    if program is None:
        if os.environ.get("CI") == "true":
            pytest.fail("no chromium here, and CI=true")
        pytest.skip("needs chromium (apt-get install chromium, or DIAGNOSE_CHROMIUM=path)")
    from playwright.sync_api import sync_playwright

    case = next(path for path in cases if path.stem == "stopped-short-in-the-pot")
    situation = Situation(ModelCache(shipped), read_case(case, shipped))
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=program, args=["--no-sandbox"])
        printed = {}
        for wanted in (False, True):
            path = tmp_path / "p.html"
            write_page(situation, path, wanted)
            asked, complaints, sizes, printed[wanted] = _opened(browser, path)
            assert asked == [path.as_uri()]
            assert complaints == []
        browser.close()
    assert len(sizes) == 2
    assert all(600 < width < 720 and height > 300 for width, height in sizes)
    assert printed[True] - printed[False] in (2, 3)  # the line at the foot may need a sheet of its own


def _opened(browser: Any, path: Path) -> tuple[list[str], list[str], list[tuple[float, float]], int]:
    """Open *path*: the addresses asked for, the complaints, the sizes of the pictures in pixels, and the printed sheets."""
    sheet = browser.new_context(offline=True, viewport={"width": 1000, "height": 800}).new_page()
    asked: list[str] = []
    complaints: list[str] = []
    sheet.on("request", lambda request: asked.append(request.url))
    sheet.on("console", lambda message: complaints.append(message.text))
    sheet.on("pageerror", lambda error: complaints.append(str(error)))
    sheet.goto(path.as_uri())
    boxes = [picture.bounding_box() for picture in sheet.locator(".picture svg").all()]
    sizes = [(box["width"], box["height"]) for box in boxes]
    pdf = sheet.pdf(prefer_css_page_size=True, format="A4")
    return asked, complaints, sizes, len(re.findall(rb"/Type\s*/Page\b(?!s)", pdf))
