"""How firm the answer is, and the answer that sits badly with the rest."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from diagnose.assessment.content import Report, report_of
from diagnose.assessment.situation import ModelCache, Situation
from diagnose.casebook import read_case
from diagnose.knowledge import Knowledge
from diagnose.reasoning.answers import SOURCES
from diagnose.report.document import Entry, Words
from diagnose.report.text.sections import words_of

Consult = Callable[..., Situation]
Worded = Callable[..., Words]

HUNG = "symptoms: [soft_face]\nface_temperature: 20 degC\nchanged: {value: [person], source: told}"
SUMMED = "symptoms: [soft_face]\nface_temperature: 20 degC\na_mass: 85 g\nb_mass: 200 g\nratio_target: 50"


def _firm(words: Words) -> list[str]:
    """The lines of `How firm`."""
    return [
        line
        for section in words.sections
        for block in section.blocks
        if isinstance(block, Entry)
        for row in block.rows
        if row.label == "How firm"
        for line in row.lines
    ]


def test_answers_that_decide_are_named_beside_the_shaky_one(worded: Worded) -> None:
    """The measured answer that holds the first cause is named, the told one only once, and the nearest number with how near it is."""
    assert _firm(worded(HUNG)) == [
        "Without this one another cause is first: face temperature.",
        'Not firm: if "Face too cold" were 1.2 times commoner than we think, it would go ahead.',
    ]


def test_following_a_number_past_its_tipping_value_turns_the_order(consult: Consult) -> None:
    """A link told to be too strong by so many times turns the order over where it is made weaker than that, and not before."""
    case = "symptoms: [soft_face]\nface_temperature: 10 degC"
    tipping = report_of(consult(case)).firm
    assert tipping is not None
    nearest = tipping.tippings[0]
    assert (nearest.kind, nearest.name, nearest.effect) == ("link", "face_cold", "soft_face")
    assert 0.08 < nearest.value < 0.25
    for word, first in (("sometimes", "face_cold"), ("seldom", "short_of_a")):
        weaker = ("soft_face: usually - the outer foam", f"soft_face: {word} - the outer foam")
        assert consult(case, weaker).beliefs.causes[0].id == first


def test_a_sum_that_decides_is_named(consult: Consult) -> None:
    """A value worked out that holds the first cause is named; where an input of it is named as a hinge already, it is not named again."""
    firm = report_of(consult(SUMMED)).firm
    assert firm is not None
    assert "ratio_error" in [reading.question for reading in firm.readings]
    remembered = report_of(consult(SUMMED.replace("ratio_target: 50", "ratio_target: {value: 50, source: remembered}")))
    assert [hinge.reading.question for hinge in remembered.hinges] == ["ratio_target"]
    assert remembered.firm is not None
    assert "ratio_error" not in [reading.question for reading in remembered.firm.readings]


def test_partners_in_a_fault_do_not_overtake_each_other(consult: Consult) -> None:
    """Where both had a part, no number that swaps the two is told."""
    report = report_of(
        consult("symptoms: [soft_face, streaks]\nface_temperature: 10\nstirred: {value: no, source: told}")
    )
    assert report.both
    assert report.firm is not None
    assert [t.rival for t in report.firm.tippings if t.rival == report.suspects[1].cause.id] == []


def test_a_settled_fault_says_that_no_number_turns_it(worded: Worded) -> None:
    """Where no single number puts another cause first, that is said in place of one."""
    assert _firm(worded("symptoms: [streaks]\nstirred: no")) == [
        "No single number that we may have wrong puts another cause first."
    ]


# -- answers that disagree -----------------------------------------------------------------------------------------


def _report(models: ModelCache, path: Path) -> Report:
    return report_of(Situation(models, read_case(path, models.knowledge)))


def test_an_answer_that_sits_badly_is_asked_the_other_way_round(worded: Worded, consult: Consult) -> None:
    """A warm face that goes with nothing else told is read back to the caster with the question that would settle it."""
    case = "symptoms: [soft_face, dust]\nface_temperature: 30\ncup: good"
    doubt = report_of(consult(case)).doubt
    assert doubt is not None
    assert doubt.reading.question == "face_temperature"
    assert worded(case).sections[0].blocks[-1] == (
        "One answer sits badly with the others, about 3 times less likely beside them than by itself. "
        "You said face temperature 30 °C. How long, and how long out before the pour?"
    )


def test_answers_that_agree_are_left_in_peace(consult: Consult) -> None:
    """A cold face and a soft face go together, so nothing is doubted."""
    assert report_of(consult("symptoms: [soft_face]\nface_temperature: 10 degC")).doubt is None


def test_a_sum_in_doubt_is_traced_to_an_answer(worded: Worded, consult: Consult) -> None:
    """Where a value worked out sits badly, the least trusted of its inputs is asked for, and the sum is named."""
    case = "symptoms: [soft_face]\ncup: soft\na_mass: 115 g\nb_mass: 200 g\nratio_target: {value: 50, source: told}"
    doubt = report_of(consult(case)).doubt
    assert doubt is not None
    assert (doubt.reading.question, doubt.derived) == ("ratio_target", "ratio_error")
    assert worded(case).sections[0].blocks[-1] == (
        'One answer sits badly with the others, about 5 times less likely beside them than by itself, which shows in "ratio error". '
        "You said target ratio 50 parts A to 100 B (told). Read the label."
    )


def test_every_worked_case_has_its_firmness_told(shipped: Knowledge, cases: list[Path]) -> None:
    """In every worked case there are at most two lines on sensitivity, and a shakier answer is never named after a surer one."""
    models = ModelCache(shipped)
    for path in cases:
        report = _report(models, path)
        assert report.firm is not None
        assert 1 <= len(_firm(words_of(report, shipped))) <= 2, path.stem
        order = [SOURCES.index(reading.answer.source) for reading in report.firm.readings]
        assert order == sorted(order, reverse=True), path.stem


def test_a_shaky_answer_is_marked_and_comes_with_its_check(consult: Consult) -> None:
    """A told answer among those that decide is named once, marked, with the question that would settle it."""
    situation = consult("symptoms: [soft_face]\nface_temperature: {value: 20, source: told}\nchanged: [person]")
    report = report_of(situation)
    assert report.firm is not None
    named = [hinge.reading.question for hinge in report.hinges] + [reading.question for reading in report.firm.readings]
    assert named.count("face_temperature") == 1
    lines = " ".join(
        _firm(words_of(report, situation.knowledge))
        + [str(block) for block in words_of(report, situation.knowledge).sections[0].blocks]
    )
    assert "How long, and how long out before the pour?" in lines
    assert "(told)" in lines
