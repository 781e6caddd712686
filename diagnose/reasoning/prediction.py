"""What each answer to a question would do to the beliefs, and how likely it is.

A question becomes rows of multipliers on "the cause holds" and, for each answer, a sum of rows: absent above this
level, less absent at it too (noisy-MAX), or share times ratios for a fact. One batched sweep then gives every answer's
weight and every cause's belief with it, exactly. All questions are first screened with the causes taken one by one; the
best of them get the exact treatment (`docs/reasoning.md` has the measured loss). Logarithms serve only display and
ranking, at ten digits.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from diagnose.knowledge import Check, Fact, Symptom
from diagnose.reasoning.answers import ABSENT, SEEN, Answers
from diagnose.reasoning.forward_backward import Array
from diagnose.reasoning.network import Model
from diagnose.reasoning.situation import Situation


class QuestionTable(Struct, frozen=True):
    """A question as arithmetic over m rows and a answers.

    *present*, *absent*: (n, m) multipliers of each cause's weight of holding and of not holding. *scale*: (m,) of the
    whole row. *mix*: (a, m), by which the rows sum to the answers. *values*: what the answers are.
    """

    question: str
    present: Array
    absent: Array
    scale: Array
    mix: Array
    values: tuple[str | float, ...]


class Outcome(Struct, frozen=True):
    """One possible answer: its value, its predicted chance, and the beliefs (had a part, held) it would leave,
    by cause, (n,) each.

    "Had a part" is in the symptoms seen so far, also where the answer would add a symptom, so that asking alone moves
    nothing.
    """

    value: str | float
    chance: float
    probability: Array
    present: Array


class Prediction(Struct, frozen=True):
    """All answers of one question; *before* (n,) are the beliefs that asking alone leaves as they are."""

    question: str
    outcomes: tuple[Outcome, ...]
    before: Array
    gain_bits: float


class Predictor:
    """Predicts answers to the questions still open in one situation."""

    def __init__(self, situation: Situation) -> None:
        self.situation = situation
        self.model = situation.model
        self.inference = situation.inference
        self._tables: dict[str, QuestionTable | None] = {}

    # -- a question as arithmetic ----------------------------------------------------------------------------------

    def table(self, question: str) -> QuestionTable | None:
        """Return *question* as rows and answers, or None where no answer to it could change anything."""
        if question not in self._tables:
            fact = self.model.knowledge.facts.get(question)
            by_links = self._symptom if question in self.model.knowledge.symptoms else self._check
            self._tables[question] = self._fact(fact) if fact is not None else by_links(question)
        return self._tables[question]

    def _symptom(self, name: str) -> QuestionTable | None:
        leak = self.model.knowledge.symptoms[name].background
        return self._levels(name, [(SEEN, self.model.link_rows(name)[0], leak)], ABSENT)

    def _check(self, name: str) -> QuestionTable | None:
        """From the most telling result down: this one if nothing above it shows.
        A `many` is read as its most telling value.

        A symptom answered that is the same thing settles its result: seen, the check shows that or more; absent, it
        does not.
        """
        check = self.model.knowledge.checks[name]
        settled = self._settled_results(name)
        levels: list[tuple[str, Array, float]] = []
        for result, links in zip(reversed(check.telling), self.model.link_rows(name), strict=True):
            if settled.get(result) == SEEN:
                return self._levels(name, levels, result)
            if result not in settled:
                levels.append((result, links, self.model.leak(check, result)))
        return self._levels(name, levels, check.base)

    def _settled_results(self, check: str) -> dict[str, str]:
        """Results of *check* that an answered symptom has settled already, by another view of the same thing."""
        found: dict[str, str] = {}
        for name, answer in self.situation.answers.items():
            symptom = self.model.knowledge.symptoms.get(name)
            if symptom is not None and answer.known:
                found.update({result: str(answer.value) for twin, result in symptom.same_as if twin == check})
        return found

    def _levels(self, name: str, levels: Sequence[tuple[str, Array, float]], rest: str) -> QuestionTable | None:
        """An effect level by level, each with its links (n,) and leak:
        this result if nothing more telling shows, *rest* if none does.

        A result shown is seen, and with a small chance said to be seen when it is not there; so the chances of the
        answers sum to 1 whatever holds, and asking moves no belief. None with no level.
        """
        if not levels:
            return None
        truly, count = 1.0 - self.model.knowledge.words["misreport"]["seen"], len(levels)
        present, absent = np.ones((2, len(self.inference.names), count + 1))
        np.multiply.accumulate([1.0 - links for _, links, _ in levels], axis=0, out=present.T[1:])
        scale = np.multiply.accumulate([1.0, *(1.0 - leak for _, _, leak in levels)])
        said = np.multiply.accumulate([1.0] + [truly] * count)
        values = (*(result for result, _, _ in levels), rest)
        return QuestionTable(name, present, absent, scale, np.diag(said) - np.diag(said[1:], 1), values)

    def _fact(self, fact: Fact) -> QuestionTable | None:
        options = self.model.options(fact)
        products = {name: self._products(name, fact) for name in self.model.bearing.get(fact.id, [])}
        heard = {name: new for name, new in products.items() if new}
        if not heard or not options:
            return None
        present, absent = np.ones((2, len(self.inference.names), len(options)))
        values, shares = zip(*options, strict=True)
        table = QuestionTable(fact.id, present, absent, np.array(shares), np.eye(len(options)), values)
        for name, new in heard.items():
            other = self.model.opposite(name)
            if not other:
                table.present[self.inference.index[name]] = np.array(new) / self._now(name)
            elif name < other or other not in heard:
                self._three_way(table, (name, other), (new, heard.get(other) or [self._now(other)] * len(options)))
        return None if np.all(table.present == 1.0) else table

    def _now(self, cause: str) -> float:
        return self.inference.network.speaking[cause].product

    def _products(self, cause: str, fact: Fact) -> list[float] | None:
        """Return the product of the ratios of *cause* after each answer to *fact*,
        or None where a better fact speaks already.
        """
        said = self.inference.network.speaking[cause]
        if any(fact.id in self.model.better(other) for other in said.by_fact):
            return None
        return said.products_with(self.model.asked_ratios(cause, fact), self.model.better(fact.id))

    def _three_way(
        self, table: QuestionTable, pair: tuple[str, str], products: tuple[list[float], list[float]]
    ) -> None:
        """Opposites share one three-way choice: what an answer does to one moves the other,
        and the chance of the answer with them.
        """
        now = self.model.odds(pair[0], {name: self._now(name) for name in pair})
        whole = 1.0 + now[0] + now[1]
        for row, new in enumerate(zip(*products, strict=True)):
            after = self.model.odds(pair[0], dict(zip(pair, new, strict=True)))
            total = 1.0 + after[0] + after[1]
            table.scale[row] *= total / whole
            for name, odds, before in zip(pair, after, now, strict=True):
                i = self.inference.index[name]
                table.present[i, row] = (odds / total) / (before / whole)
                table.absent[i, row] = (1.0 - odds / total) / (1.0 - before / whole)

    # -- predictions -----------------------------------------------------------------------------------------------

    def predict(self, questions: Iterable[str]) -> list[Prediction]:
        """Return exact predictions for *questions*, in one batched sweep;
        those that can't change anything are left out.
        """
        tables = [table for table in map(self.table, questions) if table is not None]
        if not tables:
            return []
        evidence, responsible, present = self.weights(tables)
        found, start = [], 0
        for table in tables:
            rows = slice(start, start + len(table.scale))
            found.append(_prediction(table, evidence[rows], responsible[:, rows], present[:, rows]))
            start = rows.stop
        return found

    def weights(self, tables: Sequence[QuestionTable]) -> tuple[Array, Array, Array]:
        """Return for all rows of *tables* (m in all) the weight (m,), and by cause that of a part and of holding,
        (n, m) each.

        Rows that multiply nothing are the network as it is, which has been swept already.
        """
        multipliers, others, scale = _side_by_side(tables)
        same = np.all(multipliers == 1.0, axis=0) & np.all(others == 1.0, axis=0)
        swept = self.inference.sweep(self.inference.rows(1).times(multipliers[:, ~same], others[:, ~same]))
        base = self.inference.base

        def spread(new: Array, old: Array) -> Array:
            made = np.empty((*new.shape[:-1], len(scale)))
            made[..., same], made[..., ~same] = old, new
            result: Array = made * scale
            return result

        return (
            spread(swept.evidence, base.evidence),
            spread(swept.responsible, base.responsible),
            spread(swept.present, base.present),
        )

    def screen(self, questions: Sequence[str], about: Collection[str] | None = None) -> dict[str, float]:
        """Return the rough gain in bits by question, taking the causes one by one as if independent after the answers.

        *about*: the causes that count, None for all that are listed.
        """
        tables = [table for table in map(self.table, questions) if table is not None]
        if not tables:
            return {}
        multipliers, others, scale = _side_by_side(tables)
        present = self.inference.present[:, None]
        each = (1.0 - present) * others + present * multipliers
        whole = np.multiply.reduce(each, axis=0) * scale
        part = self.inference.responsible[:, None] * multipliers * (whole / np.maximum(each, 1e-300))
        weights, parts = _bidiagonal(tables, whole), _bidiagonal(tables, part)[self._columns(about)]
        starts = np.cumsum([0, *(len(table.scale) for table in tables[:-1])])
        return dict(zip([t.question for t in tables], _gains(weights, parts.T, starts).tolist(), strict=True))

    def gain_about(self, prediction: Prediction, about: Collection[str]) -> float:
        """Return the exact gain of *prediction* in bits about the causes *about* alone."""
        chance = np.array([outcome.chance for outcome in prediction.outcomes])
        part = np.stack([outcome.chance * outcome.probability for outcome in prediction.outcomes])
        return gain_bits(chance, part[:, self._columns(about)])

    def _columns(self, about: Collection[str] | None) -> list[int]:
        """The columns of the causes *about*, and last that of `not_listed`, as `gain_bits` wants them."""
        names = self.inference.names
        return [i for i, name in enumerate(names[:-1]) if about is None or name in about] + [len(names) - 1]


def _side_by_side(tables: Sequence[QuestionTable]) -> tuple[Array, Array, Array]:
    """The multipliers of all rows of *tables*, present and absent (n, m), and their scale (m,)."""
    present, absent = (
        np.concatenate([t.present for t in tables], axis=1),
        np.concatenate([t.absent for t in tables], axis=1),
    )
    return present, absent, np.concatenate([t.scale for t in tables])


def mixed(mix: Array, rows: Array) -> Array:
    """Return the answers (a, ...) that the rows (m, ...) sum to by *mix* (a, m), one row after another;
    never below nothing.
    """
    made = np.zeros((len(mix), *rows.shape[1:]))
    for a, coefficients in enumerate(mix.tolist()):
        for i, coefficient in enumerate(coefficients):
            if coefficient:
                made[a] += coefficient * rows[i]
    return np.maximum(made, 0.0)


def _bidiagonal(tables: Sequence[QuestionTable], rows: Array) -> Array:
    """What `mixed` makes of *rows* (..., m), those of all *tables* side by side: each answer is made of its own row and
    of the next.
    """
    own = np.concatenate([table.mix.diagonal() for table in tables])
    further = np.concatenate([[*table.mix.diagonal(1), 0.0] for table in tables])
    made = own * rows
    made[..., :-1] += further[:-1] * rows[..., 1:]
    return np.maximum(made, 0.0)


def _prediction(table: QuestionTable, evidence: Array, responsible: Array, present: Array) -> Prediction:
    weights, parts, helds = (mixed(table.mix, rows) for rows in (evidence, responsible.T, present.T))
    total = float(np.add.reduce(weights))
    outcomes = tuple(
        Outcome(value, float(weight) / total, _share(part, weight), _share(held, weight))
        for value, weight, part, held in zip(table.values, weights, parts, helds, strict=True)
    )
    return Prediction(table.question, outcomes, np.add.reduce(parts, axis=0) / total, gain_bits(weights, parts))


def _share(top: Array, bottom: float) -> Array:
    return top / bottom if bottom > 0.0 else np.zeros_like(top)


def gain_bits(weights: Array, parts: Array) -> float:
    """Return the sum over the listed causes of the mutual information, in bits, between the answer and "had a part".

    *weights*: (a,), of the answers, to any common scale. *parts*: (a, n), the weight of an answer with each cause's
    part in it; the last cause is `not_listed` and is not counted.
    """
    return float(_gains(weights, parts, np.zeros(1, dtype=int))[0])


def _gains(weights: Array, parts: Array, starts: NDArray[np.int_]) -> Array:
    """`gain_bits` of several questions, (q,), whose answers stand one behind another and begin at *starts*, (q,)."""
    total = np.maximum(np.add.reduceat(weights, starts), 1e-300)
    before = np.add.reduceat(parts[:, :-1], starts, axis=0) / total[:, None]
    after = parts[:, :-1] / np.maximum(weights, 1e-300)[:, None]
    left = np.add.reduceat(weights[:, None] * entropies(after), starts, axis=0) / total[:, None]
    gains: Array = np.maximum(0.0, np.add.reduce(entropies(before) - left, axis=1))
    return gains


def entropies(p: Array) -> Array:
    """Return the uncertainty, in bits, of things that hold with the chances *p*."""
    p = np.minimum(np.maximum(p, 1e-15), 1.0 - 1e-15)
    made: Array = -(p * np.log2(p) + (1.0 - p) * np.log2(1.0 - p))
    return made


def open_questions(model: Model, answers: Answers) -> list[str]:
    """Return the unanswered questions that make sense now, in the order of the knowledge.

    Left out: what is answered or was answered "don't know", what doesn't apply to the build, what its `ask_when` rules
    out, what a more direct answer or the same thing seen another way has settled.
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


__all__ = ["Outcome", "Prediction", "Predictor", "QuestionTable", "entropies", "gain_bits", "mixed", "open_questions"]
