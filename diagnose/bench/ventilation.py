"""The air you breathe: purge time, dilution, and what the published limits are.

Isocyanates sensitize: a person once sensitized reacts to traces, for life, so a limit is no design
target and being under it is no proof of safety. The sums show two things that surprise
people: a room takes an hour to clear, and no fan a shop owns dilutes a steady source to the limit.
Official bodies differ on respirators; the strict advice comes first here. The SDS and local rules decide.
"""

from __future__ import annotations

import math

from msgspec import Struct

from diagnose.bench.quantities import fraction, inside, one_of

SUBSTANCES = ("MDI", "TDI")
"""Isocyanates whose limits are listed."""

NOT_A_TARGET = (
    "A limit is not a design target: keep exposure as low as can be done. "
    "Sensitized people react far below it. The SDS and local rules decide."
)

RESPIRATORS = (
    "Official bodies differ. Strict advice first: NIOSH specifies supplied air for substances without a "
    "warning smell, and isocyanates have none that can be relied on. OSHA has allowed air-purifying "
    "respirators below the IDLH, with precautions and a written change schedule for the cartridges; "
    "never go by smell. Take the strict one, fit-tested and under local rules; the SDS decides."
)


class Limit(Struct, frozen=True):
    """One published limit: mg/m3 (none where the body gives no number), what kind, who says so, how it is known."""

    substance: str
    body: str
    kind: str
    mg_m3: float | None
    note: str
    status: str


LIMITS: tuple[Limit, ...] = (
    Limit("MDI", "NIOSH", "8 to 10 h mean", 0.05, "0.005 ppm", "read in print"),
    Limit("MDI", "NIOSH", "10 min ceiling", 0.2, "0.020 ppm", "read in print"),
    Limit("MDI", "OSHA", "ceiling", 0.2, "0.02 ppm; a ceiling, not a mean", "read in print"),
    Limit("MDI", "NIOSH", "dangerous at once (IDLH)", 75.0, "", "read in print"),
    Limit("MDI", "ACGIH", "8 h mean", None, "0.005 ppm", "from memory, check"),
    Limit("MDI", "OSHA", "polymeric grade", None, "no limit of its own; treat it as MDI", "read in print"),
    Limit("MDI", "UK", "8 h mean and 15 min", None, "0.02 and 0.07 mg NCO/m³", "from memory, check"),
    Limit(
        "MDI",
        "EU 2024/869",
        "8 h mean and short",
        None,
        "6 and 12 µg NCO/m³, 10 and 20 until the end of 2028",
        "from memory, check",
    ),
    Limit("TDI", "NIOSH", "potential carcinogen", None, "lowest that can be done", "read in print"),
    Limit("TDI", "OSHA", "ceiling", 0.14, "0.02 ppm; a ceiling, not a mean", "read in print"),
    Limit("TDI", "NIOSH", "dangerous at once (IDLH)", 17.8, "2.5 ppm", "read in print, mg/m³ computed"),
    Limit("TDI", "ACGIH", "8 h mean and short", None, "0.001 and 0.005 ppm", "from memory, check"),
    Limit("TDI", "UK", "8 h mean and 15 min", None, "0.02 and 0.07 mg NCO/m³", "from memory, check"),
    Limit(
        "TDI",
        "EU 2024/869",
        "8 h mean and short",
        None,
        "6 and 12 µg NCO/m³, 10 and 20 until the end of 2028",
        "from memory, check",
    ),
)


def purge_time(changes_per_hour: float, removed: float = 0.99, mixing: float = 1.0) -> float:
    """Return seconds until a share *removed* of what is in the air is gone, once the source has stopped.

    -ln(1 - removed) / air changes, times a mixing factor of 1 (perfect) to 10 (dead corners). Range:
    0.1 to 100 changes an hour, 0.1 to 0.9999 removed. Source: public-health ventilation tables.
    """
    inside("air changes", changes_per_hour, 0.1, 100)
    fraction("share removed", removed, 0.1, 0.9999)
    inside("mixing factor", mixing, 1, 10)
    return -math.log1p(-removed) / changes_per_hour * 3600 * mixing


def dilution_flow(rate_kg_s: float, limit_kg_m3: float, mixing: float = 3.0) -> float:
    """Return m3/s of fresh air that holds a steady source at *limit_kg_m3*: K G / C.

    Range: source 0.001 to 10 000 mg/min, limit 0.0001 to 1000 mg/m3, mixing factor 1 to 10. Source: steady
    dilution, standard. The answer mostly shows that dilution alone is no control: catch it at the source.
    """
    inside("source", rate_kg_s, 0.001, 10_000, "mg/min")
    inside("concentration", limit_kg_m3, 0.0001, 1000, "mg/m^3")
    return inside("mixing factor", mixing, 1, 10) * rate_kg_s / limit_kg_m3


def limits_for(substance: str) -> tuple[Limit, ...]:
    """Return the published limits of "MDI" or "TDI". Source: as each limit says."""
    one_of("substance", substance, SUBSTANCES)
    return tuple(limit for limit in LIMITS if limit.substance == substance)
