"""The whole knowledge with real answers against a general-purpose library: lazy propagation on small tables, to 1e-9.

A finding with thirty causes is unrolled into a chain of OR nodes with two parents each, so that no table is large. With a node
for every firing of a link, "had a part" is a node too.
"""

import json

import pytest

from diagnose.assessment.assess import assess
from diagnose.reasoning.network import Finding, Network
from diagnose.report.json import arithmetic, result, to_json

gum = pytest.importorskip("pyagrum")

WITH_PARTS = (
    "biscuit-skin-in-a-warm-room",
    "brown-skin-swirled-through",
    "enamel-on-a-blade",
    "glazed-pits-in-the-creases",
    "ripped-ear-roots",
    "wiped-and-painted",
    "sticky-necks",
    "one-to-two-of-what",
    "brains-on-the-ridges",
)


class Library:
    """The network of one case as the library has it."""

    def __init__(self, network, parts=False):
        self.net = gum.BayesNet()
        self.network = network
        self.parts = parts
        self.evidence = {}
        self.fired = {}
        for name, prior in zip(network.causes, network.priors, strict=True):
            self.root(name, prior)
        for j, finding in enumerate(network.findings):
            self.finding(j, finding)
        if parts:
            for name, nodes in self.fired.items():
                self.either(f"part {name}", nodes)
            unknown = [f"leak {j}" for j, finding in enumerate(network.findings) if finding.symptom and finding.seen]
            self.unexplained = self.either("unexplained", [*unknown, *self.fired["not_listed"]])

    def node(self, name):
        """Add a yes/no node."""
        return self.net.add(gum.LabelizedVariable(name, "", 2))

    def root(self, name, chance):
        """Add a node without parents."""
        self.node(name)
        self.net.cpt(name).fillWith([1.0 - chance, chance])

    def either(self, name, nodes):
        """Add a chain of ORs over *nodes*; its last node is *name*."""
        last = nodes[0]
        for i, node in enumerate(nodes[1:]):
            made = f"{name} {i}"
            self.node(made)
            self.net.addArc(last, made)
            self.net.addArc(node, made)
            for a in (0, 1):
                for b in (0, 1):
                    self.net.cpt(made)[{last: a, node: b}] = [1.0 - max(a, b), float(max(a, b))]
            last = made
        return last

    def finding(self, j, finding):
        """Add one finding, and its reading as evidence."""
        self.root(f"leak {j}", finding.leak)
        self.implied(f"leak {j}", finding)
        last = f"leak {j}"
        for name, link in finding.links.items():
            if self.parts:
                fires = f"fires {j} {name}"
                self.node(fires)
                self.net.addArc(name, fires)
                self.net.cpt(fires)[{name: 0}] = [1.0, 0.0]
                self.net.cpt(fires)[{name: 1}] = [1.0 - link, link]
                if finding.symptom and finding.seen:
                    self.fired.setdefault(name, []).append(fires)
                last = self.either(f"f {j} {name}", [last, fires])
                self.implied(fires, finding)
                self.implied(last, finding)
                continue
            made = f"f {j} {name}"
            self.node(made)
            self.net.addArc(last, made)
            self.net.addArc(name, made)
            for was in (0, 1):
                for holds in (0, 1):
                    quiet = 0.0 if was else 1.0 - link * holds
                    self.net.cpt(made)[{last: was, name: holds}] = [quiet, 1.0 - quiet]
            last = made
            self.implied(last, finding)
        self.evidence[last] = [finding.off, finding.on]

    def implied(self, node, finding):
        """Where a finding is absent for certain nothing in its chain has fired: told to the library, which else runs out of room."""
        if finding.on == 0.0:
            self.evidence[node] = [1.0, 0.0]

    def posteriors(self):
        """P(cause held), and with parts P(it had a part), by cause; `unexplained` among the parts under an empty name."""
        engine = gum.LazyPropagation(self.net)
        engine.setEvidence(self.evidence)
        engine.makeInference()
        held = {name: engine.posterior(name)[1] for name in self.network.causes}
        last = {
            name: nodes[0] if len(nodes) == 1 else f"part {name} {len(nodes) - 2}" for name, nodes in self.fired.items()
        }
        if self.parts:
            last[""] = self.unexplained
        return held, {name: engine.posterior(node)[1] for name, node in last.items()}


def test_present_with_the_whole_knowledge(consulted, of_network):
    """Every cause of every worked case is as likely present as the library says."""
    worst = 0.0
    for situation in (consultation.situation for consultation in consulted.values()):
        held, _ = Library(situation.network).posteriors()
        for cause in of_network(situation.network).beliefs.causes:
            worst = max(worst, abs(held[cause.id] - cause.present))
    assert worst < 1e-9


@pytest.mark.parametrize("name", WITH_PARTS)
def test_parts_with_a_node_for_each_firing(name, consulted, of_network):
    """The chance of a part equals that of an explicit node over the firings of the cause's links."""
    network = consulted[name].situation.network
    held, part = Library(network, parts=True).posteriors()
    beliefs = of_network(network).beliefs
    for cause in beliefs.causes:
        assert held[cause.id] == pytest.approx(cause.present, abs=1e-9)
        assert part.get(cause.id, 0.0) == pytest.approx(cause.probability, abs=1e-9)
    assert part["not_listed"] == pytest.approx(beliefs.not_listed, abs=1e-9)
    assert part[""] == pytest.approx(beliefs.unexplained, abs=1e-9)


def test_the_printed_network_is_all_there_is(consulted):
    """From the printed JSON alone the library comes to the printed figures."""
    consultation = consulted["enamel-on-a-blade"]
    whole = {**result(assess(consultation)), "network": arithmetic(consultation.situation.network)}
    printed = json.loads(to_json(whole))
    dump = printed["network"]
    findings = tuple(
        Finding(f["id"], "", f["symptom"], f["seen"], f["on"], f["off"], f["leak"], f["links"])
        for f in dump["findings"]
    )
    held, part = Library(
        Network(tuple(dump["priors"]), tuple(dump["priors"].values()), findings, {}), parts=True
    ).posteriors()
    for cause in printed["causes"]:
        assert cause["present"] == pytest.approx(held[cause["id"]], abs=1e-9)
        assert cause["probability"] == pytest.approx(part.get(cause["id"], 0.0), abs=1e-9)
    assert printed["unexplained"] == pytest.approx(part[""], abs=1e-9)
