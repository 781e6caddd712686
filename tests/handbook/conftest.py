"""The book of the shipped knowledge, made once, and a browser to open it in."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from diagnose.knowledge import Knowledge, load_knowledge
from diagnose.report.handbook import book_of, write_book

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="session")
def shipped() -> Knowledge:
    """The knowledge that ships."""
    return load_knowledge(str(ROOT / "knowledge"))


@pytest.fixture(scope="session")
def book(shipped: Knowledge) -> dict[str, str]:
    """The book of it, text by path."""
    return book_of(shipped, "diagnose, knowledge")


@pytest.fixture(scope="session")
def folder(book: dict[str, str], tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The book in a folder."""
    place = tmp_path_factory.mktemp("handbook")
    write_book(place, book)
    return place


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    """One browser; without one the tests skip, except in CI."""
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
