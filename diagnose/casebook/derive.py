"""What follows from raw answers: ratio error, packing, dew margin, clocks at today's temperature.

Each derived value enters the reasoning as a fact of its own, with its error bar from the sums' inputs, and outranks the raw
answers behind it. Its trust is that of its least trusted input. The sum itself is kept in words for the report.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field

from diagnose.bench import cure_times, humidity, mix, packing, skin, venting
from diagnose.bench.quantities import BenchError, number
from diagnose.casebook.case import Case
from diagnose.knowledge import Knowledge, Material
from diagnose.reasoning.answers import SOURCES, Answer

#: what a caster's cups and stick keep back, one standard deviation in percent of the ratio (our own, no source)
_CUP_ERROR = 1.0
#: demold time assumed where no sheet is named, in minutes, and its relative error (common practice, no source)
_DEMOLD_MINUTES, _DEMOLD_ERROR = 40.0, 0.2
#: a sheet's times are given at about this temperature where it doesn't say (common practice, no source)
_SHEET_C = 25.0
#: relative error of a sheet's time where nobody told how warm it was: some 3 K of a shop's weather (ours)
_ANY_WEATHER = 0.15
#: a slope is stepped towards these, in °C and %
_MIDDLE_C, _MIDDLE_RH = 25.0, 50.0
_SKIN_DENSITY = 1.05
#: the middle of the usual packing of each build (common practice, no source)
_USUAL_PACKING = {"bare_foam": 1.45, "skin_and_foam": 1.15}
#: what the heat of a lump is counted as, a grade of this many kg/m3, and how far off that is where nobody told the density (ours)
_HEAT_DENSITY, _ANY_DENSITY = 160.0, 0.4
#: sections over this many mm want this many minutes more for each this many mm (common practice, no source)
_THICK_MM, _THICK_MINUTES, _THICK_STEP_MM = 50.0, 5.0, 25.0
#: a wider gap, in mm, is not what stops the foam (the range of the sum)
_WIDE_GAP_MM = 8.0
#: what a sheet answers, by the kind of material: key of the sheet, fact, what the sheet's unit is divided by
_SHEET = {
    "foam": (
        ("sheet_temperature", "sheet_temperature", 1.0),
        ("cream_time", "cream_time", 1.0),
        ("demold_time", "sheet_demold_time", 60.0),
    ),
    "skin": (("sheet_temperature", "sheet_temperature", 1.0), ("gel_time", "sheet_skin_gel", 60.0)),
}
#: a target within this part of the sheet's only ratio is the sheet's
_SAME_RATIO = 0.01


@dataclass(frozen=True, slots=True)
class Computed:
    """A value worked out: its name, value, unit ("1" for a pure number), standard error and the sum in words."""

    name: str
    value: float
    unit: str
    error: float
    text: str
    inputs: tuple[str, ...]


@dataclass(slots=True)
class Derivation:
    """All that follows from one case: computed values, the facts among them, what a material filled in, and warnings."""

    computed: list[Computed] = field(default_factory=list)
    facts: dict[str, Answer] = field(default_factory=dict)
    filled: dict[str, Answer] = field(default_factory=dict)
    warnings: list[str] = field(default_factory=list)

    def all_answers(self, case: Case) -> dict[str, Answer]:
        """Return the answers of *case* with what follows from them, in the order given."""
        return {**case.values, **self.filled, **self.facts}


def derive(case: Case, knowledge: Knowledge) -> Derivation:
    """Return what follows from the answers of *case*."""
    return _Deriver(case, knowledge).run()


class _Deriver:
    def __init__(self, case: Case, knowledge: Knowledge) -> None:
        self.knowledge = knowledge
        self.found = Derivation()
        self.known = {name: answer for name, answer in case.values.items() if answer.known}
        self.found.filled = self._from_material(case)
        self.known.update(self.found.filled)

    def run(self) -> Derivation:
        """Work out everything that the answers allow; a sum whose inputs are out of range becomes a warning."""
        sums: tuple[Callable[[], None], ...] = (
            self._ratio,
            self._batch,
            self._packing,
            self._packing_of_part,
            self._core_heat,
            self._travel,
            self._dew,
            self._skin,
            self._mix_fraction,
            self._pour_fraction,
            self._demold_fraction,
            self._skin_delay,
        )
        for work_out in sums:
            try:
                work_out()
            except BenchError as error:
                self.found.warnings.append(f"no sum: {error}")
        return self.found

    # -- helpers ---------------------------------------------------------------------------------------------------

    def _value(self, name: str) -> float | None:
        answer = self.known.get(name)
        return float(answer.value) if answer is not None and isinstance(answer.value, float) else None

    def _values(self, *names: str) -> list[float] | None:
        found = [self._value(name) for name in names]
        return None if any(value is None for value in found) else [value for value in found if value is not None]

    def _error(self, name: str) -> float:
        """Relative standard error of a raw answer."""
        value = abs(float(self.known[name].value))  # type: ignore[arg-type]
        return self._standard(name) / value if value else 0.0

    def _standard(self, name: str) -> float:
        """Standard error of a raw answer in its own unit."""
        fact, answer = self.knowledge.facts[name], self.known[name]
        if answer.error is not None:
            return answer.error
        return fact.error * abs(float(answer.value)) if fact.error_relative else fact.error  # type: ignore[arg-type]

    def _source(self, names: tuple[str, ...]) -> str:
        """The least trusted source among the inputs."""
        return max((self.known[name].source for name in names if name in self.known), key=SOURCES.index, default="seen")

    def _add(self, name: str, value: float, unit: str, error: float, text: str, inputs: tuple[str, ...]) -> None:
        self.found.computed.append(Computed(name, value, unit, error, text, inputs))
        if name in self.knowledge.facts:
            self.found.facts[name] = Answer(value, self._source(inputs), error)

    def _from_material(self, case: Case) -> dict[str, Answer]:
        """Facts that the material's sheet answers and nobody told."""
        answer = case.values.get("material")
        if answer is None or not answer.known or answer.value not in self.knowledge.materials:
            return {}
        material: Material = self.knowledge.materials[str(answer.value)]
        wanted = {
            name: material.values[key] / per for key, name, per in _SHEET[material.kind] if key in material.values
        }
        if material.kind == "foam":
            wanted.update(self._density_of(material))
        return {
            name: Answer(value, answer.source)
            for name, value in wanted.items()
            if name in self.knowledge.facts and not self._told(case, name)
        }

    def _told(self, case: Case, name: str) -> bool:
        return case.value(name) is not None

    def _density_of(self, material: Material) -> dict[str, float]:
        if not material.ratios:
            return {}
        target = self._value("ratio_target")
        if len(material.ratios) == 1:
            only, density = material.ratios[0]
            if target is None or abs(target - only) <= _SAME_RATIO * only:
                return {"ratio_target": only, "free_rise_density": density}
            self.found.warnings.append(
                f"{material.title}: its sheet gives {_four(only)} per 100, not {_four(target)}, so its free-rise density is not used"
            )
            return {}
        if target is None:
            return {}
        try:
            return {"free_rise_density": mix.density_at_ratio(target, material.ratios).mid}
        except BenchError as error:
            self.found.warnings.append(f"{material.title}: {error}")
            return {}

    # -- the sums --------------------------------------------------------------------------------------------------

    def _ratio(self) -> None:
        masses = self._values("a_mass", "b_mass")
        if masses is None:
            return
        a, b = masses
        parts = mix.ratio(a / 1000, b / 1000)
        text = f"{_grams(a)} to {_grams(b)} is {parts:.1f} per 100"
        self._add("ratio", parts, "parts_a_per_100_b", parts * self._ratio_sd(a, b) / 100, text, ("a_mass", "b_mass"))
        target = self._value("ratio_target")
        if target is None:
            return
        off = mix.ratio_error_percent(a / 1000, b / 1000, target)
        side = "over" if off > 0 else "under"
        how = (
            f"{abs(off):.1f} % {side} {_four(target)}" if abs(off) >= 0.05 else f"just the {_four(target)} that are due"
        )
        text = f"{_grams(a)} to {_grams(b)} is {parts:.1f} per 100, {how}"
        self._add("ratio_error", off, "percent", self._ratio_sd(a, b), text, ("a_mass", "b_mass", "ratio_target"))

    def _ratio_sd(self, a: float, b: float) -> float:
        step = self._value("scale_step") or self._step_of(a, b)
        step = min(step, 0.2 * min(a, b))
        return math.hypot(mix.ratio_error_se_percent(a / 1000, b / 1000, 100 * a / b, step / 1000), _CUP_ERROR)

    def _step_of(self, a: float, b: float) -> float:
        """The scale's step is at least as fine as the figures read from it."""
        return 1.0 if a == int(a) and b == int(b) else 0.1

    def _batch(self) -> None:
        masses = self._values("a_mass", "b_mass")
        if masses is None:
            return
        total = sum(masses)
        error = math.hypot(masses[0] * self._error("a_mass"), masses[1] * self._error("b_mass"))
        self._add(
            "batch_mass",
            total,
            "g",
            error,
            f"{_grams(masses[0])} + {_grams(masses[1])} = {_grams(total)}",
            ("a_mass", "b_mass"),
        )
        step = self._value("scale_step")
        if step is not None:
            share = step / min(masses)
            text = f"a step of {_grams(step)} in {_grams(min(masses))} is {100 * share:.2g} %"
            self._add("scale_fraction", share, "1", 0.0, text, ("scale_step", "a_mass", "b_mass"))

    def _packing(self) -> None:
        values = self._values("charge_mass", "cavity_volume", "free_rise_density")
        if values is not None:
            self._packed("packing", "charge_mass", *values)

    def _packing_of_part(self) -> None:
        values = self._values("part_mass", "cavity_volume", "free_rise_density")
        if values is not None:
            self._packed("packing_of_part", "part_mass", *values)

    def _packed(self, name: str, mass_name: str, mass: float, volume: float, density: float) -> None:
        value = packing.packing(mass / 1000, volume / 1e6, density)
        error = value * math.sqrt(sum(self._error(n) ** 2 for n in (mass_name, "cavity_volume", "free_rise_density")))
        text = f"{_grams(mass)} / ({_four(volume)} mL x {_four(density / 1000)} g/mL) = {value:.2f}"
        inputs = (mass_name, "cavity_volume", "free_rise_density")
        self._add(name, value, "1", error, text, inputs)
        build = self.known.get("build")
        usual = _USUAL_PACKING.get(str(build.value)) if build is not None else None
        if usual is not None:
            text = f"packing {value:.2f} of {usual} usual for this build = {value / usual:.2f}"
            self._add(f"{name}_against_usual", value / usual, "1", error / usual, text, (*inputs, "build"))

    def _core_heat(self) -> None:
        """The lump's heat, from what went in or else from what was mixed; without a density a middling one, and a wide error."""
        charge_told = self._value("charge_mass") is not None
        masses = ("charge_mass",) if charge_told else ("a_mass", "b_mass")
        values = self._values(*masses)
        if values is None:
            return
        mass, density = sum(values), self._value("free_rise_density")
        value = mass / 1000 * _HEAT_DENSITY / (density or _HEAT_DENSITY)
        weighed = (
            math.sqrt(sum((self._error(name) * part) ** 2 for name, part in zip(masses, values, strict=True))) / mass
        )
        error = value * math.hypot(weighed, _ANY_DENSITY if density is None else self._error("free_rise_density"))
        grade = "a grade of unknown density" if density is None else f"a {_four(density)} kg/m³ grade"
        text = f"{_grams(mass)} of {grade}: heat as of {value:.2g} kg at {_four(_HEAT_DENSITY)} kg/m³"
        self._add(
            "core_heat", value, "kg", error, text, (*masses, *(() if density is None else ("free_rise_density",)))
        )

    def _travel(self) -> None:
        values = self._values("travel_length", "narrowest_gap")
        if values is None or values[1] > _WIDE_GAP_MM:
            return
        length, gap = values
        reach = venting.travel(gap / 1000)
        value = length / 1000 / reach.mid
        spread = (reach.high - reach.low) / (4 * reach.mid)
        error = value * math.sqrt(spread**2 + self._error("travel_length") ** 2 + self._error("narrowest_gap") ** 2)
        text = f"{_four(length)} mm of way, and a {_four(gap)} mm gap lets foam go {_four(1000 * reach.mid)} mm: {value:.2f}"
        self._add("travel_share", value, "1", error, text, ("travel_length", "narrowest_gap"))

    def _dew(self) -> None:
        values = self._values("room_temperature", "relative_humidity")
        if values is None:
            return
        room, rh = values
        point = humidity.dew_point_c(room, rh)
        text = f"room {_four(room)} °C at {_four(rh)} %: dew point {point:.1f} °C"
        error = math.hypot(
            self._standard("room_temperature") * _slope(lambda t: humidity.dew_point_c(t, rh), room, _MIDDLE_C),
            self._standard("relative_humidity") * _slope(lambda h: humidity.dew_point_c(room, h), rh, _MIDDLE_RH),
        )
        self._add("dew_point", point, "degC", error, text, ("room_temperature", "relative_humidity"))
        face = self._value("mold_temperature")
        if face is not None:
            margin = humidity.dew_margin(face, room, rh)
            side = "above" if margin >= 0 else "below"
            error = math.hypot(error, self._standard("mold_temperature"))
            self._add(
                "dew_margin",
                margin,
                "K",
                error,
                f"mold face {_four(face)} °C, {abs(margin):.1f} K {side} the dew point of {point:.1f} °C",
                ("mold_temperature", "room_temperature", "relative_humidity"),
            )

    def _skin(self) -> None:
        values = self._values("skin_mass", "mold_area")
        if values is None:
            return
        density = self._skin_density()
        mean = skin.skin_mean_mm(values[0], values[1], density)
        error = mean * math.hypot(self._error("skin_mass"), self._error("mold_area"))
        text = f"{_grams(values[0])} / ({_four(values[1])} cm² x {_four(density)} g/mL) = {mean:.2f} mm on average"
        self._add("skin_mean", mean, "mm", error, text, ("skin_mass", "mold_area"))

    def _skin_density(self) -> float:
        material = self.knowledge.materials.get(str(self.known["material"].value)) if "material" in self.known else None
        if material is not None and material.kind == "skin" and "density" in material.values:
            return material.values["density"] / 1000
        self.found.warnings.append(
            f"skin_mean: no sheet says how dense the skin is, so {_SKIN_DENSITY} g/mL is assumed"
        )
        return _SKIN_DENSITY

    def _at(self, time: float, *temperatures: str) -> tuple[float, float, str, tuple[str, ...]]:
        """A sheet's time at today's temperature: value, relative error of carrying it there, how it was got, inputs."""
        sheet = self._value("sheet_temperature")
        reference = sheet if sheet is not None else _SHEET_C
        for name in temperatures:
            here = self._value(name)
            if here is not None:
                factor = cure_times.time_factor(here, reference)
                reading = (
                    self._standard(name)
                    * _slope(lambda t: cure_times.time_factor(t, reference).mid, here, _MIDDLE_C)
                    / factor.mid
                )
                error = math.hypot((factor.high - factor.low) / (4 * factor.mid), reading)
                return time * factor.mid, error, f" at {_four(here)} °C", (name,)
        return time, _ANY_WEATHER, "", ()

    def _fraction(
        self,
        name: str,
        elapsed_name: str,
        time_name: str,
        words: str,
        *temperatures: str,
        unit: str,
        extra: float = 0.0,
    ) -> None:
        """How far a time had run: told over the sheet's, or over what such foams usually want where no sheet is at hand (*time_name* empty).

        *extra* is what a thick section wants on top of it, in the same unit.
        """
        elapsed = self._value(elapsed_name)
        time = self._value(time_name) if time_name else _DEMOLD_MINUTES
        if elapsed is None or time is None:
            return
        today, carried, at, used = self._at(time + extra, *temperatures)
        if extra:
            words, used = f"{words}, {extra:.2g} {unit} of it for the thick section,", (*used, "section_thickness")
        value = elapsed / today
        error = value * math.hypot(
            carried, self._error(time_name) if time_name else _DEMOLD_ERROR, self._error(elapsed_name)
        )
        text = f"{_four(elapsed)} {unit} of {today:.3g} {unit} {words}{at} is {value:.2f}"
        self._add(name, value, "1", error, text, (elapsed_name, *([time_name] if time_name else []), *used))

    def _mix_fraction(self) -> None:
        self._fraction("mix_fraction", "mix_time", "cream_time", "to cream", "material_temperature", unit="s")

    def _pour_fraction(self) -> None:
        self._fraction("pour_fraction", "pour_done", "cream_time", "to cream", "material_temperature", unit="s")

    def _demold_fraction(self) -> None:
        known = self._value("sheet_demold_time") is not None
        time_name, words = ("sheet_demold_time", "on the sheet") if known else ("", "that such foams usually want")
        thick = self._value("section_thickness")
        extra = 0.0 if thick is None else max(0.0, thick - _THICK_MM) / _THICK_STEP_MM * _THICK_MINUTES
        self._fraction(
            "demold_fraction",
            "demold_time",
            time_name,
            words,
            "mold_temperature",
            "room_temperature",
            unit="min",
            extra=extra,
        )

    def _skin_delay(self) -> None:
        self._fraction(
            "skin_delay",
            "skin_to_foam_time",
            "sheet_skin_gel",
            "to gel",
            "mold_temperature",
            "room_temperature",
            unit="min",
        )


def _slope(curve: Callable[[float], float], at: float, middle: float) -> float:
    """How fast *curve* runs at a value, stepped towards the *middle* so that it stays in the range of the sum."""
    step = 1e-3 if at < middle else -1e-3
    return (curve(at + step) - curve(at)) / step


def _four(value: float) -> str:
    """A number in a text: four digits, for 8 oz is 226.8 g and nobody's scale shows 226.796."""
    return number(value, 4)


def _grams(value: float) -> str:
    return f"{_four(value)} g"
