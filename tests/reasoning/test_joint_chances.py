"""Joint chances of several causes, against every set of causes and every firing."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator

import pytest

from diagnose.assessment.consultation import Consultation
from diagnose.reasoning import situation as reasoning
from diagnose.reasoning.network import Network


def worlds(network: Network) -> Iterator[tuple[float, set[str], set[str]]]:
    """Weight, causes that hold and causes that had a part, of every set of causes and every firing, with nothing of the sweep."""
    for holds in itertools.product((False, True), repeat=len(network.causes)):
        now = [cause for cause, held in zip(network.causes, holds, strict=True) if held]
        weight = 1.0
        for held, prior in zip(holds, network.priors, strict=True):
            weight *= prior if held else 1.0 - prior
        roads = [(j, "", f.leak) for j, f in enumerate(network.findings)]
        roads += [
            (j, cause, f.links[cause]) for j, f in enumerate(network.findings) for cause in now if cause in f.links
        ]
        for fires in itertools.product((False, True), repeat=len(roads)):
            w = weight
            for fired, (_, _, chance) in zip(fires, roads, strict=True):
                w *= chance if fired else 1.0 - chance
            fired_now = [(j, cause) for fired, (j, cause, _) in zip(fires, roads, strict=True) if fired]
            shown = {j for j, _ in fired_now}
            for j, finding in enumerate(network.findings):
                w *= finding.on if j in shown else finding.off
            yield w, set(now), {cause for j, cause in fired_now if network.findings[j].symptom}


@pytest.mark.parametrize("seed", range(25))
def test_joint_chances_agree_with_enumeration(
    seed: int, random_network: Callable[..., Network], of_network: Callable[..., reasoning.Situation]
) -> None:
    """On small nets: any of one, two or three causes had a part; both had; one held while another had a part."""
    network = random_network(seed, causes=4, findings=3)
    situation = of_network(network)
    found = list(worlds(network))
    whole = sum(w for w, _, _ in found)
    for count in (1, 2, 3):
        names = set(network.causes[:count])
        expected = sum(w for w, _, guilty in found if guilty & names) / whole
        assert situation.responsible_any(names) == pytest.approx(expected, abs=1e-12)
    for one, other in itertools.combinations(network.causes, 2):
        both = sum(w for w, _, guilty in found if {one, other} <= guilty) / whole
        held = sum(w for w, holds, guilty in found if one in holds and other in guilty) / whole
        assert situation.both_responsible(one, other) == pytest.approx(both, abs=1e-12)
        assert situation.held_and_responsible(one, other) == pytest.approx(held, abs=1e-12)


def test_one_cause_alone_is_its_own_probability(consulted: dict[str, Consultation]) -> None:
    """For a single cause it is the probability that ranks, and for none it is nothing."""
    for situation in (consultation.situation for consultation in consulted.values()):
        assert situation.responsible_any([]) == pytest.approx(0.0, abs=1e-15)
        for belief in situation.beliefs.causes[:4]:
            assert situation.responsible_any([belief.id]) == pytest.approx(belief.probability, abs=1e-12)


def test_several_lie_between_the_likeliest_and_the_sum(consulted: dict[str, Consultation]) -> None:
    """Any of several is no less than the likeliest of them and no more than their sum."""
    for situation in (consultation.situation for consultation in consulted.values()):
        leading = situation.beliefs.causes[:5]
        either = situation.responsible_any([belief.id for belief in leading])
        assert leading[0].probability - 1e-12 <= either
        assert either <= min(1.0, sum(belief.probability for belief in leading)) + 1e-12
