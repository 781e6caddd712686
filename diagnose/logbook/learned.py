"""What a shop's log has taught, laid over the book.

The book is never edited. Base rates and links are kept as factors on the odds of the book, so that a better book stays
better; molds and lots are kept as counts, from which a likelihood ratio for each cause follows when a case names them.
Every factor is held within stated bounds, so that no log can drown an observation.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from msgspec import Struct, field
from msgspec.structs import replace

from diagnose.assessment.consultation import ModelCache
from diagnose.casebook import Case
from diagnose.knowledge import Knowledge
from diagnose.logbook.places import Where
from diagnose.reasoning.network import NOT_LISTED, Model, Overlay

FORMAT = 1
#: the odds of a base rate, of a link, of a result without a cause, and of a mold or lot are moved at most so many
#: times, up or down
MOST_BASE, MOST_LINK, MOST_RESULT, MOST_MEMORY = 8.0, 4.0, 8.0, 8.0
#: what is learned, each of which can be used without the others
PARTS = ("rates", "links", "results", "memory")
#: pours of the whole shop that the book's rate of a cause is worth, where all pours count
WORTH_BOOK = 20.0
#: stages whose causes a mold or a lot carries from pour to pour, so that its good pours speak against them
CARRIED = {
    "mold": ("mold_design", "mold_preparation"),
    "lot_a": ("material",),
    "lot_b": ("material",),
}


class Seen(Struct, frozen=True):
    """What was poured with one mold or lot: *pours* in all, the *bad* ones, and in how many each cause had a part."""

    pours: int = 0
    bad: int = 0
    causes: Mapping[str, int] = field(default_factory=dict)


class Learned(Struct, frozen=True):
    """What was learned from so many confirmed *cases*.

    *base*: factor on the odds of a cause by context (`bare_foam/no`; `` for all); *links*: factor on the odds of a link
    by cause and finding (a symptom, or `check:result`); *results*: factor on the odds that a check shows a result
    without a cause, by check and result; *all*: all pours of the shop; *memory*: by factor, then by
    client and name; *spread*: by factor and cause, how much its rate differs between molds or lots (correlation within
    one).
    """

    cases: int = 0
    knowledge: str = ""
    base: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    links: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    results: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    all: Seen = field(default_factory=Seen)
    memory: Mapping[str, Mapping[str, Seen]] = field(default_factory=dict)
    spread: Mapping[str, Mapping[str, float]] = field(default_factory=dict)

    def only(self, *parts: str) -> Learned:
        """Return it with those of `PARTS` alone."""
        remembers = "memory" in parts
        return replace(
            self,
            base=self.base if "rates" in parts else {},
            links=self.links if "links" in parts else {},
            results=self.results if "results" in parts else {},
            memory=self.memory if remembers else {},
            spread=self.spread if remembers else {},
        )

    def to_plain(self) -> dict[str, Any]:
        """Return it as JSON data."""
        return {
            "learned": FORMAT,
            "cases": self.cases,
            "knowledge": self.knowledge,
            "base": self.base,
            "links": self.links,
            "results": self.results,
            "all": _seen_plain(self.all),
            "memory": {f: {name: _seen_plain(s) for name, s in table.items()} for f, table in self.memory.items()},
            "spread": self.spread,
        }

    @classmethod
    def from_plain(cls, plain: Mapping[str, Any]) -> Learned:
        """Build from the data of `to_plain`. Raises AttributeError, KeyError, TypeError, ValueError where none.

        Every number is held to its bounds again: what was changed by hand moves the book no further than what was
        learned.
        """
        if plain["learned"] != FORMAT:
            raise ValueError("another format")
        memory = {f: {name: _seen(s) for name, s in table.items()} for f, table in plain["memory"].items()}
        if not set(memory) <= set(CARRIED):
            raise ValueError("a memory of something else")
        return cls(
            int(plain["cases"]),
            str(plain["knowledge"]),
            _held(plain["base"], 1.0 / MOST_BASE, MOST_BASE),
            _held(plain["links"], 1.0 / MOST_LINK, MOST_LINK),
            _held(plain.get("results", {}), 1.0 / MOST_RESULT, MOST_RESULT),  # not there before they were learned
            _seen(plain["all"]),
            memory,
            _held(plain["spread"], 0.0, 0.5),
        )


def _held(plain: Any, low: float, high: float) -> Mapping[str, Mapping[str, float]]:
    """Return two levels of numbers as they are. Raises ValueError where one is none, or out of its bounds by more
    than rounding.
    """
    for table in plain.values():
        for number in table.values():
            if isinstance(number, bool) or not isinstance(number, int | float) or not math.isfinite(number):
                raise ValueError("expected a number")
            if not low - 1e-9 <= number <= high + 1e-9:
                raise ValueError("a number out of its bounds")
    found: Mapping[str, Mapping[str, float]] = plain
    return found


def _seen_plain(seen: Seen) -> list[Any]:
    return [seen.pours, seen.bad, dict(seen.causes)]


def _seen(plain: Any) -> Seen:
    pours, bad, causes = plain
    if not 0 <= bad <= pours or any(not 0 <= count <= bad for count in causes.values()):
        raise ValueError("counts that can't be")
    return Seen(int(pours), int(bad), {str(cause): int(count) for cause, count in causes.items()})


# -- from counts to an overlay ----------------------------------------------------------------------------------------


def context_of(build: str | None, painted: bool | str | None) -> str:
    """Return the context of a part, as `bare_foam/no`, or an empty text where it isn't known."""
    paint = {True: "yes", False: "no", None: ""}.get(painted, painted) if not isinstance(painted, str) else painted
    return f"{build}/{paint}" if build and paint else ""


def moved(chance: float, factor: float) -> float:
    """Return *chance* with its odds times *factor*."""
    odds = chance * factor
    return odds / (1.0 - chance + odds)


def bounded(factor: float, most: float) -> float:
    """Return *factor* within 1/most and most."""
    return min(max(factor, 1.0 / most), most)


def memory_key(factor: str, client: str, name: str) -> str:
    """Return the name under which a mold (each client has its own) or a lot (a drum is a drum) is remembered."""
    return f"{client}\t{name}" if factor == "mold" else name


def memory_ratio(learned: Learned, factor: str, seen: Seen, cause: str, stage: str, base: float) -> float:
    """Return how many times likelier *cause* is for this mold or lot than for the shop at large.

    A cause that the mold or lot carries is judged over all its pours, the good ones as controls. Any other cause is
    judged, for a mold, among its bad parts; for a lot it isn't moved. The less molds differ in a cause, the more pours
    it takes to say anything.
    """
    within = learned.spread.get(factor, {}).get(cause, 0.0)
    if within <= 0.0:
        return 1.0
    worth, count = (1.0 - within) / within, seen.causes.get(cause, 0)
    if stage not in CARRIED[factor]:
        return (count + worth * base) / (seen.bad + worth) / base
    total = learned.all
    usual = base * max(total.bad, 1) / max(total.pours, 1)
    usual = (total.causes.get(cause, 0) + WORTH_BOOK * usual) / (total.pours + WORTH_BOOK)
    return (count + worth * usual) / (seen.pours + worth) / usual


class LinkedModels(ModelCache):
    """Models with learned links and results without a cause laid over the book, and the base rates of the book.

    *links*, *results*: factors as `Learned` has them.
    """

    def __init__(
        self,
        knowledge: Knowledge,
        links: Mapping[str, Mapping[str, float]],
        results: Mapping[str, Mapping[str, float]] | None = None,
    ) -> None:
        super().__init__(knowledge)
        self._overlay = Overlay(links=overlaid_links(knowledge, links))
        self._laid = with_results(knowledge, results or {})

    def of(self, case: Case) -> Model:
        """Return the model for the build and paint of *case*."""
        key = (case.build, case.painted)
        if key not in self._made:
            self._made[key] = Model(self._laid, *key, self._overlay)
        return self._made[key]


class LearnedModels(ModelCache):
    """Models with what was learned laid over the book, and what is remembered of the mold and lots that a case names.

    *linked*: the models to begin with, where they are there already.
    """

    def __init__(self, knowledge: Knowledge, learned: Learned, linked: ModelCache | None = None) -> None:
        super().__init__(knowledge)
        self.learned = learned
        self.learned_cases = learned.cases
        self._linked = linked or LinkedModels(knowledge, learned.links, learned.results)
        self._laid: dict[tuple[object, ...], Model] = {}
        self._rates: dict[str, dict[str, float]] = {}

    def of(self, case: Case) -> Model:
        """Return the model for *case*."""
        told = {key: str(getattr(case.about, key)) for key in ("client", *CARRIED)} if self.learned.memory else {}
        key = (case.build, case.painted, *told.values())
        if key not in self._laid:
            linked = self._linked.of(case)
            self._laid[key] = linked.with_base(self._remembered(self.base_rates(linked), told))
        return self._laid[key]

    def base_rates(self, book: Model) -> dict[str, float]:
        """Return the learned base rates in the context of *book*, without mold and lot."""
        context = context_of(book.build, book.painted)
        if context not in self._rates:
            factors = self.learned.base.get(context) or self.learned.base.get("", {})
            base = {name: moved(p, factors.get(name, 1.0)) for name, p in book.base.items() if name != NOT_LISTED}
            self._rates[context] = base
        return self._rates[context]

    def _remembered(self, rates: Mapping[str, float], told: Mapping[str, str]) -> dict[str, float]:
        """The base *rates*, moved by what is remembered of the mold and the lots that were *told*."""
        ratios: dict[str, float] = {}
        for factor, table in self.learned.memory.items():
            name = told[factor]
            seen = table.get(memory_key(factor, told["client"], name)) if name else None
            if seen is None:
                continue
            for cause in self.learned.spread.get(factor, {}):
                if cause in rates:
                    stage, base = self.knowledge.causes[cause].stage, rates[cause]
                    ratio = memory_ratio(self.learned, factor, seen, cause, stage, base)
                    ratios[cause] = ratios.get(cause, 1.0) * ratio
        moves = {cause: bounded(ratio, MOST_MEMORY) for cause, ratio in ratios.items()}
        return {name: round(moved(p, moves.get(name, 1.0)), 12) for name, p in rates.items()}


def overlaid_links(
    knowledge: Knowledge, factors: Mapping[str, Mapping[str, float]]
) -> Mapping[str, Mapping[str, float]]:
    """Return the links of the book that *factors* move, by cause and finding; what the book doesn't link stays
    unlinked.
    """
    found: dict[str, dict[str, float]] = {}
    for cause, table in factors.items():
        for finding, factor in table.items():
            p = book_link(knowledge, cause, finding)
            if p is not None:
                found.setdefault(cause, {})[finding] = moved(p, factor)
    return found


def with_results(knowledge: Knowledge, factors: Mapping[str, Mapping[str, float]]) -> Knowledge:
    """Return *knowledge* with the chances that its checks show a result without a cause moved by *factors*."""
    checks = dict(knowledge.checks)
    for name, table in factors.items():
        if name in checks:
            results = dict(checks[name].results)
            for result, factor in table.items():
                if result in results and result != checks[name].base:
                    chance = moved(book_result(knowledge, name, result), factor)
                    results[result] = results[result]._replace(background=chance)
            checks[name] = replace(checks[name], results=results)
    return replace(knowledge, checks=checks) if factors else knowledge


def book_result(knowledge: Knowledge, check: str, result: str) -> float:
    """Return the chance that *check* shows *result* without a cause, given that nothing more telling does, by the book;
    ordinary where it says nothing.
    """
    return knowledge.checks[check].results[result].background or knowledge.words["background"]["ordinary"]


def book_link(knowledge: Knowledge, cause: str, finding: str) -> float | None:
    """Return the chance that *cause* shows as *finding* by the book, None where the book doesn't link them."""
    question, _, result = finding.partition(":")
    entry = knowledge.causes.get(cause)
    if entry is None:
        return None
    link = entry.checks.get(question, {}).get(result) if result else entry.symptoms.get(question)
    return None if link is None else link.p


# -- what to think with -----------------------------------------------------------------------------------------------


def models_for(knowledge: Knowledge, where: Where | None = None, book: bool = False) -> ModelCache:
    """Return the models to think with: the book's, with what is in use for the log at *where* laid over unless *book*.

    Where that can't be read or is damaged, one line on standard error says so, and the book stands.
    """
    if book or where is None or where.off:
        return ModelCache(knowledge)
    from diagnose.logbook.in_use import in_use_or_book

    found = in_use_or_book(where)
    return ModelCache(knowledge) if found is None else LearnedModels(knowledge, found.learned)
