"""How an answer is shown to bear on a cause, which causes a remedy is shown for, and which answer is doubted: on made-up causes."""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from types import SimpleNamespace
from typing import Any

import pytest

from diagnose.assessment import robustness
from diagnose.assessment.advice import use_of
from diagnose.assessment.assess import assess, warnings_of
from diagnose.assessment.consultation import Consultation
from diagnose.assessment.evidence import evidence_of, mechanism_of
from diagnose.assessment.robustness import doubt_of, robustness_of
from diagnose.knowledge import Evidence
from diagnose.knowledge.model import Link
from diagnose.reasoning.answers import ABSENT, SEEN, Answer
from diagnose.reasoning.conflict import Conflict
from diagnose.reasoning.sensitivity import DecisiveAnswer, Sensitivity

Consult = Callable[[str], Consultation]


def said(why: str) -> Link:
    """What was said of an answer, with its reason."""
    return Link("for", 2.0, why)


#: a cause that reads one fault, one check, a fact of words and a fact of numbers, two of its points with a reason
CAUSE: Any = SimpleNamespace(
    symptoms={"fault": said("it sags")},
    checks={"cut": {"brown": said("it scorched"), "coarse": said("it fell"), "plain": said("")}},
    facts={
        "cans": Evidence({"cold": said("cold runs late"), "warm": said("")}, {"cold": 2.0, "warm": 1.0}),
        "changed": Evidence({"lot": said("another lot"), "hand": said("a new hand")}, {"lot": 2.0, "hand": 2.0}),
        "time": Evidence(
            {"1 min": said("hardly mixed"), "5 min": said(""), "2 h": said("long gelled")},
            curve=((1.0, 2.0), (5.0, 1.0), (120.0, 2.0)),
        ),
        "grams": Evidence({"5 g": said(""), "9 g": said("")}, curve=((5.0, 2.0), (9.0, 1.0))),
    },
)


@pytest.mark.parametrize(
    ("question", "value", "why"),
    [
        ("fault", SEEN, "it sags"),
        ("fault", ABSENT, ""),
        ("cut", "brown", "it scorched"),
        ("cut", ("brown", "coarse"), "it scorched; it fell"),
        ("cut", "fine", ""),
        ("cans", "cold", "cold runs late"),
        ("cans", "warm", ""),
        ("cans", "unheard_of", ""),
        ("changed", ("lot", "weather", "hand"), "another lot; a new hand"),
        ("nothing", "x", ""),
        ("nothing", 3.0, ""),
        ("grams", 5.0, ""),
    ],
)
def test_the_reason_is_that_of_the_answer(question: str, value: Any, why: str) -> None:
    """As the knowledge writes it at the answer itself; none where none is written, or where the cause doesn't read the question."""
    assert mechanism_of(CAUSE, question, Answer(value)) == why


@pytest.mark.parametrize(
    ("minutes", "why"),
    [(-5.0, "hardly mixed"), (5.0, "hardly mixed"), (60.0, "hardly mixed"), (60.5, "hardly mixed"), (61.0, "long gelled"), (150.0, "long gelled")],
)  # fmt: skip
def test_the_reason_of_a_number_is_that_of_the_nearest_point_that_has_one(minutes: float, why: str) -> None:
    """Between 1 min and 2 h the middle is 60.5 min, whatever unit a point is written in; of two as near the lower."""
    assert mechanism_of(CAUSE, "time", Answer(minutes)) == why


def case_of(**answers: Answer) -> Any:
    """A case with these answers: a sum out of `grams` and `time`, a material that filled in `cans`."""
    return SimpleNamespace(
        answers=answers,
        derivation=SimpleNamespace(
            computed=[SimpleNamespace(name="sum", inputs=("grams", "time", "untold"))], filled={"cans"}
        ),
        case=SimpleNamespace(written={"grams": "half a pound"}),
        knowledge=SimpleNamespace(
            facts=dict.fromkeys(("cans", "time", "grams", "sum", "room"), SimpleNamespace(doubt=None)),
            checks={"cut": None, "stick": None},
            symptoms={"fault": None, "other fault": None},
            causes={"a": CAUSE},
        ),
        situation=SimpleNamespace(beliefs=SimpleNamespace(causes=[SimpleNamespace(id="a")])),
    )


@pytest.mark.parametrize(
    ("question", "value", "weight", "indirect"),
    [
        ("cans", "cold", 1.0, False),
        ("room", 9.0, 1.0, True),
        ("cut", "brown", -1.0, False),
        ("stick", "x", 1.0, True),
        ("fault", SEEN, 1.0, False),
        ("fault", SEEN, 0.0, False),
        ("fault", SEEN, -0.1, True),
        ("fault", ABSENT, -0.1, False),
        ("other fault", SEEN, 1.0, True),
    ],
)
def test_what_moves_a_cause_by_its_rivals_alone_says_so(
    question: str, value: Any, weight: float, indirect: bool
) -> None:
    """A question that the cause doesn't read; and a fault seen that it makes, where it is yet pushed back by it."""
    found = evidence_of(case_of(**{question: Answer(value)}), question, weight, CAUSE)
    assert (found.indirect, found.weight, found.value) == (indirect, weight, value)


def test_where_an_answer_comes_from_is_told() -> None:
    """As it was typed; whether it is worked out; and the sheet of the material that filled it in, where one is named."""
    case = case_of(
        grams=Answer(227.0, "measured"), sum=Answer(1.0), cans=Answer("cold", "told"), material=Answer("grade_x")
    )
    grams, summed, cans = (evidence_of(case, name, 1.0, CAUSE, ("beside",)) for name in ("grams", "sum", "cans"))
    assert (grams.written, grams.computed, grams.sheet, grams.source) == ("half a pound", False, "", "measured")
    assert (summed.written, summed.computed, summed.sheet) == ("", True, "")
    assert (cans.written, cans.computed, cans.sheet, cans.with_answers) == ("", False, "grade_x", ("beside",))
    assert evidence_of(case_of(cans=Answer("cold")), "cans", 1.0, CAUSE).sheet == ""


def test_a_remedy_is_shown_for_the_causes_from_one_in_twenty_on() -> None:
    """Likeliest first, each with the word of its link; what is less likely, or what it doesn't mend, is not named."""
    beliefs = [
        SimpleNamespace(id=name, probability=p) for name, p in (("b", 0.5), ("x", 0.4), ("a", 0.05), ("c", 0.0499))
    ]
    case: Any = SimpleNamespace(situation=SimpleNamespace(beliefs=SimpleNamespace(causes=beliefs)))
    remedy: Any = SimpleNamespace(
        id="r", fixes={"a": Link("mostly", 0.75, ""), "b": Link("surely", 0.95, ""), "c": Link("mostly", 0.75, "")}
    )
    assert use_of(case, remedy).mends == (("b", "surely"), ("a", "mostly"))


# -- the answer to ask again -------------------------------------------------------------------------------------------


def doubted(monkeypatch: pytest.MonkeyPatch, answer: str, case: Any) -> tuple[str, str, float]:
    """The raw answer to ask again, the sum it feeds, and how many times less likely it is, where *answer* stands out by a factor of four."""
    monkeypatch.setattr(robustness, "doubtful", lambda situation: Conflict(answer, math.log(4.0)))
    found = doubt_of(case)
    assert found is not None
    assert found.evidence.weight == 0.0, "it is not weighed here"
    return found.evidence.question, found.shows_in, found.times


def test_of_a_sum_the_least_trusted_input_is_asked_again(monkeypatch: pytest.MonkeyPatch) -> None:
    """The one only remembered; of two known alike the one that people get wrong; of those the last by name. A raw answer is asked itself."""
    case = case_of(grams=Answer(1.0, "measured"), time=Answer(1.0, "remembered"), sum=Answer(1.0))
    assert doubted(monkeypatch, "sum", case) == ("time", "sum", pytest.approx(4.0))
    assert doubted(monkeypatch, "time", case) == ("time", "", pytest.approx(4.0))
    case = case_of(grams=Answer(1.0, "told"), time=Answer(1.0, "told"), sum=Answer(1.0))
    assert doubted(monkeypatch, "sum", case)[0] == "time"
    case.knowledge.facts["grams"] = SimpleNamespace(doubt="read by eye")
    assert doubted(monkeypatch, "sum", case)[:2] == ("grams", "sum")


def test_where_nothing_stands_out_nothing_is_doubted(monkeypatch: pytest.MonkeyPatch) -> None:
    """No answer is called doubtful for want of one."""
    monkeypatch.setattr(robustness, "doubtful", lambda situation: None)
    assert doubt_of(case_of()) is None


def test_answers_that_decide_are_told_the_shakiest_first(monkeypatch: pytest.MonkeyPatch) -> None:
    """Four at most; no fault, for that is the question; none that would only put the partner first; by name where known alike."""
    names = ("cut", "grams", "fault", "time", "cans", "room", "stick")
    sources = ("seen", "measured", "seen", "remembered", "told", "told", "measured")
    case = case_of(**{name: Answer("x", source) for name, source in zip(names, sources, strict=True)})
    decisive = [DecisiveAnswer(name, "partner" if name == "cut" else "b", 0.4) for name in names]
    monkeypatch.setattr(robustness, "sensitivity", lambda situation: Sensitivity("a", (), tuple(decisive)))
    both: Any = SimpleNamespace(kind="both", causes=("a", "partner"))
    one: Any = SimpleNamespace(kind="one", causes=("a",))
    told = [evidence.question for evidence, _ in robustness_of(case, both).decisive]
    assert told == ["time", "cans", "room", "grams"]
    told = [evidence.question for evidence, _ in robustness_of(case, one).decisive]
    assert told == ["time", "cans", "room", "cut"]
    assert {evidence.weight for evidence, _ in robustness_of(case, one).decisive} == {0.0}


def test_a_record_is_plain_data(consult: Consult) -> None:
    """Mappings, lists, text, numbers and None, the same through JSON; with its version."""
    plain = assess(
        consult("build: bare_foam\npainted: no\nsymptoms: [thin_skin]\nmold_temperature: 9 degC"), full=True
    ).to_plain()
    assert json.loads(json.dumps(plain)) == plain
    assert (plain["version"], plain["symptoms"], plain["about"]) == (1, ["thin_skin"], [])


# -- what a report may carry on ----------------------------------------------------------------------------------------


def test_who_made_a_part_and_for_whom_stays_out_of_the_record(consult: Consult) -> None:
    """Day, part, mold and lots may be passed on; person and client, and remarks, are the shop's own."""
    case = consult("build: bare_foam\npainted: no\nsymptoms: [thin_skin]")
    case.case = case.case.with_about(
        date="2026-03-02", part="Owl", mold="M1", lot_a="A1", lot_b="B1", person="K.", client="harbor", remarks="late"
    )
    assert dict(assess(case).about) == {"date": "2026-03-02", "part": "Owl", "mold": "M1", "lot_a": "A1", "lot_b": "B1"}


def test_a_warning_names_its_answer() -> None:
    """What stands before the colon where that is a name; a sentence with a colon names none."""
    case: Any = SimpleNamespace(
        case=SimpleNamespace(warnings=["mold_temperature: is odd", "two things: both odd", "no colon"]),
        derivation=SimpleNamespace(warnings=["a_mass: was guessed"]),
        situation=SimpleNamespace(left_aside=("cut",)),
        symptoms_seen=("fault",),
    )
    found = [(each.code, each.about) for each in warnings_of(case)]
    assert found == [
        ("answer", "mold_temperature"), ("answer", ""), ("answer", ""), ("answer", "a_mass"), ("left_aside", "cut")
    ]  # fmt: skip
    case.symptoms_seen = ()
    assert [each.code for each in warnings_of(case)][-1] == "nothing_seen"


def test_questions_to_send_together_are_there_where_a_fault_is_told(consult: Consult) -> None:
    """So many of them; none without a fault."""
    seen = consult("build: bare_foam\npainted: no\nsymptoms: [thin_skin]")
    assert len(seen.batch(2).questions) == 2
    assert consult("build: bare_foam\npainted: no").batch(2).questions == ()
    found = seen.predict("mold_temperature")
    assert found is not None
    assert found.question == "mold_temperature"
