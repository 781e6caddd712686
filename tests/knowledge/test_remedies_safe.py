"""No remedy hurts anybody or says what another denies: found by its own words, so that a new one can't slip through.

The rules are common practice (no source), save the gas law in a closed mold (`boyle`) and the sums of the bench that
are named.
"""

from __future__ import annotations

import math
import re

import pytest

from diagnose.knowledge import Knowledge, Remedy, load_knowledge

SHIPPED = load_knowledge()
PACKING = SHIPPED.practice["packing"].by_build
REMEDIES = list(SHIPPED.remedies.values())
THIS_PART = [remedy for remedy in REMEDIES if remedy.when == "this_part"]
#: what must not be done to a part that may burn: it is kept warm, shut in, or opened to the air
HANDLED = re.compile(
    r"\b(warm|heat|box|oven|wrap|strap|pin(?:ned)?|stack|bag|squeez|press|cut|slic|slit|slash|trim|shave|sand)\w*"
    r"|\b(needle|prick|peel|brush|glue|inject)\w*"
)
KEPT_WARM = re.compile(r"\b(box|oven|hot room|heat lamp)\b")
SANDED = re.compile(r"\b(sand|grit|scuff|roughen|(?:gray|steel) pad)\w*", re.IGNORECASE)
#: its own text carries the part outdoors and waits until it is cold
COLD_FIRST = "cut_out_the_brown_heart"
SILICONE_DENIED = re.compile(r"on silicone nothing holds|[Nn]ot on a silicone|[Nn]ever on silicone")
AGE = {"In the first quarter of an hour": 15.0, "In the first half hour": 30.0, "The same day": 1440.0}
ATMOSPHERE, SOLID = 101.325, 1100.0


@pytest.fixture(scope="module")
def shipped() -> Knowledge:
    """The shipped knowledge."""
    return SHIPPED


def text(remedy: Remedy) -> str:
    """All that a caster reads of a remedy."""
    reasons = [link.why for link in remedy.fixes.values()]
    return " ".join((remedy.title, remedy.do, remedy.verify, remedy.caution, *reasons))


def named(remedies: list[Remedy]) -> list[str]:
    """The ids of *remedies*, for the names of the tests."""
    return [remedy.id for remedy in remedies]


@pytest.mark.parametrize("remedy", THIS_PART, ids=named(THIS_PART))
def test_nothing_is_done_to_a_hot_part(remedy: Remedy) -> None:
    """What warms, shuts in, squeezes or opens this part is never offered with a hot core.

    The one that isn't barred waits until it is cold.
    """
    if remedy.id == COLD_FIRST:
        for words in ("outdoors", "bare ground", "unwrapped", "alone", "cold through"):
            assert words in remedy.do
    elif HANDLED.search(text(remedy)):
        assert "hot_core" in remedy.never_with


@pytest.mark.parametrize("remedy", REMEDIES, ids=named(REMEDIES))
def test_no_box_round_a_hot_part(remedy: Remedy) -> None:
    """Whatever names a warm box (for parts; molds and cans have a cabinet) bears the danger and says it in words.

    The highest warmth is said too, and the one warmth of the box is 45 °C.
    """
    if KEPT_WARM.search(text(remedy)):
        assert "hot_core" in remedy.never_with
        assert re.search(r"middle is still warm|still warm inside", text(remedy))
        assert "60 °C" in text(remedy)
        assert set(re.findall(r"box at (\d+)", text(remedy))) <= {"45"}


@pytest.mark.parametrize("danger", ["free_isocyanate", "half_cured_dust"])
@pytest.mark.parametrize("remedy", THIS_PART, ids=named(THIS_PART))
def test_what_may_be_uncured_is_not_sanded(shipped: Knowledge, remedy: Remedy, danger: str) -> None:
    """Sanding and scuffing are not offered on a part that may be half cured, unless that very damage is mended."""
    uncured = set(shipped.dangers[danger].symptoms)
    barred = {name for name, values in remedy.not_when.items() if "seen" in values}
    if SANDED.search(f"{remedy.title} {remedy.do}") and not uncured & {*remedy.mends_damage, *barred}:
        assert danger in remedy.never_with


@pytest.mark.parametrize("remedy", THIS_PART, ids=named(THIS_PART))
def test_what_saves_says_which_damage_it_mends(shipped: Knowledge, remedy: Remedy) -> None:
    """Each names the damage, and each cause that it is offered for can make some of that damage."""
    assert remedy.mends_damage
    for cause in remedy.fixes:
        assert set(remedy.mends_damage) & set(shipped.causes[cause].symptoms), f"{cause} makes none of it"


def test_only_what_saves_this_part_knows_age_and_damage() -> None:
    """Age and damage are of the part in hand; the next pour has neither."""
    others = [remedy for remedy in REMEDIES if remedy.when != "this_part"]
    assert not [remedy.id for remedy in others if remedy.mends_damage or remedy.until is not None]


@pytest.mark.parametrize("name", list(SHIPPED.causes))
def test_every_cause_can_be_avoided(name: str) -> None:
    """Each cause has something for the next pour or between pours."""
    assert [remedy.id for remedy in REMEDIES if name in remedy.fixes and remedy.when != "this_part"]


@pytest.mark.parametrize("remedy", REMEDIES, ids=named(REMEDIES))
def test_what_its_own_text_forbids_is_not_offered(remedy: Remedy) -> None:
    """A text that says `not on silicone` is barred there; one for the first minutes says until when."""
    if SILICONE_DENIED.search(text(remedy)):
        assert "silicone_or_latex" in remedy.not_when["skin_compatible"]
    for words, minutes in AGE.items():
        if words in remedy.do:
            assert remedy.until == minutes


def test_silicone_release_is_changed_and_not_thinned(shipped: Knowledge) -> None:
    """With a silicone, unknown or oily release no coat of it is advised; the change mends its amount and its kind."""
    thin = shipped.remedies["lay_release_thin_and_dry"]
    assert {"silicone", "unknown_spray", "oil_or_soap"} <= set(thin.not_when["release_used"])
    assert {"silicone_release", "release_excess"} <= set(shipped.remedies["change_the_release"].fixes)


def test_squeezing_names_the_gas() -> None:
    """Whoever squeezes fresh foam is told of hot gas and vapor, face away and moving air."""
    fresh = ("squeeze_after_demold", "squeeze_it_back", "leave_it_in_room_air")
    for name in (*fresh, "hold_it_in_shape", "crush_and_trim"):
        caution = SHIPPED.remedies[name].caution.lower()
        assert "gas and vapor" in caution
        assert "face away" in caution or "turn the face away" in caution


def test_a_new_mold_is_never_cheap() -> None:
    """What costs a mold costs hours as well, so that no doubtful cause calls for it."""
    costly = [remedy for remedy in REMEDIES if remedy.material == "a mold"]
    assert [remedy.id for remedy in costly] == ["recast_the_mold"]
    assert min(remedy.minutes for remedy in costly) >= 120


# -- one number for each thing -----------------------------------------------------------------------------------------


def gas_law(packing: float, free_rise: float = 160.0) -> float:
    """Pressure in kPa over the air in a closed mold that keeps its gas, by Boyle's law beside the solid urethane."""
    solid = free_rise / SOLID
    return ATMOSPHERE * (packing * (1 - solid) / (1 - packing * solid) - 1)


@pytest.mark.parametrize("remedy", REMEDIES, ids=named(REMEDIES))
def test_packing_and_pressure_are_those_of_the_practice(remedy: Remedy) -> None:
    """No text names a packing or a pressure outside the ranges that the number sheet uses, bare or backed."""
    windows = [(window.low, window.high) for window in PACKING.values()]
    for sentence in re.split(r"(?<=[.;:])\s", text(remedy)):
        if "acking" in sentence or "packed" in sentence:
            for figure in map(float, re.findall(r"(?<![\d.,])1\.\d+(?!\d| ?%)", sentence)):
                assert any(low <= figure <= high for low, high in windows), sentence
        for figure in map(float, re.findall(r"(\d+(?:\.\d+)?) kPa", sentence)):
            assert gas_law(1.15) <= figure <= gas_law(1.6), sentence


def test_the_pressures_are_those_of_the_gas_law() -> None:
    """Boyle's law with the packing of the sheet: 60 kPa and more bare, 30 behind a coat; the load on a plate."""
    seams, plate = SHIPPED.remedies["close_the_seams"].do, SHIPPED.remedies["cover_the_opening"].do
    bare, backed = (float(figure) for figure in re.findall(r"(\d+) kPa", seams))
    assert gas_law(PACKING["bare_foam"].mid) <= bare <= gas_law(PACKING["bare_foam"].high)
    assert backed == pytest.approx(gas_law(PACKING["skin_and_foam"].high), rel=0.1)
    per_cm2 = 1000.0 * bare * 1e-4 / 9.81
    assert f"{per_cm2:.1f} kg on each cm²" in seams
    factor = float(re.search(r"(0\.\d+) x d x d", plate).group(1))  # type: ignore[union-attr]
    assert factor == pytest.approx(per_cm2 * math.pi / 4, rel=0.05)
    for across, load in re.findall(r"(\d+) cm (?:takes )?(\d+) kg", plate):
        assert float(load) == pytest.approx(factor * float(across) ** 2, rel=0.12)
    assert "strap or bolt anything over 4 cm" in plate


OWN_CLOCK = re.compile(r"\b1\.8 times|x 1\.8|doubl\w+ for each 10|colder by 10 °C \(18 °F\) doubles")
OWN_BOX = re.compile(r"45(?: to |-)50 °C")


@pytest.mark.parametrize("remedy", REMEDIES, ids=named(REMEDIES))
def test_clocks_follow_one_rule(remedy: Remedy) -> None:
    """What slows in the cold takes half again to twice as long for 10 °C (the sums: 1.46 to 2.16); a box is at 45 °C.

    No text has figures of its own.
    """
    assert not OWN_CLOCK.search(text(remedy))
    assert not OWN_BOX.search(text(remedy))


def test_causes_and_questions_follow_the_same_rule(shipped: Knowledge) -> None:
    """What explains a cause or tells how to find out has the same rule and the same box."""
    told = {name: f"{cause.help} {cause.mechanism}" for name, cause in shipped.causes.items()}
    for table in (shipped.facts, shipped.checks):
        told |= {name: f"{asked.title} {asked.help} {asked.find_out}" for name, asked in table.items()}
    assert not [name for name, words in told.items() if OWN_CLOCK.search(words) or OWN_BOX.search(words)]


def test_the_last_drop_is_in_by_two_thirds_of_cream() -> None:
    """The same share of cream in the title as on the number sheet, and mixing leaves time to pour."""
    assert "two thirds" in SHIPPED.remedies["pour_before_cream"].title
    shares = {figure for remedy in REMEDIES for figure in re.findall(r"[Mm]ix for (0\.\d+) of", remedy.do)}
    assert shares == {"0.4"}
