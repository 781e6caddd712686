"""The links of the knowledge, both ways: what leads to a fault, what a check tells of, what mends a cause,
and who says what.

This is the one place of the book that asks the knowledge for what callers say.
"""

from __future__ import annotations

from collections.abc import Mapping

from msgspec import Struct

from diagnose.knowledge import Knowledge, Link
from diagnose.report.handbook.pages import Item, Ref


def phrases_of(knowledge: Knowledge) -> Mapping[str, tuple[str, ...]]:
    """Return what callers say of each symptom, as they say it."""
    from diagnose.knowledge.store import load_callers

    said = load_callers(knowledge.folder).phrases
    return {name: tuple(said.get(name, ())) for name in knowledge.symptoms}


class Links(Struct, frozen=True):
    """The knowledge with its links turned around; every list stands in a fixed order, what is likeliest first.

    *behind*: symptom -> (cause, link). *shown_as*: check -> result -> (cause, link). *told_by*: fact -> causes that it
    bears on. *mended*: cause -> (remedy, link). *opened*: input of a sum that is a fact -> names of the sums.
    """

    knowledge: Knowledge
    behind: Mapping[str, tuple[tuple[str, Link], ...]]
    shown_as: Mapping[str, Mapping[str, tuple[tuple[str, Link], ...]]]
    told_by: Mapping[str, tuple[str, ...]]
    mended: Mapping[str, tuple[tuple[str, Link], ...]]
    opened: Mapping[str, tuple[str, ...]]

    @classmethod
    def of(cls, knowledge: Knowledge) -> Links:
        """Turn the links of *knowledge* around."""
        return cls(
            knowledge, _behind(knowledge), _shown_as(knowledge), _told_by(knowledge), _mended(knowledge), _opened()
        )

    def fault(self, name: str) -> Ref:
        """Return the link to a fault."""
        return Ref("fault", name, self.knowledge.symptoms[name].title)

    def cause(self, name: str) -> Ref:
        """Return the link to a cause."""
        return Ref("cause", name, self.knowledge.causes[name].title)

    def check(self, name: str) -> Ref:
        """Return the link to a check, by its short name."""
        return Ref("check", name, self.knowledge.checks[name].short)

    def fact(self, name: str) -> Ref:
        """Return the link to a question about the pour, by its short name."""
        return Ref("fact", name, self.knowledge.facts[name].short)

    def remedy(self, name: str) -> Ref:
        """Return the link to a remedy."""
        return Ref("remedy", name, self.knowledge.remedies[name].title)

    def question(self, name: str) -> Ref:
        """Return the link to a fact, a check or a symptom."""
        if name in self.knowledge.facts:
            return self.fact(name)
        return self.check(name) if name in self.knowledge.checks else self.fault(name)

    def sources(self, names: tuple[str, ...]) -> tuple[Item, ...]:
        """Return sources as items: a link to those of the list, plain words for common practice."""
        return tuple(
            Item(ref=Ref("source", name, self.knowledge.sources[name].title))
            if name in self.knowledge.sources
            else Item(text=f"{name[:1].upper()}{name[1:]}, no source" if name == "common practice" else name)
            for name in names
        )


def _weight(knowledge: Knowledge, cause: str, chance: float) -> tuple[float, str]:
    """What sorts causes: how common each is times how often it shows this, then the title."""
    return -round(knowledge.causes[cause].base * chance, 10), knowledge.causes[cause].title


def _sorted(knowledge: Knowledge, found: list[tuple[str, Link]]) -> tuple[tuple[str, Link], ...]:
    return tuple(sorted(found, key=lambda pair: _weight(knowledge, pair[0], pair[1].p)))


def _behind(knowledge: Knowledge) -> dict[str, tuple[tuple[str, Link], ...]]:
    found: dict[str, list[tuple[str, Link]]] = {name: [] for name in knowledge.symptoms}
    for name, cause in knowledge.causes.items():
        for symptom, link in cause.symptoms.items():
            found[symptom].append((name, link))
    return {name: _sorted(knowledge, pairs) for name, pairs in found.items()}


def _shown_as(knowledge: Knowledge) -> dict[str, dict[str, tuple[tuple[str, Link], ...]]]:
    found: dict[str, dict[str, list[tuple[str, Link]]]] = {
        name: {result: [] for result in check.results} for name, check in knowledge.checks.items()
    }
    for name, cause in knowledge.causes.items():
        for check, results in cause.checks.items():
            for result, link in results.items():
                found[check][result].append((name, link))
    return {
        check: {result: _sorted(knowledge, pairs) for result, pairs in results.items()}
        for check, results in found.items()
    }


def _told_by(knowledge: Knowledge) -> dict[str, tuple[str, ...]]:
    found: dict[str, list[str]] = {name: [] for name in knowledge.facts}
    for name, cause in knowledge.causes.items():
        for fact in cause.facts:
            found[fact].append(name)
    return {
        fact: tuple(sorted(causes, key=lambda name: _weight(knowledge, name, 1.0))) for fact, causes in found.items()
    }


def _mended(knowledge: Knowledge) -> dict[str, tuple[tuple[str, Link], ...]]:
    found: dict[str, list[tuple[str, Link]]] = {name: [] for name in knowledge.causes}
    for name, remedy in knowledge.remedies.items():
        for cause, link in remedy.fixes.items():
            if cause in found:
                found[cause].append((name, link))
    return {
        cause: tuple(sorted(pairs, key=lambda pair: (-pair[1].p, knowledge.remedies[pair[0]].title)))
        for cause, pairs in found.items()
    }


def _opened() -> dict[str, tuple[str, ...]]:
    from diagnose.bench.catalogue import CALCULATIONS

    found: dict[str, list[str]] = {}
    for item in CALCULATIONS:
        for given in item.inputs:
            found.setdefault(given.name, []).append(item.name)
    return {name: tuple(sums) for name, sums in found.items()}
