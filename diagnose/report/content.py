"""What a report says, as records: ids, numbers and entries of the knowledge, no words yet.

`report_of` looks through one `Consultation` once; `sections.py` puts the records into words, and terminal and page show the
same words. A part that comes later (a plan, the sheet for the next pour) is one more record here and one more section there.
"""

from __future__ import annotations

from dataclasses import dataclass

from diagnose.casebook.consult import Consultation
from diagnose.knowledge import Cause
from diagnose.reasoning.posterior import CauseBelief
from diagnose.report.advice import Advice, advice_for
from diagnose.report.readings import SPEAKS, Reading, reading_of
from diagnose.report.turning import Hinge, NextCheck, Upset, hinges_of, next_checks, upsets_of

#: a cause under this chance no longer matters; from FULL on it is shown with its answers; at most so many of each
SHOWN, FULL, MOST_SHOWN, MOST_FULL = 0.05, 0.15, 6, 3
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
        upsets=upsets_of(consultation) if suspects else (), hinges=hinges_of(consultation) if suspects else (),
        checks=next_checks(consultation), settled=consultation.settled,
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
    found = [[reading_of(consultation, name, weights[name], cause) for name in belief.speaking(sign, SPEAKS)] for sign in (1, -1)]
    return Suspect(cause, belief.probability, tuple(found[0]), tuple(found[1]))
