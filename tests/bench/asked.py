"""A case as a general-purpose library sees it, asked for more than beliefs: joint chances of findings that nobody told yet, of causes having
had a part, and of something being left unmended."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import product
from typing import Any

import numpy as np

from diagnose.reasoning.finding import Finding
from diagnose.reasoning.network import Model, Network
from tests.bench.peers import agrum_net, pgmpy_models
from tests.bench.unrolled import Node, unrolled

#: links and leak of a finding of which nothing is told
Open = tuple[Mapping[str, float], float]


class Asked:
    """The network of a case with the findings of open questions hung on (*rows*), put to *library* (`pyagrum` or `pgmpy`).

    *mend*: the chance that each cause is mended; then `ends` is the node "something that had a part is left", for which a leak is always
    left. *hung*: the nodes of the open findings.
    """

    def __init__(
        self,
        network: Network,
        rows: Sequence[Open] = (),
        mend: Mapping[str, float] | None = None,
        library: str = "pyagrum",
    ) -> None:
        hung = [Finding(f"q{i}", "", False, True, 1.0, 1.0, leak, links) for i, (links, leak) in enumerate(rows)]
        self.made = unrolled(Network(network.causes, network.priors, (*network.findings, *hung), {}), True)
        told = list(self.made.evidence)
        self.hung = told[len(told) - len(hung) :]
        self.ends = [] if mend is None else [self._unmended(network, mend)]
        self._joint = {"pyagrum": self._by_agrum, "pgmpy": self._by_pgmpy}[library]()

    def _unmended(self, network: Network, mend: Mapping[str, float]) -> str:
        left = []
        for cause, part in self.made.part.items():
            self.made.nodes.append(Node(f"left{len(left)}", (part,), (0.0, 1.0 - mend.get(cause, 0.0))))
            left.append(f"left{len(left)}")
        kept = [finding for finding in network.findings if finding.on > 0.0]
        left += [f"l{j}" for j, finding in enumerate(kept) if finding.symptom and finding.seen]
        return self.made.either("unmended", left, whole=False)

    def joint(self, nodes: Sequence[str]) -> Any:
        """P(the states of *nodes*), an axis a node, shape (2, ..., 2), given all that was told."""
        return self._joint(list(nodes))

    def _by_agrum(self) -> Any:
        import pyagrum as gum

        engine = gum.LazyPropagation(agrum_net(self.made))
        engine.setEvidence({node: list(weights) for node, weights in self.made.evidence.items()})

        def ask(nodes: list[str]) -> Any:
            engine.addJointTarget(set(nodes))
            engine.makeInference()
            found = engine.jointPosterior(set(nodes))
            states = product((0, 1), repeat=len(nodes))
            return np.array([found[dict(zip(nodes, s, strict=True))] for s in states]).reshape((2,) * len(nodes))

        return ask

    def _by_pgmpy(self) -> Any:
        from pgmpy.inference import VariableElimination

        ((_, model, evidence),) = pgmpy_models(self.made)
        engine = VariableElimination(model)

        def ask(nodes: list[str]) -> Any:
            found = engine.query(nodes, evidence=evidence, elimination_order="greedy", show_progress=False)
            return np.moveaxis(found.values, [found.variables.index(node) for node in nodes], range(len(nodes)))

        return ask


def row_of(model: Model, question: str) -> list[Open]:
    """Links and leaks of an open question's levels, most telling first."""
    check = model.knowledge.checks.get(question)
    if check is None:
        return [(model.symptom_links(question), model.knowledge.symptoms[question].background)]
    links = model.result_links(check)
    return [(links[result], model.leak(check, result)) for result in reversed(check.telling)]


def entropy(chances: Sequence[float]) -> float:
    """Bits of yes/no chances, summed."""
    return float(sum(-q * np.log2(q) for p in chances for q in (p, 1.0 - p) if q > 0.0))
