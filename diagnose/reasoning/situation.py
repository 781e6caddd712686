"""What is asked and answered about one part, thought through once: the network, one inference, and what is believed.

Everything that reasons about a case takes a `Situation`; nothing makes a second network of the same answers.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cached_property

import numpy as np

from diagnose.reasoning.answers import SEEN, Answer
from diagnose.reasoning.forward_backward import Array
from diagnose.reasoning.inference import Beliefs, Inference, believe
from diagnose.reasoning.network import Model, Network


class Situation:
    """A model and the answers given under it; all that follows is worked out when first asked for and then kept."""

    def __init__(self, model: Model, answers: Mapping[str, Answer]) -> None:
        self.model = model
        self.answers = answers

    @cached_property
    def network(self) -> Network:
        """Priors and findings."""
        return self.model.network(self.answers)

    @cached_property
    def inference(self) -> Inference:
        """The network made ready for sweeps."""
        return Inference(self.network)

    @cached_property
    def beliefs(self) -> Beliefs:
        """What is believed. Raises NoWayToBe where the answers can't all be true."""
        return believe(self.model, self.answers, self.inference)

    @cached_property
    def seen(self) -> tuple[str, ...]:
        """Symptoms told as seen, in the order told."""
        symptoms = self.model.knowledge.symptoms
        return tuple(name for name, answer in self.answers.items() if name in symptoms and answer.value == SEEN)

    @property
    def left_aside(self) -> tuple[str, ...]:
        """Answers not weighed because more was seen than can be held; until then such a case is refused, so there is none."""
        return ()

    def without(self, question: str) -> Situation:
        """Return the situation had *question* not been answered."""
        return Situation(self.model, {name: answer for name, answer in self.answers.items() if name != question})

    def with_answer(self, question: str, answer: Answer) -> Situation:
        """Return the situation with one more answer, or another in its place."""
        return Situation(self.model, {**self.answers, question: answer})

    def responsible_any(self, names: Iterable[str]) -> float:
        """Return the chance that at least one of the causes *names* had a part in a symptom seen. Exact.

        Chances of single causes can't be added up: several may hold at once, and what explains a symptom makes the others
        less needed.
        """
        return float(self._any([set(names)])[0])

    def both_responsible(self, one: str, other: str) -> float:
        """Return the chance that both causes had a part in a symptom seen. Exact."""
        first, second, either = self._any([{one}, {other}, {one, other}])
        return float(max(0.0, first + second - either))

    def held_and_responsible(self, held: str, other: str) -> float:
        """Return the chance that *held* held while *other* had a part: what of that part goes where *held* can't hold."""
        rows = self.inference.rows(2)
        rows.hold[1, self.inference.index[held]] = 0.0
        swept, i = self.inference.sweep(rows), self.inference.index[other]
        part = swept.held[:, i] - swept.silent[:, i]
        return float(max(0.0, part[0] - part[1]) / swept.z[0])

    def _any(self, sets: list[set[str]]) -> Array:
        """For each set of causes the chance that one of it had a part: 1 less the chance that all which fired is outside."""
        inference = self.inference
        outside = np.array([[float(name not in some) for name in inference.names] for some in sets])
        weight = inference.structure.mended(inference.rows(len(sets)), outside)
        made: Array = np.maximum(
            0.0, 1.0 - weight / inference.structure.mended(inference.rows(1), outside[:1] * 0.0 + 1.0)
        )
        return made


__all__ = ["Situation"]
