"""What the log keeps of a part, as frozen records, and how a case becomes one.

This is the one module of the log that knows what a case and an assessment look like; all others work on these records.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Mapping
from datetime import date
from typing import TYPE_CHECKING, Any

from msgspec import Struct, field
from msgspec.structs import replace

from diagnose.errors import FileFaults, InputError, shown
from diagnose.reasoning.answers import SEEN, Answer

if TYPE_CHECKING:
    from diagnose.casebook import Case
    from diagnose.knowledge import Knowledge

HOW = ("looked", "tested", "fixed", "opinion")
NEXT = ("good", "bad", "not_poured")
#: what is kept of a ranking in the row of a case and in an export
SAID = 5
#: a ratio error beyond this, in percent, is called much or little A
ON_TARGET = 2.0
_DAY = re.compile(r"\d{4}-\d{2}-\d{2}(?![0-9])")
_LONGEST = 200
#: so that the sum over a log of any length stays a number
_MOST_COST = 1e12


class About(Struct, frozen=True):
    """What is told about a part beside its answers. *date* is a day as 2026-03-02 or empty;
    *photos* are names as given.
    """

    date: str = ""
    part: str = ""
    mold: str = ""
    lot_a: str = ""
    lot_b: str = ""
    person: str = ""
    client: str = ""
    photos: tuple[str, ...] = ()


class Said(Struct, frozen=True):
    """What was said of a case when it was logged: the likeliest causes with their chances (0 to 1),
    and by which knowledge.
    """

    knowledge: str = ""
    causes: tuple[tuple[str, float], ...] = ()

    @property
    def first(self) -> tuple[str, float | None]:
        """The cause that was first and its chance, or an empty id where nothing was to be explained."""
        return self.causes[0] if self.causes else ("", None)


class Outcome(Struct, frozen=True):
    """What a fault turned out to be: *causes* by id, *how* that is known, whether the *next* part was good,
    what was tried.

    *cost* of the fault in the shop's own money, None where nobody told; *date* is a day or empty.
    """

    causes: tuple[str, ...]
    how: str
    next: str
    remedies: tuple[str, ...] = ()
    cost: float | None = None
    date: str = ""

    def to_plain(self) -> dict[str, Any]:
        """Return it as it stands in an export."""
        return {
            "causes": list(self.causes),
            "how": self.how,
            "next": self.next,
            "remedies": list(self.remedies),
            "cost": self.cost,
            "date": self.date or None,
        }


class Entry(Struct, frozen=True):
    """A part as it goes into the log. *case* is the case file as JSON data;
    *answers* are (question, value, source), known ones only.
    """

    case: Mapping[str, Any]
    title: str
    about: About
    build: str
    painted: str
    symptoms: tuple[str, ...]
    answers: tuple[tuple[str, str, str], ...]
    good: bool
    ratio_error: float | None
    said: Said = field(default_factory=Said)
    assessment: Mapping[str, Any] | None = None

    @property
    def ratio(self) -> str:
        """The ratio as Monday's page groups it, empty where it isn't known."""
        if self.ratio_error is None:
            return ""
        return (
            "much A" if self.ratio_error > ON_TARGET else "little A" if self.ratio_error < -ON_TARGET else "on target"
        )

    @property
    def case_json(self) -> str:
        """The case in one form only, so that equal cases are equal texts."""
        return json.dumps(self.case, ensure_ascii=True, separators=(",", ":"))

    @property
    def digest(self) -> str:
        """What tells this part from others: its case, and whether it was good."""
        return digest_of(self.good, self.case_json)


def digest_of(good: bool, case_json: str) -> str:
    """Return what tells a part from others by the text of its case."""
    return hashlib.sha256(f"{good}{case_json}".encode()).hexdigest()


# -- cases ---------------------------------------------------------------------------------------------------------


def entry_of(case: Case, knowledge: Knowledge, good: bool = False) -> Entry:
    """Return *case* as an entry, without a ranking. Raises InputError where its date is none,
    or a good part shows a fault.
    """
    values = answers_of(case)
    symptoms = tuple(q for q, answer in values.items() if q in knowledge.symptoms and answer.value == SEEN)
    if good and symptoms:
        raise InputError(f"a good part, yet {symptoms[0]} is seen on it; log it without --good")
    return Entry(
        case=case_plain(case, knowledge),
        title=case.title,
        about=about_of(case),
        build=case.build or "",
        painted={None: "", True: "yes", False: "no"}[case.painted],
        symptoms=symptoms,
        answers=tuple((q, _value_text(a), a.source) for q, a in sorted(values.items()) if a.known),
        good=good,
        ratio_error=_ratio_error(case, knowledge),
    )


def answers_of(case: Case) -> Mapping[str, Answer]:
    """Return the answers of *case* by question."""
    return case.values


def about_of(case: Case) -> About:
    """Return what is told about *case*. Raises InputError where the date is none."""
    told = case.about
    texts = {key: str(getattr(told, key)) for key in ("part", "mold", "lot_a", "lot_b", "person", "client")}
    for key, text in texts.items():
        if len(text) > _LONGEST:
            raise InputError(f"about.{key}: over {_LONGEST} characters, expected a short name")
    return About(date=day_of(told.date), photos=told.photos, **texts)


def day_of(written: str, key: str = "about.date") -> str:
    """Return the day of *written* as 2026-03-02; a time behind it is left out. Raises InputError."""
    if not written:
        return ""
    found = _DAY.match(written)
    try:
        return date.fromisoformat(found.group()).isoformat() if found else _no_day(written, key)
    except ValueError:
        return _no_day(written, key)


def _no_day(written: str, key: str) -> str:
    raise InputError(f"{key}: '{shown(written)}' is no day, expected one as 2026-03-02")


def case_plain(case: Case, knowledge: Knowledge) -> dict[str, Any]:
    """Return *case* as the JSON data of a case file; every value stays text as a caster would write it."""
    import yaml

    from diagnose.casebook import case_text

    loader = getattr(yaml, "CBaseLoader", yaml.BaseLoader)
    plain = yaml.load(case_text(case, knowledge), Loader=loader)
    return {"case": 1, **{key: value for key, value in plain.items() if key != "case"}}


def case_of(plain: Mapping[str, Any], knowledge: Knowledge, file: str = "the log") -> Case:
    """Read the JSON data of a case file. Raises InputError with the first fault."""
    from diagnose.casebook import case_from_bytes

    try:
        return case_from_bytes(json.dumps(plain, ensure_ascii=False).encode("utf-8", "surrogatepass"), file, knowledge)
    except FileFaults as faults:
        more = len(faults.faults) - 1
        raise InputError(faults.faults[0].message + (f" (and {more} more)" if more else "")) from None


def with_about(case: Case, **told: str) -> Case:
    """Return *case* with what is *told* about it put in; empty texts change nothing."""
    return case.with_about(**told)


def _value_text(answer: Answer) -> str:
    if isinstance(answer.value, tuple):
        return ", ".join(answer.value)
    return f"{answer.value:.10g}" if isinstance(answer.value, float) else str(answer.value)


def _ratio_error(case: Case, knowledge: Knowledge) -> float | None:
    from diagnose.casebook.derive import derive

    return next((c.value for c in derive(case, knowledge).computed if c.name == "ratio_error"), None)


# -- what was said of it ---------------------------------------------------------------------------------------------


def ranked(case: Case, models: Any) -> Said:
    """Return what the knowledge says of *case*: the ranking alone, in a few milliseconds."""
    from diagnose.assessment.consultation import Consultation
    from diagnose.reasoning.inference import NoWayToBe

    try:
        causes = Consultation(models, case).situation.beliefs.causes
    except NoWayToBe:
        return Said(models.knowledge.content_key)
    return _said(models.knowledge.content_key, [(c.id, c.probability) for c in causes])


def with_advice(entry: Entry, case: Case, knowledge: Knowledge) -> Entry:
    """Return *entry* with all that the knowledge says of *case* today."""
    from diagnose.assessment.assess import assess
    from diagnose.assessment.consultation import Consultation, ModelCache
    from diagnose.reasoning.inference import NoWayToBe

    try:
        advice = assess(Consultation(ModelCache(knowledge), case)).to_plain()
    except NoWayToBe:
        return replace(entry, said=Said(knowledge.content_key))
    return replace(entry, said=said_in(advice), assessment=advice)


def said_in(assessment: Mapping[str, Any]) -> Said:
    """Return the ranking that stands in an *assessment* as plain data."""
    return _said(str(assessment["knowledge"]), [(c["id"], c["probability"]) for c in assessment["causes"]])


def _said(knowledge: str, causes: list[tuple[str, float]]) -> Said:
    kept = [(cause, float(f"{chance:.10g}")) for cause, chance in causes[:SAID] if chance > 0.0]
    return Said(knowledge, tuple(kept))


# -- outcomes --------------------------------------------------------------------------------------------------------


def outcome_of(plain: Any, knowledge: Knowledge) -> Outcome:
    """Read an outcome as it stands in an export. Raises InputError with what was expected."""
    if not isinstance(plain, Mapping):
        raise InputError("outcome: expected causes, how and next")
    for key in plain:
        if key not in ("causes", "how", "next", "remedies", "cost", "date"):
            raise InputError(f"outcome.{shown(str(key))}: unknown key")
    return checked(
        Outcome(
            causes=_texts(plain.get("causes", []), "causes"),
            how=str(plain.get("how")),
            next=str(plain.get("next")),
            remedies=_texts(plain.get("remedies") or [], "remedies"),
            cost=cost_of(plain.get("cost")),
            date=day_of(str(plain.get("date") or ""), "outcome.date"),
        ),
        knowledge,
    )


def checked(outcome: Outcome, knowledge: Knowledge) -> Outcome:
    """Return *outcome* as it is. Raises InputError where it names what isn't known or contradicts itself."""
    from diagnose.knowledge.kinds import nearest
    from diagnose.reasoning.network import NOT_LISTED

    if not outcome.causes:
        raise InputError(f"outcome.causes: expected at least one cause, or {NOT_LISTED}")
    for kind, names, known in (
        ("cause", outcome.causes, [*knowledge.causes, NOT_LISTED]),
        ("remedy", outcome.remedies, list(knowledge.remedies)),
    ):
        for name in names:
            if name not in known:
                raise InputError(f"no {kind} '{shown(name)}'{nearest(name, known)}, expected the id of one")
            if names.count(name) > 1:
                raise InputError(f"{kind} '{name}' stands twice")
    listed = [name for name in outcome.causes if name != NOT_LISTED]
    if listed and len(listed) < len(outcome.causes):
        raise InputError(f"{NOT_LISTED} beside {listed[0]}: it was none of them, or it was one of them")
    for key, text, options in (("how", outcome.how, HOW), ("next", outcome.next, NEXT)):
        if text not in options:
            raise InputError(f"outcome.{key}: '{shown(text)}', expected one of {', '.join(options)}")
    return outcome


def _texts(plain: Any, key: str) -> tuple[str, ...]:
    if not isinstance(plain, list) or not all(isinstance(item, str) for item in plain):
        raise InputError(f"outcome.{key}: expected a list of ids")
    return tuple(plain)


def cost_of(plain: Any) -> float | None:
    """Return an amount as told. Raises InputError where it is none."""
    if plain is None:
        return None
    if isinstance(plain, bool) or not isinstance(plain, int | float) or not 0 <= plain <= _MOST_COST:
        raise InputError(f"cost: expected an amount of 0 or more, at most {_MOST_COST:g}")
    return float(plain)
