"""The chance that any of several causes had a part, against every set of causes and every firing."""

from __future__ import annotations

import itertools
from collections.abc import Callable

import pytest

from diagnose.assessment.situation import Situation
from diagnose.reasoning import situation as reasoning
from diagnose.reasoning.network import Network


def _any_by_hand(network: Network, names: set[str]) -> float:
    """The same chance from all sets of causes and all firings, with nothing of the sweep."""
    whole = guilty = 0.0
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
            whole += w
            if any(cause in names and network.findings[j].symptom for j, cause in fired_now):
                guilty += w
    return guilty / whole


@pytest.mark.parametrize("seed", range(25))
def test_any_of_several_agrees_with_enumeration(
    random_network: Callable[..., Network], of_network: Callable[..., reasoning.Situation], seed: int
) -> None:
    """On small nets the chance of any of one, two or three causes is the enumerated one."""
    network = random_network(seed, causes=4, findings=3)
    situation = of_network(network)
    for count in (1, 2, 3):
        names = set(network.causes[:count])
        assert situation.responsible_any(names) == pytest.approx(_any_by_hand(network, names), abs=1e-12)


def test_one_cause_alone_is_its_own_probability(consulted: dict[str, Situation]) -> None:
    """For a single cause it is the probability that ranks, and for none it is nothing."""
    for situation in consulted.values():
        assert situation.reasoned.responsible_any([]) == 0.0
        for belief in situation.beliefs.causes[:4]:
            assert situation.reasoned.responsible_any([belief.id]) == pytest.approx(belief.probability, abs=1e-10)


def test_several_lie_between_the_likeliest_and_the_sum(consulted: dict[str, Situation]) -> None:
    """Any of several is no less than the likeliest of them and no more than their sum."""
    for situation in consulted.values():
        leading = situation.beliefs.causes[:5]
        together = situation.reasoned.responsible_any([belief.id for belief in leading])
        assert (
            leading[0].probability - 1e-12
            <= together
            <= min(1.0, sum(belief.probability for belief in leading)) + 1e-12
        )
