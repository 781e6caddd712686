"""The weight of each answer as points that add up, and the numbers for the next pour."""

from __future__ import annotations

import io
import math
from collections.abc import Callable
from typing import Any

import pytest

from diagnose.assessment.consultation import Consultation
from diagnose.assessment.weight_of_evidence import POINTS
from diagnose.report.document import Bars, Table, Words
from diagnose.report.terminal import print_report
from diagnose.report.text.sections import Wanted, words_of
from diagnose.report.text.shown import Shown

ShownOf = Callable[..., Shown]
Told = list[tuple[str, Consultation, Shown]]
CASE = "symptoms: [streaks]\ncup: good\nstirred: yes"
WHY = Wanted(why=True)


def _of(words: Words, key: str, kind: type) -> Any:
    return next(block for s in words.sections if s.key == key for block in s.blocks if isinstance(block, kind))


def _printed(shown: Shown, wanted: Wanted) -> str:
    out = io.StringIO()
    print_report(shown, out, wanted)
    return out.getvalue()


def test_points_add_up_to_the_chance_in_every_worked_case(worked: Told) -> None:
    """The points shown add up to the total exactly, and the total is the log odds that the cause held within half a point."""
    for name, _, shown in worked:
        weights = shown.assessment.weights
        assert weights is not None
        assert sum(points for _, points in weights.steps) + weights.few_points == weights.total, name
        held = shown.assessment.causes[0].present
        assert abs(weights.total - POINTS * math.log(held / (1.0 - held))) <= 0.5 + 1e-6, name


def test_answers_stand_in_the_order_given(shown: ShownOf) -> None:
    """Told the other way round, the answers stand the other way round, and the total is the same."""
    one, other = (shown(case).assessment.weights for case in (CASE, "symptoms: [streaks]\nstirred: yes\ncup: good"))
    assert one is not None
    assert other is not None
    assert [e.question for e, _ in one.steps if e.question] == ["streaks", "cup", "stirred"]
    assert [e.question for e, _ in other.steps if e.question] == ["streaks", "stirred", "cup"]
    assert one.total == other.total


def test_bars_on_the_terminal_with_their_reasons(shown: ShownOf) -> None:
    """A plus for each point for, a minus for each point against, the sum last, and below them why."""
    assert "WHY THE FIRST CAUSE" not in _printed(shown(CASE), Wanted())
    said = _printed(shown(CASE), WHY)
    assert (
        "    +0                  before any answer: how often it is behind a bad part\n"
        "   +15 +++++++++++++++  seen: streaks in the cut\n"
        "    -6 ------           cup leftover: set, dry and springy\n"
        "   -13 -------------    cup stirred: yes, to the floor\n"
        "    -4 ----             all together\n"
    ) in said
    assert "  Streaks in the cut: what was not mixed runs as lines\n" in said


def test_few_words_for_answers_that_say_little(shown: ShownOf) -> None:
    """Answers of less than half a point are counted in one line."""
    found = shown("symptoms: [soft_face]\na_mass: 85 g\nb_mass: 200 g\nratio_target: 50")
    bars = _of(words_of(found, WHY), "why", Bars)
    assert "3 answers that say next to nothing" in [bar.label for bar in bars.bars]


@pytest.mark.parametrize("columns", [40, 80])
def test_bars_keep_to_the_screen(shown: ShownOf, wide: Callable[[int], Any], columns: int) -> None:
    """On a narrow screen bars get shorter and stand below their words, and nothing runs over the edge."""
    screen = wide(columns)
    print_report(shown(CASE), screen, Wanted(why=True, sums=True))
    lines = screen.getvalue().splitlines()
    assert max(len(line) for line in lines) <= columns
    bar = next(line for line in lines if line.strip().startswith("-13"))
    assert bar.split()[1] == ("-" * 13 if columns == 80 else "-" * 9)


def test_the_numbers_stand_in_every_worked_report(worked: Told) -> None:
    """Each worked case has its numbers for the next pour, with the sums where they are asked for."""
    for name, _, shown in worked:
        brief, full = (words_of(shown, Wanted(full=True, sums=sums)) for sums in (False, True))
        assert len(_of(brief, "sheet", Table).head) == 2, name
        assert len(_of(full, "sheet", Table).head) == 4, name
        short = {row[0] for row in _of(brief, "sheet", Table).rows}
        assert short <= {row[0] for row in _of(full, "sheet", Table).rows}, name


def test_ounces_are_shown_with_four_digits(shown: ShownOf) -> None:
    """A mass typed in ounces is shown in grams as a scale would, not to the last digit of the conversion."""
    computed = shown("symptoms: [soft_face]\na_mass: 4.1 oz\nb_mass: 8 oz\nratio_target: 60").assessment.computed
    text = next(c.sum for c in computed if c.name == "ratio_error")
    assert text == "116.2 g to 226.8 g is 51.2 per 100, 14.6 % under 60"
