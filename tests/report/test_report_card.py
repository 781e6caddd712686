"""The card: what it is, what to do, this part, the one check, when to think again; short, in whole sentences, and nothing else."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest

from diagnose.assessment.consultation import Consultation
from diagnose.report.document import Words
from diagnose.report.terminal import print_card, print_report
from diagnose.report.text.sections import Wanted, words_of
from diagnose.report.text.shown import Shown

Told = list[tuple[str, Consultation, Shown]]
Worded = Callable[..., Words]
Card = Callable[[Words], dict[str, str]]
Wide = Callable[[int], Any]

COLD = "symptoms: [soft_face]\nface_temperature: 10 degC"
BOTH = "symptoms: [soft_face, streaks]\nface_temperature: 10\nstirred: {value: no, source: told}"
RIVALS = "symptoms: [soft_face]\nface_temperature: 20 degC\nchanged: {value: [person], source: told}"
WRONG_GRAMS = "symptoms: [soft_face]\na_mass: 85 g\nb_mass: 200 g\nratio_target: 50\nface_temperature: 30"


def _printed(shown: Shown, screen: Any) -> list[str]:
    print_card(shown, screen)
    return str(screen.getvalue()).splitlines()


def test_a_clear_case_on_one_card(worded: Worded, card: Card) -> None:
    """Cause and chance, the change with its minutes, the part, the check, a good sign and whom to suspect next."""
    assert card(worded(COLD)) == {
        "It is": "Face too cold (very likely, about 90 %).",
        "Next pour": "Warm the mold (70 min). All else as it was.",
        "This part": "Try first: rest it warm (2 h, a gamble). A thumb leaves no dent.",
        "Check first": "Nothing more is worth its minutes.",
        "Think again": 'Good sign: hold a thermometer on the face. If it comes again, suspect "Short of A".',
    }


def test_two_causes_at_once_are_both_on_the_card(worded: Worded, card: Card) -> None:
    """Where two had a part together the card names both, with the chance that both had."""
    assert card(worded(BOTH))["It is"].startswith('"Badly mixed" and "Face too cold", both together (')


def test_rivals_are_told_as_a_choice(worded: Worded, card: Card) -> None:
    """Where it isn't settled both names stand with their chances, and the outcome of the change is read beforehand."""
    said = card(worded(RIVALS))
    assert re.fullmatch(r'Not settled: "[^"]+" \(about \d0 %\) or "[^"]+" \(about \d0 %\)\.', said["It is"])
    assert re.fullmatch(r'A good part says "[^"]+"; the same fault again says "[^"]+"\.', said["Think again"])


def test_nothing_seen_asks_for_a_fault(worded: Worded, card: Card) -> None:
    """Without a fault the card asks for one, says where to look, and offers nothing."""
    assert card(worded("symptoms_absent: [dust]")) == {
        "It is": "Nothing is told as seen on the part, so there is nothing to explain yet. Say first what is wrong with it.",
        "Check first": "Look: face soft, inside firm? (1 min) Press the face, then a fresh cut.",
    }


def test_a_misfit_changes_nothing(worded: Worded, card: Card) -> None:
    """Where none of the causes fits the card says so and asks to change nothing."""
    rarer = ("streaks: usually - what was", "streaks: sometimes - what was")
    said = card(worded("symptoms: [streaks]\ncup: good\nstirred: yes\nfresh_cup: good\nface_temperature: 20", rarer))
    assert said["It is"].startswith("None of the causes known here fits well; something else had a part (")
    assert said["Next pour"].startswith("Change nothing yet; find out first.")
    assert "Think again" not in said


def test_the_own_grams_are_told(worded: Worded, card: Card) -> None:
    """Where the ratio is what is changed, the card says what was needed for the B that was weighed, and what was there."""
    said = card(worded(WRONG_GRAMS))
    assert "For 200 g of B you needed 100 g of A; you had 85 g." in said["Next pour"]


def test_the_own_grams_are_told_in_the_own_units(worked: Told, card: Card) -> None:
    """A case weighed in ounces is told in ounces, grams in brackets."""
    shown = next(shown for name, _, shown in worked if name == "soft-and-sticky-hands")
    said = card(words_of(shown, Wanted()))["Next pour"]
    assert "For 8 oz (227 g) of B you needed 4.8 oz (136 g) of A; you had 4.1 oz (116 g)." in said


def test_a_case_in_fahrenheit_is_told_in_fahrenheit(worked: Told, card: Card) -> None:
    """Temperatures follow the case, the other scale stands in brackets."""
    shown = next(shown for name, _, shown in worked if name == "tusks-in-march")
    words = words_of(shown, Wanted())
    assert "material temperature 56 °F (13.3 °C), allowed 68 to 81 °F (20 to 27 °C)" in card(words)["It is"]
    evidence = [" ".join(line.split()) for row in words.sections[0].blocks[1].rows for line in row.lines]  # type: ignore[union-attr]
    assert any("material temperature 56 °F (13.3 °C)" in line for line in evidence)


def test_the_sides_are_named_where_they_are_spoken_of(worked: Told) -> None:
    """Wherever a report says A or B it says which side that is, on the card already; a report that doesn't is not burdened."""
    noted = {name: bool(words_of(shown, Wanted()).card.note) for name, _, shown in worked}
    assert noted["tusks-in-march"]
    assert noted["prune-by-the-hour"]
    assert not noted["enamel-on-a-blade"]
    for name, _, shown in worked:
        words = words_of(shown, Wanted(full=True))
        assert words.card.note == "A is the isocyanate (hard) side, B the polyol (soft) side.", name


def test_no_card_is_longer_than_twelve_lines(worked: Told, drawn: Told, wide: Wide) -> None:
    """At 80 columns each card has at most 12 lines under its dangers, for the worked cases and for those drawn at random."""
    long = {}
    for name, _, shown in [*worked, *drawn]:
        lines = _printed(shown, wide(80))
        told = [line for line in lines if not line.startswith(("!! ", "   "))]
        rows = lines[len(lines) - len(lines[lines.index(told[0]) :]) :]
        assert max(map(len, lines)) <= 80, name
        if len(rows) > 12:
            long[name] = rows
    assert long == {}


def test_every_card_speaks_in_whole_sentences(worked: Told, drawn: Told, card: Card) -> None:
    """No text is cut off, and each row ends as a sentence or with the minutes of a question."""
    for name, _, shown in [*worked, *drawn]:
        for label, text in card(words_of(shown, Wanted())).items():
            assert "..." not in text, (name, label)
            assert text.endswith((".", "?", ")")), (name, label, text)
            assert text.count("(") == text.count(")"), (name, label, text)


def test_the_default_report_fits_a_tall_screen(worked: Told, wide: Wide) -> None:
    """Card and causes of each worked case take at most 45 lines at 100 columns."""
    found = {}
    for name, _, shown in worked:
        screen = wide(100)
        print_report(shown, screen)
        found[name] = len(screen.getvalue().splitlines())
    assert {name: count for name, count in found.items() if count > 45} == {}


@pytest.mark.parametrize("columns", [30, 60, 80])
def test_the_card_alone_folds_to_the_screen(worked: Told, wide: Wide, columns: int) -> None:
    """The card is never wider than the screen, nor than a mail, and a number stays with its unit."""
    for name, _, shown in worked[:6]:
        lines = _printed(shown, wide(columns))
        assert max(map(len, lines)) <= columns, name
        assert not any(re.match(r"\s*(%|°C|min\b|h\b)", line) for line in lines), name
