"""Deciding against published rules: the order of tries by probability over cost."""

import itertools
import json
from pathlib import Path

import pytest

from diagnose.reasoning.plan import expected_tries_cost, in_order

PUBLISHED = json.loads(Path(__file__).with_name("values.json").read_text(encoding="utf-8"))["p_over_c"]["values"]
NAMES = ("A", "B", "C")
CHANCES, COSTS = zip(*(PUBLISHED[name] for name in NAMES), strict=True)


def test_order_of_three_checks():
    """The most probable fault is looked for last, for it costs most to look (source: probability_over_cost)."""
    assert [NAMES[i] for i in in_order(CHANCES, COSTS)] == PUBLISHED["order"] == ["C", "B", "A"]


@pytest.mark.parametrize(
    ("order", "cost"), [("CBA", 7.6), ("BCA", 7.7), ("BAC", 9.2), ("CAB", 9.6), ("ACB", 11.1), ("ABC", 11.2)]
)
def test_expected_cost_of_every_order(order, cost):
    """Expected cost of all six orders (source: troubleshooting_1995, the formula; the numbers computed from it)."""
    assert expected_tries_cost([NAMES.index(name) for name in order], CHANCES, COSTS) == pytest.approx(cost, abs=1e-12)


def test_published_order_is_the_cheapest():
    """7.6 is the least of all (source: probability_over_cost)."""
    least = min(expected_tries_cost(order, CHANCES, COSTS) for order in itertools.permutations(range(3)))
    assert least == pytest.approx(PUBLISHED["ecr"], abs=1e-12)


@pytest.mark.parametrize("p", [0.05, 0.2, 0.5, 0.8, 0.95])
@pytest.mark.parametrize("costs", [(1.0, 1.0), (3.0, 1.0), (1.0, 7.0)])
def test_two_causes(p, costs):
    """Cause 1, of chance p, is looked at first exactly if (1 - p) x its cost is no more than p x the other's (source: probability_over_cost)."""
    first = in_order((p, 1.0 - p), costs)[0] == 0
    assert first == ((1.0 - p) * costs[0] <= p * costs[1])
