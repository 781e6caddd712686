"""What is answered about one part, thought through once: the network, one inference, and what is believed.

Everything that reasons about a case takes a `Situation`, and what would be otherwise (an answer left out, a cause that
can't hold) is a row over the one network, not a network of its own. Where an answer is left out that has a twin (two
views of one thing, counted once), they are rows over a second network, in which the two are apart.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from functools import cached_property
from typing import overload

import numpy as np
from msgspec.structs import replace

from diagnose.reasoning.answers import SEEN, Answer
from diagnose.reasoning.elimination import TooManySeen, Weights
from diagnose.reasoning.finding import Finding
from diagnose.reasoning.forward_backward import Array, Potentials
from diagnose.reasoning.inference import Beliefs, CauseBelief, Inference, ten
from diagnose.reasoning.network import NOT_LISTED, Model, Network

Columns = list[list[tuple[str, float]]]


class Situation:
    """A model and the answers given under it; all that follows is worked out when first asked for and then kept."""

    def __init__(self, model: Model, answers: Mapping[str, Answer]) -> None:
        self.model = model
        self.answers = answers

    @property
    def network(self) -> Network:
        """Priors and findings."""
        return self.inference.network

    @property
    def inference(self) -> Inference:
        """The network made ready for sweeps."""
        return self._made[0]

    @property
    def left_aside(self) -> tuple[str, ...]:
        """Answers not weighed, because more is said to be seen than can be weighed together:
        those that tell least, least first.
        """
        return self._made[1]

    @cached_property
    def _made(self) -> tuple[Inference, tuple[str, ...]]:
        answers, aside = dict(self.answers), list[str]()
        while True:
            network = self.model.network(answers)
            try:
                return Inference(network), tuple(aside)
            except TooManySeen:
                positive = [finding for finding in network.findings if finding.on > 0.0]
                aside.append(min(positive, key=lambda finding: (ten(_telling(finding)), finding.id)).question)
                del answers[aside[-1]]

    @cached_property
    def seen(self) -> tuple[str, ...]:
        """Symptoms told as seen, in the order told."""
        symptoms = self.model.knowledge.symptoms
        return tuple(name for name, answer in self.answers.items() if name in symptoms and answer.value == SEEN)

    @property
    def explains(self) -> bool:
        """Whether there is a symptom seen to be explained."""
        return any(finding.symptom and finding.seen for finding in self.network.findings)

    def without(self, question: str) -> Situation:
        """Return the situation had *question* not been answered."""
        return self.only(name for name in self.answers if name != question)

    def only(self, questions: Iterable[str]) -> Situation:
        """Return the situation had only *questions* been answered."""
        return Situation(self.model, {name: self.answers[name] for name in questions})

    def with_answer(self, question: str, answer: Answer) -> Situation:
        """Return the situation with one more answer, or another in its place."""
        return Situation(self.model, {**self.answers, question: answer})

    # -- what is believed ------------------------------------------------------------------------------------------

    @cached_property
    def beliefs(self) -> Beliefs:
        """What is believed. Raises NoWayToBe where the answers can't all be true."""
        inference = self.inference
        part, held = inference.responsible, inference.present
        causes = [
            CauseBelief(name, float(part[i]), float(held[i]), _Column(lambda: self._weights, i))
            for i, name in enumerate(inference.names)
            if name != NOT_LISTED
        ]
        causes.sort(key=lambda c: (-ten(c.probability), -ten(c.present), c.id))
        lone = float(part[inference.index[NOT_LISTED]])
        return Beliefs(tuple(causes), inference.unexplained, lone, inference.evidence)

    def responsible_any(self, names: Iterable[str]) -> float:
        """Return the chance that at least one of the causes *names* had a part in a symptom seen. Exact.

        Chances of single causes can't be added up: several may hold at once, and what explains a symptom makes the
        others less needed.
        """
        return float(self._any([set(names)])[0])

    def both_responsible(self, one: str, other: str) -> float:
        """Return the chance that both causes had a part in a symptom seen. Exact."""
        first, second, either = self._any([{one}, {other}, {one, other}])
        return float(max(0.0, first + second - either))

    def held_and_responsible(self, held: str, other: str) -> float:
        """Return the chance that *held* held while *other* had a part:
        what of that part goes where *held* can't hold. Exact.
        """
        rows, i = self.inference.rows(1), self.inference.index[other]
        rows.present[self.inference.index[held]] = 0.0
        rest = self.inference.sweep(rows).responsible[i, 0] / self.inference.evidence
        return float(max(0.0, self.inference.responsible[i] - rest))

    def _any(self, sets: Sequence[Collection[str]]) -> Array:
        """For each set the chance that one of its causes had a part, shape (r,):
        1 less that all which fired is outside.
        """
        outside = np.array([[float(name not in some) for some in sets] for name in self.inference.names])
        made: Array = np.maximum(0.0, 1.0 - self.inference.success(outside, leaks=True))
        return made

    # -- answers left out ------------------------------------------------------------------------------------------

    @cached_property
    def weighed(self) -> tuple[str, ...]:
        """The answers that say something, in the order given."""
        speaking = {finding.question for finding in self.network.findings} | self.network.merged
        return tuple(
            name
            for name, answer in self.answers.items()
            if answer.known and (name in speaking or name in self.model.bearing)
        )

    def swept(self, given: Sequence[Mapping[str, Answer]]) -> Weights:
        """Return the weights, a row each, of the sets of answers *given*:
        these answers, some left out, some facts otherwise.
        """
        inference = self._inference_for(given)
        return inference.sweep(self._rows(inference, given)[0])

    def evidence_of(self, given: Sequence[Mapping[str, Answer]]) -> list[float]:
        """Return the weight of the findings of each of the sets of answers *given*, negative ones with their leaks."""
        keys = [tuple(answers.items()) for answers in given]
        inference, distinct = self._inference_for(given), dict(zip(keys, given, strict=True))
        rows, quiet = self._rows(inference, list(distinct.values()))
        weights = dict(zip(distinct, inference.structure.evidence(rows) * np.array(quiet), strict=True))
        return [float(weights[key]) for key in keys]

    @cached_property
    def _twins_apart(self) -> Inference:
        """The network in which two views of one thing stand side by side;
        which of them counts is a matter of the row.
        """
        weighed = {name: answer for name, answer in self.answers.items() if name not in self.left_aside}
        return Inference(replace(self.network, findings=tuple(self.model.counted_apart(weighed))), math.inf)

    def _inference_for(self, given: Sequence[Mapping[str, Answer]]) -> Inference:
        return self._twins_apart if any(self.network.merged - answers.keys() for answers in given) else self.inference

    def _rows(self, inference: Inference, given: Sequence[Mapping[str, Answer]]) -> tuple[Potentials, list[float]]:
        """A row over the network of *inference* for each of *given*,
        and the chance that the leaks of what is negative stay silent.
        """
        rows, quiet = inference.rows(len(given)), list[float]()
        for r, answers in enumerate(given):
            found = [finding for finding in inference.network.findings if finding.question in answers]
            if inference is not self.inference:
                found, _ = self.model.counted_once(found, answers)
            kept = {finding.id: finding for finding in found}
            for j, finding in enumerate(inference.positive):
                now = kept.get(finding.id)
                rows.on[j, r], rows.off[j, r] = (now.on, now.off) if now else (1.0, 1.0)
                rows.explain[j, r] = float(now is not None and now.symptom)
            priors = self._priors(answers)
            rows.present[:, r] = priors * inference.factors_of(kept)
            rows.absent[:, r] = 1.0 - priors
            quiet.append(math.prod(1.0 - f.leak for f in inference.negative if f.id in kept))
        return rows, quiet

    def products(self, answers: Mapping[str, Answer]) -> dict[str, float]:
        """Return the product of the ratios of each cause after *answers*;
        only those are worked out that differ from what is.
        """
        made = {cause: said.product for cause, said in self.network.speaking.items()}
        for cause in dict.fromkeys(c for fact in self._changed_facts(answers) for c in self.model.bearing[fact]):
            made[cause] = self.model.speaking(self.model.causes[cause], answers).product
        return made

    def _changed_facts(self, answers: Mapping[str, Answer]) -> list[str]:
        named = dict.fromkeys([*self.answers, *answers])
        return [n for n in named if n in self.model.bearing and self.answers.get(n) != answers.get(n)]

    def _priors(self, answers: Mapping[str, Answer]) -> Array:
        """The priors (n,) after *answers*."""
        if not self._changed_facts(answers):
            return self.inference.priors
        priors = self.model.priors(self.products(answers))
        return np.array([priors[name] for name in self.inference.names])

    @cached_property
    def each_left_out(self) -> dict[str, tuple[Array, Array]]:
        """For each answer of `weighed` the chances (n,) without it: held, and had a part in a symptom seen."""
        said = Counter(finding.question for finding in self.network.findings)
        places = {f.question: j for j, f in enumerate(self.inference.positive) if said[f.question] == 1}
        rest = [name for name in self.weighed if name not in places or name in self.network.merged]
        found: dict[str, tuple[Array, Array]] = {}
        if rest:
            swept = self.swept([{k: a for k, a in self.answers.items() if k != name} for name in rest])
            found.update(zip(rest, _chances(swept), strict=True))
        if len(rest) < len(self.weighed):
            every = _chances(self.inference.without_each)
            found.update((name, every[places[name]]) for name in self.weighed if name not in found)
        return {name: found[name] for name in self.weighed}

    @cached_property
    def _weights(self) -> Columns:
        """For each cause the weight of each answer: log odds that it held,
        less what they would be without the answer.
        """
        if not self.weighed:
            return [[] for _ in self.inference.names]
        without = np.stack([self.each_left_out[name][0] for name in self.weighed])
        table = log_odds(self.inference.present) - log_odds(without)
        return [list(zip(self.weighed, column, strict=True)) for column in table.T.tolist()]


class _Column(Sequence[tuple[str, float]]):
    """The weights on one cause, worked out with those on all others when the first is looked at."""

    def __init__(self, table: Callable[[], Columns], cause: int) -> None:
        self._table = table
        self._cause = cause

    @overload
    def __getitem__(self, place: int) -> tuple[str, float]: ...
    @overload
    def __getitem__(self, place: slice) -> list[tuple[str, float]]: ...
    def __getitem__(self, place: int | slice) -> tuple[str, float] | list[tuple[str, float]]:
        return self._table()[self._cause][place]

    def __iter__(self) -> Iterator[tuple[str, float]]:
        return iter(self._table()[self._cause])

    def __len__(self) -> int:
        return len(self._table()[self._cause])


def _chances(swept: Weights) -> list[tuple[Array, Array]]:
    """The chances (n,) of each row: held, and had a part in a symptom seen."""
    return list(zip((swept.present / swept.evidence).T, (swept.responsible / swept.evidence).T, strict=True))


def _telling(finding: Finding) -> float:
    """How far a positive finding can move a cause: the greatest
    likelihood ratio that it gives one of those linked to it.
    """

    def chance(shown: float) -> float:
        return finding.off + (finding.on - finding.off) * shown

    usual = max(chance(finding.leak), 1e-300)
    return max((chance(1.0 - (1.0 - finding.leak) * (1.0 - p)) / usual for p in finding.links.values()), default=0.0)


def log_odds(p: Array) -> Array:
    """Return natural-log odds, held within 1e-15 of nothing and of certainty."""
    p = np.minimum(np.maximum(p, 1e-15), 1.0 - 1e-15)
    made: Array = np.log(p / (1.0 - p))
    return made


__all__ = ["Situation", "log_odds"]
