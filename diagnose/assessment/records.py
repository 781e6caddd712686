"""What a case comes to, as plain data: every conclusion is a record of ids and numbers, none of it is a word.

`assess` makes one `Assessment` of a case; the terminal, the page, the JSON, the pictures, the log and the client desk
show it and decide nothing. Ids are those of the knowledge. Chances are 0 to 1, times are minutes, weights are natural
logarithms of odds ratios. `to_plain` gives the whole as JSON data with its version, which is what the log keeps.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Literal

from msgspec import Struct

from diagnose.casebook.sheet_line import SheetLine

VERSION = 1

VerdictKind = Literal["nothing_seen", "none_fits", "too_little", "one", "both", "open"]
SaveVerdict = Literal["save", "cast_again", "leave_alone", "no_fault"]


class Verdict(Struct, frozen=True):
    """The headline: its *kind*, the causes that it names, and the
    chance of the first (of both together where kind is `both`).
    """

    kind: VerdictKind
    causes: tuple[str, ...]
    chance: float


class Evidence(Struct, frozen=True):
    """One answer as it bears on a cause.

    *weight*: how far the odds of the cause fall back without it (without it and *with_answers* together, where several
    answers stand in for one another). *mechanism*: why it bears on the cause, from the knowledge; empty where it bears
    only on a rival (*indirect*). *value* is None for what stands before any answer.
    """

    question: str
    value: str | float | tuple[str, ...] | None
    source: str
    written: str
    weight: float
    mechanism: str
    indirect: bool
    computed: bool
    sheet: str
    with_answers: tuple[str, ...] = ()


class Suspect(Struct, frozen=True):
    """A cause: the chance that it had a part in what is seen, that it held at all, and what speaks for and against it.

    *names_for*, *names_against*: the single answers of enough weight, strongest first, each weighed by itself; the
    evidence of the first few causes gathers answers that stand in for one another.
    """

    id: str
    probability: float
    present: float
    speaks_for: tuple[Evidence, ...]
    against: tuple[Evidence, ...]
    names_for: tuple[str, ...]
    names_against: tuple[str, ...]


class DangerFound(Struct, frozen=True):
    """A danger that stands in this case, and the answers that say so."""

    id: str
    because: tuple[str, ...]


class OutOfBounds(Struct, frozen=True):
    """A value measured or worked out that lies outside the practice numbers, and the causes that it speaks for."""

    name: str
    value: float
    unit: str
    low: float | None
    high: float | None
    causes: tuple[str, ...]
    measured: bool


class Computed(Struct, frozen=True):
    """A value worked out from raw answers, with its standard error and the sum in figures."""

    name: str
    value: float
    unit: str
    error: float
    sum: str
    inputs: tuple[str, ...]


class NextCheck(Struct, frozen=True):
    """Questions worth asking that serve one thing: *serves* is the sum they feed, or empty;
    *parts* the causes it moves most.
    """

    questions: tuple[str, ...]
    gain_bits: float
    minutes: float
    serves: str
    parts: tuple[str, ...]
    in_hand: bool
    changes_plan: bool


class Asked(Struct, frozen=True):
    """One question of the ranking, with its expected gain and minutes."""

    question: str
    gain_bits: float
    minutes: float


class Upset(Struct, frozen=True):
    """An open answer that would put *ahead* first (empty: nobody), by *lead*, and leave the first cause at *left*."""

    question: str
    value: str | float
    chance: float
    ahead: str
    left: float
    lead: float


class RemedyUse(Struct, frozen=True):
    """A remedy as it is used here: the causes it mends, likeliest first, each with the word of its link."""

    remedy: str
    mends: tuple[tuple[str, str], ...]


class Parting(Struct, frozen=True):
    """What the outcome of the one change tells: *good* is the cause if the part comes good,
    *bad* if the fault comes again.
    """

    good: str
    good_chance: float
    bad: str
    bad_chance: float


class Change(Struct, frozen=True):
    """What to do otherwise on the next pour: one remedy, or two where both causes are measured or seen.

    *causes*: what it is for. *chance*: that those of them which had a part are mended. *leaves*: a named cause that it
    leaves.
    """

    remedies: tuple[RemedyUse, ...]
    causes: tuple[str, ...]
    chance: float
    parting: Parting | None
    leaves: str


class Plan(Struct, frozen=True):
    """A set of remedies, when and for how many minutes (work and waiting) each,
    and the chance that all that had a part is mended.
    """

    remedies: tuple[RemedyUse, ...]
    when: tuple[str, ...]
    minutes: tuple[float, ...]
    success: float
    cost: float


class Save(Struct, frozen=True):
    """For the part in hand. *offered*: worth trying all the same where the verdict is to cast again. *chance*: that a
    cause which the first remedy is tried for had a part, and that all such are mended. *new_pour*: minutes of a new
    part."""

    verdict: SaveVerdict
    remedies: tuple[RemedyUse, ...]
    chance: float
    minutes: float
    offered: tuple[RemedyUse, ...]
    unsaved: tuple[str, ...]
    new_pour: float


class Tipping(Struct, frozen=True):
    """A number that would have to be otherwise for *rival* to come first:
    a base rate or a link, *factor* times in odds.
    """

    name: str
    effect: str
    rival: str
    now: float
    value: float
    factor: float


class Robustness(Struct, frozen=True):
    """How firm the first place is: answers without any one of which another cause is first (with that cause),
    the nearest numbers.
    """

    decisive: tuple[tuple[Evidence, str], ...]
    tipping: tuple[Tipping, ...]


class Doubt(Struct, frozen=True):
    """The answer least in keeping with the others: *times* less likely beside them than alone;
    *shows_in* the sum it feeds, or empty.
    """

    evidence: Evidence
    times: float
    shows_in: str


class Weights(Struct, frozen=True):
    """The weight of each answer on one cause in whole points that add up;
    the first entry is what stands before any answer.
    """

    cause: str
    steps: tuple[tuple[Evidence, int], ...]
    few: int
    few_points: int
    total: int


class Account(Struct, frozen=True):
    """A *symptom* seen and the *cause* likeliest to have had a part in it, with the *probability* of that."""

    symptom: str
    cause: str
    probability: float


class Warning(Struct, frozen=True):
    """What a reader should know of how the result was got: *code* names the kind, *about* the answer or sum,
    *text* the whole.
    """

    code: str
    about: str
    text: str


class Assessment(Struct, frozen=True):
    """One case, everything concluded. *knowledge* is the key of its content,
    *learned* from how many cases of a log it was moved.

    *robustness*, *doubt*, *upsets* and *weights* are there only where they were asked for."""

    version: int
    knowledge: str
    learned: int | None
    title: str
    about: tuple[tuple[str, str], ...]
    build: str | None
    painted: bool | None
    symptoms: tuple[str, ...]
    told: int
    unknown: int
    verdict: Verdict
    dangers: tuple[DangerFound, ...]
    out_of_bounds: tuple[OutOfBounds, ...]
    causes: tuple[Suspect, ...]
    unexplained: float
    accounts: tuple[Account, ...]
    next: tuple[Asked, ...]
    checks: tuple[NextCheck, ...]
    settled: bool
    change: Change | None
    save: Save | None
    plan: Plan | None
    sheet: tuple[SheetLine, ...]
    computed: tuple[Computed, ...]
    warnings: tuple[Warning, ...]
    upsets: tuple[Upset, ...] = ()
    robustness: Robustness | None = None
    doubt: Doubt | None = None
    weights: Weights | None = None
    left_aside: tuple[str, ...] = ()

    def to_plain(self) -> dict[str, Any]:
        """Return all of it as JSON data: mappings, lists, text, numbers and None."""
        return {name: _plain(getattr(self, name)) for name in self.__struct_fields__}


def _plain(value: Any) -> Any:
    if isinstance(value, Struct):
        return {name: _plain(getattr(value, name)) for name in value.__struct_fields__}
    if isinstance(value, Mapping):
        return {key: _plain(item) for key, item in value.items()}
    return [_plain(item) for item in value] if isinstance(value, tuple | list) else value
