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

import math
from collections.abc import Collection, Iterable, Sequence
from functools import reduce
from itertools import product

import numpy as np
from msgspec import Struct

from diagnose.reasoning.forward_backward import Array
from diagnose.reasoning.inference import ten
from diagnose.reasoning.prediction import Predictor, QuestionTable, entropies, mixed
from diagnose.reasoning.situation import Situation
from diagnose.reasoning.value_of_information import candidates, chance_of_answer

#: how many questions compete for a place, and how many are weighed jointly
FIELD, JOINT = 12, 4
#: by how much what a question adds to several may be more than what it adds to one of them
MAY_GROW = 1.5


class Batch(Struct, frozen=True):
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
        self.tables = {n: _with_silence(t) for n in self.field if (t := self.predictor.table(n)) is not None}
        idle = {*situation.inference.structure.net.idle, len(situation.inference.names) - 1}
        self.linked = [i for i in range(len(situation.inference.names)) if i not in idle]
        self._worth: dict[frozenset[str], float] = {frozenset(): 0.0}

    def greedy(self, count: int) -> Batch:
        """Return the best *count* questions to ask together, each the one that adds most to those before it."""
        adds, chosen, gains = dict.fromkeys(self.field, math.inf), list[str](), [0.0]
        while len(chosen) < count and adds:
            name = self._next(chosen, adds)
            if adds[name] <= 1e-9:
                break
            chosen.append(name)
            gains.append(gains[-1] + adds.pop(name))
        return Batch(tuple(chosen), tuple(map(ten, gains[1:])))

    def _next(self, chosen: Sequence[str], adds: dict[str, float]) -> str:
        """The question that adds most to *chosen*; *adds* holds
        what each added last and is brought up to date on the way.

        Beside several a question seldom adds much more than beside a few or any one of them, so it is weighed with
        several only while that, grown by `MAY_GROW`, could still be the most (lazy greedy; Minoux 1978, from memory;
        without the growth it is exact only for submodular gains).
        """
        self._weigh([[name, *other] for name in adds for other in ([], *([one] for one in chosen))])
        most = {name: min([last, *(self._beside(name, other) for other in chosen)]) for name, last in adds.items()}
        fresh: set[str] = set()
        while True:
            name = min(adds, key=lambda n: (-ten(adds[n] if n in fresh else MAY_GROW * most[n]), n not in fresh, n))
            if name in fresh:
                return name
            adds[name] = self.adds(name, chosen)
            fresh.add(name)

    def _beside(self, name: str, other: str) -> float:
        """What *name* adds to *other* alone."""
        return self.worth([name, other]) - self.worth([other])

    def adds(self, name: str, chosen: Collection[str]) -> float:
        """Return what *name* adds to the worth of *chosen*, by those of them with which it has most in common,
        in whatever order.
        """
        near = sorted(chosen, key=lambda other: (ten(self._beside(name, other)), other))
        few = frozenset(near[: JOINT - 1])
        return self.worth(few | {name}) - self.worth(few)

    def worth(self, names: Collection[str]) -> float:
        """Return the expected joint gain in bits, each question answered
        with its own chance and otherwise saying nothing. Exact.

        Takes as long as there are joint answers: *names* should be few. Of those that read the same only the most
        direct counts.
        """
        self._weigh([names])
        return self._worth[frozenset(names)]

    def _weigh(self, sets: Iterable[Collection[str]]) -> None:
        """Work out the worth of *sets*, those not known yet in one sweep."""
        new = {key: [self.tables[n] for n in sorted(key)] for key in map(frozenset, sets) if key not in self._worth}
        if not new:
            return
        crossed = [reduce(_crossed, tables) for tables in new.values()]
        evidence, responsible, _ = self.predictor.weights(crossed)
        swept, start = np.concatenate([evidence[None], responsible[self.linked]]), 0
        for (key, tables), rows in zip(new.items(), crossed, strict=True):
            stop = start + len(rows.scale)
            self._worth[key] = self._worth_of(tables, swept[:, start:stop])
            start = stop

    def _worth_of(self, tables: Sequence[QuestionTable], swept: Array) -> float:
        """The worth of a set of questions from the rows of all of them together, (1 + c, m):
        their weight, and the part of each linked cause.
        """
        joint = swept.reshape(-1, *(len(table.scale) for table in tables))
        for axis, table in enumerate(tables, 1):
            joint = np.moveaxis(mixed(table.mix, np.moveaxis(joint, axis, 0)), 0, axis)
        gains, total = _gains(joint), 0.0
        for some in product((False, True), repeat=len(tables)):
            asked = [(table.question, yes) for table, yes in zip(tables, some, strict=True)]
            answered = {name for name, yes in asked if yes}
            chances = [self.chance[name] if yes else 1.0 - self.chance[name] for name, yes in asked]
            heard = tuple(int(yes and not self._silent(name, answered)) for name, yes in asked)
            total += math.prod(chances) * float(gains[heard])
        return total

    def _silent(self, name: str, names: Collection[str]) -> bool:
        """Whether another of *names* answers the same more directly:
        a better fact, or the check that shows the symptom.
        """
        symptom = self.model.knowledge.symptoms.get(name)
        if symptom is not None:
            return any(check in names for check, _ in symptom.same_as)
        return any(name in self.model.better(other) for other in names if other in self.model.knowledge.facts)


def _with_silence(table: QuestionTable) -> QuestionTable:
    """*table* with the row of no answer first (an effect has it already), and no answer as its first answer."""
    present, absent, scale, mix = table.present, table.absent, table.scale, table.mix
    if not (np.all(present[:, 0] == 1.0) and np.all(absent[:, 0] == 1.0) and scale[0] == 1.0):
        one = np.ones((len(present), 1))
        present, absent = np.concatenate([one, present], axis=1), np.concatenate([one, absent], axis=1)
        scale, mix = np.concatenate([[1.0], scale]), np.pad(mix, ((0, 0), (1, 0)))
    return QuestionTable(table.question, present, absent, scale, np.concatenate([np.eye(1, len(scale)), mix]), ())


def _crossed(one: QuestionTable, other: QuestionTable) -> QuestionTable:
    """The rows of two questions multiplied, those of *other* side by side; what they mix to is left out."""
    n = len(one.present)
    return QuestionTable(
        "",
        (one.present[:, :, None] * other.present[:, None]).reshape(n, -1),
        (one.absent[:, :, None] * other.absent[:, None]).reshape(n, -1),
        np.multiply.outer(one.scale, other.scale).reshape(-1),
        one.mix,
        (),
    )


def _gains(joint: Array) -> Array:
    """The gain in bits where some questions are answered and the others not, shape (2, 2, ...),
    from the weights of their joint answers.
    """
    left = joint[0] * np.add.reduce(entropies(joint[1:] / np.maximum(joint[0], 1e-300)), axis=0)
    whole = np.concatenate([joint, left[None]])
    for axis in range(1, whole.ndim):
        none, *some = np.split(whole, [1], axis=axis)
        whole = np.concatenate([none, np.add.reduce(some[0], axis=axis, keepdims=True)], axis=axis)
    total = np.maximum(whole[0], 1e-300)
    made: Array = np.maximum(0.0, np.add.reduce(entropies(whole[1:-1] / total), axis=0) - whole[-1] / total)
    return made


__all__ = ["Batch", "Batcher"]
