"""The clock: what cold and warm do to every time on the sheet.

Cream, gel, rise, demold and the window in which a skin still takes foam were all measured at the sheet's temperature.
One rule carries them to today's: so many times longer for each 10 K colder. The published activation energies of
urethane foam (27 to 55 kJ/mol) and the bench rule "ten degrees doubles it" do not agree, so the factor is a range and
the plan goes by the end that hurts: the early one for pouring, the late one for opening the mold.
"""

from __future__ import annotations

from msgspec import Struct

from diagnose.bench.quantities import Range, inside


class Window(Struct, frozen=True):
    """A span of time that opens and closes, each within a range, in seconds.

    *safe_from* to *safe_to* holds whatever factor is true; it is empty if `safe_from > safe_to`.
    """

    opens: Range
    closes: Range

    @property
    def safe_from(self) -> float:
        """Latest time at which it may open."""
        return self.opens.high

    @property
    def safe_to(self) -> float:
        """Earliest time at which it may close."""
        return self.closes.low


def time_factor(t_c: float, reference_c: float, per_10_k: Range) -> Range:
    """Return the factor by which a time is longer at *t_c* than at *reference_c* (degC).

    *per_10_k* is how many times longer for 10 K colder, 1 to 4. Range: 0 to 60 degC. Source: one factor per 10 K, the
    rule of the bench; over a few tens of kelvin it is Arrhenius to a few percent.
    """
    inside("temperature", t_c, 0, 60, "degC")
    inside("reference temperature", reference_c, 0, 60, "degC")
    for end in (per_10_k.low, per_10_k.high):
        inside("factor for each 10 K", end, 1, 4)
    return per_10_k.through(lambda factor: float(factor ** ((reference_c - t_c) / 10)))


def time_at(time_s: float, factor: Range) -> Range:
    """Return a sheet's time in seconds at the temperature of *factor*. Range: 1 s to 30 days. Source: `time_factor`."""
    return factor.times(inside("time on the sheet", time_s, 1, 2_592_000, "s"))


def thick_demold(time_s: float, section_m: float, from_m: float, extra_per_m: float) -> float:
    """Return a sheet's demold time in seconds with what a thick section wants on top: *extra_per_m* s/m of section
    over *from_m*.

    Range: section 1 to 1000 mm. Source: common practice, five minutes for each inch; no physics in it.
    """
    over = max(0.0, inside("thickest section", section_m, 1, 1000, "mm") - from_m)
    return inside("time on the sheet", time_s, 1, 2_592_000, "s") + over * extra_per_m


def window_at(opens: Range, closes: Range, factor: Range) -> Window:
    """Return a window (skin to foam, recoat) at the temperature of *factor*: both ends stretch or shrink alike.

    *opens* and *closes* in seconds at the sheet's temperature. Range: opening 1 s or later, closing after it and
    within 30 days. Source: `time_factor`.
    """
    inside("opening of the window", opens.low, 1, 2_592_000, "s")
    inside("closing of the window", closes.mid, opens.mid, 2_592_000, "s")
    return Window(_product(opens, factor), _product(closes, factor))


def _product(time: Range, factor: Range) -> Range:
    return Range(time.low * factor.low, time.mid * factor.mid, time.high * factor.high)
