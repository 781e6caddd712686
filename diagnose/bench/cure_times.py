"""The clock: what cold and warm do to every time on the sheet.

Cream, gel, rise, demold and the window in which a skin still takes foam were all measured at the
sheet's temperature, mostly 25 degC (77 degF). Published activation energies of urethane foam (27 to
55 kJ/mol) and the bench rule "ten degrees halves it" do not agree, so today's time is a range
and the plan goes by the end that hurts: the early one for pouring, the late one for opening the mold.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from diagnose.bench.quantities import GAS_CONSTANT, ZERO_C, Range, fraction, inside

BLOW_ENERGY = 27_040.0
"""J/mol, isocyanate with water, published foam model (Baser and Khakhar's kinetics)."""

GEL_ENERGY = 35_140.0
"""J/mol, isocyanate with polyol, same model."""

MIDDLE_ENERGY = 45_000.0
"""J/mol taken as the middle: between that gel value and the doubling rule (about 50). Our choice."""

HIGH_ENERGY = 55_000.0
"""J/mol, upper end of what is usual for catalysed urethanes; handbooks, from memory."""

POUR_SHARE = 2 / 3
"""Share of the cream time by which the last drop should be in: common practice, no source."""


@dataclass(frozen=True, slots=True)
class Window:
    """A span of time that opens and closes, each within a range, in seconds.

    *safe_from* to *safe_to* holds whatever energy is true; it is empty if `safe_from > safe_to`.
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


def _temperatures(t_c: float, reference_c: float) -> None:
    inside("temperature", t_c, 0, 60, "degC")
    inside("reference temperature", reference_c, 0, 60, "degC")


def arrhenius_factor(t_c: float, reference_c: float, energy_j_mol: float) -> float:
    """Return how many times longer a reaction takes at *t_c* than at *reference_c* (both degC).

    exp(E/R (1/T - 1/T_ref)). Range: 0 to 60 degC, 10 to 100 kJ/mol. Source: Arrhenius.
    """
    _temperatures(t_c, reference_c)
    inside("activation energy", energy_j_mol, 10, 100, "kJ/mol")
    return math.exp(energy_j_mol / GAS_CONSTANT * (1 / (t_c + ZERO_C) - 1 / (reference_c + ZERO_C)))


def doubling_factor(t_c: float, reference_c: float) -> float:
    """Return the bench rule's factor: twice as long for each 10 K colder. Range: 0 to 60 degC.

    Source: rule of thumb for two-part resins; it overstates published foam values (1.4 to 1.6).
    """
    _temperatures(t_c, reference_c)
    return float(2 ** ((reference_c - t_c) / 10))


def time_factor(t_c: float, reference_c: float = 25.0) -> Range:
    """Return the factor by which a time is longer at *t_c* than at *reference_c* (degC).

    Low and high span the published activation energies 27.04 to 55 kJ/mol and the doubling rule; the
    middle is 45 kJ/mol. Range: 0 to 60 degC. Source: Arrhenius with the energies named in this module.
    """
    mid = arrhenius_factor(t_c, reference_c, MIDDLE_ENERGY)
    energies = (BLOW_ENERGY, GEL_ENERGY, HIGH_ENERGY)
    others = [arrhenius_factor(t_c, reference_c, energy) for energy in energies]
    return Range.around(mid, [*others, doubling_factor(t_c, reference_c)])


def time_at(time_s: float, t_c: float, reference_c: float = 25.0) -> Range:
    """Return a sheet's time in seconds as it is at *t_c*. Range: 1 s to 30 days, 0 to 60 degC.

    Source: `time_factor`.
    """
    return time_factor(t_c, reference_c).times(inside("time on the sheet", time_s, 1, 2_592_000, "s"))


def reference_time(elapsed_s: float, t_c: float, reference_c: float = 25.0) -> Range:
    """Return the age at the reference temperature that *elapsed_s* at *t_c* is worth, in seconds.

    Range: 0 s to 30 days, 0 to 60 degC. Source: `time_factor`, the other way round.
    """
    inside("time passed", elapsed_s, 0, 2_592_000, "s")
    return time_factor(t_c, reference_c).through(lambda factor: elapsed_s / factor)


def share_of_time(elapsed_s: float, sheet_s: float, t_c: float, reference_c: float = 25.0) -> Range:
    """Return how much of a sheet's time *elapsed_s* at *t_c* is, as a pure number: 1 is just due.

    For mixing or pouring against cream, demold against the demold time, the wait of a skin in gel times. Range:
    elapsed 0 s to 30 days, sheet 1 s to 30 days, 0 to 60 degC. Source: `time_factor`.
    """
    inside("time on the sheet", sheet_s, 1, 2_592_000, "s")
    return reference_time(elapsed_s, t_c, reference_c).times(1 / sheet_s)


def finish_pouring(cream_s: float, t_c: float, reference_c: float = 25.0, share: float = POUR_SHARE) -> Range:
    """Return seconds from first contact of A and B by which the last drop should be in: go by the low end.

    *share* of the cream time (0.3 to 1). Range: cream 1 to 3600 s, 0 to 60 degC. Source:
    `time_factor`; two thirds is common practice.
    """
    inside("cream time", cream_s, 1, 3600, "s")
    fraction("share of the cream time", share, 0.3, 1)
    return time_at(cream_s, t_c, reference_c).times(share)


def window_at(opens_s: float, closes_s: float, t_c: float, reference_c: float = 25.0) -> Window:
    """Return a window (skin to foam, recoat) as it is at *t_c*: both ends stretch or shrink alike.

    Range: opening 1 s or later, closing after it and within 30 days. Source: `time_factor`.
    """
    inside("opening of the window", opens_s, 1, 2_592_000, "s")
    inside("closing of the window", closes_s, opens_s, 2_592_000, "s")
    return Window(time_at(opens_s, t_c, reference_c), time_at(closes_s, t_c, reference_c))
