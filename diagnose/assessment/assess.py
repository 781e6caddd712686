"""Assess a case: everything concluded once, in the order in which it is said.

Dangers come before the ranking and do not depend on it. `full` adds what only a reader of the whole report wants (how
firm the first place is, what could turn it, the weight of each answer); it costs some further sweeps and no further
network.
"""

from __future__ import annotations

from typing import Any

from diagnose.assessment.accounts import accounts_of
from diagnose.assessment.advice import change_for, plan_for
from diagnose.assessment.asking_order import proposals_in_order
from diagnose.assessment.bounds import out_of_bounds
from diagnose.assessment.consultation import Consultation
from diagnose.assessment.evidence import SPEAKS, speaking
from diagnose.assessment.numbers import sheet_for
from diagnose.assessment.open_questions import asked, next_checks, upsets_of
from diagnose.assessment.records import (
    VERSION,
    Assessment,
    Computed,
    DangerFound,
    Suspect,
    Verdict,
    Warning,
)
from diagnose.assessment.saving import save_for
from diagnose.assessment.verdict import verdict_of
from diagnose.reasoning.inference import CauseBelief

#: so many causes get their answers gathered with those that stand in for one another
GATHERED = 3
#: what is told about the part in a report that may be passed on; who made it and for whom stays out
PASSED_ON = ("id", "date", "part", "mold", "lot_a", "lot_b")


def assess(consultation: Consultation, full: bool = False) -> Assessment:
    """Return what the case comes to. Raises NoWayToBe where the answers can't all be true."""
    case, symptoms = consultation.case, consultation.symptoms_seen
    beliefs = consultation.situation.beliefs
    outside = out_of_bounds(consultation)
    verdict = verdict_of(consultation, outside)
    change = change_for(consultation, verdict, outside)
    proposals = proposals_in_order(consultation)
    known = [answer for answer in case.values.values() if answer.known]
    return Assessment(
        version=VERSION,
        knowledge=consultation.knowledge.content_key,
        learned=consultation.models.learned_cases,
        title=case.title,
        about=tuple((key, str(value)) for key, value in case.about.told().items() if key in PASSED_ON),
        build=case.build,
        painted=case.painted,
        symptoms=symptoms,
        told=len(known),
        unknown=len(case.answers) - len(known),
        verdict=verdict,
        dangers=tuple(DangerFound(danger, because) for danger, because in consultation.dangers.items()),
        out_of_bounds=outside,
        causes=tuple(_suspect(consultation, i, belief) for i, belief in enumerate(beliefs.causes)),
        unexplained=beliefs.unexplained if symptoms else 0.0,
        accounts=accounts_of(consultation),
        next=asked(proposals),
        checks=next_checks(consultation, proposals),
        settled=not proposals,
        change=change,
        save=save_for(consultation, verdict),
        plan=plan_for(consultation, change),
        sheet=sheet_for(consultation, change),
        computed=computed_of(consultation),
        warnings=warnings_of(consultation),
        **(_looked_into(consultation, verdict) if full and symptoms else {}),
        left_aside=consultation.situation.left_aside,
    )


def _looked_into(consultation: Consultation, verdict: Verdict) -> dict[str, Any]:
    """What only a reader of the whole report wants; its modules are loaded for him alone."""
    from diagnose.assessment.robustness import doubt_of, robustness_of
    from diagnose.assessment.weight_of_evidence import weights_of

    return {
        "upsets": upsets_of(consultation),
        "robustness": robustness_of(consultation, verdict),
        "doubt": doubt_of(consultation),
        "weights": weights_of(consultation),
    }


def computed_of(consultation: Consultation) -> tuple[Computed, ...]:
    """Return what follows from the raw answers."""
    return tuple(Computed(c.name, c.value, c.unit, c.error, c.text, c.inputs) for c in consultation.derivation.computed)


def _suspect(consultation: Consultation, place: int, belief: CauseBelief) -> Suspect:
    """The cause of *belief*; the evidence of the first few is gathered,
    the others' stands by names alone until it is shown.
    """
    gathered = place < GATHERED and bool(consultation.symptoms_seen)
    speaks_for, against = speaking(consultation, belief) if gathered else ((), ())
    names_for, names_against = belief.speaking(1, SPEAKS), belief.speaking(-1, SPEAKS)
    return Suspect(belief.id, belief.probability, belief.present, speaks_for, against, names_for, names_against)


def warnings_of(consultation: Consultation) -> tuple[Warning, ...]:
    """Return what a reader should know: answers that say nothing, assumptions of the sums, what was left aside."""
    found = [_warning("answer", text) for text in (*consultation.case.warnings, *consultation.derivation.warnings)]
    for name in consultation.situation.left_aside:
        text = f"{name}: more is seen than can be weighed together; this, which says least, was left aside"
        found.append(Warning("left_aside", name, text))
    if not consultation.symptoms_seen:
        text = "no symptom told as seen, so nothing is there to explain: all probabilities are zero"
        found.append(Warning("nothing_seen", "", text))
    return tuple(found)


def _warning(code: str, text: str) -> Warning:
    name, colon, _ = text.partition(": ")
    return Warning(code, name if colon and name.isidentifier() else "", text)
