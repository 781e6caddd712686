"""What a report says, as records: ids, numbers and entries of the knowledge, no words yet.

`report_of` looks through one `Consultation` once; `sections.py` puts the records into words, and terminal and page show the
same words. A part that comes later (a plan, the sheet for the next pour) is one more record here and one more section there.
"""

from __future__ import annotations

from dataclasses import dataclass

from diagnose.casebook.consult import Consultation
from diagnose.casebook.derive import Computed
from diagnose.knowledge import Cause
from diagnose.reasoning.answers import SEEN, Answer
from diagnose.reasoning.network import NOT_LISTED
from diagnose.reasoning.posterior import CauseBelief
from diagnose.reasoning.questions import Asker, Outcome, Prediction, open_questions
from diagnose.report.advice import Advice, advice_for

#: a cause under this chance no longer matters; from FULL on it is shown with its answers; at most so many of each
SHOWN, FULL, MOST_SHOWN, MOST_FULL = 0.05, 0.15, 6, 3
#: advice is given for causes from here on; above NONE_FITS unexplained no cause is offered as the answer
LEADING, NONE_FITS = 0.25, 0.3
#: two causes both had a part where their joint chance is at least this
BOTH = 0.5
#: how many answers are shown for and against the first, second and third cause, and the least weight (nats) of one that speaks
MOST_FOR, MOST_AGAINST, SPEAKS = (5, 3, 3), (3, 2, 2), 0.2
#: an answer less likely than this is not worth a warning that it would turn the order over
LIKELY_ENOUGH = 0.02
#: an answer turns the order over where it puts another cause this far ahead; short of that only a fall this deep is told
CLEAR, A_FALL = 0.05, 0.15
#: the ranking hangs on an answer without which the first cause is this much less likely, and second
HANGS = 0.1
MOST_CHECKS, MOST_UPSETS, MOST_HINGES = 4, 2, 2


@dataclass(frozen=True, slots=True)
class Reading:
    """One answer as it bears on a cause: *weight* in nats, *computed* its sum where it was worked out, *sheet* the material
    that gave it. *indirect*: it bears on a rival, not on the cause itself."""

    question: str
    answer: Answer
    written: str
    weight: float
    computed: Computed | None
    sheet: str
    indirect: bool


@dataclass(frozen=True, slots=True)
class Suspect:
    """A cause with its chance of having had a part, and the answers that speak for and against it, strongest first."""

    cause: Cause
    probability: float
    speaks_for: tuple[Reading, ...]
    against: tuple[Reading, ...]


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


@dataclass(frozen=True, slots=True)
class Report:
    """All that a report says of one case.

    *suspects*: the causes shown, likeliest first, *full* of them with their answers; advice is for the first *leading*. *left_out* is the
    number of other causes, none likelier than *most_left_out*; *together* the chance that the first two held together.
    """

    title: str
    about: tuple[tuple[str, str], ...]
    build: str | None
    painted: bool | None
    symptoms: tuple[str, ...]
    told: int
    unknown: int
    suspects: tuple[Suspect, ...]
    full: int
    leading: int
    left_out: int
    most_left_out: float
    together: float
    unexplained: float
    upsets: tuple[Upset, ...]
    hinges: tuple[Hinge, ...]
    checks: tuple[NextCheck, ...]
    settled: bool
    advice: Advice
    warnings: tuple[str, ...]

    @property
    def none_fits(self) -> bool:
        """Whether no cause is to be offered as the answer."""
        first = self.suspects[0].probability if self.suspects else 0.0
        return bool(self.symptoms) and (self.unexplained > NONE_FITS or self.unexplained >= first)

    @property
    def both(self) -> bool:
        """Whether the first two causes had a part together, more likely than not."""
        return self.leading > 1 and self.together >= BOTH


def report_of(consultation: Consultation) -> Report:
    """Return the report of one case. Raises TooManySeen as the beliefs do."""
    case = consultation.case
    beliefs = consultation.beliefs.causes if consultation.symptoms_seen else ()
    shown = [b for b in beliefs if b.probability >= SHOWN][:MOST_SHOWN]
    suspects = tuple(_suspect(consultation, belief) for belief in shown)
    leading = sum(s.probability >= LEADING for s in suspects[:MOST_FULL])
    known = [name for name, answer in case.answers.items() if answer.known]
    return Report(
        title=case.title, about=_about(case.about), build=case.build, painted=case.painted, symptoms=tuple(consultation.symptoms_seen),
        told=len(known), unknown=len(case.answers) - len(known), suspects=suspects, full=_full(suspects), leading=leading,
        left_out=len(consultation.beliefs.causes) - len(suspects), most_left_out=max((b.probability for b in beliefs[len(suspects):]), default=0.0),
        together=_together(consultation, suspects[0].cause, suspects[1].cause) if leading > 1 else 0.0,
        unexplained=consultation.beliefs.unexplained if consultation.symptoms_seen else 0.0,
        upsets=_upsets(consultation) if suspects else (), hinges=_hinges(consultation) if suspects else (),
        checks=_next_checks(consultation), settled=consultation.settled,
        advice=advice_for(consultation.knowledge, [(s.cause, s.probability) for s in suspects], leading),
        warnings=tuple(consultation.warnings))


def _together(consultation: Consultation, held: Cause, other: Cause) -> float:
    """Return the chance that *held* held while *other* had a part in a symptom seen: what goes when *held* can't hold, exactly."""
    engine = consultation.engine
    rows = engine.rows(2)
    rows.hold[1, engine.index[held.id]] = 0.0
    swept, i = engine.sweep(rows), engine.index[other.id]
    part = swept.held[:, i] - swept.silent[:, i]
    return float(max(0.0, part[0] - part[1]) / swept.z[0])


def _full(suspects: tuple[Suspect, ...]) -> int:
    return max(sum(s.probability >= FULL for s in suspects[:MOST_FULL]), min(1, len(suspects)))


def _about(about: dict[str, object]) -> tuple[tuple[str, str], ...]:
    """What is told about the part; who made it and for whom stays out of a report that may be passed on."""
    return tuple((key, str(about[key])) for key in ("date", "part", "mold", "lot_a", "lot_b") if about.get(key))


# -- causes and the answers behind them ----------------------------------------------------------------------------


def _suspect(consultation: Consultation, belief: CauseBelief) -> Suspect:
    cause = consultation.knowledge.causes[belief.id]
    weights = dict(belief.weights)
    found = [[_reading(consultation, name, weights[name], cause) for name in belief.speaking(sign, SPEAKS)] for sign in (1, -1)]
    return Suspect(cause, belief.probability, tuple(found[0]), tuple(found[1]))


def _reading(consultation: Consultation, question: str, weight: float, cause: Cause) -> Reading:
    derivation = consultation.derivation
    computed = next((c for c in derivation.computed if c.name == question), None)
    material = consultation.answers.get("material")
    sheet = str(material.value) if question in derivation.filled and material is not None else ""
    answer = consultation.answers[question]
    written = consultation.case.written.get(question, "")
    return Reading(question, answer, written, weight, computed, sheet, _indirect(consultation, question, answer, weight, cause))


def _indirect(consultation: Consultation, question: str, answer: Answer, weight: float, cause: Cause) -> bool:
    """Whether the answer moves *cause* only by moving its rivals: it explains what is seen better, or takes a rival away."""
    if question in consultation.knowledge.facts:
        return question not in consultation.network.speaking[cause.id].by_fact
    if question in consultation.knowledge.checks:
        return question not in cause.checks
    return question not in cause.symptoms or (weight < 0.0 and answer.value == SEEN)


# -- what would turn it over ---------------------------------------------------------------------------------------


def _upsets(consultation: Consultation) -> tuple[Upset, ...]:
    """The answers, still open, that would put another cause first, clearest first; where none would, the one that lowers it most."""
    first = consultation.beliefs.causes[0].id
    found = [_upset(consultation, p, o, first) for p in _predictions(consultation) for o in p.outcomes if o.chance >= LIKELY_ENOUGH]
    flips = sorted((u for u in found if u.lead >= CLEAR), key=lambda u: (-round(u.chance * u.lead, 10), u.question, str(u.value)))
    chosen: dict[str, Upset] = {}
    for upset in flips:
        chosen.setdefault(upset.question, upset)
    if chosen:
        return tuple(chosen.values())[:MOST_UPSETS]
    now = consultation.beliefs.causes[0].probability
    found = [u for u in found if u.ahead is None]
    lower = sorted((u for u in found if u.left < now - A_FALL), key=lambda u: (round(u.left, 10), u.question))
    return tuple(lower[:1])


def _predictions(consultation: Consultation) -> list[Prediction]:
    """Of the questions proposed, or of all that are open where the case is settled."""
    if not consultation.settled:
        return list({p.prediction.question: p.prediction for p in consultation.proposals if p.prediction is not None}.values())
    asker = Asker(consultation.model, consultation.answers, consultation.engine)
    return asker.predict(open_questions(consultation.model, consultation.answers))


def _upset(consultation: Consultation, prediction: Prediction, outcome: Outcome, first: str) -> Upset:
    names = consultation.engine.names
    after = {name: round(float(p), 10) for name, p in zip(names, outcome.probability, strict=True) if name != NOT_LISTED}
    top = min(after, key=lambda name: (-after[name], name))
    ahead = consultation.knowledge.causes[top] if top != first else None
    return Upset(prediction.question, outcome.value, outcome.chance, ahead, after[first], after[top] - after[first])


def _hinges(consultation: Consultation) -> tuple[Hinge, ...]:
    """The answers only told or remembered that hold the first cause on top: without one it falls, and clearly behind another."""
    first = consultation.beliefs.causes[0]
    found = []
    for question, weight in _soft(consultation):
        without = Consultation(consultation.models, consultation.case.without(question))
        if not without.symptoms_seen:
            continue
        top = without.beliefs.causes[0]
        left = next((b.probability for b in without.beliefs.causes if b.id == first.id), 0.0)
        if top.probability - left >= CLEAR and first.probability - left >= HANGS:
            found.append(Hinge(_reading(consultation, question, weight, consultation.knowledge.causes[first.id]), consultation.knowledge.causes[top.id]))
    return tuple(found[:MOST_HINGES])


def _soft(consultation: Consultation) -> list[tuple[str, float]]:
    """Answers told or remembered, with how far they, or the sums behind which they stand, part the first cause from the second."""
    top, second = (dict(b.weights) for b in consultation.beliefs.causes[:2])
    behind = {q: [q, *(c.name for c in consultation.derivation.computed if q in c.inputs)] for q in consultation.case.answers}
    found = []
    for question, answer in consultation.case.answers.items():
        if not answer.known or answer.source not in ("told", "remembered"):
            continue
        lead = sum(top.get(name, 0.0) - second.get(name, 0.0) for name in behind[question])
        if lead >= SPEAKS:
            found.append((question, lead))
    return sorted(found, key=lambda pair: (-round(pair[1], 10), pair[0]))


# -- what to ask next ----------------------------------------------------------------------------------------------


def _next_checks(consultation: Consultation) -> tuple[NextCheck, ...]:
    """The questions proposed, best first, those that feed one sum together."""
    groups: dict[str, list[str]] = {}
    listed: set[str] = set()
    for proposal in consultation.proposals:
        behind = proposal.prediction.question if proposal.prediction is not None else proposal.question
        if proposal.question not in listed:
            listed.add(proposal.question)
            groups.setdefault(behind, []).append(proposal.question)
    predictions = {p.prediction.question: p.prediction for p in consultation.proposals if p.prediction is not None}
    spent = {p.question: p.minutes for p in consultation.proposals}
    checks = consultation.knowledge.checks
    found = [NextCheck(tuple(questions), sum(spent[q] for q in questions), behind if behind != questions[0] else "",
                       _parted(consultation, predictions.get(behind)), all(q not in checks or checks[q].in_hand for q in questions))
             for behind, questions in groups.items()]
    return tuple(found[:MOST_CHECKS])


def _parted(consultation: Consultation, prediction: Prediction | None) -> tuple[Cause, ...]:
    """The two causes whose chance an answer is expected to move most."""
    if prediction is None:
        return ()
    moved = {name: 0.0 for name in consultation.engine.names if name != NOT_LISTED}
    for outcome in prediction.outcomes:
        for name, after, before in zip(consultation.engine.names, outcome.probability, prediction.before, strict=True):
            if name in moved:
                moved[name] += outcome.chance * abs(float(after) - float(before))
    order = sorted(moved, key=lambda name: (-round(moved[name], 10), name))
    return tuple(consultation.knowledge.causes[name] for name in order[:2] if moved[name] > 0.01)
