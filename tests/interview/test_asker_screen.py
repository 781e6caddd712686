"""The body with arrow keys, driven through a pipe in place of a keyboard, and seen through a plain output in place of a screen."""

from __future__ import annotations

import io
from collections.abc import Iterator

import pytest
from prompt_toolkit.input import create_pipe_input
from prompt_toolkit.input.base import PipeInput
from prompt_toolkit.output import DummyOutput
from prompt_toolkit.output.plain_text import PlainTextOutput

from diagnose.interview.dialogue import Field, Menu, Reply, Row, numbered
from diagnose.interview.frontends.screen import ScreenAsker

ROWS = numbered(Row("0", "unknown", "Don't know"), [(f"v{i}", f"Line {i}") for i in range(1, 13)])
COMMANDS = (Row("w", "why", "What is this for"), Row("h", "how", "How to look"), Row("q", "quit", "Quit"))
MENU = Menu("cup", "How is the cup?", ROWS, COMMANDS, sources="rt")
MANY = Menu("where", "Where?", ROWS, COMMANDS, several=True)
DOWN, UP, CTRL_C, CTRL_D = "\x1b[B", "\x1b[A", "\x03", "\x04"


@pytest.fixture
def keys() -> Iterator[PipeInput]:
    """A keyboard that a test types on."""
    with create_pipe_input() as made:
        yield made


@pytest.mark.parametrize(
    ("typed", "reply"),
    [
        ("\r", Reply(("unknown",))),
        ("3\r", Reply(("v3",))),
        ("12\r", Reply(("v12",))),
        ("1\x1b[B\r", Reply(("v2",))),
        (DOWN + DOWN + UP + "\r", Reply(("v1",))),
        ("3r\r", Reply(("v3",), source="remembered")),
        ("t3\r", Reply(("v3",), source="told")),
        ("3rr\r", Reply(("v3",))),
        ("w\r", Reply(command="why")),
        ("4w\r", Reply(command="why", at="v4")),
        ("4?\r", Reply(command="how", at="v4")),
        ("jk zxy\r", Reply(("unknown",))),
        (UP + "\r", Reply(command="quit")),
    ],
)
def test_one_key_and_enter_answer_a_menu(keys: PipeInput, typed: str, reply: Reply) -> None:
    """A number, a letter or arrows move, Enter takes; Enter alone on a fresh menu asserts nothing."""
    keys.send_text(typed)
    assert ScreenAsker(keys, DummyOutput()).choose(MENU) == reply


@pytest.mark.parametrize(
    ("typed", "reply"),
    [
        ("\r", Reply(("unknown",))),
        ("2\r5\r\r", Reply(("v2", "v5"))),
        (DOWN + " " + DOWN + " 0\r", Reply(("v1", "v2"))),
        ("2\r2\r\r", Reply(("unknown",))),
        ("3 w\r", Reply(("v3",), command="why", at="v3")),
        ("0 \r", Reply(("unknown",))),
    ],
)
def test_several_are_ticked_one_by_one(keys: PipeInput, typed: str, reply: Reply) -> None:
    """Enter ticks a row and goes to "that is all"; Space ticks and stays; with nothing ticked nothing is told."""
    keys.send_text(typed)
    assert ScreenAsker(keys, DummyOutput()).choose(MANY) == reply


def test_ticks_that_stood_already_are_kept(keys: PipeInput) -> None:
    """A list that is opened again has its ticks, and Enter alone keeps them."""
    keys.send_text("\r")
    assert ScreenAsker(keys, DummyOutput()).choose(Menu("w", "Where?", ROWS, several=True, picked=("v7",))) == Reply(
        ("v7",)
    )


@pytest.mark.parametrize(("typed", "leaving"), [(CTRL_C, KeyboardInterrupt), (CTRL_D, EOFError)])
def test_ctrl_c_and_ctrl_d_leave_a_menu_and_a_field(keys: PipeInput, typed: str, leaving: type[BaseException]) -> None:
    """Neither is ignored, and neither answers."""
    asker = ScreenAsker(keys, DummyOutput())
    keys.send_text(typed)
    with pytest.raises(leaving):
        asker.choose(MENU)
    keys.send_text(typed)
    with pytest.raises(leaving):
        asker.fill(Field("t", "How warm?"))


def test_a_field_opens_with_what_was_typed_to_be_mended(keys: PipeInput) -> None:
    """Text that could not be read stays in the field."""
    keys.send_text("\x7f\x7f\x7fF r\r")
    assert ScreenAsker(keys, DummyOutput()).fill(Field("t", "How warm?", text="61 lb", sources="rtm")) == Reply(
        text="61F", source="remembered"
    )


def test_a_field_that_is_emptied_is_not_kept(keys: PipeInput) -> None:
    """On the screen the present answer stands in the field, so emptying it means don't know."""
    keys.send_text("\x15\r")
    assert ScreenAsker(keys, DummyOutput()).fill(Field("t", "How warm?", text="61F", keep=True)) == Reply()


def test_keys_typed_before_the_question_answer_nothing(keys: PipeInput) -> None:
    """What was typed ahead is forgotten when a question opens."""
    from prompt_toolkit.input.typeahead import store_typeahead
    from prompt_toolkit.key_binding import KeyPress
    from prompt_toolkit.keys import Keys

    store_typeahead(keys, [KeyPress("3", "3"), KeyPress(Keys.ControlM, "\r")])
    keys.send_text("\r")
    assert ScreenAsker(keys, DummyOutput()).choose(MENU) == Reply(("unknown",))


def _seen(keys: PipeInput, menu: Menu, typed: str) -> str:
    out = io.StringIO()
    keys.send_text(typed)
    ScreenAsker(keys, PlainTextOutput(out)).choose(menu)
    return out.getvalue()


def test_the_menu_shows_rows_commands_and_how_it_is_known(keys: PipeInput) -> None:
    """Every way on is on the screen, with its key."""
    shown = _seen(keys, MENU, "\r")
    for line in (
        "How is the cup?",
        "(number or arrows, Enter)",
        " 0  Don't know",
        "12  Line 12",
        " w  What is this for",
        " q  Quit",
        "How known: r = from memory, t = somebody told me",
    ):
        assert line in shown


def test_no_control_character_of_a_file_reaches_the_screen(keys: PipeInput) -> None:
    """Titles are cleaned before the menu is laid out, so that a newline can't break its columns."""
    shown = _seen(
        keys,
        Menu("x", "Bad\x1b[2J\ntitle?", numbered(Row("0", "u", "Don't\x07know"), [("a", "One\x9b31m\r\nmore")])),
        "\r",
    )
    assert "Bad [2J title?" in shown
    assert "One 31m more" in shown
    assert "\x1b" not in shown
    assert "\x07" not in shown


def test_long_lines_are_folded_not_cut(keys: PipeInput, monkeypatch: pytest.MonkeyPatch) -> None:
    """On forty columns a long answer goes on in a second line, under its first word."""
    monkeypatch.setenv("COLUMNS", "40")
    shown = _seen(
        keys,
        Menu(
            "x",
            "Short?",
            numbered(Row("0", "u", "Don't know"), [("a", "A title that is longer than forty columns can carry")]),
        ),
        "\r",
    )
    assert "1  A title that is longer than" in shown
    assert "\n       forty columns can carry" in shown.replace("\r", "")
