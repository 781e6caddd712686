"""The sums about the mold and its heat: warming, cooling, the first layer, the core.

The formulas live in `heat` and `exotherm`; here they get inputs, words and a source.
"""

from __future__ import annotations

from diagnose.bench import exotherm, heat
from diagnose.bench.calculation import Calculation, Figure, Inputs, Outcome, choice, needed, optional
from diagnose.bench.quantities import BenchError, Range, number
from diagnose.bench.words import celsius, say, say_range, say_time, say_times, time_unit

THICKNESS = optional("wall_thickness", "thickness of the mold wall", "mm", practice="mold_wall")
WALL = choice("wall", "what the mold is made of", tuple(heat.WALLS), "silicone")
MEDIUM = choice("medium", "what is around it", tuple(heat.MEDIA), "still_air")
SIDES = choice("sides", "faces that the warmth reaches", ("one", "both"), "one")
ROOM = needed("room_temperature", "temperature of the air at the mold", "degC")
_SLAB = "transient conduction in a slab with a surface coefficient; properties of walls from EN 12524 and handbooks"
_SPREAD = "Published properties of a wall differ by up to three times: go by the slow end."


def _plain(g: Inputs, name: str) -> str:
    return g.word(name).replace("_", " ")


def _warm_mold(g: Inputs) -> Outcome:
    start, around, target = g.raw("mold_temperature"), g.raw("around"), g.raw("target")
    span = heat.warm_mold(
        g.si("wall_thickness"), start, around, target, g.word("sides"), g.word("medium"), g.word("wall")
    )
    wall = f"{g.say('wall_thickness')} of {_plain(g, 'wall')} from {celsius(start)} to {celsius(target)}"
    faces = "one side" if g.word("sides") == "one" else "both sides"
    return Outcome(
        text=f"{wall} in {celsius(around)}: {say_times(span)}",
        lines=(
            f"slowest place of the wall, warmed from {faces}, {_plain(g, 'medium')}",
            "measure the inside face before you pour",
        ),
        figures={"warm": Figure.of(span, time_unit(span.mid), f"{wall}, warmed from {faces} in {_plain(g, 'medium')}")},
    )


def _bench_cooling(g: Inputs) -> Outcome:
    start, room = g.raw("mold_temperature"), g.raw("room_temperature")
    span = heat.bench_face(
        g.si("minutes"), start, room, g.si("wall_thickness"), g.word("sides"), g.word("medium"), g.word("wall")
    )
    stands = f"after {g.say('minutes')} in {celsius(room)} the face stands at {say_range(span, 'degC')}"
    return Outcome(
        text=f"{stands}, from {celsius(start)}",
        lines=(f"bare face of {g.say('wall_thickness')} of {_plain(g, 'wall')}, {_plain(g, 'medium')}",),
        figures={"mold_temperature": Figure.of(span, "degC")},
    )


def _contact(g: Inputs) -> Outcome:
    mix, face = g.raw("material_temperature"), g.raw("mold_temperature")
    span = heat.contact(mix, face, g.word("wall"))
    wall = f"mix at {celsius(mix)} on {_plain(g, 'wall')} at {celsius(face)}"
    return Outcome(
        text=f"{wall}: the first layer is at {say_range(span, 'degC')}",
        lines=("each side pulls with the root of conductivity x density x specific heat",),
        figures={"contact": Figure.of(span, "degC")},
    )


_OUTDOORS = (
    "A core that may pass 120 °C (248 °F) goes outdoors on bare ground, alone, clear of all that burns, "
    "not cut before it is cold."
)


def _ceiling(g: Inputs) -> Range:
    return exotherm.adiabatic_core_c(
        g.raw("material_temperature"), g.raw("ratio_target"), g.raw("oh_number"), g.raw("water")
    )


def _core(g: Inputs) -> Outcome:
    start, wall = g.raw("material_temperature"), g.raw("wall_temperature")
    ceiling = _ceiling(g)
    size, since, density = g.si("section_thickness"), g.si("time"), g.raw("foam_density")
    low, high = (exotherm.cooled_core_c(peak, wall, size, since, density) for peak in (ceiling.low, ceiling.high))
    later = f"{number(low.low, 3)} to {number(high.high, 3)} °C in the middle of {g.say('section_thickness')}"
    return Outcome(
        text=f"the core can reach {say_range(ceiling, 'degC')} from {celsius(start)}",
        lines=(
            "ceiling: heat of reaction over specific heat, if no heat is lost",
            f"{g.say('time')} later: {later}",
            _OUTDOORS,
        ),
        figures={"core": Figure.of(ceiling, "degC")},
    )


def _core_cool(g: Inputs) -> Outcome:
    peak, wall, target = g.raw("peak"), g.raw("wall_temperature"), g.raw("target")
    span = exotherm.core_cool_time(peak, wall, target, g.si("section_thickness"), g.raw("foam_density"))
    middle = f"the middle of {g.say('section_thickness')} falls from {celsius(peak)} to {celsius(target)}"
    return Outcome(
        text=f"{middle} in {say_times(span)}: go by {say_time(span.high, 'up')}",
        lines=("the slow end: a warm wall in still air and foam that conducts badly", _OUTDOORS),
        figures={"cool": Figure.of(span, time_unit(span.mid))},
    )


def _core_heat(g: Inputs) -> Outcome:
    """From what went in, or else from what was mixed; without a density a middling grade, and a wide error."""
    if g.has("charge_mass"):
        mass = g.si("charge_mass")
    elif g.has("a_mass") and g.has("b_mass"):
        mass = g.si("a_mass") + g.si("b_mass")
    else:
        raise BenchError("core-heat needs the grams that went in, or those of A and of B: expected a mass")
    value = exotherm.core_heat(mass, g.si("free_rise_density"), g.si("core_density"))
    known = g.given("free_rise_density")
    grade = f"a {g.say('free_rise_density')} grade" if known else "a grade of unknown density"
    error = 0.0 if known else value * g.raw("untold_density") / 100
    return Outcome(
        text=f"{say(mass, 'g', 4)} of {grade}: heat as of {number(value, 2)} kg at {g.say('core_density')}",
        lines=("light grades carry more water in B and run hotter, dense ones less",),
        figures={"core_heat": Figure(value, "kg", error=error)},
    )


_SECTION = needed("section_thickness", "thickness of the section", "mm")
_WALL_C = optional("wall_temperature", "temperature of the wall", "degC", 25.0)
_GUIDE = "A guide only: treat a thick core as hot until it has been measured. The SDS says how to keep it."
_FLAT = "A flat section; an arm or a ball cools two to three times faster."
_NOW = needed("mold_temperature", "the mold now", "degC")

CALCULATIONS: tuple[Calculation, ...] = (
    Calculation(
        name="warm-mold",
        title="How long to warm a mold",
        group="mold",
        inputs=(
            _NOW,
            optional("target", "face temperature wanted", "degC", practice="mold_face"),
            optional("around", "air or water around it (never over 60 degC for foam)", "degC", practice="warm_box"),
            THICKNESS,
            SIDES,
            MEDIUM,
            WALL,
        ),
        formula=_warm_mold,
        source=_SLAB,
        assumes=(
            _SPREAD,
            "A plaster or fiberglass shell behind the wall makes it slower, a fan nearly halves it.",
            "Open cavity: the air reaches the inside face.",
        ),
        example="14C --wall-thickness 12mm",
    ),
    Calculation(
        name="bench-cooling",
        title="How fast a warm mold cools on the bench",
        group="mold",
        inputs=(
            needed("minutes", "time on the bench", "min"),
            needed("mold_temperature", "the mold when it came out", "degC"),
            ROOM,
            THICKNESS,
            SIDES,
            MEDIUM,
            WALL,
        ),
        formula=_bench_cooling,
        source=_SLAB,
        assumes=("The mold was warm all through.", "A draft counts as a fan."),
        example="10min 32C 20C",
    ),
    Calculation(
        name="contact",
        title="What the mix feels at the wall",
        group="mold",
        inputs=(
            needed("material_temperature", "the mix", "degC"),
            needed("mold_temperature", "inside face of the mold", "degC"),
            WALL,
        ),
        formula=_contact,
        source="two half-spaces in contact, from memory; properties from EN 12524 and handbooks",
        assumes=("The first seconds, before the mix makes heat of its own.",),
        example="24C 12C",
    ),
    Calculation(
        name="core",
        title="How hot the middle of a thick part gets",
        group="mold",
        inputs=(
            needed("material_temperature", "the mix when poured", "degC"),
            needed("ratio_target", "parts of A to 100 of B by weight", "parts_a_per_100_b"),
            needed("oh_number", "hydroxyl number of the whole B side, off its sheet", "mgKOH/g"),
            needed("water", "water in B, off its sheet", "percent"),
            _SECTION,
            needed("time", "time since the hottest moment", "min"),
            needed("foam_density", "density of the foam", "kg/m^3"),
            _WALL_C,
        ),
        formula=_core,
        source="heats of reaction of a published foam model and of older handbooks (the latter from memory)",
        assumes=("All groups react; no water boils off.", _FLAT, _GUIDE),
        example="23C 1:2 56 1.5 120mm 60min 240",
    ),
    Calculation(
        name="core-cool",
        title="How long a hot core stays hot",
        group="mold",
        inputs=(
            needed("peak", "the core at its hottest", "degC"),
            _SECTION,
            needed("foam_density", "density of the foam", "kg/m^3"),
            optional("target", "temperature at which it may come in", "degC", 40.0),
            _WALL_C,
        ),
        formula=_core_cool,
        source="conduction in a slab; conductivity of foam from EN 12524 with a spread from memory",
        assumes=("The reaction is over at the peak.", _FLAT, _GUIDE),
        example="120C 150mm 160",
    ),
    Calculation(
        name="core-heat",
        title="Heat in the lump, as kilograms of a middling grade",
        group="mold",
        inputs=(
            optional("charge_mass", "foam mix that went into the mold", "g"),
            optional("free_rise_density", "free-rise density", "kg/m^3", practice="core_density"),
            optional("a_mass", "else A that went in", "g"),
            optional("b_mass", "and B that went in", "g"),
            optional("core_density", "grade that it is counted in", "kg/m^3", practice="core_density"),
            optional("untold_density", "error where no density is told", "percent", practice="untold_density"),
        ),
        formula=_core_heat,
        source="our own yardstick: a light grade is blown by more water, and water makes the heat",
        assumes=(
            "One lump; how thick it is counts by itself.",
            "A rigid or filled grade runs hotter than its density says.",
            _GUIDE,
        ),
        example="2900 0.16g/mL",
    ),
)

__all__ = ["CALCULATIONS", "ROOM"]
