"""Which question next, and when to stop: gain against the chance of an answer, the minutes, and the caller's patience.

A question that only feeds a sum (grams of A) is worth what the derived fact behind it would tell, shared among the
answers that are still missing for it. The numbers of patience are our own, no source; `docs/reasoning.md` shows what they do.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from diagnose.reasoning.answers import Answers
from diagnose.reasoning.network import Model
from diagnose.reasoning.posterior import Beliefs, Engine
from diagnose.reasoning.questions import SHORTLIST, Asker, Prediction, open_questions

#: minutes of patience that any question costs, beside its own
PATIENCE = 2.0
#: a question that needs a new pour or a test casting waits behind what is in hand
LATER = 0.5
#: a symptom asked by name was on the list that the caller has already looked through
LISTED = 0.4
#: below this much expected gain in bits, per question and per minute, asking stops paying
LEAST_GAIN, LEAST_RATE = 0.05, 0.012


@dataclass(frozen=True, slots=True)
class Proposal:
    """A question worth asking: exact gain in bits, minutes of effort, and the worth that ranks it (bits per minute, expected)."""

    question: str
    gain_bits: float
    minutes: float
    worth: float
    prediction: Prediction | None


@dataclass(frozen=True, slots=True)
class _Candidate:
    question: str
    behind: str
    share: float


def propose(model: Model, answers: Answers, engine: Engine, beliefs: Beliefs, most: int = 8) -> tuple[list[Proposal], bool]:
    """Return the questions worth asking, best first, and whether the case is settled (then there are none)."""
    if not any(f.symptom and f.seen for f in engine.network.findings):
        return _first_questions(model, answers), False
    asker = Asker(model, answers, engine)
    candidates = _candidates(model, answers)
    rough = dict(asker.screen(sorted({c.behind for c in candidates})))
    ranked = sorted((c for c in candidates if c.behind in rough), key=lambda c: (-round(_worth(model, c, rough[c.behind]), 10), c.question))
    behind: list[str] = []
    for candidate in ranked:
        if candidate.behind not in behind:
            behind.append(candidate.behind)
        if len(behind) >= SHORTLIST:
            break
    exact = {p.question: p for p in asker.predict(behind)}
    proposals = [_proposal(model, c, exact[c.behind]) for c in ranked if c.behind in exact]
    proposals.sort(key=lambda p: (-round(p.worth, 10), p.question))
    worth_it = [p for p in proposals if p.gain_bits >= LEAST_GAIN and p.worth >= LEAST_RATE]
    if _settled(beliefs, worth_it):
        return [], True
    return worth_it[:most], False


def _first_questions(model: Model, answers: Answers) -> list[Proposal]:
    """Before any symptom is told there is nothing to explain: build and paint, then the symptoms themselves."""
    first = [name for name in ("build", "painted") if name in model.knowledge.facts and name not in answers]
    symptoms = [name for name in open_questions(model, answers) if name in model.knowledge.symptoms]
    by_use = sorted(symptoms, key=lambda name: (-_spread(model, name), name))
    return [Proposal(name, 0.0, _minutes(model, name), 0.0, None) for name in [*first, *by_use][:8]]


def _spread(model: Model, symptom: str) -> float:
    """How much of the base rates shows as this symptom."""
    return round(sum(model.base[name] * chance for name, chance in model.symptom_links(symptom).items()), 10)


def _candidates(model: Model, answers: Answers) -> list[_Candidate]:
    questions = open_questions(model, answers)
    found = [_Candidate(name, name, 1.0) for name in questions]
    for fact in model.knowledge.facts.values():
        if not fact.derived or fact.id in answers or fact.id not in model.bearing:
            continue
        missing = [name for name in fact.needs if name not in answers or not answers[name].known]
        if missing and all(name in questions for name in missing):
            found.extend(_Candidate(name, fact.id, 1.0 / len(missing)) for name in missing)
    return found


def _answerable(model: Model, name: str) -> float:
    entry = model.knowledge.facts.get(name) or model.knowledge.checks.get(name) or model.knowledge.symptoms[name]
    return entry.answerable  # type: ignore[no-any-return, union-attr]


def _minutes(model: Model, name: str) -> float:
    entry = model.knowledge.facts.get(name) or model.knowledge.checks.get(name) or model.knowledge.symptoms[name]
    return entry.minutes  # type: ignore[no-any-return, union-attr]


def _worth(model: Model, candidate: _Candidate, gain: float) -> float:
    check = model.knowledge.checks.get(candidate.question)
    later = LATER if check is not None and not check.in_hand else 1.0
    if candidate.question in model.knowledge.symptoms:
        later = LISTED
    return gain * candidate.share * _answerable(model, candidate.question) * later / (PATIENCE + _minutes(model, candidate.question))


def _proposal(model: Model, candidate: _Candidate, prediction: Prediction) -> Proposal:
    gain = prediction.gain_bits * candidate.share
    return Proposal(candidate.question, gain, _minutes(model, candidate.question), _worth(model, candidate, prediction.gain_bits), prediction)


def _settled(beliefs: Beliefs, worth_it: Sequence[Proposal]) -> bool:
    return not worth_it


__all__ = ["PATIENCE", "Proposal", "propose"]
