"""Case files written by commands: key=value, and the text of `diagnose ask` filled in and sent back."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from diagnose.casebook import read_case
from diagnose.commands.main import run
from diagnose.errors import FileFaults, InputError
from diagnose.interview.progress import Notebook
from diagnose.interview.reply import with_pairs, with_text
from diagnose.knowledge import Knowledge
from diagnose.reasoning.answers import Answer
from tests.patience import WAIT

ROOT = Path(__file__).parents[2]


@pytest.fixture
def owl(tmp_path: Path) -> Path:
    """A case file begun by a command."""
    path = tmp_path / "owl.yaml"
    assert (
        run(["new", str(path), "title=Owl mask", "build=bare_foam", "painted=no", "symptoms=thin_skin,pinholes"]) == 0
    )
    return path


def test_new_begins_a_case_and_never_takes_another_ones_place(owl: Path, knowledge: Knowledge) -> None:
    """Title, build and faults stand in the file; a second `new` on it is refused."""
    case = read_case(owl, knowledge)
    assert case.title == "Owl mask"
    assert list(case.values) == ["build", "painted", "thin_skin", "pinholes"]
    assert run(["new", str(owl)]) == 2


def test_answer_writes_and_says_what_moved(owl: Path, knowledge: Knowledge, capsys: pytest.CaptureFixture[str]) -> None:
    """Numbers as they are said, `:told` for how it is known; the answers and where the case stands on standard output."""
    assert run(["answer", str(owl), "mold_temperature=about 52 F", "cup_leftover=good:told", "a_mass=dk"]) == 0
    answers = read_case(owl, knowledge).values
    assert answers["mold_temperature"] == Answer(pytest.approx(11.111, abs=1e-2), "remembered")
    assert answers["cup_leftover"] == Answer("good", "told")
    assert not answers["a_mass"].known
    said = capsys.readouterr().out
    assert "mold face temperature: 52 F, from memory" in said
    assert "So far: " in said


def test_set_takes_an_answer_back_and_names_the_mold(owl: Path, knowledge: Knowledge) -> None:
    """`key=` opens a question again; what is about the case is set by the same words."""
    assert run(["set", str(owl), "mold_temperature=52F"]) == 0
    assert run(["set", str(owl), "mold_temperature=", "mold=OWL-2", "title=Owl"]) == 0
    case = read_case(owl, knowledge)
    assert "mold_temperature" not in case.values
    assert (case.title, case.about.mold) == ("Owl", "OWL-2")


@pytest.mark.parametrize(
    ("pair", "message"),
    [
        ("mold_temprature=52F", "mold_temprature: no such question, nearest is 'mold_temperature'"),
        ("mold_temperature=9 lb", "mold_temperature: '9 lb' is a mass, expected a temperature"),
        ("cup_leftover=god", "cup_leftover: 'god', expected one of "),
        ("symptoms=thin_skn", "symptoms: no such symptom 'thin_skn', nearest is 'thin_skin'"),
        ("nonsense", "'nonsense': expected key=value"),
    ],
)
def test_a_bad_pair_is_refused_in_one_line(knowledge: Knowledge, pair: str, message: str) -> None:
    """What is wrong, and what was expected."""
    with pytest.raises(InputError) as caught:
        with_pairs(Notebook(knowledge), [pair])
    assert str(caught.value).startswith(message)


def test_a_refused_answer_leaves_the_file_as_it_was(owl: Path) -> None:
    """Nothing is written where one of several answers is wrong, or where they can't all be true."""
    before = owl.read_bytes()
    assert run(["answer", str(owl), "mold_temperature=52F", "cup_leftover=god"]) == 2
    assert run(["answer", str(owl), "paint_kind=enamel"]) == 2
    assert owl.read_bytes() == before


def _sent(owl: Path) -> str:
    command = [sys.executable, "-m", "diagnose", "ask", str(owl), "-n", "3"]
    return subprocess.run(command, capture_output=True, text=True, check=True, cwd=ROOT, timeout=WAIT).stdout


def test_the_message_comes_back_filled_in(owl: Path, knowledge: Knowledge) -> None:
    """Boxes ticked in a mail that was quoted are read, and count as told; what was left empty says nothing."""
    text = _sent(owl)
    ticked, question = [], ""
    wanted: dict[str, str] = {}
    for line in text.splitlines():
        if line.rstrip().endswith("]") and "[" in line and "[ ]" not in line:
            question = line[line.rindex("[") + 1 : line.rindex("]")]
        if "[ ]" in line and question and question not in wanted and line.rstrip().endswith(")"):
            wanted[question] = line[line.rindex("(") + 1 : line.rindex(")")]
            line = line.replace("[ ]", "[x]")
        ticked.append(f"> {line}")
    assert wanted
    notebook = with_text(
        Notebook.from_case(read_case(owl, knowledge), knowledge, "owl.yaml"), "\n".join(ticked), "mail"
    )
    for name, value in wanted.items():
        given = notebook.answers[name]
        assert (given.value if isinstance(given.value, str) else given.value[0], given.source) == (value, "told")


NUMBER = """1. How warm was the mold face? (2 min)  [mold_temperature]
   Press a probe on it.
   Answer: {}   A number alone is in °C. For example 16 °C or 61 F.
   [{}] don't know
"""


@pytest.mark.parametrize(
    ("typed", "tick", "value"),
    [("52F", " ", 11.1111), ("____ about 11", " ", 11.0), ("____", "x", None), ("11-13 C ____", " ", 12.0)],
)
def test_a_number_is_read_from_its_line(knowledge: Knowledge, typed: str, tick: str, value: float | None) -> None:
    """In place of the line or beside it; don't know by its box."""
    answer = with_text(Notebook(knowledge), NUMBER.format(typed, tick), "mail").answers["mold_temperature"]
    assert answer.value == (None if value is None else pytest.approx(value, abs=1e-3))


def test_an_empty_line_says_nothing(knowledge: Knowledge) -> None:
    """A question passed over is still open."""
    assert "mold_temperature" not in with_text(Notebook(knowledge), NUMBER.format("____", " "), "mail").answers


def test_a_long_answer_broken_by_a_mailer_is_put_together(knowledge: Knowledge) -> None:
    """The value behind a box may stand on the next line."""
    text = "1. How is the cup? (1 min)\n[cup_leftover]\n[x] Set, dry,\nfine and springy\n(good)\n[ ] don't know\n"
    assert with_text(Notebook(knowledge), text, "mail").answers["cup_leftover"] == Answer("good", "told")


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("Hello, all is well\n", "mail: no question in it, expected the text of `diagnose ask`"),
        ("1. Cup? [cup_leftovr]\n[x] a (good)\n", "mail:1: cup_leftovr: no such question, nearest is 'cup_leftover'"),
        (
            "1. Cup? [cup_leftover]\n[x] a (good)\n[x] b (sticky)\n",
            "mail:1: cup_leftover: 2 boxes ticked (good, sticky)",
        ),
        (
            "1. Cup? [cup_leftover]\n[x] a (good)\n[x] don't know\n",
            "mail:1: cup_leftover: ticked, and don't know ticked",
        ),
        ("\n1. T? [mold_temperature]\nAnswer: 9 lb\n", "mail:2: mold_temperature: '9 lb' is a mass"),
    ],
)
def test_a_reply_that_cannot_be_read_is_told_with_its_line(knowledge: Knowledge, text: str, message: str) -> None:
    """File and line, and nothing of it is taken."""
    with pytest.raises(FileFaults) as caught:
        with_text(Notebook(knowledge), text, "mail")
    assert str(caught.value).startswith(message)


def test_a_file_with_comments_is_kept_beside_before_it_is_written_over(tmp_path: Path) -> None:
    """What somebody wrote by hand is not lost when a command writes into it."""
    path = tmp_path / "hand.yaml"
    path.write_text("# mine\ncase: 1\nanswers: {build: bare_foam}\n", encoding="utf-8")
    assert run(["set", str(path), "painted=no"]) == 0
    assert (tmp_path / "hand.yaml.before").read_text(encoding="utf-8").startswith("# mine")
