"""The sums about paint: a cross-cut, how long to wait, whether today is a day for it, the recoat window.

The formulas live in `painting` and `cure_times`; here they get inputs, words and a source.
"""

from __future__ import annotations

from diagnose.bench import cure_times, painting
from diagnose.bench.calculation import Calculation, Figure, Inputs, Outcome, needed, optional
from diagnose.bench.quantities import Range, inside, number
from diagnose.bench.sums_pour import CLOCK, RULE
from diagnose.bench.words import celsius, say_time, say_times, time_unit


def _cross_cut(g: Inputs) -> Outcome:
    lost = g.raw("lost")
    iso, astm = painting.cross_cut_iso(lost), painting.cross_cut_astm(lost)
    scales = f"class {iso} of 0 to 5 (ISO 2409, 0 is best), {astm} on the other scale (ASTM D3359, 5B is best)"
    return Outcome(
        text=f"{number(lost)} % lost is {scales}",
        lines=("bands end at 0, 5, 15, 35 and 65 %", "the two scales run in opposite directions: say which"),
        figures={"class": Figure(float(iso), "count")},
    )


def _paint_wait(g: Inputs) -> Outcome:
    t_c = inside("temperature of the resting part", g.raw("part_temperature"), 10, 50, "degC")
    factor = cure_times.time_factor(t_c, g.raw("sheet_temperature"), g.span("slower_per_10_k"))
    span = cure_times.time_at(g.si("paint_wait"), factor)
    at = f"{g.say('paint_wait')} at {g.say('sheet_temperature')}, carried to {number(t_c, 3)} °C"
    return Outcome(
        text=f"a part resting at {celsius(t_c)} waits {say_times(span)} before paint; go by "
        f"{say_time(span.high, 'up')}",
        lines=(at, "washed, rinsed and dry through; face over the dew point"),
        figures={"paint": Figure.of(span, "h", at)},
    )


def _paint_conditions(g: Inputs) -> Outcome:
    got = painting.paint_conditions(
        g.raw("paint_temperature"),
        g.raw("paint_humidity"),
        g.raw("surface_temperature"),
        g.maybe("lowest_temperature"),
        g.span("margin").low,
        g.span("paint_air"),
    )
    margin = f"surface {number(abs(got.margin_k), 2)} K {'over' if got.margin_k >= 0 else 'under'} it"
    return Outcome(
        text="fit for painting" if got.fit else "not fit for painting: " + "; ".join(got.against),
        lines=(f"dew point {celsius(got.dew_point_c)}, {margin}", *got.against),
        figures={"dew_margin": Figure(got.margin_k, "K")},
    )


def _recoat(g: Inputs) -> Outcome:
    t_c = g.raw("paint_temperature")
    opens = _exact(g.si("opens"))
    closes = _exact(g.si("closes") if g.has("closes") else 2_592_000.0)
    factor = cure_times.time_factor(t_c, g.raw("sheet_temperature"), g.span("slower_per_10_k"))
    window = cure_times.window_at(opens, closes, factor)
    lines = [f"opens after {say_times(window.opens)}"]
    text = f"at {celsius(t_c)} the next coat goes on {say_time(window.safe_from, 'up')} after the last"
    if g.has("closes"):
        lines.append(f"closes after {say_times(window.closes)}")
        if window.safe_to < window.safe_from:
            text = f"at {celsius(t_c)} no time is surely inside the window: scuff and start a new coat by the sheet"
        else:
            text += f", and not later than {say_time(window.safe_to, 'down')}"
    return Outcome(
        text=text, lines=tuple(lines), figures={"opens": Figure.of(window.opens, time_unit(window.opens.mid))}
    )


def _exact(value: float) -> Range:
    return Range(value, value, value)


CALCULATIONS: tuple[Calculation, ...] = (
    Calculation(
        name="cross-cut",
        title="Class of a cross-cut",
        group="finish",
        inputs=(needed("lost", "paint lost from the squares", "percent"),),
        formula=_cross_cut,
        source="ASTM D3359 method B; ISO 2409 (its classes from memory)",
        assumes=("Written for paint on hard panels: on foam it only compares one part with another.",),
        example="12",
    ),
    Calculation(
        name="paint-wait",
        title="How long before paint",
        group="finish",
        inputs=(
            needed("part_temperature", "where the part rests (never over 50 degC)", "degC"),
            optional("paint_wait", "demold to paint on the foam's sheet", "h", practice="paint_wait"),
            *CLOCK[:2],
        ),
        formula=_paint_wait,
        source=RULE,
        assumes=(
            "Bare foam that was demolded in time; a lump over 120 mm stays out of the warm box in its first day.",
            "A washed part must be dry right through first.",
            "The paint's sheet and a tape test on a hidden spot go before this.",
        ),
        example="15C",
    ),
    Calculation(
        name="paint-conditions",
        title="Is today a day for painting?",
        group="finish",
        inputs=(
            needed("paint_temperature", "air where you paint", "degC"),
            needed("paint_humidity", "relative humidity there", "percent"),
            needed("surface_temperature", "surface of the part", "degC"),
            optional("lowest_temperature", "lowest temperature on the paint's sheet", "degC"),
            optional("margin", "surface over the dew point, at least", "K", practice="dew_margin"),
            optional("paint_air", "air and part while painting", "degC", practice="paint_air"),
        ),
        formula=_paint_conditions,
        source="military painting handbook (3 K over the dew point, 7 to 32 °C); film forming after ASTM D2354",
        assumes=("The paint's own sheet goes before the general figures.",),
        example="18C 85 17C",
    ),
    Calculation(
        name="recoat",
        title="The recoat window at today's temperature",
        group="finish",
        inputs=(
            needed("paint_temperature", "temperature of the part and the air", "degC"),
            needed("opens", "earliest recoat on the sheet", "min"),
            optional("closes", "latest recoat on the sheet", "min"),
            *CLOCK[:2],
        ),
        formula=_recoat,
        source=f"the paint's sheet; {RULE}; no window is published",
        assumes=("Paint that sets by reaction; a drying one goes by air movement and humidity.",),
        example="18C 30min 4h",
    ),
)
