"""Which question next, and when to stop: what an answer saves, against its minutes and the caller's patience.

A question is worth what it saves on the best plan (the expected cost of the best set of remedies before, less after) and what the
shop learns by it (bits about what had a part: the log remembers the cause, not only the cure), times the chance that this caller
can answer, less the minutes it takes. One step is short-sighted where two questions tell something only together, so before stopping
the pairs of the ten best are looked at too (`docs/reasoning.md` has how seldom one pays). A question that only feeds a sum (grams of A)
is worth what the derived fact behind it would tell, shared among the answers that are still missing. The prices are our own, no
source; `docs/reasoning.md` shows what they do.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from diagnose.reasoning.answers import Answers
from diagnose.reasoning.elimination import Array
from diagnose.reasoning.inference import Beliefs, Inference
from diagnose.reasoning.network import Model
from diagnose.reasoning.plan import Costs, Planner
from diagnose.reasoning.prediction import SHORTLIST, Prediction, Predictor, open_questions

#: a symptom asked by name was on the list that the caller has already looked through
LISTED = 0.4
#: a check that needs a new pour or a wait is put behind what is in hand
LATER = 0.5
#: a first cause this sure ends the asking, if no likely answer would change the plan
SURE = 0.85
#: an answer less likely than this is not waited for; a plan worse by less than this share of a bad part is as good
LIKELY, AS_GOOD = 0.04, 0.02
#: before stopping, pairs of so many of the best questions are looked at
PAIRS_OF = 10


@dataclass(frozen=True, slots=True)
class Proposal:
    """A question worth asking: its exact gain in bits, minutes of effort, what it saves on the plan, its worth over its cost, what is
    left of it after its cost, and whether a likely answer would change the plan."""

    question: str
    gain_bits: float
    minutes: float
    saving: float
    worth: float
    net: float
    changes_plan: bool
    prediction: Prediction | None


@dataclass(frozen=True, slots=True)
class Candidate:
    question: str
    behind: str
    share: float


@dataclass(frozen=True, slots=True)
class _Prices:
    """Money: a minute of the caller's, the patience that any question costs, a bit learned."""

    minute: float
    patience: float
    bit: float


def rank_questions(
    model: Model, answers: Answers, engine: Inference, beliefs: Beliefs, most: int = 8, planner: Planner | None = None
) -> tuple[list[Proposal], bool]:
    """Return the questions worth asking, best first, and whether the case is settled (then there are none).

    *planner*: one for the next pour over the same network, where there is one already.
    """
    if not any(f.symptom and f.seen for f in engine.network.findings):
        return _first_questions(model, answers), False
    return _Chooser(model, answers, engine, beliefs, planner).run(most)


class _Chooser:
    def __init__(
        self, model: Model, answers: Answers, engine: Inference, beliefs: Beliefs, planner: Planner | None = None
    ) -> None:
        self.model = model
        self.answers = answers
        self.engine = engine
        self.beliefs = beliefs
        self.asker = Predictor(model, answers, engine)
        money = model.knowledge.words["costs"]
        self.prices = _Prices(money["hour at work"] / 60, money["a question"], money["a bit"])
        planner = planner or Planner(
            model, engine, Costs.from_words(money), {c.id: c.probability for c in beliefs.causes}
        )
        pool = planner.pool()
        self.left: Array = 1.0 - np.stack([planner.mend(sorted(chosen)) for chosen in pool])
        self.price: Array = np.array([planner.cost(chosen) for chosen in pool])
        self.bad_part = money["another bad part"]

    def run(self, most: int) -> tuple[list[Proposal], bool]:
        found = candidates(self.model, self.answers)
        exact = {p.question: p for p in self.asker.predict(self._shortlist(found))}
        proposals = [self._proposal(c, exact[c.behind]) for c in found if c.behind in exact]
        proposals = _each_once(sorted(proposals, key=lambda p: (-round(p.worth, 10), p.question)))
        paying = [p for p in proposals if p.net > 0.0]
        if self._settled(paying):
            pair = self._paying_pair(proposals) if not paying else []
            return (pair, False) if pair else ([], True)
        return paying[:most], False

    def _paying_pair(self, proposals: Sequence[Proposal]) -> list[Proposal]:
        """Return the pair of the ten best that pays together though neither pays alone, best first; empty where there is none.

        A pair pays if what both answers save and teach, or the one that is got, is worth more than both cost.
        """
        best = [p for p in proposals if p.prediction is not None][:PAIRS_OF]
        chosen: tuple[float, list[Proposal]] = (0.0, [])
        for one, other in combinations(best, 2):
            if one.prediction is other.prediction:
                continue
            net = self._pair_net(one, other)
            if round(net, 9) > round(chosen[0], 9):
                chosen = (net, [one, other])
        return chosen[1]

    def _pair_net(self, one: Proposal, other: Proposal) -> float:
        """Both asked: each answered or not with its own chance; what one alone is worth counts where the other is not answered."""
        assert one.prediction is not None
        assert other.prediction is not None
        joint = self.asker.predict_pair(one.prediction.question, other.prediction.question)
        if joint is None:
            return 0.0
        chances = [chance_of_answer(self.model, p.question) for p in (one, other)]
        cost = sum(
            self.prices.patience + chance * self.prices.minute * p.minutes
            for chance, p in zip(chances, (one, other), strict=True)
        )
        share = min(1.0, one.gain_bits / max(one.prediction.gain_bits, 1e-12)) * min(
            1.0, other.gain_bits / max(other.prediction.gain_bits, 1e-12)
        )
        both = chances[0] * chances[1] * share * (self.saving(joint)[0] + self.prices.bit * joint.gain_bits)
        return (
            both
            + chances[0] * (1.0 - chances[1]) * self._value(one)
            + chances[1] * (1.0 - chances[0]) * self._value(other)
            - cost
        )

    def _value(self, proposal: Proposal) -> float:
        return proposal.saving + self.prices.bit * proposal.gain_bits

    def _shortlist(self, found: Sequence[Candidate]) -> list[str]:
        rough = dict(self.asker.screen(sorted({c.behind for c in found})))
        ranked = sorted(
            (c for c in found if c.behind in rough),
            key=lambda c: (-round(self._worth(c, 0.0, rough[c.behind]), 10), c.question),
        )
        return list(dict.fromkeys(c.behind for c in ranked))[:SHORTLIST]

    def saving(self, prediction: Prediction) -> tuple[float, bool]:
        """Return what an answer saves on the best plan (the best set for all answers alike, less the best for each), and whether
        a likely answer would change the plan for the better.

        The chance that a set works is taken cause by cause from the exact beliefs after each answer.
        """
        chance = np.array([outcome.chance for outcome in prediction.outcomes])
        part = np.stack([outcome.probability for outcome in prediction.outcomes])
        cost = np.zeros((len(self.price), len(chance)))
        for i in range(len(self.price)):
            cost[i] = self.price[i] + self.bad_part * (1.0 - np.multiply.reduce(1.0 - part * self.left[i], axis=1))
        mean = np.add.reduce(cost * chance, axis=1)
        regret = cost[int(np.argmin(np.round(mean, 9)))] - np.min(cost, axis=0)
        changes = bool(np.any((regret > AS_GOOD * self.bad_part) & (chance >= LIKELY)))
        return max(0.0, float(np.add.reduce(regret * chance))), changes

    def _proposal(self, candidate: Candidate, prediction: Prediction) -> Proposal:
        gain = prediction.gain_bits * candidate.share
        whole, changes = self.saving(prediction)
        saving = whole * candidate.share
        return Proposal(
            candidate.question,
            gain,
            _minutes(self.model, candidate.question),
            saving,
            self._worth(candidate, saving, prediction.gain_bits),
            self._net(candidate, saving, gain),
            changes,
            prediction,
        )

    def _answered(self, candidate: Candidate) -> float:
        return chance_of_answer(self.model, candidate.question)

    def _worth(self, candidate: Candidate, saving: float, gain: float) -> float:
        value = saving + self.prices.bit * gain * candidate.share
        return (
            value
            * self._answered(candidate)
            / (self.prices.patience + self.prices.minute * (0.5 + _minutes(self.model, candidate.question)))
        )

    def _net(self, candidate: Candidate, saving: float, gain: float) -> float:
        chance = self._answered(candidate)
        value = saving + self.prices.bit * gain
        return chance * (value - self.prices.minute * _minutes(self.model, candidate.question)) - self.prices.patience

    def _settled(self, paying: Sequence[Proposal]) -> bool:
        if not paying:
            return True
        return self.beliefs.causes[0].probability > SURE and not any(p.changes_plan for p in paying)


def _each_once(proposals: Sequence[Proposal]) -> list[Proposal]:
    """A question that tells something itself and feeds a sum too stands once, where it is worth most."""
    found: dict[str, Proposal] = {}
    for proposal in proposals:
        found.setdefault(proposal.question, proposal)
    return list(found.values())


def _first_questions(model: Model, answers: Answers) -> list[Proposal]:
    """Before any symptom is told there is nothing to explain: build and paint, then the symptoms themselves."""
    first = [name for name in ("build", "painted") if name in model.knowledge.facts and name not in answers]
    symptoms = [name for name in open_questions(model, answers) if name in model.knowledge.symptoms]
    by_use = sorted(symptoms, key=lambda name: (-_spread(model, name), name))
    return [Proposal(name, 0.0, _minutes(model, name), 0.0, 0.0, 0.0, False, None) for name in [*first, *by_use][:8]]


def _spread(model: Model, symptom: str) -> float:
    """How much of the base rates shows as this symptom."""
    return round(sum(model.base[name] * chance for name, chance in model.symptom_links(symptom).items()), 10)


def candidates(model: Model, answers: Answers) -> list[Candidate]:
    """Return the questions that make sense now, each with the question or derived fact behind its worth and its share of it."""
    questions = open_questions(model, answers)
    found = [Candidate(name, name, 1.0) for name in questions]
    for fact in model.knowledge.facts.values():
        if not fact.derived or fact.id in answers or fact.id not in model.bearing:
            continue
        missing = [name for name in fact.needs if name not in answers or not answers[name].known]
        if missing and all(name in questions for name in missing):
            found.extend(Candidate(name, fact.id, 1.0 / len(missing)) for name in missing)
    return found


def chance_of_answer(model: Model, name: str) -> float:
    """Return the chance that this caller answers the question *name*, now."""
    check = model.knowledge.checks.get(name)
    entry = model.knowledge.question(name)
    if name in model.knowledge.symptoms:
        return entry.answerable * LISTED
    return entry.answerable * (LATER if check is not None and not check.in_hand else 1.0)


def _minutes(model: Model, name: str) -> float:
    entry = model.knowledge.question(name)
    return entry.minutes


__all__ = ["Candidate", "Proposal", "candidates", "chance_of_answer", "rank_questions"]
