"""Worlds that cases are drawn from: the book's own, or one that departs from it by a stated amount.

A world has its own base rates, links and ratios, taken from the model of the book and then changed. Causes are drawn by base rate, opposites by
one three-way choice; symptoms and results of checks by links that fire and by leaks (noisy-OR, noisy-MAX); facts by shares x ratios. What
the caller then says of it (`Telling`) is dropped, remembered or wrong at stated rates, whatever the answer is.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from diagnose.knowledge import Check, Fact, Knowledge
from diagnose.reasoning.answers import ABSENT, SEEN, Answer
from diagnose.reasoning.network import CONTEXT, NOT_LISTED, Model

BUILDS = (("bare_foam", False), ("bare_foam", True), ("skin_and_foam", False), ("skin_and_foam", True))
Answers = dict[str, Answer]


class Departure(Struct, frozen=True):
    """How the world departs from the book: every link's, base rate's and ratio's odds times or over a factor (a coin for each), this
    many causes that the book lacks, this many habits of the shop (causes whose odds are *habit_odds* times the book's)."""

    links: float = 1.0
    bases: float = 1.0
    ratios: float = 1.0
    missing: int = 0
    habits: int = 0
    habit_odds: float = 8.0


class Telling(Struct, frozen=True):
    """How callers answer. *symptoms*, *checks*, *facts*: chance that one is answered at all, whatever it is; *absent*: the same for a symptom
    that is not there (None: as for one that is). *remembered*: share of the answers told from memory, of which *slips* are wrong;
    *wrong*: share of the other answers that are wrong and said as if seen. *plain*: of the checks only those that are read without approximation."""

    symptoms: float = 0.3
    absent: float | None = None
    checks: float = 0.5
    facts: float = 0.5
    remembered: float = 0.0
    slips: float = 0.0
    wrong: float = 0.0
    plain: bool = False

    def dropped(self, part: float) -> Telling:
        """Return the same with *part* of the answers turned to "don't know"."""
        kept = 1.0 - part
        return replace(
            self,
            symptoms=self.symptoms * kept,
            absent=None if self.absent is None else self.absent * kept,
            checks=self.checks * kept,
            facts=self.facts * kept,
        )


class Case(Struct, frozen=True):
    """A case drawn: what was said, which causes truly held, which had a part in a symptom told as seen, and whether anything off the
    book's list had."""

    answers: Answers
    held: frozenset[str]
    guilty: frozenset[str]
    unlisted: bool


class World:
    """Draws cases of one build and paint. *book* is what reasons about them; it lacks the causes that a departure leaves out."""

    def __init__(self, knowledge: Knowledge, build: tuple[str, bool], departure: Departure, seed: str) -> None:
        rng = random.Random(f"world {seed}")
        self.model = Model(knowledge, *build)
        gone = set(rng.sample(sorted(self.model.causes), departure.missing))
        kept = {name: cause for name, cause in knowledge.causes.items() if name not in gone}
        self.book = Model(replace(knowledge, causes=kept), *build) if gone else self.model
        self.base = {name: _off(rng, base, departure.bases) for name, base in self.model.base.items()}
        for name in rng.sample(sorted(self.model.causes), departure.habits):
            self.base[name] = _odds_times(self.base[name], departure.habit_odds)
        self._tame_opposites()
        self.links = {
            name: {cause: _off(rng, p, departure.links) for cause, p in self.model.symptom_links(name).items()}
            for name in sorted(knowledge.symptoms)
            if knowledge.applies(name, *build)
        }
        self.results = {
            name: {
                result: {cause: _off(rng, p, departure.links) for cause, p in links.items()}
                for result, links in self.model.result_links(check).items()
            }
            for name, check in sorted(knowledge.checks.items())
            if knowledge.applies(name, *build)
        }
        self.ratios = {
            (cause, fact): [_times(rng, ratio, departure.ratios) for ratio in self._asked(cause, fact)]
            for cause, entry in self.model.causes.items()
            for fact in entry.facts
        }

    def _tame_opposites(self) -> None:
        """Opposites share one choice, so their base rates can't sum to more than nine in ten."""
        for name in self.model.causes:
            other = self.model.opposite(name)
            if other and self.base[name] + self.base[other] > 0.9:
                total = self.base[name] + self.base[other]
                self.base[name], self.base[other] = 0.9 * self.base[name] / total, 0.9 * self.base[other] / total

    def _asked(self, cause: str, fact: str) -> Sequence[float]:
        entry = self.model.knowledge.facts[fact]
        return self.model.asked_ratios(cause, entry) if entry.typical or entry.choices else ()

    # -- one case --------------------------------------------------------------------------------------------------

    def case(self, telling: Telling, seed: str) -> Case | None:
        """Return a case in which some symptom is told as seen, or None."""
        rng = random.Random(seed)
        held = self._held(rng)
        fired = {
            name: self._fired(rng, held, links, self.model.knowledge.symptoms[name].background)
            for name, links in self.links.items()
        }
        teller = _Teller(self.model, telling, rng)
        answers = self._context()
        for name, causes in fired.items():
            teller.symptom(answers, name, bool(causes))
        seen = [name for name in fired if name in answers and answers[name].value == SEEN]
        for name, check in sorted(self.model.knowledge.checks.items()):
            if name in self.results and not (telling.plain and self._tangled(check)):
                teller.check(answers, check, self._check(rng, held, fired, check))
        for fact in self.model.knowledge.facts.values():
            self._tell_fact(rng, held, teller, answers, fact)
        parts: set[str] = set().union(*(fired[name] for name in seen)) if seen else set()
        off = {cause for cause in parts if cause in ("", NOT_LISTED) or cause not in self.book.causes}
        return Case(answers, frozenset(held), frozenset(parts - off), bool(off)) if seen else None

    def _context(self) -> Answers:
        return {"build": Answer(self.model.build), "painted": Answer("yes" if self.model.painted else "no")}

    def _held(self, rng: random.Random) -> list[str]:
        held, done = [], set()
        for name in self.model.names:
            if name in done:
                continue
            other = self.model.opposite(name) if name != NOT_LISTED else ""
            pair = [name, other] if other else [name]
            done.update(pair)
            chances = [self.base[each] for each in pair]
            drawn = rng.choices([*pair, ""], [*chances, 1.0 - sum(chances)])[0]
            held += [drawn] if drawn else []
        return held

    def _fired(self, rng: random.Random, held: Sequence[str], links: Mapping[str, float], leak: float) -> set[str]:
        """The causes that fired, and "" for the leak."""
        fired = {name for name in held if rng.random() < links.get(name, 0.0)}
        return fired | ({""} if rng.random() < leak else set())

    def _tangled(self, check: Check) -> bool:
        """Whether *check* is read by an approximation: several values at once, a number in bands, or a symptom seen another way."""
        twin = any(name == check.id for s in self.model.knowledge.symptoms.values() for name, _ in s.same_as)
        return twin or check.kind != "choice"

    def _check(
        self, rng: random.Random, held: Sequence[str], fired: Mapping[str, set[str]], check: Check
    ) -> float | str | tuple[str, ...]:
        shows = [result for result in reversed(check.telling) if self._shows(rng, held, fired, check, result)]
        if check.kind == "many":
            return tuple(reversed(shows)) or (check.base,)
        result = shows[0] if shows else check.base
        if check.kind != "number":
            return result
        low, high = check.results[result].low, check.results[result].high
        return (low or 0.0) + 1.0 if high is None else ((low or 0.0) + high) / 2

    def _shows(
        self, rng: random.Random, held: Sequence[str], fired: Mapping[str, set[str]], check: Check, result: str
    ) -> bool:
        twins = [name for name in fired if (check.id, result) in self.model.knowledge.symptoms[name].same_as]
        if twins:
            return any(fired[name] for name in twins)
        return bool(self._fired(rng, held, self.results[check.id][result], self.model.leak(check, result)))

    def _tell_fact(
        self, rng: random.Random, held: Sequence[str], teller: _Teller, answers: Answers, fact: Fact
    ) -> None:
        options = _options(fact)
        if (
            not options
            or fact.id in CONTEXT
            or not self.model.knowledge.applies(fact.id, self.model.build, self.model.painted)
        ):
            return
        weights = [share for _, share in options]
        for cause in held:
            ratios = self.ratios.get((cause, fact.id))
            if ratios:
                weights = [w * r for w, r in zip(weights, ratios, strict=True)]
        teller.fact(answers, fact, rng.choices([value for value, _ in options], weights)[0])


class _Teller:
    """Says what is there, or "don't know", or something else."""

    def __init__(self, model: Model, telling: Telling, rng: random.Random) -> None:
        self.model = model
        self.telling = telling
        self.rng = rng

    def symptom(self, answers: Answers, name: str, there: bool) -> None:
        """Tell of a symptom; one that is not there is said to be seen as often as the book says that such slips happen."""
        telling = self.telling
        rate = telling.symptoms if there or telling.absent is None else telling.absent
        if self.rng.random() >= rate:
            return
        source, wrong = self._how()
        if not wrong and not there:
            wrong = self.rng.random() < self.model.knowledge.words["misreport"]["seen"]
        answers[name] = Answer(SEEN if there != wrong else ABSENT, source)

    def check(self, answers: Answers, check: Check, truth: float | str | tuple[str, ...]) -> None:
        """Tell the result of a check."""
        if self.rng.random() >= self.telling.checks:
            return
        source, wrong = self._how()
        if wrong and check.kind != "number":
            told: str = self.rng.choice(list(check.results))
            truth = (told,) if check.kind == "many" else told
        elif check.kind == "choice":
            truth = self._read(check, str(truth))
        answers[check.id] = Answer(truth, source)

    def _read(self, check: Check, truth: str) -> str:
        """From the most telling result down: the one that shows, or one that is said to show as often as the book says that such slips happen."""
        slip = self.model.knowledge.words["misreport"]["seen"]
        return next((name for name in reversed(check.telling) if name == truth or self.rng.random() < slip), check.base)

    def fact(self, answers: Answers, fact: Fact, truth: float | str) -> None:
        """Tell a fact; a wrong one is drawn anew as if nothing were the matter."""
        if self.rng.random() >= self.telling.facts:
            return
        source, wrong = self._how()
        if wrong:
            options = _options(fact)
            truth = self.rng.choices([value for value, _ in options], [share for _, share in options])[0]
        answers[fact.id] = Answer((truth,) if fact.kind == "many" else truth, source)  # type: ignore[arg-type]

    def _how(self) -> tuple[str, bool]:
        """How the answer is known, and whether it is wrong."""
        if self.rng.random() < self.telling.remembered:
            return "remembered", self.rng.random() < self.telling.slips
        return "seen", self.rng.random() < self.telling.wrong


def _options(fact: Fact) -> list[tuple[float | str, float]]:
    if fact.kind == "number":
        return list(fact.typical)
    return [(name, choice.share) for name, choice in fact.choices.items()]


def _odds_times(p: float, factor: float) -> float:
    odds = p / (1.0 - p) * factor
    return odds / (1.0 + odds)


def _off(rng: random.Random, p: float, factor: float) -> float:
    """*p* with its odds times or over *factor*, by a coin."""
    return _odds_times(p, factor if rng.random() < 0.5 else 1.0 / factor) if factor != 1.0 and 0.0 < p < 1.0 else p


def _times(rng: random.Random, ratio: float, factor: float) -> float:
    return ratio * (factor if rng.random() < 0.5 else 1.0 / factor) if factor != 1.0 else ratio
