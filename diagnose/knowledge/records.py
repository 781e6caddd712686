"""Kinds that hold other kinds: lists, mappings, curves, and records declared as structs."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from itertools import pairwise
from typing import Any, NamedTuple

from msgspec import NODEFAULT, structs

from diagnose.errors import shown
from diagnose.knowledge import yaml_reader as yaml
from diagnose.knowledge.kinds import (
    ID_PATTERN,
    Context,
    JsonSchema,
    Kind,
    Place,
    Quantity,
    Reference,
    Text,
    UnitName,
    Words,
)
from diagnose.knowledge.yaml_reader import Node, Scalar


class ListOf(Kind):
    """A list of one kind, read as a tuple; no value twice. *alone*: one value may stand without brackets."""

    def __init__(self, kind: Kind, about: str = "", least: int = 0, most: int = 10000, alone: bool = False) -> None:
        self.kind, self.about, self.least, self.most, self.alone = kind, about, least, most, alone

    def read(self, node: Node, place: Place, context: Context) -> Any:
        if not isinstance(node, yaml.Sequence):
            if self.alone and isinstance(node, Scalar):
                value = self.kind.read(node, place, context)
                return None if value is None else (value,)
            context.fault(place.at(node), "expected a list, as [one, another]")
            return None
        found: dict[Any, None] = {}
        for item in node.items:
            value = self.kind.read(item, place.item(item), context)
            if value is not None and value in found:
                context.fault(place.item(item), f"'{shown(str(value))}' stands twice")
            elif value is not None:
                found[value] = None
        if len(node.items) < self.least:
            context.fault(place, f"{len(node.items)} values, expected at least {self.least}")
        if len(node.items) > self.most:
            context.fault(place, f"{len(node.items)} values, expected at most {self.most}")
        return tuple(found)

    def schema(self, words: Words) -> JsonSchema:
        item = self.kind.schema(words)
        bounds = {"minItems": self.least, "maxItems": self.most, "uniqueItems": True}
        schema = {"type": "array", "items": item, **bounds, "description": self.about}
        return {"anyOf": [item, schema]} if self.alone else schema


class MapOf(Kind):
    """Free keys, each with the same kind of value; *keys* are the sections whose ids they are (none: any text)."""

    def __init__(self, kind: Kind, *keys: str, about: str = "", least: int = 0) -> None:
        self.kind, self.keys, self.about, self.least = kind, keys, about, least

    def read(self, node: Node, place: Place, context: Context) -> Any:
        if not isinstance(node, yaml.Mapping):
            context.fault(place.at(node), "expected keys and values")
            return None
        found: dict[str, Any] = {}
        for key, child in node.items.items():
            below = context.places[f"{place.path}.{shown(key)}"] = place.key(key, node)
            if self.keys:
                context.references.append(Reference(self.keys, key, below))
            value = self.kind.read(child, below, context)
            if value is not None:
                found[key] = value
        if len(node.items) < self.least:
            context.fault(place, f"{len(node.items)} entries, expected at least {self.least}")
        return found

    def schema(self, words: Words) -> JsonSchema:
        values = {"additionalProperties": self.kind.schema(words), "minProperties": self.least}
        names = {"propertyNames": {"pattern": f"^{ID_PATTERN}$"}} if self.keys else {}
        return {"type": "object", **values, "description": self.about, **names}


class Points(Kind):
    """value: word, rising in value; read as (value, number) points. *shares* makes the numbers sum to 1."""

    def __init__(self, kind: Kind, about: str, least: int = 1, shares: bool = False, unit: str = "") -> None:
        self.map, self.about, self.shares = MapOf(kind, about=about, least=least), about, shares
        self.key = Quantity("a quantity", unit, positive=bool(unit))

    def read(self, node: Node, place: Place, context: Context) -> Any:
        found = self.map.read(node, place, context)
        if found is None:
            return None
        points: list[tuple[float, float]] = []
        for text, number in found.items():
            at = context.place(f"{place.path}.{shown(text)}")
            value = self.key.read(Scalar(text, at.line, column=at.column), at, context)
            points += [] if value is None else [(value, number)]
        if any(after[0] <= before[0] for before, after in pairwise(points)):
            context.fault(place, "values out of order, expected them rising")
        total = (sum(number for _, number in points) or 1.0) if self.shares else 1.0
        return tuple((value, number / total) for value, number in points)

    def schema(self, words: Words) -> JsonSchema:
        return self.map.schema(words)


class Key(NamedTuple):
    """A field of a record: its key in the file, its name in the struct, its kind, whether it must be there."""

    key: str
    name: str
    kind: Kind
    required: bool


def declared(cls: Any, kinds: Mapping[str, Kind] | None = None) -> dict[str, Key]:
    """Return the fields of *cls*, a struct or a named tuple, that are annotated with a kind, by key in their order.

    *kinds* by name of field are those that are known only when a file is read.
    """
    if issubclass(cls, tuple):
        fields = [(name, cls.__annotations__[name], name not in cls._field_defaults) for name in cls._fields]
    else:
        # `structs.fields` would evaluate every annotation, at each start
        written = [vars(base).get("__annotations__", {}) for base in reversed(cls.__mro__)]
        annotations = {name: annotation for each in written for name, annotation in each.items()}
        bare = len(cls.__struct_fields__) - len(cls.__struct_defaults__)
        defaults = (*[NODEFAULT] * bare, *cls.__struct_defaults__)
        fields = [(n, annotations[n], d is NODEFAULT) for n, d in zip(cls.__struct_fields__, defaults, strict=True)]
    found: dict[str, Key] = {}
    for name, annotation, required in fields:
        marks: Sequence[Any] = getattr(annotation, "__metadata__", ())
        if kinds and name in kinds:
            marks = (kinds[name],)
        if marks and isinstance(marks[0], Kind):
            key = marks[1] if len(marks) > 1 else name
            found[key] = Key(key, name, marks[0], required)
    return found


Check = Callable[[dict[str, Any], Place, Context], None]


class Record(Kind):
    """The declared fields of *cls*, a struct or a named tuple: unknown keys are refused with the nearest known.

    *only* and *without* narrow the keys, *fixed* sets fields that are not written, *alone* is the key that a plain
    value stands for. *check* looks at the fields together once they are read without fault, and may work out others;
    *conditions* say the same to the JSON Schema as far as it can. Keys that start with *others* are kept by `fields` as
    they are.
    """

    def __init__(
        self,
        cls: Any,
        about: str = "",
        *,
        only: tuple[str, ...] = (),
        without: tuple[str, ...] = (),
        needed: tuple[str, ...] = (),
        fixed: Mapping[str, Any] | None = None,
        alone: str = "",
        others: str = "",
        check: Check | None = None,
        conditions: tuple[JsonSchema, ...] = (),
        kinds: Mapping[str, Kind] | None = None,
    ) -> None:
        self.cls, self.about, self.alone, self.others = cls, about, alone, others
        self.fixed, self.check, self.conditions = dict(fixed or {}), check, conditions
        every = declared(cls, kinds)
        self.keys = {
            key: each._replace(required=each.required or key in needed)
            for key, each in sorted(every.items(), key=lambda one: not isinstance(one[1].kind, UnitName))
            if key not in without and (not only or key in only)
        }

    def read(self, node: Node, place: Place, context: Context) -> Any:
        before = len(context.faults)
        found = self.fields(node, place, context)
        if found is None or any(each.required and each.name not in found for each in self.keys.values()):
            return None
        found.update(self.fixed)
        if self.check is not None and len(context.faults) == before:
            self.check(found, place, context)
        return self.cls(**found)

    def fields(self, node: Node, place: Place, context: Context) -> dict[str, Any] | None:
        """Return what could be read, by field; None where there are no keys at all."""
        if self.alone and isinstance(node, Scalar):
            node = yaml.Mapping({self.alone: node}, node.line, {self.alone: node.line}, node.column)
        if not isinstance(node, yaml.Mapping):
            context.fault(place.at(node), f"expected keys and values, of {', '.join(self.keys)}")
            return None
        for key in node.items:
            if key not in self.keys and not (self.others and key.startswith(self.others)):
                hint = f"; keys of other programs start with {self.others}" if self.others else ""
                context.fault(place.key(key, node), f"unknown key{context.nearest(key, self.keys)}{hint}")
        found: dict[str, Any] = {}
        for key, each in self.keys.items():  # a unit comes before its quantities
            if key in node.items:
                below = place.key(key, node)
                context.places[below.path] = below
                value = each.kind.read(node.items[key], below, context)
                if value is not None:
                    found[each.name] = value
            elif each.required:
                if place.path:
                    context.fault(place, f"'{key}' is missing")
                else:
                    context.fault(place.item(node)._replace(path=key), "is missing")
        return found

    def schema(self, words: Words) -> JsonSchema:
        schema: JsonSchema = {
            "type": "object",
            "properties": {key: each.kind.schema(words) for key, each in self.keys.items()},
            "required": [key for key, each in self.keys.items() if each.required],
            "additionalProperties": False,
            "description": self.about,
        }
        if self.others:
            schema["patternProperties"] = {f"^{self.others}": {}}
        if self.conditions:
            schema["allOf"] = list(self.conditions)
        return {"anyOf": [self.keys[self.alone].kind.schema(words), schema]} if self.alone else schema


class ListById(Kind):
    """A list of records that each begin with their `id`, in an order that means something; read as a mapping by id."""

    def __init__(self, record: Record, about: str, least: int = 1) -> None:
        self.record, self.about, self.least = record, about, least

    def read(self, node: Node, place: Place, context: Context) -> Any:
        if not isinstance(node, yaml.Sequence):
            context.fault(place.at(node), "expected a list of entries that begin with - id:")
            return None
        found: dict[str, Any] = {}
        for item in node.items:
            name = item.items.get("id") if isinstance(item, yaml.Mapping) else None
            if not isinstance(item, yaml.Mapping) or not isinstance(name, Scalar):
                context.fault(place.item(item), "expected an entry with its id, as id: thin")
                continue
            below = place.item(item)._replace(path=f"{place.path}.{shown(name.text)}")
            if name.text in found:
                context.fault(below, "the id stands twice")
            context.places[below.path] = below
            rest = structs.replace(item, items={key: child for key, child in item.items.items() if key != "id"})
            value = self.record.read(rest, below, context)
            if value is not None:
                found[name.text] = value
        if len(node.items) < self.least:
            context.fault(place, f"{len(node.items)} values, expected at least {self.least}")
        return found

    def schema(self, words: Words) -> JsonSchema:
        item = self.record.schema(words)
        item["properties"] = {"id": {"type": ["string", "number", "boolean"]}, **item["properties"]}
        item["required"] = ["id", *item["required"]]
        return {"type": "array", "items": item, "minItems": self.least, "description": self.about}


class CheckResults(ListOf):
    """Results of checks, each as check.result; read as pairs."""

    def __init__(self) -> None:
        super().__init__(Text("check.result", 80), "Results of checks that are this seen another way")

    def read(self, node: Node, place: Place, context: Context) -> Any:
        found = super().read(node, place, context)
        return None if found is None else tuple((text.partition(".")[0], text.partition(".")[2]) for text in found)


class Bounds(ListOf):
    """The lowest and the highest believable value."""

    def __init__(self) -> None:
        super().__init__(Quantity("a quantity"), "lowest and highest believable", 2, 2)

    def read(self, node: Node, place: Place, context: Context) -> Any:
        before = len(context.faults)
        found = super().read(node, place, context)
        if len(context.faults) > before or found is None:
            return None
        if found[0] >= found[1]:
            context.fault(place, "expected the lowest and the highest believable value")
        return found


class Limits(MapOf):
    """question: quantity, each in the unit of its question."""

    def __init__(self, *keys: str, about: str, least: int) -> None:
        super().__init__(Quantity("a quantity"), *keys, about=about, least=least)

    def read(self, node: Node, place: Place, context: Context) -> Any:
        if not isinstance(node, yaml.Mapping):
            return super().read(node, place, context)
        found: dict[str, Any] = {}
        for key, child in node.items.items():
            known = [context.entries[section][key] for section in self.keys if key in context.entries[section]]
            context.unit = (known[0].unit if known else "") or "1"
            one = yaml.Mapping({key: child}, node.line, node.key_lines, node.column, node.key_columns)
            found.update((super().read(one, place, context) or {}) if known else {})
            if not known:
                context.references.append(Reference(self.keys, key, place.key(key, node)))
        return found


class Made(Kind):
    """Another kind whose value is handed to *make*."""

    def __init__(self, kind: Kind, make: Callable[[Any], Any]) -> None:
        self.kind, self.make = kind, make

    def read(self, node: Node, place: Place, context: Context) -> Any:
        found = self.kind.read(node, place, context)
        return None if found is None else self.make(found)

    def schema(self, words: Words) -> JsonSchema:
        return self.kind.schema(words)
