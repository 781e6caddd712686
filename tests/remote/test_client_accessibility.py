"""The client's pages by the rules of axe-core (WCAG 2.1 A and AA): no serious or critical finding on any step."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from msgspec.structs import replace

from diagnose.assessment.assess import assess
from diagnose.assessment.consultation import Consultation, ModelCache
from diagnose.knowledge import Knowledge
from diagnose.remote.desk import errand_of
from diagnose.remote.order import case_of
from diagnose.remote.page import page_text
from diagnose.remote.reply import reply_of, reply_page

from .conftest import Open

pytestmark = pytest.mark.browser
Opened = Callable[..., Open]


def _findings(sheet: Any) -> list[str]:
    """Run axe-core on what is shown, and return its serious and critical findings."""
    from axe_playwright_python.sync_playwright import Axe

    results = (
        Axe().run(sheet, options={"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "best-practice"]}).response
    )
    assert len(results["passes"]) > 5, "axe looked at nothing"
    bad = [found for found in results["violations"] if found["impact"] in ("serious", "critical")]
    return [f"{found['id']}: {found['help']}: {found['nodes'][0]['html'][:200]}" for found in bad]


def test_every_step_of_the_first_page(opened: Opened, first_page: str) -> None:
    """Each step as it opens, and with answers and a warning on it."""
    page = opened(first_page)
    sheet = page.sheet
    assert _findings(sheet) == []
    sheet.locator("input[name=lump][value=yes]").check()
    assert _findings(sheet) == []
    page.well()
    assert _findings(sheet) == []
    page.next()
    sheet.get_by_label("Say it in your own words").fill("ears came out like thumbs and it is sticky")
    sheet.locator("#heard input").first.check()
    for family in sheet.locator("#families summary").all():
        family.click()
    assert _findings(sheet) == []
    page.next()
    while sheet.get_by_role("button", name="More questions").is_visible():
        sheet.get_by_role("button", name="More questions").click()
    assert _findings(sheet) == []
    page.next()
    assert _findings(sheet) == []
    page.next()
    assert _findings(sheet) == []


def test_the_second_page_and_the_reply(opened: Opened, models: ModelCache, shipped: Knowledge) -> None:
    """The second page with its brief of the first, and the reply with its table and warnings."""
    case = replace(case_of(shipped, ["tacky_through", "scorched_core"], "bare_foam"), title="Owl mask")
    consultation = Consultation(models, case)
    page = opened(page_text(shipped, errand_of(consultation, "harbor", "abcd5", 2), {}))
    for _ in range(2):
        assert _findings(page.sheet) == []
        page.well() if page.sheet.locator("[data-panel=safety]").is_visible() else page.next()
    assert _findings(page.sheet) == []
    reply = opened(reply_page(reply_of(assess(consultation, full=True), case, shipped, "abcd5")), ready=False)
    assert _findings(reply.sheet) == []


def test_axe_sees_a_fault(opened: Opened, first_page: str) -> None:
    """The check can fail: a field without a label is found."""
    page = opened(first_page)
    page.sheet.evaluate(
        "document.querySelector('main').append(Object.assign(document.createElement('input'), {type: 'text'}))"
    )
    assert any(line.startswith("label") for line in _findings(page.sheet))
