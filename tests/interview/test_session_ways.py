"""The ways through the questionnaire that are its own: a title, five quick questions, a second look, dangers at once, when it stops, the phone."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from diagnose.assessment.asking_order import Agenda
from diagnose.interview import symptoms
from diagnose.interview.autosave import Draft
from diagnose.interview.dialogue import Leave, Menu, Reply
from diagnose.interview.flow import Session
from diagnose.interview.frontends.scripted import ScriptedAsker
from diagnose.interview.progress import FROZEN, GOING_ON, LOOKED_AGAIN, OFFERED, SYMPTOMS_TOLD, TITLED, WELL, Notebook
from diagnose.interview.prompts import title_of
from diagnose.knowledge import Knowledge
from diagnose.reasoning.answers import ABSENT, SEEN, Answer


def _names(session: Session) -> list[str]:
    return [asked.name for asked in session.asker.asked]


def test_a_title_is_asked_once_and_enter_skips_it(knowledge: Knowledge, tmp_path: Path) -> None:
    """Who types one is asked for part and mold too; who doesn't is not bothered again."""
    for lines, names, title, about in (
        (["", "q"], ["title", "symptoms"], "", {}),
        (["Fox  mask", "", "FOX-2", "q"], ["title", "part", "mold", "symptoms"], "Fox mask", {"mold": "FOX-2"}),
    ):
        notebook = Notebook(knowledge).after(WELL, FROZEN)
        notebook = notebook.answered("build", Answer("bare_foam")).answered("painted", Answer("no"))
        session = Session(
            ScriptedAsker(lines, strict=True), notebook, Draft(tmp_path / f"{len(lines)}.yaml", knowledge)
        )
        session.run()
        assert _names(session) == names
        assert (session.notebook.told.title, session.notebook.told.about.told()) == (title, about)


def test_the_opening_asks_about_both_sides_and_last_night(knowledge: Knowledge) -> None:
    """The question and the advice are those of the knowledge."""
    danger = knowledge.dangers["unwell"]
    assert "since last night" in danger.ask
    asker = ScriptedAsker(["w", "b", "e", "1"], strict=True)
    assert Session(asker, Notebook(knowledge), Draft(Path("never.yaml"), knowledge)).run() is None
    assert danger.ask[1:] in asker.asked[0].message
    assert danger.say in asker.told
    assert len(asker.asked) == 4
    assert not Path("never.yaml").exists()


def test_dont_know_what_is_wrong_leads_to_at_most_five_questions_and_the_right_family(play: Any) -> None:
    """Inside, not at the tips, dry, the weight is right: the list of what is inside stands first; nothing is taken as seen."""
    session = play(["", "2", "2", "2", "2", "q"], seen=[], strict=True)
    session.notebook = session.notebook.before(SYMPTOMS_TOLD)
    assert session.run() is None
    quick = [name for name in _names(session) if name.startswith("triage_")]
    assert quick == ["triage_where", "triage_tips", "triage_sticky", "triage_size"]
    last = session.asker.asked[-1]
    assert isinstance(last, Menu)
    assert last.rows[2].title == "Inside: holes, pockets, big cells, layers (look here first)"
    assert last.first.title == "I see none of these"
    assert session.notebook.seen == []


def test_the_quick_questions_follow_the_build_and_the_paint(play: Any) -> None:
    """Paint and a rubber skin are asked after only where there can be any."""
    for build, painted, rows in (("bare_foam", "yes", ["paint", "no"]), ("skin_and_foam", "no", ["skin", "no"])):
        menus = dict(symptoms.quick_menus(play(seen=[], build=build, painted=painted).notebook))
        menu = next(m for q, m in menus.items() if q.name == "triage_coat")
        assert [row.value for row in menu.rows[1:]] == rows


def test_a_second_look_ticks_what_is_seen_and_absent_only_what_was_looked_for(play: Any) -> None:
    """Unticked says nothing, unless the caller says that he looked."""
    for line, absent in (("1", False), ("1 3", True)):
        session = play([line])
        session._look_again(("craters", "flow_lines"))
        answers = session.notebook.answers
        assert answers["craters"].value == SEEN
        assert (answers.get("flow_lines", Answer(None)).value == ABSENT) == absent
        assert LOOKED_AGAIN in session.notebook.passed
    session = play(["1 q"], strict=True)
    session.asker.lines = ["q"]
    with pytest.raises(Leave):
        session._look_again(("craters", "flow_lines"))
    assert LOOKED_AGAIN not in session.notebook.passed


def test_a_danger_is_told_at_once_and_once(play: Any, knowledge: Knowledge) -> None:
    """The moment an answer points to it, before where the case stands; not again with the next answer."""
    session = play(["7", "0"], seen=["pinholes"])
    session.ask("cut_face")
    assert session.consultation.dangers
    cautions = [line for line in session.asker.told if line.startswith("CAUTION: ")]
    assert cautions == [
        f"CAUTION: {knowledge.dangers[name].title}. {knowledge.dangers[name].say}"
        for name in session.consultation.dangers
    ]
    assert session.asker.told.index(cautions[0]) < next(
        i for i, line in enumerate(session.asker.told) if line.startswith("So far")
    )
    session.ask("cup_leftover")
    assert len([line for line in session.asker.told if line.startswith("CAUTION: ")]) == len(cautions)


def test_it_offers_the_answer_when_settled_and_goes_on_if_asked(play: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """Enter shows the answer, g goes on, and going on is kept in the file."""
    session = play([""], strict=True)
    monkeypatch.setattr(session, "agenda", lambda: Agenda((), "practically"))
    assert session.run() is not None
    assert session.asker.asked[0].message.startswith("Settled for practical purposes")
    session = play(["g", "0", "q"], strict=True)
    agendas = iter([Agenda((), "long"), Agenda(("press_test",)), Agenda(("cut_face",))])
    monkeypatch.setattr(session, "agenda", lambda: next(agendas))
    assert session.run() is None
    assert _names(session) == ["ended", "press_test", "cut_face"]
    assert GOING_ON in session.notebook.passed


def test_beside_the_answer_only_what_is_picked_is_asked(play: Any, knowledge: Knowledge) -> None:
    """Picked is asked, in order; what is not picked stays open; the next offer names what would change the advice now, and Enter alone ends it."""
    session = play(["1 3", "0", "0", ""], strict=True)
    todo = session.agenda().questions
    agendas = iter([Agenda((), "practically"), Agenda(todo, "reopened")])
    session.agenda = lambda: next(agendas)
    assert session.run() is not None
    first, second = (menu for menu in session.asker.asked if menu.name == "ended")
    picked = [first.rows[1].value, first.rows[3].value]
    assert _names(session) == ["ended", *picked, "ended"]
    assert set(session.notebook.answers) >= set(picked)
    assert first.rows[2].value not in session.notebook.answers
    assert first.rows[0].title == "Show the answer"
    assert all(row.title.startswith(title_of(knowledge, row.value)) for row in first.rows[1:])
    assert second.message.startswith("That opens it again: more of it could change the advice")
    assert second.rows[1].value == todo[0]
    assert OFFERED in session.notebook.passed


def test_beside_the_answer_every_key_does_what_it_does_elsewhere(play: Any) -> None:
    """w and h on a row tell of that row, b goes back, a tick survives them, and q leaves with nothing asked."""
    session = play(["h 1", "w 1", "w", "b", "0", "q"], strict=True)
    session.agenda = lambda: Agenda((), "practically")
    assert session.run() is None
    assert _names(session) == ["ended", "ended", "ended", "ended", "back", "ended"]
    row = session.asker.asked[0].rows[1].value
    told = session.asker.told
    assert all(line in told for line in session._how(row))
    assert all(line in told for line in session._why(row))
    assert any(line.startswith("The answer is what the case comes to so far") for line in told)
    assert OFFERED not in session.notebook.passed
    session.notebook = session.notebook.after(OFFERED)
    session.asker.lines = ["1"]
    session.back()
    assert OFFERED not in session.notebook.passed, "with other faults it is asked anew"


def test_what_is_picked_beside_the_answer_survives_the_way_back(play: Any) -> None:
    """Picked, then b and nothing changed there: it is still picked when the answer is offered again."""
    session = play()
    menus: list[Menu] = []

    def choose(menu: Menu) -> Reply:
        menus.append(menu)
        return (
            Reply((menu.rows[2].value,), command="back")
            if len(menus) == 1
            else Reply(("stay",), command=("", "quit")[len(menus) - 2])
        )

    session.asker.choose = choose
    session.agenda = lambda: Agenda((), "practically")
    assert session.run() is None
    assert [menu.name for menu in menus] == ["ended", "back", "ended"]
    assert menus[2].picked == (menus[0].rows[2].value,)


def test_ticks_of_a_question_survive_the_keys_that_lead_away(play: Any) -> None:
    """Ticked and then e, q or b: the ticks are the answer."""
    session = play()
    menus: list[Menu] = []

    def choose(menu: Menu) -> Any:
        menus.append(menu)
        return Reply(("top",), command=("how", "quit")[len(menus) - 1])

    session.asker.choose = choose
    with pytest.raises(Leave):
        session.ask("where_worst")
    assert menus[1].picked == ("top",)
    assert session.notebook.answers["where_worst"].value == ("top",)


def test_on_the_phone_it_starts_with_the_callers_words_and_all_is_told(
    play: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What was heard is ticked from a list; answers count as told without a key."""
    monkeypatch.setattr("diagnose.interview.flow.symptoms.heard", lambda notebook, text: ["rounded_tips", "short_fill"])
    session = play(["ears like thumbs", "1", "0"], seen=[], phone=True)
    session.notebook = session.notebook.before(SYMPTOMS_TOLD).after(TITLED)
    for _ in range(2):
        session.ask_symptoms()
    assert _names(session) == ["own_words", "heard", "symptoms"]
    assert session.notebook.answers["rounded_tips"] == Answer(SEEN, "told")
    session.asker.lines = ["1"]
    session.ask("cup_leftover")
    assert session.notebook.answers["cup_leftover"].source == "told"


def test_the_sides_are_named_before_the_first_question(play: Any) -> None:
    """A and B mean nothing to who has other letters on the cans."""
    session = play(["q"], strict=True)
    session.run()
    assert any("A is the isocyanate" in line and "B the polyol" in line for line in session.asker.told)
