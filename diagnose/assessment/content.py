"""What a report says, as records: ids, numbers and entries of the knowledge, no words yet.

`report_of` looks through one `Situation` once; `sections.py` puts the records into words, and terminal and page show the
same words. The records of a part of its own (advice, doubts, why) have a module each.
"""

from __future__ import annotations

from dataclasses import dataclass

from diagnose.assessment.advice import Advice, advice_for
from diagnose.assessment.evidence import SPEAKS, Reading, reading_of
from diagnose.assessment.open_questions import Hinge, NextCheck, Upset, hinges_of, next_checks, upsets_of
from diagnose.assessment.robustness import Disagreeing, Firm, disagreeing, firm_of
from diagnose.assessment.situation import Situation
from diagnose.assessment.weight_of_evidence import Why, why_of
from diagnose.casebook import About
from diagnose.casebook.sheet import Line, Sheet
from diagnose.knowledge import Cause
from diagnose.reasoning.inference import CauseBelief

#: a cause under this chance no longer matters; from FULL on it is shown with its answers; at most so many of each
SHOWN, FULL, MOST_SHOWN, MOST_FULL = 0.05, 0.15, 6, 3
#: with fewer answers that bear on a cause than this nothing is called a misfit (ours)
FEW = 4
#: advice is given for causes from here on; above NONE_FITS unexplained no cause is offered as the answer
LEADING, NONE_FITS = 0.25, 0.3
#: two causes both had a part where their joint chance is at least this
BOTH = 0.5
#: how many answers are shown for and against the first, second and third cause
MOST_FOR, MOST_AGAINST = (5, 3, 3), (3, 2, 2)


@dataclass(frozen=True, slots=True)
class Suspect:
    """A cause with its chance of having had a part, and the answers that speak for and against it, strongest first."""

    cause: Cause
    probability: float
    speaks_for: tuple[Reading, ...]
    against: tuple[Reading, ...]


@dataclass(frozen=True, slots=True)
class Report:
    """All that a report says of one case.

    *suspects*: the causes shown, likeliest first, *full* of them with their answers; advice is for the first *leading*. *left_out* is the
    number of other causes, none likelier than *most_left_out*; *together* the chance that the first two held together. *why* is there where
    it was asked for.
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
    firm: Firm | None
    doubt: Disagreeing | None
    why: Why | None
    checks: tuple[NextCheck, ...]
    settled: bool
    advice: Advice
    sheet: tuple[Line, ...]
    warnings: tuple[str, ...]
    none_fits: bool
    thin: bool
    both: bool


def report_of(situation: Situation, why: bool = False) -> Report:
    """Return the report of one case; *why* adds the weight of each answer. Raises TooManySeen as the beliefs do."""
    case = situation.case
    symptoms = tuple(situation.symptoms_seen)
    beliefs = situation.beliefs.causes if symptoms else ()
    suspects = tuple(_suspect(situation, b) for b in [b for b in beliefs if b.probability >= SHOWN][:MOST_SHOWN])
    leading = sum(s.probability >= LEADING for s in suspects[:MOST_FULL])
    together = _together(situation, suspects[0].cause, suspects[1].cause) if leading > 1 else 0.0
    unexplained = situation.beliefs.unexplained if symptoms else 0.0
    none_fits = bool(symptoms) and (
        unexplained > NONE_FITS or unexplained >= (suspects[0].probability if suspects else 0.0)
    )
    both = leading > 1 and together >= BOTH
    hinges = hinges_of(situation) if suspects else ()
    known = [name for name, answer in case.values.items() if answer.known]
    return Report(
        title=case.title,
        about=_about(case.about),
        build=case.build,
        painted=case.painted,
        symptoms=symptoms,
        told=len(known),
        unknown=len(case.answers) - len(known),
        suspects=suspects,
        full=_full(suspects),
        leading=leading,
        left_out=len(situation.beliefs.causes) - len(suspects),
        most_left_out=max((b.probability for b in beliefs[len(suspects) :]), default=0.0),
        together=together,
        unexplained=unexplained,
        upsets=upsets_of(situation) if suspects else (),
        hinges=hinges,
        firm=firm_of(situation, both, hinges) if suspects else None,
        doubt=disagreeing(situation) if suspects else None,
        why=why_of(situation) if suspects and why else None,
        checks=next_checks(situation),
        settled=situation.settled,
        advice=advice_for(
            situation, [(s.cause, s.probability) for s in suspects], leading, leading > 1 and not both, none_fits
        ),
        sheet=tuple(Sheet(case, situation.knowledge).lines()) if symptoms else (),
        warnings=tuple(situation.warnings),
        none_fits=none_fits,
        thin=none_fits and _too_little_told(situation, unexplained),
        both=both,
    )


def _bears(situation: Situation, name: str) -> bool:
    """Whether an answer to *name* says anything of a cause by itself."""
    knowledge = situation.knowledge
    return name in situation.model.bearing or name in knowledge.checks or name in knowledge.symptoms


def _too_little_told(situation: Situation, unexplained: float) -> bool:
    """Whether so few answers bear on a cause, and none of them made the unexplained likelier, that "nothing fits" would say too much."""
    keep = ("build", "painted", *situation.symptoms_seen)
    bearing = [
        name
        for name, answer in situation.answers.items()
        if answer.known and name not in keep and _bears(situation, name)
    ]
    if len(bearing) >= FEW:
        return False
    return unexplained <= Situation(situation.models, situation.case.only(keep)).beliefs.unexplained + 1e-9


def _together(situation: Situation, held: Cause, other: Cause) -> float:
    """Return the chance that *held* held while *other* had a part in a symptom seen: what goes when *held* can't hold, exactly."""
    engine = situation.engine
    rows = engine.rows(2)
    rows.hold[1, engine.index[held.id]] = 0.0
    swept, i = engine.sweep(rows), engine.index[other.id]
    part = swept.held[:, i] - swept.silent[:, i]
    return float(max(0.0, part[0] - part[1]) / swept.z[0])


def _full(suspects: tuple[Suspect, ...]) -> int:
    return max(sum(s.probability >= FULL for s in suspects[:MOST_FULL]), min(1, len(suspects)))


def _about(about: About) -> tuple[tuple[str, str], ...]:
    """What is told about the part; who made it and for whom stays out of a report that may be passed on."""
    told = {key: str(getattr(about, key)) for key in ("date", "part", "mold", "lot_a", "lot_b")}
    return tuple((key, text) for key, text in told.items() if text)


# -- causes and the answers behind them ----------------------------------------------------------------------------


def _suspect(situation: Situation, belief: CauseBelief) -> Suspect:
    cause = situation.knowledge.causes[belief.id]
    weights = dict(belief.weights)
    found = [
        [reading_of(situation, name, weights[name], cause) for name in belief.speaking(sign, SPEAKS)]
        for sign in (1, -1)
    ]
    return Suspect(cause, belief.probability, tuple(found[0]), tuple(found[1]))
