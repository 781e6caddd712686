"""Words for numbers and answers: how sure, how long, how much, and an answer as the caster gave it.

A figure is rounded to tens, because the likelihoods behind it are words; word and figure come from the same rounding, so
that they never disagree. Whatever comes from a case or a knowledge file passes through `plain` before it is shown.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from diagnose.knowledge import Knowledge
from diagnose.prose.quantity import clean as plain
from diagnose.prose.quantity import figure, how_sure, sure, tens
from diagnose.prose.quantity import lowered as in_sentence
from diagnose.reasoning.answers import SEEN, Answer
from diagnose.units import QuantityError, parse_quantity

__all__ = [
    "figure",
    "how_sure",
    "in_sentence",
    "plain",
    "sure",
    "tens",
]  # shared with the questionnaire, and used from here

#: longest text of a case that a report shows; a title beyond it is somebody's mistake
LONGEST = 160
_UNITS = {
    "degC": "°C",
    "K": "K",
    "percent": "%",
    "kg/m^3": "kg/m³",
    "cm^2": "cm²",
    "parts_a_per_100_b": "parts A to 100 B",
    "1": "",
    "count": "",
    "day": "days",
    "week": "weeks",
}
_MARK = {"measured": "measured", "seen": "", "told": "told", "remembered": "remembered"}
#: how surely a remedy mends, by the word of its link
_MENDS = {
    "always": "nearly always works",
    "usually": "usually works",
    "often": "works about half the time",
    "sometimes": "works now and then",
    "seldom": "seldom works",
}


def shortened(text: str, most: int = LONGEST) -> str:
    """Return *text* made plain and no longer than *most* characters."""
    flat = plain(text[: 20 * most])
    return flat if len(flat) <= most else flat[: most - 3].rstrip() + "..."


def number(value: float) -> str:
    """Return *value* with three figures and no exponent: 11, 47.3, 2400, 0.04."""
    if abs(value) >= 100:
        return f"{value:.0f}"
    text = f"{value:.3g}"
    return text if "e" not in text else f"{value:.6f}".rstrip("0").rstrip(".")


def quantity(value: float, unit: str) -> str:
    """Return *value* in the stored *unit* as one writes it: `11 °C`, `300 g`, `1.35`."""
    shown = _UNITS.get(unit, unit)
    return f"{number(value)} {shown}".rstrip()


def fahrenheit(celsius: float) -> str:
    """Return *celsius* as whole degrees Fahrenheit."""
    return f"{celsius * 9 / 5 + 32:.0f} °F"


def minutes(value: float) -> str:
    """Return *value* minutes as one says it: `10 min`, `1.5 h`, `a day`, `2 days`."""
    if value < 90:
        return f"{value:.0f} min"
    if value < 18 * 60:
        return f"{number(round(value / 30) / 2)} h"
    days = round(value / 720) / 2
    return "a day" if days == 1 else f"{number(days)} days"


def hours(value: float) -> str:
    """Return *value* hours to the half hour: `half an hour`, `1 h`, `2.5 h`."""
    halves = max(1, round(2 * value))
    return "half an hour" if halves == 1 else f"{number(halves / 2)} h"


def times(factor: float) -> str:
    """Return how many times more: `1.3 times`, `4 times`; of a factor near 1 `a shade`."""
    if factor < 1.05:
        return "a shade"
    return f"{number(round(factor, 1) if factor < 2.95 else round(factor))} times"


def quoted(text: str) -> str:
    """Return a title as it stands in a sentence."""
    return f'"{text}"'


def listed(words: Sequence[str], joint: str = "and") -> str:
    """Return *words* as a list in a sentence: `a, b and c`."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {joint} {words[-1]}"


def counted(count: int, one: str, many: str = "") -> str:
    """Return `1 cause`, `2 causes`, `no causes`."""
    return f"{count or 'no'} {one if count == 1 else many or one + 's'}"


def mends(word: str) -> str:
    """Return how surely a remedy works, from the word of its link."""
    return _MENDS.get(word, word)


@dataclass(frozen=True, slots=True)
class Teller:
    """Puts answers into the caster's words, with the titles of one knowledge."""

    knowledge: Knowledge

    def answer(self, question: str, answer: Answer, written: str = "", sheet: str = "") -> str:
        """Return an answer as a line: `mold face temperature 11 °C (measured)`, `cup leftover: set, dry and springy`.

        *written* is the text of the case file, told beside the value where it was given in another unit; *sheet* names the
        material whose sheet gave the value.
        """
        if question in self.knowledge.symptoms:
            said = (
                f"seen: {self.value(question, SEEN)}"
                if answer.value == SEEN
                else f"looked for and not there: {self.value(question, SEEN)}"
            )
        elif isinstance(answer.value, float):
            said = f"{self.knowledge.label(question)} {self.value(question, answer.value)}"
        else:
            values = answer.value if isinstance(answer.value, tuple) else (str(answer.value),)
            said = f"{self.knowledge.label(question)}: {'; '.join(self.value(question, value) for value in values)}"
        marks = [self._as_written(question, written), f"from the sheet of {sheet}" if sheet else _MARK[answer.source]]
        return said + _in_brackets(marks)

    def computed(self, name: str, text: str, source: str) -> str:
        """Return a value worked out with its sum; what it was worked out from is marked where it was only told or remembered."""
        from_what = f"worked out from what was {source}" if source in ("told", "remembered") else "worked out"
        return f"{self.knowledge.label(name)}: {text}{_in_brackets([from_what])}"

    def value(self, question: str, value: float | str) -> str:
        """Return one value of *question* in words."""
        if question in self.knowledge.symptoms:
            return in_sentence(self.knowledge.symptoms[question].title)
        entry = self.knowledge.question(question)
        if isinstance(value, float):
            return quantity(value, entry.unit)
        if value in self.knowledge.materials and entry.kind == "id":
            return self.knowledge.materials[value].title
        return in_sentence(entry.options[value])

    def outcome(self, question: str, value: float | str) -> str:
        """Return an answer not yet given, as the first half of a sentence: `With "fresh cup test: still sticky after an hour"`."""
        if question in self.knowledge.symptoms:
            return f"If you {'find' if value == SEEN else 'do not find'} {quoted(self.value(question, SEEN))}"
        label = self.knowledge.label(question)
        if isinstance(value, float):
            entry = self.knowledge.facts[question]
            warm = f" ({fahrenheit(value)})" if entry.unit == "degC" else ""
            return f"With {label} at about {quantity(value, entry.unit)}{warm}"
        return f"With {quoted(f'{label}: {self.value(question, value)}')}"

    def _as_written(self, question: str, written: str) -> str:
        """What the case file says, where it isn't the value shown in the unit shown."""
        entry = self.knowledge.question(question)
        if entry.kind != "number" or not written:
            return ""
        letters = "".join(c for c in written if c.isalpha() or c == '"')
        if not letters:
            return ""
        try:
            same = parse_quantity("1 " + letters, entry.unit).value == 1.0
        except QuantityError:
            return f"written as {shortened(written, 40)}"
        return "" if same else f"written as {shortened(written, 40)}"


def _in_brackets(marks: Sequence[str]) -> str:
    said = ", ".join(mark for mark in marks if mark)
    return f" ({said})" if said else ""
