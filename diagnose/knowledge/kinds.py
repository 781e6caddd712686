"""Kinds of values: each reads a node, checks it, describes itself to an editor, and comes back from the cache.

A record of the knowledge (`model.py`), or of a case file, is a struct whose fields are annotated with their kind,
and `Record` (`records.py`) walks them. So what a field may hold is said once; reader, defaults, JSON Schema and cache
follow from it. Every fault goes to the `Context` with its place; a kind then returns None, and reading goes on, so that
one run shows all.
"""

from __future__ import annotations

import re
from abc import ABC, abstractmethod
from collections.abc import Iterable, Mapping
from typing import Any, NamedTuple

from msgspec import Struct, field

from diagnose.errors import Fault, shown
from diagnose.knowledge import yaml_reader as yaml
from diagnose.knowledge.yaml_reader import Node, Scalar
from diagnose.units import QuantityError, parse_quantity, unit_of

JsonSchema = dict[str, Any]
Words = Mapping[str, Mapping[str, float]]
COMMON_PRACTICE = "common practice"
#: what an id looks like
ID_PATTERN = "[a-z][a-z0-9_]*"
#: no quantity of the trade is larger, in any unit; those that are overflow when they are worked with
_LARGEST = 1e12


def nearest(word: str, known: Iterable[str]) -> str:
    """Return `, nearest is 'x'` for the known word most like *word*, or an empty text."""
    from difflib import get_close_matches

    close = get_close_matches(word[:80], list(known), n=1, cutoff=0.6)
    return f", nearest is '{close[0]}'" if close else ""


class Place(NamedTuple):
    """Where something stands: file, path of keys, line and column (from 1; 0 for the whole file)."""

    file: str
    path: str
    line: int = 0
    column: int = 0

    def key(self, name: str, node: yaml.Mapping) -> Place:
        """Return the place of the key *name* of *node*."""
        path = f"{self.path}.{shown(name)}" if self.path else shown(name)
        return Place(self.file, path, node.key_lines[name], node.key_columns.get(name, 0))

    def at(self, node: Node) -> Place:
        """Return the place of a plain value; a list or a mapping is told at its key, a line above its first item."""
        return self.item(node) if isinstance(node, Scalar) or not self.path else self

    def item(self, node: Node) -> Place:
        """Return the place of an item of a list."""
        return self._replace(line=node.line, column=node.column)


class Reference(NamedTuple):
    """An id named somewhere: checked once all files are read."""

    sections: tuple[str, ...]
    name: str
    place: Place


class Context(Struct):
    """One run over the files: the faults so far, what is read already, and where each key stands.

    *entries* are those without a fault, by section and id; *names* are all that stand in the files. *unit* is that of
    the entry being read. After *suggestions* faults no nearest id is looked for any more: it takes its time.
    """

    words: dict[str, dict[str, float]] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)
    references: list[Reference] = field(default_factory=list)
    places: dict[str, Place] = field(default_factory=dict)
    entries: dict[str, dict[str, Any]] = field(default_factory=dict)
    names: dict[str, dict[str, Place]] = field(default_factory=dict)
    warnings: list[str] = field(default_factory=list)
    unit: str = "1"
    suggestions: int = 200

    def fault(self, place: Place, message: str) -> None:
        """Note that what stands at *place* is wrong; *message* says what was expected."""
        key = f"{place.path}: " if place.path else ""
        self.faults.append(Fault(place.file, place.line, f"{key}{message}", place.column))

    def nearest(self, word: str, known: Iterable[str]) -> str:
        """Return `nearest` of *word*, or nothing once there are very many faults."""
        return nearest(word, known) if len(self.faults) < self.suggestions else ""

    def place(self, path: str) -> Place:
        """Return the place of what stands at *path*, or of the nearest key above it, with *path* itself."""
        above = path
        while above not in self.places and "." in above:
            above = above.rpartition(".")[0]
        return self.places.get(above, Place("", path))._replace(path=path)

    def quantity(self, text: str, unit: str, place: Place) -> float | None:
        """Read *text* as a quantity in *unit*, of a size that can be reckoned with."""
        try:
            value = parse_quantity(text, unit).value
        except QuantityError as error:
            self.fault(place, str(error))
            return None
        if abs(value) > _LARGEST:
            self.fault(place, f"'{shown(text)}' is out of all range, expected at most {_LARGEST:g}")
            return None
        return value

    def one_of(self, text: str, known: Iterable[str], place: Place, what: str) -> bool:
        """Tell whether *text* is among *known*; *what* says what was expected where it isn't."""
        if text in known:
            return True
        self.fault(place, f"'{shown(text)}', expected {what}{self.nearest(text, known)}")
        return False


class Kind(ABC):
    """A kind of value; *about* is what an editor shows."""

    about = ""

    @abstractmethod
    def read(self, node: Node, place: Place, context: Context) -> Any:
        """Return the value of *node*, or None after a fault was noted."""

    @abstractmethod
    def schema(self, words: Words) -> JsonSchema:
        """Return the JSON Schema of the kind."""


def scalar(node: Node, place: Place, context: Context, expected: str) -> str | None:
    """Return the text of a plain value, None with a fault where something else stands."""
    if isinstance(node, Scalar):
        return node.text
    shape = "a list" if isinstance(node, yaml.Sequence) else "a mapping"
    context.fault(place, f"{shape} stands here, expected {expected}")
    return None


class Text(Kind):
    """Text of at most *longest* characters, blanks run together, never empty;
    *free* text is kept as it is and may be empty.
    """

    def __init__(self, about: str, longest: int = 1200, free: bool = False) -> None:
        self.about, self.longest, self.free = about, longest, free

    def read(self, node: Node, place: Place, context: Context) -> str | None:
        text = scalar(node, place, context, "text")
        if text is None:
            return None
        flat = text if self.free else " ".join(text.split())
        if len(flat) > self.longest:
            context.fault(place.at(node), f"{len(flat)} characters, expected at most {self.longest}")
        elif "\0" in flat:
            context.fault(place.at(node), "holds a zero character, expected plain text")
        elif self.free:
            return flat
        elif not flat:
            context.fault(place.at(node), "empty, expected text")
        elif not flat.isprintable() and any(char < " " or "\x7f" <= char < "\xa0" for char in flat):
            context.fault(place.at(node), "holds a control character, expected plain text")
        else:
            return flat
        return None

    def schema(self, words: Words) -> JsonSchema:
        kinds = "string" if not self.free else ["string", "number", "boolean", "null"]
        pattern = {} if self.free else {"pattern": r"\S"}
        return {"type": kinds, **pattern, "maxLength": self.longest, "description": self.about}


class OneOf(Kind):
    """One of a few fixed words."""

    def __init__(self, options: tuple[str, ...], about: str = "") -> None:
        self.options, self.about = options, about

    def read(self, node: Node, place: Place, context: Context) -> Any:
        what = f"one of {', '.join(self.options)}"
        text = scalar(node, place, context, what)
        return text if text is not None and context.one_of(text, self.options, place.at(node), what) else None

    def schema(self, words: Words) -> JsonSchema:
        return {"enum": list(self.options), "description": self.about}


class YesNo(OneOf):
    """yes or no (or true or false), read as a bool."""

    def __init__(self, about: str = "") -> None:
        super().__init__(("yes", "no"), about)

    def read(self, node: Node, place: Place, context: Context) -> Any:
        if isinstance(node, Scalar) and node.text in ("true", "false"):
            return node.text == "true"
        text = super().read(node, place, context)
        return None if text is None else text == "yes"

    def schema(self, words: Words) -> JsonSchema:
        return {"enum": ["yes", "no", True, False], "description": self.about}


class Word(Kind):
    """A word of one table of `words.yaml`, read as its number."""

    def __init__(self, table: str, about: str = "") -> None:
        self.table, self.about = table, about

    def read(self, node: Node, place: Place, context: Context) -> float | None:
        text = scalar(node, place, context, f"a word for {self.table}")
        return None if text is None else self._number(text, place.at(node), context)

    def _number(self, word: str, place: Place, context: Context) -> float | None:
        table = context.words[self.table]
        what = f"a word for {self.table}: {shown(', '.join(table), 400)}"
        return table[word] if context.one_of(word, table, place, what) else None

    def schema(self, words: Words) -> JsonSchema:
        return {"enum": list(words[self.table]), "description": self.about or f"a word for {self.table}"}


class Link(NamedTuple):
    """An effect of a cause, or what an answer says for it: the word written, its number, and the mechanism."""

    word: str
    p: float
    why: str


class Reasoned(Word):
    """`word - reason`: a word of a table and the mechanism behind it; read as a `Link`."""

    def __init__(self, table: str, reason_required: bool = True) -> None:
        super().__init__(table)
        self.reason_required = reason_required

    def read(self, node: Node, place: Place, context: Context) -> Any:
        text = scalar(node, place, context, f"'word - reason' with a word for {self.table}")
        if text is None:
            return None
        word, _, reason = (part.strip() for part in " ".join(text.split()).partition(" - "))
        number = self._number(word, place.at(node), context)
        if number is not None and self.reason_required and not reason:
            context.fault(place.at(node), f"'{word}' stands without a reason, expected '{word} - ' and the mechanism")
        return None if number is None else Link(word, number, reason)

    def schema(self, words: Words) -> JsonSchema:
        names = "|".join(re.escape(word) for word in words[self.table])
        tail = " - .+" if self.reason_required else "( - .+)?"
        about = f"a word for {self.table}, ' - ' and the reason"
        return {"type": "string", "pattern": f"^({names}){tail}$", "description": about}


class Number(Kind):
    """A plain number within bounds."""

    def __init__(self, low: float = 0.0, high: float = 1e9, about: str = "") -> None:
        self.low, self.high, self.about = low, high, about

    def read(self, node: Node, place: Place, context: Context) -> float | None:
        text = scalar(node, place, context, "a number")
        if text is None:
            return None
        if re.fullmatch(r"-?[0-9]+(\.[0-9]+)?", text) and self.low <= float(text) <= self.high:
            return float(text)
        context.fault(place.at(node), f"'{shown(text)}', expected a number from {self.low:g} to {self.high:g}")
        return None

    def schema(self, words: Words) -> JsonSchema:
        return {"type": "number", "minimum": self.low, "maximum": self.high, "description": self.about}


class UnitName(Kind):
    """The unit in which the numbers of this entry are stored."""

    about = "the unit stored"

    def read(self, node: Node, place: Place, context: Context) -> str | None:
        text = scalar(node, place, context, "a unit")
        if text is None:
            return None
        try:
            unit_of(text)
        except KeyError:
            context.fault(place.at(node), f"unknown unit '{shown(text)}'")
            return None
        context.unit = text
        return text

    def schema(self, words: Words) -> JsonSchema:
        return {"type": ["string", "number"], "maxLength": 20, "description": self.about}


class Quantity(Kind):
    """A quantity in *unit*, by default that of the entry; *positive* wants it above 0."""

    def __init__(self, about: str, unit: str = "", positive: bool = False) -> None:
        self.about, self.unit, self.positive = about, unit, positive

    def read(self, node: Node, place: Place, context: Context) -> float | None:
        text = scalar(node, place, context, "a quantity")
        value = None if text is None else context.quantity(text, self.unit or context.unit, place.at(node))
        if value is not None and self.positive and value <= 0.0:
            context.fault(place.at(node), "expected more than 0")
        return value

    def schema(self, words: Words) -> JsonSchema:
        return {"type": ["string", "number"], "description": self.about}


class ErrorBar(NamedTuple):
    """How far off a reading usually is: *size* in the unit, or a part of the reading where *relative*."""

    size: float = 0.0
    relative: bool = False


class ReadingError(Quantity):
    """How far off a reading usually is, in the unit of the entry or in percent of the reading."""

    def __init__(self) -> None:
        super().__init__("how far off such a reading usually is, in the unit or in percent of the reading")

    def read(self, node: Node, place: Place, context: Context) -> Any:
        text = scalar(node, place, context, "a quantity")
        if text is None:
            return None
        relative = text.endswith(("percent", "%")) and context.unit != "percent"
        unit = "percent" if relative else "K" if context.unit == "degC" else context.unit
        value = context.quantity(text, unit, place.at(node))
        if value is not None and value <= 0.0:
            context.fault(place.at(node), f"'{shown(text)}', expected more than 0")
        return None if value is None else ErrorBar(value / (100 if relative else 1), relative)


class Id(Kind):
    """The id of an entry of one of *sections*; that it exists is checked once all files are read."""

    def __init__(self, *sections: str) -> None:
        self.sections = sections
        self.about = f"the id of {_kinds(sections)}"

    def read(self, node: Node, place: Place, context: Context) -> str | None:
        text = scalar(node, place, context, self.about)
        if text is not None and not (text == COMMON_PRACTICE and "sources" in self.sections):
            context.references.append(Reference(self.sections, text, place.at(node)))
        return text

    def schema(self, words: Words) -> JsonSchema:
        pattern = f"^({COMMON_PRACTICE}|{ID_PATTERN})$" if "sources" in self.sections else f"^{ID_PATTERN}$"
        return {"type": "string", "pattern": pattern, "description": self.about}


def _kinds(sections: Iterable[str]) -> str:
    return " or ".join(f"a {name.removesuffix('s')}" for name in sections)
