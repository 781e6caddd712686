"""What to do: the set of remedies with the least expected cost, and how surely it works.

A plan fails when a cause that had a part is left alone, when a remedy doesn't work (each has its own chance), or when what had a
part is not on the list. Its success is one joint probability: the sweep of `sweep.py` in which a cause that holds and fires
on a symptom seen is weighed by its chance of being mended. Expected cost = cost of the set + cost of another bad part x
(1 - success). For one fault and independent tries one after another the published probability-over-cost order
(`in_order`) is best; a set done at once is another function, and both are here.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from diagnose.knowledge import Remedy
from diagnose.reasoning.elimination import Array
from diagnose.reasoning.inference import Inference
from diagnose.reasoning.network import NOT_LISTED, Model
from diagnose.reasoning.subsets import Subsets

#: causes with a smaller chance of a part are left to luck when remedies are gathered
LEAST_PART = 0.01
#: at most this many remedies are weighed against each other, the most promising of each leading cause
MOST_REMEDIES = 24


@dataclass(frozen=True, slots=True)
class Costs:
    """What things cost a shop, in its own money: an hour at work, an hour of waiting, material words, another bad part."""

    hour: float
    waiting_hour: float
    material: Mapping[str, float]
    bad_part: float

    @classmethod
    def from_words(cls, money: Mapping[str, float]) -> Costs:
        """Return the costs of the table `costs` of the knowledge."""
        return cls(money["hour at work"], money["hour of waiting"], money, money["another bad part"])

    def of(self, remedy: Remedy) -> float:
        """Return the cost of *remedy*: hands, waiting and material."""
        return (
            self.hour * remedy.minutes / 60
            + self.waiting_hour * remedy.wait_minutes / 60
            + self.material[remedy.material]
        )


@dataclass(frozen=True, slots=True)
class Plan:
    """A set of remedies, what it costs, its joint chance of success, and the expected cost with another bad part counted."""

    remedies: tuple[str, ...]
    cost: float
    success: float
    expected_cost: float


class Planner:
    """Weighs sets of remedies against one network."""

    def __init__(
        self,
        model: Model,
        engine: Inference,
        costs: Costs,
        part: Mapping[str, float],
        when: Sequence[str] = ("next_pour", "between_pours"),
    ) -> None:
        self.model = model
        self.engine = engine
        self.costs = costs
        self.remedies = self._gather(part, when)
        self.price = {remedy.id: costs.of(remedy) for remedy in self.remedies}
        swept = engine.sweep(engine.rows(1))
        self.whole = float(swept.z[0])
        self.part: Array = np.maximum(swept.held[0] - swept.silent[0], 0.0) / self.whole
        self._known: dict[frozenset[str], float] = {}

    def _gather(self, part: Mapping[str, float], when: Sequence[str]) -> list[Remedy]:
        """Remedies that mend a cause with a part worth mending, most promising first."""
        found: list[tuple[float, Remedy]] = []
        for remedy in self.model.knowledge.remedies.values():
            if remedy.when not in when:
                continue
            use = sum(
                part.get(cause, 0.0) * link.p
                for cause, link in remedy.fixes.items()
                if part.get(cause, 0.0) >= LEAST_PART
            )
            if use > 0.0:
                found.append((use, remedy))
        found.sort(key=lambda pair: (-round(pair[0], 10), pair[1].id))
        return [remedy for _, remedy in found[:MOST_REMEDIES]]

    def mend(self, chosen: Sequence[str]) -> Array:
        """Return each cause's chance of being mended by at least one of *chosen*, shape (n,); `not_listed` by none."""
        left = np.ones(len(self.engine.names))
        for name in chosen:
            for cause, link in self.model.knowledge.remedies[name].fixes.items():
                index = self.engine.index.get(cause)
                if index is not None:
                    left[index] *= 1.0 - link.p
        mended = 1.0 - left
        mended[self.engine.index[NOT_LISTED]] = 0.0
        return mended

    def successes(self, sets: Sequence[frozenset[str]]) -> list[float]:
        """Return the joint chance that nothing is left that had a part, for each set; known ones are not worked out anew."""
        new = [chosen for chosen in dict.fromkeys(sets) if chosen not in self._known]
        if new:
            rows = self.engine.rows(len(new))
            for j, finding in enumerate(self.engine.open):
                if finding.symptom and finding.seen:
                    rows.leak[:, j] = 0.0  # what no listed cause explains, no remedy mends
            mended = np.stack([self.mend(sorted(chosen)) for chosen in new])
            good = self.engine.structure.mended(rows, mended)
            for chosen, weight in zip(new, good, strict=True):
                self._known[chosen] = min(1.0, float(weight) / self.whole)
        return [self._known[chosen] for chosen in sets]

    def plan(self, chosen: frozenset[str]) -> Plan:
        """Return the plan that does *chosen*."""
        return self._plans([chosen])[0]

    def _plans(self, sets: Sequence[frozenset[str]]) -> list[Plan]:
        plans = []
        for chosen, success in zip(sets, self.successes(sets), strict=True):
            cost = self.cost(chosen)
            plans.append(Plan(self._order(chosen), cost, success, cost + self.costs.bad_part * (1.0 - success)))
        return plans

    def cost(self, chosen: frozenset[str]) -> float:
        """Return what the set costs to do."""
        return sum(self.price[name] for name in sorted(chosen))

    def _order(self, chosen: frozenset[str]) -> tuple[str, ...]:
        return tuple(remedy.id for remedy in self.remedies if remedy.id in chosen)

    def best(self) -> Plan:
        """Return the set with the least expected cost, of all sets; of equals the smaller one.

        One remedy alone may save nothing where two causes had a part, so a good set is grown on the way to doing all that helps;
        `subsets.py` then looks for a better one among all.
        """
        if not self.remedies:
            return self.plan(frozenset())
        good = min(self._grown(), key=_key)
        return self.plan(self._set(self._subsets().least(self.costs.bad_part, self._places(good))))

    def _subsets(self) -> Subsets:
        names = [remedy.id for remedy in self.remedies]
        return Subsets(
            np.array([self.price[name] for name in names]),
            np.stack([self.mend([name]) for name in names]),
            self.part,
            lambda sets: self.successes([self._set(places) for places in sets]),
        )

    def _set(self, places: Sequence[int]) -> frozenset[str]:
        return frozenset(self.remedies[i].id for i in places)

    def _places(self, plan: Plan) -> tuple[int, ...]:
        return tuple(i for i, remedy in enumerate(self.remedies) if remedy.id in plan.remedies)

    def _grown(self) -> list[Plan]:
        """The sets met on the way from doing nothing to doing all that helps, each step the best next one."""
        path = [self.plan(frozenset())]
        while True:
            here = frozenset(path[-1].remedies)
            wider = [
                plan
                for plan in self._plans([here | {r.id} for r in self.remedies if r.id not in here])
                if plan.success > path[-1].success + 1e-4
            ]
            if not wider or len(here) >= 6:
                return path
            path.append(
                max(
                    wider,
                    key=lambda plan: (
                        round((plan.success - path[-1].success) / (plan.cost - path[-1].cost + 1.0), 10),
                        plan.remedies,
                    ),
                )
            )

    def pool(self) -> list[frozenset[str]]:
        """Return the sets among which a question's worth is weighed: nothing, singles, pairs of the most promising, and those grown."""
        lead = [remedy.id for remedy in self.remedies[:10]]
        pairs = [frozenset((one, other)) for i, one in enumerate(lead) for other in lead[i + 1 :]]
        grown = [frozenset(plan.remedies) for plan in self._grown()]
        return list(dict.fromkeys([frozenset(), *(frozenset((name,)) for name in lead), *pairs, *grown]))

    def most_promising(self) -> Plan | None:
        """Return the one remedy that mends most of what may have had a part, or None where there is none to choose."""
        return self.plan(frozenset((self.remedies[0].id,))) if self.remedies else None

    def reaching(self, goal: float) -> Plan | None:
        """Return the cheapest plan, of all sets, whose success is at least *goal*, or None where no set reaches it."""
        if self.plan(frozenset()).success >= goal:
            return self.plan(frozenset())
        every = frozenset(remedy.id for remedy in self.remedies)
        if self.plan(every).success < goal:
            return None
        start = self._thinned(self._towards(goal), goal)
        return self.plan(self._set(self._subsets().cheapest(goal, self._places(start))))

    def _towards(self, goal: float) -> Plan:
        """Grown by the most success per cost until *goal* is reached, which doing everything does."""
        here = self.plan(frozenset())
        while here.success < goal:
            wider = self._plans([frozenset(here.remedies) | {r.id} for r in self.remedies if r.id not in here.remedies])
            here = max(
                wider,
                key=lambda plan: (
                    round((min(plan.success, goal) - here.success) / max(plan.cost - here.cost, 0.01), 10),
                    plan.remedies,
                ),
            )
        return here

    def _thinned(self, here: Plan, goal: float) -> Plan:
        """Without what *goal* does not need, the dearest first."""
        while True:
            thinner = [
                plan
                for plan in self._plans([frozenset(here.remedies) - {name} for name in here.remedies])
                if plan.success >= goal
            ]
            if not thinner:
                return here
            here = min(thinner, key=lambda plan: (round(plan.cost, 10), plan.remedies))


def _key(plan: Plan) -> tuple[float, int, tuple[str, ...]]:
    """Least expected cost; of equals the smaller set, then by name, so that ties never depend on the machine."""
    return (round(plan.expected_cost, 9), len(plan.remedies), plan.remedies)


def in_order(probabilities: Sequence[float], costs: Sequence[float]) -> list[int]:
    """Return the order in which to try independent single-fault fixes one after another: falling probability over cost.

    Optimal for one fault and independent actions (Kadane & Simon 1977; Heckerman, Breese & Rommelse 1995). Costs above zero.
    """
    return sorted(range(len(probabilities)), key=lambda i: (-probabilities[i] / costs[i], i))


def expected_tries_cost(order: Sequence[int], probabilities: Sequence[float], costs: Sequence[float]) -> float:
    """Return the expected cost of trying in *order* until the fault is found: sum over i of (1 - p found before i) x cost of i."""
    left, total = 1.0, 0.0
    for i in order:
        total += left * costs[i]
        left -= probabilities[i]
    return total
