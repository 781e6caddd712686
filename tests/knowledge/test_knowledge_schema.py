"""The JSON Schema that an editor uses accepts the shipped files and refuses what the reader refuses in one file."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from diagnose.errors import FileFaults
from diagnose.knowledge import Knowledge, load_knowledge
from diagnose.knowledge.files import SourceFile
from diagnose.knowledge.reader import compile_files
from diagnose.knowledge.schema import json_schema
from diagnose.knowledge.yaml_reader import Node, Scalar, Sequence, read_node

ROOT = Path(__file__).parents[2]
SHIPPED = sorted((ROOT / "knowledge").rglob("*.yaml"))


def as_an_editor_sees(node: Node) -> Any:
    """Return the node as YAML 1.2 types it (numbers, true, false, null; `yes` and `no` are text), as editors do."""
    if isinstance(node, Sequence):
        return [as_an_editor_sees(item) for item in node.items]
    if not isinstance(node, Scalar):
        return {key: as_an_editor_sees(child) for key, child in node.items.items()}
    if not node.plain:
        return node.text
    if node.text in ("true", "false"):
        return node.text == "true"
    if node.text in ("null", "~", ""):
        return None
    if re.fullmatch(r"[-+]?\d+", node.text):
        return int(node.text)
    return float(node.text) if re.fullmatch(r"[-+]?(\d+\.?\d*|\.\d+)([eE][-+]?\d+)?", node.text) else node.text


def read(text: str) -> Any:
    """Return *text* as an editor sees it."""
    node, faults = read_node(text, "a.yaml")
    assert not faults
    assert node is not None
    return as_an_editor_sees(node)


@pytest.fixture(scope="module")
def schema() -> dict[str, Any]:
    """The schema made from the shipped words."""
    return json_schema({table: dict(values) for table, values in load_knowledge().words.items()})


def test_the_schema_is_a_schema(schema: dict[str, Any]) -> None:
    """It is itself valid JSON Schema of 2020-12."""
    jsonschema.Draft202012Validator.check_schema(schema)


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.name)
def test_the_shipped_files_are_accepted(schema: dict[str, Any], path: Path) -> None:
    """Every shipped file is accepted."""
    errors = [
        error.message
        for error in jsonschema.Draft202012Validator(schema).iter_errors(read(path.read_text(encoding="utf-8")))
    ]
    assert errors == []


def test_the_small_trade_is_accepted(schema: dict[str, Any], trade: str) -> None:
    """So is the small trade, in which every kind of entry stands."""
    jsonschema.Draft202012Validator(schema).validate(read(trade))


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("remedies:\n", "remedy:\n"),
        ("    title: Face too cold\n", ""),
        ("    title: Face too cold", "    title: [Face too cold]"),
        ("    title: Face too cold", "    title: ' '"),
        ("    title: Face too cold", f"    title: {'cold ' * 20}"),
        ("    title: Face too cold", "    title: Face too cold\n    colour: red"),
        ("  coat_dry:\n", "  Coat-dry:\n"),
        ("  thin_foam:\n", "  unknown:\n"),
        ("    stage: material", "    stage: materials"),
        ("    minutes: 10\n", "    minutes: ten\n"),
        ("    minutes: 10\n", "    minutes: -10\n"),
        ("  holes: [bubbles]", "  holes: bubbles"),
        ("  holes: [bubbles]", "  holes: [bubbles, bubbles]"),
        (
            "    painted: yes\n    pointless: when it is plain already\n    minutes: 1\n    answerable: usually\n    sources: [small_book]",
            "    painted: yes\n    pointless: when it is plain already\n    minutes: 1\n    answerable: usually\n    sources: []",
        ),
        ("  small_book: {title", "  Small Book: {title"),
        ("    base: occasional", "    base: ocasional"),
        ("      coat_lifts: usually - nothing", "      coat_lifts: mostly - nothing"),
        ("      coat_lifts: usually - nothing is left to bond to", "      coat_lifts: usually"),
        ("{season: for - shops", "{season: fro - shops"),
        ("    plausible: [0 h, 20000 h]", "    plausible: [0 h]"),
        ("    plausible: [0 h, 20000 h]", "    plausible: [0 h, 1 h, 2 h]"),
        ("    error: 10 percent\n", ""),
        ("    kind: id\n", "    kind: id\n    unit: g\n"),
        (
            "{yes: common, no: common}",
            "{yes: common, maybe: common}",
        ),
        ("{id: good, title: Good}", "{id: good, title: Good, to: 3}"),
        ("    in_hand: yes\n    base: good", "    in_hand: maybe\n    base: good"),
        ("    fixes: {coat_dry: usually - the coat still bonds}", "    fixes: {}"),
        ("    when: between_pours", "    when: later"),
    ],
)
def test_what_the_reader_refuses_in_one_file_the_schema_refuses(
    schema: dict[str, Any], trade: str, compiled: Callable[..., Knowledge], old: str, new: str
) -> None:
    """Reader and schema are made from the same definitions and refuse the same slips."""
    assert trade.count(old) == 1
    text = trade.replace(old, new)
    with pytest.raises(FileFaults):
        compiled(text)
    assert list(jsonschema.Draft202012Validator(schema).iter_errors(read(text)))


def test_a_table_of_words_is_checked_by_the_schema_too(schema: dict[str, Any], words: str) -> None:
    """A misspelt table is refused by both."""
    text = words.replace("  likelihood:\n", "  likelyhood:\n")
    assert list(jsonschema.Draft202012Validator(schema).iter_errors(read(text)))
    with pytest.raises(FileFaults):
        compile_files([SourceFile("words.yaml", text.encode())])


@pytest.mark.parametrize("flag", ["yes", "no", "true", "false"])
def test_flags_are_read_as_the_schema_says(
    compiled: Callable[..., Knowledge], schema: dict[str, Any], trade: str, flag: str
) -> None:
    """yes and true are one, no and false are one, for the reader and for the schema."""
    text = trade.replace("    in_hand: yes\n    base: good", f"    in_hand: {flag}\n    base: good")
    jsonschema.Draft202012Validator(schema).validate(read(text))
    assert compiled(text).checks["cup"].in_hand is (flag in ("yes", "true"))


def test_the_file_beside_the_knowledge_is_current(schema: dict[str, Any]) -> None:
    """What editors read is what `diagnose knowledge schema` prints, and every file points to it."""
    assert json.loads((ROOT / "knowledge" / "schema.json").read_text(encoding="utf-8")) == schema
    for path in SHIPPED:
        first = path.read_text(encoding="utf-8").splitlines()[0]
        named = path.parent / first.removeprefix("# yaml-language-server: $schema=")
        assert named.resolve() == ROOT / "knowledge" / "schema.json", path
