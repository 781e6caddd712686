"""From answers to priors and links, by hand: base rates and their caps, an overlay, readings averaged over their error, and what an answer is predicted to do."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from msgspec.structs import replace

from diagnose.assessment.consultation import ModelCache
from diagnose.knowledge import Evidence, Fact, Knowledge
from diagnose.reasoning.answers import Answer
from diagnose.reasoning.finding import Finding
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
from diagnose.reasoning.situation import Situation


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
