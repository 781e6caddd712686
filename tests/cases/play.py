"""Play the worked cases and print how well they are told: `python tests/cases/play.py [FOLDER ...]`.

Each case is played as its README says: the caller volunteers the opening, then the tool asks what it wants to know next and gets the case's
answer, or "unknown" where the case has none, until it is settled. Beside that, all answers at once, and how the figures grow with the number of
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

from diagnose.assessment.situation import ModelCache, Situation
from diagnose.casebook import Case, read_case
from diagnose.knowledge import load_knowledge
from diagnose.reasoning.answers import SEEN, Answer
from diagnose.reasoning.inference import Beliefs

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


@dataclass(frozen=True)
class Verdict:
    """How a belief stands against what is expected: right first; in the first three (both, for two causes); off-list noticed."""

    first: bool
    three: bool
    noticed: bool


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


def judge(worked: Worked, beliefs: Beliefs) -> Verdict:
    """Return how *beliefs* stand against what is expected of the case."""
    ids = [cause.id for cause in beliefs.causes]
    good = {*worked.causes, *worked.also}
    three = (
        any(name in good for name in ids[:3])
        if len(worked.causes) == 1
        else all(name in ids[:3] for name in worked.causes)
    )
    return Verdict(
        ids[0] in good, three, beliefs.unexplained > 0.3 or beliefs.unexplained > beliefs.causes[0].probability
    )


def play(worked: Worked, models: ModelCache) -> tuple[Situation, int, int]:
    """Ask until settled; return the last situation, how many questions were asked and how many answered."""
    case, asked, useful = worked.opening, 0, 0
    while True:
        situation = Situation(models, case)
        if not situation.proposals or asked >= MOST_ASKED:
            return situation, asked, useful
        question = situation.proposals[0].question
        answer = worked.whole.values.get(question, Answer(None))
        asked += 1
        useful += answer.known
        case = case.with_answer(question, answer)


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
    return f"{label:<34}{_share(first):>12}{_share(one):>14}{_share(two):>12}{_share(off):>12}"


def table(folders: Sequence[Path]) -> list[str]:
    """Return the lines of the table for the cases of *folders*."""
    models = ModelCache(load_knowledge())
    cases = load(folders, models)
    lines = [f"{'answers used':<34}{'true first':>12}{'in three (1)':>14}{'both (2)':>12}{'off-list':>12}"]
    for label, count in (("what the caller volunteers", 0), ("+ 4 in random order", 4), ("+ 8 in random order", 8)):
        runs = [
            (w, judge(w, Situation(models, with_more(w, count, seed)).beliefs))
            for w in cases
            for seed in range(1 if count == 0 else 5)
        ]
        lines.append(_row(label, [w for w, _ in runs], [v for _, v in runs]))
    lines.append(_row("all answers", cases, [judge(w, Situation(models, w.whole).beliefs) for w in cases]))
    played = [play(w, models) for w in cases]
    lines.append(
        _row("asked until settled", cases, [judge(w, c.beliefs) for w, (c, _, _) in zip(cases, played, strict=True)])
    )
    count = max(1, len(played))
    lines.append(
        f"asked until settled: {sum(a for _, a, _ in played) / count:.1f} questions a case, {sum(u for _, _, u in played) / count:.1f} of them answered, "
        f"{sum(len([x for x in c.case.values.values() if x.known]) for c, _, _ in played) / count:.1f} useful answers with the opening"
    )
    lines.append("")
    for worked, (situation, asked, useful) in zip(cases, played, strict=True):
        verdict = judge(worked, situation.beliefs)
        mark = (
            "noticed"
            if worked.off_list and verdict.noticed
            else "right"
            if verdict.first and worked.causes
            else "in three"
            if verdict.three and worked.causes
            else "MISSED"
        )
        top = ", ".join(f"{c.id} {c.probability:.2f}" for c in situation.beliefs.causes[:3])
        lines.append(
            f"{worked.name:<36}{mark:<10}{asked:>3} asked {useful:>2} answered   {top}, unexplained {situation.beliefs.unexplained:.2f}"
        )
    return lines


if __name__ == "__main__":
    given = [Path(name) for name in sys.argv[1:]] or [Path(__file__).parent]
    print("\n".join(table(given)))
