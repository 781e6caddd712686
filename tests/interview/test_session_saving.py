"""What is kept on disk: after each answer, whole or not at all, and taken up again with nothing lost."""

from __future__ import annotations

import os
import time
from pathlib import Path
from typing import Any

import pytest

from diagnose.casebook import read_case
from diagnose.errors import FileFaults, InputError
from diagnose.interview import autosave as drafts
from diagnose.interview.autosave import Changed, Draft, cases_folder, new_path, recent_paths, replace_file
from diagnose.interview.frontends.scripted import ScriptedAsker
from diagnose.interview.progress import FINISHED, FROZEN, SYMPTOMS_TOLD, TITLED, WELL, Notebook
from diagnose.interview.run import _session, kept_line
from diagnose.interview.safety import unfinished
from diagnose.knowledge import Knowledge
from diagnose.reasoning.answers import Answer


def test_the_file_holds_each_answer_before_the_next_question(
    play: Any, knowledge: Knowledge, monkeypatch: pytest.MonkeyPatch
) -> None:
    """At every prompt after an answer the file reads back as all the answers given so far."""
    session = play(["16 C", "1 r", "0"])
    held: list[list[str]] = []
    choose, fill = session.asker.choose, session.asker.fill

    def look() -> None:
        if session.draft.path.exists():
            held.append(list(read_case(session.draft.path, knowledge).answers))

    monkeypatch.setattr(session.asker, "choose", lambda menu: (look(), choose(menu))[1])
    monkeypatch.setattr(session.asker, "fill", lambda field: (look(), fill(field))[1])
    for name in ("mold_temperature", "cup_leftover", "press_test", "cut_face"):
        session.ask(name)
    assert [answers[-1] for answers in held] == ["mold_temperature", "cup_leftover", "press_test"]


def test_a_saved_case_reads_back_as_it_was(play: Any, knowledge: Knowledge) -> None:
    """Values, sources, units as typed, don't knows, and answers set aside survive the file."""
    session = play(["61F", "3 r", "0"], seen=["thin_skin", "paint_peels_clean"], painted="yes")
    for name in ("mold_temperature", "mold_dampness", "cup_leftover"):
        session.ask(name)
    session.asker.lines = ["1 t"]
    session.ask("paint_kind")
    session.asker.lines = ["2"]
    session.ask("painted", changing=True)
    back = Notebook.from_case(read_case(session.draft.path, knowledge), knowledge, "case.yaml")
    assert back.answers == session.notebook.answers
    assert back.written("mold_temperature") == "61F"
    assert back.aside == ["paint_peels_clean", "paint_kind"]
    assert back.passed == {WELL, FROZEN, TITLED, SYMPTOMS_TOLD}


def test_other_programs_keys_and_the_title_are_kept(knowledge: Knowledge, tmp_path: Path) -> None:
    """Going on with a case does not lose what the questionnaire does not know."""
    path = tmp_path / "owl.yaml"
    path.write_text(
        "case: 1\ntitle: Owl\nanswers: {build: bare_foam}\nabout: {part: mask}\nx_rig: {arm: '7'}\n", encoding="utf-8"
    )
    draft, case = Draft.of(path, knowledge)
    draft.save(Notebook.from_case(case, knowledge, "owl.yaml").for_file())
    case = read_case(path, knowledge)
    assert (case.title, case.about.told(), case.extra["x_rig"]) == ("Owl", {"part": "mask"}, {"arm": "7"})


def test_a_writing_that_fails_half_way_leaves_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The new file takes the old one's place in one step or not at all, and nothing is left lying beside it."""
    path = tmp_path / "case.yaml"
    replace_file(path, b"old\n")

    def fail(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(drafts.os, "fsync", fail)
    with pytest.raises(OSError, match="No space"):
        replace_file(path, b"new\n", b"old\n")
    assert path.read_text(encoding="utf-8") == "old\n"
    assert os.listdir(tmp_path) == ["case.yaml"]


def test_a_link_stays_a_link_and_rights_are_kept(tmp_path: Path) -> None:
    """Writing through a link writes the file behind it, with the rights that it had."""
    real = tmp_path / "real.yaml"
    replace_file(real, b"old\n")
    real.chmod(0o640)
    link = tmp_path / "link.yaml"
    link.symlink_to(real)
    replace_file(link, b"new\n", b"old\n")
    assert link.is_symlink()
    assert real.read_text(encoding="utf-8") == "new\n"
    assert real.stat().st_mode & 0o777 == 0o640


def test_trouble_with_the_disk_is_told_once_and_stops_nothing(play: Any, tmp_path: Path) -> None:
    """The answers go on in memory; the last line says that they are not saved."""
    session = play(["16 C", "0", "0"])
    blocked = tmp_path / "blocked"
    blocked.write_text("a file where a folder should be", encoding="utf-8")
    session.draft.path = blocked / "case.yaml"
    for name in ("mold_temperature", "cup_leftover", "press_test"):
        session.ask(name)
    told = [line for line in session.asker.told if line.startswith("Not saved: ")]
    assert len(told) == 1
    assert told[0].endswith("Your answers hold until you leave.")
    assert session.notebook.case.values["mold_temperature"].value == 16.0
    assert kept_line(session).startswith("Not saved: ")


def test_the_last_line_says_what_was_kept_and_how_to_go_on(play: Any) -> None:
    """One line, with the command."""
    session = play(["16 C"])
    assert kept_line(session) == "Nothing was answered, nothing is saved."
    session.ask("mold_temperature")
    assert kept_line(session) == f"Kept: 5 answers. Go on with: diagnose --resume {session.draft.path}"


def test_a_file_that_is_there_is_not_written_over(tmp_path: Path) -> None:
    """--save never takes the place of another file."""
    taken = tmp_path / "taken.yaml"
    taken.write_text("mine\n", encoding="utf-8")
    with pytest.raises(InputError, match="there is a file already; go on with it by `diagnose --resume"):
        new_path(taken)
    first = new_path(None)
    assert first.parent == cases_folder()
    first.parent.mkdir(parents=True)
    first.touch()
    assert new_path(None) != first


def _put_draft(knowledge: Knowledge, name: str, age_hours: float, finished: bool = False) -> Path:
    notebook = Notebook(knowledge).after(WELL, *([FINISHED] if finished else []))
    notebook = notebook.answered("build", Answer("bare_foam"), "bare_foam")
    notebook = notebook.answered("thin_skin", Answer("seen"), "seen").after(SYMPTOMS_TOLD)
    draft = Draft(cases_folder() / name, knowledge)
    draft.save(notebook.for_file())
    changed = time.time() - 3600 * age_hours
    os.utime(draft.path, (changed, changed))
    return draft.path


def test_an_unfinished_case_of_the_last_two_days_is_offered(knowledge: Knowledge) -> None:
    """The newest unfinished one, not a finished one, not one of last week; and a new one can be begun instead."""
    _put_draft(knowledge, "old.yaml", 60)
    wanted = _put_draft(knowledge, "wanted.yaml", 5)
    _put_draft(knowledge, "done.yaml", 1, finished=True)
    assert [path.name for path in recent_paths()] == ["done.yaml", "wanted.yaml"]
    asker = ScriptedAsker([""])
    found = unfinished(asker, knowledge)
    assert found is not None
    assert found[0].path == wanted
    assert found[1].seen == ["thin_skin"]
    assert asker.asked[0].message.endswith("skin thin, spongy or missing nearly everywhere; 2 answers.")
    assert unfinished(ScriptedAsker(["1"]), knowledge) is None


def test_a_broken_draft_is_left_alone_and_named(knowledge: Knowledge) -> None:
    """A file that can't be read neither stops the questionnaire nor vanishes in silence."""
    path = _put_draft(knowledge, "broken.yaml", 1)
    path.write_text("case: 1\nanswers: {build: ", encoding="utf-8")
    asker = ScriptedAsker()
    assert unfinished(asker, knowledge) is None
    assert asker.told[0].startswith(f"Left alone: {path}")


def test_resuming_goes_on_where_it_stopped(knowledge: Knowledge) -> None:
    """No safety question and no evidence a second time; the answers are there."""
    path = _put_draft(knowledge, "mine.yaml", 1)
    asker = ScriptedAsker(["", "q"], strict=True)
    session = _session(asker, knowledge, path, None)
    assert session.run() is None
    assert [asked.name for asked in asker.asked] == ["evidence", "painted"]
    assert session.notebook.seen == ["thin_skin"]


def test_resuming_a_case_written_by_hand_keeps_it_beside(knowledge: Knowledge, tmp_path: Path) -> None:
    """The comments of a file that somebody wrote are not lost when answers are added to it."""
    path = tmp_path / "hand.yaml"
    path.write_text(
        "# by hand\ncase: 1\nanswers: {build: bare_foam, painted: no, symptoms: [thin_skin]}\n", encoding="utf-8"
    )
    asker = ScriptedAsker(["2", "", "", "0", "q"], strict=True)
    session = _session(asker, knowledge, path, None)
    session.run()
    assert (tmp_path / "hand.yaml.before").read_text(encoding="utf-8").startswith("# by hand\n")
    assert asker.told[0] == f"Answers are added to {path}; as it was, it is kept in {path}.before."
    assert read_case(path, knowledge).values["thin_skin"] == Answer("seen")


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (
            "case: 1\nanswers: {}\nx_set_aside: {nonsense: {value: a, source: seen}}\n",
            "x_set_aside.nonsense: expected a question with value and source",
        ),
        (
            "case: 1\nanswers: {}\nx_set_aside: {mold_temperature: {value: 9 lb, source: seen}}\n",
            "x_set_aside.mold_temperature: '9 lb' is a mass, expected a temperature",
        ),
        (
            "case: 1\nanswers: {}\nx_interview: yes\n",
            "x_interview: expected well, frozen, titled, symptoms_told, looked_again, offered, going_on, finished, each yes or no",
        ),
        ("case: 2\nanswers: {}\n", "case: '2', expected 1, the version of the format that this program reads"),
    ],
)
def test_a_draft_that_was_tampered_with_is_refused_whole(
    knowledge: Knowledge, tmp_path: Path, text: str, message: str
) -> None:
    """One clear line, and the file stays as it is."""
    path = tmp_path / "bad.yaml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(FileFaults) as caught:
        _session(ScriptedAsker(), knowledge, path, None)
    assert message in str(caught.value)
    assert path.read_text(encoding="utf-8") == text


def test_a_file_that_another_terminal_wrote_is_left_alone(play: Any, knowledge: Knowledge) -> None:
    """Two terminals on one case: the second to write keeps its answers in a file beside, and says so; nothing is lost on either side."""
    session = play(["16 C", "0"])
    session.ask("mold_temperature")
    theirs = session.draft.path
    theirs.write_text(theirs.read_text(encoding="utf-8").replace("16 C", "18 C"), encoding="utf-8")
    session.ask("cup_leftover")
    assert "18 C" in theirs.read_text(encoding="utf-8")
    assert session.draft.path == theirs.with_name("case-mine.yaml")
    assert read_case(session.draft.path, knowledge).values["mold_temperature"].value == 16.0
    assert any(
        "was written by another program or terminal since it was read here" in line for line in session.asker.told
    )
    assert kept_line(session).endswith(f"diagnose --resume {session.draft.path}")


def test_a_file_is_never_written_over_unread(tmp_path: Path) -> None:
    """A file that came up meanwhile, changed or went is not written over."""
    path = tmp_path / "case.yaml"
    replace_file(path, b"mine\n")
    for held in (None, b"older\n"):
        with pytest.raises(Changed):
            replace_file(path, b"new\n", held)
    path.unlink()
    with pytest.raises(Changed):
        replace_file(path, b"new\n", b"mine\n")
    assert not path.exists()
