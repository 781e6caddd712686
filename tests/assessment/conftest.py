"""Cases thought through with the shipped knowledge, and the bench cases that were told wrong once."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from diagnose.assessment.assess import assess
from diagnose.assessment.consultation import Consultation, ModelCache
from diagnose.assessment.records import Assessment
from diagnose.casebook import case_from_bytes, read_case
from diagnose.knowledge import load_knowledge

HERE = Path(__file__).parent


@pytest.fixture(scope="session")
def models() -> ModelCache:
    """The shipped knowledge, by build and paint."""
    return ModelCache(load_knowledge())


@pytest.fixture(scope="session")
def consult(models: ModelCache) -> Callable[[str], Consultation]:
    """Think a case through that is given as the lines under `answers`."""

    def look(lines: str) -> Consultation:
        text = "case: 1\nanswers:\n" + "".join(f"  {line}\n" for line in lines.strip().splitlines())
        return Consultation(models, case_from_bytes(text.encode(), "case.yaml", models.knowledge))

    return look


@pytest.fixture(scope="session")
def bench(models: ModelCache) -> Callable[[str], Assessment]:
    """Assess one of the bench cases by the number at the head of its file name."""

    def look(number: str) -> Assessment:
        (path,) = (HERE / "cases").glob(f"{number}-*.yaml")
        return assess(Consultation(models, read_case(path, models.knowledge)))

    return look
