"""Every tipping value checked by making the network anew with the number changed; every hinge by thinking the case through without the answer."""

import math
import random

import pytest
from msgspec.structs import replace

from diagnose.assessment.consultation import Consultation
from diagnose.reasoning import situation as reasoning
from diagnose.reasoning.answers import Answer
from diagnose.reasoning.finding import Finding
from diagnose.reasoning.inference import Inference
from diagnose.reasoning.network import NOT_LISTED, Network
from diagnose.reasoning.sensitivity import (
    FAR,
    TippingPoint,
    sensitivity,
    tipping_links,
    tipping_priors,
    weights_in_order,
)

CASES = (
    "bat-ears-after-a-clean",
    "brains-on-the-ridges",
    "one-to-two-of-what",
    "short-fingers-in-a-cold-shop",
    "soft-and-sticky-hands",
)


def changed(network, tipping, value):
    """The network with the number of *tipping* at *value*."""
    if tipping.kind == "base":
        return replace(
            network,
            priors=tuple(
                value if name == tipping.name else prior
                for name, prior in zip(network.causes, network.priors, strict=True)
            ),
        )
    findings = tuple(
        replace(f, links={**f.links, tipping.name: value}) if f.id == tipping.effect else f for f in network.findings
    )
    return replace(network, findings=findings)


def lead(network, first, rival):
    """How far *first* is ahead of *rival*."""
    inference = Inference(network)
    return inference.responsible[inference.index[first]] - inference.responsible[inference.index[rival]]


def check_tipping(network, first, tipping):
    """Level at the value; apart by opposite signs a little to either side; ahead where it stands now."""
    step = 1e-4 * min(tipping.value, 1.0 - tipping.value)
    below, there, above = (
        lead(changed(network, tipping, tipping.value + d), first, tipping.rival) for d in (-step, 0.0, step)
    )
    assert there == pytest.approx(0.0, abs=1e-9)
    assert below * above < 0.0
    assert lead(changed(network, tipping, tipping.now), first, tipping.rival) >= 0.0
    ratio = tipping.value / (1.0 - tipping.value) / (tipping.now / (1.0 - tipping.now))
    assert tipping.factor == pytest.approx(max(ratio, 1.0 / ratio), rel=1e-9)


@pytest.mark.parametrize("name", CASES)
def test_the_nearest_tippings_of_a_worked_case(name, consulted):
    """The ten nearest numbers each change the order of first and rival exactly where they say."""
    consultation = consulted[name]
    found = sensitivity(consultation.situation)
    assert found.first == consultation.situation.beliefs.causes[0].id
    assert found.tipping
    for tipping in found.tipping[:10]:
        check_tipping(consultation.situation.network, found.first, tipping)


@pytest.mark.parametrize("seed", range(12))
def test_tippings_of_random_nets(seed, random_network, of_network):
    """All tippings of a random net, links to checks among them, are exact, and none is missed on a fine grid of base rates."""
    network = random_network(seed, causes=6, findings=5)
    engine, beliefs = Inference(network), of_network(network).beliefs
    first, rival = beliefs.causes[0].id, beliefs.causes[1].id
    if beliefs.causes[1].probability <= 0.0:
        return
    found = [*tipping_priors(engine, first, [rival]), *tipping_links(engine, first, [rival])]
    for tipping in found:
        check_tipping(network, first, tipping)
    for cause in network.causes:
        probe = TippingPoint("base", cause, "", 0.0, 0.0, 0.0, rival)
        signs = {
            lead(changed(network, probe, value), first, rival) > 0.0 for value in (1e-6, 0.25, 0.5, 0.75, 1.0 - 1e-6)
        }
        assert len(signs) == 1 or any(t.kind == "base" and t.name == cause for t in found), cause


@pytest.mark.parametrize("names", [("b", "a", "c"), ("a", "b", "c"), ("c", "b", "a")])
def test_a_link_of_a_rival_tips_to_that_rival_alone(names):
    """Whatever the causes are called: a link of the first may let either rival pass. One of a rival would let the other pass too, by explaining the
    first away, but it is told for that rival alone."""
    first, near, other = names
    one = Finding("one", "one", True, True, 1.0, 0.0, 0.02, {first: 0.6, near: 0.2})
    two = Finding("two", "two", True, True, 1.0, 0.0, 0.08, {other: 0.6})
    network = Network((first, near, other), (0.3, 0.2, 0.3), (one, two), {})
    assert lead(network, first, other) > 0.0 > lead(changed(network, link(near, 0.99), 0.99), first, other)
    found = tipping_links(Inference(network), first, [near, other])
    assert {(t.name, t.rival) for t in found} == {(first, near), (first, other), (near, near), (other, other)}
    for tipping in found:
        check_tipping(network, first, tipping)


def link(cause, value):
    """A tipping of the link of *cause* to the finding `one`."""
    return TippingPoint("link", cause, "one", value, value, 1.0, "")


def test_nearest_first_and_none_too_far(consulted):
    """Tippings come by how far the odds have to move, and what would have to move a hundredfold is left out."""
    for consultation in consulted.values():
        factors = [t.factor for t in sensitivity(consultation.situation).tipping]
        assert factors == pytest.approx(sorted(factors), rel=1e-8)
        assert all(1.0 <= factor <= FAR for factor in factors)


def test_hinges_are_what_thinking_again_says(consulted):
    """An answer is a hinge exactly if the case without it has another cause first, over all answers of all worked cases; some cases have one."""
    some = 0
    for name, consultation in consulted.items():
        found = {h.answer: h for h in sensitivity(consultation.situation).decisive}
        first = consultation.situation.beliefs.causes[0].id
        for answer, given in consultation.answers.items():
            if not given.known or answer in ("build", "painted"):
                continue
            rest = consultation.situation.without(answer)
            if not rest.seen:
                assert answer not in found
                continue
            top = rest.beliefs.causes[0]
            assert (top.id != first) == (answer in found), (name, answer)
            if answer in found:
                some += 1
                assert (found[answer].rival, found[answer].probability) == (
                    top.id,
                    pytest.approx(top.probability, abs=1e-9),
                )
    assert some > 0


def test_an_order_that_hangs_on_one_answer_names_it(consulted):
    """A cause put first by one remembered answer alone: that answer is a hinge."""
    models = consulted["sticky-necks"].models
    case = consulted["sticky-necks"].case
    bare = Consultation(
        models,
        case.only(("build", "painted")).with_answer("tacky_through", Answer("seen")),
    )
    before = bare.situation.beliefs.causes[0].id
    told = {**bare.answers, "ratio_error": Answer(25.0, "remembered", 1.0)}
    hung = reasoning.Situation(bare.situation.model, told)
    assert hung.beliefs.causes[0].id != before
    assert [h.answer for h in sensitivity(hung).decisive] == ["ratio_error"]


@pytest.mark.parametrize("name", CASES)
def test_weights_in_order_add_up(name, consulted):
    """The prior log odds and the weight of each answer, in the order given, add up to the log odds at the end, in whatever order they come."""
    consultation = consulted[name]
    cause = consultation.situation.beliefs.causes[0]
    answers = list(consultation.answers.items())
    for seed in (0, 1):
        random.Random(seed).shuffle(answers)
        entries = weights_in_order(reasoning.Situation(consultation.situation.model, dict(answers)), cause.id)
        assert entries[0][0] == ""
        base = consultation.situation.model.priors({})[cause.id]
        assert entries[0][1] == pytest.approx(math.log(base / (1.0 - base)), abs=1e-9)
        assert sum(weight for _, weight in entries) == pytest.approx(
            math.log(cause.present / (1.0 - cause.present)), abs=1e-8
        )
        assert [n for n, _ in entries[1:]] == [n for n, a in answers if a.known]


def test_what_is_not_listed_can_tip_the_order(random_network, of_network):
    """The base rate of what is not on the list is one of the numbers looked at, though it is never a rival."""
    names = set()
    for seed in range(30):
        network: Network = random_network(seed, causes=6, findings=5)
        beliefs = of_network(network).beliefs
        found = tipping_priors(Inference(network), beliefs.causes[0].id, [beliefs.causes[1].id])
        names |= {t.name for t in found}
        assert all(t.rival != NOT_LISTED for t in found)
    assert NOT_LISTED in names


def test_the_next_three_are_rivals_and_no_more(of_network):
    """Of six causes of one fault that differ only in how common they are, the second to the fourth may come first by a number within reach."""
    priors = dict(zip("abcdef", (0.30, 0.28, 0.26, 0.24, 0.22, 0.20), strict=True))
    seen = Finding("f", "f", True, True, 1.0, 0.0, 0.01, dict.fromkeys(priors, 0.6))
    found = sensitivity(of_network(Network((*priors, NOT_LISTED), (*priors.values(), 0.05), (seen,), {})))
    assert (found.first, {t.rival for t in found.tipping}) == ("a", {"b", "c", "d"})
