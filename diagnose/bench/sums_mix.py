"""The sums about the mix, for the command line: masses, ratios, index, water.

Each is a short function from checked inputs to an answer in words, and one record in `SUMS` that
names its inputs. The formulas live in `mix` and `stoich`; nothing is worked out here.
"""

from __future__ import annotations

from diagnose.bench import mix, stoich
from diagnose.bench.calculation import Answer, Input, Inputs, Sum, say, say_range
from diagnose.bench.quantities import number

RATIO = Input("ratio_target", "parts of A to 100 of B by weight, off the sheet", "parts_a_per_100_b")
NCO = Input("nco", "NCO of the A side, off its sheet", "percent")
OH = Input("oh_number", "hydroxyl number of the B side, off its sheet", "mgKOH/g")
_SHEET = "The numbers come from the sheet of the very cans in hand."
_NO_RECIPE = "For understanding a fault; never change a formulation by it."


def _split(g: Inputs) -> Answer:
    parts = mix.split(g.si("batch"), g.raw("ratio_target"))
    a, b = say(parts.a_kg, "g", 4), say(parts.b_kg, "g", 4)
    return Answer(
        parts.a_kg * 1e3,
        "g",
        f"{g.say('batch')} at {number(g.raw('ratio_target'))} A to 100 B is {a} of A and {b} of B",
        (
            f"A = batch x ratio / (100 + ratio) = {a}",
            f"B = batch x 100 / (100 + ratio) = {b}",
            "Weigh B first, then work A from what the scale says.",
        ),
    )


def off_target(percent: float, target: float) -> str:
    """Say a ratio error: "5.3 % under 50"."""
    if abs(percent) < 0.05:
        return f"on {number(target)}"
    return f"{abs(percent):.1f} % {'over' if percent > 0 else 'under'} {number(target)}"


def _ratio_error(g: Inputs) -> Answer:
    target = g.raw("ratio_target")
    masses = (g.si("a_mass"), g.si("b_mass"))
    error = mix.ratio_error(*masses, target, g.si("scale_step"), g.si("a_left"), g.si("b_left"))
    parts = target * (1 + error.percent / 100)
    which = "too much A" if error.percent > 0 else "too little A"
    lines = [
        f"ratio = 100 A / B = {number(parts, 4)} per 100",
        f"error = 100 (ratio - target) / target = {error.percent:.1f} %"
        + (f" ({which})" if abs(error.percent) >= 0.05 else ""),
        f"scale and cups: {error.low:.1f} to {error.high:.1f} % can just be reached; one standard error is {error.standard_error:.1f} %",
    ]
    if g.raw("a_left") or g.raw("b_left"):
        lines.append("Half of what may have stayed in a cup is taken off.")
    text = f"{g.say('a_mass')} to {g.say('b_mass')} is {number(parts, 3)} per 100, {off_target(error.percent, target)}"
    return Answer(error.percent, "percent", text, tuple(lines), error.low, error.high)


def _volume_ratio(g: Inputs) -> Answer:
    by_volume = g.raw("volume_ratio")
    parts = mix.weight_ratio(by_volume, g.si("density_a"), g.si("density_b"))
    slip = 100 * (by_volume - parts) / parts
    return Answer(
        parts,
        "parts_a_per_100_b",
        f"{number(by_volume)} A to 100 B by volume is {number(parts, 3)} to 100 by weight",
        (
            f"weight ratio = volume ratio x density of A / density of B = {number(parts, 4)}",
            f"The volume ratio weighed by mistake would be {off_target(slip, round(parts, 1))}.",
        ),
    )


def _density_of_ratio(g: Inputs) -> Answer:
    points = [(g.raw(f"ratio_{n}"), g.si(f"density_{n}")) for n in (1, 2)]
    span = mix.density_at_ratio(g.raw("ratio"), points)
    return Answer.ranged(
        span,
        "kg/m^3",
        f"{number(g.raw('ratio'))} A to 100 B makes about {say(span.mid, 'kg/m^3')} free rise, from {say_range(span, 'kg/m^3')}",
        ("Between the two points: straight in density at the high end, in volume per gram at the low.",),
    )


def _index(g: Inputs) -> Answer:
    masses = (g.si("a_mass"), g.raw("nco"), g.si("b_mass"), g.raw("oh_number"))
    water = g.si("b_mass") * g.raw("water") / 100
    index = stoich.isocyanate_index(*masses, water)
    share = 100 * stoich.water_share(g.si("b_mass"), g.raw("oh_number"), water)
    weights = (stoich.iso_equivalent_weight(g.raw("nco")), stoich.polyol_equivalent_weight(g.raw("oh_number")))
    return Answer(
        index,
        "1",
        f"index {number(index, 3)}: {number(index, 3)} groups of A for each 100 that take them",
        (
            f"equivalent weight of A {say(weights[0], 'g', 4)}, of B {say(weights[1], 'g', 4)}",
            f"water takes {number(share, 3)} % of the A",
        ),
    )


def _water(g: Inputs) -> Answer:
    kg = g.si("water")
    gas = stoich.gas_from_water(kg, g.raw("gas_temperature"))
    eaten = stoich.iso_eaten_by_water(kg, g.raw("nco"))
    return Answer(
        gas * 1e3,
        "L",
        f"{g.say('water')} of water makes {say(gas, 'L')} of gas and eats {say(eaten, 'g')} of A",
        (
            f"gas: one molecule of carbon dioxide for each of water, at {g.say('gas_temperature')}",
            f"A: two groups for each molecule of water, at {g.say('nco')} NCO",
        ),
    )


SUMS: tuple[Sum, ...] = (
    Sum(
        "split",
        "Split a batch into A and B",
        (Input("batch", "the whole batch", "g"), RATIO),
        _split,
        "arithmetic",
        ("The ratio is by weight.",),
    ),
    Sum(
        "ratio-error",
        "How far off the mix was",
        (
            Input("a_mass", "A that went in", "g"),
            Input("b_mass", "B that went in", "g"),
            RATIO,
            Input("scale_step", "smallest step of the scale", "g", False, 1.0),
            Input("a_left", "A that may have stayed in its cup, at most", "g", False, 0.0),
            Input("b_left", "B that may have stayed in its cup, at most", "g", False, 0.0),
        ),
        _ratio_error,
        "arithmetic; rounding of a scale, metrology practice",
        (
            "Reading and tare are each off by up to half a step.",
            "The scale itself is right.",
            "The ratio is by weight.",
        ),
    ),
    Sum(
        "volume-ratio",
        "Volume ratio to weight ratio",
        (
            Input("volume_ratio", "parts of A to 100 of B by volume", "parts_a_per_100_b"),
            Input("density_a", "density of A", "kg/m^3"),
            Input("density_b", "density of B", "kg/m^3"),
        ),
        _volume_ratio,
        "arithmetic",
        (_SHEET,),
    ),
    Sum(
        "density-of-ratio",
        "Free-rise density of a system sold at several ratios",
        (
            Input("ratio", "the ratio wanted, parts of A to 100 of B by weight", "parts_a_per_100_b"),
            Input("ratio_1", "one ratio on the sheet", "parts_a_per_100_b"),
            Input("density_1", "its free-rise density", "kg/m^3"),
            Input("ratio_2", "another ratio on the sheet", "parts_a_per_100_b"),
            Input("density_2", "its free-rise density", "kg/m^3"),
        ),
        _density_of_ratio,
        "the supplier's sheet; the line between two points is our own choice",
        ("Both points are of the same system, off its own sheet.", "The supplier sells the ratios between."),
    ),
    Sum(
        "index",
        "Isocyanate index of a mix",
        (
            Input("a_mass", "A that went in", "g"),
            NCO,
            Input("b_mass", "B that went in", "g"),
            OH,
            Input("water", "water in B", "percent", False, 0.0),
        ),
        _index,
        "standard urethane stoichiometry, exact molar masses",
        (_SHEET, _NO_RECIPE),
    ),
    Sum(
        "water",
        "What water does to the mix",
        (
            Input("water", "water that got in", "g"),
            Input("nco", NCO.title, "percent", False, 27.0),
            Input("gas_temperature", "temperature of the gas", "degC", False, 25.0),
        ),
        _water,
        "stoichiometry and the ideal gas law",
        (
            "All the water reacts; a foam keeps about 70 % of the gas.",
            "27 % NCO is a stand-in where the sheet doesn't say.",
            _NO_RECIPE,
        ),
    ),
)
