"""The single change that tells two suspects apart, against the four outcomes counted by hand."""

import math
from types import SimpleNamespace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.knowledge import Remedy
from diagnose.knowledge.model import Link
from diagnose.reasoning.discriminating_change import LEAST_BITS, single_change
from diagnose.reasoning.inference import Beliefs, CauseBelief
from diagnose.reasoning.plan import Costs

COSTS = Costs(40.0, 1.0, {"none": 0.0, "little": 3.0}, 150.0, 1.0, 1.0)
chances = st.sampled_from((0.0, 0.08, 0.25, 0.5, 0.75, 0.95))


def remedy(name, minutes=10.0, when="next_pour", **fixes):
    """A made-up remedy that mends causes with the chances given."""
    links = {cause: Link("", chance, "") for cause, chance in fixes.items() if chance}
    return Remedy(
        id=name,
        title="",
        do="",
        when=when,
        minutes=minutes,
        wait_minutes=0.0,
        material="none",
        fixes=links,
        verify="",
        caution="",
        sources=(),
    )


def change(one, two, *remedies):
    """The change proposed between suspects a and b of these probabilities."""
    beliefs = Beliefs(tuple(CauseBelief(name, p, p, ()) for name, p in (("a", one), ("b", two))), 0.0, 0.0, 1.0)
    knowledge = SimpleNamespace(remedies={r.id: r for r in remedies})
    return single_change(SimpleNamespace(model=SimpleNamespace(knowledge=knowledge), beliefs=beliefs), COSTS)


def counted(one, two, mends_a, mends_b):
    """Chance of good, P(a | good), P(a | bad) and the bits told, from the four cells (which it was) x (came good or not)."""
    a = one / (one + two)
    cells = {
        ("a", True): a * mends_a,
        ("a", False): a * (1 - mends_a),
        ("b", True): (1 - a) * mends_b,
        ("b", False): (1 - a) * (1 - mends_b),
    }
    good = cells["a", True] + cells["b", True]
    bits = 0.0
    for (which, came), cell in cells.items():
        if cell > 0.0:
            bits += cell * math.log2(cell / ((a if which == "a" else 1 - a) * (good if came else 1 - good)))
    return good, cells["a", True] / good if good else 0.0, cells["a", False] / (1 - good), bits


@given(one=st.floats(0.2, 0.9), share=st.floats(0.3, 1.0), mends_a=chances, mends_b=chances)
def test_outcomes_are_those_of_the_four_cells(one, share, mends_a, mends_b):
    """What a good part and a bad one mean, how likely each is, and the bits told, equal the count of the four cells."""
    good, a_if_good, a_if_bad, bits = counted(one, one * share, mends_a, mends_b)
    found = change(one, one * share, remedy("r", a=mends_a, b=mends_b))
    if bits < LEAST_BITS - 1e-9:
        assert found is None
        return
    if bits < LEAST_BITS + 1e-9:
        return
    assert found.chance_good == pytest.approx(good, abs=1e-12)
    assert found.bits == pytest.approx(bits, abs=1e-9)
    assert {found.mends, found.rival} == {"a", "b"}
    mends_it_a = found.mends == "a"
    assert mends_it_a == (mends_a >= mends_b)
    assert found.if_good == pytest.approx(a_if_good if mends_it_a else 1.0 - a_if_good, abs=1e-12)
    assert found.if_bad == pytest.approx(1.0 - a_if_bad if mends_it_a else a_if_bad, abs=1e-12)


def test_a_change_that_mends_both_tells_nothing():
    """A remedy for both suspects may give a good part and teach nothing: it is no experiment."""
    assert change(0.5, 0.5, remedy("both", a=0.75, b=0.75)) is None


def test_the_change_that_parts_them_is_chosen():
    """Of three changes the one that mends one suspect surely and the other not at all."""
    found = change(0.5, 0.45, remedy("both", a=0.95, b=0.75), remedy("parts", a=0.95), remedy("weak", b=0.5))
    assert (found.remedy, found.mends, found.rival, found.if_good) == ("parts", "a", "b", 1.0)
    assert found.if_bad == pytest.approx(0.45 / (0.45 + 0.5 * 0.05), abs=1e-12)


def test_of_two_that_tell_the_same_the_cheaper():
    """Bits for the money: an hour's work is not chosen where ten minutes tell the same."""
    assert change(0.5, 0.5, remedy("long", 60.0, a=0.95), remedy("short", 10.0, a=0.95)).remedy == "short"


def test_a_dear_change_must_tell_more_for_its_money():
    """Five hours that tell 0.71 bits (worth 0.71 / 6 an hour and one) stand behind ten minutes that tell 0.31."""
    dear, quick = remedy("dear", 300.0, a=0.95), remedy("quick", 10.0, a=0.5)
    assert change(0.5, 0.5, dear).bits > change(0.5, 0.5, quick).bits
    assert change(0.5, 0.5, dear, quick).remedy == "quick"
    assert change(0.5, 0.5, remedy("dear", 40.0, a=0.95), quick).remedy == "dear"


def test_no_rival_no_experiment():
    """A second suspect under a quarter of the first is none; nor is what only saves this part a change of the pour."""
    parts = remedy("parts", a=0.95)
    assert change(0.8, 0.19, parts) is None
    assert change(0.8, 0.21, parts) is not None
    assert change(0.5, 0.0, parts) is None
    assert change(0.5, 0.5, remedy("now", when="this_part", a=0.95)) is None


def test_a_rival_has_a_quarter_of_the_first_and_a_change_is_one_of_the_pour():
    """Just a quarter is a rival; one suspect alone has none; of what is looked at only what is named; what saves this part comes before and hides nothing."""
    parts, now = remedy("parts", a=0.95), remedy("now", when="this_part", a=0.95)
    assert change(0.8, 0.2, parts) is not None
    assert change(0.8, 0.2 - 1e-9, parts) is None
    assert change(0.0, 0.0, parts) is None
    assert change(0.5, 0.5, now, parts).remedy == "parts"
    assert change(0.5, 0.5, remedy("idle"), parts).remedy == "parts"
    alone = Beliefs((CauseBelief("a", 0.9, 0.9, ()),), 0.0, 0.0, 1.0)
    knowledge = SimpleNamespace(remedies={"parts": parts})
    model = SimpleNamespace(knowledge=knowledge)
    assert single_change(SimpleNamespace(model=model, beliefs=alone), COSTS) is None
    two = Beliefs(tuple(CauseBelief(name, 0.5, 0.5, ()) for name in "ab"), 0.0, 0.0, 1.0)
    for among, found in ((None, True), (["parts"], True), (["others"], False), ([], False)):
        assert (single_change(SimpleNamespace(model=model, beliefs=two), COSTS, among) is not None) is found


def test_of_two_that_tell_and_cost_the_same_the_first_by_name():
    """So that the advice is the same on every machine."""
    assert change(0.5, 0.5, remedy("b", a=0.95), remedy("a", a=0.95), remedy("c", a=0.95)).remedy == "a"


def test_on_the_shipped_knowledge(consulted):
    """Where a worked case has two suspects, the change proposed mends one of them better than the other."""
    proposed = 0
    for consultation in consulted.values():
        found = single_change(consultation.situation, consultation.costs)
        if found is None:
            continue
        proposed += 1
        fixes = consultation.knowledge.remedies[found.remedy].fixes
        works = {name: fixes[name].p if name in fixes else 0.0 for name in (found.mends, found.rival)}
        assert works[found.mends] > works[found.rival]
        assert {found.mends, found.rival} == {c.id for c in consultation.situation.beliefs.causes[:2]}
        assert found.if_good > 0.5
    assert proposed >= 2
