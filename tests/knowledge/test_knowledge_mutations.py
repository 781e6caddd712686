"""Whatever is taken out, renamed or replaced in a knowledge file, the answer is a list of faults or a whole knowledge, never a crash."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

import msgspec
import pytest

from diagnose.errors import FileFaults
from diagnose.knowledge.callers import Callers
from diagnose.knowledge.files import SourceFile
from diagnose.knowledge.model import Knowledge
from diagnose.knowledge.reader import compile_files
from diagnose.knowledge.yaml_reader import Node, Scalar, Sequence, read_node

Path = tuple[str | int, ...]
REMOVED = object()


def plain(node: Node) -> Any:
    """Return the node as lists, mappings and texts."""
    if isinstance(node, Scalar):
        return node.text
    if isinstance(node, Sequence):
        return [plain(item) for item in node.items]
    return {key: plain(child) for key, child in node.items.items()}


def paths(data: Any, above: Path = ()) -> Iterator[Path]:
    """Yield the path of everything below the top."""
    for key in data if isinstance(data, dict) else range(len(data)) if isinstance(data, list) else ():
        yield (*above, key)
        yield from paths(data[key], (*above, key))


def changed(text: str, path: Path, value: Any) -> bytes:
    """Return the data of *text*, as JSON, with what stands at *path* replaced by *value* or removed."""
    data = json.loads(text)
    holder = data
    for key in path[:-1]:
        holder = holder[key]
    if value is REMOVED:
        del holder[path[-1]]
    else:
        holder[path[-1]] = value
    return json.dumps(data).encode()


def survives(*files: tuple[str, bytes]) -> bool:
    """Compile *files*; true where they were taken, and then they come back from the cache. Each fault names its file."""
    refused: FileFaults | None = None
    try:
        made = compile_files(SourceFile(*file) for file in files)
        assert msgspec.json.decode(msgspec.json.encode(made), type=tuple[Knowledge, Callers]) == made
    except FileFaults as faults:
        refused = faults
    assert refused is None or all(fault.file and fault.message for fault in refused.faults)
    return refused is None


@pytest.mark.parametrize("value", [REMOVED, "", {"a": "b"}, "-1"], ids=["removed", "empty", "mapping", "number"])
@pytest.mark.parametrize("which", ["trade", "words"])
def test_no_change_of_one_place_crashes_the_reader(trade: str, words: str, which: str, value: Any) -> None:
    """Every key and item of the small trade and of the words, one after another."""
    node, _ = read_node(trade if which == "trade" else words, "a.yaml")
    assert node is not None
    text = json.dumps(plain(node))
    taken = tried = 0
    for path in paths(json.loads(text)):
        spoilt = changed(text, path, value)
        files = (
            (("trade.json", spoilt), ("words.yaml", words.encode()))
            if which == "trade"
            else (("trade.yaml", trade.encode()), ("words.json", spoilt))
        )
        taken += survives(*files)
        tried += 1
    assert tried > 60
    assert taken < tried
