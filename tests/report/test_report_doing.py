"""What to do: save or cast again, the one change and what it tells, the whole plan; never two orders that disagree."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from diagnose.assessment.content import Report, report_of
from diagnose.assessment.decisions import pays_from, save_or_scrap
from diagnose.assessment.situation import ModelCache, Situation

from diagnose.assessment import advice
from diagnose.casebook import read_case
from diagnose.knowledge import Knowledge
from diagnose.reasoning.discriminating_change import single_change
from diagnose.report.document import Entry, Words
from diagnose.report.text import actions as doing

Consult = Callable[..., Situation]
Worded = Callable[..., Words]

COLD = "symptoms: [soft_face]\nface_temperature: 10 degC"
BOTH = "symptoms: [soft_face, streaks]\nface_temperature: 10\nstirred: {value: no, source: told}"
RIVALS = "symptoms: [soft_face]\nface_temperature: 20 degC\nchanged: {value: [person], source: told}"


def _texts(words: Words, key: str) -> list[str]:
    found: list[str] = []
    for section in words.sections:
        for block in section.blocks if section.key == key else ():
            if isinstance(block, Entry):
                found.append(f"{block.head} ({block.aside})")
                found.extend(f"{row.label}: {line}" for row in block.rows for line in row.lines)
            else:
                assert isinstance(block, str)
                found.append(block)
    return found


# -- this part -----------------------------------------------------------------------------------------------------


def test_worth_saving_with_the_sum_and_the_caution(worded: Worded) -> None:
    """Where saving pays, the sum stands first, then how to save the part, how surely it works, how to see that it did, and its caution."""
    assert _texts(worded(COLD), "save") == [
        "Save it: saving costs 8 and works in about 41 of 100, so 8 + 0.59 x 43 = 34, against 43 for a new pour (0.7 h and the material).",
        "Rest it warm (5 min of work, then 2 h of waiting)",
        ": Leave it in the warm.",
        'How surely: works about half the time for "Face too cold"',
        "Worked if: A thumb leaves no dent.",
        "Caution: A vented box.",
    ]


def test_not_worth_saving_says_from_how_many_hours_it_is(worded: Worded) -> None:
    """Where a new pour is cheaper, the report says so, and how much work in the part would turn the sum."""
    assert _texts(worded(RIVALS), "save") == [
        "Cast again: no remedy is worth its minutes and its chance; a new pour costs 43 (0.7 h and the material). "
        "With more than about 2 h of work in it, this is worth trying:",
        'Rest it warm (5 min of work, then 2 h of waiting; works about half the time for "Face too cold")',
        ": Leave it in the warm.",
        "Caution: A vented box.",
        'Nothing known saves the part if it was "Short of A". Keep it as evidence.',
    ]


def test_the_hours_are_those_at_which_the_sum_turns(consult: Consult) -> None:
    """With a little less work in it than said the part is not worth saving, with a little more it is."""
    situation = consult(RIVALS)
    hours = pays_from(situation, "rest_it")
    assert hours is not None
    assert not save_or_scrap(situation, hours - 0.01).save
    assert save_or_scrap(situation, hours + 0.01).save


def test_where_nothing_saves_the_part_it_says_so(worded: Worded) -> None:
    """A cause without a way to save the part is named."""
    assert _texts(worded("symptoms: [streaks]\nstirred: no"), "save") == [
        "Cast again: no remedy saves a part with these causes; a new pour costs 43 (0.7 h and the material).",
        'Nothing known saves the part if it was "Badly mixed". Keep it as evidence.',
    ]


# -- the one change ------------------------------------------------------------------------------------------------


def test_one_change_and_why_one(worded: Worded) -> None:
    """There is one change for the next pour, that of the first cause, and the reason for changing one thing."""
    lines = _texts(worded(COLD), "change")
    assert lines[0] == "Warm the mold (10 min of work, then 60 min of waiting)"
    assert (
        lines[-1]
        == "One change, all else as it was, or nobody will know which change did it. Write down what you changed."
    )


def test_with_two_suspects_the_outcome_of_the_change_is_read(worded: Worded) -> None:
    """Between rivals the report says what a good part and the same fault again will each mean, and when that holds."""
    assert _texts(worded(RIVALS), "change")[-1] == (
        "One change, all else as it was, or nobody will know which change did it. Write down what you changed. "
        'If the part comes good, it was "Short of A" (over 95 %); if the same fault comes again, it was "Face too cold" (about 80 %). '
        "That holds if only one of the two had a part."
    )


def test_partners_are_no_experiment(consult: Consult) -> None:
    """Where both causes had a part, mending one tells nothing about the other, so no outcome is read."""
    made = report_of(consult(BOTH)).advice
    assert made.change is not None
    assert made.parting is None


def test_a_change_that_mends_both_rivals_gives_way_to_one_that_parts_them(consult: Consult) -> None:
    """Where the first cause's change would mend its rival as well, the change that tells them apart is the one."""
    fixes = "fixes: {short_of_a: usually - the grams are right"
    mends_both = (fixes, fixes + ", face_cold: usually - warmth of hands")
    situation = consult(RIVALS, mends_both)
    assert single_change(situation.reasoned, situation.costs, ["weigh_it"]) is None
    made = report_of(situation).advice
    assert made.change is not None
    assert made.parting is not None
    assert made.change.remedy.id == made.parting.change.remedy == "warm_it"


# -- the whole plan ------------------------------------------------------------------------------------------------


def test_the_whole_plan_has_the_change_the_rest_and_its_sums(worded: Worded) -> None:
    """Who can't afford another bad part gets the rest of the plan, what it costs, how surely it works, beside the one change alone."""
    assert _texts(worded(BOTH), "plan") == [
        "Do the one change and these 2 together; you won't learn which did it. All that had a part is then mended in about 50 of 100, "
        "with the one change alone in under 5 of 100. With an hour at 40 and another bad part at 150: 11 + 0.53 x 150 = 90 for the plan, "
        "1 + 1.00 x 150 = 151 for the one change.",
        'Warm the mold (10 min of work, then 60 min of waiting; for "Face too cold")',
        ": Warm the mold to 25 °C.",
        "Caution: No flame near it.",
        'Weigh both sides (3 min of work; for "Short of A")',
        ": Weigh A to the gram.",
        "Nothing known here reaches 90 of 100; everything together reaches about 50 of 100.",
    ]


def test_work_between_pours_is_part_of_the_plan(worded: Worded) -> None:
    """Work on scales and cans stands in the plan, marked as between pours."""
    assert 'Test the scale (5 min of work, between pours; for "Short of A")' in _texts(worded(RIVALS), "plan")


@pytest.mark.parametrize(
    ("goal", "said"),
    [
        (0.9, "Nothing known here reaches 90 of 100; everything together reaches about 70 of 100."),
        (0.65, "That reaches 65 of 100."),
        (0.68, "To reach 68 of 100 do also: test the scale (5 min of work). The cheapest way there costs 13 in all."),
    ],
)
def test_how_far_the_plan_reaches(worded: Worded, monkeypatch: pytest.MonkeyPatch, goal: float, said: str) -> None:
    """The report says whether the plan reaches the goal, what it takes beyond it, or that nothing known does."""
    for room in (advice, doing):
        monkeypatch.setattr(room, "GOAL", goal)
    assert _texts(worded(COLD), "plan")[-1] == said


def test_a_plan_of_one_change_is_said_to_be_all(worded: Worded) -> None:
    """Where nothing beside the one change is worth its cost, the plan is that change, with its chance."""
    assert _texts(worded("symptoms: [streaks]\nstirred: no"), "plan") == [
        "Nothing beside the one change is worth its cost. It mends all that had a part in about 70 of 100. "
        "Nothing known here reaches 90 of 100; everything together reaches about 70 of 100."
    ]


def _orders(report: Report) -> tuple[str | None, list[str]]:
    made = report.advice
    return (made.change.remedy.id if made.change else None), [
        action.remedy.id for action in made.whole.rest
    ] if made.whole else []


@pytest.mark.parametrize("case", [COLD, BOTH, RIVALS])
def test_the_plan_is_the_change_and_the_rest(consult: Consult, case: str) -> None:
    """What the plan reckons with is the one change and what is listed beside it, no more, and the sums are the planner's."""
    situation = consult(case)
    report = report_of(situation)
    change, rest = _orders(report)
    assert report.advice.whole is not None
    assert sorted(report.advice.whole.plan.remedies) == sorted([str(change), *rest])
    assert report.advice.whole.plan == situation.next_pour.plan(frozenset([str(change), *rest]))


def test_no_worked_case_gets_two_orders(shipped: Knowledge, cases: list[Path]) -> None:
    """In every worked case the plan holds the one change and all of the best plan, and an outcome read is that of the one change."""
    models = ModelCache(shipped)
    for path in cases:
        situation = Situation(models, read_case(path, shipped))
        report = report_of(situation)
        made = report.advice
        if made.parting is not None:
            assert made.change is not None, path.stem
            assert made.parting.change.remedy == made.change.remedy.id, path.stem
        if made.whole is not None and made.change is not None and situation.plan is not None:
            assert set(made.whole.plan.remedies) == {*situation.plan.remedies, made.change.remedy.id}, path.stem
            assert made.whole.plan.success >= made.whole.alone.success, path.stem
