"""What is measured on: our own book with findings drawn from it, its worked cases, and random noisy-OR nets of stated size.

A case is drawn as the net says that cases come about: causes hold by their priors (three at least, for several hold at once), links
and leaks fire; of what shows, so many findings are told as present, and ten more than that are told as absent.
"""

from __future__ import annotations

import random
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from diagnose.assessment.consultation import Consultation, ModelCache
from diagnose.casebook import read_case
from diagnose.knowledge import load_knowledge
from diagnose.reasoning.answers import ABSENT, SEEN, Answer
from diagnose.reasoning.finding import digits12
from diagnose.reasoning.network import Finding, Model, Network
from diagnose.reasoning.situation import Situation

ROOT = Path(__file__).parents[2]
#: causes that hold in a drawn case, at least
HELD = 3
#: findings told as absent, beyond as many as are present
ABSENT_TOO = 10


@dataclass(frozen=True)
class Book:
    """A net before any answer: priors of the causes, and of each finding its leak and its links (cause -> chance)."""

    name: str
    causes: Mapping[str, float]
    leaks: Mapping[str, float]
    links: Mapping[str, Mapping[str, float]]

    @property
    def links_a_cause(self) -> float:
        """How many findings a cause links to, on average."""
        return sum(map(len, self.links.values())) / len(self.causes)


#: name -> causes, findings, links a cause
SIZES = {
    "4 x 8": (4, 8, 4),
    "20 x 40": (20, 40, 20),
    "60 x 200, 15 links": (60, 200, 15),
    "60 x 200": (60, 200, 75),
    "600 x 4,000": (600, 4000, 75),
}
OURS = "our book"
WORKED = "worked cases"


@cache
def models() -> ModelCache:
    """The shipped knowledge."""
    return ModelCache(load_knowledge(str(ROOT / "knowledge")))


@cache
def book(name: str) -> Book:
    """Return the net *name*: our own (a bare unpainted part), or one of `SIZES` with a fixed seed."""
    return _our_book() if name == OURS else random_book(name, *SIZES[name])


def random_book(name: str, causes: int, findings: int, links: int) -> Book:
    """Return a random net; each cause links to *links* findings. Same numbers on every machine."""
    rng = random.Random(f"net {name}")
    table: dict[str, dict[str, float]] = {f"f{j}": {} for j in range(findings)}
    priors = {f"c{i}": digits12(rng.uniform(0.005, 0.1)) for i in range(causes)}
    for cause in priors:
        for j in rng.sample(range(findings), links):
            table[f"f{j}"][cause] = digits12(rng.uniform(0.05, 0.9))
    return Book(name, priors, {name: digits12(rng.uniform(0.001, 0.02)) for name in table}, table)


@cache
def _our_model() -> Model:
    return Model(models().knowledge, "bare_foam", False)


def _our_book() -> Book:
    model = _our_model()
    symptoms = {n: s for n, s in model.knowledge.symptoms.items() if model.knowledge.applies(n, "bare_foam", False)}
    leaks = {name: symptom.background for name, symptom in symptoms.items()}
    return Book(OURS, model.base, leaks, {name: model.symptom_links(name) for name in symptoms})


def told(net: Book, present: int, seed: int) -> tuple[list[str], list[str]]:
    """Return the findings of a drawn case that are told as present and as absent."""
    rng = random.Random(f"case {net.name} {present} {seed}")
    names = list(net.causes)
    waiting = sorted(names, key=lambda name: rng.random() ** (1.0 / net.causes[name]), reverse=True)  # drawn by prior
    held: list[str] = []
    shown: list[str] = []
    while len(held) < HELD or (len(shown) < present and waiting):
        held.append(waiting.pop(0))
        by_leak = {name for name, leak in net.leaks.items() if rng.random() < leak} if len(held) == 1 else set(shown)
        shown = [n for n in net.leaks if n in by_leak or rng.random() < net.links[n].get(held[-1], 0.0)]
    seen = rng.sample(shown, min(present, len(shown)))
    rest = [name for name in net.leaks if name not in shown]
    return seen, rng.sample(rest, min(present + ABSENT_TOO, len(rest)))


def drawn(name: str, present: int, seed: int) -> Network:
    """Return the network of a drawn case with *present* findings present."""
    net = book(name)
    seen, absent = told(net, present, seed)
    if name == OURS:
        return our_situation(seen, absent).network
    findings = [_finding(net, j, True) for j in seen] + [_finding(net, j, False) for j in absent]
    return Network(tuple(net.causes), tuple(net.causes.values()), tuple(findings), {})


def our_situation(seen: list[str], absent: list[str]) -> Situation:
    """The situation of a bare unpainted part with symptoms *seen* and *absent*."""
    answers = {"build": Answer("bare_foam"), "painted": Answer("no")}
    answers.update({name: Answer(SEEN) for name in seen})
    answers.update({name: Answer(ABSENT) for name in absent})
    return Situation(_our_model(), answers)


def _finding(net: Book, name: str, seen: bool) -> Finding:
    on, off = (1.0, 0.0) if seen else (0.0, 1.0)
    return Finding(name, name, True, seen, on, off, net.leaks[name], dict(net.links[name]))


def with_answer(network: Network, net: Book, name: str, seen: bool) -> Network:
    """Return *network* with one more finding answered; a check, so that nothing more is to be explained."""
    one = _finding(net, name, seen)
    more = Finding(one.id, one.question, False, one.seen, one.on, one.off, one.leak, one.links)
    return Network(network.causes, network.priors, (*network.findings, more), {})


def worked() -> dict[str, Situation]:
    """Return the shipped worked cases with all their answers, those in which something is seen."""
    found = {
        path.stem: Consultation(models(), read_case(path, models().knowledge)).situation
        for path in sorted((ROOT / "tests" / "cases").glob("*.yaml"))
    }
    return {name: situation for name, situation in found.items() if situation.explains}
