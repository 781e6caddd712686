"""The result for other programs: one JSON object, the same bytes on every machine.

Numbers carry ten significant digits; those of the network carry all that was inferred on, so that anybody can redo the sums.
"""

from __future__ import annotations

import json
import math
from typing import Any

from diagnose.assessment.situation import Situation
from diagnose.knowledge import Knowledge

VERSION = 1

#: what the numbers of a planned pour mean, and what not
RATES = "Rates come from bad parts that somebody looked into: they say which fault is likelier than usual if the part turns out bad, not how likely a bad part is."


def ten(value: float) -> float | int:
    """Return *value* with ten significant digits."""
    rounded = float(f"{value:.10g}")
    if not math.isfinite(rounded):
        raise ValueError(f"{value} in a result")
    return rounded + 0.0  # never -0.0


def to_json(data: dict[str, Any], indent: bool = True) -> str:
    """Return *data* as JSON text in plain ASCII: the same bytes whatever the terminal's character set."""
    return json.dumps(data, indent=1 if indent else None, ensure_ascii=True, allow_nan=False)


def result(situation: Situation, with_network: bool = False) -> dict[str, Any]:
    """Return the diagnosis of one case as the interface describes it."""
    beliefs = situation.beliefs
    found: dict[str, Any] = {
        "version": VERSION,
        "causes": [
            {
                "id": c.id,
                "probability": ten(c.probability),
                "present": ten(c.present),
                "for": list(c.speaking(1)),
                "against": list(c.speaking(-1)),
            }
            for c in beliefs.causes
        ],
        "unexplained": ten(beliefs.unexplained),
        "next": [
            {"question": p.question, "gain_bits": ten(p.gain_bits), "minutes": ten(p.minutes)}
            for p in situation.proposals
        ],
        "settled": situation.settled,
        "plan": _plan(situation),
        "computed": [{"name": c.name, "value": ten(c.value), "unit": c.unit} for c in situation.derivation.computed],
        "warnings": situation.warnings,
    }
    if with_network:
        found["network"] = network(situation)
    return found


def _plan(situation: Situation) -> dict[str, Any] | None:
    plan = situation.plan
    if plan is None:
        return None
    remedies = [situation.knowledge.remedies[name] for name in plan.remedies]
    return {
        "remedies": [{"id": r.id, "when": r.when, "minutes": ten(r.minutes + r.wait_minutes)} for r in remedies],
        "success": ten(plan.success),
    }


def batch(situation: Situation, count: int) -> dict[str, Any]:
    """Return the best *count* questions to send together, with the joint gain after each."""
    found = situation.batch(count)
    return {
        "version": VERSION,
        "questions": [
            _question(situation, name, gain) for name, gain in zip(found.questions, found.gains, strict=True)
        ],
    }


def _question(situation: Situation, name: str, gain: float) -> dict[str, Any]:
    knowledge = situation.knowledge
    if name in knowledge.symptoms:
        symptom = knowledge.symptoms[name]
        title, find_out, minutes = f"Is this so: {symptom.title}?", symptom.look, symptom.minutes
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


def pour_outlook(situation: Situation) -> dict[str, Any]:
    """Return what a planned pour risks."""
    from diagnose.assessment.decisions import outlook

    found = outlook(situation)
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
        "change": {"remedy": found.change, "saves": ten(found.lowers)} if found.change else None,
        "computed": [{"name": c.name, "value": ten(c.value), "unit": c.unit} for c in situation.derivation.computed],
        "note": RATES,
    }


def network(situation: Situation) -> dict[str, Any]:
    """Return priors and findings exactly as they were inferred on."""
    net = situation.network
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
