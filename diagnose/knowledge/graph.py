"""The graph of symptoms, checks, facts, causes and remedies, and what it must satisfy as a whole.

networkx holds it: reachability, orphans, what a cause touches, the drawings. The numeric core never walks it. Nodes are
added in the order of the files and every set is sorted before it is shown, so that messages are the same on every run.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import networkx as nx

from diagnose.errors import Fault
from diagnose.knowledge.model import Knowledge

Plain = dict[str, Any]
Lines = dict[tuple[str, str], tuple[str, int]]


def build_graph(plain: Plain) -> nx.DiGraph:
    """Return the directed graph: fact -> cause -> symptom or check result, remedy -> cause; node attribute `kind`."""
    graph = nx.DiGraph()
    for kind, section in (
        ("symptom", "symptoms"),
        ("check", "checks"),
        ("fact", "facts"),
        ("cause", "causes"),
        ("remedy", "remedies"),
    ):
        for name in plain[section]:
            graph.add_node((kind, name), kind=kind)
    for name, check in plain["checks"].items():
        for result in check["results"]:
            graph.add_node(("result", f"{name}.{result}"), kind="result")
            graph.add_edge(("result", f"{name}.{result}"), ("check", name), role="read by")
    for name, cause in plain["causes"].items():
        for symptom in cause["symptoms"]:
            graph.add_edge(("cause", name), ("symptom", symptom), role="shows as")
        for check, results in cause["checks"].items():
            for result in results:
                graph.add_edge(("cause", name), ("result", f"{check}.{result}"), role="shows in")
        for fact in cause["facts"]:
            graph.add_edge(("fact", fact), ("cause", name), role="bears on")
    for name, remedy in plain["remedies"].items():
        for cause in remedy["fixes"]:
            graph.add_edge(("remedy", name), ("cause", cause), role="mends")
    return graph


def graph_of(knowledge: Knowledge) -> nx.DiGraph:
    """Return the graph of *knowledge* as `build_graph` makes it; edges of effects and remedies carry their link as *p* and *word*."""
    graph = build_graph(
        {
            "symptoms": knowledge.symptoms,
            "facts": knowledge.facts,
            "checks": {name: {"results": check.results} for name, check in knowledge.checks.items()},
            "causes": {
                name: {"symptoms": c.symptoms, "checks": c.checks, "facts": c.facts}
                for name, c in knowledge.causes.items()
            },
            "remedies": {name: {"fixes": remedy.fixes} for name, remedy in knowledge.remedies.items()},
        }
    )
    for name, cause in knowledge.causes.items():
        for symptom, link in cause.symptoms.items():
            graph.edges[("cause", name), ("symptom", symptom)].update(p=link.p, word=link.word)
        for check, results in cause.checks.items():
            for result, link in results.items():
                graph.edges[("cause", name), ("result", f"{check}.{result}")].update(p=link.p, word=link.word)
    for name, remedy in knowledge.remedies.items():
        for fixed, link in remedy.fixes.items():
            graph.edges[("remedy", name), ("cause", fixed)].update(p=link.p, word=link.word)
    return graph


def graph_faults(plain: Plain, lines: Lines) -> list[Fault]:
    """Return what the knowledge as a whole lacks, each with the place of the entry that lacks it."""
    graph = build_graph(plain)
    faults: list[Fault] = []
    for check in (_causes, _symptoms, _checks, _remedies_reach, _better_in_rings):
        for section, name, message in check(graph, plain):
            file, line = lines.get((section, name), ("", 0))
            faults.append(Fault(file, line, f"{section}.{name}: {message}"))
    return faults


Found = Iterator[tuple[str, str, str]]


def _causes(graph: nx.DiGraph, plain: Plain) -> Found:
    """Every cause shows somewhere, can be told by something, and can be mended on the next pour."""
    for name in plain["causes"]:
        node = ("cause", name)
        below = {kind for kind, _ in graph.successors(node)}
        above = {kind for kind, _ in graph.predecessors(node)}
        if "symptom" not in below:
            yield "causes", name, "produces no symptom, so it can never be found"
        if "fact" not in above and "result" not in below:
            yield "causes", name, "has no evidence: no fact bears on it and no check shows it"
        remedies = [remedy for kind, remedy in graph.predecessors(node) if kind == "remedy"]
        if not remedies:
            yield "causes", name, "has no remedy"
        elif not any(
            plain["remedies"][remedy]["when"] in ("next_pour", "shelf") for remedy in remedies
        ):  # between pours is before the next
            yield "causes", name, "has no remedy for the next pour"


def _symptoms(graph: nx.DiGraph, plain: Plain) -> Found:
    """Every symptom has a cause that can occur on the same build and paint."""
    for name, symptom in plain["symptoms"].items():
        causes = [cause for kind, cause in graph.predecessors(("symptom", name)) if kind == "cause"]
        if not causes:
            yield "symptoms", name, "nothing causes it"
        elif not any(_together(symptom, plain["causes"][cause]) for cause in causes):
            yield "symptoms", name, "no cause of it can occur on the same build and paint"
    for name, cause in plain["causes"].items():
        for symptom in cause["symptoms"]:
            if symptom in plain["symptoms"] and not _together(plain["symptoms"][symptom], cause):
                yield "causes", name, f"can't show as '{symptom}': they never occur on the same build or paint"


def _together(one: Plain, other: Plain) -> bool:
    builds = not one["builds"] or not other["builds"] or bool(set(one["builds"]) & set(other["builds"]))
    return builds and (one["painted"] is None or other["painted"] is None or one["painted"] == other["painted"])


def _checks(graph: nx.DiGraph, plain: Plain) -> Found:
    """Every check can show something."""
    for name in plain["checks"]:
        if not any(graph.in_degree(("result", f"{name}.{result}")) for result in plain["checks"][name]["results"]):
            yield "checks", name, "no cause shows in it"


def _remedies_reach(graph: nx.DiGraph, plain: Plain) -> Found:
    """From every remedy a symptom can be reached: it mends something that somebody can see."""
    for name in plain["remedies"]:
        reached = nx.descendants(graph, ("remedy", name))
        if not any(kind == "symptom" for kind, _ in reached):
            yield "remedies", name, "mends nothing that can be seen"


def _better_in_rings(graph: nx.DiGraph, plain: Plain) -> Found:
    """Facts that outrank one another in a ring would all fall silent. Each ring is told once, from its first id on."""
    ranks = nx.DiGraph()
    for name, fact in plain["facts"].items():
        ranks.add_node(name)
        ranks.add_edges_from((name, other) for other in fact["better_than"] if other in plain["facts"])
    for ring in sorted(sorted(ring) for ring in nx.strongly_connected_components(ranks)):
        if len(ring) > 1 or ranks.has_edge(ring[0], ring[0]):
            section = "derived" if plain["facts"][ring[0]]["derived"] else "facts"
            yield section, ring[0], f"better_than runs in a ring: {', '.join(ring)}"


def touched(graph: nx.DiGraph, kind: str, name: str) -> list[tuple[str, str]]:
    """Return all that depends on, or leads to, the entry: (kind, id) sorted."""
    node = (kind, name)
    return sorted(nx.ancestors(graph, node) | nx.descendants(graph, node))
