"""When a part is saved, cast again or left alone, and what the change for the next pour is for: on one made-up fault, in the money of a made-up shop."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from diagnose.assessment.advice import change_for
from diagnose.assessment.records import Verdict
from diagnose.assessment.saving import save_for
from diagnose.knowledge import Remedy
from diagnose.knowledge.model import Link
from diagnose.reasoning.inference import Beliefs, CauseBelief
from diagnose.reasoning.network import Finding, Network
from diagnose.reasoning.plan import Costs, Planner
from diagnose.reasoning.situation import Situation

ONE = Verdict("one", ("a",), 0.9)
MONEY = {
    "hours in a bare part": 4.0,
    "hours in a skinned part": 6.0,
    "hours in the paint": 3.0,
    "hour at work": 40.0,
    "a pour": 15.0,
}


def remedy(
    name: str,
    chance: float,
    minutes: float = 60.0,
    wait: float = 0.0,
    material: str = "none",
    when: str = "this_part",
    mends: str = "a",
) -> Remedy:
    """A made-up remedy."""
    return Remedy(
        id=name,
        title="",
        do="",
        when=when,
        minutes=minutes,
        wait_minutes=wait,
        material=material,
        fixes={mends: Link("", chance, "")},
        verify="",
        caution="",
        sources=(),
    )


def case_of(*remedies: Remedy, first: str = "a", build: str = "bare_foam", painted: bool = False) -> Any:
    """A part whose one fault was made by the cause *first*, as good as surely, and by nothing else."""
    seen = Finding("f", "f", True, True, 1.0, 0.0, 1e-9, {first: 0.9})
    network = Network((first, "other", "not_listed"), (0.3, 0.2, 1e-9), (seen,), {})
    knowledge = SimpleNamespace(
        remedies={r.id: r for r in remedies}, symptoms={}, facts={}, checks={}, causes={}, words={"costs": MONEY}
    )
    model: Any = SimpleNamespace(
        knowledge=knowledge, network=lambda answers: network, bearing={}, context=frozenset(), causes={}
    )
    situation = Situation(model, {})
    costs = Costs(40.0, 1.0, {"none": 0.0, "little": 3.0}, 150.0, 1.0, 1.0)
    return SimpleNamespace(
        situation=situation,
        knowledge=knowledge,
        costs=costs,
        dangers=(),
        case=SimpleNamespace(build=build, painted=painted),
        answers={},
        allows=lambda r: r.id != "forbidden",
        next_pour=Planner(situation, costs, ("next_pour", "between_pours")),
    )


@pytest.mark.parametrize(
    ("offered", "verdict"),
    [
        (remedy("r", 0.5), "save"),  # 40 + 0.5 x 175 = 127.50, under 157.50
        (remedy("r", 0.5, 105.0), "save"),  # 70 + 87.50 = 157.50
        (remedy("r", 0.33), "save"),  # 40 + 117.25 = 157.25
        (remedy("r", 0.32), "cast_again"),  # 40 + 119.00 = 159.00
        (remedy("r", 0.201, 20.0, 600.0), "save"),  # 163.33, but twenty minutes, no material, one in five
        (remedy("r", 0.19, 20.0, 600.0), "cast_again"),
        (remedy("r", 0.2, 21.0, 600.0), "cast_again"),
        (remedy("r", 0.2, 20.0, 600.0, "little"), "cast_again"),
    ],
)
def test_a_part_is_saved_where_it_pays_or_takes_minutes(offered: Remedy, verdict: str) -> None:
    """A bare part is 4 hours at 40 and a pour of 15, 175 in all: saving must come to nine tenths of that, its failures counted."""
    found = save_for(case_of(offered), ONE)
    assert found is not None
    assert found.verdict == verdict
    assert found.chance == pytest.approx(offered.fixes["a"].p, abs=1e-6)
    assert found.minutes == offered.minutes + offered.wait_minutes
    assert found.new_pour == 240.0
    told, only_offered = (found.remedies, found.offered) if verdict == "save" else (found.offered, found.remedies)
    assert [use.remedy for use in told] == ["r"]
    assert only_offered == ()


@pytest.mark.parametrize(
    ("build", "painted", "minutes"),
    [
        ("bare_foam", False, 240.0),
        ("skin_and_foam", False, 360.0),
        ("bare_foam", True, 420.0),
        ("skin_and_foam", True, 540.0),
    ],
)
def test_the_hours_in_a_part_decide(build: str, painted: bool, minutes: float) -> None:
    """Skin and paint are hours of work: what doesn't pay on a bare part (0.32 of it after an hour) pays on any other."""
    found = save_for(case_of(remedy("r", 0.32), build=build, painted=painted), ONE)
    assert found is not None
    assert found.new_pour == minutes
    assert (found.verdict == "save") == (minutes > 240.0)


def test_of_two_ways_the_one_that_comes_to_less() -> None:
    """Half a chance for an hour (127.50) before nine in ten for four (177.50); what is barred is not looked at."""
    found = save_for(case_of(remedy("dear", 0.9, 240.0), remedy("fair", 0.5), remedy("forbidden", 1.0, 1.0)), ONE)
    assert found is not None
    assert [use.remedy for use in found.remedies] == ["fair"]


def test_what_is_no_fault_wants_no_saving() -> None:
    """Only where it is the one cause named and likely; beside another it is weighed as any cause is."""
    case = case_of(first="normal_behaviour")
    for verdict, said in (
        (Verdict("one", ("normal_behaviour",), 0.9), "no_fault"),
        (Verdict("both", ("normal_behaviour", "other"), 0.5), "cast_again"),
        (Verdict("none_fits", (), 0.9), "cast_again"),
        (Verdict("open", ("normal_behaviour",), 0.3), "cast_again"),
    ):
        found = save_for(case, verdict)
        assert found is not None
        assert found.verdict == said
        assert (found.remedies, found.minutes, found.offered, found.new_pour) == ((), 0.0, (), 240.0)
        assert found.chance == (pytest.approx(1.0) if said == "no_fault" else 0.0)
    other = save_for(case_of(), ONE)
    assert other is not None
    assert (other.verdict, other.unsaved, other.remedies) == ("cast_again", ("a",), ())


def test_nothing_is_saved_of_nothing_and_a_hot_core_is_left_alone() -> None:
    """No fault, no advice; under a danger of heat no saving, whatever would pay."""
    assert save_for(case_of(remedy("r", 1.0, 1.0)), Verdict("nothing_seen", (), 0.0)) is None
    hot = case_of(remedy("r", 1.0, 1.0))
    hot.dangers = ("hot_core",)
    found = save_for(hot, ONE)
    assert found is not None
    assert (found.verdict, found.remedies) == ("leave_alone", ())


@pytest.mark.parametrize(
    ("first", "second", "both"),
    [(0.6, 0.25, True), (0.6, 0.249, False), (0.249, 0.05, True), (0.249, 0.049, False), (0.04, 0.03, False)],
)
def test_a_part_is_saved_from_the_causes_that_lead(first: float, second: float, both: bool) -> None:
    """From those of a quarter and more; where none leads from all of one in twenty and more; else from the first alone."""
    for mends, named in (("a", True), ("other", both)):
        case = case_of(remedy("r", 0.9, mends=mends))
        causes = tuple(CauseBelief(name, p, p, ()) for name, p in (("a", first), ("other", second)))
        case.situation.__dict__["beliefs"] = Beliefs(causes, 0.0, 0.0, 1.0)
        found = save_for(case, ONE)
        assert found is not None
        assert bool(found.remedies or found.offered) is named
        wanted = [name for name, p in (("a", first), ("other", second)) if p >= 0.25 and name != mends]
        assert list(found.unsaved) == wanted


# -- the change for the next pour --------------------------------------------------------------------------------------


def pour(name: str, chance: float, minutes: float = 10.0, mends: str = "a") -> Remedy:
    """A remedy for the next pour."""
    return remedy(name, chance, minutes, when="next_pour", mends=mends)


def changed(*remedies: Remedy, verdict: Verdict = ONE) -> list[str] | None:
    """The remedies of the change, or None."""
    found = change_for(case_of(*remedies), verdict, ())
    return None if found is None else [use.remedy for use in found.remedies]


def test_nothing_is_changed_for_what_is_not_known() -> None:
    """Without a fault, with a misfit, without a remedy there is no change."""
    for kind in ("nothing_seen", "none_fits"):
        assert changed(pour("r", 0.9), verdict=Verdict(kind, (), 0.9)) is None  # type: ignore[arg-type]
    assert changed() is None
    assert changed(remedy("r", 0.9)) is None
    assert changed(pour("r", 0.9, mends="other")) is None


def test_the_change_is_the_remedy_that_mends_most_for_its_cost() -> None:
    """Sure before unsure; of two as sure the cheaper; one that mends less than one in five only where there is none better; never what is barred."""
    assert changed(pour("sure", 0.9), pour("unsure", 0.3)) == ["sure"]
    assert changed(pour("long", 0.9, 60.0), pour("short", 0.9, 10.0)) == ["short"]
    assert changed(pour("long", 0.9, 30.0), pour("short", 0.5, 5.0)) == ["long"]
    assert changed(pour("hardly", 0.19, 0.0), pour("little", 0.2, 200.0)) == ["little"]
    assert changed(pour("hardly", 0.19, 0.0)) == ["hardly"]
    assert changed(pour("forbidden", 1.0), pour("allowed", 0.3)) == ["allowed"]


def test_the_chance_of_the_change_is_that_the_cause_is_mended() -> None:
    """A cause that had a part for certain, a remedy of three in four; the cause named is what it is for, and none is left."""
    found = change_for(case_of(pour("r", 0.75)), ONE, ())
    assert found is not None
    assert found.chance == pytest.approx(0.75, abs=1e-6)
    assert (found.causes, found.parting, found.leaves) == (("a",), None, "")
