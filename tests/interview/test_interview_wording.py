"""Words of the questionnaire: figures rounded and in words, examples that the unit reader takes, lines that fit."""

from __future__ import annotations

import re

import pytest

from diagnose.interview import explain
from diagnose.knowledge import Knowledge
from diagnose.prose import question as wording
from diagnose.reasoning.answers import Answer
from diagnose.reasoning.inference import Beliefs, CauseBelief
from diagnose.units import parse_quantity


@pytest.mark.parametrize(
    ("chance", "words"),
    [
        (0.0, "very unlikely, under 5 %"),
        (0.04, "very unlikely, under 5 %"),
        (0.05, "unlikely, about 10 %"),
        (0.347, "quite possible, about 30 %"),
        (0.5, "as likely as not, about 50 %"),
        (0.85, "very likely, about 90 %"),
        (0.96, "almost certain, over 95 %"),
    ],
)
def test_a_chance_is_a_word_and_a_round_figure(chance: float, words: str) -> None:
    """No figure says more than the words behind it."""
    assert wording.how_sure(chance) == words


def test_every_example_of_a_number_is_one_that_is_taken(knowledge: Knowledge) -> None:
    """What the hint of a question says may be typed is read by the unit reader, for each number that is asked."""
    for entry in (*knowledge.facts.values(), *knowledge.checks.values()):
        if entry.kind == "number" and not getattr(entry, "derived", False):
            shown = wording.example(entry.unit)
            match = re.search(r"For example (.*)\.$", shown)
            assert match is not None, shown
            for text in re.split(r", | or ", match[1]):
                parse_quantity(text, entry.unit)


def test_the_titles_of_families_cover_the_knowledge(knowledge: Knowledge) -> None:
    """Each family of symptoms has a title in plain words, and the mixed one stands last."""
    families = {symptom.family for symptom in knowledge.symptoms.values()}
    assert all(wording.family_title(family) != family.replace("_", " ").capitalize() for family in families)
    assert max(families, key=wording.family_rank) == "other"
    assert wording.family_title("brand_new") == "Brand new"


def test_an_answer_reads_as_it_was_given(knowledge: Knowledge) -> None:
    """A number keeps the unit that was typed, or gets the stored one; how it is known stands behind it."""
    assert wording.answer_words(knowledge, "mold_temperature", Answer(16.1, "remembered"), "61F") == "61F, from memory"
    assert wording.answer_words(knowledge, "mold_age", Answer(16.0), "16") == "16 days"
    assert wording.answer_words(knowledge, "mold_age", Answer(None)) == "don't know"
    assert (
        wording.answer_words(knowledge, "changed_since_good", Answer(("season", "person"), "told"))
        == "Weather or season; Another person, told"
    )


def _beliefs(*pairs: tuple[str, float]) -> Beliefs:
    causes = tuple(CauseBelief(name, chance, chance, ()) for name, chance in sorted(pairs, key=lambda pair: -pair[1]))
    return Beliefs(causes, 0.1, 0.05, 1.0)


@pytest.mark.parametrize(("width", "count"), [(40, 1), (79, 3), (120, 3)])
def test_the_standing_line_takes_two_lines_at_most(knowledge: Knowledge, width: int, count: int) -> None:
    """On a narrow screen the less likely causes are left out, not lines added."""
    now = _beliefs(("mold_cold", 0.72), ("a_rich", 0.4), ("b_rich", 0.31), ("undermixed", 0.2))
    text = explain.standing(knowledge, now, None, width)
    assert text.startswith("So far: mold face too cold at the pour: likely, about 70 %")
    assert text.count(" %") == count
    assert len(wording.wrapped(text, width, "  ")) <= 2 or count == 1


def test_what_moved_is_told_also_when_it_fell_off_the_list(knowledge: Knowledge) -> None:
    """A cause that was in front and fell is named once more."""
    before = _beliefs(("mold_cold", 0.6), ("a_rich", 0.3))
    now = _beliefs(("a_rich", 0.81), ("mold_cold", 0.02))
    title = wording.lowered(knowledge.causes["a_rich"].title)
    assert explain.standing(knowledge, now, before, 200) == (
        f"So far: {title}: very likely, about 80 %, up from 30; mold face too cold at the pour: down to under 5 %."
    )
    assert explain.standing(knowledge, _beliefs(("a_rich", 0.01)), None, 80) == "So far nothing stands out."


def test_control_characters_and_lone_newlines_are_taken_out() -> None:
    """One line, with nothing that a terminal would act on."""
    assert wording.clean("a\x1b[2Jb\n\tc\x9b1m\u202ed\u2028e") == "a [2Jb c 1md e"
