"""What the tests of the reasoning share: random nets, the brute-force reference, and the shipped knowledge with its worked cases.

The reference knows nothing of the sweep: it goes through every set of causes and every firing of every link and leak.
"""

from __future__ import annotations

import itertools
import random
from collections.abc import Callable, Mapping
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from diagnose.assessment.consultation import Consultation, ModelCache
from diagnose.casebook import read_case
from diagnose.knowledge import Remedy, load_knowledge
from diagnose.reasoning import situation as reasoning
from diagnose.reasoning.elimination import NoisyOrNet
from diagnose.reasoning.inference import Inference
from diagnose.reasoning.network import Finding, Model, Network

ROOT = Path(__file__).parents[2]


def brute_force(network: Network) -> dict[str, dict[str, float] | float]:
    """`present`, `probability` by cause and `unexplained`, by enumeration of all cause sets and all firings."""
    held = dict.fromkeys(network.causes, 0.0)
    part = dict.fromkeys(network.causes, 0.0)
    whole = unexplained = 0.0
    for holds in itertools.product((False, True), repeat=len(network.causes)):
        weight = 1.0
        for holding, prior in zip(holds, network.priors, strict=True):
            weight *= prior if holding else 1.0 - prior
        if weight == 0.0:
            continue
        holding_now = [cause for cause, holding in zip(network.causes, holds, strict=True) if holding]
        roads = [(j, None, f.leak) for j, f in enumerate(network.findings)]
        roads += [
            (j, cause, f.links[cause])
            for j, f in enumerate(network.findings)
            for cause in holding_now
            if cause in f.links
        ]
        for fires in itertools.product((False, True), repeat=len(roads)):
            w = weight
            for fired, (_, _, chance) in zip(fires, roads, strict=True):
                w *= chance if fired else 1.0 - chance
                if w == 0.0:
                    break
            if w == 0.0:
                continue
            fired = [(j, cause) for yes, (j, cause, _) in zip(fires, roads, strict=True) if yes]
            shown = {j for j, _ in fired}
            for j, finding in enumerate(network.findings):
                w *= finding.on if j in shown else finding.off
            guilty = {cause for j, cause in fired if network.findings[j].symptom and network.findings[j].seen}
            whole += w
            for cause in holding_now:
                held[cause] += w
            for cause in guilty - {None}:
                part[cause] += w
            if guilty & {None, "not_listed"}:
                unexplained += w
    return {
        "present": {c: held[c] / whole for c in held},
        "probability": {c: part[c] / whole for c in part},
        "unexplained": unexplained / whole,
    }


def make_network(
    seed: int,
    causes: int = 4,
    findings: int = 4,
    *,
    extremes: bool = False,
    leakless: bool = False,
    single: bool = False,
) -> Network:
    """A random net with findings seen, absent and weighted, symptoms and checks; *extremes* puts in chances of exactly 0 and 1."""
    rng = random.Random(seed)
    names = (*(f"c{i}" for i in range(causes - 1)), "not_listed")
    chance = (lambda: rng.choice((0.0, 1.0, 0.3, 0.9))) if extremes else (lambda: rng.uniform(0.02, 0.95))
    made = []
    for j in range(findings):
        kind = rng.choice(("seen", "seen", "absent", "weighted"))
        on, off = {
            "seen": (1.0, rng.choice((0.0, 0.05))),
            "absent": (0.0, 1.0),
            "weighted": (rng.random(), rng.random()),
        }[kind]
        linked = [rng.choice(names)] if single else [name for name in names if rng.random() < 0.55]
        leak = 0.0 if leakless else rng.uniform(0.005, 0.2)
        symptom = kind != "weighted" and rng.random() < 0.7
        made.append(Finding(f"f{j}", f"f{j}", symptom, on > off, on, off, leak, {name: chance() for name in linked}))
    priors = tuple(rng.choice((0.0, 1e-9, 0.5, 1.0 - 1e-9)) if extremes else rng.uniform(0.01, 0.6) for _ in names)
    return Network(names, priors, tuple(made), {})


def situation_of(network: Network, remedies: Mapping[str, Remedy] | None = None) -> reasoning.Situation:
    """A situation that has *network* whatever is answered, in a knowledge of *remedies* alone."""
    knowledge = SimpleNamespace(remedies=remedies or {}, symptoms={}, facts={}, checks={})
    model: Any = SimpleNamespace(
        knowledge=knowledge, network=lambda answers: network, bearing={}, context=frozenset(), causes={}
    )
    return reasoning.Situation(model, {})


@pytest.fixture
def counted(monkeypatch: pytest.MonkeyPatch) -> dict[str, int]:
    """What is made from now on: networks, inferences, passes over one, and the rows in these."""
    found = {"networks": 0, "inferences": 0, "passes": 0, "rows": 0}

    def counting(owner: type, name: str, what: str) -> None:
        real = getattr(owner, name)

        def call(self: Any, *args: Any) -> Any:
            found[what] += 1
            found["rows"] += args[0].present.shape[1] if what == "passes" else 0
            return real(self, *args)

        monkeypatch.setattr(owner, name, call)

    counting(Model, "network", "networks")
    counting(Inference, "__init__", "inferences")
    for name in ("sweep", "success", "evidence"):
        counting(NoisyOrNet, name, "passes")
    return found


@pytest.fixture(scope="session")
def of_network() -> Callable[..., reasoning.Situation]:
    """The maker of situations from nets."""
    return situation_of


@pytest.fixture(scope="session")
def brute() -> Callable[[Network], dict[str, dict[str, float] | float]]:
    """The brute-force reference."""
    return brute_force


@pytest.fixture(scope="session")
def random_network() -> Callable[..., Network]:
    """The maker of random nets."""
    return make_network


@pytest.fixture(scope="session")
def models() -> ModelCache:
    """The shipped knowledge, as it applies to each build and paint."""
    return ModelCache(load_knowledge(str(ROOT / "knowledge")))


@pytest.fixture(scope="session")
def consulted(models: ModelCache) -> dict[str, Consultation]:
    """The worked cases with all their answers, thought through."""
    return {
        path.stem: Consultation(models, read_case(path, models.knowledge))
        for path in sorted((ROOT / "tests" / "cases").glob("*.yaml"))
    }
