"""The benchmark runs to its end on a tiny size, and what it holds ours against is right. No time is looked at here."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.bench import nets, page
from tests.bench.cells import Cell, run
from tests.bench.peers import Peer, missing
from tests.bench.reference import reference
from tests.bench.side_by_side import slope
from tests.reasoning.conftest import brute_force, make_network
from tests.reasoning.test_sweep_digits import by_inclusion_exclusion, quick_medical

ROOT = Path(__file__).parents[2]


@pytest.mark.timeout(600)
def test_quick_runs_to_its_end_and_agrees() -> None:
    """`--quick` measures, prints its tables, and exits 0 only where the error of ours is below 1e-12."""
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    words = [sys.executable, "-m", "tests.bench", "--quick"]
    done = subprocess.run(words, cwd=ROOT, env=env, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "- Met: error below 1e-12 throughout" in done.stdout
    assert "### 4 x 8" in done.stdout


@pytest.mark.parametrize("seed", range(10))
def test_the_reference_is_the_enumeration(seed: int) -> None:
    """What ours is held against equals the enumeration of all causes and firings."""
    network = make_network(seed)
    held, part = reference(network)
    expected = brute_force(network)
    assert held == pytest.approx(expected["present"], abs=1e-13)
    assert part == pytest.approx(expected["probability"], abs=1e-13)


def test_the_reference_with_ten_present() -> None:
    """And it equals the other sum in whole numbers, to the last digit of a float, with ten findings present."""
    network = quick_medical(10, causes=20)
    held, part = reference(network)
    for name, pair in by_inclusion_exclusion(network, ("c0", "c7", "not_listed")).items():
        assert (held[name], part[name]) == pytest.approx(pair, rel=1e-15)


@pytest.mark.parametrize(("name", "present"), [("20 x 40", 6), (nets.OURS, 10), ("4 x 8", 3)])
def test_a_case_has_as_many_present_as_asked(name: str, present: int) -> None:
    """Drawn cases have the findings present that they should, the rest absent, and are the same each time."""
    network = nets.drawn(name, present, 0)
    assert sum(finding.seen for finding in network.findings) == present
    assert any(not finding.seen for finding in network.findings)
    assert network == nets.drawn(name, present, 0)


@pytest.mark.timeout(120)
def test_what_is_too_long_says_so() -> None:
    """A measurement beyond its processor time is stopped and told, and more findings present are not tried."""
    cell = Cell("reference", "60 x 200", (18, 20), "", True, (0,), 0.0, 6144)
    found = run(cell)
    assert found.records == {}
    assert found.failures == {18: "over 0 s", 20: "not tried"}


def test_a_library_that_is_not_there_is_named() -> None:
    """One line says what is missing and how to get it."""
    gone = Peer("none", "no_such_library", "", lambda network, parts: lambda: ({}, {}))
    assert missing([gone]) == ["no_such_library is not installed and is left out: pip install '.[bench]'"]


def test_a_part_of_the_page_takes_the_place_of_the_one_before(tmp_path: Path) -> None:
    """What stands around the marks stays; a page without marks is refused."""
    path = tmp_path / "speed.md"
    path.write_text("a\n<!-- growth: made by a command -->\nold\n<!-- end of growth -->\nb\n", encoding="utf-8")
    page.put("growth", "new\\1", path)
    assert path.read_text(encoding="utf-8") == (
        "a\n<!-- growth: made by a command -->\n\nnew\\1\n\n<!-- end of growth -->\nb\n"
    )
    with pytest.raises(ValueError, match="expected a line"):
        page.put("side by side", "new", path)


def test_slope_of_a_doubling() -> None:
    """The logarithm of what doubles rises by log 2."""
    assert slope([(1, 2.0), (2, 4.0), (3, 8.0)]) == pytest.approx(0.6931471805599453)
