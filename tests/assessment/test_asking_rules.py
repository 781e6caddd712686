"""The rules by which the questionnaire asks and stops, one by one, on made-up questions."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from diagnose.assessment import asking_order
from diagnose.assessment.asking_order import Agenda, Reach, agenda, proposals_in_order, reach_of
from diagnose.assessment.open_questions import next_checks
from diagnose.reasoning.answers import Answer
from diagnose.reasoning.prediction import Outcome, Prediction
from diagnose.reasoning.value_of_information import Proposal

NAMES = ("a", "b", "not_listed")
BEFORE = (0.5, 0.3, 0.1)


@pytest.fixture(autouse=True)
def all_accounted(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every fault of these cases is accounted for, so that nothing is followed up."""
    monkeypatch.setattr(asking_order, "following_up", lambda consultation: [])


def outcome(chance: float, *after: float) -> Outcome:
    """An answer with its chance, and the beliefs in a, b and what is not listed after it."""
    return Outcome("said", chance, np.array(after), np.array(after))


def proposal(name: str, *outcomes: Outcome, behind: str = "", **more: Any) -> Proposal:
    """A question worth 1 that changes no plan, unless *more* says otherwise."""
    values = {"gain_bits": 0.1, "minutes": 2.0, "saving": 0.0, "worth": 1.0, "net": 1.0, "changes_plan": False, **more}
    return Proposal(name, prediction=Prediction(behind or name, outcomes, np.array(BEFORE), 0.1), **values)


def case_of(*proposals: Proposal, symptoms: tuple[str, ...] = (), numbers: tuple[str, ...] = ()) -> Any:
    """A case in which a is first and these questions are worth asking."""
    return SimpleNamespace(
        symptoms_seen=("fault",),
        case=SimpleNamespace(values={"a fact": Answer("known")}),
        ranking=SimpleNamespace(proposals=list(proposals)),
        knowledge=SimpleNamespace(
            symptoms=dict.fromkeys(symptoms), facts={n: SimpleNamespace(kind="number") for n in numbers}, checks={}
        ),
        situation=SimpleNamespace(
            inference=SimpleNamespace(names=NAMES), beliefs=SimpleNamespace(causes=[SimpleNamespace(id="a")])
        ),
    )


STILL = outcome(1.0, *BEFORE)
FLIP = outcome(0.5, 0.3, 0.6, 0.1)


def test_the_reach_of_a_question() -> None:
    """How far its likely answers move a cause, and whether one puts another first; what is not listed is no cause and never first."""
    case = case_of()
    assert reach_of(case, proposal("q", STILL)) == Reach(0.0, False, False)
    assert reach_of(case, proposal("q", outcome(0.5, 0.7, 0.25, 0.1))) == Reach(0.2, False, False)
    assert reach_of(case, proposal("q", outcome(0.5, 0.45, 0.3, 0.9))) == Reach(0.05, False, False)
    assert reach_of(case, proposal("q", FLIP)) == Reach(0.3, True, True)
    assert reach_of(case, Proposal("q", 0.0, 1.0, 0.0, 0.0, 0.0, False, None)) == Reach(0.0, False)


@pytest.mark.parametrize(
    ("chance", "ahead", "reach"),
    [
        (0.039, 0.3, Reach(0.0, False, False)),
        (0.04, 0.3, Reach(0.3, True, False)),
        (0.079, 0.3, Reach(0.3, True, False)),
        (0.08, 0.3, Reach(0.3, True, True)),
        (0.5, 0.049, Reach(0.049, True, False)),
        (0.5, 0.051, Reach(0.051, True, True)),
    ],
)
def test_likely_and_clearly(chance: float, ahead: float, reach: Reach) -> None:
    """An answer under 4 % is not waited for; clear is a new first cause 5 points ahead, by an answer of 8 % or more."""
    found = reach_of(case_of(), proposal("q", outcome(chance, 0.5, 0.5 + ahead, 0.1), outcome(1.0 - chance, *BEFORE)))
    assert (found.flips, found.flips_clearly) == (reach.flips, reach.flips_clearly)
    assert bool(found.move) == bool(reach.move)


def test_when_it_stops() -> None:
    """No fault told; nothing that pays; nothing that would change the advice; twenty questions. Who wants to go on is asked on."""
    nothing = case_of(proposal("q", FLIP))
    nothing.symptoms_seen = ()
    assert agenda(nothing) == Agenda((), "nothing_seen")
    assert agenda(case_of()) == Agenda((), "settled")
    idle = case_of(proposal("q", outcome(0.5, 0.6, 0.3, 0.1)))
    assert agenda(idle) == Agenda((), "practically")
    assert agenda(idle, going_on=True) == Agenda(("q",))
    deciding = case_of(proposal("q", FLIP))
    assert (agenda(deciding, 19), agenda(deciding, 20)) == (Agenda(("q",)), Agenda((), "long"))
    assert agenda(deciding, 20, going_on=True) == Agenda(("q",))


def test_patience_ends_after_six() -> None:
    """Then a change of plan has to save a unit of money, and a new first cause to be clearly ahead."""
    for saving, asked_on in ((1.0, True), (0.99, False)):
        case = case_of(proposal("q", STILL, changes_plan=True, saving=saving))
        assert agenda(case, 5) == Agenda(("q",))
        assert agenda(case, 6) == (Agenda(("q",)) if asked_on else Agenda((), "practically"))
    barely = case_of(proposal("q", outcome(0.5, 0.5, 0.52, 0.1)))
    assert (agenda(barely, 5), agenda(barely, 6)) == (Agenda(("q",)), Agenda((), "practically"))


@pytest.mark.parametrize(("move", "first"), [(0.02, "moves"), (0.019, "decides")])
def test_no_question_whose_reason_cannot_be_seen(move: float, first: str) -> None:
    """A question worth more comes before one that would change the advice only if a likely answer moves a cause by two points."""
    case = case_of(
        proposal("moves", outcome(0.5, 0.5 + move, 0.3, 0.1), worth=9.0), proposal("decides", FLIP, worth=1.0)
    )
    assert agenda(case) == Agenda((first,))


def test_a_number_that_decides_comes_twice_as_early() -> None:
    """At half the worth it is asked before a word that decides; a number that decides nothing has no such start."""
    word, number = proposal("word", FLIP, worth=1.9), proposal("number", FLIP, worth=1.0)
    assert agenda(case_of(word, number, numbers=("number",))) == Agenda(("number",))
    assert agenda(case_of(word, number)) == Agenda(("word",))
    dull = proposal("number", outcome(0.5, 0.6, 0.3, 0.1), worth=1.0)
    assert agenda(case_of(word, dull, numbers=("number",))) == Agenda(("word",))


def test_a_word_that_decides_has_no_such_start() -> None:
    """Neither a choice nor several, whatever they are called: only a number is looked up or measured."""
    for kind in ("choice", "many", "yes_no"):
        case = case_of(proposal("dear", FLIP, worth=2.0), proposal("fact", FLIP, worth=1.0))
        case.knowledge.facts = {"fact": SimpleNamespace(kind=kind)}
        assert agenda(case) == Agenda(("dear",))


def test_a_fault_left_over_is_followed_up_until_twelve_were_asked(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where it would end, the best question about that fault comes: after eleven still, after twelve no more."""
    monkeypatch.setattr(
        asking_order, "following_up", lambda consultation: [proposal("left", STILL), proposal("more", STILL)]
    )
    idle = case_of(proposal("q", outcome(0.5, 0.6, 0.3, 0.1)))
    for case, stop in ((idle, "practically"), (case_of(), "settled")):
        assert agenda(case, 11) == Agenda(("left",))
        assert agenda(case, 12) == Agenda((), stop)
    assert agenda(case_of(proposal("q", FLIP)), 11) == Agenda(("q",))


@pytest.mark.parametrize(
    ("known", "stop"), [({}, "long"), ({"fault": "seen", "build": "x"}, "long"), ({"fact": "x"}, "")]
)
def test_who_could_answer_nothing_is_let_go_after_eight(known: dict[str, str], stop: str) -> None:
    """The build, the paint and the faults are no answers; one more that is known keeps the questions going; with seven asked all go on."""
    case = case_of(proposal("q", FLIP), symptoms=("fault",))
    case.case.values = {**{name: Answer(value) for name, value in known.items()}, "asked": Answer(None)}
    assert agenda(case, 7) == Agenda(("q",))
    assert agenda(case, 8) == (Agenda((), "long") if stop else Agenda(("q",)))
    assert agenda(case, 8, going_on=True) == Agenda(("q",))


def test_faults_are_asked_again_once_as_one_list_of_eight() -> None:
    """All that would change the advice together, best first, eight at most; those that would not are left out, and none a second time."""
    faults = tuple(f"fault {i}" for i in range(10))
    asked = [proposal(name, FLIP, worth=10.0 - i) for i, name in enumerate(faults)]
    dull = proposal("dull fault", outcome(0.5, 0.9, 0.3, 0.1), worth=20.0)
    case = case_of(dull, proposal("word", FLIP, worth=0.5), *asked, symptoms=(*faults, "dull fault"))
    assert agenda(case) == Agenda(faults[:8])
    assert agenda(case, looked_again=True) == Agenda(("word",))


def test_who_goes_on_is_asked_no_fault_that_changes_nothing() -> None:
    """Where only such faults are left there is an end to going on as well."""
    dull = proposal("dull fault", outcome(0.5, 0.9, 0.3, 0.1))
    assert agenda(case_of(dull, symptoms=("dull fault",)), going_on=True) == Agenda((), "settled")


def told(case: Any, count: int) -> list[str]:
    """What a program is told to ask of *case*, a file with so many answers beside build, paint and the fault."""
    case.case.answers = dict.fromkeys(["build", "painted", "fault", *(f"fact {i}" for i in range(count))])
    return [each.question for each in proposals_in_order(case)]


def test_a_program_is_told_the_next_question_first_and_then_the_ranking() -> None:
    """What the questionnaire would ask comes first though the ranking has it second; eight at most; with twenty answers told there is an end."""
    word, number = proposal("word", FLIP, worth=1.9), proposal("number", FLIP, worth=1.0)
    case = case_of(word, number, numbers=("number",))
    assert told(case, 3) == ["number", "word"]
    many = case_of(*(proposal(f"q{i}", FLIP, worth=10.0 - i) for i in range(10)))
    assert told(many, 3) == [f"q{i}" for i in range(8)]
    assert (told(case, 19), told(case, 20)) == (["number", "word"], [])
    idle = case_of(proposal("q", outcome(0.5, 0.6, 0.3, 0.1)))
    assert told(idle, 3) == []
    barely = case_of(proposal("q", outcome(0.5, 0.5, 0.52, 0.1)))
    assert (told(barely, 7), told(barely, 8)) == (["q"], [])


def test_what_is_followed_up_is_told_before_the_ranking(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the questionnaire would end but for a fault left over, its questions lead."""
    left = [proposal("left", STILL), proposal("more", STILL)]
    monkeypatch.setattr(asking_order, "following_up", lambda consultation: left)
    assert told(case_of(proposal("q", outcome(0.5, 0.6, 0.3, 0.1))), 3) == ["left", "more", "q"]


def test_a_move_is_seen_to_ten_digits() -> None:
    """Two points less the last bits of a machine are two points."""
    assert reach_of(case_of(), proposal("q", outcome(0.5, 0.52 - 3e-11, 0.3, 0.1))).move == 0.02
    assert reach_of(case_of(), proposal("q", outcome(0.5, 0.52 - 3e-10, 0.3, 0.1))).move < 0.02


def test_equal_questions_come_by_name() -> None:
    """So that no run differs from another."""
    assert agenda(case_of(proposal("z", FLIP), proposal("y", FLIP))) == Agenda(("y",))


def test_questions_that_feed_one_sum_are_one_thing_to_do() -> None:
    """Grams of A and of B stand together with the minutes of both, the gain of the first, and the sum they serve; three things at most."""
    parts = [outcome(0.5, 0.7, 0.1, 0.1), outcome(0.5, 0.3, 0.5, 0.1)]
    case = case_of()
    case.knowledge.checks = {"later": SimpleNamespace(in_hand=False)}
    found = next_checks(
        case,
        [
            proposal("a_mass", *parts, behind="ratio_error", gain_bits=0.3, minutes=1.0),
            proposal("later", STILL, gain_bits=0.2, minutes=5.0),
            proposal("b_mass", *parts, behind="ratio_error", gain_bits=0.25, minutes=2.0, changes_plan=True),
            proposal("third", STILL),
            proposal("fourth", STILL),
        ],
    )
    assert [each.questions for each in found] == [("a_mass", "b_mass"), ("later",), ("third",)]
    first, second, _ = found
    assert (first.gain_bits, first.minutes, first.serves, first.in_hand, first.changes_plan) == (
        0.3, 3.0, "ratio_error", True, True,
    )  # fmt: skip
    assert first.parts == ("a", "b")
    assert (second.serves, second.parts, second.in_hand, second.changes_plan) == ("", (), False, False)


def test_what_a_check_parts_is_what_it_moves() -> None:
    """The two causes whose chance is expected to move most, and none that moves by a point or less; what is not listed is none."""
    moves = [outcome(0.5, 0.52, 0.7, 0.9), outcome(0.5, 0.49, 0.2, 0.0)]  # a by 1.5 points, b by 25
    assert next_checks(case_of(), [proposal("q", *moves)])[0].parts == ("b", "a")
    little = [outcome(0.5, 0.51, 0.7, 0.9), outcome(0.5, 0.495, 0.2, 0.0)]  # a by 0.75
    assert next_checks(case_of(), [proposal("q", *little)])[0].parts == ("b",)


def test_what_tells_something_itself_serves_nothing_else() -> None:
    """A question first in its own group serves no sum, whatever else feeds it; a fault before any was told has no prediction and parts nothing."""
    told = next_checks(
        case_of(),
        [proposal("q", FLIP), proposal("feeds", FLIP, behind="q"), Proposal("fault", 0, 1, 0, 0, 0, False, None)],
    )
    assert [(each.questions, each.serves) for each in told] == [(("q", "feeds"), ""), (("fault",), "")]
    assert told[1].parts == ()


def test_a_check_parts_two_causes_at_most() -> None:
    """Of three that it moves the two that it moves most, the name deciding between equals."""
    case = case_of()
    case.situation.inference.names = ("a", "b", "c", "d")
    moves = Outcome("said", 1.0, np.array((0.6, 0.5, 0.3, 0.3)), np.array((0.6, 0.5, 0.3, 0.3)))
    found = Proposal(
        "q", 0.1, 2.0, 0.0, 1.0, 1.0, False, Prediction("q", (moves,), np.array((0.5, 0.3, 0.1, 0.1)), 0.1)
    )
    assert next_checks(case, [found])[0].parts == ("b", "c")
