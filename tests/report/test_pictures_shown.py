"""What each picture shows: bones by their chance, beliefs by the answers, the map by its links."""

from __future__ import annotations

import re
from collections.abc import Callable
from itertools import pairwise
from typing import Any
from xml.etree import ElementTree as ET

import pytest
from msgspec.structs import replace

from diagnose.assessment.consultation import Consultation
from diagnose.casebook import Case
from diagnose.knowledge import Knowledge
from diagnose.report.pictures import drawing as pictures
from diagnose.report.pictures.belief_run import (
    MOST_ROWS,
    UNLISTED,
    beliefs_of,
    beliefs_words,
    draw_beliefs,
)
from diagnose.report.pictures.canvas import Label
from diagnose.report.pictures.fishbone import Bone, Twig, fishbone_of
from diagnose.report.pictures.fishbone_layout import draw_fishbone
from diagnose.report.pictures.symptom_map import MOST_CAUSES, SPEAKS, TELLS, map_of

Consult = Callable[..., Consultation]
CASE = "symptoms: [soft_face, streaks]\nface_temperature: 10\nstirred: {value: no, source: told}\nchanged: unknown"


@pytest.fixture(scope="module")
def by_name(worked: list[Any]) -> dict[str, Consultation]:
    """The worked cases, thought through, by name."""
    return {name: consultation for name, consultation, _ in worked}


def widths(svg: str, prefix: str) -> dict[str, float]:
    """The stroke widths of the marks whose id begins with *prefix*, by the rest of the id."""
    found = {}
    for mark in ET.fromstring(svg).iter():
        name = mark.get("id", "")
        if name.startswith(prefix):
            found[name.removeprefix(prefix)] = float(mark.get("stroke-width", "1"))
    return found


def texts(svg: str) -> str:
    """All texts of a picture in reading order, without the words for readers."""
    return " ".join(
        " ".join("".join(mark.itertext()).split())
        for mark in ET.fromstring(svg).iter()
        if mark.tag.rpartition("}")[2] == "text"
    )


# -- the fishbone --------------------------------------------------------------------------------------------------


def test_bones_are_as_thick_as_their_chance(by_name: dict[str, Consultation]) -> None:
    """In every worked case the order of thickness is the order of the chances, for causes and for stages."""
    for name, situation in by_name.items():
        fish, svg = fishbone_of(situation), pictures.fishbone_svg(situation)
        chances = {belief.id: belief.probability for belief in situation.situation.beliefs.causes}
        for thick, by in (
            (widths(svg, "fishbone-cause-"), chances),
            (widths(svg, "fishbone-stage-"), {bone.stage: bone.chance for bone in fish.bones}),
        ):
            assert thick, name
            order = sorted(thick, key=lambda key: -by[key])
            for one, other in pairwise(order):
                assert thick[one] >= thick[other], (name, one, other)
                assert thick[one] > thick[other] or by[one] - by[other] < 0.001, (name, one, other)


def test_the_fishbone_names_what_it_shows(by_name: dict[str, Consultation]) -> None:
    """Symptoms, stages, and every cause of 5 percent or more, six to a bone, stand on the picture and in its words."""
    for situation in by_name.values():
        svg, words = pictures.fishbone_svg(situation), pictures.fishbone_text(situation)
        shown = texts(svg)
        for symptom in situation.symptoms_seen:
            assert situation.knowledge.symptoms[symptom].title in shown
        leading = [
            belief
            for bone in fishbone_of(situation).bones
            for belief in [
                b
                for b in situation.situation.beliefs.causes
                if b.probability >= 0.05 and situation.knowledge.causes[b.id].stage == bone.stage
            ][:6]
        ]
        for belief in leading:
            title = situation.knowledge.causes[belief.id].title
            assert re.split(r"[ -]", title)[0] in shown
            assert title[1:] in words
        assert set(widths(svg, "fishbone-cause-")) == {belief.id for belief in leading}
        assert "had a part: " in words


def test_every_cause_has_a_bone_or_a_twig(by_name: dict[str, Consultation]) -> None:
    """Labels and fine twigs together are the causes that apply, none twice."""
    for situation in by_name.values():
        fish = fishbone_of(situation)
        assert sum(len(bone.twigs) + bone.rest for bone in fish.bones) == len(situation.situation.beliefs.causes)


def test_stages_that_the_part_has_not_are_only_named(by_name: dict[str, Consultation]) -> None:
    """Bare foam has no bone for the skin coat, and the picture says so."""
    svg = pictures.fishbone_svg(by_name["bat-ears-after-a-clean"])
    assert not set(widths(svg, "fishbone-stage-")) & {"skin_coat"}
    assert "Not on this kind of part: skin coat." in texts(svg)
    assert "Not on this kind of part: skin coat." in pictures.fishbone_text(by_name["bat-ears-after-a-clean"])


def test_a_stage_counts_its_causes_together(consult: Consult) -> None:
    """The bone of a stage is thicker than any of its causes, and thinner than their sum, where two of them act."""
    fish = fishbone_of(consult(CASE))
    mixing = next(bone for bone in fish.bones if bone.stage == "mixing")
    chances = [
        belief.probability
        for belief in consult(CASE).situation.beliefs.causes
        if belief.id in ("badly_mixed", "short_of_a")
    ]
    assert max(chances) < mixing.chance < sum(chances)


def test_a_fishbone_of_everything_stays_on_its_sheet(by_name: dict[str, Consultation], shipped: Knowledge) -> None:
    """With every cause likely and a dozen symptoms nothing leaves the sheet, and what has no room is counted."""
    bones = []
    for bone in fishbone_of(by_name["tusks-in-march"]).bones:
        twigs = [Twig(cause.id, cause.title, 0.9) for cause in shipped.causes.values() if cause.stage == bone.stage]
        bones.append(Bone(bone.stage, 0.95, tuple(twigs[:6]), max(0, len(twigs) - 6)))
    seen = tuple(symptom.title for symptom in list(shipped.symptoms.values())[:12])
    sheet = draw_fishbone(replace(fishbone_of(by_name["tusks-in-march"]), bones=tuple(bones), symptoms=seen))
    labels = [part for part in sheet.parts if isinstance(part, Label)]
    assert sheet.height <= 274.0
    assert all(0.5 <= label.x <= sheet.width and 0.5 <= label.y <= sheet.height for label in labels)
    assert "and 5 more" in [label.text for label in labels]
    assert any(label.text.endswith("small") for label in labels)


# -- the run of beliefs --------------------------------------------------------------------------------------------


def test_the_last_row_is_the_result(by_name: dict[str, Consultation]) -> None:
    """Every line ends at the chance of the report, and the first cause has a line."""
    for situation in by_name.values():
        run = beliefs_of(situation)
        last = {belief.id: belief.probability for belief in situation.situation.beliefs.causes}
        assert situation.situation.beliefs.causes[0].id in [line.id for line in run.runs]
        for line in run.runs:
            assert line.last == pytest.approx(
                last[line.id] if line.id else situation.situation.beliefs.unexplained, abs=1e-9
            )


def test_each_row_is_the_case_so_far(consult: Consult) -> None:
    """After each answer the chances are those of the case with the answers until then, and nothing before a symptom."""
    given = ["face_temperature: 10", "symptoms: [soft_face]", "stirred: no"]
    run = beliefs_of(consult("\n".join(given)))
    assert len(run.answers) == 3
    for line in run.runs:
        assert line.chances[0] == 0.0
        for i in (1, 2):
            beliefs = consult("\n".join(given[: i + 1])).situation.beliefs
            expected = {belief.id: belief.probability for belief in beliefs.causes} | {"": beliefs.unexplained}
            assert line.chances[i] == pytest.approx(expected[line.id], abs=1e-12)


def test_what_once_led_has_a_line(by_name: dict[str, Consultation]) -> None:
    """A cause that led after an earlier answer is shown, though it leads no more."""
    situation = by_name["bare-fan-by-the-seam"]
    told = list(situation.case.answers)
    early = situation.case.only(told[:4])
    first = Consultation(situation.models, early).situation.beliefs.causes[0].id
    assert first != situation.situation.beliefs.causes[0].id
    assert first in [line.id for line in beliefs_of(situation).runs]


def test_dont_know_is_counted_not_drawn(consult: Consult) -> None:
    """An answer that says nothing has no row; the picture and its words say how many there are."""
    svg = pictures.beliefs_svg(consult(CASE))
    assert len([mark for mark in ET.fromstring(svg).iter() if mark.get("id", "").startswith("beliefs-answer-")]) == 4
    assert "1 question answered by don't know changed nothing and is left out." in texts(svg)
    assert "1 question answered by don't know changed nothing and is left out." in pictures.beliefs_text(consult(CASE))


def test_lines_and_names_carry_the_same_marks(by_name: dict[str, Consultation]) -> None:
    """Each line has a name, and no two lines of a picture share a color with the same dashes."""
    for situation in by_name.values():
        run, svg = beliefs_of(situation), pictures.beliefs_svg(situation)
        looks = {
            mark.get("id", ""): (mark.get("stroke"), mark.get("stroke-dasharray"))
            for mark in ET.fromstring(svg).iter()
            if "-run-" in mark.get("id", "")
        }
        assert len(looks) == len(run.runs)
        assert len(set(looks.values())) == len(run.runs)
        assert len({dash for _, dash in looks.values()}) == len(run.runs)
        for line in run.runs:
            assert line.title.split()[0] in texts(svg)


def test_what_is_not_on_the_list_is_shown_where_it_matters(by_name: dict[str, Consultation]) -> None:
    """Where something outside the list is likelier than most causes it has a line of its own."""
    assert UNLISTED in [line.title for line in beliefs_of(by_name["stopped-short-in-the-pot"]).runs]
    assert UNLISTED not in [line.title for line in beliefs_of(by_name["one-to-two-of-what"]).runs]


def test_too_many_answers_still_fit_a_sheet(by_name: dict[str, Consultation], shipped: Knowledge) -> None:
    """Beyond what fits the answers that moved least are left out and counted; the last row is the result all the same."""
    from diagnose.reasoning.answers import Answer

    situation = by_name["tusks-in-march"]
    silent = [name for name in shipped.symptoms if name not in situation.case.answers][: MOST_ROWS + 5]
    answers = {**{name: Answer("absent") for name in silent}, **situation.case.values}
    run = beliefs_of(Consultation(situation.models, Case.of(answers)))
    known = sum(answer.known for answer in answers.values())
    assert len(run.answers) == MOST_ROWS
    assert run.still == known - MOST_ROWS
    assert draw_beliefs(run).height <= 274.0
    assert f"{run.still} answers that moved little are left out." in beliefs_words(run).text


# -- the map -------------------------------------------------------------------------------------------------------


def test_the_map_shows_the_links_of_the_knowledge(shipped: Knowledge) -> None:
    """Causes stand by their link, a remedy by its own, a check or a fact only where it speaks for the cause; what doesn't fit is counted."""
    for symptom in shipped.symptoms:
        made = map_of(shipped, symptom)
        links = [shipped.causes[row.cause].symptoms[symptom].p for row in made.rows]
        assert links == sorted(links, reverse=True) == [row.p for row in made.rows]
        linked = sum(symptom in cause.symptoms for cause in shipped.causes.values())
        assert len(made.rows) == min(linked, MOST_CAUSES)
        assert made.more == linked - len(made.rows)
        for row in made.rows:
            cause = shipped.causes[row.cause]
            assert row.remedy is not None, "each cause has a remedy for the pours to come"
            assert row.remedy.p == shipped.remedies[row.remedy.id].fixes[row.cause].p
            assert shipped.remedies[row.remedy.id].when != "this_part"
            if row.check is not None and row.check.kind == "check":
                assert max(link.p for link in cause.checks[row.check.id].values()) >= row.check.p >= TELLS
            elif row.check is not None:
                evidence = cause.facts[row.check.id]
                assert max([*evidence.choices.values(), *(ratio for _, ratio in evidence.curve)]) >= SPEAKS


def test_links_are_as_wide_as_they_are_sure(shipped: Knowledge) -> None:
    """On every map a surer link is a wider line, and a cause that shows so oftener has a longer bar."""
    made, svg = map_of(shipped, "short_fill"), pictures.map_svg(shipped, "short_fill")
    for prefix, chances in (
        ("map-mends-", {row.cause: row.remedy.p for row in made.rows if row.remedy}),
        ("map-tells-", {row.cause: row.check.p for row in made.rows if row.check}),
    ):
        drawn = widths(svg, prefix)
        assert drawn.keys() == chances.keys()
        for one in chances:
            for other in chances:
                assert (chances[one] > chances[other]) == (drawn[one] > drawn[other])


def test_every_row_of_the_map_is_labelled(shipped: Knowledge) -> None:
    """Each row says how often the cause shows so and how surely its remedy works; the legend explains bar and line; the rest is counted."""
    made, shown = map_of(shipped, "short_fill"), texts(pictures.map_svg(shipped, "short_fill"))
    assert sum(shown.count(f"{word} shows so") for word in {row.word for row in made.rows}) == len(made.rows)
    assert "Bar: how often the cause shows as this fault usually sometimes" in shown
    assert "mends it on the next pour" in shown
    assert made.more > 0
    said = f"Left out: {made.more} causes that show so more seldom."
    assert said in shown
    assert said in pictures.map_text(shipped, "short_fill")


def test_the_map_in_words(trade: Knowledge) -> None:
    """The words of a small map name causes, what mends them and how surely, and what tells them."""
    assert " ".join(pictures.map_text(trade, "soft_face").split()) == (
        "Map of the symptom face soft, inside firm: its causes, the oftenest first, each with what mends it and what tells it. "
        "Face too cold: usually shows so; mended by warm the mold (usually works); told by face temperature near 10 °C (points to it). "
        "Short of A: sometimes shows so; mended by weigh both sides (usually works); told by cup leftover: soft (usually shows)."
    )
