"""What a knowledge file may hold: one set of definitions that reads it, checks it and describes it.

Each kind reads a node into plain data (str, float, bool, list, dict), reports every fault to the `Reading` with file
and line, and gives its JSON Schema, so that an editor completes and checks the same things that the reader does.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from collections.abc import Mapping as MappingType
from dataclasses import dataclass, field
from difflib import get_close_matches
from typing import Any, Protocol

from diagnose.errors import Fault, shown
from diagnose.knowledge.yaml_reader import Mapping, Node, Scalar, Sequence
from diagnose.units import QuantityError, parse_quantity

JsonSchema = dict[str, Any]
COMMON_PRACTICE = "common practice"
_SUGGESTIONS = 200
#: what an id looks like
ID_PATTERN = "[a-z][a-z0-9_]*"


def nearest(word: str, known: MappingType[str, Any] | list[str] | tuple[str, ...]) -> str:
    """Return `, nearest is 'x'` for the known word most like *word*, or an empty text."""
    close = get_close_matches(word[:80], list(known), n=1, cutoff=0.6)
    return f", nearest is '{close[0]}'" if close else ""


@dataclass(frozen=True, slots=True)
class Reference:
    """An id named somewhere: checked once all files are read."""

    kinds: tuple[str, ...]
    name: str
    file: str
    line: int
    path: str


@dataclass(slots=True)
class Reading:
    """One run over the files: the word tables, the faults so far, the ids that were named, and where each key stands.

    *lines* are of entries, by (section, id); *places* of every key below them, by its path. *incomplete* is set where a
    record lacks what it must have, so that nobody works on with half an entry.
    """

    words: dict[str, dict[str, float]]
    faults: list[Fault] = field(default_factory=list)
    references: list[Reference] = field(default_factory=list)
    lines: dict[tuple[str, str], tuple[str, int]] = field(default_factory=dict)
    places: dict[str, tuple[str, int]] = field(default_factory=dict)
    lines_of_words: dict[str, tuple[str, int]] = field(default_factory=dict)
    shop: str = ""
    incomplete: bool = False
    file: str = ""

    def place(self, path: str) -> tuple[str, int]:
        """Return file and line of what stands at *path*, or of the nearest key above it."""
        while path not in self.places and "." in path:
            path = path.rpartition(".")[0]
        return self.places.get(path, ("", 0))

    def nearest(self, word: str, known: MappingType[str, Any] | list[str] | tuple[str, ...]) -> str:
        """Return `nearest` of *word*, or nothing once there are so many faults that looking would take its time."""
        return nearest(word, known) if len(self.faults) < _SUGGESTIONS else ""

    def fault(self, node: Node | int, path: str, message: str) -> None:
        """Note that what stands at *path* is wrong; *message* says what was expected."""
        line = node if isinstance(node, int) else node.line
        if isinstance(node, (Mapping, Sequence)) and path in self.places:
            line = self.places[path][1]  # a mapping begins a line below its key
        self.faults.append(Fault(self.file, line, f"{path}: {message}"))


class Kind(Protocol):
    """A kind of value: reads a node, describes itself."""

    def read(self, node: Node, reading: Reading, path: str) -> Any:
        """Return the plain value of *node*, or None after a fault was noted."""
        ...

    def schema(self, words: dict[str, dict[str, float]]) -> JsonSchema:
        """Return the JSON Schema of the kind."""
        ...


def _scalar(node: Node, reading: Reading, path: str, expected: str) -> str | None:
    if isinstance(node, Scalar):
        return node.text
    shape = "a list" if isinstance(node, Sequence) else "a mapping"
    reading.fault(node, path, f"{shape} stands here, expected {expected}")
    return None


@dataclass(frozen=True, slots=True)
class Text:
    """Running text, never empty; at most *longest* characters."""

    about: str
    longest: int = 1200

    def read(self, node: Node, reading: Reading, path: str) -> str | None:
        text = _scalar(node, reading, path, "text")
        if text is None:
            return None
        flat = " ".join(text.split())
        if not flat:
            reading.fault(node, path, "empty, expected text")
        elif len(flat) > self.longest:
            reading.fault(node, path, f"{len(flat)} characters, expected at most {self.longest}")
        elif not flat.isprintable() and any(ord(char) < 32 or 127 <= ord(char) < 160 for char in flat):
            reading.fault(node, path, "holds a control character, expected plain text")
        return flat

    def schema(self, words: dict[str, dict[str, float]]) -> JsonSchema:
        return {"type": "string", "pattern": r"\S", "maxLength": self.longest, "description": self.about}


@dataclass(frozen=True, slots=True)
class OneOf:
    """One of a few fixed words."""

    options: tuple[str, ...]
    about: str = ""

    def read(self, node: Node, reading: Reading, path: str) -> str | None:
        text = _scalar(node, reading, path, f"one of {', '.join(self.options)}")
        if text is not None and text not in self.options:
            reading.fault(
                node,
                path,
                f"'{shown(text)}', expected one of {', '.join(self.options)}{reading.nearest(text, self.options)}",
            )
            return None
        return text

    def schema(self, words: dict[str, dict[str, float]]) -> JsonSchema:
        return {"enum": list(self.options), "description": self.about}


class YesNo(OneOf):
    """yes or no (or true or false), read as a bool."""

    def __init__(self, about: str = "") -> None:
        super().__init__(("yes", "no"), about)

    def read(self, node: Node, reading: Reading, path: str) -> Any:
        if isinstance(node, Scalar) and node.text in ("true", "false"):
            return node.text == "true"
        text = OneOf.read(self, node, reading, path)
        return None if text is None else text == "yes"

    def schema(self, words: dict[str, dict[str, float]]) -> JsonSchema:
        return {"enum": ["yes", "no", True, False], "description": self.about}


@dataclass(frozen=True, slots=True)
class Word:
    """A word of one table of `words.yaml`; read as that word."""

    table: str
    about: str = ""

    def read(self, node: Node, reading: Reading, path: str) -> str | None:
        text = _scalar(node, reading, path, f"a word for {self.table}")
        table = reading.words[self.table]
        if text is not None and text not in table:
            reading.fault(
                node,
                path,
                f"'{shown(text)}', expected a word for {self.table}: {', '.join(table)}{reading.nearest(text, table)}",
            )
            return None
        return text

    def schema(self, words: dict[str, dict[str, float]]) -> JsonSchema:
        return {"enum": list(words[self.table]), "description": self.about or f"a word for {self.table}"}


@dataclass(frozen=True, slots=True)
class Reasoned:
    """`word - reason`: a word of a table and the mechanism behind it; read as [word, reason]."""

    table: str
    reason_required: bool = True

    def read(self, node: Node, reading: Reading, path: str) -> list[str] | None:
        text = _scalar(node, reading, path, f"'word - reason' with a word for {self.table}")
        if text is None:
            return None
        word, dash, reason = " ".join(text.split()).partition(" - ")
        table = reading.words[self.table]
        if word not in table:
            reading.fault(
                node,
                path,
                f"'{shown(word)}', expected a word for {self.table}: {', '.join(table)}{reading.nearest(word, table)}",
            )
            return None
        if self.reason_required and not (dash and reason.strip()):
            reading.fault(node, path, f"'{word}' stands without a reason, expected '{word} - ' and the mechanism")
            return None
        return [word, reason.strip()]

    def schema(self, words: dict[str, dict[str, float]]) -> JsonSchema:
        names = "|".join(re.escape(word) for word in words[self.table])
        tail = " - .+" if self.reason_required else "( - .+)?"
        return {
            "type": "string",
            "pattern": f"^({names}){tail}$",
            "description": f"a word for {self.table}, ' - ' and the reason",
        }


@dataclass(frozen=True, slots=True)
class Number:
    """A plain number within bounds."""

    low: float = 0.0
    high: float = 1e9
    about: str = ""

    def read(self, node: Node, reading: Reading, path: str) -> float | None:
        text = _scalar(node, reading, path, "a number")
        if text is None:
            return None
        if not re.fullmatch(r"-?[0-9]+(\.[0-9]+)?", text) or not self.low <= float(text) <= self.high:
            reading.fault(node, path, f"'{shown(text)}', expected a number from {self.low:g} to {self.high:g}")
            return None
        return float(text)

    def schema(self, words: dict[str, dict[str, float]]) -> JsonSchema:
        return {"type": "number", "minimum": self.low, "maximum": self.high, "description": self.about}


def read_quantity(text: str, unit: str, reading: Reading, node: Node | int, path: str) -> float | None:
    """Read *text* as a quantity in *unit*, noting a fault at *path* where it is none."""
    try:
        return parse_quantity(text, unit).value
    except QuantityError as error:
        reading.fault(node, path, str(error))
        return None


@dataclass(frozen=True, slots=True)
class Plain:
    """Text that is read later, when the unit is known; kept as [text, line]."""

    about: str

    def read(self, node: Node, reading: Reading, path: str) -> list[Any] | None:
        text = _scalar(node, reading, path, self.about)
        return None if text is None else [text, node.line]

    def schema(self, words: dict[str, dict[str, float]]) -> JsonSchema:
        return {"type": ["string", "number"], "description": self.about}


@dataclass(frozen=True, slots=True)
class Id:
    """The id of an entry of one of *kinds*; that it exists is checked once all files are read."""

    kinds: tuple[str, ...]

    def read(self, node: Node, reading: Reading, path: str) -> str | None:
        text = _scalar(node, reading, path, f"the id of a {' or '.join(self.kinds)}")
        if text is not None and not (text == COMMON_PRACTICE and "source" in self.kinds):
            reading.references.append(Reference(self.kinds, text, reading.file, node.line, path))
        return text

    def schema(self, words: dict[str, dict[str, float]]) -> JsonSchema:
        pattern = f"^({COMMON_PRACTICE}|{ID_PATTERN})$" if "source" in self.kinds else f"^{ID_PATTERN}$"
        return {"type": "string", "pattern": pattern, "description": f"the id of a {' or '.join(self.kinds)}"}


@dataclass(frozen=True, slots=True)
class ListOf:
    """A list of one kind; no value twice."""

    kind: Kind
    about: str = ""
    least: int = 0
    most: int = 10000

    def read(self, node: Node, reading: Reading, path: str) -> list[Any] | None:
        if not isinstance(node, Sequence):
            reading.fault(node, path, "expected a list, as [one, another]")
            return None
        values: list[Any] = []
        for item in node.items:
            value = self.kind.read(item, reading, path)
            if value is not None and value in values:
                reading.fault(item, path, f"'{shown(str(value))}' stands twice")
            elif value is not None:
                values.append(value)
        if len(node.items) < self.least:
            reading.fault(node, path, f"{len(node.items)} values, expected at least {self.least}")
        if len(node.items) > self.most:
            reading.fault(node, path, f"{len(node.items)} values, expected at most {self.most}")
        return values

    def schema(self, words: dict[str, dict[str, float]]) -> JsonSchema:
        return {
            "type": "array",
            "items": self.kind.schema(words),
            "minItems": self.least,
            "maxItems": self.most,
            "uniqueItems": True,
            "description": self.about,
        }


@dataclass(frozen=True, slots=True)
class MapOf:
    """Free keys, each with the same kind of value; *keys* says what they name (None: any text)."""

    kind: Kind
    keys: tuple[str, ...] | None = None
    about: str = ""
    least: int = 0

    def read(self, node: Node, reading: Reading, path: str) -> dict[str, Any] | None:
        if not isinstance(node, Mapping):
            reading.fault(node, path, "expected keys and values")
            return None
        found: dict[str, Any] = {}
        for key, child in node.items.items():
            below = f"{path}.{shown(key)}"
            reading.places[below] = (reading.file, node.key_lines[key])
            if self.keys is not None:
                reading.references.append(Reference(self.keys, key, reading.file, node.key_lines[key], below))
            value = self.kind.read(child, reading, below)
            if value is not None:
                found[key] = value
        if len(node.items) < self.least:
            reading.fault(node, path, f"{len(node.items)} entries, expected at least {self.least}")
        return found

    def schema(self, words: dict[str, dict[str, float]]) -> JsonSchema:
        schema: JsonSchema = {
            "type": "object",
            "additionalProperties": self.kind.schema(words),
            "minProperties": self.least,
            "description": self.about,
        }
        if self.keys is not None:
            schema["propertyNames"] = {"pattern": f"^{ID_PATTERN}$"}
        return schema


@dataclass(frozen=True, slots=True)
class Record:
    """Fixed keys, some required; unknown ones are refused with the nearest known.

    *check* looks at the keys together once they are read; *conditions* say the same to the JSON Schema as far as it can.
    """

    fields: dict[str, Kind]
    required: tuple[str, ...] = ()
    about: str = ""
    check: Callable[[dict[str, Any], Node, Reading, str], None] | None = None
    conditions: tuple[JsonSchema, ...] = ()

    def read(self, node: Node, reading: Reading, path: str) -> dict[str, Any] | None:
        if not isinstance(node, Mapping):
            reading.fault(node, path, "expected keys and values")
            return None
        found: dict[str, Any] = {}
        for key, child in node.items.items():
            if key not in self.fields:
                reading.fault(
                    node.key_lines[key], f"{path}.{shown(key)}", f"unknown key{reading.nearest(key, self.fields)}"
                )
                continue
            reading.places[f"{path}.{key}"] = (reading.file, node.key_lines[key])
            value = self.fields[key].read(child, reading, f"{path}.{key}")
            if value is not None:
                found[key] = value
        for key in self.required:
            if key not in node.items:
                reading.fault(node, path, f"'{key}' is missing")
        if not all(key in found for key in self.required):
            reading.incomplete = True
        elif self.check is not None:
            self.check(found, node, reading, path)
        return found

    def schema(self, words: dict[str, dict[str, float]]) -> JsonSchema:
        properties = {key: kind.schema(words) for key, kind in self.fields.items()}
        schema: JsonSchema = {
            "type": "object",
            "properties": properties,
            "required": list(self.required),
            "additionalProperties": False,
            "description": self.about,
        }
        if self.conditions:
            schema["allOf"] = list(self.conditions)
        return schema
