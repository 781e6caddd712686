"""What to ask next: what each answer would do to the beliefs, and which question is worth most.

A question becomes rows of multipliers on "the cause holds" and, for each answer, a sum of rows: absent above this level, less
absent at it too (noisy-MAX), or share times ratios for a fact. One batched sweep then gives every answer's weight and every cause's
belief with it, exactly. All questions are first screened with the causes taken one by one; the best of them get the
exact treatment (`docs/reasoning.md` has the measured loss). Logarithms serve only display and ranking, at ten digits.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from diagnose.knowledge import Fact
from diagnose.knowledge.curves import curve_ratio
from diagnose.reasoning.answers import ABSENT, SEEN, Answer, Answers
from diagnose.reasoning.network import Model
from diagnose.reasoning.posterior import Engine
from diagnose.reasoning.sweep import Array

#: how many questions the cheap screen hands on to the exact computation
SHORTLIST = 14


@dataclass(frozen=True, slots=True)
class Asked:
    """A question as arithmetic. *rows*: (m, n) multipliers of each cause's hold weight, *scale*: (m,) of the whole row.

    *answers*: for each answer its value and the (row, coefficient) pairs that sum to its weight.
    """

    question: str
    rows: Array
    scale: Array
    answers: tuple[tuple[str | float, tuple[tuple[int, float], ...]], ...]


@dataclass(frozen=True, slots=True)
class Outcome:
    """One possible answer: its value, its predicted chance, and the beliefs (had a part, held) it would leave, by cause."""

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


class Asker:
    """Predicts answers to the questions of one model after some answers."""

    def __init__(self, model: Model, answers: Answers, engine: Engine) -> None:
        self.model = model
        self.answers = answers
        self.engine = engine
        self.n = len(engine.names)
        self._effect_rows: dict[str, Array] = {}
        swept = engine.sweep(engine.rows(1))
        self.present: Array = swept.held[0] / swept.z[0]
        self.part: Array = np.maximum(swept.held[0] - swept.silent[0], 0.0) / swept.z[0]

    # -- a question as arithmetic ----------------------------------------------------------------------------------

    def asked(self, question: str) -> Asked | None:
        """Return *question* as rows and answers, or None where no answer to it could change anything."""
        if question in self.model.knowledge.facts:
            return self._fact(self.model.knowledge.facts[question])
        if question in self.model.knowledge.symptoms:
            return self._symptom(question)
        return self._check(question)

    def _link_row(self, links: dict[str, float]) -> Array:
        row = np.zeros(self.n)
        for name, chance in links.items():
            row[self.engine.index[name]] = chance
        return row

    def _symptom(self, name: str) -> Asked | None:
        links = self._link_row(self.model.symptom_links(name))
        leak = self.model.knowledge.symptoms[name].background
        slip = self.model.knowledge.words["misreport"]["seen"]
        rows = np.stack([np.ones(self.n), 1.0 - links])
        return Asked(name, rows, np.array([1.0, 1.0 - leak]), ((ABSENT, ((1, 1.0),)), (SEEN, ((0, 1.0), (1, slip - 1.0)))))

    def _check(self, name: str) -> Asked | None:
        check = self.model.knowledge.checks[name]
        links = self.model.result_links(check)
        slip = self.model.knowledge.words["misreport"]["seen"]
        rows, scale = [np.ones(self.n)], [1.0]
        answers: list[tuple[str | float, tuple[tuple[int, float], ...]]] = []
        for result in reversed(check.telling):
            if self._told_already(name, result):
                continue
            rows.append(rows[-1] * (1.0 - self._link_row(links[result])))
            scale.append(scale[-1] * (1.0 - check.results[result].background))
            last = len(rows) - 1
            answers.append((result, ((last - 1, 1.0), (last, slip - 1.0))))
        answers.append((check.base, ((len(rows) - 1, 1.0),)))
        return Asked(name, np.stack(rows), np.array(scale), tuple(answers)) if len(answers) > 1 else None

    def _told_already(self, check: str, result: str) -> bool:
        """A symptom that is the same thing has been answered: this result would count no second time."""
        for name, answer in self.answers.items():
            symptom = self.model.knowledge.symptoms.get(name)
            if symptom is not None and answer.known and (check, result) in symptom.same_as:
                return True
        return False

    def _fact(self, fact: Fact) -> Asked | None:
        bearing = self.model.bearing.get(fact.id, [])
        options = fact.typical if fact.kind == "number" else tuple((key, choice.share) for key, choice in fact.choices.items())
        if not bearing or not options:
            return None
        table = np.ones((len(options), self.n))
        for name in bearing:
            now = self._heard(name, fact.id)
            if now is None:
                continue
            evidence = self.model.causes[name].facts[fact.id]
            for row, (value, _) in enumerate(options):
                raw = curve_ratio(evidence.curve, float(value)) if fact.kind == "number" else evidence.choices.get(str(value), 1.0)
                table[row, self.engine.index[name]] = self.model.capped(raw) / now
        if np.all(table == 1.0):
            return None
        return Asked(fact.id, table, np.array([share for _, share in options]), tuple((value, ((i, 1.0),)) for i, (value, _) in enumerate(options)))

    def _heard(self, cause: str, fact: str) -> float | None:
        """Return the ratio that an answer to *fact* would replace for *cause*, or None where a better fact speaks already."""
        said = self.engine.network.speaking[cause].by_fact
        if any(fact in self.model.better(other) for other in said):
            return None
        replaced = 1.0
        for other, ratio in said.items():
            if other in self.model.better(fact):
                replaced *= ratio
        return replaced

    # -- predictions -----------------------------------------------------------------------------------------------

    def predict(self, questions: Iterable[str]) -> list[Prediction]:
        """Return exact predictions for *questions*, in one batched sweep; those that can't change anything are left out."""
        asked = [item for item in map(self.asked, questions) if item is not None]
        if not asked:
            return []
        rows = self.engine.rows(sum(len(item.scale) for item in asked))
        stacked = np.concatenate([item.rows for item in asked])
        swept = self.engine.sweep(type(rows)(rows.hold * stacked, rows.free, rows.leak, rows.quiet, rows.on, rows.off))
        part = np.maximum(swept.held - swept.silent, 0.0)
        found, start = [], 0
        for item in asked:
            stop = start + len(item.scale)
            scale = item.scale[:, None]
            found.append(_prediction(item, swept.z[start:stop] * item.scale, part[start:stop] * scale, swept.held[start:stop] * scale))
            start = stop
        return found

    def screen(self, questions: Sequence[str]) -> list[tuple[str, float]]:
        """Return (question, rough gain in bits), taking the causes one by one as if independent after the answers."""
        asked = [item for item in map(self.asked, questions) if item is not None]
        if not asked:
            return []
        each = 1.0 - self.present + self.present * np.concatenate([item.rows for item in asked])
        whole = np.multiply.reduce(each, axis=1)
        stacked = np.concatenate([item.rows for item in asked])
        part = self.part * stacked * (whole[:, None] / each)
        found, start = [], 0
        for item in asked:
            stop = start + len(item.scale)
            scale = item.scale[:, None]
            found.append((item.question, _gain(*_combine(item, whole[start:stop] * item.scale, part[start:stop] * scale))))
            start = stop
        return found


def _combine(item: Asked, z: Array, part: Array) -> tuple[Array, Array]:
    """Weights of the answers (a,) and of the answers with each cause's part (a, n), from those of the rows."""
    weights = np.zeros(len(item.answers))
    parts = np.zeros((len(item.answers), part.shape[1]))
    for i, (_, terms) in enumerate(item.answers):
        for row, coefficient in terms:
            weights[i] += coefficient * z[row]
            parts[i] += coefficient * part[row]
    return np.maximum(weights, 0.0), np.maximum(parts, 0.0)


def _prediction(item: Asked, z: Array, part: Array, held: Array) -> Prediction:
    weights, parts = _combine(item, z, part)
    _, helds = _combine(item, z, held)
    total = float(np.add.reduce(weights))
    before = np.add.reduce(parts, axis=0) / total
    outcomes = tuple(
        Outcome(value, float(weights[i]) / total, _share(parts[i], weights[i]), _share(helds[i], weights[i])) for i, (value, _) in enumerate(item.answers))
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
    settled = {name for name, symptom in knowledge.symptoms.items() for check, _ in symptom.same_as if check in answers and answers[check].known}
    found: list[str] = []
    for table in (knowledge.facts, knowledge.checks, knowledge.symptoms):
        for name, entry in table.items():  # type: ignore[attr-defined]
            if name in answers or getattr(entry, "derived", False) or name in settled:
                continue
            if model.knowledge.applies(name, model.build, model.painted) and _makes_sense(entry.ask_when, answers, seen | families):
                found.append(name)
    return found


def _makes_sense(conditions: dict[str, tuple[str, ...]], answers: Answers, seen: set[str]) -> bool:
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


__all__ = ["SHORTLIST", "Answer", "Asked", "Asker", "Outcome", "Prediction", "open_questions"]
