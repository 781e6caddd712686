"""Reading a case file, with exact faults.

A file that can't be used is refused whole, with file, line, key and what was expected: nothing is guessed and nothing
is dropped in silence. A page that comes back from a client may be read leniently: then the faults are kept beside what
was usable. The file is described by the same kinds as the knowledge, from which its JSON Schema follows too. The format
is version 1; `docs/case-file.md` describes it.
"""

# no postponed annotations: the kinds of the file are read from them

from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Any, Literal, overload

from msgspec import Struct

from diagnose.casebook.case import NOTHING_TOLD, UNKNOWN, About, Case, Refusal, Told, many, parse_answer
from diagnose.errors import Fault, FileFaults, in_order, shown
from diagnose.knowledge import AnyQuestion, Knowledge
from diagnose.knowledge import yaml_reader as yaml
from diagnose.knowledge.kinds import Context, JsonSchema, Kind, OneOf, Place, Text, Words
from diagnose.knowledge.records import Record
from diagnose.knowledge.yaml_reader import Node, Scalar, decode, read_node
from diagnose.reasoning.answers import ABSENT, SEEN, SOURCES, Answer

LISTS = {"symptoms": SEEN, "symptoms_absent": ABSENT, "symptoms_unknown": UNKNOWN}
_OTHERS = "x_"


class Limits(Struct, frozen=True):
    """What a file may hold: *size* in bytes, *values* (keys and values, those of other programs among them),
    other programs' keys.

    The shipped ones can be read in well under a second.
    """

    size: int = 1 << 20
    values: int = 20_000
    extra: bool = True


LIMITS = Limits()


class Bare(str):
    """Text of another program's key that stood without quotes, so that it is written back without."""

    __slots__ = ()


@overload
def read_case(path: str | Path, knowledge: Knowledge) -> Case: ...


@overload
def read_case(
    path: str | Path, knowledge: Knowledge, *, lenient: Literal[True], limits: Limits = LIMITS
) -> tuple[Case, tuple[Fault, ...]]: ...


def read_case(
    path: str | Path, knowledge: Knowledge, *, lenient: bool = False, limits: Limits = LIMITS
) -> Case | tuple[Case, tuple[Fault, ...]]:
    """Read the case file at *path*. Raises FileFaults with every fault;
    *lenient* returns them beside what was usable.
    """
    file = str(path)
    try:
        with open(path, "rb") as handle:
            data = handle.read(limits.size + 1)
    except OSError as error:
        raise FileFaults([Fault(file, 0, f"can't be read: {error.strerror or error}")]) from None
    if lenient:
        return usable_case(data, file, knowledge, limits)
    return case_from_bytes(data, file, knowledge, limits)


def case_from_bytes(data: bytes, file: str, knowledge: Knowledge, limits: Limits = LIMITS) -> Case:
    """Read a case from *data*; *file* names it in messages. Raises FileFaults."""
    case, faults = usable_case(data, file, knowledge, limits)
    if faults:
        raise FileFaults(faults)
    return case


def usable_case(
    data: bytes, file: str, knowledge: Knowledge, limits: Limits = LIMITS
) -> tuple[Case, tuple[Fault, ...]]:
    """Return what is usable of the case in *data*, and every fault; the case is whole only where there is none."""
    if len(data) > limits.size:
        size = f"{limits.size >> 20} MiB" if limits.size >> 20 else f"{limits.size} bytes"
        return Case(), (Fault(file, 0, f"over {limits.size} bytes, expected a case of at most {size}"),)
    text, fault = decode(data, file, limits.size)
    if text is None:
        return Case(), (fault,) if fault else ()
    node, faults = read_node(text, file, limits.values)
    context = Context(faults=faults, suggestions=20)
    if node is None:
        return Case(), tuple(context.faults)
    answers = _Answers(knowledge)
    found = _record(answers, limits.extra).fields(node, Place(file, ""), context) or {}
    others = node.items.items() if isinstance(node, yaml.Mapping) and limits.extra else ()
    extra = {key: _plain(child) for key, child in others if key.startswith(_OTHERS)}
    told, about = found.get("answers", {}), found.get("about", NOTHING_TOLD)
    case = Case(found.get("title", ""), told, about, extra, tuple(answers.warnings))
    return case, in_order(context.faults)


def case_schema(knowledge: Knowledge) -> JsonSchema:
    """Return the JSON Schema (2020-12) of a case file about *knowledge*."""
    schema = _record(_Answers(knowledge), True).schema({})
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": "A case of a bad casting", **schema}


def _plain(node: Node) -> Any:
    if isinstance(node, Scalar):
        return Bare(node.text or "null") if node.plain else node.text
    if isinstance(node, yaml.Sequence):
        return [_plain(item) for item in node.items]
    return {key: _plain(child) for key, child in node.items.items()}


class _Version(OneOf):
    """The version of the format."""

    def __init__(self) -> None:
        super().__init__(("1",), "the version of the format")

    def read(self, node: Node, place: Place, context: Context) -> Any:
        if isinstance(node, Scalar) and node.text == "1":
            return node.text
        found = f"'{shown(node.text)}'" if isinstance(node, Scalar) else "a list or mapping"
        context.fault(place.at(node), f"{found}, expected 1, the version of the format that this program reads")
        return None

    def schema(self, words: Words) -> JsonSchema:
        return {"enum": [1, "1"], "description": self.about}


class _File(Struct, frozen=True, kw_only=True):
    """The keys of a case file."""

    case: Annotated[str, _Version()]
    title: Annotated[str, Text("a name for the part", 20_000, free=True)] = ""
    answers: Mapping[str, Told]  # its kind, `_Answers`, is of one file and of the knowledge that file is read with
    about: Annotated[About, Record(About, "what the shop's book keeps and the diagnosis does not need")] = NOTHING_TOLD


def _record(answers: Kind, extra: bool) -> Record:
    return Record(_File, "One bad part in writing", others=_OTHERS if extra else "", kinds={"answers": answers})


class _Answers(Kind):
    """Questions with their answers; *warnings* are what says nothing on this part. For one file."""

    about = "questions with their answers"

    def __init__(self, knowledge: Knowledge) -> None:
        self.knowledge = knowledge
        self.told: dict[str, Told] = {}
        self.places: dict[str, Place] = {}
        self.warnings: list[str] = []

    def read(self, node: Node, place: Place, context: Context) -> dict[str, Told]:
        if not isinstance(node, yaml.Mapping):
            context.fault(place.at(node), "expected questions with their answers")
            return self.told
        for key, child in node.items.items():
            below = place._replace(path="").key(key, node)
            if key in LISTS:
                self._symptoms(key, child, below, context)
            elif self.knowledge.question_kind(key) is None:
                self._no_question(key, below, context)
            else:
                self._answer(key, child, below, context)
        self._consistent(context)
        return self.told

    def _no_question(self, key: str, place: Place, context: Context) -> None:
        if key in self.knowledge.facts:
            context.fault(place, "is worked out from other answers, expected what it is worked out from")
            return
        facts = (fact.id for fact in self.knowledge.facts.values() if not fact.derived)
        known = [*LISTS, *facts, *self.knowledge.checks, *self.knowledge.symptoms]
        context.fault(place, f"no such question{context.nearest(key, known)}")

    def _symptoms(self, key: str, node: Node, place: Place, context: Context) -> None:
        if isinstance(node, Scalar) and node.text == UNKNOWN and key == "symptoms":
            return
        if not isinstance(node, yaml.Sequence):
            context.fault(place.at(node), "expected a list of symptoms, as [thin_skin, pinholes]")
            return
        if not node.items and key == "symptoms":
            context.fault(place, "an empty list, expected at least one symptom, or leave the key out")
        for item in node.items:
            at = place.item(item)
            if not isinstance(item, Scalar):
                context.fault(at, "expected the id of a symptom")
            elif item.text not in self.knowledge.symptoms:
                nearest = context.nearest(item.text, self.knowledge.symptoms)
                context.fault(at, f"no symptom '{shown(item.text)}'{nearest}")
            else:
                value = LISTS[key]
                answer = Answer(None if value == UNKNOWN else value)
                self._take(item.text, Told(answer, value), at, context)

    def _answer(self, key: str, node: Node, place: Place, context: Context) -> None:
        source: str | None = None
        value = node
        if isinstance(node, yaml.Mapping):
            found = self._with_source(node, place, context)
            if found is None:
                return
            value, source = found
        try:
            answer = self._value(self.knowledge.question(key), value, source)
        except ValueError as error:
            context.fault(place.at(value), str(error))
            return
        written = str(answer.value or UNKNOWN) if key in self.knowledge.symptoms else _written(value)
        self._take(key, Told(answer, written), place, context)

    def _take(self, name: str, told: Told, place: Place, context: Context) -> None:
        """Note an answer; a symptom may stand once in all the lists and by itself."""
        if name in self.told:
            was, now = (str(one.answer.value or UNKNOWN) for one in (self.told[name], told))
            what = "stands twice" if was == now else f"is both {was} (line {self.places[name].line}) and {now}"
            context.fault(place, f"'{name}' {what}")
            return
        self.told[name], self.places[name] = told, place

    def _with_source(self, node: yaml.Mapping, place: Place, context: Context) -> tuple[Node, str | None] | None:
        known = ("value", "source")
        for name in node.items:
            if name not in known:
                message = f"unknown key{context.nearest(name, known)}, expected value and source"
                context.fault(place.key(name, node), message)
                return None
        source = node.items.get("source")
        if "value" not in node.items:
            context.fault(place.item(node), "'value' is missing, expected value and source")
            return None
        if source is not None and (not isinstance(source, Scalar) or source.text not in SOURCES):
            found = f"'{shown(source.text)}'" if isinstance(source, Scalar) else "a list or mapping"
            context.fault(place.key("source", node).at(source), f"{found}, expected one of {', '.join(SOURCES)}")
            return None
        return node.items["value"], source.text if isinstance(source, Scalar) else None

    def _value(self, entry: AnyQuestion, node: Node, source: str | None) -> Answer:
        if isinstance(node, Scalar):
            if "," in node.text and entry.kind == "many":
                raise Refusal("expected a list, as [top, tips]")
            return parse_answer(self.knowledge, entry.id, node.text, source)
        if isinstance(node, yaml.Mapping):
            raise Refusal("a mapping, expected a value")
        if entry.kind != "many":
            raise Refusal("a list, expected one value")
        if not all(isinstance(item, Scalar) for item in node.items):
            raise Refusal("expected a list of plain values")
        return many(entry, [item.text for item in node.items if isinstance(item, Scalar)], source)

    def _consistent(self, context: Context) -> None:
        """Refuse what can't both be true: paint on an unpainted part, a skin coat on bare foam."""
        case = Case(answers=dict(self.told))
        for name, told in case.answers.items():
            if not told.answer.known or self.knowledge.applies(name, case.build, case.painted):
                continue
            entry = self.knowledge.question(name)
            if told.answer.value == ABSENT:
                self.warnings.append(f"{name}: looked for, but can't occur on this part; it says nothing")
            elif entry.painted and case.painted is False:
                self._contradicts(name, f"is about paint, but painted is no (line {self._line('painted')})", context)
            elif entry.builds == ("skin_and_foam",):
                message = f"is about a skin coat, but build is bare_foam (line {self._line('build')})"
                self._contradicts(name, message, context)
            else:
                self.warnings.append(f"{name}: does not apply to this part; it says nothing")

    def _line(self, name: str) -> int:
        return self.places[name].line

    def _contradicts(self, name: str, message: str, context: Context) -> None:
        """A symptom of a list is told under the list's key, with its name; what contradicts is not usable."""
        place = self.places[name]
        context.fault(place, message if place.path == name else f"'{name}' {message}")
        del self.told[name]

    def schema(self, words: Words) -> JsonSchema:
        symptoms = {"type": "array", "items": {"enum": list(self.knowledge.symptoms)}, "uniqueItems": True}
        tables = (self.knowledge.facts, self.knowledge.checks, self.knowledge.symptoms)
        asked = [entry for table in tables for entry in table.values() if self.knowledge.question_kind(entry.id)]
        questions = {entry.id: self._question(entry) for entry in asked}
        properties = {**dict.fromkeys(LISTS, symptoms), **questions}
        return {"type": "object", "properties": properties, "additionalProperties": False, "description": self.about}

    def _question(self, entry: AnyQuestion) -> JsonSchema:
        options: list[Any] = [*(self.knowledge.materials if entry.kind == "id" else entry.options), UNKNOWN]
        if entry.kind == "yes_no":
            options += [True, False]
        value: JsonSchema = {"enum": options + [int(option) for option in options if str(option).isdigit()]}
        if entry.kind == "number":
            value = {"type": ["number", "string"]}
        if entry.kind == "many":
            value = {"anyOf": [{"type": "array", "items": value, "minItems": 1, "uniqueItems": True}, value]}
        known: JsonSchema = {"type": "object", "properties": {"value": value, "source": {"enum": list(SOURCES)}}}
        known |= {"required": ["value"], "additionalProperties": False}
        return {"anyOf": [value, known], "description": entry.title}


def _written(node: Node) -> str:
    if isinstance(node, Scalar):
        return node.text
    items = node.items if isinstance(node, yaml.Sequence) else ()
    return ", ".join(item.text for item in items if isinstance(item, Scalar))
