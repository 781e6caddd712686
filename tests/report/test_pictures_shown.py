"""What each picture shows: bones by their chance, beliefs by the answers, the map by its links."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest

from diagnose.assessment.situation import ModelCache, Situation
from diagnose.casebook import read_case
from diagnose.knowledge import Knowledge
from diagnose.knowledge.graph import graph_of
from diagnose.report.pictures import drawing as pictures
from diagnose.report.pictures.belief_run import (
    MOST_ROWS,
    UNLISTED,
    BeliefRun,
    Run,
    _fitting,
    beliefs_of,
    beliefs_words,
    draw_beliefs,
)
from diagnose.report.pictures.canvas import Label
from diagnose.report.pictures.fishbone import Bone, Twig, fishbone_of
from diagnose.report.pictures.fishbone_layout import draw_fishbone
from diagnose.report.pictures.symptom_map import MOST_CAUSES, MOST_REMEDIES, Edge, map_of

Consult = Callable[..., Situation]
CASE = "symptoms: [soft_face, streaks]\nface_temperature: 10\nstirred: {value: no, source: told}\nchanged: unknown"


@pytest.fixture(scope="module")
def worked(shipped: Knowledge, cases: list[Path]) -> dict[str, Situation]:
    """The worked cases, thought through."""
    models = ModelCache(shipped)
    return {path.stem: Situation(models, read_case(path, shipped)) for path in cases}


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


def test_bones_are_as_thick_as_their_chance(worked: dict[str, Situation]) -> None:
    """In every worked case the order of thickness is the order of the chances, for causes and for stages."""
    for name, situation in worked.items():
        fish, svg = fishbone_of(situation), pictures.fishbone_svg(situation)
        chances = {belief.id: belief.probability for belief in situation.beliefs.causes}
        for thick, by in (
            (widths(svg, "fishbone-cause-"), chances),
            (widths(svg, "fishbone-stage-"), {bone.stage: bone.chance for bone in fish.bones}),
        ):
            assert thick, name
            order = sorted(thick, key=lambda key: -by[key])
            for one, other in pairwise(order):
                assert thick[one] >= thick[other], (name, one, other)
                assert thick[one] > thick[other] or by[one] - by[other] < 0.001, (name, one, other)


def test_the_fishbone_names_what_it_shows(worked: dict[str, Situation]) -> None:
    """Symptoms, stages, and every cause of 5 percent or more stand on the picture and in its words."""
    for situation in worked.values():
        svg, words = pictures.fishbone_svg(situation), pictures.fishbone_text(situation)
        shown = texts(svg)
        for symptom in situation.symptoms_seen:
            assert situation.knowledge.symptoms[symptom].title in shown
        leading = [belief for belief in situation.beliefs.causes if belief.probability >= 0.05]
        for belief in leading:
            title = situation.knowledge.causes[belief.id].title
            assert title.replace("- ", "-").split()[0] in shown
            assert title[1:] in words
        assert set(widths(svg, "fishbone-cause-")) == {belief.id for belief in leading}
        assert "had a part: " in words


def test_every_cause_has_a_bone_or_a_twig(worked: dict[str, Situation]) -> None:
    """Labels and fine twigs together are the causes that apply, none twice."""
    for situation in worked.values():
        fish = fishbone_of(situation)
        assert sum(len(bone.twigs) + bone.rest for bone in fish.bones) == len(situation.beliefs.causes)


def test_stages_that_the_part_has_not_are_only_named(worked: dict[str, Situation]) -> None:
    """Bare foam has no bone for skin coat and painting, and the picture says so."""
    svg = pictures.fishbone_svg(worked["bat-ears-after-a-clean"])
    assert not set(widths(svg, "fishbone-stage-")) & {"skin_coat", "painting"}
    assert "Not on this kind of part: skin coat and painting." in texts(svg)
    assert "Not on this kind of part: skin coat and painting." in pictures.fishbone_text(
        worked["bat-ears-after-a-clean"]
    )


def test_a_stage_counts_its_causes_together(consult: Consult) -> None:
    """The bone of a stage is thicker than any of its causes, and thinner than their sum, where two of them act."""
    fish = fishbone_of(consult(CASE))
    mixing = next(bone for bone in fish.bones if bone.stage == "mixing")
    chances = [
        belief.probability for belief in consult(CASE).beliefs.causes if belief.id in ("badly_mixed", "short_of_a")
    ]
    assert max(chances) < mixing.chance < sum(chances)


def test_a_fishbone_of_everything_stays_on_its_sheet(worked: dict[str, Situation], shipped: Knowledge) -> None:
    """With every cause likely and a dozen symptoms nothing leaves the sheet, and what has no room is counted."""
    bones = []
    for bone in fishbone_of(worked["tusks-in-march"]).bones:
        twigs = [Twig(cause.id, cause.title, 0.9) for cause in shipped.causes.values() if cause.stage == bone.stage]
        bones.append(Bone(bone.stage, 0.95, tuple(twigs[:6]), max(0, len(twigs) - 6)))
    seen = tuple(symptom.title for symptom in list(shipped.symptoms.values())[:12])
    sheet = draw_fishbone(replace(fishbone_of(worked["tusks-in-march"]), bones=tuple(bones), symptoms=seen))
    labels = [part for part in sheet.parts if isinstance(part, Label)]
    assert sheet.height <= 274.0
    assert all(0.5 <= label.x <= sheet.width and 0.5 <= label.y <= sheet.height for label in labels)
    assert "and 5 more" in [label.text for label in labels]
    assert any(label.text.endswith("small") for label in labels)


# -- the run of beliefs --------------------------------------------------------------------------------------------


def test_the_last_row_is_the_result(worked: dict[str, Situation]) -> None:
    """Every line ends at the chance of the report, and the first cause has a line."""
    for situation in worked.values():
        run = beliefs_of(situation)
        last = {belief.id: belief.probability for belief in situation.beliefs.causes}
        assert situation.beliefs.causes[0].id in [line.id for line in run.runs]
        for line in run.runs:
            assert line.last == pytest.approx(last[line.id] if line.id else situation.beliefs.unexplained, abs=1e-9)


def test_each_row_is_the_case_so_far(consult: Consult) -> None:
    """After each answer the chances are those of the case with the answers until then, and nothing before a symptom."""
    given = ["face_temperature: 10", "symptoms: [soft_face]", "stirred: no"]
    run = beliefs_of(consult("\n".join(given)))
    assert len(run.answers) == 3
    for line in run.runs:
        assert line.chances[0] == 0.0
        for i in (1, 2):
            beliefs = consult("\n".join(given[: i + 1])).beliefs
            expected = {belief.id: belief.probability for belief in beliefs.causes} | {"": beliefs.unexplained}
            assert line.chances[i] == pytest.approx(expected[line.id], abs=1e-12)


def test_what_once_led_has_a_line(worked: dict[str, Situation]) -> None:
    """A cause that led after an earlier answer is shown, though it leads no more."""
    situation = worked["bare-fan-by-the-seam"]
    told = list(situation.case.values)
    early = situation.case.only(told[:4])
    first = Situation(situation.models, early).beliefs.causes[0].id
    assert first != situation.beliefs.causes[0].id
    assert first in [line.id for line in beliefs_of(situation).runs]


def test_dont_know_is_counted_not_drawn(consult: Consult) -> None:
    """An answer that says nothing has no row; the picture and its words say how many there are."""
    svg = pictures.beliefs_svg(consult(CASE))
    assert len([mark for mark in ET.fromstring(svg).iter() if mark.get("id", "").startswith("beliefs-answer-")]) == 4
    assert "1 question answered by don't know changed nothing and is left out." in texts(svg)
    assert "1 question answered by don't know changed nothing and is left out." in pictures.beliefs_text(consult(CASE))


def test_lines_and_names_carry_the_same_marks(worked: dict[str, Situation]) -> None:
    """Each line has a name, and no two lines of a picture share a color with the same dashes."""
    for situation in worked.values():
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


def test_what_is_not_on_the_list_is_shown_where_it_matters(worked: dict[str, Situation]) -> None:
    """Where something outside the list is likelier than most causes it has a line of its own."""
    assert UNLISTED in [line.title for line in beliefs_of(worked["stopped-short-in-the-pot"]).runs]
    assert UNLISTED not in [line.title for line in beliefs_of(worked["one-to-two-of-what"]).runs]


def test_too_many_answers_leave_out_those_that_moved_least() -> None:
    """Beyond what fits the answers that moved no line much are left out and counted; the last one stays."""
    count = MOST_ROWS + 15
    chances = tuple(0.5 if i >= 20 else 0.1 for i in range(count))
    run = _fitting(BeliefRun("Many", tuple(f"answer {i}" for i in range(count)), (Run("one", "One", chances),), 0, 0))
    assert len(run.answers) == MOST_ROWS
    assert run.still == 15
    assert "answer 20" in run.answers
    assert run.answers[-1] == f"answer {count - 1}"
    assert run.runs[0].last == 0.5
    assert draw_beliefs(run).height <= 274.0
    assert "15 answers that moved little are left out." in beliefs_words(run).text


# -- the map -------------------------------------------------------------------------------------------------------


def test_the_map_is_the_graph(shipped: Knowledge) -> None:
    """Every edge on the map is a link of the knowledge with its probability, and causes stand by their link."""
    for symptom in shipped.symptoms:
        made = map_of(shipped, symptom)
        links = [shipped.causes[node.id].symptoms[symptom].p for node in made.causes]
        assert links == sorted(links, reverse=True)
        assert len(made.causes) + made.more_causes == sum(
            symptom in cause.symptoms for cause in shipped.causes.values()
        )
        assert len(made.causes) <= MOST_CAUSES
        assert len(made.remedies) <= MOST_REMEDIES
        for edge in made.edges:
            assert edge.p == _link(shipped, symptom, edge)


def _link(knowledge: Knowledge, symptom: str, edge: Edge) -> float:
    if edge.source.kind == "remedy":
        return knowledge.remedies[edge.source.id].fixes[edge.target.id].p
    cause = knowledge.causes[edge.source.id]
    if edge.target.kind == "check":
        return max(link.p for link in cause.checks[edge.target.id].values())
    return cause.symptoms[symptom].p


def test_every_cause_on_the_map_has_a_remedy_there(shipped: Knowledge) -> None:
    """A caster finds for each cause shown something that mends it on the next pour or between pours."""
    for symptom in shipped.symptoms:
        made = map_of(shipped, symptom)
        mended = {
            edge.target for edge in made.edges if edge.source.kind == "remedy" and edge.source.when != "this_part"
        }
        assert mended >= set(made.causes), symptom


def test_edges_are_as_wide_as_their_link(shipped: Knowledge) -> None:
    """On the map a surer link is a wider line, within each kind of edge."""
    made = map_of(shipped, "short_fill")
    drawn = widths(pictures.map_svg(shipped, "short_fill"), "map-edge-")
    for kind in ("remedy", "symptom", "check"):
        edges = [edge for edge in made.edges if kind in (edge.source.kind, edge.target.kind)]
        assert edges
        for one in edges:
            for other in edges:
                assert (one.p > other.p) == (drawn[_name(one)] > drawn[_name(other)])


def _name(edge: Edge) -> str:
    return f"{edge.source.name}-{edge.target.name}"


def test_the_map_says_what_it_leaves_out(shipped: Knowledge) -> None:
    """Causes and remedies that do not fit are counted on the sheet and in words."""
    made = map_of(shipped, "short_fill")
    assert made.more_causes > 0
    said = f"{made.more_causes} weaker causes and {made.more_remedies} other remedies."
    assert said in texts(pictures.map_svg(shipped, "short_fill"))
    assert said in pictures.map_text(shipped, "short_fill")


def test_the_map_in_words_names_every_box(trade: Knowledge) -> None:
    """The words of a small map name causes, what mends them, when and how surely, and the checks."""
    assert pictures.map_text(trade, "soft_face") == (
        "Map of the symptom face soft, inside firm: its causes, the strongest link first, with what mends each and the checks that tell it. "
        "Face too cold: shows so usually; mended by rest it warm (on this part, works about half the time) and "
        "warm the mold (on the next pour, usually works). "
        "Short of A: shows so sometimes; mended by test the scale (between pours, works now and then) and weigh both sides (on the next pour, usually works); "
        "told by cup leftover and fresh cup."
    )


def test_the_graph_of_the_knowledge_carries_its_links(trade: Knowledge) -> None:
    """The graph made from the knowledge has the probability of each link on its edge, facts without one."""
    graph = graph_of(trade)
    assert (
        graph.edges[("cause", "face_cold"), ("symptom", "soft_face")]["p"]
        == trade.causes["face_cold"].symptoms["soft_face"].p
    )
    assert graph.edges[("cause", "short_of_a"), ("result", "cup.soft")]["word"] == "usually"
    assert (
        graph.edges[("remedy", "warm_it"), ("cause", "face_cold")]["p"]
        == trade.remedies["warm_it"].fixes["face_cold"].p
    )
    assert "p" not in graph.edges[("fact", "stirred"), ("cause", "badly_mixed")]
