"""Questions sent together: joint value by brute force, greedy against the exact best, one-of-two counted once."""

import itertools
import math
from statistics import mean

import pytest

from diagnose.assessment.consultation import Consultation
from diagnose.casebook.case import Case
from diagnose.reasoning.answers import SEEN, Answer
from diagnose.reasoning.batch import Batcher
from diagnose.reasoning.prediction import Predictor
from diagnose.reasoning.value_of_information import chance_of_answer

FLOOR = 1.0 - 1.0 / math.e


def opened(consultation):
    """The case with build, paint and symptoms only."""
    kept = {
        n: a
        for n, a in consultation.case.values.items()
        if n in ("build", "painted") or (n in consultation.knowledge.symptoms and a.value == SEEN)
    }
    return Consultation(consultation.models, Case.of(kept))


@pytest.fixture(scope="module")
def batchers(consulted):
    """A batcher over six questions for each worked case."""
    found = {}
    for name, consultation in consulted.items():
        case = opened(consultation)
        found[name] = Batcher(case.situation, field=6)
    return found


def best_of_all(batcher, count):
    """The greatest worth of all sets of *count* questions of the field."""
    return max(batcher.worth(some) for some in itertools.combinations(batcher.field, count))


@pytest.mark.parametrize("count", [2, 3])
def test_greedy_against_the_exact_best(count, batchers):
    """Over the worked cases greedy sets reach at least 1 - 1/e of the best of all sets of six questions; in truth nearly all of it."""
    ratios = [batcher.greedy(count).gains[-1] / best_of_all(batcher, count) for batcher in batchers.values()]
    assert min(ratios) >= FLOOR
    assert min(ratios) >= 0.97
    assert mean(ratios) >= 0.995
    assert max(ratios) <= 1.0 + 1e-9


def test_lazy_weighing_gives_the_greedy_set(batchers):
    """Weighing only what can still be the next gives the same questions as weighing all, over the worked cases."""
    for name, batcher in batchers.items():
        chosen = []
        while len(chosen) < 3:
            worth = {n: round(batcher.worth([*chosen, n]), 9) for n in batcher.field if n not in chosen}
            chosen.append(min(worth, key=lambda n: (-worth[n], n)))
        lazy = batcher.greedy(3)
        assert lazy.questions == tuple(chosen), name


def test_one_question_is_its_gain_times_its_chance(batchers):
    """The worth of a batch of one is the gain in bits of that question times the chance that it is answered."""
    for batcher in batchers.values():
        name = next(iter(batcher.field))
        (prediction,) = batcher.predictor.predict([name])
        assert batcher.worth([name]) == pytest.approx(
            prediction.gain_bits * chance_of_answer(batcher.model, name), abs=1e-12
        )


def test_joint_gain_of_two_effects_by_hand(consulted):
    """Two checks together: each answer to the one really given, the other predicted after it, and the four chances of being answered."""
    case = opened(consulted["short-fingers-in-a-cold-shop"])
    batcher = Batcher(case.situation)
    one, other = [n for n in batcher.field if n in case.knowledge.checks and case.knowledge.checks[n].kind == "choice"][
        :2
    ]
    first, second = batcher.predictor.predict([one, other])
    after = []
    for outcome in first.outcomes:
        told = case.situation.with_answer(one, Answer(outcome.value))
        after.append((outcome.chance, Predictor(told).predict([other])[0]))
    both = first.gain_bits + sum(chance * prediction.gain_bits for chance, prediction in after)
    p, q = batcher.chance[one], batcher.chance[other]
    by_hand = p * q * both + p * (1 - q) * first.gain_bits + (1 - p) * q * second.gain_bits
    assert batcher.worth([one, other]) == pytest.approx(by_hand, abs=1e-9)


@pytest.mark.parametrize("name", ["sticky-necks", "tusks-in-march"])
def test_what_a_question_adds_does_not_depend_on_the_order(name, consulted):
    """Beyond the few weighed jointly, too: whoever was chosen first, and whoever asked first."""
    made = []
    for turn in (1, -1):
        batcher = Batcher(opened(consulted[name]).situation)
        names = list(batcher.field)
        made.append(batcher.adds(names[0], names[1:7][::turn]))
    assert made[0] == made[1]


def test_work_grows_with_the_number_of_questions(consulted, counted):
    """The eighth question takes no more rows than twice the fourth, the first that is weighed with three others."""
    rows = {}
    for count in (3, 4, 7, 8):
        before = counted["rows"]
        assert len(Batcher(opened(consulted["sticky-necks"]).situation).greedy(count).questions) == count
        rows[count] = counted["rows"] - before
    assert rows[8] - rows[7] <= 2 * (rows[4] - rows[3])


def test_more_questions_never_tell_less(batchers):
    """The joint gain rises along the batch, and a batch of any three is worth at least its best single."""
    for batcher in batchers.values():
        gains = batcher.greedy(4).gains
        assert list(gains) == sorted(gains)
        for some in itertools.combinations(sorted(batcher.field), 3):
            assert batcher.worth(some) >= max(batcher.worth([n]) for n in some) - 0.02


def test_of_two_that_read_the_same_one_counts(consulted):
    """Room and mold face told together say what the mold face says alone, for the room falls silent beside it."""
    case = opened(consulted["short-fingers-in-a-cold-shop"])
    batcher = Batcher(case.situation, field=80)
    room, face = "room_temperature", "mold_temperature"
    assert {room, face} <= set(batcher.field)
    heard = (1.0 - batcher.chance[face]) * batcher.worth([room])
    assert batcher.worth([room, face]) == pytest.approx(batcher.worth([face]) + heard, abs=1e-12)


def test_a_batch_is_no_longer_than_what_is_left(batchers):
    """No question twice, no more than asked for, and none that adds nothing."""
    for batcher in batchers.values():
        batch = batcher.greedy(5)
        assert len(set(batch.questions)) == len(batch.questions) <= 5
        assert all(later > earlier for earlier, later in itertools.pairwise(batch.gains))


def test_without_a_symptom_there_is_no_batch(consulted):
    """Nothing to explain, nothing to ask in bulk."""
    some = consulted["sticky-necks"]
    assert (
        Consultation(some.models, Case.of({n: a for n, a in some.case.values.items() if n == "build"}))
        .batch(4)
        .questions
        == ()
    )
