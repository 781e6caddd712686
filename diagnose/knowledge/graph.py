"""The graph of symptoms, checks, facts, causes and remedies, and what it must satisfy as a whole.

networkx holds it: reachability, orphans, what a cause touches, the drawings. The numeric core never walks it. Nodes are
added in the order of the files and every set is sorted before it is shown, so that messages are the same on every run.
"""

from __future__ import annotations

from collections.abc import Iterator

import networkx as nx

from diagnose.errors import Fault
from diagnose.knowledge.callers import Callers
from diagnose.knowledge.kinds import Context
from diagnose.knowledge.model import THIS_PART, Cause, Knowledge, Symptom

Found = Iterator[tuple[str, str, str]]


def graph_of(knowledge: Knowledge) -> nx.DiGraph:
    """Return the directed graph: fact -> cause -> symptom or check result, remedy -> cause.

    Nodes are (kind, id) with the attribute `kind`; edges have a `role`, and their link as `p` and `word` where there is
    one.
    """
    graph = nx.DiGraph()
    for kind, table in (
        ("symptom", knowledge.symptoms),
        ("check", knowledge.checks),
        ("fact", knowledge.facts),
        ("cause", knowledge.causes),
        ("remedy", knowledge.remedies),
    ):
        graph.add_nodes_from(((kind, name) for name in table), kind=kind)
    for name, check in knowledge.checks.items():
        for result in check.results:
            graph.add_node(("result", f"{name}.{result}"), kind="result")
            graph.add_edge(("result", f"{name}.{result}"), ("check", name), role="read by")
    for name, cause in knowledge.causes.items():
        node = ("cause", name)
        for symptom, link in cause.symptoms.items():
            graph.add_edge(node, ("symptom", symptom), role="shows as", p=link.p, word=link.word)
        for check_id, links in cause.checks.items():
            for result, link in links.items():
                graph.add_edge(node, ("result", f"{check_id}.{result}"), role="shows in", p=link.p, word=link.word)
        graph.add_edges_from((("fact", fact), node) for fact in cause.facts)
        for fact in cause.facts:
            graph.edges[("fact", fact), node]["role"] = "bears on"
    for name, remedy in knowledge.remedies.items():
        for fixed, link in remedy.fixes.items():
            graph.add_edge(("remedy", name), ("cause", fixed), role="mends", p=link.p, word=link.word)
    return graph


def graph_faults(knowledge: Knowledge, callers: Callers, context: Context) -> list[Fault]:
    """Return what the knowledge as a whole lacks, each with the place of the entry that lacks it."""
    graph = graph_of(knowledge)
    found = [each for check in _CHECKS for each in check(graph, knowledge)]
    found += [
        ("symptoms", s, "nothing under callers says how it is called")
        for s in knowledge.symptoms
        if s not in callers.phrases
    ]
    faults: list[Fault] = []
    for section, name, message in found:
        place = context.place(f"{section}.{name}")
        faults.append(Fault(place.file, place.line, f"{place.path}: {message}", place.column))
    return faults


def _causes(graph: nx.DiGraph, knowledge: Knowledge) -> Found:
    """Every cause shows somewhere, can be told by something, and can be mended on the next pour."""
    for name in knowledge.causes:
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
        elif all(
            knowledge.remedies[remedy].when == THIS_PART for remedy in remedies
        ):  # between pours is before the next
            yield "causes", name, "has no remedy for the next pour"


def _symptoms(graph: nx.DiGraph, knowledge: Knowledge) -> Found:
    """Every symptom has a cause that can occur on the same build and paint."""
    for name, symptom in knowledge.symptoms.items():
        causes = [cause for kind, cause in graph.predecessors(("symptom", name)) if kind == "cause"]
        if not causes:
            yield "symptoms", name, "nothing causes it"
        elif not any(_together(symptom, knowledge.causes[cause]) for cause in causes):
            yield "symptoms", name, "no cause of it can occur on the same build and paint"
    for name, cause in knowledge.causes.items():
        for other in cause.symptoms:
            if other in knowledge.symptoms and not _together(knowledge.symptoms[other], cause):
                yield "causes", name, f"can't show as '{other}': they never occur on the same build or paint"


def _together(symptom: Symptom, cause: Cause) -> bool:
    builds = not symptom.builds or not cause.builds or bool(set(symptom.builds) & set(cause.builds))
    return builds and (symptom.painted is None or cause.painted is None or symptom.painted == cause.painted)


def _checks(graph: nx.DiGraph, knowledge: Knowledge) -> Found:
    """Every check can show something."""
    for name, check in knowledge.checks.items():
        if not any(graph.in_degree(("result", f"{name}.{result}")) for result in check.results):
            yield "checks", name, "no cause shows in it"


def _remedies_reach(graph: nx.DiGraph, knowledge: Knowledge) -> Found:
    """From every remedy a symptom can be reached: it mends something that somebody can see."""
    for name in knowledge.remedies:
        reached = nx.descendants(graph, ("remedy", name))
        if not any(kind == "symptom" for kind, _ in reached):
            yield "remedies", name, "mends nothing that can be seen"


def _better_in_rings(graph: nx.DiGraph, knowledge: Knowledge) -> Found:
    """Facts that outrank one another in a ring would all fall silent. Each ring is told once, from its first id on."""
    ranks = nx.DiGraph()
    for name, fact in knowledge.facts.items():
        ranks.add_node(name)
        ranks.add_edges_from((name, other) for other in fact.better_than if other in knowledge.facts)
    for ring in sorted(sorted(ring) for ring in nx.strongly_connected_components(ranks)):
        if len(ring) > 1 or ranks.has_edge(ring[0], ring[0]):
            section = "derived" if knowledge.facts[ring[0]].derived else "facts"
            yield section, ring[0], f"better_than runs in a ring: {', '.join(ring)}"


_CHECKS = (_causes, _symptoms, _checks, _remedies_reach, _better_in_rings)
