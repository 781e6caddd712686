"""A seeded fuzzer: changed files, for a stated number of rounds, with no crash and no hang. `DIAGNOSE_FUZZ` sets more
rounds.
"""

from __future__ import annotations

import base64
import io
import json
import os
import random
import time
from typing import Any

import pytest
from PIL import Image

from diagnose.assessment.consultation import ModelCache
from diagnose.commands._desk_log import DeskLog
from diagnose.errors import InputError
from diagnose.knowledge import Knowledge
from diagnose.remote.desk import take
from diagnose.remote.returned import read_returned

from .conftest import DAY, packed, report

ROUNDS = int(os.environ.get("DIAGNOSE_FUZZ", "600"))
#: seconds that one reading may take
SLOWEST = 3.0
_VALUES: tuple[Any, ...] = (
    None,
    True,
    False,
    0,
    -1,
    1e308,
    10**400,
    "",
    "unknown",
    "\u202e",
    "\x00",
    "a" * 5000,
    [],
    {},
    [[]],
    {"value": "x"},
    "61 degF",
    "../x",
)


def _start(shipped: Knowledge, chance: random.Random) -> dict[str, Any]:
    made = io.BytesIO()
    Image.new("RGB", (32, 32)).save(made, "JPEG")
    facts = dict.fromkeys(chance.sample(sorted(shipped.facts), 6), "yes")
    checks = {
        name: chance.choice(sorted(check.results) or ["1"])
        for name, check in shipped.checks.items()
        if chance.random() < 0.3
    }
    symptoms = chance.sample(sorted(shipped.symptoms), 4)
    answers = {"build": "bare_foam", "symptoms": symptoms[:2], "symptoms_absent": symptoms[2:], **facts, **checks}
    return report(
        answers=answers, photos=[{"name": "x", "of": "y", "jpeg": base64.b64encode(made.getvalue()).decode()}]
    )


def _changed(plain: Any, chance: random.Random) -> Any:
    """Change one place of a tree of values."""
    if isinstance(plain, dict) and plain and chance.random() < 0.85:
        name = "case" if "case" in plain and chance.random() < 0.8 else chance.choice(list(plain))
        found = dict(plain)
        what = chance.random()
        if what < 0.1:
            del found[name]
        elif what < 0.2:
            found[chance.choice(["", "x" * 300, "case", "\u2028", "answers", "symptoms"])] = found[name]
        else:
            found[name] = _changed(plain[name], chance)
        return found
    if isinstance(plain, list) and plain and chance.random() < 0.85:
        at = chance.randrange(len(plain))
        return [*plain[:at], _changed(plain[at], chance), *plain[at + 1 :], *([plain[at]] * chance.choice([0, 0, 3]))]
    return chance.choice(_VALUES)


def _bytes(plain: Any, chance: random.Random) -> bytes:
    """The bytes of a file, sometimes cut, flipped or doubled."""
    data = bytearray(packed(plain))
    for _ in range(chance.choice([0, 0, 0, 0, 0, 0, 1, 20])):
        data[chance.randrange(len(data))] = chance.randrange(256)
    if chance.random() < 0.1:
        del data[chance.randrange(len(data)) :]
    if chance.random() < 0.05:
        data = data + data
    return bytes(data)


@pytest.mark.timeout(900)
def test_changed_files_neither_crash_nor_hang(shipped: Knowledge, models: ModelCache, log: DeskLog) -> None:
    """Every changed file is read with its faults or refused in one line; some of those read are taken in to the end."""
    chance = random.Random(20260302)
    read = refused = taken = 0
    said: list[str] = []
    for _ in range(ROUNDS):
        plain: Any = _start(shipped, chance)
        for _ in range(chance.randrange(1, 6)):
            plain = _changed(plain, chance)
        data = _bytes(plain, chance)
        began = time.process_time()
        try:
            found = read_returned(data, "fuzz", shipped)
            assert time.process_time() - began < SLOWEST, json.dumps(data[:300].decode(errors="replace"))
        except InputError as error:
            refused += 1
            said.append(str(error))
        else:
            read += 1
            for text in (*found.faults, found.client, found.case.title, *map(str, found.case.about.told().values())):
                assert text.isprintable()
            if chance.random() < 0.03:
                take(found, log, models, DAY)
                taken += 1
    assert all(line.isprintable() for line in said)
    assert read > ROUNDS / 5
    assert refused > ROUNDS / 20
    assert taken > 0
