"""Learning: it finds a shop's habits, holds still where there is nothing to find, and can't be led far astray."""

from __future__ import annotations

import json
import math
import random
import subprocess
import sys
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from log_support import GOOSE, ROOT, Run, new_database
from msgspec.structs import replace
from shop import Shop, case_at
from sqlalchemy import select

from diagnose.assessment.consultation import Consultation, ModelCache
from diagnose.casebook import Case, read_case
from diagnose.errors import InputError
from diagnose.knowledge import Knowledge
from diagnose.logbook import schema
from diagnose.logbook.apply import earlier_file, forget, put_in_use
from diagnose.logbook.book import New, put_in
from diagnose.logbook.changes import changed_results
from diagnose.logbook.entry import Outcome, entry_of
from diagnose.logbook.fit import TOLD, WORTH_TOLD, Row, fitted
from diagnose.logbook.in_use import digest_of, in_use
from diagnose.logbook.learn import Counts, learn, rate
from diagnose.logbook.learned import (
    MOST_BASE,
    MOST_LINK,
    MOST_RESULT,
    Learned,
    LearnedModels,
    Seen,
    book_result,
    memory_ratio,
    models_for,
    moved,
    with_results,
)
from diagnose.logbook.places import where_of
from diagnose.logbook.replay import judge, score
from diagnose.logbook.side_by_side import MOST, chances, positive
from diagnose.logbook.store import Store, open_log
from diagnose.logbook.worth import likeliest_worth
from diagnose.reasoning.inference import Inference
from diagnose.reasoning.network import NOT_LISTED, Model
from tests.patience import WAIT
from tests.proof.worlds import BUILDS, Departure, Telling, World

pytestmark = pytest.mark.timeout(300)

#: a cold shop that weighs too much A and never too much B
HABITS = {"mold_cold": 0.4, "a_rich": 0.25, "b_rich": 0.005}


def logged(store: Store, shop: Shop, count: int) -> None:
    with store.writing() as connection:
        put_in(connection, list(shop.parts(count)))


def rates(store: Store, knowledge: Knowledge) -> tuple[dict[str, float], dict[str, float]]:
    """Base rates of a bare, unpainted part: by the book and as learned."""
    with store.reading() as connection:
        learned = learn(connection, knowledge)
    book = Model(knowledge, "bare_foam", False)
    return {c: p for c, p in book.base.items() if c != NOT_LISTED}, LearnedModels(knowledge, learned).base_rates(book)


def test_rates_come_to_the_habits_of_the_shop(store: Store, knowledge: Knowledge) -> None:
    """After 1,200 pours the learned rates are near the true ones, on either engine; a bound holds the one beyond it."""
    logged(store, Shop(knowledge, HABITS), 1200)
    book, learned = rates(store, knowledge)
    assert learned["mold_cold"] == pytest.approx(0.40, abs=0.06)
    assert learned["b_rich"] < 0.5 * book["b_rich"]
    assert learned["a_rich"] == pytest.approx(moved(book["a_rich"], MOST_BASE))


def test_more_cases_bring_them_nearer(tmp_path: Path, knowledge: Knowledge) -> None:
    """The distance, in the mean over four shops, shrinks as their logs grow, and soon: what the book is worth is told by the log."""
    distance = [0.0, 0.0, 0.0]
    for seed in range(4):
        store = open_log(where_of(str(tmp_path / f"{seed}.db")), write=True)
        parts = list(Shop(knowledge, HABITS, seed=seed, good=0.0).parts(250))
        for place, (start, end) in enumerate(((0, 10), (10, 60), (60, 250))):
            with store.writing() as connection:
                put_in(connection, parts[start:end])
            distance[place] += abs(rates(store, knowledge)[1]["mold_cold"] - 0.4) / 4
        store.close()
    assert 0.32 > distance[0] > distance[1] > distance[2]
    assert distance[1] < 0.15


def test_learning_a_habit_is_accepted(store: Store, knowledge: Knowledge) -> None:
    """Played again in time order it foretells better than the book, and puts more right causes first."""
    logged(store, Shop(knowledge, HABITS), 200)
    verdict = judge(store, knowledge, None, None)
    assert verdict.accepted, verdict.reason
    assert verdict.gain > verdict.error > 0.0
    assert verdict.with_log.first > verdict.book.first
    assert {"mold_cold", "a_rich"} <= {moved.id for moved in verdict.changes[:8]}


def test_a_shop_like_the_book_is_left_with_the_book(file_store: Store, knowledge: Knowledge) -> None:
    """Chance alone is no habit: what is learned from it doesn't help and is refused."""
    logged(file_store, Shop(knowledge), 220)
    verdict = judge(file_store, knowledge, None, None)
    assert not verdict.accepted
    assert verdict.reason == "it does not foretell the causes better than the book"


def test_a_shop_that_logs_nonsense_can_not_wreck_the_book(file_store: Store, knowledge: Knowledge) -> None:
    """Causes at random: refused. And were it used all the same, clear evidence would still win."""
    logged(file_store, Shop(knowledge, nonsense=True), 240)
    verdict = judge(file_store, knowledge, None, None)
    assert not verdict.accepted
    cold = read_case(GOOSE, knowledge)
    by_book, by_log = (
        first(models, cold) for models in (ModelCache(knowledge), LearnedModels(knowledge, verdict.learned))
    )
    assert by_book == by_log == "mold_cold"


def test_one_cause_for_everything_moves_no_rate_beyond_its_bound(file_store: Store, knowledge: Knowledge) -> None:
    """A shop that closes all with the same word: the odds move eightfold at most."""
    rut = Shop(knowledge, {"grade_unsuited": 0.95})
    logged(file_store, rut, 300)
    book, learned = rates(file_store, knowledge)
    for cause, usual in book.items():
        factor = learned[cause] / (1 - learned[cause]) / (usual / (1 - usual))
        assert 1 / MOST_BASE - 1e-9 <= factor <= MOST_BASE + 1e-9


def first(models: ModelCache, case: Case) -> str:
    return Consultation(models, case).situation.beliefs.causes[0].id


def test_what_nobody_looked_for_teaches_little() -> None:
    """A hundred cases in which a cause was not named: where it was looked for the rate falls far, where nobody looked less."""
    cleared, _ = rate(0.2, Counts(100, {}, {"x": 100}), "x", shows=0.9)
    unlooked, _ = rate(0.2, Counts(100, {}, {}), "x", shows=0.9)
    silent, held = rate(0.2, Counts(100, {}, {}), "x", shows=0.0)
    assert cleared < unlooked < 0.2
    assert silent == pytest.approx(0.2)
    assert held == pytest.approx(20.0)


def test_a_rate_is_a_beta_where_all_was_looked_for() -> None:
    """With nothing left open it is the plain update: 50 cases of the book at 0.2 and 30 of 100 seen give 40/150."""
    found, held = rate(0.2, Counts(100, {"x": 30}, {"x": 70}), "x", shows=1.0, worth=50.0)
    left = 70 * found * 0.05 / (1 - 0.95 * found)
    assert held == pytest.approx(30 + left)
    assert found == pytest.approx((10 + 30 + left) / 150)


def test_a_mold_with_a_fault_of_its_own_is_remembered(file_store: Store, knowledge: Knowledge) -> None:
    """One of six molds traps air: on it the cause is likelier, on its sisters not, and the replay keeps the memory."""
    shop = Shop(knowledge, HABITS, by_mold={"mold 3": {"trapped_air": 0.7}})
    cause = "trapped_air"
    logged(file_store, shop, 420)
    verdict = judge(file_store, knowledge, None, None)
    assert verdict.accepted, verdict.reason
    models = LearnedModels(knowledge, verdict.learned)
    part = case_at(knowledge, build="bare_foam", painted="no", symptoms=["rounded_tips"])
    here, elsewhere = (models.of(part.with_about(mold=name)).base[cause] for name in ("mold 3", "mold 5"))
    assert here > 2 * elsewhere
    assert models.of(part.with_about(mold="mold 3", client="another")).base[cause] == models.of(part).base[cause]


def test_good_pours_speak_for_a_lot() -> None:
    """The same lot good elsewhere: a cause that a lot carries is less likely; a lot bad again and again, more so."""
    total = Seen(400, 100, {"b_wet": 8})
    learned = Learned(all=total, spread={"lot_b": {"b_wet": 0.3}})

    def ratio(seen: Seen) -> float:
        return memory_ratio(learned, "lot_b", seen, "b_wet", "material", 0.05)

    assert (
        ratio(Seen(20, 0)) < ratio(Seen(5, 0)) < 1.0 < ratio(Seen(5, 2, {"b_wet": 2})) < ratio(Seen(5, 4, {"b_wet": 4}))
    )
    assert memory_ratio(learned, "lot_b", Seen(20, 0), "mold_cold", "mold_preparation", 0.05) == 1.0
    assert memory_ratio(Learned(all=total), "lot_b", Seen(20, 0), "b_wet", "material", 0.05) == 1.0


def test_the_replay_is_the_same_however_many_work(file_store: Store, knowledge: Knowledge) -> None:
    """In this process and in two others: the same bytes."""
    logged(file_store, Shop(knowledge, HABITS), 60)
    alone = judge(file_store, knowledge, None, None)
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as executor:
        together = judge(file_store, knowledge, None, executor)
    assert json.dumps(together.learned.to_plain()) == json.dumps(alone.learned.to_plain())
    assert (together.book, together.with_log, together.gain) == (alone.book, alone.with_log, alone.gain)


def test_the_replay_is_the_same_on_a_cluster(file_store: Store, knowledge: Knowledge) -> None:
    """A local cluster of two processes of dask.distributed, through its standard executor: the same bytes."""
    distributed = pytest.importorskip("distributed")
    from diagnose.logbook.cluster import executor_at

    logged(file_store, Shop(knowledge, HABITS), 60)
    alone = judge(file_store, knowledge, None, None)
    with (
        distributed.LocalCluster(n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None) as cluster,
        executor_at(cluster.scheduler_address) as executor,
    ):
        together = judge(file_store, knowledge, None, executor)
    assert (together.book, together.with_log, together.gain) == (alone.book, alone.with_log, alone.gain)


def test_both_engines_teach_the_same(knowledge: Knowledge, address: str, tmp_path: Path) -> None:
    """SQLite and PostgreSQL count alike: the same bytes."""
    found = []
    for place in (str(tmp_path / "log.db"), new_database(address)):
        store = open_log(where_of(place), write=True)
        logged(store, Shop(knowledge, HABITS), 150)
        with store.reading() as connection:
            found.append(json.dumps(learn(connection, knowledge).to_plain()))
        store.close()
    assert found[0] == found[1]


def test_too_few_cases_are_not_judged(file_store: Store, knowledge: Knowledge) -> None:
    """Twenty confirmed cases are needed."""
    logged(file_store, Shop(knowledge, HABITS), 12)
    verdict = judge(file_store, knowledge, None, None)
    assert (verdict.accepted, verdict.judged) == (False, 0)
    assert verdict.reason == "too few confirmed cases to judge by, 20 are needed"


#: a shop whose swab test finds trouble in cold molds far more often than the book has it, and whose warm box far less often
CHECKED = {"mold_cold": {"swab_test:rag_brown": 0.8, "warm_box_test:dries": 0.3}}
CHECKS = ("swab_test", "warm_box_test", "press_test")


def link(models: ModelCache, case: Case, finding: str) -> float:
    """The chance that a cold mold shows as a result, given that nothing more telling does."""
    check, _, result = finding.partition(":")
    model = models.of(case)
    return model.result_links(model.knowledge.checks[check])[result]["mold_cold"]


def test_links_to_checks_come_to_what_the_shop_sees(file_store: Store, knowledge: Knowledge) -> None:
    """As far as the bound of a link lets it. Those that the shop shares with the book stay, one that it lacks is not made."""
    shop = Shop(knowledge, {"mold_cold": 0.45}, links=CHECKED, checks=CHECKS, good=0.0)
    part = case_at(knowledge, build="bare_foam", painted="no")
    book, distance = ModelCache(knowledge), []
    parts = list(shop.parts(1200))
    for start, end in ((0, 150), (150, 1200)):
        with file_store.writing() as connection:
            put_in(connection, parts[start:end])
        with file_store.reading() as connection:
            learned = learn(connection, knowledge)
        models = LearnedModels(knowledge, learned)
        for finding, true in (("swab_test:rag_brown", 0.8), ("warm_box_test:dries", 0.3)):
            distance.append(abs(link(models, part, finding) - true) / abs(link(book, part, finding) - true))
    usual = link(book, part, "swab_test:rag_brown")
    bound = abs(moved(usual, MOST_LINK) - 0.8) / abs(usual - 0.8)
    assert distance[0] < 0.95
    assert distance[2] == pytest.approx(bound, abs=0.02), "as near as its bound lets it"
    assert distance[3] < distance[1] < 0.95
    assert distance[3] < 0.5
    assert link(models, part, "press_test:slow") == pytest.approx(link(book, part, "press_test:slow"), abs=0.08)
    assert "swab_test:turns_to_mush" not in learned.links["mold_cold"]


def test_a_check_that_nobody_did_teaches_nothing_of_itself(file_store: Store, knowledge: Knowledge) -> None:
    """And a reading that was only remembered counts as none."""
    logged(file_store, Shop(knowledge, HABITS), 120)
    with file_store.writing() as connection:
        told = {"question": "swab_test", "value": "rag_brown", "source": "remembered"}
        numbers = connection.execute(select(schema.cases.c.number)).scalars().all()
        connection.execute(schema.answers.insert(), [{**told, "case_number": number} for number in numbers])
    with file_store.reading() as connection:
        links = learn(connection, knowledge).links
    assert links["mold_cold"]
    assert not [finding for table in links.values() for finding in table if ":" in finding]


def test_of_a_reading_only_what_it_decides_counts(file_store: Store, knowledge: Knowledge) -> None:
    """A mild result rules out what is more telling, and says nothing of what is milder than itself."""
    answers = {"build": "bare_foam", "painted": "no", "symptoms": ["tacky_face_only"], "swab_test": "comes_back"}
    outcome = Outcome(("mold_cold",), "looked", "bad")
    with file_store.writing() as connection:
        put_in(connection, [New(entry_of(case_at(knowledge, **answers), knowledge), (outcome,))] * 40)
    with file_store.reading() as connection:
        factors = learn(connection, knowledge).links["mold_cold"]
    assert factors["swab_test:rag_brown"] < 1.0


def test_links_by_hand() -> None:
    """One cause, no leak, all told: a book worth 100 cases at 0.25 and 60 of 80 seen give 85/180. With a leak a part is the leak's."""

    def one(row: Row) -> tuple[float, float]:
        found = fitted(np.array([0.25]), np.array([100.0]), [row])
        return float(found.links[0]), found.told[0]

    alone, told = one(Row(60, 20, 0, 0.0, (0,)))
    assert alone == pytest.approx((100 * 0.25 + 60) / (100 + 80), abs=1e-12)
    assert told == pytest.approx((WORTH_TOLD * TOLD + 60) / (WORTH_TOLD + 60), abs=1e-12)
    leaking, _ = one(Row(60, 20, 0, 0.2, (0,)))
    shows = 1.0 - 0.8 * (1.0 - leaking)
    assert leaking == pytest.approx((25 + 60 * leaking / shows) / 180, abs=1e-9)
    assert leaking < alone
    untold, told = one(Row(0, 0, 80, 0.0, (0,)))
    assert 0.0 < untold < 0.25
    assert told < TOLD


def test_a_shop_of_few_words_is_no_shop_of_few_faults() -> None:
    """A third of what shows is told, of every cause alike: the links stay, and what is learned is how little is told."""
    book, rows = np.full(12, 0.5), [Row(33, 0, 167, 0.0, (i,)) for i in range(12)]
    found = fitted(book, np.full(12, 50.0), rows)
    assert found.told[0] == pytest.approx(0.33, abs=0.07)
    assert found.links.tolist() == pytest.approx([0.5] * 12, abs=0.06)


def test_the_book_is_worth_what_the_shop_shows_it_to_be() -> None:
    """Two hundred tries of forty chances: drawn as the book has them it is worth a thousand cases, three times off a dozen or so."""
    draw = random.Random(5)
    rows: dict[float, list[tuple[float, float, float]]] = {1.0: [], 3.0: []}
    for off, found in rows.items():
        for _ in range(40):
            book = draw.uniform(0.05, 0.5)
            true = moved(book, draw.choice((off, 1.0 / off)))
            found.append((sum(draw.random() < true for _ in range(200)), 200.0, book))
    assert likeliest_worth(rows[1.0], 50.0) >= 512.0
    assert 4.0 <= likeliest_worth(rows[3.0], 50.0) <= 32.0
    assert likeliest_worth([], 64.0) == 64.0
    assert likeliest_worth([(2, 3, 0.25)], 64.0) == 64.0, "a few cases decide nothing"


#: a shop whose cups rise slowly and whose ridges show the worst of everything, whatever the matter is
USUAL = {"cup_test": {"slow_or_low": 0.12}, "where_worst": {"ridges": 0.3}}


def test_results_without_a_cause_come_to_what_the_shop_sees(file_store: Store, knowledge: Knowledge) -> None:
    """Of a check with one result and of one with several values; what the shop shares with the book stays where it was."""
    shop = Shop(knowledge, usual=USUAL, checks=("cup_test", "where_worst", "press_test"), good=0.0)
    distance, parts = [], list(shop.parts(900))
    for start, end in ((0, 60), (60, 900)):
        with file_store.writing() as connection:
            put_in(connection, parts[start:end])
        with file_store.reading() as connection:
            learned = learn(connection, knowledge)
        laid = with_results(knowledge, learned.results)
        distance.append(abs(book_result(laid, "cup_test", "slow_or_low") - 0.12))
    assert distance[1] < distance[0] < 0.12 - book_result(knowledge, "cup_test", "slow_or_low")
    assert distance[1] < 0.03
    ridges = book_result(knowledge, "where_worst", "ridges")
    assert book_result(laid, "where_worst", "ridges") == pytest.approx(moved(ridges, MOST_RESULT)), (
        "no further than its bound"
    )
    assert book_result(laid, "press_test", "slow") == pytest.approx(
        book_result(knowledge, "press_test", "slow"), abs=0.02
    )
    model = LearnedModels(knowledge, learned).of(case_at(knowledge, build="bare_foam", painted="no"))
    assert model.leak(model.knowledge.checks["cup_test"], "slow_or_low") == book_result(laid, "cup_test", "slow_or_low")


def test_results_without_a_cause_are_used_where_they_help(file_store: Store, knowledge: Knowledge) -> None:
    """A shop with such checks foretells better with them; one like the book leaves them as they are."""
    checks = ("cup_test", "where_worst", "cut_face", "peel_back")
    usual = {**USUAL, "cut_face": {"coarse_near_wall": 0.3}, "peel_back": {"pits": 0.3}}
    logged(file_store, Shop(knowledge, usual=usual, checks=checks, good=0.0), 300)
    verdict = judge(file_store, knowledge, None, None)
    assert verdict.accepted, verdict.reason
    assert verdict.way is not None
    assert "results" in verdict.way
    shown = {(m.check, m.result): (m.book, m.now) for m in changed_results(verdict.learned, knowledge)}
    assert shown["where_worst", "ridges"][1] > 3 * shown["where_worst", "ridges"][0]


def test_nonsense_in_results_can_not_wreck_the_book(file_store: Store, knowledge: Knowledge) -> None:
    """The most telling result each time, and causes at random: no chance's odds move more than eightfold, and clear evidence wins."""
    most = {"cup_test": {"streaky": 0.99}, "where_worst": {"ridges": 0.99, "tips": 0.99}}
    logged(file_store, Shop(knowledge, usual=most, checks=tuple(most), good=0.0, nonsense=True), 300)
    with file_store.reading() as connection:
        learned = learn(connection, knowledge)
    factors = [factor for table in learned.results.values() for factor in table.values()]
    assert factors
    assert all(1 / MOST_RESULT - 1e-9 <= factor <= MOST_RESULT + 1e-9 for factor in factors)
    assert first(LearnedModels(knowledge, learned.only("results")), read_case(GOOSE, knowledge)) == "mold_cold"


def test_nonsense_in_the_checks_can_not_wreck_the_book(file_store: Store, knowledge: Knowledge) -> None:
    """Checks read upside down, causes at random: no link's odds move more than fourfold, and it is not taken."""
    upside_down = {"mold_cold": {"warm_box_test:dries": 0.001, "swab_test:rag_brown": 0.98}}
    shop = Shop(knowledge, {"mold_cold": 0.45}, links=upside_down, checks=CHECKS, good=0.0, nonsense=True)
    logged(file_store, shop, 400)
    verdict = judge(file_store, knowledge, None, None)
    assert not verdict.accepted
    with file_store.reading() as connection:
        factors = [f for table in learn(connection, knowledge).links.values() for f in table.values()]
    assert factors
    assert all(1 / MOST_LINK <= factor <= MOST_LINK for factor in factors)
    cold = read_case(GOOSE, knowledge)
    assert first(LearnedModels(knowledge, verdict.learned), cold) == "mold_cold"


def test_networks_side_by_side_are_those_of_the_reasoning(knowledge: Knowledge) -> None:
    """Chances of drawn cases of all builds, wrong and remembered answers among them, against the sweep: to 1e-12."""
    telling = Telling(symptoms=0.12, checks=0.3, facts=0.3, remembered=0.3, slips=0.3, wrong=0.05)
    networks = []
    for build in BUILDS:
        world = World(knowledge, build, Departure(), f"side {build}")
        drawn = (world.case(telling, f"{build} {i}") for i in range(16))
        networks += [world.book.network(case.answers) for case in drawn if case is not None]
    networks = [network for network in networks if len(positive(network)) <= MOST]
    assert len({len(positive(network)) for network in networks}) >= 5
    for network, found in zip(networks, chances(networks), strict=True):
        inference = Inference(network)
        wanted = dict(zip(inference.names, inference.responsible.tolist(), strict=True))
        wanted[NOT_LISTED] = inference.unexplained
        assert found == pytest.approx(wanted, rel=1e-12, abs=1e-12)


def test_what_can_not_all_be_true_has_no_chances(knowledge: Knowledge) -> None:
    """Beside a case that can be."""
    network = World(knowledge, BUILDS[0], Departure(), "x").book.network(
        case_at(knowledge, build="bare_foam", painted="no", symptoms=["thin_skin"]).values
    )
    impossible = replace(network, findings=(replace(network.findings[0], leak=0.0, links={}, off=0.0),))
    found = chances([impossible, network])
    assert found[0] == {}
    assert found[1]


def test_many_findings_seen_are_judged_by_the_sweep(file_store: Store, knowledge: Knowledge) -> None:
    """Where more is seen than fits a table of all subsets, the replay takes the reasoning's own way; the score is the same case's."""
    many = sorted(s for s in knowledge.symptoms if knowledge.applies(s, "bare_foam", False))[: MOST + 2]
    case = case_at(knowledge, build="bare_foam", painted="no", symptoms=many)
    text = json.dumps(entry_of(case, knowledge).case)
    (found,) = score((None, json.dumps(Learned().to_plain()), [(text, ("mold_cold",))]))
    assert found is not None
    by_common, by_book = found[:2]
    beliefs = Consultation(ModelCache(knowledge), case).situation.beliefs
    total = math.fsum(cause.probability for cause in beliefs.causes) + beliefs.unexplained
    cold = next(cause.probability for cause in beliefs.causes if cause.id == "mold_cold")
    assert by_book[0] == pytest.approx(math.log(cold / total), abs=1e-12)
    common = Model(knowledge, None, None).base
    assert by_common[0] == pytest.approx(math.log(common["mold_cold"] / math.fsum(common.values())), abs=1e-12)


# -- in use ---------------------------------------------------------------------------------------------------------------


def test_what_is_in_use_lies_over_the_book_and_is_forgotten_again(store: Store, knowledge: Knowledge) -> None:
    """It is in the log itself, on either engine; forgetting leaves the book as it was."""
    logged(store, Shop(knowledge, HABITS), 150)
    with store.reading() as connection:
        learned = learn(connection, knowledge)
    case = case_at(knowledge, build="bare_foam", painted="no", symptoms=["thin_skin"])
    book = ModelCache(knowledge).of(case).base["mold_cold"]
    assert in_use(store.where) is None
    assert put_in_use(store, learned).number == 1
    used = in_use(store.where)
    assert used is not None
    assert used.learned == Learned.from_plain(json.loads(json.dumps(learned.to_plain())))
    assert models_for(knowledge, store.where).of(case).base["mold_cold"] > 1.5 * book
    assert models_for(knowledge, store.where, book=True).of(case).base["mold_cold"] == book
    assert put_in_use(store, replace(learned, cases=7)).number == 2
    again = in_use(store.where)
    assert again is not None
    assert again.to_plain() == {"number": 2, "recorded": again.recorded, "cases": 7}
    assert forget(store)
    assert in_use(store.where) is None
    assert models_for(knowledge, store.where).of(case).base["mold_cold"] == book
    assert not forget(store)
    with store.reading() as connection:
        rows = connection.execute(schema.learned.select().order_by(schema.learned.c.number)).mappings().all()
    assert [(row["number"], row["in_use"], row["cases"]) for row in rows] == [(1, 0, learned.cases), (2, 0, 7)]
    assert all(row["ended"] for row in rows)


def test_all_benches_of_a_log_think_alike(
    place: str, run: Run, knowledge: Knowledge, clean_env: dict[str, str]
) -> None:
    """One bench applies, another with a home of its own reads by it at once; one goes back to the book, and so do all."""
    bench = open_log(where_of(place), write=True)
    logged(bench, Shop(knowledge, HABITS), 300)
    bench.close()
    other = {"XDG_DATA_HOME": f"{clean_env['XDG_DATA_HOME']}-other"}

    def read(*more: str) -> dict[str, Any]:
        words = [sys.executable, "-m", "diagnose", "read", str(GOOSE), "--json", "--log", place, *more]
        env = {**clean_env, **other}
        done = subprocess.run(words, env=env, cwd=ROOT, capture_output=True, text=True, timeout=WAIT, check=False)
        assert done.returncode == 0, done.stderr
        plain: dict[str, Any] = json.loads(done.stdout)
        return plain

    assert read()["learned"] is None
    applied = json.loads(run("learn", "--apply", "--log", place, "--json", "--jobs", "1").stdout)
    assert (applied["applied"], applied["in_use"]["number"]) == (True, 1)
    assert read()["learned"]["cases"] == applied["cases"]
    assert read("--book")["learned"] is None
    shown = json.loads(run("--log", place, "--json", env=other).stdout)
    assert shown["in_use"] == applied["in_use"]
    assert "in use: learning 1 of this log, from" in run("--log", place, env=other).stdout
    assert json.loads(run("learn", "--forget", "--log", place, "--json", env=other).stdout)["forgotten"] is True
    assert read()["learned"] is None


@pytest.mark.parametrize(
    "content",
    [
        "{",
        "[]",
        "{}",
        '{"learned": 99}',
        pytest.param({"learned": 0}, id="an older format"),
        pytest.param({"base": {"": {"mold_cold": 1e9}}}, id="a factor beyond its bound"),
        pytest.param({"links": {"mold_cold": {"thin_skin": -1}}}, id="a link below nothing"),
        pytest.param({"results": {"cup_test": {"streaky": 9}}}, id="a result beyond its bound"),
        pytest.param({"base": {"": {"mold_cold": "much"}}}, id="a word"),
        pytest.param({"memory": {"person": {"x": [1, 1, {}]}}}, id="a memory of people"),
        pytest.param({"all": [1, 5, {}]}, id="more bad than poured"),
    ],
)
def test_a_damaged_learning_is_told_in_one_line_and_the_book_stands(
    content: Any, file_store: Store, knowledge: Knowledge, capsys: pytest.CaptureFixture[str]
) -> None:
    """And how to be rid of it; a diagnosis goes on."""
    text = content if isinstance(content, str) else json.dumps({**Learned().to_plain(), **content})
    put_in_use(file_store, Learned(cases=30))
    with file_store.writing() as connection:
        connection.execute(schema.learned.update().values(content=text, digest=digest_of(text)))
    with pytest.raises(
        InputError, match=r"\(number 1\) is damaged; go back to the book by: diagnose log learn --forget"
    ):
        in_use(file_store.where)
    models = models_for(knowledge, file_store.where)
    assert models.learned_cases is None
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err.count("\n") == 1
    assert told.err.endswith("; going by the book\n")
    assert forget(file_store)
    assert in_use(file_store.where) is None


def test_a_figure_changed_within_its_bounds_is_noticed(file_store: Store) -> None:
    """One digit of one factor, on the disk: the content no longer fits its digest."""
    put_in_use(file_store, Learned(cases=30, base={"": {"mold_cold": 2.5}}))
    with file_store.writing() as connection:
        content = connection.execute(select(schema.learned.c.content)).scalar_one()
        connection.execute(schema.learned.update().values(content=content.replace("2.5", "3.5")))
    with pytest.raises(InputError, match="is damaged"):
        in_use(file_store.where)


def test_a_log_that_is_none_or_can_not_be_reached_leaves_the_book(
    tmp_path: Path, knowledge: Knowledge, capsys: pytest.CaptureFixture[str]
) -> None:
    """A file of something else, a server that is not there: one line each; no log at all: none."""
    torn = tmp_path / "torn.db"
    torn.write_bytes(b"SQLite format 3\0" + bytes(range(256)) * 40)
    for where, lines in ((str(torn), 1), ("postgresql://shop@127.0.0.1:9/none", 1), (str(tmp_path / "none.db"), 0)):
        assert models_for(knowledge, where_of(where)).learned_cases is None
        assert capsys.readouterr().err.count("\n") == lines


def test_the_file_of_earlier_programs_goes_with_the_next_learning(file_store: Store) -> None:
    """Up to schema 2 it lay beside the log, each bench its own: it would tell an older program another story."""
    old = earlier_file(file_store.where)
    for change in (lambda: put_in_use(file_store, Learned(cases=30)), lambda: forget(file_store)):
        old.write_text("{}")
        change()
        assert not old.exists()


def test_moving_odds() -> None:
    """Twice the odds of a half are two thirds."""
    assert moved(0.5, 2.0) == pytest.approx(2 / 3)
    assert math.isclose(moved(moved(0.3, 5.0), 0.2), 0.3)
