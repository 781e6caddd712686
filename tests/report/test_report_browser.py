"""The page in a real browser: above the fold, readable, asking for nothing, on two sheets whatever the font."""

from __future__ import annotations

import itertools
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from diagnose.assessment.consultation import Consultation
from diagnose.report.html import page_of
from diagnose.report.text.shown import Shown

Told = list[tuple[str, Consultation, Shown]]
Look = Callable[..., Any]
pytestmark = pytest.mark.browser
HOSTILE = '"<script>alert(1)</script><img src=http://example.invalid/x onerror=alert(2)> [red] :bug: \\e[31m"'
CASE = "symptoms: [soft_face, streaks]\nface_temperature: 10\nstirred: {value: no, source: told}"
#: paper in mm, and how much of its height the report may take, so that another font or driver still has room
PAPERS, SLACK = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}, 0.9
#: a wide font and a narrow one of the same maker; both are on any machine with a desktop, the wide one is the widest in use
FONTS = ("DejaVu Sans", "DejaVu Sans Condensed")


def pages_of(pdf: bytes) -> int:
    """Count the sheets of a PDF by its page objects (the browser writes them uncompressed)."""
    return len(re.findall(rb"/Type\s*/Page\b(?!s)", pdf))


@pytest.fixture
def opened(browser: Any, tmp_path: Path) -> Iterator[Look]:
    """Write a page and open it offline: the page, the addresses asked for, and the complaints."""
    contexts = []

    def look(text: str, width: int = 1000, height: int = 800, **more: Any) -> tuple[Any, list[str], list[str]]:
        path = tmp_path / "report.html"
        path.write_text(text, encoding="utf-8")
        context = browser.new_context(offline=True, viewport={"width": width, "height": height}, **more)
        contexts.append(context)
        while len(contexts) > 2:  # two pages are looked at side by side, no more
            contexts.pop(0).close()
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


@pytest.fixture
def page(consult: Callable[..., Consultation], shown: Callable[..., Shown]) -> Callable[..., str]:
    """The page of a case of the small trade."""
    return lambda answers, **more: page_of(shown(answers, **more), consult(answers, **more))


@pytest.fixture(scope="module")
def pages(worked: Told) -> dict[str, str]:
    """The pages of the worked cases."""
    return {name: page_of(shown, consultation) for name, consultation, shown in worked}


def test_no_request_leaves_and_nothing_is_complained_of(opened: Look, page: Callable[..., str]) -> None:
    """A hostile page opens without a request, a dialog, a console line or an error, and shows the title as text."""
    sheet, asked, complaints = opened(page(CASE, title=HOSTILE))
    assert (asked, complaints) == ([], [])
    assert sheet.get_by_role("heading", level=1).inner_text().startswith("<script>alert(1)</script><img src=http://")


def test_no_worked_page_is_complained_of(opened: Look, pages: dict[str, str]) -> None:
    """Style sheet and picture are let through by the policy of the page, and nothing else is wanted."""
    for name, text in pages.items():
        sheet, asked, complaints = opened(text)
        assert (asked, complaints) == ([], []), name
        assert sheet.locator(".picture svg").bounding_box()["width"] > 600, name


def test_its_own_style_is_in_force(opened: Look, page: Callable[..., str]) -> None:
    """The policy lets the style sheet of the page through: a bar has the width of its chance and the safety its frame."""
    sheet, _, _ = opened(page(CASE))
    drawn = sheet.locator(".bar i").first
    percent = int(drawn.get_attribute("class").removeprefix("p"))
    wide = drawn.evaluate("e => 100 * e.getBoundingClientRect().width / e.parentElement.clientWidth")
    assert wide == pytest.approx(percent, abs=2)
    assert sheet.locator(".cautions").evaluate("e => getComputedStyle(e).borderTopStyle") == "solid"


def test_an_injected_script_and_picture_are_refused(opened: Look, page: Callable[..., str]) -> None:
    """Even if markup got in, the policy would run no script and fetch no picture."""
    sheet, _, complaints = opened(page(CASE))
    sheet.evaluate("""() => { const s = document.createElement('script'); s.textContent = 'window.ran = 1'; document.body.append(s);
        const i = document.createElement('img'); i.src = 'http://example.invalid/x.png'; document.body.append(i); }""")
    sheet.wait_for_timeout(200)
    assert sheet.evaluate("window.ran") is None
    assert any("script" in line for line in complaints)
    assert any("example.invalid" in line for line in complaints)


@pytest.mark.parametrize(("width", "height"), [(1280, 800), (390, 844)])
def test_what_to_do_stands_above_the_fold(opened: Look, pages: dict[str, str], width: int, height: int) -> None:
    """On a desk and on a phone, danger, cause and the change for the next pour are seen without scrolling, in every worked case."""
    for name, text in pages.items():
        sheet, _, _ = opened(text, width, height)
        box = sheet.locator(".card dd.next-pour").bounding_box()
        assert box["y"] + box["height"] < 0.8 * height, name


def test_labels_keep_to_one_line_in_one_column(opened: Look, pages: dict[str, str]) -> None:
    """On a desk all labels of a section begin at one place, their texts at another, and no label wraps."""
    sheet, _, _ = opened(pages["short-fingers-in-a-cold-shop"], 1280)
    places = sheet.evaluate(
        """[...document.querySelectorAll('.causes .rows')].map(l => [
            [...l.querySelectorAll('dt')].map(e => [e.getBoundingClientRect().left, e.scrollWidth <= e.clientWidth, e.getClientRects().length]),
            [...l.querySelectorAll('dd')].map(e => e.getBoundingClientRect().left)])"""
    )
    labels = [label for pair in places for label in pair[0]]
    assert len(labels) >= 4
    assert {left for left, _, _ in labels} == {labels[0][0]}
    assert all(fits and lines == 1 for _, fits, lines in labels)
    assert len({left for pair in places for left in pair[1]}) == 1


@pytest.mark.parametrize("width", [390, 1280])
def test_bars_begin_at_one_place_and_their_words_are_readable(opened: Look, pages: dict[str, str], width: int) -> None:
    """The weights' bars share one left edge, no text of theirs is smaller than 15 px, and none shrinks with the screen."""
    sheet, _, _ = opened(pages["one-to-two-of-what"], width)
    bars = sheet.evaluate("[...document.querySelectorAll('.bars i')].map(e => e.getBoundingClientRect().left)")
    causes = sheet.evaluate("[...document.querySelectorAll('.causes .bar')].map(e => e.getBoundingClientRect().left)")
    sizes = sheet.evaluate(
        "[...document.querySelectorAll('.bars th, .bars td')].map(e => parseFloat(getComputedStyle(e).fontSize))"
    )
    assert len(set(bars)) == 1
    assert len(set(causes)) == 1
    assert min(sizes) >= 15


def test_a_narrow_window_needs_no_sideways_scrolling(
    opened: Look, page: Callable[..., str], pages: dict[str, str]
) -> None:
    """On a phone everything fits the width, a long word included; the picture alone scrolls within its frame."""
    for text in (page(CASE, title="x" * 150), *pages.values()):
        sheet, _, _ = opened(text, width=320)
        assert sheet.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")


def test_headings_are_in_order(opened: Look, page: Callable[..., str]) -> None:
    """One first heading, a second for each section, and a third for each entry."""
    sheet, _, _ = opened(page(CASE))
    levels = sheet.evaluate("[...document.querySelectorAll('h1,h2,h3')].map(h => +h.tagName[1])")
    assert levels[:3] == [1, 2, 3]
    assert levels.count(1) == 1
    assert all(after - before <= 1 for before, after in itertools.pairwise(levels))


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [390, 1280])
def test_nothing_keeps_a_reader_out(opened: Look, pages: dict[str, str], scheme: str, width: int) -> None:
    """The rules of axe-core (contrast, labels, order, scrolling by keyboard) find nothing, in either scheme and width."""
    from axe_playwright_python.sync_playwright import Axe

    for name in ("one-to-two-of-what", "tusks-in-march"):
        sheet, _, _ = opened(pages[name], width, bypass_csp=True, color_scheme=scheme)
        found = Axe().run(sheet).response["violations"]
        assert [(fault["id"], fault["impact"]) for fault in found] == [], name


def test_a_dark_room_gets_a_dark_page_and_paper_a_white_one(opened: Look, page: Callable[..., str]) -> None:
    """The page follows the reader's scheme; printed it is black on white in either."""

    def ground(sheet: Any) -> int:
        color = sheet.evaluate("getComputedStyle(document.documentElement).backgroundColor")
        return max(int(part) for part in re.findall(r"\d+", color)[:3])

    light, _, _ = opened(page(CASE), color_scheme="light")
    dark, _, _ = opened(page(CASE), color_scheme="dark")
    assert (ground(light) > 240, ground(dark) < 60) == (True, True)
    dark.emulate_media(media="print")
    assert ground(dark) > 240


@pytest.mark.timeout(300)
@pytest.mark.parametrize("font", FONTS)
def test_every_worked_case_prints_on_two_sheets(browser: Any, tmp_path: Path, pages: dict[str, str], font: str) -> None:
    """No worked case needs a third sheet of A4 or Letter, in a wide font or a narrow one, with a tenth of each sheet to spare."""
    context = browser.new_context(bypass_csp=True)
    sheet = context.new_page()
    found = {}
    for name, text in pages.items():
        path = tmp_path / f"{name}.html"
        path.write_text(text, encoding="utf-8")
        sheet.goto(path.as_uri())
        sheet.add_style_tag(content=f"body {{ font-family: '{font}', sans-serif !important }}")
        for paper, (width, height) in PAPERS.items():
            pdf = sheet.pdf(width=f"{width}mm", height=f"{SLACK * height}mm")
            found[name, paper] = pages_of(pdf)
    context.close()
    assert len(found) == 2 * len(pages)
    assert {which: count for which, count in found.items() if not 1 <= count <= 2} == {}


def test_what_the_sheets_hold(opened: Look, pages: dict[str, str]) -> None:
    """In print the card, the causes, what to do, the numbers, safety and the picture stay; weights, sums, plan and notes are on the screen alone."""
    sheet, _, _ = opened(pages["short-fingers-in-a-cold-shop"])
    sheet.emulate_media(media="print")
    for kept in (".card", ".causes", ".change", ".save", ".sheet", ".cautions", ".picture"):
        assert sheet.locator(kept).first.is_visible(), kept
    for left in (".why", ".plan", ".sums"):
        assert not sheet.locator(left).first.is_visible(), left


def test_sheets_are_counted_right(opened: Look, page: Callable[..., str]) -> None:
    """The counting of sheets sees one where there is one and more where there are more."""
    sheet, _, _ = opened(page("symptoms_absent: [dust]"))
    assert pages_of(sheet.pdf(format="A4")) == 1
    assert pages_of(sheet.pdf(width="10cm", height="5cm")) > 2
