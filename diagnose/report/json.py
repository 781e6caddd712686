"""The result for other programs: one JSON object, the same bytes on every machine.

Numbers carry ten significant digits; those of the network carry all that was inferred on, so that anybody can redo the
sums.
"""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from diagnose.assessment.records import Assessment, Change, Computed, OutOfBounds, Plan, Save, Suspect
from diagnose.knowledge import Knowledge
from diagnose.prose.text import lowered
from diagnose.reasoning.network import Network

if TYPE_CHECKING:
    from diagnose.assessment.consultation import Consultation
    from diagnose.assessment.pour_risk import PourRisk

VERSION = 1

#: what the numbers of a planned pour mean, and what not
RATES = (
    "Rates come from bad parts that somebody looked into: they say which fault is likelier than usual if the part "
    "turns out bad, not how likely a bad part is."
)


def ten(value: float) -> float | int:
    """Return *value* with ten significant digits."""
    rounded = float(f"{value:.10g}")
    if not math.isfinite(rounded):
        raise ValueError(f"{value} in a result")
    return rounded + 0.0  # never -0.0


def to_json(data: dict[str, Any], indent: bool = True) -> str:
    """Return *data* as JSON text in plain ASCII: the same bytes whatever the terminal's character set."""
    return json.dumps(data, indent=1 if indent else None, ensure_ascii=True, allow_nan=False)


def result(assessment: Assessment) -> dict[str, Any]:
    """Return the diagnosis of one case as the interface describes it."""
    return {
        "version": VERSION,
        "verdict": {"kind": assessment.verdict.kind, "causes": list(assessment.verdict.causes)},
        "dangers": [danger.id for danger in assessment.dangers],
        "out_of_bounds": [_outside(item) for item in assessment.out_of_bounds],
        "causes": [_cause(suspect) for suspect in assessment.causes],
        "unexplained": ten(assessment.unexplained),
        "next": [
            {"question": a.question, "gain_bits": ten(a.gain_bits), "minutes": ten(a.minutes)} for a in assessment.next
        ],
        "settled": assessment.settled,
        "change": _change(assessment.change),
        "save": _save(assessment.save),
        "plan": _plan(assessment.plan),
        "computed": [{"name": c.name, "value": ten(c.value), "unit": c.unit} for c in assessment.computed],
        "warnings": [warning.text for warning in assessment.warnings],
        "knowledge": assessment.knowledge,
        "learned": None if assessment.learned is None else {"cases": assessment.learned},
    }


def _cause(suspect: Suspect) -> dict[str, Any]:
    return {
        "id": suspect.id,
        "probability": ten(suspect.probability),
        "present": ten(suspect.present),
        "for": list(suspect.names_for),
        "against": list(suspect.names_against),
    }


def _outside(item: OutOfBounds) -> dict[str, Any]:
    low, high = (None if end is None else ten(end) for end in (item.low, item.high))
    value = {"name": item.name, "value": ten(item.value), "unit": item.unit, "low": low, "high": high}
    return {**value, "causes": list(item.causes)}


def _change(change: Change | None) -> dict[str, Any] | None:
    if change is None:
        return None
    remedies = [use.remedy for use in change.remedies]
    return {"remedies": remedies, "causes": list(change.causes), "chance": ten(change.chance)}


def _save(save: Save | None) -> dict[str, Any] | None:
    if save is None:
        return None
    remedies = [use.remedy for use in save.remedies]
    return {"verdict": save.verdict, "remedies": remedies, "chance": ten(save.chance), "minutes": ten(save.minutes)}


def _plan(plan: Plan | None) -> dict[str, Any] | None:
    if plan is None:
        return None
    remedies = [
        {"id": use.remedy, "when": when, "minutes": ten(minutes)}
        for use, when, minutes in zip(plan.remedies, plan.when, plan.minutes, strict=True)
    ]
    return {"remedies": remedies, "success": ten(plan.success)}


def batch(consultation: Consultation, count: int) -> dict[str, Any]:
    """Return the best *count* questions to send together, with the joint gain after each."""
    found = consultation.batch(count)
    pairs = zip(found.questions, found.gains, strict=True)
    return {"version": VERSION, "questions": [_question(consultation.knowledge, name, gain) for name, gain in pairs]}


def _question(knowledge: Knowledge, name: str, gain: float) -> dict[str, Any]:
    if name in knowledge.symptoms:
        symptom = knowledge.symptoms[name]
        title, find_out, minutes = f"Look: {lowered(symptom.title)}?", symptom.look, symptom.minutes
    else:
        entry = knowledge.question(name)
        title, find_out, minutes = entry.title, entry.find_out, entry.minutes
    return {
        "question": name,
        "title": title,
        "find_out": find_out,
        "minutes": ten(minutes),
        "joint_gain_bits": ten(gain),
    }


def pour_risk(found: PourRisk, computed: Sequence[Computed]) -> dict[str, Any]:
    """Return what a planned pour risks, and the changes in the order in which they pay."""
    return {
        "version": VERSION,
        "faults": [{"id": r.symptom, "chance": ten(r.chance), "usual": ten(r.usual)} for r in found.faults],
        "causes": [
            {
                "id": r.cause,
                "chance": ten(r.chance),
                "usual": ten(r.usual),
                "remedy": r.remedy or None,
                "cost": ten(r.cost),
            }
            for r in found.causes
        ],
        "change": {"remedy": found.changes[0].remedy, "saves": ten(found.changes[0].saves)} if found.changes else None,
        "changes": [
            {"remedy": c.remedy, "causes": list(c.causes), "lowers": ten(c.lowers), "saves": ten(c.saves)}
            for c in found.changes
        ],
        "out_of_bounds": [_outside(item) for item in found.outside],
        "wanted": list(found.wanted),
        "computed": [{"name": c.name, "value": ten(c.value), "unit": c.unit} for c in computed],
        "note": RATES,
    }


def arithmetic(network: Network) -> dict[str, Any]:
    """Return priors and findings exactly as they were inferred on."""
    net = network
    return {
        "priors": dict(zip(net.causes, net.priors, strict=True)),
        "findings": [
            {
                "id": f.id,
                "symptom": f.symptom,
                "seen": f.seen,
                "on": f.on,
                "off": f.off,
                "leak": f.leak,
                "links": dict(sorted(f.links.items())),
            }
            for f in net.findings
        ],
    }


def knowledge_ids(knowledge: Knowledge) -> dict[str, Any]:
    """Return the ids of all entries, sorted."""
    return {
        "version": VERSION,
        "symptoms": sorted(knowledge.symptoms),
        "facts": sorted(n for n, f in knowledge.facts.items() if not f.derived),
        "checks": sorted(knowledge.checks),
        "causes": sorted(knowledge.causes),
        "remedies": sorted(knowledge.remedies),
        "sources": sorted(knowledge.sources),
    }
