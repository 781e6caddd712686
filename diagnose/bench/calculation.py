"""What a sum is to all who call it: its inputs, its numbers, the sum in words, what it takes for granted.

The facts worked out in a case, the sheet for the next pour and the command line all run the same records, so that one
number comes out wherever it is told. A number that nobody gave is taken from the trade's practice (a span, low to
high) or from the input's own stand-in; which was taken is said in the assumptions. The checks that belong to no
formula (a number missing, a word that is no choice) are made here.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Protocol

from msgspec import Struct, field

from diagnose.bench.quantities import BenchError, Range, from_si, label, number, one_of, to_si

GROUPS = {"mix": "The mix", "mold": "The mold", "skin": "The skin coat", "finish": "Paint", "room": "The room"}
"""Groups of the sums, in the order of a job, with their headings."""

BUILDS = ("bare_foam", "skin_and_foam")


#: unit -> ends outside which a number is a slip of the pen; each formula knows its own, narrower ones
_SANE: dict[str, tuple[float, float]] = {
    "1": (0.001, 1000),
    "percent": (0, 1000),
    "parts_a_per_100_b": (0, 10_000),
    "degC": (-100, 500),
    "K": (0, 1000),
    "s": (0, 1e8),
    "min": (0, 1e7),
    "h": (0, 1e6),
    "mm": (0, 1e6),
}
_ANY = (0.0, 1e9)


class Span(Protocol):
    """The lowest, the usual and the highest of a practice number."""

    @property
    def low(self) -> float: ...
    @property
    def mid(self) -> float: ...
    @property
    def high(self) -> float: ...


class PracticeNumber(Protocol):
    """A number that shops go by, in its unit, a span for each build."""

    @property
    def about(self) -> str: ...
    @property
    def unit(self) -> str: ...
    @property
    def source(self) -> str: ...
    def of(self, build: str | None) -> Span:
        """Return the span for a build."""
        ...


Practice = Mapping[str, PracticeNumber]
Value = float | str | None


class Input(Struct, frozen=True, kw_only=True):
    """One number or choice that a sum asks for. A value is a float in *unit*, or one of *choices*.

    One that is not required is left out, or stands at its *default*, or is taken from the *practice* number of that id.
    """

    name: str
    title: str
    unit: str = ""
    required: bool = True
    default: float | str | None = None
    practice: str = ""
    choices: tuple[str, ...] = ()


def needed(name: str, title: str, unit: str) -> Input:
    """Return an input that must be given."""
    return Input(name=name, title=title, unit=unit)


def optional(name: str, title: str, unit: str, default: float | None = None, practice: str = "") -> Input:
    """Return an input that may be left out, with its stand-in or the practice number that stands in."""
    return Input(name=name, title=title, unit=unit, required=False, default=default, practice=practice)


def choice(name: str, title: str, choices: tuple[str, ...], default: str | None = None) -> Input:
    """Return an input that is one of a few words; required where it has no default."""
    return Input(name=name, title=title, required=default is None, default=default, choices=choices)


class Figure(Struct, frozen=True):
    """One number that a sum comes to: *value* in *unit*, the ends it may lie between, *text* how it was got.

    *error* is the sum's own standard error when its inputs are exact; a quarter of the range where it isn't given.
    """

    value: float
    unit: str
    low: float | None = None
    high: float | None = None
    text: str = ""
    error: float | None = None

    @classmethod
    def of(cls, span: Range, unit: str, text: str = "") -> Figure:
        """Return the figure for a *span* in SI, turned into *unit*."""
        low, mid, high = (from_si(end, unit) for end in (span.low, span.mid, span.high))
        return cls(mid, unit, low, high, text)

    @property
    def own_error(self) -> float:
        """Standard error when the inputs are exact."""
        if self.error is not None:
            return self.error
        return 0.0 if self.low is None or self.high is None else (self.high - self.low) / 4


NO_FIGURES: Mapping[str, Figure] = MappingProxyType({})


class Outcome(Struct, frozen=True, kw_only=True):
    """What a sum comes to: its *figures* by name, the first the one it is asked for, and the sum in words.

    *used* are the inputs given that it looked at, in that order.
    """

    text: str
    lines: tuple[str, ...] = ()
    figures: Mapping[str, Figure] = field(default_factory=lambda: NO_FIGURES)
    assumes: tuple[str, ...] = ()
    source: str = ""
    used: tuple[str, ...] = ()

    @property
    def main(self) -> Figure | None:
        """The number that the sum is asked for, or None where it is words only."""
        return next(iter(self.figures.values()), None)

    @property
    def value(self) -> float | None:
        """Its value."""
        return None if self.main is None else self.main.value

    @property
    def unit(self) -> str:
        """Its unit."""
        return "" if self.main is None else self.main.unit

    @property
    def low(self) -> float | None:
        """Its lower end."""
        return None if self.main is None else self.main.low

    @property
    def high(self) -> float | None:
        """Its upper end."""
        return None if self.main is None else self.main.high


class Inputs:
    """The checked inputs of one sum."""

    def __init__(
        self, values: Mapping[str, Value], units: Mapping[str, str], spans: Mapping[str, Span], told: Mapping[str, str]
    ) -> None:
        self._values = values
        self._units = units
        self._spans = spans
        self._told = told
        self.read: dict[str, None] = {}

    def has(self, name: str) -> bool:
        """Tell whether an input was given or stands at a default."""
        return self._values[name] is not None

    def given(self, name: str) -> bool:
        """Tell whether an input was given, not taken from practice."""
        return self._values[name] is not None and name not in self._spans

    def raw(self, name: str) -> float:
        """Return a number in its own unit; the usual one where it comes from practice."""
        value = self._values[name]
        self.read[name] = None
        if not isinstance(value, float):
            raise BenchError(f"{name} not given: expected a number")
        return value

    def si(self, name: str) -> float:
        """Return a number in SI."""
        return to_si(self.raw(name), self._units[name])

    def maybe(self, name: str) -> float | None:
        """Return a number in SI, or None if it was not given."""
        return self.si(name) if self.has(name) else None

    def span(self, name: str) -> Range:
        """Return a number in its own unit with the ends that practice knows; without width where it was given."""
        self.read[name] = None
        if name in self._spans:
            span = self._spans[name]
            return Range(span.low, span.mid, span.high)
        value = self.raw(name)
        return Range(value, value, value)

    def first(self, *names: str) -> str | None:
        """Return the first of *names* that was given, or None."""
        return next((name for name in names if self.has(name)), None)

    def word(self, name: str) -> str:
        """Return a choice."""
        self.read[name] = None
        return str(self._values[name])

    def told(self, name: str) -> str:
        """Return an input as it was typed, where that isn't how it is told anyway; else an empty text."""
        return self._told.get(name, "")

    def say(self, name: str) -> str:
        """Return an input as it was told: "142 g", "1 lb (453.6 g)"."""
        plain = number(self.raw(name), 4) + label(self._units[name])
        return f"{self.told(name)} ({plain})" if self.told(name) else plain


class Calculation(Struct, frozen=True, kw_only=True):
    """One sum of the bench: call `run` with a mapping of input names to floats (or choices).

    *example* is what one types behind the sum's name to see it done.
    """

    name: str
    title: str
    group: str
    inputs: tuple[Input, ...]
    formula: Callable[[Inputs], Outcome]
    source: str
    assumes: tuple[str, ...]
    example: str

    def run(
        self, values: Mapping[str, Value], practice: Practice | None = None, told: Mapping[str, str] | None = None
    ) -> Outcome:
        """Return what *values*, each in the unit of its input, come to. *told* are texts of values as they were typed.

        What is not given is taken from *practice* or stands at its default. Raises `BenchError`.
        """
        practice = practice or {}
        given, spans = self._given(values, practice)
        inputs = Inputs(given, {item.name: item.unit or "1" for item in self.inputs}, spans, told or {})
        found = self.formula(inputs)
        return Outcome(
            text=found.text,
            lines=found.lines,
            figures=found.figures,
            assumes=(*self.assumes, *found.assumes, *self._taken(inputs, spans, practice)),
            source=self.source,
            used=tuple(name for name in inputs.read if values.get(name) is not None),
        )

    def _taken(self, inputs: Inputs, spans: Mapping[str, Span], practice: Practice) -> list[str]:
        """Say which practice numbers the sum leaned on."""
        entries = {item.name: practice[item.practice] for item in self.inputs if item.name in spans}
        return [
            f"{entries[name].about}: {_spanned(span, entries[name].unit)} ({entries[name].source})"
            for name, span in spans.items()
            if name in inputs.read
        ]

    def _given(self, values: Mapping[str, Value], practice: Practice) -> tuple[dict[str, Value], dict[str, Span]]:
        names = [item.name for item in self.inputs]
        for name in values:
            if name not in names:
                raise BenchError(f"{self.name} has no input '{name}': expected {', '.join(names)}")
        build = values.get("build") or next((item.default for item in self.inputs if item.name == "build"), None)
        given: dict[str, Value] = {}
        spans: dict[str, Span] = {}
        for item in self.inputs:
            value = values.get(item.name)
            if value is None and item.practice in practice:
                spans[item.name] = span = practice[item.practice].of(None if build is None else str(build))
                value = span.mid
            given[item.name] = self._checked(item, value)
        return given, spans

    def _checked(self, item: Input, value: Value) -> Value:
        if value is None:
            value = item.default
        if value is None:
            if item.required or item.practice:
                raise BenchError(f"{self.name} needs {item.name}: {item.title}{unit_of_input(item)}")
            return None
        if item.choices:
            return one_of(item.name, str(value), item.choices)
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            raise BenchError(f"{item.name} '{value}': expected a number{unit_of_input(item)}")
        unit = item.unit or "1"
        low, high = _SANE.get(unit, _ANY)
        if not low <= value <= high:
            span = f"{number(low)}{label(unit)} to {number(high)}{label(unit)}"
            raise BenchError(f"{item.name.replace('_', ' ')} {number(value)}{label(unit)}: expected {span}")
        return float(value)


def _spanned(span: Span, unit: str) -> str:
    if span.low == span.high:
        return f"{number(span.mid, 4)}{label(unit)}"
    return f"{number(span.mid, 4)}{label(unit)}, {number(span.low, 4)} to {number(span.high, 4)}"


def unit_of_input(item: Input) -> str:
    """Return what an input is given in, to be put behind its title: " in g", " (silicone, plaster)"."""
    if item.choices:
        return f" ({', '.join(item.choices)})"
    return "" if item.unit in ("", "1", "count", "1/h", "parts_a_per_100_b") else f" in{label(item.unit)}"
