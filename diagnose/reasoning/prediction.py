"""What to ask next: what each answer would do to the beliefs, and which question is worth most.

A question becomes rows of multipliers on "the cause holds" and, for each answer, a sum of rows: absent above this level, less
absent at it too (noisy-MAX), or share times ratios for a fact. One batched sweep then gives every answer's weight and every cause's
belief with it, exactly. All questions are first screened with the causes taken one by one; the best of them get the
exact treatment (`docs/reasoning.md` has the measured loss). Logarithms serve only display and ranking, at ten digits.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from diagnose.knowledge import Check, Fact, Symptom
from diagnose.reasoning.answers import ABSENT, SEEN, Answer, Answers
from diagnose.reasoning.forward_backward import Array, Potentials
from diagnose.reasoning.network import Model
from diagnose.reasoning.situation import Situation

#: how many questions the cheap screen hands on to the exact computation
SHORTLIST = 14


@dataclass(frozen=True, slots=True)
class QuestionTable:
    """A question as arithmetic. *rows*, *free*: (m, n) multipliers of each cause's weight of holding and of not holding.

    *scale*: (m,) of the whole row. *answers*: for each answer its value and the (row, coefficient) pairs that sum to its weight.
    """

    question: str
    rows: Array
    free: Array
    scale: Array
    answers: tuple[tuple[str | float, tuple[tuple[int, float], ...]], ...]


@dataclass(frozen=True, slots=True)
class Outcome:
    """One possible answer: its value, its predicted chance, and the beliefs (had a part, held) it would leave, by cause.

    "Had a part" is in the symptoms seen so far, also where the answer would add a symptom, so that asking alone moves nothing.
    """

    value: str | float
    chance: float
    probability: Array
    present: Array


@dataclass(frozen=True, slots=True)
class Prediction:
    """All answers of one question; *before* are the beliefs that asking alone leaves as they are."""

    question: str
    outcomes: tuple[Outcome, ...]
    before: Array
    gain_bits: float


class Predictor:
    """Predicts answers to the questions still open in one situation."""

    def __init__(self, situation: Situation) -> None:
        self.model = situation.model
        self.answers = situation.answers
        self.engine = engine = situation.inference
        self.n = len(engine.names)
        self._asked: dict[str, QuestionTable | None] = {}
        swept = engine.sweep(engine.rows(1))
        self.present: Array = swept.held[0] / swept.z[0]
        self.part: Array = np.maximum(swept.held[0] - swept.silent[0], 0.0) / swept.z[0]

    # -- a question as arithmetic ----------------------------------------------------------------------------------

    def asked(self, question: str) -> QuestionTable | None:
        """Return *question* as rows and answers, or None where no answer to it could change anything."""
        if question not in self._asked:
            fact = self.model.knowledge.facts.get(question)
            by_links = self._symptom if question in self.model.knowledge.symptoms else self._check
            self._asked[question] = self._fact(fact) if fact is not None else by_links(question)
        return self._asked[question]

    def _symptom(self, name: str) -> QuestionTable | None:
        leak = self.model.knowledge.symptoms[name].background
        levels = _Levels(self.n, self.model.knowledge.words["misreport"]["seen"])
        levels.add(SEEN, self.model.link_rows(name)[0], leak)
        return levels.asked(name, ABSENT)

    def _check(self, name: str) -> QuestionTable | None:
        """From the most telling result down: this one if nothing above it shows. A `many` is read as its most telling value.

        A symptom answered that is the same thing settles its result: seen, the check shows that or more; absent, it does not.
        """
        check = self.model.knowledge.checks[name]
        told = self._told(name)
        levels = _Levels(self.n, self.model.knowledge.words["misreport"]["seen"])
        for result, links in zip(reversed(check.telling), self.model.link_rows(name), strict=True):
            if told.get(result) == SEEN:
                return levels.asked(name, result)
            if result not in told:
                levels.add(result, links, self.model.leak(check, result))
        return levels.asked(name, check.base)

    def _told(self, check: str) -> dict[str, str]:
        """Results of *check* that an answered symptom has told already, by another view of the same thing."""
        found: dict[str, str] = {}
        for name, answer in self.answers.items():
            symptom = self.model.knowledge.symptoms.get(name)
            if symptom is not None and answer.known:
                found.update({result: str(answer.value) for twin, result in symptom.same_as if twin == check})
        return found

    def _fact(self, fact: Fact) -> QuestionTable | None:
        options: list[tuple[str | float, float]] = (
            list(fact.typical)
            if fact.kind == "number"
            else [(key, choice.share) for key, choice in fact.choices.items()]
        )
        products = {name: self._products(name, fact) for name in self.model.bearing.get(fact.id, [])}
        heard = {name: new for name, new in products.items() if new}
        if not heard or not options:
            return None
        asked = QuestionTable(
            fact.id,
            np.ones((len(options), self.n)),
            np.ones((len(options), self.n)),
            np.array([share for _, share in options]),
            tuple((value, ((i, 1.0),)) for i, (value, _) in enumerate(options)),
        )
        for name, new in heard.items():
            other = self.model.opposite(name)
            if not other:
                asked.rows[:, self.engine.index[name]] = np.array(new) / self._now(name)
            elif name < other or other not in heard:
                self._three_way(asked, (name, other), (new, heard.get(other) or [self._now(other)] * len(options)))
        return None if np.all(asked.rows == 1.0) else asked

    def _now(self, cause: str) -> float:
        return self.engine.network.speaking[cause].product

    def _products(self, cause: str, fact: Fact) -> list[float] | None:
        """Return the product of the ratios of *cause* after each answer to *fact*, or None where a better fact speaks already."""
        said = self.engine.network.speaking[cause]
        if any(fact.id in self.model.better(other) for other in said.by_fact):
            return None
        return said.products_with(self.model.asked_ratios(cause, fact), self.model.better(fact.id))

    def _three_way(
        self, asked: QuestionTable, pair: tuple[str, str], products: tuple[list[float], list[float]]
    ) -> None:
        """Opposites share one three-way choice: what an answer does to one moves the other, and the chance of the answer with them."""
        now = self.model.odds(pair[0], {name: self._now(name) for name in pair})
        whole = 1.0 + now[0] + now[1]
        for row, new in enumerate(zip(*products, strict=True)):
            after = self.model.odds(pair[0], dict(zip(pair, new, strict=True)))
            total = 1.0 + after[0] + after[1]
            asked.scale[row] *= total / whole
            for name, odds, before in zip(pair, after, now, strict=True):
                i = self.engine.index[name]
                asked.rows[row, i] = (odds / total) / (before / whole)
                asked.free[row, i] = (1.0 - odds / total) / (1.0 - before / whole)

    # -- predictions -----------------------------------------------------------------------------------------------

    def predict(self, questions: Iterable[str]) -> list[Prediction]:
        """Return exact predictions for *questions*, in one batched sweep; those that can't change anything are left out."""
        asked = [item for item in map(self.asked, questions) if item is not None]
        if not asked:
            return []
        rows = self.engine.rows(sum(len(item.scale) for item in asked))
        hold, free = (
            rows.hold * np.concatenate([item.rows for item in asked]),
            rows.free * np.concatenate([item.free for item in asked]),
        )
        swept = self.engine.sweep(Potentials(hold, free, rows.leak, rows.quiet, rows.on, rows.off))
        part = np.maximum(swept.held - swept.silent, 0.0)
        found, start = [], 0
        for item in asked:
            stop = start + len(item.scale)
            scale = item.scale[:, None]
            found.append(
                _prediction(
                    item, swept.z[start:stop] * item.scale, part[start:stop] * scale, swept.held[start:stop] * scale
                )
            )
            start = stop
        return found

    def predict_pair(self, one: str, other: str) -> Prediction | None:
        """Return the exact prediction of the answers to two questions given together, or None where one of them can't change anything."""
        first, second = self.asked(one), self.asked(other)
        if first is None or second is None:
            return None
        asked = crossed(first, second)
        rows = self.engine.rows(len(asked.scale))
        swept = self.engine.sweep(
            Potentials(rows.hold * asked.rows, rows.free * asked.free, rows.leak, rows.quiet, rows.on, rows.off)
        )
        part, scale = np.maximum(swept.held - swept.silent, 0.0), asked.scale[:, None]
        return _prediction(asked, swept.z * asked.scale, part * scale, swept.held * scale)

    def screen(self, questions: Sequence[str]) -> list[tuple[str, float]]:
        """Return (question, rough gain in bits), taking the causes one by one as if independent after the answers."""
        asked = [item for item in map(self.asked, questions) if item is not None]
        if not asked:
            return []
        stacked, free = np.concatenate([item.rows for item in asked]), np.concatenate([item.free for item in asked])
        each = (1.0 - self.present) * free + self.present * stacked
        whole = np.multiply.reduce(each, axis=1)
        part = self.part * stacked * (whole[:, None] / np.maximum(each, 1e-300))
        found, start = [], 0
        for item in asked:
            stop = start + len(item.scale)
            scale = item.scale[:, None]
            found.append(
                (item.question, _gain(*_combine(item, whole[start:stop] * item.scale, part[start:stop] * scale)))
            )
            start = stop
        return found


class _Levels:
    """Builds the rows of an effect: level by level, this result if nothing more telling shows.

    A result shown is seen, and with chance *slip* said to be seen when it is not there; so the chances of the answers sum to 1
    whatever holds, and asking moves no belief.
    """

    def __init__(self, n: int, slip: float) -> None:
        self.slip = slip
        self.rows: list[Array] = [np.ones(n)]
        self.scale = [1.0]
        self.answers: list[tuple[str | float, tuple[tuple[int, float], ...]]] = []

    def _kept(self) -> float:
        return (1.0 - self.slip) ** len(self.answers)

    def add(self, result: str, links: Array, leak: float) -> None:
        """Add the next milder *result* with its *links* (n,) and *leak*."""
        last, kept = len(self.rows) - 1, self._kept()
        self.answers.append((result, ((last, kept), (last + 1, -kept * (1.0 - self.slip)))))
        self.rows.append(self.rows[-1] * (1.0 - links))
        self.scale.append(self.scale[-1] * (1.0 - leak))

    def asked(self, question: str, rest: str) -> QuestionTable | None:
        """Return the question, with *rest* as the answer where none of the levels shows; None with no level."""
        answers = (*self.answers, (rest, ((len(self.rows) - 1, self._kept()),)))
        rows = np.stack(self.rows)
        return (
            QuestionTable(question, rows, np.ones_like(rows), np.array(self.scale), answers) if self.answers else None
        )


def _combine(item: QuestionTable, z: Array, part: Array) -> tuple[Array, Array]:
    """Weights of the answers (a,) and of the answers with each cause's part (a, n), from those of the rows."""
    weights = np.zeros(len(item.answers))
    parts = np.zeros((len(item.answers), part.shape[1]))
    for i, (_, terms) in enumerate(item.answers):
        for row, coefficient in terms:
            weights[i] += coefficient * z[row]
            parts[i] += coefficient * part[row]
    return np.maximum(weights, 0.0), np.maximum(parts, 0.0)


def _prediction(item: QuestionTable, z: Array, part: Array, held: Array) -> Prediction:
    weights, parts = _combine(item, z, part)
    _, helds = _combine(item, z, held)
    total = float(np.add.reduce(weights))
    before = np.add.reduce(parts, axis=0) / total
    outcomes = tuple(
        Outcome(value, float(weights[i]) / total, _share(parts[i], weights[i]), _share(helds[i], weights[i]))
        for i, (value, _) in enumerate(item.answers)
    )
    return Prediction(item.question, outcomes, before, _gain(weights, parts))


def _share(top: Array, bottom: float) -> Array:
    return top / bottom if bottom > 0.0 else np.zeros_like(top)


def _gain(weights: Array, parts: Array) -> float:
    """Sum over the listed causes of the mutual information, in bits, between the answer and "had a part"."""
    total = float(np.add.reduce(weights))
    if total <= 0.0:
        return 0.0
    chance = weights / total
    before = np.add.reduce(parts, axis=0)[:-1] / total
    after = parts[:, :-1] / np.maximum(weights, 1e-300)[:, None]
    entropy = _entropy(before) - np.add.reduce(chance[:, None] * _entropy(after), axis=0)
    return float(max(0.0, np.add.reduce(entropy)))


def crossed(one: QuestionTable, other: QuestionTable) -> QuestionTable:
    """Return two questions as one whose answers are pairs: effects are independent given the causes, and ratios multiply."""
    n, width = one.rows.shape[1], len(other.scale)
    answers = tuple(
        (f"{a} {b}", tuple((i * width + j, x * y) for i, x in terms for j, y in more))
        for a, terms in one.answers
        for b, more in other.answers
    )
    return QuestionTable(
        f"{one.question} {other.question}",
        (one.rows[:, None, :] * other.rows[None, :, :]).reshape(-1, n),
        (one.free[:, None, :] * other.free[None, :, :]).reshape(-1, n),
        (one.scale[:, None] * other.scale[None, :]).reshape(-1),
        answers,
    )


def gain_of_rows(asked: QuestionTable, z: Array, part: Array) -> float:
    """Return the gain in bits of the answers of *asked* over rows with weights *z* (m,) and parts (m, n), scales included."""
    return _gain(*_combine(asked, z, part))


def _entropy(p: Array) -> Array:
    p = np.minimum(np.maximum(p, 1e-15), 1.0 - 1e-15)
    return -(p * np.log2(p) + (1.0 - p) * np.log2(1.0 - p))


def open_questions(model: Model, answers: Answers) -> list[str]:
    """Return the unanswered questions that make sense now, in the order of the knowledge.

    Left out: what is answered or was answered "don't know", what doesn't apply to the build, what its `ask_when` rules out,
    what a more direct answer or the same thing seen another way has settled.
    """
    knowledge = model.knowledge
    seen = {name for name, answer in answers.items() if answer.value == SEEN and name in knowledge.symptoms}
    families = {knowledge.symptoms[name].family for name in seen}
    settled = {
        name
        for name, symptom in knowledge.symptoms.items()
        for check, _ in symptom.same_as
        if check in answers and answers[check].known
    }
    found: list[str] = []
    tables: tuple[Mapping[str, Fact | Check | Symptom], ...] = (knowledge.facts, knowledge.checks, knowledge.symptoms)
    for table in tables:
        for name, entry in table.items():
            if name in answers or getattr(entry, "derived", False) or name in settled:
                continue
            if model.knowledge.applies(name, model.build, model.painted) and _makes_sense(
                entry.ask_when, answers, seen | families
            ):
                found.append(name)
    return found


def _makes_sense(conditions: Mapping[str, tuple[str, ...]], answers: Answers, seen: set[str]) -> bool:
    for question, allowed in conditions.items():
        if question == "seen":
            if seen and not seen.intersection(allowed):
                return False
            continue
        answer = answers.get(question)
        if answer is None or not answer.known:
            continue
        values = answer.value if isinstance(answer.value, tuple) else (answer.value,)
        if not set(map(str, values)).intersection(allowed):
            return False
    return True


__all__ = ["SHORTLIST", "Answer", "QuestionTable", "Predictor", "Outcome", "Prediction", "open_questions"]
