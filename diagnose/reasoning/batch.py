"""The questions to send to somebody who answers once, tomorrow: the best few together, not the best few one by one.

Two questions that would say the same are worth one. The worth of a set is the expected drop in uncertainty about what
had a part, over all their answers jointly, each question answered or not with its own chance. Chosen greedily; for the
information about one quantity from effects that are independent given it the greedy set has at least 1 - 1/e of the
best (Nemhauser, Wolsey & Fisher 1978; Krause & Guestrin 2005); here the sum over causes makes that a rule of thumb, so
the tests measure it against the exact best.

Joint answers grow as a power of the number of questions, so what a question adds to many is taken as what it adds to
those few of them with which it has most in common. So time grows with the number of questions, and up to `JOINT`
questions all is exact.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np

from diagnose.reasoning.forward_backward import Array
from diagnose.reasoning.inference import ten
from diagnose.reasoning.prediction import Predictor, QuestionTable, gain_bits, mixed
from diagnose.reasoning.situation import Situation
from diagnose.reasoning.value_of_information import candidates, chance_of_answer

#: how many questions compete for a place, and how many are weighed jointly
FIELD, JOINT = 12, 4
#: by how much what a question adds may have grown since it was last weighed
MAY_GROW = 1.5


@dataclass(frozen=True, slots=True)
class Batch:
    """Questions to send together, in the order chosen, with the joint gain in bits after each."""

    questions: tuple[str, ...]
    gains: tuple[float, ...]


class Batcher:
    """Weighs sets of questions for one situation."""

    def __init__(self, situation: Situation, field: int = FIELD) -> None:
        self.model = situation.model
        self.predictor = Predictor(situation)
        found = candidates(situation.model, situation.answers)
        rough = self.predictor.screen(list(dict.fromkeys(c.question for c in found if c.question == c.behind)))
        self.chance = {name: chance_of_answer(self.model, name) for name in rough}
        ranked = sorted(rough, key=lambda name: (-ten(rough[name] * self.chance[name]), name))
        self.field = tuple(ranked[:field])
        self._worth: dict[frozenset[str], float] = {frozenset(): 0.0}

    def greedy(self, count: int) -> Batch:
        """Return the best *count* questions to ask together, each the one that adds most to those before it.

        What a question adds seldom grows by much as others are chosen, so each is weighed anew only while, grown by
        `MAY_GROW`, it could still be the next (lazy greedy; Minoux 1978, from memory; without the growth it is exact
        only for submodular gains).
        """
        chosen: list[str] = []
        gains: list[float] = []
        whole = 0.0
        adds = dict.fromkeys(self.field, float("inf"))
        while len(chosen) < count and adds:
            name = self._next(chosen, adds)
            if adds[name] <= 1e-9:
                break
            chosen.append(name)
            whole += adds.pop(name)
            gains.append(ten(whole))
        return Batch(tuple(chosen), tuple(gains))

    def _next(self, chosen: Sequence[str], adds: dict[str, float]) -> str:
        """The question that adds most to *chosen*; *adds* holds
        what each added last and is brought up to date on the way.
        """
        fresh: set[str] = set()
        while True:
            name = min(adds, key=lambda n: (-ten(adds[n]) * (1.0 if n in fresh else MAY_GROW), n not in fresh, n))
            if name in fresh:
                return name
            adds[name] = self.adds(name, chosen)
            fresh.add(name)

    def adds(self, name: str, chosen: Collection[str]) -> float:
        """Return what *name* adds to the worth of *chosen*, by those of them with which it has most in common,
        in whatever order.
        """
        near = (
            sorted(chosen, key=lambda other: (-ten(self._common(name, other)), other))
            if len(chosen) >= JOINT
            else chosen
        )
        few = frozenset(list(near)[: JOINT - 1])
        return self.worth(few | {name}) - self.worth(few)

    def _common(self, one: str, other: str) -> float:
        """What two questions would both say, in bits: what they are worth apart less what they are worth together."""
        return self.worth([one]) + self.worth([other]) - self.worth([one, other])

    def worth(self, names: Collection[str]) -> float:
        """Return the expected joint gain in bits, each question answered
        with its own chance and otherwise saying nothing. Exact.

        Takes as long as there are joint answers: *names* should be few. Of those that read the same only the most
        direct counts.
        """
        key = frozenset(names)
        if key not in self._worth:
            self._worth[key] = self._worth_of(sorted(key))
        return self._worth[key]

    def _worth_of(self, names: Sequence[str]) -> float:
        tables = [_with_silence(table) for table in map(self.predictor.table, names) if table is not None]
        swept = self._swept(tables)
        total = 0.0
        for some in product((False, True), repeat=len(tables)):
            answered = {table.question for table, yes in zip(tables, some, strict=True) if yes}
            chance = 1.0
            for table in tables:
                p = self.chance[table.question]
                chance *= p if table.question in answered else 1.0 - p
            heard = {name for name in answered if not self._silent(name, answered)}
            joint = _joint(swept, [table.mix if table.question in heard else None for table in tables])
            total += chance * gain_bits(joint[:, 0], joint[:, 1:])
        return total

    def _swept(self, tables: Sequence[QuestionTable]) -> Array:
        """The weights of all rows of all *tables* together, and with each cause's part in them, shape (m1, m2, ...,
        1 + n).
        """
        crossed = tables[0]
        for table in tables[1:]:
            crossed = _crossed(crossed, table)
        evidence, responsible, _ = self.predictor.weights([crossed])
        return np.column_stack([evidence, responsible]).reshape(*(len(table.scale) for table in tables), -1)

    def _silent(self, name: str, names: Collection[str]) -> bool:
        """Whether another of *names* answers the same more directly:
        a better fact, or the check that shows the symptom.
        """
        symptom = self.model.knowledge.symptoms.get(name)
        if symptom is not None:
            return any(check in names for check, _ in symptom.same_as)
        return any(name in self.model.better(other) for other in names if other in self.model.knowledge.facts)


def _with_silence(table: QuestionTable) -> QuestionTable:
    """*table* with the row of no answer first; an effect has it already."""
    if np.all(table.present[0] == 1.0) and np.all(table.absent[0] == 1.0) and table.scale[0] == 1.0:
        return table
    ones = np.ones((1, table.present.shape[1]))
    return QuestionTable(
        table.question,
        np.concatenate([ones, table.present]),
        np.concatenate([ones, table.absent]),
        np.concatenate([[1.0], table.scale]),
        np.pad(table.mix, ((0, 0), (1, 0))),
        table.values,
    )


def _crossed(one: QuestionTable, other: QuestionTable) -> QuestionTable:
    """The rows of two questions multiplied, those of *other* side by side; the answers are left to `_joint`."""
    n = one.present.shape[1]
    return QuestionTable(
        "",
        (one.present[:, None] * other.present).reshape(-1, n),
        (one.absent[:, None] * other.absent).reshape(-1, n),
        np.multiply.outer(one.scale, other.scale).reshape(-1),
        one.mix,
        (),
    )


def _joint(swept: Array, mixes: Sequence[Array | None]) -> Array:
    """The weights (a, 1 + n) of all joint answers of the questions with a mix (answers, rows);
    None is a question not answered.
    """
    for mix in mixes:
        swept = swept[0] if mix is None else np.moveaxis(mixed(mix, swept), 0, -2)
    return swept.reshape(-1, swept.shape[-1])


__all__ = ["Batch", "Batcher"]
