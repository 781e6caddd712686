"""From knowledge and answers to the two-layer network that is inferred on.

Facts are conditioned on: they turn the base odds of each cause into a prior. What is seen, felt or tested is an effect: each
reading becomes findings with weights *on* and *off*, whose likelihood is `on P(on) + off P(off)` with
`P(off) = (1 - leak) x product of (1 - link)` over the causes that hold (noisy-OR with a leak, Pearl 1988; a check with several
results is a noisy-MAX, Diez 1993, from memory). Priors, leaks and links are rounded to 12 digits here, before any inference.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from diagnose.knowledge import Cause, Check, Evidence, Fact, Knowledge
from diagnose.knowledge.curves import curve_ratio
from diagnose.reasoning.answers import ABSENT, SEEN, Answer, Answers

NOT_LISTED = "not_listed"

#: Gauss-Hermite nodes and weights for a normal error (5 points; Abramowitz & Stegun table 25.10, from memory, checked in the tests)
_NODES = (0.0, 0.9585724646138185, -0.9585724646138185, 2.0201828704560856, -2.0201828704560856)
_WEIGHTS = (0.5333333333333333, 0.22207592200561263, 0.22207592200561263, 0.011257411327720691, 0.011257411327720691)


def digits12(value: float) -> float:
    """Round to 12 significant digits."""
    return float(f"{value:.12g}")


@dataclass(frozen=True, slots=True)
class Finding:
    """One statement about an effect, with its weights, leak and links (cause -> probability).

    *question* is the answer that it comes from; *symptom* tells a fault of the part from evidence only; *seen* whether it
    speaks for the effect. Weights (1, 0) are seen for certain, (0, 1) absent for certain.
    """

    id: str
    question: str
    symptom: bool
    seen: bool
    on: float
    off: float
    leak: float
    links: dict[str, float]


@dataclass(slots=True)
class Speaking:
    """What the facts say of one cause: the ratio of each fact that speaks, and their product."""

    by_fact: dict[str, float] = field(default_factory=dict)

    @property
    def product(self) -> float:
        """The product of the ratios, in the order of the facts."""
        total = 1.0
        for ratio in self.by_fact.values():
            total *= ratio
        return total


@dataclass(frozen=True, slots=True)
class Network:
    """Priors of the causes in order (`not_listed` last) and the findings read from the answers."""

    causes: tuple[str, ...]
    priors: tuple[float, ...]
    findings: tuple[Finding, ...]
    speaking: dict[str, Speaking]


class Model:
    """The knowledge as it applies to one build and paint: causes in order, base rates, and how answers are read.

    Unknown build or paint (None) leaves every cause in play.
    """

    def __init__(self, knowledge: Knowledge, build: str | None, painted: bool | None) -> None:
        self.knowledge = knowledge
        self.build = build
        self.painted = painted
        self.limits = knowledge.words["limits"]
        self.causes: dict[str, Cause] = {name: knowledge.causes[name] for name in sorted(knowledge.causes) if knowledge.applies(name, build, painted)}
        self.names = (*self.causes, NOT_LISTED)
        total = sum(cause.base for cause in self.causes.values()) or 1.0
        scale = self.limits["base total"] / total
        self.base = {name: min(cause.base * scale, 0.5) for name, cause in self.causes.items()}
        self.base[NOT_LISTED] = self.limits["not listed base"]
        self.bearing: dict[str, list[str]] = {}
        for name, cause in self.causes.items():
            for fact in cause.facts:
                self.bearing.setdefault(fact, []).append(name)
        self._better = {fact: self._closure(fact) for fact in knowledge.facts}

    def _closure(self, fact: str) -> frozenset[str]:
        """All facts that read the same less directly than *fact*."""
        below: set[str] = set()
        todo = list(self.knowledge.facts[fact].better_than)
        while todo:
            name = todo.pop()
            if name not in below and name != fact:
                below.add(name)
                todo.extend(self.knowledge.facts[name].better_than)
        return frozenset(below)

    def better(self, fact: str) -> frozenset[str]:
        """The facts that fall silent, cause by cause, once *fact* is answered."""
        return self._better[fact]

    # -- facts -----------------------------------------------------------------------------------------------------

    def ratio(self, evidence: Evidence, fact: Fact, answer: Answer) -> float:
        """Likelihood ratio of *answer*: averaged over its error, raised to its trust, capped."""
        if fact.kind == "number":
            raw = _averaged(evidence.curve, fact, answer)
        elif isinstance(answer.value, tuple):
            raw = 1.0
            for choice in answer.value:
                raw *= evidence.choices.get(choice, 1.0)
        else:
            raw = evidence.choices.get(str(answer.value), 1.0)
        return self.capped(raw ** self.knowledge.words["trust"][answer.source])

    def capped(self, ratio: float) -> float:
        """No single reading moves a cause by more than the cap."""
        cap = self.limits["ratio cap"]
        return min(max(ratio, 1.0 / cap), cap)

    def speaking(self, cause: Cause, answers: Answers) -> Speaking:
        """Return the facts that speak of *cause*: of those that read the same, only the most direct that is answered."""
        known = [name for name in answers if name in cause.facts and answers[name].known]
        found = Speaking()
        for name in sorted(known):
            if any(name in self._better[other] for other in known):
                continue
            found.by_fact[name] = self.ratio(cause.facts[name], self.knowledge.facts[name], answers[name])
        return found

    def priors(self, products: dict[str, float]) -> dict[str, float]:
        """Return the prior of each cause from the product of its ratios; opposites share one three-way choice."""
        odds = {name: self.base[name] / (1.0 - self.base[name]) * products.get(name, 1.0) for name in self.causes}
        found: dict[str, float] = {}
        for name, cause in self.causes.items():
            other = cause.opposite if cause.opposite in self.causes else ""
            if not other:
                found[name] = odds[name] / (1.0 + odds[name])
                continue
            right = 1.0 - self.base[name] - self.base[other]
            mine = self.base[name] / right * products.get(name, 1.0)
            theirs = self.base[other] / right * products.get(other, 1.0)
            found[name] = mine / (1.0 + mine + theirs)
        found[NOT_LISTED] = self.base[NOT_LISTED]
        return found

    # -- effects ---------------------------------------------------------------------------------------------------

    def symptom_links(self, symptom: str) -> dict[str, float]:
        """Links of the causes in play to *symptom*, `not_listed` among them."""
        links = {name: cause.symptoms[symptom].p for name, cause in self.causes.items() if symptom in cause.symptoms}
        links[NOT_LISTED] = self.limits["not listed link"]
        return links

    def result_links(self, check: Check) -> dict[str, dict[str, float]]:
        """Links to each telling result of *check*, given that nothing more telling is produced: `p_v / (1 - sum of p above)`."""
        per_result: dict[str, dict[str, float]] = {result: {} for result in check.telling}
        for name, cause in self.causes.items():
            self._spread(per_result, check, name, {r: link.p for r, link in cause.checks.get(check.id, {}).items()})
        each = self.limits["not listed link"] if check.kind == "many" else self.limits["not listed shows"] / len(check.telling)
        self._spread(per_result, check, NOT_LISTED, dict.fromkeys(check.telling, each))
        return per_result

    def _spread(self, per_result: dict[str, dict[str, float]], check: Check, name: str, chances: dict[str, float]) -> None:
        many = check.kind == "many"
        above = 0.0
        telling = [result for result in check.telling if result in chances]
        if not many:
            total = sum(chances[result] for result in telling)
            if total > 0.98:  # one casting shows one result: the chances of a cause can't sum to more than one
                chances = {result: chances[result] * 0.98 / total for result in telling}
        for result in reversed(telling):
            chance = chances[result]
            per_result[result][name] = digits12(chance if many else min(chance / (1.0 - above), 0.995))
            above += chance

    def findings(self, question: str, answer: Answer) -> list[Finding]:
        """Return what *answer* to a symptom or a check says, as findings."""
        if question in self.knowledge.symptoms:
            return [self._symptom(question, answer)]
        check = self.knowledge.checks[question]
        links = self.result_links(check)
        if check.kind == "number":
            return self._banded(check, links, answer)
        if check.kind == "many":
            return self._many(check, links, answer)
        return [self._result(check, result, links[result], answer, seen) for result, seen in self._levels(check, str(answer.value))]

    def _levels(self, check: Check, value: str) -> Iterable[tuple[str, bool]]:
        """A reading makes everything more telling absent, and itself seen unless it is the base."""
        for result in reversed(check.telling):
            if result == value:
                yield result, True
                return
            yield result, False

    def _symptom(self, name: str, answer: Answer) -> Finding:
        leak = self.knowledge.symptoms[name].background
        return self._finding(name, name, True, leak, self.symptom_links(name), answer, answer.value == SEEN)

    def _result(self, check: Check, result: str, links: dict[str, float], answer: Answer, seen: bool) -> Finding:
        return self._finding(f"{check.id}:{result}", check.id, False, check.results[result].background, links, answer, seen)

    def _finding(self, name: str, question: str, symptom: bool, leak: float, links: dict[str, float], answer: Answer, seen: bool) -> Finding:
        if seen:
            slip = self.knowledge.words["misreport"][answer.source]
            return Finding(name, question, symptom, True, 1.0, slip, digits12(leak), {c: digits12(p) for c, p in links.items()})
        trust = self.knowledge.words["trust"][answer.source]
        weaker = {c: digits12(1.0 - (1.0 - p) ** trust) for c, p in links.items()}
        return Finding(name, question, symptom, False, 0.0, 1.0, digits12(1.0 - (1.0 - leak) ** trust), weaker)

    def _many(self, check: Check, links: dict[str, dict[str, float]], answer: Answer) -> list[Finding]:
        """A chosen value is seen, an unchosen one says nothing; the base chosen alone makes the others absent."""
        chosen = answer.value if isinstance(answer.value, tuple) else (str(answer.value),)
        if chosen == (check.base,):
            return [self._result(check, result, links[result], answer, False) for result in check.telling]
        return [self._result(check, result, links[result], answer, True) for result in check.telling if result in chosen]

    def _banded(self, check: Check, links: dict[str, dict[str, float]], answer: Answer) -> list[Finding]:
        """A number read as ordered bands; near an edge it is shared between them by its error.

        Level by level from the most telling: with share q of the reading at this level or above and r above it, the level
        is on with weight (q - r) / (1 - r), and what lies above it is already settled.
        """
        value = float(answer.value)  # type: ignore[arg-type]
        error = _error(check, answer, value)
        found: list[Finding] = []
        above = 0.0
        for result in reversed(check.telling):
            share = _band_share(check, result, value, error)
            if above > 0.999:
                break
            on = digits12(min(1.0, share / (1.0 - above) + above))
            off = digits12(min(1.0, max(0.0, 1.0 - share / (1.0 - above))))
            seen = on > off
            base = self._result(check, result, links[result], answer, seen)
            if on >= 0.999 and off <= 0.001:
                found.append(base)
            elif on <= 0.001:
                found.append(base)
            else:
                full = self._result(check, result, links[result], answer, True)
                found.append(Finding(full.id, full.question, False, seen, on, off, full.leak, full.links))
            above += share
        return found

    # -- all of it -------------------------------------------------------------------------------------------------

    def network(self, answers: Answers) -> Network:
        """Return priors and findings for *answers*; answers that don't apply to the build say nothing."""
        speaking = {name: self.speaking(cause, answers) for name, cause in self.causes.items()}
        priors = self.priors({name: said.product for name, said in speaking.items()})
        findings = [finding for name, answer in answers.items() if answer.known and self._is_effect(name) for finding in self.findings(name, answer)]
        kept = self._once(findings, answers)
        return Network(self.names, tuple(digits12(priors[name]) for name in self.names), tuple(kept), speaking)

    def _is_effect(self, name: str) -> bool:
        known = name in self.knowledge.symptoms or name in self.knowledge.checks
        return known and self.knowledge.applies(name, self.build, self.painted)

    def _once(self, findings: Sequence[Finding], answers: Answers) -> list[Finding]:
        """Two views of one thing count once, by the better reading (the symptom's where they are equally good)."""
        by_id = {finding.id: finding for finding in findings}
        trust = self.knowledge.words["trust"]
        dropped: set[str] = set()
        for finding in findings:
            if not finding.symptom:
                continue
            for check, result in self.knowledge.symptoms[finding.id].same_as:
                twin = by_id.get(f"{check}:{result}")
                if twin is None:
                    continue
                mine, theirs = trust[answers[finding.id].source], trust[answers[check].source]
                measured = answers[check].source == "measured" and answers[finding.id].source != "measured"
                worse = finding.id if theirs > mine or (measured and twin.seen != finding.seen) else twin.id
                dropped.add(worse)
        return [finding for finding in findings if finding.id not in dropped]


def _error(entry: Fact | Check, answer: Answer, value: float) -> float:
    if answer.error is not None:
        return answer.error
    return entry.error * abs(value) if entry.error_relative else entry.error


def _averaged(curve: Sequence[tuple[float, float]], fact: Fact, answer: Answer) -> float:
    """The ratio of a number, averaged over the normal error of its reading."""
    value = float(answer.value)  # type: ignore[arg-type]
    points = tuple(curve)
    error = _error(fact, answer, value)
    if error <= 0.0:
        return curve_ratio(points, value)
    root2 = math.sqrt(2.0)
    total = 0.0
    for node, weight in zip(_NODES, _WEIGHTS, strict=True):
        total += weight * curve_ratio(points, value + root2 * error * node)
    return total


def _band_share(check: Check, result: str, value: float, error: float) -> float:
    band = check.results[result]
    low = -math.inf if band.low is None else band.low
    high = math.inf if band.high is None else band.high
    if error <= 0.0:
        return 1.0 if low <= value < high else 0.0
    return _normal((high - value) / error) - _normal((low - value) / error)


def _normal(z: float) -> float:
    return 0.5 * (1.0 + math.erf(z / math.sqrt(2.0)))


__all__ = ["ABSENT", "NOT_LISTED", "SEEN", "Finding", "Model", "Network", "Speaking", "digits12"]
