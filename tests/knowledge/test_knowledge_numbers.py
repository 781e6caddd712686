"""Words become numbers: ratios scaled so that the answers of a cause sum to one, curves, shares, errors, bands."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.knowledge import Knowledge, load_knowledge
from diagnose.knowledge.ratio_curve import curve_ratio

Compile = Callable[..., Knowledge]


def test_ratios_of_choices_are_scaled_so_that_shares_times_ratios_sum_to_one(compiled: Compile, trade: str) -> None:
    """Hand-worked: yes "for" (4), no "against" (1/4) at equal shares average 2.125, so both are divided by it, with a warning."""
    text = trade.replace(
        "      paint_wait: {1 h: strong for, 24 h: neutral, 72 h: against}", "      painted: {yes: for, no: against}"
    )
    known = compiled(text)
    choices = known.causes["paint_early"].facts["painted"].choices
    assert choices == {"yes": pytest.approx(4 / 2.125), "no": pytest.approx(0.25 / 2.125)}
    line = text[: text.index("      painted: {yes: for")].count("\n") + 1
    assert [warning for warning in known.warnings if "paint_early" in warning] == [
        f"k/trade.yaml:{line}: causes.paint_early.facts.painted: ratios scaled by 0.47, shares times ratios should sum to 1"
        " and sum to 2.12; 'yes: slightly for' makes it 1.12, or make the answers that speak for the cause rarer"
    ]


def test_a_scale_within_a_quarter_is_no_warning(compiled: Compile, trade: str) -> None:
    """Yes "slightly for" (2), no "slightly against" (1/2) average 1.25: scaled by just under a quarter, without a word."""
    text = trade.replace(
        "      paint_wait: {1 h: strong for, 24 h: neutral, 72 h: against}",
        "      painted: {yes: slightly for, no: slightly against}",
    )
    known = compiled(text)
    assert known.causes["paint_early"].facts["painted"].choices == {
        "yes": pytest.approx(1.6),
        "no": pytest.approx(0.4),
    }
    assert not [warning for warning in known.warnings if "paint_early" in warning]


def test_a_curve_is_scaled_over_the_typical_values(compiled: Compile, trade: str) -> None:
    """Hand-worked: 2 h, 24 h, 72 h at shares 2, 10, 5 of 17 read 10^(22/23), 1 and 1/4 off the curve 10, 1, 1/4."""
    at_two = 10 ** (22 / 23)
    total = (2 * at_two + 10 * 1.0 + 5 * 0.25) / 17
    curve = compiled(trade).causes["paint_early"].facts["paint_wait"].curve
    assert curve == (
        (1.0, pytest.approx(10 / total)),
        (24.0, pytest.approx(1 / total)),
        (72.0, pytest.approx(0.25 / total)),
    )


def test_a_many_is_not_scaled(compiled: Compile, trade: str) -> None:
    """Each value of a `many` is told or not by itself, so its ratios stay the words' own."""
    assert compiled(trade).causes["old_cans"].facts["changed"].choices == {"new_lot": 0.25, "nothing": 2.0}


def test_shares_errors_and_bands_are_in_the_unit_stored(compiled: Compile, trade: str) -> None:
    """Shares sum to one, a relative error is a fraction, bands and bounds are numbers of the unit stored."""
    known = compiled(trade.replace("    error: 2 degC", "    error: 9 degF"))
    assert [choice.share for choice in known.facts["build"].choices.values()] == [
        pytest.approx(2 / 3),
        pytest.approx(1 / 3),
    ]
    assert known.facts["paint_wait"].error_bar == (0.1, True)
    assert known.facts["face_temperature"].error_bar == (5.0, False)
    bands = [(result.low, result.high) for result in known.checks["thickness"].results.values()]
    assert bands == [(0.5, None), (0.1, 0.5), (None, 0.1)]
    foam = known.materials["thin_foam"]
    assert foam.ratios == ((50.0, 160.0), (60.0, 140.0))
    assert foam.values == {"sheet_temperature": 25.0, "cream_time": 45.0, "demold_time": 2700.0}


def test_yes_and_no_need_their_shares_only(compiled: Compile, trade: str) -> None:
    """A yes/no fact says how common each is; both have their names by themselves."""
    assert "choices: {yes: common, no: common}" in trade
    choices = compiled(trade).facts["painted"].choices
    assert choices == {"yes": ("Yes", 0.5), "no": ("No", 0.5)}


def test_what_is_common_practice_need_not_say_so(compiled: Compile, trade: str) -> None:
    """An entry without sources is common practice."""
    known = compiled(trade)
    assert (known.causes["face_cold"].sources, known.causes["face_hot"].sources) == (
        ("common practice",),
        ("small_book",),
    )


def test_a_group_stands_for_its_members(compiled: Compile, trade: str) -> None:
    """Symptoms and families named together by one name, in the order of the group, none twice."""
    text = (
        trade.replace("    kind: id\n", "    kind: id\n    ask_when: {seen: [any_of_these, holes]}\n")
        + "\ngroups:\n  any_of_these: [poor_skin, holes]\n"
    )
    assert compiled(text).facts["material"].ask_when == {"seen": ("poor_skin", "holes")}
    assert compiled(text.replace("[any_of_these, holes]", "any_of_these")).facts["material"].ask_when == {
        "seen": ("poor_skin", "holes")
    }


PRACTICE = """
practice:
  packing:
    about: how much more than would just fill it
    unit: '1'
    by_build: {bare_foam: {low: 1.3, mid: 1.4, high: 1.6}, skin_and_foam: {low: 1.05, high: 1.25}}
    source: common practice
  bucket_loss: {about: what stays in the bucket, unit: percent, value: 6 percent, source: common practice}
"""


def test_practice_numbers_are_spans_by_build(compiled: Compile, trade: str) -> None:
    """One value is a span without width; where builds differ, the whole is what they span and its middle their mean."""
    practice = compiled(trade + PRACTICE).practice
    assert practice["packing"].of("bare_foam") == (1.3, 1.4, 1.6)
    assert practice["packing"].of("skin_and_foam") == (1.05, pytest.approx(1.15), 1.25)
    assert practice["packing"].of(None) == (1.05, pytest.approx(1.275), 1.6)
    assert practice["bucket_loss"].of("bare_foam") == practice["bucket_loss"].of(None) == (6.0, 6.0, 6.0)


DANGER = """
dangers:
  hot_core:
    title: Hot inside
    say: Carry it out.
    why: It may smolder.
    when: {symptoms: [holes], checks: {cup: [soft]}, facts: {painted: [yes]}}
    over: {face_temperature: 140 degF, thickness: 3 cm}
    lumps: {mass: 2 kg, section: 120 mm, age_under: 1 day, cool_under: 35 degC}
"""


def test_dangers_are_in_the_units_stored(compiled: Compile, trade: str) -> None:
    """Limits in the unit of their question, lumps in grams, millimetres, hours and degrees."""
    danger = compiled(trade + DANGER).dangers["hot_core"]
    assert danger.over == {"face_temperature": pytest.approx(60.0), "thickness": pytest.approx(30.0)}
    assert danger.lumps == (2000.0, 120.0, 24.0, 35.0)
    assert (danger.symptoms, danger.answers) == (("holes",), {"cup": ("soft",), "painted": ("yes",)})


@given(
    st.lists(
        st.tuples(st.floats(-50, 50), st.floats(0.03, 30)),
        min_size=2,
        max_size=6,
        unique_by=lambda point: round(point[0], 3),
    ),
    st.floats(-80, 80),
)
def test_a_curve_is_flat_outside_and_between_its_points_inside(points: list[tuple[float, float]], value: float) -> None:
    """Outside the points the ratio is the last one's; inside it lies between its two neighbours, and on a point it is the point's."""
    curve = sorted(points)
    read = curve_ratio(curve, value)
    left = max((p for p in curve if p[0] <= value), default=curve[0])
    right = min((p for p in curve if p[0] >= value), default=curve[-1])
    assert min(left[1], right[1]) * (1 - 1e-9) <= read <= max(left[1], right[1]) * (1 + 1e-9)
    assert all(curve_ratio(curve, x) == pytest.approx(ratio) for x, ratio in curve)


def test_a_curve_is_straight_in_log_ratio() -> None:
    """Half way between 1 and 100 is 10."""
    assert curve_ratio([(0.0, 1.0), (10.0, 100.0)], 5.0) == pytest.approx(10.0)


def test_the_shipped_ratios_all_average_to_one() -> None:
    """In the shipped knowledge, for each cause and fact, shares times ratios sum to one."""
    shipped: Knowledge = load_knowledge()
    for cause in shipped.causes.values():
        for name, evidence in cause.facts.items():
            fact = shipped.facts[name]
            if fact.kind == "many" or (fact.kind == "number" and not fact.typical):
                continue
            if fact.kind == "number":
                total = sum(share * curve_ratio(evidence.curve, value) for value, share in fact.typical)
            else:
                total = sum(choice.share * evidence.choices[key] for key, choice in fact.choices.items())
            assert math.isclose(total, 1.0, rel_tol=1e-9), (cause.id, name)
