"""Compare five ways of choosing the next question on cases drawn from the model itself: `python tests/reasoning/compare_questions.py [CASES]`.

A case is drawn as the model says that cases come about: causes by their base rates (opposites by one three-way choice), symptoms by links that
fire and by leaks, facts by shares x ratios, checks by their noisy-MAX. The caller volunteers the build, the paint and one or two symptoms, and
then answers each question with the question's own chance, or says "don't know". Four ways stop by the same rule (settled, or `MOST` asked), so
they differ in the order alone; beside that each is looked at after as many questions as the ranking's own way asked in that case. The fifth is
what a caller meets: the questionnaire's order on top of the ranking, and its earlier stop (`asking_order.py`); a list of faults to tick is one
prompt. A case counts where at least one cause on the list had a part in what was volunteered. What the final plan costs is its own cost plus
another bad part times the chance that it leaves alone, or fails to mend, what truly had a part.
"""

from __future__ import annotations

import math
import random
import sys
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from statistics import mean, stdev

from diagnose.assessment.asking_order import agenda
from diagnose.assessment.consultation import Consultation, ModelCache
from diagnose.casebook import Case
from diagnose.knowledge import Check, Fact, load_knowledge
from diagnose.reasoning.answers import ABSENT, SEEN, Answer
from diagnose.reasoning.network import NOT_LISTED, Model
from diagnose.reasoning.plan import Costs, Planner
from diagnose.reasoning.prediction import Predictor
from diagnose.reasoning.situation import Situation
from diagnose.reasoning.value_of_information import Ranking, candidates, chance_of_answer, rank_questions

MOST = 40
BUILDS = (("bare_foam", "no"), ("bare_foam", "yes"), ("skin_and_foam", "no"), ("skin_and_foam", "yes"))
Answers = dict[str, Answer]


@dataclass(frozen=True)
class Drawn:
    """A case drawn: what the caller volunteers, every answer as it would be given (None: don't know), and who truly had a part in what."""

    model: Model
    opening: Answers
    replies: Mapping[str, Answer]
    derived: Mapping[str, Answer]
    guilty: frozenset[str]
    helpless: bool


@dataclass(frozen=True)
class Run:
    """What one way of asking came to in one case; *cost_then*, *right_then*: after as many questions as ours asked."""

    asked: int
    answered: int
    minutes: float
    cost: float
    right: bool
    cost_then: float
    right_then: bool


class Drawer:
    """Draws one case of one model."""

    def __init__(self, model: Model, seed: str) -> None:
        self.model = model
        self.rng = random.Random(seed)
        self.holding = self._causes()
        symptoms = {
            name: symptom
            for name, symptom in model.knowledge.symptoms.items()
            if model.knowledge.applies(name, model.build, model.painted)
        }
        self.fired = {
            name: self._fires(model.symptom_links(name), symptom.background) for name, symptom in symptoms.items()
        }

    def _causes(self) -> list[str]:
        held, done = [], set()
        for name in self.model.causes:
            if name in done:
                continue
            pair = [name, *([other] if (other := self.model.opposite(name)) else [])]
            done.update(pair)
            drawn = self.rng.choices(
                [*pair, ""], [*(self.model.base[p] for p in pair), 1.0 - sum(self.model.base[p] for p in pair)]
            )[0]
            held += [drawn] if drawn else []
        return [*held, NOT_LISTED] if self.rng.random() < self.model.base[NOT_LISTED] else held

    def _fires(self, links: Mapping[str, float], leak: float) -> set[str]:
        """The causes that fired, and "" for the leak."""
        fired = {name for name in self.holding if self.rng.random() < links.get(name, 0.0)}
        return fired | ({""} if self.rng.random() < leak else set())

    def case(self) -> Drawn | None:
        """Return the case, or None where no cause on the list had a part in what the caller volunteers."""
        shown = [name for name, fired in self.fired.items() if fired]
        told = self.rng.sample(shown, min(len(shown), self.rng.choice((1, 2))))
        parts: set[str] = set().union(*(self.fired[name] for name in told)) if told else set()
        if not parts - {"", NOT_LISTED}:
            return None
        opening = {
            "build": Answer(self.model.build),
            "painted": Answer("yes" if self.model.painted else "no"),
            **{name: Answer(SEEN) for name in told},
        }
        knowledge = self.model.knowledge
        truth = {
            **{name: self._fact(fact) for name, fact in knowledge.facts.items()},
            **{name: self._check(check) for name, check in knowledge.checks.items()},
            **{name: Answer(SEEN if fired else ABSENT) for name, fired in self.fired.items()},
        }
        asked = {
            name: answer
            for name, answer in truth.items()
            if name not in knowledge.facts or not knowledge.facts[name].derived
        }
        replies = {
            name: answer if self.rng.random() < chance_of_answer(self.model, name) else Answer(None)
            for name, answer in asked.items()
        }
        derived = {name: truth[name] for name, fact in knowledge.facts.items() if fact.derived}
        return Drawn(
            self.model, opening, replies, derived, frozenset(parts - {"", NOT_LISTED}), bool(parts & {"", NOT_LISTED})
        )

    def _fact(self, fact: Fact) -> Answer:
        options = self.model.options(fact)
        if not options:
            return Answer(None)
        weights = [share for _, share in options]
        for cause in self.holding:
            if cause != NOT_LISTED and fact.id in self.model.causes[cause].facts:
                weights = [w * r for w, r in zip(weights, self.model.asked_ratios(cause, fact), strict=True)]
        value = self.rng.choices([value for value, _ in options], weights)[0]
        return Answer((value,) if fact.kind == "many" else value)

    def _check(self, check: Check) -> Answer:
        shows = [result for result in reversed(check.telling) if self._shows(check, result)]
        if check.kind == "many":
            return Answer(tuple(reversed(shows)) or (check.base,))
        result = shows[0] if shows else check.base
        if check.kind != "number":
            return Answer(result)
        low, high = check.results[result].low, check.results[result].high
        return Answer((low or 0.0) + 1.0 if high is None else ((low or 0.0) + high) / 2)

    def _shows(self, check: Check, result: str) -> bool:
        twins = [
            name
            for name, symptom in self.model.knowledge.symptoms.items()
            if (check.id, result) in symptom.same_as and name in self.fired
        ]
        if twins:
            return any(self.fired[name] for name in twins)
        return bool(self._fires(self.model.result_links(check)[result], self.model.leak(check, result)))


def draw(models: ModelCache, count: int, seed: str = "compare") -> list[Drawn]:
    """Return *count* cases, of the four builds in turn."""
    made = [Model(models.knowledge, build, painted == "yes") for build, painted in BUILDS]
    found: list[Drawn] = []
    number = 0
    while len(found) < count:
        case = Drawer(made[len(found) % len(made)], f"{seed} {number}").case()
        number += 1
        found += [case] if case is not None else []
    return found


# -- ways of asking ------------------------------------------------------------------------------------------------

Choose = Callable[[Situation, Sequence[str], random.Random], str]


def _fixed(situation: Situation, names: Sequence[str], rng: random.Random) -> str:
    return names[0]


def _random(situation: Situation, names: Sequence[str], rng: random.Random) -> str:
    return rng.choice(names)


def _gain(situation: Situation, names: Sequence[str], rng: random.Random) -> str:
    asker = Predictor(situation)
    behind = {c.behind: c.question for c in reversed(candidates(situation.model, situation.answers))}
    rough = asker.screen(list(behind))
    best = max(
        asker.predict(sorted(rough, key=lambda name: -rough[name])[:14]), key=lambda p: p.gain_bits, default=None
    )
    return behind[best.question] if best is not None else names[0]


OURS, QUESTIONNAIRE = "the ranking", "the questionnaire"
WAYS: dict[str, Choose | None] = {
    "fixed order": _fixed,
    "random order": _random,
    "information gain": _gain,
    OURS: None,
}


class _AsDrawn(Consultation):
    """A consultation over answers as they are drawn: what would follow from raw numbers is drawn too, not worked out."""

    def __init__(self, models: ModelCache, answers: Answers) -> None:
        super().__init__(models, Case.of(answers))

    @cached_property
    def answers(self) -> Mapping[str, Answer]:
        """The answers as they are."""
        return self.case.values


def ask_as_questionnaire(models: ModelCache, case: Drawn) -> Run:
    """Ask *case* as a caller would be asked, until the answer would be shown."""
    answers: Answers = dict(case.opening)
    asked = answered = 0
    minutes, looked_again = 0.0, False
    while True:
        consultation = _AsDrawn(models, dict(answers))
        todo = agenda(consultation, asked, looked_again=looked_again)
        if todo.stop:
            end = _cost(case, consultation.next_pour), consultation.situation.beliefs.causes[0].id in case.guilty
            return Run(asked, answered, minutes, *end, *end)
        asked += 1
        looked_again = looked_again or todo.questions[0] in models.knowledge.symptoms
        answers.update({name: case.replies.get(name, Answer(None)) for name in todo.questions})
        known = [name for name in todo.questions if answers[name].known]
        answered += bool(known)
        minutes += sum(models.knowledge.question(name).minutes for name in known)
        _work_out(case, answers)


def ask(case: Drawn, way: str, seed: str, mark: int | None = None, stop: bool = False) -> Run:
    """Ask *case* in one *way* until it is settled; look in after *mark* questions, and *stop* there if told to."""
    rng, choose = random.Random(seed), WAYS[way]
    answers: Answers = dict(case.opening)
    asked = answered = 0
    minutes = 0.0
    then: tuple[float, bool] | None = None
    while True:
        situation = Situation(case.model, dict(answers))
        beliefs = situation.beliefs
        planner = Planner(
            situation, Costs.from_words(case.model.knowledge.words["costs"]), ("next_pour", "between_pours")
        )
        if asked == mark:
            then = _cost(case, planner), beliefs.causes[0].id in case.guilty
        ranking = Ranking([], asked == mark) if stop else rank_questions(situation, planner)
        if ranking.settled or asked >= MOST:
            break
        names = list(dict.fromkeys(c.question for c in candidates(case.model, answers)))
        question = choose(situation, names, rng) if choose is not None else ranking.proposals[0].question
        asked += 1
        answers[question] = case.replies.get(question, Answer(None))
        if answers[question].known:
            answered += 1
            entry = (
                case.model.knowledge.facts.get(question)
                or case.model.knowledge.checks.get(question)
                or case.model.knowledge.symptoms[question]
            )
            minutes += entry.minutes
        _work_out(case, answers)
    end = _cost(case, planner), beliefs.causes[0].id in case.guilty
    return Run(asked, answered, minutes, *end, *(then or end))


def _work_out(case: Drawn, answers: Answers) -> None:
    """Facts that follow once all that they need has been answered."""
    for name, answer in case.derived.items():
        needs = case.model.knowledge.facts[name].needs
        if needs and name not in answers and all(need in answers and answers[need].known for need in needs):
            answers[name] = answer


def _cost(case: Drawn, planner: Planner) -> float:
    """Cost of the plan, with another bad part where it truly fails."""
    plan = planner.best()
    mended = planner.mend(plan.remedies)
    success = (
        0.0
        if case.helpless
        else math.prod(float(mended[planner.situation.inference.index[cause]]) for cause in case.guilty)
    )
    return plan.cost + planner.costs.bad_part * (1.0 - success)


# -- the table -----------------------------------------------------------------------------------------------------


def compare(models: ModelCache, cases: Sequence[Drawn], ways: Sequence[str] = tuple(WAYS)) -> dict[str, list[Run]]:
    """Ask every case in every way, the ranking's own among them, and as the questionnaire does."""
    ours = [ask(case, OURS, "") for case in cases]
    found = {
        way: ours
        if way == OURS
        else [
            ask(case, way, f"{way} {number}", mine.asked)
            for number, (case, mine) in enumerate(zip(cases, ours, strict=True))
        ]
        for way in ways
    }
    return {**found, QUESTIONNAIRE: [ask_as_questionnaire(models, case) for case in cases]}


def _figure(values: Sequence[float], digits: int, scale: float = 1.0) -> str:
    error = stdev(values) / math.sqrt(len(values))
    return f"{scale * mean(values):.{digits}f} ± {scale * error:.{digits}f}"


def table(runs: Mapping[str, Sequence[Run]]) -> list[str]:
    """Return the table, a row a way, each figure with its standard error."""
    head = "| way | asked | answered | minutes | cost of the plan | true cause first | cost, as many asked as the ranking | first, as many asked |"
    lines = [head, "| --- " * 8 + "|"]
    for way, found in runs.items():
        cells = [
            _figure([r.asked for r in found], 1),
            _figure([r.answered for r in found], 1),
            _figure([r.minutes for r in found], 1),
            _figure([r.cost for r in found], 1),
            _figure([float(r.right) for r in found], 0, 100.0) + " %",
            _figure([r.cost_then for r in found], 1),
            _figure([float(r.right_then) for r in found], 0, 100.0) + " %",
        ]
        lines.append(f"| {way} | " + " | ".join(cells) + " |")
    return lines


def paired(runs: Mapping[str, Sequence[Run]], way: str) -> str:
    """Return what the ranking saves on the plan against *way* after as many questions, case by case, with its standard error."""
    return _figure([theirs.cost_then - mine.cost_then for theirs, mine in zip(runs[way], runs[OURS], strict=True)], 1)


if __name__ == "__main__":
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    shipped = ModelCache(load_knowledge())
    found = compare(shipped, draw(shipped, count))
    print("\n".join(table(found)))
    for other in [*list(WAYS)[:-1], QUESTIONNAIRE]:
        print(f"cost saved on the plan against {other} after as many questions, case by case: {paired(found, other)}")
