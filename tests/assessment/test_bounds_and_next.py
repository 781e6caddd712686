"""What is out of bounds and what is not, what a program is told to ask next, and what a hot core leaves to be done: each at its edge."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from diagnose.assessment.asking_order import agenda, proposals_in_order
from diagnose.assessment.assess import assess
from diagnose.assessment.bounds import out_of_bounds
from diagnose.assessment.consultation import Consultation

Consult = Callable[[str], Consultation]
BARE = "build: bare_foam\npainted: no\n"


@pytest.mark.parametrize("side", ["low", "high"])
def test_a_reading_is_out_of_bounds_by_more_than_its_own_error(consult: Consult, side: str) -> None:
    """Just outside the practice by half the thermometer's error is not named; by twice the error it is."""
    knowledge = consult(BARE).knowledge
    span = next(p for p in knowledge.practice.values() if "mold_temperature" in p.bounds).of("bare_foam")
    error, out = knowledge.facts["mold_temperature"].error, -1.0 if side == "low" else 1.0
    edge = span.low if side == "low" else span.high
    assert error > 0.0
    for times, named in ((0.5, False), (2.0, True)):
        case = f"{BARE}symptoms: [thin_skin]\nmold_temperature: {edge + out * times * error} degC"
        assert ("mold_temperature" in [item.name for item in out_of_bounds(consult(case))]) is named


def test_a_program_is_told_what_the_questionnaire_would_ask(consult: Consult) -> None:
    """With a fault told the same question first, and at most eight; with none, build and paint and then faults."""
    case = consult(f"{BARE}symptoms: [thin_skin]")
    told = [p.question for p in proposals_in_order(case)]
    assert told[0] == agenda(case).questions[0]
    assert 1 < len(told) <= 8
    nothing = proposals_in_order(consult("room_temperature: 20 degC"))
    assert [p.question for p in nothing[:2]] == ["build", "painted"]
    built = [p.question for p in proposals_in_order(consult("build: bare_foam"))]
    assert (built[0], "build" in built, len(built)) == ("painted", False, 8)
    assert {p.question for p in proposals_in_order(consult(BARE))} <= set(case.knowledge.symptoms)


def test_a_part_that_may_burn_is_left_alone(consult: Consult) -> None:
    """No remedy is offered for it, and no chance of saving it stated."""
    save = assess(consult(f"{BARE}symptoms: [scorched_core]\ncore_warmth: 95 degC")).save
    assert save is not None
    assert (save.verdict, save.remedies, save.offered, save.chance, save.minutes) == ("leave_alone", (), (), 0.0, 0.0)
