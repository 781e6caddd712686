"""The order of the sweep: every cause once, findings opened before and closed after, few open at once."""

import random

import pytest

from diagnose.reasoning.elimination_order import order_of


@pytest.mark.parametrize("seed", range(10))
def test_each_step_once_and_in_its_place(seed):
    """Each finding opens once and closes once; a cause fires only on findings that stand open, at the bits named."""
    rng = random.Random(seed)
    touched = {c: tuple(sorted(rng.sample(range(9), rng.randint(2, 4)))) for c in range(12)}
    order = order_of(touched, 10)
    opened, closed, fired = [], set(), []
    for step in order.steps:
        assert step.width == len(opened)
        if step.kind == "open":
            opened.append(step.index)
        elif step.kind == "close":
            assert opened[step.bits[0]] == step.index
            opened.remove(step.index)
            closed.add(step.index)
        else:
            assert [opened[bit] for bit in step.bits] == list(step.findings) == list(touched[step.index])
            fired.append(step.index)
    assert (sorted(fired), closed, opened) == (list(range(12)), set(range(10)), [])
    assert order.width == max(step.width for step in order.steps)


def test_a_chain_keeps_two_open():
    """Causes that link neighbours only need two findings open, however long the chain."""
    assert order_of({c: (c, c + 1) for c in range(40)}, 41).width == 2


def test_causes_handed_over_in_another_order():
    """The order found does not depend on how the causes came."""
    touched = {c: (c % 7, (c * 3 + 1) % 7) for c in range(20) if c % 7 != (c * 3 + 1) % 7}
    assert order_of(touched, 7) == order_of(dict(reversed(touched.items())), 7)


@pytest.mark.parametrize(
    ("linked", "count", "width", "cost"),
    [
        ({}, 0, 0, 0),
        ({}, 1, 1, 3),
        ({0: (0, 1)}, 2, 2, 13),
        ({0: (0, 1), 1: (2, 3), 2: (1, 2)}, 5, 2, 36),
        ({2: (0, 1), 1: (0, 1), 0: (2, 3)}, 4, 2, 30),
    ],
)
def test_the_cost_is_what_is_written_in_one_pass(linked, count, width, cost):
    """A step with so many open writes two to that power: two findings of one cause are opened (1, 2), fired on (4) and closed (4, 2), 13 in all."""
    order = order_of(linked, count)
    assert (order.width, order.cost) == (width, cost)
    assert order.cost == sum(2**step.width for step in order.steps)


def test_a_ring_and_a_tail_are_swept_from_where_it_is_cheapest():
    """Of six findings in a ring two stand open beside the one that goes, wherever the numbers begin."""
    for turn in range(6):
        ring = {c: tuple(sorted(((c + turn) % 6, (c + turn + 1) % 6))) for c in range(6)}
        assert order_of(ring, 6).width == 3
        assert order_of({**ring, 6: (turn, 6)}, 7).width == 3
