"""The knowledge as the program holds it: immutable entries, each field declared once with the kind that reads it.

The annotation of a field (`kinds.py`) says what stands in the files; reading, checking, JSON Schema and cache follow
from it. A field marked `Computed` is worked out by `compile.py`. Nothing here reads files or knows a probability rule.
"""

# no postponed annotations: the kinds are read from them

from collections.abc import Mapping
from typing import Annotated, ClassVar, NamedTuple

from msgspec import Struct, field

from diagnose.knowledge.kinds import (
    COMMON_PRACTICE,
    ErrorBar,
    Id,
    Link,
    Number,
    OneOf,
    Quantity,
    ReadingError,
    Reasoned,
    Text,
    UnitName,
    Word,
    YesNo,
)
from diagnose.knowledge.records import (
    Bounds,
    CheckResults,
    Limits,
    ListById,
    ListOf,
    Made,
    MapOf,
    Points,
    Record,
    declared,
)

BUILDS = ("bare_foam", "skin_and_foam")
FAMILIES = ("poor_skin", "unfilled_ears", "voids", "tacky_surface", "paint_peeling", "delaminated_skin", "other")
STAGES = (
    "material",
    "mixing",
    "mold_design",
    "mold_preparation",
    "pouring",
    "cure",
    "skin_coat",
    "painting",
    "environment",
)
NEXT_POUR, THIS_PART, BETWEEN_POURS = "next_pour", "this_part", "between_pours"

_TITLE = Text("A name under 70 characters, in the trade's words", 70)
_HELP = Text("What it means, in plain words")
_ANSWERS = ListOf(Text("an answer", 60), least=1)
_OF_NUMBERS = ("unit", "plausible", "typical", "error")

Curve = tuple[tuple[float, float], ...]
Sources = Annotated[
    tuple[str, ...], ListOf(Id("sources"), "Where it comes from; common practice where nothing is said", 1)
]
Builds = Annotated[tuple[str, ...], ListOf(OneOf(BUILDS), "Only on these builds", 1)]
Painted = Annotated[bool | None, YesNo("Only on a painted (yes) or an unpainted (no) part")]
Minutes = Annotated[float, Number(0, 10000, "Minutes of effort")]
_OURS = (COMMON_PRACTICE,)
_NO_ERROR = ErrorBar()


class Keys(NamedTuple):
    """Keys that go with one kind of question: those that it must have, and those that it may not have."""

    needed: tuple[str, ...]
    refused: tuple[str, ...]


class Doubt(NamedTuple):
    """What people say in good faith and wrongly, what to ask instead, and the answers that it doubts (`round`:
    round numbers).
    """

    said: Annotated[str, Text("what people say in good faith")]
    ask: Annotated[str, Text("what to ask instead")]
    at: Annotated[tuple[str, ...], ListOf(Text("an answer, or `round` for a round number", 60), least=1)] = ()


class Question(Struct, frozen=True, kw_only=True):
    """What a symptom, a fact and a check share: something that can be asked and answered.

    *pointless* says when there is no point in asking, *always_ask* why there always is one: one of them stands. It is
    asked only where each answer named in *ask_when*, if given, is one of these; `seen` names symptoms and families of
    which one must be seen.
    """

    id: str = ""
    title: Annotated[str, Text("The question as it is asked", 140)]
    help: Annotated[str, _HELP]
    minutes: Minutes
    answerable: Annotated[float, Word("answerable")]
    pointless: Annotated[str, Text("When there is no point in asking: 'when ...'")] = ""
    always_ask: Annotated[str, Text("Why it is never pointless to ask")] = ""
    ask_when: Annotated[
        Mapping[str, tuple[str, ...]],
        MapOf(
            ListOf(Text("an answer, or the name of a group", 60), least=1, alone=True),
            "facts",
            "checks",
            "seen",
            about="Asked only where each named answer, if given, is one of these",
        ),
    ] = field(default_factory=dict)
    builds: Builds = ()
    painted: Painted = None
    sources: Sources = _OURS


class Symptom(Question, frozen=True, kw_only=True):
    """Something wrong with the part; *background* is its leak, *same_as* results of checks that are the same thing."""

    title: Annotated[str, _TITLE]
    family: Annotated[str, OneOf(FAMILIES)]
    look: Annotated[str, Text("How to make sure")]
    confused_with: Annotated[Mapping[str, str], MapOf(Text("how to tell them apart"), "symptoms")] = field(
        default_factory=dict
    )
    background: Annotated[float, Word("background")]
    same_as: Annotated[tuple[tuple[str, str], ...], CheckResults()] = ()

    #: how it is answered; it has no unit, and nobody names it in good faith and wrongly
    kind: ClassVar[str] = "symptom"
    unit: ClassVar[str] = ""
    doubt: ClassVar[Doubt | None] = None

    @property
    def short(self) -> str:
        """The name in a line of a report."""
        return self.title

    @property
    def find_out(self) -> str:
        """How to make sure in two minutes."""
        return self.look

    @property
    def options(self) -> Mapping[str, str]:
        """The answers by their id, in words."""
        return {"seen": "seen", "absent": "looked for, not there"}


class _Asked(Question, frozen=True, kw_only=True):
    """What a fact and a check share. *plausible* are the lowest and the highest believable value of a number."""

    short: Annotated[str, _TITLE]
    find_out: Annotated[str, Text("How to find out in two minutes")]
    kind: Annotated[str, OneOf(("number", "choice", "yes_no", "many", "id"))]
    unit: Annotated[str, UnitName()] = ""
    plausible: Annotated[tuple[float, float] | None, Bounds()] = None
    error_bar: Annotated[ErrorBar, ReadingError(), "error"] = _NO_ERROR
    doubt: Annotated[Doubt | None, Record(Doubt, "An answer given in good faith and often wrong")] = None

    @property
    def error(self) -> float:
        """The standard error of a reading, in the unit or as a part of it."""
        return self.error_bar.size

    @property
    def error_relative(self) -> bool:
        """Whether *error* is a part of the reading."""
        return self.error_bar.relative


class Choice(NamedTuple):
    """One answer to a question of choices; *share* is its part of the answers where no cause bears on it."""

    title: Annotated[str, _TITLE] = ""
    share: Annotated[float, Word("share")] = 0.0


class Fact(_Asked, frozen=True, kw_only=True):
    """What was done or measured. *typical* are (value, share) pairs that stand for the bands it is asked in.

    A derived fact is worked out from *needs* and never asked. The facts of *better_than* read the same less directly.
    """

    typical: Annotated[
        Curve, Points(Word("share"), "values where nothing is wrong, with how common they are", 2, shares=True)
    ] = ()
    choices: Annotated[
        Mapping[str, Choice],
        MapOf(
            Record(Choice, "an answer; yes and no by their share alone", needed=("share",), alone="share"),
            about="the answers",
            least=2,
        ),
    ] = field(default_factory=dict)
    better_than: Annotated[
        tuple[str, ...], ListOf(Id("facts"), "Facts that read the same less directly, most direct first")
    ] = ()
    needs: Annotated[tuple[str, ...], ListOf(Id("facts"), "What it can't be worked out without", 1)] = ()
    derived: bool = False

    #: keys that each kind of question must have, and those that it may not have
    GOES_WITH: ClassVar[Mapping[str, Keys]] = {
        "number": Keys(_OF_NUMBERS, ("choices",)),
        **dict.fromkeys(("choice", "many", "yes_no"), Keys(("choices",), _OF_NUMBERS)),
        "id": Keys((), (*_OF_NUMBERS, "choices")),
    }

    @property
    def options(self) -> Mapping[str, str]:
        """The answers by their id, in words; none for a number."""
        return {name: choice.title for name, choice in self.choices.items()}


class Result(NamedTuple):
    """One result of a check, its leak, and for a number the band [low, high)."""

    title: Annotated[str, _TITLE]
    background: Annotated[float, Word("background")] = 0.0
    low: Annotated[float | None, Quantity("lowest"), "from"] = None
    high: Annotated[float | None, Quantity("highest"), "to"] = None


class Check(_Asked, frozen=True, kw_only=True):
    """A look, a touch or a bench test. *results* run from mild to telling, with the base among them."""

    in_hand: Annotated[bool, YesNo("Can be done with what is on the bench")]
    base: Annotated[str, Text("What shows when no listed cause acts", 40)]
    results: Annotated[Mapping[str, Result], ListById(Record(Result), "from mild to telling", 2)]

    GOES_WITH: ClassVar[Mapping[str, Keys]] = {
        "number": Keys(("unit", "plausible", "error"), ()),
        **dict.fromkeys(("choice", "many"), Keys((), ("unit", "plausible", "error"))),
    }

    @property
    def telling(self) -> tuple[str, ...]:
        """The results other than the base, mild to telling."""
        return tuple(name for name in self.results if name != self.base)

    @property
    def options(self) -> Mapping[str, str]:
        """The results by their id, in words."""
        return {name: result.title for name, result in self.results.items()}


class Evidence(NamedTuple):
    """How a fact bears on a cause: what was *said* of each answer, and from it a ratio for each choice, or a *curve* of
    (value, ratio) points; *other* is the ratio where a `many` names only what does not bear on the cause."""

    said: Mapping[str, Link]
    choices: Mapping[str, float] = {}
    curve: Curve = ()
    other: float = 1.0

    @property
    def why(self) -> Mapping[str, str]:
        """The mechanism of each answer that has one."""
        return {answer: link.why for answer, link in self.said.items() if link.why}


class Cause(Struct, frozen=True, kw_only=True):
    """What may have gone wrong. *base* is the relative weight of its word; links and evidence by id."""

    id: str = ""
    title: Annotated[str, _TITLE]
    help: Annotated[str, _HELP]
    mechanism: Annotated[str, Text("How it does the damage, in two lines", 500)]
    stage: Annotated[str, OneOf(STAGES)]
    base: Annotated[float, Word("share", "How common in bad parts")]
    builds: Builds = ()
    painted: Painted = None
    opposite: Annotated[str, Id("causes")] = ""
    symptoms: Annotated[Mapping[str, Link], MapOf(Reasoned("likelihood"), "symptoms")] = field(default_factory=dict)
    checks: Annotated[Mapping[str, Mapping[str, Link]], MapOf(MapOf(Reasoned("likelihood")), "checks")] = field(
        default_factory=dict
    )
    facts: Annotated[
        Mapping[str, Evidence],
        MapOf(Made(MapOf(Reasoned("ratio", False), about="answer or value: word", least=1), Evidence), "facts"),
    ] = field(default_factory=dict)
    sources: Sources = _OURS


class Remedy(Struct, frozen=True, kw_only=True):
    """What to do: for the next pour, for this part, or between pours; *fixes* by cause.

    Not to be offered while a danger of *never_with* stands, where an answer of *not_when* was given, or on a part out
    of the mold for longer than *until* (minutes; None: any age). What saves a part is offered only where one of
    *mends_damage* is seen.
    """

    id: str = ""
    title: Annotated[str, _TITLE]
    do: Annotated[str, Text("What to do, with numbers")]
    when: Annotated[str, OneOf((NEXT_POUR, THIS_PART, BETWEEN_POURS))]
    minutes: Minutes
    wait_minutes: Annotated[float, Number(0, 100000, "Minutes of waiting")] = 0.0
    material: Annotated[str, OneOf(("none", "little", "a pour", "a mold"))]
    fixes: Annotated[
        Mapping[str, Link],
        MapOf(Reasoned("likelihood"), "causes", about="What it mends, how surely and why", least=1),
    ]
    verify: Annotated[str, Text("How to see that it worked")]
    caution: Annotated[str, Text("The usual caution")] = ""
    sources: Sources = _OURS
    never_with: Annotated[tuple[str, ...], ListOf(Id("dangers"), "Dangers under which it must not be offered", 1)] = ()
    until: Annotated[float | None, Quantity("how old the part may be, since demold", "min")] = None
    mends_damage: Annotated[
        tuple[str, ...],
        ListOf(Id("symptoms"), "For this_part: the damage it mends; offered only where one of these is seen", 1),
    ] = ()
    sets: Annotated[
        Mapping[str, str], MapOf(Id("practice"), "facts", about="Facts that it brings to a practice number", least=1)
    ] = field(default_factory=dict)
    not_when: Annotated[
        Mapping[str, tuple[str, ...]],
        MapOf(_ANSWERS, "facts", "checks", "symptoms", about="Not offered where one of these was answered", least=1),
    ] = field(default_factory=dict)


class Lumps(NamedTuple):
    """A lump that holds its heat: over *mass* (g) or *section* (mm), out of the mold for less than *age_under* (h),
    and its core not measured under *cool_under* (°C)."""

    mass: Annotated[float, Quantity("mass of the lump", "g")]
    section: Annotated[float, Quantity("thickest section", "mm")]
    age_under: Annotated[float, Quantity("time since demold", "h")]
    cool_under: Annotated[float, Quantity("a core measured under this is known to be cool", "degC")]


class When(Struct, frozen=True, kw_only=True):
    """What one of must be seen, found or told."""

    symptoms: Annotated[tuple[str, ...], ListOf(Id("symptoms"), "One of these is seen", 1)] = ()
    checks: Annotated[
        Mapping[str, tuple[str, ...]], MapOf(_ANSWERS, "checks", about="One of these results", least=1)
    ] = field(default_factory=dict)
    facts: Annotated[Mapping[str, tuple[str, ...]], MapOf(_ANSWERS, "facts", about="One of these answers", least=1)] = (
        field(default_factory=dict)
    )


class Danger(Struct, frozen=True, kw_only=True):
    """What must be said before everything else: *say* is what to do now, *why* what may happen.

    It stands where one of *symptoms* is seen, an answer of *answers* (checks and facts) is given, a number is above its
    value in *over*, or a lump is as *lumps* says. One without any of them is about the person, and *ask* is what the
    questionnaire asks.
    """

    id: str = ""
    title: Annotated[str, _TITLE]
    say: Annotated[str, Text("What to do now, in short imperative sentences: the first line of every output", 400)]
    why: Annotated[str, Text("What may happen, and why")]
    ask: Annotated[str, Text("What the questionnaire asks outright, where no answer of the case can tell", 400)] = ""
    when: Annotated[When, Record(When)] = When()
    over: Annotated[
        Mapping[str, float], Limits("facts", "checks", about="Stands where the number is above this", least=1)
    ] = field(default_factory=dict)
    lumps: Annotated[
        Lumps | None,
        Record(
            Lumps, "A lump over the mass or the section, younger than this (or of unknown age) and not known to be cool"
        ),
    ] = None
    sources: Sources = _OURS

    @property
    def symptoms(self) -> tuple[str, ...]:
        """The symptoms of which one must be seen."""
        return self.when.symptoms

    @property
    def answers(self) -> Mapping[str, tuple[str, ...]]:
        """The answers of checks and facts of which one must be given."""
        return {**self.when.checks, **self.when.facts}


class Source(Struct, frozen=True, kw_only=True):
    """A standard, paper or handbook, what is taken from it and how much of it was read."""

    id: str = ""
    title: Annotated[str, Text("Standard, paper or handbook", 300)]
    about: Annotated[str, Text("what is taken from it")]
    seen: Annotated[str, Text("how much of it was read", 200)]


def _time(about: str) -> Quantity:
    return Quantity(about, "s", positive=True)


def _density(about: str) -> Quantity:
    return Quantity(about, "kg/m^3", positive=True)


class Material(Struct, frozen=True, kw_only=True):
    """A foam or skin system: free-rise density by ratio (kg/m^3 by parts A to 100 B) and times at *sheet_temperature*.

    Times in seconds, temperatures in °C, densities in kg/m^3; None where the sheet doesn't say.
    """

    id: str = ""
    title: Annotated[str, _TITLE]
    help: Annotated[str, _HELP]
    kind: Annotated[str, OneOf(("foam", "skin"))]
    ratios: Annotated[
        Curve,
        Points(
            _density("free-rise density"),
            "parts of A to 100 of B by weight: free-rise density",
            unit="parts_a_per_100_b",
        ),
    ] = ()
    density_a: Annotated[float | None, _density("density of A")] = None
    density_b: Annotated[float | None, _density("density of B")] = None
    density: Annotated[float | None, _density("density when cured")] = None
    sheet_temperature: Annotated[float, Quantity("temperature of the times", "degC")]
    cream_time: Annotated[float | None, _time("cream time")] = None
    gel_time: Annotated[float | None, _time("gel time")] = None
    rise_time: Annotated[float | None, _time("end of rise")] = None
    demold_time: Annotated[float | None, _time("demold time")] = None
    window_opens: Annotated[float | None, _time("earliest foam on this skin")] = None
    window_closes: Annotated[float | None, _time("latest foam on this skin")] = None
    paint_after: Annotated[float | None, _time("earliest paint")] = None
    sources: Sources = _OURS

    @property
    def values(self) -> Mapping[str, float]:
        """The single numbers that the sheet gives, by name."""
        told = {name: getattr(self, name) for name in _SINGLE_NUMBERS}
        return {name: value for name, value in told.items() if value is not None}


_SINGLE_NUMBERS = tuple(name for name, each in declared(Material).items() if isinstance(each.kind, Quantity))


class Span(NamedTuple):
    """The lowest, the usual and the highest of a number that shops go by."""

    low: float
    mid: float
    high: float


class Ends(Struct, frozen=True, kw_only=True):
    """A span as it is written: one *value*, or *low* and *high* and perhaps *mid*; nothing where builds differ."""

    value: Annotated[float | None, Quantity("the number, with its unit")] = None
    low: Annotated[float | None, Quantity("the lowest in use")] = None
    mid: Annotated[float | None, Quantity("the usual one; the middle where it is left out")] = None
    high: Annotated[float | None, Quantity("the highest in use")] = None

    def span(self) -> Span | None:
        """Return what is written as a span, None where it says none."""
        if self.value is not None:
            return Span(self.value, self.value, self.value) if (self.low, self.mid, self.high) == (None,) * 3 else None
        if self.low is None or self.high is None:
            return None
        span = Span(self.low, (self.low + self.high) / 2 if self.mid is None else self.mid, self.high)
        return span if span.low <= span.mid <= span.high else None


class WrittenPractice(Ends, frozen=True, kw_only=True):
    """A number that shops go by, as it is written: `compile.py` makes a `Practice` of it."""

    about: Annotated[str, Text("What the number is, in a phrase")] = ""
    unit: Annotated[str, UnitName()] = ""
    by_build: Annotated[
        Mapping[str, Ends], MapOf(Record(Ends, alone="value"), about="where builds differ: a value or a span each")
    ] = field(default_factory=dict)
    bounds: Annotated[
        Mapping[str, str],
        MapOf(OneOf(("low", "high", "both")), "facts", about="Facts that it bounds, and at which end"),
    ] = field(default_factory=dict)
    source: Annotated[str, Text("source, or 'common practice', or 'our own, no source'", 300)] = COMMON_PRACTICE


class Practice(Struct, frozen=True):
    """A number that shops go by, in *unit*: packing, a loss, a window. *by_build* where builds differ."""

    id: str
    about: str
    unit: str
    low: float
    mid: float
    high: float
    by_build: Mapping[str, Span]
    source: str = COMMON_PRACTICE
    bounds: Mapping[str, str] = field(default_factory=dict)

    def of(self, build: str | None) -> Span:
        """Return the span for *build* (None: not known, the whole)."""
        return self.by_build.get(build or "", Span(self.low, self.mid, self.high))


AnyQuestion = Symptom | Fact | Check


class Knowledge(Struct, frozen=True):
    """All of it, by id. `words` are the tables of numbers.

    *content_key* is the SHA-256 of the files in use, the shop's own among them; *cache_key* names what this program
    made of them. *folder* is the knowledge folder as it was named, None for the default one.
    """

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
    warnings: tuple[str, ...] = ()
    content_key: str = ""
    cache_key: str = ""
    folder: str | None = None

    def question(self, name: str) -> AnyQuestion:
        """Return the fact (derived ones among them), check or symptom *name*. Raises KeyError."""
        found = self.facts.get(name) or self.checks.get(name)
        return self.symptoms[name] if found is None else found

    def question_kind(self, name: str) -> str | None:
        """Return `fact`, `check` or `symptom`, or None where *name* is no question that is asked."""
        if name in self.facts:
            return None if self.facts[name].derived else "fact"
        if name in self.checks:
            return "check"
        return "symptom" if name in self.symptoms else None

    def label(self, name: str) -> str:
        """Return the short name of a question, cause, remedy or derived fact, as a report prints it."""
        if name in self.facts or name in self.checks:
            return self.question(name).short
        for table in (self.symptoms, self.causes, self.remedies, self.materials):
            if name in table:
                return str(table[name].title)
        return name

    def applies(self, name: str, build: str | None, painted: bool | None) -> bool:
        """Whether the question or cause *name* makes sense for this build and paint;
        unknown (None) leaves it in play.
        """
        entry = self.causes[name] if name in self.causes else self.question(name)
        if build is not None and entry.builds and build not in entry.builds:
            return False
        return not (painted is not None and entry.painted is not None and entry.painted != painted)
