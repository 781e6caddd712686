"""A network as any library of Bayesian networks takes it: yes/no nodes with two parents at most, and what is observed.

What is done for the libraries before they start, so that they are given the smallest network that has the same answers: unanswered
findings are left out (barren), absent ones are absorbed into the priors (exact), causes without a link to what is present stay aside (their
posterior is their prior), and a finding with many causes becomes a chain of OR nodes (parent divorcing). Responsibility needs a node for
each link that may fire, and for each cause an OR over those of its links that lead to a symptom seen.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from diagnose.reasoning.network import Finding, Network


@dataclass(frozen=True)
class Node:
    """A yes/no node: P(yes) for each state of its parents, the first parent changing fastest; *noisy*: the chances by which
    each parent alone makes it a yes, and its leak, where it is a noisy-OR of any number of parents (then *yes* is empty)."""

    name: str
    parents: tuple[str, ...]
    yes: tuple[float, ...]
    noisy: tuple[float, ...] = ()
    leak: float = 0.0


@dataclass
class Unrolled:
    """*nodes*, parents first. *evidence*: node -> likelihood of what was told if no, if yes. *aside*: causes that nothing present links to, with
    their posterior. *causes*, *part*: cause -> the node "held", the node "had a part"."""

    nodes: list[Node] = field(default_factory=list)
    evidence: dict[str, tuple[float, float]] = field(default_factory=dict)
    aside: dict[str, float] = field(default_factory=dict)
    causes: dict[str, str] = field(default_factory=dict)
    part: dict[str, str] = field(default_factory=dict)

    def root(self, name: str, chance: float) -> str:
        """Add a node without parents."""
        self.nodes.append(Node(name, (), (chance,)))
        return name

    def either(self, name: str, nodes: list[str], *, whole: bool) -> str:
        """Add an OR over *nodes*, as one node if *whole* and else as a chain; return its last node."""
        if len(nodes) == 1:
            return nodes[0]
        if whole:
            self.nodes.append(Node(name, tuple(nodes), (), (1.0,) * len(nodes)))
            return name
        last = nodes[0]
        for i, node in enumerate(nodes[1:]):
            made = f"{name}_{i}"
            self.nodes.append(Node(made, (last, node), (0.0, 1.0, 1.0, 1.0)))
            last = made
        return last


def reduced(network: Network) -> tuple[dict[str, float], list[Finding]]:
    """Return the priors with the absent findings absorbed, and the findings that are left."""
    kept = [finding for finding in network.findings if finding.on > 0.0]
    priors = {}
    for name, prior in zip(network.causes, network.priors, strict=True):
        quiet = 1.0
        for finding in network.findings:
            if finding.on <= 0.0:
                quiet *= 1.0 - finding.links.get(name, 0.0)
        priors[name] = prior * quiet / (prior * quiet + 1.0 - prior)
    return priors, kept


def unrolled(network: Network, parts: bool, whole: bool = False) -> Unrolled:
    """Return *network* in nodes; with *parts* there are nodes for responsibility. *whole*: noisy-ORs stay whole, for a library that has them."""
    priors, findings = reduced(network)
    made = Unrolled()
    linked = {cause for finding in findings for cause, chance in finding.links.items() if chance > 0.0}
    for i, (cause, prior) in enumerate(priors.items()):
        if cause in linked:
            made.causes[cause] = made.root(f"c{i}", prior)
        else:
            made.aside[cause] = prior
    fired: dict[str, list[str]] = {}
    for j, finding in enumerate(findings):
        links = {made.causes[cause]: chance for cause, chance in finding.links.items() if chance > 0.0}
        add = _with_firings if parts and finding.symptom and finding.seen else _without_firings
        last, fires = add(made, j, finding.leak, links, whole)
        made.evidence[last] = (finding.off, finding.on)
        for node, fire in fires.items():
            fired.setdefault(node, []).append(fire)
    names = {node: cause for cause, node in made.causes.items()}
    made.part = {names[node]: made.either(f"p{node}", fires, whole=whole) for node, fires in fired.items()}
    return made


def _with_firings(
    made: Unrolled, j: int, leak: float, links: dict[str, float], whole: bool
) -> tuple[str, dict[str, str]]:
    """Add a finding with a node for each link that may fire."""
    fires = {}
    for node, chance in links.items():
        fires[node] = f"r{j}_{node}"
        made.nodes.append(Node(fires[node], (node,), (0.0, chance)))
    last = made.either(f"f{j}", [made.root(f"l{j}", leak), *fires.values()], whole=whole)
    return last, fires


def _without_firings(
    made: Unrolled, j: int, leak: float, links: dict[str, float], whole: bool
) -> tuple[str, dict[str, str]]:
    """Add a finding, as one noisy-OR node or as a chain of them."""
    if whole and links:
        made.nodes.append(Node(f"f{j}", tuple(links), (), tuple(links.values()), leak))
        return f"f{j}", {}
    last = made.root(f"l{j}", leak)
    for i, (node, chance) in enumerate(links.items()):
        made.nodes.append(Node(f"f{j}_{i}", (last, node), (0.0, 1.0, chance, 1.0)))
        last = f"f{j}_{i}"
    return last, {}
