"""Answers in the caster's words: what was said, how it is known, and what it was worked out from.

`Teller` knows the titles of one knowledge and the units that one case thinks in.
"""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct, field

from diagnose.knowledge import Check, Fact, Knowledge
from diagnose.prose.quantity import Units, same_unit
from diagnose.prose.text import lowered, quoted, shortened
from diagnose.reasoning.answers import SEEN

_MARK = {"measured": "measured", "seen": "", "told": "told", "remembered": "remembered"}
#: how surely a remedy mends, by the word of its link
_MENDS = {
    "always": "nearly always works",
    "usually": "usually works",
    "often": "works about half the time",
    "sometimes": "works now and then",
    "seldom": "seldom works",
}


def mends(word: str) -> str:
    """Return how surely a remedy works, from the word of its link."""
    return _MENDS.get(word, word)


class Teller(Struct, frozen=True):
    """Puts answers into the caster's words, with the titles of one knowledge and the units of one case."""

    knowledge: Knowledge
    units: Units = field(default_factory=Units)

    def said(
        self,
        question: str,
        value: str | float | tuple[str, ...] | None,
        source: str,
        written: str = "",
        sheet: str = "",
    ) -> str:
        """Return an answer as a line: `mold face temperature 11 °C (measured)`, `cup leftover: set, dry and springy`.

        *written* is the text of the case file, told beside the value where it was given in another unit; *sheet* names
        the material whose sheet gave the value.
        """
        if value is None:
            return f"{self.knowledge.label(question)}: not known"
        if question in self.knowledge.symptoms:
            there = "seen" if value == SEEN else "looked for and not there"
            line = f"{there}: {self.value(question, SEEN)}"
        elif isinstance(value, float):
            line = f"{self.knowledge.label(question)} {self.value(question, value)}"
        else:
            values = value if isinstance(value, tuple) else (value,)
            line = f"{self.knowledge.label(question)}: {'; '.join(self.value(question, one) for one in values)}"
        marks = [self._as_written(question, written), f"from the sheet of {sheet}" if sheet else _MARK[source]]
        return line + _in_brackets(marks)

    def computed(self, name: str, text: str, source: str) -> str:
        """Return a value worked out with its sum; what it was worked
        out from is marked where it was only told or remembered.
        """
        from_what = f"from what was {source}" if source in ("told", "remembered") else ""
        return f"{self.knowledge.label(name)}: {text}{_in_brackets([from_what])}"

    def value(self, question: str, value: float | str) -> str:
        """Return one value of *question* in words."""
        if question in self.knowledge.symptoms:
            return lowered(self.knowledge.symptoms[question].title)
        entry: Fact | Check = self.knowledge.facts.get(question) or self.knowledge.checks[question]
        if isinstance(value, float):
            return self.units.quantity(value, entry.unit)
        if value in self.knowledge.materials and entry.kind == "id":
            return self.knowledge.materials[value].title
        table = entry.choices if isinstance(entry, Fact) else entry.results
        return lowered(table[value].title)

    def outcome(self, question: str, value: float | str) -> str:
        """Return an answer not yet given, as the first half of a sentence: `With "fresh cup test:
        still sticky after an hour"`.
        """
        if question in self.knowledge.symptoms:
            return f"If you {'find' if value == SEEN else 'do not find'} {quoted(self.value(question, SEEN))}"
        label = self.knowledge.label(question)
        if isinstance(value, float):
            return f"With {label} at about {self.value(question, value)}"
        return f"With {quoted(f'{label}: {self.value(question, value)}')}"

    def _as_written(self, question: str, written: str) -> str:
        """What the case file says, where it isn't the value in a unit shown."""
        entry: Fact | Check | None = self.knowledge.facts.get(question) or self.knowledge.checks.get(question)
        if entry is None or entry.kind != "number" or not written or self.units.customary:
            return ""
        return "" if same_unit(written, entry.unit) else f"written as {shortened(written, 40)}"


def _in_brackets(marks: Sequence[str]) -> str:
    said = ", ".join(mark for mark in marks if mark)
    return f" ({said})" if said else ""
