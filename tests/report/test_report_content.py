"""What a report says of a case, in records and in words."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

import pytest

from diagnose.assessment.content import SHOWN, report_of
from diagnose.assessment.situation import ModelCache, Situation
from diagnose.casebook import Case, read_case
from diagnose.knowledge import Knowledge
from diagnose.reasoning.answers import Answer
from diagnose.report.document import Entry, Words
from diagnose.report.text.sections import words_of

ROOT = Path(__file__).parents[2]
Consult = Callable[..., Situation]
Worded = Callable[..., Words]

COLD = "symptoms: [soft_face]\nface_temperature: 10 degC"
BOTH = "symptoms: [soft_face, streaks]\nface_temperature: 10\nstirred: {value: no, source: told}"
HUNG = "symptoms: [soft_face]\nface_temperature: 20 degC\nchanged: {value: [person], source: told}"


def _texts(words: Words, key: str) -> list[str]:
    """All lines of one section, entries as heading, remark and rows."""
    found: list[str] = []
    for section in words.sections:
        if section.key != key:
            continue
        for block in section.blocks:
            if isinstance(block, Entry):
                found.append(f"{block.head} ({block.aside})")
                found.extend(f"{row.label}: {line}" for row in block.rows for line in row.lines)
            else:
                found.append(block)
    return found


def test_causes_stand_in_order_with_word_and_figure(worded: Worded) -> None:
    """The first cause comes with its mechanism and the answers that speak for it, the minor one in half a line, the rest counted."""
    assert _texts(worded(COLD), "causes") == [
        "1. Face too cold (very likely, about 90 %)",
        ": A cold wall takes the heat of the outer foam, so it sets late and weak.",
        "For: face temperature 10 °C (measured)",
        "For: seen: face soft, inside firm",
        "Against: nothing told",
        "Could turn: Nothing that can still be asked would change the order or move this much.",
        'How firm: Firm: if "Face too cold" led to "face soft, inside firm" 8 times less often than we think, "Short of A" would go ahead.',
        "Also: Short of A (unlikely, about 10 %).",
        "1 other cause left out, under 5 %.",
    ]


def test_the_answer_is_one_sentence(worded: Worded) -> None:
    """A clear case is answered in one sentence with one figure."""
    assert _texts(worded(COLD), "answer") == ['Most likely: "Face too cold", about 90 %.']


def test_two_causes_that_both_had_a_part_are_called_both(worded: Worded, consult: Consult) -> None:
    """Where two symptoms have a cause each, the report says both, and what the one change leaves for the pour after."""
    report = report_of(consult(BOTH))
    assert report.both
    assert _texts(worded(BOTH), "answer")[0] == (
        'Both had a part, most likely: "Badly mixed" and "Face too cold". Several causes can hold at once, and these two do not rule each other out.'
    )
    change = _texts(worded(BOTH), "change")
    assert change[0] == "Stir to the floor (2 min of work)"
    assert change[-1].endswith(
        'It leaves "Face too cold" alone (very likely, about 90 %), which is for the pour after, or for the whole plan.'
    )


def test_rivals_for_one_symptom_are_not_called_both(worded: Worded) -> None:
    """Two causes of one symptom, each of which makes the other needless, are told as a choice."""
    assert _texts(worded(HUNG), "answer")[0].startswith('Not settled: "Short of A" or "Face too cold".')


def test_the_joint_chance_lies_between_its_bounds(consult: Consult) -> None:
    """The chance that two causes held together is no more than either's, and no less than their sum over one."""
    for case in (BOTH, HUNG):
        situation = consult(case)
        report = report_of(situation)
        first, second = report.suspects[:2]
        held = next(b.present for b in situation.beliefs.causes if b.id == first.cause.id)
        assert (
            max(0.0, held + second.probability - 1.0) - 1e-12
            <= report.together
            <= min(held, second.probability) + 1e-12
        )


def test_an_answer_only_told_that_everything_hangs_on_is_named(worded: Worded) -> None:
    """A ranking that turns over without one told answer says so, with what would come first and how to make sure."""
    assert _texts(worded(HUNG), "answer")[1:] == [
        'This hangs on one answer that was only told by somebody: changed: another person (told). Without it, "Face too cold" comes first. '
        "Make sure first: Ask around."
    ]


def test_a_measured_answer_is_no_hinge(consult: Consult) -> None:
    """The same answer, seen and not told, is not called into question."""
    assert report_of(consult(HUNG.replace("{value: [person], source: told}", "[person]"))).hinges == ()


def test_a_remembered_input_of_a_sum_is_a_hinge(consult: Consult) -> None:
    """A remembered number that the deciding sum rests on is named, not the sum."""
    report = report_of(
        consult(
            "symptoms: [soft_face]\nface_temperature: 20 degC\na_mass: 85 g\nb_mass: 200 g\nratio_target: {value: 50, source: remembered}"
        )
    )
    assert [h.reading.question for h in report.hinges] == ["ratio_target"]


def test_a_sum_is_shown_with_how_it_was_got(worded: Worded) -> None:
    """A value worked out stands with its sum among the answers for the cause."""
    lines = _texts(worded("symptoms: [soft_face]\na_mass: 85 g\nb_mass: 200 g\nratio_target: 50"), "causes")
    assert "For: ratio error: 85 g to 200 g is 42.5 per 100, 15.0 % under 50 (worked out)" in lines
    assert (
        "Against: ratio error: 85 g to 200 g is 42.5 per 100, 15.0 % under 50 (worked out), which another cause explains better"
        in lines
    )


def test_what_would_knock_it_off_the_top(worded: Worded, consult: Consult) -> None:
    """The open answer that puts another cause first is told, and following it does what was said."""
    lines = _texts(worded("symptoms: [soft_face]"), "causes")
    assert (
        'Could turn: With face temperature at about 30 °C (86 °F), which is unlikely, "Short of A" goes ahead.' in lines
    )
    after = consult("symptoms: [soft_face]\nface_temperature: 30 degC")
    assert after.beliefs.causes[0].id == "short_of_a"


def test_where_nothing_turns_the_order_the_deepest_fall_is_told(worded: Worded) -> None:
    """With one cause in play the report says how far the worst answer would bring it down."""
    assert (
        "Could turn: Nothing still open puts another cause first. With face temperature at about 30 °C (86 °F), which is unlikely, this falls to about 10 %."
    ) in _texts(worded("symptoms: [dust]"), "causes")


def test_few_answers_are_not_called_a_misfit(shipped: Knowledge) -> None:
    """With the shipped trade: where only the fault is told, too little is told; where the answers leave it unexplained, nothing fits."""
    models = ModelCache(shipped)
    told = {"build": Answer("bare_foam"), "painted": Answer("no"), "tacky_through": Answer("seen")}
    few = report_of(Situation(models, Case.of(told)))
    assert (few.none_fits, few.thin) == (True, True)
    said = _texts(words_of(few, shipped), "answer")
    assert said[0].startswith(
        "Too little is told yet to point at one cause. The causes below are leads, and something that is not on the list can't be left out ("
    )
    assert not any("None of these fits" in text or "Write down now" in text for text in said)
    pot = report_of(Situation(models, read_case(ROOT / "tests" / "cases" / "stopped-short-in-the-pot.yaml", shipped)))
    assert (pot.none_fits, pot.thin) == (True, False)
    assert _texts(words_of(pot, shipped), "answer")[0].startswith("None of these fits well")


def test_none_of_these_fits_and_what_to_do_then(worded: Worded, consult: Consult) -> None:
    """Where the unexplained leads, the report says so first, asks for what nobody thinks matters, and changes nothing on a hunch."""
    case = "symptoms: [streaks]\ncup: good\nstirred: yes"
    assert report_of(consult(case)).none_fits
    words = worded(case)
    assert _texts(words, "answer") == [
        "None of these fits well. Something that is not on the list had a part: likely, about 60 %. Take the causes below as leads, not as answers.",
        "Write down now what was done that nobody thinks matters: what was washed, moved, swapped, stored or new that week, who helped, "
        "and the weather. Keep the part, the cup, the plugs and the flash, and keep this case for the log as an unknown. Check before you change anything.",
        'One answer sits badly with the others, about 8 times less likely beside them than by itself. You said that "streaks in the cut" is there. '
        "Cut it and hold it to the light.",
    ]
    assert _texts(words, "plan") == []
    assert _texts(words, "change") == [
        "Change nothing yet: no cause stands out enough. If you must pour, pour it the same way, weigh and time everything, and write it down."
    ]
    assert _texts(words, "save") == [
        "No cause stands out enough to mend for. Leave the part as it is; it is the best evidence there is."
    ]


def test_without_a_symptom_there_is_no_answer_but_a_question(worded: Worded) -> None:
    """A case in which nothing is seen has no causes, no remedies, and asks what is wrong."""
    words = worded("symptoms_absent: [dust]")
    assert _texts(words, "answer") == [
        "Nothing is told as seen on the part, so there is nothing to explain yet. Say first what is wrong with it."
    ]
    assert [s.key for s in words.sections] == ["answer", "checks", "cautions"]
    assert "Is it there? Face soft, inside firm (1 min)" in _texts(words, "checks")


def test_checks_come_with_minutes_and_those_of_one_sum_together(worded: Worded) -> None:
    """Each check has its minutes and how to do it; the three numbers behind a ratio stand as one."""
    lines = _texts(worded("symptoms: [soft_face]"), "checks")
    assert lines[:2] == [
        "How warm was the face? (2 min)",
        ': Hold a thermometer on it. Bears most on "Face too cold" and "Short of A".',
    ]
    assert 'To work out "ratio error": grams of A, grams of B and target ratio (3 min)' in lines


def test_a_settled_case_says_that_no_check_pays(worded: Worded) -> None:
    """Where asking would not pay for itself, the report says so and lists nothing."""
    assert _texts(worded(COLD), "checks") == [
        "No further check is worth its minutes: what could still be asked would hardly change what to do."
    ]


def test_safety_is_always_told(worded: Worded) -> None:
    """Isocyanate, safety data sheets and what to do with a tight chest stand in every report."""
    for case in (COLD, BOTH, "symptoms_absent: [dust]"):
        said = " ".join(_texts(worded(case), "cautions"))
        assert all(word in said for word in ("isocyanate", "safety data sheets (SDS)", "local rules", "medical advice"))


def test_how_much_was_told_and_not_known(worded: Worded) -> None:
    """Answers that are not known are counted, not listed."""
    assert worded("symptoms: [soft_face]\nstirred: unknown\ncup: unknown").part == (
        "1 answer, 2 more not known.",
        "Seen: face soft, inside firm.",
    )


def test_every_weight_that_speaks_is_on_the_right_side(consult: Consult) -> None:
    """Answers for a cause weigh in its favour and answers against it the other way, strongest first."""
    for suspect in report_of(consult(BOTH)).suspects:
        for readings, sign in ((suspect.speaks_for, 1), (suspect.against, -1)):
            weights = [sign * reading.weight for reading in readings]
            assert all(weight > 0 for weight in weights)
            assert weights == sorted(weights, reverse=True)


@pytest.mark.parametrize("case", [COLD, BOTH, HUNG, "symptoms: [dust]"])
def test_nothing_is_lost_between_shown_and_left_out(consult: Consult, case: str) -> None:
    """Causes shown and causes left out make up the whole list, and none that matters is left out."""
    situation = consult(case)
    report = report_of(situation)
    assert len(report.suspects) + report.left_out == len(situation.beliefs.causes)
    assert report.most_left_out < SHOWN
    assert all(math.isfinite(s.probability) for s in report.suspects)


def test_the_same_case_gives_the_same_words(worded: Worded) -> None:
    """A report does not depend on what was asked before."""
    assert worded(BOTH) == worded(BOTH)
