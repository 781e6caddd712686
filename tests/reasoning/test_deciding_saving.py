"""What an answer saves and which answer is doubted, worked by hand on made-up causes."""

import math

import numpy as np
import pytest

from diagnose.knowledge import Remedy
from diagnose.knowledge.model import Link
from diagnose.reasoning import conflict
from diagnose.reasoning.network import Finding, Network
from diagnose.reasoning.plan import Costs, Planner
from diagnose.reasoning.prediction import Outcome, Prediction
from diagnose.reasoning.value_of_information import AS_GOOD, LIKELY, PlanValue

NAMES = ("a", "b", "c", "d", "not_listed")


@pytest.fixture(scope="module")
def plans(of_network):
    """Four causes alike, each mended for certain by ten minutes' work of its own: 6.67 each, another bad part 150."""
    seen = Finding("f", "f", True, True, 1.0, 0.0, 0.001, dict.fromkeys(NAMES[:4], 0.5))
    network = Network(NAMES, (0.2, 0.2, 0.2, 0.2, 0.001), (seen,), {})
    remedies = {
        f"mend_{name}": Remedy(
            id=f"mend_{name}",
            title="",
            do="",
            when="next_pour",
            minutes=10.0,
            wait_minutes=0.0,
            material="none",
            fixes={name: Link("", 1.0, "")},
            verify="",
            caution="",
            sources=(),
        )
        for name in NAMES[:4]
    }
    costs = Costs(40.0, 1.0, {"none": 0.0}, 150.0, 1.0, 1.0)
    return PlanValue(Planner(of_network(network, remedies), costs, ("next_pour",)))


def told(*outcomes):
    """A prediction of which each outcome leaves just the causes named guilty, with its chance."""
    made = tuple(
        Outcome(str(i), chance, np.array([float(n in guilty) for n in NAMES]), np.zeros(5))
        for i, (chance, guilty) in enumerate(outcomes)
    )
    return Prediction("asked", made, sum(o.chance * o.probability for o in made), 1.0)


def test_to_know_which_two_of_four_saves_the_work_on_the_others(plans):
    """a and b, or c and d: not knowing, all four are mended (26.67); knowing, two are (13.33). The answer saves 13.33, whichever pair it is."""
    for pairs in (("ab", "cd"), ("ac", "bd"), ("ad", "bc")):
        saving, changes = plans.saving(told((0.5, pairs[0]), (0.5, pairs[1])))
        assert saving == pytest.approx(2 * 40 / 6)
        assert changes


def test_to_know_which_one_of_four_saves_three_remedies(plans):
    """One guilty, any of four alike: not knowing, all four (26.67) or three and a quarter of a bad part; knowing, one (6.67)."""
    saving, changes = plans.saving(told(*((0.25, name) for name in "abcd")))
    assert saving == pytest.approx(3 * 40 / 6)
    assert changes


def test_an_answer_that_hardly_ever_comes_changes_no_plan(plans):
    """Under 4 % it is not waited for, though its saving counts in the mean."""
    for chance, expected in ((LIKELY, True), (LIKELY - 0.001, False)):
        saving, changes = plans.saving(told((1.0 - chance, "a"), (chance, "b")))
        assert changes is expected
        assert 0.0 < saving < 40 / 6 + 1e-9


def test_a_plan_as_good_changes_nothing(plans):
    """What one set loses to the best by no more than 2 % of a bad part is as good: 3 of 150, where ten minutes cost 6.67."""
    assert AS_GOOD * plans.bad_part == pytest.approx(3.0)
    barely = Prediction(
        "asked",
        tuple(Outcome(str(i), 0.5, np.array([1.0, p, 0.0, 0.0, 0.0]), np.zeros(5)) for i, p in enumerate((0.03, 0.06))),
        np.zeros(5),
        1.0,
    )
    saving, changes = plans.saving(barely)  # b is worth mending from 4.4 % on: by 2.33 at 6 %, not at 3 %
    assert 0.0 < saving < 3.0
    assert not changes


@pytest.mark.parametrize(
    ("found", "named"),
    [
        ([], None),
        ([("x", math.log(3.0))], "x"),
        ([("x", math.log(2.999))], None),
        ([("x", 2.0), ("y", -1.0)], "x"),
        ([("x", 3.0), ("y", 2.0)], "x"),
        ([("x", 1.0), ("y", 0.5)], None),
    ],
)
def test_doubted_is_the_worst_from_three_times_less_likely_on(found, named, monkeypatch):
    """Only the answer furthest out of keeping, only where it is at least three times less likely beside the rest, whatever the others are."""
    monkeypatch.setattr(conflict, "conflicts", lambda situation: [conflict.Conflict(*each) for each in found])
    doubted = conflict.doubtful(None)
    assert (doubted.answer if doubted else None) == named
