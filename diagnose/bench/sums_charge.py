"""The sums about the charge: grams to fill a cavity, how tight they pack, and free rise from a cup.

The formulas live in `packing`; here they get inputs, words and a source.
"""

from __future__ import annotations

from diagnose.bench import packing
from diagnose.bench.calculation import BUILDS, Calculation, Figure, Input, Inputs, Outcome, needed, optional
from diagnose.bench.quantities import BenchError, number
from diagnose.bench.words import at_bench, say

VOLUME = needed("cavity_volume", "space left for the foam", "mL")
FREE_RISE = needed("free_rise_density", "free-rise density, off today's cup if you can", "kg/m^3")
BUILD = Input(name="build", title="bare foam or foam behind a skin coat", required=False, choices=BUILDS)
_PACKING = "packing factor = molded density / free-rise density, as patents on molded foam define it"


def _charge(g: Inputs) -> Outcome:
    volume, density, loss = g.si("cavity_volume"), g.si("free_rise_density"), g.raw("loss") / 100
    filled = (g.si("skin_mass"), g.si("armature_volume"), g.si("skin_density") if g.raw("skin_mass") else 1050.0)
    tight = g.span("packing")
    low, mid, high = (packing.charge(volume, density, f, loss, *filled) for f in (tight.low, tight.mid, tight.high))
    pour, mixed = at_bench(mid.pour_kg, "g"), at_bench(mid.mix_kg, "g")
    sums = (
        f"{at_bench(mid.foam_volume_m3, 'mL')} x {number(density / 1000, 4)} g/mL x {number(tight.mid, 4)}"
        f" / (1 - {number(loss, 3)}) = {mixed}"
    )
    ends = (low.mix_kg * 1e3, high.mix_kg * 1e3)
    return Outcome(
        text=f"pour {pour} of foam; mix {mixed}, for {g.say('loss')} stays behind",
        lines=(
            f"left for foam: {at_bench(mid.foam_volume_m3, 'mL')} of {g.say('cavity_volume')}",
            f"mix = volume x free-rise density x packing / (1 - loss): {sums}",
        ),
        figures={
            "mix_mass": Figure(mid.mix_kg * 1e3, "g", *ends, sums),
            "charge_mass": Figure(mid.pour_kg * 1e3, "g", low.pour_kg * 1e3, high.pour_kg * 1e3),
        },
    )


def _packing(g: Inputs) -> Outcome:
    if g.has("part_mass") == g.has("charge_mass"):
        raise BenchError("packing needs the grams poured or those of the part: expected one of the two")
    by_part = g.has("part_mass")
    mass = g.si("part_mass") - g.si("insert_mass") if by_part else g.si("charge_mass")
    room = (g.si("cavity_volume"), g.si("free_rise_density"))
    factor = (
        packing.packing_of_part(g.si("part_mass"), *room, g.si("insert_mass"))
        if by_part
        else packing.packing(mass, *room)
    )
    sums = f"{say(mass, 'g', 4)} / ({g.say('cavity_volume')} x {number(room[1] / 1000, 4)} g/mL) = {factor:.2f}"
    usual = g.span("usual")
    name = "packing_of_part" if by_part else "packing"
    against = f"packing {factor:.2f} of {number(usual.mid, 3)} usual for this build = {factor / usual.mid:.2f}"
    return Outcome(
        text=sums,
        lines=(
            f"molded density {say(packing.molded_density(mass, room[0]), 'kg/m^3')} over free rise "
            f"{g.say('free_rise_density')}",
            f"usual: {number(usual.low, 3)} to {number(usual.high, 3)}",
        ),
        figures={
            name: Figure(factor, "1"),
            f"{name}_against_usual": Figure(factor / usual.mid, "1", text=against),
        },
    )


def _overpack(g: Inputs) -> Outcome:
    percent = packing.overpack_percent(g.si("charge_mass"), g.si("least_charge"))
    return Outcome(
        text=f"{g.say('charge_mass')} where {g.say('least_charge')} just fills: overpack {number(percent, 4)} %",
        lines=("overpack = 100 x charge / least charge that fills; this is not the packing factor",),
        figures={"overpack": Figure(percent, "percent")},
    )


def _free_rise(g: Inputs) -> Outcome:
    density = packing.free_rise_density(g.si("foam_mass"), g.si("cup_volume"))
    pounds = number(density / packing.LB_PER_FT3, 3)
    return Outcome(
        text=f"{g.say('foam_mass')} in {g.say('cup_volume')} is {say(density, 'kg/m^3')} free rise ({pounds} lb/ft³)",
        lines=("grams in the cup, sliced flush, over its brim volume",),
        figures={"free_rise_density": Figure(density, "kg/m^3")},
    )


CALCULATIONS: tuple[Calculation, ...] = (
    Calculation(
        name="charge",
        title="Grams of foam to fill a cavity",
        group="mix",
        inputs=(
            needed("cavity_volume", "the empty cavity", "mL"),
            FREE_RISE,
            optional("packing", "packing factor wanted", "1", practice="packing"),
            BUILD,
            optional("loss", "share that stays in bucket and cups", "percent", practice="bucket_loss"),
            optional("skin_mass", "skin coat in the mold", "g", 0.0),
            optional("armature_volume", "armature in the mold", "mL", 0.0),
            optional("skin_density", "density of the skin, off its sheet", "kg/m^3", practice="skin_density"),
        ),
        formula=_charge,
        source=f"{_PACKING}; the usual factors and losses are common practice",
        assumes=("Free rise was measured in a cup of 100 g or more.",),
        example="1900 0.16g/mL --build bare_foam",
    ),
    Calculation(
        name="packing",
        title="How tight the part was packed",
        group="mix",
        inputs=(
            VOLUME,
            FREE_RISE,
            optional("charge_mass", "foam mix that went into the mold", "g"),
            optional("part_mass", "the trimmed part", "g"),
            optional("insert_mass", "armature and skin coat in the part", "g", 0.0),
            BUILD,
            optional("usual", "packing that this build usually takes", "1", practice="packing"),
        ),
        formula=_packing,
        source=_PACKING,
        assumes=("Flash and what ran out of a vent are not in the part.",),
        example="1900 0.16g/mL --charge-mass 420",
    ),
    Calculation(
        name="overpack",
        title="Overpack: over the least charge that fills",
        group="mix",
        inputs=(
            needed("charge_mass", "foam mix that went into the mold", "g"),
            needed("least_charge", "least charge that just fills this mold", "g"),
        ),
        formula=_overpack,
        source="as patents on molded foam define it",
        assumes=("Not the packing factor.",),
        example="500 440",
    ),
    Calculation(
        name="free-rise",
        title="Free-rise density from a cup",
        group="mix",
        inputs=(
            needed("foam_mass", "foam in the cup, sliced flush", "g"),
            needed("cup_volume", "brim volume of the cup", "mL"),
        ),
        formula=_free_rise,
        source="mass over volume, as cup-test and density standards do",
        assumes=("The cup held 100 g or more; a small one loses its heat and reads heavy.",),
        example="80 500",
    ),
)
