"""The sections of the knowledge files: what an entry of each may and must say.

`docs/knowledge.md` tells the same to the caster who writes them; `json_schema` tells it to an editor.
"""

from __future__ import annotations

from typing import Any

from diagnose.errors import shown
from diagnose.knowledge.kinds import (
    ID_PATTERN,
    Id,
    JsonSchema,
    Kind,
    ListOf,
    MapOf,
    Number,
    OneOf,
    Plain,
    Reading,
    Reasoned,
    Record,
    Text,
    Word,
    YesNo,
)
from diagnose.knowledge.yaml_reader import Node

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
WHEN = ("next_pour", "this_part", "shelf")
#: ids that the program needs for itself
RESERVED = ("unknown", "not_listed", "symptoms", "symptoms_absent", "symptoms_unknown", "seen", "absent")

_TITLE = Text("A name under 70 characters, in the trade's words", 70)
_QUESTION = Text("The question as it is asked", 140)
_HELP = Text("What it means, in plain words")
_SOURCES = ListOf(Id(("source",)), "Where it comes from: ids of sources, or 'common practice'", 1)
_CALLERS = ListOf(Text("words of a caller", 160), "What callers say")
_BUILDS = ListOf(OneOf(BUILDS), "Only on these builds", 1)
_PAINTED = YesNo("Only on a painted (yes) or an unpainted (no) part")
_MINUTES = Number(0, 10000, "Minutes of effort")
_OF_NUMBERS = ("unit", "plausible", "typical", "error")


def _where(
    kinds: tuple[str, ...], needed: tuple[str, ...], refused: tuple[str, ...] = (), **more: JsonSchema
) -> JsonSchema:
    """Return the condition: with one of *kinds*, these keys are needed, those refused, and *more* holds of others."""
    return {
        "if": {"properties": {"kind": {"enum": list(kinds)}}, "required": ["kind"]},
        "then": {"required": list(needed), "properties": {**dict.fromkeys(refused, False), **more}},
    }


_FACT_CONDITIONS = (
    _where(("number",), _OF_NUMBERS, ("choices",)),
    _where(("choice", "many", "yes_no"), ("choices",), _OF_NUMBERS),
    _where(("yes_no",), ("choices",), choices={"required": ["yes", "no"], "maxProperties": 2}),
    _where(("id",), (), (*_OF_NUMBERS, "choices")),
)
_CHECK_CONDITIONS = (
    _where(("number",), ("unit", "plausible", "error")),
    _where(("choice", "many"), (), results={"additionalProperties": {"properties": {"from": False, "to": False}}}),
)


def _number_or_choices(found: dict[str, Any], node: Node, reading: Reading, path: str) -> None:
    kind = found["kind"]
    needs = {"number": _OF_NUMBERS, "id": ()}.get(kind, ("choices",))
    for key in needs:
        if key not in found:
            reading.incomplete = True
            reading.fault(node, path, f"'{key}' is missing, expected with kind: {kind}")
    for key in (*_OF_NUMBERS, "choices"):
        if key in found and key not in needs:
            reading.fault(reading.place(f"{path}.{key}")[1], f"{path}.{key}", f"does not go with kind: {kind}")
    if kind == "yes_no" and list(found.get("choices", {})) not in (["yes", "no"], ["no", "yes"]):
        reading.fault(node, f"{path}.choices", "expected yes and no")


def _number_or_results(found: dict[str, Any], node: Node, reading: Reading, path: str) -> None:
    if found["base"] not in found["results"]:
        reading.fault(
            node,
            f"{path}.base",
            f"'{shown(found['base'])}' is not among the results{reading.nearest(found['base'], found['results'])}",
        )
    for name, result in found["results"].items():
        if name != found["base"] and "background" not in result:
            reading.fault(
                reading.place(f"{path}.results.{shown(name)}")[1],
                f"{path}.results.{shown(name)}",
                "'background' is missing, expected with every result but the base",
            )
        if found["kind"] != "number" and ("from" in result or "to" in result):
            reading.fault(
                reading.place(f"{path}.results.{shown(name)}")[1],
                f"{path}.results.{shown(name)}",
                "'from' and 'to' go with kind: number",
            )
    if found["kind"] == "number":
        for key in ("unit", "plausible", "error"):
            if key not in found:
                reading.incomplete = True
                reading.fault(node, path, f"'{key}' is missing, expected with kind: number")


_ASKED: dict[str, Kind] = {
    "title": _QUESTION,
    "short": _TITLE,
    "help": _HELP,
    "find_out": Text("How to find out in two minutes"),
    "minutes": _MINUTES,
    "answerable": Word("answerable"),
    "pointless": Text("When there is no point in asking"),
    "doubt": Record(
        {
            "said": Text("what people say in good faith"),
            "ask": Text("what to ask instead"),
            "at": ListOf(
                Text("an answer", 60),
                "the answers that are doubted; round: a number of one figure and noughts. Left out: told under help only",
                1,
            ),
        },
        ("said", "ask"),
    ),
    "ask_when": MapOf(
        ListOf(Text("an answer", 60), least=1),
        ("fact", "check", "seen"),
        "Asked only where each named answer, if given, is one of these",
    ),
    "builds": _BUILDS,
    "painted": _PAINTED,
    "words": _CALLERS,
    "sources": _SOURCES,
    "unit": Text("the unit stored", 20),
    "plausible": ListOf(Plain("a quantity"), "lowest and highest believable", 2, 2),
    "error": Plain("how far off such a reading usually is, in the unit or in percent of the reading"),
}
_ASKED_REQUIRED = ("title", "short", "help", "find_out", "minutes", "answerable", "pointless", "sources")

_SPAN: dict[str, Kind] = {
    "value": Plain("the number, with its unit"),
    "low": Plain("the lowest in use"),
    "mid": Plain("the usual one; the middle where it is left out"),
    "high": Plain("the highest in use"),
}


def _value_or_span(found: dict[str, Any], node: Node, reading: Reading, path: str) -> None:
    span = [key for key in ("low", "mid", "high") if key in found]
    if ("value" in found) == bool(span) or (span and not {"low", "high"} <= set(span)):
        reading.incomplete = True
        reading.fault(node, path, "expected either value, or low and high (and mid)")


def _span_somewhere(found: dict[str, Any], node: Node, reading: Reading, path: str) -> None:
    for build in found.get("by_build", {}):
        if build not in BUILDS:
            reading.incomplete = True
            reading.fault(
                reading.place(f"{path}.by_build.{shown(build)}")[1],
                f"{path}.by_build.{shown(build)}",
                f"expected one of {', '.join(BUILDS)}{reading.nearest(build, BUILDS)}",
            )
    if any(key in found for key in _SPAN) or set(found.get("by_build", {})) != set(BUILDS):
        _value_or_span(found, node, reading, path)


_TYPICAL = MapOf(Word("share"), None, "values where nothing is wrong, with how common they are", 2)

SECTIONS: dict[str, Record] = {
    "symptoms": Record(
        {
            "family": OneOf(FAMILIES),
            "title": _TITLE,
            "help": _HELP,
            "look": Text("How to make sure"),
            "confused_with": MapOf(Text("how to tell them apart"), ("symptom",)),
            "background": Word("background"),
            "builds": _BUILDS,
            "painted": _PAINTED,
            "minutes": _MINUTES,
            "answerable": Word("answerable"),
            "same_as": ListOf(Text("check.result", 80), "Results of checks that are this seen another way"),
            "words": _CALLERS,
            "ask_when": _ASKED["ask_when"],
            "pointless": _ASKED["pointless"],
            "sources": _SOURCES,
        },
        ("family", "title", "help", "look", "background", "minutes", "answerable", "words", "pointless", "sources"),
        "What is seen or felt wrong with the part",
    ),
    "facts": Record(
        {
            **_ASKED,
            "kind": OneOf(("number", "choice", "yes_no", "many", "id")),
            "typical": _TYPICAL,
            "choices": MapOf(
                Record({"title": _TITLE, "share": Word("share")}, ("title", "share")), None, "the answers", 2
            ),
            "better_than": ListOf(Id(("fact",)), "Facts that read the same less directly"),
        },
        (*_ASKED_REQUIRED, "kind"),
        "What was done or measured",
        _number_or_choices,
        _FACT_CONDITIONS,
    ),
    "derived": Record(
        {
            "short": _TITLE,
            "help": _HELP,
            "unit": Text("the unit", 20),
            "typical": _TYPICAL,
            "needs": ListOf(Id(("fact",)), "The raw answers without which it can't be worked out", 1),
            "better_than": ListOf(Id(("fact",))),
            "builds": _BUILDS,
            "painted": _PAINTED,
            "sources": _SOURCES,
        },
        ("short", "help", "unit", "needs", "sources"),
        "Worked out from raw answers, never asked",
    ),
    "checks": Record(
        {
            **_ASKED,
            "kind": OneOf(("choice", "many", "number")),
            "in_hand": YesNo("Can be done with what is on the bench"),
            "base": Text("What shows when no listed cause acts", 40),
            "results": MapOf(
                Record(
                    {
                        "title": _TITLE,
                        "background": Word("background"),
                        "from": Plain("lowest"),
                        "to": Plain("highest"),
                    },
                    ("title",),
                ),
                None,
                "from mild to telling",
                2,
            ),
        },
        (*_ASKED_REQUIRED, "kind", "in_hand", "base", "results"),
        "A look, a touch or a bench test",
        _number_or_results,
        _CHECK_CONDITIONS,
    ),
    "causes": Record(
        {
            "title": _TITLE,
            "help": _HELP,
            "mechanism": Text("How it does the damage, in two lines", 500),
            "stage": OneOf(STAGES),
            "base": Word("share", "How common in bad parts"),
            "builds": _BUILDS,
            "painted": _PAINTED,
            "opposite": Id(("cause",)),
            "symptoms": MapOf(Reasoned("likelihood"), ("symptom",)),
            "checks": MapOf(MapOf(Reasoned("likelihood")), ("check",)),
            "facts": MapOf(MapOf(Reasoned("ratio", False), None, "answer or value: word", 1), ("fact",)),
            "sources": _SOURCES,
        },
        ("title", "help", "mechanism", "stage", "base", "sources"),
        "What went wrong",
    ),
    "remedies": Record(
        {
            "title": _TITLE,
            "do": Text("What to do, with numbers"),
            "when": OneOf(WHEN),
            "minutes": _MINUTES,
            "wait_minutes": Number(0, 100000, "Minutes of waiting"),
            "material": OneOf(("none", "little", "a pour", "a mold")),
            "fixes": MapOf(Reasoned("likelihood"), ("cause",), "What it mends, how surely and why", 1),
            "never_with": ListOf(Id(("danger",)), "Dangers under which it must not be offered", 1),
            "until": Plain("how old the part may be, since demold"),
            "mends_damage": ListOf(
                Id(("symptom",)), "For this_part: the damage it mends; offered only where one of these is seen", 1
            ),
            "sets": MapOf(Id(("practice",)), ("fact",), "facts that it brings to a practice number"),
            "not_when": MapOf(
                ListOf(Text("an answer", 60), least=1),
                ("fact", "check", "symptom"),
                "Not offered where one of these answers was given",
                1,
            ),
            "verify": Text("How to see that it worked"),
            "caution": Text("The usual caution"),
            "sources": _SOURCES,
        },
        ("title", "do", "when", "minutes", "material", "fixes", "verify", "sources"),
        "What to do",
    ),
    "dangers": Record(
        {
            "title": _TITLE,
            "say": Text("What to do now, in short imperative sentences: the first line of every output", 400),
            "why": Text("What may happen, and why"),
            "ask": Text("What the questionnaire asks outright, where no answer of the case can tell", 400),
            "when": Record(
                {
                    "symptoms": ListOf(Id(("symptom",)), "One of these is seen", 1),
                    "checks": MapOf(ListOf(Text("a result", 60), least=1), ("check",), "One of these results", 1),
                    "facts": MapOf(ListOf(Text("an answer", 60), least=1), ("fact",), "One of these answers", 1),
                }
            ),
            "over": MapOf(Plain("a quantity"), ("fact", "check"), "Stands where the number is above this", 1),
            "lumps": Record(
                {
                    "mass": Plain("mass of the lump"),
                    "section": Plain("thickest section"),
                    "age_under": Plain("time since demold"),
                    "cool_under": Plain("a core measured under this is known to be cool"),
                },
                ("mass", "section", "age_under", "cool_under"),
                "Stands for a lump over the mass or the section, younger than the age (or of unknown age) and not known to be cool",
            ),
            "sources": _SOURCES,
        },
        ("title", "say", "why", "sources"),
        "What must be said before everything else",
    ),
    "sources": Record(
        {
            "title": Text("Standard, paper or handbook", 300),
            "about": Text("what is taken from it"),
            "seen": Text("how much of it was read", 200),
        },
        ("title", "about", "seen"),
        "Where values come from",
    ),
    "materials": Record(
        {
            "title": _TITLE,
            "help": _HELP,
            "kind": OneOf(("foam", "skin")),
            "ratios": MapOf(Plain("free-rise density"), None, "parts of A to 100 of B by weight: free-rise density", 1),
            "density_a": Plain("density of A"),
            "density_b": Plain("density of B"),
            "density": Plain("density when cured"),
            "sheet_temperature": Plain("temperature of the times"),
            "cream_time": Plain("cream time"),
            "gel_time": Plain("gel time"),
            "rise_time": Plain("end of rise"),
            "demold_time": Plain("demold time"),
            "window_opens": Plain("earliest foam on this skin"),
            "window_closes": Plain("latest foam on this skin"),
            "paint_after": Plain("earliest paint"),
            "sources": _SOURCES,
        },
        ("title", "help", "kind", "sheet_temperature", "sources"),
        "A foam or skin system",
    ),
    "practice": Record(
        {
            "about": Text("What the number is, in a phrase"),
            "unit": Text("the unit", 20),
            **_SPAN,
            "by_build": MapOf(Record(_SPAN, check=_value_or_span), None, "where builds differ: a value or a span each"),
            "bounds": MapOf(OneOf(("low", "high", "both")), ("fact",), "facts that it bounds, and at which end"),
            "source": Text("source, or 'common practice', or 'our own, no source'", 300),
        },
        ("about", "unit", "source"),
        "A number that shops go by",
        _span_somewhere,
    ),
}

#: what a shop's own file may say of a practice number that the trade has
SHOP_PRACTICE = Record({key: SECTIONS["practice"].fields[key] for key in (*_SPAN, "by_build")}, check=_span_somewhere)

WORD_TABLE = Record(
    {
        "source": Text("source, or 'our own, no source'", 300),
        "about": Text("what the numbers are"),
        "values": MapOf(Number(0, 1000), None, "word: number", 1),
    },
    ("source", "about", "values"),
)


def json_schema(words: dict[str, dict[str, float]]) -> JsonSchema:
    """Return the JSON Schema (2020-12) of a knowledge file, made from the definitions that read it."""
    sections: JsonSchema = {
        name: {
            "type": "object",
            "additionalProperties": record.schema(words),
            "propertyNames": {"pattern": f"^{ID_PATTERN}$", "not": {"enum": list(RESERVED)}},
            "description": record.about,
        }
        for name, record in SECTIONS.items()
    }
    sections["words"] = {
        "type": "object",
        "properties": {table: WORD_TABLE.schema(words) for table in words},
        "additionalProperties": False,
    }
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Knowledge of the diagnosis of foam castings",
        "type": "object",
        "properties": sections,
        "additionalProperties": False,
    }


__all__ = [
    "BUILDS",
    "FAMILIES",
    "ID_PATTERN",
    "RESERVED",
    "SECTIONS",
    "SHOP_PRACTICE",
    "STAGES",
    "WHEN",
    "WORD_TABLE",
    "json_schema",
]
