"""The book in a real browser, offline from a folder: search, phone, paper, accessibility."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

pytestmark = pytest.mark.browser
SAMPLE = (
    "index.html",
    "faults/thin_skin.html",
    "faults/scorched_core.html",
    "causes/mold_cold.html",
    "checks/cup_leftover.html",
    "facts/mold_temperature.html",
    "facts/ratio_method.html",
    "remedies/check_the_scale.html",
    "sums/core.html",
    "causes.html",
    "facts.html",
    "dangers.html",
    "numbers.html",
    "sources.html",
)
#: what callers say, and the fault that has to be among the first three
SAID = {
    "the ears came out like thumbs": "rounded_tips",
    "it's all sticky like fly paper": "tacky_through",
    "rose up lovely then it sank": "collapse",
    "paint comes off in sheets": "paint_peels_clean",
    "there is no skin on it": "thin_skin",
    "stikcy inside and out": "tacky_through",
    "skin comes off like a glove": "skin_peels_clean",
}


@pytest.fixture
def opened(browser: Any, folder: Path) -> Iterator[Callable[..., tuple[Any, list[str]]]]:
    """Open a page of the book offline at the width of a phone: the page, and everything it asked for or complained of."""
    contexts = []

    def look(path: str, width: int = 390) -> tuple[Any, list[str]]:
        context = browser.new_context(offline=True, viewport={"width": width, "height": 844})
        contexts.append(context)
        sheet = context.new_page()
        noted: list[str] = []
        sheet.on("request", lambda request: noted.append(request.url))
        sheet.on("console", lambda message: noted.append(f"console {message.text}"))
        sheet.on("pageerror", lambda error: noted.append(f"error {error}"))
        sheet.goto((folder / path).as_uri())
        return sheet, noted

    yield look
    for context in contexts:
        context.close()


@pytest.mark.parametrize("path", SAMPLE)
def test_a_page_stands_by_itself_on_a_phone(opened: Callable[..., Any], folder: Path, path: str) -> None:
    """It asks for itself and its style sheet alone, complains of nothing, is styled, and fits 390 pixels without sideways scrolling."""
    sheet, noted = opened(path)
    assert sorted(noted) == sorted([(folder / path).as_uri(), (folder / "book.css").as_uri()])
    assert sheet.evaluate("document.documentElement.scrollWidth") <= 390
    assert sheet.locator("footer").evaluate("e => getComputedStyle(e).borderTopStyle") == "solid"


@pytest.mark.parametrize("path", SAMPLE)
def test_no_accessibility_finding(opened: Callable[..., Any], path: str) -> None:
    """axe-core finds nothing, serious or otherwise."""
    from axe_playwright_python.sync_playwright import Axe

    sheet, _ = opened(path)
    found = Axe().run(sheet).response["violations"]
    assert [(finding["id"], finding["impact"]) for finding in found] == []


def test_the_search_hears_callers(opened: Callable[..., Any]) -> None:
    """What a caller says brings the fault among the first three, typing errors and all."""
    sheet, noted = opened("index.html")
    for said, fault in SAID.items():
        sheet.get_by_label("Say it as the caller says it").fill(said)
        hrefs = [link.get_attribute("href") for link in sheet.locator("#found a").all()[:3]]
        assert f"faults/{fault}.html" in hrefs, (said, hrefs)
    assert not [line for line in noted if line.startswith(("console", "error"))]


def test_the_search_says_so_where_nothing_fits(opened: Callable[..., Any]) -> None:
    """Words that nothing knows give a line and no list; an empty box gives neither; Enter leaves the page where it is."""
    sheet, _ = opened("index.html")
    box = sheet.get_by_label("Say it as the caller says it")
    box.fill("qqqqq zzzzz")
    assert sheet.get_by_role("status").inner_text().startswith("Nothing found")
    box.fill("")
    assert sheet.get_by_role("status").inner_text() == ""
    before = sheet.url
    box.fill("pinholes")
    box.press("Enter")
    assert sheet.url == before
    sheet.locator("#found a").first.click()
    assert sheet.get_by_role("heading", level=1).inner_text().startswith("Pinholes")


def test_markup_in_the_search_stays_text(opened: Callable[..., Any]) -> None:
    """What is typed is never put into the page as markup."""
    sheet, noted = opened("index.html")
    sheet.get_by_label("Say it as the caller says it").fill("<img src=x onerror=alert(1)> sticky")
    assert sheet.locator("img").count() == 0
    assert not [line for line in noted if line.startswith(("console", "error"))]


def test_on_paper_the_shelf_is_gone_and_the_words_are_there(opened: Callable[..., Any]) -> None:
    """Printed, a page has no navigation and no search box, and a cause fits on four sheets of A4."""
    sheet, _ = opened("index.html")
    sheet.emulate_media(media="print")
    assert not sheet.get_by_role("navigation").is_visible()
    assert not sheet.locator("#search").is_visible()
    sheet, _ = opened("causes/mold_cold.html")
    pdf = sheet.pdf(format="A4")
    assert 1 <= len(re.findall(rb"/Type\s*/Page\b(?!s)", pdf)) <= 4


@pytest.mark.parametrize(("width", "media"), [(390, "screen"), (1280, "screen"), (794, "print")])
def test_drawings_stand_beside_the_names(opened: Callable[..., Any], width: int, media: str) -> None:
    """On a phone, a wide screen and paper: each drawing is large enough to tell, clear of its own words and of the next entry."""
    sheet, _ = opened("index.html", width)
    sheet.emulate_media(media=media)
    rows = sheet.evaluate(
        """[...document.querySelectorAll('li.drawn')].map(li => {
            const words = document.createRange();
            words.setStartAfter(li.querySelector('.small'));
            words.setEndAfter(li.lastChild);
            const box = li.getBoundingClientRect(), svg = li.querySelector('svg').getBoundingClientRect();
            return [svg.width, svg.right, words.getBoundingClientRect().left, svg.bottom, box.bottom];
        })"""
    )
    assert len(rows) > 40
    for wide, right, words, bottom, end in rows:
        assert wide >= 70
        assert right < words
        assert bottom <= end + 1


def test_a_tap_on_a_drawing_opens_its_fault(opened: Callable[..., Any]) -> None:
    """It is part of the link."""
    sheet, _ = opened("index.html")
    sheet.locator("li.drawn svg").first.click()
    assert sheet.get_by_role("heading", level=1).inner_text().startswith("Skin thin")


def test_without_script_the_fault_finder_still_finds(browser: Any, folder: Path) -> None:
    """With scripts off there is no dead search box, and every fault is a link."""
    context = browser.new_context(offline=True, java_script_enabled=False)
    sheet = context.new_page()
    sheet.goto((folder / "index.html").as_uri())
    assert not sheet.locator("#search").is_visible()
    assert sheet.locator("main a").count() >= 60
    context.close()
