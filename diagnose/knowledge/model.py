"""The knowledge as the program holds it: immutable entries with numbers in place of words.

Built once from the files (`reader.py`) or from the cache (`cache.py`); both hand over the same plain data, which
`Knowledge.from_plain` turns into these objects. Nothing here reads files or knows a probability rule.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, NamedTuple

Plain = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Link:
    """An effect of a cause: the word written, its probability, and the mechanism."""

    word: str
    p: float
    why: str


@dataclass(frozen=True, slots=True)
class Symptom:
    """Something wrong with the part; *background* is its leak, *same_as* results of checks that are the same thing."""

    id: str
    family: str
    title: str
    help: str
    look: str
    confused_with: Mapping[str, str]
    background: float
    builds: tuple[str, ...]
    painted: bool | None
    minutes: float
    answerable: float
    same_as: tuple[tuple[str, str], ...]
    ask_when: Mapping[str, tuple[str, ...]]
    pointless: str
    words: tuple[str, ...]
    sources: tuple[str, ...]


class Doubt(NamedTuple):
    """What people say in good faith and are wrong in, what to ask instead, and the answers that it doubts (`round`: round numbers)."""

    said: str
    ask: str
    at: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Choice:
    """One answer to a question of choices; *share* is its part of the answers where no cause bears on it."""

    title: str
    share: float


@dataclass(frozen=True, slots=True)
class Fact:
    """What was done or measured. *typical* are (value, share) pairs that stand for the bands it is asked in.

    *error* is the standard error of a reading: absolute, or relative where *error_relative*. A derived fact is never asked.
    """

    id: str
    title: str
    short: str
    help: str
    find_out: str
    minutes: float
    answerable: float
    kind: str
    unit: str
    plausible: tuple[float, float] | None
    error: float
    error_relative: bool
    typical: tuple[tuple[float, float], ...]
    choices: Mapping[str, Choice]
    better_than: tuple[str, ...]
    doubt: Doubt | None
    pointless: str
    ask_when: Mapping[str, tuple[str, ...]]
    builds: tuple[str, ...]
    painted: bool | None
    words: tuple[str, ...]
    sources: tuple[str, ...]
    derived: bool
    needs: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Result:
    """One result of a check, its leak, and for a number the band [low, high)."""

    title: str
    background: float
    low: float | None
    high: float | None


@dataclass(frozen=True, slots=True)
class Check:
    """A look, a touch or a bench test. *results* run from mild to telling, with the base among them."""

    id: str
    title: str
    short: str
    help: str
    find_out: str
    minutes: float
    answerable: float
    kind: str
    unit: str
    plausible: tuple[float, float] | None
    error: float
    error_relative: bool
    in_hand: bool
    base: str
    results: Mapping[str, Result]
    doubt: Doubt | None
    pointless: str
    ask_when: Mapping[str, tuple[str, ...]]
    builds: tuple[str, ...]
    painted: bool | None
    words: tuple[str, ...]
    sources: tuple[str, ...]

    @property
    def telling(self) -> tuple[str, ...]:
        """The results other than the base, mild to telling."""
        return tuple(name for name in self.results if name != self.base)


@dataclass(frozen=True, slots=True)
class Evidence:
    """How a fact bears on a cause: a ratio for each choice named, or a curve of (value, ratio) points; *other* is the ratio where a `many`
    names only what does not bear on the cause."""

    choices: Mapping[str, float]
    curve: tuple[tuple[float, float], ...]
    why: Mapping[str, str]
    other: float = 1.0


@dataclass(frozen=True, slots=True)
class Cause:
    """What may have gone wrong. *base* is the relative weight of its word; links and evidence by id."""

    id: str
    title: str
    help: str
    mechanism: str
    stage: str
    base: float
    builds: tuple[str, ...]
    painted: bool | None
    opposite: str
    symptoms: Mapping[str, Link]
    checks: Mapping[str, Mapping[str, Link]]
    facts: Mapping[str, Evidence]
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Remedy:
    """What to do: for the next pour, for this part, or between pours; *fixes* by cause.

    Not to be offered while a danger of *never_with* stands, where an answer of *not_when* was given, or on a part out of the mold for
    longer than *until* (minutes; None: any age). What saves a part is offered only where one of *mends_damage* is seen.
    """

    id: str
    title: str
    do: str
    when: str
    minutes: float
    wait_minutes: float
    material: str
    fixes: Mapping[str, Link]
    verify: str
    caution: str
    sources: tuple[str, ...]
    never_with: tuple[str, ...] = ()
    until: float | None = None
    mends_damage: tuple[str, ...] = ()
    sets: Mapping[str, str] = field(default_factory=dict)
    not_when: Mapping[str, tuple[str, ...]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Lumps:
    """A lump that holds its heat: over *mass* (g) or *section* (mm), out of the mold for less than *age_under* (h), and its core not measured
    under *cool_under* (°C)."""

    mass: float
    section: float
    age_under: float
    cool_under: float


@dataclass(frozen=True, slots=True)
class Danger:
    """What must be said before everything else: *say* is what to do now, *why* what may happen.

    It stands where one of *symptoms* is seen, an answer of *answers* (checks and facts) is given, a number is above its value in *over*, or a
    lump is as *lumps* says. One without any of them is about the person, and *ask* is what the questionnaire asks.
    """

    id: str
    title: str
    say: str
    why: str
    ask: str
    symptoms: tuple[str, ...]
    answers: Mapping[str, tuple[str, ...]]
    over: Mapping[str, float]
    lumps: Lumps | None
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Source:
    """A standard, paper or handbook, what is taken from it and how much of it was read."""

    id: str
    title: str
    about: str
    seen: str


@dataclass(frozen=True, slots=True)
class Material:
    """A foam or skin system: free-rise density by ratio (kg/m^3 by parts A to 100 B) and times at *sheet_temperature*.

    Times in seconds, temperatures in °C, densities in kg/m^3; None where the sheet doesn't say.
    """

    id: str
    title: str
    help: str
    kind: str
    ratios: tuple[tuple[float, float], ...]
    values: Mapping[str, float]
    sources: tuple[str, ...]


class Span(NamedTuple):
    """The lowest, the usual and the highest of a number that shops go by."""

    low: float
    mid: float
    high: float


@dataclass(frozen=True, slots=True)
class Practice:
    """A number that shops go by, in *unit*: packing, a loss, a window. *by_build* where builds differ; of no known build the whole counts."""

    id: str
    about: str
    unit: str
    low: float
    mid: float
    high: float
    by_build: Mapping[str, Span]
    source: str
    bounds: Mapping[str, str] = field(default_factory=dict)

    def of(self, build: str | None) -> Span:
        """Return the span for *build* (None: not known)."""
        return self.by_build.get(build or "", Span(self.low, self.mid, self.high))


@dataclass(frozen=True, slots=True)
class Knowledge:
    """All of it, by id. `words` are the tables of numbers; *key* names the content."""

    symptoms: Mapping[str, Symptom]
    facts: Mapping[str, Fact]
    checks: Mapping[str, Check]
    causes: Mapping[str, Cause]
    remedies: Mapping[str, Remedy]
    dangers: Mapping[str, Danger]
    sources: Mapping[str, Source]
    materials: Mapping[str, Material]
    practice: Mapping[str, Practice]
    words: Mapping[str, Mapping[str, float]]
    warnings: tuple[str, ...]
    key: str

    @classmethod
    def from_plain(cls, plain: Plain, key: str) -> Knowledge:
        """Build from the compiled plain data of `reader.compile_folder`; *key* names its content."""
        words = plain["words"]
        return cls(
            symptoms={i: _symptom(i, e) for i, e in plain["symptoms"].items()},
            facts={i: _fact(i, e) for i, e in plain["facts"].items()},
            checks={i: _check(i, e) for i, e in plain["checks"].items()},
            causes={i: _cause(i, e) for i, e in plain["causes"].items()},
            remedies={i: _remedy(i, e) for i, e in plain["remedies"].items()},
            dangers={i: _danger(i, e) for i, e in plain["dangers"].items()},
            sources={i: Source(i, **e) for i, e in plain["sources"].items()},
            materials={i: _material(i, e) for i, e in plain["materials"].items()},
            practice={
                i: Practice(i, **{**e, "by_build": {b: Span(*s) for b, s in e["by_build"].items()}})
                for i, e in plain["practice"].items()
            },
            words=words,
            warnings=tuple(plain["warnings"]),
            key=key,
        )

    @property
    def hearing(self) -> Plain:
        """The index behind `diagnose hear`, made or read when it is first asked for."""
        from diagnose.knowledge.store import hearing_index

        return hearing_index(self)

    def question_kind(self, name: str) -> str | None:
        """Return `fact`, `check` or `symptom`, or None where *name* is no question."""
        if name in self.facts:
            return None if self.facts[name].derived else "fact"
        if name in self.checks:
            return "check"
        return "symptom" if name in self.symptoms else None

    def label(self, name: str) -> str:
        """Return the short name of a question, cause, remedy or derived fact, as a report prints it."""
        if name in self.facts:
            return self.facts[name].short
        if name in self.checks:
            return self.checks[name].short
        for table in (self.symptoms, self.causes, self.remedies, self.materials):
            if name in table:
                return str(table[name].title)
        return name

    def applies(self, name: str, build: str | None, painted: bool | None) -> bool:
        """Whether the entry *name* makes sense for this build and paint; unknown (None) leaves it in play."""
        entry: Any = self.symptoms.get(name) or self.facts.get(name) or self.checks.get(name) or self.causes.get(name)
        if build is not None and entry.builds and build not in entry.builds:
            return False
        return not (painted is not None and entry.painted is not None and entry.painted != painted)


def _tuples(plain: Plain, *names: str) -> Plain:
    return {name: tuple(plain[name]) for name in names}


def _conditions(plain: Plain, key: str = "ask_when") -> dict[str, tuple[str, ...]]:
    return {name: tuple(values) for name, values in plain[key].items()}


def _links(plain: Plain) -> dict[str, Link]:
    return {name: Link(*link) for name, link in plain.items()}


def _symptom(name: str, e: Plain) -> Symptom:
    same = tuple((check, result) for check, result in e["same_as"])
    return Symptom(
        **{**e, "id": name, "same_as": same, "ask_when": _conditions(e), **_tuples(e, "builds", "words", "sources")}
    )


def _asked(name: str, e: Plain) -> Plain:
    return {
        **e,
        "id": name,
        "ask_when": _conditions(e),
        "plausible": tuple(e["plausible"]) if e["plausible"] else None,
        "doubt": Doubt(e["doubt"][0], e["doubt"][1], tuple(e["doubt"][2])) if e["doubt"] else None,
        **_tuples(e, "builds", "words", "sources"),
    }


def _fact(name: str, e: Plain) -> Fact:
    choices = {key: Choice(*value) for key, value in e["choices"].items()}
    return Fact(
        **{
            **_asked(name, e),
            "choices": choices,
            "typical": tuple((v, s) for v, s in e["typical"]),
            "better_than": tuple(e["better_than"]),
            "needs": tuple(e["needs"]),
        }
    )


def _check(name: str, e: Plain) -> Check:
    return Check(**{**_asked(name, e), "results": {key: Result(*value) for key, value in e["results"].items()}})


def _cause(name: str, e: Plain) -> Cause:
    facts = {
        key: Evidence(v["choices"], tuple((x, r) for x, r in v["curve"]), v["why"], v["other"])
        for key, v in e["facts"].items()
    }
    checks = {key: _links(results) for key, results in e["checks"].items()}
    return Cause(
        **{
            **e,
            "id": name,
            "symptoms": _links(e["symptoms"]),
            "checks": checks,
            "facts": facts,
            **_tuples(e, "builds", "sources"),
        }
    )


def _remedy(name: str, e: Plain) -> Remedy:
    lists = _tuples(e, "never_with", "mends_damage", "sources")
    return Remedy(**{**e, "id": name, "fixes": _links(e["fixes"]), "not_when": _conditions(e, "not_when"), **lists})


def _danger(name: str, e: Plain) -> Danger:
    when = e["when"]
    return Danger(
        id=name,
        title=e["title"],
        say=e["say"],
        why=e["why"],
        ask=e["ask"],
        symptoms=tuple(when["symptoms"]),
        answers={**_conditions(when, "checks"), **_conditions(when, "facts")},
        over=dict(e["over"]),
        lumps=Lumps(**e["lumps"]) if e["lumps"] else None,
        sources=tuple(e["sources"]),
    )


def _material(name: str, e: Plain) -> Material:
    return Material(
        **{**e, "id": name, "ratios": tuple((a, b) for a, b in e["ratios"]), "sources": tuple(e["sources"])}
    )
