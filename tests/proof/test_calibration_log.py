"""What the log wins back, small: one who knows a shop foretells it better than the book, and what its log teaches lies between."""

from __future__ import annotations

from pathlib import Path

import pytest

from diagnose.knowledge import Knowledge, load_knowledge
from diagnose.logbook.entry import case_of
from diagnose.reasoning.inference import Inference
from tests.proof import calibration_log
from tests.proof.calibration_log import AFTER, WORLDS, Row, Tally, cases, run, true_model
from tests.proof.worlds import BUILDS, Departure, World

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def shipped() -> Knowledge:
    """The knowledge that ships."""
    return load_knowledge(str(ROOT / "knowledge"))


@pytest.fixture(scope="module")
def habits() -> Row:
    """One shop whose base rates are far from the book's."""
    return run("test: base rates off by 8", Departure(bases=8.0), shops=1)


def test_who_knows_a_world_like_the_book_thinks_as_the_book(shipped: Knowledge) -> None:
    """Rates, links to symptoms and to every result of every check come through the overlay: the same chances to 1e-9."""
    for build in BUILDS:
        world = World(shipped, build, Departure(), "same")
        knowing, drawn = true_model(world), cases(world, "same")
        for _ in range(6):
            answers = next(drawn).answers
            one, other = (Inference(model.network(answers)) for model in (knowing, world.book))
            assert one.responsible.tolist() == pytest.approx(other.responsible.tolist(), rel=1e-9, abs=1e-12)


def test_who_knows_the_links_has_those_of_the_world(shipped: Knowledge) -> None:
    """Links off by three: each level of each check as the world draws it."""
    world = World(shipped, BUILDS[0], Departure(links=3.0), "off")
    knowing = true_model(world)
    for name, results in world.results.items():
        found = knowing.result_links(shipped.checks[name])
        total = {c: sum(1 for table in results.values() if c in table) for table in results.values() for c in table}
        for result in shipped.checks[name].telling:
            for cause, p in results[result].items():
                if cause in knowing.causes and total[cause] == 1:
                    assert found[result][cause] == pytest.approx(min(p, 0.98), rel=1e-9), "no check is surer than 0.98"


def test_what_the_log_teaches_lies_between_the_book_and_knowing(habits: Row) -> None:
    """More closed cases, nearer to one who knows; the replay takes it."""
    assert habits.knowing is not None
    assert habits.knowing.log_score > habits.book.log_score + 0.2
    assert habits.book.log_score < habits.learned[-1].log_score < habits.knowing.log_score
    assert habits.learned[0].log_score < habits.learned[-1].log_score
    share = habits.won_back(len(AFTER) - 1)
    assert share is not None
    assert 0.3 < share < 1.0
    assert habits.taken == 1


def test_nothing_is_won_back_where_nothing_is_lost() -> None:
    """A share of next to nothing is not stated, nor one where nobody can know."""
    book, knowing = Tally(-1.0, 0.5, 0.02), Tally(-0.8, 0.6, 0.01)
    learned = (Tally(-0.9, 0.5, 0.02),) * 3
    assert Row("x", book, learned, knowing, 1).won_back(2) == pytest.approx(0.5)
    assert Row("x", book, learned, Tally(-0.99, 0.5, 0.02), 1).won_back(2) is None
    assert Row("x", book, learned, None, 1).won_back(2) is None


def test_a_logged_case_reads_as_the_case_that_was_drawn(shipped: Knowledge) -> None:
    """What the replay reads from the log are the answers that the world gave."""
    import random

    for build in BUILDS:
        world = World(shipped, build, Departure(), "read")
        for place, case in zip(range(8), cases(world, "read"), strict=False):
            new = calibration_log.logged(world, case, place, random.Random("read"))
            read = case_of(new.entry.case, shipped)
            told = {q: a.value for q, a in read.values.items() if a.known}
            assert told == {q: a.value for q, a in case.answers.items()}


def test_the_page_has_every_kind_of_world() -> None:
    """`docs/calibration-log.md` is what the command writes: its words, and four rows for each kind of world."""
    written = (ROOT / "docs" / "calibration-log.md").read_text(encoding="utf-8")
    words = (Path(calibration_log.__file__).parent / "calibration_log.in.md").read_text(encoding="utf-8")
    for line in words.splitlines():
        if "@" not in line:
            assert line in written.splitlines()
    for name, _ in WORLDS:
        assert f"| {name} | log score |" in written
    assert written.count("\n| ") == 1 + 1 + 4 * len(WORLDS)
    assert "@" not in written


def test_the_picture_is_the_same_twice(habits: Row, tmp_path: Path) -> None:
    """Drawn twice it has the same bytes, no date and no script."""
    for name in ("one.svg", "two.svg"):
        calibration_log.picture([habits], tmp_path / name)
    one = (tmp_path / "one.svg").read_bytes()
    assert one == (tmp_path / "two.svg").read_bytes()
    assert b"<dc:date>" not in one
    assert b"<script" not in one
