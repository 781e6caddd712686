"""What follows from raw answers: ratio error, packing, dew margin, clocks at today's temperature.

Each derived value enters the reasoning as a fact of its own and outranks the raw answers behind it. It is one run of
a sum of the bench, the same that the sheet and the command line run, so that it is told with the same number
everywhere. Its error bar comes from one rule: each input varied by its standard error, and the sum's own spread on
top. Its trust is that of its least trusted input.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping

from msgspec import Struct, field

from diagnose.bench import mix
from diagnose.bench.calculation import Calculation, Figure, Outcome, Value
from diagnose.bench.catalogue import by_name
from diagnose.bench.quantities import BenchError, number
from diagnose.casebook.case import Case
from diagnose.knowledge import Knowledge, Material
from diagnose.reasoning.answers import SOURCES, Answer

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


class DerivedFact(Struct, frozen=True):
    """A fact worked out: the *sum* of the bench that gives it (as its figure of the same name), and which answers go
    in.

    All of *needs* must be known; *also* go in where they are. The sum itself accounts for how well *exact* inputs
    were read.
    """

    name: str
    sum: str
    needs: tuple[str, ...]
    also: tuple[str, ...] = ()
    exact: tuple[str, ...] = ()

    @property
    def calculation(self) -> Calculation:
        """The sum of the catalogue."""
        return by_name(self.sum)


_WEIGHTS = ("a_mass", "b_mass")
_ROOM = ("cavity_volume", "free_rise_density")
_MOLD_C = ("mold_temperature", "room_temperature", "sheet_temperature")
_MIX_C = ("material_temperature", "sheet_temperature")

#: every derived fact, in the order in which they are told; of two ways to one fact the first that can be gone
DERIVED: tuple[DerivedFact, ...] = (
    DerivedFact("ratio", "ratio", _WEIGHTS, ("scale_step",), _WEIGHTS),
    DerivedFact(
        "ratio_error", "ratio-error", (*_WEIGHTS, "ratio_target"), ("scale_step",), (*_WEIGHTS, "ratio_target")
    ),
    DerivedFact("batch_mass", "batch", _WEIGHTS),
    DerivedFact("scale_fraction", "scale", ("scale_step", *_WEIGHTS)),
    DerivedFact("packing", "packing", ("charge_mass", *_ROOM)),
    DerivedFact("packing_against_usual", "packing", ("charge_mass", *_ROOM, "build")),
    DerivedFact("packing_of_part", "packing", ("part_mass", *_ROOM)),
    DerivedFact("packing_of_part_against_usual", "packing", ("part_mass", *_ROOM, "build")),
    DerivedFact("core_heat", "core-heat", ("charge_mass",), ("free_rise_density",)),
    DerivedFact("core_heat", "core-heat", _WEIGHTS, ("free_rise_density",)),
    DerivedFact("travel_share", "travel", ("travel_length", "narrowest_gap")),
    DerivedFact("dew_point", "dew-point", ("room_temperature", "relative_humidity")),
    DerivedFact("dew_margin", "dew-point", ("mold_temperature", "room_temperature", "relative_humidity")),
    DerivedFact("skin_mean", "skin-thickness", ("skin_mass", "mold_area"), ("skin_density",)),
    DerivedFact("mix_fraction", "pour-time", ("mix_time", "cream_time"), _MIX_C),
    DerivedFact("pour_fraction", "pour-time", ("pour_done", "cream_time"), _MIX_C),
    DerivedFact("demold_fraction", "demold", ("demold_time",), ("sheet_demold_time", "section_thickness", *_MOLD_C)),
    DerivedFact("skin_delay", "window", ("skin_to_foam_time", "sheet_skin_gel"), _MOLD_C),
)


class Computed(Struct, frozen=True):
    """A value worked out: its name, value, unit ("1" for a pure number), standard error and the sum in words."""

    name: str
    value: float
    unit: str
    error: float
    text: str
    inputs: tuple[str, ...]


class Derivation(Struct):
    """All that follows from one case: computed values, the facts among them, what a material filled in,
    and warnings.
    """

    computed: list[Computed] = field(default_factory=list)
    facts: dict[str, Answer] = field(default_factory=dict)
    filled: dict[str, Answer] = field(default_factory=dict)
    warnings: list[str] = field(default_factory=list)

    def all_answers(self, case: Case) -> dict[str, Answer]:
        """Return the answers of *case* with what follows from them, in the order given."""
        return {**case.values, **self.filled, **self.facts}

    def warn(self, text: str) -> None:
        """Keep a warning, once."""
        if text not in self.warnings:
            self.warnings.append(text)


def derive(case: Case, knowledge: Knowledge) -> Derivation:
    """Return what follows from the answers of *case*; a sum whose inputs are out of range becomes a warning."""
    found = Derivation()
    known = {name: answer for name, answer in case.values.items() if answer.known}
    material = named_material(known, knowledge)
    if material is not None:
        found.filled = _from_sheet(material, known, knowledge, found)
        known.update(found.filled)
    values = sum_values(known, material)
    for fact in DERIVED:
        try:
            _work_out(fact, values, known, knowledge, found)
        except BenchError as error:
            found.warn(f"no sum: {error}")
    return found


def sum_values(known: Mapping[str, Answer], material: Material | None) -> dict[str, Value]:
    """Return what the sums can use of the *known* answers and of the sheet of the *material*, by input name."""
    values: dict[str, Value] = {name: a.value for name, a in known.items() if isinstance(a.value, float)}
    if "build" in known:
        values["build"] = str(known["build"].value)
    if material is not None and material.kind == "skin" and "density" in material.values:
        values["skin_density"] = material.values["density"]
    return values


def named_material(known: Mapping[str, Answer], knowledge: Knowledge) -> Material | None:
    """Return the material that the answers name, or None."""
    return knowledge.materials.get(str(known["material"].value)) if "material" in known else None


def standard_error(
    run: Callable[[Mapping[str, Value]], float], values: Mapping[str, Value], errors: Mapping[str, float]
) -> float:
    """Return the standard error of *run* at *values*: each input varied by its own error, the effects added in
    quadrature.

    Both ways where the sum allows it, else the one way that it does.
    """
    middle = run(values)

    def varied(name: str, by: float) -> float | None:
        try:
            return run({**values, name: float(values[name] or 0.0) + by})
        except BenchError:
            return None

    total = 0.0
    for name, error in errors.items():
        up, down = varied(name, error), varied(name, -error)
        if up is not None and down is not None:
            total += ((up - down) / 2) ** 2
        elif up is not None or down is not None:
            total += ((up if up is not None else down or 0.0) - middle) ** 2
    return math.sqrt(total)


def _work_out(
    fact: DerivedFact, values: Mapping[str, Value], known: Mapping[str, Answer], knowledge: Knowledge, found: Derivation
) -> None:
    if any(name not in values for name in fact.needs) or any(fact.name == made.name for made in found.computed):
        return
    given = {name: values[name] for name in (*fact.needs, *fact.also) if name in values}
    outcome = fact.calculation.run(given, knowledge.practice)
    figure = outcome.figures.get(fact.name)
    if figure is None:
        return
    if fact.name == "skin_mean" and "skin_density" not in given:
        assumed = number(knowledge.practice["skin_density"].mid / 1000)
        found.warn(f"skin_mean: no sheet says how dense the skin is, so {assumed} g/mL is assumed")
    told = tuple(name for name in given if name in known and (name in fact.needs or name in outcome.used))
    error = _error(fact, given, told, figure, known, knowledge)
    found.computed.append(Computed(fact.name, figure.value, figure.unit, error, figure.text or outcome.text, told))
    if fact.name in knowledge.facts:
        found.facts[fact.name] = Answer(figure.value, _source(told, known), error)


def _error(
    fact: DerivedFact,
    given: Mapping[str, Value],
    told: tuple[str, ...],
    figure: Figure,
    known: Mapping[str, Answer],
    knowledge: Knowledge,
) -> float:
    errors = {
        name: _standard(knowledge, name, known[name])
        for name in told
        if isinstance(given[name], float) and name not in fact.exact
    }

    def value(inputs: Mapping[str, Value]) -> float:
        outcome: Outcome = fact.calculation.run(inputs, knowledge.practice)
        if fact.name not in outcome.figures:  # varied past what the sum speaks of, as a gap too wide to stop any foam
            raise BenchError(f"{fact.name}: nothing to tell here")
        return outcome.figures[fact.name].value

    spread = standard_error(value, given, {name: error for name, error in errors.items() if error})
    return math.hypot(spread, figure.own_error)


def _standard(knowledge: Knowledge, name: str, answer: Answer) -> float:
    """Standard error of a raw answer in its own unit."""
    if answer.error is not None:
        return answer.error
    fact = knowledge.facts[name]
    return fact.error * abs(answer.value) if fact.error_relative and isinstance(answer.value, float) else fact.error


def _source(names: tuple[str, ...], known: Mapping[str, Answer]) -> str:
    """The least trusted source among the inputs."""
    return max((known[name].source for name in names), key=SOURCES.index, default="seen")


# -- what the material's sheet answers ---------------------------------------------------------------------------------


def _from_sheet(
    material: Material, known: Mapping[str, Answer], knowledge: Knowledge, found: Derivation
) -> dict[str, Answer]:
    """Facts that the material's sheet answers and nobody told."""
    wanted = {name: material.values[key] / per for key, name, per in _SHEET[material.kind] if key in material.values}
    if material.kind == "foam":
        wanted.update(_density_of(material, known, found))
    source = known["material"].source
    return {
        name: Answer(value, source) for name, value in wanted.items() if name in knowledge.facts and name not in known
    }


def _density_of(material: Material, known: Mapping[str, Answer], found: Derivation) -> dict[str, float]:
    if not material.ratios:
        return {}
    answer = known.get("ratio_target")
    target = answer.value if answer is not None and isinstance(answer.value, float) else None
    if len(material.ratios) == 1:
        only, density = material.ratios[0]
        if target is None or abs(target - only) <= _SAME_RATIO * only:
            return {"ratio_target": only, "free_rise_density": density}
        says = f"its sheet gives {number(only, 4)} per 100, not {number(target, 4)}"
        found.warn(f"{material.title}: {says}, so its free-rise density is not used")
        return {}
    if target is None:
        return {}
    try:
        return {"free_rise_density": mix.density_at_ratio(target, material.ratios).mid}
    except BenchError as error:
        found.warn(f"{material.title}: {error}")
        return {}
