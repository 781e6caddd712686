"""Words for numbers and answers."""

from __future__ import annotations

import pytest

from diagnose.knowledge import Knowledge
from diagnose.prose import chance, quantity, text
from diagnose.prose.answer import Teller
from diagnose.prose.quantity import Units
from diagnose.reasoning.answers import Answer


@pytest.mark.parametrize(
    ("how_likely", "said"),
    [
        (0.0, "very unlikely, under 5 %"),
        (0.0499, "very unlikely, under 5 %"),
        (0.05, "unlikely, about 10 %"),
        (0.1499, "unlikely, about 10 %"),
        (0.15, "possible, about 20 %"),
        (0.25, "quite possible, about 30 %"),
        (0.5, "as likely as not, about 50 %"),
        (0.55, "likely, about 60 %"),
        (0.75, "very likely, about 80 %"),
        (0.9437, "very likely, about 90 %"),
        (0.95, "almost certain, over 95 %"),
        (1.0, "almost certain, over 95 %"),
    ],
)
def test_how_sure_in_words_and_a_rounded_figure(how_likely: float, said: str) -> None:
    """A chance is told by a word and a figure in tens that belong together, never as 94.37 %."""
    assert chance.how_sure(how_likely) == said


def test_the_last_bits_of_a_machine_never_change_a_figure() -> None:
    """A chance a hair under a half step is rounded as the half step itself."""
    assert chance.figure(0.65 - 1e-13) == chance.figure(0.65) == "about 70 %"


@pytest.mark.parametrize(
    ("value", "unit", "said"),
    [
        (11.0, "degC", "11 °C"),
        (47.33, "parts_a_per_100_b", "47.3 parts of A to 100 of B"),
        (2400.0, "g", "2400 g"),
        (116.233, "g", "116 g"),
        (0.0123, "1", "0.0123"),
        (1e-7, "1", "0"),
        (160.0, "kg/m^3", "160 kg/m³"),
        (-5.3, "percent", "-5.3 %"),
        (3.0, "count", "3"),
        (0.35, "mm", "0.35 mm"),
    ],
)
def test_numbers_are_told_with_three_figures_in_the_units_of_the_bench(value: float, unit: str, said: str) -> None:
    """A number has at most three figures, no exponent, and the sign of its unit."""
    assert " ".join(quantity.quantity(value, unit).split()) == said


@pytest.mark.parametrize(
    ("value", "said"),
    [
        (1, "1 min"),
        (89, "89 min"),
        (90, "1.5 h"),
        (100, "1.5 h"),
        (240, "4 h"),
        (1440, "a day"),
        (2880, "2 days"),
        (2160, "1.5 days"),
    ],
)
def test_minutes_become_hours_and_days(value: float, said: str) -> None:
    """Times are told as one says them at the bench."""
    assert quantity.minutes(value) == said


@pytest.mark.parametrize(
    ("factor", "said"),
    [
        (1.01, "a shade"),
        (1.25, "1.2 times"),
        (2.0, "2 times"),
        (2.26, "2.3 times"),
        (7.4, "7 times"),
        (34.0, "34 times"),
    ],
)
def test_factors_are_told_roughly(factor: float, said: str) -> None:
    """How many times more or less is told in one or two figures."""
    assert quantity.times(factor) == said


@pytest.mark.parametrize(
    ("value", "unit", "said"),
    [
        (11.1111, "degC", "52 °F (11.1 °C)"),
        (226.796185, "g", "8 oz (227 g)"),
        (25.4, "mm", "1 in (25.4 mm)"),
        (160.0, "kg/m^3", "9.99 lb/cu ft (160 kg/m³)"),
        (45.0, "s", "45 s"),
    ],
)
def test_a_case_in_other_units_is_told_in_them_first(value: float, unit: str, said: str) -> None:
    """One answer in degrees Fahrenheit, ounces or inches makes the whole report speak so, the metric figure in brackets."""
    for written in ("52F", "4.1 oz", "3 in", "1 lb"):
        assert Units.of([written, "2 h"]).customary
    assert not Units.of(["11 degC", "300 g", "10 mm", "flexible"]).customary
    assert " ".join(Units(True).quantity(value, unit).split()) == said


@pytest.mark.parametrize(
    ("whole", "first", "part"),
    [
        ("One cup, or two? And scraped?", "One cup, or two?", "One cup."),
        ("It stays under 100 °C (212 °F, or so). Then more.", "It stays under 100 °C (212 °F, or so).", ""),
        ("The cut is even, and dry.", "The cut is even, and dry.", "The cut is even."),
        ("No end", "No end", ""),
    ],
)
def test_the_first_sentence_and_its_first_clause(whole: str, first: str, part: str) -> None:
    """What is too long for a card gives its first sentence, or the first clause of it, whole and never inside brackets."""
    assert text.sentence(whole) == first
    assert text.clause(whole) == (part or first)


def test_a_number_is_held_to_its_unit() -> None:
    """No line breaks between a number and its unit; words that only look like units stay free."""
    assert text.held("about 90 %, 11 °C, 8 h, 5 min") == "about 90\u00a0%, 11\u00a0°C, 8\u00a0h, 5\u00a0min"
    assert text.held("take 2 hands and 3 inner rows") == "take 2 hands and 3 inner rows"


@pytest.mark.parametrize(
    ("raw", "kept"),
    [
        ("\x1b[31mred\x07", "[31mred"),
        ("a\tb\nc\r\nd", "a b c d"),
        ("left\u202eright\u200b", "leftright"),
        ("\x9b2J", "2J"),
        ("\ud800x", "x"),
        ("  two   words ", "two words"),
        ("\u2028line", "line"),
        ("[red]:bug:<b>", "[red]:bug:<b>"),
    ],
)
def test_control_and_direction_characters_are_stripped_and_the_rest_is_kept(raw: str, kept: str) -> None:
    """Nothing that a terminal or a page would act on gets through; brackets and colons are only text."""
    assert text.clean(raw) == kept


def test_a_very_long_text_is_cut() -> None:
    """A title of a million characters is cut to its first line's worth."""
    assert text.shortened("x" * 1_000_000) == "x" * 157 + "..."
    assert text.shortened("a mold face too cold at the pour", 20) == "a mold face too..."


def test_small_first_letters_but_not_of_names() -> None:
    """In a sentence a title starts small, except A, B and abbreviations."""
    assert [text.lowered(t) for t in ("Soft face", "A side short", "MDI smell", "0: none", "A damp spot")] == [
        "soft face",
        "A side short",
        "MDI smell",
        "0: none",
        "a damp spot",
    ]


def test_lists_and_counts() -> None:
    """Lists are joined as in speech, and one is not many."""
    assert text.listed(["a", "b", "c"]) == "a, b and c"
    assert text.listed(["a", "b"], "or") == "a or b"
    assert [text.counted(n, "cause") for n in (0, 1, 2)] == ["no causes", "1 cause", "2 causes"]


@pytest.mark.parametrize(
    ("question", "answer", "written", "said"),
    [
        ("face_temperature", Answer(11.0, "measured"), "11 degC", "face temperature 11 °C (measured)"),
        ("face_temperature", Answer(11.0, "seen"), "11", "face temperature 11 °C"),
        (
            "face_temperature",
            Answer(10.0, "remembered"),
            "50 F",
            "face temperature 10 °C (written as 50 F, remembered)",
        ),
        ("a_mass", Answer(226.796185, "measured"), "8 oz", "grams of A 227 g (written as 8 oz, measured)"),
        ("cup", Answer("good", "seen"), "good", "cup leftover: set, dry and springy"),
        ("cup", Answer("good", "told"), "good", "cup leftover: set, dry and springy (told)"),
        ("stirred", Answer("no", "remembered"), "no", "cup stirred: no, on top only (remembered)"),
        ("changed", Answer(("person", "season"), "seen"), "", "changed: another person; the season"),
        ("soft_face", Answer("seen", "seen"), "seen", "seen: face soft, inside firm"),
        ("dust", Answer("absent", "told"), "absent", "looked for and not there: dust on the face (told)"),
    ],
)
def test_answers_in_the_casters_words(trade: Knowledge, question: str, answer: Answer, written: str, said: str) -> None:
    """An answer is told with its name, its value in words, how it was written in another unit, and how it is known."""
    assert " ".join(Teller(trade).said(question, answer.value, answer.source, written).split()) == said


def test_a_value_from_a_sheet_says_so(trade: Knowledge) -> None:
    """What a material's sheet filled in is not passed off as an answer."""
    said = Teller(trade).said("face_temperature", 25.0, "measured", sheet="Thin foam")
    assert " ".join(said.split()) == "face temperature 25 °C (from the sheet of Thin foam)"


@pytest.mark.parametrize(
    ("source", "said"),
    [
        ("measured", "ratio error: the sum"),
        ("remembered", "ratio error: the sum (from what was remembered)"),
    ],
)
def test_what_was_worked_out_shows_its_sum(trade: Knowledge, source: str, said: str) -> None:
    """A value worked out carries its sum, and is marked where an input was only remembered."""
    assert Teller(trade).computed("ratio_error", "the sum", source) == said


@pytest.mark.parametrize(
    ("question", "value", "said"),
    [
        ("cup", "soft", 'With "cup leftover: soft"'),
        ("face_temperature", 30.0, "With face temperature at about 30 °C"),
        ("dust", "seen", 'If you find "dust on the face"'),
        ("dust", "absent", 'If you do not find "dust on the face"'),
        ("ratio_error", -15.0, "With ratio error at about -15 %"),
    ],
)
def test_an_answer_not_yet_given(trade: Knowledge, question: str, value: str | float, said: str) -> None:
    """What an open question might bring is told in the words of its answers."""
    assert " ".join(Teller(trade).outcome(question, value).split()) == said


def test_every_answer_of_the_shipped_knowledge_has_words(shipped: Knowledge) -> None:
    """Each choice of each fact and result of each check can be told, and so can each typical number."""
    teller = Teller(shipped)
    for name, fact in shipped.facts.items():
        for value in [*fact.choices, *(v for v, _ in fact.typical)]:
            assert teller.outcome(name, value).startswith("With ")
    for name, check in shipped.checks.items():
        for result in check.results:
            assert teller.said(name, result, "seen").startswith(check.short)
