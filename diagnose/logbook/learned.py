"""What a shop's log has taught, laid over the book: read from one small file, without the database.

The book is never edited. Base rates and links are kept as factors on the odds of the book, so that a better book stays
better; molds and lots are kept as counts, from which a likelihood ratio for each cause follows when a case names them.
Every factor is held within stated bounds, so that no log can drown an observation.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from hashlib import sha256
from pathlib import Path
from typing import Any

from diagnose.assessment.consultation import ModelCache
from diagnose.casebook import Case
from diagnose.errors import InputError
from diagnose.knowledge import Knowledge
from diagnose.logbook.places import Where, default_file
from diagnose.reasoning.network import NOT_LISTED, Model, Overlay

FORMAT = 1
#: the odds of a base rate, of a link and of a mold or lot are moved at most so many times, up or down
MOST_BASE, MOST_LINK, MOST_MEMORY = 8.0, 4.0, 8.0
#: pours of the whole shop that the book's rate of a cause is worth, where all pours count
WORTH_BOOK = 20.0
#: stages whose causes a mold or a lot carries from pour to pour, so that its good pours speak against them
CARRIED = {
    "mold": ("mold_design", "mold_preparation"),
    "lot_a": ("material",),
    "lot_b": ("material",),
}


@dataclass(frozen=True, slots=True)
class Seen:
    """What was poured with one mold or lot: *pours* in all, the *bad* ones, and in how many each cause had a part."""

    pours: int = 0
    bad: int = 0
    causes: Mapping[str, int] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Learned:
    """What was learned from so many confirmed *cases*.

    *base*: factor on the odds of a cause by context (`bare_foam/no`; `` for all); *links*: factor on the odds of a link
    by cause and symptom; *all*: all pours of the shop; *memory*: by factor, then by client and name; *spread*: by
    factor and cause, how much its rate differs between molds or lots (correlation within one).
    """

    cases: int = 0
    knowledge: str = ""
    base: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    links: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    all: Seen = field(default_factory=Seen)
    memory: Mapping[str, Mapping[str, Seen]] = field(default_factory=dict)
    spread: Mapping[str, Mapping[str, float]] = field(default_factory=dict)

    def without_memory(self) -> Learned:
        """Return it without what is remembered of molds and lots."""
        return replace(self, memory={}, spread={})

    def to_plain(self) -> dict[str, Any]:
        """Return it as JSON data."""
        return {
            "learned": FORMAT,
            "cases": self.cases,
            "knowledge": self.knowledge,
            "base": self.base,
            "links": self.links,
            "all": _seen_plain(self.all),
            "memory": {f: {name: _seen_plain(s) for name, s in table.items()} for f, table in self.memory.items()},
            "spread": self.spread,
        }

    @classmethod
    def from_plain(cls, plain: Mapping[str, Any]) -> Learned:
        """Build from the data of `to_plain`. Raises KeyError, TypeError or ValueError where they are none."""
        if plain["learned"] != FORMAT:
            raise ValueError("another format")
        memory = {f: {name: _seen(s) for name, s in table.items()} for f, table in plain["memory"].items()}
        return cls(
            int(plain["cases"]),
            str(plain["knowledge"]),
            plain["base"],
            plain["links"],
            _seen(plain["all"]),
            memory,
            plain["spread"],
        )


def _seen_plain(seen: Seen) -> list[Any]:
    return [seen.pours, seen.bad, dict(seen.causes)]


def _seen(plain: Any) -> Seen:
    pours, bad, causes = plain
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


class LearnedModels(ModelCache):
    """Models with what was learned laid over the book, and
    what is remembered of the mold and lots that a case names.
    """

    def __init__(self, knowledge: Knowledge, learned: Learned) -> None:
        super().__init__(knowledge)
        self.learned = learned
        self.learned_cases = learned.cases
        self._laid: dict[tuple[object, ...], Model] = {}

    def of(self, case: Case) -> Model:
        """Return the model for *case*."""
        told = {key: str(getattr(case.about, key)) for key in ("client", *CARRIED)}
        key = (case.build, case.painted, *told.values())
        if key not in self._laid:
            book = super().of(case)
            self._laid[key] = Model(self.knowledge, case.build, case.painted, self._overlay(book, told))
        return self._laid[key]

    def _overlay(self, book: Model, told: Mapping[str, str]) -> Overlay:
        base = self.base_rates(book)
        for name in base:
            base[name] = moved(base[name], self._remembered(name, base[name], told))
        links = {
            cause: {
                s: moved(book.causes[cause].symptoms[s].p, f)
                for s, f in table.items()
                if s in book.causes[cause].symptoms
            }
            for cause, table in self.learned.links.items()
            if cause in book.causes
        }
        return Overlay({name: round(p, 12) for name, p in base.items()}, links)

    def base_rates(self, book: Model) -> dict[str, float]:
        """Return the learned base rates in the context of *book*, without mold and lot."""
        context = context_of(book.build, book.painted)
        factors = self.learned.base.get(context) or self.learned.base.get("", {})
        return {name: moved(p, factors.get(name, 1.0)) for name, p in book.base.items() if name != NOT_LISTED}

    def _remembered(self, cause: str, base: float, told: Mapping[str, str]) -> float:
        ratio, stage = 1.0, self.knowledge.causes[cause].stage
        for factor in CARRIED:
            seen = self.learned.memory.get(factor, {}).get(memory_key(factor, told["client"], told[factor]))
            if told[factor] and seen is not None:
                ratio *= memory_ratio(self.learned, factor, seen, cause, stage, base)
        return bounded(ratio, MOST_MEMORY)


# -- the file ---------------------------------------------------------------------------------------------------------


def learned_file(where: Where) -> Path:
    """Return where what was learned from the log at *where* is kept: beside its file, or in the user's data folder."""
    if where.file is not None:
        return where.file.with_name(f"{where.file.name}.learned.json")
    return default_file().with_name(f"learned-{sha256(where.url.encode()).hexdigest()[:12]}.json")


def in_use(where: Where) -> Learned | None:
    """Return what is in use for the log at *where*, or None where the book alone is.
    Raises InputError where the file is none.
    """
    path = learned_file(where)
    try:
        body, _, check = path.read_bytes().partition(b"\n")
    except FileNotFoundError:
        return None
    except OSError as error:
        raise InputError(f"{path}: can't be read: {error.strerror or error}") from None
    try:
        if check and check != _check(body):  # a file of an earlier version has none
            raise ValueError("not as it was written")
        return Learned.from_plain(json.loads(body))
    except (KeyError, TypeError, ValueError, AttributeError, OverflowError, RecursionError):
        raise InputError(f"{path}: is damaged; go back to the book by: diagnose log learn --forget") from None


def file_text(content: str) -> str:
    """Return what stands in the file: *content*, one line of JSON, and its checksum."""
    return f"{content}\n{_check(content.encode()).decode()}"


def _check(body: bytes) -> bytes:
    return f"{sha256(body).hexdigest()}\n".encode()


def models_for(knowledge: Knowledge, where: Where | None = None, book: bool = False) -> ModelCache:
    """Return the models to think with: those of the book, with what
    is in use for the log at *where* laid over them unless *book*.
    """
    learned = None if book or where is None or where.off else in_use(where)
    return ModelCache(knowledge) if learned is None else LearnedModels(knowledge, learned)
