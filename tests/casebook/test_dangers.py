"""What must be said first: the rule of each danger, told and not told, and the answers that say so.

The rules are common practice of the trade (no source), with the supplier's notice on hot cores that `dangers.yaml`
names.
"""

from __future__ import annotations

from typing import Any

import pytest

from diagnose.casebook.dangers import barred, danger_evidence, dangers_of
from diagnose.knowledge import Knowledge
from diagnose.reasoning.answers import Answer

Told = dict[str, Answer]


def told(**values: Any) -> dict[str, Answer]:
    """Answers as seen; a symptom is `seen` or `absent`."""
    return {name: Answer(float(value) if isinstance(value, int) else value) for name, value in values.items()}


HOT = [
    (told(scorched_core="seen"), ("scorched_core",)),
    (told(cut_face=("coarse_all", "brown_heart")), ("cut_face",)),
    (told(core_warmth=61), ("core_warmth",)),
    (told(core_warmth=61, hours_since_demold=30), ("core_warmth",)),
    (told(charge_mass=2900), ("charge_mass",)),
    (told(charge_mass=2900, hours_since_demold=1), ("charge_mass", "hours_since_demold")),
    (told(part_mass=2100, charge_mass=1900), ("part_mass",)),
    (told(a_mass=1000, b_mass=2000), ("a_mass", "b_mass")),
    (told(section_thickness=130, hours_since_demold=23), ("section_thickness", "hours_since_demold")),
    (told(charge_mass=2900, core_warmth=45), ("charge_mass",)),
    (told(charge_mass=4200, scorched_core="seen"), ("scorched_core", "charge_mass")),
]
COOL = [
    told(scorched_core="absent"),
    {"scorched_core": Answer(None)},
    told(cut_face=("coarse_all",)),
    told(core_warmth=60),
    told(charge_mass=2000),
    told(charge_mass=2900, hours_since_demold=24),
    told(charge_mass=2900, hours_since_demold=1, core_warmth=25),
    told(a_mass=3000),
    told(a_mass=1000, b_mass=2000, part_mass=1500),
    told(section_thickness=120),
    {},
]


@pytest.mark.parametrize(("answers", "evidence"), HOT)
def test_a_hot_core_is_told(knowledge: Knowledge, answers: Told, evidence: tuple[str, ...]) -> None:
    """A brown core, one over 60 °C, a lump over 2 kg or 120 mm that is fresh or of unknown age; and what says so."""
    assert danger_evidence(knowledge, answers)["hot_core"] == evidence


@pytest.mark.parametrize("answers", COOL)
def test_a_cool_part_is_not_called_hot(knowledge: Knowledge, answers: dict[str, Answer]) -> None:
    """At the limit, a day old, measured cool, of unknown mass, or looked for and not there: nothing is said of fire."""
    assert "hot_core" not in dangers_of(knowledge, answers)


STICKY = ("tacky_through", "tacky_fading", "tacky_face_only", "tacky_streaks", "skin_coat_soft")


@pytest.mark.parametrize("symptom", STICKY)
def test_what_is_sticky_is_not_handed_on(knowledge: Knowledge, symptom: str) -> None:
    """Whatever of the part is sticky may hold unreacted hard side or amines."""
    assert danger_evidence(knowledge, told(**{symptom: "seen"}))["free_isocyanate"] == (symptom,)
    assert "free_isocyanate" not in dangers_of(knowledge, told(**{symptom: "absent"}))


def test_a_ratio_well_over_and_crystals_are_told(knowledge: Knowledge) -> None:
    """More than 5 % A too much, and crystals in A; too little A and a clear A are not."""
    rich = told(ratio_error=9.2, a_appearance="crystals")
    assert danger_evidence(knowledge, rich)["free_isocyanate"] == ("a_appearance", "ratio_error")
    for answers in (told(ratio_error=5), told(ratio_error=-12), told(a_appearance="clear")):
        assert "free_isocyanate" not in dangers_of(knowledge, answers)


def test_amines_and_dust(knowledge: Knowledge) -> None:
    """A smell that stays speaks of amines; crumbs and chalk of dust that must not be breathed."""
    assert dangers_of(knowledge, told(lasting_smell="seen")) == ["amine_vapor"]
    assert dangers_of(knowledge, told(powdery_skin="seen")) == ["half_cured_dust"]
    assert dangers_of(knowledge, told(press_test="crumbles")) == ["half_cured_dust"]


def test_the_hot_core_comes_first(knowledge: Knowledge) -> None:
    """Fire before everything else, whatever else stands."""
    seen = dict.fromkeys(("tacky_through", "crumbly_core", "lasting_smell", "scorched_core"), "seen")
    found = dangers_of(knowledge, told(**seen))
    assert found[0] == "hot_core"
    assert set(found) == {"hot_core", "free_isocyanate", "amine_vapor", "half_cured_dust"}


def test_illness_is_asked_and_never_guessed(knowledge: Knowledge) -> None:
    """No answer about a part says that somebody is unwell; the question asks for A and B, and for the night."""
    unwell = knowledge.dangers["unwell"]
    assert not unwell.symptoms
    assert not unwell.answers
    assert unwell.lumps is None
    for word in ("since last night", "wheeze", "hazy", "halos"):
        assert word in unwell.ask


@pytest.mark.parametrize("name", ["hot_core", "free_isocyanate", "unwell", "amine_vapor", "half_cured_dust"])
def test_every_danger_says_what_to_do_at_once(knowledge: Knowledge, name: str) -> None:
    """What to do now stands in short sentences, the first of them an order of at most 20 words."""
    danger = knowledge.dangers[name]
    sentences = [sentence for sentence in danger.say.replace(";", ".").split(".") if sentence.strip()]
    assert len(sentences) >= 3
    assert max(len(sentence.split()) for sentence in sentences) <= 20


def test_the_hot_core_is_carried_out_and_watched(knowledge: Knowledge) -> None:
    """Outdoors on bare ground, alone, unwrapped, not cut before it is cold, watched, the fire service if it smokes."""
    say = knowledge.dangers["hot_core"].say
    for words in ("outdoors", "bare ground", "alone", "unwrapped", "Don't cut", "cold through"):
        assert words in say
    for words in ("watched for hours", "smokes", "fire service"):
        assert words in say


# -- remedies that must not be offered ---------------------------------------------------------------------------------

BARRED = [
    ("warm_the_part_through", told(tacky_face_only="seen"), ()),
    ("warm_the_part_through", told(tacky_face_only="seen", scorched_core="seen"), ("hot_core",)),
    ("warm_the_part_through", told(tacky_face_only="seen", charge_mass=4200, hours_since_demold=1), ("hot_core",)),
    ("warm_the_part_through", told(tacky_through="seen", warm_box_test="no_change"), ("warm_box_test",)),
    ("put_it_back_in_the_mold", told(swelling="seen"), ()),
    ("put_it_back_in_the_mold", told(swelling="seen", hours_since_demold=0.25), ()),
    ("put_it_back_in_the_mold", told(swelling="seen", hours_since_demold=48), ("hours_since_demold",)),
    ("put_it_back_in_the_mold", told(swelling="seen", split_foam="seen"), ("split_foam",)),
    ("rebuild_the_missing_part", told(thin_skin="seen", pinholes="seen"), ("mends_damage",)),
    ("rebuild_the_missing_part", told(short_fill="absent"), ("mends_damage",)),
    ("rebuild_the_missing_part", told(short_fill="seen"), ()),
    ("open_and_fill_the_bubbles", told(skin_peels_clean="seen"), ("mends_damage",)),
    ("glue_the_loose_skin", told(skin_peels_clean="seen", skin_compatible="silicone_or_latex"), ("skin_compatible",)),
    ("lay_release_thin_and_dry", told(release_used="silicone"), ("release_used",)),
    ("lay_release_thin_and_dry", told(release_used="unknown_spray"), ("release_used",)),
    ("lay_release_thin_and_dry", told(release_used="wax"), ()),
    ("change_the_release", told(release_used="silicone"), ()),
    ("fill_the_skin", told(pinholes="seen", tacky_face_only="seen"), ("free_isocyanate",)),
    ("fill_the_skin", told(pinholes="seen", powdery_skin="seen"), ("half_cured_dust",)),
    ("warm_the_mold", {}, ()),
]


@pytest.mark.parametrize(("remedy", "answers", "reasons"), BARRED)
def test_what_bars_a_remedy(knowledge: Knowledge, remedy: str, answers: Told, reasons: tuple[str, ...]) -> None:
    """A danger, an age, an answer that its text forbids, or damage that isn't there; an unknown age bars nothing."""
    assert barred(knowledge.remedies[remedy], answers, dangers_of(knowledge, answers)) == reasons


def test_under_a_hot_core_only_the_day_outdoors_is_left(knowledge: Knowledge) -> None:
    """With every symptom seen and the core hot, no remedy for this part is left but the one that carries it out."""
    answers = {name: Answer("seen") for name in knowledge.symptoms}
    dangers = dangers_of(knowledge, answers)
    left = [r.id for r in knowledge.remedies.values() if r.when == "this_part" and not barred(r, answers, dangers)]
    assert left == ["cut_out_the_brown_heart"]
