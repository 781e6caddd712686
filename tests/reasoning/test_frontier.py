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
