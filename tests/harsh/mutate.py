"""Changes that know the trade: ids, units and keys in place of one another, in JSON, in YAML, in copied text and in photos.

A fuzzer that only turns bits seldom gets past the brackets; these keep the shape and spoil one place. `mutated` is seeded, so that each change can
be had again.
"""

from __future__ import annotations

import base64
import binascii
import json
import random
import re
from functools import cache
from typing import Any

from diagnose.units import _AMBIGUOUS, _TABLE
from tests.harsh.readers import copied, shipped

HOSTILE: tuple[Any, ...] = (
    None,
    True,
    False,
    0,
    -1,
    1,
    1e308,
    -0.0,
    5e-324,
    10**400,
    10**30,
    "",
    " ",
    "unknown",
    "nothing",
    "not_listed",
    "\u202e",
    "\u2028",
    "\x00",
    "\ud800",
    "\ufeff",
    "\x1b[2J",
    "\x85",
    "\uffff",
    "😀",
    "a" * 300,
    "a" * 5000,
    "1:30",
    "1,5",
    "1/0 in",
    "nan",
    "inf g",
    "1e400 g",
    "-1 g",
    "٣ g",
    "²",
    "~",
    "null",
    "<<",
    "&a",
    "*a",
    "!!python/object:x",
    "../../etc/passwd",
    "=1+1",
    "2026-02-30",
    "0000-00-00",
    [],
    {},
    [[]],
    [None],
    [{}],
    {"value": "x"},
    {"value": "61 degF", "source": "measured"},
    {"value": ["tips"], "source": "told"},
    {"": ""},
)
_TOKEN = re.compile(rb"[A-Za-z_][A-Za-z0-9_]*|[0-9][0-9.]*|[^\sA-Za-z0-9_]")
_KEYS = (
    "case title answers about symptoms symptoms_absent symptoms_unknown value source seen absent unknown measured told remembered id date part mold "
    "lot_a lot_b person client photos remarks log good outcome earlier said knowledge causes how next remedies cost probability part_report round token "
    "warned jpeg of looked tested fixed opinion bad not_poured yes no x_other words materials practice sources groups phrases dialect links"
)


@cache
def vocabulary() -> tuple[str, ...]:
    """Every id, option, unit and key that a file may hold."""
    knowledge = shipped()
    tables = (
        knowledge.symptoms,
        knowledge.facts,
        knowledge.checks,
        knowledge.causes,
        knowledge.remedies,
        knowledge.dangers,
        knowledge.materials,
    )
    found = dict.fromkeys(name for table in tables for name in table)
    for table in (knowledge.facts, knowledge.checks):
        for entry in table.values():
            found |= dict.fromkeys(entry.options)
    return (*found, *_KEYS.split(), *_TABLE, *_AMBIGUOUS)


def dictionary() -> str:
    """The vocabulary as a dictionary file of libFuzzer."""
    words = {
        *vocabulary(),
        "---",
        "...",
        "? ",
        "- ",
        ": ",
        "|",
        ">",
        "{",
        "[",
        "\t",
        "\r\n",
        "\ufeff",
        "\ud800".encode("utf-8", "replace").decode(),
    }
    return "".join('"' + "".join(f"\\x{byte:02x}" for byte in word.encode()) + '"\n' for word in sorted(words))


def mutated(data: bytes, seed: int) -> bytes:
    """Return *data* with one to four places changed."""
    chance = random.Random(seed)
    for _ in range(chance.choice((1, 1, 1, 2, 4))):
        data = _changed(data, chance)
    return data


def _changed(data: bytes, chance: random.Random) -> bytes:
    if data.startswith(b"BEGIN PART REPORT"):
        return _inside_copied(data, chance)
    if data[:1] in (b"{", b"["):
        return _json_lines(data, chance)
    return _in_text(data, chance)


def _inside_copied(data: bytes, chance: random.Random) -> bytes:
    """Change what is inside and pack it again with its check, or change the text as it is."""
    if chance.random() < 0.3:
        return _in_text(data, chance)
    body = b"".join(data.split(b"\n")[1:-3])
    try:
        return copied(_json_lines(base64.b64decode(body), chance))
    except binascii.Error:
        return _in_text(data, chance)


def _json_lines(data: bytes, chance: random.Random) -> bytes:
    """Change a place in one of the lines, each of which is JSON; where none is, change the text."""
    lines = data.split(b"\n")
    at = chance.randrange(len(lines))
    try:
        plain = json.loads(lines[at])
    except (ValueError, RecursionError):
        return _in_text(data, chance)
    what = chance.random()
    if what < 0.1:
        lines[at] = _in_text(lines[at], chance)
    elif what < 0.15:
        lines.insert(at, lines[at])
    else:
        lines[at] = json.dumps(_place(plain, chance), ensure_ascii=chance.random() < 0.7).encode(
            "utf-8", "surrogatepass"
        )
    return b"\n".join(lines)


def _place(plain: Any, chance: random.Random) -> Any:
    """Change one place of a tree of values."""
    if isinstance(plain, dict) and plain and chance.random() < 0.9:
        return _in_table(plain, chance)
    if isinstance(plain, list) and plain and chance.random() < 0.85:
        at = chance.randrange(len(plain))
        more = [plain[at]] * chance.choice((0, 0, 0, 1, 3, 200))
        return [*plain[:at], _place(plain[at], chance), *plain[at + 1 :], *more]
    if isinstance(plain, str) and len(plain) > 200 and chance.random() < 0.7:
        return _photo(plain, chance)
    return _word(chance) if chance.random() < 0.5 else chance.choice(HOSTILE)


def _in_table(plain: dict[str, Any], chance: random.Random) -> dict[str, Any]:
    name, found, what = chance.choice(list(plain)), dict(plain), chance.random()
    if what < 0.08:
        del found[name]
    elif what < 0.2:
        found[_word(chance) if chance.random() < 0.8 else str(chance.choice(HOSTILE))] = found[name]
    elif what < 0.35:
        found[_word(chance)] = _word(chance) if chance.random() < 0.7 else chance.choice(HOSTILE)
    else:
        found[name] = _place(plain[name], chance)
    return found


def _photo(text: str, chance: random.Random) -> str:
    """Turn bytes of what is packed in *text*, so that it is still base64."""
    try:
        inside = bytearray(base64.b64decode(text, validate=True))
    except (binascii.Error, ValueError):
        return text[: chance.randrange(len(text))]
    for _ in range(chance.choice((1, 3, 30))):
        inside[chance.randrange(len(inside))] = chance.randrange(256)
    return base64.b64encode(inside).decode()


def _word(chance: random.Random) -> str:
    word = chance.choice(vocabulary())
    number = chance.choice(("0", "1", "-1", "61", "0.5", "1e9", "999999", "1/2", "1 1/2", "1,5", "1,000"))
    return f"{number} {word}" if chance.random() < 0.3 else word


def _in_text(data: bytes, chance: random.Random) -> bytes:
    """Change one token or one line, or cut, double or turn bytes."""
    lines = data.split(b"\n")
    at = chance.randrange(len(lines))
    what = chance.randrange(8)
    if what == 0:
        del lines[at]
    elif what == 1:
        lines.insert(chance.randrange(len(lines) + 1), lines[at])
    elif what == 2:
        lines[at] = b" " * chance.choice((0, 1, 2, 4, 8)) + lines[at].lstrip()
    elif what == 3:
        lines[at] += str(chance.choice(HOSTILE)).encode("utf-8", "surrogatepass")
    elif what == 4 and data:
        return data[: chance.randrange(len(data))]
    elif what == 5 and data:
        turned = bytearray(data)
        turned[chance.randrange(len(turned))] = chance.randrange(256)
        return bytes(turned)
    else:
        lines[at] = _token(lines[at], chance)
    return b"\n".join(lines)


def _token(line: bytes, chance: random.Random) -> bytes:
    found = list(_TOKEN.finditer(line))
    word = _word(chance) if chance.random() < 0.7 else str(chance.choice(HOSTILE))
    new = word.encode("utf-8", "surrogatepass")
    if not found:
        return line + new
    one = chance.choice(found)
    return line[: one.start()] + new + line[one.end() :]
