"""What is put to a person, and when it stops: the rules on top of the ranking."""

from __future__ import annotations

import pytest

from diagnose.assessment import asking_order
from diagnose.assessment.accounts import accounts_of, unaccounted
from diagnose.assessment.asking_order import MOST_ASKED, agenda, could_be_told, following_up, reach_of, same_advice
from diagnose.assessment.consultation import Consultation, ModelCache
from diagnose.casebook import Case
from diagnose.knowledge import Knowledge
from diagnose.reasoning.answers import SEEN, Answer


@pytest.fixture(scope="module")
def models(knowledge: Knowledge) -> ModelCache:
    """The shipped knowledge, each build once."""
    return ModelCache(knowledge)


def _case(*seen: str, **answers: Answer) -> Case:
    given = {"build": Answer("bare_foam"), "painted": Answer("no"), **{name: Answer(SEEN) for name in seen}, **answers}
    return Case.of(given)


def test_without_a_fault_nothing_is_asked(models: ModelCache) -> None:
    """No list of seventy faults one by one: the caller is told that there is nothing to explain."""
    assert agenda(Consultation(models, _case())).stop == "nothing_seen"


def test_it_goes_on_while_a_likely_answer_would_change_the_advice(models: ModelCache) -> None:
    """One question at a time, never a fault by itself, and each that is asked can be seen to move something."""
    consultation = Consultation(models, _case("thin_skin"))
    todo = agenda(consultation)
    assert not todo.stop
    assert len(todo.questions) == 1
    proposal = next(p for p in consultation.ranking.proposals if p.question == todo.questions[0])
    assert proposal.changes_plan or reach_of(consultation, proposal).move >= asking_order.SEEN_MOVE


def test_it_stops_where_no_likely_answer_would_change_the_advice(models: ModelCache) -> None:
    """Played with don't know to all that is open, it ends in at most ten prompts with the cause first that three answers point to; each question
    left could not put another cause first, and it goes on only if asked to."""
    case = _case(
        "rounded_tips",
        orientation=Answer("detail_up"),
        vents_at_tips=Answer("none"),
        repeats=Answer("same_spot"),
        cup_leftover=Answer("good"),
    )
    consultation, asked, looked = Consultation(models, case), 0, False
    todo = agenda(consultation)
    while not todo.stop:
        looked = looked or todo.questions[0] in models.knowledge.symptoms
        for question in todo.questions:
            case = case.with_answer(question, Answer(None))
        consultation, asked = Consultation(models, case), asked + 1
        todo = agenda(consultation, asked, looked_again=looked)
    assert consultation.situation.beliefs.causes[0].id == "trapped_air"
    assert asked <= 10
    left = consultation.ranking.proposals
    assert not any(reach_of(consultation, p).flips for p in left if p.question not in models.knowledge.symptoms)
    if todo.stop == "practically":
        assert agenda(consultation, asked, going_on=True, looked_again=looked).questions


def test_twenty_questions_are_enough(models: ModelCache) -> None:
    """Whatever is still open, the answer is offered; going on is up to the caller."""
    consultation = Consultation(models, _case("thin_skin"))
    assert agenda(consultation, MOST_ASKED).stop == "long"
    assert agenda(consultation, MOST_ASKED, going_on=True).questions


def test_beside_the_answer_stands_what_would_still_move_a_cause(models: ModelCache) -> None:
    """No fault, nothing that moves nothing, eight at most; what is worth asking first comes first; after the most that is asked, nothing."""
    consultation = Consultation(models, _case("thin_skin"))
    listed = could_be_told(consultation)
    proposals = {p.question: p for p in consultation.ranking.proposals}
    assert 1 < len(listed) <= asking_order.MOST_LISTED
    assert not set(listed) & set(models.knowledge.symptoms)
    assert all(reach_of(consultation, proposals[name]).move >= asking_order.SEEN_MOVE for name in listed)
    last = listed[-1]
    assert could_be_told(consultation, MOST_ASKED - 1, (last,)) == [last, *listed[:-1]]
    assert could_be_told(consultation, MOST_ASKED, (last,)) == []


def test_once_the_answer_was_offered_nothing_is_asked_one_by_one(models: ModelCache) -> None:
    """What would be the next question heads the list; faults still come as a list of their own, and whoever wants to goes on."""
    consultation = Consultation(models, _case("thin_skin"))
    usual, offered = agenda(consultation), agenda(consultation, offered=True)
    assert (usual.stop, offered.stop, offered.questions) == ("", "reopened", usual.questions)
    assert agenda(consultation, offered=True, going_on=True) == agenda(consultation, going_on=True)
    done = agenda(consultation, MOST_ASKED)
    assert agenda(consultation, MOST_ASKED, offered=True) == done
    given = {
        name: Answer(None)
        for name in ("where_worst", "changed_since_good", "cut_face", "look_at_pour", "seam_flash", "opening_size")
    }
    given |= {"orientation": Answer("detail_up"), "vents_at_tips": Answer("none"), "repeats": Answer("same_spot")}
    faults = Consultation(models, _case("rounded_tips", **given))
    assert agenda(faults, offered=True) == agenda(faults)
    assert set(agenda(faults).questions) <= set(models.knowledge.symptoms)
    assert not set(could_be_told(faults)) & set(models.knowledge.symptoms)


def test_faults_come_as_one_list_and_once(models: ModelCache) -> None:
    """Where a fault is what is worth most, all that would change the advice come with it; a second time none is asked."""
    given = {
        name: Answer(None)
        for name in ("where_worst", "changed_since_good", "cut_face", "look_at_pour", "seam_flash", "opening_size")
    }
    case = _case(
        "rounded_tips",
        orientation=Answer("detail_up"),
        vents_at_tips=Answer("none"),
        repeats=Answer("same_spot"),
        **given,
    )
    consultation = Consultation(models, case)
    listed = agenda(consultation).questions
    faults = models.knowledge.symptoms
    assert set(listed) <= set(faults)
    assert len(listed) >= 1
    for name in listed:
        proposal = next(p for p in consultation.ranking.proposals if p.question == name)
        assert proposal.changes_plan or reach_of(consultation, proposal).flips
    assert not set(agenda(consultation, looked_again=True).questions) & set(faults)


def test_the_same_advice_is_the_same_first_cause_and_change(models: ModelCache) -> None:
    """A cold mold changes it, an answer that nobody knows does not."""
    plain = Consultation(models, _case("thin_skin"))
    unknown = Consultation(models, _case("thin_skin", mold_temperature=Answer(None)))
    cold = Consultation(models, _case("thin_skin", mold_temperature=Answer(5.0, "measured")))
    assert same_advice(plain, unknown)
    assert not same_advice(plain, cold)


#: a slosh that accounts for a fallen, torn section, and leaves a slow mix to somebody else
SLOSHED = ("slow_reaction", "collapse", "ragged_cavities")


def _sloshed(**answers: Answer) -> Case:
    given = {"moved_during_rise": Answer("yes"), "sloshed": Answer("after_cream"), "cup_leftover": Answer("good")}
    return _case(*SLOSHED, **given, **{name: Answer(None) for name in ("look_at_pour", "repeats")}, **answers)


def test_a_fault_that_nothing_accounts_for_is_followed_up(models: ModelCache) -> None:
    """What is asked before it ends tells of the causes of that fault, and of no other; with enough put, it ends."""
    consultation, asked = Consultation(models, _sloshed()), 0
    case, followed = consultation.case, []
    while (todo := agenda(consultation, asked, looked_again=True)).questions:
        if todo.questions[0] not in {p.question for p in consultation.ranking.proposals}:
            followed.append(todo.questions[0])
            assert unaccounted(consultation) == ("slow_reaction",)
            assert todo.questions[0] == following_up(consultation)[0].question
        case = case.with_answer(todo.questions[0], Answer(None))
        consultation, asked = Consultation(models, case), asked + 1
    assert followed
    assert asked <= MOST_ASKED
    assert not following_up(Consultation(models, _case("collapse"))) or unaccounted(
        Consultation(models, _case("collapse"))
    )


def test_what_a_cause_accounts_for_is_told_fault_by_fault(models: ModelCache) -> None:
    """A slosh tears and fells; it doesn't slow a mix. One that is measured otherwise needs no account."""
    accounts = {a.symptom: a for a in accounts_of(Consultation(models, _sloshed()))}
    assert list(accounts) == list(SLOSHED)
    assert accounts["collapse"].cause == accounts["ragged_cavities"].cause == "disturbed_rise"
    assert min(accounts["collapse"].probability, accounts["ragged_cavities"].probability) > 0.6
    assert accounts["slow_reaction"].cause != "disturbed_rise"
    thick = _case("thin_skin", "short_fill", skin_thickness=Answer(1.5, "measured"))
    assert [a.symptom for a in accounts_of(Consultation(models, thick))] == ["short_fill"]
