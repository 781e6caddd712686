"""What is left aside, what would tip the order, what falls silent and what is weighed at all, by hand."""

from __future__ import annotations

import math
from collections.abc import Callable
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from diagnose.assessment.consultation import ModelCache
from diagnose.knowledge import Knowledge
from diagnose.reasoning import situation as situation_module
from diagnose.reasoning.answers import Answer
from diagnose.reasoning.batch import _with_silence
from diagnose.reasoning.conflict import _outranked
from diagnose.reasoning.elimination import TooManySeen
from diagnose.reasoning.finding import Finding
from diagnose.reasoning.inference import Inference
from diagnose.reasoning.network import Model, Network
from diagnose.reasoning.prediction import (
    QuestionTable,
)
from diagnose.reasoning.sensitivity import _factor, _tipping, tipping_links, tipping_priors, weights_in_order
from diagnose.reasoning.situation import Situation, _telling


@pytest.fixture(scope="module")
def knowledge(models: ModelCache) -> Knowledge:
    """The shipped knowledge."""
    return models.knowledge


NAMES = ("a", "b", "not_listed")


def test_how_telling_a_finding_is() -> None:
    """The most that it moves the odds of a cause: 1 - 0.9 x 0.1 over a leak of 0.1 is 9.1; half believed 0.955 over 0.55; of no cause nothing."""

    def reading(leak: float, off: float, **links: float) -> Finding:
        return Finding("f", "f", True, True, 1.0, off, leak, links)

    assert _telling(reading(0.1, 0.0, a=0.9, b=0.2)) == pytest.approx(0.91 / 0.1)
    assert _telling(reading(0.3, 0.0, a=0.9)) == pytest.approx(0.93 / 0.3)
    assert _telling(reading(0.1, 0.5, a=0.9)) == pytest.approx(0.955 / 0.55)
    assert _telling(reading(0.1, 0.0)) == 0.0
    assert _telling(reading(0.0, 0.0, a=0.9)) > 1e200, "what never shows by itself tells all"


@pytest.mark.parametrize(
    ("now", "value", "factor"),
    [(0.5, 0.8, 4.0), (0.8, 0.5, 4.0), (0.5, 0.5, 1.0), (0.0, 0.5, math.inf), (1.0, 0.5, math.inf), (0.2, 0.05, 4.75)],
)
def test_how_far_odds_have_to_move(now: float, value: float, factor: float) -> None:
    """From one to four, or back, is fourfold; from certainty or nothing no number of times is enough."""
    assert _factor(now, value) == pytest.approx(factor)


@pytest.mark.parametrize(
    ("at_zero", "at_one", "value"),
    [
        (1.0, -1.0, 0.5),
        (3.0, -1.0, 0.75),
        (-1.0, 3.0, 0.25),
        (1.0, 1.0, None),
        (1.0, 2.0, None),
        (0.0, 1.0, None),
        (1.0, 0.0, None),
        (0.0, 0.0, None),
    ],
)
def test_a_line_tips_where_it_is_nought(at_zero: float, at_one: float, value: float | None) -> None:
    """Within nothing and certainty; one that only begins or ends there, or never is nought, tips nothing."""
    found = _tipping("base", "a", "", 0.5, at_zero, at_one, "b")
    if value is None:
        assert found == []
    else:
        (point,) = found
        assert (point.value, point.now, point.rival, point.kind, point.name, point.effect) == (
            pytest.approx(value),
            0.5,
            "b",
            "base",
            "a",
            "",
        )


@pytest.mark.parametrize("order", ["abc", "bca", "cab"])
def test_only_numbers_between_nothing_and_certainty_can_tip(order: str, of_network: Callable[..., Situation]) -> None:
    """A cause that can't hold and one that always does have no prior to move; a link is one of the first cause or of the rival that comes level."""
    one, two, three = order
    seen = tuple(
        Finding(
            f"f{i}",
            f"f{i}",
            i < 2,
            True,
            1.0,
            0.0,
            0.02,
            {one: 0.6 + 0.1 * i, two: 0.55, three: 0.5, "never": 0.5, "always": 0.1},
        )
        for i in range(3)
    )
    names = (*order, "never", "always", "not_listed")
    situation = of_network(Network(names, (0.3, 0.31, 0.29, 0.0, 1.0, 0.05), seen, {}))
    first, *rivals = [cause.id for cause in situation.beliefs.causes[:3]]
    assert (first, set(rivals)) == (one, {two, three})
    priors = tipping_priors(situation.inference, first, rivals)
    assert {t.name for t in priors} <= {*order, "not_listed"}
    assert {t.rival for t in priors} == set(rivals)
    links = tipping_links(situation.inference, first, rivals)
    assert links
    assert all(t.name in (first, t.rival) for t in links)
    assert {t.kind for t in priors} == {"base"}
    assert {t.kind for t in links} == {"link"}


def test_what_is_told_to_be_absent_explains_nothing(knowledge: Knowledge) -> None:
    """Only a fault seen is to be explained, neither one that is absent nor a check; the faults seen stand in the order told."""
    model = Model(knowledge, "bare_foam", False)

    def told(**answers: str) -> Situation:
        return Situation(model, {name: Answer(value) for name, value in answers.items()})

    assert not told(thin_skin="absent", swab_test="rag_brown").explains
    assert told(thin_skin="absent", pinholes="seen").explains
    assert told(thin_skin="seen", shrinkage="absent", pinholes="seen").seen == ("thin_skin", "pinholes")
    full = told(thin_skin="seen", shrinkage="absent", pinholes="seen", swab_test="rag_brown")
    assert list(full.without("shrinkage").answers) == ["thin_skin", "pinholes", "swab_test"]
    assert list(full.without("of another book").answers) == list(full.answers)
    assert list(full.only(["swab_test", "thin_skin"]).answers) == ["swab_test", "thin_skin"]


def test_of_causes_without_a_part_the_likelier_to_have_held_comes_first(of_network: Callable[..., Situation]) -> None:
    """By the chance of a part, then of having held, then by name; what is not listed is no cause of the list."""
    seen = Finding("f", "f", True, True, 1.0, 0.0, 0.1, {"z": 0.5})
    names = ("a", "b", "c", "z", "not_listed")
    found = of_network(Network(names, (0.1, 0.3, 0.3, 0.05, 0.2), (seen,), {})).beliefs
    assert [cause.id for cause in found.causes] == ["z", "b", "c", "a"]
    assert [round(cause.present, 9) for cause in found.causes[1:]] == [0.3, 0.3, 0.1]


def test_what_is_absent_takes_no_room(monkeypatch: pytest.MonkeyPatch) -> None:
    """It takes no room: of what is seen that goes which tells least, though what is absent tells less."""
    seen = [Finding(f"f{i}", f"f{i}", True, True, 1.0, 0.0, 0.1, {"a": 0.5 + 0.1 * i}) for i in range(3)]
    absent = Finding("none", "none", True, False, 0.0, 1.0, 0.1, {"a": 0.1})

    def network(answers: Any) -> Network:
        return Network(("a", "not_listed"), (0.2, 0.1), tuple(f for f in (*seen, absent) if f.id in answers), {})

    def inference(made: Network) -> Inference:
        if sum(f.on > 0.0 for f in made.findings) > 2:
            raise TooManySeen
        return Inference(made)

    monkeypatch.setattr(situation_module, "Inference", inference)
    model: Any = SimpleNamespace(network=network)
    found = Situation(model, {f.id: Answer("seen") for f in (*seen, absent)})
    assert found.left_aside == ("f0",)
    assert {f.id for f in found.network.findings} == {"f1", "f2", "none"}


def test_one_value_of_several_may_be_told_as_a_word(knowledge: Knowledge) -> None:
    """By itself it says what it says in a list of one; a word that stands within another is not that other."""
    model = Model(knowledge, "bare_foam", False)
    for check in (
        c for c in knowledge.checks.values() if c.kind == "many" and knowledge.applies(c.id, "bare_foam", False)
    ):
        for value in check.results:
            assert model.findings(check.id, Answer(value)) == model.findings(check.id, Answer((value,)))
            assert model._shares(check, Answer(value)) == {
                r: float(r == value) for r in (*reversed(check.telling), check.base)
            }


def test_the_weight_of_answers_counts_the_leaks_of_what_is_absent(knowledge: Knowledge) -> None:
    """How likely all of it is told: that of what is seen in the network as it is, times the chance that nothing absent showed by itself."""
    model = Model(knowledge, "bare_foam", False)
    told = {
        "thin_skin": Answer("seen"),
        "pinholes": Answer("absent"),
        "shrinkage": Answer("absent"),
        "swab_test": Answer("rag_brown"),
    }
    situation = Situation(model, told)
    fewer = {name: answer for name, answer in told.items() if name != "pinholes"}
    for given, weight in zip((told, fewer, told), situation.evidence_of([told, fewer, told]), strict=True):
        inference = Inference(model.network(given))
        leaks = [f.leak for f in model.network(given).findings if f.on == 0.0]
        assert len(leaks) >= len(given) - 2
        assert weight == pytest.approx(inference.evidence * math.prod(1.0 - leak for leak in leaks), rel=1e-12)


def test_a_slip_lifts_what_a_number_near_an_edge_says(knowledge: Knowledge) -> None:
    """0.46 with an error of 0.1 is 66 to 34 under an edge at 0.5 (normal tables: 0.6554); of 100 such readings one is a slip of the reader."""
    model = Model(knowledge, "bare_foam", False)
    check = knowledge.checks["skin_thickness"]
    assert (check.results["thin"].low, check.results["thin"].high) == (0.1, 0.5)
    below = 0.5 * (1.0 + math.erf((0.5 - 0.46) / 0.1 / math.sqrt(2.0)))
    none = 0.5 * (1.0 + math.erf((0.1 - 0.46) / 0.1 / math.sqrt(2.0)))
    on, off = below - none, 1.0 - below
    for source, slip in (("measured", 0.0), ("seen", 0.01), ("told", 0.05)):
        found = {f.id: f for f in model.findings("skin_thickness", Answer(0.46, source, 0.1))}["skin_thickness:thin"]
        assert (round(found.on, 9), round(found.off, 9)) == (round(on, 9), round(off + slip * (on - off), 9))
    unsure = {f.id: f for f in model.findings("skin_thickness", Answer(0.54, "seen", 0.1))}["skin_thickness:thin"]
    assert round(unsure.off, 9) == round(below, 9), "what speaks for the base is no slip"


@pytest.mark.parametrize(
    ("told", "check", "symptom_is_outranked", "check_is"),
    [("remembered", "seen", True, False), ("seen", "remembered", False, True), ("seen", "seen", False, False)],
)
def test_of_two_views_the_less_sure_falls_silent(
    told: str, check: str, symptom_is_outranked: bool, check_is: bool, knowledge: Knowledge
) -> None:
    """Beside the surer one; of two alike neither. What is no view of the same thing never does."""
    model = Model(knowledge, "bare_foam", False)
    answers = {
        "scorched_core": Answer("seen", told),
        "cut_face": Answer(("brown_heart",), check),
        "pinholes": Answer("seen", "remembered"),
    }
    assert ("cut_face", "brown_heart") in knowledge.symptoms["scorched_core"].same_as
    assert _outranked(model, answers, "scorched_core", "cut_face") is symptom_is_outranked
    assert _outranked(model, answers, "cut_face", "scorched_core") is check_is
    assert not _outranked(model, answers, "pinholes", "scorched_core")
    raw, direct = next((raw, fact) for fact, entry in sorted(knowledge.facts.items()) for raw in entry.better_than)
    facts = {raw: Answer(1.0, "measured"), direct: Answer(1.0, "remembered")}
    assert (_outranked(model, facts, raw, direct), _outranked(model, facts, direct, raw)) == (True, False)


def test_only_what_says_something_is_weighed(knowledge: Knowledge, of_network: Callable[..., Situation]) -> None:
    """Neither what is not known nor what no cause hears; of no answer there is no weight. Weights are read one by one, in parts or all."""
    model = Model(knowledge, "bare_foam", False)
    idle = next(
        name
        for name, fact in knowledge.facts.items()
        if name not in model.bearing and not fact.derived and name not in ("build", "painted")
    )
    told = {
        "thin_skin": Answer("seen"), idle: Answer("yes"), "pinholes": Answer("absent"), "shrinkage": Answer(None), "mold_temperature": Answer(9.0), "vents_ok": Answer(None),
    }  # fmt: skip
    situation = Situation(model, told)
    assert situation.weighed == ("thin_skin", "pinholes", "mold_temperature")
    weights = situation.beliefs.causes[0].weights
    assert [name for name, _ in weights] == list(situation.weighed)
    assert (weights[0], weights[-1], list(weights[:2]), len(weights)) == (
        next(iter(weights)),
        list(weights)[-1],
        list(weights)[:2],
        3,
    )
    grown = weights_in_order(situation, situation.beliefs.causes[0].id)
    assert [name for name, _ in grown] == ["", "thin_skin", idle, "pinholes", "mold_temperature"]
    nothing = of_network(Network(NAMES, (0.2, 0.3, 0.05), (), {}))
    assert [list(cause.weights) for cause in nothing.beliefs.causes] == [[], []]


def test_the_base_of_several_is_a_finding_only_where_a_cause_shows_as_it(knowledge: Knowledge) -> None:
    """Else it is just what shows when nothing is wrong, and chosen with others says nothing."""
    model = Model(knowledge, None, None)
    for check in (c for c in knowledge.checks.values() if c.kind == "many"):
        shown = any(check.base in cause.checks.get(check.id, {}) for cause in knowledge.causes.values())
        assert (check.base in model.result_links(check)) is shown
        among = model.findings(check.id, Answer((check.base, check.telling[0])))
        assert [f.id for f in among] == [
            f"{check.id}:{r}" for r in check.results if r == check.telling[0] or (shown and r == check.base)
        ]


def test_no_answer_is_a_row_of_its_own() -> None:
    """A question whose first row multiplies nothing and has its whole weight has it; one whose first answer is only a share, or moves a cause, gets it."""
    ones = np.ones((2, 2))
    moves = np.array([[1.5, 1.0], [1.0, 1.0]])
    for present, absent, scale, grows in (
        (ones, ones, (1.0, 0.5), False),
        (ones, ones, (0.6, 0.4), True),
        (moves, ones, (1.0, 0.5), True),
        (ones, moves, (1.0, 0.5), True),
        (moves, moves, (0.6, 0.4), True),
    ):
        made = _with_silence(QuestionTable("q", present, absent, np.array(scale), np.eye(2), ("x", "y")))
        assert made.present.shape == made.absent.shape == (2, 2 + grows)
        assert (made.scale[0], made.present[:, 0].tolist(), made.absent[:, 0].tolist()) == (1.0, [1.0, 1.0], [1.0, 1.0])
        assert made.mix[0].tolist() == [1.0, *[0.0] * (1 + grows)]
        assert made.mix.shape == (3, 2 + grows)


@pytest.mark.parametrize(("shown", "seen", "on"), [(("brown_heart",), True, 1.0), (("fine_even",), False, 0.0)])
def test_a_fault_remembered_is_seen_where_the_cut_shows_it(
    shown: tuple[str, ...], seen: bool, on: float, knowledge: Knowledge
) -> None:
    """The surer view says whether it is there at all; a fault it stays, and the cut is no second one."""
    model = Model(knowledge, "bare_foam", False)
    network = model.network({"scorched_core": Answer("seen", "remembered"), "cut_face": Answer(shown, "seen")})
    (fault,) = [finding for finding in network.findings if finding.symptom]
    assert (fault.id, fault.seen, fault.on, fault.off) == ("scorched_core", seen, on, 0.01 if seen else 1.0)
    assert "cut_face:brown_heart" not in {finding.id for finding in network.findings}
    assert network.merged == {"scorched_core", "cut_face"}
