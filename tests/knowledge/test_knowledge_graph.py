"""The graph of the knowledge: what leads where, what a cause touches, and the same on every run."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import networkx as nx

from diagnose.knowledge import Knowledge
from diagnose.knowledge.graph import graph_of
from tests.patience import WAIT

ROOT = Path(__file__).parents[2]
Compile = Callable[..., Knowledge]


def touched(graph: nx.DiGraph, kind: str, name: str) -> list[tuple[str, str]]:
    """All that depends on, or leads to, the entry: (kind, id) sorted."""
    return sorted(nx.ancestors(graph, (kind, name)) | nx.descendants(graph, (kind, name)))


def test_what_a_cause_touches(compiled: Compile, trade: str) -> None:
    """All that leads to a cause and all that it leads to, sorted."""
    graph = graph_of(compiled(trade))
    assert touched(graph, "cause", "paint_early") == [
        ("fact", "paint_wait"),
        ("remedy", "wait_it_out"),
        ("symptom", "paint_flakes"),
    ]
    assert touched(graph, "remedy", "new_cans") == [
        ("cause", "old_cans"),
        ("check", "cup"),
        ("result", "cup.holed"),
        ("result", "cup.soft"),
        ("symptom", "holes"),
        ("symptom", "soft_face"),
    ]


def test_edges_say_what_they_are(compiled: Compile, trade: str) -> None:
    """Each edge has its role, for the drawings."""
    graph = graph_of(compiled(trade))
    assert graph.edges[("cause", "old_cans"), ("symptom", "holes")]["role"] == "shows as"
    assert graph.edges[("cause", "old_cans"), ("result", "cup.holed")]["role"] == "shows in"
    assert graph.edges[("fact", "paint_wait"), ("cause", "paint_early")]["role"] == "bears on"
    assert graph.edges[("remedy", "new_cans"), ("cause", "old_cans")]["role"] == "mends"


def test_the_checks_say_the_same_under_any_hash_seed(tmp_path: Path, words: str, trade: str) -> None:
    """The order of Python's hashes moves neither a message nor its place, rings of facts among them."""
    spoilt = trade.replace("    error: 1 degC\n", "    error: 1 degC\n    better_than: [face_temperature]\n")
    spoilt = spoilt.replace(
        "    fixes: {coat_dry: usually - the coat still bonds}", "    fixes: {old_cans: usually - the coat still bonds}"
    )
    spoilt = spoilt.replace("      paint_flakes: often - gas", "      soft_face: often - gas").replace(
        "      coat_lifts: usually - nothing", "      soft_face: usually - nothing"
    )
    (tmp_path / "words.yaml").write_text(words, encoding="utf-8")
    (tmp_path / "trade.yaml").write_text(spoilt, encoding="utf-8")
    said = []
    for seed in ("0", "1", "4242"):
        done = subprocess.run(
            [sys.executable, "-m", "diagnose", "knowledge", "check", str(tmp_path)],
            cwd=ROOT,
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            text=True,
            timeout=WAIT,
            check=False,
        )
        assert done.returncode == 2
        said.append(done.stderr)
    assert len(said[0].splitlines()) == 4
    assert said[0] == said[1] == said[2]
