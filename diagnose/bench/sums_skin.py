"""The sums about the skin coat: grams, thickness, what drains, and when it takes foam.

The formulas live in `skin` and `cure_times`; here they get inputs, words and a source.
"""

from __future__ import annotations

from diagnose.bench import cure_times, skin
from diagnose.bench.calculation import Calculation, Figure, Inputs, Outcome, needed, optional
from diagnose.bench.quantities import BenchError, Range, number
from diagnose.bench.sums_pour import CLOCK, MOLD_C, ONE_WARMTH, ROOM_C, RULE, fraction_of_time, today
from diagnose.bench.words import at_bench, say, say_range, say_time, say_times, time_unit

AREA = needed("mold_area", "area that the skin covers", "cm^2")
SKIN_DENSITY = optional("skin_density", "density of the skin, off its sheet", "kg/m^3", practice="skin_density")
_MEAN = "A mean: ridges are thinner and hollows thicker."


def _skin_grams(g: Inputs) -> Outcome:
    area, density, loss = g.si("mold_area"), g.raw("skin_density"), g.raw("loss") / 100
    wanted = g.span("skin_thickness").times(1e-3)
    left = skin.skin_mass(area, wanted.mid, density)
    low, plan, high = (
        skin.coats(area, thick, g.si("per_coat"), density, loss) for thick in (wanted.low, wanted.mid, wanted.high)
    )
    each = f"{plan.count} coats of {at_bench(plan.each_kg, 'g')}" if plan.count > 1 else "one coat"
    thick = say(wanted.mid, "mm")
    sums = f"{g.say('mold_area')} x {thick} x {number(density / 1000, 4)} g/mL / (1 - {number(loss, 3)})"
    return Outcome(
        text=f"{thick} on {g.say('mold_area')} is {at_bench(left, 'g')} in the mold; mix "
        f"{at_bench(plan.all_kg, 'g')} in {each}",
        lines=(sums, "for a brushed coat; slush with two to three times what stays, and pour the rest out"),
        figures={
            "skin_mix": Figure(plan.all_kg * 1e3, "g", low.all_kg * 1e3, high.all_kg * 1e3, sums),
            "skin_mass": Figure(left * 1e3, "g"),
            "coats": Figure(float(plan.count), "count", float(low.count), float(high.count)),
        },
    )


def _skin_thickness(g: Inputs) -> Outcome:
    mean = skin.skin_mean(g.si("skin_mass"), g.si("mold_area"), g.raw("skin_density"))
    density = number(g.raw("skin_density") / 1000, 4)
    return Outcome(
        text=f"{g.say('skin_mass')} / ({g.say('mold_area')} x {density} g/mL) = {mean * 1e3:.2f} mm on average",
        lines=("grams left in the mold / (area x density)",),
        figures={"skin_mean": Figure(mean * 1e3, "mm")},
    )


def _drain(g: Inputs) -> Outcome:
    span = skin.coat_left(g.si("height"), g.si("time"), g.raw("skin_density"))
    keeps = f"a fresh coat draining {g.say('time')} down {g.say('height')} keeps {say_range(span, 'mm', 2)} in the mean"
    return Outcome(
        text=keeps,
        lines=(
            "two thirds of the root of viscosity x height / (density x gravity x time)",
            "the least: a coat that thickens as it gels keeps several times that",
        ),
        figures={"left": Figure.of(span, "mm")},
    )


def _window(g: Inputs) -> Outcome:
    factor, at, untold = today(g, "mold_temperature", "room_temperature")
    figures: dict[str, Figure] = {}
    lines: list[str] = []
    text = "no gel time and no window told"
    ends = _ends(g)
    if ends is not None:
        text = _opening(cure_times.window_at(*ends[:2], factor), f"{ends[2]}{at}", at, figures, lines)
    if g.has("sheet_skin_gel"):
        gel = cure_times.time_at(g.si("sheet_skin_gel"), factor)
        figures["gel"] = Figure.of(gel, "min")
        if g.has("skin_to_foam_time"):
            figures["skin_delay"] = fraction_of_time(g, "skin_to_foam_time", gel, f"to gel{at}", untold)
            lines.append(figures["skin_delay"].text)
    return Outcome(text=text, lines=tuple(lines), figures=figures)


def _ends(g: Inputs) -> tuple[Range, Range, str] | None:
    """When the window opens and closes at the sheet's warmth, in s, and where that is from: its own sheet before its
    gel time.
    """
    if g.has("opens") and g.has("closes"):
        ends = (g.span("opens").times(60), g.span("closes").times(60))
        return *ends, f"the coat's sheet: {number(g.raw('opens'), 4)} to {number(g.raw('closes'), 4)} min"
    if not g.has("sheet_skin_gel"):
        raise BenchError(
            "window needs the gel time of the skin coat, or when it opens and closes: expected a number off its sheet"
        )
    gel = g.si("sheet_skin_gel")
    times = (g.span("window_opens"), g.span("window_closes"))
    says = f"{number(times[0].high, 3)} to {number(times[1].low, 3)} times the gel time of {g.say('sheet_skin_gel')}"
    return times[0].times(gel), times[1].times(gel), says


def _opening(window: cure_times.Window, says: str, at: str, figures: dict[str, Figure], lines: list[str]) -> str:
    unit = time_unit(window.opens.mid)
    lines += [f"opens after {say_times(window.opens)}", f"closes after {say_times(window.closes)}", says]
    if window.safe_from > window.safe_to:
        return f"{at[1:] or 'today'} no time is surely inside the window: go by the finger test"
    middle = (window.safe_from + window.safe_to) / 2
    figures["window"] = Figure.of(Range(window.safe_from, middle, window.safe_to), unit, says)
    until = say_time(window.safe_to, "down")
    return f"pour the foam {say_time(window.safe_from, 'up')} to {until} after the last skin coat{at}"


CALCULATIONS: tuple[Calculation, ...] = (
    Calculation(
        name="skin-grams",
        title="Grams of skin coat",
        group="skin",
        inputs=(
            AREA,
            optional("skin_thickness", "mean thickness wanted", "mm", practice="skin_thickness"),
            SKIN_DENSITY,
            optional("per_coat", "what one coat leaves, off a trial", "mm", practice="skin_per_coat"),
            optional("loss", "share that stays in cups and brush", "percent", practice="skin_loss"),
        ),
        formula=_skin_grams,
        source="area x thickness x density",
        assumes=(_MEAN, "Brushed; weigh one coat to know yours."),
        example="1450 1.2mm",
    ),
    Calculation(
        name="skin-thickness",
        title="Mean thickness that grams gave",
        group="skin",
        inputs=(needed("skin_mass", "skin left in the mold", "g"), AREA, SKIN_DENSITY),
        formula=_skin_thickness,
        source="mass over area and density",
        assumes=(_MEAN,),
        example="228 1450",
    ),
    Calculation(
        name="drain",
        title="What a draining coat keeps",
        group="skin",
        inputs=(
            needed("height", "height of the wall", "mm"),
            needed("time", "time until it gels", "min"),
            SKIN_DENSITY,
        ),
        formula=_drain,
        source="draining film under gravity, from memory; viscosities of a published patent",
        assumes=("The coat stays as thin as when fresh.", "An upright wall."),
        example="200mm 5min",
    ),
    Calculation(
        name="window",
        title="When a skin coat takes foam",
        group="skin",
        inputs=(
            optional("sheet_skin_gel", "gel time of the skin coat on its sheet", "min"),
            MOLD_C,
            ROOM_C,
            optional("opens", "opening of the window on the sheet, after the last coat", "min"),
            optional("closes", "closing of the window on the sheet", "min"),
            optional("skin_to_foam_time", "last coat to the foam", "min"),
            optional("window_opens", "earliest foam, in gel times", "1", practice="window_opens"),
            optional("window_closes", "latest foam, in gel times", "1", practice="window_closes"),
            *CLOCK,
        ),
        formula=_window,
        source=RULE,
        assumes=(
            ONE_WARMTH,
            "The finger beats the clock: a print that doesn't come off on it is the time.",
            "No window is published for this trade: its own sheet comes first.",
        ),
        example="12min 20C",
    ),
)
