"""A finding: one statement about an effect, and how two views of one thing are counted once.

A symptom and a result of a check may be the same thing seen twice (a brown heart told, and a brown heart on the cut).
Then only the better reading counts, of equals the symptom's. A symptom told as seen stays one, for it is the fault that
is to be explained: a surer check says how far it is there at all, from (1, 0) to (0, 1) as a measured number crosses
the edge.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from diagnose.knowledge import Knowledge
from diagnose.reasoning.answers import Answers


def digits12(value: float) -> float:
    """Round to 12 significant digits."""
    return float(f"{value:.12g}")


class Finding(Struct, frozen=True):
    """One statement about an effect, with its weights, leak and links (cause -> probability).

    *question* is the answer that it comes from; *symptom* tells a fault of the part from evidence only; *seen* whether
    it speaks for the effect. Weights (1, 0) are seen for certain, (0, 1) absent for certain.
    """

    id: str
    question: str
    symptom: bool
    seen: bool
    on: float
    off: float
    leak: float
    links: dict[str, float]


#: check -> result -> how far the reading says that this is what is there, 0 to 1
Shares = Mapping[str, Mapping[str, float]]


def count_once(
    knowledge: Knowledge, findings: Sequence[Finding], answers: Answers, shares: Shares
) -> tuple[list[Finding], frozenset[str]]:
    """Return *findings* with two views of one thing counted once, and the answers that met in such a pair."""
    by_id = {finding.id: finding for finding in findings}
    merged: set[str] = set()
    for finding in findings:
        if not finding.symptom:
            continue
        for check, results in _same(knowledge, finding.id).items():
            twins = [by_id[f"{check}:{result}"] for result in results if f"{check}:{result}" in by_id]
            if not twins or finding.id not in by_id:
                continue
            merged.update((finding.id, check))
            there = min(1.0, sum(shares.get(check, {}).get(result, 0.0) for result in results))
            _settle(knowledge, by_id, by_id[finding.id], twins, answers, there)
    return list(by_id.values()), frozenset(merged)


def _same(knowledge: Knowledge, symptom: str) -> dict[str, list[str]]:
    """Results that are the same thing as *symptom*, by check."""
    found: dict[str, list[str]] = {}
    for check, result in knowledge.symptoms[symptom].same_as:
        found.setdefault(check, []).append(result)
    return found


def _settle(
    knowledge: Knowledge,
    by_id: dict[str, Finding],
    symptom: Finding,
    twins: Sequence[Finding],
    answers: Answers,
    there: float,
) -> None:
    """Keep one of the two views in *by_id*; *there* is how far the check says that the thing is there."""
    check = twins[0].question
    if sureness(knowledge, answers, check) > sureness(knowledge, answers, symptom.question):
        if not symptom.seen:
            del by_id[symptom.id]
            return
        slip = knowledge.words["misreport"][answers[check].source]
        by_id[symptom.id] = replace(
            symptom, seen=there > 0.0, on=digits12(there), off=digits12(1.0 - there + slip * there)
        )
    for twin in twins:
        by_id.pop(twin.id, None)


def sureness(knowledge: Knowledge, answers: Answers, question: str) -> tuple[float, float]:
    """How far an answer is believed, to be compared: its trust, then how seldom such a thing is said and not there."""
    source = answers[question].source
    return knowledge.words["trust"][source], -knowledge.words["misreport"][source]


__all__ = ["Finding", "count_once", "digits12", "sureness"]
