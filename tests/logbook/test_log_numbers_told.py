"""The numbers that the pages about the log state are those that it goes by."""

from __future__ import annotations

import io

import pytest
from log_support import ROOT
from PIL import Image

from diagnose.errors import InputError
from diagnose.knowledge import Knowledge
from diagnose.logbook import exchange, learn, learned, links, photos, replay, store
from diagnose.logbook.counts import Span
from diagnose.logbook.entry import ON_TARGET
from diagnose.logbook.fit import TOLD
from diagnose.logbook.learned import Learned, Seen
from diagnose.logbook.page import page_of
from diagnose.logbook.store import Store


def words(page: str) -> str:
    """The text of a page with its line breaks as spaces."""
    return " ".join((ROOT / "docs" / page).read_text("utf-8").split())


def test_the_page_on_learning_states_its_numbers() -> None:
    """What the book is usually worth, how often a cause or a symptom is told, the bounds, and what the judge needs."""
    text = words("log.md")
    usual = (learn.WORTH_BASE, links.WORTH_LINK, links.WORTH_CHECK, links.WORTH_RESULT)
    for sentence in (
        "usual are {:g}, {:g}, {:g} and {:g} cases".format(*usual),
        f"it would have been named in {100 * learn.NAMED_LOOKED:g} of 100), more where nobody looked "
        f"({100 * learn.NAMED_UNLOOKED:g} of 100)",
        f"beginning from {100 * TOLD:g} of 100",
        f"the odds of a base rate move at most {learned.MOST_BASE:g} times up or down, of a link {learned.MOST_LINK:g} times, "
        f"of a result without a cause {learned.MOST_RESULT:g} times, of all memory together {learned.MOST_MEMORY:g} times",
        f"the last {replay.MOST_JUDGED:,} are judged",
        f"ratio (over {ON_TARGET:g} % too much or too little A)",
    ):
        assert sentence in text, sentence
    assert (replay.FEWEST, "Twenty confirmed cases are needed" in text) == (20, True)
    assert (replay.PIECES, "in time order, in ten pieces" in text) == (10, True)


def test_the_page_of_limits_states_those_of_the_log() -> None:
    """A photo, a line of an import, and how long another writer is waited for."""
    text = words("limits.md")
    assert (photos.MOST_POINTS % 10**6, photos.MOST_BYTES % (1 << 20), exchange._LONGEST_LINE % (1 << 20)) == (0, 0, 0)
    assert f"| a photo | {photos.MOST_BYTES >> 20} MiB, {photos.MOST_POINTS // 10**6} million points |" in text
    assert f"| a line of an import | {exchange._LONGEST_LINE >> 20} MiB |" in text
    assert f"| waiting for another writer of the log, for a server | {store.WAIT} s |" in text
    assert f"at most {photos.EDGE} points long" in words("log.md")


def test_an_empty_log_teaches_nothing(file_store: Store, knowledge: Knowledge) -> None:
    """No factor, no mold, no lot; it is not judged, and nothing of it changes the book."""
    with file_store.reading() as connection:
        found = learn.learn(connection, knowledge)
    assert found == Learned(base={"": {}}, memory={"mold": {}, "lot_a": {}, "lot_b": {}})
    assert found.all == Seen() == Seen(0, 0, {})
    assert Learned().to_plain() == {
        "learned": 1, "cases": 0, "knowledge": "", "base": {}, "links": {}, "results": {}, "all": [0, 0, {}], "memory": {}, "spread": {},
    }  # fmt: skip
    page = page_of(file_store, Span()).to_plain()
    assert (page["n"], page["bad"], page["waiting"], page["pairs_tested"]) == (0, 0, 0, 0)
    assert page["plans"] == {"tried": 0, "good": 0, "low": 0.0, "high": 1.0}
    assert page["p_chart"] == {"center": 0.0, "points": []}
    assert page["pareto_causes"] == page["pareto_faults"] == page["associations"] == page["calibration"] == []
    verdict = replay.judge(file_store, knowledge, None, None)
    assert (verdict.accepted, verdict.judged, verdict.changes) == (False, 0, ())
    assert verdict.learned == Learned(knowledge=knowledge.content_key, base={"": {}}, memory=found.memory)


def test_a_photo_and_a_line_are_as_long_as_the_page_says() -> None:
    """The longer edge of what is kept; a line of the longest kind is read, and one byte more is not."""
    made = io.BytesIO()
    Image.new("RGB", (3300, 10)).save(made, "PNG")
    assert photos.taken_in(made.getvalue(), "a.png").width == 1600
    line = b'{"a":"' + b"x" * ((1 << 20) - 8) + b'"}'
    assert len(line) == 1 << 20
    assert set(exchange._object(line)) == {"a"}
    with pytest.raises(InputError, match="over 1048576 bytes, expected a case of at most 1 MiB"):
        exchange._object(line + b" ")
