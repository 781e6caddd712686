"""What stands in one report never contradicts itself: headline, list, advice, numbers, over worked cases and drawn ones."""

from __future__ import annotations

import io
import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from diagnose.assessment.assess import assess
from diagnose.assessment.consultation import Consultation, ModelCache
from diagnose.casebook import read_case
from diagnose.prose.chance import figure, tens
from diagnose.reasoning.inference import Inference
from diagnose.reasoning.network import Model
from diagnose.report.document import Entry, Words
from diagnose.report.html import page_of
from diagnose.report.terminal import print_report
from diagnose.report.text.sections import Wanted, words_of
from diagnose.report.text.shown import Shown

Told = list[tuple[str, Consultation, Shown]]
Card = Callable[[Words], dict[str, str]]
Texts = Callable[[Words, str], list[str]]


@pytest.fixture(scope="session")
def everyone(worked: Told, drawn: Told) -> Told:
    """The worked cases and those drawn at random."""
    return [*worked, *drawn]


def _listed(words: Words) -> list[tuple[str, str]]:
    """The causes as they are listed: title and chance in figures, those in full first, then those only named."""
    found = []
    for section in words.sections:
        for block in section.blocks if section.key == "causes" else ():
            if isinstance(block, Entry):
                found.append((block.head.partition(". ")[2], block.aside.partition(", ")[2]))
            elif isinstance(block, str) and block.startswith("Also: "):
                found += re.findall(r"(?:^Also: |; )(.+?) \(((?:about|under|over) \d+ %)\)", block)
    return found


def test_the_drawn_cases_meet_every_kind_of_verdict(drawn: Told) -> None:
    """What follows is tried on all of them, and on cases with dangers and with two changes."""
    kinds = {shown.assessment.verdict.kind for _, _, shown in drawn}
    assert kinds == {"none_fits", "too_little", "one", "both", "open"}
    assert any(shown.assessment.dangers for _, _, shown in drawn)
    assert any(shown.assessment.change and len(shown.assessment.change.remedies) > 1 for _, _, shown in drawn)


def test_the_headline_agrees_with_the_list(everyone: Told, card: Card) -> None:
    """What the card names leads the list below it in the same order; a misfit names none, and nothing likely stands below it."""
    for name, _, shown in everyone:
        words, verdict = words_of(shown, Wanted()), shown.assessment.verdict
        listed = [title for title, _ in _listed(words)]
        titles = [shown.knowledge.causes[cause].title for cause in verdict.causes]
        headline = card(words)["It is"]
        assert listed[: len(titles)] == titles, name
        assert all(title in headline for title in titles[:2]), name
        first = shown.assessment.causes[0].probability
        if verdict.kind == "none_fits":
            assert not titles, name
            assert first < 0.5, name
        if verdict.kind == "too_little":
            assert first < 0.5, name
        if verdict.kind == "both":
            assert min(tens(s.probability) for s in shown.assessment.causes[:2]) >= 50, name
        if verdict.kind == "one" and len(shown.assessment.causes) > 1:
            assert shown.assessment.causes[1].probability < first, name


def test_a_misfit_is_said_for_good_only_when_nothing_is_left_to_ask(everyone: Told, card: Card) -> None:
    """While questions are open that might change it, none fits "so far"; both are met."""
    settled = {}
    for name, _, shown in everyone:
        if shown.assessment.verdict.kind == "none_fits":
            so_far = card(words_of(shown, Wanted()))["It is"].startswith("So far none")
            assert so_far != shown.assessment.settled, name
            settled[shown.assessment.settled] = name
    assert len(settled) == 2


def test_the_advice_names_causes_of_the_list(everyone: Told) -> None:
    """Every cause that the change is for, or that its outcome names, stands in the list on the screen, unless it was measured wrong."""
    for name, _, shown in everyone:
        found = shown.assessment
        if found.change is None:
            continue
        listed = {title for title, _ in _listed(words_of(shown, Wanted()))}
        named = [*found.change.causes, found.change.leaves]
        if found.change.parting is not None:
            named += [found.change.parting.good, found.change.parting.bad]
        measured = {cause for item in found.out_of_bounds if item.measured for cause in item.causes}
        assert all(shown.knowledge.causes[c].title in listed or c in measured for c in named if c), name
        for use in found.change.remedies:
            assert any(cause in found.change.causes for cause, _ in use.mends) or found.change.parting, name


def test_nothing_is_changed_where_nothing_fits(everyone: Told, card: Card) -> None:
    """Under a headline that none fits, or too little told, a change is offered only for what was measured wrong or leads."""
    for name, _, shown in everyone:
        found, said = shown.assessment, card(words_of(shown, Wanted()))["Next pour"]
        assert said.startswith("Change nothing yet") == (found.change is None), name
        if found.verdict.kind == "none_fits" and found.change is not None:
            assert any(item.measured and item.causes for item in found.out_of_bounds), name


def test_one_cause_has_one_number(everyone: Told) -> None:
    """Wherever a report gives the chance of a cause, on card, list or in a sentence, it is the same figure."""
    for name, _, shown in everyone:
        chances = {shown.knowledge.causes[s.id].title: figure(s.probability) for s in shown.assessment.causes}
        words = words_of(shown, Wanted(full=True))
        for title, told in _listed(words):
            assert told == chances[title], (name, title)
        for title, told in _figures(words):
            assert told == chances[title], (name, title)


def _figures(words: Words) -> Iterator[tuple[str, str]]:
    """Each cause in quotes with a figure right behind it, on the card."""
    for row in words.card.rows:
        for line in row.lines if row.label == "It is" and "both together" not in row.lines[0] else ():
            yield from re.findall(r'"([^"]+)" \((?:[^()]*, )?((?:about|under|over) \d+ %)\)', line)


def test_the_screen_says_one_number_too(worked: Told) -> None:
    """What is printed gives each chance as the list does, with the word that belongs to the figure."""
    for name, _, shown in worked:
        out = io.StringIO()
        print_report(shown, out)
        for title, told in _listed(words_of(shown, Wanted())):
            assert re.search(re.escape(title) + r" \((?:[a-z ]+, )?" + re.escape(told) + r"\)", out.getvalue()), name


def test_answers_that_speak_for_a_cause_carry_the_mechanism(worked: Told, texts: Texts) -> None:
    """Of the first cause each answer for it that the knowledge links to it says why, and one that only weakens a rival says that."""
    carried = 0
    for name, _, shown in worked:
        first = shown.assessment.causes[0]
        lines = [line for line in texts(words_of(shown, Wanted()), "causes") if line.startswith("For: ")]
        for evidence in first.speaks_for[:3]:
            line = next(line for line in lines if " ".join(shown.evidence(evidence).split()) in line)
            if evidence.indirect:
                assert line.endswith(" - it speaks against a rival"), name
            elif evidence.mechanism:
                assert line.endswith(f" - {evidence.mechanism}"), name
                carried += 1
    assert carried >= len(worked)


def test_answers_that_stand_in_for_one_another_are_told_together(models: ModelCache, texts: Texts, card: Card) -> None:
    """Cold cans on a cold floor: either answer alone would be silent beside the other, so both stand on one line with one weight."""
    from diagnose.casebook import case_from_bytes

    text = (
        "case: 1\ntitle: Cold shop\nanswers:\n  build: bare_foam\n  painted: no\n  symptoms: [thin_skin, slow_reaction]\n"
        "  material_temperature: 14 degC\n  room_temperature: 13 degC\n"
    )
    consultation = Consultation(models, case_from_bytes(text.encode(), "cold.yaml", models.knowledge))
    shown = Shown.of(assess(consultation), consultation.case, models.knowledge)
    lines = texts(words_of(shown, Wanted()), "causes")
    assert any("material temperature 14 °C" in line and "room temperature 13 °C" in line for line in lines)


def test_what_is_out_of_bounds_is_on_the_screen(everyone: Told) -> None:
    """Every value out of bounds is named with what is allowed, whatever leads and however full the card is."""
    met = 0
    for name, _, shown in everyone:
        words = words_of(shown, Wanted())
        told = [line for row in words.card.rows for line in row.lines]
        told += [block for section in words.sections if section.key == "bounds" for block in section.blocks]
        for item in shown.assessment.out_of_bounds:
            met += 1
            assert shown.bound(item.name).lower() in " ".join(map(str, told)).lower(), name
    assert met > 10


def test_a_danger_stands_above_everything(everyone: Told) -> None:
    """A danger found is printed before the title, in full, and never left out by a full card."""
    for name, _, shown in everyone:
        words = words_of(shown, Wanted())
        assert len(words.card.dangers) == len(shown.assessment.dangers), name
        for danger, said in zip(shown.assessment.dangers, words.card.dangers, strict=True):
            assert shown.knowledge.dangers[danger.id].say in said, name


@pytest.mark.parametrize("full", [False, True])
def test_a_report_thinks_once(
    shipped: object, models: ModelCache, cases: list[Path], monkeypatch: pytest.MonkeyPatch, full: bool
) -> None:
    """A report builds one network and one inference, page and picture included; one more to leave out answers that have a twin."""
    built: list[object] = []

    def counting(owner: type, name: str) -> None:
        make = getattr(owner, name)

        def counted(self: object, *given: object) -> object:
            built.append(self)
            return make(self, *given)

        monkeypatch.setattr(owner, name, counted)

    counting(Inference, "__init__")
    counting(Model, "network")
    twins = set()
    for path in cases:
        built.clear()
        consultation = Consultation(models, read_case(path, models.knowledge))
        shown = Shown.of(assess(consultation, full), consultation.case, models.knowledge)
        print_report(shown, io.StringIO(), Wanted(full=full, why=full, sums=full))
        if full:
            page_of(shown, consultation)
        two_views = bool(consultation.situation.network.merged)
        twins.add(two_views)
        assert len(built) == 2 + two_views, path.stem
    assert twins == {False, True}
