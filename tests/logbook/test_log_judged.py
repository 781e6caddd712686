"""The judge of what was learned, on scores that are given: whom each way is compared with, and how a case is weighed in all of them at once."""

from __future__ import annotations

import json
import random
import sys
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from log_edges import FIXED, entry

from diagnose.assessment.consultation import ModelCache
from diagnose.casebook.derive import derive
from diagnose.errors import DiagnoseError, InputError
from diagnose.knowledge import Knowledge
from diagnose.logbook import replay
from diagnose.logbook.book import New, put_in
from diagnose.logbook.cluster import executor_at
from diagnose.logbook.entry import case_of
from diagnose.logbook.learned import Learned, LearnedModels, Seen
from diagnose.logbook.store import Store
from diagnose.reasoning.answers import SEEN, Answer
from diagnose.reasoning.network import NOT_LISTED, Model


def scores(**ways: float) -> tuple[tuple[float, bool], ...]:
    """A score for one who listens to nothing, and for each way there is; those not named are worse than all."""
    named = {"common": -3.0, "book": -2.0, **ways}
    every = [named.get("_".join(way) or "book", -9.0) for way in replay.EVERY]
    return ((named["common"], False), *((each, True) for each in every))


@pytest.mark.parametrize(
    ("told", "way", "gain"),
    [
        ({"rates": -1.0}, "rates", 1.0),
        ({"memory": -1.5}, "memory", 0.5),
        ({"rates": -1.5, "results": -1.0, "rates_results": -0.25}, "rates and results", 1.75),
        ({"rates": -1.5, "links": -1.5, "results": -1.5, "memory": -1.5, "rates_links_results_memory": -1.0}, "rates, links, results and memory", 1.0),
    ],
)  # fmt: skip
def test_each_way_is_judged_by_its_own_score(
    told: dict[str, float],
    way: str,
    gain: float,
    file_store: Store,
    knowledge: Knowledge,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Against the book, not against one who listens to nothing; what helps by itself is played together, and the best is told."""
    with file_store.writing() as connection:
        put_in(connection, [New(entry(knowledge, "thin_skin"), (FIXED,))] * 20)
    monkeypatch.setattr(replay, "learn", lambda *told: replay.Learned())
    monkeypatch.setattr(replay, "_scores", lambda book, plain, cases, ways: [scores(**told)] * len(cases))
    found = replay.judge(file_store, knowledge, None, None)
    assert (found.accepted, found.way, found.judged) == (True, way, 18)
    assert found.gain == pytest.approx(gain)
    assert (found.book.log_score, found.with_log.log_score) == (pytest.approx(-2.0), pytest.approx(gain - 2.0))


def test_priors_of_all_causes_at_once_are_those_one_by_one(knowledge: Knowledge) -> None:
    """Opposites share one three-way choice, whatever the facts make of each; to the last digits, on every build."""
    draw = random.Random(3)
    for build, painted in (("bare_foam", False), ("skin_and_foam", True), (None, None)):
        model = Model(knowledge, build, painted)
        assert any(model.opposite(name) for name in model.causes)
        products = {name: draw.choice((0.05, 0.5, 1.0, 3.0, 20.0)) for name in model.causes}
        wanted = model.priors(products)
        found = replay._priors(model, np.array([products[name] for name in model.causes]))
        assert found == pytest.approx([wanted[name] for name in (*model.causes, NOT_LISTED)], rel=1e-14)


def test_pieces_are_a_tenth_and_the_first_only_teaches(
    file_store: Store, knowledge: Knowledge, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of 25 confirmed cases, pieces of three: the first three are judged by nobody; each piece is judged by what came before its first case."""
    parts = [New(entry(knowledge, "thin_skin", date=f"2026-01-{day:02d}"), (FIXED,)) for day in range(1, 26)]
    with file_store.writing() as connection:
        put_in(connection, parts[::-1])
    asked: list[Any] = []
    monkeypatch.setattr(
        replay, "learn", lambda connection, knowledge, when=None: asked.append(when) or replay.Learned()
    )
    with file_store.reading() as connection:
        tasks = list(replay._tasks(connection, knowledge, "a folder"))
    assert [len(cases) for _, _, cases in tasks] == [3] * 7 + [1]
    assert {folder for folder, _, _ in tasks} == {"a folder"}
    days = [when.compile(compile_kwargs={"literal_binds": True}).string.split("'")[1] for when in asked]
    assert days == [f"2026-01-{day:02d}" for day in range(4, 26, 3)]
    assert tasks[0][2][0] == (parts[3].entry.case_json, ("mold_cold",))


def test_the_last_cases_are_judged(file_store: Store, knowledge: Knowledge, monkeypatch: pytest.MonkeyPatch) -> None:
    """Confirmed ones, by day and then as they were logged, at most so many, oldest first."""
    monkeypatch.setattr(replay, "MOST_JUDGED", 3)
    days = ["2026-01-03", "2026-01-01", "2026-01-02", "2026-01-02", "2026-01-04"]
    parts = [New(entry(knowledge, "thin_skin", date=day), (FIXED,)) for day in days]
    parts[4] = New(parts[4].entry, (replay.replace(FIXED, how="opinion"),))
    with file_store.writing() as connection:
        put_in(connection, parts)
        numbers = connection.exec_driver_sql("SELECT number FROM cases ORDER BY number").scalars().all()
        found = replay._confirmed(connection)
    assert [(case.day, case.number) for case in found] == [
        ("2026-01-02", numbers[2]), ("2026-01-02", numbers[3]), ("2026-01-03", numbers[0]),
    ]  # fmt: skip
    assert {case.causes for case in found} == {("mold_cold",)}


def test_every_way_thinks_as_it_would_alone(knowledge: Knowledge) -> None:
    """Networks of a case in all sixteen ways at once: the priors and findings of the models of each way by itself, equal ones made once."""
    check = "swab_test"
    cause = next(c for c in sorted(knowledge.causes) if knowledge.causes[c].symptoms.get("thin_skin"))
    learned = Learned(
        cases=50,
        base={"": {cause: 1.5}, "bare_foam/no": {cause: 3.0, "a_rich": 0.5}},
        links={cause: {"thin_skin": 0.4}},
        results={check: {knowledge.checks[check].telling[0]: 4.0}},
        all=Seen(400, 100, {"trapped_air": 8}),
        memory={"mold": {"harbor\towl": Seen(9, 9, {"trapped_air": 7})}},
        spread={"mold": {"trapped_air": 0.3}},
    )
    answers = {
        "build": "bare_foam", "painted": "no", "symptoms": ["thin_skin", "pinholes"], "symptoms_absent": ["shrinkage"],
        "mold_temperature": "12 degC", check: {"value": knowledge.checks[check].telling[0], "source": "seen"},
    }  # fmt: skip
    told = case_of({"case": 1, "answers": answers, "about": {"client": "harbor", "mold": "owl"}}, knowledge)
    undone = case_of({"case": 1, "answers": {**answers, check: "unknown", "symptoms_absent": []}}, knowledge)
    ways = replay._Ways(ModelCache(knowledge), learned, replay.EVERY)
    for case, different in ((told, 16), (undone, 4)):
        found = ways.networks(case)
        given = derive(case, knowledge).all_answers(case)
        for way, network in zip(replay.EVERY, found, strict=True):
            wanted = LearnedModels(knowledge, learned.only(*way)).of(case).network(given)
            assert (network.causes, network.findings) == (wanted.causes, wanted.findings), way
            assert network.priors == pytest.approx(wanted.priors, abs=2e-12), way
        seen = {(str(network.findings), tuple(round(p, 9) for p in network.priors)) for network in found}
        assert len(seen) == different, "of the case told all four parts bear, of the other neither the check nor a mold"
    assert ways.common == Model(knowledge, None, None).base
    assert ways.networks(case_of({"case": 1, "answers": {"build": "bare_foam"}}, knowledge)) == []


class FakeClient:
    """A client of a cluster that notes what it is asked."""

    closed = False

    def __init__(self, address: str, timeout: str, set_as_default: bool) -> None:
        if address == "nowhere":
            raise TimeoutError("timed out\nafter a while")
        assert (timeout, set_as_default) == ("10s", False)

    def get_executor(self, pure: bool) -> str:
        """An executor whose tasks are run however often they are given."""
        assert not pure
        return "executor"

    def close(self) -> None:
        """Let go."""
        FakeClient.closed = True


def test_a_cluster_is_let_go_and_one_that_does_not_answer_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """By its address, in one line; and without the extra it says how to get it."""
    monkeypatch.setitem(sys.modules, "distributed", SimpleNamespace(Client=FakeClient))
    with executor_at("tcp://here:8786") as executor:
        assert (executor, FakeClient.closed) == ("executor", False)
    assert FakeClient.closed
    with (
        pytest.raises(DiagnoseError, match=r"^nowhere: the cluster doesn't answer: timed out$"),
        executor_at("nowhere"),
    ):
        pass
    monkeypatch.setitem(sys.modules, "distributed", None)
    with (
        pytest.raises(InputError, match=r"--cluster needs the extra: pip install 'benchside-diagnose\[cluster\]'"),
        executor_at("x"),
    ):
        pass


def test_more_than_can_be_weighed_is_left_aside_for_every_way(
    knowledge: Knowledge, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What the reasoning leaves aside is left out of the answers, of whatever was learned; up to ten faults nothing is."""
    seen = sorted(name for name in knowledge.symptoms if knowledge.applies(name, "bare_foam", False))[: replay.MOST + 1]
    model = Model(knowledge, "bare_foam", False)
    monkeypatch.setattr(
        replay, "Situation", lambda model, answers: SimpleNamespace(network="less", left_aside=(seen[2],))
    )
    told = {name: Answer(SEEN) for name in seen}
    network, answers = replay._weighed(model, told)
    assert (network, list(answers)) == ("less", [name for name in seen if name != seen[2]])
    few = {name: Answer(SEEN) for name in seen[: replay.MOST]}
    network, answers = replay._weighed(model, few)
    assert (network, answers) == (model.network(few), few)


def test_a_part_of_which_only_absent_faults_are_told_is_not_judged(knowledge: Knowledge) -> None:
    """There is nothing to be explained."""
    ways = replay._Ways(ModelCache(knowledge), Learned(), replay.WAYS)
    absent = {
        "build": "bare_foam",
        "symptoms_absent": ["thin_skin"],
        "swab_test": {"value": "rag_brown", "source": "seen"},
    }
    assert ways.networks(case_of({"case": 1, "answers": absent}, knowledge)) == []
    assert len(ways.networks(case_of({"case": 1, "answers": {**absent, "symptoms": ["pinholes"]}}, knowledge))) == len(
        replay.WAYS
    )


def test_the_error_of_a_gain_is_that_of_a_mean() -> None:
    """Gains of 0.3 and 0.5: a spread of 0.1414 over the root of two; of a single case there is none."""

    def verdict(*gains: float) -> replay.Verdict:
        return replay._verdict(
            Learned(), replay.WAYS, [((-9.0, False), (0.0, True), *(((gain, True),) * 4)) for gain in gains]
        )

    two, one = verdict(0.3, 0.5), verdict(0.3)
    assert (two.gain, two.error, two.accepted) == (pytest.approx(0.4), pytest.approx(0.1), True)
    assert (one.gain, one.error, one.judged) == (pytest.approx(0.3), 0.0, 1)


def test_what_came_before_a_piece_is_told_by_day_and_number(
    file_store: Store, knowledge: Knowledge, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Twenty parts of one day: each piece of two learns from those logged before its first."""
    with file_store.writing() as connection:
        put_in(connection, [New(entry(knowledge, "thin_skin", date="2026-01-02"), (FIXED,))] * 20)
    monkeypatch.setattr(replay, "FEWEST", 20)
    with file_store.reading() as connection:
        taught = [
            Learned.from_plain(json.loads(plain)).cases for _, plain, _ in replay._tasks(connection, knowledge, None)
        ]
    assert taught == list(range(2, 20, 2))
