"""Reports of cases about the small made-up trade of `small/bench.yaml`, and about the shipped knowledge."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from diagnose.casebook.case import case_from_bytes
from diagnose.casebook.consult import Consultation, Models
from diagnose.knowledge import Knowledge, load_knowledge
from diagnose.knowledge.reader import compile_files
from diagnose.report.content import report_of
from diagnose.report.sections import Words, words_of

HERE = Path(__file__).parent
ROOT = HERE.parents[1]


def _knowledge(*changes: tuple[str, str]) -> Knowledge:
    text = (HERE / "small" / "bench.yaml").read_text(encoding="utf-8")
    for old, new in changes:
        assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times"
        text = text.replace(old, new)
    words = (ROOT / "knowledge" / "words.yaml").read_bytes()
    return Knowledge.from_plain(compile_files([("words.yaml", words), ("bench.yaml", text.encode())], "k"), "small")


@pytest.fixture(scope="session")
def trade() -> Knowledge:
    """The small trade as it stands."""
    return _knowledge()


@pytest.fixture
def consult(trade: Knowledge) -> Callable[..., Consultation]:
    """Look at a case, given as the text below `answers:`; *changes* rewrite the small trade first."""

    def look(answers: str, *changes: tuple[str, str], title: str = "A part", knowledge: Knowledge | None = None) -> Consultation:
        known = knowledge or (_knowledge(*changes) if changes else trade)
        text = f"case: 1\ntitle: {title}\nanswers:\n" + "".join(f"  {line}\n" for line in answers.strip().splitlines())
        return Consultation(Models(known), case_from_bytes(text.encode(), "case.yaml", known))

    return look


@pytest.fixture
def worded(consult: Callable[..., Consultation]) -> Callable[..., Words]:
    """The report in words of a case given as for `consult`."""

    def tell(answers: str, *changes: tuple[str, str], title: str = "A part") -> Words:
        consultation = consult(answers, *changes, title=title)
        return words_of(report_of(consultation), consultation.knowledge)

    return tell


@pytest.fixture(scope="session")
def shipped() -> Knowledge:
    """The knowledge that ships."""
    return load_knowledge(str(ROOT / "knowledge"))


@pytest.fixture(scope="session")
def cases() -> list[Path]:
    """The worked cases."""
    found = sorted((ROOT / "tests" / "cases").glob("*.yaml"))
    assert len(found) >= 20
    return found
