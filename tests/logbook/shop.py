"""A made-up shop for the tests: it has habits of its own, pours parts, gets them wrong for reasons that are known, and logs them.

Parts are drawn from the model itself, with the shop's own base rates and links in place of the book's: causes, the symptoms that they
fire, a few facts with their ratios, checks by their results. So what there is to learn is known exactly.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Mapping
from datetime import date, timedelta

from msgspec import Struct, field
from msgspec.structs import replace

from diagnose.casebook import Case
from diagnose.knowledge import Knowledge
from diagnose.logbook.book import New
from diagnose.logbook.entry import Outcome, case_of, entry_of
from diagnose.reasoning.network import NOT_LISTED, Model, Overlay

FIRST_DAY = date(2025, 1, 6)


class Shop(Struct, frozen=True):
    """Base rates of the shop's own by cause (the book's for the rest), and how it works and writes.

    *links*: by cause and finding (a symptom, or `check:result`), in place of the book's. *checks* are done on every bad part; *usual*: how often
    they show a result without a cause, in place of the book's.
    """

    knowledge: Knowledge
    rates: Mapping[str, float] = field(default_factory=dict)
    seed: int = 1
    build: str = "bare_foam"
    good: float = 0.3
    nonsense: bool = False
    facts: int = 5
    by_mold: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    links: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    checks: tuple[str, ...] = ()
    usual: Mapping[str, Mapping[str, float]] = field(default_factory=dict)

    def parts(self, count: int) -> Iterator[New]:
        """Yield *count* parts in time order, three a day."""
        draw = random.Random(self.seed)
        model = Model(self.knowledge, self.build, False, Overlay(links=self.links))
        for i in range(count):
            day = (FIRST_DAY + timedelta(days=i // 3)).isoformat()
            about = {"date": day, "mold": f"mold {draw.randrange(6) + 1}", "lot_a": f"A-{i // 40 + 1}", "part": "head"}
            yield self._good(about) if draw.random() < self.good else self._bad(about, model, draw)

    def _good(self, about: dict[str, str]) -> New:
        plain = {"case": 1, "answers": {"build": self.build, "painted": "no"}, "about": about}
        return New(entry_of(case_of(plain, self.knowledge), self.knowledge, good=True))

    def _bad(self, about: dict[str, str], model: Model, draw: random.Random) -> New:
        while True:
            held = self._held(model, {**self.rates, **self.by_mold.get(about["mold"], {})}, draw)
            shown = self._shown(model, held, draw)
            if shown:
                break
        told = sorted(draw.sample(sorted(shown), min(len(shown), 4)))
        guilty = sorted({cause for symptom in told for cause in shown[symptom]})
        answers: dict[str, object] = {"build": self.build, "painted": "no", "symptoms": told}
        answers.update(self._facts(model, held, draw))
        answers.update({name: self._reading(model, name, held, draw) for name in self.checks})
        case = case_of({"case": 1, "answers": answers, "about": about}, self.knowledge)
        outcome = self._outcome(guilty, draw, about["date"], model)
        return New(replace(entry_of(case, self.knowledge)), (outcome,))

    def _held(self, model: Model, rates: Mapping[str, float], draw: random.Random) -> list[str]:
        held: list[str] = []
        for cause in model.names:
            rate = rates.get(cause, model.base[cause])
            if draw.random() < rate and not (cause != NOT_LISTED and model.opposite(cause) in held):
                held.append(cause)
        return held

    def _shown(self, model: Model, held: list[str], draw: random.Random) -> dict[str, list[str]]:
        shown: dict[str, list[str]] = {}
        for name, symptom in sorted(self.knowledge.symptoms.items()):
            if not self.knowledge.applies(name, self.build, False):
                continue
            links = model.symptom_links(name)
            fired = [cause for cause in held if draw.random() < links.get(cause, 0.0)]
            if fired or draw.random() < symptom.background:
                shown[name] = fired
        return shown if any(shown.values()) else {}

    def _facts(self, model: Model, held: list[str], draw: random.Random) -> dict[str, str]:
        asked = [
            fact
            for name, fact in sorted(self.knowledge.facts.items())
            if fact.choices
            and fact.kind in ("choice", "yes_no")
            and not fact.derived
            and name not in ("build", "painted")
            and self.knowledge.applies(name, self.build, False)
        ]
        told = {}
        for fact in draw.sample(asked, self.facts):
            weights = [choice.share for choice in fact.choices.values()]
            for cause in held:
                evidence = model.causes[cause].facts.get(fact.id) if cause != NOT_LISTED else None
                if evidence is not None:
                    weights = [w * evidence.choices.get(c, 1.0) for w, c in zip(weights, fact.choices, strict=True)]
            told[fact.id] = draw.choices(list(fact.choices), weights)[0]
        return told

    def _reading(self, model: Model, name: str, held: list[str], draw: random.Random) -> str | list[str]:
        """What a check shows: from the most telling result down the first that a cause or chance brings, or of one that takes several all of
        them; else its base."""
        check = self.knowledge.checks[name]
        shown = []
        for result in reversed(check.telling):
            links = model.result_links(check)[result]
            leak = self.usual.get(name, {}).get(result, model.leak(check, result))
            if any(draw.random() < links.get(cause, 0.0) for cause in held) or draw.random() < leak:
                shown.append(result)
                if check.kind != "many":
                    return result
        return shown[::-1] or [check.base] if check.kind == "many" else check.base

    def _outcome(self, guilty: list[str], draw: random.Random, day: str, model: Model) -> Outcome:
        if self.nonsense:
            guilty = [draw.choice(sorted(model.causes))]
        listed = [cause for cause in guilty if cause != NOT_LISTED] or [NOT_LISTED]
        return Outcome(
            tuple(listed), draw.choice(("looked", "fixed")), draw.choice(("good", "good", "bad")), cost=50.0, date=day
        )


def case_at(knowledge: Knowledge, **answers: object) -> Case:
    """Return a case with these answers."""
    return case_of({"case": 1, "answers": answers}, knowledge)
