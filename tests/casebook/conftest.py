"""The shipped knowledge, and a shop that writes case files."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from diagnose.casebook import Case, case_from_bytes
from diagnose.errors import FileFaults
from diagnose.knowledge import Knowledge, load_knowledge

Read = Callable[[str], Case]


@pytest.fixture(scope="session")
def knowledge() -> Knowledge:
    """The shipped knowledge."""
    return load_knowledge()


@pytest.fixture
def read(knowledge: Knowledge) -> Read:
    """Read the text of a case file."""
    return lambda text: case_from_bytes(text.encode(), "owl.yaml", knowledge)


@pytest.fixture
def answered(read: Read) -> Read:
    """Read a case with these lines under `answers` (the first of them in line 3)."""
    return lambda lines: read("case: 1\nanswers:\n" + "".join(f"  {line}\n" for line in lines.splitlines()))


@pytest.fixture
def refusal(knowledge: Knowledge) -> Callable[[str], list[str]]:
    """Return the faults of a case file, a line each."""

    def faults(text: str) -> list[str]:
        with pytest.raises(FileFaults) as caught:
            case_from_bytes(text.encode(), "owl.yaml", knowledge)
        return [str(fault) for fault in caught.value.faults]

    return faults
