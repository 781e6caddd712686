"""A strict reader of YAML (and JSON) on PyYAML's safe event stream.

YAML guesses: `no` becomes false, `1:30` becomes 90, a key written twice keeps its last value, an alias can blow ten
lines up to gigabytes. Here every scalar stays the text that was written, with its line, and whoever knows the key
decides what it means. Anchors, aliases, tags and merge keys are refused, and so are a key twice and deep nesting.
Working on events is also several times faster than building objects and it never recurses.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

import yaml

from diagnose.errors import Fault

MAX_DEPTH = 24
_LOADER = yaml.CSafeLoader if yaml.__with_libyaml__ else yaml.SafeLoader


@dataclass(slots=True)
class Scalar:
    """Text as written; *plain* is false where it stood in quotes or in a block."""

    text: str
    line: int
    plain: bool = True


@dataclass(slots=True)
class Sequence:
    """A list of nodes."""

    items: list[Node]
    line: int


@dataclass(slots=True)
class Mapping:
    """Keys with their nodes in the order written, and the line of each key."""

    items: dict[str, Node]
    line: int
    key_lines: dict[str, int] = field(default_factory=dict)


Node = Scalar | Sequence | Mapping


class _Refused(Exception):
    def __init__(self, line: int, message: str) -> None:
        super().__init__(message)
        self.line = line


def decode(data: bytes, file: str, limit: int) -> tuple[str | None, Fault | None]:
    """Return the text of *data*, or the fault that makes it unreadable: over *limit* bytes, binary, not UTF-8."""
    if len(data) > limit:
        return None, Fault(file, 0, f"{len(data)} bytes, expected at most {limit}")
    if b"\0" in data:
        return None, Fault(file, 0, "a binary file, expected text (YAML or JSON)")
    try:
        return data.decode("utf-8-sig"), None
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        return None, Fault(file, line, f"byte 0x{data[error.start]:02x} is not UTF-8, expected text in UTF-8")


def read_node(text: str, file: str) -> tuple[Node | None, list[Fault]]:
    """Return the one document of *text* as nodes, or the faults that stop it from being read."""
    if file.lower().endswith(".json"):
        text = text.replace("\t", " ")  # JSON may be indented with tabs, YAML may not
    faults: list[Fault] = []
    try:
        node = _build(text, file, faults)
    except _Refused as error:
        return None, [*faults, Fault(file, error.line, str(error))]
    except yaml.YAMLError as error:
        return None, [*faults, _syntax_fault(error, file)]
    if node is None:
        return None, [Fault(file, 0, "empty, expected keys and values")]
    return (None, faults) if faults else (node, [])


def _syntax_fault(error: yaml.YAMLError, file: str) -> Fault:
    mark = getattr(error, "problem_mark", None)
    problem = getattr(error, "problem", None) or str(error).split("\n", 1)[0]
    return Fault(file, mark.line + 1 if mark else 0, f"not readable as YAML: {problem}")


@dataclass(slots=True)
class _Open:
    node: Sequence | Mapping
    key: Scalar | None = None


def _build(text: str, file: str, faults: list[Fault]) -> Node | None:
    stack: list[_Open] = []
    root: Node | None = None
    documents = 0
    for event in _events(text):
        line = event.start_mark.line + 1
        if isinstance(event, yaml.DocumentStartEvent):
            documents += 1
            if documents > 1:
                raise _Refused(line, "a second document starts here, expected one to a file")
            continue
        if isinstance(event, (yaml.MappingEndEvent, yaml.SequenceEndEvent)):
            stack.pop()
            continue
        node = _node_of(event, line)
        if node is None:
            continue
        if not stack:
            root = node
        elif _attach(stack[-1], node, file, faults):
            continue
        if not isinstance(node, Scalar):
            stack.append(_Open(node))
            if len(stack) > MAX_DEPTH:
                raise _Refused(line, f"nested more than {MAX_DEPTH} deep")
    return root


def _events(text: str) -> Iterator[yaml.Event]:
    try:
        yield from yaml.parse(text, Loader=_LOADER)
    except RecursionError:
        raise _Refused(0, f"nested more than {MAX_DEPTH} deep") from None


def _node_of(event: yaml.Event, line: int) -> Node | None:
    if isinstance(event, yaml.AliasEvent):
        raise _Refused(line, f"alias *{event.anchor}: anchors and aliases are refused, write the value out")
    if isinstance(event, (yaml.ScalarEvent, yaml.CollectionStartEvent)):
        if event.anchor is not None:
            raise _Refused(line, f"anchor &{event.anchor}: anchors and aliases are refused, write the value out")
        if event.tag is not None:
            raise _Refused(line, f"tag {event.tag}: tags are refused, write the plain value")
    if isinstance(event, yaml.ScalarEvent):
        return Scalar(_mend_surrogates(event.value), line, event.style is None)
    if isinstance(event, yaml.MappingStartEvent):
        return Mapping({}, line)
    if isinstance(event, yaml.SequenceStartEvent):
        return Sequence([], line)
    return None


def _mend_surrogates(text: str) -> str:
    """JSON writes characters beyond the first plane as two escapes; join them."""
    if not any("\ud800" <= char <= "\udfff" for char in text):
        return text
    return text.encode("utf-16", "surrogatepass").decode("utf-16", "replace")


def _attach(top: _Open, node: Node, file: str, faults: list[Fault]) -> bool:
    """Hang *node* on the open collection; true when it was a key."""
    holder = top.node
    if isinstance(holder, Sequence):
        holder.items.append(node)
        return False
    if top.key is None:
        if not isinstance(node, Scalar):
            raise _Refused(node.line, "a list or a mapping stands where a key was expected")
        if node.plain and node.text == "<<":
            raise _Refused(node.line, "merge key <<: merge keys are refused, write the keys out")
        top.key = node
        return True
    key, top.key = top.key, None
    if key.text in holder.items:
        faults.append(Fault(file, key.line, f"{key.text}: stands twice, first in line {holder.key_lines[key.text]}"))
        return False
    holder.items[key.text] = node
    holder.key_lines[key.text] = key.line
    return False
