"""The sums about the pour, for the command line: charge, packing, the clock, vents and gaps.

The formulas live in `charge`, `clock` and `venting`; here they get inputs, words and a source.
"""

from __future__ import annotations

import math

from diagnose.bench import cure_times, packing, venting
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
from diagnose.bench.quantities import BenchError, Range, number

VOLUME = Input("cavity_volume", "space left for the foam", "mL")
FREE_RISE = Input("free_rise_density", "free-rise density, off today's cup if you can", "kg/m^3")
REFERENCE = Input("sheet_temperature", "temperature the sheet's times are said for", "degC", False, 25.0)
_PACKING = "packing factor = molded density / free-rise density, as patents on molded foam define it"
_SPREAD = "Arrhenius with published activation energies of 27 to 55 kJ/mol, and the doubling rule beside them"
_CLOCK = ("Material, cup and mold are all at the temperature given.", "A big batch runs faster than a small cup.")


def _charge(g: Inputs) -> Answer:
    got = packing.charge(
        g.si("cavity_volume"),
        g.raw("free_rise_density"),
        g.raw("packing"),
        g.raw("loss") / 100,
        g.si("skin_mass"),
        g.si("armature_volume"),
    )
    pour, mixed = say(got.pour_kg, "g"), say(got.mix_kg, "g")
    return Answer(
        got.mix_kg * 1e3,
        "g",
        f"pour {pour} of foam; mix {mixed}, for {g.say('loss')} stays behind",
        (
            f"left for foam: {say(got.foam_volume_m3, 'mL', 4)} of {g.say('cavity_volume')}",
            f"pour = volume x free-rise density x packing = {pour}",
            f"mix = pour / (1 - loss) = {mixed}",
        ),
    )


def _packing(g: Inputs) -> Answer:
    if g.has("part_mass") == g.has("charge_mass"):
        raise BenchError("packing needs one of charge_mass and part_mass: expected grams poured or of the part")
    room = (g.si("cavity_volume"), g.raw("free_rise_density"))
    if g.has("part_mass"):
        mass = g.si("part_mass") - g.si("insert_mass")
        factor = packing.packing_of_part(g.si("part_mass"), *room, g.si("insert_mass"))
    else:
        mass = g.si("charge_mass")
        factor = packing.packing(mass, *room)
    text = f"{say(mass, 'g', 4)} in {g.say('cavity_volume')} is packed {number(factor, 3)} times free rise"
    return Answer(
        factor,
        "1",
        text,
        (
            f"molded density {say(packing.molded_density(mass, room[0]), 'kg/m^3')} over free rise {g.say('free_rise_density')} = {number(factor, 3)}",
        ),
    )


def _overpack(g: Inputs) -> Answer:
    percent = packing.overpack_percent(g.si("charge_mass"), g.si("least_charge"))
    return Answer(
        percent,
        "percent",
        f"{g.say('charge_mass')} where {g.say('least_charge')} just fills: overpack {number(percent, 4)} %",
        ("overpack = 100 x charge / least charge that fills; this is not the packing factor",),
    )


def _free_rise(g: Inputs) -> Answer:
    density = packing.free_rise_density(g.si("foam_mass"), g.si("cup_volume"))
    return Answer(
        density,
        "kg/m^3",
        f"{g.say('foam_mass')} in {g.say('cup_volume')} is {say(density, 'kg/m^3')} free rise ({number(density / packing.LB_PER_FT3, 3)} lb/ft³)",
        ("grams in the cup, sliced flush, over its brim volume",),
    )


_TIMES = (("cream_time", "cream"), ("gel_time", "gel"), ("rise_time", "rise"), ("sheet_demold_time", "demold"))


def _clock(g: Inputs) -> Answer:
    t_c, reference = g.raw("material_temperature"), g.raw("sheet_temperature")
    factor = cure_times.time_factor(t_c, reference)
    lines = []
    for name, word in _TIMES:
        if g.has(name):
            span = cure_times.time_at(g.si(name), t_c, reference)
            lines.append(f"{word} {g.say(name)} becomes {say_times(span)}")
    text = f"at {celsius(t_c)} all takes {say_range(factor, '1')} times as long as at {celsius(reference)}"
    if g.has("cream_time"):
        by = cure_times.finish_pouring(g.si("cream_time"), t_c, reference)
        lines.append("two thirds of cream, by the early end")
        text += f"; be finished pouring {say_time(by.low)} after A meets B"
    if g.has("sheet_demold_time"):
        late = cure_times.time_at(g.si("sheet_demold_time"), t_c, reference).high
        text += f"; open the mold not before {say_time(late)}"
    return Answer.ranged(factor, "1", text, tuple(lines) or ("factor for any time on the sheet",))


def _window(g: Inputs) -> Answer:
    window = cure_times.window_at(g.si("opens"), g.si("closes"), g.raw("room_temperature"), g.raw("sheet_temperature"))
    unit = time_unit(window.closes.mid)
    lines = (f"opens after {say_times(window.opens)}", f"closes after {say_times(window.closes)}")
    if window.safe_from > window.safe_to:
        text = f"at {celsius(g.raw('room_temperature'))} no time is surely inside the window: go by the finger test"
        return Answer(None, unit, text, lines)
    text = f"at {celsius(g.raw('room_temperature'))} pour the foam {say_time(window.safe_from)} to {say_time(window.safe_to)} after the last skin coat"
    middle = (window.safe_from + window.safe_to) / 2
    return Answer.ranged(Range(window.safe_from, middle, window.safe_to), unit, text, lines)


def _vent(g: Inputs) -> Answer:
    need = venting.air_to_vent(g.si("cavity_volume"), g.si("fill_time"))
    one = venting.vent_flow(g.si("pressure"), g.si("bore"), g.si("length"))
    count = math.ceil(need / one.flow_m3_s - 1e-9)
    holds = {
        "laminar": "the plain pipe formula holds",
        "orifice": "its ends rule, as in an orifice",
        "between": "between pipe and orifice: neither plain formula holds",
    }[one.regime]
    return Answer(
        one.flow_m3_s * 1e6,
        "mL/s",
        f"a vent of {g.say('bore')} passes {say(one.flow_m3_s, 'mL/s')} of air; {say(need, 'mL/s')} must leave: {count} at the least, and one at each dead end",
        (
            f"air to let out: {g.say('cavity_volume')} in {g.say('fill_time')}",
            f"Reynolds number {number(one.reynolds, 3)}; {holds}",
        ),
    )


def _back_pressure(g: Inputs) -> Answer:
    span = venting.back_pressure(g.si("flow"), g.si("bore"), g.si("length"), g.raw("foam_density"))
    return Answer.ranged(
        span,
        "Pa",
        f"{g.say('flow')} of fresh mix through {g.say('bore')} is held back by {say_range(span, 'Pa', 2)}; more as it gels",
        (
            "pipe friction and 1.5 velocity heads, over the published viscosities of fresh mixes",
            "halving the bore makes it sixteen times as much",
        ),
    )


def _pocket(g: Inputs) -> Answer:
    left = 100 * venting.pocket_left(g.si("pressure"))
    return Answer(
        left,
        "percent",
        f"at {g.say('pressure')} a trapped pocket keeps {number(left, 2)} % of its volume: vent it or turn the mold",
        ("atmosphere / (atmosphere + pressure), Boyle",),
    )


def _travel(g: Inputs) -> Answer:
    span = venting.travel(g.si("gap"))
    return Answer.ranged(
        span,
        "mm",
        f"in a gap of {g.say('gap')} plan on {say(span.mid, 'mm', 2)} of travel ({say_range(span, 'mm', 2)}); beyond it fill the tip by hand",
        ("15 times the gap, 10 to 20",),
    )


SUMS: tuple[Sum, ...] = (
    Sum(
        "charge",
        "Grams of foam to fill a cavity",
        (
            Input("cavity_volume", "the empty cavity", "mL"),
            FREE_RISE,
            Input("packing", "packing factor wanted: bare 1.3 to 1.6, over a skin coat 1.05 to 1.25", "1"),
            Input("loss", "share that stays in bucket and cups", "percent", False, 5.0),
            Input("skin_mass", "skin coat in the mold", "g", False, 0.0),
            Input("armature_volume", "armature in the mold", "mL", False, 0.0),
        ),
        _charge,
        f"{_PACKING}; the usual factors and losses are common practice",
        ("The skin coat weighs 1.05 g/mL.", "Free rise was measured in a cup of 100 g or more."),
    ),
    Sum(
        "packing",
        "How tight the part was packed",
        (
            VOLUME,
            FREE_RISE,
            Input("charge_mass", "foam mix that went into the mold", "g", False),
            Input("part_mass", "the trimmed part", "g", False),
            Input("insert_mass", "armature and skin coat in the part", "g", False, 0.0),
        ),
        _packing,
        _PACKING,
        ("Flash and what ran out of a vent are not in the part.",),
    ),
    Sum(
        "overpack",
        "Overpack: over the least charge that fills",
        (
            Input("charge_mass", "foam mix that went into the mold", "g"),
            Input("least_charge", "least charge that just fills this mold", "g"),
        ),
        _overpack,
        "as patents on molded foam define it",
        ("Not the packing factor.",),
    ),
    Sum(
        "free-rise",
        "Free-rise density from a cup",
        (
            Input("foam_mass", "foam in the cup, sliced flush", "g"),
            Input("cup_volume", "brim volume of the cup", "mL"),
        ),
        _free_rise,
        "mass over volume, as cup-test and density standards do",
        ("The cup held 100 g or more; a small one loses its heat and reads heavy.",),
    ),
    Sum(
        "clock",
        "The sheet's times at today's temperature",
        (
            Input("material_temperature", "colder of the two parts when mixed", "degC"),
            REFERENCE,
            Input("cream_time", "cream time on the sheet", "s", False),
            Input("gel_time", "gel time on the sheet", "s", False),
            Input("rise_time", "rise time on the sheet", "s", False),
            Input("sheet_demold_time", "demold time on the sheet", "min", False),
        ),
        _clock,
        f"{_SPREAD}; two thirds of cream is common practice",
        _CLOCK,
    ),
    Sum(
        "window",
        "When a skin coat takes foam",
        (
            Input("room_temperature", "temperature of skin and mold", "degC"),
            REFERENCE,
            Input("opens", "opening of the window on the sheet, after the last coat", "min"),
            Input("closes", "closing of the window on the sheet", "min"),
        ),
        _window,
        _SPREAD,
        (
            *_CLOCK[:1],
            "The finger beats the clock: a print that doesn't come off on it is the time.",
            "No window is published for this trade: it must come off the sheet.",
        ),
    ),
    Sum(
        "vent",
        "What a vent passes",
        (
            Input("cavity_volume", "air in the cavity", "mL"),
            Input("fill_time", "time in which it fills", "s"),
            Input("bore", "bore of a vent", "mm"),
            Input("length", "length of the vent", "mm", False, 10.0),
            Input("pressure", "pressure that drives the air out", "Pa", False, 500.0),
        ),
        _vent,
        "1.5 velocity heads and smooth-pipe friction (64/Re, Blasius)",
        (
            "Air at 20 °C.",
            "No foam in the vent yet; once it enters, the vent is shut.",
            "500 Pa is a stand-in: 5 cm of liquid.",
        ),
    ),
    Sum(
        "back-pressure",
        "How hard an opening holds the foam back",
        (
            Input("flow", "foam that leaves by the opening", "mL/s"),
            Input("bore", "bore of the opening", "mm"),
            Input("length", "length of the neck", "mm"),
            Input("foam_density", "density of the rising foam", "kg/m^3", False, 300.0),
        ),
        _back_pressure,
        "Hagen-Poiseuille with published viscosities of fresh urethane mixes",
        ("Fresh mix at 25 °C; no foaming pressure for this kind of mold was found in print.",),
    ),
    Sum(
        "pocket",
        "Can foam squeeze a trapped pocket?",
        (Input("pressure", "pressure of the foam over the atmosphere", "kPa"),),
        _pocket,
        "Boyle",
        ("The temperature of the trapped air stays as it is.",),
    ),
    Sum(
        "travel",
        "How far foam goes in a narrow gap",
        (Input("gap", "width of the gap", "mm"),),
        _travel,
        "common practice, no source",
        ("A warm wall and fresh mix; cold walls stop it sooner.",),
    ),
)
