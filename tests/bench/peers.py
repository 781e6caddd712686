"""Those that are compared: our reasoning, and two general-purpose libraries, each in more than one configuration.

Each is made ready with a network (`prepare`) and then asked (`infer`); both are timed. What a library can settle before it sees the
evidence's weights (its junction tree) belongs to being made ready. A library's threads are held to one, as ours.
"""

from __future__ import annotations

import importlib.util
import warnings
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from diagnose.reasoning.inference import Inference
from diagnose.reasoning.network import Network
from tests.bench.unrolled import Node, Unrolled, unrolled

#: what was asked for: cause -> chance that it held, cause -> chance that it had a part
Answer = tuple[Mapping[str, float], Mapping[str, float]]
Prepared = Callable[[], Answer]


@dataclass(frozen=True)
class Peer:
    """*module*: what has to be installed. *how*: the configuration in words. *prepare*: network, whether parts are asked -> ready."""

    name: str
    module: str
    how: str
    prepare: Callable[[Network, bool], Prepared]

    @property
    def there(self) -> bool:
        """Whether it is installed."""
        return importlib.util.find_spec(self.module) is not None


# -- ours ----------------------------------------------------------------------------------------------------------


def _ours(network: Network, parts: bool) -> Prepared:
    inference = Inference(network)

    def infer() -> Answer:  # the pass is made when the first chance is asked for, and kept
        held, had = inference.present.tolist(), inference.responsible.tolist()
        return dict(zip(inference.names, held, strict=True)), dict(zip(inference.names, had, strict=True))

    return infer


# -- pyAgrum -------------------------------------------------------------------------------------------------------


def agrum_net(made: Unrolled) -> Any:
    """Return the nodes as a network of pyAgrum."""
    import pyagrum as gum

    net = gum.BayesNet()
    for node in made.nodes:
        variable = gum.LabelizedVariable(node.name, "", 2)
        if node.noisy:
            net.addNoisyORNet(variable, node.leak)
            for parent, chance in zip(node.parents, node.noisy, strict=True):
                net.addWeightedArc(parent, node.name, chance)
            continue
        net.add(variable)
        for parent in node.parents:
            net.addArc(parent, node.name)
        net.cpt(node.name).fillWith([p for yes in node.yes for p in (1.0 - yes, yes)])
    return net


def _agrum(engine_name: str, whole: bool) -> Callable[[Network, bool], Prepared]:
    def prepare(network: Network, parts: bool) -> Prepared:
        import pyagrum as gum

        gum.setNumberOfThreads(1)
        made = unrolled(network, parts, whole)
        net = agrum_net(made)
        engine = getattr(gum, engine_name)(net)
        engine.setEvidence({node: list(weights) for node, weights in made.evidence.items()})
        engine.setTargets({*made.causes.values(), *made.part.values()})
        engine.junctionTree()

        def infer() -> Answer:
            engine.makeInference()
            return _answer(made, lambda node: float(engine.posterior(node)[1]))

        return infer

    return prepare


# -- pgmpy ---------------------------------------------------------------------------------------------------------


def pgmpy_models(made: Unrolled) -> list[tuple[set[str], Any, dict[str, int]]]:
    """Return a model for each part of the network that hangs together: its nodes, the model, its evidence."""
    warnings.filterwarnings("ignore")
    import networkx as nx
    from pgmpy.factors.discrete import TabularCPD
    from pgmpy.models import DiscreteBayesianNetwork

    nodes = {node.name: node for node in made.nodes}
    for name, (no, yes) in made.evidence.items():  # what was told, as a node of its own that is surely seen
        top = max(no, yes)
        nodes[f"e{name}"] = Node(f"e{name}", (name,), (no / top, yes / top))
    graph = nx.Graph()
    graph.add_nodes_from(nodes)
    graph.add_edges_from((parent, node.name) for node in nodes.values() for parent in node.parents)
    found = []
    for names in nx.connected_components(graph):
        mine = [node for node in nodes.values() if node.name in names]
        model = DiscreteBayesianNetwork([(parent, node.name) for node in mine for parent in node.parents])
        model.add_nodes_from([node.name for node in mine])
        model.add_cpds(*(TabularCPD(*_table(node)) for node in mine))
        found.append((names, model, {f"e{name}": 1 for name in made.evidence if name in names}))
    return found


def _table(node: Node) -> tuple[str, int, list[list[float]], tuple[str, ...], list[int]]:
    """Arguments of a table of pgmpy, whose last parent changes fastest: the parents turned round."""
    return node.name, 2, [[1.0 - p for p in node.yes], list(node.yes)], node.parents[::-1], [2] * len(node.parents)


def _pgmpy(engine_of: Callable[[Any], Callable[[str, dict[str, int]], float]]) -> Callable[[Network, bool], Prepared]:
    def prepare(network: Network, parts: bool) -> Prepared:
        made = unrolled(network, parts)
        place = {}
        for names, model, evidence in pgmpy_models(made):
            ask = engine_of(model)
            place.update(dict.fromkeys(names, (ask, evidence)))

        def chance(node: str) -> float:
            ask, evidence = place[node]
            return ask(node, evidence)

        return lambda: _answer(made, chance)

    return prepare


def _elimination(model: Any) -> Callable[[str, dict[str, int]], float]:
    from pgmpy.inference import VariableElimination

    engine = VariableElimination(model)
    return lambda node, evidence: float(
        engine.query([node], evidence=evidence, elimination_order="greedy", show_progress=False).values[1]
    )


def _propagation(model: Any) -> Callable[[str, dict[str, int]], float]:
    from pgmpy.inference import BeliefPropagation

    engine = BeliefPropagation(model)
    engine.calibrate()
    return lambda node, evidence: float(engine.query([node], evidence=evidence, show_progress=False).values[1])


def _answer(made: Unrolled, chance: Callable[[str], float]) -> Answer:
    held = {cause: chance(node) for cause, node in made.causes.items()}
    return {**made.aside, **held}, {cause: chance(node) for cause, node in made.part.items()}


PEERS: Mapping[str, Peer] = {
    peer.name: peer
    for peer in (
        Peer("ours", "numpy", "the sweep of `diagnose.reasoning`, one row", _ours),
        Peer(
            "pyAgrum lazy",
            "pyagrum",
            "LazyPropagation, the causes (and parts) as its targets, chains of ORs",
            _agrum("LazyPropagation", False),
        ),
        Peer(
            "pyAgrum noisy-OR",
            "pyagrum",
            "LazyPropagation, its own noisy-OR nodes (addNoisyORNet)",
            _agrum("LazyPropagation", True),
        ),
        Peer(
            "pyAgrum Shafer-Shenoy",
            "pyagrum",
            "ShaferShenoyInference, chains of ORs",
            _agrum("ShaferShenoyInference", False),
        ),
        Peer(
            "pgmpy elimination",
            "pgmpy",
            "VariableElimination, greedy order (opt_einsum), a query for each cause, chains of ORs",
            _pgmpy(_elimination),
        ),
        Peer(
            "pgmpy propagation",
            "pgmpy",
            "BeliefPropagation, calibrated beforehand, a query for each cause, chains of ORs",
            _pgmpy(_propagation),
        ),
    )
}


def missing(peers: Iterable[Peer]) -> list[str]:
    """One line for each library that is not installed."""
    wanted = sorted({peer.module for peer in peers if not peer.there})
    return [f"{module} is not installed and is left out: pip install '.[bench]'" for module in wanted]
