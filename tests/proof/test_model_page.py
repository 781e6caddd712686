"""Every number of the example in `docs/model.md`, redone by the program and by listing all sets of causes."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from itertools import product

import pytest

from diagnose.knowledge import load_knowledge
from diagnose.reasoning.finding import Finding
from diagnose.reasoning.inference import Inference
from diagnose.reasoning.network import Network
from tests.proof.documents import ROOT

PAGE = (ROOT / "docs" / "model.md").read_text(encoding="utf-8")
TEXT = " ".join(PAGE.split())
ROWS = {
    (False, False): "neither",
    (True, False): "cold alone",
    (False, True): "wet alone",
    (True, True): "cold and wet",
}
STICKY = Finding("sticky", "sticky", True, True, 1.0, 0.0, 0.02, {"cold": 0.75, "wet": 0.5})
FILM = Finding("film", "film", True, True, 1.0, 0.0, 0.02, {"wet": 0.5})
NO_FILM = Finding("film", "film", True, False, 0.0, 1.0, 0.02, {"wet": 0.5})


def _beliefs(cold: float, *findings: Finding) -> Inference:
    return Inference(Network(("cold", "wet", "not_listed"), (cold, 0.1, 0.0), findings, {}))


def _table(cold: float) -> Iterator[tuple[str, float, float, bool]]:
    """(words, how often, face sticky, whether wet) for each set of causes."""
    for c, w in sorted(product((False, True), repeat=2), key=lambda set_: (set_[1], set_[0])):
        often = (cold if c else 1 - cold) * (0.1 if w else 0.9)
        yield ROWS[c, w], often, 1 - 0.98 * (0.25 if c else 1) * (0.5 if w else 1), w


def _rows(name: str) -> list[list[str]]:
    """The cells of each row of the page that is called *name*."""
    return [[cell.strip() for cell in row.split("|")[2:-1]] for row in re.findall(rf"^\| {name} \|.*$", PAGE, re.M)]


def test_the_numbers_of_the_words_are_those_of_the_files() -> None:
    """Usually, often, ordinary and "for" as in `knowledge/words.yaml`; half the weight of what is remembered."""
    words = load_knowledge(None).words
    assert [words["likelihood"][word] for word in ("usually", "often")] == [0.75, 0.5]
    assert words["background"]["ordinary"] == 0.02
    assert words["ratio"]["for"] == 4.0
    assert 0.25 * 4.0 ** words["trust"]["remembered"] == pytest.approx(0.5)


@pytest.mark.parametrize(("at", "cold", "digits"), [(0, 0.2, 5), (1, 0.5, 6)])
def test_the_tables_of_the_sticky_face(at: int, cold: float, digits: int) -> None:
    """How often, sticky and both, row by row, and the beliefs behind them."""
    total = sum(often * sticky for _, often, sticky, _ in _table(cold))
    for name, often, sticky, _ in _table(cold):
        cells = _rows(name)[at]
        assert cells[0].endswith(f"{often:.4f}")
        assert cells[1].endswith(f"{sticky:.4f}")
        assert cells[2] == f"{often * sticky:.{digits}f}"
        for cell in cells[:2]:
            if "=" in cell:
                left, right = cell.replace(" x ", "*").split(" = ")
                assert eval(left, {}) == pytest.approx(float(right), abs=1e-9)
    found = _beliefs(cold, STICKY)
    assert found.evidence == pytest.approx(total, abs=1e-12)
    assert f"{total:.{digits}f}" in TEXT
    for chance in found.present[:2]:
        assert f"**{chance:.4f}**" in TEXT


def test_a_cause_that_had_a_part() -> None:
    """The chance beside the name."""
    assert f"**{_beliefs(0.5, STICKY).responsible[0]:.4f}**" in TEXT
    assert f"{0.45 * 0.25 * 0.02:.6f}" in TEXT
    assert f"{0.05 * 0.25 * 0.51:.6f}" in TEXT


def test_the_look_that_tells_most() -> None:
    """With and without a film, and the bits."""
    sums = [0.0, 0.0, 0.0]
    for name, often, sticky, wet in _table(0.5):
        none = often * sticky * (0.49 if wet else 0.98)
        row = [often * sticky, none, often * sticky - none]
        sums = [a + b for a, b in zip(sums, row, strict=True)]
        assert _rows(name)[2] == [f"{value:.6f}" for value in row]
    assert _rows("sum") == [[f"{value:.6f}" for value in sums]]
    before, film, no_film = (float(_beliefs(0.5, STICKY, *more).present[1]) for more in ((), (FILM,), (NO_FILM,)))
    shows = sums[2] / sums[0]
    assert before == pytest.approx(shows * film + (1 - shows) * no_film, abs=1e-12)
    left = shows * _doubt(film) + (1 - shows) * _doubt(no_film)
    for told in (f"**{film:.4f}**", f"**{no_film:.4f}**", f"**{_doubt(before) - left:.4f}**", f"= {left:.4f} left"):
        assert told in TEXT
    for value in (shows, 1 - shows, before, _doubt(before), _doubt(film), _doubt(no_film)):
        assert f"{value:.4f}" in TEXT


def _doubt(p: float) -> float:
    """Entropy of a chance, in bits (Shannon 1948)."""
    return -p * math.log2(p) - (1 - p) * math.log2(1 - p)
