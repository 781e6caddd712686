"""What is changed for the next pour, what a value out of bounds speaks for, and which numbers go with it: each rule at its edge, on made-up causes."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from diagnose.assessment import numbers
from diagnose.assessment.advice import best_remedy, change_for, plan_for
from diagnose.assessment.bounds import measured_causes, out_of_bounds
from diagnose.assessment.numbers import changes_of, sheet_for
from diagnose.assessment.records import Change, OutOfBounds, RemedyUse, Verdict
from diagnose.knowledge.model import Link
from diagnose.reasoning.answers import Answer
from diagnose.reasoning.inference import Beliefs, CauseBelief
from diagnose.reasoning.plan import Costs

OPEN = Verdict("open", ("a",), 0.5)


def remedy(name: str, minutes: float = 10.0, when: str = "next_pour", **fixes: float) -> Any:
    """A made-up remedy that mends causes with these chances."""
    links = {cause: Link("mostly", chance, "") for cause, chance in fixes.items()}
    return SimpleNamespace(
        id=name, when=when, minutes=minutes, wait_minutes=0.0, material="none", fixes=links, sets={"fact": name}
    )


def believed(name: str, probability: float, present: float = 0.0, plain: bool = True) -> tuple[CauseBelief, Any]:
    """A cause with its chances and what it reads: a fact that was measured and speaks for it, where it is *plain* to see."""
    weights = [(f"fact of {name}", 1.0 if plain else 0.19)]
    belief = CauseBelief(name, probability, max(probability, present), weights)
    return belief, SimpleNamespace(facts={f"fact of {name}"}, checks={}, symptoms={})


def case_of(*causes: tuple[CauseBelief, Any], remedies: tuple[Any, ...] = (), source: str = "measured") -> Any:
    """A case with these causes, likeliest first; without remedies each cause has one of its own."""
    beliefs = Beliefs(tuple(belief for belief, _ in causes), 0.0, 0.0, 1.0)
    offered = remedies or tuple(remedy(f"mend {belief.id}", **{belief.id: 0.9}) for belief, _ in causes)
    knowledge = SimpleNamespace(
        remedies={r.id: r for r in offered},
        causes={belief.id: entry for belief, entry in causes},
        practice={},
        symptoms={},
    )
    return SimpleNamespace(
        knowledge=knowledge,
        situation=SimpleNamespace(beliefs=beliefs, model=SimpleNamespace(knowledge=knowledge)),
        answers={f"fact of {belief.id}": Answer("x", source) for belief, _ in causes},
        costs=Costs(40.0, 1.0, {"none": 0.0}, 150.0, 1.0, 1.0),
        allows=lambda r: r.id != "forbidden",
        next_pour=SimpleNamespace(success_for=lambda done, names: (sorted(done), list(names))),
        symptoms_seen=("fault",),
    )


def outside(*causes: str, measured: bool = True) -> OutOfBounds:
    """A value out of bounds that speaks for these causes."""
    return OutOfBounds("t", 9.0, "degC", 18.0, None, causes, measured)


def changed(case: Any, verdict: Verdict = OPEN, *items: OutOfBounds) -> tuple[tuple[str, ...], list[str]] | None:
    """What the change is for, and its remedies."""
    found = change_for(case, verdict, items)
    return None if found is None else (found.causes, [use.remedy for use in found.remedies])


@pytest.mark.parametrize(
    ("kind", "first", "held", "wanted"),
    [
        ("open", 0.59, 0.25, "m"),
        ("open", 0.59, 0.249, "a"),
        ("open", 0.6, 0.25, "a"),
        ("one", 0.3, 0.25, "a"),
        ("both", 0.3, 0.25, "am"),
        ("too_little", 0.3, 0.25, "m"),
        ("none_fits", 0.3, 0.25, "m"),
    ],
)
def test_what_is_measured_wrong_goes_first_where_no_cause_is_named(
    kind: Any, first: float, held: float, wanted: str
) -> None:
    """From a quarter on that it held, while the first is under 60 %; where the headline names a cause the change is for that."""
    case = case_of(believed("a", first), believed("m", 0.1, held))
    found = changed(case, Verdict(kind, ("a", "m") if kind == "both" else ("a",), first), outside("m"))
    assert found == (tuple(wanted), [f"mend {name}" for name in wanted])


def test_the_first_is_not_passed_over_for_itself() -> None:
    """Where the first cause is itself what is measured wrong, it stays the first."""
    case = case_of(believed("a", 0.5), believed("m", 0.1, 0.3))
    assert changed(case, OPEN, outside("a"), outside("m")) == (("a",), ["mend a"])


@pytest.mark.parametrize(
    ("items", "changes"),
    [((), False), ((outside("m"),), True), ((outside("m", measured=False),), False), ((outside(),), False)],
)
def test_a_misfit_is_changed_for_only_where_something_is_measured_wrong(
    items: tuple[OutOfBounds, ...], changes: bool
) -> None:
    """Measured, and with a cause that it speaks for."""
    case = case_of(believed("a", 0.3), believed("m", 0.1, 0.3))
    assert (changed(case, Verdict("none_fits", (), 0.9), *items) is not None) is changes


@pytest.mark.parametrize(
    ("kind", "first", "changes"),
    [("too_little", 0.249, False), ("too_little", 0.25, True), ("open", 0.1, True), ("nothing_seen", 0.9, False)],
)
def test_too_little_told_changes_nothing_for_a_cause_under_a_quarter(kind: Any, first: float, changes: bool) -> None:
    """Of an open question the likeliest is tried all the same; without a fault nothing is."""
    assert (changed(case_of(believed("a", first)), Verdict(kind, ("a",), first)) is not None) is changes


@pytest.mark.parametrize(
    ("held", "first_plain", "second_plain", "source", "both"),
    [
        (0.5, True, True, "measured", True),
        (0.5, True, True, "seen", True),
        (0.499, True, True, "measured", False),
        (0.5, False, True, "measured", False),
        (0.5, True, False, "measured", False),
        (0.5, True, True, "told", False),
    ],
)
def test_two_are_changed_for_where_both_are_plain_to_see(
    held: float, first_plain: bool, second_plain: bool, source: str, both: bool
) -> None:
    """What is measured wrong is put right beside the first from even chances on that it held; both need an answer, measured or seen, that speaks for them."""
    case = case_of(believed("a", 0.8, plain=first_plain), believed("m", 0.1, held, plain=second_plain), source=source)
    wanted = (("a", "m"), ["mend a", "mend m"]) if both else (("a",), ["mend a"])
    assert changed(case, Verdict("one", ("a",), 0.8), outside("m")) == wanted


def test_two_in_the_headline_are_two_changes_only_where_both_are_plain() -> None:
    """A check counts as a fact does; an answer of another cause doesn't; one remedy that mends both, one in five or better, is enough."""
    both = Verdict("both", ("a", "b"), 0.5)
    pair = (believed("a", 0.8), believed("b", 0.6))
    assert changed(case_of(*pair), both) == (("a", "b"), ["mend a", "mend b"])
    assert changed(case_of(pair[0], believed("b", 0.6, plain=False)), both) == (("a",), ["mend a"])
    pair[1][1].facts, pair[1][1].checks = set(), {"fact of b": {}}
    assert changed(case_of(*pair), both) == (("a", "b"), ["mend a", "mend b"])
    pair[1][1].checks = {}
    assert changed(case_of(*pair), both) == (("a",), ["mend a"])
    pair[1][1].facts = {"fact of b"}
    for mends, used in ((0.2, ["r"]), (0.19, ["r", "own"])):
        case = case_of(*pair, remedies=(remedy("r", a=0.9, b=mends), remedy("own", 90.0, b=0.25)))
        assert changed(case, both) == (("a", "b"), used)


def test_what_the_change_leaves_is_told() -> None:
    """One of the first two from 15 % on that no remedy of the change mends; its chance is that all it is for is mended."""
    for chance, leaves in ((0.15, "b"), (0.149, "")):
        found = change_for(case_of(believed("a", 0.8), believed("b", chance), believed("c", 0.149)), OPEN, ())
        assert found is not None
        assert (found.leaves, found.chance) == (leaves, (["mend a"], ["a"]))
    third = change_for(case_of(believed("a", 0.8), believed("b", 0.149), believed("c", 0.149)), OPEN, ())
    assert third is not None
    assert third.leaves == ""
    mended = case_of(believed("a", 0.8), believed("b", 0.5), remedies=(remedy("r", a=0.9, b=0.1),))
    found = change_for(mended, OPEN, ())
    assert found is not None
    assert found.leaves == ""


@pytest.mark.parametrize(("chance", "best"), [(0.15, "wide"), (0.149, "sure")])
def test_what_else_a_remedy_mends_counts_from_fifteen_percent_on(chance: float, best: str) -> None:
    """The cause in question counts as even chances at least: 0.5 x 0.5 + 0.15 x 0.5 before 0.5 x 0.6."""
    case = case_of(
        believed("a", 0.3), believed("b", chance), remedies=(remedy("wide", a=0.5, b=0.5), remedy("sure", a=0.6))
    )
    found = best_remedy(case, "a")
    assert found is not None
    assert found.id == best


def test_a_remedy_s_cost_counts_against_another_bad_part() -> None:
    """Ten minutes at 40 an hour are 6.67 of the 150 of another bad part, 4.4 points: what mends five points more in a cause that is sure is worth them."""
    for more, best in ((0.94, "long"), (0.93, "short")):
        case = case_of(believed("a", 1.0), remedies=(remedy("short", 0.0, a=0.89), remedy("long", 10.0, a=more)))
        found = best_remedy(case, "a")
        assert found is not None
        assert found.id == best
    case = case_of(believed("a", 1.0), remedies=(remedy("y", a=0.9), remedy("x", a=0.9), remedy("forbidden", a=1.0)))
    found = best_remedy(case, "a")
    assert found is not None
    assert found.id == "x"
    assert best_remedy(case, "b") is None


def test_of_two_as_good_the_one_that_takes_less_of_the_day() -> None:
    """Nine minutes and forty of waiting cost what ten minutes do, and take five times as long."""
    slow, quick = remedy("a", 9.0, a=0.9), remedy("b", 10.0, a=0.9)
    slow.wait_minutes = 40.0
    case = case_of(believed("a", 1.0), remedies=(slow, quick))
    assert case.costs.of(slow) == pytest.approx(case.costs.of(quick))
    found = best_remedy(case, "a")
    assert found is not None
    assert found.id == "b"


@pytest.mark.parametrize(
    ("remedies", "used", "good"),
    [
        ((remedy("r", a=0.9),), "r", "a"),
        ((remedy("both", a=0.9, b=0.9), remedy("apart", a=0.5)), "apart", "a"),
        ((remedy("both", a=0.9, b=0.9), remedy("other", b=0.9)), "other", "b"),
        ((remedy("r", a=0.9), remedy("s", b=0.95)), "r", "a"),
        ((remedy("both", a=0.9, b=0.9), remedy("forbidden", a=0.9)), "both", ""),
        ((remedy("other", b=0.9),), "other", "b"),
    ],
)
def test_two_rivals_are_told_apart_by_the_change_where_one_can(remedies: tuple[Any, ...], used: str, good: str) -> None:
    """The best remedy of the first where its outcome tells, else any that may be used; good parts say the one, bad ones the other."""
    case = case_of(believed("a", 0.4), believed("b", 0.4), remedies=remedies)
    found = change_for(case, Verdict("open", ("a", "b"), 0.4), ())
    assert found is not None
    assert [use.remedy for use in found.remedies] == [used]
    if not good:
        assert (found.parting, found.causes) == (None, ("a",))
        return
    assert found.parting is not None
    assert (found.parting.good, {found.parting.good, found.parting.bad}) == (good, {"a", "b"})
    assert found.parting.good_chance == pytest.approx(1.0)
    assert 0.5 < found.parting.bad_chance < 1.0
    assert set(found.causes) == {"a", "b"}
    assert found.chance == ([used], ["a"])


def test_no_rivals_no_experiment() -> None:
    """Where one cause is named, or where the change is for what is measured wrong, the surest remedy is taken."""
    case = case_of(
        believed("a", 0.4), believed("b", 0.4, 0.5), remedies=(remedy("both", a=0.9, b=0.9), remedy("apart", a=0.5))
    )
    for verdict, items in (
        (Verdict("one", ("a",), 0.4), ()),
        (Verdict("both", ("a", "b"), 0.4), ()),
        (Verdict("open", ("a",), 0.4), ()),
        (Verdict("open", ("a", "b"), 0.4), (outside("b"),)),
    ):
        found = change_for(case, verdict, items)
        assert found is not None
        assert (found.parting, [use.remedy for use in found.remedies]) == (None, ["both"])


# -- the plan ----------------------------------------------------------------------------------------------------------


def planned(best: tuple[str, ...], promising: str, change: tuple[str, ...], gathered: str = "xyz") -> Any:
    """The remedies of the plan where the planner's best set, its most promising and what it gathered are these."""
    case = case_of(believed("a", 0.8), remedies=tuple(remedy(name, a=0.5) for name in "xyzw"))
    for each in case.knowledge.remedies.values():
        each.wait_minutes = 5.0

    def plan(names: Any) -> Any:
        return SimpleNamespace(remedies=tuple(sorted(names)), success=0.5, cost=1.0)

    case.next_pour = SimpleNamespace(
        best=lambda: plan(best),
        most_promising=lambda: plan(promising) if promising else None,
        remedies=[SimpleNamespace(id=name) for name in gathered],
        plan=plan,
    )
    uses = tuple(RemedyUse(name, ()) for name in change)
    found = plan_for(case, Change(uses, (), 0.5, None, "") if change else None)
    assert found is not None
    assert (found.minutes, found.when) == ((15.0,) * len(found.remedies), ("next_pour",) * len(found.remedies))
    return "".join(use.remedy for use in found.remedies)


def test_the_plan_holds_the_change_and_is_never_to_do_nothing() -> None:
    """The best set, with the remedies of the change that were weighed; where no set pays the most promising; where nothing is offered, nothing."""
    assert planned(("x",), "", ()) == "x"
    assert planned(("x",), "", ("x",)) == "x"
    assert planned(("x",), "", ("y",)) == "xy"
    assert planned(("x",), "", ("y", "w")) == "xy"
    assert planned((), "z", ()) == "z"
    assert planned((), "z", ("y",)) == "yz"
    assert planned((), "", ()) == ""
    case = case_of(believed("a", 0.8))
    case.symptoms_seen = ()
    assert plan_for(case, None) is None


# -- out of bounds -----------------------------------------------------------------------------------------------------


def bounded(
    value: Any, sides: str, relative: bool = False, source: str = "measured", **ratios: float
) -> list[OutOfBounds]:
    """What is found of *value* against 10 to 20 with an error of 1 (or a tenth), where it makes causes so many times likelier."""
    fact = SimpleNamespace(error=0.1 if relative else 1.0, error_relative=relative, unit="degC")
    model = SimpleNamespace(
        bearing={"t": list(ratios), "sum": ["s"]},
        causes={name: SimpleNamespace(facts={"t": name, "sum": name}) for name in (*ratios, "s")},
        knowledge=SimpleNamespace(facts={"t": fact, "sum": fact}),
        ratio=lambda evidence, entry, answer: ratios.get(evidence, 9.0),
    )
    computed = [
        SimpleNamespace(name="t", inputs=("x", "y")),
        SimpleNamespace(name="sum", inputs=("x", "y", "z")),
        SimpleNamespace(name="alone", inputs=("z",)),
        SimpleNamespace(name="untold", inputs=("x", "y", "z")),
    ]
    case: Any = SimpleNamespace(
        case=SimpleNamespace(build=None),
        knowledge=SimpleNamespace(
            practice={
                "p": SimpleNamespace(
                    bounds={"t": sides, "not told": "both"}, of=lambda build: SimpleNamespace(low=10.0, high=20.0)
                )
            },
            facts={"t": fact},
        ),
        answers={"t": Answer(value, source), "alone": Answer(1.0), **({"sum": Answer(1.0)} if "s" in ratios else {})},
        situation=SimpleNamespace(model=model),
        derivation=SimpleNamespace(computed=computed),
    )
    return list(out_of_bounds(case))


@pytest.mark.parametrize(
    ("value", "sides", "relative", "found"),
    [
        (9.0, "both", False, False), (8.9, "both", False, True), (21.0, "both", False, False), (21.1, "both", False, True),
        (8.9, "high", False, False), (21.1, "low", False, False), (8.9, "low", False, True), (21.1, "high", False, True),
        (9.1, "both", True, False), (9.0, "both", True, True), (22.2, "both", True, False), (22.3, "both", True, True),
        ("cold", "both", False, False), (None, "both", False, False),
    ],
)  # fmt: skip
def test_a_number_is_out_of_bounds_beyond_its_own_error(value: Any, sides: str, relative: bool, found: bool) -> None:
    """On the side that the practice bounds; an error may be a share of the value. Words and what nobody knows are never."""
    assert bool(bounded(value, sides, relative)) is found


def test_it_names_the_causes_that_it_makes_half_as_likely_again() -> None:
    """Most first, by name among equals; also by what is worked out from the same answers and more; told, measured or seen."""
    (found,) = bounded(5.0, "both", a=1.5, b=1.49, c=3.0, d=3.0)
    assert (found.causes, found.low, found.high, found.unit, found.value) == (("c", "d", "a"), 10.0, 20.0, "degC", 5.0)
    (found,) = bounded(5.0, "low", a=2.0, s=1.0)
    assert (found.causes, found.high) == (("a",), None)
    (found,) = bounded(50.0, "high", a=2.0, s=9.0)
    assert (found.causes, found.low) == (("s", "a"), None)
    assert [bounded(5.0, "both", source=s)[0].measured for s in ("measured", "seen", "told", "remembered")] == [
        True, True, False, False,
    ]  # fmt: skip


def test_of_each_value_measured_wrong_the_likeliest_cause_counts() -> None:
    """By its chance of a part, then of having held, then by name; what was only told names none, nor what is no cause of this build."""
    case = case_of(believed("a", 0.1, 0.5), believed("b", 0.3), believed("c", 0.1, 0.6), believed("d", 0.1, 0.6))

    def found(*items: OutOfBounds) -> list[str]:
        return [belief.id for belief in measured_causes(case, items)]

    assert found(outside("a", "b")) == ["b"]
    assert found(outside("a", "d", "c")) == ["c"]
    assert found(outside("a"), outside("c"), outside("b"), outside("b")) == ["b", "a", "c"]
    assert found(outside("b", measured=False), outside("elsewhere"), outside("elsewhere", "a")) == ["a"]


# -- the numbers -------------------------------------------------------------------------------------------------------


def test_numbers_go_with_the_change(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each remedy brings its facts to the middle of a practice number; of two that set one fact the first counts; no change, nothing otherwise."""
    case = case_of(believed("a", 0.8), remedies=(remedy("x"), remedy("y")))
    case.knowledge.remedies["y"].sets = {"fact": "y", "more": "x"}
    case.knowledge.practice = {
        name: SimpleNamespace(of=lambda build, mid=mid: SimpleNamespace(mid=mid))
        for name, mid in (("x", 1.0), ("y", 2.0))
    }
    case.case = SimpleNamespace(build="bare_foam")
    both = Change((RemedyUse("x", ()), RemedyUse("y", ())), (), 0.5, None, "")
    assert changes_of(case, both) == {"fact": 1.0, "more": 1.0}
    assert changes_of(case, Change(both.remedies[1:], (), 0.5, None, "")) == {"fact": 2.0, "more": 1.0}
    assert changes_of(case, None) == {}


@pytest.mark.parametrize(("chance", "told"), [(0.1, ["of a", "of the family"]), (0.099, ["of the family"])])
def test_only_numbers_that_bear_are_told(chance: float, told: list[str], monkeypatch: pytest.MonkeyPatch) -> None:
    """On the family of a fault seen, or on a cause from one in ten on; none where nothing is seen."""
    lines = [
        SimpleNamespace(name=f"of {what}", relevant_to={key})
        for what, key in (("a", "a"), ("b", "b"), ("the family", "skin"))
    ]
    monkeypatch.setattr(numbers, "next_pour_sheet", lambda answers, build, knowledge, changes: lines)
    case = case_of(believed("a", chance))
    case.knowledge.symptoms = {"fault": SimpleNamespace(family="skin"), "other": SimpleNamespace(family="b")}
    case.case = SimpleNamespace(build="bare_foam")
    assert [line.name for line in sheet_for(case, None)] == told  # type: ignore[attr-defined]
    case.symptoms_seen = ()
    assert sheet_for(case, None) == ()
