"""No link at which the first place changes hands is passed over: each is looked for on a grid, network by network made anew."""

import pytest
from msgspec.structs import replace

from diagnose.reasoning.inference import Inference
from diagnose.reasoning.sensitivity import tipping_links

GRID = (1e-6, 0.1, 0.3, 0.5, 0.7, 0.9, 1.0 - 1e-6)


def leads(network, first, rival, name, effect, value):
    """Whether *first* is ahead of *rival* with the link from *name* to *effect* at *value*."""
    findings = tuple(replace(f, links={**f.links, name: value}) if f.id == effect else f for f in network.findings)
    inference = Inference(replace(network, findings=findings))
    part = inference.responsible
    return part[inference.index[first]] > part[inference.index[rival]]


@pytest.mark.parametrize("seed", range(8))
def test_every_link_that_decides_is_named(seed, random_network, of_network):
    """Of the links of the first cause and of its rival those are named over which the order changes, and no others."""
    network = random_network(seed, causes=6, findings=5)
    beliefs = of_network(network).beliefs
    first, rival = beliefs.causes[0].id, beliefs.causes[1].id
    if beliefs.causes[1].probability <= 0.0:
        return
    named = {(t.name, t.effect) for t in tipping_links(Inference(network), first, [rival])}
    deciding = set()
    for finding in network.findings:
        for name in {first, rival} & finding.links.keys():
            ahead = {leads(network, first, rival, name, finding.id, value) for value in GRID}
            if finding.on > 0.0 and len(ahead) == 2:
                deciding.add((name, finding.id))
    assert deciding <= named
    for name, effect in named - deciding:  # between the last points of the grid
        ends = [leads(network, first, rival, name, effect, value) for value in (1e-12, 1.0 - 1e-12)]
        assert ends[0] != ends[1], (name, effect)


def test_some_links_decide(random_network, of_network):
    """Over those nets there are such links, of the first cause and of rivals, to symptoms and to checks."""
    kinds = set()
    for seed in range(8):
        network = random_network(seed, causes=6, findings=5)
        causes = of_network(network).beliefs.causes
        if causes[1].probability <= 0.0:
            continue
        symptoms = {f.id for f in network.findings if f.symptom}
        for t in tipping_links(Inference(network), causes[0].id, [causes[1].id]):
            kinds.add((t.name == causes[0].id, t.effect in symptoms))
    assert {(True, True), (False, True)} <= kinds
