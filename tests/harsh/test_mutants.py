"""Which tests a mutant meets: those that reach its line, of a constant those that reach a line that names it; a kept clean run follows the tree."""

from __future__ import annotations

import pytest

from tests.harsh.mutants import Survey
from tests.harsh.mutation import Mutant, defined_at

SOURCE = """\
LIMIT, OTHER = 5, 6
TABLE: dict[str, int] = {
    "a": 1,
}


class Kept:
    size: int = 3


def held(value: int = 4) -> bool:
    \"\"\"Whether it is held.\"\"\"
    return value <= LIMIT
"""


@pytest.mark.parametrize(
    ("line", "names", "body"),
    [(1, {"LIMIT", "OTHER"}, []), (3, {"TABLE"}, []), (8, {"size"}, []), (7, {"Kept"}, []), (11, {"held"}, [12, 13]), (5, set(), [])],
)  # fmt: skip
def test_what_a_line_of_an_import_gives_a_name_to(line: int, names: set[str], body: list[int]) -> None:
    """The constants, the field, the class, or the function with the lines of its body."""
    found, lines = defined_at(SOURCE, line)
    assert (found, list(lines)) == (names, body)


def mutant(line: int) -> Mutant:
    """A change of this line."""
    return Mutant("x.py", line, "", "", "", "")


def survey() -> Survey:
    """A clean run of three tests in two files: one reaches the body of the function."""
    return Survey(
        {"t.py::quick": 0.1, "t.py::slow": 9.0, "u.py::other": 0.2},
        {"x.py": {"1": [""], "11": [""], "13": ["t.py::slow", "t.py::quick"]}},
        sources={"x.py": SOURCE},
    )


def test_tests_that_reach_a_line_come_quick_ones_first() -> None:
    """Those over the longest are left out unless all are asked for; a constant meets the tests of the lines that name it."""
    assert survey().tests(mutant(13), 3.0) == ["t.py::quick"]
    assert survey().tests(mutant(1), 3.0) == survey().tests(mutant(11), 3.0) == ["t.py::quick"]
    assert survey().tests(mutant(3), 3.0) == ["t.py::quick", "u.py::other"]
    assert survey().tests(mutant(13), None) == ["t.py::quick", "t.py::slow", "u.py::other"]


def test_a_kept_run_follows_lines_that_moved_and_forgets_files_that_changed() -> None:
    """Two lines put in before the function move it; what another file reached stays."""
    kept = survey()
    kept.moved_to({"x.py": SOURCE.replace("def held", "# two\n# lines\ndef held")})
    assert kept.reached["x.py"]["15"] == ["t.py::slow", "t.py::quick"]
    assert kept.reached["x.py"]["13"] == [""]
    kept.without({"t.py"})
    assert (kept.seconds, kept.reached["x.py"]["15"]) == ({"u.py::other": 0.2}, [])
    kept.with_more(Survey({"t.py::new": 0.3}, {"x.py": {"15": ["t.py::new"]}}))
    assert kept.tests(mutant(15), 3.0) == ["t.py::new"]
