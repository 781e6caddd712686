"""Reports of cases about the small made-up trade of `small/bench.yaml`, and about the shipped knowledge."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
import yaml

from diagnose.assessment.content import report_of
from diagnose.assessment.situation import ModelCache, Situation
from diagnose.casebook import case_from_bytes
from diagnose.knowledge import Knowledge, load_knowledge
from diagnose.knowledge.files import SourceFile
from diagnose.knowledge.reader import compile_files
from diagnose.report.document import Words
from diagnose.report.text.sections import words_of

#: the numbers of the small trade, so that its chances stay when the shipped words are tuned
NUMBERS: dict[str, dict[str, float]] = {
    "likelihood": {"always": 0.95, "usually": 0.75, "often": 0.5, "sometimes": 0.25, "seldom": 0.08},
    "ratio": {
        "decisive for": 30,
        "strong for": 10,
        "for": 4,
        "slightly for": 2,
        "neutral": 1,
        "slightly against": 0.5,
        "against": 0.25,
        "strong against": 0.1,
        "rules out": 0.03,
    },
    "share": {"very common": 10, "common": 5, "occasional": 2, "rare": 0.7},
    "background": {"ordinary": 0.02, "unusual": 0.01, "rare": 0.005},
    "answerable": {"nearly always": 0.95, "usually": 0.75, "half": 0.5, "sometimes": 0.3, "seldom": 0.12},
    "trust": {"measured": 1, "seen": 1, "told": 0.8, "remembered": 0.5},
    "misreport": {"measured": 0, "seen": 0.01, "told": 0.05, "remembered": 0.1},
    "limits": {"base total": 2, "ratio cap": 20, "not listed base": 0.12, "not listed link": 0.3},
}
HERE = Path(__file__).parent
ROOT = HERE.parents[1]


def _knowledge(*changes: tuple[str, str]) -> Knowledge:
    text = (HERE / "small" / "bench.yaml").read_text(encoding="utf-8")
    for old, new in changes:
        assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times"
        text = text.replace(old, new)
    return compile_files([SourceFile("words.yaml", _words(), "k"), SourceFile("bench.yaml", text.encode(), "k")])[0]


def _words() -> bytes:
    """The shipped tables of words with the numbers of the small trade in them."""
    tables = yaml.safe_load((ROOT / "knowledge" / "words.yaml").read_text(encoding="utf-8"))
    for name, numbers in NUMBERS.items():
        tables["words"][name]["values"].update(
            {word: number for word, number in numbers.items() if word in tables["words"][name]["values"]}
        )
    return yaml.safe_dump(tables, allow_unicode=True, sort_keys=False).encode()


@pytest.fixture(scope="session")
def trade() -> Knowledge:
    """The small trade as it stands."""
    return _knowledge()


@pytest.fixture
def consult(trade: Knowledge) -> Callable[..., Situation]:
    """Look at a case, given as the text below `answers:`; *changes* rewrite the small trade first."""

    def look(
        answers: str, *changes: tuple[str, str], title: str = "A part", knowledge: Knowledge | None = None
    ) -> Situation:
        known = knowledge or (_knowledge(*changes) if changes else trade)
        text = f"case: 1\ntitle: {title}\nanswers:\n" + "".join(f"  {line}\n" for line in answers.strip().splitlines())
        return Situation(ModelCache(known), case_from_bytes(text.encode(), "case.yaml", known))

    return look


@pytest.fixture
def worded(consult: Callable[..., Situation]) -> Callable[..., Words]:
    """The report in words of a case given as for `consult`."""

    def tell(answers: str, *changes: tuple[str, str], title: str = "A part") -> Words:
        situation = consult(answers, *changes, title=title)
        return words_of(report_of(situation), situation.knowledge)

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
