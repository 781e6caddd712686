"""The weight of each answer as points that add up, and the numbers for the next pour."""

from __future__ import annotations

import io
import math
from collections.abc import Callable
from pathlib import Path

import pytest

from diagnose.assessment.content import report_of
from diagnose.assessment.situation import ModelCache, Situation
from diagnose.assessment.weight_of_evidence import POINTS, why_of
from diagnose.casebook import read_case
from diagnose.casebook.sheet import Sheet
from diagnose.knowledge import Knowledge
from diagnose.report.document import Bars, Table, Words
from diagnose.report.terminal import print_report
from diagnose.report.text.sections import words_of

Consult = Callable[..., Situation]
Worded = Callable[..., Words]
CASE = "symptoms: [streaks]\ncup: good\nstirred: yes"


def _blocks(words: Words, key: str) -> tuple[object, ...]:
    return next((section.blocks for section in words.sections if section.key == key), ())


def _told(words: Words, kind: type) -> list[object]:
    return [block for section in words.sections for block in section.blocks if isinstance(block, kind)]


def printed(situation: Situation, why: bool = False, sums: bool = False) -> str:
    """What `print_report` puts out."""
    out = io.StringIO()
    print_report(situation, out, why=why, sums=sums)
    return out.getvalue()


# -- points --------------------------------------------------------------------------------------------------------


def test_points_add_up_to_the_chance_in_every_worked_case(shipped: Knowledge, cases: list[Path]) -> None:
    """The points shown add up to the total exactly, and the total is the log odds of the chance within half a point."""
    models = ModelCache(shipped)
    for path in cases:
        why = why_of(Situation(models, read_case(path, shipped)))
        assert sum(step.points for step in why.steps) + why.few_points == why.total, path.stem
        odds = why.held / (1.0 - why.held)
        assert abs(why.total - POINTS * math.log(odds)) <= 0.5 + 1e-6, path.stem


def test_answers_stand_in_the_order_given(consult: Consult) -> None:
    """Told the other way round, the answers stand the other way round, and the total is the same."""
    one, other = (why_of(consult(case)) for case in (CASE, "symptoms: [streaks]\nstirred: yes\ncup: good"))
    assert [s.reading.question for s in one.steps if s.reading] == ["streaks", "cup", "stirred"]
    assert [s.reading.question for s in other.steps if s.reading] == ["streaks", "stirred", "cup"]
    assert one.total == other.total


def test_why_is_told_only_when_asked_for(consult: Consult) -> None:
    """Without --why there are no bars; with it there are."""
    situation = consult(CASE)
    assert report_of(situation).why is None
    assert "WHY THE FIRST CAUSE" not in printed(situation)
    assert "WHY THE FIRST CAUSE" in printed(situation, why=True)


def test_bars_on_the_terminal(consult: Consult) -> None:
    """A plus for each point for, a minus for each point against, the sum last."""
    said = printed(consult(CASE), why=True)
    assert (
        "  Points in the order the answers were given: 3 double the odds, 10 make them tenfold, 0 in all is even.\n"
        "\n"
        "    +0                  before any answer: how often it is behind a bad part\n"
        "   +12 ++++++++++++     seen: streaks in the cut\n"
        "    -5 -----            cup leftover: set, dry and springy\n"
        "   -13 -------------    cup stirred: yes, to the floor\n"
        "    -6 ------           all together: that it held is possible, about 20 %\n"
    ) in said


def test_few_words_for_answers_that_say_little(consult: Consult) -> None:
    """Answers of less than half a point are counted in one line."""
    situation = consult("symptoms: [soft_face]\na_mass: 85 g\nb_mass: 200 g\nratio_target: 50")
    why = why_of(situation)
    assert (why.few, why.few_points) == (3, 0)
    bars = _told(words_of(report_of(situation, why=True), situation.knowledge), Bars)[0]
    assert isinstance(bars, Bars)
    assert "3 answers that say next to nothing" in [bar.label for bar in bars.bars]


# -- the sheet -----------------------------------------------------------------------------------------------------


def _case(shipped: Knowledge, cases: list[Path], stem: str) -> Situation:
    return Situation(ModelCache(shipped), read_case(next(p for p in cases if p.stem == stem), shipped))


def test_the_sheet_is_short_by_default(shipped: Knowledge, cases: list[Path]) -> None:
    """A number a line with its range, and one line for what is missing, with what it wants."""
    situation = _case(shipped, cases, "biscuit-skin-in-a-warm-room")
    words = words_of(report_of(situation), shipped)
    table, wanting, more = _blocks(words, "sheet")
    assert isinstance(table, Table)
    assert table.rows[:3] == (
        ("Mix in all", "469 g (420 to 517 g)"),
        ("B side, weighed first", "313 g (280 to 345 g)"),
        ("A side, worked from what the scale shows for B", "156 g (0.5 x grams of B) (140 to 172 g)"),
    )
    assert wanting == "Not worked out for want of an answer: open the mold at (demold time on the sheet)."
    assert more == "The sums behind these: diagnose read CASE --sheet. The weight of each answer: --why."


def test_with_the_sums_each_number_says_how_it_was_got(shipped: Knowledge, cases: list[Path]) -> None:
    """--sheet adds to each number its sum and what it takes for granted, and an example where an answer is wanting."""
    said = printed(_case(shipped, cases, "biscuit-skin-in-a-warm-room"), sums=True)
    assert (
        "  Mix in all: 469 g (420 to 517 g)\n    sum: 1900 mL x 0.16 g/mL x 1.45 / (1 - 0.06) = 469 g\n"
        "    takes for granted: packing 1.3 to 1.6, 6 % left in a scraped bucket; the cavity is the space left for the foam\n"
    ) in said
    assert (
        "  Open the mold at: needs: demold time on the sheet\n    example: 45 min at 25 °C is 59 to 77 min in a room of 18 °C\n"
        in said
    )


def test_every_number_of_the_sheet_is_in_the_report(shipped: Knowledge, cases: list[Path]) -> None:
    """In every worked case each line of the sheet stands in the report, short and with its sum."""
    models = ModelCache(shipped)
    for path in cases:
        situation = Situation(models, read_case(path, shipped))
        lines = Sheet(situation.case, shipped).lines()
        report = report_of(situation)
        full = _blocks(words_of(report, shipped, sums=True), "sheet")[0]
        assert isinstance(full, Table)
        assert [row[0] for row in full.rows] == [line.title for line in lines], path.stem
        assert [(row[2], row[3]) for row in full.rows] == [(line.sum, line.assumes) for line in lines], path.stem
        short = _blocks(words_of(report, shipped), "sheet")[0]
        assert isinstance(short, Table)
        assert [row[0] for row in short.rows] == [line.title for line in lines if line.value is not None], path.stem


def test_without_a_symptom_there_is_no_sheet(worded: Worded) -> None:
    """Before a fault is told there are no numbers for the next pour."""
    assert _blocks(worded("symptoms_absent: [dust]"), "sheet") == ()


@pytest.mark.parametrize("columns", [40, 80])
def test_numbers_and_bars_keep_to_the_screen(consult: Consult, monkeypatch: pytest.MonkeyPatch, columns: int) -> None:
    """On a narrow screen bars get shorter and stand below their words, and nothing runs over the edge."""

    class Screen(io.StringIO):
        def isatty(self) -> bool:
            return True

    monkeypatch.setenv("COLUMNS", str(columns))
    monkeypatch.setenv("NO_COLOR", "1")
    out = Screen()
    print_report(consult(CASE), out, why=True, sums=True)
    lines = out.getvalue().splitlines()
    assert max(len(line) for line in lines) <= columns
    bar = next(line for line in lines if line.strip().startswith("-13"))
    assert bar.split()[1] == ("-" * 13 if columns == 80 else "-" * 10)


def test_ounces_are_shown_with_four_digits(consult: Consult) -> None:
    """A mass typed in ounces is shown in grams as a scale would, not to the last digit of the conversion."""
    computed = consult("symptoms: [soft_face]\na_mass: 4.1 oz\nb_mass: 8 oz\nratio_target: 60").derivation.computed
    text = next(c.text for c in computed if c.name == "ratio_error")
    assert text == "116.2 g to 226.8 g is 51.2 per 100, 14.6 % under 60"
