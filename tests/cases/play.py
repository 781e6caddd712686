"""Play the worked cases and print how well they are told: `python tests/cases/play.py [FOLDER ...]`.

Each case is played as its README says: the caller volunteers the opening, then the tool asks what it wants to know next and gets the case's
answer, or "unknown" where the case has none, until it would show its answer: by the questionnaire's own rule (`assessment/asking_order.py`),
and beside that until no question pays. Beside that, all answers at once, and how the figures grow with the number of
further answers in a random order. `test_worked_cases.py` asserts the same figures.
"""

from __future__ import annotations

import random
import sys
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml

from diagnose.assessment.asking_order import agenda, could_be_told
from diagnose.assessment.bounds import out_of_bounds
from diagnose.assessment.consultation import Consultation, ModelCache
from diagnose.assessment.verdict import verdict_of
from diagnose.casebook import Case, read_case
from diagnose.knowledge import load_knowledge
from diagnose.reasoning.answers import SEEN, Answer

MOST_ASKED = 60


@dataclass(frozen=True)
class Worked:
    """One worked case: the whole of it, what the caller volunteers, and what is expected."""

    name: str
    whole: Case
    opening: Case
    causes: tuple[str, ...]
    also: tuple[str, ...]

    @property
    def off_list(self) -> bool:
        """Whether nothing on the list is the cause."""
        return not self.causes

    def knows(self, question: str) -> bool:
        """Whether the caller has an answer to *question*."""
        return question in self.whole.values and self.whole.values[question].known


@dataclass(frozen=True)
class Verdict:
    """How a belief stands against what is expected: right first; in the first three (both, for two causes); off-list noticed.

    *chance* is what the first cause is given.
    """

    first: bool
    three: bool
    noticed: bool
    chance: float


def load(folders: Iterable[Path], models: ModelCache) -> list[Worked]:
    """Read the worked cases of *folders*."""
    found = []
    for path in sorted(p for folder in folders for p in folder.glob("*.yaml")):
        extra: dict[str, Any] = yaml.safe_load(path.read_text(encoding="utf-8"))
        whole = read_case(path, models.knowledge)
        volunteered = {
            k: a
            for k, a in whole.values.items()
            if k in extra["x_opening"]
            or (k in models.knowledge.symptoms and a.value == SEEN and "symptoms" in extra["x_opening"])
        }
        expect = extra["x_expect"]
        found.append(
            Worked(path.stem, whole, Case.of(volunteered), tuple(expect["causes"]), tuple(expect.get("also", ())))
        )
    return found


def judge(worked: Worked, consultation: Consultation) -> Verdict:
    """Return how the assessment stands against what is expected of the case."""
    beliefs = consultation.situation.beliefs
    ids = [cause.id for cause in beliefs.causes]
    good = {*worked.causes, *worked.also}
    three = (
        any(name in good for name in ids[:3])
        if len(worked.causes) == 1
        else all(name in ids[:3] for name in worked.causes)
    )
    noticed = verdict_of(consultation, out_of_bounds(consultation)).kind == "none_fits"
    return Verdict(ids[0] in good, three, noticed, beliefs.causes[0].probability)


def play(worked: Worked, models: ModelCache) -> tuple[Consultation, int, int]:
    """Ask as the questionnaire does, until it shows its answer; return the last consultation, how many prompts were put and how many of
    them answered. A list of faults to tick is one prompt, and so is the list beside the answer where the caller knows something on it."""
    case, asked, useful, looked_again, offered = worked.opening, 0, 0, False, False
    while True:
        consultation = Consultation(models, case)
        todo = agenda(consultation, asked, looked_again=looked_again, offered=offered)
        if todo.stop:
            known = [name for name in could_be_told(consultation, asked, todo.questions) if worked.knows(name)]
            if not known:
                return consultation, asked, useful
            case, offered = _told(worked, case, known), True
            asked, useful = asked + 1 + len(known), useful + 1 + len(known)
            continue
        looked_again = looked_again or todo.questions[0] in models.knowledge.symptoms
        case = _told(worked, case, todo.questions)
        asked += 1
        useful += any(case.values[name].known for name in todo.questions)


def play_out(worked: Worked, models: ModelCache) -> tuple[Consultation, int, int]:
    """Ask what the ranking has first, one by one, until no question pays: the longest way, which the questionnaire is measured against."""
    case, asked, useful = worked.opening, 0, 0
    while True:
        consultation = Consultation(models, case)
        if not consultation.ranking.proposals or asked >= MOST_ASKED:
            return consultation, asked, useful
        question = consultation.ranking.proposals[0].question
        case = _told(worked, case, [question])
        asked += 1
        useful += case.values[question].known


def _told(worked: Worked, case: Case, questions: Sequence[str]) -> Case:
    for question in questions:
        case = case.with_answer(question, worked.whole.values.get(question, Answer(None)))
    return case


def with_more(worked: Worked, count: int, seed: int) -> Case:
    """Return the opening with *count* further answers of the case, in a random order."""
    rest = [name for name in worked.whole.values if name not in worked.opening.values]
    random.Random(f"{worked.name} {seed}").shuffle(rest)
    return Case.of({**worked.opening.values, **{name: worked.whole.values[name] for name in rest[:count]}})


def _share(flags: Sequence[bool]) -> str:
    return f"{sum(flags)} of {len(flags)}"


def _row(label: str, cases: Sequence[Worked], verdicts: Sequence[Verdict]) -> str:
    pairs = list(zip(cases, verdicts, strict=True))
    first = [v.first for w, v in pairs if w.causes]
    one = [v.three for w, v in pairs if len(w.causes) == 1]
    two = [v.three for w, v in pairs if len(w.causes) == 2]
    off = [v.noticed for w, v in pairs if w.off_list]
    false = [v.noticed for w, v in pairs if w.causes]
    shares = (_share(first), _share(one), _share(two), _share(off), _share(false))
    return f"{label:<34}" + "".join(f"{share:>14}" for share in shares)


def table(folders: Sequence[Path]) -> list[str]:
    """Return the lines of the table for the cases of *folders*."""
    models = ModelCache(load_knowledge())
    cases = load(folders, models)
    lines = [
        f"{'answers used':<34}{'true first':>14}{'in three (1)':>14}{'both (2)':>14}{'off-list':>14}{'false alarm':>14}"
    ]
    for label, count in (("what the caller volunteers", 0), ("+ 4 in random order", 4), ("+ 8 in random order", 8)):
        runs = [
            (w, judge(w, Consultation(models, with_more(w, count, seed))))
            for w in cases
            for seed in range(1 if count == 0 else 5)
        ]
        lines.append(_row(label, [w for w, _ in runs], [v for _, v in runs]))
    lines.append(_row("all answers", cases, [judge(w, Consultation(models, w.whole)) for w in cases]))
    for label, way in (("asked until nothing pays", play_out), ("asked as the questionnaire does", play)):
        played = [way(w, models) for w in cases]
        lines.append(_row(label, cases, [judge(w, c) for w, (c, _, _) in zip(cases, played, strict=True)]))
        known = sum(sum(answer.known for answer in c.case.values.values()) for c, _, _ in played)
        asked, useful = sum(a for _, a, _ in played), sum(u for _, _, u in played)
        count = max(1, len(played))
        lines.append(
            f"  {asked / count:.1f} prompts a case, at most {max((a for _, a, _ in played), default=0)}, {useful / count:.1f} of them answered, "
            f"{known / count:.1f} useful answers with the opening"
        )
    lines.append("")
    for worked, (consultation, asked, useful) in zip(cases, played, strict=True):
        verdict = judge(worked, consultation)
        mark = (
            "noticed"
            if worked.off_list and verdict.noticed
            else "right"
            if verdict.first and worked.causes
            else "in three"
            if verdict.three and worked.causes
            else "MISSED"
        )
        top = ", ".join(f"{c.id} {c.probability:.2f}" for c in consultation.situation.beliefs.causes[:3])
        lines.append(
            f"{worked.name:<36}{mark:<10}{asked:>3} asked {useful:>2} answered   {top}, unexplained {consultation.situation.beliefs.unexplained:.2f}"
        )
    return lines


if __name__ == "__main__":
    given = [Path(name) for name in sys.argv[1:]] or [Path(__file__).parent]
    print("\n".join(table(given)))
