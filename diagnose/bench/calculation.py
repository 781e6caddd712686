"""What a sum looks like to the command line: its inputs, its answer in words, what it takes for granted.

The command line, the HTML and the next-pour sheet all want the same of every sum: which numbers to
ask for, in which unit, and one sentence to print. So each sum is a record here, and the
checks that don't belong to any formula (a number missing, a word that is no choice) are made once.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from diagnose.bench.quantities import BenchError, Range, from_si, label, number, one_of, to_si


@dataclass(frozen=True, slots=True)
class Input:
    """One number or choice that a sum asks for. A value is a float in *unit*, or one of *choices*."""

    name: str
    title: str
    unit: str = ""
    required: bool = True
    default: float | str | None = None
    choices: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Result:
    """What a sum comes to: *value* in *unit* (none where it is words only), its ends, and the sum in words."""

    value: float | None
    unit: str
    low: float | None
    high: float | None
    text: str
    lines: tuple[str, ...]
    assumes: tuple[str, ...]
    source: str


@dataclass(frozen=True, slots=True)
class Answer:
    """What a formula hands back; `Sum.run` adds what the sum assumes and its source."""

    value: float | None
    unit: str
    text: str
    lines: tuple[str, ...] = ()
    low: float | None = None
    high: float | None = None
    assumes: tuple[str, ...] = ()

    @classmethod
    def ranged(
        cls,
        span: Range,
        unit: str,
        text: str,
        lines: tuple[str, ...] = (),
        assumes: tuple[str, ...] = (),
    ) -> Answer:
        """Return the answer for a *span* in SI, turned into *unit*."""
        low, mid, high = (from_si(end, unit) for end in (span.low, span.mid, span.high))
        return cls(mid, unit, text, lines, low, high, assumes)


class Inputs:
    """The checked inputs of one sum."""

    def __init__(self, values: Mapping[str, float | str | None], units: Mapping[str, str]) -> None:
        self._values = values
        self._units = units

    def has(self, name: str) -> bool:
        """Tell whether an input was given or has a default."""
        return self._values[name] is not None

    def raw(self, name: str) -> float:
        """Return a number in its own unit."""
        value = self._values[name]
        assert isinstance(value, float)
        return value

    def si(self, name: str) -> float:
        """Return a number in SI."""
        return to_si(self.raw(name), self._units[name])

    def maybe(self, name: str) -> float | None:
        """Return a number in SI, or none if it was not given."""
        return self.si(name) if self.has(name) else None

    def word(self, name: str) -> str:
        """Return a choice."""
        return str(self._values[name])

    def say(self, name: str) -> str:
        """Return an input as it is spoken: "142 g"."""
        return number(self.raw(name)) + label(self._units[name])


@dataclass(frozen=True, slots=True)
class Sum:
    """One sum of the bench: call `run` with a mapping of input names to floats (or choices)."""

    name: str
    title: str
    inputs: tuple[Input, ...]
    formula: Callable[[Inputs], Answer]
    source: str
    assumes: tuple[str, ...]

    def run(self, values: Mapping[str, float | str | None]) -> Result:
        """Return the result for *values*, each in the unit of its input; a missing one takes its default."""
        answer = self.formula(self._given(values))
        return Result(
            answer.value,
            answer.unit,
            answer.low,
            answer.high,
            answer.text,
            answer.lines,
            self.assumes + answer.assumes,
            self.source,
        )

    def _given(self, values: Mapping[str, float | str | None]) -> Inputs:
        names = [item.name for item in self.inputs]
        for name in values:
            if name not in names:
                raise BenchError(f"{self.name} has no input '{name}': expected {', '.join(names)}")
        checked = {item.name: self._checked(item, values.get(item.name)) for item in self.inputs}
        return Inputs(checked, {item.name: item.unit or "1" for item in self.inputs})

    def _checked(self, item: Input, value: float | str | None) -> float | str | None:
        if value is None:
            value = item.default
        if value is None:
            if item.required:
                raise BenchError(f"{self.name} needs {item.name}: {item.title}{_in(item)}")
            return None
        if item.choices:
            return one_of(item.name, str(value), item.choices)
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            raise BenchError(f"{item.name} '{value}': expected a number{_in(item)}")
        return float(value)


def _in(item: Input) -> str:
    if item.choices:
        return f" ({', '.join(item.choices)})"
    return "" if item.unit in ("", "1", "count") else f" in{label(item.unit)}"


def say(value_si: float, unit: str, digits: int = 3) -> str:
    """Write an SI value in *unit*: "142 g"."""
    return number(from_si(value_si, unit), digits) + label(unit)


def say_range(span: Range, unit: str, digits: int = 3) -> str:
    """Write an SI range in *unit*: "58 to 77 s"."""
    low, high = number(from_si(span.low, unit), digits), number(from_si(span.high, unit), digits)
    return (low if low == high else f"{low} to {high}") + label(unit)


def time_unit(seconds: float) -> str:
    """Return the unit in which people say a time of so many *seconds*."""
    for unit, most in (("s", 180), ("min", 10_800), ("h", 259_200)):
        if seconds < most:
            return unit
    return "day"


def say_time(seconds: float) -> str:
    """Write a time in the unit people say it in: "45 s", "38 min", "5.3 h"."""
    unit = time_unit(seconds)
    return say(seconds, unit, 3 if from_si(seconds, unit) >= 99.5 else 2)


def say_times(span: Range) -> str:
    """Write a range of times in one unit: "58 to 77 s"."""
    unit = time_unit(span.mid)
    return say_range(span, unit, 3 if from_si(span.high, unit) >= 99.5 else 2)


def celsius(t_c: float) -> str:
    """Write a temperature with °F beside it: "25 °C (77 °F)"."""
    return f"{number(t_c, 3)} °C ({t_c * 1.8 + 32:.0f} °F)"
