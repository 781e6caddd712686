"""The questions to send to somebody who answers once, tomorrow: the best few together, not the best few one by one.

Two questions that would say the same are worth one. The worth of a set is the expected drop in uncertainty about what had a part, over all
their answers jointly, each question answered or not with its own chance. Chosen greedily; for the information about one quantity from effects
that are independent given it the greedy set has at least 1 - 1/e of the best (Nemhauser, Wolsey & Fisher 1978; Krause & Guestrin 2005);
here the sum over causes makes that a rule of thumb, so the tests measure it against the exact best.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from diagnose.reasoning.elimination import Potentials
from diagnose.reasoning.prediction import Predictor, QuestionTable, crossed, gain_of_rows
from diagnose.reasoning.situation import Situation
from diagnose.reasoning.value_of_information import candidates, chance_of_answer

#: how many questions compete for a place, and how many joint answers are followed at once
FIELD, MOST_JOINT = 12, 1024
#: by how much what a question adds may have grown since it was last weighed
MAY_GROW = 1.5


@dataclass(frozen=True, slots=True)
class Batch:
    """Questions to send together, in the order chosen, with the joint gain in bits after each."""

    questions: tuple[str, ...]
    gains: tuple[float, ...]


class Batcher:
    """Weighs sets of questions for one case."""

    def __init__(self, situation: Situation, field: int = FIELD) -> None:
        self.model = model = situation.model
        self.asker = asker = Predictor(situation)
        names = list(dict.fromkeys(c.question for c in candidates(model, asker.answers) if c.question == c.behind))
        ranked = sorted(
            asker.screen(names), key=lambda pair: (-round(pair[1] * chance_of_answer(model, pair[0]), 10), pair[0])
        )[:field]
        self.field = {
            name: item for name, item in ((name, asker.asked(name)) for name, _ in ranked) if item is not None
        }
        self._bits: dict[frozenset[str], float] = {frozenset(): 0.0}

    def greedy(self, count: int) -> Batch:
        """Return the best *count* questions to ask together, each the one that adds most to those before it.

        What a question adds seldom grows by much as others are chosen, so each is weighed anew only while, grown by `MAY_GROW`, it could still be
        the next (lazy greedy; Minoux 1978, from memory; without the growth it is exact only for submodular gains).
        """
        chosen: list[str] = []
        gains: list[float] = []
        adds = dict.fromkeys(self.field, float("inf"))
        while len(chosen) < count and adds:
            whole = gains[-1] if gains else 0.0
            name = self._next(chosen, whole, adds)
            if adds[name] <= 1e-9:
                break
            chosen.append(name)
            gains.append(round(whole + adds.pop(name), 10))
        return Batch(tuple(chosen), tuple(gains))

    def _next(self, chosen: Sequence[str], whole: float, adds: dict[str, float]) -> str:
        """The question that adds most to *chosen*, whose worth is *whole*; *adds* holds what each added last and is brought up to date on the way."""
        fresh: set[str] = set()
        while True:
            name = min(adds, key=lambda n: (-adds[n] * (1.0 if n in fresh else MAY_GROW), n not in fresh, n))
            if name in fresh:
                return name
            adds[name] = round(self.worth([*chosen, name]) - whole, 10)
            fresh.add(name)

    def exact(self, count: int) -> Batch:
        """Return the best *count* of the field by trying all sets: for small nets, and to measure `greedy`."""
        sets = [(round(self.worth(some), 10), some) for some in combinations(sorted(self.field), count)]
        gain, questions = min(sets, key=lambda pair: (-pair[0], pair[1]))
        return Batch(questions, (gain,))

    def worth(self, names: Sequence[str]) -> float:
        """Return the expected joint gain in bits, each question answered with its own chance and otherwise saying nothing."""
        total = 0.0
        for mask in range(1, 1 << len(names)):
            chance = 1.0
            for i, name in enumerate(names):
                p = chance_of_answer(self.model, name)
                chance *= p if mask >> i & 1 else 1.0 - p
            total += chance * self.bits([name for i, name in enumerate(names) if mask >> i & 1])
        return total

    def bits(self, names: Sequence[str]) -> float:
        """Return the joint gain in bits if all of *names* are answered; of those that read the same only the most direct counts."""
        heard = [name for name in names if not self._silent(name, names)]
        key = frozenset(heard)
        if key not in self._bits:
            joint = self.field[heard[0]]
            for name in heard[1:]:
                item = self.field[name]
                if len(joint.scale) * len(item.scale) > MOST_JOINT:
                    break  # questions beyond this many joint answers are taken to add nothing more, which can only understate them
                joint = crossed(joint, item)
            self._bits[key] = self._gain(joint)
        return self._bits[key]

    def _silent(self, name: str, names: Sequence[str]) -> bool:
        """Whether another of *names* answers the same more directly: a better fact, or the check that shows the symptom."""
        symptom = self.model.knowledge.symptoms.get(name)
        if symptom is not None:
            return any(check in names for check, _ in symptom.same_as)
        return any(name in self.model.better(other) for other in names if other in self.model.knowledge.facts)

    def _gain(self, joint: QuestionTable) -> float:
        rows = self.asker.engine.rows(len(joint.scale))
        swept = self.asker.engine.sweep(
            Potentials(rows.hold * joint.rows, rows.free * joint.free, rows.leak, rows.quiet, rows.on, rows.off)
        )
        part = np.maximum(swept.held - swept.silent, 0.0) * joint.scale[:, None]
        return gain_of_rows(joint, swept.z * joint.scale, part)
