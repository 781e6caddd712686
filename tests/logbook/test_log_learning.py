"""Learning: it finds a shop's habits, holds still where there is nothing to find, and can't be led far astray."""

from __future__ import annotations

import json
import math
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path

import pytest
from log_support import GOOSE, new_database
from shop import Shop, case_at

from diagnose.assessment.consultation import Consultation, ModelCache
from diagnose.casebook import Case, read_case
from diagnose.errors import InputError
from diagnose.knowledge import Knowledge
from diagnose.logbook.apply import forget, put_in_use
from diagnose.logbook.book import put_in
from diagnose.logbook.learn import Counts, learn, rate
from diagnose.logbook.learned import (
    MOST_BASE,
    Learned,
    LearnedModels,
    Seen,
    in_use,
    learned_file,
    memory_ratio,
    models_for,
    moved,
)
from diagnose.logbook.places import where_of
from diagnose.logbook.replay import judge
from diagnose.logbook.store import Store, open_log
from diagnose.reasoning.network import NOT_LISTED, Model

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


def test_more_cases_bring_them_nearer(file_store: Store, knowledge: Knowledge) -> None:
    """The distance shrinks as the log grows: slowly first, for the book is worth fifty cases."""
    parts, distance = list(Shop(knowledge, HABITS).parts(900)), []
    for start, end in ((0, 60), (60, 300), (300, 900)):
        with file_store.writing() as connection:
            put_in(connection, parts[start:end])
        distance.append(abs(rates(file_store, knowledge)[1]["mold_cold"] - 0.4))
    assert distance[0] > distance[1] > distance[2]


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
    found, held = rate(0.2, Counts(100, {"x": 30}, {"x": 70}), "x", shows=1.0)
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


def test_what_is_in_use_lies_over_the_book_and_is_forgotten_again(store: Store, knowledge: Knowledge) -> None:
    """One file that `read` looks at, without the database; forgetting leaves the book as it was."""
    logged(store, Shop(knowledge, HABITS), 150)
    with store.reading() as connection:
        learned = learn(connection, knowledge)
    case = case_at(knowledge, build="bare_foam", painted="no", symptoms=["thin_skin"])
    book = ModelCache(knowledge).of(case).base["mold_cold"]
    put_in_use(store, learned)
    try:
        assert in_use(store.where) == Learned.from_plain(json.loads(json.dumps(learned.to_plain())))
        assert models_for(knowledge, store.where).of(case).base["mold_cold"] > 1.5 * book
        assert models_for(knowledge, store.where, book=True).of(case).base["mold_cold"] == book
        assert forget(store)
    finally:
        learned_file(store.where).unlink(missing_ok=True)
    assert in_use(store.where) is None
    assert models_for(knowledge, store.where).of(case).base["mold_cold"] == book
    assert not forget(store)


def test_a_damaged_file_of_what_was_learned_is_told(file_store: Store) -> None:
    """And how to be rid of it."""
    learned_file(file_store.where).write_text("{}")
    with pytest.raises(InputError, match="go back to the book by: diagnose log learn --forget"):
        in_use(file_store.where)


def test_moving_odds() -> None:
    """Twice the odds of a half are two thirds."""
    assert moved(0.5, 2.0) == pytest.approx(2 / 3)
    assert math.isclose(moved(moved(0.3, 5.0), 0.2), 0.3)
