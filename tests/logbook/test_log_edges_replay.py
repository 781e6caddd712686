"""The log at its edges: many cases side by side, and the judge of what was learned."""

from __future__ import annotations

import json
import random
from typing import Any

import pytest
from log_edges import FIXED, case, entry
from msgspec.structs import replace

from diagnose.assessment.consultation import ModelCache
from diagnose.knowledge import Knowledge
from diagnose.logbook import replay
from diagnose.logbook.book import New, put_in
from diagnose.logbook.learned import Learned, Seen
from diagnose.logbook.side_by_side import MOST, chances, positive
from diagnose.logbook.store import Store
from diagnose.reasoning.finding import Finding
from diagnose.reasoning.inference import Inference
from diagnose.reasoning.network import NOT_LISTED, Network

# -- many cases side by side -------------------------------------------------------------------------------------------


def drawn(seed: int, findings: int) -> Network:
    """A small made-up network: links at random, symptoms and checks, readings that are not sure, some of them absent."""
    draw = random.Random(seed)
    names = (*sorted(draw.sample("abcdefgh", 5)), NOT_LISTED)
    made = []
    for i in range(findings):
        on = draw.choice((0.0, 1.0, 0.9))
        links = {name: draw.choice((0.0, 0.3, 0.8)) for name in names if draw.random() < 0.7}
        made.append(
            Finding(
                f"f{i}",
                f"f{i}",
                draw.random() < 0.6,
                on > 0.0,
                on,
                1.0 if on == 0.0 else draw.choice((0.0, 0.2)),
                0.05,
                links,
            )
        )
    return Network(names, tuple(draw.uniform(0.02, 0.5) for _ in names), tuple(made), {})


def test_small_networks_side_by_side_are_those_of_the_sweep() -> None:
    """Forty of different causes and findings at once, and each alone: the chances of the reasoning's own sweep, to 1e-12."""
    networks = [drawn(seed, seed % 8) for seed in range(40)]
    assert {len(positive(network)) for network in networks} >= {0, 1, 2, 3, 4}
    together = chances(networks)
    for network, found in zip(networks, together, strict=True):
        inference = Inference(network)
        wanted = dict(zip(inference.names, inference.responsible.tolist(), strict=True)) | {
            NOT_LISTED: inference.unexplained
        }
        assert found == pytest.approx(wanted, rel=1e-12, abs=1e-12)
        assert list(found) == list(network.causes)
        assert chances([network])[0] == pytest.approx(found, abs=1e-15)


def test_what_is_wide_and_what_can_not_be_is_believed_by_the_sweep(monkeypatch: pytest.MonkeyPatch) -> None:
    """Over ten findings the reasoning's own way is taken; what can't all be true is believed by neither."""
    wide = drawn(3, 24)
    assert len(positive(wide)) > MOST
    impossible = Network(("a", NOT_LISTED), (0.5, 0.1), (Finding("f", "f", True, True, 1.0, 0.0, 0.0, {}),), {})
    many = replace(impossible, findings=impossible.findings * 12)
    found = replay.believed([wide, impossible, drawn(4, 3), many])
    inference = Inference(wide)
    assert found[0] == pytest.approx(
        dict(zip(inference.names, inference.responsible.tolist(), strict=True)) | {NOT_LISTED: inference.unexplained}
    )
    assert (found[1], found[3]) == ({}, {})
    assert found[2] == chances([drawn(4, 3)])[0]


def test_a_case_that_one_way_can_not_judge_is_judged_by_none(
    knowledge: Knowledge, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Or the ways would be compared on different cases; a case of another book, or without a fault, is passed over."""
    models = ModelCache(knowledge)
    text = json.dumps(entry(knowledge, "thin_skin").case)
    plain = json.dumps(Learned().to_plain())
    cases = [
        (text, ("mold_cold",)),
        (json.dumps({"case": 1, "answers": {"of_another_book": "x"}}), ("a",)),
        (json.dumps({"case": 1, "answers": {}}), ("a",)),
    ]
    row, *others = replay._scores(models, plain, cases, replay.WAYS)
    assert others == [None, None]
    assert row is not None
    assert len(row) == 1 + len(replay.WAYS)
    assert [score for score, _ in row[1:]] == pytest.approx([row[1][0]] * (len(row) - 1), abs=1e-9)
    answers = iter([None, *[(-1.0, True)] * 20])
    monkeypatch.setattr(replay, "scored", lambda chances, causes: next(answers))
    assert [row is None for row in replay._scores(models, plain, cases[:1] * 2, replay.WAYS)] == [True, False]


def test_more_seen_than_fits_a_table_keeps_its_answers(knowledge: Knowledge) -> None:
    """By each way of using what was learned the same faults are seen."""
    many = sorted(s for s in knowledge.symptoms if knowledge.applies(s, "bare_foam", False))[: MOST + 2]
    ways = replay._Ways(ModelCache(knowledge), Learned(links={"mold_cold": {"thin_skin": 2.0}}), replay.WAYS)
    networks = ways.networks(case(knowledge, *many))
    assert {len(positive(network)) for network in networks} == {MOST + 2}
    assert len(networks) == len(replay.WAYS)


@pytest.mark.parametrize(
    ("alone", "helping"),
    [((0, 0, 0, 0), ()), ((1, 0, 0, 0), ()), ((1, 1, 0, -1), ("rates", "links")), ((-1, 0, 1, 1), ("results", "memory")),
     ((1, 1, 1, 1), ("rates", "links", "results", "memory"))],
)  # fmt: skip
def test_what_helps_by_itself_is_tried_together(alone: tuple[int, ...], helping: tuple[str, ...]) -> None:
    """Two parts or more that gain; what does just as well without it does without it. A case that the second round can't judge is left out."""
    asked: list[Any] = []

    def played(ways: Any) -> Any:
        asked.append(list(ways))
        first = ((-3.0, True), (0.0, True), *((float(gain), True) for gain in alone))
        return [first, first, None] if len(ways) > 1 else [((-3.0, True), (5.0, True)), None, None]

    ways, rows = replay._with_the_best_together(played)
    assert asked == [list(replay.WAYS), *([[helping]] if helping else [])]
    assert ways == [*replay.WAYS, *([helping] if helping else [])]
    assert rows[2] is None
    assert rows[0] is not None
    assert rows[0][-1] == ((5.0, True) if helping else (float(alone[-1]), True))
    assert (rows[1] is None) is bool(helping)
    assert replay._with_the_best_together(lambda ways: [])[1] == []


def test_the_best_way_is_told_in_words() -> None:
    """Of two that do as well the first that was tried; what it needs of what was learned is kept, the rest is not."""
    ways = [*replay.WAYS, ("rates", "results", "memory")]
    full = Learned(1, "k", {"": {"a": 2.0}}, {"a": {"s": 2.0}}, {"c": {"r": 2.0}})
    for gains, way in (
        ((1, 2, 2, 0, 0), "links"),
        ((1, 0, 0, 0, 3), "rates, results and memory"),
        ((0, 0, 0, 0, 0), "rates"),
    ):
        rows = [((-3.0, False), (0.0, True), *((float(gain), True) for gain in gains))] * 30
        found = replay._verdict(full, ways, rows)
        assert (found.way, found.accepted) == (way, any(gains))
        assert bool(found.learned.links) == ("links" in way)
        assert bool(found.learned.base) == ("rates" in way)


@pytest.mark.parametrize(("common", "accepted"), [(-3.0, True), (-2.0, False), (-1.0, False)])
def test_closings_that_have_nothing_to_do_with_what_was_told_teach_nothing(common: float, accepted: bool) -> None:
    """Where one who listens to nothing foretells as well as the book, whatever learning gains."""
    rows = [((common, True), (-2.0, True), *(((-1.0, True),) * 4))] * 30
    found = replay._verdict(Learned(), replay.WAYS, rows)
    assert found.accepted is accepted
    assert accepted or found.reason == "what the parts were closed with has nothing to do with what was told of them"


def test_who_is_asked_to_work_is_given_the_work(
    file_store: Store, knowledge: Knowledge, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The pieces go to the executor where there is one; nineteen confirmed cases make none, twenty make nine of two."""

    class Waiting:
        """An executor that only notes what it is given."""

        given: list[Any] | None = None

        def map(self, work: Any, tasks: Any) -> list[Any]:
            """Nothing is worked on."""
            self.given = list(tasks)
            return []

    monkeypatch.setattr(replay, "learn", lambda *cases: Learned(base={"": {"mold_cold": 2.0}}))
    told = entry(knowledge, "thin_skin")
    for count, pieces in ((19, []), (1, [2] * 9)):
        with file_store.writing() as connection:
            put_in(connection, [New(told, (FIXED,))] * count)
        executor: Any = Waiting()
        found = replay.judge(file_store, knowledge, None, executor)
        assert (found.judged, [moved.id for moved in found.changes]) == (0, ["mold_cold"])
        assert found.learned.knowledge == knowledge.content_key
        assert [len(cases) for _, _, cases in executor.given] == pieces


def test_a_verdict_on_too_few_says_nothing_else() -> None:
    """No score, no gain, no way; what was learned is shown all the same."""
    learned = Learned(cases=7)
    found = replay._verdict(learned, replay.WAYS, [])
    assert (found.learned, found.judged, found.gain, found.error, found.way, found.changes) == (
        learned,
        0,
        0.0,
        0.0,
        None,
        (),
    )
    assert found.book == found.with_log == replay.Score(0.0, 0.0)
    assert found.reason == "too few confirmed cases to judge by, 20 are needed"


@pytest.mark.parametrize(
    ("gain", "lost", "accepted"),
    [(0.006, 0, True), (0.005, 0, False), (0.3, 0, True), (0.3, 1, True), (0.3, 2, False)],
)
def test_learning_has_to_gain_half_a_hundredth_and_may_lose_one_first_place_in_a_hundred(
    gain: float, lost: int, accepted: bool
) -> None:
    """Over a hundred cases of which the book has all first."""
    rows = [((-3.0, False), (0.0, True), *(((gain, i >= lost),) * 4)) for i in range(100)]
    assert replay._verdict(Learned(), replay.WAYS, rows).accepted is accepted


@pytest.mark.parametrize(
    ("content", "damaged"),
    [
        ({"base": {"": {"a": 8.0}}}, False), ({"base": {"": {"a": 8.1}}}, True), ({"base": {"": {"a": 0.125}}}, False), ({"base": {"": {"a": 0.12}}}, True),
        ({"links": {"a": {"s": 4.0}}}, False), ({"links": {"a": {"s": 4.1}}}, True), ({"links": {"a": {"s": 0.24}}}, True),
        ({"results": {"c": {"r": 8.0}}}, False), ({"results": {"c": {"r": 8.1}}}, True), ({"results": {"c": {"r": 0.12}}}, True),
        ({"spread": {"mold": {"a": 0.5}}}, False), ({"spread": {"mold": {"a": 0.51}}}, True), ({"spread": {"mold": {"a": -0.01}}}, True),
        ({"all": [5, 5, {"a": 5}]}, False), ({"all": [5, 5, {"a": 6}]}, True), ({"all": [5, 6, {}]}, True), ({"all": [5, 0, {"a": 0}]}, False),
        ({"all": [5, -1, {}]}, True), ({"all": [5, 2, {"a": -1}]}, True), ({"base": {"": {"a": True}}}, True), ({"base": {"": {"a": float("nan")}}}, True),
        ({"memory": {"lot_a": {"x": [2, 1, {"a": 1}]}}}, False),
    ],
)  # fmt: skip
def test_what_was_learned_is_held_to_its_bounds_when_read(content: dict[str, Any], damaged: bool) -> None:
    """At a bound it is taken, a little beyond it is none; counts have to be possible."""
    plain = {**Learned(cases=3, knowledge="k").to_plain(), **content}
    if damaged:
        with pytest.raises(ValueError, match=r"number|counts"):
            Learned.from_plain(plain)
    else:
        found = Learned.from_plain(plain)
        assert found.to_plain() == plain
        assert (found.cases, found.knowledge) == (3, "k")


def test_what_is_left_out_of_what_was_learned() -> None:
    """Memory goes with its spread, all else alone; what a log teaches of how much it holds stays."""
    full = Learned(
        7,
        "k",
        {"": {"a": 2.0}},
        {"a": {"s": 2.0}},
        {"c": {"r": 2.0}},
        Seen(3, 2, {}),
        {"mold": {"x": Seen(1, 1, {})}},
        {"mold": {"a": 0.2}},
    )
    assert full.only("rates", "links", "results", "memory") == full
    assert full.only("rates", "links", "results") == replace(full, memory={}, spread={})
    assert full.only("memory") == replace(full, base={}, links={}, results={})
    assert full.only() == Learned(7, "k", all=full.all)


def test_what_was_learned_before_results_were_reads_as_it_did() -> None:
    """A log may hold a learning of a program that knew nothing of results without a cause."""
    plain = Learned(3, "k", {"": {"a": 2.0}}).to_plain()
    del plain["results"]
    assert Learned.from_plain(plain) == Learned(3, "k", {"": {"a": 2.0}})
