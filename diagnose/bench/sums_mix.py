"""The sums about the mix: masses, ratios, index, water.

Each is a short function from checked inputs to figures and words, and one record that names its inputs. The formulas
live in `mix` and `stoich`; nothing is worked out here.
"""

from __future__ import annotations

import math

from diagnose.bench import mix, stoich
from diagnose.bench.calculation import Calculation, Figure, Inputs, Outcome, needed, optional
from diagnose.bench.quantities import number
from diagnose.bench.words import at_bench, say, say_range

RATIO = needed("ratio_target", "parts of A to 100 of B by weight, off the sheet (1:2 is 50)", "parts_a_per_100_b")
A_MASS = needed("a_mass", "A that went in", "g")
B_MASS = needed("b_mass", "B that went in", "g")
NCO = optional("nco", "NCO of the A side, off its sheet", "percent", practice="nco")
OH = needed("oh_number", "hydroxyl number of the B side, off its sheet", "mgKOH/g")
_SHEET = "The numbers come from the sheet of the very cans in hand."
_NO_RECIPE = "For understanding a fault; never change a formulation by it."


def _parts_to(g: Inputs, name: str) -> str:
    """A ratio as it was told: "50 A to 100 B", "1:2 (50 A to 100 B)"."""
    plain = f"{number(g.raw(name), 4)} A to 100 B"
    return f"{g.told(name)} ({plain})" if g.told(name) else plain


def _split(g: Inputs) -> Outcome:
    parts = mix.split(g.si("batch"), g.raw("ratio_target"))
    a, b = at_bench(parts.a_kg, "g", weighed=True), at_bench(parts.b_kg, "g", weighed=True)
    share = number(g.raw("ratio_target"), 4)
    return Outcome(
        text=f"{g.say('batch')} at {_parts_to(g, 'ratio_target')} is {a} of A and {b} of B",
        lines=(
            f"A = batch x {share} / {number(100 + g.raw('ratio_target'), 4)} = {a}",
            f"B = batch x 100 / {number(100 + g.raw('ratio_target'), 4)} = {b}",
            "Weigh B first, then work A from what the scale says.",
        ),
        figures={
            "a_mass": Figure(parts.a_kg * 1e3, "g", text=f"{g.say('batch')} x {share} / (100 + {share})"),
            "b_mass": Figure(parts.b_kg * 1e3, "g", text=f"{g.say('batch')} x 100 / (100 + {share})"),
        },
    )


def _a_for_b(g: Inputs) -> Outcome:
    a = mix.a_for_b(g.si("b_mass"), g.raw("ratio_target"))
    share = number(g.raw("ratio_target") / 100, 4)
    return Outcome(
        text=f"{g.say('b_mass')} of B takes {at_bench(a, 'g', weighed=True)} of A",
        lines=(f"A = {share} x grams of B, worked from what the scale shows for B",),
        figures={"a_mass": Figure(a * 1e3, "g")},
    )


def _ratio(g: Inputs) -> Outcome:
    parts = mix.ratio(g.si("a_mass"), g.si("b_mass"))
    text = f"{g.say('a_mass')} to {g.say('b_mass')} is {number(parts, 3)} per 100"
    return Outcome(
        text=text,
        lines=("ratio = 100 A / B",),
        figures={"ratio": Figure(parts, "parts_a_per_100_b", error=parts * _ratio_error_sd(g) / 100)},
    )


def _ratio_error_sd(g: Inputs) -> float:
    """Standard error of a ratio in percent: the scale's step, and what cups and stick keep."""
    a, b = g.si("a_mass"), g.si("b_mass")
    return math.hypot(mix.ratio_error(a, b, 100 * a / b, _step(g)).standard_error, g.raw("cup_error"))


def _step(g: Inputs) -> float:
    """The scale's step in kg; where nobody told, it is at least as fine as the figures read from it."""
    a, b = g.si("a_mass"), g.si("b_mass")
    whole = all(math.isclose(g.raw(name), round(g.raw(name))) for name in ("a_mass", "b_mass"))
    step = g.maybe("scale_step") or (1e-3 if whole else 1e-4)
    return min(step, 0.2 * min(a, b))


def off_target(percent: float, target: float) -> str:
    """Say a ratio error: "5.3 % under 50"."""
    if abs(percent) < 0.05:
        return f"just the {number(target, 4)} that are due"
    return f"{abs(percent):.1f} % {'over' if percent > 0 else 'under'} {number(target, 4)}"


def _ratio_error(g: Inputs) -> Outcome:
    target = g.raw("ratio_target")
    masses = (g.si("a_mass"), g.si("b_mass"))
    error = mix.ratio_error(*masses, target, _step(g), g.si("a_left"), g.si("b_left"))
    parts = target * (1 + error.percent / 100)
    which = "too much A" if error.percent > 0 else "too little A"
    sd = math.hypot(error.standard_error, g.raw("cup_error"))
    lines = [
        f"ratio = 100 A / B = {number(parts, 4)} per 100",
        f"error = 100 (ratio - target) / target = {error.percent:.1f} %"
        + (f" ({which})" if abs(error.percent) >= 0.05 else ""),
        f"by the scale's step alone {error.low:.1f} to {error.high:.1f} % can just be reached",
        f"one standard error, cups and stick with it, is {sd:.1f} %",
        f"for {g.say('b_mass')} of B, {at_bench(mix.a_for_b(masses[1], target), 'g', weighed=True)} of A was due",
    ]
    if g.raw("a_left") or g.raw("b_left"):
        lines.append("Half of what may have stayed in a cup is taken off.")
    text = f"{g.say('a_mass')} to {g.say('b_mass')} is {number(parts, 3)} per 100, {off_target(error.percent, target)}"
    return Outcome(
        text=text,
        lines=tuple(lines),
        figures={"ratio_error": Figure(error.percent, "percent", error.low, error.high, error=sd)},
    )


def _batch(g: Inputs) -> Outcome:
    total = g.si("a_mass") + g.si("b_mass")
    text = f"{g.say('a_mass')} + {g.say('b_mass')} = {say(total, 'g', 4)}"
    return Outcome(text=text, lines=("what went into the bucket",), figures={"batch_mass": Figure(total * 1e3, "g")})


def _scale(g: Inputs) -> Outcome:
    share = mix.scale_fraction(g.si("a_mass"), g.si("b_mass"), g.si("scale_step"))
    least = "a_mass" if g.si("a_mass") <= g.si("b_mass") else "b_mass"
    most = g.span("most").high
    verdict = "too coarse" if share > most else "fine enough"
    return Outcome(
        text=f"a step of {g.say('scale_step')} in {g.say(least)} is {number(100 * share, 2)} %",
        lines=(f"{number(100 * most, 2)} % is the most to allow: {verdict}",),
        figures={"scale_fraction": Figure(share, "1")},
    )


def _volume_ratio(g: Inputs) -> Outcome:
    by_volume = g.raw("volume_ratio")
    parts = mix.weight_ratio(by_volume, g.si("density_a"), g.si("density_b"))
    slip = 100 * (by_volume - parts) / parts
    return Outcome(
        text=f"{_parts_to(g, 'volume_ratio')} by volume is {number(parts, 3)} to 100 by weight",
        lines=(
            f"weight ratio = volume ratio x density of A / density of B = {number(parts, 4)}",
            f"The volume ratio weighed by mistake would be {off_target(slip, round(parts, 1))}.",
        ),
        figures={"ratio_target": Figure(parts, "parts_a_per_100_b"), "slip": Figure(slip, "percent")},
    )


def _ratio_by_volume(g: Inputs) -> Outcome:
    parts = mix.volume_ratio(g.raw("ratio_target"), g.si("density_a"), g.si("density_b"))
    slip = 100 * (parts - g.raw("ratio_target")) / g.raw("ratio_target")
    return Outcome(
        text=f"{_parts_to(g, 'ratio_target')} by weight is {number(parts, 3)} to 100 by volume",
        lines=(f"Weighed by mistake, the volume ratio would be {off_target(slip, g.raw('ratio_target'))}.",),
        figures={"volume_ratio": Figure(parts, "parts_a_per_100_b"), "slip": Figure(slip, "percent")},
    )


def _density_of_ratio(g: Inputs) -> Outcome:
    points = [(g.raw(f"ratio_{n}"), g.si(f"density_{n}")) for n in (1, 2)]
    span = mix.density_at_ratio(g.raw("ratio_target"), points)
    made = f"{_parts_to(g, 'ratio_target')} makes about {say(span.mid, 'kg/m^3')} free rise"
    return Outcome(
        text=f"{made}, from {say_range(span, 'kg/m^3')}",
        lines=("Between the two points: straight in density at the high end, in volume per gram at the low.",),
        figures={"free_rise_density": Figure.of(span, "kg/m^3")},
    )


def _index(g: Inputs) -> Outcome:
    masses = (g.si("a_mass"), g.raw("nco"), g.si("b_mass"), g.raw("oh_number"))
    water = g.si("b_mass") * g.raw("water") / 100
    index = stoich.isocyanate_index(*masses, water)
    share = 100 * stoich.water_share(g.si("b_mass"), g.raw("oh_number"), water)
    weights = (stoich.iso_equivalent_weight(g.raw("nco")), stoich.polyol_equivalent_weight(g.raw("oh_number")))
    return Outcome(
        text=f"index {number(index, 3)}: {number(index, 3)} groups of A for each 100 in B that take them",
        lines=(
            f"equivalent weight of A {say(weights[0], 'g', 4)}, of B {say(weights[1], 'g', 4)}",
            f"of the groups in B that take A {number(share, 3)} % are water's; they take "
            f"{number(share * 100 / max(index, 100), 3)} % of the A",
        ),
        figures={"index": Figure(index, "1"), "water_share": Figure(share, "percent")},
    )


def _water(g: Inputs) -> Outcome:
    kg = g.si("water")
    gas = stoich.gas_from_water(kg, g.raw("gas_temperature"))
    eaten = stoich.iso_eaten_by_water(kg, g.raw("nco"))
    return Outcome(
        text=f"{g.say('water')} of water makes {say(gas, 'L')} of gas and eats {say(eaten, 'g')} of A",
        lines=(
            f"gas: one molecule of carbon dioxide for each of water, at {g.say('gas_temperature')}",
            f"A: two groups for each molecule of water, at {g.say('nco')} NCO",
        ),
        figures={"gas": Figure(gas * 1e3, "L"), "a_eaten": Figure(eaten * 1e3, "g")},
    )


_CUPS = optional("cup_error", "what cups and stick keep, in percent of the ratio", "percent", practice="cup_error")
_STEP = optional("scale_step", "smallest step of the scale", "g")
_DENSITIES = (needed("density_a", "density of A", "kg/m^3"), needed("density_b", "density of B", "kg/m^3"))

CALCULATIONS: tuple[Calculation, ...] = (
    Calculation(
        name="split",
        title="Split a batch into A and B",
        group="mix",
        inputs=(needed("batch", "the whole batch", "g"), RATIO),
        formula=_split,
        source="arithmetic",
        assumes=("The ratio is by weight.",),
        example="500 1:2",
    ),
    Calculation(
        name="a-for-b",
        title="Grams of A for the B in the cup",
        group="mix",
        inputs=(needed("b_mass", "B that the scale shows", "g"), RATIO),
        formula=_a_for_b,
        source="arithmetic",
        assumes=("The ratio is by weight.",),
        example="313 1:2",
    ),
    Calculation(
        name="ratio",
        title="Ratio of two weights",
        group="mix",
        inputs=(A_MASS, B_MASS, _STEP, _CUPS),
        formula=_ratio,
        source="arithmetic; rounding of a scale, metrology practice",
        assumes=("The scale itself is right.",),
        example="142 300",
    ),
    Calculation(
        name="ratio-error",
        title="How far off the mix was",
        group="mix",
        inputs=(
            A_MASS,
            B_MASS,
            RATIO,
            _STEP,
            optional("a_left", "A that may have stayed in its cup, at most", "g", 0.0),
            optional("b_left", "B that may have stayed in its cup, at most", "g", 0.0),
            _CUPS,
        ),
        formula=_ratio_error,
        source="arithmetic; rounding of a scale, metrology practice",
        assumes=(
            "Reading and tare are each off by up to half a step; a step not told is as fine as the figures read.",
            "The scale itself is right.",
            "The ratio is by weight.",
        ),
        example="142 300 1:2",
    ),
    Calculation(
        name="batch",
        title="Grams in the bucket",
        group="mix",
        inputs=(A_MASS, B_MASS),
        formula=_batch,
        source="arithmetic",
        assumes=("Nothing stayed in the cups.",),
        example="150 300",
    ),
    Calculation(
        name="scale",
        title="Is the scale fine enough?",
        group="mix",
        inputs=(
            A_MASS,
            B_MASS,
            needed("scale_step", _STEP.title, "g"),
            optional("most", "most to allow, as a part of the smaller weight", "1", practice="scale_fraction"),
        ),
        formula=_scale,
        source="arithmetic; one in fifty is common practice",
        assumes=("The smaller weight decides.",),
        example="20 60 1",
    ),
    Calculation(
        name="volume-ratio",
        title="Volume ratio to weight ratio",
        group="mix",
        inputs=(needed("volume_ratio", "parts of A to 100 of B by volume", "parts_a_per_100_b"), *_DENSITIES),
        formula=_volume_ratio,
        source="arithmetic",
        assumes=(_SHEET,),
        example="1:2 1.2g/mL 1.03g/mL",
    ),
    Calculation(
        name="ratio-by-volume",
        title="Weight ratio to volume ratio",
        group="mix",
        inputs=(RATIO, *_DENSITIES),
        formula=_ratio_by_volume,
        source="arithmetic",
        assumes=(_SHEET, "Weighing is surer than measuring cups."),
        example="1:2 1.2g/mL 1.03g/mL",
    ),
    Calculation(
        name="density-of-ratio",
        title="Free-rise density of a system sold at several ratios",
        group="mix",
        inputs=(
            needed("ratio_target", "the ratio wanted, parts of A to 100 of B by weight", "parts_a_per_100_b"),
            needed("ratio_1", "one ratio on the sheet", "parts_a_per_100_b"),
            needed("density_1", "its free-rise density", "kg/m^3"),
            needed("ratio_2", "another ratio on the sheet", "parts_a_per_100_b"),
            needed("density_2", "its free-rise density", "kg/m^3"),
        ),
        formula=_density_of_ratio,
        source="the supplier's sheet; the line between two points is our own choice",
        assumes=("Both points are of the same system, off its own sheet.", "The supplier sells the ratios between."),
        example="40 50 128 30 208",
    ),
    Calculation(
        name="index",
        title="Isocyanate index of a mix",
        group="mix",
        inputs=(A_MASS, NCO, B_MASS, OH, optional("water", "water in B", "percent", 0.0)),
        formula=_index,
        source="standard urethane stoichiometry, exact molar masses",
        assumes=(_SHEET, _NO_RECIPE),
        example="50 100 56 --nco 27 --water 1.5",
    ),
    Calculation(
        name="water",
        title="What water does to the mix",
        group="mix",
        inputs=(
            needed("water", "water that got in", "g"),
            NCO,
            optional("gas_temperature", "temperature of the gas", "degC", 25.0),
        ),
        formula=_water,
        source="stoichiometry and the ideal gas law",
        assumes=("All the water reacts; a foam keeps about 70 % of the gas.", _NO_RECIPE),
        example="1",
    ),
)

__all__ = ["CALCULATIONS", "NCO", "RATIO"]
