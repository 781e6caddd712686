"""The sums about the mold and its heat, for the command line: warming, cooling, dew.

The formulas live in `heat`, `core` and `humidity`; here they get inputs, words and a source.
"""

from __future__ import annotations

from diagnose.bench import exotherm, heat, humidity
from diagnose.bench.calculation import Answer, Input, Inputs, Sum, celsius, say, say_range, say_times, time_unit
from diagnose.bench.quantities import number

THICKNESS = Input("wall_thickness", "thickness of the mold wall", "mm")
WALL = Input("wall", "what the mold is made of", "", False, "silicone", tuple(heat.WALLS))
MEDIUM = Input("medium", "what is around it", "", False, "still_air", tuple(heat.MEDIA))
SIDES = Input("sides", "faces that the warmth reaches", "", False, "one", ("one", "both"))
ROOM = Input("room_temperature", "temperature of the air at the mold", "degC")
HUMIDITY = Input("relative_humidity", "relative humidity at the mold", "percent")
_SLAB = "transient conduction in a slab with a surface coefficient; properties of walls from EN 12524 and handbooks"
_SPREAD = "Published properties of a wall differ by up to three times: go by the slow end."


def _warm_mold(g: Inputs) -> Answer:
    span = heat.warm_mold(
        g.si("wall_thickness"),
        g.raw("mold_temperature"),
        g.raw("around"),
        g.raw("target"),
        g.word("sides"),
        g.word("medium"),
        g.word("wall"),
    )
    text = (
        f"{g.say('wall_thickness')} of {_plain(g, 'wall')} from {celsius(g.raw('mold_temperature'))} to "
        f"{celsius(g.raw('target'))} in {celsius(g.raw('around'))}: {say_times(span)}"
    )
    unit = time_unit(span.mid)
    return Answer.ranged(
        span,
        unit,
        text,
        (
            f"slowest place of the wall, {g.word('sides')} of its faces warmed, {_plain(g, 'medium')}",
            "measure the inside face before you pour",
        ),
    )


def _plain(g: Inputs, name: str) -> str:
    return g.word(name).replace("_", " ")


def _bench_cooling(g: Inputs) -> Answer:
    span = heat.bench_face(
        g.si("minutes"),
        g.raw("mold_temperature"),
        g.raw("room_temperature"),
        g.si("wall_thickness"),
        g.word("sides"),
        g.word("medium"),
        g.word("wall"),
    )
    return Answer.ranged(
        span,
        "degC",
        f"after {g.say('minutes')} in {celsius(g.raw('room_temperature'))} the face stands at "
        f"{say_range(span, 'degC')}, from {celsius(g.raw('mold_temperature'))}",
        (f"bare face of {g.say('wall_thickness')} of {_plain(g, 'wall')}, {_plain(g, 'medium')}",),
    )


def _contact(g: Inputs) -> Answer:
    span = heat.contact(g.raw("material_temperature"), g.raw("mold_temperature"), g.word("wall"))
    return Answer.ranged(
        span,
        "degC",
        f"mix at {celsius(g.raw('material_temperature'))} on {_plain(g, 'wall')} at "
        f"{celsius(g.raw('mold_temperature'))}: the first layer is at {say_range(span, 'degC')}",
        ("each side pulls with the root of conductivity x density x specific heat",),
    )


def _core(g: Inputs) -> Answer:
    start, wall = g.raw("material_temperature"), g.raw("wall_temperature")
    ceiling = exotherm.adiabatic_core_c(start, g.raw("ratio_target"), g.raw("oh_number"), g.raw("water"))
    size, since, density = g.si("thickness"), g.si("time"), g.raw("foam_density")
    low, high = (exotherm.cooled_core_c(peak, wall, size, since, density) for peak in (ceiling.low, ceiling.high))
    return Answer.ranged(
        ceiling,
        "degC",
        f"the core can reach {say_range(ceiling, 'degC')} from {celsius(start)}",
        (
            "ceiling: heat of reaction over specific heat, if no heat is lost",
            f"{g.say('time')} later: {number(low.low, 3)} to {number(high.high, 3)} °C in the middle of {g.say('thickness')}",
            "A core that may pass 120 °C (248 °F) goes outdoors on bare concrete, clear of all that burns.",
        ),
    )


def _dew_point(g: Inputs) -> Answer:
    air, rh = g.raw("room_temperature"), g.raw("relative_humidity")
    dew = humidity.dew_point_c(air, rh)
    text = f"air at {celsius(air)} and {number(rh)} % has its dew point at {celsius(dew)}"
    lines = (f"water in the air: {number(1000 * humidity.absolute_humidity(air, rh), 3)} g/m³",)
    if not g.has("mold_temperature"):
        return Answer(dew, "degC", text, lines)
    margin = humidity.dew_margin(g.raw("mold_temperature"), air, rh)
    verdict = (
        "it is wet" if margin <= 0 else "too near, 3 K or more is asked" if margin < humidity.SAFE_MARGIN_K else "dry"
    )
    face = celsius(g.raw("mold_temperature"))
    more = f"{number(abs(margin), 2)} K {'below' if margin < 0 else 'above'} it: {verdict}"
    return Answer(dew, "degC", f"{text}; a face at {face} stands {more}", lines)


def _water_film(g: Inputs) -> Answer:
    water = humidity.film_water(g.si("film"), g.si("mold_area"))
    done = humidity.water_damage(water, g.raw("nco"))
    return Answer(
        water * 1e3,
        "g",
        f"{g.say('film')} of water on {g.say('mold_area')} is {say(water, 'g')}: "
        f"{say(done.gas_m3, 'L')} of gas at the wall and {say(done.iso_eaten_kg, 'g')} of A eaten there",
        ("film x area; then one carbon dioxide and two NCO groups for each molecule of water",),
    )


SUMS: tuple[Sum, ...] = (
    Sum(
        "warm-mold",
        "How long to warm a mold",
        (
            THICKNESS,
            Input("mold_temperature", "the mold now", "degC"),
            Input("around", "air or water around it (never over 60 degC for foam)", "degC"),
            Input("target", "face temperature wanted", "degC"),
            SIDES,
            MEDIUM,
            WALL,
        ),
        _warm_mold,
        _SLAB,
        (
            _SPREAD,
            "A plaster or fiberglass shell behind the wall makes it slower.",
            "Open cavity: the air reaches the inside face.",
        ),
    ),
    Sum(
        "bench-cooling",
        "How fast a warm mold cools on the bench",
        (
            Input("minutes", "time on the bench", "min"),
            Input("mold_temperature", "the mold when it came out", "degC"),
            ROOM,
            THICKNESS,
            SIDES,
            MEDIUM,
            WALL,
        ),
        _bench_cooling,
        _SLAB,
        ("The mold was warm all through.", "A draught counts as a fan."),
    ),
    Sum(
        "contact",
        "What the mix feels at the wall",
        (
            Input("material_temperature", "the mix", "degC"),
            Input("mold_temperature", "inside face of the mold", "degC"),
            WALL,
        ),
        _contact,
        "two half-spaces in contact, from memory; properties from EN 12524 and handbooks",
        ("The first seconds, before the mix makes heat of its own.",),
    ),
    Sum(
        "core",
        "How hot the middle of a thick part gets",
        (
            Input("material_temperature", "the mix when poured", "degC"),
            Input("ratio_target", "parts of A to 100 of B by weight", "parts_a_per_100_b"),
            Input("oh_number", "hydroxyl number of the whole B side, off its sheet", "mgKOH/g"),
            Input("water", "water in B, off its sheet", "percent"),
            Input("thickness", "thickness of the section", "mm"),
            Input("time", "time since the hottest moment", "min"),
            Input("foam_density", "density of the foam", "kg/m^3"),
            Input("wall_temperature", "temperature of the wall", "degC", False, 25.0),
        ),
        _core,
        "heats of reaction of a published foam model and of older handbooks (the latter from memory)",
        (
            "All groups react; no water boils off.",
            "A flat section; an arm or a ball cools two to three times faster.",
            "A guide only: treat a thick core as hot until it has been measured. The SDS says how to keep it.",
        ),
    ),
    Sum(
        "dew-point",
        "Will the mold sweat?",
        (
            ROOM,
            HUMIDITY,
            Input("mold_temperature", "coldest face", "degC", False),
        ),
        _dew_point,
        "Magnus form, Alduchov and Eskridge 1996; 3 K margin after a military painting handbook",
        ("The hygrometer stood at the mold for ten minutes.",),
    ),
    Sum(
        "water-film",
        "What a film of water on the mold does",
        (
            Input("film", "thickness of the film: fog 10, running drops 50 and more", "um"),
            Input("mold_area", "wet area", "cm^2"),
            Input("nco", "NCO of the A side", "percent", False, 27.0),
        ),
        _water_film,
        "stoichiometry and the ideal gas law at 25 °C",
        ("All of the film reacts.", "27 % NCO is a stand-in where the sheet doesn't say."),
    ),
)
