"""What holds for all tests: none reads or writes the log of whoever runs them, and those of pages share one way to a browser."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from typing import Any

import pytest


def pytest_configure() -> None:
    """Switch the usual log off, for this process and its children."""
    os.environ["DIAGNOSE_LOG"] = "off"


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    """One browser for a module; without one the tests skip, except in CI.

    Not for the session: while it runs, its event loop stands in the way of tests that run one of their own.
    """
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
