"""How far deciding goes: how many remedies and questions are weighed, how far a plan grows, and what each thing is worth, by hand."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import SimpleNamespace
from typing import Any

import pytest
from msgspec.structs import replace

from diagnose.assessment.consultation import Consultation, ModelCache
from diagnose.knowledge import Remedy
from diagnose.knowledge.model import Link
from diagnose.reasoning import value_of_information as asking
from diagnose.reasoning.answers import SEEN, Answer
from diagnose.reasoning.batch import Batcher
from diagnose.reasoning.network import Finding, Model, Network
from diagnose.reasoning.plan import Costs, Planner, expected_tries_cost, in_order
from diagnose.reasoning.situation import Situation
from diagnose.reasoning.value_of_information import Candidate, PlanValue, Proposal, candidates, rank_questions
from tests.reasoning.conftest import ROOT

COSTS = Costs(60.0, 1.0, {"none": 0.0}, 150.0, 1.0, 5.0)
Made = Callable[..., Planner]


def remedy(name: str, minutes: float = 10.0, **fixes: float) -> Remedy:
    """A made-up remedy of a minute's work or more, a dollar the minute."""
    links = {cause: Link("", chance, "") for cause, chance in fixes.items()}
    return Remedy(
        id=name, title="", do="", when="next_pour", minutes=minutes, wait_minutes=0.0, material="none",
        fixes=links, verify="", caution="", sources=(),
    )  # fmt: skip


@pytest.fixture(scope="module")
def planner(of_network: Callable[..., Situation]) -> Made:
    """The maker of planners: one fault seen, which each of the causes makes alike; by itself it hardly shows."""

    def made(causes: str, *remedies: Remedy, costs: Costs = COSTS, prior: float = 0.05) -> Planner:
        seen = Finding("f", "f", True, True, 1.0, 0.0, 1e-9, dict.fromkeys(causes, 0.5))
        network = Network((*causes, "not_listed"), (*(prior for _ in causes), 0.0), (seen,), {})
        return Planner(of_network(network, {r.id: r for r in remedies}), costs, ("next_pour",))

    return made


def test_each_cost_is_its_word() -> None:
    """The table of costs of the knowledge, word by word; an hour and a half at work, two of waiting and a pour are 15 + 4 + 7."""
    words = {
        "hour at work": 10.0, "hour of waiting": 2.0, "another bad part": 3.0, "a question": 4.0, "a bit": 5.0, "none": 0.0, "a pour": 7.0,
    }  # fmt: skip
    costs = Costs.from_words(words)
    assert (costs.hour, costs.waiting_hour, costs.bad_part, costs.question, costs.bit) == (10.0, 2.0, 3.0, 4.0, 5.0)
    long = replace(remedy("long", 90.0), wait_minutes=120.0, material="a pour")
    assert costs.of(long) == pytest.approx(15.0 + 4.0 + 7.0)


def test_of_thirty_remedies_the_most_promising_are_weighed(planner: Made) -> None:
    """Twenty-four of them, those that mend most first."""
    many = [remedy(f"r{i:02d}", a=0.30 + 0.01 * i) for i in range(30)]
    assert [r.id for r in planner("a", *many).remedies] == [f"r{i:02d}" for i in range(29, 5, -1)]


def test_a_set_grows_to_six(planner: Made) -> None:
    """Eight causes alike, each with a remedy of its own: grown one at a time from nothing to six; where two are all there is, to two."""
    wide = planner("abcdefgh", *(remedy(f"mend_{c}", **{c: 0.9}) for c in "abcdefgh"))
    assert [len(plan.remedies) for plan in wide.grown()] == [0, 1, 2, 3, 4, 5, 6]
    narrow = planner("ab", remedy("mend_a", a=0.9), remedy("mend_b", b=0.9))
    assert [len(plan.remedies) for plan in narrow.grown()] == [0, 1, 2]


def test_a_set_grows_no_more_where_nothing_is_gained(planner: Made) -> None:
    """A second remedy for what is mended for certain, even one that costs nothing, is not taken up on the way."""
    made = planner("a", remedy("x", 5.0, a=1.0), remedy("y", 6.0, a=1.0), remedy("z", 0.0, a=1e-5))
    assert [plan.remedies for plan in made.grown()] == [(), ("x",)]


def test_a_set_grows_by_the_most_success_for_the_money(planner: Made) -> None:
    """Three remedies that work 95, 60 and 90 times of 100 for 300, 10 and 30 dollars: the cheap one first, the dear one last."""
    made = planner("abc", remedy("dear", 300.0, a=0.95), remedy("cheap", 10.0, b=0.6), remedy("middle", 30.0, c=0.9))
    path = [plan.remedies for plan in made.grown()]
    assert [set(step) for step in path] == [set(), {"cheap"}, {"cheap", "middle"}, {"cheap", "middle", "dear"}]
    assert path[-1] == tuple(r.id for r in made.remedies), "told in the order of their promise"


def test_a_goal_is_reached_by_just_as_much(planner: Made) -> None:
    """What all remedies together come to is reached by all of them; a little more is reached by none."""
    made = planner("ab", remedy("mend_a", a=0.9), remedy("mend_b", b=0.8))
    most = made.plan(frozenset(("mend_a", "mend_b"))).success
    found = made.reaching(most)
    assert found is not None
    assert set(found.remedies) == {"mend_a", "mend_b"}
    assert made.reaching(most + 1e-9) is None
    assert made.reaching(0.0) == made.plan(frozenset())


def test_the_one_remedy_that_mends_most(planner: Made) -> None:
    """Whatever it costs; none where there is none to choose."""
    found = planner("ab", remedy("some", 1.0, a=0.5), remedy("more", 500.0, a=0.5, b=0.5)).most_promising()
    assert found is not None
    assert (found.remedies, found.cost) == (("more",), pytest.approx(500.0))
    assert planner("ab", remedy("useless", z=0.9)).most_promising() is None


def test_of_two_plans_that_cost_the_same_the_smaller(planner: Made) -> None:
    """A remedy that costs nothing and mends nothing more is left out; of two alike the first by name is taken."""
    made = planner("a", remedy("y", 10.0, a=1.0), remedy("x", 10.0, a=1.0), remedy("idle", 0.0, a=1e-12))
    assert made.best().remedies == ("x",)
    assert made.best().expected_cost == pytest.approx(10.0, abs=1e-4)


def test_singles_and_pairs_of_ten_are_what_an_answer_decides_between(planner: Made) -> None:
    """Twelve remedies: nothing, ten alone, 45 pairs of these ten, and the sets grown beyond two."""
    names = "abcdefghijkl"
    made = planner(names, *(remedy(f"mend_{c}", **{c: 0.9 - 0.01 * i}) for i, c in enumerate(names)))
    plans = PlanValue(made)
    grown = [plan for plan in made.grown() if len(plan.remedies) > 2]
    assert len(plans.price) == 1 + 10 + 45 + len(grown)
    assert sorted(round(float(price) / 10) for price in plans.price) == [0, *[1] * 10, *[2] * 45, 3, 4, 5, 6]
    assert plans.left[0].tolist() == [1.0] * 13


def test_what_costs_nothing_is_as_if_it_cost_a_dollar(planner: Made) -> None:
    """Sets are grown by success for a dollar more than the money: nine in ten of one cause for 9 dollars goes before one in twenty for nothing."""
    made = planner("ab", remedy("dear", 9.0, a=0.9), remedy("free", 0.0, b=0.05))
    assert [plan.remedies for plan in made.grown()][:2] == [(), ("dear",)]
    cheap = planner("ab", remedy("dear", 90.0, a=0.9), remedy("free", 0.0, b=0.05))
    assert [plan.remedies for plan in cheap.grown()][:2] == [(), ("free",)]


def test_a_goal_is_reached_with_what_costs_nothing_first(planner: Made) -> None:
    """A free remedy that reaches it alone is the plan, whatever else would be surer."""
    made = planner("ab", remedy("dear", 90.0, a=0.9, b=0.9), remedy("free", 0.0, a=0.6), remedy("free too", 0.0, b=0.6))
    found = made.reaching(0.5)
    assert found is not None
    assert (set(found.remedies), found.cost) == ({"free", "free too"}, 0.0)


def test_a_goal_is_reached_by_swapping_what_was_taken_first(planner: Made) -> None:
    """Grown by success for the money, 0.6 for 2 dollars and then 0.8 for 4 reach nine in ten; with 0.55 for 1.90 in place of the first it is cheaper."""
    made = planner(
        "a", remedy("x", 2.0, a=0.6), remedy("y", 4.0, a=0.8), remedy("z", 7.0, a=0.92), remedy("w", 1.9, a=0.55)
    )
    found = made.reaching(0.9)
    assert found is not None
    assert (set(found.remedies), found.cost) == ({"w", "y"}, pytest.approx(5.9))


def test_nobody_mends_what_is_not_listed(planner: Made) -> None:
    """Whatever a remedy is said to mend; nor a cause that isn't in play. Two that mend one cause leave what both leave."""
    made = planner("ab", remedy("r", a=0.5, not_listed=0.9, z=0.9), remedy("s", a=0.8))
    index = made.situation.inference.index
    mended = made.mend(("r", "s"))
    assert {name: float(mended[i]) for name, i in index.items()} == pytest.approx(
        {"a": 0.9, "b": 0.0, "not_listed": 0.0}
    )
    assert made.mend(()).tolist() == [0.0, 0.0, 0.0]


def test_tries_one_after_another_by_hand() -> None:
    """Six in ten for 10 dollars, then four in ten for 20: 10 + 0.4 x 20; the other way round 20 + 0.6 x 10."""
    assert in_order([0.6, 0.4], [10.0, 20.0]) == [0, 1]
    assert in_order([0.4, 0.6, 0.4], [10.0, 20.0, 10.0]) == [0, 2, 1]
    assert expected_tries_cost([0, 1], [0.6, 0.4], [10.0, 20.0]) == pytest.approx(18.0)
    assert expected_tries_cost([1, 0], [0.6, 0.4], [10.0, 20.0]) == pytest.approx(26.0)
    assert expected_tries_cost([], [], []) == 0.0


# -- questions ---------------------------------------------------------------------------------------------------------


def asked(in_hand: bool = True, symptom: bool = False) -> Any:
    """A model with one question, of two minutes, which nine in ten can answer."""
    entry = SimpleNamespace(answerable=0.9, minutes=2.0, in_hand=in_hand)
    table = {"q": entry}
    knowledge = SimpleNamespace(
        checks={} if symptom else table, symptoms=table if symptom else {}, question=lambda name: entry
    )
    return SimpleNamespace(knowledge=knowledge)


@pytest.mark.parametrize(
    ("in_hand", "symptom", "answered"), [(True, False, 0.9), (False, False, 0.45), (True, True, 0.36)]
)
def test_what_a_question_is_worth_by_hand(in_hand: bool, symptom: bool, answered: float) -> None:
    """Half of a saving of 10 and of half a bit at 5 is 6.25. Over a question's patience (1) and half a minute's reading and two minutes at a dollar,
    3.5; left of it are the answered share of 6.25 less two minutes, less the patience.
    """
    worth, net = asking._value(asked(in_hand, symptom), COSTS, Candidate("q", "sum", 0.5), gain=0.5, saving=10.0)
    assert worth == pytest.approx(6.25 * answered / 3.5)
    assert net == pytest.approx(answered * (6.25 - 2.0) - 1.0)


@pytest.mark.parametrize(("cost", "most"), [(0.0, 14), (1.0, 14), (51_000.0, 14), (72_000.0, 10), (1e9, 4)])
def test_fewer_questions_are_weighed_exactly_where_much_is_seen(cost: float, most: int) -> None:
    """Fourteen, as long as one pass writes no more than 720,000 numbers over them; four at least. By worth over cost, of equals by name."""
    names = [f"q{i:02d}" for i in range(20)]
    gains = {name: 0.5 if i < 5 else 0.5 - 0.01 * i for i, name in enumerate(names)}
    predictor: Any = SimpleNamespace(
        screen=lambda asked, about: {name: gains[name] for name in asked if name in gains},
        inference=SimpleNamespace(structure=SimpleNamespace(cost=cost)),
    )
    found = [Candidate(name, name, 1.0) for name in [*reversed(names), "idle"]]
    assert asking._shortlist(asked(), COSTS, predictor, found) == names[:most]


def test_a_half_of_what_tells_much_stands_behind_all_of_what_tells_less() -> None:
    """Half of half a bit is a quarter, and three tenths of a bit more; what stands behind two questions is looked at once."""
    gains = {"sum": 0.5, "q": 0.3}
    predictor: Any = SimpleNamespace(
        screen=lambda asked, about: {name: gains[name] for name in asked},
        inference=SimpleNamespace(structure=SimpleNamespace(cost=1.0)),
    )
    found = [Candidate("a", "sum", 0.5), Candidate("b", "sum", 0.5), Candidate("q", "q", 1.0)]
    assert asking._shortlist(asked(), COSTS, predictor, found) == ["q", "sum"]


def test_what_is_looked_at_is_chosen_by_worth_over_cost() -> None:
    """Four tenths of a bit at once (2 over 1.5) go before nine tenths for two minutes (4.5 over 3.5), though more would be left of those."""
    minutes, gains = {"quick": 0.0, "long": 2.0}, {"quick": 0.4, "long": 0.9}
    knowledge = SimpleNamespace(
        checks={},
        symptoms={},
        question=lambda name: SimpleNamespace(answerable=0.9, minutes=minutes[name], in_hand=True),
    )
    model: Any = SimpleNamespace(knowledge=knowledge)
    predictor: Any = SimpleNamespace(
        screen=lambda asked, about: {name: gains[name] for name in asked},
        inference=SimpleNamespace(structure=SimpleNamespace(cost=1.0)),
    )
    found = [Candidate(name, name, 1.0) for name in ("long", "quick")]
    assert asking._shortlist(model, COSTS, predictor, found) == ["quick", "long"]
    net = {c.question: asking._value(model, COSTS, c, gains[c.question], 0.0)[1] for c in found}
    assert net["long"] > net["quick"]


def test_a_proposal_has_its_share_of_what_is_behind_it() -> None:
    """Half of the bits and of the saving of the sum that it feeds; minutes are its own, and whether the plan changes is told of the whole."""
    behind: Any = SimpleNamespace(gain_bits=0.5)
    found = asking._proposal(asked(), COSTS, Candidate("q", "sum", 0.5), behind, 10.0, True)
    assert (found.question, found.gain_bits, found.saving, found.minutes, found.changes_plan) == (
        "q",
        0.25,
        5.0,
        2.0,
        True,
    )
    assert (found.worth, found.net) == asking._value(asked(), COSTS, Candidate("q", "sum", 0.5), 0.5, 10.0)
    assert found.prediction is behind


def test_what_feeds_a_sum_shares_its_worth(models: ModelCache) -> None:
    """Grams of A and of B are half of the ratio each; where one is told the other is all of it, where both are "don't know" neither is asked."""
    model = Model(models.knowledge, "bare_foam", False)

    def shares(**answers: Answer) -> Mapping[str, float]:
        found = candidates(model, {"thin_skin": Answer(SEEN), **answers})
        return {c.question: c.share for c in found if c.behind == "ratio_error"}

    plain = candidates(model, {"thin_skin": Answer(SEEN)})
    assert {c.share for c in plain if c.question == c.behind} == {1.0}
    assert shares() == pytest.approx({"a_mass": 1 / 3, "b_mass": 1 / 3, "ratio_target": 1 / 3})
    assert shares(ratio_target=Answer(0.5)) == {"a_mass": 0.5, "b_mass": 0.5}
    assert shares(ratio_target=Answer(0.5), a_mass=Answer(100.0)) == {"b_mass": 1.0}
    assert shares(a_mass=Answer(None)) == {}
    assert shares(ratio_error=Answer(3.0)) == {}


def test_the_first_faults_asked_are_those_that_most_shows_as(models: ModelCache) -> None:
    """Base rate times link, summed over the causes in play; as many as are asked for, and nothing is settled."""
    model = Model(models.knowledge, "bare_foam", False)
    situation: Any = Situation(model, {"build": Answer("bare_foam"), "painted": Answer("no")})
    found = rank_questions(situation, Planner(situation, COSTS, ()), 9)
    shows = {
        name: sum(model.base[cause] * p for cause, p in model.symptom_links(name).items())
        for name in models.knowledge.symptoms
        if models.knowledge.applies(name, "bare_foam", False)
    }
    names = [proposal.question for proposal in found.proposals]
    assert (len(names), found.settled) == (9, False)
    assert [shows[name] for name in names] == pytest.approx(sorted(shows.values(), reverse=True)[:9], rel=1e-9)
    assert all(p.minutes == models.knowledge.symptoms[p.question].minutes for p in found.proposals)
    assert {(p.gain_bits, p.saving, p.worth, p.net, p.changes_plan, p.prediction) for p in found.proposals} == {
        (0.0, 0.0, 0.0, 0.0, False, None)
    }


def proposal(name: str, worth: float, net: float, changes: bool = False) -> Proposal:
    """A question with so much worth, so much of it left, and whether it changes the plan."""
    return Proposal(name, 0.1, 1.0, 0.0, worth, net, changes, None)


@pytest.mark.parametrize(
    ("sure", "made", "names", "settled"),
    [
        (0.5, (proposal("a", 1.0, 0.1), proposal("b", 2.0, 0.1)), ["b", "a"], False),
        (0.5, (proposal("a", 1.0, 0.0), proposal("b", 2.0, -0.1)), [], True),
        (0.5, (proposal("a", 1.0, 0.1), proposal("a", 3.0, 0.1), proposal("b", 2.0, 0.1)), ["a", "b"], False),
        (0.85, (proposal("a", 1.0, 0.1),), ["a"], False),
        (0.86, (proposal("a", 1.0, 0.1),), [], True),
        (0.86, (proposal("a", 1.0, 0.1), proposal("b", 2.0, 0.1, True)), ["b", "a"], False),
        (0.86, (proposal("a", 1.0, 0.1), proposal("b", 2.0, -0.1, True)), [], True),
        (0.5, tuple(proposal(name, 1.0, 0.1) for name in "edcba"), ["a", "b", "c"], False),
    ],
)
def test_when_asking_ends(
    sure: float, made: tuple[Proposal, ...], names: list[str], settled: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where nothing pays, and where the first cause is surer than 85 of 100 and no question that pays changes the plan; else the best three."""
    queue = iter(made)
    monkeypatch.setattr(asking, "PlanValue", lambda planner: SimpleNamespace(saving=lambda p: (0.0, False)))
    monkeypatch.setattr(
        asking, "candidates", lambda model, answers: [Candidate(p.question, str(i), 1.0) for i, p in enumerate(made)]
    )
    predicted = [SimpleNamespace(question=str(i)) for i in range(len(made))]
    monkeypatch.setattr(asking, "Predictor", lambda situation: SimpleNamespace(predict=lambda names: predicted))
    monkeypatch.setattr(asking, "_shortlist", lambda *told: [])
    monkeypatch.setattr(asking, "_proposal", lambda *told: next(queue))
    beliefs = SimpleNamespace(causes=[SimpleNamespace(probability=p) for p in (sure, 0.01)])
    situation: Any = SimpleNamespace(explains=True, model=None, answers={}, beliefs=beliefs)
    planner: Any = SimpleNamespace(costs=COSTS)
    found = rank_questions(situation, planner, 3)
    assert ([p.question for p in found.proposals], found.settled) == (names, settled)
    if names[:1] == ["a"] and len(made) == 3:
        assert found.proposals[0].worth == 3.0, "the one that is worth most stands"


def test_twelve_questions_compete_for_a_place(consulted: dict[str, Consultation]) -> None:
    """Those of the most bits by the rough screen times the chance of being answered."""
    situation = consulted["sticky-necks"].situation
    batcher = Batcher(situation)
    assert len(batcher.field) == 12
    wide = Batcher(situation, field=20)
    assert wide.field[:12] == batcher.field
    rough = batcher.predictor.screen(wide.field)
    worth = [rough[name] * batcher.chance[name] for name in wide.field]
    assert worth == pytest.approx(sorted(worth, reverse=True), rel=1e-8)
    assert len(wide.field) == 20


def test_of_two_views_asked_together_the_more_direct_is_heard(consulted: dict[str, Consultation]) -> None:
    """A fault is silent beside the check that shows it, a fact beside one that reads the same more directly; neither the other way round."""
    batcher = Batcher(consulted["sticky-necks"].situation)
    for name, other, silent in (
        ("scorched_core", "cut_face", True), ("cut_face", "scorched_core", False), ("scorched_core", "swab_test", False), ("scorched_core", "pinholes", False),
        ("room_temperature", "mold_temperature", True), ("mold_temperature", "room_temperature", False), ("room_temperature", "cut_face", False),
    ):  # fmt: skip
        assert batcher._silent(name, {name, other}) is silent, (name, other)


def test_the_page_on_reasoning_states_its_numbers(models: ModelCache) -> None:
    """Numbers of our own, which no source stands behind, are those that it goes by."""
    text = " ".join((ROOT / "docs" / "reasoning.md").read_text("utf-8").split())
    limits = models.knowledge.words["limits"]
    own = [limits[f"not listed {word}"] for word in ("base", "link", "shows")]
    for sentence in (
        "the base total of {:g}, the cap of {:g} both ways".format(limits["base total"], limits["ratio cap"]),
        "`not_listed` ({:g}, {:g}, {:g})".format(*own),
        f"the shortlist of {asking.SHORTLIST}",
        f"the best {asking.SHORTLIST} go on",
        "(measured {measured:g}, seen {seen:g}, told {told:g}, remembered {remembered:g})".format(
            **models.knowledge.words["trust"]
        ),
    ):
        assert sentence in text, sentence
