"""What could still turn the answer over: open answers, answers that all hangs on, and the checks worth doing next.

An open answer is tried by its exact prediction, a shaky one by doing without it. All of it looks at a `Situation` and returns
records; nothing here is a word.
"""

from __future__ import annotations

from dataclasses import dataclass

from diagnose.assessment.evidence import SPEAKS, Reading, reading_of
from diagnose.assessment.situation import Situation
from diagnose.knowledge import Cause
from diagnose.reasoning.network import NOT_LISTED
from diagnose.reasoning.prediction import Outcome, Prediction, Predictor, open_questions

#: an answer less likely than this is not worth a warning that it would turn the order over
LIKELY_ENOUGH = 0.02
#: an answer turns the order over where it puts another cause this far ahead; short of that only a fall this deep is told
CLEAR, A_FALL = 0.05, 0.15
#: the ranking hangs on an answer without which the first cause is this much less likely, and second
HANGS = 0.1
MOST_CHECKS, MOST_UPSETS, MOST_HINGES = 3, 2, 2


@dataclass(frozen=True, slots=True)
class Upset:
    """An answer still open: it would put *ahead* on top (None: nobody), by *lead*, and leave the first cause at *left*."""

    question: str
    value: str | float
    chance: float
    ahead: Cause | None
    left: float
    lead: float


@dataclass(frozen=True, slots=True)
class Hinge:
    """An answer only told or remembered without which *ahead* would come first."""

    reading: Reading
    ahead: Cause


@dataclass(frozen=True, slots=True)
class NextCheck:
    """Questions worth asking next that serve one thing: *serves* is the sum they feed, or empty; *parts* the causes it moves most."""

    questions: tuple[str, ...]
    minutes: float
    serves: str
    parts: tuple[Cause, ...]
    in_hand: bool


def upsets_of(situation: Situation) -> tuple[Upset, ...]:
    """The answers, still open, that would put another cause first, clearest first; where none would, the one that lowers it most."""
    first = situation.beliefs.causes[0].id
    found = [
        _upset(situation, p, o, first) for p in _predictions(situation) for o in p.outcomes if o.chance >= LIKELY_ENOUGH
    ]
    flips = sorted(
        (u for u in found if u.lead >= CLEAR), key=lambda u: (-round(u.chance * u.lead, 10), u.question, str(u.value))
    )
    chosen: dict[str, Upset] = {}
    for upset in flips:
        chosen.setdefault(upset.question, upset)
    if chosen:
        return tuple(chosen.values())[:MOST_UPSETS]
    now = situation.beliefs.causes[0].probability
    found = [u for u in found if u.ahead is None]
    lower = sorted((u for u in found if u.left < now - A_FALL), key=lambda u: (round(u.left, 10), u.question))
    return tuple(lower[:1])


def _predictions(situation: Situation) -> list[Prediction]:
    """Of the questions proposed, or of all that are open where the case is settled."""
    if not situation.settled:
        return list(
            {p.prediction.question: p.prediction for p in situation.proposals if p.prediction is not None}.values()
        )
    asker = Predictor(situation.model, situation.answers, situation.engine)
    return asker.predict(open_questions(situation.model, situation.answers))


def _upset(situation: Situation, prediction: Prediction, outcome: Outcome, first: str) -> Upset:
    names = situation.engine.names
    after = {
        name: round(float(p), 10) for name, p in zip(names, outcome.probability, strict=True) if name != NOT_LISTED
    }
    top = min(after, key=lambda name: (-after[name], name))
    ahead = situation.knowledge.causes[top] if top != first else None
    return Upset(prediction.question, outcome.value, outcome.chance, ahead, after[first], after[top] - after[first])


def hinges_of(situation: Situation) -> tuple[Hinge, ...]:
    """The answers only told or remembered that hold the first cause on top: without one it falls, and clearly behind another."""
    first = situation.beliefs.causes[0]
    found = []
    for question, weight in _soft(situation):
        without = Situation(situation.models, situation.case.without(question))
        if not without.symptoms_seen:
            continue
        top = without.beliefs.causes[0]
        left = next((b.probability for b in without.beliefs.causes if b.id == first.id), 0.0)
        if top.probability - left >= CLEAR and first.probability - left >= HANGS:
            found.append(
                Hinge(
                    reading_of(situation, question, weight, situation.knowledge.causes[first.id]),
                    situation.knowledge.causes[top.id],
                )
            )
    return tuple(found[:MOST_HINGES])


def _soft(situation: Situation) -> list[tuple[str, float]]:
    """Answers told or remembered, with how far they, or the sums behind which they stand, part the first cause from the second."""
    top, second = ([*(dict(b.weights) for b in situation.beliefs.causes[:2]), {}])[:2]
    behind = {q: [q, *(c.name for c in situation.derivation.computed if q in c.inputs)] for q in situation.case.answers}
    found = []
    for question, answer in situation.case.values.items():
        if not answer.known or answer.source not in ("told", "remembered"):
            continue
        lead = sum(top.get(name, 0.0) - second.get(name, 0.0) for name in behind[question])
        if lead >= SPEAKS:
            found.append((question, lead))
    return sorted(found, key=lambda pair: (-round(pair[1], 10), pair[0]))


# -- what to ask next ----------------------------------------------------------------------------------------------


def next_checks(situation: Situation) -> tuple[NextCheck, ...]:
    """The questions proposed, best first, those that feed one sum together."""
    groups: dict[str, list[str]] = {}
    listed: set[str] = set()
    for proposal in situation.proposals:
        behind = proposal.prediction.question if proposal.prediction is not None else proposal.question
        if proposal.question not in listed:
            listed.add(proposal.question)
            groups.setdefault(behind, []).append(proposal.question)
    predictions = {p.prediction.question: p.prediction for p in situation.proposals if p.prediction is not None}
    spent = {p.question: p.minutes for p in situation.proposals}
    checks = situation.knowledge.checks
    found = [
        NextCheck(
            tuple(questions),
            sum(spent[q] for q in questions),
            behind if behind != questions[0] else "",
            _parted(situation, predictions.get(behind)),
            all(q not in checks or checks[q].in_hand for q in questions),
        )
        for behind, questions in groups.items()
    ]
    return tuple(found[:MOST_CHECKS])


def _parted(situation: Situation, prediction: Prediction | None) -> tuple[Cause, ...]:
    """The two causes whose chance an answer is expected to move most."""
    if prediction is None:
        return ()
    moved = {name: 0.0 for name in situation.engine.names if name != NOT_LISTED}
    for outcome in prediction.outcomes:
        for name, after, before in zip(situation.engine.names, outcome.probability, prediction.before, strict=True):
            if name in moved:
                moved[name] += outcome.chance * abs(float(after) - float(before))
    order = sorted(moved, key=lambda name: (-round(moved[name], 10), name))
    return tuple(situation.knowledge.causes[name] for name in order[:2] if moved[name] > 0.01)
