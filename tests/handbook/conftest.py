"""The book of the shipped knowledge, made once, and a browser to open it in."""

from __future__ import annotations

from pathlib import Path

import pytest

from diagnose.knowledge import Knowledge, load_knowledge
from diagnose.remote.drawings import DRAWINGS
from diagnose.report.handbook import book_of, write_book

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="session")
def shipped() -> Knowledge:
    """The knowledge that ships."""
    return load_knowledge(str(ROOT / "knowledge"))


@pytest.fixture(scope="session")
def book(shipped: Knowledge) -> dict[str, str]:
    """The book of it as the command makes it, text by path."""
    return book_of(shipped, "diagnose, knowledge", {name: drawing.svg() for name, drawing in DRAWINGS.items()})


@pytest.fixture(scope="session")
def folder(book: dict[str, str], tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The book in a folder."""
    place = tmp_path_factory.mktemp("handbook")
    write_book(place, book)
    return place
