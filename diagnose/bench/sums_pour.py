"""The sums about the clock and the way of the foam: cream and demold today, vents, pressure, gaps.

The formulas live in `cure_times` and `venting`; here they get inputs, words and a source.
"""

from __future__ import annotations

import math

from diagnose.bench import cure_times, venting
from diagnose.bench.calculation import Calculation, Figure, Inputs, Outcome, choice, needed, optional
from diagnose.bench.quantities import GRAVITY, Range, from_si, number
from diagnose.bench.words import at_bench, celsius, say, say_range, say_time, say_times

REFERENCE = optional(
    "sheet_temperature", "temperature the sheet's times are said for", "degC", practice="sheet_temperature"
)
PER_10_K = optional("slower_per_10_k", "times longer for each 10 K colder", "1", practice="slower_per_10_k")
UNTOLD = optional("untold_warmth", "error of a time where no temperature is told", "percent", practice="untold_warmth")
MATERIAL_C = optional("material_temperature", "colder of the two parts when mixed", "degC")
MOLD_C = optional("mold_temperature", "inside face of the mold", "degC")
ROOM_C = optional("room_temperature", "room, where the mold's face is not known", "degC")
CLOCK = (REFERENCE, PER_10_K, UNTOLD)
RULE = "one factor for each 10 K, over the spread of published activation energies"
ONE_WARMTH = "Material, cup and mold are all at the temperature given; where none is given, at the sheet's."


def today(g: Inputs, *temperatures: str) -> tuple[Range, str, float]:
    """Return the factor of time at the first temperature told, " at 18 °C", and the relative error of not knowing
    one.
    """
    name = g.first(*temperatures)
    if name is None:
        return Range(1.0, 1.0, 1.0), "", g.raw("untold_warmth") / 100
    factor = cure_times.time_factor(g.raw(name), g.raw("sheet_temperature"), g.span("slower_per_10_k"))
    return factor, f" at {number(g.raw(name), 3)} °C", 0.0


def fraction_of_time(g: Inputs, name: str, time: Range, words: str, untold: float, sheet: float = 0.0) -> Figure:
    """Return how much of a *time* in seconds an elapsed time *name* is; *sheet* is the relative error of the sheet's
    own.
    """
    value = g.si(name) / time.mid
    unit = "s" if time.mid < 300 else "min"
    elapsed = f"{number(from_si(g.si(name), unit), 4)} {unit}"
    text = f"{elapsed} of {number(from_si(time.mid, unit), 3)} {unit} {words} is {value:.2f}"
    error = value * math.hypot((time.high - time.low) / (4 * time.mid), untold, sheet)
    return Figure(value, "1", g.si(name) / time.high, g.si(name) / time.low, text, error)


_SHEET_TIMES = (
    ("cream_time", "cream"),
    ("gel_time", "gel"),
    ("rise_time", "end of rise"),
    ("sheet_demold_time", "demold"),
)


def _clock(g: Inputs) -> Outcome:
    t_c, reference = g.raw("material_temperature"), g.raw("sheet_temperature")
    factor = cure_times.time_factor(t_c, reference, g.span("slower_per_10_k"))
    figures = {"factor": Figure.of(factor, "1")}
    lines = []
    for name, word in _SHEET_TIMES:
        if g.has(name):
            span = cure_times.time_at(g.si(name), factor)
            unit = "min" if name in ("rise_time", "sheet_demold_time") else "s"
            lines.append(f"{word} {g.say(name)} becomes {say_times(span)}")
            figures[name] = Figure.of(span, unit, lines[-1])
    return Outcome(
        text=f"at {celsius(t_c)} all takes {say_range(factor, '1')} times as long as at {celsius(reference)}",
        lines=tuple(lines) or ("factor for any time on the sheet",),
        figures=figures,
    )


def _pour_time(g: Inputs) -> Outcome:
    factor, at, untold = today(g, "material_temperature")
    cream = cure_times.time_at(g.si("cream_time"), factor)
    by = cream.times(g.raw("share"))
    share = number(g.raw("share"), 2)
    figures = {
        "finish_pouring": Figure.of(by, "s", f"{share} of {say_times(cream)} to cream{at}"),
        "cream": Figure.of(cream, "s"),
    }
    for told, name in (("mix_time", "mix_fraction"), ("pour_done", "pour_fraction")):
        if g.has(told):
            figures[name] = fraction_of_time(g, told, cream, f"to cream{at}", untold)
    return Outcome(
        text=f"be finished pouring {say_time(by.low, 'down')} after A meets B",
        lines=(
            f"cream {g.say('cream_time')} on the sheet is {say_times(cream)}{at}",
            f"{share} of it, by the early end",
        ),
        figures=figures,
    )


def _demold(g: Inputs) -> Outcome:
    factor, at, untold = today(g, "mold_temperature", "room_temperature")
    on_sheet = g.span("sheet_demold_time")
    thick = g.maybe("section_thickness")
    whole = on_sheet.mid * 60
    if thick is not None:
        rate = g.si("demold_extra_per_10_mm") / 0.010
        whole = cure_times.thick_demold(whole, thick, g.si("thick_section"), rate)
    extra = whole - on_sheet.mid * 60
    span = cure_times.time_at(whole, factor)
    sheet = (on_sheet.high - on_sheet.low) / (4 * on_sheet.mid)
    source = "that such foams usually want" if sheet else "on the sheet"
    added = f", {at_bench(extra, 'min')} of it for the thick section," if extra else ""
    how = f"{number(on_sheet.mid, 4)} min at {g.say('sheet_temperature')}"
    how += f" and {at_bench(extra, 'min')} for {g.say('section_thickness')}" if extra else ""
    how += f", carried to{at[3:]}" if at else ""
    figures = {"demold": Figure.of(span, "min", how)}
    if g.has("demold_time"):
        figures["demold_fraction"] = fraction_of_time(g, "demold_time", span, f"{source}{added}{at}", untold, sheet)
    return Outcome(
        text=f"open the mold not before {say_time(span.high, 'up')} from mixing",
        lines=(how, f"that is {say_times(span)}; go by the late end", "a pressed thumb must spring back"),
        figures=figures,
    )


def _vent(g: Inputs) -> Outcome:
    need = venting.air_to_vent(g.si("cavity_volume"), g.si("fill_time"))
    one = venting.vent_flow(g.si("pressure"), g.si("bore"), g.si("length"))
    count = math.ceil(need / one.flow_m3_s - 1e-9)
    holds = {
        "laminar": "the plain pipe formula holds",
        "orifice": "its ends rule, as in an orifice",
        "between": "between pipe and orifice: neither plain formula holds",
    }[one.regime]
    vents = "vent" if count == 1 else "vents"
    passes = f"a vent of {g.say('bore')} passes {say(one.flow_m3_s, 'mL/s')} of air"
    return Outcome(
        text=f"{passes}; {say(need, 'mL/s')} must leave in all. One at each dead end: place counts, not number",
        lines=(
            f"air to let out: {g.say('cavity_volume')} in {g.say('fill_time')}, as {count} such {vents} would pass it",
            "the pour hole passes most of it until the foam closes it",
            f"Reynolds number {number(one.reynolds, 3)}; {holds}",
        ),
        figures={"flow": Figure(one.flow_m3_s * 1e6, "mL/s"), "air": Figure(need * 1e6, "mL/s")},
    )


def _vent_bore(g: Inputs) -> Outcome:
    need = venting.air_to_vent(g.si("cavity_volume"), g.si("fill_time"))
    bore = venting.vent_bore(need, g.si("pressure"), g.si("length"))
    return Outcome(
        text=f"one vent of {at_bench(bore, 'mm', 'up')} lets {g.say('cavity_volume')} of air out in "
        f"{g.say('fill_time')}",
        lines=(f"{say(need, 'mL/s')} through {g.say('length')} under {g.say('pressure')}",),
        figures={"bore": Figure(bore * 1e3, "mm")},
    )


def _back_pressure(g: Inputs) -> Outcome:
    span = venting.back_pressure(g.si("flow"), g.si("bore"), g.si("length"), g.raw("foam_density"))
    held = f"{g.say('flow')} of fresh mix through {g.say('bore')} is held back by {say_range(span, 'Pa', 2)}"
    return Outcome(
        text=f"{held}; more as it gels",
        lines=(
            "pipe friction and 1.5 velocity heads, over the published viscosities of fresh mixes",
            "halving the bore makes it sixteen times as much",
        ),
        figures={"back_pressure": Figure.of(span, "Pa")},
    )


def _mold_pressure(g: Inputs) -> Outcome:
    tight, lost, density = g.span("packing"), g.span("gas_lost").through(lambda x: x / 100), g.si("free_rise_density")
    least = venting.mold_pressure(tight.low, density, lost.high)
    usual = venting.mold_pressure(tight.mid, density, lost.mid)
    most = venting.mold_pressure(tight.high, density, lost.low)
    span = Range(least, usual, most)
    figures = {"mold_pressure": Figure.of(span, "kPa")}
    lowest = "nothing (leaking)" if least < 500 else at_bench(least, "kPa")
    text = f"from {lowest} to {at_bench(most, 'kPa', 'up')} in the closed mold"
    lines = [
        f"{at_bench(usual, 'kPa')} at packing {number(tight.mid, 3)} with {number(100 * lost.mid, 3)} % of the gas "
        f"lost",
        "gas of the foam pressed from free rise into the mold, temperature unchanged",
    ]
    area = _opening(g)
    if area is not None:
        load = span.times(area / GRAVITY)
        figures["load"] = Figure.of(load, "kg")
        held = f"up to {at_bench(load.high, 'kg', 'up')} on the lid"
        text += f": {held}; straps or bolts, no loose weights"
        lines.append(f"pressure x {say(area, 'cm^2')} / gravity; usual {at_bench(load.mid, 'kg')}")
    return Outcome(text=text, lines=tuple(lines), figures=figures)


def _opening(g: Inputs) -> float | None:
    """The area that the pressure stands on in m2, or None where nothing is told of it."""
    if g.has("opening_area"):
        return g.si("opening_area")
    return math.pi / 4 * g.si("opening_diameter") ** 2 if g.has("opening_diameter") else None


def _pocket(g: Inputs) -> Outcome:
    left = 100 * venting.pocket_left(g.si("pressure"))
    return Outcome(
        text=f"at {g.say('pressure')} a trapped pocket keeps {number(left, 2)} % of its volume: vent it or turn the "
        f"mold",
        lines=("atmosphere / (atmosphere + pressure), Boyle",),
        figures={"left": Figure(left, "percent")},
    )


def _travel(g: Inputs) -> Outcome:
    gap, widest = g.si("narrowest_gap"), g.si("narrow_gap")
    if gap > widest:
        return Outcome(
            text=f"a gap of {g.say('narrowest_gap')} stops no foam: only one up to {g.say('narrow_gap')} does"
        )
    span = venting.travel(gap, g.span("travel_gaps"))
    figures = {"travel": Figure.of(span, "mm")}
    if g.has("travel_length"):
        share = g.si("travel_length") / span.mid
        way = (
            f"{g.say('travel_length')} of way, and a {g.say('narrowest_gap')} gap lets foam go "
            f"{at_bench(span.mid, 'mm')}"
        )
        figures["travel_share"] = Figure(
            share, "1", text=f"{way}: {share:.2f}", error=share * (span.high - span.low) / (4 * span.mid)
        )
    return Outcome(
        text=f"in a gap of {g.say('narrowest_gap')} plan on {at_bench(span.mid, 'mm')} of travel "
        f"({say_range(span, 'mm', 2)}); beyond it fill the tip by hand",
        lines=("so many times the gap",),
        figures=figures,
    )


AIR = (
    needed("cavity_volume", "air in the cavity", "mL"),
    optional("fill_time", "time in which it fills", "s", practice="fill_time"),
)
HOLE = (
    optional("length", "length of the vent", "mm", 10.0),
    optional("pressure", "pressure that drives the air out", "Pa", 500.0),
)
_VENTS = (
    "Air at 20 °C.",
    "No foam in the vent yet; once it enters, the vent is shut.",
    "500 Pa is a stand-in: 5 cm of liquid.",
)
_SHEET_DEMOLD = optional("sheet_demold_time", "demold time on the sheet", "min", practice="demold_time")

CALCULATIONS: tuple[Calculation, ...] = (
    Calculation(
        name="clock",
        title="The sheet's times at today's temperature",
        group="mix",
        inputs=(
            needed("material_temperature", MATERIAL_C.title, "degC"),
            optional("cream_time", "cream time on the sheet", "s"),
            optional("gel_time", "gel time on the sheet", "s"),
            optional("rise_time", "end of rise on the sheet", "s"),
            optional("sheet_demold_time", "demold time on the sheet", "min"),
            *CLOCK[:2],
        ),
        formula=_clock,
        source=RULE,
        assumes=(
            "Material, cup and mold are all at the temperature given.",
            "A big batch runs faster than a small cup.",
        ),
        example="18C --cream-time 45s --sheet-demold-time 45min",
    ),
    Calculation(
        name="pour-time",
        title="Last drop in by",
        group="mix",
        inputs=(
            needed("cream_time", "cream time on the sheet", "s"),
            MATERIAL_C,
            optional("mix_time", "how long it was mixed", "s"),
            optional("pour_done", "A meets B to the last drop in", "s"),
            optional("share", "part of cream by which the last drop is in", "1", practice="pour_fraction"),
            *CLOCK,
        ),
        formula=_pour_time,
        source=f"{RULE}; two thirds of cream is common practice",
        assumes=(ONE_WARMTH, "A big batch runs faster than a small cup."),
        example="45s 18C",
    ),
    Calculation(
        name="demold",
        title="When to open the mold",
        group="mold",
        inputs=(
            _SHEET_DEMOLD,
            MOLD_C,
            ROOM_C,
            optional("section_thickness", "thickest section", "mm"),
            optional("demold_time", "when it was opened, from mixing", "min"),
            *CLOCK,
            optional("thick_section", "section over which the time grows", "mm", practice="thick_section"),
            optional(
                "demold_extra_per_10_mm", "more for each 10 mm over that", "min", practice="demold_extra_per_10_mm"
            ),
        ),
        formula=_demold,
        source=RULE,
        assumes=(ONE_WARMTH, "A thick part is judged by its thickest section."),
        example="45min 18C --section-thickness 75mm",
    ),
    Calculation(
        name="vent",
        title="What a vent passes",
        group="mold",
        inputs=(*AIR, optional("bore", "bore of a vent", "mm", practice="vent_bore"), *HOLE),
        formula=_vent,
        source="1.5 velocity heads and smooth-pipe friction (64/Re, Blasius)",
        assumes=_VENTS,
        example="1900 60s 1.5mm",
    ),
    Calculation(
        name="vent-bore",
        title="Bore of one vent that passes all the air",
        group="mold",
        inputs=(*AIR, *HOLE),
        formula=_vent_bore,
        source="1.5 velocity heads and smooth-pipe friction (64/Re, Blasius), turned round",
        assumes=(*_VENTS, "One vent for the whole cavity; dead ends want one each all the same."),
        example="1900 60s",
    ),
    Calculation(
        name="back-pressure",
        title="How hard an opening holds the foam back",
        group="mold",
        inputs=(
            needed("flow", "foam that leaves by the opening", "mL/s"),
            needed("bore", "bore of the opening", "mm"),
            needed("length", "length of the neck", "mm"),
            optional("foam_density", "density of the rising foam", "kg/m^3", 300.0),
        ),
        formula=_back_pressure,
        source="Hagen-Poiseuille with published viscosities of fresh urethane mixes",
        assumes=("Fresh mix at 25 °C.", "Says nothing of the pressure in a closed mold: that is mold-pressure."),
        example="5 20mm 30mm",
    ),
    Calculation(
        name="mold-pressure",
        title="Pressure in a closed mold, and what the lid must hold",
        group="mold",
        inputs=(
            optional("packing", "packing factor", "1", practice="packing"),
            optional("free_rise_density", "free-rise density", "kg/m^3", practice="core_density"),
            optional("opening_diameter", "opening under the lid", "mm"),
            optional("opening_area", "area of lid or seam face that the foam stands on", "cm^2"),
            optional("gas_lost", "gas that leaks away", "percent", practice="gas_lost"),
            choice("build", "bare foam or foam behind a skin coat", ("bare_foam", "skin_and_foam"), "bare_foam"),
        ),
        formula=_mold_pressure,
        source="ideal gas at one temperature, from free rise to the molded density; the gas lost is our own guess",
        assumes=(
            "The foam fills the mold and rises no more; its solid weighs 1100 kg/m³.",
            "A mold that leaks builds nothing; one that holds its gas builds the most.",
            "Never stand over a lid held by weights.",
        ),
        example="1.45 160 --opening-diameter 10cm",
    ),
    Calculation(
        name="pocket",
        title="Can foam squeeze a trapped pocket?",
        group="mold",
        inputs=(needed("pressure", "pressure of the foam over the atmosphere", "kPa"),),
        formula=_pocket,
        source="Boyle",
        assumes=("The temperature of the trapped air stays as it is.",),
        example="34",
    ),
    Calculation(
        name="travel",
        title="How far foam goes in a narrow gap",
        group="mold",
        inputs=(
            needed("narrowest_gap", "width of the gap", "mm"),
            optional("travel_length", "way of the foam to the bad place", "mm"),
            optional("travel_gaps", "gaps that foam climbs", "1", practice="travel_gaps"),
            optional("narrow_gap", "width up to which a gap stops foam", "mm", practice="narrow_gap"),
        ),
        formula=_travel,
        source="common practice, no source",
        assumes=("A warm wall and fresh mix; cold walls stop it sooner.",),
        example="6mm",
    ),
)

__all__ = ["CALCULATIONS", "CLOCK", "MOLD_C", "ROOM_C", "RULE", "fraction_of_time", "today"]
