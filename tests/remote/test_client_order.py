"""The order of questions on the page: from the knowledge, and near to what the desk would ask for all the faults
together.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from diagnose.assessment.consultation import Consultation, ModelCache
from diagnose.knowledge import Knowledge
from diagnose.reasoning.batch import Batcher
from diagnose.remote.cases import usable_case
from diagnose.remote.order import Order, batch_of, case_of, kept_order, merged, order_of, whole_groups
from diagnose.remote.page import Errand, page_data, page_text

from .conftest import TICKED

#: the least share of the exact batch's bits that the page's five may have, and the mean
LEAST, MEAN = 0.6, 0.85


def _worth(models: ModelCache, names: list[str], questions: list[str]) -> float:
    """The joint gain in bits of *questions* where *names* are seen."""
    batcher = Batcher(Consultation(models, case_of(models.knowledge, names, "bare_foam")).situation, field=99)
    return batcher.worth([name for name in questions if name in batcher.field])


@pytest.mark.timeout(300)
def test_added_up_is_near_the_exact_batch(models: ModelCache, order: Order) -> None:
    """For pairs of faults the first four of the page have most of the bits of the best four worked out together."""
    shares = []
    ticked = [name for name in TICKED if not models.knowledge.symptoms[name].painted]
    for i, one in enumerate(ticked):
        for other in ticked[i + 1 :]:
            best = list(Consultation(models, case_of(models.knowledge, [one, other], "bare_foam")).batch(4).questions)
            ours = merged(order, [one, other], "bare_foam")[:4]
            shares.append(_worth(models, [one, other], ours) / _worth(models, [one, other], best))
    assert min(shares) > LEAST
    assert sum(shares) / len(shares) > MEAN


def test_one_fault_is_asked_in_the_order_of_its_batch(models: ModelCache, order: Order) -> None:
    """With one fault ticked the page asks what the desk would send."""
    for name in TICKED:
        batch = Consultation(models, case_of(models.knowledge, [name], "bare_foam")).batch(4).questions
        assert merged(order, [name], "bare_foam")[:4] == list(batch)


def test_a_group_is_not_cut() -> None:
    """Grams are asked together or not at all."""
    rows = [("one", 0.3, ""), ("a", 0.2, "ratio"), ("b", 0.2, "ratio"), ("two", 0.1, "")]
    assert whole_groups(rows, 1) == ("one",)
    assert whole_groups(rows, 2) == ("one", "a", "b")
    assert whole_groups(rows, 4) == ("one", "a", "b", "two")


def test_sums_are_offered_with_all_their_numbers(models: ModelCache, order: Order) -> None:
    """For a part sticky through the grams of both sides are among the questions, marked as one group."""
    rows = order["tacky_through"]["bare_foam"]
    groups = {group for _, _, group in rows if group}
    assert groups
    knowledge = models.knowledge
    for group in groups:
        assert {name for name in knowledge.facts[group].needs if knowledge.question_kind(name)} <= {
            name for name, *_ in rows
        }


def test_nothing_seen_asks_nothing(models: ModelCache) -> None:
    """Without a fault there is no batch."""
    assert (
        batch_of(Consultation(models, usable_case({"answers": {"build": "bare_foam"}}, "x", models.knowledge, [])), 5)
        == ()
    )


def test_the_order_is_kept_for_its_knowledge(
    models: ModelCache, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is worked out once; a damaged or foreign cache is worked out anew."""
    worked = []

    def quick(models: ModelCache, symptoms: object = None, told: object = None) -> Order:
        worked.append(1)
        return {name: {"": [("where_worst", 0.1, "")]} for name in models.knowledge.symptoms}

    monkeypatch.setattr("diagnose.remote.order.order_of", quick)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    first = kept_order(models)
    assert kept_order(models) == first
    assert len(worked) == 1
    kept = next(tmp_path.rglob("page-order-*.json"))
    kept.write_bytes(kept.read_bytes().replace(b"0.1", b"0.2", 1))
    assert kept_order(models) == first
    assert len(worked) == 2


def test_the_page_is_small_and_alone(shipped: Knowledge, models: ModelCache) -> None:
    """With every fault in the order the page stays under 600 kB, and names nothing outside itself."""
    rows = [(name, 0.1234, "") for name in [*shipped.checks, *list(shipped.facts)[:40]][:20]]
    order: Order = {
        name: {build: list(rows) for build in ("", "bare_foam", "skin_and_foam")} for name in shipped.symptoms
    }
    text = page_text(shipped, Errand("harbor"), order)
    assert len(text.encode()) < 600_000
    body = text.replace("http://www.w3.org", "")
    assert "http:" not in body
    assert "https:" not in body
    assert "src=" not in text
    assert "url(" not in text


def test_every_question_of_the_order_is_on_the_page(shipped: Knowledge, order: Order) -> None:
    """What is ranked can be asked: each question has its words, and choices or a unit."""
    data = page_data(shipped, Errand("harbor"), order)
    for tables in order.values():
        for rows in tables.values():
            for name, *_ in rows:
                entry = data["questions"][name]
                assert entry["title"]
                assert entry.get("options") or entry["dimension"]


def test_the_same_order_each_time(models: ModelCache, order: Order) -> None:
    """The same knowledge gives the same order."""
    again = order_of(ModelCache(models.knowledge), ["rounded_tips"], builds=("",))
    assert again["rounded_tips"][""] == order["rounded_tips"][""]
