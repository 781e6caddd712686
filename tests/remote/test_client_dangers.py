"""The page's rule for dangers is the desk's: the same answers bring the same warnings, off line in the page and at the desk."""

from __future__ import annotations

import json
import random
from collections.abc import Callable
from typing import Any

import pytest

from diagnose.casebook.dangers import AGE, MASS, SECTION, WARMTH, dangers_of
from diagnose.knowledge import Knowledge
from diagnose.reasoning.answers import SEEN
from diagnose.remote.cases import usable_case
from diagnose.remote.order import Order
from diagnose.remote.page import Errand, page_data, page_text

from .conftest import Open

pytestmark = pytest.mark.browser
Opened = Callable[..., Open]
_SIZES = {SECTION: ("80 mm", "119 mm", "121 mm", "5 in"), AGE: ("1 h", "23 h", "24 h", "2 day"), WARMTH: ("20 degC", "90 degF", "36 degC", "70 degC"),
          **{name: ("0.9 kg", "1.99 kg", "2.01 kg", "5 lb", "80 oz") for names in MASS for name in names}}  # fmt: skip


def _answers(shipped: Knowledge, chance: random.Random) -> dict[str, Any]:
    """Some of the answers that the dangers look at, most of the numbers near a limit."""
    found: dict[str, Any] = {}
    for danger in shipped.dangers.values():
        for name in danger.symptoms:
            if chance.random() < 0.06:
                found.setdefault("symptoms", []).append(name)
        for question, values in danger.answers.items():
            if chance.random() < 0.15:
                found[question] = chance.choice([*values, "unknown"])
    for name, texts in _SIZES.items():
        if chance.random() < 0.35 and shipped.question_kind(name):
            found[name] = chance.choice([*texts, "unknown"])
    if "symptoms" in found:
        found["symptoms"] = sorted(set(found["symptoms"]))
    return found


def _state(answers: dict[str, Any], data: dict[str, Any]) -> dict[str, Any]:
    """The answers as the page keeps them while they are typed."""
    kept: dict[str, Any] = {}
    for name, told in answers.items():
        if name == "symptoms":
            continue
        number = data["questions"][name]["kind"] == "number"
        value, _, unit = told.partition(" ")
        unknown = told == "unknown"
        kept[name] = (
            {"unknown": unknown, "text": "" if unknown else value, "unit": unit}
            if number
            else {"unknown": unknown, "values": [] if unknown else [told]}
        )
    return {"seen": answers.get("symptoms", []), "answers": kept, "well": "yes", "step": 0}


def test_the_same_answers_bring_the_same_warnings(opened: Opened, shipped: Knowledge, order: Order) -> None:
    """A hundred random cases, most with a number near a limit: page and desk agree on every one."""
    chance = random.Random(12)
    data = page_data(shipped, Errand("harbor"), order)
    page = opened(page_text(shipped, Errand("harbor"), order))
    told = set()
    for _ in range(100):
        answers = _answers(shipped, chance)
        state = json.dumps(
            _state({k: v for k, v in answers.items() if k == "symptoms" or k in data["questions"]}, data)
        )
        page.sheet.evaluate("([key, state]) => localStorage.setItem(key, state)", [f"part-report:{data['key']}", state])
        page.sheet.reload()
        page.sheet.wait_for_selector("body[data-ready]")
        shown = page.sheet.locator("[data-danger]").evaluate_all("all => all.map(one => one.dataset.danger)")
        case = usable_case({"answers": answers}, "case", shipped, [])
        expected = dangers_of(shipped, case.values)
        assert shown == expected, answers
        told.update(expected)
    assert {"hot_core", "free_isocyanate"} <= told


def test_the_page_can_ask_all_that_the_rule_looks_at(shipped: Knowledge, order: Order) -> None:
    """Every symptom and every answer that a danger hangs on can be given on the first page; what is worked out is the desk's."""
    data = page_data(shipped, Errand("harbor"), order)
    for danger in data["dangers"]:
        assert set(danger["symptoms"]) <= set(data["symptoms"])
        asked = [
            *danger["answers"],
            *danger["over"],
            *(name for names in (danger["lumps"] or {"mass": []})["mass"] for name in names),
        ]
        assert {name for name in asked if shipped.question_kind(name)} <= set(data["questions"])
    assert SEEN == "seen"
