"""What the fields of an entry say together: words into numbers, and what no single field can tell to be wrong.

Every answer is somebody's answer whatever held, so for each cause the shares of the answers times their ratios must
sum to 1. Words can't promise that; the ratios are scaled to it here, and a scale beyond a quarter is a warning,
because then the words or the shares are wrong.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping
from itertools import pairwise
from typing import Any

from diagnose.errors import shown
from diagnose.knowledge.kinds import Context, Link, Place
from diagnose.knowledge.model import (
    BUILDS,
    FAMILIES,
    Check,
    Ends,
    Evidence,
    Fact,
    Practice,
    Result,
    Span,
    WrittenPractice,
)
from diagnose.knowledge.ratio_curve import curve_ratio

Found = dict[str, Any]
#: what the id of an answer looks like: a grade of a test is a number
ANSWER_PATTERN = "[a-z0-9][a-z0-9_]*"
_A_NUMBER = re.compile(r"-?[0-9]+(\.[0-9]+)?")
_WARN_SCALE = 1.25


# -- questions ---------------------------------------------------------------------------------------------------------


def check_question(found: Found, place: Place, context: Context) -> None:
    """A question says when it is no use, or why it always is; groups are put in the place of their names."""
    if ("pointless" in found) == ("always_ask" in found):
        wrong = "stands beside 'always_ask'" if "pointless" in found else "is missing"
        context.fault(place, f"'pointless' {wrong}, expected one of pointless and always_ask")
    if "seen" in found.get("ask_when", {}):
        groups = context.entries["groups"]
        seen = [name for value in found["ask_when"]["seen"] for name in groups.get(value, (value,))]
        found["ask_when"] = {**found["ask_when"], "seen": tuple(dict.fromkeys(seen))}


def _goes_with(cls: type[Fact] | type[Check], found: Found, place: Place, context: Context) -> None:
    kind = found["kind"]
    if kind not in cls.GOES_WITH:
        context.one_of(kind, cls.GOES_WITH, context.place(f"{place.path}.kind"), f"one of {', '.join(cls.GOES_WITH)}")
        return
    keys = cls.GOES_WITH[kind]
    for key in keys.needed:
        if f"{place.path}.{key}" not in context.places:
            context.fault(place, f"'{key}' is missing, expected with kind: {kind}")
    for key in keys.refused:
        if f"{place.path}.{key}" in context.places:
            context.fault(context.place(f"{place.path}.{key}"), f"does not go with kind: {kind}")


def _check_names(answers: Iterable[str], path: str, context: Context) -> None:
    """The ids of answers can be typed and told apart from no answer at all."""
    for name in answers:
        at = context.place(f"{path}.{shown(name)}")
        if name == "unknown":
            context.fault(at, "the id is taken by the program: 'unknown' is no answer")
        elif not re.fullmatch(ANSWER_PATTERN, name):
            context.fault(at, "expected an id of small letters, digits and underscores")


def check_fact(found: Found, place: Place, context: Context) -> None:
    """Keys that go with the kind, titles of the choices, shares that sum to 1."""
    check_question(found, place, context)
    _goes_with(Fact, found, place, context)
    choices = found.get("choices", {})
    below = f"{place.path}.choices"
    if found["kind"] == "yes_no":
        if choices and sorted(choices) != ["no", "yes"]:
            context.fault(context.place(below), "expected yes and no")
        choices = {name: choice._replace(title=choice.title or name.capitalize()) for name, choice in choices.items()}
    _check_names(choices, below, context)
    for name, choice in choices.items():
        if not choice.title:
            context.fault(context.place(f"{below}.{shown(name)}"), "'title' is missing")
    total = sum(choice.share for choice in choices.values()) or 1.0
    found["choices"] = {name: choice._replace(share=choice.share / total) for name, choice in choices.items()}


def check_check(found: Found, place: Place, context: Context) -> None:
    """Keys that go with the kind, a base among the results, a background for all others, bands that meet."""
    check_question(found, place, context)
    _goes_with(Check, found, place, context)
    results: Mapping[str, Result] = found["results"]
    context.one_of(found["base"], results, context.place(f"{place.path}.base"), "one of the results")
    _check_names(results, f"{place.path}.results", context)
    for name, result in results.items():
        at = context.place(f"{place.path}.results.{shown(name)}")
        if name != found["base"] and f"{at.path}.background" not in context.places:
            context.fault(at, "'background' is missing, expected with every result but the base")
        if found["kind"] != "number" and (result.low, result.high) != (None, None):
            context.fault(at, "'from' and 'to' go with kind: number")
    if found["kind"] == "number" and not _bands_meet(list(results.values())):
        message = "the bands leave a gap or overlap, expected each 'to' to be the next 'from'"
        context.fault(context.place(f"{place.path}.results"), message)


def _bands_meet(results: list[Result]) -> bool:
    bands = sorted(results, key=lambda result: -math.inf if result.low is None else result.low)
    open_ended = bands[0].low is None and bands[-1].high is None
    return open_ended and all(one.high is not None and one.high == other.low for one, other in pairwise(bands))


def check_answers(path: str, answers: Mapping[str, Iterable[str]], context: Context) -> None:
    """Every value in *answers* (below *path*, by question) is an answer to its question;
    `seen` takes symptoms and families.
    """
    for question, values in answers.items():
        known = _answers_of(question, context)
        for value in values if known else ():
            if value not in known and not (question == "seen" and value in context.names["symptoms"]):
                message = f"no such answer '{shown(value)}'{context.nearest(value, known)}"
                context.fault(context.place(f"{path}.{question}"), message)


def _answers_of(question: str, context: Context) -> list[str]:
    """Return the ids of the answers to *question*, none where the question is at fault itself."""
    if question == "seen":
        return [*context.entries["symptoms"], *FAMILIES]
    for section in ("facts", "checks", "symptoms"):
        if question in context.entries[section]:
            return list(context.entries[section][question].options)
    return []


# -- causes ------------------------------------------------------------------------------------------------------------


def check_cause(found: Found, place: Place, context: Context) -> None:
    """Results and answers that exist; the ratios of each fact, scaled."""
    for name, results in found.get("checks", {}).items():
        if name not in context.entries["checks"]:
            continue
        check: Check = context.entries["checks"][name]
        for result in results:
            at = context.place(f"{place.path}.checks.{name}.{shown(result)}")
            if result not in check.results:
                context.fault(at, f"no such result{context.nearest(result, check.results)}")
            elif result == check.base and check.kind != "many":
                context.fault(at, "is the base, what shows when nothing acts: expected a telling result")
    facts = found.get("facts", {})
    for name, evidence in facts.items():
        if name in context.entries["facts"]:
            fact = context.entries["facts"][name]
            facts[name] = _Ratios(fact, evidence.said, context.place(f"{place.path}.facts.{name}"), context).evidence()


class _Ratios:
    """The ratios of one fact on one cause, from the words said of its answers."""

    def __init__(self, fact: Fact, said: Mapping[str, Link], place: Place, context: Context) -> None:
        self.fact, self.said, self.place, self.context = fact, said, place, context
        self.values: dict[str, float] = {}

    def evidence(self) -> Evidence:
        """Return the evidence, with a warning where the words don't fit the shares."""
        numbers = {answer: link.p for answer, link in self.said.items()}
        if self.fact.kind == "number":
            return self._curve(numbers)
        for answer in numbers:
            if answer not in self.fact.choices:
                at = self.context.place(f"{self.place.path}.{shown(answer)}")
                self.context.fault(at, f"no such answer{self.context.nearest(answer, self.fact.choices)}")
        total = self._total(numbers)
        if self.fact.kind == "many":
            # Each value is told or not by itself, so the words stand as written;
            # but who names another change and not # this cause's own
            # speaks a little against the cause, by as much as its own changes would have been named more often.
            return Evidence(self.said, numbers, other=min(1.0, 1.0 / total) if total > 0 else 1.0)
        scale = self._scale(total)
        return Evidence(self.said, {answer: numbers.get(answer, 1.0) * scale for answer in self.fact.choices})

    def _curve(self, numbers: Mapping[str, float]) -> Evidence:
        for text in numbers:
            at = self.context.place(f"{self.place.path}.{shown(text)}")
            value = self.context.quantity(text, self.fact.unit, at)
            if value is None:
                return Evidence(self.said)
            self.values[text] = value
        points = list(self.values.values())
        if any(after <= before for before, after in pairwise(points)):
            self.context.fault(self.place, "points of the curve out of order, expected them rising")
            return Evidence(self.said)
        scale = self._scale(self._total(numbers)) if self.fact.typical else 1.0
        return Evidence(self.said, curve=tuple((self.values[text], ratio * scale) for text, ratio in numbers.items()))

    def _total(self, numbers: Mapping[str, float]) -> float:
        """Return the shares times the ratios, summed over all answers."""
        if self.fact.kind != "number":
            return sum(choice.share * numbers.get(answer, 1.0) for answer, choice in self.fact.choices.items())
        points = [(self.values[text], ratio) for text, ratio in numbers.items()]
        return sum(share * curve_ratio(points, value) for value, share in self.fact.typical)

    def _scale(self, total: float) -> float:
        if total <= 0:
            return 1.0
        if max(total, 1 / total) > _WARN_SCALE:
            where = f"{self.place.file}:{self.place.line}: {self.place.path}"
            message = f"ratios scaled by {1 / total:.2f}, shares times ratios should sum to 1 and sum to {total:.2f}"
            self.context.warnings.append(f"{where}: {message}{self._mended()}")
        return 1.0 / total

    def _mended(self) -> str:
        """Name the one change of a word that brings the sum nearest to 1."""
        numbers = {answer: link.p for answer, link in self.said.items()}
        answers = self.fact.choices if self.fact.kind != "number" else self.said
        tried = [
            (round(abs(math.log(total)), 9), answer, word, total)
            for answer in answers
            for word, ratio in self.context.words["ratio"].items()
            if (total := self._total({**numbers, answer: ratio})) > 0
        ]
        best, answer, word, total = min(tried, key=lambda one: one[0])
        shares = "rarer" if self._total(numbers) > 1 else "more common"
        if best > math.log(_WARN_SCALE):
            return f"; no one word mends that: make the answers that speak for the cause {shares}"
        return f"; '{answer}: {word}' makes it {total:.2f}, or make the answers that speak for the cause {shares}"


# -- practice ----------------------------------------------------------------------------------------------------------


def check_practice(found: Found, place: Place, context: Context) -> None:
    """A span for the whole, or one for each build."""
    spans: dict[str, Ends] = found.get("by_build", {})
    for build, ends in spans.items():
        at = context.place(f"{place.path}.by_build.{shown(build)}")
        context.one_of(build, BUILDS, at, f"one of {', '.join(BUILDS)}")
        _check_span(ends, at, context)
    whole = Ends(**{key: found[key] for key in ("value", "low", "mid", "high") if key in found})
    if whole != Ends() or set(spans) != set(BUILDS):
        _check_span(whole, place, context)


def _check_span(ends: Ends, place: Place, context: Context) -> None:
    if ends.span() is None:
        context.fault(place, "expected either value, or low and high (and mid) rising")


def practice_of(name: str, written: WrittenPractice) -> Practice:
    """Return the practice number as the program takes it; where only builds are given, the whole is what they span."""
    spans = {build: ends.span() for build, ends in written.by_build.items()}
    builds = {build: span for build, span in spans.items() if span is not None}
    whole = written.span()
    if whole is None:
        lows, mids, highs = zip(*builds.values(), strict=True)
        whole = Span(min(lows), sum(mids) / len(mids), max(highs))
    about, unit, source = written.about, written.unit, written.source
    return Practice(name, about, unit, whole.low, whole.mid, whole.high, builds, source, written.bounds)


# -- across entries ----------------------------------------------------------------------------------------------------


def check_across(context: Context) -> None:
    """Check what entries say of one another; those at fault themselves are left out."""
    for check in (_opposites, _same_results, _conditions, _groups, _doubts):
        check(context)


def _opposites(context: Context) -> None:
    causes = context.entries["causes"]
    for name, cause in causes.items():
        other, at = cause.opposite, context.place(f"causes.{name}.opposite")
        if other == name:
            context.fault(at, "is the cause itself, expected another")
        elif other in causes and causes[other].opposite != name:
            context.fault(at, f"'{other}' doesn't name it back")


def _same_results(context: Context) -> None:
    checks = context.entries["checks"]
    for name, symptom in context.entries["symptoms"].items():
        for check, result in symptom.same_as:
            half = check in context.names["checks"] and check not in checks
            if not half and (check not in checks or result not in checks[check].results):
                told = f"{check}.{result}" if result else check
                known = [f"{one}.{each}" for one, entry in checks.items() for each in entry.results]
                message = f"no result '{shown(told)}' of a check, expected check.result{context.nearest(told, known)}"
                context.fault(context.place(f"symptoms.{name}.same_as"), message)


def _conditions(context: Context) -> None:
    for section in ("facts", "checks", "symptoms"):
        for name, entry in context.entries[section].items():
            check_answers(f"{section}.{name}.ask_when", entry.ask_when, context)
    for name, remedy in context.entries["remedies"].items():
        check_answers(f"remedies.{name}.not_when", remedy.not_when, context)
    for name, danger in context.entries["dangers"].items():
        check_answers(f"dangers.{name}.when.checks", danger.when.checks, context)
        check_answers(f"dangers.{name}.when.facts", danger.when.facts, context)


def _doubts(context: Context) -> None:
    """The answers that a doubt names are answers of its question; of a number `round`, or numbers."""
    for section in ("facts", "checks"):
        for name, entry in context.entries[section].items():
            for value in entry.doubt.at if entry.doubt is not None else ():
                if entry.kind == "number":
                    sound, hint = (
                        value == "round" or _A_NUMBER.fullmatch(value) is not None,
                        ", expected round, or numbers",
                    )
                else:
                    sound, hint = value in entry.options, context.nearest(value, list(entry.options))
                if not sound:
                    context.fault(context.place(f"{section}.{name}.doubt.at"), f"no such answer '{shown(value)}'{hint}")


def _groups(context: Context) -> None:
    for name, members in context.entries["groups"].items():
        for member in members:
            if member not in context.names["symptoms"] and member not in FAMILIES:
                message = f"no symptom or family '{shown(member)}'"
                known = [*context.names["symptoms"], *FAMILIES]
                context.fault(context.place(f"groups.{name}"), f"{message}{context.nearest(member, known)}")
