"""The words that every body understands, and the body in plain numbered lines."""

from __future__ import annotations

import io

import pytest

from diagnose.interview.dialogue import Field, Menu, Reply, Row, numbered, parse_fill, parse_pick
from diagnose.interview.frontends.plain import PlainAsker

ROWS = numbered(Row("0", "unknown", "Don't know"), [(f"v{i}", f"Line {i}") for i in range(1, 13)])
COMMANDS = (Row("w", "why", "What is this for"), Row("h", "how", "How to look"), Row("q", "quit", "Quit"))
MENU = Menu("cup", "How is the cup?", ROWS, COMMANDS, sources="rt")
MANY = Menu("where", "Where?", ROWS, COMMANDS, several=True)
FIELD = Field("mold_temperature", "How warm?", "For example 16 °C", COMMANDS, sources="rtm")


@pytest.mark.parametrize(
    ("menu", "line", "reply"),
    [
        (MENU, "", Reply(("unknown",))),
        (MENU, "3", Reply(("v3",))),
        (MENU, "12", Reply(("v12",))),
        (MENU, " 3  R ", Reply(("v3",), source="remembered")),
        (MENU, "3 t", Reply(("v3",), source="told")),
        (MENU, "w", Reply(command="why")),
        (MENU, "W 2", Reply(command="why", at="v2")),
        (MENU, "?", Reply(command="how")),
        (MENU, "? 2", Reply(command="how", at="v2")),
        (MANY, "2, 5 7", Reply(("v2", "v5", "v7"))),
        (MANY, "5 5", Reply(("v5",))),
        (MANY, "0", Reply(("unknown",))),
    ],
)
def test_a_typed_line_is_read_as_the_rows_it_names(menu: Menu, line: str, reply: Reply) -> None:
    """Numbers, a letter, and r or t behind them are all that has to be typed; nothing at all asserts nothing."""
    assert parse_pick(menu, line) == reply


@pytest.mark.parametrize(
    ("menu", "line", "message"),
    [
        (MENU, "13", "'13' is not on the list"),
        (MENU, "yes", "'yes' is not on the list"),
        (MENU, "r", "'r' is not on the list"),
        (MENU, "2 3", "one line, please"),
        (MANY, "3 r", "'r' is not on the list"),
        (MANY, "0 3", "'0' does not go with another line"),
        (MENU, "w 99", "'w 99' is not on the list"),
    ],
)
def test_a_line_off_the_list_is_refused_with_what_is_wrong(menu: Menu, line: str, message: str) -> None:
    """Nothing is guessed from a line that names no row."""
    assert parse_pick(menu, line) == message


def test_enter_alone_keeps_what_is_ticked_or_stands() -> None:
    """A menu that is being changed stands on the present answer, and Enter alone leaves it."""
    assert parse_pick(Menu("a", "A?", ROWS, several=True, picked=("v2",)), "") == Reply(("v2",))
    assert parse_pick(Menu("a", "A?", ROWS, at="v4"), "") == Reply(("v4",))


@pytest.mark.parametrize(
    ("line", "reply"),
    [
        ("61F", Reply(text="61F")),
        ("61F r", Reply(text="61F", source="remembered")),
        ("1 1/2 in  T", Reply(text="1 1/2 in", source="told")),
        ("16 m", Reply(text="16", source="measured")),
        ("w", Reply(command="why")),
        ("", Reply()),
        ("2 h", Reply(text="2 h")),
        ("h", Reply(command="how")),
    ],
)
def test_a_field_takes_a_text_a_command_or_a_mark(line: str, reply: Reply) -> None:
    """`r` and `t` stand behind a text; a command letter stands alone."""
    assert parse_fill(FIELD, line) == reply


def _plain(typed: str) -> tuple[PlainAsker, io.StringIO]:
    out = io.StringIO()
    return PlainAsker(io.StringIO(typed), out), out


def test_plain_lines_show_every_row_and_ask_again_after_a_slip() -> None:
    """The plain body lists rows and commands, and a line off the list costs nothing but asking again."""
    asker, out = _plain("99\n3 r\n")
    assert asker.choose(MENU) == Reply(("v3",), source="remembered")
    shown = out.getvalue()
    assert "How is the cup?" in shown
    assert " 0  Don't know\n 1  Line 1\n" in shown
    assert "12  Line 12\n w  What is this for\n h  How to look\n q  Quit\n" in shown
    assert "'99' is not on the list. Type a number or letter from the list, then Enter." in shown


def test_plain_lines_carry_no_escape_codes_even_from_a_hostile_title() -> None:
    """A control character in a knowledge file does not reach the screen."""
    asker, out = _plain("1\n")
    asker.choose(Menu("x", "Bad\x1b[2J title\r\n?", numbered(Row("0", "u", "Don't\x07 know"), [("a", "One\x9b31m")])))
    asker.tell("and \x1b]0;owned\x07 this\u202e")
    assert all(c == "\n" or c.isprintable() for c in out.getvalue())
    assert "Bad [2J title ?" in out.getvalue()


def test_plain_lines_end_where_the_keyboard_ends() -> None:
    """Ctrl-D on the plain body leaves, it does not answer."""
    asker, _ = _plain("")
    with pytest.raises(EOFError):
        asker.choose(MENU)


def test_plain_lines_fit_forty_columns(monkeypatch: pytest.MonkeyPatch) -> None:
    """On a narrow screen no line is longer than the screen is wide."""
    monkeypatch.setenv("COLUMNS", "40")
    asker, out = _plain("\n")
    rows = numbered(
        Row("0", "unknown", "Don't know"),
        [("a", "A title that is a good deal longer than forty columns can carry at once")],
    )
    asker.choose(
        Menu("x", "A question that is a good deal longer than forty columns can carry?", rows, COMMANDS, sources="rtm")
    )
    assert max(map(len, out.getvalue().splitlines())) <= 40


def test_plain_field_shows_what_was_typed_before() -> None:
    """What could not be read is shown again, and what stands can be kept with Enter alone."""
    asker, out = _plain("16 C\n\n")
    assert asker.fill(Field("t", "How warm?", text="61 lb")) == Reply(text="16 C")
    assert "You typed: 61 lb" in out.getvalue()
    assert asker.fill(Field("t", "How warm?", text="61F", keep=True)) == Reply(text="61F")
    assert "It stands at: 61F" in out.getvalue()
