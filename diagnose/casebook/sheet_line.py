"""A line of the next-pour sheet: one number as plain data, what it is called, and which faults it bears on.

Lines are told in words when they are shown and never read back; a report picks those that bear on the case in hand.
"""

from __future__ import annotations

from msgspec import Struct

from diagnose.bench.calculation import Value
from diagnose.bench.quantities import label, number
from diagnose.bench.words import rounded

#: what each line is, as a report heads it
TITLES = {
    "mix_mass": "Mix in all",
    "one_pour": "In one pour at most, each cold before the next",
    "b_mass": "B side, weighed first",
    "a_mass": "A side, worked from what the scale shows for B",
    "volume_ratio": "A to 100 B by volume, never to be weighed",
    "pigment": "Pigment, stirred into B first",
    "liquids": "Both liquids, measured in the can",
    "mold_face": "Mold, measured on the inside face",
    "warm": "Time to warm the mold",
    "mixer": "Mix with",
    "cups": "Cups",
    "finish_pouring": "Last drop in by, after A meets B",
    "still_until": "Leave it still until",
    "vents": "Vents, one at each dead end",
    "mold_pressure": "Pressure in the closed mold",
    "load": "Load on the lid",
    "skin_mix": "Skin coat to mix",
    "coats": "Skin coats",
    "window": "Foam onto the skin, after the last coat",
    "demold": "Open the mold not before, from mixing",
    "paint": "Paint not before, after demold",
}

#: choice -> how it is told
CHOICES = {
    "stick": "a flat stick",
    "paddle": "a blade, kept under the surface",
    "one_cup": "one, scraped once at half time, the last of it left in",
    "two_cups_scraped": "two: scraped into the second and folded",
}

#: group of lines -> causes and families of faults that its numbers bear on; a group without the case's own is left out
BEARS_ON: dict[str, frozenset[str]] = {
    "grams": frozenset(
        (
            "poor_skin",
            "unfilled_ears",
            "tacky_surface",
            "charge_small",
            "charge_large",
            "a_rich",
            "b_rich",
            "ratio_misread",
            "batch_too_small",
            "mold_leaks",
            "opening_too_large",
            "pigment_wrong",
            "grade_unsuited",
            "undermixed",
            "mass_exotherm",
        )
    ),
    "warmth": frozenset(
        (
            "poor_skin",
            "mold_cold",
            "mold_hot",
            "material_cold",
            "material_hot",
            "mold_damp",
            "cold_cure",
            "mass_exotherm",
            "humid_air",
            "armature_no_bond",
            "flow_too_long",
        )
    ),
    "finish": frozenset(
        (
            "poured_late",
            "undermixed",
            "disturbed_rise",
            "detail_not_wetted",
            "layered_pour",
            "lid_late",
            "material_hot",
            "material_cold",
            "bad_pour_place",
            "flow_too_long",
            "pigment_late",
            "air_whipped_in",
        )
    ),
    "vents": frozenset(
        (
            "voids",
            "unfilled_ears",
            "trapped_air",
            "bad_orientation",
            "vents_shut_early",
        )
    ),
    "hold": frozenset(
        (
            "mold_leaks",
            "mold_not_held",
            "opening_too_large",
            "lid_late",
            "charge_large",
        )
    ),
    "skin": frozenset(
        (
            "skin_uneven",
            "skin_too_thin",
            "skin_not_dried",
            "skin_foamed_by_damp",
            "skin_off_ratio",
        )
    ),
    "window": frozenset(
        (
            "delaminated_skin",
            "skin_not_gelled",
            "skin_overcured",
            "skin_contaminated",
            "skin_wont_bond",
            "skin_not_dried",
        )
    ),
    "demold": frozenset(
        (
            "demolded_early",
            "rough_demold",
            "cold_cure",
            "cells_not_crushed",
            "mass_exotherm",
            "material_cold",
            "mold_cold",
            "b_aged",
        )
    ),
    "paint": frozenset(
        (
            "paint_peeling",
            "painted_too_soon",
            "paint_cold_or_damp",
            "paint_too_heavy",
            "solvent_attack",
            "weak_substrate",
            "wash_water_left",
            "residue_on_part",
            "paint_no_key",
            "paint_unsuitable",
        )
    ),
}


class SheetLine(Struct, frozen=True):
    """One number for the next pour, in *unit*; *value* is None where *missing* names the answers that it wants.

    *used* are the answers it was made from, *calculation* the sum of the bench (`diagnose sum`) that *inputs* went
    into, *sum* how it was got, *assumes* what it takes for granted. *goes_by* says which end hurts ("near", "up" or
    "down") and *weighed* that it is read off the scale: both tell how to round. *text_value* is a choice in place of
    a number.
    """

    id: str
    group: str
    value: float | None
    unit: str
    low: float | None = None
    high: float | None = None
    text_value: str = ""
    missing: tuple[str, ...] = ()
    used: tuple[str, ...] = ()
    sum: str = ""
    assumes: str = ""
    goes_by: str = "near"
    weighed: bool = False
    calculation: str = ""
    inputs: tuple[tuple[str, Value], ...] = ()

    @property
    def worked_out(self) -> bool:
        """Whether there is a number or a choice to tell."""
        return self.value is not None or bool(self.text_value)

    @property
    def title(self) -> str:
        """What the number is."""
        return TITLES[self.id]

    @property
    def relevant_to(self) -> frozenset[str]:
        """Causes and families of faults that the number bears on."""
        return BEARS_ON[self.group]

    def shown(self) -> tuple[float | None, float | None, float | None]:
        """Return value, low and high as finely as the bench reads them."""

        def at_bench(value: float | None, toward: str) -> float | None:
            return None if value is None else rounded(value, self.unit, toward, self.weighed)

        return at_bench(self.value, self.goes_by), at_bench(self.low, self.goes_by), at_bench(self.high, self.goes_by)

    def told(self) -> str:
        """Return the number in words with its unit, or its two ends where it is a span: "470 g", "22 to 25 °C"."""
        value, low, high = self.shown()
        if self.text_value or value is None:
            return CHOICES.get(self.text_value, "")
        span = self.id in _SPANS and low is not None and high is not None and low != high
        return (f"{number(low or 0.0)} to {number(high or 0.0)}" if span else number(value)) + label(self.unit)


#: lines of which both ends are told, not one number
_SPANS = frozenset({"liquids", "mold_face", "vents", "window", "warm", "mold_pressure"})
