"""A case: what was answered, how each answer is known, and what the case is about.

`parse_answer` is the one way from text to an answer, for case files and the keyboard. `case_reading.py` and
`case_writing.py` know the file.
"""

# no postponed annotations: the kinds of `About` are read from them

import math
from collections.abc import Iterable, Mapping
from typing import Annotated, Any, NamedTuple

from msgspec import Struct, field
from msgspec.structs import replace

from diagnose.errors import shown
from diagnose.knowledge import AnyQuestion, Knowledge
from diagnose.knowledge.kinds import Text, nearest
from diagnose.knowledge.records import ListOf
from diagnose.reasoning.answers import ABSENT, SEEN, Answer
from diagnose.units import QuantityError, parse_quantity

UNKNOWN = "unknown"
_YES = {"yes": "yes", "true": "yes", "no": "no", "false": "no"}
_ABOUT = Text("any text", 20_000, free=True)


class Told(NamedTuple):
    """An answer as it came: what it is, and the text as it was written."""

    answer: Answer
    written: str = ""


class About(Struct, frozen=True, kw_only=True):
    """What the shop's book keeps and the diagnosis does not need: texts as they were written, empty where not told."""

    id: Annotated[str, _ABOUT] = ""
    date: Annotated[str, _ABOUT] = ""
    part: Annotated[str, _ABOUT] = ""
    mold: Annotated[str, _ABOUT] = ""
    lot_a: Annotated[str, _ABOUT] = ""
    lot_b: Annotated[str, _ABOUT] = ""
    person: Annotated[str, _ABOUT] = ""
    client: Annotated[str, _ABOUT] = ""
    photos: Annotated[tuple[str, ...], ListOf(_ABOUT, "names of files")] = ()
    remarks: Annotated[str, _ABOUT] = ""

    def told(self) -> dict[str, Any]:
        """Return what is told, by key, in the order of the keys."""
        found = {name: getattr(self, name) for name in self.__struct_fields__}
        return {key: value for key, value in found.items() if value}


NOTHING_TOLD = About()


class Case(Struct, frozen=True):
    """A case as told: *answers* by question in the order given, and what it is about.

    *extra* are the `x_` keys of other programs, kept as they came (plain data).
    """

    title: str = ""
    answers: Mapping[str, Told] = field(default_factory=dict)
    about: About = NOTHING_TOLD
    extra: Mapping[str, Any] = field(default_factory=dict)
    warnings: tuple[str, ...] = ()

    @classmethod
    def of(cls, values: Mapping[str, Answer]) -> "Case":
        """Return a case of these answers, of which nobody wrote down a text."""
        return cls(answers={question: Told(answer) for question, answer in values.items()})

    @property
    def values(self) -> dict[str, Answer]:
        """The answers by question, in the order given."""
        return {question: told.answer for question, told in self.answers.items()}

    def with_answer(self, question: str, answer: Answer, written: str = "") -> "Case":
        """Return the case with *question* answered (or answered anew, in its old place)."""
        return replace(self, answers={**self.answers, question: Told(answer, written)})

    def with_about(self, **told: Any) -> "Case":
        """Return the case with what is *told* about it put in; what is empty changes nothing."""
        return replace(self, about=replace(self.about, **{key: value for key, value in told.items() if value}))

    @property
    def written(self) -> dict[str, str]:
        """The text of each answer as it was written."""
        return {question: told.written for question, told in self.answers.items()}

    def without(self, *questions: str) -> "Case":
        """Return the case with *questions* open again."""
        return replace(self, answers={name: told for name, told in self.answers.items() if name not in questions})

    def only(self, questions: Iterable[str]) -> "Case":
        """Return the case with the answers to *questions* alone, in the order given."""
        kept = set(questions)
        return replace(self, answers={name: told for name, told in self.answers.items() if name in kept})

    def value(self, question: str) -> Any:
        """Return the value told, None where nobody told or knows."""
        return self.answers[question].answer.value if question in self.answers else None

    @property
    def build(self) -> str | None:
        """The build told, or None."""
        build = self.value("build")
        return None if build is None else str(build)

    @property
    def painted(self) -> bool | None:
        """Whether the part is painted, or None where nobody told."""
        painted = self.value("painted")
        return None if painted is None else painted == "yes"


class Refusal(ValueError):
    """What is wrong with one value; the message goes behind file, line and key."""


def parse_answer(knowledge: Knowledge, question: str, text: str, source: str | None = None) -> Answer:
    """Read *text* as an answer to *question* (fact, check or symptom) and return it.

    A number takes any usual unit; several values of a `many` are parted by commas. Raises ValueError with what was
    expected.
    """
    flat = text.strip()
    if flat == UNKNOWN:
        return Answer(None, source or "seen")
    if question in knowledge.symptoms:
        if flat not in (SEEN, ABSENT):
            raise Refusal(f"'{shown(flat)}', expected seen, absent or unknown")
        return Answer(flat, source or "seen")
    entry = knowledge.question(question)
    if entry.kind == "number":
        return _number(entry, flat, source)
    if entry.kind == "many":
        return many(entry, [part.strip() for part in flat.split(",")], source)
    if entry.kind == "id":
        return _one_of(knowledge.materials, flat, source, "a material")
    if entry.kind == "yes_no":
        return _one_of(["yes", "no"], _YES.get(flat.lower(), flat), source, "yes or no")
    return _one_of(entry.options, flat, source, "")


def _one_of(options: Iterable[str], text: str, source: str | None, what: str) -> Answer:
    if text not in options:
        wanted = what or f"one of {', '.join(options)}"
        if what == "a material":
            wanted = f"a material: {', '.join(options)}"
        raise Refusal(f"'{shown(text)}', expected {wanted}{nearest(text, options)}")
    return Answer(text, source or "seen")


def many(entry: AnyQuestion, values: list[str], source: str | None) -> Answer:
    """Return *values* as the answer to a question of several. Raises ValueError with what was expected."""
    if not values or values == [""]:
        raise Refusal("an empty list, expected at least one value, or unknown")
    for value in values:
        _one_of(entry.options, value, source, "")
    if len(set(values)) < len(values):
        twice = next(value for value in values if values.count(value) > 1)
        raise Refusal(f"'{twice}' stands twice")
    if "nothing" in values and len(values) > 1:
        raise Refusal(f"'nothing' beside '{next(v for v in values if v != 'nothing')}': both can't be true")
    return Answer(tuple(values), source or "seen")


def _number(entry: AnyQuestion, text: str, source: str | None) -> Answer:
    try:
        quantity = parse_quantity(text, entry.unit)
    except QuantityError as error:
        raise Refusal(str(error)) from None
    low, high = getattr(entry, "plausible", None) or (-math.inf, math.inf)
    if not low <= quantity.value <= high:
        unit = "" if entry.unit in ("1", "count") else f" {entry.unit}"
        hint = ""
        if entry.unit == "percent" and 0.0 < quantity.value < 1.0 <= low:
            hint = f"; it looks like a fraction, write {100 * quantity.value:g} percent"
        raise Refusal(f"'{shown(text)}' is not believable, expected {low:g} to {high:g}{unit}{hint}")
    return Answer(quantity.value, source or ("measured" if quantity.has_unit else "seen"))
