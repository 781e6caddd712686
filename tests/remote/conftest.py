"""The client desk about the shipped knowledge: pages, a log of its own for each test, and one browser for all of them."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

from diagnose.assessment.consultation import ModelCache
from diagnose.commands._desk_log import DeskLog
from diagnose.knowledge import Knowledge, load_knowledge
from diagnose.remote.order import Order, order_of
from diagnose.remote.page import Errand, page_text

DAY = "2026-03-02"
#: faults that the tests tick; the order of questions is worked out for these only
TICKED = ("rounded_tips", "thin_skin", "tacky_through")


@pytest.fixture(scope="session")
def shipped() -> Knowledge:
    """The knowledge in the checkout."""
    return load_knowledge(str(Path(__file__).parents[2] / "knowledge"))


@pytest.fixture(scope="session")
def models(shipped: Knowledge) -> ModelCache:
    """Its models, made once each."""
    return ModelCache(shipped)


@pytest.fixture(scope="session")
def order(models: ModelCache) -> Order:
    """The order of questions for the faults that the tests tick."""
    return order_of(models, TICKED, builds=("", "bare_foam"))


@pytest.fixture
def log(tmp_path: Path, shipped: Knowledge) -> Iterator[DeskLog]:
    """An empty log."""
    made = DeskLog(str(tmp_path / "log.db"), shipped, write=True)
    yield made
    made.store.close()


def report(**changes: Any) -> dict[str, Any]:
    """What a page hands back, with *changes* at its top level; `answers` and `about` go into its case."""
    answers = changes.pop("answers", {"build": "bare_foam", "painted": "no", "symptoms": ["rounded_tips"]})
    about = changes.pop("about", {"part": "Owl mask"})
    case = {"case": 1, "title": "Owl mask", "answers": answers, "about": about}
    whole = {
        "part_report": 1,
        "id": "",
        "client": "harbor",
        "round": 1,
        "token": "00aa11bb22cc33dd44",
        "knowledge": "",
        "warned": [],
    }
    return {**whole, "case": case, "photos": [], **changes}


def packed(plain: Any) -> bytes:
    """The bytes of a saved file."""
    return json.dumps(plain).encode()


@dataclass
class Open:
    """A page open in the browser: *sheet* it is, *asked* every address but its own, *complaints* of the console."""

    sheet: Any
    asked: list[str] = field(default_factory=list)
    complaints: list[str] = field(default_factory=list)

    def next(self) -> None:
        """Go a step on."""
        self.sheet.get_by_role("button", name="Next").click()

    def well(self) -> None:
        """Say that all are well, and go on."""
        self.sheet.get_by_label("No, all are well").check()
        self.next()

    def saved(self, path: Path) -> Path:
        """Save the file and return where it lies."""
        with self.sheet.expect_download() as download:
            self.sheet.get_by_role("button", name="Save the file").click()
        download.value.save_as(path)
        return path


@pytest.fixture
def opened(browser: Any, tmp_path: Path) -> Iterator[Callable[..., Open]]:
    """Open a page text off line on a phone of 360 points."""
    contexts = []

    def look(text: str, width: int = 360, ready: bool = True) -> Open:
        path = tmp_path / f"page-{len(contexts)}.html"
        path.write_text(text, encoding="utf-8")
        context = browser.new_context(
            offline=True, viewport={"width": width, "height": 740}, has_touch=True, accept_downloads=True
        )
        contexts.append(context)
        found = Open(context.new_page())
        here = path.as_uri()
        found.sheet.on(
            "request", lambda r: None if r.url == here or r.url.startswith("blob:") else found.asked.append(r.url)
        )
        found.sheet.on("console", lambda message: found.complaints.append(message.text))
        found.sheet.on("pageerror", lambda error: found.complaints.append(str(error)))
        found.sheet.goto(here)
        if ready:
            found.sheet.wait_for_selector("body[data-ready]")
        return found

    yield look
    for context in contexts:
        context.close()


@pytest.fixture
def first_page(shipped: Knowledge, order: Order) -> str:
    """The text of a first page for one client."""
    return page_text(shipped, Errand("harbor"), order)
