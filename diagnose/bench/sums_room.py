"""The sums about the room: dew, damp, and the air that is breathed.

The formulas live in `humidity` and `ventilation`; here they get inputs, words and a source. What touches health leads
with the strict advice and ends with the SDS and local rules.
"""

from __future__ import annotations

from diagnose.bench import humidity, ventilation
from diagnose.bench.calculation import Calculation, Figure, Inputs, Outcome, choice, needed, optional
from diagnose.bench.quantities import number
from diagnose.bench.sums_mix import NCO
from diagnose.bench.sums_mold import ROOM
from diagnose.bench.words import celsius, say, say_time

HUMIDITY = needed("relative_humidity", "relative humidity at the mold", "percent")
MARGIN = optional("margin", "face above the dew point, at least", "K", practice="dew_margin")
_MIXING = optional("mixing", "mixing factor: 1 perfect, 10 dead corners", "1", practice="air_mixing")
_MAGNUS = "Magnus form, Journal of Applied Meteorology 35 (1996)"


def _dew_point(g: Inputs) -> Outcome:
    air, rh = g.raw("room_temperature"), g.raw("relative_humidity")
    dew = humidity.dew_point_c(air, rh)
    text = f"air at {celsius(air)} and {number(rh)} % has its dew point at {celsius(dew)}"
    lines = (f"water in the air: {number(1000 * humidity.absolute_humidity(air, rh), 3)} g/m³",)
    told = f"room {number(air, 4)} °C at {number(rh, 4)} %: dew point {dew:.1f} °C"
    figures = {"dew_point": Figure(dew, "degC", text=told)}
    if not g.has("mold_temperature"):
        return Outcome(text=text, lines=lines, figures=figures)
    face, asked = g.raw("mold_temperature"), g.span("margin").low
    margin = humidity.dew_margin(face, air, rh)
    side = "above" if margin >= 0 else "below"
    verdict = (
        "it is wet" if margin <= 0 else f"too near, {number(asked)} K or more is asked" if margin < asked else "dry"
    )
    how = f"mold face {number(face, 4)} °C, {abs(margin):.1f} K {side} the dew point of {dew:.1f} °C"
    figures["dew_margin"] = Figure(margin, "K", text=how)
    stands = f"a face at {celsius(face)} stands {number(abs(margin), 2)} K {side} it: {verdict}"
    return Outcome(text=f"{text}; {stands}", lines=lines, figures=figures)


def _highest_humidity(g: Inputs) -> Outcome:
    face, air, margin = g.raw("mold_temperature"), g.raw("room_temperature"), g.span("margin").low
    most = humidity.highest_humidity(face, air, margin)
    wet = humidity.highest_humidity(min(face, air), air, 0.0)  # a face as warm as the air sweats at 100 %
    stands = f"a face at {celsius(face)} in air at {celsius(air)}"
    return Outcome(
        text=f"{stands} is dry up to {number(most, 2)} % humidity; it sweats from {number(wet, 3)} %",
        lines=(f"{number(margin)} K above the dew point is asked",),
        figures={"relative_humidity": Figure(most, "percent"), "wet_from": Figure(wet, "percent")},
    )


def _water_film(g: Inputs) -> Outcome:
    water = humidity.film_water(g.si("film"), g.si("mold_area"))
    done = humidity.water_damage(water, g.raw("nco"))
    film = f"{g.say('film')} of water on {g.say('mold_area')} is {say(water, 'g')}"
    return Outcome(
        text=f"{film}: {say(done.gas_m3, 'L')} of gas at the wall and {say(done.iso_eaten_kg, 'g')} of A eaten there",
        lines=("film x area; then one carbon dioxide and two NCO groups for each molecule of water",),
        figures={
            "water": Figure(water * 1e3, "g"),
            "gas": Figure(done.gas_m3 * 1e3, "L"),
            "a_eaten": Figure(done.iso_eaten_kg * 1e3, "g"),
        },
    )


def _purge(g: Inputs) -> Outcome:
    rate, removed = g.raw("air_changes"), g.raw("removed") / 100
    mixing = g.raw("mixing")
    time, best, worst = (ventilation.purge_time(rate, removed, k) for k in (mixing, 1.0, 10.0))
    clear = f"{number(rate)} air changes an hour clear {g.say('removed')} in {say_time(time, 'up')}"
    return Outcome(
        text=f"{clear}, mixing factor {g.say('mixing')}",
        lines=(
            f"-ln(1 - share) / changes = {say_time(best)} with perfect mixing, {say_time(worst)} in dead corners",
            "the source has stopped: cups and parts that still give off are out of the room",
        ),
        figures={"purge": Figure(time / 60, "min", best / 60, worst / 60)},
    )


def _dilution(g: Inputs) -> Outcome:
    need = [ventilation.dilution_flow(g.si("rate"), g.si("concentration"), k) for k in (g.raw("mixing"), 1, 10)]
    held = f"{g.say('rate')} held at {g.say('concentration')} takes {say(need[0], 'm^3/min')} of fresh air"
    return Outcome(
        text=f"{held}: catch it at the source instead",
        lines=(
            f"mixing factor x source / concentration; {say(need[1], 'm^3/min')} if mixed at once, "
            f"{say(need[2], 'm^3/min')} with dead corners",
        ),
        figures={"air": Figure(need[0] * 60, "m^3/min", need[1] * 60, need[2] * 60)},
        assumes=(ventilation.NOT_A_TARGET,),
    )


def _limits(g: Inputs) -> Outcome:
    rows = ventilation.limits_for(g.word("substance"))
    return Outcome(
        text=f"{g.word('substance')}: published limits, not a design target. {ventilation.RESPIRATORS}",
        lines=tuple(_limit(row) for row in rows),
        assumes=(ventilation.NOT_A_TARGET,),
    )


def _limit(row: ventilation.Limit) -> str:
    amount = "" if row.mg_m3 is None else f"{number(row.mg_m3)} mg/m³"
    what = ", ".join(part for part in (amount, row.note) if part)
    return f"{row.body}, {row.kind}: {what} ({row.status})"


CALCULATIONS: tuple[Calculation, ...] = (
    Calculation(
        name="dew-point",
        title="Will the mold sweat?",
        group="room",
        inputs=(ROOM, HUMIDITY, optional("mold_temperature", "coldest face", "degC"), MARGIN),
        formula=_dew_point,
        source=f"{_MAGNUS}; 3 K margin after a military painting handbook",
        assumes=("The hygrometer stood at the mold for ten minutes.",),
        example="68F 60 14C",
    ),
    Calculation(
        name="highest-humidity",
        title="How damp the air may be for this mold",
        group="room",
        inputs=(needed("mold_temperature", "coldest face", "degC"), ROOM, MARGIN),
        formula=_highest_humidity,
        source=f"{_MAGNUS}; 3 K margin after a military painting handbook",
        assumes=("The hygrometer stood at the mold for ten minutes.",),
        example="15C 20C",
    ),
    Calculation(
        name="water-film",
        title="What a film of water on the mold does",
        group="room",
        inputs=(
            needed("film", "thickness of the film: fog 10, running drops 50 and more", "um"),
            needed("mold_area", "wet area", "cm^2"),
            NCO,
        ),
        formula=_water_film,
        source="stoichiometry and the ideal gas law at 25 °C",
        assumes=("All of the film reacts.",),
        example="10 1000",
    ),
    Calculation(
        name="purge",
        title="How long a room takes to clear",
        group="room",
        inputs=(
            needed("air_changes", "air changes in an hour", "1/h"),
            optional("removed", "share to remove", "percent", 99.0),
            _MIXING,
        ),
        formula=_purge,
        source="public-health ventilation tables",
        assumes=(
            "The fan brings outdoor air.",
            "Being cleared is no proof of safety: never go by smell. The SDS and local rules decide.",
        ),
        example="6",
    ),
    Calculation(
        name="dilution",
        title="Fresh air to dilute a steady source",
        group="room",
        inputs=(
            needed("rate", "what the source gives off", "mg/min"),
            needed("concentration", "level to stay under", "mg/m^3"),
            _MIXING,
        ),
        formula=_dilution,
        source="steady dilution, K G / C",
        assumes=("A source of known strength, which a shop never has.",),
        example="1 0.05",
    ),
    Calculation(
        name="limits",
        title="Published exposure limits and respirators",
        group="room",
        inputs=(choice("substance", "isocyanate", ventilation.SUBSTANCES),),
        formula=_limits,
        source="US limits as printed by NIOSH and OSHA; the rest from memory, check before use",
        assumes=("Rules change: check the year and the country.",),
        example="MDI",
    ),
)
