"""Case files: reading with exact faults, and writing.

A file that can't be used is refused whole, with file, line, key and what was expected. Nothing is guessed and nothing is
dropped in silence. The format is version 1; `docs/case-file.md` describes it.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from diagnose.errors import Fault, FileFaults, shown
from diagnose.knowledge import Check, Fact, Knowledge
from diagnose.knowledge.yaml_reader import Mapping, Node, Scalar, Sequence, decode, read_node
from diagnose.reasoning.answers import ABSENT, SEEN, SOURCES, Answer
from diagnose.units import QuantityError, parse_quantity

MAX_CASE = 1 << 20
#: keys and values, those of other programs among them: what can be read in well under a second
MAX_VALUES = 20_000
#: after so many faults no nearest id is looked for any more
_SUGGESTIONS = 20
ABOUT = ("id", "date", "part", "mold", "lot_a", "lot_b", "person", "client", "photos", "remarks")
UNKNOWN = "unknown"
_LISTS = {"symptoms": SEEN, "symptoms_absent": ABSENT, "symptoms_unknown": UNKNOWN}
_UNQUOTED = re.compile(r"yes|no|-?[0-9]+(\.[0-9]+)?")
_YES = {"yes": "yes", "true": "yes", "no": "no", "false": "no"}


@dataclass(frozen=True, slots=True)
class Case:
    """A case as told: *answers* by question in the order given, *written* the text of each as it stood, and what is about it.

    *extra* are the `x_` keys of other programs, kept as they came (plain data).
    """

    title: str = ""
    answers: dict[str, Answer] = field(default_factory=dict)
    written: dict[str, str] = field(default_factory=dict)
    about: dict[str, Any] = field(default_factory=dict)
    extra: dict[str, Any] = field(default_factory=dict)
    warnings: tuple[str, ...] = ()

    def with_answer(self, question: str, answer: Answer, written: str = "") -> Case:
        """Return the case with *question* answered (or answered anew, in its old place)."""
        return replace(self, answers={**self.answers, question: answer}, written={**self.written, question: written})

    def without(self, question: str) -> Case:
        """Return the case with *question* open again."""
        return replace(
            self,
            answers={k: v for k, v in self.answers.items() if k != question},
            written={k: v for k, v in self.written.items() if k != question},
        )

    @property
    def build(self) -> str | None:
        """The build told, or None."""
        answer = self.answers.get("build")
        return str(answer.value) if answer is not None and answer.known else None

    @property
    def painted(self) -> bool | None:
        """Whether the part is painted, or None where nobody told."""
        answer = self.answers.get("painted")
        return answer.value == "yes" if answer is not None and answer.known else None


class _Refusal(ValueError):
    """What is wrong with one value; the message goes behind file, line and key."""


def parse_answer(knowledge: Knowledge, question: str, text: str, source: str | None = None) -> Answer:
    """Read *text* as an answer to *question* (fact, check or symptom) and return it.

    A number takes any usual unit; several values of a `many` are parted by commas. Raises ValueError with what was expected.
    """
    flat = text.strip()
    if flat == UNKNOWN:
        return Answer(None, source or "seen")
    if question in knowledge.symptoms:
        if flat not in (SEEN, ABSENT):
            raise _Refusal(f"'{shown(flat)}', expected seen, absent or unknown")
        return Answer(flat, source or "seen")
    entry: Fact | Check = knowledge.facts.get(question) or knowledge.checks[question]
    if entry.kind == "number":
        return _number(entry, flat, source)
    if entry.kind == "many":
        return _many(entry, [part.strip() for part in flat.split(",")], source)
    if entry.kind == "id":
        return _one_of(list(knowledge.materials), flat, source, "a material")
    if entry.kind == "yes_no":
        return _one_of(["yes", "no"], _YES.get(flat.lower(), flat), source, "yes or no")
    return _one_of(_options(entry), flat, source, "")


def _options(entry: Fact | Check) -> list[str]:
    return list(entry.choices if isinstance(entry, Fact) else entry.results)


def _one_of(options: list[str], text: str, source: str | None, what: str) -> Answer:
    if text not in options:
        from diagnose.knowledge.kinds import nearest

        wanted = what or f"one of {', '.join(options)}"
        if what == "a material":
            wanted = f"a material: {', '.join(options)}"
        raise _Refusal(f"'{shown(text)}', expected {wanted}{nearest(text, options)}")
    return Answer(text, source or "seen")


def _many(entry: Fact | Check, values: list[str], source: str | None) -> Answer:
    if not values or values == [""]:
        raise _Refusal("an empty list, expected at least one value, or unknown")
    options = _options(entry)
    for value in values:
        _one_of(options, value, source, "")
    if len(set(values)) < len(values):
        twice = next(value for value in values if values.count(value) > 1)
        raise _Refusal(f"'{twice}' stands twice")
    if "nothing" in values and len(values) > 1:
        raise _Refusal(f"'nothing' beside '{next(v for v in values if v != 'nothing')}': both can't be true")
    return Answer(tuple(values), source or "seen")


def _number(entry: Fact | Check, text: str, source: str | None) -> Answer:
    try:
        quantity = parse_quantity(text, entry.unit)
    except QuantityError as error:
        raise _Refusal(str(error)) from None
    if entry.plausible is not None and not entry.plausible[0] <= quantity.value <= entry.plausible[1]:
        low, high = entry.plausible
        unit = "" if entry.unit in ("1", "count") else f" {entry.unit}"
        hint = ""
        if entry.unit == "percent" and 0.0 < quantity.value < 1.0 <= low:
            hint = f"; it looks like a fraction, write {100 * quantity.value:g} percent"
        raise _Refusal(f"'{shown(text)}' is not believable, expected {low:g} to {high:g}{unit}{hint}")
    return Answer(quantity.value, source or ("measured" if quantity.has_unit else "seen"))


def read_case(path: str | Path, knowledge: Knowledge) -> Case:
    """Read the case file at *path*. Raises FileFaults with every fault, the first in one line."""
    file = str(path)
    try:
        with open(path, "rb") as handle:
            data = handle.read(MAX_CASE + 1)
    except OSError as error:
        raise FileFaults([Fault(file, 0, f"can't be read: {error.strerror or error}")]) from None
    return case_from_bytes(data, file, knowledge)


def case_from_bytes(data: bytes, file: str, knowledge: Knowledge) -> Case:
    """Read a case from *data*; *file* names it in messages. Raises FileFaults."""
    if len(data) > MAX_CASE:
        raise FileFaults([Fault(file, 0, f"over {MAX_CASE} bytes, expected a case of at most 1 MiB")])
    text, fault = decode(data, file, MAX_CASE)
    if text is None:
        raise FileFaults([fault] if fault else [])
    node, faults = read_node(text, file, MAX_VALUES)
    if node is None:
        raise FileFaults(faults)
    reader = _CaseReader(file, knowledge, faults)
    case = reader.read(node)
    if reader.faults:
        raise FileFaults(reader.faults)
    return case


class _CaseReader:
    def __init__(self, file: str, knowledge: Knowledge, faults: list[Fault]) -> None:
        self.file = file
        self.knowledge = knowledge
        self.faults = faults
        self.lines: dict[str, int] = {}
        self.lists: dict[str, str] = {}
        self.answers: dict[str, Answer] = {}
        self.written: dict[str, str] = {}
        self.warnings: list[str] = []

    def fault(self, line: int, key: str, message: str) -> None:
        self.faults.append(Fault(self.file, line, f"{shown(key)}: {message}"))

    def read(self, node: Node) -> Case:
        if not isinstance(node, Mapping):
            self.faults.append(Fault(self.file, node.line, "expected the keys case, title and answers"))
            return Case()
        self._version(node)
        title, about, extra = "", {}, {}
        for key, child in node.items.items():
            line = node.key_lines[key]
            if key == "title":
                title = self._text(child, "title")
            elif key == "answers":
                self._answers(child)
            elif key == "about":
                about = self._about(child)
            elif key.startswith("x_"):
                extra[key] = _plain(child)
            elif key != "case":
                self.fault(
                    line,
                    key,
                    f"unknown key{self._nearest(key, ['case', 'title', 'answers', 'about'])}; keys of other programs start with x_",
                )
        if "answers" not in node.items:
            self.fault(node.line, "answers", "is missing")
        self._consistent()
        return Case(title, self.answers, self.written, about, extra, tuple(self.warnings))

    def _version(self, node: Mapping) -> None:
        version = node.items.get("case")
        if version is None:
            self.fault(node.line, "case", "is missing, expected case: 1")
        elif not isinstance(version, Scalar) or version.text != "1":
            found = f"'{shown(version.text)}'" if isinstance(version, Scalar) else "a list or mapping"
            self.fault(version.line, "case", f"{found}, expected 1, the version of the format that this program reads")

    def _nearest(self, word: str, known: list[str]) -> str:
        from diagnose.knowledge.kinds import nearest

        return nearest(word, known) if len(self.faults) < _SUGGESTIONS else ""

    def _text(self, node: Node, key: str) -> str:
        if not isinstance(node, Scalar):
            self.fault(node.line, key, "expected text")
            return ""
        return node.text

    def _about(self, node: Node) -> dict[str, Any]:
        found: dict[str, Any] = {}
        if not isinstance(node, Mapping):
            self.fault(node.line, "about", f"expected keys and values, of {', '.join(ABOUT)}")
            return found
        for key, child in node.items.items():
            if key not in ABOUT:
                self.fault(
                    node.key_lines[key],
                    f"about.{key}",
                    f"unknown key{self._nearest(key, list(ABOUT))}, expected one of {', '.join(ABOUT)}",
                )
            elif key == "photos":
                if not isinstance(child, Sequence) or not all(isinstance(item, Scalar) for item in child.items):
                    self.fault(child.line, "about.photos", "expected a list of texts")
                else:
                    found[key] = [item.text for item in child.items if isinstance(item, Scalar)]
            else:
                found[key] = self._text(child, f"about.{key}")
        return found

    def _answers(self, node: Node) -> None:
        if not isinstance(node, Mapping):
            self.fault(node.line, "answers", "expected questions with their answers")
            return
        for key, child in node.items.items():
            line = node.key_lines[key]
            if key in _LISTS:
                self._symptoms(key, child, line)
            elif self.knowledge.question_kind(key) is None:
                self._no_question(key, line)
            else:
                self._answer(key, child, line)

    def _no_question(self, key: str, line: int) -> None:
        if key in self.knowledge.facts:
            self.fault(line, key, "is worked out from other answers, expected what it is worked out from")
            return
        known = (
            [*_LISTS, *self.knowledge.facts, *self.knowledge.checks, *self.knowledge.symptoms]
            if len(self.faults) < _SUGGESTIONS
            else []
        )
        self.fault(
            line,
            key,
            f"no such question{self._nearest(key, [name for name in known if name in _LISTS or self.knowledge.question_kind(name)])}",
        )

    def _symptoms(self, key: str, node: Node, line: int) -> None:
        if isinstance(node, Scalar) and node.text == UNKNOWN and key == "symptoms":
            return
        if not isinstance(node, Sequence):
            self.fault(node.line, key, "expected a list of symptoms, as [thin_skin, pinholes]")
            return
        if not node.items and key == "symptoms":
            self.fault(line, key, "an empty list, expected at least one symptom, or leave the key out")
        for item in node.items:
            if not isinstance(item, Scalar):
                self.fault(item.line, key, "expected the id of a symptom")
            elif item.text not in self.knowledge.symptoms:
                self.fault(
                    item.line,
                    key,
                    f"no symptom '{shown(item.text)}'{self._nearest(item.text, list(self.knowledge.symptoms))}",
                )
            else:
                self._told_symptom(item.text, _LISTS[key], item.line, key)

    def _told_symptom(self, name: str, value: str, line: int, key: str, source: str = "seen") -> None:
        before = self.answers.get(name)
        if before is not None:
            was = "unknown" if before.value is None else str(before.value)
            what = "stands twice" if was == value else f"is both {was} (line {self.lines[name]}) and {value}"
            self.fault(line, key, f"'{name}' {what}")
            return
        self.lines[name], self.lists[name] = line, key
        self.answers[name] = Answer(None if value == UNKNOWN else value, source)
        self.written[name] = value

    def _answer(self, key: str, node: Node, line: int) -> None:
        source: str | None = None
        value: Node | None = node
        if isinstance(node, Mapping):
            value, source = self._with_source(key, node)
            if value is None:
                return
        try:
            answer = self._value(key, value, source)
        except ValueError as error:
            self.fault(value.line if value is not None else line, key, str(error))
            return
        if key in self.knowledge.symptoms:
            self._told_symptom(key, str(answer.value or UNKNOWN), line, key, answer.source)
            return
        self.lines[key] = line
        self.answers[key] = answer
        self.written[key] = _written(value)

    def _with_source(self, key: str, node: Mapping) -> tuple[Node | None, str | None]:
        for name in node.items:
            if name not in ("value", "source"):
                self.fault(
                    node.key_lines[name],
                    f"{key}.{name}",
                    f"unknown key{self._nearest(name, ['value', 'source'])}, expected value and source",
                )
                return None, None
        source = node.items.get("source")
        if "value" not in node.items:
            self.fault(node.line, key, "'value' is missing, expected value and source")
            return None, None
        if source is None:
            return node.items["value"], None
        if not isinstance(source, Scalar) or source.text not in SOURCES:
            found = f"'{shown(source.text)}'" if isinstance(source, Scalar) else "a list or mapping"
            self.fault(source.line, f"{key}.source", f"{found}, expected one of {', '.join(SOURCES)}")
            return None, None
        return node.items["value"], source.text

    def _value(self, key: str, node: Node | None, source: str | None) -> Answer:
        if isinstance(node, Scalar):
            if "," in node.text and self._kind(key) == "many":
                raise _Refusal("expected a list, as [top, tips]")
            return parse_answer(self.knowledge, key, node.text, source)
        if isinstance(node, Sequence):
            if self._kind(key) != "many":
                raise _Refusal("a list, expected one value")
            if not all(isinstance(item, Scalar) for item in node.items):
                raise _Refusal("expected a list of plain values")
            entry: Fact | Check = self.knowledge.facts.get(key) or self.knowledge.checks[key]
            return _many(entry, [item.text for item in node.items if isinstance(item, Scalar)], source)
        raise _Refusal("a mapping, expected a value")

    def _kind(self, key: str) -> str:
        entry = self.knowledge.facts.get(key) or self.knowledge.checks.get(key)
        return entry.kind if entry is not None else "symptom"

    def _consistent(self) -> None:
        """Refuse what can't both be true: paint on an unpainted part, a skin coat on bare foam."""
        case = Case(answers=self.answers)
        for name, answer in self.answers.items():
            entry: Any = (
                self.knowledge.facts.get(name) or self.knowledge.checks.get(name) or self.knowledge.symptoms[name]
            )
            if not answer.known or self.knowledge.applies(name, case.build, case.painted):
                continue
            if answer.value == ABSENT:
                self.warnings.append(f"{name}: looked for, but can't occur on this part; it says nothing")
            elif entry.painted and case.painted is False:
                self._contradicts(name, f"is about paint, but painted is no (line {self.lines['painted']})")
            elif entry.builds == ("skin_and_foam",):
                self._contradicts(name, f"is about a skin coat, but build is bare_foam (line {self.lines['build']})")
            else:
                self.warnings.append(f"{name}: does not apply to this part; it says nothing")

    def _contradicts(self, name: str, message: str) -> None:
        """A symptom of a list is told under the list's key, with its name."""
        key = self.lists.get(name, name)
        self.fault(self.lines[name], key, message if key == name else f"'{name}' {message}")


def _written(node: Node | None) -> str:
    if isinstance(node, Scalar):
        return node.text
    if isinstance(node, Sequence):
        return ", ".join(item.text for item in node.items if isinstance(item, Scalar))
    return ""


class Bare(str):
    """Text of another program's key that stood without quotes, so that it is written back without."""


class _Lines(dict[str, Any]):
    """Keys and values that are written a line each."""


def _plain(node: Node) -> Any:
    if isinstance(node, Scalar):
        return Bare(node.text or "null") if node.plain else node.text
    if isinstance(node, Sequence):
        return [_plain(item) for item in node.items]
    return {key: _plain(child) for key, child in node.items.items()}


def case_text(case: Case, knowledge: Knowledge) -> str:
    """Return the case as the YAML of a case file that reads back as the same answers."""
    data: dict[str, Any] = {"case": 1}
    if case.title:
        data["title"] = case.title
    data["answers"] = _Lines(_answers_plain(case, knowledge))
    if case.about:
        data["about"] = _Lines(case.about)
    data.update(case.extra)
    return _dumped(data)


def _dumped(data: dict[str, Any]) -> str:
    import yaml

    class Writer(yaml.SafeDumper):
        def ignore_aliases(self, data: Any) -> bool:
            return True  # an alias would be refused when the file is read

    def bare(writer: yaml.SafeDumper, text: Bare) -> yaml.ScalarNode:
        tag = writer.resolve(yaml.ScalarNode, str(text), (True, False))  # type: ignore[no-untyped-call]
        return yaml.ScalarNode(tag, str(text))

    def lines(writer: yaml.SafeDumper, items: _Lines) -> yaml.MappingNode:
        return writer.represent_mapping("tag:yaml.org,2002:map", items.items(), flow_style=False)

    Writer.add_representer(Bare, bare)
    Writer.add_representer(_Lines, lines)
    return str(yaml.dump(data, Dumper=Writer, sort_keys=False, allow_unicode=True, default_flow_style=None, width=100))


def _answers_plain(case: Case, knowledge: Knowledge) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for name, answer in case.answers.items():
        if name not in knowledge.symptoms:
            found[name] = _answer_plain(answer, case.written.get(name, ""), knowledge, name)
        elif answer.source == "seen" or not answer.known:
            key = {SEEN: "symptoms", ABSENT: "symptoms_absent", None: "symptoms_unknown"}[answer.value]  # type: ignore[index]
            found.setdefault(key, []).append(name)
        else:
            found[name] = {"value": answer.value, "source": answer.source}
    return found


def _answer_plain(answer: Answer, written: str, knowledge: Knowledge, name: str) -> Any:
    if not answer.known:
        return UNKNOWN
    value: Any = list(answer.value) if isinstance(answer.value, tuple) else answer.value
    default = "seen"
    if isinstance(answer.value, float):
        entry: Fact | Check = knowledge.facts.get(name) or knowledge.checks[name]
        unit = "" if entry.unit in ("1", "count") else f" {entry.unit}"
        value = written or f"{answer.value!r}{unit}"
        default = parse_answer(knowledge, name, value).source
    if isinstance(value, str) and _UNQUOTED.fullmatch(value):
        value = Bare(value)  # as a caster would write it: `painted: no`, `ratio_target: 50`
    return value if answer.source == default else {"value": value, "source": answer.source}
