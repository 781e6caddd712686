"""Before the pour: what the planned facts put at risk, and what to change first, with how much each change lowers.

Rates come from bad parts that somebody looked into, so they say which fault is likelier than usual, not how likely a
bad part is.
"""

from __future__ import annotations

from collections.abc import Mapping

from msgspec import Struct

from diagnose.assessment.bounds import out_of_bounds
from diagnose.assessment.consultation import NEXT_POUR, Consultation
from diagnose.assessment.records import OutOfBounds
from diagnose.reasoning.network import NOT_LISTED, Model

#: a fault is named as a risk where it is this many times likelier than usual, and so is a cause
NOTABLE = 1.3
#: with fewer facts than this a plan says little, and what it would need to know is said instead
THIN = 3
#: what a pour is planned by, the most telling first
_WANTED = (
    "mold_temperature",
    "material_temperature",
    "cavity_volume",
    "free_rise_density",
    "charge_mass",
    "release_used",
    "vents_at_tips",
    "mold_dampness",
    "b_restirred",
)


class Risk(Struct, frozen=True):
    """A fault with its chance in a bad part of such a pour, and the chance in a bad part of any pour of this build."""

    symptom: str
    chance: float
    usual: float


class Raised(Struct, frozen=True):
    """A cause that the planned facts make likelier, and the
    cheapest remedy that lowers it (empty where none is known).
    """

    cause: str
    chance: float
    usual: float
    remedy: str
    cost: float


class PlannedChange(Struct, frozen=True):
    """A change before the pour: the raised causes that it lowers,
    and how much of the expected cost of a bad part it takes off.
    """

    remedy: str
    causes: tuple[str, ...]
    lowers: float
    saves: float


class PourRisk(Struct, frozen=True):
    """Faults and causes above the usual, most raised first; changes in the order in which they pay;
    what the plan doesn't tell.
    """

    faults: tuple[Risk, ...]
    causes: tuple[Raised, ...]
    changes: tuple[PlannedChange, ...]
    outside: tuple[OutOfBounds, ...]
    wanted: tuple[str, ...]


def pour_risk(consultation: Consultation) -> PourRisk:
    """Return what the planned facts of a case without symptoms put at risk."""
    model = consultation.situation.model
    network = consultation.situation.network
    now = dict(zip(network.causes, network.priors, strict=True))
    usual = model.priors({})
    names = [name for name in model.knowledge.symptoms if model.knowledge.applies(name, model.build, model.painted)]
    faults = [risk for risk in (_risk(model, name, now, usual) for name in names) if risk.chance > NOTABLE * risk.usual]
    faults.sort(key=lambda r: (-round(r.chance - r.usual, 10), r.symptom))
    causes = [_raised(consultation, n, now[n], usual[n]) for n in model.causes if now[n] > NOTABLE * usual[n]]
    causes.sort(key=lambda r: (-round(r.chance - r.usual, 10), r.cause))
    known = [name for name, answer in consultation.answers.items() if answer.known and name in model.bearing]
    wanted = (
        tuple(name for name in _WANTED if name not in consultation.answers) if len(known) < THIN or not causes else ()
    )
    return PourRisk(
        tuple(faults),
        tuple(causes),
        tuple(_changes(consultation, now, usual)),
        out_of_bounds(consultation),
        wanted,
    )


def _risk(model: Model, name: str, now: Mapping[str, float], usual: Mapping[str, float]) -> Risk:
    links = {cause: chance for cause, chance in model.symptom_links(name).items() if cause != NOT_LISTED}
    leak = model.knowledge.symptoms[name].background
    chances = []
    for priors in (now, usual):
        quiet = 1.0 - leak
        for cause, link in links.items():
            quiet *= 1.0 - priors[cause] * link
        chances.append(1.0 - quiet)
    return Risk(name, chances[0], chances[1])


def _raised(consultation: Consultation, name: str, now: float, usual: float) -> Raised:
    offers = [
        (round(consultation.costs.of(remedy) / remedy.fixes[name].p, 9), remedy.id)
        for remedy in consultation.knowledge.remedies.values()
        if name in remedy.fixes and remedy.when in NEXT_POUR and consultation.allows(remedy)
    ]
    cheapest = min(offers) if offers else (0.0, "")
    cost = consultation.costs.of(consultation.knowledge.remedies[cheapest[1]]) if cheapest[1] else 0.0
    return Raised(name, now, usual, cheapest[1], cost)


def _changes(consultation: Consultation, now: Mapping[str, float], usual: Mapping[str, float]) -> list[PlannedChange]:
    """Changes one after the other, each the one that takes most expected cost off what those before it leave."""
    left = {name: now[name] - usual[name] for name in usual if now[name] > NOTABLE * usual[name] and name != NOT_LISTED}
    changes: list[PlannedChange] = []
    while left:
        offers = [
            _offer(consultation, remedy, left)
            for remedy in consultation.knowledge.remedies
            if remedy not in {c.remedy for c in changes}
        ]
        best = min((o for o in offers if o is not None), key=lambda o: (-round(o.saves, 9), o.remedy), default=None)
        if best is None or best.saves <= 0.0:
            return changes
        changes.append(best)
        fixes = consultation.knowledge.remedies[best.remedy].fixes
        left = {name: over * (1.0 - fixes[name].p if name in fixes else 1.0) for name, over in left.items()}
    return changes


def _offer(consultation: Consultation, name: str, left: Mapping[str, float]) -> PlannedChange | None:
    remedy = consultation.knowledge.remedies[name]
    if remedy.when not in NEXT_POUR or not consultation.allows(remedy):
        return None
    lowered = {cause: left[cause] * link.p for cause, link in remedy.fixes.items() if cause in left}
    total = sum(lowered.values())
    saves = total * consultation.costs.bad_part - consultation.costs.of(remedy)
    causes = tuple(sorted(lowered, key=lambda cause: (-round(lowered[cause], 10), cause)))
    return PlannedChange(name, causes, total, saves)
