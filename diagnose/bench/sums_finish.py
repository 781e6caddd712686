"""The sums about skin coat, paint and air, for the command line.

The formulas live in `skin`, `adhesion` and `air`; here they get inputs, words and a source. What touches
health leads with the strict advice and ends with the SDS and local rules.
"""

from __future__ import annotations

from diagnose.bench import painting, skin, ventilation
from diagnose.bench.calculation import (
    Answer,
    Input,
    Inputs,
    Sum,
    celsius,
    say,
    say_range,
    say_time,
    say_times,
    time_unit,
)
from diagnose.bench.quantities import number

AREA = Input("mold_area", "area that the skin covers", "cm^2")
SKIN_DENSITY = Input("skin_density", "density of the skin, off its sheet", "kg/m^3", False, 1050.0)
_SKIN = ("A mean: ridges are thinner and hollows thicker.", "1.05 g/mL where the sheet doesn't say: common practice.")
_CROSS_CUT = ("Written for paint on hard panels: on foam it only compares one part with another.",)
_MIXING = Input("mixing", "mixing factor: 1 perfect, 10 dead corners", "1", False, 3.0)


def _skin_grams(g: Inputs) -> Answer:
    loss = g.raw("loss") / 100
    sizes = (g.si("mold_area"), g.si("skin_thickness"))
    density = g.raw("skin_density")
    left = skin.skin_mass(*sizes, density)
    plan = skin.coats(*sizes, g.si("per_coat"), density, loss)
    each = f"{plan.count} coats of {say(plan.each_kg, 'g')}" if plan.count > 1 else "one coat"
    return Answer(
        plan.all_kg * 1e3,
        "g",
        f"{g.say('skin_thickness')} on {g.say('mold_area')} is {say(left, 'g')} in the mold; mix {say(plan.all_kg, 'g')} in {each}",
        (f"area x thickness x density = {say(left, 'g')}", f"and {g.say('loss')} of the mix drains or stays in cups"),
    )


def _skin_thickness(g: Inputs) -> Answer:
    mean = skin.skin_mean(g.si("skin_mass"), g.si("mold_area"), g.raw("skin_density"))
    return Answer(
        mean * 1e3,
        "mm",
        f"{g.say('skin_mass')} on {g.say('mold_area')} is {say(mean, 'mm', 2)} in the mean",
        (f"grams left in the mold / (area x {g.say('skin_density')})",),
    )


def _drain(g: Inputs) -> Answer:
    span = skin.coat_left(g.si("height"), g.si("time"), g.raw("skin_density"))
    return Answer.ranged(
        span,
        "mm",
        f"a fresh coat draining {g.say('time')} down {g.say('height')} keeps {say_range(span, 'mm', 2)} in the mean",
        ("two thirds of the root of viscosity x height / (density x gravity x time)",),
    )


def _cross_cut(g: Inputs) -> Answer:
    lost = g.raw("lost")
    iso, astm = painting.cross_cut_iso(lost), painting.cross_cut_astm(lost)
    return Answer(
        float(iso),
        "1",
        f"{number(lost)} % lost is class {iso} of 0 to 5 (ISO 2409, 0 is best), {astm} on the other scale (ASTM D3359, 5B is best)",
        ("bands end at 0, 5, 15, 35 and 65 %", "the two scales run in opposite directions: say which"),
    )


def _paint_wait(g: Inputs) -> Answer:
    span = painting.paint_wait(g.raw("part_temperature"))
    unit = time_unit(span.mid)
    return Answer.ranged(
        span,
        unit,
        f"a part resting at {celsius(g.raw('part_temperature'))} waits {say_times(span)} before paint; go by {say_time(span.high)}",
        ("a day at 20 to 25 °C, carried over to this temperature",),
    )


def _paint_conditions(g: Inputs) -> Answer:
    got = painting.paint_conditions(
        g.raw("paint_temperature"),
        g.raw("paint_humidity"),
        g.raw("surface_temperature"),
        g.maybe("lowest_temperature"),
    )
    lines = (f"dew point {celsius(got.dew_point_c)}, surface {number(got.margin_k, 2)} K over it", *got.against)
    text = "fit for painting" if got.fit else "not fit for painting: " + "; ".join(got.against)
    return Answer(got.margin_k, "K", text, lines)


def _recoat(g: Inputs) -> Answer:
    t_c = g.raw("paint_temperature")
    window = painting.recoat(g.si("opens"), g.maybe("closes"), t_c, g.raw("sheet_temperature"))
    unit = time_unit(window.opens.mid)
    lines = [f"opens after {say_times(window.opens)}"]
    text = f"at {celsius(t_c)} the next coat goes on {say_time(window.safe_from)} after the last"
    if g.has("closes"):
        lines.append(f"closes after {say_times(window.closes)}")
        if window.safe_to < window.safe_from:
            text = f"at {celsius(t_c)} no time is surely inside the window: scuff and start a new coat by the sheet"
        else:
            text += f", and not later than {say_time(window.safe_to)}"
    return Answer.ranged(window.opens, unit, text, tuple(lines))


def _purge(g: Inputs) -> Answer:
    time = ventilation.purge_time(g.raw("air_changes"), g.raw("removed") / 100, g.raw("mixing"))
    best = ventilation.purge_time(g.raw("air_changes"), g.raw("removed") / 100)
    worst = ventilation.purge_time(g.raw("air_changes"), g.raw("removed") / 100, 10)
    return Answer(
        time / 60,
        "min",
        f"{number(g.raw('air_changes'))} air changes an hour clear {g.say('removed')} in {say_time(time)}, mixing factor {g.say('mixing')}",
        (
            f"-ln(1 - share) / changes = {say_time(best)} with perfect mixing, {say_time(worst)} in dead corners",
            "the source has stopped: cups and parts that still give off are out of the room",
        ),
        best / 60,
        worst / 60,
    )


def _dilution(g: Inputs) -> Answer:
    need = [ventilation.dilution_flow(g.si("rate"), g.si("concentration"), k) for k in (g.raw("mixing"), 1, 10)]
    return Answer(
        need[0] * 60,
        "m^3/min",
        f"{g.say('rate')} held at {g.say('concentration')} takes {say(need[0], 'm^3/min')} of fresh air: catch it at the source instead",
        (
            f"mixing factor x source / concentration; {say(need[1], 'm^3/min')} if mixed at once, {say(need[2], 'm^3/min')} with dead corners",
        ),
        need[1] * 60,
        need[2] * 60,
        (ventilation.NOT_A_TARGET,),
    )


def _limits(g: Inputs) -> Answer:
    rows = ventilation.limits_for(g.word("substance"))
    return Answer(
        None,
        "",
        f"{g.word('substance')}: published limits, not a design target. {ventilation.RESPIRATORS}",
        tuple(_limit(row) for row in rows),
        assumes=(ventilation.NOT_A_TARGET,),
    )


def _limit(row: ventilation.Limit) -> str:
    amount = "" if row.mg_m3 is None else f"{number(row.mg_m3)} mg/m³"
    what = ", ".join(part for part in (amount, row.note) if part)
    return f"{row.body}, {row.kind}: {what} ({row.status})"


SUMS: tuple[Sum, ...] = (
    Sum(
        "skin-grams",
        "Grams of skin coat",
        (
            AREA,
            Input("skin_thickness", "mean thickness wanted", "mm"),
            SKIN_DENSITY,
            Input("per_coat", "what one coat leaves, off a trial", "mm", False, 0.5),
            Input("loss", "share that drains out or stays in cups", "percent", False, 10.0),
        ),
        _skin_grams,
        "area x thickness x density",
        (*_SKIN, "0.5 mm a coat and 10 % loss are stand-ins: weigh one."),
    ),
    Sum(
        "skin-thickness",
        "Mean thickness that grams gave",
        (
            Input("skin_mass", "skin left in the mold", "g"),
            AREA,
            SKIN_DENSITY,
        ),
        _skin_thickness,
        "mass over area and density",
        _SKIN,
    ),
    Sum(
        "drain",
        "What a draining coat keeps",
        (
            Input("height", "height of the wall", "mm"),
            Input("time", "time until it gels", "min"),
            SKIN_DENSITY,
        ),
        _drain,
        "draining film under gravity, from memory; viscosities of a published patent",
        ("The coat stays as thin as when fresh; one that thickens keeps more.", "An upright wall."),
    ),
    Sum(
        "cross-cut",
        "Class of a cross-cut",
        (Input("lost", "paint lost from the squares", "percent"),),
        _cross_cut,
        "ASTM D3359 method B; ISO 2409 (its classes from memory)",
        _CROSS_CUT,
    ),
    Sum(
        "paint-wait",
        "How long before paint",
        (Input("part_temperature", "where the part rests (never over 50 degC)", "degC"),),
        _paint_wait,
        "common practice, carried over by the range of activation energies; nothing is published",
        (
            "Bare foam that was demolded in time.",
            "A washed part must be dry right through first.",
            "The paint's sheet and a tape test on a hidden spot go before this.",
        ),
    ),
    Sum(
        "paint-conditions",
        "Is today a day for painting?",
        (
            Input("paint_temperature", "air where you paint", "degC"),
            Input("paint_humidity", "relative humidity there", "percent"),
            Input("surface_temperature", "surface of the part", "degC"),
            Input("lowest_temperature", "lowest temperature on the paint's sheet", "degC", False),
        ),
        _paint_conditions,
        "military painting handbook (3 K over the dew point, 7 to 32 °C); film forming after ASTM D2354",
        ("The paint's own sheet goes before the general figures.",),
    ),
    Sum(
        "recoat",
        "The recoat window at today's temperature",
        (
            Input("paint_temperature", "temperature of the part and the air", "degC"),
            Input("opens", "earliest recoat on the sheet", "min"),
            Input("closes", "latest recoat on the sheet", "min", False),
            Input("sheet_temperature", "temperature the sheet's times are said for", "degC", False, 25.0),
        ),
        _recoat,
        "the paint's sheet, carried over by the range of activation energies; no window is published",
        ("Paint that sets by reaction; a drying one goes by air movement and humidity.",),
    ),
    Sum(
        "purge",
        "How long a room takes to clear",
        (
            Input("air_changes", "air changes an hour", "1/h"),
            Input("removed", "share to remove", "percent", False, 99.0),
            _MIXING,
        ),
        _purge,
        "public-health ventilation tables",
        (
            "The fan brings outdoor air.",
            "Being cleared is no proof of safety: never go by smell. The SDS and local rules decide.",
        ),
    ),
    Sum(
        "dilution",
        "Fresh air to dilute a steady source",
        (
            Input("rate", "what the source gives off", "mg/min"),
            Input("concentration", "level to stay under", "mg/m^3"),
            _MIXING,
        ),
        _dilution,
        "steady dilution, K G / C",
        ("A source of known strength, which a shop never has.",),
    ),
    Sum(
        "limits",
        "Published exposure limits and respirators",
        (Input("substance", "isocyanate", "", True, None, tuple(ventilation.MOLAR)),),
        _limits,
        "US limits as printed by NIOSH and OSHA; the rest from memory, check before use",
        ("Rules change: check the year and the country.",),
    ),
)
