"""What is still open: the checks worth doing next, and the answers, not yet given, that would turn the order over."""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.assessment.consultation import Consultation
from diagnose.assessment.records import Asked, NextCheck, Upset
from diagnose.reasoning.network import NOT_LISTED
from diagnose.reasoning.prediction import Outcome, Prediction, Predictor, open_questions
from diagnose.reasoning.value_of_information import Proposal

#: an answer less likely than this is not worth a warning that it would turn the order over
LIKELY_ENOUGH = 0.02
#: an answer turns the order over where it puts another cause this far ahead; short of that only so deep a fall is told
CLEAR, A_FALL = 0.05, 0.15
MOST_CHECKS, MOST_UPSETS = 3, 2


def asked(proposals: Sequence[Proposal]) -> tuple[Asked, ...]:
    """Return the questions worth asking, best first."""
    return tuple(Asked(p.question, p.gain_bits, p.minutes) for p in proposals)


def next_checks(consultation: Consultation, proposals: Sequence[Proposal]) -> tuple[NextCheck, ...]:
    """Return the best few of them as things to do, those that feed one sum together."""
    groups: dict[str, list[str]] = {}
    for proposal in proposals:
        behind = proposal.prediction.question if proposal.prediction is not None else proposal.question
        groups.setdefault(behind, []).append(proposal.question)
    predictions = {p.prediction.question: p.prediction for p in proposals if p.prediction is not None}
    by_question = {p.question: p for p in proposals}
    checks = consultation.knowledge.checks
    found = [
        NextCheck(
            tuple(questions),
            by_question[questions[0]].gain_bits,
            sum(by_question[q].minutes for q in questions),
            behind if behind != questions[0] else "",
            _parted(consultation, predictions.get(behind)),
            all(q not in checks or checks[q].in_hand for q in questions),
            any(by_question[q].changes_plan for q in questions),
        )
        for behind, questions in groups.items()
    ]
    return tuple(found[:MOST_CHECKS])


def _parted(consultation: Consultation, prediction: Prediction | None) -> tuple[str, ...]:
    """The two causes whose chance an answer is expected to move most."""
    if prediction is None:
        return ()
    names = consultation.situation.inference.names
    moved = {name: 0.0 for name in names if name != NOT_LISTED}
    for outcome in prediction.outcomes:
        for name, after, before in zip(names, outcome.probability, prediction.before, strict=True):
            if name in moved:
                moved[name] += outcome.chance * abs(float(after) - float(before))
    order = sorted(moved, key=lambda name: (-round(moved[name], 10), name))
    return tuple(name for name in order[:2] if moved[name] > 0.01)


def upsets_of(consultation: Consultation) -> tuple[Upset, ...]:
    """Return the answers still open that would put another cause first, clearest first;
    where none would, the one that lowers it most.
    """
    first = consultation.situation.beliefs.causes[0]
    found = [
        _upset(consultation, p, o, first.id)
        for p in _predictions(consultation)
        for o in p.outcomes
        if o.chance >= LIKELY_ENOUGH
    ]
    flips = sorted(
        (u for u in found if u.lead >= CLEAR), key=lambda u: (-round(u.chance * u.lead, 10), u.question, str(u.value))
    )
    chosen: dict[str, Upset] = {}
    for upset in flips:
        chosen.setdefault(upset.question, upset)
    if chosen:
        return tuple(chosen.values())[:MOST_UPSETS]
    deep = [u for u in found if not u.ahead and u.left < first.probability - A_FALL]
    return tuple(sorted(deep, key=lambda u: (u.left, u.question))[:1])


def _predictions(consultation: Consultation) -> list[Prediction]:
    """Of the questions proposed, or of all that are open where the case is settled."""
    ranking = consultation.ranking
    if not ranking.settled:
        return list(
            {p.prediction.question: p.prediction for p in ranking.proposals if p.prediction is not None}.values()
        )
    situation = consultation.situation
    return Predictor(situation).predict(open_questions(situation.model, situation.answers))


def _upset(consultation: Consultation, prediction: Prediction, outcome: Outcome, first: str) -> Upset:
    pairs = zip(consultation.situation.inference.names, outcome.probability, strict=True)
    after = {name: round(float(p), 10) for name, p in pairs if name != NOT_LISTED}
    top = min(after, key=lambda name: (-after[name], name))
    ahead = top if top != first else ""
    return Upset(prediction.question, outcome.value, outcome.chance, ahead, after[first], after[top] - after[first])
