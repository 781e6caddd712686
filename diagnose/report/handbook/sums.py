"""The pages of the trade's sums: what each takes and assumes, how to type it,
and a worked example run when the book is made.
"""

from __future__ import annotations

import re
import shlex

from diagnose.bench.calculation import Calculation, Input, Outcome, Value
from diagnose.bench.quantities import label, number
from diagnose.knowledge import Knowledge
from diagnose.report.handbook.pages import Group, Item, Page, Ref, Table, page, section
from diagnose.units import QuantityError, parse_quantity


def sum_page(knowledge: Knowledge, item: Calculation) -> Page:
    """Return the page of a sum; its facts are linked where an input is one."""
    values, told = example_of(item)
    result = item.run(values, knowledge.practice, told)
    facts = tuple(
        Item(Ref("fact", each.name, knowledge.facts[each.name].short))
        for each in item.inputs
        if each.name in knowledge.facts
    )
    sections = [
        section("What it takes", table=_inputs(item)),
        section("What it takes for granted", item.assumes),
        section("To type", [f"diagnose sum {item.name} {item.example}"], key="typed"),
        section("A worked example", *_worked(result)),
        section("How to find out what it takes", groups=[Group(facts)]),
        section("Sources", [item.source], key="sources"),
    ]
    return page(Ref("sum", item.name, item.title), "Sum", _lead(result), sections)


def _lead(result: Outcome) -> str:
    return f"For example: {result.text}."


def _inputs(item: Calculation) -> Table:
    return Table(
        ("Option", "What it is", "Unit", "If left out"),
        tuple((_option(each), each.title, _unit(each), _default(each)) for each in item.inputs),
    )


def _option(each: Input) -> str:
    return f"--{each.name.replace('_', '-')}"


def _unit(each: Input) -> str:
    if each.choices:
        return ", ".join(each.choices)
    return label(each.unit).strip() if each.unit not in ("", "1", "count") else "a number"


def _default(each: Input) -> str:
    if each.practice:
        return "what shops go by"
    if each.default is None:
        return "must be given" if each.required else "left out"
    return number(each.default) if isinstance(each.default, float) else str(each.default)


def example_of(item: Calculation) -> tuple[dict[str, Value], dict[str, str]]:
    """Return the values of a sum's own example, and the texts that are told as typed;
    plain arguments stand in the order of what it needs.
    """
    words = shlex.split(item.example)
    by_option = {_option(each): each for each in item.inputs}
    order = sorted(item.inputs, key=lambda each: not each.required)
    values: dict[str, Value] = {}
    told: dict[str, str] = {}
    while words:
        word = words.pop(0)
        each = by_option[word] if word in by_option else next(e for e in order if e.name not in values)
        text = words.pop(0) if word in by_option else word
        values[each.name] = value = _value(each, text)
        if isinstance(value, float) and not _same_figures(text, value):
            told[each.name] = text
    return values, told


def _same_figures(text: str, value: float) -> bool:
    """Whether the number typed is the number stored, so that only its unit was left out or is the same."""
    head = re.match(r"[+-]?\d+(\.\d+)?", text)
    return head is not None and float(head[0]) == value and ":" not in text


def _value(each: Input, text: str) -> Value:
    """A value of an example, in the unit of its input; a bare number where that unit is the sum's own."""
    if each.choices:
        flat = text.casefold().replace("-", "_")
        return next(known for known in each.choices if known.casefold().replace("-", "_") == flat)
    try:
        return parse_quantity(text, each.unit or "1").value
    except (KeyError, QuantityError):
        return float(text)


def _worked(result: Outcome) -> tuple[tuple[str, ...], tuple[Group, ...]]:
    return (result.text + ".",), (Group(tuple(Item(text=line) for line in result.lines)),)
