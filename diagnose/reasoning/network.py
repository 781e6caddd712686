"""From knowledge and answers to the two-layer network that is inferred on.

Facts are conditioned on: they turn the base odds of each cause into a prior. What is seen, felt or tested is an effect:
each reading becomes findings with weights *on* and *off*, whose likelihood is `on P(on) + off P(off)` with `P(off) = (1
- leak) x product of (1 - link)` over the causes that hold (noisy-OR with a leak, Pearl 1988; a check with several
results is a noisy-MAX, Diez 1993, from memory). Priors, leaks and links are rounded to 12 digits here, before any
inference.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from copy import copy
from functools import cached_property

import numpy as np
from msgspec import Struct, field
from msgspec.structs import replace
from numpy.typing import NDArray

from diagnose.knowledge import Cause, Check, Evidence, Fact, Knowledge
from diagnose.knowledge.ratio_curve import curve_ratio
from diagnose.reasoning.answers import ABSENT, SEEN, Answer, Answers
from diagnose.reasoning.finding import Finding, count_once, digits12
from diagnose.reasoning.soft_evidence import band_shares, read_bands

NOT_LISTED = "not_listed"
#: the facts that choose which part of the knowledge applies
CONTEXT = ("build", "painted")

#: Gauss-Hermite nodes and weights for a normal error (5 points;
#: Abramowitz & Stegun table 25.10, from memory, checked in the tests)
_NODES = (0.0, 0.9585724646138185, -0.9585724646138185, 2.0201828704560856, -2.0201828704560856)
_WEIGHTS = (0.5333333333333333, 0.22207592200561263, 0.22207592200561263, 0.011257411327720691, 0.011257411327720691)


class FactEvidence(Struct, frozen=True, dict=True):
    """What the facts say of one cause: the ratio of each fact that speaks, and their product.

    All that speaks against the cause counts together no less than *floor*: ten normal answers must not bury a cause.
    """

    floor: float
    by_fact: Mapping[str, float]

    @cached_property
    def product(self) -> float:
        """The product of the ratios, in the order of the facts."""
        return self.products_with((1.0,), frozenset())[0]

    def products_with(self, ratios: Sequence[float], silenced: frozenset[str]) -> list[float]:
        """The product with each of *ratios* added and the facts *silenced* left out."""
        speaks_for, against = self._all if silenced.isdisjoint(self.by_fact) else self._parted(silenced)
        return [speaks_for * max(ratio, 1.0) * max(against * min(ratio, 1.0), self.floor) for ratio in ratios]

    @cached_property
    def _all(self) -> tuple[float, float]:
        return self._parted(frozenset())

    def _parted(self, silenced: frozenset[str]) -> tuple[float, float]:
        """The product of the ratios for the cause, and of those against it."""
        speaks_for = against = 1.0
        for fact, ratio in self.by_fact.items():
            if fact not in silenced:
                speaks_for *= max(ratio, 1.0)
                against *= min(ratio, 1.0)
        return speaks_for, against


class Network(Struct, frozen=True):
    """Priors of the causes in order (`not_listed` last) and the findings read from the answers.

    *merged* are the answers that are two views of one thing with another answer, so that either may have fallen silent.
    """

    causes: tuple[str, ...]
    priors: tuple[float, ...]
    findings: tuple[Finding, ...]
    speaking: dict[str, FactEvidence]
    merged: frozenset[str] = frozenset()


class Overlay(Struct, frozen=True):
    """What takes the place of numbers of the book: base rates by cause, links by cause and finding, all from 0 to 1.

    A finding is a symptom, or a result of a check as `check:result`.
    """

    base: Mapping[str, float] = field(default_factory=dict)
    links: Mapping[str, Mapping[str, float]] = field(default_factory=dict)


class Model:
    """The knowledge as it applies to one build and paint: causes in order, base rates, and how answers are read.

    Unknown build or paint (None) leaves every cause in play. *context*: the questions whose answers chose this model,
    and so say nothing within it.
    """

    context = frozenset(CONTEXT)

    def __init__(
        self, knowledge: Knowledge, build: str | None, painted: bool | None, overlay: Overlay | None = None
    ) -> None:
        self.knowledge = knowledge
        self.overlay = overlay or Overlay()
        self.build = build
        self.painted = painted
        self.limits = knowledge.words["limits"]
        self.causes: dict[str, Cause] = {
            name: knowledge.causes[name] for name in sorted(knowledge.causes) if knowledge.applies(name, build, painted)
        }
        self.names = (*self.causes, NOT_LISTED)
        total = sum(cause.base for cause in self.causes.values()) or 1.0
        scale = self.limits["base total"] / total
        self.base = {
            name: self._capped_base(name, self.overlay.base.get(name, cause.base * scale))
            for name, cause in self.causes.items()
        }
        self.base[NOT_LISTED] = self.limits["not listed base"]
        self.bearing: dict[str, list[str]] = {}
        for name, cause in self.causes.items():
            for fact in cause.facts:
                self.bearing.setdefault(fact, []).append(name)
        self._better = {fact: self._closure(fact) for fact in knowledge.facts}
        self._symptom_links: dict[str, dict[str, float]] = {}
        self._result_links: dict[str, dict[str, dict[str, float]]] = {}
        self._rows: dict[str, list[NDArray[np.float64]]] = {}
        self._asked: dict[tuple[str, str], tuple[float, ...]] = {}

    def with_base(self, base: Mapping[str, float]) -> Model:
        """Return the same model with other base rates of the causes that *base* names; all else is shared."""
        made = copy(self)
        made.overlay = replace(self.overlay, base={**self.overlay.base, **base})
        made.base = {**self.base, **{name: self._capped_base(name, p) for name, p in base.items()}}
        return made

    def _capped_base(self, name: str, p: float) -> float:
        """No cause is likelier than not before anything is told; opposites share less."""
        return min(p, 0.4 if self.causes[name].opposite in self.causes else 0.5)

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
            raw = 1.0 if any(choice in evidence.choices for choice in answer.value) else evidence.other
            for choice in answer.value:
                raw *= evidence.choices.get(choice, 1.0)
        else:
            raw = evidence.choices.get(str(answer.value), 1.0)
        return self.capped(raw ** self.knowledge.words["trust"][answer.source])

    def options(self, fact: Fact) -> list[tuple[float | str, float]]:
        """Return the answers in which *fact* is asked (its typical values, or its choices), each with its share."""
        if fact.kind == "number":
            return list(fact.typical)
        return [(name, choice.share) for name, choice in fact.choices.items()]

    def asked_ratios(self, cause: str, fact: Fact) -> tuple[float, ...]:
        """Ratios for *cause* of the answers in which *fact* is asked (its typical values or choices),
        each as if seen.
        """
        key = (cause, fact.id)
        if key not in self._asked:
            self._asked[key] = tuple(
                self.ratio(self.causes[cause].facts[fact.id], fact, Answer(value)) for value, _ in self.options(fact)
            )
        return self._asked[key]

    def capped(self, ratio: float) -> float:
        """No single reading moves a cause by more than the cap."""
        cap = self.limits["ratio cap"]
        return min(max(ratio, 1.0 / cap), cap)

    def speaking(self, cause: Cause, answers: Answers) -> FactEvidence:
        """Return the facts that speak of *cause*: of those that read the same,
        only the most direct that is answered.
        """
        known = [name for name in answers if name in cause.facts and answers[name].known]
        direct = [name for name in sorted(known) if not any(name in self._better[other] for other in known)]
        ratios = {name: self.ratio(cause.facts[name], self.knowledge.facts[name], answers[name]) for name in direct}
        return FactEvidence(self.limits["ratio cap"] ** -1.0, ratios)

    def priors(self, products: Mapping[str, float]) -> dict[str, float]:
        """Return the prior of each cause from the product of its ratios; opposites share one three-way choice."""
        found: dict[str, float] = {}
        for name in self.causes:
            mine, theirs = self.odds(name, products)
            found[name] = mine / (1.0 + mine + theirs)
        found[NOT_LISTED] = self.base[NOT_LISTED]
        return found

    def opposite(self, name: str) -> str:
        """The cause in play that can't hold together with *name*, or an empty string."""
        other = self.causes[name].opposite
        return other if other in self.causes else ""

    def odds(self, name: str, products: Mapping[str, float]) -> tuple[float, float]:
        """Odds of *name* and of its opposite (0 without one), both against "neither of the two"."""
        other = self.opposite(name)
        neither = 1.0 - self.base[name] - (self.base[other] if other else 0.0)
        mine = self.base[name] / neither * products.get(name, 1.0)
        return mine, self.base[other] / neither * products.get(other, 1.0) if other else 0.0

    # -- effects ---------------------------------------------------------------------------------------------------

    def symptom_links(self, symptom: str) -> dict[str, float]:
        """Links of the causes in play to *symptom*, `not_listed` among them."""
        if symptom not in self._symptom_links:
            links = {
                name: self.overlay.links.get(name, {}).get(symptom, cause.symptoms[symptom].p)
                for name, cause in self.causes.items()
                if symptom in cause.symptoms
            }
            self._symptom_links[symptom] = {**links, NOT_LISTED: self._not_listed_link(symptom)}
        return self._symptom_links[symptom]

    def _not_listed_link(self, symptom: str) -> float:
        """The link of an unlisted cause shrinks with the symptom's leak:
        what hardly ever shows by itself is no sign of just anything.
        """
        ordinary = self.knowledge.words["background"]["ordinary"]
        background = self.knowledge.symptoms[symptom].background
        return digits12(min(self.limits["not listed link"] * background / ordinary, 0.95))

    def result_links(self, check: Check) -> dict[str, dict[str, float]]:
        """Links to each telling result of *check*, given that nothing more telling is produced:
        `p_v / (1 - sum of p above)`.

        The values of a `many` stand side by side: each has its own chance, its base too where a cause links to it.
        """
        if check.id not in self._result_links:
            self._result_links[check.id] = self._links_of(check)
        return self._result_links[check.id]

    def link_rows(self, question: str) -> list[NDArray[np.float64]]:
        """Links over `names`, zero where there is none: of a symptom,
        or of each telling result of a check from the most telling down.
        """
        if question not in self._rows:
            check = self.knowledge.checks.get(question)
            tables = (
                [self.result_links(check)[result] for result in reversed(check.telling)]
                if check is not None
                else [self.symptom_links(question)]
            )
            self._rows[question] = [np.array([links.get(name, 0.0) for name in self.names]) for links in tables]
        return self._rows[question]

    def _links_of(self, check: Check) -> dict[str, dict[str, float]]:
        per_result: dict[str, dict[str, float]] = {result: {} for result in check.telling}
        for name, cause in self.causes.items():
            laid, book = self.overlay.links.get(name, {}), cause.checks.get(check.id, {})
            self._spread(per_result, check, name, {r: laid.get(f"{check.id}:{r}", link.p) for r, link in book.items()})
        each = self._not_listed_each(check)
        self._spread(per_result, check, NOT_LISTED, dict.fromkeys(check.telling, each))
        if check.kind == "many":
            base = {
                name: digits12(cause.checks[check.id][check.base].p)
                for name, cause in self.causes.items()
                if check.base in cause.checks.get(check.id, {})
            }
            if base:
                per_result[check.base] = {**base, NOT_LISTED: self.limits["not listed link"]}
        return per_result

    def leak(self, check: Check, result: str) -> float:
        """The chance that *result* shows by coincidence; ordinary where the file says nothing,
        for nothing is impossible.
        """
        return check.results[result].background or self.knowledge.words["background"]["ordinary"]

    def _not_listed_each(self, check: Check) -> float:
        """The chance that an unlisted cause shows as each telling result,
        such that its chance of showing at all in this check is as stated.
        """
        shows = self.limits["not listed shows"]
        if check.kind != "many":
            return shows / len(check.telling)
        return float(1.0 - (1.0 - shows) ** (1.0 / len(check.telling)))

    def _spread(
        self, per_result: dict[str, dict[str, float]], check: Check, name: str, chances: dict[str, float]
    ) -> None:
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
        return [
            self._result(check, result, links[result], answer, seen)
            for result, seen in self._levels(check, str(answer.value))
        ]

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
        return self._finding(f"{check.id}:{result}", check.id, False, self.leak(check, result), links, answer, seen)

    def _finding(
        self, name: str, question: str, symptom: bool, leak: float, links: dict[str, float], answer: Answer, seen: bool
    ) -> Finding:
        if seen:
            slip = self.knowledge.words["misreport"][answer.source]
            return Finding(
                name, question, symptom, True, 1.0, slip, digits12(leak), {c: digits12(p) for c, p in links.items()}
            )
        trust = self.knowledge.words["trust"][answer.source]
        weaker = {c: digits12(1.0 - (1.0 - p) ** trust) for c, p in links.items()}
        return Finding(name, question, symptom, False, 0.0, 1.0, digits12(1.0 - (1.0 - leak) ** trust), weaker)

    def _many(self, check: Check, links: dict[str, dict[str, float]], answer: Answer) -> list[Finding]:
        """A chosen value is seen, an unchosen one says nothing; the base chosen alone makes the others absent.

        Chosen with others the base is one value among them, if any cause links to it.
        """
        chosen = answer.value if isinstance(answer.value, tuple) else (str(answer.value),)
        if chosen == (check.base,):
            return [self._result(check, result, links[result], answer, False) for result in check.telling]
        return [
            self._result(check, result, links[result], answer, True)
            for result in check.results
            if result in chosen and result in links
        ]

    def _banded(self, check: Check, links: dict[str, dict[str, float]], answer: Answer) -> list[Finding]:
        """A number read as ordered bands; near an edge it is shared between them by its error (`soft_evidence.py`)."""
        telling = tuple(reversed(check.telling))
        found: list[Finding] = []
        for reading in read_bands(
            list(self._shares(check, answer).values()),
            [{**links[name], "": self.leak(check, name)} for name in telling],
        ):
            name = telling[reading.level]
            causes = {cause: chance for cause, chance in reading.links.items() if cause and chance > 0.0}
            full = self._finding(
                f"{check.id}:{name}", check.id, False, reading.links[""], causes, answer, reading.on > reading.off
            )
            if full.seen:  # a slip of the reader lifts what stays when the level is not there
                off = reading.off + full.off * (reading.on - reading.off)
                full = replace(full, on=digits12(reading.on), off=digits12(off))
            else:
                full = replace(full, on=digits12(reading.on), off=digits12(reading.off))
            found.append(full)
        return found

    def _shares(self, check: Check, answer: Answer) -> dict[str, float]:
        """How far *answer* says that each result is there, most telling first and the base last."""
        names = (*reversed(check.telling), check.base)
        if check.kind != "number":
            chosen = answer.value if isinstance(answer.value, tuple) else (answer.value,)
            return {name: 1.0 if name in chosen else 0.0 for name in names}
        value = float(answer.value)  # type: ignore[arg-type]
        bands = [(check.results[name].low, check.results[name].high) for name in names]
        return dict(zip(names, band_shares(bands, value, _error(check, answer, value)), strict=True))

    # -- all of it -------------------------------------------------------------------------------------------------

    def network(self, answers: Answers) -> Network:
        """Return priors and findings for *answers*; answers that don't apply to the build say nothing."""
        speaking = {name: self.speaking(cause, answers) for name, cause in self.causes.items()}
        priors = self.priors({name: said.product for name, said in speaking.items()})
        kept, merged = self.counted_once(self.counted_apart(answers), answers)
        return Network(self.names, tuple(digits12(priors[name]) for name in self.names), tuple(kept), speaking, merged)

    def counted_apart(self, answers: Answers) -> list[Finding]:
        """Return what each of *answers* would say without the others, also where two of them are views of one thing."""
        effects = [name for name in sorted(answers) if answers[name].known and self._is_effect(name)]
        return [finding for name in effects for finding in self.findings(name, answers[name])]

    def counted_once(self, findings: Sequence[Finding], answers: Answers) -> tuple[list[Finding], frozenset[str]]:
        """Return the *findings* of *answers* with two views of one thing counted once,
        and the answers that met in such a pair.
        """
        checks = dict.fromkeys(f.question for f in findings if f.question in self.knowledge.checks)
        shares = {name: self._shares(self.knowledge.checks[name], answers[name]) for name in checks}
        return count_once(self.knowledge, findings, answers, shares)

    def _is_effect(self, name: str) -> bool:
        known = name in self.knowledge.symptoms or name in self.knowledge.checks
        return known and self.knowledge.applies(name, self.build, self.painted)


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


__all__ = ["ABSENT", "NOT_LISTED", "SEEN", "Finding", "Model", "Network", "FactEvidence", "digits12"]
