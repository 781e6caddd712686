"""The small made-up trade of `small/trade.yaml`, to be spoilt in one place and read."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from diagnose.errors import FileFaults
from diagnose.knowledge import Knowledge
from diagnose.knowledge.files import SourceFile
from diagnose.knowledge.reader import compile_files

HERE = Path(__file__).parent
ROOT = HERE.parents[1]


@pytest.fixture(scope="session")
def words() -> str:
    """The shipped tables of words."""
    return (ROOT / "knowledge" / "words.yaml").read_text(encoding="utf-8")


@pytest.fixture(scope="session")
def trade() -> str:
    """The small trade as it stands."""
    return (HERE / "small" / "trade.yaml").read_text(encoding="utf-8")


@pytest.fixture
def compiled(words: str) -> Callable[..., Knowledge]:
    """Read texts of knowledge files, the tables of words beside them."""

    def compile_texts(*texts: str, with_words: str | None = None) -> Knowledge:
        files = [SourceFile("words.yaml", (with_words or words).encode(), "k")]
        files += [
            SourceFile(f"{name}.yaml", text.encode(), "k")
            for name, text in zip(("trade", "more", "third"), texts, strict=False)
        ]
        return compile_files(files)[0]

    return compile_texts


@pytest.fixture
def spoilt(trade: str, compiled: Callable[..., Knowledge]) -> Callable[..., list[str]]:
    """Replace pieces of the small trade and return the faults, a line each; each piece must stand there once."""

    def spoil(*changes: tuple[str, str], more: str = "") -> list[str]:
        text = trade
        for old, new in changes:
            assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times"
            text = text.replace(old, new)
        with pytest.raises(FileFaults) as caught:
            compiled(*([text, more] if more else [text]))
        return [str(fault) for fault in caught.value.faults]

    return spoil


@pytest.fixture(scope="session")
def line_of(trade: str) -> Callable[[str], int]:
    """Return the line of the small trade in which a piece of text first stands."""

    def find(piece: str) -> int:
        return trade[: trade.index(piece)].count("\n") + 1

    return find
