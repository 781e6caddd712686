"""Which question next, and when to stop: what an answer saves, against its minutes and the caller's patience.

A question is worth what it saves on the best plan (the expected cost of the best set of remedies before, less after)
and what the shop learns by it (bits about what had a part: the log remembers the cause, not only the cure), times the
chance that this caller can answer, less the minutes it takes. A question that only feeds a sum (grams of A) is worth
what the derived fact behind it would tell, shared among the answers that are still missing. The prices are our own, no
source; `docs/reasoning.md` shows what they do.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from itertools import combinations

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from diagnose.reasoning.answers import Answers
from diagnose.reasoning.elimination import Array
from diagnose.reasoning.inference import ten
from diagnose.reasoning.network import CONTEXT, Model
from diagnose.reasoning.plan import Costs, Planner
from diagnose.reasoning.prediction import Prediction, Predictor, open_questions
from diagnose.reasoning.situation import Situation

#: how many questions the cheap screen hands on to the exact computation:
#: fewer, but not under FEWEST, where so much is seen that one
#: pass writes more than WORK / SHORTLIST numbers
SHORTLIST, FEWEST, WORK = 14, 4, 720_000
#: a symptom asked by name was on the list that the caller has already looked through
LISTED = 0.4
#: a check that needs a new pour or a wait is put behind what is in hand
LATER = 0.5
#: a first cause this sure ends the asking, if no likely answer would change the plan
SURE = 0.85
#: an answer less likely than this is not waited for; a plan worse by less than this share of a bad part is as good
LIKELY, AS_GOOD = 0.04, 0.02
#: reading a question and typing the answer, in minutes, beside what it takes to find out
READING = 0.5
#: singles and pairs of so many of the most promising remedies are among the sets that a question may decide between
LEADING = 10


class Proposal(Struct, frozen=True):
    """A question worth asking: its exact gain in bits, minutes of effort, what it saves on the plan,
    its worth over its cost, what is left of it after its cost, and whether a likely answer would change the plan."""

    question: str
    gain_bits: float
    minutes: float
    saving: float
    worth: float
    net: float
    changes_plan: bool
    prediction: Prediction | None


class Ranking(Struct, frozen=True):
    """The questions worth asking, best first, and whether the case is *settled* (then there are none)."""

    proposals: list[Proposal]
    settled: bool


class Candidate(Struct, frozen=True):
    """A question, the question or derived fact *behind* its worth, and its *share* of that."""

    question: str
    behind: str
    share: float


def rank_questions(situation: Situation, planner: Planner, most: int = SHORTLIST) -> Ranking:
    """Return the questions worth asking in *situation*; *planner* weighs what would be done about it."""
    model, costs = situation.model, planner.costs
    if not situation.explains:
        return Ranking(_first_questions(model, situation.answers, most), False)
    predictor, plans = Predictor(situation), PlanValue(planner)
    found = candidates(model, situation.answers)
    exact = {p.question: (p, *plans.saving(p)) for p in predictor.predict(_shortlist(model, costs, predictor, found))}
    proposals = [_proposal(model, costs, c, *exact[c.behind]) for c in found if c.behind in exact]
    paying = [p for p in _each_once(sorted(proposals, key=_by_worth)) if p.net > 0.0]
    sure = situation.beliefs.causes[0].probability > SURE
    if not paying or (sure and not any(p.changes_plan for p in paying)):
        return Ranking([], True)
    return Ranking(paying[:most], False)


def questions_about(situation: Situation, costs: Costs, causes: Collection[str], least: float) -> list[Proposal]:
    """Return the questions that tell at least *least* bits about *causes* and are not about a symptom,
    best first by bits over cost.
    """
    model, predictor = situation.model, Predictor(situation)
    found = [c for c in candidates(model, situation.answers) if c.question not in model.knowledge.symptoms]
    predictions = predictor.predict(_shortlist(model, costs, predictor, found, causes))
    gains = {p.question: (replace(p, gain_bits=predictor.gain_about(p, causes)), 0.0, False) for p in predictions}
    proposals = [_proposal(model, costs, c, *gains[c.behind]) for c in found if c.behind in gains]
    return [p for p in _each_once(sorted(proposals, key=_by_worth)) if p.gain_bits >= least]


def _shortlist(
    model: Model,
    costs: Costs,
    predictor: Predictor,
    found: Sequence[Candidate],
    about: Collection[str] | None = None,
) -> list[str]:
    """The questions and derived facts that are worth the exact computation,
    by the rough gain of each (*about* some causes).
    """
    rough = predictor.screen(sorted({c.behind for c in found}), about)
    known = [(_value(model, costs, c, rough[c.behind], 0.0)[0], c) for c in found if c.behind in rough]
    ranked = sorted(known, key=lambda pair: (-ten(pair[0]), pair[1].question))
    most = max(FEWEST, min(SHORTLIST, int(WORK / max(1.0, predictor.inference.structure.cost))))
    return list(dict.fromkeys(c.behind for _, c in ranked))[:most]


class PlanValue:
    """The sets of remedies that an answer may decide between:
    none, singles and pairs of the leading ones, and those grown.

    *price*: (s,), what each set costs; *left*: (s, n), the chance that it leaves each cause unmended.
    """

    def __init__(self, planner: Planner) -> None:
        lead = [remedy.id for remedy in planner.remedies[:LEADING]]
        few = [frozenset(some) for size in range(3) for some in combinations(lead, size)]
        sets = list(dict.fromkeys([*few, *(frozenset(plan.remedies) for plan in planner.grown())]))
        self.left: Array = 1.0 - np.stack([planner.mend(chosen) for chosen in sets])
        self.price: Array = np.array([planner.cost(chosen) for chosen in sets])
        self.bad_part = planner.costs.bad_part

    def saving(self, prediction: Prediction) -> tuple[float, bool]:
        """Return what an answer saves on the best plan (the best set for all answers alike,
        less the best for each), and whether a likely answer would change the plan for the better.

        The chance that a set works is taken cause by cause from the exact beliefs after each answer.
        """
        chance = np.array([outcome.chance for outcome in prediction.outcomes])
        part = np.stack([outcome.probability for outcome in prediction.outcomes])
        success = np.multiply.reduce(1.0 - part * self.left[:, None], axis=2)
        cost = self.price[:, None] + self.bad_part * (1.0 - success)
        mean = np.add.reduce(cost * chance, axis=1)
        regret = cost[int(np.argmin(np.round(mean, 9)))] - np.min(cost, axis=0)
        changes = bool(np.any((regret > AS_GOOD * self.bad_part) & (chance >= LIKELY)))
        return max(0.0, float(np.add.reduce(regret * chance))), changes


def _value(model: Model, costs: Costs, candidate: Candidate, gain: float, saving: float) -> tuple[float, float]:
    """What a question is worth over its cost, and what is left after its cost,
    by the *gain* and *saving* of what is behind it.
    """
    minutes, answered = _minutes(model, candidate.question), chance_of_answer(model, candidate.question)
    value, minute = candidate.share * (saving + costs.bit * gain), costs.hour / 60
    worth = value * answered / (costs.question + minute * (READING + minutes))
    return worth, answered * (value - minute * minutes) - costs.question


def _proposal(
    model: Model, costs: Costs, candidate: Candidate, prediction: Prediction, saving: float, changes: bool
) -> Proposal:
    worth, net = _value(model, costs, candidate, prediction.gain_bits, saving)
    return Proposal(
        question=candidate.question,
        gain_bits=prediction.gain_bits * candidate.share,
        minutes=_minutes(model, candidate.question),
        saving=saving * candidate.share,
        worth=worth,
        net=net,
        changes_plan=changes,
        prediction=prediction,
    )


def _by_worth(proposal: Proposal) -> tuple[float, str]:
    return -ten(proposal.worth), proposal.question


def _each_once(proposals: Sequence[Proposal]) -> list[Proposal]:
    """A question that tells something itself and feeds a sum too stands once, where it is worth most."""
    found: dict[str, Proposal] = {}
    for proposal in proposals:
        found.setdefault(proposal.question, proposal)
    return list(found.values())


def _first_questions(model: Model, answers: Answers, most: int) -> list[Proposal]:
    """Before any symptom is told there is nothing to explain:
    what chooses the model, then the symptoms by how much shows as each.
    """
    first = [name for name in CONTEXT if name in model.knowledge.facts and name not in answers]
    symptoms = [name for name in open_questions(model, answers) if name in model.knowledge.symptoms]
    names = [*first, *sorted(symptoms, key=lambda name: (-_shows(model, name), name))]
    return [Proposal(name, 0.0, _minutes(model, name), 0.0, 0.0, 0.0, False, None) for name in names[:most]]


def _shows(model: Model, symptom: str) -> float:
    """How much of the base rates shows as this symptom."""
    return ten(sum(model.base[name] * chance for name, chance in model.symptom_links(symptom).items()))


def candidates(model: Model, answers: Answers) -> list[Candidate]:
    """Return the questions that make sense now, each with the
    question or derived fact behind its worth and its share of it.
    """
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


__all__ = [
    "Candidate",
    "PlanValue",
    "Proposal",
    "Ranking",
    "candidates",
    "chance_of_answer",
    "questions_about",
    "rank_questions",
]
