"""The strict YAML reader: what YAML would guess stays text, and its traps are refused with the line."""

from __future__ import annotations

import json
import time

import pytest

from diagnose.knowledge import yaml_reader
from diagnose.knowledge.yaml_reader import Mapping, Scalar, Sequence, decode, read_node

LIMIT = 1 << 20


def faults(text: str, file: str = "a.yaml") -> list[str]:
    """Return the faults of *text*, a line each."""
    return [str(fault) for fault in read_node(text, file)[1]]


def refused(data: bytes) -> str:
    """Return why *data* is no text."""
    text, fault = decode(data, "a.yaml", LIMIT)
    assert text is None
    return str(fault)


@pytest.mark.parametrize(
    "text",
    ["no", "yes", "on", "1:30", "012", "1_000", "1e3", "0x1F", "2026-01-02", "null", "~", ".nan", "100:45", "=", "1,5"],
)
def test_scalars_stay_the_text_that_was_written(text: str) -> None:
    """What YAML would turn into something else stays text, as a value and as a key."""
    node, found = read_node(f"a: {text}\n{text}: b\n", "a.yaml")
    assert not found
    assert isinstance(node, Mapping)
    assert node.items["a"] == Scalar(text, 1, True, 4)
    assert node.items[text] == Scalar("b", 2, True, len(text) + 3)


def test_lines_are_those_of_the_file() -> None:
    """Every node and every key knows its line, counted from one."""
    node, _ = read_node("# first\na:\n  - x\n  - {b: y}\n", "a.yaml")
    assert isinstance(node, Mapping)
    assert node.key_lines == {"a": 2}
    items = node.items["a"]
    assert isinstance(items, Sequence)
    assert [item.line for item in items.items] == [3, 4]


def test_quotes_are_remembered() -> None:
    """A quoted value is told from a bare one, so that another program's keys can be written back as they came."""
    node, _ = read_node("a: 3\nb: '3'\n", "a.yaml")
    assert isinstance(node, Mapping)
    assert (node.items["a"], node.items["b"]) == (Scalar("3", 1, True, 4), Scalar("3", 2, False, 4))


def test_a_key_twice_is_a_fault_with_both_lines() -> None:
    """A key that stands twice is refused, and the reading goes on to find the others."""
    assert faults("a: 1\nb: {c: 1, c: 2}\na: 3\n") == [
        "a.yaml:2: c: stands twice, first in line 2",
        "a.yaml:3: a: stands twice, first in line 1",
    ]


def test_a_key_twice_keeps_the_first_value() -> None:
    """The first of two is kept, so that what stands in it is still checked."""
    node, _ = read_node("a: 1\na: {b: 2}\n", "a.yaml")
    assert isinstance(node, Mapping)
    assert node.items == {"a": Scalar("1", 1, True, 4)}


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("a: &x 1\n", "a.yaml:1: anchor &x: anchors and aliases are refused, write the value out"),
        ("a: &x [1]\n", "a.yaml:1: anchor &x: anchors and aliases are refused, write the value out"),
        ("a: 1\nb: *x\n", "a.yaml:2: alias *x: anchors and aliases are refused, write the value out"),
        ("a:\n  <<: {b: 1}\n", "a.yaml:2: merge key <<: merge keys are refused, write the keys out"),
        ("a: !!int 3\n", "a.yaml:1: tag tag:yaml.org,2002:int: tags are refused, write the plain value"),
        ("a: !shop 3\n", "a.yaml:1: tag !shop: tags are refused, write the plain value"),
        (
            "a: !!python/object/apply:os.system [ls]\n",
            "a.yaml:1: tag tag:yaml.org,2002:python/object/apply:os.system: tags are refused, write the plain value",
        ),
        ("a: 1\n---\nb: 2\n", "a.yaml:2: a second document starts here, expected one to a file"),
        ("? [a, b]\n: c\n", "a.yaml:1: a list or a mapping stands where a key was expected"),
        ("", "a.yaml: empty, expected keys and values"),
        ("# only a remark\n\n", "a.yaml: empty, expected keys and values"),
        ("a: 1\nb: \x07\n", "a.yaml:2: holds a control character, expected plain text"),
        ("a: 1\nb: \ud800\n", "a.yaml:2: holds half a character, expected text in UTF-8"),
    ],
)
def test_traps_are_refused(text: str, message: str) -> None:
    """Anchors, aliases, merge keys, tags, second documents and the like are refused, each with its line."""
    assert faults(text) == [message]


@pytest.mark.parametrize(
    ("text", "line", "hint"),
    [
        ("a:\n\tb: 1\n", 2, "; the line is indented with a tab, use blanks"),
        ("a: b: c\n", 1, "; a text with a colon in it wants quotes"),
        ("a: 1\nb: @c\n", 2, "; a text that starts with a sign wants quotes"),
        ("a: 'b\n", 1, "; is a bracket or a quote left open, or the file cut short?"),
        ("a: [1, 2\n", 1, "; is a bracket or a quote left open, or the file cut short?"),
    ],
)
def test_slips_of_the_pen_have_a_hint(text: str, line: int, hint: str) -> None:
    """What isn't YAML is told with its line, and with what to do where that can be told."""
    (fault,) = faults(text)
    assert fault.startswith(f"a.yaml:{line}: not readable as YAML: ")
    assert fault.endswith(hint)


@pytest.mark.parametrize("opening", ["[", "{a: ", "- "])
def test_deep_nesting_is_refused_at_once(opening: str) -> None:
    """Twenty thousand brackets deep is one line, in less than a second."""
    start = time.perf_counter()
    (fault,) = faults(opening * 20_000)
    assert fault.endswith("nested more than 24 deep")
    assert time.perf_counter() - start < 10.0


def test_deep_nesting_is_refused_by_the_slow_reader_too(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where PyYAML has no C library the answer is the same."""
    import yaml

    monkeypatch.setattr(yaml_reader, "_LOADER", yaml.SafeLoader)
    (fault,) = faults("[" * 20_000)
    assert fault.endswith("nested more than 24 deep")


def test_an_alias_bomb_is_refused_at_its_first_anchor() -> None:
    """Ten lines that would be gigabytes are refused before anything is built."""
    bomb = "a: &a [x, x]\n" + "".join(
        f"{b}: &{b} [*{a}, *{a}, *{a}, *{a}]\n" for a, b in zip("abcdefgh", "bcdefghi", strict=True)
    )
    assert faults(bomb) == ["a.yaml:1: anchor &a: anchors and aliases are refused, write the value out"]


def test_windows_line_ends_and_a_byte_order_mark_are_fine() -> None:
    """CRLF and a BOM change nothing, neither the values nor the lines."""
    text, fault = decode(b"\xef\xbb\xbfa: 1\r\nb:\r\n  - x\r\n", "a.yaml", LIMIT)
    assert fault is None
    node, found = read_node(text or "", "a.yaml")
    assert not found
    assert isinstance(node, Mapping)
    assert (node.items["a"], node.key_lines) == (Scalar("1", 1, True, 4), {"a": 1, "b": 2})


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b"a: 1\nb: \xb0C\n", "a.yaml:2: byte 0xb0 is not UTF-8, expected text in UTF-8"),
        (b"\xef\xbb\xbfa: 1\nb: \xb0C\n", "a.yaml:2: byte 0xb0 is not UTF-8, expected text in UTF-8"),
        (b"\x89PNG\r\n\0\0", "a.yaml: a binary file, expected text (YAML or JSON)"),
        ("a: 1\n".encode("utf-16"), "a.yaml: a binary file, expected text (YAML or JSON)"),
        (b"x" * (LIMIT + 1), "a.yaml: over 1048576 bytes, expected at most 1 MiB"),
    ],
)
def test_what_is_no_text_is_refused(data: bytes, message: str) -> None:
    """Binary files, other encodings and files over the limit are refused before they are read as YAML."""
    assert refused(data) == message


def test_json_is_read_as_json_is_written() -> None:
    """Tabs, no blanks after colons, and characters beyond the first plane as two escapes."""
    text = json.dumps({"a": "\N{SKULL}\N{GRINNING FACE}", "b": [1, True, None]}, indent="\t")
    assert "\\ud83d" in text
    node, found = read_node(text, "a.json")
    assert not found
    assert isinstance(node, Mapping)
    assert node.items["a"] == Scalar("\N{SKULL}\N{GRINNING FACE}", 2, False, 7)
    assert read_node('{"a":1,"b":{"c":[2]}}', "a.json")[1] == []


def test_an_escaped_backslash_is_no_escape() -> None:
    """In JSON a doubled backslash before `ud83d` is a backslash, not half a character."""
    node, _ = read_node(json.dumps({"a": "\\ud83d\\ude00"}), "a.json")
    assert isinstance(node, Mapping)
    assert node.items["a"] == Scalar("\\ud83d\\ude00", 1, False, 7)


def test_a_fault_is_one_line_whatever_stands_in_the_file() -> None:
    """A key with a line break or an escape sequence can neither break the line nor steer the terminal."""
    (fault,) = faults('"a\\nb\\e[31m": 1\n"a\\nb\\e[31m": 2\n')
    assert fault == "a.yaml:2: a b\\x1b[31m: stands twice, first in line 1"
