"""What holds for all tests: no test reads or writes the log of whoever runs them, unless it names one."""

from __future__ import annotations

import os


def pytest_configure() -> None:
    """Switch the usual log off, for this process and its children."""
    os.environ["DIAGNOSE_LOG"] = "off"
