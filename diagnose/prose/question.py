"""Words for the questionnaire: cleaned text, wrapped lines, rounded figures, and answers as a caster says them.

Whatever comes from a knowledge file, a case or the keyboard passes through `clean` before it reaches a screen: a
control character in a file must not move a cursor. Figures are rounded to tens, because the likelihoods behind them are
words.
"""

from __future__ import annotations

import re
import textwrap

from diagnose.knowledge import Check, Fact, Knowledge
from diagnose.prose.chance import figure, how_sure, tens
from diagnose.prose.quantity import minutes
from diagnose.prose.text import clean, counted, lowered
from diagnose.reasoning.answers import ABSENT, SEEN, Answer
from diagnose.units import unit_of

__all__ = [
    "clean",
    "counted",
    "figure",
    "how_sure",
    "lowered",
    "minutes",
    "tens",
]  # shared with the report, and used from here

_UNITS = {
    "degC": "°C",
    "percent": "%",
    "kg/m^3": "kg/m³",
    "cm^2": "cm²",
    "parts_a_per_100_b": "parts of A to 100 of B",
    "1": "",
    "count": "",
    "day": "days",
    "week": "weeks",
}
#: stored unit -> how it is called where a number alone is taken so
_SPOKEN = {"s": "seconds", "min": "minutes", "h": "hours", "g": "grams", "percent": "percent"}
#: a unit of time in a message
_LONG = {"s": "seconds", "min": "minutes", "h": "hours", "day": "days", "week": "weeks"}
#: what a letter behind a number says
_MARKS = {"r": "r from memory", "t": "t told", "m": "m measured"}
#: stored unit, or its dimension -> what may be typed
_EXAMPLES = {
    "s": "45 s or 2 min",
    "min": "40 min or 1.5 h",
    "h": "3 h or 2 days",
    "day": "4 days or 3 weeks",
    "week": "3 weeks or 2 months",
    "temperature": "16 °C or 61 F",
    "difference": "3 K",
    "mass": "250 g or 8 oz",
    "volume": "1.5 L or 90 cu in",
    "density": "160 g/L or 10 pcf",
    "length": "0.5 mm or 1/2 in",
    "area": "600 cm2 or 90 sq in",
    "time": "45 s or 2 min",
    "percent": "45 %",
    "ratio": "50 or 50:100",
    "count": "12",
    "pure": "1.2",
}
_FAMILIES = {
    "poor_skin": "Skin of the foam: thin, holed, wrinkled, crumbly",
    "unfilled_ears": "Tips and ears: hollow, missing, torn off",
    "voids": "Inside: holes, pockets, big cells, layers",
    "tacky_surface": "Sticky, wet or oily",
    "delaminated_skin": "Rubber skin: peels, pits, foam shows through",
    "paint_peeling": "Paint: peels, cracks, blisters, stays soft",
    "other": "Rise, shape, feel, weight, color, smell",
}


def wrapped(text: str, width: int, indent: str = "", hanging: str | None = None) -> list[str]:
    """Return *text*, cleaned, as lines of at most *width* columns; lines after the first begin with *hanging*."""
    later = indent if hanging is None else hanging
    return textwrap.wrap(
        clean(text), max(width, len(later) + 8), initial_indent=indent, subsequent_indent=later, break_on_hyphens=False
    ) or [""]


def paragraph(text: str, width: int, quiet: bool = False) -> list[str]:
    """Return *text* as the lines of a remark.

    Set in a little where *quiet*, an item of a list hanging behind its dash.
    """
    indent = "  " if quiet else ""
    return wrapped(text, width, indent, indent + "  " if text.startswith("- ") else indent)


def row_lines(key: str, title: str, width: int) -> list[str]:
    """Return a line of a menu, its words hanging behind the key: ` 3  Coarse, big cells`."""
    words = wrapped(title, width - 5)
    return [f"{key:>2}  {words[0]}", *(f"    {line}" for line in words[1:])]


def unit_words(text: str) -> str:
    """Return a message of the unit reader with units as one writes them: °C for degC, `in days` for `in day`."""
    text = re.sub(r"\bin (s|min|h|day|week)(?![A-Za-z])", lambda match: f"in {_LONG[match[1]]}", text)
    for name in ("degC", "kg/m^3", "cm^2", "parts_a_per_100_b"):
        text = text.replace(name, _UNITS[name])
    return text


def example(unit: str) -> str:
    """Return what may be typed for a number in *unit*: `A number alone is in °C. For example 16 °C or 61 F.`"""
    shown = f"For example {_EXAMPLES.get(unit) or _EXAMPLES[unit_of(unit).dimension]}."
    alone = _SPOKEN.get(unit, _UNITS.get(unit, unit))
    return f"A number alone is in {alone}. {shown}" if alone else shown


def number_hint(unit: str, marks: str) -> str:
    """Return what may be typed for a number in *unit*, and the letters that may stand behind it."""
    behind = f" Behind it: {', '.join(_MARKS[mark] for mark in marks)}." if marks else ""
    return f'{example(unit)} "about 400" and "400-420" will do.{behind}' if marks else example(unit)


def quantity(value: float, unit: str) -> str:
    """Return a number in its stored unit: `11 °C`."""
    return f"{value:.6g} {_UNITS.get(unit, unit)}".rstrip()


def family_title(family: str) -> str:
    """Return the name of a family of symptoms."""
    return _FAMILIES.get(family, family.replace("_", " ").capitalize())


def family_rank(family: str) -> int:
    """Return the place of a family in the list; one that isn't known here comes last."""
    return list(_FAMILIES).index(family) if family in _FAMILIES else len(_FAMILIES)


def choice_titles(knowledge: Knowledge, question: str) -> dict[str, str]:
    """Return the possible answers of a question that is no number: value -> words."""
    if question in knowledge.symptoms:
        return {SEEN: "Yes, it is so", ABSENT: "No, I looked and it is not"}
    entry: Fact | Check = knowledge.facts.get(question) or knowledge.checks[question]
    if entry.kind == "id":
        return {name: material.title for name, material in knowledge.materials.items()}
    table = entry.choices if isinstance(entry, Fact) else entry.results
    return {value: option.title for value, option in table.items()}


def value_words(knowledge: Knowledge, question: str, value: float | str) -> str:
    """Return one possible answer of *question* in words."""
    if isinstance(value, float):
        entry: Fact | Check = knowledge.facts.get(question) or knowledge.checks[question]
        return quantity(value, entry.unit)
    return choice_titles(knowledge, question).get(value, value)


def answer_words(knowledge: Knowledge, question: str, answer: Answer, written: str = "") -> str:
    """Return an answer in words: `16 °C`, `Set, dry, fine and springy, from memory`."""
    if not answer.known:
        return "don't know"
    if isinstance(answer.value, float):
        has_unit = any(not c.isascii() or c.isalpha() or c in '%:"' for c in written)
        words = (
            clean(written)
            if has_unit
            else quantity(answer.value, (knowledge.facts.get(question) or knowledge.checks[question]).unit)
        )
    else:
        values = answer.value if isinstance(answer.value, tuple) else (str(answer.value),)
        words = "; ".join(value_words(knowledge, question, value) for value in values)
    mark = {"told": ", told", "remembered": ", from memory"}.get(answer.source, "")
    return words + mark
