"""The body with arrow keys, on questionary: a number or letter moves to a row, Enter takes it.

questionary alone ignores a real SIGINT and Ctrl-D in a menu, keeps surplus keys for the next question, writes to
standard output and cuts long lines; its own bindings are therefore added to here, its output is sent to standard error,
and lines are wrapped beforehand. Where a row asserts nothing the menu opens on it. questionary and prompt_toolkit are
imported when a question is asked.
"""

from __future__ import annotations

import sys
import time
from typing import TYPE_CHECKING, Any

from msgspec.structs import replace

from diagnose.interview.dialogue import SOURCE_KEYS, SOURCE_WORDS, Field, Menu, Reply, Row, parse_fill, source_hint
from diagnose.interview.terminal import columns, forget_typed, wants_color
from diagnose.prose.question import clean, lowered, paragraph, row_lines, wrapped

if TYPE_CHECKING:
    from prompt_toolkit.input import Input
    from prompt_toolkit.key_binding import KeyBindings, KeyPressEvent
    from prompt_toolkit.output import Output

#: digits typed within this many seconds make one number
_TOGETHER = 1.0
_DIM, _PLAIN = "\x1b[2m", "\x1b[0m"
_QUIET = [
    ("qmark", "noinherit"),
    ("question", "noinherit"),
    ("answer", "noinherit"),
    ("instruction", "noinherit"),
    ("highlighted", "noinherit"),
    ("separator", "noinherit"),
    ("selected", "noinherit"),
    ("pointer", "noinherit"),
    ("text", "noinherit"),
]
_COLORED = [
    ("qmark", "fg:ansicyan"),
    ("question", "bold"),
    ("answer", "fg:ansicyan"),
    ("instruction", ""),
    ("highlighted", "bold"),
    ("pointer", "fg:ansicyan bold"),
]


class ScreenAsker:
    """Asks with questionary on *output*, reads keys from *input* (standard error and standard input by default).

    Raises NoConsole where this terminal can't be driven so.
    """

    def __init__(self, keys: Input | None = None, output: Output | None = None) -> None:
        self.keys = keys or _keys()
        self.output = output or _output()
        self.color = wants_color()
        self.running: Any = None

    @property
    def width(self) -> int:
        """Columns to write in."""
        return columns(sys.stderr)

    def tell(self, text: str, quiet: bool = False, whole: bool = False) -> None:
        """Write *text*, wrapped unless *whole*; dim where *quiet* and colour is welcome."""
        lines = clean(text) if whole else "\n".join(paragraph(text, self.width - 1, quiet))
        dim = quiet and self.color
        print(f"{_DIM}{lines}{_PLAIN}" if dim else lines, file=sys.stderr, flush=True)

    def choose(self, menu: Menu) -> Reply:
        """Show the menu and return what was taken."""
        import questionary
        from prompt_toolkit.application import create_app_session
        from prompt_toolkit.key_binding import merge_key_bindings

        with create_app_session(input=self.keys, output=self.output):
            shown = _Shown(menu, self.width)
            message = wrapped(menu.message, self.width - 4)
            hint = _hint(menu, self.width)
            fits = len(message[-1]) + len(hint) + 4 < self.width
            question = questionary.select(
                "\n  ".join(message),
                shown.choices(),
                pointer=">",
                use_jk_keys=False,
                show_description=False,
                style=questionary.Style(_COLORED if self.color else _QUIET),
                instruction=hint if fits else f"\n  {hint}",
            )
            bindings = question.application.key_bindings
            control = _control(question)
            question.application.key_bindings = merge_key_bindings([bindings, shown.bindings(control)])
            _tell_more_below(question, control, shown)
            reply: Reply = self._run(question)
        return reply

    def fill(self, field: Field) -> Reply:
        """Show the field and return what was typed."""
        import questionary
        from prompt_toolkit.application import create_app_session

        self._field_hints(field)
        with create_app_session(input=self.keys, output=self.output):
            style = questionary.Style(_COLORED if self.color else _QUIET)
            question = questionary.text(
                "\n  ".join(wrapped(field.message, self.width - 4)), default=field.text, style=style
            )
            _leaving(question)
            typed: str = self._run(question)
        return parse_fill(replace(field, keep=False), clean(typed))

    def _field_hints(self, field: Field) -> None:
        if field.text and not field.keep:
            self.tell(f"Mend it, or empty it (Ctrl-U) for {field.empty}.", quiet=True)
            return
        if field.hint:
            self.tell(field.hint, quiet=True)
        letters = [f"{row.key} = {lowered(row.title)}" for row in field.commands]
        alone = (
            f"Enter = as it stands, emptied (Ctrl-U) = {field.empty}" if field.text else f"Enter alone = {field.empty}"
        )
        self.tell(", ".join([alone, *letters]), quiet=True)

    def stop(self, leaving: BaseException) -> bool:
        """End the open question tidily: cursor shown, menu gone, keys echoed again."""
        app = self.running
        if app is None or not app.is_running:
            return False
        app.loop.call_soon_threadsafe(lambda: None if app.is_done else app.exit(exception=leaving))
        return True

    def _run(self, question: Any) -> Any:
        """Ask, forgetting keys that were typed before the question stood there."""
        from prompt_toolkit.input.typeahead import clear_typeahead

        clear_typeahead(self.keys)
        forget_typed(sys.stdin)
        self.running = question.application
        try:
            return question.unsafe_ask()
        finally:
            self.running = None


class NoConsole(Exception):
    """This terminal can't be driven by cursor movement."""


def _keys() -> Input:
    from prompt_toolkit.input import create_input

    try:
        return create_input()
    except (OSError, ValueError) as error:
        raise NoConsole(str(error)) from None


def _output() -> Output:
    from prompt_toolkit.output import create_output

    try:
        made = create_output(stdout=sys.stderr)
    except Exception as error:  # on Windows prompt_toolkit has an error of its own, not to be imported elsewhere
        raise NoConsole(str(error)) from None
    if hasattr(made, "enable_cpr"):
        made.enable_cpr = (
            False  # asking where the cursor is costs a second on terminals that never answer, and isn't needed here
        )
    return made


def _control(question: Any) -> Any:
    from questionary.prompts.common import InquirerControl

    return next(c for c in question.application.layout.find_all_controls() if isinstance(c, InquirerControl))


def _hint(menu: Menu, width: int) -> str:
    """What the keys do, behind the question."""
    if not menu.several:
        return "(number or arrows, Enter)"
    return "(Enter ticks; again = done)" if width < 60 else "(number or arrows; Enter ticks, Enter again = done)"


def _tell_more_below(question: Any, control: Any, shown: _Shown) -> None:
    """Add a line under the list that says so where it goes on below the edge of the screen."""
    from prompt_toolkit.application import get_app
    from prompt_toolkit.filters import Condition, is_done
    from prompt_toolkit.layout import ConditionalContainer, FormattedTextControl, HSplit, Layout, Window

    listed = next(w for w in question.application.layout.find_all_windows() if w.content is control)

    def words() -> str:
        info = listed.render_info
        hidden = info is not None and info.content_height > info.vertical_scroll + info.window_height
        keys = f"; {' '.join(row.key for row in shown.menu.commands)} work" if shown.menu.commands else ""
        return f"   -- more below{keys} --" if hidden else "   -- the end of the list --"

    too_long = Condition(lambda: shown.height > get_app().output.get_size().rows - 1)
    below = ConditionalContainer(
        Window(FormattedTextControl(lambda: wrapped(words(), shown.width - 1)[0]), height=1), filter=too_long & ~is_done
    )
    question.application.layout = Layout(HSplit([question.application.layout.container, below]), listed)


def _leaving(question: Any) -> None:
    """Make a real SIGINT and Ctrl-D on an empty line leave a text field."""
    from prompt_toolkit.key_binding import KeyBindings, merge_key_bindings

    mine = KeyBindings()
    mine.add("<sigint>")(lambda event: event.app.exit(exception=KeyboardInterrupt))
    question.application.key_bindings = merge_key_bindings([question.application.key_bindings, mine])


class _Shown:
    """A menu on the screen: its rows as choices, where one stands, what is ticked, and what each key does."""

    def __init__(self, menu: Menu, width: int) -> None:
        self.menu = menu
        self.width = width
        self.rows: list[Row] = [*menu.rows, *menu.commands]
        self.ticked = [row.value for row in menu.rows if row.value in menu.picked]
        self.source: str | None = None
        self.digits = ""
        self.typed_at = 0.0
        self.at = ""
        self.control: Any = None
        self._choices: list[Any] = []
        self._source_line: Any = None

    def choices(self) -> list[Any]:
        """Return the rows as choices of questionary, the commands below a line."""
        from questionary import Choice, Separator

        self._choices = [Choice(title="-", value=i) for i in range(len(self.rows))]
        found: list[Any] = [*self._choices[: len(self.menu.rows)]]
        if self.menu.commands:
            found += [Separator("   --"), *self._choices[len(self.menu.rows) :]]
        if self.menu.sources:
            self._source_line = Separator("")
            found.append(self._source_line)
        self._retitle()
        return found

    @property
    def height(self) -> int:
        """Lines that question, rows, commands and marks take."""
        titles = sum(str(choice.title).count("\n") + 1 for choice in self._choices)
        message = len(wrapped(self.menu.message, self.width - 4)) + 1
        return titles + message + bool(self.menu.commands) + bool(self.menu.sources)

    def bindings(self, control: Any) -> KeyBindings:
        """Return what the keys do, over those of questionary; stands on the row on which the menu opens."""
        from prompt_toolkit.key_binding import KeyBindings

        self.control = control
        opens = next((i for i, row in enumerate(self.menu.rows) if row.value == self.menu.at), 0)
        control.pointed_at = control.choices.index(self._choices[opens])
        keys = KeyBindings()
        for digit in "0123456789":
            keys.add(digit, eager=True)(self._digit)
        for row in self.menu.commands:
            keys.add(row.key, eager=True)(self._letter)
            if row.key == "h":
                keys.add("?", eager=True)(self._letter)
        if self.menu.sources:
            for key in self.menu.sources:
                keys.add(key, eager=True)(self._mark)
        if self.menu.several:
            keys.add(" ", eager=True)(lambda event: self._tick(self._pointed()))
        keys.add("enter", eager=True)(self._enter)
        keys.add("<sigint>", eager=True)(lambda event: event.app.exit(exception=KeyboardInterrupt))
        keys.add("c-d", eager=True)(lambda event: event.app.exit(exception=EOFError))
        return keys

    def _pointed(self) -> int:
        return int(self.control.get_pointed_at().value)

    def _point(self, index: int) -> None:
        self.control.pointed_at = self.control.choices.index(self._choices[index])

    def _digit(self, event: KeyPressEvent) -> None:
        now = time.monotonic()
        before = self.digits if now - self.typed_at < _TOGETHER else ""
        keys = [row.key for row in self.menu.rows]
        self.digits = next((text for text in (before + event.data, event.data) if text in keys), "")
        self.typed_at = now
        if self.digits:
            self._point(keys.index(self.digits))

    def _letter(self, event: KeyPressEvent) -> None:
        stood = self._pointed()
        self.at = self.rows[stood].value if 0 < stood < len(self.menu.rows) else ""
        key = "h" if event.data == "?" else event.data
        self._point(next(i for i, row in enumerate(self.rows) if i >= len(self.menu.rows) and row.key == key))

    def _mark(self, event: KeyPressEvent) -> None:
        named = SOURCE_KEYS[event.data]
        self.source = None if self.source == named else named
        self._retitle()

    def _tick(self, index: int) -> None:
        """Tick or untick a row; the row that asserts nothing, and the commands, have no tick."""
        if not 0 < index < len(self.menu.rows):
            return
        value = self.rows[index].value
        self.ticked = [v for v in self.ticked if v != value] if value in self.ticked else [*self.ticked, value]
        self._retitle()

    def _enter(self, event: KeyPressEvent) -> None:
        index = self._pointed()
        if index >= len(self.menu.rows):
            self._leave(
                event, Reply(tuple(self.ticked), command=self.rows[index].value, at=self.at), self.rows[index].title
            )
        elif self.menu.several and index > 0:
            self._tick(index)
            self._point(0)
        elif self.menu.several and self.ticked:
            titles = [row.title for row in self.menu.rows if row.value in self.ticked]
            self._leave(event, Reply(tuple(self.ticked), source=self.source), "; ".join(titles))
        else:
            self._leave(event, Reply((self.rows[index].value,), source=self.source), self.rows[index].title)

    def _leave(self, event: KeyPressEvent, reply: Reply, said: str) -> None:
        mark = f" ({self.source})" if reply.source else ""
        self._choices[self._pointed()].title = "\n  " + "\n  ".join(wrapped(said + mark, self.width - 4))
        self.control.is_answered = True
        event.app.exit(result=reply)

    def _retitle(self) -> None:
        for i, (row, choice) in enumerate(zip(self.rows, self._choices, strict=True)):
            title = row.title
            if self.menu.several and i < len(self.menu.rows):
                title = (
                    (self.menu.done if self.ticked else title)
                    if i == 0
                    else f"[{'x' if row.value in self.ticked else ' '}] {title}"
                )
            choice.title = "\n   ".join(row_lines(row.key, title, self.width - 4))
        if self._source_line is not None:
            key = next((k for k, source in SOURCE_KEYS.items() if source == self.source), "")
            said = f"{SOURCE_WORDS[key]} ({key} again: not so)" if key else source_hint(self.menu.sources)
            self._source_line.title = "\n   ".join(wrapped(f"How known: {said}", self.width - 4, " "))
