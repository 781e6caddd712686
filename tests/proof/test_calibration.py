"""The scores against outside numbers, and a fast, small version of the calibration: where nothing is approximated, what is stated holds."""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from msgspec.structs import replace

from diagnose.knowledge import Knowledge, load_knowledge
from tests.proof import calibration
from tests.proof.calibration import SCENARIOS, Scenario, Stated, run
from tests.proof.scoring import bins_of, brier_parts, brier_score
from tests.proof.worlds import BUILDS, Departure, Telling, World

ROOT = Path(__file__).parents[2]
#: Twelve forecasts of rain, how often it rained after each, and how often each was given, of 12,402: D. S. Wilks, Statistical Methods in the
#: Atmospheric Sciences, table 7.3, as printed in the documentation of the R package `verification` (reliability.plot), where two frequencies of use
#: (0.0245, 0.0203) stand right in the source's comment and ten times too large in the example. The whole frequency is given there as 0.162.
WILKS_FORECAST = (0.0, 0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0)
WILKS_RAINED = (0.006, 0.019, 0.059, 0.15, 0.277, 0.377, 0.511, 0.587, 0.723, 0.779, 0.934, 0.933)
WILKS_GIVEN = (0.4112, 0.0671, 0.1833, 0.0986, 0.0616, 0.0366, 0.0303, 0.0275, 0.0245, 0.022, 0.017, 0.0203)


@pytest.fixture(scope="module")
def shipped() -> Knowledge:
    """The knowledge that ships."""
    return load_knowledge(str(ROOT / "knowledge"))


@pytest.fixture(scope="module")
def exact(shipped: Knowledge) -> Stated:
    """The first row, small."""
    return run(shipped, SCENARIOS[0], 400)


def test_parts_by_hand() -> None:
    """Ten forecasts worked by hand after Murphy (1973): 0.2 five times with one hit, 0.8 five times with three.

    o = 4/10. Reliability (5 (0.2 - 0.2)^2 + 5 (0.8 - 0.6)^2) / 10 = 0.02; resolution (5 (0.2 - 0.4)^2 + 5 (0.6 - 0.4)^2) / 10 = 0.04;
    uncertainty 0.4 x 0.6 = 0.24; nothing within bins. Straight from the definition: (4 x 0.04 + 0.64 + 3 x 0.04 + 2 x 0.64) / 10 = 0.22.
    """
    forecasts = [0.2] * 5 + [0.8] * 5
    outcomes = [True, False, False, False, False, True, True, True, False, False]
    parts = brier_parts(forecasts, outcomes)
    assert parts.reliability == pytest.approx(0.02, abs=1e-15)
    assert parts.resolution == pytest.approx(0.04, abs=1e-15)
    assert parts.uncertainty == pytest.approx(0.24, abs=1e-15)
    assert parts.within == pytest.approx(0.0, abs=1e-15)
    assert parts.score == pytest.approx(0.22, abs=1e-15)
    assert brier_score(forecasts, outcomes) == pytest.approx(0.22, abs=1e-15)


def _wilks() -> tuple[list[float], list[bool]]:
    """The published table as single forecasts, 100,000 in all, of which as many came true as it says."""
    forecasts: list[float] = []
    outcomes: list[bool] = []
    for forecast, rained, given in zip(WILKS_FORECAST, WILKS_RAINED, WILKS_GIVEN, strict=True):
        count = round(100_000 * given)
        hits = round(count * rained)
        forecasts += [forecast] * count
        outcomes += [True] * hits + [False] * (count - hits)
    return forecasts, outcomes


def test_parts_on_a_published_table() -> None:
    """On the published table the whole frequency is the published 0.162, the parts sum to the score, and each is what its formula
    gives from the table itself, with the forecasts of 0.05 and 0.1 in one bin of ours."""
    forecasts, outcomes = _wilks()
    assert sum(outcomes) / len(outcomes) == pytest.approx(0.162, abs=1e-3)  # the table is rounded to three digits
    parts = brier_parts(forecasts, outcomes)
    assert parts.score == pytest.approx(brier_score(forecasts, outcomes), abs=1e-12)
    assert parts.uncertainty == pytest.approx(0.162 * 0.838, abs=1e-3)
    rows = list(zip(WILKS_FORECAST, WILKS_RAINED, WILKS_GIVEN, strict=True))
    assert brier_score(forecasts, outcomes) == pytest.approx(
        sum(n * (o * (1 - f) ** 2 + (1 - o) * f**2) for f, o, n in rows), abs=2e-5
    )
    own = sum(n * (f - o) ** 2 for f, o, n in rows)
    assert parts.reliability <= own + 1e-6  # a coarser bin hides some of it
    assert parts.reliability == pytest.approx(own, abs=1e-3)
    assert {b.percent for b in bins_of(forecasts, outcomes)} == {0, 10, 20, 30, 40, 50, 60, 70, 80, 90, 100}


def test_parts_sum_to_the_score_whatever_the_forecasts() -> None:
    """With forecasts that differ within a bin the part within bins makes up the sum, to 1e-12."""
    rng = random.Random("parts")
    for _ in range(20):
        forecasts = [rng.random() ** rng.choice((1, 3)) for _ in range(200)]
        outcomes = [rng.random() < f for f in forecasts]
        assert brier_parts(forecasts, outcomes).score == pytest.approx(brier_score(forecasts, outcomes), abs=1e-12)


def test_what_is_stated_holds_where_nothing_is_approximated(exact: Stated) -> None:
    """Every printed figure comes true as often as stated, within three and a half sampling errors, for "had a part", "held", "off the list"."""
    for forecasts, outcomes in (
        (exact.forecasts, exact.outcomes),
        (exact.held, exact.truly_held),
        (exact.unlisted, exact.truly_unlisted),
    ):
        bins = [b for b in bins_of(forecasts, outcomes) if b.count * b.stated * (1.0 - b.stated) > 3.0]
        assert len(bins) >= 6
        for found in bins:
            assert abs(found.came_true - found.stated) <= 3.5 * found.error, found
    assert exact.parts.reliability < 1e-4
    assert exact.parts.resolution > 0.15 * exact.parts.uncertainty


def test_the_test_would_see_what_is_stated_and_does_not_hold(shipped: Knowledge) -> None:
    """Callers of whom one in five answers is wrong, and nobody says so, do not pass what the first row passes."""
    stated = run(shipped, Scenario("wrong", telling=replace(SCENARIOS[0].telling, wrong=0.2)), 200)
    worst = max(
        abs(b.came_true - b.stated) / b.error for b in stated.bins if b.count * b.stated * (1.0 - b.stated) > 3.0
    )
    assert worst > 3.5
    assert stated.parts.reliability > 2e-4


def test_dropped_answers_cost_resolution_not_reliability(shipped: Knowledge, exact: Stated) -> None:
    """With two answers in three gone less is told apart, and what is stated still holds."""
    poorer = run(shipped, Scenario(SCENARIOS[0].name, telling=SCENARIOS[0].telling.dropped(0.66)), 400)
    assert poorer.parts.resolution / poorer.parts.uncertainty < exact.parts.resolution / exact.parts.uncertainty
    assert poorer.parts.reliability < 2e-4


def test_wrong_answers_cost_both(shipped: Knowledge, exact: Stated) -> None:
    """A third of the answers wrong and said as seen: less told apart, and too sure."""
    telling = SCENARIOS[0].telling
    wrong = run(
        shipped,
        Scenario("wrong", telling=Telling(telling.symptoms, checks=telling.checks, facts=0.0, wrong=0.33, plain=True)),
        200,
    )
    assert wrong.parts.resolution / wrong.parts.uncertainty < exact.parts.resolution / exact.parts.uncertainty
    assert sum(wrong.first) / wrong.cases > sum(wrong.first_right) / wrong.cases + 0.1


def test_a_missing_cause_is_in_the_world_and_not_in_the_book(shipped: Knowledge) -> None:
    """What departs departs: causes the book lacks are drawn, and what they do counts as off its list."""
    world = World(shipped, BUILDS[0], Departure(missing=10), "missing")
    gone = set(world.model.causes) - set(world.book.causes)
    assert len(gone) == 10
    cases = [case for n in range(60) if (case := world.case(Telling(), f"missing {n}"))]
    assert any(case.held & gone for case in cases)
    assert not any(case.guilty & gone for case in cases)
    assert sum(case.unlisted for case in cases) > 0


def test_departures_depart_by_what_they_say(shipped: Knowledge) -> None:
    """Links off by two have their odds doubled or halved, both happen; a habit has its odds times eight; the book's own world is untouched."""
    world = World(shipped, BUILDS[0], Departure(links=2.0, habits=3), "depart")
    factors = set()
    for symptom, links in world.links.items():
        for cause, p in world.model.symptom_links(symptom).items():
            factors.add(round(links[cause] / (1 - links[cause]) / (p / (1 - p)), 6))
    assert factors == {2.0, 0.5}
    odds = {n: world.base[n] / (1 - world.base[n]) / (b / (1 - b)) for n, b in world.model.base.items()}
    assert sorted(round(value, 6) for value in odds.values())[-3:] == [8.0, 8.0, 8.0]
    own = World(shipped, BUILDS[0], Departure(), "own")
    assert own.base == own.model.base
    assert all(links == own.model.symptom_links(name) for name, links in own.links.items())


def test_same_seed_same_cases(shipped: Knowledge) -> None:
    """A scenario run twice states the same, digit by digit."""
    one, other = (run(shipped, SCENARIOS[-1], 16) for _ in range(2))
    assert one == other


def test_the_page_names_every_scenario(shipped: Knowledge) -> None:
    """`docs/calibration.md` is what the command writes: its words, and a row for each scenario; a bin of the picture for each figure."""
    written = (ROOT / "docs" / "calibration.md").read_text(encoding="utf-8")
    for scenario in SCENARIOS:
        assert f"| {scenario.name} |" in written
    words = (Path(calibration.__file__).parent / "calibration.in.md").read_text(encoding="utf-8")
    for line in words.splitlines():
        if "@" not in line:
            assert line in written.splitlines()
    found = [(scenario, run(shipped, scenario, 8)) for scenario in SCENARIOS]
    assert calibration.page(found).count("\n| ") == written.count("\n| ")


def test_the_picture_is_the_same_twice(exact: Stated, tmp_path: Path) -> None:
    """Drawn twice it has the same bytes, no date and no script."""
    found = [(SCENARIOS[0], exact)]
    for name in ("one.svg", "two.svg"):
        calibration.picture(found, tmp_path / name)
    one = (tmp_path / "one.svg").read_bytes()
    assert one == (tmp_path / "two.svg").read_bytes()
    assert b"<dc:date>" not in one
    assert b"<script" not in one
