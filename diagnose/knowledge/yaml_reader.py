"""A strict reader of YAML (and JSON) on PyYAML's safe event stream.

YAML guesses: `no` becomes false, `1:30` becomes 90, a key written twice keeps its last value, an alias can blow ten
lines up to gigabytes. Here every scalar stays the text that was written, with its line, and whoever knows the key
decides what it means. Anchors, aliases, tags and merge keys are refused, and so are a key twice and deep nesting.
Working on events is also several times faster than building objects and it never recurses.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

import yaml
from msgspec import Struct, field

from diagnose.errors import Fault, shown

MAX_DEPTH = 24
_LOADER = yaml.CSafeLoader if yaml.__with_libyaml__ else yaml.SafeLoader
#: a backslash pair, kept, or two escapes of JSON that are one character beyond the first plane
_PAIR = re.compile(r"\\\\|\\u(d[89ab][0-9a-f]{2})\\u(d[c-f][0-9a-f]{2})", re.IGNORECASE)


class Scalar(Struct):
    """Text as written; *plain* is false where it stood in quotes or in a block."""

    text: str
    line: int
    plain: bool = True
    column: int = 0


class Sequence(Struct):
    """A list of nodes."""

    items: list[Node]
    line: int
    column: int = 0


class Mapping(Struct):
    """Keys with their nodes in the order written, and the line and column of each key."""

    items: dict[str, Node]
    line: int
    key_lines: dict[str, int] = field(default_factory=dict)
    column: int = 0
    key_columns: dict[str, int] = field(default_factory=dict)


Node = Scalar | Sequence | Mapping


class _Refused(Exception):
    def __init__(self, line: int, message: str, column: int = 0) -> None:
        super().__init__(message)
        self.line, self.column = line, column


def decode(data: bytes, file: str, limit: int) -> tuple[str | None, Fault | None]:
    """Return the text of *data*, or the fault that makes it unreadable: over *limit* bytes, binary, not UTF-8."""
    if len(data) > limit:
        return None, Fault(file, 0, f"over {limit} bytes, expected at most {limit >> 20} MiB")
    if b"\0" in data:
        return None, Fault(file, 0, "a binary file, expected text (YAML or JSON)")
    try:
        return data.decode("utf-8-sig"), None
    except UnicodeDecodeError as error:
        read: bytes = error.object  # without the byte order mark, so that *start* counts from the same place
        line = read[: error.start].count(b"\n") + 1
        return None, Fault(file, line, f"byte 0x{read[error.start]:02x} is not UTF-8, expected text in UTF-8")


def read_node(text: str, file: str, most: int = 1_000_000) -> tuple[Node | None, list[Fault]]:
    """Return the one document of *text* as nodes, with the faults found on the way (a key twice: the first is kept).

    The node is None where a fault stops the reading; more than *most* keys and values are one.
    """
    if file.lower().endswith(".json"):
        text = text.replace("\t", " ")  # JSON may be indented with tabs, YAML may not
        text = _PAIR.sub(_joined, text)
    faults: list[Fault] = []
    try:
        node = _build(text, file, faults, most)
    except _Refused as error:
        return None, [*faults, Fault(file, error.line, str(error), error.column)]
    except yaml.YAMLError as error:
        return None, [*faults, _syntax_fault(error, file, text)]
    if node is None:
        return None, [Fault(file, 0, "empty, expected keys and values")]
    return node, faults


def _joined(match: re.Match[str]) -> str:
    """JSON writes a character beyond the first plane as two escapes, which YAML does not know."""
    if match[1] is None:
        return match[0]
    return chr(0x10000 + ((int(match[1], 16) - 0xD800) << 10) + int(match[2], 16) - 0xDC00)


def _syntax_fault(error: yaml.YAMLError, file: str, text: str) -> Fault:
    """Say where and what; the library's words are kept, with what a caster may have done where that can be told."""
    mark = error.problem_mark if isinstance(error, yaml.MarkedYAMLError) else None
    problem = getattr(error, "problem", None) or "something is out of place"
    if mark is None:
        return Fault(file, _first_control(text), "holds a control character, expected plain text")
    lines = text.splitlines()
    line = min(mark.line + 1, max(1, len(lines)))
    hint = _hint(lines[line - 1] if lines else "", problem)
    return Fault(file, line, f"not readable as YAML: {problem}{hint}", mark.column + 1)


def _hint(line: str, problem: str) -> str:
    if "\t" in line[: len(line) - len(line.lstrip())]:
        return "; the line is indented with a tab, use blanks"
    if "mapping values" in problem:
        return "; a text with a colon in it wants quotes"
    if "cannot start any token" in problem:
        return "; a text that starts with a sign wants quotes"
    return (
        "; is a bracket or a quote left open, or the file cut short?"
        if "end of stream" in problem or "',' or" in problem
        else ""
    )


def _first_control(text: str) -> int:
    """Return the line of the first character that YAML does not allow, 0 where none is found."""
    found = re.search(r"[^\t\n\r\x20-\x7e\x85\xa0-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]", text)
    return text.count("\n", 0, found.start()) + 1 if found else 0


class _Open(Struct):
    node: Sequence | Mapping
    key: Scalar | None = None


def _build(text: str, file: str, faults: list[Fault], most: int) -> Node | None:
    stack: list[_Open] = []
    root: Node | None = None
    documents = count = 0
    for event in _events(text):
        line = event.start_mark.line + 1 if event.start_mark else 0
        if isinstance(event, yaml.DocumentStartEvent):
            documents += 1
            if documents > 1:
                raise _Refused(line, "a second document starts here, expected one to a file")
            continue
        if isinstance(event, (yaml.MappingEndEvent, yaml.SequenceEndEvent)):
            stack.pop()
            continue
        node = _node_of(event, line, event.start_mark.column + 1 if event.start_mark else 0)
        if node is None:
            continue
        count += 1
        if count > most:
            raise _Refused(line, f"more than {most} keys and values")
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
        raise _Refused(_deep_line(text), f"nested more than {MAX_DEPTH} deep") from None
    except UnicodeEncodeError as error:
        raise _Refused(text.count("\n", 0, error.start) + 1, "holds half a character, expected text in UTF-8") from None
    except yaml.YAMLError as error:
        if "nesting depth" in str(error):
            raise _Refused(_deep_line(text), f"nested more than {MAX_DEPTH} deep") from None
        raise


def _deep_line(text: str) -> int:
    """Return the line in which more brackets stand open than are read, 0 where none does:
    the C parser gives no place for it.
    """
    deep = 0
    for number, line in enumerate(text.splitlines(), start=1):
        for char in line:
            deep += (char in "[{") - (char in "]}")
            if deep > MAX_DEPTH:
                return number
    return 0


def _node_of(event: yaml.Event, line: int, column: int) -> Node | None:
    if isinstance(event, yaml.AliasEvent):
        raise _Refused(
            line, f"alias *{shown(event.anchor or '')}: anchors and aliases are refused, write the value out"
        )
    if isinstance(event, (yaml.ScalarEvent, yaml.CollectionStartEvent)):
        if event.anchor is not None:
            raise _Refused(line, f"anchor &{shown(event.anchor)}: anchors and aliases are refused, write the value out")
        if event.tag is not None:
            raise _Refused(line, f"tag {shown(event.tag)}: tags are refused, write the plain value")
    if isinstance(event, yaml.ScalarEvent):
        return Scalar(event.value, line, not event.style, column)
    if isinstance(event, yaml.MappingStartEvent):
        return Mapping({}, line, column=column)
    if isinstance(event, yaml.SequenceStartEvent):
        return Sequence([], line, column)
    return None


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
        faults.append(
            Fault(
                file,
                key.line,
                f"{shown(key.text)}: stands twice, first in line {holder.key_lines[key.text]}",
                key.column,
            )
        )
        return False
    holder.items[key.text] = node
    holder.key_lines[key.text], holder.key_columns[key.text] = key.line, key.column
    return False
