"""The page in a real browser: it asks for nothing, complains of nothing, and prints on two sheets."""

from __future__ import annotations

import itertools
import os
import re
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from diagnose.assessment.situation import ModelCache, Situation
from diagnose.casebook import read_case
from diagnose.knowledge import Knowledge
from diagnose.report.html import write_page

Consult = Callable[..., Situation]
pytestmark = pytest.mark.browser
HOSTILE = '"<script>alert(1)</script><img src=http://example.invalid/x onerror=alert(2)> [red] :bug: \\e[31m"'
CASE = "symptoms: [soft_face, streaks]\nface_temperature: 10\nstirred: {value: no, source: told}"


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    """One browser for the module; without one the tests skip, except in CI."""
    program = os.environ.get("DIAGNOSE_CHROMIUM") or shutil.which("chromium")
    if program is None:
        if os.environ.get("CI") == "true":
            pytest.fail("no chromium here, and CI=true")
        pytest.skip("needs chromium (apt-get install chromium, or DIAGNOSE_CHROMIUM=path)")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        running = playwright.chromium.launch(executable_path=program, args=["--no-sandbox"])
        yield running
        running.close()


def pages_of(pdf: bytes) -> int:
    """Count the sheets of a PDF by its page objects (the browser writes them uncompressed)."""
    return len(re.findall(rb"/Type\s*/Page\b(?!s)", pdf))


@pytest.fixture
def opened(browser: Any, tmp_path: Path) -> Iterator[Callable[..., tuple[Any, list[str], list[str]]]]:
    """Write the page of a case and open it offline: the page, the addresses asked for, and the complaints."""
    contexts = []

    def look(situation: Situation, width: int = 1000) -> tuple[Any, list[str], list[str]]:
        path = tmp_path / "report.html"
        write_page(situation, path)
        context = browser.new_context(offline=True, viewport={"width": width, "height": 800})
        contexts.append(context)
        sheet = context.new_page()
        asked: list[str] = []
        complaints: list[str] = []
        sheet.on("request", lambda request: asked.append(request.url))
        sheet.on("console", lambda message: complaints.append(message.text))
        sheet.on("pageerror", lambda error: complaints.append(str(error)))
        sheet.on("dialog", lambda dialog: complaints.append(f"dialog {dialog.message}"))
        sheet.goto(path.as_uri())
        return sheet, [url for url in asked if url != path.as_uri()], complaints

    yield look
    for context in contexts:
        context.close()


def test_no_request_leaves_and_nothing_is_complained_of(opened: Callable[..., Any], consult: Consult) -> None:
    """A hostile page opens without a request, a dialog, a console line or an error, and shows the title as text."""
    sheet, asked, complaints = opened(consult(CASE, title=HOSTILE))
    assert (asked, complaints) == ([], [])
    assert sheet.get_by_role("heading", level=1).inner_text().startswith("<script>alert(1)</script><img src=http://")


def test_its_own_style_is_in_force(opened: Callable[..., Any], consult: Consult) -> None:
    """The policy lets the style sheet of the page through: the bar has its width and the safety its frame."""
    sheet, _, _ = opened(consult(CASE))
    assert (
        sheet.locator(".bar i").first.evaluate("e => Math.round(100 * e.offsetWidth / e.parentElement.clientWidth)")
        == 90
    )
    assert sheet.locator(".cautions").evaluate("e => getComputedStyle(e).borderTopStyle") == "solid"


def test_an_injected_script_and_picture_are_refused(opened: Callable[..., Any], consult: Consult) -> None:
    """Even if markup got in, the policy would run no script and fetch no picture."""
    sheet, _, complaints = opened(consult(CASE))
    sheet.evaluate("""() => { const s = document.createElement('script'); s.textContent = 'window.ran = 1'; document.body.append(s);
        const i = document.createElement('img'); i.src = 'http://example.invalid/x.png'; document.body.append(i); }""")
    sheet.wait_for_timeout(200)
    assert sheet.evaluate("window.ran") is None
    assert any("script" in line for line in complaints)
    assert any("example.invalid" in line for line in complaints)


def test_a_narrow_window_needs_no_sideways_scrolling(opened: Callable[..., Any], consult: Consult) -> None:
    """On a phone everything fits the width, a long word included."""
    sheet, _, _ = opened(consult(CASE, title="x" * 150), width=320)
    assert sheet.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")


def test_headings_are_in_order(opened: Callable[..., Any], consult: Consult) -> None:
    """One first heading, a second for each section, and a third for each entry."""
    sheet, _, _ = opened(consult(CASE))
    levels = sheet.evaluate("[...document.querySelectorAll('h1,h2,h3')].map(h => +h.tagName[1])")
    assert levels[:3] == [1, 2, 2]
    assert levels.count(1) == 1
    assert all(after - before <= 1 for before, after in itertools.pairwise(levels))


def test_text_is_dark_on_white(opened: Callable[..., Any], consult: Consult) -> None:
    """No text is lighter than a dark grey, so that it reads in grey and at arm's length."""
    sheet, _, _ = opened(consult(CASE))
    colours = sheet.evaluate(
        "[...new Set([...document.body.querySelectorAll('*')].map(e => getComputedStyle(e).color))]"
    )
    shades = [max(int(part) for part in re.findall(r"\d+", colour)) for colour in colours]
    assert max(shades) <= 0x33


def test_every_worked_case_prints_on_one_or_two_sheets(
    browser: Any, tmp_path: Path, shipped: Knowledge, cases: list[Path]
) -> None:
    """No worked case with the shipped knowledge needs a third sheet, of A4 or of Letter."""
    models = ModelCache(shipped)
    sheet = browser.new_page()
    found = {}
    for path in cases:
        page = tmp_path / f"{path.stem}.html"
        write_page(Situation(models, read_case(path, shipped)), page)
        sheet.goto(page.as_uri())
        found.update({(path.stem, paper): pages_of(sheet.pdf(format=paper)) for paper in ("A4", "Letter")})
    sheet.close()
    assert len(found) == 2 * len(cases)
    assert {which: count for which, count in found.items() if not 1 <= count <= 2} == {}


def test_sheets_are_counted_right(opened: Callable[..., Any], consult: Consult) -> None:
    """The counting of sheets sees one where there is one and more where there are more."""
    sheet, _, _ = opened(consult("symptoms_absent: [dust]"))
    assert pages_of(sheet.pdf(format="A4")) == 1
    assert pages_of(sheet.pdf(width="10cm", height="5cm")) > 2
