"""From answers to priors and links, by hand: base rates and their caps, an overlay, readings averaged over their error, and what an answer is predicted to do."""

from __future__ import annotations

import math
from collections.abc import Callable
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from msgspec.structs import replace

from diagnose.assessment.consultation import ModelCache
from diagnose.knowledge import Evidence, Fact, Knowledge
from diagnose.reasoning import situation as situation_module
from diagnose.reasoning.answers import Answer
from diagnose.reasoning.batch import _with_silence
from diagnose.reasoning.conflict import _outranked
from diagnose.reasoning.elimination import TooManySeen
from diagnose.reasoning.finding import Finding
from diagnose.reasoning.inference import Inference
from diagnose.reasoning.network import FactEvidence, Model, Network, Overlay
from diagnose.reasoning.prediction import (
    Prediction,
    Predictor,
    QuestionTable,
    _makes_sense,
    _share,
    gain_bits,
    open_questions,
)
from diagnose.reasoning.sensitivity import _factor, _tipping, tipping_links, tipping_priors, weights_in_order
from diagnose.reasoning.situation import Situation, _telling


@pytest.fixture(scope="module")
def knowledge(models: ModelCache) -> Knowledge:
    """The shipped knowledge."""
    return models.knowledge


def test_only_causes_that_such_a_part_can_have_are_in_play(knowledge: Knowledge) -> None:
    """A part without a skin has no trouble with one, an unpainted one none with paint; of a part of unknown build all are in play."""
    counts = {}
    for build, painted in (("bare_foam", False), ("bare_foam", True), ("skin_and_foam", False), (None, None)):
        model = Model(knowledge, build, painted)
        assert list(model.causes) == sorted(
            name for name in knowledge.causes if knowledge.applies(name, build, painted)
        )
        assert set(model.bearing) == {fact for name in model.causes for fact in knowledge.causes[name].facts}
        counts[build, painted] = len(model.causes)
    assert counts["bare_foam", False] < counts["bare_foam", True] < counts[None, None] == len(knowledge.causes)
    assert counts["bare_foam", False] < counts["skin_and_foam", False]


# -- base rates --------------------------------------------------------------------------------------------------------


def test_base_rates_sum_to_two_but_for_their_caps(knowledge: Knowledge) -> None:
    """A bad part has two things wrong with it on average; what isn't listed is one more, at a fifth."""
    for build, painted in (("bare_foam", False), ("skin_and_foam", True), (None, None)):
        model = Model(knowledge, build, painted)
        listed = [p for name, p in model.base.items() if name != "not_listed"]
        assert max(listed) < 0.4, "no cap holds one back"
        assert math.fsum(listed) == pytest.approx(2.0, abs=1e-12)
        assert model.base["not_listed"] == 0.2
        assert model.names == (*sorted(model.causes), "not_listed")


def test_no_cause_is_likelier_than_not_before_anything_is_told(knowledge: Knowledge) -> None:
    """One of three causes alone would have two thirds: held to a half, one with an opposite in play to 0.4."""
    alone = replace(
        knowledge, causes={name: replace(knowledge.causes[name], base=1.0) for name in ("mold_cold", "a_rich", "b_wet")}
    )
    assert dict(Model(alone, None, None).base) == {"mold_cold": 0.5, "a_rich": 0.5, "b_wet": 0.5, "not_listed": 0.2}
    names = ("mold_cold", "mold_hot", "b_wet")
    three = replace(knowledge, causes={name: replace(knowledge.causes[name], base=1.0) for name in names})
    model = Model(three, None, None)
    assert (model.base["mold_cold"], model.base["mold_hot"], model.base["b_wet"]) == (0.4, 0.4, 0.5)
    moved = model.with_base({"mold_cold": 0.1, "b_wet": 0.9})
    assert (moved.base["mold_cold"], moved.base["mold_hot"], moved.base["b_wet"]) == (0.1, 0.4, 0.5)
    assert moved.overlay.base == {"mold_cold": 0.1, "b_wet": 0.9}
    assert moved.with_base({"mold_cold": 0.2}).overlay.base == {"mold_cold": 0.2, "b_wet": 0.9}
    assert model.base["mold_cold"] == 0.4, "the other is as it was"


def test_opposites_share_one_three_way_choice_by_hand(knowledge: Knowledge) -> None:
    """0.4 cold, 0.4 hot, 0.2 neither; told three times likelier cold and half as likely hot: 1.2, 0.2 and 0.2 of 1.6."""
    names = ("mold_cold", "mold_hot", "b_wet")
    model = Model(
        replace(knowledge, causes={name: replace(knowledge.causes[name], base=1.0) for name in names}), None, None
    )
    priors = model.priors({"mold_cold": 3.0, "mold_hot": 0.5, "b_wet": 3.0})
    assert priors == pytest.approx({"mold_cold": 1.2 / 1.6, "mold_hot": 0.2 / 1.6, "b_wet": 0.75, "not_listed": 0.2})
    assert model.odds("mold_cold", {}) == (pytest.approx(2.0), pytest.approx(2.0))
    assert model.odds("b_wet", {"b_wet": 3.0}) == (pytest.approx(3.0), 0.0)
    assert (model.opposite("mold_cold"), model.opposite("b_wet")) == ("mold_hot", "")


def test_an_overlay_takes_the_place_of_numbers_of_the_book(knowledge: Knowledge) -> None:
    """A base rate, a link to a symptom and one to a result; all others, and links that the book hasn't, stay."""
    check = knowledge.checks["swab_test"]
    cause = next(
        name for name, c in sorted(knowledge.causes.items()) if len(c.checks.get(check.id, {})) == 1 and c.symptoms
    )
    (result,) = knowledge.causes[cause].checks[check.id]
    symptom = next(iter(knowledge.causes[cause].symptoms))
    foreign = next(s for s in sorted(knowledge.symptoms) if s not in knowledge.causes[cause].symptoms)
    links = {cause: {symptom: 0.123, f"{check.id}:{result}": 0.234, foreign: 0.9}}
    book, laid = Model(knowledge, None, None), Model(knowledge, None, None, Overlay({cause: 0.3}, links))
    assert laid.base == {**book.base, cause: 0.3}
    assert laid.symptom_links(symptom) == {**book.symptom_links(symptom), cause: 0.123}
    assert laid.symptom_links(foreign) == book.symptom_links(foreign)
    wanted = {r: dict(table) for r, table in book.result_links(check).items()}
    wanted[result][cause] = 0.234
    assert laid.result_links(check) == wanted


# -- facts -------------------------------------------------------------------------------------------------------------


def test_a_number_is_averaged_over_its_error(knowledge: Knowledge) -> None:
    """A ratio that grows as exp(k x) is in the mean over a normal error s larger by exp((k s)^2 / 2) (the mean of a lognormal); flat, it stays."""
    model = Model(knowledge, None, None)
    steep = Evidence({}, curve=((-100.0, math.exp(-20.0)), (100.0, math.exp(20.0))))  # k = 0.2
    flat = Evidence({}, curve=((0.0, 3.0), (1.0, 3.0)))
    bar = knowledge.facts["mold_temperature"].error_bar
    fact: Fact = replace(knowledge.facts["mold_temperature"], error_bar=bar._replace(size=2.0, relative=False))
    relative: Fact = replace(fact, error_bar=bar._replace(size=0.25, relative=True))
    for entry, value, given, error in (
        (fact, 4.0, None, 2.0),
        (fact, 4.0, 1.0, 1.0),
        (fact, 4.0, 0.0, 0.0),
        (relative, -4.0, None, 1.0),
        (relative, 8.0, None, 2.0),
    ):
        found = model.ratio(steep, entry, Answer(value, "measured", given))
        assert found == pytest.approx(math.exp(0.2 * value + (0.2 * error) ** 2 / 2.0), rel=1e-7)
        assert model.ratio(flat, entry, Answer(value, "measured", given)) == pytest.approx(3.0, rel=1e-12)


def test_a_ratio_is_raised_to_its_trust_and_held_within_twenty(knowledge: Knowledge) -> None:
    """Told counts four fifths, remembered half (in logarithms); what was chosen of several multiplies; of what bears on nothing the ratio of the rest."""
    model = Model(knowledge, None, None)
    choice = next(f for f in knowledge.facts.values() if f.kind == "choice")
    many = knowledge.facts["changed_since_good"]
    evidence = Evidence({}, choices={"x": 4.0, "y": 3.0, "z": 1e-9, "much": 1e9}, other=0.25)
    for source, power in (("measured", 1.0), ("seen", 1.0), ("told", 0.8), ("remembered", 0.5)):
        assert model.ratio(evidence, choice, Answer("x", source)) == pytest.approx(4.0**power)
        assert model.ratio(evidence, choice, Answer("else", source)) == 1.0
        assert model.ratio(evidence, many, Answer(("x", "y"), source)) == pytest.approx(12.0**power)
        assert model.ratio(evidence, many, Answer(("x", "else"), source)) == pytest.approx(4.0**power)
        assert model.ratio(evidence, many, Answer(("else",), source)) == pytest.approx(0.25**power)
        assert model.ratio(evidence, choice, Answer("much", source)) == 20.0
        assert model.ratio(evidence, choice, Answer("z", source)) == pytest.approx(0.05)


def test_all_that_speaks_against_counts_no_less_than_its_floor() -> None:
    """Ratios 4 and 2 for, 0.1 and 0.2 against, a floor of 0.05: 8 x 0.05; with 0.1 silenced 8 x 0.2; what is added counts on its own side."""
    said = FactEvidence(0.05, {"a": 4.0, "b": 0.1, "c": 2.0, "d": 0.2})
    assert said.product == pytest.approx(8.0 * 0.05)
    assert said.products_with((1.0, 3.0, 0.5), frozenset("b")) == pytest.approx([1.6, 4.8, 0.8])
    assert said.products_with((0.5, 2.0), frozenset("x")) == pytest.approx([0.4, 0.8])
    assert said.products_with((0.1,), frozenset("bd")) == pytest.approx([0.8])
    assert FactEvidence(0.05, {}).product == 1.0


def test_what_reads_the_same_less_directly_falls_silent(knowledge: Knowledge) -> None:
    """All the way down: of three facts that read one thing the third falls silent behind the first, though only the second names it."""
    facts = {
        "first": replace(knowledge.facts["mold_temperature"], id="first", better_than=("second",)),
        "second": replace(knowledge.facts["mold_temperature"], id="second", better_than=("third",)),
        "third": replace(knowledge.facts["mold_temperature"], id="third", better_than=("first",)),
    }
    model = Model(replace(knowledge, facts=facts), None, None)
    assert model.better("first") == {"second", "third"}
    assert model.better("second") == {"third", "first"}


# -- predictions -------------------------------------------------------------------------------------------------------

NAMES = ("a", "b", "not_listed")


@pytest.fixture
def predictor(of_network: Callable[..., Situation]) -> Predictor:
    """Two causes and what isn't listed, each with a fault of its own seen: what is believed of them is independent."""
    seen = tuple(Finding(f"of_{n}", f"of_{n}", True, True, 1.0, 0.0, 0.1, {n: 0.6}) for n in NAMES)
    situation = of_network(Network(NAMES, (0.2, 0.3, 0.05), seen, {}))
    knowledge: Any = situation.model.knowledge
    knowledge.words = {"misreport": {"seen": 0.01}}
    return Predictor(situation)


def levels(predictor: Predictor) -> Prediction:
    """A check of two telling results, of which *a* makes the more telling and both make the milder."""
    made = [("burnt", np.array([0.5, 0.0, 0.0]), 0.02), ("brown", np.array([0.3, 0.4, 0.0]), 0.05)]
    predictor._tables["check"] = predictor._levels("check", made, "white")
    (found,) = predictor.predict(["check"])
    return found


def test_the_chances_of_a_check_by_hand(predictor: Predictor) -> None:
    """Of what is not there 1 in 100 is said to be seen; the rest shows nothing. A cause held p = present, by Bayes 0.2 x 0.64 / (0.2 x 0.64 + 0.8 x 0.1)."""
    found = levels(predictor)
    table = predictor._tables["check"]
    assert table is not None
    assert table.mix.sum(axis=0) == pytest.approx([1.0, 0.0, 0.0], abs=1e-15), (
        "whatever is answered, asking moves nothing"
    )
    a, b = (prior * 0.64 / (prior * 0.64 + (1.0 - prior) * 0.1) for prior in (0.2, 0.3))
    no_burn = 0.98 * (1.0 - 0.5 * a)
    nothing = 0.98 * 0.95 * (1.0 - a + a * 0.5 * 0.7) * (1.0 - 0.4 * b)
    wanted = {"burnt": 1.0 - 0.99 * no_burn, "brown": 0.99 * no_burn - 0.99**2 * nothing, "white": 0.99**2 * nothing}
    assert {o.value: o.chance for o in found.outcomes} == pytest.approx(wanted)
    held = {o.value: float(o.present[0]) for o in found.outcomes}
    assert held["burnt"] == pytest.approx((a - a * 0.99 * 0.98 * 0.5) / wanted["burnt"])
    assert held["white"] == pytest.approx(a * 0.35 * 0.98 * 0.95 * (1.0 - 0.4 * b) * 0.99**2 / wanted["white"])


def test_the_rough_gain_is_the_exact_one_of_a_single_independent_cause(predictor: Predictor) -> None:
    """Taken one by one is no loss where each answer bears on one cause: 1e-9 of the mutual information worked out from the exact sweep."""
    predictor._tables["one"] = predictor._levels("one", [("seen", np.array([0.7, 0.0, 0.0]), 0.03)], "absent")
    predictor._tables["other"] = predictor._levels("other", [("seen", np.array([0.0, 0.2, 0.0]), 0.03)], "absent")
    exact = {p.question: p for p in predictor.predict(["one", "other"])}
    rough = predictor.screen(["one", "other"])
    for name, prediction in exact.items():
        assert rough[name] == pytest.approx(prediction.gain_bits, abs=1e-9)
        assert rough[name] > 0.001
    present, absent = np.ones((2, 3, 2))
    present[0], absent[0] = (1.6, 0.4), (0.9, 1.1)
    predictor._tables["moved"] = QuestionTable("moved", present, absent, np.array([0.7, 0.3]), np.eye(2), ("x", "y"))
    (moved,) = predictor.predict(["moved"])
    assert predictor.screen(["moved"])["moved"] == pytest.approx(moved.gain_bits, abs=1e-9)
    held = float(predictor.inference.present[0])
    x, y = 0.7 * (1.6 * held + 0.9 * (1.0 - held)), 0.3 * (0.4 * held + 1.1 * (1.0 - held))
    assert [o.chance for o in moved.outcomes] == pytest.approx([x / (x + y), y / (x + y)])
    assert predictor.screen(["one"], about={"b"})["one"] == pytest.approx(0.0, abs=1e-12)
    assert predictor.screen(["one"], about={"a"})["one"] == pytest.approx(rough["one"], abs=1e-12)
    assert predictor.gain_about(exact["one"], {"b"}) == pytest.approx(0.0, abs=1e-12)
    assert predictor.gain_about(exact["one"], {"a"}) == pytest.approx(exact["one"].gain_bits, abs=1e-12)
    assert predictor.screen([]) == {}


def test_what_is_gained_is_what_the_answer_and_the_part_share(predictor: Predictor) -> None:
    """In bits, from the joint table of answer and part: the sum of p log2(p / (row x column)), over both causes."""
    found = levels(predictor)
    chance = np.array([o.chance for o in found.outcomes])
    gain = 0.0
    for i in (0, 1):
        part = np.array([o.chance * o.probability[i] for o in found.outcomes])
        for column in (part, chance - part):
            gain += float(np.sum(column * np.log2(column / (chance * column.sum()))))
    assert found.gain_bits == pytest.approx(gain, abs=1e-12)


def test_no_level_is_no_question(predictor: Predictor) -> None:
    """A check of which all is settled can change nothing."""
    assert predictor._levels("check", [], "white") is None
    predictor._tables["check"] = None
    assert predictor.predict(["check"]) == []


def test_an_answer_that_never_comes_tells_nothing() -> None:
    """Two even answers that decide a cause tell a bit; a third without a chance adds none, and leaves no belief behind."""
    weights, parts = np.array([0.2, 0.2, 0.0]), np.array([[0.2, 0.0], [0.0, 0.0], [0.0, 0.0]])
    assert gain_bits(weights, parts) == pytest.approx(1.0, abs=1e-9)
    assert gain_bits(weights[:2], parts[:2]) == pytest.approx(1.0, abs=1e-9)
    assert gain_bits(10.0 * weights, 10.0 * parts) == pytest.approx(1.0, abs=1e-9), "to any common scale"
    assert _share(np.array([0.0, 0.0]), 0.0).tolist() == [0.0, 0.0]
    assert _share(np.array([0.1, 0.2]), 0.4).tolist() == [0.25, 0.5]


def test_a_symptom_told_settles_its_own_check_alone(knowledge: Knowledge) -> None:
    """The results that are the same thing, in the check that shows it; in no other."""
    model = Model(knowledge, "bare_foam", False)
    twins = {
        name: symptom.same_as
        for name, symptom in knowledge.symptoms.items()
        if symptom.same_as and knowledge.applies(name, "bare_foam", False)
    }
    assert len({check for pairs in twins.values() for check, _ in pairs}) > 1
    for name, pairs in twins.items():
        for value in ("seen", "absent", None):
            predictor = Predictor(Situation(model, {name: Answer(value)}))
            for check in knowledge.checks:
                wanted = {result: value for twin, result in pairs if twin == check} if value else {}
                assert predictor._settled_results(check) == wanted


def test_what_is_asked_of_a_kind_of_fault_is_asked_where_one_is_seen(knowledge: Knowledge) -> None:
    """By the fault or by its family; before any is told all is asked, and of faults of other kinds alone it is not."""
    model = Model(knowledge, "bare_foam", False)
    tables = (*knowledge.facts.values(), *knowledge.checks.values())
    only = {
        entry.id: entry.ask_when["seen"]
        for entry in tables
        if list(entry.ask_when) == ["seen"] and knowledge.applies(entry.id, "bare_foam", False)
    }
    only = {name: allowed for name, allowed in only.items() if not getattr(knowledge.facts.get(name), "derived", False)}
    assert len(only) > 3
    symptoms = [name for name in knowledge.symptoms if knowledge.applies(name, "bare_foam", False)]
    for seen in symptoms[::4]:
        asked = open_questions(model, {seen: Answer("seen"), "shrinkage": Answer("absent")})
        told = {seen, knowledge.symptoms[seen].family}
        for name, allowed in only.items():
            settled = any(check == name for check, _ in knowledge.symptoms[seen].same_as)
            assert (name in asked) == bool(told & set(allowed)) or settled, (seen, name)
    assert set(only) <= set(open_questions(model, {"shrinkage": Answer("absent")}))


@pytest.mark.parametrize(
    ("told", "seen", "asked"),
    [
        ({}, set(), True),
        ({"x": Answer("yes"), "y": Answer("yes")}, set(), True),
        ({"x": Answer("no")}, set(), False),
        ({"y": Answer("no")}, set(), False),
        ({"x": Answer(None), "y": Answer("no")}, set(), False),
        ({"x": Answer(None), "y": Answer(None)}, set(), True),
        ({"x": Answer(("no", "yes"))}, set(), True),
        ({"x": Answer(("no", "else"))}, set(), False),
        ({}, {"skin"}, True),
        ({}, {"paint"}, False),
        ({"y": Answer("no")}, {"skin"}, False),
        ({"x": Answer("yes"), "y": Answer("yes")}, {"paint", "skin"}, True),
    ],
)
def test_a_question_that_makes_no_sense_is_not_asked(told: dict[str, Answer], seen: set[str], asked: bool) -> None:
    """Ruled out by any of its conditions that is answered otherwise; what nobody answered rules nothing out, nor does a fault before any is told."""
    assert _makes_sense({"x": ("yes",), "seen": ("skin", "foam"), "y": ("yes",)}, told, seen) is asked


# -- what is left aside, and how firm ----------------------------------------------------------------------------------


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
