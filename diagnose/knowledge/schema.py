"""The sections of the knowledge files, and the JSON Schema that an editor completes and checks them with.

What an entry of each may and must say is declared in `model.py`; `docs/knowledge.md` tells the same to the caster who
writes them.
"""

# no postponed annotations: the kinds are read from them

from collections.abc import Mapping
from typing import Annotated, Any, NamedTuple

from diagnose.knowledge import compile as together
from diagnose.knowledge.callers import Callers, Dialect
from diagnose.knowledge.kinds import ID_PATTERN, JsonSchema, Kind, Number, Text, Words
from diagnose.knowledge.model import (
    Cause,
    Check,
    Danger,
    Fact,
    Keys,
    Material,
    Remedy,
    Source,
    Symptom,
    WrittenPractice,
)
from diagnose.knowledge.records import ListOf, MapOf, Record, declared

#: ids that the program needs for itself
RESERVED = ("unknown", "not_listed", "symptoms", "symptoms_absent", "symptoms_unknown", "seen", "absent")
_DERIVED = ("short", "help", "unit", "typical", "needs", "better_than", "builds", "painted", "sources")


def _where(kinds: tuple[str, ...], needed: tuple[str, ...] = (), **more: Any) -> JsonSchema:
    """Return the condition: with one of *kinds*, these keys are needed, and *more* holds of others."""
    return {
        "if": {"properties": {"kind": {"enum": list(kinds)}}, "required": ["kind"]},
        "then": {"required": list(needed), "properties": more},
    }


def _conditions(goes_with: Mapping[str, Keys]) -> tuple[JsonSchema, ...]:
    return tuple(_where((kind,), keys.needed, **dict.fromkeys(keys.refused, False)) for kind, keys in goes_with.items())


_ONE_OF_TWO: JsonSchema = {"oneOf": [{"required": ["pointless"]}, {"required": ["always_ask"]}]}
_YES_NO = _where(("yes_no",), choices={"required": ["yes", "no"], "maxProperties": 2})
_TITLED = _where(("choice", "many"), choices={"additionalProperties": {"type": "object", "required": ["title"]}})
_AN_ID: JsonSchema = {"pattern": f"^{together.ANSWER_PATTERN}$", "not": {"enum": ["unknown"]}}
_CHOICE_IDS: JsonSchema = {"properties": {"choices": {"propertyNames": _AN_ID}}}
_RESULT_IDS: JsonSchema = {"properties": {"results": {"items": {"properties": {"id": _AN_ID}}}}}
_NO_BANDS = _where(("choice", "many"), results={"items": {"properties": {"from": False, "to": False}}})

#: in the order in which they are read: what is named for its unit or its answers comes first
SECTIONS: dict[str, Record] = {
    "sources": Record(Source, "Where values come from"),
    "practice": Record(
        WrittenPractice,
        "A number that shops go by",
        needed=("about", "unit", "source"),
        check=together.check_practice,
    ),
    "materials": Record(Material, "A foam or skin system"),
    "facts": Record(
        Fact,
        "What was done or measured",
        without=("needs",),
        check=together.check_fact,
        conditions=(_ONE_OF_TWO, *_conditions(Fact.GOES_WITH), _YES_NO, _TITLED, _CHOICE_IDS),
    ),
    "derived": Record(
        Fact,
        "Worked out from raw answers, never asked",
        only=_DERIVED,
        needed=("unit", "needs"),
        fixed={"kind": "number", "derived": True, "title": "", "find_out": "", "minutes": 0.0, "answerable": 0.0},
    ),
    "checks": Record(
        Check,
        "A look, a touch or a bench test",
        check=together.check_check,
        conditions=(_ONE_OF_TWO, *_conditions(Check.GOES_WITH), _NO_BANDS, _RESULT_IDS),
    ),
    "symptoms": Record(
        Symptom, "What is seen or felt wrong with the part", check=together.check_question, conditions=(_ONE_OF_TWO,)
    ),
    "dangers": Record(Danger, "What must be said before everything else"),
    "causes": Record(Cause, "What went wrong", check=together.check_cause),
    "remedies": Record(Remedy, "What to do"),
}
#: what a shop's own file may say of a practice number that the trade has
SHOP_PRACTICE = Record(
    WrittenPractice, only=("value", "low", "mid", "high", "by_build"), check=together.check_practice, alone="value"
)


class WordTable(NamedTuple):
    """A table of `words.yaml`: what its numbers are, and where they come from."""

    source: Annotated[str, Text("source, or 'our own, no source'", 300)]
    about: Annotated[str, Text("what the numbers are")]
    values: Annotated[Mapping[str, float], MapOf(Number(0, 1000), about="word: number", least=1)]


WORD_TABLE = Record(WordTable)
DIALECT = Record(Dialect, "How callers speak")
GROUP = ListOf(Text("a symptom or a family of symptoms", 60), "Symptoms and families named together", 1)
PHRASES = declared(Callers)["phrases"].kind


def json_schema(words: Words) -> JsonSchema:
    """Return the JSON Schema (2020-12) of a knowledge file, made from the definitions that read it."""
    sections = {name: _by_id(record, record.about, words) for name, record in SECTIONS.items()}
    sections["groups"] = _by_id(GROUP, "Symptoms and families that are named together", words)
    sections["callers"] = PHRASES.schema(words)
    sections["dialect"] = DIALECT.schema(words)
    tables = {table: WORD_TABLE.schema(words) for table in words}
    sections["words"] = {"type": "object", "properties": tables, "additionalProperties": False}
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Knowledge of the diagnosis of foam castings",
        "type": "object",
        "properties": dict(sorted(sections.items())),
        "additionalProperties": False,
    }


def _by_id(kind: Kind, about: str, words: Words) -> JsonSchema:
    names = {"pattern": f"^{ID_PATTERN}$", "not": {"enum": list(RESERVED)}}
    entries = {"additionalProperties": kind.schema(words), "propertyNames": names}
    return {"type": "object", **entries, "description": about}
