"""What to do: the set of remedies with the least expected cost, and how surely it works.

A plan fails when a cause that had a part is left alone, when a remedy doesn't work (each has its own chance), or when
what had a part is not on the list. Its success is one joint probability: the sweep in which a cause that holds and
fires on a symptom seen is weighed by its chance of being mended. Expected cost = cost of the set + cost of another bad
part x (1 - success). For one fault and independent tries one after another the published probability-over-cost order
(`in_order`) is best; a set done at once is another function, and both are here.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence

import numpy as np
from msgspec import Struct

from diagnose.knowledge import Remedy
from diagnose.reasoning.elimination import Array
from diagnose.reasoning.inference import ten
from diagnose.reasoning.network import NOT_LISTED
from diagnose.reasoning.situation import Situation

#: causes with a smaller chance of a part are left to luck when remedies are gathered
LEAST_PART = 0.01
#: at most this many remedies are weighed against each other, the most promising of each leading cause
MOST_REMEDIES = 24
#: and a set is grown to at most so many
MOST_GROWN = 6


class Costs(Struct, frozen=True):
    """What things cost a shop, in its own money: an hour at work, an hour of waiting, material by its word,
    another bad part, the patience that any question takes, and what it is worth to learn one bit."""

    hour: float
    waiting_hour: float
    material: Mapping[str, float]
    bad_part: float
    question: float
    bit: float

    @classmethod
    def from_words(cls, money: Mapping[str, float]) -> Costs:
        """Return the costs of the table `costs` of the knowledge."""
        return cls(
            money["hour at work"],
            money["hour of waiting"],
            money,
            money["another bad part"],
            money["a question"],
            money["a bit"],
        )

    def of(self, remedy: Remedy) -> float:
        """Return the cost of *remedy*: hands, waiting and material."""
        return (
            self.hour * remedy.minutes / 60
            + self.waiting_hour * remedy.wait_minutes / 60
            + self.material[remedy.material]
        )


class Plan(Struct, frozen=True):
    """A set of remedies, what it costs, its joint chance of success,
    and the expected cost with another bad part counted.
    """

    remedies: tuple[str, ...]
    cost: float
    success: float
    expected_cost: float


class Planner:
    """Weighs sets of remedies against one situation.

    *when*: only remedies of these times are weighed, of them only those that *allow* lets pass.
    """

    def __init__(
        self, situation: Situation, costs: Costs, when: Sequence[str], *, allow: Callable[[Remedy], bool] | None = None
    ) -> None:
        self.situation = situation
        self.costs = costs
        self._fixes = situation.model.knowledge.remedies
        self.remedies = self._gather([r for r in self._fixes.values() if r.when in when and (not allow or allow(r))])
        self.price = {remedy.id: costs.of(remedy) for remedy in self.remedies}
        self._known: dict[frozenset[str], float] = {}

    def _gather(self, offered: Sequence[Remedy]) -> list[Remedy]:
        """Remedies that mend a cause with a part worth mending, most promising first."""
        part = {
            cause.id: cause.probability for cause in self.situation.beliefs.causes if cause.probability >= LEAST_PART
        }
        found = []
        for remedy in offered:
            use = sum(part.get(cause, 0.0) * link.p for cause, link in remedy.fixes.items())
            if use > 0.0:
                found.append((use, remedy))
        found.sort(key=lambda pair: (-ten(pair[0]), pair[1].id))
        return [remedy for _, remedy in found[:MOST_REMEDIES]]

    # -- one set ---------------------------------------------------------------------------------------------------

    def mend(self, chosen: Collection[str]) -> Array:
        """Return each cause's chance of being mended by at least one of *chosen*, shape (n,); `not_listed` by none."""
        index = self.situation.inference.index
        left = np.ones(len(index))
        for name in sorted(chosen):
            for cause, link in self._fixes[name].fixes.items():
                if cause in index and cause != NOT_LISTED:
                    left[index[cause]] *= 1.0 - link.p
        return 1.0 - left

    def success_for(self, remedies: frozenset[str], causes: Collection[str]) -> float:
        """Return the chance that each of *causes*, where it had a part, is mended by *remedies*;
        other causes are ignored.
        """
        named = np.array([name in causes for name in self.situation.inference.names])
        works = np.where(named, self.mend(remedies), 1.0)
        return float(self.situation.inference.success(works[:, None], leaks=True)[0])

    def plan(self, chosen: frozenset[str]) -> Plan:
        """Return the plan that does *chosen*."""
        return self.plans([chosen])[0]

    def plans(self, sets: Sequence[frozenset[str]]) -> list[Plan]:
        """Return a plan for each set, its success exact, in one sweep; sets already known are not worked out anew."""
        new = [chosen for chosen in dict.fromkeys(sets) if chosen not in self._known]
        if new:
            success = self.situation.inference.success(np.stack([self.mend(chosen) for chosen in new], axis=1))
            self._known.update(zip(new, success.tolist(), strict=True))
        return [self._as_plan(chosen, self._known[chosen]) for chosen in sets]

    def _as_plan(self, chosen: frozenset[str], success: float) -> Plan:
        order = tuple(dict.fromkeys(r.id for r in [*self.remedies, *self._fixes.values()] if r.id in chosen))
        cost = self.cost(chosen)
        return Plan(order, cost, success, cost + self.costs.bad_part * (1.0 - success))

    def cost(self, chosen: frozenset[str]) -> float:
        """Return what the set costs to do."""
        return sum(self.costs.of(self._fixes[name]) for name in sorted(chosen))

    def most_promising(self) -> Plan | None:
        """Return the one remedy that mends most of what may have had a part, or None where there is none to choose."""
        return self.plan(frozenset((self.remedies[0].id,))) if self.remedies else None

    # -- the best set ----------------------------------------------------------------------------------------------

    def best(self) -> Plan:
        """Return the set with the least expected cost; of equals the smaller one.

        One remedy alone may save nothing where two causes had a part, so sets are grown on the way to doing all that
        helps; the best of them is then bettered by adding, dropping or swapping one as long as that gains. How near
        that comes to the best of all sets is in `docs/reasoning.md`.
        """
        return self._bettered(min(self.grown(), key=_by_loss), _by_loss, self._may_cost_less)

    def reaching(self, goal: float) -> Plan | None:
        """Return the cheapest plan found whose success is at least *goal*, or None where no set reaches it.

        Grown by the most success for the money until it reaches; the cheapest set met on the way is then bettered as in
        `best`.
        """
        if self.plan(frozenset(remedy.id for remedy in self.remedies)).success < goal:
            return None

        def by_cost(plan: Plan) -> Key:
            short = plan.success < goal
            return (float("inf") if short else round(plan.cost, 9)), len(plan.remedies), plan.remedies

        def may_reach(base: Plan, adds: float, cost: float, here: Plan) -> bool:
            return base.success + adds >= goal and round(cost, 9) <= round(here.cost, 9)

        return self._bettered(min(self._grown_to(goal), key=by_cost), by_cost, may_reach)

    def _may_cost_less(self, base: Plan, adds: float, cost: float, here: Plan) -> bool:
        return cost + self.costs.bad_part * (1.0 - min(1.0, base.success + adds)) <= here.expected_cost + 1e-9

    def _bettered(
        self, here: Plan, key: Callable[[Plan], Key], may: Callable[[Plan, float, float, Plan], bool]
    ) -> Plan:
        """*here* with one remedy added, dropped or swapped, as long as *key* falls.

        *may* leaves out what can't be better by a bound: adding a remedy to a set adds no more success than the chance
        that it mends a cause which had a part and which the set leaves.
        """
        while True:
            chosen = frozenset(here.remedies)
            bases = self.plans([chosen, *(chosen - {name} for name in here.remedies)])
            wider = [
                frozenset(base.remedies) | {name}
                for base in bases
                for name, adds in self._adds(frozenset(base.remedies)).items()
                if name not in chosen and may(base, adds, base.cost + self.price[name], here)
            ]
            better = min([*bases, *self.plans(wider)], key=key)
            if key(better) >= key(here):
                return here
            here = better

    def _adds(self, chosen: frozenset[str]) -> dict[str, float]:
        """For each remedy the most that it can add to the success of *chosen*."""
        left = self.situation.inference.responsible * (1.0 - self.mend(chosen))
        return {r.id: float(np.add.reduce(self.mend((r.id,)) * left)) for r in self.remedies}

    def grown(self) -> list[Plan]:
        """Return the sets met on the way from doing nothing to doing all that helps, each step the best next one."""
        path = [self.plan(frozenset())]
        while len(path) <= MOST_GROWN:
            here = path[-1]
            wider = [plan for plan in self._wider(here) if plan.success > here.success + 1e-4]
            if not wider:
                break
            path.append(
                max(wider, key=lambda p: (ten((p.success - here.success) / (p.cost - here.cost + 1.0)), p.remedies))
            )
        return path

    def _grown_to(self, goal: float) -> list[Plan]:
        """All sets met in growing one, by the most success for the money, until it reaches *goal*."""
        here = self.plan(frozenset())
        met = [here]
        while here.success < goal:
            wider = self._wider(here)
            met += wider
            gain = [(min(p.success, goal) - here.success) / max(p.cost - here.cost, 0.01) for p in wider]
            here = max(zip(gain, wider, strict=True), key=lambda pair: (ten(pair[0]), pair[1].remedies))[1]
        return met

    def _wider(self, here: Plan) -> list[Plan]:
        return self.plans([frozenset(here.remedies) | {r.id} for r in self.remedies if r.id not in here.remedies])


#: what plans are compared by: the less the better, then the smaller set, then by name,
#: so that ties never depend on the machine
Key = tuple[float, int, tuple[str, ...]]


def _by_loss(plan: Plan) -> Key:
    return (round(plan.expected_cost, 9), len(plan.remedies), plan.remedies)


def in_order(probabilities: Sequence[float], costs: Sequence[float]) -> list[int]:
    """Return the order in which to try independent single-fault fixes one after another: falling probability over cost.

    Optimal for one fault and independent actions (Kadane & Simon 1977; Heckerman, Breese & Rommelse 1995). Costs above
    zero.
    """
    return sorted(range(len(probabilities)), key=lambda i: (-probabilities[i] / costs[i], i))


def expected_tries_cost(order: Sequence[int], probabilities: Sequence[float], costs: Sequence[float]) -> float:
    """Return the expected cost of trying in *order* until the fault is found:
    sum over i of (1 - p found before i) x cost of i.
    """
    left, total = 1.0, 0.0
    for i in order:
        total += left * costs[i]
        left -= probabilities[i]
    return total
