"""What the questionnaire asks next, and when it stops: on top of the ranking, with the caller's patience in mind.

The ranking says what a question is worth. Here it is decided what is put to a person: never a question whose reason
can't be seen (no likely answer moves a cause by much, or changes the plan); faults that were on the list already are
asked again only where they would change the advice, and all of them as one list to tick; what decides at one stroke
comes early. It is settled for practical purposes when no likely answer would put another cause first or change the
plan. While a fault is left that no cause accounts for, a few more questions go after that one: there a second cause
hides. After twenty questions the answer is offered whatever is open. With the answer goes a list of what would still
move a cause, to tick: most of it nobody knows, so from there on nothing is asked one by one. `tests/cases/play.py`
plays by the same functions; `docs/questionnaire.md` has what it costs and saves.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from msgspec import Struct

from diagnose.assessment.accounts import unaccounted
from diagnose.assessment.advice import change_for
from diagnose.assessment.bounds import out_of_bounds
from diagnose.assessment.consultation import Consultation
from diagnose.assessment.verdict import verdict_of
from diagnose.reasoning.network import CONTEXT, NOT_LISTED
from diagnose.reasoning.value_of_information import LIKELY, Proposal, questions_about

#: a question is asked only if a likely answer moves a cause by so much, or changes the plan
SEEN_MOVE = 0.02
#: so many questions are put without a murmur; after them what is saved on the plan must be worth this (money), and
#: a new first cause must be this likely to come and this far ahead
PATIENT, WORTH_A_QUESTION = 6, 1.0
CLEARLY, AHEAD = 2 * LIKELY, 0.05
#: after so many questions the answer is offered whatever is open; to a caller who could answer none, after so many
MOST_ASKED, IN_VAIN = 20, 8
#: while fewer were put, a fault that no cause accounts for is followed up, by questions that tell so many bits about
#: its causes in so many minutes
FOLLOWED_UP, TELLING, QUICK = 12, 0.03, 5.0
#: how much earlier a number comes that would change the advice
DECIDING = 3.0
#: answers that a caller volunteers beside what is wrong, on average
OPENING = 2
#: how many faults are asked again together, how many questions stand beside the answer, and a program is told of
MOST_LISTED = MOST_NEXT = 8

Stop = Literal["", "nothing_seen", "settled", "practically", "long", "reopened"]


class Agenda(Struct, frozen=True):
    """The next *questions* (one, or several faults as one list to tick), or why to *stop*: `nothing_seen` no fault is
    told; `settled` asking more does not pay; `practically` no likely answer would change the advice; `long` it was
    asked enough; `reopened` what was told beside the answer makes *questions* worth asking again."""

    questions: tuple[str, ...]
    stop: Stop = ""


class Reach(Struct, frozen=True):
    """How far a question can move things.

    The largest *move* of a cause by a likely answer, and whether one *flips* the first place, or does so *clearly*.
    """

    move: float
    flips: bool
    flips_clearly: bool = False


def agenda(
    consultation: Consultation,
    asked: int = 0,
    going_on: bool = False,
    looked_again: bool = False,
    offered: bool = False,
) -> Agenda:
    """Return what to ask next of a case in which *asked* questions were put so far.

    *going_on*: the caller wants to go on past what is settled for practical purposes. *looked_again*: the list of
    faults was put a second time. *offered*: so was the answer, and more was told: only faults are asked now, as a list.
    """
    found = _next(consultation, asked, going_on, looked_again)
    if offered and not going_on and not found.stop and found.questions[0] not in consultation.knowledge.symptoms:
        return Agenda(found.questions, "reopened")
    return found


def _next(consultation: Consultation, asked: int, going_on: bool, looked_again: bool) -> Agenda:
    if not consultation.symptoms_seen:
        return Agenda((), "nothing_seen")
    proposals = consultation.ranking.proposals
    if not proposals:
        return _ended(consultation, "settled", asked)
    symptoms = consultation.knowledge.symptoms
    reaches = {p.question: reach_of(consultation, p) for p in proposals}
    changing = [p for p in proposals if _changes(p, reaches[p.question], asked >= PATIENT)]
    if looked_again:
        changing = [p for p in changing if p.question not in symptoms]
    if not going_on and not changing:
        return _ended(consultation, "practically", asked)
    if not going_on and (asked >= MOST_ASKED or (asked >= IN_VAIN and _knows_nothing(consultation))):
        return Agenda((), "long")
    shown = [p for p in proposals if going_on or reaches[p.question].move >= SEEN_MOVE or p in changing]
    shown = [p for p in shown if p.question not in symptoms or p in changing]
    ranked = sorted(shown, key=lambda p: (-round(_priority(consultation, p, p in changing), 10), p.question))
    if not ranked:
        return _ended(consultation, "settled", asked)
    if ranked[0].question in symptoms:
        return Agenda(tuple(p.question for p in ranked if p.question in symptoms)[:MOST_LISTED])
    return Agenda((ranked[0].question,))


def _knows_nothing(consultation: Consultation) -> bool:
    """Whether nothing is known but the build, the paint and the faults."""
    faults = consultation.knowledge.symptoms
    return not any(
        a.known for name, a in consultation.case.values.items() if name not in faults and name not in CONTEXT
    )


def _ended(consultation: Consultation, stop: Stop, asked: int) -> Agenda:
    """The end of the questions, unless a fault is left that nothing accounts for and one is worth asking about that."""
    more = following_up(consultation) if asked < FOLLOWED_UP else []
    return Agenda((more[0].question,)) if more else Agenda((), stop)


def following_up(consultation: Consultation) -> list[Proposal]:
    """Return the questions that tell of the causes of a fault for which no cause accounts, best first;
    none without such a fault.

    Such a fault is where a second cause hides, and what the plan for the first would save hides it from the ranking.
    """
    model = consultation.situation.model
    causes = {name for symptom in unaccounted(consultation) for name in model.symptom_links(symptom)} - {NOT_LISTED}
    if not causes:
        return []
    found = questions_about(consultation.situation, consultation.costs, causes, TELLING)
    return [p for p in found if p.minutes <= QUICK]


def could_be_told(consultation: Consultation, asked: int = 0, first: Sequence[str] = ()) -> list[str]:
    """Return which questions stand beside the answer: *first*, then what else than a fault would move a cause visibly.

    None of it pays for being asked one by one. Whoever knows some of it ticks that, and the rest costs him nothing.
    After the most that is *asked* there is none.
    """
    symptoms = consultation.knowledge.symptoms
    found = [p for p in consultation.ranking.proposals if p.question not in symptoms]
    moving = [p.question for p in found if reach_of(consultation, p).move >= SEEN_MOVE]
    return list(dict.fromkeys([*first, *moving]))[: MOST_LISTED if asked < MOST_ASKED else 0]


def proposals_in_order(consultation: Consultation) -> list[Proposal]:
    """Return the questions worth putting to somebody, in the order of the questionnaire; none where it would stop.

    How many were put so far isn't known of a case file: it is taken as the answers beyond build, paint, faults seen and
    OPENING more.
    """
    seen = {"build", "painted", *consultation.symptoms_seen}
    told = sum(name not in seen for name in consultation.case.answers)
    if told >= MOST_ASKED:
        return []
    found = agenda(consultation, max(0, told - OPENING))
    if consultation.symptoms_seen and found.stop:
        return []
    proposals = {p.question: p for p in consultation.ranking.proposals}
    if any(name not in proposals for name in found.questions):
        proposals = {p.question: p for p in (*following_up(consultation), *consultation.ranking.proposals)}
    first = [name for name in found.questions if name in proposals]
    return [proposals[name] for name in dict.fromkeys([*first, *proposals])][:MOST_NEXT]


def _changes(proposal: Proposal, reach: Reach, impatient: bool) -> bool:
    """Whether a likely answer would change the advice.

    To the *impatient* a change must be worth something, and a new first cause be ahead.
    """
    if impatient:
        return reach.flips_clearly or (proposal.changes_plan and proposal.saving >= WORTH_A_QUESTION)
    return proposal.changes_plan or reach.flips


def _priority(consultation: Consultation, proposal: Proposal, changing: bool) -> float:
    """Worth over cost; more for a number that would change the advice.

    It decides at one stroke, and is looked up or measured, not remembered.
    """
    fact = consultation.knowledge.facts.get(proposal.question)
    number = fact is not None and fact.kind == "number"
    return proposal.worth * (DECIDING if number and changing else 1.0)


def reach_of(consultation: Consultation, proposal: Proposal) -> Reach:
    """Return how far the likely answers to a question can move things."""
    if proposal.prediction is None:
        return Reach(0.0, False)
    names = consultation.situation.inference.names
    first = names.index(consultation.situation.beliefs.causes[0].id)
    before = [float(p) for p in proposal.prediction.before]
    move, flips, clearly = 0.0, False, False
    for outcome in proposal.prediction.outcomes:
        if outcome.chance < LIKELY:
            continue
        after = {i: round(float(p), 10) for i, p in enumerate(outcome.probability) if names[i] != NOT_LISTED}
        top = min(after, key=lambda i: (-after[i], i))
        flips = flips or top != first
        clearly = clearly or (outcome.chance >= CLEARLY and after[top] - after[first] >= AHEAD)
        move = max(move, *(abs(p - before[i]) for i, p in after.items()))
    return Reach(round(move, 10), flips, clearly)


def same_advice(one: Consultation, other: Consultation) -> bool:
    """Whether two states of a case have the same cause first and the same change for the next pour."""
    return _advice(one) == _advice(other)


def _advice(consultation: Consultation) -> tuple[str, tuple[str, ...]]:
    change = change_for(consultation, verdict_of(consultation), out_of_bounds(consultation))
    remedies = tuple(use.remedy for use in change.remedies) if change is not None else ()
    return consultation.situation.beliefs.causes[0].id, remedies
