"""What a question is for, how to look, where the case stands, and what an answer moved.

Figures are rounded to tens and come with their words. Where the case stands takes two lines at most: who fits no longer
is left out, the least likely first.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from diagnose.knowledge import Knowledge
from diagnose.knowledge.model import Doubt
from diagnose.prose import question as wording
from diagnose.prose.question import clean, figure, how_sure, lowered, tens

if TYPE_CHECKING:
    from diagnose.assessment.consultation import Consultation
    from diagnose.reasoning.inference import Beliefs, CauseBelief
    from diagnose.reasoning.prediction import Outcome, Prediction

#: causes named in the line after an answer, and answers explained under "why"
_NAMED, _EXPLAINED = 3, 7
#: a fall of this many points in a hundred is told even where the cause is not among the first any more
_FALL = 20


def standing(knowledge: Knowledge, now: Beliefs, before: Beliefs | None, width: int) -> str:
    """Return where the case stands, with what moved, in what fits two lines of *width* (or as many as the first cause
    takes)."""
    was = {belief.id: belief.probability for belief in before.causes} if before is not None else {}
    named = [belief for belief in now.causes[:_NAMED] if tens(belief.probability) >= 10]
    fallen = [
        belief
        for belief in now.causes
        if belief not in named and tens(was.get(belief.id, 0.0)) - tens(belief.probability) >= _FALL
    ]
    parts = [_stands(knowledge, belief, was.get(belief.id), first=belief is named[0]) for belief in named]
    parts += [f"{_title(knowledge, belief.id)}: down to {figure(belief.probability)}" for belief in fallen[:1]]
    if not parts:
        return "So far nothing stands out."
    texts = ["So far: " + "; ".join(parts[:count]) + "." for count in range(len(parts), 0, -1)]
    return next((text for text in texts if len(wording.wrapped(text, width, "  ")) <= 2), texts[-1])


def _stands(knowledge: Knowledge, belief: CauseBelief, was: float | None, first: bool) -> str:
    moved = ""
    if was is not None and tens(was) != tens(belief.probability):
        moved = f", {'up' if belief.probability > was else 'down'} from {tens(was) or 'under 5'}"
    return f"{_title(knowledge, belief.id)}: {(how_sure if first else figure)(belief.probability)}{moved}"


def _title(knowledge: Knowledge, cause: str) -> str:
    return lowered(clean(knowledge.causes[cause].title))


def why(consultation: Consultation, question: str) -> list[str]:
    """Return why *question* is asked, and what each answer would do to the causes in front."""
    found = [clean(_entry(consultation.knowledge, question).help)]
    if not consultation.symptoms_seen:
        return [*found, "What its answers do can be said once a fault is told."]
    prediction = prediction_of(consultation, question)
    if prediction is None:
        return [*found, "By itself no answer to it moves a cause now."]
    if prediction.question != question:
        found.append(
            f"With the rest of the sum it gives the {consultation.knowledge.label(prediction.question)}. What that "
            f"would do:"
        )
    else:
        found.append("What an answer would do:")
    outcomes = sorted(prediction.outcomes, key=lambda outcome: -round(outcome.chance, 10))[:_EXPLAINED]
    return found + [f"- {_outcome_words(consultation, prediction, outcome)}" for outcome in outcomes]


def prediction_of(consultation: Consultation, question: str) -> Prediction | None:
    """Return what each answer would do; for a number that only feeds a sum, what the sum would."""
    made = consultation.predict(question)
    if made is not None:
        return made
    for proposal in consultation.ranking.proposals:
        if proposal.question == question and proposal.prediction is not None:
            return proposal.prediction
    sums = [
        fact.id
        for fact in consultation.knowledge.facts.values()
        if fact.derived and question in fact.needs and fact.id not in consultation.answers
    ]
    return next((made for made in map(consultation.predict, sums) if made is not None), None)


def _outcome_words(consultation: Consultation, prediction: Prediction, outcome: Outcome) -> str:
    knowledge = consultation.knowledge
    said = wording.value_words(knowledge, prediction.question, outcome.value)
    about = f"about {said}" if isinstance(outcome.value, float) else said
    moves = []
    for i, cause in enumerate(consultation.situation.inference.names):
        if cause in knowledge.causes and tens(float(outcome.probability[i])) != tens(float(prediction.before[i])):
            moves.append(
                (
                    abs(float(outcome.probability[i]) - float(prediction.before[i])),
                    cause,
                    float(outcome.probability[i]),
                    float(prediction.before[i]),
                )
            )
    moves.sort(key=lambda move: (-round(move[0], 10), move[1]))
    told = [
        f"{_title(knowledge, cause)} {'up' if after > before else 'down'} to {figure(after)}"
        for _, cause, after, before in moves[:2]
    ]
    return f"{about}: {'; '.join(told) if told else 'little changes'}"


def how_to(knowledge: Knowledge, question: str) -> list[str]:
    """Return how to find out, the minutes it takes, what to ask instead of a doubtful answer, and when it is no use."""
    entry = _entry(knowledge, question)
    found = [
        f"{clean(entry.look if question in knowledge.symptoms else entry.find_out)} (About "
        f"{wording.minutes(entry.minutes)}.)"
    ]
    if question in knowledge.symptoms:
        found += [
            f"Not to be mixed up with: {lowered(knowledge.symptoms[other].title)}. {clean(text)}"
            for other, text in entry.confused_with.items()
        ]
    elif entry.doubt is not None:
        found.append(counter_question(entry.doubt))
    if entry.pointless:
        found.append(f"Leave it {clean(entry.pointless)}.")
    if getattr(entry, "always_ask", ""):
        found.append(f"Never leave it out: {clean(entry.always_ask)}.")
    return found


def counter_question(doubt: Doubt) -> str:
    """Return what to ask instead where an answer is often given in good faith and wrong."""
    return f'Careful: who says "{clean(doubt.said).rstrip(".")}" is often mistaken. Ask instead: {clean(doubt.ask)}'


def describe(knowledge: Knowledge, symptom: str) -> list[str]:
    """Return what a symptom looks like and how to make sure."""
    entry = knowledge.symptoms[symptom]
    return [f"{clean(entry.title)}: {clean(entry.help)}", *how_to(knowledge, symptom)]


def _entry(knowledge: Knowledge, question: str) -> Any:
    return knowledge.facts.get(question) or knowledge.checks.get(question) or knowledge.symptoms[question]


def summary(knowledge: Knowledge, title: str, seen: list[str], count: int) -> str:
    """Return a case in a few words: what it is called, or the first faults seen, and how much is answered."""
    titles = [clean(title)] if title else [lowered(clean(knowledge.symptoms[name].title)) for name in seen[:2]]
    return f"{'; '.join(titles) or 'no fault told yet'}; {wording.counted(count, 'answer')}"
