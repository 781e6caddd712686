"""The flow of the questionnaire, played by a script: opening, don't know, mending, going back, why and how, enough."""

from __future__ import annotations

import re
import textwrap
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from diagnose.assessment.consultation import Consultation, ModelCache
from diagnose.casebook import read_case
from diagnose.interview import safety as opening
from diagnose.interview.autosave import Draft
from diagnose.interview.dialogue import Enough, Field, Leave, Menu
from diagnose.interview.explain import how_to
from diagnose.interview.flow import Session
from diagnose.interview.frontends.scripted import ScriptedAsker
from diagnose.interview.progress import FROZEN, SYMPTOMS_TOLD, TITLED, WELL, Notebook
from diagnose.interview.prompts import UNKNOWN
from diagnose.knowledge import Knowledge
from diagnose.prose.quantity import minutes
from diagnose.prose.question import clean, how_sure, lowered
from diagnose.reasoning.answers import Answer

CASES = Path(__file__).parents[1] / "cases"


def _names(asker: ScriptedAsker) -> list[str]:
    return [asked.name for asked in asker.asked]


def _fresh(knowledge: Knowledge, tmp_path: Path, lines: list[str]) -> Session:
    return Session(ScriptedAsker(lines, strict=True), Notebook(knowledge), Draft(tmp_path / "fresh.yaml", knowledge))


def test_somebody_ill_ends_it_with_advice_and_no_diagnosis(knowledge: Knowledge, tmp_path: Path) -> None:
    """A tight chest or a rash stops the questionnaire: fresh air, medical advice, diisocyanate; nothing is saved or reported."""
    session = _fresh(knowledge, tmp_path, ["1"])
    assert session.run() is None
    told = " ".join(session.asker.told)
    for words in ("fresh air", "medical advice", "diisocyanate", "amines", "does not diagnose people"):
        assert words in told
    assert not (tmp_path / "fresh.yaml").exists()


def test_enter_alone_never_says_that_all_are_well(knowledge: Knowledge, tmp_path: Path) -> None:
    """The safety question stands on "not sure", which asks again."""
    session = _fresh(knowledge, tmp_path, ["", "", "2", "q"])
    assert session.run() is None
    assert _names(session.asker) == ["safety", "safety", "safety", "evidence"]


def test_the_opening_goes_safety_evidence_build_paint_faults(knowledge: Knowledge, tmp_path: Path) -> None:
    """The safety question comes first and once; then the evidence to freeze, the build, the paint, and what is wrong."""
    session = _fresh(knowledge, tmp_path, ["2", "", "1", "2", "", "q"])
    session.run()
    assert _names(session.asker) == ["safety", "evidence", "build", "painted", "title", "symptoms"]
    for words in (
        "UP, POUR and VENT",
        "the cup with its leftover, and the stick",
        "Weigh the part",
        "Leave the mold as it is",
    ):
        assert words in " ".join(opening.EVIDENCE)
        assert words in " ".join(session.asker.told)


def test_enter_alone_all_the_way_asserts_nothing(knowledge: Knowledge, tmp_path: Path) -> None:
    """Whoever leans on Enter gets no finding: all answers are "don't know"."""
    session = _fresh(knowledge, tmp_path, ["2"])
    session.asker.strict = False
    situation = session.run()
    assert situation is not None
    assert all(not answer.known for answer in situation.case.values.values())
    assert _names(session.asker)[-1] == "ended"
    assert session.asker.asked[-1].message == "No fault is told, so there is nothing to explain."


def test_each_question_is_asked_once_until_settled(play: Any) -> None:
    """With "don't know" to everything the questionnaire ends by itself, and no question comes twice."""
    session = play()
    assert session.run() is not None
    names = _names(session.asker)
    assert names[-1] == "ended"
    assert len(set(names)) == len(names)
    assert len(names) <= 21


def test_what_is_worth_most_is_asked_next(play: Any) -> None:
    """The first question after the faults is the first of the agenda."""
    session = play(["q"], strict=True)
    best = session.agenda().questions[0]
    assert session.run() is None
    assert _names(session.asker) == [best]


def test_a_number_that_cannot_be_read_is_asked_again_with_what_was_typed(play: Any) -> None:
    """The message says what was expected, the text stays to be mended, and the mended one counts."""
    session = play(["61 lb", "-400 C", "61F"])
    session.ask("mold_temperature")
    fields = [asked for asked in session.asker.asked if isinstance(asked, Field)]
    assert [field.text for field in fields] == ["", "61 lb", "-400 C"]
    assert session.asker.told[0] == "Not taken: '61 lb' is a mass, expected a temperature."
    assert session.asker.told[1].startswith("Not taken: '-400 C' is not believable, expected -15 to 90 °C")
    answer = session.notebook.case.values["mold_temperature"]
    assert answer.value == pytest.approx(16.1111, abs=1e-3)
    assert answer.source == "measured"
    assert session.notebook.case.written["mold_temperature"] == "61F"


@pytest.mark.parametrize(
    ("question", "text", "value", "source"),
    [
        ("mold_temperature", "16 °C", 16.0, "measured"),
        ("mold_temperature", "61F", 16.1111, "measured"),
        ("mold_temperature", "16", 16.0, "seen"),
        ("mold_temperature", "16 r", 16.0, "remembered"),
        ("mold_temperature", "16 C t", 16.0, "told"),
        ("mold_temperature", "16 m", 16.0, "measured"),
        ("part_mass", "8 oz", 226.796185, "measured"),
        ("part_mass", "1 lb 2 oz", 510.291416, "measured"),
        ("part_mass", "about 400", 400.0, "remembered"),
        ("part_mass", "~400", 400.0, "remembered"),
        ("part_mass", "400-420", 410.0, "remembered"),
        ("part_mass", "between 400 and 420 g", 410.0, "remembered"),
        ("opening_diameter", "1/2 in", 12.7, "measured"),
        ("mold_age", "about 3 months", 91.3125, "remembered"),
        ("mix_time", "1 min 30 s", 90.0, "measured"),
        ("ratio_target", "1 to 2", 50.0, "measured"),
        ("ratio_target", "100A:60B", 166.666667, "measured"),
    ],
)
def test_numbers_are_taken_as_they_are_said(play: Any, question: str, text: str, value: float, source: str) -> None:
    """In any usual unit, hedged, as a range (its middle), in pounds and ounces; what is hedged is known from memory."""
    session = play([text])
    session.ask(question)
    answer = session.notebook.case.values[question]
    assert answer.value == pytest.approx(value, abs=1e-3)
    assert answer.source == source
    assert read_case(session.draft.path, session.knowledge).values[question].value == pytest.approx(value, abs=1e-3)


@pytest.mark.parametrize("text", ["", "don't know", "dk", "?", "unknown", "No idea.", "0"])
def test_dont_know_is_taken_in_words_in_a_field(play: Any, text: str) -> None:
    """Nought is "don't know" too where no such number is believable, as it is on every list."""
    session = play([text])
    session.ask("charge_mass")
    assert session.notebook.case.values["charge_mass"] == Answer(None)


def test_a_nought_that_is_believable_is_a_number(play: Any) -> None:
    """A mold at 0 °C is cold, not unknown."""
    session = play(["0"])
    session.ask("mold_temperature")
    assert session.notebook.case.values["mold_temperature"].value == 0.0


def test_a_unit_of_time_reads_as_one_says_it(play: Any) -> None:
    """Refusals name days, not "day"."""
    session = play(["soon", ""])
    session.ask("mold_age")
    assert session.asker.told[0].endswith("expected a time in days.")


def _doubted(session: Session) -> list[str]:
    return [name for name in _names(session.asker) if name.endswith(".doubt")]


def test_a_doubt_meets_only_the_answer_that_deserves_it(play: Any) -> None:
    """An odd number, another choice than the one people say in good faith, or one whose source was marked meets no second prompt."""
    for question, line in (("mold_temperature", "9 C"), ("cup_leftover", "4"), ("mold_temperature", "10 r")):
        session = play([line])
        session.ask(question)
        assert _names(session.asker) == [question]
        assert not any("Ask instead" in text for text in session.asker.told)


def test_a_doubted_answer_is_asked_again_only_where_the_advice_hangs_on_it(
    play: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The same round number is let pass where nothing hangs on it, and made sure of where much does; Enter alone claims the least; once."""
    session = play(["10"])
    monkeypatch.setattr(session, "_hangs_on", lambda question, told: False)
    session.ask("mold_temperature")
    assert _doubted(session) == []
    session = play(["10", ""])
    monkeypatch.setattr(session, "_hangs_on", lambda question, told: True)
    session.ask("mold_temperature")
    assert _doubted(session) == ["mold_temperature.doubt"]
    assert "Was the inside face measured, or the shell?" in session.asker.asked[-1].message
    assert session.notebook.case.values["mold_temperature"].source == "remembered"
    session.asker.lines = ["20"]
    session.ask("mold_temperature", changing=True)
    assert _doubted(session) == ["mold_temperature.doubt"]


def test_the_advice_hangs_on_an_answer_that_puts_another_cause_first(play: Any) -> None:
    """Measured on the case itself: with a cold mold another cause leads, with a warm one none does."""
    session = play(["5", "1"], seen=["thin_skin"])
    first = session.consultation.situation.beliefs.causes[0].id
    session.ask("mold_temperature")
    moved = session.consultation.situation.beliefs.causes[0].id != first
    assert moved
    assert _doubted(session) == ["mold_temperature.doubt"]
    assert session.notebook.case.values["mold_temperature"] == Answer(5.0, "seen")


def test_the_counter_question_may_change_the_answer(play: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """From the counter-question one can go back to the answer, with what was typed in place, or to "don't know"."""
    session = play(["10", "3", "20", "4"])
    monkeypatch.setattr(session, "_hangs_on", lambda question, told: True)
    session.ask("mold_temperature")
    assert [asked.text for asked in session.asker.asked if isinstance(asked, Field)] == ["", "10"]
    assert session.notebook.case.values["mold_temperature"].value == 20.0
    session = play(["10", "4"])
    monkeypatch.setattr(session, "_hangs_on", lambda question, told: True)
    session.ask("mold_temperature")
    assert session.notebook.case.values["mold_temperature"] == Answer(None)


@pytest.mark.parametrize(("line", "leaving"), [("e", Enough), ("q", Leave), (None, EOFError)])
def test_leaving_at_the_counter_question_keeps_the_answer(
    play: Any, knowledge: Knowledge, monkeypatch: pytest.MonkeyPatch, line: str | None, leaving: type[BaseException]
) -> None:
    """An answer that was typed is written down even if nobody says how it is known; it then counts as remembered."""
    session = play(["10", *([line] if line else [])], strict=True)
    monkeypatch.setattr(session, "_hangs_on", lambda question, told: True)
    with pytest.raises(leaving):
        session.ask("mold_temperature")
    assert read_case(session.draft.path, knowledge).values["mold_temperature"] == Answer(10.0, "remembered")


def test_why_says_what_each_answer_would_do(play: Any, knowledge: Knowledge) -> None:
    """Help first, then the answers with what they do to the causes in front, in rounded figures; then the question again."""
    session = play(["w", "0"])
    session.ask("cup_leftover")
    told = session.asker.told
    assert told[0].startswith("It is the same mix") or told[0] == " ".join(
        knowledge.checks["cup_leftover"].help.split()
    )
    assert told[1] == "What an answer would do:"
    assert any(line.startswith("- Set, dry") for line in told)
    assert any("to about" in line or "to under 5 %" in line for line in told)
    assert _names(session.asker) == ["cup_leftover", "cup_leftover"]


def test_why_of_a_number_that_feeds_a_sum_tells_of_the_sum(play: Any) -> None:
    """Grams of A say nothing alone; with grams of B they give the ratio error."""
    session = play(["w", "0"], seen=["tacky_through"])
    session.ask("a_mass")
    assert any(line.startswith("With the rest of the sum it gives the ") for line in session.asker.told)


def test_how_to_find_out_has_minutes_and_the_better_question(play: Any, knowledge: Knowledge) -> None:
    """How to look, in how long, and what to ask instead of a doubtful answer."""
    session = play(["h", ""])
    session.ask("mold_temperature")
    assert session.asker.told[0].endswith("(About 2 min.)")
    assert knowledge.facts["mold_temperature"].doubt is not None
    assert "Ask instead: " in session.asker.told[1]


def test_how_to_find_out_tells_minutes_as_the_report_does(knowledge: Knowledge) -> None:
    """A day is "a day" in the questionnaire as on paper, and 100 min are 1.5 h in both."""
    for effort in (100.0, 1440.0):
        facts = {**knowledge.facts, "mold_temperature": replace(knowledge.facts["mold_temperature"], minutes=effort)}
        told = how_to(replace(knowledge, facts=facts), "mold_temperature")
        assert f"(About {minutes(effort)}.)" in told[0]


@pytest.mark.parametrize("question", ["mold_temperature", "cup_leftover", "rounded_tips"])
def test_how_to_find_out_tells_when_there_is_no_point_in_it(play: Any, knowledge: Knowledge, question: str) -> None:
    """Of a fact, a check and a symptom, in one last line."""
    session = play(["h", ""])
    session.ask(question)
    entry: Any = knowledge.facts.get(question) or knowledge.checks.get(question) or knowledge.symptoms[question]
    assert f"Leave it {clean(entry.pointless)}." in session.asker.told


def test_how_to_find_out_tells_why_a_question_is_never_left_out(knowledge: Knowledge) -> None:
    """Two questions always have a point."""
    assert how_to(knowledge, "build")[-1] == "Never leave it out: it switches half the questions on and off."
    entries = [
        *(fact for fact in knowledge.facts.values() if not fact.derived),
        *knowledge.checks.values(),
        *knowledge.symptoms.values(),
    ]
    assert [entry.id for entry in entries if not entry.pointless.startswith("when ") and not entry.always_ask] == []


def test_after_an_answer_the_first_causes_stand_in_two_lines(play: Any, knowledge: Knowledge) -> None:
    """Words and rounded figures, with what moved; nothing after "don't know"."""
    session = play(["8 C"])
    session.ask("mold_temperature")
    line, *rest = session.asker.told
    assert line.startswith("So far: ")
    assert len(textwrap.wrap(line, 77)) <= 2
    first = session.consultation.situation.beliefs.causes[0]
    assert f"{lowered(knowledge.causes[first.id].title)}: {how_sure(first.probability)}" in line
    assert re.search(r"\d[.,]\d", line) is None
    assert all(text.startswith("Worked out: ") for text in rest)
    told = len(session.asker.told)
    session.asker.lines = ["0"]
    session.ask("cup_leftover")
    assert len(session.asker.told) == told


def test_back_changes_one_answer_and_keeps_the_later_ones(play: Any) -> None:
    """Any earlier answer is listed; changing it keeps its place and all that came after."""
    session = play(["16 C"])
    session.ask("mold_temperature")
    session.asker.lines = ["1 t"]
    session.ask("cup_leftover")
    session.asker.lines = ["b", "3", "20 C"]
    session.ask("press_test")
    menu = next(asked for asked in session.asker.asked if asked.name == "back")
    assert isinstance(menu, Menu)
    assert [row.title for row in menu.rows][:4] == [
        "None, go on",
        "What is wrong with the part: 2 faults told",
        "cup leftover: Set, dry, fine and springy, told",
        "mold face temperature: 16 C",
    ]
    answers = session.notebook.case.values
    assert list(answers) == ["build", "painted", "thin_skin", "pinholes", "mold_temperature", "cup_leftover"]
    assert answers["mold_temperature"].value == 20.0
    assert answers["cup_leftover"] == Answer("good", "told")
    assert "press_test" not in answers


def test_an_answer_can_be_taken_back(play: Any) -> None:
    """x leaves a question open, as if it had not been asked."""
    session = play(["16 C"])
    session.ask("mold_temperature")
    session.asker.lines = ["x"]
    session.ask("mold_temperature", changing=True)
    assert "mold_temperature" not in session.notebook.answers


def test_enter_alone_on_an_answer_being_changed_leaves_it(play: Any) -> None:
    """Looking at an earlier answer does not lose it."""
    session = play(["16 C"])
    session.ask("mold_temperature")
    session.asker.lines = [""]
    session.ask("mold_temperature", changing=True)
    assert session.notebook.case.written["mold_temperature"] == "16 C"
    session.asker.lines = [""]
    session.ask("build", changing=True)
    assert session.notebook.case.values["build"] == Answer("bare_foam")


def test_a_changed_paint_sets_answers_aside_and_says_so(play: Any) -> None:
    """Paint answers of a part that turns out unpainted are kept, say nothing, and count again when it is painted after all."""
    session = play(["1"], seen=["thin_skin", "paint_peels_clean"], painted="yes")
    session.ask("paint_kind")
    session.asker.lines = ["2"]
    session.ask("painted", changing=True)
    assert session.notebook.aside == ["paint_peels_clean", "paint_kind"]
    assert sum(line.startswith("Kept, but says nothing on such a part: ") for line in session.asker.told) == 2
    assert "paint_kind" not in session.consultation.case.values
    session.asker.lines = ["1"]
    session.ask("painted", changing=True)
    assert session.notebook.aside == []
    assert sum(line.startswith("Counts again: ") for line in session.asker.told) == 2
    assert session.consultation.case.values["paint_kind"].known


def test_enough_shows_what_there_is_and_quit_shows_nothing(play: Any) -> None:
    """e ends with the case as it stands, q without."""
    session = play(["e"], strict=True)
    situation = session.run()
    assert situation is not None
    assert situation.symptoms_seen == ("thin_skin", "pinholes")
    assert play(["q"], strict=True).run() is None
    assert play([], strict=True).run() is None


def test_every_question_offers_every_way_out(play: Any) -> None:
    """Don't know, why, how, back, enough and quit stand at each question, number or not."""
    session = play()
    session.run()
    for asked in session.asker.asked:
        assert [row.value for row in asked.commands if row.value != "go_on"] == ["why", "how", "back", "enough", "quit"]
        assert isinstance(asked, Field) or asked.first.value in (UNKNOWN, "enough")


def test_faults_are_picked_from_families(knowledge: Knowledge, tmp_path: Path) -> None:
    """A family opens a list in which several are ticked; opening it again shows and unticks them."""
    session = _fresh(knowledge, tmp_path, [])
    passed = Notebook(knowledge).after(WELL, FROZEN, TITLED)
    session.notebook = passed.answered("build", Answer("bare_foam")).answered("painted", Answer("no"))
    session.asker.strict = False
    session.asker.lines = ["2", "1 3"]
    session.ask_symptoms()
    assert session.notebook.seen == ["thin_skin", "pinholes"]
    families = session.asker.asked[0]
    assert isinstance(families, Menu)
    assert "Rubber skin" not in " ".join(row.title for row in families.rows)
    session.asker.lines = ["2", "h 3", "3"]
    session.ask_symptoms()
    assert session.notebook.seen == ["pinholes"]
    assert any(line.startswith("Pinholes, needle-size holes in the skin: ") for line in session.asker.told)


def test_words_bring_up_a_list_and_only_a_tick_counts(play: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """What is heard is confirmed from a list; symptoms of another build are not on it."""
    monkeypatch.setattr("diagnose.interview.flow.symptoms.heard", lambda notebook, text: ["rounded_tips", "short_fill"])
    session = play(["1", "ears like thumbs", ""], seen=[])
    session.ask_symptoms()
    assert session.notebook.seen == []
    session.asker.lines = ["1", "ears like thumbs", "1"]
    session.ask_symptoms()
    assert session.notebook.seen == ["rounded_tips"]


def test_words_that_mean_nothing_say_so(play: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing heard is told kindly, and the list comes again."""
    monkeypatch.setattr("diagnose.interview.flow.symptoms.heard", lambda notebook, text: [])
    session = play(["1", "qwertz"], seen=[])
    session.ask_symptoms()
    assert session.asker.told == ["Nothing on the list sounds like that. Say it otherwise, or pick from the lists."]


def test_ticks_are_kept_when_one_leaves_a_list_by_a_command(play: Any) -> None:
    """Quitting in the middle of a list keeps what was ticked."""
    session = play([], seen=["pinholes"])
    session.notebook = session.notebook.before(SYMPTOMS_TOLD)
    session.asker.lines = ["2", "q"]
    with pytest.raises(Leave):
        session.ask_symptoms()
    assert session.notebook.seen == ["pinholes"]


def test_more_than_can_be_thought_through_is_not_taken(
    play: Any, knowledge: Knowledge, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An answer that can't stand with the rest is refused in one line, and the case is as it was."""
    from diagnose.errors import InputError

    session = play()
    before = dict(session.notebook.answers)

    def refuse(notebook: Notebook) -> Consultation:
        if notebook.answers.get("collapse", Answer(None)).known:
            raise InputError("too much")
        return session._consultation_of(notebook)

    monkeypatch.setattr(session, "_thought", refuse)
    session.asker.lines = ["1", "0"]
    session.ask("collapse")
    assert "Not taken: too much." in session.asker.told
    assert {n: a for n, a in session.notebook.answers.items() if n != "collapse"} == before
    assert not session.notebook.answers["collapse"].known


@pytest.mark.parametrize("path", sorted(CASES.glob("*.yaml")), ids=lambda path: path.stem)
def test_a_case_played_ends_as_the_case_read(path: Path, knowledge: Knowledge, tmp_path: Path) -> None:
    """What the questionnaire believes at the end is what the same answers say when read from a file."""
    case = read_case(path, knowledge)
    notebook = Notebook(knowledge).after(WELL, FROZEN, TITLED, SYMPTOMS_TOLD)
    table: dict[str, str | tuple[str, ...]] = {}
    for name, answer in case.values.items():
        if name in ("build", "painted") or (name in knowledge.symptoms and answer.value == "seen"):
            notebook = notebook.answered(name, answer, case.written.get(name, ""))
        elif answer.known:
            table[name] = (
                answer.value if isinstance(answer.value, tuple) else case.written.get(name) or str(answer.value)
            )
            table[f"{name}.doubt"] = "seen"
    session = Session(ScriptedAsker(answers=table), notebook, Draft(tmp_path / "played.yaml", knowledge))
    situation = session.run()
    assert situation is not None
    again = Consultation(ModelCache(knowledge), read_case(tmp_path / "played.yaml", knowledge))
    assert [c.probability for c in again.situation.beliefs.causes] == pytest.approx(
        [c.probability for c in situation.situation.beliefs.causes], abs=1e-9
    )
    assert {n: a for n, a in again.case.values.items() if a.known} == {
        n: a for n, a in situation.case.values.items() if a.known
    }


def test_leaving_is_an_exception_of_its_own(play: Any) -> None:
    """Enough and Leave are told apart where they are caught."""
    with pytest.raises(Enough):
        play(["e"]).ask("cup_leftover")
    with pytest.raises(Leave):
        play(["q"]).ask("cup_leftover")
