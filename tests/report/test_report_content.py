"""What a report says of a case, section by section, about the small trade."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from diagnose.report.document import Words
from diagnose.report.text.sections import Wanted, words_of
from diagnose.report.text.shown import Shown

ShownOf = Callable[..., Shown]
Worded = Callable[..., Words]
Texts = Callable[[Words, str], list[str]]

COLD = "symptoms: [soft_face]\nface_temperature: 10 degC"
BOTH = "symptoms: [soft_face, streaks]\nface_temperature: 10\nstirred: {value: no, source: told}"
RIVALS = "symptoms: [soft_face]\nface_temperature: 20 degC\nchanged: {value: [person], source: told}"
GRAMS = "symptoms: [soft_face]\na_mass: 85 g\nb_mass: 200 g\nratio_target: 50"
MISFIT = "symptoms: [streaks]\ncup: good\nstirred: yes\nfresh_cup: good\nface_temperature: 20"
#: with which nothing of the small trade fits that case by far
SELDOM_STREAKS = ("streaks: usually - what was", "streaks: sometimes - what was")


def test_a_cause_stands_with_word_figure_mechanism_and_reasons(worded: Worded, texts: Texts) -> None:
    """The first cause comes with its mechanism, each answer for it with why, and the small ones in half a line, the rest counted."""
    lines = texts(worded(COLD), "causes")
    assert lines[:4] == [
        "1. Face too cold (very likely, about 90 %)",
        ": A cold wall takes the heat of the outer foam, so it sets late and weak.",
        "For: face temperature 10 °C (measured)",
        "For: seen: face soft, inside firm - the outer foam sets late and stays weak",
    ]
    assert "Also: Short of A (about 10 %)." in lines
    assert lines[-1] == "1 other cause left out, under 5 % each."


def test_the_screen_shows_card_and_causes(shown: ShownOf) -> None:
    """By default the causes alone stand under the card; `full` brings the rest, with --why and --sheet a section each."""
    found = shown(COLD)
    assert [s.key for s in words_of(found, Wanted()).sections] == ["causes"]
    assert [s.key for s in words_of(found, Wanted(why=True)).sections] == ["causes", "why"]
    assert [s.key for s in words_of(found, Wanted(sums=True)).sections] == ["causes", "sheet"]
    keys = [s.key for s in words_of(found, Wanted(full=True)).sections]
    assert keys == ["causes", "why", "change", "save", "checks", "sheet", "plan", "cautions"]


def test_how_firm_stands_behind_full_alone(shown: ShownOf, texts: Texts) -> None:
    """What could turn the answer and what it hangs on are for the reader of the whole."""
    found = shown(RIVALS)
    brief, full = (" ".join(texts(words_of(found, Wanted(full=wanted)), "causes")) for wanted in (False, True))
    assert "Could turn" not in brief
    assert "How firm: It hangs on: " in full
    assert "Not firm: if " in full


def test_an_open_answer_that_would_turn_the_order_does_so(worded: Worded, shown: ShownOf, texts: Texts) -> None:
    """The open answer that puts another cause first is told, and following it does what was said."""
    lines = texts(worded("symptoms: [soft_face]"), "causes")
    told = next(line for line in lines if line.startswith("Could turn: With face temperature at about 30 °C"))
    assert told.endswith('"Short of A" goes ahead.')
    assert shown("symptoms: [soft_face]\nface_temperature: 30 degC").assessment.causes[0].id == "short_of_a"


def test_a_sum_is_shown_with_how_it_was_got(worded: Worded, texts: Texts) -> None:
    """A value worked out stands with its sum among the answers, for one cause and against its rival."""
    lines = " ".join(texts(worded(GRAMS), "causes"))
    assert "ratio error: 85 g to 200 g is 42.5 per 100, 15.0 % under 50" in lines
    assert "For 200 g of B you needed 100 g of A; you had 85 g." in " ".join(texts(worded(GRAMS), "change"))


def test_an_answer_that_sits_badly_is_asked_the_other_way_round(worded: Worded, texts: Texts) -> None:
    """A warm face that goes with nothing else told is read back with the question that would settle it."""
    lines = texts(worded("symptoms: [soft_face, dust]\nface_temperature: 30\ncup: good"), "causes")
    told = next(line for line in lines if line.startswith("Sits badly: "))
    assert told.startswith("Sits badly: face temperature 30 °C: about ")
    assert told.endswith("How long, and how long out before the pour?")
    assert not any(line.startswith("Sits badly") for line in texts(worded(COLD), "causes"))


def test_the_change_with_its_reason_and_what_to_watch(worded: Worded, texts: Texts) -> None:
    """The change stands in full: minutes, what to do, how surely, how to tell, the caution, and why one."""
    assert texts(worded(COLD), "change") == [
        "Warm the mold (10 min of work, then 60 min of waiting)",
        ": Warm the mold to 25 °C.",
        'How surely: usually works for "Face too cold"',
        "Worked if: Hold a thermometer on the face.",
        "Caution: No flame near it.",
        "One change, all else as it was, or nobody will know which change did it. Write down what you changed.",
    ]


def test_between_rivals_the_outcome_is_read_beforehand(worded: Worded, texts: Texts) -> None:
    """The report says what a good part and the same fault again will each mean, and when that holds."""
    told = texts(worded(RIVALS), "change")[-1]
    assert 'If the part comes good, it was "' in told
    assert told.endswith("That holds if only one of the two had a part.")


def test_nothing_is_changed_on_a_hunch(worded: Worded, texts: Texts) -> None:
    """Where nothing fits the report changes nothing and asks for what nobody thinks matters."""
    lines = texts(worded(MISFIT, SELDOM_STREAKS), "change")
    assert lines[0].startswith("Change nothing yet: ")
    assert lines[1].startswith("Write down what was done that nobody thinks matters: ")
    assert texts(worded(MISFIT, SELDOM_STREAKS), "plan") == []


def test_saving_the_part_in_full(worded: Worded, texts: Texts) -> None:
    """What may save the part stands with its minutes, its chance in words and its caution; what nothing saves is named."""
    assert texts(worded(COLD), "save") == [
        "Worth trying before anything is thrown away:",
        "Rest it warm (5 min of work, then 2 h of waiting)",
        ": Leave it in the warm.",
        'How surely: works about half the time for "Face too cold"',
        "Worked if: A thumb leaves no dent.",
        "Caution: A vented box.",
    ]
    assert texts(worded("symptoms: [streaks]\nstirred: no"), "save") == [
        "Cast again.",
        'Nothing known saves the part if it was "Badly mixed". Keep it as evidence.',
    ]


def test_no_sums_of_money_and_no_frightening_shares(worded: Worded) -> None:
    """No report reckons in hours of pay without a currency, or says of a sure remedy that it mends ten in a hundred."""
    for case, changes in ((COLD, ()), (BOTH, ()), (RIVALS, ()), (GRAMS, ()), (MISFIT, (SELDOM_STREAKS,))):
        words = worded(case, *changes)
        said = repr(words)
        assert "of 100" not in said.replace("to 100 of B", "")
        assert " costs 4" not in said


def test_the_rest_of_the_plan_is_what_the_change_is_not(worded: Worded, shown: ShownOf, texts: Texts) -> None:
    """Who can't afford another bad part gets the other steps, each with what it is for, and never the change again."""
    lines = texts(worded(BOTH), "plan")
    changed = [shown(BOTH).knowledge.remedies[use.remedy].title for use in shown(BOTH).assessment.change.remedies]  # type: ignore[union-attr]
    assert lines[0] == "Do these as well; you won't learn which did it."
    assert not any(line.startswith(title) for line in lines for title in changed)


def test_checks_come_with_minutes_and_those_of_one_sum_together(worded: Worded, texts: Texts) -> None:
    """Each check has its minutes and how to do it; the three numbers behind a ratio stand as one."""
    lines = texts(worded("symptoms: [soft_face]"), "checks")
    assert lines[0] == "How warm was the face? (2 min)"
    assert lines[1].startswith(": Hold a thermometer on it. Bears most on ")
    assert 'To work out "ratio error": grams of A, grams of B and target ratio (3 min)' in lines
    assert texts(worded(COLD), "checks") == [
        "No further check is worth its minutes: what could still be asked would hardly change what to do."
    ]


def test_without_a_symptom_there_is_no_answer_but_a_question(worded: Worded) -> None:
    """A case in which nothing is seen has no causes and no remedies; what is left is safety."""
    assert [s.key for s in worded("symptoms_absent: [dust]").sections] == ["cautions"]


def test_safety_is_always_told(worded: Worded, shown: ShownOf, texts: Texts) -> None:
    """Isocyanate, safety data sheets and what to do with a tight chest stand in every full report, the short form under every other."""
    for case in (COLD, BOTH, "symptoms_absent: [dust]"):
        said = " ".join(texts(worded(case), "cautions")) + worded(case).card.note
        assert all(word in said for word in ("isocyanate", "safety data sheets (SDS)", "local rules", "medical advice"))
        foot = words_of(shown(case), Wanted()).foot
        assert all(word in foot for word in ("Gloves", "safety data sheets", "licensed practice"))


def test_how_much_was_told_and_not_known(worded: Worded) -> None:
    """Answers that are not known are counted, not listed."""
    assert worded("symptoms: [soft_face]\nstirred: unknown\ncup: unknown").part == (
        "1 answer, 2 not known.",
        "Seen: face soft, inside firm.",
    )


@pytest.mark.parametrize("case", [COLD, BOTH, RIVALS, "symptoms: [dust]"])
def test_nothing_is_lost_between_shown_and_left_out(shown: ShownOf, texts: Texts, case: str) -> None:
    """Causes in full, causes named and causes counted make up the whole list."""
    found = shown(case)
    lines = texts(words_of(found, Wanted(full=True)), "causes")
    full = sum(line[:1].isdigit() and line[1:3] == ". " for line in lines)
    named = sum(line.count("(") for line in lines if line.startswith("Also: "))
    left = sum(int(line.split()[0]) for line in lines if "left out, under 5 %" in line)
    assert full + named + left == len(found.assessment.causes)


def test_the_same_case_gives_the_same_words(worded: Worded) -> None:
    """A report does not depend on what was asked before."""
    assert worded(BOTH) == worded(BOTH)
