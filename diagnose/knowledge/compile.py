"""Words into numbers: from what was read to the plain data behind `Knowledge`.

Every answer is somebody's answer whatever held, so for each cause the shares of the answers times their ratios must
sum to 1. Words can't promise that; the ratios are scaled to it here, and a scale beyond a quarter is a warning,
because then the words or the shares are wrong.
"""

from __future__ import annotations

import math
import re
from itertools import pairwise
from typing import Any

from diagnose.errors import Fault, shown
from diagnose.knowledge.kinds import Reading, read_quantity
from diagnose.knowledge.ratio_curve import curve_ratio
from diagnose.units import unit_of

Plain = dict[str, Any]
_EMPTY_FACT: Plain = {
    "title": "",
    "find_out": "",
    "minutes": 0.0,
    "answerable": "",
    "doubt": None,
    "pointless": "",
    "words": [],
    "plausible": None,
    "error": None,
    "choices": {},
    "typical": {},
    "better_than": [],
    "needs": [],
    "ask_when": {},
    "builds": [],
    "painted": None,
    "unit": "",
}
_EMPTY_CHECK: Plain = {
    "unit": "",
    "plausible": None,
    "error": None,
    "doubt": None,
    "pointless": "",
    "ask_when": {},
    "builds": [],
    "painted": None,
    "words": [],
}
_WARN_SCALE = 1.25


class Compiler:
    """Turns the entries of one *Reading* into plain numbers, adding its faults to the reading.

    *found* holds the entries that have all that they must have; others are known to the reading by their lines only.
    """

    def __init__(self, found: dict[str, dict[str, Any]], reading: Reading) -> None:
        self.found = found
        self.reading = reading
        self.warnings: list[str] = []
        self.facts: dict[str, Plain] = {}
        self.checks: dict[str, Plain] = {}

    def compile(self) -> Plain:
        """Return all sections as plain data; the result is whole only if the reading has no fault."""
        for name, entry in self.found["facts"].items():
            self.facts[name] = self._fact("facts", name, {**_EMPTY_FACT, **entry, "derived": False})
        for name, entry in self.found["derived"].items():
            self.facts[name] = self._fact("derived", name, {**_EMPTY_FACT, **entry, "kind": "number", "derived": True})
        self.checks = {name: self._check(name, entry) for name, entry in self.found["checks"].items()}
        symptoms = {name: self._symptom(name, entry) for name, entry in self.found["symptoms"].items()}
        causes = {name: self._cause(name, entry) for name, entry in self.found["causes"].items()}
        self._conditions()
        self._doubts()
        return {
            "words": self.reading.words,
            "facts": self.facts,
            "checks": self.checks,
            "symptoms": symptoms,
            "causes": causes,
            "remedies": {name: self._remedy(name, entry) for name, entry in self.found["remedies"].items()},
            "dangers": {name: self._danger(name, entry) for name, entry in self.found["dangers"].items()},
            "sources": dict(sorted(self.found["sources"].items())),
            "materials": {name: self._material(name, entry) for name, entry in self.found["materials"].items()},
            "practice": {name: self._practice(name, entry) for name, entry in self.found["practice"].items()},
            "warnings": self.warnings,
        }

    def _half(self, section: str, name: str) -> bool:
        """Whether the entry stands in the files, but not with all that it must have."""
        return (section, name) in self.reading.lines and name not in self.found[section]

    def _fault(self, section: str, name: str, path: str, message: str) -> None:
        whole = f"{section}.{name}{path}"
        file, line = self.reading.place(whole)
        self.reading.faults.append(Fault(file, line, f"{whole}: {message}"))

    def _word(self, table: str, word: str) -> float:
        return self.reading.words[table].get(word, 0.0)

    def _quantity(self, section: str, name: str, text: str, unit: str, path: str, line: int = 0) -> float | None:
        whole = f"{section}.{name}{path}"
        self.reading.file, first = self.reading.place(whole)
        return read_quantity(text, unit, self.reading, line or first, whole)

    def _known_unit(self, section: str, name: str, unit: str) -> bool:
        try:
            unit_of(unit)
        except KeyError:
            self._fault(section, name, ".unit", f"unknown unit '{shown(unit)}'")
            return False
        return True

    def _reading_error(self, section: str, name: str, entry: Plain) -> tuple[float, bool]:
        if not entry.get("error"):
            return 0.0, False
        text, line = entry["error"]
        relative = text.endswith(("percent", "%")) and entry["unit"] != "percent"
        unit = "percent" if relative else "K" if entry["unit"] == "degC" else entry["unit"]
        value = self._quantity(section, name, text, unit, ".error", line)
        if value is not None and value <= 0.0:
            self._fault(section, name, ".error", f"'{shown(text)}', expected more than 0")
        return (value or 0.0) / (100 if relative else 1), relative

    def _plausible(self, section: str, name: str, entry: Plain) -> list[float] | None:
        if not entry.get("plausible"):
            return None
        values = [
            self._quantity(section, name, text, entry["unit"], ".plausible", line) for text, line in entry["plausible"]
        ]
        if None in values:
            return None
        if len(values) != 2 or values[0] is None or values[1] is None or values[0] >= values[1]:
            self._fault(section, name, ".plausible", "expected the lowest and the highest believable value")
            return None
        return [values[0], values[1]]

    def _fact(self, section: str, name: str, entry: Plain) -> Plain:
        if entry["kind"] == "number" and not self._known_unit(section, name, entry["unit"]):
            entry = {**entry, "unit": "1", "typical": {}}
        error, relative = self._reading_error(section, name, entry)
        total = sum(self._word("share", choice["share"]) for choice in entry["choices"].values()) or 1.0
        choices = {
            key: [choice["title"], self._word("share", choice["share"]) / total]
            for key, choice in entry["choices"].items()
        }
        doubt = entry["doubt"]
        return {
            **entry,
            "short": entry["short"],
            "answerable": self._word("answerable", entry["answerable"]) if entry["answerable"] else 0.0,
            "plausible": self._plausible(section, name, entry),
            "error": error,
            "error_relative": relative,
            "typical": self._typical(section, name, entry),
            "choices": choices,
            "doubt": [doubt["said"], doubt["ask"], doubt.get("at", [])] if doubt else None,
        }

    def _typical(self, section: str, name: str, entry: Plain) -> list[list[float]]:
        points: list[list[float]] = []
        total = sum(self._word("share", word) for word in entry["typical"].values()) or 1.0
        for text, word in entry["typical"].items():
            value = self._quantity(section, name, text, entry["unit"], f".typical.{shown(text)}")
            if value is not None:
                points.append([value, self._word("share", word) / total])
        if any(b[0] <= a[0] for a, b in pairwise(points)):
            self._fault(section, name, ".typical", "values out of order, expected them rising")
        return points

    def _check(self, name: str, entry: Plain) -> Plain:
        entry = {**_EMPTY_CHECK, **entry}
        if entry["kind"] == "number" and not self._known_unit("checks", name, entry["unit"]):
            entry["unit"] = "1"
        error, relative = self._reading_error("checks", name, entry)
        results: dict[str, list[Any]] = {}
        for key, result in entry["results"].items():
            edges = [
                self._quantity(
                    "checks", name, *[result[edge][0], entry["unit"], f".results.{key}.{edge}", result[edge][1]]
                )
                if edge in result
                else None
                for edge in ("from", "to")
            ]
            results[key] = [result["title"], self._word("background", result.get("background", "")), *edges]
        if entry["kind"] == "number":
            self._bands_meet(name, results)
        doubt = entry["doubt"]
        return {
            **entry,
            "answerable": self._word("answerable", entry["answerable"]),
            "plausible": self._plausible("checks", name, entry),
            "error": error,
            "error_relative": relative,
            "results": results,
            "doubt": [doubt["said"], doubt["ask"], doubt.get("at", [])] if doubt else None,
        }

    def _bands_meet(self, name: str, results: dict[str, list[Any]]) -> None:
        bands = sorted(
            ((low, high) for _, _, low, high in results.values()),
            key=lambda band: -math.inf if band[0] is None else band[0],
        )
        if len(bands) < 2:
            return  # told already: a check has two results at least
        ends = [high for _, high in bands]
        if bands[0][0] is not None or ends[-1] is not None or [low for low, _ in bands[1:]] != ends[:-1]:
            self._fault(
                "checks", name, ".results", "the bands leave a gap or overlap, expected each 'to' to be the next 'from'"
            )

    def _symptom(self, name: str, entry: Plain) -> Plain:
        entry = {
            "confused_with": {},
            "builds": [],
            "painted": None,
            "same_as": [],
            "ask_when": {},
            "pointless": "",
            **entry,
        }
        same: list[list[str]] = []
        for text in entry["same_as"]:
            check, _, result = text.partition(".")
            if self._half("checks", check):
                continue
            if check not in self.checks or result not in self.checks[check]["results"]:
                known = [f"{one}.{each}" for one, entry_of in self.checks.items() for each in entry_of["results"]]
                self._fault(
                    "symptoms",
                    name,
                    ".same_as",
                    f"no result '{shown(text)}' of a check, expected check.result{self.reading.nearest(text, known)}",
                )
            else:
                same.append([check, result])
        return {
            **entry,
            "background": self._word("background", entry["background"]),
            "answerable": self._word("answerable", entry["answerable"]),
            "same_as": same,
        }

    def _cause(self, name: str, entry: Plain) -> Plain:
        entry = {"builds": [], "painted": None, "opposite": "", "symptoms": {}, "checks": {}, "facts": {}, **entry}
        symptoms = {key: self._link(link) for key, link in entry["symptoms"].items()}
        checks: dict[str, dict[str, list[Any]]] = {}
        for check, results in entry["checks"].items():
            known = self.checks.get(check, {"results": results, "base": None})
            for result in results:
                if result not in known["results"]:
                    self._fault(
                        "causes",
                        name,
                        f".checks.{check}.{shown(result)}",
                        f"no such result{self.reading.nearest(result, known['results'])}",
                    )
                elif result == known["base"] and known.get("kind") != "many":
                    self._fault(
                        "causes",
                        name,
                        f".checks.{check}.{shown(result)}",
                        "is the base, what shows when nothing acts: expected a telling result",
                    )
            checks[check] = {result: self._link(link) for result, link in results.items()}
        facts = {
            fact: self._evidence(name, fact, answers) for fact, answers in entry["facts"].items() if fact in self.facts
        }
        opposite = entry["opposite"]
        if opposite == name:
            self._fault("causes", name, ".opposite", "is the cause itself, expected another")
        elif opposite and opposite in self.found["causes"] and self.found["causes"][opposite].get("opposite") != name:
            self._fault("causes", name, ".opposite", f"'{opposite}' doesn't name it back")
        return {
            **entry,
            "base": self._word("share", entry["base"]),
            "symptoms": symptoms,
            "checks": checks,
            "facts": facts,
        }

    def _link(self, link: list[str]) -> list[Any]:
        return [link[0], self._word("likelihood", link[0]), link[1]]

    def _evidence(self, cause: str, fact: str, answers: dict[str, list[str]]) -> Plain:
        entry = self.facts[fact]
        why = {answer: reason for answer, (_, reason) in answers.items() if reason}
        if entry["kind"] == "number":
            return {"choices": {}, "curve": self._curve(cause, fact, entry, answers), "why": why, "other": 1.0}
        choices: dict[str, float] = {}
        for answer, (word, _) in answers.items():
            if answer not in entry["choices"]:
                self._fault(
                    "causes",
                    cause,
                    f".facts.{fact}.{shown(answer)}",
                    f"no such answer{self.reading.nearest(answer, entry['choices'])}",
                )
            choices[answer] = self._word("ratio", word)
        total = sum(share * choices.get(answer, 1.0) for answer, (_, share) in entry["choices"].items())
        if entry["kind"] == "many":
            # Each value is told or not by itself, so the words stand as written; but who names another change and not this cause's own
            # speaks a little against the cause, by as much as its own changes would have been named more often.
            return {"choices": choices, "curve": [], "why": why, "other": min(1.0, 1.0 / total) if total > 0 else 1.0}
        scale = self._scale(cause, fact, total)
        return {
            "choices": {answer: choices.get(answer, 1.0) * scale for answer in entry["choices"]},
            "curve": [],
            "why": why,
            "other": 1.0,
        }

    def _curve(self, cause: str, fact: str, entry: Plain, answers: dict[str, list[str]]) -> list[list[float]]:
        points: list[list[float]] = []
        for text, (word, _) in answers.items():
            value = self._quantity("causes", cause, text, entry["unit"], f".facts.{fact}.{shown(text)}")
            if value is not None:
                points.append([value, self._word("ratio", word)])
        if any(b[0] <= a[0] for a, b in pairwise(points)):
            self._fault("causes", cause, f".facts.{fact}", "points of the curve out of order, expected them rising")
            return []
        if not points or not entry["typical"]:
            return points
        scale = self._scale(cause, fact, sum(share * curve_ratio(points, value) for value, share in entry["typical"]))
        return [[value, ratio * scale] for value, ratio in points]

    def _scale(self, cause: str, fact: str, total: float) -> float:
        if total <= 0:
            return 1.0
        scale = 1.0 / total
        if max(scale, 1 / scale) > _WARN_SCALE:
            file, line = self.reading.place(f"causes.{cause}.facts.{fact}")
            self.warnings.append(
                f"{file}:{line}: causes.{cause}.facts.{fact}: ratios scaled by {scale:.2f}, shares times ratios should sum to 1"
            )
        return scale

    def _conditions(self) -> None:
        """Check the answers named in `ask_when`."""
        families = {entry["family"] for entry in self.found["symptoms"].values()}
        for section in ("facts", "checks", "symptoms"):
            for name, entry in self.found[section].items():
                for question, values in entry.get("ask_when", {}).items():
                    known: Any
                    if question == "seen":
                        known = [*self.found["symptoms"], *sorted(families)]
                    elif question in self.facts:
                        known = list(self.facts[question]["choices"])
                    else:
                        known = list(self.checks.get(question, {"results": values})["results"])
                    for value in values:
                        if value not in known and not (question == "seen" and self._half("symptoms", value)):
                            self._fault(
                                section,
                                name,
                                f".ask_when.{question}",
                                f"no such answer '{shown(value)}'{self.reading.nearest(value, known)}",
                            )

    def _doubts(self) -> None:
        """Check the answers named in `doubt.at`."""
        for section in ("facts", "checks"):
            for name, entry in self.found[section].items():
                known = list(entry.get("choices") or entry.get("results") or {})
                for value in (entry.get("doubt") or {}).get("at", []):
                    if entry.get("kind") == "number" and (
                        value == "round" or re.fullmatch(r"-?[0-9]+(\.[0-9]+)?", value)
                    ):
                        continue
                    if entry.get("kind") == "number" or value not in known:
                        number = ", expected round, or numbers"
                        hint = number if entry.get("kind") == "number" else self.reading.nearest(value, known)
                        self._fault(section, name, ".doubt.at", f"no such answer '{shown(value)}'{hint}")

    def _remedy(self, name: str, entry: Plain) -> Plain:
        entry = {
            "wait_minutes": 0.0,
            "caution": "",
            "never_with": [],
            "mends_damage": [],
            "sets": {},
            "not_when": {},
            "until": None,
            **entry,
        }
        text, line = entry["until"] or ("", 0)
        until = self._quantity("remedies", name, text, "min", ".until", line) if text else None
        self._known_answers("remedies", name, ".not_when", entry["not_when"])
        return {**entry, "until": until, "fixes": {cause: self._link(link) for cause, link in entry["fixes"].items()}}

    def _known_answers(self, section: str, name: str, path: str, answers: dict[str, list[str]]) -> None:
        """Refuse a value that is no answer to its question: a choice, a result, or seen and absent of a symptom."""
        for question, values in answers.items():
            known: Any = values
            if question in self.facts:
                known = self.facts[question]["choices"]
            elif question in self.checks:
                known = self.checks[question]["results"]
            elif question in self.found["symptoms"]:
                known = ["seen", "absent"]
            for value in values:
                if value not in known:
                    self._fault(
                        section,
                        name,
                        f"{path}.{question}",
                        f"no such answer '{shown(value)}'{self.reading.nearest(value, known)}",
                    )

    def _danger(self, name: str, entry: Plain) -> Plain:
        when = {"symptoms": [], "checks": {}, "facts": {}, **entry.get("when", {})}
        for part in ("checks", "facts"):
            self._known_answers("dangers", name, f".when.{part}", when[part])
        over = {}
        for question, (text, line) in entry.get("over", {}).items():
            if question in self.facts or question in self.checks:
                known = self.facts.get(question) or self.checks[question]
                over[question] = self._quantity("dangers", name, text, known["unit"], f".over.{question}", line)
        units = {"mass": "g", "section": "mm", "age_under": "h", "cool_under": "degC"}
        lumps = {
            key: self._quantity("dangers", name, text, units[key], f".lumps.{key}", line)
            for key, (text, line) in entry.get("lumps", {}).items()
        }
        return {"ask": "", **entry, "when": when, "over": over, "lumps": lumps or None}

    def _material(self, name: str, entry: Plain) -> Plain:
        units = {"density_a": "kg/m^3", "density_b": "kg/m^3", "density": "kg/m^3", "sheet_temperature": "degC"}
        fixed = ("title", "help", "kind", "sources", "ratios")
        values = {
            key: self._quantity("materials", name, text, units.get(key, "s"), f".{key}", line)
            for key, (text, line) in ((k, v) for k, v in entry.items() if k not in fixed)
        }
        ratios = [
            [
                self._quantity("materials", name, ratio, "parts_a_per_100_b", f".ratios.{ratio}"),
                self._quantity("materials", name, text, "kg/m^3", f".ratios.{ratio}", line),
            ]
            for ratio, (text, line) in entry.get("ratios", {}).items()
        ]
        for key, value in values.items():
            if value is not None and value <= 0.0 and key != "sheet_temperature":
                self._fault("materials", name, f".{key}", "expected more than 0")
        if any(value is not None and value <= 0.0 for pair in ratios for value in pair):
            self._fault("materials", name, ".ratios", "expected ratios and densities above 0")
        return {
            "title": entry["title"],
            "help": entry["help"],
            "kind": entry["kind"],
            "sources": entry["sources"],
            "values": values,
            "ratios": ratios,
        }

    def _practice(self, name: str, entry: Plain) -> Plain:
        """Return the spans in the unit; where only builds are given, the whole is what they span, its middle their mean."""
        if not self._known_unit("practice", name, entry["unit"]):
            return {}
        builds = {
            build: self._span(name, span, entry["unit"], f".by_build.{build}")
            for build, span in entry.get("by_build", {}).items()
        }
        if "value" in entry or "low" in entry:
            whole = self._span(name, entry, entry["unit"], "")
        else:
            lows, mids, highs = zip(*builds.values(), strict=True)
            whole = [min(lows), sum(mids) / len(mids), max(highs)]
        about = {key: entry[key] for key in ("about", "unit", "source")}
        bounds = dict(entry.get("bounds", {}))
        return {**about, "low": whole[0], "mid": whole[1], "high": whole[2], "by_build": builds, "bounds": bounds}

    def _span(self, name: str, span: Plain, unit: str, path: str) -> list[float]:
        read = {
            key: self._quantity("practice", name, span[key][0], unit, f"{path}.{key}", span[key][1]) or 0.0
            for key in ("value", "low", "mid", "high")
            if key in span
        }
        if "value" in read:
            return [read["value"]] * 3
        mid = read.get("mid", (read["low"] + read["high"]) / 2)
        if not read["low"] <= mid <= read["high"]:
            self._fault("practice", name, path, "expected low, mid and high rising")
        return [read["low"], mid, read["high"]]
