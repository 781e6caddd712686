"""What the questionnaire asks next, and when it stops: on top of the ranking, with the caller's patience in mind.

The ranking says what a question is worth. Here it is decided what is put to a person: never a question whose reason can't be seen (no
likely answer moves a cause by much, or changes the plan); faults that were on the list already are asked again only where they would
change the advice, and all of them as one list to tick; what decides at one stroke comes early. It is settled for practical purposes
when no likely answer would put another cause first or change the plan, and after twenty questions the answer is offered whatever is open.
`tests/cases/play.py` plays by the same function; `docs/reasoning.md` has what it costs and saves.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from diagnose.assessment.advice import change_for
from diagnose.assessment.bounds import out_of_bounds
from diagnose.assessment.consultation import Consultation
from diagnose.assessment.verdict import verdict_of
from diagnose.reasoning.network import NOT_LISTED
from diagnose.reasoning.value_of_information import LIKELY, SURE, Proposal

#: a question is asked only if a likely answer moves a cause by so much, or changes the plan
SEEN_MOVE = 0.1
#: after so many questions the answer is offered whatever is open
MOST_ASKED = 20
#: how much earlier a question comes whose likely answers all make one cause sure
DECIDING = 2.0
#: how many faults are asked again together
MOST_LISTED = 8

Stop = Literal["", "nothing_seen", "settled", "practically", "long"]


@dataclass(frozen=True, slots=True)
class Agenda:
    """The next *questions* (one, or several faults as one list to tick), or why to *stop*: `nothing_seen` no fault is told; `settled` asking more
    does not pay; `practically` no likely answer would change the advice; `long` it was asked enough."""

    questions: tuple[str, ...]
    stop: Stop = ""


@dataclass(frozen=True, slots=True)
class Reach:
    """How far a question can move things: the largest *move* of a cause by a likely answer, whether one *flips* the first place, and the chance that
    an answer makes one cause sure."""

    move: float
    flips: bool
    decides: float


def agenda(consultation: Consultation, asked: int = 0, going_on: bool = False, looked_again: bool = False) -> Agenda:
    """Return what to ask next of a case in which *asked* questions were put so far.

    *going_on*: the caller wants to go on past what is settled for practical purposes. *looked_again*: the list of faults was put a second time.
    """
    if not consultation.symptoms_seen:
        return Agenda((), "nothing_seen")
    proposals = consultation.ranking.proposals
    if not proposals:
        return Agenda((), "settled")
    reaches = {p.question: reach_of(consultation, p) for p in proposals}
    if not going_on:
        if not any(p.changes_plan or reaches[p.question].flips for p in proposals):
            return Agenda((), "practically")
        if asked >= MOST_ASKED:
            return Agenda((), "long")
    return _next(consultation, proposals, reaches, going_on, looked_again)


def _next(
    consultation: Consultation,
    proposals: Sequence[Proposal],
    reaches: dict[str, Reach],
    going_on: bool,
    looked_again: bool,
) -> Agenda:
    symptoms = consultation.knowledge.symptoms
    shown = [p for p in proposals if going_on or p.changes_plan or reaches[p.question].move >= SEEN_MOVE]
    again = not looked_again
    shown = [
        p for p in shown if p.question not in symptoms or (again and (p.changes_plan or reaches[p.question].flips))
    ]
    ranked = sorted(shown, key=lambda p: (-round(_priority(p, reaches[p.question]), 10), p.question))
    if not ranked:
        return Agenda((), "settled" if going_on else "practically")
    if ranked[0].question in symptoms:
        return Agenda(tuple(p.question for p in ranked if p.question in symptoms)[:MOST_LISTED])
    return Agenda((ranked[0].question,))


def _priority(proposal: Proposal, reach: Reach) -> float:
    """Worth over cost, more where the answer is likely to make one cause sure."""
    return proposal.worth * (1.0 + (DECIDING - 1.0) * min(1.0, 3.0 * reach.decides))


def reach_of(consultation: Consultation, proposal: Proposal) -> Reach:
    """Return how far the likely answers to a question can move things."""
    if proposal.prediction is None:
        return Reach(0.0, False, 0.0)
    first = consultation.situation.beliefs.causes[0].id
    names = consultation.situation.inference.names
    before = [float(p) for p in proposal.prediction.before]
    move, flips, decides = 0.0, False, 0.0
    for outcome in proposal.prediction.outcomes:
        if outcome.chance < LIKELY:
            continue
        after = [(round(float(p), 10), i) for i, p in enumerate(outcome.probability) if names[i] != NOT_LISTED]
        top, place = max(after, key=lambda pair: (pair[0], -pair[1]))
        flips = flips or names[place] != first
        decides += outcome.chance if top >= SURE else 0.0
        move = max(move, *(abs(p - before[i]) for p, i in after))
    return Reach(round(move, 10), flips, decides)


def same_advice(one: Consultation, other: Consultation) -> bool:
    """Whether two states of a case have the same cause first and the same change for the next pour."""
    return _advice(one) == _advice(other)


def _advice(consultation: Consultation) -> tuple[str, tuple[str, ...]]:
    change = change_for(consultation, verdict_of(consultation), out_of_bounds(consultation))
    remedies = tuple(use.remedy for use in change.remedies) if change is not None else ()
    return consultation.situation.beliefs.causes[0].id, remedies
